//! The whole life of a job in a repository under checks: broken, caught, granted, run out, mended, and only what changed
//! looked at. One scratch repository, told from commit to commit, with the recipe that `examples/ci` gives.
#![cfg(unix)]

use spec_lang::rules::{BENCH, BENCH_SHEETS, compose};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use tempfile::TempDir;
use trialfit_tests::program::{Ran, commit, git, run, trialfit};
use trialfit_tests::project;

/// The bench's heater with too little room to draw its glow pin: a warning that may be conceded.
fn tight() -> String {
    compose(spec_lang::rules::find("glow-pin-room-small").expect("a rule").bad)
}

/// An invented workshop's repository.
struct Shop(TempDir);

impl Shop {
    /// Sheets, a fleet file that follows them, and three vans that follow the fleet file, all in order.
    fn new() -> Shop {
        let shop = Shop(tempfile::tempdir().expect("a folder"));
        shop.write("shop/sheets.trialfit", BENCH_SHEETS);
        shop.write("shop/fleet.trialfit", "trialfit 1\nfollows \"sheets.trialfit\"\n");
        for van in 1..=3 {
            shop.write(&format!("jobs/van-{van}.trialfit"), &shop.van(BENCH));
        }
        commit(shop.at(), "three vans");
        shop
    }

    fn at(&self) -> &Path {
        self.0.path()
    }

    fn van(&self, text: &str) -> String {
        text.replace("bench-sheets.trialfit", "../shop/fleet.trialfit")
    }

    fn write(&self, path: &str, text: &str) {
        let path = self.at().join(path);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        fs::write(path, text).expect("a file");
    }

    fn check(&self, day: &str, arguments: &[&str]) -> Ran {
        run(self.at(), &[&["check", "--form", "line", "--date", day], arguments].concat())
    }

    /// Runs the recipe as a job of continuous integration does.
    fn recipe(&self, day: &str, base: &[&str]) -> Ran {
        let script = project().join("examples/ci/check.sh");
        let mut path = vec![trialfit().parent().map(Path::to_path_buf).unwrap_or_default()];
        path.extend(std::env::split_paths(&std::env::var_os("PATH").unwrap_or_default()).collect::<Vec<PathBuf>>());
        let mut command = Command::new("sh");
        command.arg(script).args(base).current_dir(self.at()).env("TRIALFIT_DATE", day);
        command.env("PATH", std::env::join_paths(path).expect("a path"));
        trialfit_tests::program::ended(command.output().expect("sh runs"))
    }
}

#[test]
fn a_job_is_broken_caught_granted_run_out_and_mended() {
    let shop = Shop::new();
    let at = shop.at();
    let day = "2026-01-15";
    assert_eq!(shop.check(day, &[]).code, 0);
    assert_eq!(shop.recipe(day, &[]).code, 0, "the whole tree is in order");

    // Broken on a branch: only the broken van is looked at, and the check fails.
    git(at, &["checkout", "--quiet", "-b", "tight-pin"]);
    shop.write("jobs/van-2.trialfit", &shop.van(&tight()));
    commit(at, "no room for the glow pin");
    let caught = shop.check(day, &["--changed=main"]);
    assert!(caught.code == 1 && caught.out.starts_with("jobs/van-2.trialfit:"), "{} {}", caught.out, caught.err);
    assert!(caught.out.contains("[glow-pin-room-small]") && caught.out.lines().count() == 1, "{}", caught.out);
    assert!(caught.err.contains("1 of 5 files are judged"), "{}", caught.err);
    let recipe = shop.recipe(day, &["main"]);
    assert!(recipe.code == 1 && recipe.out.contains("[glow-pin-room-small]"), "{} {}", recipe.out, recipe.err);

    // Granted for the whole fleet: all who follow are looked at again, the finding is set aside and still shown.
    let fleet = "trialfit 1\nfollows \"sheets.trialfit\"\n\nconcession glow-pin-room-small\n  on            heater\n  because       \"the locker is moved in spring\"\n  by            \"nobody\"\n  until         2026-03-01\n";
    shop.write("shop/fleet.trialfit", fleet);
    let before_commit = run(at, &["followers", "shop/fleet.trialfit", "--since", "--date", day]);
    assert_eq!(before_commit.code, 0, "nothing new stands: {}", before_commit.out);
    assert!(before_commit.out.contains("  goes   jobs/van-2.trialfit:"), "{}", before_commit.out);
    commit(at, "granted");
    let granted = shop.check(day, &["--changed=main"]);
    assert!(granted.code == 0 && granted.out.contains(": set aside: "), "{} {}", granted.out, granted.err);
    assert!(granted.err.contains("4 of 5 files are judged: 2 changed, 2 follow"), "{}", granted.err);
    assert_eq!(shop.recipe(day, &["main"]).code, 0);

    // Near its end it says so; whoever wants only warnings to count says that once, for all.
    assert_eq!(shop.check("2026-02-10", &[]).code, 1);
    shop.write("trialfit.toml", "fail-on = \"warning\"\n");
    let near = shop.check("2026-02-10", &[]);
    assert!(near.code == 0 && near.out.contains("ends in 19 days"), "{} {}", near.out, near.err);
    // Its last day included, it holds; the day after, the finding stands again without anybody's touching a file.
    commit(at, "warnings count");
    assert_eq!(shop.check("2026-03-01", &[]).code, 0);
    let over = shop.check("2026-03-02", &[]);
    assert!(over.code == 1 && over.out.contains("[concession-expired]"), "{}", over.out);
    assert!(over.out.contains(": warning: ") && over.out.contains("[glow-pin-room-small]"), "{}", over.out);
    let list = run(at, &["concessions", "--form", "csv", "--date", "2026-03-02"]);
    assert!(list.code == 1 && list.out.contains(",-1,1,3,expired,,\r\n"), "{}", list.out);
    assert_eq!(shop.recipe("2026-03-02", &[]).code, 1, "the nightly run of the whole tree finds it");

    // Mended: the van is put right, the concession is taken out, and what can be mended unseen is.
    shop.write("jobs/van-2.trialfit", &shop.van(BENCH).replacen("trialfit 1\n", "", 1));
    shop.write("shop/fleet.trialfit", "trialfit 1\nfollows \"sheets.trialfit\"\n");
    assert_eq!(shop.check("2026-03-02", &[]).code, 1, "in a hurry its first line was lost");
    assert_eq!(run(at, &["mend", "--date", "2026-03-02"]).code, 1);
    assert_eq!(run(at, &["mend", "--write", "--date", "2026-03-02"]).code, 0);
    assert_eq!(shop.check("2026-03-02", &[]).code, 0);
    commit(at, "mended");
    assert_eq!(shop.recipe("2026-03-02", &[]).code, 0);
    let nothing = shop.check("2026-03-02", &["--changed"]);
    assert!(nothing.code == 0 && nothing.err.contains("0 of 5 files are judged"), "{}", nothing.err);
}

/// An old repository takes the tool up: what is there is recorded, what is new fails, what is mended leaves the record, and
/// what can kill was never in it.
#[test]
fn an_old_repository_adopts_breaks_and_shrinks_its_record() {
    let shop = Shop::new();
    let at = shop.at();
    let day = "2026-01-15";
    shop.write("jobs/van-2.trialfit", &shop.van(&tight()));
    commit(at, "as it was found");
    assert_eq!(shop.check(day, &[]).code, 1);

    let adopted = run(at, &["adopt", "--record", "known.txt", "--date", day]);
    assert_eq!(adopted.code, 0, "{} {}", adopted.out, adopted.err);
    shop.write("trialfit.toml", "known = \"known.txt\"\n");
    commit(at, "taken up");
    let known = shop.check(day, &[]);
    assert_eq!(known.code, 0, "{} {}", known.out, known.err);
    assert_eq!(shop.recipe(day, &[]).code, 0);
    // It is known by what it says, wherever it stands.
    let moved = format!("{}\n\n# moved down\n\n\n", shop.van(&tight()));
    shop.write("jobs/van-2.trialfit", &moved.replacen("\n\n", "\n\n# a line more\n\n", 1));
    assert_eq!(shop.check(day, &[]).code, 0);

    // The same fault in another van is new; only that one fails.
    shop.write("jobs/van-3.trialfit", &shop.van(&tight()));
    let broken = shop.check(day, &["--changed"]);
    assert!(broken.code == 1 && broken.out.contains("jobs/van-3.trialfit:"), "{} {}", broken.out, broken.err);
    // What guards life is never known, however old it is.
    let exhaust = BENCH.replace("  right         690 mm, down 30 mm", "  right         300 mm, down 30 mm");
    assert_ne!(exhaust, BENCH);
    shop.write("jobs/van-3.trialfit", &shop.van(&exhaust));
    let refused = run(at, &["adopt", "--record", "known.txt", "--again", "--date", day]);
    assert!(refused.code == 1 && refused.out.contains("exhaust-ends-under-vehicle"), "{} {}", refused.out, refused.err);
    let deadly = shop.check(day, &[]);
    assert!(deadly.code == 1 && deadly.out.contains("[exhaust-ends-under-vehicle]"), "{} {}", deadly.out, deadly.err);

    // Mended, the record shrinks to nothing; then nothing is known any more.
    shop.write("jobs/van-2.trialfit", &shop.van(BENCH));
    shop.write("jobs/van-3.trialfit", &shop.van(BENCH));
    let shrunk = shop.check(day, &["--shrink"]);
    assert!(shrunk.code == 0 && shrunk.err.contains("entries taken out"), "{} {}", shrunk.out, shrunk.err);
    shop.write("jobs/van-2.trialfit", &shop.van(&tight()));
    assert_eq!(shop.check(day, &[]).code, 1, "the old fault is a new one now");
}

#[test]
fn the_recipe_fails_where_the_work_could_not_be_done() {
    let shop = Shop::new();
    let ran = shop.recipe("2026-01-15", &["no-such-branch"]);
    assert!(ran.code == 2 && ran.err.contains("no revision `no-such-branch`"), "{} {}", ran.out, ran.err);
    shop.write("trialfit.toml", "fail-on = 3\n");
    assert_eq!(shop.recipe("2026-01-15", &[]).code, 2);
}

/// Every hook that the project offers to hook frameworks is a command that the binary takes, and passes on a tree in order.
#[test]
fn hooks_name_commands_that_are_there() {
    let shop = Shop::new();
    let hooks = fs::read_to_string(project().join(".pre-commit-hooks.yaml")).expect("the hooks");
    let entries: Vec<&str> = hooks.lines().filter_map(|line| line.trim().strip_prefix("entry: trialfit ")).collect();
    assert_eq!(entries.len(), hooks.matches("- id: ").count(), "a command a hook");
    for entry in entries {
        let mut arguments: Vec<&str> = entry.split(' ').collect();
        arguments.push("jobs/van-1.trialfit");
        let ran = run(shop.at(), &arguments);
        assert_eq!(ran.code, 0, "{entry}: {} {}", ran.out, ran.err);
    }
}

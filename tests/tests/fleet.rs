//! A fleet's repository at the terminal: settings beside jobs, what changed and what follows it, what a shared file's
//! change does, concessions, mending in bulk. The real binary on scratch repositories; whole stories are in `story.rs`.

use serde_json::Value;
use spec_lang::rules::{BENCH, BENCH_SHEETS, compose};
use std::fs;
use std::path::Path;
use tempfile::TempDir;
use trialfit_tests::program::{Ran, command, commit, git, run, run_with};
use trialfit_tests::project;
use trialfit_tests::scratch::{copy, folder, long_cable, schema, write};

/// The day of these tests; the bench job is in order on it.
const DAY: [&str; 2] = ["--date", "2026-01-15"];
/// A job with one error, in line 4, that nothing mends unseen.
const SLIP: &str = "trialfit 1\n\nstock cable\n  nunber        X-2\n";
const PLAIN: &str = "trialfit 1\n\nstock cable\n  sizes         4 mm²\n";
/// The bench's heater with too little room to draw its glow pin: a warning that may be conceded.
fn tight() -> String {
    compose(spec_lang::rules::find(CONCEDED).expect("a rule").bad)
}
const CONCEDED: &str = "glow-pin-room-small";
const CONCESSION: &str = "\nconcession glow-pin-room-small\n  on            heater\n  because       \"the box, which stays\"\n  by            \"nobody\"\n  until         2026-03-01\n";

fn check(folder: &Path, arguments: &[&str]) -> Ran {
    run(folder, &[&["check", "--form", "line"], &DAY[..], arguments].concat())
}

/// A bench job that follows a file.
fn job(follows: &str) -> String {
    BENCH.replace("bench-sheets.trialfit", follows)
}

/// The bench's workshop in a repository: sheets, a fleet file that follows them, a job of each, and one that follows
/// neither.
fn workshop() -> TempDir {
    let here = folder(&[
        ("shop/sheets.trialfit", BENCH_SHEETS),
        ("shop/fleet.trialfit", "trialfit 1\nfollows \"sheets.trialfit\"\n"),
        ("jobs/near.trialfit", &job("../shop/sheets.trialfit")),
        ("jobs/far.trialfit", &job("../shop/fleet.trialfit")),
        ("jobs/alone.trialfit", PLAIN),
    ]);
    commit(here.path(), "begin");
    here
}

#[test]
fn the_nearer_settings_win_and_options_win_over_all() {
    let here = folder(&[
        (".git/HEAD", ""),
        ("trialfit.toml", "fail-on = \"error\"\nexclude = [\"old/\"]\n"),
        ("jobs/trialfit.toml", "# invented\nfail-on = \"warning\"\nfinal = [\"built-*\"]\n"),
        (
            "jobs/a.trialfit",
            "trialfit 1\n\njob \"x\"\n  note          \"x\"\n\ncable supply of reader\n  size          ?\n",
        ),
        ("old/b.trialfit", SLIP),
        ("c.trialfit", &job("sheets.trialfit").replace("size          4 mm²", "size          ?")),
        ("sheets.trialfit", BENCH_SHEETS),
    ]);
    let at = here.path();
    fs::copy(at.join("jobs/a.trialfit"), at.join("jobs/built-a.trialfit")).expect("a copy");
    // A blank is a warning, an error where the job is final.
    let blank = |ran: &Ran| {
        ran.out
            .lines()
            .filter(|line| line.ends_with("[value-blank]"))
            .map(|line| line.split(": ").nth(1).unwrap_or("").to_string())
            .collect::<Vec<_>>()
    };
    let open = check(at, &["c.trialfit"]);
    // It leaves something unjudged, and so counts whatever the settings say.
    assert_eq!((open.code, blank(&open)), (1, vec!["warning".to_string()]), "{}", open.out);
    assert_eq!(check(at, &["c.trialfit", "--fail-on", "warning"]).code, 1);
    assert_eq!(check(at, &["c.trialfit", "--final"]).code, 1);
    assert_eq!(blank(&check(at, &["jobs/a.trialfit"])), ["warning"]);
    assert_eq!(blank(&check(at, &["jobs/built-a.trialfit"])), ["error"]);
    assert_eq!(blank(&check(at, &["jobs/built-a.trialfit", "--not-final"])), ["warning"]);
    // Found from the file, not from where the command runs.
    assert_eq!(blank(&check(&at.join("old"), &["../jobs/built-a.trialfit"])), ["error"]);

    let left = check(at, &["old/b.trialfit"]);
    assert_eq!(left.code, 0);
    assert!(left.err.contains("old/b.trialfit: excluded by `old/` (trialfit.toml, line 2)"), "{}", left.err);
    assert_eq!(check(at, &["old/b.trialfit", "--no-exclude"]).code, 1);
    let walked = check(at, &[]);
    assert!(!walked.out.contains("old/b.trialfit") && walked.err.contains("1 file is left out"), "{}", walked.err);
    let input = run_with(at, &["check", "-", "--as", "old/new.trialfit"], SLIP.as_bytes());
    assert_eq!(input.code, 0, "standard input that stands for an excluded file: {}", input.err);

    let shown = run(at, &["settings", "jobs/built-a.trialfit", "old/b.trialfit", "nowhere-yet.trialfit"]);
    assert_eq!(shown.code, 0, "{}", shown.err);
    for said in [
        "fail-on            warning (jobs/trialfit.toml, line 2)",
        "beaten: error (trialfit.toml, line 1), which is further up",
        "concession-notice  30 (the default)",
        "this file is judged as final",
        "this file is excluded by `old/` (trialfit.toml, line 2)",
        "nowhere-yet.trialfit\n  fail-on            error (trialfit.toml, line 1)",
    ] {
        assert!(shown.out.contains(said), "{said} in {}", shown.out);
    }
}

#[test]
fn settings_above_the_opened_folder_do_not_count() {
    let here =
        folder(&[("trialfit.toml", "exclude = [\"*\"]\n"), ("repo/.git/HEAD", ""), ("repo/jobs/a.trialfit", SLIP)]);
    assert_eq!(check(&here.path().join("repo/jobs"), &["a.trialfit"]).code, 1);
    // Without a repository the folder that the command runs in is the opened one.
    fs::remove_dir_all(here.path().join("repo/.git")).expect("removed");
    assert_eq!(check(&here.path().join("repo"), &["jobs/a.trialfit"]).code, 1);
    assert_eq!(check(here.path(), &["repo/jobs/a.trialfit"]).code, 0);
    assert_eq!(check(here.path(), &["repo/jobs/a.trialfit", "--within", "repo"]).code, 1);
}

#[test]
fn changed_only_is_what_changed_and_all_that_follows_it() {
    let here = workshop();
    let at = here.path();
    let judged = |arguments: &[&str]| {
        let ran = run(at, &[&["check", "--form", "json"], &DAY[..], arguments].concat());
        let document: Value = serde_json::from_str(&ran.out).expect("JSON");
        let files = document["files"].as_array().expect("files").iter();
        files.map(|file| file["path"].as_str().expect("a path").to_string()).collect::<Vec<_>>()
    };
    assert_eq!(judged(&["--changed"]), Vec::<String>::new());
    write(at, "jobs/alone.trialfit", SLIP);
    write(at, "jobs/new.trialfit", PLAIN);
    assert_eq!(judged(&["--changed"]), ["jobs/alone.trialfit", "jobs/new.trialfit"]);
    git(at, &["add", "--all"]);
    assert_eq!(judged(&["--changed"]), ["jobs/alone.trialfit", "jobs/new.trialfit"], "what is staged differs too");
    commit(at, "new");
    assert_eq!(judged(&["--changed"]), Vec::<String>::new());

    write(at, "shop/sheets.trialfit", &(BENCH_SHEETS.to_string() + "\n# another line\n"));
    let all = ["jobs/far.trialfit", "jobs/near.trialfit", "shop/fleet.trialfit", "shop/sheets.trialfit"];
    assert_eq!(judged(&["--changed"]), all);
    assert_eq!(judged(&["--changed", "jobs"]), all[..2], "of the named folder only, though the change lies outside");
    git(at, &["checkout", "--quiet", "shop"]);
    git(at, &["mv", "shop/fleet.trialfit", "shop/renamed.trialfit"]);
    assert_eq!(
        judged(&["--changed"]),
        ["jobs/far.trialfit", "shop/renamed.trialfit"],
        "a renamed file is missed by who follows it"
    );
    fs::remove_file(at.join("shop/renamed.trialfit")).expect("removed");
    assert_eq!(judged(&["--changed"]), ["jobs/far.trialfit"], "and so is a deleted one");

    // Since a branch: where the two parted, not what happened on the other since.
    git(at, &["reset", "--quiet", "--hard"]);
    git(at, &["checkout", "--quiet", "-b", "work"]);
    write(at, "jobs/far.trialfit", &(job("../shop/fleet.trialfit") + "\n# mine\n"));
    commit(at, "mine");
    git(at, &["checkout", "--quiet", "main"]);
    write(at, "jobs/near.trialfit", &(job("../shop/sheets.trialfit") + "\n# theirs\n"));
    commit(at, "theirs");
    git(at, &["checkout", "--quiet", "work"]);
    assert_eq!(judged(&["--changed=main"]), ["jobs/far.trialfit"]);
    // A change of the settings is a change of every job below them.
    write(at, "jobs/trialfit.toml", "final = true\n");
    assert_eq!(
        judged(&["--changed"]),
        ["jobs/alone.trialfit", "jobs/far.trialfit", "jobs/near.trialfit", "jobs/new.trialfit"]
    );
}

#[test]
fn changed_only_says_what_it_cannot_know() {
    let here = workshop();
    for (since, says) in [
        ("--changed=no-such-branch", "git knows no revision `no-such-branch`"),
        ("--changed=--output=stolen", "git knows no revision `--output=stolen`"),
        ("--changed=HEAD:shop", "git knows no revision `HEAD:shop`"),
    ] {
        let ran = check(here.path(), &[since]);
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains(says), "{}", ran.err);
    }
    let names: Vec<_> = fs::read_dir(here.path()).expect("a folder").flatten().map(|entry| entry.file_name()).collect();
    assert_eq!(names.len(), 3, "git was told to write nothing: {names:?}");
    git(here.path(), &["checkout", "--quiet", "--orphan", "other"]);
    git(here.path(), &["commit", "--quiet", "--message", "other"]);
    let ran = check(here.path(), &["--changed=main"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("share no history"), "{}", ran.err);

    let bare = folder(&[("a.trialfit", PLAIN)]);
    let ran = check(bare.path(), &["--changed"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("is in no git repository"), "{}", ran.err);
    let ran = command(here.path(), &["check", "--changed"]).env("PATH", "/nowhere").output().expect("runs");
    assert_eq!(ran.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&ran.stderr).contains("`git` is not on this machine's path"));
    // Before the first commit everything is new.
    git(bare.path(), &["init", "--quiet"]);
    let ran = check(bare.path(), &["--changed"]);
    assert_eq!(ran.code, 0);
    assert!(ran.err.contains("1 of 1 files are judged: 1 changed"), "{}", ran.err);
}

#[cfg(unix)]
#[test]
fn changed_only_takes_any_name() {
    use std::os::unix::ffi::OsStringExt;
    let here = workshop();
    let at = here.path();
    let shared = [&b"sh op\"'\n\x80.trialfit"[..], b"-rf.trialfit", b":(top)*.trialfit", "ä€😀.trialfit".as_bytes()];
    for (number, name) in shared.iter().enumerate() {
        let name = std::ffi::OsString::from_vec(name.to_vec());
        fs::write(at.join("shop").join(&name), "trialfit 1\n").expect("a file");
        // A job can only write names that are text on one line; the rest is there to be named by git.
        if let Some(name) = name.to_str().filter(|name| !name.contains(['"', '\n'])) {
            write(at, &format!("jobs/{number} of-.trialfit"), &format!("trialfit 1\nfollows \"../shop/{name}\"\n"));
        }
    }
    commit(at, "odd names");
    for name in shared {
        let name = std::ffi::OsString::from_vec(name.to_vec());
        fs::write(at.join("shop").join(&name), "trialfit 1\n\n").expect("a file");
        let ran = check(at, &["--changed"]);
        let follow = usize::from(name.to_str().is_some_and(|name| !name.contains('"')));
        let says = format!("{} of 12 files are judged: 1 changed, {follow} follow", 1 + follow);
        assert!(ran.code < 2 && ran.err.contains(&says), "{name:?}: {}", ran.err);
        git(at, &["checkout", "--quiet", "--", "shop"]);
    }
}

#[track_caller]
fn document(of: &str, ran: &Ran) -> Value {
    let document: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("no JSON: {} {}", ran.out, ran.err));
    let faults: Vec<String> = schema(of).iter_errors(&document).map(|fault| fault.to_string()).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    document
}

#[test]
fn a_shared_file_tells_whom_it_affects_and_how() {
    let here = workshop();
    let at = here.path();
    let followers = |arguments: &[&str]| run(at, &[&["followers"], &DAY[..], arguments].concat());
    let listed = followers(&["shop/sheets.trialfit"]);
    assert_eq!(listed.code, 0);
    let far = "jobs/far.trialfit\n  follows shop/fleet.trialfit, which follows shop/sheets.trialfit\n  uses duct data sheet air-90 ";
    let near = "jobs/near.trialfit\n  follows shop/sheets.trialfit\n  uses duct data sheet air-90 ";
    assert!(listed.out.starts_with(far) && listed.out.contains(near), "{}", listed.out);
    assert!(!listed.out.contains("alone"), "{}", listed.out);
    assert!(listed.out.contains("shop/fleet.trialfit (jobs follow it in turn)"), "{}", listed.out);

    // The heater of the sheet now wants more voltage than either job's cable leaves it.
    let hungry = BENCH_SHEETS.replacen("voltage       10.2 V", "voltage       12.3 V", 1);
    assert!(hungry != BENCH_SHEETS, "the bench's sheet has another voltage now");
    write(at, "shop/sheets.trialfit", &hungry);
    for arguments in [&["shop/sheets.trialfit", "--since"][..], &["--since"], &["--since=main", "shop/sheets.trialfit"]]
    {
        let ran = followers(&[arguments, &["--form", "json"]].concat());
        assert_eq!(ran.code, 1, "{}", ran.err);
        let document = document("followers", &ran);
        let rules = |way: &str| {
            let mut rules = Vec::new();
            for one in document["followers"].as_array().expect("a list").iter().filter(|one| one["job"] == true) {
                let found = one[way].as_array().expect("compared").iter();
                rules.push((
                    one["path"].as_str().expect("a path"),
                    found.map(|found| found["rule"].as_str().expect("a rule")).collect::<Vec<_>>(),
                ));
            }
            rules
        };
        let low = "starting-voltage-low";
        let comes = rules("comes");
        assert_eq!(
            comes.iter().map(|(path, _)| *path).collect::<Vec<_>>(),
            ["jobs/far.trialfit", "jobs/near.trialfit"]
        );
        assert!(comes.iter().all(|(_, rules)| rules.contains(&low)), "{comes:?}");
        assert!(rules("goes").iter().all(|(_, rules)| rules.is_empty()), "{:?}", rules("goes"));
    }
    // The other way round the same findings go, and nothing is wrong.
    commit(at, "hungry");
    write(at, "shop/sheets.trialfit", BENCH_SHEETS);
    let ran = followers(&["shop/sheets.trialfit", "--since"]);
    assert_eq!(ran.code, 0, "{}", ran.out);
    assert!(ran.out.contains("  goes   jobs/near.trialfit:") && !ran.out.contains("  comes"), "{}", ran.out);
    // A deleted file: what it gave is missing, and the deletion says so before it is merged.
    fs::remove_file(at.join("shop/fleet.trialfit")).expect("removed");
    git(at, &["checkout", "--quiet", "shop/sheets.trialfit"]);
    let ran = followers(&["shop/fleet.trialfit", "--since"]);
    assert!(ran.code == 1 && ran.out.contains("[followed-file-missing]"), "{} {}", ran.out, ran.err);
    assert!(ran.out.contains("jobs/far.trialfit"), "{}", ran.out);
    assert_eq!(followers(&["shop/no-such.trialfit"]).code, 2);
    assert_eq!(followers(&["shop/no-such.trialfit", "--since"]).code, 2);
    assert_eq!(followers(&[]).code, 2);
}

#[test]
fn concessions_are_listed_once_with_what_they_cover_everywhere() {
    let here = folder(&[
        (".git/HEAD", ""),
        ("shop/sheets.trialfit", BENCH_SHEETS),
        ("shop/fleet.trialfit", &format!("trialfit 1\nfollows \"sheets.trialfit\"\n{CONCESSION}")),
        ("jobs/a.trialfit", &tight().replace("bench-sheets.trialfit", "../shop/fleet.trialfit")),
        ("jobs/b.trialfit", &tight().replace("bench-sheets.trialfit", "../shop/fleet.trialfit")),
        ("jobs/c.trialfit", &(job("../shop/sheets.trialfit") + &CONCESSION.replace("heater", "heater reader"))),
    ]);
    let listed =
        |day: &str, arguments: &[&str]| run(here.path(), &[&["concessions", "--date", day], arguments].concat());
    let states = |day: &str| {
        let ran = listed(day, &["--form", "json"]);
        let document = document("concessions", &ran);
        let list = document["concessions"].as_array().expect("a list").iter();
        let one = |one: &Value| {
            format!(
                "{}:{} {} {} {}",
                one["path"].as_str().unwrap_or(""),
                one["line"],
                one["covers"],
                one["days_left"],
                one["state"].as_str().unwrap_or("")
            )
        };
        (ran.code, list.map(one).collect::<Vec<_>>())
    };
    let line = BENCH.lines().count() + 2;
    let own = |days: i64, state: &str| format!("jobs/c.trialfit:{line} 0 {days} {state}");
    let fleet = |days: i64, state: &str| format!("shop/fleet.trialfit:4 2 {days} {state}");
    assert_eq!(states("2026-01-01"), (1, vec![own(59, "matches nothing"), fleet(59, "in force")]));
    assert_eq!(states("2026-02-01"), (1, vec![own(28, "matches nothing"), fleet(28, "near its end")]));
    assert_eq!(states("2026-03-03"), (1, vec![own(-2, "expired"), fleet(-2, "expired")]));
    assert_eq!(listed("2026-01-01", &["jobs/a.trialfit"]).code, 0);
    let csv = listed("2026-01-01", &["--form", "csv", "jobs/a.trialfit", "jobs/b.trialfit"]);
    let rows: Vec<&str> = csv.out.split("\r\n").collect();
    assert_eq!(rows[0], "path,line,rule,on,by,because,until,days_left,covers,jobs,state,since,days_old");
    assert_eq!(
        rows[1..],
        [
            "shop/fleet.trialfit,4,glow-pin-room-small,heater,nobody,\"the box, which stays\",2026-03-01,59,2,2,in force,,",
            ""
        ]
    );
    let text = listed("2026-02-28", &["jobs/a.trialfit"]).out;
    assert!(
        text.contains(
            "near its end: glow-pin-room-small; covers 1 finding in 1 job; until\n    2026-03-01, 1 day left\n"
        ),
        "{text}"
    );
    assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains("approves nothing"), "{text}");
    // The job itself is clean while the fleet's concession holds, and the notice comes where it stands.
    let on = |day: &str, arguments: &[&str]| {
        run(here.path(), &[&["check", "--form", "line", "--date", day], arguments].concat())
    };
    assert_eq!(on("2026-02-20", &["jobs/a.trialfit"]).code, 0);
    assert_eq!(on("2026-03-02", &["jobs/a.trialfit"]).code, 1);
    let soon = on("2026-02-20", &["shop"]);
    assert!(soon.out.contains("this concession ends in 9 days, on 2026-03-01 [concession-ends-soon]"), "{}", soon.out);
    write(here.path(), "trialfit.toml", "concession-notice = 8\n");
    assert_eq!(on("2026-02-20", &["shop"]).code, 0);
}

#[test]
fn mending_is_shown_then_made_and_then_there_is_nothing_left() {
    // A line that lost its indent; a cable that is too thin is for a person to choose anew.
    let thin = long_cable().replace("  size          2.5 mm²", "size          2.5 mm²");
    let here = folder(&[
        (".git/HEAD", ""),
        ("a.trialfit", &thin),
        ("bench-sheets.trialfit", BENCH_SHEETS),
        ("slip.trialfit", SLIP),
        ("old/b.trialfit", &thin),
        ("trialfit.toml", "exclude = [\"old\"]\n"),
    ]);
    let at = here.path();
    let mend = |arguments: &[&str]| run(at, &[&["mend"], &DAY[..], arguments].concat());
    let look = mend(&["a.trialfit", "slip.trialfit"]);
    assert_eq!(look.code, 1, "{}", look.err);
    assert!(
        look.out.starts_with("--- a/a.trialfit\n+++ b/a.trialfit\n@@ ")
            && look.out.contains("\n-size          2.5 mm²\n+  size          2.5 mm²"),
        "{}",
        look.out
    );
    assert_eq!(fs::read_to_string(at.join("a.trialfit")).expect("a file"), thin, "a look touches nothing");
    // What it shows is what `git apply` makes.
    let patched = folder(&[("a.trialfit", &thin)]);
    write(patched.path(), "it.patch", &look.out);
    git(patched.path(), &["init", "--quiet"]);
    git(patched.path(), &["apply", "it.patch"]);
    assert_eq!(mend(&["--rule", "glow-pin-room-small", "a.trialfit"]).code, 0, "another rule's remedies only");
    assert_eq!(mend(&["--rule", "no-such-rule", "a.trialfit"]).code, 2);
    let made = mend(&["--write"]);
    assert_eq!(made.code, 0, "{}", made.err);
    assert!(made.out.starts_with("a.trialfit: ") && made.out.contains(" mended\n"), "{}", made.out);
    let mended = fs::read_to_string(at.join("a.trialfit")).expect("a file");
    assert_eq!(mended, fs::read_to_string(patched.path().join("a.trialfit")).expect("a file"));
    assert_eq!(fs::read_to_string(at.join("old/b.trialfit")).expect("a file"), thin, "what is excluded stays");
    let again = mend(&[]);
    assert_eq!((again.code, again.out.as_str()), (0, ""));
    let rules = |text: &str| {
        let ran = run_with(
            at,
            &[&["check", "-", "--as", "a.trialfit", "--form", "line"], &DAY[..]].concat(),
            text.as_bytes(),
        );
        ran.out.lines().filter_map(|line| line.rsplit_once('[').map(|(_, rule)| rule.to_string())).collect::<Vec<_>>()
    };
    assert!(rules(&thin).contains(&"not-indented]".to_string()), "{:?}", rules(&thin));
    assert!(!rules(&mended).contains(&"not-indented]".to_string()), "{:?}", rules(&mended));
    assert!(rules(&mended).contains(&"starting-voltage-low]".to_string()), "{:?}", rules(&mended));
    let piped = run_with(at, &[&["mend", "--write", "-", "--within", "."], &DAY[..]].concat(), b"trialfit 1\n");
    assert_eq!((piped.code, piped.out.as_str()), (0, "trialfit 1\n"));
}

#[test]
fn mending_the_examples_ends_and_brings_no_error() {
    let here = tempfile::tempdir().expect("a folder");
    copy(&project().join("examples"), here.path());
    git(here.path(), &["init", "--quiet"]);
    let errors = || {
        let ran = run(here.path(), &["check", "--form", "json", "--date", "2026-11-02"]);
        let document: Value = serde_json::from_str(&ran.out).expect("JSON");
        let mut count = std::collections::BTreeMap::<(String, String), usize>::new();
        for file in document["files"].as_array().expect("files") {
            for found in file["findings"].as_array().expect("findings") {
                if found["severity"] == "error" && found["conceded"].is_null() {
                    *count.entry((found["place"]["path"].to_string(), found["rule"].to_string())).or_default() += 1;
                }
            }
        }
        count
    };
    let before = errors();
    let made = run(here.path(), &["mend", "--write", "--date", "2026-11-02"]);
    assert_eq!(made.code, 0, "{}", made.err);
    assert!(made.out.lines().count() >= 3, "the examples hold faults of the text that mend unseen: {}", made.out);
    // No install is changed: a cable that is too thin stays on the card as thin as it lies in the vehicle.
    for thin in ["mobile-library.trialfit", "breakdown-van.trialfit", "mess-wagon.trialfit"] {
        let text = |at: &Path| fs::read_to_string(at.join(thin)).expect("an example");
        assert_eq!(text(here.path()), text(&project().join("examples")), "{thin}");
    }
    let after = errors();
    for (key, count) in &after {
        assert!(before.get(key).is_some_and(|known| count <= known), "{key:?}: {count} after {:?}", before.get(key));
    }
    let again = run(here.path(), &["mend", "--date", "2026-11-02"]);
    assert_eq!((again.code, again.out.as_str()), (0, ""), "{}", again.err);
}

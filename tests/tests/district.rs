//! The example district as its office uses it: standards, kits, two fleets, and a list that becomes jobs. The real binary on
//! copies of the examples.

use std::fs;
use std::path::Path;
use tempfile::TempDir;
use trialfit_tests::program::{Ran, commit, run};
use trialfit_tests::project;
use trialfit_tests::scratch::copy;

const DAY: [&str; 2] = ["--date", "2026-11-02"];

/// A copy of the examples in a repository of its own.
fn examples() -> TempDir {
    let here = tempfile::tempdir().expect("a folder");
    copy(&project().join("examples"), here.path());
    commit(here.path(), "begin");
    here
}

fn change(folder: &Path, file: &str, from: &str, to: &str) {
    let path = folder.join(file);
    let text = fs::read_to_string(&path).expect("a file");
    assert!(text.contains(from), "{file} says `{from}`");
    fs::write(path, text.replace(from, to)).expect("a file");
}

fn check(folder: &Path, arguments: &[&str]) -> Ran {
    run(folder, &[&["check", "--form", "line"], &DAY[..], arguments].concat())
}

#[test]
fn the_district_is_clean_and_a_changed_kit_shows_the_jobs_it_touches() {
    let here = examples();
    let clean = check(here.path(), &["district"]);
    assert_eq!(clean.code, 0, "{clean:?}");
    assert!(
        clean.out.lines().all(|line| line.contains(": set aside: ")),
        "what the roads' fleet conceded: {}",
        clean.out
    );
    // A shorter exhaust in the kit ends under the floor: the kit itself says so, and the job that fits it.
    change(here.path(), "district/kits/van-heat.trialfit", "right         750 mm", "right         600 mm");
    let followers = run(here.path(), &["followers", "district/kits/van-heat.trialfit", "--since=HEAD"]);
    assert_eq!(followers.code, 1, "{followers:?}");
    assert!(followers.out.contains("district/post/post-11.trialfit"), "{}", followers.out);
    assert!(!followers.out.contains("district/roads/"), "{}", followers.out);
    assert!(followers.out.contains("uses kit van-heat (line 46)"), "{}", followers.out);
    let changed = check(here.path(), &["--changed"]);
    assert_eq!(changed.code, 1, "{changed:?}");
    // In the job the finding stands where the kit is fitted, since nothing else of it is the job's.
    let job = changed.out.lines().filter(|line| line.starts_with("district/post/post-11.trialfit:"));
    assert!(job.clone().count() > 0, "{}", changed.out);
}

#[test]
fn what_a_job_may_not_change_and_what_it_must_answer_is_said() {
    let here = examples();
    change(
        here.path(),
        "district/roads/road-3.trialfit",
        "change cable supply of sleeper\n  size          6 mm²",
        "change fuel-line of sleeper\n  line          3 mm",
    );
    change(here.path(), "district/post/post-11.trialfit", "  feed          1.6 m\n", "  feed          9 m\n");
    let found = check(here.path(), &["district"]);
    for said in ["change-not-open", "3 m"] {
        assert!(found.out.contains(said), "{said}: {}", found.out);
    }
}

#[test]
fn a_list_becomes_jobs_and_what_cannot_be_read_is_told_with_its_column() {
    let here = examples();
    let take = |more: &[&str]| {
        let all =
            ["take-in", "district/post-list.csv", "--by", "district/post-fleet.trialfit", "--into", "district/post"];
        run(here.path(), &[&all[..], more].concat())
    };
    let jobs = || fs::read_dir(here.path().join("district/post")).expect("a folder").count();
    let before = jobs();
    let looked = take(&[]);
    assert_eq!((looked.code, jobs()), (1, before), "nothing is written: {looked:?}");
    assert!(looked.out.contains("row 4, column \"Room\": `7,5` may"), "{}", looked.out);
    let written = take(&["--write"]);
    assert_eq!((written.code, jobs()), (1, before + 3), "{written:?}");
    // What was made says where it is from, is in order, and is judged as any job: one feed is longer than the kit bears.
    let text = fs::read_to_string(here.path().join("district/post/MV-P22.trialfit")).expect("a job");
    assert!(
        text.contains("# Made from post-list.csv, row 3.") && text.contains("follows \"../post-fleet.trialfit\""),
        "{text}"
    );
    assert_eq!(run(here.path(), &["tidy", "--look", "district/post"]).code, 0);
    let judged = check(here.path(), &["district/post"]);
    let long: Vec<&str> = judged.out.lines().filter(|line| line.contains("MV-P22") && line.contains("error")).collect();
    assert!(long.len() == 1 && long[0].contains("3.4 m") && long[0].contains("3 m"), "{long:#?}");
    // Again nothing happens; a job that somebody went on with stays theirs.
    assert!(take(&["--write"]).out.matches("the same is there already").count() == 3);
    change(here.path(), "district/post/MV-P21.trialfit", "\"MV-P21\"", "\"MV-P21 as built\"");
    let again = take(&["--write"]);
    assert_eq!(again.code, 2, "{again:?}");
    assert!(fs::read_to_string(here.path().join("district/post/MV-P21.trialfit")).expect("a job").contains("as built"));
}

#[test]
fn a_table_that_does_not_fit_its_mapping_makes_nothing() {
    let here = examples();
    change(here.path(), "district/post-list.csv", "Van,Use,", "Van,Purpose,");
    let told = run(
        here.path(),
        &[
            "take-in",
            "district/post-list.csv",
            "--by",
            "district/post-fleet.trialfit",
            "--into",
            "district/post",
            "--write",
        ],
    );
    assert_eq!(told.code, 2, "{told:?}");
    for said in ["\"Purpose\": no `column` line", "\"Use\": no column"] {
        assert!(told.err.contains(said), "{said}: {}", told.err);
    }
    assert_eq!(fs::read_dir(here.path().join("district/post")).expect("a folder").count(), 1);
}

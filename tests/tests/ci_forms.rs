//! What a build server reads, from the real binary: the forms `sarif`, `junit` and `summary`, and the record of known
//! findings. Independent readers load the forms in `tests/reports`; what the rules find is tested elsewhere.

use serde_json::Value;
use spec_lang::rules::{BENCH_SHEETS, compose};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use tempfile::TempDir;
use trialfit_tests::program::{Ran, run};
use trialfit_tests::scratch::{folder, write};
use trialfit_tests::{project, trialfit_files};

/// A job in which there is nothing to find.
const GOOD: &str = "trialfit 1\n\nstock cable\n  sizes         4 mm²\n";
/// A job with one error, in line 4, which may hide others.
const BAD: &str = "trialfit 1\n\nstock cable\n  nunber        X-2\n";
/// A job with one warning, in line 6.
const HIGH: &str = "trialfit 1\n\n# Invented: a tall van.\n\nkeep-clear pipe\nup            900 mm\n";
const DAY: [&str; 2] = ["--date", "2026-11-02"];

fn read(folder: &Path, path: &str) -> String {
    fs::read_to_string(folder.join(path)).expect("a file")
}

/// The examples as a repository of their own.
fn examples() -> TempDir {
    let there = project().join("examples");
    let here = folder(&[]);
    fs::create_dir(here.path().join(".git")).expect("a folder");
    for from in
        trialfit_tests::files_below(&there, "trialfit").into_iter().chain(trialfit_tests::files_below(&there, "txt"))
    {
        let to = here.path().join(from.strip_prefix(&there).expect("below the examples"));
        fs::create_dir_all(to.parent().expect("a folder")).expect("a folder");
        fs::copy(from, to).expect("a copy");
    }
    here
}

/// A check against the record, on the day of the examples.
fn check(folder: &Path, arguments: &[&str]) -> Ran {
    run(folder, &[&["check", "--known", "trialfit-known.txt"], &DAY[..], arguments].concat())
}

fn adopt(folder: &Path, arguments: &[&str]) -> Ran {
    run(folder, &[&["adopt"], &DAY[..], arguments].concat())
}

fn json(ran: &Ran) -> Value {
    serde_json::from_str(&ran.out).expect("JSON")
}

fn entries(folder: &Path) -> Vec<String> {
    let text = read(folder, "trialfit-known.txt");
    text.lines().filter(|line| line.contains(" | ") && !line.starts_with('#')).map(String::from).collect()
}

/// Every finding of a document, with the file that it was found from.
fn findings(document: &Value) -> Vec<&Value> {
    let files = document["files"].as_array().expect("files").iter();
    files.flat_map(|file| file["findings"].as_array().expect("findings")).collect()
}

/// Whether a finding may be in no record: it guards life, or it may hide what does.
fn stays(finding: &Value) -> bool {
    let rule = finding["rule"].as_str().and_then(spec_lang::rules::find);
    finding["life_safety"] == true || rule.is_none_or(|rule| !rule.can_wait())
}

#[test]
fn sarif_keeps_to_the_published_schema() {
    let schema = fs::read_to_string(project().join("tests/reports/schemas/sarif-schema-2.1.0.json")).expect("a schema");
    // One pattern of the published schema is no regular expression by ECMA-262; the standard's first errata mend it so.
    let schema = schema.replace("^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}]?$", "^[a-zA-Z]{2}(-[a-zA-Z]{2})?$");
    let schema: Value = serde_json::from_str(&schema).expect("JSON");
    let schema = jsonschema::validator_for(&schema).expect("a schema");
    let here = examples();
    let one = trialfit_files(here.path()).len();
    for arguments in
        [&["check", "--form", "sarif", "gone.trialfit", "."][..], &["check", "--form", "sarif", "rest-van.trialfit"]]
    {
        let document = json(&run(here.path(), &[arguments, &DAY[..]].concat()));
        let faults: Vec<String> =
            schema.iter_errors(&document).map(|fault| format!("{fault} at {}", fault.instance_path())).collect();
        assert!(faults.is_empty(), "{faults:#?}");
        assert!(document["runs"][0]["artifacts"].as_array().expect("a list").len() <= one);
    }
}

#[test]
fn what_is_missing_and_what_is_no_text_fail_a_sarif_run() {
    let here = folder(&[("good.trialfit", GOOD)]);
    let clean = json(&run(here.path(), &["check", "--form", "sarif", "good.trialfit"]));
    let invocation = &clean["runs"][0]["invocations"][0];
    assert_eq!((&invocation["executionSuccessful"], &invocation["exitCode"]), (&true.into(), &0.into()));
    assert_eq!(clean["runs"][0]["results"].as_array().map(Vec::len), Some(0), "present and empty: it was judged");
    let gone = run(here.path(), &["check", "--form", "sarif", "good.trialfit", "gone.trialfit"]);
    let document = json(&gone);
    let invocation = &document["runs"][0]["invocations"][0];
    assert_eq!((gone.code, &invocation["executionSuccessful"], &invocation["exitCode"]), (2, &false.into(), &2.into()));
    let said = &invocation["toolConfigurationNotifications"][0];
    assert!(
        said["level"] == "error" && said["message"]["text"].as_str().is_some_and(|text| text.contains("gone.trialfit"))
    );
}

#[test]
fn sarif_names_files_from_the_top_of_the_repository_whatever_folder_it_runs_in() {
    let here = folder(&[("sub dir/a: [1] é%.trialfit", BAD), (".git/HEAD", "")]);
    let document = json(&run(&here.path().join("sub dir"), &["check", "--form", "sarif"]));
    let uri = &document["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"];
    assert_eq!(uri, "sub%20dir/a%3A%20%5B1%5D%20%C3%A9%25.trialfit");
}

#[test]
fn summary_counts_what_json_counts_and_leaves_out_nothing_that_can_kill() {
    let here = examples();
    let document = json(&run(here.path(), &[&["check", "--form", "json"], &DAY[..]].concat()));
    let summary = run(here.path(), &[&["check", "--form", "summary"], &DAY[..]].concat()).out;
    let sum = &document["summary"];
    assert!(summary.contains(&format!("\n## {} errors\n", sum["errors"])), "{summary}");
    assert!(summary.contains(&format!("\n## {} NOT JUDGED", sum["not_judged"])), "{summary}");
    assert!(summary.contains("approves nothing") && summary.contains("carbon monoxide kills"), "{summary}");
    let mut rows = 0;
    for finding in findings(&document) {
        let rule = finding["rule"].as_str().expect("a rule");
        if finding["conceded"].is_null() {
            let row = summary.lines().find(|line| line.starts_with(&format!("| {rule} ")));
            rows += usize::from(row.is_some_and(|row| row.contains(" yes |") == (finding["life_safety"] == true)));
            if finding["life_safety"] == true {
                let end = format!("[{rule}]");
                assert!(summary.lines().any(|line| line.starts_with("- ") && line.ends_with(&end)), "{rule}");
            }
        } else {
            let until = finding["conceded"]["until"].as_str().expect("a day");
            assert!(summary.lines().any(|line| line.contains("set aside") && line.contains(until)), "{until}");
        }
    }
    let standing = ["errors", "warnings", "advice"].iter().filter_map(|word| sum[word].as_u64()).sum::<u64>();
    assert_eq!(rows as u64, standing, "each standing finding has its row");
    let mild = run(here.path(), &[&["check", "--form", "summary", "--fail-on", "error"], &DAY[..]].concat()).out;
    assert!(mild.contains("warnings, which do not count\n") && !mild.contains("errors, which"), "{mild}");
}

#[test]
fn what_is_recorded_does_not_fail_and_what_can_kill_always_does() {
    let here = examples();
    let before = json(&run(here.path(), &[&["check", "--form", "json"], &DAY[..]].concat()));
    let adopted = adopt(here.path(), &[]);
    assert_eq!(adopted.code, 1, "what could not be recorded is left: {}", adopted.err);
    let recorded: BTreeSet<String> =
        entries(here.path()).iter().filter_map(|line| Some(line.split(" | ").nth(2)?.to_string())).collect();
    for finding in findings(&before).into_iter().filter(|finding| stays(finding)) {
        let rule = finding["rule"].as_str().expect("a rule");
        assert!(!recorded.contains(rule), "{rule} was recorded");
        assert!(adopted.out.contains(&format!("[{rule}]")), "{rule} is not told of: {}", adopted.out);
    }
    assert!(adopted.out.contains("NOT JUDGED") && adopted.out.contains("approves"), "{}", adopted.out);

    let after = json(&check(here.path(), &["--form", "json"]));
    for finding in findings(&after) {
        assert_eq!(finding["known"], !stays(finding) && finding["conceded"].is_null(), "{finding}");
    }
    let sum = |document: &Value, word: &str| document["summary"][word].as_u64().expect("a number");
    assert_eq!(sum(&after, "not_judged"), sum(&before, "not_judged"));
    let all = |document: &Value| {
        ["errors", "warnings", "advice", "known"].iter().map(|word| sum(document, word)).sum::<u64>()
    };
    assert_eq!(all(&after), all(&before));

    // File by file: the code is 1 exactly where something that may be in no record, or was not judged, is left.
    let mut green = 0;
    for file in after["files"].as_array().expect("files") {
        let path = file["path"].as_str().expect("a path");
        let alone = json(&check(here.path(), &["--form", "json", path]));
        let red = findings(&alone).into_iter().any(stays) || sum(&alone, "not_judged") > 0;
        assert_eq!(check(here.path(), &[path]).code, i32::from(red), "{path}");
        green += usize::from(!red);
    }
    assert!(green > 20, "{green}");
    // A block that is not understood may be the alarm, and so takes the finding that there is none out of the report. It
    // must not be recorded itself, or nothing would be left that fails.
    let block = "\nwarner rest-co\n  warns-of      carbon-monoxide\n  in            rest-room\n";
    let hurried = read(here.path(), "rest-van.trialfit") + block;
    write(here.path(), "hurried.trialfit", &hurried);
    adopt(here.path(), &["--again", "hurried.trialfit"]);
    let after = json(&check(here.path(), &["--form", "json", "hurried.trialfit"]));
    let rules: Vec<&str> = findings(&after).iter().filter_map(|finding| finding["rule"].as_str()).collect();
    assert!(!rules.contains(&"carbon-monoxide-alarm-missing") && rules.contains(&"header-unknown"), "{rules:?}");
    assert!(findings(&after).iter().all(|finding| finding["rule"] != "header-unknown" || finding["known"] == false));
    // Written by hand it is of no use either.
    let unsafe_entry = entries(here.path())[0].split(" | ").next().map(String::from).expect("a file");
    let rest = json(&check(here.path(), &["--form", "json", "rest-van.trialfit"]));
    let lethal = findings(&rest).into_iter().find(|finding| finding["life_safety"] == true).expect("one that can kill");
    let line =
        format!("{unsafe_entry} | error | {} | {} | x\n", lethal["rule"].as_str().expect("a rule"), "0".repeat(32));
    write(here.path(), "trialfit-known.txt", &(read(here.path(), "trialfit-known.txt") + &line));
    assert_eq!(check(here.path(), &["rest-van.trialfit", "--shrink"]).code, 1);
    assert!(!read(here.path(), "trialfit-known.txt").contains(line.trim_end()), "it is taken out");
}

#[test]
fn a_record_outlasts_edits_elsewhere_and_knows_one_more_of_the_same() {
    let here = folder(&[("jobs/a.trialfit", HIGH), ("jobs/b.trialfit", GOOD)]);
    assert_eq!(adopt(here.path(), &["jobs"]).code, 0);
    let record = read(here.path(), "trialfit-known.txt");
    assert!(record.starts_with("trialfit known findings, version 1\n"), "{record}");
    assert_eq!(entries(here.path()).len(), 1);
    assert!(entries(here.path())[0].starts_with("jobs/a.trialfit | warning | "), "{record}");
    let code = |arguments: &[&str]| check(here.path(), arguments).code;
    assert_eq!(code(&["jobs"]), 0);
    // From another folder it is the same record.
    let below = run(&here.path().join("jobs"), &["check", "--known", "../trialfit-known.txt"]);
    assert_eq!(below.code, 0, "{}{}", below.out, below.err);
    // Lines above, white space, another block.
    let edited = HIGH
        .replace("trialfit 1\n", "trialfit 1\n# of a van\n\n")
        .replace("up            900 mm", "up    900 mm  # seen");
    write(here.path(), "jobs/a.trialfit", &(edited.clone() + "\nkeep-clear other\n  up 1 m\n"));
    let ran = check(here.path(), &["jobs/a.trialfit", "--form", "line"]);
    assert!(ran.out.is_empty() && ran.code == 0 && ran.err.contains("1 known"), "{}{}", ran.out, ran.err);
    // One more of the same.
    write(here.path(), "jobs/a.trialfit", &(edited + "up 900 mm\n"));
    assert_eq!(code(&["jobs"]), 1);
    assert_eq!(check(here.path(), &["jobs", "--form", "line"]).out.lines().count(), 1, "the other is known");
    // The same in another file.
    write(here.path(), "jobs/a.trialfit", GOOD);
    write(here.path(), "jobs/b.trialfit", HIGH);
    assert_eq!(code(&["jobs"]), 1);
}

#[test]
fn a_record_shrinks_and_never_grows_by_itself() {
    let here = folder(&[("a.trialfit", HIGH), ("b.trialfit", HIGH), ("c.trialfit", HIGH), ("d.trialfit", HIGH)]);
    assert_eq!(adopt(here.path(), &[]).code, 0);
    assert_eq!(adopt(here.path(), &[]).code, 2, "a record that is there is not written over");
    let whole = read(here.path(), "trialfit-known.txt");
    write(here.path(), "a.trialfit", GOOD);
    write(here.path(), "b.trialfit", GOOD);
    fs::remove_file(here.path().join("c.trialfit")).expect("removed");
    let told = check(here.path(), &["a.trialfit"]);
    assert_eq!(told.code, 0, "dead entries fail nothing");
    assert!(told.err.contains("2 of 4 entries are not needed any more"), "a, and c, which is gone: {}", told.err);
    assert_eq!(read(here.path(), "trialfit-known.txt"), whole, "untouched without --shrink");
    let sarif = json(&check(here.path(), &["a.trialfit", "d.trialfit", "--form", "sarif"]));
    let states = sarif["runs"][0]["results"].as_array().expect("results").iter();
    let states: BTreeSet<(String, String)> = states
        .map(|result| {
            let uri = &result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"];
            (uri.as_str().expect("a path").to_string(), result["baselineState"].as_str().expect("a state").to_string())
        })
        .collect();
    let want = [("a.trialfit", "absent"), ("c.trialfit", "absent"), ("d.trialfit", "unchanged")];
    assert_eq!(states, want.iter().map(|(uri, state)| ((*uri).to_string(), (*state).to_string())).collect());
    // Only what was checked, or is gone: `b` is mended but was not looked at.
    assert_eq!(check(here.path(), &["a.trialfit", "--shrink"]).code, 0);
    let files: Vec<String> =
        entries(here.path()).iter().filter_map(|line| Some(line.split(" | ").next()?.to_string())).collect();
    assert_eq!(files, ["b.trialfit", "d.trialfit"]);
    // What is new is not taken in.
    write(here.path(), "a.trialfit", HIGH);
    assert_eq!(check(here.path(), &["--shrink"]).code, 1);
    assert_eq!(entries(here.path()).len(), 1, "only d is left");
    // Anew, for one file: what is known of the others stays.
    assert_eq!(adopt(here.path(), &["--again", "a.trialfit"]).code, 0);
    assert_eq!(entries(here.path()).len(), 2);
    assert_eq!(check(here.path(), &[]).code, 0);
}

#[test]
fn a_finding_that_has_become_graver_is_new() {
    let tight = spec_lang::rules::find("glow-pin-room-small").expect("a rule");
    let here = folder(&[("bench-sheets.trialfit", BENCH_SHEETS), ("tight.trialfit", &compose(tight.bad))]);
    adopt(here.path(), &["tight.trialfit"]);
    let states = || {
        let document = json(&check(here.path(), &["tight.trialfit", "--form", "sarif"]));
        let results = document["runs"][0]["results"].as_array().expect("results").clone();
        let own = results.into_iter().filter(|result| result["ruleId"] == tight.name);
        own.map(|result| result["baselineState"].as_str().expect("a state").to_string()).collect::<BTreeSet<_>>()
    };
    assert_eq!(states(), BTreeSet::from(["unchanged".to_string()]));
    // The record knows it as milder than it is now.
    let milder = read(here.path(), "trialfit-known.txt").replace(" | warning | ", " | advice | ");
    write(here.path(), "trialfit-known.txt", &milder);
    assert_eq!(states(), BTreeSet::from(["updated".to_string()]));
}

#[test]
fn records_that_cannot_be_read_or_written_are_told_of_and_nothing_is_judged_against_them() {
    let here = folder(&[("a.trialfit", BAD)]);
    let told = |ran: &Ran, words: &str| {
        assert_eq!(ran.code, 2, "{}", ran.err);
        assert!(ran.err.contains(words) && ran.out.is_empty(), "{words}: {}{}", ran.out, ran.err);
    };
    told(&check(here.path(), &[]), "trialfit-known.txt: there is no such file");
    told(&run(here.path(), &["check", "--shrink"]), "--known");
    told(&adopt(here.path(), &["--record", "no/such/folder/known.txt"]), "there is no such file or folder");
    told(&adopt(here.path(), &["--record", "."]), "there is a record already");
    write(here.path(), "trialfit-known.txt", "something else\n");
    told(&check(here.path(), &[]), "its first line is not `trialfit known findings, version 1`");
    let head = "trialfit known findings, version 1\n";
    write(here.path(), "trialfit-known.txt", &format!("{head}<<<<<<< ours\n"));
    told(&check(here.path(), &[]), "line 2 is left from a merge");
    write(here.path(), "trialfit-known.txt", &format!("{head}\na.trialfit | error | x\n"));
    told(&check(here.path(), &[]), "line 3 is not");
    // Ends of lines are git's to change.
    write(here.path(), "a.trialfit", HIGH);
    fs::remove_file(here.path().join("trialfit-known.txt")).expect("removed");
    adopt(here.path(), &[]);
    write(here.path(), "trialfit-known.txt", &read(here.path(), "trialfit-known.txt").replace('\n', "\r\n"));
    assert_eq!(check(here.path(), &[]).code, 0);
    // Standard input is in no file.
    assert_eq!(run(here.path(), &["adopt", "-", "--record", "other.txt"]).code, 2);
}

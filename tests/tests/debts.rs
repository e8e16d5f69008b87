//! Missing facts that somebody answers for until a day, from the real binary: how they are taken up, shown, paid, gone back
//! on and overdue, and that nothing else passes with them. What a job must say is tested elsewhere.

use serde_json::Value;
use spec_lang::report::short_number;
use spec_lang::rules::{BENCH, BENCH_SHEETS};
use std::fs;
use tempfile::TempDir;
use trialfit_tests::program::{Ran, run};
use trialfit_tests::project;
use trialfit_tests::scratch::{folder, schema, write};

const TAKEN: &str = "2026-11-02";
const LAST: &str = "2027-03-31";
const OVER: &str = "2027-04-01";
const RECORD: &str = "trialfit-known.txt";
const STANDPIPE: &str = "  standpipe-end 50 mm\n";

/// The bench job without some of its lines.
fn without(lines: &[&str]) -> String {
    lines.iter().fold(BENCH.to_string(), |text, line| {
        assert!(text.contains(line), "the bench job says it otherwise now: {line}");
        text.replace(line, "")
    })
}

/// The bench job as it stood before anybody asked for the end of the standpipe or the charge of a battery.
fn old() -> String {
    without(&[STANDPIPE, "  charge        90 %\n"])
}

fn shop(van: &str) -> TempDir {
    folder(&[
        ("van.trialfit", van),
        ("whole.trialfit", BENCH),
        ("bench-sheets.trialfit", BENCH_SHEETS),
        (".git/HEAD", ""),
    ])
}

fn check(here: &TempDir, day: &str, arguments: &[&str]) -> Ran {
    run(here.path(), &[&["check", "--known", RECORD, "--date", day], arguments].concat())
}

fn adopt(here: &TempDir, day: &str, arguments: &[&str]) -> Ran {
    run(here.path(), &[&["adopt", "--date", day], arguments].concat())
}

/// Takes up what is missing, until the last day.
fn take(here: &TempDir, arguments: &[&str]) -> Ran {
    adopt(here, TAKEN, &[&["--debts", "--until", LAST, "--by", "A. Example"], arguments].concat())
}

fn json(here: &TempDir, day: &str, arguments: &[&str]) -> Value {
    let ran = check(here, day, &[&["--form", "json"], arguments].concat());
    let document: Value = serde_json::from_str(&ran.out).expect("JSON");
    assert!(schema("findings").is_valid(&document), "{}", ran.out);
    document
}

/// The states of what the van lacks.
fn states(here: &TempDir, day: &str, arguments: &[&str]) -> Vec<String> {
    let document = json(here, day, &[&["van.trialfit"], arguments].concat());
    let left = document["files"][0]["not_judged"].as_array().expect("a list").clone();
    let state = |left: &Value| left["debt"]["state"].as_str().unwrap_or("none").to_string();
    left.iter().map(state).collect()
}

fn record(here: &TempDir) -> String {
    fs::read_to_string(here.path().join(RECORD)).expect("a record")
}

/// The record with one line changed.
fn forge(here: &TempDir, change: impl Fn(&str) -> String) {
    let text: String = record(here).lines().map(|line| change(line) + "\n").collect();
    write(here.path(), RECORD, &text);
}

#[track_caller]
fn ends(ran: &Ran, code: i32, words: &[&str]) {
    let said = format!("{}\n{}", ran.out, ran.err);
    let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(ran.code, code, "{said}");
    for words in words {
        assert!(flat.contains(words), "`{words}` is not in: {said}");
    }
}

#[test]
fn nothing_is_owed_that_nobody_asked_for() {
    let here = shop(&old());
    let told = adopt(&here, TAKEN, &[]);
    ends(
        &told,
        1,
        &["2 missing facts leave something NOT JUDGED, in 1 file, and not taken up", "--debts --until", "--by"],
    );
    assert!(
        record(&here).starts_with("trialfit known findings, version 1\n") && !record(&here).contains(" | debts | ")
    );
    ends(&check(&here, TAKEN, &[]), 1, &["2 NOT JUDGED"]);
    // A day and a name belong to it, and a day that is not over.
    for arguments in [
        &["--debts"][..],
        &["--debts", "--until", LAST],
        &["--debts", "--by", "A. Example"],
        &["--until", LAST, "--by", "A. Example"],
        &["--debts", "--until", "2026-11-01", "--by", "A. Example"],
        &["--debts", "--until", "2027-02-30", "--by", "A. Example"],
        &["--debts", "--until", LAST, "--by", " "],
    ] {
        assert_eq!(adopt(&here, TAKEN, &[&["--again"], arguments].concat()).code, 2, "{arguments:?}");
    }
    assert!(!record(&here).contains(" | debts | "));
    for words in ["A debt is no approval", "never a finding", "always with --final"] {
        ends(&run(here.path(), &["adopt", "--help"]), 0, &[words, "approves nothing"]);
    }
}

#[test]
fn a_debt_is_shown_everywhere_paid_once_and_never_gone_back_on() {
    let here = shop(&old());
    ends(&take(&here, &[]), 0, &["2 missing facts are taken up, each as a debt of A. Example until 2027-03-31"]);
    assert!(record(&here).starts_with("trialfit known findings, version 2\n"), "{}", record(&here));
    let day = "2026-12-02";
    let owed = "2 missing facts are owed in 1 file, 1 of them about gas, fire or burns, the oldest for 30 days, the first \
                due on 2027-03-31 (A. Example)";
    ends(&check(&here, day, &[]), 0, &[owed, "approves nothing"]);
    let line = check(&here, day, &["--form", "line"]);
    ends(&line, 0, &[owed]);
    assert!(line.out.is_empty(), "{}", line.out);
    ends(
        &check(&here, day, &["--form", "summary"]),
        0,
        &[owed, "| A. Example | 2027-03-31 | 2 | 1 | 30 |", "no approval"],
    );
    every_form_tells(&here, day);

    // Lines elsewhere, other white space, another rule's facts; and that nobody knows is as good as silence.
    let moved = old().replace("\n\n", "\n\n# a line more\n\n").replace("holds         60 L", "holds   60 L  # filled");
    write(here.path(), "van.trialfit", &moved.replace("tank main\n", "tank main\n  standpipe-end unknown\n"));
    assert_eq!(states(&here, day, &[]), ["owed", "owed"]);
    ends(&check(&here, day, &[]), 0, &[owed]);
    // Another fact that is missing is nobody's.
    write(here.path(), "van.trialfit", &old().replace("  clips-every   300 mm\n", ""));
    ends(&check(&here, day, &[]), 1, &["2 NOT JUDGED", "it was said before and is gone", "2 missing facts are owed"]);

    // Written: counted down.
    let paid = without(&["  charge        90 %\n"]);
    write(here.path(), "van.trialfit", &paid);
    let told = check(&here, day, &[]);
    ends(&told, 0, &["1 missing fact is owed", "1 of 2 debts are not needed any more; --shrink takes them out"]);
    ends(&check(&here, day, &["--shrink"]), 0, &["1 of 2 debts taken out"]);
    assert!(!check(&here, day, &[]).err.contains("not needed"));
    // Deleted again: it fails, and nobody takes it up; nor does the old record bring it back beside what was said.
    write(here.path(), "van.trialfit", &old());
    ends(&check(&here, day, &[]), 1, &["1 NOT JUDGED", "it was said before and is gone"]);
    let refused = take(&here, &["--again"]);
    ends(&refused, 1, &["1 missing fact was said once and gone, and cannot be owed", "`standpipe-end`"]);
    ends(&check(&here, day, &[]), 1, &["1 NOT JUDGED", "1 missing fact is owed"]);
    // The last of it is paid, and what was said stays known.
    write(here.path(), "van.trialfit", BENCH);
    ends(&check(&here, day, &["--shrink"]), 0, &["1 of 1 debts taken out"]);
    write(here.path(), "van.trialfit", &old());
    ends(&check(&here, day, &[]), 1, &["2 NOT JUDGED"]);
    ends(&take(&here, &["--again"]), 1, &["2 missing facts were said once and gone"]);
    // A file that is gone leaves nothing behind.
    fs::remove_file(here.path().join("van.trialfit")).expect("removed");
    assert_eq!(check(&here, day, &["--shrink"]).code, 0);
    assert!(!record(&here).contains("van.trialfit"), "{}", record(&here));
}

/// JSON, SARIF by its published schema, and JUnit, each with two facts owed.
fn every_form_tells(here: &TempDir, day: &str) {
    let document = json(here, day, &[]);
    let sum = &document["summary"];
    assert_eq!((&sum["not_judged"], &sum["debts"]["facts"], &sum["debts"]["files"]), (&0.into(), &2.into(), &1.into()));
    assert_eq!((&sum["debts"]["oldest_days"], &sum["debts"]["first_due"]), (&30.into(), &LAST.into()));
    assert_eq!(sum["debts"]["first_due_by"], "A. Example");
    let debt = &document["files"][1]["not_judged"][0]["debt"];
    assert_eq!((&debt["state"], &debt["counts"], &debt["adopted"]), (&"owed".into(), &false.into(), &TAKEN.into()));

    let sarif: Value = serde_json::from_str(&check(here, day, &["--form", "sarif"]).out).expect("JSON");
    let published =
        fs::read_to_string(project().join("tests/reports/schemas/sarif-schema-2.1.0.json")).expect("a schema");
    let published = published.replace("^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}]?$", "^[a-zA-Z]{2}(-[a-zA-Z]{2})?$");
    let published = serde_json::from_str(&published).expect("JSON");
    assert!(jsonschema::validator_for(&published).expect("a schema").is_valid(&sarif), "{sarif}");
    // §3.27.9: still open; §3.35.2: suppressed outside the source. No result says that the file failed.
    let results = sarif["runs"][0]["results"].as_array().expect("results");
    let open: Vec<&Value> = results.iter().filter(|result| result["kind"] == "open").collect();
    assert_eq!(open.len(), 2, "{results:?}");
    for result in open {
        let suppression = &result["suppressions"][0];
        assert_eq!((&suppression["kind"], &suppression["status"]), (&"external".into(), &"accepted".into()));
        assert!(suppression["justification"].as_str().is_some_and(|text| text.contains("A. Example")), "{result}");
        assert_eq!(result["baselineState"], "unchanged");
    }
    assert!(results.iter().all(|result| result["ruleId"] != "not-judged"));

    let junit = check(here, day, &["--form", "junit"]).out;
    assert_eq!(junit.matches("<skipped type=\"debt\" message=\"NOT JUDGED, because ").count(), 2, "{junit}");
    assert!(
        junit.contains("errors=\"0\"") && junit.contains("(a debt of A. Example since 2026-11-02, until 2027-03-31)")
    );
}

#[test]
fn after_its_last_day_and_before_building_it_counts() {
    let here = shop(&old());
    take(&here, &[]);
    assert_eq!(check(&here, LAST, &[]).code, 0, "on its last day it holds");
    let over = check(&here, OVER, &["--form", "line"]);
    ends(&over, 1, &["2 NOT JUDGED", "until 2027-03-31: its last day is over"]);
    assert_eq!(states(&here, OVER, &[]), ["run-out", "run-out"]);
    let sarif: Value = serde_json::from_str(&check(&here, OVER, &["--form", "sarif"]).out).expect("JSON");
    let results = sarif["runs"][0]["results"].as_array().expect("results");
    assert!(results.iter().any(|result| result["ruleId"] == "not-judged"), "{results:?}");
    assert!(results.iter().all(|result| result["suppressions"] == Value::Array(Vec::new())));

    assert_eq!(states(&here, TAKEN, &["--final"]), ["final", "final"]);
    ends(&check(&here, TAKEN, &["--final"]), 1, &["2 NOT JUDGED"]);
    write(here.path(), "trialfit.toml", "final = [\"van.trialfit\"]\n");
    ends(&check(&here, TAKEN, &[]), 1, &["2 NOT JUDGED", "before building nothing is owed"]);
    assert_eq!(check(&here, TAKEN, &["--not-final"]).code, 0);
    fs::remove_file(here.path().join("trialfit.toml")).expect("removed");

    // What still holds keeps its day and its name; what ran out gets others, and keeps its age.
    let again = ["--again", "--debts", "--until", "2027-09-30", "--by", "B. Example"];
    ends(&adopt(&here, LAST, &again), 0, &["2 missing facts are owed already and stay so"]);
    assert_eq!(check(&here, OVER, &[]).code, 1);
    ends(&adopt(&here, OVER, &again), 0, &["debt of B. Example until 2027-09-30", "the age stays"]);
    ends(&check(&here, OVER, &[]), 0, &["the oldest for 150 days, the first due on 2027-09-30 (B. Example)"]);
    // Recorded again without a word of debts, they stay.
    assert_eq!(adopt(&here, OVER, &["--again"]).code, 0);
    assert_eq!(check(&here, OVER, &[]).code, 0);
}

#[test]
fn what_a_job_says_today_is_owed_by_no_record() {
    let here = shop(&old());
    take(&here, &[]);
    let honest = record(&here);
    // The same record made by hand: as of a job that never said how its cable is clipped.
    let worse = old().replace("  clips-every   300 mm\n", "").replace("\n\nusual fuel-line\n", "\n");
    let elsewhere = shop(&worse);
    take(&elsewhere, &[]);
    write(here.path(), "van.trialfit", &worse);
    let lines = |text: &str, what: &str| -> Vec<String> {
        let of = text.lines().filter(|line| line.contains(what) && !line.starts_with('#'));
        of.map(String::from).collect()
    };
    let forged =
        [lines(&honest, ""), lines(&record(&elsewhere), "- | rules |"), lines(&record(&elsewhere), " | debts | ")];
    let forged = forged.concat().join("\n").replace("- | rules", "\n- | rules");
    write(here.path(), RECORD, &forged);
    assert_eq!(states(&here, TAKEN, &[]).iter().filter(|state| *state == "said-before").count(), 2, "{forged}");
    ends(&check(&here, TAKEN, &[]), 1, &["2 NOT JUDGED"]);
    ends(&take(&here, &["--again"]), 1, &["2 missing facts were said once and gone"]);
    // A line that is owed and then written in part: the rest is still owed, and the line is said from then on.
    let silent = without(&["  made-of       12 V 95 Ah\n"]);
    let here = shop(&silent);
    take(&here, &[]);
    let before = states(&here, TAKEN, &[]);
    assert!(before.contains(&"owed".to_string()) && before.iter().all(|state| state == "owed"), "{before:?}");
    write(here.path(), "van.trialfit", &BENCH.replace("12 V 95 Ah", "2 × 12 V 95 Ah"));
    assert_eq!(check(&here, TAKEN, &["--shrink"]).code, 0);
    assert_eq!(states(&here, TAKEN, &[]), ["owed"]);
    write(here.path(), "van.trialfit", &silent);
    ends(&check(&here, TAKEN, &[]), 1, &["it was said before and is gone"]);
    // A part that a line lacks is owed without the line: who then takes the line out goes back on what it said.
    let parallel = BENCH.replace("12 V 95 Ah", "2 × 12 V 95 Ah");
    let here = shop(&parallel);
    take(&here, &[]);
    assert_eq!(states(&here, TAKEN, &[]), ["owed"]);
    write(here.path(), "van.trialfit", &parallel.replace("  made-of       2 × 12 V 95 Ah\n", ""));
    ends(&check(&here, TAKEN, &[]), 1, &["it was said before and is gone"]);
}

#[test]
fn a_rule_that_did_not_ask_makes_it_new() {
    let here = shop(&old());
    take(&here, &[]);
    // As the record of a trialfit that did not know one of the rules.
    let set = record(&here).lines().find(|line| line.contains("battery-freezes")).expect("a set").to_string();
    let (number, names) = set.trim_start_matches("- | rules | ").split_once(" | ").expect("two parts");
    let fewer = names.replace("battery-freezes ", "");
    let then = format!("{:08x}", short_number(&fewer));
    // Put in by hand, a name does not go with its number.
    let honest = record(&here);
    forge(&here, |line| line.replace(&fewer, names).replace(names, &format!("{names} x")));
    ends(&check(&here, TAKEN, &[]), 2, &["its number is not that of these rules"]);
    write(here.path(), RECORD, &honest);
    forge(&here, |line| line.replace(names, &fewer).replace(number, &then));
    let grew = check(&here, TAKEN, &["--form", "line"]);
    ends(&grew, 1, &["1 NOT JUDGED", "and now also asked for by battery-freezes"]);
    let document = json(&here, TAKEN, &["van.trialfit"]);
    let debts: Vec<&Value> =
        document["files"][0]["not_judged"].as_array().expect("a list").iter().map(|it| &it["debt"]).collect();
    assert!(
        debts.iter().any(|debt| debt["state"] == "grew" && debt["asked_anew"][0] == "battery-freezes"),
        "{debts:?}"
    );
    // Taken up anew it is owed again, as old as it was.
    let again = ["--again", "--debts", "--until", LAST, "--by", "B. Example"];
    assert_eq!(adopt(&here, "2026-11-12", &again).code, 0);
    ends(&check(&here, "2026-11-12", &[]), 0, &["the oldest for 10 days"]);
}

#[test]
fn only_missing_facts_are_owed() {
    // A finding that can burn, beside a fact that is missing.
    let burns = old().replace("  right         690 mm, down 30 mm", "  right         300 mm, down 30 mm");
    let here = shop(&burns);
    ends(&take(&here, &[]), 1, &["exhaust-ends-under-vehicle", "2 missing facts are taken up"]);
    ends(&check(&here, TAKEN, &[]), 1, &["[exhaust-ends-under-vehicle]", "2 missing facts are owed"]);
    // A fact's lines under the names of findings set nothing aside.
    let document = json(&here, TAKEN, &["van.trialfit"]);
    let prints: Vec<String> = document["files"][0]["findings"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|finding| finding["fingerprint"].as_str().map(String::from))
        .collect();
    assert!(!prints.is_empty());
    let rules = record(&here).lines().find_map(|line| line.strip_prefix("- | rules | ")?.get(..8).map(String::from));
    let rules = rules.expect("a set");
    for print in &prints {
        for key in [&print[..16], &print[16..]] {
            let line = format!("van.trialfit | debts | {TAKEN} | {LAST} | A. Example | x | x {rules} {key}\n");
            write(here.path(), RECORD, &(record(&here) + &line));
        }
    }
    ends(&check(&here, TAKEN, &[]), 1, &["[exhaust-ends-under-vehicle]"]);
    // What is not judged for another reason than a fact.
    let here = shop(&old().replacen("\njob ", "\nsketch ", 1));
    ends(&take(&here, &[]), 1, &["NOT JUDGED: an install"]);
    ends(&check(&here, TAKEN, &[]), 1, &["1 NOT JUDGED"]);
    assert!(!record(&here).contains("van.trialfit | debts | "), "{}", record(&here));
}

#[test]
fn records_with_debts_are_read_through_merges_and_told_of_where_they_cannot_be() {
    let here = shop(&old());
    take(&here, &[]);
    let honest = record(&here);
    // Two branches: each line twice, in any order, and lines ended by CRLF; of two last days the first holds.
    let debts: String = honest
        .lines()
        .filter(|line| line.contains(" | ") && !line.starts_with('#'))
        .fold(String::new(), |text, line| format!("{}\n{text}", line.replace(LAST, "2027-05-31")));
    write(here.path(), RECORD, &(honest.clone() + &debts).replace('\n', "\r\n"));
    ends(&check(&here, LAST, &[]), 0, &["2 missing facts are owed"]);
    assert_eq!(check(&here, OVER, &[]).code, 1);
    assert_eq!(check(&here, LAST, &["--shrink"]).code, 0);
    assert_eq!(record(&here), honest, "written again as it was");
    for (from, to, words) in [
        ("version 2", "version 3", "a later trialfit wrote it"),
        ("version 2", "version 1", "is not `file | severity"),
        (" | 2026-11-02 | ", " | 2026-02-30 | ", "is not `file | debts | since"),
        (" | A. Example | ", " |  | ", "is not `file | debts | since"),
        (" | said | ", " | said | 0", "is not `file | said | numbers`"),
    ] {
        write(here.path(), RECORD, &honest.replace(from, to));
        ends(&check(&here, TAKEN, &[]), 2, &[words]);
    }
}

#[test]
fn concessions_list_what_is_owed_with_name_day_and_age() {
    let here = shop(&old());
    take(&here, &[]);
    let list = |day: &str, arguments: &[&str]| {
        run(here.path(), &[&["concessions", "--known", RECORD, "--date", day], arguments].concat())
    };
    let text = list("2026-12-02", &[]);
    ends(&text, 0, &["owed: `tank main` does not say `standpipe-end`", "2 debts: 2 owed. A debt is no approval"]);
    ends(
        &text,
        0,
        &["by A. Example; since 2026-11-02, 30 days old; until 2027-03-31, 119 days left", "approves nothing"],
    );
    ends(&list("2027-03-02", &[]), 0, &["owed, near its end", "29 days left"]);
    ends(&list(OVER, &[]), 1, &["run out: `tank main`", "1 day ago"]);
    assert_eq!(run(here.path(), &["concessions"]).out.matches("owed").count(), 0, "no record is named");
    write(here.path(), "trialfit.toml", &format!("known = \"{RECORD}\"\n"));
    write(here.path(), "van.trialfit", &without(&["  charge        90 %\n"]));
    let named = run(here.path(), &["concessions", "--date", "2026-12-02"]);
    ends(&named, 0, &["not needed any more: `standpipe-end` of `tank main`", "1 owed, 1 not needed any more"]);
    let document: Value = serde_json::from_str(&list("2026-12-02", &["--form", "json"]).out).expect("JSON");
    assert!(schema("concessions").is_valid(&document), "{document}");
    let debt = &document["debts"][0];
    assert_eq!(
        (&debt["path"], &debt["by"], &debt["until"]),
        (&"van.trialfit".into(), &"A. Example".into(), &LAST.into())
    );
    assert_eq!((&debt["days_old"], &debt["days_left"], &debt["state"]), (&30.into(), &119.into(), &"owed".into()));
    let csv = list("2026-12-02", &["--form", "csv"]).out;
    assert!(
        csv.contains("battery house,A. Example,") && csv.contains(",2027-03-31,119,1,1,owed,2026-11-02,30\r\n"),
        "{csv}"
    );
    assert!(csv.contains(",not needed any more,2026-11-02,30\r\n"), "{csv}");
}

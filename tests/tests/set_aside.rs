//! What guards against poisoning, fire or burns cannot be set aside: each marked rule, broken as on its own page, against
//! each way round that the tool has, with the real binary. A control shows that each way works on a rule that is not marked.

use serde_json::Value;
use spec_lang::bench::judge_text;
use spec_lang::finding::Severity;
use spec_lang::reading::{Date, Reading};
use spec_lang::report::Fingerprints;
use spec_lang::rules::{BENCH_KITS, BENCH_SHEETS, BENCH_USUAL, Rule, all, compose, find};
use spec_lang::source::{FileId, Followed, Source};
use spec_lang::vocabulary::{KINDS, Kind};
use std::sync::Arc;
use tempfile::TempDir;
use trialfit_tests::program::{Ran, run};
use trialfit_tests::scratch::{folder, write};

/// The day on which the pages' examples are judged.
const DAY: [&str; 2] = ["--date", "2026-01-15"];
/// A rule that may be set aside: what is tried must work on it, or it proves nothing of the others.
const CONTROL: &str = "outlet-air-fast";
/// The marked rule whose page shows a concession already.
const SPEAKS_OF_CONCESSIONS: &str = "concession-not-allowed";

/// The marked rules whose page is broken by a finding of their own. The others say NOT JUDGED, which nothing sets aside.
fn marked() -> Vec<&'static Rule> {
    let breaks = |rule: &&Rule| judge_text(&compose(rule.bad)).findings.iter().any(|it| it.rule == *rule);
    let marked: Vec<&Rule> = all().filter(|rule| rule.life_safety()).filter(breaks).collect();
    assert!(marked.len() > 80, "{} rules", marked.len());
    marked
}

/// The marked rules, and the control.
fn tried() -> Vec<&'static Rule> {
    let mut rules = marked();
    rules.push(find(CONTROL).expect("a rule"));
    rules
}

/// A folder with the broken job of each rule, named after it, as `written` makes it of the page's text; and beside them the
/// files that the bench follows.
fn jobs(rules: &[&'static Rule], written: impl Fn(&'static Rule, String) -> String) -> TempDir {
    let here = folder(&[
        ("bench-sheets.trialfit", BENCH_SHEETS),
        ("bench-kits.trialfit", BENCH_KITS),
        ("bench-usual-90.trialfit", BENCH_USUAL[0]),
        ("bench-usual-105.trialfit", BENCH_USUAL[1]),
    ]);
    for rule in rules {
        write(here.path(), &format!("{}.trialfit", rule.name), &written(rule, compose(rule.bad)));
    }
    here
}

/// A job that follows one more file, which is written beside it.
fn following(here: &TempDir, rule: &Rule, followed: &str) {
    let (job, beside) = (format!("{}.trialfit", rule.name), format!("{}-beside.txt", rule.name));
    write(here.path(), &beside, followed);
    let text = std::fs::read_to_string(here.path().join(&job)).expect("the job");
    let (first, rest) = text.split_once("\n\n").expect("paragraphs");
    let (first, rest) = if first.starts_with("trialfit") { (first, rest) } else { ("trialfit 1", text.as_str()) };
    write(here.path(), &job, &format!("{first}\n\nfollows \"{beside}\"\n\n{rest}"));
}

fn check(here: &TempDir, arguments: &[&str]) -> Ran {
    run(here.path(), &[&["check", "--form", "json"], &DAY[..], arguments].concat())
}

/// Of each rule, how many of its findings count in a check of its own job.
fn counting(ran: &Ran, rules: &[&'static Rule]) -> Vec<(&'static str, usize)> {
    let told: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("no JSON: {}{}", ran.out, ran.err));
    let files = told["files"].as_array().expect("files");
    let of = |rule: &&'static Rule| {
        let job = format!("{}.trialfit", rule.name);
        let file = files.iter().filter(|file| file["path"] == job.as_str());
        let findings = file.flat_map(|file| file["findings"].as_array().expect("findings"));
        let counts = findings.filter(|it| {
            it["rule"] == rule.name
                && it["conceded"].is_null()
                && it["known"] != true
                && it["life_safety"] == rule.life_safety()
        });
        (rule.name, counts.count())
    };
    rules.iter().map(of).collect()
}

/// Each marked rule still counts; the control, which shows that the way is one, does not.
fn only_the_control_got_round(way: &str, ran: &Ran) {
    let round: Vec<&str> =
        counting(ran, &tried()).into_iter().filter(|(_, count)| *count == 0).map(|it| it.0).collect();
    assert_eq!(round, [CONTROL], "{way}");
    assert_eq!(ran.code, 1, "{way}");
}

fn concession(rule: &Rule, on: &str) -> String {
    format!(
        "\nconcession {}\n  on            {on}\n  because       \"no room\"\n  by            \"workshop foreman\"\n  until         2099-12-31\n",
        rule.name
    )
}

#[test]
fn no_concession_of_a_job() {
    let here = jobs(&tried(), |rule, text| match rule.name {
        SPEAKS_OF_CONCESSIONS => text,
        _ => text + &concession(rule, "job"),
    });
    only_the_control_got_round("a concession on the job", &check(&here, &["."]));
}

#[test]
fn no_concession_of_a_followed_file() {
    // Every kind that a concession may speak of without a name.
    let kinds = [
        "heater",
        "space",
        "vehicle",
        "battery",
        "tank",
        "opening",
        "cable",
        "exhaust",
        "fuel-line",
        "combustion-air",
        "return-air",
        "warm-air",
        "keep-clear",
        "alarm",
        "coolant-line",
    ];
    let here = jobs(&tried(), |_, text| text);
    for rule in tried() {
        let fleet: String = kinds.iter().map(|kind| concession(rule, kind)).collect();
        following(&here, rule, &format!("trialfit 1\n{fleet}"));
    }
    only_the_control_got_round("a fleet's concession", &check(&here, &["."]));
}

#[test]
fn no_record_of_known_findings() {
    let here = jobs(&tried(), |_, text| text);
    run(here.path(), &[&["adopt", "."], &DAY[..]].concat());
    only_the_control_got_round("`adopt`", &check(&here, &[".", "--known", "trialfit-known.txt"]));
    write(here.path(), "trialfit.toml", "known = \"trialfit-known.txt\"\n");
    only_the_control_got_round("`known` of the settings", &check(&here, &["."]));
}

/// Missing facts may be owed until a day; of what was found, nothing is.
#[test]
fn no_debt() {
    let here = jobs(&tried(), |_, text| text);
    let terms = ["--debts", "--until", "2099-12-31", "--by", "A. Example"];
    run(here.path(), &[&["adopt", "."], &DAY[..], &terms[..]].concat());
    only_the_control_got_round("`adopt --debts`", &check(&here, &[".", "--known", "trialfit-known.txt"]));
}

#[test]
fn no_record_written_by_hand() {
    let here = jobs(&tried(), |_, text| text);
    run(here.path(), &[&["adopt", "."], &DAY[..]].concat());
    let path = here.path().join("trialfit-known.txt");
    let record = std::fs::read_to_string(&path).expect("a record");
    let mut forged: String = record
        .lines()
        .take_while(|line| line.starts_with("trialfit") || line.starts_with('#'))
        .map(|line| format!("{line}\n"))
        .collect();
    for rule in tried() {
        let analysis = judge_text(&compose(rule.bad));
        let mut prints = Fingerprints::new(&analysis);
        for it in &analysis.findings {
            forged += &format!("{}.trialfit | error | {} | {} | -\n", rule.name, it.rule.name, prints.of(it));
        }
    }
    std::fs::write(&path, forged).expect("a record");
    only_the_control_got_round("a record written by hand", &check(&here, &[".", "--known", "trialfit-known.txt"]));
}

#[test]
fn no_milder_bar() {
    let here = jobs(&tried(), |_, text| text);
    let settled = jobs(&tried(), |_, text| text);
    write(settled.path(), "trialfit.toml", "fail-on = \"error\"\n");
    for rule in tried() {
        let alone = judge_text(&compose(rule.bad));
        // An error, or what could not be judged, fails the check by itself.
        if !alone.not_judged.is_empty() || alone.standing().any(|it| it.severity == Severity::Error) {
            assert_ne!(rule.name, CONTROL);
            continue;
        }
        let job = format!("{}.trialfit", rule.name);
        for ran in [check(&here, &[&job, "--fail-on", "error"]), check(&settled, &[&job])] {
            assert_eq!(ran.code == 0, rule.name == CONTROL, "{}", rule.name);
        }
    }
}

#[test]
fn no_exclusion_from_a_final_check() {
    let here = jobs(&tried(), |_, text| text);
    let stands = |settings: &str, arguments: &[&str]| {
        write(here.path(), "trialfit.toml", settings);
        let counts = counting(&check(&here, arguments), &marked());
        counts.iter().all(|(_, count)| *count > 0)
    };
    let exclude = "exclude = [\"*.trialfit\"]\n";
    assert!(stands(exclude, &[".", "--final"]));
    assert!(stands(&format!("{exclude}final = true\n"), &["."]));
    assert!(stands(&format!("{exclude}final = [\"*-*\"]\n"), &["."]));
    assert!(!stands(exclude, &["."]), "a draft is left out as asked");
}

#[test]
fn no_practice() {
    // A practice has no milder word than `warning`: on an error that is refused, and the finding stays as grave.
    let here = jobs(&marked(), |_, text| text);
    let severities = |ran: &Ran| -> Vec<String> {
        let told: Value = serde_json::from_str(&ran.out).expect("JSON");
        let files = told["files"].as_array().expect("files").iter();
        let findings = files.flat_map(|file| file["findings"].as_array().expect("findings").clone());
        let marked = findings.filter(|it| it["life_safety"] == true);
        let mut all: Vec<String> =
            marked.map(|it| format!("{} {} {}", it["rule"], it["severity"], it["title"])).collect();
        all.sort();
        all
    };
    let before = severities(&check(&here, &["."]));
    for rule in marked() {
        following(&here, rule, &format!("trialfit 1\n\npractice \"mild\"\n  level         {}, warning\n", rule.name));
    }
    assert_eq!(severities(&check(&here, &["."])), before);
}

#[test]
fn no_marked_rule_is_mere_advice_and_no_error_of_the_text_waits() {
    for rule in all() {
        assert!(!rule.life_safety() || rule.severity >= Severity::Warning, "{} is advice", rule.name);
        assert!(!rule.life_safety() || !rule.can_wait(), "{}", rule.name);
    }
    for rule in ["unknown-word", "header-misspelt", "name-not-found", "run-misses-its-end", "kit-conditions-exceeded"] {
        let rule = find(rule).expect("a rule");
        assert!(!rule.can_wait(), "{}: it may hide what can kill", rule.name);
        let here = jobs(&[rule], |rule, text| text + &concession(rule, "job"));
        assert!(counting(&check(&here, &["."]), &[rule])[0].1 > 0, "{}", rule.name);
    }
}

/// A job beside sheets of its own.
struct Beside {
    sheets: Arc<Reading>,
}

impl Source for Beside {
    fn follow(&self, _: FileId, written: &str) -> Followed {
        let read = |text: &str| Arc::new(Reading::new(Arc::from(text)));
        match written {
            "bench-sheets.trialfit" => Followed::File(FileId(1), Arc::clone(&self.sheets)),
            "bench-kits.trialfit" => Followed::File(FileId(2), read(BENCH_KITS)),
            "bench-usual-90.trialfit" => Followed::File(FileId(3), read(BENCH_USUAL[0])),
            "bench-usual-105.trialfit" => Followed::File(FileId(4), read(BENCH_USUAL[1])),
            _ => Followed::Missing,
        }
    }
}

/// A text in which every heater's sheet says a word so, in place of whatever it said by that word.
fn with_word(text: &str, word: &str, line: &str) -> String {
    let mut out = String::new();
    let mut in_sheet = false;
    for old in text.lines() {
        let header = !old.starts_with(' ') && !old.is_empty();
        if header {
            in_sheet = old.starts_with("datasheet heater ");
        }
        if in_sheet && !header && old.split_whitespace().next() == Some(word) {
            continue;
        }
        out.push_str(old);
        out.push('\n');
        if header && in_sheet {
            out.push_str(&format!("  {line}\n"));
        }
    }
    out
}

/// A statement with each of its numbers made nought, or a thousand times as large.
fn stretched(example: &str, times: f64) -> String {
    let parts = example.split(' ').map(|part| {
        let number: String = part.chars().take_while(|letter| letter.is_ascii_digit() || *letter == '.').collect();
        match number.trim_end_matches('.').parse::<f64>() {
            Ok(value) if !number.contains("..") => part.replacen(&number, &format!("{}", value * times), 1),
            _ => part.to_string(),
        }
    });
    parts.collect::<Vec<_>>().join(" ")
}

/// Words of a heater's sheet that may end a marked finding of these rules, and why. None reaches what the project holds on
/// its own authority: distances of gas from people, fuses and cables, joints and holes.
const THE_SHEETS_OWN: &[(&str, &[&str], &str)] = &[
    ("exhaust-limit", &["exhaust-too-long", "exhaust-too-short", "exhaust-bends-too-many"], THE_LIMIT),
    (
        "combustion-air-limit",
        &["combustion-air-too-long", "combustion-air-too-short", "combustion-air-bends-too-many"],
        THE_LIMIT,
    ),
    ("warm-air-limit", &["warm-air-way-too-long", "warm-air-bends-too-many"], THE_LIMIT),
    ("return-air-limit", &["return-air-way-too-long", "return-air-bends-too-many"], THE_LIMIT),
    ("exhaust-and-air-limit", &["exhaust-and-air-too-long", "exhaust-and-air-bends-too-many"], THE_LIMIT),
    ("combustion-pressure", &["combustion-pressure-high"], THE_LIMIT),
    ("altitude", &["altitude-above-sheet", "excess-air-runs-out"], THE_LIMIT),
    ("tilt", &["heater-leans-too-far"], THE_LIMIT),
    ("voltage", &["cut-before-heater-stops"], THE_LIMIT),
    ("bears-cut-after", &["goods-run-on-too-long"], THE_LIMIT),
    ("overheats", &["coolant-hose-too-weak"], THE_FACT),
    (
        "warms",
        &["coolant-hose-too-weak", "coolant-loop-open", "coolant-pump-missing", "coolant-bleed-missing"],
        "an air heater has no coolant",
    ),
    ("harness", &["harness-too-short"], THE_LIMIT),
    ("corrects-altitude", &["excess-air-runs-out"], "the fact that makes it harmless, said by the text"),
    ("stage", &["cut-before-heater-stops", "goods-run-on-too-long"], THE_FACT),
    ("fuel-rate", &["combustion-pressure-high", "exhaust-cannot-bear-heat"], THE_FACT),
    ("excess-air", &["exhaust-cannot-bear-heat", "exhaust-hot-to-touch"], THE_FACT),
    ("exhaust-temperature", &["exhaust-cannot-bear-heat", "exhaust-hot-to-touch"], THE_FACT),
    ("output", &["warm-air-overheats", "duct-touched-hot"], THE_FACT),
    (
        "fan",
        &[
            "duct-resistance-large",
            "warm-air-flow-small",
            "warm-air-overheats",
            "duct-touched-hot",
            "duct-bears-too-little-heat",
        ],
        THE_FACT,
    ),
    (
        "port",
        &["exhaust-low-over-waterline", "exhaust-end-low", "exhaust-near-waterline", "thing-outside-its-space"],
        "the place where the walk begins",
    ),
];
const THE_LIMIT: &str = "the limit is the heater's own, which its maker and nobody else knows";
const THE_FACT: &str = "the figure is computed from it";

/// No word of a sheet hides what the project holds on its own authority: each word, said so as its example has it, with its
/// numbers at nought and a thousand times as large, over the broken page of each marked rule.
#[test]
fn no_word_of_a_sheet() {
    let day = Date::read("2026-01-15");
    let mut round = Vec::new();
    let sheet = KINDS.iter().find(|entry| entry.kind == Kind::HeaterSheet).expect("the kind");
    for rule in marked() {
        let text = compose(rule.bad);
        for word in sheet.words() {
            for line in [word.example.to_string(), stretched(word.example, 0.0), stretched(word.example, 1000.0)] {
                let sheets = Arc::new(Reading::new(Arc::from(with_word(BENCH_SHEETS, word.word, &line).as_str())));
                let job = Arc::new(Reading::new(Arc::from(with_word(&text, word.word, &line).as_str())));
                let told = spec_lang::analyse(FileId(0), job, &Beside { sheets }, day);
                let stands = told.findings.iter().any(|it| it.rule == rule || it.guards_life())
                    || !told.not_judged.is_empty()
                    || told.findings.iter().any(|it| !it.can_wait());
                let allowed =
                    THE_SHEETS_OWN.iter().any(|(own, rules, _)| *own == word.word && rules.contains(&rule.name));
                if !stands && !allowed {
                    round.push(format!("{}: {line}", rule.name));
                }
            }
        }
    }
    assert!(round.is_empty(), "{}", round.join("\n"));
}

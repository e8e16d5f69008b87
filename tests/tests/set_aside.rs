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
const CONTROL: &str = "heater-too-large";
/// Marked rules whose finding needs the concession that its own page shows.
const SPEAKS_OF_CONCESSIONS: &str = "concession-not-allowed";

/// The marked rules whose page is broken by a finding of their own. The others say NOT JUDGED, which nothing sets aside.
fn marked() -> Vec<&'static Rule> {
    let breaks = |rule: &&Rule| judge_text(&compose(rule.bad)).findings.iter().any(|it| it.rule == *rule);
    let marked: Vec<&Rule> = all().filter(|rule| rule.life_safety()).filter(breaks).collect();
    assert!(marked.len() > 80, "{} rules", marked.len());
    marked
}

/// A folder with a text as its job, beside the files that the bench follows.
fn job(text: &str) -> TempDir {
    folder(&[
        ("job.trialfit", text),
        ("bench-sheets.trialfit", BENCH_SHEETS),
        ("bench-kits.trialfit", BENCH_KITS),
        ("bench-usual-90.trialfit", BENCH_USUAL[0]),
        ("bench-usual-105.trialfit", BENCH_USUAL[1]),
    ])
}

/// The job that breaks a rule, as its page has it, with more text behind.
fn broken(rule: &Rule, more: &str) -> TempDir {
    job(&(compose(rule.bad) + more))
}

fn check(at: &TempDir, arguments: &[&str]) -> Ran {
    run(at.path(), &[&["check", "--form", "json"], &DAY[..], arguments].concat())
}

/// The findings of a rule, or such that carry it as a note, which count in a check.
fn counting(ran: &Ran, rule: &Rule) -> usize {
    let told: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("no JSON: {}{}", ran.out, ran.err));
    let files = told["files"].as_array().expect("files");
    let findings = files.iter().flat_map(|file| file["findings"].as_array().expect("findings"));
    findings
        .filter(|it| it["rule"] == rule.name && it["conceded"].is_null() && it["known"] != true)
        .filter(|it| !rule.life_safety() || it["lifeSafety"] == true)
        .count()
}

/// Whether the rule's finding was taken out of a check, or the check came out green.
fn got_round(ran: &Ran, rule: &Rule) -> bool {
    counting(ran, rule) == 0 || ran.code != 1
}

/// Tries one way on every marked rule, and on one that is not marked, where it must work.
fn tried(way: &str, outcome: impl Fn(&'static Rule) -> Ran) {
    let control = find(CONTROL).expect("a rule");
    let ran = outcome(control);
    assert!(got_round(&ran, control), "{way} does not even get round `{CONTROL}`: {}{}", ran.out, ran.err);
    let round: Vec<&str> =
        marked().into_iter().filter(|rule| got_round(&outcome(rule), rule)).map(|rule| rule.name).collect();
    assert!(round.is_empty(), "{way} gets round {round:?}");
}

fn concession(rule: &Rule, on: &str) -> String {
    format!(
        "\nconcession {}\n  on            {on}\n  because       \"no room\"\n  by            \"workshop foreman\"\n  until         2099-12-31\n",
        rule.name
    )
}

#[test]
fn no_concession_of_a_job() {
    tried("a concession on the job", |rule| {
        let more = if rule.name == SPEAKS_OF_CONCESSIONS { String::new() } else { concession(rule, "job") };
        check(&broken(rule, &more), &["job.trialfit"])
    });
}

#[test]
fn no_concession_of_a_followed_file() {
    // Every kind that a concession may speak of.
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
    tried("a fleet's concession", |rule| {
        let here = broken(rule, "");
        let fleet: String = kinds.iter().map(|kind| concession(rule, kind)).collect();
        write(here.path(), "fleet.trialfit", &format!("trialfit 1\n{fleet}"));
        let text = std::fs::read_to_string(here.path().join("job.trialfit")).expect("the job");
        let text = match text.split_once("\n\n") {
            Some((first, rest)) if first.starts_with("trialfit") => {
                format!("{first}\n\nfollows \"fleet.trialfit\"\n\n{rest}")
            }
            _ => format!("follows \"fleet.trialfit\"\n\n{text}"),
        };
        write(here.path(), "job.trialfit", &text);
        check(&here, &["job.trialfit"])
    });
}

#[test]
fn no_record_of_known_findings() {
    tried("`adopt`", |rule| {
        let here = broken(rule, "");
        run(here.path(), &[&["adopt", "job.trialfit"], &DAY[..]].concat());
        check(&here, &["job.trialfit", "--known", "trialfit-known.txt"])
    });
}

#[test]
fn no_record_written_by_hand() {
    tried("a record written by hand", |rule| {
        let here = broken(rule, "");
        run(here.path(), &[&["adopt", "job.trialfit"], &DAY[..]].concat());
        let path = here.path().join("trialfit-known.txt");
        let record = std::fs::read_to_string(&path).unwrap_or_default();
        let preface: String = record
            .lines()
            .take_while(|line| !line.contains(" | ") || line.starts_with('#'))
            .map(|line| format!("{line}\n"))
            .collect();
        let analysis = judge_text(&compose(rule.bad));
        let mut prints = Fingerprints::new(&analysis);
        let forged: String = analysis
            .findings
            .iter()
            .map(|it| format!("job.trialfit | error | {} | {} | -\n", it.rule.name, prints.of(it)))
            .collect();
        std::fs::write(&path, preface + &forged).expect("a record");
        check(&here, &["job.trialfit", "--known", "trialfit-known.txt"])
    });
}

#[test]
fn no_milder_bar() {
    tried("`--fail-on error`", |rule| check(&broken(rule, ""), &["job.trialfit", "--fail-on", "error"]));
    tried("`fail-on` of the settings", |rule| {
        let here = broken(rule, "");
        write(here.path(), "trialfit.toml", "fail-on = \"error\"\n");
        check(&here, &["job.trialfit"])
    });
}

#[test]
fn no_exclusion_from_a_final_check() {
    for (settings, arguments) in [
        ("exclude = [\"*.trialfit\"]\n", &["--final"][..]),
        ("exclude = [\"*.trialfit\"]\nfinal = true\n", &[][..]),
        ("exclude = [\"*.trialfit\"]\nfinal = [\"job.*\"]\n", &["job.trialfit"][..]),
    ] {
        for rule in marked() {
            let here = broken(rule, "");
            write(here.path(), "trialfit.toml", settings);
            assert!(!got_round(&check(&here, arguments), rule), "{}: {settings}{arguments:?}", rule.name);
        }
    }
    let here = broken(marked()[0], "");
    write(here.path(), "trialfit.toml", "exclude = [\"*.trialfit\"]\n");
    assert_eq!(check(&here, &["job.trialfit"]).code, 0, "a draft is left out as asked");
}

#[test]
fn no_practice_and_no_level() {
    for rule in marked() {
        // A practice has no milder word than `warning`; on an error that is refused and the finding stays as grave.
        let here = broken(rule, "");
        let text = std::fs::read_to_string(here.path().join("job.trialfit")).expect("the job");
        let practice = format!("\npractice \"mild\"\n  level         {}, warning\n", rule.name);
        write(here.path(), "mild.trialfit", &format!("trialfit 1\n{practice}"));
        let (first, rest) = text.split_once("\n\n").expect("paragraphs");
        let follows = if first.starts_with("trialfit") {
            format!("{first}\n\nfollows \"mild.trialfit\"\n\n{rest}")
        } else {
            format!("follows \"mild.trialfit\"\n\n{text}")
        };
        let before = check(&here, &["job.trialfit", "--fail-on", "error"]);
        write(here.path(), "job.trialfit", &follows);
        let after = check(&here, &["job.trialfit", "--fail-on", "error"]);
        assert!(!got_round(&after, rule), "{}", rule.name);
        assert!(counting(&after, rule) >= counting(&before, rule), "{}", rule.name);
    }
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
        let here = broken(rule, &concession(rule, "job"));
        assert!(!got_round(&check(&here, &["job.trialfit"]), rule), "{}", rule.name);
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

/// Words of a heater's sheet that may end a marked finding, and why. Each states a limit of the heater's own, which its maker
/// and nobody else knows, or what the heater is; none reaches what the project holds on its own authority.
const THE_SHEETS_OWN: &[(&str, &[&str], &str)] = &[];

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

//! Saying less never passes more. Each statement of each example is taken out, made unknown and misspelt in turn. No
//! question may then come out better: not from *fail* or *open* to *pass* or *does not apply*, and no pass that rested on a
//! figure may stand without one. `tests/golden/silences.txt` lists, word by word, how often that still happens; the list
//! may only shrink. `TRIALFIT_WRITE=1` writes it anew.

use spec_lang::Analysis;
use spec_lang::report::Answers;
use spec_lang::rules::Answer;
use spec_lang::source::Place;
use std::collections::BTreeMap;
use std::path::Path;
use trialfit_tests::{Folder, project, trialfit_files};

/// A question: a rule and the header of the block that it is asked of, which stays the same when a line above it goes.
type Question = (&'static str, String);

/// How a question came out, from worst to best.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Stands {
    Fails,
    Open,
    /// By a figure that keeps its limit.
    Measured,
    Passes,
    NotApplicable,
}

fn header(analysis: &Analysis, of: Place) -> String {
    let Some(reading) = analysis.reading(of.file) else { return String::new() };
    reading.slice(of.span).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every question, the worst answer where a block is there twice.
fn questions(analysis: &Analysis) -> BTreeMap<Question, Stands> {
    let answers = Answers::of(analysis);
    let mut all = BTreeMap::new();
    // Rules on slips of the text and on the paper that holds it speak of what is written and ask for nothing.
    for question in analysis.account().questions.iter().filter(|question| !question.rule.asks.is_empty()) {
        let stands = match question.answer {
            Answer::Fails => Stands::Fails,
            Answer::Open(_) => Stands::Open,
            Answer::Passes if answers.figure(question).is_some() => Stands::Measured,
            Answer::Passes => Stands::Passes,
            Answer::NotApplicable(_) => Stands::NotApplicable,
        };
        let known = all.entry((question.rule.name, header(analysis, question.of))).or_insert(stands);
        *known = (*known).min(stands);
    }
    all
}

/// What no longer is asked, or is answered better than before though less is said. A text that a finding of its own tells
/// of (a word that nobody reads) may leave a rule's other findings as they are.
fn risen(before: &BTreeMap<Question, Stands>, after: &BTreeMap<Question, Stands>) -> Vec<Question> {
    let better = |question: &Question, stands: Stands| match (stands, after.get(question)) {
        (Stands::Fails | Stands::Open, Some(now)) => *now > Stands::Open,
        (Stands::Measured, Some(now)) => *now > Stands::Measured,
        (Stands::Fails | Stands::Open | Stands::Measured, None) => true,
        _ => false,
    };
    before
        .iter()
        .filter(|(question, stands)| better(question, **stands))
        .map(|(question, _)| question.clone())
        .collect()
}

/// Lines of which no reader can miss one, with the reason. A check cannot know of what nobody wrote; what a person has to
/// say instead is named where there is such a word.
const UNKNOWABLE: &[(&[&str], &[&str], &str)] = &[
    (
        &["up", "down", "left", "right", "forward", "back", "nearside", "offside", "run", "bend", "at"],
        &[
            "Exhaust",
            "CombustionAir",
            "ReturnAir",
            "WarmAir",
            "FuelLine",
            "CoolantLine",
            "Cable",
            "KeepClear",
            "Change",
        ],
        "a route with fewer legs is a shorter route; where both its ends are placed, a finding tells that it misses one",
    ),
    (
        &[
            "joint",
            "clamp",
            "moving-joint",
            "passage",
            "sleeve",
            "silencer",
            "drain-hole",
            "trap",
            "filter",
            "valve",
            "switch",
            "grille",
            "mixes",
            "tee",
            "outlet",
            "warms",
            "bleed",
            "behind",
            "lagged",
            "sheathed",
            "harness",
        ],
        &["Exhaust", "CombustionAir", "ReturnAir", "WarmAir", "FuelLine", "CoolantLine", "Cable", "Alarm", "Change"],
        "the line is the thing that is judged: without it there is no such joint, switch or grille in the job",
    ),
    (
        &["rides-on"],
        &["Exhaust", "CombustionAir", "ReturnAir", "WarmAir", "FuelLine", "Cable", "KeepClear", "Opening", "Space"],
        "what rides on no second body is fixed to the first",
    ),
    (
        &[
            "surface",
            "ribs",
            "people",
            "contents",
            "other-load",
            "joined-to",
            "starts-by",
            "used-while",
            "rules",
            "measured",
        ],
        &["Space", "Battery", "Heater", "Job", "Vehicle", "Exhaust", "CombustionAir", "ReturnAir"],
        "one of several lines of a list; that there is one at all is asked for where that matters",
    ),
    (
        &["cuts-below", "sensor", "sensor-at"],
        &["Battery", "Heater"],
        "without it there is no battery saver, or no sensor of the heater's own",
    ),
    (&["answer", "asks"], &["Fit", "Kit"], "the kit's usual value stands, or a finding of its own tells"),
];

/// Whether a line is one that nobody can miss.
fn is_unknowable(kind: &str, word: &str) -> bool {
    UNKNOWABLE.iter().any(|(words, kinds, reason)| {
        assert!(!reason.is_empty());
        words.contains(&word) && kinds.contains(&kind)
    })
}

/// The ways to say less of a statement: its line without it, with its first value unknown, with its word misspelt.
fn spoilt(line: &str, word: &str) -> Vec<(&'static str, Option<String>)> {
    let at = line.find(word).unwrap_or(0);
    let (head, rest) = line.split_at(at + word.len());
    let mut ways = vec![("deleted", None)];
    if !rest.trim().is_empty() {
        ways.push(("unknown", Some(format!("{head} unknown\n"))));
    }
    let misspelt: String = word.chars().rev().collect();
    ways.push(("misspelt", Some(format!("{}{misspelt}{rest}", &line[..at]))));
    ways
}

#[test]
fn saying_less_never_passes_more() {
    let examples = project().join("examples");
    let mut rises: BTreeMap<String, BTreeMap<&'static str, usize>> = BTreeMap::new();
    for path in trialfit_files(&examples) {
        of_one(&Folder::new(), &path, &mut rises);
    }
    let found: String = rises
        .iter()
        .map(|(word, rules)| {
            let rules: Vec<String> = rules.iter().map(|(rule, count)| format!("{rule} {count}")).collect();
            format!("{word}: {}\n", rules.join(", "))
        })
        .collect();
    let golden = project().join("tests/golden/silences.txt");
    if std::env::var_os("TRIALFIT_WRITE").is_some() {
        std::fs::write(&golden, &found).expect("the list");
    }
    let wanted = std::fs::read_to_string(&golden).unwrap_or_default();
    let changed: Vec<&str> = found.lines().filter(|line| !wanted.lines().any(|known| known == *line)).collect();
    let gone = wanted.lines().filter(|line| !found.lines().any(|now| now == *line)).count();
    assert!(
        changed.is_empty() && gone == 0,
        "{gone} lines of the list are not so any more; new:\n{}",
        changed.join("\n")
    );
}

fn of_one(folder: &Folder, path: &Path, rises: &mut BTreeMap<String, BTreeMap<&'static str, usize>>) {
    let whole = folder.judge(path);
    let before = questions(&whole);
    let reading = whole.reading(whole.file).expect("the file itself").clone();
    let lines: Vec<&str> = reading.tree.text.split_inclusive('\n').collect();
    for block in &reading.blocks {
        let Some(kind) = block.kind else { continue };
        for statement in reading.statements(block) {
            let Some(word) = statement.word else { continue };
            let at = statement.line as usize;
            let Some(line) = lines.get(at) else { continue };
            for (way, instead) in spoilt(line, reading.slice(statement.head)) {
                if way == "deleted" && is_unknowable(&format!("{kind:?}"), word.word) {
                    continue;
                }
                let put = |(number, line): (usize, &&str)| match &instead {
                    _ if number != at => Some(line.to_string()),
                    Some(instead) => Some(instead.clone()),
                    None => None,
                };
                let less: String = lines.iter().enumerate().filter_map(put).collect();
                let less = folder.judge_text(path, &less);
                for (rule, _) in risen(&before, &questions(&less)) {
                    let entry = rises.entry(format!("{kind:?} {} {way}", word.word)).or_default();
                    *entry.entry(rule).or_default() += 1;
                }
            }
        }
    }
}

//! Saying less never passes more: each statement of each example is taken out in turn, and what the rules then no longer
//! answer has to be told of. `tests/golden/silences.txt` lists, word by word, how many answers still fall silent; the list
//! may only shrink. `TRIALFIT_WRITE=1` writes it anew.

use spec_lang::Analysis;
use spec_lang::rules::Guards;
use spec_lang::source::Place;
use std::collections::{BTreeMap, BTreeSet};
use trialfit_tests::{Folder, project, trialfit_files};

/// A question: a rule and the block that it asks it of.
type Question = (&'static str, String);

/// The header of the block that a place lies in: what stays the same when a line above it goes.
fn block(analysis: &Analysis, place: Place) -> String {
    let Some(reading) = analysis.reading(place.file) else { return String::new() };
    let block = reading.at(place.span.start).0;
    block.map_or(String::new(), |block| reading.slice(block.header).split_whitespace().collect::<Vec<_>>().join(" "))
}

/// What is complained of: findings, and what could not be judged.
fn complaints(analysis: &Analysis) -> BTreeMap<Question, usize> {
    let mut all = BTreeMap::new();
    let findings = analysis.findings.iter().map(|it| (it.rule.name, it.place));
    let left = analysis.not_judged.iter().map(|it| (it.rule.name, it.place));
    for (rule, place) in findings.chain(left) {
        *all.entry((rule, block(analysis, place))).or_insert(0) += 1;
    }
    all
}

/// Every question that is answered, and whether what asks it guards life or the start.
fn answered(analysis: &Analysis) -> BTreeMap<Question, bool> {
    let grave = |guards: Guards| guards.life_safety() || guards == Guards::Start;
    let findings = analysis.findings.iter().map(|it| (it.rule, it.place));
    let held = analysis.margins().iter().map(|it| (it.rule, it.place));
    findings.chain(held).map(|(rule, at)| ((rule.name, block(analysis, at)), grave(rule.guards))).collect()
}

/// How often an answer falls silent when a word is taken out: of what guards life and the start, and of the rest.
#[derive(Default, PartialEq)]
struct Silences {
    grave: usize,
    other: usize,
}

#[test]
fn what_is_taken_out_is_told_of_or_stands_on_the_list() {
    let examples = project().join("examples");
    let folder = Folder::new();
    let mut silences: BTreeMap<String, Silences> = BTreeMap::new();
    for path in trialfit_files(&examples) {
        let whole = folder.judge(&path);
        let (before, questions) = (complaints(&whole), answered(&whole));
        let reading = whole.reading(whole.file).expect("the file itself").clone();
        let text = &reading.tree.text;
        let lines: Vec<&str> = text.split_inclusive('\n').collect();
        for statements in &reading.blocks {
            let Some(kind) = statements.kind else { continue };
            for statement in reading.statements(statements) {
                let Some(word) = statement.word else { continue };
                let left =
                    |(number, line): (usize, &&str)| (number != statement.line as usize).then(|| line.to_string());
                let less: String = lines.iter().enumerate().filter_map(left).collect();
                let less = folder.judge_text(&path, &less);
                let after = complaints(&less);
                // Told of: any complaint that was not there before.
                if after.iter().any(|(question, count)| before.get(question).is_none_or(|known| known < count)) {
                    continue;
                }
                let still: BTreeSet<Question> = answered(&less).into_keys().collect();
                let gone = questions.iter().filter(|(question, _)| !still.contains(*question));
                let entry = silences.entry(format!("{kind:?} {}", word.word)).or_default();
                for (_, grave) in gone {
                    *(if *grave { &mut entry.grave } else { &mut entry.other }) += 1;
                }
            }
        }
    }
    silences.retain(|_, count| *count != Silences::default());
    let found: String = silences
        .iter()
        .map(|(word, count)| format!("{word}: {} that guard life or the start, {} others\n", count.grave, count.other))
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

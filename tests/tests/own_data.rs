//! Figures that are kept off our sheets, so that the data stays invented: every text in the language that this project
//! ships is read, and no text may state more than one of them.

use spec_lang::reading::{Block, Reading, Statement, Value};
use spec_lang::units::{Quantity, find_unit};
use spec_lang::vocabulary::{KINDS, Kind};
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;
use trialfit_tests::project;

/// Which end of what a line states is looked at.
#[derive(Clone, Copy, PartialEq)]
enum End {
    Lowest,
    Highest,
    Both,
}

/// A figure that is kept off: the line's word, which end of it, the figure, and how near is too near, in the same unit.
type Kept = (&'static str, End, f64, &'static str, f64);

const KEPT_OFF: &[Kept] = &[
    ("harness", End::Both, 15.0, "ft", 0.1),
    ("harness", End::Both, 20.0, "ft", 0.1),
    ("set-range", End::Lowest, 10.0, "°C", 0.3),
    ("set-range", End::Highest, 35.0, "°C", 0.3),
    ("output", End::Lowest, 1.1, "kW", 0.02),
    ("output", End::Highest, 2.0, "kW", 0.03),
    ("pump-tilt", End::Lowest, 15.0, "°", 0.5),
    ("pump-tilt", End::Highest, 90.0, "°", 0.5),
    ("cool-down", End::Both, 180.0, "s", 3.0),
    ("line", End::Both, 2.0, "mm", 0.04),
];

/// Names of a harness's branches that are kept off.
const BRANCHES: &[&str] = &["supply", "fuel-pump", "switch"];

/// The word to look a line's figures up by; `None` where a line states nothing of what is kept off.
fn looked_up(reading: &Reading, block: &Block, statement: &Statement) -> Option<&'static str> {
    let says = |choice| reading.args(statement).iter().any(|arg| arg.value == Value::Choice(choice));
    match (block.speaks_of()?, statement.word?.word) {
        (Kind::HeaterSheet, word @ ("harness" | "set-range" | "output" | "pump-tilt")) => Some(word),
        (Kind::HeaterSheet, "stage") if says("cool-down") => Some("cool-down"),
        (Kind::Cable, "harness") => Some("harness"),
        (Kind::FuelLine, "line") | (Kind::LineSheet, "bore") => Some("line"),
        (Kind::Stock, "sizes") if block.name.is_some_and(|name| reading.slice(name) == "line") => Some("line"),
        _ => None,
    }
}

fn is_kept_off(word: &str, quantity: &Quantity, kept: &Kept) -> bool {
    let (of, end, figure, unit, near) = *kept;
    let unit = find_unit(unit).expect("a unit");
    let close = |value: f64| (unit.from_si(value) - figure).abs() <= near;
    word == of
        && quantity.dimension() == unit.dimension
        && (end != End::Highest && close(quantity.low) || end != End::Lowest && close(quantity.high))
}

/// The figures of a text that are kept off, each once, and how many heaters' and lines' sheets it holds.
fn stated(text: &str) -> (BTreeSet<String>, usize) {
    let reading = Reading::new(Arc::from(text));
    let (mut found, mut sheets) = (BTreeSet::new(), 0);
    for block in &reading.blocks {
        sheets += usize::from(matches!(block.kind, Some(Kind::HeaterSheet | Kind::LineSheet)));
        for statement in reading.statements(block) {
            let Some(word) = looked_up(&reading, block, statement) else { continue };
            for arg in reading.args(statement) {
                match &arg.value {
                    Value::Quantity(quantity) => {
                        let kept = KEPT_OFF.iter().filter(|kept| is_kept_off(word, quantity, kept));
                        found.extend(kept.map(|(word, _, figure, unit, _)| format!("{word} {figure} {unit}")));
                    }
                    Value::Label if word == "harness" && BRANCHES.contains(&reading.slice(arg.span)) => {
                        found.insert(format!("harness {}", reading.slice(arg.span)));
                    }
                    _ => {}
                }
            }
        }
    }
    (found, sheets)
}

/// Every file in the language, whatever made or fetched left out.
fn files(folder: &Path, found: &mut Vec<(String, String)>) {
    for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
        let (path, name) = (entry.path(), entry.file_name());
        let name = name.to_string_lossy();
        if path.is_dir() {
            if !name.starts_with('.') && name != "target" && name != "node_modules" {
                files(&path, found);
            }
        } else if name.ends_with(".trialfit") {
            found.push((path.display().to_string(), std::fs::read_to_string(&path).expect("a text")));
        }
    }
}

/// A snippet with what it proposes in its gaps: `${4:2.2 mm}` and the first of `${2|van,truck|}`.
fn proposed(snippet: &str) -> String {
    let mut parts = snippet.split("${");
    let mut text = parts.next().unwrap_or("").to_string();
    for part in parts {
        let (gap, after) = part.split_once('}').expect("a gap ends");
        let gap = gap.trim_start_matches(|letter: char| letter.is_ascii_digit());
        text.push_str(gap.trim_start_matches([':', '|']).trim_end_matches('|').split(',').next().unwrap_or(""));
        text.push_str(after);
    }
    text
}

fn shipped() -> Vec<(String, String)> {
    let mut texts = Vec::new();
    files(&project(), &mut texts);
    for rule in spec_lang::rules::all() {
        texts.push((format!("{}, bad", rule.name), rule.bad.to_string()));
        texts.push((format!("{}, good", rule.name), rule.good.to_string()));
    }
    // All that the language's reference shows of one kind, as if it were one block.
    for kind in KINDS.iter().filter(|kind| !kind.header.is_empty()) {
        let lines = kind.words().map(|word| format!("\n  {}", word.example));
        texts.push((format!("words of `{}`", kind.example), kind.example.to_string() + &lines.collect::<String>()));
    }
    let snippets = std::fs::read_to_string(project().join("editors/vscode/snippets/trialfit.json")).expect("snippets");
    let snippets: serde_json::Value = serde_json::from_str(&snippets).expect("JSON");
    for (name, snippet) in snippets.as_object().expect("snippets by name") {
        let lines = snippet["body"].as_array().expect("lines").iter().map(|line| line.as_str().expect("a line"));
        texts.push((format!("snippet {name}"), proposed(&lines.collect::<Vec<_>>().join("\n"))));
    }
    texts
}

#[test]
fn no_text_states_more_than_one_figure_that_is_kept_off_our_sheets() {
    let mut sheets = 0;
    let mut wrong = Vec::new();
    for (name, text) in shipped() {
        let (found, held) = stated(&text);
        sheets += held;
        if found.len() > 1 {
            wrong.push(format!("{name}: {found:?}"));
        }
    }
    assert!(sheets > 40, "the texts were read: {sheets} sheets");
    assert!(wrong.is_empty(), "invent other figures in\n{}", wrong.join("\n"));
}

/// The look-out itself: in any unit, each figure once, and near misses are no hits.
#[test]
fn a_kept_off_figure_is_seen_in_any_unit_and_its_neighbours_are_not() {
    for (text, wanted) in [
        ("datasheet heater a\n  harness switch, 4.6 m\n  harness b, 15 ft\n  harness c, 240 in", 3),
        ("datasheet heater a\n  harness feed-lead, 3.9 m\n  harness b, 5.4 m\n  harness c, 22 ft", 0),
        ("datasheet heater a\n  set-range 50 °F .. 95 °F\n  output 1100 W .. 2000 W\n  pump-tilt 15° .. 90°", 6),
        ("datasheet heater a\n  set-range 8 °C .. 32 °C\n  output 0.9 kW .. 2.3 kW\n  pump-tilt 10° .. 80°", 0),
        ("datasheet heater a\n  stage cool-down, 2 A, 3 min\n  stage high, 2 A\n  stage pre-heat, 9 A, 180 s", 1),
        ("datasheet line a\n  bore 2 mm\n\nstock line\n  sizes 1.5 mm, 2.0 mm", 1),
        ("datasheet hose a\n  bore 2 mm\n\nstock cable\n  sizes 2.5 mm²", 0),
        ("fuel-line of a\n  line 0.079 in\n\ncable b of a\n  harness fuel-pump", 2),
    ] {
        let (found, _) = stated(text);
        assert_eq!(found.len(), wanted, "{text}\n{found:?}");
    }
    assert_eq!(proposed("  line ${4:2.2 mm}\n  ${2|van,truck|} x"), "  line 2.2 mm\n  van x");
}

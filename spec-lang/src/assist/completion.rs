//! What may stand where the cursor is: headers at the margin, properties inside a block, and behind a word whatever its
//! shape takes next. Everything offered is read off the vocabulary, the unit table, the rules or the job's own names.

use super::inlays::in_words;
use super::names::{block_before, names_of};
use crate::reading::{expected_after, Block, Reading};
use crate::rules;
use crate::source::Place;
use crate::syntax::{Item, ItemKind, Line};
use crate::text::Span;
use crate::units::{Dimension, UNITS};
use crate::vocabulary::{
    kind_of_header, property, words_of, Atom, Kind, KindSet, KindWords, Naming, Word, DIRECTIONS, EDITION, KINDS,
};
use crate::Analysis;

/// What a candidate is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // each name is its own description
pub enum CandidateKind {
    Name,
    Choice,
    Unit,
    Direction,
    Property,
    Header,
    Rule,
    Blank,
}

/// Something that may stand at the cursor.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// What to show.
    pub label: String,
    /// What it is.
    pub kind: CandidateKind,
    /// The bytes it takes the place of: what is typed of it already.
    pub span: Span,
    /// What to write.
    pub insert: String,
    /// What to fill in behind it: an example to type over.
    pub fill: String,
    /// A line about it.
    pub says: String,
    /// It as somebody would write it.
    pub example: String,
}

struct Offer<'a> {
    analysis: &'a Analysis,
    span: Span,
    out: Vec<Candidate>,
}

/// The candidates at an offset of the file, best kinds first; empty inside comments and quoted text.
pub fn complete(analysis: &Analysis, offset: u32) -> Vec<Candidate> {
    let Some(reading) = analysis.reading(analysis.file) else { return Vec::new() };
    let tree = &reading.tree;
    let number_of_line = tree.line_at(offset);
    let Some(line) = tree.lines.get(number_of_line) else { return Vec::new() };
    if line.comment.is_some_and(|comment| comment.start < offset) {
        return Vec::new();
    }
    let items = tree.items(line);
    let inside = |item: &&Item| item.span.start < offset && offset <= item.span.end;
    let typed = items.iter().find(inside);
    // Right behind a number its unit comes next, with the space that parts the two.
    let number = typed.filter(|item| item.kind == ItemKind::Number && item.span.end == offset);
    if number.is_some() {
        let mut offer = Offer { analysis, span: Span::point(offset), out: Vec::new() };
        let before = items.iter().take_while(|item| item.span.end <= offset).count();
        offer.inside(reading, u32::try_from(number_of_line).unwrap_or(u32::MAX), items.get(..before).unwrap_or(&[]));
        offer.out.retain(|candidate| candidate.kind == CandidateKind::Unit);
        for candidate in &mut offer.out {
            let gap = if candidate.label == "°" { "" } else { " " };
            candidate.insert = format!("{gap}{}", candidate.label);
        }
        return offer.out;
    }
    // Inside quotes there is nothing to offer.
    if typed.is_some_and(|item| matches!(item.kind, ItemKind::Text | ItemKind::Number | ItemKind::Date)) {
        return Vec::new();
    }
    let typed = typed.filter(|item| item.kind == ItemKind::Word || item.kind == ItemKind::Question);
    let span = typed.map_or(Span::point(offset), |item| item.span);
    let before = items.iter().take_while(|item| item.span.end <= span.start).count();
    let before = items.get(..before).unwrap_or(&[]);
    let mut offer = Offer { analysis, span, out: Vec::new() };
    if is_margin(reading, line, span, before) {
        offer.margin(reading, before);
    } else {
        let line = u32::try_from(number_of_line).unwrap_or(u32::MAX);
        offer.inside(reading, line, before);
    }
    let mut out = offer.out;
    let mut seen = std::collections::HashSet::new();
    out.retain(|candidate| seen.insert(candidate.label.clone()));
    out
}

/// Whether what is typed stands at the margin, or goes on with a header.
fn is_margin(reading: &Reading, line: &Line, span: Span, before: &[Item]) -> bool {
    if before.is_empty() {
        let indent = Span { start: line.span.start, end: span.start };
        return reading.slice(indent).trim_start_matches('\u{feff}').is_empty();
    }
    !line.indented
}

impl Offer<'_> {
    fn candidate(&self, kind: CandidateKind, label: &str, says: &str) -> Candidate {
        Candidate {
            label: label.to_string(),
            kind,
            span: self.span,
            insert: label.to_string(),
            fill: String::new(),
            says: says.to_string(),
            example: String::new(),
        }
    }

    fn add(&mut self, kind: CandidateKind, label: &str, says: &str) {
        self.out.push(self.candidate(kind, label, says));
    }

    fn margin(&mut self, reading: &Reading, before: &[Item]) {
        let word = |at: usize| before.get(at).map_or("", |item: &Item| reading.slice(item.span));
        if before.is_empty() {
            for entry in KINDS.iter().filter(|entry| !entry.header.is_empty() && !is_kept(entry.kind)) {
                let (header, fill) = header_of(entry);
                let mut candidate = self.candidate(CandidateKind::Header, &header, entry.says);
                candidate.insert = header + " ";
                candidate.fill = fill;
                candidate.example = entry.example.to_string();
                self.out.push(candidate);
            }
            for word in words_of(Kind::File).words() {
                if word.repeats || reading.edition.is_none() {
                    self.property(word);
                }
            }
            return;
        }
        if word(0) == "dryfit" && before.len() == 1 {
            self.add(CandidateKind::Choice, &EDITION.to_string(), "the edition of the language");
            return;
        }
        if word(0) == "datasheet" && before.len() == 1 {
            for entry in KINDS.iter().filter(|entry| entry.kind.is_sheet()) {
                self.add(CandidateKind::Choice, entry.sheet_of, entry.says);
            }
            return;
        }
        let Some(kind) = kind_of_header(word(0), Some(word(1))) else { return };
        match (words_of(kind).naming, before.len()) {
            (Naming::OfHeater, 1) | (Naming::NameOfHeater, 2) if word(1) != "of" => {
                self.add(CandidateKind::Choice, "of", "of which heater");
            }
            (Naming::OfHeater, 2) | (Naming::NameOfHeater, 3) => self.names(KindSet::of(&[Kind::Heater])),
            (Naming::Rule, 1) => {
                for rule in rules::all().filter(|rule| !rule.life_safety) {
                    self.add(CandidateKind::Rule, rule.name, rule.title);
                }
            }
            (Naming::StockOf, 1) => {
                for entry in KINDS.iter().filter(|entry| entry.kind.is_sheet() && entry.kind != Kind::HeaterSheet) {
                    self.add(CandidateKind::Choice, entry.sheet_of, "sizes that the workshop carries");
                }
            }
            _ => {}
        }
    }

    fn inside(&mut self, reading: &Reading, line: u32, before: &[Item]) {
        let Some((block, kind)) = block_before(reading, line).and_then(|block| Some((block, block.kind?))) else {
            return;
        };
        let Some((head, rest)) = before.split_first() else {
            let statements = reading.statements(block);
            let said = |word: &Word| {
                statements.iter().any(|it| it.line != line && it.word.is_some_and(|known| known.word == word.word))
            };
            let last = kind.is_run().then(|| self.last_leg(reading, block, line)).flatten();
            let words = words_of(kind).words().filter(|word| word.repeats || !said(word));
            // A route that is being walked goes on: its legs come first, and none straight back.
            let (legs, others): (Vec<&Word>, Vec<&Word>) =
                words.partition(|word| last.is_some() && DIRECTIONS.contains(&word.word));
            for word in legs {
                let back = last.as_ref().is_some_and(|(way, _)| opposite(way) == Some(word.word));
                if back {
                    continue;
                }
                self.property(word);
                let here = last.as_ref().and_then(|(_, here)| here.as_ref());
                if let (Some(here), Some(candidate)) = (here, self.out.last_mut()) {
                    candidate.says = format!("{}; the route is at {here}", candidate.says);
                }
            }
            for word in others {
                self.property(word);
            }
            return;
        };
        let Some(word) = property(kind, reading.slice(head.span)) else { return };
        let number = rest.last().is_some_and(|item| item.kind == ItemKind::Number);
        for atom in expected_after(&reading.tree.text, rest, word) {
            self.atom(atom, number);
        }
    }

    /// The way of the leg before a line of a run, and where the route is behind it, where it is known.
    fn last_leg(&self, reading: &Reading, block: &Block, line: u32) -> Option<(&'static str, Option<String>)> {
        let before = reading.statements(block).iter().rev().find(|statement| statement.line < line)?;
        let word = before.word.filter(|word| DIRECTIONS.contains(&word.word))?;
        let header = Place { file: self.analysis.file, span: block.header };
        let run = self.analysis.job.runs.iter().find(|run| run.header == header);
        let here = run.and_then(|run| {
            let step = run.steps.iter().position(|step| step.place.span == before.span)?;
            run.walk.after.get(step).copied().flatten().map(|spot| in_words(run, spot))
        });
        Some((word.word, here))
    }

    fn property(&mut self, word: &'static Word) {
        let fill = word.example.strip_prefix(word.word).unwrap_or("").trim();
        let mut candidate = self.candidate(CandidateKind::Property, word.word, word.says);
        if !fill.is_empty() {
            candidate.insert = format!("{} ", word.word);
        }
        candidate.fill = fill.to_string();
        candidate.example = word.example.to_string();
        self.out.push(candidate);
    }

    fn names(&mut self, kinds: KindSet) {
        for (name, reads) in names_of(self.analysis, kinds) {
            self.add(CandidateKind::Name, &name, &reads);
        }
    }

    fn atom(&mut self, atom: Atom, behind_number: bool) {
        match atom {
            Atom::Literal(word) | Atom::Flag(_, word) => self.add(CandidateKind::Choice, word, ""),
            Atom::Choice(_, words) => {
                for word in words {
                    self.add(CandidateKind::Choice, word, "");
                }
            }
            Atom::Direction(_) => {
                for word in DIRECTIONS {
                    self.add(CandidateKind::Direction, word, "a direction in the vehicle's axes");
                }
            }
            Atom::Measure(_, dimension) | Atom::Fillable(_, dimension) if behind_number => self.units(dimension),
            Atom::Measure(_, dimension) => self.sample(dimension),
            Atom::Fillable(_, dimension) => {
                self.blank();
                self.sample(dimension);
            }
            Atom::Name(_, kinds) => self.names(kinds),
            Atom::FillableName(_, kinds) => {
                self.names(kinds);
                self.blank();
            }
            Atom::Rule(_) => {
                for rule in rules::all() {
                    self.add(CandidateKind::Rule, rule.name, rule.title);
                }
            }
            Atom::Count(_) | Atom::Label(_) | Atom::Text(_) | Atom::Date(_) => {}
        }
    }

    fn blank(&mut self) {
        self.add(CandidateKind::Blank, "?", "left for the tool to fill");
    }

    fn sample(&mut self, dimension: Dimension) {
        let (what, sample) = dimension.describe();
        self.add(CandidateKind::Unit, sample, what);
    }

    fn units(&mut self, dimension: Dimension) {
        let (what, _) = dimension.describe();
        for unit in UNITS.iter().filter(|unit| dimension.takes(unit.dimension) && unit.spelling == unit.symbol) {
            self.add(CandidateKind::Unit, unit.symbol, what);
        }
    }
}

fn opposite(direction: &str) -> Option<&'static str> {
    const PAIRS: &[(&str, &str)] = &[("forward", "back"), ("left", "right"), ("up", "down"), ("nearside", "offside")];
    PAIRS.iter().find_map(|(one, other)| match direction {
        _ if direction == *one => Some(*other),
        _ if direction == *other => Some(*one),
        _ => None,
    })
}

/// Whether the kind's word is only kept for a later edition.
fn is_kept(kind: Kind) -> bool {
    matches!(kind, Kind::Kit | Kind::Fit | Kind::Usual | Kind::Change)
}

/// The words that every header of the kind starts with, and an example of how it goes on.
fn header_of(entry: &KindWords) -> (String, String) {
    let fixed = match entry.naming {
        Naming::SheetName => format!("{} {}", entry.header, entry.sheet_of),
        Naming::OfHeater => format!("{} of", entry.header),
        _ => entry.header.to_string(),
    };
    let fill = entry.example.strip_prefix(fixed.as_str()).unwrap_or("").trim().to_string();
    (fixed, fill)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Reading;
    use crate::rules::BENCH;
    use crate::source::{FileId, NoFiles};
    use std::sync::Arc;

    fn offered(text: &str, behind: &str) -> Vec<Candidate> {
        let at = text.find(behind).unwrap() + behind.len();
        let analysis = crate::analyse(FileId(0), Arc::new(Reading::new(Arc::from(text))), &NoFiles, None);
        complete(&analysis, u32::try_from(at).unwrap())
    }

    #[test]
    fn a_route_goes_on_from_where_it_is_and_not_straight_back() {
        let walked = "  back          150 mm\n";
        let text = BENCH.replace(walked, &format!("{walked}  \n"));
        let labels = offered(&text, &format!("{walked}  "));
        let first: Vec<&str> = labels.iter().take(7).map(|it| it.label.as_str()).collect();
        assert_eq!(
            first,
            ["back", "left", "right", "up", "down", "nearside", "offside"],
            "legs first, none straight back"
        );
        // The battery is 1200 mm back, 600 mm left, 700 mm up; 150 mm of cable lead away from it.
        assert!(labels[0].says.ends_with("the route is at back 1.35 m, left 600 mm, up 700 mm"), "{}", labels[0].says);
        assert!(labels.iter().any(|it| it.label == "fuse"), "and everything else behind them");
    }

    #[test]
    fn a_unit_is_offered_right_behind_its_number_with_the_space_between() {
        for (line, unit, insert) in [("  run 13", "ft", " ft"), ("  bend 90", "°", "°"), ("  carries 4", "A", " A")] {
            let text = format!("dryfit 1\ncable a of b\n{line}\n");
            let labels = offered(&text, line);
            let found = labels.iter().find(|it| it.label == unit).expect(unit);
            assert_eq!((found.insert.as_str(), found.span.is_empty()), (insert, true));
            assert!(labels.iter().all(|it| it.kind == CandidateKind::Unit), "{labels:?}");
        }
        assert!(offered("dryfit 1\ncable a of b\n  bundled 4\n", "bundled 4").is_empty(), "a count has no unit");
    }
}

//! What may stand where the cursor is: headers at the margin, properties inside a block, and behind a word whatever its
//! shape takes next. Everything offered is read off the vocabulary, the unit table, the rules or the job's own names.

use super::inlays::{in_words, legs_of};
use super::names::{block_before, names_of};
use crate::Analysis;
use crate::model::{Sort, kits_in};
use crate::reading::{Block, Reading, expected_after};
use crate::rules;
use crate::source::Place;
use crate::syntax::{Item, ItemKind, Line};
use crate::text::Span;
use crate::units::{Dimension, UNITS};
use crate::vocabulary::{
    Atom, DESCRIBED, DIRECTIONS, EDITION, KINDS, Kind, KindSet, KindWords, Naming, Role, Word, kind_of_header,
    says_a_place, words_of,
};

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
    /// The block that the cursor is in, where a value is being written.
    block: Option<Block>,
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
        let mut offer = Offer { analysis, span: Span::point(offset), block: None, out: Vec::new() };
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
    let mut offer = Offer { analysis, span, block: None, out: Vec::new() };
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
            for entry in KINDS.iter().filter(|entry| !entry.header.is_empty()) {
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
        if word(0) == "trialfit" && before.len() == 1 {
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
                self.add(CandidateKind::Choice, "of", "the heater that it belongs to");
            }
            (Naming::OfHeater, 2) | (Naming::NameOfHeater, 3) => self.names(KindSet::of(&[Kind::Heater])),
            (Naming::KitAs, 1) => self.names(KindSet::of(&[Kind::Kit])),
            (Naming::KitAs, 2) => self.add(CandidateKind::Choice, "as", "the name that its heater takes"),
            (Naming::KindAlone | Naming::KindNameOf, 1) => {
                for word in DESCRIBED {
                    let says = kind_of_header(word, None).map_or("", |kind| words_of(kind).says);
                    self.add(CandidateKind::Choice, word, says);
                }
            }
            (Naming::KindNameOf, _) if before.last().is_some_and(|item| reading.slice(item.span) == "of") => {
                for fit in &self.analysis.job.fits {
                    self.add(CandidateKind::Name, &fit.name, &format!("fitted from kit {}", fit.kit));
                }
            }
            (Naming::KindNameOf, 2 | 3) => {
                self.add(CandidateKind::Choice, "of", "the heater that it belongs to");
                if let Some(kind) = kind_of_header(word(1), None).filter(|_| before.len() == 2) {
                    self.names(KindSet::of(&[kind]));
                }
            }
            (Naming::Rule, 1) => {
                for rule in rules::all().filter(|rule| rule.can_wait()) {
                    self.add(CandidateKind::Rule, rule.name, rule.title);
                }
            }
            (Naming::StockOf, 1) => {
                for entry in KINDS.iter().filter(|entry| entry.kind.is_sheet() && entry.kind != Kind::HeaterSheet) {
                    self.add(CandidateKind::Choice, entry.sheet_of, "the sizes that the workshop carries");
                }
            }
            _ => {}
        }
    }

    fn inside(&mut self, reading: &Reading, line: u32, before: &[Item]) {
        let Some((block, kind)) = block_before(reading, line).and_then(|block| Some((block, block.kind?))) else {
            return;
        };
        if kind == Kind::Fit {
            self.answers(reading, block, line, before);
            return;
        }
        let Some((head, rest)) = before.split_first() else {
            let statements = reading.statements(block);
            let said = |word: &Word| {
                statements.iter().any(|it| it.line != line && it.word.is_some_and(|known| known.word == word.word))
            };
            let last = kind.is_run().then(|| self.last_leg(reading, block, line)).flatten();
            if kind.is_run() {
                self.legs_to_the_end(reading, block, line);
            }
            let usual = kind == Kind::Usual;
            let spoken = block.speaks_of().unwrap_or(kind);
            let more = words_of(kind).words().filter(|word| word.word == "without");
            let words = words_of(spoken).words().filter(|word| word.repeats || !said(word));
            let words =
                words.filter(|word| !(usual && says_a_place(spoken, word.word))).chain(more.filter(|_| spoken != kind));
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
                    candidate.says = format!("{}; the route is now at {here}", candidate.says);
                }
            }
            for word in others {
                self.property(word);
            }
            return;
        };
        let Some(word) = block.property(reading.slice(head.span)) else { return };
        if rest.last().is_some_and(|item| reading.slice(item.span) == "the") {
            self.asked(reading, block, None, "");
            return;
        }
        let number = rest.last().is_some_and(|item| item.kind == ItemKind::Number);
        self.block = Some(block.clone());
        // Behind a kind, as in `measured … to opening`, only the names of that kind go on.
        let kind = rest.last().and_then(|item| kind_of_header(reading.slice(item.span), None));
        let kind = kind.filter(|_| matches!(word.word, "measured" | "on"));
        for atom in expected_after(&reading.tree.text, rest, word) {
            match (atom, kind) {
                (Atom::Name(_, kinds), Some(kind)) if !kinds.has(kind) => {}
                (Atom::Name(role, _), Some(kind)) => self.atom(Atom::Name(role, KindSet::of(&[kind])), number),
                _ => self.atom(atom, number),
            }
        }
    }

    /// The way of the leg before a line of a run, and where the route is behind it, where it is known.
    fn last_leg(&self, reading: &Reading, block: &Block, line: u32) -> Option<(&'static str, Option<String>)> {
        let before = reading.statements(block).iter().rev().find(|statement| statement.line < line)?;
        let word = before.word.filter(|word| DIRECTIONS.contains(&word.word))?;
        let header = Place { file: self.analysis.file, span: block.header };
        let run = self.analysis.job.runs.iter().find(|run| self.analysis.job.real(run.header) == header);
        let here = run.and_then(|run| {
            let step = run.steps.iter().position(|step| self.analysis.job.real(step.place).span == before.span)?;
            run.walk.after.get(step).copied().flatten().map(|spot| in_words(run, spot))
        });
        Some((word.word, here))
    }

    /// The legs that take a route from where it comes out to where it says that it ends: those that it lacks, longest
    /// first. None where the end stands above the cursor, or where the route is not known.
    fn legs_to_the_end(&mut self, reading: &Reading, block: &Block, line: u32) {
        let header = Place { file: self.analysis.file, span: block.header };
        let job = &self.analysis.job;
        let Some(run) = job.runs.iter().find(|run| job.real(run.header) == header) else { return };
        let Some(end) = run.end.as_ref().map(|end| end.written) else { return };
        let Some(miss) = run.walk.misses.iter().find(|miss| miss.place == end) else { return };
        let end = job.real(end);
        let below = reading.statements(block).iter().any(|it| it.line > line && it.span == end.span);
        if !below {
            return;
        }
        let mut legs = legs_of(run, miss.lacking);
        legs.sort_by(|(one, _), (other, _)| other.total_cmp(one));
        let end = reading.slice(end.span).split_whitespace().collect::<Vec<_>>().join(" ");
        for (_, leg) in legs {
            self.add(CandidateKind::Direction, &leg, &format!("what the route still lacks to reach `{end}`"));
        }
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
            Atom::Measure(_, dimension) => {
                self.the(dimension);
                self.sample(dimension);
            }
            Atom::Fillable(_, dimension) => {
                self.blank();
                self.the(dimension);
                self.sample(dimension);
            }
            Atom::Name(_, kinds) => self.names(kinds),
            Atom::FillableName(_, kinds) => {
                self.names(kinds);
                self.blank();
            }
            Atom::Any(_) => self.blank(),
            Atom::Rule(_) => {
                for rule in rules::all() {
                    self.add(CandidateKind::Rule, rule.name, rule.title);
                }
            }
            Atom::Count(_) | Atom::Label(_) | Atom::Text(_) | Atom::Date(_) => {}
        }
    }

    /// What the kit that a block belongs to asks for, of a dimension, as values of its lines.
    fn asked(&mut self, reading: &Reading, block: &Block, wanted: Option<Dimension>, before: &str) {
        let Some(own) = self.analysis.reading(self.analysis.file) else { return };
        let kits = kits_in(self.analysis.file, own);
        let Some(kit) = kits.iter().rfind(|kit| kit.header.first_line <= block.first_line) else { return };
        if !block.in_kit && block.kind != Some(Kind::Kit) || reading.blocks.is_empty() {
            return;
        }
        for asked in kit.asks() {
            let fits = match asked.sort {
                Sort::Quantity { dimension, .. } => wanted.is_none_or(|wanted| wanted.takes(dimension)),
                Sort::Thing(_) => false,
            };
            if fits {
                self.add(CandidateKind::Name, &format!("{before}{}", asked.name), &asked.reads());
            }
        }
    }

    fn the(&mut self, dimension: Dimension) {
        let Some(reading) = self.analysis.reading(self.analysis.file) else { return };
        if let Some(block) = self.block.clone() {
            self.asked(reading, &block, Some(dimension), "the ");
        }
    }

    /// Within a fit: what the kit asks for and is not answered, and behind its name the values that would answer it.
    fn answers(&mut self, reading: &Reading, block: &Block, line: u32, before: &[Item]) {
        let header = Place { file: self.analysis.file, span: block.header };
        let Some(fit) = self.analysis.job.fits.iter().find(|fit| fit.header == header) else { return };
        let Some((head, rest)) = before.split_first() else {
            let said = |name: &str| {
                let mut lines = reading.statements(block).iter().filter(|it| it.line != line);
                lines.any(|it| reading.slice(it.head) == name)
            };
            for asked in fit.answers.iter().map(|answered| &answered.asked).filter(|asked| !said(&asked.name)) {
                let mut candidate = self.candidate(CandidateKind::Property, &asked.name, &asked.reads());
                candidate.insert = format!("{} ", asked.name);
                if let Sort::Quantity { bounds, usually, .. } = asked.sort {
                    let usual = usually.map_or(bounds, |(usual, _)| usual);
                    candidate.fill = usual.unit.show(usual.nominal);
                }
                self.out.push(candidate);
            }
            return;
        };
        let asked = fit.answers.iter().map(|it| &it.asked).find(|asked| asked.name == reading.slice(head.span));
        match asked.map(|asked| asked.sort) {
            Some(Sort::Thing(kind)) if rest.is_empty() => self.names(KindSet::of(&[kind])),
            Some(Sort::Quantity { dimension, .. }) => {
                let number = rest.last().is_some_and(|item| item.kind == ItemKind::Number);
                self.atom(Atom::Fillable(Role::Amount, dimension), number);
            }
            _ => {}
        }
    }

    fn blank(&mut self) {
        self.add(CandidateKind::Blank, "?", "left for `trialfit fill`");
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
        assert!(labels[0].says.ends_with("back 1.35 m, left 600 mm, up 700 mm"), "{}", labels[0].says);
        assert!(labels.iter().any(|it| it.label == "fuse"), "and everything else behind them");
    }

    #[test]
    fn behind_a_kind_stand_the_names_of_that_kind() {
        let behind = |line: &str| -> Vec<String> {
            let text =
                BENCH.replacen("  ends          facing right\n", &format!("  ends          facing right\n{line}\n"), 1);
            let offered = offered(&text, line).into_iter().map(|candidate| candidate.label);
            offered.filter(|label| !matches!(label.as_str(), "of" | ",")).collect()
        };
        assert_eq!(behind("  measured 1 m to opening "), ["side-door"]);
        assert_eq!(behind("  measured 1 m from pipe to keep-clear "), ["brake-pipe"]);
        assert_eq!(behind("  measured 1 m from pipe to fuel-line "), Vec::<String>::new());
        assert!(behind("  measured 1 m to ").contains(&"combustion-air".to_string()));
    }

    #[test]
    fn a_unit_is_offered_right_behind_its_number_with_the_space_between() {
        for (line, unit, insert) in [("  run 13", "ft", " ft"), ("  bend 90", "°", "°"), ("  carries 4", "A", " A")] {
            let text = format!("trialfit 1\ncable a of b\n{line}\n");
            let labels = offered(&text, line);
            let found = labels.iter().find(|it| it.label == unit).expect(unit);
            assert_eq!((found.insert.as_str(), found.span.is_empty()), (insert, true));
            assert!(labels.iter().all(|it| it.kind == CandidateKind::Unit), "{labels:?}");
        }
        assert!(offered("trialfit 1\ncable a of b\n  bundled 4\n", "bundled 4").is_empty(), "a count has no unit");
    }

    #[test]
    fn a_route_that_falls_short_is_offered_the_leg_it_lacks() {
        let lost = "  right         320 mm\n";
        assert_eq!(BENCH.matches(lost).count(), 1, "the bench's fuel line has one such leg");
        let text = BENCH.replace(lost, "  \n");
        let at = text.find("  \n").unwrap() + 2;
        let analysis = crate::analyse(FileId(0), Arc::new(Reading::new(Arc::from(text.as_str()))), &NoFiles, None);
        let first = complete(&analysis, u32::try_from(at).unwrap()).into_iter().next().unwrap();
        assert!(first.label.starts_with("right ") && first.says.ends_with("`ends at reader`"), "{first:?}");
    }
}

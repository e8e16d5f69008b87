//! Rules about the text itself: what reading could not make out, what is left open, what cannot be meant. Only the
//! checked file is judged here; a followed file is judged when it is opened itself.

mod layout;
mod numbers;
mod values;
mod words;

pub(crate) use layout::ONLY_A_SKETCH;
pub use values::{BLANK_INSOLUBLE, OPEN_BLANK};

use super::{Findings, Rule};
use crate::finding::Finding;
use crate::reading::{Reading, Slip, Statement};
use crate::source::Place;
use crate::text::Span;
use crate::units::Dimension;
use crate::vocabulary::{Atom, Kind, words_of};

pub(super) static RULES: &[&Rule] = &[
    &words::UNKNOWN_WORD,
    &words::UNLISTED_WORD,
    &words::UNFINISHED_LINE,
    &words::MISPLACED_WORD,
    &words::LEFT_OVER,
    &words::COMMA_MISSING,
    &words::STRAY_CHARACTER,
    &words::OPEN_QUOTE,
    &words::SAID_TWICE,
    &numbers::UNIT_MISSING,
    &numbers::UNIT_UNKNOWN,
    &numbers::WRONG_DIMENSION,
    &numbers::BARE_MILLIMETRES,
    &numbers::COMMA_IN_NUMBER,
    &numbers::NUMBER_UNREADABLE,
    &numbers::RANGE_BACKWARDS,
    &numbers::NO_SUCH_DAY,
    &values::VALUE_BLANK,
    &values::BLANK_NOT_HERE,
    &values::IMPLAUSIBLE_VALUE,
    &layout::NOT_INDENTED,
    &layout::HEADER_INDENTED,
    &layout::STRAY_LINE,
    &layout::HEADER_MISSPELT,
    &layout::HEADER_UNKNOWN,
    &layout::NO_HEADER,
    &layout::HEATER_WITHOUT_JOB,
    &layout::JOB_WITHOUT_HEATER,
    &layout::NOTHING_STATED,
    &layout::ONLY_A_SKETCH,
    &layout::HEADER_INCOMPLETE,
    &layout::RESERVED_NAME,
    &layout::EDITION_MISSING,
    &layout::EDITION_LATER,
];

/// The rule's source, for all of them but what common practice knows.
const LANGUAGE: &str = "the language";

/// One slip of the checked file, with what is needed to put it into words.
struct Seen<'r> {
    reading: &'r Reading,
    slip: &'r Slip,
    place: Place,
}

impl<'r> Seen<'r> {
    /// The text under the slip.
    fn text(&self) -> &'r str {
        self.reading.slice(self.slip.span)
    }

    /// The place of a span in the same file.
    fn at(&self, span: Span) -> Place {
        Place { file: self.place.file, span }
    }

    /// The statement that the slip is in.
    fn statement(&self) -> Option<&'r Statement> {
        self.reading.at(self.slip.span.start).1
    }

    /// `as in` and an example of the statement that the slip is in; empty where that is unknown.
    fn as_in(&self) -> String {
        match self.statement().and_then(|statement| statement.word) {
            Some(word) => format!(", as in `{}`", word.example),
            None => String::new(),
        }
    }
}

/// Says, for each slip of the checked file, what `say` has to say about it.
fn each_slip(findings: &mut Findings<'_>, say: impl Fn(&Findings<'_>, &Seen<'_>) -> Option<Finding>) {
    let job = findings.job;
    let Some((file, reading)) = job.readings.first() else { return };
    for slip in &reading.slips {
        let seen = Seen { reading, slip, place: Place { file: *file, span: slip.span } };
        if let Some(finding) = say(findings, &seen) {
            findings.add(finding);
        }
    }
}

/// A noun with its article.
pub(super) fn with_article(noun: &str) -> String {
    let article = if noun.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {noun}")
}

/// The kind as readers call it, with its article.
fn a_kind(kind: Kind) -> String {
    match kind {
        Kind::File => "a file".to_string(),
        _ => with_article(&words_of(kind).reads()),
    }
}

/// `` `a`, `b` or `c` ``
fn listed<'w>(words: impl Iterator<Item = &'w str>) -> String {
    either(&words.map(|word| format!("`{word}`")).collect::<Vec<String>>())
}

/// `this, that or the other`; empty for nothing.
pub(super) fn either(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// `a length, such as 1.2 m`, the figure in backticks.
fn measured(dimension: Dimension) -> String {
    let (noun, example) = dimension.describe();
    format!("{noun}, such as `{example}`")
}

/// What an atom wants, as a noun phrase with something to copy.
fn wanted_words(atom: Atom) -> String {
    match atom {
        Atom::Literal(word) | Atom::Flag(_, word) => format!("`{word}`"),
        Atom::Choice(_, [only]) => format!("`{only}`"),
        Atom::Choice(_, choices) => format!("one of {}", listed(choices.iter().copied())),
        Atom::Direction(_) => "a direction, such as `left`".to_string(),
        Atom::Measure(_, dimension) | Atom::Fillable(_, dimension) => measured(dimension),
        Atom::Any(_) => "a value, such as `3.2 m`".to_string(),
        Atom::Count(_) => "a whole number, such as `2`".to_string(),
        Atom::Name(_, kinds) | Atom::FillableName(_, kinds) => {
            let names: Vec<String> = kinds.iter().map(|kind| words_of(kind).reads()).collect();
            match names.as_slice() {
                [] => "a name".to_string(),
                [only] => format!("the name of {}", with_article(only)),
                [first, second] => format!("the name of {} or {}", with_article(first), second),
                _ => "the name of a block".to_string(),
            }
        }
        Atom::Label(_) => "a word".to_string(),
        Atom::Rule(_) => "the name of a rule, such as `exhaust-too-long`".to_string(),
        Atom::Text(_) => "text".to_string(),
        Atom::Date(_) => "a date, such as `2027-03-31`".to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::{compose, find};
    use super::*;
    use crate::reading::Reading;
    use crate::rules::{BENCH, BENCH_SHEETS};
    use crate::source::{FileId, NoFiles};
    use crate::text::{Edit, apply};
    use std::sync::Arc;

    fn findings(text: &str) -> Vec<Finding> {
        let reading = Arc::new(Reading::new(Arc::from(text)));
        let findings = crate::analyse(FileId(0), reading, &NoFiles, None).findings;
        findings.into_iter().filter(|finding| RULES.contains(&finding.rule)).collect()
    }

    fn names(text: &str) -> Vec<&'static str> {
        findings(text).iter().map(|finding| finding.rule.name).collect()
    }

    #[test]
    fn the_bench_is_in_order() {
        assert_eq!(names(BENCH), Vec::<&str>::new());
        assert_eq!(names(BENCH_SHEETS), Vec::<&str>::new());
        for text in [BENCH, BENCH_SHEETS] {
            let tree = crate::syntax::read_tree(Arc::from(text));
            assert_eq!(crate::syntax::tidy(&tree), Vec::new(), "the bench is tidy");
        }
    }

    /// The page as a test: the bad example has this finding and no other of the family, the good one has none.
    #[test]
    fn every_example_shows_its_own_rule_alone() {
        // What a sketch leaves open is no finding; `bench.rs` holds its page.
        for rule in RULES.iter().filter(|rule| rule.name != super::ONLY_A_SKETCH.name) {
            assert_eq!(names(&compose(rule.bad)), [rule.name], "bad example of {}", rule.name);
            assert_eq!(names(&compose(rule.good)), Vec::<&str>::new(), "good example of {}", rule.name);
        }
    }

    /// Every remedy, made, takes its finding away and brings none that was not there.
    #[test]
    fn every_remedy_mends() {
        for rule in RULES {
            let text = compose(rule.bad);
            for finding in findings(&text) {
                for remedy in &finding.remedies {
                    let edits: Vec<Edit> = remedy.edits.iter().map(|(_, edit)| edit.clone()).collect();
                    let mended = apply(&text, &edits).expect("edits that fit");
                    assert_eq!(names(&mended), Vec::<&str>::new(), "{}: {}\n{mended}", rule.name, remedy.title);
                }
            }
        }
    }

    /// Whatever is half typed, each slip is one finding: no slip is passed over in silence.
    #[test]
    fn every_slip_is_a_finding() {
        for (at, letter) in BENCH.char_indices() {
            let line_end = BENCH[at..].find('\n').map_or(BENCH.len(), |length| at + length);
            for insert in ["", "; ", "?", "\""] {
                if letter != ' ' && insert == "?" {
                    continue;
                }
                let text = format!("{}{insert}{}", &BENCH[..at], &BENCH[line_end..]);
                let reading = Reading::new(Arc::from(text.as_str()));
                let mut slips = reading.slips.clone();
                slips.dedup();
                let found = findings(&text);
                let of_slips = found
                    .iter()
                    .filter(|finding| ![&values::VALUE_BLANK, &values::IMPLAUSIBLE_VALUE].contains(&finding.rule));
                assert_eq!(of_slips.count(), slips.len(), "{slips:?}\n{text}");
            }
        }
    }

    #[test]
    fn titles_are_for_the_person_at_the_bench() {
        for rule in RULES {
            for finding in findings(&compose(rule.bad)) {
                let title = &finding.title;
                assert!(!title.ends_with('.') && !title.contains("invalid"), "{title}");
                assert!(title.starts_with(|letter: char| !letter.is_uppercase()), "{title}");
                assert!(!finding.label.is_empty() && !finding.help.is_empty(), "{}: {title}", rule.name);
            }
            assert_eq!(find(rule.name).map(|found| found.name), Some(rule.name));
        }
    }
}

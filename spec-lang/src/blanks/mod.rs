//! Blanks (`?`) filled: for each the smallest choice with which every rule passes, or the longest length. Nothing here
//! computes physics or knows a limit: a choice is written into the text and the whole job is judged again, so that what
//! is filled in and what the rules say cannot disagree. Files and editors are not known here.
//!
//! # When a choice passes
//!
//! The job is judged with the blank still open, with each of the choices written, and once with a value far smaller than
//! any of them. What is heard are standing errors and warnings, notes of what follows from them, and safety rules that
//! could not judge; advice and open blanks are not.
//!
//! - What is the same word for word with every choice has no relation to the blank, unless the far smaller value changes
//!   the words. (A lone choice is compared with that value and the open blank only.)
//! - Of what is left, a rule may be heard in a block as often as it is heard there at the least: with the blank open, or
//!   with the choice with which it is heard least. Errors are counted for themselves, and with the warnings.
//! - A choice passes if no rule is heard in any block more often than that.
//!
//! So a fault elsewhere keeps no blank open; a fault that every choice brings in, each with a figure of its own, leaves
//! none that passes; and one that a larger choice takes away counts against the smaller. Where nothing is heard with any
//! choice, no rule has judged the blank, and it stays open: silence is not a reason.

mod choices;
mod lengths;
mod margins;
mod solving;
mod trial;

pub use solving::solve;

use crate::finding::Finding;
use crate::reading::{Reading, Value};
use crate::rules::{BLANK_INSOLUBLE, Rule};
use crate::source::{FileId, Place};
use crate::text::{Edit, Span};
use crate::vocabulary::{Direction, Kind, Role};

/// What a blank stands for. The order is the one in which several of them are filled: what others rest on comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BlankKind {
    /// The data sheet of a heater.
    HeaterSheet,
    /// The bore of a pipe, a hose or a duct.
    Bore,
    /// The bore of a fuel line.
    FuelLine,
    /// The size of a conductor.
    Conductor,
    /// The rating of a fuse.
    Fuse,
    /// The length of a `run`: the longest that passes.
    Run,
    /// The length of a leg: the shortest that passes.
    Leg,
    /// An answer to a kit: what it stands for is what the kit asks for.
    Answer,
}

/// A blank of the checked file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Blank {
    /// What it stands for.
    pub kind: BlankKind,
    /// The bytes of the `?`.
    pub span: Span,
    /// The word of its line.
    pub word: &'static str,
    /// Where that word stands; of an answer to a kit, the name that the kit gives what it asks for.
    pub head: Span,
    /// The header of its block.
    pub header: Span,
    /// The kind of its block.
    pub block: Kind,
    /// The line of its block's header.
    line: u32,
    /// Whether it is the whole of what its line says, so that the name of a data sheet may stand there too.
    alone: bool,
}

/// What became of a blank.
#[derive(Clone, Debug)]
pub enum Outcome {
    /// This is to be written.
    Filled(Filled),
    /// None of the choices passes.
    Insoluble(Insoluble),
    /// It stays open: the reason.
    Open(String),
}

/// What is written for a blank.
#[derive(Clone, Debug)]
pub struct Filled {
    /// The value, as it is written.
    pub text: String,
    /// Why no smaller (of a `run`: no longer) one: what would be heard with it.
    pub reason: String,
    /// The rule that would say so.
    pub rule: Option<&'static Rule>,
    /// How far the limit is, where that is known.
    pub margin: Option<String>,
}

/// Why none of the choices passes.
#[derive(Clone, Debug)]
pub struct Insoluble {
    /// The largest size; of data sheets and lengths the one against which least is heard.
    pub last: String,
    /// What is still heard with it.
    pub title: String,
    /// The rule that says so.
    pub rule: &'static Rule,
    /// How many choices were tried.
    pub tried: usize,
}

/// A blank and what became of it.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The blank.
    pub blank: Blank,
    /// What became of it.
    pub outcome: Outcome,
}

/// What became of all blanks of a file, in the order of the text.
#[derive(Clone, Debug, Default)]
pub struct Solution {
    /// One for each blank.
    pub answers: Vec<Answer>,
    /// How often the whole job was judged to find them.
    pub judged: usize,
}

impl Solution {
    /// The answer to the blank at an offset.
    pub fn at(&self, offset: u32) -> Option<&Answer> {
        self.answers.iter().find(|answer| answer.blank.span.touches(offset))
    }

    /// The edits that fill what can be filled.
    pub fn edits(&self) -> Vec<Edit> {
        self.answers.iter().filter_map(Answer::edit).collect()
    }
}

impl Answer {
    /// The edit that fills the blank, where it can be filled.
    pub fn edit(&self) -> Option<Edit> {
        match &self.outcome {
            Outcome::Filled(filled) => Some(Edit { span: self.blank.span, insert: filled.text.clone() }),
            _ => None,
        }
    }

    /// What became of the blank, in one line for people.
    pub fn says(&self) -> String {
        match &self.outcome {
            Outcome::Filled(filled) => {
                let margin = filled.margin.as_ref().map_or(String::new(), |margin| format!(". {margin}"));
                format!("{} passes; {}{margin}", filled.text, filled.reason)
            }
            Outcome::Insoluble(insoluble) => insoluble.says(),
            Outcome::Open(because) => format!("stays open: {because}"),
        }
    }

    /// The finding on a blank for which no choice passes.
    pub fn finding(&self, file: FileId, reading: &Reading) -> Option<Finding> {
        let Outcome::Insoluble(insoluble) = &self.outcome else { return None };
        let (word, header) = (reading.slice(self.blank.head), reading.slice(self.blank.header));
        let place = Place { file, span: self.blank.span };
        let title = match insoluble.tried {
            1 => format!("the only choice for `{word}` of `{header}` does not pass"),
            tried => format!("none of the {tried} choices for `{word}` of `{header}` passes"),
        };
        Some(
            Finding::new(&BLANK_INSOLUBLE, place, title)
                .label("cannot be filled")
                .why(insoluble.says())
                .help(format!("change what the rule `{}` is about, or stock another size", insoluble.rule.name)),
        )
    }
}

impl Insoluble {
    fn says(&self) -> String {
        format!("no choice passes; even with {}: {}", self.last, self.title)
    }
}

/// The blanks of a file that the tool can fill, in the order of the text.
pub fn blanks(reading: &Reading) -> Vec<Blank> {
    let mut out = Vec::new();
    for block in &reading.blocks {
        let Some(of) = block.kind else { continue };
        for statement in reading.statements(block) {
            let Some(word) = statement.word else { continue };
            let args = reading.args(statement);
            for arg in args.iter().filter(|arg| arg.value == Value::Blank) {
                let Some(kind) = kind_of(of, word.word, arg.role) else { continue };
                let alone = args.len() == 1;
                let (span, head, header, line) = (arg.span, statement.head, block.header, block.first_line);
                out.push(Blank { kind, span, word: word.word, head, header, block: of, line, alone });
            }
        }
    }
    out
}

fn kind_of(block: Kind, word: &str, role: Role) -> Option<BlankKind> {
    Some(match (block, word, role) {
        (Kind::Fit, ..) => BlankKind::Answer,
        (Kind::Heater, "datasheet", _) => BlankKind::HeaterSheet,
        (Kind::FuelLine, "line" | "hose", _) => BlankKind::FuelLine,
        (_, "pipe" | "hose" | "duct" | "line", Role::Bore | Role::Sheet) => BlankKind::Bore,
        (Kind::Cable, "size", _) => BlankKind::Conductor,
        (Kind::Cable, "fuse", Role::Current | Role::Sheet) => BlankKind::Fuse,
        (_, "run", Role::Distance) => BlankKind::Run,
        (_, direction, Role::Distance) if Direction::named(direction).is_some() => BlankKind::Leg,
        _ => return None,
    })
}

//! The words of the language as a JSON form, for the word lists that editors colour by. A wire structure of its own, made
//! from the vocabulary's table; no word is listed here.

use super::json::{Tool, tool};
use crate::units::UNITS;
use crate::vocabulary::{Atom, DIRECTIONS, KINDS, KindWords, Naming, RESERVED};
use serde::Serialize;

/// A spelling of a unit.
#[derive(Debug, Serialize)]
pub struct Unit {
    spelling: &'static str,
    symbol: &'static str,
}

/// A property word.
#[derive(Debug, Serialize)]
pub struct Word {
    word: &'static str,
    says: &'static str,
    example: &'static str,
    repeats: bool,
    /// The words that its value may hold, sorted.
    values: Vec<&'static str>,
}

/// A kind of block.
#[derive(Debug, Serialize)]
pub struct Kind {
    header: &'static str,
    sheet_of: Option<&'static str>,
    naming: &'static str,
    says: &'static str,
    example: &'static str,
    words: Vec<Word>,
}

/// The document of the language's words.
#[derive(Debug, Serialize)]
pub struct Words {
    form: &'static str,
    version: u32,
    tool: Tool,
    reserved: &'static [&'static str],
    directions: &'static [&'static str],
    units: Vec<Unit>,
    kinds: Vec<Kind>,
}

impl Words {
    /// All of them, in the table's order; the lines outside any block are the kind without a header.
    pub fn all() -> Words {
        Words {
            form: "trialfit.words",
            version: 1,
            tool: tool(),
            reserved: RESERVED,
            directions: DIRECTIONS,
            units: UNITS.iter().map(|unit| Unit { spelling: unit.spelling, symbol: unit.symbol }).collect(),
            kinds: KINDS.iter().map(kind).collect(),
        }
    }
}

fn kind(entry: &KindWords) -> Kind {
    Kind {
        header: entry.header,
        sheet_of: (!entry.sheet_of.is_empty()).then_some(entry.sheet_of),
        naming: match entry.naming {
            Naming::Name => "name",
            Naming::Title => "title",
            Naming::OfHeater => "of-heater",
            Naming::NameOfHeater => "name-of-heater",
            Naming::SheetName => "sheet-name",
            Naming::Rule => "rule",
            Naming::StockOf => "stock-of",
            Naming::KitAs => "kit-as",
            Naming::KindAlone => "kind-alone",
            Naming::KindNameOf => "kind-name-of",
            Naming::Anything => "anything",
        },
        says: entry.says,
        example: entry.example,
        words: entry
            .words()
            .map(|word| {
                let parts = word.forms.iter().flat_map(|form| form.head.iter().chain(form.tail));
                let mut values: Vec<&str> = parts.flat_map(|part| part.1.iter()).flat_map(said_by).copied().collect();
                values.sort_unstable();
                values.dedup();
                Word { word: word.word, says: word.says, example: word.example, repeats: word.repeats, values }
            })
            .collect(),
    }
}

/// The words of the language that an atom stands for; none for a name, a number or a text.
fn said_by(atom: &Atom) -> &[&'static str] {
    match atom {
        Atom::Literal(word) | Atom::Flag(_, word) => std::slice::from_ref(word),
        Atom::Choice(_, words) => words,
        _ => &[],
    }
}

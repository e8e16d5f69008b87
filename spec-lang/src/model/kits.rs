//! Kits as their files say them: what they ask for, what they leave open, which blocks are theirs. Nothing is fitted here.

use super::fact::Interval;
use crate::reading::{Arg, Block, Reading, Statement, Value};
use crate::source::{FileId, Place};
use crate::text::Span;
use crate::units::{Dimension, Quantity};
use crate::vocabulary::{Atom, Kind, KindSet, Role, asked_dimension, kind_of_header};
use std::sync::Arc;

/// What a kit asks for.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// Its name.
    pub name: String,
    /// Where the name stands.
    pub name_place: Place,
    /// The whole line.
    pub place: Place,
    /// What an answer must be.
    pub sort: Sort,
}

/// What an answer must be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sort {
    /// A quantity.
    Quantity {
        /// Of which dimension.
        dimension: Dimension,
        /// Between these bounds, both of them with it.
        bounds: Quantity,
        /// What is usual, and where the kit says so.
        usually: Option<(Quantity, Place)>,
    },
    /// A block of the job.
    Thing(Kind),
}

impl Asked {
    /// The bounds as a reader says them: `1 m .. 6 m`; empty for a thing.
    pub fn bounds(&self) -> String {
        match self.sort {
            Sort::Quantity { bounds, .. } => {
                format!("{} .. {}", bounds.unit.show(bounds.low), bounds.unit.show(bounds.high))
            }
            Sort::Thing(_) => String::new(),
        }
    }

    /// What it is, in words: `a length from 1 m to 6 m`, `a space of the job`.
    pub fn reads(&self) -> String {
        match self.sort {
            Sort::Quantity { dimension, bounds, .. } => {
                let what = dimension.describe().0;
                format!("{what} from {} to {}", bounds.unit.show(bounds.low), bounds.unit.show(bounds.high))
            }
            Sort::Thing(kind) => format!("a {} of the job", crate::vocabulary::words_of(kind).reads()),
        }
    }

    /// Whether a value lies between the bounds, at both ends of its doubt. The tolerance is that of rounding alone.
    pub fn takes(&self, value: Quantity) -> bool {
        let Sort::Quantity { bounds, .. } = self.sort else { return false };
        let (value, bounds) = (Interval::from(value), Interval::from(bounds));
        let slack = 1e-9 * bounds.low.abs().max(bounds.high.abs());
        value.low >= bounds.low - slack && value.high <= bounds.high + slack
    }
}

/// What a kit leaves open to change.
#[derive(Clone, Debug, PartialEq)]
pub struct Opened {
    /// Blocks of this kind,
    pub kind: Kind,
    /// of this name, where one is said;
    pub name: Option<String>,
    /// these words of them alone, where any are said.
    pub words: Vec<String>,
    /// The line that says so.
    pub place: Place,
}

/// A kit: its header and its blocks.
#[derive(Clone)]
pub(crate) struct Kit<'a> {
    pub file: FileId,
    pub reading: &'a Arc<Reading>,
    pub header: &'a Block,
    pub blocks: Vec<&'a Block>,
}

/// The kits of a file, in order.
pub(crate) fn kits_in(file: FileId, reading: &Arc<Reading>) -> Vec<Kit<'_>> {
    let mut kits: Vec<Kit<'_>> = Vec::new();
    for block in &reading.blocks {
        if block.kind == Some(Kind::Kit) {
            kits.push(Kit { file, reading, header: block, blocks: Vec::new() });
        } else if let Some(kit) = kits.last_mut().filter(|_| block.in_kit && block.kind.is_some()) {
            kit.blocks.push(block);
        }
    }
    kits
}

impl<'a> Kit<'a> {
    pub(crate) fn at(&self, span: Span) -> Place {
        Place { file: self.file, span }
    }

    pub(crate) fn name(&self) -> &'a str {
        self.header.name.map_or("", |span| self.reading.slice(span))
    }

    pub(crate) fn lines(&self, block: &Block) -> &'a [Statement] {
        self.reading.statements(block)
    }

    pub(crate) fn named(&self, block: &Block) -> &'a str {
        block.name.map_or("", |span| self.reading.slice(span))
    }

    /// What it asks for, in order. A line that is not whole asks for nothing.
    pub(crate) fn asks(&self) -> Vec<Asked> {
        let lines = self.lines(self.header).iter().filter(|line| line.whole && is(line, "asks"));
        lines.filter_map(|line| self.asked(line)).collect()
    }

    fn asked(&self, line: &Statement) -> Option<Asked> {
        let args = self.reading.args(line);
        let arg = |role: Role| args.iter().find(|arg| arg.role == role);
        let name = arg(Role::What)?.span;
        let word = self.reading.slice(arg(Role::By)?.span);
        let quantity = |role: Role| match arg(role)?.value {
            Value::Quantity(quantity) => Some(quantity),
            _ => None,
        };
        let sort = match asked_dimension(word) {
            Some(dimension) => Sort::Quantity {
                dimension,
                bounds: quantity(Role::Amount)?,
                usually: quantity(Role::Usual).zip(arg(Role::Usual).map(|arg| self.at(arg.span))),
            },
            None => Sort::Thing(kind_of_header(word, None)?),
        };
        let name_text = self.reading.slice(name).to_string();
        Some(Asked { name: name_text, name_place: self.at(name), place: self.at(line.span), sort })
    }

    /// What it leaves open.
    pub(crate) fn opened(&self) -> Vec<Opened> {
        let lines = self.lines(self.header).iter().filter(|line| line.whole && is(line, "open"));
        let opened = lines.filter_map(|line| {
            let args = self.reading.args(line);
            let text = |arg: &Arg| self.reading.slice(arg.span).to_string();
            let kind = args.iter().find(|arg| arg.role == Role::By).map(&text)?;
            Some(Opened {
                kind: kind_of_header(&kind, None)?,
                name: args.iter().find(|arg| arg.role == Role::What).map(&text),
                words: args.iter().filter(|arg| arg.role == Role::Owner).map(&text).collect(),
                place: self.at(line.span),
            })
        });
        opened.collect()
    }

    /// Its heaters.
    pub(crate) fn heaters(&self) -> Vec<&'a Block> {
        self.blocks.iter().copied().filter(|block| block.kind == Some(Kind::Heater)).collect()
    }

    /// What stands in for a thing of the job where the kit is looked at alone, and is left out where it is fitted.
    pub(crate) fn stands_in(&self, block: &Block, asks: &[Asked]) -> bool {
        let name = self.named(block);
        block.kind == Some(Kind::Vehicle)
            || asks.iter().any(|asked| asked.name == name && Some(asked.sort) == block.kind.map(Sort::Thing))
    }

    /// Every place where a value that was asked for is used: its name, the name's place, the dimension wanted there.
    pub(crate) fn uses(&self) -> impl Iterator<Item = (&'a str, Span, Dimension)> + '_ {
        let reading = self.reading;
        let lines = std::iter::once(&self.header).chain(&self.blocks).flat_map(|block| reading.statements(block));
        lines.flat_map(move |line| asked_in(reading, line))
    }
}

/// The `the NAME`s of a line: the name, its place with the article, the dimension wanted there.
pub(super) fn asked_in<'a>(
    reading: &'a Reading,
    line: &'a Statement,
) -> impl Iterator<Item = (&'a str, Span, Dimension)> + 'a {
    reading.args(line).iter().filter_map(|arg| match arg.value {
        Value::Asked(dimension) => Some((asked_name(reading, arg.span), arg.span, dimension)),
        _ => None,
    })
}

/// The name in `the NAME`.
pub(crate) fn asked_name(reading: &Reading, span: Span) -> &str {
    reading.slice(span).split_whitespace().last().unwrap_or("")
}

/// Whether a line starts with the word.
pub(super) fn is(line: &Statement, word: &str) -> bool {
    line.word.is_some_and(|known| known.word == word)
}

/// The kinds that a name may mean, by its line's word and its own role there; where the line says the kind itself, as in
/// `measured … to opening side-door`, that one.
pub(crate) fn kinds_of(reading: &Reading, line: &Statement, arg: &Arg) -> KindSet {
    let said = reading.args(line).iter().find(|other| other.role == Role::By && is(line, "measured"));
    let said = said.filter(|_| arg.role == Role::What);
    if let Some(kind) = said.and_then(|by| kind_of_header(reading.slice(by.span), None)) {
        return KindSet::of(&[kind]);
    }
    let forms = line.word.map_or(&[][..], |word| word.forms);
    let atoms = forms.iter().flat_map(|form| form.head.iter().chain(form.tail)).flat_map(|part| part.1);
    atoms.fold(KindSet::NONE, |kinds, atom| match atom {
        Atom::Name(role, more) | Atom::FillableName(role, more) if *role == arg.role => kinds.and(*more),
        _ => kinds,
    })
}

//! How the model reads a block's statements: arguments by role, as facts with their places.

use super::fact::{Fact, Stated};
use crate::physics::tubes::TubeMaterial;
use crate::reading::{Arg, Block, Reading, Statement, Value};
use crate::source::{FileId, Place};
use crate::text::Span;
use crate::units::Quantity;
use crate::vocabulary::{Direction, Role};

/// A block of a file, to be read.
#[derive(Clone, Copy)]
pub(super) struct Said<'a> {
    pub file: FileId,
    pub reading: &'a Reading,
    pub block: &'a Block,
}

/// One statement of it.
#[derive(Clone, Copy)]
pub(super) struct Line<'a> {
    pub said: Said<'a>,
    pub statement: &'a Statement,
    pub args: &'a [Arg],
}

impl<'a> Said<'a> {
    pub(super) fn header(&self) -> Place {
        Place { file: self.file, span: self.block.header }
    }

    pub(super) fn lines(self) -> impl Iterator<Item = Line<'a>> {
        self.reading.statements(self.block).iter().map(move |statement| Line {
            said: self,
            statement,
            args: self.reading.args(statement),
        })
    }
}

impl<'a> Line<'a> {
    /// The property word; empty where the line is not understood.
    pub(super) fn word(&self) -> &'static str {
        self.statement.word.map_or("", |word| word.word)
    }

    pub(super) fn at(&self, span: Span) -> Place {
        Place { file: self.said.file, span }
    }

    pub(super) fn place(&self) -> Place {
        self.at(self.statement.span)
    }

    /// Whether the line was understood and every value in it is known.
    pub(super) fn known(&self) -> bool {
        let known = |arg: &Arg| !matches!(arg.value, Value::Unknown | Value::Blank | Value::Asked(_));
        self.statement.whole && self.args.iter().all(known)
    }

    pub(super) fn arg(&self, role: Role) -> Option<&'a Arg> {
        self.args.iter().find(|arg| arg.role == role)
    }

    fn stated<T>(&self, role: Role, pick: impl Fn(&Value) -> Option<T>) -> Stated<T> {
        let Some(arg) = self.arg(role) else { return Stated::Silent };
        let place = self.at(arg.span);
        match arg.value {
            Value::Blank => Stated::Blank(place),
            Value::Unknown => Stated::Unknown(place),
            ref value => pick(value).map_or(Stated::Silent, |value| Stated::Is(Fact::here(value, place))),
        }
    }

    pub(super) fn quantity(&self, role: Role) -> Stated<Quantity> {
        self.stated(role, |value| match value {
            Value::Quantity(quantity) => Some(*quantity),
            _ => None,
        })
    }

    pub(super) fn amount(&self, role: Role) -> Option<Quantity> {
        self.quantity(role).get().copied()
    }

    pub(super) fn choice(&self, role: Role) -> Stated<&'static str> {
        self.stated(role, |value| match value {
            Value::Choice(choice) => Some(*choice),
            _ => None,
        })
    }

    /// What a tube is made of.
    pub(super) fn material(&self) -> Stated<TubeMaterial> {
        self.stated(Role::Material, |value| match value {
            Value::Choice(word) => TubeMaterial::named(word),
            _ => None,
        })
    }

    /// All words of a role, each with its place.
    pub(super) fn choices(&self, role: Role) -> impl Iterator<Item = Fact<&'static str>> + use<'a> {
        let line = *self;
        self.args.iter().filter(move |arg| arg.role == role).filter_map(move |arg| match arg.value {
            Value::Choice(choice) => Some(Fact::here(choice, line.at(arg.span))),
            _ => None,
        })
    }

    /// Whether the line has a word of its form that carries no argument: `from pipe`.
    pub(super) fn has_word(&self, word: &str) -> bool {
        let reading = self.said.reading;
        let held = |span: Span| self.args.iter().any(|arg| arg.span.start <= span.start && span.end <= arg.span.end);
        let line = reading.tree.lines.get(self.statement.line as usize);
        line.is_some_and(|line| {
            reading.tree.items(line).iter().any(|item| reading.slice(item.span) == word && !held(item.span))
        })
    }

    /// Whether one of several flags of a role is set.
    pub(super) fn flagged(&self, role: Role, flag: &str) -> bool {
        self.args.iter().any(|arg| arg.role == role && matches!(arg.value, Value::Choice(set) if set == flag))
    }

    pub(super) fn count(&self, role: Role) -> Stated<u32> {
        self.stated(role, |value| match value {
            Value::Count(count) => Some(*count),
            _ => None,
        })
    }

    pub(super) fn direction(&self, role: Role) -> Option<Direction> {
        self.arg(role).and_then(|arg| match arg.value {
            Value::Direction(direction) => Some(direction),
            _ => None,
        })
    }

    /// A name, label or free text, without quotes.
    pub(super) fn text(&self, role: Role) -> Option<&'a str> {
        let arg = self.arg(role)?;
        match arg.value {
            Value::Name | Value::Label => Some(self.said.reading.slice(arg.span)),
            Value::Text => Some(self.said.reading.plain_text(arg.span)),
            _ => None,
        }
    }

    pub(super) fn words(&self, role: Role) -> Stated<String> {
        let Some(arg) = self.arg(role) else { return Stated::Silent };
        match self.text(role) {
            Some(text) => Stated::Is(Fact::here(text.to_string(), self.at(arg.span))),
            None if arg.value == Value::Unknown => Stated::Unknown(self.at(arg.span)),
            None => Stated::Silent,
        }
    }

    /// Pairs of direction and distance, in the order said.
    pub(super) fn ways(&self, role: Role) -> Vec<(Direction, Quantity)> {
        let mut out = Vec::new();
        let mut direction = None;
        for arg in self.args {
            match (arg.value, arg.role) {
                (Value::Direction(said), Role::Direction) => direction = Some(said),
                (Value::Quantity(quantity), found) if found == role => {
                    if let Some(direction) = direction.take() {
                        out.push((direction, quantity));
                    }
                }
                _ => {}
            }
        }
        out
    }
}

//! A workshop's practice as its block states it: levels raised, limits tightened, blocks asked for. What comes of it is
//! judged by the rules.

use super::fact::Fact;
use super::said::Said;
use crate::reading::{Reading, Value};
use crate::source::{FileId, Place};
use crate::units::Quantity;
use crate::vocabulary::{Kind, Role, kind_of_header};
use std::sync::Arc;

/// A rule whose findings are to be graver.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// The rule, as written.
    pub rule: Fact<String>,
    /// `error` or `warning`.
    pub level: &'static str,
    /// The statement.
    pub place: Place,
}

/// A limit tighter than a rule's own.
#[derive(Clone, Debug, PartialEq)]
pub struct HouseLimit {
    /// The rule, as written.
    pub rule: Fact<String>,
    /// The limit.
    pub value: Fact<Quantity>,
    /// The statement.
    pub place: Place,
}

/// A block that each job must have.
#[derive(Clone, Debug, PartialEq)]
pub struct Required {
    /// Its kind.
    pub kind: Kind,
    /// Whether each heater must have its own.
    pub of_each_heater: bool,
    /// The statement.
    pub place: Place,
}

/// A practice.
#[derive(Clone, Debug, PartialEq)]
pub struct Practice {
    /// Its title.
    pub title: String,
    /// Its header.
    pub header: Place,
    /// Levels raised.
    pub levels: Vec<Level>,
    /// Limits tightened.
    pub limits: Vec<HouseLimit>,
    /// Blocks asked for.
    pub requires: Vec<Required>,
}

/// The practices of all files that take part. Lines that were not understood are left out.
pub(super) fn read_practices(readings: &[(FileId, Arc<Reading>)]) -> Vec<Practice> {
    let blocks = readings
        .iter()
        .flat_map(|(file, reading)| reading.blocks.iter().map(move |block| Said { file: *file, reading, block }));
    blocks.filter(|said| said.block.kind == Some(Kind::Practice)).map(read).collect()
}

fn read(said: Said<'_>) -> Practice {
    let mut practice = Practice {
        title: said.block.name.map_or(String::new(), |title| said.reading.plain_text(title).to_string()),
        header: said.header(),
        levels: Vec::new(),
        limits: Vec::new(),
        requires: Vec::new(),
    };
    for line in said.lines().filter(|line| line.statement.whole) {
        let place = line.place();
        let rule = line.arg(Role::Rule).filter(|arg| arg.value == Value::Label);
        let rule = rule.map(|arg| Fact::here(said.reading.slice(arg.span).to_string(), line.at(arg.span)));
        match (line.word(), rule) {
            ("level", Some(rule)) => {
                let level = line.choice(Role::By).get().copied();
                practice.levels.extend(level.map(|level| Level { rule, level, place }));
            }
            ("limit", Some(rule)) => {
                let value = line.quantity(Role::Amount).fact().copied();
                practice.limits.extend(value.map(|value| HouseLimit { rule, value, place }));
            }
            ("requires", _) => {
                let kind = line.choice(Role::What).get().and_then(|word| kind_of_header(word, None));
                let of_each_heater = line.choice(Role::Owner).get().is_some();
                practice.requires.extend(kind.map(|kind| Required { kind, of_each_heater, place }));
            }
            _ => {}
        }
    }
    practice
}

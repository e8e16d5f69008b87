//! One file, read: its tree, its blocks and statements with their arguments, and every slip of the pen with its place.
//! Reading sees one file only: names are not looked up, followed files are not opened, nothing is judged.

mod blocks;
mod quantity;
mod shapes;
mod slip;
#[cfg(test)]
mod tests;

pub(crate) use blocks::LABELLED;
pub use shapes::expected_after;
pub use slip::{Slip, SlipKind};

use crate::syntax::{Tree, read_tree};
use crate::text::Span;
use crate::units::{Dimension, Quantity};
use crate::vocabulary::{Direction, Kind, KindSet, Role, Word};
use std::ops::Range;
use std::sync::Arc;

/// What one argument says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value {
    /// A quantity.
    Quantity(Quantity),
    /// One of the words that the vocabulary lists.
    Choice(&'static str),
    /// A direction.
    Direction(Direction),
    /// A whole number.
    Count(u32),
    /// The name of a block, to be looked up.
    Name,
    /// A word of the author's own.
    Label,
    /// Free text; its quotes are within the span.
    Text,
    /// A date.
    Date(Date),
    /// `the NAME`: what a kit asks for, where a quantity of this dimension is wanted; the name is the span's last word.
    Asked(Dimension),
    /// `?`: for the tool to fill.
    Blank,
    /// `unknown`: nobody measured it.
    Unknown,
}

/// A calendar day (ISO 8601, Gregorian). Days sort in order of time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date {
    /// Year.
    pub year: u16,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day, 1 to 31.
    pub day: u8,
}

impl Date {
    /// Reads `2027-03-31`; `None` where there is no such day.
    pub fn read(text: &str) -> Option<Date> {
        let mut parts = text.splitn(3, '-');
        let year: u16 = parts.next()?.parse().ok()?;
        let month: u8 = parts.next()?.parse().ok()?;
        let day: u8 = parts.next()?.parse().ok()?;
        let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
        let longest = match month {
            2 => 28 + u8::from(leap),
            4 | 6 | 9 | 11 => 30,
            1..=12 => 31,
            _ => return None,
        };
        (1..=longest).contains(&day).then_some(Date { year, month, day })
    }
}

impl Date {
    /// The day so many days after 1970-01-01; eras of 400 years of 146,097 days, years counted from March. The edges ask
    /// the clock, the language only counts. Years past 65535 are held there.
    pub fn after_1970(days: u64) -> Date {
        let days = days.saturating_add(719_468);
        let (era, day_of_era) = (days / 146_097, days % 146_097);
        let year_of_era = (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
        let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
        let month_from_march = (5 * day_of_year + 2) / 153;
        let day = day_of_year - (153 * month_from_march + 2) / 5 + 1;
        let month = if month_from_march < 10 { month_from_march + 3 } else { month_from_march - 9 };
        let year = year_of_era + era * 400 + u64::from(month <= 2);
        Date {
            year: u16::try_from(year).unwrap_or(u16::MAX),
            month: u8::try_from(month).unwrap_or(1),
            day: u8::try_from(day).unwrap_or(1),
        }
    }
}

impl Date {
    /// The days from 1970-01-01 to this day, less than 0 before it: the inverse of [`Date::after_1970`].
    pub fn since_1970(self) -> i64 {
        let year = i64::from(self.year) - i64::from(self.month <= 2);
        let (era, year_of_era) = (year.div_euclid(400), year.rem_euclid(400));
        let month_from_march = (i64::from(self.month) + 9) % 12;
        let day_of_year = (153 * month_from_march + 2) / 5 + i64::from(self.day) - 1;
        let day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
        era * 146_097 + day_of_era - 719_468
    }
}

impl std::fmt::Display for Date {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

/// One argument of a statement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arg {
    /// What it is for.
    pub role: Role,
    /// What it says.
    pub value: Value,
    /// Where.
    pub span: Span,
}

/// One line of a block.
#[derive(Clone, Debug, PartialEq)]
pub struct Statement {
    /// The word it starts with, `None` where the block does not know that word.
    pub word: Option<&'static Word>,
    /// Where the word is.
    pub head: Span,
    /// The whole statement, comment left out.
    pub span: Span,
    /// Its line in the tree.
    pub line: u32,
    /// Whether all of it was understood.
    pub whole: bool,
    args: Range<u32>,
}

/// A block: a header and the statements that belong to it.
#[derive(Clone, Debug)]
pub struct Block {
    /// What it is; `None` for a held paragraph, whose header nobody could make out.
    pub kind: Option<Kind>,
    /// The header's words, or an empty range where there is no header.
    pub header: Span,
    /// Its name, title or rule.
    pub name: Option<Span>,
    /// The heater it belongs to; for `fit` the kit.
    pub of: Option<Span>,
    /// For `usual` and `change`, the kind that it speaks of: its lines are read with the words of that.
    pub about: Option<(Kind, Span)>,
    /// Whether it belongs to a kit: it is built where the kit is fitted, and nowhere else.
    pub in_kit: bool,
    /// Its header's line, or its first line where there is none.
    pub first_line: u32,
    /// Its last line.
    pub last_line: u32,
    statements: Range<u32>,
}

impl Block {
    /// The property of that name, where the block knows it.
    pub fn property(&self, word: &str) -> Option<&'static Word> {
        self.kind.and_then(|kind| blocks::known_in(kind, self.about.map(|(kind, _)| kind), word))
    }

    /// The kind whose words its lines are read with.
    pub fn speaks_of(&self) -> Option<Kind> {
        self.about.map(|(kind, _)| kind).or(self.kind)
    }
}

/// One file, read. It cannot fail; what was not understood is in `slips`.
#[derive(Debug)]
pub struct Reading {
    /// The tree it was read from.
    pub tree: Tree,
    /// The edition that the file says it is written in, where it says one.
    pub edition: Option<(u32, Span)>,
    /// The files it follows: the text between the quotes, and its place.
    pub follows: Vec<Span>,
    /// Its blocks in order.
    pub blocks: Vec<Block>,
    /// Every slip, in order of discovery.
    pub slips: Vec<Slip>,
    /// The kinds that a held paragraph might have been: their names may be missing without fault.
    pub held: KindSet,
    /// Whether it fits kits, changes them, or says what is usual: then the job's blocks are not all that stands in it.
    pub layered: bool,
    statements: Vec<Statement>,
    args: Vec<Arg>,
}

impl Reading {
    /// Reads a text.
    pub fn new(text: Arc<str>) -> Reading {
        blocks::read_blocks(read_tree(text))
    }

    /// The reading of another text, the same as [`Reading::new`] gives; what this text has in common with it at its start
    /// and end goes through the grammar no second time.
    pub fn edited(&self, text: Arc<str>) -> Reading {
        blocks::read_blocks(self.tree.edited(text))
    }

    /// The text of a span.
    pub fn slice(&self, span: Span) -> &str {
        self.tree.slice(span)
    }

    /// The statements of a block, in order.
    pub fn statements(&self, block: &Block) -> &[Statement] {
        self.statements.get(block.statements.start as usize..block.statements.end as usize).unwrap_or(&[])
    }

    /// Every statement of the file.
    pub fn all_statements(&self) -> &[Statement] {
        &self.statements
    }

    /// The arguments of a statement, in order.
    pub fn args(&self, statement: &Statement) -> &[Arg] {
        self.args.get(statement.args.start as usize..statement.args.end as usize).unwrap_or(&[])
    }

    /// The block and the statement at an offset.
    pub fn at(&self, offset: u32) -> (Option<&Block>, Option<&Statement>) {
        let line = u32::try_from(self.tree.line_at(offset)).unwrap_or(u32::MAX);
        let after = self.blocks.partition_point(|block| block.first_line <= line);
        let block = after.checked_sub(1).and_then(|at| self.blocks.get(at)).filter(|block| line <= block.last_line);
        let statement = block.and_then(|block| {
            let statements = self.statements(block);
            let at = statements.binary_search_by_key(&line, |statement| statement.line).ok()?;
            statements.get(at)
        });
        (block, statement)
    }

    /// Free text without its quotes.
    pub fn plain_text(&self, span: Span) -> &str {
        let text = self.slice(span);
        let text = text.strip_prefix('"').unwrap_or(text);
        text.strip_suffix('"').unwrap_or(text).trim()
    }
}

//! Slips of the pen: what is not as the language wants it, as data. Wording is the text rules' business.

use crate::text::Span;
use crate::units::Dimension;
use crate::vocabulary::{Atom, Kind};

/// One slip and its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Slip {
    /// What.
    pub kind: SlipKind,
    /// Where.
    pub span: Span,
}

/// The kinds of slip.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)] // fields are named for what they hold
pub enum SlipKind {
    /// A word at a line's start that the block does not know.
    UnknownWord { kind: Kind, nearest: Option<&'static str> },
    /// A word where one of a few was wanted.
    UnknownChoice { wanted: &'static [&'static str], nearest: Option<&'static str> },
    /// A number with nothing behind it.
    NoUnit { wanted: Dimension },
    /// A number with something behind it that is no unit.
    UnknownUnit { nearest: Option<&'static str> },
    /// A unit that measures something else.
    WrongDimension { wanted: Dimension, found: Dimension },
    /// Millimetres where a conductor's area is wanted; with the area of a conductor of that diameter, mm².
    BareMillimetres { number: f64 },
    /// `1,5`: two readings.
    CommaInNumber { as_point: String, as_thousands: Option<String> },
    /// A number that cannot be read, such as a division by nought.
    NumberUnreadable,
    /// The line stops, or goes on otherwise, where something was wanted.
    Expected { wanted: Atom, at_end: bool },
    /// More on the line than the word takes.
    LeftOver,
    /// A part of the line that no comma parts from the one before; it was read all the same.
    CommaMissing,
    /// Characters that the language has no use for.
    StrayCharacter,
    /// A quote that is not closed before the line's end.
    OpenQuote,
    /// `?` where the tool cannot fill anything.
    BlankNotHere,
    /// No such day.
    NoSuchDay,
    /// A property at the margin.
    IndentThis { kind: Kind },
    /// A header that is indented.
    MarginThis { kind: Kind },
    /// A margin line that is nothing known, in the middle of a block.
    StrayLine { nearest: Option<&'static str> },
    /// A header nobody knows, taken for this kind.
    HeaderGuessed { kind: Kind },
    /// A header nobody knows and nobody can guess; its lines are not judged.
    HeaderUnknown { nearest: Option<&'static str> },
    /// Indented lines that no header opens; they are not judged.
    NoHeader,
    /// A header that lacks its name, or the heater it belongs to.
    HeaderLacks { kind: Kind, name: bool },
    /// A word that is kept for a meaning of its own, used as a name.
    ReservedName,
    /// A property said a second time.
    SaidTwice { first: Span },
    /// The range runs from high to low.
    RangeBackwards,
    /// No edition line at the top.
    EditionMissing,
    /// An edition later than this tool knows.
    EditionLater { edition: u32 },
}

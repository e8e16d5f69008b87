//! How the table says what a word takes. Types only; the words are in `table.rs`.

use crate::units::Dimension;

/// Every kind of block, in the table's order. `File` stands for the lines outside any block.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
#[allow(missing_docs)] // the table describes each
pub enum Kind {
    File,
    Job,
    Vehicle,
    Space,
    Battery,
    Tank,
    Heater,
    Exhaust,
    CombustionAir,
    ReturnAir,
    WarmAir,
    FuelLine,
    CoolantLine,
    Cable,
    Opening,
    KeepClear,
    Alarm,
    Concession,
    Stock,
    HeaterSheet,
    HoseSheet,
    PipeSheet,
    DuctSheet,
    LineSheet,
    CableSheet,
    FuseSheet,
    Kit,
    Fit,
    Usual,
    Change,
    Table,
    Practice,
    Sketch,
}

impl Kind {
    /// Every kind but `File`.
    pub fn all() -> impl Iterator<Item = Kind> {
        super::KINDS.iter().skip(1).map(|entry| entry.kind)
    }

    /// Whether a block of this kind makes its file one to judge: a job, or a sketch of one.
    pub fn opens_a_job(self) -> bool {
        matches!(self, Kind::Job | Kind::Sketch)
    }

    /// Whether blocks of this kind are walked routes.
    pub fn is_run(self) -> bool {
        matches!(
            self,
            Kind::Exhaust
                | Kind::CombustionAir
                | Kind::ReturnAir
                | Kind::WarmAir
                | Kind::FuelLine
                | Kind::CoolantLine
                | Kind::Cable
                | Kind::KeepClear
        )
    }

    /// Whether blocks of this kind are shared wherever they stand, and so never part of a kit.
    pub fn is_shared(self) -> bool {
        self.is_sheet() || matches!(self, Kind::Stock | Kind::Usual)
    }

    /// Whether blocks of this kind say how layers lie over each other, and are nothing to build by themselves.
    pub fn is_layering(self) -> bool {
        matches!(self, Kind::Kit | Kind::Fit | Kind::Usual | Kind::Change)
    }

    /// Whether blocks of this kind are type data.
    pub fn is_sheet(self) -> bool {
        matches!(
            self,
            Kind::HeaterSheet
                | Kind::HoseSheet
                | Kind::PipeSheet
                | Kind::DuctSheet
                | Kind::LineSheet
                | Kind::CableSheet
                | Kind::FuseSheet
        )
    }
}

/// A set of kinds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct KindSet(u64);

impl KindSet {
    /// No kind.
    pub const NONE: KindSet = KindSet(0);
    /// Every kind.
    pub const ALL: KindSet = KindSet(u64::MAX);

    /// Of these kinds.
    pub const fn of(kinds: &[Kind]) -> KindSet {
        let mut bits = 0u64;
        let mut rest = kinds;
        while let [first, others @ ..] = rest {
            bits |= 1 << (*first as u8);
            rest = others;
        }
        KindSet(bits)
    }

    /// Whether the kind is in it.
    pub const fn has(self, kind: Kind) -> bool {
        self.0 & (1 << (kind as u8)) != 0
    }

    /// Both together.
    pub const fn and(self, other: KindSet) -> KindSet {
        KindSet(self.0 | other.0)
    }

    /// Whether it holds no kind.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Its kinds in the table's order.
    pub fn iter(self) -> impl Iterator<Item = Kind> {
        Kind::all().filter(move |kind| self.has(*kind))
    }
}

/// What an argument is for, within its word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)] // each name is its own description
pub enum Role {
    /// The first thing said: a choice, a name, a label.
    What,
    /// A quantity that needs no further name.
    Amount,
    Direction,
    Distance,
    Bore,
    Outside,
    Material,
    Thickness,
    Area,
    Current,
    Behaviour,
    Duration,
    Angle,
    Bends,
    Rise,
    Voltage,
    Charge,
    Count,
    Arrangement,
    Facing,
    By,
    Owner,
    Resistance,
    Radius,
    Flow,
    Pressure,
    Sheet,
    Closable,
    Sealed,
    Fitted,
    Lift,
    Least,
    Level,
    Share,
    Holder,
    Property,
    Unit,
    Usual,
    /// How far to the side.
    Aside,
    /// The name of a rule.
    Rule,
}

/// A direction in the vehicle's axes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)] // each name is its own description
pub enum Direction {
    Forward,
    Back,
    Left,
    Right,
    Up,
    Down,
    /// Towards the kerb.
    Nearside,
    /// Away from the kerb.
    Offside,
}

impl Direction {
    /// The direction of that name.
    pub fn named(word: &str) -> Option<Direction> {
        Some(match word {
            "forward" => Direction::Forward,
            "back" => Direction::Back,
            "left" => Direction::Left,
            "right" => Direction::Right,
            "up" => Direction::Up,
            "down" => Direction::Down,
            "nearside" => Direction::Nearside,
            "offside" => Direction::Offside,
            _ => return None,
        })
    }
}

/// One thing that a part of a statement is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Atom {
    /// This word, always.
    Literal(&'static str),
    /// This word, or nothing.
    Flag(Role, &'static str),
    /// One of these words.
    Choice(Role, &'static [&'static str]),
    /// A direction word.
    Direction(Role),
    /// A quantity of a dimension.
    Measure(Role, Dimension),
    /// A quantity of whatever dimension, or a blank: an answer to a kit, which knows what it asked for.
    Any(Role),
    /// A quantity of a dimension, or a blank for the tool to fill.
    Fillable(Role, Dimension),
    /// A whole number.
    Count(Role),
    /// The name of a block of these kinds.
    Name(Role, KindSet),
    /// The name of a block of these kinds, or a blank for the tool to fill.
    FillableName(Role, KindSet),
    /// A word of the author's own.
    Label(Role),
    /// The name of a rule.
    Rule(Role),
    /// Free text: quoted, or the rest of the part.
    Text(Role),
    /// A date, year first (ISO 8601).
    Date(Role),
}

/// How often a part stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // each name is its own description
pub enum Times {
    Once,
    Maybe,
    Many,
}

/// What stands between two commas.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part(pub Times, pub &'static [Atom]);

/// One way to say a property: parts in order, then parts in any order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Form {
    /// Parts that come first, in order.
    pub head: &'static [Part],
    /// Parts that follow in any order.
    pub tail: &'static [Part],
}

/// A property word.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Word {
    /// The word at the start of the line.
    pub word: &'static str,
    /// The ways to go on.
    pub forms: &'static [Form],
    /// Whether it may stand more than once in a block.
    pub repeats: bool,
    /// A line for readers: what it states.
    pub says: &'static str,
    /// The statement as somebody would write it.
    pub example: &'static str,
}

/// How a kind's header goes on behind its word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Naming {
    /// `vehicle van-3`.
    Name,
    /// `job "title"`.
    Title,
    /// `exhaust of reader`.
    OfHeater,
    /// `cable supply of reader`, the `of` part optional.
    NameOfHeater,
    /// `datasheet heater air-4`.
    SheetName,
    /// `concession RULE`.
    Rule,
    /// `stock cable`: one of the kinds of stock.
    StockOf,
    /// `fit bunk-24 as bunk`: a kit's name, then the name that its heater takes.
    KitAs,
    /// `usual cable`: the kind that the block speaks of.
    KindAlone,
    /// `change cable supply of bunk`: the header of another block, the kind first.
    KindNameOf,
    /// No header at all.
    Anything,
}

/// A kind of block and the words it knows.
#[derive(Clone, Copy, Debug)]
pub struct KindWords {
    /// The kind.
    pub kind: Kind,
    /// Its header word, empty for `File`.
    pub header: &'static str,
    /// For data sheets, the second header word.
    pub sheet_of: &'static str,
    /// How the header goes on.
    pub naming: Naming,
    /// A line for readers: what the block is.
    pub says: &'static str,
    /// The header as somebody would write it.
    pub example: &'static str,
    /// Its properties, in groups that kinds share.
    pub groups: &'static [&'static [Word]],
}

impl KindWords {
    /// Its properties, one by one.
    pub fn words(&self) -> impl Iterator<Item = &'static Word> + use<> {
        self.groups.iter().flat_map(|group| group.iter())
    }

    /// The property of that name, where the kind knows it.
    pub fn word(&self, word: &str) -> Option<&'static Word> {
        self.groups.iter().flat_map(|group| group.iter()).find(|known| known.word == word)
    }

    /// The kind as readers call it: `exhaust`, `heater data sheet`.
    pub fn reads(&self) -> String {
        if self.sheet_of.is_empty() { self.header.replace('-', " ") } else { format!("{} data sheet", self.sheet_of) }
    }
}

//! Facts: a value, where it is written, and where it is used. What nobody said is told apart from what nobody knows.

use crate::source::Place;
use crate::units::{Dimension, Quantity, Unit};

/// A value and its two places. They differ where a value written in one place is used through another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fact<T> {
    /// The value.
    pub value: T,
    /// Where it is written.
    pub written: Place,
    /// Where it is used.
    pub used: Place,
}

impl<T> Fact<T> {
    /// A value used where it is written.
    pub fn here(value: T, place: Place) -> Fact<T> {
        Fact { value, written: place, used: place }
    }
}

/// What a file says of something it may say.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Stated<T> {
    /// Nothing.
    #[default]
    Silent,
    /// That nobody knows.
    Unknown(Place),
    /// That the tool is to fill it.
    Blank(Place),
    /// This.
    Is(Fact<T>),
}

impl<T> Stated<T> {
    /// The value, where one is stated.
    pub fn get(&self) -> Option<&T> {
        self.fact().map(|fact| &fact.value)
    }

    /// The value with its places, where one is stated.
    pub fn fact(&self) -> Option<&Fact<T>> {
        match self {
            Stated::Is(fact) => Some(fact),
            _ => None,
        }
    }

    /// Where it is written, whatever it says.
    pub fn place(&self) -> Option<Place> {
        match self {
            Stated::Silent => None,
            Stated::Unknown(place) | Stated::Blank(place) => Some(*place),
            Stated::Is(fact) => Some(fact.written),
        }
    }

    /// Takes a statement unless one was taken before: what is said first stands.
    pub fn first(&mut self, other: Stated<T>) {
        if matches!(self, Stated::Silent) {
            *self = other;
        }
    }
}

/// A number with its doubt, SI, without the author's unit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Interval {
    /// Lowest.
    pub low: f64,
    /// As meant.
    pub nominal: f64,
    /// Highest.
    pub high: f64,
}

impl Interval {
    /// No doubt.
    pub const fn exact(value: f64) -> Interval {
        Interval { low: value, nominal: value, high: value }
    }

    /// From a value and the half width of its doubt.
    pub fn around(nominal: f64, half_width: f64) -> Interval {
        Interval { low: nominal - half_width, nominal, high: nominal + half_width }
    }

    /// The sum; doubts add, since each may lie at its worst end.
    pub fn plus(self, other: Interval) -> Interval {
        Interval { low: self.low + other.low, nominal: self.nominal + other.nominal, high: self.high + other.high }
    }

    /// The negative.
    pub fn negative(self) -> Interval {
        Interval { low: -self.high, nominal: -self.nominal, high: -self.low }
    }

    /// Half the width of the doubt.
    pub fn half_width(self) -> f64 {
        (self.high - self.low) / 2.0
    }
}

impl From<f64> for Interval {
    fn from(value: f64) -> Interval {
        Interval::exact(value)
    }
}

impl From<Quantity> for Interval {
    fn from(quantity: Quantity) -> Interval {
        Interval { low: quantity.low, nominal: quantity.nominal, high: quantity.high }
    }
}

/// The unit in which to show lengths along a run: the first that its author used.
pub fn unit_or(unit: Option<&'static Unit>, otherwise: &str) -> &'static Unit {
    unit.or_else(|| crate::units::find_unit(otherwise)).unwrap_or(&PLAIN)
}

/// A plain number, for a unit's spelling that is not in the table.
static PLAIN: Unit = Unit { spelling: "", symbol: "", dimension: Dimension::Ratio, factor: 1.0, offset: 0.0, head: 0 };

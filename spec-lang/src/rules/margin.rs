//! What a rule held against which limit, and how much is left: every rule that compares a figure with a limit says it
//! here, and its finding follows from the same comparison. No limit is known here and nothing is put into sentences.

use super::Rule;
use crate::finding::Whose;
use crate::model::Interval;
use crate::source::Place;
use crate::units::{Dimension, Unit};

/// Which side of its limit a figure has to stay on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Bound {
    /// The limit is the most that it may be.
    AtMost,
    /// The limit is the least that it may be.
    AtLeast,
}

impl Bound {
    /// The words between figure and limit: `at most`.
    pub const fn words(self) -> &'static str {
        match self {
            Bound::AtMost => "at most",
            Bound::AtLeast => "at least",
        }
    }

    /// How far a figure lies beyond a limit; negative while it keeps it.
    pub fn beyond(self, figure: f64, limit: f64) -> f64 {
        match self {
            Bound::AtMost => figure - limit,
            Bound::AtLeast => limit - figure,
        }
    }
}

/// How a figure stands to its limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stand {
    /// Every end of its doubt keeps the limit.
    Keeps,
    /// Only the worst end of its doubt breaks it.
    ByDoubt,
    /// The figure as meant breaks it.
    Breaks,
}

impl Stand {
    /// Of a figure, with so much room beyond the limit: what is met to the letter is met.
    pub fn of(figure: Interval, bound: Bound, limit: f64, room: f64) -> Stand {
        let breaks = |value: f64| bound.beyond(value, limit) > room;
        if breaks(figure.nominal) {
            Stand::Breaks
        } else if breaks(worst_of(figure, bound)) {
            Stand::ByDoubt
        } else {
            Stand::Keeps
        }
    }

    /// Whether the limit is kept.
    pub fn keeps(self) -> bool {
        self == Stand::Keeps
    }

    /// Whether the figure as meant breaks it.
    pub fn certain(self) -> bool {
        self == Stand::Breaks
    }
}

fn worst_of(figure: Interval, bound: Bound) -> f64 {
    match bound {
        Bound::AtMost => figure.high,
        Bound::AtLeast => figure.low,
    }
}

/// What is said of a comparison where somebody asks for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    place: Place,
    what: String,
    unit: &'static Unit,
    whose: Whose,
    scale: Option<f64>,
    difference: bool,
}

impl Told {
    /// Where the finding would stand, what the figure is in a few words, the unit to show it in, and whose the limit is.
    pub fn new(place: Place, what: impl Into<String>, unit: &'static Unit, whose: Whose) -> Told {
        Told { place, what: what.into(), unit, whose, scale: None, difference: false }
    }

    /// Against this many SI units, where the limit itself is no measure of its own size: a limit of nought, or one counted
    /// from an edge.
    pub fn against(self, scale: f64) -> Told {
        Told { scale: Some(scale), ..self }
    }

    /// A difference of temperatures, which has a size of its own.
    pub fn difference(self) -> Told {
        Told { difference: true, ..self }
    }
}

/// A figure that was held against a limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// The rule that did.
    pub rule: &'static Rule,
    /// Where its finding stands, or would.
    pub place: Place,
    /// What the figure is: `voltage at the heater while it starts`.
    pub what: String,
    /// The figure with its doubt, SI.
    pub figure: Interval,
    /// Which side of the limit it has to stay on.
    pub bound: Bound,
    /// The limit, SI.
    pub limit: f64,
    /// Whose limit.
    pub whose: Whose,
    /// The unit to show both in.
    pub unit: &'static Unit,
    /// How it stands.
    pub stand: Stand,
    scale: Option<f64>,
    difference: bool,
}

/// The differences of temperature that count as one whole margin, K: a temperature's zero says nothing of its size.
const WHOLE_TEMPERATURE: f64 = 100.0;

impl Judged {
    pub(super) fn new(
        rule: &'static Rule,
        figure: Interval,
        bound: Bound,
        limit: f64,
        room: f64,
        told: Told,
    ) -> Judged {
        let stand = Stand::of(figure, bound, limit, room);
        let Told { place, what, unit, whose, scale, difference } = told;
        Judged { rule, place, what, figure, bound, limit, whose, unit, stand, scale, difference }
    }

    /// The end of the figure's doubt that is nearest to the limit or furthest beyond it, SI.
    pub fn worst(&self) -> f64 {
        worst_of(self.figure, self.bound)
    }

    /// What is left between the worst end and the limit, SI; negative where the limit is broken.
    pub fn left(&self) -> f64 {
        -self.bound.beyond(self.worst(), self.limit)
    }

    /// What counts as a whole margin, SI: the limit's own size; 100 K for a temperature; where the limit is nought or counts
    /// from an edge, what the rule says instead (1 m, a right angle).
    pub fn scale(&self) -> f64 {
        let own = if self.is_temperature() { WHOLE_TEMPERATURE } else { self.limit.abs() };
        let scale = self.scale.unwrap_or(own);
        if scale > f64::MIN_POSITIVE { scale } else { self.worst().abs().max(f64::MIN_POSITIVE) }
    }

    /// The margin: what is left between the worst end of the stated doubt and the limit, as a share of [`Judged::scale`].
    /// 0.1 says that a tenth of the limit is left, 0 that it is met to the letter; it is negative where, and only where, the
    /// rule finds the limit broken, and minus infinity where the figure has no end.
    pub fn margin(&self) -> f64 {
        let share = self.left() / self.scale();
        let share = if share.is_nan() { f64::NEG_INFINITY } else { share };
        match self.stand {
            // Met to the letter is met: a hair of rounding beyond the limit is no broken one.
            Stand::Keeps => share.max(0.0) + 0.0, // never minus nought
            _ => share.min(-0.0),
        }
    }

    /// Whether it is a place on a scale of temperature, and not a difference.
    pub fn is_temperature(&self) -> bool {
        self.unit.dimension == Dimension::Temperature && !self.difference
    }

    /// A value of its dimension as read; a difference without the scale's offset.
    pub fn show(&self, value: f64) -> String {
        let shown = if self.difference { self.unit.show_difference(value) } else { self.unit.show(value) };
        shown.trim_end().to_string()
    }

    /// A value in the unit to show it in.
    pub fn in_unit(&self, value: f64) -> f64 {
        if self.difference { value / self.unit.factor } else { self.unit.from_si(value) }
    }

    /// A gap between two values as read.
    pub fn show_gap(&self, gap: f64) -> String {
        self.unit.show_difference(gap).trim_end().to_string()
    }

    /// A written quantity as a limit of this comparison, SI; `None` where it measures something else.
    pub fn read(&self, value: f64, unit: &Unit) -> Option<f64> {
        if self.unit.symbol.is_empty() {
            return None; // a count has no unit that a limit could be written in
        }
        let same = self.unit.dimension.takes(unit.dimension) || unit.dimension.takes(self.unit.dimension);
        same.then(|| if self.difference { unit.difference_to_si(unit.from_si(value)) } else { value })
    }

    /// The same comparison with another limit.
    pub(super) fn with_limit(&self, limit: f64, whose: Whose) -> Judged {
        // As the rules on lengths give it: a hair of rounding is no breach.
        let room = 1e-6 * limit.abs() + 1e-9;
        let stand = Stand::of(self.figure, self.bound, limit, room);
        Judged { limit, whose, stand, ..self.clone() }
    }
}

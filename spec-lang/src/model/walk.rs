//! Walks a run: from its legs to lengths, bends, rises and places in vehicle axes, with the doubt of each.
//!
//! Axes: x forward, y left, z up, metres (ISO 8855:2011). Doubt along an axis adds up leg by leg, since each written
//! tolerance may lie at its worst end.

use super::fact::Interval;
use super::run::{Met, Step};
use crate::physics::geometry::{Point, Segment, Vector};
use crate::source::Place;
use crate::units::{Angle, Quantity, Unit};
use crate::vocabulary::Direction;

/// A place with its doubt along each axis (half widths, metres).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spot {
    /// The place as meant.
    pub point: Point,
    /// Half widths of the doubt along x, y, z.
    pub doubt: Vector,
}

impl Spot {
    /// The longest way the true place can be from the place as meant.
    pub fn reach(&self) -> f64 {
        self.doubt.length().in_metres()
    }
}

/// One leg, with what it is made of.
#[derive(Clone, Debug)]
pub struct Stretch {
    /// The step it comes from.
    pub step: usize,
    /// Where the statement is.
    pub place: Place,
    /// Its length.
    pub length: Interval,
    /// Its net rise, where known.
    pub rise: Option<Interval>,
    /// From where to where, where known; the doubt is the larger of its two ends'.
    pub leg: Option<(Segment, f64)>,
}

/// Two places that should be one.
#[derive(Clone, Debug, PartialEq)]
pub struct Miss {
    /// The statement that says where it should be.
    pub place: Place,
    /// How far the walk lies from there, and how far its doubt reaches.
    pub gap: f64,
    /// What the doubts and the slack of a walk allow.
    pub allowed: f64,
    /// What a length laid in unknown directions lacks to reach it; zero where the walk is known.
    pub short_by: f64,
    /// The way from where the walk comes out to that place; nothing where the walk is not known.
    pub lacking: Vector,
    /// Whether the gap is one of height alone: how much too high the stated rises come out, negative for too low.
    pub too_high: Option<f64>,
}

/// A run's geometry.
#[derive(Clone, Debug, Default)]
pub struct Walk {
    /// Its legs in order.
    pub stretches: Vec<Stretch>,
    /// Its whole length; `None` where a line was not understood or a blank is open.
    pub length: Option<Interval>,
    /// The sum of its bends, radians; `None` likewise.
    pub bends: Option<Interval>,
    /// Where it starts.
    pub start: Option<Spot>,
    /// Where it ends.
    pub end: Option<Spot>,
    /// The way the last leg goes.
    pub end_way: Option<Vector>,
    /// Where the walk is after each step, where known.
    pub after: Vec<Option<Spot>>,
    /// The sum of bends up to each step, radians; `None` where a line before it was not understood.
    pub bends_after: Vec<Option<Interval>>,
    /// Where the walk does not meet a place that the author states.
    pub misses: Vec<Miss>,
    /// Whether some part of it lies nobody knows where.
    pub lost: bool,
    /// The unit its author measured in.
    pub unit: Option<&'static Unit>,
}

/// What a walk may be off at a stated place without a word: hand measurement of a run. Common practice, no source.
const SLACK: f64 = 0.06;

/// How a vehicle's words turn into axes.
#[derive(Clone, Copy, Debug, Default)]
pub struct Axes {
    /// Whether the kerb is on the left.
    pub nearside_is_left: bool,
}

impl Axes {
    /// The unit vector of a direction.
    pub fn unit(self, direction: Direction) -> Vector {
        let left = Vector { x: 0.0, y: 1.0, z: 0.0 };
        let nearside = if self.nearside_is_left { left } else { left.times(-1.0) };
        match direction {
            Direction::Forward => Vector { x: 1.0, y: 0.0, z: 0.0 },
            Direction::Back => Vector { x: -1.0, y: 0.0, z: 0.0 },
            Direction::Left => left,
            Direction::Right => left.times(-1.0),
            Direction::Up => Vector { x: 0.0, y: 0.0, z: 1.0 },
            Direction::Down => Vector { x: 0.0, y: 0.0, z: -1.0 },
            Direction::Nearside => nearside,
            Direction::Offside => nearside.times(-1.0),
        }
    }

    /// A way in parts: its vector and the doubt along each axis.
    pub fn way(self, parts: &[(Direction, Quantity)]) -> (Vector, Vector) {
        let mut way = Vector::default();
        let mut doubt = Vector::default();
        for (direction, quantity) in parts {
            let unit = self.unit(*direction);
            let part = unit.times(quantity.nominal);
            way = Vector { x: way.x + part.x, y: way.y + part.y, z: way.z + part.z };
            let half = quantity.half_width();
            doubt = Vector {
                x: doubt.x + unit.x.abs() * half,
                y: doubt.y + unit.y.abs() * half,
                z: doubt.z + unit.z.abs() * half,
            };
        }
        (way, doubt)
    }

    /// A place from the origin.
    pub fn spot(self, parts: &[(Direction, Quantity)]) -> Spot {
        let (way, doubt) = self.way(parts);
        Spot { point: Point::default().moved(way), doubt }
    }
}

/// Length of a leg with its doubt: the way's length, and each axis' doubt as far as it lies along the way.
fn leg_length(way: Vector, doubt: Vector) -> Interval {
    let length = way.length().in_metres();
    if length <= 0.0 {
        return Interval::around(0.0, doubt.length().in_metres());
    }
    let along = (way.x.abs() * doubt.x + way.y.abs() * doubt.y + way.z.abs() * doubt.z) / length;
    Interval { low: (length - along).max(0.0), nominal: length, high: length + along }
}

fn add(one: Vector, other: Vector) -> Vector {
    Vector { x: one.x + other.x, y: one.y + other.y, z: one.z + other.z }
}

/// Walks the steps from a start to a stated end. `facing` is the way the start port faces, for the first bend.
pub fn walk(
    axes: Axes,
    steps: &[Step],
    start: Option<Spot>,
    facing: Option<Vector>,
    end: Option<(Spot, Place)>,
) -> Walk {
    let mut state = Walker {
        walk: Walk { start, length: Some(Interval::default()), bends: Some(Interval::default()), ..Walk::default() },
        here: start,
        anchor: start,
        since_anchor: Interval::default(),
        risen: Some(Interval::default()),
        way: facing,
    };
    let mut walked = false;
    for (number, step) in steps.iter().enumerate() {
        match &step.met {
            Met::Leg(parts) => {
                state.leg(axes, number, step.place, parts);
                walked = true;
            }
            Met::Run(length, rise) => {
                state.run(number, step.place, length.get(), *rise);
                walked = true;
            }
            Met::Bend(angle, _) => state.bend(Interval::from(*angle)),
            Met::At(parts) => {
                let spot = axes.spot(parts);
                if walked {
                    state.meet(spot, step.place);
                } else {
                    state.walk.start = Some(spot);
                }
                state.here = Some(spot);
                state.anchor = Some(spot);
                state.since_anchor = Interval::default();
                state.risen = Some(Interval::default());
            }
            Met::Silencer(Some(length)) => state.lengthen(number, step.place, Interval::from(*length)),
            Met::Gap => {
                state.walk.length = None;
                state.walk.bends = None;
                state.lose();
                state.anchor = None;
            }
            _ => {}
        }
        state.walk.after.push(state.here);
        state.walk.bends_after.push(state.walk.bends);
    }
    if let Some((spot, place)) = end {
        if walked {
            state.meet(spot, place);
        }
        if state.here.is_none() {
            state.here = Some(spot);
        }
    }
    state.walk.end = state.here;
    state.walk.end_way = state.way.filter(|_| state.here.is_some());
    state.walk
}

struct Walker {
    walk: Walk,
    here: Option<Spot>,
    anchor: Option<Spot>,
    /// Length laid since the last known place.
    since_anchor: Interval,
    /// Net rise since the last known place; `None` where a rise on the way is not stated.
    risen: Option<Interval>,
    way: Option<Vector>,
}

impl Walker {
    fn lose(&mut self) {
        self.here = None;
        self.way = None;
        self.walk.lost = true;
    }

    fn add_length(&mut self, length: Interval, rise: Option<Interval>) {
        self.walk.length = self.walk.length.map(|so_far| so_far.plus(length));
        self.since_anchor = self.since_anchor.plus(length);
        self.risen = self.risen.zip(rise).map(|(so_far, more)| so_far.plus(more));
    }

    fn leg(&mut self, axes: Axes, step: usize, place: Place, parts: &[(Direction, Quantity)]) {
        if self.walk.unit.is_none() {
            self.walk.unit = parts.first().map(|(_, quantity)| quantity.unit);
        }
        let (way, doubt) = axes.way(parts);
        let length = leg_length(way, doubt);
        if let Some(angle) = self.way.and_then(|before| before.angle_to(way)) {
            self.bend(Interval::exact(angle.in_radians()));
        }
        let rise = Interval::around(way.z, doubt.z);
        let next = self.here.map(|here| Spot { point: here.point.moved(way), doubt: add(here.doubt, doubt) });
        let leg = self.here.zip(next).map(|(from, to)| (Segment { from: from.point, to: to.point }, to.reach()));
        self.walk.stretches.push(Stretch { step, place, length, rise: Some(rise), leg });
        self.add_length(length, Some(rise));
        self.here = next;
        if way.length().in_metres() > 0.0 {
            self.way = Some(way);
        }
    }

    fn run(&mut self, step: usize, place: Place, length: Option<&Quantity>, rise: Option<Interval>) {
        match length {
            Some(quantity) => {
                if self.walk.unit.is_none() {
                    self.walk.unit = Some(quantity.unit);
                }
                let length = Interval::from(*quantity);
                self.walk.stretches.push(Stretch { step, place, length, rise, leg: None });
                self.add_length(length, rise);
            }
            None => {
                self.walk.length = None;
                self.anchor = None;
            }
        }
        self.lose();
    }

    /// A length on the way the walk already goes.
    fn lengthen(&mut self, step: usize, place: Place, length: Interval) {
        let way = self.way.and_then(Vector::unit).map(|unit| unit.times(length.nominal));
        let next = self.here.zip(way).map(|(here, way)| Spot { point: here.point.moved(way), doubt: here.doubt });
        let leg = self.here.zip(next).map(|(from, to)| (Segment { from: from.point, to: to.point }, to.reach()));
        let rise = way.map(|way| Interval::exact(way.z));
        self.walk.stretches.push(Stretch { step, place, length, rise, leg });
        self.add_length(length, rise);
        if next.is_none() && self.here.is_some() {
            self.lose();
        } else {
            self.here = next;
        }
    }

    fn bend(&mut self, angle: Interval) {
        self.walk.bends = self.walk.bends.map(|so_far| so_far.plus(angle));
    }

    /// Compares the walk with a place that its author states.
    fn meet(&mut self, stated: Spot, place: Place) {
        if let Some(here) = self.here {
            let gap = here.point.distance_to(stated.point).in_metres();
            let allowed = add(here.doubt, stated.doubt).length().in_metres() + SLACK;
            if gap > allowed {
                let lacking = here.point.to(stated.point);
                self.walk.misses.push(Miss { place, gap, allowed, short_by: 0.0, lacking, too_high: None });
            }
        } else if let Some(anchor) = self.anchor {
            let gap = anchor.point.distance_to(stated.point).in_metres();
            let allowed = add(anchor.doubt, stated.doubt).length().in_metres() + SLACK;
            let short_by = gap - allowed - self.since_anchor.high;
            if short_by > 0.0 {
                let allowed = self.since_anchor.high + allowed;
                let lacking = Vector::default();
                self.walk.misses.push(Miss { place, gap, allowed, short_by, lacking, too_high: None });
            } else if let Some(risen) = self.risen {
                // Nobody knows where it is, but where every rise is stated its height is known.
                let allowed = anchor.doubt.z + stated.doubt.z + risen.half_width() + SLACK;
                let above = anchor.point.z + risen.nominal - stated.point.z;
                if above.abs() > allowed {
                    let too_high = Some(above);
                    let (gap, lacking) = (above.abs(), Vector::default());
                    self.walk.misses.push(Miss { place, gap, allowed, short_by: 0.0, lacking, too_high });
                }
            }
        }
    }
}

impl Walk {
    /// Its legs whose place is known: the segment, how far its doubt reaches, and the step.
    pub fn legs(&self) -> impl Iterator<Item = (Segment, f64, usize)> + '_ {
        self.stretches.iter().filter_map(|stretch| stretch.leg.map(|(segment, reach)| (segment, reach, stretch.step)))
    }

    /// Length and net rise of the stretches whose step lies in a range; the rise is `None` where one is unknown.
    pub fn between(&self, steps: std::ops::Range<usize>) -> (Interval, Option<Interval>) {
        let mut length = Interval::default();
        let mut rise = Some(Interval::default());
        for stretch in self.stretches.iter().filter(|stretch| steps.contains(&stretch.step)) {
            length = length.plus(stretch.length);
            rise = rise.zip(stretch.rise).map(|(so_far, more)| so_far.plus(more));
        }
        (length, rise)
    }

    /// The sum of bends in degrees at its high end, where known.
    pub fn bends_in_degrees(&self) -> Option<f64> {
        self.bends.map(|bends| Angle::radians(bends.high).in_degrees())
    }
}

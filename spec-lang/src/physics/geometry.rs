//! Points, legs, boxes and routes in vehicle axes, and exact distances between them. What a route carries is not in here.
//!
//! Axes: x forward, y left, z up (ISO 8855:2011). Coordinates are plain metres; what a distance returns is a `Length`.
//! Input without length or size (a leg of two equal points, a flat box) is allowed everywhere and never gives NaN.
//! Valid for coordinates up to 1e6 m.

use crate::units::{Angle, Length};
use std::f64::consts::PI;

/// A place, in metres from the vehicle's origin.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// Metres forward.
    pub x: f64,
    /// Metres to the left.
    pub y: f64,
    /// Metres up.
    pub z: f64,
}

/// A way from one place to another, in metres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Vector {
    /// Metres forward.
    pub x: f64,
    /// Metres to the left.
    pub y: f64,
    /// Metres up.
    pub z: f64,
}

impl Point {
    /// A place by its lengths forward, left and up.
    pub fn new(forward: Length, left: Length, up: Length) -> Self {
        Point { x: forward.in_metres(), y: left.in_metres(), z: up.in_metres() }
    }

    /// How far forward.
    pub fn forward(self) -> Length {
        Length::metres(self.x)
    }

    /// How far to the left.
    pub fn left(self) -> Length {
        Length::metres(self.y)
    }

    /// How far up.
    pub fn up(self) -> Length {
        Length::metres(self.z)
    }

    /// The way from here to another place.
    pub fn to(self, other: Point) -> Vector {
        Vector { x: other.x - self.x, y: other.y - self.y, z: other.z - self.z }
    }

    /// The place a way leads to from here.
    pub fn moved(self, way: Vector) -> Point {
        Point { x: self.x + way.x, y: self.y + way.y, z: self.z + way.z }
    }

    /// Straight distance to another place.
    pub fn distance_to(self, other: Point) -> Length {
        self.to(other).length()
    }
}

impl Vector {
    /// Scalar product, in m².
    pub fn dot(self, other: Vector) -> f64 {
        self.x * other.x + self.y * other.y + self.z * other.z
    }

    /// Vector product, in m².
    pub fn cross(self, other: Vector) -> Vector {
        Vector {
            x: self.y * other.z - self.z * other.y,
            y: self.z * other.x - self.x * other.z,
            z: self.x * other.y - self.y * other.x,
        }
    }

    /// This way, so many times as long.
    pub fn times(self, factor: f64) -> Vector {
        Vector { x: self.x * factor, y: self.y * factor, z: self.z * factor }
    }

    /// How long the way is.
    pub fn length(self) -> Length {
        // Plain squares: no length that means anything overflows them, and they cost a tenth of `hypot`.
        Length::metres((self.x * self.x + self.y * self.y + self.z * self.z).sqrt())
    }

    /// Angle to another direction, 0 to 180°: atan2(|u × v|, u · v), which is exact near 0° and 180° too.
    ///
    /// `None` where either has no length.
    pub fn angle_to(self, other: Vector) -> Option<Angle> {
        let (one, two) = (self.unit()?, other.unit()?);
        let sine = one.cross(two).length().in_metres();
        Some(Angle::radians(sine.atan2(one.dot(two))))
    }

    /// Angle above the horizontal, -90° to 90°. `None` where the way has no length.
    pub fn elevation(self) -> Option<Angle> {
        let direction = self.unit()?;
        let level = direction.x.hypot(direction.y);
        Some(Angle::radians(direction.z.atan2(level)))
    }

    /// The same direction, one metre long. `None` where the way has no length.
    pub fn unit(self) -> Option<Vector> {
        let length = self.length().in_metres();
        (length > 0.0).then(|| Vector { x: self.x / length, y: self.y / length, z: self.z / length })
    }
}

/// A straight leg between two places.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Segment {
    /// Where it starts.
    pub from: Point,
    /// Where it ends.
    pub to: Point,
}

impl Segment {
    /// The place at a share of its length, 0 at the start and 1 at the end.
    pub fn at(self, share: f64) -> Point {
        // Each end is weighed by itself so that a share of 1 gives the end exactly.
        Point {
            x: self.from.x * (1.0 - share) + self.to.x * share,
            y: self.from.y * (1.0 - share) + self.to.y * share,
            z: self.from.z * (1.0 - share) + self.to.z * share,
        }
    }

    /// The way from start to end.
    pub fn way(self) -> Vector {
        self.from.to(self.to)
    }

    /// Share of the leg at the foot of a place on it, 0 to 1.
    fn foot(self, point: Point) -> f64 {
        let way = self.way();
        share(self.from.to(point).dot(way), way.dot(way))
    }
}

/// A quotient held to 0 to 1, and 0 where there is none.
fn share(part: f64, whole: f64) -> f64 {
    let quotient = part / whole;
    if quotient.is_finite() { quotient.clamp(0.0, 1.0) } else { 0.0 }
}

/// A box with faces along the vehicle's axes, by its lowest and highest corners.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AlignedBox {
    low: Point,
    high: Point,
}

impl AlignedBox {
    /// The box that spans two opposite corners, in any order.
    pub fn spanning(one: Point, other: Point) -> Self {
        AlignedBox {
            low: Point { x: one.x.min(other.x), y: one.y.min(other.y), z: one.z.min(other.z) },
            high: Point { x: one.x.max(other.x), y: one.y.max(other.y), z: one.z.max(other.z) },
        }
    }

    /// Rearmost, rightmost, lowest corner.
    pub fn low(self) -> Point {
        self.low
    }

    /// Foremost, leftmost, highest corner.
    pub fn high(self) -> Point {
        self.high
    }

    /// Whether it is more than a face, a line or a point: more than 1 mm along each axis.
    pub fn has_room(self) -> bool {
        let least = 1e-3;
        self.high.x - self.low.x > least && self.high.y - self.low.y > least && self.high.z - self.low.z > least
    }

    /// Whether a place is inside or on a face.
    pub fn contains(self, point: Point) -> bool {
        self.nearest(point) == point
    }

    /// The place in the box nearest to a place; the place itself if it is inside.
    pub fn nearest(self, point: Point) -> Point {
        Point {
            x: point.x.max(self.low.x).min(self.high.x),
            y: point.y.max(self.low.y).min(self.high.y),
            z: point.z.max(self.low.z).min(self.high.z),
        }
    }
}

/// The least distance between two things, and where it is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Gap {
    /// The least distance; zero where they touch or overlap.
    pub distance: Length,
    /// The nearest place on the first thing.
    pub on_first: Point,
    /// The nearest place on the second thing.
    pub on_second: Point,
    /// Share of the first thing's length at its nearest place, 0 to 1, where the first thing is a leg; else 0.
    pub share_of_first: f64,
    /// Share of the second thing's length at its nearest place, 0 to 1, where the second thing is a leg; else 0.
    pub share_of_second: f64,
}

impl Gap {
    fn between(on_first: Point, on_second: Point) -> Self {
        Gap {
            distance: on_first.distance_to(on_second),
            on_first,
            on_second,
            share_of_first: 0.0,
            share_of_second: 0.0,
        }
    }

    fn nearer(self, other: Gap) -> Gap {
        if other.distance < self.distance { other } else { self }
    }
}

/// Least distance of a place and a leg. Source: orthogonal projection held to the leg (Ericson, Real-Time Collision Detection, 5.1.2).
pub fn point_to_segment(point: Point, segment: Segment) -> Gap {
    let foot = segment.foot(point);
    Gap { share_of_second: foot, ..Gap::between(point, segment.at(foot)) }
}

/// Least distance of two legs, exact: the four end-to-leg distances and, where both feet fall inside, the common perpendicular.
///
/// Of several nearest places (parallel legs) it gives one at an end. Source: Ericson, Real-Time Collision Detection, 5.1.9, with
/// every candidate measured so that nearly parallel legs lose no accuracy.
pub fn segment_to_segment(first: Segment, second: Segment) -> Gap {
    let at = |share_of_first: f64, share_of_second: f64| Gap {
        share_of_first,
        share_of_second,
        ..Gap::between(first.at(share_of_first), second.at(share_of_second))
    };
    let ends = at(0.0, second.foot(first.from))
        .nearer(at(1.0, second.foot(first.to)))
        .nearer(at(first.foot(second.from), 0.0))
        .nearer(at(first.foot(second.to), 1.0));
    let (along, across) = (first.way(), second.way());
    let offset = second.from.to(first.from);
    let (aa, ab, bb) = (along.dot(along), along.dot(across), across.dot(across));
    let determinant = along.cross(across);
    let determinant = determinant.dot(determinant);
    let inner = (ab * across.dot(offset) - bb * along.dot(offset)) / determinant;
    let outer = (aa * across.dot(offset) - ab * along.dot(offset)) / determinant;
    let inside = |value: f64| (0.0..=1.0).contains(&value);
    if inside(inner) && inside(outer) { ends.nearer(at(inner, outer)) } else { ends }
}

/// Least distance of a place and a box; zero inside. Source: each coordinate held to the box (Ericson 5.1.3).
pub fn point_to_box(point: Point, aligned: AlignedBox) -> Gap {
    Gap::between(point, aligned.nearest(point))
}

/// Least distance of a leg and a box, exact; zero where the leg touches or enters it.
///
/// The squared distance along the leg is convex and made of parabolas that join where the leg crosses the plane of a face,
/// so the least of each parabola's least is the least of all. Source: first principles; no iteration.
pub fn segment_to_box(segment: Segment, aligned: AlignedBox) -> Gap {
    let axes = [
        (segment.from.x, segment.way().x, aligned.low.x, aligned.high.x),
        (segment.from.y, segment.way().y, aligned.low.y, aligned.high.y),
        (segment.from.z, segment.way().z, aligned.low.z, aligned.high.z),
    ];
    let mut joints = vec![0.0, 1.0];
    for (start, way, low, high) in axes {
        for face in [low, high] {
            let crossing = (face - start) / way;
            if crossing > 0.0 && crossing < 1.0 {
                joints.push(crossing);
            }
        }
    }
    joints.sort_by(f64::total_cmp);
    let at = |share_of_first: f64| {
        let point = segment.at(share_of_first);
        Gap { share_of_first, ..Gap::between(point, aligned.nearest(point)) }
    };
    let mut best = at(0.0).nearer(at(1.0));
    for (&left, &right) in joints.iter().zip(joints.iter().skip(1)) {
        let middle = 0.5 * (left + right);
        let (mut slope, mut bend) = (0.0, 0.0);
        for (start, way, low, high) in axes {
            let here = start + way * middle;
            let face = if here < low {
                low
            } else if here > high {
                high
            } else {
                continue;
            };
            slope += way * (start - face);
            bend += way * way;
        }
        let lowest = -slope / bend;
        let lowest = if lowest.is_finite() { lowest.max(left).min(right) } else { middle };
        best = best.nearer(at(left)).nearer(at(lowest));
    }
    best
}

/// Least distance of two boxes; zero where they touch or overlap. Source: the gap of each axis by itself.
pub fn box_to_box(first: AlignedBox, second: AlignedBox) -> Gap {
    let axis = |low: f64, high: f64, other_low: f64, other_high: f64| {
        if high < other_low {
            (high, other_low)
        } else if other_high < low {
            (low, other_high)
        } else {
            let shared = 0.5 * (low.max(other_low) + high.min(other_high));
            (shared, shared)
        }
    };
    let (x, other_x) = axis(first.low.x, first.high.x, second.low.x, second.high.x);
    let (y, other_y) = axis(first.low.y, first.high.y, second.low.y, second.high.y);
    let (z, other_z) = axis(first.low.z, first.high.z, second.low.z, second.high.z);
    Gap::between(Point { x, y, z }, Point { x: other_x, y: other_y, z: other_z })
}

/// The legs of a route through these places.
pub fn legs(route: &[Point]) -> impl Iterator<Item = Segment> + '_ {
    let pairs = route.iter().zip(route.iter().skip(1));
    pairs.map(|(&from, &to)| Segment { from, to })
}

/// Length of a route along its legs; zero for fewer than two places.
pub fn route_length(route: &[Point]) -> Length {
    legs(route).map(|leg| leg.way().length()).sum()
}

/// The directions of a route's legs, those without length left out.
fn directions(route: &[Point]) -> Vec<Vector> {
    legs(route).map(Segment::way).filter(|way| way.unit().is_some()).collect()
}

/// The angle turned at each bend of a route, in order: 0 straight on, 180° straight back.
///
/// Legs without length are skipped, so a place written twice is no bend.
pub fn bend_angles(route: &[Point]) -> Vec<Angle> {
    let ways = directions(route);
    let pairs = ways.iter().zip(ways.iter().skip(1));
    pairs.filter_map(|(&before, &after)| before.angle_to(after)).collect()
}

/// Sum of the angles turned along a route.
pub fn total_bend(route: &[Point]) -> Angle {
    bend_angles(route).into_iter().sum()
}

/// Length of a route whose corners are rounded to a bend radius: each corner saves 2 r tan(θ/2) and adds r θ.
///
/// `None` where the roundings don't fit their legs, or a leg turns straight back. Source: geometry of the inscribed arc.
pub fn developed_length(route: &[Point], bend_radius: Length) -> Option<Length> {
    let radius = bend_radius.in_metres().max(0.0);
    let ways = directions(route);
    let angles = bend_angles(route);
    let tangent = |angle: Angle| radius * (angle.in_radians() / 2.0).tan();
    let turned_back = |angle: &Angle| angle.in_radians() > PI - 1e-9;
    if radius > 0.0 && angles.iter().any(turned_back) {
        return None;
    }
    let before = std::iter::once(0.0).chain(angles.iter().map(|&angle| tangent(angle)));
    let after = angles.iter().map(|&angle| tangent(angle)).chain([0.0]);
    let mut length = 0.0;
    for ((way, start), end) in ways.iter().zip(before).zip(after) {
        let straight = way.length().in_metres() - start - end;
        // Two roundings that meet exactly fit; rounding error must not part them.
        if straight < -1e-9 * way.length().in_metres() {
            return None;
        }
        length += straight.max(0.0);
    }
    let arcs: f64 = angles.iter().map(|angle| radius * angle.in_radians()).sum();
    Some(Length::metres(length + arcs))
}

/// How much a route climbs, all its rising legs added.
pub fn rise(route: &[Point]) -> Length {
    legs(route).map(|leg| Length::metres(leg.way().z.max(0.0))).sum()
}

/// How much a route falls, all its falling legs added, as a positive length.
pub fn fall(route: &[Point]) -> Length {
    legs(route).map(|leg| Length::metres((-leg.way().z).max(0.0))).sum()
}

/// Direction in which a route ends, one metre long. `None` for a route without length.
pub fn end_direction(route: &[Point]) -> Option<Vector> {
    directions(route).last().and_then(|way| way.unit())
}

/// A place of a route where water stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LowPoint {
    /// Which place of the route, from 0: the first of a level stretch.
    pub index: usize,
    /// The place.
    pub at: Point,
    /// How deep water can stand before it runs out over the lower of the two rims.
    pub depth: Length,
}

/// The places of a route that are lower than the route on both sides of them, with the depth of water each can hold.
///
/// The ends drain freely and are never low points. A level stretch counts once. Of two hollows in one basin each is listed with the
/// depth to its own rims: the lower of the highest places before and after it.
pub fn low_points(route: &[Point]) -> Vec<LowPoint> {
    let mut highest_before = Vec::with_capacity(route.len());
    let mut highest = f64::NEG_INFINITY;
    for point in route {
        highest_before.push(highest);
        highest = highest.max(point.z);
    }
    let mut found = Vec::new();
    let mut highest_after = f64::NEG_INFINITY;
    let mut next_height = f64::NEG_INFINITY;
    // Backwards, so that one pass knows both the highest place after and the end of a level stretch.
    let mut level_from_lower = false;
    for (index, point) in route.iter().enumerate().rev() {
        let falls_from_next = if point.z == next_height { level_from_lower } else { point.z < next_height };
        level_from_lower = falls_from_next;
        let before = highest_before.get(index).copied().unwrap_or(f64::NEG_INFINITY);
        let previous = index.checked_sub(1).and_then(|index| route.get(index));
        if falls_from_next && previous.is_some_and(|previous| previous.z > point.z) {
            found.push(LowPoint { index, at: *point, depth: Length::metres(before.min(highest_after) - point.z) });
        }
        highest_after = highest_after.max(point.z);
        next_height = point.z;
    }
    found.reverse();
    found
}

/// Least distance of two routes; `None` where one of them has no leg.
pub fn route_to_route(first: &[Point], second: &[Point]) -> Option<Gap> {
    least(legs(first).flat_map(|leg| legs(second).map(move |other| segment_to_segment(leg, other))))
}

/// Least distance of a route and a box; `None` where the route has no leg.
pub fn route_to_box(route: &[Point], aligned: AlignedBox) -> Option<Gap> {
    least(legs(route).map(|leg| segment_to_box(leg, aligned)))
}

/// Least distance of a place and a route; `None` where the route has no leg.
pub fn point_to_route(point: Point, route: &[Point]) -> Option<Gap> {
    least(legs(route).map(|leg| point_to_segment(point, leg)))
}

fn least(gaps: impl Iterator<Item = Gap>) -> Option<Gap> {
    gaps.reduce(Gap::nearer)
}

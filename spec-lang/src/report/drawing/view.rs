//! One view of a body: from metres in the vehicle's axes to the sheet. What is drawn there is not decided here.

use super::labels::Rect;
use super::scene::Body;
use crate::physics::geometry::{AlignedBox, Point, Vector};

/// From where a body is seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum From {
    /// From above: forward is right, left is up.
    Above,
    /// From the right side: forward is right, up is up.
    Right,
}

/// A view on the sheet.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    pub(super) from: From,
    /// Units of the sheet for a metre.
    pub(super) scale: f64,
    /// Where the vehicle's origin lies on the sheet.
    pub(super) origin: (f64, f64),
    /// The part of the sheet that it may use.
    pub(super) frame: Rect,
}

impl View {
    /// A direction on the sheet, in its units.
    pub(super) fn way(&self, way: Vector) -> (f64, f64) {
        let up = if self.from == From::Above { way.y } else { way.z };
        (way.x * self.scale, -up * self.scale)
    }

    /// A place on the sheet.
    pub(super) fn at(&self, point: Point) -> (f64, f64) {
        let (x, y) = self.way(Point::default().to(point));
        (self.origin.0 + x, self.origin.1 + y)
    }

    /// What of a direction comes out of the sheet, towards who looks at it.
    pub(super) fn towards(&self, way: Vector) -> f64 {
        if self.from == From::Above { way.z } else { -way.y }
    }

    /// A box on the sheet.
    pub(super) fn rect(&self, area: AlignedBox) -> Rect {
        let (low, high) = (self.at(area.low()), self.at(area.high()));
        Rect { x: low.0, y: high.1, width: high.0 - low.0, height: low.1 - high.1 }
    }
}

/// How far all that a body holds reaches; `None` where it holds nothing.
pub(super) fn extent(body: &Body) -> Option<AlignedBox> {
    let things = body.things.iter().flat_map(|thing| [thing.area.low(), thing.area.high()]);
    let legs = body.lines.iter().flat_map(|line| line.legs.iter()).flat_map(|leg| [leg.segment.from, leg.segment.to]);
    let marks = body.lines.iter().flat_map(|line| line.marks.iter()).map(|mark| mark.point);
    let mut points = things.chain(legs).chain(marks);
    let first = points.next()?;
    let lowest = |one: Point, other: Point| AlignedBox::spanning(one, other).low();
    let highest = |one: Point, other: Point| AlignedBox::spanning(one, other).high();
    let mut low = first;
    let mut high = first;
    for point in points {
        // The corners one axis at a time: a box that spans both points holds the lower of each axis.
        low = lowest(low, point);
        high = highest(high, point);
    }
    Some(AlignedBox::spanning(low, high))
}

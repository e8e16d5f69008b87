//! Round bores, of lines and of ducts alike: area, volume, mean velocity, Reynolds number. Friction is not in here.

use crate::units::{Area, KinematicViscosity, Length, Speed, Time, Volume, VolumeFlow};
use std::f64::consts::PI;

/// Cross-section of a round bore: π D² / 4.
pub fn area(bore: Length) -> Area {
    bore * bore * (PI / 4.0)
}

/// Volume that a line holds: π D² / 4 · L.
pub fn volume(bore: Length, length: Length) -> Volume {
    area(bore) * length
}

/// Mean velocity in a round bore: Q / A. `None` unless the bore is positive. Source: continuity.
pub fn mean_velocity(flow: VolumeFlow, bore: Length) -> Option<Speed> {
    (bore > Length::ZERO)
        .then(|| Speed::metres_per_second(flow.in_cubic_metres_per_second() / area(bore).in_square_metres()))
}

/// Reynolds number of a round bore: w D / ν. `None` unless bore and viscosity are positive. Source: Reynolds 1883.
pub fn reynolds_number(flow: VolumeFlow, bore: Length, viscosity: KinematicViscosity) -> Option<f64> {
    if viscosity.in_square_metres_per_second().is_nan() || viscosity <= KinematicViscosity::ZERO {
        return None;
    }
    mean_velocity(flow, bore)
        .map(|speed| speed.in_metres_per_second().abs() * bore.in_metres() / viscosity.in_square_metres_per_second())
}

/// Time a particle at mean velocity takes through a line: V / Q. `None` unless the flow is positive.
pub fn transit_time(bore: Length, length: Length, flow: VolumeFlow) -> Option<Time> {
    (flow > VolumeFlow::ZERO)
        .then(|| Time::seconds(volume(bore, length).in_cubic_metres() / flow.in_cubic_metres_per_second()))
}

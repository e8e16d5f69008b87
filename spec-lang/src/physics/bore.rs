//! Round bores, of lines and of ducts alike: area, volume, mean velocity, Reynolds number. Friction is not in here.

use crate::units::{Area, KinematicViscosity, Length, Speed, Time, Volume, VolumeFlow};
use std::f64::consts::PI;

/// Bores in which air ducts, intake and coolant hoses, exhaust pipes and fuel lines are sold for small heaters, in mm and
/// in inches: what to choose from where neither a stock list nor a data sheet says what there is.
///
/// Source: common practice, no source.
pub const DUCT_MILLIMETRES: [f64; 7] = [50.0, 55.0, 60.0, 75.0, 80.0, 90.0, 100.0];
/// Air ducts in inches; see [`DUCT_MILLIMETRES`].
pub const DUCT_INCHES: [f64; 5] = [2.0, 2.5, 3.0, 3.5, 4.0];
/// Hoses in mm; see [`DUCT_MILLIMETRES`].
pub const HOSE_MILLIMETRES: [f64; 8] = [16.0, 18.0, 20.0, 22.0, 25.0, 30.0, 38.0, 50.0];
/// Hoses in inches; see [`DUCT_MILLIMETRES`].
pub const HOSE_INCHES: [f64; 6] = [0.625, 0.75, 0.875, 1.0, 1.25, 1.5];
/// Exhaust pipes in mm; see [`DUCT_MILLIMETRES`].
pub const PIPE_MILLIMETRES: [f64; 6] = [22.0, 24.0, 28.0, 30.0, 38.0, 42.0];
/// Exhaust pipes in inches; see [`DUCT_MILLIMETRES`].
pub const PIPE_INCHES: [f64; 4] = [0.875, 1.0, 1.25, 1.5];
/// Fuel lines in mm; see [`DUCT_MILLIMETRES`].
pub const LINE_MILLIMETRES: [f64; 6] = [1.5, 2.0, 2.5, 3.5, 4.0, 5.0];
/// Fuel lines in inches; see [`DUCT_MILLIMETRES`].
pub const LINE_INCHES: [f64; 5] = [0.0625, 0.078, 0.125, 0.1875, 0.25];

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

//! Turbulent and laminar flow in round ducts: friction factor, fittings, pressure loss. Networks are not in here.

use super::bore;
use crate::units::{Angle, Density, DynamicViscosity, KinematicViscosity, Length, Pressure, Speed, VolumeFlow};
use std::f64::consts::PI;

/// Reynolds number up to which flow in a round duct is taken as laminar. Source: Avila et al. 2011, Science 333, 192.
pub const LAMINAR_LIMIT: f64 = 2040.0;

/// Loss coefficient of a sharp-edged entrance flush with a wall. Source: Rennels and Hudson, Pipe Flow (2012), eq. 9.2 (most
/// older tables print 0.50).
pub const SHARP_ENTRANCE: f64 = 0.57;

/// Loss coefficient of an exit into open space: the whole velocity head. Source: Borda-Carnot at area ratio zero.
pub const EXIT: f64 = 1.0;

/// Darcy friction factor of a round duct by Reynolds number and relative roughness (roughness over bore).
///
/// 64 / Re below Re 2040; above, Colebrook 1/√f = -2 log10(ε / 3.7 + 2.51 / (Re √f)) solved to rounding error.
/// `None` unless the Reynolds number is positive. Roughness is held to 0 to 0.5; valid from 0 to 0.05. The step at
/// Re 2040 is real: flow between 2040 and 4000 may be either. Source: Colebrook 1939; Hagen-Poiseuille.
pub fn friction_factor(reynolds_number: f64, relative_roughness: f64) -> Option<f64> {
    if reynolds_number.is_nan() || reynolds_number <= 0.0 {
        return None;
    }
    if reynolds_number < LAMINAR_LIMIT {
        return Some(64.0 / reynolds_number);
    }
    let rough = relative_roughness.clamp(0.0, 0.5) / 3.7;
    let smooth = 2.51 / reynolds_number;
    // Newton on x = 1/√f from Haaland's first guess: the function is concave, so it closes in from one side.
    let mut root = -1.8 * (rough.powf(1.11) + 6.9 / reynolds_number).log10();
    for _ in 0..50 {
        let inside = rough + smooth * root;
        let error = root + 2.0 * inside.log10();
        let slope = 1.0 + 2.0 * smooth / (inside * std::f64::consts::LN_10);
        let next = root - error / slope;
        if (next - root).abs() <= 1e-14 * root.abs() {
            root = next;
            break;
        }
        root = next;
    }
    Some(1.0 / (root * root))
}

/// Kinematic viscosity from dynamic viscosity and density; `None` unless the density is positive.
pub fn kinematic(viscosity: DynamicViscosity, density: Density) -> Option<KinematicViscosity> {
    (density > Density::ZERO).then(|| {
        KinematicViscosity::square_metres_per_second(
            viscosity.in_pascal_seconds() / density.in_kilograms_per_cubic_metre(),
        )
    })
}

/// Velocity head of a flow: ρ w² / 2. Source: Bernoulli.
pub fn dynamic_pressure(density: Density, speed: Speed) -> Pressure {
    Pressure::pascals(0.5 * density.in_kilograms_per_cubic_metre() * speed.in_metres_per_second().powi(2))
}

/// Loss coefficient of a smooth round bend, its own friction included.
///
/// K = f θ r/D + (0.10 + 2.4 f) sin(θ/2) + 6.6 f (√sin(θ/2) + sin(θ/2)) / (r/D)^(4 θ / π), with the angle θ turned and the radius r of
/// the centre line. Beyond 180° each further half turn counts again. `None` unless radius and friction factor are positive; the
/// angle's sign does not count. Valid for smooth duct and r/D from 0.5; in rough hose take it as ± 40 % (our judgement).
/// Source: Rennels and Hudson, Pipe Flow (2012), eq. 15.2.
pub fn bend_loss_coefficient(angle: Angle, bend_radius_over_bore: f64, friction_factor: f64) -> Option<f64> {
    let turned = angle.in_radians().abs();
    let ratio = bend_radius_over_bore;
    if !turned.is_finite() || ratio.is_nan() || ratio <= 0.0 || friction_factor.is_nan() {
        return None;
    }
    if friction_factor <= 0.0 {
        return None;
    }
    let of_angle = |part: f64| {
        let sine = (part / 2.0).sin();
        friction_factor * part * ratio
            + (0.10 + 2.4 * friction_factor) * sine
            + 6.6 * friction_factor * (sine.sqrt() + sine) / ratio.powf(4.0 * part / PI)
    };
    let half_turns = (turned / PI).floor();
    let rest = turned - half_turns * PI;
    let whole = if half_turns > 0.0 { half_turns * of_angle(PI) } else { 0.0 };
    Some(whole + of_angle(rest.max(0.0)))
}

/// Loss coefficient of a sudden widening, on the velocity before it: (1 - (d/D)²)².
///
/// `None` unless 0 < narrow bore ≤ wide bore. Source: Borda-Carnot (Rennels and Hudson 2012, eq. 11.2).
pub fn widening_loss_coefficient(narrow: Length, wide: Length) -> Option<f64> {
    (narrow > Length::ZERO && narrow <= wide).then(|| (1.0 - (narrow / wide).powi(2)).powi(2))
}

/// Loss coefficient of a sudden narrowing, on the velocity behind it: 0.0696 (1 - β⁵) λ² + (λ - 1)², with the jet's
/// λ = 1 + 0.622 (1 - 0.215 β² - 0.785 β⁵) and β the narrow bore over the wide one.
///
/// `None` unless 0 < narrow bore ≤ wide bore. Source: Rennels and Hudson, Pipe Flow (2012), eq. 10.3 and 10.4.
pub fn narrowing_loss_coefficient(wide: Length, narrow: Length) -> Option<f64> {
    (narrow > Length::ZERO && narrow <= wide).then(|| {
        let ratio = narrow / wide;
        let jet = 1.0 + 0.622 * (1.0 - 0.215 * ratio.powi(2) - 0.785 * ratio.powi(5));
        0.0696 * (1.0 - ratio.powi(5)) * jet.powi(2) + (jet - 1.0).powi(2)
    })
}

/// A straight round duct with its fittings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Duct {
    /// Inner diameter.
    pub bore: Length,
    /// Length along the axis.
    pub length: Length,
    /// Height of the wall's roughness.
    pub roughness: Length,
    /// Sum of the loss coefficients of its fittings, on its own velocity.
    pub fittings: f64,
}

/// Total pressure lost along a duct: (f L / D + ΣK) ρ w² / 2, with the sign of the flow.
///
/// Flow and density at the state inside the duct. `None` unless bore, density and viscosity are positive. Valid for
/// losses that are small against the absolute pressure. Source: Darcy-Weisbach with [`friction_factor`].
pub fn pressure_loss(duct: Duct, flow: VolumeFlow, density: Density, viscosity: DynamicViscosity) -> Option<Pressure> {
    let speed = bore::mean_velocity(flow, duct.bore)?;
    let reynolds = bore::reynolds_number(flow, duct.bore, kinematic(viscosity, density)?)?;
    if reynolds == 0.0 {
        return Some(Pressure::ZERO);
    }
    let factor = friction_factor(reynolds, duct.roughness / duct.bore)?;
    let coefficient = factor * (duct.length / duct.bore) + duct.fittings;
    Some(dynamic_pressure(density, speed) * coefficient * flow.in_cubic_metres_per_second().signum())
}

//! Warm air as a network: a fan, the duct it draws through, and a tree of ducts it blows into, with flow, loss and
//! temperature of each. Single ducts and their fittings are in `duct_flow`; what a job says is not known here.

use super::air::{SPECIFIC_HEAT_OF_AIR, density_at_pressure, dynamic_viscosity};
use super::bore;
use super::duct_flow::{Duct, LAMINAR_LIMIT, bend_loss_coefficient, friction_factor};
use crate::units::{
    Angle, Density, Length, MassFlow, Power, Pressure, Speed, Temperature, ThermalConductivity, ThermalTransmittance,
    VolumeFlow,
};
use std::f64::consts::PI;

/// Density of the air that fans are rated in, 1.2 kg/m³. Source: ISO 5801 (standard air).
pub const RATING_DENSITY: Density = Density::kilograms_per_cubic_metre(1.2);

/// Reynolds number from which flow in a duct is taken as turbulent. Source: Gnielinski 2013, Int. J. Heat Mass Transfer 63, 134.
pub const TURBULENT_FROM: f64 = 4000.0;

/// Nusselt number of laminar flow in a round duct whose wall has one temperature, far from its mouth.
///
/// Source: Incropera, Fundamentals of Heat and Mass Transfer, eq. 8.55.
pub const LAMINAR_NUSSELT: f64 = 3.66;

/// Prandtl number of air from 0 °C to 200 °C, to 2 %. Source: Lemmon and Jacobsen 2004.
pub const PRANDTL_NUMBER_OF_AIR: f64 = 0.705;

/// Temperature above which air properties are held: no heater blows hotter.
const HOTTEST: f64 = 1000.0;
/// How near two rounds of the solution must agree, relative to the fan's flow.
const AGREE: f64 = 1e-9;
/// Rounds until the solution counts as not found. Turbulent networks take 6 to 12, laminar ones up to 35.
const ROUNDS: usize = 100;

/// Thermal conductivity of air: 2.64638e-3 T^1.5 / (T + 245.4 · 10^(-12 / T)) in W/(m·K).
///
/// Temperature is held above 1 K. Valid from -40 °C to 250 °C to 2.5 %. Source: US Standard Atmosphere 1976, eq. 53.
pub fn thermal_conductivity(temperature: Temperature) -> ThermalConductivity {
    let kelvin = temperature.in_kelvin().max(1.0);
    ThermalConductivity::watts_per_metre_kelvin(
        2.646_38e-3 * kelvin * kelvin.sqrt() / (kelvin + 245.4 * 10_f64.powf(-12.0 / kelvin)),
    )
}

/// Loss coefficient of a branch that leaves a tee, on the velocity before the tee.
///
/// K = G (1 + H (q / β²)² - J (q / β²) cos θ), with the branch's share q of the flow (0 to 1, held), its bore β over the
/// trunk's (held to at most 1) and its angle θ off the trunk's way (0° to 90°, held). G is read as the larger of its two
/// lines, which leaves out a step of 6 % that the original has. `None` unless β is positive.
/// Source: Crane TP-410 (2009), dividing tees and wyes, with the errata of 2012 as in the library fluids 1.3.1.
pub fn tee_branch_coefficient(share: f64, branch_over_trunk_bore: f64, angle: Angle) -> Option<f64> {
    let beta = branch_over_trunk_bore.min(1.0);
    if beta.is_nan() || beta <= 0.0 || share.is_nan() {
        return None;
    }
    let (share, square) = (share.clamp(0.0, 1.0), beta * beta);
    // An angle of just so many degrees stays on its side, however it was rounded.
    let degrees = (angle.in_degrees().abs() + 1e-9).min(90.0);
    let (h, j) = if degrees < 60.0 || beta <= 2.0 / 3.0 { (1.0, 2.0) } else { (0.3, 0.0) };
    let g = match (degrees < 75.0, square) {
        (true, square) if square <= 0.35 => (1.1 - 0.7 * share).max(0.85),
        (true, _) => (1.0 - 0.6 * share).max(0.6),
        (false, square) if square <= 2.0 / 3.0 => 1.0,
        (false, _) => 1.0 + 0.3 * share * share,
    };
    let ratio = share / square;
    Some(g * (1.0 + h * ratio * ratio - j * ratio * degrees.to_radians().cos()))
}

/// Loss coefficient of the way straight on through a tee, on the velocity before it; a little below zero where a small
/// branch takes the slow air at the wall away.
///
/// K = M q², with M = 0.4 for β² up to 0.4, else 2 (2 q - 1) up to q = 0.5 and 0.3 (2 q - 1) above. `None` unless β is positive.
/// Source: Crane TP-410 (2009), dividing tees, as in the library fluids 1.3.1.
pub fn tee_through_coefficient(branch_share: f64, branch_over_trunk_bore: f64) -> Option<f64> {
    let beta = branch_over_trunk_bore.min(1.0);
    if beta.is_nan() || beta <= 0.0 || branch_share.is_nan() {
        return None;
    }
    let share = branch_share.clamp(0.0, 1.0);
    let slope = match share {
        _ if beta * beta <= 0.4 => 0.4,
        share if share <= 0.5 => 2.0 * (2.0 * share - 1.0),
        _ => 0.3 * (2.0 * share - 1.0),
    };
    Some(slope * share * share)
}

/// Loss coefficient of a duct's open end behind a grille with this share of the duct's area free, the exit included:
/// (1 + 0.707 √(1 - s))² / s². One for a share of one or more; `None` unless positive.
///
/// For a grid of thin bars. Source: Idelchik, Handbook of Hydraulic Resistance, exit through a grid (from memory).
pub fn outlet_grille_coefficient(free_share: f64) -> Option<f64> {
    if free_share.is_nan() || free_share <= 0.0 {
        return None;
    }
    let share = free_share.min(1.0);
    Some(((1.0 + 0.707 * (1.0 - share).sqrt()) / share).powi(2))
}

/// Loss coefficient of a duct's mouth behind a grille with this share of the duct's area free, the entrance included:
/// (1.707 - s)² / s² up to a share of one, and 0.5 beyond; `None` unless positive.
///
/// For a grid of thin bars. Source: Idelchik, Handbook of Hydraulic Resistance, entrance through a grid (from memory).
pub fn inlet_grille_coefficient(free_share: f64) -> Option<f64> {
    if free_share.is_nan() || free_share <= 0.0 {
        return None;
    }
    let share = free_share.min(1.0);
    Some(((1.707 - share) / share).powi(2))
}

/// A bend in parts: the length in bores that counts with the duct's friction, and the loss coefficient that does not.
///
/// [`bend_loss_coefficient`] is linear in the friction factor, so a bend is so much more duct and so much of a fitting,
/// whatever the flow. `None` as there.
pub fn bend_in_parts(angle: Angle, bend_radius_over_bore: f64) -> Option<(f64, f64)> {
    let at_one = bend_loss_coefficient(angle, bend_radius_over_bore, 1.0)?;
    let at_two = bend_loss_coefficient(angle, bend_radius_over_bore, 2.0)?;
    Some((at_two - at_one, 2.0 * at_one - at_two))
}

/// A heater's fan: what it moves freely, and what it presses against a wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fan {
    /// Flow without duct, of the air drawn in.
    pub free_flow: VolumeFlow,
    /// Pressure at no flow, in air of [`RATING_DENSITY`].
    pub blocked_pressure: Pressure,
    /// Bore of the port that the warm air leaves by. The flow without duct leaves it with one velocity head, which the fan
    /// gives besides its static pressure; a duct then does not lose that head again. Where unknown, it is not counted.
    pub outlet_bore: Option<Length>,
}

/// Static pressure of a fan between its two stated points: p₀ (1 - (Q / Q₀)²), times the air's density over the rating's.
///
/// The parabola is an assumption: two points are all that is stated. Zero flow or less gives the blocked pressure; beyond
/// the free flow the pressure is negative. `None` unless both points and the density are positive. Source: fan laws, ISO 5801.
pub fn fan_pressure(fan: Fan, flow: VolumeFlow, density: Density) -> Option<Pressure> {
    let usable = fan.free_flow > VolumeFlow::ZERO && fan.blocked_pressure > Pressure::ZERO && density > Density::ZERO;
    usable.then(|| {
        let part = (flow / fan.free_flow).max(0.0);
        fan.blocked_pressure * ((density / RATING_DENSITY) * (1.0 - part * part))
    })
}

/// What a duct gives its heat to, and through what.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wall {
    /// Outside diameter of the bare duct.
    pub outside: Length,
    /// Thickness of lagging; zero where bare. The duct's own thin wall is not counted.
    pub lagging: Length,
    /// Conductivity of the lagging.
    pub conductivity: ThermalConductivity,
    /// Heat transfer from the outermost surface to what is around, radiation included.
    pub outer_film: ThermalTransmittance,
    /// Temperature of what is around.
    pub around: Temperature,
}

/// How a section leaves the one that feeds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Leaves {
    /// Straight on. Two sections that both go straight on leave a box, without loss of the parting itself.
    Straight,
    /// As the branch of a tee, at this angle off the trunk's way.
    Branch(Angle),
}

/// What stands at a section's end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SectionEnd {
    /// Other sections.
    Feeds,
    /// An open outlet: its loss coefficient on the section's velocity, the exit included.
    Outlet(f64),
    /// An outlet that is shut.
    Shut,
}

/// A duct of the tree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// The number of the section that feeds it, below its own; none for the first.
    pub fed_by: Option<usize>,
    /// How it leaves that one.
    pub leaves: Leaves,
    /// The duct with its fittings; not the outlet, not the tee.
    pub duct: Duct,
    /// Bores of duct whose friction its bends add, by [`bend_in_parts`].
    pub bends: f64,
    /// What stands at its end.
    pub end: SectionEnd,
    /// Its wall, where heat through it counts.
    pub wall: Option<Wall>,
}

/// The air that a network works with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Supply {
    /// Temperature of the air drawn in.
    pub drawn: Temperature,
    /// Its absolute pressure.
    pub pressure: Pressure,
    /// Heat that the heater gives to it.
    pub heat: Power,
}

/// The state of one section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionState {
    /// Air through it.
    pub flow: MassFlow,
    /// Its temperature where it comes in.
    pub enters: Temperature,
    /// Its temperature at the end.
    pub leaves: Temperature,
    /// Temperature of the outermost surface where the air comes in, where a wall is stated.
    pub surface: Option<Temperature>,
    /// Speed at the end.
    pub speed: Speed,
    /// Total pressure lost from the section before it to its end: tee, friction, fittings and outlet.
    pub loss: Pressure,
}

/// The state of a network.
#[derive(Clone, Debug, PartialEq)]
pub struct Operation {
    /// Air through the fan.
    pub flow: MassFlow,
    /// The same by volume, as it is drawn in.
    pub drawn: VolumeFlow,
    /// Static pressure that the fan gives.
    pub fan_pressure: Pressure,
    /// Pressure lost on the return side.
    pub return_loss: Pressure,
    /// Pressure lost from the heater's port to the outlets, exits included, less the velocity head that the port gives.
    pub warm_loss: Pressure,
    /// Temperature of the air as it leaves the heater; of the air drawn in where none flows.
    pub leaves_heater: Temperature,
    /// The sections, in the order given.
    pub sections: Vec<SectionState>,
}

/// Friction factor for a network: laminar to [`LAMINAR_LIMIT`], Colebrook from [`TURBULENT_FROM`], and a straight line between,
/// where flow may be either and a step would leave a network without an answer.
///
/// `root` is 1/√f of the round before, and of this one afterwards: where there is one, a single step of Newton's takes it on, so
/// that it closes together with the flows.
fn network_friction(reynolds: f64, relative_roughness: f64, root: &mut f64) -> f64 {
    if reynolds < TURBULENT_FROM {
        *root = 0.0;
        let laminar = 64.0 / reynolds.max(1.0);
        if reynolds < LAMINAR_LIMIT {
            return laminar;
        }
        let turbulent = friction_factor(TURBULENT_FROM, relative_roughness).unwrap_or(0.0);
        let laminar = 64.0 / LAMINAR_LIMIT;
        return laminar + (turbulent - laminar) * (reynolds - LAMINAR_LIMIT) / (TURBULENT_FROM - LAMINAR_LIMIT);
    }
    if *root <= 0.0 {
        *root = friction_factor(reynolds, relative_roughness).map_or(0.0, |factor| factor.sqrt().recip());
    } else {
        let smooth = 2.51 / reynolds;
        let inside = relative_roughness.clamp(0.0, 0.5) / 3.7 + smooth * *root;
        let error = *root + 2.0 * inside.log10();
        *root -= error / (1.0 + 2.0 * smooth / (inside * std::f64::consts::LN_10));
    }
    1.0 / (*root * *root)
}

/// Nusselt number in a round duct by Reynolds number and Darcy friction factor, for air.
///
/// Laminar 3.66 to [`LAMINAR_LIMIT`]; Gnielinski (f/8) (Re - 1000) Pr / (1 + 12.7 √(f/8) (Pr^⅔ - 1)) from [`TURBULENT_FROM`], a straight line
/// between. In a short duct the true figure is higher. `None` unless Reynolds number and factor are positive.
/// Source: Gnielinski 1976 (Incropera eq. 8.62) and 2013 for the line between.
pub fn nusselt_number(reynolds: f64, friction_factor_there: f64) -> Option<f64> {
    let positive = reynolds > 0.0 && friction_factor_there > 0.0;
    positive.then(|| {
        let gnielinski = |reynolds: f64| {
            let eighth = friction_factor_there / 8.0;
            eighth * (reynolds - 1000.0) * PRANDTL_NUMBER_OF_AIR
                / (1.0 + 12.7 * eighth.sqrt() * (PRANDTL_NUMBER_OF_AIR.cbrt().powi(2) - 1.0))
        };
        if reynolds < LAMINAR_LIMIT {
            LAMINAR_NUSSELT
        } else if reynolds < TURBULENT_FROM {
            let part = (reynolds - LAMINAR_LIMIT) / (TURBULENT_FROM - LAMINAR_LIMIT);
            LAMINAR_NUSSELT + (gnielinski(TURBULENT_FROM) - LAMINAR_NUSSELT) * part
        } else {
            gnielinski(reynolds)
        }
    })
}

/// Air held in a section, and what follows from it.
#[derive(Clone, Copy)]
struct Inside {
    density: f64,
    reynolds: f64,
    friction: f64,
    temperature: f64,
}

impl Inside {
    fn of(duct: Duct, flow: f64, temperature: f64, pressure: Pressure, root: &mut f64) -> Inside {
        let there = Temperature::kelvin(temperature.min(HOTTEST));
        let viscosity = dynamic_viscosity(there).in_pascal_seconds();
        let reynolds = 4.0 * flow / (PI * duct.bore.in_metres() * viscosity);
        Inside {
            density: density_at_pressure(pressure, there).in_kilograms_per_cubic_metre(),
            reynolds,
            friction: network_friction(reynolds, duct.roughness / duct.bore, root),
            temperature: there.in_kelvin(),
        }
    }

    /// Pressure loss by the square of the mass flow.
    fn resistance(self, duct: Duct, bends: f64) -> f64 {
        (self.friction * (duct.length / duct.bore + bends) + duct.fittings) * self.head(duct.bore)
    }

    /// Velocity head by the square of the mass flow: 1 / (2 ρ A²).
    fn head(self, bore: Length) -> f64 {
        velocity_head(bore, self.density)
    }
}

fn velocity_head(bore: Length, density: f64) -> f64 {
    0.5 / (density * bore::area(bore).in_square_metres().powi(2))
}

/// Temperatures of a duct through which air flows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DuctTemperatures {
    /// Of the air at its end.
    pub leaves: Temperature,
    /// Of the outermost surface at its beginning.
    pub surface: Temperature,
}

/// Temperatures along a duct: T = T_around + (T_in - T_around) exp(-U′ L / (ṁ c_p)), with
/// 1/U′ = 1/(h_i π D) + ln(D_lagged / D_out) / (2 π λ) + 1/(h_o π D_lagged).
///
/// The inside film is [`nusselt_number`] at the temperature that comes in. With no flow the air takes the temperature around it.
/// `None` unless bore, outside diameter and outer film are positive, and the lagging's conductivity where there is lagging.
/// Source: Incropera, Fundamentals of Heat and Mass Transfer, eq. 8.45 and 3.31.
pub fn duct_temperatures(
    duct: Duct,
    wall: Wall,
    flow: MassFlow,
    enters: Temperature,
    pressure: Pressure,
) -> Option<DuctTemperatures> {
    let positive = duct.bore > Length::ZERO && wall.outside > Length::ZERO && pressure > Pressure::ZERO;
    if !positive || flow.in_kilograms_per_second().is_nan() || flow < MassFlow::ZERO {
        return None;
    }
    let flow = flow.in_kilograms_per_second();
    let inside = Inside::of(duct, flow, enters.in_kelvin(), pressure, &mut 0.0);
    let (leaves, surface) = temperatures(duct, wall, flow, enters.in_kelvin(), inside)?;
    Some(DuctTemperatures { leaves: Temperature::kelvin(leaves), surface: Temperature::kelvin(surface) })
}

fn temperatures(duct: Duct, wall: Wall, flow: f64, enters: f64, inside: Inside) -> Option<(f64, f64)> {
    let around = wall.around.in_kelvin();
    let lagged = (wall.outside + wall.lagging.max(Length::ZERO) * 2.0).in_metres();
    let outer = wall.outer_film.in_watts_per_square_metre_kelvin() * PI * lagged;
    if outer.is_nan() || outer <= 0.0 {
        return None;
    }
    if flow <= 0.0 {
        return Some((around, around));
    }
    // h_i π D = Nu λ π: the bore cancels.
    let conductivity = thermal_conductivity(Temperature::kelvin(inside.temperature)).in_watts_per_metre_kelvin();
    let inner = nusselt_number(inside.reynolds, inside.friction)? * conductivity * PI;
    let mut resistance = 1.0 / inner + 1.0 / outer;
    if wall.lagging > Length::ZERO {
        let conductivity = wall.conductivity.in_watts_per_metre_kelvin();
        if conductivity.is_nan() || conductivity <= 0.0 {
            return None;
        }
        resistance += (lagged / wall.outside.in_metres()).ln() / (2.0 * PI * conductivity);
    }
    let per_metre = 1.0 / resistance;
    let left = (-per_metre * duct.length.in_metres().max(0.0) / (flow * SPECIFIC_HEAT_OF_AIR)).exp();
    Some((around + (enters - around) * left, around + (enters - around) * per_metre / outer))
}

/// A tee seen from its trunk: the resistances behind it and the velocity head before it.
#[derive(Clone, Copy)]
struct Parting {
    through: f64,
    branch: f64,
    head: f64,
    /// Bore ratio and angle of the branch; none where nothing is lost in the parting itself.
    tee: Option<(f64, Angle)>,
}

impl Parting {
    fn branch_coefficient(self, share: f64) -> f64 {
        self.tee.and_then(|(ratio, angle)| tee_branch_coefficient(share, ratio, angle)).unwrap_or(0.0) * self.head
    }

    fn through_coefficient(self, share: f64) -> f64 {
        self.tee.and_then(|(ratio, _)| tee_through_coefficient(share, ratio)).unwrap_or(0.0) * self.head
    }

    /// Loss straight on less loss by the branch, of unit flow, where the branch takes this share of it.
    fn imbalance(self, share: f64) -> f64 {
        self.through * (1.0 - share).powi(2) + self.through_coefficient(share)
            - self.branch * share * share
            - self.branch_coefficient(share)
    }

    /// The branch's share, and the resistance of the whole by the square of the flow before it.
    ///
    /// Resistances held, all losses go with the square of the flow, so the share does not depend on it.
    fn solve(self) -> (f64, f64) {
        if self.branch.is_infinite() {
            return (0.0, self.through);
        }
        if self.through.is_infinite() {
            return (1.0, self.branch + self.branch_coefficient(1.0));
        }
        let (mut low, mut high) = (0.0, 1.0);
        let (mut at_low, mut at_high) = (self.imbalance(0.0), self.imbalance(1.0));
        if at_low <= 0.0 {
            return (0.0, self.through); // the turn costs more than the way straight on
        }
        if at_high >= 0.0 {
            return (1.0, self.branch + self.branch_coefficient(1.0));
        }
        let mut share = 0.5;
        for _ in 0..60 {
            // False position; the end that stays twice counts half (Illinois).
            share = (low * at_high - high * at_low) / (at_high - at_low);
            let here = self.imbalance(share);
            if here == 0.0 || high - low < 1e-13 {
                break;
            }
            if here > 0.0 {
                let step = share - low;
                low = share;
                at_low = here;
                at_high *= 0.5;
                if step < 1e-14 {
                    break;
                }
            } else {
                let step = high - share;
                high = share;
                at_high = here;
                at_low *= 0.5;
                if step < 1e-14 {
                    break;
                }
            }
        }
        (share, self.branch * share * share + self.branch_coefficient(share))
    }
}

/// What feeds on a section: the one that goes straight on, and the other.
#[derive(Clone, Copy, Default)]
struct Fed {
    through: Option<usize>,
    branch: Option<usize>,
}

/// The operating point of fan, return side and tree of ducts, and the state of every section.
///
/// The return side is ducts in a row, each with the bores of friction that its bends add ([`bend_in_parts`]).
/// In each round resistances are held, the tree is reduced from its outlets to the heater and solved exactly; then friction,
/// densities and temperatures are taken anew, until flows agree to 1e-9. The fan stands before the heat exchanger and moves the
/// air as it is drawn in. Natural draught is left out. With every outlet shut the answer is no flow at the fan's blocked
/// pressure. `None` unless fan, bores and pressure are positive, roughness, lengths, coefficients and heat are
/// not negative, and the sections form one tree in which each feeds at most two; `None` too where the
/// rounds do not close. Sources: Darcy-Weisbach, Colebrook 1939, Crane TP-410 for tees, energy balance.
pub fn operate(fan: Fan, return_side: &[(Duct, f64)], sections: &[Section], supply: Supply) -> Option<Operation> {
    let fed = usable(fan, return_side, sections, supply)?;
    let drawn = supply.drawn.in_kelvin();
    let cold_density = density_at_pressure(supply.pressure, supply.drawn).in_kilograms_per_cubic_metre();
    let blocked = fan.blocked_pressure.in_pascals() * cold_density / RATING_DENSITY.in_kilograms_per_cubic_metre();
    let free = fan.free_flow.in_cubic_metres_per_second() * cold_density;
    let heat = supply.heat.in_watts();

    let mut flows = first_guess(sections, &fed, free * 0.7);
    let mut states: Vec<Inside> = Vec::with_capacity(sections.len());
    let mut warm: Vec<(f64, f64, Option<f64>)> = vec![(drawn, drawn, None); sections.len()];
    let mut behind: Vec<f64> = vec![f64::INFINITY; sections.len()];
    let mut shares: Vec<f64> = vec![0.0; sections.len()];
    let mut roots: Vec<f64> = vec![0.0; sections.len() + return_side.len()];
    let (mut return_resistance, mut warm_resistance);
    let mut round = 0;
    loop {
        let total = flows.first().copied()?;
        let leaves_heater =
            if total > 0.0 { (drawn + heat / (total * SPECIFIC_HEAT_OF_AIR)).min(HOTTEST) } else { drawn };
        // Temperatures and friction, from the heater outwards.
        states.clear();
        for (number, section) in sections.iter().enumerate() {
            let flow = flows.get(number).copied()?;
            let enters = match section.fed_by {
                Some(before) => warm.get(before)?.1,
                None => leaves_heater,
            };
            let middle =
                warm.get(number).map_or(enters, |(_, left, _)| if round > 0 { 0.5 * (enters + left) } else { enters });
            let inside = Inside::of(section.duct, flow, middle, supply.pressure, roots.get_mut(number)?);
            let (left, surface) = match section.wall {
                Some(wall) => {
                    let (left, surface) = temperatures(section.duct, wall, flow, enters, inside)?;
                    (left, Some(surface))
                }
                None => (enters, None),
            };
            *warm.get_mut(number)? = (enters, left, surface);
            states.push(inside);
        }
        // Resistances, from the outlets back to the heater.
        for (number, section) in sections.iter().enumerate().rev() {
            let inside = states.get(number).copied()?;
            let after = match section.end {
                SectionEnd::Shut => f64::INFINITY,
                SectionEnd::Outlet(coefficient) => coefficient * inside.head(section.duct.bore),
                SectionEnd::Feeds => {
                    let parting = parting(section, inside, sections, fed.get(number).copied()?, &behind);
                    let (share, resistance) = parting.solve();
                    *shares.get_mut(number)? = share;
                    resistance
                }
            };
            *behind.get_mut(number)? = inside.resistance(section.duct, section.bends) + after;
        }
        return_resistance = 0.0;
        for (place, (duct, bends)) in return_side.iter().enumerate() {
            let root = roots.get_mut(sections.len() + place)?;
            return_resistance += Inside::of(*duct, total, drawn, supply.pressure, root).resistance(*duct, *bends);
        }
        warm_resistance = behind.first().copied()?;
        if let (Some(bore), Some(first)) = (fan.outlet_bore, states.first()) {
            // No more than is lost can be given back.
            warm_resistance = (warm_resistance - velocity_head(bore, first.density)).max(0.0);
        }
        let all = blocked / (free * free) + return_resistance + warm_resistance;
        let new_total = if all.is_finite() { (blocked / all).sqrt() } else { 0.0 };
        // Flows, from the heater outwards.
        let mut change: f64 = 0.0;
        for (number, section) in sections.iter().enumerate() {
            let new = match section.fed_by {
                None => new_total,
                Some(before) => {
                    let into = flows.get(before).copied()?;
                    let share = shares.get(before).copied()?;
                    let is_branch = fed.get(before)?.branch == Some(number);
                    into * if is_branch { share } else { 1.0 - share }
                }
            };
            let kept = flows.get_mut(number)?;
            change = change.max((new - *kept).abs());
            *kept = new;
        }
        round += 1;
        if change <= AGREE * free {
            break;
        }
        if round == ROUNDS || !change.is_finite() {
            return None;
        }
    }
    let total = flows.first().copied()?;
    let leaves_heater = warm.first()?.0;
    let shut = total <= 0.0;
    let lost = |resistance: f64, flow: f64| if shut { 0.0 } else { resistance * flow * flow };
    let mut found = Vec::with_capacity(sections.len());
    for (number, section) in sections.iter().enumerate() {
        let (flow, inside) = (flows.get(number).copied()?, states.get(number).copied()?);
        let (enters, leaves, surface) = warm.get(number).copied()?;
        let at_end = density_at_pressure(supply.pressure, Temperature::kelvin(leaves)).in_kilograms_per_cubic_metre();
        let outlet = match section.end {
            SectionEnd::Outlet(coefficient) => coefficient * inside.head(section.duct.bore),
            _ => 0.0,
        };
        let tee = section.fed_by.map_or(0.0, |before| {
            let parts =
                (sections.get(before), states.get(before), fed.get(before), shares.get(before), flows.get(before));
            let (Some(trunk), Some(inside), Some(fed), Some(share), Some(into)) = parts else { return 0.0 };
            let parting = parting(trunk, *inside, sections, *fed, &behind);
            let coefficient = if fed.branch == Some(number) {
                parting.branch_coefficient(*share)
            } else {
                parting.through_coefficient(*share)
            };
            if flow > 0.0 { coefficient * into * into } else { 0.0 }
        });
        found.push(SectionState {
            flow: MassFlow::kilograms_per_second(flow),
            enters: Temperature::kelvin(enters),
            leaves: Temperature::kelvin(leaves),
            surface: surface.map(Temperature::kelvin),
            speed: Speed::metres_per_second(flow / (at_end * bore::area(section.duct.bore).in_square_metres())),
            loss: Pressure::pascals(lost(inside.resistance(section.duct, section.bends) + outlet, flow) + tee),
        });
    }
    Some(Operation {
        flow: MassFlow::kilograms_per_second(total),
        drawn: VolumeFlow::cubic_metres_per_second(total / cold_density),
        fan_pressure: Pressure::pascals(blocked * (1.0 - (total / free).powi(2))),
        return_loss: Pressure::pascals(lost(return_resistance, total)),
        warm_loss: Pressure::pascals(lost(warm_resistance, total)),
        leaves_heater: Temperature::kelvin(leaves_heater),
        sections: found,
    })
}

/// What each section feeds, where the network is one that has an answer.
fn usable(fan: Fan, return_side: &[(Duct, f64)], sections: &[Section], supply: Supply) -> Option<Vec<Fed>> {
    let positive = |value: f64| value.is_finite() && value > 0.0;
    let not_negative = |value: f64| value.is_finite() && value >= 0.0;
    let sound = |duct: &Duct| {
        positive(duct.bore.in_metres())
            && not_negative(duct.length.in_metres())
            && not_negative(duct.roughness.in_metres())
            && not_negative(duct.fittings)
    };
    let fan_is_sound = positive(fan.free_flow.in_cubic_metres_per_second())
        && positive(fan.blocked_pressure.in_pascals())
        && fan.outlet_bore.is_none_or(|bore| positive(bore.in_metres()));
    let air_is_sound = positive(supply.drawn.in_kelvin())
        && positive(supply.pressure.in_pascals())
        && not_negative(supply.heat.in_watts());
    if !(fan_is_sound && air_is_sound && return_side.iter().all(|(duct, bends)| sound(duct) && not_negative(*bends)))
        || sections.is_empty()
    {
        return None;
    }
    let mut fed = vec![Fed::default(); sections.len()];
    for (number, section) in sections.iter().enumerate() {
        let end_is_sound = match section.end {
            SectionEnd::Outlet(coefficient) => not_negative(coefficient),
            _ => true,
        };
        let wall_is_sound = section.wall.is_none_or(|wall| positive(wall.outside.in_metres()));
        if !(sound(&section.duct) && not_negative(section.bends) && end_is_sound && wall_is_sound) {
            return None;
        }
        let Some(before) = section.fed_by else {
            if number > 0 {
                return None;
            }
            continue;
        };
        if before >= number || sections.get(before)?.end != SectionEnd::Feeds {
            return None;
        }
        let place = fed.get_mut(before)?;
        match (section.leaves, place.through, place.branch) {
            (Leaves::Straight, None, _) => place.through = Some(number),
            (_, _, None) => place.branch = Some(number),
            _ => return None,
        }
    }
    Some(fed)
}

/// Flows to begin with: halves at each parting, none towards what is shut.
fn first_guess(sections: &[Section], fed: &[Fed], total: f64) -> Vec<f64> {
    let mut open: Vec<bool> = sections.iter().map(|section| matches!(section.end, SectionEnd::Outlet(_))).collect();
    for (number, section) in sections.iter().enumerate().rev() {
        let blows = open.get(number).copied().unwrap_or(false);
        if let Some(before) = section.fed_by.filter(|_| blows).and_then(|before| open.get_mut(before)) {
            *before = true;
        }
    }
    let blows = |number: Option<usize>| number.and_then(|number| open.get(number)).copied().unwrap_or(false);
    let mut flows = vec![0.0; sections.len()];
    for (number, section) in sections.iter().enumerate() {
        let flow = match section.fed_by {
            None => total,
            Some(before) => {
                let both = fed.get(before).is_some_and(|fed| blows(fed.through) && blows(fed.branch));
                flows.get(before).copied().unwrap_or(0.0) * if both { 0.5 } else { 1.0 }
            }
        };
        if let Some(place) = flows.get_mut(number).filter(|_| blows(Some(number))) {
            *place = flow;
        }
    }
    flows
}

fn parting(trunk: &Section, inside: Inside, sections: &[Section], fed: Fed, behind: &[f64]) -> Parting {
    let resistance =
        |number: Option<usize>| number.and_then(|number| behind.get(number)).copied().unwrap_or(f64::INFINITY);
    let tee = fed.branch.and_then(|branch| sections.get(branch)).and_then(|branch| match branch.leaves {
        Leaves::Branch(angle) => Some((branch.duct.bore / trunk.duct.bore, angle)),
        Leaves::Straight => None,
    });
    Parting {
        through: resistance(fed.through),
        branch: resistance(fed.branch),
        head: inside.head(trunk.duct.bore),
        tee,
    }
}

//! A hot pipe: how gas cools along it, how hot its outside gets, and what pressure it takes. What the gas is made of is in
//! `combustion`, friction and fittings in `duct_flow`.

use super::air;
use super::bore;
use super::combustion::GasHeat;
use super::duct_flow::{self, Duct};
use crate::units::{
    Angle, Density, Length, MassFlow, Pressure, Temperature, ThermalConductivity, ThermalTransmittance, Time,
    VolumeFlow,
};
use std::f64::consts::PI;

/// Stefan-Boltzmann constant in W/(m²·K⁴). Source: SI Brochure, 9th edition (exact, rounded).
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// Prandtl number taken for exhaust gas and air from -40 °C to 600 °C: 0.70 (0.68 to 0.72).
/// Source: Lemmon et al. 2000, reference equation of air.
const PRANDTL: f64 = 0.70;
/// 0.70^(2/3), and (1 + (0.559 / 0.70)^(9/16))^(8/27): the parts of the two correlations that only the Prandtl number makes.
const PRANDTL_TO_TWO_THIRDS: f64 = 0.788_373_5;
const PRANDTL_OUTSIDE: f64 = 1.205_898_8;

/// Nusselt number of laminar flow in a round pipe of even wall temperature, far from its inlet: 3.66.
/// Source: Incropera, Fundamentals of Heat and Mass Transfer, eq. 8.55.
const LAMINAR_NUSSELT: f64 = 3.66;

/// Reynolds numbers between which flow turns from laminar to turbulent. Source: Gnielinski 2013, Int. J. Heat Mass Transfer 63, 134.
const TURNS_FROM: f64 = 2300.0;
const TURNS_TO: f64 = 4000.0;

/// Emissivity of steel exhaust pipe: 0.6, oxidised by heat (bright new steel 0.2 to 0.35 stays hotter outside).
/// Source: Incropera, table A.11 (stainless steel, lightly to highly oxidised 0.33 to 0.76; from memory).
pub const EMISSIVITY_OF_PIPE: f64 = 0.6;

/// Emissivity of lagging, cloth or tape: 0.9. Source: Incropera, table A.11 (from memory).
pub const EMISSIVITY_OF_LAGGING: f64 = 0.9;

/// Conductivity of exhaust lagging, glass or mineral fibre, hot: 0.08 W/(m·K). Common practice, no source.
pub const CONDUCTIVITY_OF_LAGGING: ThermalConductivity = ThermalConductivity::watts_per_metre_kelvin(0.08);

fn turbulent_nusselt(reynolds: f64) -> f64 {
    let factor = (0.79 * reynolds.ln() - 1.64).powi(-2);
    let eighth = factor / 8.0;
    eighth * (reynolds - 1000.0) * PRANDTL / (1.0 + 12.7 * eighth.sqrt() * (PRANDTL_TO_TWO_THIRDS - 1.0))
}

/// Nusselt number of gas in a long smooth round pipe: 3.66 below Re 2300, Gnielinski's above Re 4000, straight between.
///
/// Prandtl number 0.70. Valid to Re 5e6; a short pipe has more near its inlet, corrugated pipe up to some three times as much.
/// Sources: Gnielinski 1976 with Petukhov's friction factor (Incropera, eqs. 8.62 and 8.21); Gnielinski 2013 between.
pub fn nusselt_number(reynolds: f64) -> f64 {
    if reynolds <= TURNS_FROM {
        LAMINAR_NUSSELT
    } else if reynolds >= TURNS_TO {
        turbulent_nusselt(reynolds)
    } else {
        let share = (reynolds - TURNS_FROM) / (TURNS_TO - TURNS_FROM);
        LAMINAR_NUSSELT + share * (turbulent_nusselt(TURNS_TO) - LAMINAR_NUSSELT)
    }
}

/// Reynolds number of a mass flow in a round bore: 4 m / (π D μ), with the viscosity of air. `None` unless bore and flow are positive.
fn reynolds_of(flow: MassFlow, bore: Length, temperature: Temperature) -> Option<f64> {
    (flow > MassFlow::ZERO && bore > Length::ZERO).then(|| {
        let viscosity = air::dynamic_viscosity(temperature).in_pascal_seconds();
        4.0 * flow.in_kilograms_per_second() / (PI * bore.in_metres() * viscosity)
    })
}

/// Heat transfer from gas to the wall of a round pipe: Nu k / D.
///
/// Viscosity and conductivity of air (exhaust: viscosity 5 to 8 % lower). `None` unless flow and bore are positive.
/// Sources: [`nusselt_number`], [`air::thermal_conductivity`].
pub fn inside_film(flow: MassFlow, bore: Length, gas: Temperature) -> Option<ThermalTransmittance> {
    let reynolds = reynolds_of(flow, bore, gas)?;
    let conductivity = air::thermal_conductivity(gas).in_watts_per_metre_kelvin();
    Some(ThermalTransmittance::watts_per_square_metre_kelvin(
        nusselt_number(reynolds) * conductivity / bore.in_metres(),
    ))
}

/// Heat transfer from the outside of a horizontal pipe to still air and surroundings of one temperature, by rising air and radiation.
///
/// Valid for Rayleigh numbers to 1e12 near one atmosphere; wind adds to it. `None` unless the diameter is positive.
/// Sources: Churchill and Chu 1975 (Incropera, eq. 9.34); Stefan-Boltzmann.
pub fn outside_film(
    outside: Length,
    surface: Temperature,
    air: Temperature,
    emissivity: f64,
) -> Option<ThermalTransmittance> {
    if outside.in_metres().is_nan() || outside <= Length::ZERO {
        return None;
    }
    let (hot, cold) = (surface.in_kelvin().max(1.0), air.in_kelvin().max(1.0));
    let film = Temperature::kelvin((hot + cold) / 2.0);
    let density = air::density_at_pressure(air::SEA_LEVEL_PRESSURE, film);
    let viscosity = air::dynamic_viscosity(film).in_pascal_seconds() / density.in_kilograms_per_cubic_metre();
    let diameter = outside.in_metres();
    let rayleigh = super::fuel::STANDARD_GRAVITY * (hot - cold).abs() * diameter.powi(3) * PRANDTL
        / (film.in_kelvin() * viscosity * viscosity);
    let nusselt = (0.60 + 0.387 * rayleigh.powf(1.0 / 6.0) / PRANDTL_OUTSIDE).powi(2);
    let rising = nusselt * air::thermal_conductivity(film).in_watts_per_metre_kelvin() / diameter;
    let radiated = emissivity.clamp(0.0, 1.0) * STEFAN_BOLTZMANN * (hot * hot + cold * cold) * (hot + cold);
    Some(ThermalTransmittance::watts_per_square_metre_kelvin(rising + radiated))
}

/// A piece of pipe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pipe {
    /// Inner diameter.
    pub bore: Length,
    /// Outer diameter of the metal, lagging not included.
    pub outside: Length,
    /// Thickness of its lagging; zero for a bare pipe.
    pub lagging: Length,
    /// Conductivity of that lagging.
    pub conductivity: ThermalConductivity,
    /// Emissivity of what is seen from outside.
    pub emissivity: f64,
}

/// Outside temperature of a pipe, and the heat that a metre of it loses for each kelvin between gas and air, in W/(m·K).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wall {
    /// Temperature of the metal where bare, of the lagging's surface where lagged.
    pub surface: Temperature,
    /// Temperature of the wall's inside, where water falls out first.
    pub inside: Temperature,
    /// Heat lost by metre and kelvin.
    pub by_metre: f64,
}

/// The wall of a pipe that gas of a temperature flows through: films inside and outside, lagging between; the metal takes no part.
///
/// `None` unless flow, bore and outside are positive, the outside is not less than the bore, and the lagging conducts.
/// Source: resistances in series around a cylinder (Incropera, 3.3).
pub fn wall(pipe: Pipe, flow: MassFlow, gas: Temperature, air: Temperature) -> Option<Wall> {
    wall_near(pipe, flow, gas, air, 0.4)
}

/// As [`wall`], from a first guess of the surface: its share of the difference between gas and air.
fn wall_near(pipe: Pipe, flow: MassFlow, gas: Temperature, air: Temperature, share: f64) -> Option<Wall> {
    if !(pipe.outside >= pipe.bore && pipe.lagging >= Length::ZERO) {
        return None;
    }
    let inner = inside_film(flow, pipe.bore, gas)?.in_watts_per_square_metre_kelvin();
    let of_gas = 1.0 / (inner * PI * pipe.bore.in_metres());
    let skin = pipe.outside + pipe.lagging * 2.0;
    let of_lagging = if pipe.lagging > Length::ZERO {
        let conductivity = pipe.conductivity.in_watts_per_metre_kelvin();
        if conductivity.is_nan() || conductivity <= 0.0 {
            return None;
        }
        (skin / pipe.outside).ln() / (2.0 * PI * conductivity)
    } else {
        0.0
    };
    let difference = gas.above(air).in_kelvin_difference();
    // The outer film depends on the surface that it makes: the secant of what the film would make of a guess closes in on it.
    let resistance = |surface: f64| {
        let film = outside_film(skin, Temperature::kelvin(surface), air, pipe.emissivity)?;
        Some(1.0 / (film.in_watts_per_square_metre_kelvin() * PI * skin.in_metres()))
    };
    let makes = |of_air: f64| air.in_kelvin() + difference * of_air / (of_gas + of_lagging + of_air);
    let mut guess = air.in_kelvin() + share * difference;
    let mut of_air = resistance(guess)?;
    let mut error = makes(of_air) - guess;
    let mut next = guess + 0.7 * error;
    for _ in 0..12 {
        if (next - guess).abs() < 0.05 {
            break;
        }
        of_air = resistance(next)?;
        let next_error = makes(of_air) - next;
        // What a warmer guess makes is always colder, so the slope lies below -1; anything else is rounding.
        let slope = ((next_error - error) / (next - guess)).min(-1.0);
        (guess, error) = (next, next_error);
        next = guess - error / slope;
    }
    let by_metre = 1.0 / (of_gas + of_lagging + of_air);
    let inside = gas.in_kelvin() - difference * by_metre * of_gas;
    // From the resistances once more, so that a bare pipe has one temperature inside and out.
    let surface = if of_lagging > 0.0 { air.in_kelvin() + difference * by_metre * of_air } else { inside };
    Some(Wall { surface: Temperature::kelvin(surface), inside: Temperature::kelvin(inside), by_metre })
}

/// A length of pipe: its walls where it begins and ends, and the gas that leaves it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cooled {
    /// The wall where it begins.
    pub start: Wall,
    /// The wall where it ends.
    pub end: Wall,
    /// The gas where it ends.
    pub gas: Temperature,
}

/// Gas cooled along a length of pipe: T_a + (T_0 - T_a) exp(-U′ L / (m c_p)). `before` is the end of the length before it, where
/// the pipe is the same.
///
/// In two halves, each with U′ and c_p at its own middle. Water that falls out gives heat that is not counted: below the dew point
/// the gas is warmer than this. `None` as for [`wall`]. Source: energy balance of a flow in a pipe (Incropera, eq. 8.45b).
pub fn along_length(
    pipe: Pipe,
    length: Length,
    heat: &GasHeat,
    flow: MassFlow,
    gas: Temperature,
    air: Temperature,
    before: Option<Wall>,
) -> Option<Cooled> {
    let start = match before {
        Some(wall) => wall,
        None => wall(pipe, flow, gas, air)?,
    };
    let after = cooled(pipe, length, heat, flow, (gas, start), air)?;
    let end = wall_near(pipe, flow, after, air, share_of(start, gas, air))?;
    Some(Cooled { start, end, gas: after })
}

/// The share of the difference between gas and air that a surface keeps: nearly the same all along a pipe.
fn share_of(wall: Wall, gas: Temperature, air: Temperature) -> f64 {
    let difference = gas.above(air).in_kelvin_difference();
    let share = wall.surface.above(air).in_kelvin_difference() / difference;
    if share.is_finite() { share } else { 0.4 }
}

fn cooled(
    pipe: Pipe,
    length: Length,
    heat: &GasHeat,
    flow: MassFlow,
    (gas, start): (Temperature, Wall),
    air: Temperature,
) -> Option<Temperature> {
    let capacity = |at: Temperature| flow.in_kilograms_per_second() * heat.at(at);
    let cooled = |from: Temperature, by_metre: f64, capacity: f64, metres: f64| {
        air + from.above(air) * (-by_metre * metres / capacity).exp()
    };
    let half = length.in_metres().max(0.0) / 2.0;
    let (mut here, mut first) = (gas, start);
    let mut share = share_of(start, gas, air);
    for part in 0..2 {
        if part > 0 {
            first = wall_near(pipe, flow, here, air, share)?;
        }
        let middle = cooled(here, first.by_metre, capacity(here), half / 2.0);
        let mean = wall_near(pipe, flow, middle, air, share)?;
        share = share_of(mean, middle, air);
        here = cooled(here, mean.by_metre, capacity(middle), half);
    }
    Some(here)
}

/// Pressure lost by a mass flow along a piece of pipe with its fittings: (f L / D + ΣK) ρ w² / 2 at its own density.
///
/// Viscosity of air (exhaust 5 to 8 % lower, under 2 % of the loss). Density must be that of the middle of the piece.
/// `None` as for [`duct_flow::pressure_loss`]. Source: Darcy-Weisbach.
pub fn pressure_loss(duct: Duct, flow: MassFlow, density: Density, temperature: Temperature) -> Option<Pressure> {
    if density.in_kilograms_per_cubic_metre().is_nan() || density.in_kilograms_per_cubic_metre() <= 0.0 {
        return None;
    }
    let volume =
        VolumeFlow::cubic_metres_per_second(flow.in_kilograms_per_second() / density.in_kilograms_per_cubic_metre());
    duct_flow::pressure_loss(duct, volume, density, air::dynamic_viscosity(temperature))
}

/// Loss coefficient of all bends of a piece, turned by one angle at one radius, on its own velocity.
///
/// The friction factor is that of the piece. `None` unless flow, bore and ratio are positive.
/// Source: [`duct_flow::bend_loss_coefficient`].
pub fn bends_loss_coefficient(
    duct: Duct,
    flow: MassFlow,
    temperature: Temperature,
    angles: impl Iterator<Item = Angle>,
    radius_over_bore: f64,
) -> Option<f64> {
    let reynolds = reynolds_of(flow, duct.bore, temperature)?;
    let factor = duct_flow::friction_factor(reynolds, duct.roughness / duct.bore)?;
    let mut sum = 0.0;
    for angle in angles {
        sum += duct_flow::bend_loss_coefficient(angle, radius_over_bore, factor)?;
    }
    Some(sum)
}

/// Time until water that falls out fills a piece of pipe from its lowest place: V ρ / m. `None` unless water falls out.
///
/// Source: balance of mass, water of 1000 kg/m³.
pub fn time_to_fill(bore: Length, length: Length, water: MassFlow) -> Option<Time> {
    (water > MassFlow::ZERO).then(|| {
        let kilograms = bore::volume(bore, length).in_cubic_metres() * 1000.0;
        Time::seconds(kilograms / water.in_kilograms_per_second())
    })
}

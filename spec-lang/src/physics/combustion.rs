//! Burning: the air that a fuel needs, what leaves with the exhaust, how hot and how wet it is, and what altitude takes
//! from it. The pipe that leads it away is in `exhaust_flow`.

use super::air;
use super::fuel::Fuel;
use crate::units::{Density, MassFlow, Power, Pressure, Temperature};

/// Molar masses in g/mol. Source: IUPAC 2021, abridged.
const CARBON: f64 = 12.011;
const HYDROGEN: f64 = 1.008;
const OXYGEN: f64 = 15.999;
const NITROGEN: f64 = 14.007;
const ARGON: f64 = 39.95;

/// Shares of dry air by volume; the rest is nitrogen. Source: US Standard Atmosphere 1976, table 3.
const AIR_OXYGEN: f64 = 0.209_476;
const AIR_ARGON: f64 = 0.009_34;
const AIR_CARBON_DIOXIDE: f64 = 0.000_314;
const AIR_NITROGEN: f64 = 1.0 - AIR_OXYGEN - AIR_ARGON - AIR_CARBON_DIOXIDE;

/// Molar gas constant in J/(mol·K). Source: SI Brochure, 9th edition (exact, rounded).
const GAS_CONSTANT: f64 = 8.314_462_618;

/// Temperature of the air that a stated excess air is taken to be measured in, at sea level: 20 °C. Common practice, no source.
pub const REFERENCE_AIR: Temperature = Temperature::celsius(20.0);

/// Hydrogen atoms to one carbon atom: diesel 1.86, petrol 1.87.
///
/// Sources, both from memory: diesel, the reference fuel of UN R83 (C H1.86, its 0.5 % of oxygen left out); petrol, Heywood,
/// Internal Combustion Engine Fundamentals, table D.4.
pub fn hydrogen_per_carbon(fuel: Fuel) -> f64 {
    match fuel {
        Fuel::Diesel(_) => 1.86,
        Fuel::Petrol => 1.87,
    }
}

/// Molar mass of CHx by carbon atom, in g/mol.
fn fuel_molar_mass(fuel: Fuel) -> f64 {
    CARBON + hydrogen_per_carbon(fuel) * HYDROGEN
}

/// Molecules of oxygen that one CHx needs.
fn oxygen_needed(fuel: Fuel) -> f64 {
    1.0 + hydrogen_per_carbon(fuel) / 4.0
}

/// Molar mass of dry air in g/mol.
fn air_molar_mass() -> f64 {
    2.0 * AIR_NITROGEN * NITROGEN
        + 2.0 * AIR_OXYGEN * OXYGEN
        + AIR_ARGON * ARGON
        + AIR_CARBON_DIOXIDE * (CARBON + 2.0 * OXYGEN)
}

/// Dry air that one kilogram of fuel needs to burn up, in kg: about 14.6.
///
/// CHx + (1 + x/4) O2 → CO2 + x/2 H2O. Source: stoichiometry; air of US Standard Atmosphere 1976, table 3, argon included.
pub fn stoichiometric_air(fuel: Fuel) -> f64 {
    oxygen_needed(fuel) / AIR_OXYGEN * air_molar_mass() / fuel_molar_mass(fuel)
}

/// Water that one kilogram of fuel makes, in kg: about 1.2. Moisture of the air comes on top. Source: stoichiometry.
pub fn water_made(fuel: Fuel) -> f64 {
    hydrogen_per_carbon(fuel) / 2.0 * (2.0 * HYDROGEN + OXYGEN) / fuel_molar_mass(fuel)
}

/// Air that goes with a fuel flow at an excess (0.4 is 40 % more than the fuel needs).
///
/// `None` where the excess is -1 or less. Source: stoichiometry.
pub fn combustion_air(fuel: Fuel, fuel_flow: MassFlow, excess_air: f64) -> Option<MassFlow> {
    (excess_air > -1.0).then(|| fuel_flow * (stoichiometric_air(fuel) * (1.0 + excess_air)))
}

/// Exhaust of a fuel flow at an excess: the air and the fuel. `None` where the excess is -1 or less. Source: balance of mass.
pub fn exhaust(fuel: Fuel, fuel_flow: MassFlow, excess_air: f64) -> Option<MassFlow> {
    combustion_air(fuel, fuel_flow, excess_air).map(|air| air + fuel_flow)
}

/// What leaves a burner that burns its fuel up: shares by volume of the wet gas.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Products {
    /// Carbon dioxide.
    pub carbon_dioxide: f64,
    /// Water vapour.
    pub water: f64,
    /// Oxygen left over.
    pub oxygen: f64,
    /// Nitrogen.
    pub nitrogen: f64,
    /// Argon.
    pub argon: f64,
}

/// Products of complete combustion in dry air at an excess of zero or more.
///
/// `None` below zero: there carbon monoxide, hydrogen and soot are left, and no balance of mass says how much of each.
/// Source: stoichiometry of CHx.
pub fn products(fuel: Fuel, excess_air: f64) -> Option<Products> {
    if !(excess_air >= 0.0 && excess_air.is_finite()) {
        return None;
    }
    let needed = oxygen_needed(fuel);
    let air = needed * (1.0 + excess_air) / AIR_OXYGEN;
    let carbon_dioxide = 1.0 + air * AIR_CARBON_DIOXIDE;
    let water = hydrogen_per_carbon(fuel) / 2.0;
    let oxygen = needed * excess_air;
    let (nitrogen, argon) = (air * AIR_NITROGEN, air * AIR_ARGON);
    let all = carbon_dioxide + water + oxygen + nitrogen + argon;
    Some(Products {
        carbon_dioxide: carbon_dioxide / all,
        water: water / all,
        oxygen: oxygen / all,
        nitrogen: nitrogen / all,
        argon: argon / all,
    })
}

/// Coefficients of c_p / R in powers of the temperature in K, from 200 K (nitrogen 300 K) to 1000 K.
///
/// Source: NASA polynomials as GRI-Mech 3.0 prints them (from memory; checked against reference equations of the gases).
const NITROGEN_HEAT: [f64; 5] = [3.298_677, 1.408_240_4e-3, -3.963_222e-6, 5.641_515e-9, -2.444_854e-12];
const OXYGEN_HEAT: [f64; 5] = [3.782_456_36, -2.996_734_16e-3, 9.847_302_01e-6, -9.681_295_09e-9, 3.243_728_37e-12];
const CARBON_DIOXIDE_HEAT: [f64; 5] =
    [2.356_773_52, 8.984_596_77e-3, -7.123_562_69e-6, 2.459_190_22e-9, -1.436_995_48e-13];
const WATER_HEAT: [f64; 5] = [4.198_640_56, -2.036_434_1e-3, 6.520_402_11e-6, -5.487_970_62e-9, 1.771_978_17e-12];
const ARGON_HEAT: [f64; 5] = [2.5, 0.0, 0.0, 0.0, 0.0];

/// Temperatures that the polynomials hold for, in K.
const HEAT_FROM: f64 = 200.0;
const HEAT_TO: f64 = 1000.0;

fn polynomial([zeroth, first, second, third, fourth]: [f64; 5], x: f64) -> f64 {
    zeroth + x * (first + x * (second + x * (third + x * fourth)))
}

impl Products {
    /// Molar mass in g/mol. Source: mixture of ideal gases.
    pub fn molar_mass(&self) -> f64 {
        self.carbon_dioxide * (CARBON + 2.0 * OXYGEN)
            + self.water * (2.0 * HYDROGEN + OXYGEN)
            + 2.0 * self.oxygen * OXYGEN
            + 2.0 * self.nitrogen * NITROGEN
            + self.argon * ARGON
    }

    /// A share of the wet gas as a share of the dry gas, as analysers read it. Source: definition.
    pub fn dry(&self, share: f64) -> f64 {
        share / (1.0 - self.water)
    }

    /// Density at a pressure and a temperature: p M / (R T). Temperature is held above 1 K. Source: ideal gas law.
    pub fn density(&self, pressure: Pressure, temperature: Temperature) -> Density {
        let molar = pressure.in_pascals() / (GAS_CONSTANT * temperature.in_kelvin().max(1.0));
        Density::kilograms_per_cubic_metre(molar * self.molar_mass() * 1e-3)
    }

    /// Its specific heat, mixed once for many temperatures.
    ///
    /// Source: NASA polynomials (see the constants); mixture of ideal gases.
    pub fn gas_heat(&self) -> GasHeat {
        let by_mass = GAS_CONSTANT / (self.molar_mass() * 1e-3);
        let parts = [
            (self.carbon_dioxide, CARBON_DIOXIDE_HEAT),
            (self.water, WATER_HEAT),
            (self.oxygen, OXYGEN_HEAT),
            (self.nitrogen, NITROGEN_HEAT),
            (self.argon, ARGON_HEAT),
        ];
        let mut sum = [0.0; 5];
        for (share, coefficients) in parts {
            for (total, coefficient) in sum.iter_mut().zip(coefficients) {
                *total += by_mass * share * coefficient;
            }
        }
        GasHeat(sum)
    }

    /// Temperature at which water begins to fall out at a pressure. Sulphuric acid falls out far above it.
    ///
    /// `None` where the pressure is not positive. Source: Dalton's law and [`dew_point`].
    pub fn dew_point(&self, pressure: Pressure) -> Option<Temperature> {
        dew_point(pressure * self.water)
    }

    /// The part of its water, 0 to 1, that has fallen out once the gas has come down to a temperature.
    ///
    /// Zero above the dew point. `None` where the pressure is not positive. Source: Dalton's law: the dry gas leaves
    /// saturated, n_w = n_dry p_s / (p - p_s).
    pub fn condensed_share(&self, pressure: Pressure, temperature: Temperature) -> Option<f64> {
        if pressure.in_pascals().is_nan() || pressure <= Pressure::ZERO {
            return None;
        }
        let saturated = saturation_pressure(temperature);
        if saturated >= pressure {
            return Some(0.0);
        }
        let held = (1.0 - self.water) * (saturated / (pressure - saturated));
        Some((1.0 - held / self.water).clamp(0.0, 1.0))
    }
}

/// The specific heat of a gas by its temperature: coefficients of c_p in J/(kg·K).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GasHeat([f64; 5]);

impl GasHeat {
    /// Specific heat at constant pressure in J/(kg·K).
    ///
    /// Valid from 200 K to 1000 K to 0.5 % (held at those ends outside); water stays vapour.
    /// Source: NASA polynomials (see the constants).
    pub fn at(&self, temperature: Temperature) -> f64 {
        polynomial(self.0, temperature.in_kelvin().clamp(HEAT_FROM, HEAT_TO))
    }

    /// Heat that one kilogram takes up from one temperature to another, in J/kg; negative downwards.
    ///
    /// Validity and source as for [`GasHeat::at`], integrated.
    pub fn between(&self, from: Temperature, to: Temperature) -> f64 {
        self.enthalpy(to.in_kelvin()) - self.enthalpy(from.in_kelvin())
    }

    /// Integral of c_p from 0 K in J/kg, with c_p held constant outside the polynomials' range.
    fn enthalpy(&self, kelvin: f64) -> f64 {
        let [zeroth, first, second, third, fourth] = self.0;
        let held = kelvin.clamp(HEAT_FROM, HEAT_TO);
        let integral = [zeroth, first / 2.0, second / 3.0, third / 4.0, fourth / 5.0];
        held * polynomial(integral, held) + polynomial(self.0, held) * (kelvin - held)
    }
}

/// Pressure of saturated water vapour over liquid water: 611.2 Pa exp(17.62 t / (243.12 + t)), t in °C.
///
/// Valid from -45 °C to 60 °C to 0.6 % (held from -100 °C to 100 °C outside).
/// Source: Sonntag 1990, as in WMO-No. 8, annex 4.B (from memory).
pub fn saturation_pressure(temperature: Temperature) -> Pressure {
    let celsius = temperature.in_celsius().clamp(-100.0, 100.0);
    Pressure::pascals(611.2 * (17.62 * celsius / (243.12 + celsius)).exp())
}

/// Temperature at which vapour of this pressure is saturated; `None` unless the pressure is positive.
///
/// Source: inverse of [`saturation_pressure`], with its validity.
pub fn dew_point(vapour: Pressure) -> Option<Temperature> {
    (vapour > Pressure::ZERO).then(|| {
        let logarithm = (vapour.in_pascals() / 611.2).ln().clamp(-12.3, 5.1);
        Temperature::celsius(243.12 * logarithm / (17.62 - logarithm))
    })
}

/// Temperature of the gas at the heater's exhaust port: h(T) = h(T_air) + (P_fuel - P_heat) / m.
///
/// An upper bound: what the casing loses does not go into the gas. Fuel and air come in at one temperature; the heating value's
/// own 25 °C makes less than 5 K of difference between -40 °C and 40 °C. Held to 2500 K; at high temperatures it errs upwards, since c_p is held
/// above 1000 K. `None` unless the flow is positive and the heat is not more than the fuel's.
/// Source: energy balance on the lower heating value.
pub fn port_temperature(
    gas: &GasHeat,
    exhaust: MassFlow,
    fuel_power: Power,
    heat: Power,
    air: Temperature,
) -> Option<Temperature> {
    let left = (fuel_power - heat).in_watts();
    if !(exhaust > MassFlow::ZERO && left >= 0.0) {
        return None;
    }
    let wanted = left / exhaust.in_kilograms_per_second() + gas.enthalpy(air.in_kelvin());
    // Newton: c_p changes slowly and never falls below that of cold gas, so a few steps close in.
    let mut kelvin = air.in_kelvin() + left / exhaust.in_kilograms_per_second() / 1100.0;
    for _ in 0..12 {
        let here = Temperature::kelvin(kelvin.clamp(1.0, 2500.0));
        let step = (gas.enthalpy(here.in_kelvin()) - wanted) / gas.at(here);
        kelvin = here.in_kelvin() - step;
        if step.abs() < 1e-3 {
            break;
        }
    }
    Some(Temperature::kelvin(kelvin.clamp(1.0, 2500.0)))
}

/// Excess air left where air is thinner and fuel denser than where the excess was stated: (1 + e) σ / φ - 1.
///
/// For a burner whose fan moves a volume and whose pump doses a volume, without correction. Both ratios are to the place and day of
/// the statement. `None` unless the ratios are positive. Source: balance of mass.
pub fn excess_air_left(excess_air: f64, air_ratio: f64, fuel_ratio: f64) -> Option<f64> {
    (air_ratio > 0.0 && fuel_ratio > 0.0).then(|| (1.0 + excess_air) * air_ratio / fuel_ratio - 1.0)
}

/// Density of air at a place, to that of [`REFERENCE_AIR`] at sea level: 0.80 on a standard day at 2400 m.
pub fn air_ratio(density: Density) -> f64 {
    density / air::density_at_pressure(air::SEA_LEVEL_PRESSURE, REFERENCE_AIR)
}

/// Density at which an excess of air is used up, with the fuel denser by a ratio: φ ρ / (1 + e).
///
/// `None` unless the ratio is positive and the excess above -1. Source: [`excess_air_left`] set to zero.
pub fn density_without_excess(excess_air: f64, fuel_ratio: f64) -> Option<Density> {
    let reference = air::density_at_pressure(air::SEA_LEVEL_PRESSURE, REFERENCE_AIR);
    (excess_air > -1.0 && fuel_ratio > 0.0).then(|| reference * (fuel_ratio / (1.0 + excess_air)))
}

//! Coolant: what a flow of it carries, how much it warms, how much of it a heater needs. No hose and no pump in here.
//!
//! The mixture is half water and half ethylene glycol by volume, which is what cooling systems in cold countries hold.

use crate::units::{Density, Power, Temperature, TemperatureDifference, VolumeFlow};

/// Density at 0 °C in kg/m³, and what it loses by kelvin.
const DENSITY: (f64, f64) = (1082.0, 0.53);
/// Specific heat at 0 °C in J/(kg·K), and what it gains by kelvin.
const SPECIFIC_HEAT: (f64, f64) = (3204.0, 3.86);
/// The temperatures in °C that the two straight lines stand for.
const VALID: std::ops::RangeInclusive<f64> = 0.0..=110.0;

fn in_celsius(temperature: Temperature) -> Option<f64> {
    let celsius = temperature.in_kelvin() - 273.15;
    VALID.contains(&celsius).then_some(celsius)
}

/// Density of half-and-half coolant: a straight line in temperature, within 2 %. `None` outside 0 °C to 110 °C.
///
/// Source: ASHRAE Handbook Fundamentals, physical properties of secondary coolants, 50 % ethylene glycol by volume (from
/// memory).
pub fn density(temperature: Temperature) -> Option<Density> {
    in_celsius(temperature).map(|celsius| Density::kilograms_per_cubic_metre(DENSITY.0 - DENSITY.1 * celsius))
}

/// Specific heat of half-and-half coolant in J/(kg·K): a straight line in temperature, within 2 %. `None` outside 0 °C
/// to 110 °C.
///
/// Source: ASHRAE Handbook Fundamentals, physical properties of secondary coolants, 50 % ethylene glycol by volume (from
/// memory).
pub fn specific_heat(temperature: Temperature) -> Option<f64> {
    in_celsius(temperature).map(|celsius| SPECIFIC_HEAT.0 + SPECIFIC_HEAT.1 * celsius)
}

/// Heat in J/(m³·K) that a volume of coolant takes by kelvin. `None` outside 0 °C to 110 °C. Source: definition.
pub fn heat_by_volume(temperature: Temperature) -> Option<f64> {
    Some(density(temperature)?.in_kilograms_per_cubic_metre() * specific_heat(temperature)?)
}

/// The flow of coolant at a mean temperature that carries a heat at a rise: P / (ρ c ΔT).
///
/// `None` outside 0 °C to 110 °C, and unless the rise is positive. Source: steady energy balance.
pub fn flow_for(heat: Power, rise: TemperatureDifference, mean: Temperature) -> Option<VolumeFlow> {
    let kelvin = rise.in_kelvin_difference();
    let by_volume = heat_by_volume(mean).filter(|_| kelvin > 0.0)?;
    Some(VolumeFlow::cubic_metres_per_second(heat.in_watts() / (by_volume * kelvin)))
}

/// How much a heat warms a flow of coolant at a mean temperature: P / (ρ c V̇).
///
/// `None` outside 0 °C to 110 °C, and unless the flow is positive. Source: steady energy balance.
pub fn temperature_rise(heat: Power, flow: VolumeFlow, mean: Temperature) -> Option<TemperatureDifference> {
    let by_second = flow.in_cubic_metres_per_second();
    let by_volume = heat_by_volume(mean).filter(|_| by_second > 0.0)?;
    Some(TemperatureDifference::kelvin_difference(heat.in_watts() / (by_volume * by_second)))
}

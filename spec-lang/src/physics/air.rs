//! Air: the standard atmosphere, density where the vehicle stands, viscosity. Dry air; flow is in `duct_flow`.

use crate::units::{
    Density, DynamicViscosity, Length, Power, Pressure, Temperature, TemperatureDifference, ThermalConductivity,
    VolumeFlow,
};

/// Pressure of the standard atmosphere at sea level. Source: US Standard Atmosphere 1976, table 2.
pub const SEA_LEVEL_PRESSURE: Pressure = Pressure::pascals(101_325.0);

/// Temperature of the standard atmosphere at sea level. Source: US Standard Atmosphere 1976, table 2.
pub const SEA_LEVEL_TEMPERATURE: Temperature = Temperature::kelvin(288.15);

/// Gas constant of dry air in J/(kg·K): 8.31432 / 0.0289644. Source: US Standard Atmosphere 1976, table 2.
pub const GAS_CONSTANT_OF_AIR: f64 = 8.31432 / 0.028_964_4;

/// Specific heat of dry air at constant pressure in J/(kg·K), from -40 °C to 120 °C to within 0.5 %.
///
/// Source: Lemmon et al. 2000, reference equation of air (1005.5 to 1011 over the range).
pub const SPECIFIC_HEAT_OF_AIR: f64 = 1006.0;

/// Effective radius of the Earth in m, lapse rate in K/m, gravity in m/s². Source: US Standard Atmosphere 1976, table 2.
const EARTH_RADIUS: f64 = 6_356_766.0;
const LAPSE_RATE: f64 = 0.0065;
const GRAVITY: f64 = 9.80665;

/// Geopotential altitude in m, held to the atmosphere's lowest layer.
fn geopotential(altitude: Length) -> f64 {
    let metres = altitude.in_metres().clamp(-5000.0, 11_000.0);
    EARTH_RADIUS * metres / (EARTH_RADIUS + metres)
}

/// Temperature of the standard atmosphere by geometric altitude.
///
/// Valid from -5 km to 11 km (held at those ends outside). Source: US Standard Atmosphere 1976, eq. 23.
pub fn standard_temperature(altitude: Length) -> Temperature {
    Temperature::kelvin(SEA_LEVEL_TEMPERATURE.in_kelvin() - LAPSE_RATE * geopotential(altitude))
}

/// Pressure of the standard atmosphere by geometric altitude.
///
/// Valid from -5 km to 11 km (held at those ends outside). Source: US Standard Atmosphere 1976, eq. 33a.
pub fn standard_pressure(altitude: Length) -> Pressure {
    let ratio = standard_temperature(altitude) / SEA_LEVEL_TEMPERATURE;
    SEA_LEVEL_PRESSURE * ratio.powf(GRAVITY / (GAS_CONSTANT_OF_AIR * LAPSE_RATE))
}

/// Density of the standard atmosphere by geometric altitude: a standard day, not the day at hand.
///
/// Valid from -5 km to 11 km (held at those ends outside). Source: US Standard Atmosphere 1976, eq. 42.
pub fn standard_density(altitude: Length) -> Density {
    density_at_pressure(standard_pressure(altitude), standard_temperature(altitude))
}

/// Density of dry air at a pressure and a temperature: p M / (R T).
///
/// Temperature is held above 1 K so that the answer is finite. Valid from -60 °C to 400 °C near one atmosphere, where
/// real air differs by less than 0.15 %. Source: ideal gas law; constants of US Standard Atmosphere 1976.
pub fn density_at_pressure(pressure: Pressure, temperature: Temperature) -> Density {
    Density::kilograms_per_cubic_metre(pressure.in_pascals() / (GAS_CONSTANT_OF_AIR * temperature.in_kelvin().max(1.0)))
}

/// Density of dry air at an altitude on a day of this temperature: the standard pressure there, the actual temperature.
///
/// The case that matters to a burner: 2400 m is 0.80 of sea level at 20 °C on a standard day and 0.86 at -20 °C.
/// Valid from -5 km to 11 km. Sources: US Standard Atmosphere 1976, ideal gas law.
pub fn density_at(altitude: Length, temperature: Temperature) -> Density {
    density_at_pressure(standard_pressure(altitude), temperature)
}

/// Geometric altitude of a temperature of the standard atmosphere in K; the inverse of [`standard_temperature`].
fn altitude_of(kelvin: f64) -> Option<Length> {
    let geopotential = (SEA_LEVEL_TEMPERATURE.in_kelvin() - kelvin) / LAPSE_RATE;
    (-5000.0..=11_000.0).contains(&geopotential).then(|| {
        let metres = EARTH_RADIUS * geopotential / (EARTH_RADIUS - geopotential);
        Length::metres(metres)
    })
}

/// Altitude at which the standard pressure is this; `None` outside -5 km to 11 km.
///
/// Source: US Standard Atmosphere 1976, eq. 33a solved for the altitude.
pub fn altitude_of_pressure(pressure: Pressure) -> Option<Length> {
    let exponent = GRAVITY / (GAS_CONSTANT_OF_AIR * LAPSE_RATE);
    let ratio = pressure / SEA_LEVEL_PRESSURE;
    (ratio > 0.0).then(|| SEA_LEVEL_TEMPERATURE.in_kelvin() * ratio.powf(1.0 / exponent)).and_then(altitude_of)
}

/// Altitude at which the density of a standard day is this; `None` outside -5 km to 11 km.
///
/// Source: US Standard Atmosphere 1976, eq. 42 solved for the altitude.
pub fn altitude_of_standard_density(density: Density) -> Option<Length> {
    let exponent = GRAVITY / (GAS_CONSTANT_OF_AIR * LAPSE_RATE) - 1.0;
    let ratio = density / density_at_pressure(SEA_LEVEL_PRESSURE, SEA_LEVEL_TEMPERATURE);
    (ratio > 0.0).then(|| SEA_LEVEL_TEMPERATURE.in_kelvin() * ratio.powf(1.0 / exponent)).and_then(altitude_of)
}

/// Thermal conductivity of air: 2.64638e-3 T^1.5 / (T + 245.4 · 10^(-12/T)).
///
/// Temperature is held above 30 K. Valid from -100 °C to 600 °C to 2.5 %.
/// Source: US Standard Atmosphere 1976, eq. 53.
pub fn thermal_conductivity(temperature: Temperature) -> ThermalConductivity {
    let kelvin = temperature.in_kelvin().max(30.0);
    ThermalConductivity::watts_per_metre_kelvin(
        2.64638e-3 * kelvin * kelvin.sqrt() / (kelvin + 245.4 * (-12.0 * std::f64::consts::LN_10 / kelvin).exp()),
    )
}

/// Dynamic viscosity of air: 1.458e-6 T^1.5 / (T + 110.4 K).
///
/// Temperature is held above 1 K. Valid from -100 °C to 120 °C to 1 %, to 400 °C to 2.5 %.
/// Source: Sutherland's law, US Standard Atmosphere 1976, eq. 51.
pub fn dynamic_viscosity(temperature: Temperature) -> DynamicViscosity {
    let kelvin = temperature.in_kelvin().max(1.0);
    DynamicViscosity::pascal_seconds(1.458e-6 * kelvin * kelvin.sqrt() / (kelvin + 110.4))
}

/// Heat that warms an air flow of this density by a difference: ρ V̇ c_p ΔT.
///
/// Flow and density must be of the same place (both at the inlet, say). Source: energy balance, c_p of [`SPECIFIC_HEAT_OF_AIR`].
pub fn heat_to_warm(flow: VolumeFlow, density: Density, difference: TemperatureDifference) -> Power {
    Power::watts(
        flow.in_cubic_metres_per_second()
            * density.in_kilograms_per_cubic_metre()
            * SPECIFIC_HEAT_OF_AIR
            * difference.in_kelvin_difference(),
    )
}

/// How much warmer an air flow of this density leaves a heater than it enters: Q / (ρ V̇ c_p).
///
/// Flow and density must be of the same place. `None` unless both are positive. Source: energy balance.
pub fn temperature_rise(heat: Power, flow: VolumeFlow, density: Density) -> Option<TemperatureDifference> {
    (flow > VolumeFlow::ZERO && density > Density::ZERO).then(|| {
        let one_kelvin = TemperatureDifference::kelvin_difference(1.0);
        TemperatureDifference::kelvin_difference(heat / heat_to_warm(flow, density, one_kelvin))
    })
}

//! Heat through walls and by air change, warm-up, and what a sensor reads. No control loop and no night in here.

use super::air;
use super::materials::{INSULATION, Material};
use crate::units::{
    Area, Density, HeatCapacity, HeatLossCoefficient, Length, Power, Temperature, TemperatureDifference,
    ThermalConductivity, ThermalResistance, ThermalTransmittance, Time, Volume, VolumeFlow,
};

/// Which way heat crosses a surface, which sets the resistance of the air layer inside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeatDirection {
    /// Upwards, through a roof.
    Upwards,
    /// Sideways, through a wall.
    Horizontal,
    /// Downwards, through a floor.
    Downwards,
}

/// Resistance of the air layer at an inner surface: 0.10 upwards, 0.13 sideways, 0.17 m²·K/W downwards.
///
/// Source: ISO 6946:2017 table 7 (secondary copies).
pub fn inner_surface_resistance(direction: HeatDirection) -> ThermalResistance {
    ThermalResistance::square_metre_kelvin_per_watt(match direction {
        HeatDirection::Upwards => 0.10,
        HeatDirection::Horizontal => 0.13,
        HeatDirection::Downwards => 0.17,
    })
}

/// Resistance of the air layer at an outer surface, for a wind of about 4 m/s: 0.04 m²·K/W.
///
/// A moving vehicle has less. Source: ISO 6946:2017 table 7 (secondary copies).
pub const OUTER_SURFACE_RESISTANCE: ThermalResistance = ThermalResistance::square_metre_kelvin_per_watt(0.04);

/// Resistance of a layer: d / λ. `None` unless the conductivity is positive. Source: ISO 6946:2017 eq. 3.
pub fn layer_resistance(thickness: Length, conductivity: ThermalConductivity) -> Option<ThermalResistance> {
    (conductivity > ThermalConductivity::ZERO).then(|| {
        ThermalResistance::square_metre_kelvin_per_watt(
            thickness.in_metres() / conductivity.in_watts_per_metre_kelvin(),
        )
    })
}

/// U-value of a wall of layers: 1 / (R_si + Σ d/λ + R_se).
///
/// `None` where a conductivity is not positive or the sum of resistances is not. Source: ISO 6946:2017 eq. 4.
pub fn transmittance(
    layers: &[(Length, ThermalConductivity)],
    inner_surface: ThermalResistance,
    outer_surface: ThermalResistance,
) -> Option<ThermalTransmittance> {
    let mut total = inner_surface + outer_surface;
    for &(thickness, conductivity) in layers {
        total = total + layer_resistance(thickness, conductivity)?;
    }
    (total > ThermalResistance::ZERO)
        .then(|| ThermalTransmittance::watts_per_square_metre_kelvin(1.0 / total.in_square_metre_kelvin_per_watt()))
}

/// U-value of a surface that is a rib for some share of its area (0 to 1, held) and a panel for the rest, side by side.
///
/// Source: ISO 6946:2017 6.7.2.3, upper limit of resistance (parallel paths, no sideways flow; the true loss is a little higher).
pub fn bridged_transmittance(
    panel: ThermalTransmittance,
    rib: ThermalTransmittance,
    rib_share: f64,
) -> ThermalTransmittance {
    let share = rib_share.clamp(0.0, 1.0);
    panel * (1.0 - share) + rib * share
}

/// Heat loss by kelvin of a room: the sum of U A over its surfaces. Source: EN 12831-1 (from memory).
pub fn transmission_loss(surfaces: &[(ThermalTransmittance, Area)]) -> HeatLossCoefficient {
    surfaces.iter().map(|&(transmittance, area)| transmittance * area).sum()
}

/// Air flow of a room that changes its air so many times an hour. Source: definition.
pub fn air_change_flow(room: Volume, changes_per_hour: f64) -> VolumeFlow {
    VolumeFlow::cubic_metres_per_second(room.in_cubic_metres() * changes_per_hour / 3600.0)
}

/// Heat loss by kelvin of an air flow: ρ c_p V̇.
///
/// The density is that of the side the flow is counted at: the usual 0.34 Wh/(m³·K) is air at about 20 °C and sea level;
/// counted as outdoor air at -35 °C the same flow carries a fifth more. Source: EN 12831-1 with real density.
pub fn infiltration_loss(flow: VolumeFlow, density: Density) -> HeatLossCoefficient {
    let one_kelvin = TemperatureDifference::kelvin_difference(1.0);
    HeatLossCoefficient::watts_per_kelvin(air::heat_to_warm(flow, density, one_kelvin).in_watts())
}

/// Heat that holds a room at a temperature: H (T_in - T_out), zero where it is warmer outside. Source: EN 12831-1.
pub fn heat_demand(loss: HeatLossCoefficient, inside: Temperature, outside: Temperature) -> Power {
    (loss * inside.above(outside)).max(Power::ZERO)
}

/// Temperature of air mixed by mass from one share (0 to 1, held) of one stream and the rest of another.
///
/// Source: enthalpy balance at constant specific heat.
pub fn mixed_temperature(one: Temperature, other: Temperature, share_of_other: f64) -> Temperature {
    let share = share_of_other.clamp(0.0, 1.0);
    one * (1.0 - share) + other * share
}

/// How much warmer than its set-point a room settles when the sensor, in the return air, draws a share from elsewhere.
///
/// The controller holds what it senses at the set-point: set = (1 - f) T_room + f T_other, hence
/// T_room - set = f / (1 - f) · (set - T_other). Drawing a cold place gives a positive bias, a hot room; drawing the heater's own outlet (a short
/// circuit, T_other above set) a negative one, a cold room. It holds while the heater has output to spare and air is
/// mixed; a remote sensor has no such bias. `None` where the share is outside 0 to below 1: with no air from
/// the room nothing holds its temperature. Source: enthalpy balance at constant specific heat.
pub fn sensor_bias(set: Temperature, other: Temperature, share_of_other: f64) -> Option<TemperatureDifference> {
    (0.0..1.0).contains(&share_of_other).then(|| set.above(other) * (share_of_other / (1.0 - share_of_other)))
}

/// Room temperature after a time of constant heat: T_e + P/H + (T_0 - T_e - P/H) exp(-H t / C).
///
/// One lumped capacity. `None` unless loss and capacity are positive; time zero or more.
/// Source: first-order heat balance (Incropera, Fundamentals of Heat and Mass Transfer, 5.3).
pub fn warmed_temperature(
    start: Temperature,
    outside: Temperature,
    heat: Power,
    loss: HeatLossCoefficient,
    capacity: HeatCapacity,
    after: Time,
) -> Option<Temperature> {
    let per_kelvin = loss.in_watts_per_kelvin();
    let store = capacity.in_joules_per_kelvin();
    (per_kelvin > 0.0 && store > 0.0).then(|| {
        let settled = outside + TemperatureDifference::kelvin_difference(heat.in_watts() / per_kelvin);
        let left = (-per_kelvin * after.in_seconds().max(0.0) / store).exp();
        settled + start.above(settled) * left
    })
}

/// Time of constant heat until a room reaches a temperature: C/H · ln((T_s - T_0) / (T_s - T)), with T_s = T_e + P/H.
///
/// Zero if it is there already; `None` if the heat never gets it there, or unless loss and capacity are positive.
/// Source: inverse of [`warmed_temperature`].
pub fn warm_up_time(
    start: Temperature,
    outside: Temperature,
    target: Temperature,
    heat: Power,
    loss: HeatLossCoefficient,
    capacity: HeatCapacity,
) -> Option<Time> {
    let per_kelvin = loss.in_watts_per_kelvin();
    let store = capacity.in_joules_per_kelvin();
    if !(per_kelvin > 0.0 && store > 0.0) {
        return None;
    }
    if start >= target {
        return Some(Time::ZERO);
    }
    let settled = outside + TemperatureDifference::kelvin_difference(heat.in_watts() / per_kelvin);
    (settled > target).then(|| {
        let ratio = settled.above(start) / settled.above(target);
        Time::seconds(store / per_kelvin * ratio.ln())
    })
}

/// Deepest layer that takes part in a day's warming and cooling: 100 mm. Source: ISO 13786:2017 annex C (from memory).
pub const DEEPEST_STORE: Length = Length::metres(0.1);

/// Heat that a surface's layers, from inside out, take up by kelvin of the room.
///
/// Counted are the layers up to the first that insulates, at most half of the whole thickness and at most
/// [`DEEPEST_STORE`]. Thicknesses and area zero or more (less counts as zero). Furniture is not in it.
/// Source: ISO 13786:2017 annex C, effective thickness for one day (from memory).
pub fn stored_by_layers(layers: &[(Length, &Material)], area: Area) -> HeatCapacity {
    let thick = |layer: &(Length, &Material)| layer.0.in_metres().max(0.0);
    let half: f64 = layers.iter().map(thick).sum::<f64>() / 2.0;
    let mut left = half.min(DEEPEST_STORE.in_metres());
    let mut by_area = 0.0;
    for layer in layers.iter().take_while(|(_, material)| material.conductivity > INSULATION) {
        let counted = thick(layer).min(left);
        left -= counted;
        by_area += counted
            * layer.1.density.in_kilograms_per_cubic_metre()
            * layer.1.specific_heat.in_joules_per_kilogram_kelvin();
    }
    HeatCapacity::joules_per_kelvin(by_area * area.in_square_metres().max(0.0))
}

/// Heat that a room's air takes up by kelvin: ρ V c_p. Source: definition of the specific heat.
pub fn stored_by_air(room: Volume, density: Density) -> HeatCapacity {
    HeatCapacity::joules_per_kelvin(
        room.in_cubic_metres() * density.in_kilograms_per_cubic_metre() * air::SPECIFIC_HEAT_OF_AIR,
    )
}

/// Heat that a person at rest gives off to the air of a room, 70 W: two thirds of some 105 W.
///
/// Source: ASHRAE Handbook Fundamentals, heat of people seated at rest (from memory).
pub const HEAT_OF_A_PERSON: Power = Power::watts(70.0);

//! Batteries as a voltage behind a resistance: by charge, temperature, capacity and arrangement. No ageing in here.

use super::interpolation;
use crate::units::{Charge, Current, ICE_POINT, Power, Resistance, Temperature, Time, Voltage};

/// What the battery is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chemistry {
    /// Lead-acid, flooded, gel or glass mat: six cells to a block.
    LeadAcid,
    /// Lithium iron phosphate: four cells to a block.
    LithiumIronPhosphate,
}

/// State of charge and rest voltage of six lead-acid cells in V. Source: handbook values, from memory.
const LEAD_ACID_REST: [(f64, f64); 5] = [(0.0, 11.8), (0.25, 12.0), (0.50, 12.2), (0.75, 12.4), (1.0, 12.7)];

/// State of charge and rest voltage of four lithium iron phosphate cells in V. Source: circulated table, from memory.
const LITHIUM_REST: [(f64, f64); 10] = [
    (0.0, 10.0),
    (0.09, 12.0),
    (0.14, 12.5),
    (0.17, 12.8),
    (0.20, 12.9),
    (0.30, 13.0),
    (0.40, 13.1),
    (0.70, 13.2),
    (0.90, 13.3),
    (1.0, 13.4),
];

/// Open-circuit voltage at rest of one 12 V block by its state of charge (0 to 1; held level outside).
///
/// Straight lines between tabled points. It moves with temperature by about 0.2 mV/K a cell, some 0.06 V over 50 K, which
/// is less than the spread between makes and is neglected. A lithium block's voltage is so flat that it says nothing
/// about its charge. Source: handbook values, from memory.
pub fn open_circuit_voltage(chemistry: Chemistry, state_of_charge: f64) -> Voltage {
    Voltage::volts(match chemistry {
        Chemistry::LeadAcid => interpolation::linear(&LEAD_ACID_REST, state_of_charge),
        Chemistry::LithiumIronPhosphate => interpolation::linear(&LITHIUM_REST, state_of_charge),
    })
}

/// Internal resistance of one 12 V block by its rated capacity and its temperature.
///
/// 5 mΩ for 100 Ah at 25 °C, in inverse proportion to capacity; it doubles (lead-acid) or trebles (lithium iron
/// phosphate, its switch included) from 25 °C to -20 °C by an exponential that carries on below, and stays above 25 °C.
/// A new and charged block: an aged or empty one has more. `None` unless the capacity is positive.
/// Source: documented default, from memory; a stated value always goes before it.
pub fn internal_resistance(chemistry: Chemistry, capacity: Charge, temperature: Temperature) -> Option<Resistance> {
    let ampere_hours = capacity.in_ampere_hours();
    if ampere_hours.is_nan() || ampere_hours <= 0.0 {
        return None;
    }
    let growth: f64 = match chemistry {
        Chemistry::LeadAcid => 2.0,
        Chemistry::LithiumIronPhosphate => 3.0,
    };
    let cold = ((25.0 - temperature.in_celsius()) / 45.0).max(0.0);
    Some(Resistance::milliohms(5.0 * (100.0 / ampere_hours) * growth.powf(cold)))
}

/// Alike blocks wired as a bank: strings of so many in series, so many strings in parallel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bank {
    /// Blocks in each string; 0 counts as 1.
    pub series: u32,
    /// Strings side by side; 0 counts as 1.
    pub parallel: u32,
}

impl Bank {
    /// The bank's voltage from one block's: times the blocks in series. Source: Kirchhoff's voltage law.
    pub fn voltage(self, block: Voltage) -> Voltage {
        block * f64::from(self.series.max(1))
    }

    /// The bank's resistance from one block's: times series, by parallel. Source: Kirchhoff's laws.
    pub fn resistance(self, block: Resistance) -> Resistance {
        block * f64::from(self.series.max(1)) / f64::from(self.parallel.max(1))
    }

    /// The bank's capacity from one block's: times parallel. Source: Kirchhoff's current law.
    pub fn capacity(self, block: Charge) -> Charge {
        block * f64::from(self.parallel.max(1))
    }
}

/// Voltage left at a load that draws a current: U - I R. Source: Ohm's and Kirchhoff's laws.
pub fn loaded_voltage(open_circuit: Voltage, resistance: Resistance, current: Current) -> Voltage {
    open_circuit - current * resistance
}

/// Current of a load that holds its power whatever its voltage: (U - √(U² - 4 R P)) / 2 R.
///
/// `None` where the source can't deliver the power (P > U² / 4 R), or the voltage is not positive. Power and resistance zero or more.
/// Source: Kirchhoff's voltage law, the root of least current.
pub fn current_at_power(open_circuit: Voltage, resistance: Resistance, power: Power) -> Option<Current> {
    let (volts, ohms, watts) = (open_circuit.in_volts(), resistance.in_ohms().max(0.0), power.in_watts());
    let under_root = volts * volts - 4.0 * ohms * watts;
    // The root with the sum below the line is the same and survives a resistance of zero.
    (volts > 0.0 && under_root >= 0.0).then(|| Current::amperes(2.0 * watts / (volts + under_root.sqrt())))
}

/// State of charge and freezing temperature of lead-acid electrolyte in °C.
///
/// Source: handbook values by density (1.12 empty to 1.265 full), from memory.
const FREEZING: [(f64, f64); 5] = [(0.0, -10.0), (0.25, -16.0), (0.50, -25.0), (0.75, -37.0), (1.0, -57.0)];

/// Temperature at which the electrolyte begins to freeze, by state of charge (0 to 1; held level outside).
///
/// `None` for lithium iron phosphate, whose electrolyte does not freeze in use. Straight lines between tabled points.
/// Source: handbook values, from memory.
pub fn freezing_temperature(chemistry: Chemistry, state_of_charge: f64) -> Option<Temperature> {
    match chemistry {
        Chemistry::LeadAcid => Some(Temperature::celsius(interpolation::linear(&FREEZING, state_of_charge))),
        Chemistry::LithiumIronPhosphate => None,
    }
}

/// Lowest temperature at which a block may be charged; `None` where the chemistry sets no such limit.
///
/// 0 °C for lithium iron phosphate. Source: common practice, no source.
pub fn lowest_charging_temperature(chemistry: Chemistry) -> Option<Temperature> {
    match chemistry {
        Chemistry::LeadAcid => None,
        Chemistry::LithiumIronPhosphate => Some(ICE_POINT),
    }
}

/// Share of the rated capacity that can be drawn, by temperature, in °C. Source: handbook values, from memory.
const LEAD_ACID_CAPACITY: [(f64, f64); 4] = [(-20.0, 0.50), (-10.0, 0.70), (0.0, 0.80), (25.0, 1.0)];
/// As above. Source: from memory.
const LITHIUM_CAPACITY: [(f64, f64); 3] = [(-20.0, 0.60), (0.0, 0.80), (25.0, 1.0)];

/// Share of the rated capacity that can be drawn at a temperature (1 from 25 °C up, held level below -20 °C).
///
/// Source: handbook values, the low end of each stated range, from memory.
pub fn capacity_share(chemistry: Chemistry, temperature: Temperature) -> f64 {
    let celsius = temperature.in_celsius();
    match chemistry {
        Chemistry::LeadAcid => interpolation::linear(&LEAD_ACID_CAPACITY, celsius),
        Chemistry::LithiumIronPhosphate => interpolation::linear(&LITHIUM_CAPACITY, celsius),
    }
}

/// Time a constant current can be drawn: H (C / (I H))^k, with capacity C rated over H.
///
/// `None` unless capacity, current and rated time are positive and the exponent at least 1 (1.1 to 1.3 lead-acid,
/// 1.05 lithium). Source: Peukert 1897, in the rated-hour form.
pub fn discharge_time(capacity: Charge, rated_over: Time, current: Current, exponent: f64) -> Option<Time> {
    let rated_current = capacity.in_coulombs() / rated_over.in_seconds();
    (capacity > Charge::ZERO && rated_over > Time::ZERO && current > Current::ZERO && exponent >= 1.0)
        .then(|| rated_over * (rated_current / current.in_amperes()).powf(exponent))
}

/// Current through a short circuit: U / R, with everything in the loop. `None` unless the resistance is positive.
/// Source: Ohm's law; what an arc or a loose contact adds makes it less.
pub fn short_circuit_current(open_circuit: Voltage, resistance: Resistance) -> Option<Current> {
    (resistance > Resistance::ZERO).then(|| Current::amperes(open_circuit.in_volts() / resistance.in_ohms()))
}

/// Voltage at which a charger fills one 12 V block: 14.4 V lead-acid, 14.6 V lithium iron phosphate.
///
/// A charger that corrects for temperature goes higher in the cold. Source: usual values, from memory.
pub fn charging_voltage(chemistry: Chemistry) -> Voltage {
    Voltage::volts(match chemistry {
        Chemistry::LeadAcid => 14.4,
        Chemistry::LithiumIronPhosphate => 14.6,
    })
}

/// Charge to be put in for each that comes out: 1.2 lead-acid, 1.05 lithium iron phosphate. Source: handbook values, from memory.
pub fn charge_factor(chemistry: Chemistry) -> f64 {
    match chemistry {
        Chemistry::LeadAcid => 1.2,
        Chemistry::LithiumIronPhosphate => 1.05,
    }
}

/// Share of the charge it lacks that a battery accepts an hour: 0.4 lead-acid, 5 lithium iron phosphate.
/// Source: the form of the law by Mas 1967; the numbers are common practice, no source.
pub fn acceptance_per_hour(chemistry: Chemistry) -> f64 {
    match chemistry {
        Chemistry::LeadAcid => 0.4,
        Chemistry::LithiumIronPhosphate => 5.0,
    }
}

/// Share of its capacity that a battery may lack and still be called charged. Source: common practice, no source.
pub const CALLED_CHARGED: f64 = 0.05;

/// Time to charge a battery that lacks so much, until it lacks [`CALLED_CHARGED`] of its capacity.
///
/// The charger's current flows while the battery accepts it; it accepts no more than [`acceptance_per_hour`] of what it
/// lacks, so the last part takes its time whatever the charger: f (m - I/a) / I, then (f / a) ln(I/a / end).
/// `None` unless capacity and current are positive and the charge lacking is not negative; 0 where it lacks no more than that.
/// Sources: law of charge acceptance, Mas 1967 (from memory); [`charge_factor`].
pub fn recharge_time(lacking: Charge, capacity: Charge, current: Current, chemistry: Chemistry) -> Option<Time> {
    if capacity <= Charge::ZERO || current <= Current::ZERO || lacking < Charge::ZERO {
        return None;
    }
    let (lacks, end) = (lacking.in_ampere_hours(), CALLED_CHARGED * capacity.in_ampere_hours());
    let (factor, accepts, amperes) = (charge_factor(chemistry), acceptance_per_hour(chemistry), current.in_amperes());
    // Below this the battery, not the charger, sets the current.
    let knee = (amperes / accepts).max(end);
    let with_full_current = (lacks - knee).max(0.0) / amperes;
    let tapering = (lacks.min(knee) / end).ln().max(0.0) / accepts;
    Some(Time::seconds(3600.0 * factor * (with_full_current + tapering)))
}

//! The current a conductor may carry without ageing its insulation, and the short circuit it survives.

use super::conductors::{COPPER_RESISTIVITY_AT_20_CELSIUS, Gauge, gauge_of};
use crate::units::{Area, Current, ICE_POINT, Temperature, Time};

/// Temperature a cable's insulation is rated for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum InsulationClass {
    /// 60 °C.
    Celsius60,
    /// 75 °C.
    Celsius75,
    /// 80 °C.
    Celsius80,
    /// 90 °C.
    Celsius90,
    /// 105 °C.
    Celsius105,
    /// 125 °C.
    Celsius125,
    /// 200 °C.
    Celsius200,
}

impl InsulationClass {
    /// All of them, from cool to hot.
    pub const ALL: [InsulationClass; 7] = [
        InsulationClass::Celsius60,
        InsulationClass::Celsius75,
        InsulationClass::Celsius80,
        InsulationClass::Celsius90,
        InsulationClass::Celsius105,
        InsulationClass::Celsius125,
        InsulationClass::Celsius200,
    ];

    /// The rated temperature.
    pub fn temperature(self) -> Temperature {
        Temperature::celsius(match self {
            InsulationClass::Celsius60 => 60.0,
            InsulationClass::Celsius75 => 75.0,
            InsulationClass::Celsius80 => 80.0,
            InsulationClass::Celsius90 => 90.0,
            InsulationClass::Celsius105 => 105.0,
            InsulationClass::Celsius125 => 125.0,
            InsulationClass::Celsius200 => 200.0,
        })
    }

    /// The hottest class that a cable rated for this temperature meets; `None` below 60 °C.
    pub fn met_by(rating: Temperature) -> Option<InsulationClass> {
        // A millikelvin of slack keeps a rating that went through another scale in its class.
        let slack = Temperature::kelvin(1e-3);
        let meets = |class: &InsulationClass| class.temperature() <= rating + slack;
        InsulationClass::ALL.into_iter().rfind(meets)
    }

    fn pick(self, row: &Row) -> f64 {
        let [c60, c75, c80, c90, c105, c125, c200] = row.1;
        match self {
            InsulationClass::Celsius60 => c60,
            InsulationClass::Celsius75 => c75,
            InsulationClass::Celsius80 => c80,
            InsulationClass::Celsius90 => c90,
            InsulationClass::Celsius105 => c105,
            InsulationClass::Celsius125 => c125,
            InsulationClass::Celsius200 => c200,
        }
    }
}

/// A gauge's number and its currents in ampere by insulation class, from 60 °C to 200 °C.
type Row = (i32, [f64; 7]);

/// Source: 33 CFR 183.425 table 5 (read in a public copy of the regulation), single conductors at 30 °C.
const TABLE: [Row; 15] = [
    (18, [10.0, 10.0, 15.0, 20.0, 20.0, 25.0, 25.0]),
    (16, [15.0, 15.0, 20.0, 25.0, 25.0, 30.0, 35.0]),
    (14, [20.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0]),
    (12, [25.0, 25.0, 35.0, 40.0, 45.0, 50.0, 55.0]),
    (10, [40.0, 40.0, 50.0, 55.0, 60.0, 70.0, 70.0]),
    (8, [55.0, 65.0, 70.0, 70.0, 80.0, 90.0, 100.0]),
    (6, [80.0, 95.0, 100.0, 100.0, 120.0, 125.0, 135.0]),
    (4, [105.0, 125.0, 130.0, 135.0, 160.0, 170.0, 180.0]),
    (3, [120.0, 145.0, 150.0, 155.0, 180.0, 195.0, 210.0]),
    (2, [140.0, 170.0, 175.0, 180.0, 210.0, 225.0, 240.0]),
    (1, [165.0, 195.0, 210.0, 210.0, 245.0, 265.0, 280.0]),
    (0, [195.0, 230.0, 245.0, 245.0, 285.0, 305.0, 325.0]),
    (-1, [225.0, 265.0, 285.0, 285.0, 330.0, 355.0, 370.0]),
    (-2, [260.0, 310.0, 330.0, 330.0, 385.0, 410.0, 430.0]),
    (-3, [300.0, 360.0, 385.0, 385.0, 445.0, 475.0, 510.0]),
];

/// Ambient temperature that the table is for. Source: 33 CFR 183.425 table 5.
pub const REFERENCE_AMBIENT: Temperature = Temperature::kelvin(ICE_POINT.in_kelvin() + 30.0);

/// Current of one conductor in free air at 30 °C.
///
/// A gauge reads its own row. Any other size reads the row of the next thinner gauge (a 2.5 mm² conductor counts as
/// 14 AWG), never a value between rows. Thinner than 18 AWG, where the table ends, the current falls in proportion to
/// the area (our extrapolation: a thin conductor sheds more heat by its copper than a thick one, so this is low);
/// thicker than 4/0 it stays. `None` unless the area is positive. Source: 33 CFR 183.425 table 5.
pub fn tabled_current(area: Area, insulation: InsulationClass) -> Option<Current> {
    // A rounded gauge area from a printed wire table, 0.1 % off, still counts as the gauge: so many gauges off.
    const ROUNDED: f64 = 0.0043;
    if area == Area::square_metres(f64::INFINITY) {
        return TABLE.last().map(|row| Current::amperes(insulation.pick(row)));
    }
    let gauge = gauge_of(area)?;
    match TABLE.iter().rfind(|row| f64::from(row.0) >= gauge - ROUNDED) {
        Some(row) => Some(Current::amperes(insulation.pick(row))),
        None => TABLE.first().map(|row| {
            let thinnest = Gauge { name: "", number: row.0 }.area();
            Current::amperes(insulation.pick(row) * (area / thinnest))
        }),
    }
}

/// Share of the tabled current that is left at another ambient: √((T_ins - T_amb) / (T_ins - 30 °C)).
///
/// 1 at 30 °C and below (the table is a limit, cold is no licence to exceed it), 0 from the insulation's own
/// temperature up. Source: heat balance at constant film coefficient; it gives the 50 °C factors of 33 CFR 183.425
/// table 5 note 1 (from memory) within 0.01 from 60 °C to 125 °C.
pub fn ambient_factor(insulation: InsulationClass, ambient: Temperature) -> f64 {
    let hot = insulation.temperature();
    let left = (hot - ambient) / (hot - REFERENCE_AMBIENT);
    left.clamp(0.0, 1.0).sqrt()
}

/// Share of the tabled current that is left to each loaded conductor in a bundle of so many.
///
/// 1 or 2: 1.0; 3: 0.7; 4 to 6: 0.6; 7 to 24: 0.5; 25 and more: 0.4. Source: 33 CFR 183.425 note 2 / ABYC E-11, from memory.
pub fn bundling_factor(loaded_conductors: u32) -> f64 {
    match loaded_conductors {
        0..=2 => 1.0,
        3 => 0.7,
        4..=6 => 0.6,
        7..=24 => 0.5,
        _ => 0.4,
    }
}

/// Current a conductor may carry all day: the table's, by ambient, by bundle.
///
/// `None` unless the area is positive. Sources: [`tabled_current`], [`ambient_factor`], [`bundling_factor`].
pub fn allowable_current(
    area: Area,
    insulation: InsulationClass,
    ambient: Temperature,
    loaded_conductors: u32,
) -> Option<Current> {
    let factor = ambient_factor(insulation, ambient) * bundling_factor(loaded_conductors);
    tabled_current(area, insulation).map(|current| current * factor)
}

/// Heat capacity of copper by volume in J/(K·mm³). Source: IEC 60364-5-54 annex A (from memory).
const COPPER_HEAT_CAPACITY: f64 = 3.45e-3;
/// Reciprocal of copper's temperature coefficient at 0 °C, in °C. Source: IEC 60364-5-54 annex A (from memory).
const COPPER_RECIPROCAL_COEFFICIENT: f64 = 234.5;

/// The factor k of a copper conductor heated without loss, in A·√s/mm².
///
/// k = √(Q (B + 20) / ρ20 · ln((B + T_final) / (B + T_initial))): 115 for PVC (70 to 160 °C), 143 for cross-linked
/// insulation (90 to 250 °C). `None` unless the final temperature is the hotter. Valid up to 5 s.
/// Source: IEC 60364-5-54 annex A; IEC 60364-4-43 434.5.2 (formula from memory).
pub fn adiabatic_factor(initial: Temperature, limit: Temperature) -> Option<f64> {
    let from = COPPER_RECIPROCAL_COEFFICIENT + initial.in_celsius();
    let to = COPPER_RECIPROCAL_COEFFICIENT + limit.in_celsius();
    // The coefficient's resistivity is in Ω·mm; the project's constant is in Ω·mm²/m.
    let scale =
        COPPER_HEAT_CAPACITY * (COPPER_RECIPROCAL_COEFFICIENT + 20.0) / (COPPER_RESISTIVITY_AT_20_CELSIUS * 1e-3);
    (from > 0.0 && to > from).then(|| (scale * (to / from).ln()).sqrt())
}

/// Temperature that an insulation bears for the few seconds of a short circuit.
///
/// 160 °C for classes to 105 °C (thermoplastics), 250 °C for 125 °C (cross-linked), 350 °C for 200 °C (silicone).
/// Source: IEC 60364-5-54 annex A, IEC 60724 (from memory); the lower value where a class has several materials.
pub fn short_circuit_limit(insulation: InsulationClass) -> Temperature {
    Temperature::celsius(match insulation {
        InsulationClass::Celsius125 => 250.0,
        InsulationClass::Celsius200 => 350.0,
        _ => 160.0,
    })
}

/// Time a copper conductor bears a short-circuit current before it reaches a temperature: (k A / I)².
///
/// `None` where it never gets there (no current) or is there already, or the area is not positive.
/// Exact to 5 s, low (on the safe side) beyond. Source: IEC 60364-4-43 434.5.2 (from memory).
pub fn short_circuit_time(area: Area, current: Current, initial: Temperature, limit: Temperature) -> Option<Time> {
    let factor = adiabatic_factor(initial, limit)?;
    let amperes = current.in_amperes().abs();
    (area > Area::ZERO && amperes > 0.0)
        .then(|| Time::seconds((factor * area.in_square_millimetres() / amperes).powi(2)))
}

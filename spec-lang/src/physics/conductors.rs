//! Copper conductors: sizes, resistance at temperature, voltage drop. Current-carrying capacity is in `ampacity`.

use super::interpolation;
use crate::units::{Area, Current, Length, Resistance, ResistancePerLength, Temperature, Voltage};

/// Resistivity of annealed copper at 20 °C in Ω·mm²/m: exactly 1/58.
///
/// Source: IEC 60028:1925, International standard of resistance for copper (from memory; agrees with the
/// 1.7241e-8 Ω·m of IEC 60287-1-1 table 1).
pub const COPPER_RESISTIVITY_AT_20_CELSIUS: f64 = 1.0 / 58.0;

/// Temperature coefficient of copper's resistance at 20 °C in 1/K, at constant mass.
///
/// Source: IEC 60028:1925; IEC 60287-1-1 table 1. (A textbook coefficient of 0.00404 belongs to the pure element.)
pub const COPPER_TEMPERATURE_COEFFICIENT: f64 = 0.00393;

/// The metric conductor sizes a workshop stocks, by nominal area in mm².
///
/// Source: sizes of IEC 60228:2004 table 3; which of them a workshop keeps is common practice, no source.
pub const METRIC_STOCK_SQUARE_MILLIMETRES: [f64; 14] =
    [0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0];

/// Nominal area in mm² and the highest resistance in Ω/km at 20 °C of flexible plain copper conductors.
///
/// Source: IEC 60228:2004 table 3, class 5, plain wires (read in two secondary copies that agree).
pub const CLASS_5_MAXIMUM: [(f64, f64); 15] = [
    (0.5, 39.0),
    (0.75, 26.0),
    (1.0, 19.5),
    (1.5, 13.3),
    (2.5, 7.98),
    (4.0, 4.95),
    (6.0, 3.30),
    (10.0, 1.91),
    (16.0, 1.21),
    (25.0, 0.780),
    (35.0, 0.554),
    (50.0, 0.386),
    (70.0, 0.272),
    (95.0, 0.206),
    (120.0, 0.161),
];

/// An American wire gauge.
///
/// The number is the gauge, with 1/0 as 0, 2/0 as -1, 3/0 as -2 and 4/0 as -3.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gauge {
    /// The size as people write it: `16`, `2/0`.
    pub name: &'static str,
    /// The number that enters the formula.
    pub number: i32,
}

impl Gauge {
    const fn new(name: &'static str, number: i32) -> Self {
        Gauge { name, number }
    }

    /// Diameter of the solid wire: 0.127 mm · 92^((36 - n) / 39).
    ///
    /// Valid for gauges 40 to 4/0. Source: ASTM B258 (formula from memory; agrees with the printed wire tables).
    pub fn diameter(self) -> Length {
        let step = f64::from(36_i32.saturating_sub(self.number)) / 39.0;
        Length::millimetres(0.127 * 92.0_f64.powf(step))
    }

    /// Area of copper: π d² / 4, the same for a stranded conductor. Source: ASTM B258.
    pub fn area(self) -> Area {
        let diameter = self.diameter();
        diameter * diameter * (std::f64::consts::PI / 4.0)
    }
}

/// The American gauges a workshop stocks, from thin to thick (24 to 4/0).
pub const STOCK_GAUGES: [Gauge; 16] = [
    Gauge::new("24", 24),
    Gauge::new("22", 22),
    Gauge::new("20", 20),
    Gauge::new("18", 18),
    Gauge::new("16", 16),
    Gauge::new("14", 14),
    Gauge::new("12", 12),
    Gauge::new("10", 10),
    Gauge::new("8", 8),
    Gauge::new("6", 6),
    Gauge::new("4", 4),
    Gauge::new("2", 2),
    Gauge::new("1/0", 0),
    Gauge::new("2/0", -1),
    Gauge::new("3/0", -2),
    Gauge::new("4/0", -3),
];

/// How far an area may lie from a gauge's area and still be that gauge: printed wire tables round to this.
const GAUGE_MATCH: f64 = 1e-3;

/// The gauge from 24 to 4/0 (odd ones included) whose area this is, to within 0.1 %, if there is one.
///
/// Source of the areas: ASTM B258.
pub fn gauge_number_of(area: Area) -> Option<i32> {
    let number = gauge_of(area)?.round();
    let number = (-3..=24).find(|whole| f64::from(*whole) == number)?;
    let exact = Gauge { name: "", number }.area();
    ((area / exact - 1.0).abs() <= GAUGE_MATCH).then_some(number)
}

/// The gauge of an area as a number between the whole ones: n = 36 - 39 ln(d / 0.127 mm) / ln 92, d = √(4 A / π).
///
/// `None` unless the area is positive and finite. Source: ASTM B258, turned round.
pub fn gauge_of(area: Area) -> Option<f64> {
    let square_millimetres = area.in_square_millimetres();
    let diameter = (square_millimetres * 4.0 / std::f64::consts::PI).sqrt();
    (square_millimetres > 0.0 && square_millimetres.is_finite())
        .then(|| 36.0 - 39.0 * (diameter / 0.127).ln() / 92f64.ln())
}

/// Factor by which copper's resistance at this temperature exceeds that at 20 °C.
///
/// 1 + 0.00393 (T - 20 °C). Valid from -60 °C to 200 °C; far below, where the straight line would turn negative, it
/// is held at zero. Source: IEC 60028:1925.
pub fn copper_temperature_factor(temperature: Temperature) -> f64 {
    (1.0 + COPPER_TEMPERATURE_COEFFICIENT * (temperature.in_celsius() - 20.0)).max(0.0)
}

/// Resistance by length of a copper cross-section, from its resistivity alone: ρ(T) / A.
///
/// `None` unless the area is positive and finite. Source: IEC 60028:1925.
pub fn copper_resistance_per_length(area: Area, temperature: Temperature) -> Option<ResistancePerLength> {
    let square_millimetres = area.in_square_millimetres();
    (square_millimetres > 0.0 && square_millimetres.is_finite()).then(|| {
        ResistancePerLength::ohms_per_metre(
            COPPER_RESISTIVITY_AT_20_CELSIUS / square_millimetres * copper_temperature_factor(temperature),
        )
    })
}

/// Highest resistance by length that a conductor of this size may have: the convention of every figure.
///
/// An American gauge is defined by its metal, so the area of one (to 0.1 %) gives ρ(T) / A. A metric size is a name,
/// and the standard limits its resistance: a listed size gives the class 5 maximum of IEC 60228, which is 10 to 16 %
/// above ρ / A and the larger of the two, and a size between two listed ones is read on the power law that joins
/// them. Below 0.5 mm² and above 120 mm² the ratio to ρ / A of the end of the list is kept.
///
/// `None` unless the area is positive and finite, and not so small that its resistance is past all numbers; temperature
/// from -60 °C to 200 °C. Sources: IEC 60028:1925 (resistivity, coefficient), ASTM B258 (gauges),
/// IEC 60228:2004 table 3 class 5.
pub fn resistance_per_length(area: Area, temperature: Temperature) -> Option<ResistancePerLength> {
    let metal = copper_resistance_per_length(area, temperature)?;
    if gauge_number_of(area).is_some() {
        return Some(metal);
    }
    let square_millimetres = area.in_square_millimetres();
    let (smallest, largest) = (0.5, 120.0);
    let listed = square_millimetres.clamp(smallest, largest);
    let limit = interpolation::power_law(&CLASS_5_MAXIMUM, listed) * (listed / square_millimetres);
    let at_20 = ResistancePerLength::ohms_per_kilometre(limit);
    limit.is_finite().then(|| at_20 * copper_temperature_factor(temperature))
}

/// Resistance of a conductor pair: out along one length, back along another, each of its own size.
///
/// A return through the body counts with length zero and its own resistance added by the caller.
/// `None` unless both areas are positive. Lengths in metres, zero or more. Source: Ohm's law on [`resistance_per_length`].
pub fn loop_resistance(out: (Area, Length), back: (Area, Length), temperature: Temperature) -> Option<Resistance> {
    let one_way =
        |(area, length): (Area, Length)| resistance_per_length(area, temperature).map(|by_length| by_length * length);
    Some(one_way(out)? + one_way(back)?)
}

/// Voltage lost along a resistance by a current: I · R. Source: Ohm's law.
pub fn voltage_drop(current: Current, resistance: Resistance) -> Voltage {
    current * resistance
}

/// Smallest area of bare copper that keeps the drop within an allowance: ρ(T) · L · I / ΔV, with L out and back.
///
/// This is the sizing formula of ABYC E-11 (CM = K · I · L / E, K = 10.75 Ω·cmil/ft at about 29 °C).
/// `None` unless the allowance is positive.
pub fn smallest_area_for_drop(
    current: Current,
    length_out_and_back: Length,
    allowance: Voltage,
    temperature: Temperature,
) -> Option<Area> {
    (allowance.in_volts() > 0.0).then(|| {
        Area::square_millimetres(
            COPPER_RESISTIVITY_AT_20_CELSIUS
                * copper_temperature_factor(temperature)
                * current.in_amperes().abs()
                * length_out_and_back.in_metres().abs()
                / allowance.in_volts(),
        )
    })
}

//! Units as people write them, and quantities with doubt. No word of the language is known here.
//!
//! Factors: BIPM SI Brochure (9th edition) for the SI; NIST SP 811 (2008) appendix B for inch, foot, gallon, pound,
//! British thermal unit (International Table), inch of water (conventional) and horsepower; ASTM B258 for wire gauges.

/// What a number measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)] // each name is its own description
pub enum Dimension {
    Length,
    Area,
    /// A conductor's stock size: an area in mm², or a wire gauge.
    Conductor,
    Volume,
    Angle,
    Time,
    Mass,
    Temperature,
    TemperatureDifference,
    Pressure,
    VolumeFlow,
    Speed,
    Density,
    Voltage,
    Current,
    Resistance,
    Charge,
    Power,
    Energy,
    Ratio,
    /// So many times an hour.
    Rate,
    ThermalConductivity,
    ThermalTransmittance,
    /// Whatever its unit measures.
    Any,
}

impl Dimension {
    /// The dimension as a reader says it, with an article, and a number to copy.
    pub fn describe(self) -> (&'static str, &'static str) {
        match self {
            Dimension::Length => ("a length", "1.2 m"),
            Dimension::Area => ("an area", "2.5 m²"),
            Dimension::Conductor => ("a conductor size", "4 mm²"),
            Dimension::Volume => ("a volume", "75 L"),
            Dimension::Angle => ("an angle", "90°"),
            Dimension::Time => ("a time", "90 s"),
            Dimension::Mass => ("a mass", "4.5 kg"),
            Dimension::Temperature => ("a temperature", "-25 °C"),
            Dimension::TemperatureDifference => ("a temperature difference", "5 K"),
            Dimension::Pressure => ("a pressure", "190 Pa"),
            Dimension::VolumeFlow => ("a volume flow", "0.24 L/h"),
            Dimension::Speed => ("a speed", "4 m/s"),
            Dimension::Density => ("a density", "832 kg/m³"),
            Dimension::Voltage => ("a voltage", "12 V"),
            Dimension::Current => ("a current", "8.4 A"),
            Dimension::Resistance => ("a resistance", "5 mΩ"),
            Dimension::Charge => ("a battery capacity", "95 Ah"),
            Dimension::Power => ("a power", "2.2 kW"),
            Dimension::Energy => ("an energy", "1.2 kWh"),
            Dimension::Ratio => ("a percentage", "80 %"),
            Dimension::Rate => ("a rate", "1.2 /h"),
            Dimension::ThermalConductivity => ("a thermal conductivity", "0.035 W/mK"),
            Dimension::ThermalTransmittance => ("a thermal transmittance", "1.2 W/m²K"),
            Dimension::Any => ("a number with its unit", "200 mm"),
        }
    }

    /// Whether a unit of dimension `unit` may be written where this dimension is wanted.
    pub fn takes(self, unit: Dimension) -> bool {
        self == unit
            || self == Dimension::Any
            || matches!(
                (self, unit),
                (Dimension::Conductor, Dimension::Area) | (Dimension::TemperatureDifference, Dimension::Temperature)
            )
    }
}

/// One unit: how it is spelled and what it is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// The spelling that this entry matches, case and all.
    pub spelling: &'static str,
    /// The spelling to show.
    pub symbol: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// SI value of one unit.
    pub factor: f64,
    /// SI value of zero units (temperatures only).
    pub offset: f64,
    /// Of its spelling, for the search.
    pub(crate) head: u64,
}

/// The wire-gauge unit: its numbers are gauge names, not multiples.
pub const WIRE_GAUGE: &str = "AWG";

const fn unit(spelling: &'static str, symbol: &'static str, dimension: Dimension, factor: f64) -> Unit {
    Unit { spelling, symbol, dimension, factor, offset: 0.0, head: head_of(spelling) }
}

const fn degree(spelling: &'static str, symbol: &'static str, factor: f64, offset: f64) -> Unit {
    Unit { spelling, symbol, dimension: Dimension::Temperature, factor, offset, head: head_of(spelling) }
}

use Dimension as D;

const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const US_GALLON: f64 = 3.785411784e-3;
const IMPERIAL_GALLON: f64 = 4.54609e-3;
const BRITISH_THERMAL_UNIT: f64 = 1055.05585262;
const INCH_OF_WATER: f64 = 249.08891;
const POUND_PER_SQUARE_INCH: f64 = 6894.757293168;
const ARC_DEGREE: f64 = std::f64::consts::PI / 180.0;

/// Every unit, sorted by spelling (a test holds it so) for the binary search in [`find_unit`].
pub static UNITS: &[Unit] = &[
    unit("%", "%", D::Ratio, 0.01),
    unit("/h", "/h", D::Rate, 1.0 / 3600.0),
    unit("A", "A", D::Current, 1.0),
    unit("AWG", "AWG", D::Conductor, 1.0),
    unit("Ah", "Ah", D::Charge, 3600.0),
    unit("BTU", "BTU", D::Energy, BRITISH_THERMAL_UNIT),
    unit("BTU/h", "BTU/h", D::Power, BRITISH_THERMAL_UNIT / 3600.0),
    degree("K", "K", 1.0, 0.0),
    unit("L", "L", D::Volume, 1e-3),
    unit("L/h", "L/h", D::VolumeFlow, 1e-3 / 3600.0),
    unit("L/min", "L/min", D::VolumeFlow, 1e-3 / 60.0),
    unit("MPa", "MPa", D::Pressure, 1e6),
    unit("Pa", "Pa", D::Pressure, 1.0),
    unit("V", "V", D::Voltage, 1.0),
    unit("W", "W", D::Power, 1.0),
    unit("W/m2K", "W/m²K", D::ThermalTransmittance, 1.0),
    unit("W/mK", "W/mK", D::ThermalConductivity, 1.0),
    unit("W/m²K", "W/m²K", D::ThermalTransmittance, 1.0),
    unit("Wh", "Wh", D::Energy, 3600.0),
    unit("bar", "bar", D::Pressure, 1e5),
    unit("cfm", "cfm", D::VolumeFlow, FOOT * FOOT * FOOT / 60.0),
    unit("cm", "cm", D::Length, 1e-2),
    unit("cm2", "cm²", D::Area, 1e-4),
    unit("cm²", "cm²", D::Area, 1e-4),
    unit("deg", "°", D::Angle, ARC_DEGREE),
    degree("degC", "°C", 1.0, 273.15),
    degree("degF", "°F", 5.0 / 9.0, 459.67 * 5.0 / 9.0),
    unit("ft", "ft", D::Length, FOOT),
    unit("ft2", "ft²", D::Area, FOOT * FOOT),
    unit("ft3", "ft³", D::Volume, FOOT * FOOT * FOOT),
    unit("ft3/h", "ft³/h", D::VolumeFlow, FOOT * FOOT * FOOT / 3600.0),
    unit("ft3/min", "ft³/min", D::VolumeFlow, FOOT * FOOT * FOOT / 60.0),
    unit("ft²", "ft²", D::Area, FOOT * FOOT),
    unit("ft³", "ft³", D::Volume, FOOT * FOOT * FOOT),
    unit("ft³/h", "ft³/h", D::VolumeFlow, FOOT * FOOT * FOOT / 3600.0),
    unit("ft³/min", "ft³/min", D::VolumeFlow, FOOT * FOOT * FOOT / 60.0),
    unit("gal", "gal", D::Volume, US_GALLON),
    unit("gal/h", "gal/h", D::VolumeFlow, US_GALLON / 3600.0),
    unit("h", "h", D::Time, 3600.0),
    unit("hp", "hp", D::Power, 745.699_871_582_270_2),
    unit("imp-gal", "imp-gal", D::Volume, IMPERIAL_GALLON),
    unit("in", "in", D::Length, INCH),
    unit("in2", "in²", D::Area, INCH * INCH),
    unit("inH2O", "inH2O", D::Pressure, INCH_OF_WATER),
    unit("in²", "in²", D::Area, INCH * INCH),
    unit("kPa", "kPa", D::Pressure, 1e3),
    unit("kW", "kW", D::Power, 1e3),
    unit("kWh", "kWh", D::Energy, 3.6e6),
    unit("kg", "kg", D::Mass, 1.0),
    unit("kg/m3", "kg/m³", D::Density, 1.0),
    unit("kg/m³", "kg/m³", D::Density, 1.0),
    unit("km/h", "km/h", D::Speed, 1.0 / 3.6),
    unit("l", "L", D::Volume, 1e-3),
    unit("l/h", "L/h", D::VolumeFlow, 1e-3 / 3600.0),
    unit("lb", "lb", D::Mass, 0.45359237),
    unit("m", "m", D::Length, 1.0),
    unit("m/s", "m/s", D::Speed, 1.0),
    unit("m2", "m²", D::Area, 1.0),
    unit("m3", "m³", D::Volume, 1.0),
    unit("m3/h", "m³/h", D::VolumeFlow, 1.0 / 3600.0),
    unit("mA", "mA", D::Current, 1e-3),
    unit("mL", "mL", D::Volume, 1e-6),
    unit("mV", "mV", D::Voltage, 1e-3),
    unit("mbar", "mbar", D::Pressure, 100.0),
    unit("min", "min", D::Time, 60.0),
    unit("ml", "mL", D::Volume, 1e-6),
    unit("mm", "mm", D::Length, 1e-3),
    unit("mm2", "mm²", D::Area, 1e-6),
    unit("mm²", "mm²", D::Area, 1e-6),
    unit("mohm", "mΩ", D::Resistance, 1e-3),
    unit("mph", "mph", D::Speed, 0.44704),
    unit("m²", "m²", D::Area, 1.0),
    unit("m³", "m³", D::Volume, 1.0),
    unit("m³/h", "m³/h", D::VolumeFlow, 1.0 / 3600.0),
    unit("mΩ", "mΩ", D::Resistance, 1e-3),
    unit("ohm", "Ω", D::Resistance, 1.0),
    unit("psi", "psi", D::Pressure, POUND_PER_SQUARE_INCH),
    unit("qt", "qt", D::Volume, US_GALLON / 4.0),
    unit("rad", "rad", D::Angle, 1.0),
    unit("s", "s", D::Time, 1.0),
    unit("yd", "yd", D::Length, 3.0 * FOOT),
    unit("°", "°", D::Angle, ARC_DEGREE),
    unit("°C", "°C", D::Temperature, 1.0).with_offset(273.15),
    unit("°F", "°F", D::Temperature, 5.0 / 9.0).with_offset(459.67 * 5.0 / 9.0),
    unit("Ω", "Ω", D::Resistance, 1.0),
];

impl Unit {
    const fn with_offset(mut self, offset: f64) -> Unit {
        self.offset = offset;
        self
    }

    /// The SI value of `number` of this unit. A wire gauge becomes its area: ASTM B258, d = 0.127 mm × 92^((36−n)/39).
    pub fn to_si(&self, number: f64) -> f64 {
        if self.spelling == WIRE_GAUGE {
            let diameter = 0.127e-3 * 92f64.powf((36.0 - number) / 39.0);
            std::f64::consts::FRAC_PI_4 * diameter * diameter
        } else {
            number * self.factor + self.offset
        }
    }

    /// The SI value of a difference of `number` of this unit.
    pub fn difference_to_si(&self, number: f64) -> f64 {
        number * self.factor
    }

    /// The number of this unit that makes the SI value.
    pub fn from_si(&self, value: f64) -> f64 {
        if self.spelling == WIRE_GAUGE {
            let diameter = (value / std::f64::consts::FRAC_PI_4).sqrt();
            36.0 - 39.0 * (diameter / 0.127e-3).ln() / 92f64.ln()
        } else {
            (value - self.offset) / self.factor
        }
    }

    /// An SI value in this unit, rounded as a fitter reads it, with the symbol: `13 ft`, `90°`, `2/0 AWG`.
    pub fn show(&self, value: f64) -> String {
        if self.spelling == WIRE_GAUGE {
            let gauge = self.from_si(value).round() as i64;
            return match gauge {
                0 => "1/0 AWG".to_string(),
                _ if gauge < 0 => format!("{}/0 AWG", 1 - gauge),
                _ => format!("{gauge} AWG"),
            };
        }
        let gap = if matches!(self.symbol, "°") { "" } else { " " };
        format!("{}{gap}{}", rounded(self.from_si(value)), self.symbol)
    }

    /// An SI value in this unit, rounded to so many parts of one: 1 for whole degrees, 10 for tenths of a per cent.
    pub fn show_to(&self, value: f64, parts: f64) -> String {
        self.show(self.to_si((self.from_si(value) * parts).round() / parts))
    }

    /// An SI difference in this unit: as [`Unit::show`], with a temperature's scale offset left out.
    pub fn show_difference(&self, value: f64) -> String {
        let gap = if matches!(self.symbol, "°") { "" } else { " " };
        format!("{}{gap}{}", rounded(value / self.factor), self.symbol)
    }
}

/// A number rounded to three significant figures (whole numbers above 100 kept whole), without trailing zeros.
pub fn rounded(value: f64) -> String {
    if !value.is_finite() {
        return "unlimited".to_string();
    }
    let size = value.abs();
    if size < 1e-12 {
        return "0".to_string();
    }
    let places = if size >= 100.0 { 0 } else { (2 - size.log10().floor() as i32).clamp(0, 6) as usize };
    let text = format!("{value:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_string() } else { text };
    if text == "-0" { "0".to_string() } else { text }
}

/// The first eight bytes of a word as a number: two that differ stand to each other as the words do. Tables of words are
/// searched by it, since most words are told apart without comparing them letter by letter.
pub const fn head_of(word: &str) -> u64 {
    let (mut head, mut room, mut rest) = (0, 8, word.as_bytes());
    while let (Some((first, behind)), 1..) = (rest.split_first(), room) {
        (head, room, rest) = (head << 8 | *first as u64, room - 1, behind);
    }
    match room {
        8 => 0,
        room => head << (8 * room),
    }
}

/// The unit of that exact spelling.
pub fn find_unit(spelling: &str) -> Option<&'static Unit> {
    let head = head_of(spelling);
    let found = UNITS.binary_search_by(|unit| unit.head.cmp(&head).then_with(|| unit.spelling.cmp(spelling)));
    found.ok().and_then(|at| UNITS.get(at))
}

/// The unit somebody may have meant: another case first, then one slip of the hand.
pub fn nearest_unit(spelling: &str) -> Option<&'static Unit> {
    let alias = match spelling.to_lowercase().as_str() {
        "litre" | "litres" | "liter" | "liters" | "ltr" | "ltrs" | "lit" | "lits" | "lt" => Some("L"),
        "metre" | "metres" | "meter" | "meters" | "mtr" | "mtrs" => Some("m"),
        "feet" | "foot" => Some("ft"),
        "inch" | "inches" => Some("in"),
        "sqmm" | "qmm" => Some("mm²"),
        "volt" | "volts" => Some("V"),
        "amp" | "amps" | "ampere" | "amperes" => Some("A"),
        "watt" | "watts" => Some("W"),
        "hour" | "hours" | "hr" | "hrs" => Some("h"),
        "minute" | "minutes" | "mins" => Some("min"),
        "second" | "seconds" | "sec" | "secs" => Some("s"),
        "degree" | "degrees" => Some("°"),
        "c" | "celsius" => Some("°C"),
        "f" | "fahrenheit" => Some("°F"),
        "ga" | "gauge" => Some("AWG"),
        "gallon" | "gallons" => Some("gal"),
        "percent" => Some("%"),
        _ => None,
    };
    alias
        .and_then(find_unit)
        .or_else(|| UNITS.iter().find(|unit| unit.spelling.to_lowercase() == spelling.to_lowercase()))
        .or_else(|| {
            UNITS.iter().find(|unit| {
                unit.spelling.chars().count() > 2 && crate::units::slips_between(unit.spelling, spelling) == 1
            })
        })
}

/// How many single-letter slips (a letter more, less, other, or two swapped) lie between two words.
///
/// Restricted Damerau–Levenshtein distance; words longer than 64 letters count as far apart.
pub fn slips_between(left: &str, right: &str) -> usize {
    const LONGEST: usize = 64;
    let right: Vec<char> = right.chars().take(LONGEST + 1).collect();
    if right.len() > LONGEST || left.chars().nth(LONGEST).is_some() {
        return usize::MAX;
    }
    let mut before_last: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=right.len()).collect();
    let mut previous_letter = None;
    for (row, letter) in left.chars().enumerate() {
        let mut current = Vec::with_capacity(right.len() + 1);
        current.push(row + 1);
        let mut previous_right = None;
        for (column, &other) in right.iter().enumerate() {
            let cell = |row: &Vec<usize>, at: usize| row.get(at).copied().unwrap_or(LONGEST);
            let mut best = (cell(&last, column) + usize::from(letter != other))
                .min(cell(&last, column + 1) + 1)
                .min(cell(&current, column) + 1);
            if previous_letter == Some(other) && previous_right == Some(letter) && column > 0 {
                best = best.min(cell(&before_last, column - 1) + 1);
            }
            current.push(best);
            previous_right = Some(other);
        }
        before_last = std::mem::replace(&mut last, current);
        previous_letter = Some(letter);
    }
    last.last().copied().unwrap_or(usize::MAX)
}

/// A number with its unit and its doubt, as somebody wrote it; the three values are SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// The lowest value it may have.
    pub low: f64,
    /// The value meant (the middle of a range).
    pub nominal: f64,
    /// The highest value it may have.
    pub high: f64,
    /// The unit it was written in.
    pub unit: &'static Unit,
    /// How the doubt was written.
    pub doubt: Doubt,
}

/// How a quantity's doubt was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// A single number.
    None,
    /// `4.2 m ± 0.3 m`.
    Tolerance,
    /// `0 m .. 1450 m`.
    Range,
}

impl Quantity {
    /// A plain number of a unit.
    pub fn exact(number: f64, unit: &'static Unit) -> Quantity {
        let value = unit.to_si(number);
        Quantity { low: value, nominal: value, high: value, unit, doubt: Doubt::None }
    }

    /// What it measures.
    pub fn dimension(&self) -> Dimension {
        self.unit.dimension
    }

    /// Half the width of its doubt, SI.
    pub fn half_width(&self) -> f64 {
        (self.high - self.low) / 2.0
    }

    /// An SI value of the same kind in the author's unit.
    pub fn show(&self, value: f64) -> String {
        self.unit.show(value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heads_stand_to_each_other_as_their_words_do() {
        let words = ["", "A", "Ah", "a", "m", "mm", "mm²", "°C", "kilowatt", "kilowatts", "kilowatt-hours"];
        for (left, right) in words.iter().flat_map(|left| words.iter().map(move |right| (left, right))) {
            let by_head = head_of(left).cmp(&head_of(right));
            assert!(by_head.is_eq() || by_head == left.cmp(right), "{left} {right}");
            assert_eq!(
                by_head.is_eq(),
                left.get(..8).unwrap_or(left) == right.get(..8).unwrap_or(right),
                "{left} {right}"
            );
        }
    }

    #[test]
    fn the_unit_table_is_sorted_for_its_search() {
        for pair in UNITS.windows(2) {
            assert!(pair[0].spelling < pair[1].spelling, "{} before {}", pair[0].spelling, pair[1].spelling);
        }
    }

    #[test]
    fn every_unit_comes_back_from_si() {
        for unit in UNITS {
            let there = unit.to_si(7.25);
            assert!((unit.from_si(there) - 7.25).abs() < 1e-9, "{}", unit.spelling);
        }
    }

    #[test]
    fn numbers_read_as_a_fitter_reads_them() {
        for (value, text) in [
            (9.6134, "9.61"),
            (1450.0, "1450"),
            (0.0, "0"),
            (0.0123456, "0.0123"),
            (-24.96, "-25"),
            (99.96, "100"),
            (-0.0004, "-0.0004"),
        ] {
            assert_eq!(rounded(value), text);
        }
    }

    #[test]
    fn gauges_show_by_name() {
        let gauge = find_unit(WIRE_GAUGE).expect("in the table");
        assert_eq!(gauge.show(gauge.to_si(-1.0)), "2/0 AWG");
        assert_eq!(gauge.show(gauge.to_si(0.0)), "1/0 AWG");
        assert_eq!(gauge.show(gauge.to_si(12.0)), "12 AWG");
    }

    #[test]
    fn a_slip_of_the_hand_finds_its_unit() {
        for (wrong, right) in [
            ("kw", "kW"),
            ("feet", "ft"),
            ("litres", "L"),
            ("ltr", "L"),
            ("lit", "L"),
            ("AWg", "AWG"),
            ("c", "°C"),
            ("kPaa", "kPa"),
        ] {
            assert_eq!(nearest_unit(wrong).map(|unit| unit.spelling), Some(right), "{wrong}");
        }
        assert!(nearest_unit("zorkmid").is_none());
    }

    #[test]
    fn slips_count_swaps_once() {
        assert_eq!(slips_between("exhuast", "exhaust"), 1);
        assert_eq!(slips_between("", "abc"), 3);
        assert_eq!(slips_between("pipe", "pipe"), 0);
    }
}

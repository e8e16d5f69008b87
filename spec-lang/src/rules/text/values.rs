//! Rules about values that can be read but not relied on: still open, or far from anything that exists.

use super::{LANGUAGE, each_slip};
use crate::finding::{Severity, Whose};
use crate::reading::{SlipKind, Value};
use crate::rules::About;
use crate::rules::{Family, Guards, Rule};
use crate::source::Place;
use crate::units::{Quantity, find_unit, head_of};
use crate::vocabulary::{Kind, KindSet, Role};

/// The name of the rule about blanks that are still open: before building they are errors, and whoever tries what may
/// stand there does not count them.
pub const OPEN_BLANK: &str = "value-blank";

pub(super) static VALUE_BLANK: Rule = Rule {
    name: OPEN_BLANK,
    family: Family::Text,
    severity: Severity::Warning,
    title: "a blank that is still open",
    source: LANGUAGE,
    explanation: "`?` leaves a value for the tool to fill in. Until then nobody can buy or build what the line states. \
                  `trialfit fill` tries each size from the stock lists and data sheets, and judges the whole job with it. It \
                  shows the smallest size with which every rule passes, and why a smaller one does not.",
    mend: "Let the tool fill it (`trialfit fill`, or the fix in an editor), or write the value.",
    bad: "cable supply of reader\n  from          house\n  size          ?\n  back          150 mm\n  fuse          20 A\n  back          650 mm\n  right         910 mm\n  up            30 mm\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          4 mm²\n  back          150 mm\n  fuse          20 A\n  back          650 mm\n  right         910 mm\n  up            30 mm\n  ends          at reader",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let Some((file, reading)) = findings.job.readings.first() else { return };
        for block in &reading.blocks {
            for statement in reading.statements(block) {
                let Some(known) = statement.word else { continue };
                for arg in reading.args(statement).iter().filter(|arg| arg.value == Value::Blank) {
                    let (word, header) = (reading.slice(statement.head), reading.slice(block.header));
                    let title = format!("a blank is still open: `{word}` of `{header}`");
                    let finding = findings.at(Place { file: *file, span: arg.span }, title).label("to be filled");
                    findings.add(finding.help(format!(
                        "`trialfit fill` writes a value that passes every rule; or write one yourself, as in `{}`",
                        known.example
                    )));
                }
            }
        }
    },
};

/// A blank for which no choice passes. Only those who have blanks filled hear it: a plain check says that the blank is
/// open, and tries nothing.
pub static BLANK_INSOLUBLE: Rule = Rule {
    name: "blank-insoluble",
    family: Family::Text,
    severity: Severity::Error,
    title: "a blank for which no choice passes",
    source: "the rules that judge the job with each choice written",
    explanation: "The tool wrote each size in place of the blank and judged the whole job. The sizes come from the stock lists, \
                  the data sheets or else the standard series. With each of them, some rule finds a fault that it does not find \
                  while the blank is open. `trialfit fill` and editors say so. A check only says that the blank is open.",
    mend: "Change what the named rule is about: a shorter way, another battery, another heater. Or stock another size.",
    bad: "cable supply of reader\n  from          house\n  size          ?\n  run           80 m\n  fuse          20 A\n  run           80 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          ?\n  run           150 mm\n  fuse          20 A\n  run           2 m\n  ends          at reader",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |_| {},
};

pub(super) static BLANK_NOT_HERE: Rule = Rule {
    name: "blank-not-here",
    family: Family::Text,
    severity: Severity::Error,
    title: "a blank that the tool cannot fill",
    source: LANGUAGE,
    explanation: "The tool can fill in stock sizes, data sheets, the length of a `run`, and one leg of an exhaust or an air way. \
                  It cannot know what only a person at the vehicle can measure.",
    mend: "Write the value. Write `unknown` if nobody has measured it.",
    bad: "job \"Bench job\"\n  design-cold   ?",
    good: "job \"Bench job\"\n  design-cold   -15 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            if seen.slip.kind != SlipKind::BlankNotHere {
                return None;
            }
            Some(
                findings
                    .at(seen.place, "the tool cannot fill in `?` here")
                    .label("cannot be filled")
                    .help(format!("write the value{}; or only `unknown`, if nobody has measured it", seen.as_in())),
            )
        });
    },
};

pub(super) static IMPLAUSIBLE_VALUE: Rule = Rule {
    name: "implausible-value",
    family: Family::Text,
    severity: Severity::Warning,
    title: "a value far outside what exists",
    source: "common practice, no source",
    explanation: "The value can be read, but no vehicle has one like it. A wrong unit or decimal point is more likely. The \
                  bounds are wide: a value inside them may still be wrong.",
    mend: "Check the number and its unit.",
    bad: "vehicle bench-van\n  type          van\n  supply        900 V\n  rules         none\n  floor-height  600 mm\n  at            forward 850 mm, left 1000 mm, up 200 mm\n  spans         back 5400 mm, right 2000 mm, up 2300 mm",
    good: "vehicle bench-van\n  type          van\n  supply        12 V\n  rules         none\n  floor-height  600 mm\n  at            forward 850 mm, left 1000 mm, up 200 mm\n  spans         back 5400 mm, right 2000 mm, up 2300 mm",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        let Some((file, reading)) = job.readings.first() else { return };
        for block in &reading.blocks {
            let Some(kind) = block.kind else { continue };
            for statement in reading.statements(block) {
                let Some(word) = statement.word else { continue };
                let args = reading.args(statement);
                if !args.iter().any(|arg| matches!(arg.value, Value::Quantity(_))) {
                    continue;
                }
                let about_word = bounds_of_word(word.word);
                for arg in args.iter().filter(|_| !about_word.is_empty()) {
                    let Value::Quantity(quantity) = arg.value else { continue };
                    let about = |bounds: &&Bounds| bounds.role == arg.role && bounds.kinds.has(kind);
                    let Some(bounds) = about_word.iter().find(about).filter(|bounds| bounds.outside(&quantity)) else {
                        continue;
                    };
                    let (low, high) = (bounds.shown(bounds.low), bounds.shown(bounds.high));
                    let written = reading.slice(arg.span);
                    let title = format!("`{written}` is far from any {}; expected {low} to {high}", bounds.what);
                    let finding = findings
                        .at(Place { file: *file, span: arg.span }, title)
                        .label("are number and unit right?")
                        .limit(format!("{low} to {high}"), Whose::CommonPractice)
                        .help(format!("check the number and its unit, as in `{}`", word.example));
                    findings.add(finding);
                }
            }
        }
    },
};

/// What exists of one kind of value.
struct Bounds {
    word: &'static str,
    /// Of the word, for the search.
    head: u64,
    role: Role,
    kinds: KindSet,
    /// Lowest and highest that exist, in `scale`.
    low: f64,
    high: f64,
    scale: Scale,
    what: &'static str,
}

/// A unit with its worth in SI beside it, so that no table is searched for every number of a file; a test holds it to
/// the table of units.
struct Scale {
    unit: &'static str,
    factor: f64,
    offset: f64,
}

const fn scale(unit: &'static str, factor: f64) -> Scale {
    Scale { unit, factor, offset: 0.0 }
}

const METRES: Scale = scale("m", 1.0);
const MILLIMETRES: Scale = scale("mm", 1e-3);
const SQUARE_METRES: Scale = scale("m²", 1.0);
const SQUARE_MILLIMETRES: Scale = scale("mm²", 1e-6);
const CUBIC_METRES: Scale = scale("m³", 1.0);
const LITRES: Scale = scale("L", 1e-3);
const MILLILITRES: Scale = scale("mL", 1e-6);
const LITRES_AN_HOUR: Scale = scale("L/h", 1e-3 / 3600.0);
const CUBIC_METRES_AN_HOUR: Scale = scale("m³/h", 1.0 / 3600.0);
const AN_HOUR: Scale = scale("/h", 1.0 / 3600.0);
const HOURS: Scale = scale("h", 3600.0);
const SECONDS: Scale = scale("s", 1.0);
const VOLTS: Scale = scale("V", 1.0);
const AMPERES: Scale = scale("A", 1.0);
const AMPERE_HOURS: Scale = scale("Ah", 3600.0);
const MILLIOHMS: Scale = scale("mΩ", 1e-3);
const KILOWATTS: Scale = scale("kW", 1e3);
const PASCALS: Scale = scale("Pa", 1.0);
const KILOPASCALS: Scale = scale("kPa", 1e3);
const PER_CENT: Scale = scale("%", 0.01);
const DEGREES: Scale = scale("°", std::f64::consts::PI / 180.0);
const CELSIUS: Scale = Scale { unit: "°C", factor: 1.0, offset: 273.15 };

impl Bounds {
    fn shown(&self, value: f64) -> String {
        find_unit(self.scale.unit).map_or(String::new(), |unit| unit.show(unit.to_si(value)))
    }

    /// Whether either end of the quantity is out of bounds, with a hair of room for a bound written in another unit.
    fn outside(&self, quantity: &Quantity) -> bool {
        let si = |value: f64| value * self.scale.factor + self.scale.offset;
        let room = 1e-9 * (si(self.high) - si(self.low));
        quantity.low < si(self.low) - room || quantity.high > si(self.high) + room
    }
}

/// The bounds that are about a word.
fn bounds_of_word(word: &str) -> &'static [Bounds] {
    let head = head_of(word);
    let first = BOUNDS.partition_point(|bounds| bounds.head < head || (bounds.head == head && bounds.word < word));
    let about = BOUNDS.get(first..).unwrap_or(&[]);
    let count = about.iter().take_while(|bounds| bounds.word == word).count();
    about.get(..count).unwrap_or(&[])
}

const ALL: KindSet = KindSet::ALL;
const JOB: KindSet = KindSet::of(&[Kind::Job]);
const SPACE: KindSet = KindSet::of(&[Kind::Space]);
const BATTERY: KindSet = KindSet::of(&[Kind::Battery]);
const TANK: KindSet = KindSet::of(&[Kind::Tank]);
const CABLE: KindSet = KindSet::of(&[Kind::Cable]);
const CABLES: KindSet = KindSet::of(&[Kind::Cable, Kind::CableSheet]);
const HEATER_SHEET: KindSet = KindSet::of(&[Kind::HeaterSheet]);
const SUPPLIED: KindSet = KindSet::of(&[Kind::Vehicle, Kind::HeaterSheet]);
const TUBE_SHEET: KindSet = KindSet::of(&[Kind::HoseSheet, Kind::PipeSheet, Kind::DuctSheet]);
const BEARERS: KindSet = KindSet::of(&[Kind::HoseSheet, Kind::PipeSheet, Kind::DuctSheet, Kind::LineSheet]);
const LINE_SHEET: KindSet = KindSet::of(&[Kind::LineSheet]);

macro_rules! bounds {
    ($word:literal, $role:ident, $kinds:ident, $low:literal .. $high:literal $scale:ident, $what:literal) => {
        Bounds {
            word: $word,
            head: head_of($word),
            role: Role::$role,
            kinds: $kinds,
            low: $low,
            high: $high,
            scale: $scale,
            what: $what,
        }
    };
}

/// Sorted by word for the search above. Common practice, no source; wide on purpose.
static BOUNDS: &[Bounds] = &[
    bounds!("air-changes", Amount, SPACE, 0.0 .. 100.0 AN_HOUR, "air change"),
    bounds!("altitude", Amount, ALL, -450.0 .. 6000.0 METRES, "road's height"),
    bounds!("ambient", Amount, CABLE, -70.0 .. 150.0 CELSIUS, "air around a cable"),
    bounds!("at", Distance, ALL, 0.0 .. 30.0 METRES, "place in a vehicle"),
    bounds!("back", Distance, ALL, 0.0 .. 30.0 METRES, "leg in a vehicle"),
    bounds!("bears", Amount, BEARERS, -70.0 .. 1200.0 CELSIUS, "pipe, hose, duct or cable"),
    bounds!("bend", Angle, ALL, 0.0 .. 360.0 DEGREES, "bend"),
    bounds!("bore", Amount, LINE_SHEET, 0.5 .. 12.0 MILLIMETRES, "fuel line's bore"),
    bounds!("bore", Amount, TUBE_SHEET, 5.0 .. 200.0 MILLIMETRES, "hose, pipe or duct bore"),
    bounds!("carries", Amount, CABLE, 0.0 .. 500.0 AMPERES, "heater's current"),
    bounds!("charge", Amount, BATTERY, 0.0 .. 100.0 PER_CENT, "state of charge"),
    bounds!("charged-by", Current, BATTERY, 0.0 .. 500.0 AMPERES, "charger"),
    bounds!("clips-every", Amount, ALL, 10.0 .. 3000.0 MILLIMETRES, "distance between clips"),
    bounds!("combustion-air-limit", Amount, HEATER_SHEET, 0.1 .. 20.0 METRES, "heater's hose"),
    bounds!("combustion-air-limit", Bends, HEATER_SHEET, 0.0 .. 1080.0 DEGREES, "heater's hose"),
    bounds!("combustion-pressure", Amount, HEATER_SHEET, 5.0 .. 3000.0 PASCALS, "burner's fan"),
    bounds!("delivery-pressure", Amount, HEATER_SHEET, 1.0 .. 1000.0 KILOPASCALS, "dosing pump's pressure"),
    bounds!("design-cold", Amount, JOB, -70.0 .. 60.0 CELSIUS, "weather"),
    bounds!("design-hot", Amount, JOB, -70.0 .. 60.0 CELSIUS, "weather"),
    bounds!("dose", Amount, HEATER_SHEET, 0.001 .. 1.0 MILLILITRES, "dosing pump's stroke"),
    bounds!("down", Distance, ALL, 0.0 .. 30.0 METRES, "leg in a vehicle"),
    bounds!("drain-hole", Amount, ALL, 1.0 .. 20.0 MILLIMETRES, "drain hole"),
    bounds!("duct", Bore, ALL, 20.0 .. 200.0 MILLIMETRES, "air duct's bore"),
    bounds!("excess-air", Amount, HEATER_SHEET, 0.0 .. 300.0 PER_CENT, "burner's excess air"),
    bounds!("exhaust-and-air-limit", Amount, HEATER_SHEET, 0.2 .. 30.0 METRES, "heater's pipes"),
    bounds!("exhaust-and-air-limit", Bends, HEATER_SHEET, 0.0 .. 2160.0 DEGREES, "heater's pipes"),
    bounds!("exhaust-clear-of", Amount, HEATER_SHEET, 20.0 .. 5000.0 MILLIMETRES, "distance from a hot exhaust"),
    bounds!("exhaust-limit", Amount, HEATER_SHEET, 0.1 .. 20.0 METRES, "heater's exhaust"),
    bounds!("exhaust-limit", Bends, HEATER_SHEET, 0.0 .. 1080.0 DEGREES, "heater's exhaust"),
    bounds!("exhaust-temperature", Amount, HEATER_SHEET, 100.0 .. 900.0 CELSIUS, "burner's exhaust gas"),
    bounds!("fan", Flow, HEATER_SHEET, 5.0 .. 3000.0 CUBIC_METRES_AN_HOUR, "heater's fan"),
    bounds!("fan", Pressure, HEATER_SHEET, 10.0 .. 5000.0 PASCALS, "heater's fan"),
    bounds!("floor-height", Amount, ALL, 0.0 .. 5.0 METRES, "vehicle's floor"),
    bounds!("forward", Distance, ALL, 0.0 .. 30.0 METRES, "leg in a vehicle"),
    bounds!("fuel-rate", Amount, HEATER_SHEET, 0.01 .. 20.0 LITRES_AN_HOUR, "heater's fuel rate"),
    bounds!("fuse", Current, ALL, 0.1 .. 500.0 AMPERES, "heater's fuse"),
    bounds!("holds", Amount, TANK, 0.5 .. 3000.0 LITRES, "vehicle's tank"),
    bounds!("hose", Bore, ALL, 2.0 .. 200.0 MILLIMETRES, "hose's bore"),
    bounds!("hose", Outside, ALL, 2.0 .. 300.0 MILLIMETRES, "hose"),
    bounds!("insulation", Amount, CABLES, 40.0 .. 260.0 CELSIUS, "cable's insulation"),
    bounds!("internal-resistance", Amount, BATTERY, 0.1 .. 1000.0 MILLIOHMS, "battery's resistance"),
    bounds!("least-air-flow", Amount, HEATER_SHEET, 5.0 .. 3000.0 CUBIC_METRES_AN_HOUR, "heater's air"),
    bounds!("left", Distance, ALL, 0.0 .. 30.0 METRES, "leg in a vehicle"),
    bounds!("line", Bore, ALL, 0.5 .. 12.0 MILLIMETRES, "fuel line's bore"),
    bounds!("line", Outside, ALL, 1.0 .. 30.0 MILLIMETRES, "fuel line"),
    bounds!("made-of", Charge, BATTERY, 1.0 .. 3000.0 AMPERE_HOURS, "vehicle battery"),
    bounds!("made-of", Voltage, BATTERY, 1.0 .. 60.0 VOLTS, "vehicle battery"),
    bounds!("measured", Distance, ALL, -0.5 .. 30.0 METRES, "distance in a vehicle"),
    bounds!("mild-night", Amount, JOB, -70.0 .. 60.0 CELSIUS, "weather"),
    bounds!("nearside", Distance, ALL, 0.0 .. 30.0 METRES, "leg in a vehicle"),
    bounds!("offside", Distance, ALL, 0.0 .. 30.0 METRES, "leg in a vehicle"),
    bounds!("other-load", Amount, BATTERY, 0.0 .. 500.0 AMPERES, "load in a vehicle"),
    bounds!("output", Amount, HEATER_SHEET, 0.1 .. 60.0 KILOWATTS, "vehicle heater's output"),
    bounds!("outside", Amount, ALL, 0.5 .. 600.0 MILLIMETRES, "outside diameter"),
    bounds!("overheats", Amount, HEATER_SHEET, 40.0 .. 250.0 CELSIUS, "heater's guard"),
    bounds!("pipe", Bore, ALL, 2.0 .. 200.0 MILLIMETRES, "pipe's bore"),
    bounds!("pipe", Outside, ALL, 5.0 .. 300.0 MILLIMETRES, "pipe"),
    bounds!("reserve", Amount, TANK, 0.0 .. 3000.0 LITRES, "vehicle's tank"),
    bounds!("right", Distance, ALL, 0.0 .. 30.0 METRES, "leg in a vehicle"),
    bounds!("run", Distance, ALL, 0.0 .. 30.0 METRES, "run in a vehicle"),
    bounds!("runs-for", Amount, JOB, 0.0 .. 10000.0 HOURS, "heater's running time"),
    bounds!("size", Amount, ALL, 0.1 .. 150.0 SQUARE_MILLIMETRES, "heater's cable"),
    bounds!("snow-depth", Amount, JOB, 0.0 .. 5.0 METRES, "snow that a heater runs in"),
    bounds!("spans", Distance, ALL, 0.0 .. 30.0 METRES, "thing in a vehicle"),
    bounds!("stage", Current, HEATER_SHEET, 0.0 .. 500.0 AMPERES, "heater's current"),
    bounds!("stage", Duration, HEATER_SHEET, 0.0 .. 7200.0 SECONDS, "heater's stage"),
    bounds!("suction-pressure", Amount, HEATER_SHEET, 0.1 .. 100.0 KILOPASCALS, "pump's suction"),
    bounds!("supply", Amount, SUPPLIED, 6.0 .. 60.0 VOLTS, "vehicle's supply"),
    bounds!("surface", Area, SPACE, 0.0 .. 500.0 SQUARE_METRES, "surface in a vehicle"),
    bounds!("surface", Thickness, SPACE, 0.0 .. 500.0 MILLIMETRES, "layer in a vehicle's wall"),
    bounds!("temperature", Amount, BATTERY, -70.0 .. 60.0 CELSIUS, "battery's temperature"),
    bounds!("tilt", Amount, HEATER_SHEET, 0.0 .. 100.0 DEGREES, "heater's lean"),
    bounds!("up", Distance, ALL, 0.0 .. 30.0 METRES, "leg in a vehicle"),
    bounds!("voltage", Amount, HEATER_SHEET, 5.0 .. 75.0 VOLTS, "heater's supply"),
    bounds!("volume", Amount, SPACE, 0.1 .. 300.0 CUBIC_METRES, "space in a vehicle"),
    bounds!("wanted", Amount, SPACE, 0.0 .. 45.0 CELSIUS, "temperature that people want"),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vocabulary::property;

    #[test]
    fn a_cable_in_air_hotter_than_any_engine_is_told() {
        let found = |said: &str| {
            let example = format!(
                "cable supply of reader\n  from house\n  size 6 mm²\n{said}\n  run 150 mm\n  fuse 20 A\n  run 4 m\n  ends at reader"
            );
            let analysis = crate::bench::judge_example(&example);
            analysis.standing().filter(|finding| finding.rule.name == "implausible-value").count()
        };
        for (said, count) in [
            ("  ambient 500 °C", 1),
            ("  insulation 900 °C", 1),
            ("  ambient 248 °F\n  insulation 260 °C", 0),
            ("  ambient -40 °C\n  insulation 60 °C", 0),
        ] {
            assert_eq!(found(said), count, "{said}");
        }
    }

    #[test]
    fn the_bounds_are_sorted_and_about_words_that_exist() {
        for pair in BOUNDS.windows(2) {
            assert!(pair[0].word <= pair[1].word, "{} before {}", pair[0].word, pair[1].word);
        }
        for bounds in BOUNDS {
            assert!(bounds.low < bounds.high, "{}", bounds.word);
            let unit = find_unit(bounds.scale.unit).expect("a unit of the table");
            assert_eq!((unit.factor, unit.offset), (bounds.scale.factor, bounds.scale.offset), "{}", bounds.word);
            assert!(
                Kind::all().any(|kind| bounds.kinds.has(kind) && property(kind, bounds.word).is_some()),
                "no kind knows {}",
                bounds.word
            );
        }
    }
}

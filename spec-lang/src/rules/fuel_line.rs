//! Rules about the fuel line and its pump: lengths, lifts, pressures, tilt, bubbles, and the grade against the cold.
//! Distances from the exhaust are judged with the exhaust.
use super::margin::Told;
use super::ways::{Broken, SHEET, SHEET_OR_PRACTICE, above, allows, joined, lengths, limited};
use super::{Family, Findings, Guards, Rule};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::fuel_line::{Cold, FuelLine, FuelTaken, Side, SidePressure, class_in_words};
use crate::figures::ways::{Limit, length_unit};
use crate::finding::{Severity, Whose};
use crate::model::{Interval, Run, Start, unit_or};
use crate::physics::fuel::Fuel;
use crate::rules::About;
use crate::rules::Cause;
use crate::source::Place;
use crate::text::Span;
use crate::units::{Angle, Dimension, Unit};
use crate::vocabulary::{DIESEL_BLENDS, Kind};

pub(super) static RULES: &[&Rule] = &[
    &SUCTION_LINE_TOO_LONG,
    &SUCTION_LIFT_TOO_HIGH,
    &SUCTION_TOO_DEEP,
    &PRESSURE_LINE_TOO_LONG,
    &DELIVERY_LIFT_TOO_HIGH,
    &DELIVERY_PRESSURE_TOO_HIGH,
    &PUMP_OUTLET_DOWN,
    &PUMP_TILT_OUTSIDE_BAND,
    &PUMP_MISSING,
    &FUEL_BORE_TRAPS_GAS,
    &FUEL_GRADE_WAXES,
    &FUEL_GRADE_CLOUDS,
    &FUEL_DIFFERS,
];

/// Each fuel line of a job, with its run; none in a workshop file.
pub(super) fn lines_of<'a>(findings: &Findings<'a>) -> impl Iterator<Item = (&'a Run, &'a FuelLine)> + use<'a> {
    let (job, figures) = (findings.job, findings.figures);
    let lines = figures.fuel_lines.iter().filter(move |_| job.header.is_some());
    lines.filter_map(|line| job.runs.get(line.run).map(|run| (run, line)))
}

fn too_long<'a>(
    findings: &mut Findings<'_>,
    side: &'a Side,
    unit: &'static Unit,
    what: &str,
) -> Option<(Broken, &'a Limit)> {
    let limit = side.longest.as_ref()?;
    let told = || (side.longest_leg, what);
    above(findings, side.length, limit, lengths(unit), told).map(|broken| (broken, limit))
}

fn too_high<'a>(
    findings: &mut Findings<'_>,
    side: &'a Side,
    unit: &'static Unit,
    what: &str,
) -> Option<(Broken, &'a Limit)> {
    let limit = side.most_rise.as_ref()?;
    let told = || (side.highest_leg, what);
    above(findings, side.rise?, limit, lengths(unit), told).map(|broken| (broken, limit))
}

/// What the pump has to make there, in words, with every default that was taken; empty where it was not computed.
fn effort(side: &Side, line: &FuelLine, what: &str) -> String {
    let (Some(pressure), Some(fuel)) = (side.pressure, &line.fuel) else { return String::new() };
    let cold = if fuel.cold_stated { "" } else { " (assumed, since the job states no design cold)" };
    let class = match (fuel.fuel, fuel.class) {
        (Fuel::Diesel(taken), None) => format!(" with {} (assumed, since no class is named)", class_in_words(taken)),
        _ => String::new(),
    };
    format!(
        "at {}{cold}{class} {what} {}; {} of that is friction at mean flow",
        fuel.cold_unit.show(fuel.temperature.in_kelvin()),
        side.pressure_unit.show(pressure.worst),
        side.pressure_unit.show(pressure.friction)
    )
}

/// A pressure that stands on a default is no error: the true fuel may be thinner, the true cold milder.
fn held_to_defaults(broken: Broken, fuel: &FuelTaken) -> Broken {
    let taken = !fuel.cold_stated || matches!((fuel.fuel, fuel.class), (Fuel::Diesel(_), None));
    let severity = if taken { broken.severity.min(Severity::Warning) } else { broken.severity };
    Broken { severity, ..broken }
}

/// Whether the fuel is too near its filter plugging point at the cold it is judged at. Its friction is then nobody's
/// knowledge, and wax the cause to speak of.
fn waxes(fuel: &FuelTaken) -> bool {
    fuel.cold
        .as_ref()
        .is_some_and(|cold| fuel.temperature.above(cold.plugs).in_kelvin_difference() < cold.margin - 1e-9)
}

static SUCTION_LINE_TOO_LONG: Rule = Rule {
    name: "suction-line-too-long",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "too much line between tank and pump",
    source: SHEET_OR_PRACTICE,
    explanation: "A dosing pump pushes well and draws badly. The longer the line before it, the harder it has to draw, \
                  most of all with cold fuel. Gas comes out of the fuel and the dose shrinks. The heater starts late, \
                  smokes, or goes out at night.",
    mend: "Move the pump along the line towards the tank.",
    bad: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  forward       680 mm
  right         200 mm
  pump          outlet up 20°
  right         120 mm
  up            60 mm
  ends          at reader
"#,
    good: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    guards: Guards::Start,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::SUCTION, &[Need::Datasheet]])],
    find: |findings| {
        for (run, line) in lines_of(findings) {
            let Some(side) = &line.suction else { continue };
            let Some((broken, limit)) = too_long(findings, side, line.unit, "length from tank to pump") else {
                continue;
            };
            let reads = findings.job.reads(run);
            let title = format!("the suction side of `{reads}` {} long; {}", broken.is, allows(limit));
            let finding = findings
                .at(side.longest_leg, title)
                .label("the longest leg between tank and pump")
                .why(joined(&[&effort(side, line, "the pump has to draw"), &stroke(side), &broken.end]))
                .help(format!("move the pump {} nearer to the tank along the line", broken.beyond));
            findings.add(limited(finding, &broken, limit, "from tank to pump"));
        }
    },
};

static SUCTION_LIFT_TOO_HIGH: Rule = Rule {
    name: "suction-lift-too-high",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "a pump too high above its tank",
    source: SHEET_OR_PRACTICE,
    explanation: "Lifting fuel up to the pump lowers its pressure. Gas comes out of the fuel, petrol boils on a warm day, \
                  and the pump doses bubbles. The lift is the net rise from the tank's place to the pump.",
    mend: "Put the pump lower, near the tank.",
    bad: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            540 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  forward       680 mm
  right         320 mm
  down          180 mm
  ends          at reader
"#,
    good: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    guards: Guards::Start,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::SUCTION, &[Need::FuelRise, Need::Datasheet]])],
    find: |findings| {
        for (run, line) in lines_of(findings) {
            let Some(side) = &line.suction else { continue };
            let Some((broken, limit)) = too_high(findings, side, line.unit, "lift from tank to pump") else { continue };
            let reads = findings.job.reads(run);
            let title = format!("the pump of `{reads}` lifts fuel {} from the tank; {}", broken.so_much, allows(limit));
            let finding = findings
                .at(side.highest_leg, title)
                .label("the steepest leg between tank and pump")
                .why(joined(&[&effort(side, line, "the pump has to draw"), &stroke(side), &broken.end]))
                .help(format!("put the pump {} lower", broken.beyond));
            findings.add(limited(finding, &broken, limit, "of lift"));
        }
    },
};

static SUCTION_TOO_DEEP: Rule = Rule {
    name: "suction-too-deep",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "more suction than the pump can make",
    source: SHEET,
    explanation: "Length and lift may each be in order. A narrow bore and cold, thick fuel can still ask for more suction \
                  than the pump has. Judged at the design cold and the highest fuel rate: the height of the fuel column \
                  plus laminar friction at mean flow. Where the line is already too long or too high, this becomes a note \
                  on that finding.",
    mend: "Use a wider bore before the pump, or bring pump and tank nearer together.",
    bad: r#"
fuel-line of reader
  from          main by standpipe
  line          1 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  line          2.2 mm
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    good: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    guards: Guards::Start,
    measures: &[Dimension::Pressure],
    explained_by: &[Cause::on_block("suction-line-too-long"), Cause::on_block("suction-lift-too-high")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::SUCTION, &[Need::FuelRise, Need::FuelBore, Need::SheetFuelRate]])],
    find: |findings| {
        for (run, line) in lines_of(findings) {
            let Some(side) = &line.suction else { continue };
            let Some(fuel) = line.fuel.as_ref().filter(|fuel| !waxes(fuel)) else { continue };
            let (Some(pressure), Some(limit)) = (side.pressure, &side.most_pressure) else { continue };
            let told = || (side.longest_leg, "suction of the pump");
            let Some(broken) = above(findings, worst_of(pressure), limit, |_| side.pressure_unit, told) else {
                continue;
            };
            let broken = held_to_defaults(broken, fuel);
            let reads = findings.job.reads(run);
            let title = format!("the pump of `{reads}` has to draw {}; {}", broken.so_much, allows(limit));
            let finding = findings
                .at(side.longest_leg, title)
                .label("the longest leg between tank and pump")
                .why(joined(&[&effort(side, line, "the pump has to draw"), &stroke(side), &broken.end]))
                .help("use a wider bore before the pump, or bring pump and tank nearer together");
            findings.add(limited(finding, &broken, limit, "of suction"));
        }
    },
};

fn worst_of(pressure: SidePressure) -> Interval {
    Interval { low: pressure.as_meant, nominal: pressure.as_meant, high: pressure.worst }
}

static PRESSURE_LINE_TOO_LONG: Rule = Rule {
    name: "pressure-line-too-long",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "too much line between pump and heater",
    source: SHEET_OR_PRACTICE,
    explanation: "The pump pushes in strokes. A long line gives a little at each stroke and holds more gas, so the dose \
                  arrives late and spread out. The flame pulses, smokes and goes out. Mean flow understates what the pump \
                  must make. Where the sheet states the dose, the highest pressure that a stroke can need is given too.",
    mend: "Bring pump and heater nearer together, as far as the suction side allows.",
    bad: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  left          500 mm
  back          1600 mm
  right         820 mm
  forward       2280 mm
  up            60 mm
  ends          at reader
"#,
    good: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    guards: Guards::Start,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::SUCTION, &[Need::Datasheet]])],
    find: |findings| {
        for (run, line) in lines_of(findings) {
            let Some(side) = &line.pressure else { continue };
            let Some((broken, limit)) = too_long(findings, side, line.unit, "length from pump to heater") else {
                continue;
            };
            let reads = findings.job.reads(run);
            let title = format!("the pressure side of `{reads}` {} long; {}", broken.is, allows(limit));
            let finding = findings
                .at(side.longest_leg, title)
                .label("the longest leg between pump and heater")
                .why(joined(&[&effort(side, line, "the pump has to make"), &stroke(side), &broken.end]))
                .help(format!("shorten it by {}: bring pump and heater nearer together", broken.beyond));
            findings.add(limited(finding, &broken, limit, "from pump to heater"));
        }
    },
};

/// The bound while a stroke lasts, in words; empty where it was not computed.
fn stroke(side: &Side) -> String {
    side.pressure.and_then(|pressure| pressure.while_a_stroke_lasts).map_or(String::new(), |bound| {
        format!("while a stroke lasts it may be up to {}, in a line that does not give", side.pressure_unit.show(bound))
    })
}

static DELIVERY_LIFT_TOO_HIGH: Rule = Rule {
    name: "delivery-lift-too-high",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "a heater too high above its pump",
    source: SHEET_OR_PRACTICE,
    explanation: "At each stroke the pump lifts the whole column of fuel up to the heater. When the pump stops, the column \
                  presses back on it. Above the limit the dose shrinks, and fuel can seep where it should not.",
    mend: "Put the pump higher, as far as its suction lift allows.",
    bad: r#"
tank main
  fuel          diesel winter-1
  holds         60 L
  reserve       10 L

fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  run           900 mm, up 100 mm
  pump          outlet up 20°
  run           2.2 m, up 1.6 m
  ends          at reader
"#,
    good: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::SUCTION, &[Need::FuelRise, Need::Datasheet]])],
    find: |findings| {
        for (run, line) in lines_of(findings) {
            let Some(side) = &line.pressure else { continue };
            let Some((broken, limit)) = too_high(findings, side, line.unit, "rise from pump to heater") else {
                continue;
            };
            let reads = findings.job.reads(run);
            let title = format!("`{reads}` rises {} from pump to heater; {}", broken.so_much, allows(limit));
            let finding = findings
                .at(side.highest_leg, title)
                .label("the steepest leg between pump and heater")
                .why(joined(&[&effort(side, line, "the pump has to make"), &stroke(side), &broken.end]))
                .help(format!("put the pump {} higher, as far as its suction lift allows", broken.beyond));
            findings.add(limited(finding, &broken, limit, "of rise from pump to heater"));
        }
    },
};

static DELIVERY_PRESSURE_TOO_HIGH: Rule = Rule {
    name: "delivery-pressure-too-high",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "more pressure than the pump can make",
    source: SHEET,
    explanation: "Length and rise may each be in order. A narrow bore and cold, thick fuel can still ask for more pressure \
                  than the pump has. Judged at the design cold and the highest fuel rate: the height of the fuel column \
                  plus laminar friction at mean flow. The pump pushes in strokes of some 30 ms, so the true peak is \
                  higher. It lies between that figure and an upper bound, for a line that does not give. Where only the \
                  bound breaks the limit, it is advice. Where the line is already too long or too high, this becomes a \
                  note on that finding.",
    mend: "Use a wider bore behind the pump, one that still carries bubbles along, or a shorter route.",
    bad: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  line          1 mm
  left          500 mm
  back          1400 mm
  right         820 mm
  forward       2080 mm
  up            60 mm
  ends          at reader
"#,
    good: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  line          2.2 mm
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    guards: Guards::Start,
    measures: &[Dimension::Pressure],
    explained_by: &[Cause::on_block("pressure-line-too-long"), Cause::on_block("delivery-lift-too-high")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::SUCTION, &[Need::FuelRise, Need::FuelBore, Need::SheetFuelRate]])],
    find: |findings| {
        for (run, line) in lines_of(findings) {
            let Some(side) = &line.pressure else { continue };
            let Some(fuel) = line.fuel.as_ref().filter(|fuel| !waxes(fuel)) else { continue };
            let (Some(pressure), Some(limit)) = (side.pressure, &side.most_pressure) else { continue };
            let unit = |_| side.pressure_unit;
            let told = || (side.longest_leg, "delivery pressure of the pump at mean flow");
            let mean = above(findings, worst_of(pressure), limit, unit, told);
            let told = || (side.longest_leg, "delivery pressure of the pump while a stroke lasts");
            let bound = pressure.while_a_stroke_lasts.map(Interval::exact);
            let bound = bound.and_then(|bound| above(findings, bound, limit, unit, told));
            let (broken, at_mean) = match (mean, bound) {
                (Some(mean), _) => (held_to_defaults(mean, fuel), true),
                (None, Some(bound)) => (Broken { severity: Severity::Advice, ..bound }, false),
                (None, None) => continue,
            };
            let reads = findings.job.reads(run);
            let title = if at_mean {
                format!("the pump of `{reads}` has to make {}; {}", broken.so_much, allows(limit))
            } else {
                format!("a stroke of the pump of `{reads}` may need up to {}; {}", broken.value, allows(limit))
            };
            let finding = findings
                .at(side.longest_leg, title)
                .label("the longest leg between pump and heater")
                .why(joined(&[&effort(side, line, "the pump has to make"), &stroke(side), &broken.end]))
                .help("use a wider bore behind the pump, or a shorter route");
            findings.add(limited(finding, &broken, limit, "of delivery pressure"));
        }
    },
};

/// What a tilt without a size of its own is counted against.
const RIGHT_ANGLE: f64 = std::f64::consts::FRAC_PI_2;

static PUMP_OUTLET_DOWN: Rule = Rule {
    name: "pump-outlet-down",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "a pump whose outlet points down",
    source: "common practice, no source: no dosing pump works for long with its outlet down",
    explanation: "Gas can leave the pump only if the outlet is the high end. With the outlet down the gas stays, and the \
                  piston squeezes gas instead of fuel. The heater gets too little: it starts hard, smokes, and goes out \
                  when it is needed. Outlet down is wrong, whatever tilt the data sheet allows.",
    mend: "Turn the pump over: outlet up, at the tilt that its sheet gives.",
    bad: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet down 10°
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    good: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    guards: Guards::Start,
    measures: &[Dimension::Angle],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::FuelPump]])],
    find: |findings| {
        for (run, line) in lines_of(findings) {
            let Some(pump) = &line.pump else { continue };
            let Some(tilt) = pump.tilt else { continue };
            let degree = unit_or(None, "°");
            let told = || {
                Told::new(pump.place, "tilt of the pump, outlet up", degree, Whose::CommonPractice).against(RIGHT_ANGLE)
            };
            let verdict = findings.at_least(tilt, 0.0, 0.0, told);
            if verdict.keeps() {
                continue;
            }
            let shown = |angle: f64| degree.show(angle.abs());
            let as_meant = verdict.certain();
            let reads = findings.job.reads(run);
            let title = if as_meant {
                format!("the pump of `{reads}` has its outlet down by {}", shown(tilt.nominal))
            } else {
                format!("the pump of `{reads}` may have its outlet down by up to {}", shown(tilt.low))
            };
            let end = if as_meant { "" } else { "only the low end of the tolerance points down" };
            let mut finding = findings
                .at(pump.place, title)
                .label("gas cannot leave")
                .why(joined(&["gas rises to the high end; with the outlet down it cannot leave there", end]))
                .limit("outlet up, 0° at the least", Whose::CommonPractice)
                .help(match &pump.band {
                    Some((band, limit)) => {
                        format!(
                            "turn the pump over: outlet up {} to {}",
                            limit.unit.show(band.low),
                            limit.unit.show(band.high)
                        )
                    }
                    None => "turn the pump over: outlet up 15° to 35°".to_string(),
                });
            if !as_meant {
                finding.severity = Severity::Warning;
            } else if let Some(at) = findings.job.text(pump.place).find("down") {
                let start = pump.place.span.start as usize + at;
                let place = Place { file: pump.place.file, span: Span::new(start, start + "down".len()) };
                finding = finding.replace_at("write `up`, and turn the pump over", place, "up", false);
            }
            if let Some(place) = pump.band.as_ref().and_then(|(_, limit)| limit.place) {
                finding = finding.related(place, "the sheet's band");
            }
            findings.add(finding);
        }
    },
};

static PUMP_TILT_OUTSIDE_BAND: Rule = Rule {
    name: "pump-tilt-outside-band",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "a pump tilted too little or too much",
    source: "the heater's data sheet, else common practice (no source): outlet up 15° or more",
    explanation: "With enough tilt, gas passes through the pump to the heater in small bubbles. A pump that lies flat \
                  keeps the gas, and the dose shrinks. Some pumps also have a highest tilt.",
    mend: "Turn the pump in its holder.",
    bad: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 5°
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    good: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 25°
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    guards: Guards::Start,
    measures: &[Dimension::Angle],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::FuelPump]])],
    find: |findings| {
        for (run, line) in lines_of(findings) {
            let Some(pump) = &line.pump else { continue };
            let Some(tilt) = pump.tilt.filter(|tilt| tilt.low >= 0.0) else { continue };
            let least = Angle::degrees(15.0).in_radians();
            let (low, high, limit) = match &pump.band {
                Some((band, limit)) => (band.low, band.high, limit.clone()),
                None => {
                    let whose = Whose::CommonPractice;
                    (least, f64::INFINITY, Limit { value: least, whose, place: None, unit: unit_or(None, "°") })
                }
            };
            let room = 1e-9;
            let told = |what| Told::new(pump.place, what, limit.unit, limit.whose.clone());
            let low_enough =
                !high.is_finite() || findings.at_most(tilt, high, room, || told("highest tilt of the pump")).keeps();
            if findings.at_least(tilt, low, room, || told("lowest tilt of the pump")).keeps() && low_enough {
                continue;
            }
            let as_meant = tilt.nominal < low - room || tilt.nominal > high + room;
            let worst = if tilt.low < low - room { tilt.low } else { tilt.high };
            let shown = limit.unit.show(if as_meant { tilt.nominal } else { worst });
            let band = if high.is_finite() {
                format!("{} to {}", limit.unit.show(low), limit.unit.show(high))
            } else {
                format!("{} or more", limit.unit.show(low))
            };
            let whose = match &limit.whose {
                Whose::Sheet(name) => format!("data sheet `{name}` asks for {band}"),
                _ => format!("common practice is {band}"),
            };
            let (verb, end) = if as_meant {
                ("is tilted", String::new())
            } else {
                (
                    "may be tilted",
                    format!(
                        "only one end of the tolerance is outside; without it the tilt is {}",
                        limit.unit.show(tilt.nominal)
                    ),
                )
            };
            let reads = findings.job.reads(run);
            let mut finding = findings
                .at(pump.place, format!("the pump of `{reads}` {verb} {shown}, outlet up; {whose}"))
                .label(format!("{shown} from level"))
                .why(joined(&["a pump lets gas through only while its outlet stands high enough", &end]))
                .limit(format!("{band}, outlet up"), limit.whose.clone())
                .help("turn the pump in its holder");
            if !(as_meant && matches!(limit.whose, Whose::Sheet(_))) {
                finding.severity = Severity::Warning;
            }
            if let Some(place) = limit.place {
                finding = finding.related(place, "the sheet's band");
            }
            findings.add(finding);
        }
    },
};

static PUMP_MISSING: Rule = Rule {
    name: "pump-missing",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a fuel line without its pump",
    source: "the heater's data sheet, which speaks of a pump in the line",
    explanation: "The data sheet gives limits before and behind a pump, so the line needs one. Until its place is written, \
                  neither side can be judged. A pump too far from the tank is the most common fault of a fuel line.",
    mend: "Write `pump outlet up 20°` between the legs where the pump sits.",
    bad: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    good: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    guards: Guards::Start,
    measures: &[],
    explained_by: &[],
    about: About::Absent,
    asks: &[Ask::each(Kind::Heater, &[&[Need::FuelFrom, Need::Datasheet, Need::FuelEnds]])],
    find: |findings| {
        if findings.job.hidden.has(Kind::FuelLine) {
            return; // a paragraph nobody could place may hold the pump
        }
        for (run, line) in lines_of(findings) {
            // A line that is still being written has no end yet.
            if line.pump.is_some() || !line.needs_pump || !line.whole || run.end.is_none() {
                continue;
            }
            let Some(length) = run.walk.length.map(|length| length.nominal).filter(|length| *length > 0.0) else {
                continue;
            };
            let shown = length_unit(line.unit, length).show(length);
            let reads = findings.job.reads(run);
            let finding = findings
                .at(run.header, format!("`{reads}` goes {shown} from tank to heater without a pump"))
                .label("no `pump` in this block")
                .why("the heater's data sheet speaks of a pump; until its place is written, neither suction nor delivery can be judged")
                .help("write `pump outlet up 20°` between the legs where the pump sits, near the tank");
            findings.add(finding);
        }
    },
};

/// Least length lying level or falling, in m, in which gas is worth a word. Common practice, no source.
const WORTH_A_WORD: f64 = 0.3;

static FUEL_BORE_TRAPS_GAS: Rule = Rule {
    name: "fuel-bore-traps-gas",
    family: Family::FuelLine,
    severity: Severity::Advice,
    title: "a fuel line so wide that gas gathers in it",
    source: "Bretherton 1961, J. Fluid Mech. 10, 166: a long bubble rises by itself above a Bond number of 0.842",
    explanation: "In a narrow line every bubble fills the bore, and the fuel carries it along to the heater. In a wider \
                  line the fuel passes beneath the bubble. The gas stays where the line is level or falls. It grows and \
                  arrives all at once, and the flame goes out for no reason that anybody finds. For diesel the border is \
                  about 3.4 mm. Wider lines are judged where at least 300 mm in all is level or falls, and where a line \
                  falls again after a high point.",
    mend: "Use a narrower line, or let it rise all the way to the heater.",
    bad: r#"
fuel-line of reader
  from          main by standpipe
  line          5 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  line          2.2 mm
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    good: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  forward       680 mm
  right         320 mm
  up            60 mm
  ends          at reader
"#,
    guards: Guards::Start,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::FuelBore]])],
    find: |findings| {
        for (run, line) in lines_of(findings) {
            let Some(critical) = line.critical_bore else { continue };
            for part in &line.wide {
                let unit = length_unit(line.unit, part.lies);
                let told =
                    || Told::new(part.place, "length of wide line that is level or falls", unit, Whose::CommonPractice);
                let keeps = findings.at_most(part.lies, WORTH_A_WORD, -1e-9, told).keeps();
                if keeps && part.high_points == 0 {
                    continue;
                }
                let border = part.unit.show(critical);
                let lies = length_unit(line.unit, part.lies).show(part.lies);
                let reads = findings.job.reads(run);
                let high_points = match part.high_points {
                    0 => String::new(),
                    1 => "it falls again after a high point, where gas stays".to_string(),
                    many => format!("it falls again after {many} high points, where gas stays"),
                };
                let finding = findings
                    .at(
                        part.place,
                        format!(
                            "gas can gather in {lies} of `{reads}`: its bore is {}, and bubbles are carried along only up to {border}",
                            part.unit.show(part.bore)
                        ),
                    )
                    .label(format!("{lies} of this is level or falls"))
                    .why(joined(&["in a wider bore fuel passes beneath a bubble instead of pushing it on", &high_points]))
                    .limit(
                        format!("{border} of bore where the line is level or falls"),
                        Whose::Standard("Bretherton 1961, J. Fluid Mech. 10, 166"),
                    )
                    .help("use a narrower line, or let it rise all the way");
                findings.add(finding);
            }
        }
    },
};

static FUEL_GRADE_WAXES: Rule = Rule {
    name: "fuel-grade-waxes",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a diesel grade that waxes at the design cold",
    source: "EN 590 tables 2 and 3 (cold filter plugging point), with 3 K of margin (common practice, no source)",
    explanation: "Diesel drops wax in the cold. The standard's classes say how cold it may get before it plugs a filter. A \
                  heater's line gets no warm fuel back from an engine and stands in the cold all night, so the design cold \
                  should stay 3 K above that point. The name of a blend, and a grade of ASTM D975, say nothing of cold: such \
                  a fuel is taken as the poorest sold, unless its class or its cloud point is stated. Petrol is not judged.",
    mend: "Fill up with a colder grade before that weather comes, state the class or the cloud point of the supplier's papers, or state the design cold that the job really has \
                  to bear.",
    bad: r#"
tank main
  fuel          diesel class-D
  holds         60 L
  reserve       10 L
  at            back 3200 mm, left 450 mm, up 250 mm
"#,
    good: r#"
tank main
  fuel          diesel winter-1
  holds         60 L
  reserve       10 L
  at            back 3200 mm, left 450 mm, up 250 mm
"#,
    guards: Guards::Start,
    measures: &[Dimension::Temperature],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[&[Need::TankFuel, Need::FuelFrom]]),
        Ask::each(Kind::Heater, &[&[Need::TankGrade, Need::DesignCold]]).only(when::diesel),
    ],
    find: |findings| {
        let Some(cold) = findings.job.conditions.design_cold.fact().copied() else { return };
        let mut told: Vec<usize> = Vec::new();
        for (_, line) in lines_of(findings) {
            let (Some(tank), Some(fuel)) = (line.tank, &line.fuel) else { continue };
            let (Some(bears), Some(grade)) = (&fuel.cold, &fuel.grade) else { continue };
            let (unit, plugs) = (cold.value.unit, bears.plugs);
            if told.contains(&tank) {
                continue;
            }
            let over = fuel.temperature.above(plugs).in_kelvin_difference();
            let words = || {
                Told::new(
                    grade.written,
                    "margin of the design cold above the fuel's plugging point",
                    unit_or(None, "K"),
                    bears.plugs_by.clone(),
                )
                .difference()
            };
            if findings.at_least(over, bears.margin, 1e-9, words).keeps() {
                continue;
            }
            told.push(tank);
            let name = findings.job.tanks.get(tank).map_or("", |tank| tank.name.as_str());
            let title = format!(
                "`{}` in tank `{name}` may plug at {}; the design cold is {}",
                grade.value,
                unit.show(plugs.in_kelvin()),
                unit.show(fuel.temperature.in_kelvin())
            );
            let end = if cold.value.nominal > fuel.temperature.in_kelvin() {
                format!(
                    "judged at the cold end of the design cold's tolerance; without it the design cold is {}",
                    unit.show(cold.value.nominal)
                )
            } else {
                String::new()
            };
            let least = unit.show(plugs.in_kelvin() + bears.margin);
            let finding = findings
                .at(grade.written, title)
                .label(read_as(fuel, bears))
                .why(joined(&[
                    "wax blocks the pickup and the pump's strainer, and no warm fuel comes back to melt it",
                    &end,
                ]))
                .limit(
                    match bears.margin > 0.0 {
                        true => format!("{least} at the coldest, 3 K above the plugging point"),
                        false => format!("{least} at the coldest, the stated cloud point"),
                    },
                    bears.plugs_by.clone(),
                )
                .help(match (bears.class, bears.margin > 0.0, DIESEL_BLENDS.contains(&grade.value)) {
                    (None, true, true) => format!(
                        "state the class that the supplier names, as in `{}, class-F`, or fill up with a colder grade",
                        grade.value
                    ),
                    (None, true, false) => format!(
                        "state the cloud point of the supplier's papers, as in `{}, cloud -18 °C`, or fill up with a colder grade",
                        grade.value
                    ),
                    _ => "fill up with a colder grade before that weather comes".to_string(),
                })
                .related(cold.written, "the design cold");
            findings.add(finding);
        }
    },
};

/// What a grade is read as.
fn read_as(fuel: &FuelTaken, bears: &Cold) -> String {
    match (bears.class, &fuel.grade) {
        (None, Some(grade)) => format!("`{}`: {}", grade.value, bears.reads),
        _ => format!("read as {}", bears.reads),
    }
}

static FUEL_GRADE_CLOUDS: Rule = Rule {
    name: "fuel-grade-clouds",
    family: Family::FuelLine,
    severity: Severity::Advice,
    title: "a diesel grade that clouds at the design cold",
    source: "the cloud point that the job states; else EN 590 table 3 (arctic classes, secondary copy; the temperate ones have none)",
    explanation: "Below its cloud point diesel is full of wax. For a while a filter still lets that through. The plugging \
                  point is measured in minutes, in fuel that is kept moving. A heater's line stands in the cold all night \
                  and gets no warm fuel back, so wax settles in pickup, strainer and pump long before the fuel reaches its \
                  plugging point. Nothing is said where the fuel already plugs.",
    mend: "Fill up with a colder grade, or keep line and pump out of the wind.",
    bad: r#"
job "clouds"
  design-cold   -19 °C

tank main
  fuel          diesel winter-1
  holds         60 L
  reserve       10 L
  at            back 3200 mm, left 450 mm, up 250 mm
"#,
    good: r#"
job "clear"
  design-cold   -19 °C

tank main
  fuel          diesel winter-2
  holds         60 L
  reserve       10 L
  at            back 3200 mm, left 450 mm, up 250 mm
"#,
    guards: Guards::Start,
    measures: &[Dimension::Temperature],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[&[Need::TankFuel, Need::FuelFrom]]),
        Ask::each(Kind::Heater, &[&[Need::TankGrade, Need::DesignCold]]).only(when::diesel),
    ],
    find: |findings| {
        let Some(cold) = findings.job.conditions.design_cold.fact().copied() else { return };
        let mut told: Vec<usize> = Vec::new();
        for (_, line) in lines_of(findings) {
            let (Some(tank), Some(fuel)) = (line.tank, &line.fuel) else { continue };
            let (Some(bears), Some(grade)) = (&fuel.cold, &fuel.grade) else { continue };
            let Some(clouds) = bears.clouds.filter(|_| !waxes(fuel)) else { continue };
            if told.contains(&tank) {
                continue;
            }
            let unit = cold.value.unit;
            let words = || {
                Told::new(grade.written, "design cold, against the fuel's cloud point", unit, bears.clouds_by.clone())
            };
            if findings.at_least(fuel.temperature.in_kelvin(), clouds.in_kelvin(), 0.0, words).keeps() {
                continue;
            }
            told.push(tank);
            let name = findings.job.tanks.get(tank).map_or("", |tank| tank.name.as_str());
            let (shown, point) = (unit.show(fuel.temperature.in_kelvin()), unit.show(clouds.in_kelvin()));
            let finding = findings
                .at(grade.written, format!("`{}` in tank `{name}` may cloud at {point}; the design cold is {shown}", grade.value))
                .label(read_as(fuel, bears))
                .why("the line stands in the cold all night and gets no warm fuel back, so wax settles where the fuel is slow")
                .limit(
                    format!("{point} at the coldest, its cloud point"),
                    bears.clouds_by.clone(),
                )
                .help("fill up with a colder grade before that weather comes, or keep line and pump out of the wind")
                .related(cold.written, "the design cold");
            findings.add(finding);
        }
    },
};

static FUEL_DIFFERS: Rule = Rule {
    name: "fuel-differs",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "a heater on a fuel it is not built for",
    source: "the fuel of the heater's data sheet",
    explanation: "A diesel burner fed with petrol floods and can flash over. A petrol burner fed with diesel soots up. The \
                  fuel line must start at a tank that holds what the data sheet says the heater burns.",
    mend: "Draw from a tank with the right fuel, or fit the heater's other version.",
    bad: r#"
tank main
  fuel          petrol
  holds         60 L
  reserve       10 L
  at            back 3200 mm, left 450 mm, up 250 mm
"#,
    good: r#"
tank main
  fuel          diesel winter-1
  holds         60 L
  reserve       10 L
  at            back 3200 mm, left 450 mm, up 250 mm
"#,
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::TankFuel, Need::SheetBurns]])],
    find: |findings| {
        let job = findings.job;
        if job.header.is_none() {
            return;
        }
        for run in job.runs.iter().filter(|run| run.kind == Kind::FuelLine) {
            let Start::Tank(tank) = run.start else { continue };
            let (Some(tank), Some(sheet)) = (job.tanks.get(tank), run.heater.and_then(|heater| job.sheet_of(heater)))
            else {
                continue;
            };
            let (Some(holds), Some(burns)) = (tank.fuel.fact(), sheet.burns.fact()) else { continue };
            if holds.value == burns.value {
                continue;
            }
            let (holds_text, burns_text) = (holds.value, burns.value);
            let finding = findings
                .at(run.header, format!("`{}` draws {holds_text}, but its heater burns {burns_text}", job.reads(run)))
                .label(format!("draws {holds_text} from `{}`", tank.name))
                .limit(burns_text, Whose::Sheet(sheet.name.clone()))
                .related(holds.written, "the fuel in the tank")
                .related(burns.written, "the fuel that the data sheet asks for")
                .help(format!("draw from a tank of {burns_text}, or fit the heater's version for {holds_text}"));
            findings.add(finding);
        }
    },
};

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::ways::tests::found;

    /// A fuel line over the bench job: bore and legs of each side, in lengths and rises alone.
    fn line(suction: &str, pump: &str, pressure: &str) -> String {
        format!(
            "tank main\n  fuel          diesel winter-1\n\nfuel-line of reader\n  from          main by standpipe\n{suction}  {pump}\n{pressure}  ends          at reader"
        )
    }

    const GOOD_SUCTION: &str = "  line          2.2 mm\n  run           1 m, up 200 mm\n";
    const GOOD_PRESSURE: &str = "  line          2.2 mm\n  run           2 m, up 200 mm\n";
    const GOOD_PUMP: &str = "pump          outlet up 20°";

    #[test]
    fn one_cause_is_told_once() {
        assert!(found(&line(GOOD_SUCTION, GOOD_PUMP, GOOD_PRESSURE)).is_empty());
        let rules = |example: &str| -> Vec<&str> { found(example).iter().map(|(rule, ..)| *rule).collect() };
        // Too long and so narrow that the pressures break too: the length is the cause.
        let narrow = "  line          1 mm\n  run           7 m, up 200 mm\n";
        assert_eq!(rules(&line(GOOD_SUCTION, GOOD_PUMP, narrow)), ["pressure-line-too-long"]);
        let narrow = "  line          0.8 mm\n  run           2.5 m, up 200 mm\n";
        assert_eq!(rules(&line(narrow, GOOD_PUMP, GOOD_PRESSURE)), ["suction-line-too-long"]);
        // Outlet down is outside the sheet's band as well.
        assert_eq!(rules(&line(GOOD_SUCTION, "pump          outlet down 20°", GOOD_PRESSURE)), ["pump-outlet-down"]);
        assert_eq!(rules(&line(GOOD_SUCTION, "pump          level", GOOD_PRESSURE)), ["pump-tilt-outside-band"]);
    }

    #[test]
    fn only_a_stroke_in_a_line_that_does_not_give_is_advice() {
        // 4 m of 1.5 mm at -15 °C: mean flow asks for less than 20 kPa, a stroke of 0.025 mL for some 140 kPa at most.
        let narrow = "  line          1.5 mm\n  run           4 m, up 200 mm\n";
        let over = found(&line(GOOD_SUCTION, GOOD_PUMP, narrow));
        let [("delivery-pressure-too-high", Severity::Advice, title)] = over.as_slice() else { panic!("{over:?}") };
        assert!(title.contains("may need up to"), "{title}");
    }

    #[test]
    fn a_pump_that_may_hang_down_is_a_warning() {
        let over = found(&line(GOOD_SUCTION, "pump          outlet up 5° ± 10°", GOOD_PRESSURE));
        assert!(matches!(over.as_slice(), [("pump-outlet-down", Severity::Warning, _)]), "{over:?}");
        let over = found(&line(GOOD_SUCTION, "pump          outlet up 20° ± 10°", GOOD_PRESSURE));
        assert!(matches!(over.as_slice(), [("pump-tilt-outside-band", Severity::Warning, _)]), "{over:?}");
    }

    #[test]
    fn wax_is_judged_at_the_cold_end_and_only_of_a_known_class() {
        let tank = |grade: &str, cold: &str| {
            format!(
                "job \"wax\"\n  design-cold   {cold}\n\ntank main\n  fuel          {grade}\n  at            back 3200 mm, left 450 mm, up 250 mm"
            )
        };
        // EN 590: class F passes a filter down to -20 °C; 3 K above is -17 °C.
        assert!(found(&tank("diesel class-F", "-17 °C")).is_empty());
        assert!(matches!(found(&tank("diesel class-F", "-18 °C")).as_slice(), [("fuel-grade-waxes", _, _)]));
        assert!(matches!(found(&tank("diesel class-F", "-15 °C ± 4 K")).as_slice(), [("fuel-grade-waxes", _, _)]));
        // What says nothing of cold is taken at its poor end; what its supplier says of it counts.
        for poor in ["diesel b100", "diesel no-2", "diesel b7"] {
            assert!(matches!(found(&tank(poor, "-15 °C")).as_slice(), [("fuel-grade-waxes", _, _)]), "{poor}");
        }
        for good in ["diesel b100, class-F", "diesel no-2, cloud -15 °C", "diesel no-1", "diesel hvo, winter-1"] {
            assert!(found(&tank(good, "-15 °C")).is_empty(), "{good}");
        }
        assert!(matches!(found(&tank("diesel no-2, cloud -14 °C", "-15 °C")).as_slice(), [("fuel-grade-waxes", _, _)]));
        // A word that is no grade is one finding, which guards all that would have rested on it.
        for slip in ["diesel wnter", "diesel b100-class-F", "diesel winter-1, class-F"] {
            let text = tank(slip, "-15 °C");
            let analysis = crate::bench::judge_example(&text);
            let told: Vec<_> = analysis.standing().map(|finding| finding.rule).collect();
            assert!(matches!(told.as_slice(), [only] if only.guards == Guards::Text), "{slip}: {told:?}");
        }
        for silent in ["diesel", "petrol", "petrol winter"] {
            let found = found(&tank(silent, "-25 °C"));
            assert!(found.iter().all(|(rule, ..)| *rule != "fuel-grade-waxes"), "{silent}");
        }
    }

    #[test]
    fn a_pressure_that_stands_on_a_default_names_it_and_is_no_error() {
        let narrow = line("  line          1 mm\n  run           1.5 m, up 200 mm\n", GOOD_PUMP, GOOD_PRESSURE);
        assert!(
            matches!(found(&narrow).as_slice(), [("suction-too-deep", Severity::Error, _)]),
            "{:?}",
            found(&narrow)
        );
        let blend = narrow.replace("diesel winter-1", "diesel");
        assert!(
            matches!(found(&blend).as_slice(), [("suction-too-deep", Severity::Warning, _)]),
            "{:?}",
            found(&blend)
        );
        // Fuel that waxes has no friction to speak of: wax is the cause that is told.
        let waxed = narrow.replace("winter-1", "class-D");
        assert!(matches!(found(&waxed).as_slice(), [("fuel-grade-waxes", _, _)]), "{:?}", found(&waxed));
    }

    #[test]
    fn gas_gathers_only_where_a_wide_bore_lies_level_or_falls() {
        let wide = |rise: &str| format!("  line          5 mm\n  run           1 m, {rise}\n");
        let rising = found(&line(&wide("up 200 mm"), GOOD_PUMP, GOOD_PRESSURE));
        assert!(rising.iter().all(|(rule, ..)| *rule != "fuel-bore-traps-gas"), "{rising:?}");
        // A short fall behind a rise makes a high point, though less than 300 mm of it falls.
        let arch = "  line          5 mm\n  run           700 mm, up 200 mm\n  run           150 mm, down 100 mm\n";
        let arched = found(&line(arch, GOOD_PUMP, GOOD_PRESSURE));
        assert!(matches!(arched.as_slice(), [("fuel-bore-traps-gas", Severity::Advice, _)]), "{arched:?}");
        let flat = found(&line(&wide("down 200 mm"), GOOD_PUMP, GOOD_PRESSURE));
        assert!(matches!(flat.as_slice(), [("fuel-bore-traps-gas", Severity::Advice, _)]), "{flat:?}");
    }
}

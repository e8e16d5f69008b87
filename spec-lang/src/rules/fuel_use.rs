//! Rules on what a heater makes of its fuel and on what stands in its line: the sheet's own numbers, priming, the pump's place,
//! sleeves, filters, joints where people are. Lengths, lifts and pressures are judged in `fuel_line`, the tank in `pickup`.

use super::exhaust::lived_in;
use super::fuel_line::lines_of;
use super::margin::Told;
use super::{Family, Findings, Guards, Rule};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::fuel_use::sheet_efficiencies;
use crate::finding::{Finding, Severity, Whose};
use crate::model::{HeaterSheet, Met, Run, Space, Spot, unit_or};
use crate::rules::About;
use crate::rules::Cause;
use crate::source::Place;
use crate::units::{Dimension, Temperature, rounded};
use crate::vocabulary::Kind;

pub(super) static RULES: &[&Rule] = &[
    &SHEET_OUTPUT_IMPLAUSIBLE,
    &MANY_STARTS_TO_PRIME,
    &PUMP_HARD_MOUNTED,
    &PUMP_IN_WARM_PLACE,
    &SLEEVE_LONG_OR_GAPING,
    &FILTER_MISSING,
    &FUEL_JOINT_INDOORS,
];

/// The space that people use in which a place lies for sure.
fn space_around<'a>(findings: &Findings<'a>, run: &Run, spot: &Spot) -> Option<&'a Space> {
    let job = findings.job;
    job.spaces.iter().filter(|space| space.body == run.body).find(|space| {
        let used =
            space.usage.get().is_some_and(|usage| matches!(*usage, "seated" | "sleeping" | "driving" | "working"));
        let inside = space.outline.is_some_and(|outline| {
            let (low, high, at, doubt) = (outline.low(), outline.high(), spot.point, spot.doubt);
            let within = |low: f64, at: f64, doubt: f64, high: f64| low <= at - doubt && at + doubt <= high;
            within(low.x, at.x, doubt.x, high.x)
                && within(low.y, at.y, doubt.y, high.y)
                && within(low.z, at.z, doubt.z, high.z)
        });
        used && inside
    })
}

/// Below this share of the fuel's heat a sheet's numbers are taken for a slip. Common practice, no source: such heaters reach 70
/// to 90 %.
const LEAST_EFFICIENCY: f64 = 0.5;

static SHEET_OUTPUT_IMPLAUSIBLE: Rule = Rule {
    name: "sheet-output-implausible",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a data sheet whose output and fuel rate do not fit together",
    source: "energy balance on the lower heating value: 100 % at most; below 50 % one of the numbers is taken for a slip (common practice, no source)",
    explanation: "No heater gives more heat than its fuel holds, and none on the market loses half of it. Where a sheet's output and fuel rate say so, one of the two numbers is wrong. Then the hours on the tank and every exhaust figure are wrong too.",
    mend: "Look up both numbers again in the maker's papers.",
    bad: "datasheet heater wonder-2               # invented\n  warms         air\n  burns         diesel\n  output        0.9 kW .. 2.4 kW\n  fuel-rate     0.11 L/h .. 0.19 L/h\n  supply        12 V\n  voltage       10.2 V .. 15.5 V\n  stage         pre-heat, 9.5 A peak, 90 s\n  stage         ignition, 8 A, 90 s\n  stage         high, 2.8 A\n  port          exhaust right 40 mm, down 60 mm, facing down\n  port          combustion-air forward 110 mm, left 40 mm, down 60 mm, facing down\n  port          fuel back 120 mm, left 40 mm, down 60 mm, facing down\n  spans         forward 310 mm, left 120 mm, up 122 mm\n  fuse          20 A\n\nheater reader\n  datasheet     wonder-2\n  in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward",
    good: "heater reader\n  datasheet     air-2\n  in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward",
    guards: Guards::Start,
    measures: &[Dimension::Ratio],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::SheetOutput, Need::SheetFuelRate, Need::SheetBurns]])],
    find: |findings| {
        let job = findings.job;
        // In a workshop file every sheet of it; in a job the sheets that its heaters use, pointed at where they are used.
        let mut judged: Vec<(&HeaterSheet, Option<Place>)> = Vec::new();
        if job.header.is_none() {
            judged.extend(job.heater_sheets.iter().filter(|sheet| job.own(sheet.header)).map(|sheet| (sheet, None)));
        }
        for (number, heater) in job.heaters.iter().enumerate() {
            let Some(sheet) = job.sheet_of(number) else { continue };
            if job.header.is_some() && judged.iter().all(|(known, _)| known.header != sheet.header) {
                judged.push((sheet, heater.sheet_place.filter(|_| !job.own(sheet.header))));
            }
        }
        for (sheet, used) in judged {
            let (Some(output), Some(rate)) = (sheet.output.fact(), sheet.fuel_rate.fact()) else { continue };
            let ends = sheet_efficiencies(sheet);
            let mut broken = None;
            for end in &ends {
                let place = used.unwrap_or(output.written);
                let told = || {
                    Told::new(
                        place,
                        format!("share of the fuel's heat at the {} output", end.end),
                        unit_or(None, "%"),
                        Whose::Standard("energy balance"),
                    )
                };
                let too_much = !findings.at_most(end.share, 1.0, 0.0, told).keeps();
                if !findings.at_least(end.share, LEAST_EFFICIENCY, 0.0, told).keeps() || too_much {
                    broken = broken.or(Some(end));
                }
            }
            let Some(end) = broken else { continue };
            let percent = rounded(100.0 * end.share);
            let (gives, takes) = (output.value.show(end.output), rate.value.show(end.rate));
            let limit = if end.share > 1.0 {
                "100 % is the most there can be"
            } else {
                "below 50 % one number is taken for a slip"
            };
            let mut finding = findings
                .at(
                    used.unwrap_or(output.written),
                    format!(
                        "`{}` would make {gives} from {takes}, which is {percent} % of the fuel's heat; {limit}",
                        sheet.name
                    ),
                )
                .label(format!("{percent} % at the {} output", end.end))
                .why(format!("{takes} of fuel holds {}", output.value.show(end.in_fuel)))
                .limit("50 % to 100 % of the fuel's lower heating value", Whose::Standard("energy balance"))
                .help("look up both numbers again in the maker's papers")
                .related(rate.written, "the fuel rate");
            if used.is_some() {
                finding = finding.related(output.written, "the output");
            }
            findings.add(finding);
        }
    },
};

/// More starts than this to fill a line are worth a word. Common practice, no source: a controller locks after a few failed ones.
const STARTS_WORTH_A_WORD: f64 = 2.0;

static MANY_STARTS_TO_PRIME: Rule = Rule {
    name: "many-starts-to-prime",
    family: Family::FuelLine,
    severity: Severity::Advice,
    title: "a dry line that takes many starts to fill",
    source: "common practice, no source: two tries a start, and a controller that locks after a few failed starts",
    explanation: "A new line is full of air. The pump fills it only during ignition, so a long or wide line takes start after start. Each start wears the glow pin and drains the battery, and the controller may lock itself. The same happens after the tank has run dry.",
    mend: "Fill the line before the first start, or use a narrower or shorter one.",
    bad: "\nfuel-line of reader\n  from          main by standpipe\n  line          3.3 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    good: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    guards: Guards::Comfort,
    measures: &[],
    explained_by: &[
        Cause::on_block("suction-line-too-long"),
        Cause::on_block("pressure-line-too-long"),
        Cause::on_block("fuel-bore-traps-gas"),
    ],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::SUCTION, &[Need::FuelBore, Need::SheetFuelRate, Need::SheetIgnition]])],
    find: |findings| {
        for (run, _) in lines_of(findings) {
            let taken = findings.figures.fuel_uses.iter().find(|taken| Some(taken.heater) == run.heater);
            let Some((starts, volume, time)) = taken.and_then(|taken| taken.starts) else { continue };
            let told =
                || Told::new(run.header, "starts to fill the line from dry", unit_or(None, ""), Whose::CommonPractice);
            if findings.at_most(starts, STARTS_WORTH_A_WORD, 0.0, told).keeps() {
                continue;
            }
            let held = unit_or(None, "mL").show(volume);
            let finding = findings
                .at(
                    run.header,
                    format!(
                        "`{}` holds {held} and takes about {} starts to fill from dry; 2 are usual",
                        findings.job.reads(run),
                        rounded(starts)
                    ),
                )
                .label(format!("{held}, full of air at first"))
                .why(format!(
                    "a start has two tries, and in each the pump runs for {} s at its highest rate",
                    rounded(time)
                ))
                .limit("2 starts", Whose::CommonPractice)
                .help("fill the line before the first start, or use a narrower or shorter one");
            findings.add(finding);
        }
    },
};

static PUMP_HARD_MOUNTED: Rule = Rule {
    name: "pump-hard-mounted",
    family: Family::FuelLine,
    severity: Severity::Advice,
    title: "a hard-mounted pump where somebody sleeps",
    source: "common practice, no source",
    explanation: "A dosing pump knocks at each stroke, and sheet metal carries the knock to every bunk. A pump held in soft rubber is hardly heard. Judged only where somebody sleeps in the vehicle.",
    mend: "Hold the pump in rubber and write `soft-mounted`.",
    bad: "space cabin\n  use           sleeping\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², steel 0.9 mm, pe-foam 19 mm, plywood 4 mm\n  surface       roof, 5 m², steel 0.9 mm, pe-foam 30 mm, plywood 4 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  air-changes   1 /h\n  at            back 700 mm, left 900 mm, up 600 mm\n  spans         back 3700 mm, right 1800 mm, up 1700 mm\n\nalarm cabin-co\n  warns-of      carbon-monoxide\n  in            cabin\n\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    good: "space cabin\n  use           sleeping\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², steel 0.9 mm, pe-foam 19 mm, plywood 4 mm\n  surface       roof, 5 m², steel 0.9 mm, pe-foam 30 mm, plywood 4 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  air-changes   1 /h\n  at            back 700 mm, left 900 mm, up 600 mm\n  spans         back 3700 mm, right 1800 mm, up 1700 mm\n\nalarm cabin-co\n  warns-of      carbon-monoxide\n  in            cabin\n\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°, soft-mounted\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    guards: Guards::Comfort,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::FuelPump, Need::SpaceUse]])],
    find: |findings| {
        let Some(sleeping) = findings.job.spaces.iter().find(|space| space.usage.get() == Some(&"sleeping")) else {
            return;
        };
        for (run, line) in lines_of(findings) {
            let Some(pump) = line.pump.as_ref().filter(|_| !run.said.soft_mounted) else { continue };
            let taken = findings.figures.fuel_uses.iter().find(|taken| Some(taken.heater) == run.heater);
            let knocks = match taken.and_then(|taken| taken.strokes) {
                Some((low, high)) => format!("knocks {} to {} times a second", rounded(low), rounded(high)),
                None => "knocks at each stroke".to_string(),
            };
            let finding = findings
                .at(
                    pump.place,
                    format!("the pump of `{}` {knocks}, and no soft mount is stated", findings.job.reads(run)),
                )
                .label("the body carries each knock")
                .limit("a soft mount where somebody sleeps", Whose::CommonPractice)
                .related(sleeping.header, "somebody sleeps here")
                .help("hold the pump in rubber and write `soft-mounted`");
            findings.add(finding);
        }
    },
};

/// Warmest place of a petrol pump, °C. Common practice, no source.
const WARMEST_PETROL_PUMP: f64 = 20.0;

static PUMP_IN_WARM_PLACE: Rule = Rule {
    name: "pump-in-warm-place",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a pump warmer or colder than it bears",
    source: "the heater's data sheet (`pump-bears`); for petrol else 20 °C, common practice, no source",
    explanation: "Gas comes out of warm fuel when a pump draws it, and petrol boils. The pump then doses bubbles. The air around the pump is compared with what the data sheet says the pump bears. In a space, that air has the warmth wanted there. Outside, it is taken at the job's design cold and on its mild night, the warmest time at which anybody heats. Where the sheet says nothing, a petrol pump is judged in a space warmer than 20 °C.",
    mend: "Put the pump in a cooler place, outside near the tank.",
    bad: "job \"warm pump\"\n  design-cold   -15 °C\n\ndatasheet heater tender-2               # invented\n  warms         air\n  burns         diesel\n  supply        12 V\n  voltage       10.2 V .. 15.5 V\n  stage         pre-heat, 9.5 A peak, 90 s\n  stage         high, 2.8 A\n  pump-bears    -40 °C .. 15 °C\n  port          exhaust right 40 mm, down 60 mm, facing down\n  port          combustion-air forward 110 mm, left 40 mm, down 60 mm, facing down\n  port          fuel back 120 mm, left 40 mm, down 60 mm, facing down\n  spans         forward 310 mm, left 120 mm, up 122 mm\n  fuse          20 A\n\nheater reader\n  datasheet     tender-2\n  in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            400 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  down          40 mm\n  ends          at reader",
    good: "job \"cool pump\"\n  design-cold   -15 °C\n\ndatasheet heater tender-2               # invented\n  warms         air\n  burns         diesel\n  supply        12 V\n  voltage       10.2 V .. 15.5 V\n  stage         pre-heat, 9.5 A peak, 90 s\n  stage         high, 2.8 A\n  pump-bears    -40 °C .. 40 °C\n  port          exhaust right 40 mm, down 60 mm, facing down\n  port          combustion-air forward 110 mm, left 40 mm, down 60 mm, facing down\n  port          fuel back 120 mm, left 40 mm, down 60 mm, facing down\n  spans         forward 310 mm, left 120 mm, up 122 mm\n  fuse          20 A\n\nheater reader\n  datasheet     tender-2\n  in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            400 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  down          40 mm\n  ends          at reader",
    guards: Guards::Start,
    measures: &[Dimension::Temperature],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[&[Need::FuelPump, Need::FuelFrom, Need::Datasheet, Need::DesignCold]]),
        Ask::each(
            Kind::Heater,
            &[&[Need::TankAt, Need::SpaceAt, Need::SpaceSpans, Need::SpaceUse, Need::WantedWarmth]],
        )
        .only(when::placed),
    ],
    find: |findings| {
        let job = findings.job;
        for (run, line) in lines_of(findings) {
            let Some(pump) = &line.pump else { continue };
            let sheet = run.heater.and_then(|heater| job.sheet_of(heater));
            let bears = sheet.and_then(|sheet| sheet.pump_bears.fact());
            let petrol = line.fuel.as_ref().is_some_and(|fuel| fuel.fuel == crate::physics::fuel::Fuel::Petrol);
            let practice = petrol.then(|| Temperature::celsius(WARMEST_PETROL_PUMP).in_kelvin());
            let Some(most) = bears.map(|bears| bears.value.high).or(practice) else { continue };
            let least = bears.map(|bears| bears.value.low).filter(|low| *low < most);
            let number = run.steps.iter().position(|step| matches!(step.met, Met::Pump(_)));
            let spot = number.and_then(|number| run.walk.after.get(number).copied().flatten());
            let space = spot.and_then(|spot| space_around(findings, run, &spot));
            let warm =
                space.and_then(|space| space.wanted.fact().map(|wanted| (wanted, format!("in `{}`", space.name))));
            // At design heat nobody heats: outside, the mild night is the warmest air that the pump works in.
            let hot = job.conditions.mild_night.fact().filter(|_| bears.is_some() && space.is_none());
            let hot = hot.map(|hot| (hot, "on a mild night".to_string()));
            let cold = job.conditions.design_cold.fact().map(|cold| (cold, "at the design cold".to_string()));
            let whose = || match (sheet, bears) {
                (Some(sheet), Some(_)) => Whose::Sheet(sheet.name.clone()),
                _ => Whose::CommonPractice,
            };
            let mut warmer = None;
            for (air, place) in warm.into_iter().chain(hot) {
                let told = || Told::new(pump.place, "warmest air round the pump", air.value.unit, whose());
                if !findings.at_most(air.value.high, most, 1e-6, told).keeps() {
                    warmer = warmer.or(Some((air, place)));
                }
            }
            let colder = cold.filter(|(air, _)| {
                let told = || Told::new(pump.place, "coldest air round the pump", air.value.unit, whose());
                space.is_none()
                    && least.is_some_and(|least| !findings.at_least(air.value.low, least, 1e-6, told).keeps())
            });
            let (air, place, value, limit, way) = match (warmer, colder) {
                (Some((air, place)), _) => (air, place, air.value.high, most, "at the warmest"),
                (None, Some((air, place))) => (air, place, air.value.low, least.unwrap_or(most), "at the coldest"),
                (None, None) => continue,
            };
            let (shown, limit) = (air.value.unit.show(value), air.value.unit.show(limit));
            let mut finding = findings
                .at(
                    pump.place,
                    format!("the pump of `{}` sits in air of {shown} {place}; it bears {limit} {way}", job.reads(run)),
                )
                .label(format!("air of {shown} {way}"))
                .why(match (value > most, petrol) {
                    (true, true) => "warm petrol boils in a pump that draws it",
                    (true, false) => "gas comes out of warm fuel in a pump that draws it, and the pump doses bubbles",
                    (false, _) => "that is colder than its coil and valve are built for",
                })
                .limit(format!("{limit} {way}"), whose())
                .related(air.written, "the air there")
                .help("put the pump where the air stays within what it bears");
            if let Some(bears) = bears {
                finding = finding.related(bears.written, "what the data sheet says it bears");
            }
            findings.add(finding);
        }
    },
};

/// Longest rubber sleeve over a joint, m. Common practice, no source.
const LONGEST_SLEEVE: f64 = 0.05;

static SLEEVE_LONG_OR_GAPING: Rule = Rule {
    name: "sleeve-long-or-gaping",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a rubber sleeve that swallows the pump's strokes",
    source: "common practice, no source: sleeves of 50 mm at most, the line's ends butted in them",
    explanation: "Rubber gives at each stroke of the pump. Where the line's ends do not meet inside a sleeve, the hollow between them holds gas. Both spread out the dose. A sleeve joins two ends of line. It is not a piece of line, and it must never make a bend.",
    mend: "Push the line's ends together in a sleeve of 50 mm at most, and write `butted`.",
    bad: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  sleeve        120 mm, butted\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    good: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  sleeve        50 mm, butted\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    guards: Guards::Start,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::FuelLine, &[&[Need::FuelSleeve]])],
    find: |findings| {
        for (run, _) in lines_of(findings) {
            for step in &run.steps {
                let Met::Sleeve(length, butted) = &step.met else { continue };
                let told = || Told::new(step.place, "length of a sleeve", length.unit, Whose::CommonPractice);
                let long = !findings.at_most(length.nominal, LONGEST_SLEEVE, 1e-6, told).keeps();
                if *butted && !long {
                    continue;
                }
                let (shown, limit) = (length.show(length.nominal), length.unit.show(LONGEST_SLEEVE));
                let reads = findings.job.reads(run);
                let title = match (long, butted) {
                    (true, true) => format!("a sleeve in `{reads}` is {shown} long; {limit} is the most"),
                    (true, false) => format!(
                        "a sleeve in `{reads}` is {shown} long; {limit} is the most, and the line's ends are not said to meet in it"
                    ),
                    (false, _) => format!("in a sleeve of {shown} in `{reads}` the line's ends are not said to meet"),
                };
                let finding = findings
                    .at(step.place, title)
                    .label("rubber gives, and a gap holds gas")
                    .limit(format!("{limit} long, the ends butted"), Whose::CommonPractice)
                    .help(format!("push the line's ends together in a sleeve of {limit} at most, and write `butted`"));
                findings.add(finding);
            }
        }
    },
};

static FILTER_MISSING: Rule = Rule {
    name: "filter-missing",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "a line without the strainer or water trap that the sheet asks for",
    source: "the heater's data sheet (`asks-for`)",
    explanation: "Dirt wears a dosing pump and blocks it. Water freezes in it on the first cold night. Where the data sheet says that the pump must not be fitted without a strainer or a water trap, the line must show it.",
    mend: "Fit it before the pump and write `filter strainer` or `filter water-trap`.",
    bad: "datasheet heater fine-2               # invented\n  warms         air\n  burns         diesel\n  supply        12 V\n  voltage       10.2 V .. 15.5 V\n  stage         pre-heat, 9.5 A peak, 90 s\n  stage         high, 2.8 A\n  asks-for      strainer\n  port          exhaust right 40 mm, down 60 mm, facing down\n  port          combustion-air forward 110 mm, left 40 mm, down 60 mm, facing down\n  port          fuel back 120 mm, left 40 mm, down 60 mm, facing down\n  spans         forward 310 mm, left 120 mm, up 122 mm\n  fuse          20 A\n\nheater reader\n  datasheet     fine-2\n  in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward",
    good: "datasheet heater fine-2               # invented\n  warms         air\n  burns         diesel\n  supply        12 V\n  voltage       10.2 V .. 15.5 V\n  stage         pre-heat, 9.5 A peak, 90 s\n  stage         high, 2.8 A\n  asks-for      strainer\n  port          exhaust right 40 mm, down 60 mm, facing down\n  port          combustion-air forward 110 mm, left 40 mm, down 60 mm, facing down\n  port          fuel back 120 mm, left 40 mm, down 60 mm, facing down\n  spans         forward 310 mm, left 120 mm, up 122 mm\n  fuse          20 A\n\nheater reader\n  datasheet     fine-2\n  in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  filter        strainer\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    guards: Guards::Start,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::FuelLine, &[&[Need::FuelEnds, Need::Datasheet]])],
    find: |findings| {
        let job = findings.job;
        for (run, line) in lines_of(findings) {
            let Some(sheet) = run.heater.and_then(|heater| job.sheet_of(heater)) else { continue };
            // A line that is still being written, or has a line nobody understood, may have it yet.
            if !line.whole || run.end.is_none() {
                continue;
            }
            for asked in sheet.asks_for.iter().filter(|asked| matches!(asked.value, "strainer" | "water-trap")) {
                let fits = |kept: &str| match kept {
                    "water-trap" | "water-separator" => asked.value == "water-trap",
                    _ => asked.value == "strainer",
                };
                if run.steps.iter().any(|step| matches!(step.met, Met::Filter(kept) if fits(kept))) {
                    continue;
                }
                let (what, plain) = (asked.value, asked.value.replace('-', " "));
                let finding = findings
                    .at(
                        run.header,
                        format!("`{}` has no {plain}; data sheet `{}` asks for one", job.reads(run), sheet.name),
                    )
                    .label(format!("no `filter {what}` in this block"))
                    .limit(format!("a {plain} in the line"), Whose::Sheet(sheet.name.clone()))
                    .related(asked.written, "the data sheet asks for it")
                    .help(format!("fit one before the pump, and write `filter {what}`"));
                findings.add(finding);
            }
        }
    },
};

/// How near to the heater's own connection a joint may be, m: there is always one. Common practice, no source.
const HEATERS_OWN_JOINT: f64 = 0.3;

/// The space for people that a point of a fuel line has come into through its last passage: none where the heater stands
/// outside or the passage is still to come. `None` where no passage tells.
fn beyond_its_passage<'a>(findings: &Findings<'a>, run: &Run, number: usize) -> Option<Option<&'a Space>> {
    let job = findings.job;
    let heater = run.heater.and_then(|heater| job.heaters.get(heater));
    let stands_in = heater.and_then(|heater| heater.stands_in.get().copied())?;
    let Some(space) = stands_in.and_then(|space| job.spaces.get(space)) else { return Some(None) };
    let passage = run.steps.iter().rposition(|step| matches!(step.met, Met::Passage(_)))?;
    Some((passage < number && lived_in(space)).then_some(space))
}

/// The length of a route behind one of its points, m.
fn way_left(run: &Run, number: usize) -> f64 {
    run.walk.stretches.iter().filter(|stretch| stretch.step > number).map(|stretch| stretch.length.high).sum()
}

static FUEL_JOINT_INDOORS: Rule = Rule {
    name: "fuel-joint-indoors",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "a joint of the fuel line where people are",
    source: "common practice, no source: no joint of a fuel line in a space that people use, except the heater's own connection",
    explanation: "Every joint leaks one day. Indoors the fuel first smells and then soaks the insulation. Under the floor it only drips on the road. Judged where the places of the joint and of the space are known. The last 300 mm before the heater are not judged.",
    mend: "Run the line below the floor up to the heater. Where it is indoors, keep it in one piece.",
    bad: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            460 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  sleeve        40 mm, butted\n  forward       680 mm\n  right         320 mm\n  down          100 mm\n  ends          at reader\n",
    good: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  sleeve        40 mm, butted\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::FuelLine, &[&[Need::FuelFrom, Need::FuelWay]]),
        Ask::each(Kind::FuelLine, &[&[Need::TankAt, Need::SpaceAt, Need::SpaceSpans, Need::SpaceUse]])
            .only(when::placed),
    ],
    find: |findings| {
        for (run, _) in lines_of(findings) {
            for (number, step) in run.steps.iter().enumerate() {
                let what = match &step.met {
                    Met::Joint(joint) if !joint.clamp => "joint",
                    Met::Sleeve(..) => "sleeve",
                    Met::Filter(_) => "filter",
                    _ => continue,
                };
                let spot = run.walk.after.get(number).copied().flatten();
                let (space, from_end) = match (spot, beyond_its_passage(findings, run, number)) {
                    (Some(spot), _) => {
                        let from_end = run.walk.end.map(|end| end.point.distance_to(spot.point).in_metres());
                        (space_around(findings, run, &spot), from_end)
                    }
                    // Where its place is not known, the order of the lines tells on which side of the wall it is.
                    (None, Some(inside)) => (inside, Some(way_left(run, number))),
                    (None, None) => {
                        findings.cannot_judge(
                            step.place,
                            format!(
                                "nobody knows whether this {what} lies where people are: its place is not known, and the line \
                                 says no `passage` into the space"
                            ),
                        );
                        continue;
                    }
                };
                let Some(space) = space else { continue };
                let told = || {
                    Told::new(
                        step.place,
                        "distance of an indoor joint from the heater",
                        unit_or(run.walk.unit, "mm"),
                        Whose::CommonPractice,
                    )
                };
                if from_end.is_some_and(|distance| findings.at_most(distance, HEATERS_OWN_JOINT, 0.0, told).keeps()) {
                    continue;
                }
                let away = from_end.map_or(String::new(), |away| {
                    format!(", {} from the heater", unit_or(run.walk.unit, "mm").show(away))
                });
                let finding: Finding = findings
                    .at(
                        step.place,
                        format!(
                            "a {what} of `{}` lies in `{}`{away}; indoors 300 mm at most is the practice",
                            findings.job.reads(run),
                            space.name
                        ),
                    )
                    .label("one day it leaks indoors")
                    .limit("no joint indoors, except within 300 mm of the heater", Whose::CommonPractice)
                    .related(space.header, "the space")
                    .help("run the line below the floor up to the heater, in one piece where it is indoors");
                findings.add(finding);
            }
        }
    },
};

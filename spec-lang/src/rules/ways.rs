//! Rules about lengths and bends of ways: exhaust, combustion air, warm and return air, supplied harnesses; and about
//! walks that do not come out where they are said to. What flows is not judged here.
use super::margin::Told;
use super::{Family, Findings, Guards, Rule};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::ways::{Limit, Way, length_unit};
use crate::finding::{Finding, Severity, Whose};
use crate::model::{End, Interval, Job, Met, Run, Start, unit_or};
use crate::physics::geometry::Vector;
use crate::rules::About;
use crate::source::Place;
use crate::units::{Dimension, Unit};
use crate::vocabulary::Kind;

pub(super) static RULES: &[&Rule] = &[
    &EXHAUST_TOO_LONG,
    &EXHAUST_TOO_SHORT,
    &EXHAUST_BENDS_TOO_MANY,
    &COMBUSTION_AIR_TOO_LONG,
    &COMBUSTION_AIR_TOO_SHORT,
    &COMBUSTION_AIR_BENDS_TOO_MANY,
    &WARM_AIR_WAY_TOO_LONG,
    &WARM_AIR_BENDS_TOO_MANY,
    &RETURN_AIR_WAY_TOO_LONG,
    &RETURN_AIR_BENDS_TOO_MANY,
    &HARNESS_TOO_SHORT,
    &RUN_MISSES_ITS_END,
    &RUN_WITHOUT_END,
];

/// The source of a limit that only a sheet states.
pub(super) const SHEET: &str = "the heater's data sheet";
/// The source of a limit that common practice states where the sheet does not.
pub(super) const SHEET_OR_PRACTICE: &str = "the heater's data sheet, else common practice (no source)";

/// A value that breaks a limit: how gravely, and in words.
pub(super) struct Broken {
    /// An error where the value as meant breaks a sheet's limit.
    pub(super) severity: Severity,
    /// The value: `is 2.4 m`, or `may be up to 2.1 m`.
    pub(super) is: String,
    /// The value alone: `2.4 m`.
    pub(super) value: String,
    /// The value where no verb carries the doubt: `2.4 m`, or `up to 2.1 m`.
    pub(super) so_much: String,
    /// How much it lies beyond the limit.
    pub(super) beyond: String,
    /// Which end of a doubt breaks it; empty where the value as meant does.
    pub(super) end: String,
}

/// A hair of room: a limit met to the letter, summed from legs, is met.
fn hair(limit: &Limit) -> f64 {
    1e-6 * limit.value.abs() + 1e-9
}

/// Whether a value is above a limit, and where only its high end is, that end. `unit` gives the unit to read a value in,
/// `told` where the finding would stand and what the value is.
pub(super) fn above<S: Into<String>>(
    findings: &mut Findings<'_>,
    value: Interval,
    limit: &Limit,
    unit: impl Fn(f64) -> &'static Unit,
    told: impl FnOnce() -> (Place, S),
) -> Option<Broken> {
    above_by(findings, value, limit, 0.0, unit, told)
}

/// Likewise, where so much above the limit is no finding yet.
pub(super) fn above_by<S: Into<String>>(
    findings: &mut Findings<'_>,
    value: Interval,
    limit: &Limit,
    slack: f64,
    unit: impl Fn(f64) -> &'static Unit,
    told: impl FnOnce() -> (Place, S),
) -> Option<Broken> {
    let verdict = findings.at_most(value, limit.value, hair(limit) + slack, || held(limit, unit(value.high), told()));
    if verdict.keeps() {
        return None;
    }
    broken((value.nominal, value.high), limit, ("up to", "high"), unit, |value| value - limit.value)
}

/// Whether a value is below a limit, likewise.
pub(super) fn below<S: Into<String>>(
    findings: &mut Findings<'_>,
    value: Interval,
    limit: &Limit,
    unit: impl Fn(f64) -> &'static Unit,
    told: impl FnOnce() -> (Place, S),
) -> Option<Broken> {
    let verdict = findings.at_least(value, limit.value, hair(limit), || held(limit, unit(value.low), told()));
    if verdict.keeps() {
        return None;
    }
    broken((value.nominal, value.low), limit, ("as little as", "low"), unit, |value| limit.value - value)
}

fn held<S: Into<String>>(limit: &Limit, unit: &'static Unit, (place, what): (Place, S)) -> Told {
    Told::new(place, what, unit, limit.whose.clone())
}

fn broken(
    (nominal, worst): (f64, f64),
    limit: &Limit,
    (up_to, end): (&str, &str),
    unit: impl Fn(f64) -> &'static Unit,
    beyond: impl Fn(f64) -> f64,
) -> Option<Broken> {
    let room = hair(limit);
    if beyond(worst) <= room {
        return None;
    }
    let as_meant = beyond(nominal) > room;
    let value = if as_meant { nominal } else { worst };
    let shown = told_apart(unit(value), value, limit);
    let over = beyond(value);
    Some(Broken {
        severity: if as_meant && matches!(limit.whose, Whose::Sheet(_)) { Severity::Error } else { Severity::Warning },
        is: if as_meant { format!("is {shown}") } else { format!("may be {up_to} {shown}") },
        so_much: if as_meant { shown.clone() } else { format!("{up_to} {shown}") },
        value: shown,
        beyond: unit(over).show(over),
        end: if as_meant {
            String::new()
        } else {
            format!(
                "only the {end} end of the tolerance breaks the limit; without it the figure is {}",
                unit(nominal).show(nominal)
            )
        },
    })
}

/// A value as read, never rounded to the same words as its limit.
fn told_apart(unit: &'static Unit, value: f64, limit: &Limit) -> String {
    let shown = unit.show(value);
    if shown != limit.shown() && unit.show(limit.value) != shown {
        return shown;
    }
    let finer = match unit.spelling {
        "m" | "cm" => unit_or(None, "mm"),
        "ft" | "yd" => unit_or(None, "in"),
        _ => unit,
    };
    let difference = value - limit.value;
    let sign = if difference < 0.0 { "less" } else { "more" };
    format!("{} {sign} than {}", finer.show(difference.abs()), limit.shown())
}

/// Whose limit, and how much: `data sheet air-2 allows 2 m`.
pub(super) fn allows(limit: &Limit) -> String {
    match &limit.whose {
        Whose::Sheet(name) => format!("data sheet `{name}` allows {}", limit.shown()),
        _ => format!("common practice is {} at most", limit.shown()),
    }
}

/// A finding with its limit, and the line that states it.
pub(super) fn limited(mut finding: Finding, broken: &Broken, limit: &Limit, of: &str) -> Finding {
    finding.severity = broken.severity;
    let finding = finding.limit(format!("{} {of}", limit.shown()), limit.whose.clone());
    match limit.place {
        Some(place) => finding.related(place, format!("the data sheet's limit, {}", limit.shown())),
        None => finding,
    }
}

/// Sentences joined, empty ones left out.
pub(super) fn joined(parts: &[&str]) -> String {
    parts.iter().filter(|part| !part.is_empty()).copied().collect::<Vec<&str>>().join("; ")
}

/// Picks the unit to read a length in, near the author's.
pub(super) fn lengths(unit: &'static Unit) -> impl Fn(f64) -> &'static Unit {
    move |metres| length_unit(unit, metres)
}

/// Half a degree in the sum of bends, rad: legs are measured by hand.
pub(super) const HALF_A_DEGREE: f64 = 0.5 * std::f64::consts::PI / 180.0;

fn degrees(_: f64) -> &'static Unit {
    unit_or(None, "°")
}

/// The ways of a kind, in a job; none in a workshop file.
fn ways_of<'a>(findings: &Findings<'a>, kind: Kind) -> impl Iterator<Item = (&'a Run, &'a Way)> + use<'a> {
    let (job, figures) = (findings.job, findings.figures);
    let ways = figures.ways.iter().filter(move |way| way.kind == kind && job.header.is_some());
    ways.filter_map(|way| job.runs.get(way.run).map(|run| (run, way)))
}

/// A way as its author calls it: its outlet, or its run.
fn reads(job: &Job, run: &Run, way: &Way) -> String {
    match &way.outlet {
        Some((outlet, _)) => format!("outlet {outlet}"),
        None => job.reads(run),
    }
}

struct Words {
    label: &'static str,
    why: &'static str,
    of: &'static str,
    help: &'static str,
}

fn too_long(findings: &mut Findings<'_>, kind: Kind, words: &Words) {
    for (run, way) in ways_of(findings, kind) {
        let Some(limit) = &way.longest else { continue };
        let told = || (way.place, format!("length {}", words.of));
        let Some(broken) = above(findings, way.length, limit, lengths(way.unit), told) else { continue };
        let how = if way.outlet.is_some() { "away from the heater" } else { "long" };
        let reads = reads(findings.job, run, way);
        let title = format!("`{reads}` {} {how}; {}", broken.is, allows(limit));
        let finding = findings
            .at(way.place, title)
            .label(format!("{} {}", broken.value, words.label))
            .why(joined(&[words.why, &broken.end]))
            .help(format!("{}; take off {}", words.help, broken.beyond));
        findings.add(limited(finding, &broken, limit, words.of));
    }
}

fn too_short(findings: &mut Findings<'_>, kind: Kind, words: &Words) {
    for (run, way) in ways_of(findings, kind) {
        // A way whose end is not stated may go on.
        let Some(limit) = way.least.as_ref().filter(|_| way.finished) else { continue };
        let told = || (way.place, format!("length {}", words.label));
        let Some(broken) = below(findings, way.length, limit, lengths(way.unit), told) else { continue };
        let asks = match &limit.whose {
            Whose::Sheet(name) => format!("data sheet `{name}` asks for {} at least", limit.shown()),
            _ => format!("common practice is {} at least", limit.shown()),
        };
        let reads = reads(findings.job, run, way);
        let finding = findings
            .at(way.place, format!("`{reads}` {} long; {asks}", broken.is))
            .label(format!("{} {}", broken.value, words.label))
            .why(joined(&[words.why, &broken.end]))
            .help(format!("{}; add {}", words.help, broken.beyond));
        findings.add(limited(finding, &broken, limit, words.of));
    }
}

fn too_bent(findings: &mut Findings<'_>, kind: Kind, words: &Words) {
    for (run, way) in ways_of(findings, kind) {
        let (Some(limit), Some(bends)) = (&way.most_bends, way.bends) else { continue };
        // Legs are measured by hand: half a degree in the sum of bends is no finding.
        let told = || (way.place, format!("sum {}", words.of));
        let Some(broken) = above_by(findings, bends, limit, HALF_A_DEGREE, degrees, told) else { continue };
        let reads = reads(findings.job, run, way);
        let of = if way.outlet.is_some() { "on the way to" } else { "of" };
        let title = format!("the bends {of} `{reads}` add up to {}; {}", broken.so_much, allows(limit));
        let finding = findings
            .at(way.place, title)
            .label(format!("{} {}", broken.value, words.label))
            .why(joined(&[words.why, &broken.end]))
            .help(format!("{}; take out {}", words.help, broken.beyond));
        findings.add(limited(finding, &broken, limit, words.of));
    }
}

static EXHAUST_TOO_LONG: Rule = Rule {
    name: "exhaust-too-long",
    family: Family::Ways,
    severity: Severity::Error,
    title: "an exhaust that is too long",
    source: SHEET_OR_PRACTICE,
    explanation: "Every metre of exhaust holds the gas back and cools it. When the gas is held back, the flame gets too \
                  little air: it soots, smokes, makes more carbon monoxide and goes out. When the gas cools, it leaves \
                  water that rusts the pipe or freezes in it. The length is counted along the legs, corner to corner.",
    mend: "Lead it outside by a shorter route, or put the heater nearer to the side where the exhaust leaves.",
    bad: r#"
exhaust of reader
  pipe          steel, 24 mm bore, 27 mm outside
  passage       floor, hole 30 mm, sealed
  down          140 mm
  right         400 mm, down 10 mm
  back          1300 mm, down 30 mm
  right         290 mm, down 30 mm
  ends          facing right
"#,
    good: r#"
exhaust of reader
  pipe          steel, 24 mm bore, 27 mm outside
  passage       floor, hole 30 mm, sealed
  down          140 mm
  right         400 mm, down 10 mm
  back          1000 mm, down 30 mm
  right         290 mm, down 30 mm
  ends          facing right
"#,
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ExhaustWay, Need::Datasheet, Need::SheetExhaustLimit]])],
    find: |findings| {
        let words = Words {
            label: "of exhaust",
            why: "a longer exhaust holds the gas back and cools it: the flame soots, and water stands in the pipe",
            of: "of exhaust",
            help: "lead it outside by a shorter route, but never end it under the vehicle",
        };
        too_long(findings, Kind::Exhaust, &words);
    },
};

static EXHAUST_TOO_SHORT: Rule = Rule {
    name: "exhaust-too-short",
    family: Family::Ways,
    severity: Severity::Error,
    title: "an exhaust that is too short",
    source: SHEET,
    explanation: "Some data sheets ask for a shortest exhaust. The burner needs that length to burn evenly, and the gas \
                  needs it to cool. A shorter exhaust roars, can draw the flame out, and blows hotter gas than its \
                  surroundings were chosen for. Only an exhaust whose end is stated is judged.",
    mend: "Make the pipe longer.",
    bad: r#"
vehicle bench-van
  type          van
  supply        12 V
  rules         none
  floor-height  600 mm
  at            forward 850 mm, left 1000 mm, up 200 mm
  spans         back 5400 mm, right 1500 mm, up 2300 mm

space cabin
  use           seated
  wanted        18 °C
  volume        7.5 m³
  surface       walls, 13 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm
  surface       roof, 5 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm
  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm
  surface       glass, 0.6 m², glass 4 mm
  air-changes   1 /h
  at            back 700 mm, left 900 mm, up 600 mm
  spans         back 3700 mm, right 1400 mm, up 1700 mm

exhaust of reader
  pipe          steel, 24 mm bore, 27 mm outside
  passage       floor, hole 30 mm, sealed
  down          100 mm
  right         170 mm, down 10 mm
  ends          facing right
"#,
    good: r#"
vehicle bench-van
  type          van
  supply        12 V
  rules         none
  floor-height  600 mm
  at            forward 850 mm, left 1000 mm, up 200 mm
  spans         back 5400 mm, right 1500 mm, up 2300 mm

space cabin
  use           seated
  wanted        18 °C
  volume        7.5 m³
  surface       walls, 13 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm
  surface       roof, 5 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm
  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm
  surface       glass, 0.6 m², glass 4 mm
  air-changes   1 /h
  at            back 700 mm, left 900 mm, up 600 mm
  spans         back 3700 mm, right 1400 mm, up 1700 mm

exhaust of reader
  pipe          steel, 24 mm bore, 27 mm outside
  passage       floor, hole 30 mm, sealed
  down          140 mm
  right         190 mm, down 10 mm
  ends          facing right
"#,
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::EXHAUST_END, &[Need::Datasheet, Need::SheetExhaustLimit]])],
    find: |findings| {
        let words = Words {
            label: "of exhaust",
            why: "the burner was set with at least that much pipe behind it, and from a shorter one the gas leaves hotter",
            of: "of exhaust at least",
            help: "make the pipe longer",
        };
        too_short(findings, Kind::Exhaust, &words);
    },
};

static EXHAUST_BENDS_TOO_MANY: Rule = Rule {
    name: "exhaust-bends-too-many",
    family: Family::Ways,
    severity: Severity::Error,
    title: "too many bends in an exhaust",
    source: SHEET_OR_PRACTICE,
    explanation: "A bend holds the gas back like a piece of straight pipe, and soot and water settle in it. All turns are \
                  added up, from the way the heater's port faces to the end of the pipe. The corners between the legs \
                  count too.",
    mend: "Use one slanting leg in place of two, or lead the exhaust out on the nearer side.",
    bad: r#"
exhaust of reader
  pipe          steel, 24 mm bore, 27 mm outside
  passage       floor, hole 30 mm, sealed
  down          140 mm
  right         400 mm, down 10 mm
  back          300 mm, down 10 mm
  right         290 mm, down 10 mm
  down          60 mm
  ends          facing down
"#,
    good: r#"
exhaust of reader
  pipe          steel, 24 mm bore, 27 mm outside
  passage       floor, hole 30 mm, sealed
  down          140 mm
  right         690 mm, down 30 mm
  down          60 mm
  ends          facing down
"#,
    guards: Guards::Life,
    measures: &[Dimension::Angle],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ExhaustWay, Need::Datasheet, Need::SheetExhaustLimit]])],
    find: |findings| {
        let words = Words {
            label: "of turns, from the port to the end",
            why: "each bend holds the gas back as a piece of pipe does, and soot settles in it",
            of: "of bends in all",
            help: "use one slanting leg in place of two",
        };
        too_bent(findings, Kind::Exhaust, &words);
    },
};

static COMBUSTION_AIR_TOO_LONG: Rule = Rule {
    name: "combustion-air-too-long",
    family: Family::Ways,
    severity: Severity::Error,
    title: "a combustion-air hose that is too long",
    source: SHEET,
    explanation: "The burner's fan draws its air through this hose. A longer hose lets less air through. The flame then \
                  burns rich, soots, and makes more carbon monoxide. Common practice gives no length, so only a data \
                  sheet's limit is judged.",
    mend: "Draw the air from a nearer clean place outside the vehicle.",
    bad: r#"
combustion-air of reader
  hose          intake-25
  passage       floor, hole 30 mm, sealed
  down          140 mm
  forward       1900 mm, down 10 mm
  ends          facing down
"#,
    good: r#"
combustion-air of reader
  hose          intake-25
  passage       floor, hole 30 mm, sealed
  down          140 mm
  forward       1000 mm, down 10 mm
  ends          facing down
"#,
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::CombustionAirWay, Need::Datasheet, Need::SheetCombustionAirLimit]])],
    find: |findings| {
        let words = Words {
            label: "of hose",
            why: "a longer hose lets less air to the flame, which then burns rich and soots",
            of: "of combustion air",
            help: "draw the air from a nearer place outside",
        };
        too_long(findings, Kind::CombustionAir, &words);
    },
};

static COMBUSTION_AIR_TOO_SHORT: Rule = Rule {
    name: "combustion-air-too-short",
    family: Family::Ways,
    severity: Severity::Error,
    title: "a combustion-air hose that is too short",
    source: SHEET,
    explanation: "Some data sheets ask for a shortest hose, because the burner was set with it. With less hose, gusts at \
                  the mouth reach the flame and noise gets out. Only a hose whose end is stated is judged.",
    mend: "Use a longer hose.",
    bad: r#"
combustion-air of reader
  hose          intake-25
  passage       floor, hole 30 mm, sealed
  down          140 mm
  ends          facing down
"#,
    good: r#"
combustion-air of reader
  hose          intake-25
  passage       floor, hole 30 mm, sealed
  down          220 mm
  ends          facing down
"#,
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::INTAKE_END, &[Need::Datasheet, Need::SheetCombustionAirLimit]])],
    find: |findings| {
        let words = Words {
            label: "of hose",
            why: "the burner was set with at least that much hose before it; with less, gusts reach the flame",
            of: "of combustion air at least",
            help: "use a longer hose",
        };
        too_short(findings, Kind::CombustionAir, &words);
    },
};

static COMBUSTION_AIR_BENDS_TOO_MANY: Rule = Rule {
    name: "combustion-air-bends-too-many",
    family: Family::Ways,
    severity: Severity::Error,
    title: "too many bends in a combustion-air hose",
    source: SHEET,
    explanation: "Each bend takes some of the flame's air. All turns are added up, from the way the heater's port faces to \
                  the mouth of the hose. Common practice gives no figure for this hose alone, so only a data sheet's limit \
                  is judged.",
    mend: "Use one slanting leg in place of two.",
    bad: r#"
combustion-air of reader
  hose          intake-25
  passage       floor, hole 30 mm, sealed
  down          140 mm
  forward       300 mm
  left          200 mm
  forward       200 mm
  left          200 mm
  ends          facing left
"#,
    good: r#"
combustion-air of reader
  hose          intake-25
  passage       floor, hole 30 mm, sealed
  down          140 mm
  forward       500 mm, left 400 mm
  ends          facing left
"#,
    guards: Guards::Life,
    measures: &[Dimension::Angle],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::CombustionAirWay, Need::Datasheet, Need::SheetCombustionAirLimit]])],
    find: |findings| {
        let words = Words {
            label: "of turns, from the port to the mouth",
            why: "each bend takes some of the flame's air",
            of: "of bends in all",
            help: "use one slanting leg in place of two",
        };
        too_bent(findings, Kind::CombustionAir, &words);
    },
};

static WARM_AIR_WAY_TOO_LONG: Rule = Rule {
    name: "warm-air-way-too-long",
    family: Family::Ways,
    severity: Severity::Error,
    title: "an outlet too far from the heater",
    source: SHEET_OR_PRACTICE,
    explanation: "Warm air that has too far to go comes out cool and weak. The heater cannot push its air out, so it \
                  overheats and shuts down. Each outlet is judged by its own way, through every tee.",
    mend: "Bring outlet and heater nearer together.",
    bad: r#"
warm-air main of reader
  duct          air-90
  forward       900 mm
  left          1000 mm
  back          3300 mm
  right         1000 mm
  outlet        bench, facing right, in cabin
"#,
    good: r#"
warm-air main of reader
  duct          air-90
  forward       900 mm
  left          1000 mm
  outlet        bench, facing left, in cabin
"#,
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::WarmAir, &[groups::BRANCH, &[Need::Datasheet]])],
    find: |findings| {
        let words = Words {
            label: "of duct from the heater to here",
            why: "the air arrives cooler and slower, and the heater runs hot, towards its overheat trip",
            of: "of duct to an outlet",
            help: "bring outlet and heater nearer together",
        };
        too_long(findings, Kind::WarmAir, &words);
    },
};

static WARM_AIR_BENDS_TOO_MANY: Rule = Rule {
    name: "warm-air-bends-too-many",
    family: Family::Ways,
    severity: Severity::Error,
    title: "too many bends on the way to an outlet",
    source: SHEET,
    explanation: "Each bend holds the air back. An outlet behind too many bends gives little air, and the heater runs hot. \
                  The turn into a branch at a tee is not counted, because nobody states it. The true sum is no smaller.",
    mend: "Lay the duct straighter.",
    bad: r#"
warm-air main of reader
  duct          air-90
  forward       400 mm
  up            200 mm
  left          300 mm
  forward       200 mm
  left          300 mm
  up            200 mm
  outlet        bench, facing left, in cabin
"#,
    good: r#"
warm-air main of reader
  duct          air-90
  forward       600 mm
  left          600 mm
  up            400 mm
  outlet        bench, facing left, in cabin
"#,
    guards: Guards::Fire,
    measures: &[Dimension::Angle],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::WarmAir, &[groups::BRANCH, &[Need::Datasheet]])],
    find: |findings| {
        let words = Words {
            label: "of turns from the heater to here",
            why: "each bend holds the air back, and the heater runs hot, towards its overheat trip",
            of: "of bends to an outlet",
            help: "lay the duct straighter",
        };
        too_bent(findings, Kind::WarmAir, &words);
    },
};

static RETURN_AIR_WAY_TOO_LONG: Rule = Rule {
    name: "return-air-way-too-long",
    family: Family::Ways,
    severity: Severity::Error,
    title: "a return-air duct that is too long",
    source: SHEET,
    explanation: "The heater's fan has to draw the room's air through this duct before it can blow it out. With too little \
                  air the heater overheats and shuts down, and the room stays cold.",
    mend: "Draw from a nearer place in the same room, or leave the duct off.",
    bad: r#"
return-air of reader
  duct          air-90
  back          2000 mm
  left          1100 mm
  ends          in cabin, facing left
"#,
    good: r#"
return-air of reader
  duct          air-90
  back          2000 mm
  ends          in cabin, facing back
"#,
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(
        Kind::ReturnAir,
        &[&[Need::ReturnAirDraws, Need::Datasheet, Need::ReturnAirDuct, Need::ReturnAirWay]],
    )],
    find: |findings| {
        let words = Words {
            label: "of return-air duct",
            why: "the fan has to draw all its air through it; with too little air the heater overheats and stops",
            of: "of return-air duct",
            help: "draw from a nearer place in the same room",
        };
        too_long(findings, Kind::ReturnAir, &words);
    },
};

static RETURN_AIR_BENDS_TOO_MANY: Rule = Rule {
    name: "return-air-bends-too-many",
    family: Family::Ways,
    severity: Severity::Error,
    title: "too many bends in a return-air duct",
    source: SHEET,
    explanation: "Each bend takes some of the air that the heater is to warm. With too little air the heater overheats and \
                  shuts down.",
    mend: "Lay the duct straighter.",
    bad: r#"
return-air of reader
  duct          air-90
  back          300 mm
  up            200 mm
  left          300 mm
  back          200 mm
  up            200 mm
  ends          in cabin, facing back
"#,
    good: r#"
return-air of reader
  duct          air-90
  back          500 mm
  up            400 mm
  ends          in cabin, facing back
"#,
    guards: Guards::Fire,
    measures: &[Dimension::Angle],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(
        Kind::ReturnAir,
        &[&[Need::ReturnAirDraws, Need::Datasheet, Need::ReturnAirDuct, Need::ReturnAirWay]],
    )],
    find: |findings| {
        let words = Words {
            label: "of turns from the heater to the inlet",
            why: "each bend takes some of the heater's air",
            of: "of bends in all",
            help: "lay the duct straighter",
        };
        too_bent(findings, Kind::ReturnAir, &words);
    },
};

static HARNESS_TOO_SHORT: Rule = Rule {
    name: "harness-too-short",
    family: Family::Ways,
    severity: Severity::Error,
    title: "a branch of the supplied harness that does not reach",
    source: SHEET,
    explanation: "A branch that is too short is pulled tight over edges. Or somebody lengthens it with crimps, whose \
                  resistance nobody planned and whose heat nobody sees. The length it needs is that of the route written \
                  for the cable, one way.",
    mend: "Move the part nearer, or ask the heater's maker for a longer branch.",
    bad: r#"
cable pump of reader
  harness       pump-lead
  size          1.5 mm²
  carries       1 A
  run           5.4 m
  ends          here
"#,
    good: r#"
cable pump of reader
  harness       pump-lead
  size          1.5 mm²
  carries       1 A
  run           4.2 m
  ends          here
"#,
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Cable, &[&[Need::CableWay, Need::Datasheet]]).only(when::of_the_harness)],
    find: |findings| {
        let job = findings.job;
        for run in job.runs.iter().filter(|run| run.kind == Kind::Cable) {
            let (Some(branch), Some(heater)) = (run.said.harness.fact(), run.heater) else { continue };
            let Some(sheet) = job.sheet_of(heater) else { continue };
            if sheet.harness.iter().any(|(known, _)| *known == branch.value) {
                continue;
            }
            let known: Vec<String> = sheet.harness.iter().map(|(known, _)| format!("`{known}`")).collect();
            let has = if known.is_empty() { "none".to_string() } else { known.join(", ") };
            let because = format!(
                "data sheet `{}` states no branch `{}` of its harness. It states {has}",
                sheet.name, branch.value
            );
            findings.cannot_judge(branch.written, because);
        }
        for (run, way) in ways_of(findings, Kind::Cable) {
            let Some(limit) = &way.longest else { continue };
            // The branch's own unit: the two lengths are held side by side on the bench.
            let told = || (way.place, "length of the route beside the supplied branch");
            let Some(broken) = above(findings, way.length, limit, |_| limit.unit, told) else { continue };
            let reads = findings.job.reads(run);
            let branch = findings.job.text(way.place).to_string();
            let title =
                format!("the route of `{reads}` {}; the supplied branch `{branch}` is {}", broken.is, limit.shown());
            let finding = findings
                .at(way.place, title)
                .label(format!("{} too short", broken.beyond))
                .why(joined(&["the route is the sum of the cable's legs, one way, without slack", &broken.end]))
                .help("shorten the route, or get a longer branch from the heater's maker; do not stretch or patch this one");
            findings.add(limited(finding, &broken, limit, &format!("of branch `{branch}`")));
        }
    },
};

static RUN_MISSES_ITS_END: Rule = Rule {
    name: "run-misses-its-end",
    family: Family::Ways,
    severity: Severity::Error,
    title: "a route that does not end where it is said to",
    source: "the job's own places; up to 60 mm, and every stated tolerance, is allowed (common practice, no source)",
    explanation: "A route is followed leg by leg from its start. Where `at` or `ends at` says where it is, both must \
                  agree. If they do not, a leg is missing or wrong, or the thing stands elsewhere. Then the line that is \
                  ordered may be too short. Every distance to exhaust, fuel and openings that is computed from the route \
                  is wrong too.",
    mend: "Measure the legs and the place again, and write what is there. Where you cannot measure closely, write \
                  the tolerance too: `± 50 mm`.",
    bad: r#"
fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  up            300 mm
  forward       500 mm
  right         400 mm
  pump          outlet up 20°
  forward       480 mm
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
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        if job.header.is_none() {
            return;
        }
        for run in job.runs.iter().filter(|run| !run.walk.misses.is_empty()) {
            if crosses_bodies(job, run) {
                continue; // two bodies have axes of their own: no distance runs from one to the other
            }
            let unit = unit_or(run.walk.unit, "m");
            let show = |metres: f64| length_unit(unit, metres).show(metres);
            let reads = job.reads(run);
            for miss in &run.walk.misses {
                let there = match job.text(miss.place) {
                    text if text.starts_with("ends") => "its end",
                    _ => "the place it is said to reach",
                };
                let finding = if miss.short_by > 0.0 {
                    findings
                        .at(
                            miss.place,
                            format!(
                                "`{reads}` cannot reach {there}: that is {} away, and {} at most is laid",
                                show(miss.gap),
                                show(miss.allowed)
                            ),
                        )
                        .label(format!("{} out of reach", show(miss.short_by)))
                        .why("a line is never shorter than the straight distance")
                        .limit(format!("{} with every tolerance at its long end", show(miss.allowed)), Whose::Job)
                        .help("measure the run and the two places again, and write what is there")
                } else if let Some(too_high) = miss.too_high {
                    let way = if too_high > 0.0 { "high" } else { "low" };
                    findings
                        .at(miss.place, format!("the rises of `{reads}` lead {} too {way} for {there}", show(miss.gap)))
                        .label(format!("{} too {way}", show(miss.gap)))
                        .why("both heights are stated, and the rises do not lead from one to the other")
                        .limit(format!("{} of tolerance and slack", show(miss.allowed)), Whose::Job)
                        .help("measure the rises and the two heights again, and write what is there")
                } else {
                    findings
                        .at(miss.place, format!("`{reads}` stops {} away from {there}", show(miss.gap)))
                        .label(format!("the legs lead to a place {} from here", show(miss.gap)))
                        .why("a leg is missing or wrong, or one of the places is wrong")
                        .limit(format!("{} of tolerance and slack", show(miss.allowed)), Whose::Job)
                        .help(format!(
                            "{} would close the gap; measure the legs and the place again, and write what is there",
                            way_reads(miss.lacking, length_unit(unit, miss.gap))
                        ))
                };
                findings.add(finding.related(run.header, "the route starts in this block"));
            }
        }
    },
};

/// A way in the vehicle's words, parts too small to matter left out: `right 100 mm, up 40 mm`.
fn way_reads(way: Vector, unit: &Unit) -> String {
    let parts = [(way.x, "forward", "back"), (way.y, "left", "right"), (way.z, "up", "down")];
    let told = parts.into_iter().filter(|(value, ..)| value.abs() >= way.length().in_metres() / 20.0);
    let told = told
        .map(|(value, plus, minus)| format!("{} {}", if value < 0.0 { minus } else { plus }, unit.show(value.abs())));
    told.collect::<Vec<_>>().join(", ")
}

static RUN_WITHOUT_END: Rule = Rule {
    name: "run-without-end",
    family: Family::Ways,
    severity: Severity::Warning,
    title: "a route without a stated end",
    source: "the language",
    explanation: "A route without `ends` or `outlet` may go on. So nobody can say how long it is, where it comes out or \
                  what it passes. For an exhaust, the end is the place where carbon monoxide leaves.",
    mend: "Say how it ends: `ends facing right`, `ends at reader`, `ends in cabin`, `outlet bench`, or `ends here`.",
    bad: r#"
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
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        if job.header.is_none() {
            return;
        }
        for run in job.runs.iter().filter(|run| run.kind != Kind::KeepClear && !job.hidden.has(run.kind)) {
            let open = run.end.is_none() && !run.walk.stretches.is_empty();
            let leads_on = run.steps.iter().any(|step| matches!(step.met, Met::Outlet(_) | Met::Tee(..) | Met::Gap));
            if !open || leads_on || says(job, run.header, "ends") || says(job, run.header, "outlet") {
                continue;
            }
            let unit = unit_or(run.walk.unit, "m");
            let so_far = run.walk.stretches.iter().map(|stretch| stretch.length.nominal).sum::<f64>();
            let shown = length_unit(unit, so_far).show(so_far);
            let write = match run.kind {
                Kind::WarmAir => "`outlet NAME`",
                Kind::FuelLine | Kind::Cable | Kind::CoolantLine => "`ends at HEATER`, or `ends here`",
                Kind::ReturnAir => "`ends in SPACE`",
                _ => "`ends facing right`, or whichever way it faces",
            };
            let finding = findings
                .at(run.header, format!("`{}` goes {shown} and then has no end", job.reads(run)))
                .label("no `ends` in this block")
                .why("a route without an end may go on: its length and what it passes are not known")
                .help(format!("say how it ends: {write}"));
            findings.add(finding);
        }
    },
};

/// Whether the block of that header has a line with that word, understood or not.
fn says(job: &Job, header: Place, word: &str) -> bool {
    line_of(job, header, word).is_some()
}

/// The first line of a block with that word.
fn line_of<'a>(job: &'a Job, header: Place, word: &str) -> Option<&'a str> {
    let reading = job.reading(header.file)?;
    let block = reading.blocks.iter().find(|block| block.header == header.span)?;
    let mut lines = reading.statements(block).iter();
    let line = lines.find(|line| line.word.is_some_and(|known| known.word == word))?;
    Some(reading.slice(line.span))
}

/// Whether a run and the things at its two ends are fixed to different bodies.
fn crosses_bodies(job: &Job, run: &Run) -> bool {
    let battery = |number: usize| job.batteries.get(number).map(|battery| battery.header);
    let tank = |number: usize| job.tanks.get(number).map(|tank| tank.header);
    let heater = |number: usize| job.heaters.get(number).map(|heater| heater.header);
    let start = match run.start {
        Start::Heater => run.heater.and_then(heater),
        Start::Tank(number) => tank(number),
        Start::Battery(number) => battery(number),
        _ => None,
    };
    let end = match run.end.as_ref().map(|end| &end.value) {
        Some(End::At(Some((Kind::Heater, number)))) => heater(*number),
        Some(End::At(Some((Kind::Battery, number)))) => battery(*number),
        Some(End::At(Some((Kind::Tank, number)))) => tank(*number),
        _ => None,
    };
    let body = |header: Place| line_of(job, header, "rides-on").and_then(|line| line.split_whitespace().nth(1));
    let own = body(run.header);
    [start, end].into_iter().flatten().any(|header| body(header) != own)
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::bench::judge_example;

    /// What an example over the bench job brings up in the two families of lengths: rule, severity, title.
    pub(in crate::rules) fn found(example: &str) -> Vec<(&'static str, Severity, String)> {
        let analysis = judge_example(example);
        let families = [Family::Ways, Family::FuelLine];
        let found = analysis.findings.iter().filter(|finding| families.contains(&finding.rule.family));
        found.map(|finding| (finding.rule.name, finding.severity, finding.title.clone())).collect()
    }

    /// An exhaust over the bench job, of this one leg to the right.
    fn exhaust(right: &str) -> String {
        format!(
            "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  down          140 mm\n  right         {right}\n  ends          facing right"
        )
    }

    #[test]
    fn a_limit_met_to_the_letter_is_met_and_a_hair_over_it_is_told_apart() {
        assert!(found(&exhaust("1860 mm")).is_empty());
        let over = found(&exhaust("1862 mm"));
        let [("exhaust-too-long", Severity::Error, title)] = over.as_slice() else { panic!("{over:?}") };
        assert!(title.contains("2 mm more than 2 m"), "{title}");
    }

    #[test]
    fn a_tolerance_that_alone_breaks_the_limit_is_a_warning_that_says_so() {
        let over = found(&exhaust("1800 mm ± 100 mm"));
        let [("exhaust-too-long", Severity::Warning, title)] = over.as_slice() else { panic!("{over:?}") };
        assert!(title.contains("may be up to 2.04 m"), "{title}");
        assert!(matches!(found(&exhaust("1900 mm ± 100 mm")).as_slice(), [(_, Severity::Error, _)]));
    }

    #[test]
    fn common_practice_stands_in_only_where_no_sheet_is_named() {
        let long = exhaust("2.4 m");
        let heater = |sheet: &str| {
            format!(
                "heater reader\n{sheet}  in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n{long}"
            )
        };
        let of_practice = found(&heater(""));
        let too_long = of_practice.iter().find(|(rule, ..)| *rule == "exhaust-too-long");
        let Some((_, Severity::Warning, title)) = too_long else { panic!("{of_practice:?}") };
        assert!(title.contains("common practice"), "{title}");
        // A sheet that is named and not found may allow any length.
        assert!(found(&heater("  datasheet     air-99\n")).is_empty());
    }

    #[test]
    fn a_line_that_was_not_understood_hides_a_length_instead_of_shortening_it() {
        let torn = exhaust("2.4 m").replace("  down          140 mm", "  donw          140 mm");
        assert!(found(&torn).is_empty(), "{:?}", found(&torn));
        // Nor does an end that was not understood count as none.
        let odd = exhaust("700 mm").replace("facing right", "facing sideways");
        assert!(found(&odd).is_empty(), "{:?}", found(&odd));
    }

    #[test]
    fn an_outlet_on_a_branch_is_as_far_as_trunk_and_branch_together() {
        let branch = |length: &str| {
            format!(
                "warm-air main of reader\n  duct          air-90\n  forward       3.5 m\n  tee           side\n  forward       200 mm\n  outlet        bench, in cabin\n\nwarm-air side of reader\n  from          main.side\n  duct          air-90\n  left          {length}\n  outlet        desk, in cabin"
            )
        };
        assert!(found(&branch("2.5 m")).is_empty(), "{:?}", found(&branch("2.5 m")));
        let over = found(&branch("2.6 m"));
        let [("warm-air-way-too-long", Severity::Error, title)] = over.as_slice() else { panic!("{over:?}") };
        assert!(title.contains("`outlet desk` is 6.1 m"), "{title}");
    }

    #[test]
    fn rises_between_two_known_heights_must_lead_from_one_to_the_other() {
        // From the tank at 250 mm to the fuel port at 610 mm.
        let line = |rise: &str| {
            found(&format!(
                "fuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  run           900 mm, up 300 mm\n  \
                 pump          outlet up 20°\n  run           1.2 m, {rise}\n  ends          at reader"
            ))
        };
        assert!(line("up 60 mm").is_empty(), "{:?}", line("up 60 mm"));
        let high = line("up 300 mm");
        assert!(
            matches!(high.as_slice(), [("run-misses-its-end", Severity::Error, title)] if title.contains("240 mm too high")),
            "{high:?}"
        );
        // A length whose rise nobody states leaves the height open.
        let open = found(
            "fuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  run           900 mm\n  pump          outlet up 20°\n  run           1.2 m, up 900 mm\n  ends          at reader",
        );
        assert!(open.iter().all(|(rule, ..)| *rule != "run-misses-its-end"), "{open:?}");
    }

    #[test]
    fn no_distance_runs_from_one_body_to_the_other() {
        let line = "fuel-line of reader\n  from          main\n  rides-on      upper\n  line          2.2 mm\n  up            300 mm\n  pump          outlet up 20°\n  forward       300 mm\n  ends          at reader";
        let missed = found(&line.replace("  rides-on      upper\n", ""));
        assert!(missed.iter().any(|(rule, ..)| *rule == "run-misses-its-end"), "{missed:?}");
        assert!(found(line).is_empty(), "{:?}", found(line));
    }
}

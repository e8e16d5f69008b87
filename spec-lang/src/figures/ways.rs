//! Lengths and bends of the routes: exhaust, combustion air, return air, each warm-air outlet, and cables of a supplied
//! harness, each with the limit that applies. What flows through them is not in here, and nothing is judged.
use super::{Figure, Figures, Section, Step, Unjudged, input};
use crate::model::{HeaterSheet, Interval, Job, Met, Outlet, Run, Start, WayLimit, Whose, unit_or};
use crate::source::Place;
use crate::units::{Unit, find_unit};
use crate::vocabulary::Kind;

/// A limit: SI value, whose it is, where it is written and the unit it is written in.
#[derive(Clone, Debug)]
pub struct Limit {
    /// SI value.
    pub value: f64,
    /// Whose it is.
    pub whose: Whose,
    /// Where it is written; `None` for common practice.
    pub place: Option<Place>,
    /// The unit it is read in.
    pub unit: &'static Unit,
}

impl Limit {
    /// The limit as read.
    pub fn shown(&self) -> String {
        self.unit.show(self.value)
    }

    pub(super) fn common_practice(value: f64, unit: &str) -> Limit {
        Limit { value, whose: Whose::CommonPractice, place: None, unit: unit_or(None, unit) }
    }
}

/// What a heater's data sheet can be asked for.
#[derive(Clone, Copy, Debug)]
pub(super) enum SheetOf<'a> {
    /// This sheet.
    Is(&'a HeaterSheet),
    /// The job names none: common practice stands in.
    NotNamed,
    /// One is named but not to be read: nobody knows its limits.
    NotKnown,
}

pub(super) fn sheet_of(job: &Job, heater: Option<usize>) -> SheetOf<'_> {
    let Some(number) = heater else { return SheetOf::NotKnown };
    match (job.sheet_of(number), job.heaters.get(number)) {
        (Some(sheet), _) => SheetOf::Is(sheet),
        (None, Some(heater)) if heater.sheet_place.is_none() && !job.hidden.has(Kind::Heater) => SheetOf::NotNamed,
        _ => SheetOf::NotKnown,
    }
}

/// One way: what has a length, bends and a limit.
#[derive(Clone, Debug)]
pub struct Way {
    /// The number of its run; of an outlet on a branch, the branch's.
    pub run: usize,
    /// The run's kind; `Cable` for a branch of the supplied harness.
    pub kind: Kind,
    /// Warm air: the outlet's name, and whether it can be shut.
    pub outlet: Option<(String, bool)>,
    /// What to point at: the run's header, the outlet, the harness line.
    pub place: Place,
    /// Its length in m, from the heater's port to the open end or outlet.
    pub length: Interval,
    /// The sum of its bends in rad. The turn into a branch at a tee is not counted, since nobody states it.
    pub bends: Option<Interval>,
    /// Whether its end is stated: a way without one may go on.
    pub finished: bool,
    /// The longest it may be.
    pub longest: Option<Limit>,
    /// The shortest it may be.
    pub least: Option<Limit>,
    /// The most bends it may have.
    pub most_bends: Option<Limit>,
    /// The unit its author measured in.
    pub unit: &'static Unit,
}

/// Longest exhaust where no sheet states it: 2 m. Common practice, no source.
const LONGEST_EXHAUST: f64 = 2.0;
/// Sum of bends of an exhaust where no sheet states it: 270°. Common practice, no source.
const MOST_EXHAUST_BENDS: f64 = 1.5 * std::f64::consts::PI;
/// Longest way of warm air where no sheet states it: 10 m, the upper end of what is usual. Common practice, no source.
const LONGEST_WARM_AIR: f64 = 10.0;

/// The unit to read a length in: the author's, or metres and feet where millimetres and inches run into the thousands.
pub fn length_unit(unit: &'static Unit, metres: f64) -> &'static Unit {
    let larger = match unit.spelling {
        "mm" | "cm" if metres.abs() >= 1.0 => find_unit("m"),
        "in" if metres.abs() >= 0.9144 => find_unit("ft"),
        "m" if metres.abs() < 0.1 => find_unit("mm"),
        "ft" if metres.abs() < 0.3048 => find_unit("in"),
        _ => None,
    };
    larger.unwrap_or(unit)
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    for (number, run) in job.runs.iter().enumerate() {
        match run.kind {
            Kind::Exhaust | Kind::CombustionAir | Kind::ReturnAir => plain(job, figures, number, run),
            Kind::WarmAir => warm_air(job, figures, number, run),
            Kind::Cable => harness(job, figures, number, run),
            _ => {}
        }
    }
}

fn plain(job: &Job, figures: &mut Figures, number: usize, run: &Run) {
    if run.walk.stretches.is_empty() {
        return; // a return air that the heater draws at its own inlet has no way
    }
    let reads = job.reads(run);
    let Some(length) = run.walk.length else {
        missing(figures, run, format!("length of {reads}"), "a length on the way is still blank, or is not understood");
        return;
    };
    let sheet = sheet_of(job, run.heater);
    let stated = |pick: fn(&HeaterSheet) -> &Option<WayLimit>| match sheet {
        SheetOf::Is(sheet) => pick(sheet).as_ref().map(|limit| (sheet, limit)),
        _ => None,
    };
    let limit = match run.kind {
        Kind::Exhaust => stated(|sheet| &sheet.exhaust_limit),
        Kind::CombustionAir => stated(|sheet| &sheet.combustion_air_limit),
        _ => stated(|sheet| &sheet.return_air_limit),
    };
    let practice = run.kind == Kind::Exhaust && !matches!(sheet, SheetOf::NotKnown);
    let way = Way {
        run: number,
        kind: run.kind,
        outlet: None,
        place: run.header,
        length,
        bends: run.walk.bends,
        finished: run.end.is_some(),
        longest: longest(limit).or_else(|| practice.then(|| Limit::common_practice(LONGEST_EXHAUST, "m"))),
        least: least(limit),
        most_bends: most_bends(limit).or_else(|| practice.then(|| Limit::common_practice(MOST_EXHAUST_BENDS, "°"))),
        unit: unit_or(run.walk.unit, "m"),
    };
    let legs = legs_of(run, 0..run.steps.len());
    let (length_name, bends_name) = match run.kind {
        Kind::Exhaust => ("exhaust_length", "exhaust_bends"),
        Kind::CombustionAir => ("combustion_air_length", "combustion_air_bends"),
        _ => ("return_air_length", "return_air_bends"),
    };
    show(figures, &way, run.header, (length_name, bends_name), &reads, &legs);
    figures.ways.push(way);
}

fn longest(limit: Option<(&HeaterSheet, &WayLimit)>) -> Option<Limit> {
    limit.map(|(sheet, limit)| Limit {
        value: limit.length.value.nominal,
        whose: Whose::Sheet(sheet.name.clone()),
        place: Some(limit.length.written),
        unit: limit.length.value.unit,
    })
}

fn least(limit: Option<(&HeaterSheet, &WayLimit)>) -> Option<Limit> {
    limit.and_then(|(sheet, limit)| {
        limit.least.map(|least| Limit {
            value: least.value.nominal,
            whose: Whose::Sheet(sheet.name.clone()),
            place: Some(least.written),
            unit: least.value.unit,
        })
    })
}

fn most_bends(limit: Option<(&HeaterSheet, &WayLimit)>) -> Option<Limit> {
    limit.and_then(|(sheet, limit)| {
        limit.bends.map(|bends| Limit {
            value: bends.value.nominal,
            whose: Whose::Sheet(sheet.name.clone()),
            place: Some(bends.written),
            unit: bends.value.unit,
        })
    })
}

/// A leg as a working shows it: its length, and where it is written.
type Leg = (Interval, Place);

fn legs_of(run: &Run, steps: std::ops::Range<usize>) -> Vec<Leg> {
    let stretches = run.walk.stretches.iter().filter(|stretch| steps.contains(&stretch.step));
    stretches.map(|stretch| (stretch.length, stretch.place)).collect()
}

/// Whether every length among the steps is known.
pub(super) fn unbroken(run: &Run, steps: std::ops::Range<usize>) -> bool {
    let mut here = run.steps.iter().enumerate().filter(|(number, _)| steps.contains(number));
    !here.any(|(_, step)| match &step.met {
        Met::Gap => true,
        Met::Run(length, _) => length.get().is_none(),
        _ => false,
    })
}

/// The way from the heater to a step of a run: legs through every tee, and the bends. Circles of branches are cut before.
fn from_heater(job: &Job, run: &Run, step: usize) -> Option<(Vec<Leg>, Option<Interval>)> {
    let (mut run, mut step) = (run, step);
    let mut parts = Vec::new();
    let mut bends = Some(Interval::default());
    loop {
        if !unbroken(run, 0..step) {
            return None;
        }
        parts.push(legs_of(run, 0..step));
        if let Some(before) = step.checked_sub(1) {
            let own = run.walk.bends_after.get(before).copied().flatten();
            bends = bends.zip(own).map(|(bends, own)| bends.plus(own));
        }
        match &run.start {
            Start::Heater => return Some((parts.into_iter().rev().flatten().collect(), bends)),
            Start::Tee(trunk, tee) => {
                run = job.runs.get(*trunk)?;
                step = run.steps.iter().position(|step| matches!(&step.met, Met::Tee(name, _) if name == tee))?;
            }
            _ => return None,
        }
    }
}

fn warm_air(job: &Job, figures: &mut Figures, number: usize, run: &Run) {
    let outlets: Vec<(usize, Outlet, Place)> =
        run.outlets().map(|(step, outlet, place)| (step, outlet.clone(), place)).collect();
    for (step, outlet, place) in outlets {
        let title = format!("warm air to {}", outlet.name);
        let Some((legs, bends)) = from_heater(job, run, step) else {
            missing(
                figures,
                run,
                format!("length of {title}"),
                "a length on the way from the heater is still blank or is not understood, or its tee is not found",
            );
            continue;
        };
        let sheet = sheet_of(job, run.heater);
        let limit = match sheet {
            SheetOf::Is(sheet) => sheet.warm_air_limit.as_ref().map(|limit| (sheet, limit)),
            _ => None,
        };
        let practice = !matches!(sheet, SheetOf::NotKnown);
        let way = Way {
            run: number,
            kind: Kind::WarmAir,
            outlet: Some((outlet.name, outlet.closable)),
            place,
            length: legs.iter().fold(Interval::default(), |sum, (length, _)| sum.plus(*length)),
            bends,
            finished: true,
            longest: longest(limit).or_else(|| practice.then(|| Limit::common_practice(LONGEST_WARM_AIR, "m"))),
            least: None,
            most_bends: most_bends(limit),
            unit: unit_or(run.walk.unit, "m"),
        };
        show(figures, &way, run.header, ("warm_air_length", "warm_air_bends"), &title, &legs);
        figures.ways.push(way);
    }
}

fn harness(job: &Job, figures: &mut Figures, number: usize, run: &Run) {
    let Some(branch) = run.said.harness.fact() else { return };
    let SheetOf::Is(sheet) = sheet_of(job, run.heater) else { return };
    let Some((_, supplied)) = sheet.harness.iter().find(|(name, _)| *name == branch.value) else { return };
    let reads = job.reads(run);
    let Some(length) = run.walk.length.filter(|_| !run.walk.stretches.is_empty()) else {
        missing(figures, run, format!("length of {reads}"), "a length on the way is still blank, or is not understood");
        return;
    };
    let way = Way {
        run: number,
        kind: Kind::Cable,
        outlet: None,
        place: branch.written,
        length,
        bends: None,
        finished: run.end.is_some(),
        longest: Some(Limit {
            value: supplied.value.nominal,
            whose: Whose::Sheet(sheet.name.clone()),
            place: Some(supplied.written),
            unit: supplied.value.unit,
        }),
        least: None,
        most_bends: None,
        unit: unit_or(run.walk.unit, "m"),
    };
    show(
        figures,
        &way,
        run.header,
        ("harness_route_length", ""),
        &format!("{reads}, one way"),
        &legs_of(run, 0..run.steps.len()),
    );
    figures.ways.push(way);
}

/// The way's figures: its length at the long end, and its bends.
fn show(
    figures: &mut Figures,
    way: &Way,
    subject: Place,
    (length_name, bends_name): (&'static str, &'static str),
    title: &str,
    legs: &[Leg],
) {
    if !figures.list.is_kept() {
        return;
    }
    let rests_on: Vec<Place> = legs.iter().map(|(_, place)| *place).collect();
    figures.list.push(|| Figure {
        name: length_name,
        section: Section::Geometry,
        subject,
        title: format!("length of {title}"),
        case: "",
        value: way.length.high,
        unit: length_unit(way.unit, way.length.high),
        rests_on: rests_on.clone(),
        working: vec![sum_of_legs(legs)],
    });
    let Some(bends) = way.bends.filter(|_| !bends_name.is_empty()) else { return };
    figures.list.push(|| Figure {
        name: bends_name,
        section: Section::Geometry,
        subject,
        title: format!("bends of {title}"),
        case: "",
        value: bends.high,
        unit: unit_or(None, "°"),
        rests_on,
        working: vec![Step {
            what: "sum of the bends: corners between legs, and bends as stated",
            formula: "α = Σ atan2(|u × v|, u · v)",
            inputs: Vec::new(),
            result: bends.high,
            unit: "°",
            source: "vector geometry; a turn into a branch at a tee is not counted",
        }],
    });
}

/// The sum of legs at the long end of each.
pub(super) fn sum_of_legs(legs: &[Leg]) -> Step {
    Step {
        what: "length, corner to corner, each leg at its long end",
        formula: "L = Σ leg",
        inputs: legs.iter().map(|(length, _)| input("leg", length.high, length_spelling(length.high))).collect(),
        result: legs.iter().map(|(length, _)| length.high).sum(),
        unit: "m",
        source: "geometry; bend radii are not taken off",
    }
}

fn length_spelling(metres: f64) -> &'static str {
    if metres.abs() < 1.0 { "mm" } else { "m" }
}

fn missing(figures: &mut Figures, run: &Run, title: String, because: &str) {
    figures.missing.push(Unjudged {
        section: Section::Geometry,
        subject: run.header,
        title,
        because: because.to_string(),
    });
}

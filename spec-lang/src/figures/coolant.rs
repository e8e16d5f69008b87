//! The loop of each coolant heater: the flow it needs, how much the coolant warms, what is left of the heat, and where
//! its highest point is. Whether that is good enough is not in here.

use super::return_air::warms_air;
use super::{Figure, Figures, Section, Step, Unjudged, input};
use crate::model::{Fact, Interval, Job, Met, Run, unit_or};
use crate::physics::coolant;
use crate::source::Place;
use crate::units::{Power, Quantity, Temperature, TemperatureDifference, VolumeFlow};
use crate::vocabulary::Kind;

/// The rise over the heater for which the needed flow is given: common practice, no source.
pub const USUAL_RISE: TemperatureDifference = TemperatureDifference::kelvin_difference(10.0);

/// Mean temperature of the coolant while it heats, for its density and heat: common practice, no source.
pub const MEAN_COOLANT: Temperature = Temperature::celsius(60.0);

/// The loop of one coolant heater. All values SI.
#[derive(Clone, Debug)]
pub struct CoolantLoop {
    /// The heater's number.
    pub heater: usize,
    /// Its coolant lines: the runs' numbers.
    pub runs: Vec<usize>,
    /// The header of the first line.
    pub place: Place,
    /// Its highest output in W, where its sheet states one.
    pub output: Option<f64>,
    /// The flow in m³/s that carries that output at [`USUAL_RISE`].
    pub flow_at_usual_rise: Option<f64>,
    /// The pumps: the flow each keeps up, where stated.
    pub pumps: Vec<(Place, Option<Quantity>)>,
    /// The pumped flow: of several pumps in one loop, the largest stated.
    pub flow: Option<Fact<Quantity>>,
    /// The rise over the heater in K at full output and that flow.
    pub rise: Option<Interval>,
    /// What the coolant warms on its way, and how much heat that takes, where stated.
    pub warms: Vec<(String, Option<Quantity>, Place)>,
    /// What all that whose heat is stated leaves of the highest output, W; negative where it takes more.
    pub left: Option<Interval>,
    /// Bleed points, each with its height above the loop's start.
    pub bleeds: Vec<(Place, Option<f64>)>,
    /// A place higher than both ends of the loop, and its height above the loop's start.
    pub high_point: Option<(Place, f64)>,
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    if job.header.is_none() {
        return;
    }
    for heater in (0..job.heaters.len()).filter(|heater| !warms_air(job, *heater)) {
        let runs: Vec<usize> = job
            .runs
            .iter()
            .enumerate()
            .filter(|(_, run)| run.kind == Kind::CoolantLine && run.heater == Some(heater))
            .map(|(number, _)| number)
            .collect();
        let Some(first) = runs.first().and_then(|run| job.runs.get(*run)) else { continue };
        let found = walked(job, heater, &runs, first);
        list(job, &found, first, figures);
        figures.coolant_loops.push(found);
    }
}

fn walked(job: &Job, heater: usize, runs: &[usize], first: &Run) -> CoolantLoop {
    let output = job.sheet_of(heater).and_then(|sheet| sheet.output.get()).map(|output| output.high);
    let mut found = CoolantLoop {
        heater,
        runs: runs.to_vec(),
        place: first.header,
        output,
        flow_at_usual_rise: None,
        pumps: Vec::new(),
        flow: None,
        rise: None,
        warms: Vec::new(),
        left: None,
        bleeds: Vec::new(),
        high_point: None,
    };
    for run in runs.iter().filter_map(|run| job.runs.get(*run)) {
        let heights = heights(run);
        for (number, step) in run.steps.iter().enumerate() {
            match &step.met {
                Met::CirculatingPump(flow) => found.pumps.push((step.place, *flow)),
                Met::Warms(what, heat) => found.warms.push((what.clone(), *heat, step.place)),
                Met::Bleed => found.bleeds.push((step.place, heights.get(number).copied().flatten())),
                _ => {}
            }
        }
    }
    let whole = if let [_] = runs { high_point(first) } else { None };
    found.high_point = whole;
    found.flow = found
        .pumps
        .iter()
        .filter_map(|(place, flow)| flow.map(|flow| Fact::here(flow, *place)))
        .max_by(|one, other| one.value.low.total_cmp(&other.value.low));
    if let Some(heat) = output.map(Power::watts) {
        found.flow_at_usual_rise =
            coolant::flow_for(heat, USUAL_RISE, MEAN_COOLANT).map(|flow| flow.in_cubic_metres_per_second());
        let rise = |flow: f64| {
            coolant::temperature_rise(heat, VolumeFlow::cubic_metres_per_second(flow), MEAN_COOLANT)
                .map(|rise| rise.in_kelvin_difference())
        };
        found.rise = found.flow.and_then(|flow| {
            let (low, nominal, high) = (rise(flow.value.high)?, rise(flow.value.nominal)?, rise(flow.value.low)?);
            Some(Interval { low, nominal, high })
        });
    }
    let taken = found.warms.iter().filter_map(|(_, heat, _)| *heat).map(Interval::from).reduce(Interval::plus);
    found.left = output.zip(taken).map(|(output, taken)| Interval::exact(output).plus(taken.negative()));
    found
}

/// The height after each step above the start; `None` from the first rise on that nobody stated.
fn heights(run: &Run) -> Vec<Option<f64>> {
    let mut out = Vec::with_capacity(run.steps.len());
    let mut stretches = run.walk.stretches.iter().peekable();
    let mut height = run.walk.length.map(|_| 0.0);
    for number in 0..run.steps.len() {
        while let Some(stretch) = stretches.next_if(|stretch| stretch.step <= number) {
            height = height.zip(stretch.rise).map(|(height, rise)| height + rise.nominal);
        }
        out.push(height);
    }
    out
}

/// The highest point of a loop, where it lies above both its ends.
fn high_point(run: &Run) -> Option<(Place, f64)> {
    let heights = heights(run);
    let end = heights.last().copied().flatten()?;
    let (number, highest) = heights
        .iter()
        .enumerate()
        .filter_map(|(number, height)| height.map(|height| (number, height)))
        .fold(None, |best: Option<(usize, f64)>, (number, height)| match best {
            Some((_, known)) if known >= height - 1e-9 => best,
            _ => Some((number, height)),
        })?;
    let place = run.steps.get(number)?.place;
    (highest > 1e-6 && highest > end + 1e-6).then_some((place, highest))
}

fn list(job: &Job, found: &CoolantLoop, run: &Run, figures: &mut Figures) {
    if !figures.list.is_kept() {
        return;
    }
    let name = job.reads(run);
    let mut missing = |title: String, because: &str| {
        figures.missing.push(Unjudged {
            section: Section::Coolant,
            subject: run.header,
            title,
            because: because.to_string(),
        });
    };
    let heater = job.heaters.get(found.heater).map_or(String::new(), |heater| heater.name.clone());
    let Some(output) = found.output else {
        missing(format!("flow of coolant that {heater} needs"), "the heater's data sheet states no `output`");
        return;
    };
    if found.flow.is_none() {
        missing(format!("how much {heater} warms its coolant"), "no `pump` in the loop states its flow");
    }
    let by_volume = coolant::heat_by_volume(MEAN_COOLANT).unwrap_or(0.0);
    let sheet_place = job.sheet_of(found.heater).and_then(|sheet| sheet.output.place());
    let mut rests_on = vec![found.place];
    rests_on.extend(sheet_place);
    let properties = || Step {
        what: "heat that coolant takes by volume, in J/(m³·K); taken as half water, half ethylene glycol",
        formula: "s = ρ · c",
        inputs: vec![
            input("T (taken)", MEAN_COOLANT.in_kelvin(), "°C"),
            input(
                "ρ",
                coolant::density(MEAN_COOLANT).map_or(0.0, |density| density.in_kilograms_per_cubic_metre()),
                "",
            ),
            input("c", coolant::specific_heat(MEAN_COOLANT).unwrap_or(0.0), ""),
        ],
        result: by_volume,
        unit: "",
        source: "ASHRAE Handbook Fundamentals, secondary coolants (from memory)",
    };
    if let Some(flow) = found.flow_at_usual_rise {
        figures.list.push(|| Figure {
            name: "coolant_flow_needed",
            section: Section::Coolant,
            subject: run.header,
            title: format!("flow of coolant that {heater} needs at a rise of 10 K"),
            case: "full output",
            value: flow,
            unit: unit_or(None, "L/min"),
            rests_on: rests_on.clone(),
            working: vec![
                properties(),
                Step {
                    what: "flow that carries the heat away; a rise of 10 K over the heater is common practice, no source",
                    formula: "V̇ = P / (s · ΔT)",
                    inputs: vec![
                        input("P", output, "kW"),
                        input("s", by_volume, ""),
                        input("ΔT", USUAL_RISE.in_kelvin_difference(), "K"),
                    ],
                    result: flow,
                    unit: "L/min",
                    source: "steady energy balance",
                },
            ],
        });
    }
    if let (Some(rise), Some(flow)) = (found.rise, found.flow) {
        let mut rests_on = rests_on.clone();
        rests_on.push(flow.written);
        figures.list.push(|| Figure {
            name: "coolant_temperature_rise",
            section: Section::Coolant,
            subject: run.header,
            title: format!("how much {heater} warms the coolant of {name}"),
            case: "full output, least flow",
            value: rise.high,
            unit: unit_or(None, "K"),
            rests_on,
            working: vec![
                properties(),
                Step {
                    what: "rise over the heater at the pump's flow",
                    formula: "ΔT = P / (s · V̇)",
                    inputs: vec![
                        input("P", output, "kW"),
                        input("s", by_volume, ""),
                        input("V̇", flow.value.low, flow.value.unit.spelling),
                    ],
                    result: rise.high,
                    unit: "K",
                    source: "steady energy balance",
                },
            ],
        });
    }
    if let Some(left) = found.left {
        let taken = output - left.low;
        let mut rests_on = rests_on;
        rests_on.extend(found.warms.iter().map(|(.., place)| *place));
        figures.list.push(|| Figure {
            name: "coolant_heat_left",
            section: Section::Coolant,
            subject: run.header,
            title: format!("heat of {heater} left after all whose share is stated"),
            case: "full output",
            value: left.low,
            unit: unit_or(None, "kW"),
            rests_on,
            working: vec![Step {
                what: "highest output, less what the coolant gives to the things on its way; what the hoses lose is not taken off",
                formula: "P_left = P − ΣP_warms",
                inputs: vec![input("P", output, "kW"), input("ΣP_warms", taken, "kW")],
                result: left.low,
                unit: "kW",
                source: "steady energy balance",
            }],
        });
    }
}

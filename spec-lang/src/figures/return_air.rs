//! The return air of each air heater: where it is drawn, what the controller's sensor reads against the room, what fresh
//! air costs, and how near the warm outlets blow. Whether that is good enough is not in here.

use super::clearances::{apart, inlet_of};
use super::{Figure, Figures, Section, Step, Unjudged, input};
use crate::model::{Draws, End, Fact, Interval, Job, Met, Run, Sensor, Stated, unit_or};
use crate::physics::air::{SPECIFIC_HEAT_OF_AIR, density_at, heat_to_warm, temperature_rise};
use crate::physics::heat::{mixed_temperature, sensor_bias};
use crate::source::Place;
use crate::units::{Density, Length, Power, Quantity, Temperature, Unit, VolumeFlow};
use crate::vocabulary::Kind;

/// The set-point taken where no heated space says what is wanted: common practice, no source. Reports name it.
pub const USUAL_SET_POINT: Temperature = Temperature::celsius(20.0);

/// The share of its own warm air that a heater's inlet is taken to draw, for the size of the effect: one tenth. Not a
/// measured share; the true one depends on grille and room.
pub const SHOWN_SHARE: f64 = 0.1;

/// How far from the inlet an outlet still gets a figure.
const NEAR: f64 = 1.0;

/// Where a heater draws the air it warms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DrawnFrom {
    /// No return air is stated.
    Missing,
    /// This space.
    Space(usize),
    /// Outside the vehicle.
    Outside,
    /// It is stated, but not where from.
    Unknown,
}

/// What a share of return air from another place does to the temperature of the room.
#[derive(Clone, Debug)]
pub struct Bias {
    /// The statement.
    pub place: Place,
    /// Where it comes from, in the author's word.
    pub from: String,
    /// The share of other air, at its worst end.
    pub share: f64,
    /// Its temperature in K, at its worst end.
    pub other: f64,
    /// How much warmer than set the room settles, in K; infinite where nothing holds it.
    pub kelvin: f64,
}

/// Heat that fresh air takes.
#[derive(Clone, Copy, Debug)]
pub struct FreshAir {
    /// Air flow of the fan without duct, m³/s.
    pub flow: f64,
    /// Outside temperature, K.
    pub outside: f64,
    /// Heat, W.
    pub heat: f64,
    /// The heater's highest output, W, where its sheet states it.
    pub output: Option<f64>,
}

/// A warm outlet near the inlet.
#[derive(Clone, Debug)]
pub struct NearOutlet {
    /// The outlet's statement.
    pub place: Place,
    /// Its name.
    pub name: String,
    /// Straight distance to the inlet in m, at the worst end of what is stated.
    pub distance: f64,
    /// Whether it faces the inlet: within 45°.
    pub aimed: bool,
    /// How much colder than set the room settles in K, with [`SHOWN_SHARE`] of the outlet's air drawn back.
    pub colder: Option<f64>,
}

/// The return air of one air heater.
#[derive(Clone, Debug)]
pub struct ReturnAir {
    /// The heater's number.
    pub heater: usize,
    /// The run's number, where one is stated.
    pub run: Option<usize>,
    /// Where it draws.
    pub from: DrawnFrom,
    /// Where that is written; the run's header, or the heater's.
    pub place: Place,
    /// Spaces it heats.
    pub heats: Vec<usize>,
    /// Whether its controller senses the air it draws in, rather than by a sensor in a space.
    pub senses_return: bool,
    /// The set-point in K.
    pub set: f64,
    /// Where the set-point is written; `None` where the usual one is taken.
    pub set_place: Option<Place>,
    /// The unit to show temperatures in.
    pub unit: &'static Unit,
    /// Air mixed in from elsewhere.
    pub bias: Option<Bias>,
    /// Fresh-air working.
    pub fresh_air: Option<FreshAir>,
    /// Warm outlets near the inlet.
    pub outlets: Vec<NearOutlet>,
    /// The free space before an open inlet at the heater.
    pub clear: Option<Fact<Quantity>>,
}

/// Whether a heater warms air: its sheet says so, or says nothing and no coolant line is walked.
pub fn warms_air(job: &Job, heater: usize) -> bool {
    match job.sheet_of(heater).and_then(|sheet| sheet.warms.get()) {
        Some(warms) => *warms == "air",
        None => job.runs_of(heater, Kind::CoolantLine).next().is_none(),
    }
}

/// The spaces a heater heats; the one it stands in where it says none.
pub fn heated_spaces(job: &Job, heater: usize) -> Vec<usize> {
    let Some(heater) = job.heaters.get(heater) else { return Vec::new() };
    if heater.heats.is_empty() {
        return heater.stands_in.get().copied().flatten().into_iter().collect();
    }
    heater.heats.iter().map(|space| space.value).collect()
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    if job.header.is_none() {
        return;
    }
    for heater in (0..job.heaters.len()).filter(|heater| warms_air(job, *heater)) {
        let Some(mut found) = drawn(job, heater) else { continue };
        let run = found.run.and_then(|run| job.runs.get(run));
        if let Some(run) = run {
            if found.senses_return && found.from != DrawnFrom::Outside {
                found.bias = bias(run, &found);
            }
            fresh_air(job, &mut found, run, figures);
            found.outlets = near_outlets(job, &found, run);
            list(job, &found, run, figures);
        }
        figures.returns.push(found);
    }
}

/// Where a heater's air is drawn, as far as it is said.
fn drawn(job: &Job, number: usize) -> Option<ReturnAir> {
    let heater = job.heaters.get(number)?;
    let run = job.runs.iter().enumerate().find(|(_, run)| run.kind == Kind::ReturnAir && run.heater == Some(number));
    let at_heater = || match heater.stands_in.get() {
        Some(Some(space)) => DrawnFrom::Space(*space),
        Some(None) => DrawnFrom::Outside,
        None => DrawnFrom::Unknown,
    };
    let (from, place) = match run {
        None => (DrawnFrom::Missing, heater.header),
        Some((_, run)) => match (&run.said.draws, &run.end) {
            (Some(Draws::FromOutside(place)), _) => (DrawnFrom::Outside, *place),
            (Some(Draws::AtHeater(_, place)), _) => (at_heater(), *place),
            (None, Some(end)) => {
                let from = match &end.value {
                    End::Facing(_, Some(space)) | End::InSpace(space, _) | End::At(Some((Kind::Space, space))) => {
                        DrawnFrom::Space(*space)
                    }
                    // The language's own reading: an end that faces somewhere is in the open air unless a space is named.
                    End::Facing(_, None) => DrawnFrom::Outside,
                    _ => DrawnFrom::Unknown,
                };
                (from, end.written)
            }
            (None, None) => (DrawnFrom::Unknown, run.header),
        },
    };
    let sheet = job.sheet_of(number);
    let senses_return = match (heater.sensor.get(), sheet.map_or(&[][..], |sheet| sheet.senses.as_slice())) {
        (Some(Sensor::InSpace(_)), _) => false,
        (Some(Sensor::ReturnAir), _) => true,
        (None, senses) => senses.is_empty() || senses.iter().any(|senses| senses.value == "return-air"),
    };
    let heats = heated_spaces(job, number);
    let wanted = heats.iter().filter_map(|space| job.spaces.get(*space)).find_map(|space| space.wanted.fact());
    let clear = run.and_then(|(_, run)| match &run.said.draws {
        Some(Draws::AtHeater(Some(clear), place)) => Some(Fact::here(*clear, *place)),
        _ => None,
    });
    Some(ReturnAir {
        heater: number,
        run: run.map(|(number, _)| number),
        from,
        place,
        heats,
        senses_return,
        set: wanted.map_or(USUAL_SET_POINT.in_kelvin(), |wanted| wanted.value.nominal),
        set_place: wanted.map(|wanted| wanted.written),
        unit: unit_or(wanted.map(|wanted| wanted.value.unit), "°C"),
        bias: None,
        fresh_air: None,
        outlets: Vec::new(),
        clear,
    })
}

/// The bias that the `mixes` lines of a return make, at the worst end of what they state.
fn bias(run: &Run, found: &ReturnAir) -> Option<Bias> {
    let mut mixed: Vec<(Interval, Interval, &str, Place)> = Vec::new();
    for step in &run.steps {
        if let Met::Mixes(share, temperature, from) = &step.met {
            mixed.push((Interval::from(*share), Interval::from(*temperature), from, step.place));
        }
    }
    let place = mixed.first().map(|(.., place)| *place)?;
    let share: f64 = mixed.iter().map(|(share, ..)| share.high).sum();
    let set = Temperature::kelvin(found.set);
    let at = |end: fn(&Interval) -> f64| {
        // Streams from elsewhere mix with each other first.
        let mut so_far = 0.0;
        let mut other = set;
        for (share, temperature, ..) in &mixed {
            so_far += share.high;
            let part = if so_far > 0.0 { share.high / so_far } else { 0.0 };
            other = mixed_temperature(other, Temperature::kelvin(end(temperature)), part);
        }
        let kelvin = sensor_bias(set, other, share).map_or(f64::INFINITY, |bias| bias.in_kelvin_difference());
        (other.in_kelvin(), kelvin)
    };
    let (cold, warm) = (at(|temperature| temperature.low), at(|temperature| temperature.high));
    let (other, kelvin) = if warm.1.abs() > cold.1.abs() { warm } else { cold };
    let from = mixed.iter().map(|(_, _, from, _)| *from).collect::<Vec<_>>().join(" and ");
    Some(Bias { place, from, share, other, kelvin })
}

/// Density of the room's air where the vehicle is at its lowest: the heaviest air, and so the most heat.
fn room_density(job: &Job, found: &ReturnAir) -> Density {
    let altitude = job.conditions.altitude.get().map_or(0.0, |altitude| altitude.low);
    density_at(Length::metres(altitude), Temperature::kelvin(found.set))
}

fn fresh_air(job: &Job, found: &mut ReturnAir, run: &Run, figures: &mut Figures) {
    if found.from != DrawnFrom::Outside {
        return;
    }
    let sheet = job.sheet_of(found.heater);
    let flow = sheet.and_then(|sheet| sheet.fan_flow.get());
    let cold = job.conditions.design_cold.get();
    let (Some(flow), Some(cold)) = (flow, cold) else {
        let because = match flow {
            None => "the heater's data sheet states no `fan` flow",
            Some(_) => "the job states no `design-cold`",
        };
        figures.missing.push(Unjudged {
            section: Section::Air,
            subject: run.header,
            title: format!("heat that the fresh air of {} takes", job.reads(run)),
            because: because.to_string(),
        });
        return;
    };
    let difference = Temperature::kelvin(found.set).above(Temperature::kelvin(cold.low));
    let heat = heat_to_warm(VolumeFlow::cubic_metres_per_second(flow.high), room_density(job, found), difference)
        .max(Power::ZERO);
    found.fresh_air = Some(FreshAir {
        flow: flow.high,
        outside: cold.low,
        heat: heat.in_watts(),
        output: sheet.and_then(|sheet| sheet.output.get()).map(|output| output.high),
    });
}

/// Outlets that blow near the inlet, in the space it draws from.
fn near_outlets(job: &Job, found: &ReturnAir, run: &Run) -> Vec<NearOutlet> {
    let Some(inlet) = inlet_of(run) else { return Vec::new() };
    let sheet = job.sheet_of(found.heater);
    let drawn_from = match found.from {
        DrawnFrom::Space(space) => Some(job.shared_air(space)),
        _ => None,
    };
    let mut near = Vec::new();
    for warm in job.runs_of(found.heater, Kind::WarmAir).filter(|warm| warm.body == run.body) {
        for (step, outlet, place) in warm.outlets() {
            let Some(spot) = warm.walk.after.get(step).copied().flatten() else { continue };
            let apart_by_a_wall =
                outlet.space.zip(drawn_from.as_ref()).is_some_and(|(space, air)| !air.contains(&space));
            if apart_by_a_wall {
                continue;
            }
            let (one, other) = apart(job, (warm, spot), (run, inlet));
            let way = one.point.to(other.point);
            // Where the sheet states no ports, the doubt is a guess at the body's size and finds nothing by itself.
            let ports =
                sheet.is_some_and(|sheet| sheet.port("warm-air").is_some() && sheet.port("return-air").is_some());
            let doubt = if ports { one.reach() + other.reach() } else { 0.0 };
            let distance = (way.length().in_metres() - doubt).max(0.0);
            let aimed = outlet
                .facing
                .and_then(|facing| job.axes.unit(facing).angle_to(way))
                .is_some_and(|angle| angle.in_degrees() <= 45.0);
            // A distance of just that much stays out in any unit it is written in.
            if distance < NEAR - 1e-6 {
                let colder = colder(job, found);
                near.push(NearOutlet { place, name: outlet.name.clone(), distance, aimed, colder });
            }
        }
    }
    near
}

/// How much colder than set the room settles with a tenth of the outlet's air drawn back, at full output and free flow.
fn colder(job: &Job, found: &ReturnAir) -> Option<f64> {
    let sheet = job.sheet_of(found.heater).filter(|_| found.senses_return)?;
    let output = Power::watts(sheet.output.get()?.high);
    let flow = VolumeFlow::cubic_metres_per_second(sheet.fan_flow.get()?.high);
    let rise = temperature_rise(output, flow, room_density(job, found))?;
    let set = Temperature::kelvin(found.set);
    sensor_bias(set, set + rise, SHOWN_SHARE).map(|bias| -bias.in_kelvin_difference())
}

/// Puts the figures into the list.
fn list(job: &Job, found: &ReturnAir, run: &Run, figures: &mut Figures) {
    if !figures.list.is_kept() {
        return;
    }
    let name = job.reads(run);
    let mut rests_on = vec![found.place];
    rests_on.extend(found.set_place);
    if let Some(bias) = found.bias.as_ref().filter(|bias| bias.kelvin.is_finite()) {
        rests_on.push(bias.place);
        figures.list.push(|| Figure {
            name: "room_above_set_point",
            section: Section::Air,
            subject: run.header,
            title: format!("room held above the set-point because of {name}"),
            case: "output to spare, air well mixed",
            value: bias.kelvin,
            unit: unit_or(None, "K"),
            rests_on: rests_on.clone(),
            working: vec![Step {
                what:
                    "the sensor reads a mixture and holds that at the set-point: set = (1 − f) · T_room + f · T_other",
                formula: "T_room − set = f / (1 − f) · (set − T_other)",
                inputs: vec![
                    input("f", bias.share, "%"),
                    input("set", found.set, found.unit.spelling),
                    input("T_other", bias.other, found.unit.spelling),
                ],
                result: bias.kelvin,
                unit: "K",
                source: "enthalpy balance at constant specific heat",
            }],
        });
    }
    if let Some(fresh) = found.fresh_air {
        let density = room_density(job, found).in_kilograms_per_cubic_metre();
        figures.list.push(|| Figure {
            name: "fresh_air_heat",
            section: Section::Air,
            subject: run.header,
            title: format!("heat that the fresh air of {name} takes"),
            case: "design cold, fan without duct",
            value: fresh.heat,
            unit: unit_or(None, "kW"),
            rests_on,
            working: vec![Step {
                what: "heat that warms the outside air to the set-point; the flow is counted as room air",
                formula: "Q = ρ · V · c · (set − T_outside)",
                inputs: vec![
                    input("ρ", density, "kg/m³"),
                    input("V", fresh.flow, "m³/h"),
                    input("c, J/(kg·K)", SPECIFIC_HEAT_OF_AIR, ""),
                    input("set", found.set, found.unit.spelling),
                    input("T_outside", fresh.outside, found.unit.spelling),
                ],
                result: fresh.heat,
                unit: "kW",
                source: "energy balance",
            }],
        });
    }
    for outlet in &found.outlets {
        let unit = unit_or(run.walk.unit, "mm");
        figures.list.push(|| Figure {
            name: "outlet_to_return",
            section: Section::Air,
            subject: run.header,
            title: format!("outlet {} to the inlet of {name}", outlet.name),
            case: "",
            value: outlet.distance,
            unit,
            rests_on: vec![outlet.place, found.place],
            working: vec![Step {
                what: "straight distance between the two open ends, at the worst end of what is stated",
                formula: "d = |outlet − inlet| − doubts",
                inputs: Vec::new(),
                result: outlet.distance,
                unit: unit.spelling,
                source: "plane geometry",
            }],
        });
    }
    if found.from == DrawnFrom::Unknown {
        figures.missing.push(Unjudged {
            section: Section::Air,
            subject: run.header,
            title: format!("how {name} shifts the temperature of the room"),
            because: "the job does not state where it draws".to_string(),
        });
    }
    let unnamed = matches!(
        job.spaces.iter().zip(0..).find(|(_, number)| found.heats.contains(number)).map(|(space, _)| &space.wanted),
        Some(Stated::Unknown(_) | Stated::Blank(_))
    );
    if unnamed && found.bias.is_some() {
        figures.missing.push(Unjudged {
            section: Section::Air,
            subject: run.header,
            title: format!("set-point for {name}"),
            because: format!("the temperature wanted is left open, so {} is taken", found.unit.show(found.set)),
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::job_with_sheets;
    use crate::rules::BENCH_SHEETS;

    fn returned(example: &str, sheets: &str) -> ReturnAir {
        Figures::of(&job_with_sheets(example, sheets)).returns.first().expect("one air heater").clone()
    }

    /// Source: 0.34 Wh/(m³·K) for air at room temperature, EN 12831-1: 85 m³/h over 44 K is 1.27 kW; the constant is
    /// rounded, so 2 % either way.
    #[test]
    fn fresh_air_takes_what_the_heat_load_standard_says() {
        let sheets = BENCH_SHEETS.replace("105 m³/h no duct", "85 m³/h no duct");
        assert!(sheets.contains("85 m³/h"));
        let example = "job \"Fresh air\"\n  design-cold -26 °C\n\nreturn-air of reader\n  draws from outside";
        let fresh = returned(example, &sheets).fresh_air.expect("flow and temperatures are stated");
        let standard = 0.34 * 85.0 * 44.0;
        assert!((fresh.heat / standard - 1.0).abs() < 0.02, "{} W beside {standard} W", fresh.heat);
    }

    /// Source: enthalpy of air by CoolProp 8.0.0 (set 18 °C, 40 % at -12 °C: 19.987 K; 0.03 K for constant specific heat).
    #[test]
    fn a_mixed_return_biases_the_room() {
        let example = "return-air of reader\n  mixes 40 %, -12 °C, porch\n  draws at heater, clear 80 mm";
        let bias = returned(example, BENCH_SHEETS).bias.expect("a share is mixed in");
        assert!((bias.kelvin - 19.986_752_778).abs() < 0.03, "{}", bias.kelvin);
    }

    /// What the sensor reads is the set-point: 20 % at 0 °C and 10 % at -10 °C with the rest at the room's temperature.
    #[test]
    fn two_shares_mix_before_they_bias() {
        let example =
            "return-air of reader\n  mixes 20 %, 0 °C, porch\n  mixes 10 %, -10 °C, footwell\n  draws at heater";
        let found = returned(example, BENCH_SHEETS);
        let room = 18.0 + found.bias.expect("shares are mixed in").kelvin;
        let sensed = 0.7 * room + 0.2 * 0.0 + 0.1 * -10.0;
        assert!((sensed - 18.0).abs() < 1e-9, "{sensed}");
    }

    #[test]
    fn a_tolerance_of_the_share_counts_at_its_worst_end() {
        let at = |share: &str| {
            let example = format!("return-air of reader\n  mixes {share}, 0 °C, porch\n  draws at heater");
            returned(&example, BENCH_SHEETS).bias.expect("a share is mixed in").kelvin
        };
        assert!((at("20 % ± 5 %") - at("25 %")).abs() < 1e-9);
    }

    #[test]
    fn a_sensor_in_the_room_has_no_bias() {
        let example = "heater reader\n  datasheet air-2\n  in cabin\n  heats cabin\n  at back 1900 mm, right 310 mm, up 670 mm\n  \
                       warm-end forward\n  sensor in cabin\n\n\
                       return-air of reader\n  mixes 40 %, -12 °C, porch\n  draws at heater";
        let found = returned(example, BENCH_SHEETS);
        assert!(!found.senses_return && found.bias.is_none());
    }
}

//! Rules on return air and warm air: where a heater draws the air it warms, and what its controller then believes about
//! the room.

use super::engine::Findings;
use super::margin::Told;
use super::{Family, Guards, Rule, quoted};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::return_air::{DrawnFrom, ReturnAir, SHOWN_SHARE, heated_spaces, warms_air};
use crate::finding::{Severity, Whose};
use crate::model::{Job, unit_or};
use crate::rules::About;
use crate::rules::Cause;
use crate::units::{Dimension, Unit, rounded};
use crate::vocabulary::Kind;

pub(super) static RULES: &[&Rule] = &[
    &RETURN_AIR_MISSING,
    &RETURN_AIR_FROM_ELSEWHERE,
    &RETURN_AIR_FROM_OUTSIDE,
    &RETURN_AIR_BIAS,
    &OUTLET_BLOWS_INTO_RETURN,
    &RETURN_AIR_CLEARANCE_SMALL,
    &WARM_AIR_MISSING,
];

/// The bias worth a warning, and the one worth a word, in K. Common practice, no source.
const BIAS_WARNS: f64 = 2.0;
const BIAS_TOLD: f64 = 1.0;
/// How near the inlet an outlet may blow, and how near when it faces the inlet. Common practice, no source.
const OUTLET_APART: f64 = 0.5;
const AIMED_OUTLET_APART: f64 = 1.0;
/// Least free space before an open inlet at the heater. Common practice, no source.
const INLET_CLEAR: f64 = 0.05;
/// The share of its output that fresh air may take before it counts as a warning. The project's own.
const FRESH_AIR_SHARE: f64 = 0.5;
/// The share below which fresh air is not worth a word where a sensor watches the room. The project's own.
const FRESH_AIR_TOLD: f64 = 0.25;

static RETURN_AIR_MISSING: Rule = Rule {
    name: "return-air-missing",
    family: Family::ReturnAir,
    severity: Severity::Error,
    title: "an air heater without return air",
    source: "common practice, no source: the controller senses the air that comes into the heater",
    explanation: "The controller knows the room only by the air that comes back to the heater. Without a return it \
                  holds the temperature of a locker or a wheel arch instead. The fan labours, and the room gets too \
                  hot or stays too cold.",
    mend: "Write a `return-air of` block. Say `draws at heater, clear 80 mm` where the heater stands open in the \
           heated space. Otherwise walk a duct from that space.",
    bad: "leave out return-air of reader",
    good: "return-air of reader\n  draws         at heater, clear 80 mm",
    guards: Guards::Comfort,
    measures: &[],
    explained_by: &[],
    about: About::Absent,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ReturnAir]]).only(when::warms_air)],
    find: return_air_missing,
};

static RETURN_AIR_FROM_ELSEWHERE: Rule = Rule {
    name: "return-air-from-elsewhere",
    family: Family::ReturnAir,
    severity: Severity::Error,
    title: "return air drawn from a space that is not heated",
    source: "common practice, no source: return air comes from the heated space",
    explanation: "The controller holds the temperature of the air it draws. Air from a cold load space never gets \
                  warm. The heater then runs at full output, the room overheats, and heat and fuel go into the wrong \
                  room.",
    mend: "Draw the air from the heated space. Or say `joined-to`, if the two spaces share their air.",
    bad: "space load\n  use           load\n  volume        6 m³\n\nreturn-air of reader\n  duct          air-90\n  back          500 mm\n  \
          ends          in load, facing back",
    good: "space load\n  use           load\n  volume        6 m³\n\nreturn-air of reader\n  duct          air-90\n  back          500 mm\n  \
           ends          in cabin, facing back",
    guards: Guards::Comfort,
    measures: &[],
    explained_by: &[Cause::on_heater("return-air-from-plant")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ReturnAirDraws, Need::HeaterHeats]]).only(when::warms_air)],
    find: return_air_from_elsewhere,
};

static RETURN_AIR_FROM_OUTSIDE: Rule = Rule {
    name: "return-air-from-outside",
    family: Family::ReturnAir,
    severity: Severity::Warning,
    title: "a heater that warms outside air",
    source: "energy balance; the limit of half the output is trialfit's own (with a sensor in the room, a quarter \
             gives advice)",
    explanation: "Air from outside takes much of what a small heater gives. It is the commonest cause of \"the heater \
                  is too weak\". A controller that senses this air reads the weather, not the room, and never turns \
                  down.",
    mend: "Draw the air from the heated space. Where the heater must draw fresh air, put the sensor in the heated \
           space.",
    bad: "return-air of reader\n  draws         from outside",
    good: "return-air of reader\n  draws         at heater, clear 80 mm",
    guards: Guards::Comfort,
    measures: &[Dimension::Ratio],
    explained_by: &[Cause::on_heater("heater-too-weak")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ReturnAirDraws]]).only(when::warms_air)],
    find: return_air_from_outside,
};

static RETURN_AIR_BIAS: Rule = Rule {
    name: "return-air-bias",
    family: Family::ReturnAir,
    severity: Severity::Warning,
    title: "a set-point that the room does not hold",
    source: "enthalpy balance; 2 K as the limit is common practice, no source (from 1 K on it gives advice)",
    explanation: "Part of the air that the controller senses comes from a colder or a warmer place. The controller \
                  holds this mixture at the set-point, so the room settles at another temperature. People then sleep \
                  in a room that is much too hot, or wake in a cold one.",
    mend: "Seal the return against the other place, draw the air from the room, or fit a sensor in the room.",
    bad: "return-air of reader\n  duct          air-90\n  mixes         30 %, -5 °C, footwell\n  back          500 mm\n  \
          ends          in cabin, facing back",
    good: "return-air of reader\n  duct          air-90\n  mixes         3 %, -5 °C, footwell\n  back          500 mm\n  \
           ends          in cabin, facing back",
    guards: Guards::Comfort,
    measures: &[Dimension::Temperature],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::ReturnAir, &[&[Need::ReturnAirMixes, Need::Sensor]])],
    find: return_air_bias,
};

static OUTLET_BLOWS_INTO_RETURN: Rule = Rule {
    name: "outlet-blows-into-return",
    family: Family::ReturnAir,
    severity: Severity::Warning,
    title: "a warm outlet that blows into the return",
    source: "common practice, no source: 500 mm between outlet and inlet, 1 m where the outlet faces the inlet",
    explanation: "The heater draws its own warm air back in. The sensor reads warm air and turns the heater down, so \
                  the room stays cold. The heater itself may overheat and stop.",
    mend: "Turn the outlet away, or move the outlet or the inlet.",
    bad: "warm-air main of reader\n  duct          air-90\n  forward       300 mm\n  up            300 mm\n  back          1000 mm\n  \
          outlet        bench, facing back, in cabin",
    good: "warm-air main of reader\n  duct          air-90\n  forward       900 mm\n  up            200 mm\n  \
           outlet        bench, facing left, in cabin",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[&[Need::ReturnAirDraws], groups::BRANCH]).only(when::warms_air),
        Ask::each(Kind::Heater, &[&[Need::HeaterAt, Need::WarmEnd, Need::ReturnAirRides, Need::WarmAirRides]])
            .only(when::placed),
    ],
    find: outlet_blows_into_return,
};

static RETURN_AIR_CLEARANCE_SMALL: Rule = Rule {
    name: "return-air-clearance-small",
    family: Family::ReturnAir,
    severity: Severity::Warning,
    title: "too little free space before the heater's inlet",
    source: "common practice, no source: at least 50 mm, better 100 mm",
    explanation: "An inlet close to a wall or a blanket starves the fan. The air comes out hotter and slower. The \
                  heater trips or wears out early.",
    mend: "Leave 50 mm to 100 mm free before the inlet. Keep luggage away with a grille.",
    bad: "return-air of reader\n  draws         at heater, clear 30 mm",
    good: "return-air of reader\n  draws         at heater, clear 80 mm",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ReturnAirDraws, Need::ReturnAirClear]]).only(when::warms_air)],
    find: return_air_clearance_small,
};

static WARM_AIR_MISSING: Rule = Rule {
    name: "warm-air-missing",
    family: Family::ReturnAir,
    severity: Severity::Warning,
    title: "a heated space that no warm air reaches",
    source: "the job itself: it says `heats`",
    explanation: "The heater stands in one space and heats another, but no duct leads there. The wrong room gets warm.",
    mend: "Walk a `warm-air` run to that space. Or say `joined-to`, if the two spaces share their air.",
    bad: "space load\n  use           working\n  volume        6 m³\n\nheater reader\n  datasheet     air-2\n  in            cabin\n  \
          heats         load\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n\
          return-air of reader\n  duct          air-90\n  back          500 mm\n  ends          in load, facing back\n\n\
          leave out warm-air main of reader",
    good: "space load\n  use           working\n  volume        6 m³\n\nheater reader\n  datasheet     air-2\n  in            cabin\n  \
           heats         load\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n\
           return-air of reader\n  duct          air-90\n  back          500 mm\n  ends          in load, facing back",
    guards: Guards::Comfort,
    measures: &[],
    explained_by: &[],
    about: About::Absent,
    asks: &[Ask::each(Kind::Heater, &[&[Need::HeaterHeats, Need::HeaterIn]]).only(when::warms_air)],
    find: warm_air_missing,
};

/// The spaces by name: `cabin` and `bunk`.
fn names(job: &Job, spaces: &[usize]) -> String {
    let names = quoted(spaces.iter().filter_map(|space| job.spaces.get(*space)).map(|space| space.name.as_str()));
    if names.is_empty() { "the room".to_string() } else { names }
}

/// A difference as a reader of that scale says it: kelvin for degrees Celsius, to a tenth.
fn difference(unit: &'static Unit, kelvin: f64) -> String {
    let shown = if unit.symbol == "°C" { unit_or(None, "K") } else { unit };
    let tenths = (kelvin / shown.factor * 10.0).round() / 10.0;
    shown.show_difference(tenths * shown.factor)
}

fn heater_name(job: &Job, found: &ReturnAir) -> String {
    job.heaters.get(found.heater).map_or(String::new(), |heater| heater.name.clone())
}

fn return_air_missing(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    let stray = job.runs.iter().any(|run| run.kind == Kind::ReturnAir && run.heater.is_none());
    if stray || job.hidden.has(Kind::ReturnAir) {
        return;
    }
    for found in figures.returns.iter().filter(|found| found.from == DrawnFrom::Missing) {
        let Some(heater) = job.heaters.get(found.heater) else { continue };
        let heated = names(job, &found.heats);
        let why = if found.senses_return {
            format!(
                "its controller senses the air that comes in; without a return from {heated} it holds {} somewhere \
                 else",
                found.unit.show(found.set)
            )
        } else {
            format!("its sensor is in the room, but the fan must draw the air of {heated} to warm it")
        };
        let mut finding = findings
            .at(heater.header, format!("`{}` warms air, but the job states no return air", heater.name))
            .label("no air is led back to here")
            .why(why)
            .limit("a return for each air heater, from the space it heats", Whose::CommonPractice)
            .help(format!(
                "write `return-air of {}`: `draws at heater, clear 80 mm` if the heater stands open in the room; \
                 otherwise walk the duct",
                heater.name
            ));
        if !found.senses_return {
            finding.severity = Severity::Warning;
        }
        if let Some(place) = heater.sheet_place {
            finding = finding.related(place, "its data sheet");
        }
        findings.add(finding);
    }
}

/// The space that return air comes from, where it shares no air with any heated one.
fn elsewhere(job: &Job, found: &ReturnAir) -> Option<usize> {
    let DrawnFrom::Space(space) = found.from else { return None };
    let air = job.shared_air(space);
    let foreign = !found.heats.is_empty() && !found.heats.iter().any(|heated| air.contains(heated));
    foreign.then_some(space)
}

fn return_air_from_elsewhere(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for found in &figures.returns {
        let Some(space) = elsewhere(job, found).and_then(|space| job.spaces.get(space)) else { continue };
        let heated = names(job, &found.heats);
        let name = heater_name(job, found);
        let why = if found.senses_return {
            format!(
                "the controller holds `{}` at {}, not {heated}: nothing limits how warm {heated} gets",
                space.name,
                found.unit.show(found.set)
            )
        } else {
            format!(
                "the sensor is elsewhere, but all the air that it heats comes from `{}`, so the fuel heats that space \
                 too",
                space.name
            )
        };
        let mut finding = findings
            .at(found.place, format!("`{name}` heats {heated} but draws all its air from `{}`", space.name))
            .label(format!("all the return air comes from `{}`", space.name))
            .why(why)
            .limit(format!("return air from {heated}"), Whose::CommonPractice)
            .help(format!("end the return in {heated}, or say `joined-to` if the two spaces share their air"))
            .related(space.header, "it draws the air here");
        if !found.senses_return {
            finding.severity = Severity::Warning;
        }
        for heated in found.heats.iter().filter_map(|heated| job.spaces.get(*heated)) {
            finding = finding.related(heated.header, "it heats this space");
        }
        findings.add(finding);
    }
}

fn return_air_from_outside(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for found in figures.returns.iter().filter(|found| found.from == DrawnFrom::Outside) {
        let name = heater_name(job, found);
        let power = unit_or(None, "kW");
        let (title, share) = match found.fresh_air {
            Some(fresh) => {
                let of = fresh.output.map_or(String::new(), |output| format!(" of its {}", power.show(output)));
                let title = format!(
                    "`{name}` warms outside air: at {} outside that takes {}{of}",
                    found.unit.show(fresh.outside),
                    power.show(fresh.heat)
                );
                (title, fresh.output.filter(|output| *output > 0.0).map(|output| fresh.heat / output))
            }
            None => (format!("`{name}` warms outside air"), None),
        };
        let sensed = if found.senses_return {
            "; its controller senses this air, so it reads the weather and never turns down"
        } else {
            ""
        };
        let flow = match found.fresh_air {
            Some(fresh) => {
                format!(
                    "{} of outside air is warmed to {}",
                    unit_or(None, "m³/h").show(fresh.flow),
                    found.unit.show(found.set)
                )
            }
            None => "the heat that fresh air takes is lost to the room".to_string(),
        };
        let told = || {
            Told::new(
                found.place,
                "share of the heater's output that fresh air takes",
                unit_or(None, "%"),
                Whose::CommonPractice,
            )
        };
        if share
            .is_some_and(|share| !found.senses_return && findings.at_most(share, FRESH_AIR_TOLD, -1e-12, told).keeps())
        {
            continue;
        }
        let told = !found.senses_return && share.is_some_and(|share| share < FRESH_AIR_SHARE);
        let percent = |share: f64| rounded(share * 100.0);
        let limit = match share.filter(|_| told) {
            Some(share) => format!(
                "advice from {} % of the highest output, a warning from {} %; this is {} %",
                percent(FRESH_AIR_TOLD),
                percent(FRESH_AIR_SHARE),
                percent(share)
            ),
            None => format!("{} % of the highest output, and a sensor in the room", percent(FRESH_AIR_SHARE)),
        };
        let mut finding = findings
            .at(found.place, title)
            .label("the air comes from outside here")
            .why(format!("{flow}{sensed}"))
            .limit(limit, Whose::CommonPractice)
            .help(if found.senses_return {
                "draw the air from the heated space; where the heater must draw fresh air, put the sensor in that \
                 space"
            } else {
                "draw the air from the heated space if it needs no fresh air; otherwise choose a heater that can warm \
                 both"
            });
        if told {
            finding.severity = Severity::Advice;
        }
        findings.add(finding);
    }
}

fn return_air_bias(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for found in figures.returns.iter().filter(|found| elsewhere(job, found).is_none()) {
        let Some(bias) = found.bias.as_ref() else { continue };
        let told = || {
            Told::new(bias.place, "difference between set-point and room", unit_or(None, "K"), Whose::CommonPractice)
                .difference()
        };
        if findings.at_most(bias.kelvin.abs(), BIAS_TOLD, -1e-9, told).keeps() {
            continue;
        }
        let heated = names(job, &found.heats);
        let set = found.unit.show(found.set);
        let usual = if found.set_place.is_none() { " (taken, because no space states `wanted`)" } else { "" };
        let share = unit_or(None, "%").show(bias.share);
        let title = if bias.kelvin.is_finite() {
            format!("set to {set}, {heated} will settle near {}", found.unit.show_to(found.set + bias.kelvin, 1.0))
        } else {
            format!(
                "set to {set}, {heated} has no temperature that it holds: {share} of the return air comes from {}",
                bias.from
            )
        };
        let mut finding = findings
            .at(bias.place, title)
            .label(format!("{share} of the return air is at {}", found.unit.show(bias.other)))
            .why(format!(
                "the controller senses the mixture and holds that at {set}{usual}, as long as the heater has output \
                 to spare"
            ))
            .limit(format!("{} between set-point and room", difference(found.unit, BIAS_WARNS)), Whose::CommonPractice)
            .help(format!("seal the return against {}, draw the air from {heated}, or fit a sensor there", bias.from));
        if bias.kelvin.abs() < BIAS_WARNS {
            finding.severity = Severity::Advice;
        }
        if let Some(place) = found.set_place {
            finding = finding.related(place, "the temperature wanted");
        }
        findings.add(finding);
    }
}

fn outlet_blows_into_return(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for found in &figures.returns {
        let Some(run) = found.run.and_then(|run| job.runs.get(run)) else { continue };
        let unit = unit_or(run.walk.unit, "mm");
        for outlet in &found.outlets {
            let limit = if outlet.aimed { AIMED_OUTLET_APART } else { OUTLET_APART };
            let told = || Told::new(outlet.place, "distance from an outlet to the inlet", unit, Whose::CommonPractice);
            if findings.at_least(outlet.distance, limit, 0.0005, told).keeps() {
                continue;
            }
            let faces = if outlet.aimed { " and faces it" } else { "" };
            let why = match outlet.colder {
                Some(colder) => format!(
                    "if only {} % of the inlet's air comes from this outlet, the room settles {} below the set-point",
                    rounded(SHOWN_SHARE * 100.0),
                    difference(found.unit, colder)
                ),
                None => "the heater draws back the air that it has just warmed".to_string(),
            };
            let finding = findings
                .at(
                    outlet.place,
                    format!(
                        "outlet `{}` blows {} from the inlet of `{}`{faces}",
                        outlet.name,
                        unit.show(outlet.distance),
                        job.reads(run)
                    ),
                )
                .label(format!("{} to the inlet", unit.show(outlet.distance)))
                .why(why)
                .limit(format!("{} apart", unit.show(limit)), Whose::CommonPractice)
                .help("turn the outlet away, or move the outlet or the inlet")
                .related(found.place, "the inlet");
            findings.add(finding);
        }
    }
}

fn return_air_clearance_small(findings: &mut Findings<'_>) {
    let figures = findings.figures;
    for found in &figures.returns {
        let Some(clear) = found.clear else { continue };
        let told = || Told::new(clear.written, "free space before the inlet", clear.value.unit, Whose::CommonPractice);
        if findings.at_least(clear.value, INLET_CLEAR, 0.0005, told).keeps() {
            continue;
        }
        let (free, asked) = (clear.value.show(clear.value.low), clear.value.show(INLET_CLEAR));
        let name = heater_name(findings.job, found);
        let finding = findings
            .at(clear.written, format!("the inlet of `{name}` has {free} free before it; it needs {asked}"))
            .label(format!("{free} free"))
            .why(
                "a fan that cannot draw moves less air: the air comes out hotter, and the heater trips or wears out \
                  early",
            )
            .limit(format!("at least {asked}"), Whose::CommonPractice)
            .help(format!("leave {asked} to {} free before the inlet", clear.value.show(2.0 * INLET_CLEAR)));
        findings.add(finding);
    }
}

fn warm_air_missing(findings: &mut Findings<'_>) {
    let job = findings.job;
    if job.header.is_none() || job.hidden.has(Kind::WarmAir) {
        return;
    }
    if job.runs.iter().any(|run| run.kind == Kind::WarmAir && run.heater.is_none()) {
        return;
    }
    for (number, heater) in job.heaters.iter().enumerate().filter(|(number, _)| warms_air(job, *number)) {
        let Some(stands_in) = heater.stands_in.get().copied() else { continue };
        if job.runs_of(number, Kind::WarmAir).next().is_some() {
            continue;
        }
        let air = stands_in.map_or(Vec::new(), |space| job.shared_air(space));
        let cold: Vec<usize> = heated_spaces(job, number).into_iter().filter(|heated| !air.contains(heated)).collect();
        if cold.is_empty() {
            continue;
        }
        let stands = stands_in
            .and_then(|space| job.spaces.get(space))
            .map_or("outside".to_string(), |space| format!("in `{}`", space.name));
        let mut finding = findings
            .at(
                heater.header,
                format!(
                    "`{}` stands {stands} and heats {}, but no warm air is led there",
                    heater.name,
                    names(job, &cold)
                ),
            )
            .label("no duct leaves from here")
            .why("its warm air stays where it stands")
            .limit("warm air in every space that it `heats`", Whose::Job)
            .help("walk a `warm-air` run there, or say `joined-to` if the two spaces share their air");
        for space in cold.iter().filter_map(|space| job.spaces.get(*space)) {
            finding = finding.related(space.header, "the heater is to heat this space");
        }
        findings.add(finding);
    }
}

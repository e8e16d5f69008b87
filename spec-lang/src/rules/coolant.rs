//! Rules on heaters that warm coolant: flow, direction and air in the loop. What such a heater shares with any other,
//! its exhaust, fuel and cable, is judged elsewhere.

use super::margin::Told;
use super::{Family, Guards, Rule};
use crate::asks::{Ask, Need, when};
use crate::figures::coolant::{CoolantLoop, USUAL_RISE};
use crate::figures::return_air::warms_air;
use crate::finding::{Severity, Whose};
use crate::model::{End, Job, Met, Run, unit_or};
use crate::rules::About;
use crate::units::Dimension;
use crate::vocabulary::Kind;

pub(super) static RULES: &[&Rule] = &[
    &COOLANT_LINE_MISSING,
    &COOLANT_LOOP_OPEN,
    &COOLANT_PUMP_MISSING,
    &COOLANT_FLOW_TOO_SMALL,
    &COOLANT_PUMP_BEHIND_HEATER,
    &COOLANT_BLEED_MISSING,
    &COOLANT_HOSE_TOO_WEAK,
    &COOLANT_HEAT_SPENT,
];

/// The rise over the heater at full output above which the flow is too small. Common practice, no source.
const RISE_WARNS: f64 = 15.0;
/// How far above both ends of a loop a hump counts as a place for air. Common practice, no source.
const HUMP: f64 = 0.05;
/// What coolant hose must bear: a closed loop under pressure runs to about this. Common practice, no source.
const HOSE_BEARS: f64 = 110.0 + 273.15;

/// A coolant heater in place of the bench's air heater, with what comes before its loop.
macro_rules! with_loop {
    ($($rest:expr_2021),*) => {
        concat!(
            "datasheet heater coolant-2                     # invented\n  warms         coolant\n  fitted-on     floor\n  tilt          0° .. 15°\n  burns         diesel\n  \
             output        0.9 kW .. 2.4 kW\n  fuel-rate     0.11 L/h .. 0.29 L/h\n  supply        12 V\n  \
             voltage       10.2 V .. 15.5 V, trips after 15 s\n  stage         pre-heat, 9.5 A, 90 s\n  \
             stage         ignition, 8 A, 40 s\n  stage         high, 2.8 A\n  stage         low, 0.8 A\n  \
             stage         cool-down, 2.2 A, 120 s\n  stage         standby, 20 mA\n  dose          0.025 mL\n  \
             excess-air    40 % .. 90 %\n  altitude      0 m .. 1500 m\n  fuse          20 A\n  \
             exhaust-clear-of openings 600 mm\n  exhaust-clear-of combustion-air 500 mm\n  \
             spans         forward 310 mm, left 120 mm, up 122 mm\n  \
             port          coolant-out forward 155 mm, up 40 mm, facing forward\n  \
             port          coolant-in forward 155 mm, down 40 mm, facing forward\n  \
             port          exhaust right 40 mm, down 60 mm, facing down\n  \
             port          combustion-air forward 110 mm, left 40 mm, down 60 mm, facing down\n  \
             port          fuel back 120 mm, left 40 mm, down 60 mm, facing down\n  \
             port          supply back 100 mm, up 60 mm, facing up\n\n\
             heater reader\n  datasheet     coolant-2\n  in            cabin\n  heats         cabin\n  \
             at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n\
             leave out return-air of reader\n\nleave out warm-air main of reader",
            $($rest),*
        )
    };
}

/// A loop without fault, with its pump and its bleed to choose.
macro_rules! good_loop {
    ($hose:literal, $bleed:literal, $warms:literal, $pump:literal) => {
        with_loop!(
            "\n\ncoolant-line loop of reader\n  hose          ",
            $hose,
            "\n  forward       300 mm\n  up            150 mm\n",
            $bleed,
            "  right         300 mm\n  warms         ",
            $warms,
            "\n  down          230 mm\n  left          300 mm\n",
            $pump,
            "  back          300 mm\n  ends          at reader"
        )
    };
    () => {
        good_loop!("rubber, 18 mm bore", "  bleed         top\n", "engine, 1 kW", "  pump          8 L/min\n")
    };
}

static COOLANT_LINE_MISSING: Rule = Rule {
    name: "coolant-line-missing",
    family: Family::Coolant,
    severity: Severity::Warning,
    title: "a coolant heater without a coolant line",
    source: "the heater's data sheet: it says `warms coolant`",
    explanation: "The heater warms coolant, but the job does not say where the coolant goes. Its flow, the air in its \
                  loop and the use of its heat cannot be judged.",
    mend: "Write a `coolant-line` block and walk the loop from the heater back to it.",
    bad: with_loop!(),
    good: good_loop!(),
    guards: Guards::Start,
    measures: &[],
    explained_by: &[],
    about: About::Absent,
    asks: &[Ask::each(Kind::Heater, &[&[Need::CoolantLine]]).only(when::warms_coolant)],
    find: |findings| {
        let job = findings.job;
        let stray = job.runs.iter().any(|run| run.kind == Kind::CoolantLine && run.heater.is_none());
        if job.header.is_none() || stray || job.hidden.has(Kind::CoolantLine) {
            return;
        }
        for (number, heater) in job.heaters.iter().enumerate().filter(|(number, _)| !warms_air(job, *number)) {
            if job.runs_of(number, Kind::CoolantLine).next().is_some() {
                continue;
            }
            let mut finding = findings
                .at(
                    heater.header,
                    format!("`{}` warms coolant, but the job states no coolant line for it", heater.name),
                )
                .label("no coolant hose starts here")
                .why("until the loop is stated, its flow and the air in it cannot be judged")
                .limit("a loop for each coolant heater", Whose::CommonPractice)
                .help(format!("write `coolant-line loop of {}` and walk it out and back", heater.name));
            if let Some(place) = heater.sheet_place {
                finding = finding.related(place, "its data sheet");
            }
            findings.add(finding);
        }
    },
};

/// The coolant lines of a loop.
fn lines<'a>(job: &'a Job, found: &'a CoolantLoop) -> impl Iterator<Item = &'a Run> {
    found.runs.iter().filter_map(|run| job.runs.get(*run))
}

fn name_of(job: &Job, found: &CoolantLoop) -> String {
    job.heaters.get(found.heater).map_or(String::new(), |heater| heater.name.clone())
}

/// Whether every line of a loop could be read to its end: what nobody could read may hold the thing that seems missing.
fn wholly_read(job: &Job, found: &CoolantLoop) -> bool {
    !job.hidden.has(Kind::CoolantLine)
        && lines(job, found).all(|run| run.end.is_some() && !run.steps.iter().any(|step| matches!(step.met, Met::Gap)))
}

static COOLANT_LOOP_OPEN: Rule = Rule {
    name: "coolant-loop-open",
    family: Family::Coolant,
    severity: Severity::Warning,
    title: "a coolant loop that does not come back to its heater",
    source: "common practice, no source: coolant goes round",
    explanation: "Coolant that cannot come back does not flow. The heater overheats within a minute and locks out.",
    mend: "Walk the loop on until it `ends at` its own heater.",
    bad: with_loop!(
        "\n\ncoolant-line loop of reader\n  hose          rubber, 18 mm bore\n  pump          8 L/min\n  \
         forward       300 mm\n  right         300 mm\n  warms         engine\n  ends          here"
    ),
    good: good_loop!(),
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::CoolantLine, &[&[Need::CoolantEnds]])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for found in figures.coolant_loops.iter().filter(|found| wholly_read(job, found)) {
            let comes_back = lines(job, found).any(|run| {
                matches!(run.end.as_ref().map(|end| &end.value), Some(End::At(at)) if at.is_none_or(|at| at == (Kind::Heater, found.heater)))
            });
            let Some(last) = lines(job, found).last().filter(|_| !comes_back) else { continue };
            let (name, place) = (name_of(job, found), last.end.as_ref().map_or(last.header, |end| end.written));
            let long = last.walk.length.map_or(String::new(), |length| {
                format!(" after {}", unit_or(last.walk.unit, "m").show(length.nominal))
            });
            let finding = findings
                .at(place, format!("`{}` ends{long} and does not come back to `{name}`", job.reads(last)))
                .label("the coolant stops here")
                .why("coolant that cannot come back does not flow, and the heater overheats")
                .limit("a closed loop, from the heater and back to it", Whose::CommonPractice)
                .help(format!("walk it on until it `ends at {name}`"))
                .related(last.header, "it starts here");
            findings.add(finding);
        }
    },
};

static COOLANT_PUMP_MISSING: Rule = Rule {
    name: "coolant-pump-missing",
    family: Family::Coolant,
    severity: Severity::Warning,
    title: "a coolant loop without a circulating pump",
    source: "common practice, no source",
    explanation: "With the engine off, the engine's own pump stands still. If the loop has no pump of its own, the \
                  coolant in the heater boils within a minute and the heater locks out.",
    mend: "Write `pump`, with the flow that it gives in this loop if you know it: `pump 12 L/min`. Write a pump that is \
           built into the heater first or last in the loop.",
    bad: good_loop!("rubber, 18 mm bore", "  bleed         top\n", "engine, 1 kW", ""),
    good: good_loop!(),
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::CoolantLine, &[&[Need::CoolantEnds]])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for found in figures.coolant_loops.iter().filter(|found| wholly_read(job, found) && found.pumps.is_empty()) {
            let name = name_of(job, found);
            let needed = found.flow_at_usual_rise.map_or(String::new(), |flow| {
                format!("; at full output it needs about {}", unit_or(None, "L/min").show(flow))
            });
            let finding = findings
                .at(found.place, format!("the loop of `{name}` has no circulating pump{needed}"))
                .label("no `pump` in this loop")
                .why("with the engine off nothing moves the coolant, and it boils in the heater")
                .limit("a circulating pump in the loop", Whose::CommonPractice)
                .help("write `pump` where it sits, with its flow if you know it: `pump 12 L/min`");
            findings.add(finding);
        }
    },
};

static COOLANT_FLOW_TOO_SMALL: Rule = Rule {
    name: "coolant-flow-too-small",
    family: Family::Coolant,
    severity: Severity::Warning,
    title: "too little flow of coolant",
    source: "the data sheet's `coolant-flow`; else common practice, no source: the coolant warms by 10 K to 15 K at full output",
    explanation: "With too little flow the heater stays hot. Its thermostat turns it down or off before the engine and \
                  the cab are warm. It runs a minute, stops a minute and soots, and everybody thinks it is broken.",
    mend: "Shorten the loop, take wider hose, connect the parts in parallel, or fit a stronger pump.",
    bad: good_loop!("rubber, 18 mm bore", "  bleed         top\n", "engine, 1 kW", "  pump          2 L/min\n"),
    good: good_loop!(),
    guards: Guards::Start,
    measures: &[Dimension::Temperature, Dimension::VolumeFlow],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::CoolantLine, &[&[Need::CoolantPump, Need::SheetOutput, Need::CoolantWay]])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for found in &figures.coolant_loops {
            let Some(flow) = found.flow else { continue };
            let name = name_of(job, found);
            let litres = flow.value.unit;
            let sheet = job.sheet_of(found.heater);
            let asked = sheet.and_then(|sheet| sheet.coolant_flow.fact().map(|asked| (sheet, asked)));
            let rise = found.rise.map_or(String::new(), |rise| {
                format!("; at full output the coolant warms by {} in it", unit_or(None, "K").show(rise.high))
            });
            if let Some((sheet, asked)) = asked {
                let least = asked.value.low;
                let told = || Told::new(flow.written, "flow of coolant", litres, Whose::Sheet(sheet.name.clone()));
                let verdict = findings.at_least(flow.value, least, least * 1e-6, told);
                if verdict.keeps() {
                    continue;
                }
                let certain = verdict.certain();
                let (is, value) =
                    if certain { ("is", flow.value.nominal) } else { ("may be as little as", flow.value.low) };
                let mut finding = findings
                    .at(
                        flow.written,
                        format!(
                            "the flow through `{name}` {is} {}; data sheet `{}` asks for {}",
                            litres.show(value),
                            sheet.name,
                            asked.value.show(least)
                        ),
                    )
                    .label(format!("{} too little", litres.show(least - flow.value.low)))
                    .why(format!(
                        "with too little flow the heater stays hot and turns off before its heat is used{rise}"
                    ))
                    .limit(format!("{} at least", asked.value.show(least)), Whose::Sheet(sheet.name.clone()))
                    .help("shorten the loop, take wider hose, connect the parts in parallel, or fit a stronger pump")
                    .related(asked.written, "the data sheet's limit");
                if certain {
                    finding.severity = Severity::Error;
                }
                findings.add(finding);
            } else if let Some(rise) = found.rise {
                let kelvin = unit_or(None, "K");
                let told = || {
                    Told::new(flow.written, "rise of the coolant at full output", kelvin, Whose::CommonPractice)
                        .difference()
                };
                if findings.at_most(rise.high, RISE_WARNS, RISE_WARNS * 1e-6, told).keeps() {
                    continue;
                }
                let usual = unit_or(None, "L/min");
                let needed = found.flow_at_usual_rise.map_or(String::new(), |flow| usual.show(flow));
                let output = found.output.map_or(String::new(), |output| unit_or(None, "kW").show(output));
                let finding = findings
                    .at(flow.written, format!(
                        "at {} the coolant warms by {} in `{name}`; at most {} is usual",
                        litres.show(flow.value.low), kelvin.show(rise.high), kelvin.show(RISE_WARNS)
                    ))
                    .label(format!("with a flow of {needed} it would warm by {}", kelvin.show(USUAL_RISE.in_kelvin_difference())))
                    .why(format!(
                        "{output} goes into this flow (taken as half water, half glycol); a heater that stays hot turns off before its heat is used"
                    ))
                    .limit(
                        format!("a rise of {} at full output", kelvin.show(RISE_WARNS)),
                        Whose::CommonPractice,
                    )
                    .help("shorten the loop, take wider hose, connect the parts in parallel, or fit a stronger pump");
                findings.add(finding);
            }
        }
    },
};

static COOLANT_PUMP_BEHIND_HEATER: Rule = Rule {
    name: "coolant-pump-behind-heater",
    family: Family::Coolant,
    severity: Severity::Advice,
    title: "a circulating pump that draws from its heater",
    source: "common practice, no source: the pump pushes into the heater",
    explanation: "A pump behind the heater gets the hottest coolant. The heater is then on the suction side, where \
                  vapour forms sooner. The pump runs dry earlier and does not last.",
    mend: "Put the pump on the way back, before the heater's inlet.",
    bad: with_loop!(
        "\n\ncoolant-line loop of reader\n  hose          rubber, 18 mm bore\n  forward       300 mm\n  pump          8 L/min\n  \
         up            150 mm\n  bleed         top\n  right         300 mm\n  warms         engine, 1 kW\n  down          230 mm\n  \
         left          300 mm\n  back          300 mm\n  ends          at reader"
    ),
    good: good_loop!(),
    guards: Guards::Start,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::CoolantLine, &[&[Need::CoolantPump, Need::CoolantEnds, Need::CoolantWay]])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for found in figures.coolant_loops.iter().filter(|found| wholly_read(job, found) && found.runs.len() == 1) {
            let Some(run) = lines(job, found).next() else { continue };
            let warms = run.steps.iter().position(|step| matches!(step.met, Met::Warms(..)));
            let last_pump = run.steps.iter().rposition(|step| matches!(step.met, Met::CirculatingPump(_)));
            let first_leg = run.steps.iter().position(|step| matches!(step.met, Met::Leg(_) | Met::Run(..)));
            let (Some(warms), Some(pump), Some(first_leg)) = (warms, last_pump, first_leg) else { continue };
            // A pump before the first leg sits on the heater itself: that is its maker's business.
            let Some(step) = run.steps.get(pump).filter(|_| pump < warms && pump > first_leg) else { continue };
            let name = name_of(job, found);
            let finding = findings
                .at(step.place, format!("the pump of `{name}` sits behind the heater and draws hot coolant from it"))
                .label("on the hot side")
                .why("the pump gets the hottest coolant, and the heater is on its suction side, where vapour forms first")
                .limit("the pump pushes into the heater", Whose::CommonPractice)
                .help("put it on the way back, before the heater's inlet");
            findings.add(finding);
        }
    },
};

static COOLANT_BLEED_MISSING: Rule = Rule {
    name: "coolant-bleed-missing",
    family: Family::Coolant,
    severity: Severity::Warning,
    title: "no bleed at the highest point of a coolant loop",
    source: "common practice, no source",
    explanation: "Air gathers at the top of a loop, and a small pump cannot push it down the other side. The flow stops \
                  and the heater overheats. That often happens weeks after the work, when air has come out of the fresh \
                  coolant.",
    mend: "Fit a bleed at the highest point, or lead the hoses so that they rise all the way to the engine.",
    bad: good_loop!("rubber, 18 mm bore", "", "engine, 1 kW", "  pump          8 L/min\n"),
    good: good_loop!(),
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::CoolantLine, &[&[Need::CoolantEnds, Need::CoolantWay, Need::CoolantRise]])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for found in figures.coolant_loops.iter().filter(|found| wholly_read(job, found)) {
            let Some((place, height)) = found.high_point else { continue };
            let Some(run) = lines(job, found).next() else { continue };
            let unit = unit_or(run.walk.unit, "mm");
            let end =
                run.walk.stretches.iter().filter_map(|stretch| stretch.rise).map(|rise| rise.nominal).sum::<f64>();
            let hump = height - end.max(0.0);
            let unknown = found.bleeds.iter().any(|(_, bleed)| bleed.is_none());
            let highest = found.bleeds.iter().filter_map(|(_, bleed)| *bleed).reduce(f64::max);
            if unknown {
                continue;
            }
            let air = highest.map_or(hump, |bleed| hump.min(height - bleed));
            let told = || Told::new(place, "height in which air gathers", unit, Whose::CommonPractice);
            if findings.at_most(air.max(0.0), HUMP, 1e-6, told).keeps() {
                continue;
            }
            let bleeds = match highest {
                Some(bleed) => format!("its highest bleed is {} lower", unit.show(height - bleed)),
                None => "no bleed is stated".to_string(),
            };
            let mut finding = findings
                .at(place, format!("`{}` rises {} to here, and {bleeds}", job.reads(run), unit.show(height)))
                .label(format!(
                    "air gathers here, {} above the lower end of the loop",
                    unit.show(height - end.min(0.0))
                ))
                .why("a small pump cannot push air down the other side: the flow stops and the heater overheats")
                .limit(format!("a bleed within {} of the highest point", unit.show(HUMP)), Whose::CommonPractice)
                .help("fit a bleed here and write `bleed`, or lead the hoses so that they rise all the way");
            for (place, _) in &found.bleeds {
                finding = finding.related(*place, "this bleed is too low");
            }
            findings.add(finding);
        }
    },
};

static COOLANT_HOSE_TOO_WEAK: Rule = Rule {
    name: "coolant-hose-too-weak",
    family: Family::Coolant,
    severity: Severity::Warning,
    title: "coolant hose that cannot bear the heat of the coolant",
    source: "the data sheet's `overheats` where it states one; else common practice, no source: 110 °C",
    explanation: "Coolant under pressure gets hotter than 100 °C. A hose made for less swells and slips off its spigot. \
                  The coolant then runs out over hot parts, or over somebody.",
    mend: "Take a hose whose data sheet says that it bears the heat of the coolant.",
    bad: concat!(
        good_loop!("soft-18", "  bleed         top\n", "engine, 1 kW", "  pump          8 L/min\n"),
        "\n\ndatasheet hose soft-18                         # invented\n  bore          18 mm\n  bears         -20 °C .. 70 °C"
    ),
    good: good_loop!(),
    guards: Guards::Fire,
    measures: &[Dimension::Temperature],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::CoolantLine, &[&[Need::CoolantHose]])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for found in &figures.coolant_loops {
            let sheet = job.sheet_of(found.heater);
            let stated = sheet.and_then(|sheet| sheet.overheats.fact().map(|overheats| (sheet, overheats)));
            let limit = stated.map_or(HOSE_BEARS, |(_, overheats)| overheats.value.high);
            let celsius = unit_or(None, "°C");
            for (step, tube) in lines(job, found).flat_map(|run| &run.steps).filter_map(|step| match &step.met {
                Met::Tube(tube) => Some((step, tube)),
                _ => None,
            }) {
                let Some(bears) = tube.bears.fact() else { continue };
                let whose = || stated.map_or(Whose::CommonPractice, |(sheet, _)| Whose::Sheet(sheet.name.clone()));
                let told = || Told::new(step.place, "temperature that the hose bears", celsius, whose());
                if findings.at_least(bears.value.high, limit, 1e-6, told).keeps() {
                    continue;
                }
                let name = tube.sheet.clone().unwrap_or_else(|| tube.word.to_string());
                let mut finding = findings
                    .at(
                        step.place,
                        format!(
                            "`{name}` bears {}, but the coolant can reach {}",
                            celsius.show(bears.value.high),
                            celsius.show(limit)
                        ),
                    )
                    .label(format!("{} too little", unit_or(None, "K").show(limit - bears.value.high)))
                    .why("a hose that gets too hot swells and slips off, and hot coolant comes out under pressure")
                    .limit(format!("{} at least", celsius.show(limit)), whose())
                    .help(format!("take a hose whose data sheet says that it bears {}", celsius.show(limit)))
                    .related(bears.written, "the hose bears this");
                if let Some((_, overheats)) = stated {
                    finding = finding.related(overheats.written, "at this temperature the heater's guard stops it");
                }
                findings.add(finding);
            }
        }
    },
};

static COOLANT_HEAT_SPENT: Rule = Rule {
    name: "coolant-heat-spent",
    family: Family::Coolant,
    severity: Severity::Warning,
    title: "a coolant loop planned to give more heat than its heater makes",
    source: "energy balance",
    explanation: "What the engine takes, the cab does not get. If more heat is planned than the heater can make, \
                  something stays cold: most often the people.",
    mend: "Let the coolant bypass the engine at first or altogether, plan for less heat, or take a larger heater.",
    bad: good_loop!("rubber, 18 mm bore", "  bleed         top\n", "engine, 3 kW", "  pump          8 L/min\n"),
    good: good_loop!(),
    guards: Guards::Comfort,
    measures: &[Dimension::Power],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::CoolantLine, &[&[Need::SheetOutput, Need::CoolantWarms]])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for found in &figures.coolant_loops {
            let (Some(left), Some(output)) = (found.left, found.output) else { continue };
            let Some((_, _, place)) = found.warms.iter().find(|(_, heat, _)| heat.is_some()) else { continue };
            let power = unit_or(None, "kW");
            let whose = || job.sheet_of(found.heater).map_or(Whose::Job, |sheet| Whose::Sheet(sheet.name.clone()));
            let told = || {
                Told::new(*place, "heat left after all that is planned from the loop", power, whose()).against(output)
            };
            let verdict = findings.at_least(left, 0.0, 1e-6 * output, told);
            if verdict.keeps() {
                continue;
            }
            let certain = verdict.certain();
            let (is, taken) = if certain { ("is", output - left.nominal) } else { ("may be", output - left.low) };
            let name = name_of(job, found);
            let mut finding = findings
                .at(
                    *place,
                    format!(
                        "{} {is} planned from the loop of `{name}`, which makes at most {}",
                        power.show(taken),
                        power.show(output)
                    ),
                )
                .label(format!("{} more than there is", power.show(taken - output)))
                .why("what comes first in the loop takes its heat; the rest stays cold")
                .limit(format!("{} in all", power.show(output)), whose())
                .help("plan for less heat, or take a larger heater");
            for (what, heat, other) in found.warms.iter().filter(|(.., other)| other != place) {
                if let Some(heat) = heat {
                    finding = finding.related(*other, format!("`{what}` is to get {}", heat.show(heat.high)));
                }
            }
            findings.add(finding);
        }
    },
};

#[cfg(test)]
mod tests {
    use crate::bench::judge_example;
    use crate::rules::Family;

    /// The rules that speak about an example, each once, with whether they could judge.
    fn speak(example: &str) -> Vec<(Family, &'static str)> {
        let analysis = judge_example(example);
        let found = analysis.standing().map(|finding| (finding.rule.family, finding.rule.name));
        let mut said: Vec<_> = found
            .chain(
                analysis
                    .not_judged
                    .iter()
                    .filter(|lack| lack.missing.is_none())
                    .map(|lack| (lack.rule.family, lack.rule.name)),
            )
            .collect();
        said.dedup();
        said
    }

    /// A heater that warms coolant has no warm air and no return air, whatever its sheet leaves unsaid.
    #[test]
    fn no_rule_on_air_speaks_of_a_coolant_heater() {
        let silent_sheet = good_loop!().replace("  warms         coolant\n", "");
        let remote =
            good_loop!().replace("  warm-end      forward", "  warm-end      forward\n  sensor        in cabin");
        for example in [good_loop!(), with_loop!(), silent_sheet.as_str(), remote.as_str()] {
            let air = [Family::ReturnAir, Family::WarmAir];
            let said = speak(example);
            assert!(!said.iter().any(|(family, _)| air.contains(family)), "{said:?}");
        }
    }

    /// All else is judged as on any heater.
    #[test]
    fn what_is_not_air_is_judged_on_a_coolant_heater_too() {
        let faults = concat!(
            good_loop!(),
            "\n\nexhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm\n  \
             down          140 mm\n  right         400 mm, down 30 mm\n  ends          facing right\n\n\
             cable supply of reader\n  from          house\n  size          4 mm²\n  run           2600 mm\n  ends          at reader\n\n\
             leave out combustion-air of reader\n\ntank main\n  fuel          petrol\n  holds         60 L\n  \
             reserve       10 L\n  at            back 3200 mm, left 450 mm, up 250 mm"
        );
        let said: Vec<&str> = speak(faults).into_iter().map(|(_, name)| name).collect();
        for name in [
            "exhaust-ends-under-vehicle",
            "exhaust-passage-unsealed",
            "feed-without-fuse",
            "combustion-air-missing",
            "fuel-differs",
        ] {
            assert!(said.contains(&name), "{name} among {said:?}");
        }
    }

    /// 5 kW at a rise of 10 K is about 8 L/min: the rule of thumb of the trade.
    #[test]
    fn five_kilowatts_ask_for_eight_litres_a_minute() {
        let example = good_loop!().replace("2.4 kW", "5 kW").replace("pump          8 L/min", "pump          5 L/min");
        let analysis = judge_example(&example);
        let found = analysis.figures.coolant_loops.first().expect("a loop");
        let litres = found.flow_at_usual_rise.expect("a flow") * 60e3;
        assert!((8.0..8.6).contains(&litres), "{litres}");
        assert!(speak(&example).contains(&(Family::Coolant, "coolant-flow-too-small")));
    }

    /// What the sheet asks rules; common practice is silent then.
    #[test]
    fn the_sheets_flow_comes_before_common_practice() {
        let asks = |flow: &str| {
            good_loop!()
                .replace("  warms         coolant\n", &format!("  warms         coolant\n  coolant-flow  {flow}\n"))
        };
        let slow = |text: String| text.replace("pump          8 L/min", "pump          2 L/min");
        assert!(speak(&slow(asks("2 L/min .. 9 L/min"))).is_empty());
        assert_eq!(speak(&asks("9 L/min .. 20 L/min")), [(Family::Coolant, "coolant-flow-too-small")]);
    }
}

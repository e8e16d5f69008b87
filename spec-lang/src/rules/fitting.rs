//! Rules on how a heater is fitted into its vehicle: its attitude, the room to service it, the holes that its pipes pass,
//! and where its room sensor hangs. What flows through the pipes is not judged here.

use super::engine::Findings;
use super::exhaust::lived_in;
use super::margin::Told;
use super::{Family, Guards, Rule};
use crate::asks::{Ask, Need, when};
use crate::figures::clearances::{PORT_SPACING, ends_in, place_reads};
use crate::figures::return_air::heated_spaces;
use crate::figures::ways::length_unit;
use crate::finding::{Severity, Whose};
use crate::model::{Heater, Job, Met, Passage, Run, Sensor, Space, Spot, Step, Tube};
use crate::physics::geometry::Point;
use crate::rules::About;
use crate::source::Place;
use crate::units::{Dimension, Unit};
use crate::vocabulary::{Kind, PASSED_WITHIN};

pub(super) static RULES: &[&Rule] = &[
    &HEATER_ON_WRONG_SURFACE,
    &HEATER_LEANS_TOO_FAR,
    &GLOW_PIN_ROOM_SMALL,
    &EXHAUST_PASSAGE_UNSEALED,
    &PASSAGE_UNSEALED,
    &PASSAGE_TOO_NARROW,
    &SENSOR_BADLY_PLACED,
    &SENSOR_NOT_THE_SHEETS,
    &THING_OUTSIDE_ITS_SPACE,
    &THING_OUTSIDE_THE_VEHICLE,
];

/// The free space that drawing a glow pin takes, where the sheet does not say. Common practice, no source.
const GLOW_PIN_ROOM: f64 = 0.15;
/// Free space all round an exhaust that passes a floor or wall past its heater's own flange. Common practice, no source.
const ROUND_EXHAUST: f64 = 0.01;
/// How near a warm outlet, and how near an opening, a room sensor must not hang. Common practice, no source.
const SENSOR_FROM_OUTLET: f64 = 1.0;
const SENSOR_FROM_OPENING: f64 = 0.5;
/// The heights above the floor between which a room sensor reads what people feel. Common practice, no source.
const SENSOR_LOW: f64 = 0.5;
const SENSOR_HIGH: f64 = 1.8;
/// A wall's thickness, by which an outline may be off. Common practice, no source.
const WALL: f64 = 0.05;
/// How far outside its space's box a thing may lie before it is told: a box is a coarse outline of a room. The project's own.
const OUTSIDE_BOX: f64 = 0.3;
/// Lengths that differ by less than this are the same length.
const SAME: f64 = 0.0005;

/// The bench's heater with lines of its own, and a sheet that states how it may be fitted.
macro_rules! fitted {
    ($lines:literal) => {
        concat!(
            "datasheet heater air-3                         # invented\n  warms         air\n  burns         diesel\n  \
             output        0.9 kW .. 2.4 kW\n  fuel-rate     0.11 L/h .. 0.29 L/h\n  supply        12 V\n  \
             voltage       10.2 V .. 15.5 V\n  stage         pre-heat, 9.5 A, 90 s\n  stage         high, 2.8 A\n  \
             stage         low, 0.8 A\n  stage         cool-down, 2.2 A, 210 s\n  fan           105 m³/h no duct, 170 Pa blocked\n  \
             dose          0.025 mL\n  altitude      0 m .. 1500 m\n  fuse          20 A\n  \
             exhaust-limit 2 m, bends 270°\n  combustion-air-limit 2 m, bends 270°\n  \
             exhaust-clear-of openings 600 mm\n  exhaust-clear-of combustion-air 500 mm\n  \
             spans         forward 310 mm, left 120 mm, up 122 mm\n  port          warm-air forward 155 mm, facing forward\n  \
             port          return-air back 155 mm, facing back\n  port          exhaust right 40 mm, down 60 mm, facing down\n  \
             port          combustion-air forward 110 mm, left 40 mm, down 60 mm, facing down\n  \
             port          fuel back 120 mm, left 40 mm, down 60 mm, facing down\n  \
             port          supply back 100 mm, up 60 mm, facing up\n  senses        return-air\n  \
             fitted-on     floor\n  fitted-on     wall\n  tilt          0° .. 15°\n  glow-pin-room 170 mm\n\n\
             heater reader\n  datasheet     air-3\n  in            cabin\n  heats         cabin\n  \
             at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n",
            $lines
        )
    };
}

fn heaters<'a>(findings: &Findings<'a>) -> impl Iterator<Item = (usize, &'a Heater)> + use<'a> {
    let job = findings.job;
    let judged = job.header.is_some();
    job.heaters.iter().enumerate().filter(move |_| judged)
}

static HEATER_ON_WRONG_SURFACE: Rule = Rule {
    name: "heater-on-wrong-surface",
    family: Family::Fitting,
    severity: Severity::Error,
    title: "a heater fitted on a surface that its data sheet does not allow",
    source: "the data sheet's `fitted-on`",
    explanation: "A heater on its back or under a ceiling drips condensate in the wrong place and heats its own \
                  electronics. Its flame guard looks at the wrong place.",
    mend: "Fit it as its data sheet says, or take a heater that may be fitted so.",
    bad: fitted!("  fitted-on     ceiling\n  glow-pin-room 200 mm"),
    good: fitted!("  fitted-on     wall\n  glow-pin-room 200 mm"),
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::FittedOn, Need::SheetFittedOn]])],
    find: |findings| {
        for (number, heater) in heaters(findings) {
            let (Some(on), Some(sheet)) = (heater.fitted_on.fact(), findings.job.sheet_of(number)) else { continue };
            let Some(first) = sheet.fitted_on.first() else { continue };
            if sheet.fitted_on.iter().any(|allowed| allowed.value == on.value) {
                continue;
            }
            let allowed: Vec<&str> = sheet.fitted_on.iter().map(|allowed| allowed.value).collect();
            let allowed = allowed.join(" or ");
            let finding = findings
                .at(
                    on.written,
                    format!(
                        "`{}` is fitted on the {}; data sheet `{}` allows {allowed}",
                        heater.name, on.value, sheet.name
                    ),
                )
                .label(format!("the data sheet does not allow the {}", on.value))
                .why("flame guard, condensate drain and electronics only work in the position that the sheet names")
                .limit(format!("fitted on {allowed}"), Whose::Sheet(sheet.name.clone()))
                .help("fit it as its data sheet says, or take a heater that may be fitted so")
                .related(first.written, "the sheet allows this");
            findings.add(finding);
        }
    },
};

static HEATER_LEANS_TOO_FAR: Rule = Rule {
    name: "heater-leans-too-far",
    family: Family::Fitting,
    severity: Severity::Error,
    title: "a heater that leans further than its data sheet allows",
    source: "the data sheet's `tilt`",
    explanation: "In a burner that leans, fuel that does not burn at once collects at the low side. The heater soots, \
                  smokes when it starts and lights with a bang.",
    mend: "Level it with a wedge or another bracket.",
    bad: fitted!("  fitted-on     floor\n  tilt          22°\n  glow-pin-room 200 mm"),
    good: fitted!("  fitted-on     floor\n  tilt          8°\n  glow-pin-room 200 mm"),
    guards: Guards::Fire,
    measures: &[Dimension::Angle],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::HeaterTilt, Need::SheetTilt]])],
    find: |findings| {
        for (number, heater) in heaters(findings) {
            let (Some(tilt), Some(sheet)) = (heater.tilt.fact(), findings.job.sheet_of(number)) else { continue };
            let Some(allowed) = sheet.tilt.fact() else { continue };
            let most = allowed.value.high;
            let told =
                || Told::new(tilt.written, "tilt of the heater", tilt.value.unit, Whose::Sheet(sheet.name.clone()));
            let verdict = findings.at_most(tilt.value, most, 1e-6, told);
            if verdict.keeps() {
                continue;
            }
            let certain = verdict.certain();
            let (leans, value) =
                if certain { ("leans", tilt.value.nominal) } else { ("may lean up to", tilt.value.high) };
            let mut finding = findings
                .at(
                    tilt.written,
                    format!(
                        "`{}` {leans} {}; data sheet `{}` allows {}",
                        heater.name,
                        tilt.value.show(value),
                        sheet.name,
                        allowed.value.show(most)
                    ),
                )
                .label(format!("{} too much", tilt.value.show(value - most)))
                .why("fuel that does not burn at once collects at the low side of the burner")
                .limit(format!("{} at most", allowed.value.show(most)), Whose::Sheet(sheet.name.clone()))
                .help("level it with a wedge or another bracket")
                .related(allowed.written, "the sheet's limit");
            if !certain {
                finding.severity = Severity::Warning;
            }
            findings.add(finding);
        }
    },
};

static GLOW_PIN_ROOM_SMALL: Rule = Rule {
    name: "glow-pin-room-small",
    family: Family::Fitting,
    severity: Severity::Warning,
    title: "too little room to pull out the glow pin",
    source: "the data sheet's `glow-pin-room`; else common practice, no source: 150 mm",
    explanation: "The glow pin is the part that wears. If it cannot be pulled out in place, the whole heater has to come \
                  out for it. Exhaust and fuel line are then undone at the roadside and put back in a hurry.",
    mend: "Leave the room that the data sheet asks for, or make a hatch there. Then write `glow-pin-room`.",
    bad: fitted!("  fitted-on     floor\n  glow-pin-room 120 mm"),
    good: fitted!("  fitted-on     floor\n  glow-pin-room 200 mm"),
    guards: Guards::Start,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::GlowPinRoom]])],
    find: |findings| {
        for (number, heater) in heaters(findings) {
            let sheet = findings.job.sheet_of(number);
            let stated = sheet.and_then(|sheet| sheet.glow_pin_room.fact().map(|room| (sheet, room)));
            let (limit, shown, whose) = match stated {
                Some((sheet, room)) => {
                    (room.value.high, room.value.show(room.value.high), Whose::Sheet(sheet.name.clone()))
                }
                None => (GLOW_PIN_ROOM, findings.job.length_unit("mm").show(GLOW_PIN_ROOM), Whose::CommonPractice),
            };
            let small = heater.glow_pin_room.fact().is_some_and(|room| {
                let told = || Told::new(room.written, "room to pull out the glow pin", room.value.unit, whose.clone());
                !findings.at_least(room.value, limit, SAME, told).keeps()
            });
            let mut finding = match heater.glow_pin_room.fact() {
                Some(room) if small => {
                    let lacking = room.value.show(limit - room.value.low);
                    findings
                        .at(
                            room.written,
                            format!(
                                "there is {} of room to pull out the glow pin of `{}`; it needs {shown}",
                                room.value.show(room.value.low),
                                heater.name
                            ),
                        )
                        .label(format!("{lacking} too little"))
                        .help(format!("leave {lacking} more, or make a hatch there"))
                }
                None if stated.is_some() && heater.glow_pin_room.place().is_none() => {
                    let mut finding = findings
                        .at(
                            heater.header,
                            format!(
                                "the room to pull out the glow pin of `{}` is not stated; it needs {shown}",
                                heater.name
                            ),
                        )
                        .label("can the pin come out in place?")
                        .help("measure it and write `glow-pin-room`");
                    finding.severity = Severity::Advice;
                    finding
                }
                _ => continue,
            }
            .why("if the pin cannot be pulled out in place, the whole heater has to come out for it")
            .limit(format!("{shown} at least"), whose);
            if let Some((_, room)) = stated {
                finding = finding.related(room.written, "the sheet asks for this");
            }
            findings.add(finding);
        }
    },
};

/// The space that a heater stands in, where people are.
fn stands_with_people(job: &Job, heater: usize) -> Option<&Space> {
    let space = job.heaters.get(heater)?.stands_in.get().copied().flatten()?;
    job.spaces.get(space).filter(|space| lived_in(space))
}

/// Whether what is passed parts the inside from the outside, or may: so does what nobody names.
fn parts_in_from_out(passage: &Passage) -> bool {
    passage.through.is_none_or(|through| !PASSED_WITHIN.contains(&through))
}

/// What is passed: `the floor`.
fn through_reads(passage: &Passage) -> String {
    passage.through.map_or("a wall".to_string(), |through| format!("the {through}"))
}

/// `a hole of 60 mm in the floor`.
fn passage_reads(passage: &Passage) -> String {
    let through = through_reads(passage);
    match passage.hole {
        Some(hole) => format!("a hole of {} in {through}", hole.show(hole.high)),
        None => format!("a hole of unknown width in {through}"),
    }
}

/// The passages of a run, each with its step's number.
fn passages(run: &Run) -> impl Iterator<Item = (usize, &Passage, &Step)> {
    run.steps.iter().enumerate().filter_map(|(number, step)| match &step.met {
        Met::Passage(passage) => Some((number, passage, step)),
        _ => None,
    })
}

static EXHAUST_PASSAGE_UNSEALED: Rule = Rule {
    name: "exhaust-passage-unsealed",
    family: Family::Fitting,
    severity: Severity::Error,
    title: "an exhaust that leaves a space through an open hole",
    source: "life safety, trialfit's own rule; UN R122 5.3.4.1 and 49 CFR 393.77(b)(9) (from memory) ask that gas cannot get in",
    explanation: "Gas that stands under the floor comes up through the gap round the pipe, right where the fan and the \
                  people are. Once the heater stands over this hole, nobody sees it.",
    mend: "Seal the hole round the pipe against gas and water. Use something that bears the heat, and write `sealed`.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm\n  \
          down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ExhaustPassage]]).only(when::stands_inside)],
    find: |findings| {
        let job = findings.job;
        for (number, heater) in heaters(findings) {
            let Some(space) = stands_with_people(job, number) else { continue };
            let mut open: Vec<(String, Place, String)> = Vec::new();
            let mut passes = false;
            for run in job.runs_of(number, Kind::Exhaust) {
                for (_, passage, step) in passages(run) {
                    passes = true;
                    if !passage.sealed {
                        open.push((format!("`{}`", job.reads(run)), step.place, passage_reads(passage)));
                    }
                }
            }
            // A heater over its own hole sends its exhaust through it, unless the pipe names a passage of its own.
            for (passage, place) in heater.passages.iter().filter(|(passage, _)| !passes && !passage.sealed) {
                open.push((format!("`{}`", heater.name), *place, passage_reads(passage)));
            }
            for (name, place, hole) in open {
                let finding = findings
                    .at(place, format!("{name} leaves `{}` through {hole}, and no seal is stated", space.name))
                    .label("gas under the floor comes up here")
                    .why("gas from outside comes in round the pipe, where the fan and the people are")
                    .limit("a seal that bears the heat, at each hole", Whose::LifeSafety)
                    .help("seal the hole round the pipe against gas and water, and write `sealed`")
                    .related(space.header, "this space");
                findings.add(finding);
            }
        }
    },
};

static PASSAGE_UNSEALED: Rule = Rule {
    name: "passage-unsealed",
    family: Family::Fitting,
    severity: Severity::Error,
    title: "an open hole in the floor or hull of a space that people use",
    source: "common practice, no source: every hole to the outside is sealed",
    explanation: "A hole in the floor lets in water, dust and noise. When the vehicle stands in still air, it also lets \
                  in exhaust gas from below: from this heater, from the engine or from a vehicle beside it. In a hull it \
                  lets in the sea.",
    mend: "Fit a grommet or seal the hole, and write `sealed`.",
    bad: "combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm\n  down          140 mm\n  \
          forward       500 mm, down 10 mm\n  ends          facing down",
    good: "combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
           forward       500 mm, down 10 mm\n  ends          facing down",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::CombustionAirPassage]]).only(when::stands_inside)],
    find: |findings| {
        let job = findings.job;
        for (number, heater) in heaters(findings) {
            let Some(space) = stands_with_people(job, number) else { continue };
            let mut open: Vec<(String, Place, String)> = Vec::new();
            let runs = job.runs.iter().filter(|run| run.heater == Some(number) && run.kind != Kind::Exhaust);
            for run in runs {
                for (_, passage, step) in passages(run) {
                    if !passage.sealed && parts_in_from_out(passage) {
                        open.push((job.reads(run), step.place, passage_reads(passage)));
                    }
                }
            }
            let exhaust_passes = job.runs_of(number, Kind::Exhaust).any(|run| passages(run).next().is_some());
            for (passage, place) in heater.passages.iter().filter(|(passage, _)| exhaust_passes && !passage.sealed) {
                if parts_in_from_out(passage) {
                    open.push((heater.name.clone(), *place, passage_reads(passage)));
                }
            }
            for (name, place, hole) in open {
                let finding = findings
                    .at(place, format!("`{name}` passes through {hole} of `{}`, and no seal is stated", space.name))
                    .label("open to the outside")
                    .why("water comes in here and, in still air, gas from under the vehicle")
                    .limit("a seal at each hole to the outside", Whose::CommonPractice)
                    .help("fit a grommet or seal the hole, and write `sealed`")
                    .related(space.header, "this space");
                findings.add(finding);
            }
        }
    },
};

static PASSAGE_TOO_NARROW: Rule = Rule {
    name: "passage-too-narrow",
    family: Family::Fitting,
    severity: Severity::Warning,
    title: "a hole that is too narrow for the pipe or hose",
    source: "a pipe does not fit through a smaller hole; common practice, no source: 10 mm free all round an exhaust, \
             except in the first 150 mm, which are left to the heater's own flange",
    explanation: "A hot pipe that touches the edge of a floor chars wood, melts plastic and wears through. A hose forced \
                  through a hole is cut by its edge.",
    mend: "Make the hole larger, or take the pipe through a metal sleeve or plate that bears the heat.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 25 mm, sealed\n  \
          down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[&[Need::ExhaustPassage, Need::ExhaustPipe]]).only(when::stands_inside),
        Ask::each(Kind::Heater, &[&[Need::CombustionAirPassage, Need::CombustionAirHose]]).only(when::stands_inside),
    ],
    find: |findings| {
        let job = findings.job;
        let runs =
            job.runs.iter().filter(|run| job.header.is_some() && !matches!(run.kind, Kind::Cable | Kind::KeepClear));
        for run in runs {
            let mut tube: Option<&Tube> = None;
            let mut lagging = 0.0;
            let mut stretches = run.walk.stretches.iter().peekable();
            let mut walked = 0.0;
            for (number, step) in run.steps.iter().enumerate() {
                while let Some(stretch) = stretches.next_if(|stretch| stretch.step < number) {
                    walked += stretch.length.nominal;
                }
                let passage = match &step.met {
                    Met::Tube(next) => {
                        tube = Some(next);
                        continue;
                    }
                    Met::Lagged(thickness) => {
                        lagging = thickness.map_or(0.0, |thickness| thickness.high);
                        continue;
                    }
                    Met::Passage(passage) => passage,
                    _ => continue,
                };
                let (Some(hole), Some(outside)) = (passage.hole, tube.and_then(|tube| tube.outside.get())) else {
                    continue;
                };
                let hot = run.kind == Kind::Exhaust && walked > PORT_SPACING;
                let asked = if hot { ROUND_EXHAUST } else { 0.0 };
                let around = (hole.low - outside.high) / 2.0 - lagging;
                // A tolerance alone makes no hole too narrow for a tube that is pushed through by hand.
                let as_drawn = (hole.nominal - outside.nominal) / 2.0 - lagging;
                let unit = hole.unit;
                let told = || {
                    Told::new(step.place, "free space round what passes a hole", unit, Whose::CommonPractice)
                        .against(ROUND_EXHAUST)
                };
                if findings.at_least(if hot { around } else { as_drawn }, asked, SAME / 2.0, told).keeps() {
                    continue;
                }
                let through = through_reads(passage);
                let reads = job.reads(run);
                let title = if as_drawn < -SAME / 2.0 {
                    format!(
                        "`{reads}` measures {} outside, but its hole in {through} is {}",
                        unit.show(outside.nominal + 2.0 * lagging),
                        unit.show(hole.nominal)
                    )
                } else {
                    format!(
                        "`{reads}` has {} free all round in its hole of {} in {through}; it needs {}",
                        unit.show(around.max(0.0)),
                        unit.show(hole.nominal),
                        unit.show(asked)
                    )
                };
                let finding = findings
                    .at(step.place, title)
                    .label(format!("{} too narrow", unit.show(2.0 * (asked - around))))
                    .why(if run.kind == Kind::Exhaust {
                        "a hot pipe that touches the edge chars wood, melts plastic and wears through"
                    } else {
                        "a hose forced through a hole is cut by its edge"
                    })
                    .limit(format!("{} free all round", unit.show(asked)), Whose::CommonPractice)
                    .help(format!(
                        "make the hole {} wide, or use a metal sleeve or plate that bears the heat",
                        unit.show(outside.high + 2.0 * (lagging + asked))
                    ));
                findings.add(finding);
            }
        }
    },
};

/// What is wrong with a sensor's place, and how gravely.
struct Faults {
    said: Vec<String>,
    related: Vec<(Place, String)>,
    severity: Severity,
}

impl Faults {
    fn add(&mut self, said: String, severity: Severity, related: Option<(Place, String)>) {
        self.said.push(said);
        self.related.extend(related);
        self.severity = self.severity.max(severity);
    }
}

/// A room sensor to be judged: its heater, where it hangs and where that is said, and the spaces whose air it reads.
struct Hung<'a> {
    heater: &'a Heater,
    air: &'a [usize],
    spot: Spot,
    place: Place,
    unit: &'static Unit,
}

impl Hung<'_> {
    fn told(&self, what: String) -> Told {
        Told::new(self.place, what, self.unit, Whose::CommonPractice)
    }
}

fn sensor_outlets(findings: &mut Findings<'_>, hung: &Hung<'_>, faults: &mut Faults) {
    let (job, Hung { heater, air, spot, unit, .. }) = (findings.job, hung);
    let ducts = job.runs.iter().filter(|run| run.kind == Kind::WarmAir && run.body == heater.body);
    for run in ducts {
        for (step, outlet, place) in run.outlets() {
            let Some(at) = run.walk.after.get(step).copied().flatten() else { continue };
            let distance = at.point.to(spot.point).length().in_metres();
            if outlet.space.is_some_and(|space| !air.contains(&space)) {
                continue;
            }
            let told = || hung.told(format!("distance of the sensor from outlet {}", outlet.name));
            if findings.at_least(distance, SENSOR_FROM_OUTLET, 1e-6, told).keeps() {
                continue;
            }
            let said = format!(
                "{} from outlet `{}` (at least {} is needed)",
                unit.show(distance),
                outlet.name,
                job.length_unit("m").show(SENSOR_FROM_OUTLET)
            );
            faults.add(said, Severity::Warning, Some((place, "this outlet".to_string())));
        }
    }
}

fn sensor_openings(findings: &mut Findings<'_>, hung: &Hung<'_>, faults: &mut Faults) {
    let (job, Hung { heater, air, spot, unit, .. }) = (findings.job, hung);
    for opening in job.openings.iter().filter(|opening| opening.can_open() && opening.body == heater.body) {
        let Some((area, _)) = opening.area.filter(|_| opening.into.is_none_or(|space| air.contains(&space))) else {
            continue;
        };
        let distance = area.nearest(spot.point).to(spot.point).length().in_metres();
        let told = || hung.told(format!("distance of the sensor from opening {}", opening.name));
        if findings.at_least(distance, SENSOR_FROM_OPENING, 1e-6, told).keeps() {
            continue;
        }
        let said = format!(
            "{} from opening `{}` (at least {} is needed)",
            unit.show(distance),
            opening.name,
            unit.show(SENSOR_FROM_OPENING)
        );
        faults.add(said, Severity::Warning, Some((opening.header, "this opening".to_string())));
    }
}

/// A thing that the job puts into a space, and where its place comes out.
struct Put<'a> {
    what: String,
    space: usize,
    spot: Option<Spot>,
    body: &'a Option<String>,
    place: Place,
}

/// What the job puts into spaces: heaters, outlets, ends of the return air, alarms.
fn put_into_spaces(job: &Job) -> Vec<Put<'_>> {
    let mut found = Vec::new();
    for heater in &job.heaters {
        let Some(fact) = heater.stands_in.fact() else { continue };
        if let Some(space) = fact.value {
            let what = format!("heater `{}`", heater.name);
            found.push(Put { what, space, spot: heater.spot, body: &heater.body, place: fact.written });
        }
    }
    for run in &job.runs {
        for (step, outlet, place) in run.outlets().filter(|_| run.kind == Kind::WarmAir) {
            let Some(space) = outlet.space else { continue };
            let what = format!("outlet `{}`", outlet.name);
            let spot = run.walk.after.get(step).copied().flatten();
            found.push(Put { what, space, spot, body: &run.body, place });
        }
        let end = run.end.as_ref().filter(|_| run.kind == Kind::ReturnAir);
        if let Some((space, end)) = ends_in(run).zip(end) {
            let what = format!("the end of `{}`", job.reads(run));
            found.push(Put { what, space, spot: run.walk.end, body: &run.body, place: end.written });
        }
    }
    for alarm in &job.alarms {
        let Some((space, stated)) = alarm.space.and_then(|number| job.spaces.get(number).map(|space| (number, space)))
        else {
            continue;
        };
        let what = format!("alarm `{}`", alarm.name);
        found.push(Put { what, space, spot: alarm.spot, body: &stated.body, place: alarm.header });
    }
    found
}

/// How far a space or an opening may reach over the vehicle's outline, m: a bulge, a bumper or a step that a box does not
/// show. Common practice, no source.
const OVER_THE_OUTLINE: f64 = 0.3;

static THING_OUTSIDE_THE_VEHICLE: Rule = Rule {
    name: "thing-outside-the-vehicle",
    family: Family::Fitting,
    severity: Severity::Warning,
    title: "a space, an opening, a tank or a battery that lies outside the vehicle",
    source: "the job's own places: the outline of the vehicle (`at` and `spans`), with 300 mm to spare for what a box does not show (common practice, no source)",
    explanation: "The job says two things about one place, and one of them is wrong. Where the outline is too small, an \
                  exhaust that ends under the floor seems to end past the edge. Where an opening is put too far away, it \
                  seems to be far from the exhaust.",
    mend: "Correct the place of the thing, or the outline of the vehicle.",
    bad: "opening side-door\n  kind          door\n  into          cabin\n  at            back 1500 mm, left 10000 mm, up 600 mm\n  spans         back 1100 mm, up 1600 mm",
    good: "opening side-door\n  kind          door\n  into          cabin\n  at            back 1500 mm, left 1000 mm, up 600 mm\n  spans         back 1100 mm, up 1600 mm",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Space, &[&[Need::SpaceAt, Need::SpaceSpans, Need::VehicleAt, Need::VehicleSpans]])
            .only(when::placed),
        Ask::each(Kind::Opening, &[&[Need::OpeningAt, Need::OpeningSpans, Need::VehicleAt, Need::VehicleSpans]])
            .only(when::placed),
        Ask::each(Kind::Tank, &[&[Need::TankAt, Need::TankReach, Need::VehicleAt, Need::VehicleSpans]])
            .only(when::placed),
        Ask::each(Kind::Battery, &[&[Need::BatteryAt, Need::BatteryReach, Need::VehicleAt, Need::VehicleSpans]])
            .only(when::placed),
    ],
    find: |findings| {
        let job = findings.job;
        let Some((vehicle, header)) = &job.vehicle else { return };
        let Some(outline) = vehicle.outline.filter(|_| job.header.is_some()) else { return };
        let unit = job.length_unit("mm");
        let spaces = job.spaces.iter().map(|it| (it.header, &it.name, &it.body, it.outline));
        let openings = job.openings.iter().map(|it| (it.header, &it.name, &it.body, it.area.map(|area| area.0)));
        let tanks = job.tanks.iter().map(|it| (it.header, &it.name, &it.body, it.area.map(|area| area.0)));
        let batteries = job.batteries.iter().map(|it| (it.header, &it.name, &it.body, it.area.map(|area| area.0)));
        // What feeds the heater of a shelter may stand beside it.
        let beside = vehicle.kind.get() == Some(&"shelter");
        let stores = tanks.chain(batteries).filter(|_| !beside);
        for (place, name, body, area) in spaces.chain(openings).chain(stores) {
            // What rides on another body has an outline of its own.
            let Some(area) = area.filter(|_| body.is_none()) else { continue };
            let off = |corner: Point| outline.nearest(corner).to(corner).length().in_metres();
            let over = off(area.low()).max(off(area.high()));
            let told = || {
                Told::new(
                    place,
                    format!("how far {name} reaches over the outline of the vehicle"),
                    unit,
                    Whose::CommonPractice,
                )
            };
            let stand = findings.at_most(over, OVER_THE_OUTLINE, 1e-6, told);
            if stand.keeps() {
                continue;
            }
            let finding = findings
                .at(place, format!("`{name}` reaches {} over the outline of the vehicle", unit.show(over)))
                .label("this place and the outline do not fit together")
                .why("distances from the edge, and to what lies out there, are measured from a wrong place")
                .limit(format!("{} for what a box does not show", unit.show(OVER_THE_OUTLINE)), Whose::CommonPractice)
                .help("correct the place of it, or `at` and `spans` of the vehicle")
                .related(*header, "the vehicle");
            findings.add(finding);
        }
    },
};

static THING_OUTSIDE_ITS_SPACE: Rule = Rule {
    name: "thing-outside-its-space",
    family: Family::Fitting,
    severity: Severity::Warning,
    title: "a thing that the job puts in a space, but that lies outside it",
    source: "the job's own places: the outline of the space (`at` and `spans`), with 300 mm to spare for corners that a box does not show",
    explanation: "The job says two things about one place, and one of them is wrong. Every distance from this outlet, \
                  inlet, alarm or heater is measured from a place where it is not. Rules that look into the space go \
                  wrong, too. Exhaust and combustion air that end in a space have rules of their own.",
    mend: "Correct the place or the route, the space that is named, or the outline of the space.",
    bad: "warm-air main of reader\n  duct          air-90\n  forward       1600 mm\n  outlet        bench, facing left, in cabin",
    good: "warm-air main of reader\n  duct          air-90\n  forward       900 mm\n  outlet        bench, facing left, in cabin",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(
            Kind::Heater,
            &[&[Need::HeaterIn, Need::HeaterAt, Need::SpaceAt, Need::SpaceSpans, Need::SpaceRides]],
        )
        .only(when::placed),
        Ask::each(
            Kind::Alarm,
            &[&[
                Need::AlarmIn,
                Need::AlarmAt,
                Need::SpaceAt,
                Need::SpaceSpans,
                Need::HeaterAt,
                Need::SpaceRides,
                Need::HeaterRides,
                Need::Datasheet,
            ]],
        )
        .only(when::placed),
        Ask::each(
            Kind::ReturnAir,
            &[&[
                Need::ReturnAirDraws,
                Need::SpaceAt,
                Need::SpaceSpans,
                Need::HeaterAt,
                Need::SpaceRides,
                Need::HeaterRides,
                Need::Datasheet,
                Need::ReturnAirWay,
            ]],
        )
        .only(when::placed),
        Ask::each(
            Kind::WarmAir,
            &[&[
                Need::WarmAirDuct,
                Need::WarmAirOutlet,
                Need::SpaceAt,
                Need::SpaceSpans,
                Need::HeaterAt,
                Need::SpaceRides,
                Need::HeaterRides,
                Need::Datasheet,
                Need::WarmAirFrom,
                Need::WarmAirRides,
                Need::WarmAirWay,
            ]],
        )
        .only(when::placed),
    ],
    find: |findings| {
        let job = findings.job;
        if job.header.is_none() {
            return;
        }
        for put in put_into_spaces(job) {
            let (Some(space), Some(spot)) = (job.spaces.get(put.space), put.spot) else { continue };
            let Some(outline) = space.outline.filter(|outline| outline.has_room() && space.body == *put.body) else {
                continue;
            };
            let off = outline.nearest(spot.point).to(spot.point).length().in_metres();
            let unit = length_unit(job.length_unit("mm"), off);
            let told =
                || Told::new(put.place, format!("how far {} lies outside its space", put.what), unit, Whose::Job);
            if findings.at_most((off - spot.reach()).max(0.0), OUTSIDE_BOX, SAME, told).keeps() {
                continue;
            }
            let finding = findings
                .at(
                    put.place,
                    format!("{} is said to be in `{}`, but lies {} outside it", put.what, space.name, unit.show(off)),
                )
                .label(format!("{} outside `{}`", unit.show(off), space.name))
                .why(format!(
                    "by its stated place or route it is at {}",
                    place_reads(spot.point, job.length_unit("mm"))
                ))
                .limit(
                    format!(
                        "inside `{}`, or at most {} outside it",
                        space.name,
                        job.length_unit("mm").show(OUTSIDE_BOX)
                    ),
                    Whose::Job,
                )
                .help("correct the place or the route, the space that is named, or the `at` and `spans` of the space")
                .related(space.header, "the space");
            findings.add(finding);
        }
    },
};

static SENSOR_NOT_THE_SHEETS: Rule = Rule {
    name: "sensor-not-the-sheets",
    family: Family::Fitting,
    severity: Severity::Advice,
    title: "a heater that senses elsewhere than its data sheet says",
    source: "the `senses` of the heater's data sheet",
    explanation: "A controller that is built to sense the air it draws in does not notice a sensor in the room, unless it has \
                  an input for one. A controller without a sensor of its own does not regulate at all until one is connected.",
    mend: "State the sensor that the controller has. Where it takes both, the data sheet says `senses` twice.",
    bad: "datasheet heater far-2               # invented\n  warms         air\n  burns         diesel\n  supply        12 V\n  voltage       10.2 V .. 15.5 V\n  stage         pre-heat, 9.5 A peak, 90 s\n  stage         high, 2.8 A\n  senses        remote\n  port          exhaust right 40 mm, down 60 mm, facing down\n  port          combustion-air forward 110 mm, left 40 mm, down 60 mm, facing down\n  port          fuel back 120 mm, left 40 mm, down 60 mm, facing down\n  spans         forward 310 mm, left 120 mm, up 122 mm\n  fuse          20 A\n\nheater reader\n  datasheet     far-2\n  in            cabin\n  heats         cabin\n  sensor        return-air\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward",
    good: "datasheet heater far-2               # invented\n  warms         air\n  burns         diesel\n  supply        12 V\n  voltage       10.2 V .. 15.5 V\n  stage         pre-heat, 9.5 A peak, 90 s\n  stage         high, 2.8 A\n  senses        return-air\n  port          exhaust right 40 mm, down 60 mm, facing down\n  port          combustion-air forward 110 mm, left 40 mm, down 60 mm, facing down\n  port          fuel back 120 mm, left 40 mm, down 60 mm, facing down\n  spans         forward 310 mm, left 120 mm, up 122 mm\n  fuse          20 A\n\nheater reader\n  datasheet     far-2\n  in            cabin\n  heats         cabin\n  sensor        return-air\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward",
    guards: Guards::Comfort,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::Datasheet, Need::Sensor]])],
    find: |findings| {
        let job = findings.job;
        for (number, heater) in heaters(findings) {
            let Some(sheet) = job.sheet_of(number) else { continue };
            let (Some(sensor), Some(senses)) = (heater.sensor.fact(), sheet.senses.first()) else { continue };
            let (by, job_says, sheet_says) = match &sensor.value {
                Sensor::InSpace(_) => ("remote", "a sensor in a space", "only the air that it draws in"),
                Sensor::ReturnAir => ("return-air", "the air that it draws in", "only a sensor elsewhere"),
            };
            if sheet.senses.iter().any(|senses| senses.value == by) {
                continue;
            }
            let finding = findings
                .at(
                    sensor.written,
                    format!("`{}` senses by {job_says}; data sheet `{}` says {sheet_says}", heater.name, sheet.name),
                )
                .label("is the controller built for this?")
                .why("a controller does not notice a sensor that it has no input for")
                .limit(sheet_says, Whose::Sheet(sheet.name.clone()))
                .help("state the sensor that the controller has; where it takes both, say so on its data sheet: `senses` twice")
                .related(senses.written, "what its controller senses");
            findings.add(finding);
        }
    },
};

static SENSOR_BADLY_PLACED: Rule = Rule {
    name: "sensor-badly-placed",
    family: Family::Fitting,
    severity: Severity::Warning,
    title: "a room sensor in a bad place",
    source: "common practice, no source: in the heated space, 1 m from warm outlets, 500 mm from doors, windows and vents, 500 mm to \
             1.8 m above the floor (the heights as advice)",
    explanation: "The heater follows its sensor. In the warm stream of an outlet the sensor stops the heater at once, \
                  and the room stays cold. In the draught of a door it never stops the heater, and the room gets too \
                  hot.",
    mend: "Hang it on an inner wall of the heated space, at chest height, away from outlets and doors.",
    bad: r#"
heater reader
  datasheet     air-2
  in            cabin
  heats         cabin
  at            back 1900 mm, right 310 mm, up 670 mm
  warm-end      forward
  sensor        in cabin
  sensor-at     back 1700 mm, left 900 mm, up 1600 mm
"#,
    good: r#"
heater reader
  datasheet     air-2
  in            cabin
  heats         cabin
  at            back 1900 mm, right 310 mm, up 670 mm
  warm-end      forward
  sensor        in cabin
  sensor-at     back 3500 mm, right 850 mm, up 1600 mm
"#,
    guards: Guards::Comfort,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::Datasheet, Need::Sensor, Need::SensorAt]])],
    find: |findings| {
        let job = findings.job;
        for (number, heater) in heaters(findings) {
            let Some(Sensor::InSpace(Some(in_space))) = heater.sensor.get() else { continue };
            let Some(space) = job.spaces.get(*in_space) else { continue };
            let air = job.shared_air(*in_space);
            let mut faults = Faults { said: Vec::new(), related: Vec::new(), severity: Severity::Advice };
            let heated = heated_spaces(job, number);
            if !heated.is_empty() && !heated.iter().any(|heated| air.contains(heated)) {
                let said = format!("in `{}`, a space that it does not heat", space.name);
                faults.add(said, Severity::Warning, Some((space.header, "this space".to_string())));
            }
            let mut place = heater.sensor.place();
            if let Some((spot, at)) = heater.sensor_at {
                place = Some(at);
                let unit = job.length_unit("mm");
                let hung = Hung { heater, air: &air, spot, place: at, unit };
                sensor_outlets(findings, &hung, &mut faults);
                sensor_openings(findings, &hung, &mut faults);
                let outline = space.outline.filter(|outline| outline.has_room() && space.body == heater.body);
                if let Some(outline) = outline {
                    let off = outline.nearest(spot.point).to(spot.point).length().in_metres();
                    let told = || hung.told("how far the sensor lies outside its space".to_string());
                    if !findings.at_most((off - spot.reach()).max(0.0), WALL, 0.0, told).keeps() {
                        let said = format!("{} outside `{}`", unit.show(off), space.name);
                        faults.add(said, Severity::Warning, Some((space.header, "its outline".to_string())));
                    }
                }
                let floor = outline
                    .map(|outline| outline.low().z)
                    .or_else(|| job.floor_level().filter(|_| heater.body.is_none()).map(|height| height.value.nominal));
                if let Some(height) = floor.map(|floor| spot.point.z - floor) {
                    let told = || hung.told("height of the sensor above the floor".to_string());
                    let high = findings.at_most(height - spot.doubt.z, SENSOR_HIGH, SAME, told);
                    if !(findings.at_least(height + spot.doubt.z, SENSOR_LOW, SAME, told).keeps() && high.keeps()) {
                        let said = format!(
                            "{} above the floor (usual is {} to {})",
                            unit.show(height),
                            unit.show(SENSOR_LOW),
                            unit.show(SENSOR_HIGH)
                        );
                        faults.add(said, Severity::Advice, None);
                    }
                }
            }
            let Some(place) = place.filter(|_| !faults.said.is_empty()) else { continue };
            let mut finding = findings
                .at(place, format!("the room sensor of `{}` hangs {}", heater.name, faults.said.join("; ")))
                .label("here it does not read what people feel")
                .why("the heater follows its sensor, so it stops too early or never")
                .limit(
                    "in the heated space, 1 m from warm outlets, 500 mm from openings, 500 mm to 1.8 m above the floor",
                    Whose::CommonPractice,
                )
                .help("hang it on an inner wall of the heated space, at chest height, away from outlets and doors");
            finding.severity = faults.severity;
            for (place, label) in faults.related {
                finding = finding.related(place, label);
            }
            findings.add(finding);
        }
    },
};

//! Rules on how cables and fuel lines are laid: loops where the vehicle moves, clips, holes, joints in spray, thin conductors,
//! the body as a return. Lengths, voltages and pressures are judged elsewhere.

use super::margin::Told;
use super::{Family, Findings, Guards, Rule};
use crate::asks::{Ask, Need, when};
use crate::figures::ways::length_unit;
use crate::finding::{Finding, Severity, Whose};
use crate::model::{Interval, Joint, Met, Run, Tube, unit_or};
use crate::rules::About;
use crate::rules::Cause;
use crate::source::Place;
use crate::units::{Dimension, Quantity};
use crate::vocabulary::Kind;

pub(super) static RULES: &[&Rule] = &[
    &CABLE_WITHOUT_LOOP,
    &CABLE_CLIPS_FAR_APART,
    &CABLE_THROUGH_BARE_HOLE,
    &CABLE_JOINT_IN_SPRAY,
    &RETURN_BY_CHASSIS,
    &CONDUCTOR_THIN_FOR_BOAT,
    &FUEL_LINE_WITHOUT_LOOP,
    &FUEL_CLIPS_FAR_APART,
    &FUEL_LINE_THROUGH_BARE_HOLE,
    &BEND_TOO_TIGHT,
];

/// The runs of a kind, in a job; none in a workshop file.
fn runs_of<'a>(findings: &Findings<'a>, kind: Kind) -> impl Iterator<Item = &'a Run> + use<'a> {
    let job = findings.job;
    job.runs.iter().filter(move |run| run.kind == kind && job.header.is_some())
}

fn without_loop(findings: &mut Findings<'_>, kind: Kind, why: &str) {
    for run in runs_of(findings, kind) {
        for step in &run.steps {
            let Met::MovingJoint(what, false) = &step.met else { continue };
            let reads = findings.job.reads(run);
            let finding = findings
                .at(step.place, format!("`{reads}` has no loop where it crosses the moving joint `{what}`"))
                .label("nothing gives here")
                .why(why)
                .limit("a loop where two parts move against each other", Whose::CommonPractice)
                .help("lay a loop with enough slack both ways, clip it on both sides of the joint, and write `looped`");
            findings.add(finding);
        }
    }
}

fn clips_far_apart(findings: &mut Findings<'_>, kind: Kind, most: f64, whose: &Whose, severity: Severity, why: &str) {
    for run in runs_of(findings, kind) {
        let Some(clips) = run.said.clips_every.fact() else { continue };
        let unit = clips.value.unit;
        let told = || Told::new(clips.written, "distance between two clips", unit, whose.clone());
        if findings.at_most(clips.value.nominal, most, 1e-6, told).keeps() {
            continue;
        }
        let reads = findings.job.reads(run);
        let (shown, limit) = (clips.value.show(clips.value.nominal), unit.show(most));
        let mut finding = findings
            .at(clips.written, format!("the clips of `{reads}` are {shown} apart; {limit} is the most"))
            .label(format!("{shown} hangs free"))
            .why(why)
            .limit(limit.clone(), whose.clone())
            .help(format!("put a clip every {limit} or nearer"));
        finding.severity = severity;
        findings.add(finding);
    }
}

fn bare_hole(findings: &mut Findings<'_>, kind: Kind, why: &str) {
    for run in runs_of(findings, kind) {
        for step in &run.steps {
            let Met::Passage(passage) = &step.met else { continue };
            if passage.sealed {
                continue;
            }
            let hole =
                passage.hole.map_or("a hole".to_string(), |hole| format!("a hole of {}", hole.show(hole.nominal)));
            let reads = findings.job.reads(run);
            let finding = findings
                .at(
                    step.place,
                    format!(
                        "`{reads}` passes {} through {hole} without grommet or seal",
                        passage.through.map_or("a wall".to_string(), |through| format!("`{through}`"))
                    ),
                )
                .label("this edge chafes")
                .why(why)
                .limit("a grommet or seal in each hole", Whose::CommonPractice)
                .help("put a grommet or a seal in the hole, and write `sealed`");
            findings.add(finding);
        }
    }
}

static CABLE_WITHOUT_LOOP: Rule = Rule {
    name: "cable-without-loop",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "a cable that crosses a moving joint without a loop",
    source: "common practice, no source",
    explanation: "A cab tilts, an upper body slews, a body moves on its springs. A cable laid straight across is pulled and bent at one point, until its strands break or its insulation opens.",
    mend: "Lay a loop with enough slack, and clip it on both sides of the joint.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           2 m\n  moving-joint  tilt-cab\n  run           2 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           2 m\n  moving-joint  tilt-cab, looped\n  run           2 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Cable, &[&[Need::CableJoint]])],
    find: |findings| {
        without_loop(
            findings,
            Kind::Cable,
            "a cable pulled and bent at one point breaks strand by strand, or chafes bare",
        )
    },
};

static FUEL_LINE_WITHOUT_LOOP: Rule = Rule {
    name: "fuel-line-without-loop",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a fuel line that crosses a moving joint without a loop",
    source: "common practice, no source",
    explanation: "A cab tilts, an upper body slews, a body moves on its springs. A line laid straight across kinks or pulls out of its sleeve. First it draws air, then it leaks.",
    mend: "Lay a loop with enough slack, and clip it on both sides of the joint.",
    bad: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  moving-joint  tilt-cab\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    good: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  moving-joint  tilt-cab, looped\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::FuelLine, &[&[Need::FuelJoint]])],
    find: |findings| {
        without_loop(
            findings,
            Kind::FuelLine,
            "a line that kinks or is pulled from its sleeve first draws air, then leaks",
        )
    },
};

/// Most between two clips of a cable, m: ISO 10133:2012 clause 7.3 (secondary copy).
const CABLE_CLIPS: f64 = 0.45;
/// Most between two clips of a fuel line, m. Common practice, no source.
const FUEL_CLIPS: f64 = 0.3;

static CABLE_CLIPS_FAR_APART: Rule = Rule {
    name: "cable-clips-far-apart",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "a cable that hangs free between its clips",
    source: "ISO 10133:2012 clause 7.3 (450 mm, secondary copy) for boats; elsewhere common practice, no source",
    explanation: "A cable that hangs free swings, and it chafes where it touches an edge. Judged where the job states how far apart the clips are. On boats this is a warning.",
    mend: "Put a clip every 450 mm or nearer.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader\n  clips-every   600 mm",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader\n  clips-every   300 mm",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Cable, &[&[Need::CableClips]])],
    find: |findings| {
        let (whose, severity) = if findings.job.of_boat() {
            (Whose::Standard("ISO 10133:2012 clause 7.3"), Severity::Warning)
        } else {
            (Whose::CommonPractice, Severity::Warning)
        };
        clips_far_apart(
            findings,
            Kind::Cable,
            CABLE_CLIPS,
            &whose,
            severity,
            "a cable that swings chafes where it touches an edge",
        );
    },
};

static FUEL_CLIPS_FAR_APART: Rule = Rule {
    name: "fuel-clips-far-apart",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a fuel line that hangs free between its clips",
    source: "common practice, no source: a clip every 250 to 300 mm",
    explanation: "A line that hangs free sags. Water gathers in its low points and gas in its high points, and it chafes where it swings. Judged where the job states how far apart the clips are.",
    mend: "Put a clip every 300 mm or nearer.",
    bad: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n  clips-every   500 mm\n",
    good: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n  clips-every   250 mm\n",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::FuelClips]])],
    find: |findings| {
        let why = "a line that sags gathers gas in its high points, and it chafes where it swings";
        clips_far_apart(findings, Kind::FuelLine, FUEL_CLIPS, &Whose::CommonPractice, Severity::Warning, why);
    },
};

static CABLE_THROUGH_BARE_HOLE: Rule = Rule {
    name: "cable-through-bare-hole",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "a cable through a hole without grommet or seal",
    source: "common practice, no source",
    explanation: "The edge of a drilled sheet cuts into a cable that moves. Water and exhaust gas come in from below through an open hole.",
    mend: "Put a grommet in the hole. Seal the hole where it leads outside.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           2 m\n  passage       frame-rail, hole 12 mm\n  run           2 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           2 m\n  passage       frame-rail, hole 12 mm, sealed\n  run           2 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[Cause::on_block("passage-unsealed")],
    about: About::Written,
    asks: &[Ask::each(Kind::Cable, &[&[Need::CablePassage]])],
    find: |findings| {
        bare_hole(findings, Kind::Cable, "the sharp edge cuts into it, and water and gas come in through the open hole")
    },
};

static FUEL_LINE_THROUGH_BARE_HOLE: Rule = Rule {
    name: "fuel-line-through-bare-hole",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a fuel line through a hole without grommet or seal",
    source: "common practice, no source",
    explanation: "The edge of a drilled sheet cuts into a thin line that moves. Water and exhaust gas come in from below through an open hole.",
    mend: "Put a grommet in the hole. Seal the hole where it leads outside.",
    bad: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  passage       frame-rail, hole 10 mm\n  up            60 mm\n  ends          at reader\n",
    good: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  passage       frame-rail, hole 10 mm, sealed\n  up            60 mm\n  ends          at reader\n",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[Cause::on_block("passage-unsealed")],
    about: About::Written,
    asks: &[Ask::each(Kind::FuelLine, &[&[Need::FuelPassage]])],
    find: |findings| {
        bare_hole(
            findings,
            Kind::FuelLine,
            "the sharp edge cuts into it, and water and gas come in through the open hole",
        )
    },
};

/// Why a joint stands in spray: its height below the floor, else what the job says of it, or does not.
fn in_spray(findings: &Findings<'_>, run: &Run, number: usize, joint: &Joint) -> Option<(String, String)> {
    let floor = findings.job.floor_level().map(|floor| floor.value);
    let height = run.walk.after.get(number).copied().flatten().filter(|_| run.body.is_none());
    if let (Some(floor), Some(here)) = (floor, height) {
        let below = floor.low - (here.point.z + here.doubt.z);
        if below > 0.0 {
            let shown = length_unit(unit_or(run.walk.unit, "mm"), below).show(below);
            let low = if at_low_point(run, number) { ", at a low point where water gathers" } else { "" };
            return Some((
                format!("{shown} below the floor{low}"),
                format!("above the floor at {}, or sealed", floor.show(floor.nominal)),
            ));
        }
        return None;
    }
    let limit = "sealed where spray reaches it".to_string();
    match joint.in_spray {
        Some(true) => Some(("in spray".to_string(), limit)),
        Some(false) => None,
        None => Some(("where nobody says whether spray reaches it".to_string(), limit)),
    }
}

/// Whether the way falls to a step and does not go on falling from it.
fn at_low_point(run: &Run, number: usize) -> bool {
    let rise = |stretch: &crate::model::Stretch| stretch.rise.map_or(0.0, |rise| rise.nominal);
    let before = run.walk.stretches.iter().rfind(|stretch| stretch.step < number && rise(stretch) != 0.0);
    let after = run.walk.stretches.iter().find(|stretch| stretch.step > number && rise(stretch) != 0.0);
    before.is_some_and(|before| rise(before) < 0.0) && after.is_some_and(|after| rise(after) > 0.0)
}

static CABLE_JOINT_IN_SPRAY: Rule = Rule {
    name: "cable-joint-in-spray",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "an unsealed cable joint where spray reaches it",
    source: "common practice, no source",
    explanation: "Salt water eats a connector in one winter, and its resistance grows. At first the heater fails to start on the coldest days; later the connector burns. Where heights are known, a joint below the floor is judged. Elsewhere the job says `indoors` or `in-spray`; where it says neither, spray may reach the joint.",
    mend: "Move the joint indoors, or seal it and write `sealed`.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           2 m\n  joint         under-floor, 5 mΩ\n  run           2 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           2 m\n  joint         under-floor, 5 mΩ, sealed\n  run           2 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Cable, &[&[Need::CableWay]]),
        Ask::each(Kind::Cable, &[&[Need::BatteryAt, Need::VehicleFloor]]).only(when::has_joint),
    ],
    find: |findings| {
        for run in runs_of(findings, Kind::Cable) {
            for (number, step) in run.steps.iter().enumerate() {
                let Met::Joint(joint) = &step.met else { continue };
                if joint.sealed {
                    continue;
                }
                let Some((place, limit)) = in_spray(findings, run, number, joint) else { continue };
                let reads = findings.job.reads(run);
                let finding = findings
                    .at(step.place, format!("an unsealed joint of `{reads}` lies {place}"))
                    .label(if joint.in_spray.is_none() { "spray may reach it" } else { "spray reaches it" })
                    .why("salt water eats a connector in one winter: its resistance grows, and the heater fails to start on the coldest days")
                    .limit(limit, Whose::CommonPractice)
                    .help("move the joint indoors and write `indoors`, or seal it and write `sealed`");
                findings.add(finding);
            }
        }
    },
};

static RETURN_BY_CHASSIS: Rule = Rule {
    name: "return-by-chassis",
    family: Family::Wire,
    severity: Severity::Advice,
    title: "a heater whose current returns through the vehicle's body",
    source: "common practice, no source; for boats ISO 10133 and for dangerous goods ADR 9.2.2 (from memory: check the text)",
    explanation: "A return through the body has two bolts, and they corrode unseen. Their resistance grows with the years: 3 mΩ when new, many times that later. On a boat the current eats the hull. A vehicle for dangerous goods must not have currents in its body. In those two it is a warning.",
    mend: "Lay a second cable back to the battery.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  return        chassis\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  return        wire\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Start,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Cable, &[&[Need::CableReturn]])],
    find: |findings| {
        let job = findings.job;
        let goods = job.vehicle.as_ref().and_then(|(vehicle, _)| vehicle.carries());
        for run in runs_of(findings, Kind::Cable) {
            let Some(back) = run.said.back_by.fact().filter(|back| back.value == "chassis") else { continue };
            let finding = findings
                .at(
                    back.written,
                    format!("the current of `{}` returns through the body, not through a second cable", job.reads(run)),
                )
                .label("its bolts have 3 mΩ when new, more each winter")
                .help("lay a second cable back to the battery, and write `return wire`");
            let warned = |mut finding: Finding, whose| {
                finding.severity = Severity::Warning;
                finding.limit("a return by a second cable", Whose::Standard(whose))
            };
            let finding = match goods {
                _ if job.of_boat() => warned(finding, "ISO 10133, from memory: check the text"),
                Some(_) => warned(finding, "ADR 9.2.2, from memory: check the text"),
                None => finding.limit("a return by a second cable", Whose::CommonPractice),
            };
            findings.add(finding);
        }
    },
};

static CONDUCTOR_THIN_FOR_BOAT: Rule = Rule {
    name: "conductor-thin-for-boat",
    family: Family::Wire,
    severity: Severity::Advice,
    title: "a conductor too thin for a boat",
    source: "ISO 10133:2012 clause 7.7 (1 mm², secondary copy); 33 CFR 183.425 asks for 16 AWG",
    explanation: "A thin conductor may carry its current, but it breaks when a boat works and shakes. Judged for boats. In a common sheath 0.75 mm² may do.",
    mend: "Use 1 mm² (16 AWG) or more.",
    bad: "vehicle bench-van\n  type          van\n  supply        12 V\n  rules         boat\n  floor-height  600 mm\n  at            forward 850 mm, left 1000 mm, up 200 mm\n  spans         back 5400 mm, right 2000 mm, up 2300 mm\n\ncable pump of reader\n  size          0.75 mm²\n  carries       1 A\n  run           3 m\n  ends          here",
    good: "cable pump of reader\n  size          1 mm²\n  carries       1 A\n  run           3 m\n  ends          here",
    guards: Guards::Start,
    measures: &[Dimension::Area],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Cable, &[&[Need::CableSize]]).only(when::boat)],
    find: |findings| {
        let job = findings.job;
        if !job.of_boat() {
            return;
        }
        for run in runs_of(findings, Kind::Cable) {
            for step in &run.steps {
                let Met::Conductor(conductor) = &step.met else { continue };
                let least = crate::figures::supply::LEAST_BOAT_CONDUCTOR;
                let Some(size) = conductor.size.get() else { continue };
                let whose = Whose::Standard("ISO 10133:2012 clause 7.7");
                let told = || Told::new(step.place, "size of a conductor on a boat", size.unit, whose);
                if findings.at_least(size.low, least, least * 1e-9, told).keeps() {
                    continue;
                }
                let shown = size.show(size.nominal);
                let finding = findings
                    .at(
                        step.place,
                        format!("`{}` has a conductor of {shown}; 1 mm² is the least on a boat", job.reads(run)),
                    )
                    .label(format!("{shown} breaks when the boat works and shakes"))
                    .limit("1 mm², or 0.75 mm² in a common sheath", Whose::Standard("ISO 10133:2012 clause 7.7"))
                    .help("use 1 mm² (16 AWG) or more");
                findings.add(finding);
            }
        }
    },
};

static BEND_TOO_TIGHT: Rule = Rule {
    name: "bend-too-tight",
    family: Family::Fitting,
    severity: Severity::Warning,
    title: "a pipe, hose or duct that is bent tighter than its sheet allows",
    source: "the `bend-radius` of the data sheet of the pipe, hose, duct or fuel line",
    explanation: "A hose or duct bent too tight folds, and lets less through. A flexible metal pipe that is bent too tight \
                  cracks, most of all when it shakes, and then lets gas out. Judged where a `bend` states its `radius`, to \
                  the middle line.",
    mend: "Make the bend wider, or in two steps, or use a formed bend.",
    bad: "warm-air main of reader\n  duct          air-90\n  run           500 mm\n  bend          45°, radius 60 mm\n  run           500 mm\n  outlet        desk, in cabin",
    good: "warm-air main of reader\n  duct          air-90\n  run           500 mm\n  bend          45°, radius 180 mm\n  run           500 mm\n  outlet        desk, in cabin",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Exhaust, &[&[Need::ExhaustPipe, Need::ExhaustWay]]),
        Ask::each(Kind::CombustionAir, &[&[Need::CombustionAirHose, Need::CombustionAirWay]]),
        Ask::each(Kind::WarmAir, &[&[Need::WarmAirDuct, Need::WarmAirWay]]),
        Ask::each(Kind::ReturnAir, &[&[Need::ReturnAirDuct, Need::ReturnAirWay]]),
        Ask::each(Kind::FuelLine, &[&[Need::FuelBore, Need::FuelWay]]),
        Ask::each(Kind::CoolantLine, &[&[Need::CoolantHose, Need::CoolantWay]]),
    ],
    find: |findings| {
        let job = findings.job;
        for run in job.runs.iter().filter(|_| job.header.is_some()) {
            let mut tube: Option<&Tube> = None;
            for step in &run.steps {
                match &step.met {
                    Met::Tube(laid) => tube = Some(laid),
                    Met::Bend(_, Some(radius)) => bend_too_tight(findings, run, (radius, step.place), tube),
                    _ => {}
                }
            }
        }
    },
};

fn bend_too_tight(findings: &mut Findings<'_>, run: &Run, (radius, place): (&Quantity, Place), tube: Option<&Tube>) {
    let Some((tube, sheet)) = tube.and_then(|tube| Some((tube, tube.sheet.as_ref()?))) else { return };
    let Some(least) = tube.bend_radius.fact() else { return };
    let whose = Whose::Sheet(sheet.clone());
    let told = || Told::new(place, "radius of a bend", radius.unit, whose.clone());
    let verdict = findings.at_least(Interval::from(*radius), least.value.nominal, 1e-6, told);
    if verdict.keeps() {
        return;
    }
    let reads = findings.job.reads(run);
    let (shown, limit) = (radius.show(radius.low), radius.unit.show(least.value.nominal));
    let may = if verdict.certain() { "is bent" } else { "may be bent" };
    let finding = findings
        .at(place, format!("`{reads}` {may} to {shown}; data sheet `{sheet}` allows {limit} at the tightest"))
        .label(format!("{} too tight", radius.unit.show(least.value.nominal - radius.low)))
        .why("what is bent too tight folds or cracks")
        .limit(limit.clone(), whose)
        .help(format!("give the bend a radius of {limit} or more, or make it in two steps"))
        .related(least.written, "the tightest bend that the sheet allows");
    findings.add(finding);
}

#[cfg(test)]
mod tests {
    use crate::bench::judge_example;
    use crate::finding::Severity;

    fn rules(example: &str) -> Vec<&'static str> {
        judge_example(example).standing().map(|finding| finding.rule.name).collect()
    }

    /// The bench job's supply, walked: 150 mm from the battery at 700 mm, then this, then on to the heater.
    fn joint(way: &str, back: &str) -> String {
        format!(
            "cable supply of reader\n  from          house\n  size          4 mm²\n  back          150 mm\n  fuse          20 A\n  {way}\n  \
             joint         plug, 5 mΩ\n  {back}\n  back          650 mm\n  right         910 mm\n  up            30 mm\n  ends          at reader"
        )
    }

    #[test]
    fn a_joint_is_in_spray_by_its_height_where_that_is_known() {
        // The floor is 600 mm high, the battery 700 mm.
        let low = judge_example(&joint("down          250 mm", "up            250 mm"));
        let found: Vec<&str> = low.standing().map(|finding| finding.title.as_str()).collect();
        assert!(
            matches!(found.as_slice(), [title] if title.contains("150 mm below the floor, at a low point")),
            "{found:?}"
        );
        assert!(rules(&joint("up            250 mm", "down          250 mm")).is_empty());
    }

    #[test]
    fn what_the_job_says_of_spray_counts_only_where_the_height_is_not_known() {
        let known = joint("up            250 mm", "down          250 mm").replace("plug", "under-floor");
        assert!(rules(&known).is_empty(), "{:?}", rules(&known));
        let unknown = known.replace("  up            250 mm\n", "  run           250 mm\n");
        assert_eq!(rules(&unknown), ["cable-joint-in-spray"]);
        // No word of the author's own decides: not this one, and not the one before.
        for place in ["Under-floor", "plug"] {
            assert_eq!(rules(&unknown.replace("under-floor", place)), ["cable-joint-in-spray"], "{place}");
        }
        assert!(rules(&unknown.replace("5 mΩ", "5 mΩ, indoors")).is_empty());
        assert_eq!(rules(&unknown.replace("5 mΩ", "5 mΩ, in-spray")), ["cable-joint-in-spray"]);
    }

    #[test]
    fn a_return_by_the_body_is_graver_on_a_boat_and_with_dangerous_goods() {
        let of = |rules: &str| {
            let analysis = judge_example(&format!(
                "vehicle bench-van\n  type          van\n  supply        12 V\n{rules}  floor-height  600 mm\n  \
                 at            forward 850 mm, left 1000 mm, up 200 mm\n  spans         back 5400 mm, right 2000 mm, up 2300 mm\n\n\
                 cable supply of reader\n  from          house\n  size          6 mm²\n  return        chassis\n  run           150 mm\n  \
                 fuse          20 A\n  run           4 m\n  ends          at reader"
            ));
            let found = analysis.standing().find(|finding| finding.rule.name == "return-by-chassis");
            found.map(|finding| finding.severity)
        };
        assert_eq!(of(""), Some(Severity::Advice));
        assert_eq!(of("  goods         at\n"), Some(Severity::Warning));
        assert_eq!(of("  rules         boat\n"), Some(Severity::Warning));
    }
}

//! Rules on the tank and how the heater draws from it: pickup, reserve, tee, height, place. The line itself is judged in
//! `fuel_line`.

use super::margin::Told;
use super::{Family, Findings, Guards, Rule};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::fuel_line::FuelLine;
use crate::figures::ways::length_unit;
use crate::finding::{Severity, Whose};
use crate::model::{Interval, Job, Met, Run, Space, Start, Tank, unit_or};
use crate::rules::About;
use crate::rules::Cause;
use crate::units::Dimension;
use crate::vocabulary::Kind;

pub(super) static RULES: &[&Rule] = &[
    &PICKUP_BELOW_ENGINES,
    &PICKUP_BELOW_RESERVE,
    &PICKUP_NEAR_TANK_FLOOR,
    &TANK_CONTRADICTS_ITSELF,
    &TEE_IN_ENGINE_SUCTION,
    &TANK_ABOVE_PUMP,
    &PETROL_TANK_INDOORS,
    &FUEL_VALVE_MISSING,
    &FUEL_VALVE_BEHIND_PUMP,
];

/// Each fuel line of a job with its tank; none in a workshop file.
fn drawn<'a>(findings: &Findings<'a>) -> impl Iterator<Item = (&'a Run, &'a Tank)> + use<'a> {
    let job = findings.job;
    let lines = job.runs.iter().filter(move |run| run.kind == Kind::FuelLine && job.header.is_some());
    lines.filter_map(|run| match run.start {
        Start::Tank(tank) => job.tanks.get(tank).map(|tank| (run, tank)),
        _ => None,
    })
}

/// Whether the tank is the heater's own, so that no engine can be left dry.
fn heaters_own(tank: &Tank) -> bool {
    tank.feeds.get() == Some(&"heater")
}

static PICKUP_BELOW_ENGINES: Rule = Rule {
    name: "pickup-below-engines",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a heater that can burn the engine's last fuel",
    source: "common practice, no source: the heater's standpipe ends above the engine's pickup",
    explanation: "A heater runs all night while nobody looks at the gauge. If its standpipe reaches as deep as the engine's pickup, it empties the tank until the engine no longer starts. The driver is stranded in the cold, with air in the injection. A tank that feeds only the heater is not judged.",
    mend: "Cut the standpipe so that it ends above the engine's pickup.",
    bad: "tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       10 L\n  feeds         engine\n  standpipe-end 25 mm\n  engine-pickup 40 mm\n  at            back 3200 mm, left 450 mm, up 250 mm",
    good: "tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       10 L\n  feeds         engine\n  standpipe-end 70 mm\n  engine-pickup 40 mm\n  at            back 3200 mm, left 450 mm, up 250 mm",
    guards: Guards::Comfort,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::StandpipeEnd, Need::EnginePickup]]).only(when::by_standpipe)],
    find: |findings| {
        let mut told = Vec::new();
        for (run, tank) in drawn(findings) {
            let (Some(own), Some(engine)) = (tank.standpipe_end.fact(), tank.engine_pickup.fact()) else { continue };
            let plug = run.pickup.get() == Some(&"plug");
            if heaters_own(tank) || told.contains(&tank.header) {
                continue;
            }
            let words = || {
                Told::new(
                    own.written,
                    "height of the standpipe's end over the engine's pickup",
                    own.value.unit,
                    Whose::CommonPractice,
                )
            };
            let reaches = if plug { Interval::exact(0.0) } else { own.value.into() };
            if findings.at_least(reaches, engine.value.high, -1e-9, words).keeps() {
                continue;
            }
            told.push(tank.header);
            let (ours, theirs) = (own.value.show(own.value.nominal), engine.value.show(engine.value.nominal));
            let title = if plug {
                format!(
                    "`{}` draws at the drain plug, on the tank's floor; the engine draws at {theirs}",
                    findings.job.reads(run)
                )
            } else {
                format!("the standpipe in `{}` ends {ours} above the floor; the engine draws at {theirs}", tank.name)
            };
            let finding = findings
                .at(own.written, title)
                .label("reaches as deep as the engine's pickup")
                .why("the heater can empty the tank until the engine no longer starts")
                .limit(format!("above {theirs}"), Whose::CommonPractice)
                .related(engine.written, "where the engine draws")
                .help("cut the standpipe so that it ends above the engine's pickup");
            findings.add(finding);
        }
    },
};

static PICKUP_BELOW_RESERVE: Rule = Rule {
    name: "pickup-below-reserve",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a standpipe that reaches into the reserve",
    source: "the tank's own reserve; its level is for a tank that is equally wide all the way up",
    explanation: "The reserve is what the job promises to leave in the tank. A standpipe that ends below its level can draw from it, so the promise does not hold. The level is the tank's depth times the reserve's share of its volume. For a tank of another shape, write the reserve that the standpipe really leaves.",
    mend: "Cut the standpipe off at the reserve's level, or write the reserve that it leaves.",
    bad: "tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       20 L\n  depth         300 mm\n  standpipe-end 40 mm\n  at            back 3200 mm, left 450 mm, up 250 mm",
    good: "tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       10 L\n  depth         300 mm\n  standpipe-end 55 mm\n  at            back 3200 mm, left 450 mm, up 250 mm",
    guards: Guards::Comfort,
    measures: &[Dimension::Length],
    explained_by: &[Cause::on_block("tank-contradicts-itself"), Cause::on_block("pickup-below-engines")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::StandpipeEnd, Need::TankDepth, Need::TankHolds, Need::TankReserve]])
        .only(when::by_standpipe)],
    find: |findings| {
        let mut told = Vec::new();
        for (_, tank) in drawn(findings) {
            let (Some(end), Some(depth), Some(holds), Some(reserve)) =
                (tank.standpipe_end.fact(), tank.depth.get(), tank.holds.get(), tank.reserve.fact())
            else {
                continue;
            };
            if holds.nominal <= 0.0 || told.contains(&tank.header) {
                continue;
            }
            let level = depth.nominal * reserve.value.nominal / holds.nominal;
            let unit = end.value.unit;
            let words = || {
                Told::new(end.written, "height of the standpipe's end, against the reserve's level", unit, Whose::Job)
            };
            // A tank's corners and a hand measurement: a tenth of the level is no finding.
            if findings.at_least(end.value.nominal, level, 0.1 * level, words).keeps() {
                continue;
            }
            told.push(tank.header);
            let left = holds.nominal * end.value.nominal / depth.nominal;
            let (ends, at, kept) =
                (unit.show(end.value.nominal), unit.show(level), reserve.value.show(reserve.value.nominal));
            let finding = findings
                .at(
                    end.written,
                    format!("the standpipe in `{}` ends at {ends}; the reserve of {kept} reaches up to {at}", tank.name),
                )
                .label(format!("leaves about {}", reserve.value.show(left)))
                .why("the level is the depth times the reserve's share of the volume, in a tank equally wide all the way up")
                .limit(format!("{at} above the floor"), Whose::Job)
                .related(reserve.written, "the reserve")
                .help(format!("cut the standpipe off at {at}, or write `reserve` as {}", reserve.value.show(left)));
            findings.add(finding);
        }
    },
};

/// How near to the tank's floor a standpipe may end, m. Common practice, no source: 20 to 50 mm above it.
const ABOVE_DIRT: f64 = 0.02;

static PICKUP_NEAR_TANK_FLOOR: Rule = Rule {
    name: "pickup-near-tank-floor",
    family: Family::FuelLine,
    severity: Severity::Advice,
    title: "a pickup in the dirt and water at the tank's floor",
    source: "common practice, no source: 20 mm above the floor or more",
    explanation: "Water and dirt lie on a tank's floor. A pump that draws them wears out, freezes or blocks on the first cold night.",
    mend: "End the standpipe 20 mm or more above the floor.",
    bad: "tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       1 L\n  standpipe-end 8 mm\n  at            back 3200 mm, left 450 mm, up 250 mm",
    good: "tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       10 L\n  standpipe-end 50 mm\n  at            back 3200 mm, left 450 mm, up 250 mm",
    guards: Guards::Start,
    measures: &[Dimension::Length],
    explained_by: &[Cause::on_block("pickup-below-engines"), Cause::on_block("pickup-below-reserve")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::StandpipeEnd]]).only(when::by_standpipe)],
    find: |findings| {
        let mut told = Vec::new();
        for (_, tank) in drawn(findings) {
            let Some(end) = tank.standpipe_end.fact().filter(|_| !told.contains(&tank.header)) else { continue };
            let words = || {
                Told::new(
                    end.written,
                    "height of the standpipe's end above the floor",
                    end.value.unit,
                    Whose::CommonPractice,
                )
            };
            if findings.at_least(end.value.nominal, ABOVE_DIRT, 1e-6, words).keeps() {
                continue;
            }
            told.push(tank.header);
            let (ends, limit) = (end.value.show(end.value.nominal), end.value.unit.show(ABOVE_DIRT));
            let finding = findings
                .at(
                    end.written,
                    format!("the standpipe in `{}` ends {ends} above the floor; {limit} is the least", tank.name),
                )
                .label("where water and dirt lie")
                .limit(format!("{limit} above the floor"), Whose::CommonPractice)
                .help(format!("end it {limit} or more above the floor"));
            findings.add(finding);
        }
    },
};

static TANK_CONTRADICTS_ITSELF: Rule = Rule {
    name: "tank-contradicts-itself",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "a tank with more in it than there is room for",
    source: "the job's own numbers: a part cannot be larger than the whole",
    explanation: "A reserve larger than the tank, or a pipe that ends above its roof, is a slip of the pen. Every hour on the tank and \
                  every lift that is worked out from it is wrong.",
    mend: "Measure again, and correct the number that is wrong.",
    bad: "tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       80 L\n  at            back 3200 mm, left 450 mm, up 250 mm",
    good: "tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       10 L\n  at            back 3200 mm, left 450 mm, up 250 mm",
    guards: Guards::Start,
    measures: &[Dimension::Length, Dimension::Volume],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Tank, &[&[Need::TankHolds, Need::TankReserve]])],
    find: |findings| {
        let job = findings.job;
        for tank in &job.tanks {
            let pairs = [
                (&tank.reserve, "the reserve", &tank.holds, "the tank holds"),
                (&tank.standpipe_end, "the end of the standpipe", &tank.depth, "the tank's depth is"),
                (&tank.engine_pickup, "the engine's pickup", &tank.depth, "the tank's depth is"),
            ];
            for (part, what, whole, is) in pairs {
                let (Some(part), Some(whole)) = (part.fact(), whole.fact()) else { continue };
                let told = || Told::new(part.written, format!("{what} in {}", tank.name), part.value.unit, Whose::Job);
                // By their nominals: what is only doubtful is no contradiction.
                let figure = Interval::exact(part.value.nominal);
                if findings.at_most(figure, whole.value.high, 1e-9, told).keeps() {
                    continue;
                }
                let (shown, limit) = (part.value.show(part.value.nominal), whole.value.show(whole.value.high));
                let finding = findings
                    .at(part.written, format!("{what} of `{}` is {shown}, but {is} {limit}", tank.name))
                    .label("one of the two is a slip of the pen")
                    .why("every figure that is worked out from this tank is wrong")
                    .limit(limit, Whose::Job)
                    .help("measure again, and correct the number that is wrong")
                    .related(whole.written, "the whole");
                findings.add(finding);
            }
        }
    },
};

static TEE_IN_ENGINE_SUCTION: Rule = Rule {
    name: "tee-in-engine-suction",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a tee in the engine's fuel line",
    source: "common practice, no source: a pickup of the heater's own",
    explanation: "The engine's pump draws harder than the heater's. A tee in its suction line lets it draw air through the heater's line whenever that line is not full. The engine then stops, perhaps on the road. A tee in a return line under pressure floods the heater. A tank that feeds only the heater is not judged.",
    mend: "Fit a standpipe for the heater alone.",
    bad: "\nfuel-line of reader\n  from          main by tee\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    good: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::FuelPickup]])],
    find: |findings| {
        for (run, tank) in drawn(findings) {
            let Some(pickup) = run.pickup.fact().filter(|pickup| pickup.value == "tee" && !heaters_own(tank)) else {
                continue;
            };
            let reads = findings.job.reads(run);
            let finding = findings
                .at(pickup.written, format!("`{reads}` draws through a tee in the engine's line from tank `{}`, not through a pickup of its own", tank.name))
                .label("the engine can draw air through this")
                .why("the engine's pump draws harder than the heater's: it draws air through the heater's line, and the engine stops")
                .limit("no tee in the engine's fuel line", Whose::CommonPractice)
                .help("fit a standpipe for the heater alone, and write `by standpipe`");
            findings.add(finding);
        }
    },
};

/// Fuel over the pump that is worth a word, m. Common practice, no source.
const HEAD_WORTH_A_WORD: f64 = 1.0;
/// Fuel over the pump that is too much, m. Common practice, no source.
const MOST_HEAD: f64 = 3.0;

static TANK_ABOVE_PUMP: Rule = Rule {
    name: "tank-above-pump",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a tank high above its pump",
    source: "common practice, no source: 1 m is worth a word, more than 3 m is too much",
    explanation: "Fuel that stands above the pump presses on its valve. While the heater is off, fuel can creep through to the burner, which then floods at the next start. Judged from the top of the tank where its size is stated (`spans`), else from the place where the fuel is drawn.",
    mend: "Put the pump higher or the tank lower.",
    bad: "tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       10 L\n\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  valve\n  run           1.8 m, down 1.4 m\n  pump          outlet up 20°\n  run           1 m, up 500 mm\n  ends          at reader\n",
    good: "\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::SUCTION, &[Need::FuelRise]])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for line in figures.fuel_lines.iter().filter(|_| job.header.is_some()) {
            let (Some(pump), Some(run)) = (&line.pump, job.runs.get(line.run)) else { continue };
            let Some(head) = line.tank_above_pump else { continue };
            let unit = length_unit(unit_or(run.walk.unit, "m"), head);
            let told = || Told::new(pump.place, "fuel that can stand above the pump", unit, Whose::CommonPractice);
            if findings.at_most(head, HEAD_WORTH_A_WORD, 1e-6, told).keeps() {
                continue;
            }
            let too_much = head > MOST_HEAD;
            let limit = unit.show(if too_much { MOST_HEAD } else { HEAD_WORTH_A_WORD });
            let mut finding = findings
                .at(
                    pump.place,
                    format!(
                        "fuel can stand {} above the pump of `{}`; {limit} at most is the practice",
                        unit.show(head),
                        job.reads(run)
                    ),
                )
                .label(format!("{} of fuel presses on its valve", unit.show(head)))
                .why("fuel creeps through while the heater is off, and the burner floods at the next start")
                .limit(format!("{limit} above the pump"), Whose::CommonPractice)
                .help("put the pump higher or the tank lower");
            if too_much {
                finding.severity = Severity::Warning;
            }
            findings.add(finding);
        }
    },
};

static PETROL_TANK_INDOORS: Rule = Rule {
    name: "petrol-tank-indoors",
    family: Family::FuelLine,
    severity: Severity::Error,
    title: "a petrol tank in a space that people use",
    source: "common practice, no source",
    explanation: "Petrol gives off vapour at every temperature that a vehicle sees. Where people sit or sleep, the vapour makes them ill, and a spark can light it. Judged where the places of tank and space are stated.",
    mend: "Put the tank outside, or in a locker that is open only to the outside.",
    bad: "tank spare\n  fuel          petrol\n  holds         10 L\n  at            back 2500 mm, left 700 mm, up 700 mm\n  spans         back 300 mm, right 200 mm, up 300 mm",
    good: "tank spare\n  fuel          petrol\n  holds         10 L\n  at            back 4450 mm, left 700 mm, up 700 mm\n  spans         back 300 mm, right 200 mm, up 300 mm",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Tank, &[&[Need::TankFuel, Need::SpaceUse]]),
        Ask::each(Kind::Tank, &[&[Need::TankAt, Need::SpaceAt, Need::SpaceSpans, Need::TankSpans]]).only(when::placed),
    ],
    find: |findings| {
        let job = findings.job;
        for tank in job.tanks.iter().filter(|tank| job.header.is_some() && tank.fuel.get() == Some(&"petrol")) {
            let Some((reaches, _)) = tank.area else { continue };
            let (low, high) = (reaches.low(), reaches.high());
            let used = |space: &&Space| {
                space.usage.get().is_some_and(|usage| matches!(*usage, "seated" | "sleeping" | "driving" | "working"))
            };
            let spaces = job.spaces.iter().filter(|space| space.body == tank.body).filter(used);
            let inside = spaces
                .into_iter()
                .find(|space| space.outline.is_some_and(|outline| outline.contains(low) && outline.contains(high)));
            let Some(space) = inside else { continue };
            let holds = tank.holds.get().map_or(String::new(), |holds| format!("{} of ", holds.show(holds.nominal)));
            let finding = findings
                .at(
                    tank.header,
                    format!("tank `{}` keeps {holds}petrol inside `{}`, where people are", tank.name, space.name),
                )
                .label(format!("inside `{}`", space.name))
                .why("its vapour burns in air from about 1.4 % (handbook value, from memory)")
                .limit("no petrol where people are", Whose::CommonPractice)
                .related(space.header, "the space")
                .help("put the tank outside, or in a locker that is open only to the outside");
            findings.add(finding);
        }
    },
};

/// The head of fuel over the pump above which a tank of unknown height counts as standing wholly above it, m. Common
/// practice, no source.
const WHOLE_TANK: f64 = 0.5;

/// How far fuel can run down to the pump, or to the heater where no pump stops it, when the line breaks: m, where it can.
fn runs_down(job: &Job, run: &Run, line: &FuelLine, tank: &Tank) -> Option<f64> {
    let Some(head) = line.tank_above_pump else {
        let heater = run.heater.and_then(|heater| job.heaters.get(heater)).filter(|_| line.pump.is_none())?;
        let (from, to) = (tank.spot?, heater.spot.filter(|_| heater.body == tank.body)?);
        let head = from.point.z - from.doubt.z - to.point.z - to.doubt.z;
        return (head > 0.0).then_some(head);
    };
    // A tank reaches from above the pump to below it in most vehicles, and its pickup comes in from the top: what is
    // left in it then stays there. Petrol burns whatever runs out.
    let height = match tank.area.map(|(area, _)| area.high().z - area.low().z).filter(|height| *height > 0.0) {
        Some(height) => height,
        None => tank.depth.get().map_or(WHOLE_TANK, |depth| depth.high),
    };
    let from = if tank.fuel.get() == Some(&"petrol") || run.pickup.get() == Some(&"plug") { 0.0 } else { height };
    (head > from + 1e-6).then_some(head)
}

static FUEL_VALVE_MISSING: Rule = Rule {
    name: "fuel-valve-missing",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a tank above the pump without a shut-off valve",
    source: "common practice, no source: a shut-off valve at the tank where fuel runs down to pump or heater by itself",
    explanation: "Where the whole tank stands above the pump, where it is drawn from at its lowest place, or where it holds \
                  petrol, fuel runs out of a broken line or an opened joint until the tank is empty. A valve near the tank \
                  stops that, and lets somebody work on the line.",
    mend: "Fit a shut-off valve near the tank, before the pump, and write `valve` there.",
    bad: "tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       10 L\n\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  run           1.5 m, down 0.8 m\n  pump          outlet up 20°\n  run           1 m, up 300 mm\n  ends          at reader",
    good: "fuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  valve\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(
            Kind::Heater,
            &[&[Need::FuelFrom, Need::FuelWay, Need::FuelRise, Need::FuelEnds, Need::TankFuel, Need::FuelPump]],
        ),
        Ask::each(Kind::Heater, &[&[Need::TankAt, Need::HeaterAt, Need::TankSpans]]).only(when::placed),
    ],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for line in figures.fuel_lines.iter().filter(|line| job.header.is_some() && line.whole) {
            let Some(run) = job.runs.get(line.run).filter(|run| run.end.is_some()) else { continue };
            let Some(tank) = line.tank.and_then(|tank| job.tanks.get(tank)) else { continue };
            let Some(head) = runs_down(job, run, line, tank) else { continue };
            let before_pump = run.steps.iter().take_while(|step| !matches!(step.met, Met::Pump(_)));
            if before_pump.into_iter().any(|step| matches!(step.met, Met::Valve)) {
                continue;
            }
            let unit = length_unit(unit_or(run.walk.unit, "m"), head);
            let to = if line.pump.is_some() { "the pump" } else { "the heater" };
            let finding = findings
                .at(
                    run.header,
                    format!(
                        "fuel of tank `{}` can run down {} to {to} of `{}`, and no valve shuts it off",
                        tank.name,
                        unit.show(head),
                        job.reads(run)
                    ),
                )
                .label(format!("no `valve` before {to}"))
                .why("out of a broken line or an opened joint the tank runs empty")
                .limit("a shut-off valve near the tank", Whose::CommonPractice)
                .help(format!("fit a shut-off valve near the tank, and write `valve` before {to}"))
                .related(tank.header, "the tank");
            findings.add(finding);
        }
    },
};

static FUEL_VALVE_BEHIND_PUMP: Rule = Rule {
    name: "fuel-valve-behind-pump",
    family: Family::FuelLine,
    severity: Severity::Warning,
    title: "a shut-off valve behind the pump",
    source: "common practice, no source",
    explanation: "A dosing pump that pushes against a shut valve presses the hoses off their ends. Behind the pump a valve \
                  does not shut off the tank either: all joints up to the pump can still run.",
    mend: "Move the valve to the tank, before the pump.",
    bad: "fuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  valve\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader",
    good: "fuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  valve\n  up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader",
    guards: Guards::Start,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::FuelFrom, Need::FuelPump]])],
    find: |findings| {
        let job = findings.job;
        for run in job.runs.iter().filter(|run| run.kind == Kind::FuelLine && job.header.is_some()) {
            let behind = run.steps.iter().skip_while(|step| !matches!(step.met, Met::Pump(_)));
            for step in behind.filter(|step| matches!(step.met, Met::Valve)) {
                let finding = findings
                    .at(step.place, format!("the valve of `{}` is behind its pump", job.reads(run)))
                    .label("the pump pushes against it")
                    .why("a pump that pushes against a shut valve presses the hoses off, and the tank is not shut off")
                    .limit("a shut-off valve between tank and pump", Whose::CommonPractice)
                    .help("move the valve to the tank, before the pump");
                findings.add(finding);
            }
        }
    },
};

#[cfg(test)]
mod tests {
    use crate::bench::judge_example;

    fn rules(tank: &str, by: &str) -> Vec<&'static str> {
        let example = format!(
            "tank main\n  fuel          diesel winter-2\n  holds         60 L\n  reserve       10 L\n{tank}  \
             at            back 3200 mm, left 450 mm, up 250 mm\n\nfuel-line of reader\n  from          main by {by}\n  line          2.2 mm\n  \
             up            300 mm\n  forward       500 mm\n  right         400 mm\n  pump          outlet up 20°\n  forward       680 mm\n  \
             right         320 mm\n  up            60 mm\n  ends          at reader"
        );
        judge_example(&example).standing().map(|finding| finding.rule.name).collect()
    }

    #[test]
    fn a_tank_of_the_heaters_own_leaves_no_engine_dry() {
        let deep = "  standpipe-end 25 mm\n  engine-pickup 40 mm\n";
        assert_eq!(rules(deep, "standpipe"), ["pickup-below-engines"]);
        assert!(rules(&format!("  feeds         heater\n{deep}"), "standpipe").is_empty());
        assert_eq!(rules("", "tee"), ["tee-in-engine-suction"]);
        assert!(rules("  feeds         heater\n", "tee").is_empty());
    }

    #[test]
    fn a_pickup_in_the_dirt_below_the_engines_is_one_finding() {
        assert_eq!(rules("  standpipe-end 8 mm\n  engine-pickup 40 mm\n", "standpipe"), ["pickup-below-engines"]);
        assert_eq!(rules("  standpipe-end 8 mm\n", "standpipe"), ["pickup-near-tank-floor"]);
    }

    #[test]
    fn a_standpipe_at_the_reserves_level_keeps_it() {
        // 10 L of 60 L in a tank 300 mm deep stand 50 mm high.
        assert!(rules("  depth         300 mm\n  standpipe-end 50 mm\n", "standpipe").is_empty());
        assert_eq!(rules("  depth         300 mm\n  standpipe-end 30 mm\n", "standpipe"), ["pickup-below-reserve"]);
    }

    #[test]
    fn a_valve_is_wanted_where_fuel_runs_down_by_itself_and_before_the_pump() {
        let told = |fuel: &str, pickup: &str, valve: (&str, &str), down: &str| {
            let text = format!(
                "tank main\n  fuel {fuel}\n  holds 60 L\n  reserve 10 L\n  depth 300 mm\n\nfuel-line of reader\n  \
                 from main by {pickup}\n  line 2.2 mm\n{}  run 1 m, {down}\n  pump outlet up 20°\n{}  run 1 m, up 300 mm\n  ends at reader",
                valve.0, valve.1
            );
            let analysis = judge_example(&text);
            let found = analysis.standing().map(|finding| finding.rule.name);
            found.filter(|name| name.starts_with("fuel-valve")).collect::<Vec<_>>()
        };
        let (none, before, behind) = (("", ""), ("  valve\n", ""), ("", "  valve\n"));
        let diesel = "diesel winter-1";
        assert_eq!(told(diesel, "standpipe", none, "down 600 mm"), ["fuel-valve-missing"]);
        assert!(told(diesel, "standpipe", before, "down 600 mm").is_empty());
        let mut both = told(diesel, "standpipe", behind, "down 600 mm");
        both.sort_unstable();
        assert_eq!(both, ["fuel-valve-behind-pump", "fuel-valve-missing"]);
        // A tank beside its pump, drawn from above: what is left stays in it. Its drain plug or petrol does not.
        assert!(told(diesel, "standpipe", none, "down 200 mm").is_empty());
        assert_eq!(told(diesel, "plug", none, "down 200 mm"), ["fuel-valve-missing"]);
        assert_eq!(told("petrol", "standpipe", none, "down 200 mm"), ["fuel-valve-missing"]);
    }
}

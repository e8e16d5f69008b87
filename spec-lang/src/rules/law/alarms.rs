//! Rules on carbon monoxide alarms: where they hang and what feeds them. That there must be one is said with the exhaust.
//!
//! Free areas for ventilation are known only from memory and are not judged.

use crate::asks::{Ask, Need, groups, when};
use crate::finding::{Severity, Whose};
use crate::model::{Alarm, Job, Met, Spot};
use crate::rules::About;
use crate::rules::{Family, Findings, Guards, Rule, Told};
use crate::source::Place;
use crate::units::{Dimension, Unit};
use crate::vocabulary::Kind;

/// The farthest that an alarm hangs, in plan, from a sleeper's head, and how far above or below it. Common practice, no
/// source; EN 50292 speaks of the breathing zone.
const FROM_HEAD: f64 = 3.0;
const OFF_HEAD_HEIGHT: f64 = 0.5;
/// How near a warm outlet an alarm must not hang. Common practice, no source.
const FROM_OUTLET: f64 = 1.0;

macro_rules! sleeping_job {
    ($alarm:literal $(, $rest:expr_2021)*) => {
        concat!(
            "space cabin\n  use           sleeping\n  wanted        18 °C\n  volume        7.5 m³\n  \
             heads-at      back 3600 mm, left 500 mm, up 1100 mm\n\nalarm cabin-co\n  warns-of      carbon-monoxide\n", $alarm
            $(, $rest)*
        )
    };
}

/// Alarms that warn of carbon monoxide, as far as is said.
fn warns_of_carbon_monoxide(alarm: &Alarm) -> bool {
    alarm.warns_of.get().is_none_or(|what| *what == "carbon-monoxide")
}

fn is_slept_in(job: &Job, space: usize) -> bool {
    job.spaces.get(space).is_some_and(|space| space.is_slept_in())
}

fn has_heater(job: &Job) -> bool {
    job.header.is_some() && !job.heaters.is_empty()
}

pub(super) static CARBON_MONOXIDE_ALARM_NEXT_DOOR: Rule = Rule {
    name: "carbon-monoxide-alarm-next-door",
    family: Family::Law,
    severity: Severity::Warning,
    title: "a carbon monoxide alarm in another space than the people who sleep",
    source: "EN 50292 (from memory: check the text): an alarm in each room where people sleep",
    explanation: "An alarm behind a curtain or a door notices the gas late, and people asleep may not hear it. Hang an \
                  alarm in the space where they sleep. A second one beside the heater is welcome.",
    mend: "Hang an alarm where people sleep.",
    bad: r#"
space cabin
  use           sleeping
  wanted        18 °C
  volume        7.5 m³
  joined-to     cab, by curtain

space cab
  use           driving

alarm cab-co
  warns-of      carbon-monoxide
  in            cab
"#,
    good: r#"
space cabin
  use           sleeping
  wanted        18 °C
  volume        7.5 m³
  joined-to     cab, by curtain

space cab
  use           driving

alarm cabin-co
  warns-of      carbon-monoxide
  in            cabin
"#,
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Space, &[&[Need::AlarmIn, Need::AlarmWarnsOf, Need::JoinedTo]]).only(when::slept_in),
        Ask::each(Kind::Alarm, &[&[Need::AlarmIn, Need::AlarmWarnsOf, Need::SpaceUse, Need::JoinedTo]]),
    ],
    find: |findings| {
        let job = findings.job;
        if !has_heater(job) || job.hidden.has(Kind::Alarm) {
            return;
        }
        for (number, space) in job.spaces.iter().enumerate().filter(|(number, _)| is_slept_in(job, *number)) {
            let air = job.shared_air(number);
            let in_air = |alarm: &&Alarm| {
                warns_of_carbon_monoxide(alarm) && alarm.space.is_some_and(|space| air.contains(&space))
            };
            if job.alarms.iter().filter(in_air).any(|alarm| alarm.space == Some(number)) {
                continue;
            }
            let Some(alarm) = job.alarms.iter().find(in_air) else { continue };
            let Some(other) = alarm.space.and_then(|space| job.spaces.get(space)) else { continue };
            let finding = findings
                .at(
                    alarm.header,
                    format!("people sleep in `{}`, but alarm `{}` hangs in `{}`", space.name, alarm.name, other.name),
                )
                .label(format!("it watches `{}`", other.name))
                .why("behind a curtain or a door it notices the gas late, and people asleep may not hear it")
                .limit(
                    "an alarm in each space where people sleep",
                    Whose::Standard("EN 50292, from memory: check the text"),
                )
                .help(format!("hang one in `{}`", space.name))
                .related(space.header, "people sleep here");
            findings.add(finding);
        }
    },
};

/// How an alarm stands to a sleeper's head: in plan, and above it (negative below); what the doubts may take off each.
struct FromHead {
    aside: f64,
    above: f64,
    doubt: f64,
}

impl FromHead {
    fn of(alarm: Spot, head: Spot) -> FromHead {
        let way = head.point.to(alarm.point);
        FromHead { aside: way.x.hypot(way.y), above: way.z, doubt: alarm.reach() + head.reach() }
    }

    /// How far outside both bounds it is for certain; zero or less where it stands well.
    fn outside(&self) -> f64 {
        (self.aside - FROM_HEAD).max(self.above.abs() - OFF_HEAD_HEIGHT) - self.doubt
    }
}

/// What is wrong with an alarm's place.
#[derive(Default)]
struct Faults {
    said: Vec<String>,
    related: Vec<(Place, &'static str)>,
}

/// The heads that no alarm of their air watches well, and for which this alarm is the best there is.
fn heads(findings: &mut Findings<'_>, alarm: &Alarm, unit: &'static Unit, faults: &mut Faults) {
    let job = findings.job;
    let Some(air) = alarm.space.map(|space| job.shared_air(space)) else { return };
    let sleeping = air.iter().filter(|space| is_slept_in(job, **space)).filter_map(|space| job.spaces.get(*space));
    for (head, place) in sleeping.flat_map(|space| &space.heads) {
        let of_air =
            |other: &&Alarm| warns_of_carbon_monoxide(other) && other.space.is_some_and(|space| air.contains(&space));
        let best = job
            .alarms
            .iter()
            .filter(of_air)
            .filter_map(|other| Some((other.header, FromHead::of(other.spot?, *head))))
            .min_by(|one, other| one.1.outside().total_cmp(&other.1.outside()));
        // An alarm nobody placed may be the good one.
        if job.alarms.iter().filter(of_air).any(|other| other.spot.is_none()) {
            continue;
        }
        let Some((_, from)) = best.filter(|(header, _)| *header == alarm.header) else { continue };
        let told = |what| move || Told::new(alarm.header, what, unit, Whose::CommonPractice);
        let words = told("distance of the alarm from a sleeper's head, seen from above");
        let far = !findings.at_most((from.aside - from.doubt).max(0.0), FROM_HEAD, 1e-6, words).keeps();
        let words = told("height of the alarm above or below a sleeper's head");
        let off = !findings.at_most((from.above.abs() - from.doubt).max(0.0), OFF_HEAD_HEIGHT, 1e-6, words).keeps();
        if !far && !off {
            continue;
        }
        if far {
            faults.said.push(format!(
                "{} from a sleeper's head (at most {} is usual)",
                job.length_unit("m").show(from.aside),
                job.length_unit("m").show(FROM_HEAD)
            ));
        }
        if off {
            let side = if from.above > 0.0 { "above" } else { "below" };
            faults.said.push(format!(
                "{} {side} a sleeper's head (at most {} is usual)",
                unit.show(from.above.abs()),
                unit.show(OFF_HEAD_HEIGHT)
            ));
        }
        faults.related.push((*place, "this head"));
    }
}

/// Warm outlets into its air that blow near an alarm.
fn outlets(findings: &mut Findings<'_>, alarm: &Alarm, unit: &'static Unit, faults: &mut Faults) {
    let job = findings.job;
    let Some(spot) = alarm.spot else { return };
    let air = alarm.space.map(|space| job.shared_air(space));
    let body = alarm.space.and_then(|space| job.spaces.get(space)).and_then(|space| space.body.as_deref());
    for run in job.runs.iter().filter(|run| run.kind == Kind::WarmAir && run.body.as_deref() == body) {
        for (step, outlet, place) in run.outlets() {
            let Some(at) = run.walk.after.get(step).copied().flatten() else { continue };
            let elsewhere = outlet.space.zip(air.as_ref()).is_some_and(|(space, air)| !air.contains(&space));
            let distance = at.point.to(spot.point).length().in_metres();
            let told = || {
                let what = format!("distance of the alarm from outlet {}", outlet.name);
                Told::new(alarm.header, what, unit, Whose::CommonPractice)
            };
            if elsewhere || findings.at_least(distance, FROM_OUTLET, 1e-6, told).keeps() {
                continue;
            }
            faults.said.push(format!(
                "{} from outlet `{}` (at least {} is usual)",
                unit.show(distance),
                outlet.name,
                job.length_unit("m").show(FROM_OUTLET)
            ));
            faults.related.push((place, "this outlet"));
        }
    }
}

pub(super) static CARBON_MONOXIDE_ALARM_BADLY_PLACED: Rule = Rule {
    name: "carbon-monoxide-alarm-badly-placed",
    family: Family::Law,
    severity: Severity::Warning,
    title: "a carbon monoxide alarm in a bad place",
    source: "common practice, no source: within 3 m of each sleeper's head seen from above, no more than 500 mm above or \
             below it, 1 m from warm outlets, nothing in front of it; EN 50292 speaks of the breathing zone",
    explanation: "Carbon monoxide is about as heavy as air and goes where the air goes. Behind a curtain, in the stream \
                  of an outlet or up in a corner, an alarm does not measure the air that the sleeper breathes. It sounds \
                  too late or never.",
    mend: "Hang it at the height of the sleepers' heads, on a free wall, away from the outlets.",
    bad: sleeping_job!(
        "  in            cabin\n  behind        curtain\n  at            back 3300 mm, left 800 mm, up 1200 mm"
    ),
    good: sleeping_job!("  in            cabin\n  at            back 3300 mm, left 800 mm, up 1200 mm"),
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Space, &[&[Need::HeadsAt, Need::AlarmIn, Need::JoinedTo]]).only(when::slept_in),
        Ask::each(Kind::Alarm, &[&[Need::AlarmIn, Need::AlarmBehind, Need::JoinedTo]]),
        Ask::each(Kind::Alarm, &[&[Need::AlarmAt]]).only(when::heads_placed),
        Ask::each(Kind::Alarm, &[groups::PORT, groups::BRANCH]).only(when::placed),
    ],
    find: |findings| {
        let job = findings.job;
        if !has_heater(job) {
            return;
        }
        let unit = job.length_unit("mm");
        for alarm in job.alarms.iter().filter(|alarm| warns_of_carbon_monoxide(alarm)) {
            let mut faults = Faults::default();
            if let Some(behind) = alarm.behind.fact() {
                faults.said.push(format!("behind `{}`", behind.value));
                faults.related.push((behind.written, "this is in front of it"));
            }
            heads(findings, alarm, unit, &mut faults);
            outlets(findings, alarm, unit, &mut faults);
            if faults.said.is_empty() {
                continue;
            }
            let mut finding = findings
                .at(alarm.header, format!("alarm `{}` hangs {}", alarm.name, faults.said.join("; ")))
                .label("here it does not measure the air that sleepers breathe")
                .why("carbon monoxide goes where the air goes; it gets here late or thinned out")
                .limit(
                    format!(
                        "{} from each head seen from above, {} above or below it, {} from warm outlets, nothing in front of it",
                        job.length_unit("m").show(FROM_HEAD),
                        unit.show(OFF_HEAD_HEIGHT),
                        job.length_unit("m").show(FROM_OUTLET)
                    ),
                    Whose::CommonPractice,
                )
                .help("hang it at the height of the sleepers' heads, on a free wall, away from the outlets");
            for (place, label) in faults.related {
                finding = finding.related(place, label);
            }
            findings.add(finding);
        }
    },
};

pub(super) static CARBON_MONOXIDE_ALARM_CAN_BE_CUT: Rule = Rule {
    name: "carbon-monoxide-alarm-can-be-cut",
    family: Family::Law,
    severity: Severity::Warning,
    title: "a carbon monoxide alarm on a supply that can be switched off",
    source: "common practice, no source; EN 50291-2 covers alarms of either supply",
    explanation: "An alarm on the vehicle's supply is dead when somebody turns the isolator, or when a battery saver \
                  cuts off. Nothing then watches the heater while it cools down, or the exhaust of another vehicle \
                  beside it.",
    mend: "Feed it from the battery side of every switch, or take an alarm with a cell of its own.",
    bad: sleeping_job!(
        "  in            cabin\n  supplied-by   vehicle\n  at            back 3300 mm, left 800 mm, up 1200 mm",
        "\n\nbattery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  cranks        nothing\n  \
         cuts-below    10 V\n  at            back 1200 mm, left 600 mm, up 700 mm"
    ),
    good: sleeping_job!(
        "  in            cabin\n  supplied-by   own-cell\n  at            back 3300 mm, left 800 mm, up 1200 mm",
        "\n\nbattery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  cranks        nothing\n  \
         cuts-below    10 V\n  at            back 1200 mm, left 600 mm, up 700 mm"
    ),
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Alarm, &[&[Need::AlarmSuppliedBy, Need::CableSwitch]])],
    find: |findings| {
        let job = findings.job;
        let switches = job.runs.iter().filter(|run| run.kind == Kind::Cable).flat_map(|run| &run.steps);
        let switched = switches.filter_map(|step| match &step.met {
            Met::Switch(what, _) if *what != "relay" => Some((step.place, format!("this {what}"))),
            _ => None,
        });
        let managed = job.batteries.iter().filter_map(|battery| {
            battery
                .cuts_below
                .fact()
                .map(|cuts| (cuts.written, format!("`{}` below {}", battery.name, cuts.value.show(cuts.value.high))))
        });
        let cuts: Vec<(Place, String)> = switched.chain(managed).collect();
        for alarm in job.alarms.iter().filter(|alarm| warns_of_carbon_monoxide(alarm)) {
            let Some(fed) = alarm.supplied_by.fact().filter(|fed| fed.value == "vehicle" && !cuts.is_empty()) else {
                continue;
            };
            let list: Vec<&str> = cuts.iter().map(|(_, what)| what.as_str()).collect();
            let mut finding = findings
                .at(
                    fed.written,
                    format!("alarm `{}` is on the vehicle's supply, which can be switched off", alarm.name),
                )
                .label("dead when the supply is cut")
                .why(format!("the supply can be cut by {}", list.join(" and ")))
                .limit("no switch between battery and alarm", Whose::CommonPractice)
                .help("feed it from the battery side of every switch, or take an alarm with a cell of its own");
            for (place, what) in &cuts {
                finding = finding.related(*place, format!("{what} can cut it"));
            }
            findings.add(finding);
        }
    },
};

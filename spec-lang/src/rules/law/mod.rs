//! Rules on what law, alarms and sleeping spaces ask: which vehicle falls under what, and what several rules ask of a
//! job. The rules themselves stand in the files below, by body of law.

mod alarms;
mod america;
mod boats;
mod europe;
mod goods;

use super::Rule;
use crate::model::{Job, Space, Start, Tank, Vehicle};
use crate::vocabulary::Kind;

pub(super) static RULES: &[&Rule] = &[
    &europe::HEATER_OPEN_TO_PASSENGERS,
    &europe::FILLER_INSIDE,
    &europe::NOTICES_NOT_STATED,
    &europe::RETURN_AIR_FROM_PLANT,
    &europe::COOL_DOWN_NOT_ON_SHEET,
    &goods::GOODS_RULES_NOT_NAMED,
    &goods::GOODS_HEATER_STARTS_BY_ITSELF,
    &goods::GOODS_PETROL_FILLER_OPEN,
    &goods::GOODS_RUN_ON_TOO_LONG,
    &goods::GOODS_HEATER_WITH_LOAD,
    &goods::GOODS_HEATER_WHILE_LOADING,
    &america::TANK_BEFORE_FRONT_AXLE,
    &america::TANK_ABOVE_PASSENGER_FLOOR,
    &america::FUEL_FED_BY_GRAVITY,
    &america::FUEL_LINE_BELOW_TANK,
    &boats::PETROL_HEATER_IN_BOAT,
    &boats::HEATER_TANK_BESIDE_HEATER,
    &boats::EXHAUST_NEAR_WATERLINE,
    &alarms::CARBON_MONOXIDE_ALARM_NEXT_DOOR,
    &alarms::CARBON_MONOXIDE_ALARM_BADLY_PLACED,
    &alarms::CARBON_MONOXIDE_ALARM_CAN_BE_CUT,
];

/// The vehicle of a job; `None` in a workshop file.
fn vehicle(job: &Job) -> Option<&Vehicle> {
    job.vehicle.as_ref().filter(|_| job.header.is_some()).map(|(vehicle, _)| vehicle)
}

/// Whether the job's vehicle falls under a body of rules.
fn under(job: &Job, rules: &str) -> bool {
    vehicle(job).is_some_and(|vehicle| vehicle.rules.contains(&rules))
}

/// Whether UN R122's clauses on fitting speak to the vehicle: trailers burning liquid fuel count as complying (5.3.1.2,
/// from memory).
fn under_r122(job: &Job) -> bool {
    under(job, "un-r122") && vehicle(job).is_some_and(|vehicle| vehicle.kind.get() != Some(&"trailer"))
}

/// The designation of a vehicle for dangerous goods.
fn goods(job: &Job) -> Option<&'static str> {
    vehicle(job).and_then(Vehicle::carries)
}

/// Whether people are known to be in a space.
fn holds_people(space: &Space) -> bool {
    matches!(space.usage.get(), Some(&("seated" | "sleeping" | "driving" | "working")))
}

/// The tanks that heaters draw from, by number, each once.
fn tanks_drawn_from(job: &Job) -> Vec<usize> {
    let mut tanks = Vec::new();
    for run in job.runs.iter().filter(|run| run.kind == Kind::FuelLine && run.heater.is_some()) {
        if let Start::Tank(tank) = run.start
            && !tanks.contains(&tank)
        {
            tanks.push(tank);
        }
    }
    tanks
}

/// The tank that a heater draws from.
fn tank_of(job: &Job, heater: usize) -> Option<(usize, &Tank)> {
    let line = job.runs_of(heater, Kind::FuelLine).next()?;
    let Start::Tank(tank) = line.start else { return None };
    Some((tank, job.tanks.get(tank)?))
}

#[cfg(test)]
mod tests {
    use crate::bench::judge_text;
    use crate::rules::{Family, compose};

    /// What the rules on law and fitting say of an example: findings as `severity rule`, unjudged as `not judged rule`.
    fn said_of(example: &str) -> Vec<String> {
        let analysis = judge_text(&compose(example));
        let ours = |family: Family| matches!(family, Family::Law | Family::Fitting);
        let found = analysis.findings.iter().filter(|finding| ours(finding.rule.family));
        let mut said: Vec<String> =
            found.map(|finding| format!("{} {}", finding.severity.word(), finding.rule.name)).collect();
        // Facts that are missing are the law's matter (`tests/tests/silence.rs`): here, what a rule itself cannot judge.
        let unjudged = analysis.not_judged.iter().filter(|lack| lack.missing.is_none() && ours(lack.rule.family));
        said.extend(unjudged.map(|lack| format!("not judged {}", lack.rule.name)));
        said
    }

    fn van(lines: &str) -> String {
        format!(
            "vehicle bench-van\n  supply 12 V\n  floor-height 600 mm\n  at forward 850 mm, left 1000 mm, up 200 mm\n  \
             spans back 5400 mm, right 2000 mm, up 2300 mm\n{lines}"
        )
    }

    fn heater(lines: &str) -> String {
        format!(
            "heater reader\n  datasheet air-2\n  in cabin\n  heats cabin\n  at back 1900 mm, right 310 mm, up 670 mm\n  \
             warm-end forward\n{lines}"
        )
    }

    fn tank(lines: &str) -> String {
        format!("tank main\n  holds 60 L\n  reserve 10 L\n  at back 3200 mm, left 450 mm, up 250 mm\n{lines}")
    }

    const SLEEPING: &str = "space cabin\n  use sleeping\n  wanted 18 °C\n  volume 7.5 m³\n  \
                            heads-at back 3600 mm, left 500 mm, up 1100 mm\n";

    #[test]
    fn each_cause_is_said_once_and_nothing_without_one() {
        let alarm =
            |name: &str, lines: &str| format!("\n\nalarm {name}\n  warns-of carbon-monoxide\n  in cabin\n{lines}");
        let cases: &[(&str, String, &[&str])] = &[
            ("the bench job itself", String::new(), &[]),
            ("a trailer counts as complying", van("  type trailer\n  rules un-r122"), &[]),
            ("a van is asked for three notices at once", van("  type van\n  rules un-r122"), &["warning notices-not-stated"]),
            ("a thermostat minds the heater", van("  type van\n  rules us-49cfr393"), &[]),
            (
                "a small bus by its seats, whatever its type",
                van("  type van\n  seats 17\n  rules un-r122"),
                &["warning notices-not-stated", "warning heater-open-to-passengers"],
            ),
            (
                "petrol filled inside is an error, diesel a warning",
                tank("  fuel petrol\n  filler inside"),
                &["error filler-inside"],
            ),
            ("diesel filled inside", tank("  fuel diesel winter-1\n  filler inside"), &["warning filler-inside"]),
            (
                "hand and a remote control",
                van("  type truck\n  rules adr\n  goods at") + "\n\n" + &heater("  starts-by hand\n  starts-by remote"),
                &["error goods-heater-starts-by-itself"],
            ),
            ("any vehicle may start by a timer", heater("  starts-by timer"), &[]),
            (
                "petrol behind a flame trap",
                van("  type truck\n  rules adr\n  goods at")
                    + "\n\n"
                    + &heater("  starts-by hand")
                    + "\n\n"
                    + &tank("  fuel petrol\n  filler outside\n  filler flame-trap"),
                &[],
            ),
            (
                "the axle is elsewhere where the axes meet elsewhere",
                van("  type van\n  rules us-49cfr393\n  origin \"rear bumper\"")
                    + "\n\ntank main\n  fuel diesel winter-1\n  holds 60 L\n  reserve 10 L\n  at forward 100 mm, left 450 mm, up 250 mm",
                &[],
            ),
            ("an alarm that hangs well", format!("{SLEEPING}{}", alarm("co", "  at back 3300 mm, left 800 mm, up 1200 mm")), &[]),
            (
                "an alarm under the roof",
                format!("{SLEEPING}{}", alarm("co", "  at back 3300 mm, left 800 mm, up 2200 mm")),
                &["warning carbon-monoxide-alarm-badly-placed"],
            ),
            (
                "one alarm hangs well, so another may hang where it likes",
                format!(
                    "{SLEEPING}{}{}",
                    alarm("co", "  at back 3300 mm, left 800 mm, up 1200 mm"),
                    alarm("roof", "  at back 3300 mm, left 800 mm, up 2200 mm")
                ),
                &[],
            ),
            (
                "an alarm that nobody placed may be the good one",
                format!("{SLEEPING}{}{}", alarm("co", ""), alarm("roof", "  at back 3300 mm, left 800 mm, up 2200 mm")),
                &[],
            ),
            (
                "an alarm beside the outlet, whoever sleeps where",
                format!("space cabin\n  use seated\n{}", alarm("co", "  at back 900 mm, right 310 mm, up 1400 mm")),
                &["warning carbon-monoxide-alarm-badly-placed"],
            ),
            ("an alarm with its supply cut by nothing", format!("{SLEEPING}{}", alarm("co", "  supplied-by vehicle")), &[]),
            ("a heater that stands outside passes no floor of people", {
                let pipe = "exhaust of reader\n  pipe steel, 24 mm bore, 27 mm outside\n  passage deck, hole 30 mm\n  \
                            down 140 mm\n  right 690 mm, down 30 mm\n  ends facing right";
                heater("").replace("in cabin\n  heats", "in outside\n  heats") + "\n\n" + pipe
            }, &[]),
            (
                "a heater over its own open hole",
                heater("  passage floor, hole 90 mm")
                    + "\n\nexhaust of reader\n  pipe steel, 24 mm bore, 27 mm outside\n  down 140 mm\n  right 690 mm, down 30 mm\n  \
                       ends facing right",
                &["error exhaust-passage-unsealed"],
            ),
            (
                "two inner spaces part at a bulkhead: no hole to the outside",
                "warm-air main of reader\n  duct air-90\n  forward 900 mm\n  passage bulkhead, hole 95 mm\n  up 200 mm\n  \
                 outlet bench, facing left, in cabin"
                    .to_string(),
                &[],
            ),
            (
                "past its flange an exhaust wants air round it",
                "exhaust of reader\n  pipe steel, 24 mm bore, 27 mm outside\n  passage floor, hole 30 mm, sealed\n  down 140 mm\n  \
                 right 640 mm, down 30 mm\n  passage sill, hole 40 mm, sealed\n  right 50 mm\n  ends facing right"
                    .to_string(),
                &["warning passage-too-narrow"],
            ),
            (
                "a sensor too low is advice",
                heater("  sensor in cabin\n  sensor-at back 3500 mm, right 850 mm, up 700 mm"),
                &["advice sensor-badly-placed"],
            ),
            (
                "a sensor in a space that is not heated",
                heater("  sensor in store") + "\n\nspace store\n  use load",
                &["warning sensor-badly-placed"],
            ),
        ];
        let mut wrong = Vec::new();
        for (what, example, expected) in cases {
            let said = said_of(example);
            if said != *expected {
                wrong.push(format!("{what}: {said:?} in place of {expected:?}"));
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    /// A clause known from memory never makes an error, and its limit says so.
    #[test]
    fn what_is_from_memory_is_a_warning_that_says_so() {
        for rule in crate::rules::all().filter(|rule| rule.family == Family::Law) {
            for finding in judge_text(&compose(rule.bad)).standing() {
                let Some(limit) = &finding.limit else { continue };
                let whose = limit.whose.to_string();
                if whose.contains("from memory") {
                    assert!(whose.ends_with("check the text"), "{}: {whose}", finding.rule.name);
                    assert!(finding.severity < crate::finding::Severity::Error, "{}", finding.rule.name);
                }
            }
        }
    }
}

//! Rules of 49 CFR 393 for commercial vehicles in the United States. Every clause here is from memory: each finding is a
//! warning that says so.

use super::{tank_of, tanks_drawn_from, under, vehicle};
use crate::asks::{Ask, Need, when};
use crate::finding::{Severity, Whose};
use crate::model::{Job, Met, Run, unit_or};
use crate::rules::About;
use crate::rules::Cause;
use crate::rules::{Family, Guards, Rule, Told};
use crate::units::Dimension;
use crate::vocabulary::Kind;

/// How far below its tank's floor a fuel line may lie: 2 in. 49 CFR 393.65, from memory.
const BELOW_TANK: f64 = 0.0508;
/// A bus of more seats than this falls under 49 CFR 393.77(b)(11), from memory.
const SEATS: u32 = 15;

/// The bench job under American rules, with its tank to choose.
macro_rules! american_job {
    ($kind:literal, $seats:literal, $tank:literal $(, $rest:expr_2021)*) => {
        concat!(
            "vehicle bench-van\n  type          ", $kind, "\n  supply        12 V\n  rules         us-49cfr393\n", $seats,
            "  floor-height  600 mm\n  at            forward 850 mm, left 1000 mm, up 200 mm\n  \
             spans         back 5400 mm, right 2000 mm, up 2300 mm\n\n\
             heater reader\n  datasheet     air-2\n  in            cabin\n  heats         cabin\n  \
             at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n  notice        tell-tale\n\n\
             tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       10 L\n", $tank
            $(, $rest)*
        )
    };
}

pub(super) static TANK_BEFORE_FRONT_AXLE: Rule = Rule {
    name: "tank-before-front-axle",
    family: Family::Law,
    severity: Severity::Warning,
    title: "a fuel tank ahead of the front axle",
    source: "49 CFR 393.65 (from memory: check the text): no fuel tank forward of the front axle of a power unit",
    explanation: "In a crash, what is ahead of the front axle is crushed first. Fuel belongs where a crash does not \
                  reach it first.",
    mend: "Put the tank behind the front axle.",
    bad: american_job!(
        "van",
        "",
        "  at            forward 300 mm, left 450 mm, up 250 mm",
        "\n\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  run           1600 mm, up 300 mm\n  \
         pump          outlet up 20°\n  run           1500 mm, up 60 mm\n  ends          at reader"
    ),
    good: american_job!(
        "van",
        "",
        "  at            back 3200 mm, left 450 mm, up 250 mm\n  spans         back 400 mm, right 400 mm, up 250 mm"
    ),
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::TankAt, Need::VehicleType, Need::FuelFrom, Need::TankSpans]])
        .only(when::r122_or_america)],
    find: |findings| {
        let job = findings.job;
        // Only where nobody said otherwise the axes meet below the front axle.
        let Some(vehicle) = vehicle(job).filter(|_| under(job, "us-49cfr393")) else { return };
        if vehicle.origin.place().is_some() || vehicle.kind.get() == Some(&"trailer") {
            return;
        }
        for tank in tanks_drawn_from(job).into_iter().filter_map(|tank| job.tanks.get(tank)) {
            let Some((area, reach)) = tank.area.filter(|_| tank.body.is_none()) else { continue };
            let before = area.high().x;
            let unit = job.length_unit("mm");
            let whose = Whose::Standard("49 CFR 393.65, from memory: check the text");
            let told = || {
                Told::new(tank.header, "how far the tank reaches ahead of the front axle", unit, whose.clone())
                    .against(1.0)
            };
            if findings.at_most(before - reach, 0.0, 1e-6, told).keeps() {
                continue;
            }
            let finding = findings
                .at(tank.header, format!("tank `{}` reaches {} ahead of the front axle", tank.name, unit.show(before)))
                .label("crushed first in a crash")
                .why("the job states no `origin`, so places count from below the middle of the front axle")
                .limit("no part ahead of the front axle", whose)
                .help("put it behind the front axle; if places count from elsewhere, say so with `origin`");
            findings.add(finding);
        }
    },
};

pub(super) static TANK_ABOVE_PASSENGER_FLOOR: Rule = Rule {
    name: "tank-above-passenger-floor",
    family: Family::Law,
    severity: Severity::Warning,
    title: "a heater's tank above the passengers' floor in a bus",
    source: "49 CFR 393.77(b)(11) (from memory: check the text): in a bus of more than 15 seats the heater's tank stands outside \
             the passenger space and lower than it",
    explanation: "Fuel runs down. If a tank above the passengers' floor leaks or is torn open, the fuel runs in on them.",
    mend: "Put the tank below the floor, outside the passengers' space.",
    bad: american_job!(
        "bus",
        "  seats         23\n",
        "  feeds         engine\n  at            back 3200 mm, left 450 mm, up 450 mm\n  spans         back 500 mm, right 400 mm, up 300 mm",
        "\n\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  run           1600 mm, up 60 mm\n  \
         pump          outlet up 20°\n  run           1500 mm, up 60 mm\n  ends          at reader"
    ),
    good: american_job!(
        "van",
        "",
        "  at            back 3200 mm, left 450 mm, up 250 mm\n  spans         back 400 mm, right 400 mm, up 250 mm"
    ),
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(
        Kind::Heater,
        &[&[Need::VehicleFloor, Need::TankAt, Need::FuelFrom, Need::VehicleSeats, Need::TankSpans]],
    )
    .only(when::bus_in_america)],
    find: |findings| {
        let job = findings.job;
        let Some(vehicle) = vehicle(job).filter(|_| under(job, "us-49cfr393")) else { return };
        let Some(seats) = vehicle.seats.fact().filter(|seats| seats.value > SEATS) else { return };
        let Some(floor) = vehicle.floor_level().filter(|_| vehicle.kind.get() == Some(&"bus")) else { return };
        for tank in tanks_drawn_from(job).into_iter().filter_map(|tank| job.tanks.get(tank)) {
            let Some((area, reach)) = tank.area.filter(|_| tank.body.is_none()) else { continue };
            let above = area.high().z - floor.value.nominal;
            let unit = floor.value.unit;
            let whose = Whose::Standard("49 CFR 393.77(b)(11), from memory: check the text");
            let told = || {
                Told::new(tank.header, "how far the tank reaches above the passengers' floor", unit, whose.clone())
                    .against(1.0)
            };
            if findings.at_most(above - reach - floor.value.half_width(), 0.0, 1e-6, told).keeps() {
                continue;
            }
            let finding = findings
                .at(
                    tank.header,
                    format!(
                        "tank `{}` reaches {} above the floor of a bus of {} seats",
                        tank.name,
                        unit.show(above),
                        seats.value
                    ),
                )
                .label(format!(
                    "its top is at {}, the floor at {}",
                    unit.show(area.high().z),
                    unit.show(floor.value.nominal)
                ))
                .why("fuel runs down: if a tank above the floor leaks, the fuel runs in on the passengers")
                .limit(format!("lower than the passengers' space in a bus of more than {SEATS} seats"), whose)
                .help("put it below the floor, outside the passengers' space")
                .related(floor.written, "the floor")
                .related(seats.written, "the seats");
            findings.add(finding);
        }
    },
};

/// The height of a fuel line's lowest place, and the doubt of it.
fn lowest(run: &Run) -> Option<(f64, f64)> {
    let known = run.walk.stretches.iter().map(|stretch| stretch.leg);
    known
        .map(|leg| leg.map(|(segment, reach)| (segment.from.z.min(segment.to.z), reach)))
        .collect::<Option<Vec<_>>>()?
        .into_iter()
        .min_by(|one, other| one.0.total_cmp(&other.0))
}

fn lines(job: &Job) -> impl Iterator<Item = (usize, &Run)> {
    let judged = under(job, "us-49cfr393");
    let lines = job.runs.iter().filter(move |run| judged && run.kind == Kind::FuelLine);
    lines.filter_map(|run| run.heater.map(|heater| (heater, run)))
}

pub(super) static FUEL_FED_BY_GRAVITY: Rule = Rule {
    name: "fuel-fed-by-gravity",
    family: Family::Law,
    severity: Severity::Warning,
    title: "fuel that runs to its heater by itself",
    source: "49 CFR 393.77(b)(12) (from memory: check the text): no feed by gravity or siphon",
    explanation: "A tank above the heater empties itself into a burner that has gone out, or through a broken line onto \
                  the floor. A dosing pump that shuts when it stands still holds the fuel back.",
    mend: "Feed by a dosing pump, or put the tank lower than the heater.",
    bad: r#"
vehicle bench-van
  type          van
  supply        12 V
  rules         us-49cfr393
  floor-height  600 mm
  at            forward 850 mm, left 1000 mm, up 200 mm
  spans         back 5400 mm, right 2000 mm, up 2300 mm

datasheet heater pot-2                          # invented
  warms         air
  burns         diesel
  supply        12 V

heater reader
  datasheet     pot-2
  in            cabin
  heats         cabin
  at            back 1900 mm, right 310 mm, up 670 mm
  warm-end      forward
  notice        tell-tale

tank main
  fuel          diesel winter-1
  holds         60 L
  reserve       10 L
  at            back 3200 mm, left 450 mm, up 1000 mm

fuel-line of reader
  from          main by plug
  line          2.2 mm
  valve
  run           2600 mm, down 390 mm
  ends          at reader
"#,
    good: american_job!(
        "van",
        "",
        "  at            back 3200 mm, left 450 mm, up 250 mm\n  spans         back 400 mm, right 400 mm, up 250 mm"
    ),
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[Cause::on_block("pump-missing")],
    about: About::Written,
    asks: &[
        Ask::each(
            Kind::Heater,
            &[&[Need::FuelFrom, Need::FuelWay, Need::FuelRise, Need::FuelEnds, Need::VehicleRules]],
        ),
        Ask::each(Kind::Heater, &[&[Need::TankAt, Need::HeaterAt, Need::TankSpans]]).only(when::placed),
    ],
    find: |findings| {
        let job = findings.job;
        for (number, run) in lines(job) {
            let pumped = run.steps.iter().any(|step| matches!(step.met, Met::Pump(_) | Met::Gap));
            let Some(heater) = job.heaters.get(number).filter(|_| !pumped && run.end.is_some()) else { continue };
            let (Some((_, tank)), Some(spot)) = (tank_of(job, number), heater.spot) else { continue };
            let Some((area, reach)) = tank.area.filter(|_| tank.body == heater.body) else { continue };
            let above = area.low().z - spot.point.z;
            let unit = unit_or(run.walk.unit, "mm");
            let whose = Whose::Standard("49 CFR 393.77(b)(12), from memory: check the text");
            let told = || {
                Told::new(run.header, "how far an unpumped tank stands above the heater", unit, whose.clone())
                    .against(1.0)
            };
            if findings.at_most(above - reach - spot.doubt.z, 0.0, 1e-6, told).keeps() {
                continue;
            }
            let finding = findings
                .at(
                    run.header,
                    format!(
                        "`{}` has no pump and falls {} from tank `{}`",
                        job.reads(run),
                        unit.show(above),
                        tank.name
                    ),
                )
                .label("fuel runs to the heater by itself")
                .why("through a burner that has gone out, or a broken line, the tank runs empty")
                .limit("no feed by gravity or siphon", whose)
                .help("feed by a dosing pump, or put the tank lower than the heater")
                .related(tank.header, "the tank")
                .related(heater.header, "the heater");
            findings.add(finding);
        }
    },
};

pub(super) static FUEL_LINE_BELOW_TANK: Rule = Rule {
    name: "fuel-line-below-tank",
    family: Family::Law,
    severity: Severity::Warning,
    title: "a fuel line that hangs below its tank",
    source: "49 CFR 393.65 (from memory: check the text): not more than 2 in (51 mm) below the tank's lowest part, unless in a \
             protective housing",
    explanation: "A stone, a kerb or a jack first hits what hangs lowest. A fuel line torn off below the tank empties \
                  it. A line whose lowest place is above the vehicle's floor does not hang down, and is not judged.",
    mend: "Lead the line higher. The language has no word for a protective housing: where one is fitted, the warning stays.",
    bad: american_job!(
        "van",
        "",
        "  at            back 3200 mm, left 450 mm, up 250 mm\n  spans         back 400 mm, right 400 mm, up 250 mm",
        "\n\nfuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  down          180 mm\n  \
         forward       500 mm\n  up            480 mm\n  right         400 mm\n  pump          outlet up 20°\n  \
         forward       680 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader"
    ),
    good: american_job!(
        "van",
        "",
        "  at            back 3200 mm, left 450 mm, up 250 mm\n  spans         back 400 mm, right 400 mm, up 250 mm"
    ),
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[Cause::on_block("fuel-fed-by-gravity")],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[&[Need::FuelFrom, Need::FuelWay, Need::FuelRise]]).only(when::america),
        Ask::each(Kind::Heater, &[&[Need::TankAt, Need::TankSpans]]).only(when::placed_america),
    ],
    find: |findings| {
        let job = findings.job;
        let floor = job.floor_level().map(|floor| floor.value);
        for (number, run) in lines(job) {
            let (Some((_, tank)), Some((low, doubt))) = (tank_of(job, number), lowest(run)) else { continue };
            let Some((area, reach)) = tank.area.filter(|(area, _)| tank.body == run.body && area.has_room()) else {
                continue;
            };
            let below = area.low().z - low;
            let over_floor = floor.filter(|_| run.body.is_none()).is_some_and(|floor| low - doubt >= floor.high - 1e-3);
            let unit = unit_or(run.walk.unit, "mm");
            let whose = Whose::Standard("49 CFR 393.65, from memory: check the text");
            let told =
                || Told::new(run.header, "how far the line hangs below the tank", unit, whose.clone()).against(1.0);
            if over_floor || findings.at_most(below - reach - doubt, BELOW_TANK, 1e-6, told).keeps() {
                continue;
            }
            let finding = findings
                .at(
                    run.header,
                    format!(
                        "`{}` hangs {} below tank `{}`; at most {} is allowed",
                        job.reads(run),
                        unit.show(below),
                        tank.name,
                        unit.show(BELOW_TANK)
                    ),
                )
                .label(format!("its lowest place is at {}", unit.show(low)))
                .why("a stone, a kerb or a jack first hits what hangs lowest")
                .limit(format!("{} below the tank, unless in a housing", unit.show(BELOW_TANK)), whose)
                .help("lead the line higher")
                .related(tank.header, "the tank");
            findings.add(finding);
        }
    },
};

//! Rules on the exhaust and the combustion air: where gas may end, what it must stay away from, what a hot pipe may not
//! touch. Distances are measured by the figures; what they ought to be is said here.

use super::engine::Findings;
use super::margin::Told;
use super::{Family, Guards, Rule, quoted};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::clearances::{
    Beside, Clearance, Target, beyond_edge, ends_in, inlet_of, open_end, outline, place_reads, port_is_known,
    target_header, target_reads, things_to_pass, way_is_known, within_space,
};
use crate::finding::{Severity, Whose};
use crate::model::{Draws, End, Interval, Job, Met, Opening, Run, Space, unit_or};
use crate::rules::About;
use crate::rules::Cause;
use crate::source::Place;
use crate::units::{Dimension, Unit};
use crate::vocabulary::{Direction, Kind};
use std::collections::HashMap;

pub(super) static RULES: &[&Rule] = &[
    &EXHAUST_MISSING,
    &EXHAUST_ENDS_INSIDE,
    &EXHAUST_ENDS_UNDER_VEHICLE,
    &EXHAUST_BELOW_OPENING_WINDOW,
    &EXHAUST_JOINT_INSIDE,
    &EXHAUST_RUNS_INSIDE,
    &EXHAUST_NEAR_COMBUSTION_AIR,
    &EXHAUST_NEAR_OPENING,
    &EXHAUST_NEAR_RETURN_AIR,
    &EXHAUST_NEAR_FUEL_LINE,
    &EXHAUST_NEAR_BRAKE_LINE,
    &EXHAUST_NEAR_OTHER,
    &COMBUSTION_AIR_MISSING,
    &COMBUSTION_AIR_FROM_INSIDE,
    &CARBON_MONOXIDE_ALARM_MISSING,
];

/// An exhaust that faces outwards may end this far inside the edge: a pipe cut flush with the sill. The project's own.
const FLUSH: f64 = 0.02;
/// How far to the side of a window, and how far below it, gas still rises into it. The project's own; UN R122 5.3.4.1
/// (from memory) forbids it without a distance.
const BESIDE_WINDOW: f64 = 0.3;
const BELOW_WINDOW: f64 = 1.5;
/// Least distance of an open exhaust end from openings and inlets, and the bare minimum. Common practice, no source.
const APART: f64 = 0.5;
const BARELY_APART: f64 = 0.3;
/// Least distance of a bare pipe, and of a lagged or shielded one, from what burns or melts. Common practice, no source.
const BARE: f64 = 0.1;
const COVERED: f64 = 0.05;
/// Distances that differ by less than this are the same distance.
const SAME: f64 = 0.0005;

static EXHAUST_MISSING: Rule = Rule {
    name: "exhaust-missing",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "a heater without an exhaust",
    source: "life safety, trialfit's own rule; 49 CFR 393.77(b)(9) (from memory) asks that combustion products are led outside",
    explanation: "A heater that burns fuel makes gas that kills. The job has to say where that gas goes. Until it does, \
                  nothing about the exhaust can be judged, and nobody should build from the job.",
    mend: "Write an `exhaust of` block and walk the pipe from the heater to its outlet outside.",
    bad: "leave out exhaust of reader",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Absent,
    asks: &[Ask::each(Kind::Heater, &[&[Need::Exhaust]])],
    find: exhaust_missing,
};

static EXHAUST_ENDS_INSIDE: Rule = Rule {
    name: "exhaust-ends-inside",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "an exhaust that ends inside a space",
    source: "life safety, trialfit's own rule; UN R122 5.3.4.1 and 49 CFR 393.77(b)(9) (from memory)",
    explanation: "Exhaust gas carries carbon monoxide, which nobody can smell. In a closed space it can kill within \
                  minutes. A load space is no exception, since its air leaks into the cab.",
    mend: "Lead the pipe outside, past the edge of the body. End it facing away from the vehicle.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  down          20 mm\n  right         400 mm\n  \
          ends          facing right, in cabin",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::EXHAUST_END]),
        Ask::each(Kind::Space, &[&[Need::SpaceAt, Need::SpaceSpans]]).only(when::placed),
    ],
    find: exhaust_ends_inside,
};

static EXHAUST_ENDS_UNDER_VEHICLE: Rule = Rule {
    name: "exhaust-ends-under-vehicle",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "an exhaust that ends under the vehicle",
    source: "life safety, trialfit's own rule: the outlet lies past the edge of the vehicle, or at most 20 mm inside it \
             and faces out",
    explanation: "When the vehicle stands, gas let out under its floor collects there. It comes in through holes in the \
                  floor, door seals and air intakes. Snow or a kerb can close its way out.",
    mend: "Lead the pipe to the side until its outlet is past the edge of the body and faces away from it.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
          down          140 mm\n  right         400 mm, down 30 mm\n  ends          facing right",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::EXHAUST_END]),
        Ask::each(Kind::Heater, &[&[Need::VehicleAt, Need::VehicleSpans, Need::HeaterAt]]).only(when::placed),
    ],
    find: exhaust_ends_under_vehicle,
};

static EXHAUST_BELOW_OPENING_WINDOW: Rule = Rule {
    name: "exhaust-below-opening-window",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "an exhaust that ends below a window",
    source: "life safety, trialfit's own rule: not below a window, ventilator or hatch within 300 mm to its sides and \
             1.5 m down; UN R122 5.3.4.1 (from memory) says that gas must not enter through opening windows, and names \
             no distance",
    explanation: "Warm gas rises along the side of the vehicle. If a window above is open, the gas reaches the people \
                  inside, even where the straight distance is long enough.",
    mend: "End the exhaust on the other side of the vehicle, or well to the side of the window.",
    bad: "opening window-right\n  kind          window\n  into          cabin\n  at            back 1600 mm, right 1000 mm, up 1300 mm\n  \
          spans         back 700 mm, up 500 mm",
    good: "opening window-right\n  kind          window\n  into          cabin\n  at            back 2600 mm, right 1000 mm, up 1300 mm\n  \
           spans         back 700 mm, up 500 mm",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::EXHAUST_END, &[Need::LookedForOpenings]]),
        Ask::each(Kind::Heater, &[&[Need::HeaterAt, Need::OpeningAt, Need::OpeningSpans]]).only(when::placed),
    ],
    find: exhaust_below_opening_window,
};

static EXHAUST_JOINT_INSIDE: Rule = Rule {
    name: "exhaust-joint-inside",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "a joint, silencer or drain of the exhaust inside a space",
    source: "life safety, trialfit's own rule",
    explanation: "Clamps loosen with heat and shaking. Silencers rust through. A drain hole is always open. Outside, a \
                  leak only makes noise; inside, it lets carbon monoxide in. Inside a space the pipe must be one piece.",
    mend: "Move the joint, silencer or drain hole outside: after the `passage` through floor or wall. For the joint at the \
           heater itself, set the heater's foot on the floor, so that its exhaust port comes out below the floor.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  clamp         at-heater\n  \
          passage       floor, hole 30 mm, sealed\n  down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    good: "heater reader\n  datasheet     air-2\n  in            cabin\n  heats         cabin\n  \
           at            back 1900 mm, right 310 mm, up 650 mm\n  warm-end      forward\n\n\
           exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           clamp         at-heater\n  down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ExhaustPassage]]).only(when::stands_inside)],
    find: exhaust_joint_inside,
};

/// How much bare exhaust pipe may lie in a space for people: from the heater's port to a passage beside it. Common practice,
/// no source.
const INSIDE: f64 = 0.3;

static EXHAUST_RUNS_INSIDE: Rule = Rule {
    name: "exhaust-runs-inside",
    family: Family::Exhaust,
    severity: Severity::Warning,
    title: "a bare exhaust pipe that runs through a space for people",
    source: "common practice, no source: at most 300 mm from the heater to the passage",
    explanation: "The pipe is hot enough to burn skin and to set fire to what lies against it. A crack in it lets carbon monoxide \
                  into the space. What leaves the space beside the heater can do neither.",
    mend: "Set the heater over its passage, so that the pipe leaves the space at once. Where that cannot be, lag the pipe and keep \
           it in one piece.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  right         600 mm, down 30 mm\n  \
          passage       floor, hole 60 mm, sealed\n  down          140 mm\n  right         90 mm, down 10 mm\n  ends          facing right",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[Cause::on_block("exhaust-ends-inside"), Cause::on_block("exhaust-joint-inside")],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[&[Need::ExhaustPassage, Need::ExhaustWay]]).only(when::stands_inside),
        Ask::each(Kind::Heater, &[groups::PORT, &[Need::SpaceAt, Need::SpaceSpans, Need::SpaceUse]]).only(when::placed),
    ],
    find: exhaust_runs_inside,
};

static EXHAUST_NEAR_COMBUSTION_AIR: Rule = Rule {
    name: "exhaust-near-combustion-air",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "an exhaust that ends near a combustion-air intake",
    source: "the data sheet's `exhaust-clear-of combustion-air`, where it is no less than 300 mm; else common practice, no source: 500 mm, and 300 mm as bare minimum",
    explanation: "A heater that draws in its own exhaust runs short of oxygen. It soots, goes out and makes far more \
                  carbon monoxide. The intake of a second heater suffers in the same way.",
    mend: "Move outlet and intake apart, if you can to different sides of the vehicle.",
    bad: "combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
          right         770 mm\n  ends          facing right",
    good: "combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
           forward       500 mm, down 10 mm\n  ends          facing down",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::EXHAUST_END, groups::INTAKE_END, &[Need::Datasheet]]),
        Ask::each(Kind::Heater, &[&[Need::HeaterAt, Need::WarmEnd, Need::CombustionAirRides, Need::ExhaustRides]])
            .only(when::placed),
    ],
    find: exhaust_near_combustion_air,
};

static EXHAUST_NEAR_OPENING: Rule = Rule {
    name: "exhaust-near-opening",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "an exhaust that ends near an opening",
    source: "the data sheet's `exhaust-clear-of openings`, where it is no less than 300 mm; else common practice, no source: 500 mm, and 300 mm as bare minimum. \
             UN R122 5.3.4.1 (from memory) names no distance",
    explanation: "Gas that comes out beside a door, a window or a vent is drawn in through it. The distance is measured \
                  straight, through whatever lies between, since wind takes gas round corners.",
    mend: "End the exhaust further away, best on a side of the vehicle without openings.",
    bad: "opening rear-side-door\n  kind          door\n  into          cabin\n  at            back 2100 mm, right 1000 mm, up 600 mm\n  \
          spans         back 700 mm, up 1600 mm",
    good: "opening rear-side-door\n  kind          door\n  into          cabin\n  at            back 2900 mm, right 1000 mm, up 600 mm\n  \
           spans         back 700 mm, up 1600 mm",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::EXHAUST_END, &[Need::Datasheet, Need::LookedForOpenings]]),
        Ask::each(
            Kind::Heater,
            &[&[
                Need::HeaterAt,
                Need::OpeningAt,
                Need::OpeningSpans,
                Need::OpeningKind,
                Need::OpeningRides,
                Need::ExhaustRides,
            ]],
        )
        .only(when::placed),
    ],
    find: exhaust_near_opening,
};

static EXHAUST_NEAR_RETURN_AIR: Rule = Rule {
    name: "exhaust-near-return-air",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "an exhaust that ends near the inlet of the return air",
    source: "the data sheet's `exhaust-clear-of return-air`; else, for an inlet outside, common practice, no source: 500 mm, and \
             300 mm as bare minimum. UN R122 5.3.6.1: heating air comes from a clean area",
    explanation: "The fan draws strongly at this inlet and blows the air straight at people. If exhaust gas is near, \
                  they breathe it.",
    mend: "Draw the air from the heated space, or move inlet and exhaust to different sides of the vehicle.",
    bad: "job \"Fresh air for a mild place\"\n  design-cold   5 °C\n\nheater reader\n  datasheet     air-2\n  in            cabin\n  \
          heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n  sensor        in cabin\n\n\
          return-air of reader\n  duct          air-90\n  passage       floor, hole 95 mm, sealed\n  down          250 mm\n  right         700 mm\n  \
          ends          facing right",
    good: "return-air of reader\n  duct          air-90\n  back          500 mm\n  ends          in cabin, facing back",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::EXHAUST_END, &[Need::Datasheet]]),
        Ask::each(Kind::Heater, &[&[Need::ReturnAirDraws]]).only(when::warms_air),
        Ask::each(Kind::Heater, &[&[Need::HeaterAt, Need::ReturnAirRides, Need::ExhaustRides]]).only(when::placed),
    ],
    find: exhaust_near_return_air,
};

static EXHAUST_NEAR_FUEL_LINE: Rule = Rule {
    name: "exhaust-near-fuel-line",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "an exhaust pipe near a fuel line",
    source: "the data sheet's `exhaust-clear-of fuel-line`, where it asks for more; else common practice, no source: 100 mm bare, 50 mm lagged \
             or shielded. The first 150 mm at the heater's own ports are left to its data sheet",
    explanation: "The pipe is hot enough to light fuel. A fuel line beside it softens, leaks and burns. Before that, the \
                  fuel in it boils and the heater stops.",
    mend: "Lead the fuel line or the exhaust another way. A lagged or shielded pipe may pass nearer only where the data sheet \
           states no distance of its own.",
    bad: "keep-clear engine-fuel\n  kind          fuel-line\n  outside       10 mm\n  at            back 1700 mm, right 700 mm, up 480 mm\n  \
          back          500 mm\n  ends          here",
    good: "keep-clear engine-fuel\n  kind          fuel-line\n  outside       10 mm\n  at            back 1700 mm, right 700 mm, up 250 mm\n  \
           back          500 mm\n  ends          here",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(
            Kind::Heater,
            &[
                groups::EXHAUST_END,
                &[Need::FuelFrom, Need::FuelWay, Need::Datasheet, Need::LookedForFuelLines, Need::KeepClearKind],
            ],
        ),
        Ask::each(
            Kind::Heater,
            &[
                groups::KEEP_CLEAR,
                &[Need::HeaterAt, Need::TankAt, Need::KeepClearRides, Need::ExhaustRides, Need::FuelRides],
            ],
        )
        .only(when::placed),
    ],
    find: exhaust_near_fuel_line,
};

static EXHAUST_NEAR_BRAKE_LINE: Rule = Rule {
    name: "exhaust-near-brake-line",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "an exhaust pipe near a brake line",
    source: "the data sheet's `exhaust-clear-of brake-line`, where it asks for more; else common practice, no source: 100 mm bare, 50 mm lagged or shielded",
    explanation: "Heat boils brake fluid and softens air hoses. The brakes then fail on the road, long after the heater \
                  was fitted.",
    mend: "Lead the exhaust another way. A lagged or shielded pipe may pass nearer only where the data sheet states no \
           distance of its own.",
    bad: "keep-clear brake-pipe\n  kind          brake-line\n  outside       6 mm\n  at            back 1000 mm, right 700 mm, up 400 mm\n  \
          back          2500 mm\n  ends          here",
    good: "keep-clear brake-pipe\n  kind          brake-line\n  outside       6 mm\n  at            back 1000 mm, left 700 mm, up 400 mm\n  \
           back          2500 mm\n  ends          here",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(
            Kind::Heater,
            &[groups::EXHAUST_END, &[Need::Datasheet, Need::LookedForBrakeLines, Need::KeepClearKind]],
        ),
        Ask::each(Kind::Heater, &[groups::KEEP_CLEAR, &[Need::HeaterAt, Need::KeepClearRides, Need::ExhaustRides]])
            .only(when::placed),
    ],
    find: exhaust_near_brake_line,
};

static EXHAUST_NEAR_OTHER: Rule = Rule {
    name: "exhaust-near-other",
    family: Family::Exhaust,
    severity: Severity::Warning,
    title: "an exhaust pipe near what burns or melts",
    source: "the data sheet's `exhaust-clear-of` tyre, wiring, plastic or timber, where it asks for more; else common practice, no source: 100 mm bare, \
             50 mm lagged, shielded or with the floor between; for a fuel tank of a vehicle for dangerous goods 2001/56/EC annex IX \
             3.1.1.2: 100 mm, or a heat shield",
    explanation: "Cables, plastic, timber, tyres and air springs char or melt beside the pipe. A fuel tank is worse: too \
                  near a tank is an error.",
    mend: "Lead the exhaust another way. A lagged or shielded pipe may pass nearer only where the data sheet states no \
           distance of its own.",
    bad: "keep-clear sill-board\n  kind          timber\n  at            back 1500 mm, right 800 mm, up 500 mm\n  \
          spans         back 800 mm, right 100 mm, up 30 mm",
    good: "keep-clear sill-board\n  kind          timber\n  at            back 2300 mm, right 800 mm, up 500 mm\n  \
           spans         back 800 mm, right 100 mm, up 30 mm",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(
            Kind::Heater,
            &[
                groups::EXHAUST_END,
                &[Need::CableFrom, Need::Datasheet, Need::LookedForCables, Need::LookedForTanks, Need::KeepClearKind],
            ],
        ),
        Ask::each(
            Kind::Heater,
            &[
                groups::KEEP_CLEAR,
                &[
                    Need::HeaterAt,
                    Need::TankAt,
                    Need::TankSpans,
                    Need::TankRides,
                    Need::CableRides,
                    Need::ExhaustRides,
                    Need::KeepClearRides,
                ],
            ],
        )
        .only(when::placed),
    ],
    find: exhaust_near_other,
};

static COMBUSTION_AIR_MISSING: Rule = Rule {
    name: "combustion-air-missing",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "a heater without combustion air from outside",
    source: "life safety, trialfit's own rule; UN R122 5.3.5 (from memory): combustion air is not drawn from a space \
             where people are",
    explanation: "A heater without this hose burns the air of the space it stands in. It uses up the oxygen there. When \
                  wind blows on the exhaust, gas comes back into the space through the open intake.",
    mend: "Write a `combustion-air of` block and walk the hose from the heater to its intake outside.",
    bad: "leave out combustion-air of reader",
    good: "combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
           forward       500 mm, down 10 mm\n  ends          facing down",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Absent,
    asks: &[Ask::each(Kind::Heater, &[&[Need::CombustionAir]])],
    find: combustion_air_missing,
};

static COMBUSTION_AIR_FROM_INSIDE: Rule = Rule {
    name: "combustion-air-from-inside",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "combustion air drawn from a space",
    source: "life safety, trialfit's own rule; UN R122 5.3.5 (from memory): combustion air is not drawn from a space \
             where people are",
    explanation: "The flame uses up the oxygen that people breathe. When the heater stops, or wind blows on the exhaust, \
                  gas comes back into the space through the open intake.",
    mend: "End the hose outside, away from the exhaust.",
    bad: "combustion-air of reader\n  hose          intake-25\n  up            100 mm\n  back          300 mm\n  ends          facing back, in cabin",
    good: "combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
           forward       500 mm, down 10 mm\n  ends          facing down",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::INTAKE_END]),
        Ask::each(Kind::Space, &[&[Need::SpaceAt, Need::SpaceSpans]]).only(when::placed),
    ],
    find: combustion_air_from_inside,
};

static CARBON_MONOXIDE_ALARM_MISSING: Rule = Rule {
    name: "carbon-monoxide-alarm-missing",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "a sleeping space without a carbon monoxide alarm",
    source: "life safety, trialfit's own rule; alarms for vehicles and craft: EN 50291-2",
    explanation: "Somebody asleep does not notice carbon monoxide. If there is a leak that nobody thought of, only an \
                  alarm wakes the people in the bunk. An alarm replaces none of the other rules.",
    mend: "Fit an alarm to EN 50291-2 near head height, at least 1 m from the warm-air outlets, and write an `alarm` block.",
    bad: "space cabin\n  use           sleeping\n  wanted        18 °C\n  volume        7.5 m³",
    good: "space cabin\n  use           sleeping\n  wanted        18 °C\n  volume        7.5 m³\n\nalarm cabin-co\n  \
           warns-of      carbon-monoxide\n  in            cabin",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Absent,
    asks: &[
        Ask::each(Kind::Space, &[&[Need::SpaceUse, Need::JoinedTo]]),
        Ask::each(Kind::Alarm, &[&[Need::AlarmWarnsOf, Need::AlarmIn]]),
    ],
    find: carbon_monoxide_alarm_missing,
};

/// Runs of a kind with their numbers, where the file is a job at all.
pub(super) fn runs(job: &Job, kind: Kind) -> impl Iterator<Item = (usize, &Run)> {
    let judged = job.header.is_some();
    job.runs.iter().enumerate().filter(move |(_, run)| judged && run.kind == kind)
}

/// Whether people are in a space. What is not stated counts as lived in.
pub(super) fn lived_in(space: &Space) -> bool {
    !matches!(space.usage.get(), Some(&"load") | Some(&"plant"))
}

pub(super) fn unit_of(run: &Run) -> &'static Unit {
    unit_or(run.walk.unit, "mm")
}

pub(super) fn end_place(run: &Run) -> Place {
    run.end.as_ref().map_or(run.header, |end| end.written)
}

/// Heaters that have no run of a kind, where nothing unread may be that run.
fn heaters_without(job: &Job, kind: Kind) -> Vec<usize> {
    let stray = job.runs.iter().any(|run| run.kind == kind && run.heater.is_none());
    if job.header.is_none() || stray || job.hidden.has(kind) {
        return Vec::new();
    }
    (0..job.heaters.len()).filter(|heater| job.runs_of(*heater, kind).next().is_none()).collect()
}

fn exhaust_missing(findings: &mut Findings<'_>) {
    let job = findings.job;
    for number in heaters_without(job, Kind::Exhaust) {
        let Some(heater) = job.heaters.get(number) else { continue };
        let finding = findings
            .at(heater.header, format!("`{}` burns fuel, but the job states no exhaust for it", heater.name))
            .label("no exhaust pipe starts here")
            .why("exhaust gas carries carbon monoxide, and the job does not say where it goes")
            .limit("an exhaust for each heater, ending outside", Whose::LifeSafety)
            .help(format!("write `exhaust of {}` and walk the pipe to its outlet outside", heater.name));
        findings.add(finding);
    }
}

/// The space that the open end of an exhaust lies in: as its author says, or by the space's outline.
pub(super) fn gas_ends_in(job: &Job, run: &Run) -> Option<usize> {
    let by_outline = || open_end(run).and_then(|end| within_space(job, run, end)).map(|(space, _)| space);
    ends_in(run).or_else(by_outline)
}

fn exhaust_ends_inside(findings: &mut Findings<'_>) {
    let job = findings.job;
    for (_, run) in runs(job, Kind::Exhaust) {
        if let Some(space) = gas_ends_in(job, run).and_then(|space| job.spaces.get(space)) {
            let volume =
                space.volume.get().map_or(String::new(), |volume| format!(" of {}", volume.show(volume.nominal)));
            let finding = findings
                .at(end_place(run), format!("`{}` ends inside `{}`", job.reads(run), space.name))
                .label(format!("the gas comes out into a space{volume}"))
                .why("exhaust gas carries carbon monoxide, and nobody can smell it")
                .limit("no exhaust ends in a space, whether people use it or not", Whose::LifeSafety)
                .help("lead the pipe outside, past the edge of the vehicle, and write `ends facing …`")
                .related(space.header, "this space");
            findings.add(finding);
        } else if let Some(End::At(_)) = run.end.as_ref().map(|end| &end.value) {
            findings
                .cannot_judge(end_place(run), "`ends at` does not say whether that is outside: write `ends facing …`");
        }
    }
}

fn exhaust_ends_under_vehicle(findings: &mut Findings<'_>) {
    let job = findings.job;
    for (number, run) in runs(job, Kind::Exhaust) {
        let Some(said) = run.end.as_ref().filter(|_| gas_ends_in(job, run).is_none()) else { continue };
        let End::Facing(facing, None) = said.value else { continue };
        if let Some(clearance) = edge_by_tape(findings, number) {
            // What was taken by tape was taken to the edge that the end faces.
            let faces_out = !matches!(facing, Direction::Up | Direction::Down);
            ends_beside_edge(findings, run, &clearance, faces_out);
            continue;
        }
        let Some(end) = open_end(run) else {
            let why = if run.walk.lost || run.walk.length.is_none() {
                "part of its way has no direction, so nobody can tell where it ends. Write `at` with the place of the outlet \
                 before `ends`, or measure it: `measured 30 mm past edge`"
            } else {
                "its heater's place is not stated, so nobody can tell where it ends. Write `at` in the heater's block, or \
                 before `ends`, or measure it: `measured 30 mm past edge`"
            };
            findings.cannot_judge(run.header, why);
            continue;
        };
        let known = outline(job, run.body.as_deref());
        if let (Some(body), None) = (&run.body, known) {
            findings.cannot_judge(
                run.header,
                format!(
                    "it rides on `{body}`, whose outline is not stated: write `second-body-at` and `second-body-spans` in the \
                     vehicle's block"
                ),
            );
            continue;
        }
        let Some(outline) = known else { continue };
        let own = findings.figures.clearances_of(number).iter();
        let Some(clearance) = own.into_iter().find(|clearance| clearance.target == Target::Edge) else { continue };
        let (_, way_out) = beyond_edge(end.point, outline);
        let faces_out = job.axes.unit(facing).dot(way_out) > 0.5;
        ends_beside_edge(findings, run, clearance, faces_out);
    }
}

/// The distance of an exhaust's end from the edge of the vehicle where it is known by tape alone.
fn edge_by_tape(findings: &Findings<'_>, exhaust: usize) -> Option<Clearance> {
    let mut own = findings.figures.clearances_of(exhaust).iter();
    own.find(|clearance| clearance.target == Target::Edge && clearance.between.is_none()).copied()
}

fn ends_beside_edge(findings: &mut Findings<'_>, run: &Run, clearance: &Clearance, faces_out: bool) {
    let job = findings.job;
    let place = clearance.tape.unwrap_or(end_place(run));
    let allowed = if faces_out { -FLUSH } else { 0.0 };
    let unit = unit_of(run);
    let told = || {
        Told::new(place, "distance of the exhaust outlet past the edge of the vehicle", unit, Whose::LifeSafety)
            .against(1.0)
    };
    let verdict = findings.at_least(distance_of(job, run, clearance), allowed, SAME, told);
    if verdict.keeps() {
        return;
    }
    let certain = verdict.certain();
    let inside = if certain { -clearance.nominal } else { -clearance.worst };
    let under = run.body.as_ref().map_or("the vehicle".to_string(), |body| format!("`{body}`"));
    let (title, severity) = if certain {
        (format!("`{}` ends under {under}, {} inside its edge", job.reads(run), unit.show(inside)), Severity::Error)
    } else {
        let title = format!("`{}` may end under {under}, up to {} inside its edge", job.reads(run), unit.show(inside));
        (title, Severity::Warning)
    };
    let mut finding = findings
        .at(place, title)
        .label(match clearance.between {
            Some((outlet, _)) => format!("the exhaust outlet is at {}", place_reads(outlet, unit)),
            None => "taken by tape".to_string(),
        })
        .why(match clearance.between {
            Some((_, edge)) => format!(
                "the nearest edge is at {}; gas let out under a floor collects there and comes up through it",
                place_reads(edge, unit)
            ),
            None => "gas let out under a floor collects there and comes up through it".to_string(),
        })
        .limit(
            format!("past the edge of the vehicle, or at most {} inside it and facing out", unit.show(FLUSH)),
            Whose::LifeSafety,
        )
        .help(format!("lead it {} further out and end it facing away from the vehicle", unit.show(inside + FLUSH)));
    finding.severity = severity;
    if let Some((_, header)) = job.vehicle.as_ref().filter(|_| clearance.between.is_some()) {
        finding = finding.related(*header, "the outline is stated here");
    }
    findings.add(finding);
}

/// A distance with its doubt. A doubt that nobody stated is no finding: that the port is not known is said once, as not
/// judged.
fn distance_of(job: &Job, run: &Run, clearance: &Clearance) -> Interval {
    let sure = clearance.tape.is_some() || port_is_known(job, run);
    let low = if sure { clearance.worst } else { clearance.nominal };
    Interval { low, nominal: clearance.nominal, high: clearance.nominal }
}

/// Whether an opening lets in gas that rises along the side of the vehicle, to people behind it.
fn takes_in_rising_gas(job: &Job, target: Target) -> bool {
    let Target::Opening(number) = target else { return false };
    let kind = job.openings.get(number).and_then(|opening| opening.kind.get().copied());
    let opens_above = matches!(kind, None | Some("window" | "ventilator" | "air-inlet" | "service-hatch"));
    opens_above && opening_is_lived_in(job, number)
}

/// How far to the side of a window, vent or hatch gas rises from the end of an exhaust that is, or may be, below it.
fn rises_beside(job: &Job, clearance: &Clearance) -> Option<Interval> {
    if !takes_in_rising_gas(job, clearance.target) {
        return None;
    }
    match clearance.beside {
        Beside::Walked { aside, below, doubt } => (below > 0.0 && below - doubt <= BELOW_WINDOW).then_some(Interval {
            low: aside - doubt,
            nominal: aside,
            high: aside,
        }),
        // A tape does not say which of the two is higher: only how far one can be below the other.
        Beside::Taped(Some(aside)) => {
            let below = (clearance.worst * clearance.worst - aside.high * aside.high).max(0.0).sqrt();
            (below <= BELOW_WINDOW).then_some(aside)
        }
        Beside::Taped(None) | Beside::None => None,
    }
}

/// Whether gas that rises from the end of an exhaust passes a window, vent or hatch within reach.
fn rises_into(job: &Job, clearance: &Clearance) -> bool {
    let walked = matches!(clearance.beside, Beside::Walked { .. });
    walked && rises_beside(job, clearance).is_some_and(|aside| aside.low <= BESIDE_WINDOW)
}

/// Whether a tape leaves open that the end of an exhaust is below a window: nearer than what is asked to the side and down
/// together, and nobody took how far it is to the side.
fn may_rise_into(job: &Job, clearance: &Clearance) -> bool {
    clearance.beside == Beside::Taped(None)
        && takes_in_rising_gas(job, clearance.target)
        && clearance.worst <= BESIDE_WINDOW.hypot(BELOW_WINDOW)
}

pub(super) fn opening_is_lived_in(job: &Job, opening: usize) -> bool {
    let into = job.openings.get(opening).and_then(|opening| opening.into);
    into.and_then(|space| job.spaces.get(space)).is_none_or(lived_in)
}

fn exhaust_below_opening_window(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for clearance in &figures.clearances {
        let Target::Opening(number) = clearance.target else { continue };
        let (Some(run), Some(opening)) = (job.runs.get(clearance.exhaust), job.openings.get(number)) else { continue };
        let unit = unit_of(run);
        if gas_ends_in(job, run).is_some() {
            continue;
        }
        let by_tape = matches!(clearance.beside, Beside::Taped(_));
        let asked = asked(job, run, "openings", APART, BARELY_APART, BARELY_APART);
        if by_tape && clearance.nominal < asked.limit - SAME {
            // It is too near already, whatever it is below.
            continue;
        }
        if may_rise_into(job, clearance) {
            findings.cannot_judge(
                clearance.at(),
                format!(
                    "the tape does not say whether `{}` lies above the outlet: write how far to its side the exhaust ends, as in \
                     `aside 400 mm`",
                    opening.name
                ),
            );
            continue;
        }
        let Some(aside) = rises_beside(job, clearance) else { continue };
        let told = || {
            let what = format!("distance of rising gas from the side of {}", opening.name);
            Told::new(clearance.at(), what, unit, Whose::LifeSafety)
        };
        if findings.at_least(aside, BESIDE_WINDOW, -1e-12, told).keeps() {
            continue;
        }
        let title = match clearance.beside {
            Beside::Walked { below, .. } => {
                format!("`{}` ends {} below `{}`", job.reads(run), unit.show(below), opening.name)
            }
            _ => format!(
                "`{}` may end below `{}`, {} to its side",
                job.reads(run),
                opening.name,
                unit.show(aside.nominal)
            ),
        };
        let mut finding = findings
            .at(clearance.at(), title)
            .label(format!("{} from it in a straight line", unit.show(clearance.nominal)))
            .why(match clearance.between {
                Some((outlet, nearest)) => format!(
                    "the outlet is at {}, the nearest part of `{}` at {}; warm gas rises along the side of the vehicle",
                    place_reads(outlet, unit),
                    opening.name,
                    place_reads(nearest, unit)
                ),
                None => {
                    "the tape does not say which of the two is higher; warm gas rises along the side of the vehicle"
                        .to_string()
                }
            })
            .limit(
                format!(
                    "more than {} to the side of it, or more than {} below it",
                    unit.show(BESIDE_WINDOW),
                    unit.show(BELOW_WINDOW)
                ),
                Whose::LifeSafety,
            )
            .help(if by_tape {
                "end the exhaust well to the side of the opening; if it ends above it, state where both are: `at`"
            } else {
                "end the exhaust on the other side of the vehicle, or well to the side of the opening"
            })
            .related(opening.header, "this opening");
        if by_tape {
            finding.severity = Severity::Warning;
        }
        findings.add(finding);
    }
}

/// The space that a step of an exhaust lies in: that of its heater up to the first passage, or by the space's outline.
pub(super) fn space_of_step(job: &Job, run: &Run, number: usize) -> Option<usize> {
    let passage = run.steps.iter().position(|step| matches!(step.met, Met::Passage(_)));
    let stands_in = run.heater.and_then(|heater| job.heaters.get(heater)).and_then(|heater| heater.stands_in.get());
    let here = run.walk.after.get(number).copied().flatten();
    let by_outline = || here.and_then(|here| within_space(job, run, here)).map(|(space, _)| space);
    passage.filter(|passage| number < *passage).and(stands_in.copied().flatten()).or_else(by_outline)
}

fn exhaust_joint_inside(findings: &mut Findings<'_>) {
    let job = findings.job;
    for (_, run) in runs(job, Kind::Exhaust) {
        for (number, step) in run.steps.iter().enumerate() {
            let what = match &step.met {
                Met::Joint(..) => "joint",
                Met::Silencer(_) => "silencer",
                Met::DrainHole(_) => "drain hole",
                _ => continue,
            };
            let here = run.walk.after.get(number).copied().flatten();
            let Some(space) = space_of_step(job, run, number).and_then(|space| job.spaces.get(space)) else { continue };
            let where_it_is =
                here.map_or(String::new(), |here| format!(", at {}", place_reads(here.point, unit_of(run))));
            let finding = findings
                .at(step.place, format!("`{}` has a {what} inside `{}`", job.reads(run), space.name))
                .label(format!("here{where_it_is}, the pipe has not left `{}` yet", space.name))
                .why("joints loosen, silencers rust through and drains are open; a leak here lets carbon monoxide in")
                .limit("no joint, clamp, silencer or drain hole inside a space", Whose::LifeSafety)
                .help(format!("lead the pipe out in one piece, and fit the {what} after the passage"))
                .related(space.header, "this space");
            findings.add(finding);
        }
    }
}

fn exhaust_runs_inside(findings: &mut Findings<'_>) {
    let job = findings.job;
    for (_, run) in runs(job, Kind::Exhaust) {
        let mut inside: Option<(Interval, Place, &Space)> = None;
        for stretch in &run.walk.stretches {
            let before = run.steps.iter().take(stretch.step);
            let mut lagging = before.filter_map(|step| match step.met {
                Met::Lagged(thick) => Some(thick.is_some()),
                _ => None,
            });
            let space = space_of_step(job, run, stretch.step).and_then(|space| job.spaces.get(space));
            let Some(space) = space.filter(|space| lived_in(space) && !lagging.next_back().unwrap_or(false)) else {
                continue;
            };
            inside = Some(match inside {
                Some((length, place, first)) => (length.plus(stretch.length), place, first),
                None => (stretch.length, stretch.place, space),
            });
        }
        let Some((length, place, space)) = inside else { continue };
        let unit = unit_of(run);
        let told = || Told::new(place, "bare exhaust pipe in a space for people", unit, Whose::CommonPractice);
        let verdict = findings.at_most(length, INSIDE, 1e-6, told);
        if verdict.keeps() {
            continue;
        }
        let runs = if verdict.certain() { "runs" } else { "may run" };
        let shown = unit.show(if verdict.certain() { length.nominal } else { length.high });
        let finding = findings
            .at(
                place,
                format!(
                    "`{}` {runs} {shown} bare through `{}`; at most {} is usual",
                    job.reads(run),
                    space.name,
                    unit.show(INSIDE)
                ),
            )
            .label("from here on the pipe lies where people are")
            .why("it burns who touches it, and a crack in it lets carbon monoxide in")
            .limit(format!("{} from the heater to its passage", unit.show(INSIDE)), Whose::CommonPractice)
            .help("set the heater over its passage; where that cannot be, lag the pipe and keep it in one piece")
            .related(space.header, "this space");
        findings.add(finding);
    }
}

/// Says that a thing and an exhaust ride on two bodies that move against each other, so that no distance between them is
/// known: whatever body its author names for it, declared or not. That an exhaust's own body is not described is one cause,
/// and said once elsewhere.
fn rides_apart(findings: &mut Findings<'_>, header: Place, body: Option<&str>) {
    let job = findings.job;
    let described = |run: &Run| run.body.is_none() || outline(job, run.body.as_deref()).is_some();
    // A thing of the vehicle itself beside an exhaust of a second body is said once, by the rule on openings.
    let other = runs(job, Kind::Exhaust).find(|(_, run)| run.body.as_deref() != body && described(run));
    let other = other.filter(|_| body.is_some());
    if let Some((_, run)) = other {
        findings.cannot_judge(header, two_bodies(job, run));
    }
}

fn two_bodies(job: &Job, run: &Run) -> String {
    format!("it and `{}` ride on two bodies that move against each other", job.reads(run))
}

/// [`rides_apart`] for every run that is wanted.
fn runs_ride_apart(findings: &mut Findings<'_>, wanted: impl Fn(&Run) -> bool) {
    let job = findings.job;
    for run in job.runs.iter().filter(|run| job.header.is_some() && wanted(run)) {
        rides_apart(findings, run.header, run.body.as_deref());
    }
}

/// What is asked of a distance: the limit, whose it is, where it is written, and below what it is an error.
struct Asked {
    limit: f64,
    unit: &'static Unit,
    whose: Whose,
    written: Option<Place>,
    error_below: f64,
}

impl Asked {
    fn shown(&self) -> String {
        self.unit.show(self.limit)
    }
}

/// The sheet's limit of the exhaust's heater, else common practice. A sheet is believed down to a floor only: no word of a
/// sheet hides what can poison or burn.
fn asked(job: &Job, run: &Run, of: &str, usual: f64, error_below: f64, floor: f64) -> Asked {
    let practice = |limit, written| Asked {
        limit,
        unit: unit_of(run),
        whose: Whose::CommonPractice,
        written,
        error_below: error_below.max(floor),
    };
    let sheet = run.heater.and_then(|heater| job.sheet_of(heater));
    match sheet.and_then(|sheet| sheet.clearance(of).map(|distance| (sheet, distance))) {
        Some((_, distance)) if distance.value.high < floor => practice(floor, Some(distance.written)),
        Some((sheet, distance)) => Asked {
            limit: distance.value.high,
            unit: distance.value.unit,
            whose: Whose::Sheet(sheet.name.clone()),
            written: Some(distance.written),
            error_below: distance.value.high,
        },
        None => practice(usual, None),
    }
}

/// Adds a finding where a distance is shorter than what is asked.
fn too_near(findings: &mut Findings<'_>, clearance: &Clearance, asked: &Asked, verb: &str, why: &str, help: &str) {
    let job = findings.job;
    let Some(run) = job.runs.get(clearance.exhaust) else { return };
    let unit = unit_of(run);
    let told = || {
        let what = format!("distance from {}", target_reads(job, clearance.target));
        Told::new(clearance.at(), what, unit, asked.whose.clone())
    };
    let verdict = findings.at_least(distance_of(job, run, clearance), asked.limit, SAME, told);
    if verdict.keeps() {
        return;
    }
    let certain = verdict.certain();
    let distance = if certain { clearance.nominal } else { clearance.worst };
    let verb = match (certain, verb) {
        (true, verb) => verb,
        (false, "passes") => "may pass",
        (false, _) => "may end",
    };
    let to = target_reads(job, clearance.target);
    let covered = match clearance.target {
        Target::FuelLine(_) | Target::KeepClear(_) | Target::Cable(_) | Target::Tank(_) if clearance.covered => {
            "; the pipe is covered"
        }
        Target::FuelLine(_) | Target::KeepClear(_) | Target::Cable(_) | Target::Tank(_) => "; the pipe is bare",
        _ => "",
    };
    let reads = match distance {
        distance if distance < SAME && certain && clearance.nominal < SAME => {
            format!("`{}` touches `{to}`", job.reads(run))
        }
        distance if distance < SAME => format!("`{}` may touch `{to}`", job.reads(run)),
        _ => format!("`{}` {verb} {} from `{to}`", job.reads(run), unit.show(distance)),
    };
    let mut finding = findings
        .at(clearance.at(), format!("{reads}; at least {} is needed", asked.shown()))
        .label(match clearance.between.filter(|_| clearance.tape.is_none()) {
            Some((nearest, _)) => format!("nearest here, at {}{covered}", place_reads(nearest, unit)),
            None => format!("taken by tape{covered}"),
        })
        .why(format!(
            "{}{}{why}",
            match clearance.between.filter(|_| clearance.tape.is_none()) {
                Some((_, nearest)) => format!("the nearest part of `{to}` is at {}; ", place_reads(nearest, unit)),
                None => String::new(),
            },
            if clearance.nominal - clearance.worst > SAME {
                format!(
                    "{} apart as {}, but perhaps only {} with the stated tolerances; ",
                    unit.show(clearance.nominal),
                    if clearance.tape.is_some() { "measured" } else { "drawn" },
                    unit.show(clearance.worst)
                )
            } else {
                String::new()
            }
        ))
        .limit(format!("{} at least, in a straight line", asked.shown()), asked.whose.clone())
        .help(format!("{help}; {} more is needed", unit.show(asked.limit - clearance.worst)));
    finding.severity = if clearance.nominal < asked.error_below - SAME { Severity::Error } else { Severity::Warning };
    if let Some(header) = target_header(job, clearance.target) {
        finding = finding.related(header, "it is too near this");
    }
    if let Some(written) = asked.written {
        finding = finding.related(written, "the data sheet's limit");
    }
    findings.add(finding);
}

/// The exhaust of a clearance, unless its gas ends in a space: then its distances are not the trouble.
fn open_exhaust<'a>(job: &'a Job, clearance: &Clearance) -> Option<&'a Run> {
    job.runs.get(clearance.exhaust).filter(|run| gas_ends_in(job, run).is_none())
}

fn exhaust_near_combustion_air(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for clearance in &figures.clearances {
        let Target::CombustionAir(_) = clearance.target else { continue };
        let Some(run) = open_exhaust(job, clearance) else { continue };
        let asked = asked(job, run, "combustion-air", APART, BARELY_APART, BARELY_APART);
        let why = "exhaust that is drawn in starves the flame, which then makes soot and carbon monoxide";
        too_near(
            findings,
            clearance,
            &asked,
            "ends",
            why,
            "move outlet and intake apart, if you can to different sides",
        );
    }
    runs_ride_apart(findings, |run| run.kind == Kind::CombustionAir);
    if runs(job, Kind::Exhaust).next().is_none() {
        return;
    }
    for (number, run) in runs(job, Kind::CombustionAir) {
        let ends_outside = matches!(run.end.as_ref().map(|end| &end.value), Some(End::Facing(_, None) | End::Here));
        let mut own =
            runs(job, Kind::Exhaust).filter(|(_, exhaust)| run.heater.is_some() && exhaust.heater == run.heater);
        let own_is_told = own.next().is_some_and(|(exhaust, _)| figures.end_is_told(job, exhaust));
        if !ends_outside || !own_is_told {
            continue;
        }
        for (exhaust, pipe) in runs(job, Kind::Exhaust).filter(|(exhaust, _)| figures.end_is_told(job, *exhaust)) {
            match (open_end(run), open_end(pipe)) {
                _ if figures.is_taped(exhaust, Target::CombustionAir(number), false) => {}
                (Some(_), Some(_)) => {}
                (None, Some(_)) => findings.cannot_judge(
                    run.header,
                    "it is not known where its intake is: write `at` with that place before `ends`",
                ),
                (_, None) => not_taped(findings, run.header, pipe, Target::CombustionAir(number)),
            }
        }
    }
}

/// Says that a thing was not measured from an exhaust of which only the tape tells where it ends.
fn not_taped(findings: &mut Findings<'_>, thing: Place, exhaust: &Run, target: Target) {
    let job = findings.job;
    let because = format!(
        "nobody measured how far it is from the end of `{}`: write `measured … to {}` there",
        job.reads(exhaust),
        target_reads(job, target)
    );
    findings.cannot_judge(thing, because);
}

/// The first exhaust of which only the tape tells where it ends, and that no tape leads to a thing from.
fn first_not_taped<'a>(findings: &Findings<'a>, target: Target) -> Option<&'a Run> {
    let (job, figures) = (findings.job, findings.figures);
    let open = |exhaust: &&usize| {
        let by_tape = job.runs.get(**exhaust).is_some_and(|run| open_end(run).is_none());
        by_tape && figures.end_is_told(job, **exhaust) && !figures.is_taped(**exhaust, target, false)
    };
    // Without any tape no end is told by one.
    let exhausts = if figures.taped.is_empty() { &[][..] } else { &figures.exhausts };
    exhausts.iter().find(open).and_then(|exhaust| job.runs.get(*exhaust))
}

fn exhaust_near_opening(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for clearance in &figures.clearances {
        let Target::Opening(number) = clearance.target else { continue };
        let Some(run) = open_exhaust(job, clearance).filter(|_| !rises_into(job, clearance)) else { continue };
        let mut asked = asked(job, run, "openings", APART, BARELY_APART, BARELY_APART);
        if !opening_is_lived_in(job, number) {
            asked.error_below = 0.0;
        }
        let why = "gas that comes out beside an opening is drawn in through it";
        too_near(findings, clearance, &asked, "ends", why, "end the exhaust further from it, or on another side");
    }
    let Some((_, first)) = runs(job, Kind::Exhaust).next() else { return };
    let people = job.spaces.is_empty() || job.spaces.iter().any(lived_in);
    if !job.openings.iter().any(Opening::can_open) && people && !job.hidden.has(Kind::Opening) {
        let place = job.spaces.iter().find(|space| lived_in(space)).map_or(first.header, |space| space.header);
        findings.cannot_judge(
            place,
            "the job states no door, window or vent of a space that people use: write an `opening` block for each",
        );
    }
    for (number, opening) in job.openings.iter().enumerate().filter(|(_, opening)| opening.can_open()) {
        let target = Target::Opening(number);
        if let Some(exhaust) = first_not_taped(findings, target) {
            not_taped(findings, opening.header, exhaust, target);
        } else if let Some(run) = job.runs.iter().find(|run| run.kind == Kind::Exhaust && run.body != opening.body) {
            findings.cannot_judge(
                opening.header,
                format!(
                    "it and `{}` ride on two bodies that move against each other, so their distance changes",
                    job.reads(run)
                ),
            );
        }
    }
}

fn exhaust_near_return_air(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    let from_outside = |run: &Run| {
        matches!(run.said.draws, Some(Draws::FromOutside(_)))
            || matches!(run.end.as_ref().map(|end| &end.value), Some(End::Facing(_, None)))
    };
    for clearance in &figures.clearances {
        let Target::ReturnAir(number) = clearance.target else { continue };
        let (Some(exhaust), Some(inlet)) = (open_exhaust(job, clearance), job.runs.get(number)) else { continue };
        // Inside, walls stand between the two: there is no floor.
        let floor = if from_outside(inlet) { BARELY_APART } else { 0.0 };
        let asked = asked(job, exhaust, "return-air", APART, BARELY_APART, floor);
        // Walls stand between the exhaust and an inlet inside; there only the sheet's own limit counts.
        if asked.written.is_none() && !from_outside(inlet) {
            continue;
        }
        let why = "the fan draws air in here and blows it at people";
        too_near(findings, clearance, &asked, "ends", why, "move inlet and exhaust to different sides of the vehicle");
    }
    if runs(job, Kind::Exhaust).next().is_none() {
        return;
    }
    runs_ride_apart(findings, |run| run.kind == Kind::ReturnAir && from_outside(run));
    for (number, run) in runs(job, Kind::ReturnAir).filter(|(_, run)| from_outside(run)) {
        let target = Target::ReturnAir(number);
        if let Some(exhaust) = first_not_taped(findings, target) {
            not_taped(findings, run.header, exhaust, target);
        } else if inlet_of(run).is_none() && !figures.taped_by_all(target, false) {
            findings.cannot_judge(
                run.header,
                "it draws air from outside, but the place is not stated: walk its duct to its open end",
            );
        }
    }
}

/// The worse of the bare and the covered part of a pipe, by what each lacks, for each thing it passes.
fn pipe_distances(
    findings: &Findings<'_>,
    wanted: impl Fn(Target) -> bool,
    limit: impl Fn(&Run, &Clearance) -> Asked,
) -> Vec<(Clearance, Asked)> {
    let job = findings.job;
    let mut worst: Vec<(Clearance, Asked)> = Vec::new();
    let mut known: HashMap<(usize, Target), usize> = HashMap::new();
    for clearance in findings.figures.clearances.iter().filter(|clearance| wanted(clearance.target)) {
        let Some(run) = job.runs.get(clearance.exhaust) else { continue };
        let asked = limit(run, clearance);
        if !findings.listens() && clearance.worst >= asked.limit - SAME {
            continue;
        }
        let next = worst.len();
        let at = *known.entry((clearance.exhaust, clearance.target)).or_insert(next);
        match worst.get_mut(at) {
            Some(known) if known.1.limit - known.0.worst < asked.limit - clearance.worst => {
                *known = (*clearance, asked)
            }
            Some(_) => {}
            None => worst.push((*clearance, asked)),
        }
    }
    worst
}

pub(super) fn keep_clear_kind(job: &Job, target: Target) -> Option<&'static str> {
    let Target::KeepClear(number) = target else { return None };
    job.runs.get(number).and_then(|run| run.said.kind.get().copied())
}

fn is_tank(job: &Job, target: Target) -> bool {
    matches!(target, Target::Tank(_)) || keep_clear_kind(job, target) == Some("fuel-tank")
}

fn hot_pipe_limit(job: &Job, run: &Run, clearance: &Clearance, of: &str) -> Asked {
    let usual = if clearance.covered { COVERED } else { BARE };
    asked(job, run, of, usual, usual, usual)
}

/// What to do where a pipe passes too near: cover is of use only on a bare pipe, and only where the limit is not the sheet's.
fn pipe_help(clearance: &Clearance, asked: &Asked, way: &str) -> String {
    if clearance.covered || matches!(asked.whose, Whose::Sheet(_)) {
        way.to_string()
    } else {
        format!("{way}, or lag or shield the exhaust there")
    }
}

fn exhaust_near_fuel_line(findings: &mut Findings<'_>) {
    let job = findings.job;
    let is_fuel =
        |target: Target| matches!(target, Target::FuelLine(_)) || keep_clear_kind(job, target) == Some("fuel-line");
    let near = pipe_distances(findings, is_fuel, |run, clearance| hot_pipe_limit(job, run, clearance, "fuel-line"));
    for (clearance, asked) in near {
        let why = "the pipe is hot enough to light fuel, and to boil it in the line";
        too_near(
            findings,
            &clearance,
            &asked,
            "passes",
            why,
            &pipe_help(&clearance, &asked, "lead the fuel line or the exhaust another way"),
        );
    }
    runs_ride_apart(findings, |run| run.kind == Kind::FuelLine);
    let figures = findings.figures;
    let passed = things_to_pass(job);
    for (number, run) in runs(job, Kind::Exhaust) {
        let taped = |target: &Target| figures.is_taped(number, *target, true);
        let any_taped = passed.iter().any(|(_, target)| taped(target));
        let all_taped = any_taped && passed.iter().all(|(_, target)| taped(target));
        // Where its end is unknown too, that is one cause, and said once.
        if !way_is_known(run) && figures.end_is_told(job, number) && !passed.is_empty() && !all_taped {
            if open_end(run).is_some() && !any_taped {
                findings.cannot_judge(
                    run.header,
                    "part of its way has no direction, so it is not known what it passes there",
                );
            } else {
                passes_untaped(findings, number, run, &passed);
            }
        }
        let heater = run.heater.and_then(|heater| job.heaters.get(heater));
        if let (Some(heater), false, true) = (heater, port_is_known(job, run) || all_taped, way_is_known(run)) {
            let sheet = heater.sheet.and_then(|sheet| job.heater_sheets.get(sheet));
            match sheet {
                Some(sheet) => findings.cannot_judge(
                    run.header,
                    format!(
                        "data sheet `{}` states no `port exhaust`, so it is not known where on the heater the pipe starts, \
                         nor how near it passes to other things",
                        sheet.name
                    ),
                ),
                None if heater.sheet_place.is_none() => findings.cannot_judge(
                    run.header,
                    format!("`{}` names no data sheet that says where its exhaust port is", heater.name),
                ),
                // A data sheet that was not found is a finding of its own.
                None => {}
            }
        }
    }
    let walked: Vec<usize> = runs(job, Kind::Exhaust)
        .filter(|(_, run)| way_is_known(run) && !run.walk.stretches.is_empty())
        .map(|(number, _)| number)
        .collect();
    for (line, run) in runs(job, Kind::FuelLine) {
        let taped = |exhaust: &usize| figures.is_taped(*exhaust, Target::FuelLine(line), true);
        if !way_is_known(run) && !walked.iter().all(taped) {
            findings.cannot_judge(
                run.header,
                "part of its way has no direction, or the place where it starts is not stated",
            );
        }
    }
    keep_clears_without_a_place(findings, |kind| kind == "fuel-line");
}

/// Says what an exhaust of unknown way was not measured to. A thing to keep clear of without a place is told by itself.
fn passes_untaped(findings: &mut Findings<'_>, number: usize, exhaust: &Run, passed: &[(&Run, Target)]) {
    let (job, figures) = (findings.job, findings.figures);
    let open = |(run, target): &&(&Run, Target)| {
        let placed = run.kind == Kind::FuelLine || run.walk.start.is_some();
        placed && run.body == exhaust.body && !figures.is_taped(number, *target, true)
    };
    let names: Vec<String> = passed.iter().filter(open).map(|(run, _)| job.reads(run)).collect();
    if let Some(first) = names.first() {
        let because = format!(
            "part of its way has no direction, and nobody measured how near it passes {}: write `measured … from pipe to {first}`",
            quoted(names.iter().map(String::as_str))
        );
        findings.cannot_judge(exhaust.header, because);
    }
}

/// Says of each thing to keep clear of those kinds that its place is not known.
fn keep_clears_without_a_place(findings: &mut Findings<'_>, wanted: impl Fn(&str) -> bool) {
    let job = findings.job;
    if runs(job, Kind::Exhaust).next().is_none() {
        return;
    }
    for (number, run) in runs(job, Kind::KeepClear) {
        let taped = findings.figures.taped_by_all(Target::KeepClear(number), true);
        let unknown = (run.walk.start.is_none() || !way_is_known(run)) && !taped;
        if unknown && wanted(run.said.kind.get().copied().unwrap_or("")) {
            let because = "its place is not stated: write `at` where it starts";
            // Where one thing is measured by tape, the next one is as well.
            if findings.figures.taped.is_empty() {
                findings.cannot_judge(run.header, because);
            } else {
                let name = findings.job.reads(run);
                findings
                    .cannot_judge(run.header, format!("{because}, or `measured … from pipe to {name}` at the exhaust"));
            }
        } else if wanted(run.said.kind.get().copied().unwrap_or("")) {
            rides_apart(findings, run.header, run.body.as_deref());
        }
    }
}

fn exhaust_near_brake_line(findings: &mut Findings<'_>) {
    let job = findings.job;
    let is_brake = |target: Target| keep_clear_kind(job, target) == Some("brake-line");
    let near = pipe_distances(findings, is_brake, |run, clearance| hot_pipe_limit(job, run, clearance, "brake-line"));
    for (clearance, asked) in near {
        let why = "heat boils brake fluid and softens air hoses";
        let help = pipe_help(&clearance, &asked, "lead the exhaust another way");
        too_near(findings, &clearance, &asked, "passes", why, &help);
    }
    keep_clears_without_a_place(findings, |kind| kind == "brake-line");
}

fn exhaust_near_other(findings: &mut Findings<'_>) {
    let job = findings.job;
    let goods = job.vehicle.as_ref().and_then(|(vehicle, _)| vehicle.carries());
    let is_other = |target: Target| match target {
        Target::Cable(_) | Target::Tank(_) => true,
        // People are judged by how hot the pipe is, among the rules on combustion.
        Target::KeepClear(_) => !matches!(keep_clear_kind(job, target), Some("fuel-line" | "brake-line" | "occupants")),
        _ => false,
    };
    let near = pipe_distances(findings, is_other, |run, clearance| {
        let of = match clearance.target {
            Target::Cable(_) => "wiring",
            _ => keep_clear_kind(job, clearance.target).unwrap_or(""),
        };
        let mut asked = hot_pipe_limit(job, run, clearance, of);
        let tank = is_tank(job, clearance.target);
        if !tank {
            asked.error_below = 0.0;
        } else if goods.is_some() && !clearance.covered {
            asked.whose = Whose::Standard("2001/56/EC annex IX 3.1.1.2, vehicles for dangerous goods");
        }
        asked
    });
    for (clearance, asked) in near {
        let why = if is_tank(job, clearance.target) {
            "the pipe is several hundred degrees hot; it can burn a tank through and light the fuel"
        } else {
            "the pipe is several hundred degrees hot; what is beside it can char, melt or burn"
        };
        too_near(
            findings,
            &clearance,
            &asked,
            "passes",
            why,
            &pipe_help(&clearance, &asked, "lead one of them another way"),
        );
    }
    keep_clears_without_a_place(findings, |kind| !matches!(kind, "fuel-line" | "brake-line"));
    let figures = findings.figures;
    let by_tape = |exhaust: usize, run: &Run| open_end(run).is_none() && figures.end_is_told(job, exhaust);
    for (exhaust, run) in runs(job, Kind::Exhaust).filter(|(exhaust, run)| by_tape(*exhaust, run) && !way_is_known(run))
    {
        let untaped = |number: &usize| !figures.is_taped(exhaust, Target::Tank(*number), true);
        for (_, tank) in job.tanks.iter().enumerate().filter(|(number, _)| untaped(number)) {
            let because = format!(
                "nobody measured how near `{}` passes it: write `measured … from pipe to tank {}` there",
                job.reads(run),
                tank.name
            );
            findings.cannot_judge(tank.header, because);
        }
    }
    for tank in job.tanks.iter().filter(|tank| tank.area.is_some()) {
        rides_apart(findings, tank.header, tank.body.as_deref());
    }
}

fn combustion_air_missing(findings: &mut Findings<'_>) {
    let job = findings.job;
    for number in heaters_without(job, Kind::CombustionAir) {
        let Some(heater) = job.heaters.get(number) else { continue };
        let space = heater.stands_in.get().copied().flatten().and_then(|space| job.spaces.get(space));
        let outside = heater.stands_in.get().is_some_and(Option::is_none);
        let why = match space {
            Some(space) => format!("it stands in `{}`, so its flame burns the air there", space.name),
            None if outside => {
                "it stands outside and draws air at its own port, perhaps beside its exhaust".to_string()
            }
            None => "where it stands is not stated, so its flame may take the air that people breathe".to_string(),
        };
        let mut finding = findings
            .at(heater.header, format!("`{}` has no combustion air from outside", heater.name))
            .label("no combustion-air hose starts here")
            .why(why)
            .limit("a combustion-air hose for each heater, ending outside", Whose::LifeSafety)
            .help(format!("write `combustion-air of {}` and walk the hose to its intake outside", heater.name));
        if outside || space.is_some_and(|space| !lived_in(space)) {
            finding.severity = Severity::Warning;
        }
        if let Some(place) = heater.stands_in.place() {
            finding = finding.related(place, "it stands here");
        }
        findings.add(finding);
    }
}

fn combustion_air_from_inside(findings: &mut Findings<'_>) {
    let job = findings.job;
    for (_, run) in runs(job, Kind::CombustionAir) {
        let Some(space) = gas_ends_in(job, run).and_then(|space| job.spaces.get(space)) else {
            if let Some(End::At(_)) = run.end.as_ref().map(|end| &end.value) {
                findings.cannot_judge(
                    end_place(run),
                    "`ends at` does not say whether it draws air from outside: write `ends facing …`",
                );
            }
            continue;
        };
        let volume =
            space.volume.get().map_or(String::new(), |volume| format!(", {} of air", volume.show(volume.nominal)));
        let mut finding = findings
            .at(end_place(run), format!("`{}` draws its air from `{}`", job.reads(run), space.name))
            .label(format!("it ends inside `{}`{volume}", space.name))
            .why("the flame uses up the oxygen, and when wind blows on the exhaust, gas comes back through this intake")
            .limit("no combustion-air intake in a space that people use", Whose::LifeSafety)
            .help("end the hose outside, away from the exhaust")
            .related(space.header, "this space");
        if !lived_in(space) {
            finding.severity = Severity::Warning;
        }
        findings.add(finding);
    }
}

fn carbon_monoxide_alarm_missing(findings: &mut Findings<'_>) {
    let job = findings.job;
    if job.header.is_none() || job.hidden.has(Kind::Alarm) {
        return;
    }
    let heated: Vec<usize> = job
        .heaters
        .iter()
        .flat_map(|heater| {
            heater.heats.iter().map(|space| space.value).chain(heater.stands_in.get().copied().flatten())
        })
        .collect();
    for (number, space) in job.spaces.iter().enumerate() {
        let air = job.shared_air(number);
        let with_heater = air.iter().any(|space| heated.contains(space));
        let watched = job.alarms.iter().any(|alarm| {
            alarm.space.is_some_and(|space| air.contains(&space))
                && alarm.warns_of.get().is_none_or(|what| *what == "carbon-monoxide")
        });
        if job.heaters.is_empty() || watched {
            continue;
        }
        if space.is_slept_in() {
            let people = if job.alarms.iter().any(|alarm| alarm.space == Some(number)) {
                "every alarm here warns of something else"
            } else {
                "no alarm watches the air here"
            };
            let mut finding = findings
                    .at(space.header, format!("people sleep in `{}`, but no carbon monoxide alarm is stated", space.name))
                    .label(people)
                    .why("somebody asleep does not notice carbon monoxide")
                    .limit("a carbon monoxide alarm where people sleep with a fuel-fired heater", Whose::LifeSafety)
                    .help(format!(
                        "fit one to EN 50291-2 near head height and write an `alarm` block with `warns-of carbon-monoxide` and `in {}`",
                        space.name
                    ));
            // Gas finds its way into the next space, too: less surely, and nobody says that it is shut off.
            if !with_heater {
                finding.severity = Severity::Warning;
            }
            for alarm in job.alarms.iter().filter(|alarm| alarm.space.is_some_and(|space| air.contains(&space))) {
                let what = alarm.warns_of.get().copied().unwrap_or("").replace('-', " ");
                finding = finding.related(alarm.header, format!("this alarm warns of {what} only"));
            }
            findings.add(finding);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::page::{BENCH_SHEETS, compose};
    use crate::bench::judge_text;

    /// What exhaust rules say of a text: findings as `severity rule`, unjudged as `not judged rule`.
    fn said_of(text: &str) -> Vec<String> {
        let analysis = judge_text(text);
        let ours = |name: &str| super::RULES.iter().any(|rule| rule.name == name);
        let found = analysis.findings.iter().filter(|finding| ours(finding.rule.name));
        let mut said: Vec<String> =
            found.map(|finding| format!("{} {}", finding.severity.word(), finding.rule.name)).collect();
        // Facts that are missing are the law's matter (`tests/tests/silence.rs`): here, what a rule itself cannot judge.
        let unjudged = analysis.not_judged.iter().filter(|lack| lack.missing.is_none() && ours(lack.rule.name));
        said.extend(unjudged.map(|lack| format!("not judged {}", lack.rule.name)));
        said
    }

    /// Each case: blocks laid over the bench job, and all that the exhaust rules say of it.
    #[test]
    fn each_cause_is_said_once() {
        let pipe = "exhaust of reader\n  pipe steel, 24 mm bore, 27 mm outside\n  passage floor, sealed\n";
        let cases: &[(&str, String, &[&str])] = &[
            ("the bench job itself", String::new(), &[]),
            (
                "no openings",
                "leave out opening side-door".to_string(),
                &["not judged exhaust-near-opening"],
            ),
            (
                "an end nobody knows is one cause, for all distances",
                format!("{pipe}  run 1.1 m\n  bend 90°\n  ends facing left"),
                &["not judged exhaust-ends-under-vehicle"],
            ),
            (
                "a known end of an unknown way",
                format!("{pipe}  run 1.1 m\n  bend 90°\n  at back 1900 mm, right 1040 mm, up 440 mm\n  ends facing right"),
                &["not judged exhaust-near-fuel-line"],
            ),
            (
                "gas let out in a space: its distances are not the trouble",
                format!("{pipe}  down 140 mm\n  ends in cabin"),
                &["error exhaust-ends-inside"],
            ),
            (
                "an end within a space's outline, whatever it faces",
                "exhaust of reader\n  pipe steel, 24 mm bore, 27 mm outside\n  up 400 mm\n  ends facing right".to_string(),
                &["error exhaust-ends-inside"],
            ),
            (
                "below a window and near it: one finding",
                "opening window-right\n  kind window\n  into cabin\n  at back 1600 mm, right 1000 mm, up 800 mm\n  \
                 spans back 700 mm, up 500 mm"
                    .to_string(),
                &["error exhaust-below-opening-window"],
            ),
            (
                "a load space's window has nobody behind it",
                "space load\n  use load\n\nopening window-right\n  kind window\n  into load\n  \
                 at back 1600 mm, right 1000 mm, up 1300 mm\n  spans back 700 mm, up 500 mm"
                    .to_string(),
                &[],
            ),
            (
                "a tolerance that only may bring the end under the vehicle",
                format!("{pipe}  down 140 mm\n  right 690 mm ± 100 mm, down 30 mm\n  ends facing right"),
                &["warning exhaust-ends-under-vehicle"],
            ),
            (
                "flush with the sill and facing out is out",
                format!("{pipe}  down 140 mm\n  right 640 mm, down 30 mm\n  ends facing right"),
                &[],
            ),
            (
                "flush with the sill and facing down is not",
                format!("{pipe}  down 140 mm\n  right 640 mm, down 30 mm\n  ends facing down"),
                &["error exhaust-ends-under-vehicle"],
            ),
            (
                "a body with axes of its own whose edge nobody stated",
                format!("{pipe}  rides-on upper\n  down 140 mm\n  right 690 mm, down 30 mm\n  ends facing right"),
                &["not judged exhaust-ends-under-vehicle", "not judged exhaust-near-opening"],
            ),
            (
                "a second body's own outline judges what rides on it",
                format!(
                    "vehicle bench-van\n  type machine\n  supply 12 V\n  second-body upper\n  \
                     second-body-at forward 850 mm, left 1500 mm\n  second-body-spans back 5400 mm, right 3000 mm, up 2300 mm\n  \
                     at forward 850 mm, left 1000 mm, up 200 mm\n  spans back 5400 mm, right 2000 mm, up 2300 mm\n\n\
                     {pipe}  rides-on upper\n  down 140 mm\n  right 690 mm, down 30 mm\n  ends facing right"
                ),
                &["error exhaust-ends-under-vehicle", "not judged exhaust-near-opening"],
            ),
            (
                "a window that does not open lets nothing in",
                "opening pane\n  kind window\n  into cabin\n  opens no\n  at back 1600 mm, right 1000 mm, up 800 mm\n  \
                 spans back 700 mm, up 500 mm"
                    .to_string(),
                &[],
            ),
            (
                "fixed panes are not all there is to a space",
                "leave out opening side-door\n\nopening pane\n  kind window\n  into cabin\n  opens no".to_string(),
                &["not judged exhaust-near-opening"],
            ),
            (
                "a tank that says how far it reaches",
                "tank main\n  fuel diesel winter-1\n  holds 60 L\n  reserve 10 L\n  at back 3200 mm, left 450 mm, up 250 mm\n  \
                 spans forward 1300 mm, right 1200 mm, up 180 mm"
                    .to_string(),
                &["error exhaust-near-other"],
            ),
            (
                "a shield halves what common practice asks",
                format!(
                    "{pipe}  down 140 mm\n  right 690 mm, down 30 mm\n  shield here\n  ends facing right\n\n\
                     keep-clear board\n  kind plastic\n  at back 1500 mm, right 800 mm, up 370 mm\n  spans back 800 mm, right 50 mm, down 5 mm"
                ),
                &[],
            ),
            (
                "a sheet without ports: what only the size of the heater eats is not judged",
                "heater reader\n  in cabin\n  heats cabin\n  at back 1900 mm, right 310 mm, up 670 mm\n  warm-end forward\n\n\
                 exhaust of reader\n  pipe steel, 24 mm bore, 27 mm outside\n  down 200 mm\n  right 730 mm\n  ends facing right"
                    .to_string(),
                &["not judged exhaust-near-fuel-line"],
            ),
            (
                "an alarm watches all air that is one",
                "space cabin\n  use sleeping\n  joined-to cab, by curtain\n\nspace cab\n  use driving\n\n\
                 alarm front\n  warns-of carbon-monoxide\n  in cab"
                    .to_string(),
                &[],
            ),
        ];
        let mut wrong = Vec::new();
        for (what, example, expected) in cases {
            let said = said_of(&compose(example));
            if said != *expected {
                wrong.push(format!("{what}: {said:?} in place of {expected:?}"));
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn a_workshop_file_is_not_a_job() {
        assert!(said_of(BENCH_SHEETS).is_empty());
        let without_job = compose("leave out exhaust of reader").replace("job \"", "# job \"");
        assert!(said_of(&without_job).is_empty(), "{:?}", said_of(&without_job));
    }

    /// A header that nobody can make out may be the exhaust: that one slip is the finding.
    #[test]
    fn what_a_held_paragraph_may_hide_is_not_missing() {
        for header in ["exhaust of reader", "combustion-air of reader"] {
            let text = compose("").replace(header, "ehxau");
            let said = said_of(&text);
            assert!(!said.iter().any(|said| said.contains("missing")), "{header}: {said:?}");
        }
    }
}

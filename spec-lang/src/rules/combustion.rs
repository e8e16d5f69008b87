//! Rules on what burns and what comes out: flow, excess air, heat of the exhaust, pressure, water, and where both ends stand.
//! How near an exhaust is to what breathes or burns is judged in `exhaust`.

use super::engine::Findings;
use super::exhaust::{end_place, gas_ends_in, keep_clear_kind, opening_is_lived_in, runs, space_of_step, unit_of};
use super::margin::Told;
use super::ways::{HALF_A_DEGREE, SHEET, above, above_by, joined, lengths, limited};
use super::{Family, Guards, Rule};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::clearances::{Clearance, Target, open_end, outline, place_reads};
use crate::figures::combustion::{Burner, LowPoint};
use crate::figures::ways::{Limit, Way};
use crate::finding::{Severity, Whose};
use crate::model::{Datum, End, Heater, HeaterSheet, Interval, Job, Met, Run, Stated, WayLimit, unit_or};
use crate::physics::exhaust_flow::time_to_fill;
use crate::physics::tubes::InExhaust;
use crate::rules::About;
use crate::rules::Cause;
use crate::source::Place;
use crate::units::{Dimension, Length, MassFlow, Temperature, Unit, rounded};
use crate::vocabulary::{Direction, Kind};
use std::collections::HashSet;

pub(super) static RULES: &[&Rule] = &[
    &ALTITUDE_ABOVE_SHEET,
    &EXCESS_AIR_RUNS_OUT,
    &COMBUSTION_PRESSURE_HIGH,
    &EXHAUST_AND_AIR_TOO_LONG,
    &EXHAUST_AND_AIR_BENDS_TOO_MANY,
    &ASKED_PART_MISSING,
    &EXHAUST_CANNOT_BEAR_HEAT,
    &EXHAUST_HOT_TO_TOUCH,
    &EXHAUST_HOLDS_WATER,
    &EXHAUST_LEG_LEVEL,
    &COMBUSTION_AIR_HOLDS_WATER,
    &SILENCER_RUNS_WET,
    &EXHAUST_DRAIN_IN_HULL,
    &EXHAUST_LOW_OVER_WATERLINE,
    &EXHAUST_END_FACES_FORWARD,
    &EXHAUST_END_FACES_UP,
    &EXHAUST_END_LOW,
    &EXHAUST_END_AT_TAIL,
    &COMBUSTION_AIR_FACES_FORWARD,
    &COMBUSTION_AIR_END_LOW,
    &COMBUSTION_AIR_NEAR_TYRE,
];

/// Excess air below which a burner is near to sooting. Common practice, no source.
const LEAST_EXCESS: f64 = 0.10;
/// The resistance is an estimate (bends in corrugated pipe to 40 %): only past this many times the limit is it an error.
const SURELY_ABOVE: f64 = 1.5;
/// Level exhaust shorter than the first says nothing, up to the second it is a word of advice. Common practice, no source.
const LEVEL_SILENT: f64 = 0.05;
const LEVEL_SHORT: f64 = 0.3;
/// How high over the waterline a boat's exhaust must pass: 250 mm, better 300 mm. Common practice, no source.
const OVER_WATERLINE: f64 = 0.25;
/// Least height of an open end above the ground where the job states no `snow-depth`: splash. Common practice, no source.
const ABOVE_SPLASH: f64 = 0.15;
/// How near the rear edge a rearward end feeds the wake behind the vehicle. Common practice, no source.
const AT_TAIL: f64 = 0.5;
/// Least distance of an intake from a tyre. Common practice, no source.
const FROM_TYRE: f64 = 0.3;
/// How near people must come to touch a pipe: hands and legs find what is this near to where they are. The project's own.
const IN_REACH: f64 = 0.1;
/// Touched for a second, bare metal burns from here; cloth or coating from there. Source: ISO 13732-1:2006, table 1 (from memory).
const METAL_BURNS: f64 = 65.0;
const LAGGING_BURNS: f64 = 80.0;
/// The law's limits: bare metal and other surfaces near a driver; what passengers of cars and goods vehicles may touch.
/// Source: 2001/56/EC annex V, carried into UN R122.
const LEGAL_METAL: f64 = 70.0;
const LEGAL_LAGGING: f64 = 80.0;
const LEGAL_MOST: f64 = 110.0;
/// Distances that differ by less than this are the same distance.
const SAME: f64 = 0.0005;

static ALTITUDE_ABOVE_SHEET: Rule = Rule {
    name: "altitude-above-sheet",
    family: Family::Combustion,
    severity: Severity::Error,
    title: "a heater used higher up than its data sheet allows",
    source: SHEET,
    explanation: "Higher up, the air is thinner. The fan moves the same volume, but there is less oxygen in it, and the \
                  pump doses the same fuel. The flame soots, soot coats the burner, and the gas carries far more carbon \
                  monoxide.",
    mend: "Ask the maker for its adjustment or kit for that altitude and write the data sheet that goes with it, or stay \
           below the limit.",
    bad: "job \"Over the pass\"\n  design-cold   -15 °C\n  altitude      0 m .. 2400 m",
    good: "job \"Below the pass\"\n  design-cold   -15 °C\n  altitude      0 m .. 1400 m",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::Altitude, Need::SheetAltitude, Need::Datasheet]])],
    find: altitude_above_sheet,
};

static EXCESS_AIR_RUNS_OUT: Rule = Rule {
    name: "excess-air-runs-out",
    family: Family::Combustion,
    severity: Severity::Error,
    title: "too little air for the flame at the highest place",
    source: "balance of mass on the sheet's `excess-air`; that 10 % is left is common practice, no source. Where the \
             sheet's `altitude` covers that of the job, only a flame that lacks air is a finding. `corrects-altitude` on the sheet says that it will not",
    explanation: "A burner is set with more air than its fuel needs. Altitude takes some of that away, and so does cold \
                  fuel, which is denser. Where no excess is left, part of the fuel leaves as soot and carbon monoxide. \
                  Judged on a standard day and at design cold, whichever leaves less, for a heater that does not correct \
                  for altitude.",
    mend: "Use a heater that the maker allows at that altitude, or ask the maker for its adjustment.",
    bad: "job \"Over the pass\"\n  design-cold   -15 °C\n  altitude      0 m .. 2700 m\n\nheater reader\n  datasheet     air-2-quiet\n  \
          in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n\
          combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
          silencer      120 mm\n  forward       500 mm, down 10 mm\n  ends          facing down",
    good: "job \"Below the pass\"\n  design-cold   -15 °C\n  altitude      0 m .. 1800 m\n\nheater reader\n  datasheet     air-2-quiet\n  \
          in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n\
          combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
          silencer      120 mm\n  forward       500 mm, down 10 mm\n  ends          facing down",
    guards: Guards::Life,
    measures: &[Dimension::Ratio],
    explained_by: &[Cause::on_heater("altitude-above-sheet")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::Altitude, Need::Datasheet]])],
    find: excess_air_runs_out,
};

static COMBUSTION_PRESSURE_HIGH: Rule = Rule {
    name: "combustion-pressure-high",
    family: Family::Combustion,
    severity: Severity::Error,
    title: "too much resistance in exhaust and combustion air",
    source: "the data sheet's `combustion-pressure`; the resistance is an estimate, so it is an error from 1.5 times the limit on",
    explanation: "Hose and pipe together resist the burner's fan. With too much resistance the flame gets less air than \
                  it was set for. It soots, makes more carbon monoxide and goes out. Length, bends, bore, silencers and \
                  the heat of the gas all count.",
    mend: "Shorten either side, use a wider bore, larger bend radii or fewer bends, or leave out a silencer that the \
           data sheet does not ask for.",
    bad: "heater reader\n  datasheet     air-2-quiet\n  in            cabin\n  heats         cabin\n  \
          at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n\
          exhaust of reader\n  pipe          steel, 18 mm bore, 22 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
          down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right\n\n\
          combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
          silencer      120 mm\n  forward       500 mm, down 10 mm\n  ends          facing down",
    good: "heater reader\n  datasheet     air-2-quiet\n  in            cabin\n  heats         cabin\n  \
          at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n\
          exhaust of reader\n  pipe          steel, 30 mm bore, 33 mm outside\n  passage       floor, hole 36 mm, sealed\n  \
          down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right\n\n\
          combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
          silencer      120 mm\n  forward       500 mm, down 10 mm\n  ends          facing down",
    guards: Guards::Life,
    measures: &[Dimension::Pressure],
    explained_by: &[Cause::on_heater("exhaust-and-air-too-long")],
    about: About::Written,
    asks: &[Ask::each(
        Kind::Heater,
        &[&[Need::ExhaustPipe, Need::CombustionAirHose, Need::ExhaustWay, Need::CombustionAirWay, Need::Datasheet]],
    )],
    find: combustion_pressure_high,
};

static EXHAUST_AND_AIR_TOO_LONG: Rule = Rule {
    name: "exhaust-and-air-too-long",
    family: Family::Combustion,
    severity: Severity::Error,
    title: "exhaust and combustion air that are too long together",
    source: SHEET,
    explanation: "Some data sheets give one length for exhaust and combustion air together. Each may keep its own limit, \
                  and still both together have more resistance than the burner's fan can overcome.",
    mend: "Shorten one of the two: draw the air from nearer, or end the exhaust on the nearer side.",
    bad: "heater reader\n  datasheet     air-2-quiet\n  in            cabin\n  heats         cabin\n  \
          at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n\
          combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
          silencer      120 mm\n  forward       1200 mm, down 20 mm\n  ends          facing down",
    good: "heater reader\n  datasheet     air-2-quiet\n  in            cabin\n  heats         cabin\n  \
          at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n\
          combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
          silencer      120 mm\n  forward       900 mm, down 20 mm\n  ends          facing down",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[Cause::on_heater("exhaust-too-long"), Cause::on_heater("combustion-air-too-long")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ExhaustWay, Need::CombustionAirWay, Need::Datasheet]])],
    find: exhaust_and_air_too_long,
};

static EXHAUST_AND_AIR_BENDS_TOO_MANY: Rule = Rule {
    name: "exhaust-and-air-bends-too-many",
    family: Family::Combustion,
    severity: Severity::Error,
    title: "too many bends in exhaust and combustion air together",
    source: SHEET,
    explanation: "Some data sheets give one sum of bends for exhaust and combustion air together. Each bend on one side \
                  leaves less for the other.",
    mend: "Let one slanting leg replace two legs, on either side.",
    bad: "heater reader\n  datasheet     air-2-quiet\n  in            cabin\n  heats         cabin\n  \
          at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n\
          combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
          silencer      120 mm\n  forward       300 mm\n  left          150 mm\n  forward       200 mm\n  \
          ends          facing down",
    good: "heater reader\n  datasheet     air-2-quiet\n  in            cabin\n  heats         cabin\n  \
          at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n\
          combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
          silencer      120 mm\n  forward       500 mm, left 150 mm\n  down          60 mm\n  ends          facing down",
    guards: Guards::Life,
    measures: &[Dimension::Angle],
    explained_by: &[Cause::on_heater("exhaust-bends-too-many"), Cause::on_heater("combustion-air-bends-too-many")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ExhaustWay, Need::CombustionAirWay, Need::Datasheet]])],
    find: exhaust_and_air_bends_too_many,
};

static ASKED_PART_MISSING: Rule = Rule {
    name: "asked-part-missing",
    family: Family::Combustion,
    severity: Severity::Error,
    title: "a silencer or drain that the data sheet asks for, but that is not fitted",
    source: "the data sheet's `asks-for`",
    explanation: "A silencer is for more than quiet. Where the data sheet asks for one, the burner was set up with it. \
                  Without it the flame pulses, roars or goes out in gusts. A drain that the sheet asks for keeps the \
                  heater from standing in its own water.",
    mend: "Fit the part and write it in the run: `silencer 120 mm`, `drain-hole 4 mm`.",
    bad: "heater reader\n  datasheet     air-2-quiet\n  in            cabin\n  heats         cabin\n  \
          at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward",
    good: "heater reader\n  datasheet     air-2-quiet\n  in            cabin\n  heats         cabin\n  \
          at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\n\
          combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
          silencer      120 mm\n  forward       500 mm, down 10 mm\n  ends          facing down",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(
        Kind::Heater,
        &[&[
            Need::Datasheet,
            Need::Exhaust,
            Need::ExhaustTaped,
            Need::CombustionAir,
            Need::CombustionAirTaped,
            Need::FuelPassage,
        ]],
    )],
    find: asked_part_missing,
};

static EXHAUST_CANNOT_BEAR_HEAT: Rule = Rule {
    name: "exhaust-cannot-bear-heat",
    family: Family::Combustion,
    severity: Severity::Error,
    title: "an exhaust pipe that cannot bear the heat of its gas",
    source: "the `bears` of the pipe's or hose's data sheet, else what its metal bears (handbook values, from memory), \
             against the gas where that pipe begins; nothing but metal in an exhaust: life safety, trialfit's own rule",
    explanation: "The gas leaves the heater at some 200 °C to 500 °C. A pipe that softens or burns at that heat lets the \
                  gas out where nobody looks: into a floor, a duct or a space with people in it.",
    mend: "Use stainless steel pipe made for exhaust gas, with a data sheet that says what heat it bears.",
    bad: "exhaust of reader\n  pipe          flue-cool\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
          right         690 mm, down 30 mm\n  ends          facing right",
    good: "exhaust of reader\n  pipe          flue-24\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
           right         690 mm, down 30 mm\n  ends          facing right",
    guards: Guards::Fire,
    measures: &[Dimension::Temperature],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ExhaustPipe, Need::Datasheet]])],
    find: exhaust_cannot_bear_heat,
};

static EXHAUST_HOT_TO_TOUCH: Rule = Rule {
    name: "exhaust-hot-to-touch",
    family: Family::Combustion,
    severity: Severity::Error,
    title: "a hot exhaust where somebody can touch it",
    source: "2001/56/EC annex V, carried into UN R122: 70 °C bare metal, 80 °C other surfaces near a driver, 110 °C what \
             passengers of cars and goods vehicles can touch; elsewhere ISO 13732-1:2006 (from memory): 65 °C bare \
             metal, 80 °C cloth, touched for a second. Above 110 °C it is an error by trialfit's own rule; below that, \
             check the text",
    explanation: "Skin burns within a second on metal of 65 °C, and a bare exhaust is far hotter. A `keep-clear` of kind \
                  `occupants` says that people come near. There the pipe needs a shield, or lagging that stays cool \
                  outside.",
    mend: "Put a shield along it, lag it, or lead it where nobody can reach it.",
    bad: "keep-clear step\n  kind          occupants\n  at            back 1700 mm, right 700 mm, up 300 mm\n  \
          spans         back 500 mm, right 500 mm, up 120 mm",
    good: "keep-clear step\n  kind          occupants\n  at            back 1700 mm, right 700 mm, up 300 mm\n  \
           spans         back 500 mm, right 500 mm, up 120 mm\n\nexhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  \
           passage       floor, hole 30 mm, sealed\n  down          140 mm\n  right         690 mm, down 30 mm\n  shield        step-side\n  \
           ends          facing right",
    guards: Guards::Fire,
    measures: &[Dimension::Temperature],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(
            Kind::Heater,
            &[&[Need::ExhaustPipe, Need::ExhaustWay, Need::Datasheet, Need::KeepClearKind, Need::LookedForPeople]],
        ),
        Ask::each(Kind::Heater, &[groups::KEEP_CLEAR, &[Need::HeaterAt, Need::KeepClearRides, Need::ExhaustRides]])
            .only(when::placed),
    ],
    find: exhaust_hot_to_touch,
};

static EXHAUST_HOLDS_WATER: Rule = Rule {
    name: "exhaust-holds-water",
    family: Family::Combustion,
    severity: Severity::Warning,
    title: "a low point of the exhaust without a drain",
    source: "common practice, no source: the pipe falls all the way to its end, or has a drain hole of 3 mm to 5 mm (outside) or a trap at its lowest place",
    explanation: "Burning a litre of diesel makes about a litre of water. At low output and in the cold, some of it \
                  settles in the pipe. It gathers where the pipe climbs again, and blocks it or freezes. In a pipe that \
                  climbs from the heater, it runs back into the burner.",
    mend: "Let the pipe fall all the way to its end, or fit a drain hole at the lowest place, outside. In a boat, fit a \
           trap.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
          down          160 mm\n  right         300 mm, down 30 mm\n  right         390 mm, up 60 mm\n  ends          facing right",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          160 mm\n  right         300 mm, down 30 mm\n  drain-hole    4 mm\n  right         390 mm, up 60 mm\n  ends          facing right",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ExhaustWay, Need::ExhaustRise]])],
    find: |findings| holds_water(findings, Kind::Exhaust),
};

static EXHAUST_LEG_LEVEL: Rule = Rule {
    name: "exhaust-leg-level",
    family: Family::Combustion,
    severity: Severity::Warning,
    title: "a level stretch of exhaust",
    source: "common practice, no source: a fall of 1 in 100 at least; up to 300 mm of level pipe is only advice",
    explanation: "Water from the gas stays where the pipe is level. It rusts the pipe from inside, and freezes in it.",
    mend: "Give each leg some fall towards the outlet: `right 690 mm, down 30 mm`.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
          down          140 mm\n  right         690 mm\n  ends          facing right",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ExhaustWay, Need::ExhaustRise]])],
    find: exhaust_leg_level,
};

static COMBUSTION_AIR_HOLDS_WATER: Rule = Rule {
    name: "combustion-air-holds-water",
    family: Family::Combustion,
    severity: Severity::Warning,
    title: "a low point of the combustion-air hose without a drain",
    source: "common practice, no source: the hose falls all the way to its open end, or has a drain hole at its lowest place",
    explanation: "Spray and condensation run to the lowest place of the hose. If the hose climbs again from there, the \
                  water stays. A bore of 25 mm is soon blocked, and the flame starves.",
    mend: "Let the hose fall to its intake, or make a drain hole at the lowest place, outside.",
    bad: "combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          180 mm\n  \
          forward       300 mm\n  forward       200 mm, up 50 mm\n  ends          facing down",
    good: "combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          180 mm\n  \
           forward       300 mm\n  drain-hole    4 mm\n  forward       200 mm, up 50 mm\n  ends          facing down",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::CombustionAirWay, Need::CombustionAirRise]])],
    find: |findings| holds_water(findings, Kind::CombustionAir),
};

static SILENCER_RUNS_WET: Rule = Rule {
    name: "silencer-runs-wet",
    family: Family::Combustion,
    severity: Severity::Advice,
    title: "a silencer so cold that water gathers in it",
    source: "dew point of the exhaust against the temperature of the pipe's wall at the silencer, at lowest output and \
             design cold",
    explanation: "A silencer far along the pipe stays below the dew point when the heater runs low. Water gathers in it, \
                  rusts it and freezes. Silent where the pipe has a drain hole or a trap after the silencer begins.",
    mend: "Fit the silencer nearer to the heater (but outside the space), lag the pipe before it, or give it a drain hole.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
          down          140 mm\n  right         690 mm, down 30 mm\n  silencer      200 mm\n  ends          facing right",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          140 mm\n  right         690 mm, down 30 mm\n  silencer      200 mm\n  drain-hole    4 mm\n  ends          facing right",
    guards: Guards::Start,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ExhaustPipe, Need::Datasheet]])],
    find: silencer_runs_wet,
};

static EXHAUST_DRAIN_IN_HULL: Rule = Rule {
    name: "exhaust-drain-in-hull",
    family: Family::Combustion,
    severity: Severity::Error,
    title: "an open drain of a boat's exhaust inside the hull",
    source: "life safety, trialfit's own rule",
    explanation: "In a boat the whole pipe lies inside the hull, with no open air below. Gas from an open drain hole \
                  fills the bilge and the cabin. A boat needs a closed trap that is emptied by hand.",
    mend: "Fit a closed trap in place of the drain hole: `trap`.",
    bad: "vehicle bench-van\n  type          boat\n  supply        12 V\n  rules         boat\n  waterline     150 mm\n  \
          at            forward 850 mm, left 1000 mm, up 200 mm\n  spans         back 5400 mm, right 2000 mm, up 2300 mm\n\n\
          exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       deck, hole 30 mm, sealed\n  \
          down          160 mm\n  right         300 mm, down 30 mm\n  drain-hole    4 mm\n  right         390 mm, up 60 mm\n  ends          facing right",
    good: "vehicle bench-van\n  type          boat\n  supply        12 V\n  rules         boat\n  waterline     150 mm\n  \
           at            forward 850 mm, left 1000 mm, up 200 mm\n  spans         back 5400 mm, right 2000 mm, up 2300 mm\n\n\
           exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       deck, hole 30 mm, sealed\n  \
           down          160 mm\n  right         300 mm, down 30 mm\n  trap\n  right         390 mm, up 60 mm\n  ends          facing right",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::Exhaust, Need::ExhaustDrain]]).only(when::boat)],
    find: exhaust_drain_in_hull,
};

static EXHAUST_LOW_OVER_WATERLINE: Rule = Rule {
    name: "exhaust-low-over-waterline",
    family: Family::Combustion,
    severity: Severity::Warning,
    title: "a boat's exhaust that does not rise far enough above the waterline",
    source: "common practice, no source: a gooseneck at least 250 mm above the waterline",
    explanation: "Waves push water up the pipe. If no part of the pipe is well above the waterline, the water runs into \
                  the burner. A hull that heels puts the outlet under water.",
    mend: "Lead the pipe up in a gooseneck, at least 250 mm above the waterline, and fit a trap before it.",
    bad: "vehicle bench-van\n  type          boat\n  supply        12 V\n  rules         boat\n  waterline     400 mm\n  \
          at            forward 850 mm, left 1000 mm, up 200 mm\n  spans         back 5400 mm, right 2000 mm, up 2300 mm\n\n\
          exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       deck, hole 30 mm, sealed\n  \
          down          60 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    good: "vehicle bench-van\n  type          boat\n  supply        12 V\n  rules         boat\n  waterline     300 mm\n  \
           at            forward 850 mm, left 1000 mm, up 200 mm\n  spans         back 5400 mm, right 2000 mm, up 2300 mm\n\n\
          exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       deck, hole 30 mm, sealed\n  \
          down          60 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[Cause::on_block("exhaust-near-waterline")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::PORT, &[Need::ExhaustEnds, Need::ExhaustRise, Need::Waterline]])
        .only(when::boat)],
    find: exhaust_low_over_waterline,
};

static EXHAUST_END_FACES_FORWARD: Rule = Rule {
    name: "exhaust-end-faces-forward",
    family: Family::Combustion,
    severity: Severity::Warning,
    title: "an exhaust outlet that faces forward",
    source: "common practice, no source",
    explanation: "While the vehicle drives, wind blows into an outlet that faces forward. It presses the flame back or \
                  blows it out, and drives in rain and mud.",
    mend: "End it facing to the side, or down and to the side.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
          down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing forward",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ExhaustEnds, Need::VehicleType]])],
    find: |findings| faces_forward(findings, Kind::Exhaust),
};

static EXHAUST_END_FACES_UP: Rule = Rule {
    name: "exhaust-end-faces-up",
    family: Family::Combustion,
    severity: Severity::Warning,
    title: "an exhaust outlet that faces up",
    source: "common practice, no source",
    explanation: "Rain and snow fall into an outlet that faces up. The water runs down to the burner, or freezes in the \
                  lowest place.",
    mend: "Turn the end to the side or down.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
          down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing up",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ExhaustEnds]])],
    find: exhaust_end_faces_up,
};

static EXHAUST_END_LOW: Rule = Rule {
    name: "exhaust-end-low",
    family: Family::Combustion,
    severity: Severity::Error,
    title: "an exhaust outlet in snow or splash",
    source: "the job's `snow-depth`, life safety, trialfit's own rule; else common practice, no source: 150 mm above the ground",
    explanation: "Snow over the outlet blocks it. The gas collects in the hollow that its heat melts, under the vehicle \
                  and beside its doors. Water and mud block the outlet, too. Heights count from the ground unless the \
                  vehicle says `up-from floor`; then `floor-height` says how high that lies.",
    mend: "End the exhaust higher than the snow lies there, on the side where it is cleared.",
    bad: "job \"In the snow\"\n  design-cold   -15 °C\n  altitude      0 m .. 600 m\n  snow-depth    500 mm\n\n\
          combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  forward       500 mm\n  ends          facing down",
    good: "job \"In the snow\"\n  design-cold   -15 °C\n  altitude      0 m .. 600 m\n  snow-depth    300 mm",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::EXHAUST_END, &[Need::ExhaustHeight, Need::SnowDepth]]).only(when::not_a_boat),
        Ask::each(Kind::Heater, &[groups::PORT]).only(when::placed),
    ],
    find: |findings| ends_low(findings, Kind::Exhaust),
};

static EXHAUST_END_AT_TAIL: Rule = Rule {
    name: "exhaust-end-at-tail",
    family: Family::Combustion,
    severity: Severity::Warning,
    title: "an exhaust outlet that faces back near rear doors or windows",
    source: "common practice, no source: not within 500 mm of the rear edge and facing back where rear doors or windows \
             lead to people; 49 CFR 393.77(b)(9) (from memory) asks that as little gas as possible comes back in",
    explanation: "Behind a moving vehicle the air whirls and sucks at rear doors and their seals. Gas let out there is \
                  drawn in, even at a distance that is enough when the vehicle stands.",
    mend: "End the exhaust at the side, well before the rear edge.",
    bad: "vehicle bench-van\n  type          van\n  supply        12 V\n  rules         none\n  floor-height  600 mm\n  \
          at            forward 850 mm, left 1000 mm, up 200 mm\n  spans         back 3400 mm, right 2000 mm, up 2300 mm\n\n\
          space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       all, 28 m², plywood 4 mm, pe-foam 10 mm, steel 0.9 mm\n  air-changes   1 /h\n  \
          at            back 700 mm, left 900 mm, up 600 mm\n  spans         back 1850 mm, right 1800 mm, up 1700 mm\n\n\
          tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       10 L\n  at            back 2100 mm, left 450 mm, up 250 mm\n\n\
          fuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  clips-every   250 mm\n  up            300 mm\n  forward       40 mm\n  right         400 mm\n  pump          outlet up 20°, soft-mounted\n  \
          forward       40 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n\n\
          opening rear-hatch\n  kind          door\n  into          cabin\n  at            back 2550 mm, left 900 mm, up 1300 mm\n  \
          spans         right 600 mm, up 500 mm\n\nexhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  \
          passage       floor, hole 30 mm, sealed\n  down          140 mm\n  back          670 mm, down 30 mm\n  ends          facing back",
    good: "vehicle bench-van\n  type          van\n  supply        12 V\n  rules         none\n  floor-height  600 mm\n  \
          at            forward 850 mm, left 1000 mm, up 200 mm\n  spans         back 3400 mm, right 2000 mm, up 2300 mm\n\n\
          space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       all, 28 m², plywood 4 mm, pe-foam 10 mm, steel 0.9 mm\n  air-changes   1 /h\n  \
          at            back 700 mm, left 900 mm, up 600 mm\n  spans         back 1850 mm, right 1800 mm, up 1700 mm\n\n\
          tank main\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       10 L\n  at            back 2100 mm, left 450 mm, up 250 mm\n\n\
          fuel-line of reader\n  from          main by standpipe\n  line          2.2 mm\n  clips-every   250 mm\n  up            300 mm\n  forward       40 mm\n  right         400 mm\n  pump          outlet up 20°, soft-mounted\n  \
          forward       40 mm\n  right         320 mm\n  up            60 mm\n  ends          at reader\n\n\
          opening rear-hatch\n  kind          door\n  into          cabin\n  at            back 2550 mm, left 900 mm, up 1300 mm\n  \
          spans         right 600 mm, up 500 mm",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[Cause::on_block("exhaust-near-opening")],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::EXHAUST_END, &[Need::VehicleType, Need::LookedForOpenings, Need::WhenUsed]]),
        Ask::each(Kind::Heater, &[groups::PORT]).only(when::placed),
        Ask::each(Kind::Heater, &[&[Need::VehicleAt, Need::VehicleSpans, Need::OpeningAt, Need::OpeningSpans]])
            .only(when::placed),
    ],
    find: exhaust_end_at_tail,
};

static COMBUSTION_AIR_FACES_FORWARD: Rule = Rule {
    name: "combustion-air-faces-forward",
    family: Family::Combustion,
    severity: Severity::Warning,
    title: "a combustion-air intake that faces forward",
    source: "common practice, no source",
    explanation: "While the vehicle drives, wind presses rain, spray and snow into an intake that faces forward. It also \
                  presses in more air than the burner was set for.",
    mend: "End the hose facing back, to the side or down.",
    bad: "combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
          forward       500 mm, down 10 mm\n  ends          facing forward",
    good: "combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          140 mm\n  \
           forward       500 mm, down 10 mm\n  ends          facing down",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::CombustionAirEnds, Need::VehicleType]])],
    find: |findings| faces_forward(findings, Kind::CombustionAir),
};

static COMBUSTION_AIR_END_LOW: Rule = Rule {
    name: "combustion-air-end-low",
    family: Family::Combustion,
    severity: Severity::Warning,
    title: "a combustion-air intake in snow or splash",
    source: "the job's `snow-depth`; else common practice, no source: 150 mm above the ground",
    explanation: "Snow, slush and spray block an intake near the ground. The flame starves: it soots, makes carbon \
                  monoxide and goes out.",
    mend: "Draw the air from higher up, behind a sill or a frame member.",
    bad: "job \"In the snow\"\n  design-cold   -15 °C\n  altitude      0 m .. 600 m\n  snow-depth    400 mm\n\n\
          combustion-air of reader\n  hose          intake-25\n  passage       floor, hole 30 mm, sealed\n  down          240 mm\n  \
          forward       500 mm, down 10 mm\n  ends          facing down",
    good: "job \"In the snow\"\n  design-cold   -15 °C\n  altitude      0 m .. 600 m\n  snow-depth    300 mm",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::INTAKE_END, &[Need::CombustionAirHeight, Need::SnowDepth]])
            .only(when::not_a_boat),
        Ask::each(Kind::Heater, &[groups::PORT]).only(when::placed),
    ],
    find: |findings| ends_low(findings, Kind::CombustionAir),
};

static COMBUSTION_AIR_NEAR_TYRE: Rule = Rule {
    name: "combustion-air-near-tyre",
    family: Family::Combustion,
    severity: Severity::Warning,
    title: "a combustion-air intake where a wheel throws water and mud",
    source: "common practice, no source: 300 mm from a tyre",
    explanation: "A wheel throws water, slush and mud at what is behind and beside it. An intake there can be blocked \
                  after one drive in winter.",
    mend: "Move the intake away from the wheel, or behind a frame member that shields it.",
    bad: "keep-clear wheel\n  kind          tyre\n  at            back 1000 mm, right 700 mm, up 0 mm\n  \
          spans         back 600 mm, left 500 mm, up 650 mm",
    good: "keep-clear wheel\n  kind          tyre\n  at            back 500 mm, right 950 mm, up 0 mm\n  \
           spans         forward 650 mm, left 200 mm, up 650 mm",
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::INTAKE_END, &[Need::KeepClearKind]]),
        Ask::each(
            Kind::Heater,
            &[groups::KEEP_CLEAR, &[Need::HeaterAt, Need::KeepClearRides, Need::CombustionAirRides]],
        )
        .only(when::placed),
    ],
    find: combustion_air_near_tyre,
};

/// A temperature as the author reads it, to whole degrees.
fn degrees(unit: &Unit, at: Temperature) -> String {
    unit.show_to(at.in_kelvin(), 1.0)
}

fn percent(share: f64) -> String {
    unit_or(None, "%").show_to(share, 10.0)
}

/// The burners with their heaters and sheets.
fn burners<'a>(
    findings: &Findings<'a>,
) -> impl Iterator<Item = (&'a Burner, &'a Heater, Option<&'a HeaterSheet>)> + use<'a> {
    let (job, figures) = (findings.job, findings.figures);
    figures.burners.iter().filter_map(move |burner| {
        job.heaters.get(burner.heater).map(|heater| (burner, heater, job.sheet_of(burner.heater)))
    })
}

fn altitude_above_sheet(findings: &mut Findings<'_>) {
    let job = findings.job;
    for (burner, heater, sheet) in burners(findings) {
        let (Some(sheet), Some(used)) = (sheet, job.conditions.altitude.fact()) else { continue };
        let Some(allowed) = sheet.altitude.fact() else { continue };
        let told = || {
            let whose = Whose::Sheet(sheet.name.clone());
            Told::new(used.written, "height above the sea", used.value.unit, whose)
        };
        // The whole of a range of heights is what the heater has to bear: none of it is a doubt.
        if findings.at_most(used.value.high, allowed.value.high, 1e-6, told).keeps() {
            continue;
        }
        let (up_to, limit) = (used.value.show(used.value.high), allowed.value.show(allowed.value.high));
        let left = burner.at_altitude.map_or(String::new(), |found| {
            format!(
                "; of the {} of excess air that the sheet states, {} is left there",
                percent(found.excess),
                percent(found.left)
            )
        });
        let finding = findings
            .at(
                used.written,
                format!("`{}` is used up to {up_to}; data sheet `{}` allows {limit}", heater.name, sheet.name),
            )
            .label(format!("{up_to} above the sea"))
            .why(format!("thin air holds less oxygen, but the pump doses the same fuel{left}"))
            .limit(format!("{limit} above the sea"), Whose::Sheet(sheet.name.clone()))
            .help("ask the maker for the adjustment or kit for that altitude, or stay below the limit")
            .related(heater.header, "this heater")
            .related(allowed.written, format!("the sheet's limit, {limit}"));
        findings.add(finding);
    }
}

fn excess_air_runs_out(findings: &mut Findings<'_>) {
    for (burner, heater, sheet) in burners(findings) {
        let Some(found) = burner.at_altitude else { continue };
        if sheet.is_some_and(|sheet| sheet.corrects_altitude.is_some()) {
            continue;
        }
        // Where the maker allows that altitude, a thin rest is the maker's business; a flame that lacks air is nobody's.
        let allowed = sheet.and_then(|sheet| sheet.altitude.get());
        let least =
            if allowed.is_some_and(|allowed| found.altitude <= allowed.high + 1e-6) { 0.0 } else { LEAST_EXCESS };
        let told =
            || Told::new(heater.header, "excess air left at altitude", unit_or(None, "%"), Whose::CommonPractice);
        if findings.at_least(found.left, least, 1e-9, told).keeps() {
            continue;
        }
        let high = found.unit.show(found.altitude);
        let day = degrees(burner.degrees, found.day);
        let day =
            if found.standard { format!("on a standard day of {day}") } else { format!("at design cold ({day})") };
        let title = if found.left < 0.0 {
            format!("`{}` lacks {} of the air that its fuel needs at {high}", heater.name, percent(-found.left))
        } else {
            format!(
                "`{}` has {} of excess air left at {high}; at least {} is needed",
                heater.name,
                percent(found.left),
                percent(LEAST_EXCESS)
            )
        };
        let gone = found.runs_out.map_or(String::new(), |gone| {
            let hundred = if found.unit.spelling == "ft" { 30.48 } else { 10.0 };
            format!("; the excess is used up at about {}", found.unit.show((gone / hundred).round() * hundred))
        });
        let mut finding = findings
            .at(heater.header, title)
            .label(format!("at {high} above the sea"))
            .why(format!(
                "the excess is {} at sea level; here, {day}, the air is {} times as dense and the fuel {} times{gone}",
                percent(found.excess),
                rounded(found.air_ratio),
                rounded(found.fuel_ratio)
            ))
            .limit(
                if found.left < 0.0 {
                    "all the air that its fuel needs".to_string()
                } else {
                    format!("{} of excess air", percent(LEAST_EXCESS))
                },
                if found.left < 0.0 { Whose::LifeSafety } else { Whose::CommonPractice },
            )
            .help("use a heater that its maker allows at that altitude, or ask the maker for its adjustment; a sheet of a heater that meters less fuel up there says `corrects-altitude`")
            .related(found.place, "the altitude");
        if found.left >= 0.0 {
            finding.severity = Severity::Warning;
        }
        if let Some(place) = sheet.and_then(|sheet| sheet.excess_air.place()) {
            finding = finding.related(place, "the sheet's excess air");
        }
        findings.add(finding);
    }
}

/// A limit of a sheet's statement.
fn sheet_limit(sheet: &HeaterSheet, value: f64, unit: &'static Unit, place: Place) -> Limit {
    Limit { value, whose: Whose::Sheet(sheet.name.clone()), place: Some(place), unit }
}

fn combustion_pressure_high(findings: &mut Findings<'_>) {
    let job = findings.job;
    for (burner, heater, sheet) in burners(findings) {
        let (Some(sheet), Some(loss)) = (sheet, burner.loss) else { continue };
        let Some(allowed) = sheet.combustion_pressure.fact() else { continue };
        let limit = sheet_limit(sheet, allowed.value.nominal, allowed.value.unit, allowed.written);
        let total = loss.exhaust + loss.air;
        let unit = allowed.value.unit;
        let place = burner.exhaust.and_then(|run| job.runs.get(run)).map_or(heater.header, |run| run.header);
        let told = || (place, "resistance of exhaust and combustion air");
        let Some(broken) = above(findings, Interval::exact(total), &limit, |_| unit, told) else { continue };
        let finding = findings
            .at(
                place,
                format!(
                    "the resistance of exhaust and combustion air of `{}` is {}; data sheet `{}` allows {}",
                    heater.name,
                    broken.so_much,
                    sheet.name,
                    limit.shown()
                ),
            )
            .label(format!("{} from the exhaust", unit.show(loss.exhaust)))
            .why(format!(
                "at the highest output {} comes from the exhaust and {} from the combustion air; the flame gets too little air",
                unit.show(loss.exhaust),
                unit.show(loss.air)
            ))
            .help(format!("shorten or widen either side, or take out bends: it has to come down by {}", broken.beyond))
            .related(heater.header, "this heater");
        let mut finding = limited(finding, &broken, &limit, "on both sides together");
        if total < SURELY_ABOVE * limit.value {
            finding.severity = Severity::Warning;
        }
        if let Some(run) = burner.combustion_air.and_then(|run| job.runs.get(run)) {
            finding = finding.related(run.header, format!("{} here", unit.show(loss.air)));
        }
        findings.add(finding);
    }
}

/// Exhaust and combustion air of a heater whose sheet limits both together.
fn shared<'a>(findings: &Findings<'a>) -> Vec<(&'a Heater, &'a HeaterSheet, &'a WayLimit, &'a Way, &'a Way)> {
    let (job, figures) = (findings.job, findings.figures);
    let mut found = Vec::new();
    for (burner, heater, sheet) in burners(findings) {
        let Some((sheet, limit)) =
            sheet.and_then(|sheet| sheet.exhaust_and_air_limit.as_ref().map(|limit| (sheet, limit)))
        else {
            continue;
        };
        let way = |run: Option<usize>| {
            run.and_then(|run| figures.ways.iter().find(|way| way.run == run && way.outlet.is_none()))
        };
        if let (Some(exhaust), Some(air)) = (way(burner.exhaust), way(burner.combustion_air))
            && job.header.is_some()
        {
            found.push((heater, sheet, limit, exhaust, air));
        }
    }
    found
}

fn exhaust_and_air_too_long(findings: &mut Findings<'_>) {
    for (heater, sheet, stated, exhaust, air) in shared(findings) {
        let length = &stated.length;
        let limit = sheet_limit(sheet, length.value.nominal, length.value.unit, length.written);
        let unit = lengths(exhaust.unit);
        let told = || (exhaust.place, "length of exhaust and combustion air together");
        let Some(broken) = above(findings, exhaust.length.plus(air.length), &limit, &unit, told) else { continue };
        let shown = |way: &Way| unit(way.length.nominal).show(way.length.nominal);
        let finding = findings
            .at(
                exhaust.place,
                format!(
                    "exhaust and combustion air of `{}` are {} long together; data sheet `{}` allows {}",
                    heater.name,
                    broken.so_much,
                    sheet.name,
                    limit.shown()
                ),
            )
            .label(format!("{} of exhaust", shown(exhaust)))
            .why(joined(&[
                &format!("{} of exhaust and {} of hose share one limit", shown(exhaust), shown(air)),
                &broken.end,
            ]))
            .help(format!("shorten one of the two by {}", broken.beyond))
            .related(air.place, format!("{} of combustion air", shown(air)))
            .related(heater.header, "this heater");
        findings.add(limited(finding, &broken, &limit, "of exhaust and combustion air together"));
    }
}

fn exhaust_and_air_bends_too_many(findings: &mut Findings<'_>) {
    for (heater, sheet, stated, exhaust, air) in shared(findings) {
        let (Some(most), Some((of_exhaust, of_air))) = (stated.bends, exhaust.bends.zip(air.bends)) else { continue };
        let limit = sheet_limit(sheet, most.value.nominal, most.value.unit, most.written);
        let unit = unit_or(None, "°");
        // Legs are measured by hand: half a degree in the sum of bends is no finding.
        let told = || (exhaust.place, "sum of bends of exhaust and combustion air together");
        let sum = of_exhaust.plus(of_air);
        let Some(broken) = above_by(findings, sum, &limit, HALF_A_DEGREE, |_| unit, told) else { continue };
        let finding = findings
            .at(
                exhaust.place,
                format!(
                    "the bends in exhaust and combustion air of `{}` total {}; data sheet `{}` allows {}",
                    heater.name,
                    broken.so_much,
                    sheet.name,
                    limit.shown()
                ),
            )
            .label(format!("{} in the exhaust", unit.show(of_exhaust.nominal)))
            .why(joined(&[
                &format!(
                    "{} in the exhaust and {} in the hose share one limit",
                    unit.show(of_exhaust.nominal),
                    unit.show(of_air.nominal)
                ),
                &broken.end,
            ]))
            .help(format!("let one slanting leg replace two: bends of {} have to go", broken.beyond))
            .related(air.place, format!("{} in the combustion air", unit.show(of_air.nominal)))
            .related(heater.header, "this heater");
        findings.add(limited(finding, &broken, &limit, "of bends in both together"));
    }
}

fn asked_part_missing(findings: &mut Findings<'_>) {
    let job = findings.job;
    for (burner, heater, sheet) in burners(findings) {
        let Some(sheet) = sheet else { continue };
        for asked in &sheet.asks_for {
            let (run, part, word) = match asked.value {
                "exhaust-silencer" => (burner.exhaust, "silencer", "silencer"),
                "intake-silencer" => (burner.combustion_air, "silencer", "silencer"),
                "drain-hole" => (burner.exhaust, "drain hole", "drain-hole"),
                _ => continue,
            };
            let Some(run) = run.and_then(|run| job.runs.get(run)) else { continue };
            let fitted = run.steps.iter().any(|step| match step.met {
                Met::Silencer(_) => word == "silencer",
                // In a boat a closed trap stands in for it.
                Met::DrainHole(_) | Met::Trap => word == "drain-hole",
                // A line that was not understood may be it.
                Met::Gap => true,
                _ => false,
            });
            if fitted {
                continue;
            }
            let reads = job.reads(run);
            let finding = findings
                .at(run.header, format!("`{reads}` has no {part}; data sheet `{}` asks for one", sheet.name))
                .label(format!("no {part} anywhere along it"))
                .why(format!("`{}` must not be fitted without it", heater.name))
                .limit(format!("a {part}"), Whose::Sheet(sheet.name.clone()))
                .help(format!("fit one and write `{word}` where it sits"))
                .related(heater.header, "this heater")
                .related(asked.written, "the sheet asks for it here");
            findings.add(finding);
        }
    }
}

/// The hottest exhaust gas to reckon with where nobody states it, °C. Common practice, no source.
const HOTTEST_GAS: f64 = 500.0;

fn exhaust_cannot_bear_heat(findings: &mut Findings<'_>) {
    let job = findings.job;
    for (burner, heater, sheet) in burners(findings) {
        let Some(run) = burner.exhaust.and_then(|run| job.runs.get(run)) else { continue };
        for (number, step) in run.steps.iter().enumerate() {
            let Met::Tube(tube) = &step.met else { continue };
            // The gas where this tube begins: at the port, or at the first leg after it.
            let begins = burner
                .heats
                .iter()
                .find(|heat| run.walk.stretches.get(heat.stretch).is_some_and(|stretch| stretch.step >= number));
            let gas = begins.map(|heat| heat.gas.0).or(burner.port.map(|(port, _)| port));
            let is = burner.port.map_or("is", |(_, stated)| if stated { "is" } else { "may be" });
            let what = tube.sheet.as_ref().map_or("this pipe".to_string(), |sheet| format!("`{sheet}`"));
            let whose_sheet = || tube.sheet.clone().map_or(Whose::Job, Whose::Sheet);
            let made = tube.material.map(|material| (material, material.in_exhaust()));
            // What its sheet says it bears, else what its material does.
            let bears = match (tube.bears.fact(), made) {
                (Some(bears), _) => {
                    Some((bears.value.high, bears.value.unit, bears.written, "the heat that it bears", whose_sheet()))
                }
                (None, Some((_, InExhaust::Bears(bears)))) => Some((
                    bears.in_kelvin(),
                    burner.degrees,
                    tube.material_place.unwrap_or(step.place),
                    "what it is made of",
                    Whose::CommonPractice,
                )),
                (None, Some((_, InExhaust::Never)) | None) => None,
            };
            let reckoned = gas.unwrap_or(Temperature::celsius(HOTTEST_GAS));
            let too_hot = bears.filter(|(bears, unit, .., whose)| {
                let told =
                    || Told::new(step.place, "temperature of the gas where the pipe begins", unit, whose.clone());
                // Without a temperature at the port nothing is measured: the sheet's own figure is then left alone.
                (gas.is_some() || tube.bears.fact().is_none())
                    && !findings.at_most(reckoned.in_kelvin(), *bears, 0.5, told).keeps()
            });
            let about = gas.map_or("some 200 °C to 500 °C".to_string(), |gas| degrees(burner.degrees, gas));
            let finding = match (too_hot, made) {
                (Some((bears, unit, place, label, whose)), _) => {
                    let limit = unit.show(bears);
                    let gas = gas.map_or(about, |gas| degrees(unit, gas));
                    let what = match (tube.bears.fact(), tube.material) {
                        (None, Some(material)) => material.word().to_string(),
                        _ => what,
                    };
                    findings
                        .at(step.place, format!("the gas in `{}` {is} {gas} hot; {what} bears {limit}", job.reads(run)))
                        .label(format!("gas of {gas} where it begins"))
                        .why("a pipe that softens or burns lets the gas out where nobody looks")
                        .limit(limit, whose)
                        .help("use stainless steel pipe that bears the heat of the gas")
                        .related(place, label)
                }
                (None, Some((material, InExhaust::Never))) => {
                    let word = material.word();
                    findings
                        .at(step.place, format!("`{}` is of {word}; its gas {is} {about} hot", job.reads(run)))
                        .label(format!("{word} from here on"))
                        .why("it melts or burns, and lets the gas out where nobody looks")
                        .limit("metal that bears the heat of the gas, and nothing else", Whose::LifeSafety)
                        .help("use stainless steel pipe made for exhaust gas")
                }
                // `pipe` is metal by its word; a hose may be of anything.
                (None, None) if tube.word == "hose" && tube.bears.fact().is_none() => findings
                    .at(
                        step.place,
                        format!("nobody says what the hose of `{}` is of; its gas {is} {about} hot", job.reads(run)),
                    )
                    .label("a hose of unknown material from here on")
                    .why("most hoses melt or burn in exhaust gas, and let it out where nobody looks")
                    .limit("metal that bears the heat of the gas, and nothing else", Whose::LifeSafety)
                    .help("use stainless steel pipe made for exhaust gas, or state what the hose is made of"),
                _ => continue,
            };
            let mut finding = finding.related(heater.header, "this heater");
            let place = sheet.and_then(|sheet| sheet.exhaust_temperature.place());
            if let Some(place) = place {
                finding = finding.related(place, "the temperature of the gas at the port");
            }
            findings.add(finding);
        }
    }
}

fn exhaust_hot_to_touch(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    let legal = job.vehicle.as_ref().is_some_and(|(vehicle, _)| vehicle.rules.contains(&"un-r122"));
    let people = |clearance: &&Clearance| {
        keep_clear_kind(job, clearance.target) == Some("occupants") && clearance.worst < IN_REACH - SAME
    };
    for clearance in figures.clearances.iter().filter(people) {
        let Some((run, Target::KeepClear(zone))) = job.runs.get(clearance.exhaust).map(|run| (run, clearance.target))
        else {
            continue;
        };
        let Some(zone) = job.runs.get(zone) else { continue };
        let burner = figures.burners.iter().find(|burner| burner.exhaust == Some(clearance.exhaust));
        let stretch = run.walk.stretches.iter().position(|stretch| stretch.place == clearance.place);
        let hottest = |burner: &'_ Burner| {
            let heats = burner.heats.iter().enumerate();
            let hottest =
                heats.max_by(|one, other| one.1.surface.0.in_kelvin().total_cmp(&other.1.surface.0.in_kelvin()));
            hottest.map(|(number, _)| number)
        };
        let heat = burner.and_then(|burner| {
            // A tape says how near, and not which part of the pipe: it may be the hottest.
            let at = match clearance.between {
                Some(_) => burner.heats.iter().position(|heat| Some(heat.stretch) == stretch),
                None => hottest(burner),
            };
            burner.heats.get(at?).map(|heat| (burner, heat))
        });
        let Some((burner, heat)) = heat else {
            if !clearance.covered {
                findings.cannot_judge(
                    run.header,
                    format!("people may touch it at `{}`, and it is not known how hot it is there: the heater's data sheet lacks `fuel-rate` or `excess-air`, or the pipe states no bore", job.reads(zone)),
                );
            }
            continue;
        };
        // A shield or a floor between keeps hands off; lagging only keeps heat in.
        if clearance.covered && !heat.lagged {
            continue;
        }
        let surface = heat.surface.0;
        let (word, asked) = match (legal, heat.lagged) {
            (true, false) => ("bare metal", LEGAL_METAL),
            (true, true) => ("lagging", LEGAL_LAGGING),
            (false, false) => ("bare metal", METAL_BURNS),
            (false, true) => ("lagging", LAGGING_BURNS),
        };
        let unit = burner.degrees;
        let (most, law) = (Temperature::celsius(asked).in_kelvin(), touch_law(legal, false));
        let told = || Told::new(clearance.at(), format!("temperature of {word} in reach of people"), unit, law);
        if findings.at_most(surface.in_kelvin(), most, 1e-9, told).keeps() {
            continue;
        }
        let (at_least, limit) =
            (if heat.lagged { "" } else { "at least " }, degrees(unit, Temperature::celsius(asked)));
        let far = unit_of(run);
        // Whose the limit that is named is; past what the law bears of anybody the error is trialfit's own.
        let whose = touch_law(legal, surface.in_celsius() > LEGAL_MOST);
        let touch = if clearance.worst < SAME {
            "touches".to_string()
        } else {
            format!("passes {} from", far.show(clearance.worst))
        };
        let mut finding = findings
            .at(
                clearance.at(),
                format!(
                    "`{}` {touch} `{}` and is {at_least}{} hot outside; at most {limit} is allowed in reach of people",
                    job.reads(run),
                    job.reads(zone),
                    degrees(unit, surface)
                ),
            )
            .label(format!("{word}, {at_least}{}", degrees(unit, surface)))
            .why(format!(
                "at the highest output the gas in it is {} hot; skin burns within a second on metal of {}",
                degrees(unit, heat.gas.0),
                degrees(unit, Temperature::celsius(METAL_BURNS))
            ))
            .limit(format!("{limit} on {word} that people can touch"), whose)
            .help(format!(
                "put a `shield` along it, {}, or lead it where nobody can reach it",
                if heat.lagged { "lag it more thickly" } else { "lag it" }
            ))
            .related(zone.header, "people come here");
        if surface.in_celsius() <= LEGAL_MOST {
            finding.severity = Severity::Warning;
        }
        findings.add(finding);
    }
}

fn touch_law(legal: bool, past_what_anybody_bears: bool) -> Whose {
    Whose::Standard(match (legal, past_what_anybody_bears) {
        (true, false) => "2001/56/EC annex V, carried into UN R122; check the text",
        (true, true) => "2001/56/EC annex V, carried into UN R122; an error above 110 °C by trialfit's own rule",
        (false, false) => "ISO 13732-1:2006 (from memory; check the text)",
        (false, true) => "ISO 13732-1:2006 (from memory); an error above 110 °C by trialfit's own rule",
    })
}

/// How long water takes to close a low point, in words.
fn closes_after(job: &Job, burner: &Burner, low: &LowPoint) -> Option<String> {
    let run = job.runs.get(low.run)?;
    let bore = run.steps.iter().find_map(|step| match &step.met {
        Met::Tube(tube) => tube.bore.get().map(|bore| bore.nominal),
        _ => None,
    })?;
    let water = burner.wet?.water;
    let time = time_to_fill(Length::metres(bore), Length::metres(low.length), MassFlow::kilograms_per_second(water))?;
    Some(format!(
        "at the lowest output and design cold up to {} of water settles here and blocks it within {}",
        unit_or(None, "L/h").show(water / 1000.0),
        unit_or(None, "h").show(time.in_seconds())
    ))
}

fn holds_water(findings: &mut Findings<'_>, kind: Kind) {
    let job = findings.job;
    let exhaust = kind == Kind::Exhaust;
    for (burner, heater, _) in burners(findings) {
        for low in burner.low_points.iter().filter(|low| !low.drained) {
            // A pipe that ends in a space is laid anew anyway.
            let laid = |run: &&Run| run.kind == kind && gas_ends_in(job, run).is_none();
            let Some(run) = job.runs.get(low.run).filter(laid) else { continue };
            let climbs = unit_of(run).show(low.depth);
            let title = if low.at_heater {
                format!("`{}` climbs {climbs} from the heater: its water runs back into the burner", job.reads(run))
            } else {
                format!("`{}` climbs {climbs} again after a low point without a drain", job.reads(run))
            };
            let why = if exhaust {
                closes_after(job, burner, low)
                    .unwrap_or_else(|| "water from the gas gathers here and freezes".to_string())
            } else {
                "spray and condensation run here and block the hose; the flame then starves".to_string()
            };
            let help = match (exhaust, job.of_boat()) {
                (true, true) => "fit a closed `trap` at the lowest place",
                (true, false) => {
                    "let it fall all the way to its end, or fit a `drain-hole` at the lowest place, outside"
                }
                (false, _) => "let it fall to its intake, or make a `drain-hole` at the lowest place, outside",
            };
            let finding = findings
                .at(low.place, title)
                .label("lowest here")
                .why(why)
                .limit("no low point without a drain", Whose::CommonPractice)
                .help(help)
                .related(heater.header, "this heater");
            findings.add(finding);
        }
    }
}

fn exhaust_leg_level(findings: &mut Findings<'_>) {
    let job = findings.job;
    for (burner, _, _) in burners(findings) {
        for level in &burner.level {
            let Some(run) = job.runs.get(level.run).filter(|run| gas_ends_in(job, run).is_none()) else { continue };
            let unit = unit_of(run);
            let told = || Told::new(level.place, "length that lies level", unit, Whose::CommonPractice);
            if findings.at_most(level.length, LEVEL_SILENT, SAME, told).keeps() {
                continue;
            }
            let long = unit.show(level.length);
            let mut finding = findings
                .at(level.place, format!("`{}` lies level for {long}; it needs a fall of 1 in 100", job.reads(run)))
                .label(format!("{long} without a fall"))
                .why("water from the gas stays where the pipe is level, rusts it and freezes")
                .limit("a fall of 1 in 100", Whose::CommonPractice)
                .help(format!(
                    "let it fall by {} towards its outlet",
                    unit.show((level.length / 20.0 * 1000.0).ceil() / 1000.0)
                ));
            if level.length <= LEVEL_SHORT + SAME {
                finding.severity = Severity::Advice;
            }
            findings.add(finding);
        }
    }
}

fn silencer_runs_wet(findings: &mut Findings<'_>) {
    let job = findings.job;
    for (burner, _, _) in burners(findings) {
        let (Some(wet), Some(run)) = (burner.wet, burner.exhaust.and_then(|run| job.runs.get(run))) else { continue };
        let Some(from) = wet.from_step else { continue };
        let drained =
            |after: usize| run.steps.iter().skip(after).any(|step| matches!(step.met, Met::DrainHole(_) | Met::Trap));
        for (number, step) in run.steps.iter().enumerate() {
            if !matches!(step.met, Met::Silencer(_)) || number < from || drained(number) {
                continue;
            }
            let finding = findings
                .at(
                    step.place,
                    format!(
                        "the silencer of `{}` stays below {}, the dew point of its gas",
                        job.reads(run),
                        degrees(burner.degrees, wet.dew_point)
                    ),
                )
                .label("water gathers in it")
                .why(format!(
                    "at the lowest output and design cold up to {} of water settles in this exhaust",
                    unit_or(None, "L/h").show(wet.water / 1000.0)
                ))
                .limit(
                    format!("{} at the wall of the pipe", degrees(burner.degrees, wet.dew_point)),
                    Whose::CommonPractice,
                )
                .help("fit it nearer to the heater, lag the pipe before it, or give it a `drain-hole`");
            findings.add(finding);
        }
    }
}

fn exhaust_drain_in_hull(findings: &mut Findings<'_>) {
    let job = findings.job;
    if !job.of_boat() {
        return;
    }
    for (_, run) in runs(job, Kind::Exhaust) {
        for (number, step) in run.steps.iter().enumerate() {
            let Met::DrainHole(width) = &step.met else { continue };
            // Inside a space the rule on joints and drains indoors says it.
            if space_of_step(job, run, number).is_some() {
                continue;
            }
            let here = run.walk.after.get(number).copied().flatten();
            let outside = here.zip(outline(job, run.body.as_deref())).is_some_and(|(here, hull)| {
                let (low, high, point) = (hull.low(), hull.high(), here.point);
                point.x < low.x || point.x > high.x || point.y < low.y || point.y > high.y || point.z > high.z
            });
            if outside {
                continue;
            }
            let finding = findings
                .at(
                    step.place,
                    format!(
                        "`{}` has an open drain hole of {} inside the hull",
                        job.reads(run),
                        width.show(width.nominal)
                    ),
                )
                .label("gas comes out here")
                .why("there is no open air below: the gas fills the bilge and the cabin")
                .limit("no open drain hole inside a hull", Whose::LifeSafety)
                .help("fit a closed `trap` in its place");
            findings.add(finding);
        }
    }
}

fn exhaust_low_over_waterline(findings: &mut Findings<'_>) {
    let job = findings.job;
    let Some(waterline) =
        job.vehicle.as_ref().filter(|_| job.of_boat()).and_then(|(vehicle, _)| vehicle.waterline.fact())
    else {
        return;
    };
    for (_, run) in runs(job, Kind::Exhaust) {
        if run.body.is_some() || run.walk.lost || run.walk.stretches.iter().any(|stretch| stretch.leg.is_none()) {
            continue;
        }
        let top = run.walk.legs().map(|(leg, ..)| leg.from.z.max(leg.to.z)).fold(f64::NEG_INFINITY, f64::max);
        let over = top - waterline.value.high;
        let unit = waterline.value.unit;
        let told = || Told::new(run.header, "highest place above the waterline", unit, Whose::CommonPractice);
        if !over.is_finite() || findings.at_least(over, OVER_WATERLINE, SAME, told).keeps() {
            continue;
        }
        let finding = findings
            .at(
                run.header,
                format!(
                    "the highest place of `{}` is {} above the waterline; at least {} is needed",
                    job.reads(run),
                    unit.show(over),
                    unit.show(OVER_WATERLINE)
                ),
            )
            .label(format!("its highest place is at up {}", unit.show(top)))
            .why("waves push water up the pipe, and the water runs into the burner")
            .limit(format!("{} above the waterline at least", unit.show(OVER_WATERLINE)), Whose::CommonPractice)
            .help(format!("lead it up in a gooseneck: {} more is needed", unit.show(OVER_WATERLINE - over)))
            .related(waterline.written, "the waterline");
        findings.add(finding);
    }
}

/// The kinds of vehicle that drive on roads.
fn drives(job: &Job) -> bool {
    let kind = job.vehicle.as_ref().and_then(|(vehicle, _)| vehicle.kind.get().copied());
    matches!(kind, Some("van" | "truck" | "tractor-unit" | "bus" | "motor-caravan" | "trailer"))
}

/// The way that an open end in the open air faces.
fn faces(job: &Job, run: &Run) -> Option<Direction> {
    match run.end.as_ref()?.value {
        End::Facing(direction, None) if gas_ends_in(job, run).is_none() => Some(direction),
        _ => None,
    }
}

fn faces_forward(findings: &mut Findings<'_>, kind: Kind) {
    let job = findings.job;
    if !drives(job) {
        return;
    }
    for (_, run) in runs(job, kind) {
        if run.body.is_some() || faces(job, run) != Some(Direction::Forward) {
            continue;
        }
        let (why, help) = if kind == Kind::Exhaust {
            (
                "while the vehicle drives, wind presses the gas back on the flame and drives in rain and mud",
                "end it facing to the side",
            )
        } else {
            (
                "while the vehicle drives, wind presses rain, spray and snow in",
                "end it facing back, to the side or down",
            )
        };
        let finding = findings
            .at(end_place(run), format!("`{}` faces forward, the way the vehicle drives", job.reads(run)))
            .label("it faces the wind here")
            .why(why)
            .limit("not facing the way it drives", Whose::CommonPractice)
            .help(help);
        findings.add(finding);
    }
}

fn exhaust_end_faces_up(findings: &mut Findings<'_>) {
    let job = findings.job;
    for (_, run) in runs(job, Kind::Exhaust) {
        if faces(job, run) != Some(Direction::Up) {
            continue;
        }
        let finding = findings
            .at(end_place(run), format!("`{}` ends facing up", job.reads(run)))
            .label("rain and snow fall in here")
            .why("the water runs down to the burner, or freezes in the lowest place")
            .limit("level, or facing down", Whose::CommonPractice)
            .help("turn the end to the side or down");
        findings.add(finding);
    }
}

fn ends_low(findings: &mut Findings<'_>, kind: Kind) {
    let job = findings.job;
    if job.of_boat() {
        return;
    }
    let exhaust = kind == Kind::Exhaust;
    for (number, run) in runs(job, kind) {
        if gas_ends_in(job, run).is_some() {
            continue;
        }
        let walked = open_end(run).filter(|_| run.body.is_none());
        let Some(known) = findings.figures.end_height(number, Datum::Ground) else {
            if walked.is_some() {
                findings.cannot_judge(
                    end_place(run),
                    "nobody knows how high this end is above the ground: heights count from the floor, and `floor-height` \
                     does not say how high that lies",
                );
            }
            continue;
        };
        let above = known.height;
        let snow = job.conditions.snow_depth.fact();
        // Where less snow lies than splash reaches, splash is what counts.
        let snow = snow.filter(|snow| snow.value.high >= ABOVE_SPLASH);
        let limit = snow.map_or(ABOVE_SPLASH, |snow| snow.value.high);
        let worst = above.low;
        let unit = unit_of(run);
        let whose_snow = if exhaust { Whose::LifeSafety } else { Whose::Job };
        let whose_limit = if snow.is_some() { whose_snow } else { Whose::CommonPractice };
        let told =
            || Told::new(end_place(run), "height of the outlet or intake above the ground", unit, whose_limit.clone());
        let verdict = findings.at_least(above, limit, SAME, told);
        if verdict.keeps() {
            continue;
        }
        let certain = verdict.certain();
        let (height, may) = if certain { (above.nominal, "") } else { (worst, "may be ") };
        let what = match snow {
            Some(snow) => format!("snow lies {} deep", snow.value.show(snow.value.high)),
            None => format!("at least {} is needed", unit.show(limit)),
        };
        let (verb, mouth) = if exhaust { ("ends", "exhaust outlet") } else { ("draws its air", "intake") };
        let mut finding = findings
            .at(
                end_place(run),
                format!("`{}` {verb} {may}{} above the ground; {what}", job.reads(run), unit.show(height)),
            )
            .label(match walked {
                Some(end) => format!("the {mouth} is at {}", place_reads(end.point, unit)),
                None => format!("{} above the ground by tape", unit.show(above.nominal)),
            })
            .why(if exhaust {
                "snow or mud over the outlet blocks it, and the gas gathers under the vehicle and beside its doors"
            } else {
                "snow, slush and spray block it, and the flame starves"
            })
            .limit(format!("more than {} above the ground", unit.show(limit)), whose_limit)
            .help(format!("end it {} higher", unit.show(limit - worst)));
        if !certain || snow.is_none() || !exhaust {
            finding.severity = Severity::Warning;
        }
        if let Some(snow) = snow {
            finding = finding.related(snow.written, "the depth of the snow");
        }
        if let Some((vehicle, _)) = &job.vehicle {
            finding = match (&vehicle.up_from, vehicle.origin.place()) {
                (Stated::Is(up_from), _) => finding.related(up_from.written, "heights count from here"),
                // The words of an origin are for people: they may say the floor.
                (_, Some(origin)) => finding.related(
                    origin,
                    "taken to be on the ground; if heights count from the floor, say `up-from floor` and `floor-height`",
                ),
                _ => finding,
            };
        }
        findings.add(finding);
    }
}

fn exhaust_end_at_tail(findings: &mut Findings<'_>) {
    let job = findings.job;
    let Some(body) = outline(job, None).filter(|_| drives(job)) else { return };
    let conditions = &job.conditions.used_while;
    if !conditions.is_empty() && !conditions.iter().any(|used| used.value == "driving") {
        return;
    }
    let tail = body.low().x;
    for (_, run) in runs(job, Kind::Exhaust) {
        let end = open_end(run).filter(|_| run.body.is_none() && faces(job, run) == Some(Direction::Back));
        let Some(end) = end else { continue };
        let rear = job.openings.iter().enumerate().find(|(number, opening)| {
            let at_rear = opening.area.is_some_and(|(area, _)| area.high().x <= tail + 0.3);
            at_rear && opening_is_lived_in(job, *number) && opening.opens.get() != Some(&"no")
        });
        let Some((_, opening)) = rear else { continue };
        let unit = unit_of(run);
        let told = || {
            Told::new(
                end_place(run),
                "distance from the rear edge of an outlet that faces back",
                unit,
                Whose::CommonPractice,
            )
        };
        if findings.at_least(end.point.x - tail, AT_TAIL, -1e-9, told).keeps() {
            continue;
        }
        let before = unit.show((end.point.x - tail).max(0.0));
        let finding = findings
            .at(
                end_place(run),
                format!(
                    "`{}` ends facing back, {before} from the rear edge; `{}` opens there",
                    job.reads(run),
                    opening.name
                ),
            )
            .label(format!("the exhaust outlet is at {}", place_reads(end.point, unit)))
            .why("behind a moving vehicle the air whirls, and draws gas in through rear doors and their seals")
            .limit(format!("{} from the rear edge, or facing to the side", unit.show(AT_TAIL)), Whose::CommonPractice)
            .help("end the exhaust at the side, well before the rear edge")
            .related(opening.header, "this opening");
        findings.add(finding);
    }
}

fn combustion_air_near_tyre(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for gap in figures.intakes.iter().filter(|_| job.header.is_some()) {
        let (Some(run), Some(tyre)) = (job.runs.get(gap.air), job.runs.get(gap.thing)) else { continue };
        if tyre.said.kind.get() != Some(&"tyre") {
            continue;
        }
        let (distance, nominal, place) = (gap.distance, gap.distance.nominal, gap.tape.unwrap_or(end_place(run)));
        let unit = unit_of(run);
        let told = || Told::new(place, "distance of the intake from a tyre", unit, Whose::CommonPractice);
        if findings.at_least(distance, FROM_TYRE, SAME, told).keeps() {
            continue;
        }
        let finding = findings
            .at(
                place,
                format!(
                    "`{}` draws its air {} from `{}`; at least {} is needed",
                    job.reads(run),
                    unit.show(nominal),
                    job.reads(tyre),
                    unit.show(FROM_TYRE)
                ),
            )
            .label(match open_end(run).filter(|_| gap.tape.is_none()) {
                Some(inlet) => format!("the intake is at {}", place_reads(inlet.point, unit)),
                None => "taken by tape".to_string(),
            })
            .why("the wheel throws water, slush and mud into it")
            .limit(format!("{} from a tyre", unit.show(FROM_TYRE)), Whose::CommonPractice)
            .help(format!(
                "move it away, or behind a frame member that shields it; {} more is needed",
                unit.show(FROM_TYRE - nominal)
            ))
            .related(tyre.header, "this wheel");
        findings.add(finding);
    }
    // Where an intake is known by tape, a tyre that no tape leads to is not judged.
    let by_tape = |(air, run): &(usize, &Run)| {
        let ends_outside = matches!(run.end.as_ref().map(|end| &end.value), Some(End::Facing(_, None) | End::Here));
        let taped = !run.said.measured.is_empty()
            || figures.taped.iter().any(|(_, target, _)| *target == Target::CombustionAir(*air));
        ends_outside && open_end(run).is_none() && taped
    };
    for (air, run) in runs(job, Kind::CombustionAir).filter(by_tape) {
        let known = figures.intakes.iter().filter(|gap| gap.air == air).map(|gap| gap.thing);
        let known: HashSet<usize> = known.collect();
        for (number, tyre) in runs(job, Kind::KeepClear).filter(|(_, tyre)| tyre.said.kind.get() == Some(&"tyre")) {
            if known.contains(&number) {
                continue;
            }
            let because = format!(
                "nobody measured how far the intake of `{}` is from it: write `measured … to {}` there",
                job.reads(run),
                job.reads(tyre)
            );
            findings.cannot_judge(tyre.header, because);
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::bench::judge_example;

    /// What the rules on combustion, and those on joints, say of an example: findings as `severity rule`, unjudged as `not judged rule`.
    fn said_of(example: &str) -> Vec<String> {
        let analysis = judge_example(example);
        let ours = |name: &str| super::RULES.iter().any(|rule| rule.name == name) || name == "exhaust-joint-inside";
        let found = analysis.standing().filter(|finding| ours(finding.rule.name));
        let mut said: Vec<String> =
            found.map(|finding| format!("{} {}", finding.severity.word(), finding.rule.name)).collect();
        // Facts that are missing are the law's matter (`tests/tests/silence.rs`): here, what a rule itself cannot judge.
        let unjudged = analysis.not_judged.iter().filter(|lack| lack.missing.is_none() && ours(lack.rule.name));
        said.extend(unjudged.map(|lack| format!("not judged {}", lack.rule.name)));
        said
    }

    fn job(more: &str) -> String {
        format!("job \"A case\"\n  design-cold -15 °C\n{more}")
    }

    fn vehicle(kind: &str) -> String {
        format!(
            "vehicle bench-van\n  type {kind}\n  supply 12 V\n  rules none\n  floor-height 600 mm\n  waterline 150 mm\n  \
             at forward 850 mm, left 1000 mm, up 200 mm\n  spans back 5400 mm, right 2000 mm, up 2300 mm"
        )
    }

    fn exhaust(lines: &str) -> String {
        format!("exhaust of reader\n  pipe steel, 24 mm bore, 27 mm outside\n{lines}")
    }

    const OUT: &str = "  passage floor, hole 60 mm, sealed\n  down 140 mm\n";
    const STEP: &str = "keep-clear step\n  kind occupants\n  at back 1700 mm, right 700 mm, up 300 mm\n  spans back 500 mm, right 500 mm, up 120 mm";
    const SILENT_SHEET: &str = "heater reader\n  datasheet gone\n  in cabin\n  heats cabin\n  at back 1900 mm, right 310 mm, up 670 mm\n  warm-end forward";

    #[test]
    fn each_cause_is_said_once_and_what_is_right_is_not_said() {
        let side = |ends: &str| exhaust(&format!("{OUT}  right 690 mm, down 30 mm\n  ends facing {ends}"));
        let cases: Vec<(&str, String, &[&str])> = vec![
            ("the bench job", String::new(), &[]),
            ("nothing known of altitude", job(""), &[]),
            ("as high as the sheet allows", job("  altitude 0 m .. 1500 m"), &[]),
            // The air is gone there too, which is one cause.
            ("far above the sheet", job("  altitude 0 m .. 3600 m"), &["error altitude-above-sheet"]),
            ("no sheet to read", SILENT_SHEET.to_string(), &[]),
            ("snow as high as the end", job("  altitude 0 m\n  snow-depth 345 mm"), &[]),
            (
                "snow over both ends",
                job("  altitude 0 m\n  snow-depth 500 mm"),
                &["error exhaust-end-low", "warning combustion-air-end-low"],
            ),
            (
                "only the doubt reaches into the snow",
                format!(
                    "{}\n\n{}",
                    job("  altitude 0 m\n  snow-depth 430 mm"),
                    exhaust("  passage floor, hole 60 mm, sealed\n  down 140 mm ± 20 mm\n  right 690 mm, down 30 mm\n  ends facing right")
                ),
                &["warning exhaust-end-low"],
            ),
            ("a shelter drives nowhere", format!("{}\n\n{}", vehicle("shelter"), side("forward")), &[]),
            ("a van does", format!("{}\n\n{}", vehicle("van"), side("forward")), &["warning exhaust-end-faces-forward"]),
            ("people near a bare pipe", STEP.to_string(), &["error exhaust-hot-to-touch"]),
            (
                "people near a pipe that nobody knows the heat of",
                format!("{STEP}\n\n{SILENT_SHEET}"),
                &["not judged exhaust-hot-to-touch"],
            ),
            (
                "people above the floor",
                STEP.replace("up 300 mm", "up 650 mm"),
                &[],
            ),
            (
                "lagging that is thick enough",
                format!("{STEP}\n\n{}", exhaust(&format!("{OUT}  lagged 20 mm\n  right 690 mm, down 30 mm\n  ends facing right"))),
                &[],
            ),
            (
                "lagging that is too thin",
                format!("{STEP}\n\n{}", exhaust(&format!("{OUT}  lagged 3 mm\n  right 690 mm, down 30 mm\n  ends facing right"))),
                &["warning exhaust-hot-to-touch"],
            ),
            (
                "a gooseneck with a trap is right in a boat",
                format!(
                    "{}\n\n{}",
                    vehicle("boat"),
                    exhaust("  trap\n  passage deck, hole 60 mm, sealed\n  down 40 mm\n  right 100 mm, up 250 mm\n  right 590 mm, down 300 mm\n  ends facing right")
                ),
                // The trap stands before the lowest place.
                &["warning exhaust-holds-water"],
            ),
            (
                "the trap at the lowest place",
                format!(
                    "{}\n\n{}",
                    vehicle("boat"),
                    exhaust("  passage deck, hole 60 mm, sealed\n  down 40 mm\n  trap\n  right 100 mm, up 250 mm\n  right 590 mm, down 300 mm\n  ends facing right")
                ),
                &[],
            ),
            (
                "a drain indoors is a drain indoors, in a boat too",
                format!(
                    "{}\n\n{}",
                    vehicle("boat"),
                    exhaust(&format!("  drain-hole 4 mm\n{OUT}  right 690 mm, down 30 mm\n  ends facing right"))
                ),
                &["error exhaust-joint-inside"],
            ),
            (
                "rubber hose",
                "exhaust of reader\n  hose rubber, 24 mm bore\n  passage floor, hole 60 mm, sealed\n  down 140 mm\n  right 690 mm, down 30 mm\n  ends facing right".to_string(),
                &["error exhaust-cannot-bear-heat"],
            ),
            (
                "an exhaust laid indoors is laid anew anyway",
                exhaust("  down 20 mm\n  right 200 mm\n  right 200 mm, up 60 mm\n  ends facing right, in cabin"),
                &[],
            ),
            ("lengths without directions", exhaust("  passage floor, hole 60 mm, sealed\n  run 1.1 m\n  bend 90°\n  ends facing right"), &[]),
        ];
        let mut wrong = Vec::new();
        for (what, example, expected) in cases {
            let said = said_of(&example);
            if said != expected {
                wrong.push(format!("{what}: {said:?} in place of {expected:?}"));
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    /// `snow over the outlet` with the axes described in each way: the words of an origin are never read.
    #[test]
    fn what_heights_count_from_is_read_and_the_words_of_an_origin_are_not() {
        let van = |more: &str| {
            format!(
                "{}\n\nvehicle bench-van\n  type van\n  supply 12 V\n  rules none\n{more}  \
                 at forward 850 mm, left 1000 mm, up 200 mm\n  spans back 5400 mm, right 2000 mm, up 2300 mm",
                job("  altitude 0 m\n  snow-depth 600 mm")
            )
        };
        let over = ["error exhaust-end-low", "warning combustion-air-end-low"];
        for more in [
            "",
            "  origin \"Ground below the front axle\"\n",
            "  origin \"floor, middle of the bulkhead\"\n",
            "  up-from ground\n  floor-height 600 mm\n",
            "  up-from floor\n  floor-height 100 mm\n",
            "  origin \"on the ground\"\n  up-from floor\n  floor-height 120 mm\n",
        ] {
            assert_eq!(said_of(&van(more)), over, "{more}");
        }
        assert_eq!(said_of(&van("  up-from floor\n  floor-height 400 mm\n")), Vec::<String>::new());
        assert_eq!(
            said_of(&van("  up-from floor\n  floor-height 180 mm ± 50 mm\n")),
            ["warning exhaust-end-low", "warning combustion-air-end-low"]
        );
        let not_known = ["not judged exhaust-end-low", "not judged combustion-air-end-low"];
        assert_eq!(said_of(&van("  up-from floor\n")), not_known);
        assert_eq!(said_of(&van("  up-from unknown\n  floor-height 400 mm\n")), not_known);
    }

    #[test]
    fn nothing_but_metal_that_bears_the_heat_carries_exhaust() {
        use crate::vocabulary::TUBE_MATERIALS;
        let told = |pipe: &str| {
            let analysis = judge_example(&format!(
                "exhaust of reader\n  {pipe}\n{OUT}  right 690 mm, down 30 mm\n  ends facing right"
            ));
            analysis.standing().map(|finding| finding.rule.name).collect::<Vec<_>>()
        };
        // The bench heater's gas leaves at 380 °C.
        let bear = ["stainless-steel", "stainless", "aluminised-steel", "steel", "cast-iron"];
        for word in TUBE_MATERIALS {
            let expected: &[&str] = if bear.contains(word) { &[] } else { &["exhaust-cannot-bear-heat"] };
            for kind in ["pipe", "hose"] {
                assert_eq!(told(&format!("{kind} {word}, 24 mm bore, 27 mm outside")), expected, "{kind} {word}");
            }
        }
        assert_eq!(told("hose 24 mm"), ["exhaust-cannot-bear-heat"]);
        assert!(told("pipe 24 mm").is_empty());
        for slip in ["EPDM", "stel", "unobtainium"] {
            assert_eq!(told(&format!("pipe {slip}, 24 mm bore, 27 mm outside")), ["unlisted-word"], "{slip}");
        }
    }
}

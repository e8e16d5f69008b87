//! Rules on ducts and outlets: what the fan delivers, where it goes, and how hot it is.

use super::engine::Findings;
use super::margin::Told;
use super::ways::joined;
use super::{Family, Guards, Rule, percent};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::warm_air::{GRILLE_SHARE, WarmAir};
use crate::finding::{Finding, Severity, Whose};
use crate::model::{Fact, HeaterSheet, Job, unit_or};
use crate::rules::About;
use crate::rules::Cause;
use crate::units::{Dimension, Quantity, Temperature, Unit, rounded};
use crate::vocabulary::Kind;
use std::f64::consts::PI;

pub(super) static RULES: &[&Rule] = &[
    &OUTLET_STARVED,
    &ALL_OUTLETS_CLOSABLE,
    &DUCT_RESISTANCE_LARGE,
    &WARM_AIR_FLOW_SMALL,
    &WARM_AIR_OVERHEATS,
    &WARM_AIR_NARROWS_EARLY,
    &RETURN_DUCT_SMALL,
    &RETURN_GRILLE_SMALL,
    &RETURN_GRILLE_COVERED,
    &DUCT_BEARS_TOO_LITTLE,
    &DUCT_TOUCHED_HOT,
    &OUTLET_AIR_FAST,
    &OUTLET_AIR_LUKEWARM,
    &OUTLET_BLOWS_AT_SOMETHING,
];

/// How much less than its stated share an outlet may get: bends in rough hose are known to some 40 %, tees no better, which
/// makes 15 % of a share. The project's own.
const SHARE_SLACK: f64 = 0.85;
/// The share below which an outlet without a stated one is told: a tenth, or a third of an even share where that is less.
/// Common practice, no source.
const STARVED: f64 = 0.1;
/// Hottest air at an outlet: 150 °C.
const HOTTEST_OUTLET: Temperature = Temperature::celsius(150.0);
const HOTTEST_OUTLET_SOURCE: &str =
    "2001/56/EC Annex V 4 (secondary copy), carried over into UN R122 (clause from memory): check the text";
const TOUCH_SOURCE: &str =
    "2001/56/EC Annex V 2 and 3 (secondary copy), carried over into UN R122 (clause from memory): check the text";
/// How near people a duct may be touched. Common practice, no source.
const WITHIN_REACH: f64 = 0.1;
/// Free space before a grille. Common practice, no source.
const GRILLE_CLEAR: f64 = 0.05;
/// Free space before an outlet, where something stands that does not bear hot air, or people. Common practice, no source.
const OUTLET_CLEAR: f64 = 0.2;
/// Air faster than this is heard in any room, and in one where people sleep. Common practice, no source.
const LOUD: f64 = 16.0;
const LOUD_TO_SLEEPERS: f64 = 12.0;
/// The part of its warmth that air may lose in a duct outside: a quarter. Common practice, no source.
const LOST: f64 = 0.25;

static OUTLET_STARVED: Rule = Rule {
    name: "outlet-starved",
    family: Family::WarmAir,
    severity: Severity::Warning,
    title: "an outlet that gets too little air",
    source: "the job's own `wants`, less 15 % because losses in tees and bends are known no better; without `wants`, \
             common practice, no source: a tenth of the air, or a third of an even share if that is less",
    explanation: "Air takes the easy way. A long or narrow branch gets next to nothing, and so does a plain tee \
                  beside a short straight end. The place that the branch was laid for stays cold. The check computes \
                  both open outlets and outlets with vanes, and judges the better of the two. Unequal shares are no \
                  fault by themselves.",
    mend: "Give the starved branch a wider duct, turn the tee its way, or throttle the outlet that takes most. If you \
           want little air there, say so with `wants`.",
    bad: "warm-air main of reader\n  duct          air-90\n  forward       500 mm\n  tee           feet\n  forward       400 mm\n  \
          up            200 mm\n  outlet        bench, facing left, in cabin\n\nwarm-air feet of reader\n  from          main.feet\n  \
          duct          30 mm\n  left          900 mm\n  back          1500 mm\n  outlet        foot, facing left, in cabin",
    good: "warm-air main of reader\n  duct          air-90\n  forward       500 mm\n  tee           feet, 45°\n  forward       400 mm\n  \
           up            200 mm\n  outlet        bench, facing left, in cabin\n\nwarm-air feet of reader\n  from          main.feet\n  \
           duct          air-90\n  left          900 mm\n  outlet        foot, facing left, in cabin",
    guards: Guards::Comfort,
    measures: &[Dimension::Ratio],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::AIR_WAY, &[Need::SheetFan]]).only(when::warms_air)],
    find: outlet_starved,
};

static ALL_OUTLETS_CLOSABLE: Rule = Rule {
    name: "all-outlets-closable",
    family: Family::WarmAir,
    severity: Severity::Warning,
    title: "a heater with no outlet that stays open",
    source: "common practice, no source: at least one outlet that nobody can shut",
    explanation: "Somebody will shut all the outlets. The fan then blows against a wall and the heat stays in the \
                  heater. Then only the overheat guard stops it, again and again.",
    mend: "Fit one outlet that nobody can shut, best the one with the shortest way.",
    bad: "warm-air main of reader\n  duct          air-90\n  forward       900 mm\n  up            200 mm\n  \
          outlet        bench, closable, facing left, in cabin",
    good: "warm-air main of reader\n  duct          air-90\n  forward       900 mm\n  up            200 mm\n  \
           outlet        bench, facing left, in cabin",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::BRANCH]).only(when::warms_air)],
    find: all_outlets_closable,
};

static DUCT_RESISTANCE_LARGE: Rule = Rule {
    name: "duct-resistance-large",
    family: Family::WarmAir,
    severity: Severity::Error,
    title: "ducts that resist more than the heater allows",
    source: "the heater's data sheet, `duct-pressure`",
    explanation: "The fan can press only so hard. If ducts, bends and grilles take more than the sheet allows, less \
                  air passes than the heater needs to stay cool. It runs hot, turns down and wears out early.",
    mend: "Shorten the ducts, take out bends, or lay wider ducts. Do so on either side of the heater, best on the one \
           that resists most.",
    bad: "warm-air main of reader\n  duct          50 mm\n  forward       900 mm\n  up            200 mm\n  \
          outlet        bench, facing left, in cabin",
    good: "warm-air main of reader\n  duct          80 mm\n  forward       900 mm\n  up            200 mm\n  \
           outlet        bench, facing left, in cabin",
    guards: Guards::Fire,
    measures: &[Dimension::Pressure],
    explained_by: &[
        Cause::on_heater("warm-air-narrows-early"),
        Cause::on_heater("return-duct-small"),
        Cause::on_heater("return-grille-small"),
        Cause::on_heater("warm-air-way-too-long"),
    ],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::AIR_WAY, &[Need::SheetFan]]).only(when::warms_air)],
    find: duct_resistance_large,
};

static WARM_AIR_FLOW_SMALL: Rule = Rule {
    name: "warm-air-flow-small",
    family: Family::WarmAir,
    severity: Severity::Error,
    title: "less warm air than the heater needs",
    source: "the heater's data sheet, `least-air-flow`",
    explanation: "The air that the heater warms is also what cools it. The rule judges with every closable outlet \
                  shut, because one night they will be.",
    mend: "Leave a wider outlet open for good, or lay wider and shorter ducts.",
    bad: "warm-air main of reader\n  duct          air-90\n  forward       500 mm\n  tee           feet\n  forward       400 mm\n  \
          up            200 mm\n  outlet        bench, closable, facing left, in cabin\n\nwarm-air feet of reader\n  \
          from          main.feet\n  duct          40 mm\n  left          300 mm\n  outlet        foot, facing left, wants 2 %, in cabin",
    good: "warm-air main of reader\n  duct          air-90\n  forward       500 mm\n  tee           feet\n  forward       400 mm\n  \
           up            200 mm\n  outlet        bench, facing left, in cabin\n\nwarm-air feet of reader\n  \
           from          main.feet\n  duct          40 mm\n  left          300 mm\n  outlet        foot, closable, facing left, wants 2 %, in cabin",
    guards: Guards::Fire,
    measures: &[Dimension::VolumeFlow],
    explained_by: &[Cause::on_heater("duct-resistance-large")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::AIR_WAY, &[Need::SheetFan]]).only(when::warms_air)],
    find: warm_air_flow_small,
};

static WARM_AIR_OVERHEATS: Rule = Rule {
    name: "warm-air-overheats",
    family: Family::WarmAir,
    severity: Severity::Warning,
    title: "warm air hotter than the heater's guard or the regulation allows",
    source: "the heater's data sheet, `overheats`; under `un-r122`, 150 °C at an outlet by 2001/56/EC Annex V 4 (secondary copy)",
    explanation: "Little air at full output comes out hot. The guard then stops the heater, often in the coldest \
                  hour, and a guard that works every night does not last. The rule judges with every closable outlet \
                  shut.",
    mend: "Leave a wider outlet open for good, or lay wider and shorter ducts.",
    bad: "warm-air main of reader\n  duct          air-90\n  forward       500 mm\n  tee           feet\n  forward       400 mm\n  \
          up            200 mm\n  outlet        bench, closable, facing left, in cabin\n\nwarm-air feet of reader\n  \
          from          main.feet\n  duct          60 mm\n  left          900 mm\n  outlet        foot, facing left, wants 2 %, in cabin",
    good: "warm-air main of reader\n  duct          air-90\n  forward       500 mm\n  tee           feet\n  forward       400 mm\n  \
           up            200 mm\n  outlet        bench, facing left, in cabin\n\nwarm-air feet of reader\n  \
           from          main.feet\n  duct          60 mm\n  left          900 mm\n  outlet        foot, closable, facing left, wants 2 %, in cabin",
    guards: Guards::Fire,
    measures: &[Dimension::Temperature],
    explained_by: &[Cause::on_heater("duct-resistance-large"), Cause::on_heater("warm-air-flow-small")],
    about: About::Written,
    asks: &[Ask::each(
        Kind::Heater,
        &[groups::AIR_WAY, &[Need::SheetFan, Need::SheetOutput, Need::VehicleRules, Need::Altitude]],
    )
    .only(when::warms_air)],
    find: warm_air_overheats,
};

static WARM_AIR_NARROWS_EARLY: Rule = Rule {
    name: "warm-air-narrows-early",
    family: Family::WarmAir,
    severity: Severity::Warning,
    title: "a warm-air duct that narrows before its first outlet",
    source: "common practice, no source: full bore to the first tee or outlet",
    explanation: "All the air of the heater passes through the first duct. A reducer there throttles every outlet and \
                  the heater with them.",
    mend: "Keep the bore of the first duct up to the first tee or outlet. Narrow the duct only behind it.",
    bad: "warm-air main of reader\n  duct          air-90\n  forward       900 mm\n  duct          75 mm\n  up            200 mm\n  \
          outlet        bench, facing left, in cabin",
    good: "warm-air main of reader\n  duct          air-90\n  forward       900 mm\n  up            200 mm\n  \
           outlet        bench, facing left, in cabin",
    guards: Guards::Comfort,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::WarmAir, &[&[Need::WarmAirDuct]])],
    find: warm_air_narrows_early,
};

static RETURN_DUCT_SMALL: Rule = Rule {
    name: "return-duct-small",
    family: Family::WarmAir,
    severity: Severity::Warning,
    title: "a return duct narrower than the warm-air duct",
    source: "common practice, no source: a return duct at least as wide as the duct by which the warm air leaves",
    explanation: "The heater can blow out only what it draws in. A narrow return starves the fan, however wide the \
                  warm side is.",
    mend: "Lay the return as wide as the warm-air duct at the heater.",
    bad: "return-air of reader\n  duct          75 mm\n  back          500 mm\n  ends          in cabin, facing back",
    good: "return-air of reader\n  duct          90 mm\n  back          500 mm\n  ends          in cabin, facing back",
    guards: Guards::Comfort,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::ReturnAirDuct, Need::WarmAirDuct, Need::WarmAirOutlet]])
        .only(when::warms_air)],
    find: return_duct_small,
};

static RETURN_GRILLE_SMALL: Rule = Rule {
    name: "return-grille-small",
    family: Family::WarmAir,
    severity: Severity::Warning,
    title: "a return grille with less free area than its duct",
    source: "common practice, no source: the free area, not the outside size, at least as large as the duct's; half \
             as much again is better",
    explanation: "A grille's bars take a third of its area or more. With less free area than the duct, the grille is \
                  the narrowest place of the return. It also gathers dust.",
    mend: "Fit a larger grille, or a second one.",
    bad: "return-air of reader\n  duct          air-90\n  grille        40 cm², clear 100 mm\n  back          500 mm\n  \
          ends          in cabin, facing back",
    good: "return-air of reader\n  duct          air-90\n  grille        95 cm², clear 100 mm\n  back          500 mm\n  \
           ends          in cabin, facing back",
    guards: Guards::Comfort,
    measures: &[Dimension::Area],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::ReturnAir, &[&[Need::WarmAirDuct, Need::WarmAirOutlet, Need::ReturnAirGrille]])],
    find: return_grille_small,
};

static RETURN_GRILLE_COVERED: Rule = Rule {
    name: "return-grille-covered",
    family: Family::WarmAir,
    severity: Severity::Warning,
    title: "too little free space before the return grille",
    source: "common practice, no source: at least 50 mm, better 100 mm",
    explanation: "A shelf or a bag in front of a grille shuts it. The fan starves, the air comes out hot, and the \
                  heater stops.",
    mend: "Move the grille, keep luggage off it with a rail, or fit a second grille.",
    bad: "return-air of reader\n  duct          air-90\n  grille        95 cm², clear 20 mm\n  back          500 mm\n  \
          ends          in cabin, facing back",
    good: "return-air of reader\n  duct          air-90\n  grille        95 cm², clear 100 mm\n  back          500 mm\n  \
           ends          in cabin, facing back",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(
        Kind::ReturnAir,
        &[&[Need::WarmAirDuct, Need::WarmAirOutlet, Need::ReturnAirGrille, Need::ReturnAirClear]],
    )],
    find: return_grille_covered,
};

static DUCT_BEARS_TOO_LITTLE: Rule = Rule {
    name: "duct-bears-too-little-heat",
    family: Family::WarmAir,
    severity: Severity::Error,
    title: "a duct that cannot take the heat of the warm air",
    source: "the duct's data sheet, `bears`, against the air at full output; a warning if only shut outlets or the \
             heater's guard let the air get that hot",
    explanation: "A duct that softens comes off its port, or sags shut behind a panel where nobody sees it. Hot air \
                  then blows at whatever is there. The usual culprit is plastic hose made for fresh air or combustion \
                  air.",
    mend: "Lay a duct whose data sheet allows the heat at which the heater's guard stops it.",
    bad: "datasheet duct soft-90\n  made-of       plastic\n  bore          90 mm\n  roughness     0.9 mm\n  bears         -20 °C .. 70 °C\n\n\
          warm-air main of reader\n  duct          soft-90\n  forward       900 mm\n  up            200 mm\n  \
          outlet        bench, facing left, in cabin",
    good: "warm-air main of reader\n  duct          air-90\n  forward       900 mm\n  up            200 mm\n  \
           outlet        bench, facing left, in cabin",
    guards: Guards::Fire,
    measures: &[Dimension::Temperature],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::AIR_WAY, &[Need::SheetFan, Need::SheetOutput]]).only(when::warms_air)],
    find: duct_bears_too_little,
};

static DUCT_TOUCHED_HOT: Rule = Rule {
    name: "duct-touched-hot",
    family: Family::WarmAir,
    severity: Severity::Warning,
    title: "a hot duct where people touch it",
    source: "2001/56/EC Annex V 2 and 3 (secondary copy) under un-r122: 70 °C for bare metal and 80 °C for other \
             surfaces where somebody drives or in a bus, 110 °C for other passengers; elsewhere the same figures as \
             common practice, no source (ISO 13732-1:2006, from memory, gives 65 °C for bare metal touched for a \
             second)",
    explanation: "A bare duct is nearly as hot as its air. If people sit or lie against it, it burns their skin \
                  before they wake. The rule judges where the duct passes a `keep-clear` of kind occupants. It does \
                  so whatever rules the vehicle falls under, because skin is the same.",
    mend: "Lag the duct, box it in, or lay it elsewhere.",
    bad: "vehicle bench-van\n  type          van\n  supply        12 V\n  rules         un-r122\n  floor-height  600 mm\n  \
          at            forward 850 mm, left 1000 mm, up 200 mm\n  spans         back 5400 mm, right 2000 mm, up 2300 mm\n\n\
          heater reader\n  datasheet     air-2\n  in            cabin\n  heats         cabin\n  \
          at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n  notice        plate\n  \
          notice        tell-tale\n\ntank main\n  fuel          diesel winter-2\n  holds         60 L\n  reserve       10 L\n  \
          at            back 3200 mm, left 450 mm, up 250 mm\n  notice        refuelling\n\n\
          space cabin\n  use           driving\n  wanted        18 °C\n  volume        7.5 m³\n  at            back 700 mm, left 900 mm, up 600 mm\n  \
          spans         back 3700 mm, right 1800 mm, up 1700 mm\n\nwarm-air main of reader\n  duct          60 mm\n  \
          forward       600 mm\n  outlet        bench, facing right, in cabin\n\nkeep-clear knees\n  kind          occupants\n  \
          at            back 1400 mm, right 210 mm, up 670 mm\n  spans         forward 400 mm, left 300 mm, up 300 mm",
    good: "vehicle bench-van\n  type          van\n  supply        12 V\n  rules         un-r122\n  floor-height  600 mm\n  \
          at            forward 850 mm, left 1000 mm, up 200 mm\n  spans         back 5400 mm, right 2000 mm, up 2300 mm\n\n\
          heater reader\n  datasheet     air-2\n  in            cabin\n  heats         cabin\n  \
          at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n  notice        plate\n  \
          notice        tell-tale\n\ntank main\n  fuel          diesel winter-2\n  holds         60 L\n  reserve       10 L\n  \
          at            back 3200 mm, left 450 mm, up 250 mm\n  notice        refuelling\n\n\
          space cabin\n  use           driving\n  wanted        18 °C\n  volume        7.5 m³\n  at            back 700 mm, left 900 mm, up 600 mm\n  \
          spans         back 3700 mm, right 1800 mm, up 1700 mm\n\nwarm-air main of reader\n  duct          60 mm\n  \
           lagged        10 mm\n  forward       600 mm\n  outlet        bench, facing right, in cabin\n\nkeep-clear knees\n  kind          occupants\n  \
           at            back 1400 mm, right 210 mm, up 670 mm\n  spans         forward 400 mm, left 300 mm, up 300 mm",
    guards: Guards::Fire,
    measures: &[Dimension::Temperature],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::AIR_WAY, &[Need::SheetFan, Need::SheetOutput]]).only(when::warms_air),
        Ask::each(
            Kind::Heater,
            &[groups::KEEP_CLEAR, &[Need::HeaterAt, Need::SpaceAt, Need::SpaceSpans, Need::SpaceUse]],
        )
        .only(when::placed),
    ],
    find: duct_touched_hot,
};

static OUTLET_AIR_FAST: Rule = Rule {
    name: "outlet-air-fast",
    family: Family::WarmAir,
    severity: Severity::Advice,
    title: "air that comes out fast and loud",
    source: "common practice, no source: 16 m/s at full output, and 12 m/s where people sleep",
    explanation: "Fast air hisses and makes a draught. People shut such an outlet, or switch the heater off at night. \
                  At lower output the fan slows down, and so does the air.",
    mend: "Widen the last duct, or share the air between two outlets.",
    bad: "space cabin\n  use           sleeping\n  wanted        18 °C\n  volume        7.5 m³\n  \
          surface       all, 28 m², plywood 4 mm, pe-foam 10 mm, steel 0.9 mm\n  air-changes   1 /h\n  \
          heads-at      back 3600 mm, left 500 mm, up 1100 mm\n  at            back 700 mm, left 900 mm, up 600 mm\n  \
          spans         back 3700 mm, right 1800 mm, up 1700 mm\n\nalarm cabin-co\n  in            cabin\n  at            back 3300 mm, left 800 mm, up 1200 mm\n  \
          warns-of      carbon-monoxide\n\nwarm-air main of reader\n  duct          55 mm\n  forward       600 mm\n  outlet        bench, facing left, in cabin",
    good: "space cabin\n  use           sleeping\n  wanted        18 °C\n  volume        7.5 m³\n  \
          surface       all, 28 m², plywood 4 mm, pe-foam 10 mm, steel 0.9 mm\n  air-changes   1 /h\n  \
          heads-at      back 3600 mm, left 500 mm, up 1100 mm\n  at            back 700 mm, left 900 mm, up 600 mm\n  \
          spans         back 3700 mm, right 1800 mm, up 1700 mm\n\nalarm cabin-co\n  in            cabin\n  at            back 3300 mm, left 800 mm, up 1200 mm\n  \
           warns-of      carbon-monoxide\n\nwarm-air main of reader\n  duct          air-90\n  forward       600 mm\n  outlet        bench, facing left, in cabin",
    guards: Guards::Comfort,
    measures: &[Dimension::Speed],
    explained_by: &[Cause::on_heater("duct-resistance-large")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::AIR_WAY, &[Need::SheetFan]]).only(when::warms_air)],
    find: outlet_air_fast,
};

static OUTLET_AIR_LUKEWARM: Rule = Rule {
    name: "outlet-air-lukewarm",
    family: Family::WarmAir,
    severity: Severity::Advice,
    title: "warm air that cools on its way outside",
    source: "common practice, no source: at most a quarter of the warmth lost on the way",
    explanation: "A duct under the floor heats the road. The lost heat costs fuel and is missing in the room.",
    mend: "Lag the part that lies outside, or lead the duct inside.",
    bad: "warm-air main of reader\n  duct          air-90\n  forward       200 mm\n  down          400 mm\n  left          800 mm\n  back          2.4 m\n  up            400 mm\n  \
          outlet        bench, facing left, in cabin",
    good: "warm-air main of reader\n  duct          air-90\n  forward       900 mm\n  up            200 mm\n  \
           outlet        bench, facing left, in cabin",
    guards: Guards::Comfort,
    measures: &[Dimension::Ratio],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(
        Kind::Heater,
        &[groups::AIR_WAY, &[Need::SheetFan, Need::HeaterAt, Need::SpaceAt, Need::SpaceSpans]],
    )
    .only(when::warms_air)],
    find: outlet_air_lukewarm,
};

static OUTLET_BLOWS_AT_SOMETHING: Rule = Rule {
    name: "outlet-blows-at-something",
    family: Family::WarmAir,
    severity: Severity::Warning,
    title: "an outlet that blows hot air at something near",
    source: "common practice, no source: 200 mm before timber, plastic and people",
    explanation: "The air at an outlet is hot enough to warp a panel, scorch what is pressed against it, and burn \
                  skin that stays before it.",
    mend: "Turn the outlet, move it, or move the thing.",
    bad: "keep-clear panel\n  kind          timber\n  at            back 1100 mm, right 200 mm, up 500 mm\n  \
          spans         forward 400 mm, left 20 mm, up 700 mm",
    good: "keep-clear panel\n  kind          timber\n  at            back 1100 mm, left 100 mm, up 500 mm\n  \
           spans         forward 400 mm, left 20 mm, up 700 mm",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::WarmAir, &[groups::BRANCH]),
        Ask::each(Kind::WarmAir, &[groups::KEEP_CLEAR, groups::PORT, &[Need::WarmAirRides]]).only(when::placed),
    ],
    find: outlet_blows_at_something,
};

fn name<'a>(job: &'a Job, network: &WarmAir) -> &'a str {
    job.heaters.get(network.heater).map_or("", |heater| heater.name.as_str())
}

/// A flow in the unit of the heater's sheet.
fn flow_unit(job: &Job, network: &WarmAir) -> &'static Unit {
    let stated = job.sheet_of(network.heater).and_then(|sheet| sheet.fan_flow.get());
    unit_or(stated.map(|flow| flow.unit), "m³/h")
}

/// A figure to two digits: what a duct's flow is known to.
fn two_digits(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let scale = 10_f64.powf(1.0 - value.abs().log10().floor());
    (value * scale).round() / scale
}

fn coarse(unit: &Unit, value: f64) -> String {
    unit.show(unit.to_si(two_digits(unit.from_si(value))))
}

fn outlet_starved(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for network in &figures.warm_air {
        let flow = flow_unit(job, network);
        for outlet in &network.outlets {
            let Some(gets) = outlet.gets else { continue };
            let best = gets.share.max(gets.share_behind_vanes);
            let (low, high) = (gets.share.min(gets.share_behind_vanes), best);
            let shown = if percent(low) == percent(high) {
                percent(high)
            } else {
                format!("{} to {}", percent(low), percent(high))
            };
            let even = 1.0 / network.outlets.len().max(1) as f64;
            let (limit, of_author) = match outlet.wants {
                Some(wants) => (wants.value.low * SHARE_SLACK, Some(wants)),
                None => (STARVED.min(even / 3.0), None),
            };
            let told = || {
                let whose = if of_author.is_some() { Whose::Job } else { Whose::CommonPractice };
                Told::new(
                    outlet.place,
                    format!("share of the air at outlet {}", outlet.name),
                    unit_or(None, "%"),
                    whose,
                )
            };
            if findings.at_least(best, limit, 0.0, told).keeps() {
                continue;
            }
            let vanes = format!(
                "open outlets and outlets with vanes of {} free area are both computed; the better of the two is \
                 judged",
                percent(GRILLE_SHARE)
            );
            let why = format!(
                "the fan moves {}, and {} of it comes out here; {vanes}",
                network.open.map_or(String::new(), |open| coarse(flow, open.drawn)),
                coarse(flow, gets.flow)
            );
            let help = "widen its branch, turn the tee its way, or throttle the outlet that takes most";
            let finding = match of_author {
                Some(wants) => findings
                    .at(
                        outlet.place,
                        format!(
                            "outlet `{}` gets {shown} of the air; it wants {}",
                            outlet.name,
                            wants.value.show(wants.value.nominal)
                        ),
                    )
                    .label(format!("{shown} of the air"))
                    .why(why)
                    .limit(
                        format!(
                            "{} of the air, less 15 % because losses in tees and bends are known no better",
                            wants.value.show(wants.value.nominal)
                        ),
                        Whose::Job,
                    )
                    .help(help),
                None => findings
                    .at(
                        outlet.place,
                        format!(
                            "outlet `{}` gets {shown} of the air; under {} is next to nothing",
                            outlet.name,
                            percent(limit)
                        ),
                    )
                    .label(format!("{shown} of the air"))
                    .why(why)
                    .limit(format!("{} of the air, because no share is stated", percent(limit)), Whose::CommonPractice)
                    .help(format!("{help}; if you want so little there, say `wants {}`", percent(low.max(0.01)))),
            };
            findings.add(finding.related(network.place, "its air comes from here"));
        }
    }
}

fn all_outlets_closable(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for network in &figures.warm_air {
        let count = network.outlets.len();
        let stated =
            job.runs.iter().filter(|run| run.heater == Some(network.heater)).flat_map(|run| run.outlets()).count();
        let Some(first) = network.outlets.first() else { continue };
        // Where part of the tree was not understood, the open outlet may be in that part.
        if count < stated || network.outlets.iter().any(|outlet| !outlet.closable) {
            continue;
        }
        let heater = name(job, network);
        let title = match count {
            1 => format!("`{heater}` has one outlet, `{}`, and it can be shut; one outlet must stay open", first.name),
            _ => format!("all {count} outlets of `{heater}` can be shut; one must stay open"),
        };
        let mut finding = findings
            .at(first.place, title)
            .label("this can be shut")
            .why("when all of them are shut, no air cools the heater, and only its guard stops it")
            .limit("at least one outlet that nobody can shut", Whose::CommonPractice)
            .help("fit one outlet that nobody can shut, best the one with the shortest way");
        for outlet in network.outlets.iter().skip(1) {
            finding = finding.related(outlet.place, "this can be shut too");
        }
        findings.add(finding);
    }
}

/// A limit of the heater's sheet with the sheet's name.
fn of_sheet<'a>(
    job: &'a Job,
    network: &WarmAir,
    pick: fn(&HeaterSheet) -> Option<&Fact<Quantity>>,
) -> Option<(&'a str, Fact<Quantity>)> {
    let sheet = job.sheet_of(network.heater)?;
    Some((sheet.name.as_str(), *pick(sheet)?))
}

fn with_sheet(finding: Finding, limit: &Fact<Quantity>, shown: &str) -> Finding {
    finding.related(limit.written, format!("the sheet's limit, {shown}"))
}

fn duct_resistance_large(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for network in &figures.warm_air {
        let (Some(open), Some((sheet, limit))) =
            (&network.open, of_sheet(job, network, |sheet| sheet.duct_pressure.fact()))
        else {
            continue;
        };
        let unit = limit.value.unit;
        let told = || Told::new(network.place, "resistance of the ducts", unit, Whose::Sheet(sheet.to_string()));
        if findings.at_most(open.fan_pressure, limit.value.high, limit.value.high * 1e-9, told).keeps() {
            continue;
        }
        let (is, allowed) = (coarse(unit, open.fan_pressure), unit.show(limit.value.high));
        let finding = findings
            .at(
                network.place,
                format!("the ducts of `{}` take {is}; data sheet `{sheet}` allows {allowed}", name(job, network)),
            )
            .label(format!("{is} in ducts, bends, tees and outlets"))
            .why(format!(
                "{} on the return side and {} on the warm side; only {} of air passes, against {} without ducts",
                coarse(unit, open.return_loss),
                coarse(unit, open.warm_loss),
                coarse(flow_unit(job, network), open.drawn),
                job.sheet_of(network.heater)
                    .and_then(|sheet| sheet.fan_flow.get())
                    .map_or(String::new(), |flow| flow.show(flow.low)),
            ))
            .limit(format!("{allowed} on both sides together"), Whose::Sheet(sheet.to_string()))
            .help("shorten the ducts, take out bends or lay wider ducts, on the side that takes most");
        findings.add(with_sheet(finding, &limit, &allowed));
    }
}

/// How a case reads: which outlets are shut in it.
fn shut_reads(network: &WarmAir) -> &'static str {
    if network.shut.is_some() { "with its closable outlets shut, " } else { "" }
}

fn warm_air_flow_small(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for network in &figures.warm_air {
        let Some((sheet, limit)) = of_sheet(job, network, |sheet| sheet.least_air_flow.fact()) else { continue };
        let (Some(case), Some(open)) = (network.hardest(), network.open.as_ref()) else { continue };
        let unit = limit.value.unit;
        let told = || Told::new(network.place, "warm air that the heater moves", unit, Whose::Sheet(sheet.to_string()));
        if findings.at_least(case.drawn, limit.value.low, 0.0, told).keeps() {
            continue;
        }
        let (is, asked) = (coarse(unit, case.drawn), unit.show(limit.value.low));
        let rise = case.leaves.map_or(String::new(), |leaves| {
            format!("at full output it leaves the heater at {}", network.unit.show_to(leaves, 1.0))
        });
        let when = shut_reads(network);
        let mut finding = findings
            .at(
                network.place,
                format!("{when}`{}` moves {is}; data sheet `{sheet}` asks for at least {asked}", name(job, network)),
            )
            .label(format!("{is} of air"))
            .why(joined(&["the air that the heater warms is also what cools it", &rise]))
            .limit(format!("at least {asked}"), Whose::Sheet(sheet.to_string()))
            .help("leave a wider outlet open for good, or lay wider and shorter ducts");
        if open.drawn >= limit.value.low {
            finding.severity = Severity::Warning;
        }
        for outlet in network.outlets.iter().filter(|outlet| outlet.closable && network.shut.is_some()) {
            finding = finding.related(outlet.place, "shut");
        }
        findings.add(with_sheet(finding, &limit, &asked));
    }
}

fn warm_air_overheats(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    let by_law = job.vehicle.as_ref().is_some_and(|(vehicle, _)| vehicle.rules.contains(&"un-r122"));
    for network in &figures.warm_air {
        let Some((case, leaves)) = network.hardest().and_then(|case| case.leaves.map(|leaves| (case, leaves))) else {
            continue;
        };
        let guard = of_sheet(job, network, |sheet| sheet.overheats.fact());
        let law = HOTTEST_OUTLET.in_kelvin();
        let told = |whose| {
            Told::new(network.place, "temperature of the warm air as it leaves the heater", network.unit, whose)
        };
        let guarded = guard.is_some_and(|(sheet, limit)| {
            let told = || told(Whose::Sheet(sheet.to_string()));
            !findings.at_most(leaves, limit.value.low, 0.0, told).keeps()
        });
        let unlawful = |findings: &mut Findings<'_>| {
            by_law && !findings.at_most(leaves, law, 0.0, || told(Whose::Standard(HOTTEST_OUTLET_SOURCE))).keeps()
        };
        let (allowed, whose, asks) = match guard {
            Some((sheet, limit)) if guarded => {
                let shown = limit.value.show(limit.value.low);
                (shown.clone(), Whose::Sheet(sheet.to_string()), format!("its guard stops it at {shown}"))
            }
            _ if unlawful(findings) => {
                let shown = network.unit.show(law);
                (
                    shown.clone(),
                    Whose::Standard(HOTTEST_OUTLET_SOURCE),
                    format!(
                        "{shown} is the most allowed at an \
                                                                                 outlet"
                    ),
                )
            }
            _ => continue,
        };
        let is = network.unit.show_to(leaves, 1.0);
        let mut finding = findings
            .at(network.place, format!("{}`{}` blows air of {is}; {asks}", shut_reads(network), name(job, network)))
            .label(format!("{is} at full output"))
            .why(format!(
                "{} of air passes, drawn in at {}, and takes up the full output",
                coarse(flow_unit(job, network), case.drawn),
                network.unit.show(network.set)
            ))
            .limit(format!("at most {allowed}"), whose)
            .help("leave a wider outlet open for good, or lay wider and shorter ducts");
        for outlet in network.outlets.iter().filter(|outlet| outlet.closable && network.shut.is_some()) {
            finding = finding.related(outlet.place, "shut");
        }
        if let Some((_, limit)) = guard {
            finding = finding.related(limit.written, "the limit of its guard");
        }
        findings.add(finding);
    }
}

fn warm_air_narrows_early(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    let unit = job.length_unit("mm");
    for network in &figures.warm_air {
        let (Some((place, bore)), Some((first, first_place))) = (network.narrows, network.first) else { continue };
        let area = percent((bore / first).powi(2));
        let finding = findings
            .at(
                place,
                format!(
                    "the warm air of `{}` narrows from {} to {} before its first outlet",
                    name(job, network),
                    unit.show(first),
                    unit.show(bore)
                ),
            )
            .label(format!("{area} of the area is left"))
            .why("all the air of the heater passes here, so this throttles every outlet and the heater with them")
            .limit(format!("{} up to the first tee or outlet", unit.show(first)), Whose::CommonPractice)
            .help("keep the bore of the first duct up to the first tee or outlet, and narrow the duct only behind it")
            .related(first_place, "the first duct");
        findings.add(finding);
    }
}

fn return_duct_small(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    let unit = job.length_unit("mm");
    for network in &figures.warm_air {
        let (Some((bore, place)), Some((first, first_place))) = (network.returns.bore, network.first) else { continue };
        let told = || Told::new(place, "width of the return duct", unit, Whose::CommonPractice);
        // A twentieth is what one standard of bores is off another.
        if findings.at_least(bore, first, 0.05 * first, told).keeps() {
            continue;
        }
        let finding = findings
            .at(
                place,
                format!(
                    "the return duct of `{}` is {} wide; the warm air leaves by {}",
                    name(job, network),
                    unit.show(bore),
                    unit.show(first)
                ),
            )
            .label(format!("{} of the warm duct's area", percent((bore / first).powi(2))))
            .why("the heater can blow out only what it draws in")
            .limit(format!("at least {} wide", unit.show(first)), Whose::CommonPractice)
            .help("lay the return as wide as the warm-air duct at the heater")
            .related(first_place, "the warm-air duct");
        findings.add(finding);
    }
}

fn return_grille_small(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for network in &figures.warm_air {
        let Some((grille, place)) = &network.returns.grille else { continue };
        let bore = network.returns.bore.map(|(bore, _)| bore).or(network.first.map(|(bore, _)| bore));
        let (Some(area), Some(bore)) = (grille.area, bore) else { continue };
        let asked = PI / 4.0 * bore * bore;
        let told = || Told::new(*place, "free area of the return grille", area.unit, Whose::CommonPractice);
        if findings.at_least(area.high, asked, asked * 1e-9, told).keeps() {
            continue;
        }
        let shown = |value: f64| coarse(area.unit, value);
        let finding = findings
            .at(
                *place,
                format!(
                    "the return grille of `{}` has {} of free area; its duct of {} has {}",
                    name(job, network),
                    area.show(area.nominal),
                    job.length_unit("mm").show(bore),
                    shown(asked)
                ),
            )
            .label(format!("{} of the duct's area", percent(area.nominal / asked)))
            .why(
                "with less free area than the duct, the grille is the narrowest place of the return, and dust \
                  narrows it more",
            )
            .limit(
                format!("at least {} of free area, better {}", shown(asked), shown(1.5 * asked)),
                Whose::CommonPractice,
            )
            .help(format!("fit one or two grilles with {} of free area in all", shown(1.5 * asked)));
        findings.add(finding);
    }
}

fn return_grille_covered(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for network in &figures.warm_air {
        let Some((grille, place)) = &network.returns.grille else { continue };
        let Some(clear) = grille.clear else { continue };
        let told = || Told::new(*place, "free space before the return grille", clear.unit, Whose::CommonPractice);
        if findings.at_least(clear, GRILLE_CLEAR, 0.0005, told).keeps() {
            continue;
        }
        let (free, asked) = (clear.show(clear.low), clear.show(GRILLE_CLEAR));
        let finding = findings
            .at(
                *place,
                format!("the return grille of `{}` has {free} free before it; it needs {asked}", name(job, network)),
            )
            .label(format!("{free} free"))
            .why("what stands before a grille shuts it: the fan starves, and the air comes out hot")
            .limit(format!("at least {asked}"), Whose::CommonPractice)
            .help(format!("leave {asked} to {} free, or keep luggage off with a rail", clear.show(2.0 * GRILLE_CLEAR)));
        findings.add(finding);
    }
}

fn duct_bears_too_little(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for network in &figures.warm_air {
        let guard = of_sheet(job, network, |sheet| sheet.overheats.fact());
        for duct in &network.ducts {
            let (Some((bears, sheet)), Some(open)) = (&duct.bears, duct.open) else { continue };
            // The guard ends what shut outlets begin.
            let capped = |hottest: f64| guard.map_or(hottest, |(_, limit)| hottest.min(limit.value.high));
            let shut = duct.shut.map(capped);
            let hottest = [shut, guard.map(|(_, limit)| limit.value.high)].into_iter().flatten().fold(open, f64::max);
            let told = || Told::new(duct.place, "hottest air in the duct", network.unit, Whose::Sheet(sheet.clone()));
            if findings.at_most(hottest, *bears, 0.0, told).keeps() {
                continue;
            }
            let (hottest, when) = match shut {
                _ if open > *bears => (open, "at full output"),
                Some(shut) if shut > *bears => (shut, "at full output with the closable outlets shut"),
                _ => match guard {
                    Some((_, limit)) if limit.value.high > *bears => {
                        (limit.value.high, "before the heater's guard stops it")
                    }
                    _ => continue,
                },
            };
            let (hot, limit) = (network.unit.show_to(hottest, 1.0), network.unit.show_to(*bears, 1.0));
            let mut finding = findings
                .at(duct.place, format!("air of {hot} in a duct that takes no more than {limit}, {when}"))
                .label(format!("the duct takes {limit} at most"))
                .why("a duct that softens comes off or sags shut behind a panel, and hot air blows at what is there")
                .limit(format!("at most {limit}"), Whose::Sheet(sheet.clone()))
                .help("lay a duct whose data sheet allows the heat at which the heater's guard stops it")
                .related(network.place, "the air comes from here");
            if open <= *bears {
                finding.severity = Severity::Warning;
            }
            if let Some(tube) = job.tube_sheets.iter().find(|tube| tube.name == *sheet)
                && let Some(place) = tube.bears.place()
            {
                finding = finding.related(place, "the heat that the duct can take");
            }
            findings.add(finding);
        }
    }
}

fn duct_touched_hot(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    let driving = job.spaces.iter().any(|space| space.usage.get() == Some(&"driving"));
    let bus = job.vehicle.as_ref().is_some_and(|(vehicle, _)| vehicle.kind.get() == Some(&"bus"));
    let strict = driving || bus;
    // The directive binds only vehicles under it; skin is the same in all others.
    let legal = job.vehicle.as_ref().is_some_and(|(vehicle, _)| vehicle.rules.contains(&"un-r122"));
    for network in &figures.warm_air {
        for duct in &network.ducts {
            let (Some(surface), Some((people, distance))) = (duct.surface, duct.people) else { continue };
            let limit = match (strict, duct.metal) {
                (true, true) => 70.0,
                (true, false) => 80.0,
                (false, _) => 110.0,
            };
            let limit = Temperature::celsius(limit).in_kelvin();
            if distance > WITHIN_REACH + duct.bore / 2.0 {
                continue;
            }
            let whose = if legal { Whose::Standard(TOUCH_SOURCE) } else { Whose::CommonPractice };
            let told =
                || Told::new(duct.place, "temperature of a duct within reach of people", network.unit, whose.clone());
            if findings.at_most(surface, limit, 0.0, told).keeps() {
                continue;
            }
            let (hot, allowed) = (network.unit.show_to(surface, 1.0), network.unit.show_to(limit, 1.0));
            let Some(thing) = job.runs.get(people) else { continue };
            let finding = findings
                .at(
                    duct.place,
                    format!("the duct is {hot} outside where it passes `{}`; the limit is {allowed}", job.reads(thing)),
                )
                .label(format!("{hot} at the surface"))
                .why(format!(
                    "it carries air of {}, and people can lean on it",
                    network.unit.show_to(duct.open.unwrap_or(surface), 1.0)
                ))
                .limit(format!("at most {allowed} where people touch it"), whose)
                .help("lag it, box it in, or lay it elsewhere")
                .related(thing.header, "people are here");
            findings.add(finding);
        }
    }
}

fn outlet_air_fast(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    let unit = unit_or(None, "m/s");
    for network in &figures.warm_air {
        for outlet in &network.outlets {
            let Some(gets) = outlet.gets else { continue };
            let space = outlet.space.and_then(|space| job.spaces.get(space));
            let sleeping = space.is_some_and(|space| space.usage.get() == Some(&"sleeping"));
            let limit = if sleeping { LOUD_TO_SLEEPERS } else { LOUD };
            let told = || Told::new(outlet.place, "speed of the air at the outlet", unit, Whose::CommonPractice);
            if findings.at_most(gets.speed, limit, 0.0, told).keeps() {
                continue;
            }
            let is = unit.show_to(gets.speed, 10.0);
            let sleepers = if sleeping { " where people sleep" } else { "" };
            let finding = findings
                .at(
                    outlet.place,
                    format!(
                        "air leaves outlet `{}` at {is}; from {} on it is loud{sleepers}",
                        outlet.name,
                        unit.show(limit)
                    ),
                )
                .label(format!("{is} at full output"))
                .why("fast air hisses and makes a draught, and people shut such an outlet")
                .limit(format!("at most {}{sleepers}", unit.show(limit)), Whose::CommonPractice)
                .help(format!(
                    "widen the last duct to {} times its bore, or share the air between two outlets",
                    rounded(((gets.speed / limit).sqrt() * 100.0).ceil() / 100.0)
                ));
            findings.add(finding);
        }
    }
}

fn outlet_air_lukewarm(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for network in &figures.warm_air {
        let Some(leaves) = network.open.and_then(|open| open.leaves) else { continue };
        for outlet in network.outlets.iter().filter(|outlet| outlet.outdoors > 0.0) {
            let Some((temperature, drop)) = outlet.gets.and_then(|gets| gets.temperature.zip(gets.drop)) else {
                continue;
            };
            let part = drop / (leaves - network.set);
            let told = || {
                Told::new(
                    outlet.place,
                    "warmth lost on the way to the outlet",
                    unit_or(None, "%"),
                    Whose::CommonPractice,
                )
            };
            if leaves <= network.set || findings.at_most(part, LOST, 0.0, told).keeps() {
                continue;
            }
            let is = network.unit.show_to(temperature, 1.0);
            let help = if outlet.lagged {
                "lag the duct thicker, or lead it inside"
            } else {
                "lag the part that lies outside, or lead the duct inside"
            };
            let finding = findings
                .at(
                    outlet.place,
                    format!(
                        "the air for outlet `{}` loses {} of its warmth on the way; the limit is a quarter",
                        outlet.name,
                        percent(part)
                    ),
                )
                .label(format!("it arrives at {is}, and left the heater at {}", network.unit.show_to(leaves, 1.0)))
                .why(format!(
                    "{} of the way lies outside, at {}",
                    job.length_unit("m").show_to(outlet.outdoors, 10.0),
                    network.unit.show(outside(job))
                ))
                .limit(format!("at most {}", percent(LOST)), Whose::CommonPractice)
                .help(help);
            findings.add(finding);
        }
    }
}

/// The cold that ducts outside are computed for.
fn outside(job: &Job) -> f64 {
    let default = Temperature::celsius(crate::figures::DEFAULT_COLD).in_kelvin();
    job.conditions.design_cold.get().map_or(default, |cold| cold.low)
}

fn outlet_blows_at_something(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    let unit = job.length_unit("mm");
    for network in &figures.warm_air {
        for outlet in &network.outlets {
            let Some((thing, distance)) = outlet.before else { continue };
            let Some(thing) = job.runs.get(thing) else { continue };
            let told = || {
                let what = format!("free space between the outlet and {}", job.reads(thing));
                Told::new(outlet.place, what, unit, Whose::CommonPractice)
            };
            if findings.at_least(distance, OUTLET_CLEAR, 0.0005, told).keeps() {
                continue;
            }
            let what = thing.said.kind.get().copied().unwrap_or("something");
            let hot = outlet.gets.and_then(|gets| gets.temperature).map_or(String::new(), |temperature| {
                format!("the air comes out at {} at full output", network.unit.show_to(temperature, 1.0))
            });
            let finding = findings
                .at(
                    outlet.place,
                    format!(
                        "outlet `{}` blows at `{}`, {} away; it needs {}",
                        outlet.name,
                        job.reads(thing),
                        unit.show(distance),
                        unit.show(OUTLET_CLEAR)
                    ),
                )
                .label(format!("{} to the {what}", unit.show(distance)))
                .why(joined(&["hot air warps and scorches things, and burns whoever stays before it", &hot]))
                .limit(format!("at least {} before {what}", unit.show(OUTLET_CLEAR)), Whose::CommonPractice)
                .help("turn the outlet, move it, or move the thing")
                .related(thing.header, "this is in the way");
            findings.add(finding);
        }
    }
}

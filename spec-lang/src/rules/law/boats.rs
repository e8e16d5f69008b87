//! Rules for boats: petrol, the tank beside the heater, and the outlet near the water. Water in the exhaust itself, and
//! chassis returns, are judged elsewhere.

use super::{tank_of, vehicle};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::clearances::ends_in;
use crate::finding::{Severity, Whose};
use crate::model::{Datum, unit_or};
use crate::rules::About;
use crate::rules::Cause;
use crate::rules::{Family, Guards, Rule, Told};
use crate::units::Dimension;
use crate::vocabulary::Kind;

/// Least height of the open exhaust end above the waterline. Common practice, no source.
const ABOVE_WATER: f64 = 0.1;

macro_rules! boat_job {
    ($water:literal, $tank:literal $(, $rest:expr_2021)*) => {
        concat!(
            "vehicle bench-van\n  type          boat\n  supply        12 V\n  rules         boat\n  waterline     ", $water,
            "\n  floor-height  600 mm\n  at            forward 850 mm, left 1000 mm, up 200 mm\n  \
             spans         back 5400 mm, right 2000 mm, up 2300 mm\n\n\
             tank main\n", $tank, "  holds         60 L\n  reserve       10 L\n  \
             at            back 3200 mm, left 450 mm, up 250 mm"
            $(, $rest)*
        )
    };
}

pub(super) static PETROL_HEATER_IN_BOAT: Rule = Rule {
    name: "petrol-heater-in-boat",
    family: Family::Law,
    severity: Severity::Error,
    title: "a petrol heater in a boat",
    source: "46 CFR 25.45-1 (hired boats): fuel oil and kerosene are listed, petrol is not; elsewhere life safety, trialfit's own rule",
    explanation: "Petrol vapour is heavier than air, and a hull is like a bowl. Vapour that leaks lies in the bilge and \
                  stays there until the heater's own flame lights it.",
    mend: "Take a diesel heater, with diesel from a tank of its own.",
    bad: boat_job!(
        "100 mm",
        "  fuel          petrol\n",
        "\n\ndatasheet heater petrol-2                      # invented\n  warms         air\n  burns         petrol\n  \
         supply        12 V\n\nheater reader\n  datasheet     petrol-2\n  in            cabin\n  heats         cabin\n  \
         at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward"
    ),
    good: boat_job!("100 mm", "  fuel          diesel winter-1\n"),
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::TankFuel]]).only(when::boat)],
    find: |findings| {
        let job = findings.job;
        if !job.of_boat() {
            return;
        }
        for (number, heater) in job.heaters.iter().enumerate() {
            let sheet = job.sheet_of(number);
            let by_sheet = sheet.and_then(|sheet| sheet.burns.fact()).filter(|burns| burns.value == "petrol");
            let by_tank = tank_of(job, number)
                .and_then(|(_, tank)| tank.fuel.fact().map(|fuel| (tank, fuel)))
                .filter(|(_, fuel)| fuel.value == "petrol");
            if by_sheet.is_none() && (by_tank.is_none() || sheet.is_some_and(|sheet| sheet.burns.get().is_some())) {
                continue;
            }
            let holds = by_tank.and_then(|(tank, _)| tank.holds.get().map(|holds| holds.show(holds.high)));
            let holds = holds.map_or(String::new(), |holds| format!(", from a tank of {holds}"));
            let mut finding = findings
                .at(
                    heater.sheet_place.unwrap_or(heater.header),
                    format!("`{}` burns petrol in a boat{holds}", heater.name),
                )
                .label("a flame above a bilge")
                .why("petrol vapour is heavier than air, lies in the bilge and stays there")
                .limit(
                    "no heater for petrol: fuel oil and kerosene only",
                    Whose::Standard("46 CFR 25.45-1 for hired boats; elsewhere life safety, trialfit's own rule"),
                )
                .help("take a diesel heater, with diesel from a tank of its own");
            if let Some((tank, fuel)) = by_tank {
                finding = finding.related(fuel.written, format!("the fuel of `{}`", tank.name));
            }
            if let Some(burns) = by_sheet {
                finding = finding.related(burns.written, "the data sheet says so");
            }
            findings.add(finding);
        }
    },
};

pub(super) static HEATER_TANK_BESIDE_HEATER: Rule = Rule {
    name: "heater-tank-beside-heater",
    family: Family::Law,
    severity: Severity::Warning,
    title: "a boat's heater tank in the same space as its heater",
    source: "46 CFR 25.45-1 (hired boats): the tank stands apart from the appliance, in an open or vented compartment, filled and \
             vented outside",
    explanation: "In a closed locker, fuel that leaks from the tank meets the hot heater. From a space of its own it \
                  only reaches the bilge, where somebody smells it.",
    mend: "Put the tank in another, vented space, filled from outside.",
    bad: r#"
vehicle bench-van
  type          boat
  supply        12 V
  rules         boat
  waterline     100 mm
  floor-height  600 mm
  at            forward 850 mm, left 1000 mm, up 200 mm
  spans         back 5400 mm, right 2000 mm, up 2300 mm

tank main
  fuel          diesel winter-1
  holds         60 L
  reserve       10 L
  feeds         heater
  at            back 3200 mm, left 450 mm, up 700 mm

fuel-line of reader
  from          main by standpipe
  line          2.2 mm
  run           1600 mm, down 60 mm
  pump          outlet up 20°
  run           1500 mm, up 30 mm
  ends          at reader
"#,
    good: boat_job!("100 mm", "  fuel          diesel winter-1\n  feeds         heater\n"),
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[Cause::on_block("petrol-tank-indoors")],
    about: About::Written,
    asks: &[Ask::each(
        Kind::Heater,
        &[&[Need::TankFeeds, Need::TankAt, Need::FuelFrom, Need::HeaterIn, Need::SpaceAt, Need::SpaceSpans]],
    )
    .only(when::boat)],
    find: |findings| {
        let job = findings.job;
        if !job.of_boat() {
            return;
        }
        for (number, heater) in job.heaters.iter().enumerate() {
            let Some(space) = heater.stands_in.get().copied().flatten().and_then(|space| job.spaces.get(space)) else {
                continue;
            };
            let Some((_, tank)) = tank_of(job, number).filter(|(_, tank)| tank.feeds.get() == Some(&"heater")) else {
                continue;
            };
            let (Some(spot), Some(outline)) = (tank.spot, space.outline) else { continue };
            if tank.body != space.body || !outline.contains(spot.point) {
                continue;
            }
            let holds = tank.holds.get().map_or(String::new(), |holds| format!(" of {}", holds.show(holds.high)));
            let finding = findings
                .at(
                    tank.header,
                    format!(
                        "tank `{}`{holds} stands in `{}` together with `{}`, which it feeds",
                        tank.name, space.name, heater.name
                    ),
                )
                .label("a leak here meets the hot heater")
                .why("in a closed space a single leak brings fuel to the flame")
                .limit("apart from the heater, in a vented space", Whose::Standard("46 CFR 25.45-1, for hired boats"))
                .help("put it in another, vented space, filled from outside")
                .related(space.header, "this space")
                .related(heater.header, "the heater");
            findings.add(finding);
        }
    },
};

pub(super) static EXHAUST_NEAR_WATERLINE: Rule = Rule {
    name: "exhaust-near-waterline",
    family: Family::Law,
    severity: Severity::Warning,
    title: "a boat's exhaust outlet near the waterline",
    source: "common practice, no source: 100 mm at least above the waterline as loaded",
    explanation: "Waves, a list or three guests on one side put the outlet under water. Water then stands in the pipe, \
                  and gas cannot get out. The next start pushes both into the boat.",
    mend: "Lead the outlet higher up the side, or to the transom.",
    bad: boat_job!("400 mm", "  fuel          diesel winter-1\n"),
    good: boat_job!("100 mm", "  fuel          diesel winter-1\n"),
    guards: Guards::Life,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[&[Need::ExhaustEnds, Need::ExhaustTaped, Need::ExhaustOverWater, Need::Waterline]])
            .only(when::boat),
        Ask::each(Kind::Heater, &[groups::PORT]).only(when::placed_boat),
    ],
    find: |findings| {
        let job = findings.job;
        let Some(waterline) = vehicle(job).filter(|_| job.of_boat()).and_then(|vehicle| vehicle.waterline.fact())
        else {
            return;
        };
        for (number, run) in job.runs.iter().enumerate() {
            if run.kind != Kind::Exhaust || ends_in(run).is_some() {
                continue;
            }
            let (Some(known), Some(said)) = (findings.figures.end_height(number, Datum::Waterline), run.end.as_ref())
            else {
                continue;
            };
            let (above, worst) = (known.height.nominal, known.height.low);
            let unit = unit_or(run.walk.unit, "mm");
            let told = || {
                Told::new(said.written, "height of the exhaust outlet above the waterline", unit, Whose::CommonPractice)
            };
            let verdict = findings.at_least(known.height, ABOVE_WATER, 5e-4, told);
            if verdict.keeps() {
                continue;
            }
            let certain = verdict.certain();
            let (is, value) = if certain { ("ends", above) } else { ("may end", worst) };
            let side = if value < 0.0 { "below" } else { "above" };
            let finding = findings
                .at(
                    said.written,
                    format!(
                        "`{}` {is} {} {side} the waterline; at least {} above it is usual",
                        job.reads(run),
                        unit.show(value.abs()),
                        unit.show(ABOVE_WATER)
                    ),
                )
                .label(format!("the exhaust outlet is {} {side} the waterline", unit.show(value.abs())))
                .why("waves or a list put it under water: gas cannot get out, and water stands in the pipe")
                .limit(format!("{} above the waterline as loaded", unit.show(ABOVE_WATER)), Whose::CommonPractice)
                .help("lead the outlet higher up the side, or to the transom")
                .related(waterline.written, "the waterline");
            findings.add(finding);
        }
    },
};

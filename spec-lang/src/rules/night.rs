//! Rules on the night: will it still start at five in the morning, what is left to crank with, and does the fuel last.

use super::engine::Findings;
use super::margin::Told;
use super::wire::pair_of_volts;
use super::{Family, Guards, Rule, percent};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::night::{BatteryPart, EngineOff, NightOf, hours_and_minutes};
use crate::finding::{Finding, Severity, Whose};
use crate::model::{Battery, Tank, unit_or};
use crate::physics::night::Failure;
use crate::rules::About;
use crate::rules::Cause;
use crate::source::Place;
use crate::units::{Dimension, Temperature, rounded};
use crate::vocabulary::Kind;

pub(super) static RULES: &[&Rule] = &[&BATTERY_FAILS_IN_THE_NIGHT, &BATTERY_LEFT_TOO_EMPTY, &TANK_FAILS_IN_THE_NIGHT];

/// Charge that a lead-acid battery must keep to crank an engine in the cold, and a lithium one. Common practice, no source.
const KEPT_FOR_CRANKING: f64 = 0.5;
const KEPT_BY_LITHIUM: f64 = 0.2;

/// The battery, the cable and the heater as related places, and what the battery must also feed.
fn with_battery(findings: &Findings<'_>, night: &NightOf, battery: &BatteryPart, mut finding: Finding) -> Finding {
    let job = findings.job;
    if let Some(heater) = job.heaters.get(night.heater) {
        finding = finding.related(heater.header, "the heater it feeds");
    }
    if let Some(stated) = job.batteries.get(battery.battery) {
        for load in &stated.other_loads {
            finding = finding.related(load.written, "it draws from this battery all night too");
        }
    }
    if let Some(place) = job.conditions.runs_for.place() {
        finding = finding.related(place, "how long it runs");
    }
    finding
}

/// What empties the battery, in words.
fn drain(night: &NightOf, battery: &BatteryPart) -> String {
    let heaters = if battery.other_heaters { ", other heaters included," } else { "" };
    let other = if battery.other > 0.0 {
        format!("; other loads{heaters} draw {} A all the time", rounded(battery.other))
    } else {
        String::new()
    };
    let taken = if battery.charge.1 { "" } else { " (not stated, so taken)" };
    let starts = match night.night.starts {
        1 => "1 start".to_string(),
        starts => format!("{starts} starts"),
    };
    let engine = match battery.engine_off {
        EngineOff::Stated => "",
        EngineOff::Taken | EngineOff::Supposed => {
            "; the engine is taken to be off, because the job states no \
                                                   `used-while`"
        }
    };
    format!(
        "it begins at {}{taken}, of which {} can be drawn in this cold; until then {starts} and {} with a \
         flame{other}{engine}",
        percent(battery.charge.0),
        percent(battery.drawable),
        hours_and_minutes(night.night.burning.in_seconds()),
    )
}

/// Where a finding about how much a battery holds stands.
fn place_of(battery: &Battery) -> Place {
    battery.block_capacity.place().unwrap_or(battery.header)
}

/// Holds the lowest voltage of any start of a heater's nights against what its sheet asks for; on the night on which it
/// fails, where it does. That a start fails is settled while the night is computed, where the same two are compared.
fn starts_held(findings: &mut Findings<'_>, heater: usize, failed: Option<&NightOf>) {
    let (job, figures) = (findings.job, findings.figures);
    if !findings.listens() {
        return;
    }
    let nights = figures.nights.iter().filter(|night| night.heater == heater);
    let nights = nights.filter(|night| failed.is_none_or(|failed| std::ptr::eq(*night, failed)));
    let starts = nights.filter_map(|night| {
        let battery = night.battery.as_ref()?;
        let (voltage, _) = night.night.lowest_voltage?;
        Some((voltage.in_volts(), battery.lowest.as_ref()?, job.batteries.get(battery.battery)?))
    });
    let Some((voltage, lowest, battery)) = starts.min_by(|one, other| one.0.total_cmp(&other.0)) else { return };
    let sheet = job.sheet_of(heater).map_or(String::new(), |sheet| sheet.name.clone());
    let told = || {
        let what = "lowest voltage at the heater as it starts in the night";
        Told::new(place_of(battery), what, lowest.value.unit, Whose::Sheet(sheet))
    };
    findings.at_least(voltage, lowest.value.low, 0.0, told);
}

static BATTERY_FAILS_IN_THE_NIGHT: Rule = Rule {
    name: "battery-fails-in-the-night",
    family: Family::Night,
    severity: Severity::Error,
    title: "a battery that does not carry the heater through the night",
    source: "the lowest voltage of the heater's data sheet; Peukert 1897; capacity in the cold and rest voltage from memory",
    explanation: "Every user asks whether the heater still starts at five in the morning. The check works out the \
                  night start by start. Each pre-heat, each hour with a flame, each cool-down and all other loads \
                  draw on a battery that gives less in the cold. Each start is judged with the voltage that is left \
                  then. When a heater fails in the night, people sleep on in a room that cools to the temperature \
                  outside. If the job does not say `used-while`, the engine is taken to be off.",
    mend: "Fit a larger battery or keep it warmer, take other loads off it, lay a thicker cable, or fit a heater that \
           does not stop and start.",
    bad: "battery house\n  made-of       12 V 60 Ah\n  type          AGM\n  charge        90 %\n  cranks        nothing\n  \
          other-load    4 A, fridge\n  at            back 1200 mm, left 600 mm, up 700 mm",
    good: "battery house\n  made-of       12 V 60 Ah\n  type          AGM\n  charge        90 %\n  cranks        nothing\n  \
           other-load    200 mA, alarm\n  at            back 1200 mm, left 600 mm, up 700 mm",
    guards: Guards::Start,
    measures: &[Dimension::Time, Dimension::Voltage],
    explained_by: &[
        Cause::on_heater("system-voltage-differs"),
        Cause::on_heater("starting-voltage-low"),
        Cause::on_block("battery-freezes"),
    ],
    about: About::Written,
    asks: &[
        Ask::each(
            Kind::Battery,
            &[
                groups::FEED,
                groups::START,
                &[
                    Need::RunsFor,
                    Need::WhenUsed,
                    Need::SheetRunning,
                    Need::SheetVoltage,
                    Need::SheetOutput,
                    Need::SheetStarting,
                    Need::BatteryOtherLoad,
                ],
            ],
        ),
        Ask::each(Kind::Battery, &[groups::ROOM, &[Need::ReturnAirDraws]]).only(when::warms_air),
    ],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for heater in 0..job.heaters.len() {
            // The night on which it fails first speaks for both.
            let failed = figures.nights.iter().filter(|night| night.heater == heater).filter_map(|night| {
                let (why, when) = night.night.failed.filter(|(why, _)| *why != Failure::Fuel)?;
                Some((night, night.battery.as_ref()?, why, when.in_seconds()))
            });
            let first = failed.min_by(|one, other| one.3.total_cmp(&other.3));
            starts_held(findings, heater, first.as_ref().map(|(night, ..)| *night));
            let Some((night, battery, why, when)) = first else { continue };
            let (Some(stated), Some(heater)) = (job.batteries.get(battery.battery), job.heaters.get(heater)) else {
                continue;
            };
            let place = place_of(stated);
            let sheet = job.sheet_of(night.heater).map_or(String::new(), |sheet| sheet.name.clone());
            let unit = figures.rooms.get(night.room).map_or_else(|| unit_or(None, "°C"), |room| room.unit);
            let (time, outside) = (hours_and_minutes(when), unit.show(night.outside));
            let mut finding = match (why, night.night.lowest_voltage, battery.lowest.as_ref()) {
                (Failure::Voltage, Some((voltage, _)), Some(lowest)) => {
                    let (left, asked) = pair_of_volts(voltage.in_volts(), lowest.value.low);
                    // The first start is none again, and a night that has not begun has no time of its own.
                    let fails = match (night.night.starts, when < 60.0) {
                        (0, true) => "would not start".to_string(),
                        (0, false) => format!("would not start {time} into the night"),
                        _ => format!("would not start again {time} into the night"),
                    };
                    findings
                        .at(
                            place,
                            format!("`{}` {fails}: {left} at {outside}; the data sheet asks for {asked}", heater.name),
                        )
                        .limit(format!("{asked} at the heater"), Whose::Sheet(sheet))
                        .related(lowest.written, "the lowest voltage that the data sheet allows")
                }
                _ => {
                    let told = || Told::new(place, "time until the battery is empty", unit_or(None, "h"), Whose::Job);
                    findings.at_least(when, night.lasts, 0.0, told);
                    let lasts = hours_and_minutes(night.lasts);
                    findings
                        .at(
                            place,
                            format!(
                                "battery `{}` is empty {time} into the night at {outside}; `{}` is to run for {lasts}",
                                stated.name, heater.name
                            ),
                        )
                        .limit(format!("{lasts} of running"), Whose::Job)
                }
            };
            finding = finding
                .label(if when < 60.0 { "not enough for one start".to_string() } else { format!("lasts {time}") })
                .why(drain(night, battery))
                .help("fit a larger battery or keep it warmer, take other loads off it, or lay a thicker cable");
            let supposed = battery.engine_off == EngineOff::Supposed;
            if !battery.charge.1 || job.conditions.design_cold.get().is_none() || supposed {
                finding.severity = Severity::Warning;
            }
            if let Some(run) = job.runs.get(battery.run) {
                finding = finding.related(run.header, "the cable between them");
            }
            finding = with_battery(findings, night, battery, finding);
            findings.add(finding);
        }
    },
};

static BATTERY_LEFT_TOO_EMPTY: Rule = Rule {
    name: "battery-left-too-empty",
    family: Family::Night,
    severity: Severity::Warning,
    title: "too little charge left in the morning",
    source: "the job's own `keep`; otherwise common practice, no source, for a battery that cranks the engine: half \
             the charge of a lead-acid battery, a fifth of a lithium one",
    explanation: "A heater on the battery that cranks the engine can leave people warm and stranded. Cold takes half \
                  of what a battery gives, and a cold engine asks for more than ever. The rule judges the charge that \
                  is left when the night is over.",
    mend: "Feed the heater from a battery of its own, fit a larger battery, or take other loads off it.",
    bad: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  cranks        engine\n  \
          other-load    4 A, fridge\n  at            back 1200 mm, left 600 mm, up 700 mm",
    good: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  cranks        engine\n  \
           other-load    200 mA, alarm\n  at            back 1200 mm, left 600 mm, up 700 mm",
    guards: Guards::Start,
    measures: &[Dimension::Ratio],
    explained_by: &[Cause::on_heater("battery-fails-in-the-night")],
    about: About::Written,
    asks: &[
        Ask::each(
            Kind::Battery,
            &[
                groups::FEED,
                groups::START,
                &[
                    Need::RunsFor,
                    Need::WhenUsed,
                    Need::SheetRunning,
                    Need::SheetVoltage,
                    Need::SheetOutput,
                    Need::SheetStarting,
                    Need::BatteryOtherLoad,
                    Need::BatteryCranks,
                    Need::BatteryKeep,
                ],
            ],
        ),
        Ask::each(Kind::Battery, &[groups::ROOM, &[Need::ReturnAirDraws]]).only(when::warms_air),
    ],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for number in 0..job.batteries.len() {
            let on_it = figures.nights.iter().filter_map(|night| {
                let battery = night.battery.as_ref().filter(|battery| battery.battery == number)?;
                Some((night, battery))
            });
            let worst = on_it.min_by(|one, other| one.1.left.total_cmp(&other.1.left));
            let (Some((night, battery)), Some(stated)) = (worst, job.batteries.get(number)) else { continue };
            let lithium = stated.kind.get() == Some(&"LiFePO4");
            let (keep, whose) = match (stated.keep.get(), stated.cranks.get()) {
                (Some(keep), _) => (keep.high, Whose::Job),
                (None, Some(&"engine")) => {
                    (if lithium { KEPT_BY_LITHIUM } else { KEPT_FOR_CRANKING }, Whose::CommonPractice)
                }
                _ => continue,
            };
            let place = stated.cranks.place().unwrap_or(stated.header);
            let told = || Told::new(place, "charge left in the morning", unit_or(None, "%"), whose.clone());
            if findings.at_least(battery.left, keep, 0.0005, told).keeps() {
                continue;
            }
            let cranks = if stated.cranks.get() == Some(&"engine") { " to crank the engine with" } else { "" };
            let mut finding = findings
                .at(
                    place,
                    format!(
                        "battery `{}` has {} left in the morning{cranks}; it should keep {}",
                        stated.name,
                        percent(battery.left),
                        percent(keep)
                    ),
                )
                .label(format!("{} left after {}", percent(battery.left), hours_and_minutes(night.lasts)))
                .why(drain(night, battery))
                .limit(format!("at least {} left", percent(keep)), whose)
                .help("feed the heater from a battery of its own, fit a larger battery, or take other loads off it");
            if let Some(place) = stated.keep.place() {
                finding = finding.related(place, "the charge to keep");
            }
            finding = with_battery(findings, night, battery, finding);
            findings.add(finding);
        }
    },
};

fn place_of_tank(tank: &Tank) -> Place {
    tank.holds.place().unwrap_or(tank.header)
}

/// Holds what a heater burns in its longest night against what its tank can give, where it gives enough.
fn fuel_held(findings: &mut Findings<'_>, heater: usize) {
    let (job, figures) = (findings.job, findings.figures);
    let nights = figures.nights.iter().filter(|night| night.heater == heater && night.night.failed.is_none());
    let burnt = nights.filter_map(|night| {
        let (tank, usable) = night.tank?;
        Some((night.night.fuel.in_cubic_metres(), usable, job.tanks.get(tank)?))
    });
    let Some((fuel, usable, tank)) = burnt.max_by(|one, other| (one.0 / one.1).total_cmp(&(other.0 / other.1))) else {
        return;
    };
    let unit = tank.holds.get().map_or_else(|| unit_or(None, "L"), |holds| holds.unit);
    let told = || Told::new(place_of_tank(tank), "fuel burnt in a night", unit, Whose::Job);
    findings.at_most(fuel, usable, usable * 1e-6, told);
}

static TANK_FAILS_IN_THE_NIGHT: Rule = Rule {
    name: "tank-fails-in-the-night",
    family: Family::Night,
    severity: Severity::Warning,
    title: "a full tank that does not last the night",
    source: "the job's own `runs-for`; fuel rates of the heater's data sheet",
    explanation: "A pickup leaves a reserve in the tank. Only the fuel above it reaches the heater. If even a full \
                  tank does not last as long as the heater is to run, the heater goes out in the night and draws air \
                  into its line. It then needs bleeding before it starts again.",
    mend: "Fit a larger tank, lower the pickup where the engine's reserve allows it, or run the heater for a shorter \
           time.",
    bad: "tank main\n  fuel          diesel winter-1\n  holds         10.6 L\n  reserve       10 L\n  at            back 3200 mm, left 450 mm, up 250 mm",
    good: "tank main\n  fuel          diesel winter-1\n  holds         15 L\n  reserve       10 L\n  at            back 3200 mm, left 450 mm, up 250 mm",
    guards: Guards::Start,
    measures: &[Dimension::Time, Dimension::Volume],
    explained_by: &[Cause::on_block("tank-contradicts-itself")],
    about: About::Written,
    asks: &[
        Ask::each(
            Kind::Tank,
            &[
                groups::FEED,
                groups::START,
                &[
                    Need::TankHolds,
                    Need::TankReserve,
                    Need::FuelFrom,
                    Need::RunsFor,
                    Need::WhenUsed,
                    Need::SheetFuelRate,
                    Need::SheetOutput,
                    Need::SheetVoltage,
                ],
            ],
        ),
        Ask::each(Kind::Tank, &[groups::ROOM, &[Need::ReturnAirDraws]]).only(when::warms_air),
    ],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for number in 0..job.heaters.len() {
            let failed = figures.nights.iter().filter(|night| night.heater == number).filter_map(|night| {
                let (_, when) = night.night.failed.filter(|(why, _)| *why == Failure::Fuel)?;
                let (tank, usable) = night.tank?;
                Some((night, job.tanks.get(tank)?, usable, when.in_seconds()))
            });
            let failed = failed.min_by(|one, other| one.3.total_cmp(&other.3));
            if failed.is_none() && findings.listens() {
                fuel_held(findings, number);
            }
            let Some((night, tank, usable, when)) = failed else { continue };
            let Some(heater) = job.heaters.get(number) else { continue };
            let told = || Told::new(place_of_tank(tank), "time that a full tank lasts", unit_or(None, "h"), Whose::Job);
            findings.at_least(when, night.lasts, 0.0, told);
            let unit = tank.holds.get().map_or_else(|| unit_or(None, "L"), |holds| holds.unit);
            let (time, lasts) = (hours_and_minutes(when), hours_and_minutes(night.lasts));
            let cold = Temperature::kelvin(night.outside).in_celsius();
            let own = tank.feeds.get() == Some(&"heater");
            let help = if own {
                "fit a larger tank, end the standpipe nearer to its floor, or run the heater for a shorter time"
            } else {
                "fit a larger tank, lower the pickup where the engine's reserve allows it, or run the heater for a \
                 shorter time"
            };
            let mut finding = findings
                .at(
                    place_of_tank(tank),
                    format!(
                        "a full tank `{}` lasts `{}` {time} at {} °C; it is to run for {lasts}",
                        tank.name,
                        heater.name,
                        rounded(cold)
                    ),
                )
                .label(format!("{} above the reserve", unit.show(usable)))
                .why(format!(
                    "{} is burnt in {} with a flame",
                    unit.show(night.night.fuel.in_cubic_metres()),
                    hours_and_minutes(night.night.burning.in_seconds())
                ))
                .limit(lasts, Whose::Job)
                .help(help)
                .related(heater.header, "the heater it feeds");
            if let Some(place) = tank.reserve.place() {
                finding = finding.related(place, "the fuel that stays below the pickup");
            }
            if let Some(place) = job.conditions.runs_for.place() {
                finding = finding.related(place, "how long the heater is to run");
            }
            findings.add(finding);
        }
    },
};

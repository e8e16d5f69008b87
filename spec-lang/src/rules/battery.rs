//! Rules on the battery itself: what takes the load off it, what fills it, how its charge is known, what it lies beside. What
//! is left at the heater is judged in `wire`, a whole night in `night`.

use super::margin::Told;
use super::wire::{celsius, heater_name, is_start, pair_of_volts, volts, with_cable};
use super::{Family, Guards, Rule};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::supply::Case;
use crate::finding::{Severity, Whose};
use crate::model::{Interval, unit_or};
use crate::physics::battery::{Chemistry, lowest_charging_temperature};
use crate::rules::About;
use crate::rules::Cause;
use crate::units::{Dimension, rounded};
use crate::vocabulary::Kind;

pub(super) static RULES: &[&Rule] = &[
    &START_CUT_BY_MANAGEMENT,
    &CUT_BEFORE_HEATER_STOPS,
    &CHARGING_VOLTAGE_HIGH,
    &CHARGED_IN_FROST,
    &CHARGE_READ_BY_VOLTAGE,
    &BATTERY_BY_FUEL_TANK,
];

static START_CUT_BY_MANAGEMENT: Rule = Rule {
    name: "start-cut-by-management",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "a battery saver or battery management that cuts off the heater's start",
    source: "the voltage at which it cuts the load off, compared with the battery's voltage while the heater starts (battery values from memory)",
    explanation: "A battery saver, a load output or a battery's own management watches the voltage at the battery. While the glow pin heats, for a minute or two, that voltage drops, most of all in the cold. The load is then cut off in the middle of the start. The heater never runs, and nobody finds out why.",
    mend: "Take the heater's feed past it, or set it to a lower voltage or a longer delay where it can be set.",
    bad: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  cranks        nothing\n  cuts-below    12.5 V\n  at            back 1200 mm, left 600 mm, up 700 mm",
    good: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  cranks        nothing\n  cuts-below    10 V\n  at            back 1200 mm, left 600 mm, up 700 mm",
    guards: Guards::Start,
    measures: &[Dimension::Voltage],
    explained_by: &[Cause::on_heater("system-voltage-differs")],
    about: About::Written,
    asks: &[Ask::each(Kind::Battery, &[groups::CUT_OFF, groups::FEED]).only(when::cut_off)],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for supply in &figures.supplies {
            let cuts = job.batteries.get(supply.battery).and_then(|battery| battery.cuts_below.fact());
            let Some(cuts) = cuts else { continue };
            let starts = supply.left.iter().filter(|left| left.case == Case::ColdStart && is_start(left));
            let Some(left) = starts.max_by(|one, other| one.sag.total_cmp(&other.sag)) else { continue };
            let at_battery = supply.open_circuit - left.sag;
            let told = || {
                Told::new(cuts.written, "voltage at the battery while the heater starts", cuts.value.unit, Whose::Job)
            };
            if findings.at_least(at_battery, cuts.value.high, 0.0, told).keeps() {
                continue;
            }
            let (held, limit) = pair_of_volts(at_battery, cuts.value.high);
            let heater = heater_name(findings, supply);
            let charge = if supply.charge.1 { "" } else { " (not stated, so assumed)" };
            let finding = findings
                .at(
                    cuts.written,
                    format!(
                        "in {} `{heater}` pulls the battery down to {held}; below {limit} the load is cut off",
                        left.stage
                    ),
                )
                .label("cuts off the start")
                .why(format!(
                    "at {} and {} % charge{charge} the battery rests at {}; it drops {} at {} A",
                    celsius(Case::ColdStart.of(supply.copper)),
                    rounded(supply.charge.0 * 100.0),
                    volts(supply.open_circuit),
                    volts(left.sag),
                    rounded(left.current)
                ))
                .limit(format!("{limit} at the battery"), Whose::Job)
                .help("take the heater's feed past it, or set it to a lower voltage or a longer delay where it can be set");
            findings.add(with_cable(finding, findings, supply, "the cable that it cuts off"));
        }
    },
};

static CUT_BEFORE_HEATER_STOPS: Rule = Rule {
    name: "cut-before-heater-stops",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "a load cut off before the heater would stop by itself",
    source: "the lowest voltage in the heater's data sheet; common practice, no source: the heater should be the first to stop",
    explanation: "A heater that finds its voltage too low stops in order: it shuts off the fuel, then cools down. A battery saver or management that acts at a higher voltage just cuts the feed. A hot heater is then left without its blower.",
    mend: "Set it lower than the heater's own limit, or take the heater's feed past it.",
    bad: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  cranks        nothing\n  cuts-below    11.5 V\n  at            back 1200 mm, left 600 mm, up 700 mm",
    good: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  cranks        nothing\n  cuts-below    10 V\n  at            back 1200 mm, left 600 mm, up 700 mm",
    guards: Guards::Fire,
    measures: &[Dimension::Voltage],
    explained_by: &[
        Cause::on_heater("system-voltage-differs"),
        Cause::on_block("start-cut-by-management"),
        Cause::on_heater("feed-can-be-cut"),
    ],
    about: About::Written,
    asks: &[Ask::each(Kind::Battery, &[groups::CUT_OFF, groups::FEED]).only(when::cut_off)],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for supply in &figures.supplies {
            let cuts = job.batteries.get(supply.battery).and_then(|battery| battery.cuts_below.fact());
            let (Some(cuts), Some(lowest)) = (cuts, &supply.lowest) else { continue };
            let running =
                supply.left.iter().filter(|left| left.case == Case::ColdStart && matches!(left.stage, "high" | "low"));
            let Some(lost) = running.map(|left| left.lost).reduce(f64::max) else { continue };
            // At the battery, when the heater gives up by itself in its strongest running.
            let gives_up = lowest.value.low + lost;
            let told = || {
                Told::new(cuts.written, "voltage at which the load is cut off", cuts.value.unit, Whose::CommonPractice)
            };
            if findings.at_most(cuts.value.nominal, gives_up, 0.0, told).keeps() {
                continue;
            }
            let (cut, own) = pair_of_volts(cuts.value.nominal, gives_up);
            let heater = heater_name(findings, supply);
            let finding = findings
                .at(
                    cuts.written,
                    format!("the load is cut off at {cut}; `{heater}` would stop by itself at {own} at the battery"),
                )
                .label("acts before the heater does")
                .why(format!(
                    "the data sheet's lowest voltage is {}; {} is lost on the way while the heater runs",
                    volts(lowest.value.low),
                    volts(lost)
                ))
                .limit(format!("{own} at the battery"), Whose::CommonPractice)
                .related(lowest.written, "the lowest voltage that the data sheet allows")
                .help("set it lower, or take the heater's feed past it");
            findings.add(with_cable(finding, findings, supply, "the cable that it cuts off"));
        }
    },
};

static CHARGING_VOLTAGE_HIGH: Rule = Rule {
    name: "charging-voltage-high",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "a charger with more voltage than the heater allows",
    source: "the highest voltage in the heater's data sheet; usual charging voltages, from memory",
    explanation: "While a battery is charged, its voltage is the charger's. Above its highest voltage a heater shuts down, and its controller may be damaged.",
    mend: "Use a heater that allows the charger's voltage, or set the charger lower.",
    bad: "datasheet heater narrow-2               # invented\n  warms         air\n  burns         diesel\n  supply        12 V\n  voltage       10.2 V .. 14 V\n  stage         pre-heat, 9.5 A peak, 90 s\n  stage         high, 2.8 A\n  fuse          20 A\n\nheater reader\n  datasheet     narrow-2\n  in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\nbattery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  charged-by    mains\n  at            back 1200 mm, left 600 mm, up 700 mm",
    good: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  charged-by    mains\n  at            back 1200 mm, left 600 mm, up 700 mm",
    guards: Guards::Start,
    measures: &[Dimension::Voltage],
    explained_by: &[Cause::on_heater("system-voltage-differs")],
    about: About::Written,
    asks: &[Ask::each(
        Kind::Battery,
        &[groups::FEED, &[Need::BatteryType, Need::BatteryChargedBy, Need::SheetVoltage]],
    )],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for supply in &figures.supplies {
            let care = figures.batteries.get(supply.battery);
            let (Some((voltage, charger)), Some(window)) =
                (care.and_then(|care| care.charging_voltage.zip(care.charger)), &supply.lowest)
            else {
                continue;
            };
            // A window without an upper end is written as one number.
            if window.value.high <= window.value.low {
                continue;
            }
            let sheet = job.sheet_of(supply.heater).map_or("", |sheet| sheet.name.as_str());
            let told = || {
                Told::new(
                    charger,
                    "voltage at the heater while the battery is charged",
                    window.value.unit,
                    Whose::Sheet(sheet.to_string()),
                )
            };
            if findings.at_most(voltage, window.value.high, 0.0, told).keeps() {
                continue;
            }
            let (lifted, limit) = pair_of_volts(voltage, window.value.high);
            let heater = heater_name(findings, supply);
            let finding = findings
                .at(charger, format!("this battery is usually charged at {lifted}; `{heater}` bears {limit}"))
                .label(format!("{lifted} while it charges"))
                .why("a charger that corrects for cold goes higher still")
                .limit(format!("{limit} at the heater"), Whose::Sheet(sheet.to_string()))
                .related(window.written, "the voltages that the data sheet allows")
                .help("use a heater that allows the charger's voltage, or set the charger lower");
            findings.add(finding);
        }
    },
};

static CHARGED_IN_FROST: Rule = Rule {
    name: "charged-in-frost",
    family: Family::Wire,
    severity: Severity::Error,
    title: "a lithium battery charged in frost",
    source: "common practice, no source: lithium iron phosphate is not charged below 0 °C",
    explanation: "When a lithium cell is charged below freezing, metal grows in it. The cell loses capacity at once. Later it may short itself without a sign, and that can start a fire. Judged where the job states what charges the battery, and either the battery's own temperature or the design cold.",
    mend: "Put it where it stays above freezing, use one with heating of its own (`warmed`), or keep the charger off in frost.",
    bad: "battery house\n  made-of       12 V 100 Ah\n  type          LiFePO4\n  charge        90 %\n  charged-by    alternator, 30 A\n  read-by       count\n  at            back 1200 mm, left 600 mm, up 700 mm",
    good: "battery house\n  made-of       12 V 100 Ah\n  type          LiFePO4\n  charge        90 %\n  charged-by    alternator, 30 A\n  read-by       count\n  warmed\n  at            back 1200 mm, left 600 mm, up 700 mm",
    guards: Guards::Fire,
    measures: &[Dimension::Temperature],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Battery, &[&[Need::BatteryChargedBy, Need::DesignCold]]).only(when::lithium)],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for care in &figures.batteries {
            let Some(battery) = job.batteries.get(care.battery).filter(|battery| !battery.warmed) else { continue };
            let (Some(least), Some(charger), Some((cold, coldest, place))) =
                (lowest_charging_temperature(care.chemistry), care.charger, care.cold)
            else {
                continue;
            };
            if job.header.is_none() {
                continue;
            }
            let told = || {
                Told::new(
                    charger,
                    "temperature of the battery while it is charged",
                    unit_or(None, "°C"),
                    Whose::CommonPractice,
                )
            };
            let own = Interval { low: coldest, nominal: cold, high: cold };
            let verdict = findings.at_least(own, least.in_kelvin(), 0.0, told);
            if verdict.keeps() {
                continue;
            }
            let as_meant = verdict.certain();
            let shown = celsius(if as_meant { cold } else { coldest });
            let may = if as_meant { "would be" } else { "may be" };
            let mut finding = findings
                .at(charger, format!("`{}` {may} charged at {shown}; 0 °C is the lowest for LiFePO4", battery.name))
                .label(format!("charged at {shown}"))
                .why("metal grows in the cells and may short them later")
                .limit(celsius(least.in_kelvin()), Whose::CommonPractice)
                .related(place, "how cold it gets")
                .help("keep it above freezing, use one with heating of its own and write `warmed`, or keep the charger off in frost");
            if !as_meant {
                finding.severity = Severity::Warning;
            }
            findings.add(finding);
        }
    },
};

static CHARGE_READ_BY_VOLTAGE: Rule = Rule {
    name: "charge-read-by-voltage",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "a lithium battery whose charge is read from its voltage",
    source: "rest voltages of lithium iron phosphate, circulated table, from memory",
    explanation: "The voltage of a lithium iron phosphate battery hardly changes between nearly empty and nearly full. Any load changes it as much. A gauge that reads it shows full all night, and the battery is empty before the morning's start. Only counting the charge that goes in and out works.",
    mend: "Fit a battery monitor that counts charge, and write `read-by count`.",
    bad: "battery house\n  made-of       12 V 100 Ah\n  type          LiFePO4\n  charge        90 %\n  read-by       voltage\n  at            back 1200 mm, left 600 mm, up 700 mm",
    good: "battery house\n  made-of       12 V 100 Ah\n  type          LiFePO4\n  charge        90 %\n  read-by       count\n  at            back 1200 mm, left 600 mm, up 700 mm",
    guards: Guards::Start,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Battery, &[&[Need::BatteryReadBy, Need::BatteryMadeOf]]).only(when::lithium)],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for care in figures.batteries.iter().filter(|care| care.chemistry == Chemistry::LithiumIronPhosphate) {
            let Some(battery) = job.batteries.get(care.battery) else { continue };
            let Some(read) = battery.read_by.fact().filter(|read| read.value == "voltage") else { continue };
            let Some(moves) = care.voltage_over_charge else { continue };
            let sag = figures.supplies.iter().filter(|supply| supply.battery == care.battery);
            let sag = sag.flat_map(|supply| &supply.left).map(|left| left.sag).fold(0.0, f64::max);
            let finding = findings
                .at(read.written, format!("from 30 % to 90 % charge the voltage of `{}` moves by only {moves:.1} V, too little to read the charge from", battery.name))
                .label(format!("only {moves:.1} V between 30 % and 90 %"))
                .why(if sag > 0.0 { format!("the heater's own current moves it by {sag:.2} V") } else { String::new() })
                .limit("charge read by counting it", Whose::CommonPractice)
                .help("fit a battery monitor that counts charge, and write `read-by count`")
                .replace_at("write `count`, and fit a battery monitor that counts", read.written, "count", false);
            findings.add(finding);
        }
    },
};

/// How far a battery and a tank may stand straight above each other in a land vehicle. Common practice, no source.
const APART_ENOUGH: f64 = 1.0;

static BATTERY_BY_FUEL_TANK: Rule = Rule {
    name: "battery-by-fuel-tank",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "a battery straight above or below a fuel tank",
    source: "ISO 10133 clauses 5.6 and 5.7 (secondary copy) for boats; elsewhere common practice, no source",
    explanation: "A battery gives off gas, and its terminals spark when a tool slips. Fuel that leaks drips down. One straight above the other brings the two together. Judged where battery and tank both state their size (`spans`): in a boat at any distance, elsewhere within 1 m and with no floor of the vehicle between them.",
    mend: "Move one of them aside.",
    bad: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  at            back 1200 mm, left 600 mm, up 700 mm\n  spans         back 300 mm, right 200 mm, up 200 mm\n\ntank spare\n  fuel          diesel winter-1\n  at            back 1000 mm, left 700 mm, up 350 mm\n  spans         back 600 mm, right 500 mm, up 300 mm",
    good: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  at            back 1200 mm, left 600 mm, up 700 mm\n  spans         back 300 mm, right 200 mm, up 200 mm\n\ntank spare\n  fuel          diesel winter-1\n  at            back 2000 mm, left 700 mm, up 250 mm\n  spans         back 600 mm, right 500 mm, up 300 mm",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Battery, &[&[Need::BatteryAt, Need::TankAt, Need::BatteryRides, Need::TankRides]])
            .only(when::placed),
        Ask::each(Kind::Battery, &[&[Need::BatterySpans, Need::TankSpans]]).only(when::battery_near_tank),
    ],
    find: |findings| {
        let job = findings.job;
        for battery in &job.batteries {
            let Some((battery_box, _)) = battery.area else { continue };
            for tank in job.tanks.iter().filter(|tank| tank.body == battery.body) {
                let Some((tank_box, _)) = tank.area else { continue };
                let overlap =
                    |low: f64, high: f64, other_low: f64, other_high: f64| high.min(other_high) - low.max(other_low);
                let (b, t) = ((battery_box.low(), battery_box.high()), (tank_box.low(), tank_box.high()));
                let along = overlap(b.0.x, b.1.x, t.0.x, t.1.x);
                let across = overlap(b.0.y, b.1.y, t.0.y, t.1.y);
                if along <= 0.0 || across <= 0.0 {
                    continue;
                }
                let (way, gap) = if b.0.z >= t.1.z { ("above", b.0.z - t.1.z) } else { ("below", t.0.z - b.1.z) };
                let floor = job.floor_level().map(|floor| floor.value);
                let floor_between = floor.is_some_and(|floor| b.0.z >= floor.high && t.1.z <= floor.low);
                if !job.of_boat() && (gap > APART_ENOUGH || floor_between) {
                    continue;
                }
                let shown = job.length_unit("mm").show(gap.max(0.0));
                let mut finding = findings
                    .at(
                        battery.header,
                        format!("battery `{}` lies {shown} straight {way} fuel tank `{}`", battery.name, tank.name),
                    )
                    .label(format!("straight {way} the tank"))
                    .why("sparks at its terminals can meet leaking fuel")
                    .related(tank.header, "the tank")
                    .help("move one of them aside");
                finding = if job.of_boat() {
                    finding.severity = Severity::Warning;
                    finding.limit(
                        "not straight above or below each other",
                        Whose::Standard("ISO 10133 clauses 5.6 and 5.7"),
                    )
                } else {
                    finding.limit("not straight above or below each other", Whose::CommonPractice)
                };
                findings.add(finding);
            }
        }
    },
};

#[cfg(test)]
mod tests {
    use crate::bench::judge_example;
    use crate::finding::Severity;

    fn found(battery: &str) -> Vec<(&'static str, Severity)> {
        let example = format!(
            "battery house\n  made-of       12 V 100 Ah\n  charge        90 %\n{battery}  at            back 1200 mm, left 600 mm, up 700 mm"
        );
        judge_example(&example).standing().map(|finding| (finding.rule.name, finding.severity)).collect()
    }

    #[test]
    fn frost_is_no_matter_to_lead_and_a_warm_place_none_to_lithium() {
        assert!(found("  type          AGM\n  charged-by    alternator\n").is_empty());
        assert!(found("  type          LiFePO4\n  charged-by    nothing\n").is_empty());
        let warm = "  type          LiFePO4\n  charged-by    mains\n  temperature   5 °C";
        assert!(found(&format!("{warm}\n")).is_empty());
        // Only the cold end of the doubt reaches frost: a warning.
        assert_eq!(found(&format!("{warm} ± 8 K\n")), [("charged-in-frost", Severity::Warning)]);
    }

    #[test]
    fn management_is_told_once_by_its_gravest_effect() {
        let cuts = |at: &str| found(&format!("  type          AGM\n  cuts-below    {at}\n"));
        assert_eq!(cuts("12.6 V"), [("start-cut-by-management", Severity::Warning)]);
        assert_eq!(cuts("11.5 V"), [("cut-before-heater-stops", Severity::Warning)]);
        assert!(cuts("10.1 V").is_empty());
    }

    #[test]
    fn a_charger_with_a_current_gives_a_time_and_one_eaten_by_other_loads_none() {
        let of = |load: &str| {
            judge_example(&format!(
                "battery house\n  made-of       12 V 100 Ah\n  type          AGM\n  charge        90 %\n  charged-by    mains, 10 A\n\
                 {load}  at            back 1200 mm, left 600 mm, up 700 mm"
            ))
        };
        let time = |analysis: &crate::Analysis| {
            analysis
                .shown()
                .list
                .iter()
                .find(|figure| figure.name == "recharge_time")
                .map(|figure| figure.value / 3600.0)
        };
        // 2.8 A for 8 h and the start: 22.4 + (9.5·90 + 8·40 + 8.4·20 + 2.2·200)/3600 = 22.90 Ah. The battery accepts less than
        // 10 A from the first, 0.4 an hour of what it lacks: 1.2/0.4 · ln(22.90/5) = 4.56 h.
        let hours = time(&of("")).expect("a time");
        assert!((hours - 4.56).abs() < 0.01, "{hours}");
        let eaten = of("  other-load    11 A, fridge\n");
        let missing = eaten.shown().missing.iter().any(|missing| missing.because.contains("charger's current"));
        assert!(time(&eaten).is_none() && missing);
    }
}

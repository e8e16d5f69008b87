//! Each battery for itself: what fills it, at which voltage and in which time, and what its own cold does to that. What a
//! heater is left with is in `supply`; a whole night is in `night`. Nothing is judged.

use super::supply::{bank_of, chemistry_of};
use super::{Figure, Figures, Section, Step, Unjudged, input};
use crate::model::{Battery, Job, unit_or};
use crate::physics::battery::{
    CALLED_CHARGED, Chemistry, acceptance_per_hour, charge_factor, charging_voltage, open_circuit_voltage,
    recharge_time,
};
use crate::source::Place;
use crate::units::{Charge, Current};

/// One battery.
#[derive(Clone, Debug)]
pub struct BatteryCare {
    /// Its number.
    pub battery: usize,
    /// What it is made of.
    pub chemistry: Chemistry,
    /// The voltage at which a charger fills it, V; `None` where nothing charges it or its voltage is not stated.
    pub charging_voltage: Option<f64>,
    /// Where its charger is stated, where it has one.
    pub charger: Option<Place>,
    /// Its own cold where the job states one, K: as meant, at the cold end, and where that is written.
    pub cold: Option<(f64, f64, Place)>,
    /// How far its rest voltage moves between 30 % and 90 % charge, V.
    pub voltage_over_charge: Option<f64>,
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    for (number, battery) in job.batteries.iter().enumerate() {
        let chemistry = chemistry_of(battery);
        let cold = battery.temperature.fact().or(job.conditions.design_cold.fact());
        let charger = battery.charged_by.iter().find(|(by, _)| by.value != "nothing").map(|(by, _)| by.written);
        // The physics knows 12 V blocks; a 6 V or 24 V block is half or two of them.
        let twelves = battery.block_voltage.get().map(|block| block.nominal / 12.0);
        let twelves = twelves.map(|of_block| of_block * f64::from(bank_of(battery).series.max(1)));
        let care = BatteryCare {
            battery: number,
            chemistry,
            charging_voltage: twelves
                .filter(|_| charger.is_some())
                .map(|twelves| charging_voltage(chemistry).in_volts() * twelves),
            charger,
            cold: cold.map(|cold| (cold.value.nominal, cold.value.low, cold.written)),
            voltage_over_charge: twelves.map(|twelves| {
                (open_circuit_voltage(chemistry, 0.9) - open_circuit_voltage(chemistry, 0.3)).in_volts() * twelves
            }),
        };
        list(figures, battery, &care);
        recharge(job, figures, number, battery, chemistry);
        figures.batteries.push(care);
    }
}

fn list(figures: &mut Figures, battery: &Battery, care: &BatteryCare) {
    if !figures.list.is_kept() {
        return;
    }
    let Some((voltage, charger)) = care.charging_voltage.zip(care.charger) else { return };
    figures.list.push(|| Figure {
        name: "charging_voltage",
        section: Section::Electrical,
        subject: battery.header,
        title: format!("voltage at which {} is charged full", battery.name),
        case: "",
        value: voltage,
        unit: unit_or(None, "V"),
        rests_on: vec![charger],
        working: vec![Step {
            what: "usual voltage of a full charge, by type of battery and number of blocks in series",
            formula: "as usual",
            inputs: Vec::new(),
            result: voltage,
            unit: "V",
            source: "14.4 V for a 12 V block of lead-acid, 14.6 V for lithium iron phosphate: usual values, from \
                     memory",
        }],
    });
}

/// The time to charge again what the heaters take at full output over the hours they run, a start counted.
fn recharge(job: &Job, figures: &mut Figures, number: usize, battery: &Battery, chemistry: Chemistry) {
    if !figures.list.is_kept() {
        return;
    }
    let Some((by, charger)) = battery.charged_by.iter().find_map(|(by, current)| current.map(|current| (by, current)))
    else {
        return;
    };
    let missing = |figures: &mut Figures, because: &str| {
        figures.missing.push(Unjudged {
            section: Section::Electrical,
            subject: battery.header,
            title: format!("time to charge {} again", battery.name),
            because: because.to_string(),
        });
    };
    let Some(hours) = job.conditions.runs_for.fact() else {
        return missing(figures, "the job does not state how long the heater runs (`runs-for`)");
    };
    let Some(block) = battery.block_capacity.fact() else {
        return missing(figures, "the battery's capacity is not stated (`made-of`)");
    };
    let capacity = bank_of(battery).capacity(Charge::coulombs(block.value.nominal));
    let seconds = hours.value.high;
    let (mut lasting, mut starting) = (0.0, 0.0);
    for supply in figures.supplies.iter().filter(|supply| supply.battery == number) {
        let Some(sheet) = job.sheet_of(supply.heater) else { continue };
        let of = |name: &str| sheet.stage(name).map(|stage| (stage.current.value.high, stage.duration));
        let high = of("high").or(of("low")).map_or(0.0, |(current, _)| current);
        lasting += high;
        for stage in ["pre-heat", "ignition", "after-glow", "cool-down"] {
            starting += of(stage).map_or(0.0, |(current, time)| current * time.map_or(0.0, |time| time.high));
        }
    }
    let others: f64 = battery.other_loads.iter().map(|load| load.value.high).sum();
    if lasting + others <= 0.0 {
        return missing(figures, "no heater on it states its current, and no other load draws on it");
    }
    let used = ((lasting + others) * seconds + starting).min(capacity.in_coulombs());
    let net = charger.low - others;
    let Some(time) = recharge_time(Charge::coulombs(used), capacity, Current::amperes(net), chemistry) else {
        return missing(figures, "the other loads on it take all of the charger's current");
    };
    figures.list.push(|| Figure {
        name: "recharge_time",
        section: Section::Electrical,
        subject: battery.header,
        title: format!("time to charge {} again after a run at full output", battery.name),
        case: "",
        value: time.in_seconds(),
        unit: unit_or(None, "h"),
        rests_on: vec![by.written, hours.written, block.written],
        working: vec![
            Step {
                what: "charge taken, the start included; never more than the battery holds",
                formula: "Q = (I_full + I_other) · t + Σ I · t_stage",
                inputs: vec![
                    input("I_full", lasting, "A"),
                    input("I_other", others, "A"),
                    input("t", seconds, "h"),
                    input("Σ I · t_stage", starting, "Ah"),
                ],
                result: used,
                unit: "Ah",
                source: "the job and the heaters' sheets",
            },
            Step {
                what: "time until 5 % of its capacity is missing: first at the charger's current, then at what the \
                       battery accepts",
                formula: "t = f · (Q − I/a) / I + f/a · ln((I/a) / (0.05 · C)), the first part where Q > I/a",
                inputs: vec![
                    input("f", charge_factor(chemistry), ""),
                    input("a (share an hour)", acceptance_per_hour(chemistry), ""),
                    input("I (less other loads)", net, "A"),
                    input("C", capacity.in_coulombs(), "Ah"),
                    input("end", CALLED_CHARGED, "%"),
                ],
                result: time.in_seconds(),
                unit: "h",
                source: "law of charge acceptance, Mas 1967 (from memory); charge factor handbook value, acceptance common practice, no source",
            },
        ],
    });
}

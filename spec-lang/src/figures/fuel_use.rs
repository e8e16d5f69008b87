//! What a heater takes of its fuel: efficiency of its sheet's numbers, strokes of its pump, hours on the tank, and the starts
//! that filling a dry line takes. A night's use is in `night`; nothing is judged.

use super::{Figure, Figures, Section, Step, Unjudged, input};
use crate::model::{Fact, HeaterSheet, Job, Run, Tank, unit_or};
use crate::physics::fuel::{
    ClimateClass, Fuel, density_at_15_celsius, efficiency, lower_heating_value, runs_to_fill, strokes_per_second,
};
use crate::source::Place;
use crate::units::{Power, Quantity, Time, Volume, VolumeFlow};

/// How often a controller tries in one start before it gives up. Common practice, no source.
pub const TRIES_PER_START: f64 = 2.0;

/// What a heater's sheet makes of the fuel at one end of its output.
#[derive(Clone, Copy, Debug)]
pub struct SheetEfficiency {
    /// `highest` or `lowest`.
    pub end: &'static str,
    /// Heat output, W.
    pub output: f64,
    /// Fuel rate, m³/s.
    pub rate: f64,
    /// Heat in the fuel, W.
    pub in_fuel: f64,
    /// Output over heat in the fuel.
    pub share: f64,
}

/// One heater's use of fuel.
#[derive(Clone, Debug)]
pub struct FuelUse {
    /// The heater's number.
    pub heater: usize,
    /// Strokes a second at the lowest and the highest rate, where the sheet states the dose.
    pub strokes: Option<(f64, f64)>,
    /// Starts that filling the dry line takes, the volume in m³, and the seconds of fuel in a try.
    pub starts: Option<(f64, f64, f64)>,
}

/// What a sheet's output and fuel rate say of its efficiency: highest output first, then lowest where it differs.
pub fn sheet_efficiencies(sheet: &HeaterSheet) -> Vec<SheetEfficiency> {
    let (Some(output), Some(rate), Some(burns)) = (sheet.output.get(), sheet.fuel_rate.get(), sheet.burns.get()) else {
        return Vec::new();
    };
    let fuel = fuel_named(burns);
    let of = |end, output: f64, rate: f64| {
        let share = efficiency(fuel, Power::watts(output), VolumeFlow::cubic_metres_per_second(rate))?;
        Some(SheetEfficiency { end, output, rate, in_fuel: output / share, share })
    };
    let both = [of("highest", output.high, rate.high), of("lowest", output.low, rate.low)];
    let differ = output.low < output.high && rate.low < rate.high;
    both.into_iter().take(if differ { 2 } else { 1 }).flatten().collect()
}

/// The fuel of that word, where its class does not matter.
pub(super) fn fuel_named(burns: &str) -> Fuel {
    match burns {
        "petrol" => Fuel::Petrol,
        // Density at 15 °C, heating value and what it burns to are those of every class.
        _ => Fuel::Diesel(ClimateClass::B),
    }
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    for (heater, stated) in job.heaters.iter().enumerate() {
        let Some(sheet) = job.sheet_of(heater) else { continue };
        for end in sheet_efficiencies(sheet) {
            figures.list.push(|| efficiency_figure(sheet, stated.header, &stated.name, end));
        }
        let Some(rate) = sheet.fuel_rate.fact() else { continue };
        let strokes = strokes(figures, stated.header, &stated.name, rate, sheet.dose.fact());
        let line = figures.fuel_lines.iter().find_map(|line| {
            let run = job.runs.get(line.run).filter(|run| run.heater == Some(heater))?;
            // What falls from its tank fills itself: only a pump fills by starts.
            Some((run, line.tank.and_then(|tank| job.tanks.get(tank)), line.holds.filter(|_| line.pump.is_some())))
        });
        let mut starts = None;
        if let Some((run, tank, holds)) = line {
            if let Some(tank) = tank {
                hours_on_tank(figures, run, &job.reads(run), tank, rate);
            }
            starts = holds.and_then(|holds| starts_to_fill(figures, (holds, run), &job.reads(run), sheet, rate));
        }
        figures.fuel_uses.push(FuelUse { heater, strokes, starts });
    }
}

fn efficiency_figure(sheet: &HeaterSheet, subject: Place, name: &str, end: SheetEfficiency) -> Figure {
    let fuel = fuel_named(sheet.burns.get().copied().unwrap_or("diesel"));
    let density = density_at_15_celsius(fuel).in_kilograms_per_cubic_metre();
    let heat = lower_heating_value(fuel).in_joules_per_kilogram();
    Figure {
        name: "sheet_efficiency",
        section: Section::Fuel,
        subject,
        title: format!("efficiency of {name} by its data sheet, {} output", end.end),
        case: "",
        value: end.share,
        unit: unit_or(None, "%"),
        rests_on: sheet.output.place().into_iter().chain(sheet.fuel_rate.place()).collect(),
        working: vec![Step {
            what: "output divided by the heat in the fuel, on the lower heating value",
            formula: "η = P / (Q · ρ₁₅ · H)",
            inputs: vec![
                input("P", end.output, "kW"),
                input("Q", end.rate, "L/h"),
                input("ρ₁₅", density, "kg/m³"),
                input("H (MJ/kg)", heat * 1e-6, ""),
            ],
            result: end.share,
            unit: "%",
            source: "energy balance; EN 590 and EN 228 densities, heating values as published for 2025 and by Directive (EU) 2018/2001",
        }],
    }
}

fn strokes(
    figures: &mut Figures,
    subject: Place,
    name: &str,
    rate: &Fact<Quantity>,
    dose: Option<&Fact<Quantity>>,
) -> Option<(f64, f64)> {
    let dose = dose?;
    let of = |flow: f64| {
        strokes_per_second(VolumeFlow::cubic_metres_per_second(flow), Volume::cubic_metres(dose.value.nominal))
    };
    let (low, high) = (of(rate.value.low)?, of(rate.value.high)?);
    for (at, flow, strokes) in [("lowest", rate.value.low, low), ("highest", rate.value.high, high)] {
        figures.list.push(|| Figure {
            name: "pump_strokes",
            section: Section::Fuel,
            subject,
            title: format!("strokes a second of the pump of {name}, {at} rate"),
            case: "",
            value: strokes,
            unit: unit_or(None, ""),
            rests_on: vec![rate.written, dose.written],
            working: vec![Step {
                what: "strokes a second",
                formula: "n = Q / V₁",
                inputs: vec![input("Q", flow, "L/h"), input("V₁", dose.value.nominal, "mL")],
                result: strokes,
                unit: "",
                source: "continuity",
            }],
        });
    }
    Some((low, high))
}

fn hours_on_tank(figures: &mut Figures, run: &Run, reads: &str, tank: &Tank, rate: &Fact<Quantity>) {
    let (Some(holds), Some(reserve)) = (tank.holds.fact(), tank.reserve.fact()) else {
        figures.missing.push(Unjudged {
            section: Section::Fuel,
            subject: run.header,
            title: format!("hours on tank {}", tank.name),
            because: "the tank does not state what it holds and what stays below the pickup (`holds`, `reserve`)"
                .to_string(),
        });
        return;
    };
    let usable = (holds.value.low - reserve.value.high).max(0.0);
    for (at, flow) in [("highest", rate.value.high), ("mean", (rate.value.low + rate.value.high) / 2.0)] {
        if flow <= 0.0 {
            continue;
        }
        figures.list.push(|| Figure {
            name: "hours_on_tank",
            section: Section::Fuel,
            subject: run.header,
            title: format!("hours on a full tank by {reads} alone, {at} rate"),
            case: "",
            value: usable / flow,
            unit: unit_or(None, "h"),
            rests_on: vec![holds.written, reserve.written, rate.written],
            working: vec![Step {
                what: "time until the reserve is reached",
                formula: "t = (V − V_reserve) / Q",
                inputs: vec![
                    input("V", holds.value.low, "L"),
                    input("V_reserve", reserve.value.high, "L"),
                    input("Q", flow, "L/h"),
                ],
                result: usable / flow,
                unit: "h",
                source: "continuity; the mean rate is halfway between lowest and highest",
            }],
        });
    }
}

fn starts_to_fill(
    figures: &mut Figures,
    (volume, run): (f64, &Run),
    reads: &str,
    sheet: &HeaterSheet,
    rate: &Fact<Quantity>,
) -> Option<(f64, f64, f64)> {
    let ignition = sheet.stage("ignition").and_then(|stage| stage.duration.map(|time| (time, stage.current.written)));
    let Some((time, place)) = ignition else {
        figures.missing.push(Unjudged {
            section: Section::Fuel,
            subject: run.header,
            title: format!("starts to fill {reads}"),
            because: "no data sheet states how long ignition lasts".to_string(),
        });
        return None;
    };
    let flow = VolumeFlow::cubic_metres_per_second(rate.value.high);
    let tries = runs_to_fill(Volume::cubic_metres(volume), flow, Time::seconds(time.nominal))?;
    let starts = (tries / TRIES_PER_START).ceil();
    figures.list.push(|| Figure {
        name: "starts_to_fill",
        section: Section::Fuel,
        subject: run.header,
        title: format!("starts until {reads} is full, from dry"),
        case: "",
        value: starts,
        unit: unit_or(None, ""),
        rests_on: vec![place, rate.written],
        working: vec![
            Step {
                what: "tries needed to fill it, with the pump at its highest rate while ignition lasts",
                formula: "n = ⌈V / (Q · t)⌉",
                inputs: vec![
                    input("V", volume, "mL"),
                    input("Q", rate.value.high, "L/h"),
                    input("t", time.nominal, "s"),
                ],
                result: tries,
                unit: "",
                source: "continuity",
            },
            Step {
                what: "starts needed, at two tries each before the controller gives up",
                formula: "⌈n / 2⌉",
                inputs: vec![input("n", tries, "")],
                result: starts,
                unit: "",
                source: "two tries are common practice, no source",
            },
        ],
    });
    Some((starts, volume, time.nominal))
}

//! The night of each heater: room, battery and tank from start to morning. Whether that is good enough is not in here.

use super::heat_demand::{Demand, Room};
use super::supply::Supply;
use super::{Figure, Figures, Listed, Section, Step, Unjudged, input};
use crate::model::{Fact, Job, Start, unit_or};
use crate::physics::battery::{Chemistry, capacity_share};
use crate::physics::night::{self, BelowLowest, Burner, Inputs, Night, Stage, night};
use crate::source::Place;
use crate::units::{
    Charge, Current, HeatLossCoefficient, Power, Quantity, Resistance, Temperature, TemperatureDifference, Time, Unit,
    Voltage, Volume, VolumeFlow,
};
use crate::vocabulary::Kind;

/// How far above the set-point a heater stops that asks for less than its lowest output. Common practice, no source.
pub const STOPS_ABOVE: f64 = 2.0;
/// How far below the set-point it starts again, where its sheet does not say. Common practice, no source.
pub const RESTARTS_BELOW: f64 = 2.0;
/// How long a stage lasts that states no time, in s, by its name. Common practice, no source.
pub const USUAL_STAGES: [(&str, f64); 4] =
    [("pre-heat", 90.0), ("ignition", 60.0), ("after-glow", 20.0), ("cool-down", 180.0)];
/// Hours over which a battery's capacity is rated. Source: IEC 60095-1 (from memory).
const RATED_OVER: f64 = 20.0 * 3600.0;

/// Which night.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NightCase {
    /// At design cold.
    Coldest,
    /// On the mild night.
    Mild,
}

impl NightCase {
    /// The case in words.
    pub const fn title(self) -> &'static str {
        match self {
            NightCase::Coldest => "night at design cold",
            NightCase::Mild => "mild night",
        }
    }
}

/// Why the night is judged with the engine off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EngineOff {
    /// The job says `used-while parked`.
    Stated,
    /// It does not say, and people use the room while the vehicle stands.
    Taken,
    /// It does not say, and the heater warms only where somebody drives, a load or a plant: such heaters run parked as a
    /// rule, but not always. Common practice, no source.
    Supposed,
}

/// The battery's part of a night.
#[derive(Clone, Copy, Debug)]
pub struct BatteryPart {
    /// The battery's number.
    pub battery: usize,
    /// The cable's number among the runs.
    pub run: usize,
    /// Share of charge when the heater is switched on, and whether it is stated.
    pub charge: (f64, bool),
    /// Share of charge left when the night is over, as a counter of what was drawn reads it; not below zero.
    pub left: f64,
    /// Share of the rated capacity that can be drawn in this cold.
    pub drawable: f64,
    /// All other loads, A.
    pub other: f64,
    /// Whether other heaters of this battery are counted in them.
    pub other_heaters: bool,
    /// Why no engine charges it meanwhile.
    pub engine_off: EngineOff,
    /// Resistance of the way and of the battery together, Ω.
    pub resistance: f64,
    /// The lowest voltage that the sheet allows.
    pub lowest: Option<Fact<Quantity>>,
}

/// One night of one heater.
#[derive(Clone, Debug)]
pub struct NightOf {
    /// The heater's number.
    pub heater: usize,
    /// Its room's number among the rooms.
    pub room: usize,
    /// Which night.
    pub case: NightCase,
    /// Outside temperature, K.
    pub outside: f64,
    /// How long it is, s.
    pub lasts: f64,
    /// What came of it.
    pub night: Night,
    /// The battery's part; `None` where it is not known or the engine charges it all the while.
    pub battery: Option<BatteryPart>,
    /// The tank's number and what it holds above the reserve, m³.
    pub tank: Option<(usize, f64)>,
    /// What the heater does below its lowest output, where its sheet says so.
    pub below_lowest: Option<&'static str>,
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    let rooms = std::mem::take(&mut figures.rooms);
    for (number, room) in rooms.iter().enumerate() {
        for heater in room.heaters.iter().copied() {
            let because = match of_heater(job, figures, room, number, heater) {
                Ok(()) => continue,
                Err(because) => because,
            };
            let Some(heater) = job.heaters.get(heater) else { continue };
            figures.missing.push(Unjudged {
                section: Section::Night,
                subject: heater.header,
                title: format!("the night of {}", heater.name),
                because,
            });
        }
    }
    figures.rooms = rooms;
}

/// The nights of a heater, or what is missing.
fn of_heater(job: &Job, figures: &mut Figures, room: &Room, number: usize, heater: usize) -> Result<(), String> {
    if room.heaters.len() > 1 {
        return Err("several heaters share the space, and the job does not say how they share the heat".to_string());
    }
    let sheet = job.sheet_of(heater).ok_or("the job does not state its data sheet")?;
    let output = sheet.output.get().ok_or("its data sheet states no output: write `output 0.9 kW .. 2.4 kW`")?;
    let lasts = job.conditions.runs_for.get().ok_or("the job does not say how long it runs: write `runs-for 9 h`")?;
    let fuel = sheet.fuel_rate.get();
    if fuel.is_none() {
        missing(job, figures, heater, "fuel of a night", "its data sheet states no `fuel-rate 0.11 L/h .. 0.29 L/h`");
    }
    let starting = stages(job, heater, &["pre-heat", "ignition"], figures);
    let stopping = stages(job, heater, &["after-glow", "cool-down"], figures);
    let battery = battery(job, figures, room, heater);
    let tank = tank(job, heater);
    let current = |name: &str, other: &str| {
        sheet.stage(name).or(sheet.stage(other)).map_or(0.0, |stage| stage.current.value.high)
    };
    let restarts = sheet.restart_below.get().map_or(RESTARTS_BELOW, |restart| restart.nominal);
    let cases = [(NightCase::Coldest, Some(&room.cold)), (NightCase::Mild, room.mild.as_ref())];
    for (case, demand) in cases {
        let Some(demand) = demand else { continue };
        let part = battery.as_ref().map(|battery| battery.at(job, demand.outside));
        let supply = battery.as_ref().and_then(|battery| figures.supplies.get(battery.supply));
        let (copper, cell) = (Temperature::kelvin(demand.outside), part.map_or(demand.outside, |part| part.cell));
        let resistance = supply
            .map_or(0.0, |supply| supply.loop_at(copper) + supply.battery_resistance_at(Temperature::kelvin(cell)));
        let voltage = |share: f64, current: Current| {
            Voltage::volts(supply.map_or(0.0, |supply| supply.rest_voltage(share)))
                - current * Resistance::ohms(resistance)
        };
        let inputs = Inputs {
            room: room.nodes(
                demand,
                start_of(room, demand),
                match case {
                    NightCase::Coldest => |of| of.high,
                    NightCase::Mild => |of| of.low,
                },
            ),
            burner: Burner {
                output: [Power::watts(output.low), Power::watts(output.high)],
                fuel: [fuel.map_or(0.0, |fuel| fuel.low), fuel.map_or(0.0, |fuel| fuel.high)]
                    .map(VolumeFlow::cubic_metres_per_second),
                current: [current("low", "high"), current("high", "low")].map(Current::amperes),
                standby: Current::amperes(sheet.stage("standby").map_or(0.0, |stage| stage.current.value.high)),
                starting: &starting,
                stopping: &stopping,
                below_lowest: match sheet.below_lowest.get() {
                    Some(&"runs-on") => BelowLowest::RunsOn,
                    _ => BelowLowest::Stops,
                },
                stops_above: TemperatureDifference::kelvin_difference(STOPS_ABOVE),
                restarts_below: TemperatureDifference::kelvin_difference(restarts),
            },
            battery: part.map(|part| night::Battery {
                full: Charge::coulombs(part.full),
                charge: Charge::coulombs(part.full * part.charge),
                rated: Current::amperes(part.capacity / RATED_OVER),
                exponent: part.exponent,
                other: Current::amperes(part.other),
                voltage: &voltage,
                lowest: supply.and_then(|supply| supply.lowest.as_ref()).map(|lowest| Voltage::volts(lowest.value.low)),
            }),
            fuel: tank.filter(|_| fuel.is_some()).map(|(_, usable)| Volume::cubic_metres(usable)),
            lasts: Time::seconds(lasts.high),
        };
        let Some(found) = night(&inputs) else { continue };
        let battery = part.zip(battery.as_ref()).zip(supply).map(|((part, battery), supply)| BatteryPart {
            battery: supply.battery,
            run: supply.run,
            charge: supply.charge,
            left: (supply.charge.0
                - (part.full * part.charge - found.charge.map_or(0.0, Charge::in_coulombs)) / part.capacity.max(1.0))
            .max(0.0),
            drawable: part.full / part.capacity.max(1.0),
            other: part.other,
            other_heaters: battery.other_heaters,
            engine_off: battery.engine_off,
            resistance,
            lowest: supply.lowest,
        });
        let night = NightOf {
            heater,
            room: number,
            case,
            outside: demand.outside,
            lasts: lasts.high,
            night: found,
            battery,
            tank,
            below_lowest: sheet.below_lowest.get().copied(),
        };
        list(job, room, &night, &inputs, &mut figures.list);
        figures.nights.push(night);
    }
    Ok(())
}

/// How cold the room is when the heater is started on a night: as stated, else as it is outside.
fn start_of(room: &Room, demand: &Demand) -> f64 {
    match room.start {
        (start, true) => start,
        _ => demand.outside,
    }
}

/// The stages of those names that the sheet states, with their highest current and longest time.
fn stages(job: &Job, heater: usize, names: &[&str], figures: &Figures) -> Vec<Stage> {
    let Some(sheet) = job.sheet_of(heater) else { return Vec::new() };
    let supply = figures.supplies.iter().find(|supply| supply.heater == heater);
    let stage = |name: &&str| {
        let stage = sheet.stage(name)?;
        let usual = USUAL_STAGES.iter().find(|(known, _)| known == name).map_or(0.0, |(_, lasts)| *lasts);
        // A controller that holds its power draws more than its sheet says: the supply knows how much, in the cold.
        let left = supply.and_then(|supply| supply.left.iter().find(|left| left.stage == stage.name));
        Some(Stage {
            current: Current::amperes(left.map_or(stage.current.value.high, |left| left.current)),
            lasts: Time::seconds(stage.duration.map_or(usual, |lasts| lasts.high)),
            waited_out: left.is_some_and(|left| left.waited_out),
        })
    };
    names.iter().filter_map(stage).collect()
}

/// A battery's part of a night, before the night's own temperature.
struct Source {
    /// The supply's number.
    supply: usize,
    other: f64,
    other_heaters: bool,
    engine_off: EngineOff,
    chemistry: Chemistry,
    /// The battery's own temperature on the coldest morning, where stated.
    own: Option<f64>,
    capacity: f64,
    charge: f64,
    exponent: f64,
}

/// The same at the night's temperature.
#[derive(Clone, Copy)]
struct SourceAt {
    cell: f64,
    full: f64,
    charge: f64,
    capacity: f64,
    exponent: f64,
    other: f64,
}

impl Source {
    fn at(&self, job: &Job, outside: f64) -> SourceAt {
        // A stated temperature is that of the coldest morning: milder nights leave the battery as much warmer.
        let coldest = job.conditions.design_cold.get().map_or(outside, |cold| cold.low);
        let cell = self.own.map_or(outside, |own| own.max(own + outside - coldest));
        let full = self.capacity * capacity_share(self.chemistry, Temperature::kelvin(cell));
        SourceAt {
            cell,
            full,
            charge: self.charge,
            capacity: self.capacity,
            exponent: self.exponent,
            other: self.other,
        }
    }
}

/// The battery that feeds a heater while nothing charges it; what is missing goes to the list.
fn battery(job: &Job, figures: &mut Figures, room: &Room, heater: usize) -> Option<Source> {
    let supply = figures.supplies.iter().position(|supply| supply.heater == heater);
    let parked = job.conditions.used_while.iter().any(|used| used.value == "parked");
    let unsaid = job.conditions.used_while.is_empty();
    let driven = |space: &usize| {
        job.spaces.get(*space).is_some_and(|space| matches!(space.usage.get(), Some(&"driving" | &"load" | &"plant")))
    };
    let title = "charge left in the battery after a night";
    let because = if supply.is_none() {
        "the cable from its battery cannot be computed"
    } else if job.sheet_of(heater).is_some_and(|sheet| sheet.stage("high").or(sheet.stage("low")).is_none()) {
        "its data sheet states no current of `stage high` or `stage low`"
    } else if !unsaid && !parked {
        "it is not used parked, so the engine charges the battery meanwhile"
    } else {
        let supply = supply?;
        let feeding = figures.supplies.get(supply)?;
        let stated = job.batteries.get(feeding.battery)?;
        let loads: f64 = stated.other_loads.iter().map(|load| load.value.high).sum();
        let running = |other: &&Supply| other.battery == feeding.battery && other.heater != heater;
        let heaters: f64 = figures.supplies.iter().filter(running).map(|other| lowest_current(job, other.heater)).sum();
        let exponent = match stated.kind.get() {
            Some(&"LiFePO4") => 1.05,
            Some(&("AGM" | "gel")) => 1.15,
            _ => 1.2,
        };
        return Some(Source {
            supply,
            other: loads + heaters,
            other_heaters: heaters > 0.0,
            engine_off: match unsaid {
                false => EngineOff::Stated,
                true if room.spaces.iter().all(driven) => EngineOff::Supposed,
                true => EngineOff::Taken,
            },
            chemistry: feeding.chemistry,
            own: stated.temperature.get().map(|own| own.low),
            capacity: feeding.capacity,
            charge: feeding.charge.0,
            exponent,
        });
    };
    missing(job, figures, heater, title, because);
    None
}

/// What another heater draws while it runs low, A.
fn lowest_current(job: &Job, heater: usize) -> f64 {
    let sheet = job.sheet_of(heater);
    sheet.and_then(|sheet| sheet.stage("low").or(sheet.stage("high"))).map_or(0.0, |stage| stage.current.value.high)
}

/// The tank of a heater's fuel line and what a full one holds above its reserve, m³.
fn tank(job: &Job, heater: usize) -> Option<(usize, f64)> {
    let number = job.runs_of(heater, Kind::FuelLine).find_map(|run| match run.start {
        Start::Tank(tank) => Some(tank),
        _ => None,
    })?;
    let tank = job.tanks.get(number)?;
    let holds = tank.holds.get()?;
    Some((number, (holds.low - tank.reserve.get().map_or(0.0, |reserve| reserve.high)).max(0.0)))
}

fn missing(job: &Job, figures: &mut Figures, heater: usize, title: &str, because: &str) {
    let Some(heater) = job.heaters.get(heater) else { return };
    figures.missing.push(Unjudged {
        section: Section::Night,
        subject: heater.header,
        title: format!("{title}, {}", heater.name),
        because: because.to_string(),
    });
}

/// A time of the night as a fitter says it: `5 h 10 min`.
pub fn hours_and_minutes(seconds: f64) -> String {
    let minutes = (seconds / 60.0).round().max(0.0) as u64;
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

fn list(job: &Job, room: &Room, of: &NightOf, inputs: &Inputs<'_>, figures: &mut Listed) {
    if !figures.is_kept() {
        return;
    }
    let Some(heater) = job.heaters.get(of.heater) else { return };
    let found = &of.night;
    let name = heater.name.as_str();
    let mut rests_on: Vec<Place> = vec![heater.header];
    rests_on.extend(job.conditions.runs_for.place());
    let mut push = |figure: &'static str, title: &str, value: f64, unit: &'static Unit, working: Vec<Step>| {
        figures.push(|| Figure {
            name: figure,
            section: Section::Night,
            subject: heater.header,
            title: format!("{title}, {name}"),
            case: of.case.title(),
            value,
            unit,
            rests_on: rests_on.clone(),
            working,
        });
    };
    let by_events = "each phase in closed form: heat balance of air and mass by its two eigenvalues";
    let plain = unit_or(None, "");
    let hours = unit_or(None, "h");
    push("starts", "starts", found.starts as f64, plain, vec![room_step(room, of, inputs), heater_step(inputs)]);
    if let Some(time) = found.cycle {
        let cycle = vec![Step {
            what: "one cycle: cool-down, waiting, pre-heat, ignition, full output, lowest output",
            formula: "n = 1 h / t_cycle",
            inputs: vec![input("t_cycle", time.in_seconds(), "min")],
            result: found.starts_an_hour(),
            unit: "",
            source: by_events,
        }];
        push("starts_an_hour", "starts an hour while it cycles", found.starts_an_hour(), plain, cycle);
    }
    let summed = |what: &'static str, result: f64, unit: &'static str| {
        vec![Step {
            what,
            formula: "over every phase of the night",
            inputs: Vec::new(),
            result,
            unit,
            source: by_events,
        }]
    };
    let burning = found.burning.in_seconds();
    push("hours_burning", "hours with a flame", burning, hours, summed("time with a flame", burning, "h"));
    if found.at_lowest > Time::ZERO {
        let lowest = found.at_lowest.in_seconds();
        push(
            "hours_at_lowest",
            "hours with a flame at lowest output",
            lowest,
            hours,
            summed("time at lowest output", lowest, "h"),
        );
    }
    if let Some(coldest) = found.coldest.filter(|coldest| coldest.in_kelvin() < room.set - 0.05) {
        let coldest = coldest.in_kelvin();
        let working = summed("lowest temperature of the room after warm-up", coldest, room.unit.spelling);
        push("coldest_room", "coldest room after warm-up", coldest, room.unit, working);
    } else if found.coldest.is_none() {
        let warmest = found.warmest.in_kelvin();
        let working = summed("highest temperature of the room", warmest, room.unit.spelling);
        push("warmest_room", "warmest room; it never reaches its set-point", warmest, room.unit, working);
    }
    let below = found.below_set.in_seconds();
    let working = summed("time with the room below its set-point", below, "h");
    push("time_below_set", "time below the set-point, warm-up included", below, hours, working);
    if inputs.burner.fuel.iter().any(|rate| *rate > VolumeFlow::ZERO) {
        let litres = unit_or(None, "L");
        let [low, high] = inputs.burner.fuel.map(VolumeFlow::in_cubic_metres_per_second);
        let mut working = vec![Step {
            what: "fuel of a night; between lowest and highest output the rate follows a straight line",
            formula: "V = Σ rate · t",
            inputs: vec![
                input("rate lowest", low, "L/h"),
                input("rate highest", high, "L/h"),
                input("t burning", found.burning.in_seconds(), "h"),
            ],
            result: found.fuel.in_cubic_metres(),
            unit: "L",
            source: by_events,
        }];
        let used = found.fuel.in_cubic_metres();
        if let Some((_, usable)) = of.tank.filter(|_| used > 0.0) {
            working.push(Step {
                what: "hours that a full tank lasts at that rate, down to the pickup's reserve",
                formula: "t = V_usable / V · t_night",
                inputs: vec![input("V_usable", usable, "L"), input("t_night", of.lasts, "h")],
                result: usable / used * of.lasts,
                unit: "h",
                source: "division",
            });
        }
        push("fuel_of_a_night", "fuel", used, litres, working);
    }
    if let Some(battery) = &of.battery {
        push(
            "charge_left",
            "charge left in its battery",
            battery.left,
            unit_or(None, "%"),
            vec![battery_step(battery, inputs, found)],
        );
        if let Some((voltage, when)) = found.lowest_voltage {
            push(
                "lowest_starting_voltage",
                "lowest voltage of a start",
                voltage.in_volts(),
                unit_or(None, "V"),
                vec![Step {
                    what: "voltage left at the heater when it starts, with the charge that is left then",
                    formula: "U = U_rest(charge) − I · (R_way + R_battery)",
                    inputs: vec![
                        input("after", when.in_seconds(), "h"),
                        input(
                            "I",
                            inputs.burner.starting.iter().map(|stage| stage.current.in_amperes()).fold(0.0, f64::max),
                            "A",
                        ),
                        input("R_way + R_battery", battery.resistance, "mΩ"),
                    ],
                    result: voltage.in_volts(),
                    unit: "V",
                    source: "Kirchhoff's voltage law; rest voltage by state of charge, from memory",
                }],
            );
        }
    }
}

fn room_step(room: &Room, of: &NightOf, inputs: &Inputs<'_>) -> Step {
    let nodes = &inputs.room;
    let per_kelvin = |loss: HeatLossCoefficient| loss.in_watts_per_kelvin();
    let through = per_kelvin(nodes.loss) - per_kelvin(nodes.light_loss);
    let film = per_kelvin(nodes.film);
    let mass_loss = if film > through { film * through / (film - through) } else { 0.0 };
    Step {
        what: "the room: its air, which the heater warms and the sensor feels, and the mass of its inner layers \
               behind a film of air",
        formula: "C_air · dT/dt = P + P_people − H_light · (T − T_outside) − K · (T − T_mass); C_mass · dT_mass/dt = K · (T − T_mass) − H_mass · (T_mass − T_outside); H_mass = 1 / (1 / (H − H_light) − 1 / K)",
        inputs: vec![
            input("C_air, kJ/K", nodes.air_store.in_joules_per_kelvin() / 1e3, ""),
            input("C_mass, kJ/K", nodes.mass_store.in_joules_per_kelvin() / 1e3, ""),
            input("H, W/K", per_kelvin(nodes.loss), ""),
            input("H_light: leaks, fresh air, panes, W/K", per_kelvin(nodes.light_loss), ""),
            input("K: Σ A / R_si, W/K", film, ""),
            input("P_people", nodes.people.in_watts(), "W"),
            input("T_outside", of.outside, room.unit.spelling),
            input("T at the start", nodes.start.in_kelvin(), room.unit.spelling),
            input("set", room.set, room.unit.spelling),
            input("t_night", of.lasts, "h"),
        ],
        result: mass_loss,
        unit: "W/K",
        source: "heat balance of two nodes (after ISO 13790:2008 annex C, from memory; R_si of ISO 6946:2017 table 7); solved phase by phase, no time steps",
    }
}

fn heater_step(inputs: &Inputs<'_>) -> Step {
    let burner = &inputs.burner;
    let [low, high] = burner.output.map(Power::in_watts);
    Step {
        what: match burner.below_lowest {
            BelowLowest::Stops => {
                "the heater: full output until the set-point, then what the room needs; it stops where that is less \
                 than its lowest output"
            }
            BelowLowest::RunsOn => {
                "the heater: full output until the set-point, then what the room needs, but never less than its \
                 lowest output"
            }
        },
        formula: "lowest ≤ P ≤ highest; stops at set + a, starts at set − b; needed: H · (set − T_outside) − P_people",
        inputs: vec![
            input("lowest", low, "kW"),
            input("highest", high, "kW"),
            input("a (taken), K", burner.stops_above.in_kelvin_difference(), ""),
            input("b, K", burner.restarts_below.in_kelvin_difference(), ""),
        ],
        result: inputs.room.loss.in_watts_per_kelvin()
            * (inputs.room.set.above(inputs.room.outside)).in_kelvin_difference()
            - inputs.room.people.in_watts(),
        unit: "W",
        source: "data sheet; where it states no bands, common practice, no source",
    }
}

fn battery_step(battery: &BatteryPart, inputs: &Inputs<'_>, found: &Night) -> Step {
    let drawn = inputs
        .battery
        .zip(found.charge)
        .map_or(0.0, |(battery, left)| battery.charge.in_coulombs() - left.in_coulombs());
    Step {
        what: match battery.engine_off {
            EngineOff::Stated => {
                "what every stage of the night and the other loads draw, with Peukert's law for large currents"
            }
            EngineOff::Taken | EngineOff::Supposed => {
                "what every stage of the night and the other loads draw, with Peukert's law for large currents; the \
                 engine is taken to be off, because the job states no `used-while`"
            }
        },
        formula: "charge left = charge − Σ I · t · (I / I_20)^(k − 1) / C",
        inputs: vec![
            input(if battery.charge.1 { "charge" } else { "charge (not stated, taken)" }, battery.charge.0, "%"),
            input("drawn", drawn, "Ah"),
            input("other loads", battery.other, "A"),
            input("can be drawn in this cold", battery.drawable, "%"),
            input("k", inputs.battery.map_or(1.0, |battery| battery.exponent), ""),
        ],
        result: battery.left,
        unit: "%",
        source: "Peukert 1897; exponent and capacity in the cold from memory",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::judge_example;

    fn nights(example: &str) -> Vec<NightOf> {
        judge_example(example).figures.nights
    }

    const BATTERY: &str =
        "battery house\n  type AGM\n  charge 70 %\n  cranks nothing\n  at back 1200 mm, left 600 mm, up 700 mm\n";

    /// The cold morning: thin cable, long way, a battery at 70 % and -25 °C; worked by hand beside it.
    #[test]
    fn the_first_start_of_a_cold_night_has_the_voltage_of_the_supply() {
        let example = format!(
            "job \"Cold\"\n  design-cold -25 °C\n  runs-for 9 h\n\n{BATTERY}  made-of 12 V 95 Ah\n\n\
             cable supply of reader\n  from house\n  size 2.5 mm²\n  run 150 mm\n  fuse 20 A\n  run 6 m\n  ends at reader"
        );
        let analysis = judge_example(&example);
        let supply = analysis.figures.supplies.first().expect("a supply");
        let first = analysis.figures.nights.first().expect("a night");
        let (voltage, when) = first.night.lowest_voltage.expect("a start");
        let left = supply.left.iter().find(|left| left.stage == "pre-heat").expect("a pre-heat");
        assert_eq!(when, Time::ZERO);
        // Ignition begins with what pre-heat left; so little that the worst of both is pre-heat's own.
        assert!((voltage.in_volts() - left.voltage).abs() < 1e-9, "{} beside {}", voltage.in_volts(), left.voltage);
    }

    #[test]
    fn other_loads_and_a_colder_night_leave_less() {
        let left = |example: &str| nights(example).first().and_then(|night| night.battery).expect("a battery").left;
        let plain = left(&format!("{BATTERY}  made-of 12 V 95 Ah"));
        let loaded = left(&format!("{BATTERY}  made-of 12 V 95 Ah\n  other-load 1 A, fridge"));
        // 8 h of 1 A out of 95 Ah, at least.
        assert!(plain - loaded >= 8.0 / 95.0 - 1e-9, "{plain} {loaded}");
        let twice = left(&format!("{BATTERY}  made-of 2 x 12 V 95 Ah, in parallel"));
        assert!(twice > plain);
    }

    #[test]
    fn a_mild_night_cycles_and_a_heater_that_runs_on_does_not() {
        let mild = |sheet: &str| {
            let example = format!("job \"Mild\"\n  design-cold -15 °C\n  mild-night 8 °C\n  runs-for 8 h\n{sheet}");
            nights(&example).into_iter().find(|night| night.case == NightCase::Mild).expect("a mild night")
        };
        let cycling = mild("");
        assert!(cycling.night.starts > 3 && cycling.night.starts_an_hour() > 0.5);
        let steady = mild(
            "\ndatasheet heater steady-3\n  warms air\n  burns diesel\n  output 1.2 kW .. 3 kW\n  supply 12 V\n  below-lowest runs-on\n\n\
             heater reader\n  datasheet steady-3\n  in cabin\n  heats cabin\n  at back 1900 mm, right 310 mm, up 670 mm\n  warm-end forward",
        );
        assert!(steady.night.starts == 1 && steady.night.share_at_lowest() > 0.9 && steady.battery.is_none());
    }

    #[test]
    fn a_heater_that_is_used_while_driving_leaves_its_battery_to_the_engine() {
        let example = "job \"Driving\"\n  design-cold -15 °C\n  runs-for 8 h\n  used-while driving";
        let analysis = judge_example(example);
        assert!(analysis.figures.nights.iter().all(|night| night.battery.is_none()));
        assert!(analysis.shown().missing.iter().any(|missing| missing.because.contains("engine charges")));
    }

    /// A cab heater usually runs while the driver waits or sleeps: a job that does not say is judged with the engine off.
    #[test]
    fn a_cab_whose_use_is_not_said_is_judged_with_the_engine_off() {
        let judged = |usage: &str| {
            judge_example(&format!(
                "job \"Cab\"\n  design-cold -15 °C\n  runs-for 8 h\n\nspace cabin\n  use {usage}\n  wanted 18 °C\n  volume 7.5 m³\n  \
                 surface walls, 13 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm\n  air-changes 1 /h\n  \
                 at back 700 mm, left 900 mm, up 600 mm\n  spans back 3700 mm, right 1800 mm, up 1700 mm\n\n\
                 battery house\n  made-of 12 V 60 Ah\n  type AGM\n  charge 75 %\n  cranks engine\n  other-load 4 A, fridge\n  \
                 at back 1200 mm, left 600 mm, up 700 mm"
            ))
        };
        for (usage, severity) in [("driving", "warning"), ("plant", "warning"), ("seated", "error")] {
            let analysis = judged(usage);
            let part = analysis.figures.nights.first().and_then(|night| night.battery).expect("a battery");
            assert_eq!(part.engine_off == EngineOff::Supposed, severity == "warning");
            let failed = analysis.standing().find(|finding| finding.rule.name == "battery-fails-in-the-night");
            let failed = failed.unwrap_or_else(|| panic!("{usage} is not judged"));
            assert_eq!(failed.severity.word(), severity, "{usage}");
            assert!(failed.why.contains("`used-while`"), "{}", failed.why);
        }
    }

    /// Will it still start at five in the morning: thin cable, a battery that empties, a small room that cycles.
    #[test]
    fn a_restart_fails_in_the_night_and_the_first_start_did_not() {
        let example = "job \"Mild\"\n  design-cold -5 °C\n  mild-night 10 °C\n  runs-for 14 h\n\n\
                       space cabin\n  use seated\n  wanted 18 °C\n  volume 5 m³\n  surface walls, 8 m², plywood 4 mm, pe-foam 40 mm, steel 0.9 mm\n  \
                       surface roof, 3 m², plywood 4 mm, pe-foam 40 mm, steel 0.9 mm\n  surface floor, 3 m², plywood 12 mm, xps 20 mm, steel 1.2 mm\n  air-changes 1 /h\n\n\
                       battery house\n  made-of 12 V 60 Ah\n  type AGM\n  charge 75 %\n  cranks nothing\n  other-load 900 mA, alarm\n  at back 1200 mm, left 600 mm, up 700 mm\n\n\
                       cable supply of reader\n  from house\n  size 1.5 mm²\n  insulation 105 °C\n  run 150 mm\n  fuse 20 A\n  run 6800 mm\n  ends at reader";
        let analysis = judge_example(example);
        let night = analysis.figures.nights.first().expect("a night");
        let (why, when) = night.night.failed.expect("a failure");
        assert_eq!(why, night::Failure::Voltage);
        assert!(when > Time::seconds(3600.0) && night.night.starts > 1);
        let titles: Vec<&str> = analysis.standing().map(|finding| finding.title.as_str()).collect();
        let told = titles.iter().find(|title| title.contains("would not start again")).expect("a finding");
        assert!(told.contains(&hours_and_minutes(when.in_seconds())), "{told}");
    }

    #[test]
    fn a_first_start_that_fails_is_none_again() {
        let example = format!(
            "job \"Cold\"\n  design-cold -25 °C\n  runs-for 9 h\n\n{BATTERY}  made-of 12 V 95 Ah\n\n\
             cable supply of reader\n  from house\n  size 1.5 mm²\n  run 150 mm\n  fuse 20 A\n  run 12 m\n  ends at reader\n\n\
             concession starting-voltage-low\n  on cable supply of reader\n  because \"a test\"\n  by \"nobody\"\n  until 2099-12-31"
        );
        let analysis = judge_example(&example);
        let night = analysis.figures.nights.first().expect("a night");
        assert_eq!(night.night.starts, 0);
        let told = analysis.standing().find(|finding| finding.rule.name == "battery-fails-in-the-night");
        let title = &told.expect("a finding").title;
        assert!(title.contains("would not start: ") && !title.contains("0 min"), "{title}");
    }

    #[test]
    fn a_tank_of_the_heaters_own_has_no_engine_to_leave_fuel_for() {
        let help = |feeds: &str| {
            let analysis = judge_example(&format!(
                "tank main\n  fuel diesel winter-2\n  holds 10.6 L\n  reserve 10 L\n  feeds {feeds}\n  \
                 at back 3200 mm, left 450 mm, up 250 mm"
            ));
            let told = analysis.standing().find(|finding| finding.rule.name == "tank-fails-in-the-night");
            told.expect("a finding").help.clone()
        };
        assert!(help("engine").contains("the engine's reserve") && !help("heater").contains("engine"));
    }

    #[test]
    fn times_of_the_night_read_as_a_fitter_says_them() {
        assert_eq!(hours_and_minutes(5.0 * 3600.0 + 10.0 * 60.0 + 20.0), "5 h 10 min");
        assert_eq!(hours_and_minutes(7200.0), "2 h");
        assert_eq!(hours_and_minutes(90.0), "2 min");
    }
}

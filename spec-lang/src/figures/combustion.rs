//! Combustion air and exhaust of each heater: flow, excess air, heat, pressure and water, and where water stands in either pipe.
//! Whether that is good enough is not in here.
//!
//! Two cases, each with every input at that case's value: *hot* is the highest output on a warm day with the least excess air, *cold* the lowest
//! output at design cold with the most. Altitude is a case of its own: the highest place, on a standard day and at design cold.

use super::fuel_use::fuel_named;
use super::{DEFAULT_COLD, Figure, Figures, Input, Section, Step, Unjudged, input};
use crate::model::{Heater, HeaterSheet, Interval, Job, Met, Run, unit_or};
use crate::physics::air;
use crate::physics::combustion as burning;
use crate::physics::combustion::{GasHeat, Products};
use crate::physics::duct_flow::{self, Duct};
use crate::physics::exhaust_flow::{self, Pipe};
use crate::physics::fuel::{Fuel, density, density_at_15_celsius, lower_heating_value};
use crate::source::Place;
use crate::units::{Angle, Density, Length, MassFlow, Power, Pressure, Temperature, Time, Unit, VolumeFlow};
use crate::vocabulary::Kind;

/// Air around a hot pipe on a warm day: 20 °C. Common practice, no source.
pub const WARM_DAY: Temperature = Temperature::celsius(20.0);
/// Roughness of exhaust pipe and intake hose where no sheet states it: 0.6 mm, corrugated. Common practice, no source.
const USUAL_ROUGHNESS: f64 = 0.0006;
/// Radius of a bend over the bore where no sheet states a bend radius. Common practice, no source.
const USUAL_BEND: f64 = 2.0;
/// Loss coefficient of a silencer. Common practice, no source.
const SILENCER: f64 = 3.0;
/// Wall of a pipe whose outside is not stated, in m. Common practice, no source.
const USUAL_WALL: f64 = 0.0015;
/// What a pipe may rise again without holding water that matters, in m. Common practice, no source.
const LOW_ENOUGH: f64 = 0.005;
/// How far above the lowest place a drain still empties it, in m. Common practice, no source.
const DRAINS: f64 = 0.02;
/// Fall over length up to which a leg of exhaust counts as level. Common practice, no source.
const LEVEL: f64 = 0.01;

/// What is left of the excess air at the highest place.
#[derive(Clone, Copy, Debug)]
pub struct AtAltitude {
    /// The highest place, in m.
    pub altitude: f64,
    /// Where the job states it.
    pub place: Place,
    /// The unit it is read in.
    pub unit: &'static Unit,
    /// Density of the air to that of sea level at 20 °C.
    pub air_ratio: f64,
    /// Density of the fuel to that at 15 °C.
    pub fuel_ratio: f64,
    /// The temperature of the worse day.
    pub day: Temperature,
    /// Whether that is the standard day, not design cold.
    pub standard: bool,
    /// The least excess air that the sheet states.
    pub excess: f64,
    /// What is left of it.
    pub left: f64,
    /// The altitude at which nothing is left on such a day, in m.
    pub runs_out: Option<f64>,
}

/// A stretch of exhaust pipe with its temperatures.
#[derive(Clone, Copy, Debug)]
pub struct Heat {
    /// The number of its stretch in the walk.
    pub stretch: usize,
    /// The gas where it begins and where it ends.
    pub gas: (Temperature, Temperature),
    /// The outer surface where it begins and where it ends.
    pub surface: (Temperature, Temperature),
    /// The inside of the wall where it ends, where water falls out first.
    pub inside: Temperature,
    /// Whether it is lagged.
    pub lagged: bool,
}

/// Water of the exhaust at the lowest output and design cold.
#[derive(Clone, Copy, Debug)]
pub struct Wet {
    /// The gas's dew point.
    pub dew_point: Temperature,
    /// Water that falls out in the pipe at the most, in kg/s.
    pub water: f64,
    /// The first step of the run at which the wall is below the dew point.
    pub from_step: Option<usize>,
}

/// A low point: water stands or runs back here.
#[derive(Clone, Copy, Debug)]
pub struct LowPoint {
    /// The number of the run.
    pub run: usize,
    /// The leg after which the pipe is lowest; at the heater the first leg.
    pub place: Place,
    /// Whether water runs back into the heater.
    pub at_heater: bool,
    /// How deep it stands before it runs on, in m.
    pub depth: f64,
    /// How much of the pipe lies so low that water closes it, in m.
    pub length: f64,
    /// Whether a drain hole or a trap lets it out.
    pub drained: bool,
}

/// Legs without a fall, one after the other.
#[derive(Clone, Copy, Debug)]
pub struct LevelLegs {
    /// The number of the run.
    pub run: usize,
    /// The first of them.
    pub place: Place,
    /// Their length in m.
    pub length: f64,
}

/// Pressure lost on both sides at the highest output, in Pa.
#[derive(Clone, Copy, Debug)]
pub struct Loss {
    /// By the exhaust.
    pub exhaust: f64,
    /// By the combustion air.
    pub air: f64,
}

/// What burns in one heater and what leaves it.
#[derive(Clone, Debug)]
pub struct Burner {
    /// The number of the heater.
    pub heater: usize,
    /// The number of its exhaust.
    pub exhaust: Option<usize>,
    /// The number of its combustion air.
    pub combustion_air: Option<usize>,
    /// What is left of its excess air at the highest place.
    pub at_altitude: Option<AtAltitude>,
    /// The gas at the port, hot case, and whether the sheet states it.
    pub port: Option<(Temperature, bool)>,
    /// The exhaust's stretches, hot case.
    pub heats: Vec<Heat>,
    /// Pressure lost on both sides.
    pub loss: Option<Loss>,
    /// Water, cold case.
    pub wet: Option<Wet>,
    /// Low points of exhaust and combustion air.
    pub low_points: Vec<LowPoint>,
    /// Level legs of the exhaust.
    pub level: Vec<LevelLegs>,
    /// The unit to read temperatures in.
    pub degrees: &'static Unit,
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    if job.header.is_none() {
        return;
    }
    for (number, heater) in job.heaters.iter().enumerate() {
        let burner = Building::new(job, number, heater, figures).build();
        figures.burners.push(burner);
    }
}

/// What is burnt at one output.
struct Fire {
    fuel_flow: MassFlow,
    power: Power,
    air: MassFlow,
    exhaust: MassFlow,
    products: Products,
    heat: GasHeat,
    excess: f64,
}

/// One piece of a way: a stretch with its tube.
struct Piece {
    stretch: usize,
    step: usize,
    length: f64,
    bends: f64,
    pipe: Pipe,
    roughness: f64,
    bend_ratio: f64,
    silencers: f64,
}

struct Building<'a, 'f> {
    job: &'a Job,
    heater: usize,
    sheet: Option<&'a HeaterSheet>,
    header: Place,
    name: String,
    fuel: Option<Fuel>,
    exhaust: Option<(usize, &'a Run)>,
    intake: Option<(usize, &'a Run)>,
    degrees: &'static Unit,
    figures: &'f mut Figures,
}

fn kilograms_an_hour(flow: MassFlow) -> f64 {
    flow.in_kilograms_per_second() * 3600.0
}

fn step(
    what: &'static str,
    formula: &'static str,
    inputs: Vec<Input>,
    result: f64,
    unit: &'static str,
    source: &'static str,
) -> Step {
    Step { what, formula, inputs, result, unit, source }
}

/// The fuel of a heater: its sheet's, else that of the tank its line draws from.
fn fuel_of(job: &Job, heater: usize) -> Option<Fuel> {
    let by_sheet = job.sheet_of(heater).and_then(|sheet| sheet.burns.get().copied());
    let by_tank = || {
        job.runs_of(heater, Kind::FuelLine).find_map(|run| match run.start {
            crate::model::Start::Tank(tank) => job.tanks.get(tank).and_then(|tank| tank.fuel.get().copied()),
            _ => None,
        })
    };
    by_sheet.or_else(by_tank).map(fuel_named)
}

impl<'a, 'f> Building<'a, 'f> {
    fn new(job: &'a Job, heater: usize, of: &Heater, figures: &'f mut Figures) -> Self {
        let of_kind =
            |kind: Kind| job.runs.iter().enumerate().find(|(_, run)| run.kind == kind && run.heater == Some(heater));
        let cold = job.conditions.design_cold.get().map(|cold| cold.unit);
        Building {
            job,
            heater,
            sheet: job.sheet_of(heater),
            header: of.header,
            name: of.name.clone(),
            fuel: fuel_of(job, heater),
            exhaust: of_kind(Kind::Exhaust),
            intake: of_kind(Kind::CombustionAir),
            degrees: unit_or(cold, "°C"),
            figures,
        }
    }

    fn build(mut self) -> Burner {
        let mut burner = Burner {
            heater: self.heater,
            exhaust: self.exhaust.map(|(number, _)| number),
            combustion_air: self.intake.map(|(number, _)| number),
            at_altitude: None,
            port: None,
            heats: Vec::new(),
            loss: None,
            wet: None,
            low_points: Vec::new(),
            level: Vec::new(),
            degrees: self.degrees,
        };
        burner.at_altitude = self.at_altitude();
        let hot = self.fire(true, false);
        let cold = self.fire(false, true);
        let (pipe, hose) = (self.pieces(self.exhaust), self.pieces(self.intake));
        if let Some(hot) = &hot {
            self.list_flow(hot);
            burner.port = self.port(hot);
        }
        if let (Some(hot), Some((port, _)), Some(pipe), Some((number, run))) = (&hot, burner.port, &pipe, self.exhaust)
        {
            burner.heats = along(pipe, hot, port, WARM_DAY);
            self.list_heat(number, run, &burner.heats, hot);
        }
        if let (Some(cold), Some(pipe), Some((_, run))) = (&cold, &pipe, self.exhaust) {
            burner.wet = self.wet(cold, pipe, run);
        }
        if let (Some(lean), Some(pipe), Some(hose)) = (self.fire(true, true), &pipe, &hose) {
            burner.loss = self.loss(&lean, pipe, hose, burner.port.map(|(port, _)| port));
        }
        let slow = burner.wet.map_or(0.0, |wet| wet.water);
        for (number, run) in [self.exhaust, self.intake].into_iter().flatten() {
            self.low_points(number, run, slow, &mut burner);
        }
        self.height_of_end();
        burner
    }

    fn missing(&mut self, title: String, because: &str) {
        // Without pipe and hose there is nothing to be figured: that they are missing is said elsewhere.
        if self.exhaust.is_none() && self.intake.is_none() {
            return;
        }
        let subject = self.header;
        self.figures.missing.push(Unjudged { section: Section::Exhaust, subject, title, because: because.to_string() });
    }

    /// The fire at the highest or lowest output, with the most or the least excess air that the sheet states.
    fn fire(&mut self, highest: bool, lean: bool) -> Option<Fire> {
        let sheet = self.sheet?;
        let (rate, excess, fuel) = match (sheet.fuel_rate.get(), sheet.excess_air.get(), self.fuel) {
            (Some(rate), Some(excess), Some(fuel)) => (rate, excess, fuel),
            (rate, excess, _) => {
                // Three fires are asked for; what is missing is said once.
                if highest && !lean {
                    let because = match (rate, excess) {
                        (None, _) => "the heater's data sheet states no `fuel-rate`",
                        (_, None) => "the heater's data sheet states no `excess-air`",
                        _ => "neither the data sheet nor the tank says which fuel it burns",
                    };
                    let title = format!("combustion air, exhaust, their heat, pressure and water of {}", self.name);
                    self.missing(title, because);
                }
                return None;
            }
        };
        let rate = if highest { rate.high } else { rate.low };
        let excess = if lean { excess.high } else { excess.low };
        let heavy = density_at_15_celsius(fuel).in_kilograms_per_cubic_metre();
        let fuel_flow = MassFlow::kilograms_per_second(rate * heavy);
        let power =
            Power::watts(fuel_flow.in_kilograms_per_second() * lower_heating_value(fuel).in_joules_per_kilogram());
        let products = burning::products(fuel, excess)?;
        let air = burning::combustion_air(fuel, fuel_flow, excess)?;
        (fuel_flow > MassFlow::ZERO).then(|| Fire {
            fuel_flow,
            power,
            air,
            exhaust: air + fuel_flow,
            heat: products.gas_heat(),
            products,
            excess,
        })
    }

    fn at_altitude(&mut self) -> Option<AtAltitude> {
        let (sheet, fuel) = (self.sheet?, self.fuel?);
        let excess = sheet.excess_air.get()?;
        let Some(altitude) = self.job.conditions.altitude.fact().copied() else {
            let title = format!("excess air of {} at its highest place", self.name);
            self.missing(title, "the job states no `altitude`");
            return None;
        };
        let high = Length::metres(altitude.value.high);
        let cold = self.cold();
        let heavy = density_at_15_celsius(fuel);
        let on = |day: Temperature, air: Density| {
            let (air_ratio, fuel_ratio) = (burning::air_ratio(air), density(fuel, day) / heavy);
            (burning::excess_air_left(excess.low, air_ratio, fuel_ratio), air_ratio, fuel_ratio, day)
        };
        let standard_day = air::standard_temperature(high);
        let standard = on(standard_day, air::standard_density(high));
        let at_cold = on(cold, air::density_at(high, cold));
        let is_standard = standard.0 <= at_cold.0;
        let (left, air_ratio, fuel_ratio, day) = if is_standard { standard } else { at_cold };
        let limit = burning::density_without_excess(excess.low, fuel_ratio)?;
        let runs_out = if is_standard {
            air::altitude_of_standard_density(limit)
        } else {
            let pressure = limit.in_kilograms_per_cubic_metre() * air::GAS_CONSTANT_OF_AIR * day.in_kelvin();
            air::altitude_of_pressure(Pressure::pascals(pressure))
        };
        let found = AtAltitude {
            altitude: altitude.value.high,
            place: altitude.written,
            unit: altitude.value.unit,
            air_ratio,
            fuel_ratio,
            day,
            standard: is_standard,
            excess: excess.low,
            left: left?,
            runs_out: runs_out.map(|altitude| altitude.in_metres()),
        };
        self.list_altitude(&found);
        Some(found)
    }

    fn cold(&self) -> Temperature {
        let stated = self.job.conditions.design_cold.get();
        stated.map_or(Temperature::celsius(DEFAULT_COLD), |cold| Temperature::kelvin(cold.low))
    }

    /// The gas at the port: the sheet's statement, else an upper bound from the balance of heat.
    fn port(&mut self, hot: &Fire) -> Option<(Temperature, bool)> {
        let sheet = self.sheet?;
        let unit = self.degrees;
        let (port, stated, working) = match (sheet.exhaust_temperature.get(), sheet.output.get()) {
            (Some(stated), _) => {
                let told = step(
                    "as stated in the data sheet",
                    "T₀",
                    Vec::new(),
                    stated.high,
                    unit.spelling,
                    "the heater's data sheet",
                );
                (Temperature::kelvin(stated.high), true, told)
            }
            (None, Some(output)) => {
                let heat = Power::watts(output.high);
                let port = burning::port_temperature(&hot.heat, hot.exhaust, hot.power, heat, WARM_DAY)?;
                let inputs = vec![
                    input("P_fuel", hot.power.in_watts(), "kW"),
                    input("P_heat", output.high, "kW"),
                    input("m", kilograms_an_hour(hot.exhaust), "kg/h"),
                    input("T_air", WARM_DAY.in_kelvin(), unit.spelling),
                    input("c_p at T₀, J/(kg·K)", hot.heat.at(port), ""),
                ];
                let told = step(
                    "heat of the fuel less the heater's output; an upper bound, since heat lost through the casing is not taken off",
                    "h(T₀) = h(T_air) + (P_fuel − P_heat) / m",
                    inputs,
                    port.in_kelvin(),
                    unit.spelling,
                    "energy balance; heat of the gases by NASA polynomials",
                );
                (port, false, told)
            }
            _ => {
                let title = format!("temperature of the exhaust of {}", self.name);
                self.missing(title, "the heater's data sheet states neither `exhaust-temperature` nor `output`");
                return None;
            }
        };
        self.list(
            "exhaust_at_port",
            "exhaust gas at the port",
            "highest output, warm day",
            port.in_kelvin(),
            unit,
            vec![working],
        );
        Some((port, stated))
    }

    /// The pieces of a way from the heater to the end; `None` where a length or a bore is not known.
    fn pieces(&self, run: Option<(usize, &Run)>) -> Option<Vec<Piece>> {
        let (_, run) = run?;
        run.walk.length?;
        let metres = |quantity: Option<f64>| Length::metres(quantity.unwrap_or(0.0));
        let mut pieces = Vec::with_capacity(run.walk.stretches.len());
        let mut stretches = run.walk.stretches.iter().enumerate().peekable();
        let mut tube = None;
        let mut lagging = 0.0;
        let mut turned = 0.0;
        let mut silencers = 0.0;
        for (number, met) in run.steps.iter().enumerate() {
            match &met.met {
                Met::Tube(next) => tube = Some(next),
                Met::Lagged(thickness) => lagging = thickness.map_or(0.0, |thickness| thickness.low),
                Met::Silencer(_) => silencers += 1.0,
                _ => {}
            }
            while let Some((stretch, walked)) = stretches.next_if(|(_, stretch)| stretch.step <= number) {
                let tube = tube?;
                let bore = tube.bore.get()?.low;
                let outside = tube.outside.get().map_or(bore + 2.0 * USUAL_WALL, |outside| outside.nominal).max(bore);
                let so_far = run.walk.bends_after.get(number).copied().flatten()?.nominal;
                let radius = tube.bend_radius.get().map_or(USUAL_BEND, |radius| radius.nominal / bore);
                pieces.push(Piece {
                    stretch,
                    step: number,
                    length: walked.length.nominal,
                    bends: (so_far - turned).max(0.0),
                    pipe: Pipe {
                        bore: Length::metres(bore),
                        outside: Length::metres(outside),
                        lagging: metres(Some(lagging)),
                        conductivity: exhaust_flow::CONDUCTIVITY_OF_LAGGING,
                        emissivity: if lagging > 0.0 {
                            exhaust_flow::EMISSIVITY_OF_LAGGING
                        } else {
                            exhaust_flow::EMISSIVITY_OF_PIPE
                        },
                    },
                    roughness: tube.roughness.get().map_or(USUAL_ROUGHNESS, |roughness| roughness.nominal),
                    bend_ratio: radius,
                    silencers: 0.0,
                });
                turned = so_far;
            }
            if let Some(piece) = pieces.last_mut() {
                piece.silencers += silencers;
                silencers = 0.0;
            }
        }
        let bores = pieces.iter().all(|piece| piece.pipe.bore > Length::ZERO && piece.bend_ratio > 0.0);
        (!pieces.is_empty() && bores).then_some(pieces)
    }

    fn wet(&mut self, cold: &Fire, pipe: &[Piece], run: &Run) -> Option<Wet> {
        let sheet = self.sheet?;
        let (air, fuel) = (self.cold(), self.fuel?);
        let lowest = sheet.output.get()?.low;
        let altitude = self.job.conditions.altitude.get().map_or(0.0, |altitude| altitude.low);
        let pressure = air::standard_pressure(Length::metres(altitude));
        let port = burning::port_temperature(&cold.heat, cold.exhaust, cold.power, Power::watts(lowest), air)?;
        let dew_point = cold.products.dew_point(pressure)?;
        let heats = along(pipe, cold, port, air);
        let end = heats.last()?;
        let made = burning::water_made(fuel) * cold.fuel_flow.in_kilograms_per_second();
        let gone = cold.products.condensed_share(pressure, end.inside)?;
        let from = heats.iter().zip(pipe).find(|(heat, _)| heat.inside < dew_point).map(|(_, piece)| piece.step);
        let found = Wet { dew_point, water: made * gone, from_step: from };
        let unit = self.degrees;
        self.list(
            "exhaust_dew_point",
            "dew point of the exhaust",
            "lowest output, design cold",
            dew_point.in_kelvin(),
            unit,
            vec![step(
                "temperature at which water begins to settle; for dry intake air, and a little higher for damp air",
                "p_s(T) = p · x_water",
                vec![
                    input("p", pressure.in_pascals(), "kPa"),
                    input("x_water", cold.products.water, "%"),
                    input("excess air", cold.excess, "%"),
                ],
                dew_point.in_kelvin(),
                unit.spelling,
                "Sonntag 1990 (WMO-No. 8), from memory; checked against IAPWS-95",
            )],
        );
        self.list(
            "exhaust_at_end_cold",
            "exhaust gas at the open end",
            "lowest output, design cold",
            end.gas.1.in_kelvin(),
            unit,
            vec![step(
                "the gas cools along the pipe; in still air, for the pipe as stated",
                "T = T_a + (T₀ − T_a) · exp(−U′ · L / (m · c_p)), leg by leg",
                vec![
                    input("T_a", air.in_kelvin(), unit.spelling),
                    input("T₀", port.in_kelvin(), unit.spelling),
                    input("m", kilograms_an_hour(cold.exhaust), "kg/h"),
                    input("inside of the wall there", end.inside.in_kelvin(), unit.spelling),
                ],
                end.gas.1.in_kelvin(),
                unit.spelling,
                "Incropera eq. 8.45b; films by Gnielinski, Churchill and Chu",
            )],
        );
        let litres = found.water;
        self.figures.list.push(|| Figure {
            name: "exhaust_condensate",
            section: Section::Exhaust,
            subject: run.header,
            title: format!("most water that can settle in the exhaust of {}", self.name),
            case: "lowest output, design cold",
            value: found.water / 1000.0,
            unit: unit_or(None, "L/h"),
            rests_on: vec![run.header],
            working: vec![step(
                "water made, less what gas as cold as the wall at the end still holds; an upper bound, since not all the gas gets so cold",
                "m_out = m_fuel · w · (1 − (1 − x) · p_s / (x · (p − p_s)))",
                vec![
                    input("m_fuel", kilograms_an_hour(cold.fuel_flow), "kg/h"),
                    input("w, kg/kg", burning::water_made(fuel), ""),
                    input("x", cold.products.water, "%"),
                    input("wall", end.inside.in_kelvin(), unit.spelling),
                ],
                litres / 1000.0,
                "L/h",
                "stoichiometry of CHx; Dalton's law",
            )],
        });
        Some(found)
    }

    fn loss(&mut self, lean: &Fire, pipe: &[Piece], hose: &[Piece], port: Option<Temperature>) -> Option<Loss> {
        let pressure = air::SEA_LEVEL_PRESSURE;
        let fresh = burning::REFERENCE_AIR;
        let cold_air = |_: Temperature| air::density_at_pressure(pressure, fresh);
        let drawn = lost(hose, lean.air, duct_flow::SHARP_ENTRANCE, &[], fresh, cold_air)?;
        // With more air the gas is cooler than the hot case says; that case's heat is shared out over more gas.
        let port = match (self.sheet?.exhaust_temperature.get(), self.sheet?.output.get()) {
            (None, Some(output)) => {
                burning::port_temperature(&lean.heat, lean.exhaust, lean.power, Power::watts(output.high), fresh)?
            }
            _ => port?,
        };
        let heats = along(pipe, lean, port, fresh);
        let pushed = lost(pipe, lean.exhaust, duct_flow::EXIT, &heats, port, |at| lean.products.density(pressure, at))?;
        let found = Loss { exhaust: pushed, air: drawn };
        let allowed = self.sheet.and_then(|sheet| sheet.combustion_pressure.get());
        let unit = unit_or(allowed.map(|allowed| allowed.unit), "Pa");
        let source = "Darcy-Weisbach with Colebrook; bends by Rennels and Hudson eq. 15.2; a silencer counts as 3 velocity heads; where no sheet says, roughness is 0.6 mm and a bend's radius 2 bores (common practice, no source)";
        let of = |pieces: &[Piece], flow: MassFlow| {
            vec![
                input("m", kilograms_an_hour(flow), "kg/h"),
                input("L", pieces.iter().map(|piece| piece.length).sum(), "m"),
                input("bends", pieces.iter().map(|piece| piece.bends).sum(), "°"),
                input("roughness", pieces.first().map_or(0.0, |piece| piece.roughness), "mm"),
                input("silencers", pieces.iter().map(|piece| piece.silencers).sum(), ""),
            ]
        };
        let working = vec![
            step(
                "pressure lost in the exhaust, each leg at its own temperature, and at its outlet",
                "Δp₁ = Σ (f · L / D + ΣK) · ρ · w² / 2",
                of(pipe, lean.exhaust),
                pushed,
                unit.spelling,
                source,
            ),
            step(
                "pressure lost in the combustion air at 20 °C, and at its intake",
                "Δp₂ = Σ (f · L / D + ΣK) · ρ · w² / 2",
                of(hose, lean.air),
                drawn,
                unit.spelling,
                source,
            ),
            step(
                "both together",
                "Δp = Δp₁ + Δp₂",
                vec![input("Δp₁", pushed, unit.spelling), input("Δp₂", drawn, unit.spelling)],
                pushed + drawn,
                unit.spelling,
                "sum",
            ),
        ];
        self.list(
            "combustion_pressure",
            "resistance of exhaust and combustion air",
            "highest output, most excess air, sea level",
            pushed + drawn,
            unit,
            working,
        );
        Some(found)
    }

    /// Low points and level legs of a run, where the rise of every leg is known.
    fn low_points(&mut self, number: usize, run: &Run, water: f64, burner: &mut Burner) {
        let stretches = &run.walk.stretches;
        let rises: Option<Vec<f64>> = stretches.iter().map(|stretch| stretch.rise.map(|rise| rise.nominal)).collect();
        let (Some(rises), Some(first), true) = (rises, stretches.first(), run.walk.length.is_some()) else { return };
        let exhaust = run.kind == Kind::Exhaust;
        let mut heights = Vec::with_capacity(rises.len() + 1);
        let mut height = 0.0;
        heights.push(height);
        for rise in &rises {
            height += rise;
            heights.push(height);
        }
        let drains: Vec<usize> = run
            .steps
            .iter()
            .enumerate()
            .filter(|(_, step)| matches!(step.met, Met::DrainHole(_) | Met::Trap))
            .map(|(number, _)| stretches.iter().filter(|stretch| stretch.step < number).count())
            .collect();
        let at = |index: usize| heights.get(index).copied().unwrap_or(0.0);
        let last = heights.len() - 1;
        let mut in_pool = vec![false; rises.len()];
        // The highest place from each on to the end: water stands where the way climbs again.
        let mut climbs = heights.clone();
        for index in (0..last).rev() {
            let after = climbs.get(index + 1).copied().unwrap_or(0.0);
            if let Some(here) = climbs.get_mut(index) {
                *here = here.max(after);
            }
        }
        let mut index = 0;
        while index < last {
            let here = at(index);
            let lower_after = at(index + 1) < here;
            let outlet = climbs.get(index).copied().unwrap_or(here) - here;
            let from_here_up = index == 0 || at(index - 1) > here;
            if lower_after || outlet <= LOW_ENOUGH || !from_here_up || (index == 0 && !exhaust) {
                index += 1;
                continue;
            }
            // What lies about as low on both sides is one pool.
            let mut from = index;
            while from > 0 && at(from - 1) <= here + DRAINS {
                from -= 1;
            }
            let mut to = index;
            while to < last && at(to + 1) <= here + DRAINS {
                to += 1;
            }
            // A level floor that then falls is no pool.
            if (index..=to).any(|vertex| at(vertex) < here) {
                index += 1;
                continue;
            }
            for pooled in from..=to.min(rises.len().saturating_sub(1)) {
                if let Some(flag) = in_pool.get_mut(pooled) {
                    *flag = true;
                }
            }
            let at_heater = from == 0 && index == 0;
            let rising_to = (to..=last).find(|vertex| at(*vertex) >= here + outlet - 1e-9).unwrap_or(last);
            let drained =
                drains.iter().any(|vertex| (from..=to).contains(vertex) || (at_heater && *vertex <= rising_to));
            let to_heater = (0..=from).map(at).fold(f64::NEG_INFINITY, f64::max) - here;
            let depth = if at_heater { outlet } else { outlet.min(to_heater) };
            let bore = self.bore_of(run).unwrap_or(0.0);
            let mut closed = 0.0;
            for (leg, rise) in
                rises.iter().enumerate().skip(from.saturating_sub(1)).take(to + 2 - from.saturating_sub(1))
            {
                let long = stretches.get(leg).map_or(0.0, |stretch| stretch.length.nominal);
                let touches = at(leg).min(at(leg + 1)) <= here + DRAINS;
                if touches {
                    closed += if rise.abs() <= bore { long } else { long * bore / rise.abs() };
                }
            }
            let leg = if at_heater { 0 } else { index - 1 };
            let place = stretches.get(leg).unwrap_or(first).place;
            burner.low_points.push(LowPoint { run: number, place, at_heater, depth, length: closed, drained });
            self.list_low_point(run, place, depth, closed, bore, water);
            index = to.max(index) + 1;
        }
        if !exhaust {
            return;
        }
        let mut level: Option<LevelLegs> = None;
        for (leg, rise) in rises.iter().enumerate() {
            let Some(stretch) = stretches.get(leg) else { continue };
            let long = stretch.length.nominal;
            let pooled = in_pool.get(leg).copied().unwrap_or(false);
            let drained = drains.contains(&leg) || drains.contains(&(leg + 1));
            if rise.abs() > LEVEL * long || pooled || drained || long <= 0.0 {
                burner.level.extend(level.take());
                continue;
            }
            let legs = level.get_or_insert(LevelLegs { run: number, place: stretch.place, length: 0.0 });
            legs.length += long;
        }
        burner.level.extend(level);
    }

    fn bore_of(&self, run: &Run) -> Option<f64> {
        run.steps.iter().find_map(|step| match &step.met {
            Met::Tube(tube) => tube.bore.get().map(|bore| bore.nominal),
            _ => None,
        })
    }

    fn list(
        &mut self,
        name: &'static str,
        what: &str,
        case: &'static str,
        value: f64,
        unit: &'static Unit,
        working: Vec<Step>,
    ) {
        let mut rests_on: Vec<Place> = Vec::with_capacity(4);
        if let Some(sheet) = self.sheet {
            rests_on.extend([sheet.excess_air.place(), sheet.fuel_rate.place()].into_iter().flatten());
        }
        rests_on.extend(self.exhaust.map(|(_, run)| run.header));
        self.figures.list.push(|| Figure {
            name,
            section: Section::Exhaust,
            subject: self.header,
            title: format!("{what} of {}", self.name),
            case,
            value,
            unit,
            rests_on,
            working,
        });
    }

    fn list_flow(&mut self, hot: &Fire) {
        if !self.figures.list.is_kept() {
            return;
        }
        let Some(fuel) = self.fuel else { return };
        let fresh = air::density_at_pressure(air::SEA_LEVEL_PRESSURE, burning::REFERENCE_AIR);
        let volume = |flow: MassFlow, density: Density| {
            VolumeFlow::cubic_metres_per_second(flow.in_kilograms_per_second() / density.in_kilograms_per_cubic_metre())
                .in_cubic_metres_per_second()
        };
        let cubic = unit_or(None, "m³/h");
        let air_flow = volume(hot.air, fresh);
        self.list(
            "combustion_air_flow",
            "combustion air",
            "highest output, least excess air, 20 °C",
            air_flow,
            cubic,
            vec![
                step(
                    "air that the fuel needs, with the excess",
                    "m_air = m_fuel · A · (1 + e)",
                    vec![
                        input("m_fuel", kilograms_an_hour(hot.fuel_flow), "kg/h"),
                        input("A, kg/kg", burning::stoichiometric_air(fuel), ""),
                        input("e", hot.excess, "%"),
                    ],
                    kilograms_an_hour(hot.air),
                    "kg/h",
                    "stoichiometry of CH1.86 (diesel, UN R83) or CH1.87 (petrol, Heywood), both from memory; dry air",
                ),
                step(
                    "its volume at sea level",
                    "V = m_air / ρ",
                    vec![input("ρ", fresh.in_kilograms_per_cubic_metre(), "kg/m³")],
                    air_flow,
                    "m³/h",
                    "ideal gas law",
                ),
            ],
        );
        let mass = hot.exhaust;
        let gas = hot.products.density(air::SEA_LEVEL_PRESSURE, burning::REFERENCE_AIR);
        let gas_flow = volume(mass, gas);
        self.list(
            "exhaust_flow",
            "exhaust flow",
            "highest output, least excess air, counted at 20 °C",
            gas_flow,
            cubic,
            vec![step(
                "air and fuel together; hot gas takes more room, in step with its absolute temperature",
                "V = (m_air + m_fuel) / ρ",
                vec![
                    input("m_air + m_fuel", kilograms_an_hour(mass), "kg/h"),
                    input("ρ", gas.in_kilograms_per_cubic_metre(), "kg/m³"),
                    input("CO₂, dry", hot.products.dry(hot.products.carbon_dioxide), "%"),
                    input("O₂, dry", hot.products.dry(hot.products.oxygen), "%"),
                ],
                gas_flow,
                "m³/h",
                "balance of mass; complete combustion",
            )],
        );
    }

    fn list_altitude(&mut self, found: &AtAltitude) {
        if !self.figures.list.is_kept() {
            return;
        }
        let share = unit_or(None, "%");
        let case = if found.standard { "highest place, standard day" } else { "highest place, design cold" };
        let inputs = vec![
            input("e", found.excess, "%"),
            input("altitude", found.altitude, found.unit.spelling),
            input("day", found.day.in_kelvin(), self.degrees.spelling),
            input("σ", found.air_ratio, ""),
            input("φ", found.fuel_ratio, ""),
        ];
        let left = step(
            "fan and pump each move a volume, so thin air and dense fuel both take from the excess; e is taken to hold at sea level and 20 °C",
            "e′ = (1 + e) · σ / φ − 1",
            inputs,
            found.left,
            "%",
            "US Standard Atmosphere 1976; fuel density ASTM D1250",
        );
        self.list("excess_air_at_altitude", "excess air left", case, found.left, share, vec![left]);
        let Some(runs_out) = found.runs_out else { return };
        let unit = found.unit;
        self.list(
            "altitude_without_excess_air",
            "altitude without excess air",
            case,
            runs_out,
            unit,
            vec![step(
                "altitude at which no excess air is left on such a day",
                "σ(h) = φ / (1 + e)",
                vec![input("e", found.excess, "%"), input("φ", found.fuel_ratio, "")],
                runs_out,
                unit.spelling,
                "US Standard Atmosphere 1976, solved for the altitude",
            )],
        );
    }

    fn list_heat(&mut self, number: usize, run: &Run, heats: &[Heat], hot: &Fire) {
        if !self.figures.list.is_kept() {
            return;
        }
        let (Some(first), Some(last)) = (heats.first(), heats.last()) else { return };
        let unit = self.degrees;
        let rests_on: Vec<Place> = run.walk.stretches.iter().map(|stretch| stretch.place).collect();
        let reads = self.job.runs.get(number).map_or(String::new(), |run| self.job.reads(run));
        let inputs = vec![
            input("T_a", WARM_DAY.in_kelvin(), unit.spelling),
            input("T₀", first.gas.0.in_kelvin(), unit.spelling),
            input("m", kilograms_an_hour(hot.exhaust), "kg/h"),
            input("c_p, J/(kg·K)", hot.heat.at(last.gas.1), ""),
            input("lagging, W/(m·K)", exhaust_flow::CONDUCTIVITY_OF_LAGGING.in_watts_per_metre_kelvin(), ""),
        ];
        let gas = step(
            "the gas cools along the pipe, leg by leg; for smooth pipe in still air, so corrugated pipe or wind makes it cooler",
            "T = T_a + (T₀ − T_a) · exp(−U′ · L / (m · c_p))",
            inputs,
            last.gas.1.in_kelvin(),
            unit.spelling,
            "Incropera eq. 8.45b; films by Gnielinski, Churchill and Chu, and radiation (emissivity 0.6 bare, 0.9 lagged); lagging of 0.08 W/(m·K) (common practice, no source)",
        );
        self.figures.list.push(|| Figure {
            name: "exhaust_at_end",
            section: Section::Exhaust,
            subject: run.header,
            title: format!("exhaust gas at the open end of {reads}"),
            case: "highest output, warm day",
            value: last.gas.1.in_kelvin(),
            unit,
            rests_on: rests_on.clone(),
            working: vec![gas],
        });
        let surface = |heat: f64, what: &'static str| {
            step(
                what,
                "T_s = T_a + (T − T_a) · R_outside / (R_inside + R_lagging + R_outside)",
                vec![input("T_a", WARM_DAY.in_kelvin(), unit.spelling)],
                heat,
                unit.spelling,
                "resistances in series around a cylinder, Incropera 3.3",
            )
        };
        let hottest = heats.iter().map(|heat| heat.surface.0.in_kelvin()).fold(0.0, f64::max);
        self.figures.list.push(|| Figure {
            name: "exhaust_surface",
            section: Section::Exhaust,
            subject: run.header,
            title: format!("hottest outside of {reads}"),
            case: "highest output, warm day, still air",
            value: hottest,
            unit,
            rests_on,
            working: vec![
                surface(hottest, "outer surface where it is hottest"),
                surface(last.surface.1.in_kelvin(), "outer surface at the end"),
            ],
        });
    }

    fn list_low_point(&mut self, run: &Run, place: Place, depth: f64, closed: f64, bore: f64, water: f64) {
        if !self.figures.list.is_kept() {
            return;
        }
        let unit = unit_or(run.walk.unit, "mm");
        let mut working = vec![step(
            "how far it climbs again after its lowest place",
            "d = highest place after − lowest place",
            Vec::new(),
            depth,
            unit.spelling,
            "rises of the legs, summed",
        )];
        let filled = exhaust_flow::time_to_fill(
            Length::metres(bore),
            Length::metres(closed),
            MassFlow::kilograms_per_second(water),
        );
        if let Some(time) = filled.filter(|time| run.kind == Kind::Exhaust && *time > Time::ZERO) {
            working.push(step(
                "time until water blocks it, with the most that can settle at the lowest output",
                "t = A · L · ρ / m_out",
                vec![input("bore", bore, "mm"), input("L", closed, "mm"), input("m_out", water * 3600.0, "kg/h")],
                time.in_seconds(),
                "h",
                "balance of mass",
            ));
        }
        self.figures.list.push(|| Figure {
            name: "low_point",
            section: Section::Exhaust,
            subject: run.header,
            title: format!("low point of {}", self.job.reads(run)),
            case: "",
            value: depth,
            unit,
            rests_on: vec![place],
            working,
        });
    }

    fn height_of_end(&mut self) {
        let Some((_, run)) = self.exhaust else { return };
        let Some(end) = run.walk.end.filter(|_| run.body.is_none()) else { return };
        let Some(above) = self.job.above_ground(Interval::around(end.point.z, end.doubt.z)) else { return };
        let height = above.low;
        let unit = unit_or(run.walk.unit, "mm");
        let place = run.end.as_ref().map_or(run.header, |end| end.written);
        self.figures.list.push(|| Figure {
            name: "exhaust_end_height",
            section: Section::Exhaust,
            subject: run.header,
            title: format!("height of the open end of {} above the ground", self.job.reads(run)),
            case: "",
            value: height,
            unit,
            rests_on: vec![place],
            working: vec![step(
                "height as walked, less the stated tolerance",
                "h = up − doubt",
                vec![
                    input("up", above.nominal, unit.spelling),
                    input("doubt", above.nominal - above.low, unit.spelling),
                ],
                height,
                unit.spelling,
                "geometry of the walk",
            )],
        });
    }
}

/// Temperatures along a pipe.
fn along(pieces: &[Piece], fire: &Fire, port: Temperature, air: Temperature) -> Vec<Heat> {
    let mut heats = Vec::with_capacity(pieces.len());
    let mut gas = port;
    let mut before: Option<(exhaust_flow::Pipe, exhaust_flow::Wall)> = None;
    for piece in pieces {
        let length = Length::metres(piece.length);
        let same = before.filter(|(pipe, _)| *pipe == piece.pipe).map(|(_, wall)| wall);
        let Some(found) = exhaust_flow::along_length(piece.pipe, length, &fire.heat, fire.exhaust, gas, air, same)
        else {
            break;
        };
        heats.push(Heat {
            stretch: piece.stretch,
            gas: (gas, found.gas),
            surface: (found.start.surface, found.end.surface),
            inside: found.end.inside,
            lagged: piece.pipe.lagging > Length::ZERO,
        });
        before = Some((piece.pipe, found.end));
        gas = found.gas;
    }
    heats
}

/// Pressure lost along pieces, each at the temperature of its own middle, with one loss at the open end.
fn lost(
    pieces: &[Piece],
    flow: MassFlow,
    open_end: f64,
    heats: &[Heat],
    otherwise: Temperature,
    density: impl Fn(Temperature) -> Density,
) -> Option<f64> {
    let mut sum = 0.0;
    for (number, piece) in pieces.iter().enumerate() {
        let heat = heats.get(number);
        let at = heat.map_or(otherwise, |heat| heat.gas.0 * 0.5 + heat.gas.1 * 0.5);
        let mut duct = Duct {
            bore: piece.pipe.bore,
            length: Length::metres(piece.length),
            roughness: Length::metres(piece.roughness),
            fittings: piece.silencers * SILENCER,
        };
        let angle = std::iter::once(Angle::radians(piece.bends));
        duct.fittings += exhaust_flow::bends_loss_coefficient(duct, flow, at, angle, piece.bend_ratio)?;
        if number + 1 == pieces.len() {
            duct.fittings += open_end;
        }
        sum += exhaust_flow::pressure_loss(duct, flow, density(at), at)?.in_pascals();
    }
    Some(sum)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::judge_example;

    fn burner(example: &str) -> Burner {
        judge_example(example).figures.burners.first().expect("a burner").clone()
    }

    fn exhaust(legs: &str) -> String {
        format!(
            "exhaust of reader\n  pipe steel, 24 mm bore, 27 mm outside\n  passage floor, hole 30 mm, sealed\n  {}\n  ends facing right",
            legs.replace("; ", "\n  ")
        )
    }

    /// Low points as depth in mm, at the heater or not, drained or not; level legs as length in mm.
    fn water(legs: &str) -> (Vec<(i64, bool, bool)>, Vec<i64>) {
        let found = burner(&exhaust(legs));
        let millimetres = |metres: f64| (metres * 1000.0).round() as i64;
        let low = found.low_points.iter().map(|low| (millimetres(low.depth), low.at_heater, low.drained)).collect();
        (low, found.level.iter().map(|level| millimetres(level.length)).collect())
    }

    /// Legs; low points as [`water`] tells them; level legs.
    type Case = (&'static str, &'static [(i64, bool, bool)], &'static [i64]);

    #[test]
    fn water_stands_where_the_way_climbs_again() {
        let cases: [Case; 11] = [
            ("down 140 mm; right 690 mm, down 30 mm", &[], &[]),
            ("down 160 mm; right 300 mm, down 30 mm; right 390 mm, up 60 mm", &[(60, false, false)], &[]),
            (
                "down 160 mm; right 300 mm, down 30 mm; drain-hole 4 mm; right 390 mm, up 60 mm",
                &[(60, false, true)],
                &[],
            ),
            // A drain before the lowest place lets nothing out.
            (
                "drain-hole 4 mm; down 160 mm; right 300 mm, down 30 mm; right 390 mm, up 60 mm",
                &[(60, false, false)],
                &[],
            ),
            // A level floor between two slopes is one pool, and no level leg besides.
            ("down 160 mm; right 300 mm; right 390 mm, up 60 mm", &[(60, false, false)], &[]),
            ("down 160 mm; right 300 mm; drain-hole 4 mm; right 390 mm, up 60 mm", &[(60, false, true)], &[]),
            // It runs over into the heater before it runs out.
            ("down 40 mm; right 300 mm, up 200 mm; right 390 mm, down 30 mm", &[(40, false, false)], &[]),
            ("up 200 mm; right 690 mm, down 30 mm", &[(200, true, false)], &[]),
            ("trap; up 200 mm; right 690 mm, down 30 mm", &[(200, true, true)], &[]),
            ("down 140 mm; right 400 mm; back 200 mm; right 290 mm, down 30 mm", &[], &[600]),
            (
                "down 100 mm; right 200 mm, up 40 mm; right 200 mm, down 70 mm; right 290 mm, up 50 mm",
                &[(40, false, false), (50, false, false)],
                &[],
            ),
        ];
        for (legs, low, level) in cases {
            assert_eq!(water(legs), (low.to_vec(), level.to_vec()), "{legs}");
        }
    }

    /// Source: arithmetic by hand. 0.29 L/h of 832 kg/m³ is 0.2413 kg/h; with 14.58 kg of air to 1 kg and 40 % more 4.925 kg/h, at 1.204 kg/m³ 4.09 m³/h.
    #[test]
    fn combustion_air_is_what_a_hand_reckons() {
        let analysis = judge_example("");
        let air = analysis.shown().list.iter().find(|figure| figure.name == "combustion_air_flow").expect("a figure");
        assert!((air.value * 3600.0 / 4.09 - 1.0).abs() < 0.005, "{}", air.value * 3600.0);
    }

    #[test]
    fn a_stated_exhaust_temperature_stands_before_the_balance() {
        use crate::rules::{BENCH_SHEETS, compose};
        use crate::source::{FileId, Followed, Source};
        struct Sheets(String);
        impl Source for Sheets {
            fn follow(&self, _: FileId, _: &str) -> Followed {
                Followed::File(FileId(1), std::sync::Arc::new(crate::reading::Reading::new(self.0.as_str().into())))
            }
        }
        let port = |sheets: String| {
            let reading = std::sync::Arc::new(crate::reading::Reading::new(compose("").into()));
            let job = Job::resolve(crate::source::FileId(0), reading, &Sheets(sheets));
            Figures::of(&job).burners.first().and_then(|burner| burner.port).expect("a temperature")
        };
        let (bound, stated) = port(BENCH_SHEETS.to_string());
        assert!(!stated && (300.0..400.0).contains(&bound.in_celsius()), "{}", bound.in_celsius());
        let told = BENCH_SHEETS.replacen("excess-air    40", "exhaust-temperature 310 °C\n  excess-air    40", 1);
        assert_eq!(port(told), (Temperature::celsius(310.0), true));
    }

    #[test]
    fn the_hole_in_a_sheet_is_said_once() {
        let example = "heater reader\n  datasheet gone\n  in cabin\n  heats cabin\n  at back 1900 mm, right 310 mm, up 670 mm\n  warm-end forward";
        let analysis = judge_example(example);
        assert!(analysis.figures.burners.iter().all(|burner| burner.loss.is_none() && burner.wet.is_none()));
    }
}

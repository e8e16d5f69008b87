//! The fuel line of each heater: suction side and pressure side of its pump, lift, friction, bubbles, what it holds.
//! Consumption over a night, and distances from hot pipes, are not in here; nothing is judged.
use super::ways::{Limit, SheetOf, length_unit, sheet_of, sum_of_legs, unbroken};
use super::{DEFAULT_COLD, Figure, Figures, Input, Section, Step, Unjudged, input};
use crate::model::{Fact, Interval, Job, Met, Run, Start, Stated, Stretch, Tank, WayLimit, Whose, unit_or};
use crate::physics::bore;
use crate::physics::fuel::{
    ClimateClass, DieselStandard, Fuel, Grade, critical_bubble_bore, density, grade as grade_named,
    kinematic_viscosity, laminar_pressure_loss, peak_flow, static_head, surface_tension,
};
use crate::source::Place;
use crate::units::{
    Density, KinematicViscosity, Length, Pressure, Quantity, Temperature, Time, Unit, Volume, VolumeFlow,
};
use crate::vocabulary::{DIESEL_BLENDS, Kind};
use std::ops::Range;

/// Climate class where nobody names one that EN 590 knows: one of the thicker fuels. Common practice, no source.
const CLASS_WITHOUT_A_WORD: ClimateClass = ClimateClass::B;
/// How long a stroke of a dosing pump pushes, in s. Common practice, no source.
const STROKE_TIME: f64 = 0.030;
/// Air over the fuel in kg/m³, for the buoyancy of a bubble: sea level, 0 °C. Source: ISO 2533, rounded.
const AIR_DENSITY: f64 = 1.29;
/// Fall, in m, that makes what lies before it a high point. Common practice, no source.
const FALLS_AWAY: f64 = 0.05;
/// Slope up to which a leg counts as level, as rise over length. Common practice, no source.
const LEVEL: f64 = 0.02;

/// The fuel and the cold it is judged at.
#[derive(Clone, Debug)]
pub struct FuelTaken {
    /// The fuel.
    pub fuel: Fuel,
    /// The climate class, where the tank names one.
    pub class: Option<ClimateClass>,
    /// The grade.
    pub grade: Option<Fact<&'static str>>,
    /// The standard that describes it, where it is diesel of a stated grade.
    pub standard: Option<DieselStandard>,
    /// How cold it may get, likewise.
    pub cold: Option<Cold>,
    /// The coldest it is judged at.
    pub temperature: Temperature,
    /// Whether the job states that cold.
    pub cold_stated: bool,
    /// The unit that it is read in.
    pub cold_unit: &'static Unit,
}

/// How cold a fuel may get.
#[derive(Clone, Debug)]
pub struct Cold {
    /// Its class, where its grade or its author names one.
    pub class: Option<ClimateClass>,
    /// The temperature at which it may plug a filter; where its papers state a cloud point alone, that.
    pub plugs: Temperature,
    /// How far above that it is to stay, K.
    pub margin: f64,
    /// Its cloud point, where its papers, its class or the poorest fuel of its name give one.
    pub clouds: Option<Temperature>,
    /// Whose the plugging point is.
    pub plugs_by: Whose,
    /// Whose the cloud point is.
    pub clouds_by: Whose,
    /// What it is read as, in words.
    pub reads: String,
}

/// How far above its plugging point a fuel is to stay, K. Common practice, no source.
pub const WAX_MARGIN: f64 = 3.0;

/// The cold that a grade bears, with the class and the cloud point that the tank states beside it.
fn cold_of(grade: &Grade, stated: Option<ClimateClass>, cloud_point: Option<Quantity>) -> Cold {
    let class = stated.or(grade.poorest.is_none().then_some(grade.class));
    // The worst end of what the papers say.
    let cloud = cloud_point.map(|cloud| Temperature::kelvin(cloud.high));
    match (class, cloud) {
        (Some(class), cloud) => Cold {
            class: Some(class),
            plugs: class.cold_filter_plugging_point(),
            margin: WAX_MARGIN,
            clouds: cloud.or(class.cloud_point()),
            plugs_by: Whose::Standard("EN 590 tables 2 and 3; the margin is common practice"),
            clouds_by: if cloud.is_some() { Whose::Job } else { Whose::Standard("EN 590 table 3") },
            reads: match grade.standard {
                DieselStandard::En590 => class_in_words(class).to_string(),
                other => format!("{}, as good in the cold as {} (from memory)", other.number(), class_in_words(class)),
            },
        },
        (None, Some(cloud)) => Cold {
            class: None,
            plugs: cloud,
            margin: 0.0,
            clouds: None,
            plugs_by: Whose::Job,
            clouds_by: Whose::Job,
            reads: "no class is stated: taken to plug where it clouds".to_string(),
        },
        (None, None) => {
            let poorest = grade.poorest.map_or(grade.class.cold_filter_plugging_point(), Temperature::celsius);
            Cold {
                class: None,
                plugs: poorest,
                margin: WAX_MARGIN,
                clouds: Some(poorest),
                plugs_by: Whose::CommonPractice,
                clouds_by: Whose::CommonPractice,
                reads: format!(
                    "this name says nothing of cold ({}): taken as the poorest sold",
                    grade.standard.number()
                ),
            }
        }
    }
}

/// The pump of a line.
#[derive(Clone, Debug)]
pub struct Pump {
    /// Its statement.
    pub place: Place,
    /// Its tilt in rad, outlet up positive, where stated.
    pub tilt: Option<Interval>,
    /// The tilts its sheet allows: lowest and highest in rad, with the sheet's statement.
    pub band: Option<(Quantity, Limit)>,
}

/// One side of the pump.
#[derive(Clone, Debug)]
pub struct Side {
    /// Its length in m.
    pub length: Interval,
    /// Its net rise in m, the way the fuel flows; `None` where a rise is not stated.
    pub rise: Option<Interval>,
    /// Where its longest leg is.
    pub longest_leg: Place,
    /// Where its steepest leg is.
    pub highest_leg: Place,
    /// Column and friction at mean flow in Pa; `None` where a bore, a rise or the rate is not known.
    pub pressure: Option<SidePressure>,
    /// The longest it may be.
    pub longest: Option<Limit>,
    /// The most it may rise.
    pub most_rise: Option<Limit>,
    /// The most pressure its pump can make there.
    pub most_pressure: Option<Limit>,
    /// The unit to read pressures in: the sheet's.
    pub pressure_unit: &'static Unit,
}

/// What the pump has to make on one side.
#[derive(Clone, Copy, Debug)]
pub struct SidePressure {
    /// Friction at the worst end of the stated doubts, mean flow at the highest rate, in Pa.
    pub friction: f64,
    /// Column and friction with everything as meant, in Pa.
    pub as_meant: f64,
    /// Column and friction at the worst end, in Pa.
    pub worst: f64,
    /// The most while a stroke lasts, in Pa, in a line that does not give. Before the pump it is no limit's match: fuel
    /// that is drawn too hard lets gas go instead.
    pub while_a_stroke_lasts: Option<f64>,
}

/// A part of the line in which gas can gather.
#[derive(Clone, Debug)]
pub struct WidePart {
    /// The statement of its bore.
    pub place: Place,
    /// Its bore in m.
    pub bore: f64,
    /// The unit of the bore.
    pub unit: &'static Unit,
    /// How much of it lies level or falls, in m.
    pub lies: f64,
    /// High points in it: places where it rises and then falls.
    pub high_points: usize,
}

/// One fuel line.
#[derive(Clone, Debug)]
pub struct FuelLine {
    /// The number of its run.
    pub run: usize,
    /// The number of its tank, where known.
    pub tank: Option<usize>,
    /// Its fuel; `None` where neither tank nor sheet says.
    pub fuel: Option<FuelTaken>,
    /// Its pump.
    pub pump: Option<Pump>,
    /// Whether its sheet speaks of a pump in the line.
    pub needs_pump: bool,
    /// Whether nothing that was not understood could hide a pump.
    pub whole: bool,
    /// From tank to pump.
    pub suction: Option<Side>,
    /// From pump to heater.
    pub pressure: Option<Side>,
    /// What it holds, m³, where every length and bore is stated.
    pub holds: Option<f64>,
    /// How far the top of the tank, or where its size is not stated the place it is drawn from, lies above the pump, m.
    pub tank_above_pump: Option<f64>,
    /// Bore above which a bubble rises by itself, in m.
    pub critical_bore: Option<f64>,
    /// Parts wider than that which lie level or fall.
    pub wide: Vec<WidePart>,
    /// The unit its author measured in.
    pub unit: &'static Unit,
}

/// A class as a reader says it.
pub fn class_in_words(class: ClimateClass) -> &'static str {
    match class {
        ClimateClass::A => "EN 590 class A",
        ClimateClass::B => "EN 590 class B",
        ClimateClass::C => "EN 590 class C",
        ClimateClass::D => "EN 590 class D",
        ClimateClass::E => "EN 590 class E",
        ClimateClass::F => "EN 590 class F",
        ClimateClass::Arctic0 => "EN 590 arctic class 0",
        ClimateClass::Arctic1 => "EN 590 arctic class 1",
        ClimateClass::Arctic2 => "EN 590 arctic class 2",
        ClimateClass::Arctic3 => "EN 590 arctic class 3",
        ClimateClass::Arctic4 => "EN 590 arctic class 4",
    }
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    for (number, run) in job.runs.iter().enumerate().filter(|(_, run)| run.kind == Kind::FuelLine) {
        let line = Building::new(job, number, run).build(figures);
        figures.fuel_lines.push(line);
    }
}

/// What the figures of one line are made from.
struct Building<'a> {
    job: &'a Job,
    number: usize,
    run: &'a Run,
    sheet: SheetOf<'a>,
    unit: &'static Unit,
    fuel: Option<FuelTaken>,
    /// Highest rate and its place.
    rate: Option<(VolumeFlow, VolumeFlow, Place)>,
    /// Places that say how thick the fuel is.
    fuel_places: Vec<Place>,
}

/// A leg and the bore it is laid in.
struct Piece<'a> {
    stretch: &'a Stretch,
    tube: Option<&'a Fact<Quantity>>,
}

impl<'a> Building<'a> {
    fn new(job: &'a Job, number: usize, run: &'a Run) -> Building<'a> {
        let sheet = sheet_of(job, run.heater);
        let tank = match run.start {
            Start::Tank(tank) => job.tanks.get(tank),
            _ => None,
        };
        let rate = match sheet {
            SheetOf::Is(sheet) => sheet.fuel_rate.fact().map(|rate| {
                let flow = VolumeFlow::cubic_metres_per_second;
                (flow(rate.value.low), flow(rate.value.high), rate.written)
            }),
            _ => None,
        };
        let fuel = fuel_of(job, tank, sheet);
        let mut fuel_places: Vec<Place> =
            job.conditions.design_cold.fact().map(|fact| fact.written).into_iter().collect();
        fuel_places.extend(tank.and_then(|tank| tank.grade.place().or(tank.fuel.place())));
        Building { job, number, run, sheet, unit: unit_or(run.walk.unit, "m"), fuel, rate, fuel_places }
    }

    /// Says of a grade without a class that its cold is nobody's knowledge.
    fn grade_known(&self, figures: &mut Figures) {
        let Some(fuel) = &self.fuel else { return };
        let (Some(grade), Some(Cold { class: None, plugs_by: Whose::CommonPractice, .. })) = (&fuel.grade, &fuel.cold)
        else {
            return;
        };
        let standard = grade_named(grade.value).map_or("", |grade| grade.standard.number());
        let because = if DIESEL_BLENDS.contains(&grade.value) {
            format!(
                "`{}` says what the fuel is made of, not how cold it may get: {standard} leaves that to the class, as in `{0}, class-F`",
                grade.value,
            )
        } else {
            format!("{standard} sets no cloud point for `{}`: state it, as in `{0}, cloud -18 °C`", grade.value)
        };
        self.missing(figures, "cold at which the fuel plugs a filter", &because);
    }

    fn build(&self, figures: &mut Figures) -> FuelLine {
        self.grade_known(figures);
        let reads = self.job.reads(self.run);
        let at = self.run.steps.iter().position(|step| matches!(step.met, Met::Pump(_)));
        let steps = self.run.steps.len();
        let pump = at.and_then(|at| self.pump(at));
        if let Some(tilt) = pump.as_ref().and_then(|pump| pump.tilt.map(|tilt| (pump.place, tilt))) {
            figures.list.push(|| self.tilt_figure(&reads, tilt));
        }
        let (suction, pressure) = match at {
            Some(at) => (self.side(figures, true, 0..at), self.side(figures, false, at..steps)),
            None => {
                self.missing(figures, "suction and pressure side", "no pump is stated in the line");
                (None, None)
            }
        };
        let holds = self.holds(figures, &reads);
        let tank_above_pump = at.and_then(|at| self.tank_above_pump(at, suction.as_ref()));
        let critical_bore = self.critical_bore(figures, &reads);
        let (needs_pump, whole) = (
            match self.sheet {
                SheetOf::Is(sheet) => {
                    sheet.suction_limit.is_some()
                        || sheet.pressure_limit.is_some()
                        || sheet.pump_tilt.fact().is_some()
                        || sheet.dose.fact().is_some()
                }
                _ => false,
            },
            !self.run.steps.iter().any(|step| matches!(step.met, Met::Gap)),
        );
        FuelLine {
            run: self.number,
            tank: match self.run.start {
                Start::Tank(tank) => Some(tank),
                _ => None,
            },
            fuel: self.fuel.clone(),
            pump,
            needs_pump,
            whole,
            suction,
            pressure,
            holds,
            tank_above_pump,
            critical_bore,
            wide: critical_bore.map_or(Vec::new(), |critical| self.wide_parts(critical)),
            unit: self.unit,
        }
    }

    fn pump(&self, at: usize) -> Option<Pump> {
        let step = self.run.steps.get(at)?;
        let Met::Pump(tilt) = step.met else { return None };
        let band = match self.sheet {
            SheetOf::Is(sheet) => sheet.pump_tilt.fact().map(|band| {
                let limit = Limit {
                    value: band.value.low,
                    whose: Whose::Sheet(sheet.name.clone()),
                    place: Some(band.written),
                    unit: band.value.unit,
                };
                (band.value, limit)
            }),
            _ => None,
        };
        Some(Pump { place: step.place, tilt, band })
    }

    fn tank_above_pump(&self, at: usize, suction: Option<&Side>) -> Option<f64> {
        let tank = match self.run.start {
            Start::Tank(tank) => self.job.tanks.get(tank)?,
            _ => return None,
        };
        let pump = self.run.walk.after.get(at).copied().flatten();
        match (tank.area, pump) {
            (Some((area, _)), Some(pump)) => Some(area.high().z - pump.point.z),
            _ => suction.and_then(|side| side.rise).map(|rise| -rise.nominal),
        }
    }

    fn tilt_figure(&self, reads: &str, (place, tilt): (Place, Interval)) -> Figure {
        Figure {
            name: "pump_tilt",
            section: Section::Fuel,
            subject: self.run.header,
            title: format!("tilt of the pump of {reads}, outlet up"),
            case: "",
            value: tilt.low,
            unit: unit_or(None, "°"),
            rests_on: vec![place],
            working: vec![Step {
                what: "tilt from level, at the low end of its tolerance",
                formula: "as stated",
                inputs: Vec::new(),
                result: tilt.low,
                unit: "°",
                source: "the job",
            }],
        }
    }

    /// Stretches among the steps, each with the bore it is laid in.
    fn pieces(&self, steps: Range<usize>) -> Vec<Piece<'a>> {
        let mut tube = None;
        let mut stretches = self.run.walk.stretches.iter().peekable();
        let mut pieces = Vec::with_capacity(self.run.walk.stretches.len());
        for (number, step) in self.run.steps.iter().enumerate() {
            if let Met::Tube(laid) = &step.met {
                tube = laid.bore.fact();
            }
            while let Some(stretch) = stretches.next_if(|stretch| stretch.step == number) {
                if steps.contains(&number) {
                    pieces.push(Piece { stretch, tube });
                }
            }
        }
        pieces
    }

    fn missing(&self, figures: &mut Figures, what: &str, because: &str) {
        figures.missing.push(Unjudged {
            section: Section::Fuel,
            subject: self.run.header,
            title: format!("{what} of {}", self.job.reads(self.run)),
            because: because.to_string(),
        });
    }

    fn side(&self, figures: &mut Figures, suction: bool, steps: Range<usize>) -> Option<Side> {
        let reads = self.job.reads(self.run);
        let (side, from_to) =
            if suction { ("suction side", "tank to pump") } else { ("pressure side", "pump to heater") };
        if !unbroken(self.run, steps.clone()) {
            self.missing(figures, side, "a length on the way is still blank, or is not understood");
            return None;
        }
        let pieces = self.pieces(steps.clone());
        let length_of = |piece: &&Piece<'a>| piece.stretch.length.high;
        let longest_leg = pieces.iter().max_by(|one, other| length_of(one).total_cmp(&length_of(other)))?.stretch.place;
        let rise_of = |piece: &&Piece<'a>| piece.stretch.rise.map_or(f64::NEG_INFINITY, |rise| rise.high);
        let highest_leg = pieces.iter().max_by(|one, other| rise_of(one).total_cmp(&rise_of(other)))?.stretch.place;
        let (length, rise) = self.run.walk.between(steps);
        let legs: Vec<(Interval, Place)> =
            pieces.iter().map(|piece| (piece.stretch.length, piece.stretch.place)).collect();
        let places: Vec<Place> = legs.iter().map(|(_, place)| *place).collect();
        figures.list.push(|| Figure {
            name: if suction { "suction_length" } else { "pressure_length" },
            section: Section::Fuel,
            subject: self.run.header,
            title: format!("length from {from_to}, {reads}"),
            case: "",
            value: length.high,
            unit: length_unit(self.unit, length.high),
            rests_on: places.clone(),
            working: vec![sum_of_legs(&legs)],
        });
        match rise {
            Some(rise) => figures.list.push(|| Figure {
                name: if suction { "suction_lift" } else { "delivery_lift" },
                section: Section::Fuel,
                subject: self.run.header,
                title: format!("net rise from {from_to}, {reads}"),
                case: "",
                value: rise.high,
                unit: length_unit(self.unit, rise.high),
                rests_on: places.clone(),
                working: vec![rise_step(&pieces, rise)],
            }),
            None => self.missing(figures, if suction { "lift" } else { "delivery lift" }, "a `run` states no rise"),
        }
        let pressure = match self.pressure(figures, suction, &pieces, rise, places) {
            Ok(pressure) => Some(pressure),
            Err(because) => {
                self.missing(figures, if suction { "suction" } else { "delivery pressure" }, because);
                None
            }
        };
        let (longest, most_rise, most_pressure) = self.limits(suction);
        let pressure_unit = self.pressure_unit(suction);
        Some(Side {
            length,
            rise,
            longest_leg,
            highest_leg,
            pressure,
            longest,
            most_rise,
            most_pressure,
            pressure_unit,
        })
    }

    fn pressure_unit(&self, suction: bool) -> &'static Unit {
        let stated = match self.sheet {
            SheetOf::Is(sheet) if suction => sheet.suction_pressure.get(),
            SheetOf::Is(sheet) => sheet.delivery_pressure.get(),
            _ => None,
        };
        unit_or(stated.map(|quantity| quantity.unit), "kPa")
    }

    /// Length, rise and pressure that one side may have: the sheet's, else common practice.
    fn limits(&self, suction: bool) -> (Option<Limit>, Option<Limit>, Option<Limit>) {
        let petrol = matches!(self.fuel, Some(FuelTaken { fuel: Fuel::Petrol, .. }));
        // Common practice, no source: suction side 2 m, lift 1 m (petrol 0.5 m); pressure side 6 m, heater 2 m above the pump.
        let (length, lift) = match (suction, petrol) {
            (true, false) => (2.0, 1.0),
            (true, true) => (2.0, 0.5),
            (false, _) => (6.0, 2.0),
        };
        let practice = |value| Some(Limit::common_practice(value, "m"));
        match self.sheet {
            SheetOf::NotKnown => (None, None, None),
            SheetOf::NotNamed => (practice(length), practice(lift), None),
            SheetOf::Is(sheet) => {
                let limit = if suction { &sheet.suction_limit } else { &sheet.pressure_limit };
                let stated: Option<&WayLimit> = limit.as_ref();
                let of = |quantity: Quantity, place: Place| {
                    Some(Limit {
                        value: quantity.nominal,
                        whose: Whose::Sheet(sheet.name.clone()),
                        place: Some(place),
                        unit: quantity.unit,
                    })
                };
                let pressure = if suction { &sheet.suction_pressure } else { &sheet.delivery_pressure };
                (
                    stated
                        .and_then(|stated| of(stated.length.value, stated.length.written))
                        .or_else(|| practice(length)),
                    stated
                        .and_then(|stated| stated.lift.and_then(|lift| of(lift.value, lift.written)))
                        .or_else(|| practice(lift)),
                    pressure.fact().and_then(|fact| of(fact.value, fact.written)),
                )
            }
        }
    }

    fn pressure(
        &self,
        figures: &mut Figures,
        suction: bool,
        pieces: &[Piece<'a>],
        rise: Option<Interval>,
        mut places: Vec<Place>,
    ) -> Result<SidePressure, &'static str> {
        let fuel = self.fuel.as_ref().ok_or("neither the tank nor the data sheet says which fuel it is")?;
        match fuel.standard {
            Some(DieselStandard::En14214) => {
                return Err("the tables do not say how thick fatty acid ester is in the cold");
            }
            Some(DieselStandard::En15940) => {
                return Err("the tables do not say how thick paraffinic fuel is in the cold");
            }
            Some(DieselStandard::En16709) => {
                return Err("the tables do not say how thick diesel with 20 % of ester or more is in the cold");
            }
            Some(DieselStandard::En590 | DieselStandard::En16734 | DieselStandard::AstmD975) | None => {}
        }
        let (_, flow, rate_place) = self.rate.ok_or("no data sheet states the fuel rate")?;
        let rise = rise.ok_or("a `run` states no rise")?;
        let (mut working, density, viscosity) = fuel_steps(fuel);
        let (mut friction, mut friction_as_meant) = (0.0, 0.0);
        for (bore, length) in by_bore(pieces) {
            let bore = bore.ok_or("a bore is not stated")?;
            let loss = |length: f64, bore: f64| {
                laminar_pressure_loss(flow, Length::metres(bore), Length::metres(length), viscosity, density)
                    .map(Pressure::in_pascals)
                    .ok_or("a bore is 0")
            };
            let worst = loss(length.high, bore.value.low)?;
            friction += worst;
            friction_as_meant += loss(length.nominal, bore.value.nominal)?;
            working.push(friction_step(
                "friction in this bore, at mean flow and the highest rate",
                (flow, bore.value.low, length.high),
                (viscosity, density),
                worst,
            ));
            places.extend([bore.written, bore.used]);
        }
        let column = |rise: f64| static_head(Length::metres(rise), density).in_pascals();
        let worst = column(rise.high) + friction;
        working.push(Step {
            what: "height of the fuel column, and friction",
            formula: "p = ρ · g · h + Σ Δp",
            inputs: vec![
                input("ρ", density.in_kilograms_per_cubic_metre(), "kg/m³"),
                input("g", crate::physics::fuel::STANDARD_GRAVITY, "m/s²"),
                input("h", rise.high, "mm"),
                input("Σ Δp", friction, "kPa"),
            ],
            result: worst,
            unit: self.pressure_unit(suction).spelling,
            source: "hydrostatics; g of the 3rd CGPM",
        });
        places.push(rate_place);
        places.extend(&self.fuel_places);
        places.sort();
        places.dedup();
        let reads = self.job.reads(self.run);
        figures.list.push(|| Figure {
            name: if suction { "suction" } else { "delivery_pressure" },
            section: Section::Fuel,
            subject: self.run.header,
            title: format!(
                "{} the pump of {reads}, mean flow",
                if suction { "suction before" } else { "pressure behind" }
            ),
            case: "cold start",
            value: worst,
            unit: self.pressure_unit(suction),
            rests_on: places.clone(),
            working,
        });
        let while_a_stroke_lasts = self.stroke(figures, suction, pieces, fuel, column(rise.high), places);
        Ok(SidePressure { friction, as_meant: column(rise.nominal) + friction_as_meant, worst, while_a_stroke_lasts })
    }

    /// The bound on the pressure while a stroke lasts.
    fn stroke(
        &self,
        figures: &mut Figures,
        suction: bool,
        pieces: &[Piece<'a>],
        fuel: &FuelTaken,
        column: f64,
        mut places: Vec<Place>,
    ) -> Option<f64> {
        let dose = match self.sheet {
            SheetOf::Is(sheet) => sheet.dose.fact(),
            _ => None,
        };
        let Some(dose) = dose else {
            if !suction {
                self.missing(figures, "pressure while a stroke lasts", "no data sheet states the pump's dose");
            }
            return None;
        };
        let flow = peak_flow(Volume::cubic_metres(dose.value.high), Time::seconds(STROKE_TIME))?;
        let (mut working, density, viscosity) = fuel_steps(fuel);
        working.push(Step {
            what: "flow while a stroke lasts",
            formula: "Q = V / t",
            inputs: vec![input("V", dose.value.high, "mL"), input("t", STROKE_TIME * 1e3, "ms")],
            result: flow.in_cubic_metres_per_second(),
            unit: "L/h",
            source: "continuity; a stroke of 30 ms is common practice, no source",
        });
        let mut friction = 0.0;
        for (bore, length) in by_bore(pieces) {
            let (bore, length) = (bore?.value.low, length.high);
            let loss = laminar_pressure_loss(flow, Length::metres(bore), Length::metres(length), viscosity, density)?;
            friction += loss.in_pascals();
            working.push(friction_step(
                "friction in this bore while a stroke lasts, in a line that does not give",
                (flow, bore, length),
                (viscosity, density),
                loss.in_pascals(),
            ));
        }
        working.push(Step {
            what: "height of the fuel column, and friction: an upper bound, because the line and every bubble in it give",
            formula: "p = ρ · g · h + Σ Δp",
            inputs: vec![input("ρ · g · h", column, "kPa"), input("Σ Δp", friction, "kPa")],
            result: column + friction,
            unit: self.pressure_unit(suction).spelling,
            source: "hydrostatics",
        });
        places.push(dose.written);
        figures.list.push(|| Figure {
            name: if suction { "suction_pulse_bound" } else { "pulse_pressure_bound" },
            section: Section::Fuel,
            subject: self.run.header,
            title: format!(
                "{} the pump of {} while a stroke lasts, at most",
                if suction { "suction before" } else { "pressure behind" },
                self.job.reads(self.run)
            ),
            case: "cold start",
            value: column + friction,
            unit: self.pressure_unit(suction),
            rests_on: places,
            working,
        });
        Some(column + friction)
    }

    /// What the line holds, the strokes to fill it, and how long fuel is on the way.
    fn holds(&self, figures: &mut Figures, reads: &str) -> Option<f64> {
        let pieces = self.pieces(0..self.run.steps.len());
        if pieces.is_empty() {
            return None;
        }
        if !unbroken(self.run, 0..self.run.steps.len()) || pieces.iter().any(|piece| piece.tube.is_none()) {
            self.missing(figures, "volume to prime", "a length or a bore on the way is not stated");
            return None;
        }
        let mut working = Vec::with_capacity(pieces.len() + 2);
        let mut places = Vec::with_capacity(pieces.len() * 2);
        let mut volume = Volume::ZERO;
        places.extend(pieces.iter().map(|piece| piece.stretch.place));
        for (tube, length) in by_bore(&pieces).into_iter().filter_map(|(tube, length)| tube.map(|tube| (tube, length)))
        {
            let (width, length) = (tube.value.high, length.high);
            let held = bore::volume(Length::metres(width), Length::metres(length));
            volume = volume + held;
            places.push(tube.written);
            working.push(Step {
                what: "fuel that this bore holds",
                formula: "V = π/4 · D² · L",
                inputs: vec![input("D", width, "mm"), input("L", length, "m")],
                result: held.in_cubic_metres(),
                unit: "mL",
                source: "geometry",
            });
        }
        working.push(Step {
            what: "fuel that the line holds, all of which has to be primed",
            formula: "V = Σ V",
            inputs: Vec::new(),
            result: volume.in_cubic_metres(),
            unit: "mL",
            source: "geometry",
        });
        if let SheetOf::Is(sheet) = self.sheet
            && let Some(dose) = sheet.dose.fact().filter(|dose| dose.value.nominal > 0.0)
        {
            working.push(Step {
                what: "strokes to fill it, if none is lost",
                formula: "n = V / V₁",
                inputs: vec![input("V", volume.in_cubic_metres(), "mL"), input("V₁", dose.value.nominal, "mL")],
                result: volume.in_cubic_metres() / dose.value.nominal,
                unit: "",
                source: "continuity",
            });
            places.push(dose.written);
        }
        let figure = |name, title, value, unit, rests_on, working| Figure {
            name,
            section: Section::Fuel,
            subject: self.run.header,
            title,
            case: "",
            value,
            unit: unit_or(None, unit),
            rests_on,
            working,
        };
        places.sort();
        places.dedup();
        let title = format!("volume to prime, {reads}");
        figures.list.push(|| figure("volume_to_prime", title, volume.in_cubic_metres(), "mL", places.clone(), working));
        let Some((slowest, _, rate_place)) = self.rate.filter(|(slowest, _, _)| *slowest > VolumeFlow::ZERO) else {
            self.missing(figures, "time on the way", "no data sheet states the fuel rate");
            return Some(volume.in_cubic_metres());
        };
        let time = volume.in_cubic_metres() / slowest.in_cubic_metres_per_second();
        places.push(rate_place);
        let step = Step {
            what: "time from tank to heater at the lowest rate",
            formula: "t = V / Q",
            inputs: vec![
                input("V", volume.in_cubic_metres(), "mL"),
                input("Q", slowest.in_cubic_metres_per_second(), "L/h"),
            ],
            result: time,
            unit: "min",
            source: "continuity, mean velocity",
        };
        let title = format!("time of fuel on the way, {reads}, lowest rate");
        figures.list.push(|| figure("transit_time", title, time, "min", places, vec![step]));
        Some(volume.in_cubic_metres())
    }

    fn critical_bore(&self, figures: &mut Figures, reads: &str) -> Option<f64> {
        let fuel = self.fuel.as_ref()?;
        // At 20 °C: the surface tension is known there, and thinner warm fuel lets a bubble rise more easily.
        let liquid = density(fuel.fuel, Temperature::celsius(20.0));
        let tension = surface_tension(fuel.fuel);
        let critical = critical_bubble_bore(liquid, Density::kilograms_per_cubic_metre(AIR_DENSITY), tension)?;
        figures.list.push(|| Figure {
            name: "critical_bubble_bore",
            section: Section::Fuel,
            subject: self.run.header,
            title: format!("widest bore that carries every bubble along, {reads}"),
            case: "",
            value: critical.in_metres(),
            unit: unit_or(None, "mm"),
            rests_on: self.tubes().map(|(place, _)| place).collect(),
            working: vec![Step {
                what: "bore in which a long bubble just does not rise by itself",
                formula: "D = 2 · √(0.842 · σ / ((ρ − ρ_air) · g))",
                inputs: vec![
                    input("σ", tension.in_newtons_per_metre() * 1e3, "mN/m"),
                    input("ρ", liquid.in_kilograms_per_cubic_metre(), "kg/m³"),
                    input("ρ_air", AIR_DENSITY, "kg/m³"),
                    input("g", crate::physics::fuel::STANDARD_GRAVITY, "m/s²"),
                ],
                result: critical.in_metres(),
                unit: "mm",
                source: "Bretherton 1961, J. Fluid Mech. 10, 166; surface tension a handbook value, from memory",
            }],
        });
        Some(critical.in_metres())
    }

    /// Statements of a bore, in order.
    fn tubes(&self) -> impl Iterator<Item = (Place, &'a Stated<Quantity>)> + use<'a> {
        self.run.steps.iter().filter_map(|step| match &step.met {
            Met::Tube(tube) => Some((step.place, &tube.bore)),
            _ => None,
        })
    }

    fn wide_parts(&self, critical: f64) -> Vec<WidePart> {
        let mut parts = Vec::new();
        let mut open: Option<WidePart> = None;
        let mut rose = false;
        let mut stretches = self.run.walk.stretches.iter().peekable();
        for (number, step) in self.run.steps.iter().enumerate() {
            if let Met::Tube(tube) = &step.met {
                parts.extend(open.take());
                open = tube.bore.get().filter(|bore| bore.nominal > critical).map(|bore| WidePart {
                    place: step.place,
                    bore: bore.nominal,
                    unit: bore.unit,
                    lies: 0.0,
                    high_points: 0,
                });
                rose = false;
            }
            while let Some(stretch) = stretches.next_if(|stretch| stretch.step == number) {
                let lies = stretch.rise.is_some_and(|rise| rise.nominal <= LEVEL * stretch.length.nominal);
                let Some(part) = open.as_mut() else { continue };
                if lies {
                    part.lies += stretch.length.nominal;
                }
                match stretch.rise.map(|rise| rise.nominal) {
                    Some(rise) if rise > LEVEL * stretch.length.nominal => rose = true,
                    // Gas that has risen into a high point stays there once the line falls by more than a bore or two.
                    Some(rise) if rose && rise < -FALLS_AWAY => {
                        part.high_points += 1;
                        rose = false;
                    }
                    _ => {}
                }
            }
        }
        parts.extend(open);
        parts
    }
}

fn fuel_of(job: &Job, tank: Option<&Tank>, sheet: SheetOf<'_>) -> Option<FuelTaken> {
    let burns = match sheet {
        SheetOf::Is(sheet) => sheet.burns.get().copied(),
        _ => None,
    };
    let grade = tank.and_then(|tank| tank.grade.fact()).copied();
    let burnt = tank.and_then(|tank| tank.fuel.get().copied()).or(burns)?;
    let known = grade.as_ref().filter(|_| burnt == "diesel").and_then(|grade| grade_named(grade.value));
    let stated = tank.and_then(|tank| tank.cold_class.get()).and_then(|class| grade_named(class));
    let cloud_point = tank.and_then(|tank| tank.cloud_point.get()).copied();
    let bears = known.map(|grade| cold_of(grade, stated.map(|stated| stated.class), cloud_point));
    let class = bears.as_ref().and_then(|cold| cold.class);
    let fuel = match burnt {
        "petrol" => Fuel::Petrol,
        _ => Fuel::Diesel(class.or(known.map(|grade| grade.class)).unwrap_or(CLASS_WITHOUT_A_WORD)),
    };
    let cold = job.conditions.design_cold.get();
    let temperature = cold.map_or(Temperature::celsius(DEFAULT_COLD), |cold| Temperature::kelvin(cold.low));
    let cold_unit = unit_or(cold.map(|cold| cold.unit), "°C");
    let standard = known.map(|grade| grade.standard);
    Some(FuelTaken { fuel, class, grade, standard, cold: bears, temperature, cold_stated: cold.is_some(), cold_unit })
}

/// Density and viscosity at the design cold, with their steps.
fn fuel_steps(fuel: &FuelTaken) -> (Vec<Step>, Density, KinematicViscosity) {
    let density = density(fuel.fuel, fuel.temperature);
    let viscosity = kinematic_viscosity(fuel.fuel, fuel.temperature);
    let temperature: Input = input("T", fuel.temperature.in_kelvin(), "°C");
    let steps = vec![
        Step {
            what: if fuel.cold_stated {
                "density of the fuel at the design cold"
            } else {
                "density of the fuel; the job states no design cold, so -20 °C is assumed"
            },
            formula: "ρ = ρ₁₅ · exp(-α · Δ · (1 + 0.8 · α · Δ)), Δ = T − 15 °C",
            inputs: vec![temperature],
            result: density.in_kilograms_per_cubic_metre(),
            unit: "kg/m³",
            source: "API MPMS chapter 11.1 / ASTM D1250 (constants from memory)",
        },
        Step {
            what: match (fuel.fuel, fuel.class, &fuel.grade) {
                (Fuel::Petrol, ..) => "viscosity of petrol",
                (_, Some(class), _) => viscosity_of(class),
                (_, None, Some(_)) => "viscosity; the grade names no class of EN 590, so class B is assumed",
                (_, None, None) => "viscosity; no grade is stated, so EN 590 class B is assumed",
            },
            formula: match fuel.fuel {
                Fuel::Petrol => "ν = 0.603 mm²/s · exp(872 K · (1/T − 1/293.15 K))",
                Fuel::Diesel(_) => "log₁₀(ν + 0.7) = log₁₀(ν₄₀ + 0.7) · (313.15 K / T)^3.90",
            },
            inputs: vec![temperature],
            result: viscosity.in_square_millimetres_per_second(),
            unit: "mm²/s",
            source: "ASTM D341, for fuel that is still clear; typical values from memory",
        },
    ];
    (steps, density, viscosity)
}

fn viscosity_of(class: ClimateClass) -> &'static str {
    match class {
        ClimateClass::A | ClimateClass::B | ClimateClass::C => "viscosity, EN 590 classes A to C",
        ClimateClass::D | ClimateClass::E | ClimateClass::F => "viscosity, EN 590 classes D to F",
        _ => "viscosity, EN 590 arctic classes",
    }
}

/// Legs in a row of one bore, taken together.
fn by_bore<'a>(pieces: &[Piece<'a>]) -> Vec<(Option<&'a Fact<Quantity>>, Interval)> {
    let mut parts: Vec<(Option<&Fact<Quantity>>, Interval)> = Vec::new();
    for piece in pieces {
        match parts.last_mut() {
            Some((tube, length)) if *tube == piece.tube => *length = length.plus(piece.stretch.length),
            _ => parts.push((piece.tube, piece.stretch.length)),
        }
    }
    parts
}

fn rise_step(pieces: &[Piece<'_>], rise: Interval) -> Step {
    let rises = pieces.iter().filter_map(|piece| piece.stretch.rise).filter(|rise| rise.high != 0.0);
    Step {
        what: "net rise, each leg at its high end",
        formula: "h = Σ rise",
        inputs: rises.map(|rise| input("rise", rise.high, "mm")).collect(),
        result: rise.high,
        unit: "mm",
        source: "geometry",
    }
}

fn friction_step(
    what: &'static str,
    (flow, bore, length): (VolumeFlow, f64, f64),
    (viscosity, density): (KinematicViscosity, Density),
    result: f64,
) -> Step {
    Step {
        what,
        formula: "Δp = 128 · ρ · ν · L · Q / (π · D⁴)",
        inputs: vec![
            input("ρ", density.in_kilograms_per_cubic_metre(), "kg/m³"),
            input("ν", viscosity.in_square_millimetres_per_second(), "mm²/s"),
            input("L", length, "m"),
            input("Q", flow.in_cubic_metres_per_second(), "L/h"),
            input("D", bore, "mm"),
        ],
        result,
        unit: "kPa",
        source: "laminar: Hagen-Poiseuille (White, Fluid Mechanics, eq. 6.12), below Re 2040",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Reading;
    use crate::source::{FileId, NoFiles};
    use std::sync::Arc;

    /// The figures of a line of these statements, on a small invented sheet, at -20 °C.
    fn figures(line: &str) -> Figures {
        let text = format!(
            "trialfit 1\n\njob \"one line\"\n  design-cold   -20 °C\n\ntank main\n  fuel          diesel class-F\n  holds         60 L\n  reserve       10 L\n\n\
             datasheet heater small\n  burns         diesel\n  fuel-rate     0.1 L/h .. 0.5 L/h\n  dose          0.03 mL\n  \
             stage         ignition, 8 A, 40 s\n\n\
             heater one\n  datasheet     small\n\nfuel-line of one\n  from          main\n{line}  ends          at one\n"
        );
        let job = Job::resolve(FileId(0), Arc::new(Reading::new(text.into())), &NoFiles);
        Figures::with_working(&job)
    }

    fn value(figures: &Figures, name: &str) -> Option<f64> {
        figures.list.iter().find(|figure| figure.name == name).map(|figure| figure.value)
    }

    fn close(one: f64, other: f64) -> bool {
        (one - other).abs() <= 1e-9 * one.abs().max(other.abs())
    }

    /// Friction by the Darcy-Weisbach equation with f = 64/Re (White, Fluid Mechanics, eqs. 6.10 and 6.13): another road to
    /// the same loss than the one taken above. Lengths in m, flow in L/h.
    fn darcy_weisbach(flow: f64, parts: &[(f64, f64)]) -> f64 {
        let fuel = Fuel::Diesel(ClimateClass::F);
        let cold = Temperature::celsius(-20.0);
        let density = density(fuel, cold).in_kilograms_per_cubic_metre();
        let viscosity = kinematic_viscosity(fuel, cold).in_square_metres_per_second();
        let flow = flow * 1e-3 / 3600.0;
        let loss = |(bore, length): &(f64, f64)| {
            let speed = flow / (std::f64::consts::PI * bore * bore / 4.0);
            let reynolds = speed * bore / viscosity;
            64.0 / reynolds * length / bore * density * speed * speed / 2.0
        };
        parts.iter().map(loss).sum()
    }

    fn column(rise: f64) -> f64 {
        density(Fuel::Diesel(ClimateClass::F), Temperature::celsius(-20.0)).in_kilograms_per_cubic_metre()
            * 9.80665
            * rise
    }

    #[test]
    fn each_side_is_its_column_and_the_friction_of_each_bore_at_the_worst_end() {
        let figures = figures(
            "  line          3 mm\n  run           400 mm ± 50 mm, up 200 mm ± 20 mm\n  line          2 mm\n  run           600 mm, down 50 mm\n  \
             pump          outlet up 20°\n  run           2 m, up 300 mm\n  line          1.5 mm\n  run           1 m ± 0.1 m, up 0 mm\n",
        );
        let suction = value(&figures, "suction").expect("all inputs are stated");
        let expected = column(0.17) + darcy_weisbach(0.5, &[(0.003, 0.45), (0.002, 0.6)]);
        assert!(close(suction, expected), "{suction} {expected}");
        let delivery = value(&figures, "delivery_pressure").expect("all inputs are stated");
        let expected = column(0.3) + darcy_weisbach(0.5, &[(0.002, 2.0), (0.0015, 1.1)]);
        assert!(close(delivery, expected), "{delivery} {expected}");
        // 0.03 mL in 30 ms is 3.6 L/h while it lasts.
        let bound = value(&figures, "pulse_pressure_bound").expect("the dose is stated");
        let expected = column(0.3) + darcy_weisbach(3.6, &[(0.002, 2.0), (0.0015, 1.1)]);
        assert!(close(bound, expected), "{bound} {expected}");
        assert!(figures.missing.is_empty(), "{:?}", figures.missing);
    }

    #[test]
    fn a_line_of_known_width_holds_and_delays_what_geometry_says() {
        let figures = figures(
            "  line          2 mm\n  run           1 m, up 0 mm\n  pump          level\n  run           3 m, up 0 mm\n",
        );
        // π/4 · (2 mm)² · 4 m = 12.566 mL, on the way for 12.566 mL / 0.1 L/h = 452.4 s.
        assert!((value(&figures, "volume_to_prime").expect("stated") - 12.566e-6).abs() < 1e-9);
        assert!((value(&figures, "transit_time").expect("stated") - 452.39).abs() < 0.01);
    }

    #[test]
    fn what_nobody_states_is_missing_with_its_reason_and_never_taken_as_nothing() {
        let rises = figures(
            "  line          2 mm\n  run           1 m\n  pump          level\n  run           3 m, up 100 mm\n",
        );
        assert!(value(&rises, "suction").is_none() && value(&rises, "suction_lift").is_none());
        assert!(rises.missing.iter().any(|missing| missing.because.contains("states no rise")));
        assert!(value(&rises, "delivery_pressure").is_some(), "the other side is whole");
        let bore = figures(
            "  run           1 m, up 0 mm\n  pump          level\n  line          2 mm\n  run           3 m, up 0 mm\n",
        );
        assert!(value(&bore, "suction").is_none() && value(&bore, "volume_to_prime").is_none());
        assert!(value(&bore, "suction_length").is_some());
        let torn =
            figures("  line          2 mm\n  rnu           1 m\n  pump          level\n  run           3 m, up 0 mm\n");
        assert!(value(&torn, "suction_length").is_none());
        let pump = figures("  line          2 mm\n  run           4 m, up 0 mm\n");
        assert!(pump.missing.iter().any(|missing| missing.because.contains("no pump")));
    }

    /// Plugging and cloud points in °C. Sources: EN 590 tables 2 and 3 (secondary copies); that ASTM D975 sets none by
    /// grade, from memory.
    #[test]
    fn each_grade_bears_the_cold_of_its_class_or_of_the_poorest_of_its_name() {
        let cold = |said: &str| {
            let text = format!(
                "tank main\n  fuel diesel {said}\n  holds 60 L\n\nfuel-line of reader\n  from main by standpipe\n  line 2 mm\n  run 1 m\n  pump level\n  run 1 m\n  ends at reader"
            );
            let figures = Figures::of(&crate::bench::job_with_sheets(&text, crate::rules::BENCH_SHEETS));
            let fuel = figures.fuel_lines.first().and_then(|line| line.fuel.clone()).expect("a fuel");
            let cold = fuel.cold.expect("a grade");
            (cold.plugs.in_celsius().round(), cold.clouds.map(|clouds| clouds.in_celsius().round()), cold.margin)
        };
        for (said, expected) in [
            ("class-F", (-20.0, None, 3.0)),
            ("winter-1", (-26.0, Some(-16.0), 3.0)),
            ("arctic-4", (-44.0, Some(-34.0), 3.0)),
            ("summer", (0.0, None, 3.0)),
            ("b100", (5.0, Some(5.0), 3.0)),
            ("hvo, class-2", (-32.0, Some(-22.0), 3.0)),
            ("b20, class-D, cloud -7 °C", (-10.0, Some(-7.0), 3.0)),
            ("no-2", (5.0, Some(5.0), 3.0)),
            ("no-2, cloud -18 °C ± 2 K", (-16.0, None, 0.0)),
            ("no-1", (-30.0, Some(-30.0), 3.0)),
            ("winter-1, cloud -20 °C", (-26.0, Some(-20.0), 3.0)),
        ] {
            assert_eq!(cold(said), expected, "{said}");
        }
    }

    #[test]
    fn a_stroke_draws_before_the_pump_as_it_pushes_behind_it() {
        let figures = figures(
            "  line          2 mm\n  run           1 m, up 200 mm\n  pump          level\n  run           3 m, up 0 mm\n",
        );
        let bound = value(&figures, "suction_pulse_bound").expect("the dose is stated");
        assert!(close(bound, column(0.2) + darcy_weisbach(3.6, &[(0.002, 1.0)])));
        // 50 L at 0.5 L/h are 100 h; 12.6 mL at 0.5 L/h for 40 s a try are 3 tries, so 2 starts.
        assert!(close(value(&figures, "starts_to_fill").expect("stated"), 2.0));
        let hours = figures.list.iter().find(|figure| figure.name == "hours_on_tank").map(|figure| figure.value);
        assert!(close(hours.expect("stated"), 360_000.0));
    }

    #[test]
    fn the_vocabulary_and_the_table_of_grades_know_the_same_words() {
        use crate::physics::fuel::GRADES;
        use crate::vocabulary::{COLD_CLASSES, DIESEL_GRADES};
        let known: Vec<&str> = GRADES.iter().map(|grade| grade.name).collect();
        assert_eq!(known, DIESEL_GRADES);
        for class in COLD_CLASSES {
            assert!(grade_named(class).is_some_and(|grade| grade.poorest.is_none()), "{class}");
        }
        for blend in DIESEL_BLENDS {
            let grade = grade_named(blend).expect("a grade");
            assert!(grade.poorest.is_some_and(|celsius| celsius >= 0.0), "{blend}");
        }
    }
}

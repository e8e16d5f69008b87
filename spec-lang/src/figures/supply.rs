//! The electrical supply of each heater: the voltage left at it in each stage and case, what its conductors may carry,
//! and what its fuse does. The circuit is kept as numbers, so that another conductor can be tried in it.

use super::{DEFAULT_COLD, Figure, Figures, Section, Step, Unjudged, input};
use crate::model::{Battery, Conductor, End, Fact, Fuse, Job, Met, Run, Stage, Start, Stated, unit_or};
use crate::physics::ampacity::{InsulationClass, allowable_current};
use crate::physics::battery::{
    Bank, Chemistry, current_at_power, freezing_temperature, internal_resistance, open_circuit_voltage,
};
use crate::physics::conductors::{copper_temperature_factor, resistance_per_length};
use crate::physics::fuses::cold_resistance;
use crate::source::Place;
use crate::units::{Area, Charge, Current, Power, Quantity, Resistance, Temperature, Voltage};
use crate::vocabulary::Kind;

/// Copper, battery and air at the temperature of one coherent case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Case {
    /// Design cold: a cold battery and cold copper.
    ColdStart,
    /// The warmest air: hot copper, a warm battery.
    HotSummer,
}

impl Case {
    /// The case in words.
    pub const fn title(self) -> &'static str {
        match self {
            Case::ColdStart => "cold start",
            Case::HotSummer => "hot summer",
        }
    }

    /// A pair's value in this case.
    pub const fn of(self, [cold, hot]: [f64; 2]) -> f64 {
        match self {
            Case::ColdStart => cold,
            Case::HotSummer => hot,
        }
    }
}

/// Taken where neither the cable's surroundings nor a design heat are stated: common practice, no source.
pub const DEFAULT_HOT: f64 = 40.0;
/// State of charge taken where none is stated: a battery in use, not fresh from the charger. Common practice, no source.
pub const DEFAULT_CHARGE: f64 = 0.8;
/// Lugs at the battery and the connector at the heater, out and back: common practice, no source.
pub const DEFAULT_CONTACTS: f64 = 5e-3;
/// A joint, crimp or connector whose resistance nobody states, aged: the upper end of 5 to 10 mΩ. Common practice, no source.
pub const DEFAULT_JOINT: f64 = 10e-3;
/// A fuse holder's two contacts: common practice, no source.
pub const DEFAULT_HOLDER: f64 = 2e-3;
/// The body of the vehicle as a return conductor with its two bolts: common practice, no source.
pub const CHASSIS_RETURN: f64 = 3e-3;
/// The smallest single conductor on a boat, m²: 1 mm², ISO 10133:2012 clause 7.7 (secondary copy). 16 AWG of 33 CFR 183.425
/// is a little more.
pub const LEAST_BOAT_CONDUCTOR: f64 = 1e-6;
/// Insulation taken where none is stated: class A, the lowest, of ISO 6722-1 (from memory).
pub const DEFAULT_INSULATION: f64 = 85.0;

/// A conductor of the run and the length laid in it.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Its area, m².
    pub area: f64,
    /// The size as written, or where it is to be filled.
    pub size: Stated<Quantity>,
    /// Its data sheet, where it has one.
    pub sheet: Option<String>,
    /// Resistance of a metre of one conductor at 20 °C, Ω/m.
    pub ohms_per_metre_at_20: f64,
    /// Whether the cable's data sheet states that resistance.
    pub measured: bool,
    /// Longest length one way, m.
    pub length: f64,
    /// Shortest length one way, m.
    pub shortest: f64,
    /// Where it starts, m from the start of the run.
    pub starts: f64,
    /// Insulation rating, kelvin.
    pub insulation: f64,
    /// Where the size is stated.
    pub place: Place,
    /// Whether a fuse stands before it.
    pub fused: bool,
}

/// A fuse of the run.
#[derive(Clone, Debug)]
pub struct FuseAt {
    /// Its rating, A.
    pub rating: Quantity,
    /// Cold resistance and holder, Ω.
    pub resistance: f64,
    /// Longest length of conductor between battery and fuse, m.
    pub from_battery: f64,
    /// The current its holder is built for, where stated.
    pub holder_bears: Option<Quantity>,
    /// Whether it opens by the gate of a blade fuse: it is one, or nobody says what it is.
    pub blade: bool,
    /// The statement.
    pub place: Place,
    /// Where the rating is written, where that is in the statement itself and not on a data sheet.
    pub written: Option<Place>,
}

/// Voltage left at the heater in a stage.
#[derive(Clone, Debug)]
pub struct Left {
    /// The stage.
    pub stage: &'static str,
    /// The case.
    pub case: Case,
    /// The current that its sheet states, A.
    pub stated: f64,
    /// The current it draws, A: more than stated where a controller holds the power at a lower voltage.
    pub current: f64,
    /// The power that its controller holds, W.
    pub held_power: Option<f64>,
    /// Whether its sheet says that the current is the peak of a cold glow pin.
    pub peak: bool,
    /// Voltage left, V.
    pub voltage: f64,
    /// Lost in conductors, fuse and contacts, V.
    pub lost: f64,
    /// Lost inside the battery, V.
    pub sag: f64,
    /// Whether the low-voltage trip would wait it out.
    pub waited_out: bool,
}

/// One supply.
#[derive(Clone, Debug)]
pub struct Supply {
    /// The heater's number.
    pub heater: usize,
    /// The cable's number among the runs.
    pub run: usize,
    /// The battery's number.
    pub battery: usize,
    /// Conductors in order.
    pub pieces: Vec<Piece>,
    /// Whether the current comes back by the chassis.
    pub chassis: bool,
    /// Fuses in order.
    pub fuses: Vec<FuseAt>,
    /// Joints, switches and contacts, Ω.
    pub contacts: f64,
    /// Whether the contacts are the default.
    pub default_contacts: bool,
    /// Joints whose resistance nobody states: each counts as an aged one.
    pub assumed_joints: u32,
    /// Open-circuit voltage of the battery, V.
    pub open_circuit: f64,
    /// State of charge taken, and whether the job states it.
    pub charge: (f64, bool),
    /// What the battery is made of.
    pub chemistry: Chemistry,
    /// Blocks of 12 V in series, by which one block's rest voltage is multiplied; a half where a block has 6 V.
    pub in_series: f64,
    /// Rated capacity of the whole battery at the low end of what is stated, C.
    pub capacity: f64,
    /// Internal resistance of the battery in the cases, Ω.
    pub battery_resistance: [f64; 2],
    /// Copper temperature in the cases, K.
    pub copper: [f64; 2],
    /// Whether the cold is the default.
    pub default_cold: bool,
    /// Warmest air around the cable, K, and whether the job states it.
    pub ambient: (f64, bool),
    /// Loaded conductors lying together.
    pub bundled: u32,
    /// Voltages left, by stage and case.
    pub left: Vec<Left>,
    /// The lowest voltage that the sheet allows, V.
    pub lowest: Option<Fact<Quantity>>,
    /// The voltage of the system the battery makes, V.
    pub system: f64,
    /// Temperature below which the electrolyte freezes, K, and the battery's own.
    pub freezing: Option<(f64, f64)>,
    /// The smallest conductor that a body of rules allows here, m²; only boats have one.
    pub least_area: Option<f64>,
}

impl Supply {
    /// Resistance of the conductors in a case, out and back, Ω.
    pub fn conductor_resistance(&self, case: Case) -> f64 {
        self.conductors_at(Temperature::kelvin(case.of(self.copper)))
    }

    fn conductors_at(&self, copper: Temperature) -> f64 {
        let ways = if self.chassis { 1.0 } else { 2.0 };
        self.pieces.iter().map(|piece| piece.ohms_per_metre(copper) * piece.length * ways).sum()
    }

    /// Resistance of everything between the battery's poles and the heater, Ω.
    pub fn loop_resistance(&self, case: Case) -> f64 {
        self.loop_at(Temperature::kelvin(case.of(self.copper)))
    }

    /// Resistance of everything between the battery's poles and the heater with copper of a temperature, Ω.
    pub fn loop_at(&self, copper: Temperature) -> f64 {
        let back = if self.chassis { CHASSIS_RETURN } else { 0.0 };
        self.conductors_at(copper) + self.fuses.iter().map(|fuse| fuse.resistance).sum::<f64>() + self.contacts + back
    }

    /// Internal resistance of the battery at a temperature, Ω: what it has at 25 °C, grown as its chemistry grows.
    pub fn battery_resistance_at(&self, temperature: Temperature) -> f64 {
        let at = |temperature| internal_resistance(self.chemistry, Charge::coulombs(self.capacity), temperature);
        let growth = at(temperature).zip(at(Temperature::celsius(25.0))).map_or(1.0, |(here, warm)| here / warm);
        Case::HotSummer.of(self.battery_resistance) * growth
    }

    /// Voltage of the battery at rest, charged to a share, V.
    pub fn rest_voltage(&self, charge: f64) -> f64 {
        (open_circuit_voltage(self.chemistry, charge) * self.in_series).in_volts()
    }

    /// Voltage left at a current, V. Source: Ohm's and Kirchhoff's laws.
    pub fn voltage_at(&self, case: Case, current: f64) -> f64 {
        self.open_circuit - current * (self.loop_resistance(case) + case.of(self.battery_resistance))
    }

    /// The current a stage draws, A. A controller that holds its power draws more the lower the voltage; where the way
    /// cannot carry that power at all, the most it can carry is taken. Source: Kirchhoff's voltage law.
    fn drawn(&self, case: Case, stated: f64, held_power: Option<f64>) -> f64 {
        let Some(power) = held_power else { return stated };
        let ohms = self.loop_resistance(case) + case.of(self.battery_resistance);
        current_at_power(Voltage::volts(self.open_circuit), Resistance::ohms(ohms), Power::watts(power))
            .map_or(self.open_circuit / (2.0 * ohms), Current::in_amperes)
    }

    /// The stage whose voltage lies lowest against the sheet's limit, among those the trip would not wait out.
    pub fn worst(&self) -> Option<&Left> {
        self.left.iter().filter(|left| !left.waited_out).min_by(|one, other| one.voltage.total_cmp(&other.voltage))
    }

    /// The largest current of any stage, A: pre-heat lasts minutes, long enough to warm a thin conductor.
    pub fn largest_current(&self) -> f64 {
        self.left.iter().map(|left| left.current).fold(0.0, f64::max)
    }

    /// What a piece may carry all day, A.
    pub fn allowable(&self, piece: &Piece) -> Option<f64> {
        piece.allowable(self.ambient.0, self.bundled)
    }

    /// The pieces that one statement of a size lays: a fuse cuts its conductor in two.
    pub fn laid_by(&self, size: Place) -> impl Iterator<Item = &Piece> {
        self.pieces.iter().filter(move |piece| piece.place == size)
    }

    /// The same circuit with another conductor in all that one statement of a size lays.
    pub fn with_area(&self, size: Place, area: f64) -> Supply {
        let mut other = self.clone();
        for piece in other.pieces.iter_mut().filter(|piece| piece.place == size) {
            piece.area = area;
            piece.ohms_per_metre_at_20 = ohms_per_metre_at_20(area);
            piece.measured = false;
        }
        for at in 0..other.left.len() {
            let Some(left) = other.left.get(at) else { continue };
            let current = other.drawn(left.case, left.stated, left.held_power);
            let voltage = other.voltage_at(left.case, current);
            if let Some(left) = other.left.get_mut(at) {
                (left.current, left.voltage) = (current, voltage);
            }
        }
        other
    }

    /// Whether every stage keeps its voltage, no piece is overloaded or too thin, no fuse is too large for its cable, and
    /// every short circuit ends in time.
    pub fn passes(&self) -> bool {
        let voltage = match (&self.lowest, self.worst()) {
            (Some(lowest), Some(worst)) => worst.voltage >= lowest.value.low,
            _ => true,
        };
        let carried = self.largest_current();
        voltage
            && self.short_circuits().iter().all(|fault| fault.ends_in_time() && !fault.outlasts_cable())
            && self.pieces.iter().all(|piece| self.least_area.is_none_or(|least| piece.area >= least * (1.0 - 1e-9)))
            && self.pieces.iter().all(|piece| {
                let Some(allowable) = self.allowable(piece) else { return true };
                let fuse = if piece.fused {
                    self.fuses.iter().map(|fuse| fuse.rating.nominal).fold(0.0, f64::max)
                } else {
                    0.0
                };
                carried <= allowable && fuse <= allowable
            })
    }
}

impl Piece {
    /// Resistance of a metre of one conductor at a temperature, Ω/m.
    pub fn ohms_per_metre(&self, copper: Temperature) -> f64 {
        self.ohms_per_metre_at_20 * copper_temperature_factor(copper)
    }

    /// What it may carry all day in air of a temperature in K, with so many loaded conductors together, A.
    pub fn allowable(&self, air: f64, bundled: u32) -> Option<f64> {
        let insulation = InsulationClass::met_by(Temperature::kelvin(self.insulation))?;
        let area = Area::square_metres(self.area);
        allowable_current(area, insulation, Temperature::kelvin(air), bundled).map(Current::in_amperes)
    }
}

/// Resistance of a metre of a conductor of that area at 20 °C, Ω/m.
fn ohms_per_metre_at_20(area: f64) -> f64 {
    let at_20 = resistance_per_length(Area::square_metres(area), Temperature::celsius(20.0));
    at_20.map_or(0.0, |per| per.in_ohms_per_metre())
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    for (heater, _) in job.heaters.iter().enumerate() {
        let cable = job.runs.iter().enumerate().find(|(_, run)| feeds(run, heater));
        let Some((number, run)) = cable else { continue };
        match supply(job, heater, number, run) {
            Ok(supply) => {
                list(job, &supply, run, figures);
                figures.supplies.push(supply);
            }
            Err(because) => figures.missing.push(Unjudged {
                section: Section::Electrical,
                subject: run.header,
                title: format!("voltage left at {}", job.heaters.get(heater).map_or("", |heater| heater.name.as_str())),
                because,
            }),
        }
    }
}

/// What a battery is made of; lead-acid where nobody says.
pub(super) fn chemistry_of(battery: &Battery) -> Chemistry {
    match battery.kind.get() {
        Some(&"LiFePO4") => Chemistry::LithiumIronPhosphate,
        _ => Chemistry::LeadAcid,
    }
}

/// How a battery's blocks are joined; side by side where nobody says.
pub(super) fn bank_of(battery: &Battery) -> Bank {
    let blocks = battery.blocks.get().copied().unwrap_or(1);
    match battery.arrangement.get() {
        Some(&"series") => Bank { series: blocks, parallel: 1 },
        _ => Bank { series: 1, parallel: blocks },
    }
}

/// The warmest air around a cable, K, and whether the job states it.
pub(super) fn air_around(job: &Job, run: &Run) -> (f64, bool) {
    let stated = run.said.ambient.get().or(job.conditions.design_hot.get());
    stated.map_or((Temperature::celsius(DEFAULT_HOT).in_kelvin(), false), |hot| (hot.high, true))
}

/// Whether a run is the supply of a heater: a cable from a battery that ends at the heater, or belongs to it.
pub fn feeds(run: &Run, heater: usize) -> bool {
    let ends_there =
        matches!(run.end.as_ref().map(|end| &end.value), Some(End::At(Some((Kind::Heater, at)))) if *at == heater);
    let ends_elsewhere =
        matches!(run.end.as_ref().map(|end| &end.value), Some(End::At(Some(_)) | End::Here)) && !ends_there;
    run.kind == Kind::Cable
        && matches!(run.start, Start::Battery(_))
        && (ends_there || (run.heater == Some(heater) && !ends_elsewhere))
}

/// The supply of a heater by a cable, or what is missing to compute it. `number` is the cable's place among the runs.
pub fn supply(job: &Job, heater: usize, number: usize, run: &Run) -> Result<Supply, String> {
    let Start::Battery(battery_number) = run.start else { return Err("it does not start at a battery".to_string()) };
    let battery = job.batteries.get(battery_number).ok_or("its battery is not stated")?;
    let sheet = job.sheet_of(heater).ok_or("the heater's data sheet is not stated")?;
    if sheet.stages.is_empty() {
        return Err(format!("data sheet `{}` states no stage with a current", sheet.name));
    }
    let block_voltage = battery.block_voltage.get().ok_or("the battery's voltage is not stated (`made-of`)")?;
    let block_capacity = battery.block_capacity.get().ok_or("the battery's capacity is not stated (`made-of`)")?;
    let (chemistry, bank) = (chemistry_of(battery), bank_of(battery));
    // The physics knows six-cell blocks; a 6 V or 24 V block is half or two of them.
    let sixes = block_voltage.nominal / 12.0;
    let charge = battery.charge.get().map_or((DEFAULT_CHARGE, false), |charge| (charge.low, true));
    let open_circuit = bank.voltage(open_circuit_voltage(chemistry, charge.0) * sixes).in_volts();
    let cold = job
        .conditions
        .design_cold
        .get()
        .map_or(Temperature::celsius(DEFAULT_COLD), |cold| Temperature::kelvin(cold.low));
    let battery_cold = battery.temperature.get().map_or(cold, |own| Temperature::kelvin(own.low));
    let ambient = air_around(job, run);
    let resistance = |temperature: Temperature| -> Result<f64, String> {
        let capacity = Charge::coulombs(block_capacity.low);
        let by_default = internal_resistance(chemistry, capacity, temperature).ok_or("the battery's capacity is 0")?;
        let whole = bank.resistance(by_default * sixes).in_ohms();
        let at_25 = internal_resistance(chemistry, capacity, Temperature::celsius(25.0))
            .ok_or("the battery's capacity is 0")?;
        let ratio = by_default / at_25;
        Ok(battery.internal_resistance.get().map_or(whole, |stated| stated.high * ratio))
    };
    let Circuit { pieces, fuses, joints, assumed_joints } = circuit(run)?;
    let mut supply = Supply {
        heater,
        run: number,
        battery: battery_number,
        pieces,
        chassis: run.said.back_by.get() == Some(&"chassis"),
        fuses,
        contacts: joints.unwrap_or(DEFAULT_CONTACTS),
        default_contacts: joints.is_none(),
        assumed_joints,
        open_circuit,
        charge,
        chemistry,
        in_series: sixes * f64::from(bank.series.max(1)),
        capacity: bank.capacity(Charge::coulombs(block_capacity.low)).in_coulombs(),
        battery_resistance: [resistance(battery_cold)?, resistance(Temperature::celsius(25.0))?],
        copper: [cold.in_kelvin(), ambient.0],
        default_cold: job.conditions.design_cold.get().is_none(),
        ambient,
        bundled: run.said.bundled.get().copied().unwrap_or(1),
        left: Vec::new(),
        lowest: sheet.voltage.fact().copied(),
        system: bank.voltage(Voltage::volts(block_voltage.nominal)).in_volts(),
        freezing: freezing_temperature(chemistry, charge.0)
            .filter(|_| charge.1)
            .map(|freezing| (freezing.in_kelvin(), battery_cold.in_kelvin())),
        least_area: job.of_boat().then_some(LEAST_BOAT_CONDUCTOR),
    };
    let nominal = sheet.supply.get().map_or(supply.system, |nominal| nominal.nominal);
    let cases: &[Case] = if ambient.1 { &[Case::ColdStart, Case::HotSummer] } else { &[Case::ColdStart] };
    for case in cases {
        for stage in &sheet.stages {
            supply.left.push(left(&supply, *case, stage, nominal, sheet.trips_after));
        }
    }
    Ok(supply)
}

fn left(supply: &Supply, case: Case, stage: &Stage, nominal: f64, trips_after: Option<Quantity>) -> Left {
    let stated = stage.current.value.high;
    let held_power = stage.regulated.then_some(stated * nominal);
    let current = supply.drawn(case, stated, held_power);
    let sag = current * case.of(supply.battery_resistance);
    let lost = current * supply.loop_resistance(case);
    let waited_out = match (stage.duration, trips_after) {
        (Some(duration), Some(trip)) => duration.high <= trip.low,
        _ => false,
    };
    let voltage = supply.voltage_at(case, current);
    Left { stage: stage.name, case, stated, current, held_power, peak: stage.peak, voltage, lost, sag, waited_out }
}

/// What a run is made of.
pub(super) struct Circuit {
    /// Conductors in order.
    pub(super) pieces: Vec<Piece>,
    /// Fuses in order.
    pub(super) fuses: Vec<FuseAt>,
    /// Resistance of joints and switches, Ω; `None` where the run states none.
    pub(super) joints: Option<f64>,
    /// Joints whose resistance is not stated.
    pub(super) assumed_joints: u32,
}

pub(super) fn circuit(run: &Run) -> Result<Circuit, String> {
    if run.walk.length.is_none() {
        return Err("a line of its route is not understood, or a length in it is still blank".to_string());
    }
    let mut pieces: Vec<Piece> = Vec::new();
    let mut fuses: Vec<FuseAt> = Vec::new();
    let mut joints: Option<f64> = None;
    let mut laid = 0.0;
    let mut assumed_joints = 0;
    for (number, step) in run.steps.iter().enumerate() {
        match &step.met {
            Met::Conductor(conductor) => {
                pieces.push(Piece { starts: laid, ..piece(conductor, step.place, run, !fuses.is_empty())? });
            }
            Met::Fuse(fuse) => {
                if let Some(fuse) = fuse_at(fuse, step.place, laid) {
                    fuses.push(fuse);
                    // From here on the conductor is fused: the rest of it counts as a piece of its own.
                    if let Some(last) = pieces.last().filter(|last| last.length > 0.0).cloned() {
                        pieces.push(Piece { length: 0.0, shortest: 0.0, starts: laid, fused: true, ..last });
                    } else if let Some(last) = pieces.last_mut() {
                        last.fused = true;
                    }
                } else if !matches!(fuse.rating, Stated::Blank(_)) {
                    return Err("one of its fuses has no rating".to_string());
                }
            }
            Met::Joint(joint) => {
                assumed_joints += u32::from(joint.resistance.is_none());
                *joints.get_or_insert(0.0) += joint.resistance.map_or(DEFAULT_JOINT, |resistance| resistance.high);
            }
            Met::Switch(_, resistance) => {
                *joints.get_or_insert(0.0) += resistance.map_or(DEFAULT_HOLDER, |resistance| resistance.high);
            }
            _ => {}
        }
        let legs = || run.walk.stretches.iter().filter(|stretch| stretch.step == number);
        let length: f64 = legs().map(|stretch| stretch.length.high).sum();
        if length > 0.0 {
            let last = pieces.last_mut().ok_or("no `size` is stated before its first length")?;
            last.length += length;
            last.shortest += legs().map(|stretch| stretch.length.low).sum::<f64>();
            laid += length;
        }
    }
    pieces.retain(|piece| piece.length > 0.0);
    if pieces.is_empty() {
        return Err("its `size` or its length is not stated".to_string());
    }
    Ok(Circuit { pieces, fuses, joints, assumed_joints })
}

fn piece(conductor: &Conductor, place: Place, run: &Run, fused: bool) -> Result<Piece, String> {
    let area = conductor.size.get().map(|size| size.low).ok_or("its `size` is still blank")?;
    let insulation = conductor.insulation.as_ref().or(run.said.insulation.get());
    Ok(Piece {
        area,
        size: conductor.size,
        sheet: conductor.sheet.clone(),
        ohms_per_metre_at_20: conductor
            .resistance_per_metre
            .map_or_else(|| ohms_per_metre_at_20(area), |stated| stated.high),
        measured: conductor.resistance_per_metre.is_some(),
        length: 0.0,
        shortest: 0.0,
        starts: 0.0,
        insulation: insulation.map_or(Temperature::celsius(DEFAULT_INSULATION).in_kelvin(), |rated| rated.low),
        place,
        fused,
    })
}

fn fuse_at(fuse: &Fuse, place: Place, laid: f64) -> Option<FuseAt> {
    let rating = fuse.rating.get().copied()?;
    let own = fuse.resistance.map(|stated| stated.high);
    let own = own.or_else(|| cold_resistance(Current::amperes(rating.nominal)).map(Resistance::in_ohms))?;
    let holder = fuse.holder.map_or(DEFAULT_HOLDER, |stated| stated.high);
    let written = fuse.rating.fact().filter(|fact| fact.written == fact.used).map(|fact| fact.written);
    Some(FuseAt {
        rating,
        resistance: own + holder,
        from_battery: laid,
        holder_bears: fuse.holder_bears,
        blade: fuse.kind.is_none_or(|kind| kind == "blade"),
        place,
        written,
    })
}

fn list(job: &Job, supply: &Supply, run: &Run, figures: &mut Figures) {
    if !figures.list.is_kept() {
        return;
    }
    let volts = unit_or(None, "V");
    let name = job.heaters.get(supply.heater).map_or("", |heater| heater.name.as_str());
    let mut rests_on: Vec<Place> =
        supply.pieces.iter().filter_map(|piece| piece.size.fact().map(|fact| fact.used)).collect();
    rests_on.extend(run.walk.stretches.iter().map(|stretch| stretch.place));
    rests_on.extend(supply.fuses.iter().map(|fuse| fuse.place));
    rests_on.push(run.header);
    for left in &supply.left {
        figures.list.push(|| Figure {
            name: "voltage_left",
            section: Section::Electrical,
            subject: run.header,
            title: format!("voltage left at {name}, {}", left.stage),
            case: left.case.title(),
            value: left.voltage,
            unit: volts,
            rests_on: rests_on.clone(),
            working: working(supply, left),
        });
    }
    for (number, piece) in supply.pieces.iter().enumerate() {
        // A conductor that a fuse cuts in two is one conductor still.
        let again = supply.pieces.iter().take(number).any(|before| before.place == piece.place);
        let Some(allowable) = supply.allowable(piece).filter(|_| !again) else { continue };
        figures.list.push(|| Figure {
            name: "allowable_current",
            section: Section::Electrical,
            subject: run.header,
            title: format!("what {} may carry all day", shown_size(piece)),
            case: Case::HotSummer.title(),
            value: allowable,
            unit: unit_or(None, "A"),
            rests_on: piece.size.fact().map(|fact| fact.used).into_iter().collect(),
            working: vec![Step {
                what: "current of one conductor in free air, corrected for the air around it and for its bundle",
                formula: "I = I30 · √((T_insulation − T_air) / (T_insulation − 30 °C)) · bundle",
                inputs: vec![
                    input("area", piece.area, "mm²"),
                    input("T_insulation", piece.insulation, "°C"),
                    input(
                        if supply.ambient.1 { "T_air" } else { "T_air (not stated, assumed)" },
                        supply.ambient.0,
                        "°C",
                    ),
                    input("conductors together", f64::from(supply.bundled), ""),
                ],
                result: allowable,
                unit: "A",
                source: "33 CFR 183.425 table 5; heat balance for other air; bundle factors from memory",
            }],
        });
    }
    super::short_circuit::list(job, supply, run, figures);
    for fuse in &supply.fuses {
        figures.list.push(|| Figure {
            name: "fuse_distance",
            section: Section::Electrical,
            subject: run.header,
            title: "cable between battery and fuse".to_string(),
            case: "",
            value: fuse.from_battery,
            unit: unit_or(run.walk.unit, "m"),
            rests_on: vec![fuse.place],
            working: Vec::new(),
        });
    }
}

/// A piece's size as its author wrote it.
pub fn shown_size(piece: &Piece) -> String {
    piece.size.get().map_or_else(|| unit_or(None, "mm²").show(piece.area), |size| size.show(size.nominal))
}

fn working(supply: &Supply, left: &Left) -> Vec<Step> {
    let case = left.case;
    let copper = case.of(supply.copper);
    let mut steps = Vec::with_capacity(8);
    for piece in &supply.pieces {
        let per_metre = piece.ohms_per_metre(Temperature::kelvin(copper));
        let ways = if supply.chassis { 1.0 } else { 2.0 };
        let copper_symbol = match (case, supply.default_cold) {
            (Case::ColdStart, true) => "T_copper (design cold not stated, assumed)",
            _ => "T_copper",
        };
        steps.push(Step {
            what: "resistance of the conductor",
            formula: if supply.chassis { "R = R′ · L" } else { "R = R′ · 2 · L" },
            inputs: vec![
                input("area", piece.area, piece.size.get().map_or("mm²", |size| size.unit.spelling)),
                input(copper_symbol, copper, "°C"),
                input("R′", per_metre * 1e3, "mΩ/m"),
                input("L", piece.length, "m"),
            ],
            result: per_metre * piece.length * ways,
            unit: "mΩ",
            source: if piece.measured {
                "data sheet of the cable; IEC 60028 for temperature"
            } else {
                "IEC 60228 class 5 maximum or ASTM B258 area, IEC 60028 for temperature"
            },
        });
    }
    let fuses: f64 = supply.fuses.iter().map(|fuse| fuse.resistance).sum();
    let back = if supply.chassis { CHASSIS_RETURN } else { 0.0 };
    steps.push(Step {
        what: "resistance of fuse and holder, joints and contacts, and chassis",
        formula: "R = R_fuse + R_contacts + R_chassis",
        inputs: vec![
            input("R_fuse", fuses, "mΩ"),
            input(
                match (supply.default_contacts, supply.assumed_joints) {
                    (true, _) => "R_contacts (none stated, assumed)",
                    (false, 0) => "R_contacts",
                    _ => "R_contacts (joints of unstated resistance at 10 mΩ each)",
                },
                supply.contacts,
                "mΩ",
            ),
            input("R_chassis", back, "mΩ"),
        ],
        result: fuses + supply.contacts + back,
        unit: "mΩ",
        source: "as stated; else a drop of 0.1 V in the fuse at its rating, and contacts: both common practice, no source",
    });
    if let Some(power) = left.held_power {
        steps.push(Step {
            what: "current of a controller that keeps its power up",
            formula: "I = 2 · P / (U_rest + √(U_rest² − 4 · R · P)); U_rest / 2R where the supply cannot give that power",
            inputs: vec![
                input("P", power, "W"),
                input("U_rest", supply.open_circuit, "V"),
                input("R", supply.loop_resistance(case) + case.of(supply.battery_resistance), "mΩ"),
            ],
            result: left.current,
            unit: "A",
            source: "Kirchhoff's voltage law; power by the sheet's current at its system voltage",
        });
    }
    steps.push(Step {
        what: "voltage lost on the way",
        formula: "U = I · R",
        inputs: vec![
            input(if left.peak { "I (peak of a cold glow pin)" } else { "I" }, left.current, "A"),
            input("R", supply.loop_resistance(case), "mΩ"),
        ],
        result: left.lost,
        unit: "V",
        source: "Ohm's law",
    });
    steps.push(Step {
        what: "voltage lost inside the battery",
        formula: "U = I · R_i",
        inputs: vec![input("I", left.current, "A"), input("R_i", case.of(supply.battery_resistance), "mΩ")],
        result: left.sag,
        unit: "V",
        source: "as stated, or by capacity and temperature, from memory",
    });
    steps.push(Step {
        what: "voltage left at the heater",
        formula: "U = U_rest − U_way − U_battery",
        inputs: vec![
            input("U_rest", supply.open_circuit, "V"),
            input(if supply.charge.1 { "charge" } else { "charge (not stated, assumed)" }, supply.charge.0, "%"),
            input("U_way", left.lost, "V"),
            input("U_battery", left.sag, "V"),
        ],
        result: left.voltage,
        unit: "V",
        source: "Kirchhoff's voltage law; rest voltage by state of charge, from memory",
    });
    steps
}

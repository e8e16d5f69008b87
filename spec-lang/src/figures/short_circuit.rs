//! A short circuit at the far end of each fused piece of a supply: what it draws, when the fuse must have opened, and
//! whether the cable bears it until then. Load currents are not in here; nothing is judged.

use super::supply::{CHASSIS_RETURN, Case, FuseAt, Piece, Supply, shown_size};
use super::{Figure, Figures, Section, Step, Unjudged, input};
use crate::model::{Job, Run, unit_or};
use crate::physics::ampacity::{InsulationClass, adiabatic_factor, short_circuit_limit, short_circuit_time};
use crate::physics::battery::short_circuit_current;
use crate::physics::fuses::{greatest_let_through, longest_opening_time};
use crate::units::{Area, Current, Resistance, Temperature, Voltage};

/// The longest a short circuit may last, s: IEC 60364-4-41 clause 411.3.2 (from memory), and as far as the law of copper
/// heated without loss holds.
pub const LONGEST_SHORT_CIRCUIT: f64 = 5.0;

/// A short circuit at the far end of a fused piece, in the case in which it draws least.
#[derive(Clone, Debug)]
pub struct ShortCircuit {
    /// The piece's number.
    pub piece: usize,
    /// The number of the fuse that must open: the smallest before it.
    pub fuse: usize,
    /// The case.
    pub case: Case,
    /// Resistance of the loop, the battery's with it, Ω.
    pub resistance: f64,
    /// What it draws, A.
    pub current: f64,
    /// How many times the fuse's rating that is.
    pub multiple: f64,
    /// When the fuse must have opened, s; `None` where it need not open at all.
    pub opens: Option<f64>,
    /// The heating that the fuse lets through, A²·s.
    pub let_through: Option<f64>,
    /// The heating that the copper bears before its insulation is spoilt, A²·s.
    pub bears: Option<f64>,
}

impl ShortCircuit {
    /// Whether the fuse must have opened in time.
    pub fn ends_in_time(&self) -> bool {
        self.opens.is_some_and(|opens| opens <= LONGEST_SHORT_CIRCUIT * (1.0 + 1e-9))
    }

    /// The heating of the copper until the fuse has opened, or in the first [`LONGEST_SHORT_CIRCUIT`] where it takes
    /// longer, A²·s: past that time copper gives heat away.
    pub fn heating(&self) -> Option<f64> {
        if self.ends_in_time() { self.let_through } else { Some(self.current * self.current * LONGEST_SHORT_CIRCUIT) }
    }

    /// Whether the insulation is spoilt by then.
    pub fn outlasts_cable(&self) -> bool {
        self.heating().zip(self.bears).is_some_and(|(heating, bears)| heating > bears)
    }
}

impl Supply {
    /// The fuse that must open for a fault behind a place: the smallest before it.
    fn fuse_before(&self, starts: f64) -> Option<(usize, &FuseAt)> {
        let before = self.fuses.iter().enumerate().filter(|(_, fuse)| fuse.from_battery <= starts + 1e-9);
        before.min_by(|(_, one), (_, other)| one.rating.nominal.total_cmp(&other.rating.nominal))
    }

    /// A short circuit at the far end of each fused piece, at either end of what is said of its length: a long cable lets the
    /// fuse take its time, a short one heats faster. Pieces behind a fuse that opens by no blade fuse's gate have none.
    pub fn short_circuits(&self) -> Vec<ShortCircuit> {
        let fused = || self.pieces.iter().enumerate().filter(|(_, piece)| piece.fused);
        let ends: [fn(&Piece) -> f64; 2] = [|piece| piece.length, |piece| piece.shortest];
        let doubted = self.pieces.iter().any(|piece| piece.shortest < piece.length);
        let ends = ends.into_iter().take(if doubted { 2 } else { 1 });
        ends.flat_map(|end| fused().filter_map(move |(number, piece)| self.short_circuit(number, piece, end))).collect()
    }

    fn short_circuit(&self, number: usize, piece: &Piece, end: fn(&Piece) -> f64) -> Option<ShortCircuit> {
        let (fuse_number, fuse) = self.fuse_before(piece.starts).filter(|(_, fuse)| fuse.blade)?;
        let resistance = |case: Case| {
            let copper = Temperature::kelvin(case.of(self.copper));
            let ways = if self.chassis { 1.0 } else { 2.0 };
            let laid = self.pieces.iter().take(number + 1);
            let cable: f64 = laid.map(|piece| piece.ohms_per_metre(copper) * end(piece) * ways).sum();
            let before = self.fuses.iter().filter(|fuse| fuse.from_battery <= piece.starts + 1e-9);
            let fuses: f64 = before.map(|fuse| fuse.resistance).sum();
            let back = if self.chassis { CHASSIS_RETURN } else { 0.0 };
            cable + fuses + self.contacts + back + case.of(self.battery_resistance)
        };
        let worst =
            if resistance(Case::HotSummer) >= resistance(Case::ColdStart) { Case::HotSummer } else { Case::ColdStart };
        let ohms = resistance(worst);
        let current = short_circuit_current(Voltage::volts(self.open_circuit), Resistance::ohms(ohms))?;
        let rating = Current::amperes(fuse.rating.nominal);
        let multiple = current.in_amperes() / fuse.rating.nominal;
        Some(ShortCircuit {
            piece: number,
            fuse: fuse_number,
            case: worst,
            resistance: ohms,
            current: current.in_amperes(),
            multiple,
            opens: longest_opening_time(multiple).map(|time| time.in_seconds()),
            let_through: greatest_let_through(rating, current),
            bears: bears(piece),
        })
    }

    /// Before the first fuse: what a short circuit there draws with the battery warm, A, and how long the copper bears it, s.
    pub fn before_the_fuse(&self) -> Option<(f64, f64)> {
        let piece = self.pieces.first().filter(|piece| !piece.fused)?;
        let ohms = Resistance::ohms(Case::HotSummer.of(self.battery_resistance));
        let current = short_circuit_current(Voltage::volts(self.open_circuit), ohms)?;
        let insulation = InsulationClass::met_by(Temperature::kelvin(piece.insulation))?;
        let area = Area::square_metres(piece.area);
        let rated = Temperature::kelvin(piece.insulation);
        let time = short_circuit_time(area, current, rated, short_circuit_limit(insulation))?;
        Some((current.in_amperes(), time.in_seconds()))
    }
}

/// The heating that a piece bears from its insulation's own temperature on, A²·s: (k A)².
fn bears(piece: &Piece) -> Option<f64> {
    let insulation = InsulationClass::met_by(Temperature::kelvin(piece.insulation))?;
    let factor = adiabatic_factor(Temperature::kelvin(piece.insulation), short_circuit_limit(insulation))?;
    Some((factor * Area::square_metres(piece.area).in_square_millimetres()).powi(2))
}

pub(super) fn list(job: &Job, supply: &Supply, run: &Run, figures: &mut Figures) {
    let reads = job.reads(run);
    let faults = supply.short_circuits();
    let figure = |name, title, case: Case, value, unit, rests_on, working| Figure {
        name,
        section: Section::Electrical,
        subject: run.header,
        title,
        case: case.title(),
        value,
        unit: unit_or(None, unit),
        rests_on,
        working,
    };
    // The last piece at its longest, which draws least.
    let last = faults.iter().rev().max_by_key(|fault| fault.piece);
    let Some((last, fuse)) = last.and_then(|last| supply.fuses.get(last.fuse).map(|fuse| (last, fuse))) else {
        if supply.fuses.iter().any(|fuse| !fuse.blade) {
            figures.missing.push(Unjudged {
                section: Section::Electrical,
                subject: run.header,
                title: format!("short circuit at the far end of {reads}"),
                because: "only blade fuses have a known time-current gate".to_string(),
            });
        }
        return;
    };
    let mut places = vec![fuse.place];
    places.extend(supply.pieces.iter().filter_map(|piece| piece.size.fact().map(|fact| fact.used)));
    let mut working = vec![Step {
        what: "current of a short circuit at the far end",
        formula: "I = U_rest / R",
        inputs: vec![
            input("U_rest", supply.open_circuit, "V"),
            input("R (cable, fuses, contacts, battery)", last.resistance, "mΩ"),
        ],
        result: last.current,
        unit: "A",
        source: "Ohm's law; an arc or hot copper makes the current smaller",
    }];
    let title = format!("short circuit at the far end of {reads}");
    let shown = working.clone();
    figures.list.push(|| figure("short_circuit_current", title, last.case, last.current, "A", places.clone(), shown));
    let Some(opens) = last.opens else { return };
    working.push(Step {
        what: "longest time until the fuse has opened",
        formula: "power law between 1.35: 600 s, 1.6: 50 s, 2: 5 s, 3.5: 0.5 s, 6: 0.1 s",
        inputs: vec![input("I / I_rated", last.multiple, "")],
        result: opens,
        unit: "s",
        source: "ISO 8820-3 (secondary copy and memory)",
    });
    let title = format!(
        "time after which the fuse of {reads} has opened at the latest, in a short circuit at the far \
                         end"
    );
    figures.list.push(|| figure("fuse_opening_time", title, last.case, opens, "s", places.clone(), working));
    let share = |fault: &ShortCircuit| fault.let_through.zip(fault.bears).map(|(through, bears)| through / bears);
    let hardest = faults.iter().max_by(|one, other| share(one).unwrap_or(0.0).total_cmp(&share(other).unwrap_or(0.0)));
    let Some((fault, piece)) = hardest.and_then(|fault| supply.pieces.get(fault.piece).map(|piece| (fault, piece)))
    else {
        return;
    };
    let (Some(share), Some(through), Some(bears)) = (share(fault), fault.let_through, fault.bears) else { return };
    let step = Step {
        what: "heating that the fuse lets through, against what the copper takes without loss",
        formula: "I² · t / (k · A)², k = √(Q · (B + 20 °C) / ρ₂₀ · ln((B + T_limit) / (B + T_insulation)))",
        inputs: vec![
            input("I² · t (A²·s)", through, ""),
            input("(k · A)² (A²·s)", bears, ""),
            input("A", piece.area, "mm²"),
            input("T_insulation", piece.insulation, "°C"),
        ],
        result: share,
        unit: "%",
        source: "IEC 60364-4-43 clause 434.5.2, IEC 60364-5-54 annex A (from memory)",
    };
    let title = format!("share of the heating that {} takes in a short circuit", shown_size(piece));
    figures.list.push(|| figure("short_circuit_heating", title, fault.case, share, "%", places, vec![step]));
}

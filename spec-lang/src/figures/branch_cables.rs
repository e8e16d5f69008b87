//! Cables that feed something else than a heater: its pump, its switch, a sensor. Only the current that they are said to
//! carry is known. Supplies of heaters are in `supply`; nothing is judged.

use super::supply::{CHASSIS_RETURN, Circuit, FuseAt, Piece, air_around, circuit, feeds};
use super::{Figure, Figures, Section, Step, Unjudged, input};
use crate::model::{Fact, Job, Run, unit_or};
use crate::source::Place;
use crate::units::{Quantity, Temperature};
use crate::vocabulary::Kind;

/// One such cable.
#[derive(Clone, Debug)]
pub struct Branch {
    /// The number of its run.
    pub run: usize,
    /// What it carries.
    pub current: Fact<Quantity>,
    /// Conductors in order.
    pub pieces: Vec<Piece>,
    /// Fuses in order.
    pub fuses: Vec<FuseAt>,
    /// Warmest air around it, K, and whether the job states it.
    pub ambient: (f64, bool),
    /// Loaded conductors lying together.
    pub bundled: u32,
    /// Voltage lost on it out and back, V.
    pub lost: f64,
    /// The voltage of its system, V, where known.
    pub system: Option<f64>,
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    for (number, run) in job.runs.iter().enumerate().filter(|(_, run)| run.kind == Kind::Cable) {
        let Some(current) = run.said.carries.fact().copied() else { continue };
        if (0..job.heaters.len()).any(|heater| feeds(run, heater)) {
            continue;
        }
        match circuit(run) {
            Ok(circuit) => {
                let branch = branch(job, figures, (number, run), current, circuit);
                figures.branches.push(branch);
            }
            Err(because) => figures.missing.push(Unjudged {
                section: Section::Electrical,
                subject: run.header,
                title: format!("voltage lost on {}", job.reads(run)),
                because,
            }),
        }
    }
}

fn branch(
    job: &Job,
    figures: &mut Figures,
    (number, run): (usize, &Run),
    current: Fact<Quantity>,
    circuit: Circuit,
) -> Branch {
    let ambient = air_around(job, run);
    let chassis = run.said.back_by.get() == Some(&"chassis");
    let ways = if chassis { 1.0 } else { 2.0 };
    let copper = Temperature::kelvin(ambient.0);
    let cable: f64 = circuit.pieces.iter().map(|piece| piece.ohms_per_metre(copper) * piece.length * ways).sum();
    let rest = circuit.fuses.iter().map(|fuse| fuse.resistance).sum::<f64>()
        + circuit.joints.unwrap_or(0.0)
        + if chassis { CHASSIS_RETURN } else { 0.0 };
    let lost = current.value.high * (cable + rest);
    let mut places: Vec<Place> =
        circuit.pieces.iter().filter_map(|piece| piece.size.fact().map(|fact| fact.used)).collect();
    places.push(current.written);
    figures.list.push(|| Figure {
        name: "branch_voltage_lost",
        section: Section::Electrical,
        subject: run.header,
        title: format!("voltage lost on {}", job.reads(run)),
        case: "hot summer",
        value: lost,
        unit: unit_or(None, "V"),
        rests_on: places,
        working: vec![
            Step {
                what: "resistance of its conductors, out and back, hot",
                formula: if chassis { "R = Σ R′ · L" } else { "R = Σ R′ · 2 · L" },
                inputs: vec![input(
                    if ambient.1 { "T_copper" } else { "T_copper (not stated, taken)" },
                    ambient.0,
                    "°C",
                )],
                result: cable,
                unit: "mΩ",
                source: "IEC 60228 class 5 maximum or ASTM B258 area, IEC 60028 for temperature",
            },
            Step {
                what: "voltage lost",
                formula: "U = I · (R + R_fuse + R_joints + R_chassis)",
                inputs: vec![
                    input("I", current.value.high, "A"),
                    input("R", cable, "mΩ"),
                    input("the rest", rest, "mΩ"),
                ],
                result: lost,
                unit: "V",
                source: "Ohm's law",
            },
        ],
    });
    let sheet = run.heater.and_then(|heater| job.sheet_of(heater)).and_then(|sheet| sheet.supply.get());
    let vehicle = job.vehicle.as_ref().and_then(|(vehicle, _)| vehicle.supply.get());
    Branch {
        run: number,
        current,
        pieces: circuit.pieces,
        fuses: circuit.fuses,
        ambient,
        bundled: run.said.bundled.get().copied().unwrap_or(1),
        lost,
        system: sheet.or(vehicle).map(|supply| supply.nominal),
    }
}

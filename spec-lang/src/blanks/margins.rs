//! How far the limit is that a filled blank keeps, read off the figures of the job as it is to be written. A figure that
//! is not computed is not shown.

use super::{Blank, BlankKind};
use crate::figures::Figures;
use crate::figures::ways::length_unit;
use crate::model::{Job, unit_or};
use crate::source::Place;
use crate::vocabulary::Kind;

/// The margin in words: `Left at worst: 10.9 V; needed: 10.5 V`.
pub(super) fn margin(job: &Job, figures: &Figures, blank: &Blank) -> Option<String> {
    if blank.block == Kind::Fit {
        // Many ways of the kit may rest on one answer.
        return None;
    }
    let (_, reading) = job.readings.first()?;
    let here = |place: Place| {
        let place = job.shown(place);
        let block = reading.at(place.span.start).0;
        place.file == job.file && block.is_some_and(|block| block.first_line == blank.line)
    };
    let of_run = |run: usize| job.runs.get(run).is_some_and(|run| here(run.header));
    match blank.kind {
        BlankKind::Conductor | BlankKind::Fuse => {
            let supply = figures.supplies.iter().find(|supply| of_run(supply.run))?;
            let (left, limit) = (supply.worst()?.voltage, supply.lowest.as_ref()?.value);
            Some(format!("Left at worst: {}; needed: {}", limit.show(left), limit.show(limit.low)))
        }
        BlankKind::FuelLine => {
            let line = figures.fuel_lines.iter().find(|line| of_run(line.run))?;
            let sides = [(&line.suction, "Suction"), (&line.pressure, "Pressure")];
            let shown = sides.into_iter().filter_map(|(side, name)| {
                let side = side.as_ref()?;
                let (pressure, most) = (side.pressure.as_ref()?.worst, side.most_pressure.as_ref()?);
                Some(format!("{name} side: {}; allowed: {}", most.unit.show(pressure), most.shown()))
            });
            let shown: Vec<String> = shown.collect();
            (!shown.is_empty()).then(|| shown.join(". "))
        }
        BlankKind::Bore => {
            let pascals = unit_or(None, "Pa");
            let run = job.runs.iter().find(|run| here(run.header))?;
            let heater = run.heater?;
            let sheet = job.sheet_of(heater)?;
            let burner = figures.burners.iter().find(|burner| burner.heater == heater);
            if let Some((loss, most)) = burner
                .filter(|burner| [burner.exhaust, burner.combustion_air].into_iter().flatten().any(of_run))
                .and_then(|burner| burner.loss.as_ref())
                .zip(sheet.combustion_pressure.get())
            {
                let both = loss.exhaust + loss.air;
                return Some(format!("Lost in all: {}; allowed: {}", pascals.show(both), most.show(most.low)));
            }
            if !matches!(blank.block, Kind::WarmAir | Kind::ReturnAir) {
                return None;
            }
            let network = figures.warm_air.iter().find(|network| network.heater == heater)?;
            let (case, most) = (network.open.as_ref()?, sheet.duct_pressure.get()?);
            let lost = case.return_loss + case.warm_loss;
            Some(format!("Lost in all: {}; allowed: {}", pascals.show(lost), most.show(most.low)))
        }
        BlankKind::Run | BlankKind::Leg => {
            let way = figures.ways.iter().find(|way| of_run(way.run) && way.longest.is_some())?;
            let longest = way.longest.as_ref()?;
            let unit = length_unit(way.unit, way.length.high);
            Some(format!("In all: {}; allowed: {}", unit.show(way.length.high), longest.shown()))
        }
        BlankKind::HeaterSheet | BlankKind::Answer => None,
    }
}

//! Rules on what law, alarms and sleeping spaces ask: which vehicle falls under what, and what several rules ask of a
//! job. The rules themselves stand in the files below, by body of law.

mod alarms;
mod america;
mod boats;
mod europe;
mod goods;

use super::Rule;
use crate::model::{Job, Space, Start, Tank, Vehicle};
use crate::vocabulary::Kind;

pub(super) static RULES: &[&Rule] = &[
    &europe::HEATER_OPEN_TO_PASSENGERS,
    &europe::FILLER_INSIDE,
    &europe::NOTICES_NOT_STATED,
    &europe::RETURN_AIR_FROM_PLANT,
    &europe::COOL_DOWN_NOT_ON_SHEET,
    &goods::GOODS_RULES_NOT_NAMED,
    &goods::GOODS_HEATER_STARTS_BY_ITSELF,
    &goods::GOODS_PETROL_FILLER_OPEN,
    &goods::GOODS_RUN_ON_TOO_LONG,
    &goods::GOODS_HEATER_WITH_LOAD,
    &goods::GOODS_HEATER_WHILE_LOADING,
    &america::TANK_BEFORE_FRONT_AXLE,
    &america::TANK_ABOVE_PASSENGER_FLOOR,
    &america::FUEL_FED_BY_GRAVITY,
    &america::FUEL_LINE_BELOW_TANK,
    &boats::PETROL_HEATER_IN_BOAT,
    &boats::HEATER_TANK_BESIDE_HEATER,
    &boats::EXHAUST_NEAR_WATERLINE,
    &alarms::CARBON_MONOXIDE_ALARM_NEXT_DOOR,
    &alarms::CARBON_MONOXIDE_ALARM_BADLY_PLACED,
    &alarms::CARBON_MONOXIDE_ALARM_CAN_BE_CUT,
];

/// The vehicle of a job; `None` in a workshop file.
fn vehicle(job: &Job) -> Option<&Vehicle> {
    job.vehicle.as_ref().filter(|_| job.header.is_some()).map(|(vehicle, _)| vehicle)
}

/// Whether the job's vehicle falls under a body of rules.
fn under(job: &Job, rules: &str) -> bool {
    vehicle(job).is_some_and(|vehicle| vehicle.rules.contains(&rules))
}

/// Whether UN R122's clauses on fitting speak to the vehicle: trailers burning liquid fuel count as complying (5.3.1.2,
/// from memory).
fn under_r122(job: &Job) -> bool {
    under(job, "un-r122") && vehicle(job).is_some_and(|vehicle| vehicle.kind.get() != Some(&"trailer"))
}

/// Whether a job says that it is about a boat.
fn is_boat(job: &Job) -> bool {
    vehicle(job).is_some_and(|vehicle| vehicle.kind.get() == Some(&"boat") || vehicle.rules.contains(&"boat"))
}

/// The designation of a vehicle for dangerous goods.
fn goods(job: &Job) -> Option<&'static str> {
    vehicle(job).and_then(|vehicle| vehicle.goods.get()).copied()
}

/// Whether people are known to be in a space.
fn holds_people(space: &Space) -> bool {
    matches!(space.usage.get(), Some(&("seated" | "sleeping" | "driving" | "working")))
}

/// The tanks that heaters draw from, by number, each once.
fn tanks_drawn_from(job: &Job) -> Vec<usize> {
    let mut tanks = Vec::new();
    for run in job.runs.iter().filter(|run| run.kind == Kind::FuelLine && run.heater.is_some()) {
        if let Start::Tank(tank) = run.start {
            if !tanks.contains(&tank) {
                tanks.push(tank);
            }
        }
    }
    tanks
}

/// The tank that a heater draws from.
fn tank_of(job: &Job, heater: usize) -> Option<(usize, &Tank)> {
    let line = job.runs_of(heater, Kind::FuelLine).next()?;
    let Start::Tank(tank) = line.start else { return None };
    Some((tank, job.tanks.get(tank)?))
}

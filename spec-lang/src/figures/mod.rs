//! The job's figures: physics applied to the model, worst ends taken, working kept. Nothing is judged here.

pub mod clearances;
pub mod combustion;
pub mod fuel_line;
pub mod heat_demand;
pub mod night;
pub mod return_air;
pub mod supply;
pub mod warm_air;
pub mod ways;
mod working;

pub use working::{input, Figure, Input, Section, Step, Unjudged};

use crate::model::Job;

/// Design cold in °C, taken where the job states none; reports name it. Common practice, no source.
pub const DEFAULT_COLD: f64 = -20.0;

/// Every figure of a job: typed for the rules, and as a list with its working for readers.
#[derive(Debug, Default)]
pub struct Figures {
    /// The electrical supply of each heater.
    pub supplies: Vec<supply::Supply>,
    /// The fuel line of each heater.
    pub fuel_lines: Vec<fuel_line::FuelLine>,
    /// Lengths and bends of exhausts, combustion air, warm air, return air and harnesses.
    pub ways: Vec<ways::Way>,
    /// Distances of each exhaust from what it must stay away from.
    pub clearances: Vec<clearances::Clearance>,
    /// The return air of each heater.
    pub returns: Vec<return_air::ReturnAir>,
    /// The warm-air network of each air heater that blows into ducts.
    pub warm_air: Vec<warm_air::WarmAir>,
    /// All figures, in the order of the sections, each with its working.
    pub list: Vec<Figure>,
    /// What could not be computed, and what was missing.
    pub missing: Vec<Unjudged>,
}

impl Figures {
    /// Computes the figures of a job.
    pub fn of(job: &Job) -> Figures {
        let mut figures = Figures::default();
        ways::compute(job, &mut figures);
        supply::compute(job, &mut figures);
        fuel_line::compute(job, &mut figures);
        clearances::compute(job, &mut figures);
        combustion::compute(job, &mut figures);
        return_air::compute(job, &mut figures);
        warm_air::compute(job, &mut figures);
        heat_demand::compute(job, &mut figures);
        night::compute(job, &mut figures);
        figures
    }
}

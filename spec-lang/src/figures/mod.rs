//! The job's figures: physics applied to the model, worst ends taken, working kept. Nothing is judged here.

pub mod battery;
pub mod branch_cables;
pub mod clearances;
pub mod combustion;
pub mod coolant;
pub mod fuel_line;
pub mod fuel_use;
pub mod heat_demand;
pub mod night;
pub mod return_air;
pub mod short_circuit;
pub mod supply;
pub mod tape;
pub mod warm_air;
pub mod ways;
mod working;

pub use working::{Figure, Input, Listed, Section, Step, Unjudged, input};

use crate::model::Job;
use std::collections::HashSet;

/// Design cold in °C, taken where the job states none; reports name it. Common practice, no source.
pub const DEFAULT_COLD: f64 = -20.0;

/// Every figure of a job: typed for the rules, and as a list with its working for readers.
#[derive(Debug, Default)]
pub struct Figures {
    /// The electrical supply of each heater.
    pub supplies: Vec<supply::Supply>,
    /// Cables that feed something else than a heater.
    pub branches: Vec<branch_cables::Branch>,
    /// Each battery for itself.
    pub batteries: Vec<battery::BatteryCare>,
    /// What each heater makes of its fuel.
    pub fuel_uses: Vec<fuel_use::FuelUse>,
    /// The fuel line of each heater.
    pub fuel_lines: Vec<fuel_line::FuelLine>,
    /// Lengths and bends of exhausts, combustion air, warm air, return air and harnesses.
    pub ways: Vec<ways::Way>,
    /// Distances of each exhaust from what it must stay away from.
    pub clearances: Vec<clearances::Clearance>,
    /// The exhausts, by their numbers among the runs.
    pub exhausts: Vec<usize>,
    /// Which distances were taken by tape: exhaust, what it leads to, and whether from where the pipe comes nearest.
    pub taped: HashSet<(usize, clearances::Target, bool)>,
    /// Distances of each intake from things to keep clear of.
    pub intakes: Vec<tape::IntakeGap>,
    /// Tapes that say otherwise than the walked routes, or than each other.
    pub differing: Vec<tape::Differing>,
    /// How high open ends are.
    pub heights: Vec<tape::EndHeight>,
    /// What burns in each heater and what leaves it.
    pub burners: Vec<combustion::Burner>,
    /// The return air of each heater.
    pub returns: Vec<return_air::ReturnAir>,
    /// The warm-air network of each air heater that blows into ducts.
    pub warm_air: Vec<warm_air::WarmAir>,
    /// The heat demand of each space, or of spaces that share a heater.
    pub rooms: Vec<heat_demand::Room>,
    /// The nights of each heater.
    pub nights: Vec<night::NightOf>,
    /// The loop of each coolant heater.
    pub coolant_loops: Vec<coolant::CoolantLoop>,
    /// All figures, in the order of the sections, each with its working, where they were asked for.
    pub list: Listed,
    /// What could not be computed, and what was missing.
    pub missing: Vec<Unjudged>,
}

impl Figures {
    /// The distances of one exhaust, by its number among the runs. They are computed exhaust by exhaust, and so lie together.
    pub fn clearances_of(&self, exhaust: usize) -> &[clearances::Clearance] {
        let first = self.clearances.partition_point(|clearance| clearance.exhaust < exhaust);
        let own = self.clearances.get(first..).unwrap_or(&[]);
        own.get(..own.partition_point(|clearance| clearance.exhaust == exhaust)).unwrap_or(&[])
    }

    /// Whether the distance of an exhaust to a thing was taken by tape; `from_pipe` where the pipe comes nearest, and not from
    /// the open end alone.
    pub fn is_taped(&self, exhaust: usize, target: clearances::Target, from_pipe: bool) -> bool {
        self.taped.contains(&(exhaust, target, from_pipe))
    }

    /// Whether every exhaust's distance to a thing was taken so.
    pub fn taped_by_all(&self, target: clearances::Target, from_pipe: bool) -> bool {
        let all = |exhausts: &[usize]| exhausts.iter().all(|exhaust| self.is_taped(*exhaust, target, from_pipe));
        !self.taped.is_empty() && all(&self.exhausts)
    }

    /// Whether it is told where an exhaust ends: by its route, or by tape from the edge of the vehicle.
    pub fn end_is_told(&self, job: &Job, exhaust: usize) -> bool {
        self.is_taped(exhaust, clearances::Target::Edge, false)
            || job.runs.get(exhaust).is_some_and(|run| clearances::open_end(run).is_some())
    }

    /// Computes the figures of a job, as rules need them: typed, nothing put into words.
    pub fn of(job: &Job) -> Figures {
        Figures::default().computed(job)
    }

    /// Computes the figures of a job with the working of each, for readers.
    pub fn with_working(job: &Job) -> Figures {
        Figures { list: Listed::kept(), ..Figures::default() }.computed(job)
    }

    fn computed(mut self, job: &Job) -> Figures {
        let figures = &mut self;
        ways::compute(job, figures);
        supply::compute(job, figures);
        branch_cables::compute(job, figures);
        battery::compute(job, figures);
        fuel_line::compute(job, figures);
        fuel_use::compute(job, figures);
        clearances::compute(job, figures);
        tape::intakes(job, figures);
        tape::heights(job, figures);
        combustion::compute(job, figures);
        return_air::compute(job, figures);
        warm_air::compute(job, figures);
        heat_demand::compute(job, figures);
        coolant::compute(job, figures);
        night::compute(job, figures);
        if job.is_composed() {
            figures.list.lead_back(job);
            for missing in &mut figures.missing {
                missing.subject = job.shown(missing.subject);
            }
        }
        self
    }
}

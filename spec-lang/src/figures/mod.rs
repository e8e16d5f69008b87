//! The job's figures: physics applied to the model, worst ends taken, working kept. Nothing is judged here.

mod working;

pub use working::{Figure, Input, Section, Step, Unjudged};

use crate::model::Job;

/// Every figure of a job.
#[derive(Debug, Default)]
pub struct Figures {
    /// All figures, in the order of the sections, each with its working.
    pub list: Vec<Figure>,
    /// What could not be computed, and what was missing.
    pub missing: Vec<Unjudged>,
}

impl Figures {
    /// Computes the figures of a job.
    pub fn of(_job: &Job) -> Figures {
        Figures::default()
    }
}

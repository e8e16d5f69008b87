//! The fuel line of each heater.
use super::Figures;
use crate::model::Job;

/// One fuel line.
#[derive(Clone, Debug)]
pub struct FuelLine {}

pub(super) fn compute(_job: &Job, _figures: &mut Figures) {}

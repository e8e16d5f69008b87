//! The electrical supply of each heater.
use super::Figures;
use crate::model::Job;

/// One supply.
#[derive(Clone, Debug)]
pub struct Supply {}

pub(super) fn compute(_job: &Job, _figures: &mut Figures) {}

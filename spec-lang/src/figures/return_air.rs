//! The return air of each heater.
use super::Figures;
use crate::model::Job;

/// One return.
#[derive(Clone, Debug)]
pub struct ReturnAir {}

pub(super) fn compute(_job: &Job, _figures: &mut Figures) {}

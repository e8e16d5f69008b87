//! Distances of exhausts.
use super::Figures;
use crate::model::Job;

/// One distance.
#[derive(Clone, Debug)]
pub struct Clearance {}

pub(super) fn compute(_job: &Job, _figures: &mut Figures) {}

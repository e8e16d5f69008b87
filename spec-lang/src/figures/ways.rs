//! Lengths and bends of the routes.
use super::Figures;
use crate::model::Job;

/// One way.
#[derive(Clone, Debug)]
pub struct Way {}

pub(super) fn compute(_job: &Job, _figures: &mut Figures) {}

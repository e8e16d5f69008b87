//! Combustion air and exhaust of each heater: flow, excess air, heat, pressure and water. Whether that is good enough is not in here.

use super::Figures;
use crate::model::Job;

pub(super) fn compute(_job: &Job, _figures: &mut Figures) {}

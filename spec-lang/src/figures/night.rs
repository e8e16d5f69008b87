//! The night of each heater: room, battery and tank from start to morning. Whether that is good enough is not in here.

use super::Figures;
use crate::model::Job;

pub(super) fn compute(_job: &Job, _figures: &mut Figures) {}

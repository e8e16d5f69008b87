//! The warm-air network of each air heater: what the fan delivers, which outlet gets how much, and how hot. Whether that is good enough is not in here.

use super::Figures;
use crate::model::Job;

pub(super) fn compute(_job: &Job, _figures: &mut Figures) {}

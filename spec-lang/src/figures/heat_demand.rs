//! The heat that each space needs, against what its heaters give. Whether that is good enough is not in here.

use super::Figures;
use crate::model::Job;

pub(super) fn compute(_job: &Job, _figures: &mut Figures) {}

//! Rules: Exhaust and combustion air.
use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

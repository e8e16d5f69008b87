//! Rules: Fuel line and pump.
use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

//! Rules on heaters that warm coolant: flow, direction and air in the loop.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

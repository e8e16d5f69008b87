//! Rules on the night: battery, fuel and room until the morning.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

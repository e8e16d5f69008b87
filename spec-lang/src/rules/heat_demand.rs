//! Rules on heat demand: a heater too weak or too large, and what a space does not say.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

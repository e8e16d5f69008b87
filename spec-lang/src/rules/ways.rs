//! Rules: Lengths and bends.
use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

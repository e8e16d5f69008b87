//! Rules: Concessions.
use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

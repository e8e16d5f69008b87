//! Rules: Return air.
use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

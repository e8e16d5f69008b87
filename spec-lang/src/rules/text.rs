//! Rules about the text itself.
use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

//! Rules on what law, alarms and sleeping spaces ask.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

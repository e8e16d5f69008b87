//! Rules: Cable, fuse and battery.
use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

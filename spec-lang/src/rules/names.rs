//! Rules: Names, sheets and followed files.
use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

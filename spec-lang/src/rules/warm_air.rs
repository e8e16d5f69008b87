//! Rules on ducts and outlets: what the fan delivers, where it goes, and how hot it is.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

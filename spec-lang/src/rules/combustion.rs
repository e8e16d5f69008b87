//! Rules on what burns and what comes out: flow, excess air, heat of the exhaust, pressure, water, and where both ends stand.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];

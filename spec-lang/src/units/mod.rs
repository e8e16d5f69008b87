//! Dimensions, units and quantities. Nothing here knows the language.

mod si;
mod written;

pub use si::*;
pub use written::*;

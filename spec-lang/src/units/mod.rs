//! Dimensions, units and quantities. Nothing here knows the language.

mod si;

pub use si::*;

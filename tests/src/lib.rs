//! End-to-end tests of dryfit live in this package; nothing else depends on it.

pub mod reference;

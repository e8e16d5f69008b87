//! The dryfit language, whole and pure: no file, clock, environment, thread, colour or protocol in here.

pub mod physics;
pub mod syntax;
pub mod text;
pub mod units;
pub mod vocabulary;

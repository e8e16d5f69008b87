//! The trialfit language, whole and pure: no file, clock, environment, thread, colour or protocol in here.
//!
//! Data runs one way: text → tree → reading → model → figures → findings → reports and editor help.

mod analysis;
pub mod asks;
pub mod assist;
pub mod bench;
pub mod blanks;
pub mod doubts;
pub mod figures;
pub mod finding;
pub mod intake;
pub mod model;
pub mod physics;
pub mod reading;
pub mod remedies;
pub mod report;
pub mod rules;
pub mod source;
pub mod syntax;
pub mod text;
pub mod units;
pub mod vocabulary;

pub use analysis::{Analysis, analyse};

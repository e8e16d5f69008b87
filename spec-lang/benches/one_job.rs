//! Timings of one job file.
fn main() {}

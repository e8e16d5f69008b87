//! The lines that belong together: each block, from its header to its last line.

use crate::reading::Reading;

/// First and last line of every block of more than one line, counted from 0.
pub fn folds(reading: &Reading) -> Vec<(u32, u32)> {
    let lines = reading.blocks.iter().map(|block| (block.first_line, block.last_line));
    lines.filter(|(first, last)| first < last).collect()
}

//! Help for somebody who writes a job, as plain data: what stands under the cursor, what may stand next, what the file
//! holds, how a finding is mended. No editor and no protocol is known here; offsets are bytes.

mod completion;
mod fixes;
mod folds;
mod hover;
mod names;
mod symbols;

pub use completion::{complete, Candidate, CandidateKind};
pub use fixes::{fixes, Fix};
pub use folds::folds;
pub use hover::{hover, Hover, Piece};
pub use names::target_of;
pub use symbols::{symbols, Symbol, SymbolKind};

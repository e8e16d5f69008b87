//! Help for somebody who writes a job, as plain data: what stands under the cursor, what may stand next, what the file
//! holds, how a finding is mended. No editor and no protocol is known here; offsets are bytes.

mod completion;
mod fixes;
mod folds;
mod hover;
mod names;
mod selection;
mod symbols;
mod tokens;

pub use completion::{complete, Candidate, CandidateKind};
pub use fixes::{fixes, Fix};
pub use folds::folds;
pub use hover::{hover, Hover, Piece};
pub use names::{
    occurrence_at, occurrences, refused_name, renamed, same_meanings, target_of, who_has, Meaning, Occurrence,
};
pub use selection::selection;
pub use symbols::{blocks, symbols, Symbol, SymbolKind};
pub use tokens::{tokens, Token, TokenKind};

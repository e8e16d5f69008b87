//! Help for somebody who writes a job, as plain data: what stands under the cursor, what may stand next, what the file
//! holds, how a finding is mended. No editor and no protocol is known here; offsets are bytes.

mod completion;
mod fixes;
mod folds;
mod hangs;
mod hover;
mod inlays;
mod names;
mod offers;
mod selection;
mod symbols;
mod tokens;

pub use completion::{complete, Candidate, CandidateKind};
pub use fixes::{fixes, Fix};
pub use folds::folds;
pub use hangs::{block_of, meaning_of, uses_in, uses_of, Hung};
pub use hover::{follows_from, hover, sheet_value_at, Hover, Piece};
pub use inlays::{blank_inlays, in_words, inlays, margins, Inlay, Margins};
pub use names::{
    occurrence_at, occurrences, refused_name, renamed, same_meanings, target_of, who_has, Meaning, Occurrence,
};
pub use offers::{mend_all, offers, path_at, Offer, OfferKind};
pub use selection::selection;
pub use symbols::{blocks, symbols, Symbol, SymbolKind};
pub use tokens::{tokens, Token, TokenKind};

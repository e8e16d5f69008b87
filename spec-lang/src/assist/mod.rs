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

pub use completion::{Candidate, CandidateKind, complete};
pub use fixes::{Fix, fixes};
pub use folds::folds;
pub use hangs::{Hung, block_of, meaning_of, uses_in, uses_of};
pub use hover::{Hover, Piece, follows_from, hover, sheet_value_at};
pub use inlays::{Inlay, Margins, blank_inlays, in_words, inlays, margins};
pub use names::{
    Meaning, Occurrence, occurrence_at, occurrences, refused_name, renamed, same_meanings, target_of, who_has,
};
pub use offers::{Offer, OfferKind, mend_all, offers, path_at};
pub use selection::selection;
pub use symbols::{Symbol, SymbolKind, blocks, symbols};
pub use tokens::{Token, TokenKind, tokens};

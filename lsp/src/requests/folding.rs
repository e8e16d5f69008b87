//! `textDocument/foldingRange`.

use crate::world::Look;
use spec_lang::assist;
use tower_lsp::ls_types::FoldingRange;

/// Each block of more than one line.
pub(crate) fn answer(look: &Look) -> Vec<FoldingRange> {
    let folds = assist::folds(look.open.text.reading());
    folds
        .into_iter()
        .map(|(start_line, end_line)| FoldingRange { start_line, end_line, ..Default::default() })
        .collect()
}

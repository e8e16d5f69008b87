//! `textDocument/selectionRange`.

use crate::world::Look;
use spec_lang::assist;
use tower_lsp::ls_types::{Position, Range, SelectionRange};

/// For each position the pieces around it, the innermost first; an empty one where there is none, so that answers stay
/// in step with what was asked.
pub(crate) fn answer(look: &Look, positions: &[Position]) -> Vec<SelectionRange> {
    let of = |position: &Position| {
        let grown = assist::selection(look.open.text.reading(), look.offset(*position));
        let outward = grown.iter().rev().fold(None, |parent: Option<Box<SelectionRange>>, span| {
            Some(Box::new(SelectionRange { range: look.range(*span), parent }))
        });
        let empty = SelectionRange { range: Range { start: *position, end: *position }, parent: None };
        outward.map_or(empty, |it| *it)
    };
    positions.iter().map(of).collect()
}

//! `textDocument/definition`.

use crate::world::Look;
use spec_lang::assist;
use tower_lsp::ls_types::{GotoDefinitionResponse, Position};

/// The header of the block whose name stands at the position.
pub(crate) fn answer(look: &Look, position: Position) -> Option<GotoDefinitionResponse> {
    let judged = look.snapshot.judge(&look.open);
    let (_, target) = assist::target_of(&judged.analysis, look.offset(position))?;
    look.snapshot.location(target?.name_place).map(GotoDefinitionResponse::Scalar)
}

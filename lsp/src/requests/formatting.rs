//! `textDocument/formatting`.

use crate::world::Look;
use spec_lang::syntax::tidy;
use tower_lsp::ls_types::TextEdit;

/// The edits that put the text in order: only lines that need it. The client's tab settings have no say: the language
/// has one layout.
pub(crate) fn answer(look: &Look) -> Vec<TextEdit> {
    tidy(&look.open.text.reading().tree).iter().map(|edit| look.edit(edit)).collect()
}

//! `textDocument/formatting`, `rangeFormatting` and `onTypeFormatting`. The client's tab settings have no say: the
//! language has one layout.

use crate::world::Look;
use spec_lang::syntax::tidy;
use tower_lsp::ls_types::{Position, Range, TextEdit};

/// The edits that put the text in order: only lines that need it.
pub(crate) fn answer(look: &Look) -> Vec<TextEdit> {
    tidy(&look.open.text.reading().tree).iter().map(|edit| look.edit(edit)).collect()
}

/// Those that lie in the lines of a range.
pub(crate) fn range(look: &Look, range: Range) -> Vec<TextEdit> {
    // A range that ends before a line's first letter does not mean that line.
    let last =
        if range.end.character == 0 && range.end.line > range.start.line { range.end.line - 1 } else { range.end.line };
    in_lines(look, range.start.line, last).collect()
}

/// Puts the line in order that was left by a new line; the one being typed is nobody's business yet.
pub(crate) fn on_type(look: &Look, position: Position) -> Vec<TextEdit> {
    let Some(line) = position.line.checked_sub(1) else { return Vec::new() };
    // Edits that reach over the line's end would take the new line away again.
    in_lines(look, line, line)
        .filter(|edit| edit.range.end.line == line && !edit.new_text.ends_with(['\n', '\r']))
        .collect()
}

fn in_lines(look: &Look, first: u32, last: u32) -> impl Iterator<Item = TextEdit> + use<> {
    let edits = answer(look).into_iter();
    edits.filter(move |edit| {
        let end = edit.range.end;
        let before = if end.character == 0 && end.line > edit.range.start.line { end.line - 1 } else { end.line };
        first <= edit.range.start.line && before <= last
    })
}

//! Open documents: their text as a rope, edited in place by the client's changes, and what was read from it, once.

use ropey::{Rope, RopeSlice};
use spec_lang::reading::Reading;
use spec_lang::source::FileId;
use spec_lang::text::{Encoding, LineIndex};
use std::sync::{Arc, OnceLock};
use tower_lsp::ls_types::{Position, TextDocumentContentChangeEvent, Uri};

/// A text with what was read from it; each is computed when first asked for.
#[derive(Debug, Default)]
pub(crate) struct Text {
    rope: Rope,
    reading: OnceLock<Arc<Reading>>,
    lines: OnceLock<LineIndex>,
}

impl Text {
    /// Of a rope.
    pub(crate) fn new(rope: Rope) -> Text {
        Text { rope, reading: OnceLock::new(), lines: OnceLock::new() }
    }

    /// What it says.
    pub(crate) fn reading(&self) -> &Arc<Reading> {
        self.reading.get_or_init(|| Arc::new(Reading::new(Arc::from(String::from(&self.rope)))))
    }

    /// Where its lines begin.
    pub(crate) fn lines(&self) -> &LineIndex {
        self.lines.get_or_init(|| LineIndex::new(self.text()))
    }

    /// The text itself.
    pub(crate) fn text(&self) -> &str {
        &self.reading().tree.text
    }
}

/// An open document at one version.
#[derive(Debug)]
pub(crate) struct Open {
    /// Its number.
    pub(crate) file: FileId,
    /// Its address as the client spells it.
    pub(crate) uri: Uri,
    /// The client's version of it.
    pub(crate) version: i32,
    /// Its text.
    pub(crate) text: Text,
}

impl Open {
    /// The document after the changes, in their order.
    pub(crate) fn changed(&self, changes: &[TextDocumentContentChangeEvent], version: i32, encoding: Encoding) -> Open {
        let mut rope = self.text.rope.clone();
        for change in changes {
            match change.range {
                None => rope = Rope::from_str(&change.text),
                Some(range) => {
                    let (from, to) = (letter_at(&rope, range.start, encoding), letter_at(&rope, range.end, encoding));
                    let (from, to) = (from.min(to), from.max(to));
                    // Both lie in the rope, so neither call can fail.
                    let _ = rope.try_remove(from..to);
                    let _ = rope.try_insert(from, &change.text);
                }
            }
        }
        Open { file: self.file, uri: self.uri.clone(), version, text: Text::new(rope) }
    }
}

/// The letter at a position: past a line's end its end, past the last line the text's end, inside a letter its start.
fn letter_at(rope: &Rope, position: Position, encoding: Encoding) -> usize {
    let number = position.line as usize;
    if number >= rope.len_lines() {
        return rope.len_chars();
    }
    let (Ok(start), Some(line)) = (rope.try_line_to_char(number), rope.get_line(number)) else {
        return rope.len_chars();
    };
    start + column_to_letters(line, position.character as usize, encoding).min(without_end(line))
}

/// How many letters the line has before its line end.
fn without_end(line: RopeSlice<'_>) -> usize {
    let length = line.len_chars();
    let before = |back: usize| length.checked_sub(back).and_then(|at| line.get_char(at));
    match (before(2), before(1)) {
        (Some('\r'), Some('\n')) => length - 2,
        (_, Some('\n' | '\r')) => length - 1,
        _ => length,
    }
}

fn column_to_letters(line: RopeSlice<'_>, column: usize, encoding: Encoding) -> usize {
    let letters = match encoding {
        Encoding::Utf8 => line.try_byte_to_char(column),
        Encoding::Utf16 => line.try_utf16_cu_to_char(column),
        Encoding::Utf32 => Ok(column),
    };
    letters.unwrap_or(usize::MAX)
}

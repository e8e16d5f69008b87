//! Open documents: their text as a rope, edited in place by the client's changes, and what was read from it, once.

use ropey::{Rope, RopeSlice};
use spec_lang::reading::Reading;
use spec_lang::source::FileId;
use spec_lang::text::{Encoding, LineIndex};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use tower_lsp::ls_types::{Position, TextDocumentContentChangeEvent, Uri};

/// A text with what was read from it; each is computed when first asked for.
#[derive(Debug)]
pub(crate) struct Text {
    id: u64,
    rope: Rope,
    /// What was read from the text before the edit: most of it holds still. Let go when this text is read.
    before: Mutex<Option<Arc<Reading>>>,
    reading: OnceLock<Arc<Reading>>,
    lines: OnceLock<LineIndex>,
}

impl Text {
    /// Of a rope.
    pub(crate) fn new(rope: Rope) -> Text {
        Text::behind(None, rope)
    }

    fn behind(before: Option<Arc<Reading>>, rope: Rope) -> Text {
        static TEXTS: AtomicU64 = AtomicU64::new(1);
        let id = TEXTS.fetch_add(1, Ordering::Relaxed);
        Text { id, rope, before: Mutex::new(before), reading: OnceLock::new(), lines: OnceLock::new() }
    }

    /// The text after an edit of it.
    fn edited(&self, rope: Rope) -> Text {
        Text::behind(self.reading.get().cloned().or_else(|| self.before().clone()), rope)
    }

    fn before(&self) -> MutexGuard<'_, Option<Arc<Reading>>> {
        self.before.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A number that no other text of this process has: what was judged of it holds as long as it is the same.
    pub(crate) fn id(&self) -> u64 {
        self.id
    }

    /// What it says.
    pub(crate) fn reading(&self) -> &Arc<Reading> {
        self.reading.get_or_init(|| {
            let text = Arc::from(String::from(&self.rope));
            let before = self.before().clone();
            let reading = match before {
                Some(before) => before.edited(text),
                None => Reading::new(text),
            };
            *self.before() = None;
            Arc::new(reading)
        })
    }

    /// Where its lines begin.
    pub(crate) fn lines(&self) -> &LineIndex {
        self.lines.get_or_init(|| self.reading().tree.line_index())
    }

    /// Whether one of the words stands in it; nothing is read for that.
    pub(crate) fn holds(&self, words: &[&str]) -> bool {
        match self.reading.get() {
            Some(reading) => words.iter().any(|word| reading.tree.text.contains(word)),
            None => {
                let text = String::from(&self.rope);
                words.iter().any(|word| text.contains(word))
            }
        }
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
    pub(crate) text: Arc<Text>,
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
        Open { file: self.file, uri: self.uri.clone(), version, text: Arc::new(self.text.edited(rope)) }
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use tower_lsp::ls_types::Range;

    /// The byte of a position by the protocol's own words, one letter at a time: an independent count.
    fn byte_at(text: &str, position: Position, encoding: Encoding) -> usize {
        let (mut line, mut column, mut before) = (0, 0, '\0');
        for (at, letter) in text.char_indices() {
            let ended = before == '\n' || (before == '\r' && letter != '\n');
            if ended {
                (line, column) = (line + 1, 0);
            }
            let width = match encoding {
                Encoding::Utf8 => letter.len_utf8(),
                Encoding::Utf16 => letter.len_utf16(),
                Encoding::Utf32 => 1,
            };
            let at_end = letter == '\n' || letter == '\r';
            if line == position.line && (at_end || position.character < column + width as u32) {
                // Between CR and LF lies no position of its own.
                return if letter == '\n' && before == '\r' { at - 1 } else { at };
            }
            column += width as u32;
            before = letter;
        }
        text.len()
    }

    fn any_text() -> impl Strategy<Value = String> {
        "(a|β|😀|²| |\n|\r\n|\r|  size 4 mm²\r\n){0,12}"
    }

    fn any_position() -> impl Strategy<Value = Position> {
        (0u32..14, 0u32..16).prop_map(|(line, character)| Position { line, character })
    }

    proptest! {
        #[test]
        fn edits_end_in_the_text_that_the_client_has(
            start in any_text(),
            edits in prop::collection::vec((any_position(), any_position(), any_text()), 0..8),
        ) {
            for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
                let mut text = start.clone();
                let mut changes = Vec::new();
                for (one, other, insert) in &edits {
                    let (start, end) = (*one.min(other), *one.max(other));
                    let (from, to) = (byte_at(&text, start, encoding), byte_at(&text, end, encoding));
                    text.replace_range(from..to, insert);
                    changes.push(TextDocumentContentChangeEvent {
                        range: Some(Range { start, end }),
                        range_length: None,
                        text: insert.clone(),
                    });
                }
                let uri: Uri = "untitled:a".parse().map_err(|_| TestCaseError::fail("an address"))?;
                let open = Open { file: FileId(0), uri, version: 1, text: Arc::new(Text::new(Rope::from_str(&start))) };
                let changed = open.changed(&changes, 2, encoding);
                prop_assert_eq!(changed.text.text(), text.as_str(), "{:?}", encoding);
                // The line index of the language and the rope must agree on every line.
                prop_assert_eq!(changed.text.lines().count(), changed.text.rope.len_lines());
            }
        }
    }
}

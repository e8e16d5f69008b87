//! From byte offsets to the lines and columns that people read. How a file is called is asked of the edge.

use crate::analysis::Analysis;
use crate::reading::Reading;
use crate::source::{FileId, Place};
use std::sync::Arc;

/// How the edge calls its files.
pub type Naming<'a> = &'a dyn Fn(FileId) -> Arc<str>;

/// A line and a column as people count them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Position {
    /// Line, from 1.
    pub line: u32,
    /// Column, from 1, in characters (Unicode scalar values); a byte-order mark is not counted.
    pub column: u32,
}

/// Finds places. It remembers the last one, so that places asked for in order cost the text once, however long a line.
pub struct Locator<'a> {
    analysis: &'a Analysis,
    last: Option<(FileId, u32, Position)>,
}

impl<'a> Locator<'a> {
    /// For the files of an analysis.
    pub fn new(analysis: &'a Analysis) -> Locator<'a> {
        Locator { analysis, last: None }
    }

    /// Where the byte is. An offset past the end is the end; one inside a character is that character's start.
    pub fn position(&mut self, file: FileId, offset: u32) -> Position {
        let Some(reading) = self.analysis.reading(file) else { return Position { line: 1, column: 1 } };
        let text = &reading.tree.text;
        let mut offset = offset.min(u32::try_from(text.len()).unwrap_or(u32::MAX));
        while offset > 0 && !text.is_char_boundary(offset as usize) {
            offset -= 1;
        }
        let (line, start) = line_of(reading, offset);
        let (from, before) = match self.last {
            Some((known, at, place)) if known == file && place.line == line && start <= at && at <= offset => {
                (at, place.column)
            }
            _ => (start, 1),
        };
        let between = text.get(from as usize..offset as usize).unwrap_or("").chars().count();
        let found = Position { line, column: before.saturating_add(u32::try_from(between).unwrap_or(u32::MAX)) };
        self.last = Some((file, offset, found));
        found
    }

    /// Where a place starts.
    pub fn start(&mut self, place: Place) -> Position {
        self.position(place.file, place.span.start)
    }
}

/// The line that holds the byte, from 1, and its first byte after a byte-order mark.
fn line_of(reading: &Reading, offset: u32) -> (u32, u32) {
    let number = reading.tree.line_at(offset);
    let start = reading.tree.lines.get(number).map_or(0, |line| line.span.start);
    let mark = if start == 0 && reading.tree.text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let start = start.max(u32::try_from(mark).unwrap_or(0)).min(offset);
    (u32::try_from(number).unwrap_or(u32::MAX).saturating_add(1), start)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::NoFiles;
    use crate::text::{Encoding, LineIndex};
    use proptest::prelude::*;

    proptest! {
        /// The line index counts the same places by another way.
        #[test]
        fn places_are_those_of_the_line_index(
            text in "(a|²|😀|\\r|\\n|\\t|#|\"){0,40}",
            asked in proptest::collection::vec(0u32..90, 0..8),
        ) {
            let index = LineIndex::new(&text);
            let reading = Arc::new(Reading::new(Arc::from(text.as_str())));
            let analysis = crate::analyse(FileId(0), reading, &NoFiles, None);
            let mut locator = Locator::new(&analysis);
            for offset in asked {
                let found = locator.position(FileId(0), offset);
                let want = index.position(&text, offset, Encoding::Utf32);
                prop_assert_eq!((found.line, found.column), (want.line + 1, want.column + 1), "{:?} at {}", text, offset);
            }
        }
    }

    #[test]
    fn a_byte_order_mark_takes_no_column() {
        let reading = Arc::new(Reading::new(Arc::from("\u{feff}job\nx")));
        let analysis = crate::analyse(FileId(0), reading, &NoFiles, None);
        let mut locator = Locator::new(&analysis);
        assert_eq!(locator.position(FileId(0), 3), Position { line: 1, column: 1 });
        assert_eq!(locator.position(FileId(0), 4), Position { line: 1, column: 2 });
        assert_eq!(locator.position(FileId(0), 0), Position { line: 1, column: 1 });
    }
}

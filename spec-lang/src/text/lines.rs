//! Where lines begin, and the columns of a place in the three encodings that editors speak.

/// The unit in which a column is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// Bytes.
    Utf8,
    /// UTF-16 code units.
    Utf16,
    /// Unicode scalar values.
    Utf32,
}

impl Encoding {
    /// How many units the text is long.
    pub fn count(self, text: &str) -> usize {
        match self {
            Encoding::Utf8 => text.len(),
            Encoding::Utf16 => text.chars().map(char::len_utf16).sum(),
            Encoding::Utf32 => text.chars().count(),
        }
    }
}

/// Line and column, both from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    /// Line, from 0.
    pub line: u32,
    /// Column in the encoding's units, from 0.
    pub column: u32,
}

/// The first byte of every line. Lines end with LF, CRLF or a lone CR, as in the language-server protocol.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineIndex {
    starts: Vec<u32>,
    length: u32,
}

impl LineIndex {
    /// Reads the text once.
    pub fn new(text: &str) -> LineIndex {
        let bytes = text.as_bytes();
        let mut starts = vec![0u32];
        for (at, byte) in bytes.iter().enumerate() {
            let ends = *byte == b'\n' || (*byte == b'\r' && bytes.get(at + 1) != Some(&b'\n'));
            if ends {
                starts.push(u32::try_from(at + 1).unwrap_or(u32::MAX));
            }
        }
        LineIndex { starts, length: u32::try_from(text.len()).unwrap_or(u32::MAX) }
    }

    /// Of lines that somebody has found already: where each begins, in order, and the length of the text.
    pub fn found(starts: impl Iterator<Item = u32>, length: u32) -> LineIndex {
        // What stands before a line, such as a byte-order mark before the first, belongs to the first.
        let starts = std::iter::once(0).chain(starts.skip(1)).collect();
        LineIndex { starts, length }
    }

    /// How many lines: one more than there are line ends.
    pub fn count(&self) -> usize {
        self.starts.len()
    }

    /// The line that holds the byte, from 0.
    pub fn line_of(&self, offset: u32) -> u32 {
        let after = self.starts.partition_point(|start| *start <= offset);
        u32::try_from(after.saturating_sub(1)).unwrap_or(u32::MAX)
    }

    /// First byte of the line and first byte of the next, line end included.
    pub fn line_range(&self, line: u32) -> (u32, u32) {
        let start = self.starts.get(line as usize).copied().unwrap_or(self.length);
        let end = self.starts.get(line as usize + 1).copied().unwrap_or(self.length);
        (start, end)
    }

    /// The place of a byte. An offset past the end is the end; one inside a character is that character's start.
    pub fn position(&self, text: &str, offset: u32, encoding: Encoding) -> Position {
        let mut offset = offset.min(self.length);
        while offset > 0 && !text.is_char_boundary(offset as usize) {
            offset -= 1;
        }
        let line = self.line_of(offset);
        let (start, _) = self.line_range(line);
        let before = text.get(start as usize..offset as usize).unwrap_or("");
        Position { line, column: u32::try_from(encoding.count(before)).unwrap_or(u32::MAX) }
    }

    /// The byte of a place. Past the line's end is the line's end; inside a character is that character's start.
    pub fn offset(&self, text: &str, position: Position, encoding: Encoding) -> u32 {
        if position.line as usize >= self.starts.len() {
            return self.length;
        }
        let (start, end) = self.line_range(position.line);
        let line = text.get(start as usize..end as usize).unwrap_or("");
        let line = line.trim_end_matches(['\n', '\r']);
        let mut left = position.column as usize;
        for (at, letter) in line.char_indices() {
            let width = match encoding {
                Encoding::Utf8 => letter.len_utf8(),
                Encoding::Utf16 => letter.len_utf16(),
                Encoding::Utf32 => 1,
            };
            if left < width {
                return start + u32::try_from(at).unwrap_or(0);
            }
            left -= width;
        }
        start + u32::try_from(line.len()).unwrap_or(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_come_back_in_every_encoding() {
        let text = "a\r\nβ²😀x\rlast\n";
        let index = LineIndex::new(text);
        assert_eq!(index.count(), 4);
        for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
            for (offset, _) in text.char_indices() {
                if text.as_bytes()[offset] == b'\n' && offset > 0 && text.as_bytes()[offset - 1] == b'\r' {
                    continue; // between CR and LF there is no place of its own
                }
                let place = index.position(text, offset as u32, encoding);
                assert_eq!(index.offset(text, place, encoding), offset as u32, "{encoding:?} {offset}");
            }
        }
    }

    #[test]
    fn places_outside_the_text_are_clamped() {
        let text = "ab\n😀c";
        let index = LineIndex::new(text);
        assert_eq!(index.offset(text, Position { line: 0, column: 99 }, Encoding::Utf16), 2);
        assert_eq!(index.offset(text, Position { line: 9, column: 0 }, Encoding::Utf16), 8);
        assert_eq!(index.offset(text, Position { line: 1, column: 1 }, Encoding::Utf16), 3, "inside a surrogate pair");
        assert_eq!(index.position(text, 5, Encoding::Utf16), Position { line: 1, column: 0 });
    }
}

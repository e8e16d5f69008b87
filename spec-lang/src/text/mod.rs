//! Byte offsets, ranges, the line index in three encodings, and text edits. Nothing of the language.

mod lines;

pub use lines::{Encoding, LineIndex, Position};

/// A range of bytes in one text: `start..end`, end excluded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// From byte offsets; offsets past 4 GiB saturate (texts that long are refused at the edges).
    pub fn new(start: usize, end: usize) -> Span {
        let clamp = |offset: usize| u32::try_from(offset).unwrap_or(u32::MAX);
        Span { start: clamp(start), end: clamp(end.max(start)) }
    }

    /// The empty range at an offset.
    pub fn point(at: u32) -> Span {
        Span { start: at, end: at }
    }

    /// The smallest range that holds both.
    pub fn cover(self, other: Span) -> Span {
        Span { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// Whether the offset lies in it, its end included.
    pub fn touches(self, offset: u32) -> bool {
        self.start <= offset && offset <= self.end
    }

    /// The text under it; empty where it does not fit the text.
    pub fn of(self, text: &str) -> &str {
        text.get(self.range()).unwrap_or("")
    }

    /// As a range of `usize`.
    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }

    /// How many bytes.
    pub fn len(self) -> usize {
        (self.end - self.start) as usize
    }

    /// Whether it holds no byte.
    pub fn is_empty(self) -> bool {
        self.start == self.end
    }
}

/// Files this long and longer are refused at the edges: no job is, and offsets must fit.
pub const LONGEST_FILE: u64 = 64 << 20;

/// Why a file of [`LONGEST_FILE`] or more is not read.
pub fn too_long() -> String {
    format!("it is {} MiB or longer, which no job is", LONGEST_FILE >> 20)
}

/// The text that a file's bytes are, or why they are none: where they stop being UTF-8.
pub fn from_bytes(bytes: Vec<u8>) -> Result<String, String> {
    String::from_utf8(bytes).map_err(|error| {
        let (bytes, good) = (error.as_bytes(), error.utf8_error().valid_up_to());
        let (before, after) = bytes.split_at(good.min(bytes.len()));
        let line = 1 + before.iter().filter(|byte| **byte == b'\n').count();
        let first = after.first().copied().unwrap_or(0);
        let looks = match bytes {
            [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => "; it looks like UTF-16",
            _ => "",
        };
        format!(
            "it is not UTF-8 text: byte {first:#04x} at offset {good}, in line {line}, does not fit{looks}; save it as UTF-8"
        )
    })
}

/// One replacement in a text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// What goes.
    pub span: Span,
    /// What comes.
    pub insert: String,
}

/// The text with the edits made, or `None` where two of them overlap or one does not fit the text.
pub fn apply(text: &str, edits: &[Edit]) -> Option<String> {
    let mut order: Vec<&Edit> = edits.iter().collect();
    order.sort_by_key(|edit| edit.span);
    let mut out = String::with_capacity(text.len());
    let mut done = 0usize;
    for edit in order {
        let range = edit.span.range();
        out.push_str(text.get(done..range.start)?);
        out.push_str(&edit.insert);
        done = range.end;
    }
    out.push_str(text.get(done..)?);
    Some(out)
}

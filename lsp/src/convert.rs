//! Byte offsets to the protocol's positions and back, and files to addresses.

use crate::documents::{Open, Text};
use crate::world::{Look, Snapshot};
use spec_lang::source::{FileId, Place};
use spec_lang::text::{Edit, Encoding, LineIndex, Span};
use std::sync::Arc;
use tower_lsp::ls_types::{Location, Position, Range, TextEdit, Uri};

/// The position of a byte.
pub(crate) fn position(lines: &LineIndex, text: &str, offset: u32, encoding: Encoding) -> Position {
    let place = lines.position(text, offset, encoding);
    Position { line: place.line, character: place.column }
}

impl Look {
    /// How columns are counted.
    pub(crate) fn encoding(&self) -> Encoding {
        self.snapshot.settings.encoding
    }

    /// The byte of a position in the document.
    pub(crate) fn offset(&self, position: Position) -> u32 {
        let place = spec_lang::text::Position { line: position.line, column: position.character };
        self.open.text.lines().offset(self.open.text.text(), place, self.encoding())
    }

    /// The range of a span of the document.
    pub(crate) fn range(&self, span: Span) -> Range {
        range(&self.open.text, span, self.encoding())
    }

    /// An edit of the document.
    pub(crate) fn edit(&self, edit: &Edit) -> TextEdit {
        TextEdit { range: self.range(edit.span), new_text: edit.insert.clone() }
    }
}

/// The range of a span.
pub(crate) fn range(text: &Text, span: Span, encoding: Encoding) -> Range {
    let (lines, text) = (text.lines(), text.text());
    Range { start: position(lines, text, span.start, encoding), end: position(lines, text, span.end, encoding) }
}

/// A file's text: the open document's where it is open, else what was last read from the disk.
pub(crate) enum Held {
    /// An open document.
    Open(Arc<Open>),
    /// A file on the disk.
    Disk(Arc<Text>, Uri),
}

impl Held {
    /// Its text.
    pub(crate) fn text(&self) -> &Text {
        match self {
            Held::Open(open) => &open.text,
            Held::Disk(text, _) => text,
        }
    }

    /// Its address.
    pub(crate) fn uri(&self) -> &Uri {
        match self {
            Held::Open(open) => &open.uri,
            Held::Disk(_, uri) => uri,
        }
    }
}

impl Snapshot {
    /// The file of that number.
    pub(crate) fn held(&self, file: FileId) -> Option<Held> {
        if let Some(open) = self.open.get(&file) {
            return Some(Held::Open(Arc::clone(open)));
        }
        let uri = Uri::from_file_path(self.files.path(file)?)?;
        Some(Held::Disk(self.files.last_read(file)?, uri))
    }

    /// A place as the protocol gives it.
    pub(crate) fn location(&self, place: Place) -> Option<Location> {
        let held = self.held(place.file)?;
        Some(Location { uri: held.uri().clone(), range: range(held.text(), place.span, self.settings.encoding) })
    }
}

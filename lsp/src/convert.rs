//! Byte offsets to the protocol's positions and back, and files to addresses.

use crate::documents::{Open, Text};
use crate::world::{Look, Snapshot};
use spec_lang::source::{FileId, Place};
use spec_lang::text::{Edit, Encoding, LineIndex, Span};
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;
use tower_lsp::ls_types::{
    DocumentChanges, Location, OneOf, OptionalVersionedTextDocumentIdentifier, Position, Range, TextDocumentEdit,
    TextEdit, Uri, WorkspaceEdit,
};

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

    /// What people call the document: its file's name, else its address.
    pub(crate) fn name(&self) -> String {
        let path = self.snapshot.files.path(self.open.file);
        let name = path.as_ref().and_then(|path| path.file_name()).map(|name| name.to_string_lossy().into_owned());
        name.unwrap_or_else(|| self.open.uri.as_str().to_string())
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

    /// Edits of files as one change of the workspace, in the form that the client takes.
    pub(crate) fn workspace_edit(&self, edits: &[(FileId, Edit)]) -> Option<WorkspaceEdit> {
        self.snapshot.workspace_edit(edits)
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

    /// Edits of files as one change of the workspace, in the form that the client takes: with the versions they are for
    /// where it can hold them against those.
    pub(crate) fn workspace_edit(&self, edits: &[(FileId, Edit)]) -> Option<WorkspaceEdit> {
        let mut by_file: BTreeMap<FileId, Vec<&Edit>> = BTreeMap::new();
        for (file, edit) in edits {
            by_file.entry(*file).or_default().push(edit);
        }
        let encoding = self.settings.encoding;
        let mut files = Vec::new();
        for (file, edits) in by_file {
            let held = self.held(file)?;
            let edits: Vec<TextEdit> = edits
                .iter()
                .map(|edit| TextEdit { range: range(held.text(), edit.span, encoding), new_text: edit.insert.clone() })
                .collect();
            files.push((held, edits));
        }
        if self.settings.versioned_edits {
            let changes = files.into_iter().map(|(held, edits)| {
                let version = match &held {
                    Held::Open(open) => Some(open.version),
                    Held::Disk(..) => None,
                };
                TextDocumentEdit {
                    text_document: OptionalVersionedTextDocumentIdentifier { uri: held.uri().clone(), version },
                    edits: edits.into_iter().map(OneOf::Left).collect(),
                }
            });
            return Some(WorkspaceEdit {
                document_changes: Some(DocumentChanges::Edits(changes.collect())),
                ..WorkspaceEdit::default()
            });
        }
        let changes: HashMap<_, _> = files.into_iter().map(|(held, edits)| (held.uri().clone(), edits)).collect();
        Some(WorkspaceEdit { changes: Some(changes), ..WorkspaceEdit::default() })
    }

    /// A place as the protocol gives it.
    pub(crate) fn location(&self, place: Place) -> Option<Location> {
        let held = self.held(place.file)?;
        Some(Location { uri: held.uri().clone(), range: range(held.text(), place.span, self.settings.encoding) })
    }
}

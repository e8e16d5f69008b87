//! `textDocument/definition`, and the links of `follows` lines.

use crate::files::Following;
use crate::world::Look;
use spec_lang::assist::{Meaning, occurrence_at};
use spec_lang::source::{FileId, Followed, Place, Source};
use spec_lang::text::Span;
use tower_lsp::ls_types::{DocumentLink, GotoDefinitionResponse, Position};

/// Where the name at the position is defined; of a `follows` line, the file.
pub(crate) fn answer(look: &Look, position: Position) -> Option<GotoDefinitionResponse> {
    let offset = look.offset(position);
    let mut followed = look.open.text.reading().follows.iter();
    if let Some(span) = followed.find(|span| span.touches(offset)) {
        let start = Place { file: followed_by(look, *span)?, span: Span::default() };
        return look.snapshot.location(start).map(GotoDefinitionResponse::Scalar);
    }
    let judged = look.snapshot.sketch(&look.open);
    let meaning = occurrence_at(&judged.analysis.job, look.open.file, offset)?.meaning;
    look.snapshot.location(meaning.and_then(Meaning::place)?).map(GotoDefinitionResponse::Scalar)
}

/// The followed files, each behind what is written of it.
pub(crate) fn links(look: &Look) -> Vec<DocumentLink> {
    let reading = look.open.text.reading();
    let links = reading.follows.iter().filter_map(|span| {
        let held = look.snapshot.held(followed_by(look, *span)?)?;
        let quoted = reading.slice(*span).starts_with('"');
        let inside = Span { start: span.start + u32::from(quoted), end: span.end - u32::from(quoted) };
        Some(DocumentLink {
            range: look.range(if inside.is_empty() { *span } else { inside }),
            target: Some(held.uri().clone()),
            tooltip: None,
            data: None,
        })
    });
    links.collect()
}

/// The file that a `follows` line leads to.
fn followed_by(look: &Look, span: Span) -> Option<FileId> {
    let snapshot = &look.snapshot;
    let source = Following::new(&snapshot.files, &snapshot.open, &snapshot.settings.folders, look.open.file);
    match source.follow(look.open.file, look.open.text.reading().plain_text(span)) {
        Followed::File(file, _) => Some(file),
        _ => None,
    }
}

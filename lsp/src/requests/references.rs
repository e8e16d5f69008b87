//! `textDocument/references` and `textDocument/documentHighlight`.

use crate::world::Look;
use spec_lang::assist::{Meaning, occurrence_at, occurrences};
use spec_lang::source::Place;
use std::collections::BTreeSet;
use tower_lsp::ls_types::{DocumentHighlight, DocumentHighlightKind, Location, Position};

/// Every place of the workspace that means what the name at the position means.
pub(crate) fn answer(look: &Look, position: Position, with_definition: bool) -> Option<Vec<Location>> {
    let judged = look.snapshot.sketch(&look.open);
    let job = &judged.analysis.job;
    let found = occurrence_at(job, look.open.file, look.offset(position))?;
    let meaning = found.meaning?;
    let places = places(look, meaning, job.text(found.place), with_definition);
    Some(places.into_iter().filter_map(|place| look.snapshot.location(place)).collect())
}

/// Every place of the workspace with a meaning; `text` is how it is written.
pub(crate) fn places(look: &Look, meaning: Meaning, text: &str, with_definition: bool) -> BTreeSet<Place> {
    let mut places = BTreeSet::new();
    for (_, known) in look.snapshot.jobs_with(&[text], &[look.open.file]) {
        let same = occurrences(known.job()).into_iter().filter(|it| it.meaning == Some(meaning));
        places.extend(same.filter(|it| with_definition || !it.defines).map(|it| it.place));
    }
    places
}

/// The places in the document that mean what the name at the position means.
pub(crate) fn highlights(look: &Look, position: Position) -> Option<Vec<DocumentHighlight>> {
    let judged = look.snapshot.sketch(&look.open);
    let all = occurrences(&judged.analysis.job);
    let here = occurrence_at(&judged.analysis.job, look.open.file, look.offset(position))?.meaning?;
    let same = all.into_iter().filter(|it| it.meaning == Some(here) && it.place.file == look.open.file);
    let highlights = same.map(|it| DocumentHighlight {
        range: look.range(it.place.span),
        kind: Some(if it.defines { DocumentHighlightKind::WRITE } else { DocumentHighlightKind::READ }),
    });
    Some(highlights.collect())
}

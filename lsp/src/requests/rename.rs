//! `textDocument/prepareRename` and `textDocument/rename`: across every file of the workspace that has the name, and not
//! at all where any name would then mean something else.

use crate::world::{Look, World};
use spec_lang::assist::{Meaning, Occurrence, occurrence_at, refused_name, renamed, same_meanings, who_has};
use spec_lang::source::FileId;
use spec_lang::text::Edit;
use std::collections::BTreeSet;
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::ls_types::{Position, PrepareRenameResponse, WorkspaceEdit};

/// `RequestFailed` (LSP 3.17): the request was right and cannot be done.
const REQUEST_FAILED: i64 = -32803;

/// A refusal, in words for the person who asked.
pub(crate) fn refused(reason: impl Into<String>) -> Error {
    let reason: String = reason.into();
    Error { code: ErrorCode::ServerError(REQUEST_FAILED), message: reason.into(), data: None }
}

fn named(look: &Look, position: Position) -> Result<Option<(Occurrence, Meaning, String)>> {
    let judged = look.snapshot.sketch(&look.open);
    let job = &judged.analysis.job;
    let Some(found) = occurrence_at(job, look.open.file, look.offset(position)) else { return Ok(None) };
    let text = job.text(found.place).to_string();
    match found.meaning {
        None => Err(refused(format!("nothing here or in the followed files is called `{text}`"))),
        Some(Meaning::Rule(_)) => Err(refused(format!("`{text}` is a rule's name, which is permanent"))),
        Some(meaning) => Ok(Some((found, meaning, text))),
    }
}

/// The name at the position, where it may be renamed.
pub(crate) fn prepare(look: &Look, position: Position) -> Result<Option<PrepareRenameResponse>> {
    let Some((found, _, placeholder)) = named(look, position)? else { return Ok(None) };
    Ok(Some(PrepareRenameResponse::RangeWithPlaceholder { range: look.range(found.place.span), placeholder }))
}

/// The edits that rename what stands at the position.
pub(crate) fn answer(look: &Look, world: &World, position: Position, new: &str) -> Result<Option<WorkspaceEdit>> {
    let Some((_, meaning, old)) = named(look, position)? else { return Ok(None) };
    if let Some(reason) = refused_name(new) {
        return Err(refused(reason));
    }
    if new == old {
        return Ok(Some(WorkspaceEdit::default()));
    }
    let snapshot = &look.snapshot;
    let own = snapshot.judge(&look.open);
    let mut more: Vec<FileId> = own.analysis.readings().iter().map(|(file, _)| *file).collect();
    more.extend(meaning.place().map(|place| place.file));
    // Jobs with the new name take part, too: there it may be taken.
    let jobs = snapshot.jobs_with(&[&old, new], &more);
    let mut places = BTreeSet::new();
    let mut edits: Vec<(FileId, Edit)> = Vec::new();
    for (_, known) in &jobs {
        for (file, edit) in renamed(known.job(), meaning, new) {
            if places.insert((file, edit.span)) {
                edits.push((file, edit));
            }
        }
    }
    let edited: BTreeSet<FileId> = edits.iter().map(|(file, _)| *file).collect();
    for file in edited {
        snapshot.may_edit(file).map_err(refused)?;
    }
    let files: Vec<FileId> = jobs.iter().map(|(file, _)| *file).collect();
    let after = snapshot.with_edits(&edits, &files).ok_or_else(Error::content_modified)?;
    for ((_, before), after) in jobs.iter().zip(&after) {
        if !same_meanings(before.job(), after) {
            let reason = match who_has(before.job(), new) {
                Some(kind) => format!("`{new}` is the name of a {kind} already; a name means one thing"),
                None => format!("with the name `{new}` another line would mean something else"),
            };
            return Err(refused(reason));
        }
    }
    if !world.is_current(&look.open) {
        return Err(Error::content_modified());
    }
    Ok(look.workspace_edit(&edits))
}

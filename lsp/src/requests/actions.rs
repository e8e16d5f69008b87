//! `textDocument/codeAction`.

use crate::convert::{self, Held};
use crate::findings;
use crate::world::{Look, World};
use spec_lang::assist::{self, Fix};
use spec_lang::source::FileId;
use spec_lang::text::{Edit, Span};
use std::collections::{BTreeMap, HashMap};
use tower_lsp::ls_types::{
    CodeAction, CodeActionKind, CodeActionOrCommand, CodeActionParams, Diagnostic, DocumentChanges, OneOf,
    OptionalVersionedTextDocumentIdentifier, TextDocumentEdit, TextEdit, WorkspaceEdit,
};

/// The ways to mend what is found in the range. None where the text has changed since it was judged, and none for
/// clients that know actions only as commands.
pub(crate) fn answer(look: &Look, world: &World, params: &CodeActionParams) -> Vec<CodeActionOrCommand> {
    let settings = &look.snapshot.settings;
    let wanted = params.context.only.as_ref().is_none_or(|only| {
        only.iter().any(|kind| {
            let kind = kind.as_str();
            kind.is_empty() || CodeActionKind::QUICKFIX.as_str() == kind
        })
    });
    if !wanted || !settings.action_literals {
        return Vec::new();
    }
    let judged = look.snapshot.judge(&look.open);
    let start = look.offset(params.range.start);
    let span = Span { start, end: look.offset(params.range.end).max(start) };
    let fixes = assist::fixes(&judged.analysis, span);
    if fixes.is_empty() || !world.is_current(&look.open) {
        return Vec::new();
    }
    let shown = findings::diagnostics(look, &judged);
    let actions = fixes.iter().filter_map(|fix| action(look, fix, &shown, &params.context.diagnostics));
    actions.map(CodeActionOrCommand::CodeAction).collect()
}

fn action(look: &Look, fix: &Fix<'_>, shown: &[Diagnostic], sent: &[Diagnostic]) -> Option<CodeAction> {
    let edit = workspace_edit(look, &fix.remedy.edits)?;
    let range = look.range(fix.finding.place.span);
    let same =
        |diagnostic: &&Diagnostic| {
            diagnostic.code.as_ref().is_some_and(|code| {
                *code == tower_lsp::ls_types::NumberOrString::String(fix.finding.rule.name.to_string())
            }) && (diagnostic.range == range || fix.finding.place.file != look.open.file)
        };
    // The client's own copy ties the action to the mark it drew; else the one it would be sent.
    let about = sent.iter().find(same).or_else(|| shown.iter().find(same)).cloned();
    Some(CodeAction {
        title: fix.remedy.title.clone(),
        kind: Some(CodeActionKind::QUICKFIX),
        diagnostics: about.map(|diagnostic| vec![diagnostic]),
        edit: Some(edit),
        is_preferred: (look.snapshot.settings.preferred && fix.remedy.unseen).then_some(true),
        ..CodeAction::default()
    })
}

fn workspace_edit(look: &Look, edits: &[(FileId, Edit)]) -> Option<WorkspaceEdit> {
    let mut by_file: BTreeMap<FileId, Vec<&Edit>> = BTreeMap::new();
    for (file, edit) in edits {
        by_file.entry(*file).or_default().push(edit);
    }
    let encoding = look.encoding();
    let mut files = Vec::new();
    for (file, edits) in by_file {
        let held = look.snapshot.held(file)?;
        let edits: Vec<TextEdit> = edits
            .iter()
            .map(|edit| TextEdit {
                range: convert::range(held.text(), edit.span, encoding),
                new_text: edit.insert.clone(),
            })
            .collect();
        files.push((held, edits));
    }
    if look.snapshot.settings.versioned_edits {
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

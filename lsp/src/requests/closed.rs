//! `workspace/diagnostic`: the findings of the files of the opened folders that are not open.

use crate::findings;
use crate::requests::pulled::fingerprint;
use crate::world::{self, Look, Snapshot};
use spec_lang::source::FileId;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use tower_lsp::ls_types::{
    Diagnostic, FullDocumentDiagnosticReport, UnchangedDocumentDiagnosticReport, Uri,
    WorkspaceDocumentDiagnosticReport, WorkspaceFullDocumentDiagnosticReport,
    WorkspaceUnchangedDocumentDiagnosticReport,
};

/// What was found in a closed file, and what that rests on.
#[derive(Debug)]
pub(crate) struct Closed {
    /// Its address.
    pub(crate) uri: Uri,
    /// The findings.
    pub(crate) found: Vec<Diagnostic>,
    /// Tells them apart from others.
    pub(crate) id: String,
    /// The files that they rest on, itself first, each with the number of its text; 0 where there was none.
    rests_on: Vec<(FileId, u64)>,
    /// The day they were judged on, since concessions run out.
    day: u64,
}

impl Closed {
    /// Whether a change of one of the files can have touched it.
    pub(crate) fn rests_on(&self, changed: &BTreeSet<FileId>) -> bool {
        self.rests_on.iter().any(|(file, _)| changed.contains(file))
    }
}

/// The findings of a closed file, judged anew only where something that they rest on has changed; `None` where there is
/// no such file.
pub(crate) fn judged(snapshot: &Arc<Snapshot>, file: FileId) -> Option<Arc<Closed>> {
    let text = |file: &FileId| snapshot.held_now(*file).map_or(0, |held| held.text().id());
    let known = snapshot.files.closed().get(&file).map(Arc::clone);
    let day = world::days();
    let holds = |known: &Arc<Closed>| known.day == day && known.rests_on.iter().all(|(file, id)| text(file) == *id);
    if let Some(known) = known.filter(holds) {
        return Some(known);
    }
    let Some(open) = snapshot.closed(file) else {
        snapshot.files.closed().remove(&file);
        return None;
    };
    let look = Look { snapshot: Arc::clone(snapshot), open: Arc::new(open) };
    let judging = || {
        let judged = snapshot.judge_anew(&look.open);
        let followed: Vec<(FileId, u64)> = judged.met.iter().map(|(file, _)| (*file, text(file))).collect();
        (findings::diagnostics(&look, &judged), followed)
    };
    let (found, followed) =
        catch_unwind(AssertUnwindSafe(judging)).unwrap_or_else(|_| (findings::own_fault(), Vec::new()));
    let mut rests_on = vec![(file, look.open.text.id())];
    rests_on.extend(followed);
    let id = fingerprint(&found);
    let closed = Arc::new(Closed { uri: look.open.uri.clone(), found, id, rests_on, day });
    snapshot.files.closed().insert(file, Arc::clone(&closed));
    Some(closed)
}

/// What the client is to be told of the closed files, and whether any of it is new to it.
pub(crate) fn report(
    snapshot: &Arc<Snapshot>,
    known: &HashMap<Uri, String>,
    stop: &AtomicBool,
) -> (Vec<WorkspaceDocumentDiagnosticReport>, bool) {
    let mut items = Vec::new();
    let mut news = false;
    let mut gone: BTreeMap<&Uri, &String> = known.iter().collect();
    for file in snapshot.listed().iter() {
        if stop.load(Ordering::Relaxed) {
            break;
        }
        if snapshot.open.contains_key(file) {
            continue;
        }
        let Some(closed) = judged(snapshot, *file) else { continue };
        let (uri, result_id) = (closed.uri.clone(), closed.id.clone());
        gone.remove(&uri);
        if known.get(&uri) == Some(&result_id) {
            let unchanged_document_diagnostic_report = UnchangedDocumentDiagnosticReport { result_id };
            items.push(
                WorkspaceUnchangedDocumentDiagnosticReport { uri, version: None, unchanged_document_diagnostic_report }
                    .into(),
            );
        } else {
            news = true;
            items.push(full(uri, Some(result_id), closed.found.clone()));
        }
    }
    // Of what is open the client asks on its own; what is neither is gone.
    let open: Vec<&Uri> = snapshot.open.values().map(|open| &open.uri).collect();
    for uri in gone.into_keys().filter(|uri| !open.contains(uri)) {
        news |= known.get(uri) != Some(&fingerprint(&[]));
        items.push(full(uri.clone(), Some(fingerprint(&[])), Vec::new()));
    }
    (items, news)
}

fn full(uri: Uri, result_id: Option<String>, items: Vec<Diagnostic>) -> WorkspaceDocumentDiagnosticReport {
    let full_document_diagnostic_report = FullDocumentDiagnosticReport { result_id, items };
    WorkspaceFullDocumentDiagnosticReport { uri, version: None, full_document_diagnostic_report }.into()
}

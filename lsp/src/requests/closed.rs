//! `workspace/diagnostic`: the findings of the files of the opened folders that are not open.

use crate::findings;
use crate::requests::pulled::fingerprint;
use crate::world::{Look, Snapshot};
use std::collections::{BTreeMap, HashMap};
use std::panic::{catch_unwind, AssertUnwindSafe};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::Arc;
use tower_lsp::ls_types::{
    Diagnostic, FullDocumentDiagnosticReport, UnchangedDocumentDiagnosticReport, Uri,
    WorkspaceDocumentDiagnosticReport, WorkspaceFullDocumentDiagnosticReport,
    WorkspaceUnchangedDocumentDiagnosticReport,
};

/// The findings of a closed file and the files that they rest on; `None` where there is no such file.
pub(crate) fn judged(
    snapshot: &Arc<Snapshot>,
    file: spec_lang::source::FileId,
) -> Option<(Uri, Vec<Diagnostic>, Vec<spec_lang::source::FileId>)> {
    let open = snapshot.closed(file)?;
    let look = Look { snapshot: Arc::clone(snapshot), open: Arc::new(open) };
    let judging = || {
        let judged = snapshot.judge_anew(&look.open);
        let rests_on = judged.met.iter().map(|(file, _)| *file).collect();
        (findings::diagnostics(&look, &judged), rests_on)
    };
    let (found, rests_on) =
        catch_unwind(AssertUnwindSafe(judging)).unwrap_or_else(|_| (findings::own_fault(), Vec::new()));
    Some((look.open.uri.clone(), found, rests_on))
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
        let Some((uri, found, _)) = judged(snapshot, *file) else { continue };
        let result_id = fingerprint(&found);
        gone.remove(&uri);
        if known.get(&uri) == Some(&result_id) {
            let unchanged_document_diagnostic_report = UnchangedDocumentDiagnosticReport { result_id };
            items.push(
                WorkspaceUnchangedDocumentDiagnosticReport { uri, version: None, unchanged_document_diagnostic_report }
                    .into(),
            );
        } else {
            news = true;
            items.push(full(uri, Some(result_id), found));
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

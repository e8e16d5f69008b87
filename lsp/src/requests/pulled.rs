//! `textDocument/diagnostic`.

use crate::findings;
use crate::world::{Look, World};
use std::hash::{DefaultHasher, Hash, Hasher};
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::ls_types::{
    Diagnostic, DocumentDiagnosticReport, DocumentDiagnosticReportResult, FullDocumentDiagnosticReport,
    RelatedFullDocumentDiagnosticReport, RelatedUnchangedDocumentDiagnosticReport, UnchangedDocumentDiagnosticReport,
    error_codes,
};

/// The findings of a document; a short answer where the client has them already.
pub(crate) fn answer(look: &Look, world: &World, previous: Option<&str>) -> Result<DocumentDiagnosticReportResult> {
    let judged = look.snapshot.judge(&look.open);
    let items = findings::diagnostics(look, &judged);
    if !world.is_current(&look.open) {
        // The text has moved on, and the client, who moved it, asks again.
        let mut error = Error::new(ErrorCode::ServerError(error_codes::SERVER_CANCELLED));
        error.message = "the text has changed meanwhile".into();
        error.data = Some(serde_json::json!({ "retriggerRequest": false }));
        return Err(error);
    }
    let result_id = fingerprint(&items);
    Ok(if previous == Some(result_id.as_str()) {
        let unchanged_document_diagnostic_report = UnchangedDocumentDiagnosticReport { result_id };
        let report =
            RelatedUnchangedDocumentDiagnosticReport { related_documents: None, unchanged_document_diagnostic_report };
        DocumentDiagnosticReport::from(report).into()
    } else {
        full(Some(result_id), items)
    })
}

/// A report that says all.
pub(crate) fn full(result_id: Option<String>, items: Vec<Diagnostic>) -> DocumentDiagnosticReportResult {
    let full_document_diagnostic_report = FullDocumentDiagnosticReport { result_id, items };
    let report = RelatedFullDocumentDiagnosticReport { related_documents: None, full_document_diagnostic_report };
    DocumentDiagnosticReport::from(report).into()
}

/// Tells findings apart from others.
pub(crate) fn fingerprint(items: &[Diagnostic]) -> String {
    let mut hasher = DefaultHasher::new();
    serde_json::to_string(items).unwrap_or_default().hash(&mut hasher);
    format!("{:016x}", hasher.finish())
}

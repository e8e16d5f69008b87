//! Findings as the protocol's diagnostics.

use crate::beside::Standing;
use crate::world::{Judged, Look};
use serde_json::json;
use spec_lang::finding::{Finding, NotJudged, Severity};
use spec_lang::rules::About;
use spec_lang::source::Place;
use spec_lang::text::Span;
use tower_lsp::ls_types::{
    CodeDescription, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag, NumberOrString,
    Position, Range,
};

const SOURCE: &str = "trialfit";

/// All that is to be said about a document, in its own coordinates.
pub(crate) fn diagnostics(look: &Look, judged: &Judged) -> Vec<Diagnostic> {
    match &judged.standing {
        Standing::Judged => {}
        Standing::Excluded => return Vec::new(),
        Standing::Broken(said) => return vec![at_the_top(said)],
    }
    let analysis = &judged.analysis;
    let found = analysis.findings.iter().map(|finding| of_finding(look, judged, finding));
    let unjudged = analysis.not_judged.iter().map(|unjudged| of_unjudged(look, judged, unjudged));
    found.chain(unjudged).collect()
}

/// The address of a rule's page, where somebody keeps the pages.
fn rule_page(look: &Look, rule: &str) -> Option<CodeDescription> {
    let settings = &look.snapshot.settings;
    let kept = &settings.options.rule_pages;
    let href = (settings.code_links && !kept.is_empty()).then(|| format!("{kept}{rule}").parse().ok())??;
    Some(CodeDescription { href })
}

/// What is said where the checker itself failed: silence would read as a clean job.
pub(crate) fn own_fault() -> Vec<Diagnostic> {
    vec![at_the_top("NOT JUDGED: trialfit itself failed on this text; nothing in it has been checked")]
}

/// Something that is about the whole document.
fn at_the_top(said: &str) -> Diagnostic {
    Diagnostic {
        range: Range { start: Position::new(0, 0), end: Position::new(0, 0) },
        severity: Some(DiagnosticSeverity::ERROR),
        source: Some(SOURCE.to_string()),
        message: said.to_string(),
        ..Diagnostic::default()
    }
}

fn of_finding(look: &Look, judged: &Judged, finding: &Finding) -> Diagnostic {
    let shown = shown_at(look, judged, finding.place, finding.used);
    let severity = match finding.severity {
        _ if finding.conceded.is_some() => DiagnosticSeverity::HINT,
        Severity::Error => DiagnosticSeverity::ERROR,
        Severity::Warning => DiagnosticSeverity::WARNING,
        Severity::Advice => DiagnosticSeverity::INFORMATION,
    };
    let mut related: Vec<(Place, &str)> =
        finding.related.iter().map(|related| (related.place, related.label.as_str())).collect();
    if finding.place.file != look.open.file {
        related.insert(0, (finding.place, if finding.label.is_empty() { "written here" } else { &finding.label }));
    } else if let Some(used) = finding.used {
        related.push((used, "used here"));
    }
    if let Some(conceded) = &finding.conceded {
        related.push((conceded.place, "the concession"));
    }
    let remedies: Vec<_> =
        finding.remedies.iter().map(|remedy| json!({ "title": remedy.title, "unseen": remedy.unseen })).collect();
    Diagnostic {
        range: look.range(shown),
        severity: Some(severity),
        code: Some(NumberOrString::String(finding.rule.name.to_string())),
        source: Some(SOURCE.to_string()),
        message: message(finding),
        code_description: rule_page(look, finding.rule.name),
        tags: (look.snapshot.settings.tags && finding.rule.about == About::Idle)
            .then(|| vec![DiagnosticTag::UNNECESSARY]),
        related_information: related_information(look, &related),
        data: Some(json!({ "rule": finding.rule.name, "remedies": remedies })),
    }
}

fn of_unjudged(look: &Look, judged: &Judged, unjudged: &NotJudged) -> Diagnostic {
    let related = if unjudged.place.file == look.open.file { vec![] } else { vec![(unjudged.place, "this")] };
    Diagnostic {
        range: look.range(shown_at(look, judged, unjudged.place, None)),
        severity: Some(DiagnosticSeverity::WARNING),
        code: Some(NumberOrString::String(unjudged.rule.name.to_string())),
        source: Some(SOURCE.to_string()),
        code_description: rule_page(look, unjudged.rule.name),
        message: unjudged.says(),
        related_information: related_information(look, &related),
        ..Diagnostic::default()
    }
}

/// Where in the document to show it: at its place, else where it is used, else at the line that follows its file.
fn shown_at(look: &Look, judged: &Judged, place: Place, used: Option<Place>) -> Span {
    let here = look.open.file;
    if place.file == here {
        return place.span;
    }
    if let Some(used) = used.filter(|used| used.file == here) {
        return used.span;
    }
    judged.analysis.job.leads_to(place.file).map(|line| line.span).unwrap_or_default()
}

fn message(finding: &Finding) -> String {
    let mut text = String::new();
    if let Some(conceded) = &finding.conceded {
        text.push_str("set aside by ");
        text.push_str(if conceded.by.is_empty() { "a concession" } else { &conceded.by });
        if let Some(until) = &conceded.until {
            text.push_str(" until ");
            text.push_str(until);
        }
        text.push_str(": ");
    }
    text.push_str(&finding.title);
    if !finding.why.is_empty() {
        text.push('\n');
        text.push_str(&finding.why);
    }
    if let Some(limit) = &finding.limit {
        text.push_str(&format!("\nlimit: {} ({})", limit.text, limit.whose));
    }
    if !finding.help.is_empty() {
        text.push_str("\nmend: ");
        text.push_str(&finding.help);
    }
    text
}

fn related_information(look: &Look, related: &[(Place, &str)]) -> Option<Vec<DiagnosticRelatedInformation>> {
    if !look.snapshot.settings.related || related.is_empty() {
        return None;
    }
    let information = related.iter().filter_map(|(place, label)| {
        let location = look.snapshot.location(*place)?;
        Some(DiagnosticRelatedInformation { location, message: (*label).to_string() })
    });
    Some(information.collect())
}

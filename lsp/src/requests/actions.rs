//! `textDocument/codeAction` and `codeAction/resolve`.

use crate::findings;
use crate::requests::rename::refused;
use crate::world::{Judged, Look, World};
use serde_json::{Value, json};
use spec_lang::assist::{self, Offer, OfferKind};
use spec_lang::text::Span;
use std::collections::BTreeMap;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::ls_types::{
    CodeAction, CodeActionContext, CodeActionKind, CodeActionOrCommand, CodeActionParams, Diagnostic, NumberOrString,
};

/// The kinds of action that are offered.
pub(crate) fn kinds() -> Vec<CodeActionKind> {
    vec![
        CodeActionKind::QUICKFIX,
        CodeActionKind::REFACTOR_REWRITE,
        CodeActionKind::REFACTOR_EXTRACT,
        CodeActionKind::SOURCE_FIX_ALL,
    ]
}

/// Kinds below the quick fixes: an editor that makes the only quick fix of a line without asking does not mean these.
const MEND_ALL_OF_KIND: CodeActionKind = CodeActionKind::new("quickfix.all");
const CONCEDE: CodeActionKind = CodeActionKind::new("quickfix.concede");

fn kind(kind: OfferKind) -> CodeActionKind {
    match kind {
        OfferKind::Mend | OfferKind::Fill => CodeActionKind::QUICKFIX,
        OfferKind::MendAllOfKind | OfferKind::FillAll => MEND_ALL_OF_KIND,
        OfferKind::Concede => CONCEDE,
        OfferKind::Rewrite | OfferKind::Add => CodeActionKind::REFACTOR_REWRITE,
        OfferKind::Share => CodeActionKind::REFACTOR_EXTRACT,
        OfferKind::MendAll => CodeActionKind::SOURCE_FIX_ALL,
    }
}

/// Whether actions of a kind are asked for. What changes the whole file stays out of the lightbulb.
fn wanted(context: &CodeActionContext, kind: &CodeActionKind) -> bool {
    let Some(only) = &context.only else { return *kind != CodeActionKind::SOURCE_FIX_ALL };
    only.iter().any(|asked| {
        let (asked, kind) = (asked.as_str(), kind.as_str());
        asked.is_empty() || kind == asked || kind.strip_prefix(asked).is_some_and(|rest| rest.starts_with('.'))
    })
}

/// What can be done in the range. Nothing where the text has changed since it was judged, and nothing for clients that
/// know actions only as commands.
pub(crate) fn answer(look: &Look, world: &World, params: &CodeActionParams) -> Vec<CodeActionOrCommand> {
    let settings = &look.snapshot.settings;
    if !settings.action_literals {
        return Vec::new();
    }
    let judged = look.snapshot.judge(&look.open);
    let start = look.offset(params.range.start);
    let span = Span { start, end: look.offset(params.range.end).max(start) };
    let offers = offers(look, &judged, span, &params.context);
    if offers.is_empty() || !world.is_current(&look.open) {
        return Vec::new();
    }
    let shown = findings::diagnostics(look, &judged);
    let actions = offers.iter().filter_map(|offer| {
        let mut action = action(look, offer, &shown, &params.context.diagnostics)?;
        // A small edit is no longer than what would be needed to ask for it.
        let large = matches!(offer.kind, OfferKind::MendAll | OfferKind::MendAllOfKind | OfferKind::Share);
        if settings.resolves_edits && large {
            action.edit = None;
            action.data = Some(json!({
                "uri": look.open.uri.as_str(), "version": look.open.version,
                "start": span.start, "end": span.end, "title": offer.title,
            }));
        }
        Some(CodeActionOrCommand::CodeAction(action))
    });
    actions.collect()
}

fn offers<'a>(look: &Look, judged: &'a Judged, span: Span, context: &CodeActionContext) -> Vec<Offer<'a>> {
    let mut offers = assist::offers(&judged.analysis, span, Some(crate::world::days()));
    if wanted(context, &CodeActionKind::SOURCE_FIX_ALL) {
        offers.extend(assist::mend_all(&judged.analysis));
    }
    offers.retain(|offer| {
        let together = matches!(offer.kind, OfferKind::MendAll | OfferKind::MendAllOfKind);
        wanted(context, &kind(offer.kind)) && (!together || mends(look, judged, offer))
    });
    offers
}

/// Whether edits that are each good alone are good together: no rule finds more than before, and something is mended.
fn mends(look: &Look, judged: &Judged, offer: &Offer<'_>) -> bool {
    let Some(after) = look.snapshot.judged_with(&offer.edits, look.open.file) else { return false };
    let count = |analysis: &spec_lang::Analysis| {
        let mut count: BTreeMap<&str, usize> = BTreeMap::new();
        for finding in analysis.standing() {
            *count.entry(finding.rule.name).or_default() += 1;
        }
        count
    };
    let (before, after) = (count(&judged.analysis), count(&after));
    let total = |count: &BTreeMap<&str, usize>| count.values().sum::<usize>();
    after.iter().all(|(rule, found)| before.get(rule).is_some_and(|known| found <= known))
        && total(&after) < total(&before)
}

fn action(look: &Look, offer: &Offer<'_>, shown: &[Diagnostic], sent: &[Diagnostic]) -> Option<CodeAction> {
    let edit = look.workspace_edit(&offer.edits)?;
    let about = offer.finding.and_then(|finding| {
        let range = look.range(finding.place.span);
        let code = NumberOrString::String(finding.rule.name.to_string());
        let same = |diagnostic: &&Diagnostic| {
            diagnostic.code.as_ref() == Some(&code)
                && (diagnostic.range == range || finding.place.file != look.open.file)
        };
        // The client's own copy ties the action to the mark it drew; else the one it would be sent.
        sent.iter().find(same).or_else(|| shown.iter().find(same)).cloned()
    });
    let one = matches!(offer.kind, OfferKind::Mend | OfferKind::Fill);
    let preferred = one && offer.unseen && look.snapshot.settings.preferred;
    Some(CodeAction {
        title: offer.title.clone(),
        kind: Some(kind(offer.kind)),
        diagnostics: about.map(|diagnostic| vec![diagnostic]),
        edit: Some(edit),
        is_preferred: preferred.then_some(true),
        ..CodeAction::default()
    })
}

/// The document that an action to be resolved is for.
pub(crate) fn document_of(action: &CodeAction) -> Option<tower_lsp::ls_types::Uri> {
    action.data.as_ref()?.get("uri")?.as_str()?.parse().ok()
}

/// The action with its edit, where the text still is the one it was offered for.
pub(crate) fn resolve(look: &Look, mut action: CodeAction) -> Result<CodeAction> {
    let data = action.data.clone().unwrap_or_default();
    let number = |name: &str| data.get(name).and_then(Value::as_i64);
    if number("version") != Some(i64::from(look.open.version)) {
        return Err(Error::content_modified());
    }
    let place = |name: &str| number(name).and_then(|number| u32::try_from(number).ok()).unwrap_or(0);
    let span = Span { start: place("start"), end: place("end").max(place("start")) };
    let judged = look.snapshot.judge(&look.open);
    let context = CodeActionContext { only: action.kind.clone().map(|kind| vec![kind]), ..Default::default() };
    let title = data.get("title").and_then(Value::as_str).unwrap_or("");
    let offers = offers(look, &judged, span, &context);
    let offer = offers.iter().find(|offer| offer.title == title);
    let edit = offer.and_then(|offer| look.workspace_edit(&offer.edits));
    action.edit = Some(edit.ok_or_else(|| refused(format!("`{title}` can no longer be done here")))?);
    Ok(action)
}

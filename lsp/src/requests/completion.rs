//! `textDocument/completion`.

use crate::requests::renamed_files;
use crate::world::Look;
use spec_lang::assist::{self, Candidate, CandidateKind};
use spec_lang::text::Span;
use tower_lsp::ls_types::{
    CompletionItem, CompletionItemKind, CompletionItemLabelDetails, CompletionResponse, CompletionTextEdit,
    Documentation, InsertTextFormat, MarkupContent, MarkupKind, Position, TextEdit,
};

/// What may stand at the position.
pub(crate) fn answer(look: &Look, position: Position) -> CompletionResponse {
    let offset = look.offset(position);
    if let Some(span) = renamed_files::typed(look, offset) {
        return CompletionResponse::Array(paths(look, span));
    }
    let judged = look.snapshot.sketch(&look.open);
    let candidates = assist::complete(&judged.analysis, offset);
    CompletionResponse::Array(candidates.iter().enumerate().map(|(number, it)| item(look, number, it)).collect())
}

/// The files of the workspace that a `follows` line may name.
fn paths(look: &Look, span: Span) -> Vec<CompletionItem> {
    let range = look.range(span);
    let of = |(number, (path, workshop)): (usize, (String, bool))| CompletionItem {
        label: path.clone(),
        kind: Some(CompletionItemKind::FILE),
        detail: Some(if workshop { "a workshop file" } else { "a job" }.to_string()),
        sort_text: Some(format!("{number:04}")),
        text_edit: Some(CompletionTextEdit::Edit(TextEdit { range, new_text: path })),
        ..CompletionItem::default()
    };
    renamed_files::candidates(look).into_iter().enumerate().map(of).collect()
}

fn item(look: &Look, number: usize, candidate: &Candidate) -> CompletionItem {
    let settings = &look.snapshot.settings;
    let snippet = settings.snippets && !candidate.fill.is_empty();
    let new_text = if snippet {
        format!("{}${{1:{}}}$0", quoted(&candidate.insert), quoted(&candidate.fill))
    } else {
        candidate.insert.clone()
    };
    let documentation = (!candidate.example.is_empty()).then(|| {
        if settings.markdown_completion {
            let value = format!("```trialfit\n{}\n```", candidate.example);
            Documentation::MarkupContent(MarkupContent { kind: MarkupKind::Markdown, value })
        } else {
            Documentation::String(candidate.example.clone())
        }
    });
    CompletionItem {
        label: candidate.label.clone(),
        kind: Some(kind(candidate.kind)),
        detail: (!candidate.says.is_empty()).then(|| candidate.says.clone()),
        label_details: settings
            .label_details
            .then(|| CompletionItemLabelDetails { detail: None, description: Some(what(candidate.kind).to_string()) }),
        documentation,
        // The table's order is the order in which people write.
        sort_text: Some(format!("{number:04}")),
        filter_text: Some(candidate.label.clone()),
        insert_text_format: snippet.then_some(InsertTextFormat::SNIPPET),
        text_edit: Some(CompletionTextEdit::Edit(TextEdit { range: look.range(candidate.span), new_text })),
        ..CompletionItem::default()
    }
}

/// Text without meaning as a snippet.
fn quoted(text: &str) -> String {
    text.replace('\\', "\\\\").replace('$', "\\$").replace('}', "\\}")
}

fn what(kind: CandidateKind) -> &'static str {
    match kind {
        CandidateKind::Header => "block",
        CandidateKind::Property => "property",
        CandidateKind::Choice => "word",
        CandidateKind::Direction => "direction",
        CandidateKind::Unit => "unit",
        CandidateKind::Name => "name",
        CandidateKind::Rule => "rule",
        CandidateKind::Blank => "blank",
    }
}

fn kind(kind: CandidateKind) -> CompletionItemKind {
    match kind {
        CandidateKind::Header => CompletionItemKind::KEYWORD,
        CandidateKind::Property => CompletionItemKind::PROPERTY,
        CandidateKind::Choice | CandidateKind::Direction => CompletionItemKind::ENUM_MEMBER,
        CandidateKind::Unit => CompletionItemKind::UNIT,
        CandidateKind::Name => CompletionItemKind::REFERENCE,
        CandidateKind::Rule => CompletionItemKind::CONSTANT,
        CandidateKind::Blank => CompletionItemKind::VALUE,
    }
}

//! `textDocument/completion`.

use crate::world::Look;
use spec_lang::assist::{self, Candidate, CandidateKind};
use tower_lsp::ls_types::{
    CompletionItem, CompletionItemKind, CompletionResponse, CompletionTextEdit, Documentation, InsertTextFormat,
    MarkupContent, MarkupKind, Position, TextEdit,
};

/// What may stand at the position.
pub(crate) fn answer(look: &Look, position: Position) -> CompletionResponse {
    let judged = look.snapshot.judge(&look.open);
    let candidates = assist::complete(&judged.analysis, look.offset(position));
    CompletionResponse::Array(candidates.iter().enumerate().map(|(number, it)| item(look, number, it)).collect())
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
            let value = format!("```dryfit\n{}\n```", candidate.example);
            Documentation::MarkupContent(MarkupContent { kind: MarkupKind::Markdown, value })
        } else {
            Documentation::String(candidate.example.clone())
        }
    });
    CompletionItem {
        label: candidate.label.clone(),
        kind: Some(kind(candidate.kind)),
        detail: (!candidate.says.is_empty()).then(|| candidate.says.clone()),
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

//! `textDocument/semanticTokens`: full, as a difference to what the client has, and of a range.

use crate::world::{Look, World};
use spec_lang::assist::{self, Token, TokenKind};
use std::sync::Arc;
use tower_lsp::ls_types::{
    Range, SemanticToken, SemanticTokenModifier, SemanticTokenType, SemanticTokens, SemanticTokensDelta,
    SemanticTokensEdit, SemanticTokensFullDeltaResult, SemanticTokensLegend,
};

/// The types of the legend, in the order of [`number`]; all of the protocol's own list, so that every theme knows them.
const TYPES: &[SemanticTokenType] = &[
    SemanticTokenType::KEYWORD,
    SemanticTokenType::PROPERTY,
    SemanticTokenType::TYPE,
    SemanticTokenType::VARIABLE,
    SemanticTokenType::PARAMETER,
    SemanticTokenType::ENUM_MEMBER,
    SemanticTokenType::MODIFIER,
    SemanticTokenType::NUMBER,
    SemanticTokenType::STRING,
    SemanticTokenType::OPERATOR,
    SemanticTokenType::DECORATOR,
    SemanticTokenType::COMMENT,
];

const fn number(kind: TokenKind) -> u32 {
    match kind {
        TokenKind::Keyword => 0,
        TokenKind::Property => 1,
        TokenKind::Sheet => 2,
        TokenKind::Name => 3,
        TokenKind::Label => 4,
        TokenKind::Choice => 5,
        TokenKind::Small => 6,
        TokenKind::Number => 7,
        TokenKind::Text => 8,
        TokenKind::Sign => 9,
        TokenKind::Rule => 10,
        TokenKind::Comment => 11,
    }
}

/// What the numbers in the answers stand for.
pub(crate) fn legend() -> SemanticTokensLegend {
    SemanticTokensLegend { token_types: TYPES.to_vec(), token_modifiers: vec![SemanticTokenModifier::DEFINITION] }
}

/// What a client was given last of a document.
#[derive(Clone, Debug)]
pub(crate) struct Given {
    id: String,
    tokens: Arc<Vec<SemanticToken>>,
}

fn encoded(look: &Look, tokens: &[Token]) -> Vec<SemanticToken> {
    let (text, lines, encoding) = (look.open.text.text(), look.open.text.lines(), look.encoding());
    let between = |start: u32, end: u32| {
        let piece = text.get(start as usize..end as usize).unwrap_or("");
        u32::try_from(encoding.count(piece)).unwrap_or(u32::MAX)
    };
    let mut out = Vec::with_capacity(tokens.len());
    let (mut line, mut at, mut column, mut column_before) = (0, 0, 0, 0);
    let mut line_before = 0;
    let mut first = true;
    for token in tokens {
        if first || token.line != line {
            line = token.line;
            (at, column) = (lines.line_range(line).0, 0);
        }
        column += between(at, token.span.start);
        at = token.span.start;
        let same_line = !first && line == line_before;
        out.push(SemanticToken {
            delta_line: line - line_before,
            delta_start: if same_line { column - column_before } else { column },
            length: between(token.span.start, token.span.end),
            token_type: number(token.kind),
            token_modifiers_bitset: u32::from(token.defines),
        });
        (line_before, column_before, first) = (line, column, false);
    }
    out
}

/// Every token, remembered so that the next answer can be a difference.
pub(crate) fn full(look: &Look, world: &World) -> SemanticTokens {
    let tokens = Arc::new(encoded(look, &assist::tokens(look.open.text.reading())));
    let given = world.give_tokens(&look.open, |id| Given { id, tokens: Arc::clone(&tokens) });
    SemanticTokens { result_id: Some(given.id), data: tokens.to_vec() }
}

/// What changed since the answer of that id; every token where that is not known any more.
pub(crate) fn delta(look: &Look, world: &World, previous: &str) -> SemanticTokensFullDeltaResult {
    let before = world.given_tokens(look.open.file).filter(|given| given.id == previous);
    let full = full(look, world);
    let Some(before) = before else { return SemanticTokensFullDeltaResult::Tokens(full) };
    let (old, new) = (before.tokens.as_slice(), full.data.as_slice());
    let same = |(one, other): &(&SemanticToken, &SemanticToken)| one == other;
    let head = old.iter().zip(new).take_while(same).count();
    let rest = |all: &[SemanticToken]| all.len() - head;
    let tail = old.iter().rev().zip(new.iter().rev()).take(rest(old).min(rest(new))).take_while(same).count();
    let (deleted, inserted) = (old.len() - head - tail, new.get(head..new.len() - tail).unwrap_or(&[]));
    // Positions count the numbers, of which each token has five.
    let numbers = |tokens: usize| u32::try_from(tokens.saturating_mul(5)).unwrap_or(u32::MAX);
    let edit = SemanticTokensEdit {
        start: numbers(head),
        delete_count: numbers(deleted),
        data: (!inserted.is_empty()).then(|| inserted.to_vec()),
    };
    let edits = if deleted == 0 && inserted.is_empty() { Vec::new() } else { vec![edit] };
    SemanticTokensDelta { result_id: full.result_id, edits }.into()
}

/// The tokens of the lines of a range.
pub(crate) fn range(look: &Look, range: Range) -> SemanticTokens {
    let all = assist::tokens(look.open.text.reading());
    let from = all.partition_point(|token| token.line < range.start.line);
    let to = all.partition_point(|token| token.line <= range.end.line);
    SemanticTokens { result_id: None, data: encoded(look, all.get(from..to.max(from)).unwrap_or(&[])) }
}

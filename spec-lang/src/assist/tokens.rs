//! What each item of a text is, for colouring: read off the reading alone, so that it costs one pass and no judgement.

use crate::reading::{Arg, Block, Reading, Statement, Value};
use crate::syntax::{Item, ItemKind};
use crate::text::Span;
use crate::vocabulary::Role;

/// What a token is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TokenKind {
    /// A word that opens a block or stands outside any.
    Keyword,
    /// A property's word.
    Property,
    /// The name of a data sheet.
    Sheet,
    /// The name of any other block.
    Name,
    /// A word of the author's own.
    Label,
    /// One of the words that the language lists for a place, or a direction.
    Choice,
    /// A small word that the language wants: `of`, `by`, `facing`.
    Small,
    /// A number, its unit, a date.
    Number,
    /// Free text.
    Text,
    /// `±`, `..`, `x`, `?`.
    Sign,
    /// The name of a rule.
    Rule,
    /// A comment.
    Comment,
}

/// A coloured piece of one line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Token {
    /// Its bytes.
    pub span: Span,
    /// The line they are in, from 0.
    pub line: u32,
    /// What they are.
    pub kind: TokenKind,
    /// Whether a name is defined here.
    pub defines: bool,
}

/// The tokens of a text in order; none reaches over a line's end and no two overlap.
pub fn tokens(reading: &Reading) -> Vec<Token> {
    let mut out = Vec::with_capacity(reading.tree.text.len() / 6);
    let mut blocks = reading.blocks.iter().peekable();
    let mut statements = reading.all_statements().iter().peekable();
    for (number, line) in reading.tree.lines.iter().enumerate() {
        let number = u32::try_from(number).unwrap_or(u32::MAX);
        while blocks.next_if(|block| block.first_line < number).is_some() {}
        while statements.next_if(|statement| statement.line < number).is_some() {}
        let header = blocks.peek().filter(|block| block.first_line == number && !block.header.is_empty());
        let statement = statements.peek().filter(|statement| statement.line == number);
        let mut before = None;
        for item in reading.tree.items(line) {
            let found = match (header, statement) {
                (Some(block), _) => in_header(block, item, before),
                (None, Some(statement)) => in_statement(reading, statement, item),
                (None, None) if !line.indented => at_margin(reading, item, before),
                (None, None) => by_shape(item).map(|kind| (kind, false)),
            };
            before = Some(before.map_or(0usize, |count| count + 1));
            if let Some((kind, defines)) = found {
                out.push(Token { span: item.span, line: number, kind, defines });
            }
        }
        if let Some(span) = line.comment {
            out.push(Token { span, line: number, kind: TokenKind::Comment, defines: false });
        }
    }
    out
}

fn by_shape(item: &Item) -> Option<TokenKind> {
    match item.kind {
        ItemKind::Number | ItemKind::Date => Some(TokenKind::Number),
        ItemKind::Text => Some(TokenKind::Text),
        ItemKind::Dots | ItemKind::PlusMinus | ItemKind::Question | ItemKind::Times => Some(TokenKind::Sign),
        ItemKind::Word | ItemKind::Comma | ItemKind::Comment | ItemKind::Stray => None,
    }
}

fn in_header(block: &Block, item: &Item, before: Option<usize>) -> Option<(TokenKind, bool)> {
    let sheet = block.kind.is_some_and(crate::vocabulary::Kind::is_sheet);
    let name = block.name.is_some_and(|name| name.start <= item.span.start && item.span.end <= name.end);
    if name && item.kind == ItemKind::Word {
        return Some(match block.kind {
            Some(crate::vocabulary::Kind::Concession) => (TokenKind::Rule, false),
            Some(crate::vocabulary::Kind::Stock) => (TokenKind::Choice, false),
            Some(crate::vocabulary::Kind::Change) => (TokenKind::Name, false),
            _ if sheet => (TokenKind::Sheet, true),
            _ => (TokenKind::Name, true),
        });
    }
    if block.of == Some(item.span) {
        return Some((TokenKind::Name, false));
    }
    if item.kind != ItemKind::Word {
        return by_shape(item).map(|kind| (kind, false));
    }
    match before {
        None => Some((TokenKind::Keyword, false)),
        Some(0) if sheet || block.about.is_some_and(|(_, span)| span == item.span) => Some((TokenKind::Keyword, false)),
        Some(_) => Some((TokenKind::Small, false)),
    }
}

fn in_statement(reading: &Reading, statement: &Statement, item: &Item) -> Option<(TokenKind, bool)> {
    if item.span == statement.head {
        return statement.word.map(|_| (TokenKind::Property, false));
    }
    let holds = |arg: &&Arg| arg.span.start <= item.span.start && item.span.end <= arg.span.end;
    let Some(arg) = reading.args(statement).iter().find(holds) else {
        let small = (item.kind == ItemKind::Word && statement.whole).then_some(TokenKind::Small);
        return by_shape(item).or(small).map(|kind| (kind, false));
    };
    let kind = match (arg.value, item.kind) {
        (_, ItemKind::Dots | ItemKind::PlusMinus | ItemKind::Question | ItemKind::Times) => TokenKind::Sign,
        (_, ItemKind::Comma | ItemKind::Comment | ItemKind::Stray) => return None,
        (Value::Quantity(_) | Value::Count(_) | Value::Date(_), _) => TokenKind::Number,
        (Value::Choice(_) | Value::Direction(_) | Value::Unknown, _) => TokenKind::Choice,
        (Value::Name, _) if arg.role == Role::Sheet => TokenKind::Sheet,
        (Value::Name, _) => TokenKind::Name,
        (Value::Label, _) if arg.role == Role::Rule => TokenKind::Rule,
        (Value::Label, _) => TokenKind::Label,
        (Value::Text, _) => TokenKind::Text,
        (Value::Asked(_), _) if item.span.start == arg.span.start => TokenKind::Small,
        (Value::Asked(_), _) => TokenKind::Name,
        (Value::Blank, _) => TokenKind::Sign,
    };
    Some((kind, false))
}

fn at_margin(reading: &Reading, item: &Item, before: Option<usize>) -> Option<(TokenKind, bool)> {
    let opens = before.is_none() && matches!(reading.slice(item.span), "trialfit" | "follows");
    if opens {
        return Some((TokenKind::Keyword, false));
    }
    by_shape(item).map(|kind| (kind, false))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::sync::Arc;

    #[test]
    fn each_word_is_what_its_place_makes_it() {
        let text = "trialfit 1 # β\nexhaust of reader\n  pipe steel, 24 mm bore\n  ends facing right\n";
        let reading = Reading::new(Arc::from(text));
        let said: Vec<(&str, TokenKind)> =
            tokens(&reading).iter().map(|token| (reading.slice(token.span), token.kind)).collect();
        use TokenKind::*;
        assert_eq!(
            said,
            [
                ("trialfit", Keyword),
                ("1", Number),
                ("# β", Comment),
                ("exhaust", Keyword),
                ("of", Small),
                ("reader", Name),
                ("pipe", Property),
                ("steel", Choice),
                ("24", Number),
                ("mm", Number),
                ("bore", Small),
                ("ends", Property),
                ("facing", Small),
                ("right", Choice),
            ]
        );
    }

    proptest! {
        #[test]
        fn tokens_stand_in_order_within_their_lines(
            text in "(?s)(exhaust of a|cable b of c|\\n|\\r\\n|\\r|  size 4 mm²|  ends|  |datasheet hose x|[a-z0-9 \"#,.±?😀\u{feff}]){0,40}"
        ) {
            let reading = Reading::new(Arc::from(text.as_str()));
            let mut done = 0;
            for token in tokens(&reading) {
                prop_assert!(token.span.start >= done && !token.span.is_empty(), "{:?}", token);
                done = token.span.end;
                let line = &reading.tree.lines[token.line as usize];
                prop_assert!(line.span.start <= token.span.start && token.span.end <= line.span.end, "{:?}", token);
                prop_assert!(!reading.slice(token.span).contains(['\n', '\r']), "{:?}", token);
            }
        }
    }
}

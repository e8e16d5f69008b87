//! The tree: lines, and the items each line is made of. Whatever lies between items is white space, a line end or the
//! byte-order mark, so the text is the items with the gaps between them, byte for byte.

use crate::text::Span;
use pest::Parser;
use std::ops::Range;
use std::sync::Arc;

#[derive(pest_derive::Parser)]
#[grammar = "syntax/grammar.pest"]
struct LineGrammar;

/// What an item is, by its shape alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // the grammar says it
pub enum ItemKind {
    Word,
    Number,
    Date,
    Text,
    Comma,
    Dots,
    PlusMinus,
    Question,
    Times,
    Comment,
    /// Characters that the language has no use for.
    Stray,
}

/// One item of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Item {
    /// Its shape.
    pub kind: ItemKind,
    /// Where it is.
    pub span: Span,
}

/// One line: its bytes, its items, and the one bit of depth the language knows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// Its bytes without the line end, indentation included.
    pub span: Span,
    /// Whether white space stands before its first item.
    pub indented: bool,
    /// Its items in the tree's list, comment left out.
    pub items: Range<u32>,
    /// Its comment, from `#` to the line's end.
    pub comment: Option<Span>,
}

/// A whole text, read.
#[derive(Clone, Debug)]
pub struct Tree {
    /// The text.
    pub text: Arc<str>,
    /// Its lines in order.
    pub lines: Vec<Line>,
    items: Vec<Item>,
}

impl Tree {
    /// The items of a line.
    pub fn items(&self, line: &Line) -> &[Item] {
        self.items.get(line.items.start as usize..line.items.end as usize).unwrap_or(&[])
    }

    /// The text of a span.
    pub fn slice(&self, span: Span) -> &str {
        span.of(&self.text)
    }

    /// The line that holds the offset.
    pub fn line_at(&self, offset: u32) -> usize {
        self.lines.partition_point(|line| line.span.start <= offset).saturating_sub(1)
    }
}

/// Reads a text. It cannot fail: what is not understood becomes [`ItemKind::Stray`] items.
///
/// One pass over the text; texts of 4 GiB and more are the edges' to refuse.
pub fn read_tree(text: Arc<str>) -> Tree {
    let mut lines: Vec<Line> = Vec::with_capacity(text.len() / 24 + 1);
    let mut items: Vec<Item> = Vec::with_capacity(text.len() / 6 + 1);
    if let Ok(pairs) = LineGrammar::parse(Rule::file, &text) {
        // Flat, a line before its parts: no list is made of each line's parts.
        for pair in pairs.flatten() {
            let place = pair.as_span();
            let span = Span::new(place.start(), place.end());
            let kind = match pair.as_rule() {
                Rule::word => ItemKind::Word,
                Rule::number => ItemKind::Number,
                Rule::comma => ItemKind::Comma,
                Rule::line => {
                    let first = u32::try_from(items.len()).unwrap_or(u32::MAX);
                    lines.push(Line { span, indented: false, items: first..first, comment: None });
                    continue;
                }
                Rule::indent => {
                    if let Some(line) = lines.last_mut() {
                        line.indented = true;
                    }
                    continue;
                }
                Rule::comment => {
                    if let Some(line) = lines.last_mut() {
                        line.comment = Some(span);
                    }
                    continue;
                }
                Rule::date => ItemKind::Date,
                Rule::text => ItemKind::Text,
                Rule::dots => ItemKind::Dots,
                Rule::plus_minus => ItemKind::PlusMinus,
                Rule::question => ItemKind::Question,
                Rule::times => ItemKind::Times,
                Rule::stray => ItemKind::Stray,
                _ => continue,
            };
            items.push(Item { kind, span });
            if let Some(line) = lines.last_mut() {
                line.items.end += 1;
            }
        }
    }
    Tree { text, lines, items }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use ItemKind::*;

    fn shapes(text: &str) -> Vec<(ItemKind, String)> {
        let tree = read_tree(Arc::from(text));
        let line = &tree.lines[0];
        tree.items(line).iter().map(|item| (item.kind, tree.slice(item.span).to_string())).collect()
    }

    fn kinds(text: &str) -> Vec<ItemKind> {
        shapes(text).into_iter().map(|(kind, _)| kind).collect()
    }

    #[test]
    fn lines_are_made_of_the_shapes_people_write() {
        assert_eq!(kinds("  pipe steel, 24 mm bore"), [Word, Word, Comma, Number, Word, Word]);
        assert_eq!(kinds("altitude 0 m..1450 m"), [Word, Number, Word, Dots, Number, Word]);
        assert_eq!(kinds("altitude 0..1450 m"), [Word, Number, Dots, Number, Word]);
        assert_eq!(kinds("run 4.2 m ± 0.3 m"), [Word, Number, Word, PlusMinus, Number, Word]);
        assert_eq!(kinds("made-of 2 x 12 V 95 Ah"), [Word, Number, Times, Number, Word, Number, Word]);
        assert_eq!(kinds("spans 800x1900 mm"), [Word, Number, Times, Number, Word]);
        assert_eq!(kinds("size ?"), [Word, Question]);
        assert_eq!(kinds("until 2027-03-31"), [Word, Date]);
        assert_eq!(shapes("from main.cab")[1], (Word, "main.cab".into()));
        assert_eq!(shapes("size 2/0 AWG")[1], (Number, "2/0".into()));
        assert_eq!(shapes("air-changes 1.2 /h")[2], (Word, "/h".into()));
        assert_eq!(shapes("right 90°")[2], (Word, "°".into()));
        assert_eq!(shapes("holds 1,450 L")[1], (Number, "1,450".into()));
        assert_eq!(shapes("note \"unclosed # not a comment")[1], (Text, "\"unclosed # not a comment".into()));
        assert_eq!(kinds("pipe {steel} @"), [Word, Stray, Word, Stray, Stray]);
    }

    #[test]
    fn a_comment_opens_at_the_start_or_after_a_space_only() {
        let tree = read_tree(Arc::from("# all\n  down 1 m # some\n  down 1 m#none\n"));
        assert!(tree.lines[0].comment.is_some() && tree.items(&tree.lines[0]).is_empty());
        assert_eq!(tree.lines[1].comment.map(|span| tree.slice(span).to_string()), Some("# some".into()));
        assert!(tree.lines[2].comment.is_none());
    }

    /// The text again, from the tree's pieces: fails where a gap holds anything but white space, line ends or the mark.
    fn rebuild(tree: &Tree) -> String {
        let mut pieces: Vec<Span> =
            tree.lines.iter().flat_map(|line| tree.items(line).iter().map(|item| item.span)).collect();
        pieces.extend(tree.lines.iter().filter_map(|line| line.comment));
        pieces.sort();
        let mut out = String::new();
        let mut done = 0;
        for piece in pieces {
            let gap = &tree.text[done..piece.start as usize];
            assert!(gap.chars().all(|letter| letter.is_whitespace() || letter == '\u{feff}'), "gap {gap:?}");
            out.push_str(gap);
            out.push_str(tree.slice(piece));
            done = piece.end as usize;
        }
        let gap = &tree.text[done..];
        assert!(gap.chars().all(|letter| letter.is_whitespace() || letter == '\u{feff}'), "gap {gap:?}");
        out.push_str(gap);
        out
    }

    #[test]
    fn odd_files_are_read_without_loss() {
        for text in [
            "",
            "\n",
            "\u{feff}dryfit 1\r\n\tdown 1 m\r\n\r\n",
            "a\rb\rc",
            "  ",
            "x\u{0}\u{1f}y",
            "\u{feff}",
            "+-+/-±..…",
        ] {
            let tree = read_tree(Arc::from(text));
            assert_eq!(rebuild(&tree), text);
            assert_eq!(tree.lines.len(), crate::text::LineIndex::new(text).count(), "{text:?}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_without_loss(text in "(?s)([ -~]|[\\r\\n\\t \"#,.±×?°²é😀\u{feff}\u{a0}]){0,80}") {
            let tree = read_tree(Arc::from(text.as_str()));
            prop_assert_eq!(rebuild(&tree), text.clone());
            prop_assert_eq!(tree.lines.len(), crate::text::LineIndex::new(&text).count());
        }
    }
}

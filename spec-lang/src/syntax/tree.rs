//! The tree: lines, and the items each line is made of. Whatever lies between items is white space, a line end or the
//! byte-order mark, so the text is the items with the gaps between them, byte for byte.

use crate::text::{LineIndex, Span};
use pest::{Parser, Token};
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
#[derive(Clone, Debug, PartialEq, Eq)]
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

    /// Where its lines begin, for columns; the text is not read again.
    pub fn line_index(&self) -> LineIndex {
        LineIndex::found(self.lines.iter().map(|line| line.span.start), Span::new(0, self.text.len()).end)
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
    let lines = Vec::with_capacity(text.len() / 24 + 1);
    let items = Vec::with_capacity(text.len() / 6 + 1);
    let mut tree = Tree { text: Arc::clone(&text), lines, items };
    tree.read(Rule::file, &text, 0);
    tree
}

impl Tree {
    /// The tree of another text, exactly as [`read_tree`] gives it. Lines at the start and at the end that both texts
    /// have are taken over, their places moved; only what lies between is read. A line's items depend on that line's
    /// text alone, so behind an edit this is the edited lines.
    pub fn edited(&self, text: Arc<str>) -> Tree {
        let (old, new) = (self.text.as_bytes(), text.as_bytes());
        let ahead = same_ahead(old, new);
        let behind = same_behind(old.get(ahead..).unwrap_or(&[]), new.get(ahead..).unwrap_or(&[]));
        let changed = Span::new(ahead, old.len() - behind);
        // A line stays where the byte behind its end is the same too: what follows a CR may make its line end longer.
        let kept = self.lines.partition_point(|line| line.span.start < changed.start).saturating_sub(1);
        // The first line begins behind a byte-order mark, which is one at the start of a text only.
        let from = self.lines.get(kept).filter(|_| kept > 0).map_or(0, |line| line.span.start);
        let next = self.lines.partition_point(|line| line.span.start <= changed.end).max(kept + 1);
        let moved_by = Span::new(0, new.len()).end.wrapping_sub(Span::new(0, old.len()).end);
        let rest = self.lines.get(next..).unwrap_or(&[]);
        let to = rest.first().map_or(Span::new(0, new.len()).end, |line| line.span.start.wrapping_add(moved_by));
        let mut part = Span { start: from, end: to }.of(&text);
        if !rest.is_empty() {
            // The line end before the first line that is taken over belongs to neither.
            part = part.strip_suffix("\r\n").or_else(|| part.strip_suffix(['\n', '\r'])).unwrap_or(part);
        }

        let first_item = |lines: &[Line]| lines.first().map_or(self.items.len(), |line| line.items.start as usize);
        let items_ahead = if kept == 0 { 0 } else { first_item(self.lines.get(kept..).unwrap_or(&[])) };
        let items_behind = self.items.get(first_item(rest)..).unwrap_or(&[]);
        let mut tree = Tree {
            text: Arc::clone(&text),
            lines: Vec::with_capacity(self.lines.len() + 8),
            items: Vec::with_capacity(self.items.len() + 32),
        };
        tree.lines.extend_from_slice(self.lines.get(..kept).unwrap_or(&[]));
        tree.items.extend_from_slice(self.items.get(..items_ahead).unwrap_or(&[]));
        tree.read(if kept == 0 { Rule::file } else { Rule::lines }, part, from);
        let moved =
            |span: Span| Span { start: span.start.wrapping_add(moved_by), end: span.end.wrapping_add(moved_by) };
        let count = |items: usize| u32::try_from(items).unwrap_or(u32::MAX);
        let items_by = count(tree.items.len()).wrapping_sub(count(first_item(rest)));
        tree.lines.extend(rest.iter().map(|line| Line {
            span: moved(line.span),
            indented: line.indented,
            items: line.items.start.wrapping_add(items_by)..line.items.end.wrapping_add(items_by),
            comment: line.comment.map(moved),
        }));
        tree.items.extend(items_behind.iter().map(|item| Item { kind: item.kind, span: moved(item.span) }));
        tree
    }

    /// Reads whole lines, whose text begins at `from`, behind those that are there.
    fn read(&mut self, rule: Rule, text: &str, from: u32) {
        let Ok(pairs) = LineGrammar::parse(rule, text) else { return };
        let Tree { lines, items, .. } = self;
        let from = from as usize;
        let count = |items: &[Item]| u32::try_from(items.len()).unwrap_or(u32::MAX);
        // The starts and ends of rules as they lie: a line's items have nothing in them, so no pairs are made.
        let mut begun = 0;
        for token in pairs.tokens() {
            let (rule, end) = match token {
                Token::Start { rule: Rule::line, pos } => {
                    let (span, first) = (Span::new(from + pos.pos(), from + pos.pos()), count(items));
                    lines.push(Line { span, indented: false, items: first..first, comment: None });
                    continue;
                }
                Token::Start { pos, .. } => {
                    begun = pos.pos();
                    continue;
                }
                Token::End { rule, pos } => (rule, pos.pos()),
            };
            let span = Span::new(from + begun, from + end);
            let kind = match rule {
                Rule::word => ItemKind::Word,
                Rule::number => ItemKind::Number,
                Rule::comma => ItemKind::Comma,
                Rule::line | Rule::indent | Rule::comment => {
                    let Some(line) = lines.last_mut() else { continue };
                    match rule {
                        Rule::line => {
                            line.span.end = span.end;
                            line.items.end = count(items);
                        }
                        Rule::indent => line.indented = true,
                        // The grammar leaves its `#` out.
                        _ => line.comment = Some(Span { start: span.start.saturating_sub(1), end: span.end }),
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
        }
    }
}

/// Long stretches are compared whole, which is as fast as memory is read; only the last is looked at byte by byte.
const STRETCH: usize = 512;

/// How many bytes at their start are the same.
fn same_ahead(one: &[u8], other: &[u8]) -> usize {
    let whole = one.chunks(STRETCH).zip(other.chunks(STRETCH)).take_while(|(one, other)| one == other);
    let done = whole.map(|(one, _)| one.len()).sum::<usize>();
    let rest = one.iter().zip(other).skip(done);
    done + rest.take_while(|(one, other)| one == other).count()
}

/// How many bytes at their end are the same.
fn same_behind(one: &[u8], other: &[u8]) -> usize {
    let whole = one.rchunks(STRETCH).zip(other.rchunks(STRETCH)).take_while(|(one, other)| one == other);
    let done = whole.map(|(one, _)| one.len()).sum::<usize>();
    let rest = one.iter().rev().zip(other.iter().rev()).skip(done);
    done + rest.take_while(|(one, other)| one == other).count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use ItemKind::*;
    use proptest::prelude::*;

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
            "\u{feff}trialfit 1\r\n\tdown 1 m\r\n\r\n",
            "a\rb\rc",
            "  ",
            "x\u{0}\u{1f}y",
            "\u{feff}",
            "+-+/-±..…",
        ] {
            let tree = read_tree(Arc::from(text));
            assert_eq!(rebuild(&tree), text);
            assert_eq!(tree.line_index(), LineIndex::new(text), "{text:?}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_without_loss(text in "(?s)([ -~]|[\\r\\n\\t \"#,.±×?°²é😀\u{feff}\u{a0}]){0,80}") {
            let tree = read_tree(Arc::from(text.as_str()));
            prop_assert_eq!(rebuild(&tree), text.clone());
            prop_assert_eq!(tree.line_index(), LineIndex::new(&text));
        }
    }

    /// Pieces in which an edit can change what stands around it: line ends of two bytes, the mark, open quotes, letters
    /// of which the first bytes are those of the mark.
    fn any_piece() -> impl Strategy<Value = String> {
        prop_oneof![
            "(\r|\n|\r\n|\u{feff}|\u{fefe}|\u{ffff}|\"|#| |x|1|2|-|\\.|,|±|😀|²|a|b){0,4}",
            Just("  down 480 mm, steel # note\n".to_string()),
            Just("job \"Night\"\r\n".to_string()),
            Just("\r".to_string()),
        ]
    }

    fn any_edited_text() -> impl Strategy<Value = String> {
        proptest::collection::vec(any_piece(), 0..12).prop_map(|pieces| pieces.concat())
    }

    /// The nearest place at or before a byte where a letter begins.
    fn letter_start(text: &str, at: usize) -> usize {
        (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(4_000))]
        /// Behind every edit of a script the tree taken over is the one read afresh.
        #[test]
        fn an_edited_tree_is_the_tree_of_the_edited_text(
            start in any_edited_text(),
            edits in proptest::collection::vec((0usize..120, 0usize..12, any_piece()), 1..10),
        ) {
            let mut text = start;
            let mut tree = read_tree(Arc::from(text.as_str()));
            for (from, length, insert) in edits {
                let from = letter_start(&text, from % (text.len() + 1));
                let to = letter_start(&text, from + length).max(from);
                text.replace_range(from..to, &insert);
                tree = tree.edited(Arc::from(text.as_str()));
                prop_assert_eq!(&tree, &read_tree(Arc::from(text.as_str())), "{:?}", text);
                prop_assert_eq!(rebuild(&tree), text.clone());
            }
        }

        /// Texts that have nothing to do with each other too.
        #[test]
        fn any_text_may_follow_any_other(one in any_edited_text(), other in any_edited_text()) {
            let tree = read_tree(Arc::from(one.as_str())).edited(Arc::from(other.as_str()));
            prop_assert_eq!(tree, read_tree(Arc::from(other.as_str())));
        }
    }

    #[test]
    fn stretches_longer_than_one_comparison_are_measured_to_the_byte() {
        for length in [0, 1, STRETCH - 1, STRETCH, STRETCH + 1, 3 * STRETCH + 7] {
            let (one, mut other) = (vec![b'a'; length], vec![b'a'; length]);
            assert_eq!((same_ahead(&one, &other), same_behind(&one, &other)), (length, length));
            if let Some(middle) = other.get_mut(length / 3) {
                *middle = b'b';
                assert_eq!(same_ahead(&one, &other), length / 3);
                assert_eq!(same_behind(&one, &other), length - length / 3 - 1);
            }
        }
    }
}

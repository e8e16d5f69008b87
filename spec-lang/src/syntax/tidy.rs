//! Puts a text's white space in order: indentation, the value column, units apart from numbers, comments in a column.
//! Only white space changes; no item is touched, so no meaning is.

use super::tree::{Item, ItemKind, Line, Tree};
use crate::text::{Edit, Span};

/// The column at which a property's value starts, counted from 0.
const VALUE_COLUMN: usize = 16;
/// The column at which a comment behind a statement starts, where the statement leaves room for it.
const COMMENT_COLUMN: usize = 48;

/// The edits that put the text in order: one a line that needs it, none for a text in order.
///
/// The value column is fixed, so changing one line never moves its neighbours. Line ends stay as each line has them;
/// a missing last one is added; runs of empty lines become one.
pub fn tidy(tree: &Tree) -> Vec<Edit> {
    let mut edits = Vec::new();
    // Empty lines at the top go too, unless that would make a stray U+FEFF the text's byte-order mark.
    let mut empty_before = tree.text.starts_with('\u{feff}') || !tree.text.trim_start().starts_with('\u{feff}');
    let last = tree.lines.len().saturating_sub(1);
    let says = |line: &Line| !tree.items(line).is_empty() || line.comment.is_some();
    // From here on there are only empty lines.
    let said = tree.lines.iter().rposition(says).map_or(0, |number| number + 1);
    for (number, line) in tree.lines.iter().enumerate() {
        let empty = !says(line);
        let mark = if line.span.start < 3 && tree.text.starts_with('\u{feff}') { 3 } else { 0 };
        let span = Span { start: line.span.start.max(mark), end: line.span.end };
        if empty {
            let next = tree.lines.get(number + 1).map(|next| next.span.start);
            let only_empty_after = number >= said;
            match next {
                Some(next) if empty_before || only_empty_after => {
                    edits.push(Edit { span: Span { start: span.start, end: next }, insert: String::new() })
                }
                _ if !span.is_empty() => edits.push(Edit { span, insert: String::new() }),
                _ => {}
            }
            empty_before = true;
            continue;
        }
        empty_before = false;
        let ordered = in_order(tree, line);
        let ending = if number == last { line_end_of(tree) } else { "" };
        if tree.slice(span) != ordered || !ending.is_empty() {
            edits.push(Edit { span, insert: ordered + ending });
        }
    }
    edits
}

/// The line end that the text's first line has.
fn line_end_of(tree: &Tree) -> &'static str {
    let after = tree.lines.first().map_or("", |line| tree.text.get(line.span.end as usize..).unwrap_or(""));
    if after.starts_with("\r\n") {
        "\r\n"
    } else if after.starts_with('\r') {
        "\r"
    } else {
        "\n"
    }
}

fn in_order(tree: &Tree, line: &Line) -> String {
    let items = tree.items(line);
    let mut out = String::with_capacity(line.span.len() + 8);
    if line.indented {
        out.push_str("  ");
    }
    let mut before: Option<Item> = None;
    for (number, item) in items.iter().enumerate() {
        if let Some(before) = before
            && wants_space(tree, before, *item)
        {
            let column = out.chars().count();
            let room = if number == 1 && line.indented { VALUE_COLUMN.saturating_sub(column).max(1) } else { 1 };
            out.extend(std::iter::repeat_n(' ', room));
        }
        out.push_str(tree.slice(item.span));
        before = Some(*item);
    }
    if let Some(comment) = line.comment {
        if before.is_some() {
            let column = out.chars().count();
            let room = COMMENT_COLUMN.saturating_sub(column).max(2);
            out.extend(std::iter::repeat_n(' ', room));
        }
        out.push_str(tree.slice(comment).trim_end());
    }
    out
}

/// Whether a space stands between two neighbours. Two items that touched stay apart only where reading them again
/// gives the same two items.
fn wants_space(tree: &Tree, before: Item, item: Item) -> bool {
    match (before.kind, item.kind) {
        (ItemKind::Stray, _) | (_, ItemKind::Stray) => before.span.end != item.span.start,
        (_, ItemKind::Comma) => false,
        (ItemKind::Comma, _) => true,
        (ItemKind::Number, ItemKind::Word) => {
            !tree.slice(item.span).starts_with('°') || tree.slice(item.span).len() > "°".len()
        }
        _ => true,
    }
}

#[cfg(test)]
mod tests {
    use super::super::tree::read_tree;
    use super::*;
    use crate::text::apply;
    use proptest::prelude::*;
    use std::sync::Arc;

    fn tidied(text: &str) -> String {
        let tree = read_tree(Arc::from(text));
        apply(text, &tidy(&tree)).expect("edits that fit the text")
    }

    fn items(text: &str) -> Vec<(ItemKind, String)> {
        let tree = read_tree(Arc::from(text));
        let mut out = Vec::new();
        for line in &tree.lines {
            out.extend(tree.items(line).iter().map(|item| (item.kind, tree.slice(item.span).to_string())));
            out.extend(line.comment.map(|span| (ItemKind::Comment, tree.slice(span).trim_end().to_string())));
        }
        out
    }

    #[test]
    fn white_space_is_put_in_order() {
        let text = "trialfit   1\n\n\n\nexhaust   of reader   # x\n\tpipe steel ,24mm bore\n drain-hole 4mm\n  right 90 °, down 2 °C\n  combustion-air-limit 2m";
        let want = "trialfit 1\n\nexhaust of reader                               # x\n  pipe          steel, 24 mm bore\n  drain-hole    4 mm\n  right         90°, down 2 °C\n  combustion-air-limit 2 m\n";
        assert_eq!(tidied(text), want);
    }

    #[test]
    fn line_ends_and_mark_stay() {
        assert_eq!(tidied("\u{feff}trialfit  1\r\n\r\n\r\njob \"x\""), "\u{feff}trialfit 1\r\n\r\njob \"x\"\r\n");
        assert_eq!(tidied(""), "");
        assert_eq!(tidied("\n\n\n"), "");
    }

    proptest! {
        #[test]
        fn tidy_twice_is_tidy_once_and_items_stay(text in "(?s)([a-z0-9]|[\\r\\n\\t \"#,.±×?°²x\u{feff}\u{a0}@{+/-]){0,60}") {
            let once = tidied(&text);
            prop_assert_eq!(items(&once), items(&text), "items of {:?} after {:?}", text, once);
            prop_assert_eq!(tidied(&once), once);
        }
    }
}

//! What a reader grows a selection by: a word, its argument, the statement, the block, the file.

use crate::reading::Reading;
use crate::text::Span;

/// The pieces of the text around an offset, from the innermost out; each holds the one before and more.
pub fn selection(reading: &Reading, offset: u32) -> Vec<Span> {
    let tree = &reading.tree;
    let mut out: Vec<Span> = Vec::new();
    let mut grow = |span: Span| {
        let inner = out.last().copied();
        let grows = inner.is_none_or(|inner| span.start <= inner.start && inner.end <= span.end && span != inner);
        if grows && span.touches(offset) {
            out.push(span);
        }
    };
    let line = tree.lines.get(tree.line_at(offset));
    let items = line.map_or(&[][..], |line| tree.items(line));
    if let Some(item) = items.iter().find(|item| item.span.touches(offset)) {
        grow(item.span);
    }
    if let Some(comment) = line.and_then(|line| line.comment) {
        grow(comment);
    }
    let (block, statement) = reading.at(offset);
    if let Some(statement) = statement {
        if let Some(arg) = reading.args(statement).iter().find(|arg| arg.span.touches(offset)) {
            grow(arg.span);
        }
        grow(statement.span);
    }
    if let (Some(first), Some(last)) = (items.first(), items.last()) {
        grow(first.span.cover(last.span));
    }
    if let Some(line) = line {
        grow(line.span);
    }
    if let Some(block) = block {
        let lines = [block.first_line, block.last_line].map(|line| tree.lines.get(line as usize));
        if let [Some(first), Some(last)] = lines {
            grow(first.span.cover(last.span));
        }
    }
    grow(Span::new(0, tree.text.len()));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::sync::Arc;

    #[test]
    fn a_selection_grows_from_the_word_to_the_file() {
        let text = "trialfit 1\n\ncable a of b\n  size 4 mm²  # thin\n  fuse 20 A\n";
        let reading = Reading::new(Arc::from(text));
        let at = u32::try_from(text.find("mm").unwrap()).unwrap();
        let grown: Vec<&str> = selection(&reading, at).iter().map(|span| reading.slice(*span)).collect();
        assert_eq!(grown[..3], ["mm²", "4 mm²", "size 4 mm²"]);
        assert_eq!(grown.last(), Some(&text));
        assert!(grown.iter().any(|it| it.starts_with("cable a") && it.ends_with("20 A")));
    }

    proptest! {
        #[test]
        fn each_piece_holds_the_one_before(
            text in "(?s)(exhaust of a|\\n|\\r\\n|  size 4 mm²|[a-z \"#😀]){0,20}", at in any::<prop::sample::Index>()
        ) {
            let reading = Reading::new(Arc::from(text.as_str()));
            let offset = u32::try_from(at.index(text.len() + 1)).unwrap();
            let grown = selection(&reading, offset);
            prop_assert!(grown.iter().all(|span| span.touches(offset)));
            for pair in grown.windows(2) {
                prop_assert!(pair[1].start <= pair[0].start && pair[0].end <= pair[1].end && pair[0] != pair[1]);
            }
        }
    }
}

//! Running text broken into lines. Widths are counted in characters.

/// The text in lines of at most `width` characters where its words allow, the first line after `first`, the others
/// after `rest`. Line ends in the text stay.
pub fn wrap(text: &str, width: usize, first: &str, rest: &str) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    for (number, paragraph) in text.lines().enumerate() {
        if number > 0 {
            out.push('\n');
        }
        let indent = if number == 0 { first } else { rest };
        out.push_str(indent);
        let mut used = indent.chars().count();
        let mut fresh = true;
        for word in paragraph.split(' ').filter(|word| !word.is_empty()) {
            let length = word.chars().count();
            if !fresh && used + 1 + length > width {
                out.push('\n');
                out.push_str(rest);
                used = rest.chars().count();
                fresh = true;
            }
            if !fresh {
                out.push(' ');
                used += 1;
            }
            out.push_str(word);
            used += length;
            fresh = false;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::wrap;

    #[test]
    fn words_stay_whole_and_lines_stay_short() {
        assert_eq!(wrap("one two three", 9, "- ", "  "), "- one two\n  three");
        assert_eq!(wrap("immeasurably long", 4, "", ""), "immeasurably\nlong");
        assert_eq!(wrap("a\nb", 10, "x ", "  "), "x a\n  b");
    }
}

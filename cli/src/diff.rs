//! What a change of a text looks like as a unified diff (POSIX.1-2017, `diff -u`). Nothing is read or written here.

use similar::TextDiff;
use std::borrow::Cow;

/// Lines shown around a change: what `patch` and `git apply` expect by default.
const AROUND: usize = 3;

/// The unified diff from one text of a file to another, empty where they are the same. `path` is what the file is called
/// in reports; a relative one gets the `a/` and `b/` in front that `git apply` and `patch -p1` take off again.
pub(crate) fn unified(path: &str, old: &str, new: &str) -> String {
    if old == new {
        return String::new();
    }
    let name = |side: &str| {
        // A name with a space in it ends with a tab, so that a program knows where it ends.
        let end = if path.contains(' ') { "\t" } else { "" };
        let side = if path.starts_with('/') { Cow::Borrowed("") } else { Cow::Owned(format!("{side}/")) };
        format!("{side}{path}{end}")
    };
    TextDiff::from_lines(old, new).unified_diff().context_radius(AROUND).header(&name("a"), &name("b")).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_is_shown_with_three_lines_around_it() {
        let old = "1\n2\n3\n4\n5\n6\n7\n8\n9\n";
        let new = old.replace("5\n", "five\n");
        let shown =
            "--- a/jobs/van.trialfit\n+++ b/jobs/van.trialfit\n@@ -2,7 +2,7 @@\n 2\n 3\n 4\n-5\n+five\n 6\n 7\n 8\n";
        assert_eq!(unified("jobs/van.trialfit", old, &new), shown);
    }

    #[test]
    fn the_same_text_shows_nothing_and_a_missing_last_line_end_is_said() {
        assert_eq!(unified("van.trialfit", "a\n", "a\n"), "");
        let shown = unified("/jobs/my van.trialfit", "a\r\nb", "a\r\nc");
        let end = "\\ No newline at end of file\n";
        assert_eq!(
            shown,
            format!(
                "--- /jobs/my van.trialfit\t\n+++ /jobs/my van.trialfit\t\n@@ -1,2 +1,2 @@\n a\r\n-b\n{end}+c\n{end}"
            )
        );
    }
}

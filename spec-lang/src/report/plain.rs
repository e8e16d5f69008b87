//! A finding in full as plain text, a line a part, for the forms that carry a text and lay nothing out.

use super::one_line;
use crate::finding::Finding;

/// Title, reason, limit and whose it is, how to mend it: one line each, those left out that the finding does not have.
pub fn finding_text(finding: &Finding) -> String {
    let mut out = one_line(&finding.title).into_owned();
    let mut say = |what: &str, text: &str| {
        if !text.is_empty() {
            out.push_str(&format!("\n{what}: {}", one_line(text)));
        }
    };
    say("why", &finding.why);
    if let Some(limit) = &finding.limit {
        say("limit", &format!("{} ({})", limit.text, limit.whose));
    }
    say("mend", &finding.help);
    out
}

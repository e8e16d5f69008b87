//! A rule's page and the list of rules, as plain text for a terminal.

use super::{CAUTION, wrap};
use crate::rules::{Family, Rule, all};

/// A rule's page.
pub fn rule_page(rule: &Rule, width: usize) -> String {
    let mut out = format!("{}\n{}, {}\n\n", rule.name, rule.severity.word(), rule.family.title());
    for paragraph in [rule.title, rule.explanation] {
        out.push_str(&wrap(paragraph, width, "", ""));
        out.push_str("\n\n");
    }
    out.push_str(&wrap(rule.source, width, "limit  ", "       "));
    out.push('\n');
    out.push_str(&wrap(rule.mend, width, "mend   ", "       "));
    out.push_str("\n\n");
    if rule.life_safety() {
        let words = "this guards against poisoning, fire or burns: nothing sets it aside.";
        out.push_str(&wrap(words, width, "", ""));
        out.push_str("\n\n");
    }
    if rule.is_of_the_install() {
        out.push_str(&wrap(CAUTION, width, "", ""));
        out.push_str("\n\n");
    }
    out.push_str("this job breaks the rule\n\n");
    out.push_str(&indented(rule.bad));
    out.push_str("\nand this one keeps it\n\n");
    out.push_str(&indented(rule.good));
    out
}

fn indented(example: &str) -> String {
    let lines = example.trim_matches('\n').lines();
    lines.map(|line| if line.is_empty() { "\n".to_string() } else { format!("    {line}\n") }).collect()
}

/// Every rule by family: name, severity and title.
pub fn rule_list(width: usize) -> String {
    let longest = all().map(|rule| rule.name.len()).max().unwrap_or(0);
    let mut families: Vec<Family> = all().map(|rule| rule.family).collect();
    families.sort();
    families.dedup();
    let mut out = String::new();
    for family in families {
        out.push_str(family.title());
        out.push('\n');
        for rule in all().filter(|rule| rule.family == family) {
            let head = format!("  {:<longest$}  {:<7}  ", rule.name, rule.severity.word());
            let rest = " ".repeat(head.chars().count());
            out.push_str(&wrap(rule.title, width.max(head.len() + 24), &head, &rest));
            out.push('\n');
        }
        out.push('\n');
    }
    out.push_str("`trialfit explain RULE` shows a rule's page\n");
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::junit::{Answer, Suite, junit};
    use crate::rules::page;

    /// Pages of rules about the install carry the caution once; those about the text's own form do not. Every failing case
    /// carries it once.
    #[test]
    fn the_caution_stands_where_a_rule_is_about_the_install() {
        let mut of_the_install = 0;
        for rule in all() {
            let wanted = usize::from(rule.is_of_the_install());
            of_the_install += wanted;
            let mut suite = Suite::judged("a.trialfit", "");
            suite.add(rule.name, Answer::Failure, "error", rule.title, "one");
            suite.add(rule.name, Answer::Failure, "error", rule.title, "another");
            let case = junit(&[suite]).replace("&apos;", "'");
            for (text, wanted) in [(rule_page(rule, 10_000), wanted), (page(rule), wanted), (case, 1)] {
                assert_eq!(text.matches(CAUTION).count(), wanted, "{}: {text}", rule.name);
            }
        }
        assert!(of_the_install > 100, "{of_the_install}");
        let unreadable = junit(&[Suite::unreadable("a.trialfit", "it is not text")]);
        assert_eq!(unreadable.matches(CAUTION).count(), 1, "{unreadable}");
        let safe = all().filter(|rule| rule.life_safety());
        assert_eq!(safe.filter(|rule| !rule.is_of_the_install()).count(), 0, "what guards life carries the caution");
    }
}

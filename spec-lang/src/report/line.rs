//! The form with one line for each finding: `path:line:column: severity: title [rule]`.

use super::{Locator, Naming};
use crate::finding::{Conceded, Finding, NotJudged};
use std::borrow::Cow;

/// A text on one line: line ends and other control characters become spaces, so that nothing in a job can start a new
/// line of a report or speak to the terminal.
pub fn one_line(text: &str) -> Cow<'_, str> {
    let unfit =
        |letter: char| letter.is_control() || matches!(letter, '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    if text.contains(unfit) {
        Cow::Owned(text.chars().map(|letter| if unfit(letter) { ' ' } else { letter }).collect())
    } else {
        Cow::Borrowed(text)
    }
}

/// A finding on one line.
pub fn finding_line(finding: &Finding, locator: &mut Locator<'_>, name: Naming<'_>) -> String {
    let at = locator.start(finding.place);
    let (path, line, column) = (name(finding.place.file), at.line, at.column);
    let (severity, title, rule) = (finding.severity.word(), one_line(&finding.title), finding.rule.name);
    match &finding.conceded {
        None => format!("{path}:{line}:{column}: {severity}: {title} [{rule}]"),
        Some(conceded) => {
            format!("{path}:{line}:{column}: set aside: {title} [{rule}] ({})", conceded_line(conceded))
        }
    }
}

/// What was not judged, on one line.
pub fn not_judged_line(left: &NotJudged, locator: &mut Locator<'_>, name: Naming<'_>) -> String {
    let at = locator.start(left.place);
    let path = name(left.place.file);
    format!("{path}:{}:{}: {} [{}]", at.line, at.column, one_line(&left.says()), left.rule.name)
}

/// Why, by whom and until when a finding is set aside.
pub fn conceded_line(conceded: &Conceded) -> String {
    let said = |text: &str, otherwise: &'static str| {
        if text.is_empty() { otherwise.to_string() } else { one_line(text).into_owned() }
    };
    let until =
        conceded.until.as_deref().map_or("without an end".to_string(), |day| format!("until {}", one_line(day)));
    format!("{}; by {}; {until}", said(&conceded.because, "no reason given"), said(&conceded.by, "nobody named"))
}

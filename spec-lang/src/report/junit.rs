//! The JUnit XML form, which job pages of build servers read. No standard names it: it is held to the schema that readers
//! publish. Strings only; what counts is decided by the caller.
//!
//! A file is a test suite. The case `judged` stands for the file itself: it passes where the file could be judged, so that
//! a file without findings counts as a passed one. Each rule that found something, or that could not judge, is a case.
//! `failure`: a finding that counts. `error`: no answer, because a safety rule could not judge, the file could not be
//! read or a rule of the tool failed. `skipped`: set aside by a concession, in the record of known findings, or milder
//! than what was asked for.

use super::CAUTION;
use std::fmt::Write;

/// What became of a case. When several hold, the last is the answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Answer {
    /// Nothing against it.
    Passed,
    /// Found, but does not count.
    Skipped,
    /// Found.
    Failure,
    /// No answer.
    Error,
}

/// A case.
#[derive(Debug)]
struct Case {
    name: String,
    answer: Answer,
    /// The answer's kind, as a word: `error`, `warning`, `not judged`.
    kind: &'static str,
    /// The gravest thing said, in one line.
    message: String,
    /// All that was said.
    text: String,
}

/// A file.
#[derive(Debug)]
pub struct Suite {
    name: String,
    cases: Vec<Case>,
}

impl Suite {
    /// A file that was judged; `words` are what to know of that.
    pub fn judged(name: &str, words: &str) -> Suite {
        let case = Case {
            name: "judged".to_string(),
            answer: Answer::Passed,
            kind: "",
            message: String::new(),
            text: words.to_string(),
        };
        Suite { name: name.to_string(), cases: vec![case] }
    }

    /// A file that could not be judged.
    pub fn unreadable(name: &str, reason: &str) -> Suite {
        let mut suite = Suite::judged(name, "");
        suite.add("judged", Answer::Error, "unreadable", reason, reason);
        suite
    }

    /// Adds something said by a rule; what one rule says of a file is one case.
    pub fn add(&mut self, rule: &str, answer: Answer, kind: &'static str, message: &str, text: &str) {
        let known = self.cases.iter_mut().find(|case| case.name == rule);
        let Some(case) = known else {
            self.cases.push(Case {
                name: rule.to_string(),
                answer,
                kind,
                message: message.to_string(),
                text: text.to_string(),
            });
            return;
        };
        if answer > case.answer {
            (case.answer, case.kind) = (answer, kind);
            case.message = message.to_string();
        }
        if !case.text.is_empty() {
            case.text.push_str("\n\n");
        }
        case.text.push_str(text);
    }

    fn count(&self, answer: Answer) -> usize {
        self.cases.iter().filter(|case| case.answer == answer).count()
    }
}

/// The document.
pub fn junit(suites: &[Suite]) -> String {
    let sum = |answer: Answer| suites.iter().map(|suite| suite.count(answer)).sum::<usize>();
    let tests: usize = suites.iter().map(|suite| suite.cases.len()).sum();
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    // Writing to a string cannot fail.
    let _ = writeln!(
        out,
        "<testsuites name=\"trialfit\" tests=\"{tests}\" failures=\"{}\" errors=\"{}\">",
        sum(Answer::Failure),
        sum(Answer::Error)
    );
    for suite in suites {
        let name = escaped(&suite.name);
        let _ = writeln!(
            out,
            "  <testsuite name=\"{name}\" file=\"{name}\" tests=\"{}\" failures=\"{}\" errors=\"{}\" skipped=\"{}\">",
            suite.cases.len(),
            suite.count(Answer::Failure),
            suite.count(Answer::Error),
            suite.count(Answer::Skipped)
        );
        for case in &suite.cases {
            let _ = write!(out, "    <testcase name=\"{}\" classname=\"{name}\">", escaped(&case.name));
            let element = match case.answer {
                Answer::Passed => {
                    let _ = writeln!(out, "<system-out>{}</system-out></testcase>", escaped(&case.text));
                    continue;
                }
                Answer::Skipped => "skipped",
                Answer::Failure => "failure",
                Answer::Error => "error",
            };
            let caution = match case.answer {
                Answer::Failure | Answer::Error => format!("\n\n{}", escaped(CAUTION)),
                Answer::Passed | Answer::Skipped => String::new(),
            };
            let _ = writeln!(
                out,
                "<{element} type=\"{}\" message=\"{}\">{}{caution}</{element}></testcase>",
                escaped(case.kind),
                escaped(&case.message),
                escaped(&case.text)
            );
        }
        out.push_str("  </testsuite>\n");
    }
    out.push_str("</testsuites>\n");
    out
}

/// A text as XML 1.0 holds it (fifth edition, section 2.2): characters that it may not hold become U+FFFD; a carriage
/// return and a tab are written by number, else readers would change them (sections 2.11 and 3.3.3).
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' => out.push_str("&#9;"),
            '\r' => out.push_str("&#13;"),
            '\n' | ' '..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'.. => out.push(letter),
            _ => out.push('\u{fffd}'),
        }
    }
    out
}

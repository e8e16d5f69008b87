//! The sum of a run in words, and a number with its noun.

use super::{Debts, totals_line};
use crate::finding::Severity;
use crate::rules::Totals;

/// A number with its noun: `1 fact`, `3 facts`.
pub fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// How much of what was found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Files judged.
    pub files: usize,
    /// Standing errors.
    pub errors: usize,
    /// Standing warnings.
    pub warnings: usize,
    /// Standing pieces of advice.
    pub advice: usize,
    /// Findings that a concession sets aside.
    pub set_aside: usize,
    /// Findings that stand in the record of known findings.
    pub known: usize,
    /// Safety rules that lacked their inputs; without what is owed.
    pub not_judged: usize,
    /// Missing facts that are owed, and do not count yet.
    pub debts: Debts,
    /// Files that could not be read.
    pub unreadable: usize,
    /// The questions that were asked.
    pub questions: Totals,
}

impl Counts {
    /// Counts a standing finding.
    pub fn add(&mut self, severity: Severity) {
        match severity {
            Severity::Error => self.errors += 1,
            Severity::Warning => self.warnings += 1,
            Severity::Advice => self.advice += 1,
        }
    }

    /// The sum in one line.
    pub fn line(&self) -> String {
        let mut parts = Vec::new();
        let mut say = |count: usize, one: &str, many: &str| {
            if count > 0 {
                parts.push(counted(count, one, many));
            }
        };
        say(self.errors, "error", "errors");
        say(self.warnings, "warning", "warnings");
        say(self.advice, "piece of advice", "pieces of advice");
        let mut line = if self.files == 0 && parts.is_empty() {
            // A file that could not be read is told of below.
            if self.unreadable == 0 { "no job file to judge was found" } else { "nothing was judged" }.to_string()
        } else {
            if parts.is_empty() {
                parts.push("no findings".to_string());
            }
            format!("{} in {}", parts.join(", "), counted(self.files, "file", "files"))
        };
        if self.not_judged > 0 {
            line += &format!("; {} NOT JUDGED", self.not_judged);
        }
        if self.debts.facts > 0 {
            line += &format!("; {}", self.debts.line());
        }
        if self.set_aside > 0 {
            line += &format!("; {} set aside by concession", self.set_aside);
        }
        if self.known > 0 {
            line += &format!("; {} known", self.known);
        }
        if self.unreadable > 0 {
            line += &format!("; {} not be read", counted(self.unreadable, "file could", "files could"));
        }
        if self.questions.all() > 0 {
            line += &format!(". {}", totals_line(&self.questions));
        }
        line
    }
}

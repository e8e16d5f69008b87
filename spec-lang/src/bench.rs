//! The bench: judges an example of a rule's page over the bench job, as the documentation shows it. Only the page
//! itself and its tests are above it.

use crate::reading::Reading;
use crate::rules::{BENCH, BENCH_KITS, BENCH_SHEETS, BENCH_USUAL, compose};
use crate::source::{FileId, Followed, Source};
use crate::{Analysis, analyse};
use std::sync::Arc;

/// The files that the pages' examples may follow: the bench's sheets, and one of each way in which a file can fail.
struct BenchFiles;

const BENCH_FILE: FileId = FileId(0);

impl Source for BenchFiles {
    fn follow(&self, _: FileId, written: &str) -> Followed {
        let read = |text: &str| Arc::new(Reading::new(Arc::from(text)));
        match written {
            "bench-sheets.trialfit" => Followed::File(FileId(1), read(BENCH_SHEETS)),
            "bench-kits.trialfit" => Followed::File(FileId(2), read(BENCH_KITS)),
            "bench-usual-90.trialfit" => Followed::File(FileId(3), read(BENCH_USUAL[0])),
            "bench-usual-105.trialfit" => Followed::File(FileId(4), read(BENCH_USUAL[1])),
            "bench.trialfit" => Followed::File(BENCH_FILE, read(BENCH)),
            "not-text.trialfit" => Followed::Unreadable("byte 17 is not UTF-8".to_string()),
            outside if outside.starts_with("..") => Followed::Outside,
            _ => Followed::Missing,
        }
    }
}

/// Judges an example of a page over the bench job, on a day of the examples' own.
pub fn judge_example(example: &str) -> Analysis {
    judge_text(&compose(example))
}

/// Judges a whole text as the examples are judged; it may follow the bench's files.
pub fn judge_text(text: &str) -> Analysis {
    let reading = Arc::new(Reading::new(Arc::from(text)));
    analyse(BENCH_FILE, reading, &BenchFiles, crate::reading::Date::read("2026-01-15"))
}

/// The job of an example with these sheets in place of the bench's, for tests that look at figures.
#[cfg(test)]
pub(crate) fn job_with_sheets(example: &str, sheets: &str) -> crate::model::Job {
    struct Sheets(Arc<Reading>);
    impl Source for Sheets {
        fn follow(&self, _: FileId, _: &str) -> Followed {
            Followed::File(FileId(1), Arc::clone(&self.0))
        }
    }
    let read = |text: &str| Arc::new(Reading::new(Arc::from(text)));
    crate::model::Job::resolve(BENCH_FILE, read(&compose(example)), &Sheets(read(sheets)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::NotJudged;
    use crate::rules::all;

    /// The standing findings and unjudged rules of an example, a line each.
    fn said(analysis: &Analysis) -> Vec<String> {
        let findings = analysis.standing().map(|finding| format!("{}: {}", finding.rule.name, finding.title));
        let unjudged =
            analysis.not_judged.iter().map(|left| format!("NOT JUDGED {}: {}", left.rule.name, left.because));
        findings.chain(unjudged).collect()
    }

    #[test]
    fn the_bench_job_is_clean() {
        assert_eq!(said(&judge_example("")), Vec::<String>::new());
    }

    #[test]
    fn every_page_finds_its_own_fault_and_no_other() {
        let mut wrong = Vec::new();
        for rule in all() {
            let bad = judge_example(rule.bad);
            let own = bad.standing().filter(|finding| finding.rule == rule).count()
                + bad.not_judged.iter().filter(|left| left.rule == rule).count();
            // A concession that does not hold lets the finding it names stand: that one is part of its page.
            let conceded: Vec<&str> =
                bad.job.concessions.iter().filter_map(|concession| concession.rule.get()).map(String::as_str).collect();
            let expected = |line: &str| {
                line.starts_with(rule.name)
                    || line.starts_with("NOT JUDGED")
                    || conceded.iter().any(|name| line.starts_with(name))
            };
            let others: Vec<String> = said(&bad).into_iter().filter(|line| !expected(line)).collect();
            if own == 0 || !others.is_empty() {
                wrong.push(format!("{} bad: {own} of its own, and {others:#?}", rule.name));
            }
            // Mended, nothing is found, no rule is at a loss, and its own question is answered. A block as short as a page's
            // may lack a fact that another question needs.
            let mended = judge_example(rule.good);
            let own = |left: &NotJudged| {
                left.rule == rule || left.missing.as_ref().is_none_or(|missing| missing.rules.contains(&rule))
            };
            let findings = mended.standing().map(|finding| format!("{}: {}", finding.rule.name, finding.title));
            let open = mended.not_judged.iter().filter(|left| own(left)).map(NotJudged::says);
            let good: Vec<String> = findings.chain(open).collect();
            if !good.is_empty() {
                wrong.push(format!("{} good: {good:#?}", rule.name));
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn every_finding_says_a_figure_a_limit_and_what_to_do() {
        for rule in all() {
            for finding in judge_example(rule.bad).standing().filter(|finding| finding.rule == rule) {
                assert!(!finding.title.ends_with('.'), "{}: {}", rule.name, finding.title);
                assert!(!finding.help.is_empty(), "{} gives no help", rule.name);
                assert!(!finding.label.is_empty(), "{} has no label", rule.name);
            }
        }
    }

    #[test]
    fn every_unseen_remedy_removes_its_finding_and_adds_no_error() {
        for rule in all() {
            let before = judge_example(rule.bad);
            let text = compose(rule.bad);
            for finding in before.standing().filter(|finding| finding.rule == rule) {
                for remedy in finding.remedies.iter().filter(|remedy| remedy.unseen) {
                    let edits: Vec<_> = remedy.edits.iter().map(|(_, edit)| edit.clone()).collect();
                    let mended = crate::text::apply(&text, &edits).expect("edits that fit");
                    let after = judge_text(&mended);
                    let same = after.standing().filter(|other| other.rule == rule).count();
                    let had = before.standing().filter(|other| other.rule == rule).count();
                    assert!(same < had, "{}: `{}` leaves {:#?}", rule.name, remedy.title, said(&after));
                    let errors = |analysis: &Analysis| {
                        analysis
                            .standing()
                            .filter(|finding| finding.severity == crate::finding::Severity::Error)
                            .count()
                    };
                    assert!(
                        errors(&after) <= errors(&before),
                        "{}: `{}` adds {:#?}",
                        rule.name,
                        remedy.title,
                        said(&after)
                    );
                }
            }
        }
    }
}

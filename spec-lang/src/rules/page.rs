//! The rule catalogue: each rule's page, and the bench job that its examples are laid over.

use super::{all, Family, Rule};
use crate::reading::Reading;
use crate::source::{FileId, Followed, Source};
use crate::{analyse, Analysis};
use std::sync::Arc;

/// Sheets of the bench job, as the file `bench-sheets.dryfit`. Invented.
pub const BENCH_SHEETS: &str = include_str!("bench-sheets.dryfit");

/// A small complete job in order, over which the pages' examples are laid. Invented.
pub const BENCH: &str = include_str!("bench.dryfit");

/// Lays an example over the bench job: each block of the example replaces the bench's block of the same header, new
/// blocks are added at the end, and a line `leave out HEADER` removes one. Lines before the first block replace the
/// bench's own first lines.
pub fn compose(example: &str) -> String {
    let mut blocks: Vec<(bool, String)> = paragraphs(BENCH).into_iter().map(|block| (true, block)).collect();
    for block in paragraphs(example) {
        let header = block.lines().next().unwrap_or("");
        if let Some(gone) = header.strip_prefix("leave out ") {
            blocks.retain(|(_, known)| header_of(known) != gone);
        } else if let Some(known) =
            blocks.iter_mut().find(|(of_bench, known)| *of_bench && header_of(known) == header_of(&block))
        {
            *known = (false, block);
        } else {
            blocks.push((false, block));
        }
    }
    let blocks: Vec<String> = blocks.into_iter().map(|(_, block)| block).collect();
    blocks.join("\n\n") + "\n"
}

/// A block's header without its comment; all lines outside blocks count as one.
fn header_of(block: &str) -> &str {
    let header = block.lines().next().unwrap_or("");
    let header = header.split(" #").next().unwrap_or("").trim_end();
    if header.starts_with("dryfit") || header.starts_with("follows") {
        "dryfit"
    } else if header.starts_with("job ") {
        "job"
    } else {
        header
    }
}

fn paragraphs(text: &str) -> Vec<String> {
    text.split("\n\n").map(|block| block.trim_matches('\n').to_string()).filter(|block| !block.is_empty()).collect()
}

/// A rule's page in Markdown.
pub fn page(rule: &Rule) -> String {
    let caution = if rule.life_safety {
        "\nThis guards against poisoning, fire or burns: no concession sets it aside. The heater maker's instructions, \
         local codes and licensed practice come first; a job without findings is not an approval.\n"
    } else {
        ""
    };
    format!(
        "### `{name}`\n\n{title}. {severity}.\n\n{explanation}\n\n**Limit.** {source}.\n\n**Mend.** {mend}\n{caution}\n\
         Found in\n\n```dryfit\n{bad}\n```\n\nand not in\n\n```dryfit\n{good}\n```\n",
        name = rule.name,
        title = sentence(rule.title),
        severity = sentence(rule.severity.word()),
        explanation = rule.explanation,
        source = sentence(rule.source),
        mend = rule.mend,
        bad = rule.bad.trim_matches('\n'),
        good = rule.good.trim_matches('\n'),
    )
}

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// The whole catalogue in Markdown, by family.
pub fn catalogue() -> String {
    let mut out = String::from(
        "# The rules\n\nMade from the rules themselves by `dryfit rules --markdown`; a test holds the two together. The examples are \
         laid over the bench job at the end of this page: a block here stands in place of the bench's block of that header.\n",
    );
    let mut families: Vec<Family> = all().map(|rule| rule.family).collect();
    families.sort();
    families.dedup();
    for family in families {
        out.push_str(&format!("\n## {}\n\n", sentence(family.title())));
        for rule in all().filter(|rule| rule.family == family) {
            out.push_str(&page(rule));
            out.push('\n');
        }
    }
    out.push_str(&format!("\n## The bench job\n\n```dryfit\n{BENCH}```\n\nIt follows `bench-sheets.dryfit`:\n\n```dryfit\n{BENCH_SHEETS}```\n"));
    out
}

/// The files that the pages' examples may follow: the bench's sheets, and one of each way in which a file can fail.
struct BenchFiles;

const BENCH_FILE: FileId = FileId(0);

impl Source for BenchFiles {
    fn follow(&self, _: FileId, written: &str) -> Followed {
        let read = |text: &str| Arc::new(Reading::new(Arc::from(text)));
        match written {
            "bench-sheets.dryfit" => Followed::File(FileId(1), read(BENCH_SHEETS)),
            "bench.dryfit" => Followed::File(BENCH_FILE, read(BENCH)),
            "not-text.dryfit" => Followed::Unreadable("byte 17 is not UTF-8".to_string()),
            outside if outside.starts_with("..") => Followed::Outside,
            _ => Followed::Missing,
        }
    }
}

/// Judges an example of a page over the bench job, on a day of the examples' own.
pub fn judge_example(example: &str) -> Analysis {
    let reading = Arc::new(Reading::new(Arc::from(compose(example))));
    analyse(BENCH_FILE, reading, &BenchFiles, crate::reading::Date::read("2026-01-15"))
}

#[cfg(test)]
mod tests {
    use super::*;

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
            let good = said(&judge_example(rule.good));
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
                    let reading = Arc::new(Reading::new(Arc::from(mended.as_str())));
                    let after = analyse(BENCH_FILE, reading, &BenchFiles, crate::reading::Date::read("2026-01-15"));
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

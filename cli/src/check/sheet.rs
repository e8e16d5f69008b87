//! What a run writes, in the form that was asked for: findings as they come where the form allows it, the rest at the end.
//! What counts is decided in the run.

use super::Standing;
use super::judging::{Body, Left, LeftBody, Shown};
use crate::Ending;
use crate::arguments::Form;
use crate::known::Dead;
use crate::output::{Output, caution, complain};
use spec_lang::finding::Severity;
use spec_lang::report::junit::{Answer, Suite, junit};
use spec_lang::report::{CAUTION, Counts, Fingerprint, Summary, What, json, sarif, totals_line, wrap};
use spec_lang::rules::Totals;
use std::io;

/// What has been made of the findings so far.
pub(super) enum Sheet {
    Report,
    Line,
    Json { files: Vec<json::File>, unreadable: Vec<json::Unreadable> },
    Sarif { results: Vec<sarif::Outcome>, facts: sarif::Facts, against_record: bool },
    Junit { suites: Vec<Suite> },
    Summary { summary: Box<Summary> },
}

/// One file.
pub(super) struct OneFile<'a> {
    /// Its name in reports.
    pub(super) shown: &'a str,
    /// Its name in the form `sarif`.
    pub(super) uri: &'a str,
    /// Its path as it is on every machine.
    pub(super) portable: &'a str,
}

/// What is known when everything was judged.
pub(super) struct End<'a> {
    pub(super) counts: Counts,
    pub(super) fail_on: Severity,
    pub(super) ending: Ending,
    pub(super) date: Option<String>,
    /// What is to be said of the record.
    pub(super) record: &'a [String],
    /// The entries of the record that are no longer found.
    pub(super) dead: &'a [Dead],
}

impl Sheet {
    pub(super) fn new(form: Form, against_record: bool) -> Sheet {
        match form {
            Form::Report => Sheet::Report,
            Form::Line => Sheet::Line,
            Form::Json => Sheet::Json { files: Vec::new(), unreadable: Vec::new() },
            Form::Sarif => Sheet::Sarif { results: Vec::new(), facts: sarif::Facts::default(), against_record },
            Form::Junit => Sheet::Junit { suites: Vec::new() },
            Form::Summary => Sheet::Summary { summary: Box::default() },
        }
    }

    /// A path that was asked for and is not there.
    pub(super) fn missing(&mut self, shown: &str, reason: &str) {
        match self {
            Sheet::Sarif { facts, .. } => {
                facts.configuration.push(sarif::Notification::failure(None, &format!("{shown}: {reason}")));
            }
            _ => self.unreadable(shown, "", reason),
        }
    }

    /// A file that could not be judged.
    pub(super) fn unreadable(&mut self, shown: &str, uri: &str, reason: &str) {
        match self {
            Sheet::Report | Sheet::Line => {}
            Sheet::Json { unreadable, .. } => {
                unreadable.push(json::Unreadable { path: shown.to_string(), reason: reason.to_string() });
            }
            Sheet::Sarif { facts, .. } => facts.execution.push(sarif::Notification::failure(Some(uri), reason)),
            Sheet::Junit { suites } => suites.push(Suite::unreadable(shown, reason)),
            Sheet::Summary { summary } => summary.add_unreadable(shown, reason),
        }
    }

    /// Begins a file.
    pub(super) fn file(&mut self, file: &OneFile<'_>, edition: Option<u32>, questions: Totals) {
        match self {
            Sheet::Report | Sheet::Line | Sheet::Summary { .. } => {}
            Sheet::Json { files, .. } => files.push(json::File {
                path: file.shown.to_string(),
                edition,
                findings: Vec::new(),
                not_judged: Vec::new(),
                questions: questions.into(),
            }),
            Sheet::Sarif { facts, .. } => facts.judged.push(file.uri.to_string()),
            Sheet::Junit { suites } => suites.push(Suite::judged(
                file.shown,
                &format!("the file was judged; {}. {CAUTION}", totals_line(&questions)),
            )),
        }
    }

    /// Says that the file is of a later edition than this tool knows, which counts before building.
    pub(super) fn later_edition(&mut self, edition: u32) {
        if let Sheet::Junit { suites } = self {
            let words = format!("the file is of edition {edition}; --final asks for one that this tool knows");
            if let Some(suite) = suites.last_mut() {
                suite.add("judged", Answer::Failure, "later edition", &words, &words);
            }
        }
    }

    /// What safety rules could not judge in the file begun last.
    pub(super) fn not_judged(&mut self, file: &OneFile<'_>, all: Vec<Left>, output: &mut Output) -> io::Result<()> {
        let mut rules: Vec<&str> = all.iter().filter(|left| left.counts()).map(|left| left.rule).collect();
        rules.sort_unstable();
        rules.dedup();
        for left in all {
            let counts = left.counts();
            let stands = left.debt.as_ref().map_or(String::new(), |debt| format!(" ({})", debt.says()));
            match (&mut *self, left.body) {
                (Sheet::Report, LeftBody::Text(line)) if counts => {
                    output.say(&format!("{line}\n"))?;
                    if !stands.is_empty() {
                        output.say(&format!("{}\n", wrap(stands.trim(), output.width, "    ", "    ")))?;
                    }
                }
                (Sheet::Line, LeftBody::Text(line)) if counts => output.say(&format!("{line}{stands}\n"))?,
                (Sheet::Junit { suites }, LeftBody::Text(line)) => {
                    let message = format!("NOT JUDGED, because {}{stands}", left.because);
                    let (answer, kind) = if counts { (Answer::Error, "not judged") } else { (Answer::Skipped, "debt") };
                    if let Some(suite) = suites.last_mut() {
                        suite.add(left.rule, answer, kind, &message, &format!("{line}{stands}"));
                    }
                }
                (Sheet::Summary { summary }, LeftBody::Text(line)) => match &left.debt {
                    Some(debt) if !counts => summary.add_debt(file.shown, debt),
                    _ => summary.add_not_judged(file.shown, &format!("{line}{stands}")),
                },
                (Sheet::Json { files, .. }, LeftBody::Wire(mut wire)) => {
                    wire.debt = left.debt.as_ref().map(json::Debt::from);
                    if let Some(file) = files.last_mut() {
                        file.not_judged.push(*wire);
                    }
                }
                (Sheet::Sarif { results, .. }, LeftBody::Sarif(mut result)) => {
                    if let Some(debt) = &left.debt {
                        result.owe(debt);
                    }
                    results.push(*result);
                }
                _ => {}
            }
        }
        if let (Sheet::Sarif { results, .. }, false) = (&mut *self, rules.is_empty()) {
            let print = Fingerprint::of_name("not-judged").in_file(file.portable);
            results.push(sarif::Outcome::file_not_judged(file.uri, &rules, print));
        }
        Ok(())
    }

    /// A finding of the file begun last.
    pub(super) fn finding(
        &mut self,
        file: &OneFile<'_>,
        finding: Shown,
        standing: Standing,
        output: &mut Output,
    ) -> io::Result<()> {
        let known = standing == Standing::Known;
        match (&mut *self, finding.body) {
            (Sheet::Report, Body::Text(text)) if !known => output.say(&text)?,
            (Sheet::Line, Body::Text(line)) if !known => {
                output.say(&line)?;
                output.say("\n")?;
            }
            (Sheet::Junit { suites }, Body::Text(text)) => {
                let (answer, kind) = match standing {
                    _ if finding.rule.name == spec_lang::rules::RULE_FAILED.name => (Answer::Error, "rule failed"),
                    Standing::SetAside { .. } => (Answer::Skipped, "set aside by concession"),
                    Standing::Known => (Answer::Skipped, "known"),
                    Standing::Milder => (Answer::Skipped, finding.severity.word()),
                    Standing::Counts | Standing::Grew => (Answer::Failure, finding.severity.word()),
                };
                if let Some(suite) = suites.last_mut() {
                    suite.add(finding.rule.name, answer, kind, &finding.title, &text);
                }
            }
            (Sheet::Summary { summary }, Body::Text(line)) => match (&finding.conceded, standing) {
                (Some(conceded), _) => summary.add_set_aside(conceded, &line),
                (None, Standing::Known) => {
                    summary.add(finding.rule, finding.guards_life, finding.severity, What::Known, file.shown, &line);
                }
                (None, Standing::Milder) => {
                    summary.add(finding.rule, finding.guards_life, finding.severity, What::Milder, file.shown, &line);
                }
                (None, _) => {
                    summary.add(finding.rule, finding.guards_life, finding.severity, What::Counts, file.shown, &line)
                }
            },
            (Sheet::Json { files, .. }, Body::Wire(mut wire)) => {
                wire.known = known;
                if let Some(file) = files.last_mut() {
                    file.findings.push(*wire);
                }
            }
            (Sheet::Sarif { results, facts, .. }, Body::Sarif(mut result)) => {
                if finding.rule.name == spec_lang::rules::RULE_FAILED.name {
                    facts.execution.push(sarif::Notification::failure(Some(file.uri), &finding.title));
                }
                result.baseline_state = match standing {
                    Standing::Known | Standing::SetAside { recorded: true } => Some(sarif::Baseline::Unchanged),
                    Standing::Grew => Some(sarif::Baseline::Updated),
                    _ => None,
                };
                results.push(*result);
            }
            _ => {}
        }
        Ok(())
    }

    /// Writes what is left.
    pub(super) fn end(self, end: End<'_>, output: &mut Output) -> io::Result<()> {
        if matches!(self, Sheet::Json { .. } | Sheet::Junit { .. } | Sheet::Sarif { .. }) {
            caution();
        }
        match self {
            Sheet::Report => output.say(&format!(
                "{}\n{}\n",
                wrap(&end.counts.line(), output.width, "", ""),
                wrap(CAUTION, output.width, "", "")
            )),
            Sheet::Line => {
                output.finish()?;
                complain(&end.counts.line());
                caution();
                Ok(())
            }
            Sheet::Json { files, unreadable } => {
                output.json(&json::Findings::new(end.date, files, unreadable, end.counts))
            }
            Sheet::Junit { suites } => output.say(&junit(&suites)),
            Sheet::Summary { summary } => output.say(&summary.text(&end.counts, end.fail_on, end.record)),
            Sheet::Sarif { mut results, mut facts, against_record } => {
                if against_record {
                    // On all results or on none (§3.27.24).
                    for result in &mut results {
                        result.baseline_state.get_or_insert(sarif::Baseline::New);
                    }
                    results.extend(end.dead.iter().filter(|dead| dead.absent).filter_map(|dead| {
                        let entry = &dead.entry;
                        let print = entry.print.in_file(&dead.portable);
                        sarif::Outcome::absent(&dead.uri, &entry.rule, &dead.header, dead.severity, print)
                    }));
                }
                facts.configuration.extend(end.record.iter().map(|words| sarif::Notification::note(words)));
                facts.exit_code = end.ending as u8;
                facts.date = end.date;
                output.json(&sarif::Log::new(results, facts))
            }
        }
    }
}

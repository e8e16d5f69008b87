//! `dryfit check`: judges files, several at a time, and shows what was found in the order of the files.

mod judging;

use crate::arguments::{Check, Form, Mildest};
use crate::files::Library;
use crate::output::{complain, Output};
use crate::settings::Shelf;
use crate::targets::{Target, Targets};
use crate::{changed, clock, Ending};
pub(crate) use judging::read;
use judging::{judged, Body, Outcome, Wanted};
use spec_lang::finding::Severity;
use spec_lang::reading::Date;
use spec_lang::report::{json, wrap, Counts, CAUTION};
use spec_lang::text::Span;
use spec_lang::vocabulary::EDITION;
use std::collections::{HashMap, HashSet};
use std::io;
use std::path::Path;
use std::sync::Arc;

/// How many files are judged before what was found in them is written: enough to keep every core busy, and few
/// enough that memory does not grow with the tree.
const BATCH: usize = 256;

pub(crate) fn check(wanted: &Check, output: &mut Output) -> io::Result<Ending> {
    let mut targets = Targets::find(&wanted.paths, wanted.stands_for.as_deref(), wanted.within.as_deref());
    targets.complain();
    let today = wanted.date.or_else(clock::today);
    let library = Library::default();
    let fail_on = wanted.fail_on.map(|mildest| match mildest {
        Mildest::Error => Severity::Error,
        Mildest::Warning => Severity::Warning,
        Mildest::Advice => Severity::Advice,
    });
    let last = (wanted.last || wanted.not_final).then_some(wanted.last);
    let (width, colour) = (output.width, output.colour);
    let each = Wanted { form: wanted.form, today, last, fail_on, shelf: Shelf::default(), width, colour };
    targets.sift(&each.shelf, &library, wanted.no_exclude);
    if let Some(since) = &wanted.changed {
        if let Err(reason) = changed::keep_changed(&mut targets, &library, since) {
            complain(&reason);
            return Ok(Ending::CouldNot);
        }
    }
    let mut run = Run {
        form: wanted.form,
        counts: Counts { unreadable: targets.missing.len(), ..Counts::default() },
        ending: if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot },
        seen: HashSet::new(),
        numbers: HashMap::new(),
        files: Vec::new(),
        unreadable: targets
            .missing
            .iter()
            .map(|(path, reason)| json::Unreadable { path: path.to_string(), reason: reason.clone() })
            .collect(),
    };
    for batch in targets.list.chunks(BATCH) {
        for (target, outcome) in batch.iter().zip(judged(batch, &library, &each)) {
            run.take(target, outcome, output)?;
        }
        output.finish()?;
    }
    run.end(today, output)
}

/// What a run has come to so far.
struct Run {
    form: Form,
    counts: Counts,
    ending: Ending,
    /// Findings written so far: one in a workshop file is found by every job that follows it, and shown once.
    seen: HashSet<(usize, Span, &'static str, u64)>,
    numbers: HashMap<Arc<Path>, usize>,
    files: Vec<json::File>,
    unreadable: Vec<json::Unreadable>,
}

impl Run {
    fn take(&mut self, target: &Target, outcome: Result<Outcome, String>, output: &mut Output) -> io::Result<()> {
        let outcome = match outcome {
            Ok(outcome) => outcome,
            Err(reason) => {
                self.counts.unreadable += 1;
                self.ending = Ending::CouldNot;
                complain(&format!("{}: {reason}", target.shown));
                self.unreadable.push(json::Unreadable { path: target.shown.to_string(), reason });
                return Ok(());
            }
        };
        self.counts.files += 1;
        if outcome.last && outcome.edition.is_some_and(|edition| edition > EDITION) {
            self.ending = self.ending.max(Ending::Found);
        }
        if !outcome.not_judged.is_empty() {
            self.counts.not_judged += outcome.not_judged.len();
            self.ending = self.ending.max(Ending::Found);
        }
        let mut file = json::File {
            path: target.shown.to_string(),
            edition: outcome.edition,
            findings: Vec::new(),
            not_judged: outcome.not_judged_wire,
        };
        if self.form != Form::Json {
            for line in &outcome.not_judged {
                output.say(line)?;
                output.say("\n")?;
            }
        }
        for finding in outcome.findings {
            let (path, span, rule, title) = finding.same;
            let next = self.numbers.len();
            let number = path.map_or(usize::MAX, |path| *self.numbers.entry(path).or_insert(next));
            if !self.seen.insert((number, span, rule, title)) {
                continue;
            }
            if finding.conceded {
                self.counts.set_aside += 1;
            } else {
                self.counts.add(finding.severity);
                if finding.severity >= outcome.fail_on {
                    self.ending = self.ending.max(Ending::Found);
                }
            }
            match finding.body {
                Body::Text(text) => output.say(&text)?,
                Body::Wire(finding) => file.findings.push(*finding),
            }
        }
        if self.form == Form::Json {
            self.files.push(file);
        }
        Ok(())
    }

    fn end(self, today: Option<Date>, output: &mut Output) -> io::Result<Ending> {
        match self.form {
            Form::Report => output.say(&format!(
                "{}\n{}\n",
                wrap(&self.counts.line(), output.width, "", ""),
                wrap(CAUTION, output.width, "", "")
            ))?,
            Form::Line => {
                output.finish()?;
                complain(&format!("{}; {CAUTION}", self.counts.line()));
            }
            Form::Json => {
                let date = today.map(|day| day.to_string());
                output.json(&json::Findings::new(date, self.files, self.unreadable, self.counts))?;
            }
        }
        Ok(self.ending)
    }
}

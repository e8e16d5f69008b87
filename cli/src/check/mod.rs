//! `dryfit check`: judges files, several at a time, counts what was found in the order of the files, and ends with an exit
//! code. How it is written is the sheet's business.

mod judging;
mod sheet;

use crate::arguments::{Check, Mildest};
use crate::files::{self, Library};
use crate::known::{Entry, Record, State};
use crate::output::{complain, Output};
use crate::targets::{From, Target, Targets};
use crate::{clock, Ending};
pub(crate) use judging::{judged, read, Body, LeftBody, Wanted};
use judging::{reference, Outcome, Shown};
use sheet::{End, OneFile, Sheet};
use spec_lang::finding::Severity;
use spec_lang::report::Counts;
use spec_lang::text::Span;
use spec_lang::vocabulary::EDITION;
use std::collections::{HashMap, HashSet};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// How many files are judged before what was found in them is written: enough to keep every core busy, and few
/// enough that memory does not grow with the tree.
pub(crate) const BATCH: usize = 256;

/// What a finding is to the outcome of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Standing {
    /// It counts.
    Counts,
    /// It counts, for it is graver than the record knows it.
    Grew,
    /// Milder than --fail-on.
    Milder,
    /// In the record of known findings.
    Known,
    /// Set aside by a concession; whether it stands in the record as well.
    SetAside { recorded: bool },
}

pub(crate) fn check(wanted: &Check, output: &mut Output) -> io::Result<Ending> {
    let record = match wanted.known.as_deref().map(|path| (path, Record::read(path))) {
        None if wanted.shrink => {
            complain("--shrink is of a record of known findings; name it with --known");
            return Ok(Ending::CouldNot);
        }
        None => None,
        Some((_, Ok(record))) => Some(record),
        Some((path, Err(reason))) => {
            complain(&format!("{}: {reason}", files::shown(path)));
            return Ok(Ending::CouldNot);
        }
    };
    let targets = Targets::find(&wanted.paths, wanted.stands_for.as_deref(), wanted.within.as_deref());
    targets.complain();
    let today = wanted.date.or_else(clock::today);
    let base = base(&targets);
    let each = Wanted {
        form: wanted.form,
        today,
        last: wanted.last,
        width: output.width,
        colour: output.colour,
        base: Arc::clone(&base),
    };
    let library = Library::default();
    let mut run = Run {
        fail_on: match wanted.fail_on {
            Mildest::Error => Severity::Error,
            Mildest::Warning => Severity::Warning,
            Mildest::Advice => Severity::Advice,
        },
        last: wanted.last,
        counts: Counts { unreadable: targets.missing.len(), ..Counts::default() },
        ending: if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot },
        seen: HashSet::new(),
        numbers: HashMap::new(),
        sheet: Sheet::new(wanted.form, record.is_some()),
        base,
        record,
        judged: HashSet::new(),
    };
    for (path, reason) in &targets.missing {
        run.sheet.missing(path, reason);
    }
    for batch in targets.list.chunks(BATCH) {
        for (target, outcome) in batch.iter().zip(judged(batch, &library, &each)) {
            run.take(target, outcome, &library, output)?;
        }
        output.finish()?;
    }
    run.end(wanted.shrink, today.map(|day| day.to_string()), output)
}

/// The folder in which all opened folders of a run lie: the top of the repository, where all is of one.
pub(crate) fn base(targets: &Targets) -> Arc<Path> {
    let mut roots = targets.list.iter().map(|target| &target.root);
    let Some(first) = roots.next() else { return Arc::from(files::here()) };
    let mut common: PathBuf = first.to_path_buf();
    for root in roots {
        while !root.starts_with(&common) && common.pop() {}
    }
    Arc::from(common)
}

/// What a run has come to so far.
struct Run {
    fail_on: Severity,
    last: bool,
    counts: Counts,
    ending: Ending,
    /// Findings written so far: one in a workshop file is found by every job that follows it, and shown once; once more
    /// where the record knows it from some jobs only.
    seen: HashSet<(usize, Span, &'static str, u64, bool)>,
    numbers: HashMap<Arc<Path>, usize>,
    sheet: Sheet,
    base: Arc<Path>,
    record: Option<Record>,
    /// The files that were judged, as the record names them.
    judged: HashSet<String>,
}

impl Run {
    fn take(
        &mut self,
        target: &Target,
        outcome: Result<Outcome, String>,
        library: &Library,
        output: &mut Output,
    ) -> io::Result<()> {
        let outcome = match outcome {
            Ok(outcome) => outcome,
            Err(reason) => {
                self.counts.unreadable += 1;
                self.ending = Ending::CouldNot;
                complain(&format!("{}: {reason}", target.shown));
                let uri = reference(&self.base, &library.place(&target.path));
                self.sheet.unreadable(&target.shown, &uri, &reason);
                return Ok(());
            }
        };
        let recorded_as = self.record.as_ref().map(|record| record.name(&outcome.place));
        if let (Some(name), From::File) = (&recorded_as, &target.from) {
            self.judged.insert(name.clone());
        }
        let uri = reference(&self.base, &outcome.place);
        let portable = files::portable(&files::seen_from(&target.root, &outcome.place));
        let file = OneFile { shown: &target.shown, uri: &uri, portable: &portable };
        self.counts.files += 1;
        self.sheet.file(&file, outcome.edition);
        if let Some(later) = outcome.edition.filter(|edition| self.last && *edition > EDITION) {
            self.ending = self.ending.max(Ending::Found);
            self.sheet.later_edition(later);
        }
        if !outcome.not_judged.is_empty() {
            self.counts.not_judged += outcome.not_judged.len();
            self.ending = self.ending.max(Ending::Found);
        }
        self.sheet.not_judged(&file, outcome.not_judged, output)?;
        for finding in outcome.findings {
            let standing = self.standing(&finding, recorded_as.as_deref());
            let (path, span, rule, title) = &finding.same;
            let next = self.numbers.len();
            let number = path.as_ref().map_or(usize::MAX, |path| *self.numbers.entry(Arc::clone(path)).or_insert(next));
            if !self.seen.insert((number, *span, rule, *title, standing == Standing::Known)) {
                continue;
            }
            match standing {
                Standing::SetAside { .. } => self.counts.set_aside += 1,
                Standing::Known => self.counts.known += 1,
                Standing::Milder => self.counts.add(finding.severity),
                Standing::Counts | Standing::Grew => {
                    self.counts.add(finding.severity);
                    self.ending = self.ending.max(Ending::Found);
                }
            }
            self.sheet.finding(&file, finding, standing, output)?;
        }
        Ok(())
    }

    /// What a finding is to the outcome. `judged` is the judged file as the record names it.
    fn standing(&mut self, finding: &Shown, judged: Option<&str>) -> Standing {
        let entry = self.record.as_mut().zip(judged).map(|(record, judged)| {
            let place = finding.same.0.as_deref().map(|place| record.name(place));
            let entry = Entry {
                file: judged.to_string(),
                rule: finding.rule.name.to_string(),
                print: finding.fingerprint,
                place: place.filter(|place| place != judged),
            };
            (record, entry)
        });
        if finding.conceded.is_some() {
            return Standing::SetAside { recorded: entry.is_some_and(|(record, entry)| record.set_aside(&entry)) };
        }
        match entry.map_or(State::New, |(record, entry)| record.state(&entry, finding.severity)) {
            State::Known => Standing::Known,
            _ if finding.severity < self.fail_on => Standing::Milder,
            State::Grew => Standing::Grew,
            State::New => Standing::Counts,
        }
    }

    fn end(mut self, shrink: bool, date: Option<String>, output: &mut Output) -> io::Result<Ending> {
        let mut dead = Vec::new();
        let mut said = Vec::new();
        if let Some(record) = &mut self.record {
            dead = record.dead(&self.judged, &self.base);
            let before = record.len();
            let shown = record.shown();
            if shrink {
                record.shrink(&dead);
                match record.write() {
                    Ok(()) => said.push(format!("{shown}: {} of {before} entries taken out", dead.len())),
                    Err(reason) => {
                        complain(&format!("{shown}: {reason}"));
                        self.ending = Ending::CouldNot;
                    }
                }
            } else if !dead.is_empty() {
                let count = dead.len();
                said.push(format!(
                    "{shown}: {count} of {before} entries are not needed any more; --shrink takes them out"
                ));
            }
        }
        said.iter().for_each(|line| complain(line));
        let end =
            End { counts: self.counts, fail_on: self.fail_on, ending: self.ending, date, record: &said, dead: &dead };
        self.sheet.end(end, output)?;
        Ok(self.ending)
    }
}

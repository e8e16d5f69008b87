//! `trialfit check`: judges files, several at a time, counts what was found in the order of the files, and ends with an exit
//! code. How it is written is the sheet's business.

mod judging;
mod sheet;

use crate::arguments::{Check, Mildest};
use crate::debts::OnDisk;
use crate::files::{self, Library};
use crate::known::{Entry, Record, State};
use crate::output::{Output, complain};
use crate::settings::{Excludes, Shelf};
use crate::targets::{From, Target, Targets};
use crate::{Ending, changed, clock};
pub(crate) use judging::{Body, Facts, LeftBody, Wanted, each_judged, fact, read};
use judging::{Outcome, Shown, reference};
use sheet::{End, OneFile, Sheet};
use spec_lang::finding::Severity;
use spec_lang::reading::Date;
use spec_lang::report::Counts;
use spec_lang::text::Span;
use spec_lang::vocabulary::EDITION;
use std::collections::{HashMap, HashSet};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// After how many files what was found in them is handed on.
const SHOWN_TOGETHER: usize = 256;

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
    let mut targets = Targets::find(&wanted.paths, wanted.stands_for.as_deref(), wanted.within.as_deref());
    targets.complain();
    let today = wanted.date.or_else(clock::today);
    let library = Library::default();
    let fail_on = wanted.fail_on.map(|mildest| match mildest {
        Mildest::Error => Severity::Error,
        Mildest::Warning => Severity::Warning,
        Mildest::Advice => Severity::Advice,
    });
    let shelf = Shelf::default();
    let excludes = match () {
        () if wanted.no_exclude || wanted.last => Excludes::Ignored,
        () if wanted.not_final => Excludes::Hold,
        () => Excludes::SpareFinal,
    };
    targets.sift(&shelf, &library, excludes);
    if let Some(since) = &wanted.changed
        && let Err(reason) = changed::keep_changed(&mut targets, &library, since)
    {
        complain(&reason);
        return Ok(Ending::CouldNot);
    }
    let records = match Records::open(wanted.known.as_deref(), &targets, &shelf, &library) {
        Ok(records) if wanted.shrink && records.held.is_empty() => {
            complain("--shrink is of a record of known findings; name it with --known, or `known` in the settings");
            return Ok(Ending::CouldNot);
        }
        Ok(records) => records,
        Err(reason) => {
            complain(&reason);
            return Ok(Ending::CouldNot);
        }
    };
    let base = base(&targets);
    let each = Wanted {
        form: wanted.form,
        today,
        last: (wanted.last || wanted.not_final).then_some(wanted.last),
        fail_on,
        shelf,
        look: output.look,
        base: Arc::clone(&base),
        facts: match () {
            () if records.held.is_empty() => Facts::None,
            () if wanted.shrink => Facts::Said,
            () => Facts::Missing,
        },
    };
    let mut run = Run {
        fail_on: None,
        counts: Counts { unreadable: targets.missing.len(), ..Counts::default() },
        ending: if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot },
        seen: HashSet::new(),
        numbers: HashMap::new(),
        sheet: Sheet::new(wanted.form, !records.held.is_empty()),
        base,
        records,
        today,
    };
    for (path, reason) in &targets.missing {
        run.sheet.missing(path, reason);
    }
    let mut count = 0;
    each_judged(&targets.list, &library, &each, |target, outcome| {
        run.take(target, outcome, &library, output)?;
        count += 1;
        if count % SHOWN_TOGETHER == 0 {
            output.finish()?;
        }
        Ok(())
    })?;
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

/// The records of known findings that take part, each with the files that were judged against it, as it names them.
pub(crate) struct Records {
    held: Vec<(PathBuf, Record, HashSet<String>)>,
    /// Whether the caller named one, which then holds for every file.
    named: bool,
}

impl Records {
    /// The one that the caller names, else those that the settings beside the files name.
    pub(crate) fn open(
        named: Option<&Path>,
        targets: &Targets,
        shelf: &Shelf,
        library: &Library,
    ) -> Result<Records, String> {
        let mut paths: Vec<PathBuf> = named.map(Path::to_path_buf).into_iter().collect();
        // Sifting has read every settings file that takes part; mostly none names a record.
        if named.is_none() && shelf.names_a_record() {
            for target in &targets.list {
                let settings = shelf.of(&library.place(&target.path), &target.root).unwrap_or_default();
                paths.extend(settings.known().map(|(path, _)| path).filter(|path| !paths.contains(path)));
            }
        }
        let read = |path: PathBuf| match Record::read(&path) {
            Ok(record) => Ok((path, record, HashSet::new())),
            Err(reason) => Err(format!("{}: {reason}", files::shown(&path))),
        };
        Ok(Records { held: paths.into_iter().map(read).collect::<Result<_, _>>()?, named: named.is_some() })
    }

    /// The record that holds for a file whose settings name `known`.
    pub(crate) fn of(&mut self, known: Option<&Path>) -> Option<&mut (PathBuf, Record, HashSet<String>)> {
        let named = self.named;
        self.held.iter_mut().find(|(path, ..)| named || Some(path.as_path()) == known)
    }
}

/// What counts in a judged file, and against which record.
struct Judged {
    place: Arc<Path>,
    known: Option<PathBuf>,
    fail_on: Severity,
}

/// What a run has come to so far.
struct Run {
    /// The mildest finding that counted anywhere.
    fail_on: Option<Severity>,
    counts: Counts,
    ending: Ending,
    /// Findings written so far: one in a workshop file is found by every job that follows it, and shown once; once more
    /// where the record knows it from some jobs only.
    seen: HashSet<(usize, Span, &'static str, u64, bool)>,
    numbers: HashMap<Arc<Path>, usize>,
    sheet: Sheet,
    base: Arc<Path>,
    records: Records,
    today: Option<Date>,
}

impl Run {
    fn take(
        &mut self,
        target: &Target,
        outcome: Result<Outcome, String>,
        library: &Library,
        output: &mut Output,
    ) -> io::Result<()> {
        let mut outcome = match outcome {
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
        if let (Some((_, record, judged)), From::File) = (self.records.of(outcome.known.as_deref()), &target.from) {
            let name = record.name(&outcome.place);
            record.debts.learn(&name, &outcome.said, false);
            judged.insert(name);
        }
        self.fail_on = Some(self.fail_on.map_or(outcome.fail_on, |known| known.min(outcome.fail_on)));
        let uri = reference(&self.base, &outcome.place);
        let portable = files::portable(&files::seen_from(&target.root, &outcome.place));
        let file = OneFile { shown: &target.shown, uri: &uri, portable: &portable };
        self.counts.files += 1;
        self.counts.questions.add(outcome.questions);
        self.sheet.file(&file, outcome.edition, outcome.questions);
        if let Some(later) = outcome.edition.filter(|edition| outcome.last && *edition > EDITION) {
            self.ending = self.ending.max(Ending::Found);
            self.sheet.later_edition(later);
        }
        self.owe(&mut outcome);
        self.sheet.not_judged(&file, outcome.not_judged, output)?;
        let about = Judged { place: outcome.place, known: outcome.known, fail_on: outcome.fail_on };
        for finding in outcome.findings {
            let standing = self.standing(&finding, &about);
            if finding.rule.name == spec_lang::rules::RULE_FAILED.name {
                // The tool's own fault: the rest was judged, but not all of the work was done.
                self.ending = Ending::CouldNot;
            }
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

    /// Holds what was not judged against the record, and counts it.
    fn owe(&mut self, outcome: &mut Outcome) {
        if let Some((_, record, _)) = self.records.of(outcome.known.as_deref())
            && !record.debts.is_empty()
        {
            let file = record.name(&outcome.place);
            for left in &mut outcome.not_judged {
                let fact = left.fact.as_ref();
                left.debt = fact.and_then(|fact| record.debts.owing(&file, fact, self.today, outcome.last));
            }
        }
        let before = self.counts.debts.facts;
        for left in &outcome.not_judged {
            match &left.debt {
                Some(debt) if !debt.counts() => {
                    let guards_life = left.fact.as_ref().is_some_and(|fact| fact.guards_life);
                    self.counts.debts.add(debt, guards_life);
                }
                _ => {
                    self.counts.not_judged += 1;
                    self.ending = self.ending.max(Ending::Found);
                }
            }
        }
        self.counts.debts.files += usize::from(self.counts.debts.facts > before);
    }

    /// What a finding is to the outcome.
    fn standing(&mut self, finding: &Shown, about: &Judged) -> Standing {
        let entry = self.records.of(about.known.as_deref()).map(|(_, record, _)| {
            let judged = record.name(&about.place);
            let place = finding.same.0.as_deref().map(|place| record.name(place));
            let entry = Entry {
                rule: finding.rule.name.to_string(),
                print: finding.fingerprint,
                place: place.filter(|place| *place != judged),
                file: judged,
            };
            (record, entry)
        });
        if finding.conceded.is_some() {
            return Standing::SetAside { recorded: entry.is_some_and(|(record, entry)| record.set_aside(&entry)) };
        }
        let entry = entry.filter(|_| finding.can_wait);
        match entry.map_or(State::New, |(record, entry)| record.state(&entry, finding.severity)) {
            State::Known => Standing::Known,
            _ if finding.severity < about.fail_on && finding.can_wait => Standing::Milder,
            State::Grew => Standing::Grew,
            State::New => Standing::Counts,
        }
    }

    fn end(mut self, shrink: bool, date: Option<String>, output: &mut Output) -> io::Result<Ending> {
        let mut dead = Vec::new();
        let mut said = Vec::new();
        for (_, record, judged) in &mut self.records.held {
            let gone = record.dead(judged, &self.base);
            let before = record.len();
            let shown = record.shown();
            let on_disk = record.on_disk(judged);
            let of = |file: &str| on_disk.get(file).copied().unwrap_or(OnDisk::Elsewhere);
            let (owed, paid) = (record.debts.len(), record.debts.dead(of));
            if shrink {
                record.shrink(&gone);
                record.debts.shrink(of);
                match record.write() {
                    Ok(()) => {
                        if before > 0 || owed == 0 {
                            said.push(format!("{shown}: {} of {before} entries taken out", gone.len()));
                        }
                        if owed > 0 {
                            said.push(format!("{shown}: {paid} of {owed} debts taken out"));
                        }
                    }
                    Err(reason) => {
                        complain(&format!("{shown}: {reason}"));
                        self.ending = Ending::CouldNot;
                    }
                }
            }
            if !shrink && paid > 0 {
                said.push(format!("{shown}: {paid} of {owed} debts are not needed any more; --shrink takes them out"));
            }
            if !shrink && !gone.is_empty() {
                let count = gone.len();
                said.push(format!(
                    "{shown}: {count} of {before} entries are not needed any more; --shrink takes them out"
                ));
            }
            dead.extend(gone);
        }
        said.iter().for_each(|line| complain(line));
        let end = End {
            counts: self.counts,
            fail_on: self.fail_on.unwrap_or(Severity::Advice),
            ending: self.ending,
            date,
            record: &said,
            dead: &dead,
        };
        self.sheet.end(end, output)?;
        Ok(self.ending)
    }
}

//! Judging one batch of files on as many threads as there are cores, each finding made ready in the form that was asked
//! for. Nothing is counted or written here.

use crate::arguments::Form;
use crate::drawing::{self, Drawing};
use crate::fault;
use crate::files::{self, Library, Opened};
use crate::settings::Shelf;
use crate::targets::{From, Target};
use spec_lang::finding::{Finding, Severity};
use spec_lang::reading::{Date, Reading};
use spec_lang::report::{finding_line, json, not_judged_line, Locator};
use spec_lang::rules::Day;
use spec_lang::source::FileId;
use spec_lang::text::Span;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::io;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::Arc;

/// What is wanted of every file.
pub(super) struct Wanted {
    pub(super) form: Form,
    pub(super) today: Option<Date>,
    /// Whether jobs are judged as final, where the caller said so.
    pub(super) last: Option<bool>,
    /// The mildest finding that counts, where the caller said so.
    pub(super) fail_on: Option<Severity>,
    pub(super) shelf: Shelf,
    pub(super) width: usize,
    pub(super) colour: bool,
}

/// A finding, ready to be written.
pub(super) struct Shown {
    /// The file it is in, its place there, its rule and its title: what makes it the same finding in two jobs.
    pub(super) same: (Option<Arc<Path>>, Span, &'static str, u64),
    pub(super) severity: Severity,
    pub(super) conceded: bool,
    pub(super) body: Body,
}

pub(super) enum Body {
    Text(String),
    Wire(Box<json::Finding>),
}

/// What came of one file.
pub(super) struct Outcome {
    pub(super) edition: Option<u32>,
    pub(super) last: bool,
    pub(super) fail_on: Severity,
    pub(super) findings: Vec<Shown>,
    pub(super) not_judged: Vec<String>,
    pub(super) not_judged_wire: Vec<json::NotJudged>,
}

/// Judges the files of a batch on as many threads as there are cores.
pub(super) fn judged(batch: &[Target], library: &Library, wanted: &Wanted) -> Vec<Result<Outcome, String>> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from).min(batch.len());
    if cores <= 1 {
        return batch.iter().map(|target| judge(target, library, wanted)).collect();
    }
    let next = AtomicUsize::new(0);
    let mut all: Vec<(usize, Result<Outcome, String>)> = std::thread::scope(|scope| {
        let work = || {
            let mut done = Vec::new();
            loop {
                let number = next.fetch_add(1, Ordering::Relaxed);
                let Some(target) = batch.get(number) else { return done };
                done.push((number, judge(target, library, wanted)));
            }
        };
        let others: Vec<_> = (1..cores).map(|_| scope.spawn(work)).collect();
        let mut all = work();
        for other in others {
            // A worker catches the faults of its work; one that still dies takes its files down with it, and the count
            // below says so.
            all.extend(other.join().unwrap_or_default());
        }
        all
    });
    all.sort_by_key(|(number, _)| *number);
    let mut all = all.into_iter().peekable();
    let lost = || Err("a fault in dryfit itself: this file was lost".to_string());
    (0..batch.len())
        .map(|number| all.next_if(|(known, _)| *known == number).map_or_else(lost, |(_, outcome)| outcome))
        .collect()
}

fn judge(target: &Target, library: &Library, wanted: &Wanted) -> Result<Outcome, String> {
    fault::caught(|| {
        let place = library.place(&target.path);
        let reading = read(target, &place, library)?;
        Ok(outcome(target, place, reading, library, wanted))
    })
    .and_then(|outcome| outcome)
}

/// Reads a target.
pub(crate) fn read(target: &Target, place: &Arc<Path>, library: &Library) -> Result<Arc<Reading>, String> {
    match target.from {
        From::File => library.reading(place, &target.path),
        From::Input => files::read_from(io::stdin().lock(), 0).map(|text| Arc::new(Reading::new(Arc::from(text)))),
    }
}

fn outcome(target: &Target, place: Arc<Path>, reading: Arc<Reading>, library: &Library, wanted: &Wanted) -> Outcome {
    // What is broken was told of before, and its files are not judged.
    let settings = wanted.shelf.of(&place, &target.root).unwrap_or_default();
    let opened = Opened::new(library, Arc::clone(&target.root), Arc::clone(&place), Arc::clone(&target.shown));
    let edition = reading.edition.map(|(edition, _)| edition);
    let day = Day { today: wanted.today, notice: settings.notice() };
    let last = wanted.last.unwrap_or_else(|| settings.is_final(&place));
    let fail_on = wanted.fail_on.or(settings.fail_on()).unwrap_or(Severity::Advice);
    let mut analysis = spec_lang::analyse(FileId(0), reading, &opened, day);
    if last {
        analysis.make_final();
    }
    let name = |file: FileId| opened.name(file);
    let shown = |finding: &Finding, body: Body| {
        let mut title = DefaultHasher::new();
        finding.title.hash(&mut title);
        let file = opened.place(finding.place.file);
        Shown {
            same: (file, finding.place.span, finding.rule.name, title.finish()),
            severity: finding.severity,
            conceded: finding.conceded.is_some(),
            body,
        }
    };
    let mut locator = Locator::new(&analysis);
    let mut left: Vec<String> =
        analysis.not_judged.iter().map(|left| not_judged_line(left, &mut locator, &name)).collect();
    let mut left_wire = Vec::new();
    let findings = match wanted.form {
        Form::Line => analysis
            .findings
            .iter()
            .map(|finding| shown(finding, Body::Text(finding_line(finding, &mut locator, &name) + "\n")))
            .collect(),
        Form::Json => {
            let mut writer = json::Writer::new(&analysis, &name);
            left_wire = analysis.not_judged.iter().map(|left| writer.not_judged(left)).collect();
            let wire = |finding: &Finding| shown(finding, Body::Wire(Box::new(writer.finding(finding))));
            analysis.findings.iter().map(wire).collect()
        }
        Form::Report => {
            left.iter_mut().for_each(|line| *line = drawing::not_judged(line, wanted.width, wanted.colour));
            let mut drawing = Drawing::new(&analysis, &name, wanted.width, wanted.colour);
            analysis.findings.iter().map(|finding| shown(finding, Body::Text(drawing.finding(finding)))).collect()
        }
    };
    Outcome { edition, last, fail_on, findings, not_judged: left, not_judged_wire: left_wire }
}

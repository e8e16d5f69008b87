//! `dryfit check`: judges files, several at a time, and shows what was found in the order of the files.

use crate::arguments::{Check, Form, Mildest};
use crate::drawing::{self, Drawing};
use crate::files::{self, Library, Opened};
use crate::output::{complain, Output};
use crate::several::{self, BATCH};
use crate::targets::{From, Target, Targets};
use crate::{clock, Ending};
use spec_lang::finding::{Finding, Severity};
use spec_lang::reading::{Date, Reading};
use spec_lang::report::{finding_line, json, not_judged_line, wrap, Counts, Locator, CAUTION};
use spec_lang::source::FileId;
use spec_lang::text::Span;
use spec_lang::vocabulary::EDITION;
use std::collections::{HashMap, HashSet};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::io;
use std::path::Path;
use std::sync::Arc;

/// The rule about blanks that are still open: with `--final` its findings are errors.
const OPEN_BLANK: &str = "value-blank";

/// What is wanted of every file.
struct Wanted {
    form: Form,
    today: Option<Date>,
    last: bool,
    width: usize,
    colour: bool,
}

/// A finding, ready to be written.
struct Shown {
    /// The file it is in, its place there, its rule and its title: what makes it the same finding in two jobs.
    same: (Option<Arc<Path>>, Span, &'static str, u64),
    severity: Severity,
    conceded: bool,
    body: Body,
}

enum Body {
    Text(String),
    Wire(Box<json::Finding>),
}

/// What came of one file.
struct Outcome {
    edition: Option<u32>,
    findings: Vec<Shown>,
    not_judged: Vec<String>,
    not_judged_wire: Vec<json::NotJudged>,
}

pub(crate) fn check(wanted: &Check, output: &mut Output) -> io::Result<Ending> {
    let targets = Targets::find(&wanted.paths, wanted.stands_for.as_deref(), wanted.within.as_deref());
    targets.complain();
    let today = wanted.date.or_else(clock::today);
    let each = Wanted { form: wanted.form, today, last: wanted.last, width: output.width, colour: output.colour };
    let library = Library::default();
    let mut run = Run {
        form: wanted.form,
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
        files: Vec::new(),
        unreadable: targets
            .missing
            .iter()
            .map(|(path, reason)| json::Unreadable { path: path.to_string(), reason: reason.clone() })
            .collect(),
    };
    for batch in targets.list.chunks(BATCH) {
        let outcomes = several::each(batch, |target| judge(target, &library, &each));
        for (target, outcome) in batch.iter().zip(outcomes) {
            run.take(target, outcome, output)?;
        }
        output.finish()?;
    }
    run.end(today, output)
}

fn judge(target: &Target, library: &Library, wanted: &Wanted) -> Result<Outcome, String> {
    let place = library.place(&target.path);
    let reading = read(target, &place, library)?;
    Ok(outcome(target, place, reading, library, wanted))
}

/// Reads a target.
pub(crate) fn read(target: &Target, place: &Arc<Path>, library: &Library) -> Result<Arc<Reading>, String> {
    match target.from {
        From::File => library.reading(place, &target.path),
        From::Input => files::read_from(io::stdin().lock(), 0).map(|text| Arc::new(Reading::new(Arc::from(text)))),
    }
}

fn outcome(target: &Target, place: Arc<Path>, reading: Arc<Reading>, library: &Library, wanted: &Wanted) -> Outcome {
    let opened = Opened::new(library, Arc::clone(&target.root), place, Arc::clone(&target.shown));
    let edition = reading.edition.map(|(edition, _)| edition);
    let mut analysis = spec_lang::analyse(FileId(0), reading, &opened, wanted.today);
    if wanted.last {
        for finding in analysis.findings.iter_mut().filter(|finding| finding.rule.name == OPEN_BLANK) {
            finding.severity = Severity::Error;
        }
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
    Outcome { edition, findings, not_judged: left, not_judged_wire: left_wire }
}

/// What a run has come to so far.
struct Run {
    form: Form,
    fail_on: Severity,
    last: bool,
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
        if self.last && outcome.edition.is_some_and(|edition| edition > EDITION) {
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
                if finding.severity >= self.fail_on {
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

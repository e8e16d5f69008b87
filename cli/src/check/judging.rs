//! Judging one batch of files on as many threads as there are cores, each finding made ready in the form that was asked
//! for. Nothing is counted or written here.

use crate::arguments::Form;
use crate::debts::Fact;
use crate::drawing::{self, Drawing};
use crate::files::{self, Library};
use crate::output::Look;
use crate::settings::Shelf;
use crate::targets::{From, Target};
use crate::{fault, in_order};
use spec_lang::finding::{Conceded, Finding, NotJudged, Severity};
use spec_lang::reading::{Date, Reading};
use spec_lang::report::{
    Debt, FactPrint, Fingerprint, Fingerprints, Locator, fact_name, facts_said, finding_line, finding_text, json,
    not_judged_line, one_line, sarif, sketch_text,
};
use spec_lang::rules::{Day, Rule, Totals};
use spec_lang::source::FileId;
use spec_lang::text::Span;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What is wanted of every file.
pub(crate) struct Wanted {
    pub(crate) form: Form,
    pub(crate) today: Option<Date>,
    /// Whether jobs are judged as final, where the caller said so.
    pub(crate) last: Option<bool>,
    /// The mildest finding that counts, where the caller said so.
    pub(crate) fail_on: Option<Severity>,
    pub(crate) shelf: Shelf,
    pub(crate) look: Look,
    /// The folder that paths of the form `sarif` start from.
    pub(crate) base: Arc<Path>,
    /// What is wanted of facts.
    pub(crate) facts: Facts,
}

/// What is wanted of the facts that jobs say or do not say.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Facts {
    /// Nothing: no record takes part.
    None,
    /// Those that are missing.
    Missing,
    /// Those that are said, too.
    Said,
}

/// A finding, ready to be written.
pub(crate) struct Shown {
    /// The file it is in, its place there, its rule and its title: what makes it the same finding in two jobs.
    pub(crate) same: (Option<Arc<Path>>, Span, &'static str, u64),
    pub(crate) rule: &'static Rule,
    pub(crate) severity: Severity,
    pub(crate) conceded: Option<Conceded>,
    /// Whether it guards against poisoning, fire or burns: then it counts whatever was asked for.
    pub(crate) guards_life: bool,
    /// Whether a record may hold it as known.
    pub(crate) can_wait: bool,
    pub(crate) title: String,
    pub(crate) fingerprint: Fingerprint,
    /// The header of the block it is in.
    pub(crate) header: String,
    pub(crate) body: Body,
}

pub(crate) enum Body {
    Text(String),
    Wire(Box<json::Finding>),
    Sarif(Box<sarif::Outcome>),
}

/// What a safety rule could not judge, ready to be written.
pub(crate) struct Left {
    pub(crate) rule: &'static str,
    pub(crate) because: String,
    /// The missing fact, where that is the reason, and a record may hold it as owed.
    pub(crate) fact: Option<Fact>,
    /// How that fact stands to the record.
    pub(crate) debt: Option<Debt>,
    pub(crate) body: LeftBody,
}

impl Left {
    /// Whether it leaves the job not judged.
    pub(crate) fn counts(&self) -> bool {
        self.debt.as_ref().is_none_or(Debt::counts)
    }
}

pub(crate) enum LeftBody {
    Text(String),
    Wire(Box<json::NotJudged>),
    Sarif(Box<sarif::Outcome>),
}

/// What came of one file.
pub(crate) struct Outcome {
    pub(crate) edition: Option<u32>,
    /// The file without symbolic links.
    pub(crate) place: Arc<Path>,
    pub(crate) last: bool,
    pub(crate) fail_on: Severity,
    /// The record of known findings that the settings beside it name.
    pub(crate) known: Option<PathBuf>,
    pub(crate) findings: Vec<Shown>,
    pub(crate) not_judged: Vec<Left>,
    /// The questions that were asked of the file.
    pub(crate) questions: Totals,
    /// Whether it is a job, and no workshop file or kit.
    pub(crate) is_job: bool,
    /// The facts that it says, where they are wanted.
    pub(crate) said: Vec<FactPrint>,
}

/// Judges files on all cores, and hands on what came of each in their order.
pub(crate) fn each_judged(
    targets: &[Target],
    library: &Library,
    wanted: &Wanted,
    mut take: impl FnMut(&Target, Result<Outcome, String>) -> io::Result<()>,
) -> io::Result<()> {
    // A worker catches the faults of its work; one that still dies takes its file down with it.
    in_order::each(
        targets,
        |target| judge(target, library, wanted),
        |target, outcome| take(target, outcome.unwrap_or_else(in_order::lost)),
    )
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
        From::Input => target.text().map(|text| Arc::new(Reading::new(Arc::from(text)))),
    }
}

fn outcome(target: &Target, place: Arc<Path>, reading: Arc<Reading>, library: &Library, wanted: &Wanted) -> Outcome {
    // What is broken was told of before, and its files are not judged.
    let settings = wanted.shelf.of(&place, &target.root).unwrap_or_default();
    let opened = target.opened(library, Arc::clone(&place));
    let edition = reading.edition.map(|(edition, _)| edition);
    let day = Day { today: wanted.today, notice: settings.notice() };
    let last = wanted.last.unwrap_or_else(|| settings.is_final(&place));
    let fail_on = wanted.fail_on.or(settings.fail_on()).unwrap_or(Severity::Advice);
    let mut analysis = spec_lang::analyse(FileId(0), reading, &opened, day);
    if last {
        analysis.make_final();
    }
    let name = |file: FileId| opened.name(file);
    let uri = |file: FileId| Arc::from(opened.place(file).map_or(String::new(), |at| reference(&wanted.base, &at)));
    let inside = |file: FileId| {
        opened.place(file).map_or(String::new(), |at| files::portable(&files::seen_from(&target.root, &at)))
    };
    let mut prints = Fingerprints::new(&analysis);
    let mut shown = |finding: &Finding, body: &mut dyn FnMut(Fingerprint) -> Body| {
        let fingerprint = prints.of(finding);
        let mut title = DefaultHasher::new();
        finding.title.hash(&mut title);
        let file = opened.place(finding.place.file);
        Shown {
            same: (file, finding.place.span, finding.rule.name, title.finish()),
            rule: finding.rule,
            severity: finding.severity,
            conceded: finding.conceded.clone(),
            guards_life: finding.guards_life(),
            can_wait: finding.can_wait(),
            title: one_line(&finding.title).into_owned(),
            fingerprint,
            header: prints.header(finding.place),
            body: body(fingerprint),
        }
    };
    let mut locator = Locator::new(&analysis);
    let mut findings = Vec::with_capacity(analysis.findings.len());
    match wanted.form {
        Form::Line | Form::Summary => {
            for finding in &analysis.findings {
                findings.push(shown(finding, &mut |_| Body::Text(finding_line(finding, &mut locator, &name))));
            }
        }
        Form::Junit => {
            for finding in &analysis.findings {
                findings.push(shown(finding, &mut |_| {
                    let text = finding_text(finding);
                    let rest = text.split_once('\n').map_or(String::new(), |(_, rest)| format!("\n{rest}"));
                    Body::Text(finding_line(finding, &mut locator, &name) + &rest)
                }));
            }
        }
        Form::Json => {
            let mut writer = json::Writer::new(&analysis, &name);
            for finding in &analysis.findings {
                findings.push(shown(finding, &mut |print| {
                    let print = print.in_file(&inside(finding.place.file));
                    Body::Wire(Box::new(writer.finding(finding, print)))
                }));
            }
        }
        Form::Sarif => {
            let mut writer = sarif::Writer::new(&analysis, &uri);
            for finding in &analysis.findings {
                findings.push(shown(finding, &mut |print| {
                    let print = print.in_file(&inside(finding.place.file));
                    Body::Sarif(Box::new(writer.finding(finding, print)))
                }));
            }
        }
        Form::Report => {
            let mut drawing = Drawing::new(&analysis, &name, wanted.look);
            for finding in &analysis.findings {
                findings.push(shown(finding, &mut |_| Body::Text(drawing.finding(finding))));
            }
        }
    }
    let is_job = analysis.job.header.is_some();
    let wanted_fact = |left: &NotJudged| if is_job && wanted.facts != Facts::None { fact(left) } else { None };
    let said = if is_job && wanted.facts == Facts::Said { facts_said(&analysis) } else { Vec::new() };
    let mut wire = json::Writer::new(&analysis, &name);
    let mut results = sarif::Writer::new(&analysis, &uri);
    let left = |left: &NotJudged| Left {
        rule: left.rule.name,
        because: one_line(&left.because).into_owned(),
        fact: wanted_fact(left),
        debt: None,
        body: match wanted.form {
            Form::Json => LeftBody::Wire(Box::new(wire.not_judged(left))),
            Form::Sarif => {
                let print = prints.of_not_judged(left).in_file(&inside(left.place.file));
                LeftBody::Sarif(Box::new(results.not_judged(left, print)))
            }
            Form::Report => {
                let line = not_judged_line(left, &mut locator, &name);
                let mut text = drawing::not_judged(&line, wanted.look);
                if analysis.job.sketch {
                    text.push('\n');
                    text.push_str(sketch_text(&analysis, wanted.look.width).trim_end());
                }
                LeftBody::Text(text)
            }
            Form::Line | Form::Junit | Form::Summary => LeftBody::Text(not_judged_line(left, &mut locator, &name)),
        },
    };
    let not_judged = analysis.not_judged.iter().map(left).collect();
    let known = settings.known().map(|(path, _)| path);
    let questions = analysis.totals;
    Outcome { edition, place, last, fail_on, known, findings, not_judged, questions, is_job, said }
}

/// The fact for want of which something was not judged; `None` where the reason is another.
pub(crate) fn fact(left: &NotJudged) -> Option<Fact> {
    let missing = left.missing.as_ref()?;
    Some(Fact {
        print: FactPrint::of(missing)?,
        line: FactPrint::of_line(missing),
        name: fact_name(missing),
        header: missing.block.clone(),
        rules: missing.rules.iter().map(|rule| rule.name).collect(),
        guards_life: missing.rules.iter().any(|rule| rule.life_safety()),
    })
}

/// A file as the form `sarif` names it.
pub(crate) fn reference(base: &Path, place: &Path) -> String {
    files::reference(&files::seen_from(base, place))
}

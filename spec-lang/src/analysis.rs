//! The one entry: a file in, its job, figures and findings out. Terminal and editor both call this and so agree.

use crate::figures::Figures;
use crate::finding::{Finding, NotJudged, Severity};
use crate::model::Job;
use crate::reading::Reading;
use crate::rules::{self, Day, Verdict};
use crate::source::{FileId, Source};
use std::sync::{Arc, OnceLock};

/// The rule about blanks that are still open.
const OPEN_BLANK: &str = "value-blank";

/// Everything known about one file.
#[derive(Debug)]
pub struct Analysis {
    /// The file.
    pub file: FileId,
    /// The job, resolved.
    pub job: Job,
    /// Its figures, typed, without their working.
    pub figures: Figures,
    shown: OnceLock<Figures>,
    /// Its findings, sorted by place and rule; conceded ones included and marked.
    pub findings: Vec<Finding>,
    /// Safety rules that lacked their inputs.
    pub not_judged: Vec<NotJudged>,
    /// For each concession of the job, how many findings it covers, or would where it is unsigned or has run out.
    pub covered: Vec<usize>,
}

impl Analysis {
    /// The job alone, with neither figures nor findings: for those who only ask for its names.
    pub fn unjudged(file: FileId, reading: Arc<Reading>, source: &dyn Source) -> Analysis {
        let job = Job::resolve(file, reading, source);
        Analysis::of(file, job, Figures::default(), Verdict::default())
    }

    fn of(file: FileId, job: Job, figures: Figures, verdict: Verdict) -> Analysis {
        let Verdict { findings, not_judged, covered } = verdict;
        Analysis { file, job, figures, shown: OnceLock::new(), findings, not_judged, covered }
    }

    /// The file and all it follows, each once, itself first.
    pub fn readings(&self) -> &[(FileId, Arc<Reading>)] {
        &self.job.readings
    }

    /// The reading of a file that takes part.
    pub fn reading(&self, file: FileId) -> Option<&Arc<Reading>> {
        self.readings().iter().find(|(id, _)| *id == file).map(|(_, reading)| reading)
    }

    /// Judged as before building: a blank that is still open is an error.
    pub fn make_final(&mut self) {
        for finding in self.findings.iter_mut().filter(|finding| finding.rule.name == OPEN_BLANK) {
            finding.severity = Severity::Error;
        }
    }

    /// Its figures with the working of each, made when first asked for.
    pub fn shown(&self) -> &Figures {
        self.shown.get_or_init(|| Figures::with_working(&self.job))
    }

    /// The findings that count: those no concession sets aside.
    pub fn standing(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| finding.conceded.is_none())
    }

    /// Whether nothing was found and nothing was left unjudged. Not the same as fit to build.
    pub fn is_clean(&self) -> bool {
        self.standing().next().is_none() && self.not_judged.is_empty()
    }
}

/// Reads nothing but what the source hands over; the same inputs give the same answer on every machine.
///
/// The day decides whether concessions have run out or soon will; without one none has.
pub fn analyse(file: FileId, reading: Arc<Reading>, source: &dyn Source, day: impl Into<Day>) -> Analysis {
    let job = Job::resolve(file, reading, source);
    let figures = Figures::of(&job);
    let judged = rules::judge(&job, &figures, day.into());
    Analysis::of(file, job, figures, judged)
}

//! The one entry: a file in, its job, figures and findings out. Terminal and editor both call this and so agree.

use crate::figures::Figures;
use crate::finding::{Finding, NotJudged};
use crate::model::Job;
use crate::reading::{Date, Reading};
use crate::rules::{self, Judged};
use crate::source::{FileId, Source};
use std::sync::{Arc, OnceLock};

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
    margins: OnceLock<Vec<Judged>>,
    today: Option<Date>,
    /// Its findings, sorted by place and rule; conceded ones included and marked.
    pub findings: Vec<Finding>,
    /// Safety rules that lacked their inputs.
    pub not_judged: Vec<NotJudged>,
}

impl Analysis {
    /// The job alone, with neither figures nor findings: for those who only ask for its names.
    pub fn unjudged(file: FileId, reading: Arc<Reading>, source: &dyn Source) -> Analysis {
        let job = Job::resolve(file, reading, source);
        Analysis::of(file, job, Figures::default(), (Vec::new(), Vec::new()), None)
    }

    fn of(
        file: FileId,
        job: Job,
        figures: Figures,
        judged: (Vec<Finding>, Vec<NotJudged>),
        today: Option<Date>,
    ) -> Analysis {
        let (findings, not_judged) = judged;
        Analysis { file, job, figures, shown: OnceLock::new(), margins: OnceLock::new(), today, findings, not_judged }
    }

    /// The file and all it follows, each once, itself first.
    pub fn readings(&self) -> &[(FileId, Arc<Reading>)] {
        &self.job.readings
    }

    /// The reading of a file that takes part.
    pub fn reading(&self, file: FileId) -> Option<&Arc<Reading>> {
        self.readings().iter().find(|(id, _)| *id == file).map(|(_, reading)| reading)
    }

    /// Its figures with the working of each, made when first asked for.
    pub fn shown(&self) -> &Figures {
        self.shown.get_or_init(|| Figures::with_working(&self.job))
    }

    /// What each rule held against which limit and how much is left, tightest first ([`Judged::margin`]), made when first
    /// asked for.
    pub fn margins(&self) -> &[Judged] {
        self.margins.get_or_init(|| rules::margins(&self.job, &self.figures, self.today))
    }

    /// The day that it was judged on, where the caller gave one.
    pub fn today(&self) -> Option<Date> {
        self.today
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
/// `today` decides whether concessions have run out; without it none has.
pub fn analyse(file: FileId, reading: Arc<Reading>, source: &dyn Source, today: Option<Date>) -> Analysis {
    let job = Job::resolve(file, reading, source);
    let figures = Figures::of(&job);
    let judged = rules::judge(&job, &figures, today);
    Analysis::of(file, job, figures, judged, today)
}

//! The one entry: a file in, its job, figures and findings out. Terminal and editor both call this and so agree.

use crate::blanks::{self, Solution};
use crate::figures::Figures;
use crate::finding::{Finding, NotJudged, Severity};
use crate::model::{Asked, At, Job, KitsAlone, Sort};
use crate::reading::Reading;
use crate::rules::{self, Account, Day, Judged, OPEN_BLANK, Totals, Verdict};
use crate::source::{FileId, Place, Source};
use std::collections::HashSet;
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
    filled: OnceLock<Solution>,
    margins: OnceLock<Vec<Judged>>,
    account: OnceLock<Account>,
    day: Day,
    /// Its findings, sorted by place and rule; conceded ones included and marked.
    pub findings: Vec<Finding>,
    /// Safety rules that lacked their inputs.
    pub not_judged: Vec<NotJudged>,
    /// For each concession of the job, how many findings it covers, or would where it is unsigned or has run out.
    pub covered: Vec<usize>,
    /// What is asked for only before building: see [`Analysis::make_final`].
    pub before_building: Vec<NotJudged>,
    /// How many questions were asked, and how they came out; of a file of kits, of all of them.
    pub totals: Totals,
}

impl Analysis {
    /// The job alone, with neither figures nor findings: for those who only ask for its names.
    pub fn unjudged(file: FileId, reading: Arc<Reading>, source: &dyn Source) -> Analysis {
        let job = match KitsAlone::of(file, &reading, source) {
            Some(kits) => kits.job(0, At::Bounds),
            None => Job::resolve(file, reading, source),
        };
        Analysis::of(file, job, Figures::default(), Verdict::default(), None.into())
    }

    fn of(file: FileId, job: Job, figures: Figures, verdict: Verdict, day: Day) -> Analysis {
        let Verdict { findings, not_judged, covered, totals, before_building } = verdict;
        let (shown, filled, margins) = (OnceLock::new(), OnceLock::new(), OnceLock::new());
        let account = OnceLock::new();
        Analysis {
            file,
            job,
            figures,
            shown,
            filled,
            margins,
            account,
            day,
            findings,
            not_judged,
            covered,
            totals,
            before_building,
        }
    }

    /// The file and all it follows, each once, itself first.
    pub fn readings(&self) -> &[(FileId, Arc<Reading>)] {
        &self.job.readings
    }

    /// The reading of a file that takes part.
    pub fn reading(&self, file: FileId) -> Option<&Arc<Reading>> {
        self.readings().iter().find(|(id, _)| *id == file).map(|(_, reading)| reading)
    }

    /// Judged as before building: a blank that is still open is an error, whoever set it aside; nobody can build one. And a
    /// person has to say what was looked for, or nobody knows what the distances leave out.
    pub fn make_final(&mut self) {
        self.totals.made_final(self.before_building.len());
        self.not_judged.append(&mut self.before_building);
        self.not_judged.sort_by(|left, right| (left.place, left.rule.name).cmp(&(right.place, right.rule.name)));
        for finding in self.findings.iter_mut().filter(|finding| finding.rule.name == OPEN_BLANK) {
            finding.severity = Severity::Error;
            finding.conceded = None;
        }
    }

    /// Its figures with the working of each, made when first asked for.
    pub fn shown(&self) -> &Figures {
        self.shown.get_or_init(|| Figures::with_working(&self.job))
    }

    /// What its blanks can be filled with. The job is judged anew for every choice, when first asked for and then no more.
    pub fn filled(&self) -> &Solution {
        self.filled.get_or_init(|| blanks::solve(&self.job, self.day))
    }

    /// What each rule held against which limit and how much is left, tightest first ([`Judged::margin`]), made when first
    /// asked for.
    pub fn margins(&self) -> &[Judged] {
        self.margins.get_or_init(|| rules::margins(&self.job, &self.figures, self.day))
    }

    /// Every question that was asked, with its answer and what it lacks, made when first asked for.
    pub fn account(&self) -> &Account {
        self.account.get_or_init(|| rules::account(&self.job, &self.figures, self.day))
    }

    /// The day that it was judged on.
    pub fn day(&self) -> Day {
        self.day
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

/// Looks at each kit of a file by itself: with all that it asks for as usual, with each at its lowest and its highest,
/// and with everything anywhere between its bounds. A finding says at which value it comes up first.
fn analyse_kits(file: FileId, kits: &KitsAlone, day: Day) -> Analysis {
    let mut first = None;
    let (mut findings, mut not_judged) = (Vec::new(), Vec::new());
    let mut totals = Totals::default();
    for (number, asks) in kits.asks().iter().enumerate() {
        let judged = |at: At| {
            let job = kits.job(number, at);
            let figures = Figures::of(&job);
            let verdict = rules::judge(&job, &figures, day);
            (job, figures, verdict)
        };
        let as_usual = judged(At::Usual).2.findings;
        let mut known: HashSet<(&str, Place)> = HashSet::new();
        let mut add = |found: Vec<Finding>, with: &str| {
            let new: Vec<Finding> =
                found.into_iter().filter(|finding| !known.contains(&(finding.rule.name, finding.place))).collect();
            known.extend(new.iter().map(|finding| (finding.rule.name, finding.place)));
            findings.extend(new.into_iter().map(|mut finding| {
                finding.title.push_str(with);
                finding
            }));
        };
        add(as_usual, "");
        for (ask, asked) in asks.iter().enumerate() {
            let Sort::Quantity { bounds, .. } = asked.sort else { continue };
            for (at, value) in [(At::Lowest(ask), bounds.low), (At::Highest(ask), bounds.high)] {
                let with = format!(", with `{}` at {}", asked.name, bounds.unit.show(value));
                add(judged(at).2.findings, &with);
            }
        }
        let (job, figures, verdict) = judged(At::Bounds);
        totals.add(verdict.totals);
        add(verdict.findings, ", with what is asked for at its worst ends together");
        // What the kit leaves to the job without a stand-in is for the job to be judged on.
        let stands = |asked: &Asked| match asked.sort {
            Sort::Quantity { .. } => true,
            Sort::Thing(kind) => job.defined.iter().any(|known| known.kind == kind && known.name == asked.name),
        };
        if asks.iter().all(stands) {
            not_judged.extend(verdict.not_judged);
        }
        first.get_or_insert((job, figures, verdict.covered));
    }
    let (job, figures, covered) = first.unwrap_or_else(|| (kits.job(0, At::Bounds), Figures::default(), Vec::new()));
    findings.sort_by(|left, right| {
        (left.place, left.rule.name, &left.title).cmp(&(right.place, right.rule.name, &right.title))
    });
    findings.dedup_by(|right, left| left.place == right.place && left.rule == right.rule && left.title == right.title);
    Analysis::of(
        file,
        job,
        figures,
        Verdict { findings, not_judged, covered, totals, before_building: Vec::new() },
        day,
    )
}

/// Reads nothing but what the source hands over; the same inputs give the same answer on every machine.
///
/// The day decides whether concessions have run out or soon will; without one none has.
pub fn analyse(file: FileId, reading: Arc<Reading>, source: &dyn Source, day: impl Into<Day>) -> Analysis {
    let day = day.into();
    if let Some(kits) = KitsAlone::of(file, &reading, source) {
        return analyse_kits(file, &kits, day);
    }
    let job = Job::resolve(file, reading, source);
    let figures = Figures::of(&job);
    let judged = rules::judge(&job, &figures, day);
    Analysis::of(file, job, figures, judged, day)
}

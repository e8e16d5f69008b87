//! One trial: the job judged with something written for its blanks, and what is heard of it; and the comparison of
//! trials that says which choice passes. What to try is decided elsewhere.

use crate::figures::Figures;
use crate::finding::{Finding, Severity};
use crate::model::Job;
use crate::reading::Reading;
use crate::rules::{self, Day, Family, OPEN_BLANK, Rule, Verdict};
use crate::source::{FileId, Followed, Place, Source};
use crate::text::{Edit, apply};
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// The files that a job followed when it was resolved, as they were then.
struct Again<'a>(&'a Job);

impl Source for Again<'_> {
    fn follow(&self, from: FileId, written: &str) -> Followed {
        let same = |place: &Place| {
            let reading = self.0.readings.iter().find(|(file, _)| *file == place.file).map(|(_, reading)| reading);
            place.file == from && reading.is_some_and(|reading| reading.plain_text(place.span) == written)
        };
        let asked = self.0.asked.iter().find(|(place, _)| same(place));
        asked.map_or(Followed::Missing, |(_, followed)| followed.clone())
    }
}

/// The job with edits made in its own text; `None` where they do not fit.
pub(super) fn job_with(job: &Job, edits: &[Edit]) -> Option<Job> {
    let (_, reading) = job.readings.first()?;
    let text = apply(&reading.tree.text, edits)?;
    Some(Job::resolve(job.file, Arc::new(Reading::new(Arc::from(text))), &Again(job)))
}

/// A rule in a block: the file, and the line of the block's header (filling a blank moves no line).
type Where = (&'static str, bool, FileId, u32);

/// Something heard in a trial.
#[derive(Clone, Debug)]
pub(super) struct Heard {
    /// The rule that says it.
    pub(super) rule: &'static Rule,
    /// What it says.
    pub(super) title: String,
    grave: bool,
    at: Where,
}

/// What is heard of a job, in the order of the findings.
#[derive(Clone, Debug, Default)]
pub(super) struct Trial {
    heard: Vec<Heard>,
}

impl Trial {
    /// Judges the job with edits made in its own text. Of a line whose value is only there for comparison (`probe`) it is
    /// not heard that nobody has such a size.
    pub(super) fn of(job: &Job, edits: &[Edit], day: Day, probe: Option<u32>) -> Trial {
        let Some(job) = job_with(job, edits) else { return Trial::default() };
        let Verdict { findings: found, not_judged, .. } = rules::judge(&job, &Figures::of(&job), day);
        let mut heard = Vec::new();
        for finding in found.iter().filter(|finding| counts(finding)) {
            if finding.rule.family == Family::Text && probe.is_some_and(|line| line_of(&job, finding.place) == line) {
                continue;
            }
            let grave = finding.severity == Severity::Error;
            let mut hear = |place: Place, title: &str, grave: bool| {
                let at = (finding.rule.name, false, place.file, block_line(&job, place));
                heard.push(Heard { rule: finding.rule, title: title.to_string(), grave, at });
            };
            hear(finding.place, &finding.title, grave);
            // What follows from a finding is a note on it, and may come and go while the finding stays.
            for related in &finding.related {
                if let Some(title) = related.noted() {
                    hear(related.place, title, false);
                }
            }
        }
        for left in &not_judged {
            let at = (left.rule.name, true, left.place.file, block_line(&job, left.place));
            let title = format!("`{}` could not judge: {}", left.rule.name, left.because);
            heard.push(Heard { rule: left.rule, title, grave: true, at });
        }
        Trial { heard }
    }

    fn same_as(&self, heard: &Heard) -> bool {
        self.heard.iter().any(|other| other.at == heard.at && other.title == heard.title)
    }
}

fn counts(finding: &Finding) -> bool {
    finding.conceded.is_none() && finding.severity >= Severity::Warning && finding.rule.name != OPEN_BLANK
}

/// The line of a place in the job's own text.
fn line_of(job: &Job, place: Place) -> u32 {
    let own = job.readings.first().filter(|_| place.file == job.file);
    let line = own.map(|(_, reading)| reading.tree.line_at(place.span.start));
    line.and_then(|line| u32::try_from(line).ok()).unwrap_or(u32::MAX)
}

fn block_line(job: &Job, place: Place) -> u32 {
    let reading = job.readings.iter().find(|(file, _)| *file == place.file).map(|(_, reading)| reading);
    reading.and_then(|reading| reading.at(place.span.start).0).map_or(u32::MAX, |block| block.first_line)
}

/// What may be heard with a choice that passes, learnt from all of them.
pub(super) struct Ruler {
    unrelated: HashSet<(Where, String)>,
    allowed: HashMap<(Where, bool), usize>,
}

impl Ruler {
    /// Compares the trials of the choices with each other, with a value far smaller than any, and with the open blank.
    pub(super) fn new(open: &Trial, choices: &[&Trial], probe: Option<&Trial>) -> Ruler {
        let Some((first, others)) = choices.split_first() else {
            return Ruler { unrelated: HashSet::new(), allowed: HashMap::new() };
        };
        // Where the far smaller value has the rule speak in other words, the value matters, however alike the choices are;
        // where it silences the rule, that tells nothing, unless there is nothing else to compare with.
        let compared = |heard: &Heard| match probe {
            Some(probe) if probe.same_as(heard) => true,
            Some(probe) => !others.is_empty() && probe.heard.iter().all(|other| other.at != heard.at),
            None => !others.is_empty(),
        };
        let in_all = first.heard.iter().filter(|heard| others.iter().all(|other| other.same_as(heard)));
        let unrelated = in_all.filter(|heard| open.same_as(heard) || compared(heard));
        let unrelated = unrelated.map(|heard| (heard.at, heard.title.clone())).collect();
        let mut ruler = Ruler { unrelated, allowed: HashMap::new() };
        let mut least = ruler.count(open);
        for choice in choices {
            let count = ruler.count(choice);
            least.retain(|key, least| {
                *least = (*least).min(count.get(key).copied().unwrap_or(0));
                *least > 0
            });
        }
        ruler.allowed = least;
        ruler
    }

    /// How often each rule is heard in each block: errors for themselves, and all.
    fn count(&self, trial: &Trial) -> HashMap<(Where, bool), usize> {
        let mut count = HashMap::new();
        for heard in self.related(trial) {
            for grave in [false, true] {
                if heard.grave || !grave {
                    *count.entry((heard.at, grave)).or_default() += 1;
                }
            }
        }
        count
    }

    fn related<'t>(&'t self, trial: &'t Trial) -> impl Iterator<Item = &'t Heard> {
        trial.heard.iter().filter(|heard| !self.unrelated.contains(&(heard.at, heard.title.clone())))
    }

    /// What counts against a choice: the gravest first, and how much there is; `None` where it passes.
    pub(super) fn against<'t>(&'t self, trial: &'t Trial) -> Option<(&'t Heard, usize)> {
        let count = self.count(trial);
        let allowed = |key: &(Where, bool)| self.allowed.get(key).copied().unwrap_or(0);
        let over = |heard: &Heard, grave: bool| {
            let key = (heard.at, grave);
            (heard.grave || !grave) && count.get(&key).copied().unwrap_or(0) > allowed(&key)
        };
        let graver = self.related(trial).find(|heard| over(heard, true));
        let first = graver.or_else(|| self.related(trial).find(|heard| over(heard, false)))?;
        let much: usize = count.iter().map(|(key, found)| found.saturating_sub(allowed(key))).sum();
        Some((first, much))
    }
}

//! Runs the rules: sorts, removes duplicates, applies concessions, and keeps a rule that fails from taking others down.

use super::Rule;
use crate::figures::Figures;
use crate::finding::{Finding, NotJudged};
use crate::model::Job;
use crate::reading::Date;
use crate::source::Place;

/// What a rule reads, and where it puts what it finds.
pub struct Findings<'a> {
    /// The rule at work.
    pub rule: &'static Rule,
    /// The job.
    pub job: &'a Job,
    /// Its figures.
    pub figures: &'a Figures,
    /// The day, where the caller gave one.
    pub today: Option<Date>,
    found: Vec<Finding>,
    not_judged: Vec<NotJudged>,
}

impl<'a> Findings<'a> {
    /// A finding of the rule at work, to be completed and then added.
    pub fn at(&self, place: Place, title: impl Into<String>) -> Finding {
        Finding::new(self.rule, place, title)
    }

    /// Adds a finding.
    pub fn add(&mut self, finding: Finding) {
        self.found.push(finding);
    }

    /// Says that the rule at work, a safety rule, could not judge a thing.
    pub fn cannot_judge(&mut self, place: Place, because: impl Into<String>) {
        self.not_judged.push(NotJudged { rule: self.rule, place, because: because.into() });
    }
}

/// Runs every rule over a job. Findings come sorted by file, start, end and rule name, each once.
pub fn judge(job: &Job, figures: &Figures, today: Option<Date>) -> (Vec<Finding>, Vec<NotJudged>) {
    let mut found = Vec::new();
    let mut not_judged = Vec::new();
    for rule in super::all() {
        let mut findings = Findings { rule, job, figures, today, found, not_judged };
        (rule.find)(&mut findings);
        found = findings.found;
        not_judged = findings.not_judged;
    }
    found.sort_by(|left, right| {
        (left.place, left.rule.name, &left.title).cmp(&(right.place, right.rule.name, &right.title))
    });
    found.dedup_by(|right, left| left.place == right.place && left.rule == right.rule && left.title == right.title);
    not_judged.sort_by(|left, right| (left.place, left.rule.name).cmp(&(right.place, right.rule.name)));
    (found, not_judged)
}

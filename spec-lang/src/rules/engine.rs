//! Runs the rules: sorts, removes duplicates, applies concessions, and keeps a rule that fails from taking others down.

use super::causes::{Within, CAUSES};
use super::{Family, Rule};
use crate::figures::Figures;
use crate::finding::{Conceded, Finding, NotJudged, Related, Severity};
use crate::model::{Concession, Job};
use crate::reading::Date;
use crate::source::Place;
use crate::text::Span;
use std::collections::HashMap;
use std::panic::{catch_unwind, AssertUnwindSafe};

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
    /// For the rules on concessions, which run last: whether each concession of the job set something aside.
    pub concession_used: &'a [bool],
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

/// Stands for a rule that failed: the tool's own fault, never the author's.
pub(super) static RULE_FAILED: Rule = Rule {
    name: "rule-failed",
    family: Family::Text,
    severity: Severity::Error,
    title: "a rule that failed",
    source: "the tool itself",
    explanation: "One of the tool's own rules stopped with a fault. The other rules were judged; the one named was not. This is never the fault of the text.",
    mend: "Report the file to the tool's authors.",
    bad: "",
    good: "",
    life_safety: false,
    find: |_| {},
};

/// Runs every rule over a job. Findings come sorted by file, start, end and rule name, each once.
pub fn judge(job: &Job, figures: &Figures, today: Option<Date>) -> (Vec<Finding>, Vec<NotJudged>) {
    let mut run = Run { job, figures, today, found: Vec::new(), not_judged: Vec::new() };
    for rule in super::all().filter(|rule| rule.family != Family::Concessions) {
        run.rule(rule, &[]);
    }
    let used: Vec<bool> = job.concessions.iter().map(|concession| run.concede(concession)).collect();
    for rule in super::all().filter(|rule| rule.family == Family::Concessions) {
        run.rule(rule, &used);
    }
    let Run { found, mut not_judged, .. } = run;
    let mut found = effects_noted(job, found);
    if job.is_composed() {
        found.iter_mut().for_each(|finding| lead_back(job, finding));
        not_judged.iter_mut().for_each(|left| left.place = job.shown(left.place));
    }
    found.sort_by(|left, right| {
        (left.place, left.rule.name, &left.title).cmp(&(right.place, right.rule.name, &right.title))
    });
    found.dedup_by(|right, left| left.place == right.place && left.rule == right.rule && left.title == right.title);
    not_judged.sort_by(|left, right| {
        (left.place, left.rule.name, &left.because).cmp(&(right.place, right.rule.name, &right.because))
    });
    not_judged
        .dedup_by(|right, left| left.place == right.place && left.rule == right.rule && left.because == right.because);
    (found, not_judged)
}

/// Leads a finding's places back to files. What another layer lends is told where the job uses it, with the line of that
/// layer beside it; an edit that would write into another layer is not offered from here.
fn lead_back(job: &Job, finding: &mut Finding) {
    let lent = job.lent(finding.place);
    let written = finding.place;
    finding.place = job.shown(written);
    finding.used = finding.used.map(|used| job.shown(used)).filter(|used| *used != finding.place);
    if let Some(conceded) = &mut finding.conceded {
        conceded.place = job.shown(conceded.place);
    }
    for related in &mut finding.related {
        related.place = job.real(related.place);
    }
    if let Some(link) = lent.filter(|link| link.place != finding.place) {
        let known = finding.related.iter().any(|related| related.place == link.place);
        if !known {
            let label = if link.layer.starts_with("kit ") { format!("in {}", link.layer) } else { link.layer };
            finding.related.insert(0, Related { place: link.place, label });
        }
    }
    for remedy in &mut finding.remedies {
        let edits: Option<Vec<_>> = remedy.edits.iter().map(|(file, edit)| job.edit(*file, edit)).collect();
        remedy.edits = edits.unwrap_or_default();
    }
    finding.remedies.retain(|remedy| !remedy.edits.is_empty());
}

struct Run<'a> {
    job: &'a Job,
    figures: &'a Figures,
    today: Option<Date>,
    found: Vec<Finding>,
    not_judged: Vec<NotJudged>,
}

impl Run<'_> {
    fn rule(&mut self, rule: &'static Rule, concession_used: &[bool]) {
        let mut findings = Findings {
            rule,
            job: self.job,
            figures: self.figures,
            today: self.today,
            concession_used,
            found: Vec::new(),
            not_judged: Vec::new(),
        };
        if catch_unwind(AssertUnwindSafe(|| (rule.find)(&mut findings))).is_ok() {
            self.found.append(&mut findings.found);
            self.not_judged.append(&mut findings.not_judged);
        } else {
            let place = self.job.header.unwrap_or(Place { file: self.job.file, span: Span::default() });
            let title = format!("rule `{}` failed and was not judged", rule.name);
            self.found.push(Finding::new(&RULE_FAILED, place, title).help("report this file to the tool's authors"));
        }
    }

    /// Sets aside what a concession covers; whether it covered anything.
    fn concede(&mut self, concession: &Concession) -> bool {
        let Some(name) = concession.rule.get() else { return false };
        let expired = matches!((self.today, concession.until.get()), (Some(today), Some(until)) if *until < today);
        let complete = concession.because.get().is_some() && concession.by.get().is_some();
        let found = concession.on.iter().all(|participant| participant.header.is_some()) && !concession.on.is_empty();
        let mut used = false;
        for finding in &mut self.found {
            if finding.rule.name != name || finding.rule.life_safety {
                continue;
            }
            let blocks = blocks_of(self.job, finding);
            let all_take_part = concession.on.iter().all(|on| on.header.is_some_and(|header| blocks.contains(&header)));
            if !(all_take_part && found) {
                continue;
            }
            used = true;
            if complete && !expired {
                finding.conceded = Some(Conceded {
                    place: concession.header,
                    because: concession.because.get().cloned().unwrap_or_default(),
                    by: concession.by.get().cloned().unwrap_or_default(),
                    until: concession.until.get().map(|date| date.to_string()),
                });
            }
        }
        used
    }
}

/// Findings that another explains become notes on it. Each finding is looked at once: causes are found by rule and block.
fn effects_noted(job: &Job, found: Vec<Finding>) -> Vec<Finding> {
    let is_effect =
        |finding: &Finding| finding.conceded.is_none() && CAUSES.iter().any(|pair| pair.effect == finding.rule.name);
    let (mut effects, kept): (Vec<Finding>, Vec<Finding>) = found.into_iter().partition(is_effect);
    if effects.is_empty() {
        return kept;
    }
    let mut causes = Causes::new(job, kept.len() + effects.len());
    kept.into_iter().for_each(|finding| causes.keep(finding));
    while !effects.is_empty() {
        // An effect waits until all that may explain it are settled, for they may be effects themselves.
        let mut waiting: Vec<&str> = effects.iter().map(|effect| effect.rule.name).collect();
        waiting.sort_unstable();
        waiting.dedup();
        let waits = |effect: &Finding| {
            let causes = CAUSES.iter().filter(|pair| pair.effect == effect.rule.name).map(|pair| pair.cause);
            causes.into_iter().any(|cause| waiting.binary_search(&cause).is_ok())
        };
        let (later, now): (Vec<Finding>, Vec<Finding>) = effects.into_iter().partition(waits);
        now.into_iter().for_each(|effect| causes.settle(effect));
        effects = later;
    }
    causes.kept
}

/// Findings that stand, with those that may explain others by their rule and by what they have in common with them.
struct Causes<'a> {
    job: &'a Job,
    /// The heater of each heater's and each run's header.
    heaters: HashMap<Place, Place>,
    kept: Vec<Finding>,
    by_header: HashMap<(&'static str, Within, Place), Vec<usize>>,
}

impl<'a> Causes<'a> {
    fn new(job: &'a Job, most: usize) -> Causes<'a> {
        let own = job.heaters.iter().map(|heater| (heater.header, heater.header));
        let of_runs = job.runs.iter().filter_map(|run| Some((run.header, job.heaters.get(run.heater?)?.header)));
        Causes { job, heaters: own.chain(of_runs).collect(), kept: Vec::with_capacity(most), by_header: HashMap::new() }
    }

    /// The headers by which cause and effect may meet.
    fn headers(&self, finding: &Finding, within: Within) -> Vec<Place> {
        match within {
            Within::Block => block_at(self.job, finding.place).into_iter().collect(),
            Within::Heater => {
                let blocks = places_of(finding).filter_map(|place| block_at(self.job, place));
                blocks.filter_map(|header| self.heaters.get(&header).copied()).collect()
            }
        }
    }

    fn keep(&mut self, finding: Finding) {
        let number = self.kept.len();
        let mut pairs = CAUSES.iter().filter(|pair| pair.cause == finding.rule.name).peekable();
        if finding.conceded.is_none() && pairs.peek().is_some() {
            for within in [Within::Block, Within::Heater] {
                for header in self.headers(&finding, within) {
                    self.by_header.entry((finding.rule.name, within, header)).or_default().push(number);
                }
            }
        }
        self.kept.push(finding);
    }

    /// Notes an effect on what explains it, or lets it stand. A grave finding is never hidden as a note on a milder one.
    fn settle(&mut self, effect: Finding) {
        let pairs = CAUSES.iter().filter(|pair| pair.effect == effect.rule.name);
        let explaining = pairs.flat_map(|pair| {
            let known = self.headers(&effect, pair.within).into_iter();
            known.filter_map(|header| self.by_header.get(&(pair.cause, pair.within, header))).flatten()
        });
        let grave = |number: &&usize| self.kept.get(**number).is_some_and(|cause| cause.severity >= effect.severity);
        match explaining.filter(grave).min().copied().and_then(|number| self.kept.get_mut(number)) {
            Some(cause) => {
                cause.related.push(Related { place: effect.place, label: format!("so also: {}", effect.title) });
            }
            None => self.keep(effect),
        }
    }
}

/// The header of the block that a place lies in.
fn block_at(job: &Job, place: Place) -> Option<Place> {
    let reading = job.reading(place.file)?;
    reading.at(place.span.start).0.map(|block| job.built(Place { file: place.file, span: block.header }))
}

/// The places that take part in a finding.
fn places_of(finding: &Finding) -> impl Iterator<Item = Place> + '_ {
    let related = finding.related.iter().map(|related| related.place);
    std::iter::once(finding.place).chain(finding.used).chain(related)
}

/// The headers of the blocks that take part in a finding: its own, those of its related places, and the heater of each.
fn blocks_of(job: &Job, finding: &Finding) -> Vec<Place> {
    let mut headers: Vec<Place> = places_of(finding).filter_map(|place| block_at(job, place)).collect();
    let of_runs = job.runs.iter().filter(|run| headers.contains(&run.header)).filter_map(|run| run.heater);
    let heaters: Vec<Place> =
        of_runs.filter_map(|heater| job.heaters.get(heater)).map(|heater| heater.header).collect();
    headers.extend(heaters);
    headers.extend(job.header);
    headers
}

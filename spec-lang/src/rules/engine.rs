//! Runs the rules: sorts, removes duplicates, applies concessions, and keeps a rule that fails from taking others down.

use super::account::{Account, Totals, ask, counts, is_absence};
use super::causes::effects_noted;
use super::margin::{Bound, Judged, Stand, Told};
use super::practice;
use super::text::ONLY_A_SKETCH;
use super::{Family, Guards, Rule};
use crate::figures::Figures;
use crate::finding::{Conceded, Finding, NotJudged, Related, Severity};
use crate::model::{Concession, Interval, Job, Participant};
use crate::reading::Date;
use crate::rules::About;
use crate::source::Place;
use crate::text::Span;
use crate::vocabulary::Kind;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// How many days before the last day of a concession its end is told of, where nobody says otherwise: time for one more
/// workshop visit. Common practice, no source.
pub const USUAL_NOTICE: u32 = 30;

/// The day on which a job is judged.
#[derive(Clone, Copy, Debug)]
pub struct Day {
    /// The day, where the caller gave one.
    pub today: Option<Date>,
    /// How many days before the last day of a concession its end is told of.
    pub notice: u32,
}

impl From<Option<Date>> for Day {
    fn from(today: Option<Date>) -> Day {
        Day { today, notice: USUAL_NOTICE }
    }
}

/// What came of a job's rules.
#[derive(Debug, Default)]
pub struct Verdict {
    /// The findings, sorted by place and rule.
    pub findings: Vec<Finding>,
    /// Safety rules that lacked their inputs.
    pub not_judged: Vec<NotJudged>,
    /// For each concession of the job, how many findings it covers, or would where it is unsigned or has run out.
    pub covered: Vec<usize>,
    /// How many questions were asked, and how they came out.
    pub totals: Totals,
    /// What is asked for before building.
    pub before_building: Vec<NotJudged>,
}

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
    /// How many days before the last day of a concession its end is told of.
    pub notice: u32,
    /// For the rules on concessions, which run last: how many findings each concession of the job covers.
    pub covered: &'a [usize],
    /// For the rules on practices, which run late: what the rules held whose limits a practice tightens.
    pub held: &'a [Judged],
    found: Vec<Finding>,
    not_judged: Vec<NotJudged>,
    /// Where somebody asks for them, the comparisons that were made.
    judged: Option<Vec<Judged>>,
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

    /// Holds a figure against the most that it may be, with so much room beyond it. `told` is run only where somebody asks
    /// for margins, so that a check does not pay for them.
    pub fn at_most(
        &mut self,
        figure: impl Into<Interval>,
        limit: f64,
        room: f64,
        told: impl FnOnce() -> Told,
    ) -> Stand {
        self.holds(figure.into(), Bound::AtMost, limit, room, told)
    }

    /// Holds a figure against the least that it may be, likewise.
    pub fn at_least(
        &mut self,
        figure: impl Into<Interval>,
        limit: f64,
        room: f64,
        told: impl FnOnce() -> Told,
    ) -> Stand {
        self.holds(figure.into(), Bound::AtLeast, limit, room, told)
    }

    /// Whether somebody asks for margins: for what is worth working out only then.
    pub fn listens(&self) -> bool {
        self.judged.is_some()
    }

    fn holds(&mut self, figure: Interval, bound: Bound, limit: f64, room: f64, told: impl FnOnce() -> Told) -> Stand {
        if let Some(judged) = &mut self.judged {
            judged.push(Judged::new(self.rule, figure, bound, limit, room, told()));
        }
        Stand::of(figure, bound, limit, room)
    }

    /// Says that the rule at work, a safety rule, could not judge a thing.
    pub fn cannot_judge(&mut self, place: Place, because: impl Into<String>) {
        self.not_judged.push(NotJudged { rule: self.rule, place, because: because.into(), missing: None });
    }
}

/// Stands for a rule that failed: the tool's own fault, never the author's.
pub static RULE_FAILED: Rule = Rule {
    name: "rule-failed",
    family: Family::Text,
    severity: Severity::Error,
    title: "a rule that failed",
    source: "the tool itself",
    explanation: "One of the tool's own rules broke down and was not judged. All other rules were. The text is not at fault.",
    mend: "Send the file to the tool's authors.",
    bad: "",
    good: "",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |_| {},
};

/// Runs every rule over a job. Findings come sorted by file, start, end and rule name, each once.
pub fn judge(job: &Job, figures: &Figures, day: Day) -> Verdict {
    let mut run = Run::new(job, figures, day);
    run.all();
    let covered: Vec<usize> = job.concessions.iter().map(|concession| run.concede(concession)).collect();
    for rule in super::all().filter(|rule| rule.family == Family::Concessions) {
        run.rule(rule, &covered, &[]);
    }
    let mut account = run.account(false);
    let Run { mut found, mut not_judged, .. } = run;
    if job.sketch {
        not_judged.clear();
        not_judged.extend(only_a_sketch(job, account.totals));
        account.lacks.clear();
        account.before_building.clear();
    }
    not_judged.extend(account.lacks.into_iter().filter(counts));
    let mut before_building = account.before_building;
    found.iter_mut().for_each(|finding| practice::raise(job, finding));
    let mut found = effects_noted(job, found);
    if job.is_composed() {
        found.iter_mut().for_each(|finding| lead_back(job, finding));
        let left = not_judged.iter_mut().chain(&mut before_building);
        left.for_each(|left| left.place = job.shown(left.place));
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
    Verdict { findings: found, not_judged, covered, totals: account.totals, before_building }
}

/// The one line that tells of a sketch what it leaves open.
fn only_a_sketch(job: &Job, totals: Totals) -> Option<NotJudged> {
    let place = job.header?;
    let because = match (totals.open, totals.facts) {
        (0, _) => "it is a sketch. Nothing is left open: write `job` in place of `sketch` to build from it".to_string(),
        (open, facts) => format!(
            "it is a sketch: {open} {} for want of {facts} {}. `trialfit account` lists them",
            if open == 1 { "question is open" } else { "questions are open" },
            if facts == 1 { "fact" } else { "facts" },
        ),
    };
    Some(NotJudged { rule: &ONLY_A_SKETCH, place, because, missing: None })
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

/// Every question of a job with its answer; the same run as [`judge`], with all that it asked kept.
pub fn account(job: &Job, figures: &Figures, day: Day) -> Account {
    let mut run = Run::new(job, figures, day);
    run.all();
    let mut account = run.account(true);
    account.lead_back(job);
    account
}

/// Every comparison of a figure with a limit that the rules make, the tightest margin first; ties by place, rule and what.
pub fn margins(job: &Job, figures: &Figures, day: Day) -> Vec<Judged> {
    let mut run = Run::new(job, figures, day);
    run.listens = true;
    run.all();
    let tightened: Vec<Judged> =
        run.judged.iter().filter_map(|held| practice::tightened(job, held)).map(|it| it.0).collect();
    let mut judged = run.judged;
    judged.extend(tightened);
    judged.iter_mut().for_each(|judged| judged.place = job.shown(judged.place));
    judged.sort_by(|one, other| {
        let ends = |it: &Judged| (it.place, it.rule.name);
        one.margin()
            .total_cmp(&other.margin())
            .then_with(|| ends(one).cmp(&ends(other)))
            .then_with(|| one.what.cmp(&other.what))
    });
    judged.dedup();
    judged
}

struct Run<'a> {
    job: &'a Job,
    figures: &'a Figures,
    day: Day,
    found: Vec<Finding>,
    not_judged: Vec<NotJudged>,
    judged: Vec<Judged>,
    /// What rules held whose limits a practice tightens.
    held: Vec<Judged>,
    /// Whether every comparison is kept.
    listens: bool,
}

impl<'a> Run<'a> {
    fn new(job: &'a Job, figures: &'a Figures, day: Day) -> Run<'a> {
        Run {
            job,
            figures,
            day,
            found: Vec::new(),
            not_judged: Vec::new(),
            judged: Vec::new(),
            held: Vec::new(),
            listens: false,
        }
    }

    /// Runs every rule but those on concessions, which want to know what came of the others; those on practices last.
    fn all(&mut self) {
        let late = |rule: &Rule| matches!(rule.family, Family::Practice | Family::Concessions);
        for rule in super::all().filter(|rule| !late(rule)) {
            self.rule(rule, &[], &[]);
        }
        let held = std::mem::take(&mut self.held);
        for rule in super::all().filter(|rule| rule.family == Family::Practice) {
            self.rule(rule, &[], &held);
        }
    }

    /// Asks every question. Of a sketch, findings of what is not written at all are dropped: that is left open there.
    fn account(&mut self, traced: bool) -> Account {
        if self.job.sketch {
            self.found.retain(|finding| !is_absence(finding));
        }
        ask(self.job, &self.found, &self.not_judged, traced)
    }

    fn rule(&mut self, rule: &'static Rule, covered: &[usize], held: &[Judged]) {
        let mut findings = Findings {
            rule,
            job: self.job,
            figures: self.figures,
            today: self.day.today,
            notice: self.day.notice,
            covered,
            held,
            found: Vec::new(),
            not_judged: Vec::new(),
            judged: (self.listens || practice::limits(self.job, rule)).then(Vec::new),
        };
        if catch_unwind(AssertUnwindSafe(|| (rule.find)(&mut findings))).is_ok() {
            self.found.append(&mut findings.found);
            self.not_judged.append(&mut findings.not_judged);
            let mut judged = findings.judged.unwrap_or_default();
            if practice::limits(self.job, rule) {
                self.found.extend(practice::house_findings(self.job, &judged));
                self.held.extend(judged.iter().cloned());
            }
            if self.listens {
                self.judged.append(&mut judged);
            }
        } else {
            let place = self.job.header.unwrap_or(Place { file: self.job.file, span: Span::default() });
            let title = format!("rule `{}` failed and was not judged", rule.name);
            self.found.push(
                Finding::new(&RULE_FAILED, place, title)
                    .help("send this file to the tool's authors; the text is not at fault"),
            );
        }
    }

    /// Sets aside what a concession covers, where it is signed and holds still; how many findings it covers.
    fn concede(&mut self, concession: &Concession) -> usize {
        let Some(name) = concession.rule.get() else { return 0 };
        // A job says which block it means; only a file that many jobs follow may mean every block of a kind.
        let own = self.job.own(concession.header) && self.job.header.is_some();
        let expired = matches!((self.day.today, concession.until.get()), (Some(today), Some(until)) if *until < today);
        let complete = concession.because.get().is_some() && concession.by.get().is_some();
        let mut covered = 0;
        for finding in &mut self.found {
            if finding.rule.name != name || !finding.can_wait() {
                continue;
            }
            let blocks = blocks_of(self.job, finding);
            let takes_part = |on: &Participant| match on.every {
                Some(kind) => !own && blocks.iter().any(|header| kind_at(self.job, *header) == Some(kind)),
                None => on.header.is_some_and(|header| blocks.contains(&header)),
            };
            if concession.on.is_empty() || !concession.on.iter().all(takes_part) {
                continue;
            }
            covered += 1;
            if complete && !expired {
                finding.conceded = Some(Conceded {
                    place: concession.header,
                    because: concession.because.get().cloned().unwrap_or_default(),
                    by: concession.by.get().cloned().unwrap_or_default(),
                    until: concession.until.get().map(|date| date.to_string()),
                });
            }
        }
        covered
    }
}

/// The header of the block that a place lies in.
pub(crate) fn block_at(job: &Job, place: Place) -> Option<Place> {
    let reading = job.reading(place.file)?;
    reading.at(place.span.start).0.map(|block| job.built(Place { file: place.file, span: block.header }))
}

/// The kind of the block that a place lies in.
fn kind_at(job: &Job, place: Place) -> Option<Kind> {
    job.reading(place.file)?.at(place.span.start).0.and_then(|block| block.kind)
}

/// The places that take part in a finding.
pub(super) fn places_of(finding: &Finding) -> impl Iterator<Item = Place> + '_ {
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

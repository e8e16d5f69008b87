//! The search: blanks in the order in which one rests on another, each with what the others are taken to be, round after
//! round until nothing changes any more. The last round is the proof: every blank has the smallest choice that passes
//! with all the others as they are written. What passes is decided by the trials alone.

use super::choices::{Choices, choices};
use super::lengths::Steps;
use super::margins::margin;
use super::trial::{Heard, Ruler, Trial, job_with};
use super::{Answer, Blank, BlankKind, Filled, Insoluble, Outcome, Solution, blanks};
use crate::figures::Figures;
use crate::model::{Job, Sort};
use crate::reading::Reading;
use crate::rules::Day;
use crate::text::Edit;
use crate::units::Dimension;
use std::collections::HashMap;
use std::rc::Rc;

/// How often the job is judged at most, and for how many bytes of text in all: what somebody waits for without a word.
const MOST_JUDGED: usize = 600;
const LEAST_JUDGED: usize = 60;
const MOST_BYTES: usize = 60_000_000;
/// How many rounds are made, and from which one on a choice only goes up: two blanks that each ask the other for less
/// would turn in a circle.
const ROUNDS: usize = 6;
const ONLY_UP_FROM: usize = 3;
/// How long a `run` and a leg may become, in metres: as far as there are any in a vehicle. Common practice, no source.
const LONGEST_RUN: f64 = 30.0;
const LONGEST_LEG: f64 = 5.0;

/// Fills every blank of the checked file as far as that can be done. The day decides whether concessions have run out.
///
/// Cost: the job is judged once for each choice of each blank and round, 600 times at most.
pub fn solve(job: &Job, day: Day) -> Solution {
    let Some((_, reading)) = job.readings.first() else { return Solution::default() };
    let mut blanks = blanks(reading);
    blanks.iter_mut().for_each(|blank| blank.kind = asked_for(job, blank));
    if blanks.is_empty() {
        return Solution::default();
    }
    let mut solver = Solver {
        job,
        reading,
        day,
        values: vec![None; blanks.len()],
        trials: HashMap::new(),
        judged: 0,
        most: (MOST_BYTES / reading.tree.text.len().max(1)).clamp(LEAST_JUDGED, MOST_JUDGED),
        round: 0,
        blanks,
    };
    let answers = solver.rounds();
    let outcomes = solver.with_margins(answers);
    let answers =
        solver.blanks.iter().zip(outcomes).map(|(blank, outcome)| Answer { blank: *blank, outcome }).collect();
    Solution { answers, judged: solver.judged }
}

/// What a blank stands for, where it is the answer to a kit: what the kit asks for.
fn asked_for(job: &Job, blank: &Blank) -> BlankKind {
    if blank.kind != BlankKind::Answer {
        return blank.kind;
    }
    let mut answers = job.fits.iter().flat_map(|fit| &fit.answers);
    let answered = answers.find(|answered| answered.answer.is_some_and(|(_, value)| value.span == blank.span));
    match answered.map(|answered| &answered.asked.sort) {
        Some(Sort::Quantity { dimension: Dimension::Length, .. }) => BlankKind::Run,
        Some(Sort::Quantity { dimension: Dimension::Conductor, .. }) => BlankKind::Conductor,
        Some(Sort::Quantity { dimension: Dimension::Current, .. }) => BlankKind::Fuse,
        _ => BlankKind::Answer,
    }
}

/// What is taken to stand for each blank: `None` while it is open.
type Values = Vec<Option<String>>;

struct Solver<'a> {
    job: &'a Job,
    reading: &'a Reading,
    day: Day,
    blanks: Vec<Blank>,
    values: Values,
    trials: HashMap<(Values, bool), Rc<Trial>>,
    judged: usize,
    most: usize,
    round: usize,
}

impl Solver<'_> {
    fn rounds(&mut self) -> Vec<Outcome> {
        let mut order: Vec<usize> = (0..self.blanks.len()).collect();
        order.sort_by_key(|at| self.blanks.get(*at).map(|blank| blank.kind));
        let mut outcomes = vec![Outcome::Open(String::new()); self.blanks.len()];
        let mut settled = false;
        while self.round < ROUNDS && !settled && self.judged < self.most {
            settled = true;
            for at in &order {
                let (outcome, value) = self.one(*at);
                if let (Some(known), Some(place)) = (self.values.get_mut(*at), outcomes.get_mut(*at)) {
                    settled &= *known == value;
                    *known = value;
                    *place = outcome;
                }
            }
            self.round += 1;
        }
        if !settled {
            self.keep_what_holds(&mut outcomes);
        }
        outcomes
    }

    /// Where no round was without a change: only what passes with the last of all others stays filled.
    fn keep_what_holds(&mut self, outcomes: &mut [Outcome]) {
        for (at, place) in outcomes.iter_mut().enumerate() {
            let (outcome, value) = self.one(at);
            let holds = self.values.get(at).is_some_and(|known| *known == value);
            *place = match outcome {
                outcome if holds => outcome,
                _ => Outcome::Open(
                    "the blanks of this job pull against each other: write one of them, then let the tool fill the rest"
                        .to_string(),
                ),
            };
        }
    }

    /// One blank with the others as they are taken to be: what becomes of it, and what it is taken to be meanwhile.
    fn one(&mut self, at: usize) -> (Outcome, Option<String>) {
        let Some(blank) = self.blanks.get(at).copied() else { return (Outcome::Open(String::new()), None) };
        if let Some(because) = self.tied(at, &blank) {
            return (Outcome::Open(because), None);
        }
        if self.judged >= self.most {
            let because = format!("the job has more blanks than {} trials can fill: fill some by hand", self.most);
            return (Outcome::Open(because), None);
        }
        match blank.kind {
            BlankKind::Answer => {
                let because =
                    "of what a kit asks for, the tool fills only lengths, conductors and fuses: write this value";
                (Outcome::Open(because.to_string()), None)
            }
            BlankKind::Run => self.length(at, LONGEST_RUN, true),
            BlankKind::Leg => self.length(at, LONGEST_LEG, false),
            _ => {
                let choices = choices(self.job, &blank);
                self.size(at, &choices)
            }
        }
    }

    /// A length and a size on the same way decide each other, and so do two lengths: neither can be filled.
    fn tied(&self, at: usize, blank: &Blank) -> Option<String> {
        let length = |blank: &Blank| matches!(blank.kind, BlankKind::Run | BlankKind::Leg);
        let mut others = self.blanks.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, other)| other);
        let other = others.find(|other| other.line == blank.line && (length(blank) || length(other)))?;
        let header = self.reading.slice(blank.header);
        Some(format!(
            "`{}` of `{header}` is open too, and each depends on the other: write one of them",
            self.reading.slice(other.head)
        ))
    }

    fn trial(&mut self, at: usize, value: Option<&str>, probe: bool) -> Rc<Trial> {
        let mut values = self.values.clone();
        if let Some(place) = values.get_mut(at) {
            *place = value.map(str::to_string);
        }
        let key = (values, probe);
        if let Some(known) = self.trials.get(&key) {
            return Rc::clone(known);
        }
        self.judged += 1;
        let line = self.blanks.get(at).map(|blank| self.reading.tree.line_at(blank.span.start));
        let line = line.filter(|_| probe).and_then(|line| u32::try_from(line).ok());
        let trial = Rc::new(Trial::of(self.job, &self.edits(&key.0), self.day, line));
        self.trials.insert(key, Rc::clone(&trial));
        trial
    }

    fn edits(&self, values: &[Option<String>]) -> Vec<Edit> {
        let written = self.blanks.iter().zip(values);
        written.filter_map(|(blank, value)| Some(Edit { span: blank.span, insert: value.clone()? })).collect()
    }

    fn size(&mut self, at: usize, choices: &Choices) -> (Outcome, Option<String>) {
        let list = &choices.list;
        let (Some(smallest), Some(largest)) = (list.first(), list.last()) else {
            return (
                Outcome::Open("neither this file nor a followed file has a data sheet to choose".to_string()),
                None,
            );
        };
        let kind = self.blanks.get(at).map(|blank| blank.kind);
        let open = self.trial(at, None, false);
        let trials: Vec<Rc<Trial>> = list.iter().map(|choice| self.trial(at, Some(&choice.text), false)).collect();
        let probe = choices.probe.as_ref().map(|probe| self.trial(at, Some(probe), true));
        let compared: Vec<&Trial> = trials.iter().map(Rc::as_ref).collect();
        let ruler = Ruler::new(&open, &compared, probe.as_deref());
        let against: Vec<Option<(&Heard, usize)>> = trials.iter().map(|trial| ruler.against(trial)).collect();
        let Some(first) = against.iter().position(Option::is_none) else {
            let told =
                list.iter().zip(&against).filter_map(|(choice, against)| Some((choice.text.as_str(), (*against)?)));
            return none_passes(told.collect(), kind.unwrap_or(BlankKind::Bore));
        };
        let held = self.values.get(at).and_then(|value| {
            let now = list.iter().position(|choice| Some(&choice.text) == value.as_ref())?;
            (self.round >= ONLY_UP_FROM && now > first && against.get(now)?.is_none()).then_some(now)
        });
        let chosen = held.unwrap_or(first);
        let Some(choice) = list.get(chosen) else { return (Outcome::Open(String::new()), None) };
        let below = chosen.checked_sub(1).and_then(|below| Some((list.get(below)?, (*against.get(below)?)?)));
        let probed = probe.as_ref().and_then(|probe| ruler.against(probe)).map(|(heard, _)| heard);
        let from = choices.from;
        let (reason, heard) = match (below, probed) {
            (Some((below, (heard, _))), _) => (format!("{} does not pass: {}", below.text, heard.title), Some(heard)),
            _ if held.is_some() => (format!("it is the smallest {from} that goes with the other blanks"), None),
            (None, Some(heard)) => (format!("it is the smallest {from}; a smaller one would not pass"), Some(heard)),
            (None, None) if list.len() == 1 => (format!("it is the only one {from}"), None),
            (None, None) if against.iter().all(Option::is_none) => {
                let (low, high) = (&smallest.text, &largest.text);
                let because = format!(
                    "no rule that could judge decides between {low} and {high}: take what the heater's data sheet asks for"
                );
                return (Outcome::Open(because), None);
            }
            (None, None) => (format!("it is the smallest {from}"), None),
        };
        let rule = heard.map(|heard| heard.rule);
        let filled = Filled { text: choice.text.clone(), reason, rule, margin: None };
        (Outcome::Filled(filled), Some(choice.text.clone()))
    }

    /// The longest, or the shortest, length that passes.
    fn length(&mut self, at: usize, longest: f64, the_longest: bool) -> (Outcome, Option<String>) {
        let steps = Steps::new(self.job, longest);
        let open = self.trial(at, None, false);
        let mut look = |step: usize| self.trial(at, Some(&steps.text(step)), false);
        let coarse = steps.coarse();
        let trials: Vec<Rc<Trial>> = coarse.iter().map(|step| look(*step)).collect();
        let compared: Vec<&Trial> = trials.iter().map(Rc::as_ref).collect();
        let ruler = Ruler::new(&open, &compared, None);
        let passing: Vec<usize> = {
            let all = coarse.iter().zip(&trials).filter(|(_, trial)| ruler.against(trial).is_none());
            all.map(|(step, _)| *step).collect()
        };
        let found = if the_longest { passing.last() } else { passing.first() }.copied();
        let end = if the_longest { coarse.last() } else { coarse.first() }.copied();
        if found.is_some() && found == end {
            let text = end.map_or(String::new(), |end| steps.text(end));
            let because = if the_longest {
                format!("no rule that could judge sets a limit up to {text}: write the real length")
            } else {
                format!("no rule that could judge asks for more than {text}: write the real length")
            };
            return (Outcome::Open(because), None);
        }
        let mut passes = |step: usize| ruler.against(&look(step)).is_none();
        let found = found.or_else(|| {
            let mut fine: Vec<usize> = steps.fine().collect();
            if the_longest {
                fine.reverse();
            }
            fine.into_iter().find(|step| passes(*step))
        });
        let Some(found) = found else {
            let texts: Vec<String> = coarse.iter().map(|step| steps.text(*step)).collect();
            let told =
                texts.iter().zip(&trials).filter_map(|(text, trial)| Some((text.as_str(), ruler.against(trial)?)));
            let kind = if the_longest { BlankKind::Run } else { BlankKind::Leg };
            return none_passes(told.collect(), kind);
        };
        // Between what passes and the nearest length looked at that does not, the border is halved.
        let mut good = found;
        let beyond = if the_longest {
            coarse.iter().copied().find(|step| *step > found)
        } else {
            coarse.iter().rev().copied().find(|step| *step < found)
        };
        let mut bad = beyond.unwrap_or(if the_longest { steps.count } else { 0 });
        while good.abs_diff(bad) > 1 {
            let middle = (good + bad) / 2;
            if passes(middle) {
                good = middle;
            } else {
                bad = middle;
            }
        }
        let (text, next) = (steps.text(good), steps.text(bad));
        let trial = look(bad);
        let (reason, rule) = match ruler.against(&trial) {
            Some((heard, _)) => (format!("{next} does not pass: {}", heard.title), Some(heard.rule)),
            None => ("no length beyond it was tried".to_string(), None),
        };
        (Outcome::Filled(Filled { text: text.clone(), reason, rule, margin: None }), Some(text))
    }

    /// The answers with how far each limit is in the job as it is to be written.
    fn with_margins(&self, mut outcomes: Vec<Outcome>) -> Vec<Outcome> {
        let filled: Values = outcomes
            .iter()
            .map(|outcome| match outcome {
                Outcome::Filled(filled) => Some(filled.text.clone()),
                _ => None,
            })
            .collect();
        if let Some(job) = job_with(self.job, &self.edits(&filled)) {
            let figures = Figures::of(&job);
            for (blank, outcome) in self.blanks.iter().zip(&mut outcomes) {
                if let Outcome::Filled(filled) = outcome {
                    filled.margin = margin(&job, &figures, blank);
                }
            }
        }
        outcomes
    }
}

/// None passes: of sizes the largest says why, of anything else the one against which least is heard. What stands in for
/// the blank meanwhile is the size against which least is heard; of two alike the wider, which asks less of all that rests
/// on it, and of fuses the smaller.
fn none_passes(mut against: Vec<(&str, (&Heard, usize))>, kind: BlankKind) -> (Outcome, Option<String>) {
    let tried = against.len();
    let largest = against.last().copied();
    if !matches!(kind, BlankKind::Fuse | BlankKind::Run) {
        against.reverse();
    }
    let least = against.iter().min_by_key(|(_, (_, much))| *much).copied();
    let sized = matches!(kind, BlankKind::Bore | BlankKind::FuelLine | BlankKind::Conductor | BlankKind::Fuse);
    let Some((last, (heard, _))) = (if sized { largest } else { least }) else {
        return (Outcome::Open(String::new()), None);
    };
    let (last, title, rule) = (last.to_string(), heard.title.clone(), heard.rule);
    let taken = least.filter(|_| !matches!(kind, BlankKind::Run | BlankKind::Leg)).map(|(text, _)| text.to_string());
    (Outcome::Insoluble(Insoluble { last, title, rule, tried }), taken)
}

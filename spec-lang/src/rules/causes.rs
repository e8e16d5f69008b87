//! Which finding explains which: two rules never complain of one cause. Each rule names those that explain it; where such a
//! finding stands, its own becomes a note there. No rule is judged here.

use super::all;
use super::engine::{block_at, places_of};
use crate::finding::Finding;
use crate::model::Job;
use crate::source::Place;
use std::collections::{HashMap, HashSet};
use std::sync::LazyLock;

/// A rule whose finding explains another's, which then only tells what follows from it.
#[derive(Clone, Copy)]
pub struct Cause {
    /// The rule that names the cause.
    pub rule: &'static str,
    /// Within what both findings must meet.
    pub within: Within,
}

/// What cause and effect have in common.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Within {
    /// A block: the exhaust, the cable, ….
    Block,
    /// A heater, with all that hangs on it.
    Heater,
}

impl Cause {
    /// That rule, about the same block.
    pub(super) const fn on_block(rule: &'static str) -> Cause {
        Cause { rule, within: Within::Block }
    }

    /// That rule, about the same heater.
    pub(super) const fn on_heater(rule: &'static str) -> Cause {
        Cause { rule, within: Within::Heater }
    }
}

/// Whether a rule's finding may explain another's.
pub(super) fn explains(rule: &str) -> bool {
    static CAUSES: LazyLock<HashSet<&'static str>> =
        LazyLock::new(|| all().flat_map(|rule| rule.explained_by).map(|cause| cause.rule).collect());
    CAUSES.contains(rule)
}

/// Findings that another explains become notes on it. Each finding is looked at once: causes are found by rule and block.
pub(super) fn effects_noted(job: &Job, found: Vec<Finding>) -> Vec<Finding> {
    let is_effect = |finding: &Finding| finding.conceded.is_none() && !finding.rule.explained_by.is_empty();
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
        let waits =
            |effect: &Finding| effect.rule.explained_by.iter().any(|cause| waiting.binary_search(&cause.rule).is_ok());
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
        if finding.conceded.is_none() && explains(finding.rule.name) {
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
        let explaining = effect.rule.explained_by.iter().flat_map(|cause| {
            let known = self.headers(&effect, cause.within).into_iter();
            known.filter_map(|header| self.by_header.get(&(cause.rule, cause.within, header))).flatten()
        });
        let grave = |number: &&usize| self.kept.get(**number).is_some_and(|cause| cause.severity >= effect.severity);
        match explaining.filter(grave).min().copied().and_then(|number| self.kept.get_mut(number)) {
            Some(cause) => {
                cause.note(&effect);
            }
            None => self.keep(effect),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::{Rule, find};

    /// Each rule that another explains, with that one.
    fn pairs() -> impl Iterator<Item = (&'static Rule, &'static Rule)> {
        all().flat_map(|effect| {
            let known = |cause: &Cause| find(cause.rule).unwrap_or_else(|| panic!("{}", cause.rule));
            effect.explained_by.iter().map(move |cause| (known(cause), effect))
        })
    }

    /// A finding that may wait takes the mark of what is noted on it: what guards life does not vanish behind it.
    #[test]
    fn a_cause_takes_the_mark_of_the_effect_that_it_notes() {
        use crate::finding::Finding;
        let nowhere = crate::source::Place { file: crate::source::FileId(0), span: crate::text::Span::default() };
        for (cause, effect) in pairs() {
            let of = |rule: &'static Rule| Finding::new(rule, nowhere, rule.name);
            let (mut noted, note) = (of(cause), of(effect));
            noted.note(&note);
            assert!(noted.guards_life() || !note.guards_life(), "{} hides {}", cause.name, effect.name);
            assert!(!noted.can_wait() || note.can_wait(), "{} hides {}", cause.name, effect.name);
        }
    }

    #[test]
    fn nothing_explains_what_explains_it() {
        let mut names: Vec<&str> = pairs().flat_map(|(cause, effect)| [cause.name, effect.name]).collect();
        // Rules that nothing left explains are settled; in a circle none ever is.
        loop {
            let explained =
                |name: &&str| pairs().any(|(cause, effect)| effect.name == *name && names.contains(&cause.name));
            let left: Vec<&str> = names.iter().copied().filter(explained).collect();
            if left.is_empty() {
                return;
            }
            assert!(left.len() < names.len(), "a circle among {left:?}");
            names = left;
        }
    }
}

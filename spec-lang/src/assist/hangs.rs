//! What hangs on what: which blocks use a block, and which it uses. A sheet is used by heaters and runs, a heater by its
//! runs and its job.

use super::names::{Meaning, occurrences};
use crate::model::Job;
use crate::reading::{Block, Reading};
use crate::source::Place;
use crate::text::Span;
use crate::vocabulary::{Kind, words_of};
use std::collections::BTreeMap;

/// A block as one end of a use.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hung {
    /// Its kind.
    pub kind: Option<Kind>,
    /// Its header's words.
    pub title: String,
    /// Its kind in words.
    pub detail: String,
    /// Its header.
    pub header: Place,
    /// All of it.
    pub whole: Span,
}

fn hung(file: crate::source::FileId, reading: &Reading, block: &Block) -> Hung {
    let last = reading.tree.lines.get(block.last_line as usize).map_or(block.header, |line| line.span);
    Hung {
        kind: block.kind,
        title: reading.slice(block.header).split_whitespace().collect::<Vec<_>>().join(" "),
        detail: block.kind.map_or(String::new(), |kind| words_of(kind).reads()),
        header: Place { file, span: block.header },
        whole: block.header.cover(last),
    }
}

/// The block that a place lies in.
pub fn block_of(job: &Job, place: Place) -> Option<Hung> {
    let reading = job.reading(place.file)?;
    let block = reading.at(place.span.start).0.filter(|block| !block.header.is_empty())?;
    Some(hung(place.file, reading, block))
}

/// The meaning that a block's name has, where it has one of its own.
pub fn meaning_of(job: &Job, header: Place) -> Option<(Meaning, &str)> {
    let known = job.defined.iter().find(|known| job.real(known.header) == header && !known.name.is_empty())?;
    Some((Meaning::Block(known.kind, job.real(known.name_place)), &known.name))
}

fn job_header(job: &Job) -> Option<Place> {
    job.header.map(|header| job.real(header))
}

/// The blocks of a job that use a block, each with the places where it does; of a heater its job, too.
pub fn uses_of(job: &Job, meaning: Meaning) -> Vec<(Hung, Vec<Place>)> {
    let mut by_header: BTreeMap<Place, (Hung, Vec<Place>)> = BTreeMap::new();
    for found in occurrences(job).into_iter().filter(|it| it.meaning == Some(meaning) && !it.defines) {
        if let Some(user) = block_of(job, found.place) {
            by_header.entry(user.header).or_insert_with(|| (user, Vec::new())).1.push(found.place);
        }
    }
    if let (Meaning::Block(Kind::Heater, place), Some(header)) = (meaning, job_header(job))
        && let Some(user) = block_of(job, header).filter(|_| job.own(place))
    {
        by_header.entry(header).or_insert((user, vec![header]));
    }
    by_header.into_values().collect()
}

/// The blocks that a block uses, each with the places where it does; of the job block its heaters.
pub fn uses_in(job: &Job, header: Place) -> Vec<(Hung, Vec<Place>)> {
    let Some(block) = block_of(job, header) else { return Vec::new() };
    let mut by_header: BTreeMap<Place, (Hung, Vec<Place>)> = BTreeMap::new();
    let inside = |place: Place| {
        place.file == header.file && block.whole.start <= place.span.start && place.span.end <= block.whole.end
    };
    for found in occurrences(job).into_iter().filter(|it| inside(it.place) && !it.defines) {
        let target = found.meaning.and_then(Meaning::place).and_then(|place| block_of(job, place));
        if let Some(target) = target.filter(|target| target.header != header) {
            by_header.entry(target.header).or_insert_with(|| (target, Vec::new())).1.push(found.place);
        }
    }
    if Some(header) == job_header(job) {
        for heater in job.heaters.iter().filter(|heater| job.own(heater.header)) {
            let place = job.shown(heater.header);
            if let Some(target) = block_of(job, place) {
                by_header.entry(place).or_insert((target, vec![header]));
            }
        }
    }
    by_header.into_values().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Reading;
    use crate::rules::BENCH;
    use crate::source::{FileId, NoFiles};
    use std::sync::Arc;

    #[test]
    fn whoever_uses_a_block_is_named_by_it_and_the_other_way_round() {
        let job = Job::resolve(FileId(0), Arc::new(Reading::new(Arc::from(BENCH))), &NoFiles);
        let headers: Vec<Place> =
            job.defined.iter().map(|known| known.header).chain(job.header).map(|header| job.real(header)).collect();
        let mut uses = Vec::new();
        for header in &headers {
            uses.extend(uses_in(&job, *header).into_iter().map(|(used, _)| (*header, used.header)));
        }
        let mut used_by = Vec::new();
        for header in &headers {
            let Some((meaning, _)) = meaning_of(&job, *header) else { continue };
            used_by.extend(uses_of(&job, meaning).into_iter().map(|(user, _)| (user.header, *header)));
        }
        uses.sort();
        used_by.sort();
        assert!(uses.len() > 10, "{uses:?}");
        assert_eq!(uses, used_by);
    }
}

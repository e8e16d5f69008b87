//! The ground that a question stands on: the blocks of a job, how they belong together, and whether they say a fact.

use super::facts::{Need, Of, Stands};
use crate::model::{Job, Landmark, Met, Run, Start};
use crate::reading::{Arg, Statement, Value};
use crate::source::Place;
use crate::text::Span;
use crate::vocabulary::{DIRECTIONS, Kind, Role, nearest};
use std::cell::RefCell;
use std::collections::HashMap;

/// A block that a question is asked of: its kind, and its number among those of its kind; for routes, among all routes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Subject {
    /// Its kind.
    pub kind: Kind,
    /// Its number.
    pub number: usize,
}

impl Subject {
    /// A heater.
    pub const fn heater(number: usize) -> Subject {
        Subject { kind: Kind::Heater, number }
    }
}

/// In what way a fact is lacking; what comes later is stronger.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Gap {
    /// Nobody said anything.
    Silent,
    /// The line stands, without this part of it.
    Part(Place),
    /// A kit asks the job for it.
    Asked(Place),
    /// It is left for the tool to fill.
    Blank(Place),
    /// Somebody wrote that nobody knows.
    Unknown(Place),
    /// Something is written that was not understood: a finding tells of it.
    NotRead(Place),
}

/// A fact that is lacking.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Lack {
    /// Which.
    pub fact: Need,
    /// The header of the block that should say it; for a block that is not there, of the block that obliges it.
    pub at: Place,
    /// In what way.
    pub gap: Gap,
}

/// A job as questions see it.
pub struct Ground<'a> {
    /// The job.
    pub job: &'a Job,
    /// What was asked already: a fact of a block is looked up once.
    known: RefCell<HashMap<(Need, Place), Option<Gap>>>,
    /// Where names begin that mean no block.
    lost: Vec<u32>,
}

impl<'a> Ground<'a> {
    /// Of a job.
    pub fn of(job: &'a Job) -> Ground<'a> {
        let lost = job.names.iter().filter(|name| name.target.is_none()).map(|name| name.place.span.start).collect();
        Ground { job, known: RefCell::default(), lost }
    }

    /// Where the job begins: its header, or the file's first byte.
    pub fn top(&self) -> Place {
        self.job.header.unwrap_or(Place { file: self.job.file, span: Span::default() })
    }

    /// The vehicle.
    pub fn vehicle(&self) -> Subject {
        Subject { kind: Kind::Vehicle, number: 0 }
    }

    /// The header of a block; `None` where there is none such.
    pub fn header(&self, of: Subject) -> Option<Place> {
        let job = self.job;
        match of.kind {
            Kind::Job => Some(self.top()),
            Kind::Vehicle => job.vehicle.as_ref().map(|(_, header)| *header),
            Kind::Space => job.spaces.get(of.number).map(|it| it.header),
            Kind::Battery => job.batteries.get(of.number).map(|it| it.header),
            Kind::Tank => job.tanks.get(of.number).map(|it| it.header),
            Kind::Heater => job.heaters.get(of.number).map(|it| it.header),
            Kind::Opening => job.openings.get(of.number).map(|it| it.header),
            Kind::Alarm => job.alarms.get(of.number).map(|it| it.header),
            Kind::HeaterSheet => job.heater_sheets.get(of.number).map(|it| it.header),
            _ => job.runs.get(of.number).map(|it| it.header),
        }
    }

    /// Every block of a kind.
    pub fn subjects(&self, kind: Kind) -> impl Iterator<Item = Subject> + use<'_, 'a> {
        let job = self.job;
        let count = match kind {
            Kind::Job => usize::from(job.header.is_some() || !job.heaters.is_empty()),
            Kind::Vehicle => usize::from(job.vehicle.is_some()),
            Kind::Space => job.spaces.len(),
            Kind::Battery => job.batteries.len(),
            Kind::Tank => job.tanks.len(),
            Kind::Heater => job.heaters.len(),
            Kind::Opening => job.openings.len(),
            Kind::Alarm => job.alarms.len(),
            Kind::HeaterSheet => job.heater_sheets.len(),
            _ => job.runs.len(),
        };
        let of_kind = move |number: &usize| !kind.is_run() || job.runs.get(*number).is_some_and(|run| run.kind == kind);
        (0..count).filter(of_kind).map(move |number| Subject { kind, number })
    }

    /// The heaters that a block has to do with: its own, those it feeds, or all.
    pub fn heaters_of(&self, of: Subject) -> impl Iterator<Item = usize> + use<'_, 'a> {
        let job = self.job;
        let all = job.heaters.len();
        let has = move |heater: &usize| match of.kind {
            Kind::Heater => *heater == of.number,
            Kind::Battery => job.runs.iter().any(|run| {
                run.heater == Some(*heater) && run.kind == Kind::Cable && run.start == Start::Battery(of.number)
            }),
            Kind::Tank => job.runs.iter().any(|run| {
                run.heater == Some(*heater) && run.kind == Kind::FuelLine && run.start == Start::Tank(of.number)
            }),
            Kind::HeaterSheet => job.heaters.get(*heater).is_some_and(|known| known.sheet == Some(of.number)),
            Kind::Space => job.heaters.get(*heater).is_some_and(|known| {
                known.heats.iter().any(|space| space.value == of.number)
                    || known.stands_in.get().is_some_and(|space| *space == Some(of.number))
            }),
            Kind::KeepClear => true,
            kind if kind.is_run() => job.runs.get(of.number).is_some_and(|run| run.heater == Some(*heater)),
            _ => true,
        };
        (0..all).filter(has)
    }

    /// The heaters that a block, by its header, has to do with.
    pub fn heaters_at(&self, header: Place) -> impl Iterator<Item = usize> + use<'_, 'a> {
        let kinds = [Kind::Battery, Kind::Tank, Kind::HeaterSheet, Kind::Space, Kind::Vehicle, Kind::Job];
        let runs = self.job.runs.iter().enumerate().map(|(number, run)| Subject { kind: run.kind, number });
        let blocks = kinds.into_iter().flat_map(|kind| self.subjects(kind));
        let found = blocks.chain(runs).find(|subject| self.header(*subject) == Some(header));
        found.into_iter().flat_map(|subject| self.heaters_of(subject))
    }

    /// The data sheet of a heater.
    pub fn sheet_of(&self, heater: usize) -> Option<Subject> {
        let number = self.job.heaters.get(heater)?.sheet?;
        Some(Subject { kind: Kind::HeaterSheet, number })
    }

    /// Whether somebody measured by tape to a block: then its place is not needed.
    pub(super) fn is_taped(&self, of: Subject) -> bool {
        let landmark = match of.kind {
            Kind::Opening => Landmark::Opening(of.number),
            Kind::Tank => Landmark::Tank(of.number),
            kind if kind.is_run() => Landmark::Run(of.number),
            _ => return false,
        };
        self.job.runs.iter().flat_map(|run| &run.said.measured).any(|taped| taped.to == Some(landmark))
    }

    /// Whether a run of warm air must be a branch: a tee of another run of its heater leads nowhere yet, and it does not say
    /// where it starts.
    pub(super) fn starts_at_a_tee(&self, of: Subject) -> bool {
        let job = self.job;
        let Some(heater) = job.runs.get(of.number).map(|run| run.heater) else { return false };
        let led = |number: usize, tee: &str| {
            job.runs.iter().any(|run| matches!(&run.start, Start::Tee(of, name) if *of == number && name == tee))
        };
        let others = job
            .runs
            .iter()
            .enumerate()
            .filter(|(number, run)| run.kind == Kind::WarmAir && run.heater == heater && *number != of.number);
        let mut tees = others.flat_map(|(number, run)| run.steps.iter().map(move |step| (number, &step.met)));
        tees.any(|(number, met)| matches!(met, Met::Tee(tee, _) if !led(number, tee)))
    }

    /// What stands in a relation to a block: each such block, or what is lacking to tell. Where a held paragraph may hide
    /// it, nothing: that paragraph is a finding.
    pub fn reach(&self, from: Subject, of: Of, found: &mut dyn FnMut(Result<Subject, Lack>)) {
        let job = self.job;
        let every = |kind: Kind, found: &mut dyn FnMut(Result<Subject, Lack>)| {
            self.subjects(kind).for_each(|subject| found(Ok(subject)));
        };
        match of {
            Of::Itself(_) => found(Ok(from)),
            // Asked of one of its kind, the question is about that one.
            Of::EachSpace | Of::EachOpening | Of::EachKeepClear | Of::EachAlarm | Of::EachBattery | Of::EachTank
                if from.kind == of.kind() =>
            {
                found(Ok(from));
            }
            Of::Sheet if from.kind == Kind::HeaterSheet => found(Ok(from)),
            Of::Job => found(Ok(Subject { kind: Kind::Job, number: 0 })),
            Of::Vehicle => match job.vehicle {
                Some(_) => found(Ok(self.vehicle())),
                None if job.hidden.has(Kind::Vehicle) => {}
                None => found(Err(self.absent(Need::Vehicle))),
            },
            Of::EachSpace => every(Kind::Space, found),
            Of::EachOpening => every(Kind::Opening, found),
            Of::EachKeepClear => every(Kind::KeepClear, found),
            Of::EachAlarm => every(Kind::Alarm, found),
            Of::EachBattery => every(Kind::Battery, found),
            Of::EachTank => every(Kind::Tank, found),
            Of::Heater => self.heaters_of(from).for_each(|number| found(Ok(Subject::heater(number)))),
            Of::Sheet => self.heaters_of(from).for_each(|number| match self.sheet_of(number) {
                Some(sheet) => found(Ok(sheet)),
                None => found(Err(self.link(Need::Datasheet, Subject::heater(number)))),
            }),
            Of::StandsIn => self.heaters_of(from).for_each(|number| {
                let Some(heater) = job.heaters.get(number) else { return };
                match heater.stands_in.get() {
                    Some(Some(space)) => found(Ok(Subject { kind: Kind::Space, number: *space })),
                    Some(None) => {}
                    None => found(Err(self.link(Need::HeaterIn, Subject::heater(number)))),
                }
            }),
            Of::Heated => self.heaters_of(from).for_each(|number| {
                let Some(heater) = job.heaters.get(number) else { return };
                heater.heats.iter().for_each(|space| found(Ok(Subject { kind: Kind::Space, number: space.value })));
            }),
            Of::Battery if from.kind == Kind::Battery => found(Ok(from)),
            Of::Battery => self.each_supply(from, &mut |supply| match supply {
                Ok(cable) => match job.runs.get(cable.number).map(|run| &run.start) {
                    Some(Start::Battery(number)) => found(Ok(Subject { kind: Kind::Battery, number: *number })),
                    _ => found(Err(self.link(Need::CableFrom, cable))),
                },
                Err(lack) => found(Err(lack)),
            }),
            Of::Supply => self.each_supply(from, found),
            Of::Tank if from.kind == Kind::Tank => found(Ok(from)),
            Of::Tank => self.each_run(from, Kind::FuelLine, &mut |line| match line {
                Ok(line) => match job.runs.get(line.number).map(|run| &run.start) {
                    Some(Start::Tank(number)) => found(Ok(Subject { kind: Kind::Tank, number: *number })),
                    _ => found(Err(self.link(Need::FuelFrom, line))),
                },
                Err(lack) => found(Err(lack)),
            }),
            Of::Run(kind) => self.each_run(from, kind, found),
        }
    }

    /// The runs of a kind that belong to the heaters of a block; a heater without one lacks it.
    fn each_run(&self, from: Subject, kind: Kind, found: &mut dyn FnMut(Result<Subject, Lack>)) {
        if from.kind == kind {
            return found(Ok(from));
        }
        // A run whose heater nobody could make out may be the one that is missed.
        let stray = self.job.runs.iter().any(|run| run.kind == kind && run.heater.is_none());
        for heater in self.heaters_of(from) {
            let mut any = false;
            for (number, run) in self.job.runs.iter().enumerate() {
                if run.kind == kind && run.heater == Some(heater) {
                    any = true;
                    found(Ok(Subject { kind, number }));
                }
            }
            if let Some(fact) = Need::block_of(kind)
                && !any
                && !stray
                && !self.job.hidden.has(kind)
                && let Some(at) = self.header(Subject::heater(heater))
            {
                found(Err(Lack { fact, at, gap: Gap::Silent }));
            }
        }
    }

    /// The supply cables of a block's heaters: those from a battery; where none is, the one that may be it.
    fn each_supply(&self, from: Subject, found: &mut dyn FnMut(Result<Subject, Lack>)) {
        if from.kind == Kind::Cable {
            return found(Ok(from));
        }
        let cables = || self.job.runs.iter().enumerate().filter(|(_, run)| run.kind == Kind::Cable);
        let stray = cables().any(|(_, run)| run.heater.is_none());
        for heater in self.heaters_of(from) {
            let of_heater = |run: &Run| run.heater == Some(heater);
            let feeds = |run: &Run| of_heater(run) && matches!(run.start, Start::Battery(_));
            let mut any = false;
            for (number, _) in cables().filter(|(_, run)| feeds(run)) {
                any = true;
                found(Ok(Subject { kind: Kind::Cable, number }));
            }
            if any || stray || self.job.hidden.has(Kind::Cable) {
                continue;
            }
            let branch = |run: &Run| run.said.carries.place().is_some() || run.said.harness.place().is_some();
            let may_be = cables().find(|(_, run)| of_heater(run) && !branch(run));
            match (may_be.or_else(|| cables().find(|(_, run)| of_heater(run))), self.header(Subject::heater(heater))) {
                (Some((number, _)), _) => {
                    found(Err(self.link(Need::CableFrom, Subject { kind: Kind::Cable, number })));
                }
                (None, Some(at)) => found(Err(Lack { fact: Need::Supply, at, gap: Gap::Silent })),
                (None, None) => {}
            }
        }
    }

    /// What lacks where a name leads nowhere: the word, or where it stands, what it names; of that a finding tells.
    fn link(&self, fact: Need, at: Subject) -> Lack {
        self.lack(fact, at).unwrap_or_else(|| self.unread(fact, at))
    }

    /// A fact that stands, but gave no value: told by a finding.
    pub fn unread(&self, fact: Need, at: Subject) -> Lack {
        let header = self.header(at).unwrap_or(self.top());
        let place = self.said(fact, at).unwrap_or(header);
        Lack { fact, at: header, gap: Gap::NotRead(place) }
    }

    /// A block that the job has not.
    pub fn absent(&self, fact: Need) -> Lack {
        Lack { fact, at: self.top(), gap: Gap::Silent }
    }

    /// The lack of a fact in the block that is to say it; `None` where it is said, or not owed there.
    pub fn lack(&self, fact: Need, at: Subject) -> Option<Lack> {
        let header = self.header(at)?;
        if let Some(known) = self.known.borrow().get(&(fact, header)) {
            return known.map(|gap| Lack { fact, at: header, gap });
        }
        let owed = || fact.row().owed.is_none_or(|owed| owed(self, at));
        let gap = self.look(fact, header).err().filter(|_| owed());
        self.known.borrow_mut().insert((fact, header), gap);
        gap.map(|gap| Lack { fact, at: header, gap })
    }

    /// Where a block says a fact.
    pub fn said(&self, fact: Need, at: Subject) -> Option<Place> {
        self.look(fact, self.header(at)?).ok()
    }

    /// Where a block says a fact, or in what way it does not. Of lines that say how something is from there on, each has to
    /// be whole: what one of them leaves open is open.
    fn look(&self, fact: Need, header: Place) -> Result<Place, Gap> {
        let row = fact.row();
        let (mut gap, mut said) = (Gap::Silent, None);
        let Some(reading) = self.job.reading(header.file) else { return Err(gap) };
        let Some(block) = reading.at(header.span.start).0 else { return Err(gap) };
        let (mut walked, mut behind) = (None, None);
        for statement in reading.statements(block) {
            let place = Place { file: header.file, span: statement.span };
            match statement.word {
                Some(word) if row.words.contains(&word.word) => {
                    match self.weigh(fact, statement, place, reading.args(statement)) {
                        Ok(()) if row.stands == Stands::First && said.is_none() && walked.is_some() => {
                            gap = gap.max(Gap::Part(walked.unwrap_or(place)));
                        }
                        Ok(()) => {
                            said = said.or(Some(place));
                            behind = None;
                        }
                        Err(found) => gap = gap.max(found),
                    }
                }
                Some(word) if word.word == "run" || DIRECTIONS.contains(&word.word) => {
                    walked = walked.or(Some(place));
                    behind = behind.or(Some(place));
                }
                Some(_) => {}
                None => {
                    let head = reading.slice(statement.head);
                    if nearest(head, row.words.iter().copied()).is_some() {
                        gap = gap.max(Gap::NotRead(place));
                    }
                }
            }
        }
        match row.stands {
            Stands::IfSaid if gap == Gap::Silent => return Ok(said.unwrap_or(header)),
            Stands::Last if gap == Gap::Silent && said.is_some() => {
                gap = behind.map_or(gap, Gap::Part);
            }
            _ => {}
        }
        said.filter(|_| gap == Gap::Silent).ok_or(gap)
    }

    fn weigh(&self, fact: Need, statement: &Statement, place: Place, args: &[Arg]) -> Result<(), Gap> {
        let row = fact.row();
        if !row.choices.is_empty() {
            let chosen = |value: &Value| matches!(value, Value::Choice(choice) if row.choices.contains(choice));
            if !args.iter().any(|arg| chosen(&arg.value)) {
                return Err(if statement.whole { Gap::Silent } else { Gap::NotRead(place) });
            }
            return Ok(());
        }
        for arg in args {
            match arg.value {
                Value::Unknown => return Err(Gap::Unknown(place)),
                Value::Blank => return Err(Gap::Blank(place)),
                Value::Asked(_) => return Err(Gap::Asked(place)),
                // A name that leads nowhere: a finding tells of it.
                Value::Name if self.lost.contains(&arg.span.start) => return Err(Gap::NotRead(place)),
                _ => {}
            }
        }
        if !statement.whole {
            return Err(Gap::NotRead(place));
        }
        match row.part {
            Some(part) if !(part.holds)(args) => Err(Gap::Part(place)),
            _ => Ok(()),
        }
    }
}

/// Whether a line has an argument for a role.
pub(super) fn has(args: &[Arg], role: Role) -> bool {
    args.iter().any(|arg| arg.role == role)
}

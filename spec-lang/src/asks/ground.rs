//! The ground that a question stands on: the blocks of a job, how they belong together, and whether they say a fact.

use super::facts::{Need, Of, Stands};
use crate::model::{Job, Landmark, Met, NameFaultKind, Run, Start, Step};
use crate::reading::{Arg, Statement, Value};
use crate::source::{FileId, Place};
use crate::text::Span;
use crate::vocabulary::{DIRECTIONS, Kind, Role, is_way};
use std::cell::{OnceCell, RefCell};
use std::collections::{HashMap, HashSet};
use std::rc::Rc;

/// How many tees in a row a branch of warm air is followed back through: more than any heater could blow through.
const LONGEST_CHAIN: usize = 32;

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
    /// The line stands, but too late in its route, or too early to close it.
    Misplaced(Place),
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

/// What is known of a fact of one block.
#[derive(Clone, Copy)]
enum Known {
    NotAsked,
    Said,
    Lacks(Gap),
}

/// A job as questions see it.
pub struct Ground<'a> {
    /// The job.
    pub job: &'a Job,
    /// What was asked already, by the fact and the number of the block, whose kind the fact tells: looked up once.
    known: RefCell<Vec<Vec<Known>>>,
    /// The lacks of a fact in each block that is to say it, for facts that many questions ask of all of them.
    of_each: RefCell<HashMap<Need, Rc<Vec<Lack>>>>,
    /// The files and bytes at which names begin that mean no block, or not just one.
    lost: HashSet<(FileId, u32)>,
    ties: Ties,
    /// Whether something is placed in the vehicle's axes.
    placed: OnceCell<bool>,
}

/// How blocks belong together, looked up once: a question is asked thousands of times in a long file.
#[derive(Default)]
struct Ties {
    /// The routes of each heater.
    runs: Vec<Vec<usize>>,
    /// The heaters that each battery feeds.
    batteries: Vec<Vec<usize>>,
    /// The heaters that draw from each tank.
    tanks: Vec<Vec<usize>>,
    /// The heaters of each data sheet.
    sheets: Vec<Vec<usize>>,
    /// The heaters that stand in each space, or heat it.
    spaces: Vec<Vec<usize>>,
    /// The first route of each kind that has no heater: it may be the one that another misses.
    stray: HashMap<Kind, Place>,
    /// Blocks by their headers.
    blocks: HashMap<Place, Subject>,
    /// Batteries of which a cable has a battery saver or a load output.
    saved: HashSet<usize>,
    /// A heater that no battery is known to feed, and one that is known to draw from no tank: it may be any's.
    unfed: Option<usize>,
    undrawn: Option<usize>,
    /// The routes of warm air, by heater, of which a tee leads nowhere.
    open_tees: Vec<(Option<usize>, usize, Place)>,
    /// Whether a branch says a start that was not understood.
    lost_branch: bool,
}

impl Ties {
    fn of(job: &Job, lost: &HashSet<(FileId, u32)>) -> Ties {
        let lists = |count: usize| vec![Vec::new(); count];
        let mut ties = Ties {
            runs: lists(job.heaters.len()),
            batteries: lists(job.batteries.len()),
            tanks: lists(job.tanks.len()),
            sheets: lists(job.heater_sheets.len()),
            spaces: lists(job.spaces.len()),
            ..Ties::default()
        };
        let put = |list: &mut Vec<Vec<usize>>, at: usize, heater: usize| {
            if let Some(known) = list.get_mut(at).filter(|known| known.last() != Some(&heater)) {
                known.push(heater);
            }
        };
        let mut led: HashSet<(usize, &str)> = HashSet::new();
        for (number, run) in job.runs.iter().enumerate() {
            if let Start::Tee(trunk, tee) = &run.start {
                led.insert((*trunk, tee));
            }
            ties.blocks.insert(run.header, Subject { kind: run.kind, number });
            let saver = |step: &Step| matches!(step.met, Met::Switch("battery-saver" | "load-output", _));
            if let Start::Battery(battery) = run.start
                && run.steps.iter().any(saver)
            {
                ties.saved.insert(battery);
            }
            let Some(heater) = run.heater else {
                ties.stray.entry(run.kind).or_insert(run.header);
                continue;
            };
            put(&mut ties.runs, heater, number);
            match run.start {
                Start::Battery(battery) if run.kind == Kind::Cable => put(&mut ties.batteries, battery, heater),
                Start::Tank(tank) if run.kind == Kind::FuelLine => put(&mut ties.tanks, tank, heater),
                _ => {}
            }
        }
        for (number, heater) in job.heaters.iter().enumerate() {
            if let Some(sheet) = heater.sheet {
                put(&mut ties.sheets, sheet, number);
            }
            let spaces = heater.heats.iter().map(|space| space.value).chain(heater.stands_in.get().copied().flatten());
            spaces.for_each(|space| put(&mut ties.spaces, space, number));
        }
        let without = |lists: &[Vec<usize>]| {
            let tied: HashSet<usize> = lists.iter().flatten().copied().collect();
            (0..job.heaters.len()).find(|heater| !tied.contains(heater))
        };
        ties.unfed = without(&ties.batteries);
        ties.undrawn = without(&ties.tanks);
        for (number, run) in job.runs.iter().enumerate().filter(|(_, run)| run.kind == Kind::WarmAir) {
            let name_lost = |at: Place| lost.iter().any(|(file, byte)| at.file == *file && at.span.touches(*byte));
            if run.start_place.is_some_and(name_lost) {
                ties.lost_branch = true;
            }
            let open = |met: &Met| matches!(met, Met::Tee(tee, _) if !led.contains(&(number, tee.as_str())));
            if let Some(step) = run.steps.iter().find(|step| open(&step.met)) {
                ties.open_tees.push((run.heater, number, step.place));
            }
        }
        ties
    }
}

impl<'a> Ground<'a> {
    /// Of a job.
    pub fn of(job: &'a Job) -> Ground<'a> {
        let nameless = job.names.iter().filter(|name| name.target.is_none()).map(|name| name.place);
        let at_fault = job.name_faults.iter().flat_map(|fault| match &fault.kind {
            NameFaultKind::Circle { others } => [&[fault.place], others.as_slice()].concat(),
            _ => vec![fault.place],
        });
        let tapes = job.runs.iter().flat_map(|run| &run.said.measured).filter(|taped| taped.to.is_none());
        let lost = nameless
            .chain(at_fault)
            .chain(tapes.map(|taped| taped.place))
            .map(|place| (place.file, place.span.start))
            .collect();
        let ties = Ties::of(job, &lost);
        let mut ground = Ground {
            job,
            known: RefCell::new(vec![Vec::new(); Need::ALL.len()]),
            of_each: RefCell::default(),
            lost,
            ties,
            placed: OnceCell::new(),
        };
        let kinds = [Kind::Battery, Kind::Tank, Kind::HeaterSheet, Kind::Space, Kind::Heater, Kind::Vehicle, Kind::Job];
        let blocks: Vec<_> = kinds.into_iter().flat_map(|kind| ground.subjects(kind)).collect();
        let headers: Vec<_> = blocks.into_iter().filter_map(|block| Some((ground.header(block)?, block))).collect();
        ground.ties.blocks.extend(headers);
        ground
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

    /// What a question of each block of a kind is asked of. Where no battery and no tank is written at all, the heaters are
    /// asked that miss it.
    pub fn asked(&self, kind: Kind) -> impl Iterator<Item = Subject> + use<'_, 'a> {
        let missed = match kind {
            Kind::Battery => self.job.batteries.is_empty(),
            Kind::Tank => self.job.tanks.is_empty(),
            _ => false,
        };
        self.subjects(if missed { Kind::Heater } else { kind })
    }

    /// The heaters that a block has to do with: its own, those it feeds, or all.
    pub fn heaters_of(&self, of: Subject) -> impl Iterator<Item = usize> + use<'_, 'a> {
        let (one, many, all): (Option<usize>, &[usize], usize) = match of.kind {
            Kind::Heater => (Some(of.number), &[], 0),
            Kind::Battery => (None, tied(&self.ties.batteries, of.number), 0),
            Kind::Tank => (None, tied(&self.ties.tanks, of.number), 0),
            Kind::HeaterSheet => (None, tied(&self.ties.sheets, of.number), 0),
            Kind::Space => (None, tied(&self.ties.spaces, of.number), 0),
            Kind::KeepClear => (None, &[], self.job.heaters.len()),
            kind if kind.is_run() => (self.job.runs.get(of.number).and_then(|run| run.heater), &[], 0),
            _ => (None, &[], self.job.heaters.len()),
        };
        one.into_iter().chain(many.iter().copied()).chain(0..all)
    }

    /// The heaters that a question of a block asks about: of a battery or a tank also one that may be its own, for all that
    /// is said.
    fn heaters_asked(&self, of: Subject) -> impl Iterator<Item = usize> + use<'_, 'a> {
        let may_be = match of.kind {
            Kind::Battery => self.ties.unfed,
            Kind::Tank => self.ties.undrawn,
            _ => None,
        };
        self.heaters_of(of).chain(may_be)
    }

    /// The heaters that a block, by its header, has to do with; none of a thing to keep clear of, which is every heater's.
    pub fn heaters_at(&self, header: Place) -> impl Iterator<Item = usize> + use<'_, 'a> {
        let found = self.ties.blocks.get(&header).copied().filter(|block| block.kind != Kind::KeepClear);
        found.into_iter().flat_map(|block| self.heaters_of(block))
    }

    /// The lacks of a fact in every block that is to say it.
    pub fn lacks_of_each(&self, fact: Need) -> Rc<Vec<Lack>> {
        if let Some(known) = self.of_each.borrow().get(&fact) {
            return Rc::clone(known);
        }
        let lacks = self.subjects(fact.row().of.kind()).filter_map(|block| self.lack(fact, block)).collect();
        let lacks = Rc::new(lacks);
        self.of_each.borrow_mut().insert(fact, Rc::clone(&lacks));
        lacks
    }

    /// The data sheet of a heater.
    pub fn sheet_of(&self, heater: usize) -> Option<Subject> {
        let number = self.job.heaters.get(heater)?.sheet?;
        Some(Subject { kind: Kind::HeaterSheet, number })
    }

    /// Whether something is placed in the vehicle's axes; looked up once.
    pub(super) fn is_placed(&self) -> bool {
        *self.placed.get_or_init(|| {
            let job = self.job;
            let things = job.spaces.iter().any(|space| space.outline.is_some())
                || job.openings.iter().any(|opening| opening.area.is_some())
                || job.tanks.iter().any(|tank| tank.area.is_some())
                || job.batteries.iter().any(|battery| battery.area.is_some());
            let met = |run: &Run| run.steps.iter().any(|step| matches!(step.met, Met::At(_)));
            things || job.heaters.iter().any(|heater| heater.spot.is_some()) || job.runs.iter().any(met)
        })
    }

    /// Whether a switch in a cable of a battery cuts the load off by itself.
    pub(super) fn is_saved(&self, battery: usize) -> bool {
        self.ties.saved.contains(&battery)
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

    /// The first tube of a route of which neither the line nor its sheet says how wide it is.
    pub(super) fn boreless(&self, of: Subject) -> Option<Gap> {
        let run = self.job.runs.get(of.number)?;
        run.steps.iter().find_map(|step| match &step.met {
            Met::Tube(tube) if tube.bore.get().is_none() => Some(match tube.bore.place() {
                Some(unknown) => Gap::Unknown(unknown),
                None => Gap::Part(step.place),
            }),
            _ => None,
        })
    }

    /// Whether a route has a leg.
    pub(super) fn is_walked(&self, of: Subject) -> bool {
        let leg = |step: &Step| matches!(step.met, Met::Leg(..) | Met::Run(..));
        self.job.runs.get(of.number).is_some_and(|run| run.steps.iter().any(leg))
    }

    /// Whether nobody can tell how high a route ends: it is not walked from a known place to its end. Where its port is not
    /// known on a vehicle with axes, that is asked for.
    pub(super) fn ends_at_no_height(&self, of: Subject) -> bool {
        let Some(run) = self.job.runs.get(of.number) else { return false };
        let lacks_its_port = self.is_placed() && run.walk.start.is_none();
        !self.job.hidden.has(Kind::Heater) && run.walk.end.is_none() && !lacks_its_port
    }

    /// The first tee of a route that no branch starts at; where a branch says a start that was not understood, it may be
    /// that one.
    pub(super) fn open_tee(&self, of: Subject) -> Option<Gap> {
        let (.., place) = self.ties.open_tees.iter().find(|(_, number, _)| *number == of.number)?;
        Some(if self.ties.lost_branch { Gap::NotRead(*place) } else { Gap::Part(*place) })
    }

    /// Whether a run of warm air must be a branch: a tee of another run of its heater leads nowhere yet, and it does not say
    /// where it starts.
    pub(super) fn starts_at_a_tee(&self, of: Subject) -> bool {
        let Some(heater) = self.job.runs.get(of.number).map(|run| run.heater) else { return false };
        self.ties
            .open_tees
            .iter()
            .any(|(known, number, _)| (heater.is_none() || *known == heater) && *number != of.number)
    }

    /// What stands in a relation to a block: each such block, or what is lacking to tell.
    pub fn reach(&self, from: Subject, of: Of, found: &mut dyn FnMut(Result<Subject, Lack>)) {
        let job = self.job;
        let every = |kind: Kind, found: &mut dyn FnMut(Result<Subject, Lack>)| {
            self.subjects(kind).for_each(|subject| found(Ok(subject)));
        };
        // Where nobody could make out a route's heater, nobody can ask what it has.
        if let Some(run) = job.runs.get(from.number).filter(|run| from.kind.is_run() && run.heater.is_none())
            && of.is_of_a_heater()
            && of.kind() != from.kind
        {
            return found(Err(Lack { fact: Need::Heater, at: run.header, gap: Gap::NotRead(run.header) }));
        }
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
                None => found(Err(self.absent(Need::Vehicle))),
            },
            Of::EachSpace => every(Kind::Space, found),
            Of::EachOpening => every(Kind::Opening, found),
            Of::EachKeepClear => every(Kind::KeepClear, found),
            Of::EachAlarm => every(Kind::Alarm, found),
            Of::EachBattery => every(Kind::Battery, found),
            Of::EachTank => every(Kind::Tank, found),
            Of::Heater => self.heaters_asked(from).for_each(|number| found(Ok(Subject::heater(number)))),
            Of::Sheet => self.heaters_asked(from).for_each(|number| match self.sheet_of(number) {
                Some(sheet) => found(Ok(sheet)),
                None => found(Err(self.link(Need::Datasheet, Subject::heater(number)))),
            }),
            Of::Heated => self.heaters_asked(from).for_each(|number| {
                let Some(heater) = job.heaters.get(number) else { return };
                heater.heats.iter().for_each(|space| found(Ok(Subject { kind: Kind::Space, number: space.value })));
            }),
            Of::Roommates => self.heaters_asked(from).for_each(|number| {
                let Some(heater) = job.heaters.get(number) else { return };
                let heat = heater.heats.iter().flat_map(|space| tied(&self.ties.spaces, space.value));
                heat.for_each(|heater| found(Ok(Subject::heater(*heater))));
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
            found(Ok(from));
            return self.trunks(from, &mut |trunk| found(Ok(trunk)));
        }
        for heater in self.heaters_asked(from) {
            let mut any = false;
            for number in tied(&self.ties.runs, heater).iter().copied() {
                if self.job.runs.get(number).is_some_and(|run| run.kind == kind) {
                    any = true;
                    found(Ok(Subject { kind, number }));
                }
            }
            // Where it has such a route, one without a heater may be its own as well.
            if let Some(fact) = Need::block_of(kind)
                && (!any || self.ties.stray.contains_key(&kind))
                && let Some(at) = self.header(Subject::heater(heater))
            {
                found(Err(Lack { fact, at, gap: self.gap_of(kind, at) }));
            }
        }
    }

    /// In what way a block lacks another of this kind: where one has no heater, or where a paragraph was not understood,
    /// that may be it, and a finding tells of it.
    fn gap_of(&self, kind: Kind, at: Place) -> Gap {
        match self.ties.stray.get(&kind) {
            Some(stray) => Gap::NotRead(*stray),
            None if self.job.hidden.has(kind) => Gap::NotRead(at),
            None => Gap::Silent,
        }
    }

    /// The routes that a branch of warm air hangs on, from its own tee back to the heater.
    fn trunks(&self, from: Subject, found: &mut dyn FnMut(Subject)) {
        let mut at = from.number;
        for _ in 0..LONGEST_CHAIN {
            let Some(Start::Tee(trunk, _)) = self.job.runs.get(at).map(|run| &run.start) else { return };
            at = *trunk;
            found(Subject { kind: from.kind, number: at });
        }
    }

    /// The supply cables of a block's heaters: those from a battery; where none is, the one that may be it.
    fn each_supply(&self, from: Subject, found: &mut dyn FnMut(Result<Subject, Lack>)) {
        if from.kind == Kind::Cable {
            return found(Ok(from));
        }
        for heater in self.heaters_asked(from) {
            let cables = || {
                let runs = tied(&self.ties.runs, heater).iter();
                runs.filter_map(|number| Some((*number, self.job.runs.get(*number)?)))
                    .filter(|(_, run)| run.kind == Kind::Cable)
            };
            let feeds = |run: &Run| matches!(run.start, Start::Battery(_));
            let mut any = false;
            for (number, _) in cables().filter(|(_, run)| feeds(run)) {
                any = true;
                found(Ok(Subject { kind: Kind::Cable, number }));
            }
            if any {
                continue;
            }
            let branch = |run: &Run| run.said.carries.place().is_some() || run.said.harness.place().is_some();
            let may_be = cables().find(|(_, run)| !branch(run));
            match (may_be.or_else(|| cables().next()), self.header(Subject::heater(heater))) {
                (Some((number, _)), _) => {
                    found(Err(self.link(Need::CableFrom, Subject { kind: Kind::Cable, number })));
                }
                (None, Some(at)) => {
                    found(Err(Lack { fact: Need::Supply, at, gap: self.gap_of(Kind::Cable, at) }));
                }
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
        let at = self.top();
        Lack { fact, at, gap: self.gap_of(fact.row().of.kind(), at) }
    }

    /// The lack of a fact in the block that is to say it; `None` where it is said, or not owed there.
    pub fn lack(&self, fact: Need, at: Subject) -> Option<Lack> {
        let fact = fact.as_told();
        let known = self.known.borrow().get(fact as usize).and_then(|of_fact| of_fact.get(at.number).copied());
        match known {
            Some(Known::Said) => return None,
            Some(Known::Lacks(gap)) => return Some(Lack { fact, at: self.header(at)?, gap }),
            Some(Known::NotAsked) | None => {}
        }
        let header = self.header(at)?;
        let owed = || fact.row().owed.is_none_or(|owed| owed(self, at));
        // What somebody began to say has to be said whole, even where nobody would have asked.
        let hole = || fact.row().hole.and_then(|hole| hole(self, at));
        let gap = self.look(fact, header).err().or_else(hole).filter(|gap| *gap != Gap::Silent || owed());
        if let Some(of_fact) = self.known.borrow_mut().get_mut(fact as usize) {
            if of_fact.len() <= at.number {
                of_fact.resize(at.number + 1, Known::NotAsked);
            }
            if let Some(known) = of_fact.get_mut(at.number) {
                *known = gap.map_or(Known::Said, Known::Lacks);
            }
        }
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
        let found = self.job.reading(header.file);
        let found = found.and_then(|reading| Some((reading, reading.at(header.span.start).0?)));
        let Some((reading, block)) = found else {
            return if row.stands == Stands::IfSaid { Ok(header) } else { Err(gap) };
        };
        let (mut walked, mut behind) = (None, None);
        let kind = block.kind;
        for statement in reading.statements(block) {
            let place = Place { file: header.file, span: statement.span };
            if !statement.whole {
                // A line that was not understood may say anything: a finding tells of it.
                gap = gap.max(Gap::NotRead(place));
            }
            match statement.word {
                Some(word) if row.words.contains(&word.word) => {
                    match self.weigh(fact, statement, place, reading.args(statement)) {
                        Ok(()) if row.stands == Stands::First && said.is_none() && walked.is_some() => {
                            gap = gap.max(Gap::Misplaced(walked.unwrap_or(place)));
                        }
                        Ok(()) => {
                            said = said.or(Some(place));
                            behind = None;
                        }
                        Err(found) => gap = gap.max(found),
                    }
                }
                Some(word) if is_way(word.word) && kind.is_some_and(Kind::is_run) => {
                    let unknown = reading.args(statement).iter().any(|arg| arg.value == Value::Unknown);
                    if unknown {
                        // Where part of the way is unknown, so is what rests on the whole of it.
                        let of_the_way = row.words.contains(&"run");
                        gap = gap.max(if of_the_way { Gap::Unknown(place) } else { Gap::NotRead(place) });
                    }
                    if word.word == "run" || DIRECTIONS.contains(&word.word) {
                        walked = walked.or(Some(place));
                        behind = behind.or(Some(place));
                    }
                }
                _ => {}
            }
        }
        match row.stands {
            Stands::IfSaid if gap == Gap::Silent => return Ok(said.unwrap_or(header)),
            Stands::Last if gap == Gap::Silent && said.is_some() => {
                gap = behind.map_or(gap, Gap::Misplaced);
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
        // A part that is not there stays so, whatever is filled in beside it.
        let lacks_part = row.part.is_some_and(|part| statement.whole && !(part.holds)(args));
        for arg in args {
            match arg.value {
                Value::Unknown => return Err(Gap::Unknown(place)),
                Value::Blank if !lacks_part => return Err(Gap::Blank(place)),
                Value::Asked(_) => return Err(Gap::Asked(place)),
                // A name that leads nowhere: a finding tells of it.
                Value::Name if self.lost.contains(&(place.file, arg.span.start)) => return Err(Gap::NotRead(place)),
                _ => {}
            }
        }
        if !statement.whole || self.lost.contains(&(place.file, place.span.start)) {
            return Err(Gap::NotRead(place));
        }
        if lacks_part { Err(Gap::Part(place)) } else { Ok(()) }
    }
}

/// What is tied to a block, by its number.
fn tied(lists: &[Vec<usize>], number: usize) -> &[usize] {
    lists.get(number).map_or(&[], Vec::as_slice)
}

/// Whether a line has an argument for a role.
pub(super) fn has(args: &[Arg], role: Role) -> bool {
    args.iter().any(|arg| arg.role == role)
}

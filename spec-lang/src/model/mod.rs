//! From readings to a typed job: names found, sheets joined, routes walked. Places are kept, holes are kept as holes;
//! nothing is computed beyond geometry, and nothing is judged.

mod compose;
mod fact;
mod kits;
mod layers;
mod names;
mod practice;
mod resolve;
mod run;
mod said;
mod sheets;
mod walk;
mod whose;

pub use compose::{Answered, At, Changed, Fitted, Link};
pub use fact::{Fact, Interval, Stated, unit_or};
pub use kits::{Asked, Opened, Sort};
pub(crate) use kits::{Kit, kinds_of, kits_in};
pub use layers::{LayerFault, LayerFaultKind};
pub use names::{Defined, NameFault, NameFaultKind, NameUse};
pub use practice::{HouseLimit, Level, Practice, Required};
pub use resolve::KitsAlone;
pub use run::{
    Conductor, Datum, Draws, End, Fuse, Grille, Joint, Landmark, Met, Outlet, Particulars, Passage, Run, Start, Step,
    Taped, Tube,
};
pub use sheets::{CableSheet, FuseSheet, HeaterSheet, Port, Stage, Stock, TubeSheet, WayLimit};
pub use walk::{Axes, Miss, Spot, Stretch, Walk};
pub use whose::Whose;

use crate::physics::geometry::AlignedBox;
use crate::reading::{Date, Reading};
use crate::source::{FileId, Followed, Place};
use crate::text::{Edit, Span};
use crate::units::{Quantity, Unit};
use crate::vocabulary::{Direction, Kind, KindSet};
use std::sync::Arc;

/// What the job must bear.
#[derive(Clone, Debug, Default)]
pub struct Conditions {
    /// The coldest it must work at.
    pub design_cold: Stated<Quantity>,
    /// The warmest air it must survive.
    pub design_hot: Stated<Quantity>,
    /// A mild night.
    pub mild_night: Stated<Quantity>,
    /// Height above the sea.
    pub altitude: Stated<Quantity>,
    /// How long it runs at a stretch.
    pub runs_for: Stated<Quantity>,
    /// How deep snow, water or mud may lie.
    pub snow_depth: Stated<Quantity>,
    /// When it runs: `parked`, `driving`, `working`.
    pub used_while: Vec<Fact<&'static str>>,
}

/// The vehicle.
#[derive(Clone, Debug, Default)]
pub struct Vehicle {
    /// What it is.
    pub kind: Stated<&'static str>,
    /// Its electrical system.
    pub supply: Stated<Quantity>,
    /// Bodies of rules it falls under.
    pub rules: Vec<&'static str>,
    /// Where the axes meet, in the author's words.
    pub origin: Stated<String>,
    /// What heights count from: `ground` or `floor`.
    pub up_from: Stated<&'static str>,
    /// How high its floor is, as written: see [`Vehicle::floor_level`] for where that is.
    pub floor_height: Stated<Quantity>,
    /// Its designation for dangerous goods.
    pub goods: Stated<&'static str>,
    /// How many seats it has.
    pub seats: Stated<u32>,
    /// What was looked for around the heater and its pipes and written down in full: `openings`, `brake-lines`, ….
    pub looked_for: Vec<Fact<&'static str>>,
    /// A boat's waterline.
    pub waterline: Stated<Quantity>,
    /// Its outline.
    pub outline: Option<AlignedBox>,
    /// A body with axes of its own.
    pub second_body: Stated<String>,
    /// That body's outline, in its own axes.
    pub second_outline: Option<AlignedBox>,
}

impl Vehicle {
    /// The designation for the dangerous goods that it carries; `None` where it carries none, or where that is not said.
    pub fn carries(&self) -> Option<&'static str> {
        self.goods.get().copied().filter(|goods| *goods != "none")
    }

    /// The floor's height in the vehicle's axes. Where heights count from the floor that is nought, and `floor-height`
    /// says how high the floor lies above the ground.
    pub fn floor_level(&self) -> Option<Fact<Quantity>> {
        match self.up_from {
            Stated::Is(fact) if fact.value == "floor" => {
                let unit = unit_or(self.floor_height.get().map(|height| height.unit), "mm");
                Some(Fact { value: Quantity::exact(0.0, unit), written: fact.written, used: fact.used })
            }
            Stated::Is(_) | Stated::Silent => self.floor_height.fact().copied(),
            Stated::Unknown(_) | Stated::Blank(_) => None,
        }
    }

    /// The ground's height in the vehicle's axes, m. Where nothing is said of it, heights count from the ground: so does
    /// the origin that the language takes by itself, and of what a fitter may count from, nothing lies lower.
    pub fn ground_level(&self) -> Option<Interval> {
        match self.up_from {
            Stated::Is(fact) if fact.value == "floor" => {
                self.floor_height.get().map(|height| Interval::from(*height).negative())
            }
            Stated::Is(_) | Stated::Silent => Some(Interval::default()),
            Stated::Unknown(_) | Stated::Blank(_) => None,
        }
    }
}

/// A layer of a surface: its material, and its thickness.
pub type Layer = (String, Quantity);

/// A surface of a space.
#[derive(Clone, Debug)]
pub struct Surface {
    /// The author's word: `walls`, `roof`, ….
    pub label: String,
    /// What part of the skin it is: a word of the vocabulary, by `as` or by its label; `None` where neither is one.
    pub part: Option<&'static str>,
    /// Its area.
    pub area: Fact<Quantity>,
    /// Its layers from inside out.
    pub layers: Vec<Layer>,
    /// The statement.
    pub place: Place,
}

/// The ribs of a surface.
#[derive(Clone, Debug)]
pub struct Ribs {
    /// The surface's label.
    pub of: String,
    /// Their share of its area.
    pub share: Quantity,
    /// Their layers from inside out.
    pub layers: Vec<Layer>,
    /// The statement.
    pub place: Place,
}

/// A space.
#[derive(Clone, Debug)]
pub struct Space {
    /// Its name.
    pub name: String,
    /// Its header.
    pub header: Place,
    /// What people do there.
    pub usage: Stated<&'static str>,
    /// The temperature wanted.
    pub wanted: Stated<Quantity>,
    /// Its volume.
    pub volume: Stated<Quantity>,
    /// Its surfaces.
    pub surfaces: Vec<Surface>,
    /// Ribs of its surfaces.
    pub ribs: Vec<Ribs>,
    /// How often a second its air is changed by leaks.
    pub air_changes: Stated<Quantity>,
    /// Whether the air changes count air `inside` or `outside`.
    pub changes_counted: Stated<&'static str>,
    /// How many people are in it.
    pub people: Stated<u32>,
    /// The weight of what stands in it.
    pub contents: Stated<Quantity>,
    /// How warm it is when the heater is started.
    pub starts_at: Stated<Quantity>,
    /// Where sleepers' heads lie.
    pub heads: Vec<(Spot, Place)>,
    /// Spaces whose air it shares, by number.
    pub joined_to: Vec<usize>,
    /// Where it is, where stated.
    pub outline: Option<AlignedBox>,
    /// The second body it is part of, where it is.
    pub body: Option<String>,
}

impl Space {
    /// Whether people sleep in it: it says so, or where their heads lie.
    pub fn is_slept_in(&self) -> bool {
        self.usage.get() == Some(&"sleeping") || !self.heads.is_empty()
    }
}

/// A battery.
#[derive(Clone, Debug)]
pub struct Battery {
    /// Its name.
    pub name: String,
    /// Its header.
    pub header: Place,
    /// How many blocks.
    pub blocks: Stated<u32>,
    /// Voltage of one block.
    pub block_voltage: Stated<Quantity>,
    /// Capacity of one block.
    pub block_capacity: Stated<Quantity>,
    /// `parallel` or `series`.
    pub arrangement: Stated<&'static str>,
    /// `AGM`, `LiFePO4`, ….
    pub kind: Stated<&'static str>,
    /// State of charge.
    pub charge: Stated<Quantity>,
    /// Its own temperature on the coldest morning.
    pub temperature: Stated<Quantity>,
    /// Internal resistance of the whole at 25 °C.
    pub internal_resistance: Stated<Quantity>,
    /// `engine` or `nothing`.
    pub cranks: Stated<&'static str>,
    /// Currents that it gives to other things all the time.
    pub other_loads: Vec<Fact<Quantity>>,
    /// The share of its charge that must be left.
    pub keep: Stated<Quantity>,
    /// What charges it, and with which current.
    pub charged_by: Vec<(Fact<&'static str>, Option<Quantity>)>,
    /// How its charge is known: `count` or `voltage`.
    pub read_by: Stated<&'static str>,
    /// Whether it is warmed before it is charged in frost.
    pub warmed: bool,
    /// The voltage at which its management takes the load off.
    pub cuts_below: Stated<Quantity>,
    /// Where it is.
    pub spot: Option<Spot>,
    /// Where it reaches, with the doubt; a point where it states no `spans`.
    pub area: Option<(AlignedBox, f64)>,
    /// The second body it is fixed to, where it is.
    pub body: Option<String>,
}

/// A tank.
#[derive(Clone, Debug)]
pub struct Tank {
    /// Its name.
    pub name: String,
    /// Its header.
    pub header: Place,
    /// `diesel` or `petrol`.
    pub fuel: Stated<&'static str>,
    /// Its grade: a word of the vocabulary. Where its line is not understood, nobody knows it.
    pub grade: Stated<&'static str>,
    /// The class of cold of a blend.
    pub cold_class: Stated<&'static str>,
    /// The cloud point that the fuel's papers state.
    pub cloud_point: Stated<Quantity>,
    /// How much it holds.
    pub holds: Stated<Quantity>,
    /// What stays below the pickup.
    pub reserve: Stated<Quantity>,
    /// Whether it feeds the `engine` or only the `heater`.
    pub feeds: Stated<&'static str>,
    /// Its inside height.
    pub depth: Stated<Quantity>,
    /// Height of the end of the heater's standpipe above its floor.
    pub standpipe_end: Stated<Quantity>,
    /// Height of the end of the engine's pickup above its floor.
    pub engine_pickup: Stated<Quantity>,
    /// Where its filler is and what closes it.
    pub filler: Vec<Fact<&'static str>>,
    /// Notices at its filler.
    pub notices: Vec<Fact<&'static str>>,
    /// Where it is.
    pub spot: Option<Spot>,
    /// Where it reaches, with the doubt; a point where it states no `spans`.
    pub area: Option<(AlignedBox, f64)>,
    /// The second body it is fixed to, where it is.
    pub body: Option<String>,
}

/// What a heater's controller senses.
#[derive(Clone, Debug, PartialEq)]
pub enum Sensor {
    /// The air it draws in.
    ReturnAir,
    /// A sensor in a space.
    InSpace(Option<usize>),
}

/// A heater.
#[derive(Clone, Debug)]
pub struct Heater {
    /// Its name.
    pub name: String,
    /// Its header.
    pub header: Place,
    /// Its type data: the number of its sheet.
    pub sheet: Option<usize>,
    /// Where the sheet is named.
    pub sheet_place: Option<Place>,
    /// The space it stands in; `None` inside where it stands outside.
    pub stands_in: Stated<Option<usize>>,
    /// The spaces it heats.
    pub heats: Vec<Fact<usize>>,
    /// The way its warm end faces.
    pub warm_end: Option<Direction>,
    /// What its controller senses, where the job says so.
    pub sensor: Stated<Sensor>,
    /// Where a sensor in the space is.
    pub sensor_at: Option<(Spot, Place)>,
    /// What it is fitted on.
    pub fitted_on: Stated<&'static str>,
    /// What can start it.
    pub starts_by: Vec<Fact<&'static str>>,
    /// How far it leans.
    pub tilt: Stated<Quantity>,
    /// The free space for drawing its glow pin.
    pub glow_pin_room: Stated<Quantity>,
    /// Whether it stands in an envelope sealed against the people's space.
    pub enclosed: Option<Place>,
    /// Notices and signs fitted.
    pub notices: Vec<Fact<&'static str>>,
    /// Its own passages through floor or wall.
    pub passages: Vec<(Passage, Place)>,
    /// The second body it is fixed to, where it is.
    pub body: Option<String>,
    /// Its middle.
    pub spot: Option<Spot>,
}

/// An opening of a space.
#[derive(Clone, Debug)]
pub struct Opening {
    /// Its name.
    pub name: String,
    /// Its header.
    pub header: Place,
    /// Door, window, vent.
    pub kind: Stated<&'static str>,
    /// The space behind it.
    pub into: Option<usize>,
    /// Whether a window can be opened.
    pub opens: Stated<&'static str>,
    /// Where it is.
    pub area: Option<(AlignedBox, f64)>,
    /// The second body it is fixed to, where it is.
    pub body: Option<String>,
}

impl Opening {
    /// Whether air can pass it: all but a window that is stated not to open. A door, a hatch or a ventilator lets air
    /// through, whatever is said of it.
    pub fn can_open(&self) -> bool {
        !(self.kind.get() == Some(&"window") && self.opens.get() == Some(&"no"))
    }
}

/// A thing that takes part in a concession: the block's header where it was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Participant {
    /// Where it is said.
    pub place: Place,
    /// The header of the block it means; `None` where there is none such.
    pub header: Option<Place>,
    /// The kind of which it means every block: `on cable`, in a file that jobs follow.
    pub every: Option<Kind>,
}

/// A concession.
#[derive(Clone, Debug)]
pub struct Concession {
    /// The rule it sets aside, as written.
    pub rule: Stated<String>,
    /// Its header.
    pub header: Place,
    /// What takes part.
    pub on: Vec<Participant>,
    /// The reason.
    pub because: Stated<String>,
    /// Who grants it.
    pub by: Stated<String>,
    /// The last day it holds.
    pub until: Stated<Date>,
}

/// An alarm.
#[derive(Clone, Debug)]
pub struct Alarm {
    /// Its name.
    pub name: String,
    /// Its header.
    pub header: Place,
    /// What it warns of.
    pub warns_of: Stated<&'static str>,
    /// The space it watches.
    pub space: Option<usize>,
    /// What feeds it.
    pub supplied_by: Stated<&'static str>,
    /// What hangs or stands before it.
    pub behind: Stated<String>,
    /// Where it is.
    pub spot: Option<Spot>,
}

/// What became of a `follows` line that gave no file.
#[derive(Clone, Debug, PartialEq)]
pub enum FollowFault {
    /// No such file.
    Missing,
    /// It lies outside the opened workspace.
    Outside,
    /// It cannot be read: the reason.
    Unreadable(String),
    /// It leads back to a file that is being followed.
    Loop,
}

/// A `follows` line that gave no file.
#[derive(Clone, Debug, PartialEq)]
pub struct NotFollowed {
    /// The word that caused it.
    pub place: Place,
    /// The line of the checked file that led there.
    pub via: Place,
    /// What is wrong.
    pub fault: FollowFault,
}

/// A job, resolved.
#[derive(Debug)]
pub struct Job {
    /// The checked file.
    pub file: FileId,
    /// The file and all it follows, each once, itself first.
    pub readings: Vec<(FileId, Arc<Reading>)>,
    /// The header of the job block of the checked file; a file without one is a workshop file.
    pub header: Option<Place>,
    /// Whether it is only a sketch: a question, and no install to build.
    pub sketch: bool,
    /// The job's title.
    pub title: Option<String>,
    /// How its words of direction turn into axes.
    pub axes: Axes,
    /// What it must bear.
    pub conditions: Conditions,
    /// The vehicle, and its header.
    pub vehicle: Option<(Vehicle, Place)>,
    /// Spaces.
    pub spaces: Vec<Space>,
    /// Batteries.
    pub batteries: Vec<Battery>,
    /// Tanks.
    pub tanks: Vec<Tank>,
    /// Heaters.
    pub heaters: Vec<Heater>,
    /// Routes of every kind.
    pub runs: Vec<Run>,
    /// Openings.
    pub openings: Vec<Opening>,
    /// Alarms.
    pub alarms: Vec<Alarm>,
    /// Heater sheets: those of the file itself, and those of followed files that some line names.
    pub heater_sheets: Vec<HeaterSheet>,
    /// Sheets of hoses, pipes, ducts and fuel lines.
    pub tube_sheets: Vec<TubeSheet>,
    /// Cable sheets.
    pub cable_sheets: Vec<CableSheet>,
    /// Fuse sheets.
    pub fuse_sheets: Vec<FuseSheet>,
    /// Stock lists.
    pub stocks: Vec<Stock>,
    /// Concessions.
    pub concessions: Vec<Concession>,
    /// What workshops ask beyond the rules.
    pub practices: Vec<Practice>,
    /// Every name that a block has.
    pub defined: Vec<Defined>,
    /// Every place where a name is used.
    pub names: Vec<NameUse>,
    /// Names that are missing, doubled or of the wrong kind.
    pub name_faults: Vec<NameFault>,
    /// Followed files, each with the line of the checked file that led to it first.
    pub followed: Vec<(FileId, Place)>,
    /// Each `follows` line with what became of it: the same job can be resolved again with another text of its own.
    pub asked: Vec<(Place, Followed)>,
    /// Follows lines that gave no file.
    pub not_followed: Vec<NotFollowed>,
    /// Kinds that a held paragraph or a missing file may hide: what is missing of them is no fault.
    pub hidden: KindSet,
    /// The kits that it fits.
    pub fits: Vec<Fitted>,
    /// The changes that it makes to blocks of kits.
    pub changes: Vec<Changed>,
    /// What is wrong between its layers, or in how kits are made and fitted.
    pub layer_faults: Vec<LayerFault>,
    /// Where kits are fitted or something is usual: the text that the layers make together. Its places are told apart
    /// from those of files by their number, and [`Job::real`] and [`Job::shown`] lead back.
    composed: Option<compose::Composed>,
}

/// A part of a followed file that a job uses.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Used {
    /// What it is, in words: `kit`, `heater data sheet`, `usual for cable`, `stock`, `practice`, `concession`.
    pub what: String,
    /// Its name; for a usual line its word.
    pub name: String,
    /// Where the job uses it.
    pub place: Place,
}

impl Job {
    /// The sheet of a heater.
    pub fn sheet_of(&self, heater: usize) -> Option<&HeaterSheet> {
        self.heaters.get(heater).and_then(|heater| heater.sheet).and_then(|sheet| self.heater_sheets.get(sheet))
    }

    /// The unit to show a length in where no statement nearby has one: `metric`, or its like among inches and feet where the
    /// job's first route is measured in those.
    pub fn length_unit(&self, metric: &'static str) -> &'static Unit {
        let measured = self.runs.iter().find_map(|run| run.walk.unit);
        let customary = measured.is_some_and(|unit| matches!(unit.spelling, "in" | "ft" | "yd"));
        unit_or(
            None,
            match (customary, metric) {
                (true, "mm") => "in",
                (true, _) => "ft",
                (false, _) => metric,
            },
        )
    }

    /// A height of the vehicle's axes as a height above the ground, m; `None` where the job does not say how high its axes lie.
    pub fn above_ground(&self, height: Interval) -> Option<Interval> {
        let ground = self.vehicle.as_ref().map_or(Some(Interval::default()), |(vehicle, _)| vehicle.ground_level());
        ground.map(|ground| height.plus(ground.negative()))
    }

    /// A height in the vehicle's axes, as a height above the waterline, where the job states that.
    pub fn above_water(&self, height: Interval) -> Option<Interval> {
        let (vehicle, _) = self.vehicle.as_ref()?;
        vehicle.waterline.get().map(|level| height.plus(Interval::from(*level).negative()))
    }

    /// The floor's height in the vehicle's axes, where the job states it.
    pub fn floor_level(&self) -> Option<Fact<Quantity>> {
        self.vehicle.as_ref().and_then(|(vehicle, _)| vehicle.floor_level())
    }

    /// Whether the vehicle is a boat, or falls under the rules for boats.
    pub fn of_boat(&self) -> bool {
        self.vehicle
            .as_ref()
            .is_some_and(|(vehicle, _)| vehicle.rules.contains(&"boat") || vehicle.kind.get() == Some(&"boat"))
    }

    /// The runs of a kind that belong to a heater.
    pub fn runs_of(&self, heater: usize, kind: Kind) -> impl Iterator<Item = &Run> {
        self.runs.iter().filter(move |run| run.kind == kind && run.heater == Some(heater))
    }

    /// The run as its header says it.
    pub fn reads(&self, run: &Run) -> String {
        run.reads(run.heater.and_then(|heater| self.heaters.get(heater)).map(|heater| heater.name.as_str()))
    }

    /// Spaces whose air is one with a space's: itself and all joined to it, by number.
    pub fn shared_air(&self, space: usize) -> Vec<usize> {
        let mut reached = vec![space];
        let mut at = 0;
        while let Some(here) = reached.get(at).copied() {
            at += 1;
            for (number, other) in self.spaces.iter().enumerate() {
                let joined = other.joined_to.contains(&here)
                    || self.spaces.get(here).is_some_and(|here| here.joined_to.contains(&number));
                if joined && !reached.contains(&number) {
                    reached.push(number);
                }
            }
        }
        reached
    }

    /// The stock sizes of a kind, smallest first.
    pub fn stock(&self, of: &str) -> Vec<Quantity> {
        let mut sizes: Vec<Quantity> = self
            .stocks
            .iter()
            .filter(|stock| stock.of == of)
            .flat_map(|stock| stock.sizes.iter().map(|size| size.value))
            .collect();
        sizes.sort_by(|one, other| one.nominal.total_cmp(&other.nominal));
        sizes
    }

    /// Whether layers make the job: else every place in it is one of a file.
    pub fn is_composed(&self) -> bool {
        self.composed.is_some()
    }

    /// The place of a file where a place of the job is written. Two places of the job may be written at one: a kit that is
    /// fitted twice is written once.
    pub fn real(&self, place: Place) -> Place {
        match &self.composed {
            Some(composed) if place.file == compose::COMPOSED => composed.real(place.span),
            _ => place,
        }
    }

    /// The place of the job's own file where a reader is to look: where it is written, or, for what another layer lends,
    /// the answer, the header of the fit, or the header of the block that it is usual for.
    pub fn shown(&self, place: Place) -> Place {
        match &self.composed {
            Some(composed) if place.file == compose::COMPOSED => composed.used(place.span),
            _ => place,
        }
    }

    /// The header of a block as the layers make it, by its header in the checked file.
    pub(crate) fn built(&self, header: Place) -> Place {
        self.composed.as_ref().and_then(|composed| composed.built(header)).unwrap_or(header)
    }

    /// The line of another layer that a place of the job was taken from.
    pub fn lent(&self, place: Place) -> Option<Link> {
        self.composed.as_ref().filter(|_| place.file == compose::COMPOSED)?.lent(place.span)
    }

    /// An edit of the job as one of a file; `None` where it would write into another layer.
    pub(crate) fn edit(&self, file: FileId, edit: &Edit) -> Option<(FileId, Edit)> {
        match &self.composed {
            Some(composed) if file == compose::COMPOSED => composed.edit(edit),
            _ => Some((file, edit.clone())),
        }
    }

    /// Whether a place is one of the checked file, or of what the layers make of it.
    pub fn own(&self, place: Place) -> bool {
        place.file == self.file || place.file == compose::COMPOSED
    }

    /// The reading that a place lies in.
    pub fn reading(&self, file: FileId) -> Option<&Arc<Reading>> {
        match &self.composed {
            Some(composed) if file == compose::COMPOSED => Some(&composed.reading),
            _ => self.readings.iter().find(|(known, _)| *known == file).map(|(_, reading)| reading),
        }
    }

    /// The readings whose blocks make up the job: the checked file as its layers make it, and those it follows.
    pub fn built_from(&self) -> impl Iterator<Item = (FileId, &Arc<Reading>)> {
        let own = match &self.composed {
            Some(composed) => Some((compose::COMPOSED, &composed.reading)),
            None => self.readings.first().map(|(file, reading)| (*file, reading)),
        };
        own.into_iter().chain(self.readings.iter().skip(1).map(|(file, reading)| (*file, reading)))
    }

    /// For a place of the job's file, the layers of what stands there, the one that counts first; empty where only the
    /// job says it.
    pub fn chain(&self, place: Place) -> Vec<Link> {
        self.composed.as_ref().map_or(Vec::new(), |composed| composed.chain(place))
    }

    /// The layer that lends a line to the job, by where the line is written.
    pub fn lender(&self, written: Place) -> Option<Link> {
        self.composed.as_ref().and_then(|composed| composed.lender(written))
    }

    /// What a block of the job, by its header, has from what is usual.
    pub fn usual_at(&self, header: Place) -> Vec<Link> {
        self.composed.as_ref().map_or(Vec::new(), |composed| composed.usual_at(header))
    }

    /// The parts of a followed file that the job uses: kits that it fits, data sheets, what is usual, stock; and what
    /// holds for it from there: practices and concessions.
    pub fn uses(&self, file: FileId) -> Vec<Used> {
        let mut used = Vec::new();
        for fit in self.fits.iter().filter(|fit| fit.kit_header.file == file) {
            used.push(Used { what: "kit".to_string(), name: fit.kit.clone(), place: fit.header });
        }
        for name in &self.names {
            let target = name.target.and_then(|target| self.defined.get(target));
            if let Some(sheet) = target.filter(|target| target.kind.is_sheet() && target.header.file == file) {
                let what = crate::vocabulary::words_of(sheet.kind).reads();
                used.push(Used { what, name: sheet.name.clone(), place: self.shown(name.place) });
            }
        }
        if let Some(composed) = &self.composed {
            for (lender, line, place) in composed.taken().filter(|(_, line, _)| line.file == file) {
                if let compose::Lender::Usual(kind, _) = lender {
                    let word = self.text(line).split_whitespace().next().unwrap_or("").to_string();
                    let what = format!("usual for {}", crate::vocabulary::words_of(*kind).reads());
                    used.push(Used { what, name: word, place });
                }
            }
        }
        let top = self.header.map_or(Place { file: self.file, span: Span::default() }, |header| self.shown(header));
        for stock in self.stocks.iter().filter(|stock| stock.sizes.iter().any(|size| size.written.file == file)) {
            used.push(Used { what: "stock".to_string(), name: stock.of.clone(), place: top });
        }
        for practice in self.practices.iter().filter(|practice| practice.header.file == file) {
            used.push(Used { what: "practice".to_string(), name: practice.title.clone(), place: top });
        }
        for concession in self.concessions.iter().filter(|concession| concession.header.file == file) {
            let name = concession.rule.get().cloned().unwrap_or_default();
            used.push(Used { what: "concession".to_string(), name, place: top });
        }
        used.sort();
        used.dedup();
        used
    }

    /// The line of the checked file that leads to a followed file.
    pub fn leads_to(&self, file: FileId) -> Option<Place> {
        self.followed.iter().find(|(known, _)| *known == file).map(|(_, line)| *line)
    }

    /// Every name of a rule in the text, with its place: of concessions and of practices.
    pub fn rules_named(&self) -> impl Iterator<Item = &Fact<String>> {
        let conceded = self.concessions.iter().filter_map(|concession| concession.rule.fact());
        let levels = self.practices.iter().flat_map(|practice| &practice.levels).map(|level| &level.rule);
        let limits = self.practices.iter().flat_map(|practice| &practice.limits).map(|limit| &limit.rule);
        conceded.chain(levels).chain(limits)
    }

    /// The text of a place with its white space squeezed, as a header is read.
    pub fn reads_at(&self, place: Place) -> String {
        self.text(place).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The text of a place.
    pub fn text(&self, place: Place) -> &str {
        self.reading(place.file).map_or("", |reading| reading.slice(place.span))
    }
}

#[cfg(test)]
mod tests {
    use crate::bench::judge_example;

    /// Lists of what was looked for add up, line by line, and each word keeps its place.
    #[test]
    fn what_was_looked_for_adds_up() {
        let analysis = judge_example(
            "vehicle bench-van\n  type van\n  supply 12 V\n  looked-for openings, brake-lines\n  looked-for tyres",
        );
        let (vehicle, _) = analysis.job.vehicle.as_ref().expect("a vehicle");
        let said: Vec<(&str, &str)> =
            vehicle.looked_for.iter().map(|fact| (fact.value, analysis.job.text(fact.written))).collect();
        assert_eq!(said, [("openings", "openings"), ("brake-lines", "brake-lines"), ("tyres", "tyres")]);
    }
}

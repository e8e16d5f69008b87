//! Builds the job: gathers followed files, gives blocks their names, looks uses up, joins sheets, walks the runs.

use super::compose::{At, COMPOSED, Composition, What, compose};
use super::fact::{Fact, Interval, Stated};
use super::kits::{Asked, Kit, kits_in};
use super::layers::{LayerFault, LayerFaultKind, Order, faults_of_file, faults_of_kits, spaced};
use super::names::{Defined, Index, NameFault, NameFaultKind, NameUse};
use super::run::{
    Conductor, Datum, Draws, End, Fuse, Grille, Joint, Landmark, Met, Outlet, Particulars, Passage, Run, Start, Step,
    Taped, Tube,
};
use super::said::{Line, Said};
use super::sheets::{CableSheet, FuseSheet, HeaterSheet, Stock, TubeSheet};
use super::walk::{Axes, Spot, Walk, walk};
use super::{
    Alarm, Battery, Concession, Conditions, FollowFault, Heater, Job, Layer, NotFollowed, Opening, Participant, Ribs,
    Sensor, Space, Surface, Tank, Vehicle,
};
use crate::physics::geometry::{AlignedBox, Vector};
use crate::reading::{Date, Reading, Value};
use crate::source::{FileId, Followed, Place, Source};
use crate::text::Span;
use crate::units::Quantity;
use crate::vocabulary::{Direction, Kind, KindSet, Role, SURFACES, kind_of_header};
use std::collections::HashSet;
use std::sync::Arc;

/// Half of a small heater's body, taken where no sheet or job states its size: common practice, no source.
const HALF_BODY: f64 = 0.2;
/// How deep a chain of followed files may be.
const DEEPEST: usize = 64;

impl Job {
    /// Resolves a file with all it follows.
    pub fn resolve(file: FileId, reading: Arc<Reading>, source: &dyn Source) -> Job {
        Gathered::all(file, &reading, source).job(file, What::Job)
    }
}

/// The kits of a file, each to be looked at alone, as a job of its own.
pub struct KitsAlone {
    file: FileId,
    gathered: Gathered,
    asks: Vec<Vec<Asked>>,
}

impl KitsAlone {
    /// The kits of a file that is no job; `None` where it has none.
    pub fn of(file: FileId, reading: &Arc<Reading>, source: &dyn Source) -> Option<KitsAlone> {
        let is = |kind: Kind| reading.blocks.iter().any(|block| block.kind == Some(kind));
        if !is(Kind::Kit) || is(Kind::Job) || is(Kind::Sketch) {
            return None;
        }
        let asks = kits_in(file, reading).iter().map(|kit| kit.asks()).collect();
        Some(KitsAlone { file, gathered: Gathered::all(file, reading, source), asks })
    }

    /// What each kit asks for.
    pub fn asks(&self) -> &[Vec<Asked>] {
        &self.asks
    }

    /// A kit as a job, with what it asks for at these values.
    pub fn job(&self, kit: usize, at: At) -> Job {
        self.gathered.clone().job(self.file, What::Kit(kit, at))
    }
}

#[derive(Clone, Default)]
struct Gathered {
    order: Order,
    readings: Vec<(FileId, Arc<Reading>)>,
    asked: Vec<(Place, Followed)>,
    followed: Vec<(FileId, Place)>,
    not_followed: Vec<NotFollowed>,
}

impl Gathered {
    fn all(file: FileId, reading: &Arc<Reading>, source: &dyn Source) -> Gathered {
        let mut gathered = Gathered { readings: vec![(file, Arc::clone(reading))], ..Gathered::default() };
        gathered.follow_all(file, reading, source, &mut vec![file], None);
        gathered.order.sort(&mut gathered.readings);
        gathered
    }

    fn job(self, file: FileId, what: What) -> Job {
        let order = self.order.clone();
        let mut builder = Builder::new(file, self, order);
        let composition = compose(file, &builder.job.readings, &builder.order, what);
        let mut shared: Vec<(FileId, Arc<Reading>)> = builder.job.readings.clone();
        let written = shared.clone();
        builder.read_layers(&written, composition, &mut shared);
        builder.define(&shared);
        builder.use_layers(&written);
        builder.read_things(&shared);
        builder.read_runs(&shared);
        builder.walk_runs();
        builder.read_concessions(&shared);
        builder.job.practices = super::practice::read_practices(&shared);
        builder.finish()
    }

    fn follow_all(
        &mut self,
        file: FileId,
        reading: &Reading,
        source: &dyn Source,
        chain: &mut Vec<FileId>,
        via: Option<Place>,
    ) {
        for span in &reading.follows {
            let place = Place { file, span: *span };
            let via = via.unwrap_or(place);
            let written = reading.plain_text(*span);
            let found = source.follow(file, written);
            self.asked.push((place, found.clone()));
            let fault = match found {
                Followed::File(next, _) if chain.contains(&next) => FollowFault::Loop,
                Followed::File(_, _) if chain.len() >= DEEPEST => {
                    FollowFault::Unreadable(format!("the chain of followed files is longer than {DEEPEST}"))
                }
                Followed::File(next, followed) => {
                    self.order.follows(file, next);
                    if !self.readings.iter().any(|(known, _)| *known == next) {
                        self.readings.push((next, Arc::clone(&followed)));
                        self.followed.push((next, via));
                        chain.push(next);
                        self.follow_all(next, &followed, source, chain, Some(via));
                        chain.pop();
                    }
                    continue;
                }
                Followed::Missing => FollowFault::Missing,
                Followed::Outside => FollowFault::Outside,
                Followed::Unreadable(reason) => FollowFault::Unreadable(reason),
            };
            self.not_followed.push(NotFollowed { place, via, fault });
        }
    }
}

struct Builder {
    job: Job,
    order: Order,
    index: Index,
    axes: Axes,
    /// The block of each run, in the order of the runs: its file, and its number there.
    run_blocks: Vec<(FileId, usize)>,
    /// Of each heater's data sheet, in the order of their names, its number among those that are read.
    sheets_read: Vec<Option<usize>>,
}

/// The data sheets that some line of some file names; `None` where a sheet is left open, so that any may be meant. A
/// workshop file has many that a job has nothing to do with.
fn sheets_named(readings: &[(FileId, Arc<Reading>)]) -> Option<HashSet<&str>> {
    let mut named = HashSet::new();
    for (_, reading) in readings {
        let args = reading.all_statements().iter().flat_map(|statement| reading.args(statement));
        for arg in args.filter(|arg| arg.role == Role::Sheet) {
            if arg.value == Value::Blank {
                return None;
            }
            named.insert(reading.slice(arg.span));
        }
    }
    Some(named)
}

/// Blocks of every file: the file, its reading, and each block's number.
fn each_block(readings: &[(FileId, Arc<Reading>)]) -> impl Iterator<Item = (Said<'_>, usize)> {
    readings.iter().flat_map(|(file, reading)| {
        let blocks = reading.blocks.iter().enumerate();
        let blocks = blocks.filter(|(_, block)| !block.in_kit && !block.kind.is_some_and(Kind::is_layering));
        blocks.map(move |(number, block)| (Said { file: *file, reading, block }, number))
    })
}

impl Builder {
    fn new(file: FileId, gathered: Gathered, order: Order) -> Builder {
        let Gathered { readings, asked, followed, not_followed, .. } = gathered;
        let mut hidden = readings.iter().fold(KindSet::NONE, |held, (_, reading)| held.and(reading.held));
        if !not_followed.iter().all(|fault| fault.fault == FollowFault::Loop) {
            // A file that could not be read may hold any of the things a workshop file is for.
            let shared = Kind::all()
                .filter(|kind| kind.is_sheet())
                .fold(KindSet::NONE, |set, kind| set.and(KindSet::of(&[kind])));
            hidden = hidden.and(shared).and(KindSet::of(&[Kind::Kit]));
        }
        if hidden.has(Kind::Fit) || hidden.has(Kind::Change) {
            // A fit that cannot be read brings blocks of any kind.
            hidden = KindSet::ALL;
        }
        let job = Job {
            file,
            readings,
            header: None,
            sketch: false,
            title: None,
            axes: Axes::default(),
            conditions: Conditions::default(),
            vehicle: None,
            spaces: Vec::new(),
            batteries: Vec::new(),
            tanks: Vec::new(),
            heaters: Vec::new(),
            runs: Vec::new(),
            openings: Vec::new(),
            alarms: Vec::new(),
            heater_sheets: Vec::new(),
            tube_sheets: Vec::new(),
            cable_sheets: Vec::new(),
            fuse_sheets: Vec::new(),
            stocks: Vec::new(),
            concessions: Vec::new(),
            practices: Vec::new(),
            defined: Vec::new(),
            names: Vec::new(),
            name_faults: Vec::new(),
            followed,
            asked,
            not_followed,
            hidden,
            fits: Vec::new(),
            changes: Vec::new(),
            layer_faults: Vec::new(),
            composed: None,
        };
        Builder {
            job,
            order,
            index: Index::default(),
            axes: Axes::default(),
            run_blocks: Vec::new(),
            sheets_read: Vec::new(),
        }
    }

    /// Takes in what composing gave: from then on the composed text stands for the checked file.
    fn read_layers(
        &mut self,
        written: &[(FileId, Arc<Reading>)],
        composition: Option<Composition>,
        shared: &mut [(FileId, Arc<Reading>)],
    ) {
        let file = self.job.file;
        if let Some((_, own)) = written.first() {
            self.job.layer_faults.extend(faults_of_file(file, own));
            self.job.layer_faults.extend(faults_of_kits(&kits_in(file, own)));
        }
        let Some(composition) = composition else { return };
        self.job.layer_faults.extend(composition.faults);
        self.job.fits = composition.fits;
        self.job.changes = composition.changes;
        self.job.hidden = self.job.hidden.and(composition.holes);
        if let Some(own) = shared.first_mut() {
            *own = (COMPOSED, Arc::clone(&composition.composed.reading));
        }
        self.job.composed = Some(composition.composed);
    }

    /// Kits are known by their names, and used by those who fit them; so are the heaters whose blocks are changed.
    fn use_layers(&mut self, written: &[(FileId, Arc<Reading>)]) {
        let kits: Vec<Kit<'_>> = written.iter().flat_map(|(file, reading)| kits_in(*file, reading)).collect();
        for (number, kit) in kits.iter().enumerate() {
            let Some(span) = kit.header.name else { continue };
            let defined = Defined {
                kind: Kind::Kit,
                name: kit.name().to_string(),
                of: None,
                name_place: kit.at(span),
                header: kit.at(kit.header.header),
                number,
            };
            let Some(first) = self.index.define(defined) else { continue };
            if kit.file == self.job.file {
                let kind = NameFaultKind::Twice { kind: Kind::Kit, first };
                self.job.name_faults.push(NameFault { kind, place: kit.at(span) });
            } else if first.file != kit.file && first.file != self.job.file && !self.order.over(first.file, kit.file) {
                self.disagree(format!("kit `{}`", kit.name()), first, kit.at(kit.header.header));
            }
        }
        let Some((file, own)) = written.first() else { return };
        for block in own.blocks.iter().filter(|block| !block.in_kit) {
            let said = Said { file: *file, reading: own, block };
            match block.kind {
                // A kit that is not found may bring blocks of any kind and name.
                Some(Kind::Fit) if self.look_up_span(&said, block.of, Kind::Kit).is_none() => {
                    self.job.hidden = KindSet::ALL;
                }
                Some(Kind::Change) => drop(self.look_up_span(&said, block.of, Kind::Heater)),
                _ => {}
            }
        }
    }

    fn disagree(&mut self, what: String, first: Place, second: Place) {
        let (one, other) = (self.job.text(first).to_string(), self.job.text(second).to_string());
        self.job.layer_faults.push(LayerFault {
            kind: LayerFaultKind::Disagree { what, first: spaced(&one), second: spaced(&other) },
            place: second,
            related: vec![(first, "this stands".to_string())],
        });
    }

    /// Whether two blocks of the same header say the same, line for line.
    fn same_lines(&self, first: Place, second: &Said<'_>) -> bool {
        let Some(reading) = self.job.reading(first.file) else { return true };
        let Some(block) = reading.blocks.iter().find(|block| block.header == first.span) else { return true };
        let text = |reading: &Reading, block| -> Vec<String> {
            let mut lines: Vec<String> =
                reading.statements(block).iter().map(|line| spaced(reading.slice(line.span))).collect();
            lines.sort();
            lines
        };
        text(reading, block) == text(second.reading, second.block)
    }

    fn finish(mut self) -> Job {
        self.job.defined = self.index.defined;
        self.job.axes = self.axes;
        self.job
    }

    /// First pass: every block gets its number and its name; the vehicle's axes are settled.
    fn define(&mut self, readings: &[(FileId, Arc<Reading>)]) {
        let mut counts = [0usize; 32];
        let mut runs = 0usize;
        for (said, number) in each_block(readings) {
            let Some(kind) = said.block.kind else { continue };
            let own = said.file == self.job.file || said.file == COMPOSED;
            let header = said.header();
            let name = said.block.name.map(|span| said.reading.plain_text(span).to_string());
            match kind {
                Kind::Job | Kind::Sketch => {
                    if own && self.job.header.is_none() {
                        self.job.header = Some(header);
                        self.job.sketch = kind == Kind::Sketch;
                        self.job.title = name;
                    } else if own {
                        let first = self.job.header.unwrap_or(header);
                        let kind = NameFaultKind::Twice { kind, first };
                        self.job.name_faults.push(NameFault { kind, place: header });
                    }
                    continue;
                }
                Kind::Concession | Kind::Stock | Kind::Table | Kind::Practice => continue,
                _ => {}
            }
            let of = said.block.of.map(|span| said.reading.slice(span).to_string());
            // A run of one heater may go without a name; anything else without one cannot be meant by anybody.
            let place = said.block.name.or(said.block.of).unwrap_or(said.block.header);
            let defined = Defined {
                kind,
                name: name.unwrap_or_default(),
                of,
                name_place: Place { file: said.file, span: place },
                header,
                number: if kind.is_run() { runs } else { counts.get(kind as usize).copied().unwrap_or(0) },
            };
            let nameless = defined.name.is_empty() && defined.of.is_none();
            if !nameless {
                if let Some(first) = self.index.define(defined) {
                    if own {
                        self.job.name_faults.push(NameFault {
                            kind: NameFaultKind::Twice { kind, first },
                            place: Place { file: said.file, span: place },
                        });
                    } else if kind.is_sheet() && self.job.own(first) && !self.same_lines(first, &said) {
                        let kind = NameFaultKind::Shadows { other: header };
                        self.job.name_faults.push(NameFault { kind, place: first });
                    } else if kind.is_sheet() && !self.job.own(first) && !self.same_lines(first, &said) {
                        self.disagree("a data sheet".to_string(), first, header);
                    }
                    continue;
                }
            } else if !kind.is_run() || kind == Kind::WarmAir {
                // Nobody can mean it. Any other run is still walked without a name, so that its own lines are checked.
                continue;
            }
            if kind.is_run() {
                self.run_blocks.push((said.file, number));
                runs += 1;
            } else if let Some(count) = counts.get_mut(kind as usize) {
                *count += 1;
            }
            if kind == Kind::Vehicle {
                let keeps_left = said
                    .lines()
                    .any(|line| line.word() == "traffic" && line.choice(Role::What).get() == Some(&"keeps-left"));
                if self.job.vehicle.is_none() {
                    self.axes = Axes { nearside_is_left: keeps_left };
                    self.job.vehicle = Some((Vehicle::default(), header));
                }
            }
        }
    }

    /// Looks a name up and remembers the use. Gives the number of the block within its kind, with the kind.
    fn look_up(&mut self, kinds: KindSet, name: &str, place: Place) -> Option<(Kind, usize)> {
        let found = self.index.find(kinds, name);
        let target = found.first().copied();
        self.job.names.push(NameUse { place, kinds, target });
        match (target.and_then(|at| self.index.defined.get(at)), found.len()) {
            (Some(defined), 1) => Some((defined.kind, defined.number)),
            (Some(first), _) => {
                // One name of two kinds, such as a space and a heater: not told apart only where the kinds are the same.
                if found
                    .iter()
                    .filter_map(|at| self.index.defined.get(*at))
                    .any(|other| other.kind == first.kind && other.of != first.of)
                {
                    let full = found
                        .iter()
                        .filter_map(|at| self.index.defined.get(*at))
                        .map(|known| format!("{}.{}", known.of.as_deref().unwrap_or(""), known.name))
                        .collect();
                    self.job.name_faults.push(NameFault { kind: NameFaultKind::Ambiguous { full }, place });
                }
                Some((first.kind, first.number))
            }
            (None, _) => {
                if kinds.iter().all(|kind| !self.job.hidden.has(kind)) {
                    let nearest = self.index.nearest(kinds, name);
                    self.job.name_faults.push(NameFault { kind: NameFaultKind::NotFound { kinds, nearest }, place });
                }
                None
            }
        }
    }

    fn look_up_arg(&mut self, line: &Line<'_>, role: Role, kinds: KindSet) -> Option<(Kind, usize)> {
        let arg = line.arg(role).filter(|arg| arg.value == Value::Name)?;
        self.look_up(kinds, line.said.reading.slice(arg.span), line.at(arg.span))
    }

    fn look_up_span(&mut self, said: &Said<'_>, span: Option<Span>, kind: Kind) -> Option<usize> {
        let span = span?;
        self.look_up(KindSet::of(&[kind]), said.reading.slice(span), Place { file: said.file, span })
            .map(|(_, number)| number)
    }

    /// Whether the block is the one its name means (and not a second of that name).
    fn stands(&self, said: &Said<'_>, kind: Kind) -> bool {
        let Some(name) = said.block.name else { return false };
        let mut same = self.index.named(said.reading.slice(name));
        same.any(|(_, known)| known.kind == kind && known.header == said.header())
    }

    /// Second pass: everything but runs and concessions. Sheets come first, since heaters take sizes from them.
    fn read_things(&mut self, readings: &[(FileId, Arc<Reading>)]) {
        let named = sheets_named(readings);
        for (said, _) in each_block(readings) {
            let Some(kind) = said.block.kind.filter(|kind| *kind == Kind::Stock || kind.is_sheet()) else { continue };
            let Some(name) = said.block.name.map(|span| said.reading.slice(span).to_string()) else { continue };
            if kind == Kind::Stock {
                self.job.stocks.push(Stock::read(&said, name));
                continue;
            }
            if !self.stands(&said, kind) {
                continue;
            }
            match kind {
                Kind::HeaterSheet => {
                    let own = said.file == self.job.file || said.file == COMPOSED;
                    let asked_for = own || named.as_ref().is_none_or(|named| named.contains(name.as_str()));
                    self.sheets_read.push(asked_for.then_some(self.job.heater_sheets.len()));
                    if asked_for {
                        self.job.heater_sheets.push(HeaterSheet::read(&said, name));
                    }
                }
                Kind::CableSheet => self.job.cable_sheets.push(CableSheet::read(&said, name)),
                Kind::FuseSheet => self.job.fuse_sheets.push(FuseSheet::read(&said, name)),
                _ => self.job.tube_sheets.push(TubeSheet::read(&said, name, kind)),
            }
        }
        for (said, _) in each_block(readings) {
            let Some(kind) = said.block.kind else { continue };
            if kind.opens_a_job() {
                if Some(said.header()) == self.job.header {
                    self.read_job(said);
                }
                continue;
            }
            if kind.is_sheet() || !self.stands(&said, kind) {
                continue;
            }
            let name = said.block.name.map_or(String::new(), |span| said.reading.slice(span).to_string());
            match kind {
                Kind::Vehicle if self.job.vehicle.as_ref().is_some_and(|(_, header)| *header == said.header()) => {
                    self.read_vehicle(said)
                }
                Kind::Space => self.read_space(said, name),
                Kind::Battery => self.read_battery(said, name),
                Kind::Tank => self.read_tank(said, name),
                Kind::Heater => self.read_heater(said, name),
                Kind::Opening => self.read_opening(said, name),
                Kind::Alarm => self.read_alarm(said, name),
                _ => {}
            }
        }
    }

    fn read_job(&mut self, said: Said<'_>) {
        let conditions = &mut self.job.conditions;
        for line in said.lines() {
            match line.word() {
                "design-cold" => conditions.design_cold = line.quantity(Role::Amount),
                "design-hot" => conditions.design_hot = line.quantity(Role::Amount),
                "mild-night" => conditions.mild_night = line.quantity(Role::Amount),
                "altitude" => conditions.altitude = line.quantity(Role::Amount),
                "runs-for" => conditions.runs_for = line.quantity(Role::Amount),
                "snow-depth" => conditions.snow_depth = line.quantity(Role::Amount),
                "used-while" => conditions.used_while.extend(line.choice(Role::What).fact()),
                _ => {}
            }
        }
    }

    fn read_vehicle(&mut self, said: Said<'_>) {
        let mut vehicle = Vehicle::default();
        for line in said.lines() {
            match line.word() {
                "type" => vehicle.kind = line.choice(Role::What),
                "supply" => vehicle.supply = line.quantity(Role::Amount),
                "rules" => vehicle.rules.extend(line.choice(Role::What).get()),
                "origin" => vehicle.origin = line.words(Role::What),
                "up-from" => vehicle.up_from = line.choice(Role::What),
                "floor-height" => vehicle.floor_height = line.quantity(Role::Amount),
                "goods" => vehicle.goods = line.choice(Role::What),
                "seats" => vehicle.seats = line.count(Role::Count),
                "looked-for" => vehicle.looked_for.extend(line.choices(Role::What)),
                "waterline" => vehicle.waterline = line.quantity(Role::Amount),
                "second-body" => vehicle.second_body = line.words(Role::What),
                _ => {}
            }
        }
        vehicle.outline = self.area(said).map(|(area, _)| area);
        vehicle.second_outline = self.box_of(said, "second-body-at", "second-body-spans").map(|(area, _)| area);
        self.job.vehicle = Some((vehicle, said.header()));
    }

    fn spot(&self, said: Said<'_>) -> Option<Spot> {
        self.spot_by(said, "at")
    }

    fn spot_by(&self, said: Said<'_>, word: &str) -> Option<Spot> {
        let line = said.lines().find(|line| line.word() == word && line.statement.whole)?;
        // Of a place that is unknown, or open, nothing is known: it is not the origin.
        line.known().then(|| self.axes.spot(&line.ways(Role::Distance)))
    }

    /// `at` one corner and `spans`: the box, and how far its doubt reaches. A place without `spans` is a point.
    fn area(&self, said: Said<'_>) -> Option<(AlignedBox, f64)> {
        self.box_of(said, "at", "spans")
    }

    fn box_of(&self, said: Said<'_>, at: &str, spans: &str) -> Option<(AlignedBox, f64)> {
        let corner = self.spot_by(said, at)?;
        let spans = said.lines().find(|line| line.word() == spans && line.statement.whole);
        if spans.is_some_and(|line| !line.known()) {
            return None;
        }
        let (way, doubt) =
            spans.map_or((Vector::default(), Vector::default()), |line| self.axes.way(&line.ways(Role::Distance)));
        Some((AlignedBox::spanning(corner.point, corner.point.moved(way)), corner.reach() + doubt.length().in_metres()))
    }

    fn read_space(&mut self, said: Said<'_>, name: String) {
        let mut space = Space {
            name,
            header: said.header(),
            usage: Stated::Silent,
            wanted: Stated::Silent,
            volume: Stated::Silent,
            surfaces: Vec::new(),
            ribs: Vec::new(),
            air_changes: Stated::Silent,
            changes_counted: Stated::Silent,
            people: Stated::Silent,
            contents: Stated::Silent,
            starts_at: Stated::Silent,
            heads: Vec::new(),
            joined_to: Vec::new(),
            outline: self.area(said).map(|(area, _)| area),
            body: body_of(said),
        };
        for line in said.lines() {
            match line.word() {
                "use" => space.usage = line.choice(Role::What),
                "wanted" => space.wanted = line.quantity(Role::Amount),
                "volume" => space.volume = line.quantity(Role::Amount),
                "surface" if line.statement.whole => {
                    if let (Some(label), Stated::Is(area)) = (line.text(Role::What), line.quantity(Role::Area)) {
                        let by_label = SURFACES.iter().find(|part| **part == label).copied();
                        let part = line.choice(Role::Arrangement).get().copied().or(by_label);
                        let (label, layers, place) = (label.to_string(), layers(&line), line.place());
                        space.surfaces.push(Surface { label, part, area, layers, place });
                    }
                }
                "ribs" if line.statement.whole => {
                    if let (Some(of), Some(share)) = (line.text(Role::What), line.amount(Role::Share)) {
                        let (of, layers, place) = (of.to_string(), layers(&line), line.place());
                        space.ribs.push(Ribs { of, share, layers, place });
                    }
                }
                "air-changes" => {
                    space.air_changes = line.quantity(Role::Amount);
                    space.changes_counted = line.choice(Role::By);
                }
                "people" => space.people = line.count(Role::Count),
                "contents" => space.contents = line.quantity(Role::Amount),
                "starts-at" => space.starts_at = line.quantity(Role::Amount),
                "heads-at" if line.statement.whole => {
                    space.heads.push((self.axes.spot(&line.ways(Role::Distance)), line.place()));
                }
                "joined-to" => {
                    let other = self.look_up_arg(&line, Role::What, KindSet::of(&[Kind::Space]));
                    space.joined_to.extend(other.map(|(_, number)| number));
                }
                _ => {}
            }
        }
        self.job.spaces.push(space);
    }

    fn read_battery(&mut self, said: Said<'_>, name: String) {
        let mut battery = Battery {
            name,
            header: said.header(),
            blocks: Stated::Silent,
            block_voltage: Stated::Silent,
            block_capacity: Stated::Silent,
            arrangement: Stated::Silent,
            kind: Stated::Silent,
            charge: Stated::Silent,
            temperature: Stated::Silent,
            internal_resistance: Stated::Silent,
            cranks: Stated::Silent,
            other_loads: Vec::new(),
            keep: Stated::Silent,
            charged_by: Vec::new(),
            read_by: Stated::Silent,
            warmed: false,
            cuts_below: Stated::Silent,
            spot: self.spot(said),
            area: self.area(said),
            body: body_of(said),
        };
        for line in said.lines() {
            match line.word() {
                "made-of" => {
                    battery.blocks = line.count(Role::Count);
                    battery.block_voltage = line.quantity(Role::Voltage);
                    battery.block_capacity = line.quantity(Role::Charge);
                    battery.arrangement = line.choice(Role::Arrangement);
                }
                "type" => battery.kind = line.choice(Role::What),
                "charge" => battery.charge = line.quantity(Role::Amount),
                "temperature" => battery.temperature = line.quantity(Role::Amount),
                "internal-resistance" => battery.internal_resistance = line.quantity(Role::Amount),
                "cranks" => battery.cranks = line.choice(Role::What),
                "other-load" => battery.other_loads.extend(line.quantity(Role::Amount).fact()),
                "keep" => battery.keep = line.quantity(Role::Amount),
                "charged-by" => {
                    if let Stated::Is(by) = line.choice(Role::What) {
                        battery.charged_by.push((by, line.amount(Role::Current)));
                    }
                }
                "read-by" => battery.read_by = line.choice(Role::What),
                "warmed" => battery.warmed = true,
                "cuts-below" => battery.cuts_below = line.quantity(Role::Amount),
                _ => {}
            }
        }
        self.job.batteries.push(battery);
    }

    fn read_tank(&mut self, said: Said<'_>, name: String) {
        let mut tank = Tank {
            name,
            header: said.header(),
            fuel: Stated::Silent,
            grade: Stated::Silent,
            cold_class: Stated::Silent,
            cloud_point: Stated::Silent,
            holds: Stated::Silent,
            reserve: Stated::Silent,
            feeds: Stated::Silent,
            depth: Stated::Silent,
            standpipe_end: Stated::Silent,
            engine_pickup: Stated::Silent,
            filler: Vec::new(),
            notices: Vec::new(),
            spot: self.spot(said),
            area: self.area(said),
            body: body_of(said),
        };
        for line in said.lines() {
            match line.word() {
                "fuel" => {
                    tank.fuel = line.choice(Role::What);
                    tank.grade = match line.choice(Role::By) {
                        Stated::Silent if !line.statement.whole => Stated::Unknown(line.place()),
                        grade => grade,
                    };
                    tank.cold_class = line.choice(Role::Behaviour);
                    tank.cloud_point = line.quantity(Role::Amount);
                }
                "holds" => tank.holds = line.quantity(Role::Amount),
                "reserve" => tank.reserve = line.quantity(Role::Amount),
                "feeds" => tank.feeds = line.choice(Role::What),
                "depth" => tank.depth = line.quantity(Role::Amount),
                "standpipe-end" => tank.standpipe_end = line.quantity(Role::Amount),
                "engine-pickup" => tank.engine_pickup = line.quantity(Role::Amount),
                "filler" => tank.filler.extend(line.choice(Role::What).fact()),
                "notice" => tank.notices.extend(line.choice(Role::What).fact()),
                _ => {}
            }
        }
        self.job.tanks.push(tank);
    }

    fn read_heater(&mut self, said: Said<'_>, name: String) {
        let spaces = KindSet::of(&[Kind::Space]);
        let mut heater = Heater {
            name,
            header: said.header(),
            sheet: None,
            sheet_place: None,
            stands_in: Stated::Silent,
            heats: Vec::new(),
            warm_end: None,
            sensor: Stated::Silent,
            sensor_at: None,
            fitted_on: Stated::Silent,
            starts_by: Vec::new(),
            tilt: Stated::Silent,
            glow_pin_room: Stated::Silent,
            enclosed: None,
            notices: Vec::new(),
            passages: Vec::new(),
            body: body_of(said),
            spot: self.spot(said),
        };
        for line in said.lines() {
            match line.word() {
                "datasheet" => {
                    heater.sheet = self
                        .look_up_arg(&line, Role::Sheet, KindSet::of(&[Kind::HeaterSheet]))
                        .and_then(|(_, number)| self.sheets_read.get(number).copied().flatten());
                    heater.sheet_place = line.arg(Role::Sheet).map(|arg| line.at(arg.span));
                }
                "in" => {
                    let outside = line.args.is_empty() && line.statement.whole;
                    let space = self.look_up_arg(&line, Role::What, spaces).map(|(_, number)| number);
                    if outside || space.is_some() {
                        heater.stands_in = Stated::Is(Fact::here(space, line.place()));
                    }
                }
                "heats" => {
                    let space = self.look_up_arg(&line, Role::What, spaces);
                    heater.heats.extend(space.map(|(_, number)| Fact::here(number, line.place())));
                }
                "warm-end" => heater.warm_end = line.direction(Role::Facing),
                "sensor-at" if line.statement.whole => {
                    heater.sensor_at = Some((self.axes.spot(&line.ways(Role::Distance)), line.place()));
                }
                "fitted-on" => heater.fitted_on = line.choice(Role::What),
                "starts-by" => heater.starts_by.extend(line.choice(Role::What).fact()),
                "tilt" => heater.tilt = line.quantity(Role::Amount),
                "glow-pin-room" => heater.glow_pin_room = line.quantity(Role::Amount),
                "enclosed" => heater.enclosed = Some(line.place()),
                "notice" => heater.notices.extend(line.choice(Role::What).fact()),
                "passage" => heater.passages.push((passage(&line), line.place())),
                "sensor" if line.statement.whole => {
                    let sensor = match line.arg(Role::Owner) {
                        Some(_) => {
                            Sensor::InSpace(self.look_up_arg(&line, Role::Owner, spaces).map(|(_, number)| number))
                        }
                        None => Sensor::ReturnAir,
                    };
                    heater.sensor = Stated::Is(Fact::here(sensor, line.place()));
                }
                _ => {}
            }
        }
        self.job.heaters.push(heater);
    }

    fn read_opening(&mut self, said: Said<'_>, name: String) {
        let mut opening = Opening {
            name,
            header: said.header(),
            kind: Stated::Silent,
            into: None,
            opens: Stated::Silent,
            area: self.area(said),
            body: body_of(said),
        };
        for line in said.lines() {
            match line.word() {
                "kind" => opening.kind = line.choice(Role::What),
                "opens" => opening.opens = line.choice(Role::What),
                "into" => {
                    opening.into =
                        self.look_up_arg(&line, Role::What, KindSet::of(&[Kind::Space])).map(|(_, number)| number);
                }
                _ => {}
            }
        }
        self.job.openings.push(opening);
    }

    fn read_alarm(&mut self, said: Said<'_>, name: String) {
        let mut alarm = Alarm {
            name,
            header: said.header(),
            warns_of: Stated::Silent,
            space: None,
            supplied_by: Stated::Silent,
            behind: Stated::Silent,
            spot: self.spot(said),
        };
        for line in said.lines() {
            match line.word() {
                "warns-of" => alarm.warns_of = line.choice(Role::What),
                "supplied-by" => alarm.supplied_by = line.choice(Role::What),
                "behind" => alarm.behind = line.words(Role::What),
                "in" => {
                    alarm.space =
                        self.look_up_arg(&line, Role::What, KindSet::of(&[Kind::Space])).map(|(_, number)| number);
                }
                _ => {}
            }
        }
        self.job.alarms.push(alarm);
    }

    /// Third pass: the runs, in the order in which they were numbered.
    fn read_runs(&mut self, readings: &[(FileId, Arc<Reading>)]) {
        let blocks = std::mem::take(&mut self.run_blocks);
        let said_of = |file: FileId, number: usize| {
            let (_, reading) = readings.iter().find(|(known, _)| *known == file)?;
            reading.blocks.get(number).map(|block| Said { file, reading, block })
        };
        let mut heaters = Vec::with_capacity(blocks.len());
        for (run, (file, number)) in blocks.iter().enumerate() {
            let Some(said) = said_of(*file, *number) else { continue };
            let heater = self.look_up_span(&said, said.block.of, Kind::Heater);
            heaters.push(heater);
            if said.block.kind == Some(Kind::WarmAir) {
                let run_name = said.block.name.map_or("", |span| said.reading.slice(span));
                let of = said.block.of.map_or("", |span| said.reading.slice(span));
                for line in said.lines().filter(|line| line.word() == "tee") {
                    if let Some(tee) = line.text(Role::What) {
                        self.index.define_tee(run, run_name, of, tee);
                    }
                }
            }
        }
        for ((file, number), heater) in blocks.iter().zip(heaters) {
            if let Some(said) = said_of(*file, *number) {
                let run = self.read_run(said, heater);
                self.job.runs.push(run);
            }
        }
        self.cut_circles();
        // A branch belongs to the heater of the run it starts from, however long the chain of tees.
        for at in trunks_first(&self.job.runs) {
            let inherited = match self.job.runs.get(at) {
                Some(Run { heater: None, start: Start::Tee(from, _), .. }) => {
                    self.job.runs.get(*from).and_then(|run| run.heater)
                }
                _ => None,
            };
            if let (Some(run), Some(heater)) = (self.job.runs.get_mut(at), inherited) {
                run.heater = Some(heater);
            }
        }
    }

    /// Branches that lead back into themselves start nowhere: one fault a circle, at its first line in the text.
    fn cut_circles(&mut self) {
        for circle in circles(&self.job.runs) {
            let mut starts = Vec::with_capacity(circle.len());
            for number in circle {
                if let Some(run) = self.job.runs.get_mut(number) {
                    starts.push(run.start_place.unwrap_or(run.header));
                    run.start = Start::Nowhere;
                }
            }
            starts.sort_by_key(|place| place.span.start);
            if let Some((first, others)) = starts.split_first() {
                let kind = NameFaultKind::Circle { others: others.to_vec() };
                self.job.name_faults.push(NameFault { kind, place: *first });
            }
        }
    }

    fn read_run(&mut self, said: Said<'_>, heater: Option<usize>) -> Run {
        let kind = said.block.kind.unwrap_or(Kind::KeepClear);
        let at_heater =
            matches!(kind, Kind::Exhaust | Kind::CombustionAir | Kind::ReturnAir | Kind::WarmAir | Kind::CoolantLine);
        let mut run = Run {
            kind,
            name: said.block.name.map(|span| said.reading.slice(span).to_string()),
            header: said.header(),
            heater,
            start: if at_heater { Start::Heater } else { Start::Nowhere },
            start_place: None,
            pickup: Stated::Silent,
            steps: Vec::with_capacity(8),
            end: None,
            body: body_of(said),
            walk: Walk::default(),
            said: Particulars::default(),
        };
        for line in said.lines() {
            self.read_step(&line, &mut run);
        }
        run
    }

    fn read_step(&mut self, line: &Line<'_>, run: &mut Run) {
        let place = line.place();
        let mut met = |met: Met| run.steps.push(Step { met, place });
        let word = line.word();
        let spaces = KindSet::of(&[Kind::Space]);
        match word {
            "" => met(Met::Gap),
            "forward" | "back" | "left" | "right" | "up" | "down" | "nearside" | "offside" => {
                let first = Direction::named(word).zip(line.amount(Role::Distance));
                match first.filter(|_| line.known()) {
                    Some(first) => {
                        let mut parts = vec![first];
                        parts.extend(line.ways(Role::Distance));
                        met(Met::Leg(parts));
                    }
                    None => met(Met::Gap),
                }
            }
            "run" if line.statement.whole => {
                let rises = line.ways(Role::Rise);
                let rise = rises.iter().fold(None, |rise: Option<Interval>, (direction, quantity)| {
                    let part = match direction {
                        Direction::Up => Interval::from(*quantity),
                        Direction::Down => Interval::from(*quantity).negative(),
                        _ => return rise,
                    };
                    Some(rise.unwrap_or_default().plus(part))
                });
                met(Met::Run(line.quantity(Role::Distance), rise));
            }
            "bend" => match line.amount(Role::Angle) {
                Some(angle) => met(Met::Bend(angle, line.amount(Role::Radius))),
                None => met(Met::Gap),
            },
            "at" if line.known() => met(Met::At(line.ways(Role::Distance))),
            "run" | "at" => met(Met::Gap),
            "pipe" | "hose" | "duct" | "line" => {
                let tube = self.read_tube(line, word);
                run.steps.push(Step { met: Met::Tube(tube), place });
            }
            "size" => {
                let conductor = self.read_conductor(line);
                run.steps.push(Step { met: Met::Conductor(conductor), place });
            }
            "fuse" => {
                let fuse = self.read_fuse(line);
                run.steps.push(Step { met: Met::Fuse(fuse), place });
            }
            "switch" => {
                if let Some(what) = line.choice(Role::What).get() {
                    met(Met::Switch(what, line.amount(Role::Resistance)));
                }
            }
            "shield" => met(Met::Shield),
            "joint" | "clamp" => met(Met::Joint(Joint {
                resistance: line.amount(Role::Resistance),
                sealed: line.choice(Role::Fitted).get().is_some(),
                in_spray: line.choice(Role::Closable).get().map(|place| *place == "in-spray"),
                clamp: word == "clamp",
            })),
            "pump" if run.kind == Kind::FuelLine => {
                let tilt = match (line.direction(Role::Facing), line.amount(Role::Angle)) {
                    (Some(Direction::Up), Some(angle)) => Some(Interval::from(angle)),
                    (Some(Direction::Down), Some(angle)) => Some(Interval::from(angle).negative()),
                    _ if line.statement.whole && line.arg(Role::Angle).is_none() => Some(Interval::exact(0.0)),
                    _ => None,
                };
                met(Met::Pump(tilt));
                run.said.soft_mounted |= line.choice(Role::Fitted).get().is_some();
            }
            "drain-hole" => {
                if let Some(width) = line.amount(Role::Amount) {
                    met(Met::DrainHole(width));
                }
            }
            "silencer" => met(Met::Silencer(line.amount(Role::Distance))),
            "passage" => met(Met::Passage(passage(line))),
            "trap" => met(Met::Trap),
            "grille" => met(Met::Grille(Grille {
                area: line.amount(Role::Area),
                clear: line.amount(Role::Distance),
                at: line.text(Role::What).map(str::to_string),
            })),
            "valve" => met(Met::Valve),
            "sleeve" => {
                if let Some(length) = line.amount(Role::Amount) {
                    met(Met::Sleeve(length, line.choice(Role::Fitted).get().is_some()));
                }
            }
            "filter" => met(Met::Filter(line.choice(Role::What).get().copied().unwrap_or("strainer"))),
            "moving-joint" => {
                let looped = line.choice(Role::Fitted).get().is_some();
                met(Met::MovingJoint(line.text(Role::What).unwrap_or("").to_string(), looped));
            }
            "pump" => met(Met::CirculatingPump(line.amount(Role::Flow))),
            "warms" => met(Met::Warms(line.text(Role::What).unwrap_or("").to_string(), line.amount(Role::Amount))),
            "bleed" => met(Met::Bleed),
            "clips-every" => run.said.clips_every = line.quantity(Role::Amount),
            "tee" => {
                if let Some(name) = line.text(Role::What) {
                    met(Met::Tee(name.to_string(), line.amount(Role::Angle)));
                }
            }
            "outlet" => {
                let space = self.look_up_arg(line, Role::Owner, spaces).map(|(_, number)| number);
                if let Some(name) = line.text(Role::What) {
                    let outlet = Outlet {
                        name: name.to_string(),
                        closable: line.choice(Role::Closable).get().is_some(),
                        facing: line.direction(Role::Facing),
                        space,
                        wants: line.quantity(Role::Share).fact().copied(),
                    };
                    run.steps.push(Step { met: Met::Outlet(outlet), place });
                }
            }
            "mixes" => {
                if let (Some(share), Some(temperature)) = (line.amount(Role::Amount), line.amount(Role::Distance)) {
                    met(Met::Mixes(share, temperature, line.text(Role::What).unwrap_or("elsewhere").to_string()));
                }
            }
            "lagged" => met(Met::Lagged(Some(line.amount(Role::Thickness).unwrap_or_else(thin_lagging)))),
            "bare" => met(Met::Lagged(None)),
            "measured" if line.statement.whole => self.read_taped(line, run),
            "measured" => {}
            "ends" => self.read_end(line, run),
            "from" => self.read_start(line, run),
            "harness" => run.said.harness = line.words(Role::What),
            "carries" => run.said.carries = line.quantity(Role::Amount),
            "return" => run.said.back_by = line.choice(Role::What),
            "insulation" => run.said.insulation = line.quantity(Role::Amount),
            "sheathed" => run.said.sheathed = Some(line.place()),
            "bundled" => run.said.bundled = line.count(Role::Count),
            "ambient" => run.said.ambient = line.quantity(Role::Amount),
            "kind" => run.said.kind = line.choice(Role::What),
            "outside" => run.said.outside = line.quantity(Role::Amount),
            "spans" => run.said.spans = line.ways(Role::Distance),
            "draws" if line.statement.whole => {
                run.said.draws = Some(match line.choice(Role::What).get() {
                    Some(_) => Draws::FromOutside(place),
                    None => Draws::AtHeater(line.amount(Role::Distance), place),
                });
            }
            other => met(Met::Other(other)),
        }
    }

    fn read_tube(&mut self, line: &Line<'_>, word: &'static str) -> Tube {
        let kinds = match word {
            "pipe" => KindSet::of(&[Kind::PipeSheet]),
            "duct" => KindSet::of(&[Kind::DuctSheet]),
            "line" => KindSet::of(&[Kind::LineSheet]),
            _ => KindSet::of(&[Kind::HoseSheet, Kind::DuctSheet, Kind::LineSheet]),
        };
        let mut tube = Tube {
            word,
            bore: line.quantity(Role::Bore),
            outside: line.quantity(Role::Outside),
            material: line.material().get().copied(),
            material_place: line.material().place(),
            ..Tube::default()
        };
        if let Some((kind, number)) = self.look_up_arg(line, Role::Sheet, kinds) {
            let sheet = self.job.tube_sheets.iter().filter(|sheet| sheet.kind == kind).nth(number);
            if let Some(sheet) = sheet {
                let used = line.place();
                tube.sheet = Some(sheet.name.clone());
                tube.bore = used_at(&sheet.bore, used);
                tube.outside = used_at(&sheet.outside, used);
                tube.roughness = used_at(&sheet.roughness, used);
                tube.bears = used_at(&sheet.bears, used);
                tube.bend_radius = used_at(&sheet.bend_radius, used);
                tube.material = sheet.made_of.get().copied();
                tube.material_place = sheet.made_of.place();
                tube.uneven = sheet.uneven;
            }
        }
        tube
    }

    fn read_conductor(&mut self, line: &Line<'_>) -> Conductor {
        let mut conductor =
            Conductor { size: line.quantity(Role::Amount), insulation: None, resistance_per_metre: None, sheet: None };
        if let Some((_, number)) = self.look_up_arg(line, Role::Sheet, KindSet::of(&[Kind::CableSheet])) {
            if let Some(sheet) = self.job.cable_sheets.get(number) {
                conductor.size = used_at(&sheet.size, line.place());
                conductor.insulation = sheet.insulation.get().copied();
                conductor.resistance_per_metre = sheet.resistance_per_metre.get().copied();
                conductor.sheet = Some(sheet.name.clone());
            }
        } else if let Some(arg) = line.arg(Role::Sheet).filter(|arg| arg.value == Value::Blank) {
            conductor.size = Stated::Blank(line.at(arg.span));
        }
        conductor
    }

    fn read_fuse(&mut self, line: &Line<'_>) -> Fuse {
        let mut fuse = Fuse {
            rating: line.quantity(Role::Current),
            resistance: line.amount(Role::Resistance),
            holder: None,
            holder_bears: line.amount(Role::Holder),
            kind: line.choice(Role::What).get().copied(),
        };
        if let Some((_, number)) = self.look_up_arg(line, Role::Sheet, KindSet::of(&[Kind::FuseSheet])) {
            if let Some(sheet) = self.job.fuse_sheets.get(number) {
                fuse.rating = used_at(&sheet.rating, line.place());
                fuse.resistance = sheet.resistance.get().copied();
                fuse.holder = sheet.holder.get().copied();
                fuse.holder_bears = sheet.holder_bears.get().copied();
                fuse.kind = sheet.kind.get().copied();
            }
        } else if let Some(arg) = line.arg(Role::Sheet).filter(|arg| arg.value == Value::Blank) {
            fuse.rating = Stated::Blank(line.at(arg.span));
        }
        fuse
    }

    fn read_end(&mut self, line: &Line<'_>, run: &mut Run) {
        let spaces = KindSet::of(&[Kind::Space]);
        let facing = line.direction(Role::Facing);
        let end = if line.arg(Role::What).is_some() {
            let ends_at =
                KindSet::of(&[Kind::Heater, Kind::Battery, Kind::Tank, Kind::Space, Kind::WarmAir, Kind::FuelLine]);
            End::At(self.look_up_arg(line, Role::What, ends_at))
        } else {
            let space = self.look_up_arg(line, Role::Owner, spaces).map(|(_, number)| number);
            match (facing, space, line.arg(Role::Owner)) {
                (Some(facing), space, _) if line.args.first().is_some_and(|arg| arg.role == Role::Facing) => {
                    End::Facing(facing, space)
                }
                (facing, Some(space), _) => End::InSpace(space, facing),
                (_, None, Some(_)) => return, // a space that was not found: the end is a hole
                (Some(facing), None, None) => End::Facing(facing, None),
                (None, None, None) if line.statement.whole => End::Here,
                (None, None, None) => return,
            }
        };
        run.end = Some(Fact::here(end, line.place()));
    }

    /// A distance taken by tape. It lies at no point of the walk, and so is no step of it.
    fn read_taped(&mut self, line: &Line<'_>, run: &mut Run) {
        let Some(distance) = line.amount(Role::Distance).map(Interval::from) else { return };
        let mut taped = Taped {
            from_pipe: false,
            to: None,
            kind: None,
            name_fault: false,
            distance,
            aside: line.amount(Role::Aside).map(Interval::from),
            covered: line.flagged(Role::Fitted, "covered"),
            place: line.place(),
        };
        if let Some(level) = line.choice(Role::Level).get() {
            taped.to = Some(Landmark::Datum(if *level == "ground" { Datum::Ground } else { Datum::Waterline }));
            run.said.measured.push(taped);
            return;
        }
        if let Some(side) = line.choice(Role::Behaviour).get() {
            taped.to = Some(Landmark::Edge);
            if *side == "inside" {
                taped.distance = distance.negative();
            }
            run.said.measured.push(taped);
            return;
        }
        taped.from_pipe = line.has_word("pipe");
        taped.kind = line.choice(Role::By).get().and_then(|word| kind_of_header(word, None));
        let Some(kind) = taped.kind else { return };
        let faults = self.job.name_faults.len();
        taped.to = self.meant_by_header(line, kind, run.heater).and_then(|number| match kind {
            Kind::Opening => Some(Landmark::Opening(number)),
            Kind::Tank => Some(Landmark::Tank(number)),
            kind if kind.is_run() => Some(Landmark::Run(number)),
            _ => None,
        });
        taped.name_fault = self.job.name_faults.len() > faults;
        run.said.measured.push(taped);
    }

    /// The block that a line means by the words of its header: a kind with a name, the kind of a heater that is named, or
    /// the kind alone, which means that of the heater whose block the line stands in. Gives its number within the kind.
    fn meant_by_header(&mut self, line: &Line<'_>, kind: Kind, heater: Option<usize>) -> Option<usize> {
        let kinds = KindSet::of(&[kind]);
        let own = heater.and_then(|heater| self.heater_name(heater));
        let owner = match line.arg(Role::Owner) {
            Some(arg) => {
                let of = line.said.reading.slice(arg.span).to_string();
                self.look_up(KindSet::of(&[Kind::Heater]), &of, line.at(arg.span))?;
                Some(of)
            }
            None => None,
        };
        let of = owner.as_ref().or(own.as_ref());
        let Some(arg) = line.arg(Role::What).filter(|arg| arg.value == Value::Name) else {
            // A run without a name is told by its heater.
            let mut unnamed = self.index.named("").filter(|(_, known)| known.kind == kind && known.of.as_ref() == of);
            let first = unnamed.next().map(|(_, known)| known.number);
            return first.filter(|_| unnamed.next().is_none());
        };
        let name = line.said.reading.slice(arg.span);
        let found = self.index.find(kinds, name);
        let is_of = |at: &&usize| self.index.defined.get(**at).is_some_and(|known| known.of.as_ref() == of);
        // Of two with one name, that of the same heater is meant.
        match found.iter().find(is_of).copied() {
            Some(at) if found.len() > 1 || owner.is_some() => {
                self.job.names.push(NameUse { place: line.at(arg.span), kinds, target: Some(at) });
                self.index.defined.get(at).map(|known| known.number)
            }
            _ => self.look_up(kinds, name, line.at(arg.span)).map(|(_, number)| number),
        }
    }

    /// A heater's name, as runs know it.
    fn heater_name(&self, heater: usize) -> Option<String> {
        self.job.heaters.get(heater).map(|heater| heater.name.clone())
    }

    fn read_start(&mut self, line: &Line<'_>, run: &mut Run) {
        run.start_place = Some(line.place());
        match run.kind {
            Kind::FuelLine => {
                run.pickup = line.choice(Role::By);
                run.start = match self.look_up_arg(line, Role::What, KindSet::of(&[Kind::Tank])) {
                    Some((_, tank)) => Start::Tank(tank),
                    None => Start::Nowhere,
                };
            }
            Kind::Cable => {
                run.start = match self.look_up_arg(line, Role::What, KindSet::of(&[Kind::Battery])) {
                    Some((_, battery)) => Start::Battery(battery),
                    None => Start::Nowhere,
                };
            }
            Kind::WarmAir => {
                let Some(arg) = line.arg(Role::What) else { return };
                let name = line.said.reading.slice(arg.span);
                let place = line.at(arg.span);
                let found = self.index.find_tee(name);
                let target = found.first().and_then(|(run, _)| {
                    self.index.defined.iter().position(|known| known.kind == Kind::WarmAir && known.number == *run)
                });
                self.job.names.push(NameUse { place, kinds: KindSet::of(&[Kind::WarmAir]), target });
                run.start = match found.first() {
                    Some((from, _)) => Start::Tee(*from, name.rsplit('.').next().unwrap_or(name).to_string()),
                    None => Start::Nowhere,
                };
                if found.is_empty() && !self.job.hidden.has(Kind::WarmAir) {
                    let nearest = self.index.nearest_tee(name);
                    let kinds = KindSet::of(&[Kind::WarmAir]);
                    self.job.name_faults.push(NameFault { kind: NameFaultKind::NotFound { kinds, nearest }, place });
                } else if found.len() > 1 {
                    let full = found.into_iter().map(|(_, full)| full).collect();
                    self.job.name_faults.push(NameFault { kind: NameFaultKind::Ambiguous { full }, place });
                }
            }
            _ => {}
        }
    }

    /// Where a heater's port is, in the vehicle's axes, and the way it faces.
    fn port(&self, heater: usize, port: &str) -> Option<(Spot, Option<Vector>)> {
        let middle = self.job.heaters.get(heater)?.spot?;
        let heater = self.job.heaters.get(heater)?;
        let sheet = heater.sheet.and_then(|sheet| self.job.heater_sheets.get(sheet));
        let turned = |way: Vector| match heater.warm_end {
            Some(Direction::Forward) => Some(way),
            Some(Direction::Back) => Some(Vector { x: -way.x, y: -way.y, z: way.z }),
            Some(Direction::Left) => Some(Vector { x: -way.y, y: way.x, z: way.z }),
            Some(Direction::Right) => Some(Vector { x: way.y, y: -way.x, z: way.z }),
            _ => None,
        };
        let exact = sheet.and_then(|sheet| sheet.port(port)).and_then(|port| {
            let (way, doubt) = Axes::default().way(&port.offset);
            let way = turned(way)?;
            let facing = port.facing.and_then(|facing| turned(Axes::default().unit(facing)));
            let doubt =
                Vector { x: middle.doubt.x + doubt.x, y: middle.doubt.y + doubt.y, z: middle.doubt.z + doubt.z };
            Some((Spot { point: middle.point.moved(way), doubt }, facing))
        });
        exact.or_else(|| {
            // Without a port the body's half-size is the doubt.
            let spans = sheet.map_or(&[][..], |sheet| sheet.spans.as_slice());
            let (body, _) = Axes::default().way(spans);
            let half = if spans.is_empty() { HALF_BODY } else { body.length().in_metres() / 2.0 };
            let more = half / 3f64.sqrt();
            let doubt = Vector { x: middle.doubt.x + more, y: middle.doubt.y + more, z: middle.doubt.z + more };
            Some((Spot { point: middle.point, doubt }, None))
        })
    }

    /// Fourth pass: geometry. Branches are walked after the runs they start from.
    fn walk_runs(&mut self) {
        for at in trunks_first(&self.job.runs) {
            let walked = self.walk_run(at);
            if let (Some(run), Some(walked)) = (self.job.runs.get_mut(at), walked) {
                run.walk = walked;
            }
        }
    }

    fn walk_run(&self, at: usize) -> Option<Walk> {
        let run = self.job.runs.get(at)?;
        let port = match run.kind {
            Kind::Exhaust => "exhaust",
            Kind::CombustionAir => "combustion-air",
            Kind::ReturnAir => "return-air",
            Kind::WarmAir => "warm-air",
            Kind::CoolantLine => "coolant-out",
            Kind::FuelLine => "fuel",
            _ => "supply",
        };
        let (start, facing) = match &run.start {
            Start::Heater => run
                .heater
                .and_then(|heater| self.port(heater, port))
                .map_or((None, None), |(spot, facing)| (Some(spot), facing)),
            Start::Tank(tank) => (self.job.tanks.get(*tank).and_then(|tank| tank.spot), None),
            Start::Battery(battery) => (self.job.batteries.get(*battery).and_then(|battery| battery.spot), None),
            Start::Tee(from, tee) => {
                let from = self.job.runs.get(*from);
                let spot = from.and_then(|from| {
                    let step =
                        from.steps.iter().position(|step| matches!(&step.met, Met::Tee(name, _) if name == tee))?;
                    from.walk.after.get(step).copied().flatten()
                });
                (spot, None)
            }
            Start::Nowhere => (None, None),
        };
        let end = run.end.as_ref().and_then(|end| match &end.value {
            End::At(Some((Kind::Heater, heater))) => {
                // A coolant loop leaves by one port and comes back to another.
                let port = if run.kind == Kind::CoolantLine { "coolant-in" } else { port };
                self.port(*heater, port).map(|(spot, _)| (spot, end.written))
            }
            End::At(Some((Kind::Battery, battery))) => {
                self.job.batteries.get(*battery).and_then(|battery| battery.spot).map(|spot| (spot, end.written))
            }
            End::At(Some((Kind::Tank, tank))) => {
                self.job.tanks.get(*tank).and_then(|tank| tank.spot).map(|spot| (spot, end.written))
            }
            _ => None,
        });
        Some(walk(self.axes, &run.steps, start, facing, end))
    }

    /// Last pass: concessions, whose participants may be any block.
    fn read_concessions(&mut self, readings: &[(FileId, Arc<Reading>)]) {
        for (said, _) in each_block(readings).filter(|(said, _)| said.block.kind == Some(Kind::Concession)) {
            let rule = said.block.name.map_or(Stated::Silent, |span| {
                Stated::Is(Fact::here(said.reading.slice(span).to_string(), Place { file: said.file, span }))
            });
            let mut concession = Concession {
                rule,
                header: said.header(),
                on: Vec::new(),
                because: Stated::Silent,
                by: Stated::Silent,
                until: Stated::Silent,
            };
            for line in said.lines() {
                match line.word() {
                    "on" if line.statement.whole => concession.on.push(self.participant(&line)),
                    "because" => concession.because = line.words(Role::What),
                    "by" => concession.by = line.words(Role::What),
                    "until" => concession.until = until(&line),
                    _ => {}
                }
            }
            self.job.concessions.push(concession);
        }
    }

    fn participant(&mut self, line: &Line<'_>) -> Participant {
        let place = line.place();
        let Some(kind) = line.choice(Role::By).get().and_then(|word| kind_of_header(word, None)) else {
            return Participant { place, header: self.job.header, every: None }; // `on job`
        };
        // A followed file speaks for many jobs: a block that this one has not is no fault of either.
        let of_this_job = self.job.own(place) && self.job.header.is_some();
        let owner = line.arg(Role::Owner).map(|arg| line.said.reading.slice(arg.span).to_string());
        if owner.is_none() && line.arg(Role::What).is_none() {
            return Participant { place, header: None, every: Some(kind) };
        }
        if let Some(arg) = line.arg(Role::Owner) {
            let faults = self.job.name_faults.len();
            self.look_up(KindSet::of(&[Kind::Heater]), line.said.reading.slice(arg.span), line.at(arg.span));
            if !of_this_job {
                self.job.name_faults.truncate(faults);
            }
        }
        let name = line.arg(Role::What).filter(|arg| arg.value == Value::Name);
        let wanted = name.map_or("", |arg| line.said.reading.slice(arg.span));
        let found = self.index.defined.iter().position(|known| {
            known.kind == kind && known.name == wanted && (owner.is_none() || known.of.is_none() || known.of == owner)
        });
        if let Some(arg) = name {
            let kinds = KindSet::of(&[kind]);
            self.job.names.push(NameUse { place: line.at(arg.span), kinds, target: found });
            if found.is_none() && of_this_job && !self.job.hidden.has(kind) {
                let nearest = self.index.nearest(kinds, wanted);
                self.job
                    .name_faults
                    .push(NameFault { kind: NameFaultKind::NotFound { kinds, nearest }, place: line.at(arg.span) });
            }
        }
        let header = found.and_then(|at| self.index.defined.get(at)).map(|known| known.header);
        Participant { place, header, every: None }
    }
}

/// The run at whose tee a run starts.
fn trunk_of(runs: &[Run], at: usize) -> Option<usize> {
    match runs.get(at)?.start {
        Start::Tee(trunk, _) if trunk < runs.len() => Some(trunk),
        _ => None,
    }
}

/// The runs from each one up to where it starts, until one that is taken already; the nearest first. Where the branches
/// lead back into themselves, the number in the list at which the circle begins. All calls together touch each run once.
fn upwards(
    runs: &[Run],
    from: usize,
    taken: &mut [bool],
    on_the_way: &mut [Option<usize>],
) -> (Vec<usize>, Option<usize>) {
    let mut way = Vec::new();
    let mut next = Some(from);
    let mut circle = None;
    while let Some(at) = next {
        if let Some(begins) = on_the_way.get(at).copied().flatten() {
            circle = Some(begins);
            break;
        }
        match taken.get_mut(at) {
            Some(taken) if !*taken => *taken = true,
            _ => break,
        }
        if let Some(number) = on_the_way.get_mut(at) {
            *number = Some(way.len());
        }
        way.push(at);
        next = trunk_of(runs, at);
    }
    for at in &way {
        if let Some(number) = on_the_way.get_mut(*at) {
            *number = None;
        }
    }
    (way, circle)
}

/// Every run once, each behind the one that it branches off, in whatever order they are written.
fn trunks_first(runs: &[Run]) -> Vec<usize> {
    let (mut taken, mut on_the_way) = (vec![false; runs.len()], vec![None; runs.len()]);
    let mut order = Vec::with_capacity(runs.len());
    for at in 0..runs.len() {
        let (way, _) = upwards(runs, at, &mut taken, &mut on_the_way);
        order.extend(way.into_iter().rev());
    }
    order
}

/// The circles of runs that branch off one another.
fn circles(runs: &[Run]) -> Vec<Vec<usize>> {
    let (mut taken, mut on_the_way) = (vec![false; runs.len()], vec![None; runs.len()]);
    let mut circles = Vec::new();
    for at in 0..runs.len() {
        let (mut way, circle) = upwards(runs, at, &mut taken, &mut on_the_way);
        circles.extend(circle.map(|begins| way.split_off(begins)));
    }
    circles
}

fn until(line: &Line<'_>) -> Stated<Date> {
    match line.arg(Role::What).map(|arg| (arg.value, arg.span)) {
        Some((Value::Date(date), span)) => Stated::Is(Fact::here(date, line.at(span))),
        Some((Value::Unknown, span)) => Stated::Unknown(line.at(span)),
        _ => Stated::Silent,
    }
}

fn layers(line: &Line<'_>) -> Vec<Layer> {
    let mut layers = Vec::new();
    let mut material = None;
    for arg in line.args {
        match arg.value {
            Value::Label if arg.role == Role::Material => material = Some(line.said.reading.slice(arg.span)),
            Value::Quantity(thickness) if arg.role == Role::Thickness => {
                layers.extend(material.take().map(|material| (material.to_string(), thickness)));
            }
            _ => {}
        }
    }
    layers
}

fn passage(line: &Line<'_>) -> Passage {
    Passage {
        through: line.choice(Role::What).get().copied(),
        hole: line.amount(Role::Bore),
        sealed: line.choice(Role::Sealed).get().is_some(),
    }
}

fn body_of(said: Said<'_>) -> Option<String> {
    said.lines().find(|line| line.word() == "rides-on").and_then(|line| line.text(Role::What)).map(str::to_string)
}

/// The value of a sheet, used at another place.
fn used_at<T: Copy>(stated: &Stated<T>, used: Place) -> Stated<T> {
    match stated {
        Stated::Is(fact) => Stated::Is(Fact { value: fact.value, written: fact.written, used }),
        other => *other,
    }
}

/// Lagging of a thickness nobody stated: counted as lagged, with no size.
fn thin_lagging() -> Quantity {
    Quantity::exact(0.0, super::unit_or(None, "mm"))
}

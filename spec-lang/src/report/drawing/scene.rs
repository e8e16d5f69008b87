//! What a drawing shows, in the vehicle's axes and metres: things, runs with their legs, where findings lie, and what
//! cannot be drawn and why. Nothing of paper, colour or SVG is in here.

use crate::analysis::Analysis;
use crate::assist::in_words;
use crate::figures::ways::length_unit;
use crate::finding::Finding;
use crate::model::{Draws, End, Heater, Job, Met, Run, Spot, Start, unit_or};
use crate::physics::geometry::{AlignedBox, Point, Segment, Vector};
use crate::report::one_line;
use crate::source::{FileId, Place};
use crate::text::Span;
use crate::units::Angle;
use crate::vocabulary::{Direction, Kind};
use std::collections::HashMap;

/// Geometry is valid up to here, m; what lies farther is a slip of the pen and would shrink all else to nothing.
const FARTHEST: f64 = 1e5;

/// A doubt smaller than this is not to be seen on paper, m.
const LEAST_DOUBT: f64 = 0.5e-3;

/// A thing with a place.
#[derive(Debug)]
pub(super) struct Thing {
    /// How it is drawn: `space`, `tank`, ….
    pub(super) class: &'static str,
    /// What to write beside it; empty for nothing.
    pub(super) label: String,
    /// What it is, in full.
    pub(super) says: String,
    /// The block or statement that puts it there.
    pub(super) place: Place,
    /// Where it reaches; a point where both corners are one.
    pub(super) area: AlignedBox,
    /// Half widths of the doubt of its place.
    pub(super) doubt: Vector,
    /// The way its warm end faces.
    pub(super) warm_end: Option<Vector>,
}

/// A leg of a run.
#[derive(Debug)]
pub(super) struct Leg {
    /// From where to where.
    pub(super) segment: Segment,
    /// The statement that lays it.
    pub(super) place: Place,
    /// Whether it is a silencer's body.
    pub(super) silencer: bool,
}

/// A point of a run with something to say.
#[derive(Debug)]
pub(super) struct Mark {
    /// Where.
    pub(super) point: Point,
    /// The statement.
    pub(super) place: Place,
    /// What stands there, in full.
    pub(super) says: String,
    /// What to write beside it; empty for nothing.
    pub(super) label: String,
    /// How it is drawn: `met`, `end`, `lost`.
    pub(super) class: &'static str,
    /// The way it faces.
    pub(super) facing: Option<Vector>,
}

/// A run.
#[derive(Debug)]
pub(super) struct Line {
    /// What it carries.
    pub(super) kind: Kind,
    /// As its header says it.
    pub(super) label: String,
    /// Its block.
    pub(super) place: Place,
    /// Its legs whose place is known.
    pub(super) legs: Vec<Leg>,
    /// What stands along it and at its ends.
    pub(super) marks: Vec<Mark>,
    /// Places with a doubt.
    pub(super) doubts: Vec<Spot>,
    /// Length and bends, and where it ends.
    pub(super) says: String,
}

/// Findings that lie at one point.
#[derive(Debug)]
pub(super) struct Found {
    /// Where.
    pub(super) point: Point,
    /// Their numbers in the list, from 0.
    pub(super) numbers: Vec<usize>,
}

/// One body with axes of its own: the vehicle, or a part that moves against it.
#[derive(Debug, Default)]
pub(super) struct Body {
    /// Its name; the vehicle's own axes have none.
    pub(super) name: Option<String>,
    /// Its things, those that hold others first.
    pub(super) things: Vec<Thing>,
    /// Its runs.
    pub(super) lines: Vec<Line>,
    /// Where findings lie.
    pub(super) found: Vec<Found>,
    /// Heights of levels and what they are: floor, waterline.
    pub(super) levels: Vec<(f64, String, Place)>,
}

/// Something that cannot be drawn, or not all of it.
#[derive(Debug)]
pub(super) struct Absent {
    /// Its block.
    pub(super) place: Place,
    /// What, and why.
    pub(super) says: String,
}

/// All that a drawing shows.
#[derive(Debug)]
pub(super) struct Scene<'a> {
    /// The vehicle first.
    pub(super) bodies: Vec<Body>,
    /// What is not drawn.
    pub(super) absent: Vec<Absent>,
    /// Standing findings, in order; their numbers are their places in here.
    pub(super) findings: Vec<&'a Finding>,
    /// Which of them lie on the sheet.
    pub(super) on_sheet: Vec<bool>,
}

/// Where a line of the text lies on the sheet: the body's number, and the point.
type Anchors = HashMap<(FileId, u32), (usize, Point)>;

/// Gathers a scene.
struct Gatherer<'a> {
    analysis: &'a Analysis,
    job: &'a Job,
    bodies: Vec<Body>,
    /// The number of each body by its name.
    numbers: HashMap<Option<&'a str>, usize>,
    absent: Vec<Absent>,
    blocks: Anchors,
    statements: Anchors,
}

/// What a job's drawing shows.
pub(super) fn scene(analysis: &Analysis) -> Scene<'_> {
    let mut gatherer = Gatherer {
        analysis,
        job: &analysis.job,
        bodies: vec![Body::default()],
        numbers: HashMap::from([(None, 0)]),
        absent: Vec::new(),
        blocks: HashMap::new(),
        statements: HashMap::new(),
    };
    gatherer.vehicle();
    gatherer.spaces();
    gatherer.stores();
    gatherer.openings();
    gatherer.alarms();
    for run in &analysis.job.runs {
        gatherer.run(run);
    }
    for number in 0..analysis.job.heaters.len() {
        gatherer.heater(number);
    }
    gatherer.finish()
}

/// Whether a place can be drawn at all.
fn drawable(point: Point) -> bool {
    [point.x, point.y, point.z].into_iter().all(|part| part.is_finite() && part.abs() <= FARTHEST)
}

fn drawable_box(area: AlignedBox) -> bool {
    drawable(area.low()) && drawable(area.high())
}

/// What stands at a place, with single spaces between its words.
pub(super) fn written(job: &Job, place: Place) -> String {
    one_line(&job.reads_at(place)).into_owned()
}

fn middle(area: AlignedBox) -> Point {
    Segment { from: area.low(), to: area.high() }.at(0.5)
}

fn even(doubt: f64) -> Vector {
    Vector { x: doubt, y: doubt, z: doubt }
}

const FAR: &str = "it lies more than 100 km from the origin";

impl<'a> Gatherer<'a> {
    /// The number of a body; a new one where it is not known yet.
    fn body(&mut self, name: Option<&'a String>) -> usize {
        let bodies = &mut self.bodies;
        *self.numbers.entry(name.map(String::as_str)).or_insert_with(|| {
            bodies.push(Body { name: name.cloned(), ..Body::default() });
            bodies.len() - 1
        })
    }

    fn line_of(&self, place: Place) -> u32 {
        let reading = self.analysis.reading(place.file);
        reading.map_or(0, |reading| u32::try_from(reading.tree.line_at(place.span.start)).unwrap_or(u32::MAX))
    }

    /// The whole block whose header or line this is; of what a kit lends, the block that fits it.
    fn block(&self, place: Place) -> Place {
        let place = self.job.shown(place);
        let Some(reading) = self.analysis.reading(place.file) else { return place };
        let Some(block) = reading.at(place.span.start).0 else { return place };
        let last = reading.statements(block).last().map_or(block.header, |statement| statement.span);
        Place { file: place.file, span: Span { start: block.header.start, end: last.end.max(block.header.end) } }
    }

    /// A line of the text lies there: findings about it are marked at that point.
    fn anchor(&mut self, body: usize, place: Place, point: Point) {
        let place = self.job.shown(place);
        let key = (place.file, self.line_of(place));
        self.statements.entry(key).or_insert((body, point));
    }

    /// A block lies there.
    fn anchor_block(&mut self, body: usize, block: Place, point: Point) {
        let block = self.job.shown(block);
        let key = (block.file, self.line_of(block));
        self.blocks.entry(key).or_insert((body, point));
    }

    fn put(&mut self, body: Option<&'a String>, header: Place, thing: Thing) {
        if !drawable_box(thing.area) {
            self.lack(header, &thing.says, FAR);
            return;
        }
        let body = self.body(body);
        self.anchor_block(body, self.block(header), middle(thing.area));
        if let Some(body) = self.bodies.get_mut(body) {
            body.things.push(thing);
        }
    }

    fn lack(&mut self, header: Place, what: &str, because: &str) {
        let place = self.block(header);
        self.absent.push(Absent { place, says: format!("not drawn: `{}`, because {because}", one_line(what)) });
    }

    fn vehicle(&mut self) {
        let job = self.job;
        let Some((vehicle, header)) = &job.vehicle else { return };
        let reads = written(job, *header);
        let place = self.block(*header);
        for (level, word) in [(vehicle.floor_level(), "floor"), (vehicle.waterline.fact().copied(), "waterline")] {
            if let Some(fact) = level.filter(|fact| fact.value.nominal.abs() <= FARTHEST) {
                let says = format!("{word} {}", fact.value.unit.show(fact.value.nominal));
                if let Some(body) = self.bodies.first_mut() {
                    body.levels.push((fact.value.nominal, says, fact.written));
                }
            }
        }
        let thing = |area, says: String| Thing {
            class: "outline",
            label: says.clone(),
            says,
            place,
            area,
            doubt: Vector::default(),
            warm_end: None,
        };
        match vehicle.outline {
            Some(area) => self.put(None, *header, thing(area, reads)),
            None => {
                self.lack(*header, &reads, "it does not state where it is and how large it is: write `at` and `spans`")
            }
        }
        if let (Some(name), Some(area)) = (vehicle.second_body.get(), vehicle.second_outline) {
            self.put(Some(name), *header, thing(area, format!("second-body {name}")));
        }
    }

    fn spaces(&mut self) {
        let job = self.job;
        for space in &job.spaces {
            let says = format!("space {}", space.name);
            match space.outline {
                Some(area) => {
                    let thing = Thing {
                        class: "space",
                        label: says.clone(),
                        says,
                        place: self.block(space.header),
                        area,
                        doubt: Vector::default(),
                        warm_end: None,
                    };
                    self.put(space.body.as_ref(), space.header, thing);
                }
                None => self.lack(
                    space.header,
                    &says,
                    "it does not state where it is: write `at` for one corner, and `spans`",
                ),
            }
            for (spot, place) in &space.heads {
                self.point(
                    space.body.as_ref(),
                    "head",
                    "head",
                    format!("heads in space {}", space.name),
                    *spot,
                    *place,
                );
            }
        }
    }

    /// A point that a statement puts somewhere.
    fn point(
        &mut self,
        body: Option<&'a String>,
        class: &'static str,
        label: &str,
        says: String,
        spot: Spot,
        place: Place,
    ) {
        if drawable(spot.point) {
            let number = self.body(body);
            self.anchor(number, place, spot.point);
        }
        let thing = Thing {
            class,
            label: label.to_string(),
            says,
            place,
            area: AlignedBox::spanning(spot.point, spot.point),
            doubt: spot.doubt,
            warm_end: None,
        };
        self.put(body, place, thing);
    }

    /// Batteries and tanks.
    fn stores(&mut self) {
        let job = self.job;
        let batteries = job.batteries.iter().map(|it| ("battery", &it.name, it.header, it.area, it.spot, &it.body));
        let tanks = job.tanks.iter().map(|it| ("tank", &it.name, it.header, it.area, it.spot, &it.body));
        for (class, name, header, area, spot, body) in batteries.chain(tanks) {
            let says = format!("{class} {name}");
            let Some((area, reach)) = area else {
                self.lack(header, &says, "it does not state where it is: write `at`");
                continue;
            };
            // A point's doubt is known axis by axis; that of a box only as a reach.
            let doubt = if area.has_room() { even(reach) } else { spot.map_or(even(reach), |spot| spot.doubt) };
            let place = self.block(header);
            self.put(
                body.as_ref(),
                header,
                Thing { class, label: says.clone(), says, place, area, doubt, warm_end: None },
            );
        }
    }

    fn openings(&mut self) {
        let job = self.job;
        for opening in &job.openings {
            let kind = opening.kind.get().copied().unwrap_or("opening");
            let says = format!("opening {}", opening.name);
            let Some((area, reach)) = opening.area else {
                self.lack(opening.header, &says, "it does not state where it is: write `at`");
                continue;
            };
            let label =
                if opening.name.contains(kind) { opening.name.clone() } else { format!("{kind} {}", opening.name) };
            let place = self.block(opening.header);
            let thing = Thing { class: "opening", label, says, place, area, doubt: even(reach), warm_end: None };
            self.put(opening.body.as_ref(), opening.header, thing);
        }
    }

    fn alarms(&mut self) {
        let job = self.job;
        for alarm in &job.alarms {
            let says = format!("alarm {}", alarm.name);
            let body = alarm.space.and_then(|space| job.spaces.get(space)).and_then(|space| space.body.as_ref());
            match alarm.spot {
                Some(spot) => {
                    let place = self.block(alarm.header);
                    let area = AlignedBox::spanning(spot.point, spot.point);
                    let thing = Thing {
                        class: "alarm",
                        label: says.clone(),
                        says,
                        place,
                        area,
                        doubt: spot.doubt,
                        warm_end: None,
                    };
                    self.put(body, alarm.header, thing);
                }
                None => self.lack(alarm.header, &says, "it does not state where it hangs: write `at`"),
            }
        }
    }

    fn heater(&mut self, number: usize) {
        let job = self.job;
        let Some(heater) = job.heaters.get(number) else { return };
        let says = format!("heater {}", heater.name);
        let Some(spot) = heater.spot else {
            self.lack(heater.header, &says, "it does not state where its middle is: write `at`");
            return;
        };
        let place = self.block(heater.header);
        let half = half_body(job, number, heater);
        let area = AlignedBox::spanning(spot.point.moved(half.times(-1.0)), spot.point.moved(half));
        let warm_end = heater.warm_end.map(|way| job.axes.unit(way));
        let thing = Thing { class: "heater", label: says.clone(), says, place, area, doubt: spot.doubt, warm_end };
        self.put(heater.body.as_ref(), heater.header, thing);
        if let Some((spot, place)) = heater.sensor_at {
            let says = format!("sensor of {}", heater.name);
            self.point(heater.body.as_ref(), "sensor", "sensor", says, spot, place);
        }
    }

    fn run(&mut self, run: &'a Run) {
        let job = self.job;
        let label = match run.heater.and_then(|heater| job.heaters.get(heater)) {
            // Where there are several heaters, whose run it is must be seen.
            Some(heater) if run.name.is_some() && job.heaters.len() > 1 => {
                format!("{} of {}", job.reads(run), heater.name)
            }
            _ => job.reads(run),
        };
        if run.kind == Kind::KeepClear && !run.said.spans.is_empty() {
            let says = label.clone();
            let Some(corner) = run.walk.start else {
                self.lack(run.header, &says, "it does not state where it starts: write `at`");
                return;
            };
            let (way, doubt) = job.axes.way(&run.said.spans);
            let area = AlignedBox::spanning(corner.point, corner.point.moved(way));
            let doubt =
                Vector { x: corner.doubt.x + doubt.x, y: corner.doubt.y + doubt.y, z: corner.doubt.z + doubt.z };
            let place = self.block(run.header);
            let thing = Thing { class: "keep-clear-box", label, says, place, area, doubt, warm_end: None };
            self.put(run.body.as_ref(), run.header, thing);
            return;
        }
        let place = self.block(run.header);
        let mut line = Line {
            kind: run.kind,
            place,
            legs: Vec::new(),
            marks: Vec::new(),
            doubts: Vec::new(),
            says: key_of(run),
            label,
        };
        let mut lost = self.legs(run, &mut line);
        self.marks(run, &mut line);
        let drawn = !line.legs.is_empty() || !line.marks.is_empty();
        if run.walk.stretches.is_empty() {
            if let Some(Draws::FromOutside(_)) = &run.said.draws {
                lost.push("it does not state where outside it draws its air".to_string());
            } else if !drawn {
                lost.push(start_lacks(job, run).unwrap_or_else(|| "it states no route".to_string()));
            }
        }
        if !lost.is_empty() {
            let part = if drawn { "not all drawn" } else { "not drawn" };
            let says = format!("{part}: `{}`, because {}", one_line(&line.label), lost.join("; "));
            self.absent.push(Absent { place, says });
        }
        if drawn {
            let number = self.body(run.body.as_ref());
            self.anchor_run(number, run, &line);
            if let Some(body) = self.bodies.get_mut(number) {
                body.lines.push(line);
            }
        }
    }

    /// Takes the legs whose place is known; says why others are not, each reason once.
    fn legs(&mut self, run: &Run, line: &mut Line) -> Vec<String> {
        let job = self.job;
        let mut lost: Vec<String> = Vec::new();
        let mut unmeasured: Vec<String> = Vec::new();
        let mut because = if run.walk.start.is_none() { start_lacks(job, run) } else { None };
        let mut stretches = run.walk.stretches.iter().peekable();
        for (number, step) in run.steps.iter().enumerate() {
            let text = || written(job, step.place);
            let mut told = None;
            match &step.met {
                Met::At(_) => because = None,
                Met::Run(..) => unmeasured.push(format!("`{}`", text())),
                Met::Gap => told = Some(format!("`{}` cannot be read", text())),
                _ => {}
            }
            let unsaid = matches!(step.met, Met::Run(..));
            if told.is_some() {
                because.clone_from(&told);
            } else if unsaid {
                // What follows is lost by the same line.
                because = Some(String::new());
            }
            let mut missing = told.is_some() || unsaid;
            while let Some(stretch) = stretches.next_if(|stretch| stretch.step <= number) {
                match stretch.leg.map(|(segment, _)| segment) {
                    Some(segment) if drawable(segment.from) && drawable(segment.to) => {
                        let silencer = matches!(step.met, Met::Silencer(_));
                        line.legs.push(Leg { segment, place: stretch.place, silencer });
                    }
                    Some(_) => {
                        because = Some(FAR.to_string());
                        missing = true;
                    }
                    None => missing = true,
                }
            }
            if missing {
                let reason = because.clone().unwrap_or_else(|| format!("nobody knows where `{}` starts", text()));
                if !reason.is_empty() && lost.last() != Some(&reason) {
                    lost.push(reason);
                }
            }
        }
        if !unmeasured.is_empty() {
            lost.push(format!("nobody has measured the direction of {}", unmeasured.join(", ")));
        }
        lost
    }

    /// What stands along a run, its ends, and where its position is lost.
    fn marks(&self, run: &Run, line: &mut Line) {
        let job = self.job;
        let axes = job.axes;
        let mut before = run.walk.start;
        let seen = |spot: &Spot| drawable(spot.point);
        if let Some(start) = before.filter(seen) {
            if start.reach() > LEAST_DOUBT {
                line.doubts.push(start);
            }
            if run.walk.stretches.is_empty() {
                // A thing without length: a keep-clear at a point, the heater's own inlet.
                let (class, says) = ("met", line.label.clone());
                line.marks.push(Mark {
                    point: start.point,
                    place: line.place,
                    says,
                    label: String::new(),
                    class,
                    facing: None,
                });
            }
        }
        for (number, step) in run.steps.iter().enumerate() {
            let here = run.walk.after.get(number).copied().flatten();
            let text = written(job, step.place);
            let loses = matches!(step.met, Met::Run(..) | Met::Gap);
            if let (Some(last), true) = (before.filter(seen), loses) {
                let says = format!("position lost: `{text}`");
                let (class, label) = ("lost", String::new());
                line.marks.push(Mark { point: last.point, place: step.place, says, label, class, facing: None });
            }
            if let Some(spot) = here.filter(seen) {
                let moved = matches!(step.met, Met::Leg(_) | Met::At(_) | Met::Silencer(_));
                if moved && spot.reach() > LEAST_DOUBT {
                    line.doubts.push(spot);
                }
                let label = match &step.met {
                    Met::Pump(_) => Some("pump".to_string()),
                    Met::CirculatingPump(_) => Some("circulating pump".to_string()),
                    Met::Fuse(_) => Some(text.split(',').next().unwrap_or("fuse").to_string()),
                    Met::Switch(what, _) => Some((*what).to_string()),
                    Met::Tee(name, _) => Some(format!("tee {name}")),
                    Met::Outlet(outlet) => Some(format!("outlet {}", outlet.name)),
                    Met::Joint(_)
                    | Met::DrainHole(_)
                    | Met::Passage(_)
                    | Met::Shield
                    | Met::Trap
                    | Met::Grille(_)
                    | Met::Filter(_)
                    | Met::MovingJoint(..)
                    | Met::Bleed
                    | Met::Warms(..) => Some(String::new()),
                    _ => None,
                };
                let outlet = match &step.met {
                    Met::Outlet(outlet) => Some(outlet.facing.map(|way| axes.unit(way))),
                    _ => None,
                };
                if let Some(label) = label {
                    let class = if outlet.is_some() { "end" } else { "met" };
                    let (point, place, facing) = (spot.point, step.place, outlet.flatten());
                    line.marks.push(Mark { point, place, says: text, label, class, facing });
                }
            }
            before = here;
        }
        let end = run.end.as_ref().zip(run.walk.end.filter(seen));
        if let (Some((end, spot)), false) = (end, run.walk.stretches.is_empty()) {
            let facing = match &end.value {
                End::Facing(way, _) | End::InSpace(_, Some(way)) => Some(axes.unit(*way)),
                _ => None,
            };
            let says = format!("{} {}", line.label, written(job, end.written));
            let (label, class) = (String::new(), "end");
            line.marks.push(Mark { point: spot.point, place: end.written, says, label, class, facing });
        }
    }

    fn anchor_run(&mut self, body: usize, run: &Run, line: &Line) {
        for leg in &line.legs {
            self.anchor(body, leg.place, leg.segment.at(0.5));
        }
        for mark in &line.marks {
            self.anchor(body, mark.place, mark.point);
        }
        for (number, step) in run.steps.iter().enumerate() {
            if let Some(spot) = run.walk.after.get(number).copied().flatten().filter(|spot| drawable(spot.point)) {
                self.anchor(body, step.place, spot.point);
            }
        }
        let longest = line.legs.iter().max_by(|one, other| {
            let length = |leg: &Leg| leg.segment.way().length().in_metres();
            length(one).total_cmp(&length(other))
        });
        let point = longest.map(|leg| leg.segment.at(0.5)).or_else(|| line.marks.first().map(|mark| mark.point));
        if let Some(point) = point {
            self.anchor_block(body, line.place, point);
        }
    }

    /// Where a place of the text lies: its own line, else its block.
    fn find(&self, place: Place) -> Option<(usize, Point)> {
        let own = self.statements.get(&(place.file, self.line_of(place)));
        own.or_else(|| {
            let reading = self.analysis.reading(place.file)?;
            let block = reading.at(place.span.start).0?;
            self.blocks.get(&(place.file, block.first_line))
        })
        .copied()
    }

    fn finish(mut self) -> Scene<'a> {
        let findings: Vec<&Finding> = self.analysis.standing().collect();
        let mut on_sheet = vec![false; findings.len()];
        let mut at: HashMap<(usize, [u64; 3]), usize> = HashMap::new();
        for (number, finding) in findings.iter().enumerate() {
            let places = std::iter::once(finding.place)
                .chain(finding.used)
                .chain(finding.related.iter().map(|related| related.place));
            let Some((body, point)) = places.into_iter().find_map(|place| self.find(place)) else { continue };
            let Some(found) = self.bodies.get_mut(body).map(|body| &mut body.found) else { continue };
            let key = (body, [point.x.to_bits(), point.y.to_bits(), point.z.to_bits()]);
            let index = *at.entry(key).or_insert_with(|| {
                found.push(Found { point, numbers: Vec::new() });
                found.len() - 1
            });
            if let Some(found) = found.get_mut(index) {
                found.numbers.push(number);
            }
            if let Some(on) = on_sheet.get_mut(number) {
                *on = true;
            }
        }
        self.bodies.retain(|body| !body.things.is_empty() || !body.lines.is_empty());
        Scene { bodies: self.bodies, absent: self.absent, findings, on_sheet }
    }
}

/// Half of a heater's body along the vehicle's axes; nothing where its sheet states no size.
fn half_body(job: &Job, number: usize, heater: &Heater) -> Vector {
    let spans = job.sheet_of(number).map_or(&[][..], |sheet| sheet.spans.as_slice());
    let (way, _) = crate::model::Axes::default().way(spans);
    let half = Vector { x: way.x.abs() / 2.0, y: way.y.abs() / 2.0, z: way.z.abs() / 2.0 };
    let along_x = heater.warm_end.is_none_or(|way| job.axes.unit(way).x != 0.0);
    match heater.warm_end {
        _ if along_x => half,
        Some(Direction::Up | Direction::Down) => Vector { x: half.z, y: half.y, z: half.x },
        _ => Vector { x: half.y, y: half.x, z: half.z },
    }
}

/// Why nobody knows where a run starts.
fn start_lacks(job: &Job, run: &Run) -> Option<String> {
    let says = |kind: &str, name: Option<&String>| {
        name.map(|name| {
            format!("it starts at `{kind} {}`, which does not state where it is: write `at`", one_line(name))
        })
    };
    match &run.start {
        _ if run.walk.start.is_some() => None,
        Start::Heater => {
            let heater = run.heater.and_then(|heater| job.heaters.get(heater));
            says("heater", heater.map(|heater| &heater.name))
                .or_else(|| Some("its heater is not in this job".to_string()))
        }
        Start::Tank(tank) => says("tank", job.tanks.get(*tank).map(|tank| &tank.name)),
        Start::Battery(battery) => says("battery", job.batteries.get(*battery).map(|battery| &battery.name)),
        Start::Tee(from, tee) => {
            let from = job.runs.get(*from).map_or(String::new(), |run| job.reads(run));
            Some(format!("nobody knows where tee `{}` of `{}` is", one_line(tee), one_line(&from)))
        }
        Start::Nowhere => Some("it does not state where it starts: write `at`".to_string()),
    }
}

/// What the list of runs says of one: length and bends, and where it ends.
fn key_of(run: &Run) -> String {
    let mut parts = Vec::new();
    if let Some(Draws::AtHeater(..)) = &run.said.draws {
        parts.push("air drawn in at the heater itself".to_string());
    }
    if let Some(length) = run.walk.length.filter(|_| !run.walk.stretches.is_empty()) {
        let unit = length_unit(unit_or(run.walk.unit, "m"), length.high);
        let doubt = length.half_width();
        let doubt = if doubt > LEAST_DOUBT { format!(" ± {}", unit.show_difference(doubt)) } else { String::new() };
        parts.push(format!("{}{doubt}", unit.show(length.nominal)));
        if let Some(bends) = run.walk.bends.map(|bends| Angle::radians(bends.nominal).in_degrees()) {
            if bends >= 0.5 {
                parts.push(format!("bends {bends:.0}°"));
            } else if !run.walk.lost {
                parts.push("straight".to_string());
            }
        }
    }
    if let Some(end) = run.walk.end.filter(|_| !run.walk.stretches.is_empty()) {
        parts.push(format!("ends at {}", in_words(run, end)));
    }
    parts.join(", ")
}

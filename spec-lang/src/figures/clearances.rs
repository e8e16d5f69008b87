//! Straight distances of each exhaust: from its open end to what breathes, and from its pipe to what burns or melts; by the
//! walked routes, by tape, or the smaller of both. What a distance ought to be is not in here.
//!
//! A distance here is the length of the straight line between two places, through whatever lies between. It is not the
//! way that gas takes through the air. Two bodies with axes of their own are never measured against each other.

use super::tape::{Differing, SLACK, TapedGap, disagree, taped_gaps};
use super::{Figure, Figures, Section, Step, Unjudged, input};
use crate::model::{Draws, End, Interval, Job, Met, Run, Spot, Start, Tube, unit_or};
use crate::physics::geometry::{
    AlignedBox, Gap, Point, Segment, Vector, point_to_box, segment_to_box, segment_to_segment,
};
use crate::source::Place;
use crate::units::{Quantity, Unit};
use crate::vocabulary::Kind;
use std::collections::HashMap;

/// Length of pipe and line next to a heater's ports that is not judged against the other: ports stand side by side by
/// design, and the sheet answers for them. Common practice, no source.
pub const PORT_SPACING: f64 = 0.15;

/// A wall's thickness with its lining, taken where a space's outline does not say which face it means: common practice,
/// no source.
const WALL: f64 = 0.05;

/// A place this near to the floor's height lies in the floor, neither over nor under it, m: a job's numbers are rounded to
/// their unit, and the last digit of an inch must not say whether a floor lies between two things. The project's own.
const IN_FLOOR: f64 = 1e-3;

/// How far away a thing still gets a figure; the nearest of each kind always does.
const NEAR: f64 = 3.0;

/// What a distance leads to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Target {
    /// The edge of the vehicle's outline, in plan: positive outside it.
    Edge,
    /// The open end of a combustion-air hose: the run's number.
    CombustionAir(usize),
    /// An opening: its number.
    Opening(usize),
    /// The open end of a return-air duct, or a heater's own inlet: the run's number.
    ReturnAir(usize),
    /// A fuel line: the run's number.
    FuelLine(usize),
    /// Something to keep clear of: the run's number.
    KeepClear(usize),
    /// A cable: the run's number.
    Cable(usize),
    /// A fuel tank that states how far it reaches: its number.
    Tank(usize),
}

/// How an exhaust ends beside an opening. All lengths in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Beside {
    /// It leads to no opening.
    None,
    /// By where both are: how far to its side in plan, how far below its lowest edge (negative above), and the doubt of both.
    Walked {
        /// How far to the side.
        aside: f64,
        /// How far below.
        below: f64,
        /// How far every stated tolerance reaches.
        doubt: f64,
    },
    /// By tape: how far to its side, where that was taken.
    Taped(Option<Interval>),
}

/// One distance of an exhaust. All lengths in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clearance {
    /// The exhaust: the run's number.
    pub exhaust: usize,
    /// What it leads to.
    pub target: Target,
    /// Whether lagging, a shield or the vehicle's floor lies between.
    pub covered: bool,
    /// The distance as drawn or measured, from surface to surface.
    pub nominal: f64,
    /// The same with every stated doubt at its worst end.
    pub worst: f64,
    /// The nearest places of the exhaust and of the other, where the walked routes give them.
    pub between: Option<(Point, Point)>,
    /// The statement of the exhaust that puts it there; that of the tape where nothing else does.
    pub place: Place,
    /// The statement of the tape, where what it gives counts.
    pub tape: Option<Place>,
    /// For an opening: how the exhaust ends beside it.
    pub beside: Beside,
}

impl Clearance {
    /// Where a finding about it stands.
    pub fn at(&self) -> Place {
        self.tape.unwrap_or(self.place)
    }
}

/// The space in which a run ends, where it ends in one.
pub fn ends_in(run: &Run) -> Option<usize> {
    match &run.end.as_ref()?.value {
        End::Facing(_, space) => *space,
        End::InSpace(space, _) => Some(*space),
        End::At(Some((Kind::Space, space))) => Some(*space),
        _ => None,
    }
}

/// Where a run that ends in the open air ends; `None` where that is unknown, or where it ends elsewhere.
pub fn open_end(run: &Run) -> Option<Spot> {
    match &run.end.as_ref()?.value {
        End::Facing(_, None) | End::Here => run.walk.end,
        _ => None,
    }
}

/// Where return air enters: the end of its duct, or the heater's own inlet where it draws there.
pub fn inlet_of(run: &Run) -> Option<Spot> {
    match &run.said.draws {
        Some(Draws::AtHeater(..)) => run.walk.start,
        // Fresh air without a duct comes from nobody knows where.
        _ if run.walk.stretches.is_empty() => None,
        _ => run.walk.end,
    }
}

/// The space whose stated outline holds a place of a run, and how deep: past every doubt and the thickness of a wall.
pub fn within_space(job: &Job, run: &Run, spot: Spot) -> Option<(usize, f64)> {
    job.spaces.iter().enumerate().filter(|(_, space)| space.body == run.body).find_map(|(number, space)| {
        let (low, high) = space.outline.map(|outline| (outline.low(), outline.high()))?;
        let point = spot.point;
        let faces =
            [point.x - low.x, high.x - point.x, point.y - low.y, high.y - point.y, point.z - low.z, high.z - point.z];
        let depth = faces.into_iter().fold(f64::INFINITY, f64::min);
        (depth > spot.reach() + WALL).then_some((number, depth))
    })
}

/// Whether the place of every leg of a run is known.
pub fn way_is_known(run: &Run) -> bool {
    run.walk.stretches.iter().all(|stretch| stretch.leg.is_some()) && run.walk.length.is_some()
}

/// Whether the sheet says where an exhaust leaves its heater. Without that the pipe lies somewhere about the body, and
/// how near it runs to the same heater's own lines cannot be told.
pub fn port_is_known(job: &Job, run: &Run) -> bool {
    let anchored = matches!(run.steps.iter().find(|step| matches!(step.met, Met::Leg(_) | Met::At(_))), Some(first) if matches!(first.met, Met::At(_)));
    let sheet = run.heater.and_then(|heater| job.sheet_of(heater));
    anchored || run.start != Start::Heater || sheet.is_some_and(|sheet| sheet.port("exhaust").is_some())
}

/// The outline of the body that a thing is fixed to, in that body's own axes, where it is more than a corner.
pub fn outline(job: &Job, body: Option<&str>) -> Option<AlignedBox> {
    let (vehicle, _) = job.vehicle.as_ref()?;
    let outline = match body {
        None => vehicle.outline?,
        Some(body) => {
            vehicle.second_outline.filter(|_| vehicle.second_body.get().is_some_and(|known| known == body))?
        }
    };
    let (low, high) = (outline.low(), outline.high());
    (high.x - low.x > 0.1 && high.y - low.y > 0.1).then_some(outline)
}

/// The nearest edge of the outline in plan: how far beyond it a place is (negative inside), and the way out over it.
pub fn beyond_edge(point: Point, outline: AlignedBox) -> (f64, Vector) {
    let (low, high) = (outline.low(), outline.high());
    let sides = [
        (low.x - point.x, Vector { x: -1.0, y: 0.0, z: 0.0 }),
        (point.x - high.x, Vector { x: 1.0, y: 0.0, z: 0.0 }),
        (low.y - point.y, Vector { x: 0.0, y: -1.0, z: 0.0 }),
        (point.y - high.y, Vector { x: 0.0, y: 1.0, z: 0.0 }),
    ];
    let [first, rest @ ..] = sides;
    rest.into_iter().fold(first, |nearest, side| if side.0 > nearest.0 { side } else { nearest })
}

/// A straight piece of pipe, line or cable.
#[derive(Clone, Copy)]
struct Piece {
    segment: Segment,
    reach: f64,
    radius: f64,
    covered: bool,
    place: Place,
}

/// Outside diameter: as stated, else the bore, which is the least it can be.
fn outside_of(tube: &Tube) -> f64 {
    tube.outside.get().or(tube.bore.get()).map_or(0.0, |quantity| quantity.high)
}

/// The pieces of a run whose place is known. Lagging adds to the radius.
fn pieces(run: &Run) -> Vec<Piece> {
    let mut out: Vec<Piece> = Vec::with_capacity(run.walk.stretches.len());
    let mut stretches = run.walk.stretches.iter().peekable();
    let mut diameter = run.said.outside.get().map_or(0.0, |quantity| quantity.high);
    let mut lagging: Option<Quantity> = None;
    for (number, step) in run.steps.iter().enumerate() {
        match &step.met {
            Met::Tube(tube) => diameter = outside_of(tube),
            Met::Conductor(conductor) => {
                // The insulation's thickness is not stated; the copper is the least a cable measures.
                let area = conductor.size.get().map_or(0.0, |size| size.high);
                diameter = 2.0 * (area / std::f64::consts::PI).sqrt();
            }
            Met::Lagged(thickness) => lagging = *thickness,
            // A shield stands along the leg before it.
            Met::Shield => {
                if let Some(piece) = out.last_mut() {
                    piece.covered = true;
                }
            }
            _ => {}
        }
        while let Some(stretch) = stretches.next_if(|stretch| stretch.step <= number) {
            if let Some((segment, reach)) = stretch.leg {
                let thick = lagging.map_or(0.0, |thickness| thickness.high);
                let radius = diameter / 2.0 + thick;
                out.push(Piece { segment, reach, radius, covered: lagging.is_some(), place: stretch.place });
            }
        }
    }
    out
}

/// The pieces without a length at their start.
fn without_start(pieces: &[Piece], mut length: f64) -> Vec<Piece> {
    let mut out = Vec::with_capacity(pieces.len());
    for piece in pieces {
        let long = piece.segment.way().length().in_metres();
        if long <= length {
            length -= long;
            continue;
        }
        let from = piece.segment.at(length / long);
        out.push(Piece { segment: Segment { from, to: piece.segment.to }, ..*piece });
        length = 0.0;
    }
    out
}

/// The pieces without a length at their end.
fn without_end(pieces: &[Piece], length: f64) -> Vec<Piece> {
    let turn = |pieces: Vec<Piece>| -> Vec<Piece> {
        let turned = |piece: Piece| {
            let Segment { from, to } = piece.segment;
            Piece { segment: Segment { from: to, to: from }, ..piece }
        };
        pieces.into_iter().rev().map(turned).collect()
    };
    turn(without_start(&turn(pieces.to_vec()), length))
}

/// What an exhaust is measured against.
enum Solid {
    Place(Spot),
    Box(AlignedBox, f64),
    Pieces(Vec<Piece>),
}

/// Where a run was walked from its heater's port all the way, the doubt of the heater's own place.
fn shared_doubt(job: &Job, run: &Run) -> Option<Vector> {
    let walked = run.start == Start::Heater && !run.steps.iter().any(|step| matches!(step.met, Met::At(_)));
    run.heater
        .filter(|_| walked)
        .and_then(|heater| job.heaters.get(heater))
        .and_then(|heater| heater.spot)
        .map(|spot| spot.doubt)
}

/// Two places of one heater's runs: the doubt of the heater's own place moves both alike and takes no part.
pub(super) fn apart(job: &Job, one: (&Run, Spot), other: (&Run, Spot)) -> (Spot, Spot) {
    let same = one.0.heater == other.0.heater;
    match (shared_doubt(job, one.0), shared_doubt(job, other.0)) {
        (Some(shared), Some(_)) if same => {
            let less = |spot: Spot| Spot {
                doubt: Vector {
                    x: (spot.doubt.x - shared.x).max(0.0),
                    y: (spot.doubt.y - shared.y).max(0.0),
                    z: (spot.doubt.z - shared.z).max(0.0),
                },
                ..spot
            };
            (less(one.1), less(other.1))
        }
        _ => (one.1, other.1),
    }
}

/// A distance with the radii and reaches that go off it.
#[derive(Clone, Copy)]
struct Measured {
    gap: Gap,
    radii: (f64, f64),
    reaches: (f64, f64),
    covered: bool,
    place: Place,
}

impl Measured {
    fn nominal(&self) -> f64 {
        (self.gap.distance.in_metres() - self.radii.0 - self.radii.1).max(0.0)
    }

    fn worst(&self) -> f64 {
        (self.nominal() - self.reaches.0 - self.reaches.1).max(0.0)
    }
}

/// The nearest of a pipe's pieces to a solid: bare ones and covered ones apart, since less is asked of the covered.
fn nearest(pipe: &[Piece], solid: &Solid, floor: Option<f64>) -> Vec<Measured> {
    let mut found: [Option<Measured>; 2] = [None, None];
    let mut keep = |piece: &Piece, gap: Gap, radius: f64, reach: f64| {
        let between = floor.is_some_and(|floor| {
            let (one, other) = (gap.on_first.z - floor, gap.on_second.z - floor);
            one.abs() > IN_FLOOR && other.abs() > IN_FLOOR && one.is_sign_positive() != other.is_sign_positive()
        });
        let covered = piece.covered || between;
        let radii = (piece.radius, radius);
        let measured = Measured { gap, radii, reaches: (piece.reach, reach), covered, place: piece.place };
        let [bare, lagged] = &mut found;
        let slot = if covered { lagged } else { bare };
        if slot.is_none_or(|known| measured.worst() < known.worst()) {
            *slot = Some(measured);
        }
    };
    for piece in pipe {
        match solid {
            Solid::Place(spot) => {
                let point = Segment { from: spot.point, to: spot.point };
                keep(piece, segment_to_segment(piece.segment, point), 0.0, spot.reach());
            }
            Solid::Box(area, reach) => keep(piece, segment_to_box(piece.segment, *area), 0.0, *reach),
            Solid::Pieces(others) => {
                for other in others {
                    keep(piece, segment_to_segment(piece.segment, other.segment), other.radius, other.reach);
                }
            }
        }
    }
    found.into_iter().flatten().collect()
}

/// A keep-clear: the box that it spans, else its legs with their diameter, else the place alone.
fn solid_of(job: &Job, run: &Run) -> Option<Solid> {
    if !run.said.spans.is_empty() {
        let corner = run.walk.start?;
        let (way, doubt) = job.axes.way(&run.said.spans);
        let reach = corner.reach() + doubt.length().in_metres();
        return Some(Solid::Box(AlignedBox::spanning(corner.point, corner.point.moved(way)), reach));
    }
    let legs = pieces(run);
    if !legs.is_empty() {
        return Some(Solid::Pieces(legs));
    }
    run.walk.start.map(Solid::Place)
}

/// The nearest way from legs to the surface of a thing to keep clear of, and how long it is as drawn; a place is a leg
/// without length. `None` where it is not known where the thing is, or where it has axes of its own.
pub(super) fn way_to_thing(job: &Job, run: &Run, legs: &[Segment], thing: &Run) -> Option<(Vector, f64)> {
    if run.body != thing.body {
        return None;
    }
    let solid = solid_of(job, thing)?;
    let mut nearest: Option<(Vector, f64)> = None;
    let mut keep = |gap: Gap, radius: f64| {
        let distance = (gap.distance.in_metres() - radius).max(0.0);
        if nearest.is_none_or(|(_, known)| distance < known) {
            nearest = Some((gap.on_first.to(gap.on_second), distance));
        }
    };
    for leg in legs {
        match &solid {
            Solid::Place(spot) => keep(segment_to_segment(*leg, Segment { from: spot.point, to: spot.point }), 0.0),
            Solid::Box(area, _) => keep(segment_to_box(*leg, *area), 0.0),
            Solid::Pieces(pieces) => {
                pieces.iter().for_each(|piece| keep(segment_to_segment(*leg, piece.segment), piece.radius))
            }
        }
    }
    nearest
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    if job.header.is_none() {
        return;
    }
    let exhausts: Vec<usize> =
        job.runs.iter().enumerate().filter(|(_, run)| run.kind == Kind::Exhaust).map(|(number, _)| number).collect();
    if exhausts.is_empty() {
        return;
    }
    figures.exhausts.clone_from(&exhausts);
    let taped = taped_gaps(job);
    figures.taped = taped.iter().map(|gap| (gap.exhaust, gap.target, gap.taped.from_pipe)).collect();
    for number in exhausts {
        let Some(exhaust) = job.runs.get(number) else { continue };
        let mut measuring = Measuring { job, number, exhaust, found: Vec::new() };
        measuring.measure_its_end();
        measuring.measure_its_pipe();
        let first = taped.partition_point(|gap| gap.exhaust < number);
        let own = taped.get(first..).unwrap_or(&[]).iter().take_while(|gap| gap.exhaust == number);
        measuring.file(own, figures);
    }
    list_missing(job, figures);
}

/// The distances of one exhaust.
struct Measuring<'a> {
    job: &'a Job,
    number: usize,
    exhaust: &'a Run,
    found: Vec<(Target, Measured, f64, f64)>,
}

impl<'a> Measuring<'a> {
    fn others(&self, kind: Kind) -> impl Iterator<Item = (usize, &'a Run)> + use<'a> {
        let body = self.exhaust.body.clone();
        self.job.runs.iter().enumerate().filter(move |(_, run)| run.kind == kind && run.body == body)
    }

    fn measure_its_end(&mut self) {
        let (Some(end), Some(said)) = (open_end(self.exhaust), self.exhaust.end.as_ref()) else { return };
        let place = said.written;
        let straight =
            |gap: Gap, reaches: (f64, f64)| Measured { gap, radii: (0.0, 0.0), reaches, covered: false, place };
        if let Some(outline) = outline(self.job, self.exhaust.body.as_deref()) {
            let (beyond, way) = beyond_edge(end.point, outline);
            let over_the_roof = end.point.z >= outline.high().z;
            if !over_the_roof {
                let edge = end.point.moved(way.times(-beyond));
                let doubt = way.x.abs() * end.doubt.x + way.y.abs() * end.doubt.y;
                let gap = Gap { on_first: end.point, on_second: edge, ..Gap::default() };
                // The signed distance travels beside the gap, since a gap has no sign.
                self.found.push((Target::Edge, straight(gap, (doubt, 0.0)), beyond, 0.0));
            }
        }
        for (number, run) in self.others(Kind::CombustionAir) {
            if let Some(inlet) = open_end(run) {
                let (one, other) = apart(self.job, (self.exhaust, end), (run, inlet));
                let gap = point_to_box(one.point, AlignedBox::spanning(other.point, other.point));
                self.found.push((Target::CombustionAir(number), straight(gap, (one.reach(), other.reach())), 0.0, 0.0));
            }
        }
        for (number, opening) in self.job.openings.iter().enumerate().filter(|(_, opening)| opening.can_open()) {
            if let Some((area, reach)) = opening.area.filter(|_| opening.body == self.exhaust.body) {
                let gap = point_to_box(end.point, area);
                let aside = (gap.on_second.x - end.point.x).hypot(gap.on_second.y - end.point.y);
                let below = area.low().z - end.point.z;
                self.found.push((Target::Opening(number), straight(gap, (end.reach(), reach)), aside, below));
            }
        }
        for (number, run) in self.others(Kind::ReturnAir) {
            if let Some(inlet) = inlet_of(run) {
                let (one, other) = apart(self.job, (self.exhaust, end), (run, inlet));
                let gap = point_to_box(one.point, AlignedBox::spanning(other.point, other.point));
                self.found.push((Target::ReturnAir(number), straight(gap, (one.reach(), other.reach())), 0.0, 0.0));
            }
        }
    }

    fn measure_its_pipe(&mut self) {
        let pipe = pieces(self.exhaust);
        if pipe.is_empty() {
            return;
        }
        let clipped = match self.exhaust.start {
            Start::Heater => without_start(&pipe, PORT_SPACING),
            _ => pipe.clone(),
        };
        let floor = self.job.floor_level().filter(|_| self.exhaust.body.is_none());
        let floor = floor.map(|height| height.value.nominal);
        for kind in [Kind::FuelLine, Kind::Cable, Kind::KeepClear] {
            for (number, run) in self.others(kind) {
                let own = kind != Kind::KeepClear && run.heater.is_some() && run.heater == self.exhaust.heater;
                if own && !port_is_known(self.job, self.exhaust) {
                    continue;
                }
                let target = match kind {
                    Kind::FuelLine => Target::FuelLine(number),
                    Kind::Cable => Target::Cable(number),
                    _ => Target::KeepClear(number),
                };
                let solid = match kind {
                    Kind::KeepClear => solid_of(self.job, run),
                    // What comes to the heater lies beside the pipe there; what is lost before it does not.
                    _ if own && run.walk.stretches.last().is_some_and(|last| last.leg.is_some()) => {
                        Some(Solid::Pieces(without_end(&pieces(run), PORT_SPACING)))
                    }
                    _ => Some(Solid::Pieces(pieces(run))),
                };
                let Some(solid) = solid else { continue };
                let measured = nearest(if own { &clipped } else { &pipe }, &solid, floor);
                self.found.extend(measured.into_iter().map(|measured| (target, measured, 0.0, 0.0)));
            }
        }
        for (number, tank) in self.job.tanks.iter().enumerate().filter(|(_, tank)| tank.body == self.exhaust.body) {
            // A tank that states only a place is a point somewhere in it: no distance from its wall is known.
            let Some((area, reach)) = tank.area.filter(|(area, _)| area.has_room()) else { continue };
            let measured = nearest(&pipe, &Solid::Box(area, reach), floor);
            self.found.extend(measured.into_iter().map(|measured| (Target::Tank(number), measured, 0.0, 0.0)));
        }
    }

    /// Lays the tapes beside what was walked, keeps what is near and the nearest of each kind, makes their figures.
    fn file<'t>(self, tapes: impl Iterator<Item = &'t TapedGap>, figures: &mut Figures) {
        let Measuring { job, number, exhaust, found } = self;
        let unit = unit_or(exhaust.walk.unit, "mm");
        let mut laid = Laid::new(job, number, exhaust, found);
        for tape in tapes {
            figures.differing.extend(laid.lay(tape));
        }
        let mut found = laid.found;
        let order = |filed: &Filed| if filed.clearance.target == Target::Edge { 0.0 } else { filed.clearance.worst };
        found.sort_by(|one, other| order(one).total_cmp(&order(other)));
        let mut seen: Vec<std::mem::Discriminant<Target>> = Vec::new();
        for filed in found {
            let clearance = filed.clearance;
            let first = !seen.contains(&std::mem::discriminant(&clearance.target));
            if !first && clearance.worst > NEAR + 1e-6 {
                continue;
            }
            if first {
                seen.push(std::mem::discriminant(&clearance.target));
            }
            figures.list.push(|| figure(job, exhaust, &filed, unit));
            figures.clearances.push(clearance);
        }
    }
}

/// What the walked routes give. The distance from the edge has a sign, which the gap has not.
#[derive(Clone, Copy)]
struct Walked {
    measured: Measured,
    nominal: f64,
    worst: f64,
}

/// A clearance with what it was worked out from.
struct Filed {
    clearance: Clearance,
    walked: Option<Walked>,
    /// What the tape gives, where it counts.
    taped: Option<Interval>,
    /// Whether it is known from the open end alone, so that the pipe may come nearer.
    end_alone: bool,
}

/// The clearances of one exhaust, while tapes are laid beside them.
struct Laid<'a> {
    job: &'a Job,
    number: usize,
    exhaust: &'a Run,
    /// Whether all of its pipe is lagged.
    lagged: bool,
    found: Vec<Filed>,
    /// The clearances to each target, by their numbers.
    to: HashMap<Target, Vec<usize>>,
}

impl<'a> Laid<'a> {
    fn new(job: &'a Job, number: usize, exhaust: &'a Run, walked: Vec<(Target, Measured, f64, f64)>) -> Laid<'a> {
        let lagged = lagged_all_along(exhaust);
        let found = Vec::with_capacity(walked.len());
        let mut laid = Laid { job, number, exhaust, lagged, found, to: HashMap::new() };
        for (target, measured, aside, below) in walked {
            let (nominal, worst) = match target {
                Target::Edge => (aside, aside - measured.reaches.0),
                _ => (measured.nominal(), measured.worst()),
            };
            let beside = match target {
                Target::Opening(_) => Beside::Walked { aside, below, doubt: nominal - worst },
                _ => Beside::None,
            };
            let clearance = Clearance {
                exhaust: number,
                target,
                covered: measured.covered,
                nominal,
                worst,
                between: Some((measured.gap.on_first, measured.gap.on_second)),
                place: measured.place,
                tape: None,
                beside,
            };
            let walked = Some(Walked { measured, nominal, worst });
            laid.push(Filed { clearance, walked, taped: None, end_alone: false });
        }
        laid
    }

    fn push(&mut self, filed: Filed) {
        self.to.entry(filed.clearance.target).or_default().push(self.found.len());
        self.found.push(filed);
    }

    /// Lays one tape beside what is known of the same pair. Gives both where they disagree.
    fn lay(&mut self, gap: &TapedGap) -> Option<Differing> {
        let (taped, target) = (&gap.taped, gap.target);
        let whole_pipe =
            matches!(target, Target::FuelLine(_) | Target::KeepClear(_) | Target::Cable(_) | Target::Tank(_));
        let end_alone = whole_pipe && !taped.from_pipe;
        let known = self.to.get(&target).map_or(&[][..], Vec::as_slice);
        let known = known.iter().filter(|at| {
            let filed = self.found.get(**at);
            filed.is_some_and(|filed| !taped.covered || filed.clearance.covered)
        });
        let nominal = |at: &usize| self.found.get(*at).map_or(f64::INFINITY, |filed| filed.clearance.nominal);
        let nearest = known.copied().min_by(|one, other| nominal(one).total_cmp(&nominal(other)));
        let before = nearest.and_then(|at| self.found.get(at)).map(|filed| (filed.interval(), filed.end_alone));
        let differs = before.is_some_and(|(known, known_end)| match (end_alone, known_end) {
            // The open end is a part of the pipe: it cannot be nearer than the pipe is.
            (true, false) => known.low - taped.distance.high > SLACK + 1e-9,
            (false, true) => taped.distance.low - known.high > SLACK + 1e-9,
            _ => disagree(taped.distance, known),
        });
        let differing = nearest.and_then(|at| self.found.get(at)).filter(|_| differs).map(|filed| Differing {
            run: self.said_by(taped.place),
            to: match target {
                Target::Edge => None,
                _ if self.said_by(taped.place) == self.number => Some(target_reads(self.job, target)),
                _ => Some(self.job.reads(self.exhaust)),
            },
            taped: taped.distance,
            other: filed.interval(),
            other_line: filed.clearance.at(),
            both_taped: filed.taped.is_some(),
            end_nearer_than_pipe: end_alone != filed.end_alone,
            place: taped.place,
        });
        // Where tape and route agree they are about the same part of the pipe, and the route knows what covers it.
        let covered_there = nearest.and_then(|at| self.found.get(at)).filter(|_| !differs && !end_alone);
        let covered = taped.covered || self.lagged || covered_there.is_some_and(|filed| filed.clearance.covered);
        let same = nearest
            .and_then(|at| self.found.get_mut(at))
            .filter(|filed| filed.clearance.covered == covered && filed.end_alone == end_alone);
        match same {
            Some(filed) => filed.take(self.job, self.exhaust, taped.distance, taped.place, taped.aside),
            None => {
                let beside = match target {
                    Target::Opening(_) => Beside::Taped(taped.aside),
                    _ => Beside::None,
                };
                let clearance = Clearance {
                    exhaust: self.number,
                    target,
                    covered,
                    nominal: taped.distance.nominal,
                    worst: taped.distance.low,
                    between: None,
                    place: taped.place,
                    tape: Some(taped.place),
                    beside,
                };
                self.push(Filed { clearance, walked: None, taped: Some(taped.distance), end_alone });
            }
        }
        differing
    }

    /// The run in whose block a tape stands: the exhaust itself, or the intake or inlet at the other end.
    fn said_by(&self, place: Place) -> usize {
        let says = |run: &&Run| run.said.measured.iter().any(|taped| taped.place == place);
        if says(&self.exhaust) {
            return self.number;
        }
        self.job.runs.iter().position(|run| says(&run)).unwrap_or(self.number)
    }
}

impl Filed {
    /// The distance with its doubt both ways.
    fn interval(&self) -> Interval {
        self.taped.unwrap_or_else(|| {
            let Clearance { nominal, worst, .. } = self.clearance;
            Interval::around(nominal, nominal - worst)
        })
    }

    /// Takes what a tape gives where that is less.
    fn take(&mut self, job: &Job, exhaust: &Run, taped: Interval, place: Place, aside: Option<Interval>) {
        let clearance = &mut self.clearance;
        if let Beside::Taped(known) = &mut clearance.beside {
            // Of two that were taken the nearer counts.
            let nearer = |one: Interval, other: Interval| if other.low < one.low { other } else { one };
            *known = match (*known, aside) {
                (Some(known), Some(aside)) => Some(nearer(known, aside)),
                (known, aside) => known.or(aside),
            };
        }
        // A doubt that nobody stated counts for nothing against a tape.
        let sure = clearance.tape.is_some() || port_is_known(job, exhaust);
        let low = if sure { clearance.worst } else { clearance.nominal };
        if taped.low < low {
            clearance.nominal = clearance.nominal.min(taped.nominal);
            clearance.worst = taped.low;
            clearance.tape = Some(place);
            self.taped = Some(taped);
        }
    }
}

/// Whether an exhaust is lagged from its beginning to its end, so that no part of it is bare.
fn lagged_all_along(run: &Run) -> bool {
    let mut lagged = false;
    for step in &run.steps {
        match step.met {
            Met::Lagged(thickness) => {
                if lagged && thickness.is_none() {
                    return false;
                }
                lagged = thickness.is_some();
            }
            Met::Leg(_) | Met::Run(..) | Met::Gap if !lagged => return false,
            _ => {}
        }
    }
    lagged
}

/// What a target is called, by kind and name.
pub fn target_reads(job: &Job, target: Target) -> String {
    match target {
        Target::Edge => "the edge of the vehicle".to_string(),
        Target::Opening(number) => {
            job.openings.get(number).map_or(String::new(), |opening| format!("opening {}", opening.name))
        }
        Target::Tank(number) => job.tanks.get(number).map_or(String::new(), |tank| format!("tank {}", tank.name)),
        Target::CombustionAir(run)
        | Target::ReturnAir(run)
        | Target::FuelLine(run)
        | Target::KeepClear(run)
        | Target::Cable(run) => job.runs.get(run).map_or(String::new(), |run| job.reads(run)),
    }
}

/// The header of a target's block.
pub fn target_header(job: &Job, target: Target) -> Option<Place> {
    match target {
        Target::Edge => job.vehicle.as_ref().map(|(_, header)| *header),
        Target::Opening(number) => job.openings.get(number).map(|opening| opening.header),
        Target::Tank(number) => job.tanks.get(number).map(|tank| tank.header),
        Target::CombustionAir(run)
        | Target::ReturnAir(run)
        | Target::FuelLine(run)
        | Target::KeepClear(run)
        | Target::Cable(run) => job.runs.get(run).map(|run| run.header),
    }
}

/// A place in the vehicle's words and the author's unit: `back 5.2 m, right 1.16 m, up 490 mm`.
pub fn place_reads(point: Point, unit: &Unit) -> String {
    let part = |value: f64, plus: &str, minus: &str| {
        format!("{} {}", if value < 0.0 { minus } else { plus }, unit.show(value.abs()))
    };
    [part(point.x, "forward", "back"), part(point.y, "left", "right"), part(point.z, "up", "down")].join(", ")
}

/// The working of what was walked: from the two nearest places to the distance with every tolerance at its worst.
fn walked_steps(edge: bool, walked: &Walked, unit: &'static Unit) -> Vec<Step> {
    let Walked { measured, nominal, worst } = *walked;
    let spelled = unit.spelling;
    let (one, other) = (measured.gap.on_first, measured.gap.on_second);
    let place = |point: Point, symbols: [&'static str; 3]| {
        let [forward, left, up] = symbols;
        vec![input(forward, point.x, spelled), input(left, point.y, spelled), input(up, point.z, spelled)]
    };
    let mut inputs = place(one, ["forward₁", "left₁", "up₁"]);
    inputs.extend(place(other, ["forward₂", "left₂", "up₂"]));
    let mut working = Vec::with_capacity(3);
    if edge {
        working.push(Step {
            what: "from the open end to the nearest edge of the vehicle, seen from above; negative inside the edge",
            formula: "d = way out over the edge, along forward or left",
            inputs,
            result: nominal,
            unit: spelled,
            source: "plane geometry",
        });
    } else {
        working.push(Step {
            what: "straight distance between the two nearest places; not the way that gas takes through the air",
            formula: "d = √((forward₂ − forward₁)² + (left₂ − left₁)² + (up₂ − up₁)²)",
            inputs,
            result: measured.gap.distance.in_metres(),
            unit: spelled,
            source: "exact for straight legs and boxes; Ericson, Real-Time Collision Detection, 5.1",
        });
    }
    if measured.radii != (0.0, 0.0) {
        working.push(Step {
            what: "from surface to surface, by outside radii and lagging",
            formula: "s = d − r₁ − r₂",
            inputs: vec![
                input("d", measured.gap.distance.in_metres(), spelled),
                input("r₁", measured.radii.0, spelled),
                input("r₂", measured.radii.1, spelled),
            ],
            result: nominal,
            unit: spelled,
            source: "plane geometry",
        });
    }
    if measured.reaches != (0.0, 0.0) {
        working.push(Step {
            what: "with every stated tolerance at its worst",
            formula: "w = s − doubt₁ − doubt₂",
            inputs: vec![
                input("s", nominal, spelled),
                input("doubt₁", measured.reaches.0, spelled),
                input("doubt₂", measured.reaches.1, spelled),
            ],
            result: worst,
            unit: spelled,
            source: "each tolerance may lie at its worst end",
        });
    }
    working
}

fn figure(job: &Job, exhaust: &Run, filed: &Filed, unit: &'static Unit) -> Figure {
    let clearance = &filed.clearance;
    let edge = clearance.target == Target::Edge;
    let mut working = filed.walked.as_ref().map_or(Vec::new(), |walked| walked_steps(edge, walked, unit));
    if let Some(taped) = filed.taped {
        let spelled = unit.spelling;
        working.push(Step {
            what: if working.is_empty() {
                "as taken by tape, every stated tolerance at its worst"
            } else {
                "the tape gives less, and the smaller counts"
            },
            formula: "w = tape − doubt",
            inputs: vec![input("tape", taped.nominal, spelled), input("doubt", taped.nominal - taped.low, spelled)],
            result: taped.low,
            unit: spelled,
            source: "the job: `measured`",
        });
    }
    let mut rests_on: Vec<Place> = exhaust.walk.stretches.iter().map(|stretch| stretch.place).collect();
    rests_on.push(clearance.place);
    rests_on.extend(clearance.tape);
    rests_on.extend(target_header(job, clearance.target));
    let from_end =
        matches!(clearance.target, Target::CombustionAir(_) | Target::Opening(_) | Target::ReturnAir(_) | Target::Edge);
    let (part, to) = (if from_end { "open end of " } else { "" }, target_reads(job, clearance.target));
    let title = match clearance.target {
        Target::Edge => format!("{part}{} past {to}", job.reads(exhaust)),
        _ => format!(
            "{part}{} to {to}{}",
            job.reads(exhaust),
            if clearance.covered { ", cover or floor between" } else { "" }
        ),
    };
    Figure {
        name: if edge { "beyond_the_vehicle_edge" } else { "clearance" },
        section: Section::Geometry,
        subject: exhaust.header,
        title,
        case: "",
        value: clearance.worst,
        unit,
        rests_on,
        working,
    }
}

/// What an exhaust's pipe must be known to pass at a distance: fuel lines, and what the job says to keep clear of.
pub fn things_to_pass(job: &Job) -> Vec<(&Run, Target)> {
    let things = job.runs.iter().enumerate().filter_map(|(number, run)| match run.kind {
        Kind::FuelLine => Some((run, Target::FuelLine(number))),
        Kind::KeepClear => Some((run, Target::KeepClear(number))),
        _ => None,
    });
    things.collect()
}

/// What could not be measured: each thing once, whatever the number of exhausts.
fn list_missing(job: &Job, figures: &mut Figures) {
    if !figures.list.is_kept() {
        return;
    }
    let taped = figures.taped.clone();
    let exhausts = figures.exhausts.clone();
    let by_all = |target: Target, from_pipe: bool| {
        !taped.is_empty() && exhausts.iter().all(|exhaust| taped.contains(&(*exhaust, target, from_pipe)))
    };
    let passed = things_to_pass(job);
    let mut missing = |subject: Place, title: String, because: &str| {
        figures.missing.push(Unjudged { section: Section::Geometry, subject, title, because: because.to_string() });
    };
    for (number, run) in job.runs.iter().enumerate().filter(|(_, run)| run.kind == Kind::Exhaust) {
        let name = job.reads(run);
        let from_edge = taped.contains(&(number, Target::Edge, false));
        let passed = !passed.is_empty() && passed.iter().all(|(_, target)| taped.contains(&(number, *target, true)));
        if ends_in(run).is_none() && open_end(run).is_none() && !from_edge {
            missing(run.header, format!("distances of the open end of {name}"), "the place of that end is not known");
        }
        if !way_is_known(run) && !passed {
            missing(
                run.header,
                format!("distances along {name}"),
                "part of it has a length but no direction, or the place where it starts is not stated",
            );
        }
        if !port_is_known(job, run) && !passed {
            missing(
                run.header,
                format!("distances of {name} from its heater's own lines and cables"),
                "no data sheet says where it leaves the heater",
            );
        }
        if run.body.is_some() && outline(job, run.body.as_deref()).is_none() && !from_edge {
            missing(
                run.header,
                format!("distance of {name} from the edge of its body"),
                "the outline of the body that it rides on is not stated",
            );
        }
    }
    let exhaust_bodies: Vec<&Option<String>> =
        job.runs.iter().filter(|run| run.kind == Kind::Exhaust).map(|run| &run.body).collect();
    for (number, run) in job.runs.iter().enumerate() {
        let title = || format!("distance of an exhaust from {}", job.reads(run));
        if matches!(run.kind, Kind::CombustionAir | Kind::FuelLine | Kind::KeepClear | Kind::Cable | Kind::ReturnAir)
            && exhaust_bodies.iter().any(|body| **body != run.body)
        {
            missing(
                run.header,
                title(),
                "they ride on two bodies that move against each other, so their distance changes",
            );
        }
        match run.kind {
            Kind::CombustionAir if by_all(Target::CombustionAir(number), false) => {}
            Kind::FuelLine if by_all(Target::FuelLine(number), true) => {}
            Kind::KeepClear if by_all(Target::KeepClear(number), true) => {}
            Kind::CombustionAir if ends_in(run).is_none() && open_end(run).is_none() => {
                missing(run.header, title(), "the place of its open end is not known");
            }
            Kind::FuelLine | Kind::KeepClear if !way_is_known(run) => {
                missing(
                    run.header,
                    title(),
                    "part of it has a length but no direction, or the place where it starts is not stated",
                );
            }
            _ => {}
        }
    }
    for (_, tank) in job.tanks.iter().enumerate().filter(|(number, _)| !by_all(Target::Tank(*number), true)) {
        if tank.area.is_none_or(|(area, _)| !area.has_room()) && exhaust_bodies.contains(&&tank.body) {
            let title = format!("distance of an exhaust from tank {}", tank.name);
            missing(tank.header, title, "how far the tank reaches is not stated: write `at` one corner and `spans`");
        }
    }
    for (number, opening) in job.openings.iter().enumerate().filter(|(_, opening)| opening.can_open()) {
        let title = format!("distance of an exhaust from opening {}", opening.name);
        if opening.area.is_none() && by_all(Target::Opening(number), false) {
            continue;
        }
        if opening.area.is_none() {
            missing(opening.header, title, "its place is not stated");
        } else if exhaust_bodies.iter().any(|body| **body != opening.body) {
            missing(
                opening.header,
                title,
                "they ride on two bodies that move against each other, so their distance changes",
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::judge_example;

    /// The clearances of the bench job with an example laid over it, by what they lead to.
    fn measured(example: &str) -> Vec<(String, Clearance)> {
        let analysis = judge_example(example);
        let clearances = analysis.figures.clearances.iter();
        clearances.map(|clearance| (target_reads(&analysis.job, clearance.target), *clearance)).collect()
    }

    fn of(found: &[(String, Clearance)], name: &str) -> Clearance {
        let known: Vec<&str> = found.iter().map(|(name, _)| name.as_str()).collect();
        found.iter().find(|(reads, _)| reads == name).unwrap_or_else(|| panic!("{name} among {known:?}")).1
    }

    fn close(one: f64, other: f64) {
        assert!((one - other).abs() < 1e-9, "{one} and {other}");
    }

    const EXHAUST: &str = "exhaust of reader\n  pipe steel, 24 mm bore, 28 mm outside\n  passage floor, sealed\n";
    const INTAKE: &str = "combustion-air of reader\n  hose intake-25\n  passage floor, sealed\n";

    /// Source: the Pythagorean quadruple 3² + 4² + 12² = 13².
    #[test]
    fn open_ends_are_as_far_apart_as_the_quadruple_says() {
        let example = format!(
            "{EXHAUST}  run 1 m\n  at back 1900 mm, right 1040 mm, up 440 mm\n  ends facing right\n\n\
             {INTAKE}  run 1 m\n  at back 1600 mm, right 640 mm, up 1640 mm\n  ends facing down"
        );
        let found = measured(&example);
        close(of(&found, "combustion-air of reader").nominal, 1.3);
        close(of(&found, "combustion-air of reader").worst, 1.3);
        close(of(&found, "the edge of the vehicle").nominal, 0.04);
    }

    /// The bench heater's exhaust leaves at right 350 mm and falls to up 470 mm; 690 mm further right it is 30 mm lower.
    #[test]
    fn the_doubt_of_the_heaters_own_place_moves_its_runs_alike() {
        let heater = |doubt: &str| {
            format!(
                "heater reader\n  datasheet air-2\n  in cabin\n  heats cabin\n  \
                 at back 1900 mm{doubt}, right 310 mm, up 670 mm\n  warm-end forward"
            )
        };
        let (sure, unsure) = (measured(&heater("")), measured(&heater(" ± 80 mm")));
        let inlet = "combustion-air of reader";
        close(of(&sure, inlet).worst, of(&unsure, inlet).worst);
        let door = "opening side-door";
        close(of(&sure, door).worst - of(&unsure, door).worst, 0.08);
        close(of(&sure, door).nominal, of(&unsure, door).nominal);
    }

    #[test]
    fn a_leg_with_a_tolerance_is_judged_at_its_worst_end() {
        let found = measured(&format!("{EXHAUST}  down 140 mm\n  right 690 mm ± 25 mm\n  ends facing right"));
        close(of(&found, "the edge of the vehicle").nominal, 0.04);
        close(of(&found, "the edge of the vehicle").worst, 0.015);
    }

    /// A line square across the pipe, 60 mm below its axis: 60 − 14 (half of 28) − 5 (half of 10) = 41 mm; with 10 mm of
    /// lagging 31 mm.
    #[test]
    fn pipes_are_measured_from_surface_to_surface() {
        let line = "\n\nkeep-clear crossing\n  kind fuel-line\n  outside 10 mm\n  at back 1500 mm, right 700 mm, up 410 mm\n  \
                    back 800 mm\n  ends here";
        let bare = measured(&format!("{EXHAUST}  down 140 mm\n  right 690 mm\n  ends facing right{line}"));
        close(of(&bare, "keep-clear crossing").nominal, 0.041);
        assert!(!of(&bare, "keep-clear crossing").covered);
        let lagged =
            measured(&format!("{EXHAUST}  down 140 mm\n  lagged 10 mm\n  right 690 mm\n  ends facing right{line}"));
        let covered = lagged.iter().find(|(name, found)| name == "keep-clear crossing" && found.covered);
        close(covered.expect("the lagged part").1.nominal, 0.031);
        let shielded =
            measured(&format!("{EXHAUST}  down 140 mm\n  right 690 mm\n  shield here\n  ends facing right{line}"));
        let covered = shielded.iter().find(|(name, found)| name == "keep-clear crossing" && found.covered);
        close(covered.expect("the shielded leg").1.nominal, 0.041);
    }

    /// The ports of the bench heater stand 120 mm and 80 mm apart; only what lies past 150 mm of pipe and line counts.
    #[test]
    fn ports_side_by_side_are_the_sheets_business() {
        let found = measured("");
        assert!(of(&found, "fuel-line of reader").worst > 0.15);
    }

    /// The port 60 mm below the heater's middle lies on the floor plane at 600 mm, as near as millimetres and inches say it.
    #[test]
    fn a_port_in_the_floor_plane_is_bare_in_every_unit() {
        let covered = |up: &str| {
            let found = measured(&format!(
                "heater reader\n  datasheet air-2\n  in cabin\n  heats cabin\n  at back 1900 mm, right 310 mm, up {up}\n  \
                 warm-end forward\n\nkeep-clear seat\n  kind occupants\n  at back 1900 mm, right 250 mm, up 650 mm\n  \
                 spans back 300 mm, left 300 mm, up 400 mm"
            ));
            of(&found, "keep-clear seat").covered
        };
        for up in ["659.99 mm", "660 mm", "660.01 mm", "25.984 in", "25.9843 in", "25.985 in", "2.165354 ft"] {
            assert!(!covered(up), "{up}");
        }
        assert!(covered("640 mm"));
    }

    #[test]
    fn nothing_is_measured_between_two_bodies() {
        let found = measured(&format!("{EXHAUST}  rides-on upper\n  down 140 mm\n  right 690 mm\n  ends facing right"));
        assert!(found.is_empty(), "{found:?}");
    }
}

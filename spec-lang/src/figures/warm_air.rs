//! The warm-air network of each air heater: what the fan delivers, which outlet gets how much, and how hot. Whether that is good enough is not in here.

use super::clearances::{ends_in, way_to_thing};
use super::return_air::{DrawnFrom, USUAL_SET_POINT, heated_spaces, warms_air};
use super::{DEFAULT_COLD, Figure, Figures, Section as Chapter, Step, Unjudged, input};
use crate::model::{Fact, Grille, Job, Met, Outlet, Run, Start, Tube, unit_or};
use crate::physics::air::{SPECIFIC_HEAT_OF_AIR, density_at_pressure, standard_pressure};
use crate::physics::duct_flow::{Duct, EXIT, SHARP_ENTRANCE, narrowing_loss_coefficient, widening_loss_coefficient};
use crate::physics::geometry::Segment;
use crate::physics::heat::OUTER_SURFACE_RESISTANCE;
use crate::physics::network::{
    Fan, Leaves, Operation, RATING_DENSITY, Section, SectionEnd, Supply, Wall, bend_in_parts, inlet_grille_coefficient,
    operate, outlet_grille_coefficient,
};
use crate::physics::tubes::TubeMaterial;
use crate::source::Place;
use crate::units::{
    Angle, Length, Power, Pressure, Quantity, Temperature, ThermalConductivity, ThermalTransmittance, Unit, VolumeFlow,
};
use crate::vocabulary::Kind;
use std::collections::HashMap;
use std::f64::consts::PI;

/// Roughness of a flexible duct, fully extended, where its sheet states none: 0.9 mm. ASHRAE Handbook Fundamentals, duct
/// design, table 1 (secondary copy), medium rough.
pub const FLEXIBLE_ROUGHNESS: f64 = 0.9e-3;
/// Roughness of a plain pipe, where its sheet states none: 0.05 mm. ASHRAE Handbook Fundamentals, duct design, table 1
/// (secondary copy), commercial steel and plastic.
pub const PIPE_ROUGHNESS: f64 = 0.05e-3;
/// Radius of a bend over the bore where no sheet states the tightest: common practice, no source.
pub const BEND_RATIO: f64 = 1.5;
/// The angle a tee turns off by where it is not stated: a plain tee.
pub const TEE_ANGLE: f64 = 90.0;
/// Free share of a grille whose free area is not stated: stamped and louvred grilles have 60 % to 75 %. Common practice,
/// no source.
pub const GRILLE_SHARE: f64 = 0.65;
/// Conductivity of lagging, W/(m·K): mineral wool and foam have 0.035 to 0.043 (declared values, secondary copies).
pub const LAGGING: f64 = 0.04;
/// Wall of a duct whose outside diameter is not stated: common practice, no source.
const DUCT_WALL: f64 = 1.5e-3;
/// Heat transfer from a duct to a room, radiation included: ISO 6946:2017 table 7, sideways (secondary copies).
const INDOOR_FILM: f64 = 1.0 / 0.13;
/// How many branches in a row are computed: more than any job has.
const DEEPEST: usize = 100;

/// One way of running: outlets open or shut, at full output. SI values.
#[derive(Clone, Copy, Debug)]
pub struct Case {
    /// Air drawn in, m³/s.
    pub drawn: f64,
    /// The same by mass, kg/s.
    pub mass: f64,
    /// How much warmer it leaves the heater, K; `None` without output or without flow.
    pub rise: Option<f64>,
    /// Temperature as it leaves the heater, K; likewise.
    pub leaves: Option<f64>,
    /// Pressure that the fan gives, Pa: what warm and return side together resist with.
    pub fan_pressure: f64,
    /// Pressure lost on the return side, Pa.
    pub return_loss: f64,
    /// Pressure lost on the warm side, Pa.
    pub warm_loss: f64,
}

/// What one outlet gets with every outlet open. SI values.
#[derive(Clone, Copy, Debug)]
pub struct Delivered {
    /// Share of the heater's air by mass, every outlet an open end.
    pub share: f64,
    /// The same with vanes before every outlet ([`GRILLE_SHARE`] free), which evens shares out. What stands there is not stated.
    pub share_behind_vanes: f64,
    /// Its part of the air drawn in, m³/s.
    pub flow: f64,
    /// Speed in the duct at its end, m/s.
    pub speed: f64,
    /// Temperature of the air, K; `None` where the heater's output is not stated.
    pub temperature: Option<f64>,
    /// How much it has cooled in the ducts, K.
    pub drop: Option<f64>,
    /// Heat above the set-point that it brings, W.
    pub heat: Option<f64>,
}

/// An outlet.
#[derive(Clone, Debug)]
pub struct OutletAir {
    /// Its run.
    pub run: usize,
    /// Its step in the run.
    pub step: usize,
    /// Where it is written.
    pub place: Place,
    /// Its name.
    pub name: String,
    /// Whether it can be shut.
    pub closable: bool,
    /// The space it blows into, where stated.
    pub space: Option<usize>,
    /// The share it is to have.
    pub wants: Option<Fact<Quantity>>,
    /// Length of duct on its way that lies outside every space, m.
    pub outdoors: f64,
    /// Whether all of that is lagged.
    pub lagged: bool,
    /// What it gets, where the network could be solved.
    pub gets: Option<Delivered>,
    /// The nearest thing that does not bear hot air within 45° of where it faces: the run's number, and how far in m.
    pub before: Option<(usize, f64)>,
}

/// A duct of one kind along a run.
#[derive(Clone, Debug)]
pub struct DuctAir {
    /// Its run.
    pub run: usize,
    /// The statement that names the duct.
    pub place: Place,
    /// Its bore, m.
    pub bore: f64,
    /// The highest temperature that it bears, K, and its sheet.
    pub bears: Option<(f64, String)>,
    /// Hottest air in it with every outlet open, K.
    pub open: Option<f64>,
    /// Hottest air in it with the closable outlets shut, K.
    pub shut: Option<f64>,
    /// Its outermost surface where the air comes in, every outlet open, K.
    pub surface: Option<f64>,
    /// Whether its outside is bare metal.
    pub metal: bool,
    /// Where people are that it passes: the run's number of the nearest, and how far that is from the run's middle line in m.
    pub people: Option<(usize, f64)>,
}

/// The return side as it meets the duct.
#[derive(Clone, Debug, Default)]
pub struct ReturnSide {
    /// The narrowest bore, m, and where that is written.
    pub bore: Option<(f64, Place)>,
    /// The grille, and where it is written.
    pub grille: Option<(Grille, Place)>,
}

/// The warm-air network of one heater.
#[derive(Clone, Debug)]
pub struct WarmAir {
    /// The heater's number.
    pub heater: usize,
    /// The header of the run that leaves the heater.
    pub place: Place,
    /// Every outlet open.
    pub open: Option<Case>,
    /// The closable outlets shut, where some can be shut and not all.
    pub shut: Option<Case>,
    /// Outlets, in the order of the walk.
    pub outlets: Vec<OutletAir>,
    /// Ducts.
    pub ducts: Vec<DuctAir>,
    /// The first duct's bore, m, and where it is written.
    pub first: Option<(f64, Place)>,
    /// Where the way narrows before any tee or outlet: the place, the bore from there on in m.
    pub narrows: Option<(Place, f64)>,
    /// The return side.
    pub returns: ReturnSide,
    /// Temperature of the air drawn in, K.
    pub set: f64,
    /// The unit to show temperatures in.
    pub unit: &'static Unit,
}

impl WarmAir {
    /// The case that is hardest on the heater: closable outlets shut where there are such.
    pub fn hardest(&self) -> Option<&Case> {
        self.shut.as_ref().or(self.open.as_ref())
    }
}

/// Heat in W that warm air brings to a space above the set-point, at the heaters' full output with every outlet open.
///
/// Outlets count that blow into the space or into one that shares its air; one that names no space counts where its
/// heater heats this space alone. `None` where none does, or where one that does could not be computed.
pub fn heat_to_space(job: &Job, figures: &Figures, space: usize) -> Option<f64> {
    let air = job.shared_air(space);
    let mut sum = None;
    for network in &figures.warm_air {
        let alone = heated_spaces(job, network.heater) == [space];
        for outlet in &network.outlets {
            let here = outlet.space.map_or(alone, |into| air.contains(&into));
            if here {
                *sum.get_or_insert(0.0) += outlet.gets?.heat?;
            }
        }
    }
    sum
}

/// A section with what it stands for in the job.
struct Laid {
    section: Section,
    run: usize,
    /// Which of the ducts it is part of.
    duct: usize,
    outlet: Option<usize>,
}

/// Lays a heater's runs out as sections.
struct Layer<'a> {
    job: &'a Job,
    branches: &'a HashMap<(usize, &'a str), Vec<usize>>,
    laid: Vec<Laid>,
    outlets: Vec<OutletAir>,
    ducts: Vec<DuctAir>,
    places: Vec<Place>,
    lacking: Option<String>,
    /// Temperature around ducts outside and inside.
    outside: f64,
    inside: f64,
    narrows: Option<(Place, f64)>,
    parted: bool,
}

/// The section under way.
struct Going<'a> {
    run: usize,
    fed_by: Option<usize>,
    leaves: Leaves,
    tube: Option<(&'a Tube, Place)>,
    lagging: Option<f64>,
    outdoors: bool,
    length: f64,
    bends: f64,
    fittings: f64,
    /// Length outdoors since the heater, and whether all of it is lagged.
    bare: (f64, bool),
}

impl Going<'_> {
    fn has_something(&self) -> bool {
        self.length > 0.0 || self.bends > 0.0
    }
}

/// Roughness of a duct: its sheet's, else by its kind.
fn roughness(tube: &Tube) -> f64 {
    let rigid = tube.word == "pipe" && !tube.uneven;
    let otherwise = if rigid { PIPE_ROUGHNESS } else { FLEXIBLE_ROUGHNESS };
    tube.roughness.get().map_or(otherwise, |roughness| roughness.high)
}

/// The bends at one step as bores of friction and a coefficient.
fn bend_parts(run: &Run, step: usize, bore: f64, tube: &Tube) -> (f64, f64) {
    let bends = |step: usize| run.walk.bends_after.get(step).copied().flatten().map_or(0.0, |bends| bends.high);
    let turned = bends(step) - step.checked_sub(1).map_or(0.0, bends);
    if turned.is_nan() || turned <= 1e-6 {
        return (0.0, 0.0);
    }
    let ratio = tube.bend_radius.get().map_or(BEND_RATIO, |radius| radius.nominal / bore).clamp(0.5, 20.0);
    bend_in_parts(Angle::radians(turned), ratio).unwrap_or((0.0, 0.0))
}

/// The loss of a change of bore, on the velocity behind it.
fn change_of_bore(before: f64, behind: f64) -> f64 {
    let (before, behind) = (Length::metres(before), Length::metres(behind));
    if before < behind {
        let on_before = widening_loss_coefficient(before, behind).unwrap_or(0.0);
        on_before * (behind / before).powi(4)
    } else {
        narrowing_loss_coefficient(before, behind).unwrap_or(0.0)
    }
}

impl<'a> Layer<'a> {
    /// Whether a place of a run lies outside every space that states where it is, in a job where all do.
    fn is_outdoors(&self, run: &Run, stretch: usize) -> bool {
        // The place as meant decides: doubt about a length must not make a cold duct a warm one and hide what it loses.
        let Some((segment, _)) = run.walk.stretches.get(stretch).and_then(|stretch| stretch.leg) else {
            return false;
        };
        let middle = segment.at(0.5);
        let known = !self.job.spaces.is_empty() && self.job.spaces.iter().all(|space| space.outline.is_some());
        known
            && self
                .job
                .spaces
                .iter()
                .filter_map(|space| space.outline)
                .all(|outline| outline.nearest(middle).distance_to(middle).in_metres() > 0.1)
    }

    fn lack(&mut self, because: String) {
        self.lacking.get_or_insert(because);
    }

    /// Ends the section under way; its number.
    fn close(&mut self, going: &mut Going<'a>, end: SectionEnd, outlet: Option<usize>) -> Option<usize> {
        let name = self.job.runs.get(going.run).map_or(String::new(), |run| self.job.reads(run));
        let Some((tube, place)) = going.tube else {
            self.lack(format!("{name} states no duct"));
            return None;
        };
        let Some(bore) = tube.bore.get().map(|bore| bore.low).filter(|bore| *bore > 0.0) else {
            self.lack(format!("the bore of {name} is not stated"));
            return None;
        };
        let before =
            going.fed_by.and_then(|before| self.laid.get(before)).map(|laid| laid.section.duct.bore.in_metres());
        if let Some(before) = before.filter(|before| (before - bore).abs() > 1e-6 && going.leaves == Leaves::Straight) {
            going.fittings += change_of_bore(before, bore);
        }
        let duct = match self.ducts.iter().position(|duct| duct.place == place && duct.run == going.run) {
            Some(known) => known,
            None => {
                let sheet = tube.sheet.clone().unwrap_or_default();
                let bears = tube.bears.get().map(|bears| (bears.high, sheet));
                let metal = tube.material.is_some_and(TubeMaterial::is_metal);
                let people = self.people_near(going.run);
                self.ducts.push(DuctAir {
                    run: going.run,
                    place,
                    bore,
                    bears,
                    open: None,
                    shut: None,
                    surface: None,
                    metal,
                    people,
                });
                self.ducts.len() - 1
            }
        };
        let outside = tube.outside.get().map_or(bore + 2.0 * DUCT_WALL, |outside| outside.high.max(bore));
        let (film, around) = if going.outdoors {
            (1.0 / OUTER_SURFACE_RESISTANCE.in_square_metre_kelvin_per_watt(), self.outside)
        } else {
            (INDOOR_FILM, self.inside)
        };
        let wall = Wall {
            outside: Length::metres(outside),
            lagging: Length::metres(going.lagging.unwrap_or(0.0)),
            conductivity: ThermalConductivity::watts_per_metre_kelvin(LAGGING),
            outer_film: ThermalTransmittance::watts_per_square_metre_kelvin(film),
            around: Temperature::kelvin(around),
        };
        let section = Section {
            fed_by: going.fed_by,
            leaves: going.leaves,
            duct: Duct {
                bore: Length::metres(bore),
                length: Length::metres(going.length),
                roughness: Length::metres(roughness(tube)),
                fittings: going.fittings,
            },
            bends: going.bends,
            end,
            wall: Some(wall),
        };
        self.laid.push(Laid { section, run: going.run, duct, outlet });
        let number = self.laid.len() - 1;
        going.fed_by = Some(number);
        going.leaves = Leaves::Straight;
        going.length = 0.0;
        going.bends = 0.0;
        going.fittings = 0.0;
        Some(number)
    }

    fn before(&self, number: usize, step: usize, outlet: &Outlet) -> Option<(usize, f64)> {
        let (run, facing) = (self.job.runs.get(number)?, self.job.axes.unit(outlet.facing?));
        let spot = run.walk.after.get(step).copied().flatten()?;
        let here = [Segment { from: spot.point, to: spot.point }];
        let things = self.job.runs.iter().enumerate().filter(|(_, thing)| {
            thing.kind == Kind::KeepClear
                && matches!(thing.said.kind.get(), Some(&("timber" | "plastic" | "occupants")))
        });
        let ahead = things.filter_map(|(number, thing)| {
            let (way, distance) = way_to_thing(self.job, run, &here, thing)?;
            let aimed = facing.angle_to(way).is_none_or(|angle| angle.in_degrees() <= 45.0);
            aimed.then_some((number, distance))
        });
        ahead.min_by(|one, other| one.1.total_cmp(&other.1))
    }

    fn outlet(&mut self, going: &Going<'_>, step: usize, place: Place, outlet: &Outlet) -> usize {
        self.outlets.push(OutletAir {
            run: going.run,
            step,
            place,
            name: outlet.name.clone(),
            closable: outlet.closable,
            space: outlet.space,
            wants: outlet.wants,
            outdoors: going.bare.0,
            lagged: going.bare.1,
            gets: None,
            before: self.before(going.run, step, outlet),
        });
        self.outlets.len() - 1
    }

    /// Lays a run and all that branches off it.
    fn run(
        &mut self,
        number: usize,
        fed_by: Option<usize>,
        leaves: Leaves,
        bare: (f64, bool),
        depth: usize,
    ) -> Option<()> {
        let job = self.job;
        let run = job.runs.get(number)?;
        if depth > DEEPEST {
            self.lack(format!("{} comes behind more than {DEEPEST} branches in a row", job.reads(run)));
            return None;
        }
        if run.walk.length.is_none() {
            self.lack(format!("a length on the way of {} is left open or cannot be read", job.reads(run)));
            return None;
        }
        let mut going = Going {
            run: number,
            fed_by,
            leaves,
            tube: None,
            lagging: None,
            outdoors: false,
            length: 0.0,
            bends: 0.0,
            fittings: 0.0,
            bare,
        };
        let last = run.steps.iter().rposition(|step| {
            matches!(step.met, Met::Leg(_) | Met::Run(..) | Met::Outlet(_))
                || !self.branches(number, &step.met).is_empty()
        });
        let mut stretch = 0;
        let mut ended = false;
        for (at, step) in run.steps.iter().enumerate() {
            match &step.met {
                Met::Tube(tube) => {
                    if going.has_something() {
                        self.close(&mut going, SectionEnd::Feeds, None)?;
                        let (before, behind) =
                            (self.laid.last().map(|laid| laid.section.duct.bore.in_metres()), tube.bore.get());
                        if let (Some(before), Some(behind)) = (before, behind)
                            && !self.parted
                            && self.narrows.is_none()
                            && behind.nominal < before - 1e-6
                        {
                            self.narrows = Some((step.place, behind.nominal));
                        }
                    }
                    going.tube = Some((tube, step.place));
                    self.places.push(step.place);
                }
                Met::Lagged(thickness) => {
                    if going.has_something() {
                        self.close(&mut going, SectionEnd::Feeds, None)?;
                    }
                    going.lagging = thickness.as_ref().map(|thickness| thickness.low);
                }
                _ => {}
            }
            while run.walk.stretches.get(stretch).is_some_and(|found| found.step <= at) {
                let outdoors = self.is_outdoors(run, stretch);
                if outdoors != going.outdoors && going.has_something() {
                    self.close(&mut going, SectionEnd::Feeds, None)?;
                }
                going.outdoors = outdoors;
                if let Some(found) = run.walk.stretches.get(stretch) {
                    going.length += found.length.high;
                    self.places.push(found.place);
                    if outdoors {
                        going.bare = (going.bare.0 + found.length.high, going.bare.1 && going.lagging.is_some());
                    }
                }
                stretch += 1;
            }
            if let Some((tube, bore)) = going.tube.and_then(|(tube, _)| tube.bore.get().map(|bore| (tube, bore.low))) {
                let (bores, coefficient) = bend_parts(run, at, bore, tube);
                going.bends += bores;
                going.fittings += coefficient;
            }
            match &step.met {
                Met::Tee(_, angle) => {
                    let branches = self.branches(number, &step.met).to_vec();
                    let angle =
                        Angle::degrees(angle.map_or(TEE_ANGLE, |angle| Angle::radians(angle.nominal).in_degrees()));
                    for branch in branches {
                        // Two branches at one tee are two tees in a row, with nothing between.
                        self.close(&mut going, SectionEnd::Feeds, None)?;
                        self.parted = true;
                        self.run(branch, going.fed_by, Leaves::Branch(angle), going.bare, depth + 1)?;
                        ended = Some(at) == last;
                    }
                }
                Met::Outlet(outlet) if Some(at) == last => {
                    let outlet = self.outlet(&going, at, step.place, outlet);
                    self.close(&mut going, SectionEnd::Outlet(EXIT), Some(outlet))?;
                    ended = true;
                }
                Met::Outlet(outlet) => {
                    self.close(&mut going, SectionEnd::Feeds, None)?;
                    self.parted = true;
                    let outlet = self.outlet(&going, at, step.place, outlet);
                    let (fed_by, leaves) = (going.fed_by, going.leaves);
                    going.leaves = Leaves::Branch(Angle::degrees(TEE_ANGLE));
                    self.close(&mut going, SectionEnd::Outlet(EXIT), Some(outlet))?;
                    (going.fed_by, going.leaves) = (fed_by, leaves);
                }
                _ => {}
            }
        }
        if ended {
            return Some(());
        }
        let Some(end) = &run.end else {
            self.lack(format!("{} states no outlet and no end", job.reads(run)));
            return None;
        };
        let open = Outlet {
            name: run.name.clone().unwrap_or_default(),
            closable: false,
            facing: None,
            space: ends_in(run),
            wants: None,
        };
        let outlet = self.outlet(&going, run.steps.len(), end.written, &open);
        self.close(&mut going, SectionEnd::Outlet(EXIT), Some(outlet))?;
        Some(())
    }

    /// The nearest people that a run passes.
    fn people_near(&self, number: usize) -> Option<(usize, f64)> {
        let run = self.job.runs.get(number)?;
        let mut people = self
            .job
            .runs
            .iter()
            .enumerate()
            .filter(|(_, thing)| thing.kind == Kind::KeepClear && thing.said.kind.get() == Some(&"occupants"))
            .peekable();
        people.peek()?;
        let legs: Vec<Segment> = run.walk.legs().map(|(segment, ..)| segment).collect();
        people
            .filter_map(|(number, thing)| {
                way_to_thing(self.job, run, &legs, thing).map(|(_, distance)| (number, distance))
            })
            .min_by(|one, other| one.1.total_cmp(&other.1))
    }

    /// The runs that branch off a tee.
    fn branches<'s>(&'s self, trunk: usize, met: &'s Met) -> &'s [usize] {
        match met {
            Met::Tee(name, _) => self.branches.get(&(trunk, name.as_str())).map_or(&[], Vec::as_slice),
            _ => &[],
        }
    }
}

/// The runs that branch off each tee, a run's number and the tee's name. By name, so that the order in the text is the
/// same to the air.
fn branches_of(job: &Job) -> HashMap<(usize, &str), Vec<usize>> {
    let mut branches: HashMap<(usize, &str), Vec<usize>> = HashMap::new();
    for (number, run) in job.runs.iter().enumerate() {
        if let Start::Tee(trunk, tee) = &run.start {
            branches.entry((*trunk, tee.as_str())).or_default().push(number);
        }
    }
    for found in branches.values_mut() {
        found.sort_by_key(|number| job.runs.get(*number).and_then(|run| run.name.as_deref()));
    }
    branches
}

/// The return side as ducts in a row, from the heater's port to the open mouth.
fn return_ducts(
    job: &Job,
    heater: usize,
    first_bore: f64,
    side: &mut ReturnSide,
    lacking: &mut Option<String>,
) -> Vec<(Duct, f64)> {
    let mut ducts: Vec<(Duct, f64)> = Vec::new();
    let Some(run) = job.runs_of(heater, Kind::ReturnAir).next() else { return ducts };
    for step in &run.steps {
        if let Met::Grille(grille) = &step.met {
            side.grille = Some((grille.clone(), step.place));
        }
    }
    let free = |bore: f64| {
        let of_bore = PI / 4.0 * bore * bore;
        side.grille.as_ref().map(|(grille, _)| grille.area.map_or(GRILLE_SHARE, |area| area.low / of_bore))
    };
    if run.walk.stretches.is_empty() {
        // The open inlet itself is part of the fan's flow without duct; a grille before it is not.
        if let Some(coefficient) = free(first_bore).and_then(inlet_grille_coefficient) {
            let fittings = (coefficient - SHARP_ENTRANCE).max(0.0);
            let bore = Length::metres(first_bore);
            ducts.push((Duct { bore, length: Length::ZERO, roughness: Length::ZERO, fittings }, 0.0));
        }
        return ducts;
    }
    let reads = job.reads(run);
    if run.walk.length.is_none() {
        lacking.get_or_insert(format!("a length on the way of {reads} is left open or cannot be read"));
    }
    let mut tube: Option<&Tube> = None;
    let mut stretches = run.walk.stretches.iter().peekable();
    for (at, step) in run.steps.iter().enumerate() {
        if let Met::Tube(laid) = &step.met {
            tube = Some(laid);
            if let Some(bore) = laid.bore.get()
                && side.bore.is_none_or(|(narrowest, _)| bore.nominal < narrowest)
            {
                side.bore = Some((bore.nominal, step.place));
            }
        }
        let mut length = 0.0;
        while let Some(stretch) = stretches.next_if(|stretch| stretch.step <= at) {
            length += stretch.length.high;
        }
        let Some((laid, bore)) =
            tube.and_then(|tube| tube.bore.get().map(|bore| (tube, bore.low))).filter(|(_, bore)| *bore > 0.0)
        else {
            if length > 0.0 {
                lacking.get_or_insert(format!("the bore of {reads} is not stated"));
            }
            continue;
        };
        let (bends, mut fittings) = bend_parts(run, at, bore, laid);
        if length <= 0.0 && bends <= 0.0 {
            continue;
        }
        let same = ducts.last().is_some_and(|(duct, _)| (duct.bore.in_metres() - bore).abs() < 1e-9);
        if !same {
            // Air goes the other way: from what is further off into what was laid before.
            let behind = ducts.last_mut();
            if let Some((duct, _)) = behind {
                duct.fittings += change_of_bore(bore, duct.bore.in_metres());
            }
        }
        match ducts.last_mut().filter(|_| same) {
            Some((duct, its_bends)) => {
                duct.length = duct.length + Length::metres(length);
                duct.fittings += fittings;
                *its_bends += bends;
            }
            None => {
                fittings = fittings.max(0.0);
                let (bore, length) = (Length::metres(bore), Length::metres(length));
                ducts.push((Duct { bore, length, roughness: Length::metres(roughness(laid)), fittings }, bends));
            }
        }
    }
    if let Some((mouth, _)) = ducts.last_mut() {
        let grille = free(mouth.bore.in_metres()).and_then(inlet_grille_coefficient);
        mouth.fittings += grille.unwrap_or(0.0).max(SHARP_ENTRANCE);
    }
    ducts
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    if job.header.is_none() {
        return;
    }
    let branches = branches_of(job);
    for heater in (0..job.heaters.len()).filter(|heater| warms_air(job, *heater)) {
        of_heater(job, heater, &branches, figures);
    }
}

fn of_heater(job: &Job, heater: usize, branches: &HashMap<(usize, &str), Vec<usize>>, figures: &mut Figures) {
    let from_heater: Vec<usize> = job
        .runs
        .iter()
        .enumerate()
        .filter(|(_, run)| run.kind == Kind::WarmAir && run.heater == Some(heater) && run.start == Start::Heater)
        .map(|(number, _)| number)
        .collect();
    let Some(header) = from_heater.first().and_then(|run| job.runs.get(*run)).map(|run| run.header) else { return };
    let returned = figures.returns.iter().find(|found| found.heater == heater);
    let cold = job.conditions.design_cold.get().map_or(Temperature::celsius(DEFAULT_COLD).in_kelvin(), |cold| cold.low);
    let set = returned.map_or(USUAL_SET_POINT.in_kelvin(), |found| found.set);
    let drawn = if returned.is_some_and(|found| found.from == DrawnFrom::Outside) { cold } else { set };
    let unit = returned.map_or(unit_or(None, "°C"), |found| found.unit);
    let mut layer = Layer {
        job,
        branches,
        laid: Vec::new(),
        outlets: Vec::new(),
        ducts: Vec::new(),
        places: Vec::new(),
        lacking: None,
        outside: cold,
        inside: set,
        narrows: None,
        parted: false,
    };
    let whole = match from_heater.as_slice() {
        [only] => layer.run(*only, None, Leaves::Straight, (0.0, true), 0).is_some(),
        _ => {
            layer.lack(format!(
                "{} runs of warm air leave the heater, and the job does not say how the air divides",
                from_heater.len()
            ));
            false
        }
    };
    let first = layer.ducts.first().map(|duct| (duct.bore, duct.place));
    let mut returns = ReturnSide::default();
    let mut lacking = layer.lacking.take();
    let return_side = match first {
        Some((bore, _)) => return_ducts(job, heater, bore, &mut returns, &mut lacking),
        None => Vec::new(),
    };
    let mut network = WarmAir {
        heater,
        place: header,
        open: None,
        shut: None,
        outlets: layer.outlets,
        ducts: layer.ducts,
        first,
        narrows: layer.narrows,
        returns,
        set,
        unit,
    };
    let sheet = job.sheet_of(heater);
    let (flow, blocked) =
        (sheet.and_then(|sheet| sheet.fan_flow.fact()), sheet.and_then(|sheet| sheet.fan_blocked.fact()));
    if lacking.is_none() && (flow.is_none() || blocked.is_none()) {
        let what = if flow.is_none() { "flow without duct" } else { "pressure when blocked" };
        lacking = Some(match sheet {
            Some(sheet) => format!("data sheet {} states no `fan` {what}", sheet.name),
            None => "the heater has no data sheet that states its `fan`".to_string(),
        });
    }
    if let (Some(flow), Some(blocked), None, true) = (flow, blocked, &lacking, whole) {
        let output = sheet.and_then(|sheet| sheet.output.fact());
        let altitude = job.conditions.altitude.get().map_or(0.0, |altitude| altitude.high);
        let fan = Fan {
            free_flow: VolumeFlow::cubic_metres_per_second(flow.value.low),
            blocked_pressure: Pressure::pascals(blocked.value.low),
            outlet_bore: first.map(|(bore, _)| Length::metres(bore)),
        };
        let supply = Supply {
            drawn: Temperature::kelvin(drawn),
            pressure: standard_pressure(Length::metres(altitude)),
            heat: Power::watts(output.map_or(0.0, |output| output.value.high)),
        };
        let mut sections: Vec<Section> = layer.laid.iter().map(|laid| laid.section).collect();
        let solved = operate(fan, &return_side, &sections, supply);
        match &solved {
            Some(state) => {
                network.open = Some(case(state, drawn, output.is_some()));
                let vanes = behind_vanes(fan, &return_side, &sections, supply);
                delivered(&mut network, &layer.laid, state, output.is_some(), vanes.as_deref());
            }
            None => lacking = Some("fan and ducts find no balance with what is stated".to_string()),
        }
        let closable = network.outlets.iter().filter(|outlet| outlet.closable).count();
        if closable > 0 && closable < network.outlets.len() {
            for (section, laid) in sections.iter_mut().zip(&layer.laid) {
                let shuts =
                    laid.outlet.and_then(|outlet| network.outlets.get(outlet)).is_some_and(|outlet| outlet.closable);
                if shuts {
                    section.end = SectionEnd::Shut;
                }
            }
            if let Some(state) = operate(fan, &return_side, &sections, supply) {
                network.shut = Some(case(&state, drawn, output.is_some()));
                for (laid, section) in layer.laid.iter().zip(&state.sections) {
                    let hottest = section.enters.in_kelvin();
                    if let Some(duct) = network
                        .ducts
                        .get_mut(laid.duct)
                        .filter(|_| output.is_some() && section.flow.in_kilograms_per_second() > 0.0)
                    {
                        duct.shut = Some(duct.shut.unwrap_or(hottest).max(hottest));
                    }
                }
            }
        }
        if let Some(state) = &solved {
            let mut rests_on = layer.places;
            rests_on.extend([flow.written, blocked.written]);
            rests_on.extend(output.map(|output| output.written));
            let shown =
                Shown { fan, flow: flow.value.unit, pressure: blocked.value.unit, supply, return_side, rests_on };
            list(job, &network, &layer.laid, state, &shown, figures);
        }
        if output.is_none() {
            figures.missing.push(Unjudged {
                section: Chapter::Air,
                subject: header,
                title: format!("temperature of the warm air of {}", reads(job, heater)),
                because: "the heater's data sheet states no `output`".to_string(),
            });
        }
    }
    if let Some(because) = lacking {
        figures.missing.push(Unjudged {
            section: Chapter::Air,
            subject: header,
            title: format!("flow of warm air of {}, and each outlet's share", reads(job, heater)),
            because,
        });
    }
    figures.warm_air.push(network);
}

/// The share of every section with vanes before each outlet; none where there is but one.
fn behind_vanes(fan: Fan, return_side: &[(Duct, f64)], sections: &[Section], supply: Supply) -> Option<Vec<f64>> {
    let coefficient = outlet_grille_coefficient(GRILLE_SHARE)?;
    let outlets = sections.iter().filter(|section| matches!(section.end, SectionEnd::Outlet(_))).count();
    if outlets < 2 {
        return None;
    }
    let vaned = |section: &Section| match section.end {
        SectionEnd::Outlet(_) => Section { end: SectionEnd::Outlet(coefficient), ..*section },
        _ => *section,
    };
    let sections: Vec<Section> = sections.iter().map(vaned).collect();
    let state = operate(fan, return_side, &sections, supply)?;
    Some(state.sections.iter().map(|section| section.flow / state.flow).collect())
}

fn reads(job: &Job, heater: usize) -> &str {
    job.heaters.get(heater).map_or("", |heater| heater.name.as_str())
}

fn case(state: &Operation, drawn: f64, heated: bool) -> Case {
    let leaves = state.leaves_heater.in_kelvin();
    let known = heated && state.flow.in_kilograms_per_second() > 0.0;
    Case {
        drawn: state.drawn.in_cubic_metres_per_second(),
        mass: state.flow.in_kilograms_per_second(),
        rise: known.then_some(leaves - drawn),
        leaves: known.then_some(leaves),
        fan_pressure: state.fan_pressure.in_pascals(),
        return_loss: state.return_loss.in_pascals(),
        warm_loss: state.warm_loss.in_pascals(),
    }
}

fn delivered(network: &mut WarmAir, laid: &[Laid], state: &Operation, heated: bool, behind_vanes: Option<&[f64]>) {
    let total = state.flow.in_kilograms_per_second();
    for (number, (laid, section)) in laid.iter().zip(&state.sections).enumerate() {
        let mass = section.flow.in_kilograms_per_second();
        if let Some(duct) = network.ducts.get_mut(laid.duct).filter(|_| heated && mass > 0.0) {
            let hottest = section.enters.in_kelvin();
            duct.open = Some(duct.open.unwrap_or(hottest).max(hottest));
            if let Some(surface) = section.surface.map(Temperature::in_kelvin) {
                duct.surface = Some(duct.surface.unwrap_or(surface).max(surface));
            }
        }
        let Some(outlet) = laid.outlet.and_then(|outlet| network.outlets.get_mut(outlet)) else { continue };
        let share = if total > 0.0 { mass / total } else { 0.0 };
        let share_behind_vanes = behind_vanes.and_then(|shares| shares.get(number)).copied().unwrap_or(share);
        let temperature = (heated && mass > 0.0).then(|| section.leaves.in_kelvin());
        outlet.gets = Some(Delivered {
            share,
            share_behind_vanes,
            flow: share * state.drawn.in_cubic_metres_per_second(),
            speed: section.speed.in_metres_per_second(),
            temperature,
            drop: temperature.map(|temperature| state.leaves_heater.in_kelvin() - temperature),
            heat: temperature.map(|temperature| mass * SPECIFIC_HEAT_OF_AIR * (temperature - network.set)),
        });
    }
}

/// What the list shows figures with.
struct Shown {
    fan: Fan,
    flow: &'static Unit,
    pressure: &'static Unit,
    supply: Supply,
    return_side: Vec<(Duct, f64)>,
    rests_on: Vec<Place>,
}

const OPEN: &str = "every outlet open, full output";
const SHUT: &str = "closable outlets shut, full output";
const BALANCE: &str = "Darcy-Weisbach, Colebrook 1939; tees by Crane TP-410, bends by Rennels 2012; where nothing is \
                       stated: roughness 0.9 mm of flexible duct, 0.05 mm of plain pipe (ASHRAE Fundamentals), bends \
                       of 1.5 bores, tees of 90° (common practice, no source)";

/// Puts the figures into the list.
fn list(job: &Job, network: &WarmAir, laid: &[Laid], state: &Operation, shown: &Shown, figures: &mut Figures) {
    if !figures.list.is_kept() {
        return;
    }
    let name = reads(job, network.heater).to_string();
    let mut put = |figure: &'static str,
                   subject: Place,
                   title: String,
                   case: &'static str,
                   value: f64,
                   unit: &'static Unit,
                   working: Vec<Step>| {
        let rests_on = shown.rests_on.clone();
        figures.list.push(|| Figure {
            name: figure,
            section: Chapter::Air,
            subject,
            title,
            case,
            value,
            unit,
            rests_on,
            working,
        });
    };
    let pascals = shown.pressure;
    for (found, when) in
        network.open.iter().map(|found| (found, OPEN)).chain(network.shut.iter().map(|found| (found, SHUT)))
    {
        let title = format!("air that the fan of {name} moves, as drawn in");
        put("warm_air_flow", network.place, title, when, found.drawn, shown.flow, flow_working(found, shown));
        if let (Some(rise), Some(leaves)) = (found.rise, found.leaves) {
            let working = vec![
                Step {
                    what: "heat into the air; the mass flow is the volume drawn in times the density of that air",
                    formula: "ΔT = Q / (ṁ · c)",
                    inputs: vec![
                        input("Q", shown.supply.heat.in_watts(), "kW"),
                        input("ṁ, kg/s", found.mass, ""),
                        input("c, J/(kg·K)", SPECIFIC_HEAT_OF_AIR, ""),
                    ],
                    result: rise,
                    unit: "K",
                    source: "energy balance",
                },
                Step {
                    what: "the air as it leaves the heater",
                    formula: "T = T_drawn + ΔT",
                    inputs: vec![input("T_drawn", shown.supply.drawn.in_kelvin(), network.unit.spelling)],
                    result: leaves,
                    unit: network.unit.spelling,
                    source: "sum",
                },
            ];
            let title = format!("warming of the air in {name}");
            put("warm_air_rise", network.place, title, when, rise, unit_or(None, "K"), working);
        }
    }
    if let Some(open) = network.open.as_ref().filter(|_| !shown.return_side.is_empty()) {
        let title = format!("loss of the return side of {name}");
        let working = shown.return_side.iter().map(|one| return_step(*one, open.mass, shown.supply)).collect();
        put("return_air_loss", network.place, title, OPEN, open.return_loss, pascals, working);
    }
    let mut runs: Vec<usize> = Vec::new();
    for one in laid {
        if runs.contains(&one.run) {
            continue;
        }
        runs.push(one.run);
        let Some(run) = job.runs.get(one.run) else { continue };
        let own = || laid.iter().zip(&state.sections).filter(|(laid, _)| laid.run == one.run);
        let loss = own().map(|(_, section)| section.loss.in_pascals()).sum();
        let working = own()
            .map(|(laid, section)| section_step(laid, section.loss.in_pascals(), section.speed.in_metres_per_second()))
            .collect();
        put("duct_loss", run.header, format!("loss along {}", job.reads(run)), OPEN, loss, pascals, working);
    }
    for (number, outlet) in network.outlets.iter().enumerate() {
        let Some(gets) = outlet.gets else { continue };
        let of = &outlet.name;
        let total = network.open.map_or(0.0, |open| open.drawn);
        let share = Step {
            what: "every way from the heater to an open outlet loses the same pressure, and no air leaks on the way",
            formula: "share = V_outlet / V",
            inputs: vec![input("V_outlet", gets.flow, shown.flow.spelling), input("V", total, shown.flow.spelling)],
            result: gets.share,
            unit: "%",
            source: BALANCE,
        };
        let mut working = vec![share];
        if network.outlets.len() > 1 {
            working.push(Step {
                what: "the same with vanes before every outlet, which evens out the shares; the job does not say what \
                       stands there",
                formula: "K_outlet = (1 + 0.707 · √(1 − s))² / s² in place of 1",
                inputs: vec![input("s, free share of the vanes", GRILLE_SHARE, "%")],
                result: gets.share_behind_vanes,
                unit: "%",
                source: "Idelchik, exit through a grid (from memory); the free share is common practice, no source",
            });
        }
        put(
            "outlet_share",
            outlet.place,
            format!("share of the air at outlet {of}"),
            OPEN,
            gets.share,
            unit_or(None, "%"),
            working,
        );
        let bore =
            laid.iter().find(|laid| laid.outlet == Some(number)).map_or(0.0, |laid| laid.section.duct.bore.in_metres());
        let speed = Step {
            what: "mean speed in the open end of the duct",
            formula: "w = 4 · ṁ / (π · D² · ρ_out)",
            inputs: vec![
                input("ṁ, kg/s", gets.share * state.flow.in_kilograms_per_second(), ""),
                input("D", bore, "mm"),
            ],
            result: gets.speed,
            unit: "m/s",
            source: "continuity, ideal gas law",
        };
        let title = format!("speed of the air at outlet {of}");
        put("outlet_velocity", outlet.place, title, OPEN, gets.speed, unit_or(None, "m/s"), vec![speed]);
        if let (Some(temperature), Some(drop), Some(heat)) = (gets.temperature, gets.drop, gets.heat) {
            let cools = Step {
                what: "cooling along each duct on the way, through the air films, the lagging and the wall",
                formula: "T_out = T_around + (T_in − T_around) · exp(−U′ · L / (ṁ · c))",
                inputs: vec![
                    input("T_in", temperature + drop, network.unit.spelling),
                    input("L outdoors", outlet.outdoors, "m"),
                ],
                result: temperature,
                unit: network.unit.spelling,
                source: "Incropera eq. 8.45; Gnielinski 1976 inside, ISO 6946 outside; lagging of 0.04 W/(m·K) (declared values of mineral wool and foam)",
            };
            put(
                "outlet_temperature",
                outlet.place,
                format!("temperature of the air at outlet {of}"),
                OPEN,
                temperature,
                network.unit,
                vec![cools],
            );
            let brings = Step {
                what: "heat above the set-point",
                formula: "Q = ṁ · c · (T_out − set)",
                inputs: vec![
                    input("ṁ, kg/s", gets.share * state.flow.in_kilograms_per_second(), ""),
                    input("T_out", temperature, network.unit.spelling),
                    input("set", network.set, network.unit.spelling),
                ],
                result: heat,
                unit: "kW",
                source: "energy balance",
            };
            put(
                "outlet_heat",
                outlet.place,
                format!("heat that outlet {of} brings"),
                OPEN,
                heat,
                unit_or(None, "kW"),
                vec![brings],
            );
        }
    }
}

fn flow_working(found: &Case, shown: &Shown) -> Vec<Step> {
    let density = density_at_pressure(shown.supply.pressure, shown.supply.drawn);
    vec![
        Step {
            what: "flow that the fan gives; the sheet states two points of its curve, and a parabola between them is \
                   assumed",
            formula: "p = p₀ · (1 − (V / V₀)²) · ρ / ρ₀",
            inputs: vec![
                input("p₀", shown.fan.blocked_pressure.in_pascals(), shown.pressure.spelling),
                input("V₀", shown.fan.free_flow.in_cubic_metres_per_second(), shown.flow.spelling),
                input("V", found.drawn, shown.flow.spelling),
                input("ρ", density.in_kilograms_per_cubic_metre(), "kg/m³"),
                input("ρ₀", RATING_DENSITY.in_kilograms_per_cubic_metre(), "kg/m³"),
            ],
            result: found.fan_pressure,
            unit: shown.pressure.spelling,
            source: "fan laws, ISO 5801; the parabola is trialfit's assumption",
        },
        Step {
            what: "pressure that ducts, bends, tees, grille and outlets take at that flow, every length at its long \
                   end",
            formula: "p = Δp_return + Δp_warm, each Σ (f · L/D + ΣK) · ρ · w² / 2",
            inputs: vec![
                input("Δp_return", found.return_loss, shown.pressure.spelling),
                input("Δp_warm", found.warm_loss, shown.pressure.spelling),
            ],
            result: found.return_loss + found.warm_loss,
            unit: shown.pressure.spelling,
            source: BALANCE,
        },
    ]
}

/// A stretch of duct as the working of its loss shows it.
fn section_step(laid: &Laid, loss: f64, speed: f64) -> Step {
    let duct = laid.section.duct;
    Step {
        what: "a duct with its bends, and the tee and the outlet at its ends",
        formula: "Δp = (f · (L/D + bends) + ΣK) · ρ · w² / 2",
        inputs: vec![
            input("D", duct.bore.in_metres(), "mm"),
            input("L", duct.length.in_metres(), "m"),
            input("roughness", duct.roughness.in_metres(), "mm"),
            input("bends, bores", laid.section.bends, ""),
            input("ΣK without tee and outlet", duct.fittings, ""),
            input("w at the end", speed, "m/s"),
        ],
        result: loss,
        unit: "Pa",
        source: BALANCE,
    }
}

/// A stretch of the return side as the working of its loss shows it.
fn return_step((duct, bends): (Duct, f64), mass: f64, supply: Supply) -> Step {
    let density = density_at_pressure(supply.pressure, supply.drawn).in_kilograms_per_cubic_metre();
    let bore = duct.bore.in_metres();
    let speed = 4.0 * mass / (PI * bore * bore * density);
    Step {
        what: "speed in a duct of the return side; with friction, bends, mouth and grille it makes the loss",
        formula: "w = 4 · ṁ / (π · D² · ρ); Δp = (f · (L/D + bends) + ΣK) · ρ · w² / 2",
        inputs: vec![
            input("D", bore, "mm"),
            input("L", duct.length.in_metres(), "m"),
            input("roughness", duct.roughness.in_metres(), "mm"),
            input("bends, bores", bends, ""),
            input("ΣK", duct.fittings, ""),
            input("ρ", density, "kg/m³"),
        ],
        result: speed,
        unit: "m/s",
        source: BALANCE,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::job_with_sheets;
    use crate::rules::BENCH_SHEETS;

    const TWO: &str = "warm-air main of reader\n  duct air-90\n  forward 500 mm\n  tee side\n  duct 75 mm\n  forward 300 mm\n  \
                       up 300 mm\n  outlet front, facing forward, in cabin\n\nwarm-air side of reader\n  from main.side\n  \
                       duct 60 mm\n  left 1200 mm\n  forward 1200 mm\n  outlet rear, closable, facing left, in cabin";

    /// Source: loop equations by scipy 1.17.1 root with Colebrook, Rennels' bends and Crane's tees of fluids 1.3.1, enthalpy by
    /// CoolProp 8.0.0, for these ducts at 600 m and 18 °C: 95.8275 m³/h, shares 0.24090 and 0.75910, 97.22 °C at the heater,
    /// 72.70 °C and 91.98 °C at the ends. Flows to 0.5 %, temperatures to 0.6 K.
    #[test]
    fn a_job_of_two_outlets_agrees_with_loop_equations() {
        let job = job_with_sheets(TWO, BENCH_SHEETS);
        let figures = Figures::of(&job);
        let network = figures.warm_air.first().expect("one air heater with ducts");
        let open = network.open.expect("a balance");
        let near = |figure: f64, expected: f64, room: f64| {
            assert!((figure - expected).abs() < room, "{figure}, not {expected}")
        };
        near(open.drawn * 3600.0, 95.8275, 0.48);
        near(open.leaves.expect("an output") - 273.15, 97.225, 0.6);
        let gets = |name: &str| {
            let outlet = network.outlets.iter().find(|outlet| outlet.name == name).expect("the outlet");
            outlet.gets.expect("what it gets")
        };
        near(gets("rear").share, 0.240_896, 0.0012);
        near(gets("front").share, 0.759_104, 0.0038);
        near(gets("rear").temperature.expect("a temperature") - 273.15, 72.703, 0.6);
        near(gets("front").temperature.expect("a temperature") - 273.15, 91.984, 0.6);
        let heat = heat_to_space(&job, &figures, 0).expect("both outlets blow into the cabin");
        near(heat, gets("rear").heat.unwrap_or(0.0) + gets("front").heat.unwrap_or(0.0), 1e-9);
        assert!(network.shut.expect("one outlet can be shut").drawn < open.drawn);
    }

    #[test]
    fn without_the_fans_pressure_the_network_is_missing_and_says_so() {
        let sheets = BENCH_SHEETS.replace("105 m³/h no duct, 170 Pa blocked", "105 m³/h no duct");
        let figures = Figures::of(&job_with_sheets(TWO, &sheets));
        assert!(figures.warm_air.iter().all(|network| network.open.is_none()));
        let said: Vec<&str> = figures.missing.iter().map(|missing| missing.because.as_str()).collect();
        assert!(said.contains(&"data sheet air-2 states no `fan` pressure when blocked"), "{said:?}");
    }

    #[test]
    fn a_heater_that_warms_coolant_has_no_network() {
        let sheets = BENCH_SHEETS.replace("  warms         air\n", "  warms         coolant\n");
        assert!(Figures::of(&job_with_sheets(TWO, &sheets)).warm_air.is_empty());
    }
}

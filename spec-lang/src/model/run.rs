//! A route as its author walked it: the legs, and the things met along them, in order.

use super::fact::{Fact, Interval, Stated};
use super::walk::Walk;
use crate::physics::tubes::TubeMaterial;
use crate::source::Place;
use crate::units::Quantity;
use crate::vocabulary::{Direction, Kind};

/// What stands at one point of a run, or changes from there on.
#[derive(Clone, Debug)]
pub enum Met {
    /// A straight leg: way parts in the vehicle's axes.
    Leg(Vec<(Direction, Quantity)>),
    /// A length in an unknown direction, with its net rise.
    Run(Stated<Quantity>, Option<Interval>),
    /// A bend beside a `run`, and its radius to the middle line where that is stated.
    Bend(Quantity, Option<Quantity>),
    /// "We are now here".
    At(Vec<(Direction, Quantity)>),
    /// Pipe, hose, duct or fuel line from here on.
    Tube(Tube),
    /// Conductor size from here on.
    Conductor(Conductor),
    /// A fuse.
    Fuse(Fuse),
    /// Something that can cut the feed.
    Switch(&'static str, Option<Quantity>),
    /// A joint, clamp or connector.
    Joint(Joint),
    /// The dosing pump: its tilt, positive with the outlet up.
    Pump(Option<Interval>),
    /// A drain hole.
    DrainHole(Quantity),
    /// A silencer with its length.
    Silencer(Option<Quantity>),
    /// A wall or floor.
    Passage(Passage),
    /// A tee that a branch starts at, and the angle it turns off by.
    Tee(String, Option<Quantity>),
    /// An outlet.
    Outlet(Outlet),
    /// A share of return air from elsewhere: share, temperature, where.
    Mixes(Quantity, Quantity, String),
    /// A heat shield along the leg before it.
    Shield,
    /// Lagging of this thickness from here on; `None` for bare again.
    Lagged(Option<Quantity>),
    /// A trap for condensate or sea water.
    Trap,
    /// A grille.
    Grille(Grille),
    /// A rubber sleeve, and whether the ends of the line meet in it.
    Sleeve(Quantity, bool),
    /// A filter: what it keeps back, a word of the vocabulary.
    Filter(&'static str),
    /// A shut-off valve.
    Valve,
    /// Two parts of the vehicle that move against each other, and whether a loop gives way.
    MovingJoint(String, bool),
    /// A circulating pump, with the flow it keeps up.
    CirculatingPump(Option<Quantity>),
    /// What the coolant warms, and how much heat that takes.
    Warms(String, Option<Quantity>),
    /// A bleed point.
    Bleed,
    /// Anything that bears on no figure.
    Other(&'static str),
    /// A line that was not understood: the walk is broken here.
    Gap,
}

/// A joint, clamp or connector.
#[derive(Clone, Debug, Default)]
pub struct Joint {
    /// Its resistance on a cable.
    pub resistance: Option<Quantity>,
    /// Whether it is sealed.
    pub sealed: bool,
    /// Whether spray reaches it, where the job says so.
    pub in_spray: Option<bool>,
    /// Whether it is a clamp.
    pub clamp: bool,
}

/// A wall or floor that is passed.
#[derive(Clone, Debug, Default)]
pub struct Passage {
    /// What is passed, a word of the vocabulary.
    pub through: Option<&'static str>,
    /// The hole's width.
    pub hole: Option<Quantity>,
    /// Whether it is sealed.
    pub sealed: bool,
}

/// A grille.
#[derive(Clone, Debug, Default)]
pub struct Grille {
    /// Its free area.
    pub area: Option<Quantity>,
    /// The free space before it.
    pub clear: Option<Quantity>,
    /// Where it is, in the author's word.
    pub at: Option<String>,
}

/// A pipe, hose, duct or fuel line.
#[derive(Clone, Debug, Default)]
pub struct Tube {
    /// `pipe`, `hose`, `duct` or `line`.
    pub word: &'static str,
    /// Inside diameter.
    pub bore: Stated<Quantity>,
    /// Outside diameter.
    pub outside: Stated<Quantity>,
    /// Roughness of its inside wall, from its sheet.
    pub roughness: Stated<Quantity>,
    /// The temperatures it bears, from its sheet.
    pub bears: Stated<Quantity>,
    /// Its tightest bend to the middle line, from its sheet.
    pub bend_radius: Stated<Quantity>,
    /// What it is made of, by its own line or its sheet.
    pub material: Option<TubeMaterial>,
    /// Where that is written.
    pub material_place: Option<Place>,
    /// Whether its sheet says that its wall is corrugated or wound on wire.
    pub uneven: bool,
    /// Its data sheet's name, where it has one.
    pub sheet: Option<String>,
}

/// A conductor.
#[derive(Clone, Debug)]
pub struct Conductor {
    /// Its area, or a blank for it.
    pub size: Stated<Quantity>,
    /// The temperature its insulation is rated for, from its sheet.
    pub insulation: Option<Quantity>,
    /// Resistance of a metre at 20 °C, from its sheet.
    pub resistance_per_metre: Option<Quantity>,
    /// Its data sheet's name, where it has one.
    pub sheet: Option<String>,
}

/// A fuse.
#[derive(Clone, Debug)]
pub struct Fuse {
    /// Rated current, or a blank for it.
    pub rating: Stated<Quantity>,
    /// Cold resistance.
    pub resistance: Option<Quantity>,
    /// Resistance of its holder.
    pub holder: Option<Quantity>,
    /// The current its holder is built for.
    pub holder_bears: Option<Quantity>,
    /// `blade`, `strip`, `glass`, `bolted`, where stated.
    pub kind: Option<&'static str>,
}

/// A warm-air outlet.
#[derive(Clone, Debug)]
pub struct Outlet {
    /// Its name.
    pub name: String,
    /// Whether it can be shut.
    pub closable: bool,
    /// The way it faces, where stated.
    pub facing: Option<Direction>,
    /// The space it blows into, where stated.
    pub space: Option<usize>,
    /// The share of the air it is to have.
    pub wants: Option<Fact<Quantity>>,
}

/// One step of a run.
#[derive(Clone, Debug)]
pub struct Step {
    /// What.
    pub met: Met,
    /// The statement.
    pub place: Place,
}

/// How a run ends.
#[derive(Clone, Debug, PartialEq)]
pub enum End {
    /// Open, in the open air unless a space is named.
    Facing(Direction, Option<usize>),
    /// In a space.
    InSpace(usize, Option<Direction>),
    /// At a thing: its kind and its number within the kind, where the name was found.
    At(Option<(Kind, usize)>),
    /// Here.
    Here,
}

/// Where a run starts.
#[derive(Clone, Debug, PartialEq)]
pub enum Start {
    /// At a port of its heater.
    Heater,
    /// At a tank.
    Tank(usize),
    /// At a battery.
    Battery(usize),
    /// At a tee of another run: the run's number, the tee's name.
    Tee(usize, String),
    /// Nowhere stated, or its name not found.
    Nowhere,
}

/// A run.
#[derive(Clone, Debug)]
pub struct Run {
    /// Exhaust, fuel line, cable, ….
    pub kind: Kind,
    /// Its own name, where its kind has one.
    pub name: Option<String>,
    /// Its header.
    pub header: Place,
    /// Its heater's number.
    pub heater: Option<usize>,
    /// Where it starts.
    pub start: Start,
    /// The statement that says so, where there is one.
    pub start_place: Option<Place>,
    /// How the fuel is taken from the tank.
    pub pickup: Stated<&'static str>,
    /// What it meets, in order.
    pub steps: Vec<Step>,
    /// How it ends, and where that is written.
    pub end: Option<Fact<End>>,
    /// The second body it is fixed to, where it is.
    pub body: Option<String>,
    /// Its geometry.
    pub walk: Walk,
    /// What only some kinds say.
    pub said: Particulars,
}

/// What only some kinds of run say.
#[derive(Clone, Debug, Default)]
pub struct Particulars {
    /// Cable: the branch of the supplied harness that this is.
    pub harness: Stated<String>,
    /// Cable: its current.
    pub carries: Stated<Quantity>,
    /// Cable: `wire` or `chassis`.
    pub back_by: Stated<&'static str>,
    /// Cable: insulation rating.
    pub insulation: Stated<Quantity>,
    /// Cable: how many loaded conductors lie together.
    pub bundled: Stated<u32>,
    /// Cable: the warmest air around it.
    pub ambient: Stated<Quantity>,
    /// Return air: `at heater` (with the free space before it), or `from outside`.
    pub draws: Option<Draws>,
    /// Keep-clear: what it is.
    pub kind: Stated<&'static str>,
    /// Keep-clear: outside diameter.
    pub outside: Stated<Quantity>,
    /// Keep-clear: how far it reaches.
    pub spans: Vec<(Direction, Quantity)>,
    /// Fuel line and cable: the spacing of its clips.
    pub clips_every: Stated<Quantity>,
    /// Cable: where it says that it lies sheathed between battery and fuse.
    pub sheathed: Option<Place>,
    /// Fuel line: whether its pump is softly mounted.
    pub soft_mounted: bool,
    /// Exhaust, combustion air, return air: distances that were taken by tape.
    pub measured: Vec<Taped>,
}

/// A distance that somebody took by tape, in a straight line from the run.
#[derive(Clone, Debug, PartialEq)]
pub struct Taped {
    /// Whether it is taken from where the pipe comes nearest, and not from the open end.
    pub from_pipe: bool,
    /// What it leads to; `None` where that was not found.
    pub to: Option<Landmark>,
    /// The kind of what it leads to; `None` for the edge of the vehicle and for a level.
    pub kind: Option<Kind>,
    /// Whether a name in the line was not found, which is told as such.
    pub name_fault: bool,
    /// The distance; inside the edge of the vehicle it is negative.
    pub distance: Interval,
    /// For an opening: how far to the side of it the run ends.
    pub aside: Option<Interval>,
    /// Whether lagging, a shield or the floor lies between there.
    pub covered: bool,
    /// The statement.
    pub place: Place,
}

/// A level that heights are judged from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Datum {
    /// The ground under the vehicle.
    Ground,
    /// A boat's waterline.
    Waterline,
}

/// What a tape leads to, by its number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Landmark {
    /// The edge of the vehicle, seen from above.
    Edge,
    /// A level below the open end.
    Datum(Datum),
    /// A run: its open end where it is one of a heater's, else its nearest part.
    Run(usize),
    /// An opening.
    Opening(usize),
    /// A tank.
    Tank(usize),
}

/// Where the return air is drawn, where it has no duct.
#[derive(Clone, Debug, PartialEq)]
pub enum Draws {
    /// At the heater's own inlet, with this free space before it.
    AtHeater(Option<Quantity>, Place),
    /// From outside the vehicle.
    FromOutside(Place),
}

impl Run {
    /// The run as its header says it: `warm-air cab of reader`.
    pub fn reads(&self, heater: Option<&str>) -> String {
        let kind = crate::vocabulary::words_of(self.kind).header;
        match (&self.name, heater) {
            (Some(name), _) => format!("{kind} {name}"),
            (None, Some(heater)) => format!("{kind} of {heater}"),
            (None, None) => kind.to_string(),
        }
    }

    /// Its outlets, each with its place.
    pub fn outlets(&self) -> impl Iterator<Item = (usize, &Outlet, Place)> {
        self.steps.iter().enumerate().filter_map(|(number, step)| match &step.met {
            Met::Outlet(outlet) => Some((number, outlet, step.place)),
            _ => None,
        })
    }
}

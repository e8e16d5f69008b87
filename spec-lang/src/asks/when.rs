//! Whether a question applies: yes, no because of something that is said, or not known for want of a fact. Kleene's
//! three-valued logic: *no and unknown* is no, *yes and unknown* is unknown.

use super::facts::Need;
use super::ground::{Gap, Ground, Lack, Subject};
use crate::model::{Battery, Met, Start, Stated, Step, Tank};
use crate::physics::geometry::AlignedBox;
use crate::source::Place;
use crate::vocabulary::Kind;

/// Whether something applies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Applies {
    /// It does.
    Yes,
    /// It does not, because of what is said here.
    No(Place),
    /// Nobody can tell for want of this fact.
    Open(Lack),
}

impl Applies {
    /// Both.
    pub fn and(self, other: impl FnOnce() -> Applies) -> Applies {
        match self {
            Applies::Yes => other(),
            Applies::No(_) => self,
            Applies::Open(_) => match other() {
                Applies::No(place) => Applies::No(place),
                _ => self,
            },
        }
    }

    /// Either.
    pub fn or(self, other: impl FnOnce() -> Applies) -> Applies {
        match self {
            Applies::Yes => self,
            Applies::No(_) => other(),
            Applies::Open(_) => match other() {
                Applies::Yes => Applies::Yes,
                _ => self,
            },
        }
    }

    /// Of a stated word.
    fn of<T: Copy>(
        ground: &Ground<'_>,
        said: &Stated<T>,
        fact: Need,
        at: Subject,
        holds: impl Fn(T) -> bool,
    ) -> Applies {
        match said.fact() {
            Some(known) if holds(known.value) => Applies::Yes,
            Some(known) => Applies::No(known.written),
            None => match ground.lack(fact, at) {
                Some(lack) => Applies::Open(lack),
                // Said, but not as a value of its own (a word that was not read): told by another finding.
                None => Applies::Open(ground.unread(fact, at)),
            },
        }
    }
}

/// The heater that a subject belongs to, where it is one heater.
fn heater(ground: &Ground<'_>, of: Subject) -> Option<usize> {
    ground.heaters_of(of).next()
}

/// Whether the vehicle is of one of these types.
fn vehicle_is(ground: &Ground<'_>, types: &'static [&'static str]) -> Applies {
    match &ground.job.vehicle {
        Some((vehicle, _)) => {
            Applies::of(ground, &vehicle.kind, Need::VehicleType, ground.vehicle(), |kind| types.contains(&kind))
        }
        None => Applies::Open(ground.absent(Need::Vehicle)),
    }
}

/// Whether the vehicle falls under a body of rules.
fn under(ground: &Ground<'_>, rules: &str) -> Applies {
    match &ground.job.vehicle {
        Some((vehicle, _)) if vehicle.rules.contains(&rules) => Applies::Yes,
        Some((_, header)) => match ground.lack(Need::VehicleRules, ground.vehicle()) {
            Some(lack) => Applies::Open(lack),
            None => Applies::No(ground.said(Need::VehicleRules, ground.vehicle()).unwrap_or(*header)),
        },
        None => Applies::Open(ground.absent(Need::Vehicle)),
    }
}

/// A boat, by its type or by the rules it falls under.
pub fn boat(ground: &Ground<'_>, _: Subject) -> Applies {
    vehicle_is(ground, &["boat"]).or(|| under(ground, "boat"))
}

/// Known not to be a boat.
pub fn not_a_boat(ground: &Ground<'_>, of: Subject) -> Applies {
    match boat(ground, of) {
        Applies::Yes => {
            let said = [Need::VehicleType, Need::VehicleRules]
                .into_iter()
                .find_map(|fact| ground.said(fact, ground.vehicle()));
            Applies::No(said.unwrap_or(ground.top()))
        }
        Applies::No(_) => Applies::Yes,
        open @ Applies::Open(_) => open,
    }
}

/// Under UN R122.
pub fn r122(ground: &Ground<'_>, _: Subject) -> Applies {
    under(ground, "un-r122")
}

/// Under UN R122 or 49 CFR 393.
pub fn r122_or_america(ground: &Ground<'_>, _: Subject) -> Applies {
    under(ground, "un-r122").or(|| under(ground, "us-49cfr393"))
}

/// Under 49 CFR 393.
pub fn america(ground: &Ground<'_>, _: Subject) -> Applies {
    under(ground, "us-49cfr393")
}

/// A bus.
fn bus(ground: &Ground<'_>, _: Subject) -> Applies {
    vehicle_is(ground, &["bus"])
}

/// A vehicle in Europe that may carry more people than a car: only its seats tell.
pub fn may_be_minibus(ground: &Ground<'_>, of: Subject) -> Applies {
    r122(ground, of).and(|| vehicle_is(ground, &["van", "motor-caravan", "bus"]))
}

/// A bus in America.
pub fn bus_in_america(ground: &Ground<'_>, of: Subject) -> Applies {
    america(ground, of).and(|| bus(ground, of))
}

/// A vehicle for dangerous goods: it falls under ADR, or says its designation.
pub fn dangerous_goods(ground: &Ground<'_>, _: Subject) -> Applies {
    let designated = ground.job.vehicle.as_ref().is_some_and(|(vehicle, _)| vehicle.carries().is_some());
    if designated { Applies::Yes } else { under(ground, "adr") }
}

/// Petrol on a vehicle for dangerous goods.
pub fn dangerous_petrol(ground: &Ground<'_>, of: Subject) -> Applies {
    dangerous_goods(ground, of).and(|| petrol(ground, of))
}

/// A vehicle for inflammable liquids or gases, designated FL.
pub fn inflammable_goods(ground: &Ground<'_>, of: Subject) -> Applies {
    dangerous_goods(ground, of).and(|| match &ground.job.vehicle {
        Some((vehicle, _)) => {
            Applies::of(ground, &vehicle.goods, Need::VehicleGoods, ground.vehicle(), |goods| goods == "fl")
        }
        None => Applies::Open(ground.absent(Need::Vehicle)),
    })
}

/// A heater that stands in a space.
pub fn stands_inside(ground: &Ground<'_>, of: Subject) -> Applies {
    let Some(number) = heater(ground, of) else { return Applies::Yes };
    match ground.job.heaters.get(number) {
        Some(known) => {
            Applies::of(ground, &known.stands_in, Need::HeaterIn, Subject::heater(number), |space| space.is_some())
        }
        None => Applies::Yes,
    }
}

/// A heater whose sheet says that it warms air.
pub fn warms_air(ground: &Ground<'_>, of: Subject) -> Applies {
    warms(ground, of, "air")
}

/// A heater whose sheet says that it warms coolant.
pub fn warms_coolant(ground: &Ground<'_>, of: Subject) -> Applies {
    warms(ground, of, "coolant")
}

/// Of a block with several heaters, whether one of them does.
fn warms(ground: &Ground<'_>, of: Subject, what: &'static str) -> Applies {
    let each = ground.heaters_of(of).map(|number| {
        let of_heater = Subject::heater(number);
        let Some(sheet) = ground.sheet_of(number) else {
            let lack = ground.lack(Need::Datasheet, of_heater);
            return Applies::Open(lack.unwrap_or_else(|| ground.unread(Need::Datasheet, of_heater)));
        };
        ground.job.heater_sheets.get(sheet.number).map_or(Applies::Yes, |known| {
            Applies::of(ground, &known.warms, Need::SheetWarms, sheet, |warms| warms == what)
        })
    });
    each.reduce(|one, other| one.or(|| other)).unwrap_or(Applies::Yes)
}

/// A space that people sleep in.
pub fn slept_in(ground: &Ground<'_>, of: Subject) -> Applies {
    match ground.job.spaces.get(of.number) {
        Some(space) if of.kind == Kind::Space && !space.heads.is_empty() => Applies::Yes,
        Some(space) if of.kind == Kind::Space => {
            Applies::of(ground, &space.usage, Need::SpaceUse, of, |usage| usage == "sleeping")
        }
        _ => Applies::Yes,
    }
}

/// The battery that a question is asked of; where none is written, what the heater lacks that is asked in its place.
fn battery<'a>(ground: &Ground<'a>, of: Subject) -> Result<&'a Battery, Applies> {
    if of.kind == Kind::Battery {
        return ground.job.batteries.get(of.number).ok_or(Applies::Yes);
    }
    let mut lack = None;
    ground.reach(of, super::Of::Battery, &mut |reached| lack = lack.or(reached.err()));
    Err(lack.map_or(Applies::Yes, Applies::Open))
}

/// A lithium battery.
pub fn lithium(ground: &Ground<'_>, of: Subject) -> Applies {
    match battery(ground, of) {
        Ok(battery) => Applies::of(ground, &battery.kind, Need::BatteryType, of, |kind| kind == "LiFePO4"),
        Err(open) => open,
    }
}

/// A tank of petrol.
fn petrol(ground: &Ground<'_>, of: Subject) -> Applies {
    tank_holds(ground, of, "petrol")
}

/// A tank of diesel.
pub fn diesel(ground: &Ground<'_>, of: Subject) -> Applies {
    tank_holds(ground, of, "diesel")
}

fn tank_holds(ground: &Ground<'_>, of: Subject, what: &'static str) -> Applies {
    tank_says(ground, of, &|ground, of| match ground.job.tanks.get(of.number) {
        Some(tank) => Applies::of(ground, &tank.fuel, Need::TankFuel, of, |fuel| fuel == what),
        None => Applies::Yes,
    })
}

/// A tank that feeds only heaters.
pub fn own_tank(ground: &Ground<'_>, of: Subject) -> Applies {
    tank_says(ground, of, &|ground, of| match ground.job.tanks.get(of.number) {
        Some(tank) => Applies::of(ground, &tank.feeds, Need::TankFeeds, of, |feeds| feeds == "heater"),
        None => Applies::Yes,
    })
}

/// A battery whose load something may cut off: a lithium battery has its management; others where it is stated, or where
/// a switch in a cable is one.
pub fn cut_off(ground: &Ground<'_>, of: Subject) -> Applies {
    let battery = match battery(ground, of) {
        Ok(battery) => battery,
        Err(open) => return open,
    };
    if ground.is_saved(of.number) || battery.cuts_below.place().is_some() {
        return Applies::Yes;
    }
    lithium(ground, of).or(|| match ground.lack(Need::BatteryCutsBelow, of) {
        Some(lack) if lack.gap != Gap::Silent => Applies::Open(lack),
        _ => Applies::No(battery.header),
    })
}

/// How near a battery and a tank, told by one corner each, may lie in plan and still be above each other, m: longer than
/// any battery or tank that these rules are for. Common practice, no source.
const NEAR: f64 = 2.5;

/// A battery that may lie above or below a tank: their corners are near each other in plan, or nobody knows.
pub fn battery_near_tank(ground: &Ground<'_>, of: Subject) -> Applies {
    let corner = |area: Option<(AlignedBox, f64)>| area.map(|(area, _)| area.low());
    let battery = match battery(ground, of) {
        Ok(battery) => battery,
        Err(open) => return open,
    };
    let Some(here) = corner(battery.area) else { return placed(ground, of) };
    let near = |tank: &Tank| {
        corner(tank.area).is_none_or(|there| {
            let way = here.to(there);
            way.x.hypot(way.y) < NEAR
        })
    };
    if ground.job.tanks.iter().any(near) {
        placed(ground, of)
    } else {
        Applies::No(ground.said(Need::BatteryAt, of).unwrap_or(battery.header))
    }
}

/// A cable with a joint, where the vehicle has axes.
pub fn has_joint(ground: &Ground<'_>, of: Subject) -> Applies {
    let joint = |step: &Step| matches!(step.met, Met::Joint(_));
    match ground.job.runs.get(of.number) {
        Some(run) if !run.steps.iter().any(joint) => Applies::No(run.header),
        _ => placed(ground, of),
    }
}

/// A vehicle that may carry dangerous goods.
pub fn carries_goods(ground: &Ground<'_>, of: Subject) -> Applies {
    dangerous_goods(ground, of).or(|| vehicle_is(ground, &["truck", "tractor-unit", "trailer"]))
}

/// A cable that feeds a heater from a battery; until its start is said, any that may be one.
pub fn is_supply(ground: &Ground<'_>, of: Subject) -> Applies {
    let Some(run) = ground.job.runs.get(of.number) else { return Applies::Yes };
    let branch = run.said.carries.place().or(run.said.harness.place());
    match (&run.start, branch, ground.lack(Need::CableFrom, of)) {
        (Start::Battery(_), ..) => Applies::Yes,
        (_, Some(place), _) => Applies::No(place),
        (_, None, lack) => Applies::Open(lack.unwrap_or_else(|| ground.unread(Need::CableFrom, of))),
    }
}

/// A cable that starts at no battery: a branch of the supplied harness, or one that says its current.
pub fn is_branch(ground: &Ground<'_>, of: Subject) -> Applies {
    match (is_supply(ground, of), ground.said(Need::CableFrom, of)) {
        (Applies::Yes, place) => Applies::No(place.unwrap_or(ground.top())),
        (Applies::No(_), _) => Applies::Yes,
        (open @ Applies::Open(_), _) => open,
    }
}

/// A cable of the harness that came with the heater.
pub fn of_the_harness(ground: &Ground<'_>, of: Subject) -> Applies {
    let Some(run) = ground.job.runs.get(of.number) else { return Applies::Yes };
    match (run.said.harness.place(), ground.lack(Need::CableHarness, of)) {
        (Some(_), None) => Applies::Yes,
        (_, Some(lack)) => Applies::Open(lack),
        (None, None) => Applies::No(run.header),
    }
}

/// Something is placed, in a boat.
pub fn placed_boat(ground: &Ground<'_>, of: Subject) -> Applies {
    boat(ground, of).and(|| placed(ground, of))
}

/// Something is placed, on a vehicle under 49 CFR 393.
pub fn placed_america(ground: &Ground<'_>, of: Subject) -> Applies {
    america(ground, of).and(|| placed(ground, of))
}

/// Something is placed, on a vehicle for dangerous goods.
pub fn placed_goods(ground: &Ground<'_>, of: Subject) -> Applies {
    dangerous_goods(ground, of).and(|| placed(ground, of))
}

/// A line that draws through a standpipe of the heater's own.
pub fn by_standpipe(ground: &Ground<'_>, of: Subject) -> Applies {
    let mut answer = Applies::Yes;
    ground.reach(of, super::Of::Run(Kind::FuelLine), &mut |reached| {
        let line = match reached {
            Ok(line) => line,
            Err(lack) => return answer = Applies::Open(lack),
        };
        if let Some(run) = ground.job.runs.get(line.number) {
            answer = Applies::of(ground, &run.pickup, Need::FuelPickup, line, |by| by == "standpipe");
        }
    });
    answer
}

/// Asks of the tank itself, or of the one that the heater draws from.
fn tank_says(ground: &Ground<'_>, of: Subject, says: &dyn Fn(&Ground<'_>, Subject) -> Applies) -> Applies {
    if of.kind == Kind::Tank {
        return says(ground, of);
    }
    let mut answer = Applies::Yes;
    ground.reach(of, super::Of::Tank, &mut |reached| {
        answer = match reached {
            Ok(tank) => says(ground, tank),
            Err(lack) => Applies::Open(lack),
        };
    });
    answer
}

/// The place of a sleeper's head is said, or something else has a place in the vehicle's axes.
pub fn heads_placed(ground: &Ground<'_>, of: Subject) -> Applies {
    if ground.job.spaces.iter().any(|space| !space.heads.is_empty()) { Applies::Yes } else { placed(ground, of) }
}

/// Something in the job is placed in the vehicle's axes; where nothing is, its distances are measured by tape.
pub fn placed(ground: &Ground<'_>, _: Subject) -> Applies {
    if ground.is_placed() { Applies::Yes } else { Applies::No(ground.top()) }
}

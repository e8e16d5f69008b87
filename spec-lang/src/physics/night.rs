//! One night of a heater in a room, solved event by event: each phase is a closed form, like cycles are taken at once.
//! Nothing is stepped through time, and nothing here knows a job.

use crate::units::{
    Charge, Current, Energy, HeatCapacity, HeatLossCoefficient, Power, Temperature, TemperatureDifference, Time,
    Voltage, Volume, VolumeFlow,
};

/// The room: its air, which the controller senses and the heater warms, and the mass behind the inner surfaces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Heat lost by kelvin of the air once the mass has settled too; positive.
    pub loss: HeatLossCoefficient,
    /// Of that, what leaves the air without crossing the mass: leaks, fresh air, panes; zero or more, at most all.
    pub light_loss: HeatLossCoefficient,
    /// Heat that crosses by kelvin from the air into the mass: inner surfaces by their film. More than `loss` less
    /// `light_loss`, for what crosses the mass has crossed the film before; zero where there is no mass.
    pub film: HeatLossCoefficient,
    /// Heat stored by kelvin by the air and what warms with it; positive.
    pub air_store: HeatCapacity,
    /// Heat stored by kelvin by the mass: inner layers, heavy contents; zero where there is none.
    pub mass_store: HeatCapacity,
    /// Heat that people give.
    pub people: Power,
    /// Outside temperature, the same all night.
    pub outside: Temperature,
    /// The room when the heater is switched on, air and mass alike.
    pub start: Temperature,
    /// The set-point.
    pub set: Temperature,
}

/// What a heater does when its lowest output is more than the room asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BelowLowest {
    /// It stops, and starts anew when the room has cooled.
    Stops,
    /// It goes on at its lowest output, and the room warms past the set-point.
    RunsOn,
}

/// A stage of starting or stopping, without heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stage {
    /// Its current.
    pub current: Current,
    /// How long it lasts; zero or more.
    pub lasts: Time,
    /// Whether the low-voltage trip waits it out.
    pub waited_out: bool,
}

/// The heater and its controller.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Burner<'a> {
    /// Lowest and highest heat output; the other way round counts the same.
    pub output: [Power; 2],
    /// Fuel rate at lowest and at highest output; between them a straight line.
    pub fuel: [VolumeFlow; 2],
    /// Current at lowest and at highest output; between them a straight line.
    pub current: [Current; 2],
    /// Current while it waits to start again, and after it has failed.
    pub standby: Current,
    /// Stages of a start, in order.
    pub starting: &'a [Stage],
    /// Stages after a stop, in order.
    pub stopping: &'a [Stage],
    /// Below its lowest output.
    pub below_lowest: BelowLowest,
    /// How far above the set-point it stops; zero or more.
    pub stops_above: TemperatureDifference,
    /// How far below the set-point it starts again; zero or more.
    pub restarts_below: TemperatureDifference,
}

/// The battery: charge that can be drawn in this cold, and the voltage that is left at the heater.
#[derive(Clone, Copy)]
pub struct Battery<'a> {
    /// Charge of a full battery that can be drawn at its temperature; positive.
    pub full: Charge,
    /// Charge when the heater is switched on.
    pub charge: Charge,
    /// Current at which the capacity is rated; larger ones draw more than their charge, by [`Battery::exponent`].
    pub rated: Current,
    /// Peukert's exponent, at least 1.
    pub exponent: f64,
    /// All other loads together.
    pub other: Current,
    /// Voltage at the heater by the share of charge (0 to 1) and the current. It must not rise as the charge falls.
    pub voltage: &'a dyn Fn(f64, Current) -> Voltage,
    /// The voltage below which a start fails, where the heater has such a limit.
    pub lowest: Option<Voltage>,
}

/// Everything that goes into a night.
#[derive(Clone, Copy)]
pub struct Inputs<'a> {
    /// The room.
    pub room: Room,
    /// The heater.
    pub burner: Burner<'a>,
    /// The battery, where one is known.
    pub battery: Option<Battery<'a>>,
    /// Fuel above the pickup's reserve, where known.
    pub fuel: Option<Volume>,
    /// How long the night is; zero or more.
    pub lasts: Time,
}

/// Why a heater stayed off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Failure {
    /// Too little voltage to start.
    Voltage,
    /// The battery was empty.
    Charge,
    /// The tank was empty down to its reserve.
    Fuel,
}

/// What came of a night.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Night {
    /// Starts that lit.
    pub starts: u64,
    /// Time with a flame.
    pub burning: Time,
    /// Time with a flame at lowest output.
    pub at_lowest: Time,
    /// The last whole cycle of stopping and starting, where it comes to one; like ones taken at once count as settled.
    pub cycle: Option<Time>,
    /// Fuel burnt.
    pub fuel: Volume,
    /// Heat from the flame.
    pub heat: Energy,
    /// Heat lost to the outside.
    pub lost: Energy,
    /// Charge left, counted as drawn from what can be drawn; `None` without a battery.
    pub charge: Option<Charge>,
    /// Lowest voltage of any start, that which failed included, and when; stages that are waited out do not count.
    pub lowest_voltage: Option<(Voltage, Time)>,
    /// Time until the room first was at its set-point; `None` where it never was.
    pub warm_up: Option<Time>,
    /// Coldest air after that.
    pub coldest: Option<Temperature>,
    /// Warmest air.
    pub warmest: Temperature,
    /// The room's air when the night is over.
    pub at_end: Temperature,
    /// The room's mass then; without a mass as it was at the start.
    pub mass_at_end: Temperature,
    /// All time below the set-point, warm-up included.
    pub below_set: Time,
    /// Why and when the heater went off for good.
    pub failed: Option<(Failure, Time)>,
}

impl Night {
    /// Share of the burning time at lowest output, 0 to 1; zero where it never burnt.
    pub fn share_at_lowest(&self) -> f64 {
        if self.burning > Time::ZERO { self.at_lowest / self.burning } else { 0.0 }
    }

    /// Starts in an hour while it cycles; zero where it does not.
    pub fn starts_an_hour(&self) -> f64 {
        self.cycle.map_or(0.0, |cycle| 3600.0 / cycle.in_seconds())
    }
}

/// Solves a night.
///
/// The flame is at its highest until the air is at its set-point, then holds it there: what that takes falls while the
/// mass still warms. Where it takes less than the lowest output, the heater stops or runs on; where it takes more than
/// the highest, it stays at that. A start and a stop give no heat and burn no fuel worth counting. A stop by the end of
/// the night is not in it.
///
/// `None` unless loss, store of the air and full charge are positive and the film is more than what crosses the mass, or
/// where a result is past all numbers. All inputs finite.
/// Source: heat balance of two nodes, the air and the mass behind the film (the 5R1C network of ISO 13790:2008 annex C
/// without its node of surfaces; from memory), solved by its two eigenvalues, phase by phase; Peukert 1897 for the charge.
pub fn night(inputs: &Inputs<'_>) -> Option<Night> {
    let mut walk = Walk::new(inputs)?;
    if walk.whole_night().is_none() && walk.failed.is_some() {
        // What is off cools, and the standby current and the other loads go on.
        let _ = walk.phase(Phase::off(inputs.burner.standby.in_amperes()));
    }
    walk.result()
}

/// Time of constant heat until the air of a room is at its set-point; what people give is counted on top.
///
/// Zero if it is there already; `None` if the heat never gets it there, or where [`night`] gives none for the room.
/// Source: as [`night`]; without a mass it is [`crate::physics::heat::warm_up_time`].
pub fn warm_up(room: &Room, heat: Power) -> Option<Time> {
    let body = Body::new(room)?;
    let (start, set) = (room.start.in_kelvin(), room.set.in_kelvin());
    if start >= set {
        return Some(Time::ZERO);
    }
    let time = body.course(heat.in_watts() + room.people.in_watts(), start, start).air.first(set, true);
    time.is_finite().then(|| Time::seconds(time))
}

/// What adds up over a night, or over one cycle of it.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    time: f64,
    burning: f64,
    at_lowest: f64,
    fuel: f64,
    heat: f64,
    lost: f64,
    drawn: f64,
    below_set: f64,
    starts: f64,
}

impl Sums {
    fn plus(self, other: Sums, times: f64) -> Sums {
        Sums {
            time: self.time + other.time * times,
            burning: self.burning + other.burning * times,
            at_lowest: self.at_lowest + other.at_lowest * times,
            fuel: self.fuel + other.fuel * times,
            heat: self.heat + other.heat * times,
            lost: self.lost + other.lost * times,
            drawn: self.drawn + other.drawn * times,
            below_set: self.below_set + other.below_set * times,
            starts: self.starts + other.starts * times,
        }
    }

    /// What was added since.
    fn minus_from(self, later: Sums) -> Sums {
        later.plus(self, -1.0)
    }
}

/// ∫ exp(−rate · t) dt from zero on.
fn decayed(rate: f64, time: f64) -> f64 {
    if rate > 0.0 { -(-rate * time).exp_m1() / rate } else { time }
}

/// The room as two nodes, with what their course in time needs.
#[derive(Clone, Copy)]
struct Body {
    outside: f64,
    loss: f64,
    light_loss: f64,
    film: f64,
    mass_loss: f64,
    /// How much of the air's rise over outside the mass settles at.
    mass_share: f64,
    /// Of the air by its own rise and by the mass's, of the mass by the air's and by its own, 1/s.
    air_by_air: f64,
    air_by_mass: f64,
    mass_by_air: f64,
    mass_by_mass: f64,
    /// The two eigenvalues without their sign, 1/s.
    fast: f64,
    slow: f64,
    /// What the slow eigenvalue is less, and the fast one more, than `air_by_air`.
    under: f64,
    over: f64,
}

impl Body {
    fn new(room: &Room) -> Option<Body> {
        let loss = room.loss.in_watts_per_kelvin();
        let (air, mass) = (room.air_store.in_joules_per_kelvin(), room.mass_store.in_joules_per_kelvin());
        let heavy = mass > 0.0 && room.film.in_watts_per_kelvin() > 0.0;
        let film = if heavy { room.film.in_watts_per_kelvin() } else { 0.0 };
        let light_loss = if heavy { room.light_loss.in_watts_per_kelvin().clamp(0.0, loss.max(0.0)) } else { loss };
        let through = loss - light_loss;
        if !(loss > 0.0 && air > 0.0 && (!heavy || film > through)) {
            return None;
        }
        // In series with the film, the mass's own loss makes up what crosses it.
        let mass_loss = if heavy { film * through / (film - through) } else { 0.0 };
        let (air_by_air, air_by_mass) = ((light_loss + film) / air, film / air);
        let (mass_by_air, mass_by_mass) = if heavy { (film / mass, (film + mass_loss) / mass) } else { (0.0, 0.0) };
        let half = (air_by_air - mass_by_mass) / 2.0;
        let cross = air_by_mass * mass_by_air;
        let root = half.hypot(cross.sqrt());
        // The one that would cancel is had from the product of both.
        let (under, over) =
            if half >= 0.0 { (half + root, cross / (half + root)) } else { (cross / (root - half), root - half) };
        let fast = mass_by_mass + under;
        let slow =
            if heavy { (light_loss * mass_loss + film * (light_loss + mass_loss)) / air / mass / fast } else { 0.0 };
        Some(Body {
            outside: room.outside.in_kelvin(),
            loss,
            light_loss,
            film,
            mass_loss,
            mass_share: if heavy { 1.0 - through / film } else { 0.0 },
            air_by_air,
            air_by_mass,
            mass_by_air,
            mass_by_mass,
            fast,
            slow,
            under,
            over,
        })
    }

    /// Where air and mass go under constant heat.
    fn course(&self, heat: f64, air: f64, mass: f64) -> Course {
        let rise = heat / self.loss;
        let air_settled = self.outside + rise;
        let mass_settled = self.outside + rise * self.mass_share;
        let (from, behind) = (air - air_settled, mass - mass_settled);
        let fast = (self.under * from - self.air_by_mass * behind) / (self.under + self.over);
        let mass_fast = if self.air_by_air >= self.mass_by_mass {
            -self.mass_by_air / self.under * fast
        } else {
            -self.over / self.air_by_mass * fast
        };
        let [fast_rate, slow_rate] = [self.fast, self.slow];
        Course {
            air: Curve { from: air, settled: air_settled, fast, slow: from - fast, fast_rate, slow_rate },
            mass: Curve {
                from: mass,
                settled: mass_settled,
                fast: mass_fast,
                slow: behind - mass_fast,
                fast_rate,
                slow_rate,
            },
        }
    }

    /// What the mass settles at with the air at a temperature.
    fn mass_beside(&self, air: f64) -> f64 {
        self.outside + (air - self.outside) * self.mass_share
    }
}

/// Air and mass under constant heat.
#[derive(Clone, Copy)]
struct Course {
    air: Curve,
    mass: Curve,
}

/// A temperature that settles in two ways at once: settled + fast · exp(−fast_rate · t) + slow · exp(−slow_rate · t).
#[derive(Clone, Copy)]
struct Curve {
    from: f64,
    settled: f64,
    fast: f64,
    slow: f64,
    fast_rate: f64,
    slow_rate: f64,
}

impl Curve {
    fn at(&self, time: f64) -> f64 {
        self.settled + self.fast * (-self.fast_rate * time).exp() + self.slow * (-self.slow_rate * time).exp()
    }

    /// ∫ of it from zero on, without what is below a temperature.
    fn above(&self, temperature: f64, time: f64) -> f64 {
        (self.settled - temperature) * time
            + self.fast * decayed(self.fast_rate, time)
            + self.slow * decayed(self.slow_rate, time)
    }

    /// When it turns back; it does so once at most.
    fn turn(&self) -> Option<f64> {
        let (fast, slow) = (self.fast_rate * self.fast, self.slow_rate * self.slow);
        if (fast > 0.0) == (slow > 0.0) || fast.abs() <= slow.abs() || slow == 0.0 {
            return None;
        }
        Some((-fast / slow).ln() / (self.fast_rate - self.slow_rate)).filter(|time| *time > 0.0)
    }

    /// The first time at which it passes a temperature upwards or downwards; infinite where it never does.
    ///
    /// On the far side already, that is at once; just there, at once unless it first goes the other way.
    fn first(&self, target: f64, rising: bool) -> f64 {
        let sign = if rising { 1.0 } else { -1.0 };
        let short = |temperature: f64| sign * (target - temperature) > 0.0;
        let slope = -self.fast_rate * self.fast - self.slow_rate * self.slow;
        if !short(self.from) && (self.from != target || sign * slope >= 0.0) {
            return 0.0;
        }
        let turn = self.turn();
        if let Some(turn) = turn {
            let there = self.at(turn);
            if short(self.from) && !short(there) {
                return self.passes(target, rising, 0.0, turn);
            }
            if !short(there) {
                return f64::INFINITY;
            }
        }
        let beyond = sign * (self.settled - target);
        if beyond.is_nan() || beyond <= 0.0 {
            return f64::INFINITY;
        }
        // So long that what is left of both is no more than it settles beyond.
        let rate = if self.slow_rate > 0.0 { self.slow_rate } else { self.fast_rate };
        let last = ((self.fast.abs() + self.slow.abs()) / beyond).ln().max(0.0) / rate;
        let begin = turn.unwrap_or(0.0);
        if last.is_finite() { self.passes(target, rising, begin, begin.max(last)) } else { f64::INFINITY }
    }

    /// When it is at a temperature between two times, on its way up or down; it does not turn in between.
    ///
    /// Newton's method, held to the bracket by halving it.
    fn passes(&self, target: f64, rising: bool, begin: f64, end: f64) -> f64 {
        let (mut early, mut late) = (begin, end);
        let mut time = begin;
        for _ in 0..80 {
            let (fast, slow) = (self.fast * (-self.fast_rate * time).exp(), self.slow * (-self.slow_rate * time).exp());
            let off = self.settled - target + fast + slow;
            // Nearer than the numbers can tell it is there, and a further step would leave the bracket by rounding.
            if off.abs() <= 2e-16 * (target.abs() + fast.abs() + slow.abs()) {
                break;
            }
            if (off < 0.0) == rising {
                early = time;
            } else {
                late = time;
            }
            let step = off / (self.fast_rate * fast + self.slow_rate * slow);
            if step.abs() <= 1e-14 * time {
                break;
            }
            let newton = time + step;
            time = if newton > early && newton < late { newton } else { (early + late) / 2.0 };
        }
        time
    }
}

/// One phase with constant heat and current.
#[derive(Clone, Copy)]
struct Phase {
    /// Heat of the flame, W; `None` without a flame.
    flame: Option<f64>,
    /// Current of the heater, A.
    current: f64,
    /// Longest time, s.
    lasts: f64,
    /// The temperature of the air at which it ends when reached from below, K.
    warm: Option<f64>,
    /// That at which it ends when reached from above, K.
    cool: Option<f64>,
}

impl Phase {
    fn off(current: f64) -> Phase {
        Phase { flame: None, current, lasts: f64::INFINITY, warm: None, cool: None }
    }
}

/// How a phase ended that the night did not end.
#[derive(Clone, Copy, PartialEq, Eq)]
enum End {
    /// It lasted its time.
    Lasted,
    /// The air was as warm as it was to get; or the set-point takes less than the lowest output.
    Warm,
    /// The air was as cool as it was to get; or the set-point takes more than the highest output.
    Cool,
}

/// What one cycle added, and by how much it left the mass warmer.
#[derive(Clone, Copy)]
struct Cycle {
    whole: Sums,
    /// Of it, until the restart.
    restart: Sums,
    drift: f64,
}

/// Cycles are like where the mass's way left before and after the last of them multiply to less, K²: by so much, over the
/// square of the kelvins that a cycle takes, is wrong what they are taken to add.
const SETTLED: f64 = 1e-5;
/// Cycles that are walked at most; a night with more that still differ has no answer.
const MOST_CYCLES: u32 = 2000;

struct Walk<'a> {
    inputs: &'a Inputs<'a>,
    body: Body,
    people: f64,
    set: f64,
    lowest: f64,
    highest: f64,
    air: f64,
    mass: f64,
    sums: Sums,
    lowest_voltage: Option<(f64, f64)>,
    warm_up: Option<f64>,
    coldest: f64,
    warmest: f64,
    cycle: Option<f64>,
    failed: Option<(Failure, f64)>,
}

impl<'a> Walk<'a> {
    fn new(inputs: &'a Inputs<'a>) -> Option<Walk<'a>> {
        let room = &inputs.room;
        let [one, other] = inputs.burner.output.map(Power::in_watts);
        let full = inputs.battery.map_or(1.0, |battery| battery.full.in_coulombs());
        let body = Body::new(room).filter(|_| full > 0.0)?;
        let start = room.start.in_kelvin();
        Some(Walk {
            inputs,
            body,
            people: room.people.in_watts(),
            set: room.set.in_kelvin(),
            lowest: one.min(other),
            highest: one.max(other),
            air: start,
            mass: start,
            sums: Sums::default(),
            lowest_voltage: None,
            warm_up: (start >= room.set.in_kelvin()).then_some(0.0),
            coldest: start,
            warmest: start,
            cycle: None,
            failed: None,
        })
    }

    /// What the room asks for at its set-point once all has settled, W.
    fn demand(&self) -> f64 {
        self.body.loss * (self.set - self.body.outside) - self.people
    }

    /// By how much holding the air at its set-point takes more as yet, because the mass is colder than it will be, W.
    fn warming(&self) -> f64 {
        self.body.film * (self.body.mass_beside(self.set) - self.mass)
    }

    fn stops_at(&self) -> f64 {
        self.set + self.inputs.burner.stops_above.in_kelvin_difference().max(0.0)
    }

    fn starts_at(&self) -> f64 {
        self.set - self.inputs.burner.restarts_below.in_kelvin_difference().max(0.0)
    }

    /// The whole night; `None` as soon as it is over or the heater has failed.
    fn whole_night(&mut self) -> Option<()> {
        if self.air > self.stops_at() && self.inputs.burner.below_lowest == BelowLowest::Stops {
            self.wait()?;
        }
        self.start()?;
        self.burn()?;
        let mut before: Option<Cycle> = None;
        for _ in 0..MOST_CYCLES {
            let cycle = self.one_cycle()?;
            self.cycle = Some(cycle.whole.time);
            let taken = before.is_some_and(|before| self.like_cycles(before, cycle));
            before = (!taken).then_some(cycle);
        }
        None
    }

    /// From a stop to the next.
    fn one_cycle(&mut self) -> Option<Cycle> {
        let (before, mass) = (self.sums, self.mass);
        for stage in self.inputs.burner.stopping {
            self.phase(stage.phase())?;
        }
        self.wait()?;
        let restart = before.minus_from(self.sums);
        self.start()?;
        self.burn()?;
        Some(Cycle { whole: before.minus_from(self.sums), restart, drift: self.mass - mass })
    }

    /// Takes as many cycles at once as surely fit in the night, the tank and the battery, where two in a row show that
    /// the mass has nearly settled; whether it did.
    ///
    /// What is left of the mass's drift shrinks by the same factor from cycle to cycle, and with it what each adds.
    fn like_cycles(&mut self, before: Cycle, now: Cycle) -> bool {
        let shrinks = if now.drift.abs() < 1e-9 { 0.0 } else { now.drift / before.drift };
        let off = (before.drift * now.drift).abs() / (1.0 - shrinks).powi(2);
        if !(shrinks.abs() < 0.999 && off < SETTLED) {
            return false;
        }
        let ahead = shrinks / (1.0 - shrinks);
        let settled = |before: Sums, now: Sums| now.plus(before.minus_from(now), ahead);
        let (whole, restart) = (settled(before.whole, now.whole), settled(before.restart, now.restart));
        // What so many cycles from here add, beyond as many settled ones, by what the last one had beyond them.
        let beyond = |times: f64| ahead * (1.0 - shrinks.powf(times));
        let sum = |times: f64| Sums::default().plus(whole, times).plus(whole.minus_from(now.whole), beyond(times));

        let fit = |left: f64, each: f64, last: f64| {
            let each = each.max(last);
            if each > 0.0 { (left / each).floor() } else { f64::INFINITY }
        };
        let mut times = fit(self.inputs.lasts.in_seconds() - self.sums.time, whole.time, now.whole.time);
        if let Some(fuel) = self.inputs.fuel {
            times = times.min(fit(fuel.in_cubic_metres() - self.sums.fuel, whole.fuel, now.whole.fuel));
        }
        if let Some(battery) = &self.inputs.battery {
            times = times.min(fit(battery.charge.in_coulombs() - self.sums.drawn, whole.drawn, now.whole.drawn));
        }
        times -= 1.0;
        if !times.is_finite() || times < 1.0 {
            return false;
        }
        if let Some(battery) = &self.inputs.battery {
            let drawn = self.sums.drawn;
            let at = |cycle: f64| self.start_voltage(battery, drawn + sum(cycle - 1.0).drawn + restart.drawn);
            let fails = |voltage: Option<f64>| {
                voltage.zip(battery.lowest).is_some_and(|(left, lowest)| left < lowest.in_volts())
            };
            if fails(at(times)) {
                // The voltage does not rise as the charge falls: halve until the last cycle that starts is found.
                let (mut good, mut bad) = (0.0_f64, times);
                while bad - good > 1.0 && bad < 9e15 {
                    let middle = ((good + bad) / 2.0).floor();
                    if fails(at(middle)) {
                        bad = middle;
                    } else {
                        good = middle;
                    }
                }
                times = good;
            }
            if let Some(voltage) = at(times).filter(|_| times >= 1.0) {
                let when = self.sums.time + sum(times - 1.0).time + restart.time;
                self.keep_voltage(voltage, when);
            }
        }
        self.sums = self.sums.plus(sum(times), 1.0);
        self.mass += now.drift * beyond(times);
        self.cycle = Some(whole.time);
        true
    }

    /// Off until the air has cooled to where the heater starts again.
    fn wait(&mut self) -> Option<()> {
        let standby = self.inputs.burner.standby.in_amperes();
        self.phase(Phase { cool: Some(self.starts_at()), ..Phase::off(standby) }).map(|_| ())
    }

    fn start(&mut self) -> Option<()> {
        if let Some(battery) = &self.inputs.battery
            && let Some(voltage) = self.start_voltage(battery, self.sums.drawn)
        {
            self.keep_voltage(voltage, self.sums.time);
            if battery.lowest.is_some_and(|lowest| voltage < lowest.in_volts()) {
                self.failed = Some((Failure::Voltage, self.sums.time));
                return None;
            }
        }
        for stage in self.inputs.burner.starting {
            self.phase(stage.phase())?;
        }
        self.sums.starts += 1.0;
        Some(())
    }

    /// Lowest voltage of a start that begins with so much drawn, V.
    fn start_voltage(&self, battery: &Battery<'_>, drawn: f64) -> Option<f64> {
        let full = battery.full.in_coulombs();
        let mut left = battery.charge.in_coulombs() - drawn;
        let mut lowest: Option<f64> = None;
        for stage in self.inputs.burner.starting {
            if !stage.waited_out {
                let share = (left / full).clamp(0.0, 1.0);
                let volts = (battery.voltage)(share, stage.current).in_volts();
                lowest = Some(lowest.map_or(volts, |so_far| so_far.min(volts)));
            }
            left -= drawn_by(battery, stage.current.in_amperes()) * stage.lasts.in_seconds().max(0.0);
        }
        lowest
    }

    fn keep_voltage(&mut self, voltage: f64, when: f64) {
        if self.lowest_voltage.is_none_or(|(lowest, _)| voltage < lowest) {
            self.lowest_voltage = Some((voltage, when));
        }
    }

    /// With a flame, until it stops at the upper end of its band.
    fn burn(&mut self) -> Option<()> {
        let stop = match self.inputs.burner.below_lowest {
            BelowLowest::RunsOn => None,
            BelowLowest::Stops => Some(self.stops_at()),
        };
        // Air and mass settle, and so it comes back to the set-point a few times at most.
        for _ in 0..8 {
            let mut end = End::Lasted;
            if self.air < self.set {
                self.phase(self.flame(self.highest, Some(self.set), None))?;
            }
            if self.air == self.set {
                let (demand, takes) = (self.demand(), self.demand() + self.warming());
                // Where it has just come down to the set-point, no rounding may send it off again.
                end = if takes >= self.lowest - 1e-9 * self.highest.abs() {
                    self.hold()?
                } else if demand > self.lowest {
                    End::Lasted
                } else {
                    End::Warm
                };
                if end == End::Cool {
                    // It takes more than there is, and always will.
                    self.phase(self.flame(self.highest, None, None))?;
                }
            }
            let cool = (end != End::Warm).then_some(self.set);
            if self.phase(self.flame(self.lowest, stop, cool))? == End::Warm {
                return Some(());
            }
        }
        self.phase(self.flame(self.lowest, stop, None)).map(|_| ())
    }

    fn flame(&self, heat: f64, warm: Option<f64>, cool: Option<f64>) -> Phase {
        let [low, high] = self.inputs.burner.current.map(Current::in_amperes);
        Phase { flame: Some(heat), current: self.between(heat, low, high), lasts: f64::INFINITY, warm, cool }
    }

    /// A straight line between a value at lowest and one at highest output.
    fn between(&self, heat: f64, low: f64, high: f64) -> f64 {
        if self.highest > self.lowest {
            low + (high - low) * ((heat - self.lowest) / (self.highest - self.lowest))
        } else {
            high
        }
    }

    /// How long the night still is.
    fn left(&self) -> f64 {
        (self.inputs.lasts.in_seconds() - self.sums.time).max(0.0)
    }

    /// Fuel and charge that are left; infinite where they are not counted or the heater has failed.
    fn supplies(&self) -> (f64, f64) {
        if self.failed.is_some() {
            return (f64::INFINITY, f64::INFINITY);
        }
        let fuel = self.inputs.fuel.map_or(f64::INFINITY, |fuel| fuel.in_cubic_metres() - self.sums.fuel);
        let charge =
            self.inputs.battery.map_or(f64::INFINITY, |battery| battery.charge.in_coulombs() - self.sums.drawn);
        (fuel, charge)
    }

    /// Walks one phase; `None` where the night ends in it or the heater fails.
    fn phase(&mut self, phase: Phase) -> Option<End> {
        let heat = phase.flame.unwrap_or(0.0);
        let course = self.body.course(heat + self.people, self.air, self.mass);
        let warm = phase.warm.map_or(f64::INFINITY, |target| course.air.first(target, true));
        let cool = phase.cool.map_or(f64::INFINITY, |target| course.air.first(target, false));
        let own = warm.min(cool).min(phase.lasts);
        let night = self.left();
        let fuel_rate = phase.flame.map_or(0.0, |heat| {
            let [low, high] = self.inputs.burner.fuel.map(VolumeFlow::in_cubic_metres_per_second);
            self.between(heat, low, high)
        });
        let rate = self
            .inputs
            .battery
            .as_ref()
            .map_or(0.0, |battery| drawn_by(battery, phase.current + battery.other.in_amperes()));
        let until_empty = |left: f64, each: f64| if each > 0.0 { (left / each).max(0.0) } else { f64::INFINITY };
        let (fuel, charge) = self.supplies();
        let (tank, charge) = (until_empty(fuel, fuel_rate), until_empty(charge, rate));
        let lasts = own.min(night).min(tank).min(charge);

        let from = self.air;
        let end = match own <= lasts {
            false => None,
            true if own == phase.lasts => Some(End::Lasted),
            true if own == warm => Some(End::Warm),
            true => Some(End::Cool),
        };
        self.air = match (end, phase.warm, phase.cool) {
            (Some(End::Warm), Some(target), _) => from.max(target),
            (Some(End::Cool), _, Some(target)) => from.min(target),
            _ if lasts > 0.0 => course.air.at(lasts),
            _ => from,
        };
        if lasts > 0.0 {
            self.mass = course.mass.at(lasts);
        }
        let below = self.below_set(&course.air, lasts);
        let outside = self.body.outside;
        let burning = if phase.flame.is_some() { lasts } else { 0.0 };
        self.sums = self.sums.plus(
            Sums {
                time: lasts,
                burning,
                at_lowest: if phase.flame == Some(self.lowest) { burning } else { 0.0 },
                fuel: fuel_rate * lasts,
                heat: heat * lasts,
                lost: self.body.light_loss * course.air.above(outside, lasts)
                    + self.body.mass_loss * course.mass.above(outside, lasts),
                drawn: rate * lasts,
                below_set: below,
                starts: 0.0,
            },
            1.0,
        );
        if end.is_none() && night > lasts {
            let why = if tank <= charge { Failure::Fuel } else { Failure::Charge };
            self.failed = Some((why, self.sums.time));
        }
        end
    }

    /// How long of a phase the air is below its set-point; keeps the first time that it was not, and how cold and warm it was.
    fn below_set(&mut self, air: &Curve, lasts: f64) -> f64 {
        let (from, to, set) = (air.from, self.air, self.set);
        let turn = air.turn().filter(|turn| *turn < lasts);
        let middle = turn.map(|turn| (turn, air.at(turn)));
        let mut below = 0.0;
        let mut begin = (0.0, from);
        for end in middle.into_iter().chain([(lasts, to)]) {
            let (early, late) = (begin.1 < set, end.1 < set);
            let passes = match (early, late) {
                (true, false) if end.1 > set => air.passes(set, true, begin.0, end.0),
                (false, true) if begin.1 > set => air.passes(set, false, begin.0, end.0),
                (false, true) => begin.0,
                _ => end.0,
            };
            below += match (early, late) {
                (true, _) => passes - begin.0,
                (false, true) => end.0 - passes,
                (false, false) => 0.0,
            };
            if self.warm_up.is_none() && !late {
                self.warm_up = Some(self.sums.time + if early { passes } else { begin.0 });
                self.coldest = set;
            }
            self.coldest = self.coldest.min(end.1);
            self.warmest = self.warmest.max(end.1);
            begin = end;
        }
        below
    }

    /// Holds the air at its set-point, with just the heat that this takes; ends where that is less than the lowest output
    /// or more than the highest.
    fn hold(&mut self) -> Option<End> {
        let (demand, warming) = (self.demand(), self.warming());
        let speed = self.body.mass_by_mass;
        let (own, end) = if warming > 0.0 && demand < self.lowest {
            ((warming / (self.lowest - demand)).ln().max(0.0) / speed, End::Warm)
        } else if warming < 0.0 && demand > self.highest {
            ((warming / (self.highest - demand)).ln().max(0.0) / speed, End::Cool)
        } else {
            (f64::INFINITY, End::Lasted)
        };
        let night = self.left();
        let [fuel_low, fuel_high] = self.inputs.burner.fuel.map(VolumeFlow::in_cubic_metres_per_second);
        let [low, high] = self.inputs.burner.current.map(Current::in_amperes);
        let fuel_steady = self.between(demand, fuel_low, fuel_high);
        let fuel_more = self.between(demand + warming, fuel_low, fuel_high) - fuel_steady;
        let steady = self.between(demand, low, high);
        let more = self.between(demand + warming, low, high) - steady;
        let burnt = |time: f64| fuel_steady * time + fuel_more * decayed(speed, time);
        let battery = self.inputs.battery;
        let drawn = |time: f64| {
            battery.map_or(0.0, |battery| {
                drawn_by_a_falling(&battery, steady + battery.other.in_amperes(), more, speed, time)
            })
        };
        let (fuel, charge) = self.supplies();
        let longest = own.min(night);
        let (tank, charge) = (until(burnt, fuel, longest), until(drawn, charge, longest));
        let lasts = longest.min(tank).min(charge);

        let film_passed = decayed(speed, lasts);
        let settled = self.body.mass_beside(self.set);
        let behind = self.mass - settled;
        self.mass = settled + behind * (-speed * lasts).exp();
        let over = self.set - self.body.outside;
        self.warmest = self.warmest.max(self.set);
        self.sums = self.sums.plus(
            Sums {
                time: lasts,
                burning: lasts,
                fuel: burnt(lasts),
                heat: demand * lasts + warming * film_passed,
                lost: self.body.light_loss * over * lasts
                    + self.body.mass_loss * ((settled - self.body.outside) * lasts + behind * film_passed),
                drawn: drawn(lasts),
                ..Sums::default()
            },
            1.0,
        );
        if own <= lasts {
            return Some(end);
        }
        if night > lasts {
            let why = if tank <= charge { Failure::Fuel } else { Failure::Charge };
            self.failed = Some((why, self.sums.time));
        }
        None
    }

    fn result(&self) -> Option<Night> {
        let sums = &self.sums;
        let charge = self.inputs.battery.map(|battery| (battery.charge.in_coulombs() - sums.drawn).max(0.0));
        let numbers = [
            sums.time,
            sums.burning,
            sums.at_lowest,
            sums.fuel,
            sums.heat,
            sums.lost,
            sums.below_set,
            sums.starts,
            self.air,
            self.mass,
            self.coldest,
            self.warmest,
            self.cycle.unwrap_or(1.0),
            charge.unwrap_or(0.0),
            self.lowest_voltage.map_or(0.0, |(voltage, _)| voltage),
        ];
        // A cycle too short for the numbers to tell from none leaves the night unfinished: no answer then.
        let whole = sums.time >= self.inputs.lasts.in_seconds() * (1.0 - 1e-6);
        let sound = whole && numbers.iter().all(|number| number.is_finite());
        sound.then(|| Night {
            starts: sums.starts.round() as u64,
            burning: Time::seconds(sums.burning),
            at_lowest: Time::seconds(sums.at_lowest),
            cycle: self.cycle.map(Time::seconds),
            fuel: Volume::cubic_metres(sums.fuel),
            heat: Energy::joules(sums.heat),
            lost: Energy::joules(sums.lost),
            charge: charge.map(Charge::coulombs),
            lowest_voltage: self.lowest_voltage.map(|(voltage, when)| (Voltage::volts(voltage), Time::seconds(when))),
            warm_up: self.warm_up.map(Time::seconds),
            coldest: self.warm_up.map(|_| Temperature::kelvin(self.coldest)),
            warmest: Temperature::kelvin(self.warmest),
            at_end: Temperature::kelvin(self.air),
            mass_at_end: Temperature::kelvin(self.mass),
            below_set: Time::seconds(sums.below_set),
            failed: self.failed.map(|(why, when)| (why, Time::seconds(when))),
        })
    }
}

impl Stage {
    fn phase(&self) -> Phase {
        Phase { lasts: self.lasts.in_seconds().max(0.0), ..Phase::off(self.current.in_amperes()) }
    }
}

/// When something that only grows has used up what is left, no later than the longest; infinite where it does not.
fn until(used: impl Fn(f64) -> f64, left: f64, longest: f64) -> f64 {
    if used(longest) <= left || !left.is_finite() {
        return f64::INFINITY;
    }
    let (mut early, mut late) = (0.0, longest);
    for _ in 0..60 {
        let middle = (early + late) / 2.0;
        if used(middle) < left {
            early = middle;
        } else {
            late = middle;
        }
    }
    early
}

/// Charge by second that a current takes out of what can be drawn, A: more than itself above the rated current.
///
/// Below it the current counts as it is: the gain that Peukert's law promises there is not relied on.
fn drawn_by(battery: &Battery<'_>, amperes: f64) -> f64 {
    let rated = battery.rated.in_amperes();
    if amperes > rated && rated > 0.0 {
        amperes * (amperes / rated).powf(battery.exponent.max(1.0) - 1.0)
    } else {
        amperes.max(0.0)
    }
}

/// Points and weights of the Gauss-Legendre rule of five points, from -1 to 1. Source: Abramowitz and Stegun, table 25.4.
const GAUSS: [(f64, f64); 5] = [
    (0.0, 0.568_888_888_888_889),
    (0.538_469_310_105_683, 0.478_628_670_499_366),
    (-0.538_469_310_105_683, 0.478_628_670_499_366),
    (0.906_179_845_938_664, 0.236_926_885_056_189),
    (-0.906_179_845_938_664, 0.236_926_885_056_189),
];

/// Charge that a current of steady + more · exp(−speed · t) takes out of what can be drawn in a time, A·s.
///
/// In closed form up to the rated current; what Peukert's law adds above it is summed by Gauss's rule over exp(−speed · t).
fn drawn_by_a_falling(battery: &Battery<'_>, steady: f64, more: f64, speed: f64, time: f64) -> f64 {
    let plain = steady * time + more * decayed(speed, time);
    let rated = battery.rated.in_amperes();
    let last = (-speed * time).exp();
    if steady.max(steady + more) <= rated || rated <= 0.0 {
        return plain;
    }
    let added = |share: f64| {
        let amperes = steady + more * share;
        if amperes > rated { drawn_by(battery, amperes) - amperes } else { 0.0 }
    };
    let always = added(0.0);
    let mut sum = plain + always * time;
    if more == 0.0 || speed <= 0.0 {
        return sum;
    }
    // At the rated current the law has a corner: each side by itself.
    let corner = ((rated - steady) / more).clamp(last, 1.0);
    for (low, high) in [(last, corner), (corner, 1.0)] {
        let (middle, half) = ((low + high) / 2.0, (high - low) / 2.0);
        for (point, weight) in GAUSS {
            let share = middle + half * point;
            if share > 0.0 {
                sum += weight * half * (added(share) - always) / share / speed;
            }
        }
    }
    sum
}

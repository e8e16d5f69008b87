//! One night of a heater in a room, solved event by event: each phase is a closed form, like cycles are taken at once.
//! Nothing is stepped through time, and nothing here knows a job.

use crate::units::{
    Charge, Current, Energy, HeatCapacity, HeatLossCoefficient, Power, Temperature, TemperatureDifference, Time,
    Voltage, Volume, VolumeFlow,
};

/// The room: one lumped store of heat behind one loss.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Heat lost by kelvin; positive.
    pub loss: HeatLossCoefficient,
    /// Heat stored by kelvin; positive.
    pub store: HeatCapacity,
    /// Heat that people give.
    pub people: Power,
    /// Outside temperature, the same all night.
    pub outside: Temperature,
    /// The room when the heater is switched on.
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
    /// One cycle of stopping and starting, where it comes to one.
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
    /// Coldest room after that.
    pub coldest: Option<Temperature>,
    /// Warmest room.
    pub warmest: Temperature,
    /// The room when the night is over.
    pub at_end: Temperature,
    /// All time below the set-point, warm-up included.
    pub below_set: Time,
    /// Why and when the heater went off for good.
    pub failed: Option<(Failure, Time)>,
}

impl Night {
    /// Share of the burning time at lowest output, 0 to 1; zero where it never burnt.
    pub fn share_at_lowest(&self) -> f64 {
        if self.burning > Time::ZERO {
            self.at_lowest / self.burning
        } else {
            0.0
        }
    }

    /// Starts in an hour while it cycles; zero where it does not.
    pub fn starts_an_hour(&self) -> f64 {
        self.cycle.map_or(0.0, |cycle| 3600.0 / cycle.in_seconds())
    }
}

/// Solves a night.
///
/// The flame is at its highest until the room is at its set-point, then holds what the room asks for, where that lies
/// between lowest and highest output. Below, it stops or runs on; above, it stays at its highest. A start and a stop
/// give no heat and burn no fuel worth counting. A stop by the end of the night is not in it.
///
/// `None` unless loss, store and full charge are positive, or where a result is past all numbers. All inputs finite.
/// Source: first-order heat balance (Incropera, Fundamentals of Heat and Mass Transfer, 5.3), phase by phase; Peukert
/// 1897 for the charge.
pub fn night(inputs: &Inputs<'_>) -> Option<Night> {
    let mut walk = Walk::new(inputs)?;
    if walk.whole_night().is_none() && walk.failed.is_some() {
        // What is off cools, and the standby current and the other loads go on.
        let _ = walk.phase(Phase::off(inputs.burner.standby.in_amperes()));
    }
    walk.result()
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
}

/// One phase: everything constant but the room.
#[derive(Clone, Copy)]
struct Phase {
    /// Heat of the flame, W; `None` without a flame.
    flame: Option<f64>,
    /// Current of the heater, A.
    current: f64,
    /// Longest time, s.
    lasts: f64,
    /// The temperature at which it ends, K, and whether that is reached from below.
    until: Option<(f64, bool)>,
}

impl Phase {
    fn off(current: f64) -> Phase {
        Phase { flame: None, current, lasts: f64::INFINITY, until: None }
    }
}

struct Walk<'a> {
    inputs: &'a Inputs<'a>,
    loss: f64,
    store: f64,
    people: f64,
    outside: f64,
    set: f64,
    lowest: f64,
    highest: f64,
    temperature: f64,
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
        let (loss, store) = (room.loss.in_watts_per_kelvin(), room.store.in_joules_per_kelvin());
        let start = room.start.in_kelvin();
        (loss > 0.0 && store > 0.0 && full > 0.0).then(|| Walk {
            inputs,
            loss,
            store,
            people: room.people.in_watts(),
            outside: room.outside.in_kelvin(),
            set: room.set.in_kelvin(),
            lowest: one.min(other),
            highest: one.max(other),
            temperature: start,
            sums: Sums::default(),
            lowest_voltage: None,
            warm_up: (start >= room.set.in_kelvin()).then_some(0.0),
            coldest: start,
            warmest: start,
            cycle: None,
            failed: None,
        })
    }

    /// What the room asks for at its set-point, W.
    fn demand(&self) -> f64 {
        self.loss * (self.set - self.outside) - self.people
    }

    fn stops_at(&self) -> f64 {
        self.set + self.inputs.burner.stops_above.in_kelvin_difference().max(0.0)
    }

    fn starts_at(&self) -> f64 {
        self.set - self.inputs.burner.restarts_below.in_kelvin_difference().max(0.0)
    }

    /// The whole night; `None` as soon as it is over or the heater has failed.
    fn whole_night(&mut self) -> Option<()> {
        if self.temperature > self.stops_at() && self.inputs.burner.below_lowest == BelowLowest::Stops {
            self.wait()?;
        }
        self.start()?;
        self.burn()?;
        let before = self.sums;
        let restart = self.one_cycle()?;
        let one = before.minus_from(self.sums);
        self.cycle = Some(one.time);
        self.like_cycles(one, restart);
        // What is left is a cycle that the night, the tank or the battery cuts short, and at most a few whole ones
        // that rounding left over.
        for _ in 0..8 {
            self.one_cycle()?;
        }
        None
    }

    /// From a stop to the next; what was drawn and how long it took until the restart.
    fn one_cycle(&mut self) -> Option<Sums> {
        let before = self.sums;
        for stage in self.inputs.burner.stopping {
            self.phase(stage.phase())?;
        }
        self.wait()?;
        let restart = before.minus_from(self.sums);
        self.start()?;
        self.burn()?;
        Some(restart)
    }

    /// Takes as many cycles like one at once as surely fit in the night, the tank and the battery.
    fn like_cycles(&mut self, one: Sums, restart: Sums) {
        let fit = |left: f64, each: f64| if each > 0.0 { (left / each).floor() } else { f64::INFINITY };
        let mut times = fit(self.inputs.lasts.in_seconds() - self.sums.time, one.time);
        if let Some(fuel) = self.inputs.fuel {
            times = times.min(fit(fuel.in_cubic_metres() - self.sums.fuel, one.fuel));
        }
        if let Some(battery) = &self.inputs.battery {
            times = times.min(fit(battery.charge.in_coulombs() - self.sums.drawn, one.drawn));
        }
        times -= 1.0;
        if !times.is_finite() || times < 1.0 {
            return;
        }
        if let Some(battery) = &self.inputs.battery {
            let drawn = self.sums.drawn;
            let at = |cycle: f64| self.start_voltage(battery, drawn + (cycle - 1.0) * one.drawn + restart.drawn);
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
                let when = self.sums.time + (times - 1.0) * one.time + restart.time;
                self.keep_voltage(voltage, when);
            }
        }
        self.sums = self.sums.plus(one, times);
    }

    /// Off until the room has cooled to where the heater starts again.
    fn wait(&mut self) -> Option<()> {
        let standby = self.inputs.burner.standby.in_amperes();
        self.phase(Phase { until: Some((self.starts_at(), false)), ..Phase::off(standby) })
    }

    fn start(&mut self) -> Option<()> {
        if let Some(battery) = &self.inputs.battery {
            if let Some(voltage) = self.start_voltage(battery, self.sums.drawn) {
                self.keep_voltage(voltage, self.sums.time);
                if battery.lowest.is_some_and(|lowest| voltage < lowest.in_volts()) {
                    self.failed = Some((Failure::Voltage, self.sums.time));
                    return None;
                }
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
        let demand = self.demand();
        if self.temperature > self.set && demand > self.lowest {
            self.phase(self.flame(self.lowest, Some((self.set, false))))?;
        }
        if self.temperature < self.set {
            self.phase(self.flame(self.highest, Some((self.set, true))))?;
        }
        if demand >= self.lowest {
            self.phase(self.flame(demand.min(self.highest), None))?;
        }
        let stop = match self.inputs.burner.below_lowest {
            BelowLowest::RunsOn => None,
            BelowLowest::Stops => Some((self.stops_at(), true)),
        };
        self.phase(self.flame(self.lowest, stop))
    }

    fn flame(&self, heat: f64, until: Option<(f64, bool)>) -> Phase {
        let [low, high] = self.inputs.burner.current.map(Current::in_amperes);
        Phase { flame: Some(heat), current: self.between(heat, low, high), lasts: f64::INFINITY, until }
    }

    /// A straight line between a value at lowest and one at highest output.
    fn between(&self, heat: f64, low: f64, high: f64) -> f64 {
        if self.highest > self.lowest {
            low + (high - low) * ((heat - self.lowest) / (self.highest - self.lowest)).clamp(0.0, 1.0)
        } else {
            high
        }
    }

    /// Walks one phase; `None` where the night ends in it or the heater fails.
    fn phase(&mut self, phase: Phase) -> Option<()> {
        let heat = phase.flame.unwrap_or(0.0);
        let from = self.temperature;
        // Where the flame gives just what the set-point asks for, no rounding may move the room off it.
        let holds = from == self.set && phase.flame == Some(self.demand());
        let settled = if holds { self.set } else { self.outside + (heat + self.people) / self.loss };
        let speed = self.loss / self.store;
        let reach = |target: f64, rising: bool| {
            if (rising && from >= target) || (!rising && from <= target) {
                return 0.0;
            }
            let ratio = (settled - from) / (settled - target);
            // The room gets there only if the target lies between it and where it settles.
            if ratio > 1.0 {
                ratio.ln() / speed
            } else {
                f64::INFINITY
            }
        };
        let own = phase.until.map_or(f64::INFINITY, |(target, rising)| reach(target, rising)).min(phase.lasts);
        let night = (self.inputs.lasts.in_seconds() - self.sums.time).max(0.0);
        let failed = self.failed.is_some();
        let fuel_rate = phase.flame.map_or(0.0, |heat| {
            let [low, high] = self.inputs.burner.fuel.map(VolumeFlow::in_cubic_metres_per_second);
            self.between(heat, low, high)
        });
        let rate = self
            .inputs
            .battery
            .as_ref()
            .map_or(0.0, |battery| drawn_by(battery, phase.current + battery.other.in_amperes()));
        let until_empty = |left: Option<f64>, each: f64| match left {
            Some(left) if each > 0.0 && !failed => (left / each).max(0.0),
            _ => f64::INFINITY,
        };
        let fuel_left = self.inputs.fuel.map(|fuel| fuel.in_cubic_metres() - self.sums.fuel);
        let charge_left = self.inputs.battery.map(|battery| battery.charge.in_coulombs() - self.sums.drawn);
        let (tank, charge) = (until_empty(fuel_left, fuel_rate), until_empty(charge_left, rate));
        let lasts = own.min(night).min(tank).min(charge);

        let decayed = (-lasts * speed).exp();
        let done = own <= lasts;
        self.temperature = match phase.until {
            Some((target, rising)) if done && own < phase.lasts => {
                if rising {
                    from.max(target)
                } else {
                    from.min(target)
                }
            }
            _ => settled + (from - settled) * decayed,
        };
        let to = self.temperature;
        let warmth = settled * lasts + (from - settled) / speed * (1.0 - decayed);
        let below = match (from < self.set, to < self.set) {
            (true, true) => lasts,
            (true, false) => reach(self.set, true).min(lasts),
            (false, true) => lasts - reach(self.set, false).min(lasts),
            (false, false) => 0.0,
        };
        if self.warm_up.is_none() && to >= self.set {
            self.warm_up = Some(self.sums.time + below);
            self.coldest = self.set;
        }
        self.coldest = self.coldest.min(to);
        self.warmest = self.warmest.max(to);
        let burning = if phase.flame.is_some() { lasts } else { 0.0 };
        let lowest = phase.flame == Some(self.lowest);
        self.sums = self.sums.plus(
            Sums {
                time: lasts,
                burning,
                at_lowest: if lowest { burning } else { 0.0 },
                fuel: fuel_rate * lasts,
                heat: heat * lasts,
                lost: self.loss * (warmth - self.outside * lasts),
                drawn: rate * lasts,
                below_set: below,
                starts: 0.0,
            },
            1.0,
        );
        if done {
            return Some(());
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
            self.temperature,
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
            at_end: Temperature::kelvin(self.temperature),
            below_set: Time::seconds(sums.below_set),
            failed: self.failed.map(|(why, when)| (why, Time::seconds(when))),
        })
    }
}

impl Sums {
    /// What was added since.
    fn minus_from(self, later: Sums) -> Sums {
        later.plus(self, -1.0)
    }
}

impl Stage {
    fn phase(&self) -> Phase {
        Phase { lasts: self.lasts.in_seconds().max(0.0), ..Phase::off(self.current.in_amperes()) }
    }
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

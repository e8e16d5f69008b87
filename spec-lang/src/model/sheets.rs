//! Type data: what data sheets state. Taken as written; what follows from it is for the figures.

use super::fact::{Fact, Stated};
use crate::physics::tubes::TubeMaterial;
use crate::reading::Value;
use crate::source::Place;
use crate::units::Quantity;
use crate::vocabulary::{Direction, Kind, Role};

use super::said::Said;

/// A stage of a heater's running.
#[derive(Clone, Debug)]
pub struct Stage {
    /// `pre-heat`, `ignition`, `high`, …
    pub name: &'static str,
    /// Its current, and whether that is a peak.
    pub current: Fact<Quantity>,
    /// How long it lasts, where stated.
    pub duration: Option<Quantity>,
    /// Whether the current is the peak of a cold glow pin.
    pub peak: bool,
    /// Whether a controller holds the power, so that less voltage draws more current.
    pub regulated: bool,
}

/// A longest way, the sum of its bends and a shortest way.
#[derive(Clone, Debug)]
pub struct WayLimit {
    /// The longest.
    pub length: Fact<Quantity>,
    /// The sum of bends.
    pub bends: Option<Fact<Quantity>>,
    /// The shortest.
    pub least: Option<Fact<Quantity>>,
    /// The highest lift or rise.
    pub lift: Option<Fact<Quantity>>,
}

/// A port of a heater, in the heater's own axes: forward is the warm end.
#[derive(Clone, Debug)]
pub struct Port {
    /// `exhaust`, `fuel`, …
    pub name: &'static str,
    /// Offsets from the heater's middle, in order.
    pub offset: Vec<(Direction, Quantity)>,
    /// The way it faces.
    pub facing: Option<Direction>,
    /// Where it is stated.
    pub place: Place,
}

/// What a heater's data sheet states.
#[derive(Clone, Debug)]
pub struct HeaterSheet {
    /// Its name.
    pub name: String,
    /// Its header.
    pub header: Place,
    /// `air` or `coolant`.
    pub warms: Stated<&'static str>,
    /// `diesel` or `petrol`.
    pub burns: Stated<&'static str>,
    /// Lowest to highest heat output.
    pub output: Stated<Quantity>,
    /// Lowest to highest fuel rate.
    pub fuel_rate: Stated<Quantity>,
    /// The system voltage it is built for.
    pub supply: Stated<Quantity>,
    /// The window of voltage at its terminals.
    pub voltage: Stated<Quantity>,
    /// How long it bears to be outside the window.
    pub trips_after: Option<Quantity>,
    /// Its stages.
    pub stages: Vec<Stage>,
    /// Fan flow without duct.
    pub fan_flow: Stated<Quantity>,
    /// Exhaust limit.
    pub exhaust_limit: Option<WayLimit>,
    /// Combustion-air limit.
    pub combustion_air_limit: Option<WayLimit>,
    /// Warm-air limit.
    pub warm_air_limit: Option<WayLimit>,
    /// Return-air limit.
    pub return_air_limit: Option<WayLimit>,
    /// Fuel line from tank to pump.
    pub suction_limit: Option<WayLimit>,
    /// Fuel line from pump to heater.
    pub pressure_limit: Option<WayLimit>,
    /// The deepest suction its pump can draw.
    pub suction_pressure: Stated<Quantity>,
    /// The highest pressure its pump can deliver against.
    pub delivery_pressure: Stated<Quantity>,
    /// The tilt its pump may have.
    pub pump_tilt: Stated<Quantity>,
    /// A stroke of its pump.
    pub dose: Stated<Quantity>,
    /// Least distances of its exhaust.
    pub exhaust_clear_of: Vec<(&'static str, Fact<Quantity>)>,
    /// Branches of the supplied harness.
    pub harness: Vec<(String, Fact<Quantity>)>,
    /// Ports.
    pub ports: Vec<Port>,
    /// Its body, in its own axes.
    pub spans: Vec<(Direction, Quantity)>,
    /// The fuse it asks for.
    pub fuse: Stated<Quantity>,
    /// `return-air` or `remote`.
    pub senses: Vec<Fact<&'static str>>,
    /// What its thermostat can be set to.
    pub set_range: Stated<Quantity>,
    /// How high it may be used.
    pub altitude: Stated<Quantity>,
    /// Pressure of its fan when blocked.
    pub fan_blocked: Stated<Quantity>,
    /// Excess air of its burner.
    pub excess_air: Stated<Quantity>,
    /// Where it says that its fuel is metered for thin air.
    pub corrects_altitude: Option<Place>,
    /// `stops` or `runs-on`.
    pub below_lowest: Stated<&'static str>,
    /// How far the room cools before it starts again, in K.
    pub restart_below: Stated<Quantity>,
    /// The smallest flow of warm air at full output.
    pub least_air_flow: Stated<Quantity>,
    /// The temperature of warm air at which its guard stops it.
    pub overheats: Stated<Quantity>,
    /// The most resistance of warm and return air together.
    pub duct_pressure: Stated<Quantity>,
    /// The most resistance of combustion air and exhaust together.
    pub combustion_pressure: Stated<Quantity>,
    /// The exhaust's temperature at its port.
    pub exhaust_temperature: Stated<Quantity>,
    /// Exhaust and combustion air together.
    pub exhaust_and_air_limit: Option<WayLimit>,
    /// What it must not be fitted without.
    pub asks_for: Vec<Fact<&'static str>>,
    /// How soon after stopping its feed may be cut.
    pub bears_cut_after: Stated<Quantity>,
    /// What it may be fitted on.
    pub fitted_on: Vec<Fact<&'static str>>,
    /// How far it may lean.
    pub tilt: Stated<Quantity>,
    /// The free space that drawing its glow pin takes.
    pub glow_pin_room: Stated<Quantity>,
    /// The air its dosing pump bears.
    pub pump_bears: Stated<Quantity>,
    /// The flow of coolant it needs.
    pub coolant_flow: Stated<Quantity>,
}

impl HeaterSheet {
    pub(super) fn read(said: &Said<'_>, name: String) -> HeaterSheet {
        let mut sheet = HeaterSheet {
            name,
            header: said.header(),
            warms: Stated::Silent,
            burns: Stated::Silent,
            output: Stated::Silent,
            fuel_rate: Stated::Silent,
            supply: Stated::Silent,
            voltage: Stated::Silent,
            trips_after: None,
            stages: Vec::new(),
            fan_flow: Stated::Silent,
            exhaust_limit: None,
            combustion_air_limit: None,
            warm_air_limit: None,
            return_air_limit: None,
            suction_limit: None,
            pressure_limit: None,
            suction_pressure: Stated::Silent,
            delivery_pressure: Stated::Silent,
            pump_tilt: Stated::Silent,
            dose: Stated::Silent,
            exhaust_clear_of: Vec::new(),
            harness: Vec::new(),
            ports: Vec::new(),
            spans: Vec::new(),
            fuse: Stated::Silent,
            senses: Vec::new(),
            set_range: Stated::Silent,
            altitude: Stated::Silent,
            fan_blocked: Stated::Silent,
            excess_air: Stated::Silent,
            corrects_altitude: None,
            below_lowest: Stated::Silent,
            restart_below: Stated::Silent,
            least_air_flow: Stated::Silent,
            overheats: Stated::Silent,
            duct_pressure: Stated::Silent,
            combustion_pressure: Stated::Silent,
            exhaust_temperature: Stated::Silent,
            exhaust_and_air_limit: None,
            asks_for: Vec::new(),
            bears_cut_after: Stated::Silent,
            fitted_on: Vec::new(),
            tilt: Stated::Silent,
            glow_pin_room: Stated::Silent,
            pump_bears: Stated::Silent,
            coolant_flow: Stated::Silent,
        };
        for line in said.lines() {
            let limit = || {
                line.quantity(Role::Amount).fact().map(|length| WayLimit {
                    length: *length,
                    bends: line.quantity(Role::Bends).fact().copied(),
                    least: line.quantity(Role::Least).fact().copied(),
                    lift: line.quantity(Role::Lift).fact().copied(),
                })
            };
            match line.word() {
                "warms" => sheet.warms = line.choice(Role::What),
                "burns" => sheet.burns = line.choice(Role::What),
                "output" => sheet.output = line.quantity(Role::Amount),
                "fuel-rate" => sheet.fuel_rate = line.quantity(Role::Amount),
                "supply" => sheet.supply = line.quantity(Role::Amount),
                "voltage" => {
                    sheet.voltage = line.quantity(Role::Amount);
                    sheet.trips_after = line.amount(Role::Duration);
                }
                "stage" => {
                    if let (Some(name), Stated::Is(current)) =
                        (line.choice(Role::What).get(), line.quantity(Role::Current))
                    {
                        sheet.stages.push(Stage {
                            name,
                            current,
                            duration: line.amount(Role::Duration),
                            peak: line.flagged(Role::Behaviour, "peak"),
                            regulated: line.flagged(Role::Behaviour, "regulated"),
                        });
                    }
                }
                "fan" => {
                    sheet.fan_flow = line.quantity(Role::Flow);
                    sheet.fan_blocked = line.quantity(Role::Pressure);
                }
                "excess-air" => sheet.excess_air = line.quantity(Role::Amount),
                "below-lowest" => sheet.below_lowest = line.choice(Role::What),
                "restart-below" => sheet.restart_below = line.quantity(Role::Amount),
                "least-air-flow" => sheet.least_air_flow = line.quantity(Role::Amount),
                "overheats" => sheet.overheats = line.quantity(Role::Amount),
                "duct-pressure" => sheet.duct_pressure = line.quantity(Role::Amount),
                "combustion-pressure" => sheet.combustion_pressure = line.quantity(Role::Amount),
                "exhaust-temperature" => sheet.exhaust_temperature = line.quantity(Role::Amount),
                "exhaust-and-air-limit" => sheet.exhaust_and_air_limit = limit(),
                "asks-for" => sheet.asks_for.extend(line.choice(Role::What).fact()),
                "bears-cut-after" => sheet.bears_cut_after = line.quantity(Role::Amount),
                "fitted-on" => sheet.fitted_on.extend(line.choice(Role::What).fact()),
                "tilt" => sheet.tilt = line.quantity(Role::Amount),
                "glow-pin-room" => sheet.glow_pin_room = line.quantity(Role::Amount),
                "pump-bears" => sheet.pump_bears = line.quantity(Role::Amount),
                "coolant-flow" => sheet.coolant_flow = line.quantity(Role::Amount),
                "exhaust-limit" => sheet.exhaust_limit = limit(),
                "combustion-air-limit" => sheet.combustion_air_limit = limit(),
                "warm-air-limit" => sheet.warm_air_limit = limit(),
                "return-air-limit" => sheet.return_air_limit = limit(),
                "suction-limit" => sheet.suction_limit = limit(),
                "pressure-limit" => sheet.pressure_limit = limit(),
                "suction-pressure" => sheet.suction_pressure = line.quantity(Role::Amount),
                "delivery-pressure" => sheet.delivery_pressure = line.quantity(Role::Amount),
                "pump-tilt" => sheet.pump_tilt = line.quantity(Role::Amount),
                "dose" => sheet.dose = line.quantity(Role::Amount),
                "exhaust-clear-of" => {
                    if let (Some(what), Stated::Is(distance)) =
                        (line.choice(Role::What).get(), line.quantity(Role::Distance))
                    {
                        sheet.exhaust_clear_of.push((what, distance));
                    }
                }
                "harness" => {
                    if let (Some(label), Stated::Is(length)) = (line.text(Role::What), line.quantity(Role::Distance)) {
                        sheet.harness.push((label.to_string(), length));
                    }
                }
                "port" => {
                    if let Some(name) = line.choice(Role::What).get() {
                        let facing = line.direction(Role::Facing);
                        sheet.ports.push(Port { name, offset: line.ways(Role::Distance), facing, place: line.place() });
                    }
                }
                "spans" => sheet.spans = line.ways(Role::Distance),
                "altitude" => sheet.altitude = line.quantity(Role::Amount),
                "corrects-altitude" => sheet.corrects_altitude = Some(line.place()),
                "fuse" => sheet.fuse = line.quantity(Role::Current),
                "senses" => sheet.senses.extend(line.choice(Role::What).fact()),
                "set-range" => sheet.set_range = line.quantity(Role::Amount),
                _ => {}
            }
        }
        sheet
    }

    /// The stage of that name.
    pub fn stage(&self, name: &str) -> Option<&Stage> {
        self.stages.iter().find(|stage| stage.name == name)
    }

    /// The port of that name.
    pub fn port(&self, name: &str) -> Option<&Port> {
        self.ports.iter().find(|port| port.name == name)
    }

    /// The least distance that it asks of its exhaust from something.
    pub fn clearance(&self, what: &str) -> Option<&Fact<Quantity>> {
        self.exhaust_clear_of.iter().find(|(name, _)| *name == what).map(|(_, distance)| distance)
    }
}

/// What a data sheet of a hose, pipe, duct or fuel line states.
#[derive(Clone, Debug)]
pub struct TubeSheet {
    /// Its name.
    pub name: String,
    /// Hose, pipe, duct or line.
    pub kind: Kind,
    /// Its header.
    pub header: Place,
    /// Inside diameter.
    pub bore: Stated<Quantity>,
    /// Outside diameter.
    pub outside: Stated<Quantity>,
    /// Tightest bend.
    pub bend_radius: Stated<Quantity>,
    /// Roughness of its inside wall.
    pub roughness: Stated<Quantity>,
    /// The temperatures it bears.
    pub bears: Stated<Quantity>,
    /// What it is made of.
    pub made_of: Stated<TubeMaterial>,
    /// Whether its wall is corrugated or wound on wire.
    pub uneven: bool,
}

impl TubeSheet {
    pub(super) fn read(said: &Said<'_>, name: String, kind: Kind) -> TubeSheet {
        let mut sheet = TubeSheet {
            name,
            kind,
            header: said.header(),
            bore: Stated::Silent,
            outside: Stated::Silent,
            bend_radius: Stated::Silent,
            roughness: Stated::Silent,
            bears: Stated::Silent,
            made_of: Stated::Silent,
            uneven: false,
        };
        for line in said.lines() {
            match line.word() {
                "bore" => sheet.bore = line.quantity(Role::Amount),
                "outside" => sheet.outside = line.quantity(Role::Amount),
                "bend-radius" => sheet.bend_radius = line.quantity(Role::Amount),
                "roughness" => sheet.roughness = line.quantity(Role::Amount),
                "bears" => sheet.bears = line.quantity(Role::Amount),
                "made-of" => {
                    sheet.made_of = line.material();
                    sheet.uneven = line.choice(Role::Behaviour).get().is_some();
                }
                _ => {}
            }
        }
        sheet
    }
}

/// What a cable's data sheet states.
#[derive(Clone, Debug)]
pub struct CableSheet {
    /// Its name.
    pub name: String,
    /// Its header.
    pub header: Place,
    /// Conductor size.
    pub size: Stated<Quantity>,
    /// The temperature its insulation is rated for.
    pub insulation: Stated<Quantity>,
    /// Resistance of a metre of one conductor at 20 °C.
    pub resistance_per_metre: Stated<Quantity>,
}

impl CableSheet {
    pub(super) fn read(said: &Said<'_>, name: String) -> CableSheet {
        let mut sheet = CableSheet {
            name,
            header: said.header(),
            size: Stated::Silent,
            insulation: Stated::Silent,
            resistance_per_metre: Stated::Silent,
        };
        for line in said.lines() {
            match line.word() {
                "size" => sheet.size = line.quantity(Role::Amount),
                "insulation" => sheet.insulation = line.quantity(Role::Amount),
                "resistance" => sheet.resistance_per_metre = line.quantity(Role::Resistance),
                _ => {}
            }
        }
        sheet
    }
}

/// What a fuse's data sheet states.
#[derive(Clone, Debug)]
pub struct FuseSheet {
    /// Its name.
    pub name: String,
    /// Its header.
    pub header: Place,
    /// Rated current.
    pub rating: Stated<Quantity>,
    /// Cold resistance.
    pub resistance: Stated<Quantity>,
    /// Resistance of its holder.
    pub holder: Stated<Quantity>,
    /// The current its holder is built for.
    pub holder_bears: Stated<Quantity>,
    /// `blade`, `strip`, `glass`, `bolted`.
    pub kind: Stated<&'static str>,
}

impl FuseSheet {
    pub(super) fn read(said: &Said<'_>, name: String) -> FuseSheet {
        let mut sheet = FuseSheet {
            name,
            header: said.header(),
            rating: Stated::Silent,
            resistance: Stated::Silent,
            holder: Stated::Silent,
            holder_bears: Stated::Silent,
            kind: Stated::Silent,
        };
        for line in said.lines() {
            match line.word() {
                "rating" => sheet.rating = line.quantity(Role::Amount),
                "resistance" => sheet.resistance = line.quantity(Role::Amount),
                "holder" => sheet.holder = line.quantity(Role::Amount),
                "holder-bears" => sheet.holder_bears = line.quantity(Role::Amount),
                "type" => sheet.kind = line.choice(Role::What),
                _ => {}
            }
        }
        sheet
    }
}

/// Sizes the workshop carries.
#[derive(Clone, Debug)]
pub struct Stock {
    /// `cable`, `fuse`, `duct`, …
    pub of: String,
    /// Its header.
    pub header: Place,
    /// The sizes, as written.
    pub sizes: Vec<Fact<Quantity>>,
}

impl Stock {
    pub(super) fn read(said: &Said<'_>, of: String) -> Stock {
        let mut sizes = Vec::new();
        for line in said.lines().filter(|line| line.word() == "sizes") {
            for arg in line.args {
                if let Value::Quantity(quantity) = arg.value {
                    sizes.push(Fact::here(quantity, line.at(arg.span)));
                }
            }
        }
        Stock { of, header: said.header(), sizes }
    }
}

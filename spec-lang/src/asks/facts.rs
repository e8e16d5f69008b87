//! The facts that questions rest on: a row says whose block says a fact, in which words, and what a line must hold to say
//! it. A word that no row names is asked for by nobody: it makes a thing better known, or a question stricter.

use super::ground::{Gap, Ground, Subject, has};
use crate::reading::{Arg, Value};
use crate::vocabulary::{DIRECTIONS, Kind, Role, property, words_of};

/// Whose block says a fact, as seen from what a question is asked of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Of {
    /// The block itself, of this kind.
    Itself(Kind),
    /// The job.
    Job,
    /// The vehicle.
    Vehicle,
    /// Each space.
    EachSpace,
    /// Each opening.
    EachOpening,
    /// Each thing to keep clear of.
    EachKeepClear,
    /// Each alarm.
    EachAlarm,
    /// Each battery.
    EachBattery,
    /// Each tank.
    EachTank,
    /// The heater.
    Heater,
    /// The heater's data sheet.
    Sheet,
    /// The spaces that it heats.
    Heated,
    /// The heaters that heat these spaces too.
    Roommates,
    /// The battery that feeds it.
    Battery,
    /// The cable that feeds it.
    Supply,
    /// The tank that it draws from.
    Tank,
    /// Its route of this kind.
    Run(Kind),
}

impl Of {
    /// Whether it means every block of its kind, whatever is asked.
    pub const fn is_each(self) -> bool {
        use Of::{EachAlarm, EachBattery, EachKeepClear, EachOpening, EachSpace, EachTank};
        matches!(self, EachAlarm | EachBattery | EachKeepClear | EachOpening | EachSpace | EachTank)
    }

    /// Whether it is a block that a heater has.
    pub const fn is_of_a_heater(self) -> bool {
        use Of::{Battery, Heated, Heater, Roommates, Run, Sheet, Supply, Tank};
        matches!(self, Battery | Heated | Heater | Roommates | Run(_) | Sheet | Supply | Tank)
    }

    /// The kind of block.
    pub const fn kind(self) -> Kind {
        match self {
            Of::Itself(kind) | Of::Run(kind) => kind,
            Of::Job => Kind::Job,
            Of::Vehicle => Kind::Vehicle,
            Of::EachSpace | Of::Heated => Kind::Space,
            Of::EachOpening => Kind::Opening,
            Of::EachKeepClear => Kind::KeepClear,
            Of::EachAlarm => Kind::Alarm,
            Of::Heater | Of::Roommates => Kind::Heater,
            Of::Sheet => Kind::HeaterSheet,
            Of::Battery | Of::EachBattery => Kind::Battery,
            Of::Supply => Kind::Cable,
            Of::Tank | Of::EachTank => Kind::Tank,
        }
    }
}

/// A part of a line that a fact needs, and how its lack is told.
#[derive(Clone, Copy)]
pub struct PartOf {
    /// Whether the line has it.
    pub holds: fn(&[Arg]) -> bool,
    /// What it is: `does not say …`.
    pub what: &'static str,
}

/// Where along a route a fact has to be said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stands {
    /// Anywhere in its block.
    Anywhere,
    /// Before the first leg: it says how the route is from there on.
    First,
    /// Behind the last leg: it closes the route.
    Last,
    /// Nobody asks for it; but where it is said, it has to be known and understood.
    IfSaid,
}

/// What is known of a fact.
#[derive(Clone, Copy)]
pub struct Row {
    /// Whose block.
    pub of: Of,
    /// The words that say it, any of them; the one to write first. None: the block itself is the fact.
    pub words: &'static [&'static str],
    /// Only a line with one of these choices says it; empty: any line.
    pub choices: &'static [&'static str],
    /// The part of the line that it needs.
    pub part: Option<PartOf>,
    /// A line that says it, where the word's own example does not.
    pub example: &'static str,
    /// Which lines of a route it has to stand with.
    pub stands: Stands,
    /// Whether such a block owes it; where no such condition is named, each does.
    pub owed: Option<fn(&Ground<'_>, Subject) -> bool>,
    /// Whether it is asked for only before building (`--final`): a list that nobody can prove complete.
    pub before_building: bool,
    /// The rules whose finding tells that it is missing: then nothing more is said.
    pub told_by: &'static [&'static str],
    /// How it reads where it is missed, if not as its word.
    pub reads: &'static str,
    /// A hole in what is said, which no line shows by itself, if there is one.
    pub hole: Option<fn(&Ground<'_>, Subject) -> Option<Gap>>,
}

const fn said(of: Of, words: &'static [&'static str]) -> Row {
    Row {
        of,
        words,
        choices: &[],
        part: None,
        example: "",
        stands: Stands::Anywhere,
        before_building: false,
        owed: None,
        told_by: &[],
        reads: "",
        hole: None,
    }
}

/// The block itself.
const fn block(of: Of) -> Row {
    said(of, &[])
}

impl Row {
    const fn choosing(self, choices: &'static [&'static str], example: &'static str) -> Row {
        Row { choices, example, ..self }
    }

    const fn part(self, what: &'static str, holds: fn(&[Arg]) -> bool) -> Row {
        Row { part: Some(PartOf { holds, what }), ..self }
    }

    /// It is asked for only before building.
    const fn before_building(self) -> Row {
        Row { before_building: true, ..self }
    }

    /// It says how a route is from there on, and so stands before the first leg.
    const fn first(self) -> Row {
        Row { stands: Stands::First, ..self }
    }

    /// It closes a route.
    const fn last(self) -> Row {
        Row { stands: Stands::Last, ..self }
    }

    /// Nobody asks for it; where it is said, it has to be known.
    const fn if_said(self) -> Row {
        Row { stands: Stands::IfSaid, ..self }
    }

    const fn owed(self, owed: fn(&Ground<'_>, Subject) -> bool) -> Row {
        Row { owed: Some(owed), ..self }
    }

    const fn reads(self, reads: &'static str) -> Row {
        Row { reads, ..self }
    }

    /// A tube has to be known by its width, on its line or on its sheet.
    const fn bored(self) -> Row {
        Row { hole: Some(|ground, at| ground.boreless(at)), ..self }
    }

    /// Where this finds a hole, that part of what is said is missing.
    const fn hole(self, what: &'static str, hole: fn(&Ground<'_>, Subject) -> Option<Gap>) -> Row {
        Row { part: Some(PartOf { holds: |_| true, what }), hole: Some(hole), ..self }
    }

    const fn told_by(self, told_by: &'static [&'static str]) -> Row {
        Row { told_by, ..self }
    }

    const fn example(self, example: &'static str) -> Row {
        Row { example, ..self }
    }
}

macro_rules! facts {
    ($($(#[$doc:meta])* $name:ident = $row:expr;)*) => {
        /// A fact that questions rest on.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs)] // each row says what it is
        pub enum Need { $($(#[$doc])* $name),* }

        impl Need {
            /// Every fact.
            pub const ALL: &'static [Need] = &[$(Need::$name),*];

            /// What is known of it.
            pub const fn row(self) -> &'static Row {
                match self { $(Need::$name => { static ROW: Row = $row; &ROW }),* }
            }
        }
    };
}

/// The words that say how far a thing to keep clear of reaches.
const REACH: &[&str] = &["spans", "run", "forward", "back", "left", "right", "up", "down", "nearside", "offside"];
/// Nobody can judge an exhaust against a window that is not written: a person says what was looked for.
const LOOKED_FOR: &str = "looked-for openings, brake-lines, fuel-lines, cables, tanks, people";
/// The words that say the length of a route.
const WAY: &[&str] = &["run", "forward", "back", "left", "right", "up", "down", "nearside", "offside"];
const CABLE_WAY: &[&str] = &["run", "harness", "forward", "back", "left", "right", "up", "down", "nearside", "offside"];
const _: () = assert!(WAY.len() == DIRECTIONS.len() + 1);

facts! {
    DesignCold = said(Of::Job, &["design-cold"]);
    Altitude = said(Of::Job, &["altitude"]);
    RunsFor = said(Of::Job, &["runs-for"]);
    SnowDepth = said(Of::Job, &["snow-depth"]);
    UsedWhile = said(Of::Job, &["used-while"]);
    MildNight = said(Of::Job, &["mild-night"]);
    WhenUsed = said(Of::Job, &["used-while"]).if_said();

    Vehicle = block(Of::Vehicle);
    VehicleType = said(Of::Vehicle, &["type"]);
    VehicleSupply = said(Of::Vehicle, &["supply"]);
    /// What it is built to. ADR is about what it carries and stands beside one of these.
    VehicleRules = said(Of::Vehicle, &["rules"]).choosing(&["un-r122", "us-49cfr393", "boat", "none"], "rules un-r122");
    VehicleGoods = said(Of::Vehicle, &["goods"]);
    VehicleSeats = said(Of::Vehicle, &["seats"]);
    VehicleAt = said(Of::Vehicle, &["at"]);
    VehicleSpans = said(Of::Vehicle, &["spans"]);
    VehicleFloor = said(Of::Vehicle, &["floor-height"]);
    LookedForOpenings = said(Of::Vehicle, &["looked-for"]).choosing(&["openings"], LOOKED_FOR).before_building();
    LookedForBrakeLines = said(Of::Vehicle, &["looked-for"]).choosing(&["brake-lines"], LOOKED_FOR).before_building();
    LookedForFuelLines = said(Of::Vehicle, &["looked-for"]).choosing(&["fuel-lines"], LOOKED_FOR).before_building();
    LookedForCables = said(Of::Vehicle, &["looked-for"]).choosing(&["cables"], LOOKED_FOR).before_building();
    LookedForPeople = said(Of::Vehicle, &["looked-for"]).choosing(&["people"], LOOKED_FOR).before_building();
    LookedForTanks = said(Of::Vehicle, &["looked-for"]).choosing(&["tanks"], LOOKED_FOR).before_building();
    Waterline = said(Of::Vehicle, &["waterline"]);

    SpaceUse = said(Of::EachSpace, &["use"]);
    SpaceAt = said(Of::EachSpace, &["at"]);
    SpaceSpans = said(Of::EachSpace, &["spans"]);
    JoinedTo = said(Of::EachSpace, &["joined-to"]).if_said();
    HeadsAt = said(Of::Itself(Kind::Space), &["heads-at"]);
    WantedWarmth = said(Of::Heated, &["wanted"]);
    SpaceVolume = said(Of::Heated, &["volume"]);
    SpaceSurface = said(Of::Heated, &["surface"]).told_by(&["surface-not-stated"]);
    SpacePeople = said(Of::Heated, &["people"]).if_said();
    EachSurface = said(Of::EachSpace, &["surface"]).if_said();
    AirChanges = said(Of::Heated, &["air-changes"]).if_said();
    /// Heaters that warm one space share its need.
    RoommateSheet = said(Of::Roommates, &["datasheet"]);

    BatteryMadeOf = said(Of::Battery, &["made-of"])
        .part("whether its blocks are in parallel or in series", |args| !several(args) || has(args, Role::Arrangement));
    BatteryType = said(Of::Battery, &["type"]);
    BatteryCharge = said(Of::Battery, &["charge"]);
    BatteryCranks = said(Of::Battery, &["cranks"]);
    BatteryChargedBy = said(Of::Battery, &["charged-by"]);
    BatteryCutsBelow = said(Of::Battery, &["cuts-below"]);
    BatteryReadBy = said(Of::Battery, &["read-by"]);
    BatteryOtherLoad = said(Of::Battery, &["other-load"]).if_said();
    BatteryKeep = said(Of::Battery, &["keep"]).if_said();
    BatterySpans = said(Of::EachBattery, &["spans"]);
    BatteryReach = said(Of::EachBattery, &["spans"]).if_said();
    BatteryAt = said(Of::EachBattery, &["at"]);

    TankFuel = said(Of::Tank, &["fuel"]);
    TankGrade = said(Of::Tank, &["fuel"]).part("which grade it is", |args| has(args, Role::By));
    TankHolds = said(Of::Tank, &["holds"]);
    TankReserve = said(Of::Tank, &["reserve"]);
    TankFeeds = said(Of::Tank, &["feeds"]);
    TankSpans = said(Of::EachTank, &["spans"]);
    TankReach = said(Of::EachTank, &["spans"]).if_said();
    TankAt = said(Of::EachTank, &["at"]);
    TankFiller = said(Of::Tank, &["filler"]);
    TankDepth = said(Of::Tank, &["depth"]);
    StandpipeEnd = said(Of::Tank, &["standpipe-end"]);
    EnginePickup = said(Of::Tank, &["engine-pickup"]);

    Heater = block(Of::Heater);
    Sensor = said(Of::Heater, &["sensor"]).if_said();
    SensorAt = said(Of::Heater, &["sensor-at"]).if_said();
    Datasheet = said(Of::Heater, &["datasheet"]);
    HeaterIn = said(Of::Heater, &["in"]);
    HeaterHeats = said(Of::Heater, &["heats"]);
    HeaterAt = said(Of::Heater, &["at"]);
    WarmEnd = said(Of::Heater, &["warm-end"]);
    FittedOn = said(Of::Heater, &["fitted-on"]);
    HeaterTilt = said(Of::Heater, &["tilt"]);
    GlowPinRoom = said(Of::Heater, &["glow-pin-room"]);
    StartsBy = said(Of::Heater, &["starts-by"]);

    SheetWarms = said(Of::Sheet, &["warms"]);
    SheetBurns = said(Of::Sheet, &["burns"]);
    SheetOutput = said(Of::Sheet, &["output"]);
    SheetFuelRate = said(Of::Sheet, &["fuel-rate"]);
    SheetSupply = said(Of::Sheet, &["supply"]);
    SheetVoltage = said(Of::Sheet, &["voltage"]);
    SheetStarting = said(Of::Sheet, &["stage"]).choosing(&["pre-heat"], "stage pre-heat, 11 A peak, 90 s");
    SheetIgnition = said(Of::Sheet, &["stage"]).choosing(&["ignition"], "stage ignition, 3.2 A, 40 s");
    SheetRunning = said(Of::Sheet, &["stage"]).choosing(&["high"], "stage high, 2.9 A peak");
    SheetCoolDown = said(Of::Sheet, &["stage"]).choosing(&["cool-down", "after-glow"], "stage cool-down, 2 A peak, 180 s");
    SheetFan = said(Of::Sheet, &["fan"]);
    SheetAltitude = said(Of::Sheet, &["altitude", "corrects-altitude"]);
    SheetExhaustLimit = said(Of::Sheet, &["exhaust-limit"]);
    SheetCombustionAirLimit = said(Of::Sheet, &["combustion-air-limit"]);
    SheetLow = said(Of::Sheet, &["stage"]).choosing(&["low"], "stage low, 0.9 A");
    SheetFittedOn = said(Of::Sheet, &["fitted-on"]);
    SheetTilt = said(Of::Sheet, &["tilt"]);
    SheetSetRange = said(Of::Sheet, &["set-range"]);

    Exhaust = block(Of::Run(Kind::Exhaust)).told_by(&["exhaust-missing"]);
    ExhaustPipe = said(Of::Run(Kind::Exhaust), &["pipe", "hose"])
        .part("how wide it is", |args| has(args, Role::Sheet) || has(args, Role::Bore))
        .bored()
        .first();
    ExhaustDrain = said(Of::Run(Kind::Exhaust), &["drain-hole"]).if_said();
    ExhaustPassage = said(Of::Run(Kind::Exhaust), &["passage"]).told_by(&["exhaust-ends-inside"]);
    ExhaustEnds = said(Of::Run(Kind::Exhaust), &["ends"]).part("whether that is outside", not_only_here);
    ExhaustWay = said(Of::Run(Kind::Exhaust), WAY);
    ExhaustRise = said(Of::Run(Kind::Exhaust), &["run"]).part(RISE, has_rise).example("run 2.4 m, down 100 mm").if_said();
    /// How high it ends, where its route does not tell.
    ExhaustHeight = said(Of::Run(Kind::Exhaust), &["measured"])
        .choosing(&["ground"], "measured 430 mm above ground")
        .reads("measured … above ground")
        .owed(|ground, at| ground.ends_at_no_height(at));
    ExhaustOverWater = said(Of::Run(Kind::Exhaust), &["measured"])
        .choosing(&["waterline"], "measured 600 mm above waterline")
        .reads("measured … above waterline")
        .owed(|ground, at| ground.ends_at_no_height(at));
    ExhaustTaped = said(Of::Run(Kind::Exhaust), &["measured"]).if_said();

    CombustionAir = block(Of::Run(Kind::CombustionAir)).told_by(&["combustion-air-missing"]);
    CombustionAirHose = said(Of::Run(Kind::CombustionAir), &["hose", "pipe"]).hole(WIDE, |ground, at| ground.boreless(at)).first();
    CombustionAirPassage = said(Of::Run(Kind::CombustionAir), &["passage"]).told_by(&["combustion-air-from-inside"]);
    CombustionAirEnds = said(Of::Run(Kind::CombustionAir), &["ends"]).part("whether that is outside", not_only_here);
    CombustionAirWay = said(Of::Run(Kind::CombustionAir), WAY);
    CombustionAirRise = said(Of::Run(Kind::CombustionAir), &["run"]).part(RISE, has_rise).example("run 2.4 m, down 100 mm").if_said();
    CombustionAirHeight = said(Of::Run(Kind::CombustionAir), &["measured"])
        .choosing(&["ground"], "measured 430 mm above ground")
        .reads("measured … above ground")
        .owed(|ground, at| ground.ends_at_no_height(at));
    CombustionAirTaped = said(Of::Run(Kind::CombustionAir), &["measured"]).if_said();

    ReturnAir = block(Of::Run(Kind::ReturnAir)).told_by(&["return-air-missing"]);
    ReturnAirDraws = said(Of::Run(Kind::ReturnAir), &["draws", "ends"]);
    ReturnAirWay = said(Of::Run(Kind::ReturnAir), WAY).if_said();
    ReturnAirClear = said(Of::Run(Kind::ReturnAir), &["draws", "grille"])
        .part("how much free space lies before it (`clear 80 mm`)", |args| has(args, Role::Distance) || has(args, Role::What) && !has(args, Role::Area))
        .if_said();
    ReturnAirGrille = said(Of::Run(Kind::ReturnAir), &["grille"]).if_said();
    ReturnAirMixes = said(Of::Run(Kind::ReturnAir), &["mixes"]).if_said();
    /// Open to the room, it has none.
    ReturnAirDuct = said(Of::Run(Kind::ReturnAir), &["duct", "hose"]).first().owed(|ground, at| ground.is_walked(at));

    WarmAir = block(Of::Run(Kind::WarmAir)).told_by(&["warm-air-missing"]);
    WarmAirWay = said(Of::Run(Kind::WarmAir), WAY).if_said();
    WarmAirDuct = said(Of::Run(Kind::WarmAir), &["duct", "hose"]).hole(WIDE, |ground, at| ground.boreless(at)).first();
    /// A branch says the tee that it starts at.
    WarmAirFrom = said(Of::Run(Kind::WarmAir), &["from"]).told_by(&["branches-in-a-circle", "name-not-found"]).owed(|ground, at| ground.starts_at_a_tee(at)).example("from main.cab");
    WarmAirTee = said(Of::Run(Kind::WarmAir), &["tee"])
        .hole("which branch starts at it: no `warm-air` block does", |ground, at| ground.open_tee(at))
        .if_said();
    WarmAirOutlet = said(Of::Run(Kind::WarmAir), &["outlet", "tee", "ends"]).last();

    FuelLine = block(Of::Run(Kind::FuelLine));
    FuelFrom = said(Of::Run(Kind::FuelLine), &["from"]);
    FuelPickup = said(Of::Run(Kind::FuelLine), &["from"])
        .part("how it is taken from the tank", |args| has(args, Role::By))
        .example("from main by standpipe");
    FuelBore = said(Of::Run(Kind::FuelLine), &["line", "hose"]).hole(WIDE, |ground, at| ground.boreless(at)).first();
    FuelPump = said(Of::Run(Kind::FuelLine), &["pump"]).told_by(&["pump-missing", "fuel-fed-by-gravity"]);
    FuelRise = said(Of::Run(Kind::FuelLine), &["run"]).part(RISE, has_rise).example("run 2.4 m, down 100 mm").if_said();
    FuelSleeve = said(Of::Run(Kind::FuelLine), &["sleeve"]).if_said();
    FuelJoint = said(Of::Run(Kind::FuelLine), &["moving-joint"]).if_said();
    FuelPassage = said(Of::Run(Kind::FuelLine), &["passage"]).if_said();
    FuelEnds = said(Of::Run(Kind::FuelLine), &["ends"]).told_by(&["run-without-end"]).example("ends at reader");
    FuelClips = said(Of::Run(Kind::FuelLine), &["clips-every"]);
    FuelWay = said(Of::Run(Kind::FuelLine), WAY);

    Supply = block(Of::Supply);
    CableFrom = said(Of::Supply, &["from"]);
    CableSize = said(Of::Supply, &["size"]).first();
    CableFuse = said(Of::Supply, &["fuse"]).told_by(&["feed-without-fuse"]);
    CableEnds = said(Of::Supply, &["ends"]).told_by(&["run-without-end"]).example("ends at reader");
    CableWay = said(Of::Supply, CABLE_WAY);
    CableClips = said(Of::Supply, &["clips-every"]);
    CableReturn = said(Of::Supply, &["return"]).example("return wire");
    CableBundled = said(Of::Supply, &["bundled"]).example("bundled 1");
    CableAmbient = said(Of::Supply, &["ambient"]);
    CableSwitch = said(Of::Supply, &["switch"]).if_said();
    CableJoint = said(Of::Supply, &["moving-joint"]).if_said();
    CablePassage = said(Of::Supply, &["passage"]).if_said();
    CableHarness = said(Of::Supply, &["harness"]).if_said();
    BranchCarries = said(Of::Itself(Kind::Cable), &["carries"]);

    KeepClearReach = said(Of::EachKeepClear, REACH).owed(|ground, at| !ground.is_taped(at));
    KeepClearAt = said(Of::EachKeepClear, &["at"]).owed(|ground, at| !ground.is_taped(at));
    KeepClearKind = said(Of::EachKeepClear, &["kind"]);
    OpeningKind = said(Of::EachOpening, &["kind"]);
    OpeningAt = said(Of::EachOpening, &["at"]).owed(|ground, at| !ground.is_taped(at));
    OpeningSpans = said(Of::EachOpening, &["spans"]).owed(|ground, at| !ground.is_taped(at));

    AlarmWarnsOf = said(Of::EachAlarm, &["warns-of"]);
    AlarmIn = said(Of::EachAlarm, &["in"]);
    AlarmAt = said(Of::EachAlarm, &["at"]);
    AlarmBehind = said(Of::EachAlarm, &["behind"]).if_said();
    AlarmSuppliedBy = said(Of::EachAlarm, &["supplied-by"]);

    CoolantLine = block(Of::Run(Kind::CoolantLine)).told_by(&["coolant-line-missing"]);
    CoolantEnds = said(Of::Run(Kind::CoolantLine), &["ends"]).told_by(&["run-without-end"]).example("ends at reader");
    CoolantHose = said(Of::Run(Kind::CoolantLine), &["hose", "pipe"]).first();
    CoolantWay = said(Of::Run(Kind::CoolantLine), WAY).if_said();
    CoolantRise = said(Of::Run(Kind::CoolantLine), &["run"]).part(RISE, has_rise).example("run 2.4 m, down 100 mm").if_said();
    CoolantWarms = said(Of::Run(Kind::CoolantLine), &["warms"])
        .part("how much heat that takes (`warms engine, 3 kW`)", |args| has(args, Role::Amount))
        .if_said();
    CoolantPump = said(Of::Run(Kind::CoolantLine), &["pump"])
        .part("what flow it keeps up (`pump 12 L/min`)", |args| has(args, Role::Flow)).told_by(&["coolant-pump-missing"]);
    ExhaustRides = said(Of::Run(Kind::Exhaust), &["rides-on"]).if_said();
    CombustionAirRides = said(Of::Run(Kind::CombustionAir), &["rides-on"]).if_said();
    ReturnAirRides = said(Of::Run(Kind::ReturnAir), &["rides-on"]).if_said();
    WarmAirRides = said(Of::Run(Kind::WarmAir), &["rides-on"]).if_said();
    CableRides = said(Of::Supply, &["rides-on"]).if_said();
    FuelRides = said(Of::Run(Kind::FuelLine), &["rides-on"]).if_said();
    KeepClearRides = said(Of::EachKeepClear, &["rides-on"]).if_said();
    OpeningRides = said(Of::EachOpening, &["rides-on"]).if_said();
    BatteryRides = said(Of::EachBattery, &["rides-on"]).if_said();
    TankRides = said(Of::EachTank, &["rides-on"]).if_said();
    SpaceRides = said(Of::EachSpace, &["rides-on"]).if_said();
    HeaterRides = said(Of::Heater, &["rides-on"]).if_said();
}

/// What a tube leaves open whose line and sheet state no bore.
const WIDE: &str = "how wide it is, nor does its sheet";

/// What a `run` leaves open where it states no rise.
const RISE: &str = "how far it rises or falls (`run 2.4 m, down 100 mm`)";

fn has_rise(args: &[Arg]) -> bool {
    has(args, Role::Rise)
}

/// Whether a battery is made of more than one block.
fn several(args: &[Arg]) -> bool {
    args.iter().any(|arg| matches!((arg.role, arg.value), (Role::Count, Value::Count(count)) if count > 1))
}

/// `ends here` says neither where nor which way.
fn not_only_here(args: &[Arg]) -> bool {
    has(args, Role::Facing) || has(args, Role::Owner) || has(args, Role::What)
}

impl Need {
    /// The fact that a block of a kind is there, for kinds that a heater obliges.
    pub const fn block_of(kind: Kind) -> Option<Need> {
        match kind {
            Kind::Exhaust => Some(Need::Exhaust),
            Kind::CombustionAir => Some(Need::CombustionAir),
            Kind::ReturnAir => Some(Need::ReturnAir),
            Kind::WarmAir => Some(Need::WarmAir),
            Kind::FuelLine => Some(Need::FuelLine),
            Kind::CoolantLine => Some(Need::CoolantLine),
            Kind::Cable => Some(Need::Supply),
            Kind::Vehicle => Some(Need::Vehicle),
            _ => None,
        }
    }

    /// The fact as it is told: one line is one fact, whoever asks for it.
    pub const fn as_told(self) -> Need {
        match self {
            Need::RoommateSheet => Need::Datasheet,
            other => other,
        }
    }

    /// Whether the fact is that a block is there.
    pub const fn is_block(self) -> bool {
        self.row().words.is_empty()
    }

    /// The one choice that says it, where only one does.
    pub fn choice(self) -> Option<&'static str> {
        match self.row().choices {
            [choice] => Some(choice),
            _ => None,
        }
    }

    /// The word to write; for a block that of its header.
    pub fn word(self) -> &'static str {
        let row = self.row();
        row.words.first().copied().unwrap_or(words_of(row.of.kind()).header)
    }

    /// A line that says it.
    pub fn example(self) -> &'static str {
        let row = self.row();
        if !row.example.is_empty() {
            return row.example;
        }
        match row.words.first() {
            Some(word) => property(row.of.kind(), word).map_or("", |word| word.example),
            None => words_of(row.of.kind()).example,
        }
    }
}

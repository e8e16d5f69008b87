//! Facts that many questions rest on together, by name.

use super::Need::{self, *};

/// What a heater's feed is laid with, from the battery on.
pub const FEED: &[Need] =
    &[CableFrom, CableSize, CableFuse, CableWay, CableEnds, CableReturn, BatteryMadeOf, Datasheet];

/// What the battery can give on the coldest morning.
pub const START: &[Need] = &[BatteryCharge, BatteryType, DesignCold];

/// When a battery's load is cut off, and what it then gives.
pub const CUT_OFF: &[Need] = &[BatteryCutsBelow, BatteryCharge];

/// What a conductor's surroundings do to the current it may carry.
pub const LOAD: &[Need] = &[CableBundled, CableAmbient];

/// The fuel's way from the tank to the pump.
pub const SUCTION: &[Need] = &[FuelFrom, FuelPump, FuelWay];

/// Where the exhaust ends.
pub const EXHAUST_END: &[Need] = &[ExhaustEnds, ExhaustWay, ExhaustTaped];

/// Where the combustion air is drawn.
pub const INTAKE_END: &[Need] = &[CombustionAirEnds, CombustionAirWay, CombustionAirTaped];

/// The way of warm air and return air.
pub const AIR_WAY: &[Need] =
    &[WarmAirDuct, WarmAirTee, WarmAirOutlet, WarmAirFrom, WarmAirWay, ReturnAirDuct, ReturnAirWay];

/// Where a heater's ports are.
pub const PORT: &[Need] = &[HeaterAt, WarmEnd, Datasheet];

/// What the pipe must stay away from, and where that is.
pub const KEEP_CLEAR: &[Need] = &[KeepClearKind, KeepClearAt, KeepClearReach];

/// The room that is heated.
pub const ROOM: &[Need] =
    &[HeaterHeats, WantedWarmth, SpaceVolume, SpaceSurface, SpacePeople, RoommateSheet, ReturnAirMixes];

/// One route of warm air, with what it hangs on.
pub const BRANCH: &[Need] = &[WarmAirDuct, WarmAirTee, WarmAirOutlet, WarmAirFrom, WarmAirWay];

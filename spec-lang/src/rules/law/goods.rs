//! Rules for vehicles that carry dangerous goods: ADR, and annex IX of 2001/56/EC (UN R122 annex 9). What those ask of
//! any vehicle stands elsewhere.
//!
//! That leaking fuel must reach the ground without touching hot parts or load (annex IX 3.1.1.1 a) cannot be told from a
//! text, and is only said on the pages.

use super::{goods, tank_of, tanks_drawn_from, under, vehicle};
use crate::asks::{Ask, Need, when};
use crate::figures::clearances::{ends_in, within_space};
use crate::finding::{Severity, Whose};
use crate::model::{Met, Space, Spot, Start, unit_or};
use crate::rules::About;
use crate::rules::{Family, Guards, Rule, Told};
use crate::units::Dimension;
use crate::vocabulary::Kind;

/// How long a heater of an FL vehicle may run on after the engine has stopped. ADR 9.2.4.7.4, from memory.
const RUN_ON: f64 = 40.0;

/// The bench van with a designation for dangerous goods, and its heater started by hand.
macro_rules! goods_job {
    ($goods:literal, $starts:literal $(, $rest:expr_2021)*) => {
        concat!(
            "vehicle bench-van\n  type          van\n  supply        12 V\n  rules         adr\n  goods         ", $goods,
            "\n  floor-height  600 mm\n  at            forward 850 mm, left 1000 mm, up 200 mm\n  \
             spans         back 5400 mm, right 2000 mm, up 2300 mm\n\n\
             heater reader\n  datasheet     air-2\n  in            cabin\n  heats         cabin\n  \
             at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n  starts-by     ", $starts
            $(, $rest)*
        )
    };
}

pub(super) static GOODS_RULES_NOT_NAMED: Rule = Rule {
    name: "goods-rules-not-named",
    family: Family::Law,
    severity: Severity::Warning,
    title: "dangerous goods without their rules, or the rules without a designation",
    source: "ADR 9.1 (from memory: check the text): a vehicle is approved by its designation",
    explanation: "A tanker and a van for explosives have different duties. Only `goods` and `rules adr` together say \
                  which duties this vehicle has. Two duties no text can show. Leaking fuel must reach the ground without \
                  touching hot parts or load (2001/56/EC annex IX 3.1.1.1 a). The heater of an FL vehicle is not used \
                  while loading, unloading or at loading points (ADR 8.5 S2(2)).",
    mend: "Write both in the vehicle's block: `goods fl` and `rules adr`.",
    bad: r#"
vehicle bench-van
  type          van
  supply        12 V
  rules         none
  goods         at
  floor-height  600 mm
  at            forward 850 mm, left 1000 mm, up 200 mm
  spans         back 5400 mm, right 2000 mm, up 2300 mm

heater reader
  datasheet     air-2
  in            cabin
  heats         cabin
  at            back 1900 mm, right 310 mm, up 670 mm
  warm-end      forward
  starts-by     hand
"#,
    good: goods_job!("at", "hand"),
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Absent,
    asks: &[Ask::each(Kind::Vehicle, &[&[Need::VehicleGoods]]).only(when::carries_goods)],
    find: |findings| {
        let job = findings.job;
        let Some((vehicle, header)) = job.vehicle.as_ref().filter(|_| job.header.is_some()) else { return };
        let (named, designation) = (under(job, "adr"), vehicle.goods.fact().filter(|_| vehicle.carries().is_some()));
        let finding = match (named, designation) {
            (false, Some(goods)) => findings
                .at(goods.written, format!("`goods {}` is stated, but `rules adr` is not", goods.value))
                .label("this says that it is approved for dangerous goods")
                .help("write `rules adr`; if the vehicle is not approved for dangerous goods, remove `goods`"),
            (true, None) => findings
                .at(*header, "`rules adr` is stated, but `goods` is not")
                .label("approved for which goods?")
                .help("write `goods` with the designation in the vehicle's certificate: ex-ii, ex-iii, at or fl"),
            _ => return,
        };
        let finding = finding
            .why("a tanker and a van for explosives have different duties")
            .limit("both the designation and the rules", Whose::Standard("ADR 9.1, from memory: check the text"));
        findings.add(finding);
    },
};

pub(super) static GOODS_HEATER_STARTS_BY_ITSELF: Rule = Rule {
    name: "goods-heater-starts-by-itself",
    family: Family::Law,
    severity: Severity::Error,
    title: "a heater of a vehicle for dangerous goods that starts by itself",
    source: "2001/56/EC annex IX 3.1.2 (UN R122 annex 9, ADR 9.2.4.7.5): started by hand only, no programming device",
    explanation: "A timer, a telephone or a thermostat starts the heater while nobody stands beside it. If vapour of the \
                  load is in the air at that moment, the flame lights it.",
    mend: "Take out timer, remote control and frost thermostat, and write only `starts-by hand`.",
    bad: goods_job!("at", "timer"),
    good: goods_job!("at", "hand"),
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::StartsBy]]).only(when::dangerous_goods)],
    find: |findings| {
        let job = findings.job;
        if goods(job).is_none() && !under(job, "adr") {
            return;
        }
        let designation = goods(job).map_or(String::new(), |goods| format!(" ({})", goods.to_uppercase()));
        for heater in &job.heaters {
            for by in heater.starts_by.iter().filter(|by| by.value != "hand") {
                let finding = findings
                    .at(
                        by.written,
                        format!(
                            "a {} can start `{}` in a vehicle for dangerous goods{designation}",
                            if by.value == "remote" { "remote control" } else { by.value },
                            heater.name
                        ),
                    )
                    .label("it can start with nobody there")
                    .why("if vapour of the load is in the air at that moment, the flame lights it")
                    .limit("started by hand only", Whose::Standard("2001/56/EC annex IX 3.1.2, ADR 9.2.4.7.5"))
                    .help("take it out, and write only `starts-by hand`");
                findings.add(finding);
            }
        }
    },
};

pub(super) static GOODS_PETROL_FILLER_OPEN: Rule = Rule {
    name: "goods-petrol-filler-open",
    family: Family::Law,
    severity: Severity::Error,
    title: "a petrol filler without a flame trap on a vehicle for dangerous goods",
    source: "2001/56/EC annex IX 3.1.1.1 b (UN R122 annex 9): a flame trap at the filler, or a closure that shuts it hermetically",
    explanation: "Vapour at a petrol filler that catches fire burns back into the tank. Beside a load that burns or \
                  explodes, far more than the vehicle is lost.",
    mend: "Fit a flame trap in the filler neck or a cap that shuts hermetically, and write `filler flame-trap` or \
           `filler sealed-cap`.",
    bad: r#"
vehicle bench-van
  type          van
  supply        12 V
  rules         adr
  goods         at
  floor-height  600 mm
  at            forward 850 mm, left 1000 mm, up 200 mm
  spans         back 5400 mm, right 2000 mm, up 2300 mm

datasheet heater petrol-2                       # invented
  warms         air
  burns         petrol
  supply        12 V

heater reader
  datasheet     petrol-2
  in            cabin
  heats         cabin
  at            back 1900 mm, right 310 mm, up 670 mm
  warm-end      forward
  starts-by     hand

tank main
  fuel          petrol
  holds         60 L
  reserve       10 L
  filler        outside
  at            back 3200 mm, left 450 mm, up 250 mm
"#,
    good: goods_job!("at", "hand"),
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[&[Need::TankFuel, Need::FuelFrom, Need::VehicleGoods]]).only(when::dangerous_goods),
        Ask::each(Kind::Heater, &[&[Need::TankFiller]]).only(when::dangerous_petrol),
    ],
    find: |findings| {
        let job = findings.job;
        let Some(goods) = goods(job) else { return };
        for tank in tanks_drawn_from(job).into_iter().filter_map(|tank| job.tanks.get(tank)) {
            if tank.fuel.get() != Some(&"petrol") {
                continue;
            }
            if tank.filler.iter().any(|filler| matches!(filler.value, "flame-trap" | "sealed-cap")) {
                continue;
            }
            let Some(filler) = tank.filler.first() else { continue };
            let holds = tank.holds.get().map_or(String::new(), |holds| format!(" of {}", holds.show(holds.high)));
            let finding = findings
                .at(
                    filler.written,
                    format!(
                        "petrol tank `{}`{holds} of an {} vehicle has no flame trap at its filler",
                        tank.name,
                        goods.to_uppercase()
                    ),
                )
                .label("nothing stops a flame here")
                .why("vapour at a petrol filler that catches fire burns back into the tank")
                .limit(
                    "a flame trap, or a cap that shuts hermetically",
                    Whose::Standard("2001/56/EC annex IX 3.1.1.1 b"),
                )
                .help("fit one, and write `filler flame-trap` or `filler sealed-cap`")
                .related(tank.header, "this tank");
            findings.add(finding);
        }
    },
};

pub(super) static GOODS_RUN_ON_TOO_LONG: Rule = Rule {
    name: "goods-run-on-too-long",
    family: Family::Law,
    severity: Severity::Warning,
    title: "a heater of an FL vehicle that runs on longer than it may",
    source: "ADR 9.2.4.7.4 (from memory: check the text): 40 s after the engine has stopped, where the heater is built to bear that",
    explanation: "On a vehicle for flammable goods the flame must be out and the fan still soon after the engine stops. \
                  A heater that is not built to be cut off hot is damaged by it. A heater that runs on longer is not \
                  allowed.",
    mend: "Take a heater whose data sheet says that it bears being cut off after 40 s, and write `bears-cut-after 40 s` \
           in the sheet. Never shorten the cool-down of another heater.",
    bad: goods_job!("fl", "hand"),
    good: goods_job!("at", "hand"),
    guards: Guards::Fire,
    measures: &[Dimension::Time],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::SheetCoolDown, Need::VehicleGoods]]).only(when::dangerous_goods)],
    find: |findings| {
        let job = findings.job;
        if goods(job) != Some("fl") {
            return;
        }
        for (number, heater) in job.heaters.iter().enumerate() {
            let Some(sheet) = job.sheet_of(number) else { continue };
            let stage = sheet.stage("cool-down");
            let lasts = stage.and_then(|stage| stage.duration);
            let (Some(stage), Some(lasts)) = (stage, lasts) else { continue };
            let bears = sheet.bears_cut_after.get().is_some_and(|bears| bears.high <= RUN_ON + 1e-6);
            let whose = Whose::Standard("ADR 9.2.4.7.4, from memory: check the text");
            let place = heater.sheet_place.unwrap_or(heater.header);
            let told = || Told::new(place, "time that the heater runs on", lasts.unit, whose.clone());
            if bears || findings.at_most(lasts, RUN_ON, 1e-6, told).keeps() {
                continue;
            }
            let limit = unit_or(None, "s").show(RUN_ON);
            let bears = match sheet.bears_cut_after.get() {
                Some(bears) => format!("its sheet allows a cut-off only after {}", bears.show(bears.high)),
                None => "its sheet does not say that it bears being cut off hot".to_string(),
            };
            let mut finding = findings
                .at(
                    place,
                    format!(
                        "`{}` runs on for {} on an FL vehicle; at most {limit} is allowed",
                        heater.name,
                        lasts.show(lasts.high)
                    ),
                )
                .label(bears.clone())
                .why(format!("after the engine stops the heater must be still within {limit}, but {bears}"))
                .limit(format!("{limit} after the engine has stopped"), whose)
                .help("take a heater whose maker allows a cut-off after 40 s; never cut another one short")
                .related(stage.current.written, "its cool-down");
            let switch = job
                .runs_of(number, Kind::Cable)
                .flat_map(|run| &run.steps)
                .find(|step| matches!(step.met, Met::Switch("master-switch", _)));
            if let Some(switch) = switch {
                finding = finding.related(switch.place, "and this switch cuts it off hot");
            }
            findings.add(finding);
        }
    },
};

pub(super) static GOODS_HEATER_WITH_LOAD: Rule = Rule {
    name: "goods-heater-with-load",
    family: Family::Law,
    severity: Severity::Warning,
    title: "parts of a heater in the load space of a vehicle for explosives",
    source: "ADR 9.3.2 (from memory: check the text): no heater, tank, power source, air inlet or exhaust outlet in the load \
             compartment",
    explanation: "Explosives must have no flame, no hot pipe and no fuel beside them. Every part of the heater stays on \
                  the other side of the bulkhead.",
    mend: "Move the parts out of the load space.",
    bad: goods_job!(
        "ex-ii",
        "hand",
        "\n\nspace load\n  use           load\n  at            back 2900 mm, left 900 mm, up 200 mm\n  \
         spans         back 1500 mm, right 1800 mm, up 1700 mm"
    ),
    good: goods_job!(
        "ex-ii",
        "hand",
        "\n\nspace load\n  use           load\n  at            back 4400 mm, left 900 mm, up 600 mm\n  \
         spans         back 150 mm, right 1800 mm, up 1700 mm"
    ),
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[&[Need::HeaterIn, Need::SpaceUse, Need::VehicleGoods]]).only(when::dangerous_goods),
        Ask::each(Kind::Heater, &[&[Need::ReturnAirDraws]])
            .only(|ground, of| when::dangerous_goods(ground, of).and(|| when::warms_air(ground, of))),
        Ask::each(
            Kind::Heater,
            &[&[Need::BatteryAt, Need::CableFrom, Need::TankAt, Need::FuelFrom, Need::SpaceAt, Need::SpaceSpans]],
        )
        .only(when::placed_goods),
    ],
    find: |findings| {
        let job = findings.job;
        if !matches!(goods(job), Some("ex-ii" | "ex-iii")) {
            return;
        }
        let is_load = |space: &Space| space.usage.get() == Some(&"load");
        let load = |number: usize| job.spaces.get(number).is_some_and(is_load);
        let holding = |at: Option<Spot>, body: &Option<String>| {
            let point = at?.point;
            job.spaces.iter().find(|space| {
                is_load(space) && space.body == *body && space.outline.is_some_and(|outline| outline.contains(point))
            })
        };
        for (number, heater) in job.heaters.iter().enumerate() {
            let mut parts = Vec::new();
            if heater.stands_in.get().copied().flatten().is_some_and(load) {
                parts.push(("the heater".to_string(), heater.header));
            }
            if let Some((_, tank)) = tank_of(job, number)
                && holding(tank.spot, &tank.body).is_some()
            {
                parts.push((format!("tank `{}`", tank.name), tank.header));
            }
            for run in job.runs_of(number, Kind::ReturnAir) {
                // Where its exhaust or combustion air ends in a space is said elsewhere, as an error.
                let inside = ends_in(run).or_else(|| Some(within_space(job, run, run.walk.end?)?.0));
                if inside.is_some_and(load) {
                    parts.push(("the inlet of its air".to_string(), run.header));
                }
            }
            for run in job.runs_of(number, Kind::Cable) {
                let Start::Battery(battery) = run.start else { continue };
                let Some(battery) = job.batteries.get(battery) else { continue };
                if holding(battery.spot, &battery.body).is_some() {
                    parts.push((format!("battery `{}`", battery.name), battery.header));
                }
            }
            parts.dedup_by(|one, other| one.1 == other.1);
            let Some((_, place)) = parts.first() else { continue };
            let list: Vec<&str> = parts.iter().map(|(what, _)| what.as_str()).collect();
            let mut finding = findings
                .at(
                    *place,
                    format!(
                        "`{}` has parts in the load space of a vehicle for explosives: {}",
                        heater.name,
                        list.join(", ")
                    ),
                )
                .label("beside explosives")
                .why("explosives must have no flame, no hot pipe and no fuel beside them")
                .limit(
                    "no part of the heater in the load space",
                    Whose::Standard("ADR 9.3.2, from memory: check the text"),
                )
                .help("move them to the other side of the bulkhead");
            for (what, place) in parts.iter().skip(1) {
                finding = finding.related(*place, what.clone());
            }
            findings.add(finding);
        }
    },
};

pub(super) static GOODS_HEATER_WHILE_LOADING: Rule = Rule {
    name: "goods-heater-while-loading",
    family: Family::Law,
    severity: Severity::Warning,
    title: "a heater of an FL vehicle that is used while the vehicle works",
    source: "ADR 8.5 S2(2): the combustion heater of an FL vehicle is not used while loading, unloading, or at loading points",
    explanation: "A tanker gives off most vapour while it is filled and emptied. If the vehicle's work is loading, the \
                  heater must be off for it, and the driver has to know that.",
    mend: "Instruct the driver: the heater is off while loading and unloading, and at loading points. Then take `used-while \
           working` out of the job.",
    bad: r#"
job "Tanker, heater kept on at the depot"
  design-cold   -15 °C
  altitude      0 m .. 600 m
  runs-for      8 h
  used-while    working

vehicle bench-van
  type          truck
  supply        12 V
  rules         adr
  goods         fl
  floor-height  600 mm
  at            forward 850 mm, left 1000 mm, up 200 mm
  spans         back 5400 mm, right 2000 mm, up 2300 mm

datasheet heater tanker-2                       # invented
  warms         air
  burns         diesel
  supply        12 V
  stage         high, 2.8 A
  stage         cool-down, 2.2 A, 40 s

heater reader
  datasheet     tanker-2
  in            cabin
  heats         cabin
  at            back 1900 mm, right 310 mm, up 670 mm
  warm-end      forward
  starts-by     hand
"#,
    good: goods_job!("at", "hand"),
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::UsedWhile]]).only(when::inflammable_goods)],
    find: |findings| {
        let job = findings.job;
        if goods(job) != Some("fl") || vehicle(job).is_none() {
            return;
        }
        for used in job.conditions.used_while.iter().filter(|used| used.value == "working") {
            let finding = findings
                .at(
                    used.written,
                    "the heater is on while an FL vehicle works, and it must be off while loading and unloading",
                )
                .label("is that loading or unloading?")
                .why("a tanker gives off most vapour while it is filled and emptied")
                .limit("off while loading, unloading and at loading points", Whose::Standard("ADR 8.5 S2(2)"))
                .help("instruct the driver to switch it off while loading and unloading, then take `used-while working` out");
            findings.add(finding);
        }
    },
};

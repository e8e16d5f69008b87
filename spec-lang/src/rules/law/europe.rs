//! Rules of 2001/56/EC, carried over into UN R122, on how a heater is fitted. Dangerous goods have their own file.

use super::{holds_people, tanks_drawn_from, under, under_r122, vehicle};
use crate::asks::{Ask, Need, when};
use crate::figures::return_air::DrawnFrom;
use crate::finding::{Severity, Whose};
use crate::model::Sensor;
use crate::rules::About;
use crate::rules::{Family, Guards, Rule, quoted};
use crate::source::Place;
use crate::vocabulary::Kind;

/// More seats than this, the driver's with them, make a bus of a vehicle: category M2 or M3, UNECE R.E.3.
const SEATS_OF_A_CAR: u32 = 9;

pub(super) static HEATER_OPEN_TO_PASSENGERS: Rule = Rule {
    name: "heater-open-to-passengers",
    family: Family::Law,
    severity: Severity::Warning,
    title: "a heater in the passengers' space of a bus without a sealed box round it",
    source: "UN R122 5.3.2.3, 2001/56/EC annex VII 2.2.3 (from memory: check the text): in a bus not in the passenger \
             compartment unless in an effectively sealed envelope",
    explanation: "Passengers put coats and bags against whatever is beside their seat, and a leak from the burner \
                  reaches them first. In a bus the heater stands outside their space, or in a box that is sealed against \
                  it.",
    mend: "Box the heater in, sealed against the passengers' space, and write `enclosed`; or fit it outside.",
    bad: r#"
vehicle bench-van
  type          bus
  supply        12 V
  rules         un-r122
  floor-height  600 mm
  at            forward 850 mm, left 1000 mm, up 200 mm
  spans         back 5400 mm, right 2000 mm, up 2300 mm

heater reader
  datasheet     air-2
  in            cabin
  heats         cabin
  at            back 1900 mm, right 310 mm, up 670 mm
  warm-end      forward
  notice        plate
  notice        tell-tale

tank main
  fuel          diesel winter-1
  holds         60 L
  reserve       10 L
  notice        refuelling
  at            back 3200 mm, left 450 mm, up 250 mm
"#,
    good: r#"
vehicle bench-van
  type          bus
  supply        12 V
  rules         un-r122
  floor-height  600 mm
  at            forward 850 mm, left 1000 mm, up 200 mm
  spans         back 5400 mm, right 2000 mm, up 2300 mm

heater reader
  datasheet     air-2
  in            cabin
  enclosed
  heats         cabin
  at            back 1900 mm, right 310 mm, up 670 mm
  warm-end      forward
  notice        plate
  notice        tell-tale

tank main
  fuel          diesel winter-1
  holds         60 L
  reserve       10 L
  notice        refuelling
  at            back 3200 mm, left 450 mm, up 250 mm
"#,
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[&[Need::HeaterIn, Need::SpaceUse]]).only(when::r122),
        Ask::each(Kind::Heater, &[&[Need::VehicleSeats]]).only(when::may_be_minibus),
    ],
    find: |findings| {
        let job = findings.job;
        let Some(vehicle) = vehicle(job).filter(|_| under_r122(job)) else { return };
        let seats = vehicle.seats.get().copied();
        if vehicle.kind.get() != Some(&"bus") && seats.is_none_or(|seats| seats <= SEATS_OF_A_CAR) {
            return;
        }
        for heater in job.heaters.iter().filter(|heater| heater.enclosed.is_none()) {
            let Some(stands) = heater.stands_in.fact() else { continue };
            let Some(space) = stands.value.and_then(|space| job.spaces.get(space)) else { continue };
            if !matches!(space.usage.get(), Some(&("seated" | "sleeping"))) {
                continue;
            }
            let seats = seats.map_or(String::new(), |seats| format!(" with {seats} seats"));
            let mut finding = findings
                .at(
                    stands.written,
                    format!(
                        "`{}` stands in `{}` of a bus{seats}, and no sealed box round it is stated",
                        heater.name, space.name
                    ),
                )
                .label("this is the passengers' space")
                .why("a leak from the burner reaches the passengers first, and their bags lie against it")
                .limit(
                    "not in the passenger compartment unless in an effectively sealed envelope",
                    Whose::Standard("UN R122 5.3.2.3, from memory: check the text"),
                )
                .help("box it in, sealed against the passengers' space, and write `enclosed`; or fit it outside")
                .related(space.header, "this space");
            if let Some(place) = vehicle.kind.place() {
                finding = finding.related(place, "the vehicle");
            }
            findings.add(finding);
        }
    },
};

pub(super) static FILLER_INSIDE: Rule = Rule {
    name: "filler-inside",
    family: Family::Law,
    severity: Severity::Error,
    title: "a fuel filler inside the vehicle",
    source: "petrol: life safety, trialfit's own rule. Diesel, a warning: UN R122 5.3.3.1 and 49 CFR 393.65 (from memory: check the \
             text), for boats 46 CFR 25.45-1; elsewhere common practice, no source",
    explanation: "Fuel spilled while filling stays inside. Petrol vapour creeps along the floor to the next spark, which \
                  may be the heater's own. Diesel soaks floor and lagging, stinks for years and feeds any fire.",
    mend: "Lead the filler outside, with a cap that shuts tight, and write `filler outside`.",
    bad: r#"
tank main
  fuel          diesel winter-1
  holds         60 L
  reserve       10 L
  filler        inside
  at            back 3200 mm, left 450 mm, up 250 mm
"#,
    good: r#"
tank main
  fuel          diesel winter-1
  holds         60 L
  reserve       10 L
  filler        outside
  at            back 3200 mm, left 450 mm, up 250 mm
"#,
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Tank, &[&[Need::TankFiller]]).only(when::own_tank)],
    find: |findings| {
        let job = findings.job;
        if job.header.is_none() {
            return;
        }
        for tank in &job.tanks {
            let Some(filler) = tank.filler.iter().find(|filler| filler.value == "inside") else { continue };
            let petrol = tank.fuel.get() == Some(&"petrol");
            let fuel = tank.fuel.get().copied().unwrap_or("fuel");
            let holds = tank.holds.get().map_or(String::new(), |holds| format!(" of {}", holds.show(holds.high)));
            let whose = if petrol {
                Whose::LifeSafety
            } else if job.of_boat() {
                Whose::Standard("46 CFR 25.45-1, for hired boats")
            } else if under_r122(job) {
                Whose::Standard("UN R122 5.3.3.1, from memory: check the text")
            } else if under(job, "us-49cfr393") {
                Whose::Standard("49 CFR 393.65, from memory: check the text")
            } else {
                Whose::CommonPractice
            };
            let why = if petrol {
                "petrol vapour creeps along the floor to the next spark, which may be the heater's own"
            } else {
                "fuel spilled while filling stays inside, soaks floor and lagging, and feeds any fire"
            };
            let mut finding = findings
                .at(filler.written, format!("tank `{}`{holds} is filled with {fuel} inside the vehicle", tank.name))
                .label("fuel spilled here stays inside")
                .why(why)
                .limit("no filler where people or load are", whose)
                .help("lead the filler outside, with a cap that shuts tight, and write `filler outside`")
                .related(tank.header, "this tank");
            if !petrol {
                finding.severity = Severity::Warning;
            }
            findings.add(finding);
        }
    },
};

/// A notice that is asked for and not stated.
struct Lacking {
    what: String,
    place: Place,
}

pub(super) static NOTICES_NOT_STATED: Rule = Rule {
    name: "notices-not-stated",
    family: Family::Law,
    severity: Severity::Warning,
    title: "notices and signs that the rules ask for, but that the job does not state",
    source: "UN R122 5.3.2.4 (plate to be read as fitted), 5.3.3.2 (kind of fuel at a tank of the heater's own), 5.3.3.3 \
             (heater off before refuelling) and annex 7 (tell-tale), 49 CFR 393.77(b)(13) (tell-tale, where no \
             thermostat controls the heater); all from memory: check the text",
    explanation: "Whoever fills the tank next year has not read the instructions. A sticker at the filler, a lamp that \
                  shows that the heater burns and a plate that can be read cost little, and an inspector looks for them \
                  first.",
    mend: "Fit them and write `notice plate` and `notice tell-tale` in the heater's block, `notice refuelling` in the tank's, \
           and `notice fuel-kind` at a tank that feeds only the heater.",
    bad: r#"
vehicle bench-van
  type          van
  supply        12 V
  rules         un-r122
  floor-height  600 mm
  at            forward 850 mm, left 1000 mm, up 200 mm
  spans         back 5400 mm, right 2000 mm, up 2300 mm
"#,
    good: r#"
vehicle bench-van
  type          van
  supply        12 V
  rules         un-r122
  floor-height  600 mm
  at            forward 850 mm, left 1000 mm, up 200 mm
  spans         back 5400 mm, right 2000 mm, up 2300 mm

heater reader
  datasheet     air-2
  in            cabin
  heats         cabin
  at            back 1900 mm, right 310 mm, up 670 mm
  warm-end      forward
  notice        plate
  notice        tell-tale

tank main
  fuel          diesel winter-1
  holds         60 L
  reserve       10 L
  notice        refuelling
  at            back 3200 mm, left 450 mm, up 250 mm
"#,
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Absent,
    asks: &[Ask::each(Kind::Heater, &[&[Need::VehicleRules]])],
    find: |findings| {
        let job = findings.job;
        let (europe, america) = (under_r122(job), under(job, "us-49cfr393"));
        if !(europe || america) || job.hidden.has(Kind::Heater) || job.hidden.has(Kind::Tank) {
            return;
        }
        let mut lacking: Vec<Lacking> = Vec::new();
        let mut ask = |has: bool, what: String, place: Place| {
            if !has {
                lacking.push(Lacking { what, place });
            }
        };
        for (number, heater) in job.heaters.iter().enumerate() {
            let has = |notice: &str| heater.notices.iter().any(|known| known.value == notice);
            // Where a thermostat minds the heater, the American clause asks for no lamp.
            let minded =
                heater.sensor.get().is_some() || job.sheet_of(number).is_some_and(|sheet| !sheet.senses.is_empty());
            if europe {
                ask(has("plate"), format!("plate of `{}`", heater.name), heater.header);
            } else if minded {
                continue;
            }
            ask(has("tell-tale"), format!("tell-tale of `{}`", heater.name), heater.header);
        }
        if europe {
            for tank in tanks_drawn_from(job).into_iter().filter_map(|tank| job.tanks.get(tank)) {
                let has = |notice: &str| tank.notices.iter().any(|known| known.value == notice);
                ask(has("refuelling"), format!("refuelling notice at `{}`", tank.name), tank.header);
                if tank.feeds.get() == Some(&"heater") {
                    ask(has("fuel-kind"), format!("kind of fuel at `{}`", tank.name), tank.header);
                }
            }
        }
        let Some(first) = lacking.first() else { return };
        let list: Vec<&str> = lacking.iter().map(|lacking| lacking.what.as_str()).collect();
        let (rules, whose) = if europe {
            ("UN R122", "UN R122 5.3.2.4, 5.3.3.2, 5.3.3.3 and annex 7, from memory: check the text")
        } else {
            ("49 CFR 393", "49 CFR 393.77(b)(13), from memory: check the text")
        };
        let mut finding = findings
            .at(first.place, format!("{rules} asks for notices that the job does not state: {}", list.join(", ")))
            .label(format!("not stated: {}", first.what))
            .why("whoever fills the tank or smells something next year has not read the instructions")
            .limit(format!("every notice that {rules} asks for"), Whose::Standard(whose))
            .help("fit them, and write `notice …` in the blocks of heater and tank");
        let mut told = vec![first.place];
        for lacking in &lacking {
            if !told.contains(&lacking.place) {
                told.push(lacking.place);
                finding = finding.related(lacking.place, "a notice is missing here, too");
            }
        }
        findings.add(finding);
    },
};

pub(super) static RETURN_AIR_FROM_PLANT: Rule = Rule {
    name: "return-air-from-plant",
    family: Family::Law,
    severity: Severity::Error,
    title: "heating air that is drawn from an engine or machinery space",
    source: "2001/56/EC annex VII 2.6.1, UN R122 5.3.6.1: heating air comes from a clean area, not likely to be fouled by engine or \
             exhaust; 49 CFR 393.77(a)(4): no air from the engine compartment",
    explanation: "An engine space holds what leaks from the engine: exhaust gas, oil mist, fuel vapour. The fan draws it \
                  in and blows it warm at people, carbon monoxide with it.",
    mend: "Draw the air from the space that is heated, or from outside at a clean place.",
    bad: r#"
space engine-bay
  use           plant

return-air of reader
  duct          air-90
  back          500 mm
  ends          in engine-bay, facing back
"#,
    good: r#"
space engine-bay
  use           plant

return-air of reader
  duct          air-90
  back          500 mm
  ends          in cabin, facing back
"#,
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[&[Need::ReturnAirDraws, Need::SpaceUse, Need::HeaterHeats]]).only(when::warms_air)
    ],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for found in &figures.returns {
            let DrawnFrom::Space(space) = found.from else { continue };
            let Some(space) = job.spaces.get(space).filter(|space| space.usage.get() == Some(&"plant")) else {
                continue;
            };
            let heated = found.heats.iter().filter_map(|heated| job.spaces.get(*heated));
            let people = heated.filter(|heated| holds_people(heated) || heated.usage.get().is_none());
            let blown = quoted(people.map(|heated| heated.name.as_str()));
            let Some(heater) = job.heaters.get(found.heater).filter(|_| !blown.is_empty()) else { continue };
            let sheet = job.sheet_of(found.heater);
            let flow = sheet
                .and_then(|sheet| sheet.fan_flow.get())
                .map_or(String::new(), |flow| format!(", up to {}", flow.show(flow.high)));
            let mut finding = findings
                .at(
                    found.place,
                    format!("`{}` blows air from `{}` at people in {blown}{flow}", heater.name, space.name),
                )
                .label("its air comes from an engine or machinery space")
                .why("exhaust gas, oil mist and fuel vapour leak there, and the fan draws them in")
                .limit(
                    "no inlet where engine or exhaust may foul the air",
                    Whose::Standard("2001/56/EC annex VII 2.6.1, UN R122 5.3.6.1"),
                )
                .help(format!("draw from {blown}, or from a clean place outside"))
                .related(space.header, "the engine or machinery space");
            if let Some(Sensor::ReturnAir) = heater.sensor.get() {
                finding = finding.related(heater.header, "its controller reads that air, too");
            }
            findings.add(finding);
        }
    },
};

pub(super) static COOL_DOWN_NOT_ON_SHEET: Rule = Rule {
    name: "cool-down-not-on-sheet",
    family: Family::Law,
    severity: Severity::Warning,
    title: "an air heater's data sheet without a cool-down",
    source: "2001/56/EC annex VII 1.5.1: the blower runs on after switch-off, also after overheating or when the fuel is cut",
    explanation: "After a burner stops, its blower must run on. Otherwise the heat damages the electronics, the ducts \
                  and what lies against them. A sheet without this stage was not copied whole, or the heater is not one \
                  to fit.",
    mend: "Look in the maker's papers and write `stage cool-down` with its current and time.",
    bad: r#"
datasheet heater bare-2                         # invented
  warms         air
  burns         diesel
  output        0.9 kW .. 2.4 kW
  supply        12 V
  stage         pre-heat, 9.5 A, 90 s
  stage         high, 2.8 A
  stage         low, 0.8 A

heater reader
  datasheet     bare-2
  in            cabin
  heats         cabin
  at            back 1900 mm, right 310 mm, up 670 mm
  warm-end      forward
"#,
    good: "heater reader\n  datasheet     air-2\n  in            cabin\n  heats         cabin\n  \
           at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::SheetWarms, Need::SheetStarting, Need::SheetRunning, Need::SheetLow]])],
    find: |findings| {
        let job = findings.job;
        let mut told = Vec::new();
        for heater in job.heaters.iter().filter(|_| job.header.is_some()) {
            let Some((number, sheet)) =
                heater.sheet.and_then(|number| job.heater_sheets.get(number).map(|sheet| (number, sheet)))
            else {
                continue;
            };
            let air = sheet.warms.get() == Some(&"air");
            // Only a list that tells starting and burning is one whose end is missing.
            let starts = sheet.stage("pre-heat").or_else(|| sheet.stage("ignition"));
            let (Some(burning), Some(_), Some(_)) = (sheet.stage("high"), sheet.stage("low"), starts) else { continue };
            let Some(place) = heater.sheet_place else { continue };
            if !air || sheet.stage("cool-down").is_some() || told.contains(&number) {
                continue;
            }
            told.push(number);
            let finding = findings
                .at(place, format!("data sheet `{}` states other stages, but no `cool-down`", sheet.name))
                .label("it is not known what it does after switch-off")
                .why("unless the blower runs on, the heat damages the heater and what lies against it")
                .limit("a stage in which the blower runs on", Whose::Standard("2001/56/EC annex VII 1.5.1"))
                .help("look in the maker's papers and write `stage cool-down` with its current and time")
                .related(sheet.header, "this sheet")
                .related(burning.current.written, "here it states how it burns");
            findings.add(finding);
        }
    },
};

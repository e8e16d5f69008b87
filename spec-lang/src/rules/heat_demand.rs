//! Rules on heat demand: a heater too weak or too large, and what a space does not say.

use super::engine::Findings;
use super::margin::Told;
use super::{Family, Guards, Rule, percent, quoted};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::heat_demand::{
    Demand, Room, Skin, USUAL_AIR_CHANGES, skin_missing, unknown_materials, wholly_read,
};
use crate::figures::night::{NightCase, NightOf, hours_and_minutes};
use crate::figures::return_air::{heated_spaces, warms_air};
use crate::finding::{Finding, Severity, Whose};
use crate::model::{Interval, Job, unit_or};
use crate::physics::materials;
use crate::rules::About;
use crate::rules::Cause;
use crate::units::{Dimension, Time, rounded};
use crate::vocabulary::{Kind, SURFACES, nearest};

pub(super) static RULES: &[&Rule] = &[
    &HEATER_TOO_WEAK,
    &HEATER_TOO_LARGE,
    &WARM_UP_SLOW,
    &SURFACE_NOT_STATED,
    &SURFACES_DO_NOT_CLOSE,
    &MATERIAL_NOT_KNOWN,
    &SURFACE_NOT_KNOWN,
    &WANTED_OUTSIDE_SET_RANGE,
    &LEAKS_NOT_STATED,
];

/// Seconds in an hour.
const HOUR: f64 = 3600.0;
/// Starts an hour above which a glow pin wears and a burner soots. Common practice, no source.
const STARTS_AN_HOUR: f64 = 4.0;
/// Share of the burning time at lowest output above which a burner soots. Common practice, no source.
const SHARE_AT_LOWEST: f64 = 0.8;
/// How far above the set-point a room may settle before that counts as too large, in K. The project's own.
const SETTLES_ABOVE: f64 = 1.0;
/// How many times what a room needs a heater that stops may give at its lowest, where half its highest output would do at
/// design cold. Above, it hardly burns, and each time from cold. The project's own.
const LOWEST_OVER_NEED: f64 = 4.0;
/// Share of the highest output from which on a heater is no larger than design cold asks for: half of it leaves room for
/// the next smaller one. The project's own.
const ENOUGH_AT_COLD: f64 = 0.5;
/// The longest warm-up that is not worth a word, in s. The project's own: a bus or a library that stood cold overnight
/// takes two to three hours until its air is warm.
const WARM_UP: f64 = 10_800.0;

/// A power in kilowatts; two that would round to the same are both shown in watts.
fn pair_of_powers(one: f64, other: f64) -> (String, String) {
    let (kilowatt, watt) = (unit_or(None, "kW"), unit_or(None, "W"));
    let shown = (kilowatt.show(one), kilowatt.show(other));
    if shown.0 == shown.1 { (watt.show(one.round()), watt.show(other.round())) } else { shown }
}

fn heater_names(job: &Job, room: &Room) -> String {
    quoted(room.heaters.iter().filter_map(|heater| job.heaters.get(*heater)).map(|heater| heater.name.as_str()))
}

fn space_names(job: &Job, room: &Room) -> String {
    quoted(room.spaces.iter().filter_map(|space| job.spaces.get(*space)).map(|space| space.name.as_str()))
}

/// The spaces and sheets that take part, as related places.
fn with_parts(job: &Job, room: &Room, mut finding: Finding) -> Finding {
    for space in room.spaces.iter().filter_map(|space| job.spaces.get(*space)) {
        finding = finding.related(space.header, "the space it heats");
    }
    for heater in &room.heaters {
        if let Some(output) = job.sheet_of(*heater).and_then(|sheet| sheet.output.fact()) {
            finding = finding.related(output.written, "the output that the data sheet states");
        }
    }
    finding
}

/// What takes the heat, the largest first: `surfaces 1.6 kW, fresh air 1.3 kW, leaks 0.2 kW`.
fn shares(demand: &Demand, set: f64, end: fn(&Interval) -> f64) -> String {
    let over = set - demand.outside;
    let mut parts = [
        ("surfaces", end(&demand.through) * over),
        ("leaks", end(&demand.leaks) * over),
        ("fresh air drawn from outside", demand.fresh * over),
    ];
    parts.sort_by(|one, other| other.1.total_cmp(&one.1));
    let power = unit_or(None, "kW");
    let shown: Vec<String> = parts
        .iter()
        .filter(|(_, watts)| *watts > 0.0)
        .map(|(what, watts)| format!("{what} {}", power.show(*watts)))
        .collect();
    shown.join(", ")
}

static HEATER_TOO_WEAK: Rule = Rule {
    name: "heater-too-weak",
    family: Family::HeatDemand,
    severity: Severity::Error,
    title: "a heater that cannot hold the space warm at design cold",
    source: "highest output of the heater's data sheet; demand by ISO 6946:2017 and EN 12831-1 (from memory), with \
             the real density of the air",
    explanation: "A heater that is too weak runs at full output all night and never reaches its set-point. It empties \
                  battery and tank soonest, and people are cold when it matters. The demand counts the surfaces layer \
                  by layer, the leaks, and the fresh air that the fan draws from outside. It is taken at design cold, \
                  without the warmth of people.",
    mend: "Insulate what loses most heat, draw the room's own air, or fit a heater of more output.",
    bad: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, steel 0.9 mm\n  \
          surface       roof, 5 m², plywood 4 mm, steel 0.9 mm\n  surface       floor, 5 m², plywood 18 mm, steel 1.2 mm\n  air-changes   1 /h",
    good: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, xps 30 mm, steel 0.9 mm\n  \
           surface       roof, 5 m², plywood 4 mm, xps 30 mm, steel 0.9 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  air-changes   1 /h",
    guards: Guards::Comfort,
    measures: &[Dimension::Power],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::ROOM, &[Need::DesignCold, Need::SheetOutput]]),
        Ask::each(Kind::Heater, &[&[Need::ReturnAirDraws]]).only(when::warms_air),
    ],
    find: heater_too_weak,
};

fn heater_too_weak(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for room in &figures.rooms {
        let Some([_, highest]) = room.output else { continue };
        let demand = &room.cold;
        let Some(heater) = room.heaters.first().and_then(|heater| job.heaters.get(*heater)) else { continue };
        let sheet =
            || Whose::Sheet(job.sheet_of(heater_number(room)).map_or(String::new(), |sheet| sheet.name.clone()));
        let told =
            || Told::new(heater.header, "heat that the space needs at design cold", unit_or(None, "kW"), sheet());
        let verdict = findings.at_most(demand.total, highest, 0.0, told);
        if verdict.keeps() {
            continue;
        }
        // Where only the doubt of what is stated is too much, that is told and is no error.
        let by_doubt = !verdict.certain();
        let end: fn(&Interval) -> f64 = if by_doubt { |of| of.high } else { |of| of.nominal };
        let (needs, gives) = pair_of_powers(end(&demand.total), highest);
        let (heaters, spaces) = (heater_names(job, room), space_names(job, room));
        let several = room.heaters.len() > 1;
        let outside = room.unit.show(demand.outside);
        let loss = demand.loss(end);
        let mut why = shares(demand, room.set, end);
        if loss > 0.0 {
            let settled = demand.outside + highest / loss;
            why.push_str(&format!("; at full output it settles near {}", room.unit.show_to(settled, 1.0)));
        }
        let mut taken = Vec::new();
        if !room.cold_stated {
            taken.push(format!("design cold {outside}"));
        }
        if room.set_place.is_none() {
            taken.push(format!("{} wanted", room.unit.show(room.set)));
        }
        if room.usual_changes {
            taken.push(format!("{} air change an hour", rounded(USUAL_AIR_CHANGES)));
        }
        if !taken.is_empty() {
            why.push_str(&format!(" (not stated, so taken: {})", taken.join(", ")));
        }
        let might = if by_doubt { "may need" } else { "needs" };
        let mut finding = findings
            .at(
                heater.header,
                format!(
                    "{heaters} {} {gives} and {spaces} {might} {needs} at {outside}",
                    if several { "give" } else { "gives" }
                ),
            )
            .label(format!("{gives} at most"))
            .why(why)
            .limit(format!("{gives}, the highest output"), sheet())
            .help(if demand.fresh > 0.0 {
                "draw the room's own air, insulate what loses most heat, or fit a heater of more output"
            } else {
                "insulate what loses most heat, or fit a heater of more output"
            });
        if by_doubt || !room.cold_stated {
            finding.severity = Severity::Warning;
        }
        findings.add(with_parts(job, room, finding));
    }
}

fn heater_number(room: &Room) -> usize {
    room.heaters.first().copied().unwrap_or(usize::MAX)
}

static HEATER_TOO_LARGE: Rule = Rule {
    name: "heater-too-large",
    family: Family::HeatDemand,
    severity: Severity::Warning,
    title: "a heater too large for a mild night",
    source: "common practice, no source: at most 4 starts an hour, and at most 80 % of the burning time at lowest \
             output; the project's own, for a heater that stops and of which half would do at design cold: its lowest \
             output is at most 4 times the need",
    explanation: "On a mild night a room may need less than the heater's lowest output. A heater that then stops and \
                  starts wears its glow pin, and draws its largest current at each start. A heater that runs on at \
                  its lowest never burns itself clean: it soots up and overheats the room. The check works out the \
                  night with the people that the job states. A small heater that stops and starts now and then is \
                  usual. A heater of which half would do on the coldest night is another matter. If on a mild night \
                  its lowest output is many times the need, it burns a few minutes an hour and never gets hot.",
    mend: "Fit a smaller heater, fit one with a lower lowest output, or let it heat another space that is joined to \
           this one.",
    bad: "job \"Bench job\"\n  design-cold   -15 °C\n  mild-night    8 °C\n  runs-for      8 h\n\n\
          datasheet heater steady-3               # invented\n  warms         air\n  burns         diesel\n  output        1.2 kW .. 3 kW\n  \
          supply        12 V\n  below-lowest  runs-on\n  exhaust-clear-of combustion-air 300 mm\n\n\
          heater reader\n  datasheet     steady-3\n  in            cabin\n  heats         cabin\n  \
          at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward",
    good: "job \"Bench job\"\n  design-cold   -15 °C\n  mild-night    8 °C\n  runs-for      8 h",
    guards: Guards::Comfort,
    measures: &[Dimension::Rate, Dimension::Ratio],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::ROOM, &[Need::MildNight, Need::RunsFor, Need::SheetOutput]]),
        Ask::each(Kind::Heater, &[&[Need::ReturnAirDraws]]).only(when::warms_air),
    ],
    find: heater_too_large,
};

fn heater_too_large(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    for night in figures.nights.iter().filter(|night| night.case == NightCase::Mild) {
        let Some(room) = figures.rooms.get(night.room).filter(|room| room.complete) else { continue };
        let (Some(demand), Some([lowest, _])) = (&room.mild, room.output) else { continue };
        let Some(heater) = job.heaters.get(night.heater) else { continue };
        let loss = demand.loss(|of| of.low);
        if demand.total.low >= lowest || loss <= 0.0 {
            continue;
        }
        let sheet = job.sheet_of(night.heater);
        let name = sheet.map_or(String::new(), |sheet| sheet.name.clone());
        let space = space_names(job, room);
        let mild = room.unit.show(demand.outside);
        let (needs, gives) = pair_of_powers(demand.total.low, lowest);
        let mut held = |figure: f64, limit: f64, what: &str, unit: &str| {
            let told = || Told::new(heater.header, what, unit_or(None, unit), Whose::CommonPractice);
            !findings.at_most(figure, limit, 0.0, told).keeps()
        };
        let Some((title, label, why, limit)) = large(&mut held, night, room, demand, loss, &gives) else { continue };
        let mut finding = findings
            .at(heater.header, format!("`{}` {title} on a mild night of {mild}", heater.name))
            .label(label)
            .why(format!("{space} then needs {needs}, and {gives} is the heater's lowest output; {why}"))
            .limit(limit, Whose::CommonPractice)
            .help("fit a smaller heater, fit one with a lower lowest output, or let it heat more than this space");
        if let Some(below) = sheet.and_then(|sheet| sheet.below_lowest.fact()) {
            finding = finding.related(below.written, format!("what `{name}` does below its lowest output"));
        }
        if let Some(place) = job.conditions.mild_night.place() {
            finding = finding.related(place, "the mild night");
        }
        findings.add(with_parts(job, room, finding));
    }
}

/// Title, label, reason and limit of a heater that is too large, where it is.
fn large(
    broken: &mut dyn FnMut(f64, f64, &str, &str) -> bool,
    night: &NightOf,
    room: &Room,
    demand: &Demand,
    loss: f64,
    gives: &str,
) -> Option<(String, String, String, String)> {
    let starts = night.night.starts_an_hour();
    if broken(starts / HOUR, STARTS_AN_HOUR / HOUR, "starts on a mild night", "/h") {
        let silent = if night.below_lowest.is_none() { " (taken, because its sheet does not say)" } else { "" };
        return Some((
            format!("starts {} times an hour", rounded(starts)),
            format!("{} starts in {}", night.night.starts, hours_and_minutes(night.lasts)),
            format!("it stops and starts again{silent}: each start wears the glow pin and draws the largest current"),
            format!("at most {} starts an hour", rounded(STARTS_AN_HOUR)),
        ));
    }
    let share = night.night.share_at_lowest();
    let lowest = room.output?.first().copied()?;
    let highest = room.output?.last().copied()?;
    let times = lowest / demand.total.low;
    if night.night.cycle.is_some()
        && share > SHARE_AT_LOWEST
        && times.is_finite()
        && room.cold.total.high <= highest * ENOUGH_AT_COLD
        && broken(times, LOWEST_OVER_NEED, "lowest output, as a multiple of the need on a mild night", "")
    {
        let power = unit_or(None, "kW");
        return Some((
            format!("gives {} times the heat needed even at its lowest", (times * 10.0).round() / 10.0),
            format!("burns {} of the night", percent(night.night.burning / Time::seconds(night.lasts.max(1.0)))),
            format!(
                "it stops and starts again, spends {} of its burning time at its lowest, and never gets hot; at \
                 design cold {} of its {} is needed",
                percent(share),
                power.show(room.cold.total.high),
                power.show(highest),
            ),
            format!(
                "at most {} times the need on a mild night, if half its output would do at design cold",
                rounded(LOWEST_OVER_NEED)
            ),
        ));
    }
    let settled = demand.outside + (lowest + demand.people) / loss;
    if night.below_lowest == Some("runs-on")
        && settled > room.set + SETTLES_ABOVE
        && broken(share, SHARE_AT_LOWEST, "share of the burning time at lowest output", "%")
    {
        return Some((
            format!("spends {} of its burning time at its lowest", percent(share)),
            format!("never less than {gives}"),
            format!("it runs on at that and soots up, and the room settles near {}", room.unit.show_to(settled, 1.0)),
            format!("at most {} % of the burning time at lowest output", rounded(SHARE_AT_LOWEST * 100.0)),
        ));
    }
    None
}

static WARM_UP_SLOW: Rule = Rule {
    name: "warm-up-slow",
    family: Family::HeatDemand,
    severity: Severity::Advice,
    title: "a space that takes long to get warm",
    source: "the project's own limit of 3 h; heat store by ISO 13786:2017 (from memory), in two nodes as in ISO \
             13790:2008 annex C (from memory)",
    explanation: "A heater that holds a space warm may still need half a shift to get it warm from cold. The check \
                  counts everything that must be warmed. First come the air and light furniture. Behind them lie the \
                  inner layers up to the insulation, and heavy contents, which take heat from the air until they are \
                  warm. The time given is until the air is warm, not the last shelf.",
    mend: "Switch the heater on earlier, fit one of more output, or insulate on the inside. If the space never gets \
           that cold, say `starts-at`.",
    bad: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, xps 30 mm, steel 0.9 mm\n  \
          surface       roof, 5 m², plywood 4 mm, xps 30 mm, steel 0.9 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  \
          air-changes   1 /h\n  contents      1200 kg",
    good: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, xps 30 mm, steel 0.9 mm\n  \
           surface       roof, 5 m², plywood 4 mm, xps 30 mm, steel 0.9 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  \
           air-changes   1 /h\n  contents      1200 kg\n  starts-at     5 °C",
    guards: Guards::Comfort,
    measures: &[Dimension::Time],
    explained_by: &[Cause::on_heater("return-air-from-outside")],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Heater, &[groups::ROOM, &[Need::DesignCold, Need::SheetOutput]]),
        Ask::each(Kind::Heater, &[&[Need::ReturnAirDraws]]).only(when::warms_air),
    ],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for room in &figures.rooms {
            let Some(time) = room.warm_up else { continue };
            let Some([_, highest]) = room.output else { continue };
            let Some(heater) = room.heaters.first().and_then(|heater| job.heaters.get(*heater)) else { continue };
            let told = || Told::new(heater.header, "time to warm the space", unit_or(None, "h"), Whose::CommonPractice);
            if findings.at_most(time, WARM_UP, 0.5, told).keeps() {
                continue;
            }
            let taken = if room.start.1 { "" } else { " (taken as outside, because it is not stated)" };
            let finding = findings
                .at(
                    heater.header,
                    format!(
                        "{} {} {} to warm {} from {} to {}",
                        heater_names(job, room),
                        if room.heaters.len() > 1 { "take" } else { "takes" },
                        hours_and_minutes(time),
                        space_names(job, room),
                        room.unit.show(room.start.0),
                        room.unit.show(room.set)
                    ),
                )
                .label(format!("at most {}", unit_or(None, "kW").show(highest)))
                .why(format!(
                    "air and furniture store {} kJ for each kelvin, and the walls and contents behind them {} kJ; {} \
                     is lost at the end; it starts at {}{taken}",
                    rounded(room.air_store / 1e3),
                    rounded((room.store - room.air_store) / 1e3),
                    unit_or(None, "kW").show(room.cold.total.high),
                    room.unit.show(room.start.0),
                ))
                .limit(hours_and_minutes(WARM_UP), Whose::CommonPractice)
                .help(
                    "switch it on that much earlier, fit a heater of more output, or say `starts-at` if the space \
                       never gets that cold",
                );
            findings.add(with_parts(job, room, finding));
        }
    },
};

static SURFACE_NOT_STATED: Rule = Rule {
    name: "surface-not-stated",
    family: Family::HeatDemand,
    severity: Severity::Warning,
    title: "a heated space without a floor, a roof or the panes of its window",
    source: "common practice, no source: every surface loses heat",
    explanation: "A heat demand is only as good as the list of surfaces. A forgotten floor of bare steel, or a \
                  windscreen, loses as much heat as all the insulated walls together. The heater then looks large \
                  enough and is not.",
    mend: "State the surface with its area and its layers, from inside to outside.",
    bad: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm\n  \
          surface       roof, 5 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm\n  air-changes   1 /h",
    good: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm\n  \
           surface       roof, 5 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  air-changes   1 /h",
    guards: Guards::Comfort,
    measures: &[],
    explained_by: &[],
    about: About::Absent,
    asks: &[Ask::each(Kind::Heater, &[&[Need::SpaceSurface, Need::HeaterHeats]])],
    find: |findings| {
        let job = findings.job;
        for number in heated(job) {
            let Some(space) = job.spaces.get(number) else { continue };
            let missing = skin_missing(job, number);
            let Some(first) = missing.first() else { continue };
            let words: Vec<&str> = missing.iter().map(|skin| skin.word()).collect();
            let area: f64 = space.surfaces.iter().map(|surface| surface.area.value.nominal).sum();
            let unit = space.surfaces.first().map_or_else(|| unit_or(None, "m²"), |surface| surface.area.value.unit);
            let example = match first {
                Skin::Floor => "surface floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm",
                Skin::Roof => "surface roof, 5 m², plywood 4 mm, xps 30 mm, steel 0.9 mm",
                Skin::Glass => "surface glass, 0.8 m², glass 4 mm",
            };
            let mut finding = findings
                .at(
                    space.header,
                    format!("`{}` states {} of surface but no {}", space.name, unit.show(area), words.join(" and no ")),
                )
                .label(format!("no {} here", words.join(", no ")))
                .why("a surface that is not stated loses no heat in the figures, so the heater looks larger than it is")
                .limit("every surface of a heated space", Whose::CommonPractice)
                .help(format!("write it with its area and its layers, from inside to outside: `{example}`"));
            if missing.contains(&Skin::Glass) {
                let pane = job
                    .openings
                    .iter()
                    .find(|opening| opening.into == Some(number) && opening.kind.get() == Some(&"window"));
                if let Some(pane) = pane {
                    finding = finding.related(pane.header, "the window");
                }
            }
            findings.add(finding);
        }
    },
};

/// The spaces that air heaters heat, each once.
fn heated(job: &Job) -> Vec<usize> {
    let mut spaces: Vec<usize> = Vec::new();
    if job.header.is_none() || job.hidden.has(Kind::Space) {
        return spaces;
    }
    for heater in (0..job.heaters.len()).filter(|heater| warms_air(job, *heater)) {
        spaces.extend(heated_spaces(job, heater));
    }
    spaces.sort_unstable();
    spaces.dedup();
    spaces
}

/// How much of the least surface that encloses a volume has to be stated: what it shares with a space as warm loses no heat.
/// Common practice, no source.
const SHARE_OF_SPHERE: f64 = 0.75;

static SURFACES_DO_NOT_CLOSE: Rule = Rule {
    name: "surfaces-do-not-close",
    family: Family::HeatDemand,
    severity: Severity::Warning,
    title: "surfaces too small to enclose the space's volume",
    source: "geometry: of all bodies of one volume the sphere has the least surface, A = (36 π V²)^(1/3) (Steiner 1838, from \
             memory); a quarter may be shared with a space as warm, and is not stated (common practice, no source)",
    explanation: "A wall, a roof or a floor is missing, or the volume is too large. Through what is missing the space loses heat \
                  that no figure counts.",
    mend: "Write every surface: floor, roof, each wall, each pane. Check the volume.",
    bad: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        22 m³\n  surface       all, 28 m², plywood 4 mm, pe-foam 10 mm, steel 0.9 mm\n  \
          air-changes   1 /h\n  at            back 700 mm, left 900 mm, up 600 mm\n  spans         back 1850 mm, right 1800 mm, up 1700 mm",
    good: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       all, 28 m², plywood 4 mm, pe-foam 10 mm, steel 0.9 mm\n  \
          air-changes   1 /h\n  at            back 700 mm, left 900 mm, up 600 mm\n  spans         back 1850 mm, right 1800 mm, up 1700 mm",
    guards: Guards::Comfort,
    measures: &[Dimension::Area],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::ROOM])],
    find: |findings| {
        let job = findings.job;
        for space in heated(job).into_iter().filter_map(|number| job.spaces.get(number)) {
            let (Some(volume), true) = (space.volume.fact(), wholly_read(job, space) && !space.surfaces.is_empty())
            else {
                continue;
            };
            let area = space.surfaces.iter().map(|surface| Interval::from(surface.area.value));
            let area = area.fold(Interval::default(), Interval::plus);
            // The most that is stated against the least that could enclose the least volume.
            let sphere = (36.0 * std::f64::consts::PI * volume.value.low.max(0.0).powi(2)).cbrt();
            let least = sphere * SHARE_OF_SPHERE;
            let unit = unit_or(None, "m²");
            let told =
                || Told::new(volume.written, format!("surface of {}", space.name), unit, Whose::Standard("geometry"));
            if area.high <= 0.0 || findings.at_least(Interval::exact(area.high), least, least * 1e-9, told).keeps() {
                continue;
            }
            let volume_reads = volume.value.show(volume.value.low);
            let finding = findings
                .at(
                    volume.written,
                    format!(
                        "`{}` states {} of surface; to enclose {volume_reads} takes {} or more",
                        space.name,
                        unit.show(area.high),
                        unit.show(sphere)
                    ),
                )
                .label("a surface is missing, or the volume is wrong")
                .why("through what is missing the space loses heat that no figure counts")
                .limit(format!("{}, three quarters of that", unit.show(least)), Whose::Standard("geometry"))
                .help("write every surface: floor, roof, each wall, each pane; check the volume");
            findings.add(finding);
        }
    },
};

static MATERIAL_NOT_KNOWN: Rule = Rule {
    name: "material-not-known",
    family: Family::HeatDemand,
    severity: Severity::Advice,
    title: "a layer of a material that is not in the table",
    source: "the tool's table of materials: ISO 10456:2007 table 3, handbooks",
    explanation: "The conductivity of its material says what a layer keeps in. The material is found by the word that \
                  is written. If the table lacks that word, the heat demand of the whole space is not computed: \
                  trialfit does not guess.",
    mend: "Write the nearest material of the table.",
    bad: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywod 4 mm, pe-foam 19 mm, steel 0.9 mm\n  \
          surface       roof, 5 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  air-changes   1 /h",
    good: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm\n  \
           surface       roof, 5 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  air-changes   1 /h",
    guards: Guards::Comfort,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Space, &[&[Need::EachSurface]])],
    find: |findings| {
        let job = findings.job;
        let heated = heated(job);
        for (number, space) in job.spaces.iter().enumerate().filter(|(_, space)| job.own(space.header)) {
            let mut told: Vec<&str> = Vec::new();
            for (word, place) in unknown_materials(space) {
                if told.contains(&word) {
                    continue;
                }
                told.push(word);
                let near = nearest(word, materials::words());
                let help = match near {
                    Some(near) => format!("write `{near}`, or the nearest material of the table"),
                    None => "write the nearest material of the table: `pe-foam`, `xps`, `pu-foam`, `mineral-wool`, `plywood`, …".to_string(),
                };
                let finding = findings
                    .at(
                        place,
                        format!("material `{word}` is not one of the {} in the table", materials::MATERIALS.len()),
                    )
                    .label(format!("the table has no conductivity for `{word}`"))
                    .why(match heated.contains(&number) {
                        true => format!("without it the heat that `{}` needs is not computed", space.name),
                        false => format!("what `{}` is made of is not understood", space.name),
                    })
                    .limit("a material of the table", Whose::Standard("ISO 10456:2007 table 3"))
                    .help(help);
                findings.add(finding);
            }
        }
    },
};

static SURFACE_NOT_KNOWN: Rule = Rule {
    name: "surface-not-known",
    family: Family::HeatDemand,
    severity: Severity::Advice,
    title: "a surface that may be a roof, a floor or a wall",
    source: "the language; ISO 6946:2017 table 7 gives each direction of heat its own resistance",
    explanation: "Warm air lies under a roof and leaves a floor alone. So the heat that passes a surface depends on which \
                  part of the skin it is, and without a floor or a roof the skin has a hole in it. The tool reads this from \
                  a few words, and from no others.",
    mend: "Name it by one of the words, or say behind its layers `as roof`, `as floor`, `as walls` or `as glass`.",
    bad: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm\n  \
          surface       roof, 4 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm\n  surface       ceiling, 1 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  air-changes   1 /h",
    good: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm\n  \
           surface       roof, 4 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm\n  surface       ceiling, 1 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm, as roof\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  air-changes   1 /h",
    guards: Guards::Comfort,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Space, &[&[Need::EachSurface]])],
    find: |findings| {
        let job = findings.job;
        for space in job.spaces.iter().filter(|space| job.own(space.header)) {
            for surface in space.surfaces.iter().filter(|surface| surface.part.is_none()) {
                let near = nearest(&surface.label, SURFACES.iter().copied());
                let help = match near {
                    Some(near) => format!(
                        "did you mean `{near}`? else say `as walls`, `as roof`, `as floor` or `as glass` behind its layers"
                    ),
                    None => "say `as walls`, `as roof`, `as floor` or `as glass` behind its layers".to_string(),
                };
                let finding = findings
                    .at(
                        surface.place,
                        format!(
                            "surface `{}` of `{}` is no part of the skin that the tool knows",
                            surface.label, space.name
                        ),
                    )
                    .label("taken as a wall")
                    .why("the heat that passes it depends on whether it is a roof, a floor or a wall")
                    .limit("one of the words for it", Whose::Language)
                    .help(help);
                findings.add(finding);
            }
        }
    },
};

static WANTED_OUTSIDE_SET_RANGE: Rule = Rule {
    name: "wanted-outside-set-range",
    family: Family::HeatDemand,
    severity: Severity::Warning,
    title: "a temperature that the heater's thermostat cannot be set to",
    source: "the `set-range` of the heater's data sheet",
    explanation: "A thermostat holds what it can be set to. Below its lowest mark the heater overheats a store that is only \
                  to be kept from frost. Above its highest mark the room stays colder than wanted, however strong the \
                  heater is.",
    mend: "Want a temperature within the range, or fit another controller.",
    bad: "space cabin\n  use           seated\n  wanted        4 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm\n  \
          surface       roof, 5 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  air-changes   1 /h",
    good: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm\n  \
           surface       roof, 5 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  air-changes   1 /h",
    guards: Guards::Comfort,
    measures: &[Dimension::Temperature],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::WantedWarmth, Need::SheetSetRange, Need::HeaterHeats]])],
    find: |findings| {
        let job = findings.job;
        for (number, heater) in job.heaters.iter().enumerate().filter(|_| job.header.is_some()) {
            let Some(sheet) = job.sheet_of(number) else { continue };
            let Some(range) = sheet.set_range.fact() else { continue };
            for space in heated_spaces(job, number).into_iter().filter_map(|space| job.spaces.get(space)) {
                let Some(wanted) = space.wanted.fact() else { continue };
                let unit = wanted.value.unit;
                let told = || Told::new(wanted.written, "temperature wanted", unit, Whose::Sheet(sheet.name.clone()));
                let low = findings.at_least(wanted.value.nominal, range.value.low, 1e-6, told);
                let high = findings.at_most(wanted.value.nominal, range.value.high, 1e-6, told);
                if low.keeps() && high.keeps() {
                    continue;
                }
                let (is, end) = if low.keeps() { ("above", range.value.high) } else { ("below", range.value.low) };
                let finding = findings
                    .at(
                        wanted.written,
                        format!(
                            "`{}` wants {}; the thermostat of `{}` goes from {} to {}",
                            space.name,
                            unit.show(wanted.value.nominal),
                            heater.name,
                            unit.show(range.value.low),
                            unit.show(range.value.high)
                        ),
                    )
                    .label(format!("{is} what it can be set to"))
                    .why("a thermostat holds nothing beyond its own marks")
                    .limit(unit.show(end), Whose::Sheet(sheet.name.clone()))
                    .help("want a temperature within the range, or fit another controller")
                    .related(range.written, "the range of the thermostat")
                    .related(heater.header, "this heater");
                findings.add(finding);
            }
        }
    },
};

static LEAKS_NOT_STATED: Rule = Rule {
    name: "leaks-not-stated",
    family: Family::HeatDemand,
    severity: Severity::Advice,
    title: "a heated space that states no volume or no air changes",
    source: "common practice, no source: a shut vehicle changes its air about once an hour, a leaky one three times",
    explanation: "Leaks take a tenth to a half of a vehicle's heat. If the air changes are not stated, one an hour is \
                  taken. If the volume is not stated, leaks are left out and the demand comes out too low.",
    mend: "State `volume` and `air-changes`.",
    bad: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm\n  \
          surface       roof, 5 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm",
    good: "space cabin\n  use           seated\n  wanted        18 °C\n  volume        7.5 m³\n  surface       walls, 13 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm\n  \
           surface       roof, 5 m², plywood 4 mm, pe-foam 30 mm, steel 0.9 mm\n  surface       floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n  air-changes   1 /h",
    guards: Guards::Comfort,
    measures: &[],
    explained_by: &[],
    about: About::Absent,
    asks: &[Ask::each(Kind::Heater, &[&[Need::HeaterHeats, Need::AirChanges, Need::SpaceVolume]])],
    find: |findings| {
        let job = findings.job;
        for space in heated(job).into_iter().filter_map(|number| job.spaces.get(number)) {
            let stated = space.surfaces.first().filter(|_| wholly_read(job, space));
            let Some(surface) = stated else { continue };
            let (title, why, help) = if space.volume.get().is_none() {
                (
                    format!("`{}` states no volume, so its leaks are not counted", space.name),
                    "without its leaks the space needs more heat than the figures say",
                    "write `volume 9 m³` (the air in the space) and `air-changes 1 /h`",
                )
            } else if space.air_changes.get().is_none() {
                (
                    format!("`{}` states no air changes, so {} /h is taken", space.name, rounded(USUAL_AIR_CHANGES)),
                    "a tight body changes its air every other hour, one with leaky doors three times an hour",
                    "write `air-changes 1 /h`",
                )
            } else {
                continue;
            };
            let finding = findings
                .at(space.header, title)
                .label("no leaks are stated here")
                .why(why)
                .limit("volume and air changes of each heated space", Whose::CommonPractice)
                .help(help)
                .related(surface.place, "its surfaces are stated here");
            findings.add(finding);
        }
    },
};

//! Rules on cable, fuse and battery. The voltage that counts is the one left at the heater's terminals.

use super::engine::Findings;
use super::margin::Told;
use super::{Family, Guards, Rule};
use crate::asks::{Ask, Need, groups, when};
use crate::figures::supply::{Case, DEFAULT_JOINT, FuseAt, Left, Piece, Supply, shown_size};
use crate::figures::ways::length_unit;
use crate::finding::{Finding, Severity, Whose};
use crate::model::{Job, Met, Stage, Start, unit_or};
use crate::physics::fuses::{CONTINUOUS_LOAD_SHARE, longest_opening_time, shortest_opening_time};
use crate::remedies::conductor::smallest_conductor;
use crate::rules::About;
use crate::rules::Cause;
use crate::source::Place;
use crate::units::{Dimension, Temperature, rounded};
use crate::vocabulary::Kind;

pub(super) static RULES: &[&Rule] = &[
    &STARTING_VOLTAGE_LOW,
    &RUNNING_VOLTAGE_LOW,
    &SYSTEM_VOLTAGE_DIFFERS,
    &CABLE_OVERLOADED,
    &FEED_WITHOUT_FUSE,
    &FUSE_FAR_FROM_BATTERY,
    &FUSE_TOO_LARGE_FOR_CABLE,
    &FUSE_TOO_SMALL,
    &FUSE_NOT_AS_ASKED,
    &HOLDER_TOO_SMALL,
    &FEED_CAN_BE_CUT,
    &ISOLATOR_IN_FEED,
    &BRANCH_VOLTAGE_LOST,
    &BATTERY_FREEZES,
];

/// A voltage to a tenth; one that would read as nothing in millivolts.
pub(super) fn volts(value: f64) -> String {
    if value.abs() < 0.05 { format!("{} mV", rounded(value * 1e3)) } else { format!("{value:.1} V") }
}

/// Two figures that would round to the same are shown with one more place.
pub(super) fn pair_of_volts(figure: f64, limit: f64) -> (String, String) {
    let (one, other) = (volts(figure), volts(limit));
    if one == other { (format!("{figure:.2} V"), format!("{limit:.2} V")) } else { (one, other) }
}

pub(super) fn celsius(kelvin: f64) -> String {
    format!("{} °C", rounded(Temperature::kelvin(kelvin).in_celsius()))
}

fn milliohms(ohms: f64) -> String {
    format!("{} mΩ", rounded(ohms * 1e3))
}

pub(super) fn heater_name<'a>(findings: &'a Findings<'_>, supply: &Supply) -> &'a str {
    findings.job.heaters.get(supply.heater).map_or("", |heater| heater.name.as_str())
}

/// The finding with the supply's cable beside it.
pub(super) fn with_cable(finding: Finding, findings: &Findings<'_>, supply: &Supply, label: &str) -> Finding {
    match findings.job.runs.get(supply.run) {
        Some(run) => finding.related(run.header, label),
        None => finding,
    }
}

/// Resistance one way of all that one statement of a size lays, Ω, and its length, m.
fn laid(supply: &Supply, size: Place, copper: Temperature) -> (f64, f64) {
    supply.laid_by(size).fold((0.0, 0.0), |(ohms, length), piece| {
        (ohms + piece.ohms_per_metre(copper) * piece.length, length + piece.length)
    })
}

/// The conductor that costs most, by the first piece that its statement lays.
fn dearest(supply: &Supply, case: Case) -> Option<&Piece> {
    let copper = Temperature::kelvin(case.of(supply.copper));
    let cost = |piece: &Piece| laid(supply, piece.place, copper).0;
    // Of equals the last is taken: turned round, that is the first piece of the statement.
    supply.pieces.iter().rev().max_by(|one, other| cost(one).total_cmp(&cost(other)))
}

pub(super) fn is_start(left: &Left) -> bool {
    matches!(left.stage, "pre-heat" | "ignition")
}

/// Where a piece's size is written or used.
fn place_of(piece: &Piece) -> Place {
    piece.size.fact().map_or(piece.place, |fact| fact.used)
}

fn voltage_low(findings: &mut Findings<'_>, starting: bool) {
    let (findings_job, figures) = (findings.job, findings.figures);
    for supply in &figures.supplies {
        let Some(lowest) = &supply.lowest else { continue };
        let limit = lowest.value.low;
        let under = |left: &&Left| !left.waited_out && left.voltage < limit;
        // A start that fails is the finding; that the same cable also starves a later stage is the same fault.
        let start_fails = supply.left.iter().filter(under).any(is_start);
        if start_fails && !starting {
            continue;
        }
        let of_those = supply.left.iter().filter(|left| !left.waited_out && is_start(left) == starting);
        let Some(least) = of_those.map(|left| left.voltage).reduce(f64::min) else { continue };
        let told = || {
            let what =
                if starting { "voltage at the heater while it starts" } else { "voltage at the heater while it runs" };
            let place = dearest(supply, Case::ColdStart).map_or(lowest.written, place_of);
            let sheet = findings_job.sheet_of(supply.heater).map_or(String::new(), |sheet| sheet.name.clone());
            Told::new(place, what, lowest.value.unit, Whose::Sheet(sheet))
        };
        if findings.at_least(least, limit, 0.0, told).keeps() {
            continue;
        }
        // The coldest morning speaks for the cable where it fails then; else the case in which it does.
        let worst = supply.left.iter().filter(under).filter(|left| is_start(left) == starting).min_by(|one, other| {
            (one.case != Case::ColdStart, one.voltage)
                .partial_cmp(&(other.case != Case::ColdStart, other.voltage))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        let (Some(worst), Some(piece)) = (worst, dearest(supply, Case::ColdStart)) else { continue };
        let finding = low(findings, supply, worst, piece, limit);
        findings.add(finding);
    }
}

fn low(findings: &Findings<'_>, supply: &Supply, left: &Left, piece: &Piece, limit: f64) -> Finding {
    let job = findings.job;
    let heater = heater_name(findings, supply);
    let sheet = job.sheet_of(supply.heater).map_or(String::new(), |sheet| sheet.name.clone());
    let copper = Temperature::kelvin(left.case.of(supply.copper));
    let ways = if supply.chassis { 1.0 } else { 2.0 };
    let (ohms, laid) = laid(supply, piece.place, copper);
    let own = ohms * ways;
    let size = shown_size(piece);
    let unit = unit_or(job.runs.get(supply.run).and_then(|run| run.walk.unit), "m");
    let length = length_unit(unit, laid).show(laid);
    let place = place_of(piece);
    let (figure_text, limit_text) = pair_of_volts(left.voltage, limit);
    let when = match left.case {
        Case::ColdStart => format!("at {}", celsius(Case::ColdStart.of(supply.copper))),
        Case::HotSummer => format!("with the cable at {}", celsius(Case::HotSummer.of(supply.copper))),
    };
    let rest = supply.loop_resistance(left.case) - own;
    let mut why = format!(
        "{length} of {size}{} has {}; fuse, contacts and the rest of the circuit add {}; at {} A the battery drops {} from its {}",
        if supply.chassis { "" } else { ", there and back," },
        milliohms(own),
        milliohms(rest),
        rounded(left.current),
        volts(left.sag),
        volts(supply.open_circuit),
    );
    let hot = supply.left.iter().find(|other| other.case == Case::HotSummer && other.stage == left.stage);
    if let Some(hot) = hot.filter(|hot| left.case == Case::ColdStart && hot.voltage < limit) {
        let cable = celsius(Case::HotSummer.of(supply.copper));
        why.push_str(&format!(
            "; with the cable at {cable} the heater would get {}",
            pair_of_volts(hot.voltage, limit).0
        ));
    }
    if left.held_power.is_some() {
        why.push_str(&format!(
            "; its controller keeps the power up, so it draws {} A where the sheet states {} A",
            rounded(left.current),
            rounded(left.stated)
        ));
    }
    let mut taken = Vec::new();
    if supply.default_cold {
        taken.push(format!("design cold {}", celsius(Case::ColdStart.of(supply.copper))));
    }
    if !supply.charge.1 {
        taken.push(format!("battery charged to {} %", rounded(supply.charge.0 * 100.0)));
    }
    if supply.default_contacts {
        taken.push(format!("contacts {}", milliohms(supply.contacts)));
    }
    if supply.assumed_joints > 0 {
        taken.push(format!("{} joints at {} each", supply.assumed_joints, milliohms(DEFAULT_JOINT)));
    }
    if !taken.is_empty() {
        why.push_str(&format!(" (not stated, so assumed: {})", taken.join(", ")));
    }
    let mut finding = findings
        .at(
            place,
            format!(
                "`{heater}` would get {figure_text} in {} {when}; the data sheet asks for {limit_text}",
                left.stage
            ),
        )
        .label(format!("{size} drops {} at {} A", volts(own * left.current), rounded(left.current)))
        .why(why)
        .limit(format!("{limit_text} at the heater"), Whose::Sheet(sheet));
    if let Some(lowest) = &supply.lowest {
        finding = finding.related(lowest.written, "the lowest voltage that the data sheet allows");
    }
    match smallest_conductor(job, supply, piece.place) {
        Some(choice) => {
            let passes = supply.with_area(piece.place, choice.value.nominal);
            let same = |other: &&Left| other.case == left.case && other.stage == left.stage;
            let then = passes.left.iter().find(same).map_or(0.0, |left| left.voltage);
            finding = finding.help(format!(
                "{} is the smallest stock size that passes, with {} left; or take a shorter route, or put the battery nearer",
                choice.text,
                volts(then)
            ));
            if piece.sheet.is_none() && piece.size.fact().is_some_and(|fact| fact.written == fact.used) {
                finding = finding.replace(format!("write {}", choice.text), choice.text, true);
            }
        }
        None => {
            finding = finding.help(format!(
                "no stock size passes: with no loss at all in this cable, the heater would still get only {}; put the battery nearer, charge it, or take a shorter route",
                volts(supply.voltage_at(left.case, left.current) + own * left.current)
            ));
        }
    }
    finding
}

static STARTING_VOLTAGE_LOW: Rule = Rule {
    name: "starting-voltage-low",
    family: Family::Wire,
    severity: Severity::Error,
    title: "too little voltage at the heater while it starts",
    source: "the lowest voltage in the heater's data sheet; copper by IEC 60028 and IEC 60228; battery values from memory",
    explanation: "A heater draws its largest current while its glow pin heats up. Cable, fuse, contacts and a cold battery all lose voltage then, and the pin gets what is left. Below its limit the controller gives up: the heater that started in the workshop stays cold on the coldest morning. Each stage of the data sheet is computed at its highest current, there and back, with copper and battery at the design cold. Where hot surroundings are stated, it is computed with hot copper too.",
    mend: "Fit a larger cable, take a shorter route, or put the battery nearer to the heater.",
    bad: "cable supply of reader\n  from          house\n  size          2.5 mm²\n  insulation    105 °C\n  run           150 mm\n  fuse          20 A\n  run           18 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Start,
    measures: &[Dimension::Voltage],
    explained_by: &[Cause::on_heater("system-voltage-differs"), Cause::on_heater("battery-freezes")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::FEED, groups::START, &[Need::SheetVoltage, Need::SheetStarting]])],
    find: |findings| voltage_low(findings, true),
};

static RUNNING_VOLTAGE_LOW: Rule = Rule {
    name: "running-voltage-low",
    family: Family::Wire,
    severity: Severity::Error,
    title: "too little voltage at the heater while it runs",
    source: "the lowest voltage in the heater's data sheet; copper by IEC 60028 and IEC 60228; battery values from memory",
    explanation: "Here the heater starts, but a later stage gets too little voltage. The heater then stops in the night, and one that stops without its cool-down overheats. Judged like the start, for every other stage of the data sheet.",
    mend: "Fit a larger cable, take a shorter route, or put the battery nearer to the heater.",
    bad: "datasheet heater thirsty-4               # invented\n  warms         air\n  burns         diesel\n  supply        12 V\n  voltage       10.2 V .. 15.5 V\n  stage         pre-heat, 3 A peak, 90 s\n  stage         high, 12 A\n  exhaust-clear-of combustion-air 300 mm\n\nheater reader\n  datasheet     thirsty-4\n  in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\ncable supply of reader\n  from          house\n  size          2.5 mm²\n  insulation    105 °C\n  run           150 mm\n  fuse          20 A\n  run           14 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[Dimension::Voltage],
    explained_by: &[Cause::on_heater("system-voltage-differs")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::FEED, groups::START, &[Need::SheetVoltage, Need::SheetRunning]])],
    find: |findings| voltage_low(findings, false),
};

static SYSTEM_VOLTAGE_DIFFERS: Rule = Rule {
    name: "system-voltage-differs",
    family: Family::Wire,
    severity: Severity::Error,
    title: "a heater built for another system voltage",
    source: "the supply voltage of the heater's data sheet",
    explanation: "A 24 V battery burns out the glow pin and the controller of a 12 V heater. A 24 V heater never starts on 12 V. The battery's voltage is that of its blocks as they are joined: two 12 V blocks in series give 24 V.",
    mend: "Fit the heater's version for this voltage, or feed it from another battery of the right voltage.",
    bad: "battery house\n  made-of       2 x 12 V 95 Ah, in series\n  type          AGM\n  charge        90 %\n  at            back 1200 mm, left 600 mm, up 700 mm",
    good: "battery house\n  made-of       2 x 12 V 95 Ah, in parallel\n  type          AGM\n  charge        90 %\n  at            back 1200 mm, left 600 mm, up 700 mm",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::FEED, &[Need::VehicleSupply, Need::SheetSupply]])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for supply in &figures.supplies {
            let Some(wanted) = job.sheet_of(supply.heater).and_then(|sheet| sheet.supply.fact()) else { continue };
            let Some(run) = job.runs.get(supply.run) else { continue };
            // A charged battery is a fifth above its name; twice the name is another system.
            let ratio = supply.system / wanted.value.nominal;
            if (0.75..1.34).contains(&ratio) {
                continue;
            }
            let battery = job.batteries.get(supply.battery);
            let name = battery.map_or("", |battery| battery.name.as_str());
            let heater = heater_name(findings, supply);
            let sheet = job.sheet_of(supply.heater).map_or(String::new(), |sheet| sheet.name.clone());
            let mut finding = findings
                .at(
                    run.header,
                    format!(
                        "`{heater}` is built for {}, but battery `{name}` gives {} V",
                        wanted.value.show(wanted.value.nominal),
                        rounded(supply.system)
                    ),
                )
                .label(format!("fed from `{name}`, {} V", rounded(supply.system)))
                .limit(wanted.value.show(wanted.value.nominal), Whose::Sheet(sheet))
                .related(wanted.written, "the supply that the data sheet asks for")
                .help(format!(
                    "fit the heater's version for {} V, or feed this one from a battery of {}",
                    rounded(supply.system),
                    wanted.value.show(wanted.value.nominal)
                ));
            if let Some(battery) = battery {
                finding = finding.related(battery.header, "this battery, with its blocks joined as written");
            }
            findings.add(finding);
        }
    },
};

/// What lowers the current that a conductor may carry, in words: the air with whether it is stated, and its bundle.
fn surroundings(piece: &Piece, (air, stated): (f64, bool), bundled: u32) -> String {
    let assumed = if stated { "" } else { " (not stated, so assumed)" };
    let bundle = if bundled > 1 { format!(", {bundled} loaded conductors in the bundle") } else { String::new() };
    format!("insulation for {}, air at {}{assumed}{bundle}", celsius(piece.insulation), celsius(air))
}

static CABLE_OVERLOADED: Rule = Rule {
    name: "cable-overloaded",
    family: Family::Wire,
    severity: Severity::Error,
    title: "more current than the cable may carry",
    source: "33 CFR 183.425 table 5 (single conductors, 30 °C air), corrected for the air and the bundle that the cable lies in",
    explanation: "A cable that carries too much current gets hot along its whole length, out of sight behind the lining. The heater's largest current is compared with what the table allows for the cable's insulation. Warmer air lowers that figure, and so do other loaded conductors in the same bundle.",
    mend: "Use a larger cable, better insulation, or a route that is cooler or less bundled.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  insulation    60 °C\n  ambient       59 °C\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[Dimension::Current],
    explained_by: &[],
    about: About::Written,
    asks: &[
        Ask::each(Kind::Cable, &[groups::FEED, groups::LOAD, &[Need::SheetRunning]]).only(when::is_supply),
        Ask::each(Kind::Cable, &[groups::LOAD, &[Need::CableSize, Need::BranchCarries, Need::CableWay]])
            .only(when::is_branch),
    ],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for supply in &figures.supplies {
            let carried = supply.largest_current();
            for piece in &supply.pieces {
                let (Some(allowable), place) = (supply.allowable(piece), place_of(piece)) else { continue };
                let told = || {
                    Told::new(
                        place,
                        "current in the conductor",
                        unit_or(None, "A"),
                        Whose::Standard("33 CFR 183.425 table 5"),
                    )
                };
                if findings.at_most(carried, allowable, 0.0, told).keeps() {
                    continue;
                }
                let choice = smallest_conductor(job, supply, piece.place);
                let mut finding = findings
                    .at(
                        place,
                        format!(
                            "{} would carry {} A; it may carry {} A at most",
                            shown_size(piece),
                            rounded(carried),
                            rounded(allowable)
                        ),
                    )
                    .label(format!("{} A at most here", rounded(allowable)))
                    .why(surroundings(piece, supply.ambient, supply.bundled))
                    .limit(format!("{} A", rounded(allowable)), Whose::Standard("33 CFR 183.425 table 5"));
                finding = match choice {
                    Some(choice) => finding.help(format!("{} is the smallest stock size that passes", choice.text)),
                    None => finding.help("no stock size passes here: use better insulation or a cooler route"),
                };
                findings.add(finding);
                break;
            }
        }
        for branch in &figures.branches {
            let carried = branch.current.value;
            for piece in &branch.pieces {
                let allowable = piece.allowable(branch.ambient.0, branch.bundled);
                let (Some(allowable), place) = (allowable, place_of(piece)) else { continue };
                let told = || {
                    Told::new(
                        place,
                        "current in the conductor",
                        carried.unit,
                        Whose::Standard("33 CFR 183.425 table 5"),
                    )
                };
                if findings.at_most(carried, allowable, 0.0, told).keeps() {
                    continue;
                }
                let finding = findings
                    .at(
                        place,
                        format!(
                            "{} would carry {}; it may carry {} A at most",
                            shown_size(piece),
                            carried.show(carried.high),
                            rounded(allowable)
                        ),
                    )
                    .label(format!("{} A at most here", rounded(allowable)))
                    .why(surroundings(piece, branch.ambient, branch.bundled))
                    .limit(format!("{} A", rounded(allowable)), Whose::Standard("33 CFR 183.425 table 5"))
                    .related(branch.current.written, "the current that it carries")
                    .help("use a larger cable, better insulation or a cooler route");
                findings.add(finding);
                break;
            }
        }
    },
};

static FEED_WITHOUT_FUSE: Rule = Rule {
    name: "feed-without-fuse",
    family: Family::Wire,
    severity: Severity::Error,
    title: "a battery feed without a fuse",
    source: "life safety, trialfit's own rule; 33 CFR 183.455 and ISO 10133 ask for overcurrent protection at the source",
    explanation: "A battery can drive hundreds of amps into a chafed cable. Without a fuse the cable itself is the fuse, and it burns where it lies.",
    mend: "Fit the fuse that the heater's data sheet asks for, within 200 mm of the battery.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           4 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[&[Need::CableFrom]])],
    find: |findings| {
        let job = findings.job;
        if job.header.is_none() {
            return;
        }
        for run in job.runs.iter().filter(|run| run.kind == Kind::Cable && matches!(run.start, Start::Battery(_))) {
            let unread = run.steps.iter().any(|step| matches!(step.met, Met::Gap));
            if run.steps.iter().any(|step| matches!(step.met, Met::Fuse(_))) {
                continue;
            }
            let wanted = run.heater.and_then(|heater| job.sheet_of(heater)).and_then(|sheet| sheet.fuse.fact());
            if unread {
                findings.cannot_judge(
                    run.header,
                    format!("a line of `{}` is not understood, and it may be the fuse", job.reads(run)),
                );
                continue;
            }
            let unit = unit_or(run.walk.unit, "m");
            let length = run.walk.length.map(|length| length_unit(unit, length.high).show(length.high));
            let leaves =
                length.map_or("leaves the battery".to_string(), |length| format!("runs {length} from the battery"));
            let rating = wanted.map_or("the rating that the heater's data sheet asks for".to_string(), |fuse| {
                fuse.value.show(fuse.value.nominal)
            });
            let mut finding = findings
                .at(run.header, format!("`{}` {leaves} without a fuse", job.reads(run)))
                .label("no fuse between here and the heater")
                .limit("a fuse within 200 mm of the battery", Whose::LifeSafety)
                .help(format!("fit a fuse of {rating} within 200 mm of the battery, and write a `fuse` line there"));
            if let Some(fuse) = wanted {
                finding = finding.related(fuse.written, "the fuse that the data sheet asks for");
            }
            findings.add(finding);
        }
    },
};

/// The most cable that may lie bare between battery and fuse, m. ISO 10133:2000 clause 8.1 (secondary copy).
const BEFORE_FUSE: f64 = 0.2;
/// The most where it lies in a sheath or enclosure all the way, m: 40 in. 33 CFR 183.455 (b).
const SHEATHED_BEFORE_FUSE: f64 = 1.016;

static FUSE_FAR_FROM_BATTERY: Rule = Rule {
    name: "fuse-far-from-battery",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "a fuse far from its battery",
    source: "ISO 10133:2000 clause 8.1 (200 mm, from a secondary copy); 33 CFR 183.455 (b) allows 7 in, or 40 in of cable in a sheath or enclosure, which `sheathed` says; past 40 in an error",
    explanation: "The fuse does not protect the cable before it. The longer that piece is, the more of it can chafe, with the whole battery behind it.",
    mend: "Move the fuse close to the battery.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           900 mm\n  fuse          20 A\n  run           3 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[Dimension::Length],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::FEED])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for supply in &figures.supplies {
            let Some(fuse) = supply.fuses.first() else { continue };
            let unit = unit_or(job.runs.get(supply.run).and_then(|run| run.walk.unit), "mm");
            let laid = fuse.from_battery;
            let sheathed = job.runs.get(supply.run).is_some_and(|run| run.said.sheathed.is_some());
            let (most, whose) = if sheathed {
                (SHEATHED_BEFORE_FUSE, Whose::Standard("33 CFR 183.455 (b)"))
            } else {
                (BEFORE_FUSE, Whose::Standard("ISO 10133:2000 clause 8.1"))
            };
            let told = || Told::new(fuse.place, "cable between battery and fuse", unit, whose.clone());
            if findings.at_most(laid, most, 1e-9, told).keeps() {
                continue;
            }
            let limit = job.length_unit("mm").show(most);
            let behind = match supply.before_the_fuse() {
                Some((current, bears)) => format!(
                    "a short circuit here draws up to {} A, and no fuse stops it; the copper bears that for {} s",
                    rounded(current),
                    rounded(bears)
                ),
                None => String::new(),
            };
            let mut finding = findings
                .at(
                    fuse.place,
                    format!("{} of cable lie between battery and fuse; {limit} is the limit", unit.show(laid)),
                )
                .label(format!("{} from the battery", unit.show(laid)))
                .why(behind)
                .limit(limit.clone(), whose)
                .help(format!(
                    "fit the fuse nearer to the battery, and write its `fuse` line within the first {limit} of the run"
                ));
            if laid <= SHEATHED_BEFORE_FUSE && !sheathed {
                let help = "; or lay the cable up to the fuse in a sheath or conduit, and write `sheathed`";
                finding.help.push_str(help);
            } else {
                finding.severity = Severity::Error;
            }
            findings.add(finding);
        }
    },
};

const FUSE_LIMIT: Whose = Whose::Standard("IEC 60364-4-43 clause 433.1");

static FUSE_TOO_LARGE_FOR_CABLE: Rule = Rule {
    name: "fuse-too-large-for-cable",
    family: Family::Wire,
    severity: Severity::Error,
    title: "a fuse too large for its cable",
    source: "IEC 60364-4-43 clause 433.1 (the rating is no more than the cable may carry); 33 CFR 183.455 (c) allows half as much again",
    explanation: "A fuse protects the cable, not the heater. If it lets through more than the thinnest cable behind it may carry, that cable burns first. Between the two published limits this is a warning; past both it is an error.",
    mend: "Fit the fuse that the heater's data sheet asks for, and a cable that may carry as much.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          125 A\n  run           4 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[Dimension::Current],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::FEED, groups::LOAD])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for supply in &figures.supplies {
            let Some((fuse, piece, allowable)) = fuse_and_weakest(supply) else { continue };
            let rating = fuse.rating.nominal;
            // A cable that its own load overheats is told of by that load.
            if supply.largest_current() > allowable {
                continue;
            }
            let told = || Told::new(fuse.place, "fuse before the thinnest conductor", fuse.rating.unit, FUSE_LIMIT);
            if findings.at_most(rating, allowable, 0.0, told).keeps() {
                continue;
            }
            let past_both = rating > 1.5 * allowable;
            let shown = fuse.rating.show(rating);
            let size = shown_size(piece);
            let (limit, whose) = if past_both {
                (1.5 * allowable, Whose::Standard("33 CFR 183.455 (c), half as much again as the cable may carry"))
            } else {
                (allowable, FUSE_LIMIT)
            };
            let mut finding = findings
                .at(
                    fuse.place,
                    format!("a fuse of {shown} is too large for {size}, which may carry {} A", rounded(allowable)),
                )
                .label(format!("{shown} lets {size} overheat"))
                .why(surroundings(piece, supply.ambient, supply.bundled))
                .limit(format!("{} A", rounded(limit)), whose)
                .related(piece.place, format!("the thinnest cable behind it, {size}"));
            if !past_both {
                finding.severity = Severity::Warning;
            }
            let wanted = job.sheet_of(supply.heater).and_then(|sheet| sheet.fuse.get());
            finding = match (wanted, smallest_conductor(job, supply, piece.place)) {
                (Some(wanted), _) if wanted.nominal <= allowable => {
                    let text = wanted.show(wanted.nominal);
                    let finding =
                        finding.help(format!("fit {text}, as the data sheet asks; this cable may carry that"));
                    write_fuse(finding, fuse, &text)
                }
                (_, Some(choice)) => finding.help(format!(
                    "use a smaller fuse, or a cable of {}, the smallest stock size that passes",
                    choice.text
                )),
                _ => finding.help("use a smaller fuse or a larger cable"),
            };
            findings.add(finding);
        }
        branch_fuses(findings);
    },
};

/// A fuse of a branch against the thinnest conductor behind it.
fn branch_fuses(findings: &mut Findings<'_>) {
    let figures = findings.figures;
    for branch in &figures.branches {
        let fuse = branch.fuses.iter().max_by(|one, other| one.rating.nominal.total_cmp(&other.rating.nominal));
        let behind = branch.pieces.iter().filter(|piece| piece.fused);
        let carried =
            behind.filter_map(|piece| piece.allowable(branch.ambient.0, branch.bundled).map(|may| (piece, may)));
        let weakest = carried.min_by(|(_, one), (_, other)| one.total_cmp(other));
        let (Some(fuse), Some((piece, allowable))) = (fuse, weakest) else { continue };
        let rating = fuse.rating.nominal;
        if branch.current.value.high > allowable {
            continue;
        }
        let told = || Told::new(fuse.place, "fuse before the thinnest conductor", fuse.rating.unit, FUSE_LIMIT);
        if findings.at_most(rating, allowable, 0.0, told).keeps() {
            continue;
        }
        let (shown, size) = (fuse.rating.show(rating), shown_size(piece));
        let mut finding = findings
            .at(
                fuse.place,
                format!("a fuse of {shown} is too large for {size}, which may carry {} A", rounded(allowable)),
            )
            .label(format!("{shown} lets {size} overheat"))
            .why(surroundings(piece, branch.ambient, branch.bundled))
            .limit(format!("{} A", rounded(allowable)), FUSE_LIMIT)
            .related(piece.place, format!("the thinnest cable behind it, {size}"))
            .help("use a smaller fuse or a larger cable");
        if rating <= 1.5 * allowable {
            finding.severity = Severity::Warning;
        }
        findings.add(finding);
    }
}

/// Offers to write another rating; whoever takes it must change the fuse too, so it wants a look.
fn write_fuse(finding: Finding, fuse: &FuseAt, rating: &str) -> Finding {
    match fuse.written {
        Some(place) => finding.replace_at(format!("write {rating}"), place, rating, false),
        None => finding,
    }
}

fn fuse_and_weakest(supply: &Supply) -> Option<(&FuseAt, &Piece, f64)> {
    let fuse = supply.fuses.iter().max_by(|one, other| one.rating.nominal.total_cmp(&other.rating.nominal))?;
    let weakest = supply
        .pieces
        .iter()
        .filter(|piece| piece.fused)
        .filter_map(|piece| supply.allowable(piece).map(|allowable| (piece, allowable)))
        .min_by(|(_, one), (_, other)| one.total_cmp(other))?;
    Some((fuse, weakest.0, weakest.1))
}

/// Whether a stage may last for hours: as its sheet says, and where that is silent, by its name. A glow pin never does.
fn lasts_for_long(stage: &Stage) -> bool {
    match stage.duration {
        Some(duration) => duration.high > 600.0,
        None => matches!(stage.name, "high" | "low" | "standby"),
    }
}

static FUSE_TOO_SMALL: Rule = Rule {
    name: "fuse-too-small",
    family: Family::Wire,
    severity: Severity::Error,
    title: "a fuse that may blow while the heater works",
    source: "ISO 8820-3 time-current gate (secondary copy and memory); three quarters of the rating for loads that last is common practice, no source",
    explanation: "A fuse that blows in pre-heat stops the start. One that blows while the heater burns stops the blower too, and a hot heater without its cool-down overheats. For each stage, its highest current and its time are compared with the shortest time in which a blade fuse of that rating may blow. The current that lasts for hours is compared with three quarters of the rating.",
    mend: "Fit the fuse that the heater's data sheet asks for.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          5 A\n  run           4 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[Dimension::Current, Dimension::Time],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::FEED, &[Need::SheetStarting]])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for supply in &figures.supplies {
            let Some(fuse) =
                supply.fuses.iter().min_by(|one, other| one.rating.nominal.total_cmp(&other.rating.nominal))
            else {
                continue;
            };
            let Some(sheet) = job.sheet_of(supply.heater) else { continue };
            let rating = fuse.rating.nominal;
            let shown = fuse.rating.show(rating);
            let whose = Whose::Standard("ISO 8820-3 time-current gate");
            let mut opens = None;
            for stage in sheet.stages.iter().filter(|_| fuse.blade) {
                let current = stage.current.value.high;
                let lasts = stage.duration.map_or(f64::INFINITY, |duration| duration.high);
                let opening = shortest_opening_time(current / rating).map(|time| time.in_seconds());
                let told =
                    |what: &str, unit| Told::new(fuse.place, format!("{what} {}", stage.name), unit, whose.clone());
                let bears = match opening {
                    // What lasts as long as the heater runs is held against what the fuse carries without end.
                    _ if !lasts.is_finite() => findings
                        .at_most(current, 1.1 * rating, 0.0, || told("current through the fuse in", fuse.rating.unit))
                        .keeps(),
                    Some(opening) => findings
                        .at_least(opening, lasts, 0.0, || told("time that the fuse bears", unit_or(None, "s")))
                        .keeps(),
                    None => true,
                };
                if let Some(opening) = opening.filter(|_| !bears && opens.is_none()) {
                    opens = Some((stage, current, opening, lasts));
                }
            }
            let mut finding = match opens {
                Some((stage, current, opening, lasts)) => {
                    let lasting = if lasts.is_finite() {
                        format!("{} s", rounded(lasts))
                    } else {
                        "as long as it runs".to_string()
                    };
                    let latest = longest_opening_time(current / rating).map_or(String::new(), |time| {
                        format!(", and must blow within {} s", rounded(time.in_seconds()))
                    });
                    findings
                        .at(
                            fuse.place,
                            format!(
                                "a fuse of {shown} may blow in {}, at {} A for {lasting}",
                                stage.name,
                                rounded(current)
                            ),
                        )
                        .label(format!("{} A is {} times its rating", rounded(current), rounded(current / rating)))
                        .why(format!(
                            "at {} times its rating it may blow after {} s{latest}",
                            rounded(current / rating),
                            rounded(opening)
                        ))
                        .limit(format!("{} A, 1.1 times its rating", rounded(1.1 * rating)), whose)
                        .related(stage.current.written, "the current of this stage")
                }
                None => {
                    let lasting = sheet.stages.iter().filter(|stage| lasts_for_long(stage));
                    let Some(stage) =
                        lasting.max_by(|one, other| one.current.value.high.total_cmp(&other.current.value.high))
                    else {
                        continue;
                    };
                    let current = stage.current.value.high;
                    let told = || {
                        Told::new(
                            fuse.place,
                            "current that the fuse carries for hours",
                            stage.current.value.unit,
                            Whose::CommonPractice,
                        )
                    };
                    if findings.at_most(current, CONTINUOUS_LOAD_SHARE * rating, 0.0, told).keeps() {
                        continue;
                    }
                    let mut finding = findings
                        .at(
                            fuse.place,
                            format!(
                                "a fuse of {shown} would carry {} A for hours; {} A at most is usual",
                                rounded(current),
                                rounded(CONTINUOUS_LOAD_SHARE * rating)
                            ),
                        )
                        .label(format!("{} % of its rating for hours", rounded(100.0 * current / rating)))
                        .limit(
                            format!("{} A, three quarters of its rating", rounded(CONTINUOUS_LOAD_SHARE * rating)),
                            Whose::CommonPractice,
                        )
                        .related(stage.current.written, "the current of this stage");
                    finding.severity = Severity::Warning;
                    finding
                }
            };
            finding = match sheet.fuse.get() {
                Some(wanted) => {
                    let text = wanted.show(wanted.nominal);
                    write_fuse(finding.help(format!("fit {text}, as the data sheet asks")), fuse, &text)
                }
                None => finding.help("use the rating that the heater's maker gives"),
            };
            findings.add(finding);
        }
    },
};

static FUSE_NOT_AS_ASKED: Rule = Rule {
    name: "fuse-not-as-asked",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "not the fuse that the data sheet asks for",
    source: "the fuse of the heater's data sheet",
    explanation: "The maker chose the fuse for the heater's current and for the heater's own wiring. Where the fuse is also too large for its cable or too small for its load, this becomes a note on that finding.",
    mend: "Fit the fuse that the data sheet asks for.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          30 A\n  run           4 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[Cause::on_block("fuse-too-large-for-cable"), Cause::on_block("fuse-too-small")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::FEED])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for supply in &figures.supplies {
            let Some(sheet) = job.sheet_of(supply.heater) else { continue };
            let Some(wanted) = sheet.fuse.fact() else { continue };
            // With several fuses on the way the one nearest the heater is the heater's own.
            let Some(fuse) = supply.fuses.last() else { continue };
            let rating = fuse.rating.nominal;
            if (rating - wanted.value.nominal).abs() < 1e-9 {
                continue;
            }
            let text = wanted.value.show(wanted.value.nominal);
            let finding = findings
                .at(fuse.place, format!("the fuse is {}; the data sheet asks for {text}", fuse.rating.show(rating)))
                .label(format!("the data sheet asks for {text}"))
                .limit(text.clone(), Whose::Sheet(sheet.name.clone()))
                .related(wanted.written, "the fuse that the data sheet asks for")
                .help(format!("fit {text}"));
            findings.add(write_fuse(finding, fuse, &text));
        }
    },
};

static HOLDER_TOO_SMALL: Rule = Rule {
    name: "holder-too-small",
    family: Family::Wire,
    severity: Severity::Error,
    title: "a fuse holder built for less than its fuse",
    source: "the current that the holder is built for, as the job or its data sheet states it",
    explanation: "A holder's contacts are built for a certain current. With a larger fuse they may carry more. Then they get hot, lose their spring and char, long before the fuse blows.",
    mend: "Use a holder built for the fuse's rating or more.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A, holder 15 A\n  run           4 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A, holder 30 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[Dimension::Current],
    explained_by: &[Cause::on_block("fuse-too-small")],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::FEED])],
    find: |findings| {
        let figures = findings.figures;
        let of_supplies = figures.supplies.iter().flat_map(|supply| &supply.fuses);
        let of_branches = figures.branches.iter().flat_map(|branch| &branch.fuses);
        for fuse in of_supplies.chain(of_branches) {
            let Some(bears) = fuse.holder_bears else { continue };
            let told = || Told::new(fuse.place, "fuse in its holder", fuse.rating.unit, Whose::Job);
            if findings.at_most(fuse.rating.nominal, bears.nominal, 0.0, told).keeps() {
                continue;
            }
            let (rating, holder) = (fuse.rating.show(fuse.rating.nominal), bears.show(bears.nominal));
            let finding = findings
                .at(fuse.place, format!("a fuse of {rating} sits in a holder built for {holder}"))
                .label(format!("its contacts are built for {holder}"))
                .why("the holder gets hot at a current that does not blow the fuse")
                .limit(holder, Whose::Job)
                .help(format!("use a holder built for {rating} or more"));
            findings.add(finding);
        }
    },
};

/// Share of the system's voltage that the cable of a pump, switch or sensor may lose. Common practice, no source; 10 % is
/// also what ISO 10133 allows at an appliance (from memory).
const BRANCH_SHARE: f64 = 0.1;

static BRANCH_VOLTAGE_LOST: Rule = Rule {
    name: "branch-voltage-lost",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "a pump or sensor cable that loses too much voltage",
    source: "common practice, no source: a tenth of the system's voltage at most",
    explanation: "The current in a dosing pump's magnet does the pulling. On a long thin cable the pump pulls weakly, its strokes fall short, and the heater gets less fuel than its controller counts. Judged for every cable that states what it `carries`, there and back, with hot copper.",
    mend: "Use a larger cable or a shorter route.",
    bad: "cable pump of reader\n  size          0.5 mm²\n  carries       2 A\n  run           12 m\n  ends          here",
    good: "cable pump of reader\n  size          1 mm²\n  carries       2 A\n  run           4 m\n  ends          here",
    guards: Guards::Start,
    measures: &[Dimension::Voltage],
    explained_by: &[Cause::on_block("cable-overloaded")],
    about: About::Written,
    asks: &[Ask::each(Kind::Cable, &[&[Need::CableSize, Need::CableWay, Need::BranchCarries]]).only(when::is_branch)],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        for branch in &figures.branches {
            let (Some(system), Some(run)) = (branch.system, job.runs.get(branch.run)) else { continue };
            let allowed = BRANCH_SHARE * system;
            let place = branch.pieces.first().map_or(run.header, |piece| piece.place);
            let told = || Told::new(place, "voltage lost in the cable", unit_or(None, "V"), Whose::CommonPractice);
            if findings.at_most(branch.lost, allowed, 0.0, told).keeps() {
                continue;
            }
            let (lost, limit) = pair_of_volts(branch.lost, allowed);
            let carried = branch.current.value.show(branch.current.value.high);
            let finding = findings
                .at(place, format!("`{}` loses {lost} at {carried}; {limit} at most is usual", job.reads(run)))
                .label(format!("loses {lost} there and back"))
                .why(format!("computed with the copper at {}", celsius(branch.ambient.0)))
                .limit(format!("{limit} lost, a tenth of the system's voltage"), Whose::CommonPractice)
                .related(branch.current.written, "the current that it carries")
                .help("use a larger cable or a shorter route");
            findings.add(finding);
        }
    },
};

/// The longest that a heater of a vehicle for flammable goods may run on, s: ADR 9.2.4.7.4, from memory: check the text.
const GOODS_RUN_ON: f64 = 40.0;

/// Whether a vehicle for dangerous goods must have the master switch (ADR 9.2.2, from memory: check the text), and the data
/// sheet says that the heater bears being cut off by it as soon as those rules want it still.
fn bears_the_master_switch(job: &Job, heater: usize) -> bool {
    let goods = job.vehicle.as_ref().is_some_and(|(vehicle, _)| vehicle.carries().is_some());
    let bears = job.sheet_of(heater).and_then(|sheet| sheet.bears_cut_after.get());
    goods && bears.is_some_and(|bears| bears.high <= GOODS_RUN_ON + 1e-6)
}

static FEED_CAN_BE_CUT: Rule = Rule {
    name: "feed-can-be-cut",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "a feed that cuts itself off before the heater has cooled",
    source: "common practice, no source; 2001/56/EC annex VII 1.5.1 asks that the blower runs on after switch-off",
    explanation: "After switch-off the blower must run on, often for minutes. Without it the hot heater damages itself and what lies around it. An ignition feed, a battery saver or a managed load output cuts it off without asking anybody. The rule `isolator-in-feed` speaks of a switch that a person turns.",
    mend: "Take the heater's feed from the battery side of whatever switches off by itself.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  switch        ignition\n  run           4 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::FEED, &[Need::CableSwitch]])],
    find: |findings| cut_while_hot(findings, false),
};

static ISOLATOR_IN_FEED: Rule = Rule {
    name: "isolator-in-feed",
    family: Family::Wire,
    severity: Severity::Advice,
    title: "a feed that somebody can switch off before the heater has cooled",
    source: "common practice, no source; 2001/56/EC annex VII 1.5.1 asks that the blower runs on after switch-off",
    explanation: "An isolator is right where a battery must be parted from its cables, and somebody in a hurry turns it while the heater is still hot. A vehicle for dangerous goods must have a master switch by ADR 9.2.2 (from memory: check the text). Nothing is said of that switch where the data sheet says that the heater bears being cut off after 40 s (ADR 9.2.4.7.4).",
    mend: "Put a label on the switch: heater off and cooled down first.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  switch        isolator\n  run           4 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Start,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::FEED, &[Need::CableSwitch]])],
    find: |findings| cut_while_hot(findings, true),
};

/// Switches in a feed that stop a hot heater's blower: those that a person turns, or those that act by themselves.
fn cut_while_hot(findings: &mut Findings<'_>, by_hand: bool) {
    let (job, figures) = (findings.job, findings.figures);
    for supply in &figures.supplies {
        let Some(run) = job.runs.get(supply.run) else { continue };
        let cool_down = job.sheet_of(supply.heater).and_then(|sheet| sheet.stage("cool-down"));
        for step in &run.steps {
            let Met::Switch(what, _) = &step.met else { continue };
            let passes = *what == "relay" || (*what == "master-switch" && bears_the_master_switch(job, supply.heater));
            if passes || matches!(*what, "isolator" | "master-switch") != by_hand {
                continue;
            }
            let time = cool_down.and_then(|stage| stage.duration);
            let lasts = time.map_or("minutes".to_string(), |time| time.show(time.high));
            let cooling = time.map_or("cool-down".to_string(), |_| format!("cool-down of {lasts}"));
            let heater = heater_name(findings, supply);
            let (title, help) = if by_hand {
                (
                    format!("the {what} can cut `{heater}` off during its {cooling}"),
                    "put a label on it: switch the heater off and let it cool down first",
                )
            } else {
                (
                    format!("`{what}` cuts `{heater}` off during its {cooling}"),
                    "take the heater's feed from the battery side of it",
                )
            };
            let mut finding = findings.at(step.place, title).label(format!("cuts the {cooling}")).help(help);
            finding = match cool_down {
                Some(stage) => finding
                    .limit(
                        format!("{lasts} of power after switch-off"),
                        Whose::Sheet(job.sheet_of(supply.heater).map_or(String::new(), |sheet| sheet.name.clone())),
                    )
                    .related(stage.current.written, "the cool-down that the data sheet states"),
                None => finding.limit("power until the blower has stopped by itself", Whose::CommonPractice),
            };
            findings.add(finding);
        }
    }
}

/// How near its freezing point a battery is told of: the values are from memory. The project's own.
const NEAR_FREEZING: f64 = 2.0;
const FREEZING_LIMIT: Whose = Whose::Standard("handbook values of electrolyte freezing, from memory");
/// Temperatures closer than this are one, in K.
const SAME: f64 = 1e-6;

static BATTERY_FREEZES: Rule = Rule {
    name: "battery-freezes",
    family: Family::Wire,
    severity: Severity::Error,
    title: "a battery cold enough to freeze",
    source: "handbook values of electrolyte freezing by state of charge, from memory",
    explanation: "The emptier a lead-acid battery is, the weaker its acid. Half charged it freezes near -25 °C. A frozen battery starts nothing and may burst. Judged where the job states the charge. Less than 2 K above the freezing point is a warning.",
    mend: "Keep the battery charged, keep it warmer, or use another kind.",
    bad: "battery house\n  made-of       2 x 12 V 95 Ah, in parallel\n  type          flooded\n  charge        20 %\n  temperature   -24 °C\n  at            back 1200 mm, left 600 mm, up 700 mm\n\ncable supply of reader\n  from          house\n  size          10 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    good: "battery house\n  made-of       2 x 12 V 95 Ah, in parallel\n  type          AGM\n  charge        90 %\n  at            back 1200 mm, left 600 mm, up 700 mm",
    guards: Guards::Fire,
    measures: &[Dimension::Temperature],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::Battery, &[groups::START, groups::FEED])],
    find: |findings| {
        let (job, figures) = (findings.job, findings.figures);
        let mut told = Vec::new();
        for supply in &figures.supplies {
            let Some((freezes, own)) = supply.freezing.filter(|_| !told.contains(&supply.battery)) else { continue };
            let Some(battery) = job.batteries.get(supply.battery) else { continue };
            let place = battery.charge.place().unwrap_or(battery.header);
            let words = || Told::new(place, "temperature of the battery", unit_or(None, "°C"), FREEZING_LIMIT);
            if findings.at_least(own, freezes + NEAR_FREEZING, 0.0, words).keeps() {
                continue;
            }
            told.push(supply.battery);
            let finding = findings
                .at(
                    place,
                    format!(
                        "at {} % charge `{}` freezes at {}, and it would be at {}",
                        rounded(supply.charge.0 * 100.0),
                        battery.name,
                        celsius(freezes),
                        celsius(own)
                    ),
                )
                .label(format!("freezes at {}", celsius(freezes)))
                .limit(celsius(freezes), FREEZING_LIMIT)
                .help("keep it better charged, keep it warmer, or use another kind of battery");
            let finding = with_cable(finding, findings, supply, "the cable to the heater that it has to start");
            let milder = if own > freezes + SAME { Severity::Warning } else { Severity::Error };
            findings.add(Finding { severity: milder, ..finding });
        }
    },
};

#[cfg(test)]
mod tests {
    use super::volts;
    use crate::Analysis;
    use crate::bench::judge_example;

    fn title_and_help(analysis: &Analysis, rule: &str) -> Vec<(String, String)> {
        let of_rule = analysis.standing().filter(|finding| finding.rule.name == rule);
        of_rule.map(|finding| (finding.title.clone(), finding.help.clone())).collect()
    }

    fn supply(size: &str, said: &str) -> String {
        format!(
            "cable supply of reader\n  from          house\n  size          {size}\n{said}  run           150 mm\n  fuse          20 A\n  \
             run           4 m\n  ends          at reader"
        )
    }

    /// A fuse cuts its conductor in two, and the help speaks of both: the size that it names passes when it is written.
    #[test]
    fn the_size_that_the_help_names_passes_when_it_is_written() {
        let hot = "  insulation    85 °C\n  ambient       60 °C\n  bundled       4\n";
        let found = title_and_help(&judge_example(&supply("1.5 mm²", hot)), "cable-overloaded");
        let [(_, help)] = found.as_slice() else { panic!("{found:?}") };
        let size = help.split(" is the smallest").next().unwrap_or_default();
        assert!(size.ends_with("mm²") && !help.contains("no stock size"), "{help}");
        let mended = judge_example(&supply(size, hot));
        let left: Vec<&str> = mended.standing().map(|finding| finding.title.as_str()).collect();
        assert!(left.is_empty(), "{size}: {left:?}");
    }

    /// Where nothing passes, the help says what would be left without any loss in the whole conductor.
    #[test]
    fn what_a_conductor_costs_counts_both_sides_of_its_fuse() {
        let analysis = judge_example(
            "cable supply of reader\n  from house\n  size 2.5 mm²\n  insulation 105 °C\n  run 12 m\n  fuse 20 A\n  run 12 m\n  ends at reader",
        );
        let low = analysis.standing().find(|finding| finding.rule.name == "starting-voltage-low").expect("a finding");
        assert!(low.why.starts_with("24 m of 2.5 mm²"), "{}", low.why);
    }

    #[test]
    fn a_small_loss_reads_in_millivolts() {
        assert_eq!(volts(0.0312), "31.2 mV");
        assert_eq!(volts(0.05), "0.1 V");
        assert_eq!(volts(-0.02), "-20 mV");
    }

    /// ADR asks for the master switch; a data sheet that bears its cut after 40 s has answered.
    #[test]
    fn the_master_switch_of_a_tanker_is_no_fault_where_the_sheet_bears_it() {
        let tanker = |goods: &str, bears: &str, switch: &str| {
            let analysis = judge_example(&format!(
                "vehicle bench-van\n  type truck\n  supply 12 V\n  rules adr\n{goods}  floor-height 600 mm\n\n\
                 datasheet heater tanker-2\n  warms air\n  burns diesel\n  supply 12 V\n  stage high, 2.8 A\n  \
                 stage cool-down, 2.2 A, 40 s\n{bears}\nheater reader\n  datasheet tanker-2\n  in cabin\n  heats cabin\n  \
                 at back 1900 mm, right 310 mm, up 670 mm\n  warm-end forward\n  starts-by hand\n\n\
                 cable supply of reader\n  from house\n  size 6 mm²\n  run 150 mm\n  fuse 20 A\n  switch {switch}\n  run 4 m\n  \
                 ends at reader"
            ));
            ["feed-can-be-cut", "isolator-in-feed"].iter().any(|rule| !title_and_help(&analysis, rule).is_empty())
        };
        let bears = "  bears-cut-after 40 s\n";
        assert!(!tanker("  goods fl\n", bears, "master-switch"));
        assert!(tanker("  goods fl\n", "", "master-switch"));
        assert!(tanker("  goods fl\n", "  bears-cut-after 90 s\n", "master-switch"));
        assert!(tanker("", bears, "master-switch"));
        assert!(tanker("  goods fl\n", bears, "ignition"));
    }
}

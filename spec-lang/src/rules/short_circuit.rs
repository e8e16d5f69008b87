//! Rules on the short circuit at the far end of a supply: whether the fuse opens in time, and whether the cable lives to see
//! it. Load currents are judged in `wire`.

use super::margin::Told;
use super::wire::{celsius, volts};
use super::{Family, Findings, Guards, Rule};
use crate::asks::{Ask, Need, groups};
use crate::figures::short_circuit::{LONGEST_SHORT_CIRCUIT, ShortCircuit};
use crate::figures::supply::{Case, FuseAt, Piece, Supply, shown_size};
use crate::finding::{Finding, Severity, Whose};
use crate::model::unit_or;
use crate::rules::About;
use crate::rules::Cause;
use crate::units::{Dimension, rounded};
use crate::vocabulary::Kind;

pub(super) static RULES: &[&Rule] = &[&SHORT_CIRCUIT_LASTS, &SHORT_CIRCUIT_OUTLASTS_CABLE];

/// The worst far short circuit of a supply that a test picks: its fuse and its piece with it.
fn worst(supply: &Supply, picked: impl Fn(&ShortCircuit) -> bool) -> Option<(ShortCircuit, &FuseAt, &Piece)> {
    let faults = supply.short_circuits().into_iter().filter(picked);
    let fault = faults
        .max_by(|one, other| one.opens.unwrap_or(f64::INFINITY).total_cmp(&other.opens.unwrap_or(f64::INFINITY)))?;
    let (fuse, piece) = (supply.fuses.get(fault.fuse)?, supply.pieces.get(fault.piece)?);
    Some((fault, fuse, piece))
}

/// The far short circuit that heats its piece most, of what that bears.
fn hottest(supply: &Supply) -> Option<(ShortCircuit, &FuseAt, &Piece)> {
    let share = |fault: &ShortCircuit| fault.heating().zip(fault.bears).map_or(0.0, |(through, bears)| through / bears);
    let faults = supply.short_circuits().into_iter().filter(|fault| fault.bears.is_some());
    let fault = faults.max_by(|one, other| share(one).total_cmp(&share(other)))?;
    let (fuse, piece) = (supply.fuses.get(fault.fuse)?, supply.pieces.get(fault.piece)?);
    Some((fault, fuse, piece))
}

fn circuit(supply: &Supply, fault: &ShortCircuit) -> String {
    let copper = match fault.case {
        Case::ColdStart => "cold",
        Case::HotSummer => "hot",
    };
    let charge = if supply.charge.1 { "" } else { ", its charge assumed" };
    format!(
        "the battery gives {}{charge}; cable, fuse, contacts and battery have {} mΩ, with {copper} copper at {}",
        volts(supply.open_circuit),
        rounded(fault.resistance * 1e3),
        celsius(fault.case.of(supply.copper))
    )
}

fn mended(finding: Finding, findings: &Findings<'_>, supply: &Supply) -> Finding {
    match findings.job.sheet_of(supply.heater).and_then(|sheet| sheet.fuse.fact()) {
        Some(fuse) => finding.related(fuse.written, "the fuse that the data sheet asks for"),
        None => finding,
    }
}

static SHORT_CIRCUIT_LASTS: Rule = Rule {
    name: "short-circuit-lasts",
    family: Family::Wire,
    severity: Severity::Warning,
    title: "a short circuit at the far end that does not blow the fuse in time",
    source: "IEC 60364-4-41 clause 411.3.2 (5 s; from memory, check the text); fuse by ISO 8820-3 (secondary copy and memory)",
    explanation: "A fuse blows fast only at several times its rating. A long thin cable limits the current of a short circuit at its far end. The fuse then blows late or never, while the cable and whatever touches it glow. The current is computed with the battery's own resistance, in the case that gives the least. It is compared with the longest time in which a blade fuse may blow.",
    mend: "Use a larger cable, a shorter route, or a smaller fuse that still carries the heater's current.",
    bad: "datasheet heater small-2               # invented\n  warms         air\n  burns         diesel\n  supply        12 V\n  voltage       8.5 V .. 15.5 V\n  stage         pre-heat, 4.5 A peak, 90 s\n  stage         high, 2 A\n  fuse          20 A\n\nheater reader\n  datasheet     small-2\n  in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\ncable supply of reader\n  from          house\n  size          1.5 mm²\n  insulation    105 °C\n  run           150 mm\n  fuse          20 A\n  run           13 m\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[Dimension::Time],
    explained_by: &[
        Cause::on_block("fuse-too-large-for-cable"),
        Cause::on_block("starting-voltage-low"),
        Cause::on_block("running-voltage-low"),
        Cause::on_block("fuse-not-as-asked"),
        Cause::on_block("short-circuit-outlasts-cable"),
    ],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::FEED, &[Need::BatteryType, Need::BatteryCharge]])],
    find: |findings| {
        let figures = findings.figures;
        for supply in &figures.supplies {
            let Some((fault, fuse, piece)) = worst(supply, |_| true) else { continue };
            let whose = Whose::Standard("IEC 60364-4-41 clause 411.3.2, from memory: check the text");
            let opens = fault.opens.unwrap_or(f64::INFINITY);
            let told = || {
                Told::new(
                    fuse.place,
                    "time until the fuse blows in a far short circuit",
                    unit_or(None, "s"),
                    whose.clone(),
                )
            };
            if findings.at_most(opens, LONGEST_SHORT_CIRCUIT, LONGEST_SHORT_CIRCUIT * 1e-9, told).keeps() {
                continue;
            }
            let (current, rating) = (rounded(fault.current), fuse.rating.show(fuse.rating.nominal));
            let least = rounded(1.35 * fuse.rating.nominal);
            let (title, label) = match fault.opens {
                Some(opens) => (
                    format!(
                        "a short circuit at the far end draws {current} A; a fuse of {rating} may take {} s to blow; 5 s is the limit",
                        rounded(opens)
                    ),
                    format!("may take {} s at {} times its rating", rounded(opens), rounded(fault.multiple)),
                ),
                None => (
                    format!(
                        "a short circuit at the far end draws {current} A; a fuse of {rating} need not blow below {least} A"
                    ),
                    format!("{current} A is only {} times its rating", rounded(fault.multiple)),
                ),
            };
            let finding = findings
                .at(fuse.place, title)
                .label(label)
                .why(circuit(supply, &fault))
                .limit(format!("{} s until it has blown", rounded(LONGEST_SHORT_CIRCUIT)), whose)
                .related(piece.place, format!("{} on the way there", shown_size(piece)))
                .help("use a larger cable, a shorter route, or a smaller fuse that still carries the heater's current");
            findings.add(mended(finding, findings, supply));
        }
    },
};

static SHORT_CIRCUIT_OUTLASTS_CABLE: Rule = Rule {
    name: "short-circuit-outlasts-cable",
    family: Family::Wire,
    severity: Severity::Error,
    title: "a cable that a short circuit burns before the fuse blows",
    source: "IEC 60364-4-43 clause 434.5.2: I² t no more than k² A²; k by IEC 60364-5-54 annex A (both from memory); that it burns is physics",
    explanation: "Until the fuse has blown, all the heat of a short circuit stays in the copper. If that is more than the cable can take, its insulation melts along its whole length and may set fire to what it lies on. Judged up to 5 s. The cable starts at the temperature that its insulation is rated for.",
    mend: "Use a larger cable or a smaller fuse.",
    bad: "datasheet heater small-2               # invented\n  warms         air\n  burns         diesel\n  supply        12 V\n  voltage       8.5 V .. 15.5 V\n  stage         pre-heat, 4.5 A peak, 90 s\n  stage         high, 2 A\n  fuse          20 A\n\nheater reader\n  datasheet     small-2\n  in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\ncable supply of reader\n  from          house\n  size          1 mm²\n  insulation    105 °C\n  ambient       30 °C\n  run           150 mm\n  fuse          20 A\n  run           7150 mm\n  ends          at reader",
    good: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           150 mm\n  fuse          20 A\n  run           4 m\n  ends          at reader",
    guards: Guards::Fire,
    measures: &[Dimension::Ratio],
    explained_by: &[
        Cause::on_block("fuse-too-large-for-cable"),
        Cause::on_block("starting-voltage-low"),
        Cause::on_block("running-voltage-low"),
    ],
    about: About::Written,
    asks: &[Ask::each(Kind::Heater, &[groups::FEED, &[Need::BatteryType, Need::BatteryCharge]])],
    find: |findings| {
        let figures = findings.figures;
        for supply in &figures.supplies {
            let broken = worst(supply, ShortCircuit::outlasts_cable);
            let listens = findings.listens();
            let Some((fault, fuse, piece)) = broken.or_else(|| hottest(supply).filter(|_| listens)) else { continue };
            let (Some(through), Some(bears)) = (fault.heating(), fault.bears) else { continue };
            let whose = Whose::Standard(
                "the heat that the copper takes; IEC 60364-4-43 clause 434.5.2 from memory: check the text",
            );
            let place = piece.size.fact().map_or(piece.place, |fact| fact.used);
            let told = || {
                Told::new(
                    place,
                    "heat that the fuse lets through, as a share of what the copper bears",
                    unit_or(None, "%"),
                    whose.clone(),
                )
            };
            if findings.at_most(through / bears, 1.0, 0.0, told).keeps() {
                continue;
            }
            let opens = fault.opens.unwrap_or(f64::INFINITY);
            let (size, rating) = (shown_size(piece), fuse.rating.show(fuse.rating.nominal));
            let survives = bears / (fault.current * fault.current);
            let takes = if opens.is_finite() {
                format!("a fuse of {rating} may take {} s to blow", rounded(opens))
            } else {
                format!("a fuse of {rating} need not blow at all")
            };
            let finding = findings
                .at(
                    place,
                    format!(
                        "{size} bears a short circuit of {} A for {} s; {takes}",
                        rounded(fault.current),
                        rounded(survives)
                    ),
                )
                .label(format!("damaged after {} s", rounded(survives)))
                .why(format!("{}; insulation for {}", circuit(supply, &fault), celsius(piece.insulation)))
                .limit(format!("{} A²·s of heat; the fuse may let {} through", rounded(bears), rounded(through)), whose)
                .related(fuse.place, "the fuse that must blow")
                .help("use a larger cable or a smaller fuse");
            findings.add(mended(finding, findings, supply));
        }
    },
};

#[cfg(test)]
mod tests {
    use crate::Analysis;
    use crate::bench::judge_example;

    /// A supply of the bench job of this size, fuse and length.
    fn supply(size: &str, fuse: &str, length: &str) -> Analysis {
        judge_example(&format!(
            "cable supply of reader\n  from          house\n  size          {size}\n  insulation    105 °C\n  run           150 mm\n  \
             fuse          {fuse}\n  run           {length}\n  ends          at reader"
        ))
    }

    fn rules(analysis: &Analysis) -> Vec<&'static str> {
        analysis.standing().map(|finding| finding.rule.name).collect()
    }

    #[test]
    fn a_fuse_too_large_is_told_once_with_what_follows_from_it() {
        let analysis = supply("1 mm²", "60 A", "4 m");
        let found = rules(&analysis);
        assert!(found.contains(&"fuse-too-large-for-cable") && !found.contains(&"short-circuit-lasts"), "{found:?}");
        let large = analysis.standing().find(|finding| finding.rule.name == "fuse-too-large-for-cable").expect("found");
        assert!(large.related.iter().any(|note| note.label.contains("short circuit")), "{:?}", large.related);
    }

    #[test]
    fn a_long_thin_cable_is_told_by_its_voltage_and_notes_its_short_circuit() {
        let analysis = supply("1.5 mm²", "20 A", "15 m");
        assert_eq!(rules(&analysis), ["starting-voltage-low"]);
        let low = analysis.standing().next().expect("found");
        assert!(low.related.iter().any(|note| note.label.contains("need not blow") || note.label.contains("may take")));
    }

    #[test]
    fn a_fuse_without_a_known_gate_is_missing_and_never_guessed() {
        let analysis = supply("4 mm²", "20 A, glass", "4 m");
        assert!(rules(&analysis).is_empty(), "{:?}", rules(&analysis));
        assert!(analysis.shown().missing.iter().any(|missing| missing.because.contains("blade")));
        assert!(analysis.shown().list.iter().all(|figure| figure.name != "fuse_opening_time"));
    }

    #[test]
    fn a_conductor_in_two_sizes_is_judged_at_each_end() {
        // 20 m of 1 mm² behind 4 m of 6 mm²: the thin end alone holds the current down.
        let analysis = supply("6 mm²", "15 A", "4 m\n  size          1 mm²\n  run           20 m");
        let faults = analysis.figures.supplies.first().expect("a supply").short_circuits();
        let [near, far] = faults.as_slice() else { panic!("{faults:?}") };
        assert!(near.current > 5.0 * far.current && near.ends_in_time() && !far.ends_in_time(), "{faults:?}");
    }
}

//! Rules on distances that were taken by tape: what a line leads to, and whether it agrees with what else says the same. Which
//! distance is asked for is judged by the rules on exhaust and combustion air.

use super::exhaust::unit_of;
use super::{Family, Findings, Guards, Rule};
use crate::figures::tape::SLACK;
use crate::finding::{Severity, Whose};
use crate::model::Interval;
use crate::rules::About;
use crate::units::Unit;
use crate::vocabulary::{Kind, words_of};

pub(super) static RULES: &[&Rule] = &[&MEASURED_DISTANCE_DIFFERS, &MEASURED_TO_NOTHING];

static MEASURED_DISTANCE_DIFFERS: Rule = Rule {
    name: "measured-distance-differs",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "a measured distance that the job's places deny",
    source: "the job's own places; up to 60 mm, and every stated tolerance, is allowed (common practice, no source)",
    explanation: "`measured` is a distance taken by tape. The walked route and the places in the job give a distance between \
                  the same two things. If they do not agree, one of them is wrong, and so may be every other distance that is \
                  worked out from it. Until that is settled the smaller of the two counts.",
    mend: "Measure again, by tape and along the route, and write what is there. Where you cannot measure closely, write the \
           tolerance too: `± 50 mm`.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
          down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right\n  \
          measured      1.4 m to combustion-air",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right\n  \
           measured      980 mm to combustion-air",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: measured_distance_differs,
};

static MEASURED_TO_NOTHING: Rule = Rule {
    name: "measured-to-nothing",
    family: Family::Exhaust,
    severity: Severity::Error,
    title: "a distance measured to a thing that the job does not have",
    source: "the language",
    explanation: "`measured` names what the tape leads to: a kind alone for what the heater has one of, such as \
                  `combustion-air`; a kind and a name for anything else, such as `opening side-door`. Where the job has no such \
                  thing, or more than one, nobody knows what was measured, and nothing is judged by it.",
    mend: "Write the kind and the name of the thing, and write a block for it.",
    bad: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
          down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right\n  \
          measured      2.5 m to opening",
    good: "exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  passage       floor, hole 30 mm, sealed\n  \
           down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right\n  \
           measured      2050 mm to opening side-door",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: measured_to_nothing,
};

/// A distance with its doubt: `840 mm`, or `800 mm to 880 mm`.
fn shown(distance: Interval, unit: &Unit) -> String {
    if distance.high - distance.low < 1e-6 {
        unit.show(distance.nominal)
    } else {
        format!("{} to {}", unit.show(distance.low), unit.show(distance.high))
    }
}

/// The same from the edge of the vehicle: `30 mm past the edge`.
fn shown_from_edge(distance: Interval, unit: &Unit) -> String {
    if distance.nominal < 0.0 {
        format!("{} inside the edge of the vehicle", shown(distance.negative(), unit))
    } else {
        format!("{} past the edge of the vehicle", shown(distance, unit))
    }
}

fn measured_distance_differs(findings: &mut Findings<'_>) {
    let (job, figures) = (findings.job, findings.figures);
    aside_is_too_far(findings);
    for differing in &figures.differing {
        let Some(run) = job.runs.get(differing.run) else { continue };
        let unit = unit_of(run);
        let show = if differing.to.is_some() { shown } else { shown_from_edge };
        let (taped, other) = (show(differing.taped, unit), show(differing.other, unit));
        let to = differing.to.as_ref().map_or(String::new(), |to| format!(" to `{to}`"));
        let title = match differing.both_taped {
            true => format!("the tape says {taped}{to} here, and {other} elsewhere"),
            false => format!("the tape says {taped}{to}; by the job's places it is {other}"),
        };
        let why = if differing.end_nearer_than_pipe {
            "the open end is a part of the pipe, so the pipe cannot be farther away than its end; one of the two is wrong"
        } else {
            "one of the two is wrong, and so may be other distances that are worked out from it; the smaller counts"
        };
        let by = if differing.both_taped { "by tape" } else { "as the route comes out" };
        let finding = findings
            .at(differing.place, title)
            .label(format!("{taped} by tape"))
            .why(why)
            .limit(format!("the same within {} and every stated tolerance", unit.show(SLACK)), Whose::CommonPractice)
            .help("measure both again and write what is there; where you cannot measure closely, write the tolerance")
            .related(differing.other_line, format!("{other} {by}"));
        findings.add(finding);
    }
}

/// No way to the side is longer than the way itself.
fn aside_is_too_far(findings: &mut Findings<'_>) {
    let job = findings.job;
    for run in job.runs.iter().filter(|_| job.header.is_some()) {
        for taped in &run.said.measured {
            let Some(aside) = taped.aside.filter(|aside| aside.low > taped.distance.high + SLACK) else { continue };
            let unit = unit_of(run);
            let (taped_shown, aside_shown) = (shown(taped.distance, unit), shown(aside, unit));
            let finding = findings
                .at(taped.place, format!("the tape says {taped_shown} in all, and {aside_shown} to the side alone"))
                .label("one of the two is wrong")
                .why("the straight line between two things is never shorter than the way to the side")
                .limit(format!("{taped_shown} to the side"), Whose::Job)
                .help("measure both again and write what is there");
            findings.add(finding);
        }
    }
}

fn measured_to_nothing(findings: &mut Findings<'_>) {
    let job = findings.job;
    for run in job.runs.iter().filter(|_| job.header.is_some()) {
        for taped in run.said.measured.iter().filter(|taped| taped.to.is_none() && !taped.name_fault) {
            let Some(kind) = taped.kind.filter(|kind| !job.hidden.has(*kind) && !job.hidden.has(Kind::Heater)) else {
                continue;
            };
            let (word, reads) = (words_of(kind).header, words_of(kind).reads());
            let has_a_name = matches!(kind, Kind::Opening | Kind::KeepClear | Kind::Tank | Kind::Cable);
            let (title, help) = if has_a_name {
                let example = words_of(kind).example;
                let example = example.split(" of ").next().unwrap_or(example);
                (format!("this does not say to which {reads}"), format!("write its name too, as in `to {example}`"))
            } else {
                (
                    format!("the job has no {reads} that this can lead to"),
                    format!("write a block for it, as in `{word} of {}`", heater_name(findings, run.heater)),
                )
            };
            let finding = findings
                .at(taped.place, title)
                .label("nothing is judged by this line")
                .why("nobody knows what was measured")
                .help(help);
            findings.add(finding);
        }
    }
}

fn heater_name(findings: &Findings<'_>, heater: Option<usize>) -> String {
    heater.and_then(|heater| findings.job.heaters.get(heater)).map_or("…".to_string(), |heater| heater.name.clone())
}

#[cfg(test)]
mod tests {
    use crate::bench::judge_text;
    use crate::model::Landmark;
    use crate::rules::compose;

    const UNKNOWN: &str = "exhaust of reader\n  pipe steel, 24 mm bore, 27 mm outside\n  passage floor, sealed\n  \
                           run 830 mm, down 170 mm\n  ends facing right\n  measured 40 mm past edge\n  measured 430 mm above ground\n";
    const ALL: &str = "  measured 980 mm to combustion-air\n  measured 2.05 m to opening side-door\n  \
                       measured 160 mm from pipe to fuel-line\n  measured 1.2 m from pipe to keep-clear brake-pipe\n  \
                       measured 1 m from pipe to tank main\n";

    fn said(example: &str) -> Vec<String> {
        said_of(&compose(example))
    }

    fn said_of(text: &str) -> Vec<String> {
        let analysis = judge_text(text);
        let found = analysis.findings.iter().map(|finding| finding.rule.name.to_string());
        let left = analysis.not_judged.iter().map(|left| format!("not judged {}", left.rule.name));
        found.chain(left).collect()
    }

    /// A job whose exhaust is known by tape alone is clean, and each tape that is missing is told of.
    #[test]
    fn a_tape_that_is_missing_is_told_of() {
        assert_eq!(said(&format!("{UNKNOWN}{ALL}")), Vec::<String>::new());
        for (line, told) in ALL.lines().zip([
            "not judged exhaust-near-combustion-air",
            "not judged exhaust-near-opening",
            "not judged exhaust-near-fuel-line",
            // The bench says where its brake pipe lies, so that it is the exhaust's way that is not known.
            "not judged exhaust-near-fuel-line",
            "not judged exhaust-near-other",
        ]) {
            assert_eq!(said(&format!("{UNKNOWN}{}", ALL.replace(&format!("{line}\n"), ""))), [told], "{line}");
        }
        let without_edge = format!("{UNKNOWN}{ALL}").replace("  measured 40 mm past edge\n", "");
        assert_eq!(said(&without_edge), ["not judged exhaust-ends-under-vehicle"]);
        // From its end alone it is not known how near the pipe passes.
        let from_end = format!("{UNKNOWN}{}", ALL.replace("from pipe to keep-clear", "to keep-clear"));
        assert_eq!(said(&from_end), ["not judged exhaust-near-fuel-line"]);
    }

    /// Each case: what stands in place of the tape to the door, what is said.
    #[test]
    fn a_tape_to_a_window_says_as_much_as_it_can() {
        let window = "\n\nopening pane\n  kind window\n  into cabin";
        for (tape, told) in [
            ("1.6 m", vec![]),
            ("900 mm", vec!["not judged exhaust-below-opening-window"]),
            ("900 mm ± 10 mm, aside 400 mm", vec![]),
            ("900 mm, aside 200 mm", vec!["exhaust-below-opening-window"]),
            ("900 mm, aside 320 mm ± 30 mm", vec!["exhaust-below-opening-window"]),
            ("1.6 m, aside 200 mm", vec![]),
            ("200 mm", vec!["exhaust-near-opening"]),
            ("200 mm, aside 100 mm", vec!["exhaust-near-opening"]),
        ] {
            let tape = tape.split_once(',').map_or((tape, String::new()), |(tape, aside)| (tape, format!(",{aside}")));
            let line = format!("  measured {} to opening pane{}", tape.0, tape.1);
            assert_eq!(said(&format!("{UNKNOWN}{ALL}{line}{window}")), told, "{line}");
        }
    }

    #[test]
    fn what_a_tape_leads_to_is_one_thing() {
        let line = |line: &str| said(&format!("{UNKNOWN}{ALL}  measured {line}"));
        for (tape, told) in [
            ("2 m to opening", vec!["measured-to-nothing"]),
            ("2 m to opening no-door", vec!["name-not-found"]),
            ("2 m to combustion-air of nobody", vec!["name-not-found"]),
            ("2 m to return-air", vec![]),
            ("2 m to fuel-line of reader", vec![]),
            ("2 m from pipe to opening side-door", vec!["unlisted-word"]),
            ("2 m to cable supply of reader", vec![]),
            ("2 m from pipe to cable supply, covered", vec![]),
        ] {
            assert_eq!(line(tape), told, "{tape}");
        }
        let lone = format!("{UNKNOWN}{ALL}\n\nleave out combustion-air of reader");
        assert_eq!(said(&lone), ["combustion-air-missing", "measured-to-nothing"]);
    }

    /// Two bodies move against each other: what was taken in one position says nothing of the next.
    #[test]
    fn a_tape_to_another_body_clears_nothing() {
        let rides = format!("{UNKNOWN}  rides-on upper\n{ALL}");
        assert!(said(&rides).contains(&"not judged exhaust-near-opening".to_string()), "{:?}", said(&rides));
        let near = rides.replace("2.05 m to opening", "200 mm to opening");
        assert!(said(&near).contains(&"exhaust-near-opening".to_string()), "{:?}", said(&near));
    }

    /// The bench as a kit, with a door that has the name of its brake pipe; and a job that fits it.
    fn fitted(exhaust: &str, job: &str) -> crate::Analysis {
        let blocks = compose(&format!("{exhaust}\n\nopening brake-pipe\n  kind door\n  into cabin"));
        let (_, blocks) = blocks.split_once("vehicle ").expect("a vehicle");
        judge_text(&format!(
            "trialfit 1\nfollows \"bench-sheets.trialfit\"\n\njob \"fitted\"\n  design-cold -15 °C\n\n{job}\n\n\
             kit whole\n  open exhaust of reader\n  open exhaust\n\nvehicle {blocks}"
        ))
    }

    /// A kit's own names follow the fit; of two kinds with one name the line says which.
    #[test]
    fn names_in_a_kits_tapes_follow_the_fit() {
        let exhaust = format!("{UNKNOWN}{ALL}  measured 2 m to opening brake-pipe");
        let analysis = fitted(&exhaust, "fit whole as bunk");
        let measured: Vec<_> = analysis.job.runs.iter().flat_map(|run| &run.said.measured).collect();
        assert!(measured.iter().all(|taped| taped.to.is_some()), "{measured:?}\n{:?}", analysis.job.name_faults);
        let to = |landmark: fn(usize) -> Landmark| {
            measured.iter().filter(|taped| (0..4).any(|number| taped.to == Some(landmark(number)))).count()
        };
        assert_eq!((measured.len(), to(Landmark::Opening), to(Landmark::Tank)), (8, 2, 1));
    }

    /// A job measures a kit to what only the job has; a walk that is laid anew is measured anew.
    #[test]
    fn a_change_brings_tapes_of_its_own() {
        let job = |change: &str| {
            format!("fit whole as bunk\n\nchange exhaust of bunk\n{change}\n\nopening tail\n  kind door")
        };
        let tapes = |exhaust: &str, change: &str| {
            let analysis = fitted(exhaust, &job(change));
            assert!(analysis.job.layer_faults.is_empty(), "{:?}", analysis.job.layer_faults);
            analysis.job.runs.iter().map(|run| run.said.measured.len()).sum::<usize>()
        };
        assert_eq!(tapes("", "  measured 3 m to opening tail\n  measured 90 mm past edge"), 2);
        assert_eq!(tapes(&format!("{UNKNOWN}{ALL}"), "  measured 3 m to opening tail"), 1);
        assert_eq!(tapes(&format!("{UNKNOWN}{ALL}"), "  run 700 mm\n  ends facing left"), 0);
    }

    /// What a tape says is no part of what is usual: it holds for one walk.
    #[test]
    fn a_tape_is_never_usual() {
        let text =
            compose("trialfit 1\nfollows \"bench-sheets.trialfit\"\n\nusual exhaust\n  measured 1 m to combustion-air");
        assert!(said_of(&text).contains(&"usual-says-place".to_string()), "{:?}", said_of(&text));
    }
}

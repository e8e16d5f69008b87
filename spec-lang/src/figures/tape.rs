//! Distances that somebody took by tape: each brought to the pair of things it lies between, and laid beside what the walked
//! routes give for the same pair. What a distance ought to be is not in here.
//!
//! A tape and a route that disagree are kept with both figures, and the smaller of the two counts.

use super::Figures;
use super::clearances::{Target, open_end};
use crate::model::{Datum, Interval, Job, Landmark, Run, Taped};
use crate::physics::geometry::{AlignedBox, point_to_box};
use crate::source::Place;
use crate::vocabulary::Kind;
use std::collections::HashMap;

/// What tape and route may differ by without a word, beyond every stated tolerance: a run is measured by hand. The same as a
/// walk may be off at a stated place. Common practice, no source.
pub const SLACK: f64 = 0.06;

/// One distance of an exhaust that was taken by tape, whichever of the two blocks says it. All lengths in metres.
#[derive(Clone, Debug, PartialEq)]
pub struct TapedGap {
    /// The exhaust: the run's number.
    pub exhaust: usize,
    /// What it leads to.
    pub target: Target,
    /// The line.
    pub taped: Taped,
}

/// A tape and something else that should say the same, and do not.
#[derive(Clone, Debug, PartialEq)]
pub struct Differing {
    /// The run whose block has the line.
    pub run: usize,
    /// What it leads to, by kind and name; `None` for the edge of the vehicle.
    pub to: Option<String>,
    /// What the tape gives.
    pub taped: Interval,
    /// What the other gives.
    pub other: Interval,
    /// The line that gives the other: one of a walked route, or a tape's.
    pub other_line: Place,
    /// Whether that is a tape's.
    pub both_taped: bool,
    /// Whether the tape starts at the open end and the other where the pipe comes nearest, which cannot be farther.
    pub end_nearer_than_pipe: bool,
    /// The line.
    pub place: Place,
}

/// The distance of an intake's open end from something to keep clear of.
#[derive(Clone, Debug, PartialEq)]
pub struct IntakeGap {
    /// The combustion air: the run's number.
    pub air: usize,
    /// The thing: the run's number.
    pub thing: usize,
    /// The distance that counts.
    pub distance: Interval,
    /// The line of the tape, where that counts.
    pub tape: Option<Place>,
}

/// Every distance of an exhaust that was taken by tape, exhaust by exhaust.
pub(super) fn taped_gaps(job: &Job) -> Vec<TapedGap> {
    let mut out = Vec::new();
    for (number, run) in job.runs.iter().enumerate() {
        for taped in &run.said.measured {
            let gap = |exhaust: usize, target: Target| TapedGap { exhaust, target, taped: taped.clone() };
            match (run.kind, taped.to) {
                (Kind::Exhaust, Some(to)) => out.extend(target_of(job, to).map(|target| gap(number, target))),
                (Kind::CombustionAir, Some(Landmark::Run(other))) if is(job, other, Kind::Exhaust) => {
                    out.push(gap(other, Target::CombustionAir(number)));
                }
                (Kind::ReturnAir, Some(Landmark::Run(other))) if is(job, other, Kind::Exhaust) => {
                    out.push(gap(other, Target::ReturnAir(number)));
                }
                _ => {}
            }
        }
    }
    out.sort_by_key(|gap| gap.exhaust);
    out
}

fn is(job: &Job, run: usize, kind: Kind) -> bool {
    job.runs.get(run).is_some_and(|run| run.kind == kind)
}

fn target_of(job: &Job, to: Landmark) -> Option<Target> {
    Some(match to {
        Landmark::Edge => Target::Edge,
        Landmark::Datum(_) => return None,
        Landmark::Opening(number) => Target::Opening(number),
        Landmark::Tank(number) => Target::Tank(number),
        Landmark::Run(number) => match job.runs.get(number)?.kind {
            Kind::CombustionAir => Target::CombustionAir(number),
            Kind::ReturnAir => Target::ReturnAir(number),
            Kind::FuelLine => Target::FuelLine(number),
            Kind::KeepClear => Target::KeepClear(number),
            Kind::Cable => Target::Cable(number),
            _ => return None,
        },
    })
}

/// Whether two distances cannot be one, each anywhere within its doubt and the slack of a tape between them.
pub(super) fn disagree(one: Interval, other: Interval) -> bool {
    let apart = (one.low - other.high).max(other.low - one.high);
    apart > SLACK + 1e-9
}

/// The distances of each intake from what it must be kept clear of: as walked, by tape, or the smaller of both.
pub(super) fn intakes(job: &Job, figures: &mut Figures) {
    for (air, run) in job.runs.iter().enumerate().filter(|(_, run)| run.kind == Kind::CombustionAir) {
        let mut gaps: Vec<IntakeGap> = Vec::new();
        let mut to: HashMap<usize, usize> = HashMap::new();
        for (thing, other) in job.runs.iter().enumerate().filter(|(_, other)| other.kind == Kind::KeepClear) {
            if let Some(distance) = walked(job, run, other) {
                to.insert(thing, gaps.len());
                gaps.push(IntakeGap { air, thing, distance, tape: None });
            }
        }
        for taped in &run.said.measured {
            let Some(Landmark::Run(thing)) = taped.to.filter(|_| taped.kind == Some(Kind::KeepClear)) else { continue };
            let Some(known) = to.get(&thing).and_then(|at| gaps.get_mut(*at)) else {
                to.insert(thing, gaps.len());
                gaps.push(IntakeGap { air, thing, distance: taped.distance, tape: Some(taped.place) });
                continue;
            };
            if disagree(taped.distance, known.distance) {
                figures.differing.push(Differing {
                    run: air,
                    to: job.runs.get(thing).map(|thing| job.reads(thing)),
                    taped: taped.distance,
                    other: known.distance,
                    other_line: known.tape.or(run.end.as_ref().map(|end| end.written)).unwrap_or(run.header),
                    both_taped: known.tape.is_some(),
                    end_nearer_than_pipe: false,
                    place: taped.place,
                });
            }
            if taped.distance.low < known.distance.low {
                *known = IntakeGap { air, thing, distance: taped.distance, tape: Some(taped.place) };
            }
        }
        figures.intakes.extend(gaps);
    }
}

/// How high the open end of an exhaust or a combustion-air hose is above a level. All lengths in metres.
#[derive(Clone, Debug, PartialEq)]
pub struct EndHeight {
    /// The run's number.
    pub run: usize,
    /// The level.
    pub over: Datum,
    /// The height that counts.
    pub height: Interval,
    /// Where it is said: the line of the tape where that counts, else that which ends the route.
    pub place: Place,
}

impl Figures {
    /// The height of a run's open end above a level, where the job tells it.
    pub fn end_height(&self, run: usize, over: Datum) -> Option<&EndHeight> {
        let at = self.heights.binary_search_by_key(&(run, over), |it| (it.run, it.over)).ok()?;
        self.heights.get(at)
    }
}

/// The heights of open ends: as walked, by tape, or the smaller of both.
pub(super) fn heights(job: &Job, figures: &mut Figures) {
    let ends = |run: &Run| matches!(run.kind, Kind::Exhaust | Kind::CombustionAir);
    for (number, run) in job.runs.iter().enumerate().filter(|(_, run)| ends(run)) {
        let end_line = run.end.as_ref().map_or(run.header, |end| end.written);
        let walked = open_end(run).filter(|_| run.body.is_none());
        let walked = walked.map(|end| Interval::around(end.point.z, end.doubt.z));
        for over in [Datum::Ground, Datum::Waterline] {
            let walked = walked.and_then(|height| match over {
                Datum::Ground => job.above_ground(height),
                Datum::Waterline => job.above_water(height),
            });
            let mut known = walked.map(|height| (height, end_line, false));
            let taped = run.said.measured.iter().filter(|taped| taped.to == Some(Landmark::Datum(over)));
            for tape in taped {
                if let Some((height, line, both_taped)) = known.filter(|(height, ..)| disagree(tape.distance, *height))
                {
                    figures.differing.push(Differing {
                        run: number,
                        to: Some(if over == Datum::Ground { "the ground" } else { "the waterline" }.to_string()),
                        taped: tape.distance,
                        other: height,
                        other_line: line,
                        both_taped,
                        end_nearer_than_pipe: false,
                        place: tape.place,
                    });
                }
                if known.is_none_or(|(height, ..)| tape.distance.low < height.low) {
                    known = Some((tape.distance, tape.place, true));
                }
            }
            figures.heights.extend(known.map(|(height, place, _)| EndHeight { run: number, over, height, place }));
        }
    }
}

/// An intake's distance from the box that a thing spans, or its place, by where both are.
fn walked(job: &Job, air: &Run, thing: &Run) -> Option<Interval> {
    let inlet = open_end(air).filter(|_| air.body == thing.body)?;
    let corner = thing.walk.start?;
    let (way, _) = job.axes.way(&thing.said.spans);
    let area = AlignedBox::spanning(corner.point, corner.point.moved(way));
    let nominal = point_to_box(inlet.point, area).distance.in_metres();
    Some(Interval::around(nominal, inlet.reach() + corner.reach()))
}

#[cfg(test)]
mod tests {
    use super::super::clearances::{Clearance, target_reads};
    use super::*;
    use crate::bench::judge_example;

    const EXHAUST: &str = "exhaust of reader\n  pipe steel, 24 mm bore, 28 mm outside\n  passage floor, sealed\n";
    /// The bench's own way: its end is 40 mm past the edge, its intake 983 mm and the door 2050 mm from there.
    const WALKED: &str = "  down 140 mm\n  right 690 mm, down 30 mm\n  ends facing right\n";
    const UNKNOWN: &str = "  run 830 mm, down 170 mm\n  ends facing right\n";

    fn clearances(example: &str) -> (Vec<(String, Clearance)>, Vec<Differing>) {
        let analysis = judge_example(example);
        let clearances = analysis.figures.clearances.iter();
        let read = clearances.map(|clearance| (target_reads(&analysis.job, clearance.target), *clearance)).collect();
        (read, analysis.figures.differing.clone())
    }

    fn of(found: &[(String, Clearance)], name: &str) -> Clearance {
        let known: Vec<&str> = found.iter().map(|(name, _)| name.as_str()).collect();
        found.iter().find(|(reads, _)| reads == name).unwrap_or_else(|| panic!("{name} among {known:?}")).1
    }

    #[test]
    fn a_tape_alone_is_a_distance() {
        let (found, differing) = clearances(&format!(
            "{EXHAUST}{UNKNOWN}  measured 620 mm ± 20 mm to combustion-air\n  measured 25 mm inside edge\n  \
             measured 900 mm to opening side-door, aside 300 mm\n  measured 180 mm from pipe to keep-clear brake-pipe"
        ));
        let air = of(&found, "combustion-air of reader");
        assert_eq!((air.nominal, air.worst, air.between), (0.62, 0.6, None));
        assert_eq!(of(&found, "the edge of the vehicle").worst, -0.025);
        assert_eq!(of(&found, "opening side-door").worst, 0.9);
        assert_eq!(of(&found, "keep-clear brake-pipe").worst, 0.18);
        assert!(found.iter().all(|(_, clearance)| clearance.tape.is_some()), "{found:?}");
        assert!(differing.is_empty(), "{differing:?}");
    }

    /// The distance of a pair may stand in either of its two blocks.
    #[test]
    fn the_other_block_may_say_it() {
        let (found, _) = clearances(&format!(
            "{EXHAUST}{UNKNOWN}\ncombustion-air of reader\n  hose intake-25\n  passage floor, sealed\n  run 600 mm\n  \
             ends facing down\n  measured 620 mm to exhaust\n\nreturn-air of reader\n  duct air-90\n  run 900 mm\n  \
             ends facing right\n  measured 1.4 m to exhaust of reader"
        ));
        assert_eq!(of(&found, "combustion-air of reader").worst, 0.62);
        assert_eq!(of(&found, "return-air of reader").worst, 1.4);
    }

    /// Slack is 60 mm beyond every stated tolerance: 983 mm as walked.
    #[test]
    fn the_smaller_counts_and_what_differs_is_kept() {
        let laid = |tape: &str| clearances(&format!("{EXHAUST}{WALKED}  measured {tape} to combustion-air"));
        for (tape, worst, differs) in [
            ("980 mm", 0.98, false),
            ("1030 mm", 0.9831, false),
            ("930 mm", 0.93, false),
            ("920 mm", 0.92, true),
            ("1050 mm", 0.9831, true),
            ("1100 mm ± 80 mm", 0.9831, false),
            ("850 mm ± 80 mm", 0.77, false),
        ] {
            let (found, differing) = laid(tape);
            let counts = of(&found, "combustion-air of reader").worst;
            assert!((counts - worst).abs() < 1e-3, "{tape}: {counts}");
            assert_eq!(differing.len(), usize::from(differs), "{tape}: {differing:?}");
            let of_pair = found.iter().filter(|(name, _)| name == "combustion-air of reader").count();
            assert_eq!(of_pair, 1, "{tape}: one distance of a pair");
        }
    }

    /// The end is a part of the pipe: a pipe may pass nearer than its end, and never less near.
    #[test]
    fn an_end_bounds_its_pipe() {
        let laid = |tapes: &str| clearances(&format!("{EXHAUST}{UNKNOWN}{tapes}"));
        let to = "to keep-clear brake-pipe";
        let (found, differing) = laid(&format!("  measured 300 mm {to}\n  measured 180 mm from pipe {to}"));
        assert!(differing.is_empty(), "{differing:?}");
        assert_eq!(found.iter().map(|(_, clearance)| clearance.worst).fold(f64::INFINITY, f64::min), 0.18);
        let (_, differing) = laid(&format!("  measured 100 mm {to}\n  measured 180 mm from pipe {to}"));
        assert!(matches!(differing.as_slice(), [it] if it.end_nearer_than_pipe), "{differing:?}");
    }

    #[test]
    fn cover_is_what_the_line_says_or_what_lies_all_along() {
        let covered = |way: &str, tape: &str| {
            let (found, _) =
                clearances(&format!("{EXHAUST}{way}  measured 60 mm from pipe to keep-clear brake-pipe{tape}"));
            of(&found, "keep-clear brake-pipe").covered
        };
        assert!(!covered(UNKNOWN, ""));
        assert!(covered(UNKNOWN, ", covered"));
        assert!(covered(&format!("  lagged 10 mm\n{UNKNOWN}"), ""));
        assert!(!covered(&format!("  run 100 mm\n  lagged 10 mm\n{UNKNOWN}"), ""));
        assert!(!covered(&format!("  lagged 10 mm\n  run 100 mm\n  bare\n{UNKNOWN}"), ""));
    }

    #[test]
    fn an_intake_is_measured_to_a_tyre() {
        let tyre = "\n\nkeep-clear wheel\n  kind tyre";
        let air = "combustion-air of reader\n  hose intake-25\n  passage floor, sealed\n";
        let at = "\n  at back 1600 mm, right 640 mm, up 450 mm\n  spans back 100 mm, right 300 mm, down 400 mm";
        let gaps = |example: String| judge_example(&example).figures.intakes.clone();
        let of_wheel = |gaps: Vec<IntakeGap>| {
            gaps.into_iter().min_by(|one, other| one.distance.low.total_cmp(&other.distance.low))
        };
        let tape = of_wheel(gaps(format!(
            "{air}  run 600 mm\n  ends facing down\n  measured 250 mm to keep-clear wheel{tyre}"
        )));
        assert_eq!(tape.map(|gap| gap.distance.low), Some(0.25));
        let walked = "  run 600 mm\n  at back 1400 mm, right 640 mm, up 450 mm\n  ends facing down\n";
        let both = format!("{air}{walked}  measured 500 mm to keep-clear wheel{tyre}{at}");
        let analysis = judge_example(&both);
        assert_eq!(analysis.figures.differing.len(), 1);
        assert!(of_wheel(gaps(both)).is_some_and(|gap| (gap.distance.low - 0.2).abs() < 1e-9 && gap.tape.is_none()));
    }
}

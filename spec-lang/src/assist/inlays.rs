//! What follows from a line, shown behind it: length and bends of a run, where it ends, the voltage left, an outlet's
//! share, hours on a tank. Figures are looked for by name; one that is not computed is not shown.

use crate::Analysis;
use crate::blanks::{Blank, Outcome, blanks};
use crate::figures::ways::length_unit;
use crate::model::{Met, Run, Spot, unit_or};
use crate::physics::geometry::{Point, Vector};
use crate::source::Place;
use crate::text::Span;
use crate::units::Angle;
use crate::vocabulary::Kind;
use std::collections::HashMap;

/// A short text behind a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Inlay {
    /// The byte that it stands behind.
    pub at: u32,
    /// What to show.
    pub label: String,
    /// What that is.
    pub says: String,
}

/// What is shown within bytes of the file, in order.
pub fn inlays(analysis: &Analysis, within: Span) -> Vec<Inlay> {
    let job = &analysis.job;
    let mut out = Vec::new();
    // A kit's lines are not in this file, and one fit has many of them: what follows from those is not shown here.
    let mut show = |place: Place, label: String, says: &str| {
        if job.lent(place).is_some() {
            return;
        }
        let place = job.real(place);
        if place.file == analysis.file && within.touches(place.span.end) && !label.is_empty() {
            out.push(Inlay { at: place.span.end, label, says: says.to_string() });
        }
    };
    let mut lowest: HashMap<Place, f64> = HashMap::new();
    for figure in analysis.shown().list.iter().filter(|figure| figure.name == "voltage_left") {
        let value = lowest.entry(figure.subject).or_insert(figure.value);
        *value = value.min(figure.value);
    }
    for run in &job.runs {
        show(run.header, length_and_bends(run), "length from corner to corner, and the sum of the bends");
        if let Some(left) = lowest.get(&job.shown(run.header)).filter(|_| run.kind == Kind::Cable) {
            let label = format!("{} left at worst", unit_or(None, "V").show(*left));
            show(run.header, label, "the lowest voltage at the heater, over all its stages and cases");
        }
        if let (Some(end), Some(place)) = (run.walk.end, end_of(run)) {
            show(place, format!("at {}", in_words(run, end)), "where the run ends, from the vehicle's origin");
        }
    }
    for figure in analysis.shown().list.iter() {
        if figure.name == "hours_on_tank" {
            show(figure.subject, figure.shown(), &figure.title);
        }
        // A share is a figure of its outlet's own line.
        if figure.name == "outlet_share" {
            show(figure.subject, figure.shown(), &figure.title);
        }
    }
    out.sort_by_key(|inlay| inlay.at);
    out.dedup();
    out
}

/// What the blanks within bytes of the file can be filled with. Only where there is one is anything tried at all.
pub fn blank_inlays(analysis: &Analysis, within: Span) -> Vec<Inlay> {
    let seen = |blank: &Blank| within.touches(blank.span.end);
    if !analysis.reading(analysis.file).is_some_and(|reading| blanks(reading).iter().any(seen)) {
        return Vec::new();
    }
    let answers = analysis.filled().answers.iter().filter(|answer| seen(&answer.blank));
    let shown = answers.filter_map(|answer| {
        let label = match &answer.outcome {
            Outcome::Filled(filled) => format!("= {}", filled.text),
            Outcome::Insoluble(_) => "no choice passes".to_string(),
            Outcome::Open(_) => return None,
        };
        Some(Inlay { at: answer.blank.span.end, label, says: answer.says() })
    });
    shown.collect()
}

fn length_and_bends(run: &Run) -> String {
    let Some(length) = run.walk.length.filter(|_| !run.walk.stretches.is_empty()) else { return String::new() };
    let unit = length_unit(unit_or(run.walk.unit, "m"), length.high);
    let doubt = if length.half_width() > 0.0 {
        format!(" ± {}", unit.show_difference(length.half_width()))
    } else {
        String::new()
    };
    let bends = run.walk.bends.map(|bends| Angle::radians(bends.nominal).in_degrees()).filter(|bends| *bends >= 0.5);
    let bends = bends.map_or(String::new(), |bends| format!(", bends {bends:.0}°"));
    format!("{}{doubt}{bends}", unit.show(length.nominal))
}

/// The statement that ends a run: its `ends`, else its last outlet.
fn end_of(run: &Run) -> Option<Place> {
    let last = run.steps.last().filter(|step| matches!(step.met, Met::Outlet(_)));
    run.end.as_ref().map(|end| end.written).or(last.map(|step| step.place))
}

/// A place of a run in words, in its author's unit: `forward 1.2 m, left 300 mm`.
pub fn in_words(run: &Run, spot: Spot) -> String {
    let Point { x, y, z } = spot.point;
    let parts: Vec<String> = legs_of(run, Vector { x, y, z }).into_iter().map(|(_, leg)| leg).collect();
    if parts.is_empty() {
        return "the origin".to_string();
    }
    parts.join(", ")
}

/// A way as legs along the axes, each with its length in metres, in the unit that the run's author measured in.
pub(super) fn legs_of(run: &Run, way: Vector) -> Vec<(f64, String)> {
    let leg = |value: f64, towards: &str, away: &str| {
        let unit = length_unit(unit_or(run.walk.unit, "mm"), value);
        let towards = if value > 0.0 { towards } else { away };
        (value.abs() >= 0.000_5).then(|| (value.abs(), format!("{towards} {}", unit.show(value.abs()))))
    };
    [leg(way.x, "forward", "back"), leg(way.y, "left", "right"), leg(way.z, "up", "down")]
        .into_iter()
        .flatten()
        .collect()
}

/// The margins of a run, to be shown above its header.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Margins {
    /// The run's header.
    pub header: Span,
    /// Its margins, each with its limit: `length 1.5 m of at most 2 m`.
    pub text: String,
}

/// The margins of each run of the file that has limits.
pub fn margins(analysis: &Analysis) -> Vec<Margins> {
    let job = &analysis.job;
    let mut by_run: HashMap<usize, Vec<String>> = HashMap::new();
    for way in &analysis.figures.ways {
        let parts = by_run.entry(way.run).or_default();
        let unit = length_unit(way.unit, way.length.high);
        if let Some(longest) = &way.longest {
            let of = way.outlet.as_ref().map_or(String::new(), |(outlet, _)| format!(" to {outlet}"));
            parts.push(format!("length{of} {} of at most {}", unit.show(way.length.high), longest.shown()));
        }
        if let (Some(bends), Some(most)) = (way.bends, &way.most_bends) {
            parts.push(format!("bends {} of at most {}", most.unit.show(bends.high), most.shown()));
        }
    }
    for supply in &analysis.figures.supplies {
        let lowest = supply.left.iter().map(|left| left.voltage).min_by(f64::total_cmp);
        if let (Some(left), Some(limit)) = (lowest, &supply.lowest) {
            let limit = &limit.value;
            let text = format!("{} left at worst, at least {}", limit.unit.show(left), limit.unit.show(limit.low));
            by_run.entry(supply.run).or_default().push(text);
        }
    }
    let runs = job.runs.iter().enumerate().filter(|(_, run)| job.own(run.header) && job.lent(run.header).is_none());
    let margins = runs.filter_map(|(number, run)| {
        let parts = by_run.get(&number).filter(|parts| !parts.is_empty())?;
        Some(Margins { header: job.real(run.header).span, text: parts.join(" · ") })
    });
    margins.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Reading;
    use crate::rules::BENCH;
    use crate::source::{FileId, NoFiles};
    use std::sync::Arc;

    #[test]
    fn what_follows_from_a_run_is_what_its_legs_add_up_to() {
        let analysis = crate::analyse(FileId(0), Arc::new(Reading::new(Arc::from(BENCH))), &NoFiles, None);
        let all = inlays(&analysis, Span::new(0, BENCH.len()));
        let behind = |part: &str| -> Vec<&str> {
            let at = BENCH.find(part).unwrap() + part.len();
            all.iter().filter(|it| it.at as usize == at).map(|it| it.label.as_str()).collect()
        };
        // 2500 mm in one straight leg from back 1000 mm.
        assert_eq!(behind("keep-clear brake-pipe"), ["2.5 m"]);
        assert_eq!(behind("back          2500 mm\n  ends          here"), ["at back 3.5 m, left 700 mm, up 400 mm"]);
        // 150 + 650 + 910 + 30 mm; a corner of 90° between back and right, one between right and up.
        assert_eq!(behind("cable supply of reader"), ["1.74 m, bends 180°"]);
        let some = inlays(&analysis, Span::point(u32::try_from(BENCH.find("keep-clear").unwrap()).unwrap()));
        assert!(some.is_empty(), "nothing is shown outside the bytes asked for");
        assert!(all.windows(2).all(|pair| pair[0].at <= pair[1].at));
    }

    #[test]
    fn each_outlet_shows_its_own_share_and_all_of_them_are_the_whole() {
        let analysis = crate::bench::judge_example(
            "warm-air main of reader\n  duct          air-90\n  forward       500 mm\n  tee           feet, 45°\n  \
             forward       400 mm\n  outlet        head, facing left, in cabin\n\nwarm-air feet of reader\n  \
             from          main.feet\n  duct          60 mm\n  left          2 m\n  \
             outlet        foot-end, facing left, in cabin",
        );
        let text = &analysis.readings()[0].1.tree.text;
        let all = inlays(&analysis, Span::new(0, text.len()));
        let share = |outlet: &str| -> f64 {
            let line = text.find(&format!("outlet        {outlet}")).unwrap();
            let end = line + text[line..].find('\n').unwrap_or(text.len() - line);
            let behind: Vec<&Inlay> =
                all.iter().filter(|it| it.at as usize == end && it.label.ends_with('%')).collect();
            assert_eq!(behind.len(), 1, "{outlet}: {behind:?}");
            assert!(behind[0].says.contains(outlet), "{}", behind[0].says);
            behind[0].label.trim_end_matches(['%', ' ']).parse().unwrap()
        };
        let (head, foot) = (share("head"), share("foot-end"));
        // Continuity: what one does not get, the other gets; the wide short way gets more.
        assert!((head + foot - 100.0).abs() < 0.2 && head > foot, "{head} and {foot}");
    }

    #[test]
    fn margins_name_the_limit_that_they_keep() {
        let analysis = crate::analyse(FileId(0), Arc::new(Reading::new(Arc::from(BENCH))), &NoFiles, None);
        // Without its sheet the exhaust is held to nothing that is known; a heater without any sheet to common practice.
        assert!(margins(&analysis).iter().all(|it| !it.text.contains("unlimited")));
        let text = BENCH.replace("  datasheet     air-2\n", "");
        let analysis = crate::analyse(FileId(0), Arc::new(Reading::new(Arc::from(text.as_str()))), &NoFiles, None);
        let exhaust = text.find("exhaust of reader").unwrap();
        let all = margins(&analysis);
        let found = all.iter().find(|it| it.header.start as usize == exhaust).expect("margins of the exhaust");
        assert!(found.text.contains("of at most 2 m") && found.text.contains("of at most 270°"), "{}", found.text);
    }
}

//! A job's margins as text: how much is left between each figure and its limit, whose the limit is, and which stated doubt
//! eats most of it.

use super::{CAUTION, Locator, one_line, wrap};
use crate::analysis::Analysis;
use crate::doubts::Eaten;
use crate::rules::{Judged, Stand};
use crate::units::rounded;

/// Whether a margin is to be shown where only those below a share are asked for.
pub fn under(judged: &Judged, share: Option<f64>) -> bool {
    share.is_none_or(|share| judged.margin() < share)
}

/// A share in per cent, to a tenth.
pub(super) fn percent(share: f64) -> String {
    if share == f64::NEG_INFINITY {
        return "none".to_string();
    }
    let tenths = (share * 1000.0).round() / 10.0;
    if tenths.abs() < 100.0 { format!("{tenths:.1} %") } else { format!("{} %", rounded(tenths)) }
}

/// The margins of a job, called `name`, the tightest first.
pub fn margins_text(
    analysis: &Analysis,
    eaten: &[Option<Eaten>],
    wanted: &dyn Fn(&Judged) -> bool,
    name: &str,
    width: usize,
) -> String {
    let mut out = format!("margins of {name}\n");
    let mut locator = Locator::new(analysis);
    let mut shown = 0usize;
    for (judged, eaten) in analysis.margins().iter().zip(eaten).filter(|(judged, _)| wanted(judged)) {
        shown += 1;
        let broken = match judged.stand {
            Stand::Keeps => "",
            Stand::ByDoubt => ", broken at the worst end of the doubt",
            Stand::Breaks => ", broken",
        };
        let head = format!("{:>8}  ", percent(judged.margin()));
        let figure = judged.show(judged.worst());
        let limit = judged.show(judged.limit);
        let words = format!("{}: {figure}, {} {limit}{broken} ({})", judged.what, judged.bound.words(), judged.whose);
        out.push_str(&format!("\n{}\n", wrap(&words, width, &head, "          ")));
        let line = locator.start(judged.place).line;
        let place = analysis.reading(judged.place.file).map_or("", |reading| reading.slice(judged.place.span));
        let place = one_line(place.lines().next().unwrap_or("")).to_string();
        out.push_str(&wrap(
            &format!("line {line}, `{place}`, rule `{}`", judged.rule.name),
            width,
            "          ",
            "          ",
        ));
        out.push('\n');
        if let Some(eaten) = eaten {
            let written = analysis.reading(eaten.place.file).map_or("", |reading| reading.slice(eaten.place.span));
            let words = format!(
                "`{}` in line {} takes {} of it, and {} of what all doubts take together",
                one_line(written),
                locator.start(eaten.place).line,
                percent(eaten.takes),
                percent(eaten.share)
            );
            out.push_str(&wrap(&words, width, "          ", "          "));
            out.push('\n');
        }
    }
    if shown == 0 {
        out.push_str("\nno margins to show\n");
    }
    out.push('\n');
    let caution = format!(
        "a margin is what is left between the worst end of every stated doubt and the limit, as a share of the limit \
         (for a temperature, of 100 K). {CAUTION}"
    );
    out.push_str(&wrap(&caution, width, "", ""));
    out.push('\n');
    out
}

//! A job's figures as text: by chapter, each with its working step by step, and what was not computed and why.

use super::{CAUTION, Locator, one_line, wrap};
use crate::analysis::Analysis;
use crate::figures::{Figure, Section};
use crate::model::Link;
use crate::source::Place;

const SECTIONS: [Section; 8] = [
    Section::Geometry,
    Section::Electrical,
    Section::Fuel,
    Section::Exhaust,
    Section::Air,
    Section::Coolant,
    Section::Heat,
    Section::Night,
];

/// The figures of a job, called `name`.
pub fn figures_text(analysis: &Analysis, name: &str, width: usize) -> String {
    let mut out = format!("figures of {name}\n");
    let mut locator = Locator::new(analysis);
    let figures = analysis.shown();
    for section in SECTIONS {
        let list: Vec<_> = figures.list.iter().filter(|figure| figure.section == section).collect();
        let missing: Vec<_> = figures.missing.iter().filter(|missing| missing.section == section).collect();
        if list.is_empty() && missing.is_empty() {
            continue;
        }
        out.push_str(&format!("\n{}\n", section.title()));
        for figure in list {
            let case = if figure.case.is_empty() { String::new() } else { format!(", {}", figure.case) };
            let head = format!("{}{case}: {}", one_line(&figure.title), figure.shown());
            out.push_str(&format!("\n{}\n", wrap(&head, width, "  ", "    ")));
            out.push_str(&wrap(&about(analysis, &mut locator, figure.subject), width, "    ", "      "));
            out.push('\n');
            for lent in lent(analysis, &mut locator, figure) {
                out.push_str(&wrap(&lent, width, "    ", "      "));
                out.push('\n');
            }
            for (number, step) in figure.working.iter().enumerate() {
                let count = format!("    {}. ", number + 1);
                let rest = " ".repeat(count.len());
                out.push_str(&wrap(step.what, width, &count, &rest));
                out.push('\n');
                out.push_str(&wrap(&step.line(), width, &rest, &format!("{rest}  ")));
                out.push('\n');
                if !step.source.is_empty() {
                    out.push_str(&wrap(step.source, width, &format!("{rest}source: "), &format!("{rest}  ")));
                    out.push('\n');
                }
            }
        }
        if !missing.is_empty() {
            out.push_str("\n  not computed\n");
        }
        for left in missing {
            let words = format!("{}, because {}", one_line(&left.title), one_line(&left.because));
            out.push_str(&wrap(&words, width, "    ", "      "));
            out.push('\n');
            out.push_str(&wrap(&about(analysis, &mut locator, left.subject), width, "      ", "        "));
            out.push('\n');
        }
    }
    if figures.list.is_empty() && figures.missing.is_empty() {
        out.push_str("\nno figures: nothing in this file can be computed\n");
    }
    out.push('\n');
    let caution = format!("each figure stands at the worst end of every stated doubt. {CAUTION}");
    out.push_str(&wrap(&caution, width, "", ""));
    out.push('\n');
    out
}

/// The lines of other layers that a figure rests on: `from kit bunk-24, line 40, size 4 mm²`.
fn lent(analysis: &Analysis, locator: &mut Locator<'_>, figure: &Figure) -> Vec<String> {
    let links = layers_of(analysis, figure);
    links.iter().map(|link| format!("from {}, {}", link.layer, about(analysis, locator, link.place))).collect()
}

/// The layers that lend what a figure rests on, each line once, in the order of the files.
pub(super) fn layers_of(analysis: &Analysis, figure: &Figure) -> Vec<Link> {
    let mut links: Vec<Link> = figure.rests_on.iter().filter_map(|place| analysis.job.lender(*place)).collect();
    links.sort_by_key(|link| link.place);
    links.dedup();
    links
}

/// `line 12, cable supply of reader`.
fn about(analysis: &Analysis, locator: &mut Locator<'_>, subject: Place) -> String {
    let line = locator.start(subject).line;
    let words = analysis.reading(subject.file).map_or("", |reading| reading.slice(subject.span));
    format!("line {line}, `{}`", one_line(words.lines().next().unwrap_or("")))
}

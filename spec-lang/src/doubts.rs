//! Which stated doubt eats most of each margin: the job is judged anew with each doubt of its own text taken out, and what
//! comes back is counted. Nothing is read but what the source hands over, and nothing is put into sentences.

use crate::reading::{Reading, Value};
use crate::rules::Judged;
use crate::source::{Place, Source};
use crate::text::{Edit, apply};
use crate::units::{Doubt, Quantity};
use crate::{Analysis, analyse};
use std::collections::HashMap;
use std::sync::Arc;

/// The doubt that eats most of a margin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Eaten {
    /// The quantity with its doubt, where it is written.
    pub place: Place,
    /// The margin that comes back without it, as [`Judged::margin`] counts: 0.05 is a twentieth of the limit.
    pub takes: f64,
    /// Its share of what all doubts of the job take from that margin, each taken out alone; from 0 to 1.
    pub share: f64,
}

/// Less than this of a margin is nothing.
const NOTHING: f64 = 1e-6;

/// For each of an analysis's margins, in their order, the doubt of the job's own text that eats most of it. A `±` is a doubt
/// wherever it stands; a `..` in a data sheet says what a thing can do, and one of heights what the job must bear.
///
/// It costs one analysis for each doubt.
pub fn eaten(analysis: &Analysis, source: &dyn Source) -> Vec<Option<Eaten>> {
    let margins = analysis.margins();
    let mut most: Vec<Option<Eaten>> = vec![None; margins.len()];
    let mut sums = vec![0.0; margins.len()];
    let Some(reading) = analysis.reading(analysis.file).cloned() else { return most };
    for (place, without) in doubts(analysis, &reading) {
        let edit = Edit { span: place.span, insert: without };
        let Some(text) = apply(&reading.tree.text, std::slice::from_ref(&edit)) else { continue };
        let anew = analyse(analysis.file, Arc::new(Reading::new(Arc::from(text))), source, analysis.day());
        let shift = |at: u32| {
            let behind = at >= edit.span.end;
            let moved = i64::from(at) - i64::from(edit.span.end) + i64::from(edit.span.start);
            let moved = moved + i64::try_from(edit.insert.len()).unwrap_or(0);
            if behind { u32::try_from(moved).unwrap_or(at) } else { at }
        };
        let of_file = |judged: &Judged| judged.place.file == analysis.file;
        let mut back: HashMap<_, Vec<f64>> = HashMap::new();
        for judged in anew.margins() {
            let key = (judged.rule.name, judged.what.as_str(), judged.place.file, judged.place.span.start);
            back.entry(key).or_default().push(judged.margin());
        }
        let mut met: HashMap<_, usize> = HashMap::new();
        for (number, judged) in margins.iter().enumerate() {
            let start = judged.place.span.start;
            let start = if of_file(judged) { shift(start) } else { start };
            let key = (judged.rule.name, judged.what.as_str(), judged.place.file, start);
            // Several of one name at one place are told apart by their order.
            let nth = met.entry(key).or_default();
            let then = back.get(&key).and_then(|all| all.get(*nth));
            *nth += 1;
            let takes = then.map_or(0.0, |then| then - judged.margin());
            if !(takes.is_finite() && takes > NOTHING) {
                continue;
            }
            if let Some(sum) = sums.get_mut(number) {
                *sum += takes;
            }
            if let Some(known) = most.get_mut(number)
                && known.is_none_or(|known| takes > known.takes)
            {
                *known = Some(Eaten { place, takes, share: 0.0 });
            }
        }
    }
    for (eaten, sum) in most.iter_mut().zip(sums) {
        if let Some(eaten) = eaten {
            eaten.share = eaten.takes / sum;
        }
    }
    most
}

/// Each doubt of the job's own text, with what stands there without it.
fn doubts(analysis: &Analysis, reading: &Reading) -> Vec<(Place, String)> {
    let mut found = Vec::new();
    for block in &reading.blocks {
        let sheet = block.kind.is_some_and(crate::vocabulary::Kind::is_sheet);
        for statement in reading.statements(block) {
            let demand = sheet || statement.word.is_some_and(|word| word.word == "altitude");
            for arg in reading.args(statement) {
                let Value::Quantity(quantity) = arg.value else { continue };
                let without = match quantity.doubt {
                    Doubt::Tolerance => as_meant(reading.slice(arg.span), quantity),
                    Doubt::Range if !demand => Some(number(quantity)),
                    _ => None,
                };
                let place = Place { file: analysis.file, span: arg.span };
                found.extend(without.map(|without| (place, without)));
            }
        }
    }
    found
}

/// `1.1 m` of `1.1 m ± 100 mm`.
fn as_meant(written: &str, quantity: Quantity) -> Option<String> {
    let (meant, _) = ["±", "+/-", "+-"].iter().find_map(|sign| written.split_once(sign))?;
    let meant = meant.trim_end();
    // One unit at the end may serve both numbers.
    let bare = meant.ends_with(|last: char| last.is_ascii_digit());
    Some(if bare { format!("{meant} {}", quantity.unit.spelling) } else { meant.to_string() })
}

/// The middle of a range in its author's unit.
fn number(quantity: Quantity) -> String {
    format!("{} {}", quantity.unit.from_si(quantity.nominal), quantity.unit.spelling)
}

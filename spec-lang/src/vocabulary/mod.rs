//! The words of the language: one table of block kinds and the properties each kind knows, with the shape of every
//! value. Checking, nearest-word messages, completion, documentation and the editors' word lists all read this table.
//! No text is read here and nothing is judged.

use crate::units::Dimension;
use std::borrow::Cow;

mod shape;
mod table;

pub use shape::{Atom, Direction, Form, Kind, KindSet, KindWords, Naming, Part, Role, Times, Word};
pub use table::{
    ANSWER, ASKED_SORTS, COLD_CLASSES, DESCRIBED, DIESEL_BLENDS, DIESEL_GRADES, KINDS, PASSED, PASSED_WITHIN, SURFACES,
    TUBE_MATERIALS,
};

/// Words that can never become names or properties of another meaning.
pub const RESERVED: &[&str] =
    &["of", "from", "to", "in", "at", "by", "on", "as", "the", "facing", "unknown", "here", "x"];

/// The direction words, in the vehicle's axes; `nearside` is the side next to the kerb.
pub const DIRECTIONS: &[&str] = &["forward", "back", "left", "right", "up", "down", "nearside", "offside"];

/// The newest edition of the language that this crate knows.
pub const EDITION: u32 = 1;

/// What is known of a kind.
pub fn words_of(kind: Kind) -> &'static KindWords {
    // `Kind` numbers the table's rows in order; a test holds the two together.
    KINDS.get(kind as usize).unwrap_or(&table::FILE)
}

/// The kind whose header word this is. A `datasheet` header is told apart by its second word.
pub fn kind_of_header(word: &str, second: Option<&str>) -> Option<Kind> {
    if word == "datasheet" {
        return KINDS
            .iter()
            .find(|entry| entry.header == word && Some(entry.sheet_of) == second)
            .map(|entry| entry.kind);
    }
    KINDS.iter().find(|entry| entry.header == word && !word.is_empty()).map(|entry| entry.kind)
}

/// Whether some kind's header starts with this word.
pub fn is_header_word(word: &str) -> bool {
    KINDS.iter().any(|entry| entry.header == word && !word.is_empty())
}

/// The property of that name, where the kind knows it.
pub fn property(kind: Kind, word: &str) -> Option<&'static Word> {
    words_of(kind).word(word)
}

/// The dimension of which a kit asks with this word.
pub fn asked_dimension(word: &str) -> Option<Dimension> {
    table::ASKED_DIMENSIONS.iter().find(|(known, _)| *known == word).map(|(_, dimension)| *dimension)
}

/// Whether a property says where something lies along a walk or in the vehicle, so that it cannot be usual for a kind.
pub fn says_a_place(kind: Kind, word: &str) -> bool {
    if kind.is_run() {
        !matches!(
            word,
            "pipe"
                | "hose"
                | "duct"
                | "line"
                | "size"
                | "lagged"
                | "bare"
                | "clips-every"
                | "harness"
                | "carries"
                | "return"
                | "insulation"
                | "bundled"
                | "ambient"
                | "kind"
                | "outside"
                | "rides-on"
                | "note"
        )
    } else {
        matches!(word, "at" | "spans" | "heads-at" | "sensor-at" | "second-body-at" | "second-body-spans")
    }
}

/// Whether a property belongs to the way of a walk, which a change replaces as a whole.
pub fn is_way(word: &str) -> bool {
    DIRECTIONS.contains(&word) || matches!(word, "run" | "bend" | "at" | "ends" | "draws")
}

/// What people call a thing, and the kind of block that says it here.
const CALLED: &[(&[&str], &str)] = &[
    (&["van", "truck", "lorry", "car", "bus", "boat", "machine", "trailer"], "vehicle"),
    (&["room", "cabin", "cab", "compartment", "bunk", "sleeper"], "space"),
    (&["wire", "wiring", "harness"], "cable"),
    (&["window", "door", "hatch", "vent"], "opening"),
    (&["intake", "air-intake"], "combustion-air"),
    (&["duct", "ducting", "outlet"], "warm-air"),
    (&["fuel", "fuel-pipe", "fuel-hose"], "fuel-line"),
    (&["fuel-tank"], "tank"),
    (&["sheet", "data-sheet"], "datasheet"),
    (&["detector"], "alarm"),
];

/// The kind of block that another word for the same thing most likely means.
pub fn meant_by(word: &str) -> Option<&'static str> {
    let word = word.to_lowercase();
    CALLED.iter().find(|(called, _)| called.contains(&word.as_str())).map(|(_, header)| *header)
}

/// The candidate that a misspelt word most likely meant: a whole beginning of it, or within a slip or two.
pub fn nearest<'a>(word: &str, candidates: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let length = word.chars().count();
    let allowed = match length {
        0..=2 => 0,
        3..=5 => 1,
        6..=9 => 2,
        _ => 3,
    };
    let lower = word.to_lowercase();
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let known = match candidate.contains(char::is_uppercase) {
            true => Cow::Owned(candidate.to_lowercase()),
            false => Cow::Borrowed(candidate),
        };
        let begins = length >= 3 && known.starts_with(&lower);
        let slips = if known == lower {
            0
        } else if begins {
            1
        } else if known.len().abs_diff(lower.len()) > 4 * allowed {
            // So many bytes apart, the letters are more slips apart than allowed.
            continue;
        } else {
            crate::units::slips_between(&lower, &known)
        };
        let bound = allowed.max(usize::from(begins));
        if slips <= bound && best.is_none_or(|(least, _)| slips < least) {
            best = Some((slips, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::{CALLED, KINDS};

    #[test]
    fn what_people_call_a_thing_leads_to_a_kind_that_there_is() {
        let is_kind = |word: &str| KINDS.iter().any(|entry| entry.header == word);
        for (called, header) in CALLED {
            assert!(is_kind(header), "{header}");
            assert!(!called.iter().any(|word| is_kind(word)), "{called:?}");
        }
    }
}

//! SVG as text: numbers that are numbers, text that cannot become markup, and the looks of lines. What is drawn is not
//! decided here.

use crate::report::one_line;
use crate::vocabulary::Kind;
use std::borrow::Cow;
use std::fmt::Write;

/// How a kind of run looks: never by its colour alone. Lengths in sheet units.
#[derive(Clone, Copy, Debug)]
pub(super) struct Look {
    /// Its class.
    pub(super) class: &'static str,
    /// Its colour on white; dark themes have another.
    pub(super) colour: &'static str,
    /// Its colour on black.
    pub(super) on_dark: &'static str,
    /// Width.
    pub(super) width: f64,
    /// Dashes; empty for a line without gaps.
    pub(super) dashes: &'static str,
    /// The width of a light core that makes two lines of one; zero for none.
    pub(super) core: f64,
}

/// The looks of runs. The colours keep apart for most colour-blind people (vermilion, blue, bluish green, orange, purple,
/// after Okabe and Ito, Color Universal Design, from memory), darkened to be read on paper.
const LOOKS: &[(Kind, Look)] = &[
    (Kind::Exhaust, look("exhaust", "#a33a00", "#ff9a62", 4.0, "", 0.0)),
    (Kind::CombustionAir, look("combustion-air", "#00619c", "#6fc2f2", 2.6, "11 4", 0.0)),
    (Kind::ReturnAir, look("return-air", "#00664d", "#4fd0aa", 5.0, "4 3", 2.6)),
    (Kind::WarmAir, look("warm-air", "#8a5a00", "#f0b84a", 6.0, "", 3.2)),
    (Kind::FuelLine, look("fuel-line", "#7b2d6b", "#e59bd2", 2.2, "10 3 2 3", 0.0)),
    (Kind::CoolantLine, look("coolant-line", "#1f5b66", "#7fcbd8", 2.8, "12 3 2 3 2 3", 0.0)),
    (Kind::Cable, look("cable", "#333333", "#d0d0d0", 1.3, "", 0.0)),
    (Kind::KeepClear, look("keep-clear", "#555555", "#b5b5b5", 5.0, "1.5 2.5", 0.0)),
];

const fn look(
    class: &'static str,
    colour: &'static str,
    on_dark: &'static str,
    width: f64,
    dashes: &'static str,
    core: f64,
) -> Look {
    Look { class, colour, on_dark, width, dashes, core }
}

/// How a run looks.
pub(super) fn look_of(kind: Kind) -> Look {
    let known = LOOKS.iter().find(|(known, _)| *known == kind);
    known.map_or(look("cable", "#333333", "#d0d0d0", 1.3, "", 0.0), |(_, look)| *look)
}

/// Ink, paper and other colours that are no run's: name, on white, on black.
const COLOURS: &[(&str, &str, &str)] = &[
    ("ink", INK, "#e4e4e4"),
    ("paper", PAPER, "#17191c"),
    ("faint", FAINT, "#9aa0a6"),
    ("error", "#b00020", "#ff8a8a"),
    ("warning", "#7a4b00", "#ffc266"),
    ("advice", "#00548f", "#85c5ff"),
    ("here", "#0a66c2", "#7cc0ff"),
];

/// The colour of words and bodies where no theme says another.
pub(super) const INK: &str = "#1c1c1c";
/// The colour of the sheet where no theme says another.
pub(super) const PAPER: &str = "#ffffff";
/// The colour of what must not push itself forward.
pub(super) const FAINT: &str = "#6a6a6a";

/// The style sheet: every colour is a variable that a page around the drawing may set. Programs that know no variables
/// take the colours that stand on the elements themselves.
pub(super) fn style() -> String {
    let mut out = String::new();
    let put = |out: &mut String, rule: &str, name: &str, usual: &str| {
        let _ = writeln!(out, "{rule}:var(--trialfit-{name},{usual})}}");
    };
    // A program that knows no variables passes over the whole block.
    out.push_str("@supports (color:var(--trialfit-ink)){\n");
    put(&mut out, ".trialfit{color", "ink", INK);
    for (name, usual, _) in COLOURS {
        put(&mut out, &format!(".stroke-{name}{{stroke"), name, usual);
        put(&mut out, &format!(".fill-{name}{{fill"), name, usual);
    }
    for (_, look) in LOOKS {
        put(&mut out, &format!(".{}{{stroke", look.class), look.class, look.colour);
        put(&mut out, &format!(".{} .solid{{fill", look.class), look.class, look.colour);
    }
    put(&mut out, ".here>.touch,.here.touch{stroke", "here", "#0a66c2");
    out.push_str("}\n.here>.touch,.here.touch{stroke-opacity:0.45}\n");
    // Not by colour alone.
    out.push_str(".here>text{text-decoration:underline;font-weight:bold}\n");
    let dark = COLOURS.iter().map(|(name, _, dark)| (*name, *dark));
    let dark: Vec<String> = dark
        .chain(LOOKS.iter().map(|(_, look)| (look.class, look.on_dark)))
        .map(|(name, colour)| format!("--trialfit-{name}:{colour}"))
        .collect();
    let dark = dark.join(";");
    // A page that is dark says so by a class; a file that is looked at by itself goes by what its reader prefers.
    let _ = writeln!(out, ".trialfit-dark{{{dark}}}");
    let _ = writeln!(out, "@media screen and (prefers-color-scheme:dark){{svg:root{{{dark}}}}}");
    out
}

/// A number on the sheet: two decimals, never `-0`, never anything but a number.
pub(super) fn number(value: f64) -> String {
    let value = if value.is_finite() { (value * 100.0).round() / 100.0 } else { 0.0 };
    let value = if value == 0.0 { 0.0 } else { value };
    format!("{value}")
}

/// Text as it may stand in XML: on one line, without the letters that XML 1.0 knows not.
pub(super) fn text(raw: &str) -> String {
    let clean: Cow<'_, str> = one_line(raw);
    let mut out = String::with_capacity(clean.len());
    for letter in clean.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            letter => out.push(letter),
        }
    }
    out
}

/// A text of at most so many letters.
pub(super) fn shortened(raw: &str, most: usize) -> Cow<'_, str> {
    match raw.char_indices().nth(most) {
        None => Cow::Borrowed(raw),
        Some(_) => Cow::Owned(raw.chars().take(most.saturating_sub(1)).chain(['…']).collect()),
    }
}

/// How wide a text is about, set in letters of a size: a little more than sans-serif letters take on average.
pub(super) fn width_of(raw: &str, size: f64) -> f64 {
    raw.chars().map(|letter| if "ijlt.,:;|'`!()[] ".contains(letter) { 0.36 } else { 0.6 }).sum::<f64>() * size
}

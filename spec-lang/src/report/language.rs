//! The language's reference: every kind of block and every word, from the vocabulary's table. The prose at its head is
//! here; no word is listed by hand.

use super::{CAUTION, wrap};
use crate::vocabulary::{DIRECTIONS, EDITION, KINDS, Kind, KindWords, RESERVED};

const HEAD: &str = r#"# The language

This page is made from the vocabulary by `trialfit words --markdown`. A test keeps it up to date.

A `.trialfit` file is one job, or a workshop file that jobs follow. Each line is one statement. A header at the left margin
opens a block, and the indented lines below belong to it. An empty line ends a paragraph. `#` opens a comment, at the start
of a line or after a space.

**Numbers** carry their unit: `13 ft`, `4 mm²` (or `mm2`), `12 AWG`, `-25 °C` (or `degC`), `6 ft 4 in`, `1 1/2 in`,
`0.24 L/h`, `7500 BTU/h`. The decimal sign is a point; a comma between digits is a finding. One unit may serve both ends of a
range: `0 .. 1450 m`. `gal` is the US gallon, `imp-gal` the imperial one. A conductor's size is an area or a gauge, never a
diameter.

**Doubt** is written down: `4.2 m ± 0.3 m`, `0 m .. 1450 m`. Each check is made at the worst end. `unknown` says that nobody
measured it. `?` leaves a size, a data sheet or a length for `trialfit fill`. A final check refuses a `?`.

**Routes are walked** as a fitter would say them. A direction at the start of a line is a leg. Further directions after
commas make the leg slant: `left 450 mm, down 40 mm`. Bends between legs are counted without being written. `at` means "we
are now here", from the vehicle's origin. It starts a walk. In the middle of a walk it checks it: the walk must come out
there. `run 2.4 m` is a length in a direction that nobody measured; only beside such a run stands `bend 90°`. A walk ends with
`ends facing right`, `ends at reader`, `ends in cab`, `ends here`, or a last `outlet`. `pipe`, `hose`, `duct`, `line` and
`size` mean "from here on". A heater's runs start at its port, a fuel line at its tank, a cable at its battery.

**Axes**: forward, left and up from the vehicle's origin (ISO 8855). If the job does not state the origin, it is on the ground
below the middle of the front axle. A thing that is `at` a corner and `spans` is a box. A heater is `at` its middle.

**Names** are unique within their kind, and within their heater. `main.cab` is tee `cab` of the warm-air run `main`.
`reader.main.cab` says of which heater too.

**Limits** come from the data sheet, if it states them; else from a named standard; else from common practice. Each message
says which.

**Kits** are standard installs. `kit bunk-24` stands where a job says `job`. Its lines say what it is made for, what it `asks`
of the job (with bounds and what is usual), and what is `open` to change. All blocks below it, up to the next kit, belong to
it. `the tank-run` stands for the whole value that the kit asks for by that name. A job says `fit bunk-24 as bunk` and answers
below, one name a line: `tank-run 3.2 m`, `room cab`. The kit's one heater takes the name `bunk`, its other blocks
`bunk-NAME`. A kit is also judged alone, at all its bounds. Then its own `vehicle`, and its blocks with the name of a thing
that it asks for, stand in for those of the job. `change exhaust of bunk` replaces what the kit leaves open: single
properties, or a walk as a whole. `without silencer` takes one away.

**Layers**: a job stands over the files that it follows, and a file over those that it follows itself. `usual cable` says what
holds for every cable of the job and of its kits that does not say otherwise. If two followed files disagree and neither
follows the other, that is a finding, whatever the order of lines.

**Concessions** set a rule aside for the things named, with a reason, an author and a last day. They show in every report. A
concession in a file that jobs follow holds for every job that has the things it names. Only there, a kind without a name
(`on cable`) means every block of that kind. A rule that guards against poisoning, fire or burns takes no concession.
"#;

fn example(example: &str) -> String {
    example.replace('|', "\\|")
}

fn kind_page(entry: &KindWords) -> String {
    let title = if entry.kind == Kind::File { "Outside any block".to_string() } else { format!("`{}`", entry.example) };
    let mut out =
        format!("\n## {title}\n\n{}.\n\n| word | what it states | example |\n|---|---|---|\n", sentence(entry.says));
    for word in entry.words() {
        let again = if word.repeats { " (may stand several times)" } else { "" };
        out.push_str(&format!("| `{}` | {}{again} | `{}` |\n", word.word, word.says, example(word.example)));
    }
    out
}

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// The reference in Markdown.
pub fn language_page() -> String {
    let mut out = HEAD.replacen("\n\n", &format!("\n\n{CAUTION}\n\n"), 1);
    out.push_str(&format!("\nThis is edition {EDITION}. A file says so at its top: `trialfit {EDITION}`.\n"));
    for entry in KINDS {
        out.push_str(&kind_page(entry));
    }
    out.push_str(&format!(
        "\n## Words that are never names\n\n`{}`\n\n## Directions\n\n`{}`\n",
        RESERVED.join("`, `"),
        DIRECTIONS.join("`, `")
    ));
    out
}

/// The kinds of block for a terminal, or the words of those that a name means (`exhaust`, `datasheet`).
pub fn word_list(of: Option<&str>, width: usize) -> Option<String> {
    let Some(of) = of else {
        let mut out = String::new();
        for entry in KINDS.iter().filter(|entry| entry.kind != Kind::File) {
            out.push_str(&wrap(entry.says, width, &format!("{:<32}", entry.example), &" ".repeat(32)));
            out.push('\n');
        }
        return Some(out);
    };
    let mut out = String::new();
    for entry in KINDS.iter().filter(|entry| entry.header == of || (!entry.sheet_of.is_empty() && entry.sheet_of == of))
    {
        out.push_str(&format!("{}\n", wrap(entry.says, width, &format!("{}: ", entry.example), "  ")));
        for word in entry.words() {
            out.push_str(&format!("{}\n", wrap(word.says, width, &format!("  {:<20}", word.word), &" ".repeat(22))));
            out.push_str(&format!("{}{}\n", " ".repeat(24), word.example));
        }
        out.push('\n');
    }
    (!out.is_empty()).then_some(out)
}

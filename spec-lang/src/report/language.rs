//! The language's reference: every kind of block and every word, from the vocabulary's table. The prose at its head is
//! here; no word is listed by hand.

use super::{CAUTION, wrap};
use crate::vocabulary::{DIRECTIONS, EDITION, KINDS, Kind, KindWords, RESERVED};

const HEAD: &str = r#"# The language

Made from the vocabulary by `trialfit words --markdown`; a test holds the two together.

A `.trialfit` file is one job, or a workshop file that jobs follow. One statement a line. A header at the left margin opens
a block; the indented lines below belong to it. An empty line ends a paragraph. `#` opens a comment at a line's start or
after a space.

**Numbers** carry their unit: `13 ft`, `4 mm²` (or `mm2`), `12 AWG`, `-25 °C` (or `degC`), `6 ft 4 in`, `1 1/2 in`,
`0.24 L/h`, `7500 BTU/h`. The point is decimal; a comma between digits is a finding. One unit may serve its group:
`0 .. 1450 m`. `gal` is the US gallon, `imp-gal` the imperial one. A conductor's size is an area or a gauge, never a
diameter.

**Doubt** is written down: `4.2 m ± 0.3 m`, `0 m .. 1450 m`. Each check is made at the worst end. `unknown` says that nobody
measured it. `?` leaves a size, a data sheet or a length for `trialfit fill`; a final check refuses it.

**Routes are walked** as a fitter would say them. A direction at a line's start is a leg; further directions behind commas
make it slant: `left 450 mm, down 40 mm`. Bends between legs are implied. `at` means "we are now here", from the vehicle's
origin: it starts a walk or puts it right midway, and the walk must come out there. `run 2.4 m` is a length in a direction
nobody measured; `bend 90°` stands beside such a run only. `ends facing right`, `ends at reader`, `ends in cab`, `ends here`
or a last `outlet` ends it. `pipe`, `hose`, `duct`, `line` and `size` mean "from here on". A heater's runs start at its port,
a fuel line at its tank, a cable at its battery.

**Axes**: forward, left and up from the vehicle's origin (ISO 8855); if unsaid, on the ground below the middle of the front
axle. A thing `at` a corner with `spans` is a box. A heater is `at` its middle.

**Names** are unique within their kind, and within their heater. `main.cab` is tee `cab` of warm-air run `main`;
`reader.main.cab` says whose.

**Limits** are the data sheet's where it states them, else a named standard's, else common practice; each message says
which.

**Kits** are standard installs. `kit bunk-24` stands where a job says `job`: its lines say what it is made for, what it `asks`
of the job with bounds and what is usual, and what is `open` to change. All blocks below it, up to the next kit, are its own;
`the tank-run` stands for what it asks for by that name, whole. A job says `fit bunk-24 as bunk` and answers below, a name a
line: `tank-run 3.2 m`, `room cab`. The kit's one heater takes the name `bunk`, its other blocks `bunk-NAME`. Blocks of the
kit that have the name of a thing it asks for, and its `vehicle`, stand in where the kit is judged alone, at all its bounds.
`change exhaust of bunk` replaces what the kit leaves open: property by property, a walk as a whole; `without silencer` takes
one away.

**Layers**: a job stands over the files that it follows, a file over those that it follows itself. `usual cable` says what
holds for every block of that kind of the job and of its kits that does not say otherwise. Two followed files of which
neither follows the other and that disagree are a finding, whatever the order of lines.

**Concessions** set a rule aside on the things named, with a reason, an author and a last day. They show in every report.
One in a file that jobs follow holds for every job that has the things it names; there, and only there, a kind without a
name (`on cable`) means every block of that kind. What can poison or burn somebody takes none.
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

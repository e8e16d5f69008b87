//! The language's reference: every kind of block and every word, from the vocabulary's table. The prose at its head is
//! here; no word is listed by hand.

use super::{CAUTION, wrap};
use crate::vocabulary::{Atom, DIRECTIONS, EDITION, KINDS, Kind, KindWords, RESERVED, Word};

const HEAD: &str = r#"# The language

> **This work can kill.** Exhaust gas holds carbon monoxide, which has no smell. Fuel, hot pipes and battery cables
> start fires. The heater maker's instructions, local codes and licensed practice come first. A text without findings is
> not an approval.

Made from the vocabulary by `trialfit words --markdown`; a test holds the two together.

A `.trialfit` file is one job, or a workshop file that jobs follow. Each line says one thing. A header at the left
margin opens a block. The indented lines below it belong to it. An empty line ends a paragraph. `#` opens a comment, at
a line's start or after a space.

**Numbers** carry their unit: `13 ft`, `4 mm²` (or `mm2`), `12 AWG`, `-25 °C` (or `degC`), `6 ft 4 in`, `1 1/2 in`,
`0.24 L/h`, `7500 BTU/h`. A decimal sign is a point; a comma between digits is a finding. A range may say its unit once:
`0 .. 1450 m`. `gal` is the US gallon, `imp-gal` the imperial one. The size of a conductor is its area or its gauge,
never its diameter.

**Doubt** is written down: `4.2 m ± 0.3 m`, `0 m .. 1450 m`. Each check takes the worst end. `unknown` says that nobody
measured it. `?` leaves a size, a data sheet or a length for `trialfit fill`. A final check does not accept a `?`.

**Routes are walked** as a fitter would say them. A direction at a line's start opens a straight leg. More directions
behind commas make the leg slant: `left 450 mm, down 40 mm`. You need not write the bends between legs. `at` means "we
are now here", from the vehicle's origin. It starts a walk. Midway, it checks and corrects the walk, which must come out
there. `run 2.4 m` is a length in a direction nobody measured. `bend 90°` stands only beside such a run.
`ends facing right`, `ends at reader`, `ends in cab`, `ends here` or a last `outlet` ends the route. `pipe`, `hose`,
`duct`, `line` and `size` mean "from here on". A heater's runs start at its port, a fuel line at its tank, a cable at
its battery.

**By tape**: a distance that was measured directly is a fact too, and needs no coordinates.
`measured 620 mm to combustion-air`, in the block of an exhaust, is the straight line from its open end to that intake.
What a heater has one of goes by its kind: `exhaust`, `combustion-air`, `return-air`, `fuel-line`, with `of HEATER` for
another heater's. Anything else goes by its kind and name: `measured 1.3 m to opening side-door`. Beside a window or a
vent, `aside 450 mm` says how far to its side the exhaust ends. `from pipe` means where the pipe comes nearest, and not
its end: `measured 180 mm from pipe to keep-clear brake-pipe`; add `covered` where lagging, a shield or the floor lies
between. Next to the heater's own lines, the first 150 mm of pipe do not count. `measured 30 mm past edge` is how far the
outlet lies beyond the edge of the vehicle, `inside edge` how far it falls short.
`measured 430 mm above ground` is how high the open end is; on a boat, `above waterline`. The same distance may stand in the
other block: `measured 620 mm to exhaust`. Where coordinates give the distance as well, both must agree, and the smaller
counts.

**Axes** are forward, left and up from the vehicle's origin (ISO 8855). If the file does not say where the origin is, it
is on the ground below the middle of the front axle. The words of `origin` are for people: the tool does not read them.
`up-from` says whether heights count from the ground or the floor. A thing `at` a corner with `spans` is a box. A heater
is `at` its middle.

**Names** are used once within their kind and within their heater. `main.cab` is tee `cab` of warm-air run `main`.
`reader.main.cab` also says which heater.

**Limits** come from the data sheet where it states them. Else they come from a named standard, else from common
practice. Each message says which.

**Kits** are standard installs.

- `kit bunk-24` stands where a job says `job`. Its lines say what it is made for. They say what it `asks` of the job,
  within which bounds, and what is usual. They say what is `open` to change. All blocks below it, up to the next kit,
  are its own.
- `the tank-run`, in a block of the kit, stands for what the kit asks for by that name, whole.
- A job says `fit bunk-24 as bunk` and answers below, one name a line: `tank-run 3.2 m`, `room cab`.
- In the job, the kit's one heater has the name `bunk`. The kit's other blocks have the name `bunk-NAME`.
- A kit is also judged alone, at all its bounds. Its `vehicle` then stands in for the job's, and a block with the name
  of a thing that the kit asks for stands in for that thing.
- `change exhaust of bunk` replaces what the kit leaves open: a property alone, a walk as a whole. `without silencer`
  takes a property away.

**Layers**: a job stands over the files that it follows. A file stands over the files that it follows itself.
`usual cable` says what holds for every block of that kind, in the job and in its kits, that does not say otherwise. If
two files disagree and neither follows the other, that is a finding, in whatever order the lines stand.

**Concessions** set a rule aside on the things named, with a reason, an author and a last day. They show in every
report. A concession in a file that jobs follow holds for every job that has the things it names. There, and only there,
a kind without a name (`on cable`) means every block of that kind. What can poison, gas, burn
or set on fire takes no concession. Nor does an error in the text, in names or in layers, which may hide such a thing.
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

/// The kinds of block for a terminal, or the words of those that a name means (`exhaust`, `datasheet`, `datasheet pipe`).
pub fn word_list(of: Option<&str>, width: usize) -> Option<String> {
    let Some(of) = of else {
        let mut out = String::new();
        let kinds = || KINDS.iter().filter(|entry| entry.kind != Kind::File);
        let wide = kinds().map(|entry| entry.example.chars().count()).max().unwrap_or(0) + 2;
        for entry in kinds() {
            out.push_str(&wrap(entry.says, width, &format!("{:<wide$}", entry.example), &" ".repeat(wide)));
            out.push('\n');
        }
        out.push_str("`trialfit words KIND` shows the words of a kind: `trialfit words exhaust`, `trialfit words datasheet pipe`\n");
        return Some(out);
    };
    let mut out = String::new();
    let is_sheet_of = |entry: &KindWords| {
        !entry.sheet_of.is_empty() && (entry.sheet_of == of || of == format!("{} {}", entry.header, entry.sheet_of))
    };
    for entry in KINDS.iter().filter(|entry| entry.header == of || is_sheet_of(entry)) {
        let wide = entry.words().map(|word| word.word.chars().count()).max().unwrap_or(0) + 4;
        let (below, further) = (" ".repeat(wide), " ".repeat(wide + 2));
        out.push_str(&format!("{}\n", wrap(entry.says, width, &format!("{}: ", entry.example), "  ")));
        for word in entry.words() {
            let head = format!("  {:<1$}", word.word, wide - 2);
            out.push_str(&format!("{}\n", wrap(word.says, width, &head, &below)));
            out.push_str(&format!("{further}{}\n", word.example));
            for choices in choices(word) {
                let hanging = format!("{further}        ");
                out.push_str(&format!(
                    "{}\n",
                    wrap(&choices.join(", "), width, &format!("{further}one of: "), &hanging)
                ));
            }
        }
        out.push('\n');
    }
    (!out.is_empty()).then_some(out)
}

/// The closed lists that a word's value is chosen from, each once.
fn choices(word: &Word) -> Vec<&'static [&'static str]> {
    let mut out = Vec::new();
    for atom in word.forms.iter().flat_map(|form| form.head.iter().chain(form.tail)).flat_map(|part| part.1) {
        match atom {
            Atom::Choice(_, words) if words.len() > 1 && !out.contains(words) => out.push(*words),
            _ => {}
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::word_list;

    #[test]
    fn words_stand_apart_and_choices_are_shown() {
        let wide = 100;
        let sheet = word_list(Some("datasheet heater"), wide).expect("a kind");
        for line in sheet.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   ")) {
            assert!(line.trim_start().split("  ").count() > 1, "nothing parts the word from what it says: {line}");
        }
        assert!(!sheet.contains("datasheet pipe"), "only the kind that was asked for");
        let space = word_list(Some("space"), wide).expect("a kind");
        assert!(space.contains("one of: seated, sleeping"), "{space}");
        assert!(word_list(Some("datasheet nothing"), wide).is_none());
    }
}

//! The rule catalogue: each rule's page, and the bench job that its examples are laid over.

use super::{Family, Guards, Rule, all};

/// The project's caution: every report, rule page and hover of a finding about the install itself says it.
pub const CAUTION: &str = "trialfit judges only what is written; it approves nothing, and carbon monoxide kills. The heater \
                           maker's instructions, local codes and licensed practice come first.";

/// Sheets of the bench job, as the file `bench-sheets.trialfit`. Invented.
pub const BENCH_SHEETS: &str = include_str!("bench-sheets.trialfit");

/// Kits for the bench job, as the file `bench-kits.trialfit`. Invented.
pub const BENCH_KITS: &str = include_str!("bench-kits.trialfit");

/// Two workshops that think differently of cables, as `bench-usual-90.trialfit` and `bench-usual-105.trialfit`. Invented.
pub const BENCH_USUAL: [&str; 2] = [
    "trialfit 1\n\nusual cable                                     # invented\n  insulation    90 °C\n",
    "trialfit 1\n\nusual cable                                     # invented\n  insulation    105 °C\n",
];

/// A small complete job in order, over which the pages' examples are laid. Invented.
pub const BENCH: &str = include_str!("bench.trialfit");

/// Lays an example over the bench job: each block of the example replaces the bench's block of the same header, new
/// blocks are added at the end, and a line `leave out HEADER` removes one, `leave out HEATER and its runs` all of a heater, `leave
/// out everything` all. Lines before the first block replace the bench's own first lines.
pub fn compose(example: &str) -> String {
    let mut blocks: Vec<(bool, String)> = paragraphs(BENCH).into_iter().map(|block| (true, block)).collect();
    for block in paragraphs(example) {
        let header = block.lines().next().unwrap_or("");
        if let Some(gone) = header.strip_prefix("leave out ") {
            if gone == "everything" {
                blocks.clear();
            }
            let heater = gone.strip_suffix(" and its runs");
            let of_heater = |known: &str| {
                heater.is_some_and(|it| known == format!("heater {it}") || known.ends_with(&format!(" of {it}")))
            };
            blocks.retain(|(_, known)| header_of(known) != gone && !of_heater(header_of(known)));
        } else if let Some(known) =
            blocks.iter_mut().find(|(of_bench, known)| *of_bench && header_of(known) == header_of(&block))
        {
            *known = (false, block);
        } else {
            blocks.push((false, block));
        }
    }
    let blocks: Vec<String> = blocks.into_iter().map(|(_, block)| block).collect();
    blocks.join("\n\n") + "\n"
}

/// A block's header without its comment; all lines outside blocks count as one.
fn header_of(block: &str) -> &str {
    let header = block.lines().next().unwrap_or("");
    let header = header.split(" #").next().unwrap_or("").trim_end();
    if header.starts_with("trialfit") || header.starts_with("follows") {
        "trialfit"
    } else if header.starts_with("job ") {
        "job"
    } else {
        header
    }
}

fn paragraphs(text: &str) -> Vec<String> {
    text.split("\n\n").map(|block| block.trim_matches('\n').to_string()).filter(|block| !block.is_empty()).collect()
}

/// A rule's page in Markdown.
pub fn page(rule: &Rule) -> String {
    let mut caution = String::new();
    if rule.life_safety() {
        caution.push_str(&format!("\n**Guards** {}. Nothing sets it aside.\n", rule.guards.title()));
    }
    if rule.is_of_the_install() {
        caution.push_str(&format!("\n{}\n", CAUTION));
    }
    format!(
        "### `{name}`\n\n{title}. {severity}.\n\n{explanation}\n\n**Limit.** {source}.\n\n**Mend.** {mend}\n{caution}\n\
         Found in\n\n```trialfit\n{bad}\n```\n\nand not in\n\n```trialfit\n{good}\n```\n",
        name = rule.name,
        title = sentence(rule.title),
        severity = sentence(rule.severity.word()),
        explanation = rule.explanation,
        source = sentence(rule.source),
        mend = rule.mend,
        bad = rule.bad.trim_matches('\n'),
        good = rule.good.trim_matches('\n'),
    )
}

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// The marked rules, by what they guard.
fn not_set_aside() -> String {
    let mut out = String::from(
        "\n## What nobody sets aside\n\nOne question is asked of every rule: can what it finds poison, gas, burn or set on fire, or leave \
         nobody able to tell? These are the rules where it can. Their findings fail every check, errors and warnings alike. No \
         concession, practice, record of known findings, setting, option or word of a data sheet takes one out of a file that is judged. An error in the \
         text, in names or in layers is held as hard, because it may hide one of them.\n",
    );
    for guards in [Guards::Life, Guards::Fire] {
        out.push_str(&format!("\n| guards {} | what it finds |\n|---|---|\n", guards.title()));
        for rule in all().filter(|rule| rule.guards == guards) {
            out.push_str(&format!("| `{}` | {} |\n", rule.name, rule.title));
        }
    }
    out
}

/// The whole catalogue in Markdown, by family.
pub fn catalogue() -> String {
    let mut out = String::from(
        "# The rules\n\nThis page is made from the rules by `trialfit rules --markdown`. A test keeps it up to date. Each example \
         is laid over the bench job at the end of this page: a block of the example takes the place of the bench's block with \
         the same header.\n",
    );
    out.push_str(&format!("\n{}\n", CAUTION));
    out.push_str(&not_set_aside());
    let mut families: Vec<Family> = all().map(|rule| rule.family).collect();
    families.sort();
    families.dedup();
    for family in families {
        out.push_str(&format!("\n## {}\n\n", sentence(family.title())));
        for rule in all().filter(|rule| rule.family == family) {
            out.push_str(&page(rule));
            out.push('\n');
        }
    }
    out.push_str(&format!("\n## The bench job\n\n```trialfit\n{BENCH}```\n\nIt follows `bench-sheets.trialfit`:\n\n```trialfit\n{BENCH_SHEETS}```\n\nThe kits of `bench-kits.trialfit`:\n\n```trialfit\n{BENCH_KITS}```\n"));
    out
}

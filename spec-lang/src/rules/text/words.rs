//! Rules about the words of a line: which ones the block knows, what follows them, what is left over.

use super::{LANGUAGE, a_kind, each_slip, listed, wanted_words};
use crate::finding::{Finding, Severity};
use crate::reading::SlipKind;
use crate::rules::About;
use crate::rules::{Family, Guards, Rule};
use crate::text::Span;
use crate::vocabulary::{Kind, property, words_of};

pub(super) static UNKNOWN_WORD: Rule = Rule {
    name: "unknown-word",
    family: Family::Text,
    severity: Severity::Error,
    title: "a word that its block does not know",
    source: LANGUAGE,
    explanation: "Each kind of block knows its own words. A line that starts with another word cannot be checked. What it was \
                  meant to say is missing from every figure.",
    mend: "Write the word that you mean. The message shows the nearest one that the block knows.",
    bad: "job \"Bench job\"\n  design-cld    -15 °C",
    good: "job \"Bench job\"\n  design-cold   -15 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::UnknownWord { kind, nearest } = seen.slip.kind else { return None };
            let written = seen.text();
            let of_kind = a_kind(kind);
            let finding = match nearest {
                Some(near) => {
                    let help = match property(kind, near) {
                        Some(word) => format!("write `{near}`, as in `{}`", word.example),
                        None => format!("write `{near}`"),
                    };
                    let case_only = near.to_lowercase() == written.to_lowercase();
                    findings
                        .at(seen.place, format!("`{written}` is not a word of {of_kind}; the nearest is `{near}`"))
                        .help(help)
                        .replace(format!("write `{near}`"), near, case_only)
                }
                None if written.starts_with(|letter: char| letter.is_alphabetic()) => {
                    let finding = findings.at(seen.place, format!("`{written}` is not a word of {of_kind}"));
                    let elsewhere = words_elsewhere(written);
                    let finding = if elsewhere.is_empty() {
                        finding
                    } else {
                        finding.why(format!("`{written}` is a word of {elsewhere}"))
                    };
                    finding.help(known_words(kind))
                }
                None => findings
                    .at(seen.place, format!("a line of {of_kind} must start with a word, not with `{written}`"))
                    .help(known_words(kind)),
            };
            Some(finding.label("not known here"))
        });
    },
};

fn known_words(kind: Kind) -> String {
    let words = words_of(kind).words().map(|word| word.word);
    format!("{} knows {}", a_kind(kind), listed(words).replace(" or ", " and "))
}

/// The kinds that do know the word, up to three.
fn words_elsewhere(word: &str) -> String {
    let mut kinds: Vec<String> =
        Kind::all().filter(|kind| property(*kind, word).is_some()).map(a_kind).take(4).collect();
    if kinds.len() > 3 {
        kinds.truncate(2);
        kinds.push("others".to_string());
    }
    match kinds.as_slice() {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

pub(super) static UNLISTED_WORD: Rule = Rule {
    name: "unlisted-word",
    family: Family::Text,
    severity: Severity::Error,
    title: "a word that cannot stand in its place",
    source: LANGUAGE,
    explanation: "Some places take one of a few words: the chemistry of a battery, the stage of a heater, a direction. A check \
                  depends on which word it is, so no other word can stand there.",
    mend: "Write one of the words that the message lists.",
    bad: "battery house\n  made-of       12 V 95 Ah\n  type          AGN\n  at            back 1200 mm, left 600 mm, up 700 mm",
    good: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  at            back 1200 mm, left 600 mm, up 700 mm",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::UnknownChoice { wanted, nearest } = seen.slip.kind else { return None };
            let written = seen.text();
            let finding = match nearest {
                Some(near) => {
                    let case_only = near.to_lowercase() == written.to_lowercase();
                    let title = format!("`{written}` cannot stand here; the nearest word that can is `{near}`");
                    findings.at(seen.place, title).replace(format!("write `{near}`"), near, case_only)
                }
                None => findings.at(seen.place, format!("`{written}` is not one of the words that can stand here")),
            };
            Some(finding.label("not one of the words for this place").help(format!(
                "write {}{}",
                listed(wanted.iter().copied()),
                seen.as_in()
            )))
        });
    },
};

pub(super) static UNFINISHED_LINE: Rule = Rule {
    name: "unfinished-line",
    family: Family::Text,
    severity: Severity::Error,
    title: "a line that stops too early",
    source: LANGUAGE,
    explanation: "The first word of a line says what must follow. This line stops too early. The check that needs the rest \
                  cannot be made.",
    mend: "Write what is missing. Write `unknown` if nobody has measured it.",
    bad: "job \"Bench job\"\n  design-cold",
    good: "job \"Bench job\"\n  design-cold   -15 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::Expected { wanted, at_end: true } = seen.slip.kind else { return None };
            let wanted = wanted_words(wanted);
            Some(
                findings
                    .at(seen.place, format!("the line stops here; expected {wanted}"))
                    .label("something is missing here")
                    .help(format!("go on with {wanted}{}", seen.as_in())),
            )
        });
    },
};

pub(super) static MISPLACED_WORD: Rule = Rule {
    name: "misplaced-word",
    family: Family::Text,
    severity: Severity::Error,
    title: "something else than the line needs at that point",
    source: LANGUAGE,
    explanation: "The first word of a line says what must follow, part by part. Something else stands there. The rest of the \
                  line was not read.",
    mend: "Write what the message asks for.",
    bad: "job \"Bench job\"\n  design-cold   cold",
    good: "job \"Bench job\"\n  design-cold   -15 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::Expected { wanted, at_end: false } = seen.slip.kind else { return None };
            let wanted = wanted_words(wanted);
            Some(
                findings
                    .at(seen.place, format!("expected {wanted}, not `{}`", seen.text()))
                    .label("something else belongs here")
                    .help(format!("write {wanted}{}", seen.as_in())),
            )
        });
    },
};

pub(super) static LEFT_OVER: Rule = Rule {
    name: "left-over",
    family: Family::Text,
    severity: Severity::Error,
    title: "more on a line than its word takes",
    source: LANGUAGE,
    explanation: "Whatever cannot be read on a line is reported. It may be the very thing that its writer relied on.",
    mend: "Remove it, put it on a line of its own, or write `#` before it to make it a comment.",
    bad: "job \"Bench job\"\n  design-cold   -15 °C at night",
    good: "job \"Bench job\"\n  design-cold   -15 °C  # at night",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            if seen.slip.kind != SlipKind::LeftOver {
                return None;
            }
            Some(
                findings
                    .at(seen.place, format!("`{}` does not belong on this line", short(seen.text())))
                    .label("not read")
                    .help(format!(
                        "remove it; if it is a remark, write `#` before it{}",
                        seen.as_in().replacen(", as in", "; a whole line reads", 1)
                    ))
                    .replace("make it a comment", format!("# {}", seen.text()), false),
            )
        });
    },
};

pub(super) static COMMA_MISSING: Rule = Rule {
    name: "comma-missing",
    family: Family::Text,
    severity: Severity::Error,
    title: "two parts of a line with no comma between them",
    source: LANGUAGE,
    explanation: "Commas separate the parts of a line. `right 480 mm, down 40 mm` is one slanting leg.",
    mend: "Write the comma. If two legs are meant, write two lines.",
    bad: "keep-clear shelf\n  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  back          500 mm down 40 mm\n  ends          here",
    good: "keep-clear shelf\n  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  back          500 mm, down 40 mm\n  ends          here",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            if seen.slip.kind != SlipKind::CommaMissing {
                return None;
            }
            Some(
                findings
                    .at(seen.place, format!("no comma before `{}`", short(seen.text())))
                    .label("a new part of the line starts here")
                    .help(format!("write a comma between the parts{}", seen.as_in()))
                    .replace_at("write the comma", seen.at(comma_place(seen)), ",", false),
            )
        });
    },
};

/// Where the comma goes: behind the last letter before the slip.
fn comma_place(seen: &super::Seen<'_>) -> Span {
    let before = seen.reading.tree.text.get(..seen.slip.span.start as usize).unwrap_or("");
    Span::new(before.trim_end().len(), before.trim_end().len())
}

pub(super) static STRAY_CHARACTER: Rule = Rule {
    name: "stray-character",
    family: Family::Text,
    severity: Severity::Error,
    title: "characters that the language does not use",
    source: LANGUAGE,
    explanation: "Lines are made of words, numbers with units, quoted text, commas, `..`, `±`, `x` and `?`. Anything \
                  else means nothing, and what stands after it was not read.",
    mend: "Remove the characters. If a text needs them, put it in quotes.",
    bad: "job \"Bench job\"\n  design-cold   -15 °C;",
    good: "job \"Bench job\"\n  design-cold   -15 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            if seen.slip.kind != SlipKind::StrayCharacter {
                return None;
            }
            let written = seen.text();
            Some(
                findings
                    .at(seen.place, format!("`{}` means nothing here", written.escape_debug()))
                    .label("not part of the language")
                    .help("remove it; if a text needs it, put the text in quotes")
                    .replace("remove it", "", false),
            )
        });
    },
};

pub(super) static OPEN_QUOTE: Rule = Rule {
    name: "open-quote",
    family: Family::Text,
    severity: Severity::Error,
    title: "a quote that is not closed on its line",
    source: LANGUAGE,
    explanation: "A text that starts with a quote must end with a quote on the same line. Without it, the text takes in all \
                  that follows, even a comment.",
    mend: "Close the quote where the text ends.",
    bad: "job \"Bench job\"\n  note          \"agreed with the owner",
    good: "job \"Bench job\"\n  note          \"agreed with the owner\"",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            if seen.slip.kind != SlipKind::OpenQuote {
                return None;
            }
            let written = seen.text();
            let finding = findings
                .at(seen.place, format!("the quote before `{}` is not closed", short(written.trim_start_matches('"'))))
                .label("open to the end of the line")
                .help("close it with `\"` where the text ends");
            let end = seen.slip.span.start + u32::try_from(written.trim_end().len()).unwrap_or(0);
            // With a `#` in it nobody knows whether the text or a comment is meant.
            let certain = !written.contains('#');
            Some(finding.replace_at("close the quote", seen.at(Span::point(end)), "\"", certain))
        });
    },
};

pub(super) static SAID_TWICE: Rule = Rule {
    name: "said-twice",
    family: Family::Text,
    severity: Severity::Error,
    title: "the same thing said twice in one block",
    source: LANGUAGE,
    explanation: "If a block says the same thing twice, one of the two is probably old. The first counts. The second is not \
                  read.",
    mend: "Remove one of the two lines.",
    bad: "job \"Bench job\"\n  design-cold   -15 °C\n  design-cold   -20 °C",
    good: "job \"Bench job\"\n  design-cold   -20 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::SaidTwice { first } = seen.slip.kind else { return None };
            let tree = &seen.reading.tree;
            let index = tree.line_at(seen.slip.span.start);
            let start = tree.lines.get(index).map_or(seen.slip.span.start, |line| line.span.start);
            let end = tree.lines.get(index + 1).map_or(seen.slip.span.end, |next| next.span.start);
            Some(
                twice(findings.at(seen.place, twice_title(seen.text(), seen.reading.slice(first))), seen, first)
                    .replace_at("remove this line", seen.at(Span { start, end }), "", false),
            )
        });
    },
};

fn twice_title(second: &str, first: &str) -> String {
    format!("`{}` is not read: `{}` says it already", short(second), short(first))
}

fn twice(finding: Finding, seen: &super::Seen<'_>, first: Span) -> Finding {
    finding.label("not read").related(seen.at(first), "this one counts").help("remove one of the two")
}

/// The first forty letters or so of a text, for a title.
fn short(text: &str) -> String {
    const LONGEST: usize = 40;
    let squeezed = text.split_whitespace().collect::<Vec<_>>().join(" ");
    match squeezed.char_indices().nth(LONGEST) {
        Some((at, _)) => format!("{}…", squeezed.get(..at).unwrap_or("").trim_end()),
        None => squeezed,
    }
}

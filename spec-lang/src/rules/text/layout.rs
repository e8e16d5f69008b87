//! Rules about headers, indentation and the file's first line: which line belongs to which block.

use super::{LANGUAGE, a_kind, each_slip};
use crate::finding::Severity;
use crate::reading::{Block, SlipKind};
use crate::rules::About;
use crate::rules::{Family, Guards, Rule};
use crate::source::Place;
use crate::text::Span;
use crate::vocabulary::{EDITION, Kind, Naming, meant_by, words_of};

pub(super) static NOT_INDENTED: Rule = Rule {
    name: "not-indented",
    family: Family::Text,
    severity: Severity::Warning,
    title: "a line of a block that is not indented",
    source: LANGUAGE,
    explanation: "A header starts at the left margin, and the lines that belong to it are indented. This line was read as \
                  part of the block above it.",
    mend: "Put two spaces before the line.",
    bad: "job \"Bench job\"\ndesign-cold   -15 °C",
    good: "job \"Bench job\"\n  design-cold   -15 °C",
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::IndentThis { kind } = seen.slip.kind else { return None };
            let start = seen.at(Span::point(seen.slip.span.start));
            Some(
                findings
                    .at(
                        seen.place,
                        format!(
                            "`{}` is not indented; it was read as a line of the {} above",
                            seen.text(),
                            words_of(kind).reads()
                        ),
                    )
                    .label("read as part of the block above")
                    .help("put two spaces before it")
                    .replace_at("indent this line", start, "  ", true),
            )
        });
    },
};

pub(super) static HEADER_INDENTED: Rule = Rule {
    name: "header-indented",
    family: Family::Text,
    severity: Severity::Warning,
    title: "a header that is indented",
    source: LANGUAGE,
    explanation: "A header starts at the left margin. The block above does not know this word, so the line was read as a \
                  header.",
    mend: "Remove the spaces before it.",
    bad: "  keep-clear shelf\n  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  ends          here",
    good: "keep-clear shelf\n  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  ends          here",
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::MarginThis { kind } = seen.slip.kind else { return None };
            let tree = &seen.reading.tree;
            let line = tree.lines.get(tree.line_at(seen.slip.span.start));
            let indent =
                Span { start: line.map_or(seen.slip.span.start, |line| line.span.start), end: seen.slip.span.start };
            Some(
                findings
                    .at(seen.place, format!("the header of {} is indented", a_kind(kind)))
                    .label("read as a header")
                    .help("a header starts at the left margin")
                    .replace_at("move it to the margin", seen.at(indent), "", true),
            )
        });
    },
};

pub(super) static STRAY_LINE: Rule = Rule {
    name: "stray-line",
    family: Family::Text,
    severity: Severity::Error,
    title: "a line inside a block that the block does not know",
    source: LANGUAGE,
    explanation: "The line stands at the margin in the middle of a block. It was left out. The lines below it were read as \
                  part of the block.",
    mend: "Correct the line, indent it, or remove it.",
    bad: "job \"Bench job\"\n  design-cold   -15 °C\nto be agreed\n  runs-for      8 h",
    good: "job \"Bench job\"\n  design-cold   -15 °C\n  # to be agreed\n  runs-for      8 h",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::StrayLine { nearest } = seen.slip.kind else { return None };
            let first = seen.text().split_whitespace().next().unwrap_or("");
            let help = match nearest {
                Some(near) => format!("did you mean `{near}`? if it is a remark, write `#` before it"),
                None => "if it is a remark, write `#` before it; a header needs a name after it".to_string(),
            };
            Some(
                findings
                    .at(
                        seen.place,
                        format!(
                            "the line that starts with `{first}` is left out: it is no header and no line of this block"
                        ),
                    )
                    .label("left out; the block goes on below")
                    .help(help)
                    .replace("make it a comment", format!("# {}", seen.text()), false),
            )
        });
    },
};

pub(super) static HEADER_MISSPELT: Rule = Rule {
    name: "header-misspelt",
    family: Family::Text,
    severity: Severity::Error,
    title: "a header with a misspelt word",
    source: LANGUAGE,
    explanation: "No block starts with this word, but its spelling and the lines below show which block was meant. The block \
                  was judged as that one.",
    mend: "Write the word as the message spells it.",
    bad: "keep-claer shelf\n  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  ends          here",
    good: "keep-clear shelf\n  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  ends          here",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::HeaderGuessed { kind } = seen.slip.kind else { return None };
            let entry = words_of(kind);
            let written = seen.text();
            let finding = findings
                .at(
                    seen.place,
                    format!("there is no kind of block called `{written}`; it was read as {}", a_kind(kind)),
                )
                .label(format!("read as `{}`", entry.header))
                .help(format!("write the header as in `{}`", entry.example));
            // A sheet is told by its second word, which may be the one that is wrong.
            if written == entry.header {
                return Some(finding);
            }
            let case_only = written.to_lowercase() == entry.header;
            Some(finding.replace(format!("write `{}`", entry.header), entry.header, case_only))
        });
    },
};

pub(super) static HEADER_UNKNOWN: Rule = Rule {
    name: "header-unknown",
    family: Family::Text,
    severity: Severity::Error,
    title: "a header that the language does not know",
    source: LANGUAGE,
    explanation: "Neither the word nor the lines below it show what the block is. It was not judged: no figure counts it. A \
                  name that it may define is not reported as missing.",
    mend: "Start the block with a word that the language knows.",
    bad: "leave out keep-clear brake-pipe\n\ngubbins shelf\n  colour        blue",
    good: "keep-clear shelf\n  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  ends          here",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::HeaderUnknown { nearest } = seen.slip.kind else { return None };
            let written = seen.text();
            let finding = findings
                .at(seen.place, format!("there is no kind of block called `{written}`; its lines are not judged"))
                .label("not a kind of block");
            Some(match (meant_by(written), nearest) {
                (Some(meant), _) => finding.help(format!("write `{meant}`; `trialfit words` lists all kinds of block")),
                (None, Some(near)) => finding
                    .help(format!("did you mean `{near}`? `trialfit words` lists all kinds of block"))
                    .replace(format!("write `{near}`"), near, false),
                (None, None) => finding
                    .help("write a header such as `tank main` or `exhaust of reader`; `trialfit words` lists all kinds of block"),
            })
        });
    },
};

pub(super) static NO_HEADER: Rule = Rule {
    name: "no-header",
    family: Family::Text,
    severity: Severity::Error,
    title: "indented lines without a header",
    source: LANGUAGE,
    explanation: "The lines stand after an empty line and do not fit the block above. They were not judged.",
    mend: "Write a header above them, or remove the empty line.",
    bad: "  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  ends          here",
    good: "keep-clear shelf\n  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  ends          here",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            if seen.slip.kind != SlipKind::NoHeader {
                return None;
            }
            Some(
                findings
                    .at(seen.place, format!("the lines from `{}` on have no header and are not judged", seen.text()))
                    .label("which block is this?")
                    .help("write a header above them at the left margin, such as `tank main`"),
            )
        });
    },
};

pub(super) static HEADER_INCOMPLETE: Rule = Rule {
    name: "header-incomplete",
    family: Family::Text,
    severity: Severity::Error,
    title: "a header without its name, or without the heater it belongs to",
    source: LANGUAGE,
    explanation: "Blocks are told apart by their names, and what serves a heater must say which heater. Without this, other \
                  blocks cannot refer to the block, and no check between blocks counts it.",
    mend: "Write the name, or `of` and the heater's name.",
    bad: "keep-clear\n  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  ends          here",
    good: "keep-clear shelf\n  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  ends          here",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::HeaderLacks { kind, name } = seen.slip.kind else { return None };
            let entry = words_of(kind);
            let lacks = match (name, entry.naming) {
                (true, Naming::Title) => "its title",
                (true, Naming::Rule) => "the rule it sets aside",
                (true, Naming::StockOf) => "what it is a stock of",
                (true, Naming::KindAlone | Naming::KindNameOf) => "the kind of block that it speaks of",
                (true, Naming::KitAs) => "the name that its heater takes",
                (false, Naming::KitAs) => "the kit that it fits",
                (true, _) => "its name",
                (false, _) => "the heater it belongs to",
            };
            Some(
                findings
                    .at(seen.place, format!("the header of {} lacks {lacks}", a_kind(kind)))
                    .label(format!("{lacks} is missing"))
                    .help(format!("write the header as in `{}`", entry.example)),
            )
        });
    },
};

pub(super) static RESERVED_NAME: Rule = Rule {
    name: "reserved-name",
    family: Family::Text,
    severity: Severity::Error,
    title: "a name that is a word of the language",
    source: LANGUAGE,
    explanation: "A few words, such as `of`, `from` and `in`, join the parts of a line. They cannot be names.",
    mend: "Give the block another name.",
    bad: "keep-clear on\n  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  ends          here",
    good: "keep-clear shelf\n  kind          timber\n  at            back 3 m, left 800 mm, up 1 m\n  ends          here",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            if seen.slip.kind != SlipKind::ReservedName {
                return None;
            }
            let written = seen.text();
            Some(
                findings
                    .at(seen.place, format!("`{written}` is a word of the language and cannot be a name"))
                    .label("not a name")
                    .help(format!("choose another name, such as `{written}-1`")),
            )
        });
    },
};

pub(super) static HEATER_WITHOUT_JOB: Rule = Rule {
    name: "heater-without-job",
    family: Family::Text,
    severity: Severity::Error,
    title: "a heater in a file that is no job",
    source: LANGUAGE,
    explanation: "A file is judged as an install where it has a `job` line. Without one it is read as a workshop file, which only \
                  holds what jobs share, and no rule looks at the exhaust, the alarm or the cable of a heater in it.",
    mend: "Write a `job` line with the job's name above the first block.",
    bad: "leave out job",
    good: "job \"Bench job\"\n  design-cold   -15 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        let Some((file, reading)) = job.readings.first() else { return };
        let opens = |block: &&Block| block.kind.is_some_and(|kind| kind.opens_a_job() || kind == Kind::Kit);
        if job.header.is_some() || job.hidden.has(Kind::Job) || reading.blocks.iter().any(|block| opens(&block)) {
            return;
        }
        let installs = |block: &&Block| matches!(block.kind, Some(Kind::Heater | Kind::Fit));
        if let Some(block) = reading.blocks.iter().find(installs) {
            let place = Place { file: *file, span: block.header };
            let finding = findings
                .at(place, "this file has a heater and no `job` line, so it is not judged as an install")
                .label("belongs to a job")
                .help("write `job \"what it is\"` above the first block, or `sketch \"what you ask\"` for a question");
            findings.add(finding);
        }
    },
};

pub(super) static NOTHING_STATED: Rule = Rule {
    name: "nothing-stated",
    family: Family::Text,
    severity: Severity::Error,
    title: "a file that states nothing",
    source: LANGUAGE,
    explanation: "A file without a block holds nothing to judge. A check that finds nothing in it would read like an approval.",
    mend: "Write the job, or take the file out of the folder.",
    bad: "leave out everything",
    good: "job \"Bench job\"\n  design-cold   -15 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let Some((file, reading)) = findings.job.readings.first() else { return };
        let says = |line: &str| !line.is_empty() && !line.starts_with('#') && !line.starts_with("trialfit");
        if reading.tree.text.lines().any(|line| says(line.trim())) {
            return;
        }
        let finding = findings
            .at(Place { file: *file, span: Span::default() }, "this file states nothing, so nothing is judged")
            .label("nothing is written here")
            .help("write `job \"…\"` and the heater below it, or take the file away");
        findings.add(finding);
    },
};

pub(super) static JOB_WITHOUT_HEATER: Rule = Rule {
    name: "job-without-heater",
    family: Family::Text,
    severity: Severity::Error,
    title: "a job without a heater",
    source: LANGUAGE,
    explanation: "A job is the install of a heater. Without a `heater` block, and without a kit that brings one, nothing is asked \
                  of it, and a check would find nothing.",
    mend: "Write a `heater` block, or fit a kit.",
    bad: "leave out reader and its runs",
    good: "job \"Bench job\"\n  design-cold   -15 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        let Some(header) = job.header.filter(|_| job.heaters.is_empty()) else { return };
        // A kit that could not be fitted is a finding of its own.
        let fits =
            job.readings.first().is_some_and(|(_, reading)| reading.blocks.iter().any(|it| it.kind == Some(Kind::Fit)));
        if job.sketch || fits || job.hidden.has(Kind::Heater) {
            return;
        }
        let finding = findings
            .at(header, "this job states no heater, so nothing of it is judged")
            .label("a job is the install of a heater")
            .help("write `heater NAME` with its data sheet and its place, or fit a kit");
        findings.add(finding);
    },
};

pub(crate) static ONLY_A_SKETCH: Rule = Rule {
    name: "only-a-sketch",
    family: Family::Text,
    severity: Severity::Warning,
    title: "a file that is only a sketch",
    source: LANGUAGE,
    explanation: "A sketch answers a question before there is a job: is this cable thick enough, is that pipe too long. What is \
                  written is judged like any job. What is not written is told in one line, and not fact by fact. So a \
                  sketch is never clean and never final: nobody builds from it.",
    mend: "Once it is to be built, write `job` in place of `sketch`, and what the check then asks for.",
    bad: "leave out job\n\nsketch \"is 4 mm² enough\"\n  design-cold   -15 °C",
    good: "job \"Bench job\"\n  design-cold   -15 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    // The engine says it, with the count of what is open.
    find: |_| {},
};

pub(super) static EDITION_MISSING: Rule = Rule {
    name: "edition-missing",
    family: Family::Text,
    severity: Severity::Warning,
    title: "a file that does not say its edition",
    source: LANGUAGE,
    explanation: "The first line says which edition of the language the file is written in. So the file still means the same \
                  in ten years. This one was read as edition 1.",
    mend: "Write `trialfit 1` as the first line.",
    bad: "follows \"bench-sheets.trialfit\"",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"",
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            if seen.slip.kind != SlipKind::EditionMissing {
                return None;
            }
            let mark = if seen.reading.tree.text.starts_with('\u{feff}') { 3 } else { 0 };
            Some(
                findings
                    .at(seen.place, format!("the file does not say its edition; it was read as edition {EDITION}"))
                    .label("the edition belongs above this")
                    .help(format!("write `trialfit {EDITION}` as the first line"))
                    .replace_at(
                        format!("write `trialfit {EDITION}` at the top"),
                        seen.at(Span::point(mark)),
                        format!("trialfit {EDITION}\n"),
                        true,
                    ),
            )
        });
    },
};

pub(super) static EDITION_LATER: Rule = Rule {
    name: "edition-later",
    family: Family::Text,
    severity: Severity::Error,
    title: "a file of a later edition than this tool knows",
    source: LANGUAGE,
    explanation: "The file says that it is written in a later edition. What edition 1 knows was read. The rest may mean \
                  something that this tool cannot judge.",
    mend: "Use a newer trialfit, or write the edition that the file is really in.",
    bad: "trialfit 2\nfollows \"bench-sheets.trialfit\"",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::EditionLater { edition } = seen.slip.kind else { return None };
            Some(
                findings
                    .at(seen.place, format!("the file is of edition {edition}; this tool knows up to {EDITION}"))
                    .label("a later edition")
                    .help("check the file with a newer trialfit; this one cannot judge all of it"),
            )
        });
    },
};

//! Rules on layers: kits and how they are fitted, what is asked and answered, what is usual, what is changed.

use super::engine::Findings;
use super::{Family, Guards, Rule};
use crate::finding::{Finding, Severity, Whose};
use crate::model::{Asked, Fitted, Job, LayerFault, LayerFaultKind, Sort};
use crate::reading::Value;
use crate::source::Place;
use crate::units::Quantity;
use crate::vocabulary::{Role, words_of};

pub(super) static RULES: &[&Rule] = &[
    &ANSWER_MISSING,
    &ANSWER_OUTSIDE_BOUNDS,
    &ANSWER_OF_OTHER_SORT,
    &ANSWER_NOT_ASKED,
    &ASKED_NAME_UNKNOWN,
    &ASKED_VALUE_MISPLACED,
    &ASKED_VALUE_UNUSED,
    &CHANGE_NOT_OPEN,
    &CHANGE_OF_NOTHING,
    &WITHOUT_NOTHING,
    &CHANGE_HAS_NO_PLACE,
    &KIT_HEATER_COUNT,
    &KIT_IN_KIT,
    &FIT_NAME_TWICE,
    &KIT_CONDITIONS_EXCEEDED,
    &LAYERS_DISAGREE,
    &USUAL_SAYS_PLACE,
];

/// Puts into words each fault between layers that a rule knows.
fn each(findings: &mut Findings<'_>, words: impl Fn(&Findings<'_>, &LayerFault) -> Option<Finding>) {
    for fault in &findings.job.layer_faults {
        if let Some(finding) = words(findings, fault) {
            let related = fault.related.iter().cloned();
            let finding = related.fold(finding, |finding, (place, label)| finding.related(place, label));
            findings.add(finding);
        }
    }
}

/// An answer as one might write it.
fn sample(asked: &Asked) -> String {
    match asked.sort {
        Sort::Quantity { usually: Some((usual, _)), .. } => usual.unit.show(usual.nominal),
        Sort::Quantity { bounds, .. } => bounds.unit.show(bounds.nominal),
        Sort::Thing(kind) => format!("NAME-OF-A-{}", words_of(kind).header.to_uppercase()),
    }
}

/// What a kit says it is made for, by the word.
fn made_for(job: &Job, fit: &Fitted, word: &str) -> Option<(Quantity, Place)> {
    let reading = job.reading(fit.kit_header.file)?;
    let block = reading.blocks.iter().find(|block| block.header == fit.kit_header.span)?;
    let line = reading.statements(block).iter().find(|line| line.word.is_some_and(|known| known.word == word))?;
    let arg = reading.args(line).iter().find(|arg| arg.role == Role::Amount)?;
    match arg.value {
        Value::Quantity(quantity) => Some((quantity, Place { file: fit.kit_header.file, span: line.span })),
        _ => None,
    }
}

static ANSWER_MISSING: Rule = Rule {
    name: "answer-missing",
    family: Family::Layers,
    severity: Severity::Error,
    title: "something a kit asks for that the job does not answer",
    source: "the language",
    explanation: "A kit leaves open what differs from vehicle to vehicle, and asks for it by name. Where nothing answers and the kit knows nothing usual, what rests on the answer is not judged.",
    mend: "Answer below the `fit` line.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::NotAnswered { asked, kit } = &fault.kind else { return None };
            let finding = findings
                .at(fault.place, format!("kit `{kit}` asks for `{}`, {}, and has 0 answers", asked.name, asked.reads()))
                .label(format!("`{}` is not answered", asked.name))
                .limit(format!("1 answer, {}", asked.reads()), Whose::Kit(kit.clone()))
                .help(format!("add a line below: `{} {}`", asked.name, sample(asked)));
            Some(finding)
        });
    },
};

static ANSWER_OUTSIDE_BOUNDS: Rule = Rule {
    name: "answer-outside-bounds",
    family: Family::Layers,
    severity: Severity::Error,
    title: "an answer outside the bounds of what a kit asks for",
    source: "the language",
    explanation: "The kit was worked through for what lies between its bounds. Beyond them nobody has: the fuse may not clear, the pump may not draw.",
    mend: "Fit it within the bounds, or write the blocks out in the job, where they are judged for themselves.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          4 m",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::OutOfBounds { asked, kit, value } = &fault.kind else { return None };
            let Sort::Quantity { bounds, .. } = asked.sort else { return None };
            let below = value.low < bounds.low;
            let (worst, bound) = if below { (value.low, bounds.low) } else { (value.high, bounds.high) };
            let side = if below { "less than" } else { "more than" };
            let limit = bounds.unit.show(bound);
            let finding = findings
                .at(
                    fault.place,
                    format!("`{}` is {}, {side} the {limit} that kit `{kit}` is made for", asked.name, value.unit.show(worst)),
                )
                .label(format!("{side} {limit}"))
                .limit(asked.bounds(), Whose::Kit(kit.clone()))
                .help("stay within the bounds, or write these blocks out in the job, where they are judged for themselves");
            Some(finding)
        });
    },
};

static ANSWER_OF_OTHER_SORT: Rule = Rule {
    name: "answer-of-other-sort",
    family: Family::Layers,
    severity: Severity::Error,
    title: "an answer that is not of the sort a kit asks for",
    source: "the language",
    explanation: "A kit asks for a length, a space, a tank: each answer is of that sort, so that it can stand where the kit uses it.",
    mend: "Answer with what is asked for.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          12 V",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::OtherSort { asked, kit } = &fault.kind else { return None };
            let written = findings.job.text(fault.place).to_string();
            let finding = findings
                .at(fault.place, format!("`{}` is {}, and `{written}` is not", asked.name, asked.reads()))
                .label(format!("not {}", asked.reads()))
                .limit(asked.reads(), Whose::Kit(kit.clone()))
                .help(format!("write `{} {}`", asked.name, sample(asked)));
            Some(finding)
        });
    },
};

static ANSWER_NOT_ASKED: Rule = Rule {
    name: "answer-not-asked",
    family: Family::Layers,
    severity: Severity::Error,
    title: "an answer to what the kit does not ask",
    source: "the language",
    explanation: "A line below `fit` answers what the kit asks for by that name. A word that the kit does not know answers nothing.",
    mend: "Correct the word, or take the line away.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feeed         1.6 m",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::NotAsked { kit, nearest, asks } = &fault.kind else { return None };
            let written = findings.job.text(fault.place).to_string();
            let finding = findings
                .at(fault.place, format!("kit `{kit}` asks for {asks} things, and `{written}` is none of them"))
                .label("not asked for")
                .limit(format!("the {asks} names that it asks for"), Whose::Kit(kit.clone()));
            Some(match nearest {
                Some(near) => {
                    finding.help(format!("`{near}` is near")).replace(format!("write `{near}`"), near.clone(), false)
                }
                None => finding.help("take the line away, or fit another kit"),
            })
        });
    },
};

static ASKED_NAME_UNKNOWN: Rule = Rule {
    name: "asked-name-unknown",
    family: Family::Layers,
    severity: Severity::Error,
    title: "`the NAME` where no kit asks for that name",
    source: "the language",
    explanation: "`the NAME` stands for what a kit asks for by that name. It means something only within that kit.",
    mend: "Ask for it in the kit, or write the value.",
    bad: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        the charge\n  cranks        nothing\n  at            back 1200 mm, left 600 mm, up 700 mm",
    good: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  cranks        nothing\n  at            back 1200 mm, left 600 mm, up 700 mm",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::AskedUnknown { name, in_kit, nearest } = &fault.kind else { return None };
            let title = match in_kit {
                true => format!("the kit does not ask for `{name}`"),
                false => format!("`the {name}` stands outside any kit and is the name of 0 values"),
            };
            let finding = findings
                .at(fault.place, title)
                .label("0 kits ask for it here")
                .limit("1 `asks` line of that name, in the kit itself", Whose::Language);
            Some(match nearest {
                Some(near) => finding.help(format!("`{near}` is near")).replace(
                    format!("write `the {near}`"),
                    format!("the {near}"),
                    false,
                ),
                None if *in_kit => finding.help(format!("add `asks {name}` to the kit, with its bounds")),
                None => finding.help("write the value itself"),
            })
        });
    },
};

static ASKED_VALUE_MISPLACED: Rule = Rule {
    name: "asked-value-misplaced",
    family: Family::Layers,
    severity: Severity::Error,
    title: "what a kit asks for, where something of another dimension is wanted",
    source: "the language",
    explanation: "A kit uses what it asks for as it is, so a length can only stand where a length is wanted.",
    mend: "Ask for the dimension that is wanted there, or use another of the values asked for.",
    bad: "kit spare\n  asks          reach, length 1 m .. 2 m\n\nheater spare-it\n  in            outside\n  tilt          the reach",
    good: "kit spare\n  asks          lean, angle 0° .. 5°\n\nheater spare-it\n  in            outside\n  tilt          the lean",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::AskedOtherDimension { asked, wanted } = &fault.kind else { return None };
            let (wanted, sample) = wanted.describe();
            let finding = findings
                .at(fault.place, format!("{wanted} is wanted here, and `{}` is {}", asked.name, asked.reads()))
                .label(format!("not {wanted}"))
                .limit(format!("{wanted}, such as {sample}"), Whose::Language)
                .help(format!("ask for {wanted} in the kit, and use that"));
            Some(finding)
        });
    },
};

static ASKED_VALUE_UNUSED: Rule = Rule {
    name: "asked-value-unused",
    family: Family::Layers,
    severity: Severity::Advice,
    title: "something a kit asks for and never uses",
    source: "the language",
    explanation: "Whoever fits the kit must measure and answer it, and nothing comes of that; or the line that should use it says a fixed value.",
    mend: "Use it, or no longer ask for it.",
    bad: "kit spare\n  asks          reach, length 1 m .. 2 m\n\nheater spare-it\n  in            outside",
    good: "kit spare\n  asks          lean, angle 0° .. 5°\n\nheater spare-it\n  in            outside\n  tilt          the lean",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::AskedUnused { asked } = &fault.kind else { return None };
            let finding = findings
                .at(fault.place, format!("`{}` is asked for and used 0 times in the kit", asked.name))
                .label("never used")
                .limit("1 use of what is asked for", Whose::Language)
                .help(match asked.sort {
                    Sort::Quantity { .. } => {
                        format!("write `the {}` where it belongs, or take the line away", asked.name)
                    }
                    Sort::Thing(_) => format!("name `{}` where it belongs, or take the line away", asked.name),
                });
            Some(finding)
        });
    },
};

static CHANGE_NOT_OPEN: Rule = Rule {
    name: "change-not-open",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a change to what a kit does not leave open",
    source: "the language",
    explanation: "Whoever made the kit worked it through as a whole, and says what a job may change without asking again. Anything else is no longer that kit. The change is not made.",
    mend: "Leave it as it is, have the kit opened, or write the blocks out in the job.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange cable supply of reader\n  insulation    90 °C",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange cable supply of reader\n  size          6 mm²",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::NotOpen { kit, what } = &fault.kind else { return None };
            let finding = findings
                .at(fault.place, format!("kit `{kit}` does not leave `{what}` open to change"))
                .label("this change is not made")
                .limit("what its `open` lines name", Whose::Kit(kit.clone()))
                .help(format!(
                    "leave it as it is, or have `open {what}` written into the kit by those who answer for it"
                ));
            Some(finding)
        });
    },
};

static CHANGE_OF_NOTHING: Rule = Rule {
    name: "change-of-nothing",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a change to a block that no fitted kit has",
    source: "the language",
    explanation: "`change` speaks of a block of a kit that this job fits, by the name that the kit has in the job. A block of the job itself is edited where it stands.",
    mend: "Name the block as the fit makes it, or edit the block itself.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange cable return of reader\n  size          6 mm²",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange cable supply of reader\n  size          6 mm²",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::ChangeOfNothing { what } = &fault.kind else { return None };
            let count = findings.job.fits.len();
            let finding = findings
                .at(fault.place, format!("`{what}` is no block of {}", match count {
                    0 => "a kit: 0 kits are fitted here".to_string(),
                    1 => "the 1 kit that is fitted here".to_string(),
                    _ => format!("any of the {count} kits that are fitted here"),
                }))
                .label("0 blocks to change")
                .limit("1 block of a fitted kit", Whose::Language)
                .help("name the block as the fit makes it, as in `change exhaust of bunk`; edit a block of the job itself where it stands");
            Some(finding)
        });
    },
};

static WITHOUT_NOTHING: Rule = Rule {
    name: "without-nothing",
    family: Family::Layers,
    severity: Severity::Error,
    title: "`without` a word that the block does not say",
    source: "the language",
    explanation: "The kit does not say it, so there is nothing to take away. Perhaps the word is misspelt, and what was to go is still there.",
    mend: "Correct the word, or take the line away.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange exhaust of reader\n  without       silencer",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange exhaust of reader\n  note          \"as the kit says\"",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::WithoutNothing { word } = &fault.kind else { return None };
            let finding = findings
                .at(fault.place, format!("the kit's block says `{word}` 0 times, so there is nothing to do without"))
                .label("nothing is taken away")
                .limit("1 line of that word in the kit", Whose::Language)
                .help("correct the word, or take the line away");
            Some(finding)
        });
    },
};

static CHANGE_HAS_NO_PLACE: Rule = Rule {
    name: "change-has-no-place",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a change to something that the kit has nowhere along its walk",
    source: "the language",
    explanation: "A fuse, a silencer or a drain hole lies at a point of the walk. Where the kit has none, nobody can tell where the new one is to be. The change is not made.",
    mend: "Say the walk anew as a whole, with the new thing where it belongs.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange exhaust of reader\n  silencer      250 mm",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange exhaust of reader\n  note          \"as the kit says\"",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::NoPlace { word } = &fault.kind else { return None };
            let finding = findings
                .at(
                    fault.place,
                    format!("`{word}` lies at a point of the walk, and the kit's walk has 0 of them to replace"),
                )
                .label("nobody can tell where")
                .limit("1 such line in the kit's walk, or the whole walk said anew", Whose::Language)
                .help(format!("say the walk anew as a whole, with `{word}` where it belongs"));
            Some(finding)
        });
    },
};

static KIT_HEATER_COUNT: Rule = Rule {
    name: "kit-heater-count",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a kit that has not exactly one heater",
    source: "the language",
    explanation: "A fit gives its name to the one heater of the kit, and every other name follows from that. Two heaters are two kits.",
    mend: "Give the kit one heater.",
    bad: "kit spare\n  runs-for      8 h",
    good: "kit spare\n  runs-for      8 h\n\nheater spare-it\n  in            outside",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::HeaterCount { kit, count } = &fault.kind else { return None };
            let finding = findings
                .at(fault.place, format!("kit `{kit}` has {count} heaters"))
                .label(format!("{count} heaters"))
                .limit("1 heater in a kit", Whose::Language)
                .help("give it one heater; two heaters are two kits");
            Some(finding)
        });
    },
};

static KIT_IN_KIT: Rule = Rule {
    name: "kit-in-kit",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a kit within a kit",
    source: "the language",
    explanation: "A kit is made of plain blocks, so that whoever reads it sees all of it, and whoever changes it knows what follows. The line is not read.",
    mend: "Write the blocks out in the kit.",
    bad: "kit spare\n  runs-for      8 h\n\nheater spare-it\n  in            outside\n\nfit cabin-2 as other",
    good: "kit spare\n  runs-for      8 h\n\nheater spare-it\n  in            outside",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            if fault.kind != LayerFaultKind::KitInKit {
                return None;
            }
            let finding = findings
                .at(fault.place, "a kit fits or changes 0 other kits, and this one does")
                .label("not read within a kit")
                .limit("plain blocks alone in a kit", Whose::Language)
                .help("write the blocks out here, or fit both kits in the job");
            Some(finding)
        });
    },
};

static FIT_NAME_TWICE: Rule = Rule {
    name: "fit-name-twice",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a name that two fits give",
    source: "the language",
    explanation: "The name behind `as` is that of the heater, and tells the blocks of one fit from those of another. The second fit is not read.",
    mend: "Give the second fit a name of its own.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::FitTwice { name } = &fault.kind else { return None };
            let finding = findings
                .at(fault.place, format!("`{name}` is already the name of another fit"))
                .label("this fit is not read")
                .limit("1 fit of a name", Whose::Language)
                .help(format!("give it another name, such as `{name}-2`"));
            Some(finding)
        });
    },
};

static KIT_CONDITIONS_EXCEEDED: Rule = Rule {
    name: "kit-conditions-exceeded",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a job beyond the conditions that a kit is made for",
    source: "the language",
    explanation: "A kit says how cold, how high and for how long it was worked through. A job that asks more of it has no answer from whoever made it.",
    mend: "Fit a kit that is made for it, or write the blocks out in the job.",
    bad: "job \"Bench job: one van, one cabin\"             # invented\n  number        BENCH-1\n  design-cold   -15 °C\n  mild-night    5 °C\n  altitude      0 m .. 1200 m\n  runs-for      8 h\n\ntrialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m",
    guards: Guards::Text,
    find: |findings| {
        let job = findings.job;
        for fit in &job.fits {
            for (word, stated) in [
                ("design-cold", &job.conditions.design_cold),
                ("altitude", &job.conditions.altitude),
                ("runs-for", &job.conditions.runs_for),
                ("design-hot", &job.conditions.design_hot),
                ("snow-depth", &job.conditions.snow_depth),
            ] {
                let (Some(stated), Some((limit, place))) = (stated.fact(), made_for(job, fit, word)) else { continue };
                let colder = word == "design-cold";
                let (asked, made) =
                    if colder { (stated.value.low, limit.low) } else { (stated.value.high, limit.high) };
                let slack = 1e-9 * made.abs();
                let beyond = if colder { asked < made - slack } else { asked > made + slack };
                if !beyond {
                    continue;
                }
                let unit = stated.value.unit;
                let finding = findings
                    .at(
                        fit.header,
                        format!(
                            "the job's `{word}` is {}, and kit `{}` is made for {}",
                            unit.show(asked),
                            fit.kit,
                            unit.show(made)
                        ),
                    )
                    .label(format!("made for {}", unit.show(made)))
                    .limit(format!("{word} {}", limit.unit.show(made)), Whose::Kit(fit.kit.clone()))
                    .related(place, "the kit says what it is made for")
                    .related(stated.written, "the job asks for this")
                    .help("fit a kit that is made for it, or write its blocks out in the job, where they are judged for themselves");
                findings.add(finding);
            }
        }
    },
};

static LAYERS_DISAGREE: Rule = Rule {
    name: "layers-disagree",
    family: Family::Layers,
    severity: Severity::Error,
    title: "two followed files that disagree",
    source: "the language",
    explanation: "A job stands over the files that it follows, and a file over those that it follows itself. Of two files of which neither follows the other neither counts for more, and the order of lines decides nothing. The first was taken.",
    mend: "Let one of the two follow the other, or say it in the job.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-usual-90.trialfit\"\nfollows \"bench-usual-105.trialfit\"",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-usual-105.trialfit\"",
    guards: Guards::Text,
    find: |findings| {
        let job = findings.job;
        each(findings, |findings, fault| {
            let LayerFaultKind::Disagree { what, first, second } = &fault.kind else { return None };
            let place = job.leads_to(fault.place.file).unwrap_or(fault.place);
            let finding = findings
                .at(place, format!("2 followed files disagree about {what}: `{first}` and `{second}`"))
                .label(format!("says `{second}`"))
                .limit("1 file that follows the other, or 1 that says it for both", Whose::Language)
                .help("let one of the two files follow the other, or say it in this file");
            Some(if place == fault.place { finding } else { finding.related(fault.place, "and this") })
        });
    },
};

static USUAL_SAYS_PLACE: Rule = Rule {
    name: "usual-says-place",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a place along a walk that is called usual",
    source: "the language",
    explanation: "What is usual holds for every block of a kind. Where along its way something lies is a matter of each walk, and so is where a thing stands in the vehicle. The line is not read.",
    mend: "Say it in the block itself, or in a kit.",
    bad: "usual cable\n  insulation    105 °C\n  fuse          20 A",
    good: "usual cable\n  insulation    105 °C",
    guards: Guards::Text,
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::UsualPlace { word, kind } = &fault.kind else { return None };
            let reads = words_of(*kind).reads();
            let finding = findings
                .at(fault.place, format!("`{word}` says a place, and 0 places are usual for every {reads}"))
                .label("not read here")
                .limit("properties that hold for the whole of a block", Whose::Language)
                .help(format!("say it in each {reads}, or in a kit"));
            Some(finding)
        });
    },
};

//! Rules on layers: kits and how they are fitted, what is asked and answered, what is usual, what is changed.

use super::engine::Findings;
use super::{Family, Guards, Rule};
use crate::finding::{Finding, Severity, Whose};
use crate::model::{Asked, Fitted, Job, LayerFault, LayerFaultKind, Sort};
use crate::reading::Value;
use crate::rules::About;
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
    title: "a value that a kit asks for and the job does not give",
    source: "the language",
    explanation: "A kit asks by name for what differs from vehicle to vehicle. If the job gives no answer and the kit has no usual one, what rests on the answer is not judged.",
    mend: "Answer below the `fit` line.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::NotAnswered { asked, kit } = &fault.kind else { return None };
            let finding = findings
                .at(
                    fault.place,
                    format!("kit `{kit}` asks for `{}`, {}; the job does not answer", asked.name, asked.reads()),
                )
                .label(format!("`{}` is not answered", asked.name))
                .limit(asked.reads(), Whose::Kit(kit.clone()))
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
    explanation: "The kit was worked out for values between its bounds. Outside them nobody has checked it: the fuse may not blow, the pump may not draw.",
    mend: "Stay within the bounds. Or write the blocks in the job itself, where each is judged.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          4 m",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
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
                    format!(
                        "`{}` is {}, {side} the {limit} that kit `{kit}` is made for",
                        asked.name,
                        value.unit.show(worst)
                    ),
                )
                .label(format!("{side} {limit}"))
                .limit(asked.bounds(), Whose::Kit(kit.clone()))
                .help("stay within the bounds, or write these blocks in the job itself, where each is judged");
            Some(finding)
        });
    },
};

static ANSWER_OF_OTHER_SORT: Rule = Rule {
    name: "answer-of-other-sort",
    family: Family::Layers,
    severity: Severity::Error,
    title: "an answer of another sort than the kit asks for",
    source: "the language",
    explanation: "A kit asks for a length, a space or a tank. The answer must be of that sort, because the kit uses it in that place.",
    mend: "Answer with what is asked for.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          12 V",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::OtherSort { asked, kit } = &fault.kind else { return None };
            let written = findings.job.text(fault.place).to_string();
            let finding = findings
                .at(fault.place, format!("`{}` needs {}; `{written}` is something else", asked.name, asked.reads()))
                .label("not what is asked for")
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
    title: "an answer to something that the kit does not ask",
    source: "the language",
    explanation: "Each line below `fit` answers a question of the kit, by its name. The kit does not ask for this name, so the line answers nothing.",
    mend: "Correct the word, or remove the line.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feeed         1.6 m",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::NotAsked { kit, nearest } = &fault.kind else { return None };
            let written = findings.job.text(fault.place).to_string();
            let finding = findings
                .at(fault.place, format!("kit `{kit}` does not ask for `{written}`"))
                .label("not asked for")
                .limit("the names that it asks for", Whose::Kit(kit.clone()));
            Some(match nearest {
                Some(near) => finding.help(format!("did you mean `{near}`?")).replace(
                    format!("write `{near}`"),
                    near.clone(),
                    false,
                ),
                None => finding.help("remove the line, or fit another kit"),
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
    explanation: "`the NAME` stands for the answer to what a kit asks by that name. It has a meaning only inside that kit.",
    mend: "Ask for it in the kit, or write the value.",
    bad: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        the charge\n  cranks        nothing\n  at            back 1200 mm, left 600 mm, up 700 mm",
    good: "battery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        90 %\n  cranks        nothing\n  at            back 1200 mm, left 600 mm, up 700 mm",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::AskedUnknown { name, in_kit, nearest } = &fault.kind else { return None };
            let title = match in_kit {
                true => format!("the kit does not ask for `{name}`"),
                false => format!("`the {name}` has a meaning only inside a kit that asks for `{name}`"),
            };
            let finding = findings.at(fault.place, title).label("nothing asks for it here");
            Some(match nearest {
                Some(near) => finding.help(format!("did you mean `{near}`?")).replace(
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
    title: "an answer to a kit where another sort of value belongs",
    source: "the language",
    explanation: "A kit uses the answer as it is. A length can only stand where a length belongs.",
    mend: "Ask for the sort of value that belongs there, or use another that the kit asks for.",
    bad: "kit spare\n  asks          reach, length 1 m .. 2 m\n\nheater spare-it\n  in            outside\n  tilt          the reach",
    good: "kit spare\n  asks          lean, angle 0° .. 5°\n\nheater spare-it\n  in            outside\n  tilt          the lean",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::AskedOtherDimension { asked, wanted } = &fault.kind else { return None };
            let (wanted, sample) = wanted.describe();
            let finding = findings
                .at(fault.place, format!("expected {wanted} here; `{}` is {}", asked.name, asked.reads()))
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
    title: "a value that a kit asks for and never uses",
    source: "the language",
    explanation: "Whoever fits the kit must measure it for nothing. Or the line that should use it has a fixed value.",
    mend: "Use it, or do not ask for it.",
    bad: "kit spare\n  asks          reach, length 1 m .. 2 m\n\nheater spare-it\n  in            outside",
    good: "kit spare\n  asks          lean, angle 0° .. 5°\n\nheater spare-it\n  in            outside\n  tilt          the lean",
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::AskedUnused { asked } = &fault.kind else { return None };
            let finding = findings
                .at(fault.place, format!("the kit asks for `{}` and never uses it", asked.name))
                .label("never used")
                .help(match asked.sort {
                    Sort::Quantity { .. } => {
                        format!("write `the {}` where it belongs, or remove the line", asked.name)
                    }
                    Sort::Thing(_) => format!("name `{}` where it belongs, or remove the line", asked.name),
                });
            Some(finding)
        });
    },
};

static CHANGE_NOT_OPEN: Rule = Rule {
    name: "change-not-open",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a change that the kit does not allow",
    source: "the language",
    explanation: "Whoever made the kit worked it out as a whole, and says what a job may change without asking. With any other change it is not that kit any more. The change is not made.",
    mend: "Leave it as it is, ask for the kit to allow it, or write the blocks in the job itself.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange cable supply of reader\n  insulation    90 °C",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange cable supply of reader\n  size          6 mm²",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::NotOpen { kit, what } = &fault.kind else { return None };
            let finding = findings
                .at(fault.place, format!("kit `{kit}` does not allow a change to `{what}`"))
                .label("this change is not made")
                .limit("only what its `open` lines name", Whose::Kit(kit.clone()))
                .help(format!("leave it as it is, or ask those who answer for the kit to write `open {what}` into it"));
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
    explanation: "`change` names a block of a kit that this job fits, by its name in the job. Change a block of the job itself where it stands.",
    mend: "Use the name that the block has after the fit, or change the block itself.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange cable return of reader\n  size          6 mm²",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange cable supply of reader\n  size          6 mm²",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::ChangeOfNothing { what } = &fault.kind else { return None };
            let count = findings.job.fits.len();
            let finding = findings
                .at(fault.place, match count {
                    0 => format!("`{what}` cannot be changed: no kit is fitted here"),
                    1 => format!("the kit that is fitted here has no `{what}`"),
                    _ => format!("no kit that is fitted here has `{what}`"),
                })
                .label("nothing to change")
                .help("use the name that the block has after the fit, as in `change exhaust of bunk`; change a block of the job itself where it stands");
            Some(finding)
        });
    },
};

static WITHOUT_NOTHING: Rule = Rule {
    name: "without-nothing",
    family: Family::Layers,
    severity: Severity::Error,
    title: "`without` a word that the kit's block does not have",
    source: "the language",
    explanation: "The kit's block has no such line, so nothing is taken away. Perhaps the word is misspelt, and the line that should go is still there.",
    mend: "Correct the word, or remove the line.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange exhaust of reader\n  without       silencer",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange exhaust of reader\n  note          \"as the kit says\"",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::WithoutNothing { word } = &fault.kind else { return None };
            let finding = findings
                .at(fault.place, format!("the kit's block has no `{word}` to take away"))
                .label("takes nothing away")
                .help("correct the word, or remove the line");
            Some(finding)
        });
    },
};

static CHANGE_HAS_NO_PLACE: Rule = Rule {
    name: "change-has-no-place",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a change to something that the kit's walk does not have",
    source: "the language",
    explanation: "A fuse, a silencer or a drain hole lies at one point of the walk. If the kit has none, nobody can tell where the new one goes. The change is not made.",
    mend: "Write the whole walk again, with the new thing in its place.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange exhaust of reader\n  silencer      250 mm",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nchange exhaust of reader\n  note          \"as the kit says\"",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::NoPlace { word } = &fault.kind else { return None };
            let finding = findings
                .at(fault.place, format!("the kit's walk has no `{word}`, so nobody can tell where this one goes"))
                .label("where along the walk?")
                .help(format!("write the whole walk again, with `{word}` in its place"));
            Some(finding)
        });
    },
};

static KIT_HEATER_COUNT: Rule = Rule {
    name: "kit-heater-count",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a kit with no heater, or with more than one",
    source: "the language",
    explanation: "A fit gives its name to the kit's one heater, and the other names follow from that. Two heaters need two kits.",
    mend: "Give the kit one heater.",
    bad: "kit spare\n  runs-for      8 h",
    good: "kit spare\n  runs-for      8 h\n\nheater spare-it\n  in            outside",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::HeaterCount { kit, count } = &fault.kind else { return None };
            let (has, help) = match count {
                0 => ("no heater".to_string(), "write the kit's heater"),
                _ => (format!("{count} heaters"), "write one kit for each heater"),
            };
            let finding = findings
                .at(fault.place, format!("kit `{kit}` has {has}"))
                .label(has)
                .limit("one heater in each kit", Whose::Language)
                .help(help);
            Some(finding)
        });
    },
};

static KIT_IN_KIT: Rule = Rule {
    name: "kit-in-kit",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a kit inside a kit",
    source: "the language",
    explanation: "A kit is made of plain blocks. Whoever reads it sees all of it, and whoever changes it knows what follows. This line is not read.",
    mend: "Write the blocks in the kit itself.",
    bad: "kit spare\n  runs-for      8 h\n\nheater spare-it\n  in            outside\n\nfit cabin-2 as other",
    good: "kit spare\n  runs-for      8 h\n\nheater spare-it\n  in            outside",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            if fault.kind != LayerFaultKind::KitInKit {
                return None;
            }
            let finding = findings
                .at(fault.place, "a kit cannot contain another kit, or change one")
                .label("not read inside a kit")
                .help("write the blocks here, or fit both kits in the job");
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
    explanation: "The name after `as` is the heater's name. It tells the blocks of one fit from those of another. The second fit is not read.",
    mend: "Give the second fit a name of its own.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::FitTwice { name } = &fault.kind else { return None };
            let finding = findings
                .at(fault.place, format!("`{name}` is already the name of another fit"))
                .label("this fit is not read")
                .help(format!("give it another name, such as `{name}-2`"));
            Some(finding)
        });
    },
};

static KIT_CONDITIONS_EXCEEDED: Rule = Rule {
    name: "kit-conditions-exceeded",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a job that asks more of a kit than it is made for",
    source: "the language",
    explanation: "A kit says how cold, how high and how long it is made for. Nobody has worked it out for more.",
    mend: "Fit a kit that is made for it, or write the blocks in the job itself.",
    bad: "job \"Bench job: one van, one cabin\"             # invented\n  number        BENCH-1\n  design-cold   -15 °C\n  mild-night    5 °C\n  altitude      0 m .. 1200 m\n  runs-for      8 h\n\ntrialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-kits.trialfit\"\n\nleave out reader and its runs\n\nfit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
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
                            "the job's `{word}` is {}; kit `{}` is made for {}",
                            unit.show(asked),
                            fit.kit,
                            unit.show(made)
                        ),
                    )
                    .label(format!("made for {}", unit.show(made)))
                    .limit(format!("{word} {}", limit.unit.show(made)), Whose::Kit(fit.kit.clone()))
                    .related(place, "the kit says what it is made for")
                    .related(stated.written, "the job asks for this")
                    .help("fit a kit that is made for it, or write its blocks in the job itself, where each is judged");
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
    explanation: "What a job says counts for more than what its followed files say. The same holds for a file and the files that it follows. If neither of two files follows the other, neither counts for more. The order of the lines does not decide. The first was taken.",
    mend: "Let one of the two follow the other, or write the value in the job.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-usual-90.trialfit\"\nfollows \"bench-usual-105.trialfit\"",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench-usual-105.trialfit\"",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        each(findings, |findings, fault| {
            let LayerFaultKind::Disagree { what, first, second } = &fault.kind else { return None };
            let place = job.leads_to(fault.place.file).unwrap_or(fault.place);
            let finding = findings
                .at(place, format!("two followed files disagree about {what}: `{first}` and `{second}`"))
                .label(format!("says `{second}`"))
                .help("let one of the two files follow the other, or write the value in this file");
            Some(if place == fault.place { finding } else { finding.related(fault.place, "the other value") })
        });
    },
};

static USUAL_SAYS_PLACE: Rule = Rule {
    name: "usual-says-place",
    family: Family::Layers,
    severity: Severity::Error,
    title: "a place that is called usual",
    source: "the language",
    explanation: "What is usual holds for every block of a kind. Where something lies along a walk, or stands in the vehicle, differs from block to block. The line is not read.",
    mend: "Write it in the block itself, or in a kit.",
    bad: "usual cable\n  insulation    105 °C\n  fuse          20 A",
    good: "usual cable\n  insulation    105 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each(findings, |findings, fault| {
            let LayerFaultKind::UsualPlace { word, kind } = &fault.kind else { return None };
            let reads = words_of(*kind).reads();
            let finding = findings
                .at(fault.place, format!("`{word}` says where something is; that cannot be usual for every {reads}"))
                .label("not read here")
                .limit("only what holds for a whole block", Whose::Language)
                .help(format!("write it in each {reads}, or in a kit"));
            Some(finding)
        });
    },
};

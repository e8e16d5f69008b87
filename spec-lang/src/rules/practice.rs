//! Rules on a workshop's practice, and what it does to the findings of others: levels raised, limits tightened, blocks asked
//! for. A practice never makes a rule milder.

use super::concessions::nearest_rule;
use super::margin::{Bound, Judged, Stand};
use super::{Family, Findings, Guards, Rule, find};
use crate::finding::{Finding, Severity, Whose};
use crate::model::{Fact, HouseLimit, Job, Practice};
use crate::rules::About;
use crate::vocabulary::words_of;

pub(super) static RULES: &[&Rule] = &[
    &PRACTICE_RULE_UNKNOWN,
    &PRACTICE_LOWERS_LEVEL,
    &PRACTICE_LIMIT_MISFITS,
    &PRACTICE_LIMIT_LOOSE,
    &PRACTICE_BLOCK_MISSING,
];

/// The limits of a job's practices for a rule.
fn limits_for<'a>(job: &'a Job, rule: &'a str) -> impl Iterator<Item = (&'a Practice, &'a HouseLimit)> {
    let all = job.practices.iter().flat_map(|practice| practice.limits.iter().map(move |limit| (practice, limit)));
    all.filter(move |(_, limit)| limit.rule.value == rule)
}

/// Whether a practice tightens that rule.
pub(super) fn limits(job: &Job, rule: &Rule) -> bool {
    limits_for(job, rule.name).next().is_some()
}

/// A limit as written, SI, where it measures what was judged; of a range the stricter end.
fn read(judged: &Judged, limit: &HouseLimit) -> Option<f64> {
    let value = limit.value.value;
    let stricter = if judged.bound == Bound::AtMost { value.low } else { value.high };
    judged.read(stricter, value.unit)
}

/// A comparison against the strictest limit of the practices that is stricter than the rule's own.
pub(super) fn tightened<'a>(job: &'a Job, judged: &Judged) -> Option<(Judged, &'a HouseLimit)> {
    let known =
        limits_for(job, judged.rule.name).filter_map(|(practice, limit)| Some((practice, limit, read(judged, limit)?)));
    let strictest = known.reduce(|best, next| if judged.bound.beyond(best.2, next.2) > 0.0 { next } else { best });
    let (practice, limit, value) = strictest.filter(|(.., value)| judged.bound.beyond(judged.limit, *value) > 0.0)?;
    Some((judged.with_limit(value, Whose::House(practice.title.clone())), limit))
}

/// Findings where a figure keeps a rule's own limit and breaks the tighter one of a practice.
pub(super) fn house_findings(job: &Job, judged: &[Judged]) -> Vec<Finding> {
    let mut found = Vec::new();
    for own in judged.iter().filter(|own| own.stand.keeps()) {
        let Some((house, line)) = tightened(job, own).filter(|(house, _)| !house.stand.keeps()) else { continue };
        let certain = house.stand == Stand::Breaks;
        let value = if certain { house.figure.nominal } else { house.worst() };
        let is = if certain { "is" } else { "may be" };
        let (figure, limit) = told_apart(&house, value);
        let beyond = house.bound.beyond(value, house.limit);
        let lacks = if house.bound == Bound::AtMost { "too much" } else { "too little" };
        let by = house.show_gap(beyond);
        let mut finding = Finding::new(
            own.rule,
            own.place,
            format!(
                "{} {is} {figure}; {} asks for {limit} {}",
                own.what,
                the_practice(&house.whose),
                house.bound.words()
            ),
        )
        .label(format!("{by} {lacks}"))
        .why(format!("the rule's own limit of {} {} is kept ({})", own.show(own.limit), own.bound.words(), own.whose))
        .limit(format!("{limit} {}", house.bound.words()), house.whose.clone())
        .help(format!("bring it to {limit} (the rule's page says how), or have a concession granted"))
        .related(line.place, "the practice asks for it here");
        if own.rule.life_safety() {
            finding = finding.help(format!("bring it to {limit}; the rule's page says how"));
        }
        finding.severity = Severity::Warning;
        found.push(finding);
    }
    found
}

/// `the practice "Northern workshops"`.
fn the_practice(whose: &Whose) -> String {
    match whose {
        Whose::House(title) => format!("the practice \"{title}\""),
        other => other.to_string(),
    }
}

/// Figure and limit as read; two that would round to the same with the gap between them.
fn told_apart(judged: &Judged, value: f64) -> (String, String) {
    let (figure, limit) = (judged.show(value), judged.show(judged.limit));
    if figure != limit {
        return (figure, limit);
    }
    let gap = judged.show_gap((value - judged.limit).abs());
    let side = if value > judged.limit { "more" } else { "less" };
    (format!("{gap} {side} than {limit}"), limit)
}

/// Raises a finding to the gravest level that a practice gives its rule.
pub(super) fn raise(job: &Job, finding: &mut Finding) {
    let levels = job.practices.iter().flat_map(|practice| practice.levels.iter().map(move |level| (practice, level)));
    let own = levels.filter(|(_, level)| level.rule.value == finding.rule.name);
    let gravest = own.filter_map(|(practice, level)| Some((practice, level, severity(level.level)?)));
    let Some((practice, level, severity)) = gravest.reduce(|best, next| if next.2 > best.2 { next } else { best })
    else {
        return;
    };
    if severity > finding.severity {
        finding.severity = severity;
        let label = format!("raised to {} by {}", severity.word(), Whose::House(practice.title.clone()));
        finding.related.push(crate::finding::Related { place: level.place, label });
    }
}

fn severity(word: &str) -> Option<Severity> {
    [Severity::Warning, Severity::Error].into_iter().find(|severity| severity.word() == word)
}

/// The practices of the file at hand: what a followed file says of itself is told there.
fn own(job: &Job) -> impl Iterator<Item = &Practice> {
    job.practices.iter().filter(|practice| job.own(practice.header))
}

static PRACTICE_RULE_UNKNOWN: Rule = Rule {
    name: "practice-rule-unknown",
    family: Family::Practice,
    severity: Severity::Error,
    title: "a practice for a rule that does not exist",
    source: "the language",
    explanation: "A line of the practice names a rule that the tool does not have. The line asks for nothing.",
    mend: "Write the rule's name as the reports show it.",
    bad: "practice \"Northern workshops\"\n  limit         exhaust-to-long, 1.5 m",
    good: "practice \"Northern workshops\"\n  limit         exhaust-too-long, 1.5 m",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        for practice in own(job) {
            let levels = practice.levels.iter().map(|level| &level.rule);
            for name in levels.chain(practice.limits.iter().map(|limit| &limit.rule)) {
                unknown(findings, name);
            }
        }
    },
};

fn unknown(findings: &mut Findings<'_>, name: &Fact<String>) {
    if find(&name.value).is_some() {
        return;
    }
    let finding =
        findings.at(name.written, format!("there is no rule `{}`", name.value)).label("no rule has this name");
    findings.add(match nearest_rule(&name.value) {
        Some(near) => finding.help(format!("did you mean `{near}`?")).replace(format!("write `{near}`"), near, false),
        None => finding.help("`trialfit explain` lists the rules"),
    });
}

static PRACTICE_LOWERS_LEVEL: Rule = Rule {
    name: "practice-lowers-level",
    family: Family::Practice,
    severity: Severity::Error,
    title: "a practice that would make a rule milder",
    source: "the language",
    explanation: "A practice may raise the level of a rule, never lower it. If a rule is milder for a whole workshop, nobody looks at \
                  its faults again. If one job may do it another way, grant that in the job, with a reason and a name.",
    mend: "Remove the line. If one job may break the rule, grant a concession there.",
    bad: "practice \"Northern workshops\"\n  level         exhaust-too-long, warning",
    good: "practice \"Northern workshops\"\n  level         exhaust-end-at-tail, error",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        for level in own(job).flat_map(|practice| &practice.levels) {
            let (Some(rule), Some(wanted)) = (find(&level.rule.value), severity(level.level)) else { continue };
            if wanted >= rule.severity {
                continue;
            }
            let finding = findings
                .at(
                    level.place,
                    format!(
                        "`{}` is an {} and cannot be lowered to a {}",
                        rule.name,
                        rule.severity.word(),
                        wanted.word()
                    ),
                )
                .label("a practice can only raise a level")
                .limit(format!("{} at least", rule.severity.word()), Whose::Language)
                .help(if rule.life_safety() {
                    "remove the line; no concession is allowed on this rule either"
                } else {
                    "remove the line, and grant a `concession` in the job that may do it another way"
                });
            findings.add(finding);
        }
    },
};

static PRACTICE_LIMIT_MISFITS: Rule = Rule {
    name: "practice-limit-misfits",
    family: Family::Practice,
    severity: Severity::Error,
    title: "a practice's limit for something that its rule does not measure",
    source: "the language",
    explanation: "Only a rule that compares a figure with a limit can get a tighter limit. Both must measure the same thing: a length \
                  for a length. `trialfit margins` shows what each rule measures in a job.",
    mend: "Write a limit of the kind that the rule measures, or raise the rule's `level` instead.",
    bad: "practice \"Northern workshops\"\n  limit         exhaust-too-long, 10 V",
    good: "practice \"Northern workshops\"\n  limit         exhaust-too-long, 1.5 m",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        for limit in own(job).flat_map(|practice| &practice.limits) {
            let Some(rule) = find(&limit.rule.value) else { continue };
            let measured = rule.measures;
            let unit = limit.value.value.unit;
            if measured.iter().any(|dimension| dimension.takes(unit.dimension) || unit.dimension.takes(*dimension)) {
                continue;
            }
            let written = limit.value.value.show(limit.value.value.nominal);
            let finding = match measured.first() {
                Some(first) => {
                    let (noun, sample) = first.describe();
                    findings
                        .at(
                            limit.value.written,
                            format!("{written} is {}; `{}` measures {noun}", unit.dimension.describe().0, rule.name),
                        )
                        .label(format!("expected {noun}"))
                        .help(format!("write {noun}, such as `{sample}`"))
                }
                None => findings
                    .at(limit.place, format!("`{}` measures nothing, so {written} cannot tighten it", rule.name))
                    .label("nothing to tighten")
                    .help(format!("raise its `level` instead, as in `level {}, error`", rule.name)),
            };
            findings.add(finding.limit("a limit on what the rule measures", Whose::Language));
        }
    },
};

static PRACTICE_LIMIT_LOOSE: Rule = Rule {
    name: "practice-limit-loose",
    family: Family::Practice,
    severity: Severity::Advice,
    title: "a practice's limit that tightens nothing in this job",
    source: "the rule's own limit",
    explanation: "Wherever the rule measures in this job, its own limit is as strict as the practice's or stricter. So the practice \
                  changes nothing. Perhaps the two were mixed up, or the heater's data sheet is stricter. If two practices \
                  give one rule different limits or levels, the stricter one holds.",
    mend: "Write a stricter limit, or remove the line.",
    bad: "practice \"Northern workshops\"\n  limit         exhaust-too-long, 3 m",
    good: "practice \"Northern workshops\"\n  limit         exhaust-too-long, 1.5 m",
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let (job, held) = (findings.job, findings.held);
        for limit in job.practices.iter().flat_map(|practice| &practice.limits) {
            let measured = held.iter().filter(|held| held.rule.name == limit.rule.value);
            let mut known = measured.filter_map(|held| Some((held, read(held, limit)?))).peekable();
            let Some((first, value)) = known.peek().copied() else { continue };
            if known.any(|(held, value)| held.bound.beyond(held.limit, value) > 0.0) {
                continue;
            }
            let (written, own) = (first.show(value), first.show(first.limit));
            let finding = findings
                .at(
                    limit.place,
                    format!(
                        "{written} does not tighten `{}`; its own limit is {own} {}",
                        first.rule.name,
                        first.bound.words()
                    ),
                )
                .label(format!("no stricter than {own}"))
                .why(format!("{}: {own} {} by {}", first.what, first.bound.words(), first.whose))
                .limit(format!("stricter than {own}"), first.whose.clone())
                .help(format!("write a limit stricter than {own}, or remove the line"))
                .related(first.place, "what the rule measures here");
            findings.add(finding);
        }
    },
};

static PRACTICE_BLOCK_MISSING: Rule = Rule {
    name: "practice-block-missing",
    family: Family::Practice,
    severity: Severity::Warning,
    title: "a job without a block that the workshop's practice asks for",
    source: "the workshop's practice",
    explanation: "A workshop can ask for a block in every job, such as an alarm, or for each heater, such as the return air. This \
                  job follows the workshop's file and does not have the block. It is reported even where no other rule asks for it.",
    mend: "Write the block, or have a concession granted on the job.",
    bad: "practice \"Northern workshops\"\n  requires      alarm",
    good: "practice \"Northern workshops\"\n  requires      return-air of each heater\n  requires      exhaust",
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        let Some(header) = job.header else { return };
        for (practice, asked) in
            job.practices.iter().flat_map(|practice| practice.requires.iter().map(move |asked| (practice, asked)))
        {
            if job.hidden.has(asked.kind) {
                continue;
            }
            let words = words_of(asked.kind);
            let add = |findings: &mut Findings<'_>, title: String| {
                let finding = findings
                    .at(header, title)
                    .label(format!("no `{}` block", words.header))
                    .limit(format!("a block `{}`", words.header), Whose::House(practice.title.clone()))
                    .help(format!("write the block, as in `{}`: {}", words.example, words.says))
                    .related(asked.place, "the practice asks for it here");
                findings.add(finding);
            };
            if asked.of_each_heater {
                // A run that nobody can tell whose it is may be the one.
                if job.runs.iter().any(|run| run.kind == asked.kind && run.heater.is_none()) {
                    continue;
                }
                let lack = job
                    .heaters
                    .iter()
                    .enumerate()
                    .filter(|(number, _)| job.runs_of(*number, asked.kind).next().is_none());
                for (_, heater) in lack {
                    add(
                        findings,
                        format!(
                            "`{}` has no `{}`; the practice \"{}\" asks for one",
                            heater.name, words.header, practice.title
                        ),
                    );
                }
            } else if !job.defined.iter().any(|known| known.kind == asked.kind) {
                add(
                    findings,
                    format!("this job has no `{}`; the practice \"{}\" asks for one", words.header, practice.title),
                );
            }
        }
    },
};

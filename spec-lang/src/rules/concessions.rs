//! Rules on concessions: a rule set aside in writing must name a rule that may be, be signed, hold still, and cover something.

use super::{all, find, Family, Rule};
use crate::finding::{Severity, Whose};

pub(super) static RULES: &[&Rule] = &[
    &CONCESSION_RULE_UNKNOWN,
    &CONCESSION_NOT_ALLOWED,
    &CONCESSION_UNSIGNED,
    &CONCESSION_EXPIRED,
    &CONCESSION_COVERS_NOTHING,
];

const GOOD: &str = "cable supply of reader\n  from          house\n  size          6 mm²\n  run           900 mm\n  fuse          20 A\n  run           3 m\n  ends          at reader\n\nconcession fuse-far-from-battery\n  on            cable supply of reader\n  because       \"battery box leaves no room; cable is sheathed\"\n  by            \"workshop foreman\"\n  until         2099-12-31";

static CONCESSION_RULE_UNKNOWN: Rule = Rule {
    name: "concession-rule-unknown",
    family: Family::Concessions,
    severity: Severity::Error,
    title: "a concession on a rule that does not exist",
    source: "the language",
    explanation: "A concession names the rule it sets aside, as the findings do between their brackets.",
    mend: "Write the rule's name as the finding has it.",
    bad: "concession fuse-far-from-batery\n  on            cable supply of reader\n  because       \"battery box leaves no room\"\n  by            \"workshop foreman\"",
    good: GOOD,
    life_safety: false,
    find: |findings| {
        let job = findings.job;
        for concession in job.concessions.iter().filter(|concession| concession.header.file == job.file) {
            let Some(name) = concession.rule.fact().filter(|name| find(&name.value).is_none()) else { continue };
            let near = nearest_rule(&name.value);
            let mut finding = findings
                .at(name.written, format!("there is no rule `{}`", name.value))
                .label("0 rules have this name")
                .limit("1 rule", Whose::Language);
            finding = match near {
                Some(near) => finding.help(format!("`{near}` is near")).replace(format!("write `{near}`"), near, false),
                None => finding.help("`dryfit explain` lists the rules"),
            };
            findings.add(finding);
        }
    },
};

/// The rule that a name nobody knows most likely means.
pub(super) fn nearest_rule(name: &str) -> Option<&'static str> {
    crate::vocabulary::nearest(name, all().map(|rule| rule.name)).or_else(|| nearest_by_words(name))
}

/// The rule whose name shares most of its words with another: `suction-line-too-long` for `suction-too-long`. `None` where
/// two are as near, where they share fewer than three words, or no more than they do not.
fn nearest_by_words(name: &str) -> Option<&'static str> {
    let words: Vec<&str> = name.split('-').collect();
    let mut best: Option<(usize, &'static str, bool)> = None;
    for rule in all() {
        let shared = rule.name.split('-').filter(|word| words.contains(word)).count();
        let apart = (words.len() + rule.name.split('-').count()).saturating_sub(2 * shared);
        if shared < 3 || apart >= shared {
            continue;
        }
        best = match best {
            Some((least, known, _)) if apart == least => Some((least, known, false)),
            Some((least, ..)) if apart > least => best,
            _ => Some((apart, rule.name, true)),
        };
    }
    best.and_then(|(_, name, alone)| alone.then_some(name))
}

static CONCESSION_NOT_ALLOWED: Rule = Rule {
    name: "concession-not-allowed",
    family: Family::Concessions,
    severity: Severity::Error,
    title: "a concession on a rule that guards life",
    source: "life safety, dryfit's own rule",
    explanation: "What can poison or burn somebody is not set aside in writing, by anybody. The finding stands.",
    mend: "Change the install. The heater maker's instructions, local codes and licensed practice come first.",
    bad: "concession feed-without-fuse\n  on            cable supply of reader\n  because       \"no fuse in stock\"\n  by            \"workshop foreman\"",
    good: GOOD,
    life_safety: true,
    find: |findings| {
        let job = findings.job;
        for concession in job.concessions.iter().filter(|concession| concession.header.file == job.file) {
            let Some(name) = concession.rule.fact() else { continue };
            if find(&name.value).is_some_and(|rule| rule.life_safety) {
                let finding = findings
                    .at(name.written, format!("`{}` guards life; 0 concessions are allowed on it", name.value))
                    .label("cannot be set aside")
                    .limit("0 concessions", Whose::LifeSafety)
                    .help("change the install so that the rule holds");
                findings.add(finding);
            }
        }
    },
};

static CONCESSION_UNSIGNED: Rule = Rule {
    name: "concession-unsigned",
    family: Family::Concessions,
    severity: Severity::Error,
    title: "a concession without what makes it one",
    source: "the language; ISO 9000:2015 clause 3.12.5 has the word",
    explanation: "A concession says on what, why, and by whom. Without one of these it sets nothing aside.",
    mend: "Add the lines that are missing.",
    bad: "concession fuse-far-from-battery\n  on            cable supply of reader\n  because       \"battery box leaves no room\"",
    good: GOOD,
    life_safety: false,
    find: |findings| {
        let job = findings.job;
        for concession in job.concessions.iter().filter(|concession| concession.header.file == job.file) {
            let mut lacks = Vec::new();
            if concession.on.is_empty() {
                lacks.push("`on`");
            }
            if concession.because.get().is_none() {
                lacks.push("`because`");
            }
            if concession.by.get().is_none() {
                lacks.push("`by`");
            }
            if lacks.is_empty() {
                continue;
            }
            let finding = findings
                .at(concession.header, format!("this concession lacks {} of 3 lines: {}", lacks.len(), lacks.join(", ")))
                .label("sets nothing aside")
                .limit("3 lines: `on`, `because`, `by`", Whose::Language)
                .help(format!("add {}", lacks.join(", ")));
            findings.add(finding);
        }
    },
};

static CONCESSION_EXPIRED: Rule = Rule {
    name: "concession-expired",
    family: Family::Concessions,
    severity: Severity::Error,
    title: "a concession whose last day is past",
    source: "the concession itself",
    explanation: "A concession holds up to and including the day behind `until`. After it the finding stands again.",
    mend: "Mend the finding, or have the concession granted anew.",
    bad: "cable supply of reader\n  from          house\n  size          6 mm²\n  run           900 mm\n  fuse          20 A\n  run           3 m\n  ends          at reader\n\nconcession fuse-far-from-battery\n  on            cable supply of reader\n  because       \"battery box leaves no room\"\n  by            \"workshop foreman\"\n  until         2020-01-31",
    good: GOOD,
    life_safety: false,
    find: |findings| {
        let job = findings.job;
        let Some(today) = findings.today else { return };
        for concession in job.concessions.iter().filter(|concession| concession.header.file == job.file) {
            let Some(until) = concession.until.fact().filter(|until| until.value < today) else { continue };
            let finding = findings
                .at(until.written, format!("this concession ran out on {}; today is {today}", until.value))
                .label("its last day")
                .limit(until.value.to_string(), Whose::Job)
                .help("mend the finding, or have it granted anew");
            findings.add(finding);
        }
    },
};

static CONCESSION_COVERS_NOTHING: Rule = Rule {
    name: "concession-covers-nothing",
    family: Family::Concessions,
    severity: Severity::Warning,
    title: "a concession that covers no finding",
    source: "the language",
    explanation: "The finding is gone, or it is on other blocks than the concession names. A dead concession would hide the next fault of its kind.",
    mend: "Remove it, or name the blocks that take part.",
    bad: "concession fuse-far-from-battery\n  on            cable supply of reader\n  because       \"battery box leaves no room\"\n  by            \"workshop foreman\"",
    good: GOOD,
    life_safety: false,
    find: |findings| {
        let job = findings.job;
        let used = findings.concession_used;
        for (number, concession) in job.concessions.iter().enumerate() {
            let known = concession.rule.get().and_then(|name| find(name)).is_some_and(|rule| !rule.life_safety);
            let complete = !concession.on.is_empty() && concession.because.get().is_some() && concession.by.get().is_some();
            let found = concession.on.iter().all(|on| on.header.is_some());
            if concession.header.file == job.file && known && complete && found && used.get(number) == Some(&false) {
                let finding = findings
                    .at(concession.header, "this concession covers 0 findings")
                    .label("nothing to set aside")
                    .limit("1 finding or more", Whose::Language)
                    .help("remove it, or name the blocks that take part");
                findings.add(finding);
            }
        }
    },
};

#[cfg(test)]
mod tests {
    use super::nearest_by_words;

    #[test]
    fn a_forgotten_word_finds_its_rule_and_a_strange_one_none() {
        assert_eq!(nearest_by_words("suction-too-long"), Some("suction-line-too-long"));
        assert_eq!(nearest_by_words("alarm-missing-carbon-monoxide"), Some("carbon-monoxide-alarm-missing"));
        assert_eq!(nearest_by_words("too-long"), None);
        assert_eq!(nearest_by_words("paint-flakes"), None);
    }
}

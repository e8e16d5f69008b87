//! Rules on concessions: a rule set aside in writing must name a rule that may be, be signed, hold still, and cover something.

use super::{Family, Guards, Rule, USUAL_NOTICE, all, find};
use crate::finding::{Severity, Whose};
use crate::rules::About;

pub(super) static RULES: &[&Rule] = &[
    &CONCESSION_RULE_UNKNOWN,
    &CONCESSION_NOT_ALLOWED,
    &CONCESSION_UNSIGNED,
    &CONCESSION_EXPIRED,
    &CONCESSION_ENDS_SOON,
    &CONCESSION_ON_EVERY,
    &CONCESSION_COVERS_NOTHING,
];

const GOOD: &str = "warm-air main of reader\n  duct          46 mm\n  forward       300 mm\n  outlet        bench, facing left, in cabin\n\nconcession outlet-air-fast\n  on            warm-air main of reader\n  because       \"no room for a wider duct; nobody sleeps in the cabin\"\n  by            \"workshop foreman\"\n  until         2099-12-31";

static CONCESSION_RULE_UNKNOWN: Rule = Rule {
    name: "concession-rule-unknown",
    family: Family::Concessions,
    severity: Severity::Error,
    title: "a concession on a rule that does not exist",
    source: "the language",
    explanation: "A concession names the rule that it sets aside. Each finding shows the name of its rule in brackets.",
    mend: "Write the rule's name as the finding shows it.",
    bad: "concession outlet-air-fst\n  on            warm-air main of reader\n  because       \"no room for a wider duct\"\n  by            \"workshop foreman\"",
    good: GOOD,
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        for concession in job.concessions.iter().filter(|concession| job.own(concession.header)) {
            let Some(name) = concession.rule.fact().filter(|name| find(&name.value).is_none()) else { continue };
            let near = nearest_rule(&name.value);
            let mut finding =
                findings.at(name.written, format!("there is no rule `{}`", name.value)).label("no rule has this name");
            finding = match near {
                Some(near) => {
                    finding.help(format!("did you mean `{near}`?")).replace(format!("write `{near}`"), near, false)
                }
                None => finding.help("`trialfit explain` lists the rules"),
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
    title: "a concession on a rule that takes none",
    source: "life safety, trialfit's own rule",
    explanation: "Nobody may set aside a rule against poisoning, fire or burns, not even in writing. The same holds for an error in the text, in names or in layers, because it may hide such a thing. The finding stands.",
    mend: "Change the install, or correct the text. The heater maker's instructions, local codes and licensed practice come first.",
    bad: "concession feed-without-fuse\n  on            cable supply of reader\n  because       \"no fuse in stock\"\n  by            \"workshop foreman\"",
    good: GOOD,
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        for concession in job.concessions.iter().filter(|concession| job.own(concession.header)) {
            let Some(name) = concession.rule.fact() else { continue };
            let Some(rule) = find(&name.value).filter(|rule| !rule.can_wait()) else { continue };
            let (why, help) = if rule.life_safety() {
                ("guards life", "change the install so that it keeps the rule")
            } else {
                ("may hide what can kill", "correct what the rule found")
            };
            let finding = findings
                .at(name.written, format!("`{}` {why}; no concession is allowed on it", name.value))
                .label("cannot be set aside")
                .limit("no concession", Whose::LifeSafety)
                .help(help);
            findings.add(finding);
        }
    },
};

static CONCESSION_UNSIGNED: Rule = Rule {
    name: "concession-unsigned",
    family: Family::Concessions,
    severity: Severity::Error,
    title: "a concession that is not complete",
    source: "the language; ISO 9000:2015 clause 3.12.5 has the word",
    explanation: "A concession says on which block it is, why, and who granted it. If one of these is missing, it sets nothing aside.",
    mend: "Add the lines that are missing.",
    bad: "concession outlet-air-fast\n  on            warm-air main of reader\n  because       \"no room for a wider duct\"",
    good: GOOD,
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        for concession in job.concessions.iter().filter(|concession| job.own(concession.header)) {
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
                .at(concession.header, format!("this concession has no {} line", lacks.join(" and no ")))
                .label("sets nothing aside")
                .limit("`on`, `because` and `by`", Whose::Language)
                .help(format!("add {}", lacks.join(" and ")));
            findings.add(finding);
        }
    },
};

static CONCESSION_EXPIRED: Rule = Rule {
    name: "concession-expired",
    family: Family::Concessions,
    severity: Severity::Error,
    title: "a concession that has run out",
    source: "the concession itself",
    explanation: "A concession holds up to the end of the day that `until` gives. From the next day on, the finding stands again.",
    mend: "Mend the fault, or have the concession granted again.",
    bad: "warm-air main of reader\n  duct          46 mm\n  forward       300 mm\n  outlet        bench, facing left, in cabin\n\nconcession outlet-air-fast\n  on            warm-air main of reader\n  because       \"no room for a wider duct\"\n  by            \"workshop foreman\"\n  until         2020-01-31",
    good: GOOD,
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        let Some(today) = findings.today else { return };
        for concession in job.concessions.iter().filter(|concession| job.own(concession.header)) {
            let Some(until) = concession.until.fact().filter(|until| until.value < today) else { continue };
            let finding = findings
                .at(until.written, format!("this concession ran out on {}; today is {today}", until.value))
                .label("its last day")
                .limit(until.value.to_string(), Whose::Job)
                .help("mend the fault, or have it granted again");
            findings.add(finding);
        }
    },
};

static CONCESSION_ENDS_SOON: Rule = Rule {
    name: "concession-ends-soon",
    family: Family::Concessions,
    severity: Severity::Advice,
    title: "a concession that ends soon",
    source: "the notice that the settings give; 30 days where they give none",
    explanation: "A concession holds up to the end of the day that `until` gives. Then the finding stands again, perhaps while the vehicle is on the road. This advice comes in time to act.",
    mend: "Mend the fault while the vehicle is in the workshop, or have the concession granted again.",
    bad: "warm-air main of reader\n  duct          46 mm\n  forward       300 mm\n  outlet        bench, facing left, in cabin\n\nconcession outlet-air-fast\n  on            warm-air main of reader\n  because       \"no room for a wider duct\"\n  by            \"workshop foreman\"\n  until         2026-02-01",
    good: GOOD,
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        let Some(today) = findings.today else { return };
        for concession in job.concessions.iter().filter(|concession| job.own(concession.header)) {
            let Some(until) = concession.until.fact() else { continue };
            let left = until.value.since_1970() - today.since_1970();
            if !(0..=i64::from(findings.notice)).contains(&left) {
                continue;
            }
            // Another notice than the usual one is the workshop's own.
            let whose = if findings.notice == USUAL_NOTICE { Whose::CommonPractice } else { Whose::Job };
            let when = match left {
                0 => "today".to_string(),
                1 => "tomorrow".to_string(),
                left => format!("in {left} days"),
            };
            let finding = findings
                .at(until.written, format!("this concession ends {when}, on {}", until.value))
                .label("its last day")
                .why(format!("today is {today}; once it has ended, the finding stands again"))
                .limit(format!("{} days of notice", findings.notice), whose)
                .help("mend the fault, or have it granted again");
            findings.add(finding);
        }
    },
};

static CONCESSION_ON_EVERY: Rule = Rule {
    name: "concession-on-every-block",
    family: Family::Concessions,
    severity: Severity::Error,
    title: "a job's concession on every block of a kind",
    source: "the language",
    explanation: "A kind without a name means every block of that kind. Only a file that jobs follow may say this, because it cannot know their names. In a job it would hide the same fault of another block. So it sets nothing aside there.",
    mend: "Write the block's kind and name, as in its header.",
    bad: "warm-air main of reader\n  duct          46 mm\n  forward       300 mm\n  outlet        bench, facing left, in cabin\n\nconcession outlet-air-fast\n  on            warm-air\n  because       \"no room for a wider duct\"\n  by            \"workshop foreman\"",
    good: GOOD,
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        if job.header.is_none() {
            return;
        }
        for concession in job.concessions.iter().filter(|concession| job.own(concession.header)) {
            for on in &concession.on {
                let Some(kind) = on.every else { continue };
                let name = crate::vocabulary::words_of(kind).header;
                let finding = findings
                    .at(on.place, format!("`on {name}` does not say which block"))
                    .label("which one?")
                    .why("only a file that jobs follow may mean every block of a kind")
                    .help(format!("write the block's header after `on`: `on {name} …`"));
                findings.add(finding);
            }
        }
    },
};

static CONCESSION_COVERS_NOTHING: Rule = Rule {
    name: "concession-covers-nothing",
    family: Family::Concessions,
    severity: Severity::Warning,
    title: "a concession that matches no finding",
    source: "the language",
    explanation: "The finding is gone, or it is on other blocks than the concession names. If the concession stays, it may hide the next fault of its kind.",
    mend: "Remove it, or name the blocks that the finding is on.",
    bad: "concession outlet-air-fast\n  on            warm-air main of reader\n  because       \"no room for a wider duct\"\n  by            \"workshop foreman\"",
    good: GOOD,
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Idle,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        let covered = findings.covered;
        if job.header.is_none() {
            return; // a file that jobs follow covers what is found in them
        }
        for (number, concession) in job.concessions.iter().enumerate() {
            let known = concession.rule.get().and_then(|name| find(name)).is_some_and(Rule::can_wait);
            let complete =
                !concession.on.is_empty() && concession.because.get().is_some() && concession.by.get().is_some();
            let found = concession.on.iter().all(|on| on.header.is_some());
            if job.own(concession.header) && known && complete && found && covered.get(number) == Some(&0) {
                let finding = findings
                    .at(concession.header, "this concession matches nothing")
                    .label("nothing to set aside")
                    .help("remove it, or name the blocks that the finding is on");
                findings.add(finding);
            }
        }
    },
};

#[cfg(test)]
mod tests {
    use super::nearest_by_words;
    use crate::reading::{Date, Reading};
    use crate::rules::{BENCH_SHEETS, Day, compose};
    use crate::source::{FileId, Followed, Source};
    use crate::{Analysis, analyse};
    use std::sync::Arc;

    /// A fleet file that itself follows the bench's sheets.
    struct Fleet(Arc<Reading>);
    impl Source for Fleet {
        fn follow(&self, _: FileId, written: &str) -> Followed {
            match written {
                "fleet.trialfit" => Followed::File(FileId(2), Arc::clone(&self.0)),
                _ => Followed::File(FileId(1), Arc::new(Reading::new(Arc::from(BENCH_SHEETS)))),
            }
        }
    }

    fn concession(rule: &str, on: &str, until: &str) -> String {
        format!(
            "concession {rule}\n  on            {on}\n  because       \"an invented reason\"\n  by            \"nobody\"\n  until         {until}\n"
        )
    }

    const LOUD: &str = "warm-air main of reader\n  duct          46 mm\n  forward       300 mm\n  outlet        bench, facing left, in cabin";

    /// The job with a narrow, loud outlet, and the fleet file alone.
    fn judged(fleet: &str, job: &str, day: &str) -> (Analysis, Analysis) {
        let fleet = Arc::new(Reading::new(Arc::from(format!("trialfit 1\n\n{fleet}"))));
        let source = Fleet(Arc::clone(&fleet));
        let text = compose(job).replace("bench-sheets.trialfit", "fleet.trialfit");
        let text = text.replacen("follows", "follows \"bench-sheets.trialfit\"\nfollows", 1);
        let day = Day { today: Date::read(day), notice: 10 };
        let job = analyse(FileId(0), Arc::new(Reading::new(Arc::from(text))), &source, day);
        (job, analyse(FileId(2), fleet, &source, day))
    }

    fn rules(analysis: &Analysis) -> Vec<&str> {
        analysis.standing().map(|finding| finding.rule.name).collect()
    }

    #[test]
    fn a_followed_concession_holds_for_each_job_and_is_judged_where_it_stands() {
        let none = Vec::<&str>::new();
        for on in ["warm-air", "warm-air main of reader", "warm-air main"] {
            let (job, fleet) = judged(&concession("outlet-air-fast", on, "2026-12-31"), LOUD, "2026-06-01");
            assert_eq!((rules(&job), rules(&fleet)), (none.clone(), none.clone()), "{on}");
            assert_eq!(job.covered, [1], "{on}");
            let conceded = job.findings.iter().filter_map(|finding| finding.conceded.as_ref()).next();
            assert_eq!(conceded.map(|conceded| conceded.place.file), Some(FileId(2)), "{on}");
        }
        // Blocks that this job has not, and another kind: the finding stands, and nothing is said of the concession.
        for on in ["warm-air main of other", "warm-air other", "heater other", "fuel-line"] {
            let (job, fleet) = judged(&concession("outlet-air-fast", on, "2026-12-31"), LOUD, "2026-06-01");
            assert_eq!((rules(&job), rules(&fleet)), (vec!["outlet-air-fast"], none.clone()), "{on}");
        }
        let life = concession("feed-without-fuse", "cable", "2026-12-31");
        let (job, fleet) = judged(
            &life,
            "cable supply of reader\n  from          house\n  size          6 mm²\n  run           3 m\n  ends          at reader",
            "2026-06-01",
        );
        assert!(rules(&job).contains(&"feed-without-fuse"), "{:?}", rules(&job));
        assert_eq!(rules(&fleet), ["concession-not-allowed"]);
        // An error in the text may hide what can kill: told once, and not also as a concession that matches nothing.
        let own = format!("{LOUD}\n\n{}", concession("unknown-word", "warm-air main of reader", "2026-12-31"));
        let (job, _) = judged("", &own, "2026-06-01");
        let said: Vec<&str> = rules(&job).into_iter().filter(|rule| rule.starts_with("concession")).collect();
        assert_eq!(said, ["concession-not-allowed"]);
        let (job, fleet) = judged(&concession("outlet-air-fst", "warm-air", "2026-12-31"), LOUD, "2026-06-01");
        assert_eq!((rules(&job), rules(&fleet)), (vec!["outlet-air-fast"], vec!["concession-rule-unknown"]));
    }

    #[test]
    fn the_last_day_and_the_notice_are_counted_to_the_day() {
        let of = concession("outlet-air-fast", "warm-air", "2026-03-01");
        for (day, job_says, fleet_says) in [
            ("2026-02-18", vec![], vec![]),
            ("2026-02-19", vec![], vec!["concession-ends-soon"]),
            ("2026-03-01", vec![], vec!["concession-ends-soon"]),
            ("2026-03-02", vec!["outlet-air-fast"], vec!["concession-expired"]),
        ] {
            let (job, fleet) = judged(&of, LOUD, day);
            assert_eq!((rules(&job), rules(&fleet)), (job_says, fleet_says), "{day}");
            assert_eq!(job.covered, [1], "what it covers does not depend on the day");
        }
    }

    #[test]
    fn a_day_and_its_number_are_one() {
        // 1970-01-01 is day 0, 2000-03-01 day 11017 (ISO 8601 calendar; Python's datetime counts the same).
        assert_eq!(Date::read("1970-01-01").map(Date::since_1970), Some(0));
        assert_eq!(Date::read("2000-03-01").map(Date::since_1970), Some(11_017));
        assert_eq!(Date::read("1969-12-31").map(Date::since_1970), Some(-1));
        for day in (0..1_000_000).step_by(13) {
            assert_eq!(Date::after_1970(day).since_1970(), i64::try_from(day).unwrap_or(0));
        }
    }

    #[test]
    fn a_forgotten_word_finds_its_rule_and_a_strange_one_none() {
        assert_eq!(nearest_by_words("suction-too-long"), Some("suction-line-too-long"));
        assert_eq!(nearest_by_words("alarm-missing-carbon-monoxide"), Some("carbon-monoxide-alarm-missing"));
        assert_eq!(nearest_by_words("too-long"), None);
        assert_eq!(nearest_by_words("paint-flakes"), None);
    }
}

//! Rules on names, data sheets and followed files.

use super::engine::{Findings, block_at};
use super::text::{either, with_article};
use super::{Family, Guards, Rule};
use crate::asks::{Ask, Need};
use crate::finding::{Severity, Whose};
use crate::model::{FollowFault, NameFaultKind};
use crate::rules::About;
use crate::vocabulary::Kind;
use crate::vocabulary::{KindSet, words_of};
use std::collections::HashSet;

pub(super) static RULES: &[&Rule] = &[
    &NAME_NOT_FOUND,
    &NAME_TWICE,
    &NAME_AMBIGUOUS,
    &BRANCHES_IN_A_CIRCLE,
    &FOLLOWED_FILE_MISSING,
    &FOLLOWED_FILE_OUTSIDE,
    &FOLLOWED_FILE_UNREADABLE,
    &FOLLOWED_FILES_LOOP,
    &SHEET_NOT_USED,
];

/// `a heater, a tank or a battery`
fn one_of(kinds: KindSet) -> String {
    either(&kinds.iter().map(|kind| with_article(&words_of(kind).reads())).collect::<Vec<String>>())
}

static NAME_NOT_FOUND: Rule = Rule {
    name: "name-not-found",
    family: Family::Names,
    severity: Severity::Error,
    title: "a name that no block has",
    source: "the language",
    explanation: "A name leads to the block that has it: a tank, a space, a data sheet. If no block has the name, nothing that rests on that block is judged.",
    mend: "Correct the name, add the block, or follow the file that has it.",
    bad: "heater reader\n  datasheet     air-2\n  in            cabin\n  heats         cabn\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward",
    good: "heater reader\n  datasheet     air-2\n  in            cabin\n  heats         cabin\n  at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        for fault in job.name_faults.iter().filter(|fault| job.own(fault.place)) {
            let NameFaultKind::NotFound { kinds, nearest } = &fault.kind else { continue };
            let name = job.text(fault.place).to_string();
            let wanted = one_of(*kinds);
            // A block that names another never means itself.
            let own = job.defined.iter().filter(|known| Some(known.header) == block_at(job, fault.place));
            let own: Vec<&str> = own.filter(|known| kinds.has(known.kind)).map(|known| known.name.as_str()).collect();
            let nearest = nearest.as_deref().filter(|near| !own.contains(near));
            let mut finding = findings
                .at(fault.place, format!("`{name}` is not the name of {wanted} here"))
                .label("no block has this name");
            finding = match nearest {
                Some(near) => {
                    finding.help(format!("did you mean `{near}`?")).replace(format!("write `{near}`"), near, false)
                }
                None => finding.help(format!("add {wanted} of this name, or follow the file that has it")),
            };
            findings.add(finding);
        }
    },
};

static NAME_TWICE: Rule = Rule {
    name: "name-twice",
    family: Family::Names,
    severity: Severity::Error,
    title: "a name that two blocks of one kind have",
    source: "the language",
    explanation: "The first block of a name counts. The second is not read, so nothing in it is judged. A data sheet may not hide one of a followed file that says something else: nobody would see which of the two a job rests on.",
    mend: "Give the second block another name, or remove it.",
    bad: "tank main                                       # the diesel tank\n  fuel          diesel winter-1\n  holds         60 L\n  reserve       10 L\n  at            back 3200 mm, left 450 mm, up 250 mm\n\ntank main\n  fuel          petrol\n  holds         20 L",
    good: "tank spare\n  fuel          petrol\n  holds         20 L",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        for fault in job.name_faults.iter().filter(|fault| job.own(fault.place)) {
            let name = job.text(fault.place).to_string();
            if let NameFaultKind::Shadows { other } = &fault.kind {
                let finding = findings
                    .at(fault.place, format!("`{name}` stands in a followed file too, and says something else there"))
                    .label("this block counts")
                    .related(*other, "this one is not read")
                    .help("give this block another name, so that everybody sees which one the job uses");
                findings.add(finding);
            }
            let NameFaultKind::Twice { kind, first } = &fault.kind else { continue };
            let finding = findings
                .at(fault.place, format!("`{name}` is already the name of {}", with_article(&words_of(*kind).reads())))
                .label("this block is not read")
                .related(*first, "this one counts")
                .help("give this block another name, or remove it");
            findings.add(finding);
        }
    },
};

static NAME_AMBIGUOUS: Rule = Rule {
    name: "name-ambiguous",
    family: Family::Names,
    severity: Severity::Error,
    title: "a short name that fits more than one block",
    source: "the language",
    explanation: "With two heaters, two runs may have the same name. The full name puts the heater's name first.",
    mend: "Write the full name.",
    bad: "heater second\n  datasheet     air-2\n  in            cabin\n  heats         cabin\n  warm-end      forward\n\nexhaust of second\n  pipe          steel, 24 mm bore, 27 mm outside\n  run           800 mm\n  ends          facing left\n\ncombustion-air of second\n  hose          intake-25\n  run           600 mm\n  ends          facing down\n\nreturn-air of second\n  draws         at heater, clear 100 mm\n\nfuel-line of second\n  from          main by standpipe\n  line          2.2 mm\n  run           1 m\n  pump          outlet up 20°\n  run           1 m\n  ends          at second\n\ncable supply of second\n  from          house\n  size          4 mm²\n  run           150 mm\n  fuse          20 A\n  run           3 m\n  ends          at second\n\nwarm-air main of second\n  duct          air-90\n  run           1 m\n  tee           cab\n  run           1 m\n  outlet        rear\n\nwarm-air main of reader\n  duct          60 mm\n  run           1 m\n  tee           cab\n  run           1 m\n  outlet        shelves\n\nwarm-air branch\n  from          main.cab\n  duct          60 mm\n  run           400 mm\n  outlet        windscreen",
    good: "warm-air main of reader\n  duct          60 mm\n  run           1 m\n  tee           cab\n  run           1 m\n  outlet        shelves\n\nwarm-air branch\n  from          main.cab\n  duct          60 mm\n  run           400 mm\n  outlet        windscreen",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        for fault in job.name_faults.iter().filter(|fault| job.own(fault.place)) {
            let NameFaultKind::Ambiguous { full } = &fault.kind else { continue };
            let name = job.text(fault.place).to_string();
            let mut finding = findings
                .at(fault.place, format!("`{name}` may mean more than one block"))
                .label("which one is meant?")
                .help(format!(
                    "write {}",
                    either(&full.iter().map(|name| format!("`{name}`")).collect::<Vec<String>>())
                ));
            for name in full {
                finding = finding.replace(format!("write `{name}`"), name.clone(), false);
            }
            findings.add(finding);
        }
    },
};

static BRANCHES_IN_A_CIRCLE: Rule = Rule {
    name: "branches-in-a-circle",
    family: Family::Names,
    severity: Severity::Error,
    title: "warm-air branches that start from one another",
    source: "the language",
    explanation: "A branch starts at a tee of another run. Here the runs lead back to where they began, and none of them starts at a heater. No air reaches them, and no length, bend or outlet of theirs is judged.",
    mend: "Let one of them start at the heater, or at a tee of a run that does.",
    bad: "warm-air left of reader\n  from          right.cab\n  duct          60 mm\n  run           400 mm\n  tee           bunk\n  run           400 mm\n  outlet        windscreen\n\nwarm-air right of reader\n  from          left.bunk\n  duct          60 mm\n  run           400 mm\n  tee           cab\n  run           400 mm\n  outlet        footwell",
    good: "warm-air main of reader\n  duct          60 mm\n  run           1 m\n  tee           cab\n  run           1 m\n  outlet        shelves\n\nwarm-air branch\n  from          main.cab\n  duct          60 mm\n  run           400 mm\n  outlet        windscreen",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[Ask::each(Kind::WarmAir, &[&[Need::WarmAirFrom]])],
    find: |findings| {
        let job = findings.job;
        for fault in &job.name_faults {
            let NameFaultKind::Circle { others } = &fault.kind else { continue };
            let title = match others.is_empty() {
                true => "this run of warm air starts at its own tee".to_string(),
                false => {
                    format!("these {} runs of warm air start from one another, and none at a heater", others.len() + 1)
                }
            };
            let mut finding = findings
                .at(fault.place, title)
                .label("this leads back to here")
                .why("no air reaches them, and nothing of them is judged")
                .help("let one of them start at the heater, or at a tee of a run that does");
            for other in others {
                finding = finding.related(*other, "part of the circle");
            }
            findings.add(finding);
        }
    },
};

fn not_followed(findings: &mut Findings<'_>, pick: fn(&FollowFault) -> Option<(String, String)>, help: &str) {
    let job = findings.job;
    for fault in &job.not_followed {
        let Some((title, label)) = pick(&fault.fault) else { continue };
        // A fault further on is told at the line of this file that leads there: that line's file is named too.
        let written = match fault.via == fault.place {
            true => job.text(fault.place).to_string(),
            false => format!("{}, which {} follows,", job.text(fault.place), job.text(fault.via)),
        };
        let mut finding = findings
            .at(fault.via, title.replace("{}", &written))
            .label(label)
            .limit("a file inside the opened folder, followed once", Whose::Language)
            .help(help);
        if fault.via != fault.place {
            let label = if fault.fault == FollowFault::Loop { "the circle closes here" } else { "followed from here" };
            finding = finding.related(fault.place, label);
        }
        findings.add(finding);
    }
}

static FOLLOWED_FILE_MISSING: Rule = Rule {
    name: "followed-file-missing",
    family: Family::Names,
    severity: Severity::Error,
    title: "a followed file that is not there",
    source: "the language",
    explanation: "The path after `follows` starts at the folder of the file with that line. If the followed file is not there, its data sheets are missing, and what needs them is not judged.",
    mend: "Correct the path, or put the file there.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"no-such-file.trialfit\"",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let pick = |fault: &FollowFault| {
            (*fault == FollowFault::Missing).then(|| ("there is no file {}".to_string(), "no such file".to_string()))
        };
        not_followed(findings, pick, "correct the path; it starts at the folder of the file with this line");
    },
};

static FOLLOWED_FILE_OUTSIDE: Rule = Rule {
    name: "followed-file-outside",
    family: Family::Names,
    severity: Severity::Error,
    title: "a followed file outside the opened folder",
    source: "the language",
    explanation: "No file outside the opened folder is read, whatever a job file says and wherever a link leads.",
    mend: "Open a folder that holds both files, or copy the file into this one.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"../outside.trialfit\"",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let pick = |fault: &FollowFault| {
            (*fault == FollowFault::Outside).then(|| {
                (
                    "{} lies outside the opened folder and is not read".to_string(),
                    "outside the opened folder".to_string(),
                )
            })
        };
        not_followed(findings, pick, "open a folder that holds both files, or copy the file into this one");
    },
};

static FOLLOWED_FILE_UNREADABLE: Rule = Rule {
    name: "followed-file-unreadable",
    family: Family::Names,
    severity: Severity::Error,
    title: "a followed file that cannot be read",
    source: "the language",
    explanation: "The file is there, but it is not UTF-8 text, or there is no permission to read it. What needs it is not judged.",
    mend: "Save it as UTF-8 text, or give permission to read it.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"not-text.trialfit\"",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let pick = |fault: &FollowFault| match fault {
            FollowFault::Unreadable(reason) => Some((format!("{{}} cannot be read: {reason}"), reason.clone())),
            _ => None,
        };
        not_followed(findings, pick, "save it as UTF-8 text, and give permission to read it");
    },
};

static FOLLOWED_FILES_LOOP: Rule = Rule {
    name: "followed-files-loop",
    family: Family::Names,
    severity: Severity::Error,
    title: "files that follow each other in a circle",
    source: "the language",
    explanation: "A followed file leads back to a file that is already being read. Each file is read once; the second time it is reported.",
    mend: "Remove one of the `follows` lines. A shared file must not follow the jobs that follow it.",
    bad: "trialfit 1\nfollows \"bench-sheets.trialfit\"\nfollows \"bench.trialfit\"",
    good: "trialfit 1\nfollows \"bench-sheets.trialfit\"",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        let pick = |fault: &FollowFault| {
            (*fault == FollowFault::Loop)
                .then(|| ("{} leads back to a file that follows it".to_string(), "a circle of files".to_string()))
        };
        not_followed(findings, pick, "remove one of the `follows` lines");
    },
};

static SHEET_NOT_USED: Rule = Rule {
    name: "sheet-not-used",
    family: Family::Names,
    severity: Severity::Advice,
    title: "a data sheet that the job does not use",
    source: "the language",
    explanation: "No block of the job names this data sheet. It may be left over, or the block that should name it names another. Sheets in workshop files are there for all jobs and are not judged.",
    mend: "Name it where it belongs, or remove it.",
    bad: "datasheet hose spare-20                        # invented\n  bore          20 mm",
    good: "datasheet hose spare-20                        # invented\n  bore          20 mm\n\ncombustion-air of reader\n  hose          spare-20\n  run           600 mm\n  at            back 1500 mm, right 310 mm, up 450 mm\n  ends          facing back",
    guards: Guards::Form,
    measures: &[],
    explained_by: &[],
    about: About::Idle,
    asks: &[],
    find: |findings| {
        let job = findings.job;
        if job.header.is_none() {
            return;
        }
        let used: HashSet<usize> = job.names.iter().filter_map(|name| name.target).collect();
        for (number, defined) in job.defined.iter().enumerate() {
            if defined.kind.is_sheet() && job.own(defined.header) && !used.contains(&number) {
                let finding = findings
                    .at(defined.name_place, format!("nothing in this job uses data sheet `{}`", defined.name))
                    .label("not used")
                    .help("name it where it belongs, or remove it");
                findings.add(finding);
            }
        }
    },
};

#[cfg(test)]
mod tests {
    use crate::bench::judge_example;

    /// With one space only, that one is named for a name that is not found; but not in its own block.
    #[test]
    fn a_block_is_never_told_that_it_means_itself() {
        let helped = |example: &str| {
            let analysis = judge_example(example);
            let found = analysis.findings.into_iter().filter(|finding| finding.rule.name == "name-not-found");
            found.map(|finding| (finding.help, finding.remedies.len())).collect::<Vec<_>>()
        };
        let own = helped("space cabin\n  use seated\n  joined-to b, by curtain");
        assert!(matches!(own.as_slice(), [(help, 0)] if !help.contains("`cabin`")), "{own:?}");
        let other = helped("opening side-door\n  kind door\n  into b");
        assert!(matches!(other.as_slice(), [(help, 1)] if help.contains("`cabin`")), "{other:?}");
    }

    /// A chain of branches from the heater: each is one run behind the last, with a tee too tight for its duct.
    fn chained(count: usize) -> Vec<String> {
        let mut runs = vec![
            "warm-air run-0 of reader\n  duct 60 mm\n  run 900 mm\n  tee next\n  run 1 m\n  outlet desk-0".to_string(),
        ];
        for number in 1..=count {
            runs.push(format!(
                "warm-air run-{number}\n  from run-{}.next\n  duct 60 mm\n  run 900 mm\n  tee next\n  run 1 m\n  outlet desk-{number}",
                number - 1
            ));
        }
        runs
    }

    #[test]
    fn branches_in_any_order_are_judged_the_same() {
        let told = |runs: &[String]| {
            let text = format!("leave out warm-air main of reader\n\n{}", runs.join("\n\n"));
            let analysis = judge_example(&text);
            let findings = analysis.standing().map(|finding| format!("{} {}", finding.rule.name, finding.title));
            let left = analysis.not_judged.iter().map(|left| format!("{} {}", left.rule.name, left.because));
            let mut told: Vec<String> = findings.chain(left).collect();
            told.sort();
            told
        };
        let runs = chained(24);
        let in_order = told(&runs);
        let too_long = in_order.iter().filter(|line| line.starts_with("warm-air-way-too-long")).count();
        assert!(too_long > 12, "{too_long}: {in_order:#?}");
        let mut turned = runs.clone();
        turned.reverse();
        assert_eq!(told(&turned), in_order);
        // Every run before the one it starts from, and every other way round in between.
        let (even, odd): (Vec<_>, Vec<_>) = runs.into_iter().enumerate().partition(|(number, _)| number % 2 == 0);
        let mixed: Vec<String> = odd.into_iter().rev().chain(even).map(|(_, run)| run).collect();
        assert_eq!(told(&mixed), in_order);
    }

    #[test]
    fn branches_in_a_circle_are_one_finding_in_any_order() {
        let mut runs = chained(4);
        runs.remove(0);
        runs.insert(
            0,
            "warm-air run-0\n  from run-3.next\n  duct 60 mm\n  run 900 mm\n  tee next\n  run 1 m\n  outlet desk-0"
                .into(),
        );
        for _ in 0..runs.len() {
            let analysis = judge_example(&runs.join("\n\n"));
            let circles: Vec<_> =
                analysis.findings.iter().filter(|found| found.rule.name == "branches-in-a-circle").collect();
            assert!(matches!(circles.as_slice(), [only] if only.related.len() == 3), "{circles:#?}");
            runs.rotate_left(1);
        }
    }
}

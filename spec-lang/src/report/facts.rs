//! What makes a missing fact the same fact tomorrow, which facts a job says, and how one that is owed is told of. Numbers are
//! made from blocks and words alone, never from lines or the words of a question. Nothing is compared or kept here.

use super::fingerprint::Fowler;
use super::{counted, one_line};
use crate::analysis::Analysis;
use crate::asks::{Gap, Ground, Need, Of, Stands, Subject};
use crate::finding::Missing;
use crate::model::{Run, Start};
use crate::reading::Date;
use crate::vocabulary::{Kind, words_of};

/// A fact of a block by its content: kind, header, word, and whether it is the whole line or a part of it that is meant.
/// The file's name is not in it; see [`FactPrint::in_file`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FactPrint(u128);

/// A fact of a block of a file: 64 bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FactKey(u64);

impl FactKey {
    /// As its `Display` wrote it: 16 hexadecimal digits.
    pub fn read(text: &str) -> Option<FactKey> {
        let plain = text.len() == 16 && text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'));
        plain.then(|| u64::from_str_radix(text, 16).ok().map(FactKey)).flatten()
    }
}

impl std::fmt::Display for FactKey {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{:016x}", self.0)
    }
}

/// A number of 32 bits for a text, the same on every machine.
pub fn short_number(text: &str) -> u32 {
    let mut hash = Fowler::new();
    hash.part(text);
    hash.folded() as u32
}

impl FactPrint {
    /// Of a fact of the block with a header; with `in_part`, of what the line has to hold.
    fn new(fact: Need, header: &str, in_part: bool) -> FactPrint {
        let row = fact.row();
        let mut hash = Fowler::new();
        hash.part(words_of(row.of.kind()).header);
        hash.part(header);
        hash.part(fact.word());
        // Several facts are said by one word: by what it says, and by a part of its line.
        hash.part(row.choices.first().copied().unwrap_or(""));
        hash.part(if row.part.is_some() { "part" } else { "" });
        hash.part(if in_part { "in part" } else { "" });
        if row.stands == Stands::IfSaid {
            hash.part("if said");
        }
        FactPrint(hash.value())
    }

    /// Of a missing fact. `None` where another finding tells of it, or the tool is to fill it in.
    pub fn of(missing: &Missing) -> Option<FactPrint> {
        match missing.gap {
            // That nobody knows is as good as silence.
            Gap::Silent | Gap::Unknown(_) => Some(FactPrint::new(missing.fact, &missing.block, false)),
            Gap::Part(_) | Gap::Misplaced(_) => Some(FactPrint::new(missing.fact, &missing.block, true)),
            Gap::Asked(_) | Gap::Blank(_) | Gap::NotRead(_) => None,
        }
    }

    /// Of the whole line of a missing fact.
    pub fn of_line(missing: &Missing) -> FactPrint {
        FactPrint::new(missing.fact, &missing.block, false)
    }

    /// In a file, by a path that is the same on every machine.
    pub fn in_file(self, path: &str) -> FactKey {
        let mut hash = Fowler::new();
        hash.part(path);
        hash.part(&format!("{:032x}", self.0));
        FactKey(hash.folded())
    }
}

/// The word of a missing fact, with the choice that tells it from others of the word.
pub fn fact_name(missing: &Missing) -> String {
    let choice = missing.fact.row().choices.first();
    let name = missing.fact.word();
    let name = choice.map_or(name.to_string(), |choice| format!("{name} {choice}"));
    if matches!(missing.gap, Gap::Part(_) | Gap::Misplaced(_)) { format!("{name} in-part") } else { name }
}

/// Every fact that a job says, sorted, each once.
pub fn facts_said(analysis: &Analysis) -> Vec<FactPrint> {
    let job = &analysis.job;
    let ground = Ground::of(job);
    let mut said = Vec::new();
    let header = |of: Subject| ground.header(of).map(|at| job.reads_at(at));
    let mut add = |fact: Need, of: Subject, in_part: bool| {
        said.extend(header(of).map(|header| FactPrint::new(fact, &header, in_part)));
    };
    for fact in Need::ALL.iter().copied() {
        let row = fact.row();
        if fact.is_block() {
            match row.of {
                Of::Vehicle if job.vehicle.is_some() => add(fact, Subject { kind: Kind::Job, number: 0 }, false),
                Of::Supply | Of::Run(_) => {
                    let kind = row.of.kind();
                    let feeds = |run: &&Run| row.of != Of::Supply || matches!(run.start, Start::Battery(_));
                    let runs = job.runs.iter().filter(|run| run.kind == kind).filter(feeds);
                    runs.filter_map(|run| run.heater).for_each(|heater| add(fact, Subject::heater(heater), false));
                }
                _ => {}
            }
            continue;
        }
        let has_parts = row.part.is_some() || matches!(row.stands, Stands::First | Stands::Last);
        for of in ground.subjects(row.of.kind()) {
            match ground.said(fact, of) {
                // What need not be said is no fact where it is not said.
                Some(place) if Some(place) == ground.header(of) => {}
                Some(_) => {
                    add(fact, of, false);
                    if has_parts {
                        add(fact, of, true);
                    }
                }
                // The line stands, and only a part of it is missing.
                None if has_parts
                    && ground
                        .lack(fact, of)
                        .is_some_and(|lack| matches!(lack.gap, Gap::Part(_) | Gap::Misplaced(_))) =>
                {
                    add(fact, of, false);
                }
                None => {}
            }
        }
    }
    said.sort_unstable();
    said.dedup();
    said
}

/// Until when a fact is owed, and by whom.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Terms {
    /// The day it was first taken up.
    pub adopted: Date,
    /// The last day.
    pub until: Date,
    /// Who answers for it.
    pub by: String,
}

/// How a missing fact stands to the record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Owing {
    /// It is owed, and does not count.
    Owed,
    /// Its last day is over, or nobody can say what day it is.
    RunOut,
    /// These rules ask for it and did not when it was taken up.
    Grew(Vec<&'static str>),
    /// It was said once, and is gone.
    SaidBefore,
    /// The job is judged as before building, where nothing is owed.
    Final,
}

/// A missing fact that the record knows of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Debt {
    /// Its terms; a fact that was said before and is gone may have none.
    pub terms: Option<Terms>,
    /// How it stands.
    pub owing: Owing,
    /// How many days ago it was first taken up, where the day is known.
    pub days_old: Option<i64>,
}

impl Debt {
    /// Whether it leaves the job not judged.
    pub fn counts(&self) -> bool {
        self.owing != Owing::Owed
    }

    /// How it stands, as a word.
    pub fn word(&self) -> &'static str {
        match self.owing {
            Owing::Owed => "owed",
            Owing::RunOut => "run-out",
            Owing::Grew(_) => "grew",
            Owing::SaidBefore => "said-before",
            Owing::Final => "final",
        }
    }

    /// How it stands, in words for people.
    pub fn says(&self) -> String {
        let terms = self.terms.as_ref().map_or(String::new(), |terms| {
            format!("a debt of {} since {}, until {}", one_line(&terms.by), terms.adopted, terms.until)
        });
        match &self.owing {
            Owing::Owed => terms,
            Owing::RunOut => format!("{terms}: its last day is over"),
            Owing::Grew(rules) => format!("{terms}, and now also asked for by {}", rules.join(", ")),
            Owing::SaidBefore => "it was said before and is gone: no debt".to_string(),
            Owing::Final => format!("{terms}, but before building nothing is owed"),
        }
    }
}

/// How much is owed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Debts {
    /// Facts.
    pub facts: usize,
    /// Those on which a rule hangs that guards against poisoning, fire or burns.
    pub guarding_life: usize,
    /// Files.
    pub files: usize,
    /// The age of the oldest, in days.
    pub oldest: Option<i64>,
    /// The last day that comes first, and who answers for it.
    pub next: Option<(Date, String)>,
}

impl Debts {
    /// Adds a fact; its file is counted by the caller.
    pub fn add(&mut self, debt: &Debt, guards_life: bool) {
        self.facts += 1;
        self.guarding_life += usize::from(guards_life);
        self.oldest = self.oldest.max(debt.days_old);
        if let Some(terms) = &debt.terms
            && self.next.as_ref().is_none_or(|(until, by)| (terms.until, &terms.by) < (*until, by))
        {
            self.next = Some((terms.until, terms.by.clone()));
        }
    }

    /// In words; empty where nothing is owed.
    pub fn line(&self) -> String {
        if self.facts == 0 {
            return String::new();
        }
        let mut line = format!(
            "{} owed in {}",
            counted(self.facts, "missing fact is", "missing facts are"),
            counted(self.files, "file", "files")
        );
        if self.guarding_life > 0 {
            line += &format!(", {} of them about gas, fire or burns", self.guarding_life);
        }
        if let Some(days) = self.oldest {
            line += &format!(", the oldest for {}", counted(usize::try_from(days).unwrap_or(0), "day", "days"));
        }
        if let Some((until, by)) = &self.next {
            line += &format!(", the first due on {until} ({})", one_line(by));
        }
        line
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::{FileId, Followed, Source};
    use std::collections::HashMap;
    use std::sync::Arc;

    struct Nothing;

    impl Source for Nothing {
        fn follow(&self, _: FileId, _: &str) -> Followed {
            Followed::Missing
        }
    }

    fn analysis(text: &str) -> Analysis {
        let reading = Arc::new(crate::reading::Reading::new(Arc::from(text)));
        crate::analyse(FileId(0), reading, &Nothing, Date::read("2026-11-02"))
    }

    /// No fact is taken for another: neither of two that one word says, nor a line for its part.
    #[test]
    fn each_fact_of_a_block_has_a_number_of_its_own() {
        let mut known: HashMap<FactPrint, String> = HashMap::new();
        for fact in Need::ALL.iter().filter(|fact| fact.as_told() == **fact) {
            for in_part in [false, true] {
                let before = known.insert(FactPrint::new(*fact, "x", in_part), format!("{fact:?}"));
                assert_eq!(before, None, "{fact:?}");
            }
        }
    }

    /// What a job says is said whatever stands around it; what is unknown, in part or in another block is not.
    #[test]
    fn what_is_said_is_known_by_its_block_and_word() {
        let job = |tank: &str| format!("trialfit 1\n\njob \"Invented\"\n\ntank main\n{tank}\ntank aux\n  holds 5 L\n");
        let said = |tank: &str| facts_said(&analysis(&job(tank)));
        let holds = FactPrint::new(Need::TankHolds, "tank main", false);
        let (fuel, grade) =
            (FactPrint::new(Need::TankFuel, "tank main", false), FactPrint::new(Need::TankGrade, "tank main", true));
        assert!(said("  holds 60 L\n").contains(&holds));
        assert!(said("\n  # filled\n  reserve 5 L\n    holds   60   L   # seen\n").contains(&holds));
        for silent in ["", "  holds unknown\n", "  holds ?\n", "  hodls 60 L\n"] {
            assert!(!said(silent).contains(&holds), "{silent}");
        }
        let of = |line: &str| (said(line).contains(&fuel), said(line).contains(&grade));
        assert_eq!(of("  fuel diesel winter-2\n"), (true, true));
        assert_eq!(of("  fuel diesel\n"), (true, false));
        let aux = FactPrint::new(Need::TankHolds, "tank aux", false);
        assert!(said("").contains(&aux) && aux != holds);
        assert_ne!(holds.in_file("a"), holds.in_file("b"));
        assert_eq!(FactKey::read(&holds.in_file("a").to_string()), Some(holds.in_file("a")));
    }
}

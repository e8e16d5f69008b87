//! The account: every question that the rules ask of a job, each with its answer. A question is a rule and the block that it
//! is asked of. What a question lacks is gathered by the missing fact: one lack, told once, whatever hangs on it.

use super::engine::block_at;
use super::{About, Guards, Rule};
use crate::asks::{Applies, Ask, Gap, Ground, Lack, Need, Stands, Subject};
use crate::finding::{Finding, Missing, NotJudged};
use crate::model::Job;
use crate::source::Place;
use std::cell::RefCell;
use std::collections::{BTreeMap, HashMap};

/// How a question came out.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// The rule holds, and everything that it rests on is said.
    Passes,
    /// The rule finds a fault.
    Fails,
    /// It cannot be answered.
    Open(Open),
    /// It does not apply, because of what is said here.
    NotApplicable(Place),
}

/// Why a question is open.
#[derive(Clone, Debug, PartialEq)]
pub enum Open {
    /// For want of these facts.
    Facts(Vec<Lack>),
    /// For another reason.
    Because(String),
}

/// A question with its answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The rule that asks it.
    pub rule: &'static Rule,
    /// The header of the block that it is asked of.
    pub of: Place,
    /// How it came out.
    pub answer: Answer,
    /// Where the facts that it rests on are said, in order; empty unless somebody asks for the whole account.
    pub rests_on: Vec<Place>,
}

/// How many questions came out how.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Totals {
    /// The rule holds.
    pub pass: usize,
    /// The rule finds a fault.
    pub fail: usize,
    /// Not answered.
    pub open: usize,
    /// Not asked, because of something said.
    pub not_applicable: usize,
    /// The facts that are lacking.
    pub facts: usize,
    /// Of those that pass, how many are open before building: a person has to say what was looked for.
    pub passes_unless_final: usize,
}

impl Totals {
    /// All questions.
    pub fn all(&self) -> usize {
        self.pass + self.fail + self.open + self.not_applicable
    }

    /// As they are before building, with so many facts more that are asked for then.
    pub fn made_final(&mut self, facts: usize) {
        let open = std::mem::take(&mut self.passes_unless_final);
        self.pass -= open;
        self.open += open;
        self.facts += facts;
    }

    /// Adds those of another job.
    pub fn add(&mut self, other: Totals) {
        self.pass += other.pass;
        self.fail += other.fail;
        self.open += other.open;
        self.not_applicable += other.not_applicable;
        self.facts += other.facts;
        self.passes_unless_final += other.passes_unless_final;
    }
}

/// Every question of a job, in the order of the catalogue, and what is lacking.
#[derive(Clone, Debug, Default)]
pub struct Account {
    /// The questions.
    pub questions: Vec<Question>,
    /// What they lack, by the fact: those first on which the gravest question hangs.
    pub lacks: Vec<NotJudged>,
    /// What is asked for only before building.
    pub before_building: Vec<NotJudged>,
    /// The same in numbers.
    pub totals: Totals,
}

/// What hangs on a lack.
#[derive(Default)]
struct Hangs {
    rules: Vec<&'static Rule>,
    then: Vec<Need>,
}

/// Asks every question of a job; which of them fail or are open for other reasons is what the rules said.
/// With `traced`, each question says where the facts that it rests on stand.
pub(super) fn ask(job: &Job, found: &[Finding], left: &[NotJudged], traced: bool) -> Account {
    let ground = Ground::of(job);
    let failed = Said::of(&ground, found.iter().map(|it| (it.rule, it.place, 0)));
    let unjudged = Said::of(&ground, left.iter().enumerate().map(|(number, it)| (it.rule, it.place, number)));
    let mut account = Account::default();
    let mut hangs: BTreeMap<(Place, Need, Gap), Hangs> = BTreeMap::new();
    let mut looked_for: BTreeMap<(Place, Need, Gap), Hangs> = BTreeMap::new();
    let not_an_install = job.header.is_none() && !job.heaters.is_empty();
    for rule in super::all().filter(|rule| !rule.asks.is_empty()) {
        let mut asked: Vec<(Subject, Answer)> = Vec::new();
        let mut at: HashMap<Subject, usize> = HashMap::new();
        for ask in rule.asks {
            for subject in ground.asked(ask.each) {
                let answer = answer(&ground, rule, ask, subject, &mut hangs);
                let next = asked.len();
                // Only a rule with several questions may ask one block twice.
                let number = if rule.asks.len() > 1 { *at.entry(subject).or_insert(next) } else { next };
                match asked.get_mut(number) {
                    Some((_, known)) => *known = both(std::mem::replace(known, Answer::Passes), answer),
                    None => asked.push((subject, answer)),
                }
            }
        }
        for (subject, mut answer) in asked {
            let Some(of) = ground.header(subject) else { continue };
            if let Some(number) = unjudged.at(rule, of).and_then(|number| left.get(number))
                && !matches!(answer, Answer::Open(_))
            {
                answer = Answer::Open(Open::Because(number.because.clone()));
            }
            if failed.at(rule, of).is_some() {
                answer = Answer::Fails;
            }
            if not_an_install && answer == Answer::Passes {
                answer = Answer::Open(Open::Because("the file has no `job` line".to_string()));
            }
            let passes = matches!(answer, Answer::Passes);
            account.totals.passes_unless_final +=
                usize::from(passes && wants_looking(&ground, rule, subject, &mut looked_for));
            let rests_on = if traced { rests_on(&ground, rule, subject) } else { Vec::new() };
            account.add(Question { rule, of, answer, rests_on });
        }
    }
    // What a rule says of a block that it is not asked of is a question all the same.
    for (rule, of, _) in failed.rest() {
        account.add(Question { rule, of, answer: Answer::Fails, rests_on: Vec::new() });
    }
    for (rule, of, number) in unjudged.rest() {
        let because = left.get(number).map_or(String::new(), |it| it.because.clone());
        account.add(Question { rule, of, answer: Answer::Open(Open::Because(because)), rests_on: Vec::new() });
    }
    let lacking = |((at, fact, gap), hangs): ((Place, Need, Gap), Hangs)| {
        // Of a pump that a finding misses already, no second word is said.
        let blocks = answers_for(&ground, at);
        let by = fact.row().told_by;
        let told_already = by.iter().any(|rule| blocks.iter().any(|block| failed.by.contains_key(&(*rule, *block))));
        told(job, &ground, at, fact, gap, hangs, told_already)
    };
    account.lacks = hangs.into_iter().map(lacking).collect();
    account.totals.facts = account.lacks.len();
    account.before_building = together(looked_for.into_iter().map(lacking).collect());
    account.lacks.sort_by_key(|lack| (lack.rule.guards, lack.place));
    account
}

impl Account {
    /// Leads its places back to files, where layers make the job.
    pub(super) fn lead_back(&mut self, job: &Job) {
        for question in &mut self.questions {
            question.of = job.shown(question.of);
            question.rests_on.iter_mut().for_each(|place| *place = job.real(*place));
            if let Answer::NotApplicable(place) = &mut question.answer {
                *place = job.real(*place);
            }
        }
        let lacks = self.lacks.iter_mut().chain(&mut self.before_building);
        lacks.for_each(|lack| lack.place = job.shown(lack.place));
    }
}

impl Account {
    fn add(&mut self, question: Question) {
        match question.answer {
            Answer::Passes => self.totals.pass += 1,
            Answer::Fails => self.totals.fail += 1,
            Answer::Open(_) => self.totals.open += 1,
            Answer::NotApplicable(_) => self.totals.not_applicable += 1,
        }
        self.questions.push(question);
    }
}

/// A rule's question of one block.
fn answer(
    ground: &Ground<'_>,
    rule: &'static Rule,
    ask: &Ask,
    subject: Subject,
    hangs: &mut BTreeMap<(Place, Need, Gap), Hangs>,
) -> Answer {
    let mut lacks: Vec<Lack> = Vec::new();
    let mut lacking = |lack: Lack, then: Option<Need>| {
        let on = hangs.entry((lack.at, lack.fact, lack.gap)).or_default();
        if on.rules.last() != Some(&rule) {
            on.rules.push(rule);
        }
        on.then.extend(then.filter(|fact| *fact != lack.fact));
        if !lacks.contains(&lack) {
            lacks.push(lack);
        }
    };
    let facts = ask.facts().filter(|fact| !fact.row().before_building);
    match (ask.only)(ground, subject) {
        Applies::No(place) => return Answer::NotApplicable(place),
        Applies::Open(open) => {
            lacking(open, None);
            each_lack(ground, facts, subject, &mut |lack, _| lacking(open, Some(lack.fact)));
        }
        Applies::Yes => each_lack(ground, facts, subject, &mut |lack, then| lacking(lack, then)),
    }
    if lacks.is_empty() { Answer::Passes } else { Answer::Open(Open::Facts(lacks)) }
}

/// What a question of a block lacks; and where a block cannot be reached, what was wanted of it.
fn each_lack(
    ground: &Ground<'_>,
    facts: impl Iterator<Item = Need>,
    subject: Subject,
    lacking: &mut dyn FnMut(Lack, Option<Need>),
) {
    for fact in facts {
        let of = fact.row().of;
        if of.is_each() && of.kind() != subject.kind {
            ground.lacks_of_each(fact).iter().for_each(|lack| lacking(*lack, None));
            continue;
        }
        ground.reach(subject, fact.row().of, &mut |reached| match reached {
            Ok(_) if fact.is_block() => {}
            Ok(block) => {
                if let Some(lack) = ground.lack(fact, block) {
                    lacking(lack, None);
                }
            }
            // Where nobody asks for the block, nobody asks what it might say.
            Err(_) if fact.row().stands == Stands::IfSaid => {}
            Err(lack) => lacking(lack, Some(fact)),
        });
    }
}

/// Whether a question that passes wants somebody to say what was looked for, before anybody builds.
fn wants_looking(
    ground: &Ground<'_>,
    rule: &'static Rule,
    subject: Subject,
    looked_for: &mut BTreeMap<(Place, Need, Gap), Hangs>,
) -> bool {
    let mut wants = false;
    for ask in rule.asks.iter().filter(|ask| ask.each == subject.kind) {
        let facts = ask.facts().filter(|fact| fact.row().before_building);
        each_lack(ground, facts, subject, &mut |lack, beyond| {
            // Where the block itself is not there, that is told by itself.
            if beyond.is_none() {
                wants = true;
                looked_for.entry((lack.at, lack.fact, lack.gap)).or_default().rules.push(rule);
            }
        });
    }
    wants
}

/// What one line would say is told once: of what was looked for, all that is missing.
fn together(lacks: Vec<NotJudged>) -> Vec<NotJudged> {
    let mut told: Vec<NotJudged> = Vec::new();
    for lack in lacks {
        let Some(missing) = &lack.missing else { continue };
        let word = missing.fact.word();
        let same = |known: &&mut NotJudged| {
            known.place == lack.place && known.missing.as_ref().is_some_and(|other| other.fact.word() == word)
        };
        match told.iter_mut().find(same) {
            Some(known) => {
                if let Some(other) = &mut known.missing {
                    other.rules.extend(missing.rules.iter().copied());
                    other.rules.sort_by_key(|rule| rule.guards);
                    other.rules.dedup();
                    other.also.push(missing.fact);
                    known.because = other.because();
                }
            }
            None => told.push(lack),
        }
    }
    told
}

/// Where the facts stand that a rule's questions of a block rest on.
fn rests_on(ground: &Ground<'_>, rule: &'static Rule, subject: Subject) -> Vec<Place> {
    let mut places = Vec::new();
    for ask in rule.asks.iter().filter(|ask| ask.each == subject.kind) {
        for fact in ask.facts().filter(|fact| !fact.is_block()) {
            ground.reach(subject, fact.row().of, &mut |reached| {
                places.extend(reached.ok().and_then(|block| ground.said(fact, block)));
            });
        }
    }
    places.sort_unstable();
    places.dedup();
    places
}

/// Two parts of one question: open where either is; it does not apply where neither does.
fn both(one: Answer, other: Answer) -> Answer {
    match (one, other) {
        (Answer::Open(Open::Facts(mut one)), Answer::Open(Open::Facts(other))) => {
            one.extend(other);
            Answer::Open(Open::Facts(one))
        }
        (open @ Answer::Open(_), _) | (_, open @ Answer::Open(_)) => open,
        (Answer::NotApplicable(_), other) => other,
        (one, _) => one,
    }
}

/// A lack in words.
fn told(
    job: &Job,
    ground: &Ground<'_>,
    at: Place,
    fact: Need,
    gap: Gap,
    hangs: Hangs,
    told_already: bool,
) -> NotJudged {
    let Hangs { mut rules, mut then } = hangs;
    rules.sort_by_key(|rule| rule.guards);
    rules.dedup();
    then.sort_unstable();
    then.dedup();
    let place = match gap {
        Gap::Silent => where_shown(job, ground, at),
        Gap::Part(place)
        | Gap::Misplaced(place)
        | Gap::Asked(place)
        | Gap::Blank(place)
        | Gap::Unknown(place)
        | Gap::NotRead(place) => {
            if job.own(place) {
                place
            } else {
                where_shown(job, ground, at)
            }
        }
    };
    let missing = Missing { fact, also: Vec::new(), gap, told_already, block: job.reads_at(at), rules, then };
    let rule = missing.rules.first().copied().unwrap_or(&super::RULE_FAILED);
    NotJudged { rule, place, because: missing.because(), missing: Some(missing) }
}

/// Where a lack is shown: the block's header, or, for a data sheet of another file, the line that names it.
fn where_shown(job: &Job, ground: &Ground<'_>, at: Place) -> Place {
    if job.own(at) {
        return at;
    }
    let sheet = job.heater_sheets.iter().position(|sheet| sheet.header == at);
    let of = job.heaters.iter().find(|heater| sheet.is_some() && heater.sheet == sheet);
    of.and_then(|heater| heater.sheet_place).unwrap_or_else(|| ground.top())
}

/// The blocks that what is said of a block may answer for: itself, and, as a heater is asked about all that hangs on it,
/// the heaters that it has to do with. By their headers as the layers make them.
pub(crate) fn answers_for(ground: &Ground<'_>, header: Place) -> Vec<Place> {
    let heaters = ground.heaters_at(header).filter_map(|heater| ground.job.heaters.get(heater));
    let others = heaters.map(|heater| heater.header).filter(|heater| *heater != header);
    std::iter::once(header).chain(others).collect()
}

/// What the rules said, by rule and by the blocks that it may be about.
struct Said {
    /// By rule and block, what was said there: its number here, and among those given.
    by: HashMap<(&'static str, Place), Vec<(usize, usize)>>,
    all: Vec<(&'static Rule, Place, usize)>,
    asked: RefCell<Vec<bool>>,
}

impl Said {
    fn of(ground: &Ground<'_>, said: impl Iterator<Item = (&'static Rule, Place, usize)>) -> Said {
        let job = ground.job;
        let mut by: HashMap<(&'static str, Place), Vec<(usize, usize)>> = HashMap::new();
        let mut all = Vec::new();
        for (rule, place, number) in said {
            let header = block_at(job, place).unwrap_or(place);
            let at = all.len();
            all.push((rule, header, number));
            for block in answers_for(ground, header) {
                by.entry((rule.name, block)).or_default().push((at, number));
            }
        }
        let asked = RefCell::new(vec![false; all.len()]);
        Said { by, all, asked }
    }

    /// What a rule said of a block, first of all.
    fn at(&self, rule: &'static Rule, header: Place) -> Option<usize> {
        let known = self.by.get(&(rule.name, header))?;
        let mut asked = self.asked.borrow_mut();
        for (at, _) in known {
            if let Some(done) = asked.get_mut(*at) {
                *done = true;
            }
        }
        known.first().map(|(_, number)| *number)
    }

    /// What was said of blocks that nobody asked about, each once.
    fn rest(&self) -> Vec<(&'static Rule, Place, usize)> {
        let asked = self.asked.borrow();
        let open = self.all.iter().zip(asked.iter()).filter(|(_, asked)| !**asked).map(|(said, _)| *said);
        let mut rest: Vec<_> = open.collect();
        rest.dedup_by_key(|(rule, of, _)| (rule.name, *of));
        rest
    }
}

/// Whether a lack leaves a job unjudged: something that guards life, fire or the start hangs on it, and no other finding
/// tells of it.
pub(super) fn counts(lack: &NotJudged) -> bool {
    let grave = |rule: &&Rule| rule.guards.life_safety() || rule.guards == Guards::Start;
    lack.missing.as_ref().is_some_and(|missing| {
        missing.rules.iter().any(grave)
            && !missing.told_already
            && !matches!(missing.gap, Gap::NotRead(_) | Gap::Blank(_) | Gap::Asked(_))
    })
}

/// Whether a finding is about something that is not written at all.
pub(super) fn is_absence(finding: &Finding) -> bool {
    finding.rule.about == About::Absent
}

#[cfg(test)]
mod tests {
    use super::super::Family;

    /// A rule on the install asks its questions of something: else nobody would know what it did not judge.
    #[test]
    fn every_rule_on_the_install_asks() {
        let of_the_paper = |family| {
            matches!(family, Family::Text | Family::Names | Family::Layers | Family::Practice | Family::Concessions)
        };
        // Where a route says that it ends, and where it comes out, is about the text of the route.
        let of_the_route =
            ["run-misses-its-end", "run-without-end", "measured-distance-differs", "measured-to-nothing"];
        let silent: Vec<&str> = super::super::all()
            .filter(|rule| !of_the_paper(rule.family) && rule.asks.is_empty() && !of_the_route.contains(&rule.name))
            .map(|rule| rule.name)
            .collect();
        assert!(silent.is_empty(), "{silent:?}");
    }
}

//! The JSON forms: wire structures of their own, versioned apart from the model. A field is never given a new meaning;
//! a change that would break a reader raises `version`. The schemas stand beside the command.

use super::figures::layers_of;
use super::{Answers, CAUTION, Locator, Naming, Owing};
use crate::analysis::Analysis;
use crate::asks::Gap;
use crate::doubts::Eaten;
use crate::finding::{self, Whose};
use crate::rules::{self, Answer, Judged, Totals};
use crate::source::Place;
use crate::vocabulary::EDITION;
use serde::Serialize;

/// The tool that made a document.
#[derive(Debug, Serialize)]
pub struct Tool {
    name: &'static str,
    version: &'static str,
    edition: u32,
}

/// This tool.
pub fn tool() -> Tool {
    Tool { name: "trialfit", version: tool_version(), edition: EDITION }
}

/// The version of the tool, its rules and its physics.
pub(super) const fn tool_version() -> &'static str {
    env!("CARGO_PKG_VERSION")
}

/// A point in a file.
#[derive(Debug, Serialize)]
pub struct Point {
    line: u32,
    column: u32,
    byte: u32,
}

/// A range in a file.
#[derive(Debug, Serialize)]
pub struct Where {
    path: String,
    start: Point,
    end: Point,
}

/// A limit.
#[derive(Debug, Serialize)]
pub struct Limit {
    text: String,
    whose: String,
    kind: &'static str,
}

/// Another place that takes part.
#[derive(Debug, Serialize)]
pub struct Related {
    place: Where,
    label: String,
}

/// One replacement.
#[derive(Debug, Serialize)]
pub struct Edit {
    place: Where,
    insert: String,
}

/// A way to mend a finding.
#[derive(Debug, Serialize)]
pub struct Remedy {
    title: String,
    unseen: bool,
    edits: Vec<Edit>,
}

/// The concession that sets a finding aside.
#[derive(Debug, Serialize)]
pub struct Conceded {
    place: Where,
    because: String,
    by: String,
    until: Option<String>,
}

/// One finding.
#[derive(Debug, Serialize)]
pub struct Finding {
    fingerprint: String,
    /// Whether it stands in the record of known findings and so does not count.
    pub known: bool,
    rule: &'static str,
    family: &'static str,
    severity: &'static str,
    life_safety: bool,
    place: Where,
    used: Option<Where>,
    title: String,
    label: String,
    why: String,
    limit: Option<Limit>,
    mend: String,
    related: Vec<Related>,
    remedies: Vec<Remedy>,
    conceded: Option<Conceded>,
}

/// A safety rule that lacked its inputs.
#[derive(Debug, Serialize)]
pub struct NotJudged {
    rule: &'static str,
    title: &'static str,
    place: Where,
    because: String,
    missing: Option<Missing>,
    /// How the missing fact stands to the record, where the record knows of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub debt: Option<Debt>,
}

/// A missing fact that the record knows of.
#[derive(Debug, Serialize)]
pub struct Debt {
    state: &'static str,
    counts: bool,
    adopted: Option<String>,
    until: Option<String>,
    by: Option<String>,
    days_old: Option<i64>,
    asked_anew: Vec<&'static str>,
}

impl From<&super::Debt> for Debt {
    fn from(debt: &super::Debt) -> Debt {
        let terms = debt.terms.as_ref();
        Debt {
            state: debt.word(),
            counts: debt.counts(),
            adopted: terms.map(|terms| terms.adopted.to_string()),
            until: terms.map(|terms| terms.until.to_string()),
            by: terms.map(|terms| terms.by.clone()),
            days_old: debt.days_old,
            asked_anew: match &debt.owing {
                Owing::Grew(rules) => rules.clone(),
                _ => Vec::new(),
            },
        }
    }
}

/// How much is owed.
#[derive(Debug, Serialize)]
pub struct Debts {
    facts: usize,
    life_safety: usize,
    files: usize,
    oldest_days: Option<i64>,
    first_due: Option<String>,
    first_due_by: Option<String>,
}

impl From<super::Debts> for Debts {
    fn from(debts: super::Debts) -> Debts {
        let (first_due, first_due_by) = debts.next.map(|(until, by)| (until.to_string(), by)).unzip();
        Debts {
            facts: debts.facts,
            life_safety: debts.guarding_life,
            files: debts.files,
            oldest_days: debts.oldest,
            first_due,
            first_due_by,
        }
    }
}

/// A fact that a job does not say.
#[derive(Debug, Serialize)]
pub struct Missing {
    block: String,
    word: &'static str,
    example: &'static str,
    gap: &'static str,
    questions: Vec<&'static str>,
    then: Vec<&'static str>,
}

/// How many questions came out how.
#[derive(Debug, Serialize)]
pub struct Questions {
    asked: usize,
    pass: usize,
    fail: usize,
    open: usize,
    not_applicable: usize,
    missing_facts: usize,
}

impl From<Totals> for Questions {
    fn from(totals: Totals) -> Questions {
        Questions {
            asked: totals.all(),
            pass: totals.pass,
            fail: totals.fail,
            open: totals.open,
            not_applicable: totals.not_applicable,
            missing_facts: totals.facts,
        }
    }
}

/// What was found in one file.
#[derive(Debug, Serialize)]
pub struct File {
    /// Its path.
    pub path: String,
    /// The edition it says it is written in.
    pub edition: Option<u32>,
    /// Its findings.
    pub findings: Vec<Finding>,
    /// What was not judged.
    pub not_judged: Vec<NotJudged>,
    /// The questions that were asked of it.
    pub questions: Questions,
}

/// A file that was not judged at all.
#[derive(Debug, Serialize)]
pub struct Unreadable {
    /// Its path.
    pub path: String,
    /// Why.
    pub reason: String,
}

/// The sum.
#[derive(Debug, Serialize)]
pub struct Summary {
    files: usize,
    errors: usize,
    warnings: usize,
    advice: usize,
    set_aside: usize,
    known: usize,
    not_judged: usize,
    debts: Debts,
    unreadable: usize,
    questions: Questions,
}

/// The document of a check.
#[derive(Debug, Serialize)]
pub struct Findings {
    form: &'static str,
    version: u32,
    tool: Tool,
    date: Option<String>,
    caution: &'static str,
    files: Vec<File>,
    unreadable: Vec<Unreadable>,
    summary: Summary,
}

impl Findings {
    /// The document. `date` is the day that concessions were held against.
    pub fn new(date: Option<String>, files: Vec<File>, unreadable: Vec<Unreadable>, sum: super::Counts) -> Findings {
        let summary = Summary {
            files: sum.files,
            errors: sum.errors,
            warnings: sum.warnings,
            advice: sum.advice,
            set_aside: sum.set_aside,
            known: sum.known,
            not_judged: sum.not_judged,
            debts: sum.debts.into(),
            unreadable: sum.unreadable,
            questions: sum.questions.into(),
        };
        Findings {
            form: "trialfit.findings",
            version: 1,
            tool: tool(),
            date,
            caution: CAUTION,
            files,
            unreadable,
            summary,
        }
    }
}

/// Puts places of one analysis on the wire.
pub struct Writer<'a> {
    main: Locator<'a>,
    other: Locator<'a>,
    name: Naming<'a>,
}

impl<'a> Writer<'a> {
    /// For one analysis.
    pub fn new(analysis: &'a Analysis, name: Naming<'a>) -> Writer<'a> {
        Writer { main: Locator::new(analysis), other: Locator::new(analysis), name }
    }

    fn place(&mut self, place: Place) -> Where {
        located(&mut self.other, self.name, place)
    }

    /// A finding.
    pub fn finding(&mut self, finding: &finding::Finding, fingerprint: String) -> Finding {
        Finding {
            fingerprint,
            known: false,
            rule: finding.rule.name,
            family: finding.rule.family.title(),
            severity: finding.severity.word(),
            life_safety: finding.guards_life(),
            place: located(&mut self.main, self.name, finding.place),
            used: finding.used.map(|place| self.place(place)),
            title: finding.title.clone(),
            label: finding.label.clone(),
            why: finding.why.clone(),
            limit: finding.limit.as_ref().map(|limit| Limit {
                text: limit.text.clone(),
                whose: limit.whose.to_string(),
                kind: kind(&limit.whose),
            }),
            mend: finding.help.clone(),
            related: finding
                .related
                .iter()
                .map(|related| Related { place: self.place(related.place), label: related.label.clone() })
                .collect(),
            remedies: finding.remedies.iter().map(|remedy| self.remedy(remedy)).collect(),
            conceded: finding.conceded.as_ref().map(|conceded| Conceded {
                place: self.place(conceded.place),
                because: conceded.because.clone(),
                by: conceded.by.clone(),
                until: conceded.until.clone(),
            }),
        }
    }

    fn remedy(&mut self, remedy: &finding::Remedy) -> Remedy {
        let edit = |(file, edit): &(crate::source::FileId, crate::text::Edit)| Edit {
            place: self.place(Place { file: *file, span: edit.span }),
            insert: edit.insert.clone(),
        };
        Remedy { title: remedy.title.clone(), unseen: remedy.unseen, edits: remedy.edits.iter().map(edit).collect() }
    }

    /// What was not judged.
    pub fn not_judged(&mut self, left: &finding::NotJudged) -> NotJudged {
        NotJudged {
            rule: left.rule.name,
            title: left.rule.title,
            place: located(&mut self.main, self.name, left.place),
            because: left.because.clone(),
            debt: None,
            missing: left.missing.as_ref().map(|missing| Missing {
                block: missing.block.clone(),
                word: missing.fact.word(),
                example: missing.fact.example(),
                gap: match missing.gap {
                    Gap::Silent => "not-said",
                    Gap::Part(_) | Gap::Misplaced(_) => "in-part",
                    Gap::Asked(_) => "asked",
                    Gap::Blank(_) => "blank",
                    Gap::Unknown(_) => "unknown",
                    Gap::NotRead(_) => "not-understood",
                },
                questions: missing.rules.iter().map(|rule| rule.name).collect(),
                then: missing.then.iter().map(|fact| fact.word()).collect(),
            }),
        }
    }

    /// A question of the account with its answer.
    fn question(
        &mut self,
        analysis: &Analysis,
        question: &rules::Question,
        answers: &Answers<'_>,
        lines: &mut Locator<'_>,
    ) -> Question {
        let held = answers.figure(question);
        Question {
            rule: question.rule.name,
            guards: question.rule.guards.title(),
            block: analysis.reading(question.of.file).map_or("", |reading| reading.slice(question.of.span)).to_string(),
            place: self.place(question.of),
            answer: match question.answer {
                Answer::Passes => "pass",
                Answer::Fails => "fail",
                Answer::Open(_) => "open",
                Answer::NotApplicable(_) => "notApplicable",
            },
            words: answers.words(question, lines),
            figure: held.map(|held| held.show(held.worst())),
            limit: held.map(|held| format!("{} {}", held.bound.words(), held.show(held.limit))),
            whose: held.map(|held| held.whose.to_string()),
            margin: held.map(Judged::margin),
            rests_on: question.rests_on.iter().map(|place| self.place(*place)).collect(),
        }
    }
}

/// A question of the account.
#[derive(Debug, Serialize)]
pub struct Question {
    rule: &'static str,
    guards: &'static str,
    block: String,
    place: Where,
    answer: &'static str,
    words: String,
    figure: Option<String>,
    limit: Option<String>,
    whose: Option<String>,
    margin: Option<f64>,
    rests_on: Vec<Where>,
}

/// A file's account.
#[derive(Debug, Serialize)]
pub struct FileAccount {
    path: String,
    totals: Questions,
    questions: Vec<Question>,
    missing: Vec<NotJudged>,
}

impl FileAccount {
    /// Of an analysis; only the questions that `wanted` picks.
    pub fn of(
        path: String,
        analysis: &Analysis,
        wanted: &dyn Fn(&rules::Question) -> bool,
        name: Naming<'_>,
    ) -> FileAccount {
        let account = analysis.account();
        let answers = Answers::of(analysis);
        let (mut writer, mut lines) = (Writer::new(analysis, name), Locator::new(analysis));
        let shown = account.questions.iter().filter(|question| wanted(question));
        let questions = shown.map(|question| writer.question(analysis, question, &answers, &mut lines)).collect();
        let missing = account.lacks.iter().map(|lack| writer.not_judged(lack)).collect();
        FileAccount { path, totals: account.totals.into(), questions, missing }
    }
}

/// The document of accounts.
#[derive(Debug, Serialize)]
pub struct Accounts {
    form: &'static str,
    version: u32,
    tool: Tool,
    caution: &'static str,
    files: Vec<FileAccount>,
}

impl Accounts {
    /// Of these files.
    pub fn new(files: Vec<FileAccount>) -> Accounts {
        Accounts { form: "trialfit.account", version: 1, tool: tool(), caution: CAUTION, files }
    }
}

fn located(locator: &mut Locator<'_>, name: Naming<'_>, place: Place) -> Where {
    let mut point = |byte: u32| {
        let at = locator.position(place.file, byte);
        Point { line: at.line, column: at.column, byte }
    };
    let start = point(place.span.start);
    let end = point(place.span.end);
    Where { path: name(place.file).to_string(), start, end }
}

/// The word for whose limit it is.
fn kind(whose: &Whose) -> &'static str {
    match whose {
        Whose::Sheet(_) => "data-sheet",
        Whose::Standard(_) => "standard",
        Whose::CommonPractice => "common-practice",
        Whose::LifeSafety => "life-safety",
        Whose::Language => "language",
        Whose::Kit(_) => "kit",
        Whose::Job => "job",
        Whose::House(_) => "workshop",
    }
}

/// A number that went into a step.
#[derive(Debug, Serialize)]
pub struct Input {
    symbol: &'static str,
    si_value: f64,
    shown: String,
}

/// A step of a working.
#[derive(Debug, Serialize)]
pub struct Step {
    what: String,
    formula: String,
    inputs: Vec<Input>,
    si_value: f64,
    shown: String,
    source: String,
}

/// A figure.
#[derive(Debug, Serialize)]
pub struct Figure {
    name: &'static str,
    section: &'static str,
    subject: Where,
    title: String,
    case: String,
    si_value: f64,
    shown: String,
    rests_on: Vec<Where>,
    layers: Vec<Layer>,
    working: Vec<Step>,
}

/// A layer that lends a line to a figure: a kit, or what is usual.
#[derive(Debug, Serialize)]
pub struct Layer {
    name: String,
    place: Where,
}

/// A figure that was not computed.
#[derive(Debug, Serialize)]
pub struct NotComputed {
    section: &'static str,
    subject: Where,
    title: String,
    because: String,
}

/// The doubt that eats most of a margin.
#[derive(Debug, Serialize)]
pub struct Doubt {
    place: Where,
    written: String,
    takes: f64,
    share: f64,
}

/// A figure held against a limit.
#[derive(Debug, Serialize)]
pub struct Margin {
    rule: &'static str,
    what: String,
    place: Where,
    margin: f64,
    kept: bool,
    bound: &'static str,
    low: f64,
    nominal: f64,
    high: f64,
    limit: f64,
    shown: String,
    limit_shown: String,
    whose: String,
    kind: &'static str,
    doubt: Option<Doubt>,
}

/// The margins of an analysis that a filter leaves, the tightest first. Numbers that are not finite become `null`.
pub fn margins(
    analysis: &Analysis,
    eaten: &[Option<Eaten>],
    wanted: &dyn Fn(&Judged) -> bool,
    name: Naming<'_>,
) -> Vec<Margin> {
    let mut writer = Writer::new(analysis, name);
    let all = analysis.margins().iter().zip(eaten).filter(|(judged, _)| wanted(judged));
    let margins = all.map(|(judged, eaten)| Margin {
        rule: judged.rule.name,
        what: judged.what.clone(),
        place: writer.place(judged.place),
        margin: judged.margin(),
        kept: judged.stand.keeps(),
        bound: judged.bound.words(),
        low: judged.figure.low,
        nominal: judged.figure.nominal,
        high: judged.figure.high,
        limit: judged.limit,
        shown: judged.show(judged.worst()),
        limit_shown: judged.show(judged.limit),
        whose: judged.whose.to_string(),
        kind: kind(&judged.whose),
        doubt: eaten.map(|eaten| Doubt {
            place: writer.place(eaten.place),
            written: analysis
                .reading(eaten.place.file)
                .map_or(String::new(), |reading| reading.slice(eaten.place.span).to_string()),
            takes: eaten.takes,
            share: eaten.share,
        }),
    });
    margins.collect()
}

/// A file and its margins.
#[derive(Debug, Serialize)]
pub struct FileMargins {
    path: String,
    margins: Vec<Margin>,
}

impl FileMargins {
    /// Of one file.
    pub fn new(path: String, margins: Vec<Margin>) -> FileMargins {
        FileMargins { path, margins }
    }
}

/// The document of margins.
#[derive(Debug, Serialize)]
pub struct Margins {
    form: &'static str,
    version: u32,
    tool: Tool,
    caution: &'static str,
    files: Vec<FileMargins>,
}

impl Margins {
    /// Of these files.
    pub fn new(files: Vec<FileMargins>) -> Margins {
        Margins { form: "trialfit.margins", version: 1, tool: tool(), caution: CAUTION, files }
    }
}

/// The document of a job's figures.
#[derive(Debug, Serialize)]
pub struct Figures {
    form: &'static str,
    version: u32,
    tool: Tool,
    path: String,
    caution: &'static str,
    figures: Vec<Figure>,
    not_computed: Vec<NotComputed>,
    #[serde(skip_serializing_if = "Option::is_none")]
    margins: Option<Vec<Margin>>,
}

impl Figures {
    /// The figures of an analysis. Numbers that are not finite become `null`.
    pub fn of(analysis: &Analysis, name: Naming<'_>) -> Figures {
        let mut writer = Writer::new(analysis, name);
        let figures = analysis.shown().list.iter().map(|figure| Figure {
            name: figure.name,
            section: figure.section.title(),
            subject: writer.place(figure.subject),
            title: figure.title.clone(),
            case: figure.case.to_string(),
            si_value: figure.value,
            shown: figure.shown(),
            rests_on: figure.rests_on.iter().map(|place| writer.place(*place)).collect(),
            layers: layers_of(analysis, figure)
                .into_iter()
                .map(|link| Layer { name: link.layer, place: writer.place(link.place) })
                .collect(),
            working: figure.working.iter().map(step).collect(),
        });
        let figures = figures.collect();
        let not_computed = analysis.shown().missing.iter().map(|left| NotComputed {
            section: left.section.title(),
            subject: writer.place(left.subject),
            title: left.title.clone(),
            because: left.because.clone(),
        });
        Figures {
            form: "trialfit.figures",
            version: 1,
            tool: tool(),
            path: name(analysis.file).to_string(),
            caution: CAUTION,
            not_computed: not_computed.collect(),
            figures,
            margins: None,
        }
    }

    /// With the job's margins.
    pub fn with_margins(self, margins: Vec<Margin>) -> Figures {
        Figures { margins: Some(margins), ..self }
    }
}

fn step(step: &crate::figures::Step) -> Step {
    let inputs = step.inputs.iter();
    Step {
        what: step.what.to_string(),
        formula: step.formula.to_string(),
        inputs: inputs
            .map(|input| Input { symbol: input.symbol, si_value: input.value, shown: input.shown() })
            .collect(),
        si_value: step.result,
        shown: step.shown(),
        source: step.source.to_string(),
    }
}

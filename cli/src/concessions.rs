//! `trialfit concessions`: every concession of a tree, what it covers, and how long it still holds; and what is owed, by the
//! record. Whether one holds is decided where jobs are judged; here it is only listed.

use crate::arguments::{Concessions, ListForm};
use crate::check::Records;
use crate::files::Library;
use crate::output::{Output, caution, complain};
use crate::settings::{Excludes, Shelf};
use crate::targets::{Target, Targets};
use crate::{Ending, check, clock, fault};
use serde_json::json;
use spec_lang::Analysis;
use spec_lang::model::{Concession, Job};
use spec_lang::reading::Date;
use spec_lang::report::{CAUTION, Locator, Owing, Terms, counted, csv_row, csv_text, json, one_line, wrap};
use spec_lang::rules::{self, Day};
use spec_lang::source::FileId;
use std::collections::BTreeMap;
use std::io;
use std::path::Path;
use std::sync::Arc;

/// How a concession stands.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum State {
    InForce,
    NoJob,
    NearItsEnd,
    CoversNothing,
    Expired,
    NotSigned,
    NotAllowed,
    NoSuchRule,
}

impl State {
    fn word(self) -> &'static str {
        match self {
            State::InForce => "in force",
            State::NoJob => "no job looked at",
            State::NearItsEnd => "near its end",
            State::CoversNothing => "matches nothing",
            State::Expired => "expired",
            State::NotSigned => "not signed",
            State::NotAllowed => "not allowed",
            State::NoSuchRule => "no such rule",
        }
    }
}

/// One concession, with what all the jobs looked at have of it.
struct Entry {
    path: Arc<str>,
    line: u32,
    column: u32,
    rule: String,
    on: Vec<String>,
    because: String,
    by: String,
    until: Option<Date>,
    signed: bool,
    notice: u32,
    covers: usize,
    jobs: usize,
}

impl Entry {
    fn of(concession: &Concession, path: Arc<str>, job: &Job, locator: &mut Locator<'_>, notice: u32) -> Entry {
        let at = locator.start(job.real(concession.header));
        let text = |stated: Option<&String>| stated.cloned().unwrap_or_default();
        let on = concession.on.iter().map(|on| {
            let words = job.text(on.place).split_whitespace().skip(1).collect::<Vec<_>>();
            words.join(" ")
        });
        let (because, by) = (concession.because.get(), concession.by.get());
        Entry {
            path,
            line: at.line,
            column: at.column,
            rule: text(concession.rule.get()),
            on: on.collect(),
            signed: because.is_some() && by.is_some() && !concession.on.is_empty(),
            because: text(because),
            by: text(by),
            until: concession.until.get().copied(),
            notice,
            covers: 0,
            jobs: 0,
        }
    }

    fn days_left(&self, today: Option<Date>) -> Option<i64> {
        days(today, self.until)
    }

    fn state(&self, today: Option<Date>) -> State {
        let left = self.days_left(today);
        match rules::find(&self.rule) {
            None => State::NoSuchRule,
            Some(rule) if !rule.can_wait() => State::NotAllowed,
            _ if !self.signed => State::NotSigned,
            _ if left.is_some_and(|left| left < 0) => State::Expired,
            _ if self.jobs == 0 => State::NoJob,
            _ if self.covers == 0 => State::CoversNothing,
            _ if left.is_some_and(|left| left <= i64::from(self.notice)) => State::NearItsEnd,
            _ => State::InForce,
        }
    }
}

/// A fact that is owed.
struct Owed {
    path: Arc<str>,
    /// Where it is missing; `None` where it is not any more.
    at: Option<(u32, u32)>,
    /// The gravest rule that asks for it.
    rule: &'static str,
    block: String,
    /// Its word, and in words what is missing.
    word: String,
    because: String,
    terms: Terms,
    state: Debts,
}

/// How a debt stands.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Debts {
    Owed,
    NearItsEnd,
    NotNeeded,
    RunOut,
    Grew,
    SaidBefore,
    Final,
}

impl Debts {
    fn word(self) -> &'static str {
        match self {
            Debts::Owed => "owed",
            Debts::NearItsEnd => "owed, near its end",
            Debts::NotNeeded => "not needed any more",
            Debts::RunOut => "run out",
            Debts::Grew => "asked for anew",
            Debts::SaidBefore => "said before",
            Debts::Final => "final",
        }
    }
}

/// What is listed.
#[derive(Default)]
struct Lists {
    entries: Entries,
    owed: Vec<Owed>,
}

/// The days from one day to another.
fn days(from: Option<Date>, to: Option<Date>) -> Option<i64> {
    Some(to?.since_1970() - from?.since_1970())
}

/// By the file it stands in and the byte it begins at.
type Entries = BTreeMap<(Arc<Path>, u32), Entry>;

pub(crate) fn concessions(wanted: &Concessions, output: &mut Output) -> io::Result<Ending> {
    let (library, shelf) = (Library::default(), Shelf::default());
    let mut targets = Targets::find(&wanted.paths, None, wanted.within.as_deref());
    targets.complain();
    targets.sift(&shelf, &library, Excludes::unless(wanted.no_exclude));
    let today = wanted.date.or_else(clock::today);
    let mut ending = if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot };
    let mut records = match Records::open(wanted.known.as_deref(), &targets, &shelf, &library) {
        Ok(records) => records,
        Err(reason) => {
            complain(&reason);
            return Ok(Ending::CouldNot);
        }
    };
    let mut lists = Lists::default();
    for target in &targets.list {
        let gathered = fault::caught(|| gather(target, &library, &shelf, today, &mut records, &mut lists));
        if let Err(reason) = gathered.and_then(|done| done) {
            complain(&format!("{}: {reason}", target.shown));
            targets.missing.push((Arc::clone(&target.shown), reason));
            ending = Ending::CouldNot;
        }
    }
    let list: Vec<&Entry> = lists.entries.values().collect();
    let owed = &lists.owed;
    if list.iter().any(|entry| entry.state(today) >= State::CoversNothing)
        || owed.iter().any(|owed| owed.state >= Debts::RunOut)
    {
        ending = ending.max(Ending::Found);
    }
    if wanted.form != ListForm::Text {
        caution();
    }
    match wanted.form {
        ListForm::Text => output.say(&text(&list, owed, today, output.width))?,
        ListForm::Csv => output.say(&csv(&list, owed, today))?,
        ListForm::Json => {
            let entry = |entry: &&Entry| {
                json!({
                    "path": &*entry.path, "line": entry.line, "column": entry.column, "rule": entry.rule,
                    "on": entry.on, "because": entry.because, "by": entry.by,
                    "until": entry.until.map(|day| day.to_string()), "days_left": entry.days_left(today),
                    "covers": entry.covers, "jobs": entry.jobs, "state": entry.state(today).word(),
                })
            };
            let debt = |owed: &Owed| {
                json!({
                    "path": &*owed.path, "line": owed.at.map(|at| at.0), "column": owed.at.map(|at| at.1),
                    "rule": owed.rule, "block": owed.block, "word": owed.word, "because": owed.because,
                    "by": owed.terms.by, "adopted": owed.terms.adopted.to_string(),
                    "until": owed.terms.until.to_string(), "days_old": days(Some(owed.terms.adopted), today),
                    "days_left": days(today, Some(owed.terms.until)), "state": owed.state.word(),
                })
            };
            let unreadable = targets.missing.iter().map(|(path, reason)| json!({ "path": &**path, "reason": reason }));
            output.json(&json!({
                "form": "trialfit.concessions", "version": 1, "tool": json::tool(), "caution": CAUTION,
                "date": today.map(|day| day.to_string()),
                "concessions": list.iter().map(entry).collect::<Vec<_>>(),
                "debts": owed.iter().map(debt).collect::<Vec<_>>(),
                "unreadable": unreadable.collect::<Vec<_>>(),
            }))?;
        }
    }
    Ok(ending)
}

/// Adds the concessions that hold in one file, and what is owed in it.
fn gather(
    target: &Target,
    library: &Library,
    shelf: &Shelf,
    today: Option<Date>,
    records: &mut Records,
    lists: &mut Lists,
) -> Result<(), String> {
    let place = library.place(&target.path);
    let settings = shelf.of(&place, &target.root).unwrap_or_default();
    let reading = check::read(target, &place, library)?;
    let opened = target.opened(library, Arc::clone(&place));
    let day = Day { today, notice: settings.notice() };
    let analysis: Analysis = spec_lang::analyse(FileId(0), reading, &opened, day);
    let mut locator = Locator::new(&analysis);
    for (concession, covered) in analysis.job.concessions.iter().zip(&analysis.covered) {
        // Where layers make the job, the place in the file that it was written in.
        let header = analysis.job.real(concession.header);
        let Some(file) = opened.place(header.file) else { continue };
        let file = file.canonicalize().map_or(file, Arc::from);
        let entry = lists.entries.entry((file, header.span.start)).or_insert_with(|| {
            Entry::of(concession, opened.name(header.file), &analysis.job, &mut locator, settings.notice())
        });
        if analysis.job.header.is_some() {
            entry.jobs += 1;
            entry.covers += covered;
        }
    }
    let Some((_, record, _)) = records.of(settings.known().map(|(path, _)| path).as_deref()) else { return Ok(()) };
    let file = record.name(&place);
    let last = settings.is_final(&place);
    let lefts = analysis.not_judged.iter().filter(|_| analysis.job.header.is_some());
    for (left, fact) in lefts.filter_map(|left| Some((left, check::fact(left)?))) {
        let Some(debt) = record.debts.owing(&file, &fact, today, last) else { continue };
        let Some(terms) = debt.terms else { continue };
        let at = locator.start(left.place);
        let near = days(today, Some(terms.until)).is_some_and(|left| left <= i64::from(settings.notice()));
        lists.owed.push(Owed {
            path: Arc::clone(&target.shown),
            at: Some((at.line, at.column)),
            rule: left.rule.name,
            block: fact.header,
            word: fact.name,
            because: left.because.clone(),
            terms,
            state: match debt.owing {
                Owing::Owed if near => Debts::NearItsEnd,
                Owing::Owed => Debts::Owed,
                Owing::RunOut => Debts::RunOut,
                Owing::Grew(_) => Debts::Grew,
                Owing::SaidBefore => Debts::SaidBefore,
                Owing::Final => Debts::Final,
            },
        });
    }
    for paid in record.debts.not_found(&file) {
        lists.owed.push(Owed {
            path: Arc::clone(&target.shown),
            at: None,
            rule: "",
            block: paid.header.to_string(),
            word: paid.name.to_string(),
            because: String::new(),
            terms: paid.terms,
            state: Debts::NotNeeded,
        });
    }
    Ok(())
}

fn text(list: &[&Entry], owed: &[Owed], today: Option<Date>, width: usize) -> String {
    let mut out = String::new();
    let mut sums: BTreeMap<State, usize> = BTreeMap::new();
    for entry in list {
        let state = entry.state(today);
        *sums.entry(state).or_default() += 1;
        let until = match (entry.until, entry.days_left(today)) {
            (None, _) => "without an end".to_string(),
            (Some(until), None) => format!("until {until}"),
            (Some(until), Some(left)) if left < 0 => {
                format!("ended on {until}, {} ago", counted(left.unsigned_abs() as usize, "day", "days"))
            }
            (Some(until), Some(left)) => {
                format!("until {until}, {} left", counted(left.unsigned_abs() as usize, "day", "days"))
            }
        };
        let covers = if entry.covers == 0 {
            "matches nothing".to_string()
        } else {
            format!("covers {} in {}", counted(entry.covers, "finding", "findings"), counted(entry.jobs, "job", "jobs"))
        };
        let head = format!(
            "{}:{}:{}: {}: {}; {covers}; {until}",
            entry.path,
            entry.line,
            entry.column,
            state.word(),
            entry.rule
        );
        out += &wrap(&one_line(&head), width, "", "    ");
        out.push('\n');
        let said = |text: &str| if text.is_empty() { "nothing said".to_string() } else { one_line(text).into_owned() };
        for (word, value) in
            [("on", said(&entry.on.join("; "))), ("because", said(&entry.because)), ("by", said(&entry.by))]
        {
            out += &wrap(&value, width, &format!("  {word:<9}"), "           ");
            out.push('\n');
        }
    }
    let sums: Vec<String> = sums.iter().map(|(state, count)| format!("{count} {}", state.word())).collect();
    let sum = match list {
        [] => "no concession was found".to_string(),
        _ => format!("{}: {}", counted(list.len(), "concession", "concessions"), sums.join(", ")),
    };
    out += &wrap(&sum, width, "", "");
    out.push('\n');
    out += &debts_text(owed, today, width);
    out += &wrap(CAUTION, width, "", "");
    out.push('\n');
    out
}

/// What is owed, one by one, and the sum.
fn debts_text(owed: &[Owed], today: Option<Date>, width: usize) -> String {
    let mut out = String::new();
    let mut sums: BTreeMap<Debts, usize> = BTreeMap::new();
    for one in owed {
        *sums.entry(one.state).or_default() += 1;
        let at = one.at.map_or(String::new(), |(line, column)| format!(":{line}:{column}"));
        let what = if one.because.is_empty() {
            format!("`{}` of `{}`", one.word, one.block)
        } else {
            format!("{} [{}]", one.because, one.rule)
        };
        let number = |count: i64| counted(usize::try_from(count).unwrap_or(0), "day", "days");
        let Terms { adopted, until, by } = &one.terms;
        let old = days(Some(*adopted), today).map_or(String::new(), |old| format!(", {} old", number(old)));
        let left = match days(today, Some(*until)) {
            None => String::new(),
            Some(left) if left < 0 => format!(", {} ago", number(-left)),
            Some(left) => format!(", {} left", number(left)),
        };
        let head = format!("{}{at}: {}: {what}", one.path, one.state.word());
        out += &wrap(&one_line(&head), width, "", "    ");
        let terms = format!("{}; since {adopted}{old}; until {until}{left}", one_line(by));
        out += &format!("\n{}\n", wrap(&terms, width, "  by       ", "           "));
    }
    if !owed.is_empty() {
        let sums: Vec<String> = sums.iter().map(|(state, count)| format!("{count} {}", state.word())).collect();
        let sum = format!("{}: {}. A debt is no approval", counted(owed.len(), "debt", "debts"), sums.join(", "));
        out += &wrap(&sum, width, "", "");
        out.push('\n');
    }
    out
}

/// Values parted by commas, lines ended by CRLF, quoted where they must be (RFC 4180).
fn csv(list: &[&Entry], owed: &[Owed], today: Option<Date>) -> String {
    let mut out = "path,line,rule,on,by,because,until,days_left,covers,jobs,state,since,days_old\r\n".to_string();
    let number = |number: Option<i64>| number.map_or(String::new(), |number| number.to_string());
    for entry in list {
        out += &csv_row(&[
            csv_text(&entry.path),
            entry.line.to_string(),
            csv_text(&entry.rule),
            csv_text(&entry.on.join("; ")),
            csv_text(&entry.by),
            csv_text(&entry.because),
            entry.until.map_or(String::new(), |day| day.to_string()),
            number(entry.days_left(today)),
            entry.covers.to_string(),
            entry.jobs.to_string(),
            entry.state(today).word().to_string(),
            String::new(),
            String::new(),
        ]);
    }
    for one in owed {
        let because = if one.because.is_empty() { &one.word } else { &one.because };
        out += &csv_row(&[
            csv_text(&one.path),
            one.at.map_or(String::new(), |(line, _)| line.to_string()),
            one.rule.to_string(),
            csv_text(&one.block),
            csv_text(&one.terms.by),
            csv_text(because),
            one.terms.until.to_string(),
            number(days(today, Some(one.terms.until))),
            "1".to_string(),
            "1".to_string(),
            csv_text(one.state.word()),
            one.terms.adopted.to_string(),
            number(days(Some(one.terms.adopted), today)),
        ]);
    }
    out
}

//! `trialfit concessions`: every concession of a tree, what it covers, and how long it still holds. Whether one holds is
//! decided where jobs are judged; here it is only listed.

use crate::arguments::{Concessions, ListForm};
use crate::files::Library;
use crate::output::{Output, caution, complain};
use crate::settings::{Excludes, Shelf};
use crate::targets::{Target, Targets};
use crate::{Ending, check, clock, fault};
use serde_json::json;
use spec_lang::Analysis;
use spec_lang::model::{Concession, Job};
use spec_lang::reading::Date;
use spec_lang::report::{CAUTION, Locator, csv_row, csv_text, json, one_line, wrap};
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
        let at = locator.start(concession.header);
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
        Some(self.until?.since_1970() - today?.since_1970())
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

/// By the file it stands in and the byte it begins at.
type Entries = BTreeMap<(Arc<Path>, u32), Entry>;

pub(crate) fn concessions(wanted: &Concessions, output: &mut Output) -> io::Result<Ending> {
    let (library, shelf) = (Library::default(), Shelf::default());
    let mut targets = Targets::find(&wanted.paths, None, wanted.within.as_deref());
    targets.complain();
    targets.sift(&shelf, &library, Excludes::unless(wanted.no_exclude));
    let today = wanted.date.or_else(clock::today);
    let mut ending = if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot };
    let mut entries = Entries::new();
    for target in &targets.list {
        let gathered = fault::caught(|| gather(target, &library, &shelf, today, &mut entries));
        if let Err(reason) = gathered.and_then(|done| done) {
            complain(&format!("{}: {reason}", target.shown));
            targets.missing.push((Arc::clone(&target.shown), reason));
            ending = Ending::CouldNot;
        }
    }
    let list: Vec<&Entry> = entries.values().collect();
    if list.iter().any(|entry| entry.state(today) >= State::CoversNothing) {
        ending = ending.max(Ending::Found);
    }
    if wanted.form != ListForm::Text {
        caution();
    }
    match wanted.form {
        ListForm::Text => output.say(&text(&list, today, output.width))?,
        ListForm::Csv => output.say(&csv(&list, today))?,
        ListForm::Json => {
            let entry = |entry: &&Entry| {
                json!({
                    "path": &*entry.path, "line": entry.line, "column": entry.column, "rule": entry.rule,
                    "on": entry.on, "because": entry.because, "by": entry.by,
                    "until": entry.until.map(|day| day.to_string()), "days_left": entry.days_left(today),
                    "covers": entry.covers, "jobs": entry.jobs, "state": entry.state(today).word(),
                })
            };
            let unreadable = targets.missing.iter().map(|(path, reason)| json!({ "path": &**path, "reason": reason }));
            output.json(&json!({
                "form": "trialfit.concessions", "version": 1, "tool": json::tool(), "caution": CAUTION,
                "date": today.map(|day| day.to_string()),
                "concessions": list.iter().map(entry).collect::<Vec<_>>(),
                "unreadable": unreadable.collect::<Vec<_>>(),
            }))?;
        }
    }
    Ok(ending)
}

/// Adds the concessions that hold in one file.
fn gather(
    target: &Target,
    library: &Library,
    shelf: &Shelf,
    today: Option<Date>,
    entries: &mut Entries,
) -> Result<(), String> {
    let place = library.place(&target.path);
    let settings = shelf.of(&place, &target.root).unwrap_or_default();
    let reading = check::read(target, &place, library)?;
    let opened = target.opened(library, place);
    let day = Day { today, notice: settings.notice() };
    let analysis: Analysis = spec_lang::analyse(FileId(0), reading, &opened, day);
    let mut locator = Locator::new(&analysis);
    for (concession, covered) in analysis.job.concessions.iter().zip(&analysis.covered) {
        let header = concession.header;
        let Some(file) = opened.place(header.file) else { continue };
        let file = file.canonicalize().map_or(file, Arc::from);
        let entry = entries.entry((file, header.span.start)).or_insert_with(|| {
            Entry::of(concession, opened.name(header.file), &analysis.job, &mut locator, settings.notice())
        });
        if analysis.job.header.is_some() {
            entry.jobs += 1;
            entry.covers += covered;
        }
    }
    Ok(())
}

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

fn text(list: &[&Entry], today: Option<Date>, width: usize) -> String {
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
    out += &wrap(CAUTION, width, "", "");
    out.push('\n');
    out
}

/// Values parted by commas, lines ended by CRLF, quoted where they must be (RFC 4180).
fn csv(list: &[&Entry], today: Option<Date>) -> String {
    let mut out = "path,line,rule,on,by,because,until,days_left,covers,jobs,state\r\n".to_string();
    for entry in list {
        let number = |number: Option<i64>| number.map_or(String::new(), |number| number.to_string());
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
        ]);
    }
    out
}

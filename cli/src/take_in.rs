//! `trialfit take-in`: jobs by the hundred from a comma-separated table. The mapping stands in a workshop file; each row's
//! job is judged before anything is written, and no file that is there already is touched.

use crate::arguments::TakeIn;
use crate::files::{self, Library, Opened};
use crate::output::{Output, complain};
use crate::targets::Targets;
use crate::{Ending, clock, rewriting};
use spec_lang::intake::{Table, Unread, Written, tables};
use spec_lang::reading::Reading;
use spec_lang::report::{CAUTION, Counts, counted, one_line, wrap};
use spec_lang::source::FileId;
use std::collections::HashMap;
use std::io;
use std::path::Path;
use std::sync::Arc;

/// A table with more columns than this is no list of jobs.
const MOST_COLUMNS: usize = 1000;

/// The rows of a table as they stand in its file.
struct Rows {
    headings: Vec<String>,
    rows: Vec<Vec<String>>,
}

pub(crate) fn take_in(wanted: &TakeIn, output: &mut Output) -> io::Result<Ending> {
    let paths = [wanted.by.clone()];
    let targets = Targets::find(&paths, None, wanted.within.as_deref());
    targets.complain();
    let Some(mapping) = targets.list.first() else { return Ok(Ending::CouldNot) };
    let made = prepare(wanted, mapping.shown.as_ref())
        .and_then(|(rows, table)| follows(wanted, &mapping.root).map(|follows| (rows, table, follows)));
    match made {
        Ok((rows, table, follows)) => {
            let taking = Taking { wanted, root: Arc::clone(&mapping.root), table, follows };
            taking.all(&rows, output)
        }
        Err(reason) => {
            complain(&reason);
            Ok(Ending::CouldNot)
        }
    }
}

/// The rows, and the table that maps them.
fn prepare(wanted: &TakeIn, by: &str) -> Result<(Rows, Table), String> {
    let text = files::read(&wanted.table).map_err(|reason| format!("{}: {reason}", files::shown(&wanted.table)))?;
    let rows = rows(&text).map_err(|reason| format!("{}: {reason}", files::shown(&wanted.table)))?;
    let mapping = files::read(&wanted.by).map_err(|reason| format!("{by}: {reason}"))?;
    let mut known = tables(&Reading::new(Arc::from(mapping)));
    let names: Vec<String> = known.iter().map(|table| format!("`{}`", table.name)).collect();
    let table = match &wanted.called {
        Some(name) => known.into_iter().find(|table| table.name == *name),
        None if known.len() == 1 => known.pop(),
        None if known.is_empty() => return Err(format!("{by}: it has no `table` block that maps the columns")),
        None => {
            return Err(format!("{by}: it maps {} tables: {}; name one with --table", names.len(), names.join(", ")));
        }
    };
    let table = table.ok_or_else(|| format!("{by}: it maps no table of that name; it maps {}", names.join(", ")))?;
    let headings: Vec<&str> = rows.headings.iter().map(String::as_str).collect();
    let faults = table.faults(&headings);
    if faults.is_empty() {
        return Ok((rows, table));
    }
    let said: Vec<String> = faults.iter().map(|fault| told("the table", fault)).collect();
    Err(format!("nothing was taken in, since the table and its mapping do not fit:\n  {}", said.join("\n  ")))
}

fn told(where_: &str, unread: &Unread) -> String {
    match &unread.heading {
        Some(heading) => format!("{where_}, column \"{}\": {}", one_line(heading), one_line(&unread.why)),
        None => format!("{where_}: {}", one_line(&unread.why)),
    }
}

/// The table's rows; the separator is the one of `,`, `;` and tab that its first line holds most of.
fn rows(text: &str) -> Result<Rows, String> {
    let first = text.lines().next().unwrap_or("");
    let count = |sign: u8| first.bytes().filter(|byte| *byte == sign).count();
    let separator = [b',', b';', b'\t'].into_iter().rev().max_by_key(|sign| count(*sign)).unwrap_or(b',');
    let mut reader =
        csv::ReaderBuilder::new().delimiter(separator).has_headers(false).flexible(true).from_reader(text.as_bytes());
    let mut all = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|error| error.to_string())?;
        all.push(record.iter().map(|cell| cell.trim().to_string()).collect::<Vec<_>>());
    }
    if all.is_empty() {
        return Err("it is empty; its first row must hold the headings".to_string());
    }
    let headings = all.remove(0);
    if headings.len() > MOST_COLUMNS {
        return Err(format!("it has {} columns; at most {MOST_COLUMNS} are read", headings.len()));
    }
    Ok(Rows { headings, rows: all })
}

/// The words of the `follows` line: the way from the jobs' folder to the workshop file.
fn follows(wanted: &TakeIn, root: &Path) -> Result<String, String> {
    let real =
        |path: &Path| path.canonicalize().map_err(|error| format!("{}: {}", files::shown(path), files::reason(&error)));
    let (into, by) = (real(&wanted.into)?, real(&wanted.by)?);
    if !into.is_dir() {
        return Err(format!("{}: it is not a folder", files::shown(&wanted.into)));
    }
    if !into.starts_with(root) {
        let (into, root) = (files::shown(&into), files::shown(root));
        return Err(format!("{into}: it lies outside `{root}`, where jobs may follow the workshop file"));
    }
    let path = files::seen_from(&into, &by);
    let parts: Vec<String> = path.components().map(|part| part.as_os_str().to_string_lossy().into_owned()).collect();
    let path = parts.join("/");
    if path.contains(['"', '\n', '\r']) {
        return Err(format!("{}: a `follows` line cannot hold its name", files::shown(&wanted.by)));
    }
    Ok(path)
}

struct Taking<'a> {
    wanted: &'a TakeIn,
    root: Arc<Path>,
    table: Table,
    follows: String,
}

impl Taking<'_> {
    fn all(&self, rows: &Rows, output: &mut Output) -> io::Result<Ending> {
        let headings: Vec<&str> = rows.headings.iter().map(String::as_str).collect();
        let library = Library::default();
        let (mut written, mut lost, mut cells) = (0usize, 0usize, 0usize);
        let mut ending = Ending::Clean;
        let mut taken: HashMap<String, usize> = HashMap::new();
        for (number, row) in rows.rows.iter().enumerate() {
            let number = number + 2; // the headings are row 1
            let row: Vec<&str> = row.iter().map(String::as_str).collect();
            if row.iter().all(|cell| cell.is_empty()) {
                continue;
            }
            let place = format!("row {number}");
            let made_from = format!("{}, {place}", self.wanted.table.file_name().unwrap_or_default().to_string_lossy());
            let (job, mut unread) = self.table.job_of(&headings, &row, &self.follows, &made_from);
            let outcome = job.map(|job| {
                if let Some(before) = taken.insert(job.file_name.to_lowercase(), number) {
                    return Err(format!("row {before} has made `{}` already", job.file_name));
                }
                let counts = self.judge(&library, &job, &mut unread);
                self.put(&job).map(|done| (job.file_name, done, counts))
            });
            for unread in &unread {
                output.say(&format!("{}\n", told(&place, unread)))?;
                ending = ending.max(Ending::Found);
            }
            cells += unread.len();
            match outcome {
                None => lost += 1,
                Some(Ok((name, done, counts))) => {
                    written += usize::from(done != Done::Same);
                    output.say(&format!("{place}: {} {name}: {}\n", done.word(), counts.line()))?;
                }
                Some(Err(reason)) => {
                    lost += 1;
                    ending = Ending::CouldNot;
                    output.say(&format!("{place}: not written: {reason}\n"))?;
                }
            }
        }
        let what = if self.wanted.write { "written" } else { "to be written; --write writes them" };
        let (jobs, rows) = (counted(written, "job", "jobs"), counted(lost, "row", "rows"));
        let cells = counted(cells, "cell", "cells");
        let sum = format!("{jobs} {what}; {rows} lost; {cells} not taken in");
        output.say(&format!("{}\n{}\n", wrap(&sum, output.width, "", ""), wrap(CAUTION, output.width, "", "")))?;
        Ok(ending)
    }

    /// What is found in a job; what its row did not say well is added to `unread`.
    fn judge(&self, library: &Library, job: &Written, unread: &mut Vec<Unread>) -> Counts {
        let path = self.wanted.into.join(&job.file_name);
        let place = library.place(&path);
        let opened = Opened::new(library, Arc::clone(&self.root), place, files::shown(&path));
        let reading = Arc::new(Reading::new(Arc::from(job.text.as_str())));
        let analysis = spec_lang::analyse(FileId(0), reading, &opened, clock::today());
        unread.extend(job.unread(&analysis));
        let mut counts = Counts { files: 1, not_judged: analysis.not_judged.len(), ..Counts::default() };
        analysis.standing().for_each(|finding| counts.add(finding.severity));
        counts
    }

    fn put(&self, job: &Written) -> Result<Done, String> {
        let path = self.wanted.into.join(&job.file_name);
        if path.symlink_metadata().is_ok() {
            return match files::read(&path) {
                Ok(there) if there == job.text => Ok(Done::Same),
                _ => Err(format!(
                    "`{}` is there already and says something else; it stays as it is",
                    files::shown(&path)
                )),
            };
        }
        if !self.wanted.write {
            return Ok(Done::Would);
        }
        rewriting::create(&path, &job.text).map(|()| Done::Written)
    }
}

/// What became of a job.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Done {
    Would,
    Written,
    Same,
}

impl Done {
    fn word(self) -> &'static str {
        match self {
            Done::Would => "would write",
            Done::Written => "wrote",
            Done::Same => "the same is there already:",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::rows;

    #[test]
    fn the_separator_is_the_one_the_headings_use() {
        for (text, headings) in [("a,b\n1,2\n", 2), ("a;b;c\n1;2,5;3\n", 3), ("a\tb\n1\t2\n", 2), ("only\n1\n", 1)] {
            let read = rows(text).unwrap();
            assert_eq!((read.headings.len(), read.rows.len()), (headings, 1), "{text:?}");
        }
        let quoted = rows("\"a, b\",c\n\"one\ntwo\",\"say \"\"x\"\"\"\n").unwrap();
        assert_eq!(quoted.rows, [["one\ntwo", "say \"x\""]]);
        assert!(rows("").is_err());
    }
}

//! What `margins` and `account` have in common: several files, each shown as text, as rows of a table, or as a part of one
//! JSON document. What is shown of a file is the command's own.

use crate::arguments::TableForm;
use crate::files::Library;
use crate::output::{Output, caution, complain};
use crate::settings::{Excludes, Shelf};
use crate::targets::{Target, Targets};
use crate::{Ending, clock, fault, in_order};
use spec_lang::reading::Date;
use std::io;
use std::path::{Path, PathBuf};

/// Which files, and how they are shown.
pub(crate) struct Wanted<'a> {
    pub(crate) paths: &'a [PathBuf],
    pub(crate) stands_for: Option<&'a Path>,
    pub(crate) within: Option<&'a Path>,
    pub(crate) date: Option<Date>,
    pub(crate) form: TableForm,
    /// The first row of the table.
    pub(crate) head: &'static str,
}

/// What came of one file.
pub(crate) enum Shown<W> {
    Text(String),
    Wire(W),
}

/// Shows every file, in order, and ends with the document that `document` makes of the parts.
pub(crate) fn show<W: Send, D: serde::Serialize>(
    wanted: &Wanted<'_>,
    of_one: impl Fn(&Target, &Library, Option<Date>, usize) -> Result<Shown<W>, String> + Sync,
    document: impl FnOnce(Vec<W>) -> D,
    output: &mut Output,
) -> io::Result<Ending> {
    let mut targets = Targets::find(wanted.paths, wanted.stands_for, wanted.within);
    targets.complain();
    let today = wanted.date.or_else(clock::today);
    let library = Library::default();
    targets.sift(&Shelf::default(), &library, Excludes::Hold);
    let mut ending = if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot };
    let width = output.width;
    let mut files = Vec::new();
    if wanted.form != TableForm::Text {
        caution();
    }
    if wanted.form == TableForm::Csv {
        output.say(wanted.head)?;
    }
    let work = |target: &Target| fault::caught(|| of_one(target, &library, today, width)).and_then(|outcome| outcome);
    let mut first = true;
    in_order::each(&targets.list, work, |target, outcome| {
        match outcome.unwrap_or_else(in_order::lost) {
            Ok(Shown::Text(text)) => {
                if wanted.form == TableForm::Text && !std::mem::take(&mut first) {
                    output.say("\n")?;
                }
                output.say(&text)?;
            }
            Ok(Shown::Wire(file)) => files.push(file),
            Err(reason) => {
                complain(&format!("{}: {reason}", target.shown));
                ending = Ending::CouldNot;
            }
        }
        Ok(())
    })?;
    if wanted.form == TableForm::Json {
        output.json(&document(files))?;
    }
    Ok(ending)
}

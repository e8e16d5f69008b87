//! `trialfit margins`: how much is left between figures and their limits, several files at a time.

use crate::arguments::{Margins, TableForm};
use crate::files::Library;
use crate::output::{Output, caution, complain};
use crate::settings::{Excludes, Shelf};
use crate::targets::{Target, Targets};
use crate::{Ending, clock, fault, in_order, job};
use spec_lang::doubts;
use spec_lang::reading::Date;
use spec_lang::report::{MARGINS_HEAD, json, margins_csv, margins_text, under};
use spec_lang::rules::Judged;
use spec_lang::source::FileId;
use std::io;

/// What came of one file.
enum Shown {
    Text(String),
    Wire(json::FileMargins),
}

pub(crate) fn margins(wanted: &Margins, output: &mut Output) -> io::Result<Ending> {
    let mut targets = Targets::find(&wanted.paths, wanted.stands_for.as_deref(), wanted.within.as_deref());
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
        output.say(MARGINS_HEAD)?;
    }
    let work =
        |target: &Target| fault::caught(|| of_one(target, &library, wanted, today, width)).and_then(|outcome| outcome);
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
        output.json(&json::Margins::new(files))?;
    }
    Ok(ending)
}

fn of_one(
    target: &Target,
    library: &Library,
    wanted: &Margins,
    today: Option<Date>,
    width: usize,
) -> Result<Shown, String> {
    let job::Judged { analysis, opened, .. } = job::of(library, target, today)?;
    let eaten = doubts::eaten(&analysis, &opened);
    let name = |file: FileId| opened.name(file);
    let shown = |judged: &Judged| under(judged, wanted.under);
    Ok(match wanted.form {
        TableForm::Text => Shown::Text(margins_text(&analysis, &eaten, &shown, &target.shown, width)),
        TableForm::Csv => Shown::Text(margins_csv(&analysis, &eaten, &shown, &name)),
        TableForm::Json => Shown::Wire(json::FileMargins::new(
            target.shown.to_string(),
            json::margins(&analysis, &eaten, &shown, &name),
        )),
    })
}

//! `trialfit margins`: how much is left between figures and their limits, several files at a time.

use crate::arguments::{Margins, TableForm};
use crate::files::Library;
use crate::output::Output;
use crate::tables::{self, Shown, Wanted};
use crate::targets::Target;
use crate::{Ending, job};
use spec_lang::doubts;
use spec_lang::reading::Date;
use spec_lang::report::{MARGINS_HEAD, json, margins_csv, margins_text, under};
use spec_lang::rules::Judged;
use spec_lang::source::FileId;
use std::io;

pub(crate) fn margins(wanted: &Margins, output: &mut Output) -> io::Result<Ending> {
    let files = Wanted {
        paths: &wanted.paths,
        stands_for: wanted.stands_for.as_deref(),
        within: wanted.within.as_deref(),
        date: wanted.date,
        form: wanted.form,
        head: MARGINS_HEAD,
    };
    let of_one = |target: &Target, library: &Library, today, width| of_one(target, library, wanted, today, width);
    tables::show(&files, of_one, json::Margins::new, output)
}

fn of_one(
    target: &Target,
    library: &Library,
    wanted: &Margins,
    today: Option<Date>,
    width: usize,
) -> Result<Shown<json::FileMargins>, String> {
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

//! `dryfit figures`: a job's figures with their working.

use crate::arguments::{Figures, PlainForm};
use crate::files::Library;
use crate::job::judged;
use crate::output::Output;
use crate::Ending;
use spec_lang::report::{figures_text, json};
use spec_lang::source::FileId;
use std::io;

pub(crate) fn figures(wanted: &Figures, output: &mut Output) -> io::Result<Ending> {
    let library = Library::default();
    let (stands_for, within) = (wanted.stands_for.as_deref(), wanted.within.as_deref());
    let job = match judged(&library, "figures are shown", &wanted.file, stands_for, within) {
        Ok(job) => job,
        Err(ending) => return Ok(ending),
    };
    let name = |file: FileId| job.opened.name(file);
    match wanted.form {
        PlainForm::Text => output.say(&figures_text(&job.analysis, &job.shown, output.width))?,
        PlainForm::Json => output.json(&json::Figures::of(&job.analysis, &name))?,
    }
    Ok(Ending::Clean)
}

//! `dryfit figures`: a job's figures with their working.

use crate::arguments::{Figures, PlainForm};
use crate::check;
use crate::files::{Library, Opened};
use crate::output::{complain, Output};
use crate::targets::Targets;
use crate::{clock, Ending};
use spec_lang::report::{figures_text, json};
use spec_lang::source::FileId;
use std::io;
use std::sync::Arc;

pub(crate) fn figures(wanted: &Figures, output: &mut Output) -> io::Result<Ending> {
    if wanted.file.is_dir() {
        complain("figures are shown for one job; name its file");
        return Ok(Ending::CouldNot);
    }
    let paths = [wanted.file.clone()];
    let targets = Targets::find(&paths, wanted.stands_for.as_deref(), wanted.within.as_deref());
    targets.complain();
    let Some(target) = targets.list.first() else { return Ok(Ending::CouldNot) };
    let library = Library::default();
    let place = library.place(&target.path);
    let reading = match check::read(target, &place, &library) {
        Ok(reading) => reading,
        Err(reason) => {
            complain(&format!("{}: {reason}", target.shown));
            return Ok(Ending::CouldNot);
        }
    };
    let opened = Opened::new(&library, Arc::clone(&target.root), place, Arc::clone(&target.shown));
    let analysis = spec_lang::analyse(FileId(0), reading, &opened, clock::today());
    let name = |file: FileId| opened.name(file);
    match wanted.form {
        PlainForm::Text => output.say(&figures_text(&analysis, &target.shown, output.width))?,
        PlainForm::Json => output.json(&json::Figures::of(&analysis, &name))?,
    }
    Ok(Ending::Clean)
}

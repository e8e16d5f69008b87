//! `dryfit figures`: a job's figures with their working; those of a whole fleet as rows.

use crate::arguments::{Figures, TableForm};
use crate::check;
use crate::files::{Library, Opened};
use crate::output::{complain, Output};
use crate::several::{self, BATCH};
use crate::targets::{Target, Targets};
use crate::{clock, Ending};
use spec_lang::doubts;
use spec_lang::report::{figures_csv, figures_text, json, FIGURES_HEAD};
use spec_lang::source::FileId;
use spec_lang::Analysis;
use std::io;
use std::sync::Arc;

pub(crate) fn figures(wanted: &Figures, output: &mut Output) -> io::Result<Ending> {
    let several = wanted.paths.len() > 1 || wanted.paths.iter().any(|path| path.is_dir());
    if several && wanted.form != TableForm::Csv {
        complain("figures are shown for one job; name its file, or ask for many with `--form csv`");
        return Ok(Ending::CouldNot);
    }
    let targets = Targets::find(&wanted.paths, wanted.stands_for.as_deref(), wanted.within.as_deref());
    targets.complain();
    let library = Library::default();
    if wanted.form == TableForm::Csv {
        return rows(&targets, &library, output);
    }
    let Some(target) = targets.list.first() else { return Ok(Ending::CouldNot) };
    match analysed(target, &library) {
        Err(reason) => {
            complain(&format!("{}: {reason}", target.shown));
            return Ok(Ending::CouldNot);
        }
        Ok((analysis, opened)) if wanted.form == TableForm::Json => {
            let name = |file: FileId| opened.name(file);
            let eaten = doubts::eaten(&analysis, &opened);
            let margins = json::margins(&analysis, &eaten, &|_| true, &name);
            output.json(&json::Figures::of(&analysis, &name).with_margins(margins))?;
        }
        Ok((analysis, _)) => output.say(&figures_text(&analysis, &target.shown, output.width))?,
    }
    Ok(Ending::Clean)
}

/// A row a figure of every target, in their order.
fn rows(targets: &Targets, library: &Library, output: &mut Output) -> io::Result<Ending> {
    let mut ending = if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot };
    output.say(FIGURES_HEAD)?;
    for batch in targets.list.chunks(BATCH) {
        let work =
            |target: &Target| analysed(target, library).map(|(analysis, _)| figures_csv(&analysis, &target.shown));
        for (target, outcome) in batch.iter().zip(several::each(batch, work)) {
            match outcome {
                Ok(rows) => output.say(&rows)?,
                Err(reason) => {
                    complain(&format!("{}: {reason}", target.shown));
                    ending = Ending::CouldNot;
                }
            }
        }
        output.finish()?;
    }
    Ok(ending)
}

fn analysed<'a>(target: &Target, library: &'a Library) -> Result<(Analysis, Opened<'a>), String> {
    let place = library.place(&target.path);
    let reading = check::read(target, &place, library)?;
    let opened = Opened::new(library, Arc::clone(&target.root), place, Arc::clone(&target.shown));
    let analysis = spec_lang::analyse(FileId(0), reading, &opened, clock::today());
    Ok((analysis, opened))
}

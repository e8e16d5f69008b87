//! `trialfit figures`: a job's figures with their working; those of a whole fleet as rows.

use crate::arguments::{Figures, TableForm};
use crate::files::Library;
use crate::output::{Output, caution, complain};
use crate::settings::{Excludes, Shelf};
use crate::targets::{Target, Targets};
use crate::{Ending, clock, fault, in_order, job};
use spec_lang::doubts;
use spec_lang::report::{FIGURES_HEAD, figures_csv, figures_text, json};
use spec_lang::source::FileId;
use std::io;

pub(crate) fn figures(wanted: &Figures, output: &mut Output) -> io::Result<Ending> {
    let several = wanted.paths.len() > 1 || wanted.paths.iter().any(|path| path.is_dir());
    if several && wanted.form != TableForm::Csv {
        complain("figures are shown for one job; name its file, or ask for many with `--form csv`");
        return Ok(Ending::CouldNot);
    }
    let (stands_for, within) = (wanted.stands_for.as_deref(), wanted.within.as_deref());
    let library = Library::default();
    let [file] = wanted.paths.as_slice() else { return rows(wanted, &library, output) };
    if wanted.form == TableForm::Csv {
        return rows(wanted, &library, output);
    }
    let job = match job::judged(&library, "figures are shown", file, stands_for, within) {
        Ok(job) => job,
        Err(ending) => return Ok(ending),
    };
    if wanted.form == TableForm::Json {
        caution();
        let name = |file: FileId| job.opened.name(file);
        let eaten = doubts::eaten(&job.analysis, &job.opened);
        let margins = json::margins(&job.analysis, &eaten, &|_| true, &name);
        output.json(&json::Figures::of(&job.analysis, &name).with_margins(margins))?;
    } else {
        output.say(&figures_text(&job.analysis, &job.shown, output.width))?;
    }
    Ok(Ending::Clean)
}

/// A row a figure of every target, in their order.
fn rows(wanted: &Figures, library: &Library, output: &mut Output) -> io::Result<Ending> {
    let mut targets = Targets::find(&wanted.paths, wanted.stands_for.as_deref(), wanted.within.as_deref());
    targets.complain();
    targets.sift(&Shelf::default(), library, Excludes::Hold);
    let mut ending = if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot };
    caution();
    output.say(FIGURES_HEAD)?;
    let work = |target: &Target| {
        let rows = || job::of(library, target, clock::today()).map(|job| figures_csv(&job.analysis, &job.shown));
        fault::caught(rows).and_then(|rows| rows)
    };
    in_order::each(&targets.list, work, |target, outcome| match outcome.unwrap_or_else(in_order::lost) {
        Ok(rows) => output.say(&rows),
        Err(reason) => {
            complain(&format!("{}: {reason}", target.shown));
            ending = Ending::CouldNot;
            Ok(())
        }
    })?;
    Ok(ending)
}

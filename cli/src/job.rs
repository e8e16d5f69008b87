//! One job that is named on the command line, read and judged, for the commands that show one job. What they show is
//! theirs.

use crate::clock;
use crate::files::{Library, Opened};
use crate::output::complain;
use crate::targets::{Target, Targets};
use crate::{Ending, check};
use spec_lang::Analysis;
use spec_lang::reading::Date;
use spec_lang::source::FileId;
use std::path::Path;
use std::sync::Arc;

/// A job, and how it and its files are called.
pub(crate) struct Judged<'a> {
    /// Everything known about it.
    pub(crate) analysis: Analysis,
    /// What it is called in reports.
    pub(crate) shown: Arc<str>,
    /// Its files.
    pub(crate) opened: Opened<'a>,
}

/// Reads and judges it. Says on standard error why that cannot be done, `what` being what is shown of it.
pub(crate) fn judged<'a>(
    library: &'a Library,
    what: &str,
    file: &Path,
    stands_for: Option<&Path>,
    within: Option<&Path>,
) -> Result<Judged<'a>, Ending> {
    if file.is_dir() {
        complain(&format!("{what} for one job; name its file"));
        return Err(Ending::CouldNot);
    }
    let paths = [file.to_path_buf()];
    let targets = Targets::find(&paths, stands_for, within);
    targets.complain();
    let target = targets.list.first().ok_or(Ending::CouldNot)?;
    of(library, target, clock::today()).map_err(|reason| {
        complain(&format!("{}: {reason}", target.shown));
        Ending::CouldNot
    })
}

/// Reads and judges a target.
pub(crate) fn of<'a>(library: &'a Library, target: &Target, today: Option<Date>) -> Result<Judged<'a>, String> {
    let place = library.place(&target.path);
    let reading = check::read(target, &place, library)?;
    let opened = target.opened(library, place);
    let analysis = spec_lang::analyse(FileId(0), reading, &opened, today);
    Ok(Judged { analysis, shown: Arc::clone(&target.shown), opened })
}

//! `trialfit draw`: a job's drawing, on standard output or in a file that is never half written.

use crate::Ending;
use crate::arguments::Draw;
use crate::files::{self, Library};
use crate::job::judged;
use crate::output::{Output, caution, complain};
use crate::rewriting::put;
use spec_lang::report::{Wanted, drawing};
use std::io;
use std::path::Path;

pub(crate) fn draw(wanted: &Draw, output: &mut Output) -> io::Result<Ending> {
    let library = Library::default();
    let (stands_for, within) = (wanted.stands_for.as_deref(), wanted.within.as_deref());
    let job = match judged(&library, "a drawing is made", &wanted.file, stands_for, within) {
        Ok(job) => job,
        Err(ending) => return Ok(ending),
    };
    let drawn = drawing(&job.analysis, &job.shown, &Wanted::default());
    let Some(path) = &wanted.out else {
        output.say(&drawn.svg)?;
        return Ok(Ending::Clean);
    };
    Ok(match write(path, &drawn.svg) {
        Ok(()) => {
            caution();
            Ending::Clean
        }
        Err(error) => {
            complain(&format!("{}: the drawing is not written: {}", files::shown(path), files::reason(&error)));
            Ending::CouldNot
        }
    })
}

/// Writes the drawing, never over a job.
fn write(path: &Path, text: &str) -> io::Result<()> {
    let real = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
    if real.extension().is_some_and(|ending| ending == "trialfit") {
        return Err(io::Error::other("`.trialfit` files are jobs, whose place a drawing must not take"));
    }
    put(&real, text)
}

//! `dryfit draw`: a job's drawing, on standard output or in a file that is never half written.

use crate::arguments::Draw;
use crate::files::{self, Library};
use crate::job::judged;
use crate::output::{complain, Output};
use crate::tidy::beside;
use crate::Ending;
use spec_lang::report::{drawing, Wanted};
use std::fs;
use std::io::{self, Write};
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
        Ok(()) => Ending::Clean,
        Err(error) => {
            complain(&format!("{}: the drawing is not written: {}", files::shown(path), files::reason(&error)));
            Ending::CouldNot
        }
    })
}

/// Writes beside the wanted name in full, then renames: whoever reads it meanwhile sees the old drawing or the new one.
fn write(path: &Path, text: &str) -> io::Result<()> {
    // A symbolic link stays one, and the file it leads to changes.
    let path = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
    if path.is_dir() {
        return Err(io::Error::other("it is a folder"));
    }
    if path.extension().is_some_and(|ending| ending == "dryfit") {
        return Err(io::Error::other("`.dryfit` files are jobs, whose place a drawing must not take"));
    }
    let (fresh, mut file) = beside(&path)?;
    let done = file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).and_then(|()| fs::rename(&fresh, &path));
    if done.is_err() {
        // The reason the work failed matters more than a left-over that could not be removed.
        let _ = fs::remove_file(&fresh);
    }
    done
}

//! Writing files in such a way that none is ever lost or half written: a new text is written beside the old one in full,
//! then takes its place. What is written is decided elsewhere.

use crate::files;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Puts a new text in a file's place: written beside it in full, then renamed over it. A symbolic link stays one, and
/// the file it leads to changes; permissions stay. A file that changed since it was read is left alone.
pub(crate) fn replace(path: &Path, before: &str, after: &str) -> Result<(), String> {
    let told = |error: io::Error| format!("it stays as it was: {}", files::reason(&error));
    let path = path.canonicalize().map_err(told)?;
    let about = path.metadata().map_err(told)?;
    if !about.is_file() {
        return Err("it stays as it was: only ordinary files are rewritten".to_string());
    }
    if about.permissions().readonly() {
        return Err("it stays as it was: it is write-protected".to_string());
    }
    let (beside, file) = beside(&path).map_err(told)?;
    let done = fill(file, after, &about)
        .and_then(|()| if fs::read(&path)? == before.as_bytes() { Ok(()) } else { Err(changed_underneath()) })
        .and_then(|()| fs::rename(&beside, &path));
    done.map_err(|error| {
        // The reason the work failed matters more than a left-over that could not be removed.
        let _ = fs::remove_file(&beside);
        told(error)
    })
}

/// Makes a file that was not there: written beside its place in full, then renamed to it.
pub(crate) fn create(path: &Path, text: &str) -> Result<(), String> {
    let told = |error: io::Error| format!("it was not written: {}", files::reason(&error));
    let (beside, mut file) = beside(path).map_err(told)?;
    let done = file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).and_then(|()| {
        // Where somebody made the file meanwhile, theirs stays.
        if path.symlink_metadata().is_ok() {
            Err(changed_underneath())
        } else {
            fs::rename(&beside, path)
        }
    });
    done.map_err(|error| {
        // The reason the work failed matters more than a left-over that could not be removed.
        let _ = fs::remove_file(&beside);
        told(error)
    })
}

fn changed_underneath() -> io::Error {
    io::Error::other("somebody else changed it meanwhile")
}

fn fill(mut file: File, text: &str, about: &fs::Metadata) -> io::Result<()> {
    file.write_all(text.as_bytes())?;
    file.set_permissions(about.permissions())?;
    file.sync_all()
}

/// A new file beside another, so that a rename stays within one file system.
fn beside(path: &Path) -> io::Result<(PathBuf, File)> {
    let name = path.file_name().unwrap_or_default();
    for attempt in 0..100 {
        let mut fresh = std::ffi::OsString::from(".");
        fresh.push(name);
        fresh.push(format!(".new-{}-{attempt}", std::process::id()));
        let fresh = path.with_file_name(fresh);
        match OpenOptions::new().write(true).create_new(true).open(&fresh) {
            Ok(file) => return Ok((fresh, file)),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(io::Error::other("no free name beside it for a temporary file"))
}

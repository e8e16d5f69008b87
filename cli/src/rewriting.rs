//! A new text in a file's place: written beside it in full, then renamed over it, so that the file is its old text or its
//! new one and never less. What the new text is, is not decided here.

use crate::files;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// How long another run of the tool may hold a file before this one gives up.
const PATIENCE: Duration = Duration::from_secs(10);

/// Puts `after` in the place of `before`. A symbolic link stays one, and the file it leads to changes; permissions stay. A
/// file that changed since it was read is left alone.
pub(crate) fn rewrite(path: &Path, before: &str, after: &str) -> Result<(), String> {
    let told = |error: io::Error| format!("it stays as it was: {}", files::reason(&error));
    let path = path.canonicalize().map_err(told)?;
    let about = path.metadata().map_err(told)?;
    if !about.is_file() {
        return Err("it stays as it was: only ordinary files are rewritten".to_string());
    }
    if about.permissions().readonly() {
        return Err("it stays as it was: it is write-protected".to_string());
    }
    // Between the last look at the old text and the rename no other run of the tool may come: each holds the file that
    // it replaces, and one that waited finds another text and leaves it.
    let held = hold(&path).map_err(told)?;
    let same = || if fs::read(&path)? == before.as_bytes() { Ok(()) } else { Err(changed_underneath()) };
    let done = swap_in(&path, after, Some(about.permissions()), same).map_err(told);
    drop(held);
    done
}

/// Puts a whole new text at a path, whatever was there: whoever reads it meanwhile sees the old text or the new one. A
/// symbolic link stays one, and the file it leads to changes.
pub(crate) fn put(path: &Path, text: &str) -> io::Result<()> {
    let path = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
    if path.is_dir() {
        return Err(io::Error::other("it is a folder"));
    }
    swap_in(&path, text, None, || Ok(()))
}

/// Makes a file that was not there: written beside its place in full, then renamed to it.
pub(crate) fn create(path: &Path, text: &str) -> Result<(), String> {
    let told = |error: io::Error| format!("it was not written: {}", files::reason(&error));
    // Where somebody made the file meanwhile, theirs stays.
    let free = || if path.symlink_metadata().is_ok() { Err(changed_underneath()) } else { Ok(()) };
    swap_in(path, text, None, free).map_err(told)
}

/// Writes a text beside its place in full, with these permissions where there are any, and renames it there if a last look
/// allows it.
fn swap_in(
    path: &Path,
    text: &str,
    permissions: Option<fs::Permissions>,
    last_look: impl FnOnce() -> io::Result<()>,
) -> io::Result<()> {
    let (beside, file) = beside(path)?;
    let done = fill(file, text, permissions).and_then(|()| last_look()).and_then(|()| fs::rename(&beside, path));
    if done.is_err() {
        // The reason the work failed matters more than a left-over that could not be removed.
        let _ = fs::remove_file(&beside);
    }
    done
}

/// Holds a file against other runs of the tool. Where the file system knows no such thing, the look at the old text right
/// before the rename must do.
fn hold(path: &Path) -> io::Result<File> {
    let file = File::open(path)?;
    let start = Instant::now();
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(file),
            Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => return Ok(file),
            Err(TryLockError::Error(error)) => return Err(error),
            Err(TryLockError::WouldBlock) if start.elapsed() > PATIENCE => {
                return Err(io::Error::other(format!("another program has held it for {} s", PATIENCE.as_secs())));
            }
            Err(TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(5)),
        }
    }
}

fn changed_underneath() -> io::Error {
    io::Error::other("somebody else changed it meanwhile")
}

fn fill(mut file: File, text: &str, permissions: Option<fs::Permissions>) -> io::Result<()> {
    file.write_all(text.as_bytes())?;
    if let Some(permissions) = permissions {
        file.set_permissions(permissions)?;
    }
    file.sync_all()
}

/// A new file beside another, so that a rename stays within one file system.
fn beside(path: &Path) -> io::Result<(PathBuf, File)> {
    let name = path.file_name().unwrap_or_default();
    for attempt in 0..100 {
        let mut fresh = std::ffi::OsString::from(".");
        fresh.push(name);
        fresh.push(format!(".trialfit-{}-{attempt}", std::process::id()));
        let fresh = path.with_file_name(fresh);
        match OpenOptions::new().write(true).create_new(true).open(&fresh) {
            Ok(file) => return Ok((fresh, file)),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(io::Error::other("no free name beside it for a temporary file"))
}

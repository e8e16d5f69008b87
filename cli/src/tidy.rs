//! `dryfit tidy`: puts files in order in such a way that none is ever lost or half written.

use crate::arguments::Tidy;
use crate::files;
use crate::output::{complain, Output};
use crate::targets::{From, Target, Targets};
use crate::{fault, Ending};
use spec_lang::{syntax, text};
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

pub(crate) fn tidy(wanted: &Tidy, output: &mut Output) -> io::Result<Ending> {
    let targets = Targets::find(&wanted.paths, None, None);
    targets.complain();
    let mut ending = if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot };
    let mut changed = 0usize;
    for target in &targets.list {
        match fault::caught(|| one(target, wanted.look)).and_then(|done| done) {
            Ok(Done::InOrder) => {}
            Ok(Done::Written) => changed += 1,
            Ok(Done::WouldChange) => {
                changed += 1;
                ending = ending.max(Ending::Found);
                output.say(&format!("{}\n", target.shown))?;
            }
            Ok(Done::Text(text)) => output.say(&text)?,
            Err(reason) => {
                complain(&format!("{}: {reason}", target.shown));
                ending = Ending::CouldNot;
            }
        }
    }
    output.finish()?;
    if targets.list.iter().any(|target| target.from == From::File) {
        let files = targets.list.len();
        let what = if wanted.look { "not in order" } else { "put in order" };
        complain(&format!("{changed} of {files} {} {what}", if files == 1 { "file" } else { "files" }));
    }
    Ok(ending)
}

/// What became of one text.
enum Done {
    InOrder,
    Written,
    WouldChange,
    Text(String),
}

fn one(target: &Target, look: bool) -> Result<Done, String> {
    let before = match target.from {
        From::File => files::read(&target.path)?,
        From::Input => files::read_from(io::stdin().lock(), 0)?,
    };
    let after = in_order(&before)?;
    match target.from {
        _ if look => Ok(if after == before { Done::InOrder } else { Done::WouldChange }),
        From::Input => Ok(Done::Text(after)),
        From::File if after == before => Ok(Done::InOrder),
        From::File => write(&target.path, &before, &after).map(|()| Done::Written),
    }
}

/// The text in order.
fn in_order(before: &str) -> Result<String, String> {
    let tree = syntax::read_tree(Arc::from(before));
    let after = text::apply(before, &syntax::tidy(&tree));
    after.ok_or_else(|| "a fault in dryfit itself: its edits do not fit together; nothing was written".to_string())
}

/// Puts a new text in a file's place: written beside it in full, then renamed over it. A symbolic link stays one, and
/// the file it leads to changes; permissions stay. A file that changed since it was read is left alone.
fn write(path: &Path, before: &str, after: &str) -> Result<(), String> {
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

fn changed_underneath() -> io::Error {
    io::Error::other("somebody else changed it meanwhile")
}

fn fill(mut file: File, text: &str, about: &fs::Metadata) -> io::Result<()> {
    file.write_all(text.as_bytes())?;
    file.set_permissions(about.permissions())?;
    file.sync_all()
}

/// A new file beside another, so that a rename stays within one file system.
pub(crate) fn beside(path: &Path) -> io::Result<(PathBuf, File)> {
    let name = path.file_name().unwrap_or_default();
    for attempt in 0..100 {
        let mut fresh = std::ffi::OsString::from(".");
        fresh.push(name);
        fresh.push(format!(".dryfit-{}-{attempt}", std::process::id()));
        let fresh = path.with_file_name(fresh);
        match OpenOptions::new().write(true).create_new(true).open(&fresh) {
            Ok(file) => return Ok((fresh, file)),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(io::Error::other("no free name beside it for a temporary file"))
}

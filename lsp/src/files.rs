//! Files by number: addresses and paths to numbers and back, what is on the disk kept while it does not change, and the
//! walk of a `follows` line, which never leaves the opened folders.

use crate::documents::{Open, Text};
use crate::job_settings::{Broken, SettingsFile};
use crate::requests::closed::Closed;
use crate::workspace::Listing;
use ropey::Rope;
use spec_lang::source::{FileId, Followed, Source};
use spec_lang::text::{LONGEST_FILE, from_bytes, too_long};
use std::cell::RefCell;
use std::collections::HashMap;
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};
use std::time::SystemTime;
use tower_lsp::ls_types::Uri;

/// What makes two addresses the same file.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Key {
    /// A file on the disk, by its real path.
    Path(PathBuf),
    /// Any other address, such as `untitled:`, as it is spelled.
    Other(String),
}

impl Key {
    /// Of an address.
    pub(crate) fn of(uri: &Uri) -> Key {
        path_of(uri).map_or_else(|| Key::Other(uri.as_str().to_string()), |path| Key::Path(settled(&path)))
    }
}

/// The path of a `file:` address.
pub(crate) fn path_of(uri: &Uri) -> Option<PathBuf> {
    let is_file = uri.scheme().as_str().eq_ignore_ascii_case("file");
    let path = uri.to_file_path().filter(|_| is_file)?;
    path.is_absolute().then(|| path.into_owned())
}

/// The path without `.` and `..`, links followed as far as it exists.
pub(crate) fn settled(path: &Path) -> PathBuf {
    let plain = plain_path(path);
    if let Ok(real) = std::fs::canonicalize(&plain) {
        return real;
    }
    // A file that is not there yet still has a folder that is.
    let mut missing = Vec::new();
    for folder in plain.ancestors() {
        if let Ok(real) = std::fs::canonicalize(folder) {
            return missing.iter().rev().fold(real, |path, name| path.join(name));
        }
        missing.extend(folder.file_name());
    }
    plain
}

/// The path without `.` and `..`, read as it is written.
pub fn plain_path(path: &Path) -> PathBuf {
    let mut out = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => {
                out.pop();
            }
            part => out.push(part),
        }
    }
    out
}

/// When and how long a file on the disk was; `None` where it is not there.
pub(crate) type Stamp = Option<(SystemTime, u64)>;

/// The stamp of a path as it is now.
fn stamp_of(path: &Path) -> Stamp {
    let found = std::fs::metadata(path).ok()?;
    Some((found.modified().ok()?, found.len()))
}

/// A settings file, or why it cannot be used.
type Settled = Result<Arc<SettingsFile>, Broken>;

/// A text from the disk, or why there is none.
type Loaded = Result<Arc<Text>, String>;

/// Every file ever met, and the texts of those on the disk.
#[derive(Debug, Default)]
pub(crate) struct Files {
    known: RwLock<Known>,
    disk: Mutex<HashMap<FileId, (Stamp, Loaded)>>,
    listing: Mutex<Option<Listing>>,
    closed: Mutex<HashMap<FileId, Arc<Closed>>>,
    settings: Mutex<HashMap<FileId, (Stamp, Settled)>>,
}

#[derive(Debug, Default)]
struct Known {
    numbers: HashMap<Key, FileId>,
    keys: Vec<Key>,
}

impl Files {
    /// The number of a file.
    pub(crate) fn number(&self, key: Key) -> FileId {
        if let Some(known) = self.find(&key) {
            return known;
        }
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        let next = FileId(u32::try_from(known.keys.len()).unwrap_or(u32::MAX));
        let number = *known.numbers.entry(key.clone()).or_insert(next);
        if number == next {
            known.keys.push(key);
        }
        number
    }

    /// The number of a file that was met before.
    pub(crate) fn find(&self, key: &Key) -> Option<FileId> {
        self.known.read().unwrap_or_else(PoisonError::into_inner).numbers.get(key).copied()
    }

    /// The path of a file on the disk.
    pub(crate) fn path(&self, file: FileId) -> Option<PathBuf> {
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner);
        match known.keys.get(file.0 as usize) {
            Some(Key::Path(path)) => Some(path.clone()),
            _ => None,
        }
    }

    /// What was found in closed files.
    pub(crate) fn closed(&self) -> MutexGuard<'_, HashMap<FileId, Arc<Closed>>> {
        self.closed.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The files met that lie below a path, or are it.
    pub(crate) fn below(&self, path: &Path) -> Vec<FileId> {
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner);
        let below = |key: &Key| matches!(key, Key::Path(known) if known.starts_with(path));
        known.numbers.iter().filter(|(key, _)| below(key)).map(|(_, file)| *file).collect()
    }

    /// The files of the opened folders as last walked.
    pub(crate) fn listing(&self) -> MutexGuard<'_, Option<Listing>> {
        self.listing.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The stamp of a file on the disk as it is now.
    pub(crate) fn stamp(&self, file: FileId) -> Stamp {
        self.path(file).and_then(|path| stamp_of(&path))
    }

    /// The text of a file on the disk, read again only where it changed.
    pub(crate) fn on_disk(&self, file: FileId, path: &Path, stamp: Stamp) -> Loaded {
        if let Some((known, text)) = self.disk.lock().unwrap_or_else(PoisonError::into_inner).get(&file)
            && *known == stamp
            && stamp.is_some()
        {
            return text.clone();
        }
        let text = read(path, stamp);
        let mut disk = self.disk.lock().unwrap_or_else(PoisonError::into_inner);
        disk.insert(file, (stamp, text.clone()));
        text
    }

    /// What a settings file says, made out again only where it changed.
    pub(crate) fn settings(
        &self,
        file: FileId,
        stamp: Stamp,
        read: impl FnOnce() -> Result<SettingsFile, Broken>,
    ) -> Settled {
        let mut known = self.settings.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, settled)) = known.get(&file).filter(|(known, _)| *known == stamp) {
            return settled.clone();
        }
        let settled = read().map(Arc::new);
        known.insert(file, (stamp, settled.clone()));
        settled
    }

    /// The text of a file on the disk as last read.
    pub(crate) fn last_read(&self, file: FileId) -> Option<Arc<Text>> {
        let disk = self.disk.lock().unwrap_or_else(PoisonError::into_inner);
        disk.get(&file).and_then(|(_, text)| text.as_ref().ok().cloned())
    }
}

fn read(path: &Path, stamp: Stamp) -> Loaded {
    let told = |error: std::io::Error| reason(&error);
    let about = std::fs::metadata(path).map_err(told)?;
    if about.is_dir() {
        return Err("it is a folder".to_string());
    }
    if !about.is_file() {
        return Err("it is not an ordinary file".to_string());
    }
    if stamp.is_some_and(|(_, length)| length >= LONGEST_FILE) {
        return Err(too_long());
    }
    let bytes = std::fs::read(path).map_err(told)?;
    let text = from_bytes(bytes)?;
    Ok(Arc::new(Text::new(Rope::from_str(&text))))
}

/// The system's reason, in words where people meet it often.
fn reason(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::PermissionDenied => "reading it is not permitted".to_string(),
        _ => error.to_string(),
    }
}

/// Follows `follows` lines for one judgement: open documents first, then the disk, and nothing outside the folders.
pub(crate) struct Following<'a> {
    files: &'a Files,
    open: &'a HashMap<FileId, Arc<Open>>,
    folders: Vec<PathBuf>,
    met: RefCell<Vec<(FileId, Stamp)>>,
}

impl<'a> Following<'a> {
    /// From a file: within the opened folders where it lies in one of them, else within its own folder.
    pub(crate) fn new(
        files: &'a Files,
        open: &'a HashMap<FileId, Arc<Open>>,
        opened: &[PathBuf],
        from: FileId,
    ) -> Following<'a> {
        let folders = match files.path(from) {
            Some(path) if !opened.iter().any(|folder| path.starts_with(folder)) => {
                path.parent().map(Path::to_path_buf).into_iter().collect()
            }
            _ => opened.to_vec(),
        };
        Following { files, open, folders, met: RefCell::default() }
    }

    /// The files that were asked for, with their stamps where they were read from the disk or are not there.
    pub(crate) fn met(self) -> Vec<(FileId, Stamp)> {
        let mut met = self.met.into_inner();
        met.sort_by_key(|(file, _)| *file);
        met.dedup_by_key(|(file, _)| *file);
        met
    }

    fn within(&self, path: &Path) -> bool {
        self.folders.iter().any(|folder| path.starts_with(folder))
    }
}

impl Source for Following<'_> {
    fn follow(&self, from: FileId, written: &str) -> Followed {
        let base = match self.files.path(from) {
            Some(path) => path.parent().map(Path::to_path_buf),
            None => self.folders.first().cloned(),
        };
        let Some(base) = base else { return Followed::Missing };
        // The system resolves links and `..`; a document that is open but not saved yet is known by its plain path only.
        let target = base.join(written);
        // As written it must lie inside before the disk is asked: else the answer would tell which outside files exist.
        if !self.within(&plain_path(&target)) {
            return Followed::Outside;
        }
        let real = match std::fs::canonicalize(&target) {
            Ok(real) if !self.within(&real) => return Followed::Outside,
            Ok(real) => real,
            Err(error) if error.kind() == std::io::ErrorKind::PermissionDenied => {
                return Followed::Unreadable(reason(&error));
            }
            Err(_) => settled(&target),
        };
        if !self.within(&real) {
            return Followed::Missing;
        }
        let file = self.files.number(Key::Path(real.clone()));
        if let Some(open) = self.open.get(&file) {
            self.met.borrow_mut().push((file, None));
            return Followed::File(file, Arc::clone(open.text.reading()));
        }
        let stamp = stamp_of(&real);
        self.met.borrow_mut().push((file, stamp));
        // A path that is there only when read without the system's eyes, such as `nowhere/../job`, is not there.
        if stamp.is_none() || !target.exists() {
            return Followed::Missing;
        }
        match self.files.on_disk(file, &real, stamp) {
            Ok(text) => Followed::File(file, Arc::clone(text.reading())),
            Err(reason) => Followed::Unreadable(reason),
        }
    }
}

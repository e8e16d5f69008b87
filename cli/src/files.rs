//! Files: read whole, checked to be text, followed from one to the next inside the opened folder, and read only once
//! however many jobs follow them.

use spec_lang::reading::Reading;
use spec_lang::report::one_line;
use spec_lang::source::{FileId, Followed, Source};
use spec_lang::text::{LONGEST_FILE, from_bytes, too_long};
use std::borrow::Cow;
use std::cell::RefCell;
use std::collections::HashMap;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use trialfit_lsp::plain_path;

/// Reads a file that must be text.
pub(crate) fn read(path: &Path) -> Result<String, String> {
    let told = |error: io::Error| reason(&error);
    let file = File::open(path).map_err(told)?;
    let about = file.metadata().map_err(told)?;
    if about.is_dir() {
        return Err("it is a folder".to_string());
    }
    read_from(file, about.len())
}

/// Reads from anything that must be text.
pub(crate) fn read_from(from: impl Read, expected: u64) -> Result<String, String> {
    if expected >= LONGEST_FILE {
        return Err(too_long());
    }
    let mut bytes = Vec::with_capacity(usize::try_from(expected).unwrap_or(0) + 1);
    from.take(LONGEST_FILE).read_to_end(&mut bytes).map_err(|error| reason(&error))?;
    if bytes.len() as u64 >= LONGEST_FILE {
        return Err(too_long());
    }
    from_bytes(bytes)
}

/// The system's reason, in words where people meet it often.
pub(crate) fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".to_string(),
        io::ErrorKind::PermissionDenied => "reading it is not permitted".to_string(),
        _ => error.to_string(),
    }
}

/// A path as reports show it: relative to the current folder, forward slashes, no character that could speak to the
/// terminal.
pub(crate) fn shown(path: &Path) -> Arc<str> {
    let below;
    let path = if path.is_absolute() {
        below = from_here(path);
        &below
    } else {
        path
    };
    let mut out = String::new();
    for part in path.components() {
        if part == Component::CurDir {
            continue;
        }
        if !out.is_empty() && !out.ends_with('/') {
            out.push('/');
        }
        match part {
            Component::RootDir => out.push('/'),
            part => out.push_str(&part.as_os_str().to_string_lossy()),
        }
    }
    Arc::from(if out.is_empty() { Cow::Borrowed(".") } else { one_line(&out) })
}

/// The current folder, without symbolic links.
pub(crate) fn here() -> &'static Path {
    static HERE: OnceLock<PathBuf> = OnceLock::new();
    HERE.get_or_init(|| std::env::current_dir().and_then(|here| here.canonicalize()).unwrap_or_default())
}

/// An absolute path, seen from the current folder.
fn from_here(path: &Path) -> PathBuf {
    if here().as_os_str().is_empty() {
        return path.to_path_buf();
    }
    seen_from(here(), path)
}

/// An absolute path, seen from a folder; as it is where the two have nothing in common.
pub(crate) fn seen_from(folder: &Path, path: &Path) -> PathBuf {
    let same = folder.components().zip(path.components()).take_while(|(ours, theirs)| ours == theirs).count();
    if same == 0 {
        return path.to_path_buf();
    }
    let mut out: PathBuf = folder.components().skip(same).map(|_| Component::ParentDir).collect();
    out.extend(path.components().skip(same));
    out
}

/// A relative path as a relative reference (RFC 3986 section 4.2): forward slashes, every byte outside the unreserved
/// characters (section 2.3) as per cent and two digits, also the colon, which would open a scheme.
pub(crate) fn reference(path: &Path) -> String {
    joined(path, |letter| letter.is_ascii_alphanumeric() || "-._~".contains(letter))
}

/// A relative path on one line, for people to read and for this tool to find again: forward slashes; control characters,
/// bytes that are no text, the per cent sign and the bar as per cent and two digits.
pub(crate) fn portable(path: &Path) -> String {
    let fits = |letter: char| matches!(one_line(letter.encode_utf8(&mut [0; 4])), Cow::Borrowed(_));
    joined(path, |letter| fits(letter) && !"%|".contains(letter))
}

/// The path that [`portable`] wrote. `None` where it held bytes that are no text.
pub(crate) fn from_portable(written: &str) -> Option<PathBuf> {
    let mut bytes = Vec::with_capacity(written.len());
    let mut parts = written.split('%');
    bytes.extend_from_slice(parts.next().unwrap_or_default().as_bytes());
    for part in parts {
        bytes.push(u8::from_str_radix(part.get(..2)?, 16).ok()?);
        bytes.extend_from_slice(part.get(2..)?.as_bytes());
    }
    String::from_utf8(bytes).ok().map(PathBuf::from)
}

fn joined(path: &Path, plain: impl Fn(char) -> bool) -> String {
    let mut out = String::new();
    let coded = |out: &mut String, byte: u8| out.push_str(&format!("%{byte:02X}"));
    for part in path.components().filter(|part| !matches!(part, Component::CurDir | Component::RootDir)) {
        if !out.is_empty() {
            out.push('/');
        }
        for chunk in part.as_os_str().as_encoded_bytes().utf8_chunks() {
            for letter in chunk.valid().chars() {
                if plain(letter) {
                    out.push(letter);
                } else {
                    letter.encode_utf8(&mut [0; 4]).bytes().for_each(|byte| coded(&mut out, byte));
                }
            }
            chunk.invalid().iter().for_each(|byte| coded(&mut out, *byte));
        }
    }
    out
}

/// What became of a followed file: its path without symbolic links.
#[derive(Clone)]
enum Found {
    At(Arc<Path>),
    Missing,
    Outside,
    Unreadable(String),
}

type Shared = Arc<OnceLock<Result<Arc<Reading>, String>>>;

/// A `follows` line: the folder it is in, the opened folder, and its words.
type FollowsLine = (Arc<Path>, Arc<Path>, String);

/// What all files of a run share.
#[derive(Default)]
pub(crate) struct Library {
    folders: Mutex<HashMap<PathBuf, Option<Arc<Path>>>>,
    found: Mutex<HashMap<FollowsLine, Found>>,
    followed: Mutex<HashMap<Arc<Path>, Shared>>,
}

impl Library {
    /// A folder without symbolic links.
    fn folder(&self, path: &Path) -> Option<Arc<Path>> {
        let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
        let mut known = self.folders.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = known.get(path) {
            return known.clone();
        }
        let real = path.canonicalize().ok().map(Arc::from);
        known.insert(path.to_path_buf(), real.clone());
        real
    }

    /// A file's path, its folder without symbolic links.
    pub(crate) fn place(&self, path: &Path) -> Arc<Path> {
        let folder = path.parent().and_then(|folder| self.folder(folder));
        match (folder, path.file_name()) {
            (Some(folder), Some(name)) => Arc::from(folder.join(name)),
            _ => Arc::from(path),
        }
    }

    fn find(&self, folder: Arc<Path>, root: Arc<Path>, written: &str) -> Found {
        let line = (folder, root, written.to_string());
        let mut known = self.found.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(found) = known.get(&line) {
            return found.clone();
        }
        let path = line.0.join(written);
        // As written it must lie inside before the disk is asked: else the answer would tell which outside files exist.
        let found = match path.canonicalize() {
            _ if !plain_path(&path).starts_with(&line.1) => Found::Outside,
            Ok(path) if !path.starts_with(&line.1) => Found::Outside,
            Ok(path) => match path.metadata() {
                Ok(about) if about.is_file() => Found::At(Arc::from(path)),
                Ok(about) if about.is_dir() => Found::Unreadable("it is a folder".to_string()),
                Ok(_) => Found::Unreadable("it is not an ordinary file".to_string()),
                Err(error) => Found::Unreadable(reason(&error)),
            },
            Err(error) if error.kind() == io::ErrorKind::PermissionDenied => Found::Unreadable(reason(&error)),
            Err(_) => Found::Missing,
        };
        known.insert(line, found.clone());
        found
    }

    /// A followed file's reading; the first to ask reads it.
    fn followed(&self, path: &Arc<Path>) -> Result<Arc<Reading>, String> {
        let shared = {
            let mut known = self.followed.lock().unwrap_or_else(PoisonError::into_inner);
            known.entry(Arc::clone(path)).or_default().clone()
        };
        shared.get_or_init(|| read(path).map(|text| Arc::new(Reading::new(Arc::from(text))))).clone()
    }

    /// From here on the file is read as this, whatever the disk says.
    pub(crate) fn put(&self, place: &Arc<Path>, reading: Arc<Reading>) {
        let real = place.canonicalize().map_or_else(|_| Arc::clone(place), Arc::from);
        let put = Arc::new(OnceLock::from(Ok(reading)));
        self.followed.lock().unwrap_or_else(PoisonError::into_inner).insert(real, put);
    }

    /// The reading of a file that is itself to be judged: shared where some job followed it before, else its own, so
    /// that ten thousand jobs are not kept in memory.
    pub(crate) fn reading(&self, place: &Arc<Path>, path: &Path) -> Result<Arc<Reading>, String> {
        let followed = self.followed.lock().unwrap_or_else(PoisonError::into_inner).get(place).cloned();
        if let Some(Ok(known)) = followed.as_deref().and_then(OnceLock::get) {
            return Ok(Arc::clone(known));
        }
        read(path).map(|text| Arc::new(Reading::new(Arc::from(text))))
    }
}

/// The files of one analysis, numbered in the order they are met in, the judged file first: so their order does not
/// depend on what other threads do.
pub(crate) struct Opened<'a> {
    library: &'a Library,
    root: Arc<Path>,
    files: RefCell<Vec<(Arc<Path>, Arc<str>)>>,
}

impl<'a> Opened<'a> {
    /// For a file at `place`, called `name`, in the opened folder `root`.
    pub(crate) fn new(library: &'a Library, root: Arc<Path>, place: Arc<Path>, name: Arc<str>) -> Opened<'a> {
        Opened { library, root, files: RefCell::new(vec![(place, name)]) }
    }

    /// What a file is called.
    pub(crate) fn name(&self, file: FileId) -> Arc<str> {
        self.files.borrow().get(file.0 as usize).map_or_else(|| Arc::from("?"), |(_, name)| Arc::clone(name))
    }

    /// The number of a file that is followed, by its path without symbolic links.
    pub(crate) fn number(&self, path: Arc<Path>) -> FileId {
        let mut files = self.files.borrow_mut();
        let number = files.iter().position(|(known, _)| *known == path).unwrap_or_else(|| {
            let name = shown(&path);
            files.push((path, name));
            files.len() - 1
        });
        FileId(u32::try_from(number).unwrap_or(u32::MAX))
    }

    /// Where a file is.
    pub(crate) fn place(&self, file: FileId) -> Option<Arc<Path>> {
        self.files.borrow().get(file.0 as usize).map(|(place, _)| Arc::clone(place))
    }
}

impl Source for Opened<'_> {
    fn follow(&self, from: FileId, written: &str) -> Followed {
        let Some(folder) = self.place(from).and_then(|place| place.parent().map(Arc::from)) else {
            return Followed::Missing;
        };
        let path = match self.library.find(folder, Arc::clone(&self.root), written) {
            Found::At(path) => path,
            Found::Missing => return Followed::Missing,
            Found::Outside => return Followed::Outside,
            Found::Unreadable(reason) => return Followed::Unreadable(reason),
        };
        let reading = match self.library.followed(&path) {
            Ok(reading) => reading,
            Err(reason) => return Followed::Unreadable(reason),
        };
        Followed::File(self.number(path), reading)
    }
}

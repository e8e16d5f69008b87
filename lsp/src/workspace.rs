//! The files of the opened folders, open or not: found by walking, read when asked for, never outside the folders. A walk
//! is bounded, and made again only where files may have come or gone.

use crate::convert::Held;
use crate::files::{Files, Following, Key};
use crate::world::{Judged, Snapshot, today};
use spec_lang::Analysis;
use spec_lang::model::Job;
use spec_lang::reading::Reading;
use spec_lang::rules::Day;
use spec_lang::source::{FileId, Followed, Source};
use spec_lang::text::{Edit, apply};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// The most files that are looked at in the opened folders.
const MOST_FILES: usize = 2_000;
/// The most entries of the folders that are walked over on the way.
const MOST_ENTRIES: usize = 200_000;
/// How deep folders are walked.
const DEEPEST: usize = 32;
/// How long a walk is good for where nobody tells of files that come and go.
const FRESH: Duration = Duration::from_secs(3);

/// The files that a walk found.
#[derive(Debug)]
pub(crate) struct Listing {
    folders: Vec<PathBuf>,
    made: Instant,
    files: Arc<Vec<FileId>>,
}

fn in_folder_of(path: &Path, other: &Path) -> bool {
    other.parent().is_some_and(|folder| path.starts_with(folder))
}

/// The job files below the folders, ordered by path, found as the terminal finds them: ignore files count, hidden files
/// and links do not.
fn walk(files: &Files, folders: &[PathBuf]) -> Vec<FileId> {
    let mut found = BTreeSet::new();
    let mut passed = 0;
    for folder in folders {
        let mut walk = ignore::WalkBuilder::new(folder);
        walk.git_global(false).require_git(false).max_depth(Some(DEEPEST));
        for entry in walk.build().flatten() {
            passed += 1;
            if passed > MOST_ENTRIES || found.len() >= MOST_FILES {
                break;
            }
            let ordinary = entry.file_type().is_some_and(|kind| kind.is_file());
            if ordinary && entry.path().extension().is_some_and(|ending| ending == "trialfit") {
                found.insert(entry.into_path());
            }
        }
    }
    found.into_iter().map(|path| files.number(Key::Path(path))).collect()
}

/// A job that is known: of an open document with all that was judged, of a closed file resolved only.
pub(crate) enum Known {
    /// Of an open document.
    Open(Arc<Judged>),
    /// Of a closed file.
    Closed(Box<Job>),
}

impl Known {
    /// The job.
    pub(crate) fn job(&self) -> &Job {
        match self {
            Known::Open(judged) => &judged.analysis.job,
            Known::Closed(job) => job,
        }
    }
}

impl Snapshot {
    /// The job files of the opened folders.
    pub(crate) fn listed(&self) -> Arc<Vec<FileId>> {
        let folders = &self.settings.folders;
        let mut kept = self.files.listing();
        let fresh = |listing: &&Listing| {
            listing.folders == *folders && (self.settings.watches || listing.made.elapsed() < FRESH)
        };
        if let Some(listing) = kept.as_ref().filter(fresh) {
            return Arc::clone(&listing.files);
        }
        let files = Arc::new(walk(&self.files, folders));
        *kept = Some(Listing { folders: folders.clone(), made: Instant::now(), files: Arc::clone(&files) });
        files
    }

    /// The open documents and the job files of the opened folders, each once.
    pub(crate) fn all_files(&self) -> BTreeSet<FileId> {
        self.open.keys().copied().chain(self.listed().iter().copied()).collect()
    }

    /// A file's text as it is now, read from the disk where it is not open. Nothing is read outside the opened folders
    /// and, where none is opened, outside the folders of the open documents.
    pub(crate) fn held_now(&self, file: FileId) -> Option<Held> {
        if !self.open.contains_key(&file) {
            let path = self.files.path(file)?;
            let beside = |open: &FileId| self.files.path(*open).is_some_and(|open| in_folder_of(&path, &open));
            if !self.settings.folders.iter().any(|folder| path.starts_with(folder)) && !self.open.keys().any(beside) {
                return None;
            }
            let stamp = self.files.stamp(file);
            self.files.on_disk(file, &path, stamp).ok()?;
        }
        self.held(file)
    }

    /// The job of a file.
    pub(crate) fn known(&self, file: FileId) -> Option<Known> {
        if let Some(open) = self.open.get(&file) {
            return Some(Known::Open(self.judge(open)));
        }
        let reading = Arc::clone(self.held_now(file)?.text().reading());
        let source = Following::new(&self.files, &self.open, &self.settings.folders, file);
        Some(Known::Closed(Box::new(Analysis::unjudged(file, reading, &source).job)))
    }

    /// The jobs of the workspace, and those of `more`, whose own text holds one of the words: no other text can have a
    /// name that is one of them.
    pub(crate) fn jobs_with(&self, words: &[&str], more: &[FileId]) -> Vec<(FileId, Known)> {
        let mut files = self.all_files();
        files.extend(more);
        let holds = |file: &FileId| self.held_now(*file).is_some_and(|held| held.text().holds(words));
        files.into_iter().filter(holds).filter_map(|file| Some((file, self.known(file)?))).collect()
    }

    /// Whether a file may be changed by an edit that reaches over files; the reason where not.
    pub(crate) fn may_edit(&self, file: FileId) -> Result<(), String> {
        let Some(path) = self.files.path(file) else { return Ok(()) };
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let within = self.settings.folders.iter().any(|folder| path.starts_with(folder));
        if !within && !self.open.contains_key(&file) {
            return Err(format!(
                "`{name}` has this name too and lies outside the opened folder; open its folder first"
            ));
        }
        match std::fs::metadata(&path) {
            Ok(about) if about.permissions().readonly() => {
                Err(format!("`{name}` has this name too and is write-protected; take that off first"))
            }
            _ => Ok(()),
        }
    }

    /// The jobs as they would be with the edits made, one for each file asked for; `None` where the edits do not fit.
    pub(crate) fn with_edits(&self, edits: &[(FileId, Edit)], jobs: &[FileId]) -> Option<Vec<Job>> {
        let edited = self.edited(edits)?;
        let mut out = Vec::new();
        for file in jobs {
            let reading = match edited.get(file) {
                Some(reading) => Arc::clone(reading),
                None => Arc::clone(self.held_now(*file)?.text().reading()),
            };
            out.push(Analysis::unjudged(*file, reading, &self.overlaid(&edited, *file)).job);
        }
        Some(out)
    }

    /// What would be found in a file with the edits made.
    pub(crate) fn judged_with(&self, edits: &[(FileId, Edit)], file: FileId) -> Option<Analysis> {
        let edited = self.edited(edits)?;
        let reading = match edited.get(&file) {
            Some(reading) => Arc::clone(reading),
            None => Arc::clone(self.held_now(file)?.text().reading()),
        };
        let day = Day { today: Some(today()), notice: self.beside(file).settings.notice() };
        Some(spec_lang::analyse(file, reading, &self.overlaid(&edited, file), day))
    }

    fn overlaid<'a>(&'a self, edited: &'a HashMap<FileId, Arc<Reading>>, file: FileId) -> Edited<'a> {
        Edited { on: Following::new(&self.files, &self.open, &self.settings.folders, file), edited }
    }

    fn edited(&self, edits: &[(FileId, Edit)]) -> Option<HashMap<FileId, Arc<Reading>>> {
        let mut by_file: BTreeMap<FileId, Vec<Edit>> = BTreeMap::new();
        for (file, edit) in edits {
            by_file.entry(*file).or_default().push(edit.clone());
        }
        let mut edited = HashMap::new();
        for (file, edits) in by_file {
            let text = apply(self.held_now(file)?.text().text(), &edits)?;
            edited.insert(file, Arc::new(Reading::new(Arc::from(text))));
        }
        Some(edited)
    }
}

/// The files as they would be with edits made.
struct Edited<'a> {
    on: Following<'a>,
    edited: &'a HashMap<FileId, Arc<Reading>>,
}

impl Source for Edited<'_> {
    fn follow(&self, from: FileId, written: &str) -> Followed {
        match self.on.follow(from, written) {
            Followed::File(file, reading) => Followed::File(file, self.edited.get(&file).map_or(reading, Arc::clone)),
            other => other,
        }
    }
}

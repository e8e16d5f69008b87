//! End-to-end tests of trialfit live in this package; nothing else depends on it. Here: the examples as a source of
//! files, and the one-line form of an analysis that the golden list is written in.

use spec_lang::reading::{Date, Reading};
use spec_lang::source::{FileId, Followed, Source};
use spec_lang::text::{Encoding, LineIndex, from_bytes};
use spec_lang::{Analysis, analyse};
use std::cell::RefCell;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

/// The day on which the examples are judged.
pub const EXAMPLES_DAY: &str = "2026-11-02";

/// The project's top folder.
pub fn project() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").components().collect()
}

/// Every `.trialfit` file below a folder, sorted.
pub fn trialfit_files(folder: &Path) -> Vec<PathBuf> {
    files_below(folder, "trialfit")
}

/// Every file with that ending below a folder, sorted.
pub fn files_below(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).expect("a folder").flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|found| found == ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// A folder as a source of files.
pub struct Folder {
    files: RefCell<Vec<(PathBuf, Arc<Reading>)>>,
}

impl Folder {
    /// An empty one.
    pub fn new() -> Folder {
        Folder { files: RefCell::new(Vec::new()) }
    }

    /// Reads a file, or gives it again.
    pub fn open(&self, path: &Path) -> Option<(FileId, Arc<Reading>)> {
        let path = path.canonicalize().ok()?;
        if let Some(at) = self.files.borrow().iter().position(|(known, _)| *known == path) {
            return Some((FileId(at as u32), Arc::clone(&self.files.borrow()[at].1)));
        }
        let text = std::fs::read_to_string(&path).ok()?;
        let reading = Arc::new(Reading::new(Arc::from(text)));
        self.files.borrow_mut().push((path, Arc::clone(&reading)));
        Some((FileId(self.files.borrow().len() as u32 - 1), reading))
    }

    /// Judges a text as if it stood in a file of that path.
    pub fn judge_text(&self, path: &Path, text: &str) -> Analysis {
        let reading = Arc::new(Reading::new(Arc::from(text)));
        let path = path.canonicalize().expect("a path of a file that is there");
        self.files.borrow_mut().push((path, Arc::clone(&reading)));
        let file = FileId(self.files.borrow().len() as u32 - 1);
        analyse(file, reading, self, Date::read(EXAMPLES_DAY))
    }

    /// Judges a file as the examples are judged.
    pub fn judge(&self, path: &Path) -> Analysis {
        let (file, reading) = self.open(path).expect("a file that can be read");
        analyse(file, reading, self, Date::read(EXAMPLES_DAY))
    }
}

impl Default for Folder {
    fn default() -> Self {
        Folder::new()
    }
}

impl Source for Folder {
    fn follow(&self, from: FileId, written: &str) -> Followed {
        let base = self.files.borrow()[from.0 as usize].0.clone();
        let path = base.parent().unwrap_or(Path::new("")).join(written);
        // The examples are the opened folder; any other file has its own. Links are not looked into here.
        let examples = project().join("examples").canonicalize().expect("the examples");
        let root =
            if base.starts_with(&examples) { examples } else { base.parent().map_or(base.clone(), Path::to_path_buf) };
        let inside = path.components().fold(PathBuf::new(), |mut plain, part| {
            match part {
                Component::ParentDir => drop(plain.pop()),
                Component::CurDir => {}
                part => plain.push(part),
            }
            plain
        });
        if !inside.starts_with(&root) {
            return Followed::Outside;
        }
        match std::fs::read(&path) {
            Err(_) => Followed::Missing,
            Ok(bytes) => match from_bytes(bytes) {
                Err(reason) => Followed::Unreadable(reason),
                Ok(_) => self.open(&path).map_or(Followed::Missing, |(file, reading)| Followed::File(file, reading)),
            },
        }
    }
}

/// An analysis, a line a finding: place, severity, rule, title; what was set aside and what was not judged say so.
pub fn lines(analysis: &Analysis) -> Vec<String> {
    let place = |place: spec_lang::source::Place| {
        let reading = analysis.reading(place.file).expect("a file of the analysis");
        let text = &reading.tree.text;
        let at = LineIndex::new(text).position(text, place.span.start, Encoding::Utf32);
        format!("{}:{}", at.line + 1, at.column + 1)
    };
    let mut out = Vec::new();
    for left in &analysis.not_judged {
        out.push(format!("{} NOT JUDGED {}: {}", place(left.place), left.rule.name, left.because));
    }
    for finding in &analysis.findings {
        let aside = if finding.conceded.is_some() { "set aside, " } else { "" };
        out.push(format!(
            "{} {aside}{} {}: {}",
            place(finding.place),
            finding.severity.word(),
            finding.rule.name,
            finding.title
        ));
    }
    out
}

pub mod program;
pub mod reference;
pub mod scratch;

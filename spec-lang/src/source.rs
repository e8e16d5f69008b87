//! How files reach the language: by number, already read, through one small trait. Paths exist only at the edges.

use crate::reading::Reading;
use crate::text::Span;
use std::sync::Arc;

/// A file, by the number that the edge gave it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FileId(pub u32);

/// A place in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Place {
    /// The file.
    pub file: FileId,
    /// The bytes.
    pub span: Span,
}

/// What became of a `follows` line.
#[derive(Clone, Debug)]
pub enum Followed {
    /// The file, read.
    File(FileId, Arc<Reading>),
    /// No such file.
    Missing,
    /// The file lies outside the opened workspace, where nothing is read.
    Outside,
    /// The file is there but cannot be read: the reason.
    Unreadable(String),
}

/// Where followed files come from.
pub trait Source {
    /// The file that `written`, the text of a `follows` line in `from`, names: resolved relative to `from`.
    fn follow(&self, from: FileId, written: &str) -> Followed;
}

/// A source without files: every `follows` is missing.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoFiles;

impl Source for NoFiles {
    fn follow(&self, _: FileId, _: &str) -> Followed {
        Followed::Missing
    }
}

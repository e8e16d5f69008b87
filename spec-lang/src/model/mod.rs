//! The resolved job.
use crate::reading::Reading;
use crate::source::{FileId, Source};
use std::sync::Arc;

/// A job, resolved.
#[derive(Debug)]
pub struct Job {
    /// The file and all it follows, each once, itself first.
    pub readings: Vec<(FileId, Arc<Reading>)>,
}

impl Job {
    /// Resolves.
    pub fn resolve(file: FileId, reading: Arc<Reading>, _source: &dyn Source) -> Job {
        Job { readings: vec![(file, reading)] }
    }
}

//! The settings files that stand beside a document and in the folders above it, never above the opened folder: found on
//! the disk as the terminal finds them. What they mean is in `job_settings`.

use crate::files::{Key, Stamp};
use crate::job_settings::{Broken, JobSettings, SETTINGS_FILE, SettingsFile};
use crate::world::Snapshot;
use spec_lang::source::FileId;
use std::path::{Path, PathBuf};

/// What the settings make of a document.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Standing {
    /// It is judged.
    Judged,
    /// It is left alone: no finding is told.
    Excluded,
    /// It is not judged, for the settings file above it is broken: what to say.
    Broken(String),
}

/// The settings of a document, and the files that they were looked for in.
pub(crate) struct Beside {
    /// What they say.
    pub(crate) settings: JobSettings,
    /// What they make of the document.
    pub(crate) standing: Standing,
    /// It is judged as before building.
    pub(crate) is_final: bool,
    /// Every path looked at, with its stamp.
    pub(crate) met: Vec<(FileId, Stamp)>,
}

impl Snapshot {
    /// The settings that hold for a file.
    pub(crate) fn beside(&self, file: FileId) -> Beside {
        let mut beside =
            Beside { settings: JobSettings::default(), standing: Standing::Judged, is_final: false, met: Vec::new() };
        let Some(path) = self.files.path(file) else { return beside };
        let mut found = Vec::new();
        for folder in self.folders_up(&path) {
            let candidate = folder.join(SETTINGS_FILE);
            let number = self.files.number(Key::Path(candidate.clone()));
            let stamp = self.files.stamp(number);
            beside.met.push((number, stamp));
            if stamp.is_none() {
                continue;
            }
            match self.files.settings(number, stamp, || self.read_settings(number, &candidate, stamp)) {
                Ok(file) => found.push(file),
                Err(broken) => {
                    let name = candidate.strip_prefix(folder.parent().unwrap_or(&folder)).unwrap_or(&candidate);
                    let at = if broken.line > 0 { ":" } else { ": " };
                    let said = format!("NOT JUDGED: the settings cannot be used: {}{at}{broken}", name.display());
                    beside.standing = Standing::Broken(spec_lang::report::one_line(&said).into_owned());
                    return beside;
                }
            }
        }
        beside.settings = JobSettings::of(found);
        beside.is_final = beside.settings.is_final(&path);
        if beside.settings.excludes(&path).is_some() {
            beside.standing = Standing::Excluded;
        }
        beside
    }

    fn read_settings(&self, number: FileId, path: &Path, stamp: Stamp) -> Result<SettingsFile, Broken> {
        let unreadable = |reason: String| Broken { path: path.to_path_buf(), line: 0, column: 0, reason };
        let within = |real: &Path| self.settings.folders.iter().any(|folder| real.starts_with(folder)) || real == path;
        if !std::fs::canonicalize(path).is_ok_and(|real| within(&real)) {
            return Err(unreadable("it is a link that leads out of the opened folder".to_string()));
        }
        let text = self.files.on_disk(number, path, stamp).map_err(unreadable)?;
        SettingsFile::read(path, text.text())
    }

    /// The folders from a file's own up to the opened one, or to the nearest that holds `.git`. Of a file outside the
    /// opened folders its own folder only.
    fn folders_up(&self, path: &Path) -> Vec<PathBuf> {
        let own = path.parent().unwrap_or(Path::new(""));
        let inside = |folder: &Path| self.settings.folders.iter().any(|opened| folder.starts_with(opened));
        let mut folders = Vec::new();
        for folder in own.ancestors().take_while(|folder| inside(folder) || *folder == own) {
            folders.push(folder.to_path_buf());
            if folder.join(".git").exists() {
                break;
            }
        }
        folders
    }
}

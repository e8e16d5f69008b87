//! Settings files on the disk: looked for from each file's folder up to the opened folder and never above, each read once
//! a run. `trialfit settings` shows what won and why. What a settings file may say is not decided here.

use crate::Ending;
use crate::arguments::Settings;
use crate::files;
use crate::output::{Output, complain};
use crate::targets::{Target, Targets};
use spec_lang::report::{counted, wrap};
use std::collections::HashMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use trialfit_lsp::{Broken, JobSettings, SETTINGS_FILE, SettingsFile, Written};

type Found = Result<Option<Arc<SettingsFile>>, Arc<Broken>>;
/// The settings of a folder, or the file above it that is broken.
pub(crate) type Held = Result<Arc<JobSettings>, Arc<Broken>>;

/// The settings files of a run.
#[derive(Default)]
pub(crate) struct Shelf {
    files: Mutex<HashMap<PathBuf, Found>>,
    folders: Mutex<HashMap<(PathBuf, Arc<Path>), Held>>,
}

impl Shelf {
    /// The settings that hold for a file at `place`, a path without symbolic links, in the opened folder `root`.
    pub(crate) fn of(&self, place: &Path, root: &Arc<Path>) -> Held {
        let folder = place.parent().unwrap_or(Path::new(""));
        let key = (folder.to_path_buf(), Arc::clone(root));
        if let Some(known) = self.folders.lock().unwrap_or_else(PoisonError::into_inner).get(&key) {
            return known.clone();
        }
        let held = self.gather(folder, root).map(|files| Arc::new(JobSettings::of(files)));
        self.folders.lock().unwrap_or_else(PoisonError::into_inner).insert(key, held.clone());
        held
    }

    /// Whether any settings file that was read so far names a record of known findings.
    pub(crate) fn names_a_record(&self) -> bool {
        let files = self.files.lock().unwrap_or_else(PoisonError::into_inner);
        files.values().any(|found| matches!(found, Ok(Some(file)) if file.names_a_record()))
    }

    fn gather(&self, folder: &Path, root: &Path) -> Result<Vec<Arc<SettingsFile>>, Arc<Broken>> {
        let mut files = Vec::new();
        // A file that lies outside the opened folder has only what stands beside it.
        let within = |above: &&Path| above.starts_with(root) || *above == folder;
        for above in folder.ancestors().take_while(within) {
            files.extend(self.file(above.join(SETTINGS_FILE), root)?);
        }
        Ok(files)
    }

    fn file(&self, path: PathBuf, root: &Path) -> Found {
        let mut known = self.files.lock().unwrap_or_else(PoisonError::into_inner);
        known.entry(path.clone()).or_insert_with(|| read(&path, root)).clone()
    }
}

fn read(path: &Path, root: &Path) -> Found {
    let unreadable = |reason: String| Arc::new(Broken { path: path.to_path_buf(), line: 0, column: 0, reason });
    match path.canonicalize() {
        Err(error) if error.kind() == io::ErrorKind::NotFound && path.symlink_metadata().is_err() => return Ok(None),
        Err(error) => return Err(unreadable(files::reason(&error))),
        Ok(real) if !real.starts_with(root) && real != path => {
            return Err(unreadable("it is a link that leads out of the opened folder".to_string()));
        }
        Ok(_) => {}
    }
    if path.metadata().is_ok_and(|about| !about.is_file()) {
        return Err(unreadable("it is not an ordinary file".to_string()));
    }
    let text = files::read(path).map_err(unreadable)?;
    SettingsFile::read(path, &text).map(|file| Some(Arc::new(file))).map_err(Arc::new)
}

/// A broken settings file in one line.
pub(crate) fn broken_line(broken: &Broken) -> String {
    let path = files::shown(&broken.path);
    if broken.line == 0 { format!("{path}: {broken}") } else { format!("{path}:{broken}") }
}

/// Where a setting is written, in words.
pub(crate) fn written(at: &Written) -> String {
    format!("{}, line {}", files::shown(&at.path), at.line)
}

/// How far the `exclude` of settings holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Excludes {
    /// For every file.
    Hold,
    /// For all but what the settings call final: a final check leaves nothing out.
    SpareFinal,
    /// For none.
    Ignored,
}

impl Excludes {
    /// As an option `--no-exclude` asks for.
    pub(crate) fn unless(no_exclude: bool) -> Excludes {
        if no_exclude { Excludes::Ignored } else { Excludes::Hold }
    }
}

impl Targets {
    /// Leaves out what the settings exclude, and what a broken settings file keeps from being judged as its people want.
    /// Says what was named and is left out; of files that were found in folders, how many.
    pub(crate) fn sift(&mut self, shelf: &Shelf, library: &files::Library, excludes: Excludes) {
        let mut broken_files: Vec<(Arc<Broken>, usize)> = Vec::new();
        let mut left_out = 0usize;
        let list = std::mem::take(&mut self.list);
        for target in list {
            let place = library.place(&target.path);
            match shelf.of(&place, &target.root) {
                Err(broken) => {
                    let by = files::shown(&broken.path);
                    self.missing.push((target.shown, format!("not looked at, because `{by}` above it is broken")));
                    match broken_files.iter_mut().find(|(known, _)| known.path == broken.path) {
                        Some((_, below)) => *below += 1,
                        None => broken_files.push((broken, 1)),
                    }
                }
                Ok(settings) => match settings.excludes(&place).filter(|_| match excludes {
                    Excludes::Hold => true,
                    Excludes::SpareFinal => !settings.is_final(&place),
                    Excludes::Ignored => false,
                }) {
                    Some((pattern, at)) if target.named => complain(&format!(
                        "{}: excluded by `{pattern}` ({}); `--no-exclude` takes it in",
                        target.shown,
                        written(&at)
                    )),
                    Some(_) => left_out += 1,
                    None => self.list.push(target),
                },
            }
        }
        for (broken, below) in broken_files {
            let files = counted(below, "file below it is", "files below it are");
            complain(&format!("{}; {files} not looked at", broken_line(&broken)));
        }
        if left_out > 0 {
            let files = counted(left_out, "file is", "files are");
            complain(&format!("{files} left out by `exclude`; `trialfit settings FILE` shows which setting"));
        }
    }
}

pub(crate) fn settings(wanted: &Settings, output: &mut Output) -> io::Result<Ending> {
    let (shelf, library) = (Shelf::default(), files::Library::default());
    let mut ending = Ending::Clean;
    for (number, file) in wanted.files.iter().enumerate() {
        // A file need not be there to have settings: a folder is asked for as if a job lay in it.
        let file = if file.is_dir() { file.join("job.trialfit") } else { file.clone() };
        let Some(target) = Target::of_path(&file, wanted.within.as_deref()) else {
            complain(&format!("{}: there is no such folder", files::shown(&file)));
            ending = Ending::CouldNot;
            continue;
        };
        let place = library.place(&target.path);
        match shelf.of(&place, &target.root) {
            Err(broken) => {
                complain(&broken_line(&broken));
                ending = Ending::CouldNot;
            }
            Ok(settings) => {
                let gap = if number > 0 { "\n" } else { "" };
                output.say(&format!("{gap}{}\n{}", target.shown, page(&settings, &place, output.width)))?;
            }
        }
    }
    Ok(ending)
}

/// Every key with the value that won, why, and what it beat.
fn page(settings: &JobSettings, place: &Path, width: usize) -> String {
    let mut page = String::new();
    for row in settings.rows() {
        let from = row.written.as_ref().map_or("the default".to_string(), written);
        let name = row.key.name;
        page += &wrap(&format!("{} ({from})", row.value), width, &format!("  {name:<19}"), &" ".repeat(21));
        page.push('\n');
        for (value, at) in &row.beaten {
            let line = format!("beaten: {value} ({}), which is further up", written(at));
            page += &wrap(&line, width, &" ".repeat(21), &" ".repeat(23));
            page.push('\n');
        }
    }
    if let Some((pattern, at)) = settings.excludes(place) {
        page += &wrap(&format!("this file is excluded by `{pattern}` ({})", written(&at)), width, "  ", "  ");
        page.push('\n');
    }
    if settings.is_final(place) {
        page += "  this file is judged as final\n";
    }
    page
}

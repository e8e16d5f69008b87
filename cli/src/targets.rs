//! What is to be worked on: the named files, the job files of the named folders, standard input.

use crate::files::{self, Library, Opened};
use crate::output::complain;
use ignore::WalkBuilder;
use std::collections::{HashMap, HashSet};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The ending of job files.
const ENDING: &str = "trialfit";

/// Where a text comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum From {
    /// A file.
    File,
    /// Standard input.
    Input,
}

/// One text to work on.
#[derive(Clone, Debug)]
pub(crate) struct Target {
    /// Where its text comes from.
    pub(crate) from: From,
    /// Its path, or the path that standard input stands for.
    pub(crate) path: PathBuf,
    /// What it is called in reports.
    pub(crate) shown: Arc<str>,
    /// The folder outside which nothing is followed.
    pub(crate) root: Arc<Path>,
    /// Whether the caller named it, rather than a folder that it lies in.
    pub(crate) named: bool,
}

impl Target {
    /// A file by its path, there or not; `None` where its folder is not there.
    pub(crate) fn of_path(path: &Path, within: Option<&Path>) -> Option<Target> {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        folder.canonicalize().ok()?;
        let given = match within {
            Some(folder) => Some(Arc::from(folder.canonicalize().ok()?)),
            None => None,
        };
        let root = Roots { given, known: HashMap::new() }.of(folder);
        Some(Target { from: From::File, path: path.to_path_buf(), shown: files::shown(path), root, named: true })
    }
}

impl Target {
    /// Its text.
    pub(crate) fn text(&self) -> Result<String, String> {
        match self.from {
            From::File => files::read(&self.path),
            From::Input => files::read_from(io::stdin().lock(), 0),
        }
    }

    /// Its files, for an analysis; `place` is its path without symbolic links.
    pub(crate) fn opened<'a>(&self, library: &'a Library, place: Arc<Path>) -> Opened<'a> {
        Opened::new(library, Arc::clone(&self.root), place, Arc::clone(&self.shown))
    }
}

/// Every target, each once, and the reasons of those that are none.
pub(crate) struct Targets {
    /// In order: as named, folders by name.
    pub(crate) list: Vec<Target>,
    /// Path and reason.
    pub(crate) missing: Vec<(Arc<str>, String)>,
}

impl Targets {
    /// Finds them. `within` is the folder that the caller opened, where they said so.
    pub(crate) fn find(paths: &[PathBuf], stands_for: Option<&Path>, within: Option<&Path>) -> Targets {
        let mut targets = Targets { list: Vec::new(), missing: Vec::new() };
        let given: Option<Arc<Path>> = match within.map(|folder| (folder, folder.canonicalize())) {
            None => None,
            Some((_, Ok(real))) => Some(Arc::from(real)),
            Some((folder, Err(error))) => {
                targets.missing.push((files::shown(folder), files::reason(&error)));
                return targets;
            }
        };
        let mut roots = Roots { given, known: HashMap::new() };
        let mut seen = HashSet::new();
        let current = [PathBuf::from(".")];
        for path in if paths.is_empty() { &current } else { paths } {
            if path.as_os_str() == "-" {
                let path = stands_for.unwrap_or(Path::new("standard-input")).to_path_buf();
                let shown = stands_for.map_or_else(|| Arc::from("standard input"), files::shown);
                let root = roots.of(path.parent().unwrap_or(Path::new("")));
                targets.list.push(Target { from: From::Input, path, shown, root, named: true });
                continue;
            }
            match path.metadata() {
                Err(error) => targets.missing.push((files::shown(path), files::reason(&error))),
                Ok(about) if about.is_dir() => targets.walk(path, &mut roots, &mut seen),
                Ok(_) => {
                    let root = roots.of(path.parent().unwrap_or(Path::new("")));
                    targets.add(path.clone(), root, true, &mut seen);
                }
            }
        }
        if let Some(root) = &roots.given {
            let outside = |target: &Target| {
                let folder = target.path.parent().filter(|folder| !folder.as_os_str().is_empty());
                folder.unwrap_or(Path::new(".")).canonicalize().is_ok_and(|folder| !folder.starts_with(root))
            };
            let (out, list) = targets.list.into_iter().partition(outside);
            targets.list = list;
            let reason = format!("it lies outside `{}`, the folder given with --within", files::shown(root));
            targets.missing.extend(out.into_iter().map(|target: Target| (target.shown, reason.clone())));
        }
        targets
    }

    fn add(&mut self, path: PathBuf, root: Arc<Path>, named: bool, seen: &mut HashSet<PathBuf>) {
        let path = path.strip_prefix(".").map(Path::to_path_buf).unwrap_or(path);
        if seen.insert(path.clone()) {
            let shown = files::shown(&path);
            self.list.push(Target { from: From::File, path, shown, root, named });
        }
    }

    /// The job files of a folder and its folders, by name.
    fn walk(&mut self, folder: &Path, roots: &mut Roots, seen: &mut HashSet<PathBuf>) {
        let root = roots.of(folder);
        let mut any = false;
        // A tree is judged alike on every machine and with or without a repository around it: no settings of the user's
        // home take part, and ignore files count where there is no `.git`.
        let mut walk = WalkBuilder::new(folder);
        walk.git_global(false).require_git(false).sort_by_file_name(|left, right| left.cmp(right));
        for entry in walk.build() {
            match entry {
                Ok(entry) => {
                    let ordinary = entry.file_type().is_some_and(|kind| kind.is_file());
                    if ordinary && entry.path().extension().is_some_and(|ending| ending == ENDING) {
                        any = true;
                        self.add(entry.into_path(), Arc::clone(&root), false, seen);
                    }
                }
                Err(error) => {
                    any = true;
                    self.missing.push((files::shown(folder), error.to_string()));
                }
            }
        }
        if !any {
            self.missing.push((files::shown(folder), format!("there is no .{ENDING} file in it to work on")));
        }
    }

    /// Complains about what is missing.
    pub(crate) fn complain(&self) {
        for (shown, reason) in &self.missing {
            complain(&format!("{shown}: {reason}"));
        }
    }
}

/// The opened folder of each folder.
struct Roots {
    given: Option<Arc<Path>>,
    known: HashMap<PathBuf, Arc<Path>>,
}

impl Roots {
    fn of(&mut self, folder: &Path) -> Arc<Path> {
        if let Some(given) = &self.given {
            return Arc::clone(given);
        }
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        if let Some(known) = self.known.get(folder) {
            return Arc::clone(known);
        }
        let root = match folder.canonicalize() {
            Ok(real) => match real.ancestors().find(|above| above.join(".git").exists()) {
                Some(above) => Arc::from(above),
                None if real.starts_with(files::here()) => Arc::from(files::here()),
                None => Arc::from(real),
            },
            Err(_) => Arc::from(folder),
        };
        self.known.insert(folder.to_path_buf(), Arc::clone(&root));
        root
    }
}

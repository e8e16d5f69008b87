//! `trialfit check --changed`: of all targets those that differ from a commit, and those that follow a file which does,
//! directly or through others.

use crate::files::Library;
use crate::follows::Following;
use crate::git::Repository;
use crate::output::complain;
use crate::targets::{From, Targets};
use std::collections::{HashMap, HashSet};
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use trialfit_lsp::SETTINGS_FILE;

/// What differs in one opened folder.
struct Differs {
    files: HashSet<PathBuf>,
    /// Folders whose settings file differs: every job below one may be judged otherwise.
    settings: Vec<PathBuf>,
}

impl Differs {
    fn of(root: &Path, since: &OsStr) -> Result<Differs, String> {
        let repository = Repository::of(root)?;
        let files: HashSet<PathBuf> = repository.changed(&repository.base(since)?)?.into_iter().collect();
        let settings = files.iter().filter(|file| file.file_name().is_some_and(|name| name == SETTINGS_FILE));
        let settings = settings.filter_map(|file| file.parent().map(Path::to_path_buf)).collect();
        Ok(Differs { files, settings })
    }
}

/// Keeps what changed and what follows that; says how much it is.
pub(crate) fn keep_changed(targets: &mut Targets, library: &Library, since: &OsStr) -> Result<(), String> {
    let mut roots: HashMap<Arc<Path>, Differs> = HashMap::new();
    let mut followers = Following::default();
    let (all, mut direct, mut following) = (targets.list.len(), 0usize, 0usize);
    for target in std::mem::take(&mut targets.list) {
        if !roots.contains_key(&target.root) {
            roots.insert(Arc::clone(&target.root), Differs::of(&target.root, since)?);
        }
        let Some(differs) = roots.get(&target.root) else { continue };
        let place = library.place(&target.path);
        // What comes on standard input is what somebody just wrote.
        let changed = target.from == From::Input
            || differs.files.contains(&*place)
            || place.canonicalize().is_ok_and(|real| differs.files.contains(&real))
            || differs.settings.iter().any(|folder| place.starts_with(folder));
        if changed {
            direct += 1;
        } else if followers.ways(&place, &target.root, &|file| differs.files.contains(file)).is_empty() {
            continue;
        } else {
            following += 1;
        }
        targets.list.push(target);
    }
    complain(&format!(
        "{} of {all} files are judged: {direct} changed, {following} follow what changed",
        direct + following
    ));
    Ok(())
}

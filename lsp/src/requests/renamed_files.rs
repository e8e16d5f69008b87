//! `workspace/willRenameFiles`: keeps `follows` lines leading where they led when files or folders get other names.

use crate::convert::Held;
use crate::files::{Following, path_of, settled};
use crate::world::{Look, Snapshot};
use spec_lang::source::{FileId, Followed, Source};
use spec_lang::text::{Edit, Span};
use std::path::{Component, Path, PathBuf};
use tower_lsp::ls_types::{FileRename, Uri};

/// The edits of `follows` lines that keep every file following what it followed.
pub(crate) fn edits(snapshot: &Snapshot, renames: &[FileRename]) -> Vec<(FileId, Edit)> {
    let path = |uri: &str| uri.parse::<Uri>().ok().and_then(|uri| path_of(&uri));
    let renames: Vec<(PathBuf, PathBuf)> = renames
        .iter()
        .filter_map(|rename| Some((settled(&path(&rename.old_uri)?), settled(&path(&rename.new_uri)?))))
        .collect();
    // The longest old path says most exactly where a file goes.
    let moved = |path: &Path| -> PathBuf {
        let of = renames.iter().filter(|(old, _)| path.starts_with(old)).max_by_key(|(old, _)| old.as_os_str().len());
        match of {
            Some((old, new)) => match path.strip_prefix(old) {
                Ok(rest) if rest.as_os_str().is_empty() => new.clone(),
                Ok(rest) => new.join(rest),
                Err(_) => path.to_path_buf(),
            },
            None => path.to_path_buf(),
        }
    };
    let mut edits = Vec::new();
    for file in snapshot.all_files() {
        let (Some(held), Some(path)) = (snapshot.held_now(file), snapshot.files.path(file)) else { continue };
        let reading = held.text().reading();
        let new_path = moved(&path);
        let source = Following::new(&snapshot.files, &snapshot.open, &snapshot.settings.folders, file);
        for span in &reading.follows {
            let written = reading.plain_text(*span);
            let Followed::File(target, _) = source.follow(file, written) else { continue };
            let Some(target) = snapshot.files.path(target) else { continue };
            let new_target = moved(&target);
            if new_target == target && new_path == path {
                continue;
            }
            let Some(folder) = new_path.parent() else { continue };
            // A path that leads there from the new place as it is written stays as it is written.
            if settled(&folder.join(written)) == new_target
                && path.parent() == new_path.parent()
                && new_target == target
            {
                continue;
            }
            if let Some(relative) = relative(folder, &new_target).filter(|relative| relative != written) {
                edits.push((file, Edit { span: *span, insert: format!("\"{relative}\"") }));
            }
        }
    }
    edits
}

/// A path as a `follows` line in a folder writes it: with `/`, whatever the system's own sign.
pub(crate) fn relative(folder: &Path, target: &Path) -> Option<String> {
    let mut from = folder.components().peekable();
    let mut to = target.components().peekable();
    while from.peek().is_some() && from.peek() == to.peek() {
        from.next();
        to.next();
    }
    let mut parts: Vec<String> = from.map(|_| "..".to_string()).collect();
    for part in to {
        match part {
            Component::Normal(name) => parts.push(name.to_str()?.to_string()),
            // Another drive: nothing leads there.
            _ => return None,
        }
    }
    let path = parts.join("/");
    (!path.contains('"') && !path.is_empty()).then_some(path)
}

/// Paths that a `follows` line of the document may be written with: the other job files of the workspace, nearest first,
/// each with whether it is a workshop file.
pub(crate) fn candidates(look: &Look) -> Vec<(String, bool)> {
    let snapshot = &look.snapshot;
    let folder = match snapshot.files.path(look.open.file) {
        Some(path) => path.parent().map(Path::to_path_buf),
        None => snapshot.settings.folders.first().cloned(),
    };
    let Some(folder) = folder else { return Vec::new() };
    let others = snapshot.listed();
    let mut out: Vec<(String, bool)> = others
        .iter()
        .filter(|file| **file != look.open.file)
        .filter_map(|file| {
            let relative = relative(&folder, &snapshot.files.path(*file)?)?;
            let job = snapshot.held_now(*file).is_some_and(|held| has_job(&held));
            Some((relative, !job))
        })
        .collect();
    // Workshop files are what people follow; jobs come last.
    out.sort_by(|one, other| {
        (!one.1, one.0.matches('/').count(), &one.0).cmp(&(!other.1, other.0.matches('/').count(), &other.0))
    });
    out
}

fn has_job(held: &Held) -> bool {
    let blocks = &held.text().reading().blocks;
    blocks.iter().any(|block| block.kind.is_some_and(spec_lang::vocabulary::Kind::opens_a_job))
}

/// What is typed of a path already, and the bytes that a chosen one takes the place of.
pub(crate) fn typed(look: &Look, offset: u32) -> Option<Span> {
    spec_lang::assist::path_at(look.open.text.reading(), offset)
}

#[cfg(test)]
mod tests {
    use super::relative;
    use std::path::Path;

    #[test]
    fn a_path_is_written_from_its_folder() {
        let from = |folder: &str, target: &str| relative(Path::new(folder), Path::new(target));
        assert_eq!(from("/a/b", "/a/b/c.trialfit").as_deref(), Some("c.trialfit"));
        assert_eq!(from("/a/b", "/a/d/c.trialfit").as_deref(), Some("../d/c.trialfit"));
        assert_eq!(from("/a", "/a/b ü/c.trialfit").as_deref(), Some("b ü/c.trialfit"));
        assert_eq!(from("/a", "/a/b\"/c.trialfit"), None, "no path with a quote can be written");
    }
}

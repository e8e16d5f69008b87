//! What git knows of a tree, asked of the `git` command: which files differ from a revision, and what they were in it.
//! Names come as bytes with a zero behind each, so any name is one name. Nothing is written, nothing fetched.

use std::ffi::{OsStr, OsString};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A repository's tree on the disk.
pub(crate) struct Repository {
    /// Its top folder, without symbolic links.
    pub(crate) top: PathBuf,
}

impl Repository {
    /// The repository that a folder lies in.
    pub(crate) fn of(folder: &Path) -> Result<Repository, String> {
        let shown = crate::files::shown(folder);
        let said = git(folder, ["rev-parse", "--show-toplevel"])
            .map_err(|reason| format!("`{shown}` is in no git repository, so what changed is not known: {reason}"))?;
        let top = path(said.strip_suffix(b"\n").unwrap_or(&said));
        let top = top.canonicalize().map_err(|error| format!("`{shown}`: {}", crate::files::reason(&error)))?;
        Ok(Repository { top })
    }

    /// The commit to hold the tree against: the last one, or where this branch and `since` parted.
    pub(crate) fn base(&self, since: &OsStr) -> Result<String, String> {
        let line = |said: Vec<u8>| String::from_utf8_lossy(&said).trim().to_string();
        if since.is_empty() {
            // Without a commit yet everything is new: the tree of no files, in the repository's own kind of number.
            return match git(&self.top, ["rev-parse", "--verify", "--quiet", "HEAD^{commit}"]) {
                Ok(head) => Ok(line(head)),
                Err(_) => git(&self.top, ["hash-object", "-t", "tree", "--stdin"]).map(line),
            };
        }
        let shown = since.to_string_lossy();
        let mut wanted = since.to_os_string();
        wanted.push("^{commit}");
        let verify = ["rev-parse", "--verify", "--quiet", "--end-of-options"].map(OsString::from);
        let commit = git(&self.top, verify.into_iter().chain([wanted]))
            .map_err(|_| format!("git knows no revision `{shown}`; write a branch, a tag or a commit"))?;
        let commit = line(commit);
        let commit = commit.lines().next_back().unwrap_or("").to_string();
        let merge_base = git(&self.top, ["merge-base", &commit, "HEAD"]);
        merge_base
            .map(line)
            .map_err(|_| format!("`{shown}` and the last commit share no history here; fetch the older commits first"))
    }

    /// Every file that differs from a commit, the deleted and those that git does not know yet included, in the tree's
    /// own paths. A renamed file counts under both names.
    pub(crate) fn changed(&self, base: &str) -> Result<Vec<PathBuf>, String> {
        let told = |reason: String| format!("git could not say what changed: {reason}");
        let mut names = git(
            &self.top,
            [
                "diff",
                "--name-only",
                "-z",
                "--no-renames",
                "--no-ext-diff",
                "--no-textconv",
                "--ignore-submodules",
                base,
                "--",
            ],
        )
        .map_err(told)?;
        names.extend(git(&self.top, ["ls-files", "--others", "--exclude-standard", "-z"]).map_err(told)?);
        let names = names.split(|byte| *byte == 0).filter(|name| !name.is_empty());
        Ok(names.map(|name| self.top.join(path(name))).collect())
    }

    /// A file's text in a commit; `None` where it was not there.
    pub(crate) fn text(&self, base: &str, file: &Path) -> Result<Option<Vec<u8>>, String> {
        let shown = crate::files::shown(file);
        let inside = file.strip_prefix(&self.top).map_err(|_| format!("`{shown}` lies outside the git repository"))?;
        let names = git(
            &self.top,
            ["ls-tree", "-z", "--name-only", "--full-tree", base, "--"]
                .map(OsStr::new)
                .into_iter()
                .chain([slashed(inside).as_os_str()]),
        )
        .map_err(|reason| format!("git could not look for `{shown}`: {reason}"))?;
        if names.is_empty() {
            return Ok(None);
        }
        let mut object = OsString::from(format!("{base}:"));
        object.push(slashed(inside));
        let text = git(&self.top, ["cat-file", "blob"].map(OsString::from).into_iter().chain([object]));
        text.map(Some).map_err(|reason| format!("git could not show `{shown}` as it was: {reason}"))
    }
}

/// Runs git in a folder; its own words where it fails.
fn git<A: AsRef<OsStr>>(folder: &Path, arguments: impl IntoIterator<Item = A>) -> Result<Vec<u8>, String> {
    let mut command = Command::new("git");
    // The tree is only looked at: no lock is taken, no watcher started, no glob read into a name, nothing fetched.
    command.arg("-C").arg(folder).args(["--literal-pathspecs", "-c", "core.fsmonitor=false"]).args(arguments);
    command.env("GIT_OPTIONAL_LOCKS", "0").env("GIT_NO_LAZY_FETCH", "1").env("LC_ALL", "C").stdin(Stdio::null());
    let ended = command.output().map_err(|error| match error.kind() {
        std::io::ErrorKind::NotFound => "the command `git` is not on this machine's path".to_string(),
        _ => format!("the command `git` could not be run: {error}"),
    })?;
    if ended.status.success() {
        return Ok(ended.stdout);
    }
    let said = String::from_utf8_lossy(&ended.stderr);
    let said = said.lines().find(|line| !line.trim().is_empty()).unwrap_or("it gives no reason");
    Err(spec_lang::report::one_line(said.trim()).into_owned())
}

#[cfg(unix)]
fn path(bytes: &[u8]) -> PathBuf {
    use std::os::unix::ffi::OsStrExt;
    PathBuf::from(OsStr::from_bytes(bytes))
}

#[cfg(not(unix))]
fn path(bytes: &[u8]) -> PathBuf {
    PathBuf::from(String::from_utf8_lossy(bytes).into_owned())
}

/// A path as git writes it.
fn slashed(path: &Path) -> PathBuf {
    if cfg!(windows) { PathBuf::from(path.to_string_lossy().replace('\\', "/")) } else { path.to_path_buf() }
}

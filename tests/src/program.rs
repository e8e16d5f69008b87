//! The real binary, built once for a test run, and what came of running it.

use std::ffi::OsStr;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

/// The path of the `trialfit` binary, built as the tests are.
pub fn trialfit() -> &'static Path {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    BUILT.get_or_init(|| {
        let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
        let built = Command::new(cargo)
            .args(["build", "--quiet", "--package", "trialfit", "--bin", "trialfit", "--message-format", "json"])
            .current_dir(crate::project())
            .stderr(Stdio::inherit())
            .output()
            .expect("cargo can be run");
        assert!(built.status.success(), "the binary does not build");
        let said = String::from_utf8(built.stdout).expect("cargo writes UTF-8");
        let path = said
            .lines()
            .filter_map(|line| serde_json::from_str::<serde_json::Value>(line).ok())
            .filter_map(|message| message["executable"].as_str().map(PathBuf::from))
            .next_back();
        path.expect("cargo names the binary it built")
    })
}

/// A run that ended.
#[derive(Debug)]
pub struct Ran {
    /// The exit code.
    pub code: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

/// The command in a folder, with nothing of the caller's terminal in its environment.
pub fn command<A: AsRef<OsStr>>(folder: &Path, arguments: &[A]) -> Command {
    let mut command = Command::new(trialfit());
    command.args(arguments).current_dir(folder).stdin(Stdio::null());
    for name in ["COLUMNS", "NO_COLOR", "TERM"] {
        command.env_remove(name);
    }
    command
}

/// Runs the command in a folder.
pub fn run<A: AsRef<OsStr>>(folder: &Path, arguments: &[A]) -> Ran {
    ended(command(folder, arguments).output().expect("the binary runs"))
}

/// Runs the command in a folder with a text on standard input.
pub fn run_with<A: AsRef<OsStr>>(folder: &Path, arguments: &[A], input: &[u8]) -> Ran {
    let mut child = command(folder, arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary runs");
    child.stdin.take().expect("a pipe").write_all(input).expect("the text is read");
    ended(child.wait_with_output().expect("the binary ends"))
}

/// What came of it. A signal has no exit code and fails the test.
pub fn ended(output: Output) -> Ran {
    Ran {
        code: output.status.code().expect("ended by itself"),
        out: String::from_utf8(output.stdout).expect("UTF-8 on standard output"),
        err: String::from_utf8(output.stderr).expect("UTF-8 on standard error"),
    }
}

/// Runs git in a folder, with nothing of the caller's own settings; gives what it says.
pub fn git(folder: &Path, arguments: &[&str]) -> String {
    let mut command = Command::new("git");
    command.args(["-c", "user.name=Nobody", "-c", "user.email=nobody@example.org", "-c", "commit.gpgsign=false"]);
    command.args(["-c", "init.defaultBranch=main"]).args(arguments).current_dir(folder).stdin(Stdio::null());
    command.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1");
    for name in ["GIT_DIR", "GIT_INDEX_FILE", "GIT_WORK_TREE"] {
        command.env_remove(name);
    }
    let ran = command.output().expect("git runs");
    assert!(ran.status.success(), "git {arguments:?}: {}", String::from_utf8_lossy(&ran.stderr));
    String::from_utf8_lossy(&ran.stdout).into_owned()
}

/// Commits all that lies in a folder's repository, which is made where there is none.
pub fn commit(folder: &Path, says: &str) {
    if !folder.join(".git").exists() {
        git(folder, &["init", "--quiet"]);
    }
    git(folder, &["add", "--all"]);
    git(folder, &["commit", "--quiet", "--allow-empty", "--message", says]);
}

//! Notices when the client's process is gone without a word, so that no server stays behind: on Linux by its entry in
//! `/proc`, on any Unix by who this process's own parent is. Elsewhere the end of standard input has to do.

use std::time::Duration;
use tokio::sync::watch;

const EVERY: Duration = Duration::from_secs(10);

/// Ready when the process whose number the client gave is gone; never where it gave none, or cannot be seen from here
/// (a client in another process namespace).
pub(crate) async fn gone(mut number: watch::Receiver<Option<u32>>) {
    let number = loop {
        let known = *number.borrow_and_update();
        if let Some(known) = known {
            break known;
        }
        if number.changed().await.is_err() {
            return std::future::pending().await;
        }
    };
    let born = birth(number);
    let is_parent = parent() == Some(number);
    if born.is_none() && !is_parent {
        return std::future::pending().await;
    }
    loop {
        tokio::time::sleep(EVERY).await;
        if born.is_some() && birth(number) != born || is_parent && parent() != Some(number) {
            return;
        }
    }
}

/// The process that started this one, or that took it over since.
fn parent() -> Option<u32> {
    #[cfg(unix)]
    return Some(std::os::unix::process::parent_id());
    #[cfg(not(unix))]
    return None;
}

/// When a living process started, as the kernel counts it: numbers are used again, starts are not.
fn birth(number: u32) -> Option<String> {
    let stat = std::fs::read_to_string(format!("/proc/{number}/stat")).ok()?;
    // proc(5): the name stands in brackets and may hold anything; the state follows it, the start is field 22.
    let mut fields = stat.rsplit_once(')')?.1.split_ascii_whitespace();
    let alive = fields.next().is_some_and(|state| !matches!(state, "Z" | "X"));
    fields.nth(18).filter(|_| alive).map(str::to_string)
}

//! The tool's own faults: a panic becomes a message that names what was being done, and the rest of the work goes on.

use std::cell::RefCell;
use std::panic::{self, AssertUnwindSafe};

thread_local! {
    static LAST: RefCell<Option<String>> = const { RefCell::new(None) };
}

/// Keeps panics from printing themselves; what they say is kept for [`caught`].
pub(crate) fn listen() {
    panic::set_hook(Box::new(|panic| {
        let place = panic.location().map_or(String::new(), |place| format!(" at {}:{}", place.file(), place.line()));
        let said = panic.payload_as_str().unwrap_or("no reason given");
        LAST.set(Some(format!("{said}{place}")));
    }));
}

/// Does the work; a panic in it comes back as a message.
pub(crate) fn caught<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    panic::catch_unwind(AssertUnwindSafe(work)).map_err(|_| {
        let said = LAST.take().unwrap_or_default();
        format!("a fault in trialfit itself, not in the job: {said}. Please report it, with the file")
    })
}

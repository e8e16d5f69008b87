//! What day it is. The language never asks; the edge tells it.

use spec_lang::reading::Date;
use std::time::{SystemTime, UNIX_EPOCH};

/// A day as people write it on the command line.
pub(crate) fn read(text: &str) -> Result<Date, String> {
    Date::read(text).ok_or_else(|| format!("`{text}` is no day of the calendar; write it as 2027-03-31"))
}

/// Today, in UTC. `None` where the machine's clock stands before 1970.
pub(crate) fn today() -> Option<Date> {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).ok()?.as_secs();
    Some(Date::after_1970(seconds / 86_400))
}

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
    day(seconds / 86_400)
}

/// The day a number of days after 1970-01-01 (Gregorian calendar: 400 years have 146,097 days).
fn day(since_1970: u64) -> Option<Date> {
    let mut left = since_1970;
    let mut year = 1970 + 400 * (left / 146_097);
    left %= 146_097;
    loop {
        let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
        let length = if leap { 366 } else { 365 };
        if left < length {
            let months = [31, if leap { 29 } else { 28 }, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
            let mut month = 1;
            for days in months {
                if left < days {
                    break;
                }
                left -= days;
                month += 1;
            }
            return Some(Date { year: u16::try_from(year).ok()?, month, day: u8::try_from(left + 1).ok()? });
        }
        left -= length;
        year += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::day;

    /// Days since 1970 from `date --date=… +%s` of GNU coreutils, divided by 86,400.
    #[test]
    fn days_are_counted_as_the_calendar_does() {
        let known = [
            (0, "1970-01-01"),
            (58, "1970-02-28"),
            (11_016, "2000-02-29"),
            (20_782, "2026-11-25"),
            (47_540, "2100-02-28"),
            (47_541, "2100-03-01"),
        ];
        for (days, written) in known {
            assert_eq!(day(days).expect("a day").to_string(), written);
        }
    }
}

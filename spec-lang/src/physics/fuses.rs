//! Blade fuses: ratings, cold resistance, and the gate that the time-current curve must pass through.

use super::interpolation;
use crate::units::{Current, Resistance, Time};

/// Ratings of small blade fuses in ampere. Source: ISO 8820-3 (from memory).
pub const BLADE_RATINGS: [f64; 13] = [1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0];

/// Ratings of large blade fuses in ampere. Source: ISO 8820-3 (from memory).
pub const LARGE_BLADE_RATINGS: [f64; 10] = [20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0];

/// Share of its rating that a blade fuse is loaded with for long. Source: common practice, no source.
pub const CONTINUOUS_LOAD_SHARE: f64 = 0.75;

/// What a blade fuse drops in V while it carries its rated current. Source: common practice, no source: about 100 mV.
const DROP_AT_RATING: f64 = 0.1;

/// Multiple of the rating and the shortest opening time in s. Source: ISO 8820-3; 1.10 and 1.35 from a secondary
/// copy, the rest from memory (the types differ a little).
const SHORTEST: [(f64, f64); 5] = [(1.10, 360_000.0), (1.35, 0.75), (1.60, 0.25), (2.00, 0.15), (3.50, 0.04)];

/// Multiple of the rating and the longest opening time in s. Source: as for [`SHORTEST`].
const LONGEST: [(f64, f64); 5] = [(1.35, 600.0), (1.60, 50.0), (2.00, 5.0), (3.50, 0.5), (6.00, 0.1)];

/// Cold resistance of a blade fuse by its rating, where its data sheet does not say it: the drop at rated current over that
/// current, so 20 mΩ at 5 A, 10 mΩ at 10 A, 5 mΩ at 20 A.
///
/// A fuse at its rating is hot and resists more than a cold one, so this is the bad end for a cold fuse. `None` unless the
/// rating is positive. Valid from 1 A to 40 A, as an order of magnitude; a contact resistance of the holder is not
/// included. Source: common practice, no source.
pub fn cold_resistance(rating: Current) -> Option<Resistance> {
    let amperes = rating.in_amperes();
    (amperes > 0.0 && amperes.is_finite()).then(|| Resistance::ohms(DROP_AT_RATING / amperes))
}

/// Shortest time after which a blade fuse may open, by the multiple of its rating it carries.
///
/// `None` means that it holds: up to 1.10 it must carry the current for 100 h. Power law between the lower points of the gate (1.10: 100 h,
/// 1.35: 0.75 s, 1.60: 0.25 s, 2.00: 0.15 s, 3.50: 0.04 s); beyond 3.50, where the gate has no lower point, the melting
/// integral I²t stays. The gate itself promises nothing between its points.
/// Source: ISO 8820-3 (secondary copy and memory).
pub fn shortest_opening_time(multiple_of_rating: f64) -> Option<Time> {
    let (held, _) = SHORTEST[0];
    let (last, last_time) = SHORTEST[4];
    if multiple_of_rating.is_nan() || multiple_of_rating <= held {
        return None;
    }
    Some(Time::seconds(if multiple_of_rating > last {
        last_time * (last / multiple_of_rating).powi(2)
    } else {
        interpolation::power_law(&SHORTEST, multiple_of_rating)
    }))
}

/// Longest time within which a blade fuse must have opened, by the multiple of its rating it carries.
///
/// `None` means that it may never open: below 1.35 the gate sets no end. Power law between the upper points (1.35: 600 s, 1.60: 50 s,
/// 2.00: 5 s, 3.50: 0.5 s, 6.00: 0.1 s), 0.1 s beyond. Source: ISO 8820-3 (secondary copy and memory).
pub fn longest_opening_time(multiple_of_rating: f64) -> Option<Time> {
    let (first, _) = LONGEST[0];
    let (last, last_time) = LONGEST[4];
    if multiple_of_rating.is_nan() || multiple_of_rating < first {
        return None;
    }
    Some(Time::seconds(if multiple_of_rating >= last {
        last_time
    } else {
        interpolation::power_law(&LONGEST, multiple_of_rating)
    }))
}

/// Smallest blade rating whose continuous share (0.75) carries this current; `None` above 0.75 of 40 A.
///
/// Source: ISO 8820-3 ratings (from memory); the share is common practice, no source.
pub fn smallest_rating_for(continuous: Current) -> Option<Current> {
    BLADE_RATINGS
        .into_iter()
        .find(|rating| rating * CONTINUOUS_LOAD_SHARE >= continuous.in_amperes())
        .map(Current::amperes)
}

/// The most heating that a blade fuse lets through before it has opened, in A²·s: I² times the longest opening time, and
/// from six times the rating on, where a fuse melts before any heat leaves it, what it is there.
///
/// `None` where the fuse may never open (below 1.35 times its rating), or the rating is not positive. An arc adds to it.
/// Source: ISO 8820-3 gate by [`longest_opening_time`]; constant melting integral, handbook reasoning, no source.
pub fn greatest_let_through(rating: Current, current: Current) -> Option<f64> {
    let amperes = current.in_amperes().abs();
    let multiple = amperes / rating.in_amperes();
    if rating <= Current::ZERO {
        return None;
    }
    let (last, _) = LONGEST[4];
    let time = longest_opening_time(multiple)?.in_seconds();
    Some(amperes.min(last * rating.in_amperes()).powi(2) * time)
}

//! Reading between the rows of a published table. No table lives here.

/// A straight line between neighbouring points of a table sorted by its first column; held level outside it.
pub(super) fn linear(points: &[(f64, f64)], at: f64) -> f64 {
    let mut previous: Option<(f64, f64)> = None;
    for &(right, right_value) in points {
        if at <= right {
            return match previous {
                Some((left, left_value)) => left_value + (right_value - left_value) * (at - left) / (right - left),
                None => right_value,
            };
        }
        previous = Some((right, right_value));
    }
    previous.map_or(0.0, |(_, value)| value)
}

/// A power law between neighbouring points of a table of positive numbers sorted by its first column; the first and
/// the last power law carry on outside it.
pub(super) fn power_law(points: &[(f64, f64)], at: f64) -> f64 {
    let mut answer = points.first().map_or(0.0, |&(_, value)| value);
    for (&(left, left_value), &(right, right_value)) in points.iter().zip(points.iter().skip(1)) {
        let exponent = (right_value / left_value).ln() / (right / left).ln();
        answer = left_value * (at / left).powf(exponent);
        if at <= right {
            break;
        }
    }
    answer
}

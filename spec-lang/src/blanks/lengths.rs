//! Lengths as a fitter steps through them: 10 mm below 1 m and 50 mm above, or whole inches. Common practice, no source.

use crate::model::Job;

/// The steps of a job's lengths, shortest first.
#[derive(Clone, Copy)]
pub(super) struct Steps {
    customary: bool,
    /// How many there are.
    pub(super) count: usize,
}

/// Steps below 1 m, of 10 mm each.
const FINE: usize = 100;
/// Lengths at which the search looks first, in metres.
const LOOKED_AT: [f64; 18] =
    [0.05, 0.1, 0.2, 0.3, 0.45, 0.7, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 22.0, 30.0];

impl Steps {
    /// The steps up to a length in metres, in the job's system of units.
    pub(super) fn new(job: &Job, longest: f64) -> Steps {
        let customary = job.length_unit("mm").spelling == "in";
        let mut steps = Steps { customary, count: 0 };
        steps.count = steps.nearest(longest) + 1;
        steps
    }

    /// The length of a step as it is written.
    pub(super) fn text(self, step: usize) -> String {
        let number = step + 1;
        match (self.customary, number) {
            (true, _) => format!("{number} in"),
            (false, ..FINE) => format!("{} mm", number * 10),
            (false, _) => {
                let centimetres = FINE + (number - FINE) * 5;
                let text = format!("{}.{:02}", centimetres / 100, centimetres % 100);
                format!("{} m", text.trim_end_matches('0').trim_end_matches('.'))
            }
        }
    }

    fn nearest(self, metres: f64) -> usize {
        let number = match self.customary {
            true => metres / 0.0254,
            false if metres < 1.0 => metres / 0.01,
            false => FINE as f64 + (metres - 1.0) / 0.05,
        };
        (number.round() as usize).saturating_sub(1)
    }

    /// The steps at which to look first, shortest first; the last is the longest of all.
    pub(super) fn coarse(self) -> Vec<usize> {
        let steps = LOOKED_AT.iter().map(|metres| self.nearest(*metres)).filter(|step| *step + 1 < self.count);
        let mut steps: Vec<usize> = steps.chain(self.count.checked_sub(1)).collect();
        steps.dedup();
        steps
    }

    /// The steps at which to look where the coarse ones gave nothing: every fifth up to 3 m.
    pub(super) fn fine(self) -> impl Iterator<Item = usize> {
        (0..self.nearest(3.0).min(self.count)).step_by(5)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_read_as_a_fitter_cuts() {
        let metric = Steps { customary: false, count: 681 };
        for (step, text) in [(0, "10 mm"), (98, "990 mm"), (99, "1 m"), (100, "1.05 m"), (119, "2 m"), (679, "30 m")] {
            assert_eq!(metric.text(step), text);
        }
        for metres in LOOKED_AT {
            let written: f64 = match metric.text(metric.nearest(metres)).split_once(' ').unwrap() {
                (number, "mm") => number.parse::<f64>().unwrap() / 1000.0,
                (number, _) => number.parse().unwrap(),
            };
            assert!((written - metres).abs() < 1e-9, "{metres}: {written}");
        }
        let customary = Steps { customary: true, count: 1181 };
        assert_eq!(customary.text(customary.nearest(0.3048)), "12 in");
    }
}

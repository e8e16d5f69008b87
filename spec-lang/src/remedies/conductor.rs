//! The smallest stock conductor that passes: the answer to an undersized wire, and to `size ?`.

use crate::figures::supply::Supply;
use crate::model::{unit_or, Job};
use crate::physics::conductors::{METRIC_STOCK_SQUARE_MILLIMETRES, STOCK_GAUGES};
use crate::units::{find_unit, Quantity, WIRE_GAUGE};

/// A size to write.
#[derive(Clone, Debug)]
pub struct Choice {
    /// The size.
    pub value: Quantity,
    /// As it is written: `4 mm²`.
    pub text: String,
}

/// The smallest conductor for one piece of a supply with which every electrical rule passes. Sizes come from the
/// followed stock lists; without one, from the standard sizes, in the system of units that the piece is written in.
pub fn smallest_conductor(job: &Job, supply: &Supply, piece: usize) -> Option<Choice> {
    let written = supply.pieces.get(piece).and_then(|piece| piece.size.get()).map(|size| size.unit);
    let gauge = written.is_some_and(|unit| unit.spelling == WIRE_GAUGE);
    let mut sizes: Vec<Quantity> =
        job.stock("cable").into_iter().filter(|size| (size.unit.spelling == WIRE_GAUGE) == gauge).collect();
    if sizes.is_empty() {
        sizes = if gauge {
            find_unit(WIRE_GAUGE)
                .map(|unit| STOCK_GAUGES.iter().map(|gauge| Quantity::exact(f64::from(gauge.number), unit)).collect())
                .unwrap_or_default()
        } else {
            let unit = unit_or(written, "mm²");
            METRIC_STOCK_SQUARE_MILLIMETRES.iter().map(|size| Quantity::exact(*size, unit)).collect()
        };
        sizes.sort_by(|one, other| one.nominal.total_cmp(&other.nominal));
    }
    let size = sizes.into_iter().find(|size| supply.with_area(piece, size.nominal).passes())?;
    Some(Choice { value: size, text: size.show(size.nominal) })
}

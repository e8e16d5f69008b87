//! The smallest stock conductor that passes: the answer to an undersized wire.

use crate::figures::supply::Supply;
use crate::model::{Job, unit_or};
use crate::physics::conductors::{METRIC_STOCK_SQUARE_MILLIMETRES, STOCK_GAUGES};
use crate::source::Place;
use crate::units::{Quantity, Unit, WIRE_GAUGE, find_unit};

/// A size to write.
#[derive(Clone, Debug)]
pub struct Choice {
    /// The size.
    pub value: Quantity,
    /// As it is written: `4 mm²`.
    pub text: String,
}

/// The smallest conductor for all that one statement of a size lays in a supply, with which every electrical rule passes.
/// Sizes come from the followed stock lists; without one, from the standard sizes, in the system of units that the size is
/// written in.
pub fn smallest_conductor(job: &Job, supply: &Supply, size: Place) -> Option<Choice> {
    let written = supply.laid_by(size).find_map(|piece| piece.size.get()).map(|size| size.unit);
    let size = sizes(job, written).into_iter().find(|other| supply.with_area(size, other.nominal).passes())?;
    Some(Choice { value: size, text: size.show(size.nominal) })
}

/// The sizes to choose from, smallest first: of the stock lists, else the standard ones.
fn sizes(job: &Job, written: Option<&'static Unit>) -> Vec<Quantity> {
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
    sizes
}

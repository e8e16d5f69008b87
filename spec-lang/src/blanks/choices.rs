//! What may be written for a blank: the sizes of the followed stock lists as the workshop writes them; without a list
//! the data sheets at hand; without either the standard series. Smallest first. Which of them passes is not known here.

use super::{Blank, BlankKind};
use crate::model::{Job, Stated, unit_or};
use crate::physics::bore;
use crate::physics::conductors::{METRIC_STOCK_SQUARE_MILLIMETRES, STOCK_GAUGES};
use crate::physics::fuses::{BLADE_RATINGS, LARGE_BLADE_RATINGS};
use crate::units::{Doubt, Quantity, Unit, WIRE_GAUGE, find_unit};
use crate::vocabulary::Kind;

/// Something that may be written.
#[derive(Clone, Debug)]
pub(super) struct Choice {
    /// As it is written.
    pub(super) text: String,
    /// By what choices are put in order: SI.
    size: f64,
}

/// The choices for a blank, smallest first, and something far smaller to compare them with.
pub(super) struct Choices {
    /// Smallest first; none where there is nothing to choose from.
    pub(super) list: Vec<Choice>,
    /// A value of the same kind that nobody has in stock.
    pub(super) probe: Option<String>,
    /// Where they come from: `in stock`, ….
    pub(super) from: &'static str,
}

/// How far below the smallest choice the value lies that choices are compared with: a conductor's area, any other size.
const PROBE_AREA: f64 = 0.1;
const PROBE_SIZE: f64 = 0.3;

/// What may be written for a blank; lengths are not chosen from a list.
pub(super) fn choices(job: &Job, blank: &Blank) -> Choices {
    let stock = match blank.kind {
        BlankKind::Conductor => "cable",
        BlankKind::Fuse => "fuse",
        BlankKind::HeaterSheet => "",
        _ => blank.word,
    };
    let (mut list, from) = match stocked(job, stock) {
        stocked if !stocked.is_empty() => (stocked, "in stock"),
        _ => match sheets(job, blank) {
            sheets if !sheets.is_empty() => (sheets, "among the data sheets at hand"),
            _ => (standard(job, blank), "of the standard series"),
        },
    };
    list.sort_by(|one, other| one.size.total_cmp(&other.size));
    list.dedup_by(|right, left| right.text == left.text || same(left.size, right.size) && from == "in stock");
    let probe = list.first().and_then(|smallest| probe(blank, smallest));
    Choices { list, probe, from }
}

fn same(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-6 * one.abs().max(other.abs())
}

fn probe(blank: &Blank, smallest: &Choice) -> Option<String> {
    let (share, unit) = match blank.kind {
        BlankKind::Conductor => (PROBE_AREA, "mm²"),
        BlankKind::Fuse => (PROBE_SIZE, "A"),
        BlankKind::Bore | BlankKind::FuelLine => (PROBE_SIZE, "mm"),
        _ => return None,
    };
    Some(unit_or(None, unit).show(smallest.size * share))
}

/// Whether a unit belongs to the system in which the job is measured.
fn of_system(job: &Job, unit: &Unit) -> bool {
    let customary = job.length_unit("mm").spelling == "in";
    match unit.spelling {
        WIRE_GAUGE | "in" | "ft" | "yd" => customary,
        "A" | "mA" => true,
        _ => !customary,
    }
}

/// The sizes of the stock lists of that name, in the job's own system of units where there are any.
fn stocked(job: &Job, of: &str) -> Vec<Choice> {
    let lists = job.stocks.iter().filter(|stock| stock.of == of);
    let sizes = lists.flat_map(|stock| &stock.sizes).filter(|size| size.value.doubt == Doubt::None);
    let all: Vec<(bool, Choice)> = sizes
        .map(|size| {
            let choice = Choice { text: job.text(size.written).to_string(), size: size.value.nominal };
            (of_system(job, size.value.unit), choice)
        })
        .collect();
    let any = all.iter().any(|(own, _)| *own);
    all.into_iter().filter(|(own, _)| *own || !any).map(|(_, choice)| choice).collect()
}

/// The names of the data sheets that may stand there, where a name may.
fn sheets(job: &Job, blank: &Blank) -> Vec<Choice> {
    let named = |name: &str, size: &Stated<Quantity>| {
        let size = size.get().map_or(f64::INFINITY, |size| size.high);
        Choice { text: name.to_string(), size }
    };
    if !blank.alone {
        return Vec::new();
    }
    match blank.kind {
        BlankKind::HeaterSheet => job.heater_sheets.iter().map(|sheet| named(&sheet.name, &sheet.output)).collect(),
        BlankKind::Conductor => job.cable_sheets.iter().map(|sheet| named(&sheet.name, &sheet.size)).collect(),
        BlankKind::Fuse => job.fuse_sheets.iter().map(|sheet| named(&sheet.name, &sheet.rating)).collect(),
        _ => {
            let kind = match blank.word {
                "pipe" => Kind::PipeSheet,
                "duct" => Kind::DuctSheet,
                "line" => Kind::LineSheet,
                _ => Kind::HoseSheet,
            };
            let sheets = job.tube_sheets.iter().filter(|sheet| sheet.kind == kind);
            sheets.map(|sheet| named(&sheet.name, &sheet.bore)).collect()
        }
    }
}

/// The standard series, in the job's system of units.
fn standard(job: &Job, blank: &Blank) -> Vec<Choice> {
    let customary = job.length_unit("mm").spelling == "in";
    let of = |unit: &'static str, sizes: &[f64]| -> Vec<Choice> {
        let unit = unit_or(None, unit);
        let choice = |number: &f64| Choice { text: format!("{number} {}", unit.symbol), size: unit.to_si(*number) };
        sizes.iter().map(choice).collect()
    };
    let bores = |metric: &[f64], inches: &[f64]| if customary { of("in", inches) } else { of("mm", metric) };
    match (blank.kind, blank.word) {
        (BlankKind::Conductor, _) if customary => find_unit(WIRE_GAUGE).map_or(Vec::new(), |unit| {
            let choice = |gauge: &crate::physics::conductors::Gauge| Choice {
                text: format!("{} {}", gauge.name, unit.symbol),
                size: unit.to_si(f64::from(gauge.number)),
            };
            STOCK_GAUGES.iter().map(choice).collect()
        }),
        (BlankKind::Conductor, _) => of("mm²", &METRIC_STOCK_SQUARE_MILLIMETRES),
        (BlankKind::Fuse, _) => {
            let large = LARGE_BLADE_RATINGS.iter().filter(|rating| !BLADE_RATINGS.contains(rating));
            let all: Vec<f64> = BLADE_RATINGS.iter().chain(large).copied().collect();
            of("A", &all)
        }
        (BlankKind::FuelLine, _) => bores(&bore::LINE_MILLIMETRES, &bore::LINE_INCHES),
        (BlankKind::Bore, "duct") => bores(&bore::DUCT_MILLIMETRES, &bore::DUCT_INCHES),
        (BlankKind::Bore, "pipe") => bores(&bore::PIPE_MILLIMETRES, &bore::PIPE_INCHES),
        (BlankKind::Bore, "hose") => bores(&bore::HOSE_MILLIMETRES, &bore::HOSE_INCHES),
        _ => Vec::new(),
    }
}

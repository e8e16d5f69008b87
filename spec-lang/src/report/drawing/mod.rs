//! A job's drawing: its walked geometry from above and from the side on one sheet, to scale, as SVG. It shows what the job
//! says and nothing more; no file is written here, and nothing is judged.

mod labels;
mod scene;
mod sheet;
mod svg;
mod view;

use crate::analysis::Analysis;
use crate::source::Place;

/// Something on the sheet that stands for a part of the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Element {
    /// Its `id` in the SVG.
    pub id: String,
    /// The block or the line that it stands for; one part of the text may have several elements.
    pub place: Place,
}

/// A drawing.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// The sheet: a whole SVG document. Elements of the judged file carry its bytes as `data-start` and `data-end`; each
    /// view says as `data-scale` how many units of the sheet a metre is and as `data-origin` where the origin lies on it.
    pub svg: String,
    /// Its elements in order.
    pub elements: Vec<Element>,
}

/// How a drawing is wanted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wanted {
    /// The byte that somebody stands on: what its line or else its block draws is set off.
    pub at: Option<u32>,
    /// How wide the sheet is, in units of which a letter is 12 high; held to 720 to 2,400, and 1,200 where none is said.
    pub width: Option<u16>,
}

const NARROWEST: u16 = 720;
const USUAL: u16 = 1_200;
const WIDEST: u16 = 2_400;

/// The drawing of a job that is called `name`.
///
/// Axes as ISO 8855: forward to the right of the sheet; seen from above, left is up; seen from the right side, up is up.
/// Places farther than 100 km from the origin are not drawn and listed. The same job gives the same bytes.
pub fn drawing(analysis: &Analysis, name: &str, wanted: &Wanted) -> Drawing {
    sheet::draw(analysis, &scene::scene(analysis), name, wanted)
}

//! `trialfit/drawing`: the job's drawing, with the place in the text of each of its elements. What is drawn is the
//! language's business.

use crate::world::Look;
use serde::Serialize;
use spec_lang::report;
use tower_lsp::ls_types::{Location, Position};

/// An element of the drawing.
#[derive(Debug, Serialize)]
pub(crate) struct Element {
    /// Its `id` in the SVG.
    id: String,
    /// The part of the text that it stands for.
    #[serde(flatten)]
    location: Location,
}

/// A drawing of one version of a document.
#[derive(Debug, Serialize)]
pub(crate) struct Drawing {
    version: i32,
    svg: String,
    elements: Vec<Element>,
}

/// The drawing of the document as it stands, on a sheet of a width; what stands at the position is set off in it.
pub(crate) fn answer(look: &Look, position: Option<Position>, width: Option<u16>) -> Drawing {
    let judged = look.snapshot.judge(&look.open);
    let at = position.map(|position| look.offset(position));
    let drawn = report::drawing(&judged.analysis, &look.name(), &report::Wanted { at, width });
    let elements = drawn.elements.into_iter().filter_map(|element| {
        let location = if element.place.file == look.open.file {
            Location { uri: look.open.uri.clone(), range: look.range(element.place.span) }
        } else {
            look.snapshot.location(element.place)?
        };
        Some(Element { id: element.id, location })
    });
    Drawing { version: look.open.version, elements: elements.collect(), svg: drawn.svg }
}

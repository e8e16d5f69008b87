//! The ways to mend what was found at a place.

use crate::Analysis;
use crate::finding::{Finding, Remedy};
use crate::text::Span;

/// A remedy and the finding it mends.
#[derive(Clone, Copy, Debug)]
pub struct Fix<'a> {
    /// The finding.
    pub finding: &'a Finding,
    /// The remedy.
    pub remedy: &'a Remedy,
}

/// The remedies of the findings that touch a span of the file, in the findings' order. Conceded findings are left alone.
pub fn fixes(analysis: &Analysis, span: Span) -> Vec<Fix<'_>> {
    let touches = |finding: &&Finding| {
        let places = [Some(finding.place), finding.used];
        places
            .into_iter()
            .flatten()
            .any(|place| place.file == analysis.file && place.span.start <= span.end && span.start <= place.span.end)
    };
    let findings = analysis.standing().filter(touches);
    findings.flat_map(|finding| finding.remedies.iter().map(move |remedy| Fix { finding, remedy })).collect()
}

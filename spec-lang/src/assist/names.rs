//! The block that a name in the text stands for, and the names that may stand for a block.

use crate::model::Defined;
use crate::reading::{Block, Reading};
use crate::source::FileId;
use crate::text::Span;
use crate::vocabulary::{words_of, Kind, KindSet, Role};
use crate::Analysis;

/// The span of the name at an offset of the file, and the block it stands for where there is one.
pub fn target_of(analysis: &Analysis, offset: u32) -> Option<(Span, Option<&Defined>)> {
    let here = |file: FileId, span: Span| file == analysis.file && span.touches(offset);
    let named = analysis.job.names.iter().find(|name| here(name.place.file, name.place.span))?;
    Some((named.place.span, named.target.and_then(|target| analysis.job.defined.get(target))))
}

/// Every name that may stand for a block of the kinds, with what it is in words; the tees of warm-air runs by theirs.
pub(super) fn names_of(analysis: &Analysis, kinds: KindSet) -> Vec<(String, String)> {
    let defined = &analysis.job.defined;
    let known = defined.iter().filter(|known| kinds.has(known.kind) && !known.name.is_empty());
    let mut names: Vec<(String, String)> =
        known.map(|known| (known.name.clone(), words_of(known.kind).reads())).collect();
    if kinds.has(Kind::WarmAir) {
        for (_, reading) in analysis.readings() {
            names.extend(tees(reading));
        }
    }
    names
}

fn tees(reading: &Reading) -> impl Iterator<Item = (String, String)> + '_ {
    let runs = reading.blocks.iter().filter(|block| block.kind == Some(Kind::WarmAir));
    runs.filter_map(|block| Some((block, reading.slice(block.name?)))).flat_map(move |(block, run)| {
        let statements = reading.statements(block).iter();
        let tees = statements.filter(|statement| statement.word.is_some_and(|word| word.word == "tee"));
        let labels = tees.filter_map(|tee| reading.args(tee).iter().find(|arg| arg.role == Role::What));
        labels.map(move |label| (format!("{run}.{}", reading.slice(label.span)), "tee".to_string()))
    })
}

/// The last block whose header stands at or before a line.
pub(super) fn block_before(reading: &Reading, line: u32) -> Option<&Block> {
    reading.blocks.iter().rev().find(|block| block.first_line <= line)
}

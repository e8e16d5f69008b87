//! The names that blocks give, and the block that a name in the text stands for.

use crate::reading::{Block, Reading, Value};
use crate::source::{FileId, Place};
use crate::text::Span;
use crate::vocabulary::{words_of, Atom, Kind, KindSet, Naming, Part, Role, Word};
use crate::Analysis;

/// A block that has a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Defined<'a> {
    /// What it is.
    pub kind: Kind,
    /// Its name.
    pub name: &'a str,
    /// Where the name is.
    pub place: Place,
    /// Its header.
    pub header: Place,
}

/// Every named block of the file and of those it follows, the file's own first.
pub fn defined(analysis: &Analysis) -> impl Iterator<Item = Defined<'_>> {
    analysis.readings.iter().flat_map(|(file, reading)| in_file(*file, reading))
}

fn in_file(file: FileId, reading: &Reading) -> impl Iterator<Item = Defined<'_>> {
    reading.blocks.iter().filter_map(move |block| {
        let kind = block.kind?;
        let named = matches!(words_of(kind).naming, Naming::Name | Naming::NameOfHeater | Naming::SheetName);
        let span = block.name.filter(|_| named)?;
        let place = |span: Span| Place { file, span };
        Some(Defined { kind, name: reading.slice(span), place: place(span), header: place(block.header) })
    })
}

/// The span of the name at an offset of the file, and the block it stands for where there is one.
pub fn target_of(analysis: &Analysis, offset: u32) -> Option<(Span, Option<Defined<'_>>)> {
    let reading = analysis.reading(analysis.file)?;
    let (block, statement) = reading.at(offset);
    let block = block?;
    if let Some(of) = block.of.filter(|of| of.touches(offset)) {
        return Some((of, find(analysis, KindSet::of(&[Kind::Heater]), reading.slice(of))));
    }
    let statement = statement?;
    let arg = reading.args(statement).iter().find(|arg| arg.value == Value::Name && arg.span.touches(offset))?;
    let kinds = wanted(statement.word?, arg.role);
    Some((arg.span, find(analysis, kinds, reading.slice(arg.span))))
}

/// The named block of one of the kinds. `main.cab` is the tee `cab` of `main`.
pub(super) fn find<'a>(analysis: &'a Analysis, kinds: KindSet, name: &str) -> Option<Defined<'a>> {
    let whole = |name: &str| defined(analysis).find(|block| kinds.has(block.kind) && block.name == name);
    whole(name).or_else(|| name.split_once('.').and_then(|(run, _)| whole(run)))
}

/// The kinds that the word's forms allow for a role.
fn wanted(word: &Word, role: Role) -> KindSet {
    let parts = word.forms.iter().flat_map(|form| form.head.iter().chain(form.tail));
    let atoms = parts.flat_map(|Part(_, atoms)| atoms.iter());
    atoms.fold(KindSet::NONE, |kinds, atom| match atom {
        Atom::Name(known, more) | Atom::FillableName(known, more) if *known == role => kinds.and(*more),
        _ => kinds,
    })
}

/// The block that holds an offset: the one whose lines it is in, or the last before it.
pub(super) fn block_before(reading: &Reading, line: u32) -> Option<&Block> {
    reading.blocks.iter().rev().find(|block| block.first_line <= line)
}

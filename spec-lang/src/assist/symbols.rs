//! The outline: blocks with their statements.

use crate::reading::{Block, Reading};
use crate::text::Span;
use crate::vocabulary::{Kind, words_of};

/// What a symbol stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SymbolKind {
    /// A block of that kind; `None` where nobody could make it out.
    Block(Option<Kind>),
    /// A statement.
    Statement,
}

/// One entry of the outline.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Symbol {
    /// The text to show.
    pub name: String,
    /// What kind of block, in words; empty for statements.
    pub detail: String,
    /// What it is.
    pub kind: SymbolKind,
    /// All of it.
    pub span: Span,
    /// Its header, or its word.
    pub selection: Span,
    /// What belongs to it.
    pub children: Vec<Symbol>,
}

/// The outline of a file.
pub fn symbols(reading: &Reading) -> Vec<Symbol> {
    reading.blocks.iter().map(|block| of_block(reading, block)).collect()
}

/// The blocks of a file, without their statements.
pub fn blocks(reading: &Reading) -> impl Iterator<Item = Symbol> + '_ {
    reading.blocks.iter().map(|block| header_of(reading, block))
}

fn of_block(reading: &Reading, block: &Block) -> Symbol {
    let children = reading.statements(block).iter().map(|statement| Symbol {
        name: one_line(reading.slice(statement.span)),
        detail: String::new(),
        kind: SymbolKind::Statement,
        span: statement.span,
        selection: statement.head,
        children: Vec::new(),
    });
    Symbol { children: children.collect(), ..header_of(reading, block) }
}

fn header_of(reading: &Reading, block: &Block) -> Symbol {
    let last = reading.tree.lines.get(block.last_line as usize).map_or(block.header, |line| line.span);
    let header = reading.slice(block.header);
    Symbol {
        name: if header.is_empty() { "lines outside any block".to_string() } else { one_line(header) },
        detail: block.kind.map_or(String::new(), |kind| words_of(kind).reads()),
        kind: SymbolKind::Block(block.kind),
        span: block.header.cover(last),
        selection: block.header,
        children: Vec::new(),
    }
}

/// The words with single spaces between them.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

//! From text to a lossless tree of lines and back: grammar, tree, tidy. What words mean is not known here.

mod tidy;
mod tree;

pub use tidy::tidy;
pub use tree::{Item, ItemKind, Line, Tree, read_tree};

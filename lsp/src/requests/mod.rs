//! One file a request: a pure function of a look at the document, run beside the message loop.

pub(crate) mod actions;
pub(crate) mod closed;
pub(crate) mod completion;
pub(crate) mod definition;
pub(crate) mod drawing;
pub(crate) mod folding;
pub(crate) mod formatting;
pub(crate) mod hierarchy;
pub(crate) mod hover;
pub(crate) mod inlay;
pub(crate) mod pulled;
pub(crate) mod references;
pub(crate) mod rename;
pub(crate) mod renamed_files;
pub(crate) mod selection;
pub(crate) mod symbols;
pub(crate) mod tokens;
pub(crate) mod workspace_symbols;

//! One file a request: a pure function of a look at the document, run beside the message loop.

pub(crate) mod actions;
pub(crate) mod completion;
pub(crate) mod definition;
pub(crate) mod folding;
pub(crate) mod formatting;
pub(crate) mod hover;
pub(crate) mod pulled;
pub(crate) mod symbols;

//! The language server: the protocol edge only.

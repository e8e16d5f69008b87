//! The server alone on standard input and output, for tests of this crate.

fn main() -> std::io::Result<()> {
    std::process::exit(dryfit_lsp::serve_stdio()?)
}

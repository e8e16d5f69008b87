//! Where words go: standard output, buffered, with its colour and width settled once; complaints on standard error.

use crate::arguments::Colour;
use spec_lang::report::CAUTION;
use std::io::{self, BufWriter, IsTerminal, Stdout, Write};

/// The width of reports that no terminal shows.
const PIPED_WIDTH: usize = 100;
/// Narrower than this nothing can be laid out.
const LEAST_WIDTH: usize = 40;

/// How reports are drawn.
#[derive(Clone, Copy)]
pub(crate) struct Look {
    /// Whether to colour.
    pub(crate) colour: bool,
    /// Whether frames and marks keep to ASCII.
    pub(crate) ascii: bool,
    /// How many characters a line may have.
    pub(crate) width: usize,
}

/// Standard output.
pub(crate) struct Output {
    out: BufWriter<Stdout>,
    /// How reports are drawn.
    pub(crate) look: Look,
    /// How many characters a line may have.
    pub(crate) width: usize,
}

impl Output {
    /// Settles colour, marks and width.
    pub(crate) fn new(colour: Colour, ascii: bool) -> Output {
        let stdout = io::stdout();
        let terminal = stdout.is_terminal();
        let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        let colour = match colour {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto => terminal && !set("NO_COLOR") && !dumb,
        };
        let width = width(&stdout, terminal);
        let look = Look { colour, ascii: ascii || dumb || !utf8(), width };
        Output { out: BufWriter::with_capacity(1 << 16, stdout), look, width }
    }

    /// Writes a text.
    pub(crate) fn say(&mut self, text: &str) -> io::Result<()> {
        self.out.write_all(text.as_bytes())
    }

    /// Writes a JSON document and a line end.
    pub(crate) fn json(&mut self, document: &impl serde::Serialize) -> io::Result<()> {
        serde_json::to_writer(&mut self.out, document)?;
        self.say("\n")
    }

    /// Hands on what was written so far.
    pub(crate) fn finish(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

/// Whether the locale is one of UTF-8: the first of its variables that is set decides (POSIX.1-2017, section 8.2). Windows
/// has no such variables, and takes Unicode.
fn utf8() -> bool {
    let set = |name: &&str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    match ["LC_ALL", "LC_CTYPE", "LANG"].iter().find(|name| set(name)).and_then(std::env::var_os) {
        Some(locale) => {
            let locale = locale.to_string_lossy().to_ascii_lowercase();
            locale.contains("utf-8") || locale.contains("utf8")
        }
        None => cfg!(windows),
    }
}

/// `COLUMNS` where it is set, else the terminal's width.
fn width(stdout: &Stdout, terminal: bool) -> usize {
    let said = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse::<usize>().ok()).filter(|said| *said > 0);
    let seen = || terminal.then(|| terminal_size::terminal_size_of(stdout)).flatten().map(|size| usize::from(size.0.0));
    said.or_else(seen).unwrap_or(PIPED_WIDTH).clamp(LEAST_WIDTH, 1000)
}

/// The caution on standard error, for outputs that a program reads. A closed standard error is nobody's to be told of.
pub(crate) fn caution() {
    let _ = writeln!(io::stderr(), "{CAUTION}");
}

/// Says on standard error what could not be done. A closed standard error is nobody's to be told of.
pub(crate) fn complain(reason: &str) {
    let _ = writeln!(io::stderr(), "trialfit: {reason}");
}

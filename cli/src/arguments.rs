//! The command's words and options, and the help that teaches them.

use crate::clock;
use clap::{Args, Parser, Subcommand, ValueEnum};
use spec_lang::reading::Date;
use std::path::PathBuf;

const VERSION: &str =
    concat!(env!("CARGO_PKG_VERSION"), "\nlanguage edition 1\na check by this tool is not an approval of a job");

const ABOUT: &str = "\
dryfit reads the job card of a fuel-fired air heater in a vehicle, computes what it can before anybody drills the \
floor (voltage at the heater, fuel line, exhaust and intake distances, return air), and says what would not work, with \
the figure, the limit and whose limit it is.";

const TEACHING: &str = "\
Examples:
  dryfit check                        judge every .dryfit file in this folder and below
  dryfit check van.dryfit --final     judge one job before it is built: no blank may be left open
  dryfit check jobs --form line       one line for each finding, for editors and scripts
  dryfit figures van.dryfit           every figure of a job, worked step by step
  dryfit margins jobs --under 10%     what is nearest to its limit, and which tolerance eats it
  dryfit explain                      the rules; with a name, one rule's page
  dryfit tidy jobs --look             which files are not in order, without touching them

Exit codes:
  0  done, and nothing to say
  1  done, and something was found, not judged, or (tidy --look) not in order
  2  some of the work could not be done: a file missing, unreadable or not text, or wrong options

Caution:
  A job without findings is not an approval. The heater maker's instructions, local codes and licensed practice come
  first. Exhaust gas holds carbon monoxide, which kills without smell; fit an alarm wherever somebody sleeps.";

const CHECK: &str = "\
PATHS are files, folders, or `-` for standard input; without any, this folder. Folders are searched for .dryfit files, \
leaving out what .gitignore and .ignore files leave out, hidden files and symbolic links. A file that is named is \
always read.

A job may only follow files inside the opened folder: the nearest folder above it that holds `.git`; without one, the \
current folder where the job lies in it; else the job's own folder. `--within` names another.

What counts: every finding that no concession sets aside counts as found, and --fail-on can leave the milder ones out. \
A safety rule that could not judge (NOT JUDGED) always counts. So does a job in a later edition than this tool knows, \
with --final.

The form `line` writes `path:line:column: severity: title [rule]`, lines and columns from 1, columns counted in \
characters; the sum goes to standard error. The form `json` is described by `dryfit schema`.";

/// Checks the written job of a fuel-fired air heater in a vehicle.
#[derive(Parser)]
#[command(name = "dryfit", version = VERSION, about = "Checks the written job of a fuel-fired air heater in a vehicle", long_about = ABOUT, after_long_help = TEACHING, after_help = TEACHING, disable_help_subcommand = true)]
pub(crate) struct Arguments {
    /// When to use colour. `auto`: on a terminal, unless NO_COLOR is set
    #[arg(long, alias = "color", value_name = "WHEN", value_enum, default_value_t = Colour::Auto, global = true)]
    pub(crate) colour: Colour,
    #[command(subcommand)]
    pub(crate) command: Option<Command>,
}

/// When to use colour.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Colour {
    /// On a terminal that has colours, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

#[derive(Subcommand)]
pub(crate) enum Command {
    /// Judges jobs and shows what was found
    #[command(after_help = CHECK)]
    Check(Check),
    /// Shows a job's figures with their working
    Figures(Figures),
    /// Shows how much is left between figures and their limits, and which stated tolerance eats most of it
    Margins(Margins),
    /// Shows a rule's page; without a name, the list of rules
    Explain {
        /// The rule's name, as reports show it
        rule: Option<String>,
    },
    /// Puts the white space of job files in order; meaning and comments stay
    Tidy(Tidy),
    /// Lists the rules
    Rules {
        /// The whole catalogue, as Markdown
        #[arg(long)]
        markdown: bool,
    },
    /// Lists the kinds of block, or the words of one
    Words {
        /// The kind: `exhaust`, `cable`, `datasheet`; without it, the list of kinds
        kind: Option<String>,
        /// The whole language, as Markdown
        #[arg(long)]
        markdown: bool,
        /// How words are shown; `json` is the whole language, for the word lists of editors
        #[arg(long, value_enum, default_value_t = PlainForm::Text)]
        form: PlainForm,
    },
    /// Serves editors: the language server on standard input and output
    Serve,
    /// Shows the JSON Schema of a form that programs read
    Schema {
        /// Which form
        #[arg(value_enum, default_value_t = Schema::Findings)]
        of: Schema,
    },
}

#[derive(Args)]
pub(crate) struct Check {
    /// Files, folders, or `-` for standard input
    pub(crate) paths: Vec<PathBuf>,
    /// How findings are shown
    #[arg(long, value_enum, default_value_t = Form::Report)]
    pub(crate) form: Form,
    /// The day that concessions are held against, as 2027-03-31; today (UTC) otherwise
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = clock::read)]
    pub(crate) date: Option<Date>,
    /// Before building: open blanks are errors, and a job in a later edition counts as found
    #[arg(long = "final")]
    pub(crate) last: bool,
    /// The mildest finding that makes the exit code 1
    #[arg(long, value_name = "SEVERITY", value_enum, default_value_t = Mildest::Advice)]
    pub(crate) fail_on: Mildest,
    /// The path that standard input stands for: its name in reports, and where its `follows` lines start from
    #[arg(long = "as", value_name = "PATH")]
    pub(crate) stands_for: Option<PathBuf>,
    /// The folder outside which no followed file is read
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
}

/// How findings are shown.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Form {
    /// Drawn over the lines they are about, with reason, limit and cure
    Report,
    /// One line each
    Line,
    /// For programs
    Json,
}

/// The mildest finding that counts.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Mildest {
    /// Errors only
    Error,
    /// Errors and warnings
    Warning,
    /// Everything
    Advice,
}

/// The forms that programs read.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Schema {
    /// What `check --form json` writes
    Findings,
    /// What `figures --form json` writes
    Figures,
    /// What `margins --form json` writes
    Margins,
    /// What `words --form json` writes
    Words,
    /// The settings that editors give the language server
    Settings,
}

#[derive(Args)]
pub(crate) struct Figures {
    /// The job's file, or `-` for standard input; for `--form csv` any files and folders
    #[arg(required = true)]
    pub(crate) paths: Vec<PathBuf>,
    /// How figures are shown
    #[arg(long, value_enum, default_value_t = TableForm::Text)]
    pub(crate) form: TableForm,
    /// The path that standard input stands for
    #[arg(long = "as", value_name = "PATH")]
    pub(crate) stands_for: Option<PathBuf>,
    /// The folder outside which no followed file is read
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
}

#[derive(Args)]
pub(crate) struct Margins {
    /// Files, folders, or `-` for standard input
    #[arg(required = true)]
    pub(crate) paths: Vec<PathBuf>,
    /// How margins are shown
    #[arg(long, value_enum, default_value_t = TableForm::Text)]
    pub(crate) form: TableForm,
    /// Only margins below this share of the limit, as 10%
    #[arg(long, value_name = "SHARE", value_parser = share)]
    pub(crate) under: Option<f64>,
    /// The day that concessions are held against, as 2027-03-31; today (UTC) otherwise
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = clock::read)]
    pub(crate) date: Option<Date>,
    /// The path that standard input stands for
    #[arg(long = "as", value_name = "PATH")]
    pub(crate) stands_for: Option<PathBuf>,
    /// The folder outside which no followed file is read
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
}

/// `10%`, `10 %` or `0.1` as a share.
fn share(written: &str) -> Result<f64, String> {
    let (number, per) = match written.trim().strip_suffix('%') {
        Some(number) => (number.trim_end(), 100.0),
        None => (written.trim(), 1.0),
    };
    let share = number.parse::<f64>().ok().map(|number| number / per).filter(|share| share.is_finite());
    share.ok_or_else(|| "write a share such as 10%".to_string())
}

/// How figures and margins are shown.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum TableForm {
    /// To read
    Text,
    /// For spreadsheets, a row each
    Csv,
    /// For programs
    Json,
}

/// How words are shown.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum PlainForm {
    /// To read
    Text,
    /// For programs
    Json,
}

#[derive(Args)]
pub(crate) struct Tidy {
    /// Files, folders, or `-` to put standard input in order on standard output
    pub(crate) paths: Vec<PathBuf>,
    /// Only list the files that are not in order; exit code 1 where there are any
    #[arg(long)]
    pub(crate) look: bool,
}

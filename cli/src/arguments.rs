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
  dryfit check --form sarif           for a build server; also junit, and summary for its job page
  dryfit adopt                        take up dryfit where there is much to find: record what is there today
  dryfit figures van.dryfit           every figure of a job, worked step by step
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
with --final. What the record given with --known knows does not count; a finding that is graver than recorded does.

The form `line` writes `path:line:column: severity: title [rule]`, lines and columns from 1, columns counted in \
characters; the sum goes to standard error. The form `json` is described by `dryfit schema`. The form `sarif` is \
SARIF 2.1.0 (OASIS): paths start from the opened folder; what could not be judged is of kind `open`, and one failing \
result of the rule `not-judged` for each such file stands beside; what a concession sets aside is suppressed. The form \
`junit` has a suite for each file: its case `judged` passes where the file could be judged, and each rule that found \
something is a case: `failure` where it counts, `skipped` where it is set aside, known or milder than --fail-on, `error` \
where a safety rule could not judge or the file could not be read.";

const ADOPT: &str = "\
For a repository in which there is much to find already. Today's findings are written to a record, a text file to be \
committed: one line a finding, sorted, paths relative to its own folder. `dryfit check --known FILE` then fails only on \
what is not in it: on new findings, on one that has become graver, and on one more of the same. Entries go by the rule \
and the text that a finding is about, not by its line; they outlast edits elsewhere, not a new file name.

What guards against poisoning, fire or burns is never recorded, and neither is a safety rule that could not judge (NOT \
JUDGED), nor an error in the text or in its names, which may hide such a thing: they fail every check until the job is \
mended, and are listed here. The exit code is then 1.

The record only shrinks: `dryfit check --known FILE --shrink` takes out what is no longer found in the files it judged, \
and what belonged to files that are gone. `dryfit adopt --again` records anew.

A recorded finding is not mended. The heater maker's instructions, local codes and licensed practice come first.";

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
    /// Records today's findings as known, so that a check fails on new ones only; never what guards life
    #[command(after_help = ADOPT)]
    Adopt(Adopt),
    /// Shows a job's figures with their working
    Figures(Figures),
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
    /// The record of known findings, which do not count (see `dryfit adopt`)
    #[arg(long, value_name = "FILE")]
    pub(crate) known: Option<PathBuf>,
    /// Take out of the record what is no longer found in the files judged, or whose file is gone
    #[arg(long)]
    pub(crate) shrink: bool,
}

#[derive(Args)]
pub(crate) struct Adopt {
    /// Files and folders
    pub(crate) paths: Vec<PathBuf>,
    /// The record; `dryfit-known.txt` in the current folder otherwise
    #[arg(long, value_name = "FILE")]
    pub(crate) record: Option<PathBuf>,
    /// Record the named files anew in a record that is there; what it knows of other files stays
    #[arg(long)]
    pub(crate) again: bool,
    /// The day that concessions are held against, as 2027-03-31; today (UTC) otherwise
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = clock::read)]
    pub(crate) date: Option<Date>,
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
    /// How much of what, in tables, for the job page of a build server
    Summary,
    /// For programs
    Json,
    /// For programs: SARIF 2.1.0
    Sarif,
    /// For programs: JUnit XML
    Junit,
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
    /// What `words --form json` writes
    Words,
    /// The settings that editors give the language server
    Settings,
}

#[derive(Args)]
pub(crate) struct Figures {
    /// The job's file, or `-` for standard input
    pub(crate) file: PathBuf,
    /// How figures are shown
    #[arg(long, value_enum, default_value_t = PlainForm::Text)]
    pub(crate) form: PlainForm,
    /// The path that standard input stands for
    #[arg(long = "as", value_name = "PATH")]
    pub(crate) stands_for: Option<PathBuf>,
    /// The folder outside which no followed file is read
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
}

/// How figures and words are shown.
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

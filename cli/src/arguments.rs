//! The command's words and options, and the help that teaches them.

use crate::clock;
use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};
use spec_lang::reading::Date;
use spec_lang::report::CAUTION;
use std::ffi::OsString;
use std::path::PathBuf;

const VERSION: &str = concat!(env!("CARGO_PKG_VERSION"), "\nlanguage edition 1\ntrialfit approves nothing");

const ABOUT: &str = "\
trialfit reads the job card of a fuel-fired air heater in a vehicle, computes what it can before anybody drills the \
floor (voltage at the heater, fuel line, exhaust and intake distances, return air), and says what would not work, with \
the figure, the limit and whose limit it is.";

const TEACHING: &str = "\
Examples:
  trialfit check                        judge every .trialfit file in this folder and below
  trialfit check van.trialfit --final   judge one job before it is built: no blank may be left open
  trialfit check jobs --form line       one line for each finding, for editors and scripts
  trialfit check --form sarif           for a build server; also junit, and summary for its job page
  trialfit adopt                        take up trialfit where much is wrong: record what is wrong today
  trialfit figures van.trialfit         every figure of a job, worked step by step
  trialfit draw van.trialfit > van.svg  the job drawn to scale, from above and from the side
  trialfit margins jobs --under 10%     what is nearest to its limit, and which tolerance eats it
  trialfit explain                      the rules; with a name, one rule's page
  trialfit words                        what a job can say: the kinds of block; with a kind, its words
  trialfit fill van.trialfit            what the blanks of a job can be filled with; --write writes it
  trialfit tidy jobs --look             which files are not in order, without touching them
  trialfit check --changed=main         only what this branch changed, and the jobs that follow it
  trialfit followers shelf.trialfit --since=main
                                      what a change of a shared file does to every job that follows it
  trialfit mend jobs                    what could be mended without asking, as a diff

Exit codes:
  0  done, and nothing to say
  1  done, and something was found, not judged, not in order (tidy --look) or to be mended (mend)
  2  some of the work could not be done: a file missing, unreadable or not text, or wrong options

Fit a carbon monoxide alarm wherever somebody sleeps.";

const CHECK: &str = "\
PATHS are files, folders, or `-` for standard input; without any, this folder. Folders are searched for .trialfit files, \
leaving out what .gitignore and .ignore files leave out, hidden files and symbolic links. A file that you name is \
read all the same. But a file that a settings file excludes (`exclude`) is left alone even if you name it; --no-exclude takes it \
in. With --final, and for what the settings' `final` matches, `exclude` does not hold.

Settings are read from `trialfit.toml` beside a job and in the folders above it, up to the opened folder; the nearer file \
wins key by key, and options win over all. `trialfit settings FILE` shows what holds and why.

A job may only follow files inside the opened folder: the nearest folder above it that holds `.git`; without one, the \
current folder where the job lies in it; else the job's own folder. `--within` names another.

What counts: every finding that no concession sets aside, and --fail-on can leave the milder ones out. What can poison, \
gas, burn or set on fire always counts, whatever --fail-on says. So does what could not be judged of it (NOT JUDGED), and an \
error in the text, in names or in layers, which may hide it. With --final, a job in a later edition of the language than this \
tool knows counts too. A finding in the record given with --known does not count, unless it has become graver. A missing fact \
that the record holds as a debt (see `trialfit adopt`) does not count until its last day is over; the sum says how many are \
owed, how old the oldest is, and which falls due first. With --final it counts.

The form `line` is one line a finding, and reads well in a screen reader. It writes `path:line:column: severity: title [rule]`, lines and columns from 1, columns counted in \
characters; the sum goes to standard error. The form `json` is described by `trialfit schema`. The form `sarif` is \
SARIF 2.1.0 (OASIS): paths start from the opened folder; what could not be judged is of kind `open`. Some readers pass over \
that kind, so each such file also gets one failing result, of the rule `not-judged`. What a concession sets aside and what is owed is suppressed. The form \
`junit` has a suite for each file: its case `judged` passes where the file could be judged, and each rule that found \
something is a case: `failure` where it counts, `skipped` where it is set aside, known, owed or milder than --fail-on, `error` \
where a safety rule could not judge or the file could not be read.";

const ADOPT: &str = "\
For a repository in which much is wrong already. Today's findings are written to a record, a text file to be \
committed: one line a finding, sorted, paths relative to its own folder. `trialfit check --known FILE` then fails only on \
what is not in it: on new findings, on one that has become graver, and on one more of the same. A finding is \
known by its file, its rule and the text that it is about, not by its line. So edits elsewhere in the file do not matter. But \
once the file has another name, its findings are new.

What guards against poisoning, fire or burns is never recorded, and neither is a safety rule that could not judge (NOT \
JUDGED), nor an error in the text or in its names, which may hide such a thing: they fail every check until the job is \
mended, and are listed here. The exit code is then 1.

Old jobs may lack facts that nobody asked for when they were written. Such facts are NOT JUDGED. They are counted here, and \
not taken up by themselves: with --debts, --until and --by they become debts, each until a last day, with the name of a person who answers \
for it. A debt is no approval: nobody knows yet whether the fact would show that somebody can be poisoned or burnt. Every \
check tells how many facts are owed, for how long and until when; `trialfit concessions` lists them. A debt counts again after \
its last day, where a rule asks for the fact that did not when it was taken up, and always with --final. Only a missing fact \
can be a debt, never a finding. What a job said once cannot be one: the record keeps small numbers of all that was said, and a \
fact that is gone fails, whatever the record holds. A debt that still holds keeps its last day and its name when the file is \
recorded again; one that has run out gets new ones, and keeps its age.

The record only shrinks: `trialfit check --known FILE --shrink` takes out what is no longer found in the files it judged, \
debts whose fact is written, and what belonged to files that are gone. `trialfit adopt --again` records anew.

A recorded finding is not mended, and a debt is not known.";

const TAKE_IN: &str = "\
The workshop file given with --by holds a `table` block: the kit that each row's job fits, and what each column says \
(`trialfit words table`). The first row of TABLE holds the headings; cells are parted by commas, semicolons or tabs.

Each row's job is judged before it is written, and whatever of a row could not be taken in is listed with its column. \
Nothing is written without --write, and a file that is there already stays as it is.";
const MEND: &str = "\
Only what is wrong with the text itself is mended: an indent, a first line, a misspelt word that can mean one thing only. \
What changes the install, such as a larger cable, stays for a person to choose. After each \
round every file is judged again. A change that does not help, or that brings a new error, is undone and reported. \
Without --write a unified diff is shown, and the exit code is 1 if anything would change. A file that somebody else \
changes meanwhile stays as it is.

A mended text is still a text to be checked by a person: read the diff.";

const CONCESSIONS: &str = "\
Each concession is listed once, with what it covers in all the jobs looked at. A concession in a shared file holds for \
every job that follows the file. To see all that it covers, name the folder with all the jobs. The exit code is 1 if one has run out, is not signed, names a rule that nobody may set aside or that does \
not exist, or matches nothing.

Facts that are owed (`trialfit adopt --debts`) are listed below, with the person who answers for each, its last day and its \
age. They are taken from the record that --known names, else from the one that the settings name. The exit code is 1 where one \
counts: its last day is over, a rule asks for it that did not, it was said once and is gone, or the job is judged as final.";

const FOLLOWERS: &str = "\
Looks at every job file of the opened folder (the nearest folder above a shared file that holds `.git`). With --since, \
each job is judged with the shared files as they were in git and as they are on the disk, all else as it is now. A \
finding whose figure changes is listed twice: it goes with the old figure and comes with the new one. The exit code is 1 where \
a finding comes.";
const DRAW: &str = "\
What nobody has measured is not drawn but listed with the reason. Findings are numbered at their place; the drawing itself \
judges nothing.

The drawing shows what the job says, not the vehicle. Measure before anything is drilled.";

const ACCOUNT: &str = "\
A question is a rule and the block that it is asked of. It passes, it fails, it is open for want of a fact, or it does not \
apply because of something that the job says. Exit codes: 0 the account was made, 2 something could not be read. Whether \
a job is clean is for `check` to say.";

const FILL: &str = "\
Each blank is tried with the sizes of the stock lists that the job follows, the smallest first. Without a stock list the data \
sheets at hand are tried; without those, the standard sizes. For a `run` the longest length that passes is sought, for a \
leg the shortest. The whole job is judged with each choice. The first choice with which no rule finds more than before is \
taken.

For each blank you see the value, why the next choice does not pass, by which rule, and what is left to the limit. The change \
follows as a unified diff; `patch -p1` and `git apply` read it.

A blank stays open where no rule judges its value, or where no choice passes. A file that somebody else changes meanwhile is \
not overwritten.

Exit codes: 0 no blank is left open (without --write: none would be); 1 some are; 2 some of the work could not be done.";

/// The command, with the caution below the help of the whole and of every part.
pub(crate) fn command() -> clap::Command {
    fn cautioned(command: clap::Command) -> clap::Command {
        let help = command.get_after_help().map_or(String::new(), |help| format!("{help}\n\n"));
        command.after_help(help + CAUTION)
    }
    cautioned(Arguments::command().mut_subcommands(cautioned))
}

/// Checks the written job of a fuel-fired air heater in a vehicle.
#[derive(Parser)]
#[command(name = "trialfit", version = VERSION, about = "Checks the written job of a fuel-fired air heater in a vehicle", long_about = ABOUT, after_help = TEACHING, disable_help_subcommand = true)]
pub(crate) struct Arguments {
    /// When to use colour. `auto`: on a terminal, unless NO_COLOR is set
    #[arg(long, alias = "color", value_name = "WHEN", value_enum, default_value_t = Colour::Auto, global = true)]
    pub(crate) colour: Colour,
    /// Draw reports with ASCII marks only. Also done where the locale is not UTF-8, and with TERM=dumb
    #[arg(long, global = true)]
    pub(crate) ascii: bool,
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
    /// Records today's findings as known, so that a check fails on new ones only; never a finding that guards life
    #[command(after_help = ADOPT)]
    Adopt(Adopt),
    /// Shows a job's figures with their working
    Figures(Figures),
    /// Draws a job from above and from the side, to scale, as SVG
    Draw(Draw),
    /// Shows how much is left between figures and their limits, and which stated tolerance eats most of it
    Margins(Margins),
    /// Shows every question that the rules ask of a job, with its answer, and what the job does not say
    #[command(after_help = ACCOUNT)]
    Account(Account),
    /// Shows a rule's page; without a name, the list of rules
    Explain {
        /// The rule's name, as reports show it
        rule: Option<String>,
    },
    /// Fills blanks (`?`): shows what passes every rule, and why; writes nothing without --write
    #[command(after_help = FILL)]
    Fill(Fill),
    /// Puts the white space of job files in order; meaning and comments stay
    Tidy(Tidy),
    /// Mends what can be mended without asking anybody; shows the change, and makes it with --write
    #[command(after_help = MEND)]
    Mend(Mend),
    /// Lists what was set aside or is owed: which rule, on what, by whom, why and until when
    #[command(after_help = CONCESSIONS)]
    Concessions(Concessions),
    /// Lists the jobs that follow a shared file. With --since it shows what a change does to them
    #[command(after_help = FOLLOWERS)]
    Followers(Followers),
    /// Shows the settings that hold for a file, and the settings file and line that each comes from
    Settings(Settings),
    /// Lists the rules
    Rules {
        /// The whole catalogue, as Markdown
        #[arg(long)]
        markdown: bool,
    },
    /// Lists the kinds of block, or the words of one
    Words {
        /// The kind: `exhaust`, `cable`, `datasheet pipe`; without it, the list of kinds
        kind: Vec<String>,
        /// The whole language, as Markdown
        #[arg(long)]
        markdown: bool,
        /// How words are shown; `json` is the whole language, for the word lists of editors
        #[arg(long, value_enum, default_value_t = PlainForm::Text)]
        form: PlainForm,
    },
    /// Makes jobs from the rows of a comma-separated table
    #[command(after_help = TAKE_IN)]
    TakeIn(TakeIn),
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
    /// The day on which concessions and debts are judged, as 2027-03-31. Without it, today (UTC)
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = clock::read)]
    pub(crate) date: Option<Date>,
    /// Judge for the last time before building: an open blank is an error, so is a job in a later edition of the language, and no debt holds
    #[arg(long = "final")]
    pub(crate) last: bool,
    /// Judge as not final, whatever the settings say
    #[arg(long, conflicts_with = "last")]
    pub(crate) not_final: bool,
    /// The mildest finding that makes the exit code 1. Without it the settings decide, else advice. Whatever is chosen, these always count: what can poison or burn, what was not judged of it, and what may hide it
    #[arg(long, value_name = "SEVERITY", value_enum)]
    pub(crate) fail_on: Option<Mildest>,
    /// Judge only files that changed since the last commit, and files that follow them. With SINCE (a branch or a commit): all that changed since this branch and SINCE parted
    #[arg(long, value_name = "SINCE", num_args = 0..=1, require_equals = true, default_missing_value = "")]
    pub(crate) changed: Option<OsString>,
    /// Judge what the settings exclude, too
    #[arg(long)]
    pub(crate) no_exclude: bool,
    /// The path to use for standard input, in reports and in its `follows` lines
    #[arg(long = "as", value_name = "PATH")]
    pub(crate) stands_for: Option<PathBuf>,
    /// Read no followed file outside this folder
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
    /// The record of known findings, which do not count (see `trialfit adopt`)
    #[arg(long, value_name = "FILE")]
    pub(crate) known: Option<PathBuf>,
    /// Remove entries and debts from the record that are no longer found, or whose file is gone
    #[arg(long)]
    pub(crate) shrink: bool,
}

#[derive(Args)]
pub(crate) struct Adopt {
    /// Files and folders
    pub(crate) paths: Vec<PathBuf>,
    /// The record; `trialfit-known.txt` in the current folder otherwise
    #[arg(long, value_name = "FILE")]
    pub(crate) record: Option<PathBuf>,
    /// Record the named files again. Entries of other files stay
    #[arg(long)]
    pub(crate) again: bool,
    /// Take up missing facts (NOT JUDGED) as debts, too; with --until and --by. A debt is no approval
    #[arg(long, requires = "until", requires = "by")]
    pub(crate) debts: bool,
    /// The last day on which these debts hold, as 2027-03-31
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = clock::read, requires = "debts")]
    pub(crate) until: Option<Date>,
    /// The person who answers for these debts
    #[arg(long, value_name = "NAME", requires = "debts")]
    pub(crate) by: Option<String>,
    /// The day on which concessions are judged and from which debts run, as 2027-03-31. Without it, today (UTC)
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = clock::read)]
    pub(crate) date: Option<Date>,
    /// Read no followed file outside this folder
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
}

/// How findings are shown.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Form {
    /// The lines they are about, with reason, limit and how to mend it
    Report,
    /// One line each, for editors and scripts; also the form for a screen reader
    Line,
    /// Counts in tables, for the page of a build server
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
    /// What `margins --form json` writes
    Margins,
    /// What `account --form json` writes
    Account,
    /// What `words --form json` writes
    Words,
    /// The settings that editors give the language server
    Settings,
    /// What `concessions --form json` writes
    Concessions,
    /// What `followers --form json` writes
    Followers,
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
    /// Read no followed file outside this folder
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
}

#[derive(Args)]
pub(crate) struct TakeIn {
    /// The table: comma-separated values (RFC 4180), the headings in its first row
    pub(crate) table: PathBuf,
    /// The workshop file that maps its columns
    #[arg(long, value_name = "FILE")]
    pub(crate) by: PathBuf,
    /// The folder that the jobs go to
    #[arg(long, value_name = "DIR")]
    pub(crate) into: PathBuf,
    /// The name of the `table` block, where the workshop file has several
    #[arg(long = "table", value_name = "NAME")]
    pub(crate) called: Option<String>,
    /// Write the jobs; without it they are only listed
    #[arg(long)]
    pub(crate) write: bool,
    /// Read no followed file outside this folder
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
}

#[derive(Args)]
pub(crate) struct Account {
    /// Files, folders, or `-` for standard input
    #[arg(required = true)]
    pub(crate) paths: Vec<PathBuf>,
    /// How the account is shown
    #[arg(long, value_enum, default_value_t = TableForm::Text)]
    pub(crate) form: TableForm,
    /// Only questions with these answers
    #[arg(long, value_enum, value_delimiter = ',')]
    pub(crate) only: Vec<Answered>,
    /// Only the questions of this rule
    #[arg(long, value_name = "RULE")]
    pub(crate) rule: Option<String>,
    /// The day on which concessions are judged, as 2027-03-31. Without it, today (UTC)
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = clock::read)]
    pub(crate) date: Option<Date>,
    /// The path that standard input stands for
    #[arg(long = "as", value_name = "PATH")]
    pub(crate) stands_for: Option<PathBuf>,
    /// Read no followed file outside this folder
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
}

/// An answer to pick questions by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Answered {
    /// Nothing written breaks the rule
    Pass,
    /// The rule finds a fault
    Fail,
    /// Not answered
    Open,
    /// Something that is said takes the question away
    DoesNotApply,
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
    /// The day on which concessions are judged, as 2027-03-31. Without it, today (UTC)
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = clock::read)]
    pub(crate) date: Option<Date>,
    /// The path that standard input stands for
    #[arg(long = "as", value_name = "PATH")]
    pub(crate) stands_for: Option<PathBuf>,
    /// Read no followed file outside this folder
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
}

#[derive(Args)]
#[command(after_help = DRAW)]
pub(crate) struct Draw {
    /// The job's file, or `-` for standard input
    pub(crate) file: PathBuf,
    /// The file to write; standard output otherwise
    #[arg(long, value_name = "FILE.svg")]
    pub(crate) out: Option<PathBuf>,
    /// The path that standard input stands for
    #[arg(long = "as", value_name = "PATH")]
    pub(crate) stands_for: Option<PathBuf>,
    /// Read no followed file outside this folder
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
pub(crate) struct Fill {
    /// Files, folders, or `-` for standard input
    pub(crate) paths: Vec<PathBuf>,
    /// Write what was found into the files; standard input goes to standard output, filled
    #[arg(long)]
    pub(crate) write: bool,
    /// The day on which concessions are judged, as 2027-03-31. Without it, today (UTC)
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = clock::read)]
    pub(crate) date: Option<Date>,
    /// The path that standard input stands for
    #[arg(long = "as", value_name = "PATH")]
    pub(crate) stands_for: Option<PathBuf>,
    /// Read no followed file outside this folder
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
}

#[derive(Args)]
pub(crate) struct Tidy {
    /// Files, folders, or `-` to put standard input in order on standard output
    pub(crate) paths: Vec<PathBuf>,
    /// Only list the files that are not in order; exit code 1 where there are any
    #[arg(long)]
    pub(crate) look: bool,
    /// Put in order what the settings exclude, too
    #[arg(long)]
    pub(crate) no_exclude: bool,
}

#[derive(Args)]
pub(crate) struct Mend {
    /// Files, folders, or `-` for standard input
    pub(crate) paths: Vec<PathBuf>,
    /// Only what this rule found; may be given again
    #[arg(long = "rule", value_name = "NAME")]
    pub(crate) rules: Vec<String>,
    /// Write the files; without it, only show what would change
    #[arg(long)]
    pub(crate) write: bool,
    /// The day on which concessions are judged, as 2027-03-31. Without it, today (UTC)
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = clock::read)]
    pub(crate) date: Option<Date>,
    /// Read no followed file outside this folder
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
    /// Mend what the settings exclude, too
    #[arg(long)]
    pub(crate) no_exclude: bool,
}

#[derive(Args)]
pub(crate) struct Concessions {
    /// Files or folders
    pub(crate) paths: Vec<PathBuf>,
    /// The record whose debts are listed. Without it, the one that the settings name
    #[arg(long, value_name = "FILE")]
    pub(crate) known: Option<PathBuf>,
    /// How they are listed
    #[arg(long, value_enum, default_value_t = ListForm::Text)]
    pub(crate) form: ListForm,
    /// The day on which they are judged, as 2027-03-31. Without it, today (UTC)
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = clock::read)]
    pub(crate) date: Option<Date>,
    /// Read no followed file outside this folder
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
    /// List those of files that the settings exclude, too
    #[arg(long)]
    pub(crate) no_exclude: bool,
}

/// How a list is shown.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum ListForm {
    /// To read
    Text,
    /// For spreadsheets: values parted by commas (RFC 4180), a header line first
    Csv,
    /// For programs
    Json,
}

#[derive(Args)]
pub(crate) struct Followers {
    /// The shared files; with --since and none named, all that changed
    #[arg(required_unless_present = "since")]
    pub(crate) files: Vec<PathBuf>,
    /// Compare: judge each job with the shared files as they were, and as they are now. They are taken from the last commit; with SINCE (a branch or a commit), from where this branch and SINCE parted
    #[arg(long, value_name = "SINCE", num_args = 0..=1, require_equals = true, default_missing_value = "")]
    pub(crate) since: Option<OsString>,
    /// How it is shown
    #[arg(long, value_enum, default_value_t = PlainForm::Text)]
    pub(crate) form: PlainForm,
    /// The day on which concessions are judged, as 2027-03-31. Without it, today (UTC)
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = clock::read)]
    pub(crate) date: Option<Date>,
}

#[derive(Args)]
pub(crate) struct Settings {
    /// Files or folders
    #[arg(required = true)]
    pub(crate) files: Vec<PathBuf>,
    /// The opened folder, above which no settings file is looked for
    #[arg(long, value_name = "DIR")]
    pub(crate) within: Option<PathBuf>,
}

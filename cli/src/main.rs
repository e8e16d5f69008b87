//! The `trialfit` command: the terminal's edge. It walks folders, reads files, draws findings and answers with an exit
//! code; it judges nothing itself.

mod account;
mod adopt;
mod arguments;
mod changed;
mod check;
mod clock;
mod concessions;
mod debts;
mod diff;
mod draw;
mod drawing;
mod explain;
mod fault;
mod figures;
mod files;
mod filling;
mod followers;
mod follows;
mod git;
mod in_order;
mod job;
mod known;
mod margins;
mod mend;
mod output;
mod rewriting;
mod settings;
mod tables;
mod take_in;
mod targets;
mod tidy;

use arguments::{Arguments, Command};
use clap::FromArgMatches;
use output::Output;
use std::io;
use std::process::ExitCode;

/// How a run ended. When several hold, the last of them is the answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Ending {
    /// The work was done and there is nothing to say.
    Clean = 0,
    /// The work was done and something was found.
    Found = 1,
    /// Some of the work could not be done.
    CouldNot = 2,
}

fn main() -> ExitCode {
    fault::listen();
    let ending = match fault::caught(run) {
        Ok(Ok(ending)) => ending,
        // Whoever read our output has gone; there is nobody to tell.
        Ok(Err(error)) if error.kind() == io::ErrorKind::BrokenPipe => Ending::CouldNot,
        Ok(Err(error)) => {
            output::complain(&format!("the output could not be written: {error}"));
            Ending::CouldNot
        }
        Err(fault) => {
            output::complain(&fault);
            Ending::CouldNot
        }
    };
    ExitCode::from(ending as u8)
}

fn run() -> io::Result<Ending> {
    let arguments =
        Arguments::from_arg_matches(&arguments::command().get_matches()).unwrap_or_else(|error| error.exit());
    let mut output = Output::new(arguments.colour, arguments.ascii);
    let ending = match arguments.command {
        None => {
            output.say(&arguments::command().render_long_help().to_string())?;
            Ok(Ending::Clean)
        }
        Some(Command::Check(wanted)) => check::check(&wanted, &mut output),
        Some(Command::Adopt(wanted)) => adopt::adopt(&wanted, &mut output),
        Some(Command::Fill(wanted)) => filling::fill(&wanted, &mut output),
        Some(Command::Tidy(wanted)) => tidy::tidy(&wanted, &mut output),
        Some(Command::Explain { rule }) => explain::explain(rule.as_deref(), &mut output),
        Some(Command::Rules { markdown }) => explain::rules(markdown, &mut output),
        Some(Command::Words { kind, markdown, form }) => explain::words(&kind.join(" "), markdown, form, &mut output),
        Some(Command::Figures(wanted)) => figures::figures(&wanted, &mut output),
        Some(Command::TakeIn(wanted)) => take_in::take_in(&wanted, &mut output),
        Some(Command::Mend(wanted)) => mend::mend(&wanted, &mut output),
        Some(Command::Concessions(wanted)) => concessions::concessions(&wanted, &mut output),
        Some(Command::Followers(wanted)) => followers::followers(&wanted, &mut output),
        Some(Command::Settings(wanted)) => settings::settings(&wanted, &mut output),
        Some(Command::Draw(wanted)) => draw::draw(&wanted, &mut output),
        Some(Command::Account(wanted)) => account::account(&wanted, &mut output),
        Some(Command::Margins(wanted)) => margins::margins(&wanted, &mut output),
        Some(Command::Serve) => serve(),
        Some(Command::Schema { of }) => explain::schema(of, &mut output),
    }?;
    output.finish()?;
    Ok(ending)
}

/// Serves one editor. The protocol asks for 0 where the editor said `shutdown` first, else for 1.
fn serve() -> io::Result<Ending> {
    Ok(if trialfit_lsp::serve_stdio()? == 0 { Ending::Clean } else { Ending::Found })
}

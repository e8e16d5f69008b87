//! `trialfit account`: every question that the rules ask, with its answer, several files at a time.

use crate::arguments::{Account, Answered, TableForm};
use crate::files::Library;
use crate::output::{Output, caution, complain};
use crate::settings::{Excludes, Shelf};
use crate::targets::{Target, Targets};
use crate::{Ending, clock, fault, in_order, job};
use spec_lang::reading::Date;
use spec_lang::report::{ACCOUNT_HEAD, account_csv, account_text, json};
use spec_lang::rules::{Answer, Question};
use spec_lang::source::FileId;
use std::io;

/// What came of one file.
enum Shown {
    Text(String),
    Wire(Box<json::FileAccount>),
}

pub(crate) fn account(wanted: &Account, output: &mut Output) -> io::Result<Ending> {
    let mut targets = Targets::find(&wanted.paths, wanted.stands_for.as_deref(), wanted.within.as_deref());
    targets.complain();
    let today = wanted.date.or_else(clock::today);
    let library = Library::default();
    targets.sift(&Shelf::default(), &library, Excludes::Hold);
    let mut ending = if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot };
    let width = output.width;
    let mut files = Vec::new();
    if wanted.form != TableForm::Text {
        caution();
    }
    if wanted.form == TableForm::Csv {
        output.say(ACCOUNT_HEAD)?;
    }
    let work =
        |target: &Target| fault::caught(|| of_one(target, &library, wanted, today, width)).and_then(|outcome| outcome);
    let mut first = true;
    in_order::each(&targets.list, work, |target, outcome| {
        match outcome.unwrap_or_else(in_order::lost) {
            Ok(Shown::Text(text)) => {
                if wanted.form == TableForm::Text && !std::mem::take(&mut first) {
                    output.say("\n")?;
                }
                output.say(&text)?;
            }
            Ok(Shown::Wire(file)) => files.push(*file),
            Err(reason) => {
                complain(&format!("{}: {reason}", target.shown));
                ending = Ending::CouldNot;
            }
        }
        Ok(())
    })?;
    if wanted.form == TableForm::Json {
        output.json(&json::Accounts::new(files))?;
    }
    Ok(ending)
}

fn of_one(
    target: &Target,
    library: &Library,
    wanted: &Account,
    today: Option<Date>,
    width: usize,
) -> Result<Shown, String> {
    let job::Judged { analysis, opened, .. } = job::of(library, target, today)?;
    let name = |file: FileId| opened.name(file);
    let shown = |question: &Question| {
        let answer = match question.answer {
            Answer::Passes => Answered::Pass,
            Answer::Fails => Answered::Fail,
            Answer::Open(_) => Answered::Open,
            Answer::NotApplicable(_) => Answered::DoesNotApply,
        };
        (wanted.only.is_empty() || wanted.only.contains(&answer))
            && wanted.rule.as_deref().is_none_or(|rule| rule == question.rule.name)
    };
    Ok(match wanted.form {
        TableForm::Text => Shown::Text(account_text(&analysis, &shown, &target.shown, width)),
        TableForm::Csv => Shown::Text(account_csv(&analysis, &shown, &target.shown)),
        TableForm::Json => {
            Shown::Wire(Box::new(json::FileAccount::of(target.shown.to_string(), &analysis, &shown, &name)))
        }
    })
}

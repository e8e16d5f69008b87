//! `trialfit account`: every question that the rules ask, with its answer, several files at a time.

use crate::arguments::{Account, Answered, TableForm};
use crate::files::Library;
use crate::output::Output;
use crate::tables::{self, Shown, Wanted};
use crate::targets::Target;
use crate::{Ending, job};
use spec_lang::reading::Date;
use spec_lang::report::{ACCOUNT_HEAD, account_csv, account_text, json};
use spec_lang::rules::{Answer, Question};
use spec_lang::source::FileId;
use std::io;

pub(crate) fn account(wanted: &Account, output: &mut Output) -> io::Result<Ending> {
    let files = Wanted {
        paths: &wanted.paths,
        stands_for: wanted.stands_for.as_deref(),
        within: wanted.within.as_deref(),
        date: wanted.date,
        form: wanted.form,
        head: ACCOUNT_HEAD,
    };
    let of_one = |target: &Target, library: &Library, today, width| of_one(target, library, wanted, today, width);
    tables::show(&files, of_one, json::Accounts::new, output)
}

fn of_one(
    target: &Target,
    library: &Library,
    wanted: &Account,
    today: Option<Date>,
    width: usize,
) -> Result<Shown<json::FileAccount>, String> {
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
        TableForm::Json => Shown::Wire(json::FileAccount::of(target.shown.to_string(), &analysis, &shown, &name)),
    })
}

//! `trialfit explain`, `trialfit rules`, `trialfit words`, `trialfit schema`: what the tool knows, to read.

use crate::Ending;
use crate::arguments::{PlainForm, Schema};
use crate::output::{Output, complain};
use spec_lang::report::{Words, language_page, rule_list, rule_page, word_list};
use spec_lang::{rules, vocabulary};
use std::io;

/// Running text wider than this is hard to read.
const READABLE: usize = 100;

pub(crate) fn explain(name: Option<&str>, output: &mut Output) -> io::Result<Ending> {
    let width = output.width.min(READABLE);
    let Some(name) = name else {
        output.say(&rule_list(width))?;
        return Ok(Ending::Clean);
    };
    if let Some(rule) = rules::find(name) {
        output.say(&rule_page(rule, width))?;
        return Ok(Ending::Clean);
    }
    let meant = vocabulary::nearest(name, rules::all().map(|rule| rule.name));
    let hint = meant.map_or("`trialfit explain` lists them".to_string(), |meant| format!("`{meant}`, perhaps"));
    complain(&format!("there is no rule called `{name}`; {hint}"));
    Ok(Ending::CouldNot)
}

pub(crate) fn rules(markdown: bool, output: &mut Output) -> io::Result<Ending> {
    let text = if markdown { rules::catalogue() } else { rule_list(output.width.min(READABLE)) };
    output.say(&text)?;
    Ok(Ending::Clean)
}

pub(crate) fn words(of: &str, markdown: bool, form: PlainForm, output: &mut Output) -> io::Result<Ending> {
    if form == PlainForm::Json {
        output.json(&Words::all())?;
        return Ok(Ending::Clean);
    }
    if markdown {
        output.say(&language_page())?;
        return Ok(Ending::Clean);
    }
    if let Some(list) = word_list(Some(of).filter(|of| !of.is_empty()), output.width.min(READABLE)) {
        output.say(&list)?;
        return Ok(Ending::Clean);
    }
    let near = || vocabulary::nearest(of, vocabulary::KINDS.iter().map(|entry| entry.header));
    let hint =
        vocabulary::meant_by(of).or_else(near).map_or(String::new(), |meant| format!("did you mean `{meant}`? "));
    complain(&format!("there is no kind of block called `{of}`; {hint}`trialfit words` lists all kinds"));
    Ok(Ending::CouldNot)
}

pub(crate) fn schema(of: Schema, output: &mut Output) -> io::Result<Ending> {
    match of {
        Schema::Findings => output.say(include_str!("../schema/findings-1.json")),
        Schema::Figures => output.say(include_str!("../schema/figures-1.json")),
        Schema::Margins => output.say(include_str!("../schema/margins-1.json")),
        Schema::Account => output.say(include_str!("../schema/account-1.json")),
        Schema::Words => output.say(include_str!("../schema/words-1.json")),
        Schema::Concessions => output.say(include_str!("../schema/concessions-1.json")),
        Schema::Followers => output.say(include_str!("../schema/followers-1.json")),
        Schema::Settings => output.say(&trialfit_lsp::settings_schema()),
    }?;
    Ok(Ending::Clean)
}

//! `trialfit tidy`: puts files in order.

use crate::arguments::Tidy;
use crate::files::Library;
use crate::output::{Output, complain};
use crate::settings::{Excludes, Shelf};
use crate::targets::{From, Target, Targets};
use crate::{Ending, fault, rewriting};
use spec_lang::report::counted;
use spec_lang::{syntax, text};
use std::io;
use std::sync::Arc;

pub(crate) fn tidy(wanted: &Tidy, output: &mut Output) -> io::Result<Ending> {
    let mut targets = Targets::find(&wanted.paths, None, None);
    targets.complain();
    targets.sift(&Shelf::default(), &Library::default(), Excludes::unless(wanted.no_exclude));
    let mut ending = if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot };
    let mut changed = 0usize;
    for target in &targets.list {
        match fault::caught(|| one(target, wanted.look)).and_then(|done| done) {
            Ok(Done::InOrder) => {}
            Ok(Done::Written) => changed += 1,
            Ok(Done::WouldChange) => {
                changed += 1;
                ending = ending.max(Ending::Found);
                output.say(&format!("{}\n", target.shown))?;
            }
            Ok(Done::Text(text)) => output.say(&text)?,
            Err(reason) => {
                complain(&format!("{}: {reason}", target.shown));
                ending = Ending::CouldNot;
            }
        }
    }
    output.finish()?;
    if targets.list.iter().any(|target| target.from == From::File) {
        let files = targets.list.len();
        let what = if wanted.look { "not in order" } else { "put in order" };
        complain(&format!("{changed} of {} {what}", counted(files, "file", "files")));
    }
    Ok(ending)
}

/// What became of one text.
enum Done {
    InOrder,
    Written,
    WouldChange,
    Text(String),
}

fn one(target: &Target, look: bool) -> Result<Done, String> {
    let before = target.text()?;
    let after = in_order(&before)?;
    match target.from {
        _ if look => Ok(if after == before { Done::InOrder } else { Done::WouldChange }),
        From::Input => Ok(Done::Text(after)),
        From::File if after == before => Ok(Done::InOrder),
        From::File => rewriting::rewrite(&target.path, &before, &after).map(|()| Done::Written),
    }
}

/// The text in order.
fn in_order(before: &str) -> Result<String, String> {
    let tree = syntax::read_tree(Arc::from(before));
    let after = text::apply(before, &syntax::tidy(&tree));
    after.ok_or_else(|| "a fault in trialfit itself: its edits do not fit together; nothing was written".to_string())
}

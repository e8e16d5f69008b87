//! `trialfit fill`: shows what the blanks of jobs can be filled with and why, and writes it where that is asked for. What
//! passes is settled in the language; no choice is made here.

use crate::arguments::Fill;
use crate::diff::unified;
use crate::drawing::Drawing;
use crate::files::Library;
use crate::output::{Output, caution, complain};
use crate::rewriting::rewrite;
use crate::settings::{Excludes, Shelf};
use crate::targets::{From, Target, Targets};
use crate::{Ending, clock, fault};
use spec_lang::blanks::{Answer, Outcome};
use spec_lang::reading::{Reading, SlipKind};
use spec_lang::report::{counted, one_line, wrap};
use spec_lang::source::FileId;
use spec_lang::text::{Encoding, LineIndex, Span, apply};
use spec_lang::{Analysis, analyse};
use std::io;
use std::sync::Arc;

/// How many blanks there were, by what became of them.
#[derive(Default)]
struct Tally {
    filled: usize,
    left: usize,
    files: usize,
}

/// What came of one text.
struct Shown {
    report: String,
    filled: usize,
    left: usize,
    /// The text before and after, where there is something to write.
    change: Option<(String, String)>,
}

pub(crate) fn fill(wanted: &Fill, output: &mut Output) -> io::Result<Ending> {
    let mut targets = Targets::find(&wanted.paths, wanted.stands_for.as_deref(), wanted.within.as_deref());
    targets.complain();
    let library = Library::default();
    targets.sift(&Shelf::default(), &library, Excludes::Hold);
    let mut ending = if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot };
    let mut tally = Tally::default();
    for target in &targets.list {
        let shown = match fault::caught(|| one(target, wanted, &library, output)).and_then(|shown| shown) {
            Ok(shown) => shown,
            Err(reason) => {
                complain(&format!("{}: {reason}", target.shown));
                ending = Ending::CouldNot;
                continue;
            }
        };
        let aside = wanted.write && target.from == From::Input;
        if aside {
            complain(&shown.report);
        } else {
            output.say(&shown.report)?;
        }
        tally.filled += shown.filled;
        tally.left += shown.left;
        match (&shown.change, &target.from) {
            (Some((before, after)), From::File) if wanted.write => {
                if let Err(reason) = rewrite(&target.path, before, after) {
                    complain(&format!("{}: {reason}", target.shown));
                    ending = Ending::CouldNot;
                } else {
                    tally.files += 1;
                }
            }
            (Some((_, after)), From::Input) if wanted.write => output.say(after)?,
            (Some((before, after)), _) => {
                output.say(&unified(&target.shown, before, after))?;
                output.say("\n")?;
            }
            (None, _) => {}
        }
    }
    if tally.left > 0 {
        ending = ending.max(Ending::Found);
    }
    output.finish()?;
    complain(&tally.line(wanted.write));
    caution();
    Ok(ending)
}

impl Tally {
    fn line(&self, written: bool) -> String {
        let blanks = |count: usize| counted(count, "blank", "blanks");
        let left =
            if self.left == 0 { "none is left open".to_string() } else { format!("{} left open", blanks(self.left)) };
        if self.filled == 0 {
            return if self.left == 0 {
                "no blank was found".to_string()
            } else {
                format!("{left}; none can be filled")
            };
        }
        let filled = match written {
            true => format!("{} filled in {}", blanks(self.filled), counted(self.files, "file", "files")),
            false => format!("{} can be filled, nothing was written; --write writes it", blanks(self.filled)),
        };
        format!("{filled}; {left}")
    }
}

fn one(target: &Target, wanted: &Fill, library: &Library, output: &Output) -> Result<Shown, String> {
    let before = target.text()?;
    let reading = Arc::new(Reading::new(Arc::from(before.as_str())));
    let opened = target.opened(library, library.place(&target.path));
    let analysis = analyse(FileId(0), Arc::clone(&reading), &opened, wanted.date.or_else(clock::today));
    let solution = analysis.filled();
    let name = |file: FileId| opened.name(file);
    let mut drawing = Drawing::new(&analysis, &name, output.look);
    let lines = LineIndex::new(&before);
    let line = |span: Span| lines.position(&before, span.start, Encoding::Utf32).line + 1;
    let mut report = String::new();
    let mut left = 0;
    for answer in &solution.answers {
        left += usize::from(answer.edit().is_none());
        report.push_str(&told(answer, &analysis, &target.shown, line(answer.blank.span), output.width));
        if let Some(finding) = answer.finding(FileId(0), &reading) {
            report.push_str(&drawing.finding(&finding));
        }
    }
    let filled = solution.answers.len() - left;
    for slip in reading.slips.iter().filter(|slip| slip.kind == SlipKind::BlankNotHere) {
        left += 1;
        let text = format!(
            "{}:{}: stays open: `?` stands where the tool has nothing to fill in",
            target.shown,
            line(slip.span)
        );
        report.push_str(&(wrap(&text, output.width, "", "  ") + "\n"));
    }
    let after = apply(&before, &solution.edits())
        .ok_or_else(|| "a fault in trialfit itself: its edits do not fit together; nothing was written".to_string())?;
    let change = (after != before).then_some((before, after));
    Ok(Shown { report, filled, left, change })
}

/// One blank and what became of it.
fn told(answer: &Answer, analysis: &Analysis, path: &str, line: u32, width: usize) -> String {
    let said = |span: Span| analysis.reading(analysis.file).map_or("", |reading| reading.slice(span));
    let (word, header) = (said(answer.blank.head), said(answer.blank.header));
    let rule = match &answer.outcome {
        Outcome::Filled(filled) => filled.rule,
        Outcome::Insoluble(insoluble) => Some(insoluble.rule),
        Outcome::Open(_) => None,
    };
    let rule = rule.map_or(String::new(), |rule| format!(" [{}]", rule.name));
    let text = format!("{path}:{line}: `{word}` of `{header}`: {}{rule}", answer.says());
    wrap(&one_line(&text), width, "", "  ") + "\n"
}

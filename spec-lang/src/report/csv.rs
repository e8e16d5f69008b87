//! Rows for spreadsheets, quoted as RFC 4180 says: of figures, of margins, and of whatever an edge lists. Lines end with CRLF; a cell of free text
//! that a spreadsheet would take for a formula starts with an apostrophe.

use super::{Answers, Locator, Naming, answer_word, one_line};
use crate::analysis::Analysis;
use crate::doubts::Eaten;
use crate::rules::{Judged, Question};

/// The first row of figures.
pub const FIGURES_HEAD: &str = "path,job,number,section,name,what,case,line,worst,unit,si_value\r\n";
/// The first row of margins.
pub const MARGINS_HEAD: &str = "path,job,margin_percent,what,rule,low,nominal,high,bound,limit,unit,whose,line,column,\
                                doubt,doubt_line,doubt_takes_percent,doubt_share_percent\r\n";

/// The first row of an account.
pub const ACCOUNT_HEAD: &str =
    "path,job,block,line,rule,guards,answer,words,figure,limit,unit,whose,rests_on_lines\r\n";

/// A cell of free text, on one line; one that a spreadsheet would take for a formula starts with an apostrophe.
pub fn csv_text(words: &str) -> String {
    let words = one_line(words);
    let risky = words.starts_with(['=', '+', '-', '@', '\t', '\r']);
    quoted(&if risky { format!("'{words}") } else { words.to_string() })
}

fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\r', '\n']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.to_string() }
}

/// A number that spreadsheets read; empty where it is not finite.
fn number(value: f64) -> String {
    let tidy = format!("{value:.9e}").parse::<f64>().unwrap_or(value);
    if tidy.is_finite() { format!("{tidy}") } else { String::new() }
}

/// A row of cells that are quoted already, with its line end.
pub fn csv_row(cells: &[String]) -> String {
    cells.join(",") + "\r\n"
}

fn title(analysis: &Analysis) -> String {
    csv_text(analysis.job.title.as_deref().unwrap_or(""))
}

/// A row a figure, in the order of the figures. Each stands at the worst end of every stated doubt.
pub fn figures_csv(analysis: &Analysis, path: &str) -> String {
    let mut locator = Locator::new(analysis);
    let mut out = String::new();
    for (count, figure) in analysis.shown().list.iter().enumerate() {
        let line = locator.start(figure.subject).line;
        out.push_str(&csv_row(&[
            csv_text(path),
            title(analysis),
            (count + 1).to_string(),
            csv_text(figure.section.title()),
            figure.name.to_string(),
            csv_text(&figure.title),
            csv_text(figure.case),
            line.to_string(),
            number(figure.unit.from_si(figure.value)),
            csv_text(figure.unit.symbol),
            number(figure.value),
        ]));
    }
    out
}

/// A row a margin, the tightest first; those that a filter leaves.
pub fn margins_csv(
    analysis: &Analysis,
    eaten: &[Option<Eaten>],
    wanted: &dyn Fn(&Judged) -> bool,
    name: Naming<'_>,
) -> String {
    let mut locator = Locator::new(analysis);
    let mut out = String::new();
    for (judged, eaten) in analysis.margins().iter().zip(eaten).filter(|(judged, _)| wanted(judged)) {
        let at = locator.start(judged.place);
        let read = |value: f64| number(judged.in_unit(value));
        let (doubt, line, takes, share) = match eaten {
            Some(eaten) => (
                csv_text(analysis.reading(eaten.place.file).map_or("", |reading| reading.slice(eaten.place.span))),
                locator.start(eaten.place).line.to_string(),
                number(eaten.takes * 100.0),
                number(eaten.share * 100.0),
            ),
            None => Default::default(),
        };
        out.push_str(&csv_row(&[
            csv_text(&name(judged.place.file)),
            title(analysis),
            number(judged.margin() * 100.0),
            csv_text(&judged.what),
            judged.rule.name.to_string(),
            read(judged.figure.low),
            read(judged.figure.nominal),
            read(judged.figure.high),
            judged.bound.words().to_string(),
            read(judged.limit),
            csv_text(judged.unit.symbol),
            csv_text(&judged.whose.to_string()),
            at.line.to_string(),
            at.column.to_string(),
            doubt,
            line,
            takes,
            share,
        ]));
    }
    out
}

/// A row a question of the account, in the order of the rules; only those that `wanted` picks.
pub fn account_csv(analysis: &Analysis, wanted: &dyn Fn(&Question) -> bool, path: &str) -> String {
    let answers = Answers::of(analysis);
    let mut locator = Locator::new(analysis);
    let mut out = String::new();
    for question in analysis.account().questions.iter().filter(|question| wanted(question)) {
        let held = answers.figure(question);
        let lines = question.rests_on.iter().filter(|place| place.file == analysis.file);
        let lines: Vec<String> = lines.map(|place| locator.start(*place).line.to_string()).collect();
        let block = analysis.reading(question.of.file).map_or("", |reading| reading.slice(question.of.span));
        out.push_str(&csv_row(&[
            csv_text(path),
            title(analysis),
            csv_text(block),
            locator.start(question.of).line.to_string(),
            question.rule.name.to_string(),
            csv_text(question.rule.guards.title()),
            answer_word(&question.answer).to_string(),
            csv_text(&answers.words(question, &mut locator)),
            held.map_or(String::new(), |held| number(held.in_unit(held.worst()))),
            held.map_or(String::new(), |held| number(held.in_unit(held.limit))),
            held.map_or(String::new(), |held| csv_text(held.unit.symbol)),
            held.map_or(String::new(), |held| csv_text(&held.whose.to_string())),
            lines.join(" "),
        ]));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_quoted_and_no_text_is_taken_for_a_formula() {
        assert_eq!(csv_text("plain"), "plain");
        assert_eq!(csv_text("a \"b\", c"), "\"a \"\"b\"\", c\"");
        for start in ["=1+1", "+1", "-1", "@sum"] {
            assert_eq!(csv_text(start), format!("'{start}"));
        }
        assert_eq!(csv_text("=a,b"), "\"'=a,b\"");
        assert_eq!(number(-0.1 - 0.2), "-0.3");
        assert_eq!(number(f64::INFINITY), "");
    }
}

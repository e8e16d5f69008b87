//! Rows of a table become the texts of jobs, as a `table` block maps its columns. Strings in, strings out: the table's
//! file is read and the jobs are written elsewhere, and what a job is worth is judged by the rules alone.

use crate::Analysis;
use crate::finding::Finding;
use crate::reading::{Arg, Block, Reading, Statement, Value};
use crate::rules::Family;
use crate::syntax::{read_tree, tidy};
use crate::text::{Span, apply};
use crate::vocabulary::{Atom, Kind, Role, kind_of_header, property};
use std::sync::Arc;

/// What the cells of a column say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Target {
    /// The job's title.
    Title,
    /// A property of the job.
    Job(String),
    /// The answer to something that the kit asks for.
    Answer(String),
    /// A property of another block: the block's kind, its name, the property.
    Thing(Kind, String, String),
    /// Nothing: the column is known and left out.
    LeftOut,
}

/// A column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its heading.
    pub heading: String,
    /// What its cells say.
    pub target: Target,
    /// The unit of bare numbers, where one is said.
    pub unit: Option<String>,
    /// The statement.
    pub span: Span,
}

/// How the rows of a table become jobs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// Its name.
    pub name: String,
    /// Its header.
    pub header: Span,
    /// The kit, and what it is called in each job.
    pub fits: Option<(String, String)>,
    /// Its columns, in the order written.
    pub columns: Vec<Column>,
    /// The heading of the column that names the files.
    pub file_names: Option<String>,
    /// Whether the decimal sign of its numbers is a comma.
    pub decimal_comma: bool,
}

/// A cell, a column or a row that could not be taken in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unread {
    /// The column's heading, where it is one column's fault.
    pub heading: Option<String>,
    /// What is wrong, and what would be right.
    pub why: String,
}

/// The job that a row became.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The name of its file, without a folder.
    pub file_name: String,
    /// Its text.
    pub text: String,
    /// The heading that each line of it comes from, by line number from 0.
    lines: Vec<Option<String>>,
}

/// The tables that a file maps.
pub fn tables(reading: &Reading) -> Vec<Table> {
    let blocks = reading.blocks.iter().filter(|block| block.kind == Some(Kind::Table));
    blocks.map(|block| read_table(reading, block)).collect()
}

fn read_table(reading: &Reading, block: &Block) -> Table {
    let mut table = Table {
        name: block.name.map_or(String::new(), |name| reading.slice(name).to_string()),
        header: block.header,
        fits: None,
        columns: Vec::new(),
        file_names: None,
        decimal_comma: false,
    };
    for statement in reading.statements(block).iter().filter(|statement| statement.whole) {
        let said = |role: Role| said(reading, statement, role);
        match statement.word.map_or("", |word| word.word) {
            "fits" => table.fits = said(Role::What).zip(said(Role::Owner)),
            "column" => table.columns.extend(read_column(reading, statement)),
            "file-names" => table.file_names = said(Role::What),
            "decimal" => table.decimal_comma = said(Role::What).as_deref() == Some("comma"),
            _ => {}
        }
    }
    table
}

fn said(reading: &Reading, statement: &Statement, role: Role) -> Option<String> {
    let arg: &Arg = reading.args(statement).iter().find(|arg| arg.role == role)?;
    Some(match arg.value {
        Value::Choice(word) => word.to_string(),
        Value::Text => reading.plain_text(arg.span).to_string(),
        _ => reading.slice(arg.span).to_string(),
    })
}

fn read_column(reading: &Reading, statement: &Statement) -> Option<Column> {
    let said = |role: Role| said(reading, statement, role);
    let by = said(Role::By)?;
    let target = match (by.as_str(), said(Role::Owner), said(Role::Property)) {
        ("title", ..) => Target::Title,
        ("left-out", ..) => Target::LeftOut,
        ("job", _, Some(word)) => Target::Job(word),
        ("answer", _, Some(asked)) => Target::Answer(asked),
        (kind, Some(name), Some(word)) => Target::Thing(kind_of_header(kind, None)?, name, word),
        _ => return None,
    };
    Some(Column { heading: said(Role::What)?, target, unit: said(Role::Unit), span: statement.span })
}

impl Table {
    /// What keeps the table as a whole from being taken in under these headings: columns that are not there, headings
    /// that no column maps, words that the block they go to does not know.
    pub fn faults(&self, headings: &[&str]) -> Vec<Unread> {
        let fault = |heading: Option<&str>, why: String| Unread { heading: heading.map(str::to_string), why };
        let mut out = Vec::new();
        if self.fits.is_none() {
            out.push(fault(None, "the table names no kit; write `fits KIT as NAME`".to_string()));
        }
        match &self.file_names {
            None => out.push(fault(
                None,
                "the table has no `file-names` line; write one with the heading of the column that names the files"
                    .to_string(),
            )),
            Some(heading) if !headings.contains(&heading.as_str()) => {
                out.push(fault(Some(heading), "`file-names` asks for this heading, and no column has it".to_string()));
            }
            Some(_) => {}
        }
        for column in &self.columns {
            if !headings.contains(&column.heading.as_str()) {
                out.push(fault(Some(&column.heading), "no column has this heading".to_string()));
            }
            let (kind, word) = match &column.target {
                Target::Job(word) => (Kind::Job, word),
                Target::Thing(kind, _, word) => (*kind, word),
                _ => continue,
            };
            if property(kind, word).is_none() {
                let known = crate::vocabulary::words_of(kind);
                let near = crate::vocabulary::nearest(word, known.words().map(|word| word.word));
                let near = near.map_or(String::new(), |near| format!("; did you mean `{near}`?"));
                out.push(fault(Some(&column.heading), format!("`{}` has no word `{word}`{near}", known.reads())));
            }
        }
        for (number, heading) in headings.iter().enumerate() {
            if heading.is_empty() {
                out.push(fault(None, format!("column {} has no heading", number + 1)));
            } else if headings.iter().take(number).any(|before| before == heading) {
                out.push(fault(Some(heading), "two columns have this heading".to_string()));
            } else if self.file_names.as_deref() != Some(heading)
                && !self.columns.iter().any(|it| it.heading == *heading)
            {
                out.push(fault(
                    Some(heading),
                    "no `column` line is for it; write one, or write `left-out` for it".to_string(),
                ));
            }
        }
        out
    }

    /// The job of a row. `follows` is the path from the job's folder to the file that the table stands in, `made_from`
    /// says where the row is: `orders.csv, row 4`. Whatever of it could not be taken in is listed beside it.
    pub fn job_of(
        &self,
        headings: &[&str],
        row: &[&str],
        follows: &str,
        made_from: &str,
    ) -> (Option<Written>, Vec<Unread>) {
        let mut unread = Vec::new();
        let cell = |heading: &str| {
            let at = headings.iter().position(|known| *known == heading)?;
            row.get(at).map(|cell| cell.trim()).filter(|cell| !cell.is_empty())
        };
        if row.len() != headings.len() {
            let why = format!("the row has {} cells; the table has {} headings", row.len(), headings.len());
            return (None, vec![Unread { heading: None, why }]);
        }
        let named = self.file_names.as_deref().and_then(cell).map(file_name).filter(|name| !name.is_empty());
        let Some(named) = named else {
            let why = "this cell should name the file; it is empty, or has no letter and no digit".to_string();
            return (None, vec![Unread { heading: self.file_names.clone(), why }]);
        };
        let mut title = named.clone();
        let mut blocks: Vec<(String, Vec<Line>)> = vec![(String::new(), Vec::new())];
        let mut answers = Vec::new();
        for column in &self.columns {
            let Some(cell) = cell(&column.heading) else { continue };
            let line = |word: &str, form: Form| match self.value(cell, column.unit.as_deref(), form) {
                Ok(value) => Ok(Line { said: format!("  {word} {value}"), heading: column.heading.clone() }),
                Err(why) => Err(Unread { heading: Some(column.heading.clone()), why }),
            };
            let (into, made) = match &column.target {
                Target::LeftOut => continue,
                Target::Title => {
                    title = plain(cell);
                    continue;
                }
                Target::Job(word) => (blocks.first_mut().map(|(_, lines)| lines), line(word, form_of(Kind::Job, word))),
                Target::Answer(asked) => (Some(&mut answers), line(asked, Form::Spoken)),
                Target::Thing(kind, name, word) => {
                    let header = format!("{} {name}", crate::vocabulary::words_of(*kind).header);
                    if !blocks.iter().any(|(known, _)| *known == header) {
                        blocks.push((header.clone(), Vec::new()));
                    }
                    let lines = blocks.iter_mut().find(|(known, _)| *known == header).map(|(_, lines)| lines);
                    (lines, line(word, form_of(*kind, word)))
                }
            };
            match (into, made) {
                (Some(lines), Ok(line)) => lines.push(line),
                (_, Err(fault)) => unread.push(fault),
                (None, Ok(_)) => {}
            }
        }
        let (kit, called) = self.fits.clone().unwrap_or_default();
        let mut page = Page::default();
        page.say("trialfit 1", None);
        page.say(&format!("# Made from {}.", plain(made_from)), None);
        page.say(&format!("follows \"{follows}\""), None);
        page.block(&format!("job \"{title}\""), blocks.first().map_or(&[], |(_, lines)| lines.as_slice()));
        for (header, lines) in blocks.iter().skip(1) {
            page.block(header, lines);
        }
        page.block(&format!("fit {kit} as {called}"), &answers);
        (Some(page.written(format!("{named}.trialfit"))), unread)
    }

    /// A cell as the language says it.
    fn value(&self, cell: &str, unit: Option<&str>, form: Form) -> Result<String, String> {
        if form == Form::Quoted {
            return Ok(format!("\"{}\"", plain(cell)));
        }
        if cell.contains(['\n', '\r', '#', '"']) {
            return Err(format!("`{}` has a line break, a `#` or a quote in it; take that out", plain(cell)));
        }
        let Some(number) = self.number(cell)? else { return Ok(cell.to_string()) };
        Ok(match unit {
            Some(unit) => format!("{number} {unit}"),
            None => number,
        })
    }

    /// A cell that is one bare number, with a decimal point; `None` for anything else.
    fn number(&self, cell: &str) -> Result<Option<String>, String> {
        let unsigned = cell.strip_prefix(['-', '+']).unwrap_or(cell);
        let bare = unsigned.starts_with(|first: char| first.is_ascii_digit())
            && unsigned
                .chars()
                .all(|letter| letter.is_ascii_digit() || matches!(letter, '.' | ',' | ' ' | '\u{a0}' | '\u{202f}'));
        if !bare {
            return Ok(None);
        }
        let (decimal, grouping) = if self.decimal_comma { (',', '.') } else { ('.', ',') };
        let digits: String = cell.chars().filter(|letter| !letter.is_whitespace()).collect();
        let (whole, part) =
            digits.split_once(decimal).map_or((digits.as_str(), None), |(whole, part)| (whole, Some(part)));
        if part.is_some_and(|part| part.is_empty() || !part.chars().all(|letter| letter.is_ascii_digit())) {
            return Err(format!("`{cell}` has more than one decimal sign, or no digit after it"));
        }
        if whole.contains(grouping) {
            let one = cell.replace(grouping, if self.decimal_comma { "," } else { "." });
            let other: String = whole.chars().filter(|letter| *letter != grouping).collect();
            return Err(format!(
                "`{cell}` may mean {one} or {other}; write it without a sign for thousands, or write `decimal {}` in the table",
                if self.decimal_comma { "point" } else { "comma" }
            ));
        }
        let whole = whole.strip_prefix('+').unwrap_or(whole);
        Ok(Some(part.map_or_else(|| whole.to_string(), |part| format!("{whole}.{part}"))))
    }
}

impl Written {
    /// What of a job, judged, its row did not say as the language wants it: slips, names that are not there, answers that
    /// the kit does not take. Everything else that was found in it is the job's own.
    pub fn unread(&self, analysis: &Analysis) -> Vec<Unread> {
        let Some(reading) = analysis.reading(analysis.file) else { return Vec::new() };
        let own = |finding: &&Finding| {
            finding.place.file == analysis.file
                && matches!(finding.rule.family, Family::Text | Family::Names)
                && finding.severity == crate::finding::Severity::Error
        };
        let heading =
            |finding: &Finding| self.lines.get(reading.tree.line_at(finding.place.span.start)).cloned().flatten();
        let found = analysis.findings.iter().filter(own);
        found.map(|finding| Unread { heading: heading(finding), why: finding.title.clone() }).collect()
    }
}

/// How a property takes a cell.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    /// As free text.
    Quoted,
    /// As it stands.
    Spoken,
}

fn form_of(kind: Kind, word: &str) -> Form {
    let first = property(kind, word).and_then(|word| word.forms.first()?.head.first()?.1.first());
    if matches!(first, Some(Atom::Text(_))) { Form::Quoted } else { Form::Spoken }
}

struct Line {
    said: String,
    heading: String,
}

#[derive(Default)]
struct Page {
    text: String,
    lines: Vec<Option<String>>,
}

impl Page {
    fn say(&mut self, line: &str, heading: Option<&str>) {
        self.text.push_str(line);
        self.text.push('\n');
        self.lines.push(heading.map(str::to_string));
    }

    fn block(&mut self, header: &str, lines: &[Line]) {
        self.say("", None);
        self.say(header, None);
        for line in lines {
            self.say(&line.said, Some(&line.heading));
        }
    }

    /// The page in order: tidying moves no line.
    fn written(self, file_name: String) -> Written {
        let tree = read_tree(Arc::from(self.text.as_str()));
        let text = apply(&self.text, &tidy(&tree)).unwrap_or(self.text);
        Written { file_name, text, lines: self.lines }
    }
}

/// A cell as quoted text takes it: on one line, without the quote that would end it.
fn plain(cell: &str) -> String {
    cell.split_whitespace().collect::<Vec<_>>().join(" ").replace('"', "'")
}

/// A cell as a file's name on any system: letters, digits, `-`, `_` and `.` stay, whatever else becomes one `-`.
fn file_name(cell: &str) -> String {
    /// Names that some systems keep for devices.
    const KEPT: &[&str] = &["con", "prn", "aux", "nul", "com1", "com2", "com3", "com4", "lpt1", "lpt2", "lpt3"];
    let mut name = String::new();
    for letter in cell.chars() {
        if letter.is_alphanumeric() || matches!(letter, '_' | '.') {
            name.push(letter);
        } else if !name.ends_with('-') {
            name.push('-');
        }
    }
    let name = name.trim_matches(['-', '.']);
    if KEPT.contains(&name.to_lowercase().as_str()) {
        return format!("{name}-job");
    }
    name.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &str = "trialfit 1\n\ntable orders\n  fits bunk-24 as bunk\n  file-names \"Order\"\n  column \"Order\", job number\n  column \"What\", title\n  column \"Cold\", job design-cold, in °C\n  column \"Tank run\", answer tank-run, in m\n  column \"Room\", space cab volume, in m³\n  column \"Owner\", left-out\n";
    const HEADINGS: &[&str] = &["Order", "What", "Cold", "Tank run", "Room", "Owner"];

    fn table(more: &str) -> Table {
        let reading = Reading::new(Arc::from(format!("{TABLE}{more}")));
        assert!(reading.slips.is_empty(), "{:?}", reading.slips);
        tables(&reading).into_iter().next().unwrap()
    }

    #[test]
    fn a_row_becomes_a_job_in_order() {
        let table = table("");
        assert_eq!(table.faults(HEADINGS), Vec::new());
        let row = ["FL 12/3", "Sleeper \"north\"", "-25", "3.2", "7", "somebody"];
        let (written, unread) = table.job_of(HEADINGS, &row, "../vans.trialfit", "orders.csv, row 2");
        let written = written.unwrap();
        assert_eq!(unread, Vec::new());
        assert_eq!(written.file_name, "FL-12-3.trialfit");
        assert_eq!(
            written.text,
            "trialfit 1\n# Made from orders.csv, row 2.\nfollows \"../vans.trialfit\"\n\njob \"Sleeper 'north'\"\n  number        \"FL 12/3\"\n  design-cold   -25 °C\n\nspace cab\n  volume        7 m³\n\nfit bunk-24 as bunk\n  tank-run      3.2 m\n"
        );
    }

    #[test]
    fn numbers_are_taken_as_the_table_says_and_never_guessed() {
        let (point, comma) = (table(""), table("  decimal comma\n"));
        assert_eq!(point.number("1,250").map_err(|why| why.contains("1.250 or 1250")), Err(true));
        assert_eq!(comma.number("1.250").map_err(|why| why.contains("1,250 or 1250")), Err(true));
        assert_eq!(comma.number("-3,25"), Ok(Some("-3.25".to_string())));
        assert_eq!(comma.number("1 250,5"), Ok(Some("1250.5".to_string())));
        assert_eq!(point.number("3.2 m"), Ok(None), "a cell may say its unit itself");
        assert!(point.number("3.2.1").is_err());
        assert!(point.value("3 # 4", None, Form::Spoken).is_err(), "a comment would swallow the rest");
    }

    #[test]
    fn headings_that_nobody_maps_and_columns_that_are_not_there_are_said() {
        let table = table("  column \"Colour\", vehicle van colour\n");
        let faults = table.faults(&["Order", "What", "Cold", "Tank run", "Room", "Owner", "Driver", "What"]);
        let said: Vec<String> = faults.iter().map(|it| format!("{:?} {}", it.heading, it.why)).collect();
        assert_eq!(said.len(), 4, "{said:#?}");
    }

    #[test]
    fn a_row_that_names_no_file_or_lacks_cells_becomes_none() {
        let table = table("");
        for row in [&["//", "a", "1", "2", "3", "x"][..], &["FL-1", "a"]] {
            let (written, unread) = table.job_of(HEADINGS, row, "a", "b");
            assert!(written.is_none() && unread.len() == 1, "{unread:?}");
        }
        assert_eq!(file_name("CON"), "CON-job");
    }
}

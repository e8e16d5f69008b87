//! The sum of a run for people, with tables that read well in a terminal and on the job page of a build server (GitHub
//! Flavored Markdown). Nothing is judged here, and what counts is decided by the caller.

use super::{CAUTION, Counts, Debt, Terms, one_line};
use crate::finding::{Conceded, Severity};
use crate::reading::Date;
use crate::rules::Rule;
use std::collections::{BTreeMap, BTreeSet};

/// How many of the worst files are shown.
const WORST: usize = 10;

/// What a finding is to the outcome of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// It counts.
    Counts,
    /// It is milder than what was asked for.
    Milder,
    /// It stands in the record of known findings.
    Known,
}

/// Of one rule at one severity.
#[derive(Debug, Default)]
struct Row {
    count: usize,
    files: BTreeSet<String>,
    life_safety: bool,
}

/// Of one file.
#[derive(Debug, Default)]
struct File {
    errors: usize,
    warnings: usize,
    advice: usize,
    not_judged: usize,
}

/// What a run has found so far.
#[derive(Debug, Default)]
pub struct Summary {
    rows: BTreeMap<(Severity, &'static str), Row>,
    known: BTreeMap<&'static str, Row>,
    files: BTreeMap<String, File>,
    guarding_life: Vec<String>,
    not_judged: Vec<String>,
    /// The last day, where there is one, and the words.
    set_aside: Vec<(Option<String>, String)>,
    unreadable: Vec<(String, String)>,
    /// By the last day and by who answers for it.
    owed: BTreeMap<(Date, String), Owed>,
}

/// What is owed until one day.
#[derive(Debug, Default)]
struct Owed {
    facts: usize,
    files: BTreeSet<String>,
    oldest: Option<i64>,
}

impl Summary {
    /// Adds a finding of a file; `line` is its one-line form.
    pub fn add(
        &mut self,
        rule: &'static Rule,
        guards_life: bool,
        severity: Severity,
        what: What,
        file: &str,
        line: &str,
    ) {
        let row = match what {
            What::Known => self.known.entry(rule.name).or_default(),
            What::Counts | What::Milder => self.rows.entry((severity, rule.name)).or_default(),
        };
        row.count += 1;
        row.files.insert(file.to_string());
        row.life_safety |= guards_life;
        if what == What::Known {
            return;
        }
        if guards_life {
            self.guarding_life.push(line.to_string());
        }
        let file = self.files.entry(file.to_string()).or_default();
        match severity {
            Severity::Error => file.errors += 1,
            Severity::Warning => file.warnings += 1,
            Severity::Advice => file.advice += 1,
        }
    }

    /// Adds a finding that a concession sets aside.
    pub fn add_set_aside(&mut self, conceded: &Conceded, line: &str) {
        self.set_aside.push((conceded.until.clone(), line.to_string()));
    }

    /// Adds what a safety rule could not judge in a file.
    pub fn add_not_judged(&mut self, file: &str, line: &str) {
        self.files.entry(file.to_string()).or_default().not_judged += 1;
        self.not_judged.push(line.to_string());
    }

    /// Adds a missing fact that is owed.
    pub fn add_debt(&mut self, file: &str, debt: &Debt) {
        let Some(Terms { until, by, .. }) = &debt.terms else { return };
        let owed = self.owed.entry((*until, by.clone())).or_default();
        owed.facts += 1;
        owed.files.insert(file.to_string());
        owed.oldest = owed.oldest.max(debt.days_old);
    }

    /// Adds a file that could not be read.
    pub fn add_unreadable(&mut self, file: &str, reason: &str) {
        self.unreadable.push((file.to_string(), reason.to_string()));
    }

    /// The whole, with the sum of the run. Findings milder than `mildest` do not count; `record` is what was said of the
    /// record of known findings, where there was one.
    pub fn text(mut self, counts: &Counts, mildest: Severity, record: &[String]) -> String {
        let mut out = format!("# trialfit: {}\n\n{CAUTION}\n", counts.line());
        self.life(&mut out);
        for severity in [Severity::Error, Severity::Warning, Severity::Advice] {
            self.table(&mut out, severity, severity < mildest);
        }
        self.worst(&mut out);
        self.rest(&mut out);
        if !record.is_empty() || !self.known.is_empty() {
            let mut rows: Vec<_> = self.known.iter().collect();
            rows.sort_by_key(|(_, row)| std::cmp::Reverse(row.count));
            out.push_str("\n## Known findings, which do not count\n\n");
            record.iter().for_each(|line| out.push_str(&format!("{line}\n")));
            if !rows.is_empty() {
                let cells = rows
                    .iter()
                    .map(|(rule, row)| vec![(*rule).to_string(), row.count.to_string(), row.files.len().to_string()]);
                if !record.is_empty() {
                    out.push('\n');
                }
                table(&mut out, &["rule", "findings", "files"], cells.collect());
            }
        }
        self.debts(&mut out, counts);
        out.push_str(&format!(
            "\nWhat counts: {}, whatever could not be judged, and whatever could not be read. Findings that a concession \
             sets aside, or that the record knows, do not count, and a missing fact that is owed does not count until its \
             last day is over. Findings that guard life are never in that record. A debt is no approval.\n",
            match mildest {
                Severity::Error => "errors (`--fail-on error`)",
                Severity::Warning => "errors and warnings (`--fail-on warning`)",
                Severity::Advice => "every finding",
            }
        ));
        out
    }

    fn debts(&self, out: &mut String, counts: &Counts) {
        if self.owed.is_empty() {
            return;
        }
        out.push_str(&format!("\n## Debts: {}\n\n", cell(&counts.debts.line())));
        let cells = self.owed.iter().map(|((until, by), owed)| {
            let oldest = owed.oldest.map_or(String::new(), |days| days.to_string());
            vec![by.clone(), until.to_string(), owed.facts.to_string(), owed.files.len().to_string(), oldest]
        });
        table(out, &["who answers for it", "last day", "facts", "files", "oldest, days"], cells.collect());
    }

    fn life(&self, out: &mut String) {
        list(out, &format!("## {} NOT JUDGED: such a job is not clean", self.not_judged.len()), &self.not_judged);
        list(out, &format!("## {} that can poison, burn or kill", self.guarding_life.len()), &self.guarding_life);
    }

    fn table(&self, out: &mut String, severity: Severity, milder: bool) {
        let of = self.rows.iter().filter(|((known, _), _)| *known == severity);
        let mut rows: Vec<_> = of.map(|((_, rule), row)| (*rule, row)).collect();
        if rows.is_empty() {
            return;
        }
        rows.sort_by_key(|(rule, row)| (std::cmp::Reverse(row.count), *rule));
        let sum: usize = rows.iter().map(|(_, row)| row.count).sum();
        let what = match (severity, sum) {
            (Severity::Error, 1) => "error",
            (Severity::Error, _) => "errors",
            (Severity::Warning, 1) => "warning",
            (Severity::Warning, _) => "warnings",
            (Severity::Advice, 1) => "piece of advice",
            (Severity::Advice, _) => "pieces of advice",
        };
        out.push_str(&format!("\n## {sum} {what}{}\n\n", if milder { ", which do not count" } else { "" }));
        let cells = rows.iter().map(|(rule, row)| {
            let life = if row.life_safety { "yes" } else { "" };
            vec![(*rule).to_string(), row.count.to_string(), row.files.len().to_string(), life.to_string()]
        });
        table(out, &["rule", "findings", "files", "guards life"], cells.collect());
    }

    fn worst(&self, out: &mut String) {
        let mut files: Vec<_> = self.files.iter().collect();
        let rank = |file: &File| (file.errors + file.not_judged, file.warnings, file.advice);
        files.sort_by(|(left, one), (right, other)| rank(other).cmp(&rank(one)).then(left.cmp(right)));
        if files.is_empty() {
            return;
        }
        let all = files.len();
        files.truncate(WORST);
        let left = if all > files.len() { format!(", the worst {} of {all}", files.len()) } else { String::new() };
        out.push_str(&format!("\n## Files{left}\n\n"));
        let cells = files.iter().map(|(name, file)| {
            let numbers = [file.errors, file.not_judged, file.warnings, file.advice];
            let mut cells = vec![(*name).clone()];
            cells.extend(numbers.iter().map(usize::to_string));
            cells
        });
        table(out, &["file", "errors", "NOT JUDGED", "warnings", "advice"], cells.collect());
    }

    fn rest(&mut self, out: &mut String) {
        self.set_aside.sort_by(|(one, _), (other, _)| (one.is_none(), one).cmp(&(other.is_none(), other)));
        let lines: Vec<String> = self.set_aside.iter().map(|(_, line)| line.clone()).collect();
        list(out, &format!("## {} set aside by concession, the one that ends first on top", lines.len()), &lines);
        let lines: Vec<String> = self.unreadable.iter().map(|(file, reason)| format!("{file}: {reason}")).collect();
        list(out, &format!("## {} that could not be read", lines.len()), &lines);
    }
}

fn list(out: &mut String, title: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    out.push_str(&format!("\n{title}\n\n"));
    lines.iter().for_each(|line| out.push_str(&format!("- {}\n", cell(line))));
}

/// A text that stays on its line and is nothing but text on a page that knows tables and tags.
fn cell(text: &str) -> String {
    one_line(text).replace('|', "\\|").replace('<', "\\<")
}

/// A table whose first column is text and whose others are short.
fn table(out: &mut String, heads: &[&str], rows: Vec<Vec<String>>) {
    let rows: Vec<Vec<String>> = rows.into_iter().map(|row| row.iter().map(|text| cell(text)).collect()).collect();
    let heads: Vec<String> = heads.iter().map(|head| (*head).to_string()).collect();
    let long = |text: &String| text.chars().count();
    let wide = |column: usize| {
        let cells = std::iter::once(&heads).chain(&rows).filter_map(|row| row.get(column));
        cells.map(long).max().unwrap_or(0).max(3)
    };
    let widths: Vec<usize> = (0..heads.len()).map(wide).collect();
    let mut row = |cells: &[String]| {
        for (number, (text, width)) in cells.iter().zip(&widths).enumerate() {
            out.push_str(&if number == 0 { format!("| {text:<width$} ") } else { format!("| {text:>width$} ") });
        }
        out.push_str("|\n");
    };
    row(&heads);
    let rule = |(number, width): (usize, &usize)| {
        if number == 0 { "-".repeat(*width) } else { "-".repeat(width.saturating_sub(1)) + ":" }
    };
    row(&widths.iter().enumerate().map(rule).collect::<Vec<_>>());
    rows.iter().for_each(|cells| row(cells));
}

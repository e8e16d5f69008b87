//! What can be done at a place: mend it, mend all of its kind, fill a blank, change a unit, add a block that is missing,
//! grant a concession, move what jobs share to the followed file. Edits that overlap are never offered together.

use super::fixes::fixes;
use super::hover::CONVERSIONS;
use super::names::names_of;
use crate::Analysis;
use crate::blanks::blanks;
use crate::finding::{Finding, Remedy};
use crate::model::Heater;
use crate::reading::{Block, Date, Reading, Statement, Value, expected_after};
use crate::rules::{Guards, OPEN_BLANK};
use crate::source::{FileId, Place};
use crate::syntax::ItemKind;
use crate::text::{Edit, Span};
use crate::units::{Dimension, Doubt, Quantity, UNITS, Unit};
use crate::vocabulary::{Atom, Kind, KindSet, Role, property};

/// What sort of thing is offered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OfferKind {
    /// Mends one finding.
    Mend,
    /// Mends every finding of one rule in the file.
    MendAllOfKind,
    /// Mends all that can be mended unseen.
    MendAll,
    /// Fills a blank.
    Fill,
    /// Fills every blank of the file.
    FillAll,
    /// Sets a finding aside in writing.
    Concede,
    /// Writes the same in other words.
    Rewrite,
    /// Adds what is missing.
    Add,
    /// Moves what jobs share to the file that they follow.
    Share,
}

/// Something that can be done.
#[derive(Clone, Debug)]
pub struct Offer<'a> {
    /// What it does, as an order.
    pub title: String,
    /// What sort of thing it is.
    pub kind: OfferKind,
    /// The edits, by file.
    pub edits: Vec<(FileId, Edit)>,
    /// The finding that it answers.
    pub finding: Option<&'a Finding>,
    /// Whether it may be made unseen.
    pub unseen: bool,
}

/// How long a concession holds that is offered: a season and its repairs. Common practice, no source.
const CONCESSION_DAYS: u64 = 90;
/// The most names offered for a blank.
const MOST_NAMES: usize = 8;

/// Everything that can be done at a span of the file; `days` is today, counted from 1970, where the edge knows it.
pub fn offers(analysis: &Analysis, span: Span, days: Option<u64>) -> Vec<Offer<'_>> {
    let mut out = Vec::new();
    let at_hand = fixes(analysis, span);
    for fix in &at_hand {
        out.push(Offer {
            title: fix.remedy.title.clone(),
            kind: OfferKind::Mend,
            edits: fix.remedy.edits.clone(),
            finding: Some(fix.finding),
            unseen: fix.remedy.unseen,
        });
    }
    let mut rules: Vec<&Finding> = Vec::new();
    for fix in at_hand.iter().filter(|fix| fix.remedy.unseen) {
        if !rules.iter().any(|known| known.rule == fix.finding.rule) {
            rules.push(fix.finding);
        }
    }
    for finding in rules {
        let same = |other: &Finding| other.rule == finding.rule;
        let mut before = 1;
        for (within, where_) in
            [(Within::File, "in this file"), (Within::Job, "in this job and the files that it follows")]
        {
            let (count, edits) = all_of(analysis, within, same);
            if count > before {
                out.push(Offer {
                    title: format!("mend all {count} of `{}` {where_}", finding.rule.name),
                    kind: OfferKind::MendAllOfKind,
                    edits,
                    finding: Some(finding),
                    unseen: true,
                });
            }
            before = before.max(count);
        }
    }
    let Some(reading) = analysis.reading(analysis.file) else { return out };
    let here = Here { analysis, reading, line_end: line_end(reading) };
    out.extend(here.blank(span));
    out.extend(here.units(span));
    out.extend(here.missing_blocks(span));
    out.extend(here.shared_sheet(span));
    out.extend(here.shared_tube(span));
    out.extend(here.concessions(span, days));
    out
}

/// Every remedy of the file that may be made unseen and changes the text alone, together; nothing where there is none.
pub fn mend_all(analysis: &Analysis) -> Option<Offer<'_>> {
    let (count, edits) = all_of(analysis, Within::File, |finding| finding.rule.guards.is_of_the_text());
    (count > 0).then(|| Offer {
        title: format!("mend all {count} that need no look first"),
        kind: OfferKind::MendAll,
        edits,
        finding: None,
        unseen: true,
    })
}

/// How far edits may reach.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Within {
    File,
    Job,
}

/// The first remedy that may be made unseen of each standing finding that is picked, as far as their edits do not meet
/// and do not reach too far; with how many there are.
fn all_of(analysis: &Analysis, within: Within, pick: impl Fn(&Finding) -> bool) -> (usize, Vec<(FileId, Edit)>) {
    let mut edits: Vec<(FileId, Edit)> = Vec::new();
    let mut count = 0;
    let reached = |file: FileId| within == Within::Job || file == analysis.file;
    let fits = |remedy: &&Remedy| remedy.unseen && remedy.edits.iter().all(|(file, _)| reached(*file));
    for finding in analysis.standing().filter(|finding| pick(finding)) {
        let Some(remedy) = finding.remedies.iter().find(fits) else { continue };
        let meets = |file: FileId, edit: &Edit| {
            let touch = |known: &Edit| edit.span.start <= known.span.end && known.span.start <= edit.span.end;
            edits.iter().any(|(of, known)| *of == file && touch(known))
        };
        if remedy.edits.iter().any(|(file, edit)| meets(*file, edit)) {
            continue;
        }
        count += 1;
        edits.extend(remedy.edits.iter().cloned());
    }
    (count, edits)
}

/// The line end that the text uses first; LF where it has none.
fn line_end(reading: &Reading) -> &'static str {
    let text = &reading.tree.text;
    match text.find(['\n', '\r']).and_then(|at| text.get(at..)) {
        Some(rest) if rest.starts_with("\r\n") => "\r\n",
        Some(rest) if rest.starts_with('\r') => "\r",
        _ => "\n",
    }
}

/// A statement in the language's layout.
fn line(word: &str, value: &str) -> String {
    format!("  {word:<13} {value}")
}

/// A run that a heater needs: its kind, its header, and its words with what is known of them.
type Needed<'a> = (Kind, String, Vec<(&'a str, &'a str)>);

struct Here<'a> {
    analysis: &'a Analysis,
    reading: &'a Reading,
    line_end: &'static str,
}

impl<'a> Here<'a> {
    fn offer(&self, kind: OfferKind, title: String, edits: Vec<(FileId, Edit)>) -> Offer<'a> {
        Offer { title, kind, edits, finding: None, unseen: false }
    }

    fn own(&self, span: Span, insert: String) -> Vec<(FileId, Edit)> {
        vec![(self.analysis.file, Edit { span, insert })]
    }

    fn statement(&self, span: Span) -> Option<(&'a Block, &'a Statement)> {
        let (block, statement) = self.reading.at(span.start);
        Some((block?, statement?))
    }

    /// What passes for the blank at the cursor, all blanks at once, and the names that may stand there.
    fn blank(&self, span: Span) -> Vec<Offer<'a>> {
        let mut out = self.solved(span);
        let names = self.names_for_blank(span);
        let known = |offer: &Offer<'a>| out.iter().any(|solved| solved.edits == offer.edits);
        let names: Vec<Offer<'a>> = names.into_iter().filter(|offer| !known(offer)).collect();
        out.extend(names);
        out
    }

    /// What every rule lets pass: for the blank at the cursor, and for all of the file.
    fn solved(&self, span: Span) -> Vec<Offer<'a>> {
        let open = blanks(self.reading).iter().any(|blank| blank.span.touches(span.start));
        if !open {
            return Vec::new();
        }
        let solution = self.analysis.filled();
        let edits: Vec<_> = solution.edits().into_iter().map(|edit| (self.analysis.file, edit)).collect();
        let here = solution.at(span.start).and_then(|answer| Some((answer.blank.span, answer.edit()?)));
        let one = here.map(|(blank, edit)| {
            let at = |finding: &&Finding| finding.rule.name == OPEN_BLANK && finding.place.span == blank;
            let finding = self.analysis.standing().find(at);
            let title = format!("write {}", edit.insert);
            let edits = vec![(self.analysis.file, edit)];
            Offer { title, kind: OfferKind::Fill, edits, finding, unseen: true }
        });
        let count = edits.len();
        let all = (count > 1).then(|| Offer {
            title: format!("fill the {count} blanks of the job that can be filled"),
            kind: OfferKind::FillAll,
            edits,
            finding: None,
            unseen: true,
        });
        one.into_iter().chain(all).collect()
    }

    fn names_for_blank(&self, span: Span) -> Vec<Offer<'a>> {
        let found = self.statement(span).and_then(|(block, statement)| {
            let arg = self.reading.args(statement).iter().find(|arg| arg.span.touches(span.start))?;
            let word = block.property(self.reading.slice(statement.head))?;
            (arg.value == Value::Blank).then_some((statement, arg, word))
        });
        let Some((statement, arg, word)) = found else { return Vec::new() };
        let line = self.reading.tree.lines.get(statement.line as usize);
        let items = line.map_or(&[][..], |line| self.reading.tree.items(line));
        let before =
            items.iter().filter(|item| item.span.start > statement.head.start && item.span.end <= arg.span.start);
        let before: Vec<_> = before.copied().collect();
        let kinds = expected_after(&self.reading.tree.text, &before, word)
            .into_iter()
            .filter_map(|atom| match atom {
                Atom::FillableName(_, kinds) => Some(kinds),
                _ => None,
            })
            .fold(KindSet::NONE, KindSet::and);
        let names = names_of(self.analysis, kinds).into_iter().take(MOST_NAMES);
        names
            .map(|(name, reads)| {
                self.offer(OfferKind::Fill, format!("fill in `{name}`, {reads}"), self.own(arg.span, name))
            })
            .collect()
    }

    /// The quantity at the cursor in the other units of its dimension.
    fn units(&self, span: Span) -> Vec<Offer<'a>> {
        let arg = self.statement(span).and_then(|(_, statement)| {
            self.reading.args(statement).iter().find(|arg| arg.span.touches(span.start) && arg.span.touches(span.end))
        });
        let Some((arg, quantity)) = arg.and_then(|arg| match arg.value {
            Value::Quantity(quantity) => Some((arg, quantity)),
            _ => None,
        }) else {
            return Vec::new();
        };
        let dimension = quantity.dimension();
        // A conductor's gauge is a stock size, not another way to write an area.
        if dimension == Dimension::Conductor || quantity.unit.symbol == "mm²" {
            return Vec::new();
        }
        let symbols = CONVERSIONS.iter().find(|(known, _)| *known == dimension).map_or(&[][..], |(_, symbols)| symbols);
        let others = symbols.iter().filter(|symbol| **symbol != quantity.unit.symbol);
        let units = others.filter_map(|symbol| UNITS.iter().find(|unit| unit.spelling == *symbol));
        units
            .filter_map(|unit| {
                let text = written_in(&quantity, unit)?;
                Some(self.offer(OfferKind::Rewrite, format!("write as {text}"), self.own(arg.span, text)))
            })
            .collect()
    }

    /// The runs that the heater at the cursor needs and has not.
    fn missing_blocks(&self, span: Span) -> Vec<Offer<'a>> {
        let job = &self.analysis.job;
        let header = |place: Place| place.file == self.analysis.file && place.span.touches(span.start);
        let place = |heater: &Heater| job.real(heater.header);
        let Some((number, heater)) = job.heaters.iter().enumerate().find(|(_, heater)| header(place(heater))) else {
            return Vec::new();
        };
        let warms = job.sheet_of(number).and_then(|sheet| sheet.warms.get().copied());
        let only = |names: Vec<&str>| match names.as_slice() {
            [only] => (*only).to_string(),
            _ => "unknown".to_string(),
        };
        let tank = only(job.tanks.iter().map(|tank| tank.name.as_str()).collect());
        let battery = only(job.batteries.iter().map(|battery| battery.name.as_str()).collect());
        let of = &heater.name;
        let at = format!("at {of}");
        let needed: [Needed<'_>; 6] = [
            (
                Kind::Exhaust,
                format!("exhaust of {of}"),
                vec![("pipe", "unknown"), ("run", "unknown"), ("ends", "unknown")],
            ),
            (
                Kind::CombustionAir,
                format!("combustion-air of {of}"),
                vec![("hose", "unknown"), ("run", "unknown"), ("ends", "unknown")],
            ),
            (
                Kind::ReturnAir,
                format!("return-air of {of}"),
                vec![("duct", "unknown"), ("run", "unknown"), ("ends", "unknown")],
            ),
            (Kind::WarmAir, format!("warm-air main of {of}"), vec![("duct", "unknown"), ("run", "unknown")]),
            (
                Kind::FuelLine,
                format!("fuel-line of {of}"),
                vec![("from", &tank), ("line", "unknown"), ("pump", "unknown"), ("run", "unknown"), ("ends", &at)],
            ),
            (
                Kind::Cable,
                format!("cable supply of {of}"),
                vec![("from", &battery), ("size", "?"), ("fuse", "?"), ("run", "unknown"), ("ends", &at)],
            ),
        ];
        // The new block goes behind the last that belongs to the heater.
        let blocks = self.reading.blocks.iter().filter(|block| {
            block.header == place(heater).span || block.of.is_some_and(|name| self.reading.slice(name) == of)
        });
        let Some(last) = blocks
            .max_by_key(|block| block.last_line)
            .and_then(|block| self.reading.tree.lines.get(block.last_line as usize))
        else {
            return Vec::new();
        };
        let missing = needed.iter().filter(|(kind, _, _)| {
            let wanted = !matches!(kind, Kind::ReturnAir | Kind::WarmAir) || warms == Some("air");
            wanted && job.runs_of(number, *kind).next().is_none() && !job.hidden.has(*kind)
        });
        missing
            .map(|(_, header, words)| {
                let mut text = format!("{0}{0}{header}", self.line_end);
                for (word, value) in words {
                    text.push_str(self.line_end);
                    text.push_str(&line(word, value));
                }
                let title = format!("add `{header}`; what nobody has measured stays `unknown`");
                self.offer(OfferKind::Add, title, self.own(Span::point(last.span.end), text))
            })
            .collect()
    }

    /// Moves the data sheet at the cursor to a file that this one follows.
    fn shared_sheet(&self, span: Span) -> Vec<Offer<'a>> {
        let block = self.reading.at(span.start).0;
        let Some(block) = block.filter(|block| {
            block.kind.is_some_and(Kind::is_sheet) && block.name.is_some() && block.header.touches(span.start)
        }) else {
            return Vec::new();
        };
        if self.analysis.job.header.is_none() {
            return Vec::new();
        }
        let lines = &self.reading.tree.lines;
        let (Some(first), Some(last)) = (lines.get(block.first_line as usize), lines.get(block.last_line as usize))
        else {
            return Vec::new();
        };
        let text = self.reading.slice(first.span.cover(last.span));
        // With the block goes the one empty line behind it.
        let after = lines.get(block.last_line as usize + 1);
        let empty = after.filter(|line| self.reading.tree.items(line).is_empty() && line.comment.is_none());
        let beyond = lines.get(block.last_line as usize + 1 + usize::from(empty.is_some()));
        let end = beyond.map_or(Span::new(0, self.reading.tree.text.len()).end, |line| line.span.start);
        let gone = Span { start: first.span.start, end };
        let header = self.reading.slice(block.header);
        self.followed()
            .map(|(file, reading)| {
                let mut edits = self.own(gone, String::new());
                edits.push((file, appended(reading, text)));
                let title = format!("move `{header}` to the followed file, for every job that follows that file");
                self.offer(OfferKind::Share, title, edits)
            })
            .collect()
    }

    /// Makes a data sheet in a followed file of a pipe, hose, duct or line that is described in place.
    fn shared_tube(&self, span: Span) -> Vec<Offer<'a>> {
        let described = self.statement(span).and_then(|(block, statement)| {
            let word = statement.word.filter(|_| statement.whole && block.kind.is_some_and(Kind::is_run))?.word;
            let args = self.reading.args(statement);
            let said = |role: Role| args.iter().find(|arg| arg.role == role).map(|arg| arg.span);
            let (material, bore) = (said(Role::Material)?, said(Role::Bore)?);
            matches!(word, "pipe" | "hose" | "duct" | "line").then_some((
                word,
                material,
                bore,
                said(Role::Outside),
                statement,
            ))
        });
        let Some((word, material, bore, outside, statement)) = described else { return Vec::new() };
        let slice = |span: Span| self.reading.slice(span);
        let number: String =
            slice(bore).chars().take_while(|letter| letter.is_ascii_alphanumeric() || *letter == '.').collect();
        let name = format!("{}-{}", slice(material), number.replace('.', "-"));
        let taken = self.analysis.job.defined.iter().any(|known| known.name == name);
        if taken || number.is_empty() || super::names::refused_name(&name).is_some() {
            return Vec::new();
        }
        let mut sheet =
            vec![format!("datasheet {word} {name}"), line("made-of", slice(material)), line("bore", slice(bore))];
        sheet.extend(outside.map(|outside| line("outside", slice(outside))));
        let args = Span { start: material.start, end: statement.span.end };
        self.followed()
            .map(|(file, reading)| {
                let mut edits = self.own(args, name.clone());
                edits.push((file, appended(reading, &sheet.join("\n"))));
                let title =
                    format!("make it data sheet `{name}` in the followed file, for every job that follows that file");
                self.offer(OfferKind::Share, title, edits)
            })
            .collect()
    }

    /// The files that this one follows itself, each once.
    fn followed(&self) -> impl Iterator<Item = (FileId, &'a Reading)> + use<'a> {
        let job = &self.analysis.job;
        let mut lines: Vec<Place> = Vec::new();
        let direct = job.followed.iter().filter(move |(_, line)| {
            // The first file that a line leads to is the one it names; the rest are followed from there.
            let first = !lines.contains(line);
            lines.push(*line);
            first
        });
        direct.filter_map(|(file, _)| self.analysis.reading(*file).map(|reading| (*file, reading.as_ref())))
    }

    /// Sets the findings at the cursor aside: the words that a concession needs, with reason and name left to the person
    /// who grants it. Nothing that guards life is offered.
    fn concessions(&self, span: Span, days: Option<u64>) -> Vec<Offer<'a>> {
        let here = |finding: &&Finding| {
            let place = finding.place;
            place.file == self.analysis.file && place.span.start <= span.end && span.start <= place.span.end
        };
        let mut out: Vec<Offer<'a>> = Vec::new();
        for finding in self.analysis.standing().filter(here).filter(|finding| may_be_conceded(finding)) {
            // What is written behind a kit would be the kit's.
            if self.reading.blocks.last().is_some_and(|last| last.in_kit || last.kind == Some(Kind::Kit)) {
                continue;
            }
            let Some(on) = self.takes_part(finding) else { continue };
            let rule = finding.rule.name;
            let mut lines =
                vec![format!("concession {rule}"), line("on", &on), line("because", "unknown"), line("by", "unknown")];
            let until = days.map(|days| Date::after_1970(days.saturating_add(CONCESSION_DAYS)).to_string());
            lines.extend(until.as_ref().map(|until| line("until", until)));
            let title = format!(
                "grant a concession on `{rule}`{}: write the reason and who grants it",
                until.map_or(String::new(), |until| format!(" until {until}"))
            );
            let edit = (self.analysis.file, appended(self.reading, &lines.join("\n")));
            let offer = Offer { finding: Some(finding), ..self.offer(OfferKind::Concede, title, vec![edit]) };
            if !out.iter().any(|known| known.title == offer.title) {
                out.push(offer);
            }
        }
        out
    }

    /// The block that a finding is in, as a concession names it.
    fn takes_part(&self, finding: &Finding) -> Option<String> {
        let block = self.reading.at(finding.place.span.start).0.filter(|block| !block.header.is_empty());
        let words = property(Kind::Concession, "on").map_or(&[][..], |word| word.forms);
        let header = block.map_or("", |block| self.reading.slice(block.header));
        let kind = header.split_whitespace().next().unwrap_or("");
        let listed = words.iter().flat_map(|form| form.head).flat_map(|part| part.1).any(|atom| match atom {
            Atom::Choice(_, words) => words.contains(&kind),
            _ => false,
        });
        if listed {
            return Some(header.split_whitespace().collect::<Vec<_>>().join(" "));
        }
        self.analysis.job.header.map(|_| "job".to_string())
    }
}

/// Slips of the pen, faults of names and of layers are mended, not conceded; what guards life is neither.
fn may_be_conceded(finding: &Finding) -> bool {
    finding.can_wait() && finding.rule.guards != Guards::Form
}

/// A block at the end of a text, parted from what stands before it by one empty line.
fn appended(reading: &Reading, block: &str) -> Edit {
    let text = &reading.tree.text;
    let end = line_end(reading);
    let rest = text.trim_end_matches([' ', '\t', '\n', '\r', '\u{feff}']);
    let gap = if rest.is_empty() { String::new() } else { format!("{end}{end}") };
    let lines: Vec<&str> = block.lines().map(|line| line.trim_end_matches('\r')).collect();
    let insert = format!("{gap}{}{end}", lines.join(end));
    let start = if rest.is_empty() { text.len() } else { rest.len() };
    Edit { span: Span::new(start, text.len()), insert }
}

/// A quantity in another unit, with its doubt, to six digits: as good as any measuring.
fn written_in(quantity: &Quantity, unit: &Unit) -> Option<String> {
    let number = |value: f64| -> Option<String> {
        let size = value.abs();
        if !value.is_finite() || (size != 0.0 && !(0.000_1..1_000_000.0).contains(&size)) {
            return None;
        }
        let whole = if size == 0.0 { 1 } else { size.log10().floor() as i32 + 1 };
        let text = format!("{value:.*}", usize::try_from(6 - whole).unwrap_or(0));
        let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
        Some(if text == "-0" { "0".to_string() } else { text.to_string() })
    };
    let gap = if unit.symbol == "°" { "" } else { " " };
    let shown = |value: f64| Some(format!("{}{gap}{}", number(value)?, unit.symbol));
    let of = |value: f64| shown(unit.from_si(value));
    match quantity.doubt {
        Doubt::None => of(quantity.nominal),
        Doubt::Tolerance => {
            Some(format!("{} ± {}", of(quantity.nominal)?, shown(quantity.half_width() / unit.factor)?))
        }
        Doubt::Range => Some(format!("{} .. {}", of(quantity.low)?, of(quantity.high)?)),
    }
}

/// Whether the offset lies in quoted text of a `follows` line: the bytes between the quotes.
pub fn path_at(reading: &Reading, offset: u32) -> Option<Span> {
    let tree = &reading.tree;
    let line = tree.lines.get(tree.line_at(offset))?;
    let items = tree.items(line);
    let word = items.first().filter(|item| reading.slice(item.span) == "follows" && !line.indented)?;
    let text = items.iter().find(|item| item.kind == ItemKind::Text && item.span.start > word.span.start)?;
    let written = reading.slice(text.span);
    let closed = written.len() > 1 && written.ends_with('"');
    let inside = Span { start: text.span.start + 1, end: text.span.end - u32::from(closed) };
    inside.touches(offset).then_some(inside)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::{BENCH, BENCH_SHEETS};
    use crate::source::{Followed, Source};
    use crate::text::apply;
    use std::sync::Arc;

    /// The bench job beside its sheets.
    struct Beside(Arc<Reading>);

    impl Source for Beside {
        fn follow(&self, _: FileId, _: &str) -> Followed {
            Followed::File(FileId(1), Arc::clone(&self.0))
        }
    }

    fn judge(job: &str, sheets: &str) -> Analysis {
        let reading = |text: &str| Arc::new(Reading::new(Arc::from(text)));
        crate::analyse(FileId(0), reading(job), &Beside(reading(sheets)), None)
    }

    fn done(offer: &Offer<'_>, job: &str, sheets: &str) -> Analysis {
        let of = |file: u32| -> Vec<Edit> {
            offer.edits.iter().filter(|(id, _)| *id == FileId(file)).map(|(_, edit)| edit.clone()).collect()
        };
        let (job, sheets) = (apply(job, &of(0)).expect("fits"), apply(sheets, &of(1)).expect("fits"));
        judge(&job, &sheets)
    }

    fn at(text: &str, part: &str) -> Span {
        Span::point(u32::try_from(text.find(part).expect(part)).unwrap())
    }

    fn rules(analysis: &Analysis) -> Vec<&'static str> {
        analysis.standing().map(|finding| finding.rule.name).collect()
    }

    #[test]
    fn a_unit_is_changed_without_changing_what_is_said() {
        for (said, word) in [
            ("run 4.2 m ± 0.3 m", "run"),
            ("run 13 ft", "run"),
            ("run 10 ft .. 12 ft", "run"),
            ("run 0 mm", "run"),
            ("ambient -25 °C", "ambient"),
            ("ambient 40 °F ± 5 °F", "ambient"),
        ] {
            let text = format!("trialfit 1\nheater a\ncable b of a\n  {said}\n");
            let analysis = judge(&text, "trialfit 1\n");
            let before = crate::assist::hover(&analysis, at(&text, said).start + word.len() as u32 + 1);
            assert!(before.is_some());
            let span = Span::point(at(&text, said).start + word.len() as u32 + 1);
            let offers: Vec<Offer<'_>> = offers(&analysis, span, None);
            assert!(!offers.is_empty(), "{said}");
            let quantity = |analysis: &Analysis| {
                let reading = analysis.reading(FileId(0)).unwrap();
                let statement = reading.all_statements().iter().find(|it| reading.slice(it.head) == word).unwrap();
                match reading.args(statement)[0].value {
                    Value::Quantity(quantity) => [quantity.low, quantity.nominal, quantity.high],
                    ref other => panic!("{other:?}"),
                }
            };
            for offer in offers {
                let after = done(&offer, &text, "trialfit 1\n");
                for (one, other) in quantity(&analysis).iter().zip(quantity(&after)) {
                    let slack = 1e-5 * one.abs().max(1e-6);
                    assert!((one - other).abs() <= slack, "{said}: {}: {one} {other}", offer.title);
                }
            }
        }
    }

    #[test]
    fn a_block_that_is_missing_is_added_without_a_slip() {
        for (gone, kind) in [("exhaust", "exhaust"), ("fuel-line", "fuel-line"), ("cable supply", "cable")] {
            let start = BENCH.find(&format!("\n{gone} of reader")).unwrap();
            let end = BENCH[start + 1..].find("\n\n").map_or(BENCH.len(), |at| start + 1 + at);
            let text = format!("{}{}", &BENCH[..start], &BENCH[end..]).replace("\n\n\n", "\n\n");
            let analysis = judge(&text, BENCH_SHEETS);
            let offers = offers(&analysis, at(&text, "heater reader"), None);
            let added: Vec<&Offer<'_>> = offers.iter().filter(|offer| offer.kind == OfferKind::Add).collect();
            assert_eq!(added.len(), 1, "{:?}", added.iter().map(|offer| &offer.title).collect::<Vec<_>>());
            assert!(added[0].title.contains(kind));
            let after = done(added[0], &text, BENCH_SHEETS);
            let slips: Vec<_> = after.reading(FileId(0)).unwrap().slips.iter().collect();
            assert!(slips.is_empty(), "{kind}: {slips:?}");
            assert!(after.job.name_faults.is_empty());
            assert!(!offers_add(&after, "heater reader"), "nothing is missing any more");
        }
    }

    fn offers_add(analysis: &Analysis, header: &str) -> bool {
        let text = analysis.reading(FileId(0)).unwrap().tree.text.to_string();
        offers(analysis, at(&text, header), None).iter().any(|offer| offer.kind == OfferKind::Add)
    }

    #[test]
    fn what_jobs_share_moves_and_means_the_same() {
        let own = "\ndatasheet hose own-25\n  made-of       plastic\n  bore          25 mm\n\nopening side-door";
        let text = BENCH.replace("hose          intake-25", "hose          own-25").replace("\nopening side-door", own);
        let before = judge(&text, BENCH_SHEETS);
        let moved = offers(&before, at(&text, "datasheet hose own-25"), None);
        let moved: Vec<&Offer<'_>> = moved.iter().filter(|offer| offer.kind == OfferKind::Share).collect();
        assert_eq!(moved.len(), 1);
        let after = done(moved[0], &text, BENCH_SHEETS);
        assert_eq!(rules(&after), rules(&before));
        assert!(after.job.name_faults.is_empty(), "{:?}", after.job.name_faults);

        let made = offers(&judge(BENCH, BENCH_SHEETS), at(BENCH, "steel, 24 mm bore"), None).len();
        assert!(made >= 1);
        let before = judge(BENCH, BENCH_SHEETS);
        let made = offers(&before, at(BENCH, "pipe          steel"), None);
        let made = made.iter().find(|offer| offer.kind == OfferKind::Share).expect("a sheet");
        let after = done(made, BENCH, BENCH_SHEETS);
        assert_eq!(rules(&after), rules(&before));
        let bore = |analysis: &Analysis| {
            let run = analysis.job.runs.iter().find(|run| run.kind == Kind::Exhaust).unwrap();
            run.steps.iter().find_map(|step| match &step.met {
                crate::model::Met::Tube(tube) => tube.bore.get().map(|bore| bore.nominal),
                _ => None,
            })
        };
        assert_eq!(bore(&after), bore(&before));
    }

    #[test]
    fn a_concession_is_offered_with_a_date_and_never_on_what_guards_life() {
        for rule in crate::rules::all() {
            let text = crate::rules::compose(rule.bad);
            let analysis = judge(&text, BENCH_SHEETS);
            for finding in analysis.standing().filter(|finding| finding.place.file == FileId(0)) {
                for offer in offers(&analysis, finding.place.span, Some(20_000)) {
                    if offer.kind == OfferKind::Concede {
                        let of = offer.finding.unwrap().rule;
                        assert!(!of.life_safety(), "{}", of.name);
                        let after = done(&offer, &text, BENCH_SHEETS);
                        assert!(rules(&after).contains(&"concession-unsigned"), "the reason is for a person to write");
                        assert!(rules(&after).contains(&of.name), "and the finding stands until then");
                        let signed = offer.edits[0].1.insert.replace("unknown", "\"said\"");
                        let signed = Offer {
                            edits: vec![(FileId(0), Edit { span: offer.edits[0].1.span, insert: signed })],
                            ..offer.clone()
                        };
                        assert!(offer.title.contains("2025-01-02"), "{}", offer.title);
                        let after = done(&signed, &text, BENCH_SHEETS);
                        assert!(!rules(&after).contains(&"concession-unsigned"), "{}", of.name);
                        assert!(!rules(&after).contains(&"name-not-found"), "{}: {}", of.name, offer.edits[0].1.insert);
                    }
                }
            }
        }
    }

    #[test]
    fn mending_all_mends_and_its_edits_do_not_meet() {
        let text = "trialfit 1\n\ncable b of a\nsize 4 mm²\n  run 1 m\n\ncable c of a\nrun 2 m\n";
        let analysis = judge(text, BENCH_SHEETS);
        let offer = mend_all(&analysis).expect("slips");
        assert!(offer.title.contains(" 2 "), "{}", offer.title);
        let after = done(&offer, text, BENCH_SHEETS);
        assert_eq!(rules(&after).len() + 2, rules(&analysis).len());
        let here = offers(&analysis, at(text, "run 2 m"), None);
        assert!(here.iter().any(|offer| offer.kind == OfferKind::MendAllOfKind), "all of this kind");
    }

    #[test]
    fn a_path_is_what_stands_between_the_quotes() {
        for (text, inside) in
            [("follows \"a/b\"", "a/b"), ("follows \"", ""), ("follows \"a", "a"), ("follows \"\"", "")]
        {
            let reading = Reading::new(Arc::from(text));
            let span = path_at(&reading, 9).expect(text);
            assert_eq!(reading.slice(span), inside, "{text}");
        }
        assert_eq!(path_at(&Reading::new(Arc::from("  note \"a\"")), 8), None);
    }
}

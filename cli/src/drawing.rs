//! Findings drawn over their source lines. What a finding says is settled elsewhere; here it is only laid out.

use crate::output::Look;
use miette::{Diagnostic, LabeledSpan, MietteError, ReportHandler, SourceCode, SourceSpan, SpanContents};
use spec_lang::Analysis;
use spec_lang::finding::{Finding, Severity};
use spec_lang::reading::Reading;
use spec_lang::report::{Naming, conceded_line, one_line, wrap};
use spec_lang::source::{FileId, Place};
use spec_lang::text::Span;
use std::borrow::Cow;
use std::fmt;
use std::sync::Arc;

/// How far a quoted line, and what is said of it, stand from the margin.
const QUOTED: &str = "      ";

/// How far the parts below a drawing stand from the margin: room for the longest of their names.
const INDENT: usize = 11;

/// What a report begins with, and its colours. They are those of safety signs (red, yellow, blue; common practice): a word
/// on a plate, so that it can be told without its colour.
type Plate = (&'static str, &'static str);

const NOT_JUDGED: Plate = ("NOT JUDGED", "1;37;45");
const SET_ASIDE: Plate = ("SET ASIDE", "7");

fn plate(severity: Severity) -> Plate {
    match severity {
        Severity::Error => ("ERROR", "1;37;41"),
        Severity::Warning => ("WARNING", "1;30;43"),
        Severity::Advice => ("ADVICE", "1;37;44"),
    }
}

/// How a finding's places are laid out: for each the file and the place, the line with the words in question between marks,
/// and what is said of them. Nothing is drawn under or beside a line, so that it reads well aloud, and in any font.
struct Places {
    look: Look,
}

impl Places {
    /// What stands before and behind the words that are meant.
    fn marks(&self) -> (&'static str, &'static str) {
        if self.look.ascii { (">>", "<<") } else { ("»", "«") }
    }

    /// A line of a file with its marks, cut on either side where it is longer than there is room.
    fn quoted(&self, before: &str, meant: &str, after: &str) -> String {
        let more = if self.look.ascii { "..." } else { "…" };
        let (open, close) = self.marks();
        let room =
            self.look.width.saturating_sub(QUOTED.len() + 2 * open.chars().count() + 3 * more.chars().count()).max(12);
        let plain = |text: &str| text.replace('\t', " ");
        let first = |text: &str, most: usize| match text.char_indices().nth(most) {
            Some((at, _)) => format!("{}{more}", text.get(..at).unwrap_or(text)),
            None => text.to_string(),
        };
        let meant = first(&plain(meant), room);
        let left = room - meant.chars().count().min(room);
        let before = plain(before);
        let length = before.chars().count();
        let before = match before.char_indices().nth(length.saturating_sub(left.max(room / 4).min(left))) {
            Some((at, _)) if at > 0 => format!("{more}{}", before.get(at..).unwrap_or("")),
            Some(_) => before,
            None if length > 0 => more.to_string(),
            None => before,
        };
        let after = first(&plain(after), left.saturating_sub(before.chars().count()));
        let meant = coloured(&format!("{open}{meant}{close}"), &meant, "1", self.look.colour && !meant.is_empty());
        format!("{before}{meant}{after}").trim_end().to_string()
    }
}

impl ReportHandler for Places {
    fn debug(&self, said: &dyn Diagnostic, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (Some(source), Some(labels)) = (said.source_code(), said.labels()) else { return Ok(()) };
        for label in labels {
            // A source that cannot give the place has nothing to show; the finding's title stands by itself.
            let Ok(line) = source.read_span(label.inner(), 0, 0) else { continue };
            let text = std::str::from_utf8(line.data()).unwrap_or("");
            let start = label.offset().saturating_sub(line.span().offset()).min(text.len());
            let end = (start + label.len()).min(text.len());
            let (before, rest) = text.split_at_checked(start).unwrap_or((text, ""));
            let (meant, after) = rest.split_at_checked(end - start).unwrap_or((rest, ""));
            let column = line.column() + before.chars().count() + 1;
            let place = format!("{}:{}:{column}", line.name().unwrap_or(""), line.line() + 1);
            writeln!(out, "  {}", coloured(&place, &place, "1", self.look.colour))?;
            writeln!(out, "{QUOTED}{}", self.quoted(before, meant, after))?;
            if let Some(words) = label.label() {
                writeln!(out, "{}", wrap(&one_line(words), self.look.width, QUOTED, QUOTED))?;
            }
        }
        Ok(())
    }
}

/// Draws the findings of one analysis.
pub(crate) struct Drawing<'a> {
    analysis: &'a Analysis,
    name: Naming<'a>,
    look: Look,
    sources: Vec<(FileId, Sheet<'a>)>,
}

impl<'a> Drawing<'a> {
    /// For the files of an analysis.
    pub(crate) fn new(analysis: &'a Analysis, name: Naming<'a>, look: Look) -> Drawing<'a> {
        Drawing { analysis, name, look, sources: Vec::new() }
    }

    /// A finding.
    pub(crate) fn finding(&mut self, finding: &Finding) -> String {
        let (word, colour) = if finding.conceded.is_some() { SET_ASIDE } else { plate(finding.severity) };
        let title = format!("{word}: {} [{}]", one_line(&finding.title), finding.rule.name);
        let mut out = coloured(&wrap(&title, self.look.width, "", "    "), word, colour, self.look.colour);
        out.push('\n');
        let mut labels = vec![self.label(finding.place, &finding.label, true)];
        let mut elsewhere = Vec::new();
        for related in &finding.related {
            if related.place.file == finding.place.file {
                labels.push(self.label(related.place, &related.label, false));
            } else {
                elsewhere.push((related.place, related.label.as_str()));
            }
        }
        if let Some(used) = finding.used.filter(|used| *used != finding.place) {
            if used.file == finding.place.file {
                labels.push(self.label(used, "used here", false));
            } else {
                elsewhere.push((used, "used here"));
            }
        }
        self.draw(&mut out, finding.place.file, labels);
        for (place, words) in elsewhere {
            let labels = vec![self.label(place, words, true)];
            self.draw(&mut out, place.file, labels);
        }
        if let Some(conceded) = &finding.conceded {
            self.part(&mut out, "because", &conceded_line(conceded));
        }
        self.part(&mut out, "why", &finding.why);
        if let Some(limit) = &finding.limit {
            self.part(&mut out, "limit", &format!("{} ({})", limit.text, limit.whose));
        }
        self.part(&mut out, "mend", &finding.help);
        out.push('\n');
        out
    }

    /// A part of the text below a drawing.
    fn part(&self, out: &mut String, head: &str, words: &str) {
        if words.is_empty() {
            return;
        }
        let first = format!("  {:<width$}", format!("{head}:"), width = INDENT - 2);
        let wrapped = wrap(&one_line(words), self.look.width, &first, &" ".repeat(INDENT));
        out.push_str(&coloured(&wrapped, head, "1", self.look.colour));
        out.push('\n');
    }

    /// The words at a place. Of a place of several lines the first is marked.
    fn label(&self, place: Place, words: &str, primary: bool) -> LabeledSpan {
        let span = self.analysis.reading(place.file).map_or(place.span, |reading| beginning(reading, place.span));
        let words = (!words.is_empty()).then(|| words.to_string());
        if primary {
            LabeledSpan::new_primary_with_span(words, span.range())
        } else {
            LabeledSpan::new_with_span(words, span.range())
        }
    }

    fn source(&mut self, file: FileId) -> Option<&Sheet<'a>> {
        let known = self.sources.iter().position(|(id, _)| *id == file);
        let at = match known {
            Some(at) => at,
            None => {
                let reading = self.analysis.reading(file)?;
                self.sources.push((file, Sheet::new(reading, (self.name)(file), self.look)));
                self.sources.len() - 1
            }
        };
        self.sources.get(at).map(|(_, sheet)| sheet)
    }

    /// Lines of a file, with what is said of places in them.
    fn draw(&mut self, out: &mut String, file: FileId, labels: Vec<LabeledSpan>) {
        let look = self.look;
        if let Some(source) = self.source(file) {
            out.push_str(&format!("{:?}", Laid { places: &Places { look }, drawn: &Drawn { labels, source } }));
        }
    }
}

/// A drawing with the hand that lays it out.
struct Laid<'a> {
    places: &'a Places,
    drawn: &'a Drawn<'a>,
}

impl fmt::Debug for Laid<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.places.debug(self.drawn, out)
    }
}

/// A text with one of its words in a colour, where there are colours.
fn coloured(text: &str, word: &str, colour: &str, wanted: bool) -> String {
    if wanted { text.replacen(word, &format!("\u{1b}[{colour}m{word}\u{1b}[0m"), 1) } else { text.to_string() }
}

/// The part of a place that is marked: what lies in its first line.
fn beginning(reading: &Reading, span: Span) -> Span {
    let line = reading.tree.lines.get(reading.tree.line_at(span.start));
    let end = line.map_or(span.end, |line| span.end.min(line.span.end.max(span.start)));
    Span { start: span.start, end }
}

/// One drawing, as the library wants it.
struct Drawn<'a> {
    labels: Vec<LabeledSpan>,
    source: &'a Sheet<'a>,
}

impl fmt::Debug for Drawn<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, out)
    }
}

impl fmt::Display for Drawn<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("finding")
    }
}

impl std::error::Error for Drawn<'_> {}

impl Diagnostic for Drawn<'_> {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}

/// A text that knows its lines, so that a place costs no scan from the start; and that cannot speak to the terminal.
struct Sheet<'a> {
    reading: &'a Reading,
    name: Arc<str>,
    /// The text with what must not reach a terminal replaced, every byte in its place.
    text: Cow<'a, str>,
    width: usize,
}

impl<'a> Sheet<'a> {
    fn new(reading: &'a Reading, name: Arc<str>, look: Look) -> Sheet<'a> {
        Sheet { reading, name, text: harmless(&reading.tree.text, look.ascii), width: look.width }
    }
}

/// The text with control characters and direction overrides replaced by as many bytes of something to look at. A lone
/// carriage return ends a line in this language, so it becomes the line end that the drawing knows.
fn harmless(text: &str, ascii: bool) -> Cow<'_, str> {
    let direction = |letter: char| matches!(letter, '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let unfit = |letter: char| (letter.is_control() && !matches!(letter, '\n' | '\t')) || direction(letter);
    let mut rest = text.char_indices().peekable();
    if !text.contains(unfit) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    while let Some((_, letter)) = rest.next() {
        match letter {
            '\r' if rest.peek().is_some_and(|(_, next)| *next == '\n') => out.push('\r'),
            '\r' => out.push('\n'),
            letter if !unfit(letter) => out.push(letter),
            letter => match letter.len_utf8() {
                2 if !ascii => out.push('¿'),
                3 if !ascii => out.push('\u{fffd}'),
                bytes => out.extend(std::iter::repeat_n('?', bytes)),
            },
        }
    }
    Cow::Owned(out)
}

/// A part of a text.
struct Part<'a> {
    data: &'a [u8],
    span: SourceSpan,
    line: usize,
    column: usize,
    lines: usize,
    name: &'a str,
}

impl<'a> SpanContents<'a> for Part<'a> {
    fn data(&self) -> &'a [u8] {
        self.data
    }

    fn span(&self) -> &SourceSpan {
        &self.span
    }

    fn name(&self) -> Option<&str> {
        Some(self.name)
    }

    fn line(&self) -> usize {
        self.line
    }

    fn column(&self) -> usize {
        self.column
    }

    fn line_count(&self) -> usize {
        self.lines
    }
}

impl SourceCode for Sheet<'_> {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        lines_before: usize,
        lines_after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let text: &'a str = &self.text;
        let tree = &self.reading.tree;
        let start = span.offset().min(text.len());
        let line_of = |offset: usize| tree.line_at(u32::try_from(offset).unwrap_or(u32::MAX));
        let first_byte = |line: usize| match tree.lines.get(line) {
            Some(line) if line.span.start == 0 && text.starts_with('\u{feff}') => '\u{feff}'.len_utf8(),
            Some(line) => line.span.start as usize,
            None => text.len(),
        };
        let at = line_of(start);
        let (first, last) = (at.saturating_sub(lines_before), at.saturating_add(lines_after));
        let begins = first_byte(first).min(start);
        let whole = text.get(begins..first_byte(last.saturating_add(1)).max(start)).unwrap_or("");
        let whole = whole.trim_end_matches(['\n', '\r']);
        // Of a line without end only what is near the place is looked at.
        let near = |offset: usize| (offset..=text.len()).find(|at| text.is_char_boundary(*at)).unwrap_or(text.len());
        let reach = 8 * self.width;
        let from = if start - begins > reach { near(start - reach) } else { begins };
        let to = (begins + whole.len())
            .min(near((start + span.len()).min(text.len()).saturating_add(reach).min(text.len())));
        let column = text.get(begins..from).unwrap_or("").chars().count();
        Ok(Box::new(Part {
            data: text.get(from..to.max(from)).unwrap_or("").as_bytes(),
            span: (from, to.max(from) - from).into(),
            line: first,
            column,
            lines: last - first + 1,
            name: &self.name,
        }))
    }
}

/// What was not judged, for the head of a file's report.
pub(crate) fn not_judged(line: &str, look: Look) -> String {
    let (word, colour) = NOT_JUDGED;
    coloured(&wrap(line, look.width, "", "    "), word, colour, look.colour)
}

//! Findings drawn over their source lines. What a finding says is settled elsewhere; here it is only laid out.

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, SourceCode, SourceSpan, SpanContents,
};
use spec_lang::Analysis;
use spec_lang::finding::{Finding, Severity};
use spec_lang::reading::Reading;
use spec_lang::report::{Locator, Naming, conceded_line, one_line, wrap};
use spec_lang::source::{FileId, Place};
use spec_lang::text::Span;
use std::borrow::Cow;
use std::cmp::Ordering;
use std::fmt;
use std::sync::Arc;

/// What a drawing needs beside the text: line number, rule and a little air.
const MARGIN: usize = 12;

/// Draws the findings of one analysis.
pub(crate) struct Drawing<'a> {
    analysis: &'a Analysis,
    name: Naming<'a>,
    width: usize,
    colour: bool,
    handler: GraphicalReportHandler,
    sources: Vec<(FileId, Sheet<'a>)>,
    locator: Locator<'a>,
}

impl<'a> Drawing<'a> {
    /// For the files of an analysis.
    pub(crate) fn new(analysis: &'a Analysis, name: Naming<'a>, width: usize, colour: bool) -> Drawing<'a> {
        let theme = if colour { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
        let handler = GraphicalReportHandler::new_themed(theme)
            .with_width(width)
            .with_links(false)
            .with_word_splitter(textwrap::WordSplitter::NoHyphenation)
            .tab_width(4);
        Drawing { analysis, name, width, colour, handler, sources: Vec::new(), locator: Locator::new(analysis) }
    }

    /// A finding.
    pub(crate) fn finding(&mut self, finding: &Finding) -> String {
        let mut out = String::new();
        let title = match &finding.conceded {
            None => format!("{}: {} [{}]", finding.severity.word(), one_line(&finding.title), finding.rule.name),
            Some(_) => format!("set aside: {} [{}]", one_line(&finding.title), finding.rule.name),
        };
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
        let severity = if finding.conceded.is_some() { Severity::Advice } else { finding.severity };
        self.draw(&mut out, finding.place.file, title, severity, labels);
        for (place, words) in elsewhere {
            let labels = vec![self.label(place, words, true)];
            self.snippet(&mut out, place.file, labels);
        }
        if let Some(conceded) = &finding.conceded {
            self.part(&mut out, "because", &conceded_line(conceded));
        }
        self.part(&mut out, "why", &finding.why);
        if let Some(limit) = &finding.limit {
            self.part(&mut out, "limit", &format!("{} ({})", limit.text, limit.whose));
        }
        self.part(&mut out, "help", &finding.help);
        out.push('\n');
        out
    }

    /// A part of the text below a drawing.
    fn part(&self, out: &mut String, head: &str, words: &str) {
        if words.is_empty() {
            return;
        }
        let first = format!("{head:>9}: ");
        let wrapped = wrap(&one_line(words), self.width, &first, &" ".repeat(first.len()));
        if self.colour {
            out.push_str(&wrapped.replacen(head, &format!("\u{1b}[36m{head}\u{1b}[0m"), 1));
        } else {
            out.push_str(&wrapped);
        }
        out.push('\n');
    }

    /// The words at a place, broken to fit beside it. Of a place of several lines the first is marked.
    fn label(&mut self, place: Place, words: &str, primary: bool) -> LabeledSpan {
        let column = self.locator.start(place).column as usize;
        let half = self.width / 2;
        let reading = self.analysis.reading(place.file);
        let span = reading.map_or(place.span, |reading| beginning(reading, place.span, half));
        let before = if column > half { half / 2 } else { column };
        let room = self.width.saturating_sub(before + span.len() / 2 + MARGIN).max(12);
        let words = (!words.is_empty()).then(|| wrap(&one_line(words), room, "", ""));
        let range = span.range();
        if primary {
            LabeledSpan::new_primary_with_span(words, range)
        } else {
            LabeledSpan::new_with_span(words, range)
        }
    }

    fn source(&mut self, file: FileId) -> Option<&Sheet<'a>> {
        let known = self.sources.iter().position(|(id, _)| *id == file);
        let at = match known {
            Some(at) => at,
            None => {
                let reading = self.analysis.reading(file)?;
                self.sources.push((file, Sheet::new(reading, (self.name)(file), self.width)));
                self.sources.len() - 1
            }
        };
        self.sources.get(at).map(|(_, sheet)| sheet)
    }

    fn draw(&mut self, out: &mut String, file: FileId, title: String, severity: Severity, labels: Vec<LabeledSpan>) {
        let (handler, width) = (self.handler.clone(), self.width);
        if let Some(source) = self.source(file) {
            let mut drawing = String::new();
            // Writing to a string cannot fail, and a source that fails says so in the drawing itself.
            let _ = handler.render_report(&mut drawing, &Drawn { title, severity, labels, source });
            drawing.lines().for_each(|line| cut(out, line, width));
        }
    }

    /// A drawing without a title.
    fn snippet(&mut self, out: &mut String, file: FileId, labels: Vec<LabeledSpan>) {
        let mut whole = String::new();
        self.draw(&mut whole, file, "with".to_string(), Severity::Advice, labels);
        out.push_str(whole.split_once('\n').map_or("", |(_, drawing)| drawing));
    }
}

/// The part of a place that is marked: what lies in its first line, and of that at most so many characters.
fn beginning(reading: &Reading, span: Span, most: usize) -> Span {
    let line = reading.tree.lines.get(reading.tree.line_at(span.start));
    let end = line.map_or(span.end, |line| span.end.min(line.span.end.max(span.start)));
    let whole = Span { start: span.start, end };
    let length = reading.slice(whole).char_indices().nth(most).map_or(whole.len(), |(at, _)| at);
    Span::new(span.start as usize, span.start as usize + length)
}

/// Adds a line, cut where it is longer than `width` characters; colours take no room and stay.
fn cut(out: &mut String, line: &str, width: usize) {
    let mut used = 0;
    let mut colour = false;
    let length = line.chars().count();
    for letter in line.chars() {
        if letter == '\u{1b}' {
            colour = true;
        }
        if colour {
            out.push(letter);
            colour = letter != 'm';
            continue;
        }
        used += 1;
        match used.cmp(&width) {
            Ordering::Less => out.push(letter),
            Ordering::Equal => out.push(if length > width && !line.contains('\u{1b}') { '…' } else { letter }),
            Ordering::Greater => {}
        }
    }
    out.push('\n');
}

/// One drawing, as the library wants it.
struct Drawn<'a> {
    title: String,
    severity: Severity,
    labels: Vec<LabeledSpan>,
    source: &'a Sheet<'a>,
}

impl fmt::Debug for Drawn<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.title)
    }
}

impl fmt::Display for Drawn<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.title)
    }
}

impl std::error::Error for Drawn<'_> {}

impl Diagnostic for Drawn<'_> {
    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.severity {
            Severity::Error => miette::Severity::Error,
            Severity::Warning => miette::Severity::Warning,
            Severity::Advice => miette::Severity::Advice,
        })
    }

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
    fn new(reading: &'a Reading, name: Arc<str>, width: usize) -> Sheet<'a> {
        Sheet { reading, name, text: harmless(&reading.tree.text), width }
    }
}

/// The text with control characters and direction overrides replaced by as many bytes of something to look at. A lone
/// carriage return ends a line in this language, so it becomes the line end that the drawing knows.
fn harmless(text: &str) -> Cow<'_, str> {
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
            letter => out.push(match letter.len_utf8() {
                1 => '?',
                2 => '¿',
                _ => '\u{fffd}',
            }),
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
        let end = (start + span.len()).min(text.len());
        let line_of = |offset: usize| tree.line_at(u32::try_from(offset).unwrap_or(u32::MAX));
        let first_byte = |line: usize| match tree.lines.get(line) {
            Some(line) if line.span.start == 0 && text.starts_with('\u{feff}') => '\u{feff}'.len_utf8(),
            Some(line) => line.span.start as usize,
            None => text.len(),
        };
        let line = line_of(start);
        let (first, last) = (line.saturating_sub(lines_before), line_of(end).saturating_add(lines_after));
        let (from, to, first, column) = if lines_before == 0 && lines_after == 0 {
            let before = text.get(first_byte(line).min(start)..start).unwrap_or("");
            (start, end, line, before.chars().count())
        } else {
            (first_byte(first), first_byte(last.saturating_add(1)), first, 0)
        };
        // Of long lines only what is near the place is drawn, and nothing of its neighbours.
        let half = self.width / 2;
        let far = text.get(first_byte(line).min(start)..start).is_some_and(|before| before.chars().nth(half).is_some());
        let long = to.saturating_sub(from) > 8 * self.width * (last - first + 1);
        let (from, to, first, last) = if lines_before + lines_after > 0 && (far || long) {
            let from = first_byte(line).max(start.saturating_sub(half / 2));
            (from, first_byte(line + 1).min(start + 4 * self.width), line, line)
        } else {
            (from, to, first, last)
        };
        let from = (from..=text.len()).find(|at| text.is_char_boundary(*at)).unwrap_or(text.len());
        let to = (to..=text.len()).find(|at| text.is_char_boundary(*at)).unwrap_or(text.len()).max(from);
        Ok(Box::new(Part {
            data: text.get(from..to).unwrap_or("").as_bytes(),
            span: (from, to - from).into(),
            line: first,
            column,
            lines: last - first + 1,
            name: &self.name,
        }))
    }
}

/// What was not judged, for the head of a file's report.
pub(crate) fn not_judged(line: &str, width: usize, colour: bool) -> String {
    let wrapped = wrap(line, width, "", "    ");
    if colour { wrapped.replacen("NOT JUDGED", "\u{1b}[1;33mNOT JUDGED\u{1b}[0m", 1) } else { wrapped }
}

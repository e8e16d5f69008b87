//! Findings drawn over their source lines. What a finding says is settled elsewhere; here it is only laid out.

use crate::output::Look;
use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, SourceCode, SourceSpan, SpanContents,
    ThemeCharacters, ThemeStyles,
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

/// Marks and colours of our own. Top and bottom of the library's frame are not shown: they begin with a corner, and no
/// other line does.
fn theme(look: Look) -> GraphicalTheme {
    let (line, middle, corner) = if look.ascii { ('=', '+', '+') } else { ('═', '╤', '╘') };
    let characters = ThemeCharacters {
        hbar: line,
        vbar: '|',
        xbar: middle,
        vbar_break: '|',
        uarrow: middle,
        rarrow: line,
        ltop: corner,
        mtop: middle,
        rtop: corner,
        lbot: corner,
        mbot: middle,
        rbot: corner,
        lbox: '[',
        rbox: ']',
        lcross: corner,
        rcross: line,
        underbar: middle,
        underline: line,
        error: String::new(),
        warning: String::new(),
        advice: String::new(),
    };
    let mut styles = ThemeStyles::none();
    if look.colour {
        let plain = styles.linum;
        styles.highlights = vec![plain.bright_blue().bold(), plain.bright_cyan()];
    }
    GraphicalTheme { characters, styles }
}

/// Draws the findings of one analysis.
pub(crate) struct Drawing<'a> {
    analysis: &'a Analysis,
    name: Naming<'a>,
    look: Look,
    handler: GraphicalReportHandler,
    sources: Vec<(FileId, Sheet<'a>)>,
    locator: Locator<'a>,
}

impl<'a> Drawing<'a> {
    /// For the files of an analysis.
    pub(crate) fn new(analysis: &'a Analysis, name: Naming<'a>, look: Look) -> Drawing<'a> {
        let handler = GraphicalReportHandler::new_themed(theme(look))
            .with_width(look.width)
            .with_links(false)
            .with_word_splitter(textwrap::WordSplitter::NoHyphenation)
            .tab_width(4);
        Drawing { analysis, name, look, handler, sources: Vec::new(), locator: Locator::new(analysis) }
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

    /// The words at a place, broken to fit beside it. Of a place of several lines the first is marked.
    fn label(&mut self, place: Place, words: &str, primary: bool) -> LabeledSpan {
        let column = self.locator.start(place).column as usize;
        let half = self.look.width / 2;
        let reading = self.analysis.reading(place.file);
        let span = reading.map_or(place.span, |reading| beginning(reading, place.span, half));
        let before = if column > half { half / 2 } else { column };
        let room = self.look.width.saturating_sub(before + span.len() / 2 + MARGIN).max(12);
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
                self.sources.push((file, Sheet::new(reading, (self.name)(file), self.look)));
                self.sources.len() - 1
            }
        };
        self.sources.get(at).map(|(_, sheet)| sheet)
    }

    /// Lines of a file, with what is said of places in them.
    fn draw(&mut self, out: &mut String, file: FileId, labels: Vec<LabeledSpan>) {
        let (handler, look) = (self.handler.clone(), self.look);
        if let Some(source) = self.source(file) {
            let mut drawing = String::new();
            // Writing to a string cannot fail, and a source that fails says so in the drawing itself.
            let _ = handler.render_report(&mut drawing, &Drawn { labels, source });
            // The library's own first line is for a title, which is laid out here.
            for line in drawing.lines().skip(1) {
                match framed(line, look) {
                    Some(line) if line.is_empty() => {}
                    Some(line) => cut(out, &line, look),
                    None => cut(out, line, look),
                }
            }
        }
    }
}

/// Where a line is top or bottom of the library's frame, what stands in its place: the file and the place in it, or nothing.
fn framed(line: &str, look: Look) -> Option<String> {
    let marks = theme(look).characters;
    let rest = line.trim_start_matches(' ').strip_prefix(marks.ltop)?;
    let Some(place) = rest.trim_start_matches(marks.hbar).strip_prefix('[') else { return Some(String::new()) };
    let place = place.strip_suffix(']').unwrap_or(place);
    Some(format!("  in {}", coloured(place, place, "1", look.colour)))
}

/// A text with one of its words in a colour, where there are colours.
fn coloured(text: &str, word: &str, colour: &str, wanted: bool) -> String {
    if wanted { text.replacen(word, &format!("\u{1b}[{colour}m{word}\u{1b}[0m"), 1) } else { text.to_string() }
}

/// The part of a place that is marked: what lies in its first line, and of that at most so many characters.
fn beginning(reading: &Reading, span: Span, most: usize) -> Span {
    let line = reading.tree.lines.get(reading.tree.line_at(span.start));
    let end = line.map_or(span.end, |line| span.end.min(line.span.end.max(span.start)));
    let whole = Span { start: span.start, end };
    let length = reading.slice(whole).char_indices().nth(most).map_or(whole.len(), |(at, _)| at);
    Span::new(span.start as usize, span.start as usize + length)
}

/// Adds a line, cut where it is longer than there is room; colours take no room and stay.
fn cut(out: &mut String, line: &str, look: Look) {
    let (width, more) = (look.width, if look.ascii { '~' } else { '…' });
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
            Ordering::Equal => out.push(if length > width && !line.contains('\u{1b}') { more } else { letter }),
            Ordering::Greater => {}
        }
    }
    out.push('\n');
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
pub(crate) fn not_judged(line: &str, look: Look) -> String {
    let (word, colour) = NOT_JUDGED;
    coloured(&wrap(line, look.width, "", "    "), word, colour, look.colour)
}

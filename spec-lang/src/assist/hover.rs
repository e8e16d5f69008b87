//! What stands under the cursor: what is wrong there, the figures that rest on it with their working, what a number is
//! in other units, what a word or a header means, what a name stands for.

use super::names::target_of;
use crate::Analysis;
use crate::blanks::Outcome;
use crate::figures::Figure;
use crate::figures::ways::{Limit as Limited, length_unit};
use crate::finding::{Finding, Limit};
use crate::model::{Asked, Defined, Sort, kits_in};
use crate::reading::{Arg, Reading, Statement, Value};
use crate::rules::{self, CAUTION};
use crate::source::Place;
use crate::text::Span;
use crate::units::{Dimension, Doubt, Quantity, UNITS, Unit};
use crate::vocabulary::{Kind, words_of};
use std::sync::Arc;

/// A piece of a hover text; editors and terminals lay them out in their own way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Piece {
    /// The line that a section starts with.
    Title(String),
    /// A sentence.
    Text(String),
    /// One of several lines that belong together.
    Item(String),
    /// Text in the language, to be set as such.
    Sample(String),
    /// A danger to people.
    Caution(String),
    /// A place to look at.
    Place(String, Place),
}

/// What to show, and for which bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hover {
    /// The bytes it is about.
    pub span: Span,
    /// Its pieces in order.
    pub pieces: Vec<Piece>,
}

/// The units that readers on either side of the ocean know, by dimension, in the order to show them.
pub(super) const CONVERSIONS: &[(Dimension, &[&str])] = &[
    (Dimension::Length, &["mm", "m", "in", "ft"]),
    (Dimension::Area, &["cm²", "m²", "in²", "ft²"]),
    (Dimension::Conductor, &["mm²", "AWG"]),
    (Dimension::Volume, &["L", "m³", "gal", "ft³"]),
    (Dimension::Time, &["s", "min", "h"]),
    (Dimension::Mass, &["kg", "lb"]),
    (Dimension::Temperature, &["°C", "°F"]),
    (Dimension::Pressure, &["Pa", "mbar", "psi", "inH2O"]),
    (Dimension::VolumeFlow, &["L/h", "m³/h", "gal/h", "cfm"]),
    (Dimension::Speed, &["m/s", "km/h", "mph"]),
    (Dimension::Power, &["kW", "BTU/h"]),
    (Dimension::Energy, &["kWh", "BTU"]),
];

/// What is known of the bytes at an offset of the file.
pub fn hover(analysis: &Analysis, offset: u32) -> Option<Hover> {
    let reading = analysis.reading(analysis.file)?;
    let (block, statement) = reading.at(offset);
    let mut pieces = Vec::new();
    let mut span: Option<Span> = None;
    let mut cover = |more: Span| span = Some(span.map_or(more, |span| narrower(span, more)));

    let here = |place: &Place| place.file == analysis.file && place.span.touches(offset);
    let mut cautious = false;
    for finding in &analysis.findings {
        if let Some(place) = [Some(finding.place), finding.used].into_iter().flatten().find(here) {
            cover(place.span);
            finding_pieces(finding, &mut pieces);
            cautious |= finding.rule.is_of_the_install();
        }
    }
    if cautious {
        pieces.push(Piece::Caution(CAUTION.to_string()));
    }
    let arg = statement.and_then(|statement| {
        reading.args(statement).iter().find(|arg| arg.span.touches(offset)).map(|arg| (statement, arg))
    });
    let asked = asked_at(analysis, reading, offset);
    if let Some((place, asked)) = asked {
        cover(place);
        asked_pieces(&asked, &mut pieces);
    } else if let Some((statement, arg)) = arg {
        cover(arg.span);
        arg_pieces(analysis, reading, statement, arg, &mut pieces);
    } else if let Some(statement) = statement.filter(|statement| statement.head.touches(offset)) {
        if let Some(word) = statement.word {
            cover(statement.head);
            pieces.push(Piece::Title(word.word.to_string()));
            pieces.push(Piece::Text(word.says.to_string()));
            pieces.push(Piece::Sample(word.example.to_string()));
            figures_on(analysis, statement.span, &mut pieces);
        }
    } else if let Some(follows) = reading.follows.iter().find(|span| span.touches(offset)) {
        cover(*follows);
        follows_pieces(analysis, &mut pieces);
    }
    if let Some(statement) = statement.filter(|_| !pieces.is_empty()) {
        layer_pieces(analysis, statement, &mut pieces);
    }
    let mut named = analysis.job.rules_named().map(|rule| (analysis.job.real(rule.written), rule));
    let named = named.find(|(place, _)| here(place)).and_then(|(place, name)| Some((rules::find(&name.value)?, place)));
    if let Some((rule, name)) = named {
        cover(name.span);
        pieces.push(Piece::Title(format!("{}: {}", rule.name, rule.title)));
        pieces.push(Piece::Text(rule.explanation.to_string()));
        pieces.push(Piece::Text(format!("limit: {}", rule.source)));
        pieces.push(Piece::Text(format!("mend: {}", rule.mend)));
        if rule.life_safety() {
            pieces.push(Piece::Caution(
                "this guards against poisoning, fire or burns: nothing sets it aside".to_string(),
            ));
        }
        if rule.is_of_the_install() && !cautious {
            pieces.push(Piece::Caution(CAUTION.to_string()));
        }
    } else if let Some((name, target)) = target_of(analysis, offset) {
        cover(name);
        name_pieces(analysis, reading.slice(name), target, &mut pieces);
    } else if let Some(block) = block.filter(|block| block.header.touches(offset))
        && let Some(kind) = block.kind
    {
        cover(block.header);
        let words = words_of(kind);
        pieces.push(Piece::Title(words.reads()));
        pieces.push(Piece::Text(words.says.to_string()));
        pieces.push(Piece::Sample(words.example.to_string()));
        let subject = Place { file: analysis.file, span: block.header };
        for link in analysis.job.usual_at(subject) {
            let line = one_line(analysis.job.text(link.place));
            pieces.push(Piece::Place(format!("{}: `{line}`", link.layer), link.place));
        }
        for figure in analysis.shown().list.iter().filter(|figure| overlap(figure.subject, subject)) {
            pieces.push(Piece::Item(in_one_line(figure)));
        }
        for unjudged in analysis.not_judged.iter().filter(|unjudged| overlap(unjudged.place, subject)) {
            pieces.push(Piece::Text(format!("not judged: {}, because {}", unjudged.rule.title, unjudged.because)));
        }
    }
    pieces.dedup();
    span.filter(|_| !pieces.is_empty()).map(|span| Hover { span, pieces })
}

fn narrower(left: Span, right: Span) -> Span {
    if right.len() < left.len() { right } else { left }
}

fn overlap(left: Place, right: Place) -> bool {
    left.file == right.file && left.span.start < right.span.end && right.span.start < left.span.end
}

fn finding_pieces(finding: &Finding, pieces: &mut Vec<Piece>) {
    let set_aside = if finding.conceded.is_some() { ", set aside" } else { "" };
    pieces.push(Piece::Title(format!("{}{set_aside}: {}", finding.severity.word(), finding.title)));
    if !finding.why.is_empty() {
        pieces.push(Piece::Text(finding.why.clone()));
    }
    if let Some(Limit { text, whose }) = &finding.limit {
        pieces.push(Piece::Text(format!("limit: {text} ({whose})")));
    }
    if let Some(conceded) = &finding.conceded {
        let until = conceded.until.as_ref().map_or(String::new(), |until| format!(" until {until}"));
        pieces.push(Piece::Place(
            format!("set aside by {}{until}, because {}", conceded.by, conceded.because),
            conceded.place,
        ));
    }
    if !finding.help.is_empty() {
        pieces.push(Piece::Text(format!("mend: {}", finding.help)));
    }
    for related in &finding.related {
        pieces.push(Piece::Place(related.label.clone(), related.place));
    }
    pieces.push(Piece::Text(format!("rule `{}`, {}", finding.rule.name, finding.rule.source)));
    if finding.guards_life() {
        pieces.push(Piece::Caution("this can poison, burn or start a fire".to_string()));
    }
}

fn arg_pieces(analysis: &Analysis, reading: &Reading, statement: &Statement, arg: &Arg, pieces: &mut Vec<Piece>) {
    match arg.value {
        Value::Quantity(quantity) => {
            pieces.push(Piece::Title(reading.slice(arg.span).to_string()));
            let others = conversions(&quantity);
            if !others.is_empty() {
                pieces.push(Piece::Text(others));
            }
            says(statement, pieces);
            figures_on(analysis, arg.span, pieces);
        }
        Value::Direction(_) => {
            pieces.push(Piece::Title(reading.slice(arg.span).to_string()));
            pieces.push(Piece::Text(
                "a direction in the vehicle's axes; `nearside` is the side next to the kerb".to_string(),
            ));
            says(statement, pieces);
            figures_on(analysis, arg.span, pieces);
        }
        Value::Blank => {
            pieces.push(Piece::Title("?".to_string()));
            pieces.push(Piece::Text("left for `trialfit fill`; a job with a blank is not finished".to_string()));
            blank_pieces(analysis, arg, pieces);
            says(statement, pieces);
            figures_on(analysis, arg.span, pieces);
        }
        Value::Unknown => {
            pieces.push(Piece::Title("unknown".to_string()));
            pieces.push(Piece::Text("nobody measured it; what depends on it is not judged".to_string()));
            says(statement, pieces);
        }
        Value::Choice(_) | Value::Count(_) | Value::Label | Value::Date(_) | Value::Name | Value::Asked(_) => {
            says(statement, pieces);
            figures_on(analysis, arg.span, pieces);
        }
        Value::Text => {}
    }
}

/// What a kit asks for, where its name stands at an offset: in the kit, or at the head of an answer.
fn asked_at(analysis: &Analysis, reading: &Arc<Reading>, offset: u32) -> Option<(Span, Asked)> {
    let file = analysis.file;
    for answered in analysis.job.fits.iter().flat_map(|fit| &fit.answers) {
        if let Some((head, _)) = answered.answer.filter(|(head, _)| head.file == file && head.span.touches(offset)) {
            return Some((head.span, answered.asked.clone()));
        }
    }
    for kit in kits_in(file, reading) {
        let asks = kit.asks();
        let used = kit.uses().find(|(_, span, _)| span.touches(offset));
        let found = match used {
            Some((name, span, _)) => asks.into_iter().find(|asked| asked.name == name).map(|asked| (span, asked)),
            None => {
                let asked = asks.into_iter().find(|asked| asked.name_place.span.touches(offset));
                asked.map(|asked| (asked.name_place.span, asked))
            }
        };
        if found.is_some() {
            return found;
        }
    }
    None
}

fn asked_pieces(asked: &Asked, pieces: &mut Vec<Piece>) {
    pieces.push(Piece::Title(asked.name.clone()));
    let usually = match asked.sort {
        Sort::Quantity { usually: Some((usual, _)), .. } => format!(", usually {}", usual.unit.show(usual.nominal)),
        _ => String::new(),
    };
    pieces.push(Piece::Text(format!("{}{usually}", asked.reads())));
    pieces.push(Piece::Place("the kit asks for it here".to_string(), asked.place));
}

/// The layers below what a line says, and where a kit uses what it answers.
fn layer_pieces(analysis: &Analysis, statement: &Statement, pieces: &mut Vec<Piece>) {
    let job = &analysis.job;
    let mut says_itself = false;
    for link in job.chain(Place { file: analysis.file, span: statement.span }) {
        if link.place.file == analysis.file && link.place.span == statement.span {
            says_itself = true;
            continue;
        }
        let how = if says_itself { "in place of" } else { "used in" };
        pieces.push(Piece::Place(format!("{how} {}: `{}`", link.layer, one_line(job.text(link.place))), link.place));
    }
}

/// The words with single spaces between them.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What can be written for a blank, why, and how far the limit is then.
fn blank_pieces(analysis: &Analysis, arg: &Arg, pieces: &mut Vec<Piece>) {
    let Some(answer) = analysis.filled().at(arg.span.start) else { return };
    let rule = match &answer.outcome {
        Outcome::Filled(filled) => {
            pieces.push(Piece::Title(format!("? = {}", filled.text)));
            pieces.push(Piece::Text(filled.reason.clone()));
            pieces.extend(filled.margin.iter().map(|margin| Piece::Text(margin.clone())));
            filled.rule
        }
        Outcome::Insoluble(insoluble) => {
            pieces.push(Piece::Text(answer.says()));
            Some(insoluble.rule)
        }
        Outcome::Open(_) => {
            pieces.push(Piece::Text(answer.says()));
            None
        }
    };
    pieces.extend(rule.map(|rule| Piece::Text(format!("rule `{}`, {}", rule.name, rule.source))));
}

fn says(statement: &Statement, pieces: &mut Vec<Piece>) {
    if let Some(word) = statement.word {
        pieces.push(Piece::Text(format!("`{}`: {}", word.word, word.says)));
    }
}

/// The quantity in the other units of its dimension that readers know.
fn conversions(quantity: &Quantity) -> String {
    let dimension = match quantity.dimension() {
        // A conductor may be written as an area; its other unit is then the gauge.
        Dimension::Area if quantity.unit.symbol == "mm²" => Dimension::Conductor,
        dimension => dimension,
    };
    let known = CONVERSIONS.iter().find(|(known, _)| *known == dimension).map_or(&[][..], |(_, symbols)| symbols);
    let others = known.iter().filter(|symbol| **symbol != quantity.unit.symbol);
    let shown: Vec<String> = others.filter_map(|symbol| shown_in(quantity, symbol)).collect();
    shown.join(" = ")
}

fn shown_in(quantity: &Quantity, symbol: &str) -> Option<String> {
    let unit: &Unit = UNITS.iter().find(|unit| unit.spelling == symbol)?;
    if unit.dimension == Dimension::Conductor {
        let gauge = unit.from_si(quantity.nominal);
        // Beyond 4/0 and 40 there are no gauges in use (ASTM B258).
        return (-3.4..=40.4).contains(&gauge).then(|| format!("about {}", unit.show(quantity.nominal)));
    }
    // A cable run in thousands of millimetres, or a metre in thousandths of a mile, helps nobody.
    let size = [quantity.low, quantity.high].map(|value| unit.from_si(value).abs()).into_iter().fold(0.0, f64::max);
    if unit.dimension != Dimension::Temperature && !(0.01..10_000.0).contains(&size) {
        return None;
    }
    Some(match quantity.doubt {
        Doubt::None => unit.show(quantity.nominal),
        Doubt::Tolerance => {
            format!("{} ± {}", unit.show(quantity.nominal), unit.show_difference(quantity.half_width()))
        }
        Doubt::Range => format!("{} .. {}", unit.show(quantity.low), unit.show(quantity.high)),
    })
}

/// What follows in a job from a place, each in one line: the findings that it takes part in, the ways that it limits, the
/// figures that rest on it, of those of one sort the first.
pub fn follows_from(analysis: &Analysis, place: Place) -> Vec<String> {
    let takes_part = |finding: &&Finding| {
        let places = finding.related.iter().map(|related| related.place).chain([finding.place]);
        places.into_iter().any(|related| overlap(related, place))
    };
    let found = analysis.findings.iter().filter(takes_part);
    let mut out: Vec<String> = found.map(|finding| format!("{}: {}", finding.severity.word(), finding.title)).collect();
    for way in &analysis.figures.ways {
        let limits =
            |limit: &Option<Limited>| limit.as_ref().and_then(|it| it.place).is_some_and(|it| overlap(it, place));
        if limits(&way.longest) || limits(&way.least) || limits(&way.most_bends) {
            let run = analysis.job.runs.get(way.run).map_or(String::new(), |run| analysis.job.reads(run));
            out.push(format!("{run}: {} long", length_unit(way.unit, way.length.high).show(way.length.high)));
        }
    }
    let rests = |figure: &&Figure| figure.rests_on.iter().any(|rests_on| overlap(*rests_on, place));
    let mut seen: Vec<(&str, Place)> = Vec::new();
    for figure in analysis.figures.list.iter().filter(rests) {
        if !seen.contains(&(figure.name, figure.subject)) {
            seen.push((figure.name, figure.subject));
            out.push(in_one_line(figure));
        }
    }
    out
}

/// The data sheet and the value in it at an offset of a file that is no job: what jobs take from there.
pub fn sheet_value_at(analysis: &Analysis, offset: u32) -> Option<(&str, Place)> {
    if analysis.job.header.is_some() {
        return None;
    }
    let reading = analysis.reading(analysis.file)?;
    let (block, statement) = reading.at(offset);
    let block = block.filter(|block| block.kind.is_some_and(Kind::is_sheet))?;
    let statement = statement?;
    let place = Place { file: analysis.file, span: statement.span };
    Some((reading.slice(block.name?), place))
}

/// The figures that rest on bytes of the file: those of one sort together, and the working of the one that a finding is
/// about, or of the first.
fn figures_on(analysis: &Analysis, span: Span, pieces: &mut Vec<Piece>) {
    let place = Place { file: analysis.file, span };
    let resting = analysis.shown().list.iter();
    let resting = resting.filter(|figure| figure.rests_on.iter().any(|rests_on| overlap(*rests_on, place)));
    let mut sorts: Vec<Vec<&Figure>> = Vec::new();
    for figure in resting {
        match sorts.iter_mut().find(|sort| sort.iter().any(|it| it.name == figure.name && it.subject == figure.subject))
        {
            Some(sort) if sort.contains(&figure) => {}
            Some(sort) => sort.push(figure),
            None => sorts.push(vec![figure]),
        }
    }
    for sort in sorts {
        let found = |figure: &Figure| analysis.findings.iter().find(|finding| about(finding, figure, analysis));
        let Some(shown) = sort.iter().find(|figure| found(figure).is_some()).or(sort.first()) else { continue };
        pieces.push(Piece::Title(in_one_line(shown)));
        for step in &shown.working {
            let source = if step.source.is_empty() { String::new() } else { format!(" ({})", step.source) };
            pieces.push(Piece::Item(format!("{}: {}{source}", step.what, step.line())));
        }
        if let Some(Limit { text, whose }) = found(shown).and_then(|finding| finding.limit.as_ref()) {
            pieces.push(Piece::Text(format!("limit: {text} ({whose})")));
        }
        let others: Vec<String> = sort.iter().filter(|figure| *figure != shown).map(|it| in_one_line(it)).collect();
        if !others.is_empty() {
            pieces.push(Piece::Text(others.join("; ")));
        }
    }
}

/// Whether a finding is about a figure: it lies at a place the figure rests on, and its title says the figure's value,
/// rounded as it may be there.
fn about(finding: &Finding, figure: &Figure, analysis: &Analysis) -> bool {
    const ROUNDING: f64 = 0.006;
    let value = figure.unit.from_si(figure.value);
    let same = |number: f64| (number - value).abs() <= ROUNDING * value.abs();
    finding.place.file == analysis.file
        && figure.rests_on.iter().any(|rests_on| overlap(*rests_on, finding.place))
        && finding.title.split([' ', ',', ';']).filter_map(|word| word.parse().ok()).any(same)
}

fn in_one_line(figure: &Figure) -> String {
    let case = if figure.case.is_empty() { String::new() } else { format!(", {}", figure.case) };
    format!("{}{case}: {}", figure.title, figure.shown())
}

fn name_pieces(analysis: &Analysis, name: &str, target: Option<&Defined>, pieces: &mut Vec<Piece>) {
    match target {
        Some(target) => {
            let kind = words_of(target.kind);
            pieces.push(Piece::Title(format!("{name}: {}", kind.reads())));
            pieces.push(Piece::Text(kind.says.to_string()));
            pieces.extend(sheet_sample(analysis, target).map(Piece::Sample));
            let header = analysis.job.real(target.header);
            if target.kind == Kind::Kit {
                let asks = analysis.reading(header.file).map_or(Vec::new(), |reading| kits_in(header.file, reading));
                let kit = asks.into_iter().find(|kit| kit.header.header == header.span);
                for asked in kit.map_or(Vec::new(), |kit| kit.asks()) {
                    pieces.push(Piece::Item(format!("asks for `{}`, {}", asked.name, asked.reads())));
                }
            }
            pieces.push(Piece::Place("defined".to_string(), header));
        }
        None => pieces
            .push(Piece::Text(format!("neither this file nor a file that it follows has anything called `{name}`"))),
    }
}

/// The first lines of a data sheet that a name stands for: what the name brings in.
fn sheet_sample(analysis: &Analysis, target: &Defined) -> Option<String> {
    const LINES: usize = 8;
    let header = analysis.job.real(target.header);
    let reading = analysis.reading(header.file).filter(|_| target.kind.is_sheet())?;
    let block = reading.blocks.iter().find(|block| block.header == header.span)?;
    let lines = reading.tree.lines.get(block.first_line as usize..=block.last_line as usize)?;
    let shown: Vec<&str> = lines.iter().take(LINES).map(|line| reading.slice(line.span)).collect();
    Some(shown.join("\n"))
}

fn follows_pieces(analysis: &Analysis, pieces: &mut Vec<Piece>) {
    pieces.push(Piece::Title("follows".to_string()));
    let word = words_of(Kind::File).words().find(|word| word.word == "follows");
    pieces.extend(word.map(|word| Piece::Text(word.says.to_string())));
    let sheets = analysis.job.defined.iter().filter(|block| !analysis.job.own(block.header));
    let names: Vec<String> = sheets.map(|sheet| format!("`{}`", sheet.name)).collect();
    if !names.is_empty() {
        pieces.push(Piece::Text(format!("brings in {}", names.join(", "))));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Date;
    use crate::rules::{BENCH_SHEETS, compose};
    use crate::source::{FileId, Followed, Source};

    struct Sheets;

    impl Source for Sheets {
        fn follow(&self, _: FileId, _: &str) -> Followed {
            Followed::File(FileId(1), Arc::new(Reading::new(Arc::from(BENCH_SHEETS))))
        }
    }

    /// How often the caution stands in the hover of the finding of a page's example.
    fn cautions(rule: &str) -> usize {
        let text = compose(rules::find(rule).expect("a rule").bad);
        let reading = Arc::new(Reading::new(Arc::from(text.as_str())));
        let analysis = crate::analyse(FileId(0), reading, &Sheets, Date::read("2026-11-02"));
        let finding = analysis.findings.iter().find(|finding| finding.rule.name == rule).expect("its finding");
        let shown = hover(&analysis, finding.place.span.start).expect("a hover");
        shown.pieces.iter().filter(|piece| **piece == Piece::Caution(CAUTION.to_string())).count()
    }

    #[test]
    fn a_finding_about_the_install_carries_the_caution_once_and_a_slip_of_the_pen_does_not() {
        for rule in ["return-air-missing", "return-grille-small", "exhaust-ends-under-vehicle"] {
            assert_eq!(cautions(rule), 1, "{rule}");
        }
        assert_eq!(cautions("unknown-word"), 0);
    }
}

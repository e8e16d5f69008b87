//! `textDocument/hover`.

use crate::world::Look;
use spec_lang::assist::{self, Piece};
use spec_lang::source::{FileId, Place};
use tower_lsp::ls_types::{Hover, HoverContents, MarkupContent, MarkupKind, Position};

/// What stands at the position.
pub(crate) fn answer(look: &Look, position: Position) -> Option<Hover> {
    let judged = look.snapshot.judge(&look.open);
    let offset = look.offset(position);
    let mut hover = assist::hover(&judged.analysis, offset)?;
    hover.pieces.extend(used_by_jobs(look, &judged.analysis, offset));
    let markdown = look.snapshot.settings.markdown;
    let value = if markdown { as_markdown(look, &hover.pieces) } else { as_plain(look, &hover.pieces) };
    let kind = if markdown { MarkupKind::Markdown } else { MarkupKind::PlainText };
    Some(Hover { contents: HoverContents::Markup(MarkupContent { kind, value }), range: Some(look.range(hover.span)) })
}

/// The most jobs that are looked at for what follows from a sheet's value, and the most figures shown of each.
const MOST_JOBS: usize = 6;
const MOST_FIGURES: usize = 4;

/// What follows in the jobs of the workspace from the value of a data sheet.
fn used_by_jobs(look: &Look, analysis: &spec_lang::Analysis, offset: u32) -> Vec<Piece> {
    let Some((sheet, place)) = assist::sheet_value_at(analysis, offset) else { return Vec::new() };
    let snapshot = &look.snapshot;
    let mut pieces = Vec::new();
    let mut jobs = 0;
    for file in snapshot.all_files() {
        let names = |file: &FileId| snapshot.held_now(*file).is_some_and(|held| held.text().holds(&[sheet]));
        if file == look.open.file || jobs >= MOST_JOBS || !names(&file) {
            continue;
        }
        let figures = match snapshot.open.get(&file) {
            Some(open) => assist::follows_from(&snapshot.judge(open).analysis, place),
            None => snapshot
                .closed(file)
                .map_or(Vec::new(), |open| assist::follows_from(&snapshot.judge_anew(&open).analysis, place)),
        };
        jobs += usize::from(!figures.is_empty());
        let name = snapshot.files.path(file).and_then(|path| Some(path.file_name()?.to_string_lossy().into_owned()));
        let name = name.unwrap_or_default();
        pieces.extend(figures.into_iter().take(MOST_FIGURES).map(|figure| Piece::Item(format!("{name}: {figure}"))));
    }
    if !pieces.is_empty() {
        pieces.insert(0, Piece::Title("what follows from it".to_string()));
    }
    pieces
}

fn as_markdown(look: &Look, pieces: &[Piece]) -> String {
    let mut out = String::new();
    let mut in_list = false;
    for piece in pieces {
        let item = matches!(piece, Piece::Item(_));
        if !out.is_empty() {
            out.push_str(if item && in_list { "\n" } else { "\n\n" });
        }
        in_list = item;
        match piece {
            Piece::Title(text) => out.push_str(&format!("**{}**", escaped(text))),
            Piece::Text(text) => out.push_str(&escaped(text)),
            Piece::Item(text) => out.push_str(&format!("- {}", escaped(text))),
            Piece::Sample(text) => out.push_str(&format!("```trialfit\n{text}\n```")),
            Piece::Caution(text) => out.push_str(&format!("⚠ **{}**", escaped(text))),
            Piece::Place(label, place) => {
                let link = look.snapshot.location(*place).map_or(String::new(), |location| {
                    format!(
                        " ([{}]({}#L{}))",
                        named(look, *place),
                        location.uri.as_str(),
                        location.range.start.line + 1
                    )
                });
                out.push_str(&format!("{}{link}", escaped(label)));
            }
        }
    }
    out
}

/// Text in which Markdown finds nothing but the code marks that messages use. Nothing is quoted without need: some
/// editors show the marks.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let (mut in_code, mut before) = (false, ' ');
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        in_code ^= letter == '`';
        let in_word = before.is_alphanumeric() && letters.peek().is_some_and(|next| next.is_alphanumeric());
        let marks = matches!(letter, '*' | '[' | ']' | '<' | '\\' | '|' | '~') || (letter == '_' && !in_word);
        if !in_code && (marks || (letter == '#' && out.is_empty())) {
            out.push('\\');
        }
        out.push(letter);
        before = letter;
    }
    out
}

fn as_plain(look: &Look, pieces: &[Piece]) -> String {
    let mut out = String::new();
    for piece in pieces {
        if !out.is_empty() {
            out.push_str(if matches!(piece, Piece::Title(_)) { "\n\n" } else { "\n" });
        }
        match piece {
            Piece::Title(text) | Piece::Text(text) => out.push_str(text),
            Piece::Item(text) => out.push_str(&format!("- {text}")),
            Piece::Sample(text) => out.push_str(&format!("  {}", text.replace('\n', "\n  "))),
            Piece::Caution(text) => out.push_str(&format!("CAUTION: {text}")),
            Piece::Place(label, place) => out.push_str(&format!("{label} ({})", named(look, *place))),
        }
    }
    out
}

/// A place for readers: `line 12`, or `sheets.trialfit, line 3`.
fn named(look: &Look, place: Place) -> String {
    let Some(held) = look.snapshot.held(place.file) else { return String::new() };
    let line = held.text().lines().line_of(place.span.start) + 1;
    let path = look.snapshot.files.path(place.file).filter(|_| place.file != look.open.file);
    match path.as_ref().and_then(|path| path.file_name()) {
        Some(name) => format!("{}, line {line}", name.to_string_lossy()),
        None => format!("line {line}"),
    }
}

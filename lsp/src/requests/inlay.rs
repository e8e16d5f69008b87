//! `textDocument/inlayHint` and `textDocument/codeLens`.

use crate::world::Look;
use serde_json::json;
use spec_lang::assist;
use spec_lang::text::Span;
use tower_lsp::ls_types::{CodeLens, Command, InlayHint, InlayHintLabel, InlayHintTooltip, Position, Range};

/// The commands of a client that lenses may call, and how they are shown.
const COMMANDS: &[(&str, &str)] = &[("trialfit.showFigures", "figures"), ("trialfit.showDrawing", "drawing")];

/// What follows from the lines of a range; nothing where the person wants none.
pub(crate) fn hints(look: &Look, range: Range) -> Vec<InlayHint> {
    let options = &look.snapshot.settings.options;
    if !options.inlay_hints && !options.blank_hints {
        return Vec::new();
    }
    let judged = look.snapshot.judge(&look.open);
    let start = look.offset(range.start);
    let within = Span { start, end: look.offset(range.end).max(start) };
    let mut shown = if options.inlay_hints { assist::inlays(&judged.analysis, within) } else { Vec::new() };
    if options.blank_hints {
        shown.extend(assist::blank_inlays(&judged.analysis, within));
        shown.sort_by_key(|inlay| inlay.at);
    }
    let hints = shown.into_iter().map(|inlay| InlayHint {
        position: look.range(Span::point(inlay.at)).start,
        label: InlayHintLabel::String(inlay.label),
        kind: None,
        text_edits: None,
        tooltip: Some(InlayHintTooltip::String(inlay.says)),
        padding_left: Some(true),
        padding_right: None,
        data: None,
    });
    hints.collect()
}

/// The margins of each run above its header, and the pages that the client can open.
pub(crate) fn lenses(look: &Look) -> Vec<CodeLens> {
    let settings = &look.snapshot.settings;
    if !settings.options.code_lenses {
        return Vec::new();
    }
    let judged = look.snapshot.judge(&look.open);
    let known = |command: &&(&str, &str)| settings.commands.iter().any(|known| known == command.0);
    let mut out = Vec::new();
    for margins in assist::margins(&judged.analysis) {
        let range = look.range(margins.header);
        // A command without a name is words only; clients show it and do nothing.
        let words = Command { title: margins.text, command: String::new(), arguments: None };
        out.push(CodeLens { range, command: Some(words), data: None });
        out.extend(COMMANDS.iter().filter(known).map(|(name, title)| lens(look, range, name, title)));
    }
    let job = &judged.analysis.job;
    let header = job.header.map(|header| job.real(header));
    if let Some(header) = header.filter(|header| header.file == look.open.file) {
        let range = look.range(header.span);
        out.extend(COMMANDS.iter().filter(known).map(|(name, title)| lens(look, range, name, title)));
    }
    out.sort_by_key(|lens| position_key(lens.range.start));
    out
}

fn position_key(position: Position) -> (u32, u32) {
    (position.line, position.character)
}

fn lens(look: &Look, range: Range, name: &str, title: &str) -> CodeLens {
    let arguments = vec![json!(look.open.uri.as_str()), json!(range.start.line)];
    let command = Command { title: title.to_string(), command: name.to_string(), arguments: Some(arguments) };
    CodeLens { range, command: Some(command), data: None }
}

//! `textDocument/prepareCallHierarchy`, `callHierarchy/incomingCalls` and `outgoingCalls`, as what hangs on what: a block
//! is called by the blocks that use it.

use crate::convert;
use crate::requests::symbols::kind;
use crate::world::{Look, Snapshot};
use serde_json::json;
use spec_lang::assist::{self, Hung, Meaning};
use spec_lang::source::{FileId, Place};
use spec_lang::text::Span;
use tower_lsp::ls_types::{CallHierarchyIncomingCall, CallHierarchyItem, CallHierarchyOutgoingCall, Position, Range};

/// The block that the name at the position means, or whose header stands there.
pub(crate) fn prepare(look: &Look, position: Position) -> Option<Vec<CallHierarchyItem>> {
    let judged = look.snapshot.sketch(&look.open);
    let job = &judged.analysis.job;
    let offset = look.offset(position);
    let here = Place { file: look.open.file, span: Span::point(offset) };
    let meant = assist::occurrence_at(job, look.open.file, offset).and_then(|it| it.meaning).and_then(Meaning::place);
    let block = match meant {
        Some(place) => assist::block_of(job, place)?,
        None => assist::block_of(job, here).filter(|block| block.header.span.touches(offset))?,
    };
    Some(vec![item(&look.snapshot, block)?])
}

fn item(snapshot: &Snapshot, block: Hung) -> Option<CallHierarchyItem> {
    let held = snapshot.held(block.header.file)?;
    let encoding = snapshot.settings.encoding;
    Some(CallHierarchyItem {
        kind: kind(assist::SymbolKind::Block(block.kind)),
        name: block.title,
        tags: None,
        detail: (!block.detail.is_empty()).then_some(block.detail),
        uri: held.uri().clone(),
        range: convert::range(held.text(), block.whole, encoding),
        selection_range: convert::range(held.text(), block.header.span, encoding),
        data: Some(json!({ "start": block.header.span.start, "end": block.header.span.end })),
    })
}

/// The header that an item stands for, where the text still has it there.
fn header(file: FileId, item: &CallHierarchyItem) -> Option<Place> {
    let number = |name: &str| u32::try_from(item.data.as_ref()?.get(name)?.as_u64()?).ok();
    let (start, end) = (number("start")?, number("end")?);
    Some(Place { file, span: Span { start, end: end.max(start) } })
}

fn ranges(snapshot: &Snapshot, places: &[Place]) -> Vec<Range> {
    let ranges = places.iter().filter_map(|place| snapshot.location(*place).map(|location| location.range));
    ranges.collect()
}

/// The blocks of the workspace that use the item.
pub(crate) fn incoming(
    snapshot: &Snapshot,
    file: FileId,
    of: &CallHierarchyItem,
) -> Option<Vec<CallHierarchyIncomingCall>> {
    let known = snapshot.known(file)?;
    let (meaning, name) = assist::meaning_of(known.job(), header(file, of)?)?;
    let mut out = Vec::new();
    let mut seen = std::collections::BTreeSet::new();
    for (_, known) in snapshot.jobs_with(&[name], &[file]) {
        for (user, places) in assist::uses_of(known.job(), meaning) {
            if seen.insert(user.header) {
                let from_ranges = ranges(snapshot, &places);
                out.extend(item(snapshot, user).map(|from| CallHierarchyIncomingCall { from, from_ranges }));
            }
        }
    }
    Some(out)
}

/// The blocks that the item uses.
pub(crate) fn outgoing(
    snapshot: &Snapshot,
    file: FileId,
    of: &CallHierarchyItem,
) -> Option<Vec<CallHierarchyOutgoingCall>> {
    let known = snapshot.known(file)?;
    let used = assist::uses_in(known.job(), header(file, of)?);
    let calls = used.into_iter().filter_map(|(used, places)| {
        let from_ranges = ranges(snapshot, &places);
        item(snapshot, used).map(|to| CallHierarchyOutgoingCall { to, from_ranges })
    });
    Some(calls.collect())
}

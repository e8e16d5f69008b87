//! `workspace/symbol`.

use crate::convert;
use crate::requests::symbols::kind;
use crate::world::Snapshot;
use spec_lang::assist;
use tower_lsp::ls_types::{Location, SymbolInformation};

/// The most symbols of one answer: nobody reads more, and a client asks again as the query grows.
const MOST: usize = 1_000;

/// The blocks of every file of the workspace whose header has the letters of the query in their order.
#[allow(deprecated)] // the protocol's type has a deprecated field without a default
pub(crate) fn answer(snapshot: &Snapshot, query: &str) -> Vec<SymbolInformation> {
    let query: Vec<char> =
        query.chars().filter(|letter| !letter.is_whitespace()).flat_map(char::to_lowercase).collect();
    let encoding = snapshot.settings.encoding;
    let mut out = Vec::new();
    for file in snapshot.all_files() {
        let Some(held) = snapshot.held_now(file) else { continue };
        let container =
            snapshot.files.path(file).and_then(|path| path.file_name().map(|name| name.to_string_lossy().into_owned()));
        for symbol in assist::blocks(held.text().reading()) {
            if !has_in_order(&symbol.name, &query) {
                continue;
            }
            let range = convert::range(held.text(), symbol.selection, encoding);
            out.push(SymbolInformation {
                name: symbol.name,
                kind: kind(symbol.kind),
                tags: None,
                deprecated: None,
                location: Location { uri: held.uri().clone(), range },
                container_name: container.clone(),
            });
            if out.len() >= MOST {
                return out;
            }
        }
    }
    out
}

fn has_in_order(name: &str, query: &[char]) -> bool {
    let mut wanted = query.iter().peekable();
    for letter in name.chars().flat_map(char::to_lowercase) {
        wanted.next_if(|next| **next == letter);
    }
    wanted.peek().is_none()
}

//! `textDocument/documentSymbol`.

use crate::world::Look;
use spec_lang::assist::{self, Symbol, SymbolKind as Kind};
use spec_lang::vocabulary;
use tower_lsp::ls_types::{DocumentSymbol, DocumentSymbolResponse, Location, SymbolInformation, SymbolKind};

/// The outline: nested where the client can show that, else blocks and statements in one list.
pub(crate) fn answer(look: &Look) -> DocumentSymbolResponse {
    let symbols = assist::symbols(look.open.text.reading());
    if look.snapshot.settings.nested_symbols {
        return DocumentSymbolResponse::Nested(symbols.into_iter().map(|symbol| nested(look, symbol)).collect());
    }
    let mut flat = Vec::new();
    for symbol in symbols {
        let container = symbol.name.clone();
        flat.push(in_list(look, &symbol, None));
        flat.extend(symbol.children.iter().map(|child| in_list(look, child, Some(container.clone()))));
    }
    DocumentSymbolResponse::Flat(flat)
}

#[allow(deprecated)] // the protocol's type has a deprecated field without a default
fn nested(look: &Look, symbol: Symbol) -> DocumentSymbol {
    DocumentSymbol {
        range: look.range(symbol.span),
        selection_range: look.range(symbol.selection),
        kind: kind(symbol.kind),
        name: symbol.name,
        detail: (!symbol.detail.is_empty()).then_some(symbol.detail),
        tags: None,
        deprecated: None,
        children: Some(symbol.children.into_iter().map(|child| nested(look, child)).collect()),
    }
}

#[allow(deprecated)] // as above
fn in_list(look: &Look, symbol: &Symbol, container_name: Option<String>) -> SymbolInformation {
    SymbolInformation {
        name: symbol.name.clone(),
        kind: kind(symbol.kind),
        tags: None,
        deprecated: None,
        location: Location { uri: look.open.uri.clone(), range: look.range(symbol.span) },
        container_name,
    }
}

/// The protocol's kind of a symbol.
pub(crate) fn kind(kind: Kind) -> SymbolKind {
    match kind {
        Kind::Statement => SymbolKind::PROPERTY,
        Kind::Block(None) => SymbolKind::NULL,
        Kind::Block(Some(vocabulary::Kind::Job | vocabulary::Kind::Sketch)) => SymbolKind::MODULE,
        Kind::Block(Some(kind)) if kind.is_sheet() => SymbolKind::STRUCT,
        Kind::Block(Some(kind)) if kind.is_run() => SymbolKind::ARRAY,
        Kind::Block(Some(_)) => SymbolKind::OBJECT,
    }
}

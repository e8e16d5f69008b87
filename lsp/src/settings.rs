//! What the client can do and how it wants things, read once from its `initialize`.

use crate::options::Options;
use spec_lang::text::Encoding;
use std::path::PathBuf;
use tower_lsp::ls_types::{InitializeParams, MarkupKind, PositionEncodingKind};

/// What was agreed with the client.
#[derive(Clone, Debug)]
pub(crate) struct Settings {
    /// How columns are counted.
    pub(crate) encoding: Encoding,
    /// The client asks for findings, and can be told to ask again.
    pub(crate) pulls: bool,
    /// Findings may carry other places.
    pub(crate) related: bool,
    /// Hover texts may be Markdown.
    pub(crate) markdown: bool,
    /// Documentation of completions may be Markdown.
    pub(crate) markdown_completion: bool,
    /// Completions may carry places to fill.
    pub(crate) snippets: bool,
    /// Edits may name the version of the text they are for.
    pub(crate) versioned_edits: bool,
    /// Code actions may be literals rather than commands.
    pub(crate) action_literals: bool,
    /// Code actions may say which is preferred.
    pub(crate) preferred: bool,
    /// Symbols may have children.
    pub(crate) nested_symbols: bool,
    /// Watching files may be asked for.
    pub(crate) watches: bool,
    /// A name may be asked for before it is renamed.
    pub(crate) prepares_rename: bool,
    /// Tokens may be asked for.
    pub(crate) tokens: bool,
    /// Findings may carry tags.
    pub(crate) tags: bool,
    /// Findings may carry the address of their rule's page.
    pub(crate) code_links: bool,
    /// The client keeps settings that it can be asked for.
    pub(crate) keeps_settings: bool,
    /// Work that takes its time may be shown.
    pub(crate) progress: bool,
    /// Edits of code actions may be made when one is chosen.
    pub(crate) resolves_edits: bool,
    /// Completions may carry a line beside their label.
    pub(crate) label_details: bool,
    /// The client tells of files that people create, rename and delete.
    pub(crate) file_operations: bool,
    /// The commands that the client itself carries out.
    pub(crate) commands: Vec<String>,
    /// What a person set.
    pub(crate) options: Options,
    /// The opened folders.
    pub(crate) folders: Vec<PathBuf>,
}

impl Default for Settings {
    fn default() -> Settings {
        Settings::of(&InitializeParams::default())
    }
}

impl Settings {
    /// Reads them off the client's first request.
    pub(crate) fn of(params: &InitializeParams) -> Settings {
        let capabilities = &params.capabilities;
        let document = capabilities.text_document.as_ref();
        let workspace = capabilities.workspace.as_ref();
        let offered = capabilities.general.as_ref().and_then(|general| general.position_encodings.as_deref());
        let pull = document.and_then(|document| document.diagnostic.as_ref());
        let refresh =
            workspace.and_then(|it| it.diagnostics.as_ref()).and_then(|it| it.refresh_support).unwrap_or(false);
        let published = document.and_then(|document| document.publish_diagnostics.as_ref());
        let pulls = pull.is_some() && refresh;
        let related = if pulls {
            pull.and_then(|it| it.related_information).or_else(|| published.and_then(|it| it.related_information))
        } else {
            published.and_then(|it| it.related_information)
        };
        let item = document.and_then(|it| it.completion.as_ref()).and_then(|it| it.completion_item.as_ref());
        let action = document.and_then(|it| it.code_action.as_ref());
        let markdown = |formats: Option<&Vec<MarkupKind>>| {
            formats.and_then(|formats| formats.first()).is_some_and(|first| *first == MarkupKind::Markdown)
        };
        let sent = params.initialization_options.clone().unwrap_or_default();
        let commands = sent.get("commands").and_then(serde_json::Value::as_array);
        Settings {
            encoding: encoding(offered),
            pulls,
            related: related.unwrap_or(false),
            markdown: markdown(document.and_then(|it| it.hover.as_ref()).and_then(|it| it.content_format.as_ref())),
            markdown_completion: markdown(item.and_then(|it| it.documentation_format.as_ref())),
            snippets: item.and_then(|it| it.snippet_support).unwrap_or(false),
            versioned_edits: workspace
                .and_then(|it| it.workspace_edit.as_ref())
                .and_then(|it| it.document_changes)
                .unwrap_or(false),
            action_literals: action.is_some_and(|it| it.code_action_literal_support.is_some()),
            preferred: action.and_then(|it| it.is_preferred_support).unwrap_or(false),
            nested_symbols: document
                .and_then(|it| it.document_symbol.as_ref())
                .and_then(|it| it.hierarchical_document_symbol_support)
                .unwrap_or(false),
            watches: workspace
                .and_then(|it| it.did_change_watched_files.as_ref())
                .and_then(|it| it.dynamic_registration)
                .unwrap_or(false),
            prepares_rename: document
                .and_then(|it| it.rename.as_ref())
                .and_then(|it| it.prepare_support)
                .unwrap_or(false),
            tokens: document.is_some_and(|it| it.semantic_tokens.is_some()),
            tags: published.is_some_and(|it| it.tag_support.is_some())
                || pull.is_some_and(|it| it.tag_support.is_some()),
            code_links: published.and_then(|it| it.code_description_support).unwrap_or(false)
                || pull.and_then(|it| it.code_description_support).unwrap_or(false),
            keeps_settings: workspace.and_then(|it| it.configuration).unwrap_or(false),
            progress: capabilities.window.as_ref().and_then(|it| it.work_done_progress).unwrap_or(false),
            resolves_edits: action.is_some_and(|it| {
                it.data_support.unwrap_or(false)
                    && it.resolve_support.as_ref().is_some_and(|it| it.properties.iter().any(|it| it == "edit"))
            }),
            label_details: item.and_then(|it| it.label_details_support).unwrap_or(false),
            file_operations: workspace.is_some_and(|it| it.file_operations.is_some()),
            commands: commands.into_iter().flatten().filter_map(|it| it.as_str().map(str::to_string)).collect(),
            options: Options::read(&sent),
            folders: folders(params),
        }
    }
}

fn encoding(offered: Option<&[PositionEncodingKind]>) -> Encoding {
    let offers = |kind: PositionEncodingKind| offered.is_some_and(|offered| offered.contains(&kind));
    if offers(PositionEncodingKind::UTF8) {
        Encoding::Utf8
    } else if !offers(PositionEncodingKind::UTF16) && offers(PositionEncodingKind::UTF32) {
        Encoding::Utf32
    } else {
        // What every client must speak (LSP 3.17, `general.positionEncodings`).
        Encoding::Utf16
    }
}

#[allow(deprecated)] // older clients send nothing but the deprecated root
fn folders(params: &InitializeParams) -> Vec<PathBuf> {
    let several = params.workspace_folders.iter().flatten().map(|folder| &folder.uri);
    let mut folders: Vec<PathBuf> = several.filter_map(crate::files::path_of).collect();
    if folders.is_empty() {
        folders.extend(params.root_uri.as_ref().and_then(crate::files::path_of));
    }
    if folders.is_empty() {
        folders.extend(params.root_path.as_ref().map(PathBuf::from));
    }
    folders.retain(|folder| folder.is_absolute());
    folders.iter().map(|folder| crate::files::settled(folder)).collect()
}

//! The protocol's methods. Edits are made before the first wait; requests take a look before theirs and are answered on
//! another thread. No request to the client is waited for in here.

use crate::files;
use crate::requests;
use crate::settings::Settings;
use crate::world::{Look, World};
use crate::{findings, publisher};
use spec_lang::text::Encoding;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::ls_types::*;
use tower_lsp::{Client, LanguageServer};

/// The server of one client.
pub(crate) struct Backend {
    world: Arc<World>,
    client: Client,
}

impl Backend {
    /// For a client.
    pub(crate) fn new(world: Arc<World>, client: Client) -> Backend {
        Backend { world, client }
    }

    /// Looks at a document now and answers on another thread; `None` where the document is not open.
    async fn answer<T, F>(&self, uri: &Uri, with: F) -> Result<Option<T>>
    where
        T: Send + 'static,
        F: FnOnce(&Look) -> T + Send + 'static,
    {
        let Some(look) = self.world.look(uri) else { return Ok(None) };
        // A panic ends this answer only.
        tokio::task::spawn_blocking(move || with(&look)).await.map(Some).map_err(|_| Error::internal_error())
    }
}

impl LanguageServer for Backend {
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let settings = Settings::of(&params);
        let capabilities = capabilities(&settings);
        self.world.agree(settings, params.process_id);
        tokio::spawn(publisher::run(Arc::clone(&self.world), self.client.clone()));
        Ok(InitializeResult {
            capabilities,
            server_info: Some(ServerInfo {
                name: "dryfit".to_string(),
                version: Some(env!("CARGO_PKG_VERSION").to_string()),
            }),
            ..InitializeResult::default()
        })
    }

    async fn initialized(&self, _: InitializedParams) {
        if self.world.settings().watches {
            let client = self.client.clone();
            tokio::spawn(async move {
                let _ = tokio::time::timeout(Duration::from_secs(10), client.register_capability(vec![watch()])).await;
            });
        }
    }

    async fn shutdown(&self) -> Result<()> {
        self.world.shut_down();
        Ok(())
    }

    async fn did_open(&self, params: DidOpenTextDocumentParams) {
        let document = params.text_document;
        self.world.open(document.uri, document.version, &document.text);
    }

    async fn did_change(&self, params: DidChangeTextDocumentParams) {
        self.world.edit(&params.text_document.uri, params.text_document.version, &params.content_changes);
    }

    async fn did_close(&self, params: DidCloseTextDocumentParams) {
        self.world.close(&params.text_document.uri);
    }

    async fn did_save(&self, params: DidSaveTextDocumentParams) {
        self.world.disk_changed(&params.text_document.uri);
    }

    async fn did_change_watched_files(&self, params: DidChangeWatchedFilesParams) {
        for change in params.changes {
            self.world.disk_changed(&change.uri);
        }
    }

    async fn did_change_configuration(&self, _: DidChangeConfigurationParams) {
        // Nothing is configured: the job file says all there is to say.
    }

    async fn did_change_workspace_folders(&self, params: DidChangeWorkspaceFoldersParams) {
        let paths = |folders: &[WorkspaceFolder]| -> Vec<PathBuf> {
            let paths = folders.iter().filter_map(|folder| files::path_of(&folder.uri));
            paths.map(|path| files::settled(&path)).collect()
        };
        self.world.change_folders(paths(&params.event.added), &paths(&params.event.removed));
    }

    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let at = params.text_document_position_params;
        let hover = self.answer(&at.text_document.uri, move |look| requests::hover::answer(look, at.position)).await?;
        Ok(hover.flatten())
    }

    async fn completion(&self, params: CompletionParams) -> Result<Option<CompletionResponse>> {
        let at = params.text_document_position;
        self.answer(&at.text_document.uri, move |look| requests::completion::answer(look, at.position)).await
    }

    async fn goto_definition(&self, params: GotoDefinitionParams) -> Result<Option<GotoDefinitionResponse>> {
        let at = params.text_document_position_params;
        let found = self.answer(&at.text_document.uri, move |look| requests::definition::answer(look, at.position));
        Ok(found.await?.flatten())
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let uri = params.text_document.uri.clone();
        let world = Arc::clone(&self.world);
        self.answer(&uri, move |look| requests::actions::answer(look, &world, &params)).await
    }

    async fn formatting(&self, params: DocumentFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let world = Arc::clone(&self.world);
        let edits = self.answer(&params.text_document.uri, move |look| {
            let edits = requests::formatting::answer(look);
            // Edits for a text that is no more would garble the one that is.
            world.is_current(&look.open).then_some(edits).ok_or_else(Error::content_modified)
        });
        edits.await?.transpose()
    }

    async fn document_symbol(&self, params: DocumentSymbolParams) -> Result<Option<DocumentSymbolResponse>> {
        self.answer(&params.text_document.uri, requests::symbols::answer).await
    }

    async fn folding_range(&self, params: FoldingRangeParams) -> Result<Option<Vec<FoldingRange>>> {
        self.answer(&params.text_document.uri, requests::folding::answer).await
    }

    async fn diagnostic(&self, params: DocumentDiagnosticParams) -> Result<DocumentDiagnosticReportResult> {
        let world = Arc::clone(&self.world);
        let previous = params.previous_result_id;
        let report = self.answer(&params.text_document.uri, move |look| {
            let answer = || requests::pulled::answer(look, &world, previous.as_deref());
            std::panic::catch_unwind(std::panic::AssertUnwindSafe(answer))
                .unwrap_or_else(|_| Ok(requests::pulled::full(None, findings::own_fault())))
        });
        report.await?.unwrap_or_else(|| Ok(requests::pulled::full(None, Vec::new())))
    }
}

fn capabilities(settings: &Settings) -> ServerCapabilities {
    ServerCapabilities {
        position_encoding: Some(match settings.encoding {
            Encoding::Utf8 => PositionEncodingKind::UTF8,
            Encoding::Utf16 => PositionEncodingKind::UTF16,
            Encoding::Utf32 => PositionEncodingKind::UTF32,
        }),
        text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
            open_close: Some(true),
            change: Some(TextDocumentSyncKind::INCREMENTAL),
            save: Some(TextDocumentSyncSaveOptions::Supported(true)),
            ..TextDocumentSyncOptions::default()
        })),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        completion_provider: Some(CompletionOptions {
            trigger_characters: Some(vec![" ".to_string()]),
            ..CompletionOptions::default()
        }),
        definition_provider: Some(OneOf::Left(true)),
        code_action_provider: settings.action_literals.then(|| {
            CodeActionProviderCapability::Options(CodeActionOptions {
                code_action_kinds: Some(vec![CodeActionKind::QUICKFIX]),
                ..CodeActionOptions::default()
            })
        }),
        document_formatting_provider: Some(OneOf::Left(true)),
        document_symbol_provider: Some(OneOf::Left(true)),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        diagnostic_provider: settings.pulls.then(|| {
            DiagnosticServerCapabilities::Options(DiagnosticOptions {
                identifier: Some("dryfit".to_string()),
                // A workshop file's edit changes what is found in the jobs that follow it.
                inter_file_dependencies: true,
                // Clients would ask for the whole workspace without rest.
                workspace_diagnostics: false,
                ..DiagnosticOptions::default()
            })
        }),
        workspace: Some(WorkspaceServerCapabilities {
            workspace_folders: Some(WorkspaceFoldersServerCapabilities {
                supported: Some(true),
                change_notifications: Some(OneOf::Left(true)),
            }),
            ..WorkspaceServerCapabilities::default()
        }),
        ..ServerCapabilities::default()
    }
}

fn watch() -> Registration {
    Registration {
        id: "dryfit-files".to_string(),
        method: "workspace/didChangeWatchedFiles".to_string(),
        register_options: Some(serde_json::json!({ "watchers": [{ "globPattern": "**/*.dryfit" }] })),
    }
}

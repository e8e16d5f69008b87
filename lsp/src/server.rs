//! The protocol's methods. Edits are made before the first wait; requests take a look before theirs and are answered on
//! another thread. No request to the client is waited for in here.

use crate::files;
use crate::options::{Options, SECTION};
use crate::requests;
use crate::settings::Settings;
use crate::world::{Look, World};
use crate::{findings, publisher};
use spec_lang::text::Encoding;
use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::ls_types::*;
use tower_lsp::{Client, LanguageServer};

/// How long the client may take to answer a request of the server.
pub(crate) const ANSWER_WITHIN: Duration = Duration::from_secs(10);

/// How long the text rests before a client that waits for news of closed files is told.
const REST: Duration = Duration::from_millis(300);

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
        elsewhere(move |_| with(&look)).await.map(Some)
    }
}

/// Does work on another thread; a panic ends this answer only. Work whose request was cancelled before its turn came is
/// not begun.
async fn elsewhere<T, F>(work: F) -> Result<T>
where
    T: Send + 'static,
    F: FnOnce(&AtomicBool) -> T + Send + 'static,
{
    let stop = StopOnDrop::default();
    let stopped = Arc::clone(&stop.0);
    let work = move || (!stopped.load(Ordering::Relaxed)).then(|| work(&stopped));
    match tokio::task::spawn_blocking(work).await {
        Ok(Some(done)) => Ok(done),
        Ok(None) => Err(Error::request_cancelled()),
        Err(_) => Err(Error::internal_error()),
    }
}

/// Tells work on another thread to stop where the request that it is for is cancelled.
#[derive(Default)]
struct StopOnDrop(Arc<AtomicBool>);

impl Drop for StopOnDrop {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// A rule, asked for by name.
#[derive(Debug, serde::Deserialize)]
pub(crate) struct RuleParams {
    rule: String,
}

/// A document, asked for by address.
#[derive(Debug, serde::Deserialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct DocumentParams {
    text_document: TextDocumentIdentifier,
}

/// A document's drawing, and where the cursor is.
#[derive(Debug, serde::Deserialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct DrawingParams {
    text_document: TextDocumentIdentifier,
    position: Option<Position>,
    /// How wide the sheet is to be.
    width: Option<u16>,
}

/// How wide the figures are set.
const FIGURES_WIDTH: usize = 100;

impl Backend {
    /// The client's person wants no more work on closed files.
    pub(crate) async fn cancel_progress(&self, _: WorkDoneProgressCancelParams) {
        self.world.cancel_background();
    }

    /// A rule's page in Markdown; null where there is no such rule.
    pub(crate) async fn rule_page(&self, params: RuleParams) -> Result<Option<String>> {
        Ok(spec_lang::rules::find(&params.rule).map(spec_lang::rules::page))
    }

    /// The figures of a document with their working, as text; null where it is not open.
    pub(crate) async fn figures(&self, params: DocumentParams) -> Result<Option<String>> {
        self.answer(&params.text_document.uri, |look| {
            let judged = look.snapshot.judge(&look.open);
            spec_lang::report::figures_text(&judged.analysis, &look.name(), FIGURES_WIDTH)
        })
        .await
    }

    /// Every question that the rules ask of a document, with its answer, as text; null where it is not open.
    pub(crate) async fn account(&self, params: DocumentParams) -> Result<Option<String>> {
        self.answer(&params.text_document.uri, |look| {
            let judged = look.snapshot.judge(&look.open);
            spec_lang::report::account_text(&judged.analysis, &|_| true, &look.name(), FIGURES_WIDTH)
        })
        .await
    }

    /// The drawing of a document with the places of its elements; null where it is not open.
    pub(crate) async fn drawing(&self, params: DrawingParams) -> Result<Option<requests::drawing::Drawing>> {
        let (position, width) = (params.position, params.width);
        self.answer(&params.text_document.uri, move |look| requests::drawing::answer(look, position, width)).await
    }

    fn came_or_went<'a>(&self, uris: impl Iterator<Item = &'a str>) {
        for uri in uris.filter_map(|uri| uri.parse().ok()) {
            self.world.came_or_went(&uri);
        }
    }

    /// Edits of a document, where it still is the one they are for: for a text that is no more they would garble the one
    /// that is.
    async fn current_edits<F>(&self, uri: &Uri, with: F) -> Result<Option<Vec<TextEdit>>>
    where
        F: FnOnce(&Look) -> Vec<TextEdit> + Send + 'static,
    {
        let world = Arc::clone(&self.world);
        let edits = self.answer(uri, move |look| {
            let edits = with(look);
            world.is_current(&look.open).then_some(edits).ok_or_else(Error::content_modified)
        });
        edits.await?.transpose()
    }

    /// Asks the client for its settings; the answer takes effect when it comes.
    fn ask_settings(&self) {
        let (world, client) = (Arc::clone(&self.world), self.client.clone());
        tokio::spawn(async move {
            let item = ConfigurationItem { scope_uri: None, section: Some(SECTION.to_string()) };
            let asked = tokio::time::timeout(ANSWER_WITHIN, client.configuration(vec![item])).await;
            // Null is what a client says that keeps none: then those of the greeting stand.
            if let Some(sent) = asked.ok().and_then(Result::ok).and_then(|sent| sent.into_iter().next())
                && sent.is_object()
            {
                world.set_options(Options::read(&sent));
            }
        });
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
                name: "trialfit".to_string(),
                version: Some(env!("CARGO_PKG_VERSION").to_string()),
            }),
            ..InitializeResult::default()
        })
    }

    async fn initialized(&self, _: InitializedParams) {
        self.world.begin();
        if self.world.settings().keeps_settings {
            self.ask_settings();
        }
        if self.world.settings().watches {
            let client = self.client.clone();
            tokio::spawn(async move {
                let _ = tokio::time::timeout(ANSWER_WITHIN, client.register_capability(vec![watch()])).await;
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
            if change.typ == FileChangeType::CHANGED {
                self.world.disk_changed(&change.uri);
            } else {
                self.world.came_or_went(&change.uri);
            }
        }
    }

    async fn did_create_files(&self, params: CreateFilesParams) {
        self.came_or_went(params.files.iter().map(|file| file.uri.as_str()));
    }

    async fn did_delete_files(&self, params: DeleteFilesParams) {
        self.came_or_went(params.files.iter().map(|file| file.uri.as_str()));
    }

    async fn did_rename_files(&self, params: RenameFilesParams) {
        self.came_or_went(params.files.iter().flat_map(|file| [file.old_uri.as_str(), file.new_uri.as_str()]));
    }

    async fn will_rename_files(&self, params: RenameFilesParams) -> Result<Option<WorkspaceEdit>> {
        let snapshot = self.world.snapshot();
        let edits = elsewhere(move |_| {
            let edits = requests::renamed_files::edits(&snapshot, &params.files);
            snapshot.workspace_edit(&edits).filter(|_| !edits.is_empty())
        });
        edits.await
    }

    async fn did_change_configuration(&self, params: DidChangeConfigurationParams) {
        if self.world.settings().keeps_settings {
            self.ask_settings();
        } else if params.settings.is_object() {
            self.world.set_options(Options::read(&params.settings));
        }
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

    async fn references(&self, params: ReferenceParams) -> Result<Option<Vec<Location>>> {
        let at = params.text_document_position;
        let declared = params.context.include_declaration;
        let found =
            self.answer(&at.text_document.uri, move |look| requests::references::answer(look, at.position, declared));
        Ok(found.await?.flatten())
    }

    async fn document_highlight(&self, params: DocumentHighlightParams) -> Result<Option<Vec<DocumentHighlight>>> {
        let at = params.text_document_position_params;
        let found = self.answer(&at.text_document.uri, move |look| requests::references::highlights(look, at.position));
        Ok(found.await?.flatten())
    }

    async fn prepare_rename(&self, at: TextDocumentPositionParams) -> Result<Option<PrepareRenameResponse>> {
        let found = self.answer(&at.text_document.uri, move |look| requests::rename::prepare(look, at.position));
        found.await?.unwrap_or(Ok(None))
    }

    async fn rename(&self, params: RenameParams) -> Result<Option<WorkspaceEdit>> {
        let at = params.text_document_position;
        let (world, new) = (Arc::clone(&self.world), params.new_name);
        let found =
            self.answer(&at.text_document.uri, move |look| requests::rename::answer(look, &world, at.position, &new));
        found.await?.unwrap_or(Ok(None))
    }

    async fn inlay_hint(&self, params: InlayHintParams) -> Result<Option<Vec<InlayHint>>> {
        self.answer(&params.text_document.uri, move |look| requests::inlay::hints(look, params.range)).await
    }

    async fn code_lens(&self, params: CodeLensParams) -> Result<Option<Vec<CodeLens>>> {
        self.answer(&params.text_document.uri, requests::inlay::lenses).await
    }

    async fn prepare_call_hierarchy(
        &self,
        params: CallHierarchyPrepareParams,
    ) -> Result<Option<Vec<CallHierarchyItem>>> {
        let at = params.text_document_position_params;
        let found = self.answer(&at.text_document.uri, move |look| requests::hierarchy::prepare(look, at.position));
        Ok(found.await?.flatten())
    }

    async fn incoming_calls(
        &self,
        params: CallHierarchyIncomingCallsParams,
    ) -> Result<Option<Vec<CallHierarchyIncomingCall>>> {
        let (snapshot, file) = (self.world.snapshot(), self.world.number(&params.item.uri));
        elsewhere(move |_| requests::hierarchy::incoming(&snapshot, file, &params.item)).await
    }

    async fn outgoing_calls(
        &self,
        params: CallHierarchyOutgoingCallsParams,
    ) -> Result<Option<Vec<CallHierarchyOutgoingCall>>> {
        let (snapshot, file) = (self.world.snapshot(), self.world.number(&params.item.uri));
        elsewhere(move |_| requests::hierarchy::outgoing(&snapshot, file, &params.item)).await
    }

    async fn code_action_resolve(&self, action: CodeAction) -> Result<CodeAction> {
        let Some(uri) = requests::actions::document_of(&action) else { return Ok(action) };
        let resolved = self.answer(&uri, move |look| requests::actions::resolve(look, action)).await?;
        resolved.unwrap_or_else(|| Err(Error::content_modified()))
    }

    async fn workspace_diagnostic(&self, params: WorkspaceDiagnosticParams) -> Result<WorkspaceDiagnosticReportResult> {
        let known: HashMap<Uri, String> = params.previous_result_ids.into_iter().map(|it| (it.uri, it.value)).collect();
        let known = Arc::new(known);
        // A client asks again as soon as it is answered: one that knows all is answered when there is something new.
        let mut revision = self.world.revision();
        loop {
            revision.mark_unchanged();
            let snapshot = self.world.snapshot();
            let items = if snapshot.settings.options.closed_files {
                let known = Arc::clone(&known);
                let report = elsewhere(move |stop| requests::closed::report(&snapshot, &known, stop));
                let (items, news) = report.await?;
                news.then_some(items)
            } else {
                None
            };
            if let Some(items) = items {
                return Ok(WorkspaceDiagnosticReport { items }.into());
            }
            if revision.changed().await.is_err() {
                return Err(Error::request_cancelled());
            }
            tokio::time::sleep(REST).await;
        }
    }

    async fn semantic_tokens_full(&self, params: SemanticTokensParams) -> Result<Option<SemanticTokensResult>> {
        let world = Arc::clone(&self.world);
        let found = self.answer(&params.text_document.uri, move |look| requests::tokens::full(look, &world).into());
        found.await
    }

    async fn semantic_tokens_full_delta(
        &self,
        params: SemanticTokensDeltaParams,
    ) -> Result<Option<SemanticTokensFullDeltaResult>> {
        let world = Arc::clone(&self.world);
        let found = self.answer(&params.text_document.uri, move |look| {
            requests::tokens::delta(look, &world, &params.previous_result_id)
        });
        found.await
    }

    async fn semantic_tokens_range(
        &self,
        params: SemanticTokensRangeParams,
    ) -> Result<Option<SemanticTokensRangeResult>> {
        let found =
            self.answer(&params.text_document.uri, move |look| requests::tokens::range(look, params.range).into());
        found.await
    }

    async fn selection_range(&self, params: SelectionRangeParams) -> Result<Option<Vec<SelectionRange>>> {
        let found =
            self.answer(&params.text_document.uri, move |look| requests::selection::answer(look, &params.positions));
        found.await
    }

    async fn document_link(&self, params: DocumentLinkParams) -> Result<Option<Vec<DocumentLink>>> {
        self.answer(&params.text_document.uri, requests::definition::links).await
    }

    async fn symbol(&self, params: WorkspaceSymbolParams) -> Result<Option<WorkspaceSymbolResponse>> {
        let snapshot = self.world.snapshot();
        let found = elsewhere(move |_| requests::workspace_symbols::answer(&snapshot, &params.query)).await?;
        Ok(Some(WorkspaceSymbolResponse::Flat(found)))
    }

    async fn range_formatting(&self, params: DocumentRangeFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        self.current_edits(&params.text_document.uri, move |look| requests::formatting::range(look, params.range)).await
    }

    async fn on_type_formatting(&self, params: DocumentOnTypeFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let at = params.text_document_position;
        self.current_edits(&at.text_document.uri, move |look| requests::formatting::on_type(look, at.position)).await
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let uri = params.text_document.uri.clone();
        let world = Arc::clone(&self.world);
        self.answer(&uri, move |look| requests::actions::answer(look, &world, &params)).await
    }

    async fn formatting(&self, params: DocumentFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        self.current_edits(&params.text_document.uri, requests::formatting::answer).await
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
                code_action_kinds: Some(requests::actions::kinds()),
                resolve_provider: settings.resolves_edits.then_some(true),
                ..CodeActionOptions::default()
            })
        }),
        references_provider: Some(OneOf::Left(true)),
        document_highlight_provider: Some(OneOf::Left(true)),
        rename_provider: Some(if settings.prepares_rename {
            OneOf::Right(RenameOptions {
                prepare_provider: Some(true),
                work_done_progress_options: WorkDoneProgressOptions::default(),
            })
        } else {
            OneOf::Left(true)
        }),
        semantic_tokens_provider: settings.tokens.then(|| {
            SemanticTokensServerCapabilities::SemanticTokensOptions(SemanticTokensOptions {
                legend: requests::tokens::legend(),
                range: Some(true),
                full: Some(SemanticTokensFullOptions::Delta { delta: Some(true) }),
                ..SemanticTokensOptions::default()
            })
        }),
        inlay_hint_provider: Some(OneOf::Left(true)),
        code_lens_provider: Some(CodeLensOptions { resolve_provider: Some(false) }),
        call_hierarchy_provider: Some(CallHierarchyServerCapability::Simple(true)),
        experimental: Some(serde_json::json!({ "rulePage": true, "figures": true, "drawing": true })),
        selection_range_provider: Some(SelectionRangeProviderCapability::Simple(true)),
        document_link_provider: Some(DocumentLinkOptions {
            resolve_provider: Some(false),
            work_done_progress_options: WorkDoneProgressOptions::default(),
        }),
        workspace_symbol_provider: Some(OneOf::Left(true)),
        document_range_formatting_provider: Some(OneOf::Left(true)),
        document_on_type_formatting_provider: Some(DocumentOnTypeFormattingOptions {
            first_trigger_character: "\n".to_string(),
            more_trigger_character: None,
        }),
        document_formatting_provider: Some(OneOf::Left(true)),
        document_symbol_provider: Some(OneOf::Left(true)),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        diagnostic_provider: settings.pulls.then(|| {
            DiagnosticServerCapabilities::Options(DiagnosticOptions {
                identifier: Some("trialfit".to_string()),
                // A workshop file's edit changes what is found in the jobs that follow it.
                inter_file_dependencies: true,
                workspace_diagnostics: settings.options.closed_files && !settings.folders.is_empty(),
                ..DiagnosticOptions::default()
            })
        }),
        workspace: Some(WorkspaceServerCapabilities {
            workspace_folders: Some(WorkspaceFoldersServerCapabilities {
                supported: Some(true),
                change_notifications: Some(OneOf::Left(true)),
            }),
            file_operations: settings.file_operations.then(|| WorkspaceFileOperationsServerCapabilities {
                did_create: Some(job_files()),
                did_rename: Some(job_files()),
                will_rename: Some(job_files()),
                did_delete: Some(job_files()),
                ..WorkspaceFileOperationsServerCapabilities::default()
            }),
        }),
        ..ServerCapabilities::default()
    }
}

/// Job files, and the folders that they may lie in.
fn job_files() -> FileOperationRegistrationOptions {
    let filter = |glob: &str, matches| FileOperationFilter {
        scheme: Some("file".to_string()),
        pattern: FileOperationPattern { glob: glob.to_string(), matches: Some(matches), options: None },
    };
    FileOperationRegistrationOptions {
        filters: vec![
            filter("**/*.trialfit", FileOperationPatternKind::File),
            filter("**/trialfit.toml", FileOperationPatternKind::File),
            filter("**", FileOperationPatternKind::Folder),
        ],
    }
}

fn watch() -> Registration {
    Registration {
        id: "trialfit-files".to_string(),
        method: "workspace/didChangeWatchedFiles".to_string(),
        register_options: Some(serde_json::json!({
            "watchers": [{ "globPattern": "**/*.trialfit" }, { "globPattern": "**/trialfit.toml" }]
        })),
    }
}

//! The language server: the protocol's edge only. Messages come in, documents are kept, positions are converted,
//! findings are published. What is found and what is said about it is computed in `spec-lang`.

mod background;
mod beside;
mod convert;
mod documents;
mod files;
mod findings;
mod frames;
mod ingress;
mod job_settings;
mod options;
mod parent;
mod publisher;
mod requests;
mod server;
mod settings;
mod transport;
mod workspace;
mod world;

pub use files::plain_path;
pub use job_settings::{
    Broken, JobSettings, SETTINGS_FILE, SETTINGS_KEYS, SettingsFile, SettingsKey, SettingsRow, Written,
};
pub use options::{settings_page, settings_schema};

use ingress::Ingress;
use server::Backend;
use std::sync::Arc;
use tokio::io::{AsyncRead, AsyncWrite};
use tower_lsp::LspService;
use world::World;

/// How many threads may judge or answer at once, beside the one that moves messages; standard input and output take
/// one each.
const WORKERS: usize = 6;

/// Serves one client over a pair of byte streams until it says `exit`, its stream ends, or its process is gone.
///
/// Gives the exit code of the protocol: 0 where `shutdown` came first, else 1.
pub async fn serve<R, W>(reader: R, writer: W) -> i32
where
    R: AsyncRead + Unpin,
    W: AsyncWrite + Unpin + Send + 'static,
{
    let world = Arc::new(World::new());
    let backend = Arc::clone(&world);
    let (service, socket) = LspService::build(move |client| Backend::new(backend, client))
        .custom_method("window/workDoneProgress/cancel", Backend::cancel_progress)
        .custom_method("trialfit/rulePage", Backend::rule_page)
        .custom_method("trialfit/figures", Backend::figures)
        .custom_method("trialfit/account", Backend::account)
        .custom_method("trialfit/drawing", Backend::drawing)
        .finish();
    transport::run(reader, writer, Ingress::new(service), socket, &world).await
}

/// Serves one client over standard input and output; gives the exit code.
///
/// # Errors
///
/// Where the operating system gives no event loop.
pub fn serve_stdio() -> std::io::Result<i32> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_time()
        .max_blocking_threads(WORKERS)
        .thread_keep_alive(std::time::Duration::from_secs(2))
        .build()?;
    let code = runtime.block_on(serve(tokio::io::stdin(), tokio::io::stdout()));
    // A thread may still wait for standard input; the process must not wait for it.
    runtime.shutdown_background();
    Ok(code)
}

//! The one owner of published findings. After every change it judges what the change can have touched and publishes the
//! result, or tells a client that asks for findings itself to ask again.

use crate::background::Background;
use crate::findings;
use crate::server::ANSWER_WITHIN;
use crate::world::{Look, Snapshot, World};
use spec_lang::source::FileId;
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;
use tower_lsp::Client;
use tower_lsp::ls_types::{Diagnostic, Uri};

/// What the client was last told about a file.
struct Told {
    uri: Uri,
    version: i32,
    findings: Vec<Diagnostic>,
    /// The files that its judgement read or looked for.
    rests_on: Vec<FileId>,
}

/// Publishes until the connection is over.
pub(crate) async fn run(world: Arc<World>, client: Client) {
    let mut told: HashMap<FileId, Told> = HashMap::new();
    let mut background = Background::new();
    loop {
        let (snapshot, changed, walk) = tokio::select! {
            biased;
            changes = world.next_changes() => match changes {
                Some(changes) => changes,
                None => return,
            },
            () = background.ready() => {
                background.judge_next(&client, &world).await;
                continue;
            }
        };
        close(&client, &snapshot, &changed, &mut told).await;
        let mut ask_again = false;
        for (file, direct) in touched(&snapshot, &changed, &told) {
            let Some(open) = snapshot.open.get(&file) else { continue };
            let look = Look { snapshot: Arc::clone(&snapshot), open: Arc::clone(open) };
            let judging = look.clone();
            let judged = tokio::task::spawn_blocking(move || {
                let judged = judging.snapshot.judge(&judging.open);
                let rests_on = judged.met.iter().map(|(file, _)| *file).collect();
                let pulls = judging.snapshot.settings.pulls;
                (if pulls { Vec::new() } else { findings::diagnostics(&judging, &judged) }, rests_on)
            });
            let (findings, rests_on) = judged.await.unwrap_or_else(|_| (findings::own_fault(), Vec::new()));
            if !world.is_current(open) {
                // Edited or closed meanwhile: that change is waiting to be judged, and this is old.
                if let Some(told) = told.get_mut(&file) {
                    told.rests_on = rests_on;
                }
                continue;
            }
            ask_again |= !direct;
            let told_now = Told { uri: open.uri.clone(), version: open.version, findings, rests_on };
            let same = told
                .get(&file)
                .is_some_and(|told| !direct && told.version == told_now.version && told.findings == told_now.findings);
            if !snapshot.settings.pulls && !same {
                client.publish_diagnostics(open.uri.clone(), told_now.findings.clone(), Some(open.version)).await;
            }
            told.insert(file, told_now);
        }
        if snapshot.settings.pulls && ask_again {
            let client = client.clone();
            tokio::spawn(async move {
                let _ = tokio::time::timeout(ANSWER_WITHIN, client.workspace_diagnostic_refresh()).await;
            });
        }
        background.note(&client, &snapshot, &changed, walk).await;
    }
}

/// Takes back what was said about files that are no longer open.
async fn close(client: &Client, snapshot: &Snapshot, changed: &BTreeSet<FileId>, told: &mut HashMap<FileId, Told>) {
    for file in changed.iter().filter(|file| !snapshot.open.contains_key(file)) {
        if let Some(told) = told.remove(file).filter(|told| !told.findings.is_empty()) {
            client.publish_diagnostics(told.uri, Vec::new(), None).await;
        }
    }
}

/// The open documents that a change can have touched, those changed themselves first.
fn touched(snapshot: &Snapshot, changed: &BTreeSet<FileId>, told: &HashMap<FileId, Told>) -> Vec<(FileId, bool)> {
    let direct = changed.iter().map(|file| (*file, true));
    let mut others: Vec<FileId> = told
        .iter()
        .filter(|(file, told)| !changed.contains(file) && told.rests_on.iter().any(|file| changed.contains(file)))
        .map(|(file, _)| *file)
        .collect();
    others.sort();
    let others = others.into_iter().map(|file| (file, false));
    direct.chain(others).filter(|(file, _)| snapshot.open.contains_key(file)).collect()
}

//! The closed files of the opened folders, judged one by one while nobody types, for clients that are told of findings
//! rather than ask. Nothing is polled: a file is judged when it or what it follows has changed.

use crate::requests::closed;
use crate::server::ANSWER_WITHIN;
use crate::world::{Snapshot, World};
use spec_lang::source::FileId;
use std::collections::{BTreeSet, HashMap};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::Arc;
use std::time::Duration;
use tokio::time::Instant;
use tower_lsp::ls_types::{
    notification, Diagnostic, NumberOrString, ProgressParams, ProgressParamsValue, Uri, WorkDoneProgress,
    WorkDoneProgressBegin, WorkDoneProgressEnd, WorkDoneProgressReport,
};
use tower_lsp::Client;

/// How long nothing may have changed before closed files are judged.
const REST: Duration = Duration::from_millis(300);
/// Fewer files than this are done before anybody could read a message about them.
const WORTH_SHOWING: usize = 25;

/// What the client was last told about a closed file.
struct Told {
    uri: Uri,
    findings: Vec<Diagnostic>,
    rests_on: Vec<FileId>,
}

/// The work that waits, and what was said.
pub(crate) struct Background {
    pending: BTreeSet<FileId>,
    told: HashMap<FileId, Told>,
    not_before: Instant,
    shown: Option<Shown>,
    done: usize,
    count: u64,
}

impl Background {
    /// Nothing waits.
    pub(crate) fn new() -> Background {
        Background {
            pending: BTreeSet::new(),
            told: HashMap::new(),
            not_before: Instant::now(),
            shown: None,
            done: 0,
            count: 0,
        }
    }

    /// Takes note of a change: what it can have touched waits to be judged again, what is open or gone is taken back.
    pub(crate) async fn note(
        &mut self,
        client: &Client,
        snapshot: &Arc<Snapshot>,
        changed: &BTreeSet<FileId>,
        walk: bool,
    ) {
        let settings = &snapshot.settings;
        if !settings.options.closed_files || settings.folders.is_empty() || settings.pulls {
            self.pending.clear();
            for (_, told) in self.told.drain() {
                take_back(client, told).await;
            }
            self.end(client).await;
            return;
        }
        for (file, open) in snapshot.open.iter() {
            self.pending.remove(file);
            if let Some(told) = self.told.remove(file).filter(|told| told.uri != open.uri) {
                take_back(client, told).await;
            }
        }
        let listing = {
            let snapshot = Arc::clone(snapshot);
            tokio::task::spawn_blocking(move || snapshot.listed()).await.unwrap_or_default()
        };
        let listed: BTreeSet<FileId> = listing.iter().copied().collect();
        let closed = |file: &FileId| !snapshot.open.contains_key(file);
        if walk {
            self.pending.extend(listing.iter().copied().filter(closed));
        }
        let gone: Vec<FileId> = self.told.keys().copied().filter(|file| !listed.contains(file)).collect();
        for file in gone {
            if let Some(told) = self.told.remove(&file) {
                take_back(client, told).await;
            }
        }
        let touched = |told: &Told| told.rests_on.iter().any(|file| changed.contains(file));
        let followers = self.told.iter().filter(|(_, told)| touched(told)).map(|(file, _)| *file);
        self.pending.extend(followers);
        self.pending.extend(changed.iter().copied().filter(|file| listed.contains(file) && closed(file)));
        self.pending.retain(|file| listed.contains(file));
        self.not_before = Instant::now() + REST;
        self.done = 0;
    }

    /// Ready when there is something to judge and nobody types; never where there is nothing.
    pub(crate) async fn ready(&self) {
        if self.pending.is_empty() {
            return std::future::pending().await;
        }
        tokio::time::sleep_until(self.not_before).await;
    }

    /// Judges the next file that waits.
    pub(crate) async fn judge_next(&mut self, client: &Client, world: &Arc<World>) {
        if world.background_is_cancelled() {
            self.pending.clear();
        }
        let Some(file) = self.pending.pop_first() else { return self.end(client).await };
        self.show(client, world).await;
        let snapshot = world.snapshot();
        let judging = {
            let snapshot = Arc::clone(&snapshot);
            tokio::task::spawn_blocking(move || closed::judged(&snapshot, file))
        };
        let judged = judging.await.ok().flatten();
        self.done += 1;
        if world.is_open(file) {
            return;
        }
        match judged {
            Some((uri, findings, rests_on)) => {
                let before = self.told.get(&file);
                let same = before.map_or(findings.is_empty(), |told| told.findings == findings);
                if !same {
                    client.publish_diagnostics(uri.clone(), findings.clone(), None).await;
                }
                self.told.insert(file, Told { uri, findings, rests_on });
            }
            None => {
                if let Some(told) = self.told.remove(&file) {
                    take_back(client, told).await;
                }
            }
        }
        if self.pending.is_empty() {
            self.end(client).await;
        }
    }

    /// Shows how far the work is, where that takes long enough to be read and the client can.
    async fn show(&mut self, client: &Client, world: &Arc<World>) {
        let whole = self.done + self.pending.len() + 1;
        if self.shown.is_none() && whole >= WORTH_SHOWING && world.settings().progress {
            self.count += 1;
            self.shown = Some(Shown::begin(client, format!("dryfit-closed-files-{}", self.count)));
            world.background_begins();
        }
        if let Some(shown) = self.shown.as_mut().filter(|shown| shown.ready.load(Ordering::SeqCst)) {
            let percentage = u32::try_from(self.done * 100 / whole).unwrap_or(100);
            if percentage >= shown.percentage + 5 {
                shown.percentage = percentage;
                let message = Some(format!("{} of {whole}", self.done));
                let report = WorkDoneProgressReport { cancellable: Some(true), message, percentage: Some(percentage) };
                shown.send(client, WorkDoneProgress::Report(report)).await;
            }
        }
    }

    async fn end(&mut self, client: &Client) {
        self.done = 0;
        if let Some(shown) = self.shown.take() {
            // Where the client has not taken the token yet, nothing was begun and nothing will be.
            if shown.ready.load(Ordering::SeqCst) {
                let end = WorkDoneProgress::End(WorkDoneProgressEnd { message: None });
                shown.send(client, end).await;
            }
            shown.over.store(true, Ordering::SeqCst);
        }
    }
}

async fn take_back(client: &Client, told: Told) {
    if !told.findings.is_empty() {
        client.publish_diagnostics(told.uri, Vec::new(), None).await;
    }
}

/// Work that the client shows.
struct Shown {
    token: NumberOrString,
    /// The client has taken the token, and was told of the beginning.
    ready: Arc<AtomicBool>,
    over: Arc<AtomicBool>,
    percentage: u32,
}

impl Shown {
    /// Asks the client for a place to show it; nothing waits for the answer.
    fn begin(client: &Client, token: String) -> Shown {
        let token = NumberOrString::String(token);
        let shown = Shown { token, ready: Arc::default(), over: Arc::default(), percentage: 0 };
        let (client, token) = (client.clone(), shown.token.clone());
        let (ready, over) = (Arc::clone(&shown.ready), Arc::clone(&shown.over));
        tokio::spawn(async move {
            let asked = tokio::time::timeout(ANSWER_WITHIN, client.create_work_done_progress(token.clone())).await;
            if matches!(asked, Ok(Ok(()))) && !over.load(Ordering::SeqCst) {
                let begin = WorkDoneProgressBegin {
                    title: "judging closed files".to_string(),
                    cancellable: Some(true),
                    message: None,
                    percentage: Some(0),
                };
                tell(&client, token, WorkDoneProgress::Begin(begin)).await;
                ready.store(true, Ordering::SeqCst);
            }
        });
        shown
    }

    async fn send(&self, client: &Client, value: WorkDoneProgress) {
        tell(client, self.token.clone(), value).await;
    }
}

async fn tell(client: &Client, token: NumberOrString, value: WorkDoneProgress) {
    let value = ProgressParamsValue::WorkDone(value);
    client.send_notification::<notification::Progress>(ProgressParams { token, value }).await;
}

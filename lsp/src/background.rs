//! The closed files of the opened folders, judged one by one while nobody types, for clients that are told of findings
//! rather than ask. Nothing is polled: a file is judged when it or what it follows has changed.

use crate::requests::closed::{self, Closed};
use crate::server::ANSWER_WITHIN;
use crate::world::{Snapshot, World};
use spec_lang::source::FileId;
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::task::JoinHandle;
use tokio::time::Instant;
use tower_lsp::Client;
use tower_lsp::ls_types::{
    NumberOrString, ProgressParams, ProgressParamsValue, WorkDoneProgress, WorkDoneProgressBegin, WorkDoneProgressEnd,
    WorkDoneProgressReport, notification,
};

/// How long nothing may have changed before closed files are judged.
const REST: Duration = Duration::from_millis(300);
/// Fewer files than this are done before anybody could read a message about them.
const WORTH_SHOWING: usize = 25;

/// The work that waits, and what was said.
pub(crate) struct Background {
    pending: BTreeSet<FileId>,
    told: HashMap<FileId, Arc<Closed>>,
    listed: BTreeSet<FileId>,
    walking: Option<JoinHandle<Arc<Vec<FileId>>>>,
    found: Option<Arc<Vec<FileId>>>,
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
            listed: BTreeSet::new(),
            walking: None,
            found: None,
            not_before: Instant::now(),
            shown: None,
            done: 0,
            count: 0,
        }
    }

    /// Takes note of a change: what it can have touched waits to be judged again, what is open is taken back, and where
    /// files may have come or gone the folders are walked beside all this.
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
            self.listed.clear();
            self.walking = None;
            for (_, told) in self.told.drain() {
                take_back(client, &told).await;
            }
            self.end(client).await;
            return;
        }
        for (file, open) in snapshot.open.iter() {
            self.pending.remove(file);
            if let Some(told) = self.told.remove(file).filter(|told| told.uri != open.uri) {
                take_back(client, &told).await;
            }
        }
        if walk {
            let snapshot = Arc::clone(snapshot);
            self.walking = Some(tokio::task::spawn_blocking(move || snapshot.listed()));
        }
        let closed = |file: &FileId| self.listed.contains(file) && !snapshot.open.contains_key(file);
        let followers = self.told.iter().filter(|(_, told)| told.rests_on(changed)).map(|(file, _)| *file);
        self.pending.extend(followers.chain(changed.iter().copied().filter(closed)));
        self.not_before = Instant::now() + REST;
        self.done = 0;
    }

    /// Takes what a walk found: files that are gone are taken back, all others wait to be looked at.
    async fn walked(&mut self, client: &Client, world: &Arc<World>, listing: &[FileId]) {
        self.listed = listing.iter().copied().collect();
        let gone: Vec<FileId> = self.told.keys().copied().filter(|file| !self.listed.contains(file)).collect();
        for file in gone {
            if let Some(told) = self.told.remove(&file) {
                take_back(client, &told).await;
            }
        }
        self.pending = listing.iter().copied().filter(|file| !world.is_open(*file)).collect();
        self.done = 0;
    }

    /// Ready when there is something to judge and nobody types; never where there is nothing.
    pub(crate) async fn ready(&mut self) {
        if let Some(walking) = &mut self.walking {
            let listing = walking.await;
            self.walking = None;
            self.found = listing.ok();
            return;
        }
        if self.pending.is_empty() {
            return std::future::pending().await;
        }
        tokio::time::sleep_until(self.not_before).await;
    }

    /// Judges the next file that waits.
    pub(crate) async fn judge_next(&mut self, client: &Client, world: &Arc<World>) {
        if let Some(listing) = self.found.take() {
            return self.walked(client, world, &listing).await;
        }
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
            Some(now) => {
                let before = self.told.get(&file);
                if before.map_or(!now.found.is_empty(), |told| told.found != now.found) {
                    client.publish_diagnostics(now.uri.clone(), now.found.clone(), None).await;
                }
                self.told.insert(file, now);
            }
            None => {
                if let Some(told) = self.told.remove(&file) {
                    take_back(client, &told).await;
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
            self.shown = Some(Shown::begin(client, format!("trialfit-closed-files-{}", self.count)));
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

async fn take_back(client: &Client, told: &Closed) {
    if !told.found.is_empty() {
        client.publish_diagnostics(told.uri.clone(), Vec::new(), None).await;
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

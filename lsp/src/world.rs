//! What the server knows: the open documents, what was agreed with the client, and what changed since findings were
//! last given. Changed only by the message loop; everybody else works on snapshots.

use crate::documents::{Open, Text};
use crate::files::{Files, Following, Key, Stamp};
use crate::settings::Settings;
use ropey::Rope;
use spec_lang::reading::Date;
use spec_lang::source::FileId;
use spec_lang::{analyse, Analysis};
use std::collections::{BTreeSet, HashMap};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant, SystemTime};
use tokio::sync::{watch, Notify};
use tower_lsp::ls_types::{TextDocumentContentChangeEvent, Uri};

/// Findings are given at least this often while somebody types without a rest.
const PATIENCE: Duration = Duration::from_millis(400);

/// The server's state. No lock in it is held across a wait.
#[derive(Debug)]
pub(crate) struct World {
    inner: Mutex<Inner>,
    files: Arc<Files>,
    changed: Notify,
    parent: watch::Sender<Option<u32>>,
}

#[derive(Debug, Default)]
struct Inner {
    settings: Arc<Settings>,
    open: Arc<HashMap<FileId, Arc<Open>>>,
    /// The state as requests see it; made when first asked for after a change.
    snapshot: Option<Arc<Snapshot>>,
    changes: Changes,
    shut_down: bool,
    ended: bool,
}

/// What changed since findings were last given.
#[derive(Debug, Default)]
struct Changes {
    files: BTreeSet<FileId>,
    first: Option<Instant>,
    last: Option<Instant>,
    /// Something was opened or closed: nobody is typing.
    at_once: bool,
}

/// A document and the state around it, as they were when a request arrived.
#[derive(Clone)]
pub(crate) struct Look {
    /// The state.
    pub(crate) snapshot: Arc<Snapshot>,
    /// The document.
    pub(crate) open: Arc<Open>,
}

impl World {
    /// Nothing open, nothing agreed.
    pub(crate) fn new() -> World {
        World {
            inner: Mutex::default(),
            files: Arc::default(),
            changed: Notify::new(),
            parent: watch::Sender::new(None),
        }
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The number of the client's process, once it has given it.
    pub(crate) fn parent(&self) -> watch::Receiver<Option<u32>> {
        self.parent.subscribe()
    }

    /// What was agreed with the client.
    pub(crate) fn settings(&self) -> Arc<Settings> {
        Arc::clone(&self.lock().settings)
    }

    /// Agrees with the client.
    pub(crate) fn agree(&self, settings: Settings, process: Option<u32>) {
        let mut inner = self.lock();
        inner.settings = Arc::new(settings);
        inner.snapshot = None;
        self.parent.send_replace(process);
    }

    /// The client has asked for the end.
    pub(crate) fn shut_down(&self) {
        self.lock().shut_down = true;
    }

    /// Whether the client has asked for the end.
    pub(crate) fn is_shut_down(&self) -> bool {
        self.lock().shut_down
    }

    /// The connection is over: whoever waits for changes stops.
    pub(crate) fn end(&self) {
        self.lock().ended = true;
        self.changed.notify_one();
    }

    fn change(&self, mut inner: MutexGuard<'_, Inner>, file: FileId, at_once: bool) {
        let now = Instant::now();
        inner.snapshot = None;
        inner.changes.files.insert(file);
        inner.changes.first.get_or_insert(now);
        inner.changes.last = Some(now);
        inner.changes.at_once |= at_once;
        drop(inner);
        self.changed.notify_one();
    }

    /// A document was opened, or opened again.
    pub(crate) fn open(&self, uri: Uri, version: i32, text: &str) {
        let file = self.files.number(Key::of(&uri));
        let open = Open { file, uri, version, text: Text::new(Rope::from_str(text)) };
        let mut inner = self.lock();
        Arc::make_mut(&mut inner.open).insert(file, Arc::new(open));
        self.change(inner, file, true);
    }

    /// A document was edited.
    pub(crate) fn edit(&self, uri: &Uri, version: i32, changes: &[TextDocumentContentChangeEvent]) {
        let mut inner = self.lock();
        let Some(file) = self.file_of(&inner, uri) else { return };
        let encoding = inner.settings.encoding;
        let Some(open) = inner.open.get(&file) else { return };
        let changed = open.changed(changes, version, encoding);
        Arc::make_mut(&mut inner.open).insert(file, Arc::new(changed));
        self.change(inner, file, false);
    }

    /// A document was closed: the disk has the say again.
    pub(crate) fn close(&self, uri: &Uri) {
        let mut inner = self.lock();
        let Some(file) = self.file_of(&inner, uri) else { return };
        Arc::make_mut(&mut inner.open).remove(&file);
        self.change(inner, file, true);
    }

    /// A file changed on the disk.
    pub(crate) fn disk_changed(&self, uri: &Uri) {
        if let Some(file) = self.files.find(&Key::of(uri)) {
            self.change(self.lock(), file, true);
        }
    }

    /// The opened folders changed.
    pub(crate) fn change_folders(&self, added: Vec<PathBuf>, removed: &[PathBuf]) {
        let mut inner = self.lock();
        let mut settings = Settings::clone(&inner.settings);
        settings.folders.retain(|folder| !removed.contains(folder));
        settings.folders.extend(added);
        inner.settings = Arc::new(settings);
        inner.snapshot = None;
        let files: Vec<FileId> = inner.open.keys().copied().collect();
        inner.changes.files.extend(files);
        inner.changes.at_once = true;
        drop(inner);
        self.changed.notify_one();
    }

    fn file_of(&self, inner: &Inner, uri: &Uri) -> Option<FileId> {
        // Clients spell a document's address the same way every time; resolving it anew costs a walk of the disk.
        let spelled = inner.open.values().find(|open| open.uri == *uri).map(|open| open.file);
        spelled.or_else(|| self.files.find(&Key::of(uri)).filter(|file| inner.open.contains_key(file)))
    }

    fn snapshot_of(&self, inner: &mut Inner) -> Arc<Snapshot> {
        let made = inner.snapshot.get_or_insert_with(|| {
            Arc::new(Snapshot {
                settings: Arc::clone(&inner.settings),
                open: Arc::clone(&inner.open),
                files: Arc::clone(&self.files),
                judged: Mutex::default(),
            })
        });
        Arc::clone(made)
    }

    /// The document and the state as they are now; `None` where it is not open.
    pub(crate) fn look(&self, uri: &Uri) -> Option<Look> {
        let mut inner = self.lock();
        let file = self.file_of(&inner, uri)?;
        let open = Arc::clone(inner.open.get(&file)?);
        Some(Look { snapshot: self.snapshot_of(&mut inner), open })
    }

    /// Whether the document is still the one looked at.
    pub(crate) fn is_current(&self, open: &Open) -> bool {
        self.lock().open.get(&open.file).is_some_and(|now| std::ptr::eq(Arc::as_ptr(now), open))
    }

    /// Waits until something changed and the text rests; gives what changed, and `None` at the end.
    pub(crate) async fn next_changes(&self) -> Option<(Arc<Snapshot>, BTreeSet<FileId>)> {
        loop {
            let wait = {
                let mut inner = self.lock();
                if inner.ended {
                    return None;
                }
                let quiet = inner.settings.quiet;
                let changes = &inner.changes;
                let now = Instant::now();
                let due = match (changes.first, changes.last) {
                    (Some(first), Some(last)) => (last + quiet).min(first + PATIENCE.max(quiet)),
                    _ => now,
                };
                if changes.files.is_empty() {
                    None
                } else if changes.at_once || due <= now {
                    let files = std::mem::take(&mut inner.changes).files;
                    return Some((self.snapshot_of(&mut inner), files));
                } else {
                    Some(due - now)
                }
            };
            match wait {
                Some(wait) => {
                    let _ = tokio::time::timeout(wait, self.changed.notified()).await;
                }
                None => self.changed.notified().await,
            }
        }
    }
}

/// The state at one moment, never changed again. Judgements made on it are kept with it.
#[derive(Debug)]
pub(crate) struct Snapshot {
    /// What was agreed with the client.
    pub(crate) settings: Arc<Settings>,
    /// The open documents.
    pub(crate) open: Arc<HashMap<FileId, Arc<Open>>>,
    /// The files behind them.
    pub(crate) files: Arc<Files>,
    judged: Mutex<HashMap<FileId, Slot>>,
}

/// A place for a judgement, locked while it is made so that nobody makes it twice.
type Slot = Arc<Mutex<Option<Arc<Judged>>>>;

/// A document, judged.
#[derive(Debug)]
pub(crate) struct Judged {
    /// What is known of it.
    pub(crate) analysis: Analysis,
    /// The files it asked for, with their stamps on the disk.
    pub(crate) met: Vec<(FileId, Stamp)>,
}

impl Snapshot {
    /// Judges an open document, once a state: again only where a file on the disk has changed meanwhile.
    pub(crate) fn judge(&self, open: &Open) -> Arc<Judged> {
        let slot = {
            let mut judged = self.judged.lock().unwrap_or_else(PoisonError::into_inner);
            Arc::clone(judged.entry(open.file).or_default())
        };
        let mut kept = slot.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(kept) = kept.as_ref().filter(|kept| self.still_holds(kept)) {
            return Arc::clone(kept);
        }
        let source = Following::new(&self.files, &self.open, &self.settings.folders, open.file);
        let analysis = analyse(open.file, Arc::clone(open.text.reading()), &source, Some(today()));
        let judged = Arc::new(Judged { analysis, met: source.met() });
        *kept = Some(Arc::clone(&judged));
        judged
    }

    fn still_holds(&self, judged: &Judged) -> bool {
        judged.met.iter().all(|(file, stamp)| self.open.contains_key(file) || self.files.stamp(*file) == *stamp)
    }
}

/// The day by the clock, in universal time: a concession ends on the same day everywhere.
fn today() -> Date {
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default();
    Date::after_1970(since.as_secs() / 86_400)
}

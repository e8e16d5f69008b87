//! What the server knows: the open documents, what was agreed with the client, and what changed since findings were
//! last given. Changed only by the message loop; everybody else works on snapshots.

use crate::beside::Standing;
use crate::convert::Held;
use crate::documents::{Open, Text};
use crate::files::{Files, Following, Key, Stamp};
use crate::options::Options;
use crate::requests::tokens::Given;
use crate::settings::Settings;
use ropey::Rope;
use spec_lang::reading::Date;
use spec_lang::rules::Day;
use spec_lang::source::FileId;
use spec_lang::{Analysis, analyse};
use std::collections::{BTreeSet, HashMap};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant, SystemTime};
use tokio::sync::{Notify, watch};
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
    tokens: Mutex<Tokens>,
    /// Counts the changes, for those who wait for the next.
    revision: watch::Sender<u64>,
    cancelled: AtomicBool,
}

/// The tokens last given of each open document, and how many answers there were.
#[derive(Debug, Default)]
struct Tokens {
    given: HashMap<FileId, Given>,
    count: u64,
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
    /// Files may have come or gone.
    walk: bool,
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
            tokens: Mutex::default(),
            revision: watch::Sender::new(0),
            cancelled: AtomicBool::new(false),
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
        self.notify();
    }

    fn notify(&self) {
        self.revision.send_modify(|count| *count += 1);
        self.changed.notify_one();
    }

    /// The number of changes so far, to wait for the next.
    pub(crate) fn revision(&self) -> watch::Receiver<u64> {
        self.revision.subscribe()
    }

    /// A document was opened, or opened again.
    pub(crate) fn open(&self, uri: Uri, version: i32, text: &str) {
        let file = self.files.number(Key::of(&uri));
        let open = Open { file, uri, version, text: Arc::new(Text::new(Rope::from_str(text))) };
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
        self.tokens.lock().unwrap_or_else(PoisonError::into_inner).given.remove(&file);
        self.change(inner, file, true);
    }

    /// A file changed on the disk.
    pub(crate) fn disk_changed(&self, uri: &Uri) {
        if let Some(file) = self.files.find(&Key::of(uri)) {
            self.change(self.lock(), file, true);
        }
    }

    /// A file or a folder came or went.
    pub(crate) fn came_or_went(&self, uri: &Uri) {
        let Key::Path(path) = Key::of(uri) else { return };
        *self.files.listing() = None;
        let mut inner = self.lock();
        inner.changes.files.extend(self.files.below(&path));
        inner.changes.walk = true;
        inner.changes.at_once = true;
        inner.snapshot = None;
        drop(inner);
        self.notify();
    }

    /// The client is ready for whatever the server says on its own.
    pub(crate) fn begin(&self) {
        let mut inner = self.lock();
        inner.changes.walk = true;
        inner.changes.at_once = true;
        drop(inner);
        self.notify();
    }

    /// The number of a file by its address.
    pub(crate) fn number(&self, uri: &Uri) -> FileId {
        let known = self.file_of(&self.lock(), uri);
        known.unwrap_or_else(|| self.files.number(Key::of(uri)))
    }

    /// Whether the file is open.
    pub(crate) fn is_open(&self, file: FileId) -> bool {
        self.lock().open.contains_key(&file)
    }

    /// Work on closed files begins that somebody may cancel.
    pub(crate) fn background_begins(&self) {
        self.cancelled.store(false, Ordering::SeqCst);
    }

    /// Somebody cancelled it.
    pub(crate) fn cancel_background(&self) {
        self.cancelled.store(true, Ordering::SeqCst);
    }

    /// Whether somebody cancelled it; asked once, it goes on with the next.
    pub(crate) fn background_is_cancelled(&self) -> bool {
        self.cancelled.swap(false, Ordering::SeqCst)
    }

    /// Remembers the tokens that are given of a document, under an id of their own.
    pub(crate) fn give_tokens(&self, open: &Open, make: impl FnOnce(String) -> Given) -> Given {
        let mut tokens = self.tokens.lock().unwrap_or_else(PoisonError::into_inner);
        tokens.count += 1;
        let given = make(tokens.count.to_string());
        if self.is_current(open) {
            tokens.given.insert(open.file, given.clone());
        }
        given
    }

    /// The tokens last given of a document.
    pub(crate) fn given_tokens(&self, file: FileId) -> Option<Given> {
        self.tokens.lock().unwrap_or_else(PoisonError::into_inner).given.get(&file).cloned()
    }

    /// The person's settings changed.
    pub(crate) fn set_options(&self, options: Options) {
        let mut inner = self.lock();
        if inner.settings.options == options {
            return;
        }
        self.files.closed().clear();
        let mut settings = Settings::clone(&inner.settings);
        settings.options = options;
        inner.settings = Arc::new(settings);
        self.all_changed(inner);
    }

    /// Everything open is to be judged anew.
    fn all_changed(&self, mut inner: MutexGuard<'_, Inner>) {
        inner.snapshot = None;
        let files: Vec<FileId> = inner.open.keys().copied().collect();
        inner.changes.files.extend(files);
        inner.changes.at_once = true;
        inner.changes.walk = true;
        drop(inner);
        self.notify();
    }

    /// The state as it is now.
    pub(crate) fn snapshot(&self) -> Arc<Snapshot> {
        self.snapshot_of(&mut self.lock())
    }

    /// The opened folders changed.
    pub(crate) fn change_folders(&self, added: Vec<PathBuf>, removed: &[PathBuf]) {
        let mut inner = self.lock();
        self.files.closed().clear();
        *self.files.listing() = None;
        let mut settings = Settings::clone(&inner.settings);
        settings.folders.retain(|folder| !removed.contains(folder));
        settings.folders.extend(added);
        inner.settings = Arc::new(settings);
        self.all_changed(inner);
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
    pub(crate) async fn next_changes(&self) -> Option<(Arc<Snapshot>, BTreeSet<FileId>, bool)> {
        loop {
            let wait = {
                let mut inner = self.lock();
                if inner.ended {
                    return None;
                }
                let quiet = inner.settings.options.quiet;
                let changes = &inner.changes;
                let now = Instant::now();
                let due = match (changes.first, changes.last) {
                    (Some(first), Some(last)) => (last + quiet).min(first + PATIENCE.max(quiet)),
                    _ => now,
                };
                if changes.files.is_empty() && !changes.walk {
                    None
                } else if changes.at_once || due <= now {
                    let Changes { files, walk, .. } = std::mem::take(&mut inner.changes);
                    return Some((self.snapshot_of(&mut inner), files, walk));
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
    /// What the settings beside it make of it.
    pub(crate) standing: Standing,
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
        let judged = Arc::new(self.judge_anew(open));
        *kept = Some(Arc::clone(&judged));
        judged
    }

    /// What is known of a document without figures and findings, for requests that need its names only and come right
    /// behind an edit; the whole judgement where there is one already.
    pub(crate) fn sketch(&self, open: &Open) -> Arc<Judged> {
        let slot = {
            let judged = self.judged.lock().unwrap_or_else(PoisonError::into_inner);
            judged.get(&open.file).map(Arc::clone)
        };
        let kept = slot.as_ref().and_then(|slot| slot.try_lock().ok()?.clone());
        if let Some(kept) = kept.filter(|kept| self.still_holds(kept)) {
            return kept;
        }
        let source = Following::new(&self.files, &self.open, &self.settings.folders, open.file);
        let analysis = Analysis::unjudged(open.file, Arc::clone(open.text.reading()), &source);
        Arc::new(Judged { analysis, met: source.met(), standing: Standing::Judged })
    }

    /// Judges a document without keeping that.
    pub(crate) fn judge_anew(&self, open: &Open) -> Judged {
        let source = Following::new(&self.files, &self.open, &self.settings.folders, open.file);
        let beside = self.beside(open.file);
        let day = Day { today: Some(today()), notice: beside.settings.notice() };
        let mut analysis = analyse(open.file, Arc::clone(open.text.reading()), &source, day);
        if beside.is_final {
            analysis.make_final();
        }
        let met = source.met().into_iter().chain(beside.met).collect();
        Judged { analysis, met, standing: beside.standing }
    }

    /// A closed file as a document, read from the disk.
    pub(crate) fn closed(&self, file: FileId) -> Option<Open> {
        match self.held_now(file)? {
            Held::Open(_) => None,
            Held::Disk(text, uri) => Some(Open { file, uri, version: 0, text }),
        }
    }

    fn still_holds(&self, judged: &Judged) -> bool {
        judged.met.iter().all(|(file, stamp)| self.open.contains_key(file) || self.files.stamp(*file) == *stamp)
    }
}

/// The day by the clock, in universal time: a concession ends on the same day everywhere.
pub(crate) fn today() -> Date {
    Date::after_1970(days())
}

/// Whole days since 1970-01-01.
pub(crate) fn days() -> u64 {
    SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default().as_secs() / 86_400
}

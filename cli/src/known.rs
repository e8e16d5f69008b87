//! The record of known findings: those that were there when trialfit was taken up in a repository, so that a check fails on
//! what is new. It is a text of one line an entry, sorted, for people to read and for git to merge. No finding that guards
//! life, and none that may hide it, is ever in it. What is owed stands below, in lines of its own. Nothing is judged here.

use crate::debts::{Debts, OnDisk};
use crate::files;
use crate::rewriting;
use spec_lang::finding::Severity;
use spec_lang::report::{Fingerprint, one_line};
use spec_lang::rules;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::path::{Path, PathBuf};

/// The record's usual name.
pub(crate) const USUAL: &str = "trialfit-known.txt";

/// The first line, with the version of the form. Only a record that holds debts needs the second.
const FORM: &str = "trialfit known findings, version 1";
const FORM_WITH_DEBTS: &str = "trialfit known findings, version 2";
/// What opens that of any version.
const ANY_FORM: &str = "trialfit known findings, version ";

/// What stands below it for people.
const PREFACE: &str = "\
#
# Findings that were there when trialfit was taken up here; `trialfit check --known` does not fail on them. They are not
# mended, and nothing here is an approval. A finding of what can poison, burn or kill is never in this record, nor is a line
# that is not understood and may hide it: these fail every check. `trialfit check --known FILE --shrink` takes out what is
# gone.
#
# file | severity | rule | fingerprint | block | the file it is in, where that is another
";

/// What makes an entry the same: paths are seen from the record's folder.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Entry {
    /// The file that was judged.
    pub(crate) file: String,
    /// The rule.
    pub(crate) rule: String,
    /// The finding's content.
    pub(crate) print: Fingerprint,
    /// The file it is in, where that is a followed one.
    pub(crate) place: Option<String>,
}

/// What else is written of it.
#[derive(Clone, Debug)]
struct About {
    severity: Severity,
    header: String,
    /// How grave it was this time, where it was found.
    found: Option<Severity>,
    /// Whether it was found and a concession sets it aside.
    set_aside: bool,
}

/// How a finding stands to the record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum State {
    /// Not in it.
    New,
    /// In it.
    Known,
    /// In it, but milder.
    Grew,
}

/// An entry that nothing needs any more.
pub(crate) struct Dead {
    pub(crate) entry: Entry,
    pub(crate) severity: Severity,
    pub(crate) header: String,
    /// Its file as the form `sarif` names it, and as it is on every machine.
    pub(crate) uri: String,
    pub(crate) portable: String,
    /// Whether its finding is gone, and not merely to be known no more.
    pub(crate) absent: bool,
}

/// The record.
pub(crate) struct Record {
    path: PathBuf,
    /// The folder it lies in, without symbolic links.
    folder: PathBuf,
    /// Its text as read; `None` where the file is not there yet.
    text: Option<String>,
    entries: BTreeMap<Entry, About>,
    /// What is owed.
    pub(crate) debts: Debts,
}

impl Record {
    /// An empty one, to be written to a path.
    pub(crate) fn new(path: &Path) -> Result<Record, String> {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let folder = folder.canonicalize().map_err(|error| files::reason(&error))?;
        Ok(Record { path: path.to_path_buf(), folder, text: None, entries: BTreeMap::new(), debts: Debts::default() })
    }

    /// Reads one.
    pub(crate) fn read(path: &Path) -> Result<Record, String> {
        let mut record = Record::new(path)?;
        let text = files::read(path)?;
        let mut lines = text.trim_start_matches('\u{feff}').lines().enumerate();
        let first = lines.next().map_or("", |(_, line)| line.trim_end());
        let with_debts = first == FORM_WITH_DEBTS;
        if first.starts_with(ANY_FORM) && first != FORM && !with_debts {
            return Err(format!("`{first}`: a later trialfit wrote it; this one reads up to version 2"));
        }
        if first != FORM && !with_debts {
            return Err(format!("it is no record of known findings: its first line is not `{FORM}`"));
        }
        for (number, line) in lines {
            let line = line.trim_end();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let number = number + 1;
            if ["<<<<<<<", "=======", ">>>>>>>", "|||||||"].iter().any(|mark| line.starts_with(mark)) {
                return Err(format!("line {number} is left from a merge that was not finished"));
            }
            if with_debts && let Some(taken) = record.debts.line(line) {
                taken.map_err(|reason| format!("line {number} {reason}"))?;
                continue;
            }
            let (entry, about) = entry(line).ok_or_else(|| {
                format!("line {number} is not `file | severity | rule | fingerprint | block`: record anew with `trialfit adopt`, or take the line out")
            })?;
            record.entries.insert(entry, about);
        }
        record.text = Some(text);
        Ok(record)
    }

    /// Where it is, for messages.
    pub(crate) fn shown(&self) -> String {
        files::shown(&self.path).to_string()
    }

    /// How many entries it has.
    pub(crate) fn len(&self) -> usize {
        self.entries.len()
    }

    /// A file as the record names it.
    pub(crate) fn name(&self, place: &Path) -> String {
        files::portable(&files::seen_from(&self.folder, place))
    }

    /// How a finding stands to it; the entry counts as found. What may be in no record is always new.
    pub(crate) fn state(&mut self, entry: &Entry, severity: Severity) -> State {
        let known = if recordable(&entry.rule) { self.entries.get_mut(entry) } else { None };
        let Some(about) = known else { return State::New };
        about.found = about.found.max(Some(severity));
        if severity > about.severity { State::Grew } else { State::Known }
    }

    /// Notes that a concession sets a finding aside: it needs no entry any more, but it is not gone.
    pub(crate) fn set_aside(&mut self, entry: &Entry) -> bool {
        let about = self.entries.get_mut(entry);
        about.map(|about| about.set_aside = true).is_some()
    }

    /// Adds a finding of today.
    pub(crate) fn add(&mut self, entry: Entry, severity: Severity, header: &str) {
        // Outside any block there is no header.
        let header = if header.is_empty() { "-".to_string() } else { one_line(header).replace('|', "/") };
        self.entries.insert(entry, About { severity, header, found: Some(severity), set_aside: false });
    }

    /// Forgets all entries of files that were judged.
    pub(crate) fn forget(&mut self, judged: &HashSet<String>) {
        self.entries.retain(|entry, _| !judged.contains(&entry.file));
    }

    /// The entries that nothing needs any more: not found in files that were judged, set aside by a concession, of files
    /// that are gone, or of rules that may be in no record. `base` is the folder that paths of the form `sarif` start from.
    pub(crate) fn dead(&self, judged: &HashSet<String>, base: &Path) -> Vec<Dead> {
        let mut gone: BTreeMap<&str, bool> = BTreeMap::new();
        let mut dead = Vec::new();
        for (entry, about) in &self.entries {
            let is_dead = if judged.contains(&entry.file) {
                about.found.is_none()
            } else {
                *gone.entry(&entry.file).or_insert_with(|| self.is_gone(&entry.file))
            };
            let never = !recordable(&entry.rule);
            if is_dead || never {
                let place = files::from_portable(entry.place.as_ref().unwrap_or(&entry.file)).unwrap_or_default();
                let place = trialfit_lsp::plain_path(&self.folder.join(place));
                dead.push(Dead {
                    entry: entry.clone(),
                    severity: about.severity,
                    header: about.header.clone(),
                    uri: files::reference(&files::seen_from(base, &place)),
                    portable: files::portable(&files::seen_from(base, &place)),
                    absent: !about.set_aside && !never,
                });
            }
        }
        dead
    }

    /// What became of each file of the record in a run: for what is owed in it.
    pub(crate) fn on_disk(&self, judged: &HashSet<String>) -> HashMap<String, OnDisk> {
        let state = |file: &str| match () {
            () if judged.contains(file) => OnDisk::Judged,
            () if self.is_gone(file) => OnDisk::Gone,
            () => OnDisk::Elsewhere,
        };
        self.debts.files().map(|file| (file.to_string(), state(file))).collect()
    }

    fn is_gone(&self, file: &str) -> bool {
        let path = files::from_portable(file).map(|path| self.folder.join(path));
        let asked = path.map(|path| path.symlink_metadata());
        matches!(asked, Some(Err(error)) if error.kind() == std::io::ErrorKind::NotFound)
    }

    /// Takes out what is dead, and notes what was found milder than it was.
    pub(crate) fn shrink(&mut self, dead: &[Dead]) {
        for gone in dead {
            self.entries.remove(&gone.entry);
        }
        for about in self.entries.values_mut() {
            about.severity = about.severity.min(about.found.unwrap_or(about.severity));
        }
    }

    /// Writes it in place of the old one, where it differs.
    pub(crate) fn write(&self) -> Result<(), String> {
        let form = if self.debts.is_empty() { FORM } else { FORM_WITH_DEBTS };
        let mut text = format!("{form}\n{PREFACE}");
        for (entry, about) in &self.entries {
            let Entry { file, rule, print, place } = entry;
            text.push_str(&format!("{file} | {} | {rule} | {print} | {}", about.severity.word(), about.header));
            if let Some(place) = place {
                text.push_str(&format!(" | {place}"));
            }
            text.push('\n');
        }
        text.push_str(&self.debts.write());
        match &self.text {
            Some(before) if *before == text => Ok(()),
            Some(before) => rewriting::rewrite(&self.path, before, &text),
            None => rewriting::create(&self.path, &text),
        }
    }
}

/// Whether findings of a rule may be in a record. The tool's own faults, whose rule is in no list, may not.
fn recordable(rule: &str) -> bool {
    rules::find(rule).is_some_and(|rule| rule.can_wait())
}

/// An entry from its line.
fn entry(line: &str) -> Option<(Entry, About)> {
    let mut parts = line.split(" | ");
    let file = parts.next()?.to_string();
    let severity = match parts.next()? {
        "error" => Severity::Error,
        "warning" => Severity::Warning,
        "advice" => Severity::Advice,
        _ => return None,
    };
    let rule = parts.next()?.to_string();
    let print = Fingerprint::read(parts.next()?)?;
    let header = parts.next()?.to_string();
    let place = parts.next().map(str::to_string);
    let plain = !file.is_empty() && !rule.is_empty() && parts.next().is_none();
    plain.then_some((Entry { file, rule, print, place }, About { severity, header, found: None, set_aside: false }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(file: &str, place: Option<&str>) -> Entry {
        let place = place.map(str::to_string);
        Entry { file: file.to_string(), rule: "heater-too-large".to_string(), print: Fingerprint::of_name("x"), place }
    }

    /// Through the file and back: odd names, a header with bars, the file that a followed finding is in.
    #[test]
    fn what_is_written_is_read_again() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join(USUAL);
        let odd = files::portable(Path::new("a | b%\n\u{202e}é/x.trialfit"));
        assert_eq!(files::from_portable(&odd).as_deref(), Some(Path::new("a | b%\n\u{202e}é/x.trialfit")), "{odd}");
        let mut record = Record::new(&path).expect("a folder");
        let entries = [
            of(&odd, None),
            of("a.trialfit", Some("w.trialfit")),
            of("b.trialfit", Some("w.trialfit")),
            of("c.trialfit", None),
        ];
        for entry in &entries {
            record.add(entry.clone(), Severity::Warning, "heater | one");
        }
        record.write().expect("written");
        let mut read = Record::read(&path).expect("a record");
        for entry in &entries {
            assert_eq!(read.state(entry, Severity::Warning), State::Known, "{entry:?}");
            assert_eq!(read.state(entry, Severity::Error), State::Grew, "{entry:?}");
        }
        assert_eq!(read.state(&of("a.trialfit", None), Severity::Warning), State::New, "in the job itself");
        assert_eq!(
            read.state(&of("d.trialfit", Some("w.trialfit")), Severity::Warning),
            State::New,
            "through another job"
        );
    }

    /// A finding in a followed file is gone only when the job that it was found from was judged without it.
    #[test]
    fn a_job_that_was_not_judged_keeps_its_entries() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut record = Record::new(&folder.path().join(USUAL)).expect("a folder");
        for job in ["a.trialfit", "b.trialfit", "w.trialfit"] {
            std::fs::write(folder.path().join(job), "").expect("a file");
        }
        for job in ["a.trialfit", "b.trialfit"] {
            record.entries.insert(
                of(job, Some("w.trialfit")),
                About { severity: Severity::Error, header: "-".into(), found: None, set_aside: false },
            );
        }
        let judged = HashSet::from(["a.trialfit".to_string(), "w.trialfit".to_string()]);
        let dead: Vec<String> = record.dead(&judged, folder.path()).into_iter().map(|dead| dead.entry.file).collect();
        assert_eq!(dead, ["a.trialfit"]);
    }

    #[test]
    fn nothing_that_guards_life_or_may_hide_it_may_be_recorded() {
        for rule in rules::all().filter(|rule| rule.life_safety()) {
            assert!(!recordable(rule.name), "{}", rule.name);
        }
        let hides = ["header-misspelt", "unknown-word", "name-not-found", "value-blank", "implausible-value"];
        for rule in hides.into_iter().chain(["rule-failed", "no-such-rule"]) {
            assert!(!recordable(rule), "{rule}");
        }
        for rule in ["not-indented", "heater-too-large", "starting-voltage-low"] {
            assert!(recordable(rule), "{rule}");
        }
    }
}

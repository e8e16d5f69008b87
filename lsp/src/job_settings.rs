//! The settings file that stands beside jobs: what it may say, and which of several files wins. Terminal and server both
//! find and read such files on their own, and ask here what they mean. Nothing is read from the disk in here.

use ignore::gitignore::{Gitignore, GitignoreBuilder};
use spec_lang::finding::Severity;
use spec_lang::rules::USUAL_NOTICE;
use spec_lang::vocabulary::nearest;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// What the file is called.
pub const SETTINGS_FILE: &str = "trialfit.toml";
/// The longest notice, in days: ten years, beyond which every concession is near its end.
const LONGEST_NOTICE: u32 = 3_650;

/// A key that the file may hold.
pub struct SettingsKey {
    /// The key.
    pub name: &'static str,
    /// A line for readers.
    pub says: &'static str,
    /// What it takes.
    pub takes: &'static str,
    /// What holds where no file says it.
    pub default: &'static str,
}

/// Every key.
pub const SETTINGS_KEYS: &[SettingsKey] = &[
    SettingsKey {
        name: "fail-on",
        says: "the mildest finding that makes the exit code 1",
        takes: "\"error\", \"warning\" or \"advice\"",
        default: "advice",
    },
    SettingsKey {
        name: "exclude",
        says: "files that are left alone, as patterns in the manner of ignore files, from this folder",
        takes: "a list of patterns",
        default: "nothing",
    },
    SettingsKey {
        name: "known",
        says: "the record of findings that are known and do not count",
        takes: "a path from this folder",
        default: "none",
    },
    SettingsKey {
        name: "concession-notice",
        says: "how many days before a concession ends you are told",
        takes: "a whole number of days, 0 to 3650",
        default: "30",
    },
    SettingsKey {
        name: "final",
        says: "jobs that are ready to build: an open blank is an error",
        takes: "true, false or a list of patterns",
        default: "false",
    },
];

/// A settings file that cannot be used, and where it is broken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Broken {
    /// The file.
    pub path: PathBuf,
    /// Line, from 1; 0 where the file cannot be read at all.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub reason: String,
}

/// Where a setting is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The file.
    pub path: PathBuf,
    /// The line, from 1.
    pub line: usize,
}

/// A setting, and the line it is on.
#[derive(Clone, Debug)]
struct Said<T> {
    value: T,
    line: usize,
}

/// Patterns in the manner of ignore files.
#[derive(Clone, Debug)]
struct Patterns {
    written: Vec<String>,
    matcher: Gitignore,
}

/// Which jobs are judged as final.
#[derive(Clone, Debug)]
enum Final {
    All(bool),
    These(Patterns),
}

/// One settings file.
#[derive(Clone, Debug)]
pub struct SettingsFile {
    path: PathBuf,
    fail_on: Option<Said<Severity>>,
    exclude: Option<Said<Patterns>>,
    known: Option<Said<String>>,
    notice: Option<Said<u32>>,
    last: Option<Said<Final>>,
}

/// Points into a settings file's text while it is read.
struct Reader<'a> {
    path: &'a Path,
    text: &'a str,
}

impl Reader<'_> {
    fn line(&self, offset: usize) -> usize {
        1 + self.before(offset).matches('\n').count()
    }

    fn before(&self, offset: usize) -> &str {
        let mut end = offset.min(self.text.len());
        while !self.text.is_char_boundary(end) {
            end -= 1;
        }
        self.text.get(..end).unwrap_or("")
    }

    fn broken(&self, offset: usize, reason: impl Into<String>) -> Broken {
        let before = self.before(offset);
        let column = 1 + before.rsplit('\n').next().unwrap_or("").chars().count();
        Broken { path: self.path.to_path_buf(), line: self.line(offset), column, reason: reason.into() }
    }

    fn wrong<T>(&self, key: &SettingsKey, value: &Spanned<DeValue<'_>>) -> Result<T, Broken> {
        let got = value.get_ref().type_str();
        let article = if got.starts_with(['a', 'i']) { "an" } else { "a" };
        Err(self.broken(value.span().start, format!("`{}` takes {}, and this is {article} {got}", key.name, key.takes)))
    }

    fn patterns(&self, key: &SettingsKey, value: &Spanned<DeValue<'_>>) -> Result<Patterns, Broken> {
        let DeValue::Array(list) = value.get_ref() else { return self.wrong(key, value) };
        let mut builder = GitignoreBuilder::new("");
        let mut written = Vec::new();
        for one in list.iter() {
            let DeValue::String(pattern) = one.get_ref() else { return self.wrong(key, one) };
            let at = one.span().start;
            if pattern.trim().is_empty() || pattern.starts_with('#') {
                return Err(self
                    .broken(at, format!("this pattern of `{}` is empty or a comment, and matches nothing", key.name)));
            }
            let added = builder.add_line(None, pattern);
            added.map_err(|error| self.broken(at, format!("`{pattern}` is no pattern: {error}")))?;
            written.push(pattern.to_string());
        }
        let matcher = builder.build();
        let matcher = matcher
            .map_err(|error| self.broken(value.span().start, format!("these patterns do not go together: {error}")))?;
        Ok(Patterns { written, matcher })
    }
}

impl Patterns {
    /// The pattern that takes a path in, given from the settings file's folder.
    fn takes(&self, path: &Path) -> Option<String> {
        // The matcher is made for paths below a folder and panics on any other.
        if path.has_root() || path.components().any(|part| !matches!(part, std::path::Component::Normal(_))) {
            return None;
        }
        match self.matcher.matched_path_or_any_parents(path, false) {
            ignore::Match::Ignore(glob) => Some(glob.original().to_string()),
            _ => None,
        }
    }

    fn shown(&self) -> String {
        if self.written.is_empty() {
            return "nothing".to_string();
        }
        self.written.iter().map(|pattern| format!("`{pattern}`")).collect::<Vec<_>>().join(", ")
    }
}

impl SettingsFile {
    /// Whether it names a record of known findings.
    pub fn names_a_record(&self) -> bool {
        self.known.is_some()
    }

    /// Reads a settings file's text.
    ///
    /// # Errors
    ///
    /// Where it is no TOML, has a key that does not exist, or a value that its key does not take.
    pub fn read(path: &Path, text: &str) -> Result<SettingsFile, Broken> {
        let reader = Reader { path, text };
        let table = DeTable::parse(text).map_err(|error| {
            let at = error.span().map_or(0, |span| span.start);
            reader.broken(at, format!("it is not TOML: {}", error.message()))
        })?;
        let mut file = SettingsFile {
            path: path.to_path_buf(),
            fail_on: None,
            exclude: None,
            known: None,
            notice: None,
            last: None,
        };
        // In the order of the text, so that the first slip is the one that is told.
        let mut entries: Vec<_> = table.get_ref().iter().collect();
        entries.sort_by_key(|(name, _)| name.span().start);
        for (name, value) in entries {
            let at = name.span().start;
            let Some(key) = SETTINGS_KEYS.iter().find(|key| key.name == name.get_ref().as_ref()) else {
                let near = nearest(name.get_ref(), SETTINGS_KEYS.iter().map(|key| key.name));
                let hint = near.map_or_else(
                    || {
                        format!(
                            "there are {}",
                            SETTINGS_KEYS.iter().map(|key| format!("`{}`", key.name)).collect::<Vec<_>>().join(", ")
                        )
                    },
                    |near| format!("`{near}` is near"),
                );
                return Err(reader.broken(at, format!("there is no setting `{}`; {hint}", name.get_ref())));
            };
            let line = reader.line(at);
            match key.name {
                "fail-on" => {
                    let word = if let DeValue::String(word) = value.get_ref() { word.as_ref() } else { "" };
                    let all = [Severity::Error, Severity::Warning, Severity::Advice];
                    match all.into_iter().find(|severity| severity.word() == word) {
                        Some(value) => file.fail_on = Some(Said { value, line }),
                        None if word.is_empty() => return reader.wrong(key, value),
                        None => {
                            let near = nearest(word, all.iter().map(|severity| severity.word()));
                            let hint = near.map_or(String::new(), |near| format!("; \"{near}\" is near"));
                            let reason = format!("`fail-on` takes {}, not \"{word}\"{hint}", key.takes);
                            return Err(reader.broken(value.span().start, reason));
                        }
                    }
                }
                "exclude" => file.exclude = Some(Said { value: reader.patterns(key, value)?, line }),
                "known" => match value.get_ref() {
                    DeValue::String(path) if !path.is_empty() && !Path::new(path.as_ref()).has_root() => {
                        file.known = Some(Said { value: path.to_string(), line });
                    }
                    _ => return reader.wrong(key, value),
                },
                "concession-notice" => {
                    let days = match value.get_ref() {
                        DeValue::Integer(number) => u32::from_str_radix(number.as_str(), number.radix()).ok(),
                        _ => None,
                    };
                    match days.filter(|days| *days <= LONGEST_NOTICE) {
                        Some(value) => file.notice = Some(Said { value, line }),
                        None => return reader.wrong(key, value),
                    }
                }
                _ => {
                    let value = match value.get_ref() {
                        DeValue::Boolean(all) => Final::All(*all),
                        DeValue::Array(_) => Final::These(reader.patterns(key, value)?),
                        _ => return reader.wrong(key, value),
                    };
                    file.last = Some(Said { value, line });
                }
            }
        }
        Ok(file)
    }

    fn folder(&self) -> &Path {
        self.path.parent().unwrap_or(Path::new(""))
    }

    fn at(&self, line: usize) -> Written {
        Written { path: self.path.clone(), line }
    }

    /// What it says for a key, in words, and where.
    fn says(&self, key: &str) -> Option<(String, Written)> {
        let (shown, line) = match key {
            "fail-on" => self.fail_on.as_ref().map(|said| (said.value.word().to_string(), said.line)),
            "exclude" => self.exclude.as_ref().map(|said| (said.value.shown(), said.line)),
            "known" => self.known.as_ref().map(|said| (said.value.clone(), said.line)),
            "concession-notice" => self.notice.as_ref().map(|said| (said.value.to_string(), said.line)),
            _ => self.last.as_ref().map(|said| {
                let shown = match &said.value {
                    Final::All(all) => all.to_string(),
                    Final::These(patterns) => patterns.shown(),
                };
                (shown, said.line)
            }),
        }?;
        Some((shown, self.at(line)))
    }
}

/// One key of the settings that hold for a file: the value that won, and those it beat.
pub struct SettingsRow {
    /// The key.
    pub key: &'static SettingsKey,
    /// The value, in words.
    pub value: String,
    /// Where it is written; `None` where it is the default.
    pub written: Option<Written>,
    /// Values of files further up, nearest first.
    pub beaten: Vec<(String, Written)>,
}

/// The settings that hold for the files of a folder: those of the files from it upward, the nearer winning key by key.
#[derive(Clone, Debug, Default)]
pub struct JobSettings {
    files: Vec<Arc<SettingsFile>>,
}

impl JobSettings {
    /// From the files that were found, the nearest first.
    pub fn of(files: Vec<Arc<SettingsFile>>) -> JobSettings {
        JobSettings { files }
    }

    fn first<'a, T: 'a>(
        &'a self,
        of: impl Fn(&'a SettingsFile) -> Option<&'a Said<T>>,
    ) -> Option<(&'a SettingsFile, &'a Said<T>)> {
        self.files.iter().find_map(|file| Some((file.as_ref(), of(file)?)))
    }

    /// The mildest finding that counts, where a file says it.
    pub fn fail_on(&self) -> Option<Severity> {
        self.first(|file| file.fail_on.as_ref()).map(|(_, said)| said.value)
    }

    /// The pattern that leaves a file alone, and where it is written.
    pub fn excludes(&self, path: &Path) -> Option<(String, Written)> {
        let (file, said) = self.first(|file| file.exclude.as_ref())?;
        let pattern = said.value.takes(path.strip_prefix(file.folder()).ok()?)?;
        Some((pattern, file.at(said.line)))
    }

    /// The record of known findings, and where it is named.
    pub fn known(&self) -> Option<(PathBuf, Written)> {
        let (file, said) = self.first(|file| file.known.as_ref())?;
        Some((crate::plain_path(&file.folder().join(&said.value)), file.at(said.line)))
    }

    /// How many days before the last day of a concession its end is told of.
    pub fn notice(&self) -> u32 {
        self.first(|file| file.notice.as_ref()).map_or(USUAL_NOTICE, |(_, said)| said.value)
    }

    /// Whether a job is judged as before building.
    pub fn is_final(&self, path: &Path) -> bool {
        self.first(|file| file.last.as_ref()).is_some_and(|(file, said)| match &said.value {
            Final::All(all) => *all,
            Final::These(patterns) => path.strip_prefix(file.folder()).is_ok_and(|path| patterns.takes(path).is_some()),
        })
    }

    /// Every key with the value that won.
    pub fn rows(&self) -> Vec<SettingsRow> {
        let row = |key: &'static SettingsKey| {
            let mut said = self.files.iter().filter_map(|file| file.says(key.name));
            let (value, written) = match said.next() {
                Some((value, written)) => (value, Some(written)),
                None => (key.default.to_string(), None),
            };
            SettingsRow { key, value, written, beaten: said.collect() }
        };
        SETTINGS_KEYS.iter().map(row).collect()
    }
}

impl fmt::Display for Broken {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line > 0 {
            write!(out, "{}:{}: ", self.line, self.column)?;
        }
        out.write_str(&self.reason)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(path: &str, text: &str) -> Result<Arc<SettingsFile>, (usize, usize, String)> {
        let read = SettingsFile::read(Path::new(path), text);
        read.map(Arc::new).map_err(|broken| (broken.line, broken.column, broken.reason))
    }

    #[test]
    fn the_nearer_file_wins_key_by_key() {
        let (Ok(near), Ok(far)) = (
            read("/w/jobs/trialfit.toml", "# invented\nfail-on = \"warning\"\nfinal = [\"built/**\"]\n"),
            read(
                "/w/trialfit.toml",
                "exclude = [\"old/\", \"*.draft.trialfit\", \"!kept.draft.trialfit\"]\nfail-on = \"error\"\nconcession-notice = 0x10\nknown = \"k/../known.json\"\n",
            ),
        ) else {
            unreachable!("both are in order")
        };
        let settings = JobSettings::of(vec![near, far]);
        assert_eq!(settings.fail_on(), Some(Severity::Warning));
        assert_eq!(settings.notice(), 16);
        assert_eq!(settings.known().map(|(path, at)| (path, at.line)), Some((PathBuf::from("/w/known.json"), 4)));
        let out = |path: &str| settings.excludes(Path::new(path)).map(|(pattern, _)| pattern);
        assert_eq!(out("/w/old/a.trialfit").as_deref(), Some("old/"));
        assert_eq!(out("/w/jobs/old/deep/a.trialfit").as_deref(), Some("old/"));
        assert_eq!(out("/w/jobs/b.draft.trialfit").as_deref(), Some("*.draft.trialfit"));
        assert_eq!(out("/w/jobs/kept.draft.trialfit"), None);
        assert_eq!(out("/elsewhere/old/a.trialfit"), None);
        assert!(
            settings.is_final(Path::new("/w/jobs/built/a.trialfit"))
                && !settings.is_final(Path::new("/w/jobs/a.trialfit"))
        );
        let rows = settings.rows();
        let fail_on = rows.iter().find(|row| row.key.name == "fail-on");
        assert_eq!(fail_on.map(|row| (row.value.as_str(), row.beaten.len())), Some(("warning", 1)));
        assert!(rows.iter().all(|row| !row.key.says.is_empty()));
    }

    #[test]
    fn a_broken_file_says_where_and_what_is_near() {
        let broken = |text: &str| read("trialfit.toml", text).err().unwrap_or_default();
        for (text, line, column, says) in [
            ("\nexlude = []\n", 2, 1, "`exclude` is near"),
            ("colour = 1\n", 1, 1, "there are `fail-on`"),
            ("fail-on = \"erorr\"\n", 1, 11, "\"error\" is near"),
            ("fail-on = 3\n", 1, 11, "takes \"error\", \"warning\" or \"advice\", and this is an integer"),
            ("exclude = \"old\"\n", 1, 11, "takes a list of patterns"),
            ("exclude = [\n  \"ok\",\n  \"é\", \"[z-a]\"]\n", 3, 8, "`[z-a]` is no pattern"),
            ("exclude = [\"\"]\n", 1, 12, "matches nothing"),
            ("concession-notice = -1\n", 1, 21, "0 to 3650"),
            ("concession-notice = 99999999999999999999\n", 1, 21, "0 to 3650"),
            ("known = \"/etc/x\"\n", 1, 9, "a path from this folder"),
            ("final = \"yes\"\n", 1, 9, "true, false or a list"),
            ("final = true\nfinal = false\n", 2, 1, "it is not TOML"),
            ("[table\n", 1, 7, "it is not TOML"),
            ("= 3\n", 1, 1, "it is not TOML"),
        ] {
            let (at, in_line, reason) = broken(text);
            assert_eq!((at, in_line), (line, column), "{text}: {reason}");
            assert!(reason.contains(says), "{text}: {reason}");
        }
    }
}

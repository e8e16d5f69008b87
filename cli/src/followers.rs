//! `trialfit followers`: the jobs that follow shared files, and what a change of those does to them. The old texts come from
//! git and stay in memory; nothing is written.

use crate::arguments::{Followers, PlainForm};
use crate::files::{self, Library, Opened};
use crate::follows::{Following, Way};
use crate::git::Repository;
use crate::output::{Output, caution, complain};
use crate::settings::{Excludes, Shelf};
use crate::targets::{Target, Targets};
use crate::{Ending, check, clock};
use serde_json::{Value, json};
use spec_lang::Analysis;
use spec_lang::model::Used;
use spec_lang::reading::{Date, Reading};
use spec_lang::report::{CAUTION, Locator, counted, finding_line, json, not_judged_line, wrap};
use spec_lang::rules::Day;
use spec_lang::source::{FileId, Followed, Source};
use spec_lang::text::from_bytes;
use std::collections::HashMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use trialfit_lsp::plain_path;

/// What a shared file was.
enum Old {
    Text(Arc<Reading>),
    Missing,
    Unreadable(String),
}

/// The tree as it is, but for some files, which are as they were.
struct Before<'a> {
    on: Opened<'a>,
    root: &'a Path,
    old: &'a HashMap<PathBuf, Old>,
}

impl Source for Before<'_> {
    fn follow(&self, from: FileId, written: &str) -> Followed {
        let folder = self.on.place(from).and_then(|place| place.parent().map(Path::to_path_buf));
        let target = folder.map(|folder| folder.join(written)).unwrap_or_default();
        let plain = plain_path(&target);
        let real = target.canonicalize().unwrap_or_else(|_| plain.clone());
        if !plain.starts_with(self.root) || !real.starts_with(self.root) {
            return self.on.follow(from, written);
        }
        match self.old.get(&real).or_else(|| self.old.get(&plain)) {
            None => self.on.follow(from, written),
            Some(Old::Text(reading)) => Followed::File(self.on.number(Arc::from(real)), Arc::clone(reading)),
            Some(Old::Missing) => Followed::Missing,
            Some(Old::Unreadable(reason)) => Followed::Unreadable(reason.clone()),
        }
    }
}

/// Something found, told apart from others by everything but its place in the text, which any edit moves.
struct Said {
    key: (Arc<str>, String),
    line: String,
    counts: bool,
    wire: Value,
}

/// What a change does to a job.
#[derive(Default)]
struct Effect {
    comes: Vec<Said>,
    goes: Vec<Said>,
}

/// A file that follows a shared file.
struct Touched {
    target: Target,
    is_job: bool,
    ways: Vec<Way>,
    /// What of the shared files it uses, each with the line where.
    uses: Vec<(Used, u32)>,
    effect: Option<Effect>,
}

/// The shared files that were asked about, of one opened folder.
struct Asked {
    root: Arc<Path>,
    files: Vec<PathBuf>,
    base: Option<String>,
    old: HashMap<PathBuf, Old>,
}

pub(crate) fn followers(wanted: &Followers, output: &mut Output) -> io::Result<Ending> {
    let library = Library::default();
    let asked = match asked(wanted, &library) {
        Ok(asked) => asked,
        Err(reason) => {
            complain(&reason);
            return Ok(Ending::CouldNot);
        }
    };
    let today = wanted.date.or_else(clock::today);
    let mut followers = Following::default();
    let shelf = Shelf::default();
    let mut ending = Ending::Clean;
    let mut touched = Vec::new();
    let root = [asked.root.to_path_buf()];
    let mut targets = Targets::find(&root, None, Some(&asked.root));
    targets.complain();
    targets.sift(&shelf, &library, Excludes::Hold);
    if !targets.missing.is_empty() {
        ending = Ending::CouldNot;
    }
    let jobs = targets.list.len();
    for target in targets.list {
        let place = library.place(&target.path);
        let ways = followers.ways(&place, &asked.root, &|file| asked.files.iter().any(|known| known == file));
        if ways.is_empty() {
            continue;
        }
        let is_job = followers.lines(&place).is_job;
        let notice = shelf.of(&place, &asked.root).unwrap_or_default().notice();
        let mut one = Touched { target, is_job, ways, uses: Vec::new(), effect: None };
        if is_job {
            // Where it cannot be read, judging it says so.
            one.uses = uses(&one.target, &place, &library, &asked.files).unwrap_or_default();
        }
        if asked.base.is_some() && is_job {
            match effect(&one.target, &place, &library, &asked, Day { today, notice }) {
                Ok(effect) => {
                    if effect.comes.iter().any(|said| said.counts) {
                        ending = ending.max(Ending::Found);
                    }
                    one.effect = Some(effect);
                }
                Err(reason) => {
                    complain(&format!("{}: {reason}", one.target.shown));
                    ending = Ending::CouldNot;
                }
            }
        }
        touched.push(one);
    }
    match wanted.form {
        PlainForm::Text => output.say(&text(&asked, &touched, jobs, output.width))?,
        PlainForm::Json => {
            caution();
            output.json(&wire(&asked, &touched, today))?;
        }
    }
    Ok(ending)
}

/// The files asked about, by their paths without symbolic links, and what they were.
fn asked(wanted: &Followers, library: &Library) -> Result<Asked, String> {
    let mut root: Option<Arc<Path>> = None;
    let mut files = Vec::new();
    for file in &wanted.files {
        let shown = files::shown(file);
        let target = Target::of_path(file, None).ok_or_else(|| format!("{shown}: its folder is not there"))?;
        if root.as_ref().is_some_and(|root| *root != target.root) {
            return Err(format!(
                "{shown}: it lies in another opened folder than the file before it; ask about one at a time"
            ));
        }
        let place = library.place(file);
        let real = place.canonicalize();
        if real.is_err() && wanted.since.is_none() {
            return Err(format!("{shown}: there is no such file"));
        }
        files.push(real.unwrap_or_else(|_| place.to_path_buf()));
        root = Some(target.root);
    }
    let root = match root {
        Some(root) => root,
        None => Target::of_path(Path::new("job.trialfit"), None)
            .map(|here| here.root)
            .ok_or("the current folder is gone")?,
    };
    let Some(since) = &wanted.since else { return Ok(Asked { root, files, base: None, old: HashMap::new() }) };
    let repository = Repository::of(&root)?;
    let base = repository.base(since)?;
    if files.is_empty() {
        files = repository.changed(&base)?;
        files.retain(|file| file.extension().is_some_and(|ending| ending == "trialfit"));
        files.sort();
    }
    let mut old = HashMap::new();
    for file in &files {
        let was = match repository.text(&base, file)? {
            None => Old::Missing,
            Some(bytes) => match from_bytes(bytes) {
                Ok(text) => Old::Text(Arc::new(Reading::new(Arc::from(text)))),
                Err(reason) => Old::Unreadable(reason),
            },
        };
        if matches!(was, Old::Missing) && !file.exists() {
            return Err(format!("{}: it is neither here nor in {base}", files::shown(file)));
        }
        old.insert(file.clone(), was);
    }
    Ok(Asked { root, files, base: Some(base), old })
}

/// What a job uses of the shared files.
fn uses(target: &Target, place: &Arc<Path>, library: &Library, files: &[PathBuf]) -> Result<Vec<(Used, u32)>, String> {
    let reading = check::read(target, place, library)?;
    let opened = target.opened(library, Arc::clone(place));
    let analysis = Analysis::unjudged(FileId(0), reading, &opened);
    let mut locator = Locator::new(&analysis);
    let mut out = Vec::new();
    for (file, _) in analysis.readings() {
        if opened.place(*file).is_some_and(|place| files.iter().any(|known| **known == *place)) {
            out.extend(analysis.job.uses(*file).into_iter().map(|used| {
                let line = locator.start(used.place).line;
                (used, line)
            }));
        }
    }
    Ok(out)
}

/// What is used of shared files, in words.
fn used_words(uses: &[(Used, u32)]) -> String {
    let words = |(used, line): &(Used, u32)| format!("{} {} (line {line})", used.what, used.name);
    let all: Vec<String> = uses.iter().map(words).collect();
    if all.is_empty() { "uses no part of it".to_string() } else { format!("uses {}", all.join(", ")) }
}

/// Judges a job with the shared files as they were and as they are.
fn effect(target: &Target, place: &Arc<Path>, library: &Library, asked: &Asked, day: Day) -> Result<Effect, String> {
    let reading = check::read(target, place, library)?;
    let opened = || target.opened(library, Arc::clone(place));
    let now = opened();
    let after = said(&spec_lang::analyse(FileId(0), Arc::clone(&reading), &now, day), &|file| now.name(file));
    let was = Before { on: opened(), root: &asked.root, old: &asked.old };
    let before = said(&spec_lang::analyse(FileId(0), reading, &was, day), &|file| was.on.name(file));
    Ok(Effect { comes: without(&after, &before), goes: without(&before, &after) })
}

fn said(analysis: &Analysis, name: &dyn Fn(FileId) -> Arc<str>) -> Vec<Said> {
    let mut locator = Locator::new(analysis);
    let mut out = Vec::new();
    for left in &analysis.not_judged {
        let (path, at) = (name(left.place.file), locator.start(left.place));
        let line = not_judged_line(left, &mut locator, name);
        let key = (Arc::clone(&path), format!("{} {}", left.rule.name, left.because));
        let wire = json!({
            "path": &*path, "line": at.line, "column": at.column, "severity": "not judged",
            "rule": left.rule.name, "title": left.because,
        });
        out.push(Said { key, line, counts: true, wire });
    }
    for finding in &analysis.findings {
        let (path, at) = (name(finding.place.file), locator.start(finding.place));
        let line = finding_line(finding, &mut locator, name);
        let standing = finding.conceded.is_none();
        let severity = if standing { finding.severity.word() } else { "set aside" };
        let key = (Arc::clone(&path), format!("{severity} {} {}", finding.rule.name, finding.title));
        let wire = json!({
            "path": &*path, "line": at.line, "column": at.column, "severity": severity,
            "rule": finding.rule.name, "title": finding.title,
        });
        out.push(Said { key, line, counts: standing, wire });
    }
    out
}

/// What is in one list and not in the other, each as often as it is more.
fn without(these: &[Said], those: &[Said]) -> Vec<Said> {
    let mut known: HashMap<&(Arc<str>, String), usize> = HashMap::new();
    for said in those {
        *known.entry(&said.key).or_default() += 1;
    }
    let mut out = Vec::new();
    for said in these {
        match known.get_mut(&said.key).filter(|count| **count > 0) {
            Some(count) => *count -= 1,
            None => out.push(Said {
                key: said.key.clone(),
                line: said.line.clone(),
                counts: said.counts,
                wire: said.wire.clone(),
            }),
        }
    }
    out
}

fn text(asked: &Asked, touched: &[Touched], looked_at: usize, width: usize) -> String {
    let mut out = String::new();
    let (mut changed, mut comes, mut goes) = (0usize, 0usize, 0usize);
    for one in touched {
        out += &format!("{}{}\n", one.target.shown, if one.is_job { "" } else { " (jobs follow it in turn)" });
        for way in &one.ways {
            let names: Vec<String> = way.iter().map(|file| files::shown(file).to_string()).collect();
            out += &wrap(&format!("follows {}", names.join(", which follows ")), width, "  ", "    ");
            out.push('\n');
        }
        if one.is_job {
            out += &wrap(&used_words(&one.uses), width, "  ", "    ");
            out.push('\n');
        }
        let Some(effect) = &one.effect else { continue };
        changed += usize::from(!effect.comes.is_empty() || !effect.goes.is_empty());
        comes += effect.comes.len();
        goes += effect.goes.len();
        for (sign, list) in [("comes", &effect.comes), ("goes ", &effect.goes)] {
            for said in list {
                out += &wrap(&said.line, width, &format!("  {sign}  "), "         ");
                out.push('\n');
            }
        }
        if effect.comes.is_empty() && effect.goes.is_empty() {
            out += "  the same findings as before\n";
        }
    }
    let jobs = touched.iter().filter(|one| one.is_job).count();
    let sum = match asked.files.as_slice() {
        [] => "no shared file changed".to_string(),
        files => {
            let names: Vec<String> = files.iter().map(|file| files::shown(file).to_string()).collect();
            let names = names.join(" or ");
            match (jobs, looked_at) {
                (0, _) => format!("no job follows {names}"),
                (1, 1) => format!("one job file was looked at; it follows {names}"),
                (1, _) => format!("1 of {looked_at} files is a job that follows {names}"),
                _ => format!("{jobs} of {looked_at} files are jobs that follow {names}"),
            }
        }
    };
    out += &wrap(&sum, width, "", "");
    out.push('\n');
    if asked.base.is_some() {
        out += &wrap(
            &match changed {
                0 => "no finding comes and none goes".to_string(),
                _ => format!(
                    "{} and {}, in {}",
                    counted(comes, "finding comes", "findings come"),
                    counted(goes, "goes", "go"),
                    counted(changed, "job", "jobs")
                ),
            },
            width,
            "",
            "",
        );
        out.push('\n');
    }
    out += &wrap(CAUTION, width, "", "");
    out.push('\n');
    out
}

fn wire(asked: &Asked, touched: &[Touched], today: Option<Date>) -> Value {
    let shown = |path: &PathBuf| files::shown(path).to_string();
    let list = |list: &[Said]| list.iter().map(|said| said.wire.clone()).collect::<Vec<_>>();
    let one = |one: &Touched| {
        json!({
            "path": &*one.target.shown,
            "job": one.is_job,
            "ways": one.ways.iter().map(|way| way.iter().map(shown).collect::<Vec<_>>()).collect::<Vec<_>>(),
            "uses": one.uses.iter().map(|(used, line)| json!({ "what": used.what, "name": used.name, "line": line })).collect::<Vec<_>>(),
            "comes": one.effect.as_ref().map(|effect| list(&effect.comes)),
            "goes": one.effect.as_ref().map(|effect| list(&effect.goes)),
        })
    };
    json!({
        "form": "trialfit.followers", "version": 1, "tool": json::tool(), "caution": CAUTION,
        "date": today.map(|day| day.to_string()),
        "since": asked.base,
        "files": asked.files.iter().map(shown).collect::<Vec<_>>(),
        "followers": touched.iter().map(one).collect::<Vec<_>>(),
    })
}

//! Who follows whom: found from the `follows` lines alone, without reading the rest of a file, and chain by chain up to
//! the opened folder. Used to find what a change touches; judging has its own, fuller way.

use crate::files;
use crate::targets::Target;
use spec_lang::reading::Reading;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use trialfit_lsp::plain_path;

/// The first words of the lines that are read: those that follow, and those that make a file a job.
const FIRST_WORDS: [&str; 2] = ["follows", "job"];

/// What the lines of one file say.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Lines {
    /// The files that it follows, as written.
    pub(crate) follows: Vec<String>,
    /// Whether it is a job, rather than a file that jobs follow.
    pub(crate) is_job: bool,
}

impl Lines {
    /// Reads them off a text.
    pub(crate) fn of(text: &str) -> Lines {
        let lines = text.split(['\n', '\r']).map(|line| line.trim_start_matches('\u{feff}'));
        let wanted = lines.filter(|line| FIRST_WORDS.iter().any(|word| line.trim_start().starts_with(word)));
        // An empty line between keeps one line's sense from hanging on another's.
        let few = wanted.collect::<Vec<_>>().join("\n\n");
        let reading = Reading::new(Arc::from(few));
        let is_job =
            reading.blocks.iter().any(|block| block.kind.is_some_and(spec_lang::vocabulary::Kind::opens_a_job));
        Lines { follows: reading.follows.iter().map(|span| reading.plain_text(*span).to_string()).collect(), is_job }
    }
}

/// A file as it is met: the paths that it goes by, without symbolic links first.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Met {
    real: PathBuf,
    /// The path as written, where a link stands in it.
    written: Option<PathBuf>,
}

/// The files of a tree and whom they follow, each read once.
#[derive(Default)]
pub(crate) struct Following {
    lines: HashMap<PathBuf, Arc<Lines>>,
}

/// The files on the way from a job to a file that it follows, the job itself left out.
pub(crate) type Way = Vec<PathBuf>;

impl Following {
    /// What the lines of a file say; nothing where it cannot be read, which its judgement will say.
    pub(crate) fn lines(&mut self, path: &Path) -> Arc<Lines> {
        if let Some(known) = self.lines.get(path) {
            return Arc::clone(known);
        }
        let ordinary = path.metadata().is_ok_and(|about| about.is_file());
        let text = if ordinary { files::read(path).unwrap_or_default() } else { String::new() };
        let lines = Arc::new(Lines::of(&text));
        self.lines.insert(path.to_path_buf(), Arc::clone(&lines));
        lines
    }

    /// The files that a file follows itself, in order, inside the opened folder.
    fn followed(&mut self, path: &Path, root: &Path) -> Vec<Met> {
        let lines = self.lines(path);
        let folder = path.parent().unwrap_or(Path::new(""));
        let met = lines.follows.iter().filter_map(|written| {
            let plain = plain_path(&folder.join(written));
            if !plain.starts_with(root) {
                return None;
            }
            match folder.join(written).canonicalize() {
                Ok(real) if !real.starts_with(root) => None,
                Ok(real) => Some(Met { written: (real != plain).then_some(plain), real }),
                // A file that is gone still has a name to be known by.
                Err(_) => Some(Met { real: plain, written: None }),
            }
        });
        met.collect()
    }

    /// The shortest way from a file to each of the files asked about that it follows, directly or through others.
    pub(crate) fn ways(&mut self, from: &Path, root: &Path, wanted: &dyn Fn(&Path) -> bool) -> Vec<Way> {
        let mut came: HashMap<PathBuf, PathBuf> = HashMap::new();
        let mut queue = std::collections::VecDeque::from([from.to_path_buf()]);
        let mut ways = Vec::new();
        while let Some(here) = queue.pop_front() {
            for met in self.followed(&here, root) {
                if met.real == from || came.contains_key(&met.real) {
                    continue;
                }
                came.insert(met.real.clone(), here.clone());
                if wanted(&met.real) || met.written.as_deref().is_some_and(wanted) {
                    let mut way = vec![met.real.clone()];
                    while let Some(before) = way.last().and_then(|last| came.get(last)).filter(|before| *before != from)
                    {
                        way.push(before.clone());
                    }
                    way.reverse();
                    ways.push(way);
                }
                queue.push_back(met.real);
            }
        }
        ways
    }

    /// The targets, each behind all of them that it follows: what is mended in a shared file is there when the files that
    /// follow it are looked at.
    pub(crate) fn followed_first(&mut self, targets: Vec<Target>, place: &dyn Fn(&Path) -> Arc<Path>) -> Vec<Target> {
        let depth = |followers: &mut Following, target: &Target| {
            let place = place(&target.path);
            followers.ways(&place, &target.root, &|_| true).iter().map(Vec::len).max().unwrap_or(0)
        };
        let mut ranked: Vec<(usize, Target)> =
            targets.into_iter().map(|target| (depth(self, &target), target)).collect();
        ranked.sort_by_key(|(depth, _)| *depth);
        ranked.into_iter().map(|(_, target)| target).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::Lines;
    use spec_lang::reading::Reading;
    use std::path::Path;
    use std::sync::Arc;

    fn whole(text: &str) -> Vec<String> {
        let reading = Reading::new(Arc::from(text));
        reading.follows.iter().map(|span| reading.plain_text(*span).to_string()).collect()
    }

    #[test]
    fn the_lines_alone_say_what_the_whole_reading_says() {
        let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
        let mut folders = vec![examples];
        let mut followed = 0;
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
                let path = entry.path();
                if path.is_dir() {
                    folders.push(path);
                } else if let Some(text) = std::fs::read_to_string(&path).ok().filter(|_| path.extension().is_some()) {
                    let lines = Lines::of(&text);
                    followed += lines.follows.len();
                    assert_eq!(lines.follows, whole(&text), "{}", path.display());
                }
            }
        }
        assert!(followed > 40, "the examples follow files: {followed}");
        for text in [
            "\u{feff}follows \"a\"\r\n  follows \"b\"\rjob \"x\"\n",
            "follows \"a # b\" # c\nfollows\nfollows 3\nfollows \"open\n",
            "trialfit 1 follows \"no\"\n# follows \"no\"\nfollows \"../w/ü.trialfit\"\n",
        ] {
            assert_eq!(Lines::of(text).follows, whole(text), "{text:?}");
        }
        assert!(Lines::of("trialfit 1\r\n\r\njob \"x\"\r\n").is_job && !Lines::of("trialfit 1\nstock cable\n").is_job);
    }
}

//! Names: what blocks are called, where names are used, and which block each use means.

use crate::source::Place;
use crate::vocabulary::{Kind, KindSet};
use std::collections::HashMap;

/// A name that a block has.
#[derive(Clone, Debug, PartialEq)]
pub struct Defined {
    /// The block's kind.
    pub kind: Kind,
    /// The name; empty for a run that is told by its heater alone.
    pub name: String,
    /// Its heater's name, for runs.
    pub of: Option<String>,
    /// Where the name stands in the header; the header where it has none.
    pub name_place: Place,
    /// The header.
    pub header: Place,
    /// Its number among the blocks of its kind (for runs, among all runs).
    pub number: usize,
}

/// A use of a name.
#[derive(Clone, Debug, PartialEq)]
pub struct NameUse {
    /// Where.
    pub place: Place,
    /// The kinds it may mean.
    pub kinds: KindSet,
    /// The block it means: its number in [`super::Job::defined`].
    pub target: Option<usize>,
}

/// Something wrong with a name.
#[derive(Clone, Debug, PartialEq)]
pub struct NameFault {
    /// What.
    pub kind: NameFaultKind,
    /// Where.
    pub place: Place,
}

/// The kinds of fault.
#[derive(Clone, Debug, PartialEq)]
pub enum NameFaultKind {
    /// No block of these kinds has that name; the nearest that one has.
    NotFound {
        /// The kinds looked among.
        kinds: KindSet,
        /// The nearest name.
        nearest: Option<String>,
    },
    /// A block of that kind and name stands there already.
    Twice {
        /// The block's kind.
        kind: Kind,
        /// The first one's header.
        first: Place,
    },
    /// A data sheet that a followed file has by the same name, and that says something else there.
    Shadows {
        /// The header of the other one, which is not read.
        other: Place,
    },
    /// Branches that lead back into themselves.
    Circle {
        /// Where the others of the circle say where they start.
        others: Vec<Place>,
    },
    /// A short name that two blocks answer to.
    Ambiguous {
        /// Full names that would tell them apart.
        full: Vec<String>,
    },
}

/// Looks names up.
#[derive(Debug, Default)]
pub(super) struct Index {
    pub defined: Vec<Defined>,
    /// Numbers in `defined` by name, of every kind: asked without making a key.
    by_name: HashMap<String, Vec<usize>>,
    tees: HashMap<String, Vec<(usize, String, String)>>,
}

impl Index {
    /// Adds a block's name. Gives the header of an earlier block of the same kind, name and heater.
    pub(super) fn define(&mut self, defined: Defined) -> Option<Place> {
        let before = self.named(&defined.name).find(|(_, known)| known.kind == defined.kind && known.of == defined.of);
        if let Some((_, before)) = before {
            return Some(before.header);
        }
        match self.by_name.get_mut(&defined.name) {
            Some(same) => same.push(self.defined.len()),
            None => {
                self.by_name.insert(defined.name.clone(), vec![self.defined.len()]);
            }
        }
        self.defined.push(defined);
        None
    }

    /// The blocks of that name, with their numbers.
    pub(super) fn named(&self, name: &str) -> impl Iterator<Item = (usize, &Defined)> + use<'_> {
        let same = self.by_name.get(name).map_or(&[][..], Vec::as_slice);
        same.iter().filter_map(|at| Some((*at, self.defined.get(*at)?)))
    }

    /// Adds a tee of a warm-air run.
    pub(super) fn define_tee(&mut self, run: usize, run_name: &str, heater: &str, tee: &str) {
        self.tees.entry(tee.to_string()).or_default().push((run, run_name.to_string(), heater.to_string()));
    }

    /// The blocks of those kinds that a name may mean. `reader.main` is `main` of `reader`.
    pub(super) fn find(&self, kinds: KindSet, name: &str) -> Vec<usize> {
        let mut found: Vec<(Kind, usize)> =
            self.named(name).filter(|(_, known)| kinds.has(known.kind)).map(|(at, known)| (known.kind, at)).collect();
        if found.is_empty()
            && let Some((heater, rest)) = name.split_once('.')
        {
            let of_heater = |known: &Defined| kinds.has(known.kind) && known.of.as_deref() == Some(heater);
            let full = self.named(rest).filter(|(_, known)| of_heater(known));
            found.extend(full.map(|(at, known)| (known.kind, at)));
        }
        // In the order of the kinds: where a name may mean two, the first kind is meant.
        found.sort_unstable();
        found.into_iter().map(|(_, at)| at).collect()
    }

    /// The tees that `main.cab` or `reader.main.cab` may mean: run number, and the full name of each.
    pub(super) fn find_tee(&self, name: &str) -> Vec<(usize, String)> {
        let mut parts: Vec<&str> = name.split('.').collect();
        let Some(tee) = parts.pop() else { return Vec::new() };
        let run = parts.pop();
        let heater = parts.pop();
        let known = self.tees.get(tee).map_or(&[][..], Vec::as_slice);
        known
            .iter()
            .filter(|(_, run_name, of)| {
                run.is_none_or(|run| run == run_name) && heater.is_none_or(|heater| heater == of)
            })
            .map(|(number, run_name, of)| (*number, format!("{of}.{run_name}.{tee}")))
            .collect()
    }

    /// The nearest name of those kinds.
    pub(super) fn nearest(&self, kinds: KindSet, name: &str) -> Option<String> {
        let candidates = self.defined.iter().filter(|known| kinds.has(known.kind)).map(|known| known.name.as_str());
        crate::vocabulary::nearest(name, candidates.filter(|name| !name.is_empty())).map(str::to_string).or_else(|| {
            // With one candidate only, that one is worth naming.
            let mut all = self.defined.iter().filter(|known| kinds.has(known.kind) && !known.name.is_empty());
            let only = all.next();
            only.filter(|_| all.next().is_none()).map(|only| only.name.clone())
        })
    }

    /// The nearest tee.
    pub(super) fn nearest_tee(&self, name: &str) -> Option<String> {
        let tee = name.rsplit('.').next().unwrap_or(name);
        let tees: Vec<&str> = self.tees.keys().map(String::as_str).collect();
        let near = crate::vocabulary::nearest(tee, tees.into_iter())?;
        self.tees.get(near).and_then(|known| known.first()).map(|(_, run, _)| format!("{run}.{near}"))
    }
}

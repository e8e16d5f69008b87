//! Every name of a job, resolved: where it stands, what it means, whether it is defined there. Definition, references,
//! renaming, highlights and hover all read this one list; what editors are told of it is the edge's business.

use crate::Analysis;
use crate::model::{Defined, Job, Kit, NameUse, Sort, kinds_of, kits_in};
use crate::reading::{Block, Reading, Statement, Value};
use crate::rules;
use crate::source::{FileId, Place};
use crate::syntax::{ItemKind, read_tree};
use crate::text::{Edit, Span};
use crate::vocabulary::{DIRECTIONS, Kind, KindSet, RESERVED, Role, is_header_word, kind_of_header, words_of};
use std::collections::HashMap;
use std::sync::Arc;

/// What a name means. Two names mean the same where these are equal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Meaning {
    /// The block of that kind whose name stands there.
    Block(Kind, Place),
    /// The tee whose label stands there.
    Tee(Place),
    /// A word of the author's own, by where it is said first: a second body, a surface, a branch of a harness.
    Label(Place),
    /// A rule.
    Rule(&'static str),
}

impl Meaning {
    /// Where it is defined; rules are defined nowhere in the text.
    pub fn place(self) -> Option<Place> {
        match self {
            Meaning::Block(_, place) | Meaning::Tee(place) | Meaning::Label(place) => Some(place),
            Meaning::Rule(_) => None,
        }
    }
}

/// One place where a name stands; of a full name such as `reader.main.cab`, each part has its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Occurrence {
    /// Where.
    pub place: Place,
    /// What it means; `None` where nothing has that name.
    pub meaning: Option<Meaning>,
    /// Whether it is defined here.
    pub defines: bool,
}

/// Every name of a job and of the files it follows, in order of place.
pub fn occurrences(job: &Job) -> Vec<Occurrence> {
    let mut names = Names { job, heaters: HashMap::new(), tees: HashMap::new(), out: Vec::new() };
    names.definitions();
    names.labels();
    names.uses();
    if job.is_composed() {
        names.out = names.out.iter().flat_map(|it| led_back(job, *it)).collect();
    }
    names.kits();
    names.fits();
    names.tables();
    for rule in job.rules_named() {
        let meaning = rules::find(&rule.value).map(|rule| Meaning::Rule(rule.name));
        names.out.push(Occurrence { place: job.real(rule.written), meaning, defines: false });
    }
    let mut out = names.out;
    out.sort_by_key(|it| (it.place, !it.defines));
    out.dedup_by_key(|it| it.place);
    out
}

/// The name at an offset of a file.
pub fn occurrence_at(job: &Job, file: FileId, offset: u32) -> Option<Occurrence> {
    let here = |it: &Occurrence| it.place.file == file && it.place.span.touches(offset);
    let mut all = occurrences(job).into_iter().filter(here);
    let first = all.next()?;
    // Between the parts of a full name the cursor touches both: the one it stands before counts.
    Some(all.next().filter(|next| next.place.span.start == offset).unwrap_or(first))
}

struct Names<'a> {
    job: &'a Job,
    heaters: HashMap<&'a str, Place>,
    /// The label of each tee, by the header of its run.
    tees: HashMap<(Place, &'a str), Place>,
    out: Vec<Occurrence>,
}

impl<'a> Names<'a> {
    fn add(&mut self, place: Place, meaning: Option<Meaning>) {
        let defines = meaning.and_then(Meaning::place) == Some(place);
        self.out.push(Occurrence { place, meaning, defines });
    }

    fn definitions(&mut self) {
        for known in self.job.defined.iter().filter(|known| !known.name.is_empty()) {
            if known.kind == Kind::Heater {
                self.heaters.entry(&known.name).or_insert(known.name_place);
            }
            self.add(known.name_place, Some(Meaning::Block(known.kind, known.name_place)));
        }
    }

    /// Tees, second bodies, surfaces and harness branches: labels that other lines refer to.
    fn labels(&mut self) {
        let mut bodies: HashMap<&str, Place> = HashMap::new();
        let mut surfaces: HashMap<(Place, &str), Place> = HashMap::new();
        let mut branches: HashMap<(Place, &str), Place> = HashMap::new();
        for (header, kind, word, label, text) in labelled(self.job) {
            match (kind, word) {
                (Kind::WarmAir, "tee") => {
                    let first = *self.tees.entry((header, text)).or_insert(label);
                    self.add(label, Some(Meaning::Tee(first)));
                }
                (Kind::Vehicle, "second-body") => drop(bodies.entry(text).or_insert(label)),
                (Kind::Space, "surface") => drop(surfaces.entry((header, text)).or_insert(label)),
                (Kind::HeaterSheet, "harness") => drop(branches.entry((header, text)).or_insert(label)),
                _ => {}
            }
        }
        let runs: HashMap<Place, Option<usize>> = self.job.runs.iter().map(|run| (run.header, run.heater)).collect();
        let sheet = |cable: Place| {
            let heater = runs.get(&cable).copied().flatten()?;
            self.job.sheet_of(heater).map(|sheet| sheet.header)
        };
        let mut found = Vec::new();
        for (header, kind, word, label, text) in labelled(self.job) {
            let first = match (kind, word) {
                (Kind::Vehicle, "second-body") | (_, "rides-on") => bodies.get(text),
                (Kind::Space, "surface" | "ribs") => surfaces.get(&(header, text)),
                (Kind::HeaterSheet, "harness") => branches.get(&(header, text)),
                (Kind::Cable, "harness") => sheet(header).and_then(|sheet| branches.get(&(sheet, text))),
                _ => continue,
            };
            found.push((label, first.map(|first| Meaning::Label(*first))));
        }
        for (label, meaning) in found {
            self.add(label, meaning);
        }
    }

    fn uses(&mut self) {
        let job = self.job;
        for named in &job.names {
            let text = job.text(named.place);
            let target = named.target.and_then(|target| job.defined.get(target));
            let block = |target: &Defined| Meaning::Block(target.kind, target.name_place);
            if self.is_tee(named) {
                self.tee(named.place, text, target);
                continue;
            }
            match target {
                Some(target) if target.name != text => match text.split_once('.') {
                    Some((heater, _)) => {
                        let (first, rest) = parted(named.place, heater.len());
                        self.add(first, self.heaters.get(heater).map(|at| Meaning::Block(Kind::Heater, *at)));
                        self.add(rest, Some(block(target)));
                    }
                    None => self.add(named.place, Some(block(target))),
                },
                target => self.add(named.place, target.map(block)),
            }
        }
    }

    /// Whether the name is that of a tee: the start of a branch.
    fn is_tee(&self, named: &NameUse) -> bool {
        if named.kinds != KindSet::of(&[Kind::WarmAir]) {
            return false;
        }
        self.job.reading(named.place.file).is_some_and(|reading| {
            let (block, statement) = reading.at(named.place.span.start);
            block.is_some_and(|block| block.kind == Some(Kind::WarmAir))
                && statement.and_then(|statement| statement.word).is_some_and(|word| word.word == "from")
        })
    }

    /// `reader.main.cab`: heater, run, tee; each part where it is written.
    fn tee(&mut self, place: Place, text: &str, run: Option<&Defined>) {
        let Some(run) = run else { return self.add(place, None) };
        let (before, tee) = text.rsplit_once('.').map_or(("", text), |(before, tee)| (before, tee));
        let meaning = self.tees.get(&(run.header, tee)).map(|at| Meaning::Tee(*at));
        if before.is_empty() {
            return self.add(place, meaning);
        }
        let (before_place, tee_place) = parted(place, before.len());
        self.add(tee_place, meaning);
        let run_meaning = Some(Meaning::Block(run.kind, run.name_place));
        match before.split_once('.') {
            Some((heater, _)) => {
                let (heater_place, run_place) = parted(before_place, heater.len());
                self.add(heater_place, self.heaters.get(heater).map(|at| Meaning::Block(Kind::Heater, *at)));
                self.add(run_place, run_meaning);
            }
            None => self.add(before_place, run_meaning),
        }
    }
}

impl<'a> Names<'a> {
    /// Names within kits, as their own files say them: wherever a kit is fitted, it is written once.
    fn kits(&mut self) {
        let job = self.job;
        for (file, reading) in &job.readings {
            for kit in kits_in(*file, reading) {
                self.kit(&kit);
            }
            for block in reading.blocks.iter().filter(|block| block.kind == Some(Kind::Usual)) {
                for line in reading.statements(block) {
                    for arg in reading.args(line).iter().filter(|arg| arg.value == Value::Name) {
                        let meaning = self.shared(kinds_of(reading, line, arg), reading.slice(arg.span));
                        self.add(Place { file: *file, span: arg.span }, meaning);
                    }
                }
            }
        }
    }

    /// A block that is shared by all layers: a data sheet.
    fn shared(&self, kinds: KindSet, name: &str) -> Option<Meaning> {
        let known = self.job.defined.iter().filter(|known| known.kind.is_sheet() && kinds.has(known.kind));
        let found = known.into_iter().find(|known| known.name == name)?;
        Some(Meaning::Block(found.kind, self.job.real(found.name_place)))
    }

    fn kit(&mut self, kit: &Kit<'_>) {
        let asks = kit.asks();
        let asked = |name: &str, kinds: KindSet| {
            let thing = |sort: Sort| matches!(sort, Sort::Thing(kind) if kinds.has(kind));
            let found = asks.iter().find(|asked| asked.name == name && thing(asked.sort))?;
            Some(Meaning::Label(found.name_place))
        };
        let named = |name: &str, kinds: KindSet| {
            let mut blocks = kit.blocks.iter().filter(|block| block.kind.is_some_and(|kind| kinds.has(kind)));
            let found = blocks.find(|block| block.name.is_some() && kit.named(block) == name)?;
            asked(name, kinds).or(Some(Meaning::Block(found.kind?, kit.at(found.name?))))
        };
        for asked in &asks {
            self.add(asked.name_place, Some(Meaning::Label(asked.name_place)));
        }
        for (name, span, _) in kit.uses() {
            let found = asks.iter().find(|asked| asked.name == name).map(|asked| Meaning::Label(asked.name_place));
            let start = span.end - u32::try_from(name.len()).unwrap_or(0);
            self.add(kit.at(Span { start, end: span.end }), found);
        }
        for block in &kit.blocks {
            let Some(kind) = block.kind else { continue };
            let own = KindSet::of(&[kind]);
            if let Some(span) = block.name.filter(|_| !matches!(kind, Kind::Concession | Kind::Fit | Kind::Change)) {
                self.add(kit.at(span), named(kit.named(block), own));
            }
            if let Some(span) = block.of.filter(|_| kind != Kind::Fit) {
                let heater = named(kit.reading.slice(span), KindSet::of(&[Kind::Heater]));
                self.add(kit.at(span), heater);
            }
        }
        for block in std::iter::once(&kit.header).chain(&kit.blocks) {
            for line in kit.lines(block) {
                for arg in kit.reading.args(line).iter().filter(|arg| arg.value == Value::Name) {
                    let by = kit.reading.args(line).iter().find(|arg| arg.role == Role::By);
                    let said = by.and_then(|by| kind_of_header(kit.reading.slice(by.span), None));
                    let open = line.word.is_some_and(|word| word.word == "open");
                    let kinds =
                        said.filter(|_| open).map_or(kinds_of(kit.reading, line, arg), |kind| KindSet::of(&[kind]));
                    let name = kit.reading.slice(arg.span);
                    let whole = asked(name, kinds).or_else(|| named(name, kinds));
                    match (whole, name.rsplit_once('.')) {
                        (None, Some((before, tee))) => {
                            let (first, rest) = parted(kit.at(arg.span), before.len());
                            let run = named(before.rsplit('.').next().unwrap_or(before), kinds);
                            let header = run.and_then(Meaning::place).and_then(|place| {
                                let block = kit.blocks.iter().find(|block| block.name == Some(place.span))?;
                                Some(kit.at(block.header))
                            });
                            let tees = &self.tees;
                            let label = header.and_then(|header| tees.get(&(header, tee))).copied();
                            self.add(rest, label.map(Meaning::Tee));
                            match before.split_once('.') {
                                Some((heater, _)) => {
                                    let (heater_at, run_at) = parted(first, heater.len());
                                    self.add(heater_at, named(heater, KindSet::of(&[Kind::Heater])));
                                    self.add(run_at, run);
                                }
                                None => self.add(first, run),
                            }
                        }
                        (whole, _) => {
                            let meaning = whole.or_else(|| self.shared(kinds, name));
                            self.add(kit.at(arg.span), meaning);
                        }
                    }
                }
            }
        }
    }

    /// What a job says of the kits that it fits: the words of its answers, the blocks that it changes.
    fn fits(&mut self) {
        for fit in &self.job.fits {
            for answered in &fit.answers {
                if let Some((head, _)) = answered.answer {
                    self.add(head, Some(Meaning::Label(answered.asked.name_place)));
                }
            }
        }
        for change in &self.job.changes {
            let (Some(place), (header, Some(name))) = (change.name, change.of) else { continue };
            let Some(block) = self.job.reading(header.file).and_then(|reading| reading.at(header.span.start).0) else {
                continue;
            };
            let Some(kind) = block.kind.filter(|kind| *kind != Kind::Heater) else { continue };
            let found = Occurrence { place, meaning: Some(Meaning::Block(kind, name)), defines: false };
            let parts = fitted_name(self.job, found);
            self.out.extend(parts);
        }
    }

    /// Names in tables: the kit that each row fits, and what it asks for.
    fn tables(&mut self) {
        let job = self.job;
        for (file, reading) in &job.readings {
            for block in reading.blocks.iter().filter(|block| block.kind == Some(Kind::Table)) {
                let lines = reading.statements(block);
                let arg =
                    |line: &Statement, role: Role| reading.args(line).iter().copied().find(|arg| arg.role == role);
                let fits = lines.iter().find(|line| line.word.is_some_and(|word| word.word == "fits"));
                let Some(named) = fits.and_then(|line| arg(line, Role::What)) else { continue };
                let mut kits = job.readings.iter().flat_map(|(file, reading)| kits_in(*file, reading));
                let kit = kits.find(|kit| kit.name() == reading.slice(named.span));
                let meaning = kit.as_ref().and_then(|kit| Some(Meaning::Block(Kind::Kit, kit.at(kit.header.name?))));
                self.add(Place { file: *file, span: named.span }, meaning);
                let asks = kit.map_or(Vec::new(), |kit| kit.asks());
                for line in lines {
                    let answers = arg(line, Role::By).is_some_and(|by| by.value == Value::Choice("answer"));
                    let Some(answer) = arg(line, Role::Property).filter(|_| answers) else { continue };
                    let asked = asks.iter().find(|asked| asked.name == reading.slice(answer.span));
                    let meaning = asked.map(|asked| Meaning::Label(asked.name_place));
                    self.add(Place { file: *file, span: answer.span }, meaning);
                }
            }
        }
    }
}

/// A name of the composed job as names of files: of what other layers lend only what the job says itself, an answer or
/// the name of a fit, since the rest is listed where those layers write it.
fn led_back(job: &Job, found: Occurrence) -> Vec<Occurrence> {
    let place = job.real(found.place);
    if job.lent(found.place).is_some() && place != job.shown(found.place) {
        return Vec::new();
    }
    let meaning = found.meaning.map(|meaning| match meaning {
        Meaning::Block(kind, place) => Meaning::Block(kind, job.real(place)),
        Meaning::Tee(place) => Meaning::Tee(job.real(place)),
        Meaning::Label(place) => Meaning::Label(job.real(place)),
        rule @ Meaning::Rule(_) => rule,
    });
    let defines = meaning.and_then(Meaning::place) == Some(place);
    fitted_name(job, Occurrence { place, meaning, defines })
}

/// `bunk-main` is `main` of the kit that is fitted as `bunk`: the name of the fit, then that of the kit's own block.
fn fitted_name(job: &Job, found: Occurrence) -> Vec<Occurrence> {
    let Some(Meaning::Block(_, target)) = found.meaning.filter(|_| !job.fits.is_empty()) else { return vec![found] };
    let (text, own) = (job.text(found.place), job.text(target));
    let fit = text.strip_suffix(own).and_then(|before| before.strip_suffix('-'));
    let Some(fit) = fit.and_then(|fit| job.fits.iter().find(|known| known.name == fit)) else { return vec![found] };
    let (first, rest) = parted(found.place, fit.name.len());
    let heater = Some(Meaning::Block(Kind::Heater, fit.name_place));
    vec![
        Occurrence { place: first, meaning: heater, defines: false },
        Occurrence { place: rest, meaning: found.meaning, defines: false },
    ]
}

/// What stands before a dot and what behind it.
fn parted(place: Place, before: usize) -> (Place, Place) {
    let dot = place.span.start + u32::try_from(before).unwrap_or(0);
    let part = |start, end| Place { file: place.file, span: Span { start, end } };
    (part(place.span.start, dot), part(dot + 1, place.span.end))
}

/// Each statement that may carry a label: its block's header and kind, its word, the label's place and text.
fn labelled(job: &Job) -> impl Iterator<Item = (Place, Kind, &'static str, Place, &str)> {
    let plain = job.built_from().map(|(file, reading)| (file, reading, false));
    let kits = job.readings.iter().map(|(file, reading)| (*file, reading, true));
    plain.chain(kits).flat_map(|(file, reading, in_kit)| {
        let blocks = reading.blocks.iter().filter(move |block| block.in_kit == in_kit);
        let blocks = blocks.filter_map(|block| Some((block, block.kind?)));
        blocks.flat_map(move |(block, kind)| {
            let header = Place { file, span: block.header };
            reading.statements(block).iter().filter_map(move |statement| {
                let word = statement.word?.word;
                let span = label_of(reading, statement, word)?;
                Some((header, kind, word, Place { file, span }, reading.slice(span)))
            })
        })
    })
}

fn label_of(reading: &Reading, statement: &Statement, word: &str) -> Option<Span> {
    if !matches!(word, "tee" | "second-body" | "rides-on" | "surface" | "ribs" | "harness") {
        return None;
    }
    reading.args(statement).iter().find(|arg| arg.role == Role::What).map(|arg| arg.span)
}

/// Why a name cannot be given, or nothing where it can.
pub fn refused_name(new: &str) -> Option<String> {
    let tree = read_tree(Arc::from(new));
    let items = tree.lines.first().map_or(&[][..], |line| tree.items(line));
    let one = matches!(items, [only] if only.kind == ItemKind::Word && only.span.len() == new.len());
    if new.contains('.') {
        Some(format!(
            "`{new}` has a dot, which stands between the names of a heater and its run; write one word without a dot"
        ))
    } else if !one || tree.lines.len() != 1 {
        Some(format!("`{new}` is no name: a name is one word that starts with a letter"))
    } else if RESERVED.contains(&new) || is_header_word(new) || DIRECTIONS.contains(&new) {
        Some(format!("`{new}` is a word of the language, so it cannot be a name"))
    } else {
        None
    }
}

/// The edits that write a new name at the places where a job has the old one.
pub fn renamed(job: &Job, meaning: Meaning, new: &str) -> Vec<(FileId, Edit)> {
    let places = occurrences(job).into_iter().filter(|it| it.meaning == Some(meaning)).map(|it| it.place);
    places.map(|place| (place.file, Edit { span: place.span, insert: new.to_string() })).collect()
}

/// What of a job has that name already, in words: `a battery`.
pub fn who_has(job: &Job, name: &str) -> Option<String> {
    let known = job.defined.iter().find(|known| known.name == name)?;
    Some(words_of(known.kind).reads())
}

/// Whether every name means in `after` what it meant in `before`, names counted off in order; and nothing is wrong with
/// a name that was right.
pub fn same_meanings(before: &Job, after: &Job) -> bool {
    let numbered = |job: &Job| -> Vec<Option<usize>> {
        let all = occurrences(job);
        let first: HashMap<Place, usize> = all.iter().enumerate().map(|(number, it)| (it.place, number)).collect();
        let number = |it: &Occurrence| match it.meaning? {
            Meaning::Rule(_) => None,
            meaning => meaning.place().and_then(|place| first.get(&place).copied()),
        };
        all.iter().map(number).collect()
    };
    after.name_faults.len() <= before.name_faults.len() && numbered(before) == numbered(after)
}

/// The span of the name at an offset of the file, and the block it stands for where there is one.
pub fn target_of(analysis: &Analysis, offset: u32) -> Option<(Span, Option<&Defined>)> {
    let job = &analysis.job;
    let here = |place: Place| place.file == analysis.file && place.span.touches(offset);
    let own = |place: Place| job.lent(place).is_none() || job.real(place) == job.shown(place);
    let (place, named) =
        job.names.iter().map(|name| (job.real(name.place), name)).find(|(at, name)| here(*at) && own(name.place))?;
    Some((place.span, named.target.and_then(|target| job.defined.get(target))))
}

/// Every name that may stand for a block of the kinds, with what it is in words; the tees of warm-air runs by theirs.
pub(super) fn names_of(analysis: &Analysis, kinds: KindSet) -> Vec<(String, String)> {
    let defined = &analysis.job.defined;
    let known = defined.iter().filter(|known| kinds.has(known.kind) && !known.name.is_empty());
    let mut names: Vec<(String, String)> =
        known.map(|known| (known.name.clone(), words_of(known.kind).reads())).collect();
    if kinds.has(Kind::WarmAir) {
        for (_, reading) in analysis.job.built_from() {
            names.extend(tees(reading));
        }
    }
    names
}

fn tees(reading: &Reading) -> impl Iterator<Item = (String, String)> + '_ {
    let runs = reading.blocks.iter().filter(|block| block.kind == Some(Kind::WarmAir) && !block.in_kit);
    runs.filter_map(|block| Some((block, reading.slice(block.name?)))).flat_map(move |(block, run)| {
        let statements = reading.statements(block).iter();
        let tees = statements.filter(|statement| statement.word.is_some_and(|word| word.word == "tee"));
        let labels = tees.filter_map(|tee| reading.args(tee).iter().find(|arg| arg.role == Role::What));
        labels.map(move |label| (format!("{run}.{}", reading.slice(label.span)), "tee".to_string()))
    })
}

/// The last block whose header stands at or before a line.
pub(super) fn block_before(reading: &Reading, line: u32) -> Option<&Block> {
    let after = reading.blocks.partition_point(|block| block.first_line <= line);
    after.checked_sub(1).and_then(|at| reading.blocks.get(at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::NoFiles;
    use proptest::prelude::*;

    const JOB: &str = "trialfit 1\nvehicle van\n  second-body upper\nspace cab\n  surface walls, 4 m², steel 1 mm\n  \
        ribs walls, 5 %, steel 1 mm\nheater reader\n  in cab\n  rides-on upper\nwarm-air main of reader\n  tee cab, 45°\n\
        warm-air side\n  from main.cab\nwarm-air third\n  from reader.main.cab\ncable supply of reader\n\
        concession isolator-in-feed\n  on cable supply of reader\n";

    fn job(text: &str) -> Job {
        Job::resolve(FileId(0), Arc::new(Reading::new(Arc::from(text))), &NoFiles)
    }

    fn means(text: &str) -> Vec<(String, Option<String>)> {
        let job = job(text);
        let said = |place: Place| format!("{}@{}", job.text(place), place.span.start);
        occurrences(&job)
            .into_iter()
            .map(|it| (said(it.place), it.meaning.and_then(Meaning::place).map(said)))
            .collect()
    }

    #[test]
    fn each_part_of_a_full_name_has_its_own_meaning() {
        let all = means(JOB);
        let at = |needle: &str, within: &str| {
            let line = JOB.find(within).unwrap();
            let start = line + JOB[line..].find(needle).unwrap();
            format!("{needle}@{start}")
        };
        let meant = |name: String| all.iter().find(|(it, _)| *it == name).and_then(|(_, meaning)| meaning.clone());
        let (tee, run) = (at("cab", "tee cab"), at("main", "warm-air main"));
        let heater = at("reader", "heater reader");
        assert_eq!(meant(at("cab", "main.cab")).as_ref(), Some(&tee));
        assert_eq!(meant(at("main", "from main.cab")).as_ref(), Some(&run));
        assert_eq!(meant(at("reader", "reader.main.cab")).as_ref(), Some(&heater));
        assert_eq!(meant(at("upper", "rides-on")), Some(at("upper", "second-body")));
        assert_eq!(meant(at("walls", "ribs")), Some(at("walls", "surface")));
        assert_eq!(meant(at("supply", "on cable")), Some(at("supply", "cable supply")));
        assert_eq!(meant(at("cab", "in cab")), Some(at("cab", "space cab")));
    }

    #[test]
    fn a_name_is_one_word_of_no_other_meaning() {
        for good in ["main", "air-2", "Ä", "supply", "cab_2"] {
            assert_eq!(refused_name(good), None, "{good}");
        }
        for bad in ["", " ", "a b", "of", "heater", "up", "a.b", "4", "a,b", "?", "a\nb", "x", "\"a\"", "a#b c", "a "] {
            assert!(refused_name(bad).is_some(), "{bad:?}");
        }
    }

    proptest! {
        /// Renaming anything to a fresh name changes the meaning of no name, whatever the job.
        #[test]
        fn a_fresh_name_changes_no_meaning(at in any::<prop::sample::Index>()) {
            let before = job(JOB);
            let all: Vec<Occurrence> =
                occurrences(&before).into_iter().filter(|it| it.meaning.and_then(Meaning::place).is_some()).collect();
            let meaning = at.get(&all).meaning.unwrap();
            let edits: Vec<Edit> = renamed(&before, meaning, "fresh-one").into_iter().map(|(_, edit)| edit).collect();
            let text = crate::text::apply(JOB, &edits).unwrap();
            prop_assert!(same_meanings(&before, &job(&text)), "{}", text);
            // And back again is the text it was.
            let after = job(&text);
            let back = occurrences(&after).into_iter().find(|it| after.text(it.place) == "fresh-one").unwrap();
            let old = before.text(meaning.place().unwrap()).to_string();
            let edits: Vec<Edit> =
                renamed(&after, back.meaning.unwrap(), &old).into_iter().map(|(_, edit)| edit).collect();
            prop_assert_eq!(crate::text::apply(&text, &edits).unwrap(), JOB);
        }
    }

    #[test]
    fn a_name_that_another_has_changes_meanings() {
        let before = job("trialfit 1\nspace a\nspace b\nheater h\n  in a\n");
        let after = job("trialfit 1\nspace b\nspace b\nheater h\n  in b\n");
        assert!(!same_meanings(&before, &after));
        assert_eq!(who_has(&before, "b").as_deref(), Some("space"));
    }
}

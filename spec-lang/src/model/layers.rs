//! The order of layers: which file lies over which, what is usual for a kind, and what layers disagree about.

use super::kits::Kit;
use crate::reading::{Reading, Statement};
use crate::source::{FileId, Place};
use crate::units::{Dimension, Quantity};
use crate::vocabulary::{Kind, KindSet, says_a_place};
use std::sync::Arc;

use super::kits::Asked;

/// Which file follows which.
#[derive(Clone, Debug, Default)]
pub(super) struct Order {
    edges: Vec<(FileId, FileId)>,
}

impl Order {
    pub(super) fn follows(&mut self, from: FileId, to: FileId) {
        if !self.edges.contains(&(from, to)) {
            self.edges.push((from, to));
        }
    }

    /// Whether a file follows another, directly or through others: then it lies over it.
    pub(super) fn over(&self, upper: FileId, lower: FileId) -> bool {
        let mut reached = vec![upper];
        let mut at = 0;
        while let Some(here) = reached.get(at).copied() {
            at += 1;
            for (from, to) in &self.edges {
                if *from == here && !reached.contains(to) {
                    reached.push(*to);
                }
            }
        }
        upper != lower && reached.contains(&lower)
    }

    /// Sorts files so that each stands before those that it follows; otherwise their order is kept.
    pub(super) fn sort(&self, readings: &mut [(FileId, Arc<Reading>)]) {
        // As long as each file is followed once, the order of discovery is right already.
        if self.edges.len() < readings.len() {
            return;
        }
        let files: Vec<FileId> = readings.iter().map(|(file, _)| *file).collect();
        let depth = |file: FileId| files.iter().filter(|other| self.over(**other, file)).count();
        let mut keyed: Vec<(usize, FileId)> = files.iter().map(|file| (depth(*file), *file)).collect();
        keyed.sort_by_key(|(depth, _)| *depth);
        let rank = |file: FileId| keyed.iter().position(|(_, known)| *known == file).unwrap_or(usize::MAX);
        readings.sort_by_key(|(file, _)| rank(*file));
    }
}

/// A line that is usual for a kind.
#[derive(Clone, Copy)]
pub(super) struct UsualLine<'a> {
    pub kind: Kind,
    pub word: &'static str,
    pub file: FileId,
    pub reading: &'a Arc<Reading>,
    pub line: &'a Statement,
}

impl UsualLine<'_> {
    pub(super) fn place(&self) -> Place {
        Place { file: self.file, span: self.line.span }
    }

    fn text(&self) -> String {
        spaced(self.reading.slice(self.line.span))
    }
}

/// The words with single spaces between them.
pub(super) fn spaced(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What is usual, of the highest layer that says it; with each word what it lies over, and what disagrees with it.
pub(super) struct Usual<'a> {
    all: Vec<UsualLine<'a>>,
}

impl<'a> Usual<'a> {
    pub(super) fn of(readings: &'a [(FileId, Arc<Reading>)]) -> Usual<'a> {
        let mut all = Vec::new();
        for (file, reading) in readings.iter().filter(|(_, reading)| reading.layered) {
            for block in reading.blocks.iter().filter(|block| block.kind == Some(Kind::Usual)) {
                let Some((kind, _)) = block.about else { continue };
                for line in reading.statements(block).iter().filter(|line| line.whole) {
                    let Some(word) = line.word.map(|word| word.word) else { continue };
                    if !says_a_place(kind, word) && word != "note" {
                        all.push(UsualLine { kind, word, file: *file, reading, line });
                    }
                }
            }
        }
        Usual { all }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// The lines of a kind that count: each word as the highest layer says it, with those below it.
    pub(super) fn of_kind(&self, kind: Kind) -> Vec<(Vec<UsualLine<'a>>, Vec<UsualLine<'a>>)> {
        let mut words: Vec<&'static str> = Vec::new();
        for line in self.all.iter().filter(|line| line.kind == kind) {
            if !words.contains(&line.word) {
                words.push(line.word);
            }
        }
        let by_word = words.into_iter().filter_map(|word| {
            let mut said = self.all.iter().copied().filter(|line| line.kind == kind && line.word == word).peekable();
            let upper = said.peek()?.file;
            Some(said.partition(|line| line.file == upper))
        });
        by_word.collect()
    }

    /// Words about which two followed files disagree that do not lie over each other.
    pub(super) fn disagreements(&self, order: &Order, own: FileId) -> Vec<LayerFault> {
        let mut faults = Vec::new();
        let kinds = self.all.iter().fold(KindSet::NONE, |set, line| set.and(KindSet::of(&[line.kind])));
        for kind in kinds.iter() {
            for (standing, below) in self.of_kind(kind) {
                let Some(first) = standing.first().filter(|first| first.file != own) else { continue };
                let other = below.iter().find(|other| {
                    !order.over(first.file, other.file) && !standing.iter().any(|line| line.text() == other.text())
                });
                if let Some(other) = other {
                    faults.push(LayerFault {
                        kind: LayerFaultKind::Disagree {
                            what: format!("what is usual for {}", crate::vocabulary::words_of(kind).reads()),
                            first: first.text(),
                            second: other.text(),
                        },
                        place: other.place(),
                        related: vec![(first.place(), "this stands".to_string())],
                    });
                }
            }
        }
        faults
    }
}

/// Something wrong between layers, or in how a kit is made or fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct LayerFault {
    /// What.
    pub kind: LayerFaultKind,
    /// Where; a place of a file, never of the composed job.
    pub place: Place,
    /// Other places that take part, with what is there.
    pub related: Vec<(Place, String)>,
}

/// The kinds of fault.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)] // fields are named for what they hold
pub enum LayerFaultKind {
    /// The kit asks, nothing answers, and nothing is usual.
    NotAnswered { asked: Asked, kit: String },
    /// An answer that lies outside the bounds.
    OutOfBounds { asked: Asked, kit: String, value: Quantity },
    /// An answer that is not of the sort asked for.
    OtherSort { asked: Asked, kit: String },
    /// An answer to what the kit does not ask.
    NotAsked { kit: String, nearest: Option<String> },
    /// `the NAME`, where no kit asks for that name.
    AskedUnknown { name: String, in_kit: bool, nearest: Option<String> },
    /// `the NAME`, where a value of another dimension is wanted.
    AskedOtherDimension { asked: Asked, wanted: Dimension },
    /// Asked for and never used.
    AskedUnused { asked: Asked },
    /// A change to what the kit does not leave open.
    NotOpen { kit: String, what: String },
    /// A change to a block that no fitted kit has.
    ChangeOfNothing { what: String },
    /// `without` a word that the block does not say.
    WithoutNothing { word: String },
    /// A change to what lies at a point of the walk, where the kit's walk has no such point.
    NoPlace { word: String },
    /// A kit that has not exactly one heater.
    HeaterCount { kit: String, count: usize },
    /// A kit, or a change to one, within a kit.
    KitInKit,
    /// A name that two fits give.
    FitTwice { name: String },
    /// Two followed files say different things, and neither follows the other.
    Disagree { what: String, first: String, second: String },
    /// A usual line that says a place.
    UsualPlace { word: String, kind: Kind },
}

/// What is wrong in the kits of a file by themselves, wherever they are fitted.
pub(super) fn faults_of_kits(kits: &[Kit<'_>]) -> Vec<LayerFault> {
    let mut faults = Vec::new();
    for kit in kits {
        let mut add = |kind, place, related| faults.push(LayerFault { kind, place, related });
        let asks = kit.asks();
        let header = kit.at(kit.header.header);
        let heaters = kit.heaters();
        if heaters.len() != 1 && !kit.reading.held.has(Kind::Heater) {
            let others = heaters.iter().map(|block| (kit.at(block.header), "a heater of the kit".to_string()));
            add(
                LayerFaultKind::HeaterCount { kit: kit.name().to_string(), count: heaters.len() },
                header,
                others.collect(),
            );
        }
        for block in kit.blocks.iter().filter(|block| matches!(block.kind, Some(Kind::Fit | Kind::Change))) {
            add(
                LayerFaultKind::KitInKit,
                kit.at(block.header),
                vec![(header, "the kit that it stands in".to_string())],
            );
        }
        for (name, span, wanted) in kit.uses() {
            match asks.iter().find(|asked| asked.name == name) {
                None => {
                    let nearest = crate::vocabulary::nearest(name, asks.iter().map(|asked| asked.name.as_str()));
                    let kind = LayerFaultKind::AskedUnknown {
                        name: name.to_string(),
                        in_kit: true,
                        nearest: nearest.map(str::to_string),
                    };
                    add(kind, kit.at(span), vec![(header, "the kit".to_string())]);
                }
                Some(asked) if !of_dimension(asked, wanted) => {
                    let related = vec![(asked.place, "asked for here".to_string())];
                    add(LayerFaultKind::AskedOtherDimension { asked: asked.clone(), wanted }, kit.at(span), related);
                }
                Some(_) => {}
            }
        }
        for asked in asks {
            if !is_used(kit, &asked) {
                let place = asked.name_place;
                add(LayerFaultKind::AskedUnused { asked }, place, Vec::new());
            }
        }
    }
    faults
}

fn of_dimension(asked: &Asked, wanted: Dimension) -> bool {
    match asked.sort {
        super::kits::Sort::Quantity { dimension, .. } => wanted.takes(dimension),
        super::kits::Sort::Thing(_) => false,
    }
}

fn is_used(kit: &Kit<'_>, asked: &Asked) -> bool {
    match asked.sort {
        super::kits::Sort::Quantity { .. } => kit.uses().any(|(name, ..)| name == asked.name),
        super::kits::Sort::Thing(kind) => kit.blocks.iter().flat_map(|block| kit.lines(block)).any(|line| {
            kit.reading.args(line).iter().any(|arg| {
                arg.value == crate::reading::Value::Name
                    && kit.reading.slice(arg.span) == asked.name
                    && super::kits::kinds_of(kit.reading, line, arg).has(kind)
            })
        }),
    }
}

/// What is wrong in a file's own lines, apart from its kits: `the NAME` outside any kit, a place that is called usual.
pub(super) fn faults_of_file(file: FileId, reading: &Reading) -> Vec<LayerFault> {
    let mut faults = Vec::new();
    for block in reading.blocks.iter().filter(|block| !block.in_kit && block.kind != Some(Kind::Kit)) {
        for line in reading.statements(block) {
            for (name, span, _) in super::kits::asked_in(reading, line) {
                let kind = LayerFaultKind::AskedUnknown { name: name.to_string(), in_kit: false, nearest: None };
                faults.push(LayerFault { kind, place: Place { file, span }, related: Vec::new() });
            }
            let usual = block.about.filter(|_| block.kind == Some(Kind::Usual));
            let word = line.word.map_or("", |word| word.word);
            if let Some((kind, _)) = usual.filter(|(kind, _)| says_a_place(*kind, word)) {
                let place = Place { file, span: line.span };
                let fault = LayerFaultKind::UsualPlace { word: word.to_string(), kind };
                faults.push(LayerFault { kind: fault, place, related: Vec::new() });
            }
        }
    }
    faults
}

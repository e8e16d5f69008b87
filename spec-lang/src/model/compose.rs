//! Composes a job of its layers: kits fitted, changes made, what is usual put in where a block does not say it itself.
//!
//! The composed job is a text in the language, read like any other, so that all that comes after sees plain blocks. It
//! is nobody's file: each of its lines knows the line that it was taken from, each replaced word the word that took its
//! place, and no place in it leaves this crate. Nothing is judged here beyond how the layers fit together.

use super::kits::{Asked, Kit, Opened, Sort, asked_name, is, kinds_of, kits_in};
use super::layers::{LayerFault, LayerFaultKind, Order, Usual, UsualLine, spaced};
use crate::reading::{Arg, Block, LABELLED, Reading, Statement, Value};
use crate::source::{FileId, Place};
use crate::text::{Edit, Span};
use crate::units::Quantity;
use crate::vocabulary::{EDITION, Kind, KindSet, Naming, Role, is_way, nearest, says_a_place, words_of};
use std::sync::Arc;

/// The number under which the composed text goes within this crate.
pub(super) const COMPOSED: FileId = FileId(u32::MAX);

/// Words of which a block that says one needs none of the others.
const GROUPS: &[&[&str]] = &[&["pipe", "hose", "duct", "line"], &["lagged", "bare"]];

/// Where a line of the composed job was taken from.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Lender {
    /// The job's own file.
    Own,
    /// What is usual for a kind; used at the header of this block of the job, or of the fit.
    Usual(Kind, Place),
    /// A kit, by name; used at the header of the fit.
    Kit(String, Place),
}

/// A piece of a line that has a place of its own.
#[derive(Clone, Debug)]
struct Part {
    span: Span,
    real: Place,
    /// Whether it is copied letter by letter.
    verbatim: bool,
    /// Whether it stands in the job: an answer, or the name that a fit gives.
    answers: bool,
}

/// A line of the composed job.
#[derive(Clone, Debug)]
struct Written {
    span: Span,
    real: Place,
    from: Lender,
    parts: Vec<Part>,
    /// What it stands in place of, the nearest layer first.
    over: Vec<(Place, String)>,
}

/// The composed job.
#[derive(Debug)]
pub(super) struct Composed {
    pub reading: Arc<Reading>,
    lines: Vec<Written>,
}

/// A layer that a value comes from, or that it stands in place of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Link {
    /// The line.
    pub place: Place,
    /// Which layer that is, in words: `usual for a cable`, `kit bunk-24`.
    pub layer: String,
}

/// A kit as a job fits it.
#[derive(Clone, Debug)]
pub struct Fitted {
    /// The kit's name.
    pub kit: String,
    /// The kit's header.
    pub kit_header: Place,
    /// The name that its heater takes.
    pub name: String,
    /// Where that name stands.
    pub name_place: Place,
    /// The header of the fit.
    pub header: Place,
    /// What it asks for, each with its answer.
    pub answers: Vec<Answered>,
}

/// What a kit asks for, and the answer.
#[derive(Clone, Debug)]
pub struct Answered {
    /// What it asks for.
    pub asked: Asked,
    /// Where the answer stands: its word and its value. What is usual counts where there is none.
    pub answer: Option<(Place, Place)>,
}

/// A change that a job makes to a block of a kit.
#[derive(Clone, Debug)]
pub struct Changed {
    /// The header of the change.
    pub header: Place,
    /// The name of the kit's block, where the change says one.
    pub name: Option<Place>,
    /// The header of the kit's block, and its name there.
    pub of: (Place, Option<Place>),
}

/// At which values a kit is looked at alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum At {
    /// Everything anywhere between its bounds.
    Bounds,
    /// Everything as usual, or in the middle between its bounds.
    Usual,
    /// One at its lowest, by its number among what is asked for, the others as usual.
    Lowest(usize),
    /// One at its highest.
    Highest(usize),
}

/// What is to be composed.
#[derive(Clone, Copy)]
pub(super) enum What {
    /// The job of the file.
    Job,
    /// The kit of that number in the file, alone.
    Kit(usize, At),
}

/// What came of it.
pub(super) struct Composition {
    pub composed: Composed,
    pub fits: Vec<Fitted>,
    pub changes: Vec<Changed>,
    pub faults: Vec<LayerFault>,
    /// Kinds of which something is left to whoever answers.
    pub holes: KindSet,
}

/// A line to be written: what it says, and what it stands in place of.
#[derive(Clone)]
struct Draft<'a> {
    file: FileId,
    reading: &'a Reading,
    line: &'a Statement,
    from: Lender,
    over: Vec<(Place, String)>,
}

/// What takes the place of a piece of a line or header.
struct Swap {
    span: Span,
    text: String,
    real: Place,
    answers: bool,
}

impl Composed {
    fn line(&self, offset: u32) -> Option<&Written> {
        let after = self.lines.partition_point(|line| line.span.start <= offset);
        after.checked_sub(1).and_then(|at| self.lines.get(at))
    }

    /// Where it is written; with it whether the place stands in the job by itself.
    fn written(&self, span: Span) -> (Place, bool) {
        let Some(line) = self.line(span.start) else {
            return (Place { file: self.first(), span: Span::default() }, true);
        };
        let own = line.from == Lender::Own;
        let within = |part: &&Part| part.span.start <= span.start && span.end <= part.span.end;
        // A point between two pieces belongs to the one that it ends.
        match line.parts.iter().find(within) {
            Some(part) if part.verbatim => {
                let start = part.real.span.start + (span.start - part.span.start);
                let real = Span { start, end: start + (span.end - span.start) };
                (Place { file: part.real.file, span: real }, own)
            }
            Some(part) => (part.real, own || part.answers),
            None => (line.real, own),
        }
    }

    fn first(&self) -> FileId {
        self.lines.first().map_or(COMPOSED, |line| line.real.file)
    }

    /// The place of a file that a place of the composed job was taken from.
    pub(super) fn real(&self, span: Span) -> Place {
        self.written(span).0
    }

    /// Where it is used in the job: the answer, else the header of the fit or of the block.
    pub(super) fn used(&self, span: Span) -> Place {
        match (self.written(span), self.line(span.start).map(|line| &line.from)) {
            ((_, false), Some(Lender::Usual(_, used) | Lender::Kit(_, used))) => *used,
            ((place, _), _) => place,
        }
    }

    /// The line of another layer that it was taken from, and what to say of it.
    pub(super) fn lent(&self, span: Span) -> Option<Link> {
        let line = self.line(span.start)?;
        let layer = line.from.reads()?;
        let place = match self.written(span) {
            (_, true) => line.real,
            (place, false) => place,
        };
        Some(Link { place, layer })
    }

    /// The line that was taken whole from a place of the job's own file.
    pub(super) fn built(&self, real: Place) -> Option<Place> {
        let line = self.lines.iter().find(|line| line.from == Lender::Own && line.real == real)?;
        Some(Place { file: COMPOSED, span: line.span })
    }

    /// The edit as one of a file of the job: of its own bytes alone, or of the whole of an answer.
    pub(super) fn edit(&self, edit: &Edit) -> Option<(FileId, Edit)> {
        let line = self.line(edit.span.start)?;
        let part =
            line.parts.iter().find(|part| part.span.start <= edit.span.start && edit.span.end <= part.span.end)?;
        let own = part.verbatim && line.from == Lender::Own;
        let answer = part.answers && part.span == edit.span && !edit.insert.contains('\n');
        (own || answer).then(|| {
            let place = self.real(edit.span);
            (place.file, Edit { span: place.span, insert: edit.insert.clone() })
        })
    }

    /// For each line of the composed job that was taken from a place, or stands in place of something: itself, and what
    /// lies below it.
    pub(super) fn chain(&self, place: Place) -> Vec<Link> {
        let touches = |other: Place| {
            other.file == place.file
                && other.span.start < place.span.end.max(place.span.start + 1)
                && place.span.start < other.span.end
        };
        let mut out: Vec<Link> = Vec::new();
        let mut add = |link: Link| {
            if !out.contains(&link) {
                out.push(link);
            }
        };
        for line in &self.lines {
            let part = line.parts.iter().find(|part| part.answers && touches(part.real));
            let own = line.from == Lender::Own && touches(line.real) && !line.over.is_empty();
            if part.is_some() {
                line.from.reads().into_iter().for_each(|layer| add(Link { place: line.real, layer }));
            }
            if own {
                add(Link { place: line.real, layer: "this job".to_string() });
            }
            if own || part.is_some() {
                line.over.iter().for_each(|(place, layer)| add(Link { place: *place, layer: layer.clone() }));
            }
        }
        out
    }

    /// The lines that a block of the job has from what is usual: the line, its layer, what it stands in place of.
    pub(super) fn usual_at(&self, header: Place) -> Vec<Link> {
        let at = |line: &&Written| matches!(&line.from, Lender::Usual(_, used) if *used == header);
        let lines = self.lines.iter().filter(at);
        lines.filter_map(|line| Some(Link { place: line.real, layer: line.from.reads()? })).collect()
    }

    /// The layer that lends a line to the job, by where the line is written.
    pub(super) fn lender(&self, written: Place) -> Option<Link> {
        let holds = |place: Place| {
            place.file == written.file && place.span.start <= written.span.start && written.span.end <= place.span.end
        };
        let line = self.lines.iter().find(|line| line.from != Lender::Own && holds(line.real))?;
        Some(Link { place: line.real, layer: line.from.reads()? })
    }

    /// Every line of another file that the job has, with where it is used.
    pub(super) fn taken(&self) -> impl Iterator<Item = (&Lender, Place, Place)> {
        self.lines.iter().filter_map(|line| match &line.from {
            Lender::Usual(_, used) | Lender::Kit(_, used) => Some((&line.from, line.real, *used)),
            Lender::Own => None,
        })
    }
}

impl Lender {
    /// The layer in words; nothing for the job itself.
    fn reads(&self) -> Option<String> {
        match self {
            Lender::Own => None,
            Lender::Usual(kind, _) => Some(format!("usual for {}", words_of(*kind).reads())),
            Lender::Kit(kit, _) => Some(format!("kit {kit}")),
        }
    }
}

pub(super) fn compose(
    file: FileId,
    readings: &[(FileId, Arc<Reading>)],
    order: &Order,
    what: What,
) -> Option<Composition> {
    let (_, own) = readings.first()?;
    let usual = Usual::of(readings);
    let composes = |block: &Block| !block.in_kit && matches!(block.kind, Some(Kind::Fit | Kind::Change));
    let layered = own.layered && own.blocks.iter().any(composes);
    if matches!(what, What::Job) && usual.is_empty() && !layered {
        return None;
    }
    let mut composer = Composer {
        file,
        usual,
        kits: readings.iter().flat_map(|(file, reading)| kits_in(*file, reading)).collect(),
        text: format!("trialfit {EDITION}\n"),
        lines: Vec::new(),
        out: Composition {
            composed: Composed { reading: Arc::clone(own), lines: Vec::new() },
            fits: Vec::new(),
            changes: Vec::new(),
            faults: Vec::new(),
            holes: KindSet::NONE,
        },
    };
    composer.out.faults.extend(composer.usual.disagreements(order, file));
    match what {
        What::Job => composer.job(own),
        What::Kit(number, at) => composer.kit_alone(own, number, at)?,
    }
    let Composer { text, lines, mut out, .. } = composer;
    out.composed = Composed { reading: Arc::new(Reading::new(Arc::from(text))), lines };
    Some(out)
}

struct Composer<'a> {
    file: FileId,
    usual: Usual<'a>,
    kits: Vec<Kit<'a>>,
    text: String,
    lines: Vec<Written>,
    out: Composition,
}

/// Names of a kit's blocks as the job knows them.
struct Names<'a> {
    known: Vec<Known<'a>>,
}

/// A name of a kit.
struct Known<'a> {
    kind: Kind,
    /// In the kit,
    old: &'a str,
    /// and in the job.
    new: String,
    /// Where the new name comes from.
    place: Place,
    sort: KnownAs,
}

#[derive(Clone, Copy, PartialEq)]
enum KnownAs {
    Heater,
    Other,
    Asked,
}

impl Names<'_> {
    fn of(&self, kinds: KindSet, name: &str) -> Option<&Known<'_>> {
        self.known.iter().filter(|known| kinds.has(known.kind) && known.old == name).min_by_key(|known| known.kind)
    }

    /// What a name of the kit is called in the job: `main.cab` is tee `cab` of run `main`, `reader.main.cab` in full.
    /// With it the place of the answer, where it answers what the kit asked for.
    fn renamed(&self, kinds: KindSet, name: &str) -> Option<(String, Option<Place>)> {
        if let Some(known) = self.of(kinds, name) {
            return Some((known.new.clone(), (known.sort == KnownAs::Asked).then_some(known.place)));
        }
        let new = |kinds: KindSet, old: &str| self.of(kinds, old).map_or(old.to_string(), |known| known.new.clone());
        let (first, rest) = name.split_once('.')?;
        let heater = self.of(KindSet::of(&[Kind::Heater]), first).map(|known| known.new.as_str());
        let renamed = match (heater, rest.split_once('.')) {
            (Some(heater), Some((run, tee))) => format!("{heater}.{}.{tee}", new(kinds, run)),
            _ if self.of(kinds, first).is_some() => format!("{}.{rest}", new(kinds, first)),
            (Some(heater), None) => format!("{heater}.{}", new(kinds, rest)),
            (None, _) => return None,
        };
        Some((renamed, None))
    }
}

impl<'a> Composer<'a> {
    fn fault(&mut self, kind: LayerFaultKind, place: Place, related: Vec<(Place, String)>) {
        self.out.faults.push(LayerFault { kind, place, related });
    }

    fn job(&mut self, own: &'a Reading) {
        let mut fitted: Vec<(&'a Block, Kit<'a>)> = Vec::new();
        for block in own.blocks.iter().filter(|block| !block.in_kit) {
            let Some(kind) = block.kind else { continue };
            match kind {
                Kind::Fit => {
                    if let Some(kit) = self.fit(own, block, &fitted) {
                        fitted.push((block, kit));
                    }
                }
                Kind::Change if !self.changes_a_fit(own, block) => {
                    let what = spaced(own.slice(block.header)).trim_start_matches("change ").to_string();
                    let hidden = own.held.has(Kind::Fit) || own.held.has(kind);
                    if !hidden {
                        self.fault(LayerFaultKind::ChangeOfNothing { what }, self.own(block.header), Vec::new());
                    }
                }
                kind if kind.is_layering() => {}
                kind => {
                    let lines: Vec<Draft<'a>> = own
                        .statements(block)
                        .iter()
                        .map(|line| self.draft(self.file, own, line, Lender::Own))
                        .collect();
                    self.block(self.file, own, block, kind, Lender::Own, lines, &mut |_, _| Vec::new(), &[]);
                }
            }
        }
    }

    fn own(&self, span: Span) -> Place {
        Place { file: self.file, span }
    }

    fn draft(&self, file: FileId, reading: &'a Reading, line: &'a Statement, from: Lender) -> Draft<'a> {
        Draft { file, reading, line, from, over: Vec::new() }
    }

    /// The kit that a fit names, of the highest layer that has it.
    fn kit_of(&self, own: &Reading, fit: &Block) -> Option<Kit<'a>> {
        let wanted = own.slice(fit.of?);
        self.kits.iter().find(|kit| kit.header.name.is_some() && kit.name() == wanted).cloned()
    }

    fn fit(&mut self, own: &'a Reading, fit: &'a Block, before: &[(&'a Block, Kit<'a>)]) -> Option<Kit<'a>> {
        let name_span = fit.name?;
        let name = own.slice(name_span);
        let header = self.own(fit.header);
        let first = before.iter().find(|(block, _)| block.name.is_some_and(|span| own.slice(span) == name));
        if let Some((first, _)) = first {
            let related = vec![(self.own(first.header), "this one counts".to_string())];
            self.fault(LayerFaultKind::FitTwice { name: name.to_string() }, self.own(name_span), related);
            return None;
        }
        let kit = self.kit_of(own, fit)?;
        let asks = kit.asks();
        let answers = self.answers(own, fit, &kit, &asks);
        let names = self.names(own, &kit, &asks, &answers, name, self.own(name_span));
        self.out.fits.push(Fitted {
            kit: kit.name().to_string(),
            kit_header: kit.at(kit.header.header),
            name: name.to_string(),
            name_place: self.own(name_span),
            header,
            answers: answers.clone(),
        });
        let from = Lender::Kit(kit.name().to_string(), header);
        for block in &kit.blocks {
            let Some(kind) = block.kind.filter(|kind| !kind.is_layering()) else { continue };
            if kit.stands_in(block, &asks) {
                continue;
            }
            let lines = kit.lines(block).iter();
            let mut lines: Vec<Draft<'a>> =
                lines.map(|line| self.draft(kit.file, kit.reading, line, from.clone())).collect();
            self.change(own, name, &kit, block, kind, &names, &mut lines);
            let swaps = &mut |line: &Draft<'a>, arg: &Arg| {
                if line.file != kit.file || line.from != from {
                    return Vec::new();
                }
                self_swap(own, &kit, line.line, arg, &answers, &names)
            };
            let header = header_swaps(&kit, block, kind, &names);
            self.block(kit.file, kit.reading, block, kind, from.clone(), lines, swaps, &header);
        }
        Some(kit)
    }

    /// Pairs what is asked with what is answered, and says what does not go together.
    fn answers(&mut self, own: &'a Reading, fit: &Block, kit: &Kit<'a>, asks: &[Asked]) -> Vec<Answered> {
        let header = self.own(fit.header);
        let name = kit.name().to_string();
        let mut answers: Vec<Answered> =
            asks.iter().map(|asked| Answered { asked: asked.clone(), answer: None }).collect();
        let mut broken = false;
        for line in own.statements(fit).iter().filter(|line| !is(line, "note")) {
            let head = own.slice(line.head);
            let Some(answered) = answers.iter_mut().find(|answered| answered.asked.name == head) else {
                let near = nearest(head, asks.iter().map(|asked| asked.name.as_str())).map(str::to_string);
                broken |= near.is_some();
                let kind = LayerFaultKind::NotAsked { kit: name.clone(), nearest: near };
                let related = vec![(kit.at(kit.header.header), "the kit".to_string())];
                self.out.faults.push(LayerFault { kind, place: Place { file: self.file, span: line.head }, related });
                continue;
            };
            let arg = own.args(line).first();
            let value = Place { file: self.file, span: arg.map_or(line.head, |arg| arg.span) };
            answered.answer = Some((Place { file: self.file, span: line.head }, value));
            let Some(arg) = arg.filter(|_| line.whole) else { continue };
            let asked = answered.asked.clone();
            let related = vec![(asked.place, "asked for here".to_string())];
            let fits = match (asked.sort, arg.value) {
                (_, Value::Blank | Value::Unknown) => true,
                (Sort::Quantity { dimension, .. }, Value::Quantity(value)) => dimension.takes(value.dimension()),
                (Sort::Thing(_), Value::Name) => true,
                _ => false,
            };
            let kind = match arg.value {
                _ if !fits => LayerFaultKind::OtherSort { asked, kit: name.clone() },
                Value::Quantity(quantity) if !asked.takes(quantity) => {
                    LayerFaultKind::OutOfBounds { asked, kit: name.clone(), value: quantity }
                }
                _ => continue,
            };
            self.fault(kind, value, related);
        }
        for Answered { asked, answer } in &answers {
            let usual = matches!(asked.sort, Sort::Quantity { usually: Some(_), .. });
            if answer.is_some() || usual {
                continue;
            }
            if let Sort::Thing(kind) = asked.sort {
                self.out.holes = self.out.holes.and(KindSet::of(&[kind]));
            }
            // An answer whose word is misspelt is one finding, not two.
            if !broken {
                let related = vec![(asked.place, "asked for here".to_string())];
                self.fault(LayerFaultKind::NotAnswered { asked: asked.clone(), kit: name.clone() }, header, related);
            }
        }
        answers
    }

    fn names(
        &self,
        own: &Reading,
        kit: &Kit<'a>,
        asks: &[Asked],
        answers: &[Answered],
        fit: &str,
        fit_place: Place,
    ) -> Names<'a> {
        let mut known = Vec::new();
        let heater = kit.heaters().first().and_then(|block| block.name);
        for block in kit.blocks.iter().filter(|block| !kit.stands_in(block, asks)) {
            let (Some(kind), Some(span)) = (block.kind, block.name) else { continue };
            if !names_a_block(kind) {
                continue;
            }
            let name = kit.reading.slice(span);
            known.push(if kind == Kind::Heater && Some(span) == heater {
                Known { kind, old: name, new: fit.to_string(), place: fit_place, sort: KnownAs::Heater }
            } else {
                let new = format!("{fit}-{name}");
                Known { kind, old: name, new, place: kit.at(span), sort: KnownAs::Other }
            });
        }
        for answered in answers {
            let (Sort::Thing(kind), Some((_, value))) = (answered.asked.sort, answered.answer) else { continue };
            let old = kit.reading.slice(answered.asked.name_place.span);
            let new = own.slice(value.span).to_string();
            known.push(Known { kind, old, new, place: value, sort: KnownAs::Asked });
        }
        Names { known }
    }

    /// Whether a change speaks of a block that a kit of this job has; done here so that one of nothing is told.
    fn changes_a_fit(&self, own: &'a Reading, change: &Block) -> bool {
        let fits = own.blocks.iter().filter(|block| block.kind == Some(Kind::Fit) && !block.in_kit);
        fits.filter_map(|fit| Some((fit, self.kit_of(own, fit)?))).any(|(fit, kit)| {
            let name = fit.name.map_or("", |span| own.slice(span));
            let asks = kit.asks();
            let mut blocks = kit.blocks.iter().filter(|block| !kit.stands_in(block, &asks));
            blocks.any(|block| meant(own, change, &kit, block, name))
        }) || own.blocks.iter().any(|block| {
            // Nothing is known of a kit that is not found: that is told at the fit.
            block.kind == Some(Kind::Fit) && self.kit_of(own, block).is_none()
        })
    }

    /// Makes the changes of the job to a block of a fitted kit.
    #[allow(clippy::too_many_arguments)] // a block, whose it is, and what is done to it
    fn change(
        &mut self,
        own: &'a Reading,
        fit: &str,
        kit: &Kit<'a>,
        block: &'a Block,
        kind: Kind,
        names: &Names<'a>,
        lines: &mut Vec<Draft<'a>>,
    ) {
        let opened = kit.opened();
        let changes = own.blocks.iter().filter(|change| {
            change.kind == Some(Kind::Change) && !change.in_kit && meant(own, change, kit, block, fit)
        });
        let changes: Vec<&'a Block> = changes.collect();
        for change in changes {
            self.out.changes.push(Changed {
                header: self.own(change.header),
                name: change.name.map(|span| self.own(span)),
                of: (kit.at(block.header), block.name.map(|span| kit.at(span))),
            });
            let said: Vec<&'a Statement> = own.statements(change).iter().collect();
            let open = |word: &str| {
                let name = kit.named(block);
                opened.iter().any(|it: &Opened| {
                    it.kind == kind
                        && it.name.as_deref().is_none_or(|opened| opened == name)
                        && (it.words.is_empty() || it.words.iter().any(|open| open == word))
                })
            };
            let mut allowed: Vec<&'a Statement> = Vec::new();
            for line in said {
                let without = is(line, "without");
                let word =
                    if without { label(own, line).unwrap_or("") } else { line.word.map_or("", |word| word.word) };
                if word == "note" || word.is_empty() || open(word) {
                    allowed.push(line);
                    continue;
                }
                let what = match kit.named(block) {
                    "" => format!("{}, {word}", words_of(kind).header),
                    name => format!("{} {name}, {word}", words_of(kind).header),
                };
                let related = vec![(kit.at(kit.header.header), "the kit says what is open".to_string())];
                let kind = LayerFaultKind::NotOpen { kit: kit.name().to_string(), what };
                self.fault(kind, self.own(line.span), related);
            }
            self.changed(own, kit, kind, &allowed, lines, names);
        }
    }

    fn changed(
        &mut self,
        own: &'a Reading,
        kit: &Kit<'a>,
        kind: Kind,
        said: &[&'a Statement],
        lines: &mut Vec<Draft<'a>>,
        names: &Names<'a>,
    ) {
        let word = |line: &Statement| line.word.map_or("", |word| word.word);
        let way = kind.is_run() && said.iter().any(|line| is_way(word(line)));
        let layer = format!("kit {}", kit.name());
        if way {
            // The walk is said anew as a whole: nothing of the old one has a place in it.
            lines.retain(|line| {
                let word = word(line.line);
                let from = word == "from" && !said.iter().any(|line| is(line, "from"));
                from || !word.is_empty()
                    && !says_a_place(kind, word)
                    && !GROUPS.concat().contains(&word)
                    && word != "size"
            });
        }
        let mut replaced: Vec<&str> = Vec::new();
        for line in said {
            let new =
                |over: Vec<(Place, String)>| Draft { file: self.file, reading: own, line, from: Lender::Own, over };
            let word = word(line);
            if is(line, "without") {
                let gone = label(own, line).unwrap_or("");
                let before = lines.len();
                lines.retain(|line| !is(line.line, gone));
                if lines.len() == before {
                    self.fault(
                        LayerFaultKind::WithoutNothing { word: gone.to_string() },
                        self.own(line.span),
                        Vec::new(),
                    );
                }
                continue;
            }
            let labelled = LABELLED.contains(&word);
            let group = GROUPS.iter().find(|group| group.contains(&word));
            let alike = |other: &str| other == word || group.is_some_and(|group| group.contains(&other));
            let same = |draft: &Draft<'a>| {
                draft.line.word.is_some_and(|known| alike(known.word))
                    && matches!(draft.from, Lender::Kit(..))
                    && (!labelled || named_label(draft, names) == label(own, line).map(str::to_string))
            };
            let before: Vec<(Place, String)> = lines
                .iter()
                .filter(|draft| same(draft))
                .map(|draft| (Place { file: draft.file, span: draft.line.span }, layer.clone()))
                .collect();
            let said_before = replaced.contains(&word);
            let last = lines.iter().rposition(|draft| draft.line.word.is_some_and(|known| alike(known.word)));
            // A walk that is said anew keeps the order in which it is said. Else what stands for all of the block behind it
            // comes first, and what lies at a point of the walk where the kit has it.
            let at = match lines.iter().position(same) {
                Some(at) if !way => Some(at),
                _ if way => Some(lines.len()),
                _ if labelled => (!says_a_place(kind, word)).then_some(lines.len()),
                _ if said_before => last.map(|at| at + 1),
                _ if group.is_some() || word == "size" => Some(0),
                // What was taken by tape holds for the walk as it stands, and lies at no point of it.
                _ if word == "measured" => Some(lines.len()),
                _ if says_a_place(kind, word) => None,
                _ => Some(lines.len()),
            };
            match at {
                Some(at) => {
                    lines.retain(|draft| !same(draft));
                    lines.insert(at.min(lines.len()), new(before));
                }
                None => {
                    let fault = LayerFaultKind::NoPlace { word: word.to_string() };
                    self.fault(fault, self.own(line.span), Vec::new());
                }
            }
            replaced.push(word);
        }
    }

    /// Writes a block: its header, what is usual and it does not say itself, and its lines.
    #[allow(clippy::too_many_arguments)] // a block, where it stands, and what becomes of it
    fn block(
        &mut self,
        file: FileId,
        reading: &'a Reading,
        block: &'a Block,
        kind: Kind,
        from: Lender,
        lines: Vec<Draft<'a>>,
        swaps: &mut dyn FnMut(&Draft<'a>, &Arg) -> Vec<Swap>,
        header: &[Swap],
    ) {
        self.header(file, reading, block, kind, from.clone(), header);
        let used = match &from {
            Lender::Own => Place { file, span: block.header },
            Lender::Usual(_, used) | Lender::Kit(_, used) => *used,
        };
        let says = |word: &str| {
            let group = GROUPS.iter().find(|group| group.contains(&word));
            lines.iter().any(|line| {
                is(line.line, word) || group.is_some_and(|group| group.iter().any(|other| is(line.line, other)))
            })
        };
        let mut instead: Vec<(&'static str, Vec<(Place, String)>)> = Vec::new();
        let mut usual: Vec<Draft<'a>> = Vec::new();
        let layer = format!("usual for {}", words_of(kind).reads());
        let places =
            |lines: &[UsualLine<'a>]| lines.iter().map(|line| (line.place(), layer.clone())).collect::<Vec<_>>();
        for (standing, below) in self.usual.of_kind(kind) {
            let Some(word) = standing.first().map(|line| line.word) else { continue };
            if says(word) {
                let mut over = places(&standing);
                over.extend(places(&below));
                instead.push((word, over));
                continue;
            }
            let repeats = standing.iter().all(|line| line.line.word.is_some_and(|word| word.repeats));
            let count = if repeats { standing.len() } else { 1 };
            usual.extend(standing.iter().take(count).map(|line| Draft {
                file: line.file,
                reading: line.reading,
                line: line.line,
                from: Lender::Usual(kind, used),
                over: places(&below),
            }));
        }
        for mut draft in usual.into_iter().chain(lines) {
            let word = draft.line.word.map_or("", |word| word.word);
            if !matches!(draft.from, Lender::Usual(..)) {
                let more = instead.iter().filter(|(known, _)| *known == word).flat_map(|(_, over)| over.clone());
                draft.over.extend(more);
            }
            let mut found: Vec<Swap> = Vec::new();
            for arg in draft.reading.args(draft.line) {
                found.extend(swaps(&draft, arg));
            }
            self.text.push_str("  ");
            let whole = draft.line.span;
            let real = Place { file: draft.file, span: whole };
            let (span, parts) = self.pieces(draft.file, draft.reading, whole, &found);
            self.lines.push(Written { span, real, from: draft.from, parts, over: draft.over });
            self.text.push('\n');
        }
        self.text.push('\n');
    }

    fn header(&mut self, file: FileId, reading: &'a Reading, block: &Block, kind: Kind, from: Lender, swaps: &[Swap]) {
        let start = self.text.len();
        let entry = words_of(kind);
        self.text.push_str(entry.header);
        if !entry.sheet_of.is_empty() {
            self.text.push(' ');
            self.text.push_str(entry.sheet_of);
        }
        let mut parts = Vec::new();
        let names = [block.name, block.of];
        for (number, span) in names.into_iter().enumerate() {
            let Some(span) = span else { continue };
            self.text.push_str(if number == 1 { " of " } else { " " });
            let own: Vec<&Swap> = swaps.iter().filter(|swap| swap.span == span).collect();
            let (_, more) = match own.first() {
                Some(swap) => self.swapped(swap),
                None => self.pieces(file, reading, span, &[]),
            };
            parts.extend(more);
        }
        let span = Span::new(start, self.text.len());
        self.lines.push(Written { span, real: Place { file, span: block.header }, from, parts, over: Vec::new() });
        self.text.push('\n');
    }

    fn swapped(&mut self, swap: &Swap) -> (Span, Vec<Part>) {
        let start = self.text.len();
        self.text.push_str(&swap.text);
        let span = Span::new(start, self.text.len());
        (span, vec![Part { span, real: swap.real, verbatim: false, answers: swap.answers }])
    }

    /// Copies bytes of a file, with some of them replaced.
    fn pieces(&mut self, file: FileId, reading: &Reading, whole: Span, swaps: &[Swap]) -> (Span, Vec<Part>) {
        let start = self.text.len();
        let mut parts = Vec::with_capacity(1 + 2 * swaps.len());
        let mut at = whole.start;
        let copy = |composer: &mut Self, parts: &mut Vec<Part>, from: u32, to: u32| {
            if from < to {
                let real = Span { start: from, end: to };
                let begin = composer.text.len();
                composer.text.push_str(reading.slice(real));
                let span = Span::new(begin, composer.text.len());
                parts.push(Part { span, real: Place { file, span: real }, verbatim: true, answers: false });
            }
        };
        for swap in swaps {
            copy(self, &mut parts, at, swap.span.start);
            parts.extend(self.swapped(swap).1);
            at = swap.span.end;
        }
        copy(self, &mut parts, at, whole.end);
        (Span::new(start, self.text.len()), parts)
    }

    /// A kit by itself: its conditions as those of a job, what it asks for at the values wanted, its stand-ins with it.
    fn kit_alone(&mut self, own: &'a Reading, number: usize, at: At) -> Option<()> {
        let file = self.file;
        let kit = self.kits.iter().filter(|kit| kit.file == file).nth(number).cloned()?;
        let asks = kit.asks();
        let start = self.text.len();
        self.text.push_str("job ");
        let name = kit.header.name;
        let mut parts = Vec::new();
        if let Some(span) = name {
            self.text.push('"');
            parts = self.pieces(file, own, span, &[]).1;
            self.text.push('"');
        } else {
            self.text.push_str("\"kit\"");
        }
        let span = Span::new(start, self.text.len());
        let real = kit.at(kit.header.header);
        self.lines.push(Written { span, real, from: Lender::Own, parts, over: Vec::new() });
        self.text.push('\n');
        let values: Vec<Option<String>> =
            asks.iter().enumerate().map(|(number, asked)| value_at(asked, number, at)).collect();
        let swaps = &mut |line: &Draft<'a>, arg: &Arg| {
            let Value::Asked(_) = arg.value else { return Vec::new() };
            let name = asked_name(line.reading, arg.span);
            let found = asks.iter().position(|asked| asked.name == name).and_then(|at| values.get(at));
            let Some(text) = found.cloned().flatten() else { return Vec::new() };
            let real = Place { file: line.file, span: arg.span };
            vec![Swap { span: arg.span, text, real, answers: false }]
        };
        let conditions = kit.lines(kit.header).iter().filter(|line| !is(line, "asks") && !is(line, "open"));
        let conditions: Vec<&'a Statement> = conditions.collect();
        for line in conditions {
            let draft = self.draft(file, own, line, Lender::Own);
            let found: Vec<Swap> = own.args(line).iter().flat_map(|arg| swaps(&draft, arg)).collect();
            self.text.push_str("  ");
            let (span, parts) = self.pieces(file, own, line.span, &found);
            let real = Place { file, span: line.span };
            self.lines.push(Written { span, real, from: Lender::Own, parts, over: Vec::new() });
            self.text.push('\n');
        }
        self.text.push('\n');
        let shared = own.blocks.iter().filter(|block| !block.in_kit);
        for block in shared.chain(kit.blocks.iter().copied()) {
            let Some(kind) = block.kind.filter(|kind| !kind.is_layering()) else { continue };
            let lines = own.statements(block).iter();
            let lines: Vec<Draft<'a>> = lines.map(|line| self.draft(file, own, line, Lender::Own)).collect();
            self.block(file, own, block, kind, Lender::Own, lines, swaps, &[]);
        }
        // What the vehicle brings and the kit does not stand in for is not missing from the kit.
        for kind in [Kind::Vehicle, Kind::Space, Kind::Battery, Kind::Tank, Kind::Opening, Kind::KeepClear, Kind::Alarm]
        {
            if !kit.blocks.iter().any(|block| block.kind == Some(kind)) {
                self.out.holes = self.out.holes.and(KindSet::of(&[kind]));
            }
        }
        for asked in &asks {
            let Sort::Thing(kind) = asked.sort else { continue };
            let stands = kit.blocks.iter().any(|block| block.kind == Some(kind) && kit.named(block) == asked.name);
            if !stands {
                self.out.holes = self.out.holes.and(KindSet::of(&[kind]));
            }
        }
        Some(())
    }
}

/// The value at which a kit is looked at, as one would write it; nothing for a thing.
fn value_at(asked: &Asked, number: usize, at: At) -> Option<String> {
    let Sort::Quantity { bounds, usually, .. } = asked.sort else { return None };
    let one = |value: f64, like: Quantity| format!("{} {}", like.unit.from_si(value), like.unit.spelling);
    Some(match at {
        At::Bounds => format!("{} .. {}", one(bounds.low, bounds), one(bounds.high, bounds)),
        At::Lowest(wanted) if wanted == number => one(bounds.low, bounds),
        At::Highest(wanted) if wanted == number => one(bounds.high, bounds),
        At::Usual | At::Lowest(_) | At::Highest(_) => match usually {
            Some((usual, _)) => one(usual.nominal, usual),
            None => one(bounds.nominal, bounds),
        },
    })
}

/// Whether blocks of a kind have names that a fit makes its own.
fn names_a_block(kind: Kind) -> bool {
    matches!(words_of(kind).naming, Naming::Name | Naming::NameOfHeater | Naming::OfHeater)
}

fn label<'r>(reading: &'r Reading, line: &Statement) -> Option<&'r str> {
    reading.args(line).iter().find(|arg| arg.role == Role::What).map(|arg| reading.slice(arg.span))
}

/// The label of a kit's line as the job knows it: where it is a name, what the fit makes of that.
fn named_label(draft: &Draft<'_>, names: &Names<'_>) -> Option<String> {
    let arg = draft.reading.args(draft.line).iter().find(|arg| arg.role == Role::What)?;
    let text = draft.reading.slice(arg.span);
    let renamed =
        (arg.value == Value::Name).then(|| names.renamed(kinds_of(draft.reading, draft.line, arg), text)).flatten();
    Some(renamed.map_or(text.to_string(), |(new, _)| new))
}

/// Whether a change speaks of a block of a kit that is fitted under a name.
fn meant(own: &Reading, change: &Block, kit: &Kit<'_>, block: &Block, fit: &str) -> bool {
    let Some((about, _)) = change.about.filter(|(about, _)| Some(*about) == block.kind) else { return false };
    let name = change.name.map(|span| own.slice(span));
    let of = change.of.map(|span| own.slice(span));
    let own_name = kit.named(block);
    let full = if about == Kind::Heater { fit.to_string() } else { format!("{fit}-{own_name}") };
    match (name, of) {
        (Some(name), Some(of)) => of == fit && (name == own_name || name == full),
        (None, Some(of)) => of == fit && own_name.is_empty(),
        (Some(name), None) => name == full && block.name.is_some(),
        (None, None) => false,
    }
}

/// What of a kit's line is said otherwise in the job: what it asked for, and names.
fn self_swap(
    own: &Reading,
    kit: &Kit<'_>,
    line: &Statement,
    arg: &Arg,
    answers: &[Answered],
    names: &Names<'_>,
) -> Vec<Swap> {
    let text = kit.reading.slice(arg.span);
    match arg.value {
        Value::Asked(_) => {
            let name = asked_name(kit.reading, arg.span);
            let Some(answered) = answers.iter().find(|answered| answered.asked.name == name) else { return Vec::new() };
            let (text, real, answers) = match (answered.answer, answered.asked.sort) {
                (Some((_, value)), Sort::Quantity { .. }) => (own.slice(value.span), value, true),
                (None, Sort::Quantity { usually: Some((_, place)), .. }) => {
                    (kit.reading.slice(place.span), place, false)
                }
                _ => return Vec::new(),
            };
            vec![Swap { span: arg.span, text: text.to_string(), real, answers }]
        }
        Value::Name => match names.renamed(kinds_of(kit.reading, line, arg), text) {
            Some((text, answer)) => {
                let real = answer.unwrap_or(kit.at(arg.span));
                vec![Swap { span: arg.span, text, real, answers: answer.is_some() }]
            }
            None => Vec::new(),
        },
        _ => Vec::new(),
    }
}

fn header_swaps(kit: &Kit<'_>, block: &Block, kind: Kind, names: &Names<'_>) -> Vec<Swap> {
    let mut swaps = Vec::new();
    if let Some(span) = block.name
        && let Some(known) = names.of(KindSet::of(&[kind]), kit.reading.slice(span))
    {
        let answers = known.sort == KnownAs::Heater;
        swaps.push(Swap { span, text: known.new.clone(), real: known.place, answers });
    }
    if let Some(span) = block.of
        && let Some(known) = names.of(KindSet::of(&[Kind::Heater]), kit.reading.slice(span))
    {
        swaps.push(Swap { span, text: known.new.clone(), real: kit.at(span), answers: false });
    }
    swaps
}

//! Which line belongs to which block, and how to go on where a line is broken: recovery, as the language defines it.
//!
//! Depth is one bit, indented or not; an empty line ends a paragraph. The rules, by letter, as in the contributor's
//! guide: (a) a property at the margin belongs and is to be indented; (b) a strange margin line inside a block is
//! stray and the block goes on; (c) a strange header is guessed by its spelling and by the lines below it, or its
//! lines are held; (d) an indented header acts as one; (e) a paragraph that fits nothing is held.

use super::shapes::match_word;
use super::slip::{Slip, SlipKind};
use super::{Arg, Block, Reading, Statement, Value};
use crate::syntax::{Item, ItemKind, Line, Tree};
use crate::text::Span;
use crate::units::find_unit;
use crate::vocabulary::{
    self, ANSWER, DESCRIBED, Direction, EDITION, Kind, KindSet, Naming, RESERVED, Role, Word, is_header_word,
    kind_of_header, nearest, property, words_of,
};
use std::collections::HashMap;
use std::collections::hash_map::Entry;

/// Reads the blocks of a tree.
pub(super) fn read_blocks(tree: Tree) -> Reading {
    let significant = significant_lines(&tree);
    let mut reader = Reader {
        tree: &tree,
        lines: &significant,
        statements: Vec::with_capacity(significant.len()),
        args: Vec::with_capacity(significant.len() * 2),
        blocks: Vec::with_capacity(significant.len() / 6 + 1),
        slips: Vec::new(),
        held: KindSet::NONE,
        edition: None,
        edition_line: false,
        follows: Vec::new(),
        once: Vec::new(),
        labelled: HashMap::new(),
        open: false,
        in_kit: false,
    };
    let mut at = 0;
    while at < significant.len() {
        at = reader.take(at).max(at + 1);
    }
    reader.check_edition();
    let Reader { statements, args, blocks, slips, held, edition, follows, .. } = reader;
    let layered = blocks.iter().any(|block| matches!(block.kind, Some(Kind::Fit | Kind::Usual | Kind::Change)));
    Reading { tree, edition, follows, blocks, slips, held, layered, statements, args }
}

/// With whose words a block's lines are read: those of its kind, or of the kind that it speaks of.
#[derive(Clone, Copy)]
struct Words {
    kind: Kind,
    about: Option<Kind>,
}

impl From<Kind> for Words {
    fn from(kind: Kind) -> Words {
        Words { kind, about: None }
    }
}

impl Words {
    fn word(self, word: &str) -> Option<&'static Word> {
        known_in(self.kind, self.about, word)
    }

    /// Whether a line that starts with the word may well belong here. What answers a kit are words of the author's own.
    fn fits(self, word: &str) -> bool {
        let own = || !is_header_word(word) && Kind::all().all(|kind| property(kind, word).is_none());
        self.word(word).is_some() || (self.kind == Kind::Fit && !word.is_empty() && own())
    }

    /// The kind to name in messages.
    fn named(self) -> Kind {
        self.about.unwrap_or(self.kind)
    }
}

/// The property of that name in a block of a kind that may speak of another.
pub(super) fn known_in(kind: Kind, about: Option<Kind>, word: &str) -> Option<&'static Word> {
    match (kind, about) {
        (Kind::Usual, Some(about)) => property(about, word),
        (Kind::Change, Some(about)) => property(kind, word).or_else(|| property(about, word)),
        _ => property(kind, word),
    }
}

/// A line that says something, and what stands around it.
struct Significant {
    line: u32,
    indented: bool,
    /// An empty line stands before it.
    gap: bool,
}

fn significant_lines(tree: &Tree) -> Vec<Significant> {
    let mut out = Vec::with_capacity(tree.lines.len());
    let mut gap = true;
    for (number, line) in tree.lines.iter().enumerate() {
        if tree.items(line).is_empty() {
            gap |= line.comment.is_none();
            continue;
        }
        out.push(Significant { line: u32::try_from(number).unwrap_or(u32::MAX), indented: line.indented, gap });
        gap = false;
    }
    out
}

struct Reader<'a> {
    tree: &'a Tree,
    lines: &'a [Significant],
    statements: Vec<Statement>,
    args: Vec<Arg>,
    blocks: Vec<Block>,
    slips: Vec<Slip>,
    held: KindSet,
    edition: Option<(u32, Span)>,
    /// Whether a line is there to say the edition, readable or not.
    edition_line: bool,
    follows: Vec<Span>,
    /// What the last block has said that it may say only once.
    once: Vec<(&'static str, Span)>,
    /// What it has said that it may say once a label.
    labelled: HashMap<(&'static str, &'a str), Span>,
    /// Whether the last block still takes lines.
    open: bool,
    /// Whether the blocks that are read belong to a kit.
    in_kit: bool,
}

impl<'a> Reader<'a> {
    fn slip(&mut self, kind: SlipKind, span: Span) {
        self.slips.push(Slip { kind, span });
    }

    fn line(&self, at: usize) -> Option<(&'a Significant, &'a Line, &'a [Item])> {
        let significant = self.lines.get(at)?;
        let line = self.tree.lines.get(significant.line as usize)?;
        Some((significant, line, self.tree.items(line)))
    }

    fn word(&self, item: Option<&Item>) -> &'a str {
        item.filter(|item| item.kind == ItemKind::Word).map_or("", |item| item.span.of(&self.tree.text))
    }

    fn open_words(&self) -> Option<Words> {
        let block = self.blocks.last().filter(|_| self.open)?;
        Some(Words { kind: block.kind?, about: block.about.map(|(kind, _)| kind) })
    }

    /// The first words of the indented lines from `at` up to an empty line or the margin.
    fn paragraph(&self, at: usize) -> impl Iterator<Item = &'a str> + '_ {
        (at..)
            .map_while(move |at| self.line(at))
            .enumerate()
            .take_while(|(number, (significant, ..))| significant.indented && (*number == 0 || !significant.gap))
            .map(|(_, (_, _, items))| self.word(items.first()))
    }

    /// Whether most of the lines below fit the kind; true where no line follows.
    fn following_fit(&self, at: usize, words: impl Into<Words>) -> bool {
        if self.line(at).is_none_or(|(significant, ..)| significant.gap) {
            return true;
        }
        let (known, all) = self.count_known(at, words);
        known * 2 >= all
    }

    fn count_known(&self, at: usize, words: impl Into<Words>) -> (usize, usize) {
        let words = words.into();
        self.paragraph(at).fold((0, 0), |(known, all), word| (known + usize::from(words.fits(word)), all + 1))
    }

    /// Reads the line; gives the next line to read.
    fn take(&mut self, at: usize) -> usize {
        let Some((significant, line, items)) = self.line(at) else { return at + 1 };
        if significant.indented {
            self.take_indented(at, significant, line, items)
        } else {
            self.take_margin(at, significant, line, items)
        }
    }

    fn take_margin(&mut self, at: usize, significant: &Significant, line: &Line, items: &[Item]) -> usize {
        let first = self.word(items.first());
        let second = items.get(1).filter(|item| item.kind == ItemKind::Word).map(|item| item.span.of(&self.tree.text));
        let span = said(line, items);
        if let Some(word) = property(Kind::File, first) {
            self.open = false;
            self.take_file_line(word, items, span);
            return at + 1;
        }
        let kind = kind_of_header(first, second);
        let mid_block = self.open_words().filter(|_| !significant.gap);
        if let Some(kind) = kind {
            let bare = items.len() == 1 && !matches!(words_of(kind).naming, Naming::Anything);
            match mid_block {
                Some(open)
                    if bare
                        && self.line_follows(at)
                        && self.following_fit(at + 1, open)
                        && !self.following_fit(at + 1, kind) =>
                {
                    self.slip(SlipKind::StrayLine { nearest: None }, span);
                }
                _ => self.open_block(Some(kind), significant.line, items, span),
            }
            return at + 1;
        }
        if let Some(open) = mid_block {
            // (a) a property at the margin
            if open.word(first).is_some() {
                self.slip(SlipKind::IndentThis { kind: open.named() }, first_span(items, span));
                self.take_statement(open, significant.line, items, span);
                return at + 1;
            }
            // (b) a strange line inside a block that goes on below it
            if self.following_fit(at + 1, open) {
                let known = words_of(open.named()).words().map(|word| word.word);
                let nearest = nearest(first, known.chain(header_words()));
                self.slip(SlipKind::StrayLine { nearest }, span);
                self.break_walk(significant.line, span);
                return at + 1;
            }
        }
        // (c) a strange header
        if let Some(word) =
            nearest(first, ["trialfit", "follows"].into_iter()).and_then(|word| property(Kind::File, word))
            && !self.line(at + 1).is_some_and(|(below, ..)| below.indented && !below.gap)
        {
            self.open = false;
            let kind = SlipKind::UnknownWord { kind: Kind::File, nearest: Some(word.word) };
            self.slip(kind, first_span(items, span));
            self.take_file_line(word, items, span);
            return at + 1;
        }
        match self.guess_header(at, first, second) {
            Some(kind) => {
                self.slip(SlipKind::HeaderGuessed { kind }, first_span(items, span));
                let before = self.slips.len();
                self.open_block(Some(kind), significant.line, items, span);
                // A header that is still being typed lacks its name too; the guess is the one finding of its line.
                let mut number = 0;
                self.slips.retain(|slip| {
                    number += 1;
                    number <= before || !matches!(slip.kind, SlipKind::HeaderLacks { .. })
                });
            }
            None => {
                let near = nearest(first, header_words());
                self.slip(SlipKind::HeaderUnknown { nearest: near }, first_span(items, span));
                self.hold(at + 1);
                self.open_block(None, significant.line, items, span);
            }
        }
        at + 1
    }

    fn line_follows(&self, at: usize) -> bool {
        self.line(at + 1).is_some_and(|(below, ..)| below.indented && !below.gap)
    }

    fn guess_header(&self, at: usize, first: &str, second: Option<&str>) -> Option<Kind> {
        if first.is_empty() {
            return None;
        }
        let has_lines = self.line_follows(at);
        let fits = |kind: Kind| !has_lines || self.following_fit(at + 1, kind);
        let near = nearest(first, header_words());
        if near == Some("datasheet") {
            let sheets = vocabulary::KINDS.iter().filter(|entry| entry.kind.is_sheet());
            let named = second.and_then(|second| kind_of_header("datasheet", Some(second)));
            let spelled = second.and_then(|second| nearest(second, sheets.map(|entry| entry.sheet_of)));
            let guess = named.or_else(|| kind_of_header("datasheet", spelled));
            return guess.filter(|kind| fits(*kind));
        }
        if let Some(kind) = near.and_then(|near| kind_of_header(near, None)).filter(|kind| fits(*kind)) {
            return Some(kind);
        }
        // A header cut short to a letter or two: the lines below decide between those that begin so.
        let mut candidates = Kind::all().filter(|kind| {
            words_of(*kind).header.starts_with(first) && has_lines && {
                let (known, all) = self.count_known(at + 1, *kind);
                known == all
            }
        });
        let only = candidates.next();
        only.filter(|_| candidates.next().is_none())
    }

    /// Marks what the paragraph at `at` might have been: such names may be missing without fault.
    fn hold(&mut self, at: usize) {
        let mut kinds = KindSet::NONE;
        for kind in Kind::all() {
            let (known, all) = self.count_known(at, kind);
            if all == 0 || known * 2 >= all {
                kinds = kinds.and(KindSet::of(&[kind]));
            }
        }
        self.held = self.held.and(kinds);
    }

    fn take_indented(&mut self, at: usize, significant: &Significant, line: &Line, items: &[Item]) -> usize {
        let span = said(line, items);
        let first = self.word(items.first());
        let second = items.get(1).filter(|item| item.kind == ItemKind::Word).map(|item| item.span.of(&self.tree.text));
        if significant.gap || !self.open {
            let belongs = self.open_words().is_some_and(|open| self.paragraph_belongs(at, open));
            if !belongs {
                // (d) an indented header opens its block
                if let Some(kind) = self.indented_header(first, second, items) {
                    self.slip(SlipKind::MarginThis { kind }, first_span(items, span));
                    self.open_block(Some(kind), significant.line, items, span);
                    return at + 1;
                }
                // (e) a paragraph without a header
                self.slip(SlipKind::NoHeader, first_span(items, span));
                self.hold(at);
                self.open_block(None, significant.line, &[], Span::point(span.start));
                self.check_units(items);
                return at + 1;
            }
        }
        match self.open_words() {
            Some(open) => {
                if open.word(first).is_none()
                    && let Some(kind) = self.indented_header(first, second, items)
                {
                    self.slip(SlipKind::MarginThis { kind }, first_span(items, span));
                    self.open_block(Some(kind), significant.line, items, span);
                    return at + 1;
                }
                self.take_statement(open, significant.line, items, span);
            }
            None => {
                // A held block: only its units are looked at, unless a header hides in it.
                if let Some(kind) = self.indented_header(first, second, items) {
                    self.slip(SlipKind::MarginThis { kind }, first_span(items, span));
                    self.open_block(Some(kind), significant.line, items, span);
                    return at + 1;
                }
                self.check_units(items);
                self.extend_block(significant.line);
            }
        }
        at + 1
    }

    fn indented_header(&self, first: &str, second: Option<&str>, items: &[Item]) -> Option<Kind> {
        if !is_header_word(first) {
            return None;
        }
        let kind = kind_of_header(first, second)?;
        let named = match words_of(kind).naming {
            Naming::Title => items.get(1).is_some_and(|item| item.kind == ItemKind::Text),
            Naming::OfHeater => second == Some("of"),
            Naming::SheetName => items.get(2).is_some_and(|item| item.kind == ItemKind::Word),
            Naming::KitAs => items.get(2).is_some_and(|item| item.span.of(&self.tree.text) == "as"),
            Naming::KindAlone | Naming::KindNameOf => second.is_some_and(|second| DESCRIBED.contains(&second)),
            Naming::NameOfHeater | Naming::Name | Naming::Rule | Naming::StockOf | Naming::Anything => {
                second.is_some_and(|second| !RESERVED.contains(&second))
            }
        };
        named.then_some(kind)
    }

    /// Whether an indented paragraph after an empty line goes on with the open block: most of its words are known
    /// there and no kind knows the others, none is said a second time, the block's walk has not ended, and the
    /// paragraph does not begin as a block of its own would: with the start of a walk, or as the open block began.
    fn paragraph_belongs(&self, at: usize, open: Words) -> bool {
        let (known, all) = self.count_known(at, open);
        if known * 2 < all || known == 0 {
            return false;
        }
        let begins = self.blocks.last().and_then(|block| self.statements.get(block.statements.start as usize));
        let begins = begins.and_then(|statement| statement.word).map_or("", |word| word.word);
        let first = self.paragraph(at).next().unwrap_or("");
        if first == "from" || (first == begins && Direction::named(first).is_none()) {
            return false;
        }
        let said = |word: &str| self.once.iter().any(|(once, _)| *once == word);
        let ended = said("ends") || said("draws");
        self.paragraph(at).all(|word| match open.word(word) {
            Some(known) => (known.repeats || !said(word)) && (!ended || matches!(word, "note" | "measured")),
            None => Kind::all().all(|kind| property(kind, word).is_none()),
        })
    }

    fn take_file_line(&mut self, word: &'static Word, items: &[Item], span: Span) {
        let mut args = Vec::new();
        let slip = match_word(&self.tree.text, items, word, &mut args);
        self.edition_line |= word.word == "trialfit";
        for arg in &args {
            match arg.value {
                Value::Count(edition) if self.edition.is_none() => {
                    self.edition = Some((edition, arg.span));
                    if edition > EDITION {
                        self.slip(SlipKind::EditionLater { edition }, arg.span);
                    }
                }
                Value::Count(_) => {
                    let first = self.edition.map_or(arg.span, |(_, span)| span);
                    self.slip(SlipKind::SaidTwice { first }, span);
                }
                Value::Text => self.follows.push(arg.span),
                _ => {}
            }
        }
        self.text_slips(items);
        self.slips.extend(slip);
    }

    fn check_edition(&mut self) {
        if let (false, Some((_, line, items))) = (self.edition_line, self.line(0)) {
            self.slip(SlipKind::EditionMissing, first_span(items, said(line, items)));
        }
    }

    fn open_block(&mut self, kind: Option<Kind>, line: u32, items: &[Item], span: Span) {
        let start = u32::try_from(self.statements.len()).unwrap_or(u32::MAX);
        let mut block = Block {
            kind,
            header: span,
            name: None,
            of: None,
            about: None,
            in_kit: self.in_kit && !kind.is_some_and(Kind::is_shared),
            first_line: line,
            last_line: line,
            statements: start..start,
        };
        if let Some(kind) = kind {
            self.read_header(kind, items, &mut block);
            // A kit reaches to the next one, to a job, or to the end of the file.
            match kind {
                Kind::Kit => (self.in_kit, block.in_kit) = (true, false),
                Kind::Job | Kind::Sketch => (self.in_kit, block.in_kit) = (false, false),
                _ => {}
            }
        }
        self.blocks.push(block);
        self.open = true;
        self.once.clear();
        self.labelled.clear();
    }

    fn read_header(&mut self, kind: Kind, items: &[Item], block: &mut Block) {
        let text = &self.tree.text;
        let slips_before = self.slips.len();
        let word_at = |at: usize| items.get(at).filter(|item| item.kind == ItemKind::Word);
        let naming = words_of(kind).naming;
        let mut at = if naming == Naming::SheetName { 2 } else { 1 };
        match naming {
            Naming::Anything => {
                block.name = items.get(1).zip(items.last()).map(|(first, last)| first.span.cover(last.span));
                at = items.len();
            }
            Naming::Title => {
                if let Some(title) = items.get(1) {
                    let last = items.last().unwrap_or(title);
                    if title.kind == ItemKind::Text {
                        block.name = Some(title.span);
                        at = 2;
                    } else {
                        block.name = Some(title.span.cover(last.span));
                        at = items.len();
                    }
                }
            }
            Naming::Name | Naming::SheetName | Naming::Rule | Naming::StockOf | Naming::NameOfHeater => {
                if let Some(name) = word_at(at).filter(|item| item.span.of(text) != "of") {
                    if RESERVED.contains(&name.span.of(text)) {
                        self.slips.push(Slip { kind: SlipKind::ReservedName, span: name.span });
                    } else {
                        block.name = Some(name.span);
                    }
                    at += 1;
                }
            }
            Naming::KitAs => at = self.read_fit(items, block),
            Naming::KindAlone | Naming::KindNameOf => at = self.read_about(kind, items, block),
            Naming::OfHeater => {}
        }
        if matches!(naming, Naming::OfHeater | Naming::NameOfHeater | Naming::KindNameOf) {
            if let Some(of) = word_at(at).filter(|item| item.span.of(text) == "of") {
                match word_at(at + 1).filter(|item| !RESERVED.contains(&item.span.of(text))) {
                    Some(heater) => {
                        block.of = Some(heater.span);
                        at += 2;
                    }
                    None => {
                        at = items.len();
                        let end = items.last().map_or(of.span, |item| item.span);
                        self.slips
                            .push(Slip { kind: SlipKind::HeaderLacks { kind, name: false }, span: of.span.cover(end) });
                    }
                }
            } else if naming == Naming::OfHeater {
                let place = items.first().map_or(block.header, |item| item.span);
                self.slips.push(Slip { kind: SlipKind::HeaderLacks { kind, name: false }, span: place });
                at = at.max(items.len().min(2));
            }
        }
        if matches!(naming, Naming::OfHeater) && block.of.is_none() {
            // Nobody knows whose it is: it may be the one that some heater seems to lack.
            self.held = self.held.and(KindSet::of(&[kind]));
        }
        let wants_name = matches!(
            naming,
            Naming::Name | Naming::Title | Naming::NameOfHeater | Naming::SheetName | Naming::Rule | Naming::StockOf
        );
        if wants_name && block.name.is_none() && self.slips.len() == slips_before {
            let place = items.first().map_or(block.header, |item| item.span);
            self.slips.push(Slip { kind: SlipKind::HeaderLacks { kind, name: true }, span: place });
            self.held = self.held.and(KindSet::of(&[kind]));
        }
        // What is left over behind a slip in the header is that slip's own tail.
        if let Some(rest) = items.get(at).filter(|_| self.slips.len() == slips_before) {
            let end = items.last().map_or(rest.span, |item| item.span);
            self.slips.push(Slip { kind: SlipKind::LeftOver, span: rest.span.cover(end) });
        }
        self.text_slips(items);
    }

    /// `fit KIT as NAME`; gives the number of the item behind what was read.
    fn read_fit(&mut self, items: &[Item], block: &mut Block) -> usize {
        let text = &self.tree.text;
        let name_at = |at: usize| {
            let item = items.get(at).filter(|item| item.kind == ItemKind::Word)?;
            Some(item.span).filter(|span| !RESERVED.contains(&span.of(text)))
        };
        block.of = name_at(1);
        block.name = name_at(3).filter(|_| items.get(2).is_some_and(|item| item.span.of(text) == "as"));
        if block.of.is_none() || block.name.is_none() {
            let lacks = SlipKind::HeaderLacks { kind: Kind::Fit, name: block.of.is_some() };
            self.slips.push(Slip { kind: lacks, span: first_span(items, block.header) });
            // What it would have fitted is anybody's guess.
            self.held = self.held.and(KindSet::of(&[Kind::Fit]));
            return items.len();
        }
        4
    }

    /// `usual KIND`, `change KIND NAME`; gives the number of the item behind what was read. A block of which nobody can
    /// tell what it speaks of is held.
    fn read_about(&mut self, kind: Kind, items: &[Item], block: &mut Block) -> usize {
        let text = &self.tree.text;
        let word_at = |at: usize| items.get(at).filter(|item| item.kind == ItemKind::Word).map(|item| item.span);
        let Some(about) = word_at(1) else {
            let place = first_span(items, block.header);
            self.slips.push(Slip { kind: SlipKind::HeaderLacks { kind, name: true }, span: place });
            block.kind = None;
            return items.len();
        };
        let written = about.of(text);
        let known = DESCRIBED.iter().copied().find(|known| *known == written);
        let nearest = nearest(written, DESCRIBED.iter().copied());
        block.about = known.or(nearest).and_then(|word| kind_of_header(word, None)).map(|kind| (kind, about));
        if known.is_none() {
            self.slips.push(Slip { kind: SlipKind::UnknownChoice { wanted: DESCRIBED, nearest }, span: about });
            if nearest.is_none() {
                block.kind = None;
            }
        }
        let name = word_at(2).filter(|span| kind == Kind::Change && !RESERVED.contains(&span.of(text)));
        block.name = name;
        if name.is_some() { 3 } else { 2 }
    }

    fn take_statement(&mut self, words: Words, line: u32, items: &[Item], span: Span) {
        let head = first_span(items, span);
        let first = self.word(items.first());
        let kept = self.args.len();
        let answer = (words.kind == Kind::Fit && !first.is_empty()).then_some(&ANSWER);
        let known = words.word(first).or(answer);
        let mut whole = false;
        match known {
            Some(word) => {
                let slip = match_word(&self.tree.text, items, word, &mut self.args);
                if let Some(before) = self.said_before(word, kept, head, span) {
                    self.args.truncate(kept);
                    self.slip(SlipKind::SaidTwice { first: before }, span);
                    self.extend_block(line);
                    return;
                }
                whole = slip.as_ref().is_none_or(|slip| slip.kind == SlipKind::CommaMissing);
                self.slips.extend(slip);
                let asked = self.args.get(kept).filter(|_| word.word == "asks").map(|arg| arg.span);
                let taken =
                    |asked: &Span| is_header_word(asked.of(&self.tree.text)) || asked.of(&self.tree.text) == "note";
                if let Some(asked) = asked.filter(taken) {
                    // It would open a block where a job answers.
                    self.slip(SlipKind::ReservedName, asked);
                }
            }
            None => {
                let stray = items.first().is_some_and(|item| item.kind == ItemKind::Stray);
                let kind = words.named();
                let near = nearest(first, words_of(kind).words().map(|word| word.word));
                let kind = if stray { SlipKind::StrayCharacter } else { SlipKind::UnknownWord { kind, nearest: near } };
                self.slip(kind, head);
            }
        }
        self.text_slips(items);
        let count = |args: usize| u32::try_from(args).unwrap_or(u32::MAX);
        let args = count(kept)..count(self.args.len());
        self.statements.push(Statement { word: known, head, span, line, whole, args });
        self.extend_block(line);
    }

    /// Where the same was said before in this block: the same word, or for lists of labelled things the same label.
    /// If it was not, it now is; its arguments are those from `kept` on.
    fn said_before(&mut self, word: &'static Word, kept: usize, head: Span, span: Span) -> Option<Span> {
        if !word.repeats {
            let before = self.once.iter().find(|(said, _)| *said == word.word).map(|(_, span)| *span);
            if before.is_none() {
                self.once.push((word.word, span));
            }
            return before;
        }
        let label = match word.word {
            "answer" => head,
            known if LABELLED.contains(&known) => {
                self.args.get(kept..)?.iter().find(|arg| arg.role == Role::What)?.span
            }
            _ => return None,
        };
        let label = label.of(&self.tree.text);
        match self.labelled.entry((word.word, label)) {
            Entry::Occupied(before) => Some(*before.get()),
            Entry::Vacant(free) => {
                free.insert(span);
                None
            }
        }
    }

    /// A line inside a walk that says nothing known: the walk has a gap there.
    fn break_walk(&mut self, line: u32, span: Span) {
        let at = u32::try_from(self.args.len()).unwrap_or(u32::MAX);
        self.statements.push(Statement { word: None, head: span, span, line, whole: false, args: at..at });
        self.extend_block(line);
    }

    fn extend_block(&mut self, line: u32) {
        let end = u32::try_from(self.statements.len()).unwrap_or(u32::MAX);
        if let Some(block) = self.blocks.last_mut() {
            block.statements.end = end;
            block.last_line = block.last_line.max(line);
        }
    }

    /// Quotes that are not closed.
    fn text_slips(&mut self, items: &[Item]) {
        for item in items.iter().filter(|item| item.kind == ItemKind::Text) {
            let text = item.span.of(&self.tree.text);
            if text.len() < 2 || !text.ends_with('"') {
                self.slips.push(Slip { kind: SlipKind::OpenQuote, span: item.span });
            }
        }
    }

    /// In lines whose words nobody can know: a number glued to something that is no unit.
    fn check_units(&mut self, items: &[Item]) {
        for pair in items.windows(2) {
            let [number, unit] = pair else { continue };
            let glued =
                number.kind == ItemKind::Number && unit.kind == ItemKind::Word && number.span.end == unit.span.start;
            let spelling = unit.span.of(&self.tree.text);
            if glued && find_unit(spelling).is_none() {
                let nearest = crate::units::nearest_unit(spelling).map(|unit| unit.symbol);
                self.slips.push(Slip { kind: SlipKind::UnknownUnit { nearest }, span: unit.span });
            }
        }
    }
}

/// Properties that may stand once a label.
pub(crate) const LABELLED: &[&str] =
    &["stage", "port", "harness", "exhaust-clear-of", "tee", "outlet", "heats", "asks"];

fn header_words() -> impl Iterator<Item = &'static str> {
    vocabulary::KINDS.iter().skip(1).map(|entry| entry.header)
}

/// The bytes from a line's first item to its last.
fn said(line: &Line, items: &[Item]) -> Span {
    match (items.first(), items.last()) {
        (Some(first), Some(last)) => first.span.cover(last.span),
        _ => line.span,
    }
}

fn first_span(items: &[Item], otherwise: Span) -> Span {
    items.first().map_or(otherwise, |item| item.span)
}

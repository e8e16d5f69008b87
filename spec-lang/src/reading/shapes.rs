//! Matches a line's items with the shapes that the vocabulary gives its word.

use super::quantity::{Cursor, read_quantity};
use super::slip::{Slip, SlipKind};
use super::{Arg, Date, Value};
use crate::syntax::{Item, ItemKind};
use crate::text::Span;
use crate::units::{Dimension, find_unit};
use crate::vocabulary::{ASKED_SORTS, Atom, Direction, Form, Part, RESERVED, Role, Times, Word, nearest};

/// Matches a line's items, its word the first, with the word's forms: the first whole match counts, else the one that
/// got furthest. Arguments go behind those already in `args`; given back is the slip that stopped it.
pub(super) fn match_word(text: &str, items: &[Item], word: &Word, args: &mut Vec<Arg>) -> Option<Slip> {
    if let [_, only] = items
        && only.kind == ItemKind::Word
        && only.span.of(text) == "unknown"
    {
        args.push(Arg { role: first_role(word), value: Value::Unknown, span: only.span });
        return None;
    }
    let kept = args.len();
    let mut furthest: Option<(usize, usize, &Form)> = None;
    let mut choice: Option<(usize, &Form)> = None;
    for form in word.forms {
        let (Some(slip), reached) = match_form(text, items, form, args) else { return None };
        // Most lines fit a form, so a line that fits none is read once more rather than every trial kept.
        if word.forms.len() == 1 {
            return Some(slip);
        }
        let meant = meant_as(&slip);
        if meant > 0 && choice.is_none() {
            choice = Some((reached, form));
        }
        if furthest.is_none_or(|(best, before, _)| {
            reached > best || (reached == best && before.min(meant) > 0 && meant > before)
        }) {
            furthest = Some((reached, meant, form));
        }
        args.truncate(kept);
    }
    // A word that a name's form takes for the name of something, with more behind it: where another form wanted one of a
    // few words there and goes on, that one was meant.
    if let (Some((stopped, form)), Some((reached, 0, _))) = (choice, furthest)
        && reached == stopped + 1
    {
        furthest = Some((stopped, 1, form));
    }
    let slip = furthest.and_then(|(.., form)| match_form(text, items, form, args).0);
    slip.map(|slip| match slip.kind {
        // Each sort of thing that a kit can ask for has a form of its own; the slip is about all of them.
        SlipKind::UnknownChoice { .. } if word.word == "asks" => {
            let nearest = nearest_choice(slip.span.of(text), ASKED_SORTS);
            Slip { kind: SlipKind::UnknownChoice { wanted: ASKED_SORTS, nearest }, span: slip.span }
        }
        _ => slip,
    })
}

/// Of two forms that stop at the same word, the one that knows a word near it was meant, else the one that knows more
/// words. Nought where the slip is of another kind.
fn meant_as(slip: &Slip) -> usize {
    match slip.kind {
        SlipKind::UnknownChoice { nearest: Some(_), .. } => usize::MAX,
        SlipKind::UnknownChoice { wanted, .. } => wanted.len(),
        _ => 0,
    }
}

fn first_role(word: &Word) -> Role {
    let atoms = word.forms.iter().flat_map(|form| form.head.iter().chain(form.tail)).flat_map(|part| part.1.iter());
    atoms.filter_map(role_of).next().unwrap_or(Role::What)
}

fn role_of(atom: &Atom) -> Option<Role> {
    match *atom {
        Atom::Literal(_) => None,
        Atom::Flag(role, _)
        | Atom::Choice(role, _)
        | Atom::Direction(role)
        | Atom::Measure(role, _)
        | Atom::Any(role)
        | Atom::Fillable(role, _)
        | Atom::Count(role)
        | Atom::Name(role, _)
        | Atom::FillableName(role, _)
        | Atom::Label(role)
        | Atom::Rule(role)
        | Atom::Text(role)
        | Atom::Date(role) => Some(role),
    }
}

/// Gives the slip that stopped the match, and how many items were understood.
fn match_form(text: &str, items: &[Item], form: &Form, args: &mut Vec<Arg>) -> (Option<Slip>, usize) {
    let mut cursor = Cursor { text, items, at: 1 };
    let mut first = true;
    let mut comma_missing = None;
    for part in form.head {
        if part.0 == Times::Maybe && cursor.peek().is_none() {
            break;
        }
        let start = cursor;
        let comma = first || step_over_comma(&mut cursor);
        if let Err(slip) = match_part(&mut cursor, part, args) {
            // Without a comma nothing says that this part was begun at all: its absence is the slip.
            let slip = if comma { slip } else { unexpected(&start, wanted_first(part)) };
            return (Some(slip), cursor.at);
        }
        if !comma && cursor.at > start.at {
            comma_missing = comma_missing.or_else(|| Some(between(&start, &cursor)));
        }
        first = false;
    }
    let mut used = [false; 8];
    while let Some(item) = cursor.peek() {
        if form.tail.is_empty() {
            return (Some(left_over(&cursor, item)), cursor.at);
        }
        let start = cursor;
        let comma = first || step_over_comma(&mut cursor);
        first = false;
        match match_any(&mut cursor, form.tail, &mut used, args) {
            Ok(()) if comma => {}
            Ok(()) => comma_missing = comma_missing.or_else(|| Some(between(&start, &cursor))),
            Err(slip) if comma => return (Some(slip), cursor.at),
            Err(_) => return (Some(left_over(&start, item)), start.at),
        }
    }
    (comma_missing.map(|span| Slip { kind: SlipKind::CommaMissing, span }), cursor.at)
}

fn wanted_first(part: &Part) -> Atom {
    part.1.first().copied().unwrap_or(Atom::Label(Role::What))
}

fn step_over_comma(cursor: &mut Cursor<'_>) -> bool {
    let comma = cursor.peek().is_some_and(|item| item.kind == ItemKind::Comma);
    cursor.at += usize::from(comma);
    comma
}

/// The items read from one stand of the cursor to a later one.
fn between(start: &Cursor<'_>, end: &Cursor<'_>) -> Span {
    let first = start.peek().map_or(start.behind(), |item| item.span);
    first.cover(end.behind())
}

fn left_over(cursor: &Cursor<'_>, item: Item) -> Slip {
    if item.kind == ItemKind::Stray {
        return Slip { kind: SlipKind::StrayCharacter, span: item.span };
    }
    let end = cursor.items.last().map_or(item.span, |last| last.span);
    Slip { kind: SlipKind::LeftOver, span: item.span.cover(end) }
}

fn match_any(cursor: &mut Cursor<'_>, tail: &[Part], used: &mut [bool; 8], args: &mut Vec<Arg>) -> Result<(), Slip> {
    let mut furthest: Option<(usize, Slip)> = None;
    let mut without_comma = None;
    for (number, part) in tail.iter().enumerate() {
        if part.0 == Times::Maybe && used.get(number).copied().unwrap_or(false) {
            continue;
        }
        let mut trial = *cursor;
        let kept = args.len();
        match match_part(&mut trial, part, args) {
            Ok(()) if trial.at > cursor.at && trial.peek().is_none_or(|item| item.kind == ItemKind::Comma) => {
                if let Some(flag) = used.get_mut(number) {
                    *flag = true;
                }
                *cursor = trial;
                return Ok(());
            }
            Ok(()) => {
                args.truncate(kept);
                if trial.at > cursor.at {
                    without_comma = without_comma.or(Some((number, part)));
                }
            }
            Err(slip) => {
                args.truncate(kept);
                if furthest.as_ref().is_none_or(|(reached, _)| trial.at > *reached) {
                    furthest = Some((trial.at, slip));
                }
            }
        }
    }
    // A part that is whole but goes on without a comma: what follows it is for the caller to name.
    if let Some((number, part)) = without_comma {
        if let Some(flag) = used.get_mut(number) {
            *flag = true;
        }
        return match_part(cursor, part, args);
    }
    match furthest {
        Some((reached, slip)) => {
            cursor.at = reached;
            Err(slip)
        }
        None => {
            let item = cursor.peek().unwrap_or(Item { kind: ItemKind::Word, span: cursor.behind() });
            Err(left_over(cursor, item))
        }
    }
}

fn match_part(cursor: &mut Cursor<'_>, part: &Part, args: &mut Vec<Arg>) -> Result<(), Slip> {
    for atom in part.1 {
        match_atom(cursor, atom, args)?;
    }
    Ok(())
}

fn unexpected(cursor: &Cursor<'_>, wanted: Atom) -> Slip {
    match cursor.peek() {
        None => Slip { kind: SlipKind::Expected { wanted, at_end: true }, span: cursor.behind() },
        Some(item) if item.kind == ItemKind::Stray => Slip { kind: SlipKind::StrayCharacter, span: item.span },
        Some(item) if item.kind == ItemKind::Question => Slip { kind: SlipKind::BlankNotHere, span: item.span },
        Some(item) => Slip { kind: SlipKind::Expected { wanted, at_end: false }, span: item.span },
    }
}

fn word_at<'a>(cursor: &Cursor<'a>) -> Option<(Item, &'a str)> {
    cursor.peek().filter(|item| item.kind == ItemKind::Word).map(|item| (item, cursor.slice(item)))
}

fn match_atom(cursor: &mut Cursor<'_>, atom: &Atom, args: &mut Vec<Arg>) -> Result<(), Slip> {
    let missing = |cursor: &Cursor<'_>| unexpected(cursor, *atom);
    match *atom {
        Atom::Literal(literal) => {
            let times = literal == "x" && cursor.peek().is_some_and(|item| item.kind == ItemKind::Times);
            if times || word_at(cursor).is_some_and(|(_, word)| word == literal) {
                cursor.at += 1;
                return Ok(());
            }
            Err(missing(cursor))
        }
        Atom::Flag(role, literal) => {
            if let Some((item, _)) = word_at(cursor).filter(|(_, word)| *word == literal) {
                cursor.at += 1;
                args.push(Arg { role, value: Value::Choice(literal), span: item.span });
            }
            Ok(())
        }
        Atom::Choice(role, choices) => {
            let Some((item, word)) = word_at(cursor) else { return Err(missing(cursor)) };
            match choices.iter().find(|choice| **choice == word) {
                Some(choice) => {
                    cursor.at += 1;
                    args.push(Arg { role, value: Value::Choice(choice), span: item.span });
                    Ok(())
                }
                None => Err(Slip {
                    kind: SlipKind::UnknownChoice { wanted: choices, nearest: nearest_choice(word, choices) },
                    span: item.span,
                }),
            }
        }
        Atom::Direction(role) => {
            let Some((item, word)) = word_at(cursor) else { return Err(missing(cursor)) };
            match Direction::named(word) {
                Some(direction) => {
                    cursor.at += 1;
                    args.push(Arg { role, value: Value::Direction(direction), span: item.span });
                    Ok(())
                }
                None => {
                    let wanted = crate::vocabulary::DIRECTIONS;
                    Err(Slip {
                        kind: SlipKind::UnknownChoice { wanted, nearest: nearest_choice(word, wanted) },
                        span: item.span,
                    })
                }
            }
        }
        Atom::Measure(role, dimension) | Atom::Fillable(role, dimension) => {
            let question = cursor.peek().filter(|item| item.kind == ItemKind::Question);
            if let (Some(item), Atom::Fillable(..)) = (question, atom) {
                cursor.at += 1;
                args.push(Arg { role, value: Value::Blank, span: item.span });
                return Ok(());
            }
            if let Some(span) = asked_name(cursor)? {
                args.push(Arg { role, value: Value::Asked(dimension), span });
                return Ok(());
            }
            match read_quantity(cursor, dimension)? {
                Some((quantity, span)) => {
                    args.push(Arg { role, value: Value::Quantity(quantity), span });
                    Ok(())
                }
                None => Err(missing(cursor)),
            }
        }
        Atom::Any(role) => {
            if let Some(item) = cursor.peek().filter(|item| item.kind == ItemKind::Question) {
                cursor.at += 1;
                args.push(Arg { role, value: Value::Blank, span: item.span });
                return Ok(());
            }
            // Its unit says what it measures; without one a length is as good a guess as any.
            let ahead = cursor.items.get(cursor.at..).unwrap_or(&[]).iter();
            let words = ahead.filter(|item| item.kind == ItemKind::Word).map(|item| item.span.of(cursor.text));
            let dimension = words.filter_map(find_unit).next().map_or(Dimension::Length, |unit| unit.dimension);
            match read_quantity(cursor, dimension)? {
                Some((quantity, span)) => {
                    args.push(Arg { role, value: Value::Quantity(quantity), span });
                    Ok(())
                }
                None => Err(missing(cursor)),
            }
        }
        Atom::Count(role) => {
            let item = cursor.peek().filter(|item| item.kind == ItemKind::Number);
            let count = item.and_then(|item| cursor.slice(item).parse::<u32>().ok());
            match (item, count) {
                (Some(item), Some(count)) => {
                    cursor.at += 1;
                    args.push(Arg { role, value: Value::Count(count), span: item.span });
                    Ok(())
                }
                _ => Err(missing(cursor)),
            }
        }
        Atom::Name(role, _) | Atom::FillableName(role, _) => {
            let question = cursor.peek().filter(|item| item.kind == ItemKind::Question);
            if let (Some(item), Atom::FillableName(..)) = (question, atom) {
                cursor.at += 1;
                args.push(Arg { role, value: Value::Blank, span: item.span });
                return Ok(());
            }
            match word_at(cursor) {
                Some((item, word)) if !RESERVED.contains(&word) => {
                    cursor.at += 1;
                    args.push(Arg { role, value: Value::Name, span: item.span });
                    Ok(())
                }
                _ => Err(missing(cursor)),
            }
        }
        Atom::Label(role) | Atom::Rule(role) => match word_at(cursor) {
            Some((item, word)) if !RESERVED.contains(&word) => {
                cursor.at += 1;
                args.push(Arg { role, value: Value::Label, span: item.span });
                Ok(())
            }
            _ => Err(missing(cursor)),
        },
        Atom::Text(role) => match_text(cursor, role, args).map_err(|()| missing(cursor)),
        Atom::Date(role) => {
            let Some(item) = cursor.peek().filter(|item| item.kind == ItemKind::Date) else {
                return Err(missing(cursor));
            };
            match Date::read(cursor.slice(item)) {
                Some(date) => {
                    cursor.at += 1;
                    args.push(Arg { role, value: Value::Date(date), span: item.span });
                    Ok(())
                }
                None => Err(Slip { kind: SlipKind::NoSuchDay, span: item.span }),
            }
        }
    }
}

/// `the tank-run` at the cursor: the bytes of both words.
fn asked_name(cursor: &mut Cursor<'_>) -> Result<Option<Span>, Slip> {
    let Some((the, _)) = word_at(cursor).filter(|(_, word)| *word == "the") else { return Ok(None) };
    cursor.at += 1;
    match word_at(cursor).filter(|(_, word)| !RESERVED.contains(word)) {
        Some((name, _)) => {
            cursor.at += 1;
            Ok(Some(the.span.cover(name.span)))
        }
        None => Err(unexpected(cursor, Atom::Label(Role::What))),
    }
}

/// Quoted text is one item; text without quotes is the words up to the next comma.
fn match_text(cursor: &mut Cursor<'_>, role: Role, args: &mut Vec<Arg>) -> Result<(), ()> {
    let first = cursor.peek().ok_or(())?;
    if first.kind == ItemKind::Text {
        cursor.at += 1;
        args.push(Arg { role, value: Value::Text, span: first.span });
        return Ok(());
    }
    let mut span: Option<Span> = None;
    while let Some(item) = cursor.peek().filter(|item| !matches!(item.kind, ItemKind::Comma | ItemKind::Question)) {
        span = Some(span.map_or(item.span, |so_far| so_far.cover(item.span)));
        cursor.at += 1;
    }
    let span = span.ok_or(())?;
    args.push(Arg { role, value: Value::Text, span });
    Ok(())
}

fn nearest_choice(word: &str, choices: &'static [&'static str]) -> Option<&'static str> {
    choices
        .iter()
        .find(|choice| choice.to_lowercase() == word.to_lowercase())
        .copied()
        .or_else(|| nearest(word, choices.iter().copied()))
}

/// What may stand next behind the items of an unfinished statement: for completion. Each form is followed as far as
/// the items go; an atom is offered where its form has used them all up.
pub fn expected_after(text: &str, items: &[Item], word: &Word) -> Vec<Atom> {
    let mut wanted = Vec::new();
    for form in word.forms {
        expected_in(text, items, form, &mut wanted);
    }
    wanted.dedup();
    wanted
}

fn expected_in(text: &str, items: &[Item], form: &Form, wanted: &mut Vec<Atom>) {
    let mut cursor = Cursor { text, items, at: 0 };
    let mut scratch = Vec::new();
    let mut first = true;
    for part in form.head {
        if cursor.peek().is_none() && !first {
            return; // a comma is next; nothing to offer before it is typed
        }
        let comma = first || step_over_comma(&mut cursor);
        if !comma || !expected_in_part(&mut cursor, part, &mut scratch, wanted) {
            return;
        }
        first = false;
    }
    loop {
        if !first && !step_over_comma(&mut cursor) {
            return;
        }
        if cursor.peek().is_none() {
            wanted.extend(form.tail.iter().filter_map(|part| part.1.first().copied()));
            return;
        }
        let mut next = None;
        for part in form.tail {
            let mut trial = cursor;
            if expected_in_part(&mut trial, part, &mut scratch, wanted) && trial.at > cursor.at {
                next = Some(trial);
                break;
            }
        }
        match next {
            Some(trial) => cursor = trial,
            None => return,
        }
        first = false;
    }
}

/// Follows a part; true where it was matched whole, false where it stopped, with what was wanted if the items ran out.
fn expected_in_part(cursor: &mut Cursor<'_>, part: &Part, scratch: &mut Vec<Arg>, wanted: &mut Vec<Atom>) -> bool {
    for atom in part.1 {
        if cursor.peek().is_none() {
            wanted.push(*atom);
            if !matches!(atom, Atom::Flag(..)) {
                return false;
            }
            continue;
        }
        let lone_number =
            cursor.peek().is_some_and(|item| item.kind == ItemKind::Number) && cursor.peek_after(1).is_none();
        if match_atom(cursor, atom, scratch).is_err() {
            // A number without its unit: the unit is what is wanted.
            if lone_number && matches!(atom, Atom::Measure(..) | Atom::Fillable(..)) {
                wanted.push(*atom);
            }
            return false;
        }
    }
    true
}

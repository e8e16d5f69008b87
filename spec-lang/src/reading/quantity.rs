//! Reads quantities off a line's items: numbers, units, compound lengths, tolerances and ranges.

use super::slip::{Slip, SlipKind};
use crate::syntax::{Item, ItemKind};
use crate::text::Span;
use crate::units::{Dimension, Doubt, Quantity, Unit, WIRE_GAUGE, find_unit, nearest_unit};
use std::borrow::Cow;

/// Where a line is being read.
#[derive(Clone, Copy)]
pub(super) struct Cursor<'a> {
    pub text: &'a str,
    pub items: &'a [Item],
    pub at: usize,
}

impl<'a> Cursor<'a> {
    pub(super) fn peek(&self) -> Option<Item> {
        self.items.get(self.at).copied()
    }

    pub(super) fn peek_after(&self, steps: usize) -> Option<Item> {
        self.items.get(self.at + steps).copied()
    }

    pub(super) fn slice(&self, item: Item) -> &'a str {
        item.span.of(self.text)
    }

    /// The empty place behind the last item read.
    pub(super) fn behind(&self) -> Span {
        let before = self.at.checked_sub(1).and_then(|at| self.items.get(at));
        Span::point(before.map_or(0, |item| item.span.end))
    }
}

/// A number as written, before a unit gives it meaning.
#[derive(Clone, Copy)]
struct Number {
    value: f64,
    span: Span,
    /// `2/0` as a wire gauge.
    gauge: Option<f64>,
}

fn slip(kind: SlipKind, span: Span) -> Slip {
    Slip { kind, span }
}

fn read_number(cursor: &mut Cursor<'_>) -> Result<Option<Number>, Slip> {
    let Some(item) = cursor.peek().filter(|item| item.kind == ItemKind::Number) else { return Ok(None) };
    let written = cursor.slice(item);
    let written: Cow<'_, str> = match written.strip_prefix('\u{2212}') {
        Some(digits) => Cow::Owned(format!("-{digits}")),
        None => Cow::Borrowed(written),
    };
    if written.contains(',') {
        return Err(comma_slip(&written, item.span));
    }
    let (value, gauge) = if let Some((over, under)) = written.split_once('/') {
        let (over, under): (f64, f64) = (over.parse().unwrap_or(f64::NAN), under.parse().unwrap_or(f64::NAN));
        // 2/0 is a gauge name: the number of noughts, counted downwards from 1/0 = 0.
        (over / under, (under == 0.0).then_some(1.0 - over))
    } else {
        (written.parse().unwrap_or(f64::NAN), None)
    };
    cursor.at += 1;
    let mut number = Number { value, span: item.span, gauge };
    if let Some(part) = cursor.peek().filter(|part| part.kind == ItemKind::Number) {
        let text = cursor.slice(part);
        if let Some((over, under)) =
            text.split_once('/').filter(|_| number.gauge.is_none() && number.value.fract() == 0.0)
        {
            let (over, under): (f64, f64) = (over.parse().unwrap_or(f64::NAN), under.parse().unwrap_or(f64::NAN));
            number.value += if number.value < 0.0 { -(over / under) } else { over / under };
            number.span = number.span.cover(part.span);
            cursor.at += 1;
        }
    }
    if number.gauge.is_none() && !number.value.is_finite() {
        return Err(slip(SlipKind::NumberUnreadable, number.span));
    }
    Ok(Some(number))
}

fn comma_slip(written: &str, span: Span) -> Slip {
    let groups: Vec<&str> = written.split(',').collect();
    let thousands = groups.iter().skip(1).all(|group| group.split('.').next().is_some_and(|digits| digits.len() == 3));
    let as_point = if groups.len() == 2 && !written.contains('.') { written.replace(',', ".") } else { String::new() };
    let as_thousands = thousands.then(|| written.replace(',', ""));
    slip(SlipKind::CommaInNumber { as_point, as_thousands }, span)
}

/// The unit at the cursor, if the next item can be one. `wanted` tells a missing unit from a word of the statement.
fn read_unit(cursor: &mut Cursor<'_>, number: Span, wanted: Dimension) -> Result<Option<&'static Unit>, Slip> {
    let Some(item) = cursor.peek().filter(|item| item.kind == ItemKind::Word) else { return Ok(None) };
    let spelling = cursor.slice(item);
    if let Some(unit) = find_unit(spelling) {
        cursor.at += 1;
        return Ok(Some(unit));
    }
    let glued = number.end == item.span.start;
    let nearest = nearest_unit(spelling);
    if glued || nearest.is_some_and(|unit| wanted.takes(unit.dimension)) {
        return Err(slip(SlipKind::UnknownUnit { nearest: nearest.map(|unit| unit.symbol) }, item.span));
    }
    Ok(None)
}

fn fits(wanted: Dimension, unit: &'static Unit, number: Number, span: Span) -> Result<(), Slip> {
    if wanted == Dimension::Conductor && unit.dimension == Dimension::Length {
        return Err(slip(SlipKind::BareMillimetres { number: number.value }, span));
    }
    if !wanted.takes(unit.dimension) {
        return Err(slip(SlipKind::WrongDimension { wanted, found: unit.dimension }, span));
    }
    if number.gauge.is_some() && unit.spelling != WIRE_GAUGE {
        return Err(slip(SlipKind::NumberUnreadable, number.span));
    }
    Ok(())
}

/// One number with its unit, and a second smaller one behind a length (`6 ft 4 in`): SI value, unit, place.
type Single = (f64, Option<&'static Unit>, Number, Span);

fn read_single(cursor: &mut Cursor<'_>, wanted: Dimension) -> Result<Option<Single>, Slip> {
    let Some(number) = read_number(cursor)? else { return Ok(None) };
    let Some(unit) = read_unit(cursor, number.span, wanted)? else {
        return Ok(Some((number.value, None, number, number.span)));
    };
    let mut span = number.span.cover(cursor.items.get(cursor.at - 1).map_or(number.span, |item| item.span));
    fits(wanted, unit, number, span)?;
    let mut value = if wanted == Dimension::TemperatureDifference {
        unit.difference_to_si(number.value)
    } else {
        unit.to_si(number.gauge.unwrap_or(number.value))
    };
    if unit.spelling == "ft" {
        let mut ahead = *cursor;
        if let Ok(Some(inches)) = read_number(&mut ahead) {
            let is_inches = ahead.peek().is_some_and(|item| item.kind == ItemKind::Word && ahead.slice(item) == "in");
            // `in` is also the word before a space's name; a number before it makes it inches.
            if let (true, Some(inch)) = (is_inches, find_unit("in")) {
                let part = inch.to_si(inches.value);
                value += if number.value < 0.0 { -part } else { part };
                span = span.cover(ahead.peek().map_or(span, |item| item.span));
                ahead.at += 1;
                *cursor = ahead;
            }
        }
    }
    Ok(Some((value, Some(unit), number, span)))
}

/// Reads a quantity of the wanted dimension. `None` where no number stands at the cursor.
pub(super) fn read_quantity(cursor: &mut Cursor<'_>, wanted: Dimension) -> Result<Option<(Quantity, Span)>, Slip> {
    let Some((first, first_unit, first_number, first_span)) = read_single(cursor, wanted)? else { return Ok(None) };
    let next = cursor.peek().map(|item| item.kind);
    let second = match next {
        Some(ItemKind::Dots | ItemKind::PlusMinus) => {
            let mark = cursor.behind();
            cursor.at += 1;
            match read_single(cursor, wanted)? {
                Some(second) => Some(second),
                None => {
                    let wanted = crate::vocabulary::Atom::Measure(crate::vocabulary::Role::Amount, wanted);
                    let at_end = cursor.peek().is_none();
                    let place = cursor.peek().map_or(cursor.behind(), |item| item.span);
                    let place = if at_end { place } else { mark.cover(place) };
                    return Err(slip(SlipKind::Expected { wanted, at_end }, place));
                }
            }
        }
        Some(ItemKind::Times) if first_unit.is_none() => {
            // `800 x 1900 mm`: the unit behind the group serves this number too.
            let mut ahead = *cursor;
            ahead.at += 1;
            match read_single(&mut ahead, wanted)? {
                Some((_, Some(unit), ..)) => {
                    return Ok(Some((Quantity::exact(first_number.value, unit), first_number.span)));
                }
                _ => None,
            }
        }
        _ => None,
    };
    let own = |unit: Option<&'static Unit>| first_unit.or(unit);
    let Some(unit) = own(second.and_then(|(_, unit, ..)| unit)) else {
        let gauge_like = wanted == Dimension::Conductor && first_number.gauge.is_some();
        let kind =
            if gauge_like { SlipKind::UnknownUnit { nearest: Some(WIRE_GAUGE) } } else { SlipKind::NoUnit { wanted } };
        // One unit at the end serves the whole group, so that is where it is wanted.
        return Err(slip(kind, second.map_or(first_span, |(.., span)| span)));
    };
    let first = match first_unit {
        Some(_) => first,
        None if wanted == Dimension::TemperatureDifference => unit.difference_to_si(first_number.value),
        None => unit.to_si(first_number.value),
    };
    let Some((second, second_unit, second_number, second_span)) = second else {
        return Ok(Some((Quantity { low: first, nominal: first, high: first, unit, doubt: Doubt::None }, first_span)));
    };
    let span = first_span.cover(second_span);
    if next == Some(ItemKind::PlusMinus) {
        let width = second_unit.unwrap_or(unit).difference_to_si(second_number.value).abs();
        return Ok(Some((
            Quantity { low: first - width, nominal: first, high: first + width, unit, doubt: Doubt::Tolerance },
            span,
        )));
    }
    let second = match second_unit {
        Some(_) => second,
        None => return Err(slip(SlipKind::NoUnit { wanted }, second_span)),
    };
    if second < first && unit.spelling != WIRE_GAUGE {
        return Err(slip(SlipKind::RangeBackwards, span));
    }
    let (low, high) = (first.min(second), first.max(second));
    Ok(Some((Quantity { low, nominal: (low + high) / 2.0, high, unit, doubt: Doubt::Range }, span)))
}

//! What reading makes of each shape of statement, and what holds for any text at all.

use super::*;
use crate::units::Doubt;
use crate::vocabulary::{KINDS, words_of};
use proptest::prelude::*;

fn read(text: &str) -> Reading {
    Reading::new(Arc::from(text))
}

/// The arguments of one line of a kind of block, with the slips it gives.
fn line(header: &str, line: &str) -> (Vec<(Role, Value)>, Vec<SlipKind>) {
    let reading = read(&format!("trialfit 1\n\n{header}\n  {line}\n"));
    let statement = reading.all_statements().first().cloned();
    let args = statement.map(|statement| reading.args(&statement).to_vec()).unwrap_or_default();
    (
        args.into_iter().map(|arg| (arg.role, arg.value)).collect(),
        reading.slips.into_iter().map(|slip| slip.kind).collect(),
    )
}

fn quantity(header: &str, text: &str) -> Quantity {
    let (args, slips) = line(header, text);
    assert_eq!(slips, [], "{text}");
    match args.iter().find_map(|(_, value)| if let Value::Quantity(quantity) = value { Some(*quantity) } else { None })
    {
        Some(quantity) => quantity,
        None => panic!("no quantity in {text}"),
    }
}

/// The table's own examples are the language as its readers learn it: each is read whole, in every kind that has it.
#[test]
fn every_example_of_the_vocabulary_is_read_whole() {
    for kind in Kind::all() {
        let entry = words_of(kind);
        for word in entry.words() {
            let text = format!("trialfit 1\n\n{}\n  {}\n", entry.example, word.example);
            let reading = read(&text);
            assert_eq!(reading.slips, [], "{text}");
            let [statement] = reading.all_statements() else { panic!("one statement: {text}") };
            assert!(statement.whole && statement.word == Some(word), "{text}");
        }
    }
    for word in KINDS[0].words() {
        assert_eq!(read(word.example).slips.iter().filter(|slip| slip.kind != SlipKind::EditionMissing).count(), 0);
    }
}

#[test]
fn quantities_are_read_as_they_are_written() {
    let close = |left: f64, right: f64| assert!((left - right).abs() < 1e-9, "{left} is not {right}");
    // 6 ft 4 in = 76 in = 1.9304 m and 15 1/2 in = 0.3937 m: the inch is 25.4 mm (NIST SP 811, appendix B).
    close(quantity("exhaust of reader", "back 6 ft 4 in").nominal, 1.9304);
    close(quantity("exhaust of reader", "back 15 1/2 in").nominal, 0.3937);
    close(quantity("exhaust of reader", "back 600mm").nominal, 0.6);
    close(quantity("job \"a\"", "design-cold \u{2212}25 °C").nominal, 248.15);
    let range = quantity("job \"a\"", "altitude 0 .. 1450 m");
    assert_eq!((range.low, range.high, range.doubt), (0.0, 1450.0, Doubt::Range));
    let doubt = quantity("job \"a\"", "design-cold -25 ± 5 °C");
    close(doubt.low, 243.15);
    close(doubt.high, 253.15);
    // ASTM B258: 2/0 AWG is 67.4 mm².
    assert!((quantity("cable supply of reader", "size 2/0 AWG").nominal * 1e6 - 67.4).abs() < 0.1);
}

#[test]
fn each_slip_of_a_line_is_named_for_what_it_is() {
    type Expected = fn(&SlipKind) -> bool;
    let cases: &[(&str, &str, Expected)] = &[
        ("exhaust of a", "downn 3 m", |slip| matches!(slip, SlipKind::UnknownWord { nearest: Some("down"), .. })),
        ("battery a", "type agm", |slip| matches!(slip, SlipKind::UnknownChoice { nearest: Some("AGM"), .. })),
        ("exhaust of a", "down 3", |slip| matches!(slip, SlipKind::NoUnit { .. })),
        ("exhaust of a", "down 3 MM", |slip| matches!(slip, SlipKind::UnknownUnit { nearest: Some("mm") })),
        ("exhaust of a", "down 3 A", |slip| matches!(slip, SlipKind::WrongDimension { .. })),
        ("cable a", "size 4 mm", |slip| matches!(slip, SlipKind::BareMillimetres { .. })),
        ("exhaust of a", "down 1,450 mm", |slip| {
            let both = (Some("1.450"), Some("1450"));
            matches!(slip, SlipKind::CommaInNumber { as_point, as_thousands }
                if (Some(as_point.as_str()), as_thousands.as_deref()) == both)
        }),
        ("exhaust of a", "down 1/0 m", |slip| matches!(slip, SlipKind::NumberUnreadable)),
        ("exhaust of a", "down", |slip| matches!(slip, SlipKind::Expected { at_end: true, .. })),
        ("exhaust of a", "down steeply", |slip| matches!(slip, SlipKind::Expected { at_end: false, .. })),
        ("exhaust of a", "down 3 m deep", |slip| matches!(slip, SlipKind::LeftOver)),
        ("exhaust of a", "right 480 mm down 40 mm", |slip| matches!(slip, SlipKind::CommaMissing)),
        ("tank a", "fuel diesel wnter", |slip| matches!(slip, SlipKind::UnknownChoice { nearest: Some("winter"), .. })),
        ("tank a", "fuel diesel B100", |slip| matches!(slip, SlipKind::UnknownChoice { nearest: Some("b100"), .. })),
        (
            "tank a",
            "fuel diesel gas",
            |slip| matches!(slip, SlipKind::UnknownChoice { nearest: None, wanted } if wanted.contains(&"winter-1")),
        ),
        ("tank a", "fuel diesel b100, clas-F", |slip| {
            matches!(slip, SlipKind::UnknownChoice { nearest: Some("class-F"), .. })
        }),
        ("tank a", "fuel diesel b100 class-F", |slip| matches!(slip, SlipKind::CommaMissing)),
        ("tank a", "fuel petral summer", |slip| {
            matches!(slip, SlipKind::UnknownChoice { nearest: Some("petrol"), .. })
        }),
        ("tank a", "fuel petrol winter-1", |slip| {
            matches!(slip, SlipKind::UnknownChoice { wanted: ["summer", ..], .. })
        }),
        ("exhaust of a", "pipe stel, 24 mm bore", |slip| {
            matches!(slip, SlipKind::UnknownChoice { nearest: Some("steel"), .. })
        }),
        ("exhaust of a", "hose wool 24 mm", |slip| matches!(slip, SlipKind::UnknownChoice { .. })),
        ("datasheet hose a", "made-of \"rubber\"", |slip| matches!(slip, SlipKind::Expected { .. })),
        ("exhaust of a", "down 3 m;", |slip| matches!(slip, SlipKind::StrayCharacter)),
        ("exhaust of a", "note \"open", |slip| matches!(slip, SlipKind::OpenQuote)),
        ("cable a", "down ?", |slip| matches!(slip, SlipKind::BlankNotHere)),
        ("exhaust of a", "down 3 m, left ?", |slip| matches!(slip, SlipKind::BlankNotHere)),
        ("job \"a\"", "drawn-on 2027-02-29", |slip| matches!(slip, SlipKind::NoSuchDay)),
        ("job \"a\"", "altitude 9 m .. 2 m", |slip| matches!(slip, SlipKind::RangeBackwards)),
        ("tank of", "holds 3 L", |slip| matches!(slip, SlipKind::HeaderLacks { name: true, .. })),
        ("exhaust", "down 3 m", |slip| matches!(slip, SlipKind::HeaderLacks { name: false, .. })),
        ("tank in", "holds 3 L", |slip| matches!(slip, SlipKind::ReservedName)),
        ("fit a", "note b", |slip| matches!(slip, SlipKind::HeaderLacks { name: true, .. })),
        ("fit", "note b", |slip| matches!(slip, SlipKind::HeaderLacks { name: false, .. })),
        ("usual", "note b", |slip| matches!(slip, SlipKind::HeaderLacks { name: true, .. })),
        ("usual datasheet", "note b", |slip| matches!(slip, SlipKind::UnknownChoice { .. })),
        ("change cabel supply of a", "size 4 mm²", |slip| matches!(slip, SlipKind::UnknownChoice { .. })),
        ("kit a", "asks b, wide 1 m .. 2 m", |slip| matches!(slip, SlipKind::UnknownChoice { .. })),
        ("kit a", "asks tank, length 1 m .. 2 m", |slip| matches!(slip, SlipKind::ReservedName)),
        ("cable a", "run the", |slip| matches!(slip, SlipKind::Expected { at_end: true, .. })),
    ];
    for (header, text, expected) in cases {
        let (_, slips) = line(header, text);
        assert!(slips.len() == 1 && expected(&slips[0]), "{header} / {text}: {slips:?}");
    }
}

#[test]
fn a_part_without_its_comma_is_read_all_the_same() {
    let (with, none) = line("space cab", "surface walls, 21 m², steel 0.9 mm, foam 19 mm");
    let (without, one) = line("space cab", "surface walls 21 m² steel 0.9 mm foam 19 mm");
    assert_eq!((none.len(), one.as_slice()), (0, &[SlipKind::CommaMissing][..]));
    assert_eq!(with, without);
}

#[test]
fn blanks_and_unknowns_are_values() {
    assert_eq!(line("cable a", "size ?"), (vec![(Role::Amount, Value::Blank)], vec![]));
    assert_eq!(line("tank a", "depth unknown"), (vec![(Role::Amount, Value::Unknown)], vec![]));
}

#[test]
fn what_is_said_twice_stands_once() {
    let reading = read("trialfit 1\n\ntank a\n  holds 3 L\n  holds 4 L\n\ntank b\n  holds 5 L\n");
    assert!(matches!(reading.slips.as_slice(), [Slip { kind: SlipKind::SaidTwice { .. }, .. }]), "{:?}", reading.slips);
    assert_eq!(reading.all_statements().len(), 2);
    let stages = read("trialfit 1\n\ndatasheet heater a\n  stage low, 1 A\n  stage high, 3 A\n  stage low, 2 A\n");
    assert!(matches!(stages.slips.as_slice(), [Slip { kind: SlipKind::SaidTwice { .. }, .. }]), "{:?}", stages.slips);
}

/// Pieces of real files and of none, in any order.
fn any_file() -> impl Strategy<Value = String> {
    let words = KINDS.iter().flat_map(|entry| entry.words().map(|word| word.example)).collect::<Vec<_>>();
    let headers = KINDS.iter().map(|entry| entry.example).collect::<Vec<_>>();
    let piece = prop_oneof![
        proptest::sample::select(words).prop_map(|example| format!("  {example}\n")),
        proptest::sample::select(headers).prop_map(|example| format!("{example}\n")),
        "(?s)([ -~]|[\\r\\n\\t \"#,.±×?°²é😀\u{feff}\u{a0}\u{2212}]){0,24}",
        Just("\n".to_string()),
        Just("  ".to_string()),
    ];
    proptest::collection::vec(piece, 0..14).prop_map(|pieces| pieces.concat())
}

proptest! {
    #[test]
    fn any_text_is_read_and_every_place_lies_in_it(text in any_file()) {
        let reading = read(&text);
        let whole = |span: Span| span.start <= span.end && text.get(span.range()).is_some();
        for slip in &reading.slips {
            prop_assert!(whole(slip.span), "{:?}", slip);
        }
        let mut statements = 0;
        for block in &reading.blocks {
            prop_assert!(whole(block.header) && block.first_line <= block.last_line);
            for statement in reading.statements(block) {
                statements += 1;
                prop_assert!(whole(statement.span) && whole(statement.head));
                prop_assert!((block.first_line..=block.last_line).contains(&statement.line));
                for arg in reading.args(statement) {
                    prop_assert!(whole(arg.span) && statement.span.cover(arg.span) == statement.span, "{:?}", arg);
                }
                prop_assert_eq!(reading.at(statement.span.start).1, Some(statement));
            }
        }
        // Every statement is in a block, and every line that says something in a statement, a block or a slip.
        prop_assert_eq!(statements, reading.all_statements().len());
    }

    #[test]
    fn a_line_that_is_not_whole_has_a_slip(text in any_file()) {
        let reading = read(&text);
        for statement in reading.all_statements().iter().filter(|statement| !statement.whole) {
            let near = |slip: &Slip| statement.span.start <= slip.span.end && slip.span.start <= statement.span.end;
            prop_assert!(reading.slips.iter().any(near), "{:?}", statement);
        }
    }
}

/// Days since 1970 from `date --date=… +%s` of GNU coreutils, divided by 86,400.
#[test]
fn days_are_counted_as_the_calendar_does() {
    let known = [
        (0, "1970-01-01"),
        (58, "1970-02-28"),
        (11_016, "2000-02-29"),
        (20_782, "2026-11-25"),
        (47_540, "2100-02-28"),
        (47_541, "2100-03-01"),
    ];
    for (days, written) in known {
        assert_eq!(Date::after_1970(days).to_string(), written);
    }
}

/// POSIX time at midnight of known dates (IEEE Std 1003.1, "seconds since the Epoch").
#[test]
fn days_fall_on_their_dates() {
    for (seconds, date) in [
        (0, "1970-01-01"),
        (951_782_400, "2000-02-29"),
        (951_868_800, "2000-03-01"),
        (1_234_483_200, "2009-02-13"),
        (4_107_542_400, "2100-03-01"),
    ] {
        assert_eq!(Date::after_1970(seconds / 86_400).to_string(), date);
    }
}

#[test]
fn what_a_kit_asks_for_and_how_it_is_used_and_answered() {
    let kit = read(
        "trialfit 1\nkit bunk\n  asks run, length 1 m .. 6 m, usually 4.5 m\n  asks room, space\n  open cable supply, size\n\n\
         fuel-line of heat\n  run the run, up 1 m\n  left 1 m, up the run\n\ndatasheet hose a\n  bore the run\n",
    );
    assert_eq!(kit.slips, []);
    let asked = kit
        .all_statements()
        .iter()
        .flat_map(|it| kit.args(it))
        .filter(|arg| arg.value == Value::Asked(Dimension::Length));
    assert_eq!(asked.map(|arg| kit.slice(arg.span)).collect::<Vec<_>>(), ["the run"; 3]);
    assert_eq!(kit.blocks.iter().map(|block| block.in_kit).collect::<Vec<_>>(), [false, true, false]);

    let job = read(
        "trialfit 1\njob \"a\"\n\nfit bunk as mine\n  run 3.2 m\n  room cab\n  gap ?\n  run 2 m\n  note \"x\"\n\n\
         usual cable\n  insulation 90 °C\n\nchange cable supply of mine\n  size 6 mm²\n  without fuse\n",
    );
    assert!(matches!(job.slips.as_slice(), [Slip { kind: SlipKind::SaidTwice { .. }, .. }]), "{:?}", job.slips);
    let [_, fit, usual, change] = job.blocks.as_slice() else { panic!("{:?}", job.blocks) };
    assert_eq!((fit.of.map(|it| job.slice(it)), fit.name.map(|it| job.slice(it))), (Some("bunk"), Some("mine")));
    let values: Vec<_> =
        job.statements(fit).iter().filter_map(|it| job.args(it).first()).map(|arg| arg.value).collect();
    assert!(matches!(values.as_slice(), [Value::Quantity(_), Value::Name, Value::Blank, Value::Text]), "{values:?}");
    assert_eq!((usual.speaks_of(), change.speaks_of()), (Some(Kind::Cable), Some(Kind::Cable)));
    assert!(job.statements(change).iter().all(|it| it.whole), "{change:?}");
}

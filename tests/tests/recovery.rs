//! Broken files: whatever is cut, deleted or half typed, reading goes on, keeps what it was not about, and says little.
//!
//! The standing test of the language's recovery rules. What a rule of physics finds in a broken file is not asked here.

use spec_lang::reading::{Reading, SlipKind};
use spec_lang::rules::{BENCH, BENCH_SHEETS};
use spec_lang::vocabulary::Kind;
use std::collections::BTreeMap;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Every job and workshop file that the project shows, with the bench job.
fn jobs() -> Vec<(String, String)> {
    fn walk(folder: &Path, out: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                walk(&path, out);
            } else if path.extension().is_some_and(|extension| extension == "trialfit") {
                out.push(path);
            }
        }
    }
    let mut paths = Vec::new();
    walk(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples"), &mut paths);
    paths.sort();
    let mut jobs =
        vec![("bench".to_string(), BENCH.to_string()), ("bench sheets".to_string(), BENCH_SHEETS.to_string())];
    jobs.extend(paths.into_iter().map(|path| {
        let text = std::fs::read_to_string(&path).expect("an example that can be read");
        (path.display().to_string(), text)
    }));
    jobs
}

fn read(text: &str) -> Reading {
    Reading::new(Arc::from(text))
}

/// What a line says, once read: its block's kind, its word, its arguments; a header's name and heater.
#[derive(Clone, Debug, PartialEq)]
struct Said {
    kind: Option<Kind>,
    word: Option<&'static str>,
    args: Vec<String>,
}

fn said(reading: &Reading) -> BTreeMap<u32, Said> {
    let mut lines = BTreeMap::new();
    for block in &reading.blocks {
        if !block.header.is_empty() {
            let args =
                [block.name, block.of].into_iter().flatten().map(|span| reading.slice(span).to_string()).collect();
            lines.insert(block.first_line, Said { kind: block.kind, word: None, args });
        }
        for statement in reading.statements(block) {
            let args = reading.args(statement).iter().map(|arg| format!("{:?} {}", arg.role, reading.slice(arg.span)));
            let word = statement.word.map(|word| word.word);
            lines.insert(statement.line, Said { kind: block.kind, word, args: args.collect() });
        }
    }
    lines
}

/// The lines of the block that holds the line; the line alone outside all blocks.
fn block_of(reading: &Reading, line: u32) -> Range<u32> {
    reading
        .blocks
        .iter()
        .find(|block| (block.first_line..=block.last_line).contains(&line))
        .map_or(line..line + 1, |block| block.first_line..block.last_line + 1)
}

/// Holds that every line outside `touched` still says what it said.
fn others_stay(
    name: &str,
    before: &BTreeMap<u32, Said>,
    after: &Reading,
    touched: &Range<u32>,
    moved: impl Fn(u32) -> Option<u32>,
    what: &str,
) {
    let now = said(after);
    for (&line, was) in before {
        if touched.contains(&line) {
            continue;
        }
        let Some(place) = moved(line) else { continue };
        assert_eq!(now.get(&place), Some(was), "{name}, {what}: line {} says something else", line + 1);
    }
}

/// How many slips the change brought.
fn more_slips(before: &Reading, after: &Reading) -> usize {
    after.slips.len().saturating_sub(before.slips.len())
}

/// Counts of new findings over many changes.
#[derive(Default)]
struct Tally {
    changes: usize,
    findings: usize,
    worst: usize,
    worst_at: String,
}

impl Tally {
    fn add(&mut self, findings: usize, at: impl FnOnce() -> String) {
        self.changes += 1;
        self.findings += findings;
        if findings > self.worst {
            self.worst = findings;
            self.worst_at = at();
        }
    }

    fn average(&self) -> f64 {
        self.findings as f64 / self.changes.max(1) as f64
    }

    fn holds(&self, what: &str, average: f64, worst: usize) {
        println!(
            "{what}: {} changes, {:.3} findings each, worst {} ({})",
            self.changes,
            self.average(),
            self.worst,
            self.worst_at
        );
        assert!(self.changes >= 15, "{what}: too few changes to judge by");
        assert!(self.average() <= average, "{what}: {:.3} findings each, more than {average}", self.average());
        assert!(self.worst <= worst, "{what}: {} findings, more than {worst}: {}", self.worst, self.worst_at);
    }
}

fn lines(text: &str) -> Vec<&str> {
    text.split_inclusive('\n').collect()
}

fn headers(reading: &Reading) -> impl Iterator<Item = u32> + '_ {
    reading.blocks.iter().filter(|block| !block.header.is_empty()).map(|block| block.first_line)
}

#[test]
fn a_line_deleted_touches_its_own_block_only() {
    let mut tally = Tally::default();
    for (name, text) in jobs() {
        let before = read(&text);
        let was = said(&before);
        let lines = lines(&text);
        for gone in 0..lines.len() {
            let cut: String = lines.iter().enumerate().filter(|(at, _)| *at != gone).map(|(_, line)| *line).collect();
            let after = read(&cut);
            let line = gone as u32;
            let moved = |at: u32| if at < line { Some(at) } else { at.checked_sub(1) };
            others_stay(&name, &was, &after, &block_of(&before, line), moved, &format!("without line {}", gone + 1));
            tally.add(more_slips(&before, &after), || format!("{name} without line {}", gone + 1));
        }
    }
    tally.holds("any line deleted", 0.2, 3);
}

#[test]
fn a_file_cut_off_anywhere_keeps_what_stands_before() {
    for (name, text) in jobs() {
        let before = read(&text);
        let was = said(&before);
        for end in 0..text.len() {
            let Some(kept) = text.get(..end) else {
                let lossy = String::from_utf8_lossy(&text.as_bytes()[..end]).into_owned();
                read(&lossy);
                continue;
            };
            let after = read(kept);
            let last = kept.matches('\n').count();
            // Comparing line by line costs more than reading; a cut a line or so apart shows as much.
            if end % 7 == 0 {
                let touched = block_of(&before, last as u32).start..u32::MAX;
                others_stay(&name, &was, &after, &touched, Some, &format!("cut at byte {end}"));
            }
            // The last line is half typed: it may be one finding, with one more for a quote that is still open.
            let start = before.tree.lines[last].span.start;
            let new = after.slips.iter().filter(|slip| slip.span.start >= start).count();
            assert!(new <= 2, "{name} cut at byte {end}: {:?}", after.slips);
        }
    }
}

#[test]
fn a_header_word_cut_short_is_one_finding() {
    let mut tally = Tally::default();
    for (name, text) in jobs() {
        let before = read(&text);
        let was = said(&before);
        for header in headers(&before) {
            let line = &before.tree.lines[header as usize];
            let word = before.tree.items(line)[0].span;
            for kept in 1..word.len() {
                let from = word.start as usize + kept;
                let cut = format!("{}{}", &text[..from], &text[word.end as usize..]);
                let after = read(&cut);
                let what = format!("line {} as `{}`", header + 1, &cut[word.start as usize..from]);
                others_stay(&name, &was, &after, &block_of(&before, header), Some, &what);
                tally.add(more_slips(&before, &after), || format!("{name}, {what}: {:?}", after.slips));
            }
        }
    }
    tally.holds("header words cut short", 1.10, 2);
}

#[test]
fn a_header_line_deleted_is_about_one_finding() {
    let mut tally = Tally::default();
    for (name, text) in jobs() {
        let before = read(&text);
        let lines = lines(&text);
        for header in headers(&before) {
            let cut: String =
                lines.iter().enumerate().filter(|(at, _)| *at as u32 != header).map(|(_, line)| *line).collect();
            let after = read(&cut);
            tally.add(more_slips(&before, &after), || format!("{name} without line {}: {:?}", header + 1, after.slips));
        }
    }
    tally.holds("header lines deleted", 1.1, 3);
}

#[test]
fn a_half_typed_line_is_at_most_two_findings_and_its_own_affair() {
    let mut tally = Tally::default();
    for (name, text) in jobs() {
        let before = read(&text);
        let was = said(&before);
        for number in 0..before.tree.lines.len() {
            let line = &before.tree.lines[number];
            let said = before.tree.items(line);
            let (Some(first), Some(last)) = (said.first(), said.last()) else { continue };
            for end in first.span.start as usize + 1..last.span.end as usize {
                // Every third letter, a different third on each line: all of them take a minute.
                if (number + end) % 3 != 0 || !text.is_char_boundary(end) {
                    continue;
                }
                let cut = format!("{}{}", &text[..end], &text[line.span.end as usize..]);
                let after = read(&cut);
                let what = format!("line {} as `{}`", number + 1, &text[line.span.start as usize..end]);
                others_stay(&name, &was, &after, &block_of(&before, number as u32), Some, &what);
                tally.add(more_slips(&before, &after), || format!("{name}, {what}: {:?}", after.slips));
            }
        }
    }
    tally.holds("lines half typed", 1.0, 2);
}

/// The recovery rules by letter, each on the smallest file that shows it: the slip it gives, and what is still read.
#[test]
fn each_recovery_rule_gives_its_one_finding() {
    type Case = (&'static str, &'static str, fn(&SlipKind) -> bool, usize);
    let cases: &[Case] = &[
        (
            "a: a property at the margin belongs",
            "trialfit 1\njob \"a\"\n  design-cold -15 °C\naltitude 100 m\n  runs-for 8 h\n",
            |kind| matches!(kind, SlipKind::IndentThis { kind: Kind::Job }),
            3,
        ),
        (
            "b: a strange margin line is stray and the block goes on",
            "trialfit 1\njob \"a\"\n  design-cold -15 °C\nto be agreed\n  runs-for 8 h\n",
            |kind| matches!(kind, SlipKind::StrayLine { .. }),
            2,
        ),
        (
            "b: a header word without a name is stray where the block goes on",
            "trialfit 1\njob \"a\"\n  design-cold -15 °C\ntank\n  runs-for 8 h\n",
            |kind| matches!(kind, SlipKind::StrayLine { .. }),
            2,
        ),
        (
            "c: a strange header is guessed by spelling and by its lines",
            "trialfit 1\n\nehxaust of reader\n  pipe steel, 24 mm bore\n  down 100 mm\n",
            |kind| matches!(kind, SlipKind::HeaderGuessed { kind: Kind::Exhaust }),
            2,
        ),
        (
            "c: a strange header that fits nothing is held",
            "trialfit 1\n\ngubbins shelf\n  colour blue\n  taste none\n",
            |kind| matches!(kind, SlipKind::HeaderUnknown { .. }),
            0,
        ),
        (
            "d: an indented header acts as one",
            "trialfit 1\n\njob \"a\"\n  runs-for 8 h\n  tank main\n  holds 60 L\n",
            |kind| matches!(kind, SlipKind::MarginThis { kind: Kind::Tank }),
            2,
        ),
        (
            "e: a paragraph that fits nothing is held",
            "trialfit 1\n\njob \"a\"\n  runs-for 8 h\n\n  holds 60 L\n  reserve 5 L\n",
            |kind| matches!(kind, SlipKind::NoHeader),
            1,
        ),
    ];
    for (what, text, expected, statements) in cases {
        let reading = read(text);
        assert_eq!(reading.slips.len(), 1, "{what}: {:?}", reading.slips);
        assert!(expected(&reading.slips[0].kind), "{what}: {:?}", reading.slips);
        let known = reading.all_statements().iter().filter(|statement| statement.word.is_some()).count();
        assert_eq!(known, *statements, "{what}");
    }
    let belongs = read("trialfit 1\n\njob \"a\"\n  runs-for 8 h\n\n  altitude 100 m\n");
    assert!(belongs.slips.is_empty(), "e: a paragraph that fits belongs: {:?}", belongs.slips);
    let held = read("trialfit 1\n\ngubbins main\n  holds 60 L\n\ntank\n  reserve 5 L\n");
    assert!(held.held.has(Kind::Tank) && !held.held.has(Kind::Battery), "f: names of held kinds may be missing");
}

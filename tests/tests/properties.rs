//! Laws that hold for every job: the author's choice of unit changes nothing, names change nothing, doubt never hides
//! a finding, a longer cable never leaves more voltage, and no text brings the tool down.

use proptest::prelude::*;
use spec_lang::bench::judge_text;
use spec_lang::figures::supply::Case;
use spec_lang::reading::{Date, Reading, Value};
use spec_lang::rules::compose;
use spec_lang::source::{FileId, NoFiles};
use spec_lang::text::{Edit, apply};
use spec_lang::units::{Dimension, Doubt, Quantity, find_unit};
use spec_lang::{Analysis, analyse};
use std::path::PathBuf;
use std::sync::Arc;
use trialfit_tests::{EXAMPLES_DAY, Folder, project, trialfit_files};

fn jobs() -> Vec<PathBuf> {
    trialfit_files(&project().join("examples"))
        .into_iter()
        .filter(|path| !path.to_string_lossy().contains("workshop"))
        .collect()
}

fn judge_as(folder: &Folder, path: &std::path::Path, text: &str) -> Analysis {
    let (file, _) = folder.open(path).expect("an example");
    analyse(file, Arc::new(Reading::new(Arc::from(text))), folder, Date::read(EXAMPLES_DAY))
}

/// Rule and block of every finding and every rule that was not judged.
fn verdict(analysis: &Analysis) -> Vec<(String, usize)> {
    // The block tells where: with other doubts another leg of the same run may be the nearest.
    let line = |offset: u32| {
        let reading = &analysis.readings()[0].1;
        reading.at(offset).0.map_or(reading.tree.line_at(offset), |block| block.first_line as usize)
    };
    let mut out: Vec<(String, usize)> = analysis
        .findings
        .iter()
        .map(|finding| (finding.rule.name.to_string(), line(finding.place.span.start)))
        .collect();
    out.extend(
        analysis.not_judged.iter().map(|left| (format!("not judged {}", left.rule.name), line(left.place.span.start))),
    );
    out.sort();
    out
}

/// Another unit for each kind of quantity, of the other system.
fn other_unit(quantity: &Quantity) -> Option<&'static str> {
    Some(match (quantity.dimension(), quantity.unit.symbol) {
        (Dimension::Length, "mm" | "cm") => "in",
        (Dimension::Length, "m") => "ft",
        (Dimension::Length, _) => "mm",
        (Dimension::Temperature, "°C") => "degF",
        (Dimension::Temperature, _) => "degC",
        (Dimension::Volume, "L") => "gal",
        (Dimension::VolumeFlow, "L/h") => "gal/h",
        (Dimension::VolumeFlow, _) => "m3/h",
        (Dimension::Power, "kW") => "BTU/h",
        (Dimension::Pressure, _) => "psi",
        (Dimension::Time, _) => "min",
        (Dimension::Current, _) => "mA",
        (Dimension::Voltage, _) => "mV",
        (Dimension::Resistance, _) => "ohm",
        _ => return None,
    })
}

fn rewritten(quantity: &Quantity) -> Option<String> {
    let unit = find_unit(other_unit(quantity)?)?;
    let number = |value: f64| format!("{:.12} {}", unit.from_si(value), unit.spelling);
    Some(match quantity.doubt {
        Doubt::None => number(quantity.nominal),
        Doubt::Range => format!("{} .. {}", number(quantity.low), number(quantity.high)),
        Doubt::Tolerance => {
            format!("{} ± {:.12} {}", number(quantity.nominal), quantity.half_width() / unit.factor, unit.spelling)
        }
    })
}

#[test]
fn a_job_in_other_units_has_the_same_findings() {
    let folder = Folder::new();
    let mut changed = 0;
    for path in jobs() {
        let analysis = folder.judge(&path);
        let reading = &analysis.readings()[0].1;
        let mut edits = Vec::new();
        for statement in reading.all_statements().iter().filter(|statement| statement.whole) {
            // A part of `800 x 1900 mm` borrows its unit; a rewrite of one would change the other.
            for arg in reading.args(statement) {
                if let Value::Quantity(quantity) = arg.value {
                    edits.extend(rewritten(&quantity).map(|insert| Edit { span: arg.span, insert }));
                }
            }
        }
        changed += edits.len();
        let text = apply(&reading.tree.text, &edits).expect("edits that fit");
        let again = judge_as(&folder, &path, &text);
        assert_eq!(verdict(&again), verdict(&analysis), "{}", path.display());
        let titles = |analysis: &Analysis| -> Vec<String> {
            analysis.shown().list.iter().map(|figure| format!("{} {}", figure.name, figure.title)).collect()
        };
        assert_eq!(titles(&again), titles(&analysis), "{}", path.display());
        for (one, other) in again.shown().list.iter().zip(analysis.shown().list.iter()) {
            let scale = one.value.abs().max(other.value.abs()).max(1e-6);
            assert!((one.value - other.value).abs() / scale < 1e-6, "{}: {} and {}", one.title, one.value, other.value);
        }
    }
    assert!(changed > 300, "only {changed} quantities rewritten");
}

#[test]
fn renaming_everything_changes_no_figure_and_no_finding() {
    let folder = Folder::new();
    for path in jobs() {
        let analysis = folder.judge(&path);
        // A name that stands twice or leads nowhere has its nearest name in the message; leave such files be.
        if !analysis.job.name_faults.is_empty() {
            continue;
        }
        let reading = &analysis.readings()[0].1;
        let mut edits = Vec::new();
        for defined in &analysis.job.defined {
            if defined.header.file == analysis.file && !defined.name.is_empty() {
                edits.push((defined.name_place.span, format!("new-{}", defined.name)));
            }
        }
        for name in &analysis.job.names {
            let own = name.target.is_some_and(|at| analysis.job.defined[at].header.file == analysis.file);
            if name.place.file == analysis.file && own {
                edits.push((name.place.span, format!("new-{}", reading.slice(name.place.span))));
            }
        }
        edits.sort();
        edits.dedup();
        let edits: Vec<Edit> = edits.into_iter().map(|(span, insert)| Edit { span, insert }).collect();
        let text = apply(&reading.tree.text, &edits).expect("edits that fit");
        let again = judge_as(&folder, &path, &text);
        let values = |analysis: &Analysis| -> Vec<String> {
            analysis.shown().list.iter().map(|figure| format!("{} {:.9}", figure.name, figure.value)).collect()
        };
        assert_eq!(values(&again), values(&analysis), "{}", path.display());
        assert_eq!(verdict(&again), verdict(&analysis), "{}", path.display());
    }
}

#[test]
fn doubt_about_a_length_never_hides_a_finding() {
    let folder = Folder::new();
    let mut widened = 0;
    for path in jobs() {
        let analysis = folder.judge(&path);
        let before = verdict(&analysis);
        let reading = &analysis.readings()[0].1;
        for statement in reading.all_statements().iter().filter(|statement| statement.whole) {
            let leg = statement
                .word
                .is_some_and(|word| ["forward", "back", "left", "right", "up", "down", "run"].contains(&word.word));
            let Some((quantity, span)) = reading.args(statement).iter().find_map(|arg| match arg.value {
                Value::Quantity(quantity) if leg && quantity.doubt == Doubt::None => Some((quantity, arg.span)),
                _ => None,
            }) else {
                continue;
            };
            let insert = format!("{} ± {}", reading.slice(span), quantity.unit.show(quantity.nominal.abs() * 0.1));
            let text = apply(&reading.tree.text, &[Edit { span, insert }]).expect("an edit that fits");
            let after = verdict(&judge_as(&folder, &path, &text));
            for finding in
                before.iter().filter(|(rule, _)| !rule.starts_with("run-misses") && !rule.starts_with("concession"))
            {
                assert!(
                    after.contains(finding),
                    "{}: doubt in `{}` hid {finding:?}",
                    path.display(),
                    reading.slice(statement.span)
                );
            }
            widened += 1;
        }
    }
    assert!(widened > 100, "only {widened} lengths widened");
}

/// How many lines lie between what two texts begin with alike and what they end with alike: a line put in or taken out is one.
fn lines_touched(one: &str, other: &str) -> usize {
    let (one, other): (Vec<&str>, Vec<&str>) = (one.lines().collect(), other.lines().collect());
    let shorter = one.len().min(other.len());
    let before = one.iter().zip(&other).take_while(|(one, other)| one == other).count();
    let after = one.iter().rev().zip(other.iter().rev()).take_while(|(one, other)| one == other).count();
    one.len().max(other.len()) - before - after.min(shorter - before)
}

#[test]
fn a_line_put_in_or_taken_out_is_one_line_touched() {
    assert_eq!(lines_touched("a\nb\nc", "a\nb\nc"), 0);
    assert_eq!(lines_touched("a\nb\nc", "new\na\nb\nc"), 1);
    assert_eq!(lines_touched("a\nb\nb\nc", "a\nb\nc"), 1);
    assert_eq!(lines_touched("a\nb\nc", "x\nb\ny"), 3);
}

#[test]
fn every_remedy_removes_its_finding_and_touches_one_line() {
    let folder = Folder::new();
    let mut made = 0;
    for path in jobs() {
        let analysis = folder.judge(&path);
        let text = &analysis.readings()[0].1.tree.text;
        let errors = |analysis: &Analysis| {
            analysis.standing().filter(|finding| finding.severity == spec_lang::finding::Severity::Error).count()
        };
        for finding in analysis.standing() {
            // Those that want a look are made too: they must remove their finding, and touch nothing else.
            for remedy in &finding.remedies {
                let edits: Vec<Edit> = remedy.edits.iter().map(|(_, edit)| edit.clone()).collect();
                let mended = apply(text, &edits).expect("edits that fit");
                assert!(lines_touched(text, &mended) <= 1, "{}", remedy.title);
                let after = judge_as(&folder, &path, &mended);
                let same = |analysis: &Analysis| analysis.standing().filter(|other| other.rule == finding.rule).count();
                assert!(same(&after) < same(&analysis), "{}: `{}` leaves it", path.display(), remedy.title);
                assert!(
                    !remedy.unseen || errors(&after) <= errors(&analysis),
                    "{}: `{}`",
                    path.display(),
                    remedy.title
                );
                made += 1;
            }
        }
    }
    assert!(made > 0, "the undersized wire of the mobile library has a remedy");
}

/// A job of one supply cable.
fn supply_job(size: &str, length: f64, cold: f64, charge: f64) -> String {
    format!(
        "trialfit 1\n\njob \"x\"\n  design-cold {cold} °C\n\nbattery b\n  made-of 12 V 95 Ah\n  charge {charge} %\n\n\
         datasheet heater h\n  voltage 10.2 V .. 15.5 V\n  stage pre-heat, 9 A, 90 s\n\n\
         heater a\n  datasheet h\n\ncable supply of a\n  from b\n  size {size}\n  fuse 20 A\n  run {length} m\n  ends at a\n"
    )
}

fn voltage_left(text: &str) -> f64 {
    let analysis = analyse(FileId(0), Arc::new(Reading::new(Arc::from(text))), &NoFiles, None);
    let supply = analysis.figures.supplies.first().expect("a supply");
    supply.left.iter().find(|left| left.case == Case::ColdStart).expect("a stage").voltage
}

/// A distance that a rule judges: the rule, the block at the other end of it with `{}` for its place, how that place lies
/// (mm), what a tape to it says.
type Pair = (&'static str, &'static str, fn(u32, &str) -> String, &'static str);

/// Each exhaust below ends at back 1900 mm, right 1040 mm, up 440 mm, 13.5 mm thick from its middle, and goes right.
const PAIRS: &[Pair] = &[
    (
        "exhaust-near-combustion-air",
        "combustion-air of reader\n  hose intake-25\n  passage floor, sealed\n  run 900 mm\n  {}\n  ends facing down",
        |distance, doubt| format!("at back 1900 mm, right {} mm{doubt}, up 440 mm", 1040 + distance),
        "to combustion-air",
    ),
    (
        "exhaust-near-opening",
        "opening side-door\n  kind door\n  into cabin\n  {}\n  spans back 1100 mm, up 1600 mm",
        |distance, doubt| format!("at back {} mm{doubt}, right 1040 mm, up 440 mm", 1900 + distance),
        "to opening side-door",
    ),
    (
        "exhaust-near-return-air",
        "return-air of reader\n  duct air-90\n  passage floor, sealed\n  run 900 mm\n  {}\n  ends facing right",
        |distance, doubt| format!("at back 1900 mm, right {} mm{doubt}, up 440 mm", 1040 + distance),
        "to return-air",
    ),
    (
        "exhaust-near-brake-line",
        "keep-clear brake-pipe\n  kind brake-line\n  {}\n  back 10 mm\n  ends here",
        |distance, doubt| format!("at back 1900 mm, right 1000 mm, up {:.1} mm{doubt}", 426.5 - f64::from(distance)),
        "from pipe to keep-clear brake-pipe",
    ),
    (
        "exhaust-near-other",
        "keep-clear board\n  kind timber\n  {}\n  spans back 10 mm, right 100 mm, down 10 mm",
        |distance, doubt| format!("at back 1900 mm, right 1000 mm, up {:.1} mm{doubt}", 426.5 - f64::from(distance)),
        "from pipe to keep-clear board",
    ),
    (
        "combustion-air-near-tyre",
        "keep-clear wheel\n  kind tyre\n  {}\n  spans back 100 mm, right 300 mm, down 400 mm",
        |distance, doubt| format!("at back {} mm{doubt}, right 640 mm, up 450 mm", 1400 + distance),
        "to keep-clear wheel",
    ),
];

/// The pair by its places, and by tape alone.
fn pair_by_both(pair: usize, distance: u32, doubt: u32) -> (String, String) {
    let (rule, block, place, to) = PAIRS[pair];
    let doubt = if doubt == 0 { String::new() } else { format!(" ± {doubt} mm") };
    let of_air = rule.starts_with("combustion-air");
    let (head, run, at) = if of_air {
        (
            "combustion-air of reader\n  hose intake-25\n",
            "  run 900 mm\n",
            "  at back 1400 mm, right 640 mm, up 450 mm\n",
        )
    } else {
        (
            "exhaust of reader\n  pipe steel, 24 mm bore, 27 mm outside\n",
            "  run 830 mm\n",
            "  at back 1900 mm, right 1000 mm, up 440 mm\n  right 40 mm\n",
        )
    };
    let own = |lines: String| format!("{head}  passage floor, sealed\n{run}{lines}");
    let walked = own(format!("{at}  ends facing right"));
    let taped = own(format!("  ends facing right\n  measured {distance} mm{doubt} {to}"));
    let edge = if of_air { "" } else { "\n  measured 40 mm past edge\n  measured 2 m from pipe to tank main" };
    let there = block.replace("{}", &place(distance, &doubt));
    // Without its place nothing is left of where the thing is.
    let nowhere: Vec<&str> = block
        .lines()
        .filter(|line| !["  {}", "  spans", "  back", "  ends here"].iter().any(|it| line.starts_with(it)))
        .collect();
    (format!("{walked}\n\n{there}"), format!("{taped}{edge}\n\n{}", nowhere.join("\n")))
}

/// How grave the findings of a rule are, and how often it was not judged.
fn judged(example: &str, rule: &str) -> (Vec<&'static str>, usize) {
    let analysis = judge_text(&compose(example));
    let mut found: Vec<&str> = analysis
        .findings
        .iter()
        .filter(|finding| finding.rule.name == rule)
        .map(|finding| finding.severity.word())
        .collect();
    found.sort_unstable();
    (found, analysis.not_judged.iter().filter(|left| left.rule.name == rule).count())
}

proptest! {
    #[test]
    fn voltage_moves_as_physics_does(length in 0.5..15.0f64, more in 0.01..5.0f64, cold in -40.0..20.0f64, charge in 30.0..95.0f64) {
        let here = voltage_left(&supply_job("4 mm²", length, cold, charge));
        prop_assert!(voltage_left(&supply_job("4 mm²", length + more, cold, charge)) < here, "a longer cable");
        prop_assert!(voltage_left(&supply_job("6 mm²", length, cold, charge)) > here, "a larger conductor");
        prop_assert!(voltage_left(&supply_job("4 mm²", length, cold, charge + 4.0)) > here, "a fuller battery");
        let near = voltage_left(&supply_job("4 mm²", length + 1e-6, cold, charge));
        prop_assert!((near - here).abs() < 1e-4, "a step in length is no step in voltage");
    }

    #[test]
    fn a_tape_says_what_the_places_say(pair in 0..PAIRS.len(), distance in 20u32..1400, doubt in 0u32..60) {
        let (rule, ..) = PAIRS[pair];
        let (walked, taped) = pair_by_both(pair, distance, doubt);
        prop_assert_eq!(judged(&taped, rule), judged(&walked, rule), "{} at {} ± {}", rule, distance, doubt);
    }

    #[test]
    fn no_text_brings_it_down(text in "(?s)([ -~]|[\\r\\n\\t²°±×é😀\u{feff}]|trialfit|exhaust of |cable |size |run |fuse |at |ends |down 1 m|\n  ){0,120}") {
        let analysis = analyse(FileId(0), Arc::new(Reading::new(Arc::from(text.as_str()))), &NoFiles, None);
        for finding in &analysis.findings {
            prop_assert!(text.get(finding.place.span.range()).is_some(), "{} lies outside the text", finding.rule.name);
            prop_assert!(finding.rule.name != "rule-failed", "{}", finding.title);
        }
    }

    #[test]
    fn no_cut_of_a_job_brings_it_down(which in 0usize..12, from in 0.0..1.0f64, to in 0.0..1.0f64) {
        let paths = jobs();
        let path = &paths[which % paths.len()];
        let text = std::fs::read_to_string(path).expect("an example");
        let at = |share: f64| {
            let mut at = (share * text.len() as f64) as usize;
            while !text.is_char_boundary(at) { at -= 1; }
            at
        };
        let (from, to) = (at(from.min(to)), at(from.max(to)));
        let cut = format!("{}{}", &text[..from], &text[to..]);
        let analysis = judge_as(&Folder::new(), path, &cut);
        prop_assert!(analysis.findings.iter().all(|finding| finding.rule.name != "rule-failed"));
    }
}

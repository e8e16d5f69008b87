//! Blanks filled: over generated jobs, what the solver says is held against what the rules say of the text that comes out,
//! counted here anew. The sizes, currents and lengths are those of the bench job, which is invented.

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use spec_lang::assist::{OfferKind, Piece, blank_inlays, hover, offers};
use spec_lang::blanks::{Answer, Blank, BlankKind, Outcome, blanks};
use spec_lang::finding::Severity;
use spec_lang::reading::{Date, Reading, Value};
use spec_lang::rules::{BENCH, BENCH_SHEETS};
use spec_lang::source::{FileId, NoFiles};
use spec_lang::text::{Edit, Span, apply};
use spec_lang::{Analysis, analyse};
use std::collections::BTreeMap;
use std::sync::Arc;
use trialfit_tests::{EXAMPLES_DAY, Folder, project, trialfit_files};

fn judge(text: &str) -> Analysis {
    analyse(FileId(0), Arc::new(Reading::new(Arc::from(text))), &NoFiles, None)
}

/// The bench job with its sheets in one file, without its stock list, its heater asking for little loss.
fn bench() -> String {
    let job = BENCH.replace("follows \"bench-sheets.trialfit\"\n", "");
    let sheets = BENCH_SHEETS.trim_start_matches("trialfit 1\n");
    let (sheets, _) = sheets.split_once("stock cable").expect("a stock list at the end");
    let sheets = sheets.replacen("  duct-pressure 80 Pa\n", "  duct-pressure 80 Pa\n  combustion-pressure 150 Pa\n", 1);
    format!("{job}\n{sheets}")
}

/// How often each rule speaks in each block: errors for themselves, and with warnings, notes and what was not judged.
fn heard(analysis: &Analysis) -> BTreeMap<(String, u32, bool), usize> {
    let reading = &analysis.readings()[0].1;
    let block = |offset: u32| reading.at(offset).0.map_or(0, |block| block.first_line);
    let mut count = BTreeMap::new();
    let mut hear = |rule: String, offset: u32, error: bool| {
        for grave in [false, true] {
            if error || !grave {
                *count.entry((rule.clone(), block(offset), grave)).or_insert(0) += 1;
            }
        }
    };
    for finding in analysis.standing().filter(|finding| finding.severity >= Severity::Warning) {
        if finding.rule.name == "value-blank" {
            continue;
        }
        hear(finding.rule.name.to_string(), finding.place.span.start, finding.severity == Severity::Error);
        for related in finding.related.iter().filter(|related| related.label.starts_with("so also: ")) {
            hear(finding.rule.name.to_string(), related.place.span.start, false);
        }
    }
    for left in &analysis.not_judged {
        hear(format!("{} not judged", left.rule.name), left.place.span.start, true);
    }
    count
}

/// Whether some rule speaks more often in some block.
fn worse(one: &Analysis, than: &Analysis) -> bool {
    let than = heard(than);
    heard(one).iter().any(|(key, count)| *count > than.get(key).copied().unwrap_or(0))
}

fn with(text: &str, answers: &[Answer], but: usize, value: Option<&str>) -> String {
    let edits: Vec<Edit> = answers
        .iter()
        .enumerate()
        .filter_map(|(at, answer)| match value.filter(|_| at == but) {
            Some(value) => Some(Edit { span: answer.blank.span, insert: value.to_string() }),
            None if at == but => None,
            None => answer.edit(),
        })
        .collect();
    apply(text, &edits).expect("edits that fit")
}

/// Lines of the bench that may be blank, and the stock list that they are chosen from.
const OPEN: [(&str, &str, &str); 7] = [
    ("size          4 mm²", "size          ?", "cable"),
    ("fuse          20 A", "fuse          ?", "fuse"),
    ("line          2.2 mm", "line          ?", "line"),
    ("hose          intake-25", "hose          ?", "hose"),
    ("pipe          steel, 24 mm bore, 27 mm outside", "pipe          steel, ? bore, 42 mm outside", "pipe"),
    ("duct          air-90\n  back", "duct          ?\n  back", "duct"),
    ("duct          air-90\n  forward", "duct          ?\n  forward", "duct"),
];
const STOCK: [(&str, &[&str]); 6] = [
    ("cable", &["0.75 mm²", "1 mm²", "1.5 mm²", "2.5 mm²", "4 mm²", "6 mm²", "10 mm²", "16 mm²"]),
    ("fuse", &["5 A", "7.5 A", "10 A", "15 A", "20 A", "25 A", "30 A"]),
    ("line", &["1.5 mm", "2.2 mm", "2.5 mm", "4 mm"]),
    ("hose", &["16 mm", "18 mm", "20 mm", "25 mm", "30 mm"]),
    ("pipe", &["18 mm", "22 mm", "24 mm", "30 mm", "38 mm"]),
    ("duct", &["50 mm", "60 mm", "75 mm", "90 mm", "100 mm"]),
];

/// A job: which lines are blank, which sizes are in stock, how cold it is, how full the battery and how long the ways are.
#[derive(Clone, Debug)]
struct Made {
    open: [bool; 7],
    stock: Vec<Vec<bool>>,
    cold: i32,
    charge: u32,
    cable: u32,
    duct: u32,
    pre_heat: u32,
}

impl Made {
    fn stock_of(&self, of: &str) -> Vec<&'static str> {
        let at = STOCK.iter().position(|(name, _)| *name == of).expect("a list");
        STOCK[at].1.iter().zip(&self.stock[at]).filter(|(_, kept)| **kept).map(|(size, _)| *size).collect()
    }

    fn text(&self) -> String {
        let mut text = bench();
        let mut put = |from: &str, to: &str| {
            assert!(text.contains(from), "{from}");
            text = text.replacen(from, to, 1);
        };
        put("design-cold   -15 °C", &format!("design-cold   {} °C", self.cold));
        put("charge        90 %", &format!("charge        {} %", self.charge));
        put("stage         pre-heat, 9.5 A, 90 s", &format!("stage         pre-heat, {} A, 90 s", self.pre_heat));
        put(
            "  back          650 mm\n  right         910 mm\n  up            30 mm\n",
            &format!("  run           {} mm\n", self.cable),
        );
        put(
            "  forward       900 mm\n  up            200 mm\n",
            &format!("  forward       {} mm\n  up            200 mm\n", self.duct),
        );
        for ((from, to, _), open) in OPEN.iter().zip(self.open) {
            if open {
                put(from, to);
            }
        }
        for (of, _) in STOCK {
            let sizes = self.stock_of(of);
            if !sizes.is_empty() {
                text.push_str(&format!("\nstock {of}\n  sizes         {}\n", sizes.join(", ")));
            }
        }
        text
    }
}

fn made() -> impl Strategy<Value = Made> {
    let stock: Vec<_> = STOCK.iter().map(|(_, sizes)| proptest::collection::vec(any::<bool>(), sizes.len())).collect();
    (any::<[bool; 7]>(), stock, -30..5i32, 50..100u32, 300..24_000u32, 300..1_400u32, 6..14u32).prop_map(
        |(open, stock, cold, charge, cable, duct, pre_heat)| Made { open, stock, cold, charge, cable, duct, pre_heat },
    )
}

/// The blanks filled with sizes that no stock list of the generated jobs holds.
fn with_none_of_the_lists(text: &str, answers: &[Answer]) -> String {
    let edits: Vec<Edit> = answers
        .iter()
        .map(|answer| {
            let size = match (answer.blank.kind, answer.blank.word) {
                (BlankKind::Conductor, _) => "25 mm²",
                (BlankKind::Fuse, _) => "40 A",
                (BlankKind::FuelLine, _) => "3.5 mm",
                (_, "duct") => "120 mm",
                _ => "45 mm",
            };
            Edit { span: answer.blank.span, insert: size.to_string() }
        })
        .collect();
    apply(text, &edits).expect("edits that fit")
}

/// The sizes that stand for a blank of the generated jobs, smallest first, where a stock list says them.
fn sizes_of(made: &Made, answer: &Answer) -> Vec<&'static str> {
    let of = match answer.blank.kind {
        BlankKind::Conductor => "cable",
        BlankKind::Fuse => "fuse",
        _ => answer.blank.word,
    };
    made.stock_of(of)
}

/// What every filled job must keep; says how many blanks were filled, insoluble and left open.
fn held(made: &Made) -> [usize; 3] {
    let text = made.text();
    let open = judge(&text);
    let answers = &open.filled().answers;
    assert_eq!(answers.len(), made.open.iter().filter(|open| **open).count());
    for answer in answers {
        let span = answer.blank.span;
        assert_eq!(&text[span.start as usize..span.end as usize], "?", "only the blank's own byte is touched");
    }
    let filled = apply(&text, &open.filled().edits()).expect("edits that fit");
    let again = judge(&filled);
    assert_eq!(again.filled().edits(), vec![], "what is filled once is filled\n{filled}");
    let whole = answers.iter().all(|answer| answer.edit().is_some());
    let mut sums = [0; 3];
    for (at, answer) in answers.iter().enumerate() {
        let sizes = sizes_of(made, answer);
        let others_filled = answers.iter().enumerate().all(|(other, it)| other == at || it.edit().is_some());
        match &answer.outcome {
            Outcome::Filled(chosen) => {
                sums[0] += 1;
                let below = sizes.iter().position(|size| *size == chosen.text).and_then(|here| here.checked_sub(1));
                if let Some(below) = below.filter(|_| whole) {
                    let smaller = judge(&with(&text, answers, at, Some(sizes[below])));
                    assert!(worse(&smaller, &again), "{} would do where {}\n{text}", sizes[below], answer.says());
                }
            }
            Outcome::Insoluble(_) => {
                sums[1] += 1;
                if others_filled {
                    let left_open = judge(&with(&text, answers, at, None));
                    for size in sizes {
                        let tried = judge(&with(&text, answers, at, Some(size)));
                        assert!(worse(&tried, &left_open), "{size} would do: {}\n{text}", answer.says());
                    }
                }
            }
            Outcome::Open(_) => sums[2] += 1,
        }
    }
    if whole {
        // What is the same, word for word, with sizes that are in no list, has nothing to do with what was chosen.
        let elsewhere = judge(&with_none_of_the_lists(&text, answers));
        let same: Vec<&str> = elsewhere.standing().map(|finding| finding.title.as_str()).collect();
        let mut own = judge(&filled);
        own.findings.retain(|finding| !same.contains(&finding.title.as_str()));
        assert!(!worse(&own, &open), "{:#?}\n{:#?}\n{filled}", heard(&own), heard(&open));
    }
    sums
}

#[test]
fn what_is_filled_passes_and_nothing_smaller_does() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut sums = [0; 3];
    for _ in 0..120 {
        let made = made().new_tree(&mut runner).expect("a job").current();
        for (sum, more) in sums.iter_mut().zip(held(&made)) {
            *sum += more;
        }
    }
    assert!(sums[0] > 150 && sums[1] > 10, "the generated jobs show both ends: {sums:?}");
}

/// The bench with one line changed, and what its one blank becomes.
fn one(from: &str, to: &str) -> (String, Answer) {
    let text = bench();
    assert!(text.contains(from), "{from}");
    let text = text.replacen(from, to, 1);
    let analysis = judge(&text);
    let [answer] = analysis.filled().answers.as_slice() else { panic!("one blank in {to}") };
    (text.clone(), answer.clone())
}

const EXHAUST: &str = "  right         690 mm, down 30 mm\n";

#[test]
fn a_length_is_the_last_that_passes() {
    let cases = [
        ("  back          650 mm\n  right         910 mm\n  up            30 mm\n", "  run           ?\n"),
        ("  forward       900 mm\n  up            200 mm\n", "  run           ?\n"),
        ("  back          500 mm\n  ends          in", "  run           ?\n  ends          in"),
        (EXHAUST, "  run           ?, down 30 mm\n  at            back 1900 mm, right 1040 mm, up 440 mm\n"),
    ];
    for (from, to) in cases {
        let (text, answer) = one(from, to);
        let Outcome::Filled(chosen) = &answer.outcome else { panic!("{}", answer.says()) };
        let metres: f64 = chosen.text.strip_suffix(" m").expect("metres").parse().expect("a number");
        let judged = |value: f64| judge(&with(&text, std::slice::from_ref(&answer), 0, Some(&format!("{value:.2} m"))));
        assert!(!worse(&judged(metres), &judge(&text)), "{}", answer.says());
        assert!(worse(&judged(metres + 0.05), &judged(metres)), "{}", answer.says());
        assert!(((metres * 20.0).round() - metres * 20.0).abs() < 1e-9, "a fitter's step: {metres}");
    }
}

#[test]
fn a_leg_is_the_first_that_passes() {
    // The vehicle's side lies 1000 mm from its middle, the port 350 mm: 650 mm out, less what the port's place adds.
    let (text, answer) = one(EXHAUST, "  right         ?, down 30 mm\n");
    let Outcome::Filled(chosen) = &answer.outcome else { panic!("{}", answer.says()) };
    let millimetres: u32 = chosen.text.strip_suffix(" mm").expect("millimetres").parse().expect("a number");
    let judged = |value: u32| judge(&with(&text, std::slice::from_ref(&answer), 0, Some(&format!("{value} mm"))));
    assert!((600..=690).contains(&millimetres), "{}", answer.says());
    assert!(worse(&judged(millimetres - 10), &judged(millimetres)), "{}", answer.says());
    assert_eq!(chosen.rule.map(|rule| rule.name), Some("exhaust-ends-under-vehicle"));
}

#[test]
fn the_limit_of_a_data_sheet_is_the_longest_way() {
    // The sheet's longest return air is 3 m, its longest warm air 6 m.
    let (_, answer) = one("  back          500 mm\n  ends          in", "  run           ?\n  ends          in");
    assert!(answer.says().starts_with("3 m passes; 3.05 m does not"), "{}", answer.says());
    let (_, answer) = one("  forward       900 mm\n  up            200 mm\n", "  run           ?\n");
    assert!(answer.says().starts_with("6 m passes; 6.05 m does not"), "{}", answer.says());
}

#[test]
fn silence_is_no_reason_to_fill() {
    // Nothing is known of the cable's length: no size is judged, so none is chosen.
    let cable = "  back          650 mm\n  right         910 mm\n  up            30 mm\n";
    let text = bench().replace("size          4 mm²", "size          ?").replace(cable, "  run           unknown\n");
    let analysis = judge(&text);
    let [answer] = analysis.filled().answers.as_slice() else { panic!("one blank") };
    assert!(matches!(answer.outcome, Outcome::Open(_)), "{}", answer.says());
    // A length and a size on one way decide each other.
    let text = bench().replace("size          4 mm²", "size          ?").replace(cable, "  run           ?\n");
    let answers = judge(&text).filled().answers.clone();
    assert!(
        answers.len() == 2 && answers.iter().all(|answer| matches!(answer.outcome, Outcome::Open(_))),
        "{answers:?}"
    );
}

#[test]
fn a_fault_elsewhere_keeps_no_blank_open() {
    let text = bench()
        .replace("size          4 mm²", "size          ?")
        .replace(EXHAUST, "  right         200 mm, down 30 mm\n");
    let analysis = judge(&text);
    assert!(analysis.standing().any(|finding| finding.rule.name == "exhaust-ends-under-vehicle"));
    let [answer] = analysis.filled().answers.as_slice() else { panic!("one blank") };
    assert!(matches!(&answer.outcome, Outcome::Filled(filled) if filled.text == "2.5 mm²"), "{}", answer.says());
    // Nor does one that only the text has: a volume that is none.
    let analysis = judge(&text.replace("volume        7.5 m³", "volume        7500 m³"));
    assert!(analysis.standing().any(|finding| finding.rule.name == "implausible-value"));
    let [answer] = analysis.filled().answers.as_slice() else { panic!("one blank") };
    assert!(matches!(&answer.outcome, Outcome::Filled(filled) if filled.text == "2.5 mm²"), "{}", answer.says());
}

#[test]
fn a_heater_is_the_smallest_sheet_that_passes() {
    let (text, answer) = one("  datasheet     air-2\n", "  datasheet     ?\n");
    // The quiet one asks for a silencer that the job has not.
    assert!(matches!(&answer.outcome, Outcome::Filled(filled) if filled.text == "air-2"), "{}", answer.says());
    let quiet = judge(&with(&text, std::slice::from_ref(&answer), 0, Some("air-2-quiet")));
    assert!(quiet.standing().any(|finding| finding.severity >= Severity::Warning));
}

#[test]
fn values_are_written_in_the_system_of_the_job() {
    let text = BENCH.replace("follows \"bench-sheets.trialfit\"\n", "");
    let (sheets, _) = BENCH_SHEETS.trim_start_matches("trialfit 1\n").split_once("stock cable").expect("a stock list");
    let mut text = format!("{text}\n{sheets}").replace("size          4 mm²", "size          ?");
    // The first route is measured in inches: the job is.
    text = text.replace(
        "  down          140 mm\n  right         690 mm, down 30 mm",
        "  down          5.5 in\n  right         27.2 in, down 1.2 in",
    );
    let analysis = judge(&text);
    let [answer] = analysis.filled().answers.as_slice() else { panic!("one blank") };
    let Outcome::Filled(filled) = &answer.outcome else { panic!("{}", answer.says()) };
    assert!(filled.text.ends_with(" AWG"), "{}", answer.says());
}

#[test]
fn an_insoluble_blank_is_a_finding_and_its_page_shows_one() {
    let rule = spec_lang::rules::find("blank-insoluble").expect("a rule with a page");
    let outcome = |example: &str| {
        let analysis = spec_lang::bench::judge_example(example);
        let [answer] = analysis.filled().answers.as_slice() else { panic!("one blank in {example}") };
        let finding = answer.finding(analysis.file, &analysis.readings()[0].1);
        (finding, answer.clone())
    };
    let (finding, answer) = outcome(rule.bad);
    let finding = finding.expect("a finding");
    assert_eq!(finding.rule, rule);
    assert!(finding.why.contains("even with 10 mm²") && answer.edit().is_none(), "{}", finding.why);
    let (finding, answer) = outcome(rule.good);
    assert!(finding.is_none() && answer.edit().is_some(), "{}", answer.says());
}

#[test]
fn an_editor_offers_hints_and_explains_what_passes() {
    let text =
        bench().replace("size          4 mm²", "size          ?").replace("line          2.2 mm", "line          ?");
    let analysis = judge(&text);
    let at = u32::try_from(text.find("size          ?").expect("a blank") + "size          ".len()).expect("short");
    let offered = offers(&analysis, Span::point(at), None);
    let fills: Vec<_> =
        offered.iter().filter(|offer| matches!(offer.kind, OfferKind::Fill | OfferKind::FillAll)).collect();
    let titles: Vec<&str> = fills.iter().map(|offer| offer.title.as_str()).collect();
    assert_eq!(titles, ["write 2.5 mm²", "fill the 2 blanks of the job that can be filled"]);
    assert_eq!(fills[0].finding.map(|finding| finding.rule.name), Some("value-blank"));
    for (offer, left) in fills.iter().zip([1, 0]) {
        let edits: Vec<Edit> = offer.edits.iter().map(|(_, edit)| edit.clone()).collect();
        let after = judge(&apply(&text, &edits).expect("edits that fit"));
        let open = after.standing().filter(|finding| finding.severity >= Severity::Warning).count();
        assert_eq!(open, left, "{:?}", after.findings);
    }
    let shown = hover(&analysis, at).expect("something to say").pieces;
    assert!(shown.contains(&Piece::Title("? = 2.5 mm²".to_string())), "{shown:?}");
    let says = |part: &str| shown.iter().any(|piece| matches!(piece, Piece::Text(text) if text.contains(part)));
    assert!(says("1.5 mm² does not") && says("needed: 10.2 V"), "{shown:?}");
    let hints = blank_inlays(&analysis, Span::new(0, text.len()));
    let labels: Vec<&str> = hints.iter().map(|hint| hint.label.as_str()).collect();
    assert_eq!(labels, ["= 1.5 mm", "= 2.5 mm²"]);
    assert!(blank_inlays(&analysis, Span::new(0, 10)).is_empty(), "nothing outside what is in view");
}

/// Values of the examples that might have been left open, left open and filled again, one at a time: two of each kind in
/// each file.
#[test]
fn values_of_the_examples_that_may_be_blank_fill_without_a_new_finding() {
    let folder = Folder::new();
    let mut sums = BTreeMap::new();
    for path in trialfit_files(&project().join("examples")) {
        let original = folder.judge(&path);
        let judge = |text: &str| {
            analyse(original.file, Arc::new(Reading::new(Arc::from(text))), &folder, Date::read(EXAMPLES_DAY))
        };
        let reading = &original.readings()[0].1;
        let known: Vec<&str> = original.standing().map(|finding| finding.title.as_str()).collect();
        let values =
            reading.all_statements().iter().filter(|statement| statement.whole).flat_map(|it| reading.args(it));
        let mut seen = Vec::new();
        for arg in values.filter(|arg| matches!(arg.value, Value::Quantity(_) | Value::Name)) {
            let blank = Edit { span: arg.span, insert: "?".to_string() };
            let text = apply(&reading.tree.text, &[blank]).expect("an edit that fits");
            let open_at = |blank: &Blank| (blank.span.start == arg.span.start).then_some(blank.kind);
            let Some(kind) = blanks(&Reading::new(Arc::from(text.as_str()))).iter().find_map(open_at) else { continue };
            seen.push(kind);
            if seen.iter().filter(|other| **other == kind).count() > 2 {
                continue;
            }
            let open = judge(&text);
            let answer = open.filled().at(arg.span.start).expect("an answer to each blank").clone();
            let sum: &mut [usize; 3] = sums.entry(format!("{:?}", answer.blank.kind)).or_default();
            let Outcome::Filled(chosen) = &answer.outcome else {
                sum[if matches!(answer.outcome, Outcome::Open(_)) { 2 } else { 1 }] += 1;
                continue;
            };
            sum[0] += 1;
            let filled = apply(&text, &answer.edit().into_iter().collect::<Vec<_>>()).expect("an edit that fits");
            let mut judged = judge(&filled);
            judged.findings.retain(|finding| !known.contains(&finding.title.as_str()));
            let shown = path.display();
            assert!(!worse(&judged, &open), "{shown}: {}\n{:#?}\n{:#?}", answer.says(), heard(&judged), heard(&open));
            assert!(chosen.reason.len() > 8 && !chosen.text.contains('?'), "{shown}: {}", answer.says());
        }
    }
    for kind in ["HeaterSheet", "Bore", "FuelLine", "Conductor", "Fuse", "Run", "Leg"] {
        assert!(sums.get(kind).is_some_and(|sum| sum[0] > 0), "no {kind} among {sums:?}");
    }
}

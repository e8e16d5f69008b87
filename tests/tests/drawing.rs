//! The drawing of every example, read by an independent XML parser: every walked point lies where the scale puts it, every
//! run is drawn or said not to be, looks keep apart without colour, words can be read.

use roxmltree::{Document, Node};
use spec_lang::Analysis;
use spec_lang::physics::geometry::Point;
use spec_lang::report::{CAUTION, Wanted, drawing};
use spec_lang::vocabulary::Kind;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use trialfit_tests::{Folder, project, trialfit_files};

fn examples() -> Vec<(String, Analysis)> {
    let folder = Folder::new();
    let paths = trialfit_files(&project().join("examples"));
    let judged = |path: &Path| {
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        (name, folder.judge(path))
    };
    paths.iter().map(|path| judged(path)).collect()
}

fn drawn(analysis: &Analysis) -> String {
    drawing(analysis, "job", &Wanted::default()).svg
}

fn number(node: Node<'_, '_>, name: &str) -> f64 {
    let value = node.attribute(name).unwrap_or_else(|| panic!("no {name}"));
    value.parse().unwrap_or_else(|_| panic!("{name} is no number: {value}"))
}

fn is(node: Node<'_, '_>, class: &str) -> bool {
    node.attribute("class").is_some_and(|classes| classes.split(' ').any(|known| known == class))
}

fn all<'a, 'd>(node: Node<'a, 'd>, class: &'static str) -> impl Iterator<Item = Node<'a, 'd>> {
    node.descendants().filter(move |node| is(*node, class))
}

fn start(node: Node<'_, '_>) -> Option<u32> {
    node.attribute("data-start").and_then(|value| value.parse().ok())
}

/// Where a point lies in a view: x forward is right; y left is up from above, z up is up from the side (ISO 8855:2011).
fn on_sheet(view: Node<'_, '_>, point: Point) -> (f64, f64) {
    let scale = number(view, "data-scale");
    let origin: Vec<f64> =
        view.attribute("data-origin").expect("an origin").split(' ').map(|it| it.parse().unwrap()).collect();
    let up = if view.attribute("data-view") == Some("above") { point.y } else { point.z };
    (origin[0] + scale * point.x, origin[1] - scale * up)
}

/// What rounding to the hundredth of a unit may leave.
const ROUNDED: f64 = 0.011;

fn near((x, y): (f64, f64), (other_x, other_y): (f64, f64)) -> bool {
    (x - other_x).abs() <= ROUNDED && (y - other_y).abs() <= ROUNDED
}

#[test]
fn every_walked_point_lies_where_the_scale_puts_it_in_both_views() {
    let mut legs = 0;
    for (name, analysis) in examples() {
        let svg = drawn(&analysis);
        let document = Document::parse(&svg).unwrap_or_else(|fault| panic!("{name}: {fault}"));
        for run in analysis.job.runs.iter().filter(|run| run.said.spans.is_empty()) {
            for stretch in &run.walk.stretches {
                let Some((segment, _)) = stretch.leg else { continue };
                legs += 1;
                for from in ["above", "right"] {
                    let found = all(document.root(), "leg").any(|leg| {
                        let view = leg.ancestors().find(|node| is(*node, "view")).expect("a leg lies in a view");
                        let of_line = start(leg) == Some(analysis.job.shown(stretch.place).span.start);
                        let at = |x, y| (number(leg, x), number(leg, y));
                        of_line
                            && view.attribute("data-view") == Some(from)
                            && near(at("x1", "y1"), on_sheet(view, segment.from))
                            && near(at("x2", "y2"), on_sheet(view, segment.to))
                    });
                    assert!(found, "{name}: {from}: {:?}", analysis.job.text(stretch.place));
                }
            }
        }
        // The scale that the views are drawn to is the one that the bar shows.
        let scales: BTreeSet<u64> =
            all(document.root(), "view").map(|view| number(view, "data-scale").to_bits()).collect();
        let bars: Vec<Node<'_, '_>> = all(document.root(), "scale-bar").collect();
        let shown = bars.iter().map(|bar| {
            let line = bar.children().find(|node| node.attribute("data-length").is_some()).expect("the bar's line");
            (number(line, "x2") - number(line, "x1")) / number(line, "data-length")
        });
        for shown in shown {
            assert!(scales.iter().any(|scale| (f64::from_bits(*scale) / shown - 1.0).abs() < 1e-3), "{name}: {shown}");
        }
    }
    assert!(legs > 500, "the examples are walked: {legs} legs");
}

#[test]
fn every_run_is_drawn_or_said_not_to_be_with_the_reason() {
    let mut unmeasured = 0;
    for (name, analysis) in examples() {
        let svg = drawn(&analysis);
        let document = Document::parse(&svg).expect("XML");
        let absent: BTreeMap<u32, String> = all(document.root(), "absent")
            .filter_map(|node| {
                Some((start(node)?, node.descendants().filter_map(|text| text.text()).collect::<String>()))
            })
            .collect();
        let on_sheet: BTreeSet<u32> = all(document.root(), "view")
            .flat_map(|view| view.descendants())
            .filter(|node| is(*node, "run") || is(*node, "keep-clear-box"))
            .filter_map(start)
            .collect();
        for run in analysis.job.runs.iter().filter(|run| run.header.file == analysis.file) {
            let header = run.header.span.start;
            let reads = analysis.job.reads(run);
            let whole = run.walk.stretches.iter().all(|stretch| stretch.leg.is_some()) && run.walk.length.is_some();
            assert!(on_sheet.contains(&header) || absent.contains_key(&header), "{name}: {reads} is nowhere");
            if !whole {
                let why = absent
                    .get(&header)
                    .unwrap_or_else(|| panic!("{name}: {reads}: nothing is said of what is missing"));
                assert!(why.contains("because "), "{name}: {why}");
                unmeasured += usize::from(why.contains("nobody has measured the direction of `run"));
            }
        }
    }
    assert!(unmeasured > 20, "{unmeasured}");
}

#[test]
fn findings_are_numbered_with_their_severity_in_words_and_the_caution_stands_below() {
    for (name, analysis) in examples() {
        let svg = drawn(&analysis);
        let document = Document::parse(&svg).expect("XML");
        let words = |node: Node<'_, '_>| -> String {
            node.descendants().filter(|it| it.is_text()).filter_map(|it| it.text()).collect::<Vec<_>>().join(" ")
        };
        let listed: Vec<String> = all(document.root(), "found").map(words).collect();
        let standing: Vec<_> = analysis.standing().collect();
        assert_eq!(listed.len(), standing.len(), "{name}");
        for (number, (line, finding)) in listed.iter().zip(&standing).enumerate() {
            assert!(line.trim_start().starts_with(&(number + 1).to_string()), "{name}: {line}");
            assert!(line.contains(&format!("{}:", finding.severity.word())), "{name}: {line}");
        }
        // Every number in a view is one of the list, and none stands twice in one view.
        for view in all(document.root(), "view") {
            let marked: Vec<String> = all(view, "finding")
                .filter_map(|mark| {
                    mark.children().find(|it| it.has_tag_name("text")).and_then(|it| it.text()).map(str::to_string)
                })
                .collect();
            let numbers: Vec<usize> = marked
                .iter()
                .flat_map(|marked| marked.split(" +").next().unwrap_or("").split(','))
                .map(|number| number.parse().expect("a number"))
                .collect();
            let once: BTreeSet<usize> = numbers.iter().copied().collect();
            assert_eq!(once.len(), numbers.len(), "{name}: {marked:?}");
            assert!(once.iter().all(|number| (1..=standing.len()).contains(number)), "{name}: {marked:?}");
        }
        let unjudged = all(document.root(), "not-judged").filter(|node| words(*node).contains("NOT JUDGED")).count();
        assert_eq!(unjudged, analysis.not_judged.len(), "{name}");
        let caution = all(document.root(), "caution").map(words).collect::<String>();
        let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(plain(&caution).contains(&plain(CAUTION)), "{name}: {caution}");
    }
}

#[test]
fn the_same_job_gives_the_same_bytes_and_only_numbers() {
    for ((name, one), (_, other)) in examples().into_iter().zip(examples()) {
        for width in [None, Some(1), Some(640), Some(u16::MAX)] {
            let wanted = Wanted { at: None, width };
            let (one, other) = (drawing(&one, "job", &wanted), drawing(&other, "job", &wanted));
            assert_eq!(one.svg, other.svg, "{name}");
            let document = Document::parse(&one.svg).expect("XML");
            let ids: Vec<&str> = document.descendants().filter_map(|node| node.attribute("id")).collect();
            let known: Vec<&str> = one.elements.iter().map(|element| element.id.as_str()).collect();
            assert_eq!(ids, known, "{name}: each element is told of once, in order");
            for node in document.descendants() {
                for of in ["x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "width", "height"] {
                    if let Some(value) = node.attribute(of) {
                        let value: f64 = value.parse().unwrap_or_else(|_| panic!("{name}: {of}={value}"));
                        assert!(value.is_finite(), "{name}: {of}={value}");
                    }
                }
            }
        }
    }
}

/// Words lie on words only where the sheet is full: how much of all words is covered by others.
#[test]
fn words_keep_out_of_each_others_way() {
    let mut whole = 0.0;
    let mut covered = 0.0;
    for (_, analysis) in examples() {
        let svg = drawn(&analysis);
        let document = Document::parse(&svg).expect("XML");
        for view in all(document.root(), "view") {
            let rects: Vec<[f64; 4]> = all(view, "label")
                .filter_map(|label| label.children().find(|it| it.has_tag_name("rect")))
                .map(|rect| ["x", "y", "width", "height"].map(|of| number(rect, of)))
                .collect();
            for (at, [x, y, width, height]) in rects.iter().enumerate() {
                whole += width * height;
                for [other_x, other_y, other_width, other_height] in &rects[at + 1..] {
                    let across = (x + width).min(other_x + other_width) - x.max(*other_x);
                    let down = (y + height).min(other_y + other_height) - y.max(*other_y);
                    covered += across.max(0.0) * down.max(0.0);
                }
            }
        }
    }
    assert!(whole > 0.0 && covered < 0.01 * whole, "{:.1} % of the words lie on others", 100.0 * covered / whole);
}

/// The colours of the style sheet: of the light sheet and of the dark one.
fn colours(svg: &str) -> [BTreeMap<String, [f64; 3]>; 2] {
    let colour = |text: &str| {
        let part = |at: usize| f64::from(u8::from_str_radix(&text[at..at + 2], 16).expect("a colour")) / 255.0;
        [part(1), part(3), part(5)]
    };
    let light = svg.match_indices("var(--trialfit-").map(|(at, lead)| {
        let (name, rest) = svg[at + lead.len()..].split_once(',').expect("a usual colour");
        (name.to_string(), colour(&rest[..7]))
    });
    let dark = svg.split(".trialfit-dark{").nth(1).and_then(|rest| rest.split('}').next()).expect("dark colours");
    let dark = dark.split(';').map(|pair| {
        let (name, value) = pair.trim_start_matches("--trialfit-").split_once(':').expect("a colour");
        (name.to_string(), colour(value))
    });
    [light.collect(), dark.collect()]
}

/// WCAG 2.2, relative luminance and contrast ratio.
fn contrast(one: [f64; 3], other: [f64; 3]) -> f64 {
    let luminance = |colour: [f64; 3]| {
        let linear = |part: f64| if part <= 0.040_45 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) };
        0.2126 * linear(colour[0]) + 0.7152 * linear(colour[1]) + 0.0722 * linear(colour[2])
    };
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

#[test]
fn looks_keep_apart_without_colour_and_every_colour_can_be_seen_on_its_paper() {
    let (_, analysis) =
        examples().into_iter().find(|(name, _)| name == "mobile-library.trialfit").expect("the example");
    for colours in colours(&drawn(&analysis)) {
        assert!(colours.len() > 12, "{colours:?}");
        for (name, colour) in colours.iter().filter(|(name, _)| *name != "paper") {
            // WCAG 2.2: 1.4.3 asks 4.5 of text, 1.4.11 asks 3 of lines.
            let least = if ["ink", "error", "warning", "advice"].contains(&name.as_str()) { 4.5 } else { 3.0 };
            let found = contrast(*colour, colours["paper"]);
            assert!(found >= least, "{name}: {found:.1}, {least} is asked for");
        }
    }
    // Width, dashes and core of each kind's stroke, over all examples: no two kinds share them.
    let mut looks: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut kinds: BTreeSet<&str> = BTreeSet::new();
    for (_, analysis) in examples() {
        for run in &analysis.job.runs {
            kinds.insert(spec_lang::vocabulary::words_of(run.kind).header);
        }
        let svg = drawn(&analysis);
        let document = Document::parse(&svg).expect("XML");
        // One that has no length has no stroke.
        for run in all(document.root(), "run").filter(|run| all(*run, "way").next().is_some()) {
            let core = run.children().any(|node| is(node, "core"));
            let look = format!("{:?} {:?} {core}", run.attribute("stroke-width"), run.attribute("stroke-dasharray"));
            let kind = run.attribute("class").expect("a class").split(' ').nth(1).expect("a kind").to_string();
            looks.entry(kind).or_default().insert(look);
        }
    }
    let seen: BTreeSet<&String> = looks.values().flatten().collect();
    assert_eq!(
        looks.keys().map(String::as_str).collect::<BTreeSet<_>>(),
        kinds,
        "every kind of run is drawn somewhere"
    );
    assert!(kinds.contains(spec_lang::vocabulary::words_of(Kind::CoolantLine).header));
    assert_eq!(seen.len(), looks.len(), "{looks:#?}");
}

#[test]
fn a_hostile_text_stays_text_and_a_torn_one_is_drawn() {
    let folder = Folder::new();
    let path = project().join("examples/mobile-library.trialfit");
    let text = std::fs::read_to_string(&path).expect("the example");
    let judged = |text: &str| drawn(&folder.judge_text(&path, text));
    let hostile = judged(
        &text
            .replace("Mobile library 3", "</title><script>alert(1)</script>&nbsp;\u{202e}\u{ffff}\u{1}")
            .replace("house", "h-ä🛟&<b>")
            .replace("back          6340 mm", "back          1e308 m")
            .replace("at            back 5600 mm", "at            back 1e300 km"),
    );
    let document = Document::parse(&hostile).expect("XML");
    assert!(!document.descendants().any(|node| node.has_tag_name("script") || node.has_tag_name("b")));
    assert!(!hostile.contains("NaN") && !hostile.contains("inf\""), "only numbers");
    let lines: Vec<&str> = text.lines().collect();
    for left_out in 0..lines.len() {
        let torn: Vec<&str> =
            lines.iter().enumerate().filter(|(at, _)| *at != left_out).map(|(_, line)| *line).collect();
        Document::parse(&judged(&torn.join("\n"))).unwrap_or_else(|fault| panic!("without line {left_out}: {fault}"));
    }
    let empty = judged("");
    Document::parse(&empty).expect("XML");
    assert!(empty.contains("nothing is drawn, because no block of this job states where it is"), "{empty}");
}

#[test]
fn what_the_cursor_stands_on_is_set_off_and_nothing_else() {
    let (_, analysis) =
        examples().into_iter().find(|(name, _)| name == "mobile-library.trialfit").expect("the example");
    let text = &analysis.reading(analysis.file).expect("the file").tree.text;
    let set_off = |part: &str| {
        let at = u32::try_from(text.find(part).expect("the part")).ok();
        let svg = drawing(&analysis, "job", &Wanted { at, width: None }).svg;
        let document = Document::parse(&svg).expect("XML");
        let found: BTreeSet<String> = all(document.root(), "here")
            .filter_map(|node| Some(text[start(node)? as usize..].lines().next()?.trim().to_string()))
            .collect();
        found
    };
    let only = |line: &str| BTreeSet::from([line.to_string()]);
    assert_eq!(set_off("forward       400 mm, down 20 mm"), only("forward       400 mm, down 20 mm"));
    assert_eq!(
        set_off("size          2.5 mm²"),
        only("cable supply of reader"),
        "a line that draws nothing: its block"
    );
    assert_eq!(set_off("tank main"), only("tank main"));
    assert!(set_off("number        MV-0147").is_empty());
}

/// Doubt: a leg that may be 200 mm longer or shorter ends in a box of 400 mm along the way it goes.
#[test]
fn a_stated_doubt_is_a_box_as_wide_as_it() {
    let folder = Folder::new();
    let path = project().join("examples/mobile-library.trialfit");
    let text = std::fs::read_to_string(&path).expect("the example");
    let analysis =
        folder.judge_text(&path, &text.replace("forward       1.1 m ± 50 mm", "forward       1.1 m ± 200 mm"));
    let svg = drawn(&analysis);
    let document = Document::parse(&svg).expect("XML");
    for view in all(document.root(), "view") {
        let widths: Vec<f64> =
            all(view, "doubt").map(|node| number(node, "width") / number(view, "data-scale")).collect();
        assert!(widths.iter().any(|width| (width - 0.4).abs() < 1e-3), "{widths:?}");
    }
}

//! Saying less never passes more. Each statement of each example, each part of a statement and each block is taken out,
//! made unknown and misspelt in turn. No
//! question may then come out better: not from *fail* or *open* to *pass* or *does not apply*, and no pass that rested on a
//! figure may stand without one. The exceptions stand below, each with its reason.

use spec_lang::Analysis;
use spec_lang::asks::Gap;
use spec_lang::reading::{Reading, Value};
use spec_lang::report::Answers;
use spec_lang::rules::{Answer, Family, Open};
use spec_lang::source::Place;
use std::collections::{BTreeMap, HashSet};
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use trialfit_tests::{Folder, project, trialfit_files};

/// A question: a rule and the header of the block that it is asked of, which stays the same when a line above it goes.
type Question = (&'static str, String);

/// How a question came out, from worst to best.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Stands {
    Fails,
    Open,
    /// Open because of a line that was not understood, and of nothing else.
    Unread,
    /// By a figure that keeps its limit.
    Measured,
    Passes,
    NotApplicable,
}

fn header(analysis: &Analysis, of: Place) -> String {
    let Some(reading) = analysis.reading(of.file) else { return String::new() };
    reading.slice(of.span).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every question, the worst answer where a block is there twice.
fn questions(analysis: &Analysis) -> BTreeMap<Question, Stands> {
    let answers = Answers::of(analysis);
    let mut all = BTreeMap::new();
    // Rules on slips of the text and on the paper that holds it speak of what is written and ask for nothing.
    for question in analysis.account().questions.iter().filter(|question| !question.rule.asks.is_empty()) {
        let stands = match &question.answer {
            Answer::Fails => Stands::Fails,
            Answer::Open(Open::Facts(lacks)) if lacks.iter().all(|lack| matches!(lack.gap, Gap::NotRead(_))) => {
                Stands::Unread
            }
            Answer::Open(_) => Stands::Open,
            Answer::Passes if answers.figure(question).is_some() => Stands::Measured,
            Answer::Passes => Stands::Passes,
            Answer::NotApplicable(_) => Stands::NotApplicable,
        };
        let known = all.entry((question.rule.name, header(analysis, question.of))).or_insert(stands);
        *known = (*known).min(stands);
    }
    all
}

/// What no longer is asked, or is answered better than before though less is said. A text that a finding of its own tells
/// of (a word that nobody reads) may leave a rule's other findings as they are; and without a block that was in doubt, what
/// was open for that alone may be answered.
fn risen(before: &BTreeMap<Question, Stands>, after: &BTreeMap<Question, Stands>, block_gone: bool) -> Vec<Question> {
    let better = |question: &Question, stands: Stands| match (stands, after.get(question)) {
        (Stands::Unread, _) if block_gone => false,
        (Stands::Fails | Stands::Open | Stands::Unread, Some(now)) => *now > Stands::Unread,
        (Stands::Measured, Some(now)) => *now > Stands::Measured,
        (Stands::Fails | Stands::Open | Stands::Unread | Stands::Measured, None) => true,
        _ => false,
    };
    before
        .iter()
        .filter(|(question, stands)| better(question, **stands))
        .map(|(question, _)| question.clone())
        .collect()
}

/// Lines of which no reader can miss one, with the reason. A check cannot know of what nobody wrote; what a person has to
/// say instead is named where there is such a word.
const UNKNOWABLE: &[(&[&str], &[&str], &str)] = &[
    (
        &["up", "down", "left", "right", "forward", "back", "nearside", "offside", "run", "bend", "at"],
        &[
            "Exhaust",
            "CombustionAir",
            "ReturnAir",
            "WarmAir",
            "FuelLine",
            "CoolantLine",
            "Cable",
            "KeepClear",
            "Change",
        ],
        "a route with fewer legs is a shorter route; where both its ends are placed, a finding tells that it misses one",
    ),
    (
        &[
            "joint",
            "clamp",
            "moving-joint",
            "passage",
            "sleeve",
            "silencer",
            "drain-hole",
            "trap",
            "filter",
            "valve",
            "switch",
            "grille",
            "mixes",
            "tee",
            "outlet",
            "warms",
            "bleed",
            "behind",
            "lagged",
            "sheathed",
            "harness",
        ],
        &["Exhaust", "CombustionAir", "ReturnAir", "WarmAir", "FuelLine", "CoolantLine", "Cable", "Alarm", "Change"],
        "the line is the thing that is judged: without it there is no such joint, switch or grille in the job",
    ),
    (
        &["rides-on"],
        &["Exhaust", "CombustionAir", "ReturnAir", "WarmAir", "FuelLine", "Cable", "KeepClear", "Opening", "Space"],
        "what rides on no second body is fixed to the first",
    ),
    (
        &[
            "surface",
            "ribs",
            "people",
            "contents",
            "other-load",
            "joined-to",
            "starts-by",
            "used-while",
            "rules",
            "measured",
        ],
        &["Space", "Battery", "Heater", "Job", "Vehicle", "Exhaust", "CombustionAir", "ReturnAir"],
        "one of several lines of a list; that there is one at all is asked for where that matters",
    ),
    (
        &["cuts-below", "sensor", "sensor-at"],
        &["Battery", "Heater"],
        "without it there is no battery saver, or no sensor of the heater's own",
    ),
    (&["answer", "asks"], &["Fit", "Kit"], "the kit's usual value stands, or a finding of its own tells"),
];

/// Where saying less leaves a rule less to judge, by word, way and rule, with the reason.
const EXCEPTIONS: &[(&str, &str, &str, &str)] = &[
    ("answer", "misspelt", "surfaces-do-not-close", "an answer that the kit misses is a finding of its own"),
    ("asks", "", "", "what a kit asks for can be a fault in itself, told where it is used: that is gone, too"),
    ("tee", "What left out", "", "likewise"),
    ("outlet", "Closable left out", "", "it can be shut only where somebody says so"),
    ("opening", "block deleted", "", "nobody can know of it: `looked-for openings` is asked for before building"),
    ("keep-clear", "block deleted", "", "nobody can know of it: `looked-for` is asked for before building"),
    ("tank", "block deleted", "exhaust-near-other", "nobody can know of a second tank: `looked-for tanks`"),
    ("tank", "block deleted", "battery-by-fuel-tank", "likewise"),
    ("space", "block deleted", "", "nobody can know of a space that nothing names; a name that is lost is a finding"),
    ("cable", "block deleted", "carbon-monoxide-alarm-can-be-cut", "with the cable its switch is gone"),
    ("heater", "block deleted", "", "nothing is asked of a heater that is gone; what was laid for it is a finding"),
    ("fit", "block deleted", "", "likewise"),
    ("kit", "block deleted", "", "likewise"),
    ("change", "block deleted", "", "the kit's own line stands"),
    (
        "keep",
        "deleted",
        "battery-left-too-empty",
        "the job's own wish is gone; a rule of the trade stands in its place",
    ),
    ("keep", "unknown", "battery-left-too-empty", "likewise, and a finding tells of the unknown"),
    ("line", "deleted", "delivery-pressure-too-high", "of two lines in a row, the bore of the first goes on"),
    ("duct", "deleted", "warm-air-narrows-early", "of two ducts in a row, the wider goes on and narrows nowhere"),
    ("mild-night", "deleted", "tank-fails-in-the-night", "the cold night is judged, which burns more"),
    ("mild-night", "unknown", "tank-fails-in-the-night", "likewise"),
    ("tee", "unknown", "", "it names the tee so: whatever led to it is a finding"),
    (
        "tee",
        "misspelt",
        "",
        "a circle of branches, or a name that two tees have, is gone with the tee: that is a finding",
    ),
];

/// Whether a question may come out better for a reason that stands above.
fn excepted(word: &str, way: &str, rule: &str) -> bool {
    let all = |which: &str| which.is_empty() || which == rule;
    EXCEPTIONS.iter().any(|(of, how, which, _)| *of == word && way.ends_with(how) && all(which))
}

/// Whether a line is one that nobody can miss.
fn is_unknowable(kind: &str, word: &str) -> bool {
    UNKNOWABLE.iter().any(|(words, kinds, reason)| {
        assert!(!reason.is_empty());
        words.contains(&word) && kinds.contains(&kind)
    })
}

/// One way to say less: what stands in place of a part of the text.
struct Less {
    part: Range<usize>,
    instead: String,
    /// The word of the line, or the header of the block.
    word: String,
    way: String,
}

/// The ways to say less of a text. Each statement: its line deleted, all of it unknown, its word misspelt. Each part of a
/// statement: left out, unknown, misspelt; once a file for parts of one sort. Each block: deleted.
fn ways_to_say_less(analysis: &Analysis, reading: &Reading) -> Vec<Less> {
    // A line with a fault of its own, a name or an answer that nobody knows: without the line the fault is gone, too.
    let of_the_text = |family| matches!(family, Family::Text | Family::Names | Family::Layers);
    let at_fault = analysis.findings.iter().filter(|finding| of_the_text(finding.rule.family));
    let at_fault: Vec<_> = at_fault.filter(|it| it.place.file == analysis.file).map(|it| it.place.span.start).collect();
    let text: &str = &reading.tree.text;
    let line_at = |at: usize| text.get(..at).and_then(|before| before.rfind('\n')).map_or(0, |end| end + 1);
    let line_end = |at: usize| text.get(at..).and_then(|rest| rest.find('\n')).map_or(text.len(), |end| at + end + 1);
    let backwards = |part: &Range<usize>| text[part.clone()].chars().rev().collect::<String>();
    let mut ways = Vec::new();
    let mut known = HashSet::new();
    for (number, block) in reading.blocks.iter().enumerate() {
        let Some(kind) = block.kind else { continue };
        let ends = reading.blocks.get(number + 1).map_or(text.len(), |next| line_at(next.header.start as usize));
        let header = reading.slice(block.header).split_whitespace().next().unwrap_or_default();
        let part = line_at(block.header.start as usize)..ends;
        ways.push(Less { part, instead: String::new(), word: header.to_string(), way: "block deleted".to_string() });
        for statement in reading.statements(block) {
            let Some(word) = statement.word else { continue };
            let word = word.word;
            let mut less = |part: Range<usize>, instead: &str, way: &str| {
                let way = way.to_string();
                ways.push(Less { part, instead: instead.to_string(), word: word.to_string(), way });
            };
            let head = statement.head.start as usize..statement.head.end as usize;
            let rest = head.end..statement.span.end as usize;
            // A line that was not understood keeps much open; without it only its own fact is.
            if !statement.whole || at_fault.iter().any(|at| statement.span.touches(*at)) {
                continue;
            }
            if !is_unknowable(&format!("{kind:?}"), word) {
                less(line_at(head.start)..line_end(head.start), "", "deleted");
            }
            if !text[rest.clone()].trim().is_empty() {
                less(rest, " unknown", "unknown");
            }
            less(head.clone(), &backwards(&head), "misspelt");
            for arg in reading.args(statement) {
                let part = arg.span.start as usize..arg.span.end as usize;
                let choice = match arg.value {
                    Value::Choice(choice) => choice,
                    _ => "",
                };
                if !known.insert((kind, word, arg.role, choice)) {
                    continue;
                }
                let role = format!("{:?}", arg.role);
                let comma = text[..part.start].trim_end();
                let from = if comma.ends_with(',') { comma.len() - 1 } else { part.start };
                less(from..part.end, "", &format!("{role} left out"));
                match arg.value {
                    Value::Quantity(_) => less(part, "unknown", &format!("{role} unknown")),
                    Value::Choice(_) | Value::Name => {
                        less(part.clone(), &backwards(&part), &format!("{role} misspelt"))
                    }
                    _ => {}
                }
            }
        }
    }
    ways
}

#[test]
fn saying_less_never_passes_more() {
    let paths = trialfit_files(&project().join("examples"));
    let next = AtomicUsize::new(0);
    let work = || {
        let (folder, mut rises) = (Folder::new(), Vec::new());
        while let Some(path) = paths.get(next.fetch_add(1, Ordering::Relaxed)) {
            of_one(&folder, path, &mut rises);
        }
        rises
    };
    let workers = std::thread::available_parallelism().map_or(1, usize::from);
    let rises: Vec<String> = std::thread::scope(|scope| {
        let running: Vec<_> = (0..workers).map(|_| scope.spawn(work)).collect();
        running.into_iter().flat_map(|worker| worker.join().expect("a worker")).collect()
    });
    assert!(rises.is_empty(), "{} rise:\n{}", rises.len(), rises.join("\n"));
}

fn of_one(folder: &Folder, path: &Path, rises: &mut Vec<String>) {
    let whole = folder.judge(path);
    let before = questions(&whole);
    let reading = whole.reading(whole.file).expect("the file itself").clone();
    let text: &str = &reading.tree.text;
    for Less { part, instead, word, way } in ways_to_say_less(&whole, &reading) {
        let less = [&text[..part.start], instead.as_str(), &text[part.end..]].concat();
        let after = questions(&folder.judge_text(path, &less));
        // What is asked of a block that is gone is asked no more.
        let gone = text[part.clone()].lines().next().unwrap_or_default();
        let gone: Vec<&str> = gone.split('#').next().unwrap_or_default().split_whitespace().collect();
        let told = risen(&before, &after, way == "block deleted")
            .into_iter()
            .filter(|(rule, of)| !excepted(&word, &way, rule) && gone.join(" ") != *of);
        rises.extend(told.map(|(rule, of)| {
            let line = 1 + text[..part.start].matches('\n').count();
            let (was, is) = (before.get(&(rule, of.clone())), after.get(&(rule, of.clone())));
            format!("{}:{line}: `{word}` {way}: {rule} of `{of}`: {was:?}, then {is:?}", path.display())
        }));
    }
}

/// Words for people, or on which a verdict hangs only where no example says it, with the reason. A word, or a kind and a
/// word.
const FOR_PEOPLE: &[(&str, &str)] = &[
    ("note", "free text"),
    ("number", "the job's number"),
    ("drawn-by", "who wrote it"),
    ("drawn-on", "when it was written"),
    ("made-of", "of a sheet: what the finding calls it; what it bears says `bears`"),
    ("rides-on", "places on a body that slews are in the tests of clearances"),
    ("Vehicle origin", "where the axes meet, in words"),
    ("Vehicle up-from", "it says what is taken anyway; with `floor` it is in the tests of exhaust ends"),
    ("traffic", "it turns `nearside` and `offside`"),
    ("Vehicle looked-for", "asked for before building: `--final` is in its own tests"),
    ("Opening into", "the space that gas would come into, as the finding tells"),
    ("KeepClear ends", "it closes the walk"),
    ("FuelLine filter", "missed only where the sheet asks for one"),
    ("WarmAir passage", "for the fitter's sheet"),
    ("HeaterSheet spans", "for the drawing"),
    ("CableSheet outside", "for the passage that a fitter drills"),
    ("FuseSheet holder", "for the list of parts"),
    ("FuseSheet type", "for the list of parts"),
    ("HoseSheet bend-radius", "judged where a `bend` states its radius"),
    ("LineSheet bend-radius", "judged where a `bend` states its radius"),
    ("LineSheet bears", "nothing works out yet how warm a fuel line gets"),
    ("PipeSheet roughness", "a pipe of the examples is as rough as is taken anyway"),
    ("Change clamp", "as in the block that it changes"),
    ("Stock sizes", "for `fill`"),
    ("column", "of a table that is taken in"),
    ("file-names", "of a table that is taken in"),
    ("fits", "of a table that is taken in"),
];

/// What a job comes to: its answers with their figures, and what is found.
fn verdict(analysis: &Analysis) -> Vec<String> {
    let answers = Answers::of(analysis);
    let of_questions = analysis.account().questions.iter().map(|question| {
        let figure = answers.figure(question).map(|held| (held.figure, held.limit.to_bits()));
        let answer = std::mem::discriminant(&question.answer);
        format!("{} {} {answer:?} {figure:?}", question.rule.name, header(analysis, question.of))
    });
    let of_findings = analysis.findings.iter().map(|finding| format!("{} {}", finding.rule.name, finding.title));
    of_questions.chain(of_findings).collect()
}

/// Whether a job, or one that follows this file, comes to another verdict where the file says less.
fn changes_a_verdict(path: &Path, less: &str, jobs: &[(PathBuf, Vec<String>)]) -> bool {
    let folder = Folder::new();
    let own = verdict(&folder.judge_text(path, less));
    let name = path.file_name().map_or(String::new(), |name| name.to_string_lossy().to_string());
    let follows = |job: &Path| std::fs::read_to_string(job).is_ok_and(|text| text.contains(&name));
    jobs.iter().any(|(job, before)| match job == path {
        true => own != *before,
        false => follows(job) && verdict(&folder.judge(job)) != *before,
    })
}

#[test]
fn every_word_of_the_examples_changes_a_verdict() {
    let paths = trialfit_files(&project().join("examples"));
    let jobs: Vec<(PathBuf, Vec<String>)> =
        paths.iter().map(|path| (path.clone(), verdict(&Folder::new().judge(path)))).collect();
    let (mut left, mut done) = (BTreeMap::<String, usize>::new(), HashSet::<String>::new());
    for path in &paths {
        let whole = Folder::new().judge(path);
        let reading = whole.reading(whole.file).expect("the file itself").clone();
        let text: &str = &reading.tree.text;
        for block in &reading.blocks {
            let Some(kind) = block.kind else { continue };
            for statement in reading.statements(block) {
                let Some(word) = statement.word else { continue };
                let known = format!("{kind:?} {}", word.word);
                let tried = left.get(&known).copied().unwrap_or_default();
                if done.contains(&known) || tried >= MOST_TRIES || is_for_people(&known) {
                    continue;
                }
                let part = statement.span.start as usize..statement.span.end as usize;
                let less = [&text[..part.start], "# gone", &text[part.end..]].concat();
                if changes_a_verdict(path, &less, &jobs) {
                    left.remove(&known);
                    done.insert(known);
                } else {
                    left.insert(known, tried + 1);
                }
            }
        }
    }
    let idle: Vec<String> = left.iter().map(|(known, tried)| format!("{known} ({tried} lines)")).collect();
    assert!(idle.is_empty(), "no verdict hangs on {}", idle.join(", "));
}

/// How many lines with one word are tried.
const MOST_TRIES: usize = 40;

/// Whether a word is on the list of words for people.
fn is_for_people(known: &str) -> bool {
    FOR_PEOPLE.iter().any(|(word, _)| known == *word || known.ends_with(&format!(" {word}")))
}

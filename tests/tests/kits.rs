//! Kits and layers end to end: files in, findings, figures and places out. Everything here is invented.

use spec_lang::assist::occurrences;
use spec_lang::finding::Finding;
use spec_lang::reading::{Date, Reading};
use spec_lang::rules::{BENCH, BENCH_KITS, BENCH_SHEETS};
use spec_lang::source::{FileId, Followed, Place, Source};
use spec_lang::text::Span;
use spec_lang::{Analysis, analyse};
use std::sync::Arc;

/// Files by name, numbered as they stand; the first is the one to judge.
struct Files(Vec<(String, Arc<Reading>)>);

impl Files {
    fn new(files: &[(&str, &str)]) -> Files {
        let read = |text: &str| Arc::new(Reading::new(Arc::from(text)));
        Files(files.iter().map(|(name, text)| (name.to_string(), read(text))).collect())
    }

    fn judge(&self) -> Analysis {
        analyse(FileId(0), Arc::clone(&self.0[0].1), self, Date::read("2026-01-15"))
    }
}

impl Source for Files {
    fn follow(&self, _: FileId, written: &str) -> Followed {
        match self.0.iter().position(|(name, _)| name == written) {
            Some(at) => Followed::File(FileId(at as u32), Arc::clone(&self.0[at].1)),
            None => Followed::Missing,
        }
    }
}

/// The bench job without its heater, following the kits, with a fit and whatever else at its end.
fn job(more: &str) -> String {
    let of_reader = |block: &str| {
        let header = block.lines().next().unwrap_or("");
        header == "heater reader" || header.ends_with(" of reader")
    };
    let blocks: Vec<&str> = BENCH.split("\n\n").filter(|block| !of_reader(block)).collect();
    let text = blocks.join("\n\n");
    let text = text.replacen(
        "follows \"bench-sheets.trialfit\"",
        "follows \"kits.trialfit\"\nfollows \"bench-sheets.trialfit\"",
        1,
    );
    format!("{}\n\n{more}\n", text.trim_end())
}

fn kits(change: impl Fn(&str) -> String) -> String {
    change(BENCH_KITS)
}

fn files(more: &str, kit_text: &str) -> Files {
    Files::new(&[("job.trialfit", &job(more)), ("bench-sheets.trialfit", BENCH_SHEETS), ("kits.trialfit", kit_text)])
}

const FIT: &str =
    "fit cabin-2 as reader\n  room          cabin\n  store         house\n  diesel-tank   main\n  feed          1.6 m";

fn said(analysis: &Analysis) -> Vec<String> {
    let findings = analysis.standing().map(|finding| format!("{}: {}", finding.rule.name, finding.title));
    let left = analysis.not_judged.iter().map(|left| format!("NOT JUDGED {}: {}", left.rule.name, left.because));
    findings.chain(left).collect()
}

fn text(analysis: &Analysis, place: Place) -> String {
    analysis.reading(place.file).expect("a file of the analysis").slice(place.span).to_string()
}

/// Every place that leaves the crate lies in one of the files, and within its text.
fn every_place_is_real(analysis: &Analysis) {
    let real = |place: Place, what: &str| {
        let reading = analysis.reading(place.file).unwrap_or_else(|| panic!("{what}: {place:?} is in no file"));
        assert!(place.span.end as usize <= reading.tree.text.len(), "{what}: {place:?}");
        assert!(reading.tree.text.is_char_boundary(place.span.start as usize), "{what}: {place:?}");
    };
    for finding in &analysis.findings {
        real(finding.place, finding.rule.name);
        finding.used.iter().for_each(|place| real(*place, finding.rule.name));
        finding.related.iter().for_each(|related| real(related.place, finding.rule.name));
        for (file, edit) in finding.remedies.iter().flat_map(|remedy| &remedy.edits) {
            real(Place { file: *file, span: edit.span }, finding.rule.name);
            assert_eq!(*file, analysis.file, "{} writes into another file", finding.rule.name);
        }
    }
    analysis.not_judged.iter().for_each(|left| real(left.place, left.rule.name));
    for figure in analysis.shown().list.iter() {
        real(figure.subject, figure.name);
        figure.rests_on.iter().for_each(|place| real(*place, figure.name));
    }
    analysis.shown().missing.iter().for_each(|missing| real(missing.subject, &missing.title));
    for found in occurrences(&analysis.job) {
        real(found.place, "a name");
        found.meaning.and_then(|meaning| meaning.place()).into_iter().for_each(|place| real(place, "a meaning"));
    }
    analysis.margins().iter().for_each(|judged| real(judged.place, judged.rule.name));
    let length = analysis.reading(analysis.file).unwrap().tree.text.len();
    let drawn = spec_lang::report::drawing(analysis, "job", &spec_lang::report::Wanted::default());
    drawn.elements.iter().for_each(|element| real(element.place, "drawn"));
    let whole = Span { start: 0, end: length as u32 };
    for inlay in spec_lang::assist::inlays(analysis, whole) {
        assert!(inlay.at as usize <= length, "a hint behind the text's end");
    }
    for margins in spec_lang::assist::margins(analysis) {
        assert!(margins.header.end as usize <= length, "margins above no header of the text");
    }
    for offset in (0..length as u32).step_by(7) {
        if let Some(hover) = spec_lang::assist::hover(analysis, offset) {
            for piece in hover.pieces {
                if let spec_lang::assist::Piece::Place(label, place) = piece {
                    real(place, &label);
                }
            }
        }
        spec_lang::assist::complete(analysis, offset);
    }
}

fn only<'a>(analysis: &'a Analysis, rule: &str) -> &'a Finding {
    let found: Vec<&Finding> = analysis.findings.iter().filter(|finding| finding.rule.name == rule).collect();
    assert_eq!(found.len(), 1, "{rule}: {:#?}", said(analysis));
    found[0]
}

/// A fitted kit is the blocks it stands for: the job that fits the bench's kit is as clean as the bench itself, and every
/// figure is the one of the job that writes the same blocks out.
#[test]
fn a_fitted_kit_gives_the_figures_of_the_blocks_it_stands_for() {
    let fitted = files(FIT, BENCH_KITS).judge();
    assert_eq!(said(&fitted), Vec::<String>::new());
    let written_out = BENCH.replace(
        "  back          650 mm\n  right         910 mm\n  up            30 mm\n  ends          at reader",
        "  run           1.6 m\n  ends          at reader",
    );
    // A fit puts its name before those of the kit's own blocks.
    let written_out =
        written_out.replace("cable supply", "cable reader-supply").replace("warm-air main", "warm-air reader-main");
    let plain = Files::new(&[("job.trialfit", &written_out), ("bench-sheets.trialfit", BENCH_SHEETS)]).judge();
    let figures = |analysis: &Analysis| -> Vec<(String, String)> {
        let mut all: Vec<_> = analysis.shown().list.iter().map(|it| (it.title.clone(), it.shown())).collect();
        all.sort();
        all
    };
    assert_eq!(figures(&fitted), figures(&plain));
    assert!(figures(&plain).len() > 50);
    every_place_is_real(&fitted);
    every_place_is_real(&plain);
    let used: Vec<String> = fitted.job.uses(FileId(2)).iter().map(|it| format!("{} {}", it.what, it.name)).collect();
    assert_eq!(used, ["kit cabin-2"]);
    let shown = spec_lang::report::figures_text(&fitted, "job", 200);
    assert!(shown.contains("from kit cabin-2, line 66, `size 4 mm²`"), "{shown}");
}

/// A fault in a kit's line is told in the job that fits it: at the answer where it rests on one, else at the fit, with
/// the kit's line beside it.
#[test]
fn what_is_wrong_with_a_kit_is_told_in_the_job_with_the_kits_line_beside_it() {
    let long = kits(|text| text.replace("length 1.2 m .. 3 m", "length 1.2 m .. 40 m"));
    let fit = FIT.replace("1.6 m", "39 m");
    let analysis = files(&fit, &long).judge();
    let drop = analysis.standing().find(|finding| finding.title.contains("V") && finding.rule.name.contains("voltage"));
    let drop = drop.unwrap_or_else(|| panic!("{:#?}", said(&analysis)));
    assert_eq!(drop.place.file, analysis.file, "{drop:#?}");
    every_place_is_real(&analysis);

    let thin = kits(|text| text.replace("  hose          intake-25\n", "  hose          no-such-hose\n"));
    let analysis = files(FIT, &thin).judge();
    let lost = only(&analysis, "name-not-found");
    assert_eq!(text(&analysis, lost.place), "fit cabin-2 as reader");
    assert_eq!(text(&analysis, lost.related[0].place), "no-such-hose");
    assert_eq!(lost.related[0].label, "in kit cabin-2");
    assert!(lost.remedies.is_empty(), "a job's fixes do not write into a kit");
}

/// Two fits of one kit are told apart: each finding stands at its own fit, and each has its own figures.
#[test]
fn two_fits_of_one_kit_keep_their_places_apart() {
    let kit = kits(|text| text.replace("length 1.2 m .. 3 m", "length 1.2 m .. 40 m"));
    let second = FIT.replace("as reader", "as second").replace("1.6 m", "39 m");
    let analysis = files(&format!("{FIT}\n\n{second}"), &kit).judge();
    every_place_is_real(&analysis);
    let names: Vec<&str> = analysis.job.heaters.iter().map(|heater| heater.name.as_str()).collect();
    assert_eq!(names, ["reader", "second"]);
    let left = |of: &str| {
        let list = &analysis.shown().list;
        let lowest = list.iter().filter(|it| it.name == "voltage_left" && it.title.contains(of)).map(|it| it.value);
        lowest.fold(f64::INFINITY, f64::min)
    };
    assert!(left("second") < left("reader") - 1.0, "{} and {}", left("second"), left("reader"));
    let at_second = |finding: &&Finding| {
        let fit = analysis.job.fits[1].header;
        finding.place == fit || text(&analysis, finding.place) == "39 m"
    };
    let drops: Vec<&Finding> =
        analysis.standing().filter(|it| it.rule.name.contains("voltage") || it.rule.name.contains("drop")).collect();
    assert!(!drops.is_empty() && drops.iter().all(at_second), "{drops:#?}");
}

/// The job over what it follows, a file over what it follows; what a block says itself over all.
#[test]
fn the_higher_layer_counts() {
    let temperature = |files: &Files| {
        let analysis = files.judge();
        every_place_is_real(&analysis);
        let cable = analysis.job.runs.iter().find(|run| run.said.insulation.get().is_some());
        cable.and_then(|run| run.said.insulation.get()).map(|it| (it.nominal - 273.15).round())
    };
    let usual =
        |degrees: u32, follows: &str| format!("trialfit 1\n{follows}\nusual cable\n  insulation {degrees} °C\n");
    let with = |own: &str, job_usual: &str, workshop: &str, fleet: &str| {
        let text = BENCH.replacen(
            "follows \"bench-sheets.trialfit\"",
            "follows \"bench-sheets.trialfit\"\nfollows \"fleet\"\nfollows \"workshop\"",
            1,
        );
        let text = text.replace("  size          4 mm²\n", &format!("  size          4 mm²\n{own}"));
        Files::new(&[
            ("job", &format!("{text}\n{job_usual}")),
            ("bench-sheets.trialfit", BENCH_SHEETS),
            ("workshop", workshop),
            ("fleet", fleet),
        ])
    };
    let fleet = usual(70, "");
    let workshop = usual(90, "follows \"fleet\"");
    assert_eq!(temperature(&with("", "", "trialfit 1\n", &fleet)), Some(70.0));
    assert_eq!(temperature(&with("", "", &workshop, &fleet)), Some(90.0));
    let own = "\nusual cable\n  insulation 105 °C\n";
    assert_eq!(temperature(&with("", own, &workshop, &fleet)), Some(105.0));
    assert_eq!(temperature(&with("  insulation 150 °C\n", own, &workshop, &fleet)), Some(150.0));
    let analysis = with("", "", &workshop, &fleet).judge();
    assert_eq!(said(&analysis), Vec::<String>::new());
    let used: Vec<String> = analysis.job.uses(FileId(2)).iter().map(|it| format!("{} {}", it.what, it.name)).collect();
    assert_eq!(used, ["usual for cable insulation"]);
    // Neither follows the other: nobody can tell which counts.
    let apart = usual(90, "");
    let analysis = with("", "", &apart, &fleet).judge();
    let finding = only(&analysis, "layers-disagree");
    assert_eq!(finding.place.file, analysis.file);
    let analysis = with("", own, &apart, &fleet).judge();
    assert_eq!(said(&analysis), Vec::<String>::new(), "the job decides");
}

/// Words are replaced one by one, a walk as a whole, and nothing that the kit keeps closed.
#[test]
fn changes_replace_word_by_word_and_walks_as_a_whole() {
    let change = "change cable supply of reader\n  size          6 mm²\n\nchange exhaust of reader\n  pipe          steel, 24 mm bore, 27 mm outside\n  down          200 mm\n  ends          facing down";
    let analysis = files(&format!("{FIT}\n\n{change}"), BENCH_KITS).judge();
    every_place_is_real(&analysis);
    let run = |kind: &str| {
        let all = analysis.job.runs.iter();
        all.into_iter().find(|run| analysis.job.text(run.header).starts_with(kind)).expect("a run")
    };
    assert_eq!(run("exhaust").walk.length.map(|it| it.nominal), Some(0.2));
    // 150 mm and 1.6 m as the kit has them: only the size is another.
    let cable = run("cable").walk.length.map(|it| it.nominal).unwrap_or(0.0);
    assert!((cable - 1.75).abs() < 1e-9, "{cable}");
    let sizes = run("cable").steps.iter().filter_map(|step| match &step.met {
        spec_lang::model::Met::Conductor(it) => it.size.get().map(|size| size.unit.show(size.nominal)),
        _ => None,
    });
    assert_eq!(sizes.collect::<Vec<_>>(), ["6 mm²"]);

    // The battery's cable keeps where it starts, though its walk is said anew; what a walk lacks has no place in it.
    let open = kits(|text| text.replace("cable supply, size", "cable supply"));
    let anew = "change cable supply of reader\n  size          6 mm²\n  back          150 mm\n  fuse          20 A\n  run           2 m\n  ends          at reader";
    let analysis = files(&format!("{FIT}\n\n{anew}"), &open).judge();
    assert_eq!(said(&analysis), Vec::<String>::new());
    let bare = "change cable supply of reader\n  switch        isolator";
    let analysis = files(&format!("{FIT}\n\n{bare}"), &open).judge();
    only(&analysis, "change-has-no-place");

    let closed = "change fuel-line of reader\n  line          1.5 mm\n\nchange exhaust of other\n  without       pipe";
    let analysis = files(&format!("{FIT}\n\n{closed}"), BENCH_KITS).judge();
    only(&analysis, "change-not-open");
    only(&analysis, "change-of-nothing");
}

/// A kit is judged alone at its bounds: what fails at one end only says so, and at which.
#[test]
fn a_kit_alone_is_judged_at_its_bounds() {
    let stand_ins: String = ["vehicle bench-van", "space cabin", "battery house", "tank main"]
        .iter()
        .map(|header| {
            let block = BENCH.split("\n\n").find(|block| block.starts_with(header)).unwrap();
            let block = block.replacen("space cabin", "space room", 1).replacen("battery house", "battery store", 1);
            format!("\n{}\n", block.replacen("tank main", "tank diesel-tank", 1))
        })
        .collect();
    let judged = |kit: &str| Files::new(&[("kits", kit), ("bench-sheets.trialfit", BENCH_SHEETS)]).judge();
    let analysis = judged(&(BENCH_KITS.to_string() + &stand_ins));
    every_place_is_real(&analysis);
    assert_eq!(said(&analysis), Vec::<String>::new());
    let long = (BENCH_KITS.to_string() + &stand_ins).replace("1.2 m .. 3 m", "1.2 m .. 40 m");
    let analysis = judged(&long);
    every_place_is_real(&analysis);
    assert!(!said(&analysis).is_empty());
    for finding in analysis.standing() {
        assert!(finding.title.contains("with `feed` at 40 m"), "{}", finding.title);
    }
    // Without stand-ins nothing is missed that the job brings.
    let analysis = judged(BENCH_KITS);
    every_place_is_real(&analysis);
    assert_eq!(said(&analysis), Vec::<String>::new());
}

/// A kit that nobody fits is no part of the job that follows its file.
#[test]
fn a_kit_that_is_not_fitted_brings_nothing() {
    let bench = BENCH.replacen("follows", "follows \"kits\"\nfollows", 1);
    let with = Files::new(&[("job", &bench), ("bench-sheets.trialfit", BENCH_SHEETS), ("kits", BENCH_KITS)]).judge();
    assert_eq!(said(&with), Vec::<String>::new());
    assert_eq!(with.job.heaters.len(), 1);
    assert!(with.job.uses(FileId(2)).is_empty());
}

/// The names of a job are what they are, whatever is renamed: a fit's name, a kit's, an asked name.
#[test]
fn answers_may_stay_blank_and_every_word_may_be_half_typed() {
    let whole = format!("{FIT}\n\nchange exhaust of reader\n  without pipe\n\nusual cable\n  insulation 105 °C\n");
    for cut in 0..=whole.len() {
        if whole.is_char_boundary(cut) && cut % 3 == 0 {
            every_place_is_real(&files(&whole[..cut], BENCH_KITS).judge());
        }
    }
    for cut in (0..BENCH_KITS.len()).filter(|cut| BENCH_KITS.is_char_boundary(*cut)).step_by(9) {
        let analysis = files(FIT, &BENCH_KITS[..cut]).judge();
        every_place_is_real(&analysis);
        let alone = Files::new(&[("kits", &BENCH_KITS[..cut]), ("bench-sheets.trialfit", BENCH_SHEETS)]).judge();
        every_place_is_real(&alone);
    }
}

/// The same job in other units, and with other names, says the same.
#[test]
fn units_and_names_change_nothing() {
    let kit = kits(|text| text.replace("length 1.2 m .. 3 m", "length 1.2 m .. 40 m"));
    let count = |fit: &str, kit: &str| {
        let mut rules: Vec<&str> = files(fit, kit).judge().standing().map(|it| it.rule.name).collect::<Vec<_>>();
        rules.sort_unstable();
        rules
    };
    let fit = FIT.replace("1.6 m", "39 m");
    let plain = count(&fit, &kit);
    assert!(!plain.is_empty());
    assert_eq!(plain, count(&fit.replace("39 m", "127.952755905 ft"), &kit));
    assert_eq!(plain, count(&fit.replace("  feed ", "  reach "), &kit.replace("feed", "reach")));
    assert_eq!(plain, count(&fit.replace("cabin-2", "other"), &kit.replace("cabin-2", "other")));
    assert_eq!(plain, count(&fit.replace("as reader", "as stove"), &kit));
}

/// Every name leads to where it is defined, across files, and renaming it changes what it means nowhere.
#[test]
fn names_lead_from_the_job_into_the_kit_and_back() {
    let more = format!(
        "{FIT}\n\nchange cable supply of reader\n  size          6 mm²\n\nconcession isolator-in-feed\n  on            cable reader-supply of reader\n  because       \"seen\"\n  by            \"foreman\"\n"
    );
    let files = files(&more, BENCH_KITS);
    let analysis = files.judge();
    every_place_is_real(&analysis);
    let all = occurrences(&analysis.job);
    let nth = |needle: &str, file: u32, nth: usize| {
        let text = &files.0[file as usize].1.tree.text;
        let at = text.match_indices(needle).nth(nth).unwrap_or_else(|| panic!("{needle}")).0 as u32;
        let found = all.iter().find(|it| it.place.file == FileId(file) && it.place.span.start == at);
        found.unwrap_or_else(|| panic!("no name at {needle} {nth} of file {file}")).meaning
    };
    // What is asked for: in the kit, where it is used, and where it is answered.
    let feed = nth("feed,", 2, 0);
    assert_eq!(nth("feed\n", 2, 0), feed);
    assert_eq!(nth("feed ", 0, 0), feed);
    let room = nth("room, space", 2, 0);
    assert_eq!(nth("room\n", 2, 0), room);
    assert_eq!(nth("room          cabin", 0, 0), room);
    // The kit, the fit, the heater within the kit.
    assert_eq!(nth("cabin-2", 0, 0), nth("cabin-2", 2, 0));
    assert_eq!(nth("it\n", 2, 0), nth("it\n", 2, 1));
    let reader = nth("reader", 0, 0);
    assert_eq!(nth("reader\n", 0, 1), reader, "of a change");
    // A block of the kit, changed and conceded by the job.
    let supply = nth("supply of it", 2, 0);
    assert_eq!(nth("supply of reader", 0, 0), supply);
    assert_eq!(nth("reader-supply", 0, 0), reader);
    assert_eq!(nth("supply of reader", 0, 1), supply);
    assert!(all.iter().filter(|it| it.place.file == FileId(2)).all(|it| it.meaning.is_some()), "{all:#?}");

    // Renamed in both files, everything means what it meant.
    for (meaning, new) in [(feed, "reach"), (room, "where"), (reader, "stove"), (supply, "lead")] {
        let edits = spec_lang::assist::renamed(&analysis.job, meaning.unwrap(), new);
        let text = |file: u32| {
            let own: Vec<_> =
                edits.iter().filter(|(id, _)| *id == FileId(file)).map(|(_, edit)| edit.clone()).collect();
            spec_lang::text::apply(&files.0[file as usize].1.tree.text, &own).unwrap()
        };
        let (job, kit) = (text(0), text(2));
        let after =
            Files::new(&[("job.trialfit", &job), ("bench-sheets.trialfit", BENCH_SHEETS), ("kits.trialfit", &kit)])
                .judge();
        assert!(spec_lang::assist::same_meanings(&analysis.job, &after.job), "{new}: {job}\n{kit}");
        let rules = |analysis: &Analysis| analysis.findings.iter().map(|it| it.rule.name).collect::<Vec<_>>();
        assert_eq!(rules(&analysis), rules(&after), "{new}");
    }
}

/// What may be written in a fit is what the kit asks for; what stands there is explained from the kit.
#[test]
fn a_fit_is_completed_and_explained_from_the_kit() {
    let at = |more: &str, behind: &str| {
        let files = files(more, BENCH_KITS);
        let analysis = files.judge();
        let text = files.0[0].1.tree.text.to_string();
        (analysis, (text.rfind(behind).unwrap() + behind.len()) as u32)
    };
    let labels = |more: &str, behind: &str| -> Vec<String> {
        let (analysis, offset) = at(more, behind);
        spec_lang::assist::complete(&analysis, offset).into_iter().map(|it| it.label).collect()
    };
    assert_eq!(labels("fit cabin-2 as reader\n  room cabin\n  ", "cabin\n  "), ["store", "diesel-tank", "feed"]);
    assert_eq!(labels("fit cabin-2 as reader\n  room ", "room "), ["cabin"]);
    assert!(labels("fit cabin-2 as reader\n  feed 2", "feed 2").contains(&"m".to_string()));
    assert_eq!(labels("fit ", "fit "), ["cabin-2"]);
    assert!(labels("usual ", "usual ").contains(&"cable".to_string()));
    let alone =
        Files::new(&[("kits", &BENCH_KITS.replace("the feed", "the ")), ("bench-sheets.trialfit", BENCH_SHEETS)]);
    let offset = (alone.0[0].1.tree.text.find("the \n").unwrap() + 4) as u32;
    let offered: Vec<String> =
        spec_lang::assist::complete(&alone.judge(), offset).into_iter().map(|it| it.label).collect();
    assert_eq!(offered, ["feed"]);

    let (analysis, offset) = at(FIT, "  fe");
    let shown = format!("{:?}", spec_lang::assist::hover(&analysis, offset).expect("a hover").pieces);
    assert!(shown.contains("a length from 1.2 m to 3 m, usually 1.6 m"), "{shown}");
    let (analysis, offset) = at(FIT, "feed          1");
    let shown = format!("{:?}", spec_lang::assist::hover(&analysis, offset).expect("a hover").pieces);
    assert!(shown.contains("used in kit cabin-2: `run the feed`"), "{shown}");
    let usual = format!("{FIT}\n\nusual battery\n  charge        70 %\n");
    let files = files(&usual, BENCH_KITS);
    let offset = (files.0[0].1.tree.text.find("charge        90 %").unwrap() + 16) as u32;
    let shown = format!("{:?}", spec_lang::assist::hover(&files.judge(), offset).expect("a hover").pieces);
    assert!(shown.contains("in place of usual for battery: `charge 70 %`"), "{shown}");
}

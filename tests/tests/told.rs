//! What is not written is told of: each way of saying less that once passed in silence, with what has to be said of it. The
//! law behind it is `silence.rs`; these are the cases in words, by the real binary.

use trialfit_tests::program::run;
use trialfit_tests::{project, scratch};

/// Words of a text, and what stands in place of them.
type Edits = &'static [(&'static str, &'static str)];

/// An example, what is taken out or put in place of it, and what a check must then say.
const CASES: &[(&str, Edits, &str)] = &[
    ("post-van", &[("  pipe          flue-24\n", "")], "`exhaust of cab-heat` does not say `pipe`"),
    (
        "post-van",
        &[("  passage       floor, hole 60 mm, sealed\n", "")],
        "`exhaust of cab-heat` does not say `passage`",
    ),
    (
        "post-van",
        &[("  passage       floor, hole 40 mm, sealed\n", "")],
        "`combustion-air of cab-heat` does not say `passage`",
    ),
    ("post-van", &[("  warns-of      carbon-monoxide\n", "")], "`alarm cab-co` does not say `warns-of`"),
    ("post-van", &[("  in            cab\n  heats", "  heats")], "`heater cab-heat` does not say `in`"),
    ("post-van", &[("  size          4 mm²\n", "")], "`cable supply of cab-heat` does not say `size`"),
    ("post-van", &[("  size          4 mm²\n", "  size          unknown\n")], "says that `size` is unknown"),
    (
        "post-van",
        &[
            ("  size          4 mm²\n", ""),
            ("  up            120 mm\n", "  up            120 mm\n  size          0.5 mm²\n"),
            ("fuse          20 A", "fuse          60 A"),
        ],
        "`cable supply of cab-heat` does not say `size` before its first leg",
    ),
    ("post-van", &[("  charge        70 %\n", "")], "`battery house` does not say `charge`"),
    ("post-van", &[("  type          AGM\n", "")], "`battery house` does not say `type`"),
    ("post-van", &[("  draws         at heater, clear 100 mm\n", "")], "`return-air of cab-heat` does not say `draws`"),
    ("post-van", &[("  altitude      0 m .. 600 m\n", "")], "does not say `altitude`"),
    ("post-van", &[("  spans         back 800 mm, up 1700 mm\n", "")], "`opening side-door` does not say `spans`"),
    (
        "post-van",
        &[(
            "  kind          door\n  into          cab\n  at            back 1100",
            "  into          cab\n  at            back 1100",
        )],
        "`opening side-door` does not say `kind`",
    ),
    ("post-van", &[("  fuel          diesel arctic-3\n", "")], "`tank main` does not say `fuel`"),
    ("post-van", &[("diesel arctic-3", "diesel")], "`fuel` of `tank main` does not say which grade it is"),
    ("post-van", &[("diesel arctic-3", "diesel wnter")], "`wnter`"),
    ("post-van", &[("diesel arctic-3", "diesel b100")], "[fuel-grade-waxes]"),
    ("post-van", &[("diesel arctic-3", "diesel no-2")], "[fuel-grade-waxes]"),
    (
        "post-van",
        &[("  ends          facing down\n", "  ends          here\n")],
        "`ends` of `combustion-air of cab-heat` does not say whether that is outside",
    ),
    ("post-van", &[("  pipe          flue-24\n", "  hose          EPDM, 24 mm bore\n")], "[exhaust-cannot-bear-heat]"),
    ("post-van", &[("  pipe          flue-24\n", "  pipe          wood, 24 mm bore\n")], "is of wood"),
    ("post-van", &[("  datasheet     air-4\n", "  datasheet     unknown\n")], "says that `datasheet` is unknown"),
    ("post-van", &[("  snow-depth    50 mm\n", "")], "does not say `snow-depth`"),
    ("post-van", &[("  at            back 1600 mm, left 900 mm, up 650 mm\n", "")], "`space cab` does not say `at`"),
    ("post-van", &[("  ends          facing right\n", "")], "`exhaust of cab-heat` does not say `ends`"),
    (
        "post-van",
        &[("  at            forward 900 mm, left 1000 mm, up 200 mm\n", "")],
        "`vehicle post-6` does not say `at`",
    ),
    (
        "post-van",
        &[("  spans         back 5800 mm, right 2000 mm, up 2350 mm\n", "")],
        "`vehicle post-6` does not say `spans`",
    ),
    (
        "post-van",
        &[("  at            back 1100 mm, right 1000 mm, up 500 mm\n", "")],
        "`opening side-door` does not say `at`",
    ),
    ("post-van", &[("  use           seated\n", "")], "`space cab` does not say `use`"),
    (
        "post-van",
        &[("  at            back 2900 mm, left 600 mm, up 1800 mm\n", "")],
        "`alarm cab-co` does not say `at`",
    ),
    ("post-van", &[("un-r122\n", "un-r122\n  rules         adr\n")], "`vehicle post-6` does not say `goods`"),
    (
        "post-van",
        &[("un-r122\n", "un-r122\n  rules         adr\n"), ("  starts-by     hand\n  starts-by     timer\n", "")],
        "`heater cab-heat` does not say `starts-by`",
    ),
    (
        "post-van",
        &[
            ("un-r122\n", "un-r122\n  rules         adr\n  goods         at\n"),
            ("  starts-by     hand\n  starts-by     timer\n", ""),
        ],
        "`heater cab-heat` does not say `starts-by`",
    ),
    (
        "post-van",
        &[
            ("un-r122\n", "un-r122\n  rules         adr\n  goods         at\n"),
            ("diesel arctic-3", "petrol"),
            ("  filler        outside\n", ""),
        ],
        "`tank main` does not say `filler`",
    ),
    (
        "post-van",
        &[("  down          170 mm\n", "  run           170 mm\n")],
        "`run` of `exhaust of cab-heat` does not say how far it rises or falls",
    ),
    (
        "post-van",
        &[("  back          300 mm, up 60 mm\n", "  run           310 mm\n")],
        "`run` of `fuel-line of cab-heat` does not say how far it rises or falls",
    ),
    ("verge-van", &[("  measured      420 mm above ground\n", "")], "does not say `measured … above ground`"),
    ("verge-van", &[("  measured      440 mm above ground\n", "")], "does not say `measured … above ground`"),
    ("verge-van", &[("420 mm above ground", "20 mm above ground")], "[exhaust-end-low]"),
    ("crew-truck", &[("  from          main.cab\n", "")], "`warm-air cab of sleeper` does not say `from`"),
    ("post-van", &[("reserve       12 L", "reserve       120 L")], "[tank-contradicts-itself]"),
    ("post-van", &[("standpipe-end 65 mm", "standpipe-end 650 mm")], "[tank-contradicts-itself]"),
    (
        "post-van",
        &[
            (
                "  passage       floor, hole 60 mm, sealed\n  down          170 mm\n",
                "  back          900 mm, down 20 mm\n",
            ),
            ("  clamp         under-floor\n", "  passage       floor, hole 60 mm, sealed\n  down          150 mm\n"),
        ],
        "[exhaust-runs-inside]",
    ),
    (
        "post-van",
        &[(
            "  at            back 1500 mm, left 500 mm, up 250 mm\n",
            "  at            back 9500 mm, left 500 mm, up 250 mm\n",
        )],
        "[thing-outside-the-vehicle]",
    ),
    (
        "post-van",
        &[("  surface       walls, 6 m², plywood 3 mm, pe-foam 20 mm, steel 0.9 mm\n", "")],
        "[surfaces-do-not-close]",
    ),
    ("post-van", &[("snow-depth    50 mm", "snow-depth    -50 mm")], "[implausible-value]"),
    ("post-van", &[("clips-every   250 mm", "clips-every   -250 mm")], "[implausible-value]"),
    (
        "verge-van",
        &[("snow-depth    50 mm", "snow-depth    0 mm"), ("420 mm above ground", "5 mm above ground")],
        "[exhaust-end-low]",
    ),
    ("verge-van", &[("window-left, aside 450 mm", "window-left, aside 4.5 m")], "[measured-distance-differs]"),
    (
        "verge-van",
        &[(
            "  run           2.2 m, up 120 mm\n",
            "  passage       floor, hole 12 mm, sealed\n  joint         bench\n  run           2.2 m, up 120 mm\n",
        )],
        "[fuel-joint-indoors]",
    ),
    (
        "verge-van",
        &[("  run           2.2 m, up 120 mm\n", "  joint         bench\n  run           2.2 m, up 120 mm\n")],
        "nobody knows whether this joint lies where people are",
    ),
    (
        "crew-truck",
        &[("  at            back 1200 mm, right 900 mm, up 2000 mm\n", "")],
        "`alarm bunk-co` does not say `at`",
    ),
    (
        "crew-truck",
        &[("keep-clear brake-pipe\n", "keep-clear brake-pipe\n  outside       -2000 mm\n")],
        "[implausible-value]",
    ),
    (
        "post-van",
        &[("  keep          30 %\n", "  keep          30 %\n  other-load    -30 A, aerial\n")],
        "[implausible-value]",
    ),
    (
        "verge-van",
        &[("  run           500 mm, down 30 mm\n", "  bend          -720°\n  run           500 mm, down 30 mm\n")],
        "[implausible-value]",
    ),
];

/// A whole block that is gone, and the block that misses it.
const BLOCKS: &[(&str, &str)] = &[
    ("job \"Post van 6", "[heater-without-job]"),
    ("warm-air cab of sleeper", "`tee` of `warm-air main of sleeper` does not say which branch starts at it"),
    ("fuel-line of cab-heat", "there is no `fuel-line` block for `heater cab-heat`"),
    ("cable supply of cab-heat", "there is no `cable` block for `heater cab-heat`"),
    ("vehicle post-6", "there is no `vehicle` block"),
    ("exhaust of cab-heat", "[exhaust-missing]"),
    ("combustion-air of cab-heat", "[combustion-air-missing]"),
];

#[test]
fn what_is_not_said_is_told_of_where_it_should_stand() {
    let here = scratch::folder(&[]);
    scratch::copy(&project().join("examples"), here.path());
    let mut wrong = Vec::new();
    let mut check = |file: &str, text: String, wanted: &str, what: &str| {
        let path = here.path().join(format!("{file}.trialfit"));
        let whole = std::fs::read_to_string(&path).expect("an example");
        std::fs::write(&path, text).expect("a copy to write to");
        for ways in [&["check", "--form", "line"][..], &["check", "--form", "line", "--final"][..]] {
            let name = format!("{file}.trialfit");
            let said = run(here.path(), &[ways, &[name.as_str()]].concat());
            if said.code != 1 || !said.out.contains(wanted) {
                wrong.push(format!("{what}: {} without `{wanted}`:\n{}", said.code, said.out));
            }
        }
        std::fs::write(&path, whole).expect("the example again");
    };
    for (file, edits, wanted) in CASES {
        let mut text =
            std::fs::read_to_string(project().join(format!("examples/{file}.trialfit"))).expect("an example");
        for (from, to) in *edits {
            assert!(text.contains(from), "{file} has no `{from}`");
            text = text.replacen(from, to, 1);
        }
        check(file, text, wanted, &format!("{file} {edits:?}"));
    }
    for (header, wanted) in BLOCKS {
        let file = if header.ends_with("sleeper") { "crew-truck" } else { "post-van" };
        let text = std::fs::read_to_string(project().join(format!("examples/{file}.trialfit"))).expect("an example");
        let at = text.find(&format!("\n{header}")).unwrap_or_else(|| panic!("{header}"));
        let end = text[at + 1..].find("\n\n").map_or(text.len(), |length| at + 1 + length);
        check(file, format!("{}{}", &text[..at], &text[end..]), wanted, header);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

/// What holds nothing to judge is never told of as if nothing were wrong with it.
#[test]
fn a_file_without_an_install_is_no_clean_file() {
    let texts = ["", "trialfit 1\n", "# only words\n", "trialfit 1\n\njob \"Begun\"\n"];
    for text in texts {
        let here = scratch::folder(&[("a.trialfit", text)]);
        let said = run(here.path(), &["check", "--form", "line", "a.trialfit"]);
        assert_eq!(said.code, 1, "{text:?}: {}", said.out);
    }
    let whole = std::fs::read_to_string(project().join("examples/verge-van.trialfit")).expect("an example");
    let (head, rest) = whole.split_once("\njob ").expect("a job");
    let body = rest.split_once("\n\n").expect("a block").1;
    let here = scratch::folder(&[]);
    scratch::copy(&project().join("examples"), here.path());
    std::fs::write(here.path().join("verge-van.trialfit"), format!("{head}\n\n{body}")).expect("a file");
    let said = run(here.path(), &["account", "verge-van.trialfit"]);
    let passes = said.out.lines().filter(|line| line.trim_start().starts_with("pass ")).count();
    assert_eq!(passes, 0, "what no rule judged does not pass:\n{}", said.out);
}

/// The question on the back of an envelope is answered at once; and no sketch is ever clean.
#[test]
fn a_sketch_answers_its_question_and_is_never_clean() {
    let here = scratch::folder(&[]);
    scratch::copy(&project().join("examples"), here.path());
    let said = run(here.path(), &["check", "cable-sketch.trialfit"]);
    let lines = said.out.lines().count();
    assert!(lines < 20, "{lines} lines:\n{}", said.out);
    for words in ["voltage at the heater while it starts", "at least", "NOT JUDGED: an install, because it is a sketch"]
    {
        let flat = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(words), "no `{words}`:\n{}", said.out);
    }
    for form in ["line", "json", "sarif", "junit", "summary"] {
        for more in [&["check", "--form", form][..], &["check", "--form", form, "--final"][..]] {
            let said = run(here.path(), &[more, &["cable-sketch.trialfit"]].concat());
            assert_eq!(said.code, 1, "{form}");
            assert!(said.out.contains("sketch"), "{form}:\n{}", said.out);
        }
    }
}

/// The account has every question that the check counts, in every form, and each answer is one that the schema knows.
#[test]
fn the_account_and_the_sum_of_a_check_agree() {
    let known = scratch::schema("account");
    for file in ["post-van", "rest-van", "district/roads/road-4", "cable-sketch", "nameless-card"] {
        let path = format!("examples/{file}.trialfit");
        let ran = |arguments: &[&str]| run(&project(), &[arguments, &[path.as_str()]].concat()).out;
        let account: serde_json::Value =
            serde_json::from_str(&ran(&["account", "--form", "json", "--date", "2026-11-02"])).expect("JSON");
        let wrong: Vec<String> = known.iter_errors(&account).map(|error| error.to_string()).collect();
        assert!(wrong.is_empty(), "{file}: {wrong:?}");
        let checked: serde_json::Value =
            serde_json::from_str(&ran(&["check", "--form", "json", "--date", "2026-11-02"])).expect("JSON");
        assert_eq!(account["files"][0]["totals"], checked["summary"]["questions"], "{file}");
        let questions = account["files"][0]["questions"].as_array().expect("a list");
        assert_eq!(account["files"][0]["totals"]["asked"], questions.len(), "{file}");
        let rows = ran(&["account", "--form", "csv", "--date", "2026-11-02"]);
        assert_eq!(rows.lines().count(), questions.len() + 1, "{file}");
        let text = ran(&["account", "--date", "2026-11-02"]);
        assert!(text.contains(&format!("{} question", questions.len())), "{file}");
    }
}

//! The real binary from outside: exit codes, files, folders, pipes, forms. What the rules find is tested elsewhere;
//! here one faulty job stands for all.

use serde_json::Value;
use spec_lang::report::CAUTION;
use std::fs;
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};
use tempfile::TempDir;
use trialfit_tests::program::{command, run, run_with};
use trialfit_tests::project;
use trialfit_tests::scratch::{folder, schema};

/// A job in which there is nothing to find.
const GOOD: &str = "trialfit 1\n\nstock cable\n  sizes         4 mm²\n";
/// A job with one error, in line 4.
const BAD: &str = "trialfit 1\n\nstock cable\n  nunber        X-2\n";

#[track_caller]
fn conforms(schema: &jsonschema::Validator, text: &str) -> Value {
    let document: Value = serde_json::from_str(text).expect("JSON");
    let faults: Vec<String> =
        schema.iter_errors(&document).map(|fault| format!("{} at {}", fault, fault.instance_path())).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    document
}

#[test]
fn exit_codes_tell_clean_from_found_from_could_not() {
    let here = folder(&[("good.trialfit", GOOD), ("bad.trialfit", BAD)]);
    let code = |arguments: &[&str]| run(here.path(), arguments).code;
    assert_eq!(code(&["check", "good.trialfit"]), 0);
    assert_eq!(code(&["check", "bad.trialfit"]), 1);
    assert_eq!(code(&["check"]), 1, "the current folder by default");
    assert_eq!(code(&["check", "good.trialfit", "gone.trialfit"]), 2);
    assert_eq!(code(&["check", "--no-such-option"]), 2);
    assert_eq!(code(&["check", "--date", "2026-02-30"]), 2);
    assert_eq!(code(&[]), 0);
    assert_eq!(code(&["--help"]), 0);
    assert_eq!(code(&["explain", "no-such-rule"]), 2);
    let other = folder(&[("read.me", "no job here")]);
    let ran = run(other.path(), &["check"]);
    assert_eq!(ran.code, 2, "a check of nothing is not clean");
    assert!(ran.err.contains("no .trialfit file"), "{}", ran.err);
}

#[test]
fn a_missing_file_keeps_no_other_from_being_checked() {
    let here = folder(&[("bad.trialfit", BAD), ("latin.trialfit", "")]);
    fs::write(here.path().join("latin.trialfit"), b"trialfit 1\n# caf\xe9\n").expect("a file");
    let ran = run(here.path(), &["check", "--form", "line", "gone.trialfit", "latin.trialfit", "bad.trialfit"]);
    assert_eq!(ran.code, 2);
    assert!(ran.out.starts_with("bad.trialfit:4:3: error: ") && ran.out.lines().count() == 1, "{}", ran.out);
    assert!(ran.err.contains("gone.trialfit: there is no such file"), "{}", ran.err);
    assert!(ran.err.contains("latin.trialfit: it is not UTF-8 text: byte 0xe9 at offset 16, in line 2"), "{}", ran.err);
    let json = run(here.path(), &["check", "--form", "json", "gone.trialfit", "latin.trialfit", "bad.trialfit"]);
    let document = conforms(&schema("findings"), &json.out);
    assert_eq!(document["unreadable"].as_array().map(Vec::len), Some(2));
    assert_eq!(document["summary"]["errors"], 1);
}

/// What stands against a file that is checked alone: the gravest severity (3 error, 2 warning, 1 advice, 0 nothing) and
/// whether a safety rule was left unjudged.
fn standing(path: &str) -> (u8, bool) {
    let ran = run(&project(), &["check", "--form", "json", "--date", "2026-11-02", path]);
    let document: Value = serde_json::from_str(&ran.out).expect("JSON");
    let file = &document["files"][0];
    // What guards life, or may hide what does, counts like an error whatever was asked for.
    let waits = |finding: &Value| {
        let rule = finding["rule"].as_str().and_then(spec_lang::rules::find).expect("a rule");
        finding["life_safety"] == false && rule.can_wait()
    };
    let rank = |finding: &Value| match finding["severity"].as_str().expect("a severity") {
        _ if !waits(finding) => 3,
        "error" => 3,
        "warning" => 2,
        _ => 1,
    };
    let findings = file["findings"].as_array().expect("findings").iter();
    let gravest = findings.filter(|found| found["conceded"].is_null()).map(rank).max().unwrap_or(0);
    (gravest, !file["not_judged"].as_array().expect("a list").is_empty())
}

#[test]
fn fail_on_leaves_out_milder_findings_but_never_what_was_not_judged() {
    let mut seen = [false; 4];
    let mut unjudged = false;
    for path in trialfit_tests::trialfit_files(&project().join("examples")) {
        let path = path.to_str().expect("UTF-8");
        let (gravest, left) = standing(path);
        seen[usize::from(gravest)] = true;
        unjudged |= left && gravest < 3;
        for (word, least) in [("error", 3), ("warning", 2), ("advice", 1)] {
            let ran = run(&project(), &["check", "--date", "2026-11-02", "--fail-on", word, path]);
            assert_eq!(ran.code, i32::from(gravest >= least || left), "{path} with --fail-on {word}");
        }
    }
    assert!(seen[0] && seen[3] && unjudged, "the examples hold clean, faulty and unjudged jobs: {seen:?} {unjudged}");
}

#[test]
fn an_open_blank_is_a_warning_until_the_final_check() {
    let blanks = |arguments: &[&str]| {
        let arguments = [&["check", "--form", "line", "examples/gritter-draft.trialfit"], arguments].concat();
        let lines = run(&project(), &arguments).out;
        let open: Vec<String> =
            lines.lines().filter(|line| line.ends_with("[value-blank]")).map(String::from).collect();
        assert!(!open.is_empty(), "the draft leaves blanks open: {lines}");
        open
    };
    assert!(blanks(&[]).iter().all(|line| line.contains(": warning: ")));
    assert!(blanks(&["--final"]).iter().all(|line| line.contains(": error: ")));
}

#[test]
fn a_later_edition_is_judged_but_not_final() {
    let here = folder(&[("later.trialfit", &GOOD.replace("trialfit 1", "trialfit 9"))]);
    let lenient = run(here.path(), &["check", "--fail-on", "error", "later.trialfit"]);
    let last = run(here.path(), &["check", "--fail-on", "error", "--final", "later.trialfit"]);
    assert_eq!(last.code, 1);
    assert!(lenient.code <= 1);
    let version = run(here.path(), &["--version"]);
    assert!(version.out.contains(&format!("language edition {}", spec_lang::vocabulary::EDITION)), "{}", version.out);
}

#[test]
fn standard_input_stands_where_it_is_told_to() {
    let here = folder(&[("workshop/w.trialfit", "trialfit 1\n"), ("jobs/x.trialfit", "")]);
    let text = "trialfit 1\nfollows \"../workshop/w.trialfit\"\n\nstock cable\n  nunber 1\n";
    let told = run_with(here.path(), &["check", "--form", "line", "-", "--as", "jobs/new.trialfit"], text.as_bytes());
    assert_eq!(told.code, 1);
    assert!(told.out.starts_with("jobs/new.trialfit:5:3: error") && told.out.lines().count() == 1, "{}", told.out);
    let untold = run_with(here.path(), &["check", "--form", "line", "-"], text.as_bytes());
    assert!(untold.out.contains("standard input:2:"), "follows from the current folder: {}", untold.out);
    let latin = run_with(here.path(), &["check", "-"], b"\xff\xfed\0");
    assert_eq!(latin.code, 2);
    assert!(latin.err.contains("looks like UTF-16"), "{}", latin.err);
}

#[test]
fn folders_leave_out_what_ignore_files_do_and_named_files_are_read() {
    let here = folder(&[
        (".gitignore", "drafts/\n"),
        (".ignore", "old.trialfit\n"),
        ("drafts/one.trialfit", BAD),
        ("old.trialfit", BAD),
        (".hidden/two.trialfit", BAD),
        ("notes.txt", BAD),
        ("good.trialfit", GOOD),
    ]);
    assert_eq!(run(here.path(), &["check"]).code, 0);
    assert_eq!(run(here.path(), &["check", "drafts/one.trialfit"]).code, 1);
    assert_eq!(run(here.path(), &["check", "notes.txt"]).code, 1);
    let twice = run(here.path(), &["check", "good.trialfit", ".", "./good.trialfit"]);
    assert!(twice.out.contains("in 1 file"), "each file once: {}", twice.out);
}

#[test]
fn following_stays_inside_the_opened_folder() {
    let here = folder(&[
        ("outside.trialfit", "trialfit 1\n"),
        ("shop/.git/HEAD", ""),
        ("shop/jobs/escape.trialfit", "trialfit 1\nfollows \"../../outside.trialfit\"\n"),
        ("shop/jobs/inside.trialfit", "trialfit 1\nfollows \"../w.trialfit\"\n"),
        ("shop/jobs/gone.trialfit", "trialfit 1\nfollows \"nowhere.trialfit\"\n"),
        ("shop/jobs/loop.trialfit", "trialfit 1\nfollows \"pool.trialfit\"\n"),
        ("shop/jobs/pool.trialfit", "trialfit 1\nfollows \"loop.trialfit\"\n"),
        ("shop/jobs/folder.trialfit", "trialfit 1\nfollows \"../jobs\"\n"),
        ("shop/w.trialfit", "trialfit 1\n"),
    ]);
    let jobs = here.path().join("shop/jobs");
    let lines = |file: &str| run(&jobs, &["check", "--form", "line", file]);
    assert_eq!(lines("inside.trialfit").code, 0, "the repository is the opened folder");
    for faulty in ["escape.trialfit", "gone.trialfit", "loop.trialfit", "folder.trialfit"] {
        let ran = lines(faulty);
        assert_eq!(ran.code, 1, "{faulty}: {}", ran.err);
        assert!(ran.out.contains(&format!("{faulty}:2:")), "at the word that caused it: {}", ran.out);
    }
    let narrower = run(&jobs, &["check", "--form", "line", "--within", ".", "inside.trialfit"]);
    assert_eq!(narrower.code, 1, "{}", narrower.out);
    let wider = run(&jobs, &["check", "--within", "../..", "escape.trialfit"]);
    assert_eq!(wider.code, 0, "{}", wider.out);
    let out = run(&jobs, &["check", "--within", ".", "../w.trialfit"]);
    assert_eq!(out.code, 2, "a file outside the folder that was given");
}

#[cfg(unix)]
#[test]
fn a_symbolic_link_leads_nobody_outside() {
    let here = folder(&[("secret/s.trialfit", BAD), ("shop/job.trialfit", "trialfit 1\nfollows \"link.trialfit\"\n")]);
    let shop = here.path().join("shop");
    std::os::unix::fs::symlink("../secret/s.trialfit", shop.join("link.trialfit")).expect("a link");
    std::os::unix::fs::symlink("../secret", shop.join("folder")).expect("a link");
    let ran = run(&shop, &["check", "--form", "line", "."]);
    assert_eq!(ran.code, 1);
    assert!(ran.out.lines().all(|line| line.starts_with("job.trialfit:2:")), "{}", ran.out);
}

#[cfg(target_os = "linux")]
#[test]
fn any_name_will_do() {
    use std::os::unix::ffi::OsStrExt;
    let here = folder(&[("a job, with spaces.trialfit", BAD)]);
    fs::write(here.path().join(std::ffi::OsStr::from_bytes(b"caf\xe9.trialfit")), BAD).expect("a file");
    fs::write(here.path().join("line\nend\u{1b}[31m.trialfit"), BAD).expect("a file");
    let ran = run(here.path(), &["check", "--form", "line"]);
    assert_eq!((ran.code, ran.out.lines().count()), (1, 3), "{}", ran.out);
    assert!(ran.out.starts_with("a job, with spaces.trialfit:4:3: error"));
    assert!(!ran.out.contains('\u{1b}'));
    let document = conforms(&schema("findings"), &run(here.path(), &["check", "--form", "json"]).out);
    assert_eq!(document["summary"]["files"], 3);
    assert_eq!(run(here.path(), &["tidy"]).code, 0);
}

#[test]
fn a_job_cannot_speak_to_the_terminal() {
    let text = "trialfit 1\njob \"x\"\n  nunber \u{1b}[31m\u{7}red \u{202e}turned\u{9b}\r  last-wrod 1\n";
    let here = folder(&[("x.trialfit", text)]);
    for form in ["report", "line", "json"] {
        let ran = run(here.path(), &["check", "--form", form]);
        assert_eq!(ran.code, 1);
        let unfit = |letter: char| letter.is_control() && letter != '\n';
        assert!(!ran.out.contains(unfit) && (form == "json" || !ran.out.contains('\u{202e}')), "{form}: {:?}", ran.out);
    }
}

#[test]
fn colour_only_where_it_is_wanted() {
    let here = folder(&[("bad.trialfit", BAD)]);
    let coloured = |arguments: &[&str], no_colour: &str| {
        let mut command = command(here.path(), arguments);
        command.env("NO_COLOR", no_colour).env("TERM", "xterm-256color");
        String::from_utf8(command.output().expect("runs").stdout).expect("UTF-8").contains('\u{1b}')
    };
    assert!(!coloured(&["check"], ""), "not into a pipe");
    assert!(coloured(&["check", "--colour", "always"], ""));
    assert!(coloured(&["check", "--color", "always"], "1"), "said outright on the command line");
    assert!(!coloured(&["check", "--colour", "never"], ""));
}

/// A pseudo-terminal made by util-linux's `script`, where there is one.
#[cfg(target_os = "linux")]
#[test]
fn a_terminal_gets_colour_unless_no_color_is_set() {
    let here = folder(&[("bad.trialfit", BAD)]);
    let on_terminal = |environment: &str| {
        let line =
            format!("{environment} TERM=xterm {} check bad.trialfit", trialfit_tests::program::trialfit().display());
        let ran = std::process::Command::new("script")
            .args(["--quiet", "--return", "--command", &line, "/dev/null"])
            .current_dir(here.path())
            .env_remove("COLUMNS")
            .env_remove("NO_COLOR")
            .stdin(Stdio::null())
            .output();
        ran.ok().map(|ran| String::from_utf8_lossy(&ran.stdout).into_owned())
    };
    let Some(plain) = on_terminal("NO_COLOR=1") else { return };
    assert!(plain.contains("nunber") && !plain.contains("\u{1b}["), "{plain:?}");
    assert!(on_terminal("").is_some_and(|coloured| coloured.contains("\u{1b}[")));
}

/// A report of a job whose own text is plain ASCII, so that every other byte is of the frame.
fn plain_report(environment: &[(&str, &str)], arguments: &[&str]) -> String {
    let here = folder(&[("bad.trialfit", BAD)]);
    let mut command = command(here.path(), &[&["check", "bad.trialfit"], arguments].concat());
    for name in ["LC_ALL", "LC_CTYPE", "LANG"] {
        command.env_remove(name);
    }
    command.envs(environment.iter().copied());
    String::from_utf8(command.output().expect("runs").stdout).expect("UTF-8")
}

#[test]
fn the_frame_is_our_own_and_falls_back_to_ascii() {
    let unicode = plain_report(&[("LC_ALL", "C.UTF-8")], &[]);
    assert!(unicode.starts_with("ERROR: ") && unicode.contains("[unknown-word]\n"), "{unicode}");
    assert!(unicode.contains("\n  bad.trialfit:4:3\n        »nunber«        X-2\n      "), "{unicode}");
    let parts = ["  why:     ", "  mend:    "];
    assert!(parts.iter().any(|part| unicode.contains(part)) && !unicode.contains("help:"), "{unicode}");
    for (environment, arguments) in [
        (&[("LANG", "C.UTF-8"), ("LC_ALL", "C")][..], &[][..]),
        (&[("LANG", "de_DE.ISO-8859-1")], &[]),
        (&[("LC_ALL", "C.UTF-8"), ("TERM", "dumb")], &[]),
        (&[("LC_ALL", "C.UTF-8")], &["--ascii"]),
    ] {
        let ascii = plain_report(environment, arguments);
        assert!(ascii.is_ascii(), "{environment:?} {arguments:?}: {ascii}");
        assert!(ascii.contains("\n        >>nunber<<        X-2\n"), "{environment:?} {arguments:?}: {ascii}");
        assert_eq!(ascii.lines().count(), unicode.lines().count(), "the same layout");
    }
    let fleet = run(&project(), &["check", "examples"]).out;
    for line in fleet.lines().chain(unicode.lines()) {
        let frames = ["╭", "╰", "─", "┬", "│", "⚠", "☞", "-->", "^^", "~~", "══"];
        assert!(frames.iter().all(|mark| !line.contains(mark)), "no line is drawn beside or under a text: {line}");
    }
}

#[test]
fn colour_changes_no_letter_of_a_report() {
    let bare = |text: &str| {
        let mut parts = text.split('\u{1b}');
        let first = parts.next().unwrap_or("").to_string();
        parts.fold(first, |out, part| out + part.split_once('m').map_or("", |(_, rest)| rest))
    };
    for day in ["2026-11-02", "2100-01-01"] {
        let with = |colour: &str| {
            run(&project(), &["check", "--date", day, "--colour", colour, "examples/mobile-library.trialfit"]).out
        };
        assert_eq!(bare(&with("always")), with("never"));
        assert!(with("always").starts_with("\u{1b}["));
    }
}

#[test]
fn reports_keep_to_the_width() {
    for columns in [40usize, 60, 80, 100, 160] {
        for arguments in [&["check", "examples"][..], &["figures", "examples/mobile-library.trialfit"], &["explain"]] {
            let mut command = command(&project(), arguments);
            let ran = command.env("COLUMNS", columns.to_string()).output().expect("runs");
            let out = String::from_utf8(ran.stdout).expect("UTF-8");
            // A single word, such as a path or a name of a rule, may be longer than the width; a line of words may not.
            for line in out.lines().filter(|line| line.trim().split(' ').count() > 3) {
                let least = if arguments[0] == "explain" { columns.max(80) } else { columns };
                assert!(line.chars().count() <= least, "{columns}: {} in {line:?}", line.chars().count());
            }
        }
    }
}

#[test]
fn the_json_forms_conform_to_their_schemas() {
    let findings = schema("findings");
    let ran = run(&project(), &["check", "--form", "json", "--date", "2026-11-02", "examples"]);
    let document = conforms(&findings, &ran.out);
    assert_eq!(document["date"], "2026-11-02");
    let mut found = 0;
    for file in document["files"].as_array().expect("files") {
        for finding in file["findings"].as_array().expect("findings") {
            let path = finding["place"]["path"].as_str().expect("a path");
            let text = fs::read(project().join(path)).expect("paths are relative to where the command ran");
            for end in ["start", "end"] {
                let at = |key: &str| finding["place"][end][key].as_u64().expect("a number") as usize;
                let before = std::str::from_utf8(&text[..at("byte")]).expect("bytes that start a character");
                assert_eq!(at("line"), 1 + before.matches('\n').count(), "{path}");
                let column = before.rsplit('\n').next().map_or(0, |line| line.chars().count());
                assert_eq!(at("column"), 1 + column, "{path}");
            }
            found += 1;
        }
    }
    assert!(found > 5, "the examples hold faults");
    let figures = schema("figures");
    for file in ["mobile-library", "crane-carrier", "workshop/marrow-vale", "district/post/post-11"] {
        let ran = run(&project(), &["figures", "--form", "json", &format!("examples/{file}.trialfit")]);
        assert_eq!(ran.code, 0);
        conforms(&figures, &ran.out);
    }
    conforms(&schema("margins"), &run(&project(), &["margins", "--form", "json", "examples"]).out);
    let words = conforms(&schema("words"), &run(&project(), &["words", "--form", "json"]).out);
    let kinds = words["kinds"].as_array().expect("kinds");
    let cable = kinds.iter().find(|kind| kind["header"] == "cable").expect("the cable");
    let switch = cable["words"].as_array().expect("words").iter().find(|word| word["word"] == "switch");
    assert!(switch.expect("a switch")["values"].as_array().expect("values").contains(&Value::from("isolator")));
    let settings: Value = serde_json::from_str(&run(&project(), &["schema", "settings"]).out).expect("JSON");
    jsonschema::meta::validate(&settings).expect("a schema by the meta-schema");
    assert!(settings["properties"]["quietMilliseconds"]["default"].is_number());
    let mut wrong = document.clone();
    wrong["version"] = Value::from(2);
    assert!(!findings.is_valid(&wrong), "the schema tells one version from another");
}

#[test]
fn the_order_of_what_is_said_is_always_the_same() {
    let said = || run(&project(), &["check", "--form", "line", "examples"]).out;
    let first = said();
    for _ in 0..5 {
        assert_eq!(said(), first);
    }
}

#[test]
fn a_finding_in_a_followed_file_is_said_once() {
    let here = folder(&[
        ("a.trialfit", "trialfit 1\nfollows \"w.trialfit\"\n"),
        ("b.trialfit", "trialfit 1\nfollows \"w.trialfit\"\n"),
        ("w.trialfit", "trialfit 1\ndatasheet heater h\n  outptu 1 kW .. 3 kW\n"),
    ]);
    let ran = run(here.path(), &["check", "--form", "line"]);
    assert_eq!(ran.out.matches("w.trialfit:3:3: error").count(), 1, "{}", ran.out);
}

#[cfg(target_os = "linux")]
#[test]
fn a_closed_pipe_ends_quietly_and_a_full_disk_does_not() {
    let many = (0..4000).map(|number| format!("  nunber {number}\n")).collect::<String>();
    let here = folder(&[("many.trialfit", &format!("trialfit 1\njob \"x\"\n{many}"))]);
    let mut child =
        command(here.path(), &["check"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("runs");
    drop(child.stdout.take());
    let ended = child.wait_with_output().expect("ends");
    assert_eq!((ended.status.code(), String::from_utf8_lossy(&ended.stderr).as_ref()), (Some(2), ""));
    let full = fs::OpenOptions::new().write(true).open("/dev/full").expect("a full disk");
    let ended = command(here.path(), &["check"]).stdout(full).output().expect("runs");
    assert_eq!(ended.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&ended.stderr).contains("could not be written"));
}

#[test]
fn long_files_cost_time_in_proportion() {
    let block = |number: usize| format!("\nspace room-{number}\n  wanted 19 °C\n  volmue {number} m³\n");
    let text = |blocks: usize| "trialfit 1\n".to_string() + &(0..blocks).map(block).collect::<String>();
    let here = folder(&[("some.trialfit", &text(4_000)), ("many.trialfit", &text(40_000)), ("wide.trialfit", "")]);
    let wide = "trialfit 1\njob \"x\"\n  altitude ".to_string() + &"§ 1 ".repeat(1_200_000);
    fs::write(here.path().join("wide.trialfit"), wide).expect("a file");
    let timed = |file: &str| {
        let start = Instant::now();
        let ran = run(here.path(), &["check", file]);
        assert_eq!(ran.code, 1, "{}", ran.err);
        start.elapsed()
    };
    let some = timed("some.trialfit").max(Duration::from_millis(50));
    let many = timed("many.trialfit");
    assert!(many < some * 30, "ten times the text took {many:?} after {some:?}");
    assert!(timed("wide.trialfit") < Duration::from_secs(30), "one line of 5 MB");
    let refused = here.path().join("huge.trialfit");
    fs::File::create(&refused).and_then(|file| file.set_len(64 << 20)).expect("a sparse file");
    let ran = run(here.path(), &["check", "huge.trialfit"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("64 MiB"), "{}", ran.err);
}

const UNTIDY: &str = "trialfit   1\n\n\n\njob   \"x\"   # of an invented van\n number   7\n";
const TIDY: &str =
    "trialfit 1\n\njob \"x\"                                         # of an invented van\n  number        7\n";

#[test]
fn tidy_changes_what_it_must_and_nothing_else() {
    let here = folder(&[("a.trialfit", UNTIDY), ("b.trialfit", TIDY), ("crlf.trialfit", "")]);
    let at = |file: &str| here.path().join(file);
    fs::write(at("crlf.trialfit"), "\u{feff}".to_string() + &UNTIDY.replace('\n', "\r\n")).expect("a file");
    let untouched = fs::metadata(at("b.trialfit")).and_then(|about| about.modified()).expect("a time");
    let look = run(here.path(), &["tidy", "--look"]);
    assert_eq!((look.code, look.out.as_str()), (1, "a.trialfit\ncrlf.trialfit\n"));
    assert_eq!(fs::read_to_string(at("a.trialfit")).expect("a file"), UNTIDY, "--look touches nothing");
    assert_eq!(run(here.path(), &["tidy"]).code, 0);
    assert_eq!(fs::read_to_string(at("a.trialfit")).expect("a file"), TIDY);
    let crlf = fs::read_to_string(at("crlf.trialfit")).expect("a file");
    assert_eq!(crlf, "\u{feff}".to_string() + &TIDY.replace('\n', "\r\n"), "mark and line ends stay");
    assert_eq!(fs::metadata(at("b.trialfit")).and_then(|about| about.modified()).expect("a time"), untouched);
    let again = run(here.path(), &["tidy", "--look"]);
    assert_eq!((again.code, again.out.as_str()), (0, ""));
    let names: Vec<_> = fs::read_dir(here.path()).expect("a folder").flatten().map(|entry| entry.file_name()).collect();
    assert_eq!(names.len(), 3, "no left-overs: {names:?}");
    let piped = run_with(here.path(), &["tidy", "-"], UNTIDY.as_bytes());
    assert_eq!((piped.code, piped.out.as_str(), piped.err.as_str()), (0, TIDY, ""));
    let looked = run_with(here.path(), &["tidy", "--look", "-"], UNTIDY.as_bytes());
    assert_eq!(looked.code, 1);
}

#[cfg(unix)]
#[test]
fn tidy_keeps_permissions_links_and_what_it_may_not_write() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let here = folder(&[("real/a.trialfit", UNTIDY), ("locked.trialfit", UNTIDY)]);
    let at = |file: &str| here.path().join(file);
    let allow = |file: &str, mode: u32| fs::set_permissions(at(file), fs::Permissions::from_mode(mode)).expect("mode");
    allow("real/a.trialfit", 0o640);
    symlink("real/a.trialfit", at("link.trialfit")).expect("a link");
    assert_eq!(run(here.path(), &["tidy", "link.trialfit"]).code, 0);
    assert!(fs::symlink_metadata(at("link.trialfit")).expect("a link").file_type().is_symlink());
    assert_eq!(fs::read_to_string(at("real/a.trialfit")).expect("a file"), TIDY);
    assert_eq!(fs::metadata(at("real/a.trialfit")).expect("a file").permissions().mode() & 0o777, 0o640);
    allow("locked.trialfit", 0o440);
    let ran = run(here.path(), &["tidy", "locked.trialfit"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("write-protected"), "{}", ran.err);
    assert_eq!(fs::read_to_string(at("locked.trialfit")).expect("a file"), UNTIDY);
}

/// Killed at any moment, a file is its old text or its new text, never less.
#[cfg(unix)]
#[test]
fn a_file_is_never_half_written() {
    let body: String = (0..20_000).map(|number| format!(" number   {number}   # line\n")).collect();
    let before = format!("trialfit 1\njob \"x\"\n{body}");
    let here = folder(&[("a.trialfit", &before)]);
    let file = here.path().join("a.trialfit");
    let after =
        String::from_utf8(run_with(here.path(), &["tidy", "-"], before.as_bytes()).out.into_bytes()).expect("text");
    for wait in (0..40).map(|step| Duration::from_millis(step * 3)) {
        fs::write(&file, &before).expect("a file");
        let mut child = command(here.path(), &["tidy", "a.trialfit"]).stderr(Stdio::null()).spawn().expect("runs");
        std::thread::sleep(wait);
        let _ = child.kill();
        child.wait().expect("ends");
        let now = fs::read_to_string(&file).expect("a file");
        assert!(now == before || now == after, "{} bytes after {wait:?}", now.len());
    }
}

/// The example with five blanks, beside its workshop files, in a folder of its own.
fn clock_van() -> (TempDir, String) {
    let read = |path: &str| fs::read_to_string(project().join("examples").join(path)).expect("an example");
    let job = read("clock-van.trialfit");
    let workshop =
        ["workshop/marrow-vale.trialfit", "workshop/special-heaters.trialfit"].map(|path| (path, read(path)));
    let mut files: Vec<(&str, &str)> = workshop.iter().map(|(path, text)| (*path, text.as_str())).collect();
    files.push(("clock-van.trialfit", &job));
    (folder(&files), job)
}

#[test]
fn fill_shows_first_and_writes_when_told() {
    let (here, before) = clock_van();
    let file = here.path().join("clock-van.trialfit");
    let day = ["--date", "2026-11-02"];
    let fill = |more: &[&str]| run(here.path(), &[&["fill", "clock-van.trialfit"], &day[..], more].concat());
    let shown = fill(&[]);
    assert_eq!(shown.code, 0, "{}", shown.out);
    assert!(
        shown.err.contains("5 blanks can be filled, nothing was written") && shown.err.contains("none is left open")
    );
    assert!(shown.err.contains("approves nothing"), "{}", shown.err);
    assert_eq!(fs::read_to_string(&file).expect("a file"), before, "a preview writes nothing");
    let open: Vec<&str> = before.lines().filter(|line| line.contains('?')).collect();
    assert_eq!(open.len(), 5, "{open:?}");
    for line in open {
        assert!(shown.out.contains(&format!("\n-{line}\n+")), "{line} in {}", shown.out);
    }
    let flat = shown.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("`hose` of `combustion-air of bench`: 25 mm passes; 20 mm does not pass: "), "{flat}");
    assert!(flat.contains("10.5 V; needed: 10.2 V [starting-voltage-low]"), "{flat}");

    let written = fill(&["--write"]);
    assert_eq!(written.code, 0, "{}", written.err);
    assert!(written.err.contains("5 blanks filled in 1 file"), "{}", written.err);
    let after = fs::read_to_string(&file).expect("a file");
    for (old, new) in before.lines().zip(after.lines()) {
        let (head, tail) = old.split_once('?').unwrap_or((old, ""));
        assert!(new.starts_with(head) && new.ends_with(tail) && (old.contains('?') || old == new), "{old} -> {new}");
    }
    let checked = run(here.path(), &["check", "--final", "--date", "2026-11-02", "clock-van.trialfit"]);
    assert_eq!(checked.code, 0, "what is filled is clean: {}", checked.out);
    let again = fill(&["--write"]);
    assert_eq!((again.code, again.out.as_str()), (0, ""), "nothing is left to fill");
    let piped = run_with(here.path(), &["fill", "-", "--as", "clock-van.trialfit", "--write"], before.as_bytes());
    assert_eq!((piped.code, piped.out.as_str()), (0, after.as_str()), "standard input goes to standard output");
}

#[test]
fn the_diff_that_fill_shows_is_one_that_programs_take() {
    let (here, _) = clock_van();
    let shown = run(here.path(), &["fill", "--date", "2026-11-02", "clock-van.trialfit"]);
    let mut apply = std::process::Command::new("git")
        .args(["apply", "-p1", "-"])
        .current_dir(here.path())
        .stdin(Stdio::piped())
        .spawn()
        .expect("git is on every machine that builds this");
    std::io::Write::write_all(&mut apply.stdin.take().expect("a pipe"), shown.out.as_bytes()).expect("it is read");
    assert!(apply.wait().expect("ends").success(), "{}", shown.out);
    let again = run(here.path(), &["fill", "--date", "2026-11-02", "clock-van.trialfit"]);
    assert_eq!((again.code, again.out.as_str()), (0, ""));
}

#[test]
fn fill_says_what_it_leaves_open_and_what_it_could_not_do() {
    let (here, before) = clock_van();
    // The way of the cable is lengthened until no size in stock is enough.
    let far = before.replace("  up            1500 mm\n", "  run           90 m\n");
    fs::write(here.path().join("far.trialfit"), &far).expect("a file");
    let ran = run(here.path(), &["fill", "--date", "2026-11-02", "--write", "far.trialfit"]);
    assert_eq!(ran.code, 1, "{}", ran.out);
    assert!(ran.out.contains("[blank-insoluble]") && ran.out.contains("even with 10 mm²"), "{}", ran.out);
    let after = fs::read_to_string(here.path().join("far.trialfit")).expect("a file");
    assert!(after.contains("  size          ?\n") && after.contains("  hose          25 mm\n"), "{after}");
    let gone = run(here.path(), &["fill", "gone.trialfit", "clock-van.trialfit"]);
    assert_eq!(gone.code, 2);
    assert!(gone.out.contains("+  hose          25 mm"), "a missing file keeps no other from being filled");
    let draft = run(&project(), &["fill", "--date", "2026-11-02", "examples/gritter-draft.trialfit"]);
    assert_eq!(draft.code, 1, "what no rule judges stays open");
    assert!(draft.err.contains("1 blank left open"), "{}", draft.err);
}

#[cfg(unix)]
#[test]
fn fill_keeps_links_and_what_it_may_not_write() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let (here, before) = clock_van();
    let at = |file: &str| here.path().join(file);
    symlink("clock-van.trialfit", at("link.trialfit")).expect("a link");
    fs::write(at("locked.trialfit"), &before).expect("a file");
    fs::set_permissions(at("locked.trialfit"), fs::Permissions::from_mode(0o440)).expect("mode");
    assert_eq!(run(here.path(), &["fill", "--write", "link.trialfit"]).code, 0);
    assert!(fs::symlink_metadata(at("link.trialfit")).expect("a link").file_type().is_symlink());
    assert!(fs::read_to_string(at("clock-van.trialfit")).expect("a file").contains("hose          25 mm"));
    let ran = run(here.path(), &["fill", "--write", "locked.trialfit"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("write-protected"), "{}", ran.err);
    assert_eq!(fs::read_to_string(at("locked.trialfit")).expect("a file"), before);
    let names: Vec<_> = fs::read_dir(here.path()).expect("a folder").flatten().map(|entry| entry.file_name()).collect();
    assert_eq!(names.len(), 4, "no left-overs: {names:?}");
}

#[test]
fn a_final_check_refuses_every_kind_of_blank_and_no_concession_helps() {
    let (here, before) = clock_van();
    let more = [
        ("  right         560 mm, down 25 mm\n", "  right         ?, down 25 mm\n"),
        ("  forward       700 mm\n  outlet", "  run           ?\n  outlet"),
        ("  datasheet     quiet-2\n", "  datasheet     ?\n"),
        ("  pipe          flue-24\n", "  pipe          steel, ? bore\n"),
    ];
    let mut text = before;
    for (from, to) in more {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    text.push_str("\nconcession value-blank\n  on            cable supply of bench\n  because       \"later\"\n  by            \"foreman\"\n");
    fs::write(here.path().join("open.trialfit"), &text).expect("a file");
    let ran = run(here.path(), &["check", "--final", "--form", "line", "open.trialfit"]);
    let open = ran.out.lines().filter(|line| line.contains(": error: ") && line.ends_with("[value-blank]")).count();
    assert_eq!((ran.code, open), (1, 9), "{}", ran.out);
}

#[test]
fn help_teaches() {
    let here = tempfile::tempdir().expect("a folder");
    let bare = run(here.path(), &[] as &[&str]).out;
    assert_eq!(bare, run(here.path(), &["--help"]).out);
    for word in
        ["Examples:", "Exit codes:", "carbon monoxide", "approves nothing", "trialfit check", "trialfit figures"]
    {
        assert!(bare.contains(word), "{word} in {bare}");
    }
    let check = run(here.path(), &["check", "--help"]).out;
    assert!(check.contains("counted in characters") || check.contains("counted in\ncharacters"), "{check}");
    let near = run(here.path(), &["explain", "unknown-wrod"]);
    assert!(near.err.contains("`unknown-word`"), "{}", near.err);
}

/// The caution stands below the help of every command, and with what each of them says. Where a program reads
/// standard output it stands on standard error.
#[test]
fn the_caution_stands_wherever_a_job_is_spoken_of() {
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let (here, _) = clock_van();
    let commands = "check figures margins fill mend take-in followers adopt concessions draw explain tidy settings rules words \
                    serve schema";
    for command in commands.split_whitespace() {
        let help = run(here.path(), &[command, "--help"]).out;
        assert!(flat(&help).contains(CAUTION), "{command}: {help}");
    }
    trialfit_tests::program::git(here.path(), &["init", "--quiet"]);
    let (job, shared) = ("clock-van.trialfit", "workshop/marrow-vale.trialfit");
    for arguments in [
        &["check", job][..],
        &["figures", job],
        &["margins", job],
        &["followers", shared],
        &["followers", shared, "--since"],
        &["adopt", job],
        &["concessions", job],
    ] {
        let ran = run(here.path(), arguments);
        assert!(flat(&ran.out).contains(CAUTION), "{arguments:?}: {} {}", ran.out, ran.err);
    }
    for arguments in [
        &["check", job, "--form", "line"][..],
        &["check", job, "--form", "json"],
        &["check", job, "--form", "sarif"],
        &["check", job, "--form", "junit"],
        &["figures", job, "--form", "csv"],
        &["figures", job, "--form", "json"],
        &["margins", job, "--form", "csv"],
        &["margins", job, "--form", "json"],
        &["concessions", job, "--form", "csv"],
        &["concessions", job, "--form", "json"],
        &["followers", shared, "--form", "json"],
        &["mend", job],
        &["mend", job, "--write"],
        &["fill", job],
        &["fill", job, "--write"],
    ] {
        let ran = run(here.path(), arguments);
        assert!(flat(&ran.err).contains(CAUTION), "{arguments:?}: {} {}", ran.out, ran.err);
        let data = ["csv", "line"].iter().any(|form| arguments.contains(form)) || arguments[0] == "mend";
        assert!(!data || !ran.out.contains("approves nothing"), "{arguments:?}: {}", ran.out);
    }
}

#[test]
fn figures_show_their_working() {
    let ran = run(&project(), &["figures", "examples/mobile-library.trialfit"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("cable, fuse and battery") && ran.out.contains(" with ") && ran.out.contains("source: "));
    assert!(
        ran.out.split_whitespace().collect::<Vec<_>>().join(" ").contains("approves nothing"),
        "the caution stands below"
    );
    assert_eq!(run(&project(), &["figures", "examples"]).code, 2, "one job at a time");
    assert_eq!(run(Path::new("/"), &["figures", "no-such.trialfit"]).code, 2);
}

#[test]
fn a_drawing_goes_to_standard_output_or_whole_into_its_file() {
    let job = fs::read_to_string(project().join("tests/lsp/workspace/kiosk.trialfit")).expect("the job");
    let sheets =
        fs::read_to_string(project().join("tests/lsp/workspace/workshop/sheets.trialfit")).expect("the sheets");
    let here =
        folder(&[("van.trialfit", &job), ("workshop/sheets.trialfit", &sheets), ("old.svg", "an older drawing")]);
    let shown = run(here.path(), &["draw", "van.trialfit"]);
    assert_eq!(shown.code, 0, "findings are no reason not to draw: {}", shown.err);
    assert!(shown.out.starts_with("<svg ") && shown.out.ends_with("</svg>\n"));
    let written = run(here.path(), &["draw", "van.trialfit", "--out", "old.svg"]);
    assert_eq!((written.code, written.out.as_str()), (0, ""));
    assert_eq!(fs::read_to_string(here.path().join("old.svg")).expect("the drawing"), shown.out);
    let piped = run_with(here.path(), &["draw", "-", "--as", "van.trialfit", "--within", "."], job.as_bytes());
    assert_eq!(piped.out, shown.out, "standard input is drawn as the file would be");
    for (arguments, reason) in [
        (&["draw", "van.trialfit", "--out", "van.trialfit"][..], "are jobs"),
        (&["draw", "van.trialfit", "--out", "workshop"], "it is a folder"),
        (&["draw", "van.trialfit", "--out", "nowhere/new.svg"], "there is no such file or folder"),
        (&["draw", "workshop"], "one job"),
        (&["draw", "gone.trialfit"], "there is no such file"),
    ] {
        let ran = run(here.path(), arguments);
        assert_eq!(ran.code, 2, "{arguments:?}");
        assert!(ran.err.contains(reason), "{arguments:?}: {}", ran.err);
    }
    assert_eq!(fs::read_to_string(here.path().join("van.trialfit")).expect("the job"), job, "the job stays as it was");
    let names: Vec<_> =
        fs::read_dir(here.path()).expect("the folder").flatten().map(|entry| entry.file_name()).collect();
    assert_eq!(names.len(), 3, "nothing is left over: {names:?}");
}

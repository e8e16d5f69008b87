//! What goes wrong around the tool: broken settings, files that are missing, locked, vanishing or no files at all, loops,
//! links out of the tree, odd names, pipes that close, disks that are full, several at work at once. The real binary must
//! say what is wrong and where, do the rest of the work, and never lose a byte of anybody's.
#![cfg(unix)]

use spec_lang::rules::{BENCH, BENCH_SHEETS};
use std::ffi::OsString;
use std::fs;
use std::io::{Read, Write};
use std::os::unix::ffi::OsStringExt;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use trialfit_tests::program::{Ran, command, git, run};
use trialfit_tests::scratch::folder;

const PLAIN: &str = "trialfit 1\n\nstock cable\n  sizes         4 mm²\n";
const SLIP: &str = "trialfit 1\n\nstock cable\n  nunber        X-2\n";
/// A text with one thing to mend without asking: its first line is missing.
const NO_EDITION: &str = "stock cable\n  sizes         4 mm²\n";

fn check(folder: &Path, arguments: &[&str]) -> Ran {
    run(folder, &[&["check", "--form", "line", "--date", "2026-01-15"], arguments].concat())
}

#[test]
fn a_broken_settings_file_stops_what_lies_below_it_and_nothing_else() {
    let here = folder(&[
        (".git/HEAD", ""),
        ("a/trialfit.toml", "fail-on = \"warning\"\nexlude = []\n"),
        ("a/deep/x.trialfit", SLIP),
        ("a/y.trialfit", SLIP),
        ("b/z.trialfit", SLIP),
    ]);
    let at = here.path();
    let ran = check(at, &[]);
    assert_eq!(ran.code, 2);
    assert!(ran.out.starts_with("b/z.trialfit:4:3: ") && ran.out.lines().count() == 1, "{}", ran.out);
    let says =
        "a/trialfit.toml:2:1: there is no setting `exlude`; `exclude` is near; 2 files below it are not looked at";
    assert!(ran.err.contains(says), "{}", ran.err);
    assert!(ran.err.contains("2 files could not be read"), "{}", ran.err);
    let json = run(at, &["check", "--form", "json"]);
    assert!(json.out.contains("not looked at, because `a/trialfit.toml` above it is broken"), "{}", json.out);
    for other in [
        &["mend"][..],
        &["tidy", "--look"],
        &["concessions"],
        &["followers", "b/z.trialfit"],
        &["settings", "a/y.trialfit"],
    ] {
        let ran = run(at, other);
        assert_eq!(ran.code, 2, "{other:?}: {}", ran.err);
        assert!(ran.err.contains("a/trialfit.toml:2:1: "), "{other:?}: {}", ran.err);
    }
    // No text, a folder, a link that leads out, a link that leads nowhere.
    fs::write(at.join("a/trialfit.toml"), b"known = \"caf\xe9\"\n").expect("a file");
    assert!(check(at, &["a"]).err.contains("a/trialfit.toml: it is not UTF-8 text"));
    fs::remove_file(at.join("a/trialfit.toml")).expect("removed");
    fs::create_dir(at.join("a/trialfit.toml")).expect("a folder");
    assert!(check(at, &["a"]).err.contains("a/trialfit.toml: it is not an ordinary file"));
    fs::remove_dir(at.join("a/trialfit.toml")).expect("removed");
    let outside = folder(&[("secret.toml", "fail-on = \"error\"\n")]);
    symlink(outside.path().join("secret.toml"), at.join("a/trialfit.toml")).expect("a link");
    let ran = check(at, &["a"]);
    assert!(ran.code == 2 && ran.err.contains("a link that leads out of the opened folder"), "{}", ran.err);
    fs::remove_file(outside.path().join("secret.toml")).expect("removed");
    let ran = check(at, &["a"]);
    assert!(ran.code == 2 && ran.err.contains("a/trialfit.toml: "), "{}", ran.err);
}

#[test]
fn what_is_followed_may_be_missing_a_loop_or_out_of_reach() {
    let outside = folder(&[("secret.trialfit", "trialfit 1\n\nstock cable\n  sizes         4 mm²\n")]);
    let here = folder(&[
        (".git/HEAD", ""),
        ("gone.trialfit", &BENCH.replace("bench-sheets.trialfit", "no-such.trialfit")),
        ("one.trialfit", "trialfit 1\nfollows \"two.trialfit\"\n"),
        ("two.trialfit", "trialfit 1\nfollows \"one.trialfit\"\n"),
        ("self.trialfit", "trialfit 1\nfollows \"self.trialfit\"\n"),
        ("up.trialfit", "trialfit 1\nfollows \"../../../../etc/hostname\"\n"),
        ("link.trialfit", "trialfit 1\nfollows \"led-out.trialfit\"\n"),
        ("into.trialfit", "trialfit 1\nfollows \"there\"\n"),
        ("there/x.trialfit", PLAIN),
    ]);
    let at = here.path();
    symlink(outside.path().join("secret.trialfit"), at.join("led-out.trialfit")).expect("a link");
    for (file, rule) in [
        ("gone.trialfit", "[followed-file-missing]"),
        ("one.trialfit", "[followed-files-loop]"),
        ("self.trialfit", "[followed-files-loop]"),
        ("up.trialfit", "[followed-file-outside]"),
        ("link.trialfit", "[followed-file-outside]"),
        ("into.trialfit", "[followed-file-unreadable]"),
    ] {
        let ran = check(at, &[file]);
        assert!(ran.code == 1 && ran.out.contains(rule), "{file}: {} {}", ran.out, ran.err);
    }
    // The same files ask who follows whom, and what changed: nothing hangs, nothing outside is read.
    fs::remove_dir_all(at.join(".git")).expect("removed");
    git(at, &["init", "--quiet"]);
    let changed = check(at, &["--changed"]);
    assert!(changed.code == 1 && changed.err.contains("8 of 8 files are judged: 8 changed"), "{}", changed.err);
    let followers = run(at, &["followers", "one.trialfit"]);
    assert!(followers.code == 0 && followers.out.contains("two.trialfit"), "{} {}", followers.out, followers.err);
    let followers = run(at, &["followers", outside.path().join("secret.trialfit").to_str().expect("UTF-8")]);
    assert!(!followers.out.contains("link.trialfit"), "{}", followers.out);
    assert_eq!(run(at, &["mend"]).code, 0);
}

#[test]
fn a_locked_folder_is_said_and_the_rest_is_judged() {
    let here = folder(&[("open/a.trialfit", SLIP), ("locked/b.trialfit", SLIP)]);
    let locked = here.path().join("locked");
    fs::set_permissions(&locked, fs::Permissions::from_mode(0o000)).expect("mode");
    // Whoever may read everything, such as root, cannot see this fail.
    let may_read_all = fs::read_dir(&locked).is_ok();
    let ran = check(here.path(), &[]);
    fs::set_permissions(&locked, fs::Permissions::from_mode(0o755)).expect("mode");
    assert!(ran.out.contains("open/a.trialfit:4:3: "), "{}", ran.out);
    assert_eq!(ran.code, if may_read_all { 1 } else { 2 }, "{}", ran.err);
}

/// A pipe is no job's file in a folder, and one that is named or followed does not make the tool wait for ever.
#[test]
fn a_pipe_in_the_tree_is_passed_over_and_one_that_is_followed_is_refused() {
    let here = folder(&[(".git/HEAD", ""), ("a.trialfit", "trialfit 1\nfollows \"pipe.trialfit\"\n")]);
    let pipe = here.path().join("pipe.trialfit");
    assert!(Command::new("mkfifo").arg(&pipe).status().expect("runs").success());
    let start = Instant::now();
    let ran = check(here.path(), &[]);
    assert!(ran.code == 1 && ran.out.contains("it is not an ordinary file"), "{} {}", ran.out, ran.err);
    assert_eq!(run(here.path(), &["mend"]).code, 0);
    assert_eq!(run(here.path(), &["followers", "a.trialfit"]).code, 0);
    assert!(start.elapsed() < Duration::from_secs(30));
    // A named pipe that is named is read to its end, as shells make them, and may end in the middle of a letter.
    let mut child = command(here.path(), &["check", "--form", "line", "pipe.trialfit"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("runs");
    let mut end = fs::OpenOptions::new().write(true).open(&pipe).expect("a reader");
    end.write_all(b"trialfit 1\n\njob \"\xc3").expect("written");
    drop(end);
    let mut said = String::new();
    child.stderr.take().expect("a pipe").read_to_string(&mut said).expect("text");
    assert_eq!(child.wait().expect("ends").code(), Some(2));
    assert!(said.contains("pipe.trialfit: it is not UTF-8 text"), "{said}");
}

/// Files come and go while a tree is judged: each is judged or said to be missing, and every run ends by itself.
#[test]
fn files_that_vanish_under_way_are_missing_and_no_more() {
    let many: Vec<(String, &str)> = (0..300).map(|number| (format!("jobs/{number}.trialfit"), SLIP)).collect();
    let many: Vec<(&str, &str)> = many.iter().map(|(path, text)| (path.as_str(), *text)).collect();
    let here = folder(&many);
    for round in 0..6_u64 {
        let child = command(here.path(), &["check", "--form", "line"])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("runs");
        std::thread::sleep(Duration::from_millis(round * 2));
        for number in (0..300).rev() {
            let _ = fs::remove_file(here.path().join(format!("jobs/{number}.trialfit")));
        }
        let ended = child.wait_with_output().expect("ends");
        assert!(matches!(ended.status.code(), Some(1 | 2)), "{:?}", ended.status);
        let said = String::from_utf8_lossy(&ended.stderr).into_owned();
        for line in said.lines().filter(|line| line.contains("jobs/")) {
            assert!(line.contains("there is no such file or folder"), "{line}");
        }
        for (path, text) in &many {
            fs::write(here.path().join(path), text).expect("a file");
        }
    }
}

#[test]
fn a_closed_pipe_and_a_full_disk_are_no_fault_of_the_job() {
    let job = SLIP.to_string() + &"  nunber        X-2\n".repeat(30_000);
    let here = folder(&[("a.trialfit", &job), ("b.trialfit", NO_EDITION)]);
    for arguments in [&["check", "--form", "line", "a.trialfit"][..], &["check", "--form", "json", "a.trialfit"]] {
        let mut child =
            command(here.path(), arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("runs");
        let mut first = [0_u8; 64];
        let mut out = child.stdout.take().expect("a pipe");
        out.read_exact(&mut first).expect("something is said");
        drop(out);
        let ended = child.wait_with_output().expect("ends");
        assert_eq!(ended.status.code(), Some(2), "{arguments:?}");
        assert!(!String::from_utf8_lossy(&ended.stderr).contains("fault in trialfit"), "{arguments:?}");
    }
    if !Path::new("/dev/full").exists() {
        return;
    }
    for arguments in
        [&["check", "a.trialfit"][..], &["mend"], &["concessions"], &["followers", "b.trialfit"], &["settings", "."]]
    {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").expect("a full disk");
        let ended = command(here.path(), arguments).stdout(full).output().expect("runs");
        assert_eq!(ended.status.code(), Some(2), "{arguments:?}");
        let said = String::from_utf8_lossy(&ended.stderr).into_owned();
        assert!(said.contains("the output could not be written"), "{arguments:?}: {said}");
    }
    assert_eq!(fs::read_to_string(here.path().join("b.trialfit")).expect("a file"), NO_EDITION);
}

/// Several processes that mend and tidy the same files: in the end each file is whole, mended and in order, and whoever
/// came second said so or had nothing to do.
#[test]
fn several_at_work_on_the_same_files_lose_nothing() {
    let untidy = NO_EDITION.replace("number        X", "number     X");
    let names: Vec<String> = (0..12).map(|number| format!("{number}.trialfit")).collect();
    let here = tempfile::tempdir().expect("a folder");
    for round in 0..8 {
        for name in &names {
            fs::write(here.path().join(name), &untidy).expect("a file");
        }
        let start = |arguments: &[&str]| {
            command(here.path(), arguments).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().expect("runs")
        };
        let children: Vec<_> = [&["mend", "--write"][..], &["tidy"], &["mend", "--write"], &["tidy"]].map(start).into();
        for child in children {
            let ended = child.wait_with_output().expect("ends");
            let said = String::from_utf8_lossy(&ended.stderr).into_owned();
            match ended.status.code() {
                Some(0) => {}
                Some(2) => assert!(said.contains("somebody else changed it meanwhile"), "{said}"),
                other => panic!("{other:?}: {said}"),
            }
        }
        for name in &names {
            let text = fs::read_to_string(here.path().join(name)).expect("a file");
            let whole = [
                untidy.clone(),
                format!("trialfit 1\n{untidy}"),
                NO_EDITION.to_string(),
                format!("trialfit 1\n{NO_EDITION}"),
            ];
            assert!(whole.contains(&text), "round {round}: {text:?}");
        }
        assert_eq!(run(here.path(), &["mend", "--write"]).code, 0);
        assert_eq!(run(here.path(), &["tidy"]).code, 0);
        assert_eq!(check(here.path(), &[]).code, 0, "mended and in order, whoever was first");
        let left: Vec<_> =
            fs::read_dir(here.path()).expect("a folder").flatten().map(|entry| entry.file_name()).collect();
        assert_eq!(left.len(), names.len(), "no left-overs: {left:?}");
    }
}

/// Somebody's editor saves while a mend is under way: what they wrote stands.
#[test]
fn mending_never_writes_over_what_somebody_else_wrote() {
    let here = tempfile::tempdir().expect("a folder");
    let file = here.path().join("a.trialfit");
    let theirs = "trialfit 1\n\njob \"Invented: saved by somebody\"\n";
    let slow = NO_EDITION.to_string() + &"  note          \"a long card\"\n".repeat(3_000);
    let (mut mended, mut left) = (0, 0);
    fs::write(&file, &slow).expect("a file");
    let start = Instant::now();
    assert_eq!(run(here.path(), &["mend", "--write", "a.trialfit"]).code, 0);
    let whole = start.elapsed();
    for step in 0..20_u32 {
        fs::write(&file, &slow).expect("a file");
        let child = command(here.path(), &["mend", "--write", "a.trialfit"])
            .stderr(Stdio::piped())
            .stdout(Stdio::null())
            .spawn();
        let child = child.expect("runs");
        std::thread::sleep(whole * step / 14);
        let before = fs::read_to_string(&file).expect("a file");
        if before == slow {
            // As careful editors save: another file, renamed.
            fs::write(here.path().join("theirs"), theirs).expect("a file");
            fs::rename(here.path().join("theirs"), &file).expect("renamed");
        }
        let ended = child.wait_with_output().expect("ends");
        let now = fs::read_to_string(&file).expect("a file");
        if before == slow && now == theirs {
            left += 1;
        } else {
            mended += 1;
            assert!(now == format!("trialfit 1\n{slow}") || now == theirs, "{} bytes", now.len());
        }
        assert!(matches!(ended.status.code(), Some(0 | 2)), "{}", String::from_utf8_lossy(&ended.stderr));
    }
    assert!(left > 0 && mended > 0, "the race ran both ways: {left} left alone, {mended} mended");
}

#[test]
fn mending_keeps_permissions_and_links_and_leaves_what_is_locked() {
    let here = folder(&[("real/a.trialfit", NO_EDITION), ("locked.trialfit", NO_EDITION)]);
    let at = |file: &str| here.path().join(file);
    fs::set_permissions(at("real/a.trialfit"), fs::Permissions::from_mode(0o640)).expect("mode");
    fs::set_permissions(at("locked.trialfit"), fs::Permissions::from_mode(0o440)).expect("mode");
    symlink("real/a.trialfit", at("link.trialfit")).expect("a link");
    assert_eq!(run(here.path(), &["mend", "--write", "link.trialfit"]).code, 0);
    assert!(fs::symlink_metadata(at("link.trialfit")).expect("a link").file_type().is_symlink());
    assert_eq!(fs::read_to_string(at("real/a.trialfit")).expect("a file"), format!("trialfit 1\n{NO_EDITION}"));
    assert_eq!(fs::metadata(at("real/a.trialfit")).expect("a file").permissions().mode() & 0o777, 0o640);
    let ran = run(here.path(), &["mend", "--write", "locked.trialfit"]);
    assert!(ran.code == 2 && ran.err.contains("write-protected"), "{}", ran.err);
    assert_eq!(fs::read_to_string(at("locked.trialfit")).expect("a file"), NO_EDITION);
}

#[test]
fn any_name_is_a_name() {
    let names: [&[u8]; 6] = [
        b"two words.trialfit",
        b"li\nne.trialfit",
        b"q\"u'o`te.trialfit",
        b"-rf.trialfit",
        b"lat\xe9in.trialfit",
        b"\x1b[31m.trialfit",
    ];
    let here = tempfile::tempdir().expect("a folder");
    for name in names {
        fs::write(here.path().join(OsString::from_vec(name.to_vec())), NO_EDITION).expect("a file");
    }
    let ran = check(here.path(), &[]);
    assert_eq!(ran.code, 1);
    assert_eq!(ran.out.lines().count(), names.len(), "a finding a file, a line a finding: {:?}", ran.out);
    assert!(!ran.out.contains('\x1b') && !ran.err.contains('\x1b'), "no name speaks to the terminal");
    for forms in [&["concessions", "--form", "csv"][..], &["concessions"], &["mend"]] {
        let ran = run(here.path(), forms);
        assert!(ran.code < 2 && !ran.out.contains('\x1b'), "{forms:?}: {}", ran.err);
    }
    for name in names {
        let mut arguments: Vec<OsString> = ["mend", "--write", "--"].map(OsString::from).into();
        arguments.push(OsString::from_vec(name.to_vec()));
        assert_eq!(run(here.path(), &arguments).code, 0, "{name:?}");
        let text = fs::read_to_string(here.path().join(OsString::from_vec(name.to_vec()))).expect("a file");
        assert_eq!(text, format!("trialfit 1\n{NO_EDITION}"));
    }
    assert_eq!(check(here.path(), &[]).code, 0);
    let shared = folder(&[("bench.trialfit", BENCH), ("bench-sheets.trialfit", BENCH_SHEETS)]);
    let odd = OsString::from_vec(b"od\xffd \"dir\"".to_vec());
    fs::create_dir(here.path().join(&odd)).expect("a folder");
    for file in ["bench.trialfit", "bench-sheets.trialfit"] {
        fs::copy(shared.path().join(file), here.path().join(&odd).join(file)).expect("a copy");
    }
    let ran = run(&here.path().join(&odd), &["check", "--date", "2026-01-15", "bench.trialfit"]);
    assert_eq!(ran.code, 0, "what is followed is found below any folder: {} {}", ran.out, ran.err);
}

//! Housekeeping: the arrows between the rooms of `spec-lang` point one way, the language stays pure, and files say
//! what lives in them.

use std::path::{Path, PathBuf};
use trialfit_tests::{files_below, project};

/// Each room, and the rooms it may look into. An arrow that is not here fails the test.
const ROOMS: &[(&str, &[&str])] = &[
    ("text", &[]),
    ("units", &[]),
    ("syntax", &["text"]),
    ("physics", &["units"]),
    ("vocabulary", &["units"]),
    ("reading", &["syntax", "text", "units", "vocabulary"]),
    ("source", &["reading", "text"]),
    ("model", &["physics", "reading", "source", "text", "units", "vocabulary"]),
    ("asks", &["model", "physics", "reading", "source", "text", "vocabulary"]),
    ("figures", &["model", "physics", "source", "units", "vocabulary"]),
    ("remedies", &["figures", "model", "physics", "source", "text", "units", "vocabulary"]),
    // `finding` is what a rule says: the two are one room with two doors.
    ("finding", &["asks", "model", "rules", "source", "text"]),
    (
        "rules",
        &[
            "asks",
            "figures",
            "finding",
            "model",
            "physics",
            "reading",
            "remedies",
            "source",
            "text",
            "units",
            "vocabulary",
        ],
    ),
    (
        "blanks",
        &["figures", "finding", "model", "physics", "reading", "rules", "source", "text", "units", "vocabulary"],
    ),
    ("analysis", &["blanks", "figures", "finding", "model", "reading", "rules", "source", "remedies"]),
];
/// Rooms above the analysis, which may look into all.
const ABOVE: &[&str] = &["assist", "bench", "doubts", "intake", "report"];

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    files_below(folder, "rs")
}

/// The room that a file of `spec-lang/src` belongs to.
fn room(source: &Path, path: &Path) -> String {
    let first = path.strip_prefix(source).expect("below src").components().next().expect("a name");
    first.as_os_str().to_string_lossy().trim_end_matches(".rs").to_string()
}

/// The names behind `crate::` in a text, braces opened.
fn looked_into(text: &str) -> Vec<String> {
    let mut names = Vec::new();
    for (at, _) in text.match_indices("crate::") {
        let rest = &text[at + "crate::".len()..];
        let inner = rest.strip_prefix('{').map(|inner| inner.split('}').next().unwrap_or(""));
        for part in inner.map_or(vec![rest], |inner| inner.split(',').collect()) {
            let name: String =
                part.trim().chars().take_while(|letter| letter.is_alphanumeric() || *letter == '_').collect();
            names.push(match name.as_str() {
                "Analysis" | "analyse" => "analysis".to_string(),
                _ => name,
            });
        }
    }
    names
}

#[test]
fn arrows_between_rooms_point_one_way() {
    let source = project().join("spec-lang/src");
    let mut turned = Vec::new();
    for path in rust_files(&source) {
        let here = room(&source, &path);
        if here == "lib" || ABOVE.contains(&here.as_str()) {
            continue;
        }
        let allowed =
            ROOMS.iter().find(|(name, _)| *name == here).unwrap_or_else(|| panic!("a room nobody knows: {here}")).1;
        let text = std::fs::read_to_string(&path).expect("a source file");
        // Tests inside a room may look anywhere.
        let text = text.split("#[cfg(test)]").next().unwrap_or("");
        for there in looked_into(text) {
            if there != here && !allowed.contains(&there.as_str()) {
                turned.push(format!("{} looks into {there}", path.strip_prefix(&source).expect("below src").display()));
            }
        }
    }
    assert!(turned.is_empty(), "{}", turned.join("\n"));
}

#[test]
fn the_language_touches_no_file_clock_thread_or_environment() {
    let source = project().join("spec-lang/src");
    let mut touched = Vec::new();
    for path in rust_files(&source) {
        let text = std::fs::read_to_string(&path).expect("a source file");
        for word in [
            "std::fs",
            "std::env",
            "std::thread",
            "std::time",
            "std::net",
            "std::io",
            "std::process",
            "println!",
            "eprintln!",
        ] {
            if text.contains(word) {
                touched.push(format!("{}: {word}", path.display()));
            }
        }
    }
    assert!(touched.is_empty(), "{}", touched.join("\n"));
}

#[test]
fn protocol_types_stay_in_the_server_and_drawing_in_the_terminal() {
    for (folder, words) in
        [("spec-lang", ["tower", "miette"]), ("cli", ["ropey", "tower"]), ("lsp", ["miette", "clap"])]
    {
        let manifest = std::fs::read_to_string(project().join(folder).join("Cargo.toml")).expect("a manifest");
        for word in words {
            let depends = manifest.lines().any(|line| line.trim_start().starts_with(word));
            assert!(!depends, "{folder} depends on {word}");
        }
    }
}

#[test]
fn every_file_opens_by_saying_what_lives_in_it() {
    let mut silent = Vec::new();
    for folder in ["spec-lang", "lsp", "cli", "tests/src", "tests/tests"] {
        for path in rust_files(&project().join(folder)) {
            if path.components().any(|part| part.as_os_str() == "target") {
                continue;
            }
            let text = std::fs::read_to_string(&path).expect("a source file");
            if !text.starts_with("//!") {
                silent.push(path.display().to_string());
            }
            for mark in [concat!("TO", "DO"), concat!("FIX", "ME"), concat!("XX", "X ")] {
                assert!(!text.contains(mark), "{} holds a {mark}", path.display());
            }
        }
    }
    assert!(silent.is_empty(), "{}", silent.join("\n"));
}

/// The files that belong to the project: what git follows or would follow; without git, all below the project but what
/// is built or installed there.
fn project_files() -> Vec<PathBuf> {
    let listed = std::process::Command::new("git")
        .args(["ls-files", "-z", "--cached", "--others", "--exclude-standard"])
        .current_dir(project())
        .output();
    match listed {
        Ok(listed) if listed.status.success() && !listed.stdout.is_empty() => String::from_utf8_lossy(&listed.stdout)
            .split('\0')
            .filter(|name| !name.is_empty())
            .map(PathBuf::from)
            .collect(),
        _ => {
            let mut files = Vec::new();
            let mut folders = vec![project()];
            while let Some(folder) = folders.pop() {
                for entry in std::fs::read_dir(&folder).expect("a folder") {
                    let path = entry.expect("an entry").path();
                    let name = path.file_name().unwrap_or_default();
                    if path.is_dir() {
                        if name != "target" && name != "node_modules" && name != ".git" {
                            folders.push(path);
                        }
                    } else {
                        files.push(path.strip_prefix(project()).expect("below the project").to_path_buf());
                    }
                }
            }
            files
        }
    }
}

/// Whether a text says the name that the project once had: in any letter case, in one word or in two.
fn says_the_old_name(text: &str) -> bool {
    let text = text.to_lowercase();
    text.match_indices("dry").any(|(at, first)| {
        let rest = &text[at + first.len()..];
        let gap = rest.find(|letter: char| !letter.is_whitespace() && !"-_".contains(letter)).unwrap_or(rest.len());
        // What is far off is another sentence.
        gap <= 3 && rest[gap..].starts_with("fit")
    })
}

#[test]
fn nothing_of_the_old_name_is_left() {
    for (first, second) in [("dry", "fit"), ("Dry", "Fit"), ("DRY-", "FIT"), ("a dry ", "fit"), ("dry\n", "fit")] {
        assert!(says_the_old_name(&format!("{first}{second}")), "{first}{second}");
    }
    assert!(!says_the_old_name("a trial fit, in a dry room; it will fit"));
    let files = project_files();
    assert!(files.iter().any(|path| path.ends_with("README.md")), "the project's files are found");
    let mut left = Vec::new();
    for path in files {
        let name = path.display().to_string();
        // A file that git still lists and that is gone says nothing.
        let Ok(bytes) = std::fs::read(project().join(&path)) else { continue };
        if says_the_old_name(&name) || says_the_old_name(&String::from_utf8_lossy(&bytes)) {
            left.push(name);
        }
    }
    assert!(left.is_empty(), "the project's old name stands in\n{}", left.join("\n"));
}

//! Scratch folders with the files of a test, schemas as the binary shows them, and jobs that several tests spoil alike. No
//! test lives here.

use crate::program::run;
use crate::project;
use serde_json::Value;
use spec_lang::rules::BENCH;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// A folder with these files, gone with the value.
pub fn folder(files: &[(&str, &str)]) -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for (path, text) in files {
        write(folder.path(), path, text);
    }
    folder
}

/// Writes a file below a folder, with the folders that it needs.
pub fn write(folder: &Path, path: &str, text: &str) {
    let path = folder.join(path);
    fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
    fs::write(path, text).expect("a file");
}

/// Copies a folder with all that is below it.
pub fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("a folder").flatten() {
        let there = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &there);
        } else {
            fs::copy(entry.path(), there).expect("a file");
        }
    }
}

/// The committed schema of a form, which is the one that the command shows.
pub fn schema(of: &str) -> jsonschema::Validator {
    let text = fs::read_to_string(project().join(format!("cli/schema/{of}-1.json"))).expect("a schema");
    assert_eq!(run(&project(), &["schema", of]).out, text, "the command shows the committed schema");
    let schema: Value = serde_json::from_str(&text).expect("JSON");
    jsonschema::meta::validate(&schema).expect("a schema by the meta-schema");
    jsonschema::validator_for(&schema).expect("a schema")
}

/// The bench job with its cable gone the long way round, in a size that is too small for it.
pub fn long_cable() -> String {
    let walked =
        "  back          650 mm\n  right         910 mm\n  up            30 mm\n  ends          at reader\n\nopening";
    assert!(BENCH.contains(walked), "the bench job has another cable now");
    let text = BENCH.replace(walked, "  run           18 m\n  ends          at reader\n\nopening");
    text.replace("size          4 mm²", "size          2.5 mm²").replace("fuse          20 A", "fuse          15 A")
}

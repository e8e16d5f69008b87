//! Every finding of the examples, none missing and none extra: the list is `tests/golden/examples.txt`. To write it
//! anew after a change that is meant, run the tests with `TRIALFIT_WRITE=1` and read the difference.

use trialfit_tests::{Folder, lines, project, trialfit_files};

#[test]
fn the_examples_have_the_findings_of_the_golden_list_and_no_other() {
    let examples = project().join("examples");
    let folder = Folder::new();
    let mut found = String::new();
    for path in trialfit_files(&examples) {
        let name = path.strip_prefix(&examples).expect("below examples").to_string_lossy().replace('\\', "/");
        found.push_str(&format!("{name}\n"));
        for line in lines(&folder.judge(&path)) {
            found.push_str(&format!("  {line}\n"));
        }
    }
    let golden = project().join("tests/golden/examples.txt");
    if std::env::var_os("TRIALFIT_WRITE").is_some() {
        std::fs::create_dir_all(golden.parent().expect("a folder")).expect("the golden folder");
        std::fs::write(&golden, &found).expect("the golden list");
    }
    let wanted = std::fs::read_to_string(&golden).expect("the golden list");
    assert!(
        wanted == found,
        "the golden list differs (TRIALFIT_WRITE=1 writes it anew):\n{}",
        difference(&wanted, &found)
    );
}

/// Lines of one list that the other lacks.
fn difference(wanted: &str, found: &str) -> String {
    let missing =
        wanted.lines().filter(|line| !found.lines().any(|other| other == *line)).map(|line| format!("- {line}"));
    let extra =
        found.lines().filter(|line| !wanted.lines().any(|other| other == *line)).map(|line| format!("+ {line}"));
    missing.chain(extra).collect::<Vec<_>>().join("\n")
}

//! The committed catalogue of rules and the language's reference are what the rules and the vocabulary give. `TRIALFIT_WRITE=1` writes it anew.

use trialfit_tests::program::{command, ended, run};
use trialfit_tests::project;

/// Compares a committed document with what a command prints; writes it anew where that is asked for.
fn current(document: &str, arguments: &[&str], wanted: &str) {
    let file = project().join(document);
    let ran = run(&project(), arguments);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_eq!(ran.out, wanted, "the command shows the language's own document");
    if std::env::var_os("TRIALFIT_WRITE").is_some() {
        std::fs::write(&file, &ran.out).expect("the document can be written");
    }
    let committed = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(committed == ran.out, "{document} is not current: run the tests with TRIALFIT_WRITE=1");
}

#[test]
fn the_committed_catalogue_is_current() {
    current("spec-lang/RULES.md", &["rules", "--markdown"], &spec_lang::rules::catalogue());
}

#[test]
fn the_committed_reference_of_the_language_is_current() {
    current("spec-lang/LANGUAGE.md", &["words", "--markdown"], &spec_lang::report::language_page());
}

#[test]
fn the_report_in_the_readme_is_a_real_one() {
    let readme = std::fs::read_to_string(project().join("README.md")).expect("the README");
    let shown = readme.split("```\n").find(|block| block.starts_with("ERROR: ")).expect("a report in the README");
    let mut asked = command(&project(), &["check", "examples/mobile-library.trialfit"]);
    let ran = ended(asked.env("LC_ALL", "C.UTF-8").output().expect("runs"));
    assert_eq!(ran.code, 1);
    assert!(ran.out.contains(shown), "the README shows\n{shown}\nand the command says\n{}", ran.out);
}

#[test]
fn every_word_of_every_block_is_listed_for_the_terminal() {
    for entry in spec_lang::vocabulary::KINDS.iter().skip(1) {
        let list = run(&project(), &["words", entry.header]);
        assert_eq!((list.code, list.err.as_str()), (0, ""), "{}", entry.header);
        for word in entry.words() {
            assert!(list.out.contains(word.word) && list.out.contains(word.example), "{} {}", entry.header, word.word);
        }
    }
    assert_eq!(run(&project(), &["words", "exhuast"]).code, 2);
}

#[test]
fn every_rule_has_a_page_for_the_terminal() {
    let list = run(&project(), &["explain"]);
    assert_eq!(list.code, 0);
    for rule in spec_lang::rules::all() {
        assert!(list.out.contains(rule.name), "{} is not in the list", rule.name);
        let page = run(&project(), &["explain", rule.name]);
        assert_eq!((page.code, page.err.as_str()), (0, ""), "{}", rule.name);
        assert!(page.out.starts_with(rule.name));
        for part in [rule.bad, rule.good] {
            let first = part.trim_matches('\n').lines().next().expect("an example");
            assert!(page.out.contains(first), "{} shows its examples", rule.name);
        }
        assert!(!page.out.contains("```") && !page.out.contains("**"), "{}: no Markdown on a terminal", rule.name);
        if rule.life_safety() {
            assert!(page.out.contains("nothing sets it aside"), "{}", rule.name);
        }
    }
}

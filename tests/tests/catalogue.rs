//! The committed catalogue of rules is the one that the rules themselves give. `DRYFIT_WRITE=1` writes it anew.

use dryfit_tests::program::run;
use dryfit_tests::project;

#[test]
fn the_committed_catalogue_is_current() {
    let file = project().join("spec-lang/RULES.md");
    let ran = run(&project(), &["rules", "--markdown"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_eq!(ran.out, spec_lang::rules::catalogue(), "the command shows the language's own catalogue");
    if std::env::var_os("DRYFIT_WRITE").is_some() {
        std::fs::write(&file, &ran.out).expect("the catalogue can be written");
    }
    let committed = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(committed == ran.out, "spec-lang/RULES.md is not current: run the tests with DRYFIT_WRITE=1");
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
        if rule.life_safety {
            assert!(page.out.contains("no concession sets it aside"), "{}", rule.name);
        }
    }
}

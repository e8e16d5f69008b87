//! The settings of the language server: the schema that editors' manifests are made from and the page for readers are
//! what the server's own table says. `TRIALFIT_WRITE=1` writes both anew.

use trialfit_tests::project;

#[test]
fn schema_and_page_are_the_servers_own() {
    for (name, made) in
        [("settings.schema.json", trialfit_lsp::settings_schema()), ("SETTINGS.md", trialfit_lsp::settings_page())]
    {
        let path = project().join("lsp").join(name);
        if std::env::var_os("TRIALFIT_WRITE").is_some() {
            std::fs::write(&path, &made).expect("a file to write");
        }
        let kept = std::fs::read_to_string(&path).unwrap_or_default();
        assert_eq!(
            kept, made,
            "{name}: write it anew with TRIALFIT_WRITE=1 cargo test -p trialfit-tests --test settings"
        );
    }
}

//! The settings that a person may give the server: one table, from which the schema and its documentation are made.
//! What a client can do is not in here.

use serde_json::{Value, json};
use std::time::Duration;

/// The section under which clients keep them.
pub(crate) const SECTION: &str = "trialfit";

/// One setting.
struct Setting {
    name: &'static str,
    default: fn() -> Value,
    says: &'static str,
    /// The largest number it takes.
    most: Option<u64>,
}

const SETTINGS: &[Setting] = &[
    Setting {
        name: "quietMilliseconds",
        default: || json!(40),
        says: "How long to wait after the last keystroke before the text is checked again, in milliseconds.",
        most: Some(2_000),
    },
    Setting {
        name: "inlayHints",
        default: || json!(true),
        says: "Show results at the end of a line: the length and bends of a run, where it ends, the voltage left.",
        most: None,
    },
    Setting {
        name: "blankHints",
        default: || json!(true),
        says: "Show after a blank (`?`) what can fill it. The tool works this out when the line comes into view.",
        most: None,
    },
    Setting {
        name: "codeLenses",
        default: || json!(true),
        says: "Show the margins of each run above its header. Where the editor can show figures and drawings, show links to them too.",
        most: None,
    },
    Setting {
        name: "closedFiles",
        default: || json!(true),
        says: "Also judge job files that are not open. At most 2,000 files, and never outside the opened folders.",
        most: None,
    },
    Setting {
        name: "rulePages",
        default: || json!(""),
        says: "The address of your own copy of the rule pages. The rule's name is added at its end, and each finding links to it. Leave it empty for no link. `trialfit explain RULE` shows the page in a terminal.",
        most: None,
    },
];

/// The settings as they are.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Options {
    /// How long the text must rest before findings are computed anew.
    pub(crate) quiet: Duration,
    /// Inlay hints are wanted.
    pub(crate) inlay_hints: bool,
    /// What blanks can be filled with is wanted behind them.
    pub(crate) blank_hints: bool,
    /// Code lenses are wanted.
    pub(crate) code_lenses: bool,
    /// Closed files are judged.
    pub(crate) closed_files: bool,
    /// What stands before a rule's name in the address of its page.
    pub(crate) rule_pages: String,
}

impl Default for Options {
    fn default() -> Options {
        Options::read(&Value::Null)
    }
}

impl Options {
    /// From what a client sends: the settings themselves, or under the section's name. What is missing, or of another
    /// kind than wanted, has its default.
    pub(crate) fn read(sent: &Value) -> Options {
        let sent = sent.get(SECTION).unwrap_or(sent);
        let setting = |name: &str| SETTINGS.iter().find(|setting| setting.name == name);
        let value = |name: &str| {
            let default = setting(name).map_or(Value::Null, |setting| (setting.default)());
            let given =
                sent.get(name).filter(|given| std::mem::discriminant(*given) == std::mem::discriminant(&default));
            given.cloned().unwrap_or(default)
        };
        let usual = setting("quietMilliseconds").and_then(|setting| (setting.default)().as_u64()).unwrap_or(0);
        let milliseconds = value("quietMilliseconds").as_u64().unwrap_or(usual);
        let most = setting("quietMilliseconds").and_then(|setting| setting.most).unwrap_or(u64::MAX);
        Options {
            quiet: Duration::from_millis(milliseconds.min(most)),
            inlay_hints: value("inlayHints") == json!(true),
            blank_hints: value("blankHints") == json!(true),
            code_lenses: value("codeLenses") == json!(true),
            closed_files: value("closedFiles") == json!(true),
            rule_pages: value("rulePages").as_str().unwrap_or("").to_string(),
        }
    }
}

/// The settings as a JSON schema (2020-12).
pub fn settings_schema() -> String {
    let mut properties = serde_json::Map::new();
    for setting in SETTINGS {
        let default = (setting.default)();
        let kind = match default {
            Value::Bool(_) => "boolean",
            Value::Number(_) => "integer",
            _ => "string",
        };
        let mut property = json!({ "type": kind, "default": default, "description": setting.says });
        if let (Some(most), Some(property)) = (setting.most, property.as_object_mut()) {
            property.insert("minimum".to_string(), json!(0));
            property.insert("maximum".to_string(), json!(most));
        }
        properties.insert(setting.name.to_string(), property);
    }
    let schema = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Settings of the trialfit language server",
        "description": "Sent as initializationOptions, or kept by the client under the section `trialfit`.",
        "type": "object",
        "properties": properties,
    });
    format!("{schema:#}\n")
}

/// The settings as a page for readers.
pub fn settings_page() -> String {
    let mut page = "# Settings of the language server\n\nMade from the table in `lsp/src/options.rs`; a test holds the two \
         together. Editors send them as `initializationOptions`,\nor keep them under the section `trialfit` \
         (`workspace/configuration`, `workspace/didChangeConfiguration`).\n\n| setting | default | what it does |\n|---|---|---|\n"
        .to_string();
    for setting in SETTINGS {
        page.push_str(&format!("| `{}` | `{}` | {} |\n", setting.name, (setting.default)(), setting.says));
    }
    page.push_str(
        "\n`commands`, in `initializationOptions` only, is for editors: the names of the commands that the client itself \
         carries out.\n`trialfit.showFigures` and `trialfit.showDrawing` are called with the job's address and the line of a \
         header, and shown above\nruns only where they are named there.\n",
    );
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_client_sends_is_taken_as_far_as_it_fits() {
        let plain = Options::default();
        assert_eq!(Options::read(&json!({ "inlayHints": "no", "quietMilliseconds": -3, "rulePages": 4 })), plain);
        assert_eq!(Options::read(&json!([1, 2])), plain);
        let set = Options::read(&json!({ "trialfit": { "inlayHints": false, "quietMilliseconds": 99_999 } }));
        assert!(!set.inlay_hints && set.code_lenses);
        assert_eq!(set.quiet, Duration::from_millis(2_000));
    }
}

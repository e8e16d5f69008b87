//! The language server over its wire, in this process: order, encodings, freshness, files that follow each other, what
//! different clients are given, bad messages and ends. The built binary and real editors are driven from `tests/lsp`.

#[path = "server/wire.rs"]
mod wire;

use proptest::prelude::*;
use serde_json::{Value, json};
use spec_lang::rules::{BENCH, BENCH_SHEETS};
use std::path::PathBuf;
use trialfit_tests::scratch::long_cable;
use wire::{Wire, run};

const JOB: &str = "untitled:job.trialfit";

/// What a client that says nothing about itself sends.
fn plain() -> Value {
    json!({ "processId": null, "rootUri": null, "capabilities": {} })
}

/// A client that pulls findings and can be told to pull again.
fn pulling(encodings: &[&str]) -> Value {
    json!({
        "processId": null, "rootUri": null, "initializationOptions": { "quietMilliseconds": 0 },
        "capabilities": {
            "general": { "positionEncodings": encodings },
            "workspace": { "diagnostics": { "refreshSupport": true } },
            "textDocument": { "diagnostic": {} }
        }
    })
}

fn document(uri: &str) -> Value {
    json!({ "textDocument": { "uri": uri } })
}

fn at(uri: &str, line: usize, character: usize) -> Value {
    json!({ "textDocument": { "uri": uri }, "position": { "line": line, "character": character } })
}

fn line_with(text: &str, part: &str) -> usize {
    text.lines().position(|line| line.contains(part)).unwrap_or_else(|| panic!("no line has {part}"))
}

fn range(line: usize, from: usize, to: usize) -> Value {
    json!({ "start": { "line": line, "character": from }, "end": { "line": line, "character": to } })
}

fn codes(findings: &[Value]) -> Vec<&str> {
    findings.iter().filter_map(|finding| finding["code"].as_str()).collect()
}

/// A folder with the bench job and its sheets, gone when dropped.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let folder = std::env::temp_dir().join(format!("trialfit-server-{}-{name}", std::process::id()));
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(folder.join("bench.trialfit"), BENCH).unwrap();
        std::fs::write(folder.join("bench-sheets.trialfit"), BENCH_SHEETS).unwrap();
        Folder(folder)
    }

    fn uri(&self, file: &str) -> String {
        format!("file://{}/{file}", self.0.display())
    }

    fn opened(&self, mut params: Value) -> Value {
        params["workspaceFolders"] = json!([{ "uri": format!("file://{}", self.0.display()), "name": "job" }]);
        params
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// All that the server says about a text, without the address it is at.
async fn said(wire: &mut Wire, uri: &str) -> String {
    let mut all = String::new();
    for method in ["textDocument/diagnostic", "textDocument/documentSymbol", "textDocument/foldingRange"] {
        all += &wire.result(method, document(uri)).await.to_string();
    }
    let options = json!({ "textDocument": { "uri": uri }, "options": { "tabSize": 8, "insertSpaces": false } });
    all += &wire.result("textDocument/formatting", options).await.to_string();
    all.replace(uri, "")
}

/// A text and what is done to it: each edit takes the letters between two places and writes others.
#[derive(Clone, Debug)]
struct Script {
    start: String,
    edits: Vec<(prop::sample::Index, prop::sample::Index, String)>,
}

fn any_script() -> impl Strategy<Value = Script> {
    let piece = "(trialfit 1\r\n|job \"β😀\"\n|  altitude 0 m [.][.] 62😀0 m\r\n|heater reader\n|cable a of reader\r|\
                 |  size  4 mm²\n|\r\n|\n|😀|²| |  run 13 ft # β\r\n|follows \"x\"\n|x){0,10}";
    let edits = prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>(), piece), 1..10);
    (piece, edits).prop_map(|(start, edits)| Script { start, edits })
}

/// Line and column of a letter by the protocol's definition, counted independently of the server.
fn position(text: &[char], letter: usize, encoding: &str) -> Value {
    let (mut line, mut column) = (0, 0);
    for at in 0..letter {
        let ends = text[at] == '\n' || (text[at] == '\r' && text.get(at + 1) != Some(&'\n'));
        column += match encoding {
            "utf-8" => text[at].len_utf8(),
            "utf-16" => text[at].len_utf16(),
            _ => 1,
        };
        if ends {
            (line, column) = (line + 1, 0);
        }
    }
    json!({ "line": line, "character": column })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn edits_end_in_the_same_document_and_findings_as_opening_it(script in any_script()) {
        for encoding in ["utf-8", "utf-16", "utf-32"] {
            let (edited, fresh) = run(async {
                let (mut wire, capabilities) = Wire::greet(pulling(&[encoding])).await;
                assert_eq!(capabilities["positionEncoding"], encoding);
                wire.open(JOB, 0, &script.start);
                let mut text: Vec<char> = script.start.chars().collect();
                for (version, (one, other, insert)) in script.edits.iter().enumerate() {
                    // Between CR and LF there is no place of its own.
                    let place = |index: &prop::sample::Index| {
                        let at = index.index(text.len() + 1);
                        at - usize::from(at > 0 && text[at - 1] == '\r' && text.get(at) == Some(&'\n'))
                    };
                    let (from, to) = (place(one).min(place(other)), place(one).max(place(other)));
                    let (start, end) = (position(&text, from, encoding), position(&text, to, encoding));
                    wire.change(JOB, version as i64 + 1, json!([{ "range": { "start": start, "end": end }, "text": insert }]));
                    text.splice(from..to, insert.chars());
                }
                let fresh = "untitled:fresh.trialfit";
                wire.open(fresh, 1, &text.iter().collect::<String>());
                (said(&mut wire, JOB).await, said(&mut wire, fresh).await)
            });
            prop_assert_eq!(edited, fresh, "{}", encoding);
        }
    }
}

#[test]
fn thousands_of_edits_and_questions_keep_their_order() {
    run(async {
        let (mut wire, _) = Wire::greet(plain()).await;
        let text = "trialfit 1\n\ncable supply of reader\n  run           1 mm\n";
        wire.open(JOB, 0, text);
        let mut questions = Vec::new();
        // All sent before any answer is read: nothing but order can make the answers right.
        for turn in 2..2_502 {
            let before = (turn - 1_i64).to_string().len();
            wire.change(JOB, turn, json!([{ "range": range(3, 16, 16 + before), "text": turn.to_string() }]));
            questions.push((turn, wire.post("textDocument/hover", at(JOB, 3, 17))));
        }
        for (turn, question) in questions {
            let answer = wire.answer(question).await;
            let value = answer["result"]["contents"]["value"].as_str().unwrap_or_default().to_string();
            assert!(value.starts_with(&format!("{turn} mm\n")), "the question behind edit {turn} saw: {value}");
        }
    });
}

#[test]
fn published_findings_are_never_stale_and_end_with_the_text() {
    run(async {
        let (mut wire, capabilities) = Wire::greet(plain()).await;
        assert!(capabilities.get("diagnosticProvider").is_none(), "pushed only");
        wire.open(JOB, 0, "trialfit 1\n\ncable supply of reader\n  sise 4 mm²\n");
        let first = wire.published(JOB, Some(0)).await;
        assert!(codes(&first).contains(&"unknown-word"), "{first:?}");
        for version in 1..300 {
            // Odd versions have the slip one line lower.
            let insert = if version % 2 == 1 { "\n" } else { "" };
            let taken = json!({ "start": { "line": 1, "character": 0 }, "end": { "line": 1 + (version + 1) % 2, "character": 0 } });
            wire.change(JOB, version, json!([{ "range": taken, "text": insert }]));
            if version % 40 == 0 {
                tokio::time::sleep(std::time::Duration::from_millis(60)).await;
            }
        }
        let mut last = 0;
        while last < 299 {
            let message = wire.hear("textDocument/publishDiagnostics").await;
            let version = message["params"]["version"].as_i64().unwrap();
            assert!(version > last, "{version} after {last}");
            last = version;
            let findings = message["params"]["diagnostics"].as_array().unwrap();
            let slip = findings.iter().find(|finding| finding["code"] == "unknown-word").unwrap();
            assert_eq!(slip["range"]["start"]["line"].as_i64(), Some(3 + version % 2), "at version {version}");
        }
        wire.close(JOB);
        assert_eq!(wire.published(JOB, None).await, Vec::<Value>::new(), "taken back on close");
    });
}

#[test]
fn a_small_wire_is_found_explained_and_mended() {
    let folder = Folder::new("mended");
    run(async {
        let mut params = folder.opened(plain());
        params["capabilities"] = json!({
            "workspace": { "workspaceEdit": { "documentChanges": true } },
            "textDocument": {
                "hover": { "contentFormat": ["markdown", "plaintext"] },
                "codeAction": { "codeActionLiteralSupport": { "codeActionKind": { "valueSet": ["quickfix"] } }, "isPreferredSupport": true }
            }
        });
        let (mut wire, _) = Wire::greet(params).await;
        let uri = folder.uri("bench.trialfit");
        let text = long_cable();
        wire.open(&uri, 1, &text.replace("2.5 mm²", "35 mm²"));
        let before = wire.published(&uri, Some(1)).await;
        let line = line_with(&text, "size          2.5 mm²");
        wire.change(&uri, 2, json!([{ "range": range(line, 16, 18), "text": "2.5" }]));
        let found = wire.published(&uri, Some(2)).await;
        let low = found.iter().find(|finding| finding["code"] == "starting-voltage-low");
        let low = low.unwrap_or_else(|| panic!("not found in {found:#?}")).clone();
        let place = &low["range"]["start"];
        let hover = wire
            .result(
                "textDocument/hover",
                json!({ "textDocument": { "uri": uri }, "position": { "line": line, "character": 17 } }),
            )
            .await;
        let hover = hover["contents"]["value"].as_str().unwrap().to_string();
        assert!(hover.contains("Ω"), "the working shows the resistance of the run: {hover}");
        let params =
            json!({ "textDocument": { "uri": uri }, "range": low["range"], "context": { "diagnostics": [low] } });
        let actions = wire.result("textDocument/codeAction", params).await;
        let action = actions
            .as_array()
            .unwrap()
            .iter()
            .find(|action| action["diagnostics"][0]["code"] == "starting-voltage-low");
        let action = action.unwrap_or_else(|| panic!("no fix at {place}: {actions:#}"));
        let change = &action["edit"]["documentChanges"][0];
        assert_eq!(change["textDocument"], json!({ "uri": uri, "version": 2 }), "tied to the text it is for");
        let edits: Vec<Value> = change["edits"].as_array().unwrap().clone();
        assert_eq!(edits.len(), 1, "nothing else is changed: {edits:?}");
        assert_eq!(edits[0]["range"]["start"]["line"], json!(line));
        wire.change(&uri, 3, json!([{ "range": edits[0]["range"], "text": edits[0]["newText"] }]));
        let after = wire.published(&uri, Some(3)).await;
        assert!(!codes(&after).contains(&"starting-voltage-low"), "{after:#?}");
        assert!(after.len() <= before.len(), "nothing new: {after:#?}");
    });
}

#[test]
fn a_workshop_edit_reaches_the_jobs_that_follow_it() {
    let folder = Folder::new("workshop");
    let (job, sheets) = (folder.uri("bench.trialfit"), folder.uri("bench-sheets.trialfit"));
    let line = line_with(BENCH_SHEETS, "datasheet heater air-2");
    run(async {
        let (mut wire, _) = Wire::greet(folder.opened(plain())).await;
        wire.open(&job, 7, BENCH);
        let clean = wire.published(&job, Some(7)).await;
        assert!(!codes(&clean).contains(&"name-not-found"), "{clean:#?}");
        wire.open(&sheets, 1, BENCH_SHEETS);
        wire.change(&sheets, 2, json!([{ "range": range(line, 17, 22), "text": "air-9" }]));
        let found = wire.published(&job, Some(7)).await;
        assert!(codes(&found).contains(&"name-not-found"), "the open workshop file counts, not the disk: {found:#?}");
        wire.close(&sheets);
        let again = wire.published(&job, Some(7)).await;
        assert_eq!(again, clean, "closed unsaved: the disk counts again");
        std::fs::write(folder.0.join("bench-sheets.trialfit"), BENCH_SHEETS.replace("air-2", "air-9")).unwrap();
        wire.tell("workspace/didChangeWatchedFiles", json!({ "changes": [{ "uri": sheets, "type": 2 }] }));
        let found = wire.published(&job, Some(7)).await;
        assert!(codes(&found).contains(&"name-not-found"), "changed on the disk: {found:#?}");
        std::fs::remove_file(folder.0.join("bench-sheets.trialfit")).unwrap();
        wire.tell("workspace/didChangeWatchedFiles", json!({ "changes": [{ "uri": sheets, "type": 3 }] }));
        let found = wire.published(&job, Some(7)).await;
        assert!(codes(&found).contains(&"followed-file-missing"), "{found:#?}");
    });
    let folder = Folder::new("refresh");
    let (job, sheets) = (folder.uri("bench.trialfit"), folder.uri("bench-sheets.trialfit"));
    run(async {
        let (mut wire, _) = Wire::greet(folder.opened(pulling(&["utf-16"]))).await;
        wire.open(&job, 1, BENCH);
        let first = wire.result("textDocument/diagnostic", document(&job)).await;
        let known = json!({ "textDocument": { "uri": job }, "previousResultId": first["resultId"] });
        let again = wire.result("textDocument/diagnostic", known).await;
        assert_eq!(again["kind"], "unchanged", "{again}");
        wire.open(&sheets, 1, BENCH_SHEETS);
        wire.change(&sheets, 2, json!([{ "range": range(line, 17, 22), "text": "air-9" }]));
        wire.hear("workspace/diagnostic/refresh").await;
        let found = wire.result("textDocument/diagnostic", document(&job)).await;
        assert!(codes(found["items"].as_array().unwrap()).contains(&"name-not-found"), "{found:#}");
        assert!(wire.heard.iter().all(|message| message["method"] != "textDocument/publishDiagnostics"), "pulled only");
    });
}

#[test]
fn nothing_outside_the_opened_folder_is_read() {
    let folder = Folder::new("outside");
    let inner = folder.0.join("inner");
    std::fs::create_dir_all(inner.join("x")).unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink(folder.0.join("bench-sheets.trialfit"), inner.join("linked.trialfit")).unwrap();
    std::fs::write(inner.join("own.trialfit"), BENCH_SHEETS).unwrap();
    run(async {
        for opened in [json!([{ "uri": format!("file://{}", inner.display()), "name": "inner" }]), Value::Null] {
            let mut params = plain();
            params["workspaceFolders"] = opened;
            let (mut wire, _) = Wire::greet(params).await;
            let uri = folder.uri("inner/job.trialfit");
            for (version, (follows, outside)) in [
                ("../bench-sheets.trialfit", true),
                ("../no-such-file.trialfit", true),
                ("/no/such/file.trialfit", true),
                ("/etc/hostname", true),
                ("linked.trialfit", cfg!(unix)),
                ("own.trialfit", false),
                ("x/../own.trialfit", false),
            ]
            .into_iter()
            .enumerate()
            {
                let version = version as i64;
                let text = BENCH.replace("bench-sheets.trialfit", follows);
                if version == 0 {
                    wire.open(&uri, version, &text);
                } else {
                    wire.change(&uri, version, json!([{ "text": text }]));
                }
                let found = wire.published(&uri, Some(version)).await;
                assert_eq!(codes(&found).contains(&"followed-file-outside"), outside, "{follows}: {found:#?}");
                assert!(!codes(&found).contains(&"followed-file-missing"), "{follows}: {found:#?}");
            }
        }
    });
}

#[test]
fn one_document_by_two_spellings_is_one_document() {
    let folder = Folder::new("spellings %41 ü");
    let folder_uri = format!("file://{}", folder.0.display()).replace('%', "%25").replace(' ', "%20");
    run(async {
        let (mut wire, _) = Wire::greet(plain()).await;
        let opened = format!("{folder_uri}/bench.trialfit").replace('ü', "%C3%BC");
        wire.open(&opened, 1, BENCH);
        let found = wire.published(&opened, Some(1)).await;
        assert!(!codes(&found).contains(&"followed-file-missing"), "{found:#?}");
        let other = opened.replace("bench.trialfit", "./%62ench.trialfit").replace("%C3%BC", "%c3%bc");
        wire.change(&other, 2, json!([{ "range": range(0, 0, 8), "text": "trialfit 9" }]));
        let found = wire.published(&opened, Some(2)).await;
        assert!(!found.is_empty(), "an edition later than known, under the spelling that opened it");
    });
}

#[test]
fn each_client_is_given_what_it_can_take() {
    let action = json!({ "codeActionLiteralSupport": { "codeActionKind": { "valueSet": ["", "quickfix"] } } });
    let markdown = json!({ "contentFormat": ["markdown", "plaintext"] });
    let hierarchy = json!({ "hierarchicalDocumentSymbolSupport": true });
    let pushed = json!({ "relatedInformation": true, "tagSupport": { "valueSet": [1, 2] } });
    // Shapes of what an editor of each sort declares; only what changes the answers.
    let clients = [
        (
            "pulls, one encoding",
            json!({
                "general": { "positionEncodings": ["utf-16"] },
                "workspace": { "workspaceEdit": { "documentChanges": true }, "diagnostics": { "refreshSupport": true } },
                "textDocument": { "diagnostic": { "relatedDocumentSupport": false }, "publishDiagnostics": pushed, "codeAction": action,
                    "hover": markdown, "documentSymbol": hierarchy, "completion": { "completionItem": { "snippetSupport": true } } }
            }),
            "utf-16",
            true,
            true,
            true,
        ),
        (
            "three encodings, pulls without refresh",
            json!({
                "general": { "positionEncodings": ["utf-8", "utf-16", "utf-32"] },
                "textDocument": { "diagnostic": { "dynamicRegistration": false }, "publishDiagnostics": pushed, "codeAction": action,
                    "hover": markdown, "documentSymbol": hierarchy, "completion": { "completionItem": { "snippetSupport": true } } }
            }),
            "utf-8",
            false,
            false,
            true,
        ),
        (
            "no encodings, no pull, plain text",
            json!({
                "workspace": { "workspaceEdit": { "documentChanges": true } },
                "textDocument": { "publishDiagnostics": { "relatedInformation": false }, "codeAction": action,
                    "hover": { "contentFormat": ["plaintext"] }, "documentSymbol": hierarchy }
            }),
            "utf-16",
            false,
            true,
            false,
        ),
        (
            "two encodings, no pull",
            json!({
                "general": { "positionEncodings": ["utf-8", "utf-16"] },
                "workspace": { "workspaceEdit": { "documentChanges": true } },
                "textDocument": { "publishDiagnostics": pushed, "codeAction": action, "hover": markdown, "documentSymbol": hierarchy,
                    "completion": { "completionItem": { "snippetSupport": true } } }
            }),
            "utf-8",
            false,
            true,
            true,
        ),
        (
            "nothing but versions",
            json!({ "textDocument": { "publishDiagnostics": { "versionSupport": true } } }),
            "utf-16",
            false,
            false,
            false,
        ),
    ];
    let folder = Folder::new("clients");
    let uri = folder.uri("bench.trialfit");
    let text = long_cable();
    let line = line_with(&text, "2.5 mm²");
    run(async {
        for (name, capabilities, encoding, pulls, versioned, rich) in clients {
            let acts = capabilities["textDocument"].get("codeAction").is_some();
            let nested = capabilities["textDocument"].get("documentSymbol").is_some();
            let mut params = folder.opened(plain());
            params["capabilities"] = capabilities;
            let (mut wire, offered) = Wire::greet(params).await;
            assert_eq!(offered["positionEncoding"], encoding, "{name}");
            assert_eq!(offered.get("diagnosticProvider").is_some(), pulls, "{name}");
            assert_eq!(offered.get("codeActionProvider").is_some(), acts, "{name}");
            wire.open(&uri, 4, &text);
            let found = if pulls {
                wire.result("textDocument/diagnostic", document(&uri)).await["items"].as_array().unwrap().clone()
            } else {
                wire.published(&uri, Some(4)).await
            };
            assert!(codes(&found).contains(&"starting-voltage-low"), "{name}: {found:#?}");
            let hover = wire.result("textDocument/hover", at(&uri, line, 17)).await;
            assert_eq!(hover["contents"]["kind"] == "markdown", rich, "{name}");
            let end = &hover["range"]["end"]["character"];
            assert_eq!(end, &json!(if encoding == "utf-8" { 24 } else { 23 }), "{name}: the end of `2.5 mm²`");
            let symbols = wire.result("textDocument/documentSymbol", document(&uri)).await;
            assert_eq!(symbols[0].get("children").is_some(), nested, "{name}");
            assert_eq!(symbols[0].get("location").is_some(), !nested, "{name}");
            let offered = wire.result("textDocument/completion", at(&uri, line, 2)).await;
            let snippets = offered.as_array().unwrap().iter().any(|item| item["insertTextFormat"] == 2);
            assert_eq!(snippets, rich, "{name}");
            let params = json!({ "textDocument": { "uri": uri }, "range": range(line, 16, 20), "context": { "diagnostics": [] } });
            let actions = wire.result("textDocument/codeAction", params).await;
            let edits: Vec<&Value> = actions.as_array().unwrap().iter().map(|action| &action["edit"]).collect();
            assert_eq!(!edits.is_empty(), acts, "{name}: {actions:#}");
            for edit in edits {
                assert_eq!(edit.get("documentChanges").is_some(), versioned, "{name}: {edit}");
                assert_eq!(edit.get("changes").is_some(), !versioned, "{name}: {edit}");
            }
        }
    });
}

#[test]
fn what_completion_offers_fits_the_place() {
    let text = format!(
        "{BENCH}\ncable extra of reader\n  from \n  carries reader\n  run 13 \n  back 1 m, \n  \n\nexhaust of \n\nh"
    );
    let count = text.lines().count();
    let folder = Folder::new("completion");
    let uri = folder.uri("bench.trialfit");
    run(async {
        let (mut wire, _) = Wire::greet(folder.opened(plain())).await;
        wire.open(&uri, 1, &text);
        let mut labels = async |line: usize, character: usize| -> Vec<String> {
            let offered = wire.result("textDocument/completion", at(&uri, line, character)).await;
            let labels = offered.as_array().unwrap().iter().map(|item| item["label"].as_str().unwrap().to_string());
            labels.collect()
        };
        let has = |labels: &[String], label: &str| labels.iter().any(|it| it == label);
        let margin = labels(count - 1, 1).await;
        assert!(has(&margin, "heater") && has(&margin, "cable") && !has(&margin, "size"), "{margin:?}");
        assert!(!has(&margin, "trialfit"), "said already: {margin:?}");
        let inside = labels(count - 5, 2).await;
        assert!(has(&inside, "fuse") && has(&inside, "run") && !has(&inside, "heater"), "{inside:?}");
        assert!(!has(&inside, "from"), "said above already: {inside:?}");
        assert_eq!(labels(count - 9, 7).await, ["house"], "batteries only");
        let units = labels(count - 7, 9).await;
        assert!(has(&units, "ft") && has(&units, "mm") && !has(&units, "V"), "{units:?}");
        let directions = labels(count - 6, 12).await;
        assert!(has(&directions, "nearside") && has(&directions, "up"), "{directions:?}");
        assert_eq!(labels(count - 3, 11).await, ["reader"], "heaters only");
        let sheet = line_with(&text, "datasheet     air-2");
        assert!(has(&labels(sheet, 18).await, "air-2"), "sheets from the followed file");
    });
}

#[test]
fn bad_messages_are_answered_and_survived() {
    run(async {
        let mut wire = Wire::start();
        let early = wire.ask("textDocument/hover", at(JOB, 0, 0)).await;
        assert_eq!(early["error"]["code"], -32002, "before initialize");
        for (bytes, code) in [
            (&b"Content-Length: 5\r\n\r\n{\"a\":"[..], -32700),
            (b"Content-Length: 2\r\n\r\n[]", -32600),
            (b"Content-Length: 4\r\n\r\nnull", -32600),
            (b"Content-Length: 3\r\n\r\n\xff\xfe\xfd", -32700),
            (b"Content-Length: 99999999999999999999999\r\n\r\n", -32700),
            (b"Content-Length: none\r\n\r\n", -32700),
            (b"total nonsense\r\n\r\n", -32700),
            (b"Content-Length: 31\r\n\r\n{\"jsonrpc\":\"1.0\",\"method\":\"hey\"}", -32700),
        ] {
            wire.raw(bytes);
            let answer = wire.next().await.unwrap();
            let expected = [json!(code), json!(-32600)];
            assert!(expected.contains(&answer["error"]["code"]), "{}: {answer}", String::from_utf8_lossy(bytes));
            assert_eq!(answer["id"], Value::Null);
        }
        // The last one was a byte short; what follows is found again.
        wire.raw(b"\r\n\r\n");
        let _ = wire.next().await;
        let strange = wire.ask("initialize", json!({ "capabilities": 3 })).await;
        assert_eq!(strange["error"]["code"], -32602, "{strange}");
        assert!(wire.ask("initialize", plain()).await.get("result").is_some());
        assert_eq!(wire.ask("initialize", plain()).await["error"]["code"], -32600, "a second time");
        assert_eq!(wire.ask("no/such/method", Value::Null).await["error"]["code"], -32601);
        assert_eq!(wire.ask("textDocument/hover", json!({ "textDocument": 1 })).await["error"]["code"], -32602);
        wire.tell("textDocument/didChange", json!({ "nonsense": true }));
        wire.tell("$/unheardOf", json!({}));
        wire.change(JOB, 3, json!([{ "text": "never opened" }]));
        wire.close(JOB);
        assert_eq!(wire.result("textDocument/hover", at(JOB, 0, 0)).await, Value::Null, "of a file that is not open");
        wire.open(JOB, 1, "trialfit 1\n");
        wire.change(JOB, 2, json!([{ "range": range(900, 5, 7), "text": "\nheater x\n" }]));
        let hover = wire.result("textDocument/hover", at(JOB, 2, 0)).await;
        assert!(hover["contents"]["value"].as_str().unwrap().contains("heater"), "past the end is the end: {hover}");
        assert!(wire.result("shutdown", Value::Null).await.is_null());
        assert_eq!(wire.ask("textDocument/hover", at(JOB, 2, 0)).await["error"]["code"], -32600, "after shutdown");
        wire.tell("exit", Value::Null);
        assert_eq!(wire.code_while_open().await, 0);
    });
}

#[test]
fn every_end_ends_the_server() {
    run(async {
        let wire = Wire::start();
        assert_eq!(wire.end().await, 1, "the input ends before anything is said");
        let wire = Wire::start();
        wire.tell("exit", Value::Null);
        assert_eq!(wire.code_while_open().await, 1, "exit before initialize");
        let (wire, _) = Wire::greet(plain()).await;
        wire.tell("exit", Value::Null);
        assert_eq!(wire.code_while_open().await, 1, "exit without shutdown");
        let (wire, _) = Wire::greet(plain()).await;
        wire.open(JOB, 1, BENCH);
        assert_eq!(wire.end().await, 1, "the input ends without a word");
        let (mut wire, _) = Wire::greet(plain()).await;
        wire.result("shutdown", Value::Null).await;
        assert_eq!(wire.end().await, 0, "the input ends after shutdown");
    });
}

#[test]
fn settings_beside_a_job_are_kept_to_and_watched() {
    let folder = Folder::new("settings");
    let settings = folder.0.join("trialfit.toml");
    let changed = |wire: &Wire, kind: i64| {
        let uri = folder.uri("trialfit.toml");
        wire.tell("workspace/didChangeWatchedFiles", json!({ "changes": [{ "uri": uri, "type": kind }] }));
    };
    run(async {
        let mut params = folder.opened(plain());
        params["capabilities"] = json!({ "workspace": { "didChangeWatchedFiles": { "dynamicRegistration": true } } });
        params["initializationOptions"] = json!({ "closedFiles": false });
        let (mut wire, _) = Wire::greet(params).await;
        let asked = wire.hear("client/registerCapability").await.to_string();
        assert!(asked.contains("**/trialfit.toml"), "{asked}");
        let job = folder.uri("old.trialfit");
        wire.open(&job, 1, "trialfit 1\n\njob \"x\"\n  nunber 1\n");
        let first = wire.published(&job, Some(1)).await;
        assert!(codes(&first).contains(&"unknown-word"), "{first:?}");
        // One that comes, one that changes, one that is broken, one that goes.
        std::fs::write(&settings, "exclude = [\"old.*\"]\n").unwrap();
        changed(&wire, 1);
        assert_eq!(wire.published(&job, Some(1)).await, Vec::<Value>::new());
        std::fs::write(&settings, "exlude = [\"old.*\"]\n# longer\n").unwrap();
        changed(&wire, 2);
        let broken = wire.published(&job, Some(1)).await;
        let said = broken[0]["message"].as_str().unwrap();
        assert!(broken.len() == 1 && said.starts_with("NOT JUDGED: "), "{broken:?}");
        assert!(said.contains("trialfit.toml:1:1: there is no setting `exlude`; `exclude` is near"), "{said}");
        std::fs::remove_file(&settings).unwrap();
        changed(&wire, 3);
        assert_eq!(wire.published(&job, Some(1)).await, first);
    });
}

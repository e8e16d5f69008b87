//! The form SARIF 2.1.0 (OASIS Standard, 27 March 2020): wire structures of its own, strings only. Same findings in, same
//! bytes out: no times, no absolute paths, nothing of the machine. Sections (§) are the standard's.
//!
//! What the standard leaves open is settled here:
//!
//! - What a safety rule could not judge is a result of kind `open`, "insufficient information to decide" (§3.27.9). Such a
//!   result may have no level (§3.27.10), and readers may pass over it; so each file with some has one failing result of
//!   the rule `not-judged` beside them, for such a job is not clean.
//! - A concession is a construct of the language, so its suppression is `inSource` (§3.35.2), with its place. A missing
//!   fact that is owed stays a result of kind `open`, with a suppression that is `external`: it stands in the record.
//! - A file that could not be read is a notification of level `error`: the run has failed (§3.20.21).

use super::json::tool_version;
use super::{CAUTION, Debt, Locator, Naming, Owing, Position, conceded_line, finding_text};
use crate::analysis::Analysis;
use crate::finding::{Finding, Limit, NotJudged, Remedy, Severity};
use crate::rules::{self, About, Family, Guards, Rule};
use crate::source::{FileId, Place};
use serde::Serialize;
use std::collections::{BTreeMap, HashMap, HashSet};

/// Where the schema of the form is published.
const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json";

/// The name of the folder that all paths start from; where it lies is not said (§3.14.14).
const BASE: &str = "SRCROOT";

/// The name and version of the fingerprints (§3.27.17).
const FINGERPRINT: &str = "trialfitContent/v1";

/// Stands for what safety rules could not judge in a file.
static NOT_JUDGED: Rule = Rule {
    name: "not-judged",
    family: Family::Law,
    severity: Severity::Error,
    title: "a job in which a safety rule could not judge",
    source: "life safety, trialfit's own rule",
    explanation: "A rule that guards against poisoning, fire or burns could not be judged, because the job does not state what the rule needs. Such a job is not clean, whatever else is found in it. The results of kind `open` say which rules could not judge, and what they lack.",
    mend: "Add what is missing.",
    bad: "",
    good: "",
    guards: Guards::Life,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |_| {},
};

/// A text for people (§3.11).
#[derive(Debug, Serialize, PartialEq)]
struct Message {
    text: String,
}

impl Message {
    /// Braces are doubled (§3.11.5); what would read as a link is none (§3.11.6).
    fn new(text: &str) -> Message {
        Message { text: text.replace('{', "{{").replace('}', "}}").replace("](", "] (") }
    }
}

/// A text in two forms (§3.12).
#[derive(Debug, Serialize)]
struct Forms {
    text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    markdown: Option<String>,
}

/// A file (§3.4).
#[derive(Clone, Debug, Serialize, PartialEq)]
#[serde(rename_all = "camelCase")]
struct ArtifactLocation {
    uri: String,
    uri_base_id: &'static str,
}

/// A file, by its path as a relative reference.
fn artifact(uri: &str) -> ArtifactLocation {
    ArtifactLocation { uri: uri.to_string(), uri_base_id: BASE }
}

/// A range of a text: the same one by lines and columns, by characters and by bytes (§3.30).
#[derive(Debug, Serialize, PartialEq)]
#[serde(rename_all = "camelCase")]
struct Region {
    start_line: u32,
    start_column: u32,
    end_line: u32,
    end_column: u32,
    char_offset: u32,
    char_length: u32,
    byte_offset: u32,
    byte_length: u32,
}

#[derive(Debug, Serialize, PartialEq)]
#[serde(rename_all = "camelCase")]
struct PhysicalLocation {
    artifact_location: ArtifactLocation,
    #[serde(skip_serializing_if = "Option::is_none")]
    region: Option<Region>,
}

/// A place (§3.28).
#[derive(Debug, Serialize, PartialEq)]
#[serde(rename_all = "camelCase")]
struct Location {
    physical_location: PhysicalLocation,
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<Message>,
}

impl Location {
    /// A whole file.
    fn file(uri: &str) -> Location {
        Location {
            physical_location: PhysicalLocation { artifact_location: artifact(uri), region: None },
            message: None,
        }
    }
}

/// One replacement (§3.57).
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Replacement {
    deleted_region: Region,
    inserted_content: Content,
}

#[derive(Debug, Serialize)]
struct Content {
    text: String,
}

/// The replacements in one file (§3.56).
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct ArtifactChange {
    artifact_location: ArtifactLocation,
    replacements: Vec<Replacement>,
}

/// A way to mend it (§3.55).
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Fix {
    description: Message,
    artifact_changes: Vec<ArtifactChange>,
    properties: FixProperties,
}

#[derive(Debug, Serialize)]
struct FixProperties {
    /// Whether it can be made without a look.
    unseen: bool,
}

/// A concession, or a debt (§3.35).
#[derive(Debug, Serialize)]
struct Suppression {
    kind: &'static str,
    status: &'static str,
    justification: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    location: Option<Location>,
}

/// What a result has beyond the standard.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct ResultProperties {
    life_safety: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    whose_limit: Option<String>,
}

/// How a result stands to the record of known findings (§3.27.24).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub enum Baseline {
    /// Not in the record, or not recordable.
    New,
    /// In the record.
    Unchanged,
    /// In the record, and graver now.
    Updated,
    /// In the record, and no longer found.
    Absent,
}

/// One result (§3.27).
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Outcome {
    rule_id: &'static str,
    rule_index: usize,
    kind: &'static str,
    level: &'static str,
    message: Message,
    locations: Vec<Location>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    related_locations: Vec<Location>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    fixes: Vec<Fix>,
    suppressions: Vec<Suppression>,
    /// Content and file.
    partial_fingerprints: BTreeMap<&'static str, String>,
    /// How it stands to a record, where the check was held against one: then on all results or on none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub baseline_state: Option<Baseline>,
    properties: ResultProperties,
}

impl Outcome {
    fn of(rule: &'static Rule, message: &str, locations: Vec<Location>, fingerprint: String) -> Outcome {
        Outcome {
            rule_id: rule.name,
            rule_index: 0,
            kind: "fail",
            level: level(rule.severity),
            message: Message::new(message),
            locations,
            related_locations: Vec::new(),
            fixes: Vec::new(),
            suppressions: Vec::new(),
            partial_fingerprints: BTreeMap::from([(FINGERPRINT, fingerprint)]),
            baseline_state: None,
            properties: ResultProperties { life_safety: rule.life_safety(), limit: None, whose_limit: None },
        }
    }

    /// With how a missing fact stands to the record.
    pub fn owe(&mut self, debt: &Debt) {
        if !debt.counts() {
            let justification = debt.says();
            self.suppressions.push(Suppression { kind: "external", status: "accepted", justification, location: None });
        }
        self.baseline_state = match debt.owing {
            Owing::Owed | Owing::Final => Some(Baseline::Unchanged),
            Owing::RunOut | Owing::Grew(_) => Some(Baseline::Updated),
            Owing::SaidBefore => Some(Baseline::New),
        };
    }

    /// The failing result of a file in which `rules` could not be judged.
    pub fn file_not_judged(uri: &str, rules: &[&str], fingerprint: String) -> Outcome {
        let names: Vec<String> = rules.iter().map(|rule| format!("`{rule}`")).collect();
        let message = format!(
            "NOT JUDGED: {} of the rules that guard life could not judge ({}); the job is not clean\nmend: add what the \
             results of kind `open` say is missing\n{CAUTION}",
            rules.len(),
            names.join(", ")
        );
        Outcome::of(&NOT_JUDGED, &message, vec![Location::file(uri)], fingerprint)
    }

    /// A finding of the record that is no longer found in a file. `None` where its rule is no longer known.
    pub fn absent(uri: &str, rule: &str, about: &str, severity: Severity, fingerprint: String) -> Option<Outcome> {
        let rule = rules::find(rule)?;
        let message = format!("no longer found: {} ({about})", rule.title);
        let mut gone = Outcome::of(rule, &message, vec![Location::file(uri)], fingerprint);
        gone.level = level(severity);
        gone.baseline_state = Some(Baseline::Absent);
        Some(gone)
    }
}

/// The standard's word for how grave something is (§3.27.10).
fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Advice => "note",
    }
}

/// Puts the findings of one analysis on the wire. Files are named by relative references (RFC 3986).
pub struct Writer<'a> {
    analysis: &'a Analysis,
    locator: Locator<'a>,
    uri: Naming<'a>,
    /// How many characters stand before each line of a file, a byte-order mark not counted.
    before_line: HashMap<FileId, Vec<u32>>,
}

impl<'a> Writer<'a> {
    /// For one analysis.
    pub fn new(analysis: &'a Analysis, uri: Naming<'a>) -> Writer<'a> {
        Writer { analysis, locator: Locator::new(analysis), uri, before_line: HashMap::new() }
    }

    /// A finding.
    pub fn finding(&mut self, finding: &Finding, fingerprint: String) -> Outcome {
        let mut out = Outcome::of(
            finding.rule,
            &with_caution(finding.rule, finding_text(finding)),
            vec![self.location(finding.place, &finding.label)],
            fingerprint,
        );
        out.level = level(finding.severity);
        out.properties.life_safety = finding.guards_life();
        out.related_locations = finding.used.iter().map(|place| self.location(*place, "used here")).collect();
        out.related_locations
            .extend(finding.related.iter().map(|related| self.location(related.place, &related.label)));
        // The standard wants each of them once (§3.27.22).
        let mut once: Vec<Location> = Vec::new();
        for location in out.related_locations.drain(..) {
            if !once.contains(&location) {
                once.push(location);
            }
        }
        out.related_locations = once;
        out.fixes = finding.remedies.iter().map(|remedy| self.fix(remedy)).collect();
        out.suppressions = finding
            .conceded
            .iter()
            .map(|conceded| Suppression {
                kind: "inSource",
                status: "accepted",
                justification: conceded_line(conceded),
                location: Some(self.location(conceded.place, "")),
            })
            .collect();
        let limit = finding.limit.as_ref();
        out.properties.limit = limit.map(|Limit { text, .. }| text.clone());
        out.properties.whose_limit = limit.map(|Limit { whose, .. }| whose.to_string());
        out
    }

    /// What a safety rule could not judge.
    pub fn not_judged(&mut self, left: &NotJudged, fingerprint: String) -> Outcome {
        let message = with_caution(left.rule, left.says());
        let mut out = Outcome::of(left.rule, &message, vec![self.location(left.place, "")], fingerprint);
        out.kind = "open";
        out.level = "none";
        out
    }

    fn fix(&mut self, remedy: &Remedy) -> Fix {
        let mut changes: Vec<(FileId, ArtifactChange)> = Vec::new();
        for (file, edit) in &remedy.edits {
            let place = Place { file: *file, span: edit.span };
            let replacement = Replacement {
                deleted_region: self.region(place),
                inserted_content: Content { text: edit.insert.clone() },
            };
            match changes.iter_mut().find(|(known, _)| known == file) {
                Some((_, change)) => change.replacements.push(replacement),
                None => {
                    let artifact_location = artifact(&(self.uri)(*file));
                    changes.push((*file, ArtifactChange { artifact_location, replacements: vec![replacement] }));
                }
            }
        }
        let title =
            if remedy.unseen { remedy.title.clone() } else { format!("{} (look before you apply it)", remedy.title) };
        Fix {
            description: Message::new(&title),
            artifact_changes: changes.into_iter().map(|(_, change)| change).collect(),
            properties: FixProperties { unseen: remedy.unseen },
        }
    }

    fn location(&mut self, place: Place, label: &str) -> Location {
        let region = Some(self.region(place));
        Location {
            physical_location: PhysicalLocation { artifact_location: artifact(&(self.uri)(place.file)), region },
            message: (!label.is_empty()).then(|| Message::new(label)),
        }
    }

    fn region(&mut self, place: Place) -> Region {
        let length = self.analysis.reading(place.file).map_or(0, |reading| reading.tree.text.len());
        let length = u32::try_from(length).unwrap_or(u32::MAX);
        let (first, last) = (place.span.start.min(length), place.span.end.min(length));
        let (start, start_char) = self.point(place.file, first);
        let (end, end_char) = self.point(place.file, last);
        Region {
            start_line: start.line,
            start_column: start.column,
            end_line: end.line,
            end_column: end.column,
            char_offset: start_char,
            char_length: end_char.saturating_sub(start_char),
            byte_offset: first,
            byte_length: last.saturating_sub(first),
        }
    }

    /// Line, column, and how many characters stand before.
    fn point(&mut self, file: FileId, byte: u32) -> (Position, u32) {
        let at = self.locator.position(file, byte);
        let analysis = self.analysis;
        let before = self.before_line.entry(file).or_insert_with(|| before_line(analysis, file));
        let line = before.get(at.line.saturating_sub(1) as usize).copied().unwrap_or(0);
        (at, line.saturating_add(at.column.saturating_sub(1)))
    }
}

/// What is said by a rule, with the caution below where the rule is about the install.
fn with_caution(rule: &Rule, said: String) -> String {
    if rule.is_of_the_install() { format!("{said}\n{CAUTION}") } else { said }
}

/// How many characters stand before each line of a file; the text is counted once.
fn before_line(analysis: &Analysis, file: FileId) -> Vec<u32> {
    let Some(reading) = analysis.reading(file) else { return Vec::new() };
    let text: &str = &reading.tree.text;
    let mut count = 0u32;
    let mut at = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let starts = reading.tree.lines.iter().map(|line| {
        let start = line.span.start as usize;
        let letters = text.get(at..start).unwrap_or("").chars().count();
        count = count.saturating_add(u32::try_from(letters).unwrap_or(u32::MAX));
        at = at.max(start);
        count
    });
    starts.collect()
}

/// A rule (§3.49). It has no address: its page is given whole.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Descriptor {
    id: &'static str,
    name: String,
    short_description: Forms,
    full_description: Forms,
    help: Forms,
    default_configuration: Configuration,
    properties: DescriptorProperties,
}

#[derive(Debug, Serialize)]
struct Configuration {
    level: &'static str,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct DescriptorProperties {
    family: &'static str,
    life_safety: bool,
    tags: Vec<&'static str>,
}

/// Wide enough that the lines of a page are not broken: whoever shows it breaks them.
const UNBROKEN: usize = 100_000;

impl Descriptor {
    fn of(rule: &'static Rule) -> Descriptor {
        let tags =
            if rule.life_safety() { vec![rule.family.title(), "life-safety"] } else { vec![rule.family.title()] };
        Descriptor {
            id: rule.name,
            // One word for people, as the standard recommends (§3.49.7): `FuseFarFromBattery`.
            name: rule
                .name
                .split('-')
                .flat_map(|word| {
                    let mut letters = word.chars();
                    letters.next().map(|first| first.to_uppercase().chain(letters).collect::<String>())
                })
                .collect(),
            short_description: Forms { text: rule.title.to_string(), markdown: None },
            full_description: Forms { text: rule.explanation.to_string(), markdown: None },
            help: Forms { text: super::rule_page(rule, UNBROKEN), markdown: Some(rules::page(rule)) },
            default_configuration: Configuration { level: level(rule.severity) },
            properties: DescriptorProperties { family: rule.family.title(), life_safety: rule.life_safety(), tags },
        }
    }
}

/// Something that came of the run itself (§3.58).
#[derive(Debug, Serialize)]
pub struct Notification {
    level: &'static str,
    message: Message,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    locations: Vec<Location>,
}

impl Notification {
    /// Some of the work could not be done: the run has failed (§3.20.21).
    pub fn failure(uri: Option<&str>, reason: &str) -> Notification {
        let locations = uri.map(Location::file).into_iter().collect();
        Notification { level: "error", message: Message::new(reason), locations }
    }

    /// For people to know.
    pub fn note(words: &str) -> Notification {
        Notification { level: "note", message: Message::new(words), locations: Vec::new() }
    }
}

#[derive(Debug, Serialize)]
struct Artifact {
    location: ArtifactLocation,
    roles: [&'static str; 1],
    #[serde(rename = "sourceLanguage")]
    source_language: &'static str,
    encoding: &'static str,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Invocation {
    execution_successful: bool,
    exit_code: u8,
    exit_code_description: &'static str,
    tool_execution_notifications: Vec<Notification>,
    tool_configuration_notifications: Vec<Notification>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Driver {
    name: &'static str,
    version: &'static str,
    semantic_version: &'static str,
    short_description: Forms,
    full_description: Forms,
    rules: Vec<Descriptor>,
}

#[derive(Debug, Serialize)]
struct Tool {
    driver: Driver,
}

#[derive(Debug, Serialize)]
struct Described {
    description: Message,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct RunProperties {
    caution: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    date: Option<String>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Run {
    tool: Tool,
    invocations: [Invocation; 1],
    original_uri_base_ids: BTreeMap<&'static str, Described>,
    artifacts: Vec<Artifact>,
    results: Vec<Outcome>,
    column_kind: &'static str,
    newline_sequences: [&'static str; 3],
    default_encoding: &'static str,
    default_source_language: &'static str,
    language: &'static str,
    properties: RunProperties,
}

/// The document (§3.13).
#[derive(Debug, Serialize)]
pub struct Log {
    #[serde(rename = "$schema")]
    schema: &'static str,
    version: &'static str,
    runs: [Run; 1],
}

/// What the run was and how it ended.
#[derive(Debug, Default)]
pub struct Facts {
    /// The files that were judged, as relative references, in order.
    pub judged: Vec<String>,
    /// What could not be done, and what the tool itself did wrong.
    pub execution: Vec<Notification>,
    /// What was asked for and could not be had; what to know of the record.
    pub configuration: Vec<Notification>,
    /// The exit code.
    pub exit_code: u8,
    /// The day that concessions were held against.
    pub date: Option<String>,
}

impl Log {
    /// The document of a run. Rules are described where a result is theirs.
    pub fn new(mut results: Vec<Outcome>, facts: Facts) -> Log {
        let known = rules::all().chain([&rules::RULE_FAILED, &NOT_JUDGED]);
        let named: HashSet<&str> = results.iter().map(|result| result.rule_id).collect();
        let used: Vec<&'static Rule> = known.filter(|rule| named.contains(rule.name)).collect();
        let index: HashMap<&str, usize> = used.iter().enumerate().map(|(number, rule)| (rule.name, number)).collect();
        for result in &mut results {
            result.rule_index = index.get(result.rule_id).copied().unwrap_or(0);
        }
        let failed = facts.execution.iter().chain(&facts.configuration).any(|said| said.level == "error");
        let version = tool_version();
        let run = Run {
            tool: Tool {
                driver: Driver {
                    name: "trialfit",
                    version,
                    semantic_version: version,
                    short_description: Forms {
                        text: "checks the written job of a fuel-fired air heater in a vehicle".to_string(),
                        markdown: None,
                    },
                    full_description: Forms { text: CAUTION.to_string(), markdown: None },
                    rules: used.into_iter().map(Descriptor::of).collect(),
                },
            },
            invocations: [Invocation {
                execution_successful: !failed,
                exit_code: facts.exit_code,
                exit_code_description: match facts.exit_code {
                    0 => "done; nothing found",
                    1 => "done; something was found or could not be judged",
                    _ => "some of the work could not be done",
                },
                tool_execution_notifications: facts.execution,
                tool_configuration_notifications: facts.configuration,
            }],
            original_uri_base_ids: BTreeMap::from([(
                BASE,
                Described {
                    description: Message::new(
                        "the folder that was checked: the top of the repository, if there is one",
                    ),
                },
            )]),
            artifacts: facts
                .judged
                .iter()
                .map(|uri| Artifact {
                    location: artifact(uri),
                    roles: ["analysisTarget"],
                    source_language: "trialfit",
                    encoding: "UTF-8",
                })
                .collect(),
            results,
            column_kind: "unicodeCodePoints",
            newline_sequences: ["\r\n", "\n", "\r"],
            default_encoding: "UTF-8",
            default_source_language: "trialfit",
            language: "en",
            properties: RunProperties { caution: CAUTION, date: facts.date },
        };
        Log { schema: SCHEMA, version: "2.1.0", runs: [run] }
    }
}

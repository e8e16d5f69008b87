//! What a rule says: a finding, in parts that every report and editor lays out in its own way. No rule lives here.

use crate::asks::{Gap, Need, Stands};
pub use crate::model::Whose;
use crate::rules::Rule;
use crate::source::FileId;
use crate::source::Place;
use crate::text::Edit;

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Something a careful fitter would want to know.
    Advice,
    /// A limit of common practice, or a margin that a tolerance can eat.
    Warning,
    /// Do not build it.
    Error,
}

impl Severity {
    /// The word that reports use.
    pub const fn word(self) -> &'static str {
        match self {
            Severity::Advice => "advice",
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
    }
}

/// A limit in words, and whose it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limit {
    /// The limit, number first: `10.2 V at the heater while it starts`.
    pub text: String,
    /// Whose.
    pub whose: Whose,
}

/// A second place that takes part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Related {
    /// Where.
    pub place: Place,
    /// What is there.
    pub label: String,
}

impl Related {
    /// How a note opens that tells what else follows from a finding.
    const NOTE: &'static str = "so also: ";

    /// A finding that another explains, as a note on it.
    pub fn note(effect: &Finding) -> Related {
        Related { place: effect.place, label: format!("{}{}", Related::NOTE, effect.title) }
    }

    /// The title of the finding that it notes; `None` where it is no note.
    pub fn noted(&self) -> Option<&str> {
        self.label.strip_prefix(Related::NOTE)
    }
}

/// A way to mend a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remedy {
    /// What it does, as an order: `write 4 mm²`.
    pub title: String,
    /// The edits, by file.
    pub edits: Vec<(FileId, Edit)>,
    /// Whether it can be made unseen: meaning and comments kept, finding gone, no new error.
    pub unseen: bool,
}

/// One finding.
#[derive(Clone, Debug)]
pub struct Finding {
    /// The rule that made it.
    pub rule: &'static Rule,
    /// How grave it is.
    pub severity: Severity,
    /// Where it is written.
    pub place: Place,
    /// Where it is used, where that is another place.
    pub used: Option<Place>,
    /// One line that stands alone: what is wrong, the figure, the limit.
    pub title: String,
    /// What to say at the place itself.
    pub label: String,
    /// The reason, with its figures.
    pub why: String,
    /// The limit and whose it is.
    pub limit: Option<Limit>,
    /// What to do.
    pub help: String,
    /// Other places that take part.
    pub related: Vec<Related>,
    /// Ways to mend it.
    pub remedies: Vec<Remedy>,
    /// The concession that sets it aside, where one does.
    pub conceded: Option<Conceded>,
    /// Whether it carries the note of a finding that guards against poisoning, fire or burns.
    pub notes_life: bool,
}

/// Why a finding is set aside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Conceded {
    /// The concession's header.
    pub place: Place,
    /// The reason given.
    pub because: String,
    /// Who granted it.
    pub by: String,
    /// The last day it holds, as written.
    pub until: Option<String>,
}

/// What a rule could not judge.
#[derive(Clone, Debug, PartialEq)]
pub struct NotJudged {
    /// The rule; where a fact is missing, the gravest of those that rest on it.
    pub rule: &'static Rule,
    /// The thing it would have judged, or where the fact should stand.
    pub place: Place,
    /// What is missing, as the end of "not judged, because …".
    pub because: String,
    /// The fact that is missing, where it is one.
    pub missing: Option<Missing>,
}

/// A fact that a job does not say.
#[derive(Clone, Debug, PartialEq)]
pub struct Missing {
    /// Which.
    pub fact: Need,
    /// What else the same line would say.
    pub also: Vec<Need>,
    /// In what way it is missing.
    pub gap: Gap,
    /// Whether a finding tells of it already.
    pub told_already: bool,
    /// The header of the block that should say it, as written; of a block that is not there, of the one that obliges it.
    pub block: String,
    /// The rules that ask for it, the gravest first.
    pub rules: Vec<&'static Rule>,
    /// What the same questions ask next, once it is said.
    pub then: Vec<Need>,
}

impl Missing {
    /// What is missing, as the end of "not judged, because …".
    pub fn because(&self) -> String {
        let (fact, block) = (self.fact, &self.block);
        let word = if fact.row().reads.is_empty() { fact.word() } else { fact.row().reads };
        let lacks = match self.gap {
            Gap::Unknown(_) => format!("`{block}` says that `{word}` is unknown"),
            Gap::Blank(_) => format!("`{word}` of `{block}` is left open"),
            Gap::Asked(_) => format!("the job that fits the kit answers for `{word}` of `{block}`"),
            Gap::NotRead(_) => format!("`{word}` of `{block}` was not understood"),
            Gap::Misplaced(_) if fact.row().stands == Stands::First => {
                format!("`{block}` does not say `{word}` before its first leg")
            }
            Gap::Misplaced(_) => {
                format!("`{block}` goes on behind its last `{word}`, and nothing says how it ends")
            }
            Gap::Part(_) => {
                let what = fact.row().part.map_or("", |part| part.what);
                format!("`{word}` of `{block}` does not say {what}")
            }
            Gap::Silent if fact.is_block() && block.is_empty() => format!("there is no `{word}` block"),
            Gap::Silent if fact.is_block() => format!("there is no `{word}` block for `{block}`"),
            Gap::Silent if fact.row().reads.is_empty() && fact.choice().is_some() => {
                let choices: Vec<&str> =
                    std::iter::once(&fact).chain(&self.also).filter_map(|fact| fact.choice()).collect();
                format!("`{block}` does not say `{word} {}`", choices.join(", "))
            }
            Gap::Silent if block.is_empty() => format!("nothing says `{word}`"),
            Gap::Silent => format!("`{block}` does not say `{word}`"),
        };
        let mut because = format!("{lacks}. Write for example `{}`", fact.example());
        let mut next: Vec<String> = self.then.iter().map(|fact| format!("`{}`", fact.word())).collect();
        next.sort_unstable();
        next.dedup();
        if !next.is_empty() {
            because += &format!(". They then need {}", next.join(", "));
        }
        because
    }
}

impl NotJudged {
    /// What was not judged and why, for readers.
    pub fn says(&self) -> String {
        if self.rule.name == crate::rules::ONLY_A_SKETCH.name {
            return format!("NOT JUDGED: an install, because {}", self.because);
        }
        let Some(missing) = &self.missing else {
            return format!("NOT JUDGED: whether there is {}, because {}", self.rule.title, self.because);
        };
        let because = &self.because;
        match missing.rules.len() {
            0 | 1 => format!("NOT JUDGED: whether there is {}, because {because}", self.rule.title),
            count => {
                format!("NOT JUDGED: {count} questions, first whether there is {}, because {because}", self.rule.title)
            }
        }
    }
}

impl Finding {
    /// A finding of a rule at a place; the rule's severity, and nothing said yet but the title.
    pub fn new(rule: &'static Rule, place: Place, title: impl Into<String>) -> Finding {
        Finding {
            rule,
            severity: rule.severity,
            place,
            used: None,
            title: title.into(),
            label: String::new(),
            why: String::new(),
            limit: None,
            help: String::new(),
            related: Vec::new(),
            remedies: Vec::new(),
            conceded: None,
            notes_life: false,
        }
    }

    /// Whether it, or a finding noted on it, guards against poisoning, fire or burns: then nobody sets it aside.
    pub fn guards_life(&self) -> bool {
        self.notes_life || self.rule.life_safety()
    }

    /// Whether a concession or a record of known findings may take it out of a check.
    pub fn can_wait(&self) -> bool {
        !self.notes_life && self.rule.can_wait()
    }

    /// With the finding of something that follows from it as a note: what that guards, it now guards.
    pub fn note(&mut self, effect: &Finding) {
        self.related.push(Related::note(effect));
        self.notes_life |= effect.guards_life();
    }

    /// With the words at the place itself.
    pub fn label(mut self, label: impl Into<String>) -> Finding {
        self.label = label.into();
        self
    }

    /// With the reason.
    pub fn why(mut self, why: impl Into<String>) -> Finding {
        self.why = why.into();
        self
    }

    /// With the limit and whose it is.
    pub fn limit(mut self, text: impl Into<String>, whose: Whose) -> Finding {
        self.limit = Some(Limit { text: text.into(), whose });
        self
    }

    /// With what to do.
    pub fn help(mut self, help: impl Into<String>) -> Finding {
        self.help = help.into();
        self
    }

    /// With another place that takes part.
    pub fn related(mut self, place: Place, label: impl Into<String>) -> Finding {
        self.related.push(Related { place, label: label.into() });
        self
    }

    /// With a remedy that replaces the finding's own bytes.
    pub fn replace(self, title: impl Into<String>, insert: impl Into<String>, unseen: bool) -> Finding {
        let place = self.place;
        self.replace_at(title, place, insert, unseen)
    }

    /// With a remedy that replaces the bytes of a place.
    pub fn replace_at(
        mut self,
        title: impl Into<String>,
        place: Place,
        insert: impl Into<String>,
        unseen: bool,
    ) -> Finding {
        let edit = Edit { span: place.span, insert: insert.into() };
        self.remedies.push(Remedy { title: title.into(), edits: vec![(place.file, edit)], unseen });
        self
    }
}

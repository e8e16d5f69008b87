//! The rules: what is judged, by whose limit, and in which words. A rule is a static that says what it is, a pure
//! function that finds, and a page of examples. Physics and figures are not computed here, only compared.

mod account;
mod battery;
mod causes;
mod combustion;
mod concessions;
mod coolant;
mod engine;
mod exhaust;
mod fitting;
mod fuel_line;
mod fuel_use;
mod heat_demand;
mod law;
mod layers;
mod laying;
mod margin;
mod names;
mod night;
mod page;
mod pickup;
mod practice;
mod return_air;
mod short_circuit;
mod tape;
mod text;
mod warm_air;
mod ways;
mod wire;

pub(crate) use account::answers_for;
pub use account::{Account, Answer, Open, Question, Totals};
pub use causes::{Cause, Within};
pub(crate) use engine::block_at;
pub use engine::{Day, Findings, RULE_FAILED, USUAL_NOTICE, Verdict, account, judge, margins};
pub use margin::{Bound, Judged, Stand, Told};
pub use page::{BENCH, BENCH_KITS, BENCH_SHEETS, BENCH_USUAL, CAUTION, catalogue, compose, page};
pub(crate) use text::ONLY_A_SKETCH;
pub use text::{BLANK_INSOLUBLE, OPEN_BLANK};

use crate::asks::Ask;
use crate::finding::Severity;
use crate::model::unit_or;
use crate::units::Dimension;

/// A family of rules: a chapter of the catalogue.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)] // titles below
pub enum Family {
    Text,
    Names,
    Layers,
    Wire,
    FuelLine,
    Ways,
    Exhaust,
    Combustion,
    ReturnAir,
    WarmAir,
    HeatDemand,
    Night,
    Coolant,
    Fitting,
    Law,
    Practice,
    Concessions,
}

impl Family {
    /// The chapter's title.
    pub const fn title(self) -> &'static str {
        match self {
            Family::Text => "the text itself",
            Family::Names => "names, sheets and followed files",
            Family::Layers => "kits and layers",
            Family::Wire => "cable, fuse and battery",
            Family::FuelLine => "fuel line and pump",
            Family::Ways => "lengths and bends",
            Family::Exhaust => "exhaust and combustion air",
            Family::Combustion => "combustion: flow, heat and water",
            Family::ReturnAir => "warm air and return air",
            Family::WarmAir => "ducts and outlets",
            Family::HeatDemand => "heat demand",
            Family::Night => "the night",
            Family::Coolant => "coolant",
            Family::Fitting => "how the heater is fitted",
            Family::Law => "law, alarms and sleeping spaces",
            Family::Practice => "a workshop's practice",
            Family::Concessions => "concessions",
        }
    }
}

/// What a rule guards: the answer to one question asked of every rule: can this poison, gas, burn or set on fire, or leave
/// nobody able to tell? Where it can, no concession, practice, record, setting or option takes its findings out of a check.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Guards {
    /// People against gas: carbon monoxide led to them, made by a starved flame, or not told of.
    Life,
    /// People and vehicle against fire, burns and bursts.
    Fire,
    /// That the heater starts and runs on the coldest morning.
    Start,
    /// That it serves well: warmth, noise, wear, cost.
    Comfort,
    /// That what is written can be judged: every other rule reads it, and passes over what it cannot read. What is wrong
    /// here may hide what can kill.
    Text,
    /// That the text is in order, where nothing hangs on it.
    Form,
}

impl Guards {
    /// Whether nobody may set it aside: it guards against poisoning, fire or burns.
    pub const fn life_safety(self) -> bool {
        matches!(self, Guards::Life | Guards::Fire)
    }

    /// Whether it is about how the text is written: then its remedies change a text and not an install.
    pub const fn is_of_the_text(self) -> bool {
        matches!(self, Guards::Text | Guards::Form)
    }

    /// What it guards, as a reader is told.
    pub const fn title(self) -> &'static str {
        match self {
            Guards::Life => "people against gas",
            Guards::Fire => "against fire and burns",
            Guards::Start => "the start on the coldest morning",
            Guards::Comfort => "comfort and wear",
            Guards::Text => "what every other rule reads",
            Guards::Form => "the order of the text",
        }
    }
}

/// One rule. Its name is permanent: it names the fault, in plain words, and is never given to another.
pub struct Rule {
    /// The name.
    pub name: &'static str,
    /// The family it belongs to.
    pub family: Family,
    /// How grave its findings are.
    pub severity: Severity,
    /// What is wrong, as a noun phrase.
    pub title: &'static str,
    /// Whose limit it applies, and where that is printed.
    pub source: &'static str,
    /// What it judges and why that matters to a person.
    pub explanation: &'static str,
    /// What to do about it.
    pub mend: &'static str,
    /// The smallest job that breaks it: blocks laid over the bench job (see [`compose`]).
    pub bad: &'static str,
    /// The same, mended.
    pub good: &'static str,
    /// What goes wrong where it is broken and nobody listens.
    pub guards: Guards,
    /// What it holds against a limit that a workshop's practice may tighten; a rule that only counts has nothing to tighten.
    pub measures: &'static [Dimension],
    /// The rules whose findings explain its own, which then become notes on them.
    pub explained_by: &'static [Cause],
    /// What kind of thing it finds.
    pub about: About,
    /// The questions that it asks: of which blocks, when, and on which facts each rests. Empty for rules on slips of the
    /// text, which are about what is written and ask for nothing.
    pub asks: &'static [Ask],
    /// The function that finds. It neither sorts nor looks at its own severity.
    pub find: fn(&mut Findings<'_>),
}

/// What kind of thing a rule finds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// Something that is written and wrong.
    Written,
    /// Something that is not written at all. Of a sketch, which is only about what is written, that is not told.
    Absent,
    /// Something that nothing uses: an editor may show it faded.
    Idle,
}

impl Rule {
    /// Whether nobody may set its findings aside: not by a concession, a practice, a record, a setting or an option.
    pub const fn life_safety(&self) -> bool {
        self.guards.life_safety()
    }

    /// Whether a concession may set its findings aside, a record hold them as known, or an option call them too mild to
    /// count. Not what can poison or burn, nor what may hide such a thing.
    pub const fn can_wait(&self) -> bool {
        !self.life_safety() && !matches!(self.guards, Guards::Text)
    }

    /// Whether it is about the install in the vehicle, and not about how the job is written or kept: then its page and
    /// its findings carry the caution. What guards life always is.
    pub fn is_of_the_install(&self) -> bool {
        self.life_safety()
            || !matches!(
                self.family,
                Family::Text | Family::Names | Family::Layers | Family::Practice | Family::Concessions
            )
    }
}

impl std::fmt::Debug for Rule {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str(self.name)
    }
}

impl PartialEq for Rule {
    fn eq(&self, other: &Rule) -> bool {
        self.name == other.name
    }
}

/// Every rule, in the order of the catalogue.
pub fn all() -> impl Iterator<Item = &'static Rule> {
    [
        text::RULES,
        names::RULES,
        layers::RULES,
        wire::RULES,
        short_circuit::RULES,
        battery::RULES,
        laying::RULES,
        fuel_line::RULES,
        fuel_use::RULES,
        pickup::RULES,
        ways::RULES,
        exhaust::RULES,
        tape::RULES,
        combustion::RULES,
        return_air::RULES,
        warm_air::RULES,
        heat_demand::RULES,
        night::RULES,
        coolant::RULES,
        fitting::RULES,
        law::RULES,
        practice::RULES,
        concessions::RULES,
    ]
    .into_iter()
    .flatten()
    .copied()
}

/// A share in whole per cent.
fn percent(share: f64) -> String {
    unit_or(None, "%").show_to(share, 1.0)
}

/// Names in a row: `cabin` and `bunk`; empty where there are none.
fn quoted<'a>(names: impl Iterator<Item = &'a str>) -> String {
    names.map(|name| format!("`{name}`")).collect::<Vec<_>>().join(" and ")
}

/// The rule of that name; also those that no check of a job finds.
pub fn find(name: &str) -> Option<&'static Rule> {
    all().chain([&BLANK_INSOLUBLE]).find(|rule| rule.name == name)
}

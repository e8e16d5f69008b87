//! A figure and its working: inputs, formula, steps and source, kept as numbers and put into words only when read.

use crate::model::Job;
use crate::source::Place;
use crate::units::{Unit, find_unit, rounded};

/// A chapter of the figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)] // titles below
pub enum Section {
    Geometry,
    Electrical,
    Fuel,
    Exhaust,
    Air,
    Heat,
    Night,
    Coolant,
}

impl Section {
    /// The chapter's title.
    pub const fn title(self) -> &'static str {
        match self {
            Section::Geometry => "routes and distances",
            Section::Electrical => "cable, fuse and battery",
            Section::Fuel => "fuel line",
            Section::Exhaust => "exhaust and combustion air",
            Section::Air => "warm air and return air",
            Section::Heat => "heat demand",
            Section::Night => "the night",
            Section::Coolant => "coolant",
        }
    }
}

/// One number that went into a step: its symbol in the formula, and its value in the unit to show.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Input {
    /// The symbol.
    pub symbol: &'static str,
    /// SI value; for a unit that authors cannot write (`mΩ/m`), the number of that unit.
    pub value: f64,
    /// The unit's spelling; empty for a plain number.
    pub unit: &'static str,
}

/// One step of a working.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What is computed: `resistance of the run, out and back`.
    pub what: &'static str,
    /// The formula: `R = 2 · L · R′`.
    pub formula: &'static str,
    /// Its inputs.
    pub inputs: Vec<Input>,
    /// SI value of the result.
    pub result: f64,
    /// The result's unit.
    pub unit: &'static str,
    /// Where formula or value is printed.
    pub source: &'static str,
}

/// One figure of the job.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Its name in the machine-readable form: `voltage_left`.
    pub name: &'static str,
    /// Its chapter.
    pub section: Section,
    /// The header of the block it is about.
    pub subject: Place,
    /// What it is, in words: `voltage left at reader, pre-heat`.
    pub title: String,
    /// The case it holds in: `cold start`, or empty.
    pub case: &'static str,
    /// SI value at the worst end of every stated doubt.
    pub value: f64,
    /// The unit to show it in.
    pub unit: &'static Unit,
    /// Numbers in the text that it stands on: a reader who points at one is shown this figure.
    pub rests_on: Vec<Place>,
    /// The working.
    pub working: Vec<Step>,
}

/// The figures of a job, for readers. Where nobody reads them nothing is put into words.
#[derive(Debug, Default)]
pub struct Listed {
    kept: bool,
    figures: Vec<Figure>,
}

impl Listed {
    /// An empty list that keeps what it is given.
    pub(super) fn kept() -> Listed {
        Listed { kept: true, figures: Vec::new() }
    }

    /// Whether it keeps what it is given: else its workings need not be made.
    pub(super) fn is_kept(&self) -> bool {
        self.kept
    }

    /// Adds a figure, made only where it is kept.
    pub(super) fn push(&mut self, figure: impl FnOnce() -> Figure) {
        if self.kept {
            self.figures.push(figure());
        }
    }
}

impl Listed {
    /// Leads the places of what is kept back to files: where the job's reader looks, and where the number is written.
    pub(super) fn lead_back(&mut self, job: &Job) {
        for figure in &mut self.figures {
            figure.subject = job.shown(figure.subject);
            let written: Vec<Place> = figure.rests_on.iter().map(|place| job.real(*place)).collect();
            for place in &mut figure.rests_on {
                *place = job.shown(*place);
            }
            let more = written.into_iter().filter(|place| !figure.rests_on.contains(place)).collect::<Vec<_>>();
            figure.rests_on.extend(more);
        }
    }
}

impl std::ops::Deref for Listed {
    type Target = [Figure];

    fn deref(&self) -> &[Figure] {
        &self.figures
    }
}

/// A figure that was not computed.
#[derive(Clone, Debug, PartialEq)]
pub struct Unjudged {
    /// Its chapter.
    pub section: Section,
    /// The header of the block it would be about.
    pub subject: Place,
    /// What it is.
    pub title: String,
    /// What is missing, as the end of "not computed, because …".
    pub because: String,
}

impl Figure {
    /// The value as read: `9.61 V`.
    pub fn shown(&self) -> String {
        self.unit.show(self.value)
    }
}

fn show(value: f64, unit: &str) -> String {
    match find_unit(unit) {
        Some(known) => known.show(value),
        None if unit.is_empty() => rounded(value),
        None => format!("{} {unit}", rounded(value)),
    }
}

impl Input {
    /// The value as read, with its unit.
    pub fn shown(&self) -> String {
        show(self.value, self.unit)
    }
}

impl Step {
    /// The result as read, with its unit.
    pub fn shown(&self) -> String {
        show(self.result, self.unit)
    }

    /// The step in one line: `R = 2 · L · R′ with L = 3.96 m, R′ = 4.1 mΩ/m: 32.5 mΩ`.
    pub fn line(&self) -> String {
        let inputs: Vec<String> =
            self.inputs.iter().map(|input| format!("{} = {}", input.symbol, input.shown())).collect();
        let with = if inputs.is_empty() { String::new() } else { format!(" with {}", inputs.join(", ")) };
        format!("{}{with}: {}", self.formula, self.shown())
    }
}

/// An input of a step: its symbol, its SI value, the spelling of the unit to show it in.
pub fn input(symbol: &'static str, value: f64, unit: &'static str) -> Input {
    Input { symbol, value, unit }
}

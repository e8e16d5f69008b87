//! A job's account as text: block by block every question that the rules ask, with its answer: the figure and the limit, the
//! fault, the fact that is missing, or the fact that makes the question not apply.

use super::margins::percent;
use super::{CAUTION, Locator, counted, one_line, wrap};
use crate::analysis::Analysis;
use crate::asks::{Gap, Ground, Lack};
use crate::rules::{Answer, Judged, Open, Question, Totals, answers_for, block_at};
use crate::source::Place;
use crate::text::Span;
use std::collections::HashMap;

/// The word for an answer, as SARIF 2.1.0 has them (3.27.9), in words.
pub const fn answer_word(answer: &Answer) -> &'static str {
    match answer {
        Answer::Passes => "pass",
        Answer::Fails => "fail",
        Answer::Open(_) => "open",
        Answer::NotApplicable(_) => "does not apply",
    }
}

/// Totals in words: `214 questions: 149 pass, 3 fail, 21 open for want of 4 facts, 41 do not apply`.
pub fn totals_line(totals: &Totals) -> String {
    let mut parts = vec![counted(totals.pass, "passes", "pass")];
    if totals.fail > 0 {
        parts.push(counted(totals.fail, "fails", "fail"));
    }
    if totals.open > 0 {
        let facts = counted(totals.facts, "fact", "facts");
        parts.push(format!(
            "{} open{}",
            totals.open,
            if totals.facts > 0 { format!(" for want of {facts}") } else { String::new() }
        ));
    }
    if totals.not_applicable > 0 {
        parts.push(counted(totals.not_applicable, "does not apply", "do not apply"));
    }
    format!("{}: {}", counted(totals.all(), "question", "questions"), parts.join(", "))
}

/// A figure that keeps its limit, in words.
fn held_words(held: &Judged) -> String {
    let (figure, limit) = (held.show(held.worst()), held.show(held.limit));
    let (what, bound, whose) = (&held.what, held.bound.words(), &held.whose);
    format!("{what}: {figure}, {bound} {limit} ({whose}); {} left", percent(held.margin()))
}

/// What a figure of a sketch rests on and nobody said: there its usual value was taken.
fn taken_for(analysis: &Analysis, ground: &Ground<'_>, held: &Judged) -> Vec<String> {
    let blocks = blocks(ground, held.place);
    let asks = |question: &&Question| question.rule == held.rule && blocks.contains(&question.of);
    let open = analysis.account().questions.iter().filter(asks).filter_map(|question| match &question.answer {
        Answer::Open(Open::Facts(lacks)) => Some(lacks),
        _ => None,
    });
    let mut words: Vec<String> = open.flatten().map(|lack| format!("`{}`", lack.fact.word())).collect();
    words.sort_unstable();
    words.dedup();
    words
}

/// The most figures that a sketch shows at once.
const SHOWN_OF_A_SKETCH: usize = 5;

/// What a sketch asks for: the figures that were held against a limit and keep it, the tightest first.
pub fn sketch_text(analysis: &Analysis, width: usize) -> String {
    let mut out = String::new();
    let ground = Ground::of(&analysis.job);
    let kept = analysis.margins().iter().filter(|held| held.stand.keeps());
    for held in kept.take(SHOWN_OF_A_SKETCH) {
        let taken = taken_for(analysis, &ground, held);
        let taken =
            if taken.is_empty() { String::new() } else { format!("; usual values taken for {}", taken.join(", ")) };
        let words = format!("{}{taken} [{}]", held_words(held), held.rule.name);
        out.push_str(&wrap(&one_line(&words), width, "  ", "    "));
        out.push('\n');
    }
    out
}

/// What a question is answered with, found once for all questions.
pub struct Answers<'a> {
    analysis: &'a Analysis,
    held: HashMap<(&'static str, Place), &'a Judged>,
    found: HashMap<(&'static str, Place), &'a str>,
}

impl<'a> Answers<'a> {
    /// Of an analysis.
    pub fn of(analysis: &'a Analysis) -> Answers<'a> {
        let ground = Ground::of(&analysis.job);
        let (mut held, mut found) = (HashMap::new(), HashMap::new());
        for judged in analysis.margins() {
            for block in blocks(&ground, judged.place) {
                held.entry((judged.rule.name, block)).or_insert(judged);
            }
        }
        for finding in &analysis.findings {
            for block in blocks(&ground, finding.place) {
                found.entry((finding.rule.name, block)).or_insert(finding.title.as_str());
            }
        }
        Answers { analysis, held, found }
    }

    /// The tightest comparison that answers a question, where it is answered by a figure.
    pub fn figure(&self, question: &Question) -> Option<&'a Judged> {
        self.held.get(&(question.rule.name, question.of)).copied()
    }

    /// The answer in words.
    pub fn words(&self, question: &Question, locator: &mut Locator<'_>) -> String {
        let title = question.rule.title;
        match &question.answer {
            Answer::Fails => match self.found.get(&(question.rule.name, question.of)) {
                Some(found) => one_line(found).to_string(),
                None => format!("{title}: told with what causes it"),
            },
            Answer::Passes => match self.figure(question) {
                Some(held) => held_words(held),
                None => format!("{title}: none found in what is written"),
            },
            Answer::Open(Open::Because(because)) => format!("{title}: not judged, because {because}"),
            Answer::Open(Open::Facts(lacks)) => {
                let mut words: Vec<String> = lacks.iter().map(|lack| self.lack(lack, locator)).collect();
                words.dedup();
                format!("{title}: for want of {}", words.join(", "))
            }
            Answer::NotApplicable(place) if self.is_unplaced(*place) => {
                format!("{title}: no place in the job has coordinates; what was measured by tape is judged as such")
            }
            Answer::NotApplicable(place) if self.is_header(*place) => {
                format!("{title}: nothing in `{}` makes it apply", self.analysis.job.reads_at(*place))
            }
            Answer::NotApplicable(place) => {
                let reading = self.analysis.reading(place.file);
                let said = reading.map_or("", |reading| reading.slice(place.span));
                let said = one_line(said.lines().next().unwrap_or("")).to_string();
                format!("{title}: line {} says `{said}`", locator.start(*place).line)
            }
        }
    }

    /// Whether a question rests on that the job has no coordinates, which its first line stands for.
    fn is_unplaced(&self, place: Place) -> bool {
        let job = &self.analysis.job;
        let top = job.header.unwrap_or(Place { file: job.file, span: Span::default() });
        place == top
    }

    /// Whether a place is the header of a block.
    fn is_header(&self, place: Place) -> bool {
        let reading = self.analysis.reading(place.file);
        reading.is_some_and(|reading| reading.blocks.iter().any(|block| block.header == place.span))
    }

    fn lack(&self, lack: &Lack, locator: &mut Locator<'_>) -> String {
        if let Gap::NotRead(place) = lack.gap {
            return format!("line {}, which was not understood", locator.start(self.analysis.job.real(place)).line);
        }
        let block = self.analysis.job.reads_at(lack.at);
        if block.is_empty() {
            format!("`{}`", lack.fact.word())
        } else {
            format!("`{}` of `{block}`", lack.fact.word())
        }
    }
}

/// The headers of the blocks that what is said at a place may answer for, as a reader finds them.
fn blocks(ground: &Ground<'_>, place: Place) -> Vec<Place> {
    let job = ground.job;
    let own = block_at(job, place).unwrap_or(place);
    answers_for(ground, own).into_iter().map(|header| job.shown(header)).collect()
}

/// The account of a job, called `name`, block by block; only questions that `wanted` picks.
pub fn account_text(analysis: &Analysis, wanted: &dyn Fn(&Question) -> bool, name: &str, width: usize) -> String {
    let account = analysis.account();
    let answers = Answers::of(analysis);
    let mut locator = Locator::new(analysis);
    let mut out = format!("account of {name}\n");
    let mut shown: Vec<&Question> = account.questions.iter().filter(|question| wanted(question)).collect();
    shown.sort_by_key(|question| question.of);
    let mut last = None;
    for question in &shown {
        if last != Some(question.of) {
            last = Some(question.of);
            let header = one_line(&analysis.job.reads_at(question.of)).into_owned();
            let header = if header.is_empty() { "the whole job".to_string() } else { header };
            out.push_str(&format!("\n{header} (line {})\n", locator.start(question.of).line));
        }
        let word = match &question.answer {
            Answer::NotApplicable(_) => "-",
            answer => answer_word(answer),
        };
        let mut words = format!("{} [{}]", answers.words(question, &mut locator), question.rule.name);
        if !question.rests_on.is_empty() {
            let mut lines: Vec<usize> = question
                .rests_on
                .iter()
                .filter(|place| place.file == analysis.file)
                .map(|place| locator.start(*place).line as usize)
                .collect();
            lines.sort_unstable();
            lines.dedup();
            let lines: Vec<String> = lines.iter().map(usize::to_string).collect();
            if let (false, Answer::Passes | Answer::Fails) = (lines.is_empty(), &question.answer) {
                words += &format!("; rests on line{} {}", if lines.len() == 1 { "" } else { "s" }, lines.join(", "));
            }
        }
        out.push_str(&wrap(&words, width, &format!("  {word:<5} "), "        "));
        out.push('\n');
    }
    if !account.lacks.is_empty() {
        out.push_str("\nwhat is not said\n");
        for lack in &account.lacks {
            let line = locator.start(lack.place).line;
            out.push_str(&wrap(&one_line(&lack.says()), width, &format!("  line {line}: "), "        "));
            out.push('\n');
        }
    }
    out.push_str(&format!("\n{}\n\n", totals_line(&account.totals)));
    let caution = format!("a pass says that nothing written here breaks that one rule. {CAUTION}");
    out.push_str(&wrap(&caution, width, "", ""));
    out.push('\n');
    out
}

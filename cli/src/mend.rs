//! `trialfit mend`: makes the remedies that may be made without asking, round after round until there is none left, and
//! takes back what does not do what it promised. Which remedies there are is decided by the rules.

use crate::arguments::Mend;
use crate::diff::unified;
use crate::files::Library;
use crate::follows::Following;
use crate::output::{Output, caution, complain};
use crate::settings::{Excludes, Shelf};
use crate::targets::{From, Target, Targets};
use crate::{Ending, clock, fault, rewriting};
use spec_lang::finding::{Finding, Remedy, Severity};
use spec_lang::reading::Reading;
use spec_lang::report::counted;
use spec_lang::rules::{self, Day};
use spec_lang::source::FileId;
use spec_lang::text::{Edit, Span, apply};
use spec_lang::{Analysis, vocabulary};
use std::collections::{BTreeMap, HashSet};
use std::io;
use std::path::Path;
use std::sync::Arc;

/// The most rounds: each lets what one remedy uncovered be mended by the next, and few texts need more than two.
const MOST_ROUNDS: usize = 10;

/// A remedy, by the words of its finding and its own: places move with every edit.
type Name = (&'static str, String, String);

/// What became of a text.
struct Mended {
    text: String,
    /// How many findings were mended.
    made: usize,
    /// What was tried and taken back, and why.
    refused: Vec<String>,
}

pub(crate) fn mend(wanted: &Mend, output: &mut Output) -> io::Result<Ending> {
    if let Some(name) = wanted.rules.iter().find(|name| rules::find(name).is_none()) {
        let near = vocabulary::nearest(name, rules::all().map(|rule| rule.name));
        let hint = near.map_or("`trialfit explain` lists them".to_string(), |near| format!("`{near}`, perhaps"));
        complain(&format!("there is no rule called `{name}`; {hint}"));
        return Ok(Ending::CouldNot);
    }
    let (library, shelf) = (Library::default(), Shelf::default());
    let mut targets = Targets::find(&wanted.paths, None, wanted.within.as_deref());
    targets.complain();
    targets.sift(&shelf, &library, Excludes::unless(wanted.no_exclude));
    let mut ending = if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot };
    let files = targets.list.len();
    let (mut changed, mut made) = (0usize, 0usize);
    for target in Following::default().followed_first(targets.list, &|path| library.place(path)) {
        let place = library.place(&target.path);
        let notice = shelf.of(&place, &target.root).unwrap_or_default().notice();
        let day = Day { today: wanted.date.or_else(clock::today), notice };
        let done = fault::caught(|| one(&target, &place, &library, day, wanted)).and_then(|done| done);
        let (before, mended) = match done {
            Ok(done) => done,
            Err(reason) => {
                complain(&format!("{}: {reason}", target.shown));
                ending = Ending::CouldNot;
                continue;
            }
        };
        for reason in &mended.refused {
            complain(&format!("{}: {reason}", target.shown));
        }
        if wanted.write && target.from == From::Input {
            output.say(&mended.text)?;
        }
        if mended.text == before {
            continue;
        }
        changed += 1;
        made += mended.made;
        if !wanted.write {
            ending = ending.max(Ending::Found);
            output.say(&unified(&target.shown, &before, &mended.text))?;
        } else if target.from == From::File {
            let findings = counted(mended.made, "finding", "findings");
            output.say(&format!("{}: {findings} mended\n", target.shown))?;
        }
    }
    output.finish()?;
    let what = if wanted.write { "mended" } else { "to be mended" };
    if files == 0 {
        complain("no job file was found");
    } else if made == 0 {
        complain("nothing is wrong with the text itself that could be mended without asking");
    } else {
        complain(&format!(
            "{} {what} in {changed} of {}",
            counted(made, "finding", "findings"),
            counted(files, "file", "files")
        ));
    }
    caution();
    Ok(ending)
}

/// Mends one text and, where that is wanted, writes it.
fn one(
    target: &Target,
    place: &Arc<Path>,
    library: &Library,
    day: Day,
    wanted: &Mend,
) -> Result<(String, Mended), String> {
    let before = target.text()?;
    let judge = |text: &str| {
        let opened = target.opened(library, Arc::clone(place));
        spec_lang::analyse(FileId(0), Arc::new(Reading::new(Arc::from(text))), &opened, day)
    };
    let asked = |rule: &str| wanted.rules.is_empty() || wanted.rules.iter().any(|name| name == rule);
    let mended = to_the_end(&before, &judge, &asked);
    if wanted.write && target.from == From::File && mended.text != before {
        rewriting::rewrite(&target.path, &before, &mended.text)?;
    }
    // Files that follow this one are judged with what it says now.
    library.put(place, Arc::new(Reading::new(Arc::from(mended.text.as_str()))));
    Ok((before, mended))
}

/// Mends a text until nothing is left that may be mended.
fn to_the_end(text: &str, judge: &dyn Fn(&str) -> Analysis, asked: &dyn Fn(&str) -> bool) -> Mended {
    let mut mended = Mended { text: text.to_string(), made: 0, refused: Vec::new() };
    let mut refused: HashSet<Name> = HashSet::new();
    let mut now = judge(text);
    for _ in 0..MOST_ROUNDS {
        let chosen = choose(&now, asked, &refused);
        if chosen.is_empty() {
            return mended;
        }
        // Edits that are each good alone are mostly good together; where they are not, each shows itself alone, and the
        // first of the good ones is made for certain.
        let taken = match attempt(&mended.text, &now, &chosen, judge) {
            Ok(taken) => Some((taken, chosen.len())),
            Err(_) => {
                let mut good = Vec::new();
                for one in chosen {
                    match attempt(&mended.text, &now, std::slice::from_ref(&one), judge) {
                        Ok(_) => good.push(one),
                        Err(reason) => {
                            let (finding, remedy) = one;
                            mended.refused.push(format!(
                                "left for a person: {} [{}]; to {} {reason}",
                                finding.title, finding.rule.name, remedy.title
                            ));
                            refused.insert(name_of(finding, remedy));
                        }
                    }
                }
                let together = attempt(&mended.text, &now, &good, judge).map(|taken| (taken, good.len()));
                let first = || attempt(&mended.text, &now, good.get(..1).unwrap_or(&[]), judge).map(|taken| (taken, 1));
                together.or_else(|_| first()).ok().filter(|_| !good.is_empty())
            }
        };
        if let Some(((text, judged), count)) = taken {
            mended.text = text;
            mended.made += count;
            now = judged;
        }
    }
    let left = choose(&now, asked, &refused).len();
    if left > 0 {
        mended.refused.push(format!("{left} findings are left after {MOST_ROUNDS} rounds; mend again"));
    }
    mended
}

fn name_of(finding: &Finding, remedy: &Remedy) -> Name {
    (finding.rule.name, finding.title.clone(), remedy.title.clone())
}

/// The remedies of a round, none of which touches another's bytes or another file.
fn choose<'a>(
    analysis: &'a Analysis,
    asked: &dyn Fn(&str) -> bool,
    refused: &HashSet<Name>,
) -> Vec<(&'a Finding, &'a Remedy)> {
    let own = |remedy: &&Remedy| {
        remedy.unseen && !remedy.edits.is_empty() && remedy.edits.iter().all(|(file, _)| *file == analysis.file)
    };
    // What changes the install (another cable, say) is for a person to choose: written in bulk, it would make a card clean
    // and leave the vehicle as it is.
    let of_the_text = |finding: &&Finding| finding.rule.guards.is_of_the_text() && asked(finding.rule.name);
    let findings = analysis.standing().filter(of_the_text);
    let all = findings.filter_map(|finding| {
        let fresh = |remedy: &&Remedy| !refused.contains(&name_of(finding, remedy));
        finding.remedies.iter().filter(own).find(fresh).map(|remedy| (finding, remedy))
    });
    let mut taken: Vec<Span> = Vec::new();
    let mut chosen = Vec::new();
    for (finding, remedy) in all {
        let spans: Vec<Span> = remedy.edits.iter().map(|(_, edit)| edit.span).collect();
        let meets = |span: &Span| taken.iter().any(|other| span.start <= other.end && other.start <= span.end);
        if !spans.iter().any(meets) {
            taken.extend(spans);
            chosen.push((finding, remedy));
        }
    }
    chosen
}

/// The text with remedies made and its judgement, where each finding is gone and no error came; else why not.
fn attempt(
    text: &str,
    before: &Analysis,
    chosen: &[(&Finding, &Remedy)],
    judge: &dyn Fn(&str) -> Analysis,
) -> Result<(String, Analysis), String> {
    let edits: Vec<Edit> =
        chosen.iter().flat_map(|(_, remedy)| remedy.edits.iter().map(|(_, edit)| edit.clone())).collect();
    let text = apply(text, &edits).ok_or("does not fit the text")?;
    let after = judge(&text);
    let (had, has) = (Count::of(before), Count::of(&after));
    let mut wanted: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for (finding, _) in chosen {
        *wanted.entry((finding.rule.name, finding.title.as_str())).or_default() += 1;
    }
    for (key, count) in &wanted {
        let most = had.said.get(key).copied().unwrap_or(0).saturating_sub(*count);
        if has.said.get(key).copied().unwrap_or(0) > most {
            return Err("leaves it as it was".to_string());
        }
    }
    for (rule, count) in &has.errors {
        let known = had.errors.get(rule).copied().unwrap_or(0);
        if *count > known {
            return Err(format!("brings {} of `{rule}` that was not there", count - known));
        }
    }
    Ok((text, after))
}

/// How often each thing was found.
struct Count<'a> {
    said: BTreeMap<(&'a str, &'a str), usize>,
    /// Errors, and what guards life and was not judged, by rule.
    errors: BTreeMap<&'a str, usize>,
}

impl Count<'_> {
    fn of(analysis: &Analysis) -> Count<'_> {
        let mut count = Count { said: BTreeMap::new(), errors: BTreeMap::new() };
        for finding in analysis.standing() {
            *count.said.entry((finding.rule.name, &finding.title)).or_default() += 1;
            if finding.severity == Severity::Error {
                *count.errors.entry(finding.rule.name).or_default() += 1;
            }
        }
        for left in &analysis.not_judged {
            *count.errors.entry(left.rule.name).or_default() += 1;
        }
        count
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use spec_lang::source::NoFiles;

    /// Two things to mend without asking: the first line is missing, and a property stands at the margin.
    const HURRIED: &str = "job \"Invented: a hurry\"\n  number        1\n\nbattery house\nmade-of       12 V 100 Ah\n  type          AGM\n";
    const MENDED: &str = "trialfit 1\njob \"Invented: a hurry\"\n  number        1\n\nbattery house\n  made-of       12 V 100 Ah\n  type          AGM\n";

    fn judge(text: &str) -> Analysis {
        spec_lang::analyse(FileId(0), Arc::new(Reading::new(Arc::from(text))), &NoFiles, None)
    }

    #[test]
    fn every_remedy_is_made_and_none_of_another_rule() {
        let all = to_the_end(HURRIED, &judge, &|_| true);
        assert_eq!((all.text.as_str(), all.made, all.refused), (MENDED, 2, Vec::new()));
        let one = to_the_end(HURRIED, &judge, &|rule| rule == "edition-missing");
        assert_eq!((one.text, one.made), (format!("trialfit 1\n{HURRIED}"), 1));
        assert_eq!(to_the_end(MENDED, &judge, &|_| true).made, 0);
    }

    #[test]
    fn what_leaves_its_finding_or_brings_an_error_is_taken_back_alone() {
        // Rules that find the same whatever is done.
        let stubborn = to_the_end(HURRIED, &|_| judge(HURRIED), &|_| true);
        assert_eq!((stubborn.text.as_str(), stubborn.made, stubborn.refused.len()), (HURRIED, 0, 2));
        assert!(stubborn.refused.iter().all(|said| said.ends_with("leaves it as it was")), "{:?}", stubborn.refused);
        // A first line that brings another error with it: the other remedy is made all the same.
        let harmful = |text: &str| match text.strip_prefix("trialfit 1\n") {
            Some(rest) => judge(&format!("trialfit 1\n\nopening gap\n  knid door\n\n{rest}")),
            None => judge(text),
        };
        let mended = to_the_end(HURRIED, &harmful, &|_| true);
        assert_eq!(Some(mended.text.as_str()), MENDED.strip_prefix("trialfit 1\n"));
        assert_eq!((mended.made, mended.refused.len()), (1, 1), "{:?}", mended.refused);
        assert!(mended.refused[0].ends_with("brings 1 of `unknown-word` that was not there"), "{:?}", mended.refused);
    }
}

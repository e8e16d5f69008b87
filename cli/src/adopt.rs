//! `trialfit adopt`: writes today's findings to the record of known findings, all but those that guard life or may hide it;
//! and, where somebody asks for it and gives a name and a last day, missing facts as debts.

use crate::arguments::{Adopt, Form};
use crate::check::{self, Body, Facts, LeftBody, Wanted, each_judged};
use crate::debts::{Taken, plain};
use crate::files::Library;
use crate::known::{Entry, Record, USUAL};
use crate::output::{Output, complain};
use crate::settings::{Excludes, Shelf};
use crate::targets::{From, Targets};
use crate::{Ending, clock};
use spec_lang::reading::Date;
use spec_lang::report::{CAUTION, Terms, counted, wrap};
use std::collections::HashSet;
use std::io;
use std::path::Path;

pub(crate) fn adopt(wanted: &Adopt, output: &mut Output) -> io::Result<Ending> {
    let path = wanted.record.as_deref().unwrap_or(Path::new(USUAL));
    let there = path.symlink_metadata().is_ok();
    if there && !wanted.again {
        complain(&format!(
            "{}: there is a record already; `trialfit check --known {0} --shrink` takes out what is gone, and `trialfit adopt --again` records the named files anew",
            crate::files::shown(path)
        ));
        return Ok(Ending::CouldNot);
    }
    let mut record = match if there { Record::read(path) } else { Record::new(path) } {
        Ok(record) => record,
        Err(reason) => {
            complain(&format!("{}: {reason}", crate::files::shown(path)));
            return Ok(Ending::CouldNot);
        }
    };
    let today = wanted.date.or_else(clock::today);
    let terms = match terms(wanted, today) {
        Ok(terms) => terms,
        Err(reason) => {
            complain(&reason);
            return Ok(Ending::CouldNot);
        }
    };
    let mut targets = Targets::find(&wanted.paths, None, wanted.within.as_deref());
    targets.complain();
    let shelf = Shelf::default();
    let mut ending = if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot };
    let library = Library::default();
    targets.sift(&shelf, &library, Excludes::Hold);
    let each = Wanted {
        form: Form::Line,
        today,
        last: None,
        fail_on: None,
        shelf,
        look: output.look,
        base: check::base(&targets),
        facts: if terms.is_some() || !record.debts.is_empty() { Facts::Said } else { Facts::Missing },
    };
    let mut kept = Vec::new();
    let mut recorded = HashSet::new();
    let mut unrecorded = Vec::new();
    let mut owed = Owed::default();
    let mut seen = HashSet::new();
    each_judged(&targets.list, &library, &each, |target, outcome| {
        let outcome = match outcome {
            _ if target.from == From::Input => Err("what stands in no file cannot be recorded".to_string()),
            outcome => outcome,
        };
        let outcome = match outcome {
            Ok(outcome) => outcome,
            Err(reason) => {
                complain(&format!("{}: {reason}", target.shown));
                ending = Ending::CouldNot;
                return Ok(());
            }
        };
        let file = record.name(&outcome.place);
        let before = owed.left;
        for left in outcome.not_judged {
            let LeftBody::Text(line) = left.body else { continue };
            match (&left.fact, &terms) {
                (Some(fact), Some(terms)) => match record.debts.take(&file, fact, terms) {
                    Taken::New => owed.new += 1,
                    Taken::Renewed => owed.renewed += 1,
                    Taken::Stays => owed.stay += 1,
                    Taken::Refused => owed.refused.push(line),
                },
                (Some(fact), None) => match record.debts.owing(&file, fact, today, outcome.last) {
                    Some(debt) if !debt.counts() => owed.stay += 1,
                    _ => owed.left += 1,
                },
                (None, _) => unrecorded.push(line),
            }
        }
        owed.files += usize::from(owed.left > before);
        record.debts.learn(&file, &outcome.said, outcome.is_job && terms.is_some());
        for finding in outcome.findings.into_iter().filter(|finding| finding.conceded.is_none()) {
            let place = finding.same.0.as_deref().map(|place| record.name(place)).filter(|place| *place != file);
            if !finding.can_wait {
                if let (true, Body::Text(line)) = (seen.insert(finding.same), finding.body) {
                    unrecorded.push(line);
                }
                continue;
            }
            let rule = finding.rule.name.to_string();
            let entry = Entry { file: file.clone(), rule, print: finding.fingerprint, place };
            kept.push((entry, finding.severity, finding.header));
        }
        recorded.insert(file);
        Ok(())
    })?;
    record.forget(&recorded);
    let (count, files) = (kept.len(), kept.iter().map(|(entry, ..)| &entry.file).collect::<HashSet<_>>().len());
    for (entry, severity, header) in kept {
        record.add(entry, severity, &header);
    }
    if let Err(reason) = record.write() {
        complain(&format!("{}: {reason}", record.shown()));
        return Ok(Ending::CouldNot);
    }
    if recorded.is_empty() {
        output.say("no job file was judged, so nothing was recorded\n")?;
    } else if count == 0 {
        output.say(&format!("nothing to record; {} holds no finding of these files\n", record.shown()))?;
    } else {
        output.say(&format!(
            "{} of {} recorded in {}\n",
            counted(count, "finding", "findings"),
            counted(files, "file", "files"),
            record.shown()
        ))?;
    }
    if owed.say(terms.as_ref(), output)? {
        ending = ending.max(Ending::Found);
    }
    if !unrecorded.is_empty() {
        let words = format!(
            "{} that cannot be recorded, listed below. Each fails every check until it is mended, because it can poison or burn somebody, or may hide such a thing. NOT JUDGED marks what could not be judged of that",
            match unrecorded.len() {
                1 => "there is 1 finding".to_string(),
                many => format!("there are {many} findings"),
            }
        );
        output.say(&format!("{}\n", wrap(&words, output.width, "", "")))?;
        for line in &unrecorded {
            output.say(&format!("{line}\n"))?;
        }
        ending = ending.max(Ending::Found);
    }
    output.say(&format!("{}\n", wrap(CAUTION, output.width, "", "")))?;
    Ok(ending)
}

/// Until when the debts of this run hold, and who answers for them; `None` where none are wanted.
fn terms(wanted: &Adopt, today: Option<Date>) -> Result<Option<Terms>, String> {
    let (Some(until), Some(by)) = (wanted.until, &wanted.by) else { return Ok(None) };
    if by.trim().is_empty() {
        return Err("--by names the person who answers for these debts; it is empty".to_string());
    }
    let adopted = today.ok_or("the machine's clock does not say what day it is; name it with --date")?;
    if until < adopted {
        return Err(format!("--until {until} is over already on {adopted}: such a debt would not hold"));
    }
    Ok(Some(Terms { adopted, until, by: plain(by) }))
}

/// What became of the missing facts.
#[derive(Default)]
struct Owed {
    new: usize,
    renewed: usize,
    stay: usize,
    /// Not taken up, for nobody asked for it.
    left: usize,
    /// In how many files.
    files: usize,
    /// Said once: lines to show.
    refused: Vec<String>,
}

impl Owed {
    /// Says it; whether any of it fails a check.
    fn say(&self, terms: Option<&Terms>, output: &mut Output) -> io::Result<bool> {
        let facts = |count: usize, one: &str, many: &str| match count {
            1 => format!("1 missing fact {one}"),
            many_facts => format!("{many_facts} missing facts {many}"),
        };
        let mut said = Vec::new();
        if let (Some(terms), true) = (terms, self.new + self.renewed > 0) {
            said.push(format!(
                "{} as a debt of {} until {}. A debt is no approval: nobody knows yet what the fact would show. After that day, and with --final, it counts",
                facts(self.new + self.renewed, "is taken up", "are taken up, each"),
                terms.by,
                terms.until
            ));
        }
        if self.renewed > 0 {
            said.push(format!(
                "{} before and had run out or grown; the age stays",
                facts(self.renewed, "of these was owed", "of these were owed")
            ));
        }
        if self.stay > 0 {
            said.push(format!(
                "{} with the last day and the name that the record has",
                facts(self.stay, "is owed already and stays so,", "are owed already and stay so,")
            ));
        }
        if self.left > 0 {
            said.push(format!(
                "{} NOT JUDGED, in {}, and not taken up. Each fails every check until it is written; `trialfit account` lists them. To take them up as debts until a day: `trialfit adopt --again --debts --until YYYY-MM-DD --by NAME`",
                facts(self.left, "leaves something", "leave something"),
                counted(self.files, "file", "files"),
            ));
        }
        if !self.refused.is_empty() {
            said.push(format!(
                "{} once and gone, and cannot be owed. Write it again:",
                facts(self.refused.len(), "was said", "were said")
            ));
        }
        for words in said {
            output.say(&format!("{}\n", wrap(&words, output.width, "", "")))?;
        }
        for line in &self.refused {
            output.say(&format!("{line}\n"))?;
        }
        Ok(self.left > 0 || !self.refused.is_empty())
    }
}

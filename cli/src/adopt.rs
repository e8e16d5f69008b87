//! `trialfit adopt`: writes today's findings to the record of known findings, all but those that guard life or may hide it.

use crate::arguments::{Adopt, Form};
use crate::check::{self, Body, LeftBody, Wanted, each_judged};
use crate::files::Library;
use crate::known::{Entry, Record, USUAL};
use crate::output::{Output, complain};
use crate::settings::{Excludes, Shelf};
use crate::targets::{From, Targets};
use crate::{Ending, clock};
use spec_lang::report::{CAUTION, wrap};
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
    let mut targets = Targets::find(&wanted.paths, None, wanted.within.as_deref());
    targets.complain();
    let shelf = Shelf::default();
    let mut ending = if targets.missing.is_empty() { Ending::Clean } else { Ending::CouldNot };
    let library = Library::default();
    targets.sift(&shelf, &library, Excludes::Hold);
    let each = Wanted {
        form: Form::Line,
        today: wanted.date.or_else(clock::today),
        last: None,
        fail_on: None,
        shelf,
        look: output.look,
        base: check::base(&targets),
    };
    let mut kept = Vec::new();
    let mut recorded = HashSet::new();
    let mut unrecorded = Vec::new();
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
        unrecorded.extend(outcome.not_judged.into_iter().filter_map(|left| match left.body {
            LeftBody::Text(line) => Some(line),
            LeftBody::Wire(_) | LeftBody::Sarif(_) => None,
        }));
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
    let plural = |count: usize, one: &str| format!("{count} {one}{}", if count == 1 { "" } else { "s" });
    if recorded.is_empty() {
        output.say("no job file was judged, so nothing was recorded\n")?;
    } else if count == 0 {
        output.say(&format!("nothing to record; {} holds no finding of these files\n", record.shown()))?;
    } else {
        output.say(&format!(
            "{} of {} recorded in {}\n",
            plural(count, "finding"),
            plural(files, "file"),
            record.shown()
        ))?;
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

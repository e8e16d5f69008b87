//! The part of the record that holds what is owed: missing facts that somebody took up until a last day, and, of each file
//! with any, numbers of the facts that were said, so that none of these is ever owed. Its lines are read and written here;
//! nothing is judged, and no finding is ever set aside.

use spec_lang::reading::Date;
use spec_lang::report::{Debt, FactKey, FactPrint, Owing, Terms, one_line, short_number};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What stands above the lines for people.
const PREFACE: &str = "\
#
# Debts: facts that these jobs do not say and that somebody answers for until a last day. A debt is no approval, and before
# building it does not hold. What a job said once (`said`, by numbers) is never a debt; `- | rules` are the rules that ask.
#
# file | debts | since | last day | who answers for it | block | word rules number; ...
";

/// A missing fact, ready to be held against a record.
pub(crate) struct Fact {
    /// Itself, and its whole line.
    pub(crate) print: FactPrint,
    pub(crate) line: FactPrint,
    /// Its word.
    pub(crate) name: String,
    /// The header of its block.
    pub(crate) header: String,
    /// The rules that ask for it, the gravest first.
    pub(crate) rules: Vec<&'static str>,
    /// Whether one of them guards against poisoning, fire or burns.
    pub(crate) guards_life: bool,
}

/// A fact that is owed.
struct Owed {
    name: Arc<str>,
    header: Arc<str>,
    /// The number of the set of rules that asked for it.
    rules: u32,
    adopted: Date,
    until: Date,
    by: Arc<str>,
    /// Whether it was found missing this time.
    found: bool,
}

/// What is known of a file.
#[derive(Default)]
struct OfFile {
    owed: BTreeMap<FactKey, Owed>,
    said: Said,
}

/// The numbers of facts that were said, sorted, as they are written: a fleet has many, and a run asks for few.
#[derive(Default)]
struct Said(String);

impl Said {
    fn contains(&self, key: FactKey) -> bool {
        let key = key.to_string();
        self.0.as_bytes().chunks(DIGITS).any(|known| known == key.as_bytes())
    }

    fn add(&mut self, keys: impl Iterator<Item = String>) {
        let known = self.0.as_bytes().chunks(DIGITS).map(|known| String::from_utf8_lossy(known).into_owned());
        self.0 = known.chain(keys).collect::<BTreeSet<_>>().into_iter().collect();
    }
}

/// What became of a missing fact that somebody wants to take up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Taken {
    /// It is owed from today.
    New,
    /// It was owed before, and has another last day; its age stays.
    Renewed,
    /// It is owed already, and stays so.
    Stays,
    /// It was said once: no debt.
    Refused,
}

/// What is owed in the files of a record.
#[derive(Default)]
pub(crate) struct Debts {
    files: BTreeMap<String, OfFile>,
    /// The sets of rules, by number.
    sets: BTreeMap<u32, Arc<str>>,
    /// Names and headers, each kept once.
    texts: BTreeSet<Arc<str>>,
}

/// A debt that is listed.
pub(crate) struct Listed<'a> {
    pub(crate) header: &'a str,
    pub(crate) name: &'a str,
    pub(crate) terms: Terms,
}

impl Debts {
    /// How many facts are owed.
    pub(crate) fn len(&self) -> usize {
        self.files.values().map(|of| of.owed.len()).sum()
    }

    /// Whether nothing is known of any file.
    pub(crate) fn is_empty(&self) -> bool {
        self.files.is_empty()
    }

    /// The files that something is known of.
    pub(crate) fn files(&self) -> impl Iterator<Item = &str> {
        self.files.keys().map(String::as_str)
    }

    /// How a missing fact stands; `None` where nothing is known of it. The debt counts as found.
    pub(crate) fn owing(&mut self, file: &str, fact: &Fact, today: Option<Date>, last: bool) -> Option<Debt> {
        let Debts { files, sets, .. } = self;
        let of = files.get_mut(file)?;
        let (key, line) = (fact.print.in_file(file), fact.line.in_file(file));
        let said = of.said.contains(key);
        // Of a line that is owed and now stands in part, the rest is still owed; the line itself is said then.
        let key = if of.owed.contains_key(&key) { key } else { line };
        let Some(owed) = of.owed.get_mut(&key) else {
            return said.then_some(Debt { terms: None, owing: Owing::SaidBefore, days_old: None });
        };
        owed.found = true;
        let known = sets.get(&owed.rules).map_or("", |set| set);
        let asked_anew = || {
            let anew = |rule: &&&'static str| !known.split(' ').any(|known| known == **rule);
            fact.rules.iter().filter(anew).copied().collect::<Vec<_>>()
        };
        let owing = match () {
            () if said => Owing::SaidBefore,
            () if last => Owing::Final,
            () if today.is_none_or(|today| today > owed.until) => Owing::RunOut,
            () => match asked_anew() {
                anew if anew.is_empty() => Owing::Owed,
                anew => Owing::Grew(anew),
            },
        };
        let days_old = today.map(|today| (today.since_1970() - owed.adopted.since_1970()).max(0));
        let terms = Terms { adopted: owed.adopted, until: owed.until, by: owed.by.to_string() };
        Some(Debt { terms: Some(terms), owing, days_old })
    }

    /// Takes up a missing fact. What is owed already and holds stays as it is; what ran out, or is asked for anew, gets the
    /// new last day and keeps its age.
    pub(crate) fn take(&mut self, file: &str, fact: &Fact, terms: &Terms) -> Taken {
        let before = self.owing(file, fact, Some(terms.adopted), false);
        let known = before.as_ref().and_then(|debt| debt.terms.clone());
        match before.map(|debt| debt.owing) {
            Some(Owing::SaidBefore) => return Taken::Refused,
            Some(Owing::Owed) => return Taken::Stays,
            _ => {}
        }
        let mut rules = fact.rules.clone();
        rules.sort_unstable();
        let set = self.set(&rules.join(" "));
        let (name, header, by) = (self.text(&fact.name), self.text(&plain(&fact.header)), self.text(&plain(&terms.by)));
        let adopted = known.as_ref().map_or(terms.adopted, |known| known.adopted);
        let of = self.files.entry(file.to_string()).or_default();
        // Whatever was owed of the same line is one with it now.
        of.owed.remove(&fact.line.in_file(file));
        let owed = Owed { name, header, rules: set, adopted, until: terms.until, by, found: true };
        of.owed.insert(fact.print.in_file(file), owed);
        if known.is_some() { Taken::Renewed } else { Taken::New }
    }

    /// Notes what a file says, so that none of it is owed later. With `begin`, also of a file that nothing is known of.
    pub(crate) fn learn(&mut self, file: &str, said: &[FactPrint], begin: bool) {
        if begin && !self.files.contains_key(file) {
            self.files.insert(file.to_string(), OfFile::default());
        }
        if let Some(of) = self.files.get_mut(file) {
            of.said.add(said.iter().map(|print| print.in_file(file).to_string()));
        }
    }

    /// How many debts nothing needs any more: said or no longer asked for in a file that was judged, or of a file that is
    /// gone.
    pub(crate) fn dead(&self, mut state: impl FnMut(&str) -> OnDisk) -> usize {
        let dead = |(file, of): (&String, &OfFile)| match state(file) {
            OnDisk::Judged => of.owed.values().filter(|owed| !owed.found).count(),
            OnDisk::Gone => of.owed.len(),
            OnDisk::Elsewhere => 0,
        };
        self.files.iter().map(dead).sum()
    }

    /// Takes those out. What a file said stays known as long as the file is there.
    pub(crate) fn shrink(&mut self, mut state: impl FnMut(&str) -> OnDisk) {
        self.files.retain(|file, of| match state(file) {
            OnDisk::Judged => {
                of.owed.retain(|_, owed| owed.found);
                true
            }
            OnDisk::Gone => false,
            OnDisk::Elsewhere => true,
        });
    }

    /// The debts of a file that were not found missing this time.
    pub(crate) fn not_found(&self, file: &str) -> Vec<Listed<'_>> {
        let paid = self.files.get(file).into_iter().flat_map(|of| of.owed.values()).filter(|owed| !owed.found);
        let listed = |owed: &'_ Owed| Terms { adopted: owed.adopted, until: owed.until, by: owed.by.to_string() };
        paid.map(|owed| Listed { header: &owed.header, name: &owed.name, terms: listed(owed) }).collect()
    }

    fn text(&mut self, text: &str) -> Arc<str> {
        if let Some(known) = self.texts.get(text) {
            return Arc::clone(known);
        }
        let new: Arc<str> = Arc::from(text);
        self.texts.insert(Arc::clone(&new));
        new
    }

    /// The number of a set of rules. It is made from their names, so that the same set has the same number on every branch.
    fn set(&mut self, names: &str) -> u32 {
        let number = short_number(names);
        self.sets.entry(number).or_insert_with(|| Arc::from(names));
        number
    }

    /// Takes in a line, already parted. `None` where it is none of these; `Err` where it is one and cannot be read.
    pub(crate) fn line(&mut self, line: &str) -> Option<Result<(), String>> {
        let mut parts = line.splitn(3, " | ");
        let (file, what, rest) = (parts.next()?, parts.next()?, parts.next()?);
        match what {
            "rules" if file == "-" => Some(self.rules_line(rest)),
            "debts" => Some(self.debts_line(file, rest).ok_or_else(|| {
                "is not `file | debts | since | last day | who answers for it | block | word rules number`".to_string()
            })),
            "said" => Some(self.said_line(file, rest).ok_or_else(|| "is not `file | said | numbers`".to_string())),
            _ => None,
        }
    }

    fn rules_line(&mut self, rest: &str) -> Result<(), String> {
        let (number, names) = rest.split_once(" | ").ok_or("is not `- | rules | number | names`")?;
        // Made from the names: a name that was put in by hand would let a question pass as an old one.
        if format!("{:08x}", self.set(names)) == number {
            Ok(())
        } else {
            Err("was changed: its number is not that of these rules".to_string())
        }
    }

    fn debts_line(&mut self, file: &str, rest: &str) -> Option<()> {
        let parts: Vec<&str> = rest.splitn(5, " | ").collect();
        let [adopted, until, by, header, items] = parts[..] else { return None };
        let (adopted, until) = (Date::read(adopted)?, Date::read(until)?);
        let (by, header) = (self.text(by), self.text(header));
        if by.trim().is_empty() || file.is_empty() {
            return None;
        }
        for item in items.split("; ") {
            let (name, key) = item.rsplit_once(' ')?;
            let (name, rules) = name.rsplit_once(' ')?;
            let key = FactKey::read(key)?;
            let rules = u32::from_str_radix(rules, 16).ok()?;
            let name = self.text(name);
            let (by, header) = (Arc::clone(&by), Arc::clone(&header));
            let owed = Owed { name, header, rules, adopted, until, by, found: false };
            let of = self.files.entry(file.to_string()).or_default();
            // After a merge a debt may stand there twice: the last day that comes first holds.
            match of.owed.get(&key) {
                Some(known) if known.until <= until => {}
                _ => {
                    of.owed.insert(key, owed);
                }
            }
        }
        Some(())
    }

    fn said_line(&mut self, file: &str, rest: &str) -> Option<()> {
        let plain = rest.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'));
        if !plain || !rest.len().is_multiple_of(DIGITS) || file.is_empty() {
            return None;
        }
        let of = self.files.entry(file.to_string()).or_default();
        if of.said.0.is_empty() {
            of.said.0 = rest.to_string();
        } else {
            // After a merge a file may have two lines.
            of.said.add(rest.as_bytes().chunks(DIGITS).map(|key| String::from_utf8_lossy(key).into_owned()));
        }
        Some(())
    }

    /// All of it as lines; empty where nothing is known.
    pub(crate) fn write(&self) -> String {
        if self.is_empty() {
            return String::new();
        }
        let mut out = PREFACE.to_string();
        let owed = || self.files.values().flat_map(|of| of.owed.values());
        let used: BTreeSet<u32> = owed().map(|owed| owed.rules).collect();
        for (number, names) in self.sets.iter().filter(|(number, _)| used.contains(number)) {
            out.push_str(&format!("- | rules | {number:08x} | {names}\n"));
        }
        for (file, of) in &self.files {
            let mut lines: BTreeMap<_, Vec<String>> = BTreeMap::new();
            for (key, owed) in &of.owed {
                let head = (&owed.header, owed.adopted, owed.until, &owed.by);
                lines.entry(head).or_default().push(format!("{} {:08x} {key}", owed.name, owed.rules));
            }
            for ((header, adopted, until, by), mut items) in lines {
                items.sort_unstable();
                out.push_str(&format!(
                    "{file} | debts | {adopted} | {until} | {by} | {header} | {}\n",
                    items.join("; ")
                ));
            }
            if !of.said.0.is_empty() {
                out.push_str(&format!("{file} | said | {}\n", of.said.0));
            }
        }
        out
    }
}

/// How many characters a number has.
const DIGITS: usize = 16;

/// What became of a file of the record in a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum OnDisk {
    Judged,
    Gone,
    Elsewhere,
}

/// A text as a part of a line.
pub(crate) fn plain(text: &str) -> String {
    let text = one_line(text).replace('|', "/");
    let text = text.trim();
    if text.is_empty() { "-".to_string() } else { text.to_string() }
}

//! What makes a finding the same finding tomorrow: a number made from its rule and the text that it is about, never from
//! lines, columns or the figures in its title. Nothing is compared or kept here.

use crate::analysis::Analysis;
use crate::finding::{Finding, NotJudged};
use crate::reading::Reading;
use crate::source::{FileId, Place};
use std::collections::HashMap;

/// A finding by its content: rule, header of its block, its own line, headers of the other blocks that take part, and
/// how many equal ones stand before it in the file. The file's name is not in it; see [`Fingerprint::in_file`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Fingerprint(u128);

impl Fingerprint {
    /// With the file it is in, by a path that is the same on every machine: 32 hexadecimal digits.
    pub fn in_file(self, path: &str) -> String {
        let mut hash = Fowler::new();
        hash.part(path);
        hash.part(&self.to_string());
        format!("{:032x}", hash.0)
    }

    /// As [`Fingerprint`]'s `Display` wrote it.
    pub fn read(text: &str) -> Option<Fingerprint> {
        let plain = text.len() == 32 && text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'));
        plain.then(|| u128::from_str_radix(text, 16).ok().map(Fingerprint)).flatten()
    }

    /// Of something that is no finding of a rule in a text, by its name alone.
    pub fn of_name(name: &str) -> Fingerprint {
        let mut hash = Fowler::new();
        hash.part(name);
        Fingerprint(hash.0)
    }
}

impl std::fmt::Display for Fingerprint {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{:032x}", self.0)
    }
}

/// Makes the fingerprints of one analysis. Findings are to be given in their order, each once.
pub struct Fingerprints<'a> {
    analysis: &'a Analysis,
    equal: HashMap<(FileId, u128), u32>,
}

impl<'a> Fingerprints<'a> {
    /// For one analysis.
    pub fn new(analysis: &'a Analysis) -> Fingerprints<'a> {
        Fingerprints { analysis, equal: HashMap::new() }
    }

    /// Of the next finding.
    ///
    /// White space and comments do not take part. Notes that tell what else follows from the finding do not either: they
    /// come and go with figures elsewhere.
    pub fn of(&mut self, finding: &Finding) -> Fingerprint {
        let related = finding.related.iter().filter(|related| related.noted().is_none()).map(|related| related.place);
        self.print(finding.rule.name, finding.place, related.chain(finding.used))
    }

    /// Of the next thing that a safety rule could not judge.
    pub fn of_not_judged(&mut self, left: &NotJudged) -> Fingerprint {
        self.print(left.rule.name, left.place, std::iter::empty())
    }

    fn print(&mut self, rule: &str, place: Place, others: impl Iterator<Item = Place>) -> Fingerprint {
        let mut hash = Fowler::new();
        hash.part(rule);
        let own = self.header(place);
        hash.part(&own);
        hash.part(&self.reading(place).map_or(String::new(), |reading| line(reading, place.span.start)));
        let mut others: Vec<String> = others.map(|place| self.header(place)).collect();
        others.retain(|other| *other != own);
        others.sort_unstable();
        others.dedup();
        others.iter().for_each(|other| hash.part(other));
        let before = self.equal.entry((place.file, hash.0)).or_insert(0);
        hash.part(&before.to_string());
        *before = before.saturating_add(1);
        Fingerprint(hash.0)
    }

    /// The header of the block that a place is in: kind, name and heater, as written; empty outside blocks.
    pub fn header(&self, place: Place) -> String {
        let Some(reading) = self.reading(place) else { return String::new() };
        let block = reading.at(place.span.start).0;
        block.map_or(String::new(), |block| line(reading, block.header.start))
    }

    fn reading(&self, place: Place) -> Option<&'a Reading> {
        self.analysis.reading(place.file).map(AsRef::as_ref)
    }
}

/// The items of the line that holds an offset, one space between two.
fn line(reading: &Reading, offset: u32) -> String {
    let tree = &reading.tree;
    let Some(line) = tree.lines.get(tree.line_at(offset)) else { return String::new() };
    let mut out = String::new();
    for item in tree.items(line) {
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(tree.slice(item.span));
    }
    out
}

/// The hash FNV-1a of 128 bits (RFC 9923 section 5, recalled from memory): the same on every machine and in every build,
/// which the standard library's hashes do not promise.
pub(super) struct Fowler(u128);

impl Fowler {
    pub(super) fn new() -> Fowler {
        Fowler(0x6c62_272e_07bb_0142_62b8_2175_6295_c58d)
    }

    fn bytes(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u128::from(*byte)).wrapping_mul(0x0000_0000_0100_0000_0000_0000_0000_013b);
        }
    }

    /// A part and its end: a byte that UTF-8 never holds keeps `a` `bc` apart from `ab` `c`.
    pub(super) fn part(&mut self, text: &str) {
        self.bytes(text.as_bytes());
        self.bytes(&[0xff]);
    }

    /// All of its 128 bits.
    pub(super) fn value(&self) -> u128 {
        self.0
    }

    /// Half as many, each made from two (the same RFC folds a longer hash so; from memory).
    pub(super) fn folded(&self) -> u64 {
        ((self.0 >> 64) ^ self.0) as u64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Date;
    use crate::rules::{BENCH_SHEETS, compose};
    use crate::source::{Followed, Source};
    use std::sync::Arc;

    /// The published test values of FNV-1a with 128 bits, for the texts `` and `a` (reference test suite of the hash's
    /// authors; from memory).
    #[test]
    fn the_hash_is_the_published_one() {
        let of = |text: &str| {
            let mut hash = Fowler::new();
            hash.bytes(text.as_bytes());
            format!("{:032x}", hash.0)
        };
        assert_eq!(of(""), "6c62272e07bb014262b821756295c58d");
        assert_eq!(of("a"), "d228cb696f1a8caf78912b704e4a8964");
    }

    struct Sheets;

    impl Source for Sheets {
        fn follow(&self, _: FileId, _: &str) -> Followed {
            Followed::File(FileId(1), Arc::new(Reading::new(Arc::from(BENCH_SHEETS))))
        }
    }

    /// Rule and fingerprint of every finding of a text.
    fn prints(text: &str) -> Vec<(&'static str, Fingerprint)> {
        let reading = Arc::new(Reading::new(Arc::from(text)));
        let analysis = crate::analyse(FileId(0), reading, &Sheets, Date::read("2026-11-02"));
        let mut prints = Fingerprints::new(&analysis);
        let mut all: Vec<_> = analysis.findings.iter().map(|finding| (finding.rule.name, prints.of(finding))).collect();
        all.sort();
        all
    }

    #[test]
    fn every_page_s_findings_keep_their_fingerprints_through_edits_elsewhere() {
        let mut found = 0;
        for rule in crate::rules::all() {
            let text = compose(rule.bad);
            let before = prints(&text);
            found += before.len();
            let mut apart: Vec<_> = before.iter().map(|(_, print)| *print).collect();
            apart.sort();
            apart.dedup();
            assert_eq!(apart.len(), before.len(), "{}: two findings share a fingerprint", rule.name);
            // Lines above, comments, and other white space. What a rule says of the space itself may go with it.
            let about_space =
                |name: &str| crate::rules::find(name).is_some_and(|rule| rule.family == crate::rules::Family::Text);
            let spaced: String = std::iter::once("# a word before all\n\n".to_string())
                .chain(text.lines().map(|line| match line.trim_start() {
                    "" => "\n\n".to_string(),
                    _ if line.contains('"') || line.contains('#') => format!("{line}\n"),
                    rest if line.starts_with(' ') => format!("    {rest}   # moved\n"),
                    rest => format!("{rest}   # moved\n"),
                }))
                .collect();
            let keep = |all: Vec<(&'static str, Fingerprint)>| -> Vec<_> {
                all.into_iter().filter(|(name, _)| !about_space(name)).collect()
            };
            assert_eq!(keep(prints(&spaced)), keep(before), "{}", rule.name);
        }
        assert!(found > 150, "{found}");
    }

    #[test]
    fn figures_do_not_take_part_but_the_own_line_does() {
        let job = |supply: &str, bore: &str| {
            format!(
                "cable supply of reader\n  from          house\n  size          {supply}\n  run           900 mm\n  fuse          20 A\n  run           {bore}\n  ends          at reader"
            )
        };
        let of = |text: &str| {
            let found = prints(&compose(text));
            found.into_iter().find(|(name, _)| *name == "fuse-far-from-battery").expect("a fuse far from its battery").1
        };
        let one = of(&job("6 mm²", "3 m"));
        assert_eq!(one, of(&job("6 mm²", "2.5 m")), "another line of the block");
        assert_ne!(one, of(&job("6 mm²", "3 m").replace("20 A", "25 A")), "its own line");
    }
}

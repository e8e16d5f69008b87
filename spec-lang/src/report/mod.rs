//! What was found, in the forms that people and programs read: strings and wire structures. Nothing is judged here,
//! nothing is written anywhere, and nothing is coloured: that is the edges' business.

mod account;
mod count;
mod csv;
mod drawing;
mod facts;
mod figures;
mod fingerprint;
pub mod json;
pub mod junit;
mod language;
mod line;
mod locate;
mod margins;
mod page;
mod plain;
pub mod sarif;
mod summary;
mod words;
mod wrap;

pub use crate::rules::CAUTION;
pub use account::{Answers, account_text, answer_word, sketch_text, totals_line};
pub use count::{Counts, counted};
pub use csv::{ACCOUNT_HEAD, FIGURES_HEAD, MARGINS_HEAD, account_csv, csv_row, csv_text, figures_csv, margins_csv};
pub use drawing::{Drawing, Element, Wanted, drawing};
pub use facts::{Debt, Debts, FactKey, FactPrint, Owing, Terms, fact_name, facts_said, short_number};
pub use figures::figures_text;
pub use fingerprint::{Fingerprint, Fingerprints};
pub use language::{language_page, word_list};
pub use line::{conceded_line, finding_line, not_judged_line, one_line};
pub use locate::{Locator, Naming, Position};
pub use margins::{margins_text, under};
pub use page::{rule_list, rule_page};
pub use plain::finding_text;
pub use summary::{Summary, What};
pub use words::Words;
pub use wrap::wrap;

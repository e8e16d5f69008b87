//! What a job has to say before a question can be answered: the facts that rules rest on, whether a job says them, and
//! whether a question applies at all. Nothing is computed and nothing is judged here; a rule names its facts, the engine
//! asks for them.
//!
//! Silence is never an answer: a fact that is not said is *lacking*, and a question applies unless something that is said
//! takes it away.

mod facts;
mod ground;
pub mod groups;
pub mod when;

pub use facts::{Need, Of, Stands};
pub use ground::{Gap, Ground, Lack, Subject};
pub use when::Applies;

use crate::vocabulary::Kind;

/// One question of a rule: of what it is asked, when it applies, and on which facts its answer rests.
#[derive(Clone, Copy)]
pub struct Ask {
    /// It is asked of each block of this kind. Chosen by what obliges (a heater obliges its cable), never by what may be
    /// left out.
    pub each: Kind,
    /// Whether it applies to such a block.
    pub only: fn(&Ground<'_>, Subject) -> Applies,
    /// What it rests on, in groups that rules share.
    pub rests_on: &'static [&'static [Need]],
}

impl Ask {
    /// A question asked of each block of a kind, always.
    pub const fn each(kind: Kind, rests_on: &'static [&'static [Need]]) -> Ask {
        Ask { each: kind, only: |_, _| Applies::Yes, rests_on }
    }

    /// The same question, asked only where something said does not take it away.
    pub const fn only(self, only: fn(&Ground<'_>, Subject) -> Applies) -> Ask {
        Ask { only, ..self }
    }

    /// Every fact that it rests on.
    pub fn facts(&self) -> impl Iterator<Item = Need> + use<> {
        self.rests_on.iter().flat_map(|group| group.iter().copied())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The facts are said in words that the vocabulary knows, and the example of each says it.
    #[test]
    fn every_fact_is_said_in_words_that_the_vocabulary_knows() {
        for fact in Need::ALL {
            let row = fact.row();
            for word in row.words {
                assert!(crate::vocabulary::property(row.of.kind(), word).is_some(), "{fact:?}: {word}");
            }
            assert!(!fact.example().is_empty(), "{fact:?}");
        }
    }
}

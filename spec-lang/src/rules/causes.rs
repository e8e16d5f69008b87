//! Which finding explains which: two rules never complain of one cause. Where a finding stands, those that it explains
//! become notes on it. No rule is judged here.

/// A rule whose finding explains another's.
pub(super) struct Cause {
    /// The rule that names the cause.
    pub cause: &'static str,
    /// The rule that then only tells what follows from it.
    pub effect: &'static str,
    /// Within what they must meet.
    pub within: Within,
}

/// What cause and effect have in common.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Within {
    /// A block: the exhaust, the cable, ….
    Block,
    /// A heater, with all that hangs on it.
    Heater,
}

/// Every pair. An effect whose cause is conceded stands on its own again.
pub(super) static CAUSES: &[Cause] = &[
    on_block("fuse-too-large-for-cable", "fuse-not-as-asked"),
    on_block("fuse-too-small", "fuse-not-as-asked"),
    on_heater("system-voltage-differs", "starting-voltage-low"),
    on_heater("system-voltage-differs", "running-voltage-low"),
    on_heater("warm-air-narrows-early", "duct-resistance-large"),
    on_heater("return-duct-small", "duct-resistance-large"),
    on_heater("return-grille-small", "duct-resistance-large"),
    on_heater("warm-air-way-too-long", "duct-resistance-large"),
    on_heater("duct-resistance-large", "warm-air-flow-small"),
    on_heater("duct-resistance-large", "warm-air-overheats"),
    on_heater("duct-resistance-large", "outlet-air-fast"),
    on_heater("warm-air-flow-small", "warm-air-overheats"),
];

const fn on_block(cause: &'static str, effect: &'static str) -> Cause {
    Cause { cause, effect, within: Within::Block }
}

const fn on_heater(cause: &'static str, effect: &'static str) -> Cause {
    Cause { cause, effect, within: Within::Heater }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pair_names_two_rules_and_none_explains_itself() {
        for pair in CAUSES {
            for name in [pair.cause, pair.effect] {
                assert!(crate::rules::find(name).is_some(), "{name}");
            }
            assert_ne!(pair.cause, pair.effect);
        }
    }
}

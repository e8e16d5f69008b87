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
    on_heater("system-voltage-differs", "battery-fails-in-the-night"),
    on_heater("starting-voltage-low", "battery-fails-in-the-night"),
    on_block("battery-freezes", "battery-fails-in-the-night"),
    on_heater("battery-fails-in-the-night", "battery-left-too-empty"),
    on_heater("heater-too-weak", "return-air-from-outside"),
    on_heater("return-air-from-outside", "warm-up-slow"),
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

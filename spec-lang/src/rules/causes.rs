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
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
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
    on_block("passage-unsealed", "cable-through-bare-hole"),
    on_block("passage-unsealed", "fuel-line-through-bare-hole"),
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
    on_heater("altitude-above-sheet", "excess-air-runs-out"),
    on_heater("exhaust-too-long", "exhaust-and-air-too-long"),
    on_heater("combustion-air-too-long", "exhaust-and-air-too-long"),
    on_heater("exhaust-bends-too-many", "exhaust-and-air-bends-too-many"),
    on_heater("combustion-air-bends-too-many", "exhaust-and-air-bends-too-many"),
    on_heater("exhaust-and-air-too-long", "combustion-pressure-high"),
    on_block("exhaust-near-opening", "exhaust-end-at-tail"),
    on_block("exhaust-ends-inside", "exhaust-runs-inside"),
    on_block("exhaust-joint-inside", "exhaust-runs-inside"),
    on_block("tank-contradicts-itself", "tank-fails-in-the-night"),
    on_block("tank-contradicts-itself", "pickup-below-reserve"),
    on_block("exhaust-near-waterline", "exhaust-low-over-waterline"),
    on_heater("system-voltage-differs", "battery-fails-in-the-night"),
    on_heater("starting-voltage-low", "battery-fails-in-the-night"),
    on_block("battery-freezes", "battery-fails-in-the-night"),
    on_heater("battery-freezes", "starting-voltage-low"),
    on_heater("battery-fails-in-the-night", "battery-left-too-empty"),
    on_heater("heater-too-weak", "return-air-from-outside"),
    on_heater("return-air-from-outside", "warm-up-slow"),
    on_heater("system-voltage-differs", "charging-voltage-high"),
    on_heater("system-voltage-differs", "start-cut-by-management"),
    on_heater("system-voltage-differs", "cut-before-heater-stops"),
    on_block("start-cut-by-management", "cut-before-heater-stops"),
    on_heater("feed-can-be-cut", "cut-before-heater-stops"),
    on_block("fuse-too-large-for-cable", "short-circuit-lasts"),
    on_block("fuse-too-large-for-cable", "short-circuit-outlasts-cable"),
    on_block("starting-voltage-low", "short-circuit-lasts"),
    on_block("running-voltage-low", "short-circuit-lasts"),
    on_block("starting-voltage-low", "short-circuit-outlasts-cable"),
    on_block("running-voltage-low", "short-circuit-outlasts-cable"),
    on_block("fuse-not-as-asked", "short-circuit-lasts"),
    on_block("short-circuit-outlasts-cable", "short-circuit-lasts"),
    on_block("fuse-too-small", "holder-too-small"),
    on_block("cable-overloaded", "branch-voltage-lost"),
    on_block("suction-line-too-long", "suction-too-deep"),
    on_block("suction-lift-too-high", "suction-too-deep"),
    on_block("pressure-line-too-long", "delivery-pressure-too-high"),
    on_block("delivery-lift-too-high", "delivery-pressure-too-high"),
    on_block("suction-line-too-long", "many-starts-to-prime"),
    on_block("pressure-line-too-long", "many-starts-to-prime"),
    on_block("fuel-bore-traps-gas", "many-starts-to-prime"),
    on_block("pickup-below-engines", "pickup-near-tank-floor"),
    on_block("pickup-below-reserve", "pickup-near-tank-floor"),
    on_block("pickup-below-engines", "pickup-below-reserve"),
    on_heater("return-air-from-plant", "return-air-from-elsewhere"),
    on_block("pump-missing", "fuel-fed-by-gravity"),
    on_block("fuel-fed-by-gravity", "fuel-line-below-tank"),
    on_block("petrol-tank-indoors", "heater-tank-beside-heater"),
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

    /// A finding that may wait takes the mark of what is noted on it: what guards life does not vanish behind it.
    #[test]
    fn a_cause_takes_the_mark_of_the_effect_that_it_notes() {
        use crate::finding::Finding;
        let nowhere = crate::source::Place { file: crate::source::FileId(0), span: crate::text::Span::default() };
        for pair in CAUSES {
            let of = |name: &str| crate::rules::find(name).map(|rule| Finding::new(rule, nowhere, name));
            let (Some(mut cause), Some(effect)) = (of(pair.cause), of(pair.effect)) else { panic!("{}", pair.cause) };
            cause.note(&effect);
            assert!(cause.guards_life() || !effect.guards_life(), "{} hides {}", pair.cause, pair.effect);
            assert!(!cause.can_wait() || effect.can_wait(), "{} hides {}", pair.cause, pair.effect);
        }
    }

    #[test]
    fn nothing_explains_what_explains_it() {
        let mut names: Vec<&str> = CAUSES.iter().flat_map(|pair| [pair.cause, pair.effect]).collect();
        // Rules that nothing left explains are settled; in a circle none ever is.
        loop {
            let explained = |name: &&str| CAUSES.iter().any(|pair| pair.effect == *name && names.contains(&pair.cause));
            let left: Vec<&str> = names.iter().copied().filter(explained).collect();
            if left.is_empty() {
                return;
            }
            assert!(left.len() < names.len(), "a circle among {left:?}");
            names = left;
        }
    }
}

//! What a good fitter would say of a job, and that the job he would then build has nothing to say against it; and that the
//! examples between them show every rule at work.

use std::collections::BTreeSet;
use trialfit_tests::program::run;
use trialfit_tests::{Folder, lines, project};

/// A job with a fault, what is found in it, and how it is mended.
struct Morning {
    file: &'static str,
    /// What is changed first, to make the fault of another job.
    spoilt: &'static [(&'static str, &'static str)],
    rule: &'static str,
    /// The figure, as the finding's title says it.
    figure: &'static str,
    mended: &'static [(&'static str, &'static str)],
}

const MORNINGS: &[Morning] = &[
    Morning {
        file: "breakdown-van",
        spoilt: &[],
        rule: "starting-voltage-low",
        figure: "10.3 V",
        mended: &[("size          1.5 mm²", "size          4 mm²")],
    },
    Morning {
        file: "breakdown-van",
        spoilt: &[("charge        70 %", "charge        50 %")],
        rule: "battery-freezes",
        figure: "freezes at -25 °C",
        mended: &[("charge        50 %", "charge        80 %"), ("size          1.5 mm²", "size          4 mm²")],
    },
    Morning {
        file: "ladder-van",
        spoilt: &[],
        rule: "battery-freezes",
        figure: "freezes at -25 °C",
        mended: &[("charge        50 %", "charge        80 %")],
    },
    Morning {
        file: "watch-cabin",
        spoilt: &[(
            "back          300 mm\n  outlet        table, facing back",
            "left          300 mm\n  outlet        table, facing left",
        )],
        rule: "return-air-bias",
        figure: "`cabin-room` will settle near 29 °C",
        mended: &[(
            "  mixes         33 %, -5 °C, porch              # fault: the room will be held well above what the dial says\n",
            "",
        )],
    },
    Morning {
        file: "sampling-van",
        spoilt: &[],
        rule: "heater-too-weak",
        figure: "needs 2.58 kW",
        mended: &[(
            "  duct          duct-90\n  down          250 mm                          # all its air is warmed from outside\n  left          900 mm\n  ends          facing left",
            "  draws         at heater, clear 100 mm",
        )],
    },
    Morning {
        file: "timber-van",
        spoilt: &[],
        rule: "pressure-line-too-long",
        figure: "8.13 m",
        mended: &[(
            "  line          1.5 mm\n  forward       1200 mm\n  left          300 mm\n  up            1650 mm\n  back          2170 mm                         # fault: over the roof, because the floor is full: too far, too high\n  right         1350 mm\n  down          1460 mm",
            "  back          970 mm\n  right         1050 mm\n  up            190 mm",
        )],
    },
    Morning {
        file: "surveyors-van",
        spoilt: &[],
        rule: "outlet-starved",
        figure: "21 %",
        mended: &[("  duct          duct-60", "  duct          duct-90")],
    },
    Morning {
        file: "post-van",
        spoilt: &[("volume        3.2 m³", "volume        5 m³")],
        rule: "heater-too-large",
        figure: "4.02 times an hour",
        mended: &[("datasheet     air-4", "datasheet     air-2"), ("fuse          20 A", "fuse          15 A")],
    },
    Morning {
        file: "post-van",
        spoilt: &[],
        rule: "heater-too-large",
        figure: "4.39 times an hour",
        mended: &[("datasheet     air-4", "datasheet     air-2"), ("fuse          20 A", "fuse          15 A")],
    },
    Morning {
        file: "pass-van",
        spoilt: &[],
        rule: "altitude-above-sheet",
        figure: "2400 m",
        mended: &[("datasheet     air-4", "datasheet     air-4-high")],
    },
];

fn changed(text: &str, changes: &[(&str, &str)]) -> String {
    changes.iter().fold(text.to_string(), |text, (old, new)| {
        assert!(text.contains(old), "no `{old}` in\n{text}");
        text.replacen(old, new, 1)
    })
}

#[test]
fn a_fitters_finding_is_found_with_its_figure_and_the_mended_job_is_clean() {
    for morning in MORNINGS {
        let path = project().join(format!("examples/{}.trialfit", morning.file));
        let text = changed(&std::fs::read_to_string(&path).expect("an example"), morning.spoilt);
        let found = Folder::new().judge_text(&path, &text);
        let own: Vec<_> = found.standing().filter(|finding| finding.rule.name == morning.rule).collect();
        assert_eq!(own.len(), 1, "{}: {:#?}", morning.file, lines(&found));
        assert!(own[0].title.contains(morning.figure), "{}: {}", morning.file, own[0].title);
        // The line that is at fault is the only thing said, beside what the same line also brings about.
        assert_eq!(found.standing().count(), 1, "{}: {:#?}", morning.file, lines(&found));
        let mended = Folder::new().judge_text(&path, &changed(&text, morning.mended));
        assert!(mended.is_clean(), "{} mended: {:#?}", morning.file, lines(&mended));
    }
}

#[test]
fn the_examples_show_every_rule_at_work_and_at_rest() {
    let ran = run(&project(), &["check", "--form", "line", "--date", "2026-11-02", "examples"]);
    let named = |line: &str| Some(line[line.rfind('[')? + 1..].split(']').next()?.to_string());
    let found: BTreeSet<String> = ran.out.lines().filter_map(named).collect();
    let never: Vec<_> = spec_lang::rules::all().map(|rule| rule.name).filter(|name| !found.contains(*name)).collect();
    assert!(never.is_empty(), "no example shows {never:?}");
    // And at rest: one job of the fleet has nothing to say at all, so no rule speaks always.
    let clean = run(&project(), &["check", "examples/lock-tender.trialfit"]);
    assert_eq!(clean.code, 0, "{}", clean.out);
}

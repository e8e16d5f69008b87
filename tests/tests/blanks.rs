//! Blanks filled.
use spec_lang::bench::{judge_example, judge_text};
use spec_lang::rules::BENCH;

#[test]
fn look() {
    for (from, to) in [
        ("size          4 mm²", "size          ?"),
        ("fuse          20 A", "fuse          ?"),
        ("line          2 mm", "line          ?"),
        ("hose          intake-25", "hose          ?"),
        ("pipe          steel, 24 mm bore, 27 mm outside", "pipe          ?"),
        ("duct          air-90\n  back", "duct          ?\n  back"),
        ("duct          air-90\n  forward", "duct          ?\n  forward"),
        ("datasheet     air-2", "datasheet     ?"),
        ("right         690 mm, down 30 mm", "right         ?, down 30 mm"),
        ("back          500 mm\n  ends          in", "back          ?\n  ends          in"),
        ("forward       500 mm, down 10 mm", "forward       ?, down 10 mm"),
        ("back          650 mm\n  right         910 mm\n  up            30 mm\n  ends          at reader", "run           ?\n  ends          at reader"),
        ("down          140 mm\n  right         690 mm, down 30 mm\n  ends          facing right", "down          140 mm\n  run           ?\n  at            back 1900 mm, right 1040 mm, up 440 mm\n  ends          facing right"),
        ("forward       900 mm\n  up            200 mm", "run           ?"),
        ("back          500 mm\n  ends          in", "run           ?\n  ends          in"),
    ] {
        assert!(BENCH.contains(from), "{from}");
        let text = BENCH.replace(from, to);
        let analysis = judge_text(&text);
        let start = std::time::Instant::now();
        let solution = analysis.filled();
        for answer in &solution.answers {
            println!("{to:?}: {}  [{} in {:?}]", answer.says(), solution.judged, start.elapsed());
        }
    }
    let _ = judge_example("");
}

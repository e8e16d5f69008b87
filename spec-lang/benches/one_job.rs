//! Timings of one job file of 150 lines: the tree alone, the whole reading, and everything up to the findings; with
//! the time to hash the same bytes as the floor to compare with.

use criterion::{Criterion, criterion_group, criterion_main};
use spec_lang::reading::Reading;
use spec_lang::source::{FileId, Followed, Source};
use spec_lang::syntax::read_tree;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::hint::black_box;
use std::sync::Arc;

/// A job of about 150 lines with everything in it: one heater whose every figure is computed, the nights included.
const JOB: &str = include_str!("../../examples/breakdown-van.trialfit");
/// The workshop file that it follows.
const SHEETS: &str = include_str!("../../examples/workshop/marrow-vale.trialfit");

/// The workshop file, whatever file is asked for.
struct Bench(Arc<Reading>);

impl Source for Bench {
    fn follow(&self, _: FileId, _: &str) -> Followed {
        Followed::File(FileId(1), Arc::clone(&self.0))
    }
}

fn one_job(criterion: &mut Criterion) {
    let text: Arc<str> = Arc::from(JOB);
    let mut group = criterion.benchmark_group("one job of 150 lines");
    group.bench_function("hash the bytes", |bench| {
        bench.iter(|| {
            let mut hasher = DefaultHasher::new();
            black_box(&text).hash(&mut hasher);
            hasher.finish()
        })
    });
    group.bench_function("tree", |bench| bench.iter(|| read_tree(Arc::clone(black_box(&text)))));
    group.bench_function("reading", |bench| bench.iter(|| Reading::new(Arc::clone(black_box(&text)))));
    let source = Bench(Arc::new(Reading::new(Arc::from(SHEETS))));
    let reading = Arc::new(Reading::new(Arc::clone(&text)));
    group.bench_function("model, figures and findings", |bench| {
        bench.iter(|| spec_lang::analyse(FileId(0), Arc::clone(black_box(&reading)), &source, None))
    });
    group.finish();
}

criterion_group!(benches, one_job);
criterion_main!(benches);

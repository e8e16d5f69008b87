//! Several files at a time: work on a batch of targets on as many threads as there are cores, its outcomes in the order of
//! the targets. What the work is, is not known here.

use crate::fault;
use crate::targets::Target;
use std::sync::atomic::{AtomicUsize, Ordering};

/// How many files are worked on before what came of them is written: enough to keep every core busy, and few enough that
/// memory does not grow with the tree.
pub(crate) const BATCH: usize = 256;

/// What came of each target of a batch. A fault of the work on one takes no other down.
pub(crate) fn each<T: Send>(
    batch: &[Target],
    work: impl Fn(&Target) -> Result<T, String> + Sync,
) -> Vec<Result<T, String>> {
    let work = |target: &Target| fault::caught(|| work(target)).and_then(|outcome| outcome);
    let cores = std::thread::available_parallelism().map_or(1, usize::from).min(batch.len());
    if cores <= 1 {
        return batch.iter().map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let mut all: Vec<(usize, Result<T, String>)> = std::thread::scope(|scope| {
        let share = || {
            let mut done = Vec::new();
            loop {
                let number = next.fetch_add(1, Ordering::Relaxed);
                let Some(target) = batch.get(number) else { return done };
                done.push((number, work(target)));
            }
        };
        let others: Vec<_> = (1..cores).map(|_| scope.spawn(share)).collect();
        let mut all = share();
        for other in others {
            // A worker catches the faults of its work; one that still dies takes its files down with it, and the count
            // below says so.
            all.extend(other.join().unwrap_or_default());
        }
        all
    });
    all.sort_by_key(|(number, _)| *number);
    let mut all = all.into_iter().peekable();
    let lost = || Err("a fault in dryfit itself: this file was lost".to_string());
    (0..batch.len())
        .map(|number| all.next_if(|(known, _)| *known == number).map_or_else(lost, |(_, outcome)| outcome))
        .collect()
}

//! Work on a list on all cores, and what came of it in the list's order. What is worked on and what comes of it is not
//! known here.

use std::collections::BTreeMap;
use std::io;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError, mpsc};

/// How far the work may run ahead of what is taken: enough that no core waits for a slow neighbour, and little enough
/// that memory does not grow with the list.
const AHEAD: usize = 256;
/// How many things a core takes at a time, so that handing them over costs next to nothing.
const AT_ONCE: usize = 4;

/// Does the work for each of the list, and hands what came of it to `take`, in order; `None` where the work died.
/// Stops where `take` fails.
pub(crate) fn each<T: Sync, R: Send>(
    list: &[T],
    work: impl Fn(&T) -> R + Sync,
    mut take: impl FnMut(&T, Option<R>) -> io::Result<()>,
) -> io::Result<()> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from).min(list.len().div_ceil(AT_ONCE));
    if list.len() <= AT_ONCE {
        return list.iter().try_for_each(|one| take(one, Some(work(one))));
    }
    let (next, taken) = (AtomicUsize::new(0), Taken::default());
    std::thread::scope(|scope| {
        let (sender, receiver) = mpsc::channel();
        let worker = |_| {
            let sender = sender.clone();
            let (work, next, taken) = (&work, &next, &taken);
            scope.spawn(move || {
                loop {
                    let first = next.fetch_add(AT_ONCE, Ordering::Relaxed);
                    let Some(some) = list.get(first..list.len().min(first + AT_ONCE)).filter(|some| !some.is_empty())
                    else {
                        return;
                    };
                    if !taken.wait_for(first) {
                        return;
                    }
                    // Sent when this turn ends, with what was done of it, be it by a panic.
                    let mut done = Done { first, of: Vec::with_capacity(some.len()), sender: &sender };
                    done.of.extend(some.iter().map(work));
                }
            })
        };
        let workers: Vec<_> = (0..cores).map(worker).collect();
        drop(sender);
        let result = in_turn(list, &receiver, &taken, &mut take);
        taken.set(usize::MAX);
        for worker in workers {
            // One that died left its mark in what was taken.
            let _ = worker.join();
        }
        result
    })
}

/// What came of a few neighbours.
type Came<R> = (usize, Vec<R>);

/// What came of work that died.
pub(crate) fn lost<T>() -> Result<T, String> {
    Err("a fault in trialfit itself: this file was lost".to_string())
}

fn in_turn<T, R>(
    list: &[T],
    receiver: &mpsc::Receiver<Came<R>>,
    taken: &Taken,
    take: &mut impl FnMut(&T, Option<R>) -> io::Result<()>,
) -> io::Result<()> {
    let mut early = BTreeMap::new();
    for (turn, some) in list.chunks(AT_ONCE).enumerate() {
        let first = turn * AT_ONCE;
        let came = loop {
            if let Some(came) = early.remove(&first) {
                break came;
            }
            match receiver.recv() {
                Ok((first, came)) => early.insert(first, came),
                // Nobody works any more.
                Err(_) => break Vec::new(),
            };
        };
        let mut came = came.into_iter();
        some.iter().try_for_each(|one| take(one, came.next()))?;
        taken.set(first + some.len());
    }
    Ok(())
}

struct Done<'a, R> {
    first: usize,
    of: Vec<R>,
    sender: &'a mpsc::Sender<Came<R>>,
}

impl<R> Drop for Done<'_, R> {
    fn drop(&mut self) {
        // Where nobody receives any more, nobody wants it.
        let _ = self.sender.send((self.first, std::mem::take(&mut self.of)));
    }
}

/// How many were taken; all of them where nobody takes any more.
#[derive(Default)]
struct Taken {
    count: Mutex<usize>,
    changed: Condvar,
}

impl Taken {
    fn lock(&self) -> MutexGuard<'_, usize> {
        self.count.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn set(&self, count: usize) {
        *self.lock() = count;
        self.changed.notify_all();
    }

    /// Waits until the work on this one is not too far ahead; false where nobody takes any more.
    fn wait_for(&self, number: usize) -> bool {
        let far = |taken: &mut usize| number >= taken.saturating_add(AHEAD);
        let taken = self.changed.wait_while(self.lock(), far).unwrap_or_else(PoisonError::into_inner);
        *taken != usize::MAX
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    #[test]
    fn what_came_is_taken_in_order_and_not_too_much_of_it_waits() {
        let list: Vec<usize> = (0..3_000).collect();
        let (begun, mut taken) = (AtomicUsize::new(0), Vec::new());
        let work = |number: &usize| {
            begun.fetch_add(1, Ordering::SeqCst);
            if number.is_multiple_of(500) {
                std::thread::sleep(Duration::from_millis(5));
            }
            number * 2
        };
        let result = each(&list, work, |number, came| {
            assert_eq!(came, Some(number * 2));
            let cores = std::thread::available_parallelism().map_or(1, usize::from);
            assert!(begun.load(Ordering::SeqCst) <= taken.len() + AHEAD + (cores + 1) * AT_ONCE);
            taken.push(*number);
            Ok(())
        });
        assert!(result.is_ok());
        assert_eq!(taken, list);
    }

    #[test]
    fn it_stops_where_nobody_takes_any_more() {
        let list: Vec<usize> = (0..100_000).collect();
        let begun = AtomicUsize::new(0);
        let mut left = 10;
        let result = each(
            &list,
            |_| begun.fetch_add(1, Ordering::SeqCst),
            |_, _| {
                left -= 1;
                if left == 0 { Err(io::Error::from(io::ErrorKind::BrokenPipe)) } else { Ok(()) }
            },
        );
        assert_eq!(result.map_err(|error| error.kind()), Err(io::ErrorKind::BrokenPipe));
        assert!(begun.into_inner() < 2_000);
        assert!(each(&[] as &[u8], |_| (), |_, _| Ok(())).is_ok());
    }

    #[test]
    fn work_that_dies_takes_only_its_neighbours_along() {
        let list: Vec<usize> = (0..400).collect();
        let mut lost = 0;
        let result = each(
            &list,
            |number| assert_ne!(*number, 30, "on purpose"),
            |_, came| {
                lost += usize::from(came.is_none());
                Ok(())
            },
        );
        assert!(result.is_ok());
        let alone = std::thread::available_parallelism().map_or(1, usize::from) == 1;
        assert!(lost >= 1 && (alone || lost <= AT_ONCE), "{lost}");
    }
}

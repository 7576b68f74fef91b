//! Many jobs at once, told in the order they were asked for.

use std::collections::BTreeMap;
use std::num::NonZeroUsize;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;

/// Does `work` for 0 to `count`, at most `at_once` at a time, and hands what comes of it to `told` in
/// order, on this thread. Only as much is kept as is waiting for its turn.
pub fn in_order<T: Send>(
    count: usize,
    at_once: NonZeroUsize,
    work: impl Fn(usize) -> T + Sync,
    mut told: impl FnMut(usize, T),
) {
    let next = AtomicUsize::new(0);
    let (done, finished) = mpsc::channel();
    thread::scope(|scope| {
        for _ in 0..at_once.get().min(count) {
            let (done, next, work) = (done.clone(), &next, &work);
            scope.spawn(move || {
                loop {
                    let job = next.fetch_add(1, Ordering::Relaxed);
                    if job >= count || done.send((job, work(job))).is_err() {
                        break;
                    }
                }
            });
        }
        drop(done);
        let mut waiting = BTreeMap::new();
        let mut turn = 0;
        for (job, result) in finished {
            waiting.insert(job, result);
            while let Some(result) = waiting.remove(&turn) {
                told(turn, result);
                turn += 1;
            }
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_are_done_and_told_in_order() {
        for at_once in [1, 3, 64] {
            let mut seen = Vec::new();
            let at_once = NonZeroUsize::new(at_once).unwrap();
            in_order(50, at_once, |job| job * job, |job, square| seen.push((job, square)));
            assert_eq!(seen, (0..50).map(|job| (job, job * job)).collect::<Vec<_>>());
        }
    }
}

//! Many answers on all cores; they come in the order of the questions, whatever the number of threads.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// What watches a computation of many answers.
pub struct Watch<'a> {
    /// Threads, at least one.
    pub threads: usize,
    /// Set from outside to stop.
    pub stop: &'a AtomicBool,
    /// Told after every answer how many there are.
    pub progress: &'a (dyn Fn(usize) + Sync),
}

/// `f(0), …, f(count − 1)`; `None` when stopped.
pub fn each<T: Send>(count: usize, watch: &Watch<'_>, f: impl Fn(usize) -> T + Sync) -> Option<Vec<T>> {
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let found: Mutex<Vec<(usize, T)>> = Mutex::new(Vec::with_capacity(count));
    std::thread::scope(|scope| {
        for _ in 0..watch.threads.clamp(1, count.max(1)) {
            scope.spawn(|| {
                while !watch.stop.load(Ordering::Relaxed) {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    if i >= count {
                        break;
                    }
                    let value = f(i);
                    // A poisoned lock means that another thread panicked; the scope passes that on.
                    if let Ok(mut found) = found.lock() {
                        found.push((i, value));
                    }
                    (watch.progress)(done.fetch_add(1, Ordering::Relaxed) + 1);
                }
            });
        }
    });
    let mut found = found.into_inner().ok()?;
    if found.len() < count {
        return None;
    }
    found.sort_by_key(|f| f.0);
    Some(found.into_iter().map(|f| f.1).collect())
}

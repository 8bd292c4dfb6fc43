//! Questions that ask many times: progress to the watch, and its stop back.

use std::sync::atomic::{AtomicBool, Ordering};

use calotte_answers::release::Watch as Many;

use crate::reply::{Refusal, Watch};

/// Asks `count` times by way of `ask`, which gives nothing when it was stopped.
pub(crate) fn many<T>(
    watch: &dyn Watch,
    threads: usize,
    what: &str,
    count: usize,
    ask: impl FnOnce(&Many<'_>) -> Result<Option<T>, Refusal>,
) -> Result<T, Refusal> {
    let stop = AtomicBool::new(!watch.progress(Some(0.0), what));
    let progress = |done: usize| {
        if !watch.progress(Some(done as f64 / count.max(1) as f64), what) {
            stop.store(true, Ordering::Relaxed);
        }
    };
    let found = ask(&Many { threads: threads.max(1), stop: &stop, progress: &progress })?;
    // What was done before the stop was seen is left out too.
    found.filter(|_| !stop.load(Ordering::Relaxed)).ok_or(Refusal::Stopped)
}

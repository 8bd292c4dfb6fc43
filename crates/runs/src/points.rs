//! Chunks computed point by point: all threads work on one chunk, so that one that takes long ends as early as it can.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc;
use std::thread;
use std::time::Instant;

use crate::failure::Failure;
use crate::run::{Progress, left};
use crate::shards::Shards;
use crate::table::Value;
use crate::threads::cores;

/// Rows that may wait for the one thread that writes.
const WAITING: usize = 4096;

impl Shards<'_> {
    /// Computes the given chunks, in increasing order, and writes each as soon as its last point is there. `compute` gives the row of
    /// one point; it runs on `threads` threads at once (0: as many as the machine has cores) and must be a pure function of the point:
    /// then a shard has the same bytes whatever the threads.
    ///
    /// `stop` is looked at before every point; points of a chunk that is not finished are lost. `progress` is called on the calling
    /// thread before the first point and after every one; `resumed` points count as done. `false` when stopped before the end.
    ///
    /// # Errors
    /// Any [`Failure`] of [`Shards::write`]; finished shards are kept. A panic of `compute` goes on as it is.
    pub fn run(
        &self,
        chunks: &[u64],
        resumed: u64,
        threads: usize,
        stop: &AtomicBool,
        progress: &mut dyn FnMut(Progress),
        compute: &(dyn Fn(u64) -> Vec<Value> + Sync),
    ) -> Result<bool, Failure> {
        // Places of the chunks among all points to compute.
        let mut ends = Vec::with_capacity(chunks.len());
        let mut all = 0;
        for &chunk in chunks {
            let range = self.range(chunk);
            all += range.end - range.start;
            ends.push(all);
        }
        let point = |i: u64| -> Option<(usize, u64)> {
            let at = ends.partition_point(|e| *e <= i);
            let start = if at == 0 { 0 } else { ends[at - 1] };
            Some((at, self.range(*chunks.get(at)?).start + (i - start)))
        };
        let begun = Instant::now();
        let mut done = 0;
        let mut tell_progress = |done: u64| {
            let elapsed = begun.elapsed();
            let left = left(elapsed, done, all - done);
            progress(Progress { done: resumed + done, total: resumed + all, resumed, elapsed, left });
        };
        tell_progress(0);
        let threads = cores(threads);
        let next = AtomicU64::new(0);
        thread::scope(|scope| {
            let (tell, ear) = mpsc::sync_channel(WAITING);
            let mut refused = None;
            let mut started = false;
            for _ in 0..threads.min(usize::try_from(all).unwrap_or(usize::MAX)) {
                let (tell, next, point) = (tell.clone(), &next, &point);
                let work = move || {
                    while !stop.load(Ordering::Relaxed) {
                        let Some((at, k)) = point(next.fetch_add(1, Ordering::Relaxed)) else { break };
                        // Nobody listens any more when a shard could not be written.
                        if tell.send((at, k, compute(k))).is_err() {
                            break;
                        }
                    }
                };
                match thread::Builder::new().spawn_scoped(scope, work) {
                    Ok(_) => started = true,
                    Err(e) => refused = Some(e),
                }
            }
            drop(tell);
            if let Some(e) = refused.filter(|_| !started) {
                return Err(Failure::Threads(e));
            }
            let mut open: BTreeMap<usize, BTreeMap<u64, Vec<Value>>> = BTreeMap::new();
            for (at, k, row) in ear {
                let range = self.range(chunks[at]);
                let rows = open.entry(at).or_default();
                rows.insert(k, row);
                if rows.len() as u64 == range.end - range.start {
                    let rows = open.remove(&at).unwrap_or_default();
                    self.write(chunks[at], rows.into_values().collect())?;
                }
                done += 1;
                tell_progress(done);
            }
            Ok(())
        })?;
        Ok(done == all)
    }
}

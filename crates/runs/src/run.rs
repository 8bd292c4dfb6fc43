//! Conducts a run: threads take chunks, finished chunks are kept, tables are written at the end.

use std::collections::BTreeMap;
use std::io;
use std::ops::Range;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use crate::failure::Failure;
use crate::files::write_atomic;
use crate::folder::{Folder, Rows};
use crate::job::Job;
use crate::table::{Table, Value, misfit};
use crate::threads::{cores, panic_words};

/// How far a run is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// Points that are finished, resumed ones included.
    pub done: u64,
    /// All points.
    pub total: u64,
    /// Points that an earlier run had finished.
    pub resumed: u64,
    /// Time since this run began to compute.
    pub elapsed: Duration,
    /// Time left at the rate of this run; nothing until it has finished a chunk.
    pub left: Option<Duration>,
}

/// How a run ended well.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// All points are computed and the tables are written; this is what they hold.
    Finished(Table),
    /// The stop flag was raised first; the finished chunks are kept.
    Stopped {
        /// Points that are finished.
        done: u64,
        /// All points.
        total: u64,
    },
}

/// Computes the rows of the points in a range, one row per point, in order. It runs on several threads at
/// once and must be a pure function of the range: then the tables have the same bits for any number of
/// threads and any history of interruptions.
pub type Compute<'a> = &'a (dyn Fn(Range<u64>) -> Vec<Vec<Value>> + Sync);

/// Runs `job` in `folder`, which is made unless it is there.
///
/// Chunks that an earlier run of the same job has finished are read and not computed again; the others are
/// computed by `threads` threads (0: as many as the machine has cores). Each is kept below
/// `folder/NAME.run/` for good before it counts, so that a kill at any moment loses the chunks in work
/// only. At the end `NAME.csv` and `NAME.parquet` are written, each in one step, and `NAME.run/` is
/// removed. Tables of that name are replaced, whatever they hold; without `NAME.run/` a finished run is
/// computed anew. All rows are held in memory.
///
/// `stop` is looked at between chunks. `progress` is called on the calling thread: once before the first
/// chunk and once after each. A panic in `compute` ends the run as a failure (the panic hook of the program
/// speaks as usual); the chunks in work on other threads are finished and kept.
///
/// # Errors
/// Any [`Failure`]. Finished chunks are kept in every case. [`Failure::Foreign`] and [`Failure::Damaged`]
/// come before anything is computed, written or removed; [`Failure::Busy`] when another process or thread
/// runs the same job name in the same folder.
pub fn run(
    job: &Job,
    folder: &Path,
    threads: usize,
    stop: &AtomicBool,
    progress: &mut dyn FnMut(Progress),
    compute: Compute<'_>,
) -> Result<Outcome, Failure> {
    job.check()?;
    let place = Folder::open(job, folder)?;
    let mut chunks = place.resume(job)?;
    let mut clock = Clock::new(job, &chunks);
    progress(clock.reading());
    let missing: Vec<u64> = (0..job.chunks()).filter(|c| !chunks.contains_key(c)).collect();
    let crew = Crew { job, place: &place, missing: &missing, next: AtomicUsize::new(0), compute };
    crew.work(threads, stop, |chunk, rows| {
        clock.done += rows.len() as u64;
        chunks.insert(chunk, rows);
        progress(clock.reading());
    })?;
    if (chunks.len() as u64) < job.chunks() {
        return Ok(Outcome::Stopped { done: clock.done, total: job.points });
    }
    let table = Table {
        columns: job.columns.clone(),
        rows: chunks.into_values().flatten().collect(),
        provenance: job.provenance.clone(),
    };
    for (suffix, bytes) in [("csv", table.to_csv()), ("parquet", table.to_parquet()?)] {
        let path = folder.join(format!("{}.{suffix}", job.name));
        write_atomic(&path, &bytes).map_err(Failure::io(&path))?;
    }
    place.close()?;
    Ok(Outcome::Finished(table))
}

/// Measures how far a run is.
struct Clock {
    start: Instant,
    done: u64,
    resumed: u64,
    total: u64,
}

impl Clock {
    fn new(job: &Job, chunks: &BTreeMap<u64, Rows>) -> Self {
        let resumed = chunks.values().map(|rows| rows.len() as u64).sum();
        Self { start: Instant::now(), done: resumed, resumed, total: job.points }
    }

    fn reading(&self) -> Progress {
        let elapsed = self.start.elapsed();
        let left = left(elapsed, self.done - self.resumed, self.total - self.done);
        Progress { done: self.done, total: self.total, resumed: self.resumed, elapsed, left }
    }
}

/// Time for `ahead` points if `computed` points took `elapsed`.
pub(crate) fn left(elapsed: Duration, computed: u64, ahead: u64) -> Option<Duration> {
    if computed == 0 {
        return None;
    }
    Duration::try_from_secs_f64(elapsed.as_secs_f64() * (ahead as f64 / computed as f64)).ok()
}

/// What the threads of a run share.
struct Crew<'a> {
    job: &'a Job,
    place: &'a Folder,
    missing: &'a [u64],
    next: AtomicUsize,
    compute: Compute<'a>,
}

impl Crew<'_> {
    /// Works until nothing is missing, `stop` is raised or a chunk fails; hands over what was kept. Of
    /// several failures the one of the lowest chunk is told.
    fn work(
        &self,
        threads: usize,
        stop: &AtomicBool,
        mut hand_over: impl FnMut(u64, Rows),
    ) -> Result<(), Failure> {
        let threads = cores(threads);
        let failed = AtomicBool::new(false);
        let mut worst: Option<(u64, Failure)> = None;
        thread::scope(|scope| {
            // Should `hand_over` panic, the ear goes away and the threads end.
            let (tell, ear) = mpsc::channel();
            let mut refused: Option<io::Error> = None;
            let mut started = false;
            for _ in 0..threads.min(self.missing.len()) {
                let (tell, failed) = (tell.clone(), &failed);
                let work = move || {
                    while !stop.load(Ordering::Relaxed) && !failed.load(Ordering::Relaxed) {
                        let Some(&chunk) = self.missing.get(self.next.fetch_add(1, Ordering::Relaxed)) else {
                            break;
                        };
                        let result = self.one(chunk);
                        if result.is_err() {
                            failed.store(true, Ordering::Relaxed);
                        }
                        if tell.send((chunk, result)).is_err() {
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
            for (chunk, result) in ear {
                match result {
                    Ok(rows) => hand_over(chunk, rows),
                    Err(e) if worst.as_ref().is_none_or(|w| chunk < w.0) => worst = Some((chunk, e)),
                    Err(_) => {}
                }
            }
            // Fewer threads than asked for do the same work.
            match refused {
                Some(e) if !started => Err(Failure::Threads(e)),
                _ => Ok(()),
            }
        })?;
        worst.map_or(Ok(()), |w| Err(w.1))
    }

    /// Computes and keeps one chunk.
    fn one(&self, chunk: u64) -> Result<Rows, Failure> {
        let range = self.job.range(chunk);
        let rows = catch_unwind(AssertUnwindSafe(|| (self.compute)(range.clone())))
            .map_err(|panic| Failure::Panicked { chunk, message: panic_words(&*panic) })?;
        let due = range.end - range.start;
        if rows.len() as u64 != due {
            let what = format!("{} rows for {due} points", rows.len());
            return Err(Failure::Misfit { chunk, what });
        }
        if let Some(what) = misfit(&self.job.columns, &rows) {
            return Err(Failure::Misfit { chunk, what });
        }
        self.place.keep(chunk, &range, &rows)?;
        Ok(rows)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_left_is_that_of_this_run() {
        assert_eq!(left(Duration::from_secs(10), 0, 5), None);
        assert_eq!(left(Duration::from_secs(10), 20, 60), Some(Duration::from_secs(30)));
        assert_eq!(left(Duration::from_secs(10), 20, 0), Some(Duration::ZERO));
        assert_eq!(left(Duration::MAX, 1, u64::MAX), None);
    }
}

//! A process that runs is killed for real, at many moments; the next one goes on.

#![cfg(unix)]

mod common;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::Write;
use std::ops::Range;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::AtomicBool;
use std::thread::sleep;
use std::time::{Duration, Instant};

use calotte_runs::{Failure, Job, Outcome, Value, run};
use common::{Folder, expected, job, names, plain, rows};

/// Variables that make the test `worker` a process that runs: in which folder, and how long a chunk takes.
const FOLDER: &str = "CALOTTE_RUNS_WORKER";
const PAUSE: &str = "CALOTTE_RUNS_PAUSE_MS";

/// Threads of a worker.
const THREADS: usize = 3;

/// 150 points in 50 chunks.
fn long() -> Job {
    Job { points: 150, chunk: 3, ..job() }
}

/// Computes and notes the chunk in a file that only grows.
#[allow(clippy::unwrap_used, reason = "helper of tests, outside a #[test] function")]
fn logged(folder: &Path, range: Range<u64>) -> Vec<Vec<Value>> {
    let mut log = fs::OpenOptions::new().append(true).create(true).open(folder.join("log")).unwrap();
    log.write_all(format!("{}\n", range.start / long().chunk).as_bytes()).unwrap();
    rows(range)
}

/// Chunks that were computed since `from`, and where the file ends now.
fn computed(folder: &Path, from: usize) -> (Vec<u64>, usize) {
    let text = fs::read_to_string(folder.join("log")).unwrap_or_default();
    (text[from..].lines().filter_map(|l| l.parse().ok()).collect(), text.len())
}

/// Chunks that lie finished in the folder.
fn kept(folder: &Path) -> BTreeSet<u64> {
    let number = |n: String| n.strip_suffix(".chunk")?.parse().ok();
    names(&folder.join("grid.run")).into_iter().filter_map(number).collect()
}

/// The other process, when the variables say so; else a test of nothing.
#[test]
fn worker() {
    let Some(folder) = std::env::var_os(FOLDER) else { return };
    let pause = Duration::from_millis(std::env::var(PAUSE).unwrap().parse().unwrap());
    let folder = Path::new(&folder);
    let outcome = run(&long(), folder, THREADS, &AtomicBool::new(false), &mut |_| {}, &|range| {
        sleep(pause);
        logged(folder, range)
    });
    assert!(matches!(outcome, Ok(Outcome::Finished(_))), "{outcome:?}");
}

#[allow(clippy::unwrap_used, reason = "helper of tests, outside a #[test] function")]
fn spawn(folder: &Path, pause: u32) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "worker"])
        .env(FOLDER, folder)
        .env(PAUSE, pause.to_string())
        .stdout(Stdio::null())
        .spawn()
        .unwrap()
}

#[test]
fn no_finished_chunk_is_lost_or_computed_twice() {
    let folder = Folder::new();
    let (mut end, mut kills) = (0, 0);
    let mut times = BTreeMap::new();
    // How many more chunks each process may compute before it is killed.
    for more in [1, 4, 2, 7, 3, 5, 1, 6, usize::MAX] {
        let before = kept(&folder.0);
        let mut child = spawn(&folder.0, 3);
        let start = Instant::now();
        let ended = loop {
            if let Some(status) = child.try_wait().unwrap() {
                assert!(status.success());
                break true;
            }
            if computed(&folder.0, end).0.len() >= more {
                child.kill().unwrap();
                child.wait().unwrap();
                break false;
            }
            assert!(start.elapsed() < Duration::from_secs(120), "it hangs");
            sleep(Duration::from_micros(300));
        };
        let (chunks, at) = computed(&folder.0, end);
        end = at;
        assert!(chunks.iter().all(|c| !before.contains(c)), "{chunks:?} computed, {before:?} were finished");
        for c in chunks {
            *times.entry(c).or_insert(0) += 1;
        }
        if ended {
            break;
        }
        kills += 1;
        let after = kept(&folder.0);
        assert!(before.is_subset(&after), "{before:?} became {after:?}");
        assert!(after.iter().all(|c| times.contains_key(c)));
    }
    assert!(kills >= 5, "{kills} kills");
    assert_eq!(times.len(), 50);
    let again: usize = times.values().sum::<usize>() - 50;
    assert!(again <= kills * THREADS, "{again} chunks computed again after {kills} kills");
    assert_eq!((folder.read("grid.csv"), folder.read("grid.parquet")), expected(&long()));
    assert_eq!(folder.names(""), ["grid.csv", "grid.parquet", "log"]);
}

#[test]
fn a_kill_at_any_moment_of_a_short_run_can_be_resumed() {
    // Also while the folder is made, the tables are written and the folder is removed.
    let tables = expected(&long());
    let folder = Folder::new();
    let whole = Instant::now();
    assert!(spawn(&folder.0, 0).wait().unwrap().success());
    let whole = whole.elapsed();
    for round in 0..24 {
        let mut child = spawn(&folder.0, 0);
        sleep(whole * round / 20);
        child.kill().unwrap();
        child.wait().unwrap();
        // Tables are whole at any moment.
        assert_eq!((folder.read("grid.csv"), folder.read("grid.parquet")), tables, "round {round}");
        let before = kept(&folder.0);
        let ended = folder.path("grid.run/finished").exists();
        let (_, end) = computed(&folder.0, 0);
        let outcome = run(&long(), &folder.0, 2, &AtomicBool::new(false), &mut |_| {}, &|range| {
            logged(&folder.0, range)
        });
        assert!(matches!(outcome, Ok(Outcome::Finished(_))), "round {round}: {outcome:?}");
        let (chunks, _) = computed(&folder.0, end);
        assert!(ended || chunks.iter().all(|c| !before.contains(c)), "round {round}");
        assert_eq!((folder.read("grid.csv"), folder.read("grid.parquet")), tables, "round {round}");
        assert_eq!(folder.names(""), ["grid.csv", "grid.parquet", "log"], "round {round}");
    }
}

#[test]
fn another_process_at_work_is_respected() {
    let folder = Folder::new();
    let mut child = spawn(&folder.0, 200);
    let start = Instant::now();
    while kept(&folder.0).is_empty() {
        assert!(start.elapsed() < Duration::from_secs(60), "it hangs");
        sleep(Duration::from_millis(5));
    }
    let result = plain(&long(), &folder.0, 1);
    child.kill().unwrap();
    child.wait().unwrap();
    assert!(matches!(result, Err(Failure::Busy { .. })), "{result:?}");
    assert!(matches!(plain(&long(), &folder.0, 1), Ok(Outcome::Finished(_))));
}

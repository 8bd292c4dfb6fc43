//! A small job, folders that go away, and runs of the job in them.

#![allow(dead_code, reason = "each test binary uses a part of these helpers")]
#![allow(clippy::unwrap_used, reason = "helpers of tests, outside a #[test] function")]

use std::fs;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use calotte_runs::{Column, Failure, Job, Kind, Outcome, Value, run};

/// A folder that goes away with the value.
pub(crate) struct Folder(pub(crate) PathBuf);

impl Folder {
    pub(crate) fn new() -> Self {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let name = format!("calotte-runs-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
        let path = std::env::temp_dir().join(name);
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    pub(crate) fn read(&self, name: &str) -> Vec<u8> {
        fs::read(self.path(name)).unwrap()
    }

    /// Names in the folder or in one below it, sorted.
    pub(crate) fn names(&self, below: &str) -> Vec<String> {
        names(&self.path(below))
    }

    /// All files of the unfinished run and their bytes.
    pub(crate) fn files(&self) -> Vec<(String, Vec<u8>)> {
        self.names("grid.run").into_iter().map(|n| (n.clone(), self.read(&format!("grid.run/{n}")))).collect()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// Names in a folder, sorted; none if there is no such folder.
pub(crate) fn names(path: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(path) else { return Vec::new() };
    let mut names: Vec<String> =
        entries.flatten().map(|e| e.file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

fn column(name: &str, unit: &str, kind: Kind) -> Column {
    Column { name: name.into(), unit: unit.into(), about: format!("What {name} is."), kind }
}

/// 23 points in 5 chunks, the last of 3 points.
pub(crate) fn job() -> Job {
    Job {
        name: "grid".into(),
        identity: "version 1\ncase 7f3a".into(),
        columns: vec![
            column("thickness_m", "m", Kind::Number),
            column("waves", "1", Kind::Count),
            column("word", "", Kind::Text),
            column("stays", "", Kind::Flag),
        ],
        points: 23,
        chunk: 5,
        provenance: vec![("program".into(), "calotte 1".into()), ("case".into(), "two\nlines".into())],
    }
}

/// The row of a point: every kind of value, NaN and missing ones among them.
pub(crate) fn row(point: u64) -> Vec<Value> {
    let number = match point % 7 {
        3 => Value::Number(f64::NAN),
        5 => Value::Missing,
        _ => Value::Number(1.0 / (point as f64 - 4.5)),
    };
    let word = if point % 4 == 1 { Value::Missing } else { Value::Text(format!("nº {point}, \"#\"")) };
    let flag = if point % 5 == 2 { Value::Missing } else { Value::Flag(point.is_multiple_of(2)) };
    let count = if point.is_multiple_of(6) { Value::Missing } else { Value::Count(-(point as i64)) };
    vec![number, count, word, flag]
}

pub(crate) fn rows(range: Range<u64>) -> Vec<Vec<Value>> {
    range.map(row).collect()
}

/// Runs a job undisturbed.
pub(crate) fn plain(job: &Job, folder: &Path, threads: usize) -> Result<Outcome, Failure> {
    run(job, folder, threads, &AtomicBool::new(false), &mut |_| {}, &rows)
}

/// Runs until `chunks` chunks are finished, on one thread.
pub(crate) fn stopped_after(job: &Job, folder: &Path, chunks: u32) -> Result<Outcome, Failure> {
    let (stop, called) = (AtomicBool::new(chunks == 0), AtomicU32::new(0));
    run(job, folder, 1, &stop, &mut |_| {}, &|range| {
        if called.fetch_add(1, Ordering::Relaxed) + 1 == chunks {
            stop.store(true, Ordering::Relaxed);
        }
        rows(range)
    })
}

/// CSV and Parquet of the job, from a run of its own.
pub(crate) fn expected(job: &Job) -> (Vec<u8>, Vec<u8>) {
    let folder = Folder::new();
    plain(job, &folder.0, 2).unwrap();
    (folder.read("grid.csv"), folder.read("grid.parquet"))
}

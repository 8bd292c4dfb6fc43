//! Folders that are damaged, foreign or out of reach: said, and left as they are.

mod common;

use std::fs;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use calotte_runs::{Failure, Job, Kind, Outcome, run};
use common::{Folder, expected, job, plain, rows, stopped_after};

const CHUNK: &str = "grid.run/00000001.chunk";
const MANIFEST: &str = "grid.run/manifest";

/// A folder with three of five chunks.
fn unfinished() -> Folder {
    let folder = Folder::new();
    let outcome = stopped_after(&job(), &folder.0, 3);
    assert!(matches!(outcome, Ok(Outcome::Stopped { done: 15, .. })), "{outcome:?}");
    folder
}

/// The failure of a run that must compute nothing and leave everything as it is.
#[track_caller]
fn refused(job: &Job, folder: &Folder) -> Failure {
    let before = folder.files();
    let result = run(job, &folder.0, 2, &AtomicBool::new(false), &mut |_| {}, &|_| {
        panic!("nothing is to be computed")
    });
    assert_eq!(folder.files(), before);
    assert_eq!(folder.names(""), ["grid.run"]);
    result.err().unwrap_or_else(|| panic!("it ran"))
}

#[track_caller]
fn damaged(folder: &Folder, name: &str, words: &str) {
    let failure = refused(&job(), folder);
    match &failure {
        Failure::Damaged { path, what } => {
            assert_eq!(*path, folder.path(name));
            assert!(what.contains(words), "{what}");
        }
        other => panic!("{other:?}"),
    }
    assert!(failure.to_string().ends_with("delete this file to have it computed again"), "{failure}");
}

/// After the advice is followed, the run ends as if nothing had been.
#[track_caller]
#[allow(clippy::unwrap_used, reason = "helper of tests, outside a #[test] function")]
fn repaired(folder: &Folder, name: &str, computed: u32) {
    fs::remove_file(folder.path(name)).unwrap();
    let called = AtomicU32::new(0);
    run(&job(), &folder.0, 2, &AtomicBool::new(false), &mut |_| {}, &|range| {
        called.fetch_add(1, Ordering::Relaxed);
        rows(range)
    })
    .unwrap();
    assert_eq!(called.into_inner(), computed);
    assert_eq!((folder.read("grid.csv"), folder.read("grid.parquet")), expected(&job()));
    assert_eq!(folder.names(""), ["grid.csv", "grid.parquet"]);
}

#[test]
fn a_truncated_chunk() {
    for keep in [0, 4, 30, 60] {
        let folder = unfinished();
        let bytes = folder.read(CHUNK);
        fs::write(folder.path(CHUNK), &bytes[..keep]).unwrap();
        damaged(&folder, CHUNK, "it is truncated");
        repaired(&folder, CHUNK, 3);
    }
}

#[test]
fn a_chunk_with_a_wrong_bit() {
    let folder = unfinished();
    let mut bytes = folder.read(CHUNK);
    let middle = bytes.len() / 2;
    bytes[middle] ^= 0x10;
    fs::write(folder.path(CHUNK), &bytes).unwrap();
    damaged(&folder, CHUNK, "its checksum is wrong");
    repaired(&folder, CHUNK, 3);
}

#[test]
fn a_chunk_under_another_name_or_one_too_many() {
    let folder = unfinished();
    fs::copy(folder.path(CHUNK), folder.path("grid.run/00000004.chunk")).unwrap();
    damaged(&folder, "grid.run/00000004.chunk", "other points");
    repaired(&folder, "grid.run/00000004.chunk", 2);
    let folder = unfinished();
    fs::copy(folder.path(CHUNK), folder.path("grid.run/00000009.chunk")).unwrap();
    damaged(&folder, "grid.run/00000009.chunk", "");
    repaired(&folder, "grid.run/00000009.chunk", 2);
}

#[test]
fn a_garbage_or_truncated_manifest_costs_no_chunk() {
    let folder = unfinished();
    let whole = folder.read(MANIFEST);
    for (bytes, words) in [
        (b"\xff\xfe\x00".as_slice(), "not text"),
        (b"garbage", "no manifest"),
        (b"", "no manifest"),
        (&whole[..whole.len() - 1], "checksum"),
        (&whole[..whole.len() / 2], "truncated"),
    ] {
        fs::write(folder.path(MANIFEST), bytes).unwrap();
        damaged(&folder, MANIFEST, words);
    }
    repaired(&folder, MANIFEST, 2);
}

#[test]
fn another_run_is_left_alone_and_named() {
    let folder = unfinished();
    type Change = fn(&mut Job);
    let changes: [(Change, &str); 4] = [
        (
            |j| j.identity = "version 2\ncase 7f3a".into(),
            "`identity: version 1` where this run has `identity: v",
        ),
        (|j| j.points = 24, "`points: 23` where this run has `points: 24`"),
        (|j| j.chunk = 6, "`points per chunk: 5`"),
        (|j| j.columns[3].kind = Kind::Text, "stays\t\tflag"),
    ];
    for (change, words) in changes {
        let mut other = job();
        change(&mut other);
        let failure = refused(&other, &folder).to_string();
        assert!(failure.contains(words) && failure.contains("left as it is"), "{failure}");
    }
    let newer = String::from_utf8(folder.read(MANIFEST)).unwrap().replacen("format 1", "format 7", 1);
    fs::write(folder.path(MANIFEST), newer).unwrap();
    let failure = refused(&job(), &folder);
    assert!(matches!(&failure, Failure::Foreign { what, .. } if what.contains("format is 7")), "{failure}");
}

#[test]
fn chunks_of_another_run_without_a_manifest_are_left_alone() {
    let folder = unfinished();
    fs::remove_file(folder.path(MANIFEST)).unwrap();
    let mut other = job();
    other.identity = "version 2".into();
    let failure = refused(&other, &folder);
    assert!(matches!(failure, Failure::Foreign { .. }), "{failure}");
}

#[test]
fn leftovers_of_interrupted_writes_are_cleaned() {
    let folder = unfinished();
    for name in ["00000003.chunk.part", "00000001.chunk.part", "manifest.part"] {
        fs::write(folder.path("grid.run").join(name), "half").unwrap();
    }
    fs::write(folder.path("grid.csv.part"), "half").unwrap();
    plain(&job(), &folder.0, 2).unwrap();
    assert_eq!((folder.read("grid.csv"), folder.read("grid.parquet")), expected(&job()));
    assert_eq!(folder.names(""), ["grid.csv", "grid.parquet"]);
}

#[test]
fn files_that_are_not_ours_stay() {
    let folder = unfinished();
    for name in ["notes.txt", "1.chunk", "x.part"] {
        fs::write(folder.path("grid.run").join(name), "mine").unwrap();
    }
    plain(&job(), &folder.0, 2).unwrap();
    assert_eq!(folder.names(""), ["grid.csv", "grid.parquet", "grid.run"]);
    assert_eq!(folder.names("grid.run"), ["1.chunk", "notes.txt", "x.part"]);
    plain(&job(), &folder.0, 2).unwrap();
    assert_eq!(folder.names("grid.run"), ["1.chunk", "notes.txt", "x.part"]);
}

#[test]
fn a_kill_while_the_folder_is_removed_leaves_debris_only() {
    // Tables written, manifest renamed, some chunks gone; the next run may even be another one.
    let folder = unfinished();
    fs::rename(folder.path(MANIFEST), folder.path("grid.run/finished")).unwrap();
    let mut other = job();
    other.identity = "version 2".into();
    plain(&other, &folder.0, 2).unwrap();
    assert_eq!(folder.names(""), ["grid.csv", "grid.parquet"]);
}

#[test]
fn folders_out_of_reach() {
    let folder = Folder::new();
    fs::write(folder.path("file"), "a file").unwrap();
    for target in ["file", "file/below"] {
        let target = folder.path(target);
        match plain(&job(), &target, 1) {
            Err(Failure::Io { path, .. }) => assert_eq!(path, target),
            other => panic!("{other:?}"),
        }
    }
    fs::write(folder.path("grid.run"), "a file").unwrap();
    let result = plain(&job(), &folder.0, 1);
    assert!(matches!(result, Err(Failure::Io { .. })), "{result:?}");
    assert_eq!(folder.read("grid.run"), b"a file");
}

#[test]
fn tables_that_cannot_be_written_cost_no_chunk() {
    let folder = Folder::new();
    fs::create_dir(folder.path("grid.csv")).unwrap();
    match plain(&job(), &folder.0, 2) {
        Err(Failure::Io { path, .. }) => assert_eq!(path, folder.path("grid.csv")),
        other => panic!("{other:?}"),
    }
    fs::remove_dir(folder.path("grid.csv")).unwrap();
    let result = run(&job(), &folder.0, 2, &AtomicBool::new(false), &mut |_| {}, &|_| panic!("all is there"));
    assert!(matches!(result, Ok(Outcome::Finished(_))), "{result:?}");
    assert_eq!(folder.read("grid.csv"), expected(&job()).0);
}

//! Shards: same bytes, damage shown, stopped and gone on with, a disk that refuses.

mod common;

use std::fs;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use calotte_runs::{Column, Failure, Job, Kind, Shard, Shards, Table, Value};
use common::Folder;

fn job(points: u64, chunk: u64) -> Job {
    let column =
        |name: &str, kind| Column { name: name.into(), unit: "m".into(), about: "What.".into(), kind };
    Job {
        name: "chunk".into(),
        identity: String::new(),
        columns: vec![
            column("point", Kind::Count),
            column("a_m", Kind::Number),
            column("word", Kind::Text),
            column("yes", Kind::Flag),
        ],
        points,
        chunk,
        provenance: vec![("plan_digest".into(), "abc".into()), ("program".into(), "p 1".into())],
    }
}

fn row(k: u64) -> Vec<Value> {
    match k % 5 {
        3 => vec![Value::Count(k as i64), Value::Missing, Value::Text(format!("no {k}")), Value::Missing],
        _ => vec![
            Value::Count(k as i64),
            Value::Number(1.0 / k as f64),
            Value::Missing,
            Value::Flag(k.is_multiple_of(2)),
        ],
    }
}

fn go(folder: &Folder, job: &Job, chunks: &[u64], threads: usize) -> Result<bool, Failure> {
    let beside = folder.path("_b");
    let shards = Shards { job, folder: &folder.0, beside: &beside };
    shards.run(chunks, 0, threads, &AtomicBool::new(false), &mut |_| {}, &row)
}

#[test]
fn threads_and_ways_do_not_show() {
    let (one, many) = (Folder::new(), Folder::new());
    let job = job(23, 5);
    assert!(go(&one, &job, &[0, 1, 2, 3, 4], 1).unwrap());
    assert!(go(&many, &job, &[1, 4], 3).unwrap() && go(&many, &job, &[0, 2, 3], 2).unwrap());
    for k in 0..5 {
        let name = format!("chunk-{k:06}.parquet");
        assert_eq!(one.read(&name), many.read(&name), "{k}");
    }
    // Nothing is left beside.
    assert_eq!(one.names("_b/tmp"), Vec::<String>::new());
    let (folder, beside) = (one.0.clone(), one.path("_b"));
    let shards = Shards { job: &job, folder: &folder, beside: &beside };
    for chunk in 0..5 {
        let Shard::Whole(whole) = shards.look(chunk).unwrap() else { panic!("{chunk}") };
        assert_eq!(whole.table.rows, shards.range(chunk).map(row).collect::<Vec<_>>());
        assert_eq!(whole.bytes, one.read(&shards.name(chunk)).len() as u64);
    }
    assert_eq!(shards.listed().unwrap(), (vec![0, 1, 2, 3, 4], vec![]));
    fs::write(one.path("chunk-000009.parquet"), b"").unwrap();
    assert_eq!(shards.listed().unwrap().1, ["chunk-000009.parquet"]);
}

/// Any flipped byte of a shard shows, and a shard cut anywhere.
#[test]
fn damage_shows() {
    let folder = Folder::new();
    let job = job(7, 7);
    assert!(go(&folder, &job, &[0], 1).unwrap());
    let (path, beside) = (folder.path("chunk-000000.parquet"), folder.path("_b"));
    let whole = fs::read(&path).unwrap();
    let shards = Shards { job: &job, folder: &folder.0, beside: &beside };
    for at in (0..whole.len()).step_by(3) {
        let mut bytes = whole.clone();
        bytes[at] ^= 0x10;
        fs::write(&path, &bytes).unwrap();
        assert!(!matches!(shards.look(0).unwrap(), Shard::Whole(_)), "byte {at}");
        fs::write(&path, &whole[..at]).unwrap();
        assert!(matches!(shards.look(0).unwrap(), Shard::Damaged(_)), "cut at {at}");
    }
    let aside = shards.set_aside(0).unwrap();
    assert!(aside.starts_with(&beside) && shards.look(0).unwrap() == Shard::Missing);
    fs::write(&path, &whole).unwrap();
    assert_ne!(shards.set_aside(0).unwrap(), aside, "nothing that was put aside is replaced");
    fs::write(&path, &whole).unwrap();
    let mut other = job.clone();
    other.provenance[0].1 = "def".into();
    match (Shards { job: &other, ..shards }).look(0).unwrap() {
        Shard::Foreign(what) => assert!(what.contains("plan_digest") && what.contains("abc"), "{what}"),
        shard => panic!("{shard:?}"),
    }
}

#[test]
fn stopped_between_points_and_gone_on_with() {
    let folder = Folder::new();
    let job = job(20, 5);
    let (beside, stop, asked) = (folder.path("_b"), AtomicBool::new(false), AtomicU64::new(0));
    let shards = Shards { job: &job, folder: &folder.0, beside: &beside };
    let ended = shards.run(&[0, 1, 2, 3], 0, 2, &stop, &mut |_| {}, &|k| {
        if asked.fetch_add(1, Ordering::Relaxed) == 12 {
            stop.store(true, Ordering::Relaxed);
        }
        row(k)
    });
    assert!(!ended.unwrap());
    let there = shards.listed().unwrap().0;
    assert!(!there.is_empty() && there.len() < 4, "{there:?}");
    let missing: Vec<u64> = (0..4).filter(|c| !there.contains(c)).collect();
    let mut last = None;
    let mut told = |p: calotte_runs::Progress| last = Some((p.done, p.total));
    let done = 5 * there.len() as u64;
    assert!(shards.run(&missing, done, 2, &AtomicBool::new(false), &mut told, &row).unwrap());
    assert_eq!(last, Some((20, 20)));
    assert!((0..4).all(|c| matches!(shards.look(c).unwrap(), Shard::Whole(_))));
}

/// Where the disk refuses, the failure says where; what was written stays, and leftovers of other writers are no hindrance.
#[test]
fn a_disk_that_refuses() {
    let folder = Folder::new();
    let job = job(10, 5);
    assert!(go(&folder, &job, &[0], 1).unwrap());
    let kept = folder.read("chunk-000000.parquet");
    // A folder has the name: the rename fails.
    fs::create_dir(folder.path("chunk-000001.parquet")).unwrap();
    match go(&folder, &job, &[1], 2) {
        Err(Failure::Io { path, .. }) => assert!(path.ends_with("chunk-000001.parquet"), "{path:?}"),
        other => panic!("{other:?}"),
    }
    assert_eq!(folder.names("_b/tmp"), Vec::<String>::new());
    assert_eq!(folder.read("chunk-000000.parquet"), kept);
    fs::remove_dir(folder.path("chunk-000001.parquet")).unwrap();
    fs::write(folder.path("_b/tmp/chunk-000001.parquet.0.tmp"), b"half").unwrap();
    assert!(go(&folder, &job, &[1], 2).unwrap());
    let beside = folder.path("_b");
    (Shards { job: &job, folder: &folder.0, beside: &beside }).tidy().unwrap();
    assert!(!beside.join("tmp").exists());
    // Rows that do not fit.
    let mut narrow = job.clone();
    narrow.columns.pop();
    assert!(matches!(go(&folder, &narrow, &[0], 1), Err(Failure::Misfit { .. })));
    assert!(Table::from_parquet(&folder.path("none")).is_err());
}

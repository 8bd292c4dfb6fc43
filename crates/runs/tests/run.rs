//! Runs that go well, are stopped, or fail in the computation.

mod common;

use std::fs;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

use calotte_runs::{Failure, Outcome, Progress, Table, Value, run, write_atomic};
use common::{Folder, expected, job, plain, rows, stopped_after};

#[test]
fn the_same_bytes_for_any_number_of_threads() {
    let (csv, parquet) = expected(&job());
    for threads in [0, 1, 2, 5, 50] {
        let folder = Folder::new();
        let Outcome::Finished(table) = plain(&job(), &folder.path("made/for/it"), threads).unwrap() else {
            panic!("not finished");
        };
        assert_eq!(folder.names("made/for/it"), ["grid.csv", "grid.parquet"]);
        assert_eq!(folder.read("made/for/it/grid.csv"), csv, "{threads} threads");
        assert_eq!(folder.read("made/for/it/grid.parquet"), parquet, "{threads} threads");
        assert_eq!(table.to_csv(), csv);
    }
    let text = String::from_utf8(csv).unwrap();
    let head = "# program: calotte 1\n# case: two\\nlines\n# column thickness_m [m]: What thickness_m is.\n";
    assert!(text.starts_with(head), "{text}");
    assert_eq!(text.lines().count(), 2 + 4 + 1 + 23);
    let all = Table { columns: job().columns, rows: rows(0..23), provenance: job().provenance };
    assert_eq!(text.as_bytes(), all.to_csv());
}

#[test]
fn a_stopped_run_resumes_and_computes_what_is_missing() {
    let (csv, parquet) = expected(&job());
    for (chunks, done) in [(0, 0), (1, 5), (3, 15), (4, 20)] {
        let folder = Folder::new();
        let outcome = stopped_after(&job(), &folder.0, chunks).unwrap();
        assert_eq!(outcome, Outcome::Stopped { done, total: 23 });
        assert_eq!(folder.names(""), ["grid.run"]);
        let (called, told) = (Mutex::new(Vec::new()), &mut Vec::new());
        let outcome = run(&job(), &folder.0, 2, &AtomicBool::new(false), &mut |p| told.push(p), &|range| {
            called.lock().unwrap().push(range.start);
            rows(range)
        });
        assert!(matches!(outcome, Ok(Outcome::Finished(_))), "{outcome:?}");
        let mut called = called.into_inner().unwrap();
        called.sort_unstable();
        assert_eq!(called, (done..23).step_by(5).collect::<Vec<_>>());
        assert_eq!((folder.read("grid.csv"), folder.read("grid.parquet")), (csv.clone(), parquet.clone()));
        assert_eq!(folder.names(""), ["grid.csv", "grid.parquet"]);
        progress(told, done);
    }
}

fn progress(told: &[Progress], resumed: u64) {
    assert_eq!((told[0].done, told[0].left), (resumed, None));
    assert!(told.iter().all(|p| p.total == 23 && p.resumed == resumed));
    assert!(told.windows(2).all(|w| w[0].done < w[1].done && w[0].elapsed <= w[1].elapsed));
    assert!(told[1..].iter().all(|p| p.left.is_some()));
    let last = told[told.len() - 1];
    assert_eq!((last.done, last.left), (23, Some(std::time::Duration::ZERO)));
}

#[test]
fn a_run_stopped_in_its_last_chunk_is_finished() {
    let folder = Folder::new();
    assert!(matches!(stopped_after(&job(), &folder.0, 5), Ok(Outcome::Finished(_))));
}

#[test]
fn tables_of_another_run_are_replaced() {
    let folder = Folder::new();
    fs::write(folder.path("grid.csv"), "# program: another\nx\n1\n").unwrap();
    plain(&job(), &folder.0, 2).unwrap();
    plain(&job(), &folder.0, 2).unwrap();
    assert_eq!((folder.read("grid.csv"), folder.read("grid.parquet")), expected(&job()));
}

#[test]
fn a_run_of_no_points_is_a_table_of_no_rows() {
    let mut job = job();
    job.points = 0;
    let folder = Folder::new();
    let Outcome::Finished(table) = plain(&job, &folder.0, 3).unwrap() else { panic!("not finished") };
    assert!(table.rows.is_empty());
    assert_eq!(folder.names(""), ["grid.csv", "grid.parquet"]);
}

#[test]
fn a_panic_is_a_failure_that_keeps_the_other_chunks() {
    let folder = Folder::new();
    let result = run(&job(), &folder.0, 1, &AtomicBool::new(false), &mut |_| {}, &|range| {
        assert!(range.start != 10, "no luck with {}", range.start);
        rows(range)
    });
    match result {
        Err(Failure::Panicked { chunk: 2, ref message }) => assert_eq!(message, "no luck with 10"),
        other => panic!("{other:?}"),
    }
    assert_eq!(folder.names("grid.run"), ["00000000.chunk", "00000001.chunk", "lock", "manifest"]);
    // The next run needs no repair.
    plain(&job(), &folder.0, 2).unwrap();
    assert_eq!(folder.read("grid.csv"), expected(&job()).0);
}

#[test]
fn a_panic_on_many_threads_ends_the_run() {
    let folder = Folder::new();
    let result = run(&job(), &folder.0, 4, &AtomicBool::new(false), &mut |_| {}, &|_| panic!("always"));
    assert!(matches!(result, Err(Failure::Panicked { .. })), "{result:?}");
    assert_eq!(folder.names("grid.run"), ["lock", "manifest"]);
}

#[test]
fn a_panic_of_the_progress_leaves_the_run_resumable() {
    let folder = Folder::new();
    let caught = std::panic::catch_unwind(|| {
        let mut told = 0;
        let stop = AtomicBool::new(false);
        let mut tell = |_: Progress| {
            told += 1;
            assert!(told < 3, "enough");
        };
        let _ = run(&job(), &folder.0, 2, &stop, &mut tell, &rows);
    });
    assert!(caught.is_err());
    plain(&job(), &folder.0, 2).unwrap();
    assert_eq!(folder.read("grid.csv"), expected(&job()).0);
}

#[test]
fn rows_that_do_not_fit_are_refused() {
    type Bad = fn(&mut Vec<Vec<Value>>);
    let bad: [(Bad, &str); 3] = [
        (|rows| drop(rows.pop()), "4 rows for 5 points"),
        (|rows| drop(rows[1].pop()), "row 1 has 3 values for 4 columns"),
        (|rows| rows[3][1] = Value::Number(1.0), "row 3 has a number in column `waves` of kind count"),
    ];
    for (spoil, words) in bad {
        let folder = Folder::new();
        let result = run(&job(), &folder.0, 1, &AtomicBool::new(false), &mut |_| {}, &|range| {
            let mut rows = rows(range);
            spoil(&mut rows);
            rows
        });
        match result {
            Err(Failure::Misfit { chunk: 0, what }) => assert_eq!(what, words),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn jobs_that_make_no_sense_are_refused_before_anything_is_made() {
    type Bad = fn(&mut calotte_runs::Job);
    let bad: [(Bad, &str); 7] = [
        (|j| j.name = "a/b".into(), "`a/b` is no stem"),
        (|j| j.name = "..".into(), "`..` is no stem"),
        (|j| j.name.clear(), "`` is no stem"),
        (|j| j.chunk = 0, "chunks hold no points"),
        (|j| j.columns.clear(), "no columns"),
        (|j| j.columns[0].name.clear(), "has no name"),
        (|j| j.columns[0].name = "waves".into(), "two columns are named `waves`"),
    ];
    for (spoil, words) in bad {
        let folder = Folder::new();
        let mut job = job();
        spoil(&mut job);
        match plain(&job, &folder.0, 1) {
            Err(Failure::BadJob(what)) => assert!(what.contains(words), "{what}"),
            other => panic!("{other:?}"),
        }
        assert!(folder.names("").is_empty());
    }
}

#[test]
fn a_run_within_the_run_finds_it_busy() {
    let folder = Folder::new();
    let busy = AtomicBool::new(false);
    run(&job(), &folder.0, 1, &AtomicBool::new(false), &mut |_| {}, &|range| {
        let inner = plain(&job(), &folder.0, 1);
        busy.store(matches!(inner, Err(Failure::Busy { .. })), Ordering::Relaxed);
        rows(range)
    })
    .unwrap();
    assert!(busy.into_inner());
    assert_eq!(folder.read("grid.csv"), expected(&job()).0);
}

#[test]
fn atomic_writes_replace_and_leave_nothing_behind() {
    let folder = Folder::new();
    let path = folder.path("a.txt");
    write_atomic(&path, b"one").unwrap();
    write_atomic(&path, b"two").unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"two");
    fs::create_dir(folder.path("b.txt")).unwrap();
    write_atomic(&folder.path("b.txt"), b"a folder has the name").unwrap_err();
    assert_eq!(folder.names(""), ["a.txt", "b.txt"]);
}

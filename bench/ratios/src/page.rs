//! What a page waits for: a verdict with its shapes and the threshold depth, without the branch, over the worked cases whose verdict
//! is one of staying or returning; and what shapes cost beside it.

use std::path::{Path, PathBuf};
use std::time::Instant;

use calotte_answers::{Detail, film, states::lists_states, verdict, verdict_with_film};
use calotte_specimen::{Case, new_template, read_case};

/// The worked cases and templates in order of their names, those of lines and arcs left out.
fn cases() -> Vec<(String, Case)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../cases");
    let mut folders: Vec<PathBuf> =
        std::fs::read_dir(folder).into_iter().flatten().flatten().map(|e| e.path()).collect();
    folders.sort();
    let worked = folders.into_iter().filter_map(|folder| {
        let text = std::fs::read(folder.join("case.toml")).ok()?;
        let case = read_case(&text, &|file| std::fs::read(folder.join(file))).0?;
        Some((folder.file_name()?.to_string_lossy().into_owned(), case))
    });
    let new = ["cap", "disc"].into_iter().filter_map(|kind| {
        let none = |_: &str| Err(std::io::ErrorKind::NotFound.into());
        Some((format!("new {kind}"), read_case(new_template(kind)?.as_bytes(), &none).0?))
    });
    worked.chain(new).filter(|c| !lists_states(c.1.part())).collect()
}

/// Seconds of each of `count` runs, rising.
fn runs<R>(count: usize, mut f: impl FnMut() -> R) -> Vec<f64> {
    let mut all: Vec<f64> = (0..count)
        .map(|_| {
            let start = Instant::now();
            std::hint::black_box(f());
            start.elapsed().as_secs_f64()
        })
        .collect();
    all.sort_by(f64::total_cmp);
    all
}

fn at(sorted: &[f64], share: f64) -> f64 {
    sorted[((sorted.len() - 1) as f64 * share).round() as usize] * 1e3
}

/// Prints milliseconds; of the cases whose names hold `wanted` (all, when it is empty).
pub(crate) fn report(count: usize, wanted: &str) {
    let detail = Detail { branch: false, depth: true };
    println!(
        "\nms: verdict with depth and film: median, p95 | verdict alone: median | natural shape: median"
    );
    let (mut all, mut medians) = (Vec::new(), Vec::new());
    for (name, case) in cases().into_iter().filter(|c| c.0.contains(wanted)) {
        let with = runs(count, || verdict_with_film(&case, detail));
        let plain = runs(count, || verdict(&case, detail));
        let shape = runs(count, || film::natural(case.part()));
        let work = verdict(&case, detail).evidence.work;
        println!(
            "{name:<24} {:>7.2} {:>7.2} | {:>7.2} | {:>7.3}   ({} assemblies, {} factorisations)",
            at(&with, 0.5),
            at(&with, 0.95),
            at(&plain, 0.5),
            at(&shape, 0.5),
            work.assemblies,
            work.factorisations
        );
        medians.push(at(&with, 0.5) / 1e3);
        all.extend(with);
    }
    if all.is_empty() {
        println!("no case is called like \"{wanted}\"");
        return;
    }
    for (what, times) in [("all runs", &mut all), ("medians of the cases", &mut medians)] {
        times.sort_by(f64::total_cmp);
        println!("{what}: p50 {:.2}, p95 {:.2}, most {:.2}", at(times, 0.5), at(times, 0.95), at(times, 1.0));
    }
}

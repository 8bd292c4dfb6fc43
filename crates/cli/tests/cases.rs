//! The worked cases: golden output, verdicts, figures; what the other commands write.

mod common;

use std::fs;

use common::{CASES, Folder, GOOD, HEATS, MAP, POKES, RELEASES, Ran, STATES, root, text};
use serde_json::Value;

/// Compares with the output kept, or keeps it anew.
#[allow(clippy::unwrap_used, reason = "a helper of tests")]
#[track_caller]
fn keep_or_compare(path: &str, out: &str) {
    if std::env::var_os("UPDATE_CASES").is_some() {
        fs::write(root().join(path), out).unwrap();
    }
    assert_eq!(text(path), out, "{path}: run with UPDATE_CASES=1");
}

/// Every case and how its verdict begins.
fn all_cases() -> impl Iterator<Item = (&'static str, &'static str)> {
    CASES.into_iter().chain(STATES)
}

/// `UPDATE_CASES=1` writes the outputs anew; look at what changed.
#[test]
fn worked_cases_print_what_is_kept() {
    for (name, verdict) in all_cases() {
        let case = format!("cases/{name}/case.toml");
        let ran = Ran::of(&root(), &["verdict", &case]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{name}");
        assert!(ran.out.starts_with(&format!("{verdict}: ")), "{name}: {}", ran.out);
        assert!(ran.out.contains("invented"), "{name} does not say that it is invented");
        keep_or_compare(&format!("cases/{name}/answer.txt"), &ran.out);
    }
    let mut folders: Vec<String> = fs::read_dir(root().join("cases"))
        .unwrap()
        .map(|e| e.unwrap())
        .filter(|e| e.path().join("case.toml").exists())
        .map(|e| e.file_name().into_string().unwrap())
        .collect();
    folders.sort();
    let mut listed: Vec<String> = all_cases().map(|c| c.0.to_owned()).collect();
    listed.sort();
    assert_eq!(folders, listed, "every case is listed here");
}

#[test]
fn worked_logbook_prints_what_is_kept() {
    let ran = Ran::of(&root(), &["logbook", "cases/logbook/logbook.toml", "--next"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    keep_or_compare("cases/logbook/logbook.txt", &ran.out);
}

/// The worked question for sizes, asked by its table alone; its solution, asked like any other case, does what is wished.
#[test]
fn worked_sizes_print_what_is_kept() {
    let folder = Folder::new();
    let made = folder.0.to_str().unwrap();
    let ran = Ran::of(&root(), &["size", "cases/sized-stopper/case.toml"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    keep_or_compare("cases/sized-stopper/size.txt", &ran.out);
    let written = Ran::of(&root(), &["size", "cases/sized-stopper/case.toml", "--out", made]);
    assert_eq!(written.code, 0, "{}", written.err);
    let solution = folder.0.join("solution-1.toml");
    let solution = solution.to_str().unwrap();
    let v = common::answer(&root(), &["verdict", solution, "--json"]);
    // e^(−0.12).
    let ratio = v["margin"]["thickness_ratio"].as_f64().unwrap();
    assert!((ratio / 0.886_920_437 - 1.0).abs() < 1e-4, "{ratio}");
    // Closed form (Archimedes): a cap's mid-surface is 2π times radius times rise.
    let text = text(solution);
    let case = calotte_specimen::read_case(text.as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into())).0;
    let case = case.unwrap();
    let of = |key: &str| case.inputs().iter().find(|i| i.key == key).unwrap().value;
    let m = &case.part().meridian;
    let rise = m.at(m.length()).z - m.at(0.0).z;
    let area = 2.0 * std::f64::consts::PI * of("shape.radius") * rise;
    let mass = of("material.density") * of("wall.thickness") * area;
    assert!((mass / 3.6e-3 - 1.0).abs() < 1e-4, "{mass}");
}

#[test]
fn worked_pokes_print_what_is_kept() {
    for (name, _) in all_cases() {
        let loaded = text(&format!("cases/{name}/case.toml")).contains("\n[load]\n");
        assert_eq!(loaded, POKES.iter().any(|p| p.0 == name), "{name}: cases with a load are poked here");
    }
    for (name, outcome) in POKES {
        let ran = Ran::of(&root(), &["poke", &format!("cases/{name}/case.toml")]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{name}: {}", ran.out);
        assert!(ran.out.starts_with(&format!("{outcome}: ")), "{name}: {}", ran.out);
        keep_or_compare(&format!("cases/{name}/poke.txt"), &ran.out);
    }
}

#[test]
fn worked_heats_print_what_is_kept() {
    for (name, _) in all_cases() {
        let heated = text(&format!("cases/{name}/case.toml")).contains("\n[heat]\n");
        assert_eq!(heated, HEATS.iter().any(|h| h.0 == name), "{name}: cases with heat are heated here");
    }
    for (name, outcome) in HEATS {
        let ran = Ran::of(&root(), &["heat", &format!("cases/{name}/case.toml")]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{name}: {}", ran.out);
        assert!(ran.out.starts_with(&format!("{outcome}: ")), "{name}: {}", ran.out);
        keep_or_compare(&format!("cases/{name}/heat.txt"), &ran.out);
    }
}

/// What the page of a case shows is in the answers kept beside it, and it says that its numbers are invented.
#[test]
fn pages_of_cases_show_kept_answers() {
    let mut pages = 0;
    for (name, _) in all_cases() {
        let folder = root().join("cases").join(name);
        let Ok(page) = fs::read_to_string(folder.join("README.md")) else { continue };
        pages += 1;
        assert!(page.contains("Every number is invented."), "{name}");
        let kept: String = ["answer", "poke", "heat", "release"]
            .iter()
            .filter_map(|k| fs::read_to_string(folder.join(format!("{k}.txt"))).ok())
            .collect();
        let shown: Vec<&str> =
            page.split("```text\n").skip(1).flat_map(|b| b.split("\n```").next().unwrap().lines()).collect();
        assert!(shown.len() > 2, "{name}: nothing is shown");
        for line in shown.into_iter().filter(|l| *l != "...") {
            assert!(kept.lines().any(|k| k == line), "{name}: this is not in its answers: {line}");
        }
        let commands: Vec<&str> = page.lines().filter(|l| l.starts_with("cargo run")).collect();
        assert!(
            commands.iter().all(|c| c.contains(&format!(" cases/{name}/case.toml"))),
            "{name}: {commands:?}"
        );
    }
    assert_eq!(pages, 5);
}

#[test]
fn worked_releases_print_what_is_kept() {
    for (name, _) in all_cases() {
        let case = text(&format!("cases/{name}/case.toml"));
        let moves = ["memory", "hold", "surroundings"].iter().any(|t| case.contains(&format!("\n[{t}]\n")));
        assert_eq!(
            moves,
            RELEASES.iter().any(|p| p.0 == name),
            "{name}: cases that are let go are released here"
        );
    }
    for (name, outcome) in RELEASES {
        let ran = Ran::of(&root(), &["release", &format!("cases/{name}/case.toml")]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{name}: {}", ran.out);
        assert!(ran.out.starts_with(&format!("{outcome}: ")), "{name}: {}", ran.out);
        keep_or_compare(&format!("cases/{name}/release.txt"), &ran.out);
    }
}

#[test]
fn the_worked_map_prints_what_is_kept() {
    let (name, options) = MAP;
    let case = format!("cases/{name}/case.toml");
    let arguments: Vec<&str> = ["map", &case].iter().chain(options).copied().collect();
    let ran = Ran::of(&root(), &arguments);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    keep_or_compare(&format!("cases/{name}/map.txt"), &ran.out);
}

#[test]
fn a_poke_writes_figures_path_and_answer() {
    let folder = Folder::new();
    let made = folder.0.to_str().unwrap();
    let ran = Ran::of(&root(), &["poke", "cases/key-dome/case.toml", "--out", made]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let names = folder.names();
    for name in ["answer.json", "path.csv", "path.parquet"] {
        assert!(names.iter().any(|n| n == name), "no {name} in {names:?}");
    }
    let svgs = names.iter().filter(|n| n.ends_with(".svg")).count();
    let pngs = names.iter().filter(|n| n.ends_with(".png")).count();
    assert!(svgs > 0 && svgs == pngs, "{names:?}");
    let json = fs::read_to_string(folder.0.join("answer.json")).unwrap();
    let printed = Ran::of(&root(), &["poke", "cases/key-dome/case.toml", "--json"]);
    assert_eq!(printed.out, json.clone() + "\n", "printed and written differ");
    let rows = common::parse(&json)["path"].as_array().unwrap().len();
    let csv = fs::read_to_string(folder.0.join("path.csv")).unwrap();
    assert_eq!(csv.lines().filter(|l| !l.starts_with('#')).count(), rows + 1);
    assert_eq!(&fs::read(folder.0.join("path.parquet")).unwrap()[..4], b"PAR1");
}

/// Rows of a CSV table after its comments, the line of names first.
fn rows(csv: &str) -> Vec<Vec<&str>> {
    csv.lines().filter(|l| !l.starts_with('#')).map(|l| l.split(',').collect()).collect()
}

#[test]
fn a_release_writes_figures_tables_and_a_film() {
    let folder = Folder::new();
    let made = folder.0.to_str().unwrap();
    let case = "cases/pet-lid-clicks/case.toml";
    let ran = Ran::of(&root(), &["release", case, "--out", made, "--film"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    // Without ffmpeg there is no MP4, and that is said.
    assert!(ran.err.is_empty() || ran.err.starts_with("no MP4: "), "{}", ran.err);
    let names = folder.names();
    let mut expected = vec!["answer.json", "history.csv", "history.parquet", "release.apng", "release.gif"];
    if ran.err.is_empty() {
        expected.push("release.mp4");
    }
    for figure in ["ledger", "motion", "sideways", "strobe"] {
        let svg = fs::read_to_string(folder.0.join(format!("{figure}.svg"))).unwrap();
        assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"), "{figure}");
        let png = fs::read(folder.0.join(format!("{figure}.png"))).unwrap();
        assert_eq!(&png[..8], b"\x89PNG\r\n\x1a\n", "{figure}");
    }
    let of_a_figure = |n: &str| [".svg", ".png", ".pdf", ".figure.csv"].iter().any(|end| n.ends_with(end));
    let others: Vec<&String> = names.iter().filter(|n| !of_a_figure(n)).collect();
    assert_eq!(others, expected);
    let read = |name: &str| fs::read(folder.0.join(name)).unwrap();
    assert_eq!(&read("release.gif")[..6], b"GIF89a");
    assert_eq!(&read("release.apng")[..8], b"\x89PNG\r\n\x1a\n");
    assert_eq!(&read("history.parquet")[..4], b"PAR1");
    let json = fs::read_to_string(folder.0.join("answer.json")).unwrap();
    let printed = Ran::of(&root(), &["release", case, "--json"]);
    assert_eq!(printed.out, json.clone() + "\n", "printed and written differ");
    // The table is the history of the answer, column by column, with units.
    let history = &common::parse(&json)["history"];
    let csv = fs::read_to_string(folder.0.join("history.csv")).unwrap();
    let table = rows(&csv);
    let columns: Vec<&String> = history.as_object().unwrap().keys().collect();
    assert_eq!(table[0], columns);
    for (i, name) in columns.iter().enumerate() {
        let values = history[name.as_str()].as_array().unwrap();
        assert_eq!(values.len(), table.len() - 1, "{name}");
        for (v, row) in values.iter().zip(&table[1..]) {
            // The reader of JSON may be off in the last bit.
            let (a, b) = (v.as_f64().unwrap(), row[i].parse::<f64>().unwrap());
            assert!((a - b).abs() <= 1e-15 * b.abs(), "{name}: {a}, not {b}");
        }
        let unit = if name.contains("speed") { "m/s" } else { &name[name.rfind('_').unwrap() + 1..] };
        assert!(csv.contains(&format!("# column {name} [{unit}]: ")), "no unit {unit} for {name}");
    }
}

/// Waits, draws and slowing down have tables of their own, the same for any number of threads.
#[test]
fn many_releases_are_the_same_for_any_number_of_threads() {
    let folder = Folder::new();
    let case = root().join("cases/jumping-cap/case.toml");
    let printed = ["1", "2"].map(|threads| {
        let options = ["--hold", "1s..20s", "--count", "3", "--spread", "10", "--slowing", "--threads"];
        let mut arguments = vec!["release", case.to_str().unwrap()];
        arguments.extend(options);
        arguments.extend([threads, "--out", threads]);
        let ran = folder.run(&arguments);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
        ran.out.lines().filter(|l| !l.starts_with("Figures")).map(str::to_owned).collect::<Vec<_>>()
    });
    assert_eq!(printed[0], printed[1]);
    let read = |threads: &str, name: &str| fs::read(folder.0.join(threads).join(name)).unwrap();
    let mut all = vec!["answer.json".to_owned()];
    for name in ["history", "wait", "draws", "slowing"] {
        all.extend(["csv", "parquet"].map(|kind| format!("{name}.{kind}")));
    }
    all.extend(["wait", "spread", "slowing"].map(|name| format!("{name}.svg")));
    for name in &all {
        assert!(read("1", name) == read("2", name), "{name}: the number of threads shows");
    }
    let csv = String::from_utf8(read("1", "wait.csv")).unwrap();
    let table = rows(&csv);
    assert_eq!(table[0], ["hold_s", "wait_s", "rests", "stays"]);
    let waits: Vec<f64> = table[1..].iter().map(|r| r[1].parse().unwrap()).collect();
    assert!(
        waits.len() == 3 && waits[0] < waits[1] && waits[1] < waits[2],
        "longer holds, longer waits: {waits:?}"
    );
    let csv = String::from_utf8(read("1", "draws.csv")).unwrap();
    assert_eq!(rows(&csv)[0], ["draw", "wait_s", "stays"]);
    assert_eq!(rows(&csv).len(), 11);
}

/// A series of releases that was stopped goes on, and ends in the bytes of one that was not.
#[test]
fn a_series_of_releases_goes_on_where_it_was_stopped() {
    let folder = Folder::new();
    let case = root().join("cases/jumping-cap/case.toml");
    let run = |out: &str, threads: &str| {
        let case = case.to_str().unwrap();
        let over = "hold.time=4s..12s";
        let arguments = ["series", case, "--over", over, "--count", "9", "--ask", "release"];
        folder.run(&[&arguments[..], &["--threads", threads, "--out", out]].concat())
    };
    let whole = run("whole", "2");
    assert_eq!((whole.code, whole.err.as_str()), (0, ""));
    assert!(whole.out.contains(": 0 stays, 9 waits, 0 returns, 0 undecided\n"), "{}", whole.out);
    let read = |place: &str| fs::read(folder.0.join(place)).unwrap();
    let csv = String::from_utf8(read("whole/series.csv")).unwrap();
    let table = rows(&csv);
    assert_eq!(table[0][..4], ["value_si", "outcome", "wait_s", "creep_wait_s"]);
    let waits: Vec<f64> = table[1..].iter().map(|r| r[2].parse().unwrap()).collect();
    assert!(waits.len() == 9 && waits.windows(2).all(|w| w[0] < w[1]), "{waits:?}");
    // Killed once a piece is on the disk (or, on a very fast machine, done before that).
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_calotte"))
        .args(["series", case.to_str().unwrap(), "--over", "hold.time=4s..12s", "--count", "9"])
        .args(["--ask", "release", "--threads", "1", "--out", "cut"])
        .current_dir(&folder.0)
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null())
        .spawn()
        .unwrap();
    let run_folder = folder.0.join("cut/series.run");
    let piece = run_folder.join("00000000.chunk");
    while !piece.exists() && child.try_wait().unwrap().is_none() {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    child.kill().unwrap();
    child.wait().unwrap();
    let resumed = run("cut", "2");
    assert_eq!((resumed.code, resumed.err.as_str()), (0, ""));
    assert!(!run_folder.exists(), "pieces are left");
    for name in ["series.csv", "series.parquet"] {
        assert!(read(&format!("cut/{name}")) == read(&format!("whole/{name}")), "{name} differs");
    }
}

/// Without a load the pole is pushed, and the answer says so.
#[test]
fn a_case_without_a_load_is_poked_at_its_pole() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let ran = folder.run(&["poke", "case.toml"]);
    assert!(matches!(ran.code, 0 | 1), "{}", ran.err);
    assert!(ran.out.contains("no [load] table"), "{}", ran.out);
    assert_eq!(folder.names(), ["case.toml"], "something was written");
}

/// Any number of threads gives the same bytes.
#[test]
fn a_grid_is_the_same_for_any_number_of_threads() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let files = ["1", "2"].map(|threads| {
        let ran = folder.run(&[
            "map",
            "case.toml",
            "--x",
            "depth=40deg..70deg",
            "--y",
            "wall.thickness=1mm..4mm",
            "--grid",
            "6x5",
            "--threads",
            threads,
            "--out",
            threads,
        ]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
        assert!(ran.out.contains("6 x 5: "), "{}", ran.out);
        let made = folder.0.join(threads);
        assert!(!made.join("grid.run").exists(), "pieces are left");
        ["grid.csv", "grid.parquet", "curves.csv", "curves.parquet", "answer.json", "map.svg", "map.png"]
            .map(|name| fs::read(made.join(name)).unwrap_or_else(|e| panic!("{name}: {e}")))
    });
    assert!(files[0] == files[1], "the number of threads shows");
    let [csv, parquet, ..] = &files[0];
    assert_eq!(&parquet[..4], b"PAR1");
    let rows = String::from_utf8_lossy(csv).lines().filter(|l| !l.starts_with('#')).count();
    assert_eq!(rows, 31);
}

/// What a folder holds after an answer with these figures, in the order of names.
fn files_of(figures: &[&str]) -> Vec<String> {
    let of = |f: &&str| ["figure.csv", "pdf", "png", "svg"].map(|kind| format!("{f}.{kind}"));
    ["answer.json".to_owned()].into_iter().chain(figures.iter().flat_map(of)).collect()
}

#[test]
fn out_writes_figures_and_answer() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let ran = folder.run(&["verdict", "case.toml", "--out", "made/here"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let made = Folder(folder.0.join("made/here"));
    assert_eq!(made.names(), files_of(&["branch", "energy", "shape"]));
    for name in ["shape", "energy", "branch"] {
        let svg = fs::read_to_string(made.0.join(format!("{name}.svg"))).unwrap();
        assert!(svg.starts_with("<svg") || svg.starts_with("<?xml"));
        let png = fs::read(made.0.join(format!("{name}.png"))).unwrap();
        assert_eq!(&png[..8], b"\x89PNG\r\n\x1a\n");
    }
    let kept = fs::read_to_string(made.0.join("answer.json")).unwrap();
    let json: Value = serde_json::from_str(&kept).unwrap();
    assert_eq!(json["verdict"], "stays");
    assert_eq!(
        folder.run(&["verdict", "case.toml", "--json"]).out,
        kept + "\n",
        "printed and written differ"
    );
    // Drawing the branch is more work; nothing else may differ.
    let plain = folder.run(&["verdict", "case.toml"]).out;
    let (words, last) = ran.out.trim_end().rsplit_once('\n').unwrap();
    assert_eq!(last, "Figures and answer.json are in made/here");
    assert_eq!(without_work(words), without_work(plain.trim_end()), "figures change the words");
    std::mem::forget(made); // the outer folder takes it along
}

fn without_work(answer: &str) -> String {
    let Some((before, (_, after))) =
        answer.split_once("\n  work ").and_then(|(b, rest)| Some((b, rest.split_once("\n\n")?)))
    else {
        panic!("no work counted in\n{answer}")
    };
    format!("{before}\n{after}")
}

/// No inverted state: nothing to draw along its arc; no threshold: no branch either.
#[test]
fn figures_without_data_are_left_out() {
    for (name, expected) in [("silicone-cap-thicker", &["branch", "shape"][..]), ("clamped-dome", &["shape"])]
    {
        let folder = Folder::new();
        let made = folder.0.to_str().unwrap();
        let ran = Ran::of(&root(), &["verdict", &format!("cases/{name}/case.toml"), "--out", made]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        assert_eq!(folder.names(), files_of(expected), "{name}");
    }
}

#[test]
fn an_undecided_case_exits_with_one() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD.replace("2.1 mm", "7 mm").replace("60 ± 1 deg", "120 deg"));
    let ran = folder.run(&["verdict", "case.toml"]);
    assert_eq!(ran.code, 1);
    assert!(ran.out.starts_with("UNDECIDED") && ran.out.contains("Doubt:"), "{}", ran.out);
}

#[test]
fn template_is_written_once_and_runs() {
    let folder = Folder::new();
    assert_eq!(folder.run(&["new", "cap", "mine.toml"]).code, 0);
    assert_eq!(folder.run(&["verdict", "mine.toml"]).code, 0);
    let again = folder.run(&["new", "cap", "mine.toml"]);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("exists already"));
    assert_eq!(folder.names(), ["mine.toml"]);
}

#[test]
fn shelf_and_schema_are_printed() {
    let folder = Folder::new();
    let shelf = folder.run(&["shelf"]);
    assert!(shelf.code == 0 && shelf.out.contains("silicone-30") && shelf.out.contains("from memory"));
    let schema = folder.run(&["schema"]);
    let kept = fs::read_to_string(root().join("schema/case.schema.json")).unwrap();
    assert_eq!(schema.out.trim(), kept.trim());
}

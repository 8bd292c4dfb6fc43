//! Every command that a page shows is run, and every output that it shows is printed.
//!
//! A block of `sh` holds commands, a block of `text` what the command before it prints (also one named in the paragraph before it):
//! lines in this order, without a gap but where the page says `...`. Commands of a page run in one folder that holds the worked cases, so
//! that a later command finds what an earlier one made. What a worked case prints is kept beside it and held to the program by other
//! tests; there the kept answer is taken.

mod common;

use std::path::Path;

use common::{Folder, MAP, Ran, root, text};

/// Commands that a page may show though they are not run here, and why.
const ELSEWHERE: [(&str, &str); 15] = [
    ("cargo test --workspace", "this is one of its tests"),
    ("cargo run --release -- serve", "serves until it is stopped; crates/cli/tests/serve"),
    ("calotte serve", "serves until it is stopped; crates/cli/tests/serve"),
    ("cargo run --release -p calotte-bench", "a step of .ci/run"),
    ("cargo xtask ", "tests of xtask and steps of .ci/run"),
    ("git ", "changes a tree"),
    (".ci/run", "runs this test"),
    ("cargo install ", "installs"),
    ("jq ", "asks a server that must be running; crates/cli/tests/serve"),
    ("SOAK_REQUESTS=", "takes minutes; a shorter run of the same is a test"),
    ("MEASURE=1 ", "times, which no test asserts"),
    ("cd ui && ", "a step of .ci/run"),
    ("python/wheel", "a step of .ci/run"),
    ("pip install ", "installs; a step of .ci/run"),
    ("curl ", "asks a server that must be running; crates/cli/tests/serve"),
];

/// Words of a command line; double quotes hold words together.
fn words(line: &str) -> Vec<String> {
    let mut out = vec![String::new()];
    let (mut quoted, mut open) = (false, false);
    for c in line.chars() {
        match c {
            '"' => (quoted, open) = (!quoted, true),
            ' ' if !quoted => {
                if open || !out[out.len() - 1].is_empty() {
                    out.push(String::new());
                }
                open = false;
            }
            '#' if !quoted && out[out.len() - 1].is_empty() => break,
            c => {
                let last = out.len() - 1;
                out[last].push(c);
            }
        }
    }
    out.retain(|w| !w.is_empty());
    out
}

/// What a command would be given.
fn arguments(line: &str) -> Option<Vec<String>> {
    let all = words(line);
    let program = [&["cargo", "run", "--release", "--"][..], &["cargo", "run", "--"], &["calotte"]];
    program
        .iter()
        .find(|p| all.len() > p.len() && all[..p.len()].iter().zip(p.iter()).all(|(a, b)| a == b))
        .map(|p| all[p.len()..].to_vec())
}

/// What is kept of a worked case for exactly this command.
fn kept(arguments: &[String]) -> Option<String> {
    let [command, file, rest @ ..] = arguments else { return None };
    let (folder, _) = file.strip_prefix("cases/")?.split_once('/')?;
    let name = match (command.as_str(), rest.len()) {
        ("verdict", 0) => "answer",
        (c @ ("poke" | "heat" | "release" | "size"), 0) => c,
        ("logbook", 1) if rest[0] == "--next" => "logbook",
        ("map", _) if folder == MAP.0 && rest == MAP.1 => "map",
        _ => return None,
    };
    std::fs::read_to_string(root().join(format!("cases/{folder}/{name}.txt"))).ok()
}

/// A piece of a page, in order.
enum Piece {
    Command(String),
    Shown(Vec<String>),
}

fn pieces(page: &str) -> Vec<Piece> {
    let mut out = Vec::new();
    let mut block: Option<(String, Vec<String>)> = None;
    for line in page.lines() {
        match (&mut block, line.trim_start().strip_prefix("```")) {
            (None, Some(kind)) => block = Some((kind.trim().to_owned(), Vec::new())),
            (Some((kind, lines)), Some("")) => {
                match kind.as_str() {
                    "sh" => out.extend(lines.drain(..).filter(|l| !l.trim().is_empty()).map(Piece::Command)),
                    "text" => out.push(Piece::Shown(std::mem::take(lines))),
                    _ => {}
                }
                block = None;
            }
            (Some((_, lines)), _) => lines.push(line.to_owned()),
            // Commands named in a paragraph: the output that follows is that of the last one.
            (None, None) => {
                for code in
                    line.split('`').skip(1).step_by(2).filter(|c| c.starts_with("cargo run --release -- "))
                {
                    if !code.contains("NAME") && !code.contains("CASE") {
                        out.push(Piece::Command(code.to_owned()));
                    }
                }
            }
        }
    }
    out
}

/// Whether shown lines are printed: blocks between `...` without a gap, in this order; empty lines do not count.
fn printed(shown: &[String], out: &str) -> Result<(), String> {
    let out: Vec<&str> = out.lines().filter(|l| !l.trim().is_empty()).collect();
    let mut from = 0;
    for run in shown.split(|l| l == "...") {
        let run: Vec<&String> = run.iter().filter(|l| !l.trim().is_empty()).collect();
        if run.is_empty() {
            continue;
        }
        let fits =
            |at: &usize| run.iter().zip(&out[*at..]).filter(|(a, b)| a.as_str() == **b).count() == run.len();
        match (from..=out.len().saturating_sub(run.len())).find(fits) {
            Some(at) => from = at + run.len(),
            None => {
                let lost = run.iter().find(|l| !out.contains(&l.as_str())).unwrap_or(&run[0]);
                return Err(format!("not printed so (order, gap or words): {lost}"));
            }
        }
    }
    Ok(())
}

/// What is wrong with a page, how many commands and outputs it has.
type Found = (Vec<String>, usize, usize);

/// Runs a page; what is wrong, and how many commands and outputs it has.
#[allow(clippy::unwrap_used, reason = "a helper of tests")]
fn run(name: &str) -> Found {
    let folder = Folder::new();
    for link in ["cases", "docs"] {
        std::os::unix::fs::symlink(root().join(link), folder.0.join(link)).unwrap();
    }
    let (mut faults, mut commands, mut outputs) = (Vec::new(), 0, 0);
    let mut last: Option<String> = None;
    for piece in pieces(&text(name)) {
        match piece {
            Piece::Command(line) => {
                let plain = line.trim();
                if ELSEWHERE.iter().any(|e| plain.starts_with(e.0)) {
                    continue;
                }
                let Some(arguments) = arguments(plain) else {
                    faults.push(format!("this is no command of calotte: {plain}"));
                    continue;
                };
                commands += 1;
                if let Some(kept) = kept(&arguments) {
                    last = Some(kept);
                    continue;
                }
                let all: Vec<&str> = arguments.iter().map(String::as_str).collect();
                let ran = Ran::of(&folder.0, &all);
                let wanted =
                    plain.split("# exit code ").nth(1).and_then(|c| c.trim().parse().ok()).unwrap_or(0);
                if ran.code != wanted {
                    faults.push(format!("{plain}: exit code {}, not {wanted}: {}", ran.code, ran.err));
                }
                last = Some(if wanted == 2 { ran.err } else { ran.out });
            }
            Piece::Shown(lines) => {
                outputs += 1;
                match &last {
                    None => faults.push(format!("an output without a command before it: {}", lines[0])),
                    Some(out) => faults.extend(printed(&lines, out).err()),
                }
            }
        }
    }
    (faults, commands, outputs)
}

#[test]
fn every_command_and_output_of_the_book() {
    let mut pages: Vec<String> = std::fs::read_dir(root().join("docs"))
        .unwrap()
        .map(|f| format!("docs/{}", f.unwrap().file_name().into_string().unwrap()))
        .filter(|f| f.ends_with(".md"))
        .collect();
    pages.extend(["README.md", "cases/README.md"].map(str::to_owned));
    for case in std::fs::read_dir(root().join("cases")).unwrap() {
        let page = format!("cases/{}/README.md", case.unwrap().file_name().into_string().unwrap());
        if Path::new(&root()).join(&page).exists() {
            pages.push(page);
        }
    }
    pages.sort();
    let next = std::sync::atomic::AtomicUsize::new(0);
    let found: Vec<(String, Found)> = std::thread::scope(|s| {
        let work = || {
            let mut out = Vec::new();
            while let Some(page) = pages.get(next.fetch_add(1, std::sync::atomic::Ordering::Relaxed)) {
                out.push((page.clone(), run(page)));
            }
            out
        };
        let all = [s.spawn(work), s.spawn(work)];
        all.into_iter().flat_map(|t| t.join().unwrap()).collect()
    });
    let faults: Vec<String> = found
        .iter()
        .flat_map(|(page, (faults, _, _))| faults.iter().map(move |f| format!("{page}: {f}")))
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    let sums = found.iter().fold((0, 0), |sum, (_, (_, c, o))| (sum.0 + c, sum.1 + o));
    assert!(sums.0 >= 30 && sums.1 >= 20, "{sums:?}");
    // Every question has a page with a command and what it prints.
    for page in [
        "verdict",
        "states",
        "poke",
        "heat",
        "trade",
        "modes",
        "release",
        "memory",
        "map",
        "spread",
        "size",
        "logbook",
        "bench-tests",
    ] {
        let (_, (_, commands, outputs)) =
            found.iter().find(|(p, _)| *p == format!("docs/{page}.md")).unwrap();
        assert!(
            *commands >= 1 && *outputs >= 1,
            "docs/{page}.md shows {commands} commands and {outputs} outputs"
        );
    }
}

#[test]
fn the_reader_of_pages_finds_faults() {
    assert_eq!(
        words("calotte size a.toml --wish \"margin = 10 %\"  # why"),
        ["calotte", "size", "a.toml", "--wish", "margin = 10 %"]
    );
    let lines = |all: &[&str]| all.iter().map(|l| (*l).to_owned()).collect::<Vec<_>>();
    let out = "one\n\ntwo\nthree\nfour\n";
    assert_eq!(printed(&lines(&["one", "two", "...", "four"]), out), Ok(()));
    assert!(printed(&lines(&["one", "three"]), out).is_err(), "a gap");
    assert!(printed(&lines(&["four", "...", "one"]), out).is_err(), "another order");
    assert!(printed(&lines(&["five"]), out).is_err());
    assert!(arguments("cargo build").is_none());
}

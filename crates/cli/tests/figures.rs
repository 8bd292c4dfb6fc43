//! Options of figures: the files they make, what they refuse, and what the page on figures says of them.

mod common;
#[path = "../../figures/tests/looks/mod.rs"]
mod looks;

use common::{Folder, GOOD, Ran, text};

fn drawn(options: &[&str]) -> (Folder, Ran) {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let arguments: Vec<&str> =
        ["verdict", "case.toml", "--out", "out"].iter().chain(options).copied().collect();
    let ran = folder.run(&arguments);
    (folder, ran)
}

#[allow(clippy::unwrap_used, reason = "a helper of tests")]
fn head(folder: &Folder, name: &str) -> String {
    let svg = std::fs::read_to_string(folder.0.join("out").join(name)).unwrap();
    svg.lines().next().unwrap().to_owned()
}

#[test]
fn every_figure_becomes_four_files_or_those_asked_for() {
    let (folder, ran) = drawn(&[]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    for kind in ["svg", "png", "pdf", "figure.csv"] {
        assert!(folder.0.join(format!("out/energy.{kind}")).exists(), "{kind}");
    }
    assert!(head(&folder, "energy.svg").contains("width=\"170mm\""));
    let pdf = std::fs::read(folder.0.join("out/energy.pdf")).unwrap();
    assert!(pdf.starts_with(b"%PDF-"));

    let (folder, ran) = drawn(&["--figure-width", "12cm", "--figure-files", "svg,csv"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(head(&folder, "energy.svg").contains("width=\"120mm\""));
    assert!(!folder.0.join("out/energy.png").exists() && !folder.0.join("out/energy.pdf").exists());
    let csv = std::fs::read_to_string(folder.0.join("out/energy.figure.csv")).unwrap();
    assert!(csv.contains("\npanel,part,legend,piece,x,y\n1,"), "{csv}");
}

#[test]
fn what_cannot_be_drawn_is_said() {
    for (option, value, says) in [
        ("--figure-width", "2m", "60 mm to 400 mm"),
        ("--figure-width", "wide", "85mm"),
        ("--figure-font", "80pt", "5 pt to 24 pt"),
        ("--figure-resolution", "many", "600dpi"),
        ("--figure-files", "gif", "possible values"),
        ("--figure-style", "poster", "column"),
    ] {
        let (_, ran) = drawn(&[option, value]);
        assert!(ran.code == 2 && ran.err.contains(says), "{option} {value}: {}", ran.err);
    }
    // Too narrow for its type: said with the width that would do, and everything else is written.
    let (folder, ran) = drawn(&["--figure-width", "60mm", "--figure-font", "24pt"]);
    assert!(ran.code == 2 && ran.err.contains("does not fit into 60 mm"), "{}", ran.err);
    assert!(folder.0.join("out/answer.json").exists() && ran.out.contains("STAYS"), "{}", ran.out);
}

#[test]
fn the_page_on_figures_names_every_option() {
    let page = text("docs/figures.md");
    let help = Ran::of(&common::root(), &["verdict", "--help"]).out;
    let options: Vec<&str> = help.split_whitespace().filter(|w| w.starts_with("--figure-")).collect();
    assert_eq!(options.len(), 6, "{options:?}");
    for o in options {
        assert!(page.contains(&format!("| `{o}` |")), "{o}");
    }
}

/// Commands that draw, on worked cases: what they draw is laid out in the named styles, and what their legends tell apart is seen apart.
#[test]
fn figures_of_worked_cases_fit_the_named_styles_and_are_seen_apart() {
    // Those of a logbook are drawn where its answer is tested anyway: it takes long.
    const RUNS: [(&str, &str); 12] = [
        ("verdict", "silicone-cap-stays/case.toml"),
        ("verdict", "camp-bowl/case.toml"),
        ("poke", "key-dome/case.toml"),
        ("poke", "marine-handset-key/case.toml"),
        ("poke", "pressed-lid/case.toml"),
        ("heat", "propagator-cutout/case.toml --spread 100"),
        ("modes", "clutch-detent/case.toml"),
        ("release", "jumping-cap/case.toml --hold 0.1s..100s --count 6 --spread 10"),
        ("map", "silicone-cap-stays/case.toml --specimens ROOT/cases/silicone-cap-stays/specimens.csv"),
        ("spread", "silicone-cap-stays/case.toml"),
        ("size", "sized-stopper/case.toml"),
        ("bench", "bench-tests/bench.toml"),
    ];
    let (mut drawn, mut compared, mut bad) = (0, 0, Vec::new());
    for style in ["column", "slide"] {
        for (command, rest) in RUNS {
            let folder = Folder::new();
            let root = common::root();
            let root = root.to_str().unwrap();
            let case = format!("{root}/cases/{rest}").replace("ROOT", root);
            let mut words = vec![command];
            words.extend(case.split(' '));
            words.extend(["--out", "out", "--figure-style", style, "--figure-files", "csv"]);
            let ran = folder.run(&words);
            if ran.code != 0 {
                bad.push(format!("{style}, {command} {rest}: {} {}", ran.code, ran.err));
            }
            let out = folder.0.join("out");
            for entry in std::fs::read_dir(&out).into_iter().flatten() {
                let path = entry.unwrap().path();
                let name = path.file_name().unwrap().to_str().unwrap().to_owned();
                if let Some(figure) = name.strip_suffix(".figure.csv") {
                    drawn += 1;
                    let csv = std::fs::read_to_string(&path).unwrap();
                    let (pairs, alike) = looks::alike(&csv, figure);
                    compared += pairs;
                    bad.extend(alike.into_iter().map(|b| format!("{style}, {command} {rest}: {b}")));
                }
            }
        }
    }
    assert!(bad.is_empty(), "{}", bad.join("\n"));
    assert!(drawn > 50 && compared > 30, "{drawn} figures, {compared} pairs");
}

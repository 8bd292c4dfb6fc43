//! Options of figures: the files they make, what they refuse, and what the page on figures says of them.

mod common;

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

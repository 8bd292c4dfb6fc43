//! Bench tests: the worked file prints what is kept, its page shows it, its keys are those of the page, bad input is told.

mod common;

use std::collections::BTreeSet;
use std::fs;

use common::{Folder, Ran, answer, documented, key_names, root, text};

const FILE: &str = "cases/bench-tests/bench.toml";

#[test]
fn the_worked_bench_file_prints_what_is_kept() {
    let ran = Ran::of(&root(), &["bench", FILE]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("invented") && text(FILE).starts_with("# Invented"));
    if std::env::var_os("UPDATE_CASES").is_some() {
        fs::write(root().join("cases/bench-tests/bench.txt"), &ran.out).unwrap();
    }
    assert_eq!(text("cases/bench-tests/bench.txt"), ran.out, "run with UPDATE_CASES=1");
    let page = text("docs/bench-tests.md");
    assert!(page.contains(&format!("cargo run --release -- bench {FILE}\n")));
    let shown = page.split("```text\n").nth(1).unwrap().split("\n```").next().unwrap();
    let mut rest = ran.out.lines();
    for line in shown.lines().filter(|l| !l.is_empty() && *l != "...") {
        assert!(rest.any(|l| l == line), "not printed: {line}");
    }
    assert!(shown.lines().count() > 8);
}

#[test]
fn keys_are_those_of_the_page() {
    let json = answer(&root(), &["bench", FILE, "--json"]);
    let mut seen = BTreeSet::new();
    key_names(&json, &[], &mut seen);
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    assert_eq!(documented("docs/bench-tests.md", &[]), written, "page (left), answer (right)");
}

#[test]
fn the_folder_has_figures_tables_and_a_wall_that_a_case_takes() {
    let folder = Folder::new();
    let made = folder.0.to_str().unwrap();
    let ran = Ran::of(&root(), &["bench", FILE, "--out", made]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    for figure in ["estimates", "strips", "wall", "memory", "evidence"] {
        assert!(
            folder.0.join(format!("{figure}.svg")).exists()
                && folder.0.join(format!("{figure}.png")).exists()
        );
    }
    for table in ["estimates", "memory"] {
        assert!(
            folder.0.join(format!("{table}.csv")).exists()
                && folder.0.join(format!("{table}.parquet")).exists()
        );
    }
    let block = ran.out.split("For the case file").nth(1).unwrap().split("Figures, tables").next().unwrap();
    let case = format!(
        "title = \"c\"\n[shape]\nkind = \"cap\"\nradius = \"26 mm\"\nhalf_angle = \"60 deg\"\n[rim]\nkind = \"free\"\n{block}"
    );
    folder.write("case.toml", case);
    let ran = folder.run(&["verdict", "case.toml"]);
    assert!(ran.code < 2, "{}", ran.err);
}

#[test]
fn bad_tests_are_told_and_the_others_kept() {
    let folder = Folder::new();
    let template = folder.run(&["bench", "--template"]);
    assert_eq!((template.code, template.err.as_str()), (0, ""));
    folder.write("good.toml", &template.out);
    assert_eq!(folder.run(&["bench", "good.toml"]).code, 0);
    folder.write(
        "bad.toml",
        format!("{}\n[[poke]]\ncase = \"none.toml\"\nforce = \"1 N\"\ndisplacement = \"1\"\n", template.out),
    );
    let ran = folder.run(&["bench", "bad.toml"]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("a length needs a unit") && ran.err.contains("what is whole was worked out"),
        "{}",
        ran.err
    );
    assert!(ran.out.contains("All tests together"));
    assert_eq!(folder.run(&["bench", "none.toml"]).code, 2);
    folder.write("apart.toml", template.out.replace("6.9 ± 0.3 Hz", "14 ± 0.3 Hz"));
    let ran = folder.run(&["bench", "apart.toml"]);
    assert!(ran.code == 1 && ran.out.contains("disagree"), "{}", ran.out);
}

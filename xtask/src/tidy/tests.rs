//! Every rule fires on a bad sample, leaves good lines alone, and is silent on the tree.

use super::{Source, check, files};
use crate::root;

fn broken(path: &str, text: &str) -> Vec<String> {
    let file = Source { path: path.into(), text: text.into() };
    check(&[file]).into_iter().map(|b| format!("{}: {}", b.line, b.what)).collect()
}

#[track_caller]
fn fires(path: &str, text: &str, part: &str) {
    let found = broken(path, text);
    assert!(found.iter().any(|f| f.contains(part)), "{part:?} not in {found:?}");
}

#[track_caller]
fn silent(path: &str, text: &str) {
    assert_eq!(broken(path, text), Vec::<String>::new());
}

#[test]
fn the_tree_is_tidy() {
    let found = check(&files(&root()));
    assert!(found.is_empty(), "{}", found.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"));
}

#[test]
fn the_tree_is_seen_with_git_and_without() {
    let mut walked = Vec::new();
    super::files::walk(&root(), &root(), &mut walked);
    let listed: Vec<String> = files(&root()).into_iter().map(|f| f.path).collect();
    for path in ["Cargo.toml", ".ci/run", "crates/solve/src/lib.rs", "docs/theory.md"] {
        assert!(walked.iter().any(|w| w == path), "{path} is not walked");
        assert!(listed.iter().any(|w| w == path), "{path} is not listed");
    }
    assert!(!walked.iter().any(|w| w.starts_with("target/")));
}

#[test]
fn words_of_physics() {
    fires("crates/solve/src/a.rs", "//! A.\n// the rim\n", "2: `solve` never says `rim`");
    fires("crates/solve/src/a.rs", "//! A.\nstruct CapRim;\n", "2: `solve` never says `cap`");
    fires("crates/solve/src/a.rs", "//! Snap-through.\n", "says `snap`");
    fires("crates/solve/src/a.rs", "//! A.\nlet shell_count = 1;\n", "says `shell`");
    fires("crates/solve/Cargo.toml", "[package]\ndescription = \"caps\"\n", "says `caps`");
    silent("crates/solve/src/a.rs", "//! Trimmed, captured, shelled and a snapshot.\n");
    silent("crates/shell/src/a.rs", "//! The rim of a cap.\n");
}

#[test]
fn silence_of_mechanics() {
    let shell = "crates/shell/src/a.rs";
    for (line, part) in [
        ("let t = std::time::Instant::now();", "`std::time`"),
        ("use std::{collections::BTreeMap, fs};", "`std::fs`"),
        ("let v = std::env::var(\"A\");", "`std::env`"),
        ("std::io::stdout().flush();", "`stdout()`"),
        ("println!(\"x\");", "println!"),
        ("eprintln!(\"x\");", "println!"),
        ("eprint!(\"x\");", "print!"),
        ("dbg!(x);", "dbg!"),
    ] {
        fires(shell, &format!("//! A.\n{line}\n"), part);
    }
    silent(shell, "//! A.\n// println! is not for us\nuse std::iter::once;\n");
    silent(shell, "//! A.\n#[cfg(test)]\nmod tests {\nprintln!();\n}\n");
    silent("crates/shell/tests/a.rs", "//! A.\nuse std::time::Instant;\n");
    silent("crates/cli/src/a.rs", "//! A.\nprintln!();\n");
    for line in [concat!("let x: f", "32 = 0.0;"), concat!("let x = 1.0f", "32;")] {
        fires(shell, &format!("//! A.\n{line}\n"), "never use");
        fires("crates/solve/tests/a.rs", &format!("//! A.\n{line}\n"), "never use");
        silent("crates/figures/src/a.rs", &format!("//! A.\n{line}\n"));
    }
}

#[test]
fn files_and_heads() {
    fires("crates/cli/src/a.rs", &"//! A.\n".repeat(701), "701 lines");
    silent("crates/cli/src/a.rs", &"//! A.\n".repeat(700));
    fires("crates/cli/src/main.rs", "fn main() {}\n", "begins with `//!`");
    fires("crates/cli/src/a.rs", &"fn f() {}\n".repeat(25), "begins with `//!`");
    silent("crates/cli/src/a.rs", &"fn f() {}\n".repeat(24));
    silent("crates/cli/src/tests_more.rs", &"fn f() {}\n".repeat(25));
    silent("crates/cli/src/tests.rs", &"fn f() {}\n".repeat(25));
    fires("crates/cli/src/contests.rs", &"fn f() {}\n".repeat(25), "begins with `//!`");
    fires("a.md", "x \n", "1: trailing");
    fires("crates/cli/src/a.rs", "//! A.\n\t\n", "2: trailing");
}

#[test]
fn traces_of_a_machine() {
    fires("docs/a.md", concat!("see /hom", "e/someone\n"), "one machine");
    fires("docs/a.md", concat!("kept in /tm", "p/x\n"), "one machine");
    fires("docs/a.md", concat!("`cd /wor", "k`\n"), "one machine");
    fires("docs/a.md", concat!("file:///roo", "t/x\n"), "one machine");
    fires("docs/a.md", concat!("see ../sha", "red\n"), "not in the tree");
    silent("docs/a.md", concat!("a frame/wor", "k, docs/wor", "king, /wor", "king\n"));
}

#[test]
fn unfinished_work() {
    for mark in
        [concat!("TO", "DO"), concat!("FIX", "ME"), concat!("to", "do!()"), concat!("unimpl", "emented!()")]
    {
        fires("crates/cli/src/a.rs", &format!("//! A.\n// {mark}\n"), "2: ");
    }
    fires("crates/cli/src/a.rs", concat!("#[ign", "ore]\n"), "ignored");
    fires("crates/cli/src/a.rs", concat!("#[ign", "ore = \"slow\"]\n"), "ignored");
}

#[test]
fn lints_and_tables() {
    let a = "crates/cli/src/a.rs";
    for bad in [
        "#[allow(dead_code)]\n",
        "#![allow(dead_code)]\n",
        "#[expect(dead_code)]\n",
        "#[allow(no_reason)]\nfn f() {} // reason = none\n",
        "#[cfg_attr(test, allow(dead_code))]\n",
        "#[cfg_attr(\n    test,\n    allow(dead_code)\n)]\n",
    ] {
        fires(a, bad, "says why");
    }
    silent(
        a,
        "#[allow(dead_code, reason = \"as in (2)\")]\n#[allow(\n    dead_code,\n    reason = \"x\"\n)]\n",
    );
    silent(a, "fn f() { g().expect(\"h\"); }\n");
    fires(a, concat!("use std::collections::Hash", "Map;\n"), "B-tree");
    fires(a, concat!("use std::collections::Hash", "Set;\n"), "B-tree");
}

#[test]
fn links_lead_somewhere() {
    fires("a.md", "[x](docs/none.md)\n", "1: `docs/none.md` leads nowhere");
    fires("docs/a.md", "[x](../../a.md)\n", "leads nowhere");
    fires("a.md", "[x]: docs/none.md\n", "leads nowhere");
    silent("docs/a.md", "[x](a.md#part) [y](#part) [z](../docs/) [w](https://example.org)\n");
    silent("a.md", "```\n[x](docs/none.md)\n```\n");
}

#[test]
fn arrows_between_crates() {
    fires("crates/solve/Cargo.toml", "[dependencies]\ncalotte-shell = \"1\"\n", "2: crates/solve must not");
    fires("crates/solve/Cargo.toml", "[build-dependencies]\ncalotte-quantity = \"1\"\n", "must not depend");
    fires(
        "crates/solve/Cargo.toml",
        "[target.'cfg(unix)'.dependencies]\ncalotte-quantity = \"1\"\n",
        "must not",
    );
    fires("crates/solve/Cargo.toml", "[dependencies]\nq = { package = \"calotte-quantity\" }\n", "must not");
    fires("bench/other/Cargo.toml", "[dependencies]\ncalotte-oracle = \"1\"\n", "dev-dependency");
    fires("crates/shell/Cargo.toml", "[dependencies]\nnum-dual = \"1\"\n", "dev-dependency");
    fires("crates/shell/Cargo.toml", "[dev-dependencies]\nfaer = \"1\"\n", "written in `solve`");
    fires("Cargo.toml", "[workspace.dependencies]\nnalgebra = \"1\"\n", "2: nalgebra");
    fires("crates/shell/Cargo.toml", "[features]\nfast = []\n", "1: no cargo feature");
    fires("crates/new/Cargo.toml", "[dependencies]\n", "no place in the arrows");
    fires("crates/shell/Cargo.toml", "[dependencies\n", "not TOML");
    silent("xtask/Cargo.toml", "[dependencies]\ncalotte-oracle = \"1\"\n");
    silent("crates/shell/Cargo.toml", "[dev-dependencies]\ncalotte-oracle = \"1\"\n");
}

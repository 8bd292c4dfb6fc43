//! Every rule fires on a bad sample and is silent on the tree.

use super::{Source, check, files};
use crate::root;

fn broken(path: &str, text: &str) -> Vec<String> {
    let file = Source { path: path.into(), text: text.into() };
    check(&[file]).into_iter().map(|b| format!("{}: {}", b.line, b.what)).collect()
}

#[track_caller]
fn fires(path: &str, text: &str, part: &str) {
    let found = broken(path, text);
    assert!(found.iter().any(|f| f.contains(part)), "{found:?}");
}

#[test]
fn the_tree_is_tidy() {
    let found = check(&files(&root()));
    assert!(found.is_empty(), "{}", found.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"));
}

#[test]
fn rules_fire() {
    fires("crates/solve/src/a.rs", "//! A.\n// the rim\n", "2: `solve` never says `rim`");
    fires("crates/shell/src/a.rs", "//! A.\nlet t = std::time::Instant::now();\n", "std::time");
    fires("crates/answers/src/a.rs", "//! A.\nprintln!(\"x\");\n", "println!");
    fires("crates/shell/src/a.rs", "//! A.\nlet x: f32 = 0.0;\n", "f32");
    fires("crates/cli/src/a.rs", &"//! A.\n".repeat(701), "701 lines");
    fires("crates/cli/src/main.rs", "fn main() {}\n", "begins with `//!`");
    fires("docs/a.md", concat!("see /hom", "e/someone\n"), "does not belong");
    fires("crates/cli/src/a.rs", concat!("// TO", "DO later\n"), "does not belong");
    fires("crates/cli/src/a.rs", "#[allow(dead_code)]\nfn f() {}\n", "says why");
    fires("crates/cli/src/a.rs", "#[ignore]\n", "ignored");
    fires("crates/cli/src/a.rs", "use std::collections::HashMap;\n", "B-tree");
    fires("a.md", "x \n", "trailing");
    fires("a.md", "[x](docs/none.md)\n", "leads nowhere");
    fires("crates/solve/Cargo.toml", "[dependencies]\ncalotte-shell = \"1\"\n", "must not depend");
    fires("crates/shell/Cargo.toml", "[dev-dependencies]\nfaer = \"1\"\n", "written in `solve`");
    fires("crates/new/Cargo.toml", "[dependencies]\n", "no place in the arrows");
    fires("crates/shell/Cargo.toml", "[dependencies]\nnum-dual = \"1\"\n", "dev-dependency");
    fires("docs/a.md", concat!("kept in /tm", "p/x\n"), "does not belong");
    fires("crates/cli/src/a.rs", "#[expect(dead_code)]\nfn f() {}\n", "says why");
    fires("crates/shell/Cargo.toml", "[features]\nfast = []\n", "feature");
}

#[test]
fn rules_leave_good_lines_alone() {
    let good =
        "//! Trimmed, captured and shelled words are not the words.\n#[allow(dead_code, reason = \"x\")]\n";
    assert_eq!(broken("crates/solve/src/a.rs", good), Vec::<String>::new());
    assert_eq!(
        broken("crates/shell/src/a.rs", "//! A.\n#[cfg(test)]\nmod tests {\nprintln!();\n}\n").len(),
        0
    );
}

//! Rules on the text of single files.

use super::Source;

type Say<'a> = &'a mut dyn FnMut(usize, String);
type Rule = fn(&str, &str, Say<'_>);

/// Rules that need one file only.
pub(crate) const ALL: [Rule; 7] =
    [physics_free, silent_mechanics, size, head_comment, traces, attributes, spaces];

/// Longest source file, lines.
pub(crate) const LONGEST: usize = 700;

fn is_rust(path: &str) -> bool {
    path.ends_with(".rs")
}

fn is_test(path: &str) -> bool {
    path.contains("/tests/")
        || path.ends_with("tests.rs")
        || path.contains("/tests_")
        || path.contains("/examples/")
}

fn mechanics(path: &str) -> bool {
    ["quantity", "specimen", "solve", "shell", "answers"]
        .iter()
        .any(|c| path.starts_with(&format!("crates/{c}/src/")))
}

/// Lines before the first `#[cfg(test)]` module, numbered from 1.
fn shipped(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let end = text.find("#[cfg(test)]\nmod tests {").unwrap_or(text.len());
    text[..end].lines().enumerate().map(|(i, l)| (i + 1, l))
}

fn has_word(line: &str, word: &str) -> bool {
    let lower = line.to_lowercase();
    let edge = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
    lower
        .match_indices(word)
        .any(|(i, _)| edge(lower[..i].chars().next_back()) && edge(lower[i + word.len()..].chars().next()))
}

/// `solve` knows no physics.
fn physics_free(path: &str, text: &str, say: Say<'_>) {
    if !path.starts_with("crates/solve/src/") {
        return;
    }
    for (n, line) in text.lines().enumerate() {
        for word in ["shell", "shells", "rim", "rims", "cap", "caps", "snap", "snaps", "snapping"] {
            if has_word(line, word) {
                say(n + 1, format!("`solve` never says `{word}`"));
            }
        }
    }
}

/// Mechanics neither print, nor read files, nor look at the clock; they hash nothing and use f64 only.
fn silent_mechanics(path: &str, text: &str, say: Say<'_>) {
    if !mechanics(path) || !is_rust(path) || is_test(path) {
        return;
    }
    for (n, line) in shipped(text) {
        for word in [
            "std::fs",
            "std::{fs",
            "std::time",
            "std::env",
            "println!",
            "eprintln!",
            "print!(",
            "dbg!(",
            "f32",
        ] {
            let whole = word != "f32" || has_word(line, word);
            if line.contains(word) && whole && !line.trim_start().starts_with("//") {
                say(n, format!("mechanics crates never use `{word}`"));
            }
        }
    }
}

fn size(path: &str, text: &str, say: Say<'_>) {
    let lines = text.lines().count();
    if is_rust(path) && lines > LONGEST {
        say(1, format!("{lines} lines; {LONGEST} fit one head"));
    }
}

fn head_comment(path: &str, text: &str, say: Say<'_>) {
    let root = path.ends_with("/lib.rs") || path.ends_with("/main.rs");
    if is_rust(path) && (root || text.lines().count() > 40) && !text.starts_with("//!") {
        say(1, "a file begins with `//!` and what it is for".into());
    }
}

/// Spelled in halves so that this file does not carry what it looks for.
const MARKS: [&str; 9] = [
    concat!("/wor", "k/"),
    concat!("/roo", "t/"),
    concat!("/hom", "e/"),
    concat!("/tm", "p/"),
    concat!("../sha", "red"),
    concat!("TO", "DO"),
    concat!("FIX", "ME"),
    concat!("unimplement", "ed!"),
    concat!("to", "do!("),
];

/// No machine paths, no unfinished marks.
fn traces(path: &str, text: &str, say: Say<'_>) {
    if path.starts_with("xtask/src/tidy/") || path.ends_with(".lock") {
        return;
    }
    for (n, line) in text.lines().enumerate() {
        for mark in MARKS {
            if line.contains(mark) {
                say(n + 1, format!("`{mark}` does not belong in the tree"));
            }
        }
    }
}

/// Allowed lints carry a reason; tests are not ignored; hash tables iterate in no order.
fn attributes(path: &str, text: &str, say: Say<'_>) {
    if !is_rust(path) || path.starts_with("xtask/src/tidy/") {
        return;
    }
    let lines: Vec<&str> = text.lines().collect();
    for (n, line) in lines.iter().enumerate() {
        let attribute = ["#[allow(", "#![allow(", "#[expect(", "#![expect("];
        if attribute.iter().any(|a| line.trim_start().starts_with(a)) {
            let end = (n + 6).min(lines.len());
            let whole = lines[n..end].join(" ");
            let attribute = whole.split(")]").next().unwrap_or(&whole);
            if !attribute.contains("reason") {
                say(n + 1, "an allowed lint says why: `reason = \"…\"`".into());
            }
        }
        if line.contains("#[ignore") {
            say(n + 1, "no test is ignored".into());
        }
        if line.contains("HashMap") || line.contains("HashSet") {
            say(n + 1, "hash tables iterate in no order: use a B-tree".into());
        }
    }
}

fn spaces(path: &str, text: &str, say: Say<'_>) {
    let checked = [".rs", ".md", ".toml", ".py", ".css", ".ts"].iter().any(|e| path.ends_with(e));
    if !checked {
        return;
    }
    for (n, line) in text.lines().enumerate() {
        if line.ends_with([' ', '\t']) {
            say(n + 1, "trailing space".into());
        }
    }
}

/// Links from Markdown to files of the tree resolve.
pub(crate) fn links(file: &Source, files: &[Source], say: Say<'_>) {
    if !file.path.ends_with(".md") {
        return;
    }
    let folder = file.path.rsplit_once('/').map_or("", |p| p.0);
    for (n, line) in file.text.lines().enumerate() {
        for (i, _) in line.match_indices("](") {
            let target = line[i + 2..].split([')', '#', ' ']).next().unwrap_or("");
            if target.is_empty() || target.contains("://") || target.starts_with("mailto:") {
                continue;
            }
            let mut parts: Vec<&str> =
                if folder.is_empty() { Vec::new() } else { folder.split('/').collect() };
            for p in target.trim_end_matches('/').split('/') {
                match p {
                    "." => {}
                    ".." => {
                        parts.pop();
                    }
                    p => parts.push(p),
                }
            }
            let path = parts.join("/");
            let inside = format!("{path}/");
            if !files.iter().any(|f| f.path == path || f.path.starts_with(&inside)) {
                say(n + 1, format!("`{target}` leads nowhere"));
            }
        }
    }
}

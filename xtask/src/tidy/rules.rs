//! Rules on the text of single files. What they look for is spelled in halves here, so that this file
//! needs no exception from its own rules.

type Say<'a> = &'a mut dyn FnMut(usize, String);
type Rule = fn(&str, &str, Say<'_>);

/// Rules that need one file only.
pub(crate) const ALL: [Rule; 10] = [
    physics_free,
    silent_mechanics,
    one_precision,
    size,
    head_comment,
    machine_paths,
    unfinished,
    reasons,
    unordered,
    spaces,
];

/// Longest source file, lines.
pub(crate) const LONGEST: usize = 700;

/// Modules shorter than this need no head comment.
pub(crate) const HEADLESS: usize = 25;

fn is_rust(path: &str) -> bool {
    path.ends_with(".rs")
}

fn is_test(path: &str) -> bool {
    path.split('/').any(|p| matches!(p, "tests" | "examples" | "tests.rs") || p.starts_with("tests_"))
}

/// Whether `path` lies in a crate whose numbers are answers.
fn mechanics(path: &str) -> bool {
    ["quantity", "specimen", "solve", "shell", "answers"]
        .iter()
        .any(|c| path.strip_prefix("crates/").is_some_and(|p| p.starts_with(&format!("{c}/"))))
}

/// Lines before the `#[cfg(test)]` module, numbered from 1, comments left out.
fn shipped(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let end = text.find("#[cfg(test)]\nmod tests {").unwrap_or(text.len());
    text[..end]
        .lines()
        .enumerate()
        .map(|(i, l)| (i + 1, l))
        .filter(|(_, l)| !l.trim_start().starts_with("//"))
}

/// The words of a line in small letters; `RimSprings`, `rim_slope` and `rim-slope` are two words each.
fn words(line: &str) -> Vec<String> {
    let mut out = vec![String::new()];
    let mut small = false;
    for c in line.chars() {
        let breaks = !c.is_alphanumeric() || (small && c.is_uppercase());
        if breaks {
            out.push(String::new());
        }
        if c.is_alphanumeric()
            && let Some(word) = out.last_mut()
        {
            word.extend(c.to_lowercase());
        }
        small = c.is_lowercase();
    }
    out.retain(|w| !w.is_empty());
    out
}

/// `solve` knows no physics.
fn physics_free(path: &str, text: &str, say: Say<'_>) {
    if !path.starts_with("crates/solve/src/") && path != "crates/solve/Cargo.toml" {
        return;
    }
    for (n, line) in text.lines().enumerate() {
        for word in words(line) {
            if ["shell", "rim", "cap", "snap"].iter().any(|w| word == *w || word == format!("{w}s")) {
                say(n + 1, format!("`solve` never says `{word}`"));
            }
        }
    }
}

/// Mechanics neither print, nor read files, nor look at the clock or the surroundings.
fn silent_mechanics(path: &str, text: &str, say: Say<'_>) {
    if !mechanics(path) || !is_rust(path) || is_test(path) {
        return;
    }
    const NAMES: [&str; 5] = ["fs", "time", "env", "net", "process"];
    for (n, line) in shipped(text) {
        for call in ["println!", "print!", "dbg!", "stdout()", "stderr()", "stdin()"] {
            if line.contains(call) {
                say(n, format!("mechanics crates never use `{call}`"));
            }
        }
        let grouped = line.contains("std::{");
        for name in NAMES {
            let named = line.match_indices("std::").any(|(i, _)| {
                let rest = &line[i + 5..];
                let after = rest.strip_prefix(name).map(|r| r.chars().next());
                after.is_some_and(|c| c.is_none_or(|c| !c.is_alphanumeric() && c != '_'))
            });
            if named || (grouped && words(line).iter().any(|w| w == name)) {
                say(n, format!("mechanics crates never use `std::{name}`"));
            }
        }
    }
}

/// Mechanics compute in one precision.
fn one_precision(path: &str, text: &str, say: Say<'_>) {
    if !mechanics(path) || !is_rust(path) {
        return;
    }
    let short = concat!("f", "32");
    for (n, line) in text.lines().enumerate() {
        let found = line.match_indices(short).any(|(i, _)| {
            let before = line[..i].chars().next_back().is_some_and(char::is_alphabetic);
            let after = line[i + short.len()..].chars().next().is_some_and(char::is_alphanumeric);
            !before && !after
        });
        if found {
            say(n + 1, format!("mechanics crates never use `{short}`"));
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
    let long = text.lines().count() >= HEADLESS;
    if is_rust(path) && (root || (long && !is_test(path))) && !text.starts_with("//!") {
        say(1, "a file begins with `//!` and what it is for".into());
    }
}

/// Folders of the machine a file was written on.
const FOLDERS: [&str; 4] =
    [concat!("/wo", "rk"), concat!("/ro", "ot"), concat!("/ho", "me"), concat!("/t", "mp")];

/// No absolute path of somebody's machine. A folder of that name inside a longer path is another thing.
fn machine_paths(path: &str, text: &str, say: Say<'_>) {
    if path.ends_with(".lock") {
        return;
    }
    for (n, line) in text.lines().enumerate() {
        for folder in FOLDERS {
            let inner = |c: char| c.is_alphanumeric() || "._-)}".contains(c);
            let found = line.match_indices(folder).any(|(i, _)| {
                let before = line[..i].chars().next_back().is_some_and(inner);
                let after = line[i + folder.len()..].chars().next();
                !before && !after.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == '-')
            });
            if found {
                say(n + 1, format!("`{folder}` is a path of one machine"));
            }
        }
        for outside in [concat!("../sha", "red"), concat!("/sha", "red/")] {
            if line.contains(outside) {
                say(n + 1, format!("`{outside}` is not in the tree"));
            }
        }
    }
}

/// Marks of work left undone.
const MARKS: [&str; 4] =
    [concat!("TO", "DO"), concat!("FIX", "ME"), concat!("unimpl", "emented!"), concat!("to", "do!")];

fn unfinished(_: &str, text: &str, say: Say<'_>) {
    for (n, line) in text.lines().enumerate() {
        for mark in MARKS {
            if line.contains(mark) {
                say(n + 1, format!("`{mark}` marks work left undone"));
            }
        }
        if line.contains(concat!("#[ign", "ore")) {
            say(n + 1, "no test is ignored".into());
        }
    }
}

/// What stands between the parenthesis that opens `text` and its partner; strings are stepped over.
fn bracketed(text: &str) -> &str {
    let (mut depth, mut quoted, mut escaped) = (0_u32, false, false);
    for (i, c) in text.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' if quoted => escaped = true,
            '"' => quoted = !quoted,
            '(' if !quoted => depth += 1,
            ')' if !quoted => {
                depth = depth.saturating_sub(1);
                if depth == 0 {
                    return &text[..i];
                }
            }
            _ => {}
        }
    }
    text
}

/// Allowed and expected lints carry a reason, also inside `cfg_attr`.
fn reasons(path: &str, text: &str, say: Say<'_>) {
    if !is_rust(path) {
        return;
    }
    let mut at = 0;
    for (n, line) in text.split_inclusive('\n').enumerate() {
        let start = line.trim_start();
        let attribute = start.starts_with("#[") || start.starts_with("#![");
        for name in ["allow(", "expect("] {
            // A line of its own inside a longer `cfg_attr`.
            let alone = name == "allow(" && start.starts_with(name);
            for (i, _) in line.match_indices(name) {
                let word =
                    line[..i].chars().next_back().is_some_and(|c| c.is_alphanumeric() || "._".contains(c));
                let inside = bracketed(&text[at + i + name.len() - 1..]);
                if (attribute || alone) && !word && !inside.contains("reason =") {
                    say(n + 1, "an allowed lint says why: `reason = \"…\"`".into());
                }
            }
        }
        at += line.len();
    }
}

/// Hash tables iterate in no order.
fn unordered(path: &str, text: &str, say: Say<'_>) {
    if !is_rust(path) {
        return;
    }
    for (n, line) in text.lines().enumerate() {
        for kind in [concat!("Hash", "Map"), concat!("Hash", "Set")] {
            if line.contains(kind) {
                say(n + 1, "hash tables iterate in no order: use a B-tree".into());
            }
        }
    }
}

fn spaces(path: &str, text: &str, say: Say<'_>) {
    let checked = [".rs", ".md", ".toml", ".py", ".css", ".ts", ".json", ".csv", "/run"]
        .iter()
        .any(|e| path.ends_with(e));
    if !checked {
        return;
    }
    for (n, line) in text.lines().enumerate() {
        if line.ends_with([' ', '\t']) {
            say(n + 1, "trailing space".into());
        }
    }
}

//! Rules on Cargo.toml files: which crate may use which.

use toml::{Table, Value};

/// What a crate of the workspace may depend on (dev-dependencies are free).
const ARROWS: [(&str, &[&str]); 21] = [
    ("crates/features", &[]),
    ("crates/quantity", &[]),
    ("crates/specimen", &["calotte-quantity"]),
    ("crates/solve", &[]),
    ("crates/chance", &[]),
    ("crates/solid", &[]),
    (
        "crates/make",
        &[
            "calotte-answers",
            "calotte-chance",
            "calotte-desk",
            "calotte-figures",
            "calotte-paper",
            "calotte-quantity",
            "calotte-solid",
            "calotte-solve",
            "calotte-specimen",
        ],
    ),
    ("crates/shell", &["calotte-solve", "calotte-specimen"]),
    ("crates/answers", &["calotte-chance", "calotte-shell", "calotte-solve", "calotte-specimen"]),
    ("crates/lab", &["calotte-answers", "calotte-chance", "calotte-quantity", "calotte-specimen"]),
    ("crates/figures", &["calotte-answers", "calotte-lab"]),
    ("crates/paper", &["calotte-figures"]),
    ("crates/runs", &[]),
    ("crates/export", &["calotte-answers", "calotte-runs", "calotte-solid", "calotte-specimen"]),
    (
        "crates/desk",
        &["calotte-answers", "calotte-figures", "calotte-quantity", "calotte-runs", "calotte-specimen"],
    ),
    (
        "crates/sweep",
        &[
            "calotte-answers",
            "calotte-chance",
            "calotte-desk",
            "calotte-quantity",
            "calotte-runs",
            "calotte-solve",
            "calotte-specimen",
        ],
    ),
    (
        "crates/report",
        &[
            "calotte-answers",
            "calotte-desk",
            "calotte-figures",
            "calotte-paper",
            "calotte-quantity",
            "calotte-specimen",
        ],
    ),
    ("crates/workbench", &["calotte-desk", "calotte-figures", "calotte-specimen"]),
    (
        "crates/cli",
        &[
            "calotte-answers",
            "calotte-desk",
            "calotte-export",
            "calotte-features",
            "calotte-figures",
            "calotte-lab",
            "calotte-make",
            "calotte-paper",
            "calotte-quantity",
            "calotte-report",
            "calotte-runs",
            "calotte-specimen",
            "calotte-sweep",
            "calotte-workbench",
        ],
    ),
    ("crates/oracle", &[]),
    ("bench/ratios", &["calotte-answers", "calotte-shell", "calotte-solve", "calotte-specimen"]),
];

/// Libraries that would do our work; numerics are written here.
const MATRIX: [&str; 6] = ["nalgebra", "faer", "ndarray", "sprs", "argmin", "diffsol"];

/// A dependency under its real name, with the key it is written under.
struct Dependency {
    key: String,
    package: String,
    for_tests: bool,
}

fn read(table: &Table, out: &mut Vec<Dependency>) {
    for section in ["dependencies", "dev-dependencies", "build-dependencies"] {
        for (key, value) in table.get(section).and_then(Value::as_table).into_iter().flatten() {
            let package = value.get("package").and_then(Value::as_str).unwrap_or(key).to_owned();
            out.push(Dependency { key: key.clone(), package, for_tests: section == "dev-dependencies" });
        }
    }
}

/// Dependencies of every section, those of single platforms and of the workspace included.
fn dependencies(table: &Table) -> Vec<Dependency> {
    let mut out = Vec::new();
    read(table, &mut out);
    for (_, platform) in table.get("target").and_then(Value::as_table).into_iter().flatten() {
        if let Some(t) = platform.as_table() {
            read(t, &mut out);
        }
    }
    if let Some(t) = table.get("workspace").and_then(Value::as_table) {
        // Shared versions, no arrows: only the libraries matter.
        let from = out.len();
        read(t, &mut out);
        out[from..].iter_mut().for_each(|d| d.for_tests = true);
    }
    out
}

pub(crate) fn check(path: &str, text: &str, say: &mut dyn FnMut(usize, String)) {
    if path != "Cargo.toml" && !path.ends_with("/Cargo.toml") {
        return;
    }
    let folder = path.strip_suffix("/Cargo.toml").unwrap_or("");
    let Ok(table) = text.parse::<Table>() else {
        say(1, "is not TOML".into());
        return;
    };
    let line_of = |name: &str| text.lines().position(|l| l.starts_with(name)).map_or(1, |i| i + 1);
    let arrows = ARROWS.iter().find(|a| a.0 == folder).map(|a| a.1);
    if folder.starts_with("crates/") && arrows.is_none() {
        say(1, format!("{folder} has no place in the arrows of xtask/src/tidy/manifests.rs"));
    }
    for d in dependencies(&table) {
        let (name, line) = (d.package.as_str(), line_of(&d.key));
        if MATRIX.contains(&name) {
            say(line, format!("{name}: matrices and solvers are written in `solve`"));
        }
        if d.for_tests {
            continue;
        }
        if name == "num-dual" {
            say(line, "num-dual is an oracle for tests: a dev-dependency".into());
        }
        if name == "calotte-oracle" && folder != "xtask" {
            say(line, "known answers are for tests: a dev-dependency".into());
        }
        let ours = name.starts_with("calotte") || name == "xtask";
        if ours && arrows.is_some_and(|allowed| !allowed.contains(&name)) {
            say(line, format!("{folder} must not depend on {name}"));
        }
    }
    let features = table.get("features").and_then(Value::as_table).is_some_and(|t| !t.is_empty());
    if features && arrows.is_some() {
        say(line_of("[features]"), "no cargo feature changes a number: none here".into());
    }
}

//! Rules on Cargo.toml files: which crate may use which.

/// What a crate of the workspace may depend on (dev-dependencies are free).
const ARROWS: [(&str, &[&str]); 9] = [
    ("crates/quantity", &[]),
    ("crates/specimen", &["calotte-quantity"]),
    ("crates/solve", &[]),
    ("crates/shell", &["calotte-solve", "calotte-specimen"]),
    ("crates/answers", &["calotte-shell", "calotte-solve", "calotte-specimen"]),
    ("crates/figures", &["calotte-answers"]),
    ("crates/cli", &["calotte-answers", "calotte-figures", "calotte-specimen"]),
    ("crates/oracle", &[]),
    ("bench/ratios", &["calotte-answers", "calotte-shell", "calotte-solve", "calotte-specimen"]),
];

/// Libraries that would do our work; numerics are written here.
const MATRIX: [&str; 6] = ["nalgebra", "faer", "ndarray", "sprs", "argmin", "diffsol"];

pub(crate) fn check(path: &str, text: &str, say: &mut dyn FnMut(usize, String)) {
    let Some(folder) = path.strip_suffix("/Cargo.toml") else { return };
    let Ok(table) = text.parse::<toml::Table>() else {
        say(1, "is not TOML".into());
        return;
    };
    let names = |key: &str| -> Vec<String> {
        let Some(t) = table.get(key).and_then(toml::Value::as_table) else { return Vec::new() };
        t.keys().cloned().collect()
    };
    let line_of = |name: &str| text.lines().position(|l| l.starts_with(name)).map_or(1, |i| i + 1);
    if folder.starts_with("crates/") && !ARROWS.iter().any(|a| a.0 == folder) {
        say(1, format!("{folder} has no place in the arrows of xtask/src/tidy/manifests.rs"));
    }
    if names("dependencies").iter().any(|d| d == "num-dual") {
        say(line_of("num-dual"), "num-dual is an oracle for tests: a dev-dependency".into());
    }
    if let Some((_, allowed)) = ARROWS.iter().find(|a| a.0 == folder) {
        for d in names("dependencies") {
            if (d.starts_with("calotte") || d == "xtask") && !allowed.contains(&d.as_str()) {
                say(line_of(&d), format!("{folder} must not depend on {d}"));
            }
        }
        if !names("features").is_empty() {
            say(line_of("[features]"), "no cargo feature changes a number: none here".into());
        }
    }
    for key in ["dependencies", "dev-dependencies", "build-dependencies"] {
        for d in names(key) {
            if MATRIX.contains(&d.as_str()) {
                say(line_of(&d), format!("{d}: matrices and solvers are written in `solve`"));
            }
        }
    }
}

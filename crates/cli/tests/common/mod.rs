//! Running the binary in a folder of its own.

#![allow(dead_code, reason = "each test binary uses a part of these helpers")]
#![allow(clippy::unwrap_used, reason = "helpers of tests, outside a #[test] function")]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};

/// A folder that goes away with the value.
pub(crate) struct Folder(pub(crate) PathBuf);

impl Folder {
    pub(crate) fn new() -> Self {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let name = format!("calotte-test-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
        let path = std::env::temp_dir().join(name);
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    pub(crate) fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> &Self {
        fs::write(self.0.join(name), bytes).unwrap();
        self
    }

    /// Names in the folder, sorted.
    pub(crate) fn names(&self) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(&self.0).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    pub(crate) fn run(&self, arguments: &[&str]) -> Ran {
        Ran::of(&self.0, arguments)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// A finished run.
pub(crate) struct Ran {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Ran {
    pub(crate) fn of(folder: &Path, arguments: &[&str]) -> Self {
        let Output { status, stdout, stderr } = Command::new(env!("CARGO_BIN_EXE_calotte"))
            .args(arguments)
            .current_dir(folder)
            .stdin(Stdio::null())
            .output()
            .unwrap();
        let ran = Self {
            code: status.code().unwrap(),
            out: String::from_utf8(stdout).unwrap(),
            err: String::from_utf8(stderr).unwrap(),
        };
        assert!(!ran.err.contains("panicked"), "{}", ran.err);
        ran
    }
}

/// The workspace's root.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Case folder and expected verdict.
pub(crate) const CASES: [(&str, &str); 21] = [
    ("cap-with-hole", "STAYS"),
    ("clamped-dome", "RETURNS"),
    ("deep-cap", "STAYS"),
    ("elastic-rim", "RETURNS"),
    ("jumping-cap", "WAITS"),
    ("logbook", "STAYS"),
    ("key-dome", "RETURNS"),
    ("measured-cap", "STAYS"),
    ("metal-dome", "RETURNS"),
    ("pet-lid-clicks", "RETURNS"),
    ("poked-back", "STAYS"),
    ("pressed-lid", "STAYS"),
    ("propagator-cutout", "RETURNS"),
    ("pushed-over-cap", "STAYS"),
    ("silicone-cap-shallower", "RETURNS"),
    ("silicone-cap-stays", "STAYS"),
    ("silicone-cap-thicker", "RETURNS"),
    ("sized-stopper", "STAYS"),
    ("steel-cap-on-ring", "RETURNS"),
    ("tapered-wall", "RETURNS"),
    ("wall-table", "STAYS"),
];

/// Cases of lines and arcs, and how their list of states begins.
pub(crate) const STATES: [(&str, &str); 3] = [
    ("camp-bowl", "5 STABLE STATES"),
    ("clutch-detent", "1 STABLE STATE"),
    ("marine-handset-key", "2 STABLE STATES"),
];

/// Cases with a `[load]` table and what a poke says first.
pub(crate) const POKES: [(&str, &str); 7] = [
    ("clutch-detent", "TRIPS"),
    ("key-dome", "TRIPS"),
    ("logbook", "TRIPS"),
    ("marine-handset-key", "FOLLOWS"),
    ("metal-dome", "TRIPS"),
    ("poked-back", "TRIPS"),
    ("pressed-lid", "TRIPS"),
];

/// Cases with a `[heat]` table and what the heat says first.
pub(crate) const HEATS: [(&str, &str); 1] = [("propagator-cutout", "TRIPS")];

/// Cases with a `[memory]`, `[hold]` or `[surroundings]` and what a release says first.
pub(crate) const RELEASES: [(&str, &str); 4] = [
    ("jumping-cap", "WAITS"),
    ("logbook", "STAYS"),
    ("pet-lid-clicks", "RETURNS"),
    ("pushed-over-cap", "STAYS"),
];

/// The worked map: case, and the rest of the command.
pub(crate) const MAP: (&str, &[&str]) = (
    "silicone-cap-stays",
    &[
        "--x",
        "depth=40deg..70deg",
        "--y",
        "wall.thickness=1mm..4mm",
        "--specimens",
        "cases/silicone-cap-stays/specimens.csv",
    ],
);

/// A file of the workspace.
pub(crate) fn text(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap()
}

/// The same as bytes.
pub(crate) fn bytes(path: &str) -> Vec<u8> {
    fs::read(root().join(path)).unwrap()
}

/// JSON that must be read.
pub(crate) fn parse(text: &str) -> serde_json::Value {
    serde_json::from_str(text).unwrap()
}

/// The answer to a case of the workspace as JSON.
pub(crate) fn json(name: &str) -> serde_json::Value {
    let ran = Ran::of(&root(), &["verdict", &format!("cases/{name}/case.toml"), "--json"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{name}");
    parse(&ran.out)
}

/// Every key below `v`, but not what lies under keys in `closed` (described elsewhere).
pub(crate) fn key_names<'v>(v: &'v serde_json::Value, closed: &[&str], out: &mut BTreeSet<&'v str>) {
    match v {
        serde_json::Value::Object(map) => {
            for (k, v) in map {
                out.insert(k);
                if !closed.contains(&k.as_str()) {
                    key_names(v, closed, out);
                }
            }
        }
        serde_json::Value::Array(items) => items.iter().for_each(|v| key_names(v, closed, out)),
        _ => {}
    }
}

/// Words between backticks in the key table of a page.
pub(crate) fn documented(page: &str, values: &[&str]) -> BTreeSet<String> {
    let page = text(page);
    let table = page.split("\n## JSON\n").nth(1).unwrap();
    let rows = table.lines().filter(|l| l.starts_with("| `"));
    rows.flat_map(|row| row.split('`').skip(1).step_by(2))
        .filter(|word| !values.contains(word))
        .map(str::to_owned)
        .collect()
}

pub(crate) fn answer(folder: &Path, arguments: &[&str]) -> serde_json::Value {
    let ran = Ran::of(folder, arguments);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{arguments:?}");
    parse(&ran.out)
}

/// Random whole numbers below a bound, the same on every run.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn roll(&mut self, below: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % below
    }
}

/// A valid case.
pub(crate) const GOOD: &str = r#"title = "Test"
[shape]
kind = "cap"
radius = "25 mm"
half_angle = "60 ± 1 deg"
[wall]
thickness = "2.1 mm"
[material]
youngs_modulus = "1.2 MPa ± 10 %"
poisson_ratio = 0.49
[rim]
kind = "free"
"#;

//! The worked cases: golden output, verdicts, figures, JSON.

mod common;

use std::fs;

use common::{Folder, GOOD, Ran, root};
use serde_json::Value;

/// Case folder and expected verdict.
const CASES: [(&str, &str); 10] = [
    ("cap-with-hole", "STAYS"),
    ("clamped-dome", "RETURNS"),
    ("deep-cap", "STAYS"),
    ("elastic-rim", "RETURNS"),
    ("measured-cap", "STAYS"),
    ("silicone-cap-shallower", "RETURNS"),
    ("silicone-cap-stays", "STAYS"),
    ("silicone-cap-thicker", "RETURNS"),
    ("steel-cap-on-ring", "RETURNS"),
    ("tapered-wall", "RETURNS"),
];

/// `UPDATE_CASES=1` writes the outputs anew; look at what changed.
#[test]
fn worked_cases_print_what_is_kept() {
    let update = std::env::var_os("UPDATE_CASES").is_some();
    for (name, verdict) in CASES {
        let case = format!("cases/{name}/case.toml");
        let ran = Ran::of(&root(), &["verdict", &case]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{name}");
        assert!(ran.out.starts_with(&format!("{verdict}: ")), "{name}: {}", ran.out);
        assert!(ran.out.contains("invented"), "{name} does not say that it is invented");
        let kept = root().join(format!("cases/{name}/answer.txt"));
        if update {
            fs::write(&kept, &ran.out).unwrap();
        }
        assert_eq!(fs::read_to_string(&kept).unwrap(), ran.out, "{name}: run with UPDATE_CASES=1");
    }
    let mut folders: Vec<String> = fs::read_dir(root().join("cases"))
        .unwrap()
        .map(|e| e.unwrap())
        .filter(|e| e.path().is_dir())
        .map(|e| e.file_name().into_string().unwrap())
        .collect();
    folders.sort();
    assert_eq!(folders, CASES.map(|c| c.0.to_owned()), "every case is listed here");
}

#[test]
fn json_is_whole_deterministic_and_documented() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let (a, b) =
        (folder.run(&["verdict", "case.toml", "--json"]), folder.run(&["verdict", "case.toml", "--json"]));
    assert_eq!(a.code, 0);
    assert_eq!(a.out, b.out);
    let v: Value = serde_json::from_str(&a.out).unwrap();
    assert_eq!(v["schema_version"], 1);
    assert_eq!(v["verdict"], "stays");
    assert_eq!(v["provenance"]["program"], "calotte");
    assert!((v["part"]["sphere_radius_m"].as_f64().unwrap() - 0.025).abs() < 1e-15);
    assert!(v["inverted"]["stretching_energy_J"].as_f64().unwrap() > 0.0);
    let page = fs::read_to_string(root().join("docs/verdict.md")).unwrap();
    let mut keys = Vec::new();
    collect(&v, &mut keys);
    assert!(keys.len() > 90);
    for key in keys {
        assert!(page.contains(&format!("`{key}`")), "docs/verdict.md does not explain `{key}`");
    }
}

fn collect(v: &Value, keys: &mut Vec<String>) {
    match v {
        Value::Object(map) => {
            for (k, v) in map {
                keys.push(k.clone());
                collect(v, keys);
            }
        }
        Value::Array(items) => items.iter().for_each(|v| collect(v, keys)),
        _ => {}
    }
}

#[test]
fn out_writes_figures_and_answer() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let ran = folder.run(&["verdict", "case.toml", "--out", "made/here"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let made = Folder(folder.0.join("made/here"));
    let expected =
        ["answer.json", "branch.png", "branch.svg", "energy.png", "energy.svg", "shape.png", "shape.svg"];
    assert_eq!(made.names(), expected);
    for name in ["shape", "energy", "branch"] {
        let svg = fs::read_to_string(made.0.join(format!("{name}.svg"))).unwrap();
        assert!(svg.starts_with("<svg") || svg.starts_with("<?xml"));
        let png = fs::read(made.0.join(format!("{name}.png"))).unwrap();
        assert_eq!(&png[..8], b"\x89PNG\r\n\x1a\n");
    }
    let json: Value = serde_json::from_slice(&fs::read(made.0.join("answer.json")).unwrap()).unwrap();
    assert_eq!(json["verdict"], "stays");
    std::mem::forget(made); // the outer folder takes it along
}

#[test]
fn an_undecided_case_exits_with_one() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD.replace("2.1 mm", "7 mm").replace("60 ± 1 deg", "120 deg"));
    let ran = folder.run(&["verdict", "case.toml"]);
    assert_eq!(ran.code, 1);
    assert!(ran.out.starts_with("UNDECIDED") && ran.out.contains("Doubt:"), "{}", ran.out);
}

#[test]
fn template_is_written_once_and_runs() {
    let folder = Folder::new();
    assert_eq!(folder.run(&["new", "cap", "mine.toml"]).code, 0);
    assert_eq!(folder.run(&["verdict", "mine.toml"]).code, 0);
    let again = folder.run(&["new", "cap", "mine.toml"]);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("exists already"));
    assert_eq!(folder.names(), ["mine.toml"]);
}

#[test]
fn shelf_and_schema_are_printed() {
    let folder = Folder::new();
    let shelf = folder.run(&["shelf"]);
    assert!(shelf.code == 0 && shelf.out.contains("silicone-30") && shelf.out.contains("from memory"));
    let schema = folder.run(&["schema"]);
    let kept = fs::read_to_string(root().join("schema/case.schema.json")).unwrap();
    assert_eq!(schema.out.trim(), kept.trim());
}

//! The answer as JSON: whole, documented, the same on every run, units in the key names.

mod common;

use std::collections::{BTreeMap, BTreeSet};

use common::{CASES, Folder, GOOD, MAP, POKES, Ran, json, parse, root, text};
use serde_json::Value;

/// Endings that name a unit.
const UNITS: [&str; 9] = ["_m", "_rad", "_J", "_Pa", "_N", "_Hz", "_kg_per_m3", "_J_per_m2", "_si"];

/// Keys of pure numbers and counts.
const PURE: [&str; 43] = [
    "assemblies",
    "directionals",
    "elements_coarse",
    "elements_fine",
    "energies",
    "energy_difference",
    "energy_ratio",
    "factorisations",
    "fold",
    "fold_bracket",
    "fold_residual",
    "governing_n",
    "half_width",
    "height_ratio",
    "lambda",
    "lambda_ratio",
    "largest_bending",
    "largest_membrane",
    "largest_surface",
    "limit",
    "lip_width_over_root_Rh",
    "mesh_difference",
    "n",
    "negative",
    "points",
    "poisson_ratio",
    "relative_slope",
    "residual",
    "rigid",
    "rim_hoop",
    "rim_meridional",
    "ripple_difference",
    "rise_ratio",
    "schema_version",
    "smallest_eigenvalue",
    "solves",
    "thickness_ratio",
    "thickness_ratio_half_width",
    "thickness_ratio_high",
    "thickness_ratio_low",
    "threshold_difference",
    "threshold_lambda",
    "value",
];

/// Words in the key table of the page that are values, not keys.
const VALUES: [&str; 4] = ["null", "returns", "stays", "undecided"];

/// Every key with whether a number stood under it, over all worked cases, an undecided one and `GOOD`.
fn keys() -> BTreeMap<String, bool> {
    let mut keys = BTreeMap::new();
    for (name, _) in CASES {
        collect(&json(name), &mut keys);
    }
    let folder = Folder::new();
    folder.write("case.toml", GOOD.replace("2.1 mm", "7 mm").replace("60 ± 1 deg", "120 deg"));
    let ran = folder.run(&["verdict", "case.toml", "--json"]);
    assert_eq!(ran.code, 1);
    let undecided = parse(&ran.out);
    assert_eq!(undecided["verdict"], "undecided");
    assert!(undecided["doubts"].as_array().is_some_and(|d| !d.is_empty()));
    collect(&undecided, &mut keys);
    keys
}

fn collect(v: &Value, keys: &mut BTreeMap<String, bool>) {
    match v {
        Value::Object(map) => {
            for (k, v) in map {
                let numbers = v.is_number()
                    || v.as_array().is_some_and(|a| !a.is_empty() && a.iter().all(Value::is_number));
                *keys.entry(k.clone()).or_default() |= numbers;
                collect(v, keys);
            }
        }
        Value::Array(items) => {
            assert!(!items.iter().any(Value::is_null), "a number in a column is not finite");
            items.iter().for_each(|v| collect(v, keys));
        }
        _ => {}
    }
}

#[test]
fn every_key_is_documented_and_every_documented_key_appears() {
    let page = text("docs/verdict.md");
    let seen = keys();
    let table = page.split("\n## JSON\n").nth(1).unwrap();
    let rows = table.lines().filter(|l| l.starts_with("| `"));
    let documented: BTreeSet<&str> = rows
        .flat_map(|row| row.split('`').skip(1).step_by(2))
        .filter(|word| !VALUES.contains(word))
        .collect();
    let seen: BTreeSet<&str> = seen.keys().map(String::as_str).collect();
    assert_eq!(documented, seen, "docs/verdict.md (left) against the answers (right)");
    assert!(seen.len() > 90, "{}", seen.len());
}

#[test]
fn keys_of_numbers_name_their_unit_or_are_known_as_pure() {
    let numbers: BTreeSet<String> = keys().into_iter().filter(|(_, n)| *n).map(|(k, _)| k).collect();
    let pure: BTreeSet<String> =
        numbers.iter().filter(|k| !UNITS.iter().any(|u| k.ends_with(u))).cloned().collect();
    assert_eq!(pure, PURE.iter().map(|k| (*k).to_owned()).collect());
    assert!(numbers.len() > pure.len() + 25);
}

#[test]
fn the_same_bytes_on_every_run() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let first = folder.run(&["verdict", "case.toml", "--json"]);
    assert_eq!((first.code, first.err.as_str()), (0, ""));
    assert_eq!(first.out, folder.run(&["verdict", "case.toml", "--json"]).out);
    let elsewhere = Folder::new();
    elsewhere.write("renamed.toml", GOOD);
    assert_eq!(first.out, elsewhere.run(&["verdict", "renamed.toml", "--json"]).out, "the place shows");
    assert_eq!(folder.names(), ["case.toml"], "something was written");
}

#[test]
fn numbers_agree_with_the_case_and_with_each_other() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let v = parse(&folder.run(&["verdict", "case.toml", "--json"]).out);
    let at = |path: &str| v.pointer(path).and_then(Value::as_f64).unwrap();
    let near = |path: &str, want: f64, relative: f64| {
        let got = at(path);
        assert!((got / want - 1.0).abs() < relative, "{path}: {got}, not {want}");
    };
    assert_eq!(v["schema_version"], 1);
    assert_eq!(v["verdict"], "stays");
    assert_eq!(v["provenance"]["program"], "calotte");
    near("/part/sphere_radius_m", 0.025, 1e-14);
    near("/part/half_angle_rad", std::f64::consts::FRAC_PI_3, 1e-14);
    near("/part/rise_m", 0.0125, 1e-14);
    near("/part/youngs_modulus_Pa", 1.2e6, 1e-14);
    near("/margin/thickness_ratio", 0.0021 / at("/margin/threshold_thickness_m"), 1e-12);
    near("/margin/lambda_ratio", 1.0 / at("/margin/thickness_ratio").sqrt(), 1e-12);
    let (inverted, saddle) = ("/inverted/stretching_energy_J", "/inverted/saddle_energy_J");
    near(saddle, at(inverted) + at("/inverted/bending_energy_J") + at("/inverted/barrier_J"), 1e-9);
    let (lip, last) = (at("/inverted/lip_width_m"), at("/part/arc_length_m"));
    near("/inverted/curvature_sign_changes_m/0", last - lip, 1e-9);
    let columns = ["s_m", "r_m", "z_m", "slope_rad", "thickness_m"];
    for place in ["/part/meridian", "/inverted/meridian", "/inverted/saddle_meridian"] {
        let m = v.pointer(place).unwrap();
        let lengths: BTreeSet<usize> = columns.iter().map(|c| m[c].as_array().unwrap().len()).collect();
        assert!(lengths.len() == 1 && lengths.first().unwrap() > &20, "{place}: {lengths:?}");
    }
    let fold = v["branch"]["fold"].as_u64().unwrap() as usize;
    let points = v["branch"]["points"].as_array().unwrap();
    assert!(points[..fold].iter().all(|p| p["negative"] == 0) && fold > 5);
    assert!(points[fold + 1..].iter().all(|p| p["negative"] == 1) && points.len() > fold + 6);
}

/// What is not there is `null`, never a number made up.
#[test]
fn absent_parts_are_null() {
    let v = json("silicone-cap-thicker");
    assert!(v["inverted"].is_null() && v["eversion"].is_null() && v["margin"].is_object());
    assert!(v["margin"]["thickness_ratio"].as_f64().unwrap() > 1.0);
    let v = json("clamped-dome");
    assert!(v["inverted"].is_null() && v["margin"].is_null() && v["branch"]["fold"].is_null());
    assert!(v["eversion"]["least_force_N"].as_f64().unwrap() > 0.0);
    let v = json("cap-with-hole");
    assert!(v["part"]["density_kg_per_m3"].is_null());
    assert!(v["ripples"].as_array().unwrap().iter().all(|r| r["frequency_Hz"].is_null()));
    assert!((v["part"]["hole_radius_m"].as_f64().unwrap() - 0.008).abs() < 1e-12);
}

/// Every key below `v`, but not what lies under keys in `closed` (described elsewhere).
fn names<'v>(v: &'v Value, closed: &[&str], out: &mut BTreeSet<&'v str>) {
    match v {
        Value::Object(map) => {
            for (k, v) in map {
                out.insert(k);
                if !closed.contains(&k.as_str()) {
                    names(v, closed, out);
                }
            }
        }
        Value::Array(items) => items.iter().for_each(|v| names(v, closed, out)),
        _ => {}
    }
}

/// Words between backticks in the key table of a page.
#[allow(clippy::unwrap_used, reason = "a helper of tests")]
fn documented(page: &str, values: &[&str]) -> BTreeSet<String> {
    let page = text(page);
    let table = page.split("\n## JSON\n").nth(1).unwrap();
    let rows = table.lines().filter(|l| l.starts_with("| `"));
    rows.flat_map(|row| row.split('`').skip(1).step_by(2))
        .filter(|word| !values.contains(word))
        .map(str::to_owned)
        .collect()
}

fn answer(folder: &std::path::Path, arguments: &[&str]) -> Value {
    let ran = Ran::of(folder, arguments);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{arguments:?}");
    parse(&ran.out)
}

#[test]
fn keys_of_a_poke_are_those_of_its_page() {
    let values = [
        "null",
        "trips",
        "follows",
        "undecided",
        "load-peak",
        "load-valley",
        "displacement-limit",
        "displacement-return",
        "sideways",
        "sideways-regained",
        "no-load",
        "rim-lifts",
        "pole-lifts-off",
        "stop",
        "natural",
        "inverted",
        "start",
        "far",
        "displacement",
        "axisymmetric",
    ];
    let answers: Vec<Value> = POKES
        .iter()
        .map(|(name, _)| answer(&root(), &["poke", &format!("cases/{name}/case.toml"), "--json"]))
        .collect();
    let mut seen = BTreeSet::new();
    for v in &answers {
        names(v, &["provenance", "part", "meridian", "limits", "work"], &mut seen);
    }
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    assert_eq!(documented("docs/poke.md", &values), written, "docs/poke.md (left), answers (right)");
    assert!(written.len() > 70, "{}", written.len());
}

#[test]
fn keys_of_a_map_are_those_of_its_page() {
    let values = ["null", "depth", "stays", "returns", "undecided", "waits", "agrees", "within-tolerance"];
    let (name, options) = MAP;
    let case = format!("cases/{name}/case.toml");
    let arguments: Vec<&str> = ["map", &case, "--json"].iter().chain(options).copied().collect();
    let map = answer(&root(), &arguments);
    let folder = Folder::new();
    folder.write("case.toml", GOOD.replace("\"free\"", "\"ring\""));
    let arguments = ["map", "case.toml", "--json", "--trip-load", "1 N", "--grid", "2x2", "--out", "made"];
    let ran = folder.run(&arguments);
    assert!(matches!(ran.code, 0 | 1), "{}", ran.err);
    let gridded = parse(&ran.out);
    let mut seen = BTreeSet::new();
    for v in [&map, &gridded] {
        names(v, &["provenance"], &mut seen);
    }
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    assert_eq!(documented("docs/map.md", &values), written, "docs/map.md (left), answers (right)");
    assert!(written.len() > 40, "{}", written.len());
}

/// Creep, so that its keys have values; ratios and the worked relaxation for the others.
#[test]
fn keys_of_a_memory_are_those_of_its_page() {
    let folder = Folder::new();
    folder
        .write("creep.csv", "time_s,compliance_1/MPa\n1,1.1\n3,1.2\n10,1.3\n30,1.34\n100,1.35\n300,1.351\n");
    folder.write("ratio.csv", "time_min,ratio_%\n1,95\n2,92\n5,87\n10,84\n20,83\n50,82.9\n");
    let creep = answer(&folder.0, &["memory", "creep.csv", "--json"]);
    let ratio = answer(&folder.0, &["memory", "ratio.csv", "--json", "--accuracy", "1 %"]);
    let worked = answer(&root(), &["memory", "cases/relaxation.csv", "--json"]);
    let mut seen = BTreeSet::new();
    for v in [&creep, &ratio, &worked] {
        names(v, &[], &mut seen);
    }
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    let values = ["null", "youngs", "modulus", "ratio", "compliance", "_si"];
    assert_eq!(documented("docs/memory.md", &values), written, "docs/memory.md (left), answers (right)");
    assert!(creep["creep"].is_object() && creep["instantaneous_ratio"].is_null());
    assert!(ratio["instantaneous_modulus_Pa"].is_null() && ratio["instantaneous_ratio"].is_number());
    // Numbers of one answer agree with each other.
    let sum: f64 = worked["terms"].as_array().unwrap().iter().map(|t| t["share"].as_f64().unwrap()).sum();
    assert!((1.0 - sum - worked["share_left"].as_f64().unwrap()).abs() < 1e-12);
    let squares: Vec<f64> = worked["readings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| r["residual"].as_f64().unwrap().powi(2))
        .collect();
    let rms = (squares.iter().sum::<f64>() / squares.len() as f64).sqrt();
    assert!((rms / worked["residual_rms"].as_f64().unwrap() - 1.0).abs() < 1e-9, "{rms}");
    let again = answer(&root(), &["memory", "cases/relaxation.csv", "--json"]);
    assert_eq!(worked, again);
}

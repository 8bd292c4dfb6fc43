//! The answer as JSON: whole, documented, the same on every run, units in the key names.

mod common;

use std::collections::{BTreeMap, BTreeSet};

use common::{CASES, Folder, GOOD, RELEASES, answer, documented, json, key_names, parse, root, text};
use serde_json::Value;

/// Endings that name a unit.
const UNITS: [&str; 10] = ["_m", "_rad", "_s", "_J", "_Pa", "_N", "_Hz", "_kg_per_m3", "_J_per_m2", "_si"];

/// Keys of pure numbers and counts.
const PURE: [&str; 44] = [
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
    "loss",
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
const VALUES: [&str; 5] = ["null", "returns", "stays", "undecided", "waits"];

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
        key_names(v, &[], &mut seen);
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

/// Keys of pure numbers and counts in an answer about heat.
const HEAT_PURE: [&str; 32] = [
    "beyond",
    "checked",
    "contradicted",
    "depth_here_si",
    "depth_si",
    "depths_si",
    "drawn",
    "elements",
    "elements_fine",
    "followed_anew",
    "gap",
    "known",
    "largest_n",
    "last_step",
    "layers",
    "lost_crossings",
    "n",
    "no_part",
    "no_reset",
    "none",
    "schema_version",
    "share",
    "sideways_first",
    "sideways_unknown",
    "tripping",
    "uncounted",
    "unknown",
    "unstable",
    "unstable_n",
    "value",
    "waves_first",
    "waves_unknown",
];

/// Ranges of depth and thickness about the template's disc in which every part trips.
const SMALL: [&str; 2] = ["4.6deg..5.2deg", "0.15mm..0.18mm"];

#[test]
fn keys_of_an_answer_about_heat_are_those_of_its_page() {
    let values = [
        "null",
        "trips",
        "buckles",
        "follows",
        "undecided",
        "heating",
        "cooling",
        "axisymmetric",
        "sideways",
        "depth",
        "thickness",
        "as given",
        "before the trip",
        "after the trip",
        "before the reset",
        "after the reset",
        "--spread",
        "--map",
    ];
    let folder = Folder::new();
    let disc = text("crates/specimen/src/case/template_disc.toml");
    let pinned = disc.replace("# pin_gap =", "pin_gap =").replace("# pin_stiffness =", "pin_stiffness =");
    assert!(pinned != disc, "the template tells of a pin");
    folder.write("disc.toml", &disc).write("pinned.toml", pinned);
    let answers = [
        answer(&folder.0, &["heat", "disc.toml", "--spread", "40", "--json"]),
        answer(&folder.0, &["heat", "pinned.toml", "--json"]),
        // A map of parts that all trip: its columns have no gaps.
        answer(
            &folder.0,
            &[
                "heat",
                "disc.toml",
                "--map",
                "--grid",
                "3x3",
                "--depth",
                SMALL[0],
                "--thickness",
                SMALL[1],
                "--json",
            ],
        ),
    ];
    let closed = ["provenance", "part", "meridian", "limits", "work", "refinement"];
    let mut seen = BTreeSet::new();
    for v in &answers {
        key_names(v, &closed, &mut seen);
    }
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    assert_eq!(documented("docs/heat.md", &values), written, "docs/heat.md (left), answers (right)");
    assert!(written.len() > 80, "{}", written.len());
    let mut keys = BTreeMap::new();
    for v in &answers {
        let mut v = v.clone();
        let whole = v.as_object_mut().unwrap();
        for closed in ["provenance", "part", "shapes"] {
            whole.remove(closed).unwrap();
        }
        for closed in ["limits", "work", "refinement"] {
            whole["evidence"].as_object_mut().unwrap().remove(closed).unwrap();
        }
        collect(&v, &mut keys);
    }
    let numbers = keys.into_iter().filter(|(_, n)| *n).map(|(k, _)| k);
    let unit = |k: &str| {
        ["_K", "_m", "_J", "_N", "_rad", "_N_per_m", "_m_per_K", "_per_K", "_K_per_SI", "_K_per_percent"]
            .iter()
            .any(|u| k.ends_with(u))
    };
    let pure: BTreeSet<String> = numbers.filter(|k| !unit(k)).collect();
    assert_eq!(pure, HEAT_PURE.iter().map(|k| (*k).to_owned()).collect());
    // Numbers of one answer agree with each other.
    let v = &answers[0];
    let at = |path: &str| v.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path}"));
    let near = |a: f64, b: f64, within: f64| assert!((a - b).abs() < within, "{a}, not {b}");
    near(at("/delta_K"), at("/trip/temperature_K") - at("/reset/temperature_K"), 1e-9);
    near(at("/trip/movement_m"), at("/trip/travel_after_m") - at("/trip/travel_before_m"), 1e-15);
    let squares: f64 = v["moves"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|m| m["trip_half_width_K"].as_f64())
        .map(|w| w * w)
        .sum();
    near(squares.sqrt(), at("/tolerance/trip_half_width_K"), 1e-9);
    near(at("/spread/trip/mean_K"), at("/trip/temperature_K"), at("/tolerance/trip_half_width_K"));
    assert_eq!(v["spread"]["trips_K"].as_array().unwrap().len(), 40);
    assert!(answers[1]["trip"]["pin_force_after_N"].as_f64().unwrap() > 0.0);
    assert!(
        v["warnings"].as_array().unwrap().iter().any(|w| w.as_str().unwrap().contains("protective control"))
    );
}

/// What makes no sense is refused, and nothing is written.
#[test]
fn heat_without_layers_or_tolerances_is_refused() {
    let folder = Folder::new();
    folder.write("cap.toml", GOOD);
    let ran = folder.run(&["heat", "cap.toml", "--out", "made"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("cap.toml") && ran.err.contains("`[layers]`"), "{}", ran.err);
    let disc = text("crates/specimen/src/case/template_disc.toml");
    let exact: Vec<String> = disc
        .split('"')
        .map(|w| {
            w.split_once(" ± ")
                .map_or(w.to_owned(), |(a, b)| format!("{a} {}", b.split(' ').nth(1).unwrap_or("")))
        })
        .collect();
    folder.write("exact.toml", exact.join("\""));
    let ran = folder.run(&["heat", "exact.toml", "--spread", "20", "--out", "made"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("tolerance"), "{}", ran.err);
    assert_eq!(folder.names(), ["cap.toml", "exact.toml"]);
    // Everything that the page tells of is written.
    folder.write("disc.toml", &disc);
    let ran = folder.run(&["heat", "disc.toml", "--spread", "20", "--out", "made"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let page = text("docs/heat.md");
    let mut made: Vec<String> = std::fs::read_dir(folder.0.join("made"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    made.sort();
    assert_eq!(made.len(), 18, "{made:?}");
    for name in &made {
        let stem = name.split_once('.').unwrap().0;
        assert!(page.contains(&format!("`{name}`")) || page.contains(&format!("`{stem}`")), "{name}");
    }
    let saved = std::fs::read_to_string(folder.0.join("made/answer.txt")).unwrap();
    assert!(ran.out.starts_with(saved.trim_end()), "the saved text is the printed one");
    let csv = std::fs::read_to_string(folder.0.join("made/heat.csv")).unwrap();
    let head = csv.lines().find(|l| !l.starts_with('#')).unwrap();
    assert!(head.starts_with("branch,temperature_K,travel_m,"), "{head}");
}

/// Endings that name a unit in a release.
const RELEASE_UNITS: [&str; 10] =
    ["_m", "_s", "_m_per_s", "_m_per_s2", "_J", "_N", "_N_s", "_Hz", "_K", "_SI"];

/// Keys of pure numbers and counts in a release.
const RELEASE_PURE: [&str; 28] = [
    "at_once",
    "balance_to_snap",
    "balance_whole",
    "deepest_contact",
    "distance",
    "drawn",
    "elements",
    "exponent",
    "factorisations",
    "growth",
    "impulse_closure",
    "iterations",
    "largest_strain",
    "mesh_difference",
    "n",
    "periods",
    "refused",
    "relative_slope",
    "schema_version",
    "share",
    "speed_difference",
    "stay",
    "step_difference",
    "steps",
    "tolerance",
    "unknown",
    "unstable_modes",
    "wait",
];

/// The worked releases; one with everything that can be asked for; and one whose part falls through air in a bath.
fn releases() -> Vec<Value> {
    let mut all: Vec<Value> = RELEASES
        .iter()
        .map(|(name, _)| answer(&root(), &["release", &format!("cases/{name}/case.toml"), "--json"]))
        .collect();
    let whole = ["--landing", "--hold", "1s..20s", "--count", "3", "--spread", "10", "--slowing", "--json"];
    all.push(answer(&root(), &[&["release", "cases/jumping-cap/case.toml"], &whole[..]].concat()));
    let folder = Folder::new();
    let case = text("cases/pet-lid-clicks/case.toml");
    let around = "[surroundings]\ntemperature = \"23 degC\"\nair_density = \"1.2 kg/m^3\"\ndrag = 1.2\ndamping = \"20 1/s\"\n";
    folder.write("case.toml", format!("{case}\n{around}"));
    all.push(answer(&folder.0, &["release", "case.toml", "--json"]));
    all
}

/// Places that may be `null`, every other value is there and finite.
const ABSENT: [&str; 18] = [
    "temperature_K",
    "snap",
    "creep_wait_s",
    "jump",
    "landing_s",
    "ringing",
    "mesh_difference",
    "step_difference",
    "speed_difference",
    "wait_curve",
    "shortest_hold_s",
    "spread",
    "relative_slope",
    "at_low_s",
    "at_high_s",
    "slowing",
    "exponent",
    "wait_s",
];

fn nulls<'v>(v: &'v Value, under: &'v str, out: &mut BTreeSet<&'v str>) {
    match v {
        Value::Object(map) => map.iter().for_each(|(k, v)| nulls(v, k, out)),
        Value::Array(items) => items.iter().for_each(|v| nulls(v, under, out)),
        Value::Null => {
            out.insert(under);
        }
        _ => {}
    }
}

#[test]
fn keys_of_a_release_are_those_of_its_page() {
    let values = [
        "null",
        "stays",
        "returns",
        "waits",
        "undecided",
        "mirror",
        "inverted",
        "poke",
        "flat",
        "given",
        "nowhere",
        "table",
        "let-go",
        "gone",
        "halfway",
        "snapped",
        "lift-off",
        "touch-down",
        "take-off",
        "apex",
        "landing",
        "--hold",
        "--spread",
        "--slowing",
    ];
    let answers = releases();
    let mut seen = BTreeSet::new();
    for v in &answers {
        key_names(v, &["provenance", "part", "limits"], &mut seen);
    }
    let mut told = documented("docs/release.md", &values);
    // `stays` is a key of the wait against hold, and an outcome.
    assert!(seen.contains("stays"));
    told.insert("stays".to_owned());
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    assert_eq!(told, written, "docs/release.md (left), answers (right)");
    assert!(written.len() > 100, "{}", written.len());
    // Units.
    let mut keys = BTreeMap::new();
    for v in &answers {
        let mut v = v.clone();
        for closed in ["provenance", "part"] {
            v.as_object_mut().unwrap().remove(closed).unwrap();
        }
        v["evidence"].as_object_mut().unwrap().remove("limits").unwrap();
        collect(&v, &mut keys);
    }
    let numbers: BTreeSet<String> = keys.into_iter().filter(|(_, n)| *n).map(|(k, _)| k).collect();
    let pure: BTreeSet<String> =
        numbers.iter().filter(|k| !RELEASE_UNITS.iter().any(|u| k.ends_with(u))).cloned().collect();
    assert_eq!(pure, RELEASE_PURE.iter().map(|k| (*k).to_owned()).collect());
    assert!(numbers.len() > pure.len() + 40, "{numbers:?}");
    // A number that is not finite would be written as `null`.
    let mut absent = BTreeSet::new();
    answers.iter().for_each(|v| nulls(v, "", &mut absent));
    let stray: Vec<&&str> = absent.iter().filter(|k| !ABSENT.contains(k) && !FROM_CASE.contains(k)).collect();
    assert!(stray.is_empty(), "{stray:?} hold null");
}

/// Places that may be `null` in what describes case and part.
const FROM_CASE: [&str; 3] = ["half_width_si", "lambda", "density_kg_per_m3"];

#[test]
fn numbers_of_a_release_agree_with_the_case_and_with_each_other() {
    let case = "cases/jumping-cap/case.toml";
    let v = answer(&root(), &["release", case, "--json"]);
    assert_eq!(v, answer(&root(), &["release", case, "--json"]), "another run, another answer");
    let at = |path: &str| v.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path}"));
    let near = |a: f64, b: f64, relative: f64| assert!((a / b - 1.0).abs() < relative, "{a}, not {b}");
    assert_eq!((v["schema_version"].as_u64(), v["outcome"].as_str()), (Some(1), Some("waits")));
    near(at("/protocol/hold_s"), 5.0, 1e-14);
    near(at("/protocol/ramp_s"), 0.05, 1e-14);
    near(at("/protocol/gravity_m_per_s2"), 9.806_65, 1e-14);
    // 0.025 m · √(1080 kg/m³ / 1.2 MPa).
    near(at("/scales/wave_time_s"), 0.025 * (1080.0_f64 / 1.2e6).sqrt(), 1e-12);
    near(at("/snap/end_s"), at("/snap/wait_s") + at("/snap/snap_time_s"), 1e-12);
    assert!(at("/snap/wait_s") < at("/snap/halfway_s") && at("/snap/halfway_s") < at("/snap/end_s"));
    assert!(at("/snap/end_s") < at("/jump/takeoff_s") && at("/jump/height_m") < at("/jump/height_bound_m"));
    // A cap of this thickness, radius and density: ½ m v² at take-off.
    let cap = 2.0 * std::f64::consts::PI * 0.025 * 0.025 * (1.0 - libm::cos(at("/part/half_angle_rad")));
    let mass = 1080.0 * cap * at("/part/thickness_m");
    near(at("/jump/flight_energy_J"), 0.5 * mass * at("/jump/takeoff_speed_m_per_s").powi(2), 1e-6);
    // Thrown from where it takes off.
    let h = &v["history"];
    let column =
        |key: &str| -> Vec<f64> { h[key].as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect() };
    let lengths: BTreeSet<usize> =
        h.as_object().unwrap().values().map(|c| c.as_array().unwrap().len()).collect();
    assert_eq!(lengths, BTreeSet::from([at("/evidence/steps") as usize + 1]));
    let (time, centre) = (column("time_s"), column("centre_height_m"));
    let off = time.iter().position(|t| *t >= at("/jump/takeoff_s")).unwrap();
    let rise = centre[off] - centre[0] + at("/jump/takeoff_speed_m_per_s").powi(2) / (2.0 * 9.806_65);
    near(at("/jump/height_m"), rise, 1e-9);
    // The ledger closes row by row: energies and losses less the work of the hand.
    let parts = ["kinetic_J", "elastic_J", "gravity_J", "contact_J", "relaxed_J", "dragged_J"].map(column);
    let hand = column("hand_J");
    let total = |i: usize| parts.iter().map(|p| p[i]).sum::<f64>() - hand[i];
    let open = (0..time.len()).map(|i| (total(i) - total(0)).abs()).fold(0.0, f64::max);
    assert!(open / at("/snap/energy_available_J") <= 1.01 * at("/evidence/balance_whole"), "{open}");
    assert!(at("/evidence/balance_to_snap") < 1e-4 && at("/evidence/mesh_difference") < 1e-3);
    // Events in order, the frames within the time followed.
    let times: Vec<f64> =
        v["events"].as_array().unwrap().iter().map(|e| e["time_s"].as_f64().unwrap()).collect();
    assert!(times.len() > 6 && times.windows(2).all(|w| w[0] <= w[1]), "{times:?}");
    let frames = v["frames"].as_array().unwrap();
    assert_eq!(frames.last().unwrap()["time_s"], h["time_s"][time.len() - 1]);
    assert!(frames.len() > 50);
    // The verdict tells the same wait without inertia, and the same threshold.
    let verdict = json("jumping-cap");
    let waits = verdict["wait"]["wait_s"].as_f64().unwrap();
    near(waits, at("/snap/creep_wait_s"), 1e-9);
    let wait = |key: &str| verdict["wait"][key].as_f64().unwrap();
    assert!(wait("band_from_m") < 0.00184 && 0.00184 < wait("band_to_m"), "it lies in the band");
    assert!(wait("band_to_m") < wait("band_at_most_m"));
    let loss: f64 =
        [(0.08, 0.005), (0.06, 0.1), (0.06, 3.0)].map(|(g, t)| g * (1.0 - libm::exp(-5.0 / t))).iter().sum();
    near(wait("loss"), loss, 1e-12);
}

/// About both shapes, with a pressure that waves are lost under, and one that cannot be.
#[test]
fn keys_of_modes_are_those_of_its_page() {
    let values = [
        "null",
        "--waves N",
        "answered",
        "undecided",
        "natural",
        "inverted",
        "bending",
        "stretching",
        "torsion",
        "outside",
        "inside",
    ];
    let steel = "cases/steel-cap-on-ring/case.toml";
    let natural = answer(&root(), &["modes", steel, "--pressure", "outside", "--json"]);
    let inverted = answer(&root(), &["modes", "cases/silicone-cap-stays/case.toml", "--inverted", "--json"]);
    let folder = Folder::new();
    folder.write("case.toml", GOOD.replace("\"free\"", "\"clamped\"").replace("2.1 mm", "0.3 mm"));
    let dome = answer(&folder.0, &["modes", "case.toml", "--pressure", "out", "--json", "--out", "made"]);
    let mut seen = BTreeSet::new();
    for v in [&natural, &inverted, &dome] {
        key_names(v, &["provenance", "part", "limits", "work"], &mut seen);
    }
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    assert_eq!(documented("docs/modes.md", &values), written, "docs/modes.md (left), answers (right)");
    assert!(written.len() > 50, "{}", written.len());
    // Without a density there are no hertz, and a warning says so.
    assert!(dome["units"]["frequency_Hz"].is_null() && natural["units"]["frequency_Hz"].is_number());
    assert!(dome["warnings"].as_array().unwrap().iter().any(|w| w.as_str().unwrap().contains("density")));
    // Numbers of one answer agree with each other.
    let modes = natural["modes"].as_array().unwrap();
    let unit = natural["units"]["frequency_Hz"].as_f64().unwrap();
    for m in modes {
        let f = unit * m["omega_squared"].as_f64().unwrap().sqrt();
        assert!((m["frequency_Hz"].as_f64().unwrap() / f - 1.0).abs() < 1e-12);
    }
    let lowest: Vec<f64> = natural["lowest"]
        .as_array()
        .unwrap()
        .iter()
        .map(|i| modes[i.as_u64().unwrap() as usize]["frequency_Hz"].as_f64().unwrap())
        .collect();
    assert!(lowest.len() == 10 && lowest.windows(2).all(|w| w[0] <= w[1]), "{lowest:?}");
    let losses = dome["pressure"]["losses"].as_array().unwrap();
    let first = &losses[dome["pressure"]["first"].as_u64().unwrap() as usize];
    assert!(losses.iter().all(|l| l["pressure_Pa"].as_f64() >= first["pressure_Pa"].as_f64()));
    for file in
        ["answer.json", "frequencies.csv", "frequencies.parquet", "pressures.csv", "pressures.parquet"]
    {
        assert!(folder.0.join("made").join(file).is_file(), "{file}");
    }
    for figure in ["spectrum", "modes", "buckling"] {
        for kind in ["svg", "png"] {
            assert!(folder.0.join(format!("made/{figure}.{kind}")).is_file(), "{figure}.{kind}");
        }
    }
    // A free rim cannot be pressed, a cap that returns has no inverted shape: doubts, exit code 1.
    folder.write("free.toml", GOOD.replace("2.1 mm", "4 mm"));
    for more in [&["--pressure", "inside"][..], &["--inverted"]] {
        let ran = folder.run(&[&["modes", "free.toml"], more].concat());
        assert_eq!((ran.code, ran.err.as_str()), (1, ""), "{}", ran.out);
        assert!(ran.out.starts_with("UNDECIDED") && ran.out.contains("Doubt: "), "{}", ran.out);
    }
}

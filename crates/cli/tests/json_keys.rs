//! Keys of pokes and maps are those of their pages.

mod common;

use std::collections::BTreeSet;

use common::{Folder, GOOD, MAP, POKES, Ran, answer, documented, key_names, parse, root};
use serde_json::Value;

/// Invented parts that the trade has figures for.
const DISC: &str = r#"
title = "Coned disc (invented)"
[shape]
kind = "corners"
r = ["12.7 mm", "25 mm"]
z = ["0 mm", "2.9 mm"]
[wall]
thickness = "1.5 mm"
[material]
youngs_modulus = "206 GPa"
poisson_ratio = 0.3
[rim]
kind = "ring"
[load]
kind = "pole"
reach = "6.1 mm"
"#;
const KEY: &str = r#"
title = "Rubber key (invented)"
[shape]
kind = "cap"
radius = "10 mm"
half_angle = "35 deg"
[wall]
thickness = "0.35 mm"
[material]
name = "silicone-50"
strain_limit = "50 %"
[rim]
kind = "ring"
[load]
kind = "pusher"
radius = "2.0 mm"
bonded = true
stop = "2.3 mm"
"#;

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
    let folder = Folder::new();
    folder.write("disc.toml", DISC);
    folder.write("key.toml", KEY);
    let (disc, key) = (
        answer(&folder.0, &["poke", "disc.toml", "--json"]),
        answer(&folder.0, &["poke", "key.toml", "--json"]),
    );
    assert!(disc["trade"]["key"].is_null() && key["trade"]["coned_disc"].is_null());
    // The shell's row at the reach, and the figures of the two blocks that say the same twice.
    let d = &disc["trade"]["coned_disc"];
    let (rows, shell) = (d["formula"]["rows"].as_array().unwrap(), d["shell"].as_array().unwrap());
    assert_eq!((rows.len(), shell.len()), (5, 5));
    assert!(shell.iter().all(|s| s["difference"].as_f64().unwrap().abs() < 0.2), "{shell:?}");
    let k = &key["trade"]["key"];
    assert_eq!(k["snap_ratio"], key["snap"]["peak_to_contact"]);
    assert_eq!(k["contact_force_N"], key["events"][k["contact_event"].as_u64().unwrap() as usize]["load_SI"]);
    assert_eq!(k["strain_limit"].as_f64(), Some(0.5));
    let mut seen = BTreeSet::new();
    for v in answers.iter().chain([&disc, &key]) {
        key_names(v, &["provenance", "part", "meridian", "limits", "work"], &mut seen);
    }
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    assert_eq!(documented("docs/poke.md", &values), written, "docs/poke.md (left), answers (right)");
    assert!(written.len() > 70, "{}", written.len());
}

#[test]
fn keys_of_a_map_are_those_of_its_page() {
    let values = [
        "null",
        "depth",
        "stays",
        "returns",
        "undecided",
        "waits",
        "agrees",
        "within-tolerance",
        "as held",
        "relaxed",
    ];
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
    let case = "cases/jumping-cap/case.toml";
    let over = ["--x", "hold.time=0.1s..10s", "--y", "wall.thickness=1.5mm..2.6mm", "--out"];
    let ran = Ran::of(
        &root(),
        &[&["map", case, "--json"], &over[..], &[folder.0.join("w").to_str().unwrap()]].concat(),
    );
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let waiting = parse(&ran.out);
    // A longer hold widens the band, up to that of a hold without end; the table holds the same curves.
    let [held, relaxed] = &waiting["waiting"].as_array().unwrap()[..] else {
        panic!("{}", waiting["waiting"])
    };
    assert_eq!((held["hold"].as_str(), relaxed["hold"].as_str()), (Some("as held"), Some("relaxed")));
    let column = |v: &Value, key: &str| -> Vec<f64> {
        let points = v["curves"][0][key].as_array().unwrap();
        points.iter().map(|y| y.as_f64().unwrap()).collect()
    };
    let (times, ends) = (column(held, "x_si"), column(held, "y_si"));
    let most = column(relaxed, "y_si")[0];
    assert!(ends.len() > 5 && ends.iter().all(|y| *y < most), "{ends:?} {most}");
    let rising = |i: usize| (times[i + 1] > times[i]) == (ends[i + 1] > ends[i]);
    assert!((0..ends.len() - 1).all(rising), "{times:?} {ends:?}");
    let csv = std::fs::read_to_string(folder.0.join("w/curves.csv")).unwrap();
    for (family, v) in [("as held", held), ("relaxed", relaxed)] {
        let rows = csv.lines().filter(|l| l.starts_with(&format!("\"end of waiting, {family}\","))).count();
        assert_eq!(rows, column(v, "x_si").len(), "{family}");
    }
    let (plan, out) = (root().join("cases/silicone-cap-stays/sweep.toml"), folder.0.join("s"));
    let (plan, out) = (plan.to_str().unwrap(), out.to_str().unwrap());
    assert_eq!(Ran::of(&root(), &["sweep", plan, "--out", out]).code, 0);
    let swept = answer(&root(), &["map", "--sweep", out, "--json"]);
    let mut seen = BTreeSet::new();
    for v in [&map, &gridded, &waiting, &swept] {
        key_names(v, &["provenance"], &mut seen);
    }
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    assert_eq!(documented("docs/map.md", &values), written, "docs/map.md (left), answers (right)");
    assert!(written.len() > 40, "{}", written.len());
}

#[test]
fn keys_of_a_spread_are_those_of_its_page() {
    let values = ["null", "answered", "undecided", "bad"];
    let case = "cases/silicone-cap-stays/case.toml";
    let pair = "shape.radius,wall.thickness=0.5";
    let with =
        ["--count", "2000", "--window", "margin=0.06..", "--want", "90%", "--together", pair, "--json"];
    let one = answer(&root(), &[&["spread", case], &with[..]].concat());
    assert_eq!(one["method"]["surface"], true);
    assert!(one["want"]["all"].as_f64().unwrap_or(0.0) < 1.0, "{}", one["want"]);
    let [low, share, high] = ["low", "share", "high"].map(|k| one["good"][k].as_f64().unwrap());
    assert!(low < share && share < high && one["good"]["surface_error"] == 0.0);
    let mut seen = BTreeSet::new();
    key_names(&one, &["provenance", "work"], &mut seen);
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    let page: BTreeSet<String> = documented("docs/spread.md", &values);
    assert_eq!(page, written, "docs/spread.md (left), answers (right)");
    assert!(written.len() > 60, "{}", written.len());
}

/// Measured values come from a column of a file; what is wrong with an option is said at it.
#[test]
fn a_spread_reads_tables_and_refuses_in_words() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    folder.write("walls.csv", "part,thickness\n1,2.39\n2,2.41\n3,2.40 mm\n");
    let run = |more: &[&str]| folder.run(&[&["spread", "case.toml", "--count", "200"], more].concat());
    let ran = run(&["--distribution", "wall.thickness=walls.csv:thickness", "--json"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let inputs = parse(&ran.out);
    let wall = inputs["inputs"].as_array().unwrap().iter().find(|i| i["input"] == "wall.thickness").unwrap();
    assert_eq!(wall["distribution"], "measured");
    for (more, says) in [
        (["--distribution", "wall.thickness=walls.csv:wall"], "its columns are part, thickness"),
        (["--distribution", "wall.thickness=none.csv"], "none.csv cannot be read"),
        (["--window", "trip temperature=10degC..20degC"], "[layers]"),
        (["--window", "margni=0.."], "did you mean `margin`?"),
    ] {
        let ran = run(&more);
        assert_eq!(ran.code, 2, "{}", ran.out);
        assert!(ran.err.contains(says), "{}", ran.err);
    }
}

#[test]
fn keys_of_a_logbook_are_those_of_its_page() {
    let values = ["null", "flat", "normal", "lower", "upper", "both"];
    // Its figures are drawn in the narrowest style on the way: what does not fit would be refused.
    let folder = Folder::new();
    let out = folder.0.join("out");
    let run = ["logbook", "cases/logbook/logbook.toml", "--next", "--json", "--figure-style", "column"];
    let run = [&run[..], &["--figure-files", "csv", "--out", out.to_str().unwrap()]].concat();
    let whole = answer(&root(), &run);
    for name in ["margins", "compared", "sought", "next"] {
        assert!(out.join(format!("{name}.figure.csv")).exists(), "{name}");
    }
    let mut found = BTreeSet::new();
    key_names(&whole, &[], &mut found);
    let found: BTreeSet<String> = found.into_iter().map(str::to_owned).collect();
    assert_eq!(found, documented("docs/logbook.md", &values));
}

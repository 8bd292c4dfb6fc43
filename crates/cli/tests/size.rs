//! Sizes of real parts: solutions that the forward questions confirm, case files, the wish in the way, the page.

mod common;

use std::collections::BTreeSet;

use common::{Folder, GOOD, Ran, answer, documented, key_names, parse, root, text};
use serde_json::Value;

const CAP: &str = "cases/silicone-cap-stays/case.toml";
const POKED: &str = "cases/poked-back/case.toml";

/// ln(2.4/2.3).
const LN_24_OVER_23: f64 = 0.042_559_614;

#[allow(clippy::unwrap_used, reason = "a helper of tests")]
fn list<'v>(v: &'v Value, key: &str) -> &'v Vec<Value> {
    v[key].as_array().unwrap()
}

#[test]
fn a_solution_is_a_case_that_does_what_is_wished() {
    let folder = Folder::new();
    let out = folder.0.join("made");
    let ran = Ran::of(
        &root(),
        &[
            "size",
            CAP,
            "--vary",
            "wall.thickness=1..4mm",
            "--wish",
            "margin = 10 % ± 1 %",
            "--json",
            "--out",
            out.to_str().unwrap(),
        ],
    );
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let v = parse(&ran.out);
    let s = &list(&v, "solutions")[0];
    assert_eq!((list(&v, "solutions").len(), s["confirmed"].as_bool()), (1, Some(true)));
    // The case file, asked like any other.
    let case = out.join("solution-1.toml");
    let verdict = answer(&root(), &["verdict", case.to_str().unwrap(), "--json"]);
    let ratio = verdict["margin"]["thickness_ratio"].as_f64().unwrap();
    // e^(−1/10).
    assert!((ratio - 0.904_837_418).abs() < 1e-5, "{ratio}");
    // Comments are kept.
    let (was, is) = (text(CAP), std::fs::read_to_string(&case).unwrap());
    assert_eq!(was.lines().count(), is.lines().count());
    assert_eq!(was.lines().zip(is.lines()).filter(|(a, b)| a != b).count(), 1);
    for file in ["answer.json", "answer.txt", "size.svg", "size.png", "solutions.csv", "scan.parquet"] {
        assert!(out.join(file).exists(), "{file}");
    }
}

/// Closed form: every force of an elastic part without weight goes with Young's modulus, so half the trip load is that of half the modulus.
#[test]
fn trip_load_goes_with_the_modulus() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD.replace("\"free\"", "\"ring\""));
    let poke = answer(&folder.0, &["poke", "case.toml", "--json"]);
    let whole = poke["by_load"]["load_SI"].as_f64().unwrap();
    let wish = format!("trip load = {} N ± 1 %", 0.5 * whole);
    let v = answer(
        &folder.0,
        &["size", "case.toml", "--vary", "material.youngs_modulus=0.3MPa..2MPa", "--wish", &wish, "--json"],
    );
    let e = list(&v, "solutions")[0]["values_si"][0].as_f64().unwrap();
    assert_eq!(list(&v, "solutions").len(), 1);
    assert!((e / 0.6e6 - 1.0).abs() < 1e-5, "{e}");
}

/// The trip load of this part first rises with thickness, then falls, since waves come first: one wish, two thicknesses.
#[test]
fn one_trip_load_two_thicknesses() {
    let v = answer(
        &root(),
        &[
            "size",
            POKED,
            "--vary",
            "wall.thickness=1.5mm..1.7mm",
            "--wish",
            "trip load = 0.6 N ± 0.005 N",
            "--json",
        ],
    );
    let found: Vec<f64> = list(&v, "solutions").iter().map(|s| s["values_si"][0].as_f64().unwrap()).collect();
    assert_eq!(found.len(), 2, "{found:?}");
    assert!((found[0] - 1.5475e-3).abs() < 1e-6 && (found[1] - 1.60656e-3).abs() < 1e-6, "{found:?}");
    assert!(list(&v, "solutions").iter().all(|s| s["confirmed"] == true));
    // Pinned: parts read for one wish.
    assert!(v["evidence"]["parts_read"].as_u64().unwrap() <= 45, "{}", v["evidence"]);
}

/// The case that comes out waits as long as is wished after the hold that is wished.
#[test]
fn a_wait_after_a_hold() {
    let folder = Folder::new();
    let out = folder.0.join("made");
    let ran = Ran::of(
        &root(),
        &[
            "size",
            "cases/jumping-cap/case.toml",
            "--vary",
            "wall.thickness=1.84mm..1.9mm",
            "--wish",
            "wait = 2 s ± 0.1 s after a 7 s hold",
            "--json",
            "--out",
            out.to_str().unwrap(),
        ],
    );
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    let release = answer(&out, &["release", "solution-1.toml", "--json"]);
    let wait = release["snap"]["wait_s"].as_f64().unwrap();
    assert!((wait - 2.0).abs() < 0.1, "{wait}");
    assert_eq!(release["protocol"]["hold_s"].as_f64(), Some(7.0), "{}", release["protocol"]);
}

#[test]
fn the_wish_in_the_way_is_named() {
    let arguments =
        ["size", CAP, "--vary", "wall.thickness=2.3mm..4mm", "--wish", "margin >= 30 %", "--json"];
    let v = answer(&root(), &arguments);
    assert_eq!((v["outcome"].as_str(), list(&v, "solutions").len()), (Some("unmet"), 0));
    let row = &v["obstacle"]["rows"][0];
    // The margin is ln(h*/h): what it misses at 2.3 mm follows from the part as it is.
    let here = v["readings_here_si"][0].as_f64().unwrap();
    let there = here + LN_24_OVER_23;
    assert!((row["best_si"].as_f64().unwrap() - there).abs() < 0.01, "{row} {there}");
    assert_eq!(row["at_limit"][0], -1);
    assert!(
        v["explanation"][0].as_str().unwrap().contains("wall.thickness stands at its lower limit of 2.3")
    );
}

#[test]
fn keys_of_sizes_are_those_of_their_page() {
    let values =
        ["unmet", "undecided", "equal", "at least", "at most", "smallest", "largest", "null", "scale"];
    let two = ["--vary", "wall.thickness=1mm..4mm", "--vary", "shape.half_angle=40deg..70deg"];
    let ask = |wishes: &[&str]| {
        let more: Vec<&str> = wishes.iter().flat_map(|w| ["--wish", *w]).collect();
        answer(&root(), &[&["size", CAP, "--json"], &two[..], &more].concat())
    };
    let all = [
        ask(&["margin = 10 % ± 1 %"]),
        ask(&["largest margin", "smallest mass"]),
        ask(&["margin >= 1 for 99 % of the batch", "mass >= 40 g"]),
        ask(&["margin >= 5 % for 90 % of the batch", "smallest shape.half_angle"]),
    ];
    let mut seen = BTreeSet::new();
    for v in &all {
        key_names(v, &["provenance", "work"], &mut seen);
    }
    let mut written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    written.remove("scale");
    assert_eq!(documented("docs/size.md", &values), written, "docs/size.md (left), answers (right)");
    // A curve of one margin: the threshold of a cap lies at one λ, so thickness and half-angle rise together.
    let curve = &all[0]["set"]["curves"][0];
    assert!(list(curve, "points_si").len() > 8 && all[0]["set"]["freedom"] == 1);
    assert_eq!(all[2]["outcome"], "unmet");
    // Thicker makes heavier and shallower less stable: eleven points from one end to the other.
    assert_eq!(list(&all[1]["front"], "points").len(), 11, "{}", all[1]["evidence"]);
    let drawn = &all[3]["solutions"][0]["readings"][0]["drawn"];
    assert_eq!(drawn["parts"], 1000);
    assert!(drawn["share_high"].as_f64().unwrap() >= 0.9, "{drawn}");
}

#[test]
fn bad_questions_are_pointed_at() {
    for (arguments, says) in [
        (vec![], "nothing may change"),
        (vec!["--vary", "wall.thickness=1mm..4mm"], "nothing is wished"),
        (vec!["--vary", "wall.thicknes=1mm..4mm", "--wish", "stays"], "did you mean `wall.thickness`?"),
        (
            vec!["--vary", "wall.thickness", "--wish", "stays"],
            "write KEY=FROM..TO, for example `wall.thickness=",
        ),
        (vec!["--vary", "wall.thickness=4mm..1mm", "--wish", "stays"], "the range is empty"),
        (
            vec!["--vary", "wall.thickness=1mm..4mm", "--wish", "trip temperature = 80 degC"],
            "trip temperature: ",
        ),
        (
            vec!["--vary", "wall.thickness=1mm..4mm", "--wish", "mragin >= 1 %"],
            "column 1: nothing is called `mragin`",
        ),
    ] {
        let ran = Ran::of(&root(), &[&["size", CAP], &arguments[..]].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.contains(says), "{arguments:?}: {}", ran.err);
    }
}

/// The page shows a real answer.
#[test]
fn the_page_on_sizes_shows_a_real_answer() {
    let page = text("docs/size.md");
    let command = page.lines().find_map(|l| l.strip_prefix("cargo run --release -- ")).unwrap();
    let mut arguments: Vec<String> = Vec::new();
    for (i, piece) in command.split('"').enumerate() {
        if i % 2 == 1 {
            arguments.push(piece.to_owned());
        } else {
            arguments.extend(piece.split_whitespace().map(str::to_owned));
        }
    }
    let ran = Ran::of(&root(), &arguments.iter().map(String::as_str).collect::<Vec<_>>());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let shown = page.split("```text\n").nth(1).unwrap().split("\n```").next().unwrap();
    assert_eq!(shown, ran.out.trim_end());
}

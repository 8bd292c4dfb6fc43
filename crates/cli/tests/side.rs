//! `calotte rehearse side` and `calotte side` on invented pictures: round trips, keys of the page, bad input.

#![allow(clippy::unwrap_used, reason = "helpers of tests, outside a #[test] function")]

mod common;

use std::collections::BTreeSet;

use common::{Folder, Ran, documented, key_names, parse, root};
use serde_json::Value;

const CAP: &str = "cases/silicone-cap-stays/case.toml";

/// Rehearses a picture of a case into a folder.
fn picture(folder: &Folder, name: &str, options: &[&str]) -> String {
    let to = folder.0.join(name).to_str().unwrap().to_owned();
    let ran = Ran::of(&root(), &[&["rehearse", "side", CAP, "--out", to.as_str()], options].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    to
}

fn near(v: &Value, want: f64) {
    let (value, sd) = (v["value"].as_f64().unwrap(), v["standard_error"].as_f64().unwrap());
    assert!((value - want).abs() < 4.0 * sd && sd < 0.02 * want, "{value} ± {sd}, drawn {want}");
}

/// Invented; closed form: the cap of the case (outer radius 26 mm, 60°, wall 2.4 mm), natural, cut and turned inside out.
#[test]
fn rehearsed_side_views_give_their_part_back() {
    let folder = Folder::new();
    let scale = ["--scale", "12 ± 0.02 px/mm", "--json"];
    let natural =
        picture(&folder, "n.png", &["--scale", "12", "--tilt", "2 deg", "--camera", "1 deg", "--dust", "4"]);
    let out = folder.0.join("out").to_str().unwrap().to_owned();
    let ran = Ran::of(&root(), &[&["side", &natural, "--case", CAP, "--out", &out], &scale[..]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    let whole: Value = parse(&ran.out);
    near(&whole["sphere"]["radius_m"], 0.026);
    near(&whole["sphere"]["half_angle_rad"], std::f64::consts::FRAC_PI_3);
    near(&whole["wall"]["thickness_m"], 2.4e-3);
    assert_eq!(whole["comparison"]["agreement"], "agrees", "{}", whole["comparison"]["says"]);
    for file in
        ["profile.csv", "points.csv", "answer.json", "silhouette.svg", "silhouette.png", "residual.png"]
    {
        assert!(folder.0.join("out").join(file).metadata().unwrap().len() > 0, "{file}");
    }
    let verdict = Ran::of(&folder.0.join("out"), &["verdict", "case.toml"]);
    assert!(verdict.code == 0 && verdict.out.starts_with("STAYS"), "{} {}", verdict.out, verdict.err);
    let cut = picture(&folder, "s.jpg", &["--scale", "12", "--section", "--light"]);
    let ran = Ran::of(&root(), &[&["side", &cut, "--section"], &scale[..]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    let cut: Value = parse(&ran.out);
    near(&cut["wall"]["thickness_m"], 2.4e-3);
    assert_eq!(cut["picture"]["part"], "light on dark");
    let turned = picture(&folder, "i.png", &["--scale", "12", "--inverted"]);
    let ran = Ran::of(&root(), &[&["side", &turned, "--inverted", "--case", CAP], &scale[..]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    let turned: Value = parse(&ran.out);
    assert!(turned["lip"]["width_m"]["value"].as_f64().unwrap() > 5e-3);
    assert_ne!(turned["comparison"]["agreement"], "differs");
    // The natural outline is not that of the inverted part: doubtful.
    let wrong = Ran::of(&root(), &[&["side", &natural, "--inverted", "--case", CAP], &scale[..]].concat());
    assert_eq!(wrong.code, 1, "{}", wrong.err);
    let values = [
        "natural",
        "inverted",
        "whole",
        "section",
        "sphere",
        "free form",
        "dark on light",
        "light on dark",
        "cut rim",
        "both faces",
        "agrees",
        "differs slightly",
        "differs",
        "null",
    ];
    let mut seen = BTreeSet::new();
    [&whole, &cut, &turned].iter().for_each(|a| key_names(a, &[], &mut seen));
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    let mut told = documented("docs/side-view.md", &values);
    // Both a value and a key.
    told.insert("sphere".to_owned());
    let absent: Vec<&String> = told.difference(&written).collect();
    let untold: Vec<&String> = written.difference(&told).collect();
    assert!(
        absent.is_empty() && untold.is_empty(),
        "documented alone: {absent:?}; answered alone: {untold:?}"
    );
}

#[test]
fn bad_pictures_say_what_is_wrong() {
    let folder = Folder::new();
    let good = picture(&folder, "good.png", &["--scale", "6"]);
    let whole = std::fs::read(&good).unwrap();
    std::fs::write(folder.0.join("short.png"), &whole[..whole.len() / 2]).unwrap();
    folder.write("empty.png", "");
    folder.write("words.png", "no picture at all");
    let scale = ["--scale", "6 px/mm"];
    let say = |arguments: &[&str], words: &str| {
        let ran = Ran::of(&folder.0, arguments);
        assert_eq!(ran.code, 2, "{arguments:?}: {} {}", ran.out, ran.err);
        assert!(ran.err.contains(words) && ran.err.contains("help:"), "{arguments:?}: {}", ran.err);
    };
    let with = |a: &[&'static str]| [&["side"], a, &scale[..]].concat();
    say(&with(&["none.png"]), "cannot be read");
    say(&with(&["empty.png"]), "the file is empty");
    say(&with(&["words.png"]), "not a picture of a known format");
    say(&with(&["short.png"]), "short.png");
    // Huge by what its first bytes say; nothing of that size is asked of the machine.
    folder.write("huge.pgm", "P5\n60000 60000\n255\n");
    say(&with(&["huge.pgm"]), "huge.pgm: ");
    say(&with(&["huge.pgm"]), "60000 × 60000");
    folder.write("grey.pgm", [&b"P5\n80 60\n255\n"[..], &[128; 4800]].concat());
    say(&with(&["grey.pgm"]), "no part stands out");
    say(&["side", "good.png", "--scale", "5,5 9000,5 = 40 mm"], "lies outside the picture");
    say(&["side", "good.png", "--scale", "40 mm"], "no known form");
    say(&with(&["good.png", "--crop", "0,0,9000,10"]), "does not lie in the picture");
    say(&with(&["good.png", "--crop", "1,2"]), "x,y,width,height");
    // A box through the part; a box of background.
    say(&with(&["good.png", "--crop", "0,0,150,130"]), "cut by the edge");
    say(&with(&["good.png", "--crop", "0,0,25,25"]), "no part stands out");
    say(&with(&["good.png", "--section"]), "no inner wall");
    let missing = Ran::of(&folder.0, &["side", "good.png"]);
    assert_eq!(missing.code, 2);
    assert!(missing.err.contains("--scale"), "{}", missing.err);
}

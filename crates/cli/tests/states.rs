//! Stable states on the command line: every key documented, tables and figures written, templates that answer, refusals.

mod common;

use std::collections::BTreeSet;

use common::{Folder, GOOD, answer, documented, key_names, parse};
use serde_json::Value;

/// The template of a bowl, its limit of strain given.
fn bowl(folder: &Folder) {
    assert_eq!(folder.run(&["new", "bowl", "bowl.toml"]).code, 0);
    let text = std::fs::read_to_string(folder.0.join("bowl.toml")).unwrap_or_default();
    folder.write(
        "bowl.toml",
        text.replace("name = \"silicone-50\"", "name = \"silicone-50\"\nstrain_limit = \"50 %\""),
    );
}

#[test]
fn keys_of_states_are_those_of_their_page() {
    let folder = Folder::new();
    bowl(&folder);
    let v = answer(&folder.0, &["verdict", "bowl.toml", "--json"]);
    let mut seen = BTreeSet::new();
    key_names(&v, &["provenance", "part", "meridian", "limits", "work"], &mut seen);
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    let values = ["null", "as made"];
    assert_eq!(documented("docs/states.md", &values), written, "docs/states.md (left), answers (right)");
    // The template promises a bowl that folds.
    let states = v["states"].as_array().unwrap();
    let number = |v: &Value| v.as_f64().unwrap();
    assert!(v["stable"].as_u64().unwrap() >= 4 && states.len() >= 4);
    assert!(states.windows(2).all(|w| number(&w[0]["energy_J"]) <= number(&w[1]["energy_J"])));
    for w in v["ways"].as_array().unwrap() {
        let from = &states[w["from"].as_u64().unwrap() as usize];
        assert!(number(&w["barrier_J"]) >= number(&from["barrier_J"]) && w["from"] != w["to"]);
    }
    for s in states {
        assert!((number(&s["strain_share"]) - number(&s["largest_strain"]) / 0.5).abs() < 1e-12);
    }
    // The figures of folding are those of the ways it goes.
    let (fold, to) = (&v["fold"], v["folded"].as_u64().unwrap() as usize);
    let made = states.iter().position(|s| s["name"] == "as made").unwrap();
    assert!(fold["stays"] == true && number(&fold["hold_force_N"]) == 0.0 && to != made);
    assert_eq!(fold["remaining_strain"], states[to]["largest_strain"]);
    let forces = |from: usize| -> Vec<f64> {
        let ways = v["ways"].as_array().unwrap();
        ways.iter().filter(|w| w["from"] == from).map(|w| number(&w["trip_force_N"])).collect()
    };
    assert!(forces(made).contains(&number(&fold["fold_force_N"])), "{:?}", forces(made));
    let least = forces(to).into_iter().map(f64::abs).fold(f64::INFINITY, f64::min);
    assert_eq!(number(&fold["unfold_force_N"]), least);
    // Thicker strains more; the state with most pieces over stands highest.
    let highest = states.iter().max_by(|a, b| number(&a["height_m"]).total_cmp(&number(&b["height_m"])));
    assert_eq!(highest.unwrap()["turned"].as_array().unwrap().len(), 2);
}

#[test]
fn states_are_printed_and_drawn() {
    let folder = Folder::new();
    bowl(&folder);
    let ran = folder.run(&["verdict", "bowl.toml", "--out", "made"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    for words in [
        "4 STABLE STATES: ",
        "as made",
        "States, by energy",
        "Ways between them",
        "hot contents",
        "eyes",
        "% of limit",
    ] {
        assert!(ran.out.contains(words), "no {words:?} in\n{}", ran.out);
    }
    for file in ["answer.json", "states.svg", "states.png", "levels.svg", "levels.png"] {
        assert!(folder.0.join("made").join(file).is_file(), "{file}");
    }
    let kept = std::fs::read_to_string(folder.0.join("made/answer.json")).unwrap();
    assert_eq!(parse(&kept), answer(&folder.0, &["verdict", "bowl.toml", "--json"]));
    let over = "wall.thickness[4]=0.6mm..0.8mm";
    let ran = folder.run(&["series", "bowl.toml", "--over", over, "--count", "2", "--out", "series"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("2 points with 4 stable states"), "{}", ran.out);
    let csv = std::fs::read_to_string(folder.0.join("series/series.csv")).unwrap();
    assert!(csv.contains("value_si,stable_states,states,lowest_barrier_J,largest_strain"), "{csv}");
}

/// What `calotte new` writes is read without findings and does what its kind does.
#[test]
fn templates_answer() {
    let folder = Folder::new();
    for kind in ["disc", "key", "cone"] {
        let ran = folder.run(&["new", kind, &format!("{kind}.toml")]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{kind}");
        let v = folder.run(&["verdict", &format!("{kind}.toml"), "--json"]);
        assert_eq!((v.code, v.err.as_str()), (0, ""), "{kind}");
    }
    let heat = answer(&folder.0, &["heat", "disc.toml", "--json"]);
    let kelvin = |key: &str| heat[key]["temperature_K"].as_f64().unwrap() - 273.15;
    assert!((80.0..90.0).contains(&kelvin("trip")), "{}", kelvin("trip"));
    assert!((58.0..62.0).contains(&kelvin("reset")), "{}", kelvin("reset"));
    let key = answer(&folder.0, &["poke", "key.toml", "--json"]);
    let snap = key["trade"]["key"]["snap_ratio"].as_f64().unwrap();
    assert!((0.4..0.6).contains(&snap), "{snap}");
    let cone = answer(&folder.0, &["poke", "cone.toml", "--json"]);
    assert!(cone["by_load"]["load_SI"].as_f64().unwrap() > 100.0);
}

/// A complete sphere has no rim; a bowl of several pieces is not turned over as a whole.
#[test]
fn questions_without_sense_are_refused() {
    let folder = Folder::new();
    bowl(&folder);
    folder.write("ball.toml", GOOD.replace("60 ± 1 deg", "180 deg"));
    let out = folder.0.join("out");
    let out = out.to_str().unwrap();
    let series = ["series", "ball.toml", "--over", "wall.thickness=1mm..2mm", "--out", out];
    for arguments in [
        &["verdict", "ball.toml"][..],
        &["poke", "ball.toml"],
        &["release", "ball.toml"],
        &["map", "ball.toml"],
        &series,
    ] {
        let ran = folder.run(arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.contains("complete sphere") && ran.err.contains("calotte modes"), "{}", ran.err);
    }
    for command in ["release", "map"] {
        let ran = folder.run(&[command, "bowl.toml"]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{command}");
        assert!(ran.err.contains("2 pieces") && ran.err.contains("calotte verdict"), "{}", ran.err);
    }
    assert_eq!(folder.names(), ["ball.toml", "bowl.toml"]);
}

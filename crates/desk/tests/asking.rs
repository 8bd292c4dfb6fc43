//! Asking by name: options refused at their place, questions that make no sense, stops, and answers that agree with what is kept.

#![allow(clippy::unwrap_used, clippy::panic, reason = "helpers of tests, outside a #[test] function")]

use std::path::{Path, PathBuf};
use std::sync::Mutex;

use calotte_desk::look::look;
use calotte_desk::{NoWatch, QUESTIONS, Refusal, Reply, Want, Watch, ask, refuse};
use calotte_specimen::{Case, new_template, read_case};
use serde_json::{Value, json};

const ALL: Want =
    Want { film: true, figures: true, style: calotte_figures::Style::PAGE, tables: true, threads: 2 };

fn cases() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../cases")
}

fn worked(name: &str) -> Case {
    let folder = cases().join(name);
    let open = |file: &str| std::fs::read(folder.join(file));
    read_case(&std::fs::read(folder.join("case.toml")).unwrap(), &open).0.unwrap()
}

fn names() -> Vec<String> {
    let all = std::fs::read_dir(cases())
        .unwrap()
        .map(Result::unwrap)
        .filter(|e| e.path().join("case.toml").exists());
    let mut names: Vec<String> = all.map(|e| e.file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

fn template(name: &str) -> Case {
    let none = |_: &str| Err(std::io::ErrorKind::NotFound.into());
    read_case(new_template(name).unwrap().as_bytes(), &none).0.unwrap()
}

fn asked(case: &Case, question: &str, options: Value) -> Result<Reply, Refusal> {
    ask(case, question, &options, Want::default(), &NoWatch)
}

#[track_caller]
fn refused(case: &Case, question: &str, options: Value, parts: &[&str]) {
    match asked(case, question, options.clone()) {
        Err(r @ Refusal::Question { .. }) => {
            let text = r.to_string();
            parts.iter().for_each(|p| assert!(text.contains(p), "no `{p}` in `{text}`"));
        }
        other => panic!("{question} {options}: {:?}", other.map(|r| r.question)),
    }
}

#[test]
fn unknown_names() {
    let case = worked("silicone-cap-stays");
    refused(&case, "verdct", json!({}), &["no question `verdct`", "help: did you mean `verdict`?"]);
    refused(
        &case,
        "zzzz",
        json!({}),
        &["no question `zzzz`", "release, map, heat, modes, spread, size, look"],
    );
    refused(
        &case,
        "verdict",
        json!({"dept": true}),
        &["`verdict` has no option `dept`", "did you mean `depth`?"],
    );
    refused(
        &case,
        "map",
        json!({"zzzz": 1}),
        &["`map` has no option `zzzz`", "x, y, margin, trip_load, snapping"],
    );
    refused(&case, "look", json!({"a": 1}), &["`look` has no option `a`", "it takes none"]);
    refused(
        &worked("camp-bowl"),
        "states",
        json!({"a": 1}),
        &["`states` has no option `a`", "it takes none"],
    );
    for question in QUESTIONS.into_iter().chain(["look"]) {
        refused(&case, question, json!([1]), &[question, "a list, not an object"]);
        refused(&case, question, json!({"no such thing": 1}), &[question, "`no such thing`"]);
    }
}

#[test]
fn wrong_types_and_ranges() {
    let case = worked("pushed-over-cap");
    refused(&case, "verdict", json!({"depth": 1}), &["option `depth` of `verdict`", "true or false", "`1`"]);
    refused(
        &case,
        "poke",
        json!({"hand": "yes"}),
        &["option `hand` of `poke`", "true or false", "`\"yes\"`"],
    );
    refused(
        &case,
        "poke",
        json!({"hand": true, "from": "up"}),
        &["`from`", "`natural` or `inverted`", "`\"up\"`"],
    );
    refused(&case, "poke", json!({"from": "natural"}), &["`from`", "by hand", "give `hand` too"]);
    refused(&case, "release", json!({"until": 3}), &["option `until` of `release`", "a text", "`3`"]);
    refused(&case, "release", json!({"until": "3"}), &["until 3", "a time needs a unit", "help:"]);
    refused(&case, "release", json!({"until": "-1 s"}), &["until -1 s", "greater than 0", "`80 ms`"]);
    refused(&case, "release", json!({"hold": "3s"}), &["hold: `3s` is no range", "0.1s..100s"]);
    refused(&case, "release", json!({"count": 1}), &["option `count`", "from 2 to 10000", "`1`"]);
    refused(&case, "release", json!({"spread": 9}), &["option `spread`", "from 10 to 1000000"]);
    refused(&case, "release", json!({"steps": -1}), &["option `steps`", "0 or more", "`-1`"]);
    refused(&case, "release", json!({"steps": 1.5}), &["option `steps`", "a whole number", "`1.5`"]);
    refused(
        &case,
        "map",
        json!({"x": "wall.thicknes"}),
        &["x wall.thicknes", "did you mean `wall.thickness`?"],
    );
    refused(&case, "map", json!({"y": "wall.thickness=3mm..1mm"}), &["y: the range `3mm..1mm` is empty"]);
    refused(&case, "map", json!({"x": "wall.thickness"}), &["both axes show `wall.thickness`"]);
    refused(&case, "map", json!({"margin": [0.8, -1]}), &["margin -1", "greater than 0"]);
    refused(&case, "map", json!({"margin": 0.8}), &["option `margin`", "a list of numbers", "`0.8`"]);
    refused(&case, "map", json!({"margin": ["a"]}), &["option `margin`", "a list of numbers"]);
    refused(&case, "map", json!({"trip_load": "2 N"}), &["option `trip_load`", "a list of texts"]);
    refused(&case, "map", json!({"trip_load": ["2 N/s"]}), &["trip_load 2 N/s", "N, mN, kN or gf"]);
    refused(&case, "modes", json!({"lowest": 0}), &["option `lowest`", "from 1 to 200", "`0`"]);
    refused(&case, "modes", json!({"waves": 401}), &["option `waves`", "from 0 to 400"]);
    refused(&case, "modes", json!({"pressure": "up"}), &["option `pressure`", "`outside` or `inside`"]);
    refused(&case, "size", json!({}), &["nothing may change", "wall.thickness"]);
    refused(&case, "size", json!({"vary": "x"}), &["option `vary` of `size`", "a list of texts"]);
    let thick = "wall.thickness=1mm..3mm";
    refused(&case, "size", json!({"vary": [thick, thick], "wish": ["stays"]}), &["given twice"]);
    refused(
        &case,
        "size",
        json!({"vary": [thick], "wish": ["wait = 2 mm"]}),
        &["wish \"wait = 2 mm\": column 10"],
    );
    let disc = template("disc");
    refused(&disc, "heat", json!({"grid": "9x9"}), &["option `grid` of `heat`", "give `map` too"]);
    refused(&disc, "heat", json!({"map": true, "grid": "1x9"}), &["grid 1x9", "from 2 to 200"]);
    refused(&disc, "heat", json!({"map": true, "grid": "9"}), &["grid 9", "64x64"]);
    refused(
        &disc,
        "heat",
        json!({"map": true, "thickness": "9deg..10deg"}),
        &["thickness: `9deg`", "a length is wanted"],
    );
}

/// Null is as good as nothing, for all options and for one.
#[test]
fn null_is_nothing() {
    let case = worked("silicone-cap-stays");
    let plain = asked(&case, "verdict", Value::Null).unwrap();
    let nulls = asked(&case, "verdict", json!({"depth": null, "branch": null})).unwrap();
    assert_eq!((plain.report, plain.sheet), (nulls.report, nulls.sheet));
}

/// What `look` says of a question is what `ask` does: refused questions are refused in the same words, and the verdict of every
/// worked case is the one kept beside it.
#[test]
fn looks_agree_with_answers() {
    let mut refusals = 0;
    for name in names() {
        let case = worked(&name);
        let seen = look(&case);
        let told: Vec<&str> = seen.asks.iter().map(|a| a.question.as_str()).collect();
        assert_eq!(told, QUESTIONS);
        for a in &seen.asks {
            assert_eq!(refuse(&case, &a.question).err().map_or(String::new(), |r| r.line()), a.says);
            assert_eq!(a.ok, a.says.is_empty(), "{name}");
            if !a.ok {
                assert_eq!(asked(&case, &a.question, json!({})).err().unwrap().line(), a.says, "{name}");
                refusals += 1;
            }
        }
        let ok = |q: &str| seen.asks.iter().any(|a| a.question == q && a.ok);
        assert!(ok("verdict") != ok("states") && seen.lists_states == ok("states"), "{name}");
        assert!(ok("poke") && ok("modes"), "{name}");
        assert_eq!(ok("heat"), seen.layers > 0, "{name}");
        let question = if seen.lists_states { "states" } else { "verdict" };
        let kept = std::fs::read_to_string(cases().join(&name).join("answer.txt")).unwrap();
        let reply = asked(&case, question, json!({})).unwrap();
        assert_eq!(format!("{}\n", reply.sheet.text()), kept, "{name}");
        assert!(
            !reply.doubtful && reply.film.is_none() && reply.figures.is_empty() && reply.tables.is_empty()
        );
    }
    assert!(refusals > 40, "{refusals}");
}

/// Every other question on one case: the sheet is the text kept beside it, and everything asked for is there.
#[test]
fn questions_bring_what_is_wanted() {
    let asks = [
        ("marine-handset-key", "poke", json!({}), "poke.txt", vec!["path"]),
        ("pushed-over-cap", "release", json!({}), "release.txt", vec!["history"]),
        ("propagator-cutout", "heat", json!({}), "heat.txt", vec!["heat"]),
    ];
    for (name, question, options, kept, tables) in asks {
        let case = worked(name);
        let reply = ask(&case, question, &options, ALL, &NoWatch).unwrap();
        let kept = std::fs::read_to_string(cases().join(name).join(kept)).unwrap();
        assert_eq!(format!("{}\n", reply.sheet.text()), kept, "{name}");
        assert_eq!(reply.question, question);
        assert_eq!(reply.report["provenance"]["case_digest"], json!(case.digest()));
        assert_eq!(reply.tables.iter().map(|t| t.0.as_str()).collect::<Vec<_>>(), tables, "{name}");
        assert!(!reply.figures.is_empty() && !reply.film.unwrap().frames.is_empty(), "{name}");
    }
    let case = worked("clamped-dome");
    let reply =
        ask(&case, "modes", &json!({"lowest": 2, "each": 1, "pressure": "outside"}), ALL, &NoWatch).unwrap();
    assert_eq!(reply.tables.len(), 2);
    assert!(reply.sheet.title.starts_with("LOWEST ") && reply.film.is_some() && reply.figures.len() == 3);
    let seen = ask(&case, "look", &json!({}), ALL, &NoWatch).unwrap();
    assert_eq!(seen.film.unwrap().frames.len(), 1);
    assert_eq!(seen.report["asks"][0], json!({"question": "verdict", "ok": true, "says": ""}));
}

/// A push by hand is no push of the case's load: it sets the travel, and starts where it is told.
#[test]
fn hands_push_as_they_are_told() {
    let case = worked("pressed-lid");
    let own = asked(&case, "poke", json!({})).unwrap().report;
    assert_eq!(own["load"]["kind"], "pressure");
    for from in ["natural", "inverted"] {
        let hand = asked(&case, "poke", json!({"hand": true, "from": from})).unwrap().report;
        assert_eq!(hand["load"]["kind"], "pole");
        assert_eq!(hand["load"]["control"], "displacement");
        assert_eq!(hand["load"]["from"], from);
        assert!(!hand["warnings"].to_string().contains("no [load] table"));
    }
}

/// Remembers what it was told, and stops when that makes so many.
struct After {
    most: usize,
    told: Mutex<Vec<(Option<f64>, String)>>,
}

impl After {
    fn new(most: usize) -> Self {
        Self { most, told: Mutex::new(Vec::new()) }
    }
}

impl Watch for After {
    fn progress(&self, share: Option<f64>, words: &str) -> bool {
        let mut told = self.told.lock().unwrap();
        told.push((share, words.to_owned()));
        told.len() < self.most
    }
}

#[test]
fn stops_are_heeded() {
    let cap = worked("pushed-over-cap");
    let many = json!({"hold": "1s..20s", "count": 9, "until": "1 ms"});
    for (case, question, options) in [
        (&cap, "verdict", json!({})),
        (&cap, "poke", json!({})),
        (&cap, "modes", json!({})),
        (&cap, "map", json!({})),
        (&cap, "release", many.clone()),
        (&template("disc"), "heat", json!({})),
        (&template("bowl"), "states", json!({})),
        (&cap, "size", json!({"vary": ["wall.thickness=1mm..4mm"], "wish": ["stays"]})),
    ] {
        let watch = After::new(1);
        let stopped = ask(case, question, &options, Want::default(), &watch);
        assert_eq!(stopped.err(), Some(Refusal::Stopped), "{question}");
        assert_eq!(watch.told.lock().unwrap().len(), 1, "{question}: nothing goes on");
    }
    // On the way: in the march, in the curves, and among many.
    for (question, options, words) in [("release", json!({}), "marching"), ("map", json!({}), "curves")] {
        let watch = After::new(4);
        assert_eq!(ask(&cap, question, &options, Want::default(), &watch).err(), Some(Refusal::Stopped));
        let told = watch.told.lock().unwrap();
        assert!(told.len() == 4 && told[3].1.starts_with(words), "{told:?}");
    }
    let heat = After::new(4);
    let disc = template("disc");
    let stopped = ask(&disc, "heat", &json!({"spread": 40}), Want::default(), &heat);
    assert_eq!(stopped.err(), Some(Refusal::Stopped));
    let told = heat.told.lock().unwrap();
    let shares: Vec<Option<f64>> = told.iter().map(|t| t.0).collect();
    assert_eq!(shares, [None, Some(0.0), Some(1.0 / 40.0), Some(2.0 / 40.0)]);
}

/// The number of threads changes no bit.
#[test]
fn threads_change_nothing() {
    let disc = template("disc");
    let on = |threads| {
        let want = Want { threads, ..Want::default() };
        ask(&disc, "heat", &json!({"spread": 12, "map": true, "grid": "3x3"}), want, &NoWatch).unwrap().report
    };
    let (one, two) = (on(1), on(2));
    assert_eq!(one["spread"]["trips_K"].as_array().unwrap().len(), 12);
    assert_eq!(one, two);
}

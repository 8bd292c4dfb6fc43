//! The page's types against what is really written: every key of a report is in its type, nothing is null where the type says it is not.

#![allow(clippy::unwrap_used, clippy::panic, reason = "helpers of tests, outside a #[test] function")]

use std::collections::BTreeMap;
use std::path::Path;

use calotte_answers::heat::Branches;
use calotte_answers::modes::{Settings, modes_with_film};
use calotte_answers::release::{Ask, release_with_film};
use calotte_answers::states::states_with_film;
use calotte_answers::{Detail, load_or_pole, poke_with_film, verdict_with_film};
use calotte_specimen::{
    Case, Load, LoadKind, Material, Meridian, Part, Rim, Straight, Wall, new_template, read_case,
};
use serde::Serialize;
use serde_json::{Value, to_value};

/// Types by name: of an object its fields with their types, of anything else its text.
enum Type {
    Object(BTreeMap<String, String>),
    Other(String),
}

fn types() -> BTreeMap<String, Type> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../ui/src/api");
    let mut out = BTreeMap::new();
    for file in std::fs::read_dir(folder).unwrap().flatten() {
        let text = std::fs::read_to_string(file.path()).unwrap();
        let Some((name, _)) =
            file.file_name().to_str().unwrap().split_once('.').map(|(a, b)| (a.to_owned(), b))
        else {
            continue;
        };
        let Some((_, body)) = text.split_once(&format!("export type {name} = ")) else { continue };
        let kind = match body.strip_prefix('{') {
            None => Type::Other(body.trim().trim_end_matches(';').to_owned()),
            Some(fields) => {
                // Comments stand on lines of their own; a field on one.
                let code = fields.lines().filter(|l| !l.trim_start().starts_with(['/', '*']));
                let field = |l: &str| {
                    let (key, of) =
                        l.trim().trim_end_matches("};").trim().trim_end_matches(',').split_once(": ")?;
                    Some((key.to_owned(), of.to_owned()))
                };
                Type::Object(code.filter_map(field).collect())
            }
        };
        out.insert(name, kind);
    }
    out
}

/// Whether a value is of a type; `at` is where it stands.
fn check(v: &Value, of: &str, all: &BTreeMap<String, Type>, at: &str) {
    if let Some(some) = of.strip_suffix(" | null") {
        if !v.is_null() {
            check(v, some, all, at);
        }
        return;
    }
    if let Some(each) = of.strip_prefix("Array<").and_then(|t| t.strip_suffix('>')) {
        let list = v.as_array().unwrap_or_else(|| panic!("{at} is no list: {v}"));
        list.iter().enumerate().for_each(|(i, v)| check(v, each, all, &format!("{at}[{i}]")));
        return;
    }
    if let Some(each) = of.strip_prefix('[').and_then(|t| t.strip_suffix(']')) {
        let (list, each) = (v.as_array().unwrap(), each.split(", ").collect::<Vec<_>>());
        assert_eq!(list.len(), each.len(), "{at}");
        list.iter().zip(each).for_each(|(v, of)| check(v, of, all, at));
        return;
    }
    match (of, all.get(of)) {
        ("number", _) => assert!(v.is_number(), "{at} should be a number: {v}"),
        ("string", _) => assert!(v.is_string(), "{at} should be a text: {v}"),
        ("boolean", _) => assert!(v.is_boolean(), "{at} should be true or false: {v}"),
        (_, Some(Type::Object(fields))) => {
            let object = v.as_object().unwrap_or_else(|| panic!("{at} is no {of}: {v}"));
            let keys = |mut k: Vec<String>| {
                k.sort();
                k
            };
            let (has, wants) =
                (keys(object.keys().cloned().collect()), keys(fields.keys().cloned().collect()));
            assert_eq!(has, wants, "{at}");
            fields.iter().for_each(|(k, of)| check(&object[k], of, all, &format!("{at}.{k}")));
        }
        (_, Some(Type::Other(choices))) => check(v, choices, all, at),
        (choices, None) => {
            let one = |c: &str| c.trim().trim_matches('"') == v.as_str().unwrap_or("?");
            assert!(choices.split('|').any(one), "{at} is none of {choices}: {v}");
        }
    }
}

fn template(kind: &str) -> Case {
    let none = |_: &str| Err(std::io::ErrorKind::NotFound.into());
    read_case(new_template(kind).unwrap().as_bytes(), &none).0.unwrap()
}

fn worked(name: &str) -> Case {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../cases").join(name);
    let open = |file: &str| std::fs::read(folder.join(file));
    read_case(&std::fs::read(folder.join("case.toml")).unwrap(), &open).0.unwrap()
}

fn flat() -> Part {
    Part {
        meridian: Meridian::Straight(Straight { start: 0.0, slope: 0.0, length: 0.1 }),
        wall: Wall::uniform(1e-3),
        material: Material { youngs: 1e9, poisson: 0.3, density: None },
        rim: Rim::Clamped,
    }
}

#[test]
fn reports_are_of_their_types() {
    let all = types();
    assert!(all.len() > 100);
    let fits = |v: &dyn Fn() -> Value, of: &str, at: &str| check(&v(), of, &all, &format!("{of} of {at}"));
    fn json<T: Serialize>(v: &T) -> Value {
        to_value(v).unwrap()
    }
    let film = |f: &calotte_answers::film::Film, at: &str| fits(&|| json(f), "Film", at);
    for name in ["cap", "disc", "cone", "key", "bowl"] {
        let case = template(name);
        let (r, f) = verdict_with_film(&case, Detail::default());
        fits(&|| json(&r), "VerdictReport", name);
        film(&f, name);
        let (r, f) = poke_with_film(&case, &load_or_pole(case.load()));
        fits(&|| json(&r), "PokeReport", name);
        film(&f, name);
        let (r, f) = modes_with_film(&case, &Settings { lowest: 3, count: 1, ..Settings::default() });
        fits(&|| json(&r), "ModesReport", name);
        film(&f, name);
        if name == "bowl" {
            let (r, f) = states_with_film(&case, case.strain_limit());
            fits(&|| json(&r), "StatesReport", name);
            film(&f, name);
        }
    }
    let disc = template("disc");
    let branches = Branches::of(&disc).unwrap();
    fits(&|| json(&branches.report()), "HeatReport", "disc");
    film(&branches.film(), "disc");
    let cap = worked("jumping-cap");
    let ask = Ask { evidence: false, ..Ask::default() };
    let (r, f) = release_with_film(&cap, cap.motion(), &ask, &mut |_| true).unwrap();
    fits(&|| json(&r), "ReleaseReport", "jumping-cap");
    film(&f, "jumping-cap");
    // A part without rise, whose sphere has no bounds and which nothing can push through; a load with weight.
    let flat = flat();
    fits(&|| json(&verdict_with_film(&flat, Detail::default()).0), "VerdictReport", "a flat plate");
    fits(&|| json(&poke_with_film(&flat, &Load::default()).0), "PokeReport", "a flat plate");
    let weight = Load { kind: LoadKind::Pole, gravity: 9.81, ..Load::default() };
    fits(&|| json(&poke_with_film(&template("cap"), &weight).0), "PokeReport", "a cap with weight");
}

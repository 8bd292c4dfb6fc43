//! `calotte export`, run: files, limits, refusals, documented keys.

mod common;

use std::collections::BTreeSet;

use common::{Folder, GOOD, documented, key_names, parse, root, text};

/// What is written is what is told, the same every time; the collection names files that are there, and fields carry units.
#[test]
fn exports_are_what_is_told() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let small = ["--around", "12", "--json"];
    let run = |of: &str, out: &str| {
        folder.run(&[&["export", "case.toml", "--of", of, "--out", out], &small[..]].concat())
    };
    let (a, b) = (run("verdict", "a"), run("verdict", "b"));
    assert_eq!((a.code, a.err.as_str(), b.code), (0, "", 0));
    let told = parse(&a.out);
    let mut names: Vec<String> = Vec::new();
    for f in told["files"].as_array().unwrap() {
        let name = f["name"].as_str().unwrap();
        let [x, y] = ["a", "b"].map(|d| std::fs::read(folder.0.join(d).join(name)).unwrap());
        assert!(x == y && x.len() as u64 == f["bytes"].as_u64().unwrap(), "{name}");
        names.push(name.to_owned());
    }
    names.sort();
    let mut there: Vec<String> = std::fs::read_dir(folder.0.join("a"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    there.sort();
    assert_eq!(there, names);
    let mut keys = BTreeSet::new();
    key_names(&told, &["provenance"], &mut keys);
    let page = documented("docs/export.md", &["null", "time_s", "temperature_K", "shape"]);
    assert_eq!(keys.into_iter().map(str::to_owned).collect::<BTreeSet<_>>(), page);
    let again = run("verdict", "b");
    let page = text("docs/export.md");
    assert_eq!(again.code, 0);
    let surface = std::fs::read_to_string(
        folder.0.join("b").join(parse(&again.out)["files"].as_array().unwrap()[0]["name"].as_str().unwrap()),
    )
    .unwrap();
    let fields: Vec<&str> = surface
        .split("<PointData>")
        .nth(1)
        .unwrap()
        .split("Name=\"")
        .skip(1)
        .map(|f| f.split('"').next().unwrap())
        .collect();
    assert!(fields.len() >= 10, "{fields:?}");
    for f in fields {
        assert!(page.contains(&format!("`{f}`")), "{f} is not on its page");
    }
    let pvd = std::fs::read_to_string(folder.0.join("b/verdict.pvd")).unwrap();
    for file in pvd.split("file=\"").skip(1).map(|f| f.split('"').next().unwrap()) {
        assert!(folder.0.join("b").join(file).is_file(), "{file}");
    }
}

/// Every kind says what it writes before it does, and writes a collection; heat has two branches.
#[test]
fn every_kind_writes_a_collection() {
    let folder = Folder::new();
    let case = |name: &str| root().join(format!("cases/{name}/case.toml")).to_str().unwrap().to_owned();
    let ran = folder.run(&["export", &case("silicone-cap-stays"), "--of", "verdict", "--around", "16"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.starts_with("writing ") && ran.err.contains(" files, about "), "{}", ran.err);
    for (name, of) in [("camp-bowl", "states"), ("propagator-cutout", "heat"), ("clutch-detent", "modes")] {
        let ran =
            folder.run(&["export", &case(name), "--of", of, "--around", "8", "--shapes", "4", "--out", of]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(folder.0.join(of).join(format!("{of}.pvd")).is_file());
    }
}

/// What makes no sense is refused, and nothing is written.
#[test]
fn exports_that_make_no_sense_are_refused() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD).write("taken", "a file");
    for (more, told) in [
        (&["--of", "heat"][..], "case.toml"),
        (&["--of", "map"][..], "map"),
        (&["--of", "verdict", "--around", "3"][..], "--around"),
        (&["--of", "verdict", "--most", "1kB"][..], "--most"),
        (&["--of", "verdict", "--most", "lots"][..], "--most"),
        (&["--of", "verdict", "--out", "taken"][..], "taken"),
    ] {
        let ran = folder.run(&[&["export", "case.toml"], more].concat());
        assert!(ran.code == 2 && ran.err.contains(told), "{more:?}: {} {}", ran.code, ran.err);
        assert!(ran.out.is_empty() && !folder.0.join("export").exists(), "{more:?}");
    }
}

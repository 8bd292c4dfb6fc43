//! `calotte film`, run: files, sizes, refusals, documented keys.

mod common;

use std::collections::BTreeSet;

use common::{Folder, GOOD, documented, key_names, parse, root, text};

/// A film is made twice with the same bytes, says what it is, and keeps to its limit by giving things up in order.
#[test]
fn films_are_the_same_every_time_and_keep_to_their_limit() {
    let folder = Folder::new();
    let case = root().join("cases/clutch-detent/case.toml");
    let case = case.to_str().unwrap();
    let small = ["--seconds", "1", "--size", "320x240", "--formats", "gif,apng,html", "--json"];
    let run = |out: &str, more: &[&str]| {
        folder.run(&[&["film", case, "--of", "modes", "--out", out], &small[..], more].concat())
    };
    let (a, b) = (run("a", &[]), run("b", &[]));
    assert_eq!((a.code, a.err.as_str(), b.code), (0, "", 0));
    assert_eq!(a.out, b.out);
    let read = |dir: &str, name: &str| std::fs::read(folder.0.join(dir).join(name)).unwrap();
    let told = parse(&a.out);
    assert_eq!(told["files"].as_array().unwrap().len(), 3);
    for f in told["files"].as_array().unwrap() {
        let name = f["name"].as_str().unwrap();
        let bytes = read("a", name);
        assert!(bytes == read("b", name) && bytes.len() as u64 == f["bytes"].as_u64().unwrap(), "{name}");
    }
    assert!(told["slowed_least"].as_f64().unwrap() > 100.0);
    assert_eq!(told["closing"], "the last picture leads into the first");
    let page = String::from_utf8(read("a", "modes.html")).unwrap();
    assert!(!page.contains("http") && page.contains("prefers-reduced-motion") && page.contains("alt=\""));
    let largest =
        told["files"].as_array().unwrap().iter().map(|f| f["bytes"].as_u64().unwrap()).max().unwrap();
    let less = run("c", &["--most", &format!("{}", largest * 6 / 10)]);
    assert_eq!(less.code, 0, "{}", less.err);
    let told = parse(&less.out);
    assert!(!told["reduced"].as_array().unwrap().is_empty());
    for f in told["files"].as_array().unwrap() {
        assert!(f["bytes"].as_u64().unwrap() <= largest * 6 / 10);
    }
    let never = run("d", &["--most", "2kB"]);
    assert!(
        never.code == 2 && never.err.contains("smallest") && never.err.contains("--most"),
        "{}",
        never.err
    );
    assert!(!folder.0.join("d").exists());
    let told = parse(&a.out);
    let mut keys = BTreeSet::new();
    key_names(&told, &["provenance"], &mut keys);
    assert_eq!(
        keys.into_iter().map(str::to_owned).collect::<BTreeSet<_>>(),
        documented("docs/film.md", &["null"])
    );
}

/// What makes no sense is refused at its option, and nothing is written.
#[test]
fn films_that_make_no_sense_are_refused() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD).write("taken", "a file");
    for (more, told) in [
        (&["--of", "heat"][..], "case.toml"),
        (&["--of", "dance"][..], "dance"),
        (&["--of", "turning", "--size", "10x10"][..], "--size"),
        (&["--of", "turning", "--size", "9000x9000"][..], "--size"),
        (&["--of", "turning", "--size", "wide"][..], "--size"),
        (&["--of", "turning", "--seconds", "0"][..], "--seconds"),
        (&["--of", "turning", "--most", "much"][..], "--most"),
        (&["--of", "turning", "--formats", "gif,avi"][..], "avi"),
        (&["--of", "turning", "--slow-motion", "100"][..], "--slow-motion"),
        (&["--of", "modes", "--slow-motion", "fast"][..], "--slow-motion"),
        (&["--of", "turning", "--mode", "2"][..], "--mode"),
        (
            &["--of", "turning", "--seconds", "1", "--size", "320x240", "--formats", "gif", "--out", "taken"]
                [..],
            "taken",
        ),
    ] {
        let ran = folder.run(&[&["film", "case.toml"], more].concat());
        assert!(ran.code == 2 && ran.err.contains(told), "{more:?}: {} {}", ran.code, ran.err);
        assert!(ran.out.is_empty() && !folder.0.join("film").exists(), "{more:?}");
    }
    let ran = folder.run(&["film", "none.toml", "--of", "poke"]);
    assert!(ran.code == 2 && ran.err.contains("none.toml"));
}

/// The page's example is what is printed; turning, heat and a release run, each with the words that belong to it.
#[test]
fn the_page_on_films_shows_the_real_answer() {
    let page = text("docs/film.md");
    let command = page.split("```sh\ncargo run --release -- ").nth(1).unwrap().split('\n').next().unwrap();
    let folder = Folder::new();
    let case = |name: &str| root().join(format!("cases/{name}/case.toml")).to_str().unwrap().to_owned();
    let key = case("key-dome");
    let arguments: Vec<&str> =
        command.split(' ').map(|a| if a == "cases/key-dome/case.toml" { key.as_str() } else { a }).collect();
    let ran = folder.run(&arguments);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let shown = page.split("```text\n").nth(1).unwrap().split("\n```").next().unwrap();
    let mut rest = ran.out.lines();
    for line in shown.lines().filter(|l| !l.is_empty()) {
        assert!(rest.any(|l| l == line), "not printed: {line}\n{}", ran.out);
    }
    for (name, of, told) in [
        ("silicone-cap-stays", "turning", "leads into"),
        ("propagator-cutout", "heat", "leads into"),
        ("jumping-cap", "release", "fades back"),
    ] {
        let case = case(name);
        let small =
            ["--seconds", "2", "--size", "320x240", "--formats", "gif", "--look", "solid", "--out", of];
        let ran = folder.run(&[&["film", case.as_str(), "--of", of], &small[..]].concat());
        assert!(ran.code == 0 && ran.out.contains(told), "{name}: {}{}", ran.out, ran.err);
        assert!(folder.0.join(of).join(format!("{of}.gif")).is_file());
    }
}

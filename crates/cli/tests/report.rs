//! `calotte report`: a page that needs no network and can be made again; pages of a PDF; a teaching sheet; measurements beside it.

mod common;

use std::collections::BTreeSet;
use std::fs;
use std::sync::OnceLock;

use common::{Folder, GOOD, Ran, documented, key_names, parse, root};

/// Reports made once for all tests of this file.
struct Made {
    folder: Folder,
    said: String,
}

#[allow(clippy::unwrap_used, reason = "a helper of tests")]
fn made() -> &'static Made {
    static MADE: OnceLock<Made> = OnceLock::new();
    MADE.get_or_init(|| {
        let folder = Folder::new();
        let at = folder.0.join("cap");
        let case = "cases/silicone-cap-stays/case.toml";
        let out = at.to_str().unwrap();
        let specimens = "cases/silicone-cap-stays/specimens.csv";
        fs::write(folder.0.join("bench.json"), BENCH).unwrap();
        let measured = folder.0.join("bench.json");
        let ran = Ran::of(
            &root(),
            &[
                "report",
                case,
                "--out",
                out,
                "--date",
                "a day <in> June",
                "--specimens",
                specimens,
                "--measured",
                measured.to_str().unwrap(),
            ],
        );
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        Made { folder, said: ran.out }
    })
}

/// Bench tests, invented: a modulus well off that of the shelf, and a wall.
const BENCH: &str = r#"{"schema_version": 1, "provenance": {}, "case_block": "", "estimates": [], "doubts": [], "warnings": [],
"combined": {"youngs_modulus_Pa": 1.6e6, "relative_deviation": 0.02},
"thickness": [{"test": "wall, invented", "mean_m": 2.41e-3, "scatter_m": 1e-5, "reading_deviation_m": 1.5e-5}], "memory": null}"#;

#[allow(clippy::unwrap_used, reason = "a helper of tests")]
fn read(name: &str) -> String {
    fs::read_to_string(made().folder.0.join("cap").join(name)).unwrap()
}

/// Values of an attribute, in order.
fn values<'a>(page: &'a str, attribute: &str) -> Vec<&'a str> {
    page.split(&format!(" {attribute}=\"")).skip(1).filter_map(|rest| rest.split('"').next()).collect()
}

#[test]
fn the_page_loads_nothing_and_can_be_followed() {
    let page = read("report.html");
    assert!(page.starts_with("<!DOCTYPE html>\n<html lang=\"en\">"));
    // The data are text, in which anything may stand.
    let seen = page.split("<script type=\"application/json\"").next().unwrap();
    for attribute in ["src", "href", "xlink:href", "data", "srcset", "poster"] {
        for value in values(seen, attribute) {
            assert!(value.starts_with('#') || value.starts_with("data:"), "{attribute}={value}");
        }
    }
    assert!(!seen.contains("@import") && !seen.contains("<script"));
    let ids = values(seen, "id");
    let unique: BTreeSet<&str> = ids.iter().copied().collect();
    assert_eq!(ids.len(), unique.len(), "ids are unique");
    let targets = values(seen, "href").into_iter().filter_map(|v| v.strip_prefix('#'));
    let named = values(seen, "aria-labelledby").into_iter().flat_map(|v| v.split(' '));
    let mut count = 0;
    for target in targets.chain(named) {
        assert!(unique.contains(target), "nothing is called {target}");
        count += 1;
    }
    assert!(count > 25, "{count}");
    let levels: Vec<u32> =
        seen.match_indices("<h").filter_map(|(at, _)| seen[at + 2..].chars().next()?.to_digit(10)).collect();
    assert_eq!(levels[..2], [1, 2]);
    assert!(levels.windows(2).all(|w| w[1] <= w[0] + 1), "{levels:?}");
    assert_eq!(levels.iter().filter(|l| **l == 1).count(), 1);
    // Every figure has words, every head of a table says what it heads.
    let figures: Vec<&str> = seen.split("<svg ").skip(1).collect();
    assert_eq!(figures.len(), 4, "shape, energy, branch, map");
    for f in figures {
        let head = f.split("<rect").next().unwrap();
        assert!(
            head.contains("role=\"img\"")
                && head.contains("<title id=\"figure-")
                && head.contains("<desc id=\"figure-")
        );
        let words = head.split("<desc").nth(1).unwrap();
        assert!(words.len() > 80, "{words}");
    }
    assert_eq!(seen.matches("<th ").count(), seen.matches("scope=\"").count());
    assert!(seen.contains("a day &lt;in&gt; June") && !seen.contains("<in>"));
    for landmark in ["<header>", "<nav ", "<main ", "<footer>", "class=\"skip\""] {
        assert!(seen.contains(landmark), "{landmark}");
    }
}

#[test]
fn the_page_tells_what_matters_and_the_data_hold_the_same() {
    let page = read("report.html");
    let data = parse(&read("report.json"));
    let sentence = made().said.lines().next().unwrap();
    assert_eq!(data["answer"], sentence);
    assert!(
        page.contains(sentence) && sentence.starts_with("Turned inside out, this part stays."),
        "{sentence}"
    );
    for part in [
        "0.939 ± 0.031",
        "26.00 mm",
        "± 0.10 mm",
        "the shelf",
        "0.155",
        "Biot",
        "cut-resistant glove",
        "calotte report --again",
    ] {
        assert!(page.contains(part), "the page does not say: {part}");
    }
    // Against the case: 1.15 ± 0.13 MPa on the shelf, 1.60 ± 0.03 measured; a wall of 2.40 ± 0.05 mm.
    let rows = data["measured"].as_array().unwrap();
    let z = |i: usize| rows[i]["z"].as_f64().unwrap();
    assert_eq!(rows.len(), 2);
    assert!(z(0) > 5.0 && z(1).abs() < 1.0, "{} {}", z(0), z(1));
    assert!(
        page.contains(
            "2 numbers were measured and computed; 1 of them more than 3 standard deviations apart."
        )
    );
    // Ten specimens are in the file.
    assert_eq!(data["answers"]["map"]["counts"]["agree"], 7);
    assert!(data["provenance"]["specimens"]["text"].as_str().unwrap().contains("Invented"));
    let bib = read("sources.bib");
    assert_eq!(bib.matches("\n}").count(), page.matches("<li id=\"source-").count());
    let sheet = fs::read(made().folder.0.join("cap/report.pdf")).unwrap();
    assert!(sheet.starts_with(b"%PDF-1.7") && sheet.len() > 50_000);
    let mut figures = fs::read_dir(made().folder.0.join("cap/figures")).unwrap().count();
    figures /= 2;
    assert_eq!(figures, 4);
}

#[test]
fn made_again_it_is_the_same_and_a_changed_number_is_found() {
    let folder = Folder::new();
    let report = made().folder.0.join("cap/report.html");
    let again = folder.run(&["report", "--again", report.to_str().unwrap()]);
    assert_eq!((again.code, again.err.as_str()), (0, ""), "{}", again.out);
    assert!(again.out.starts_with("SAME: Workshop cap A"), "{}", again.out);
    assert!(again.out.contains("the same, byte for byte"), "{}", again.out);
    // A number of the page, a number of the data, and a number of the case.
    let page = fs::read_to_string(&report).unwrap();
    folder.write("seen.html", page.replacen("0.939 ± 0.031", "0.839 ± 0.031", 1));
    let seen = folder.run(&["report", "--again", "seen.html"]);
    assert_eq!(seen.code, 1);
    assert!(
        seen.out.contains("1 DIFFERENCE") && seen.out.contains("0.839") && seen.out.contains("of the page"),
        "{}",
        seen.out
    );
    let mut data = parse(&read("report.json"));
    data["answers"]["verdict"]["margin"]["thickness_ratio"] = 0.5.into();
    folder.write("data.json", data.to_string());
    let told = folder.run(&["report", "--again", "data.json"]);
    assert_eq!(told.code, 1);
    assert!(
        told.out.contains("answers/verdict/margin/thickness_ratio") && told.out.contains("told 0.5;"),
        "{}",
        told.out
    );
    let mut data = parse(&read("report.json"));
    let case =
        data["provenance"]["case"]["text"].as_str().unwrap().replace("2.40 ± 0.05 mm", "2.41 ± 0.05 mm");
    data["provenance"]["case"]["text"] = case.into();
    data["provenance"]["version"] = "0.0.9".into();
    folder.write("case.json", data.to_string());
    let told = folder.run(&["report", "--again", "case.json", "--json"]);
    assert_eq!(told.code, 1);
    let told = parse(&told.out);
    assert_eq!(told["told_by"], "0.0.9");
    let places: Vec<&str> =
        told["differences"].as_array().unwrap().iter().map(|d| d["place"].as_str().unwrap()).collect();
    assert!(places.contains(&"provenance/case_digest") && places.len() > 20, "{places:?}");
}

#[test]
fn keys_are_those_of_the_page_about_reports() {
    let data = parse(&read("report.json"));
    let folder = Folder::new();
    let mut other = data.clone();
    other["answer"] = "another".into();
    folder.write("r.json", other.to_string());
    let again = parse(&folder.run(&["report", "--again", "r.json", "--json"]).out);
    let mut seen = BTreeSet::new();
    key_names(&data, &["verdict", "map"], &mut seen);
    key_names(&again, &[], &mut seen);
    // Of the answers only how long lists are told belongs here; a file that is no text is carried in base64.
    let mut inside = BTreeSet::new();
    key_names(&data["answers"], &[], &mut inside);
    assert!(inside.contains("fingerprint") && inside.contains("length"));
    seen.extend(["fingerprint", "length", "base64"]);
    let seen: BTreeSet<String> =
        seen.into_iter().filter(|k| !["verdict", "map"].contains(k)).map(str::to_owned).collect();
    let page = documented("docs/report.md", &["null", "report"]);
    assert_eq!(page, seen, "docs/report.md (left), data (right)");
}

#[test]
fn a_sheet_is_one_page_for_a_class() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let ran = folder.run(&["report", "case.toml", "--sheet", "--out", "s", "--paper", "letter"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let page = fs::read_to_string(folder.0.join("s/sheet.html")).unwrap();
    for part in [
        "Bending against stretching",
        "Try this",
        "Predicted",
        "What we saw",
        "Cut rubber",
        "comes back by itself",
        "the lip",
    ] {
        assert!(page.contains(part), "{part}");
    }
    let pdf = fs::read(folder.0.join("s/sheet.pdf")).unwrap();
    let text = String::from_utf8_lossy(&pdf);
    let count = text.matches("/Type/Page").count() - text.matches("/Type/Pages").count();
    assert_eq!(count, 1, "pages");
    // A longer title makes no second page; one that leaves no room is refused.
    for (times, code) in [(8, 0), (60, 2)] {
        folder.write("long.toml", GOOD.replace("Test", &"Long title ".repeat(times)));
        let ran = folder.run(&["report", "long.toml", "--sheet", "--out", "l"]);
        assert_eq!(ran.code, code, "{times}: {}", ran.err);
        assert_eq!(ran.err.contains("does not fit on one page"), code == 2, "{}", ran.err);
    }
    // Nothing doubtful is taught.
    folder.write("thick.toml", GOOD.replace("2.1 mm", "9 mm"));
    let doubtful = folder.run(&["report", "thick.toml", "--sheet"]);
    assert_eq!(doubtful.code, 2, "{}", doubtful.out);
    assert!(doubtful.err.contains("nothing doubtful goes on a teaching sheet"), "{}", doubtful.err);
}

#[test]
fn what_cannot_be_is_refused_with_what_would_be_right() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    folder.write("verdict.json", r#"{"schema_version": 1, "provenance": {}, "verdict": "stays"}"#);
    folder.write("other.json", r#"{"a": 1}"#).write("no.json", "{").write("page.html", "<p>no report</p>");
    folder.write("newer.json", r#"{"kind": "report", "schema_version": 9}"#).write("scan.pdf", "%PDF-1.7");
    folder.write("bench.json", BENCH.replace("\"schema_version\": 1", "\"schema_version\": 2"));
    let mut cut = parse(&read("report.json"));
    cut["provenance"]["files"] = parse(r#"[{"name": "a.csv"}]"#);
    folder.write("cut.json", cut.to_string());
    cut["provenance"]["case"] = parse("[]");
    folder.write("gone.json", cut.to_string());
    for (arguments, says) in [
        (&["case.toml", "--with", "polk"][..], &["--with polk", "did you mean `poke`?"][..]),
        (&["case.toml", "--with", "heat"], &["--with heat"]),
        (&["case.toml", "--without", "verdict"], &["a report begins with it"]),
        (&["case.toml", "--with", "modes", "--without", "modes"], &["both in --with and in --without"]),
        (
            &["case.toml", "--measured", "verdict.json"],
            &["verdict.json: is a computed answer", "calotte side"],
        ),
        (&["case.toml", "--measured", "other.json"], &["is not an answer of this program"]),
        (&["case.toml", "--measured", "no.json"], &["is no JSON"]),
        (&["case.toml", "--measured", "bench.json"], &["layout version 2; this program reads 1"]),
        (&["case.toml", "--measured", "none.json"], &["--measured none.json: cannot be read"]),
        (&["case.toml", "--paper", "a5"], &["a4, letter"]),
        (&["none.toml"], &["none.toml: cannot be read"]),
        (&["--again", "page.html"], &["carries no data of a report"]),
        (&["--again", "other.json"], &["is not a report of this program"]),
        (&["--again", "newer.json"], &["layout version 9"]),
        (&["--again", "scan.pdf"], &["is a PDF", "report.json beside it"]),
        (&["--again", "cut.json"], &["its provenance is damaged", "`a.csv`"]),
        (&["--again", "gone.json"], &["its provenance is damaged"]),
    ] {
        let all: Vec<&str> = ["report"].iter().chain(arguments).copied().collect();
        let ran = folder.run(&all);
        assert_eq!(ran.code, 2, "{arguments:?}: {}", ran.err);
        for part in says {
            assert!(ran.err.contains(part), "{arguments:?}: {}", ran.err);
        }
    }
    assert!(!folder.names().iter().any(|n| n.starts_with("report-")), "nothing is written");
}

/// Parts whose first page is another: heat, folding, a motion, a push.
#[test]
fn a_report_begins_with_what_its_part_is_for() {
    let folder = Folder::new();
    for (name, begins, chapters) in [
        ("propagator-cutout", "On heating it trips at 55.7 ± 2.2 °C", ["Heated", "Turned inside out"]),
        ("key-dome", "With the load set it trips at 58.5 mN", ["Pushed", "Turned inside out"]),
    ] {
        let case = format!("cases/{name}/case.toml");
        let out = folder.0.join(name);
        let ran = Ran::of(&root(), &["report", &case, "--without", "map", "--out", out.to_str().unwrap()]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{name}");
        assert!(ran.out.starts_with(begins), "{}", ran.out);
        let page = fs::read_to_string(out.join("report.html")).unwrap();
        let at = |chapter: &str| page.find(&format!(">{chapter}</h2>")).unwrap();
        assert!(at(chapters[0]) < at(chapters[1]));
        assert!(!page.contains(">Thresholds over depth and thickness</h2>"));
        // The table of moduli that the case names goes with it.
        assert_eq!(name == "propagator-cutout", page.contains("The file moduli.csv"));
    }
    // A complete sphere has no rim, and nothing to turn: it begins with its vibrations.
    folder.write(
        "ball.toml",
        "title = \"Hollow ball (invented)\"\n[shape]\nkind = \"cap\"\nradius = \"60 mm\"\nhalf_angle = \"180 deg\"\n\
         [rim]\nkind = \"free\"\n[wall]\nthickness = \"1 mm\"\n\
         [material]\nyoungs_modulus = \"1 MPa\"\npoisson_ratio = 0.49\ndensity = \"1100 kg/m3\"\n",
    );
    let ran = folder.run(&["report", "ball.toml", "--out", "ball"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let page = fs::read_to_string(folder.0.join("ball/report.html")).unwrap();
    assert!(page.contains("A complete sphere with a wall of 1.000 mm; nothing holds it."));
    assert!(
        page.contains(">Vibrations</h2>") && !page.contains("rim radius") && !page.contains("its rim is")
    );
}

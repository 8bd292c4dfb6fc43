//! Everything that can be wrong with a case: what is said, where, and what to do.

use std::io;

use proptest::prelude::*;

use super::tests::{CAP, PROFILE, nothing, profile};
use super::*;

/// Findings as `line:column text → what is said | hint`.
pub(super) fn lines(text: &[u8], open: &dyn Fn(&str) -> io::Result<Vec<u8>>) -> Vec<String> {
    let (case, found) = read_case(text, open);
    assert_eq!(case.is_none(), found.iter().any(|f| f.level == Level::Error), "{found:#?}");
    let show = |f: &Finding| {
        let (name, bytes) = match &f.file {
            File::Case => (String::new(), text.to_vec()),
            File::Other(name) => (format!("{name}:"), open(name).unwrap_or_default()),
        };
        assert!(f.span.start <= f.span.end && f.span.end <= bytes.len().max(1), "{f:?}");
        let p = place(&bytes, f.span.start);
        let at = String::from_utf8_lossy(bytes.get(f.span.clone()).unwrap_or_default()).into_owned();
        let mark = if f.level == Level::Warning { "warning: " } else { "" };
        let hint = f.hint.as_deref().unwrap_or("");
        format!("{name}{}:{} {at} → {mark}{} | {hint}", p.line, p.column, f.says)
    };
    found.iter().map(show).collect()
}

/// Exactly one finding, which starts so and contains so.
#[track_caller]
pub(super) fn one(text: &str, start: &str, contains: &[&str]) {
    let all = lines(text.as_bytes(), &nothing);
    check_one(&all, start, contains);
}

#[track_caller]
pub(super) fn check_one(all: &[String], start: &str, contains: &[&str]) {
    assert_eq!(all.len(), 1, "{all:#?}");
    assert!(all[0].starts_with(start), "{}", all[0]);
    for c in contains {
        assert!(all[0].contains(c), "{c}: {}", all[0]);
    }
}

fn cap_with(from: &str, to: &str) -> String {
    assert!(CAP.contains(from));
    CAP.replace(from, to)
}

#[test]
fn unknown_keys_and_tables() {
    one(
        &cap_with("half_angle = \"60 ± 1 deg\"", "half_angle = \"60 deg\"\nhole_diametre = \"4 mm\""),
        "6:1 hole_diametre →",
        &["unknown key", "did you mean `hole_diameter`?"],
    );
    one(
        &cap_with("[rim]", "radius = \"2 mm\"\n[rim]"),
        "12:1 radius →",
        &["`radius` belongs in `[shape]` or `[load]`"],
    );
    one(
        &cap_with("[rim]", "[springs]\nx = 1\n[rim]"),
        "12:2 springs →",
        &["unknown table", "[shape], [wall]"],
    );
    one(&cap_with("[rim]", "[laod]\nx = 1\n[rim]"), "12:2 laod →", &["did you mean `[load]`?"]);
    let all = lines(cap_with("[rim]", "[rimm]").as_bytes(), &nothing);
    assert!(
        all.len() == 2 && all[1].contains("did you mean `[rim]`?") && all[0].contains("`[rim]` is missing"),
        "{all:#?}"
    );
    one(&cap_with("title", "colour"), "1:1 colour →", &["unknown key", "known here: title"]);
}

#[test]
fn units_and_numbers() {
    one(&cap_with("1.2 MPa", "1.2 Mpa"), "9:23 Mpa →", &["unknown unit `Mpa`", "did you mean `MPa`?"]);
    one(
        &cap_with("2.10 ± 0.05 mm", "2.10 ± 0.05"),
        "7:14 2.10 →",
        &["a length needs a unit", "write `2.10 ± 0.05 mm`"],
    );
    one(&cap_with("\"25 mm\"", "25"), "4:10 25 →", &["a length needs a unit", "write, in quotes, `25 mm`"]);
    one(&cap_with("60 ± 1 deg", "60 mm"), "5:18 mm →", &["an angle is wanted", "measures a length"]);
    one(&cap_with("60 ± 1 deg", "60"), "5:15 60 →", &["an angle needs a unit", "write `60 deg`"]);
    one(&cap_with("25 mm", "2,5 mm"), "4:11 2,5 →", &["write `2.5`"]);
    one(&cap_with("25 mm", "inf mm"), "4:11 inf mm →", &["must be finite"]);
    one(&cap_with("0.49", "nan"), "10:17 nan →", &["must be finite"]);
    one(&cap_with("25 mm", "1e999 mm"), "4:11 1e999 →", &["must be finite"]);
    one(&cap_with("25 mm", "-25 mm"), "4:11 -25 mm →", &["`shape.radius` must be greater than 0"]);
    one(&cap_with("2.10 ± 0.05 mm", "2.10 ± -0.05 mm"), "7:21 -0.05 →", &["cannot be negative"]);
    one(&cap_with("60 ± 1 deg", "181 deg"), "5:15 181 deg →", &["at most 180 deg"]);
    one(&cap_with("25 mm", "\\u0032,5 mm"), "4:10 ", &["a comma"]);
}

#[test]
fn poisson_ratio_limits() {
    for (written, fine) in [("0.5", true), ("-0.99", true), ("0.51", false), ("-1", false), ("-1.0", false)] {
        let text = cap_with("0.49", written);
        let (case, found) = read_case(text.as_bytes(), &nothing);
        assert_eq!(case.is_some(), fine, "{found:?}");
        if !fine {
            one(&text, &format!("10:17 {written} →"), &["greater than −1 and at most 0.5"]);
        }
    }
    one(
        &cap_with("0.49", "\"0.49 ± 0.02\""),
        "10:18 0.49 ± 0.02 → warning:",
        &["the tolerance reaches 0.51", "at most 0.5"],
    );
}

#[test]
fn too_few_and_too_many_sizes() {
    one(
        &cap_with("radius = \"25 mm\"\n", ""),
        "2:2 shape →",
        &["`half_angle` alone", "add one of radius, rim_diameter"],
    );
    one(
        &cap_with("[wall]", "rise = \"12 mm\"\n[wall]"),
        "6:1 rise →",
        &["one size too many", "follows rise = 12.5 mm"],
    );
    one(
        &cap_with("radius = \"25 mm\"\nhalf_angle = \"60 ± 1 deg\"\n", ""),
        "2:2 shape →",
        &["two sizes are needed"],
    );
}

#[test]
fn sizes_that_exclude_each_other() {
    let pair =
        |a: &str, b: &str| cap_with("radius = \"25 mm\"\nhalf_angle = \"60 ± 1 deg\"", &format!("{a}\n{b}"));
    one(
        &pair("radius = \"25 mm\"", "rim_diameter = \"60 mm\""),
        "5:17 60 mm →",
        &["the rim (60 mm) is wider than the sphere (diameter 50 mm)", "a radius written for a diameter"],
    );
    one(&pair("radius = \"25 mm\"", "rise = \"60 mm\""), "5:9 60 mm →", &["reaches the diameter"]);
    one(
        &pair("radius = \"25 mm\"", "arc_length = \"80 mm\""),
        "5:15 80 mm →",
        &["far pole", "not from rim to rim"],
    );
    one(
        &pair("rim_diameter = \"50 mm\"", "arc_length = \"25 mm\""),
        "5:15 25 mm →",
        &["no longer than the rim radius (25 mm)"],
    );
    one(&pair("rise = \"20 mm\"", "arc_length = \"25 mm\""), "4:9 20 mm →", &["more than 0.7246"]);
    one(
        &pair("rise = \"17 mm\"", "arc_length = \"25 mm\""),
        "4:9 17 mm → warning:",
        &["two caps have this rise"],
    );
    one(
        &cap_with("[wall]", "hole_diameter = \"44 mm\"\n[wall]"),
        "6:18 44 mm →",
        &["the hole (44 mm) reaches the rim", "43.3 mm"],
    );
    one(&cap_with("2.10 ± 0.05 mm", "50 mm"), "7:14 50 mm →", &["too thick"]);
    one(
        &cap_with("kind = \"cap\"", "kind = \"cap\"\nsurface = \"outer\"").replace("2.10 ± 0.05 mm", "51 mm"),
        "8:14 51 mm →",
        &["too thick"],
    );
    one(
        &cap_with("60 ± 1 deg", "179.5 ± 1 deg"),
        "5:15 179.5 ± 1 deg → warning:",
        &["the tolerance reaches 180.5 deg"],
    );
    one(&cap_with("2.10 ± 0.05 mm", "12 mm"), "7:14 12 mm → warning:", &["third of the radius"]);
    one(&cap_with("25 mm", "25 m"), "4:11 25 m → warning:", &["unusual", "is the unit right?"]);
    one(&cap_with("1.2 MPa ± 10 %", "1.2 Pa"), "9:19 1.2 Pa → warning:", &["unusual"]);
}

#[test]
fn thickness_lists() {
    let list = |arc: &str, h: &str| {
        cap_with("thickness = \"2.10 ± 0.05 mm\"", &format!("arc = {arc}\nthickness = {h}"))
    };
    let h = "[\"2 mm\", \"1.5 mm\", \"1 mm\"]";
    one(&list("[\"0 mm\", \"12 mm\", \"10 mm\"]", h), "7:26 10 mm →", &["must increase"]);
    one(&list("[\"0 mm\", \"12 mm\"]", h), "7:7 ", &["2 places for 3 thicknesses"]);
    one(
        &list("[\"0 mm\", \"12 mm\", \"16 mm\"]", h),
        "7:7 ",
        &["warning: thicknesses from 0.000 to 16.000 mm along a meridian of 26.180 mm"],
    );
    one(&list("\"0 mm\"", h), "7:8 0 mm →", &["takes a list"]);
    one(
        &list("[\"0 mm\", \"12 mm\", \"26 mm\"]", "[\"2 mm\", \"-1 mm\", \"1 mm\"]"),
        "8:23 -1 mm →",
        &["greater than 0"],
    );
    one(&list("[\"0 mm\", \"26 mm\"]", "\"2 mm\""), "7:1 arc →", &["goes with a list"]);
    one(&cap_with("\"2.10 ± 0.05 mm\"", "[\"2 mm\", \"1 mm\"]"), "6:2 wall →", &["`arc` is missing"]);
    one(
        &cap_with("[material]", "offset = \"0 mm\"\n[material]"),
        "8:1 offset →",
        &["goes with a list or table"],
    );
    one(&cap_with("[material]", "table = \"wall.csv\"\n[material]"), "8:1 table →", &["exclude each other"]);
    let face = list("[\"0 mm\", \"12 mm\", \"26 mm\"]", h)
        .replace("kind = \"cap\"", "kind = \"cap\"\nsurface = \"inner\"");
    one(&face, "4:12 inner →", &["must belong to the mid-surface", "surface = \"mid\""]);
    let wide = list("[\"0 mm\", \"12 ± 1 mm\", \"26 mm\"]", h);
    one(&wide, "7:17 12 ± 1 mm → warning:", &["tolerance of a place is not used"]);
}

#[test]
fn missing_parts() {
    for table in ["shape", "wall", "material", "rim"] {
        let start = CAP.find(&format!("[{table}]")).unwrap();
        let end = CAP[start + 1..].find("\n[").map_or(CAP.len(), |e| start + 2 + e);
        one(
            &format!("{}{}", &CAP[..start], &CAP[end..]),
            "1:1 ",
            &[&format!("the table `[{table}]` is missing")],
        );
    }
    one(&cap_with("kind = \"cap\"\n", ""), "2:2 shape →", &["`kind` is missing", "kind = \"cap\""]);
    one(&cap_with("kind = \"free\"\n", ""), "12:2 rim →", &["`kind` is missing", "clamped"]);
    one(&cap_with("thickness = \"2.10 ± 0.05 mm\"\n", ""), "6:2 wall →", &["`thickness` is missing"]);
    one(
        &cap_with("poisson_ratio = 0.49\n", ""),
        "8:2 material →",
        &["`poisson_ratio` is missing", "silicone-30"],
    );
    one(
        &cap_with("poisson_ratio = 0.49", "name = \"silicone-35\""),
        "10:9 silicone-35 →",
        &["not on the shelf, and `poisson_ratio` is not given", "did you mean `silicone-30`?"],
    );
    one(&cap_with("\"free\"", "\"elastic\""), "13:9 elastic →", &["at least one spring"]);
    one(
        &cap_with("\"free\"", "\"free\"\nradial = \"2 N/m^2\""),
        "14:1 radial →",
        &["does not go with kind = \"free\""],
    );
    one(&cap_with("\"free\"", "\"fixed\""), "13:9 fixed →", &["`kind` cannot be \"fixed\"", "\"clamped\""]);
}

#[test]
fn wrong_types() {
    one(&cap_with("\"Test cap\"", "7"), "1:9 7 →", &["`title` takes a text in quotes, not a bare number"]);
    one(&cap_with("\"25 mm\"", "[\"25 mm\"]"), "4:10 ", &["`radius` takes a length, not a list"]);
    one(&cap_with("\"25 mm\"", "2020-01-01"), "4:10 2020-01-01 →", &["not a date"]);
    one(&cap_with("\"free\"", "true"), "13:8 true →", &["takes a text in quotes, not true or false"]);
    one(&cap_with("\"free\"", "\"\""), "13:8 ", &["cannot be \"\""]);
    let all = lines(format!("rim = 3\n{}", cap_with("[rim]\nkind = \"free\"\n", "")).as_bytes(), &nothing);
    assert!(all.iter().any(|l| l.contains("`rim` is a table, not a bare number")), "{all:#?}");
}

#[test]
fn broken_toml() {
    let all = lines(cap_with("\"25 mm\"", "\"25 mm").as_bytes(), &nothing);
    assert!(all.iter().any(|l| l.starts_with("4:")), "{all:#?}");
    let all = lines(cap_with("[wall]", "[wall\n").as_bytes(), &nothing);
    assert!(all.iter().any(|l| l.starts_with("6:")), "{all:#?}");
    let all = lines(cap_with("[wall]", "radius = \"26 mm\"\n[wall]").as_bytes(), &nothing);
    check_one(&all, "6:1 radius →", &["duplicate key"]);
    let all = lines(cap_with("\"25 mm\"", "25 mm").as_bytes(), &nothing);
    check_one(&all, "4:10 25 mm →", &["must be quoted", "radius = \"25 mm\""]);
    // Syntax and sense are both reported, and nothing is called missing that was only lost.
    let all = lines(b"[shape]\nradius = 25 mm\nhalf_angle = \"60\"\n", &nothing);
    assert!(all.len() >= 2 && all.iter().any(|l| l.contains("an angle needs a unit")), "{all:#?}");
    assert!(!all.iter().any(|l| l.contains("missing")), "{all:#?}");
}

#[test]
fn files_that_are_no_cases() {
    check_one(&lines(b"", &nothing), "1:1 ", &["the file is empty", "calotte new cap"]);
    check_one(&lines(b"\xef\xbb\xbf \n", &nothing), "1:1 ", &["the file is empty"]);
    check_one(&lines(b"title = \"\xff\"", &nothing), "1:10 ", &["not UTF-8"]);
    check_one(&lines(&vec![b'#'; (1 << 20) + 1], &nothing), "1:1 ", &["larger than 1 MiB"]);
    // A byte order mark shifts no place.
    let marked = format!("\u{feff}{}", cap_with("1.2 MPa", "1.2 Mpa"));
    let (_, found) = read_case(marked.as_bytes(), &nothing);
    assert_eq!(&marked[found[0].span.clone()], "Mpa");
}

#[test]
fn everything_at_once_in_order() {
    let text = cap_with("25 mm", "25 m m")
        .replace("0.49", "0.6")
        .replace("2.10 ± 0.05 mm", "2.10")
        .replace("free", "fre");
    let all = lines(text.as_bytes(), &nothing);
    let starts: Vec<&str> = all.iter().map(|l| l.split(' ').next().unwrap()).collect();
    assert_eq!(starts, ["4:14", "7:14", "10:17", "13:9"], "{all:#?}");
}

#[track_caller]
fn csv(case: &str, name: &str, bytes: &[u8], start: &str, contains: &[&str]) {
    let open = |asked: &str| if asked == name { Ok(bytes.to_vec()) } else { nothing(asked) };
    check_one(&lines(case.as_bytes(), &open), start, contains);
}

#[test]
fn bad_tables() {
    let case = cap_with("thickness = \"2.10 ± 0.05 mm\"", "table = \"wall.csv\"");
    one(&case, "7:10 wall.csv →", &["there is no file `wall.csv`", "folder of the case file"]);
    let table = |bytes: &[u8], start: &str, contains: &[&str]| csv(&case, "wall.csv", bytes, start, contains);
    table(b"", "wall.csv:1:1 ", &["no lines", "arc_mm,thickness_mm"]);
    table(b"0,2\n10,2\n", "wall.csv:1:1 0,2 →", &["must name the columns", "arc_mm,thickness_mm"]);
    table(
        b"arc_mm,thickness\n0,2\n",
        "wall.csv:1:8 thickness →",
        &["does not name its unit", "write `thickness_mm`"],
    );
    table(b"arc_mm,thickness_mmm\n0,2\n", "wall.csv:1:8 thickness_mmm →", &["unknown unit `mmm`"]);
    table(
        b"arc_mm,h_mm,thickness_mm\n0,1,2\n26,1,2\n",
        "wall.csv:1:8 h_mm → warning:",
        &["column `h_mm` is not used"],
    );
    table(b"arc_mm\n0\n", "wall.csv:1:1 arc_mm →", &["no column `thickness`"]);
    table(b"arc_mm,thickness_mm\n", "wall.csv:1:1 ", &["no rows"]);
    table(b"arc_mm,thickness_mm\n0,2\n12,x\n26,2\n", "wall.csv:3:4 x →", &["`x` is not a number"]);
    table(b"arc_mm,thickness_mm\n0,2\n12,nan\n26,2\n", "wall.csv:3:4 nan →", &["must be finite"]);
    table(b"arc_mm,thickness_mm\n0,2\n12\n26,2\n", "wall.csv:3:1 12 →", &["1 fields"]);
    table(b"arc_mm;thickness_mm\n0;2\n12;2,5\n26;2\n", "wall.csv:3:4 2,5 →", &["comma", "write `2.5`"]);
    table(b"arc_mm,thickness_mm\n0,2\n12,2\n11,2\n", "wall.csv:4:1 11,2 →", &["must increase"]);
    table(b"arc_mm,thickness_mm\n0,2\n12,0\n26,2\n", "wall.csv:3:1 12,0 →", &["greater than 0"]);
    table(b"arc_mm,thickness_mm\n0,\xff\n", "wall.csv:2:3 ", &["not UTF-8"]);
    table(&vec![b'0'; (16 << 20) + 1], "wall.csv:1:1 ", &["larger than 16 MiB"]);
}

#[test]
fn bad_profiles() {
    let head = "r_mm,z_mm\n";
    let arc = |from: f64, step: f64, count: usize| -> Vec<String> {
        let at = |i: usize| libm::sincos(from + step * i as f64);
        (0..count).map(at).map(|(s, c)| format!("{:.4},{:.4}\n", 25.0 * s, 25.0 * (1.0 - c))).collect()
    };
    let run = |case: &str, rows: &[String], start: &str, contains: &[&str]| {
        csv(case, "profile.csv", format!("{head}{}", rows.concat()).as_bytes(), start, contains);
    };
    let good = arc(0.0, 0.03, 30);
    run(PROFILE, &good[..7], "3:9 profile.csv →", &["7 points; the curve needs 8"]);
    run(PROFILE, &good[10..], "profile.csv:2:1 ", &["from the axis: its pole is missing", "hole = true"]);
    run(&PROFILE.replace("[wall]", "hole = true\n[wall]"), &good, "profile.csv:2:1 ", &["lies on the axis"]);
    let mut swapped = good.clone();
    swapped.swap(12, 15);
    run(PROFILE, &swapped, "profile.csv:15:1 ", &["behind an earlier one"]);
    let mut outlier = good.clone();
    outlier[12] = "8.9,1.76\n".to_owned();
    run(PROFILE, &outlier, "profile.csv:14:1 8.9,1.76 → warning:", &["off the smooth curve", "an outlier?"]);
    let flat: Vec<String> = (0..20).map(|i| format!("{i},0\n")).collect();
    run(PROFILE, &flat, "3:9 profile.csv →", &["rises only"]);
    let mut left = good.clone();
    left[3] = "-3,0.1\n".to_owned();
    run(PROFILE, &left, "profile.csv:5:1 ", &["a negative radius", "one half of the profile"]);
    let rough: Vec<String> = (0..40)
        .map(|i| {
            let wave = if i % 2 == 0 { 0.2 } else { -0.2 };
            format!("{:.3},{:.3}\n", 0.5 * f64::from(i), 0.02 * 0.25 * f64::from(i * i) + wave)
        })
        .collect();
    run(PROFILE, &rough, "4:16 0.02 mm →", &["times the stated sd"]);
    let fine = profile(1.0).into_bytes();
    csv(
        &PROFILE.replace("position_sd = \"0.02 mm\"\n", ""),
        "profile.csv",
        &fine,
        "1:2 shape →",
        &["`position_sd` is missing"],
    );
    csv(
        &PROFILE.replace("[wall]", "radius = \"3 mm\"\n[wall]"),
        "profile.csv",
        &fine,
        "5:1 radius →",
        &["does not go with kind = \"meridian\""],
    );
    csv(
        &PROFILE.replace("thickness = \"2 mm\"", "thickness = \"60 mm\""),
        "profile.csv",
        &fine,
        "6:14 60 mm →",
        &["too thick"],
    );
    // Rim to pole is turned round.
    let mut back = good.clone();
    back.reverse();
    let text = format!("{head}{}", back.concat());
    let (case, found) = read_case(PROFILE.as_bytes(), &|_: &str| Ok(text.clone().into_bytes()));
    assert!(found.is_empty() && case.unwrap().notes().iter().any(|n| n.contains("turned round")));
}

#[test]
fn columns_count_characters() {
    let text = "a = \"µµ\" x".as_bytes();
    assert_eq!(place(text, text.len() - 1), Place { line: 1, column: 10 });
    assert_eq!(place(b"a\r\nb", 3), Place { line: 2, column: 1 });
    assert_eq!(place(b"", 5), Place { line: 1, column: 1 });
}

proptest! {
    /// Whatever is cut out of a case, put into it or repeated: findings that lie inside the file, and a
    /// case exactly when none is an error (`lines` checks both).
    #[test]
    fn any_damage_is_survived(from in 0..500usize, count in 0..12usize, put in "[\\PC\n\"=\\[\\]{}0-9.±%-]{0,6}", which in 0..4usize) {
        let text = [CAP, PROFILE, new_cap_template(), super::tests_load::POKED][which].as_bytes();
        let (from, to) = (from.min(text.len()), (from + count).min(text.len()));
        let damaged = [&text[..from], put.as_bytes(), &text[to.max(from)..]].concat();
        let files = |name: &str| if name == "profile.csv" { Ok(profile(1.0).into_bytes()) } else { nothing(name) };
        lines(&damaged, &files);
    }

    #[test]
    fn any_damage_to_a_profile_is_survived(from in 0..600usize, count in 0..40usize, put in "[\\PC\n,;0-9.e-]{0,6}") {
        let text = profile(1.0).into_bytes();
        let (from, to) = (from.min(text.len()), (from + count).min(text.len()));
        let damaged = [&text[..from], put.as_bytes(), &text[to..]].concat();
        lines(PROFILE.as_bytes(), &|_: &str| Ok(damaged.clone()));
    }
}

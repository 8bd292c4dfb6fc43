//! Lines that contradict themselves are told at their place; all others are kept.

use calotte_specimen::{Case, File, Finding, place, read_case};

use super::record::{Logbook, Outcome};
use super::{Header, Sheet, read_header, read_logbook};

const CASE: &str = r#"
title = "Invented"
[shape]
kind = "cap"
radius = "25 mm"
half_angle = "50 ± 1 deg"
[wall]
thickness = "1.6 mm"
[material]
youngs_modulus = "1.2 MPa"
poisson_ratio = 0.49
[rim]
kind = "table"
[load]
kind = "pole"
from = "inverted"
"#;

#[allow(clippy::unwrap_used, reason = "a helper of tests")]
fn case() -> Case {
    read_case(CASE.as_bytes(), &|_| Err(std::io::Error::other("none"))).0.unwrap()
}

fn flat(csv: &str) -> (Option<Logbook>, Vec<Finding>) {
    let sheet = Sheet { name: "t.csv", bytes: csv.as_bytes() };
    read_logbook(&Header::default(), b"", &case(), None, Some(sheet))
}

/// Line, column and words of every finding.
fn told(csv: &str, found: &[Finding]) -> Vec<(usize, usize, String)> {
    let at = |f: &Finding| {
        assert_eq!(f.file, File::Other("t.csv".into()));
        let p = place(csv.as_bytes(), f.span.start);
        (p.line, p.column, f.says.clone())
    };
    found.iter().map(at).collect()
}

const HEAD: &str = "specimen,wall.thickness_mm,hold_s,outcome,wait_s,watched_s,trip_load_N,snap_time_ms\n";

#[test]
fn a_sound_logbook_is_read() {
    let csv = "# Invented.\nspecimen;wall.thickness (mm);wall.thickness_tolerance_mm;hold;outcome;wait_s;wait_error;note\n\
               A;1.50;0.03;10 s;stays;;;\n\
               A;;;1 min;still there after 20 min;;;\"later; after lunch\"\n\
               B;1,9;;10 s;waits;3;5 %;\n\
               C;1.8;0.03;10 s;waits;> 300 s;;\n\
               D;1.9 mm ± 2 %;;10 s;waits;3.0 ± 0.2;;\n\
               E;0.07 in;;0 s;returns;;;\n";
    let (book, found) = flat(csv);
    let book = book.unwrap();
    // `1,9` is told with what to write, and left out.
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].hint.as_ref().unwrap().contains("1.9"), "{found:?}");
    assert_eq!((book.lines, book.left_out, book.specimens.len()), (6, 1, 4));
    let [a, c, d, e] = &book.specimens[..] else { panic!() };
    assert_eq!((a.name.as_str(), a.trials.len(), a.line), ("A", 2, 3));
    assert!((a.sizes[0].half_width.unwrap() - 3e-5).abs() < 1e-12);
    assert_eq!((a.trials[1].hold, a.trials[1].watched), (Some(60.0), Some(1200.0)));
    assert_eq!(a.trials[1].note, "later; after lunch");
    // Still there when one stopped looking.
    assert_eq!(
        (c.trials[0].outcome, c.trials[0].watched, c.trials[0].wait),
        (Some(Outcome::Stays), Some(300.0), None)
    );
    assert!((d.sizes[0].half_width.unwrap() - 3.8e-5).abs() < 1e-9);
    assert!((d.trials[0].wait.unwrap().half_width.unwrap() - 0.2).abs() < 1e-12);
    assert!((e.sizes[0].value - 1.778e-3).abs() < 1e-9 && e.trials[0].hold == Some(0.0));
}

#[test]
fn contradictions_are_told_and_the_others_kept() {
    let cases = [
        ("A,1.5,10,stays,3 ± 0.1,,,", 16, "the outcome is `stays`, but a wait"),
        ("A,1.5,10,returns,3 ± 0.1,,,", 18, "the outcome is `returns`, but a wait"),
        ("A,1.5,10,waits,3 ± 4,,,", 16, "shorter than its own error"),
        ("A,1.5,10,waits,30 ± 1,20,,", 23, "was watched for"),
        ("A,1.5,-10,waits,3,,,", 7, "0 or greater"),
        ("A,1.5,10,waits,-3,,,", 16, "greater than 0"),
        ("A,1.5,10,dances,,,,", 10, "is no outcome"),
        ("A,1.5,10,,3,,,", 1, "no outcome"),
        ("A,1.5,10,returns,,,0.3,", 20, "cannot have been tripped"),
        ("A,1.5,10,stays,,,,12", 19, "the duration of a snap"),
        ("A,1.5,10,returns,> 60 s,,,", 18, "still there"),
        ("A,-1.5,10,stays,,,,", 3, "no part has the sizes"),
        ("A,1.5 s,10,stays,,,,", 3, ""),
        (",1.5,10,stays,,,,", 1, "no specimen is named"),
        ("Q,,10,stays,,,,", 1, "no specimen `Q` is known"),
        ("B,1.7,10,stays,,,,", 3, "was 1.6 mm on line 2"),
        ("A,1.5,10,stays,,,,,7", 20, "9 fields under 8 columns"),
    ];
    for (line, column, says) in cases {
        let csv = format!("{HEAD}B,1.6,10,stays,,,,\n{line}\nB,,10,waits,2 ± 0.1,,,\n");
        let (book, found) = flat(&csv);
        let told = told(&csv, &found);
        assert_eq!(told.len(), 1, "{line}: {told:?}");
        assert_eq!((told[0].0, told[0].1), (3, column), "{line}: {told:?}");
        assert!(told[0].2.contains(says), "{line}: {told:?}");
        let book = book.unwrap();
        assert_eq!((book.lines, book.left_out), (3, 1), "{line}");
        assert_eq!(book.specimens[0].trials.len(), 2, "{line}");
    }
}

#[test]
fn first_lines_and_headers_are_checked() {
    for (csv, says, hint) in [
        ("specimen,wal.thickness_mm,outcome\nA,1,stays\n", "is not known", "wall.thickness"),
        ("specimen,wall.thickness_furlong,outcome\nA,1,stays\n", "unknown unit", "mm"),
        ("wall.thickness_mm,outcome\n1,stays\n", "no column `specimen`", "specimen"),
        ("specimen,hold_s,hold_s\nA,1,1\n", "a second column", ""),
        ("", "no lines", "start with"),
    ] {
        let (book, found) = flat(csv);
        assert!(book.is_none(), "{csv}");
        assert!(found.iter().any(|f| f.says.contains(says)), "{csv}: {found:?}");
        assert!(found.iter().any(|f| f.hint.as_deref().unwrap_or("").contains(hint)), "{csv}: {found:?}");
    }
    for (toml, says) in [
        ("case = 3\ntrials = \"t.csv\"", "must be a text"),
        ("cases = \"c.toml\"\ntrials = \"t.csv\"", "is no key of a logbook"),
        ("case = \"c.toml\"", "has no trials"),
        ("trials = \"t.csv\"\nlapse = 0.7", "less than 0.5"),
        ("trials = \"t.csv\"\nwatched = \"0.1 s\"", "not shorter than"),
        ("trials = \"t.csv\"\n[prior]\nthickness = 1", "no number of that name"),
        ("trials = \"t.csv\"\n[prior]\nthickness_factor = 1", "with a tolerance is wanted"),
        ("trials = \"t.csv\"\n[next]\nhold = \"1 s\"", "must be two ends"),
        ("trials = ", ""),
    ] {
        let (header, found) = read_header(toml.as_bytes());
        assert!(header.is_none() && !found.is_empty(), "{toml}");
        assert!(found.iter().any(|f| f.says.contains(says)), "{toml}: {found:?}");
    }
}

/// Tables in the TOML file itself; two specimens of one name.
#[test]
fn tables_in_the_header_are_read() {
    let toml = "[[specimen]]\nspecimen = \"A\"\nwall.thickness = \"1.5 ± 0.03 mm\"\n\
                [[specimen]]\nspecimen = \"A\"\nwall.thickness = \"1.6 mm\"\n\
                [[trial]]\nspecimen = \"A\"\noutcome = \"stays\"\nhold = \"10 s\"\nwhen = 2025-01-02\n";
    let (header, found) = read_header(toml.as_bytes());
    assert!(found.is_empty(), "{found:?}");
    let (book, found) = read_logbook(&header.unwrap(), toml.as_bytes(), &case(), None, None);
    assert_eq!(found.len(), 1);
    assert!(found[0].says.contains("stands on line 2 already"), "{found:?}");
    assert_eq!(place(toml.as_bytes(), found[0].span.start).line, 5);
    let book = book.unwrap();
    assert_eq!(
        (book.specimens.len(), book.left_out, book.specimens[0].trials[0].when.as_str()),
        (1, 1, "2025-01-02")
    );
}

/// Whatever bytes come, reading ends without a panic.
#[test]
fn damaged_logbooks_are_read_without_harm() {
    let good = format!("{HEAD}B,1.6 ± 0.03,10,waits,3 ± 0.1,600,,\nC,1.5,10,stays,,,0.3 ± 0.01,\n");
    let mut dice = calotte_chance::Stream::new(4);
    for _ in 0..3000 {
        let mut bytes = good.clone().into_bytes();
        for _ in 0..=dice.below(4) {
            let at = dice.below(bytes.len());
            match dice.below(3) {
                0 => bytes[at] = dice.below(256) as u8,
                1 => {
                    bytes.remove(at);
                }
                _ => bytes.insert(at, b",\"\n>;\xc2"[dice.below(6)]),
            }
        }
        let sheet = Sheet { name: "t.csv", bytes: &bytes };
        let (book, found) = read_logbook(&Header::default(), b"", &case(), None, Some(sheet));
        if let Some(book) = book {
            assert!(book.left_out <= book.lines);
        } else {
            assert!(!found.is_empty());
        }
        let _ = read_header(&bytes);
    }
}

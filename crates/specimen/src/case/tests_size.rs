//! The table `[size]`: what is read, what is refused.

use super::tests::{CAP, clean};
use super::tests_findings::one;
use super::*;

/// Line 14 starts `[size]`.
const SIZE: &str = "[size]\nvary = [\"wall.thickness = 1 mm..4 mm\", \"shape.half_angle = 40 deg..70 deg\"]\n\
    wishes = \"margin >= 10 %\"\ndraws = 2000\n";

fn with(from: &str, to: &str) -> String {
    assert!(SIZE.contains(from), "{from}");
    format!("{CAP}{}", SIZE.replace(from, to))
}

#[test]
fn the_table_is_read_with_its_places() {
    assert_eq!(clean(CAP).size(), None);
    let case = clean(&format!("{CAP}{SIZE}"));
    let text = |line, column, text: &str| SizeText { text: text.to_owned(), place: Place { line, column } };
    assert_eq!(
        case.size(),
        Some(&SizeTable {
            vary: vec![
                text(15, 10, "wall.thickness = 1 mm..4 mm"),
                text(15, 41, "shape.half_angle = 40 deg..70 deg")
            ],
            wishes: vec![text(16, 11, "margin >= 10 %")],
            draws: Some(2000),
        })
    );
    // It adds no number and changes no part.
    assert_eq!(case.inputs().len(), clean(CAP).inputs().len());
    assert_eq!((case.part(), case.says_motion()), (clean(CAP).part(), false));
    assert_eq!(clean(&format!("{CAP}[size]\n")).size(), Some(&SizeTable::default()));
    // A byte order mark moves no place.
    let marked = clean(&format!("\u{feff}{CAP}{SIZE}"));
    assert_eq!(marked.size().unwrap().wishes[0].place.line, 16);
}

#[test]
fn faults_are_pointed_at() {
    one(
        &with("wall.thickness =", "wall.thickenss ="),
        "15:10 wall.thickenss = 1 mm..4 mm →",
        &["the case has no number `wall.thickenss`", "did you mean `wall.thickness`?"],
    );
    one(&with("wishes", "wish"), "16:1 wish →", &["unknown key `wish`", "`wishes`"]);
    one(&with("2000", "10"), "17:9 10 →", &["a whole number from 100 to 100000"]);
    one(&with("2000", "200.5"), "17:9 200.5 →", &["a whole number from 100 to 100000"]);
    one(&with("\"margin >= 10 %\"", "3"), "16:10 3 →", &["a list of texts"]);
    one(&with("\"margin >= 10 %\"", "\" \""), "16:10", &["empty"]);
}

/// A solution written into the case keeps the table.
#[test]
fn a_case_written_anew_keeps_it() {
    let case = clean(&format!("{CAP}{SIZE}"));
    let at = case.inputs().iter().position(|i| i.key == "wall.thickness").unwrap();
    let again = clean(&case.rewritten(&[(at, 2.3e-3)]).unwrap());
    assert_eq!(again.size(), case.size());
}

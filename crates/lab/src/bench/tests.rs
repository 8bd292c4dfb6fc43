//! Bench files as a whole: findings at their places, other tests kept, moduli that come back.

use std::io;

use calotte_specimen::{Level, place};

use super::*;

fn nothing(_: &str) -> io::Result<Vec<u8>> {
    Err(io::Error::new(io::ErrorKind::NotFound, "not here"))
}

/// `line:column says`, errors alone.
fn said(text: &str) -> Vec<String> {
    let (_, found) = bench(text.as_bytes(), &nothing);
    found
        .iter()
        .filter(|f| f.level == Level::Error)
        .map(|f| {
            let at = place(text.as_bytes(), f.span.start);
            format!("{}:{} {} | {}", at.line, at.column, f.says, f.hint.clone().unwrap_or_default())
        })
        .collect()
}

#[test]
fn the_template_is_worked_out() {
    let (report, found) = bench(bench_template().as_bytes(), &nothing);
    assert!(found.is_empty(), "{found:#?}");
    let r = report.unwrap();
    assert_eq!(r.estimates.len(), 4);
    assert!(
        r.combined.as_ref().unwrap().agree
            && r.thickness.len() == 1
            && r.case_block.contains("youngs_modulus")
    );
}

#[test]
fn findings_point_and_the_rest_is_kept() {
    let good = "[[hardness]]\nreadings = [\"40 ± 1\", \"41\"]\n";
    for (bad, starts, contains) in [
        ("[[droop]]\nlenght = \"60 mm\"\n", "2:1 unknown key `lenght`", "length"),
        ("[[droop]]\nlength = \"60\"\n", "2:11 `length`: a length needs a unit", "60 mm"),
        ("[[dropp]]\nlength = \"60 mm\"\n", "1:3 unknown table `dropp`", "[[droop]]"),
        ("[droop]\nlength = \"60 mm\"\n", "1:2 `droop` is a list of tables", "[[droop]]"),
        ("[[cantilever]]\nlength = \"-6 mm\"\n", "2:11 `length` must be greater than 0", ""),
        (
            "[[cantilever]]\nlength = \"6 mm\"\nwidth = \"5 mm\"\nthickness = \"1 mm\"\ndrop = \"1 mm\"\n",
            "1:1 [[cantilever]] needs `weight`",
            "gf",
        ),
        ("[[droop]]\nstrip = \"B\"\n", "2:10 there is no strip \"B\"", "[[strip]]"),
        (
            "[[poke]]\ncase = \"cap.toml\"\nforce = \"5 gf\"\ndisplacement = \"1 mm\"\n",
            "2:9 `cap.toml` cannot be read",
            "path",
        ),
        ("[relaxation]\ntable = \"r.csv\"\n", "2:10 `r.csv` cannot be read", "CSV"),
        ("[[ringing]]\nof = \"clamped-srip\"\nfrequency = \"8 Hz\"\n", "2:6 `of` cannot be", "clamped-strip"),
        (
            "[[thickness]]\narclengths = [\"1 mm\", \"2 mm\"]\nangles = [\"0 deg\", \"90 deg\"]\nreadings = [[\"2 mm\", \"2 mm\"], [\"2 mm\"]]\n",
            "4:33 1 readings for 2 angles",
            "one reading to each angle",
        ),
    ] {
        let text = format!("{bad}{good}");
        let all = said(&text);
        assert_eq!(all.len(), 1, "{bad}: {all:#?}");
        assert!(all[0].starts_with(starts) && all[0].contains(contains), "{starts}: {}", all[0]);
        let (report, _) = bench(text.as_bytes(), &nothing);
        assert_eq!(report.unwrap().estimates.len(), 1, "{bad}");
    }
    assert!(said("")[0].contains("the file is empty"));
    assert!(said("title = \"x\"\n")[0].contains("no test"));
    assert!(said("[[droop]\n").len() == 1);
    let all = said("[[droop]]\na = 1\nb = 2\n[[poke]]\nc = 3\n");
    assert_eq!(all.len(), 3, "{all:#?}");
}

/// A poke on a cap: the force is computed with a modulus of its own, and that modulus comes back; sizes count in its error.
#[test]
fn a_poke_gives_its_modulus_back() {
    let cap = |modulus: &str| {
        format!(
            "title = \"c\"\n[shape]\nkind = \"cap\"\nradius = \"26.0 ± 0.1 mm\"\nhalf_angle = \"60 deg\"\n\
             [wall]\nthickness = \"2.40 ± 0.05 mm\"\n[material]\nyoungs_modulus = \"{modulus}\"\npoisson_ratio = 0.49\n[rim]\nkind = \"ring\"\n"
        )
    };
    let truth = 1.7e6;
    let (case, _) = calotte_specimen::read_case(cap("1.7 MPa").as_bytes(), &nothing);
    let case = case.unwrap();
    let load = calotte_answers::load_or_pole(None);
    let report = calotte_answers::poke(&case, &load);
    let row = report.path.iter().find(|r| r.displacement_SI > 0.5e-3).unwrap();
    let text = format!(
        "[[poke]]\ncase = \"cap.toml\"\nforce = \"{:.9} ± 0.001 N\"\ndisplacement = \"{:.9} ± 0.01 mm\"\n",
        row.load_SI,
        1e3 * row.displacement_SI
    );
    let open = |_: &str| Ok(cap("1 MPa").into_bytes());
    let (report, found) = bench(text.as_bytes(), &open);
    assert!(found.is_empty(), "{found:#?}");
    let e = &report.unwrap().estimates[0];
    assert!((e.modulus / truth - 1.0).abs() < 1e-5, "{}", e.modulus);
    // A thin wall's stiffness at its pole goes as its thickness squared (Reissner 1946): two thirds of the wall's error, twice.
    let wall = e.budget.iter().find(|b| b.input.contains("wall.thickness")).unwrap();
    assert!((wall.effect.abs() / (0.025 / 2.4) - 2.0).abs() < 0.4, "{wall:?}");
}

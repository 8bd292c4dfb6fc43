//! Plans: what is read, what is refused and where, and rows that are pure functions of the point.

use std::io;

use calotte_answers::{Detail, verdict};
use calotte_runs::Value;
use calotte_specimen::{Case, File, Finding, Level, place};
use calotte_sweep::{Plan, Sweep, read_plan};

/// A valid case.
const CASE: &str = "title = \"Test\"\n[shape]\nkind = \"cap\"\nradius = \"25 mm\"\nhalf_angle = \"60 deg\"\n[wall]\n\
thickness = \"2.1 mm\"\n[material]\nyoungs_modulus = \"1.2 MPa\"\npoisson_ratio = 0.49\n[rim]\nkind = \"free\"\n";

const GRID: &str = "case = \"case.toml\"\nquestions = [\"threshold\"]\nchunk = 10\ndesign = \"grid\"\n\
[vary.\"wall.thickness\"]\nfrom = \"1 mm\"\nto = \"4 mm\"\ncount = 4\n[vary.depth]\nfrom = \"40 deg\"\nto = \"70 deg\"\ncount = 3\n";

const POINTS: &str = "wall.thickness_mm,shape.half_angle\n2.0,60 deg\n2.5,1.0 rad\n# a remark\n2.2,55 deg\n";

fn whole(plan: &str, table: &str) -> Result<(Plan, Case), Vec<Finding>> {
    let open = |name: &str| match name {
        "case.toml" => Ok(CASE.as_bytes().to_vec()),
        "points.csv" => Ok(table.as_bytes().to_vec()),
        _ => Err(io::Error::from(io::ErrorKind::NotFound)),
    };
    let read = read_plan(plan.as_bytes(), &open, &|_, _| Err(io::Error::from(io::ErrorKind::NotFound)));
    assert_eq!(
        read.plan.is_none(),
        read.findings.iter().any(|f| f.level == Level::Error),
        "{:?}",
        read.findings
    );
    read.plan.ok_or(read.findings)
}

fn cube(design: &str) -> String {
    GRID.replace("count = 4\n", "").replace("count = 3\n", "").replace("\"grid\"", design)
}

#[test]
fn faults_are_told_at_their_place() {
    let cases: [(&str, &str, usize, &str, &str); 22] = [
        ("\"1 mm\"", "\"1 deg\"", 6, "a length is wanted", "known units"),
        ("\"1 mm\"", "\"nan mm\"", 6, "`from`", "write"),
        ("\"1 mm\"", "1", 6, "unit", "mm"),
        ("\"1 mm\"", "\"1 ± 0.1 mm\"", 6, "tolerance", "alone"),
        ("\"1 mm\"", "\"5 mm\"", 6, "range of `wall.thickness` is empty", "less than `to`"),
        ("\"1 mm\"", "\"4 mm\"", 6, "is empty", "less than `to`"),
        ("wall.thickness", "wall.thicknes", 5, "no number `wall.thicknes`", "did you mean `wall.thickness`?"),
        ("wall.thickness", "shape.kind", 5, "`shape.kind` is no number", "wall.thickness"),
        ("wall.thickness", "shape.rise", 5, "the case does not give `shape.rise`", "write it into the case"),
        ("count = 4\n", "", 5, "no `count`", "count = 40"),
        ("count = 4\n", "count = 1\n", 8, "varies nothing", "count = 2"),
        ("count = 4\n", "count = 4.5\n", 8, "whole number", "count"),
        ("count = 4\n", "count = 1099511627776\n", 4, "at most 1099511627776 (2^40)", "smaller"),
        ("count = 4\n", "count = 10000000\n", 3, "are 3000000 files", "chunk = 30"),
        ("count = 4\n", "count = 4\nspacing = \"log\"\n", 9, "cannot be \"log\"", "logarithmic"),
        ("\"1 mm\"", "\"-1 mm\"\nspacing = \"logarithmic\"", 6, "greater than 0", "even"),
        (
            "\"wall.thickness\"",
            "wall.thickness",
            5,
            "unknown key `thickness` of `wall`",
            "[vary.\"wall.thickness\"]",
        ),
        ("[\"threshold\"]", "[\"treshold\"]", 2, "cannot be \"treshold\"", "did you mean \"threshold\"?"),
        (
            "[\"threshold\"]",
            "[\"verdict\", \"heat\"]",
            2,
            "\"heat\" makes no sense for this case",
            "change the case",
        ),
        ("[\"threshold\"]", "[]", 2, "nothing is asked", "threshold"),
        ("\"case.toml\"", "\"other.toml\"", 1, "`other.toml` cannot be read", "relative to the plan"),
        ("chunk = 10", "chunck = 10", 3, "unknown key `chunck`", "did you mean `chunk`?"),
    ];
    for (old, new, line, says, hint) in cases {
        let plan = GRID.replacen(old, new, 1);
        let found = whole(&plan, "").unwrap_err();
        let f = &found[0];
        let at = place(plan.as_bytes(), f.span.start);
        assert!(f.says.contains(says) && f.hint.as_ref().unwrap().contains(hint), "{new}: {found:?}");
        assert_eq!(at.line, line, "{new}: {found:?}");
    }
}

#[test]
fn keys_of_another_design_and_keys_that_lack_are_told() {
    let told = |plan: &str, says: &str| {
        let found = whole(plan, POINTS).unwrap_err();
        assert!(found.iter().any(|f| f.says.contains(says)), "{plan}\n{found:?}");
    };
    told(&GRID.replace("design = \"grid\"\n", ""), "no `design`");
    told(&format!("points = 5\n{GRID}"), "a design \"grid\" has no `points`");
    told(&GRID.replace("\"grid\"", "\"sobol\""), "a design \"sobol\" has no `count`");
    told(&cube("\"sobol\""), "no `points`");
    told(&cube("\"latin hypercube\"\npoints = 0"), "whole number from 1");
    told(&cube("\"latin hypercube\"\npoints = 2000000000000"), "whole number from 1");
    told(&GRID.replace("\"grid\"", "\"table\"\ntable = \"points.csv\""), "a design \"table\" has no `vary`");
    told("questions = [\"verdict\"]\ndesign = \"grid\"\n", "no `case`");
    told("case = \"case.toml\"\nquestions = [\"verdict\"]\ndesign = \"grid\"\n", "no number varies");
    told("", "empty");
    told("case = ", "");
    // Several at once.
    let many = GRID.replace("chunk = 10", "chunk = 0").replace("4 mm", "4 s").replace("count = 3\n", "");
    assert_eq!(whole(&many, "").unwrap_err().len(), 3);
    // A seed where none counts is a warning.
    let open = |_: &str| Ok(CASE.as_bytes().to_vec());
    let read = read_plan(format!("seed = 5\n{GRID}").as_bytes(), &open, &|_, _| unreachable!());
    assert!(read.plan.is_some() && read.findings[0].level == Level::Warning);
}

#[test]
fn tables_of_points() {
    let plan =
        "case = \"case.toml\"\nquestions = [\"verdict\"]\ndesign = \"table\"\ntable = \"points.csv\"\n";
    let (read, case) = whole(plan, POINTS).unwrap();
    let sweep = Sweep::new(&read, &case).unwrap();
    assert_eq!((sweep.points(), sweep.chunks()), (3, 1));
    let values = |k| sweep.point(k).unwrap().values.iter().map(|v| v.value_si).collect::<Vec<_>>();
    assert!(values(0)[0] == 2e-3 && (values(0)[1] - 60.0_f64.to_radians()).abs() < 1e-15);
    assert_eq!(values(1), [2.5e-3, 1.0]);
    assert!(sweep.point(3).is_none());
    let names: Vec<&str> = sweep.job().columns[1..3].iter().map(|c| c.name.as_str()).collect();
    assert_eq!(names, ["wall.thickness_m", "shape.half_angle_rad"]);
    for (old, new, line, says) in [
        ("2.5,1.0 rad", "2.5", 3, "1 cells in this line for 2 columns"),
        ("2.5,1.0 rad", "2.5,1.0", 3, "unit"),
        ("2.5,1.0 rad", "2.5 ± 1,1.0 rad", 3, "tolerance"),
        ("2.5,1.0 rad", "x,1.0 rad", 3, "`wall.thickness`"),
        ("_mm", "_deg", 1, "`deg` is no unit of a length"),
        ("shape.half_angle", "wall.thickness", 1, "two columns"),
        ("shape.half_angle", "shape.angle", 1, "no number `shape.angle`"),
    ] {
        let table = POINTS.replacen(old, new, 1);
        let found = whole(plan, &table).unwrap_err();
        assert_eq!(found[0].file, File::Other("points.csv".into()));
        assert!(found[0].says.contains(says), "{new}: {found:?}");
        assert_eq!(place(table.as_bytes(), found[0].span.start).line, line, "{found:?}");
    }
}

#[test]
fn what_matters_changes_the_digest_and_nothing_else() {
    let digest = |plan: &str| {
        let (plan, case) = whole(plan, POINTS).unwrap();
        Sweep::new(&plan, &case).unwrap().digest().to_owned()
    };
    let base = digest(GRID);
    for same in [format!("title = \"Other\"\n# remark\n{GRID}"), GRID.replace("1 mm", "0.1 cm")] {
        assert_eq!(digest(&same), base);
    }
    let sobol = |more: &str| cube(&format!("\"sobol\"\npoints = 12{more}"));
    let others = [
        GRID.replace("4 mm", "4.1 mm"),
        GRID.replace("count = 4", "count = 5"),
        GRID.replace("chunk = 10", "chunk = 11"),
        GRID.replace("\"threshold\"", "\"verdict\""),
        GRID.replace("count = 4", "count = 4\nspacing = \"logarithmic\""),
        sobol(""),
        sobol("\nseed = 2"),
        cube("\"latin hypercube\"\npoints = 12"),
    ];
    let mut all: Vec<String> = others.iter().map(|p| digest(p)).chain([base]).collect();
    all.sort();
    all.dedup();
    assert_eq!(all.len(), others.len() + 1);
}

/// A point alone, in any order, is the point among the others, bit by bit; the cheap threshold is the verdict's to the accuracy of
/// its meshes; where there is no such part, cells are missing and the note says why.
#[test]
fn rows_are_functions_of_their_point() {
    let plan = GRID
        .replace("[\"threshold\"]", "[\"threshold\", \"verdict\"]")
        .replace("to = \"70 deg\"", "to = \"200 deg\"");
    let (plan, case) = whole(&plan, "").unwrap();
    let sweep = Sweep::new(&plan, &case).unwrap();
    assert_eq!(sweep.points(), 12);
    let names: Vec<&str> = sweep.job().columns.iter().map(|c| c.name.as_str()).collect();
    assert_eq!(
        names[..7],
        [
            "point",
            "wall.thickness_m",
            "depth_rad",
            "threshold_thickness_ratio",
            "threshold_threshold_thickness_m",
            "threshold_certified",
            "verdict_verdict"
        ]
    );
    let rows: Vec<Vec<Value>> = (0..12).map(|k| sweep.row(k)).collect();
    let mut compared = 0;
    for k in (0..12).rev() {
        let row = sweep.row(k);
        assert_eq!(row, rows[k as usize], "{k}");
        assert_eq!(row[0], Value::Count(k as i64));
        // 40, 120 and 200 degrees: there is no cap beyond 180.
        if k % 3 == 2 {
            assert!(row[3..row.len() - 1].iter().all(|v| *v == Value::Missing));
            assert!(matches!(&row[row.len() - 1], Value::Text(t) if t.contains("no such part")), "{row:?}");
            assert!(sweep.point(k).unwrap().note.is_some());
            continue;
        }
        if let (Value::Number(cheap), Value::Number(whole)) = (&row[3], &row[7]) {
            assert!((cheap / whole - 1.0).abs() < 1e-6, "{row:?}");
            compared += 1;
        }
    }
    assert!(compared >= 4, "{rows:?}");
    // The part as described, asked by itself.
    let (plan, case) = whole(
        "case = \"case.toml\"\nquestions = [\"threshold\"]\ndesign = \"table\"\ntable = \"points.csv\"\n",
        "wall.thickness_mm\n2.1\n",
    )
    .unwrap();
    let row = Sweep::new(&plan, &case).unwrap().row(0);
    let margin = verdict(&case, Detail { branch: false, depth: false }).margin.unwrap();
    let near = |v: &Value, due: f64| matches!(v, Value::Number(x) if (x / due - 1.0).abs() < 1e-8);
    assert!(near(&row[2], margin.thickness_ratio) && near(&row[3], margin.threshold_thickness_m), "{row:?}");
    assert_eq!((&row[4], &row[5]), (&Value::Flag(true), &Value::Missing));
}

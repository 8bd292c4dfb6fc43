//! Bad input: every problem at its place, exit code 2, nothing written. Random damage is in `damage.rs`.

mod common;

use common::{Folder, GOOD};

#[track_caller]
fn refused(case: impl AsRef<[u8]>, parts: &[&str]) {
    refused_with(case, &[], parts);
}

/// Runs a case with other files beside it; the words in `parts` must be in the findings.
#[track_caller]
fn refused_with(case: impl AsRef<[u8]>, others: &[(&str, &str)], parts: &[&str]) {
    let folder = Folder::new();
    folder.write("case.toml", case);
    for (name, content) in others {
        folder.write(name, content);
    }
    let before = folder.names();
    for arguments in [&["verdict", "case.toml", "--out", "made"][..], &["verdict", "case.toml", "--json"]] {
        let ran = folder.run(arguments);
        assert_eq!(ran.code, 2, "{}{}", ran.out, ran.err);
        assert_eq!(ran.out, "");
        assert!(ran.err.contains("nothing was computed or written"), "{}", ran.err);
        for part in parts {
            assert!(ran.err.contains(part), "no `{part}` in\n{}", ran.err);
        }
        assert_eq!(folder.names(), before, "something was written");
    }
}

fn with(from: &str, to: &str) -> String {
    assert!(GOOD.contains(from));
    GOOD.replace(from, to)
}

#[test]
fn keys_and_syntax() {
    refused(
        with("thickness =", "thicknes ="),
        &["case.toml:7:1", "thicknes", "help: did you mean `thickness`?"],
    );
    refused(with("[rim]\nkind = \"free\"\n", ""), &["case.toml:1:1", "[rim]", "help:"]);
    refused(with("\"2.1 mm\"", "\"2.1 mm"), &["case.toml:7:20", "1 problem"]);
    refused(with("[rim]", "[rim"), &["case.toml:11:"]);
    refused(with("poisson_ratio = 0.49", "poisson_ratio = 0.49\npoisson_ratio = 0.4"), &["case.toml:11:1"]);
    refused(with("kind = \"free\"", "kind = \"fre\""), &["case.toml:12:9", "did you mean"]);
    refused(with("title = \"Test\"", "title = 3"), &["case.toml:1:9"]);
}

#[test]
fn numbers_and_units() {
    refused(with("\"2.1 mm\"", "\"2.1\""), &["case.toml:7:14", "needs a unit", "help: write `2.1 mm`"]);
    refused(
        with("\"2.1 mm\"", "\"2.1 MPa\""),
        &["case.toml:7:18", "a length is wanted", "help: known units: m, mm"],
    );
    refused(with("\"2.1 mm\"", "\"-2.1 mm\""), &["case.toml:7:14", "greater than 0"]);
    refused(with("\"2.1 mm\"", "\"inf mm\""), &["case.toml:7:14", "inf"]);
    refused(with("= 0.49", "= nan"), &["case.toml:10:17", "finite"]);
    refused(with("= 0.49", "= 0.6"), &["case.toml:10:17", "0.5"]);
    refused(with("= 0.49", "= -1"), &["case.toml:10:17", "-1"]);
    refused(with("1.2 MPa", "1.2 MPA"), &["case.toml:9:", "did you mean `MPa`"]);
    refused(with("\"25 mm\"", "\"25,0 mm\""), &["case.toml:4:"]);
}

#[test]
fn geometry() {
    refused(with("half_angle = \"60 ± 1 deg\"\n", ""), &["case.toml:2:2", "one more size", "add one of"]);
    refused(
        with("half_angle", "rise = \"10 mm\"\nhalf_angle"),
        &["case.toml:5:1", "too many", "rise = 12.5 mm"],
    );
    refused(
        with("half_angle = \"60 ± 1 deg\"", "rim_diameter = \"60 mm\""),
        &["case.toml:5:17", "wider than the sphere", "help:"],
    );
    refused(with("60 ± 1 deg", "190 deg"), &["case.toml:5:"]);
    refused(with("2.1 mm", "60 mm"), &["case.toml:7:"]);
    refused(with("half_angle", "hole_diameter = \"50 mm\"\nhalf_angle"), &["case.toml:5:"]);
}

#[test]
fn walls() {
    let list = "arc = [\"0 mm\", \"9 mm\", \"5 mm\"]\nthickness = [\"2 mm\", \"2 mm\", \"2 mm\"]";
    refused(with("thickness = \"2.1 mm\"", list), &["case.toml:7:", "must increase"]);
    let table = with("thickness = \"2.1 mm\"", "table = \"wall.csv\"");
    refused(&table, &["case.toml:7:10", "there is no file `wall.csv`", "help:"]);
    let csv = |rows: &str| format!("arc_mm,thickness_mm\n{rows}");
    let bad = [
        ("0,2\n9,2\n5,2\n26,2\n", &["wall.csv:4:1", "must increase", "help:"][..]),
        ("0,2\n9,-2\n26,2\n", &["wall.csv:3:", "greater than 0"]),
        ("0,2\n9,two\n26,2\n", &["wall.csv:3:3"]),
        ("0,2\n9,nan\n26,2\n", &["wall.csv:3:3"]),
        ("0,2\n9\n26,2\n", &["wall.csv:3:1"]),
        ("0,2\n9,2\n5,2\n26,-1\n", &["wall.csv:4:", "wall.csv:5:", "2 problems"]),
    ];
    for (rows, parts) in bad {
        refused_with(&table, &[("wall.csv", &csv(rows))], parts);
    }
    refused_with(&table, &[("wall.csv", "arc,thickness\n0,2\n26,2\n")], &["wall.csv:1:"]);
    refused_with(&table, &[("wall.csv", "")], &["wall.csv:1:1"]);
}

#[test]
fn profiles() {
    let shape = "kind = \"cap\"\nradius = \"25 mm\"\nhalf_angle = \"60 ± 1 deg\"";
    let case = with(shape, "kind = \"meridian\"\nfile = \"side.csv\"\nposition_sd = \"0.02 mm\"");
    refused(&case, &["case.toml:4:9", "there is no file `side.csv`", "help:"]);
    refused_with(
        &case,
        &[("side.csv", "r_mm,z_mm\n0,0\n1,0\n2,0.1\n")],
        &["case.toml:4:9", "3 points", "needs 8"],
    );
    refused_with(&case, &[("side.csv", "x_mm,y_mm\n0,0\n")], &["side.csv:1:"]);
    refused(case.replace("position_sd = \"0.02 mm\"\n", ""), &["case.toml:", "position_sd"]);
}

#[test]
fn files() {
    refused("", &["case.toml:1:1", "empty"]);
    refused(b"title = \"\xff\xfe\"\n", &["case.toml:1:", "UTF-8"]);
    refused("# much\n".repeat(200_000), &["case.toml:1:1", "MiB"]);
    let folder = Folder::new();
    for path in ["absent.toml", "."] {
        let ran = folder.run(&["verdict", path, "--out", "made"]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
        assert!(ran.err.starts_with(path) && ran.err.contains("help:"), "{}", ran.err);
    }
    assert!(folder.names().is_empty(), "something was written");
}

#[test]
fn places_that_cannot_be_written_to() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    for out in ["case.toml", "case.toml/below"] {
        let ran = folder.run(&["verdict", "case.toml", "--out", out]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""));
        assert!(ran.err.contains("cannot write to case.toml"), "{}", ran.err);
    }
    let ran = folder.run(&["new", "cap", "none/mine.toml"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("cannot write none"), "{}", ran.err);
    assert_eq!(folder.names(), ["case.toml"]);
    assert_eq!(std::fs::read_to_string(folder.0.join("case.toml")).unwrap(), GOOD);
}

#[test]
fn wrong_use() {
    let folder = Folder::new();
    for arguments in
        [&[][..], &["verdict"], &["verdict", "a", "--nope"], &["poke"], &["push", "a"], &["new", "ball"]]
    {
        let ran = folder.run(arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.contains("Usage:") || ran.err.contains("help"), "{}", ran.err);
    }
}

#[test]
fn all_problems_at_once() {
    let case =
        with("25 mm", "25 mn").replace("2.1 mm", "-2 mm").replace("0.49", "0.7").replace("free", "fixed");
    refused(case, &["case.toml:4:", "case.toml:7:", "case.toml:10:", "case.toml:12:", "4 problems"]);
}

/// A reader that goes away early is no failure.
#[test]
fn a_closed_pipe_is_quiet() {
    use std::process::{Command, Stdio};
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let mut child = Command::new(env!("CARGO_BIN_EXE_calotte"))
        .args(["verdict", "case.toml", "--json"])
        .current_dir(&folder.0)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let done = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&done.stderr), "");
    assert_eq!(done.status.code(), Some(0));
}

/// A disk that is full is a failure, and said to be one by the exit code.
#[cfg(target_os = "linux")]
#[test]
fn an_output_that_fails_is_a_failure() {
    use std::process::{Command, Stdio};
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let done = Command::new(env!("CARGO_BIN_EXE_calotte"))
        .args(["verdict", "case.toml"])
        .current_dir(&folder.0)
        .stdout(Stdio::from(full))
        .stderr(Stdio::piped())
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(3));
    assert!(!String::from_utf8_lossy(&done.stderr).contains("panicked"));
}

/// Runs `calotte map` on a valid case with other files beside it: refused, and nothing written.
#[track_caller]
fn map_refused(options: &[&str], others: &[(&str, &str)], parts: &[&str]) {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    for (name, content) in others {
        folder.write(name, content);
    }
    let before = folder.names();
    let arguments: Vec<&str> = ["map", "case.toml"].iter().chain(options).copied().collect();
    let ran = folder.run(&arguments);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}: {}", ran.err);
    for part in parts {
        assert!(ran.err.contains(part), "no `{part}` in\n{}", ran.err);
    }
    assert_eq!(folder.names(), before, "something was written");
}

#[test]
fn axes_of_a_map() {
    map_refused(&["--x", "wall.thicknes"], &[], &["--x", "wall.thicknes", "did you mean `wall.thickness`?"]);
    map_refused(&["--y", "zzz"], &[], &["--y", "zzz", "wall.thickness", "depth"]);
    map_refused(&["--x", "depth=30deg..30deg"], &[], &["--x", "30deg..30deg", "empty"]);
    map_refused(&["--x", "depth=60deg..30deg", "--out", "made"], &[], &["--x", "60deg..30deg"]);
    map_refused(&["--x", "depth=0deg..30deg"], &[], &["--x", "greater than 0"]);
    map_refused(&["--x", "depth=30deg"], &[], &["--x", "no range", "FROM..TO"]);
    map_refused(&["--x", "depth=3mm..30deg"], &[], &["--x", "3mm", "an angle is wanted"]);
    map_refused(&["--x", "depth", "--y", "depth"], &[], &["both axes show `depth`"]);
    map_refused(&["--margin", "0"], &[], &["--margin 0", "greater than 0"]);
    map_refused(&["--trip-load", "2 N/s"], &[], &["--trip-load 2 N/s", "N/s"]);
    map_refused(&["--trip-load=-2 N"], &[], &["--trip-load -2 N", "greater than 0"]);
}

#[test]
fn grids_of_a_map() {
    for size in ["6", "0x5", "6x", "6x5x4", "-1x5", "9999x9999"] {
        let option = format!("--grid={size}");
        map_refused(&[&option, "--out", "made"], &[], &["--grid", size, "64x64"]);
    }
    map_refused(&["--grid", "6x5"], &[], &["--out"]);
    let below = "file/below";
    map_refused(&["--out", below], &[("file", "")], &["cannot write to file/below"]);
    map_refused(&["--grid", "2x2", "--out", below], &[("file", "")], &["cannot write to file/below"]);
}

#[test]
fn specimens_of_a_map() {
    let with = |csv: &str, parts: &[&str]| {
        map_refused(&["--specimens", "s.csv", "--out", "made"], &[("s.csv", csv)], parts);
    };
    map_refused(&["--specimens", "absent.csv"], &[], &["absent.csv", "cannot be read"]);
    map_refused(&["--specimens", "."], &[], &["cannot be read"]);
    with("", &["s.csv"]);
    with("name,depth,observed\nA,60 deg,stays\n", &["s.csv:1:", "no column `wall.thickness`", "help:"]);
    let head = "name,depth,wall.thickness,observed";
    with(&format!("{head},colour\nA,60 deg,2 mm,stays,red\n"), &["s.csv:1:", "colour", "help:"]);
    with(&format!("{head}\nA,60 deg,2 mm,stays\nB,60 deg,2 MPa,stays\n"), &["s.csv:3:", "wall.thickness"]);
    with(&format!("{head}\nA,60 deg,2,stays\n"), &["s.csv:2:", "unit"]);
    with(&format!("{head}\nA,60 deg,-2 mm,stays\n"), &["s.csv:2:", "greater than 0"]);
    with(&format!("{head}\nA,60 deg,2 mm,perhaps\n"), &["s.csv:2:", "perhaps", "stays, returns or waits"]);
    with(&format!("{head}\nA,60 deg\n"), &["s.csv"]);
    with(&format!("{head}\n"), &["s.csv", "no specimens"]);
}

/// What lies where a grid would go on is never lost: refused, and left as it is.
#[test]
fn a_folder_of_another_run_is_left_alone() {
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let run = folder.0.join("made/grid.run");
    std::fs::create_dir_all(&run).unwrap();
    let manifest = run.join("manifest");
    std::fs::write(&manifest, "someone else's\n").unwrap();
    let ran = folder.run(&["map", "case.toml", "--grid", "2x2", "--out", "made"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
    assert!(ran.err.contains("grid.run") && ran.err.contains("manifest"), "{}", ran.err);
    assert_eq!(std::fs::read_to_string(&manifest).unwrap(), "someone else's\n");
    let made: Vec<_> = std::fs::read_dir(folder.0.join("made")).unwrap().collect();
    assert_eq!(made.len(), 1, "something was written beside it");
}

/// A load that the rim cannot bear is a finding at its place.
#[test]
fn loads_that_push_the_part_away() {
    let folder = Folder::new();
    for (load, parts) in [
        ("kind = \"pole\"", ["case.toml:", "rim"]),
        ("kind = \"pressure\"", ["case.toml:", "rim"]),
        ("kind = \"rim-displacement\"", ["case.toml:", "rim"]),
        ("kind = \"hammer\"", ["case.toml:14:", "hammer"]),
    ] {
        folder.write("case.toml", format!("{GOOD}[load]\n{load}\n"));
        let ran = folder.run(&["poke", "case.toml", "--out", "made"]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{load}: {}", ran.err);
        assert!(ran.err.contains("nothing was computed or written"), "{}", ran.err);
        assert!(parts.iter().all(|p| ran.err.contains(p)), "{load}: {}", ran.err);
        assert_eq!(folder.names(), ["case.toml"], "something was written");
    }
    folder.write("case.toml", GOOD);
    let ran = folder.run(&["poke", "case.toml", "--out", "case.toml/below"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
}

/// Line 13 of the case starts the table.
#[test]
fn memory_hold_and_surroundings() {
    let case = |tables: &str| format!("{GOOD}{tables}");
    let memory = |inside: &str| case(&format!("[memory]\n{inside}\n"));
    refused(memory("shares = [0.1, -0.2]\ntimes = [\"1 s\", \"2 s\"]"), &["case.toml:14:16", "less than 1"]);
    refused(
        memory("shares = [0.6, 0.4]\ntimes = [\"1 s\", \"2 s\"]"),
        &["case.toml:14:16", "add up to", "help:"],
    );
    refused(memory("shares = [0.1, 0.2]\ntimes = [\"2 s\", \"2 s\"]"), &["case.toml:15:18", "must increase"]);
    refused(memory("shares = [0.1, 0.2]\ntimes = [\"2 s\"]"), &["case.toml:15:9", "1 times for 2 shares"]);
    refused(memory("shares = 0.1\ntimes = \"2\""), &["case.toml:15:10", "a time needs a unit", "`2 s`"]);
    refused(memory("shift = \"wlf\"\nc1 = 3"), &["case.toml:13:2", "`c2` is missing", "`shares` is missing"]);
    refused(memory("shelf = true"), &["case.toml:14:9", "needs a material of the shelf", "help:"]);
    refused(memory("table = \"absent.csv\""), &["case.toml:14:10", "there is no file `absent.csv`"]);
    let table = memory("table = \"t.csv\"\nshares = 0.1\nterms = 99");
    let csv = "time_s,ratio\n1,1\n2,\n2,0.9\n1,0.8\n";
    refused_with(&table, &[("t.csv", csv)], &["case.toml:15:1", "case.toml:16:9", "t.csv:3:3", "3 problems"]);
    let good = memory("table = \"t.csv\"");
    refused_with(
        &good,
        &[("t.csv", "time_s,ratio\n1,1\n2,0.9\n2,0.8\n1,0.7\n")],
        &["t.csv:4:1", "t.csv:5:1"],
    );
    refused_with(
        &good,
        &[("t.csv", "time_s,ratio\n1,1\n2,1\n3,1\n4,1\n")],
        &["case.toml:14:10", "no relaxation"],
    );
    refused(
        case("[hold]\nshape = \"poke\"\ntime = \"-1 s\"\nlet_go = \"ramp\"\n"),
        &["case.toml:13:2", "`travel` is missing", "`ramp` is missing", "case.toml:15:9", "3 problems"],
    );
    refused_with(
        case("[hold]\nshape = \"given\"\nfile = \"f.csv\"\n"),
        &[("f.csv", "r_mm,z_mm\n0,12\n6,11\n3,11\n18,5\n,0\n")],
        &["f.csv:6:1", "an empty field"],
    );
    refused(
        case("[surroundings]\ntemperature = \"23 degC ± 5 %\"\ngravity = \"-1 g0\"\ndrag = 1\n"),
        &[
            "case.toml:14:29",
            "23 ± 2 degC",
            "case.toml:15:12",
            "case.toml:16:1",
            "`air_density`",
            "3 problems",
        ],
    );
    let on_ring = GOOD.replace("\"free\"", "\"ring\"") + "[surroundings]\nrests = \"table\"\n";
    refused(on_ring, &["case.toml:14:10", "nothing else holds", "kind = \"free\""]);
}

/// Shapes through corners, layers and heat: each finding at its entry.
#[test]
fn devices() {
    let key = |r: &str, z: &str, more: &str| {
        let shape = "kind = \"cap\"\nradius = \"25 mm\"\nhalf_angle = \"60 ± 1 deg\"";
        with(shape, &format!("kind = \"corners\"\nr = {r}\nz = {z}{more}"))
    };
    let (r, z) = ("[\"0 mm\", \"9 mm\", \"20 mm\"]", "[\"0 mm\", \"0 mm\", \"9 mm\"]");
    refused(key(r, "[\"0 mm\", \"0 mm\"]", ""), &["case.toml:5:5", "2 heights for 3 corners", "help:"]);
    refused(key(r, "\"0 mm\"", ""), &["case.toml:5:5", "takes a list"]);
    refused(key("[\"0 mm\", \"9 mm\", \"0 mm\"]", z, ""), &["case.toml:4:23", "corner 3 lies on the axis"]);
    refused(key(r, "[\"0 mm\", \"1 mm\", \"9 mm\"]", ""), &["case.toml:5:15", "must leave square"]);
    refused(key(r, z, "\nfillet = \"90 mm\""), &["case.toml:6:11", "does not fit", "at most"]);
    refused(key(r, z, "\narc = [\"0 mm\", \"2 mm\"]"), &["case.toml:6:17", "too small"]);
    let crossing = key(
        "[\"1 mm\", \"9 mm\", \"9 mm\", \"5 mm\", \"5 mm\"]",
        "[\"0 mm\", \"0 mm\", \"2 mm\", \"2 mm\", \"-2 mm\"]",
        "",
    );
    refused(crossing, &["case.toml:4:39", "pieces 1 and 4", "cross or touch"]);
    let walls =
        key(r, z, "").replace("thickness = \"2.1 mm\"", "thickness = [\"2 mm\", \"1 mm\"]\nrigid = [3]");
    refused(walls, &["case.toml:8:10", "there is no piece 3"]);
    refused(format!("{GOOD}[heat]\nto = \"90 degC\"\n"), &["case.toml:13:2", "needs a wall of `[layers]`"]);
    let layers = |inside: &str| format!("{GOOD}[layers]\n{inside}\n");
    refused(
        layers("thickness = [\"1 mm\", \"1 mm\"]\nexpansion = [\"1 ppm/K\", \"9 ppm/K\"]"),
        &["case.toml:14:13", "the layers add up to 2 mm, the wall is 2.1 mm"],
    );
    refused(
        layers("share = [0.5, 0.6]\nexpansion = \"1 ppm/K\""),
        &["case.toml:14:9", "case.toml:15:14", "2 problems"],
    );
    let table = layers("expansions = \"e.csv\"\n[heat]\nto = \"300 degC\"");
    refused_with(
        &table,
        &[("e.csv", "temperature_degC,expansion_1_ppm/K\n0,9\n0,9\n")],
        &["e.csv:3:1", "must increase"],
    );
    refused_with(
        &table,
        &[("e.csv", "temperature_degC,expansion_1_ppm/K\n0,9\n200,9\n")],
        &["case.toml:16:7", "reach from 0 degC to 200 degC"],
    );
}

/// Runs `calotte memory` on a table: refused, and nothing written.
#[track_caller]
fn memory_refused(csv: &str, options: &[&str], parts: &[&str]) {
    let folder = Folder::new();
    folder.write("t.csv", csv);
    let arguments: Vec<&str> = ["memory", "t.csv"].iter().chain(options).copied().collect();
    for more in [&["--json"][..], &["--out", "made"]] {
        let ran = folder.run(&[&arguments, more].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}: {}", ran.err);
        for part in parts {
            assert!(ran.err.contains(part), "no `{part}` in\n{}", ran.err);
        }
        assert_eq!(folder.names(), ["t.csv"], "something was written");
    }
}

#[test]
fn tables_of_a_memory() {
    let rows = "1,2\n2,1.9\n3,1.8\n4,1.7\n5,1.68\n6,1.67\n";
    let good = &format!("time_s,youngs_MPa\n{rows}");
    memory_refused(good, &["--terms", "0"], &["--terms"]);
    memory_refused(good, &["--terms", "many"], &["--terms"]);
    memory_refused(good, &["--accuracy", "1 mm"], &["--accuracy 1 mm", "pure number", "help:"]);
    memory_refused(good, &["--accuracy=-1%"], &["--accuracy -1%", "0 or greater", "help:"]);
    memory_refused("", &[], &["t.csv:1:1", "no lines", "time_s,modulus_MPa"]);
    memory_refused(rows, &[], &["t.csv:1:1", "the first line must name"]);
    memory_refused(&format!("time,youngs_MPa\n{rows}"), &[], &["t.csv:1:1", "does not name its unit"]);
    memory_refused(
        &format!("time_s,stress_MPa\n{rows}"),
        &[],
        &["t.csv:1:1", "no column of a modulus", "help:"],
    );
    memory_refused(
        "time_s,modulus_MPa\n1,2\n2,\n2,1.8\n-1,1.7\nx,1.7\n",
        &[],
        &["t.csv:3:3", "t.csv:6:1", "2 problems"],
    );
    memory_refused(
        "time_s,modulus_MPa\n1,2\n3,1.9\n2,1.8\n2,1.7\n",
        &[],
        &["t.csv:4:1", "t.csv:5:1", "2 problems"],
    );
    memory_refused("time_s,modulus_MPa\n1,2\n3,1.9\n4,1.8\n", &[], &["t.csv:4:1", "3 rows; a fit needs 4"]);
    memory_refused(
        "time_s,modulus_MPa\n1,2\n2,2.1\n3,2.2\n4,2.3\n",
        &[],
        &["t.csv:5:1", "grows with time overall"],
    );
    memory_refused("time_s,ratio\n1,1\n2,1\n3,1\n4,1\n", &[], &["t.csv:1:1", "no relaxation", "help:"]);
    let folder = Folder::new();
    let ran = folder.run(&["memory", "absent.csv"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
    assert!(ran.err.starts_with("absent.csv: cannot be read") && ran.err.contains("help:"), "{}", ran.err);
    folder.write("t.csv", good);
    let ran = folder.run(&["memory", "t.csv", "--out", "t.csv/below"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
    assert_eq!(folder.names(), ["t.csv"]);
    // Readings that no series meets are answered, and said to be doubtful.
    folder.write("t.csv", "time_s,ratio\n1,1.2\n2,0.7\n3,1\n4,0.7\n5,1\n6,0.7\n7,1\n8,0.7\n");
    let ran = folder.run(&["memory", "t.csv", "--out", "made"]);
    assert_eq!(ran.code, 1, "{}{}", ran.out, ran.err);
    assert!(ran.out.contains("Doubt: The series misses the readings"), "{}", ran.out);
    let made: Vec<String> = Folder::names(&Folder(folder.0.join("made")));
    let files = ["memory.figure.csv", "memory.pdf", "memory.png", "memory.svg"];
    assert_eq!(made, [&["answer.json"], &files[..], &["residuals.csv"]].concat());
}

/// Runs `calotte release` on a case: refused, and nothing written.
#[track_caller]
fn release_refused(case: &str, options: &[&str], parts: &[&str]) {
    let folder = Folder::new();
    folder.write("case.toml", case);
    let arguments: Vec<&str> = ["release", "case.toml"].iter().chain(options).copied().collect();
    for more in [&["--json"][..], &["--out", "made"]] {
        let ran = folder.run(&[&arguments, more].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}: {}", ran.err);
        for part in parts {
            assert!(ran.err.contains(part), "no `{part}` in\n{}", ran.err);
        }
        assert_eq!(folder.names(), ["case.toml"], "something was written");
    }
}

/// The case with a density, so that it can be let go.
fn heavy() -> String {
    with("poisson_ratio = 0.49", "poisson_ratio = 0.49\ndensity = \"1080 kg/m^3\"")
}

#[test]
fn options_of_a_release() {
    let case = &heavy();
    release_refused(case, &["--until=-1 s"], &["--until -1 s", "greater than 0", "`80 ms`"]);
    release_refused(case, &["--until", "0 s"], &["--until 0 s", "greater than 0"]);
    release_refused(case, &["--until", "80"], &["--until 80", "a time needs a unit", "help:"]);
    release_refused(case, &["--until", "3 mm"], &["--until 3 mm", "a time is wanted", "help:"]);
    release_refused(case, &["--hold", "5s..1s"], &["--hold", "5s..1s", "TO greater than FROM"]);
    release_refused(case, &["--hold", "0s..1s"], &["--hold", "0s..1s", "FROM must be greater than 0"]);
    release_refused(case, &["--hold", "0.1..3"], &["--hold", "0.1", "a time needs a unit", "help:"]);
    release_refused(case, &["--hold", "3s"], &["--hold", "`3s` is no range", "FROM..TO", "0.1s..100s"]);
    release_refused(case, &["--count", "1"], &["--count", "2..=10000"]);
    release_refused(case, &["--spread", "9"], &["--spread", "10..=1000000"]);
    release_refused(case, &["--steps", "few"], &["--steps"]);
    let folder = Folder::new();
    folder.write("case.toml", case);
    let ran = folder.run(&["release", "case.toml", "--film"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
    assert!(ran.err.contains("--out"), "{}", ran.err);
    let ran = folder.run(&["release", "case.toml", "--out", "case.toml/below"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
    assert!(ran.err.contains("cannot write to case.toml/below"), "{}", ran.err);
    assert_eq!(folder.names(), ["case.toml"]);
}

#[test]
fn parts_that_cannot_be_let_go() {
    release_refused(GOOD, &[], &["no density", "`material.density`"]);
    let all = |tables: &str| format!("{}{tables}", heavy());
    // A number with a tolerance is asked for, and an example given.
    let exact = heavy().replace("60 ± 1 deg", "60 deg").replace("1.2 MPa ± 10 %", "1.2 MPa");
    release_refused(
        &exact,
        &["--spread", "10"],
        &["no number of the case has a tolerance", "`time = \"5 ± 1 s\"`"],
    );
    // The pole's whole way is 25 mm.
    let far = all("[hold]\nshape = \"poke\"\ntravel = \"90 mm\"\n");
    release_refused(&far, &[], &["`hold.travel`", "choose another travel or hold"]);
    let table = |rim: &str| all("[surroundings]\nrests = \"table\"\n").replace("\"free\"", rim);
    release_refused(
        &table("\"clamped\""),
        &[],
        &["case.toml:15:10", "nothing else holds", "kind = \"free\""],
    );
    let memory = all("[memory]\nshares = [0.6, 0.4]\ntimes = [\"1 s\", \"2 s\"]\n");
    release_refused(&memory, &[], &["case.toml:15:16", "add up to 1.0000", "must stay below 1"]);
    let cold = all(concat!(
        "[memory]\nshares = 0.1\ntimes = \"1 s\"\nshift = \"wlf\"\nc1 = 17.44\nc2 = \"51.6 K\"\n",
        "reference = \"23 degC\"\n[surroundings]\ntemperature = \"-40 degC\"\n"
    ));
    release_refused(&cold, &[], &["case.toml:22:"]);
    let flat = all("[hold]\nshape = \"given\"\nfile = \"none.csv\"\n");
    release_refused(&flat, &[], &["case.toml:16:9", "there is no file `none.csv`"]);
}

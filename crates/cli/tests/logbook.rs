//! The logbook as a command: broken lines told with their places, discs and their temperatures, holds, an end by Ctrl-C.

mod common;

use std::io::Read as _;
use std::process::{Command, Stdio};

use common::{Folder, Ran, parse, root, text};

const CAP: &str = "cases/jumping-cap/case.toml";

/// What cannot be is told at its line; the rest is worked out, and the exit code says that something was left out.
#[test]
fn broken_lines_are_told_and_the_others_worked_out() {
    let folder = Folder::new();
    let good = "specimen,wall.thickness_mm,hold_s,outcome,wait_s\n\
                A,1.83 ± 0.01,5,waits,2.1 ± 0.1\n\
                E,1.66 ± 0.01,20,stays,\n\
                F,2.10 ± 0.01,20,returns,\n";
    let bad = "B,1.70 ± 0.03,5,stays,3\n\
               A,1.90 ± 0.03,5,returns,\n\
               D,1.84 ± 0.03,-5,waits,1.0 ± 0.1\n";
    folder.write("case.toml", text(CAP)).write("good.csv", good).write("bad.csv", format!("{good}{bad}"));
    let whole = folder.run(&["logbook", "good.csv", "--case", "case.toml", "--json"]);
    assert!(whole.code < 2, "{}", whole.err);
    let ran = folder.run(&["logbook", "bad.csv", "--case", "case.toml", "--json"]);
    assert_eq!(ran.code, 2, "{}", ran.err);
    for said in [
        "bad.csv:5:24",
        "the outcome is `stays`, but a wait of 3 is given",
        "bad.csv:6:3",
        "of specimen `A` was 1.830 ± 0.010 mm on line 2",
        "bad.csv:7:16",
        "a hold must be 0 or greater, this is -5",
        "3 of 6 lines were left out, all others kept",
    ] {
        assert!(ran.err.contains(said), "{said}\n{}", ran.err);
    }
    let (whole, kept) = (parse(&whole.out), parse(&ran.out));
    assert_eq!(kept["trial_count"], 3);
    // What was kept is read as if the others were not there.
    for key in ["margin_m", "margin", "seen"] {
        for i in 0..2 {
            assert_eq!(whole["specimens"][i][key], kept["specimens"][i][key], "{key}");
        }
    }
    for (name, content, said) in [
        ("empty.csv", &b""[..], "empty.csv"),
        ("head.csv", b"wall.thickness_mm,outcome\n1.8,stays\n", "specimen"),
        ("none.csv", b"specimen,outcome\nA,explodes\n", "explodes"),
        ("bytes.csv", b"specimen,outcome\nA,\xff\xfe\n", "bytes.csv"),
    ] {
        folder.write(name, content);
        let ran = folder.run(&["logbook", name, "--case", "case.toml"]);
        assert!(ran.code == 2 && ran.err.contains(said), "{name}: {} {}", ran.code, ran.err);
    }
    let ran = folder.run(&["logbook", "good.csv"]);
    assert!(ran.code == 2 && ran.err.contains("--case"), "{}", ran.err);
}

/// A disc has no inverted state to hold: temperatures alone are compared, in the degrees that makers read.
#[test]
fn a_tray_of_discs_is_compared_by_its_temperatures() {
    let folder = Folder::new();
    for name in ["case.toml", "moduli.csv"] {
        folder.write(name, text(&format!("cases/propagator-cutout/{name}")));
    }
    let heat = parse(&Ran::of(&root(), &["heat", "cases/propagator-cutout/case.toml", "--json"]).out);
    let trip = heat["trip"]["temperature_K"].as_f64().unwrap();
    let reset = heat["reset"]["temperature_K"].as_f64().unwrap();
    let c = |k: f64, more: f64| format!("{:.3} ± 0.5 degC", k - 273.15 + more);
    folder.write(
        "tray.toml",
        format!(
            "title = \"Invented\"\ncase = \"case.toml\"\n[[specimen]]\nname = \"K1\"\n\"shape.rise\" = \"0.47 ± 0.002 mm\"\n\
             [[trial]]\nspecimen = \"K1\"\ntrip_temperature = \"{}\"\nreset_temperature = \"{}\"\n",
            c(trip, 0.0),
            c(reset, 2.0)
        ),
    );
    let ran = folder.run(&["logbook", "tray.toml"]);
    assert!(ran.code < 2 && ran.out.contains("°C"), "{} {}", ran.out, ran.err);
    let json = parse(&folder.run(&["logbook", "tray.toml", "--json"]).out);
    let rows = |what: &str| {
        let all = json["compared"].as_array().unwrap();
        all.iter().find(|c| c["what"] == what).unwrap_or_else(|| panic!("{json}"))["rows"][0].clone()
    };
    let [t, r] = ["trip temperature", "reset temperature"].map(rows);
    // The forward question's own temperatures: no deviation where they were read, eight of 0.25 K where two kelvin off.
    assert!((t["computed_si"].as_f64().unwrap() - trip).abs() < 2e-3, "{t} {trip}");
    assert!((r["computed_si"].as_f64().unwrap() - reset).abs() < 2e-3, "{r} {reset}");
    assert!(
        t["z"].as_f64().unwrap().abs() < 0.01 && (7.0..8.01).contains(&r["z"].as_f64().unwrap()),
        "{t} {r}"
    );
}

/// Three holds of one cap that bears its weight and is let go slowly: the waits are those of the forward question, within what the table
/// may miss and one shift by weight for all.
#[test]
fn holds_of_trials_count() {
    let folder = Folder::new();
    let case = text(CAP);
    folder.write("case.toml", &case).write(
        "trials.csv",
        "specimen,wall.thickness_mm,hold_s,outcome,wait_s\n\
         A,1.83 ± 0.002,1,waits,1.9 ± 0.1\n\
         A,,5,waits,2.1 ± 0.1\n\
         A,,50,waits,2.6 ± 0.1\n",
    );
    let ran = folder.run(&["logbook", "trials.csv", "--case", "case.toml", "--json"]);
    assert!(ran.code < 2, "{}", ran.err);
    let json = parse(&ran.out);
    let waits = json["compared"].as_array().unwrap().iter().find(|c| c["what"] == "wait").unwrap();
    let computed: Vec<f64> =
        waits["rows"].as_array().unwrap().iter().map(|r| r["computed_si"].as_f64().unwrap()).collect();
    assert_eq!(computed.len(), 3);
    for (hold, wait) in ["1 s", "5 s", "50 s"].into_iter().zip(computed) {
        let one =
            case.replace("\"1.84 ± 0.01 mm\"", "\"1.83 mm\"").replace("\"5 ± 1 s\"", &format!("\"{hold}\""));
        folder.write("one.toml", one);
        let release = parse(&folder.run(&["release", "one.toml", "--json"]).out);
        let asked = release["snap"]["creep_wait_s"].as_f64().unwrap_or_else(|| panic!("{release}"));
        // The creep of the release counts from the end of the ramp, which takes 50 ms.
        assert!(libm::log((wait - 0.05) / asked).abs() < 0.3, "{hold}: {wait} {asked}");
    }
    assert!(json["evidence"]["weight_shift"].as_f64().unwrap() < 0.0, "{}", json["evidence"]);
}

/// Ctrl-C ends the work at its next step with the code of a stop, and nothing half is printed.
#[cfg(unix)]
#[test]
fn it_can_be_stopped() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_calotte"))
        .args(["logbook", "cases/logbook/logbook.toml", "--next"])
        .current_dir(root())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(std::time::Duration::from_millis(400));
    assert!(Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap().success());
    let status = child.wait().unwrap();
    let (mut out, mut err) = (String::new(), String::new());
    child.stdout.take().unwrap().read_to_string(&mut out).unwrap();
    child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
    assert_eq!(status.code(), Some(130), "{out} {err}");
    assert!(out.is_empty() && err.contains("stopped"), "{out} {err}");
}

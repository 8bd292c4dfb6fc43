//! Films show what the reports beside them say, and cost no work.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "helpers of tests, outside a #[test] function")]

use std::path::Path;

use calotte_answers::film::{Film, Frame};
use calotte_answers::heat::{Branches, heat};
use calotte_answers::modes::{Settings, State, modes, modes_with_film};
use calotte_answers::release::{Ask, release, release_with_film};
use calotte_answers::states::{states, states_with_film};
use calotte_answers::{Detail, load_or_pole, poke, poke_with_film, verdict, verdict_with_film};
use calotte_specimen::{Case, Motion, Part, new_template, read_case};

fn template(name: &str) -> Case {
    let none = |_: &str| Err(std::io::ErrorKind::NotFound.into());
    read_case(new_template(name).unwrap().as_bytes(), &none).0.unwrap()
}

/// A worked case of the repository.
fn worked(name: &str) -> Case {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../cases").join(name);
    let open = |file: &str| std::fs::read(folder.join(file));
    read_case(&std::fs::read(folder.join("case.toml")).unwrap(), &open).0.unwrap()
}

fn same<T: serde::Serialize>(a: &T, b: &T) {
    assert_eq!(serde_json::to_string(a).unwrap(), serde_json::to_string(b).unwrap());
}

/// Every column has the length of the grid, every number is finite, and at most 240 frames are kept.
fn sound(film: &Film) {
    let n = film.s_m.len();
    assert!(film.frames.len() <= 240 && n > 20 && film.thickness_m.len() == n);
    for f in &film.frames {
        for column in [&f.r_m, &f.z_m, &f.slope_rad, &f.strain, &f.energy_J_per_m2] {
            assert!(column.len() == n && column.iter().all(|v| v.is_finite()), "{}", f.name);
        }
        assert!(f.strain.iter().chain(&f.energy_J_per_m2).all(|v| *v >= -1e-12));
    }
}

/// ∫ energy over the natural area by trapezoids on the film's grid.
fn whole(part: &Part, film: &Film, frame: &Frame) -> f64 {
    let ring = |i: usize| std::f64::consts::TAU * part.meridian.at(film.s_m[i]).r * frame.energy_J_per_m2[i];
    (1..film.s_m.len()).map(|i| 0.5 * (ring(i) + ring(i - 1)) * (film.s_m[i] - film.s_m[i - 1])).sum()
}

/// Height of the inner end over the rim.
fn height(f: &Frame) -> f64 {
    f.z_m[0] - f.z_m[f.z_m.len() - 1]
}

fn largest(column: &[f64]) -> f64 {
    column.iter().fold(0.0_f64, |a, b| a.max(b.abs()))
}

/// A film changes nothing in the verdict, its work counters included; the energy of its inverted shape and of the saddle are the
/// report's to 0.5 % (trapezoids on about a hundred places), its heights and strains to what six digits and the grid give.
#[test]
fn shapes_of_a_verdict() {
    for case in
        [template("cap"), worked("silicone-cap-stays"), worked("cap-with-hole"), worked("tapered-wall")]
    {
        let detail = Detail { branch: false, depth: false };
        let (report, film) = verdict_with_film(&case, detail);
        same(&report, &verdict(&case, detail));
        sound(&film);
        assert_eq!(film.frames[0].name, "natural");
        let part = case.part();
        let rim = |f: &Frame| f.z_m[f.z_m.len() - 1];
        assert!(
            film.frames.iter().all(|f| (rim(f) - rim(&film.frames[0])).abs() < 1e-5 * part.meridian.length())
        );
        let Some(inverted) = &report.inverted else {
            assert_eq!(film.frames.len(), 1, "{}", report.title);
            continue;
        };
        let frame = film.frames.iter().find(|f| f.name == "inverted").unwrap();
        assert_eq!(frame.lip_m, inverted.lip_width_m);
        let energy = inverted.stretching_energy_J + inverted.bending_energy_J;
        let found = whole(part, &film, frame);
        assert!((found / energy - 1.0).abs() < 5e-3, "{}: {found} {energy}", report.title);
        assert!((height(frame) / inverted.pole_height_m - 1.0).abs() < 1e-4);
        let strain = largest(&frame.strain) / inverted.strains.largest_surface;
        assert!((strain - 1.0).abs() < 0.02, "{}: {strain}", report.title);
        match inverted.saddle_energy_J {
            None => assert!(film.frames.iter().all(|f| f.name != "saddle")),
            Some(energy) => {
                let saddle = film.frames.iter().find(|f| f.name == "saddle").unwrap();
                let found = whole(part, &film, saddle);
                assert!((found / energy - 1.0).abs() < 1e-2, "{}: saddle {found} {energy}", report.title);
            }
        }
    }
}

/// Every frame is a row of the path: its pole has travelled as far, its wall stores as much, and both rows beside an event are shown.
#[test]
fn shapes_along_a_path() {
    for (case, least) in
        [(worked("pushed-over-cap"), 20), (worked("clamped-dome"), 20), (template("key"), 20)]
    {
        let load = load_or_pole(case.load());
        let (report, film) = poke_with_film(&case, &load);
        same(&report, &poke(&case, &load));
        sound(&film);
        assert!(film.over == "path" && film.frames.len() >= least.min(report.path.len()));
        let sign = if report.load.from == "inverted" { -1.0 } else { 1.0 };
        let first = &film.frames[0];
        let energies = report.path.iter().map(|r| r.energy_J).fold(0.0, f64::max);
        for f in &film.frames {
            let row = &report.path[f.row.unwrap()];
            assert_eq!(f.at, f.row.unwrap() as f64);
            let moved = sign * (height(f) - height(first)) + report.path[first.row.unwrap()].travel_m;
            assert!(
                (moved - row.travel_m).abs() < 2e-5 * report.part.arc_length_m,
                "{moved} {}",
                row.travel_m
            );
            let found = whole(case.part(), &film, f);
            assert!(
                (found - row.energy_J).abs() < 0.02 * energies,
                "{}: {found} {}",
                report.title,
                row.energy_J
            );
        }
        for e in &report.events {
            for row in [e.after_row, e.after_row + 1] {
                assert!(film.frames.iter().any(|f| f.row == Some(row)), "{:?}", e.kind);
            }
        }
    }
}

/// Frames lie on the report's, at its times and true heights.
#[test]
fn shapes_over_time() {
    let case = worked("jumping-cap");
    let ask = Ask { evidence: false, ..Ask::default() };
    let (report, film) = release_with_film(&case, case.motion(), &ask, &mut |_| true).unwrap();
    same(&report, &release(&case, case.motion(), &ask, &mut |_| true).unwrap());
    sound(&film);
    assert!(film.over == "time" && film.frames.len() > 100);
    let size = report.part.arc_length_m;
    for f in &film.frames {
        let told = &report.frames[f.row.unwrap()];
        assert_eq!(f.at, told.time_s);
        let last = |c: &[f64]| c[c.len() - 1];
        for (a, b) in
            [(f.z_m[0], told.z_m[0]), (last(&f.z_m), last(&told.z_m)), (last(&f.r_m), last(&told.r_m))]
        {
            assert!((a - b).abs() < 1e-5 * size.max(b.abs()), "{a} {b}");
        }
    }
    // Memory has taken some of what the shape alone would store; without it the two are one.
    let stored = |film: &Film| whole(case.part(), film, &film.frames[0]);
    assert!(stored(&film) > 1.1 * report.snap.as_ref().unwrap().energy_available_J);
    let elastic = Motion { memory: None, ..case.motion().clone() };
    let (report, film) = release_with_film(&case, &elastic, &ask, &mut |_| true).unwrap();
    let (stored, told) = (stored(&film), report.snap.as_ref().unwrap().energy_available_J);
    assert!((stored / told - 1.0).abs() < 5e-3, "{stored} {told}");
}

/// Both branches, each frame at the temperature, travel and energy of its row.
#[test]
fn shapes_over_temperature() {
    let case = template("disc");
    let branches = Branches::of(&case).unwrap();
    let (film, report) = (branches.film(), branches.report());
    same(&report, &heat(&case).unwrap());
    sound(&film);
    assert_eq!(film.over, "temperature");
    let described = height(&calotte_answers::film::natural(case.part()).frames[0]);
    for name in ["near", "far"] {
        let rows = if name == "near" { &report.near } else { &report.far };
        let mine: Vec<&Frame> = film.frames.iter().filter(|f| f.branch.as_deref() == Some(name)).collect();
        assert!(mine.len() > 5, "{name}");
        let most = rows.iter().map(|r| r.energy_J).fold(0.0, f64::max);
        for f in mine {
            let row = &rows[f.row.unwrap()];
            assert_eq!(f.at, row.temperature_K);
            let travel = height(f) - described;
            assert!(
                (travel - row.travel_m).abs() < 2e-5 * report.part.rim_radius_m,
                "{travel} {}",
                row.travel_m
            );
            let found = whole(case.part(), &film, f);
            assert!((found - row.energy_J).abs() < 0.02 * most, "{found} {}", row.energy_J);
        }
    }
}

/// One frame per state, under its name, with its energy and height; both sides of every corner.
#[test]
fn shapes_of_states() {
    let case = template("bowl");
    let (report, film) = states_with_film(&case, case.strain_limit());
    same(&report, &states(&case, case.strain_limit()));
    sound(&film);
    assert_eq!(film.frames.len(), report.states.len());
    assert!(report.states.len() > 1);
    let most = report.states.iter().map(|s| s.energy_J).fold(0.0, f64::max);
    for (i, (f, s)) in film.frames.iter().zip(&report.states).enumerate() {
        assert_eq!((f.name.as_str(), f.at, f.row), (s.name.as_str(), i as f64, Some(i)));
        assert!(
            (height(f) - s.height_m).abs() < 1e-5 * report.part.arc_length_m,
            "{} {}",
            height(f),
            s.height_m
        );
        let found = whole(case.part(), &film, f);
        assert!((found - s.energy_J).abs() < 0.03 * most, "{}: {found} {}", s.name, s.energy_J);
    }
    for j in case.part().meridian.joints() {
        let near = |s: &&f64| (**s - j.s).abs() < 1e-5 * report.part.arc_length_m;
        assert_eq!(film.s_m.iter().filter(near).count(), 2, "{}", j.s);
    }
}

/// The shape that vibrates lies on the places of the report's meridian, where the modes are told.
#[test]
fn shape_that_vibrates() {
    for (case, state) in [(worked("metal-dome"), State::Natural), (template("cap"), State::Inverted)] {
        let set = Settings { state, count: 1, lowest: 3, ..Settings::default() };
        let (report, film) = modes_with_film(&case, &set);
        same(&report, &modes(&case, &set));
        let place = &report.meridian;
        let Some(frame) = film.frames.first() else {
            assert!(place.s_m.is_empty(), "{:?}", report.doubts);
            continue;
        };
        sound(&film);
        assert_eq!((frame.name.as_str(), film.s_m.len()), (report.state.as_str(), place.s_m.len()));
        let size = report.part.arc_length_m;
        for i in 0..place.s_m.len() {
            assert!((film.s_m[i] - place.s_m[i]).abs() < 1e-5 * size);
            assert!((frame.r_m[i] - place.r_m[i]).abs() < 1e-5 * size);
            let lift = frame.z_m[i] - place.z_m[i] - (frame.z_m[0] - place.z_m[0]);
            assert!(lift.abs() < 2e-5 * size);
        }
    }
}

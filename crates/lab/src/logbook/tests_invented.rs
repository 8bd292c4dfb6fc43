//! The worked logbook: made by theory with noise, and what is found in it.

use std::fmt::Write;
use std::fs;
use std::path::PathBuf;

use calotte_answers::gauge::{Gauge, Gauges};
use calotte_answers::release::{Creep, creep, relaxed_threshold};
use calotte_chance::Stream;
use calotte_specimen::{Case, LetGo, Part, read_case};

use super::record::Logbook;
use super::tests::unwatched;
use super::theory::Theory;
use super::{Ask, Sheet, logbook, read_header, read_logbook};

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../cases/logbook")
}

fn case() -> Case {
    let (case, found) =
        read_case(&fs::read(folder().join("case.toml")).unwrap(), &|name| fs::read(folder().join(name)));
    assert!(found.is_empty(), "{found:?}");
    case.unwrap()
}

/// What the worked logbook was made with.
const THICKNESS: f64 = 0.965;
const SCATTER: f64 = 0.008;
const YOUNGS: f64 = 1.15;
const SHARES: f64 = 1.25;
const TIMES: f64 = 0.8;
const TRIP_SCATTER: f64 = 0.02;

/// The trials: three depths, eight walls each from 14 % below to 16 % above the threshold, holds of 2, 10 and 60 s.
fn invented(case: &Case, seed: u64) -> String {
    let mut s = Stream::new(seed);
    let mut work = Default::default();
    let input = |key: &str| case.inputs().iter().position(|i| i.key == key).unwrap();
    let (angle, wall) = (input("shape.half_angle"), input("wall.thickness"));
    let gauges = Gauges::new(case, &[Gauge::Margin, Gauge::TripLoad], &mut work).unwrap();
    let mut out = String::from(
        "# Invented: see logbook.toml.\nspecimen,shape.half_angle_deg,wall.thickness_mm,hold_s,outcome,wait_s,trip_load_N,note\n",
    );
    for (a, degrees) in [45.0_f64, 50.0, 55.0].into_iter().enumerate() {
        for k in 0..8 {
            let name = format!("{}{}", ["A", "B", "C"][a], k + 1);
            let true_angle = (degrees + 0.25 * s.normal()).to_radians();
            let threshold = {
                let margin = gauges.read(&[(angle, true_angle)], &mut work)[0].clone().unwrap();
                case.inputs()[wall].value * libm::exp(margin)
            };
            // Walls that would act as given, before the factor.
            let true_wall =
                threshold / THICKNESS * libm::exp(-0.14 + 0.30 * k as f64 / 7.0 + 0.01 * s.normal());
            let read_wall = true_wall + 0.015e-3 * s.normal();
            let read_angle = true_angle.to_degrees() + 0.25 * s.normal();
            let acts = true_wall * THICKNESS * libm::exp(-SCATTER * s.normal());
            let read = gauges.read(&[(angle, true_angle), (wall, acts)], &mut work);
            let hold = [2.0, 10.0, 60.0][(a + k) % 3];
            let mut motion = case.motion().clone();
            motion.hold.time = hold;
            for t in &mut motion.memory.as_mut().unwrap().terms {
                (t.share, t.time) = (t.share * SHARES, t.time * TIMES);
            }
            let LetGo::Ramp(ramp) = motion.hold.let_go else { panic!("{:?}", motion.hold) };
            let moved = case.changed(&[(angle, true_angle), (wall, acts)], None).unwrap().0;
            let moved = Part { wall: moved.wall.scaled(libm::exp(-0.003 * s.normal())), ..moved };
            let noise = [s.normal(), s.normal(), s.normal()];
            let (outcome, wait) = match creep(&moved, &motion, &mut work).unwrap() {
                // A wait counts from the moment the hand begins to let go, as in a release.
                Creep::Ends(t) if t + ramp > 600.0 => ("still there after 600 s", String::new()),
                Creep::Ends(t) if t + ramp > 0.3 => {
                    let t = t + ramp;
                    ("waits", format!("{:.3} ± {:.3}", t * libm::exp(0.025 * noise[0]), 0.05 * t))
                }
                Creep::Ends(_) | Creep::AtOnce => ("returns", String::new()),
                Creep::Stays => ("stays", String::new()),
                other => panic!("{other:?}"),
            };
            let load = match (&read[1], outcome) {
                (Ok(f), "stays") => {
                    let f = f * YOUNGS * libm::exp(TRIP_SCATTER * noise[1]);
                    format!("{:.4} ± {:.4}", f * libm::exp(0.01 * noise[2]), 0.02 * f)
                }
                _ => String::new(),
            };
            let note = if k == 3 && a == 0 { "\"turned twice, the second time noted\"" } else { "" };
            writeln!(
                out,
                "{name},{read_angle:.1} ± 0.5,{:.3} ± 0.03,{hold},{outcome},{wait},{load},{note}",
                1e3 * read_wall
            )
            .unwrap();
        }
    }
    out
}

fn read(case: &Case, trials: &str) -> Logbook {
    let bytes = fs::read(folder().join("logbook.toml")).unwrap();
    let (header, found) = read_header(&bytes);
    assert!(found.is_empty(), "{found:?}");
    let sheet = Sheet { name: "trials.csv", bytes: trials.as_bytes() };
    let (book, found) = read_logbook(&header.unwrap(), &bytes, case, None, Some(sheet));
    assert!(found.is_empty(), "{found:?}");
    book.unwrap()
}

/// What the likelihood is made of, against theory. A specimen nearer to its threshold than one deviation of its sizes foretells the loads
/// of the same shape with other walls (one of the two parts one deviation off does not stay); the table of waits foretells the waits
/// of other memories.
#[test]
fn loads_and_waits_are_those_of_theory() {
    let case = case();
    let book = read(
        &case,
        "specimen,shape.half_angle_deg,wall.thickness_mm,hold_s,outcome,trip_load_N\nA,50 ± 0.5,1.770 ± 0.03,10,stays,0.0068 ± 0.0001\n",
    );
    let theory = unwatched(|w| Theory::new(&case, &book, w, &|_, _| true)).unwrap().unwrap();
    let [margin, _, sd] = theory.specimens[0].margin.clone().unwrap();
    assert!(margin > 0.005 && margin < 0.8 * sd, "{margin} {sd}");
    let load = theory.specimens[0].numbers[0].compared;
    let mut work = Default::default();
    let gauges = Gauges::new(&case, &[Gauge::Margin, Gauge::TripLoad], &mut work).unwrap();
    let input = |key: &str| case.inputs().iter().position(|i| i.key == key).unwrap();
    for wall in [1.776e-3, 1.74e-3, 1.70e-3] {
        let changes = [(input("shape.half_angle"), 50f64.to_radians()), (input("wall.thickness"), wall)];
        let read = gauges.read(&changes, &mut work);
        let [m, f] = [0, 1].map(|i| read[i].clone().unwrap());
        let foretold =
            load.computed + load.with_margin.at(m).unwrap() + load.slopes[0] * libm::log(wall / 1.770e-3);
        assert!((foretold - libm::log(f)).abs() < 0.01, "{wall}: {foretold} {}", libm::log(f));
    }
    let table = theory.table.unwrap();
    let stays = relaxed_threshold(case.part(), 0.0, &mut work).unwrap();
    for (shares, times) in [(1.0, 1.0), (1.25, 0.8), (0.7, 3.0)] {
        let mut motion = case.motion().clone();
        for t in &mut motion.memory.as_mut().unwrap().terms {
            (t.share, t.time) = (t.share * shares, t.time * times);
        }
        let LetGo::Ramp(ramp) = motion.hold.let_go else { panic!() };
        let curve = table.curve_of(None, motion.hold.time, libm::log(shares), libm::log(times));
        for margin in [-0.01, -0.03, -0.05, -0.07] {
            let part = Part {
                wall: case
                    .part()
                    .wall
                    .scaled(stays * libm::exp(-margin) / case.inputs()[input("wall.thickness")].value),
                ..case.part().clone()
            };
            let Creep::Ends(t) = creep(&part, &motion, &mut work).unwrap() else { continue };
            let [table, _] = curve.log_wait(margin).unwrap();
            assert!((table - libm::log(t + ramp)).abs() < 0.06, "{shares} {times} {margin}: {table} {t}");
        }
    }
}

/// The worked logbook is what theory and noise of the stated seed make (`UPDATE_CASES=1` writes it), and what it was made with
/// is found: of six intervals of 95 % at least five hold it, none misses it by three deviations. A right program fails this with three
/// of a hundred seeds; that all six hold it would fail with one seed in four (here the shares lie just outside). That intervals hold
/// truths as often as they claim is held by `tests_rank`.
#[test]
fn the_worked_logbook_tells_what_it_was_made_with() {
    let case = case();
    let text = invented(&case, 11);
    let path = folder().join("trials.csv");
    if std::env::var_os("UPDATE_CASES").is_some() {
        fs::write(&path, &text).unwrap();
    }
    assert_eq!(fs::read_to_string(&path).unwrap(), text);
    let book = read(&case, &text);
    let r = logbook(&case, &book, Ask { seed: 1, next: false, threads: 2 }, &|_, _| true).unwrap().unwrap();
    let truths = [
        ("thickness_factor", THICKNESS),
        ("margin_scatter", SCATTER),
        ("youngs_factor", YOUNGS),
        ("share_factor", SHARES),
        ("time_factor", TIMES),
        ("trip_scatter", TRIP_SCATTER),
    ];
    let mut held = 0;
    for (name, truth) in truths {
        let s = r.sought.iter().find(|s| s.name == name).unwrap();
        let off = libm::log(truth / s.median) / s.log_sd;
        assert!(off.abs() < 3.0, "{name}: {truth} is {off} deviations from {}", s.median);
        held += usize::from((s.interval_95[0]..=s.interval_95[1]).contains(&truth));
    }
    assert!(held >= 5, "{held} of 6");
    assert!(r.doubts.is_empty(), "{:?}", r.doubts);
}

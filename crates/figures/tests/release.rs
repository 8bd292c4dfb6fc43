//! Figures of invented releases: what is drawn, and where. See `invented_release` for what is invented.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "helpers of tests fail by panicking")]

mod common;
mod invented_release;
mod reading;

use calotte_answers::release::report::{Outcome, ReleaseReport};
use calotte_figures::{Figure, release_figures, slowing_figure, spread_figure, wait_figure};
use common::Invented;
use invented_release::{Release, slowing, wait_curve, wait_spread};
use reading::{assert_sound, count, elements, number, points, words};

fn back() -> Release {
    Release { outcome: Outcome::Returns, halfway_s: 7e-3, ramp_s: 0.0, table: false, ..Release::default() }
}

fn cases() -> Vec<Release> {
    let d = Release::default();
    let tiny = Invented { radius_m: 2e-4, thickness_m: 1.2e-5, ..Invented::default() };
    vec![
        d.clone(),
        Release { jumps: Some(1.5), lands: true, sideways: true, ramp_s: 0.0, ..d.clone() },
        Release { jumps: Some(1.5), halfway_s: 5400.0, ..d.clone() },
        Release { sideways: true, ..back() },
        back(),
        Release { outcome: Outcome::Stays, halfway_s: 900.0, ..d.clone() },
        Release { outcome: Outcome::Undecided, halfway_s: 0.02, ..d.clone() },
        Release { halfway_s: 3e5, ramp_s: 1e4, ..d.clone() },
        Release { part: tiny, snap_s: 4e-6, frequency_hz: 2e5, halfway_s: 0.3, ramp_s: 0.0, ..d.clone() },
        Release { part: Invented { hole_radius_m: 4e-3, ..Invented::default() }, ..d },
    ]
}

fn figure(report: &ReleaseReport, name: &str) -> Figure {
    release_figures(report).into_iter().find(|f| f.name == name).expect("the figure is drawn")
}

fn names(report: &ReleaseReport) -> Vec<&'static str> {
    release_figures(report).iter().map(|f| f.name).collect()
}

/// Numbered ticks below the panels, left to right, in panels from one restart or break to the next: x and value.
fn numbers(svg: &str) -> Vec<(f64, f64)> {
    elements(svg, "number")
        .into_iter()
        .filter(|l| l.contains("\"middle\""))
        .map(|l| (number(l, "x").unwrap(), words(l, "number")[0].replace('−', "-").parse().unwrap()))
        .collect()
}

#[test]
fn every_figure_is_sound() {
    for case in cases() {
        let report = case.report();
        let figures = release_figures(&report);
        assert_eq!(figures, release_figures(&report));
        for f in figures {
            assert_sound(&f, &format!("{case:?}"));
            assert!(f.caption.starts_with("Invented cap"));
            assert!(f.svg.len() < 80_000, "{} {}", f.name, f.svg.len());
        }
    }
}

#[test]
fn figures_follow_what_the_report_holds() {
    let d = Release::default();
    assert_eq!(names(&d.report()), ["motion", "strobe", "ledger"]);
    assert_eq!(names(&Release { sideways: true, ..d }.report()), ["motion", "strobe", "ledger", "sideways"]);
}

#[test]
fn a_wait_has_a_panel_in_seconds_and_a_snap_one_in_milliseconds() {
    let svg = figure(&Release::default().report(), "motion").svg;
    let titles: Vec<String> = words(&svg, "axis-title");
    assert!(titles[0].ends_with("letting go (s)") && titles[1].ends_with("half-way (ms)"), "{titles:?}");
    assert_eq!((titles.len(), count(&svg, "break")), (4, 4));
    let back = figure(&back().report(), "motion").svg;
    let titles = words(&back, "axis-title");
    assert!(titles[0].ends_with("letting go (ms)"), "{titles:?}");
    let stays = Release { outcome: Outcome::Stays, halfway_s: 900.0, ..Release::default() };
    let svg = figure(&stays.report(), "motion").svg;
    assert_eq!((words(&svg, "axis-title").len(), count(&svg, "break")), (2, 0));
    assert!(svg.contains(">staying<") && !svg.contains(">snap<"));
}

#[test]
fn events_lie_on_the_curve_where_the_axes_say() {
    let case = Release { jumps: Some(1.5), ..Release::default() };
    let report = case.report();
    let f = figure(&report, "motion");
    let labels = words(&f.svg, "label");
    for want in ["let go", "snap begins, 12.4 s", "half-way", "snapped, +1.30 ms", "take-off, +2.86 ms"] {
        assert!(labels.iter().any(|l| l == want), "{want}: {labels:?}");
    }
    // The snap's panel counts from half-way: its 0 stands under the event of that name.
    let marks: Vec<(f64, f64)> = elements(&f.svg, "event")
        .iter()
        .map(|l| (number(l, "cx").unwrap(), number(l, "cy").unwrap()))
        .collect();
    assert_eq!(marks.len(), 5);
    let zero = numbers(&f.svg).into_iter().filter(|n| n.1 == 0.0).nth(1).unwrap();
    assert!((zero.0 - marks[2].0).abs() < 0.05, "{zero:?} {marks:?}");
    let near = |m: &(f64, f64)| {
        let curve = elements(&f.svg, "height").into_iter().flat_map(points);
        curve.map(|p| libm::hypot(p.0 - m.0, p.1 - m.1)).fold(f64::INFINITY, f64::min)
    };
    assert!(marks.iter().all(|m| near(m) < 6.0), "{marks:?}");
}

#[test]
fn grounds_cover_the_time_once_and_name_the_phases() {
    let case = Release { jumps: Some(1.5), lands: true, ramp_s: 0.0, ..Release::default() };
    let f = figure(&case.report(), "motion");
    let frames: f64 = elements(&f.svg, "frame")
        .iter()
        .filter(|l| number(l, "y1") == number(l, "y2"))
        .map(|l| number(l, "x2").unwrap() - number(l, "x1").unwrap())
        .sum();
    let grounds: f64 = elements(&f.svg, "phase").iter().map(|l| number(l, "width").unwrap()).sum();
    assert!((grounds - frames / 2.0).abs() < 0.2, "{grounds} {frames}");
    assert_eq!(words(&f.svg, "phase-name"), ["waiting", "snap", "flight"]);
    assert!(f.caption.contains("Grounds: waiting, snap, ringing, flight, landed."));
}

#[test]
fn energies_stack_up_to_the_sum() {
    let report = Release::default().report();
    let f = figure(&report, "ledger");
    let sums: Vec<(f64, f64)> = elements(&f.svg, "sum").into_iter().flat_map(points).collect();
    assert!(sums.len() >= 6 && sums.iter().all(|p| (p.1 - sums[0].1).abs() < 0.05), "{sums:?}");
    let top = elements(&f.svg, "energy").into_iter().flat_map(points).map(|p| p.1).fold(900.0, f64::min);
    assert!((top - sums[0].1).abs() < 0.3);
    assert!(f.caption.contains("lost in the memory") && f.svg.contains(">energy (mJ)<"));
    // A hand that gives energy while letting go lifts the stack, not the sum; what it takes is stacked.
    let with_hand = |work: f64| {
        let mut worked = Release::default().report();
        for (i, w) in worked.history.hand_J.iter_mut().enumerate() {
            *w = if i > 3 { work } else { 0.0 };
            worked.history.elastic_J[i] += *w;
        }
        figure(&worked, "ledger").svg
    };
    let ends = |svg: &str| {
        let sums: Vec<(f64, f64)> = elements(svg, "sum").into_iter().flat_map(points).collect();
        let top = elements(svg, "energy").into_iter().flat_map(points).map(|p| p.1).fold(900.0, f64::min);
        assert!(sums.iter().all(|p| (p.1 - sums[0].1).abs() < 0.05));
        (top, sums[0].1)
    };
    let (given, taken) = (with_hand(2e-3), with_hand(-2e-3));
    let (top, sum) = ends(&given);
    assert!(top < sum - 20.0 && !given.contains("taken by the hand"));
    let (top, sum) = ends(&taken);
    assert!((top - sum).abs() < 0.3 && taken.contains(">taken by the hand<"));
}

#[test]
fn flashes_are_equal_in_time_and_shapes_stand_on_the_table() {
    let case = Release { jumps: Some(1.5), lands: true, ..Release::default() };
    let f = figure(&case.report(), "strobe");
    let labels = words(&f.svg, "flash-label");
    assert_eq!(labels.len(), 8);
    assert_eq!(labels[2..6], ["c: −1.30 ms", "d: −650 µs", "e: half-way", "f: +650 µs"].map(str::to_owned));
    let table = elements(&f.svg, "table");
    for (shape, line) in elements(&f.svg, "flash").into_iter().zip(&table) {
        let low = points(shape).iter().map(|p| p.1).fold(0.0, f64::max);
        let y = number(line, "y1").unwrap();
        assert!((low - y).abs() < 2.0, "{low} {y}");
        // Mirrored about the axis.
        let xs: Vec<f64> = points(shape).iter().map(|p| p.0).collect();
        let (a, b) = xs.iter().fold((900.0_f64, 0.0_f64), |(a, b), x| (a.min(*x), b.max(*x)));
        let middle = (number(line, "x1").unwrap() + number(line, "x2").unwrap()) / 2.0;
        assert!(((a + b) / 2.0 - middle).abs() < 0.05);
    }
    assert_eq!(words(&f.svg, "rise-label"), ["115 mm"]);
    assert!(count(&f.svg, "rise-note") == 0 && f.caption.contains("rises 115 mm"));
    let free = figure(&Release { lands: false, ..case }.report(), "strobe");
    assert!(count(&free.svg, "rise-note") == 1 && free.caption.contains("free flight from take-off"));
    let nowhere = figure(&back().report(), "strobe");
    assert_eq!((count(&nowhere.svg, "table"), count(&nowhere.svg, "leap")), (0, 0));
}

#[test]
fn amplitudes_grow_towards_the_thickness() {
    let f = figure(&Release { sideways: true, ..Release::default() }.report(), "sideways");
    let line = elements(&f.svg, "thickness")[0];
    let wall = number(line, "y1").unwrap();
    let highest =
        elements(&f.svg, "amplitude").into_iter().flat_map(points).map(|p| p.1).fold(900.0, f64::min);
    assert!(highest > wall + 10.0, "{highest} {wall}");
    assert!(f.svg.contains(">wall thickness 2.00 mm<") && f.caption.contains("n = 2 grows 300 times"));
    assert_eq!(words(&f.svg, "label"), ["n = 2", "n = 3", "n = 4"]);
}

#[test]
fn broken_rows_are_passed_over_and_too_few_leave_a_figure_out() {
    let full = Release { sideways: true, jumps: Some(1.5), ..Release::default() };
    let mut spoiled = full.report();
    for i in (0..spoiled.history.time_s.len()).step_by(7) {
        spoiled.history.pole_over_rim_m[i] = f64::NAN;
        spoiled.history.kinetic_J[i] = f64::INFINITY;
    }
    spoiled.history.time_s[50] = f64::NAN;
    spoiled.history.time_s[51] = -1e300;
    spoiled.frames[3].z_m[2] = f64::NAN;
    spoiled.frames[5].r_m.pop();
    spoiled.frames.swap(10, 12);
    spoiled.sideways[0].amplitude_m[4] = f64::NAN;
    spoiled.sideways[1].amplitude_m.fill(-1.0);
    spoiled.part.meridian.thickness_m[3] = f64::NAN;
    for f in release_figures(&spoiled) {
        assert_sound(&f, "spoiled");
    }
    assert_eq!(names(&spoiled), ["motion", "strobe", "ledger", "sideways"]);

    let mut odd = full.report();
    if let Some(s) = &mut odd.snap {
        s.halfway_s = f64::NAN;
    }
    if let (Some(j), Some(r)) = (&mut odd.jump, &mut odd.ringing) {
        j.height_m = f64::INFINITY;
        r.frequency_Hz = 0.0;
    }
    odd.part.rise_m = f64::NAN;
    odd.part.thickness_m = f64::NAN;
    for f in release_figures(&odd) {
        assert_sound(&f, "odd");
        assert!(f.svg.contains(">let go<") || f.name != "motion");
    }

    let mut empty = full.report();
    empty.history.time_s.truncate(1);
    empty.frames.truncate(1);
    empty.sideways.clear();
    assert!(names(&empty).is_empty());
    let mut still = full.report();
    still.history.pole_over_rim_m.fill(0.0);
    assert!(release_figures(&still).iter().all(|f| !f.svg.contains("NaN")));
}

#[test]
fn waits_are_marked_by_kind() {
    for zero in [false, true] {
        let curve = wait_curve(zero);
        let f = wait_figure(&curve, "Invented cap").unwrap();
        assert_sound(&f, "wait");
        let want = |stays: bool, rests: bool| {
            curve.points.iter().filter(|p| p.stays == stays && (stays || p.rests == rests)).count()
        };
        let drawn = [count(&f.svg, "stays"), count(&f.svg, "rests"), count(&f.svg, "at-once")];
        assert_eq!(drawn, [want(true, true), want(false, true), want(false, false)]);
        // Those that stay lie above every wait; the shortest hold parts the two kinds.
        let line = number(elements(&f.svg, "shortest")[0], "x1").unwrap();
        assert!(elements(&f.svg, "rests").iter().all(|l| number(l, "cx").unwrap() > line));
        assert!(elements(&f.svg, "at-once").into_iter().flat_map(points).all(|p| p.0 < line));
        let top = elements(&f.svg, "rests").iter().filter_map(|l| number(l, "cy")).fold(900.0, f64::min);
        assert!(elements(&f.svg, "stays").into_iter().flat_map(points).all(|p| p.1 < top));
        assert_eq!((f.name, words(&f.svg, "shortest-label")), ("wait", vec!["3.00 s".to_owned()]));
        assert!(f.caption.contains("15 make it rest") && f.caption.ends_with("Made up."));
    }
    let mut none = wait_curve(true);
    none.points.iter_mut().for_each(|p| (p.wait_s, p.stays) = (Some(f64::NAN), false));
    assert!(wait_figure(&none, "x").is_none());
    let mut all = wait_curve(false);
    all.points.iter_mut().for_each(|p| (p.wait_s, p.stays) = (None, true));
    all.shortest_hold_s = None;
    assert_sound(&wait_figure(&all, "x").unwrap(), "all stay");
}

#[test]
fn shares_end_where_those_that_stay_begin() {
    let f = spread_figure(&wait_spread(), "Invented batch").unwrap();
    assert_sound(&f, "spread");
    let last = *points(elements(&f.svg, "cumulative")[0]).last().unwrap();
    let bar = points(elements(&f.svg, "stay")[0]);
    let foot = bar.iter().map(|p| p.1).fold(0.0, f64::max);
    assert!((last.1 - foot).abs() < 1.0, "{last:?} {bar:?}");
    assert!(f.svg.contains(">12 % stay<") && f.svg.contains(">6 % return at once<"));
    assert_eq!((count(&f.svg, "quantile"), count(&f.svg, "bar"), f.name), (2, 4, "spread"));
    let long = |i: usize| {
        let p = points(elements(&f.svg, "bar")[i]);
        p[1].0 - p[0].0
    };
    assert!((long(0) / long(1) - 0.71 / 0.22).abs() < 0.01);
    // Without the draws the quantiles carry the curve; with nothing there is no figure.
    let mut told = wait_spread();
    told.waits.clear();
    told.sensitivities.clear();
    assert_sound(&spread_figure(&told, "x").unwrap(), "told");
    told.quantiles.clear();
    told.stay = 0.0;
    assert!(spread_figure(&told, "x").is_none());
}

#[test]
fn slowing_has_its_guides_and_exponents() {
    let f = slowing_figure(&slowing(), "Invented cap").unwrap();
    assert_sound(&f, "slowing");
    assert_eq!(words(&f.svg, "guide-name"), ["slope −1/4", "slope −1/2", "slope 1/4"]);
    assert_eq!((count(&f.svg, "slowing"), count(&f.svg, "guide"), count(&f.svg, "point")), (3, 3, 27));
    assert!(words(&f.svg, "exponent").iter().any(|w| w == "−0.248"));
    // The made-up delays are exact powers: they lie on their guides.
    for (curve, guide) in elements(&f.svg, "slowing").into_iter().zip(elements(&f.svg, "guide")) {
        let (p, g) = (points(curve), points(guide));
        let slope = (g[g.len() - 1].1 - g[0].1) / (g[g.len() - 1].0 - g[0].0);
        for q in p {
            assert!((g[0].1 + slope * (q.0 - g[0].0) - q.1).abs() < 0.3, "{q:?} {g:?}");
        }
    }
    let mut part = slowing();
    part.elastic.clear();
    part.damped[2].time_s = f64::NAN;
    part.frequencies.truncate(1);
    let f = slowing_figure(&part, "x").unwrap();
    assert_sound(&f, "part");
    assert_eq!((count(&f.svg, "slowing"), count(&f.svg, "point")), (1, 8));
    part.damped.clear();
    assert!(slowing_figure(&part, "x").is_none());
}

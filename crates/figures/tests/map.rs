//! Figures of invented maps: what is drawn, and where. See `invented_map` for what is invented.

mod invented_map;
mod reading;

use calotte_answers::map::report::{Comparison, Curve, MapReport, Observed};
use calotte_answers::report::Verdict;
use calotte_figures::{Figure, map_figures};
use invented_map::Map;
use reading::{assert_sound, count, elements, number, points, words};

fn cases() -> Vec<Map> {
    let d = Map::default();
    vec![
        d.clone(),
        Map { turning: true, ..d.clone() },
        Map { turning: true, grid: true, specimens: 60, ..d.clone() },
        Map { turning: true, specimens: 60, ..d.clone() },
        Map { thickness_m: (0.05e-3, 4e-3), grid: true, specimens: 20, ..d.clone() },
        Map { grid: true, curves: false, ..d.clone() },
        Map { swept: true, specimens: 20, ..d.clone() },
        Map { specimens: 300, ..d },
    ]
}

#[allow(clippy::expect_used, reason = "helpers of tests fail by panicking")]
fn figure(report: &MapReport) -> Figure {
    map_figures(report).pop().expect("the map is drawn")
}

/// Left, right, top, bottom of the frame.
fn frame(svg: &str) -> [f64; 4] {
    let ends = |name: &str, more: &str| -> Vec<f64> {
        elements(svg, "frame").iter().flat_map(|l| [number(l, name), number(l, more)]).flatten().collect()
    };
    let (x, y) = (ends("x1", "x2"), ends("y1", "y2"));
    let low = |v: &[f64]| v.iter().copied().fold(f64::INFINITY, f64::min);
    let high = |v: &[f64]| v.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    [low(&x), high(&x), low(&y), high(&y)]
}

#[test]
fn every_map_is_sound_and_keeps_to_its_frame() {
    for case in cases() {
        let f = figure(&case.report());
        assert_sound(&f, &format!("{case:?}"));
        let [left, right, top, bottom] = frame(&f.svg);
        for class in ["threshold", "margin", "waiting", "snapping-first", "trip-load", "validity"] {
            for (x, y) in elements(&f.svg, class).iter().flat_map(|l| points(l)) {
                let inside = x >= left - 0.01 && x <= right + 0.01 && y >= top - 0.01 && y <= bottom + 0.01;
                assert!(inside, "{case:?} {class} {x} {y}");
            }
        }
        for key in elements(&f.svg, "key-text") {
            assert!(number(key, "y").unwrap() < top, "the legend stands outside");
        }
        assert_eq!(map_figures(&case.report()), map_figures(&case.report()));
    }
}

#[test]
fn the_threshold_lies_where_the_axes_say() {
    for case in [Map::default(), Map { thickness_m: (0.05e-3, 4e-3), ..Map::default() }] {
        let report = case.report();
        let svg = figure(&report).svg;
        let [left, right, top, bottom] = frame(&svg);
        let share = |v: f64, low: f64, high: f64, log: bool| {
            if log { libm::log(v / low) / libm::log(high / low) } else { (v - low) / (high - low) }
        };
        let (x, y) = (&report.axes[0], &report.axes[1]);
        let log = case.thickness_m.0 < 1e-4;
        let curve = &report.threshold[0];
        let line = points(elements(&svg, "threshold")[0]);
        let want = (
            left + (right - left) * share(curve.x_si[0], x.low_si, x.high_si, log),
            bottom - (bottom - top) * share(curve.y_si[0], y.low_si, y.high_si, false),
        );
        assert!(
            (line[0].0 - want.0).abs() < 0.05 && (line[0].1 - want.1).abs() < 0.05,
            "{:?} {want:?}",
            line[0]
        );
        assert_eq!(figure(&report).caption.contains("logarithmic"), log);
    }
}

#[test]
fn sides_are_named_from_margins_or_the_grid_and_not_without() {
    let stays_left = |svg: &str| {
        let at = |class: &str| number(elements(svg, class)[0], "x").unwrap();
        at("stays-label") < at("returns-label")
    };
    assert!(stays_left(&figure(&Map::default().report()).svg));
    assert!(stays_left(&figure(&Map { grid: true, curves: false, ..Map::default() }.report()).svg));
    let bare = Map { curves: false, ..Map::default() };
    let svg = figure(&bare.report()).svg;
    assert_eq!(count(&svg, "stays-label") + count(&svg, "returns-label"), 0);
    assert_eq!(count(&svg, "threshold"), 1);
}

#[test]
fn curves_are_labelled_along_themselves() {
    let svg = figure(&Map::default().report()).svg;
    assert!(count(&svg, "waiting") > 0);
    let labels = words(&svg, "curve-label");
    for want in ["0.8", "0.9", "1.1", "1.2", "1.50 N", "4.00 N", "snapping begins", "h/R 0.10"] {
        assert!(labels.iter().any(|l| l == want), "{want}: {labels:?}");
    }
    // The curve makes way: two pieces for each of the four margins.
    assert_eq!(count(&svg, "margin"), 8);
    assert!(count(&svg, "beyond") > 20);
    let [left, right, ..] = frame(&svg);
    for tick in elements(&svg, "beyond") {
        assert!(number(tick, "x2").unwrap() > number(tick, "x1").unwrap() - 0.01);
        assert!((left..=right).contains(&number(tick, "x2").unwrap()));
    }
}

#[test]
fn cells_are_merged_in_runs_and_cover_what_they_say() {
    let report = Map { grid: true, ..Map::default() }.report();
    let svg = figure(&report).svg;
    let cells = ["cell-stays", "cell-returns", "cell-undecided"];
    let drawn: usize = cells.iter().map(|c| count(&svg, c)).sum();
    assert!(drawn <= 20 * 4, "{drawn}");
    let [left, right, top, bottom] = frame(&svg);
    let area = |class: &str| -> f64 {
        elements(&svg, class).iter().map(|l| number(l, "width").unwrap() * number(l, "height").unwrap()).sum()
    };
    let grid = report.grid.as_ref().unwrap();
    let want = grid.verdicts.iter().filter(|v| **v == Some(Verdict::Stays)).count() as f64 / 600.0;
    let share = area("cell-stays") / ((right - left) * (bottom - top));
    assert!((share - want).abs() < 0.02, "{share} {want}");
}

/// Filled stays, open returns, a cross is undecided; what has no answer is not drawn.
#[test]
fn points_of_a_sweep_are_marked_and_counted() {
    let report = Map { swept: true, ..Map::default() }.report();
    let f = figure(&report);
    let points = report.points.as_ref().unwrap();
    for (class, verdict) in [
        ("swept-stays", Verdict::Stays),
        ("swept-returns", Verdict::Returns),
        ("swept-undecided", Verdict::Undecided),
    ] {
        let want = points.count(Some(verdict));
        assert!(want > 3);
        assert_eq!(count(&f.svg, class), want, "{class}");
    }
    let (stays, returns) = (points.count(Some(Verdict::Stays)), points.count(Some(Verdict::Returns)));
    let said = format!(
        "400 points of the sweep \"Invented sweep\" as computed (small marks): {stays} stay (filled), {returns} return (open)"
    );
    assert!(f.caption.contains(&said), "{}", f.caption);
    assert!(f.svg.contains(">computed: stays<"));
}

/// Of very many points some are drawn, and they lie as all do, in whatever order they come: here those of a grid of 160 × 125, whose every
/// fifth point lies on 25 of 125 lines.
#[test]
fn of_very_many_points_some_are_drawn_that_lie_as_all_do() {
    let mut report = Map { swept: true, ..Map::default() }.report();
    let few = report.points.clone().unwrap();
    let range =
        |v: &[f64]| v.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(*x), b.max(*x)));
    let (x, y) = (range(&few.x_si), range(&few.y_si));
    let at = |(low, high): (f64, f64), k: usize, n: usize| low + (high - low) * k as f64 / (n - 1) as f64;
    let mut many = few.clone();
    many.x_si = (0..20_000).map(|k| at(x, k / 125, 160)).collect();
    many.y_si = (0..20_000).map(|k| at(y, k % 125, 125)).collect();
    many.verdicts = vec![Some(Verdict::Stays); 20_000];
    many.thickness_ratio = vec![Some(0.5); 20_000];
    report.points = Some(many);
    let f = figure(&report);
    assert!(f.caption.contains("; 4000 of those on the map, picked by chance, are drawn"), "{}", f.caption);
    let mut lines = std::collections::BTreeMap::new();
    for mark in elements(&f.svg, "swept-stays") {
        *lines.entry(number(mark, "cy").unwrap().to_bits()).or_insert(0) += 1;
    }
    assert_eq!(lines.values().sum::<i32>(), 4000);
    // 32 on a line, give or take 5: five standard deviations.
    assert!(lines.len() == 125 && lines.values().all(|n| (n - 32).abs() < 25), "{lines:?}");
}

#[test]
fn specimens_are_marked_by_what_was_seen_and_counted() {
    let report = Map { turning: true, specimens: 60, ..Map::default() }.report();
    let f = figure(&report);
    let seen = |o: Option<Observed>| report.specimens.iter().filter(|s| s.observed == o).count();
    assert_eq!(count(&f.svg, "specimen"), 60);
    assert_eq!(count(&f.svg, "half") - 1, seen(Some(Observed::Waits)), "one more in the legend");
    let contradicted = report.specimens.iter().filter(|s| s.comparison == Comparison::Contradicted).count();
    assert!(contradicted > 0);
    assert_eq!(count(&f.svg, "contradicted-ring"), contradicted);
    let counts = report.counts.unwrap();
    assert!(f.caption.contains(&format!("60 specimens, {} predicted to stay", counts.predicted_stay)));
    assert!(f.caption.contains(&format!("{contradicted} contradicted (ringed)")));

    let mut away = report;
    away.specimens[4].x_si = 1.0;
    away.specimens[5].y_si = f64::NAN;
    let f = figure(&away);
    assert_eq!(count(&f.svg, "specimen"), 58);
    assert!(f.caption.contains("2 specimens lie outside"));
}

#[test]
fn the_part_has_cross_hairs_and_its_tolerances() {
    let mut report = Map::default().report();
    assert_eq!(count(&figure(&report).svg, "tolerance"), 1);
    report.axes[1].here_half_width_si = None;
    assert!(elements(&figure(&report).svg, "tolerance")[0].starts_with("<line"));
    report.axes[0].here_si = 1.0;
    let f = figure(&report);
    assert_eq!(count(&f.svg, "tolerance"), 0);
    assert!(f.caption.contains("This part lies outside the map."));
}

#[test]
fn absent_or_broken_data_leave_the_map_out_without_panic() {
    let mut empty = Map { curves: false, ..Map::default() }.report();
    empty.threshold.clear();
    assert!(map_figures(&empty).is_empty());
    for spoil in [
        (|r: &mut MapReport| r.axes[0].low_si = f64::NAN) as fn(&mut MapReport),
        |r| r.axes[1].high_si = r.axes[1].low_si,
        |r| r.axes[1].unit_si = 0.0,
        |r| r.axes[0].high_si = f64::INFINITY,
    ] {
        let mut r = Map::default().report();
        spoil(&mut r);
        assert!(map_figures(&r).is_empty());
    }

    let mut spoiled = Map { turning: true, grid: true, specimens: 30, ..Map::default() }.report();
    spoiled.threshold[0].x_si[200] = f64::NAN;
    spoiled.threshold[0].x_si[100] = 1e300;
    spoiled.threshold[0].y_si.truncate(350);
    spoiled.threshold[0].cusps.push(99_999);
    spoiled.threshold.push(Curve::default());
    spoiled.margins[0].ratio = f64::NAN;
    spoiled.margins[1].curves[0].x_si.fill(-1.0);
    spoiled.trip_loads[0].load_SI = f64::INFINITY;
    spoiled.validity[0].limit = f64::NAN;
    spoiled.specimens[2].x_half_width_si = Some(f64::NAN);
    spoiled.specimens[3].x_half_width_si = Some(1e300);
    spoiled.axes[0].here_si = f64::NAN;
    if let Some(g) = &mut spoiled.grid {
        g.verdicts.truncate(17);
    }
    assert_sound(&figure(&spoiled), "spoiled");

    let mut one = Map { grid: true, ..Map::default() }.report();
    if let Some(g) = &mut one.grid {
        g.x_si.truncate(1);
        g.y_si.truncate(1);
        g.verdicts.truncate(1);
    }
    assert_sound(&figure(&one), "one cell");
}

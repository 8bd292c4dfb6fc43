//! Maps against known thresholds, in any orientation of the axes.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "helpers of tests, outside a #[test] function")]

use calotte_answers::map::report::{Comparison, Curve, MapReport, Observed};
use calotte_answers::map::{AxisSpec, Chart, Measured, Quantity, Request, compare, map};
use calotte_oracle::cap;
use calotte_specimen::{Case, read_case};

const CASE: &str = r#"
title = "map test"
[shape]
kind = "cap"
radius = "1 m"
half_angle = "45 deg"
[wall]
thickness = "0.05 m"
[material]
youngs_modulus = "1 MPa"
poisson_ratio = "0.3"
[rim]
kind = "table"
[load]
kind = "pole"
"#;

fn case() -> Case {
    read_case(CASE.as_bytes(), &|_| Err(std::io::Error::other("none"))).0.expect("a sound case")
}

fn axis(case: &Case, key: &str, range: [f64; 2]) -> AxisSpec {
    let quantity = case.inputs().iter().position(|i| i.key == key).map_or(Quantity::Depth, Quantity::Given);
    AxisSpec {
        quantity,
        key: key.to_owned(),
        label: key.to_owned(),
        unit: String::new(),
        unit_si: 1.0,
        range,
    }
}

fn draw(x: (&str, [f64; 2]), y: (&str, [f64; 2]), change: impl Fn(&mut Request)) -> MapReport {
    let case = case();
    let mut request = Request {
        axes: [axis(&case, x.0, x.1), axis(&case, y.0, y.1)],
        margins: vec![],
        trip_loads: vec![],
        snapping: false,
    };
    change(&mut request);
    map(&case, &request, &mut |_| true).unwrap()
}

/// y of a curve at x: the curve is smooth between its points, so a cubic through four of them will do.
fn at(c: &Curve, x: f64) -> f64 {
    let i =
        (1..c.x_si.len()).find(|i| (c.x_si[*i] - x) * (c.x_si[i - 1] - x) <= 0.0).expect("x on the curve");
    let first = i.saturating_sub(3).min(c.x_si.len() - 6);
    let nodes: Vec<(f64, f64)> =
        (first..first + 6).map(|k| (libm::log(c.x_si[k]), libm::log(c.y_si[k]))).collect();
    let mut y = 0.0;
    for (k, a) in nodes.iter().enumerate() {
        let basis: f64 = nodes
            .iter()
            .enumerate()
            .filter(|(m, _)| *m != k)
            .map(|(_, b)| (libm::log(x) - b.0) / (a.0 - b.0))
            .product();
        y += basis * a.1;
    }
    libm::exp(y)
}

const DEPTH: (&str, [f64; 2]) = ("depth", [std::f64::consts::PI / 36.0, std::f64::consts::FRAC_PI_2]);
const WALL: (&str, [f64; 2]) = ("wall.thickness", [5e-4, 0.5]);

/// Recomputed from the equations of Reissner 1950 by collocation (thresholds of exact caps).
#[test]
fn threshold_passes_the_known_points() {
    let m = draw(DEPTH, WALL, |_| {});
    assert!(m.doubts.is_empty(), "{:?}", m.doubts);
    assert_eq!(m.threshold.len(), 1);
    let c = &m.threshold[0];
    for known in cap::THRESHOLDS.iter().filter(|t| t.nu == 0.3 && (5.0..=90.0).contains(&t.alpha_deg)) {
        let h = known.h_over_r.value;
        if known.alpha_deg == 90.0 {
            // The end of the curve is a point computed, not one between others.
            let end = c.y_si[c.y_si.len() - 1].max(c.y_si[0]);
            assert!((end / h - 1.0).abs() < 2e-8, "{end}");
        } else {
            let found = at(c, known.alpha_deg.to_radians());
            assert!((found / h - 1.0).abs() < 1e-5, "{}: {found} {h}", known.alpha_deg);
        }
    }
    assert!(m.evidence.mesh_difference < 2e-7, "{:e}", m.evidence.mesh_difference);
}

/// The same curve with the axes exchanged: steep where it was flat.
#[test]
fn axes_may_be_exchanged() {
    let a = draw(("depth", [0.5, 1.2]), ("wall.thickness", [0.01, 0.2]), |_| {});
    let b = draw(("wall.thickness", [0.01, 0.2]), ("depth", [0.5, 1.2]), |_| {});
    let (c, d) = (&a.threshold[0], &b.threshold[0]);
    for x in [0.6, 0.8, 1.0] {
        let y = at(c, x);
        let back = at(d, y);
        assert!((back / x - 1.0).abs() < 1e-5, "{x} {y} {back}");
    }
}

/// A margin is the threshold with the wall scaled.
#[test]
fn margin_curves_are_the_threshold_scaled() {
    let m = draw(("depth", [0.5, 1.2]), ("wall.thickness", [0.01, 0.2]), |r| r.margins = vec![0.8]);
    let (c, d) = (&m.threshold[0], &m.margins[0].curves[0]);
    for x in [0.6, 0.8, 1.0] {
        assert!((at(d, x) / at(c, x) / 0.8 - 1.0).abs() < 1e-5);
    }
}

/// Every point of a trip-load curve trips at that load: the path of the part there has its first peak there; the curve
/// turns in a cusp where peak and valley meet.
#[test]
fn trip_load_curves_agree_with_paths_and_turn_in_a_cusp() {
    let load = 300.0;
    let m = draw(("depth", [0.5, 1.2]), ("wall.thickness", [0.02, 0.15]), |r| r.trip_loads = vec![load]);
    let c = &m.trip_loads[0].curves[0];
    assert_eq!(c.cusps.len(), 1, "{:?}", c.ends);
    let case = case();
    let axes = [axis(&case, "depth", [0.5, 1.2]), axis(&case, "wall.thickness", [0.02, 0.15])];
    let chart = Chart::new(&case, &axes);
    // At the cusp itself peak and valley are one; a point or two away they are apart.
    let away = (0..c.x_si.len()).filter(|i| i.abs_diff(c.cusps[0]) > 2);
    for i in away.step_by(c.x_si.len() / 4) {
        let (part, by) = chart.part([c.x_si[i], c.y_si[i]]).unwrap();
        let r = calotte_answers::poke(&part, &by);
        let near = r.events.iter().map(|e| (e.load_SI / load - 1.0).abs()).fold(f64::INFINITY, f64::min);
        assert!(near < 1e-4, "{} {}: {near:e}", c.x_si[i], c.y_si[i]);
    }
}

/// On the curve of first snapping the path just stops having a limit.
#[test]
fn snapping_begins_where_paths_get_a_limit() {
    let m = draw(("depth", [0.6, 0.75]), ("wall.thickness", [0.03, 0.2]), |r| r.snapping = true);
    let c = &m.snapping_first[0];
    assert!(c.x_si.len() >= 3);
    let case = case();
    let axes = [axis(&case, "depth", [0.6, 0.75]), axis(&case, "wall.thickness", [0.03, 0.2])];
    let chart = Chart::new(&case, &axes);
    let peaks = |factor: f64| {
        let (part, by) = chart.part([c.x_si[1], factor * c.y_si[1]]).unwrap();
        calotte_answers::poke(&part, &by).by_load.is_some()
    };
    assert!(peaks(0.99));
    assert!(!peaks(1.01));
}

#[test]
fn specimens_are_counted() {
    let case = case();
    let axes = [axis(&case, "depth", [0.5, 1.2]), axis(&case, "wall.thickness", [0.01, 0.2])];
    let chart = Chart::new(&case, &axes);
    // The threshold at 60° is 0.12348.
    let at = |name: &str, h: f64, w: f64, observed: Option<Observed>| Measured {
        name: name.to_owned(),
        values: [60.0_f64.to_radians(), h],
        half_widths: [None, Some(w)],
        observed,
    };
    let all = [
        at("thin", 0.10, 0.002, Some(Observed::Stays)),
        at("thick", 0.15, 0.002, Some(Observed::Waits)),
        at("near", 0.122, 0.003, Some(Observed::Returns)),
        at("odd", 0.10, 0.002, Some(Observed::Returns)),
        at("unseen", 0.10, 0.002, None),
    ];
    let (specimens, n) = compare(&chart, &all);
    let found: Vec<Comparison> = specimens.iter().map(|s| s.comparison).collect();
    use Comparison::{Agrees, Contradicted, Open, WithinTolerance};
    assert_eq!(found, [Agrees, Agrees, WithinTolerance, Contradicted, Open]);
    assert_eq!([n.predicted_stay, n.predicted_return, n.observed_stay, n.observed_return], [4, 1, 1, 3]);
    assert_eq!([n.agree, n.within_tolerance, n.contradicted, n.open], [2, 1, 1, 1]);
}

//! Curves of a given trip load, and where a load first has a limit.

use calotte_shell::Model;
use calotte_solve::fold_curve::{self, CurvePoint, Settings};
use calotte_solve::follow::{self, Watch};
use calotte_solve::{Work, fold};
use calotte_specimen::{Load, LoadKind, Part};

use crate::map::plane::{Field, Problem};
use crate::map::report::{Curve, MapReport, TripCurves};
use crate::map::trace::{Window, trace};
use crate::map::{Chart, Request, curve, doubt_curves, passes};
use crate::poke::path::settings;
use crate::poke::setup::Setup;

/// Columns and rows in which paths are followed.
const SCAN: usize = 9;

/// The first peak of the load along the path, axisymmetric.
struct FirstPeak {
    setup: Setup,
    x: Vec<f64>,
    v: Vec<f64>,
    /// SI.
    load: f64,
}

fn first_peak(part: &Part, load: &Load, work: &mut Work) -> Option<FirstPeak> {
    let setup = Setup::new(part, load);
    if setup.rise <= 0.0 {
        return None;
    }
    let model = setup.model(&setup.mesh);
    let (x, v, si) = {
        let loaded = setup.loaded(&model, work)?;
        let rest = setup.rest(&loaded, 0.0, work).ok()?;
        let top = model.inner_height();
        let height = rest[top];
        let set = follow::Settings { turn: 0.15, points: 400, ..settings(&setup, &loaded) };
        let from = follow::start(&loaded, rest, 0.0, true, set.weight, work)?;
        let mut turned = None;
        follow::follow(&loaded, from, &set, work, |here, next| {
            if here.dt > 0.0 && next.dt < 0.0 {
                turned = Some(if here.dt < -next.dt { here.clone() } else { next.clone() });
                return Watch::Stop;
            }
            if setup.direction * (next.x[top] - height) > setup.reach() { Watch::Stop } else { Watch::Go }
        });
        let p = turned?;
        let (v, _) = fold::softest(&loaded, &p.x, p.t, work)?;
        let f = fold::refine(&loaded, p.x, p.t, v, 0.05, work).ok()?;
        let si = setup.load_si(loaded.unit() * f.t);
        (f.x, f.v, si)
    };
    // Curves run over parts of other proportions than the one the mesh was made for: twice as fine a mesh.
    let fine = setup.own_model();
    let ahead: Vec<f64> = x.iter().zip(&v).map(|(x, d)| x + 1e-4 * d).collect();
    let (x, ahead) = (model.transfer(&x, &fine), model.transfer(&ahead, &fine));
    let v = ahead.iter().zip(&x).map(|(a, b)| (a - b) / 1e-4).collect();
    Some(FirstPeak { setup, x, v, load: si })
}

/// The problem at a place with the load at `si` times the parameter.
fn problem(base: &Model, part: &Part, load: &Load, si: f64, f: f64) -> Option<Problem> {
    let setup = Setup::new(part, load);
    let at_own = Part { wall: setup.scene.part.wall.scaled(setup.scene.own), ..setup.scene.part.clone() };
    let model = base.similar(&at_own);
    let push = setup.push(&model)?;
    // SI over what one unit of `E R²` (of the base's length unit) is.
    let unit = si / setup.load_si_at(1.0, model.radius());
    Some(Problem { model, load: Some((push, unit)), f })
}

pub(super) fn add(
    chart: &Chart<'_>,
    window: Window,
    request: &Request,
    report: &mut MapReport,
    work: &mut Work,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Option<()> {
    if request.trip_loads.is_empty() && !request.snapping {
        return Some(());
    }
    let (_, load) = chart.at([0, 1].map(|i| 0.5 * (window.low[i] + window.high[i])))?;
    if matches!(load.kind, LoadKind::Flat | LoadKind::Ball { .. } | LoadKind::Pusher { bonded: false, .. }) {
        report.doubts.push(
            "Curves of trip load and of first snapping are followed for forces and pressure, not for a rigid body in contact."
                .to_owned(),
        );
        return Some(());
    }
    if load.gravity != 0.0 {
        report.doubts.push("Curves of trip load leave the weight that acts all the time out.".to_owned());
    }
    let place = |i: usize, k: usize| {
        window.low[i] + (window.high[i] - window.low[i]) * (k as f64 + 0.5) / SCAN as f64
    };
    let mut peaks: Vec<Vec<Option<FirstPeak>>> = Vec::new();
    for c in 0..SCAN {
        let column = (0..SCAN)
            .map(|r| chart.at([place(0, c), place(1, r)]).and_then(|(p, l)| first_peak(&p, &l, work)))
            .collect();
        peaks.push(column);
        if !progress(0.7 + 0.2 * (c + 1) as f64 / SCAN as f64) {
            return None;
        }
    }
    for &wanted in &request.trip_loads {
        let mut found = Vec::new();
        let mut expected = false;
        for c in 0..SCAN {
            for r in 1..SCAN {
                let (Some(a), Some(b)) = (&peaks[c][r - 1], &peaks[c][r]) else { continue };
                if (a.load - wanted) * (b.load - wanted) > 0.0 {
                    continue;
                }
                expected = true;
                let (near, at) = if libm::log(a.load / wanted).abs() < libm::log(b.load / wanted).abs() {
                    (a, r - 1)
                } else {
                    (b, r)
                };
                // From the scanned place the curve is reached by moving along the column to the load wanted.
                let from = [place(0, c), place(1, at)];
                let u = libm::log(wanted / a.load) / libm::log(b.load / a.load);
                let target = [place(0, c), place(1, r - 1) + u * (place(1, r) - place(1, r - 1))];
                if found.iter().any(|t| passes(t, target, window)) {
                    continue;
                }
                if let Some(t) = trip_curve(chart, window, near, from, wanted, work) {
                    found.push(t);
                }
            }
        }
        doubt_curves(&format!("curve of trip load {wanted}"), !expected, &found, &mut report.doubts);
        let unit =
            peaks.iter().flatten().flatten().next().map_or(String::new(), |p| p.setup.summary().load_unit);
        let curves = found.iter().map(|t| curve(t, &mut report.evidence)).collect();
        report.trip_loads.push(TripCurves { load_SI: wanted, load_unit: unit, curves });
    }
    if request.snapping {
        snapping(chart, window, &peaks, report, work);
    }
    progress(0.95).then_some(())
}

fn trip_curve(
    chart: &Chart<'_>,
    window: Window,
    near: &FirstPeak,
    from: [f64; 2],
    wanted: f64,
    work: &mut Work,
) -> Option<crate::map::trace::Traced> {
    let base = near.setup.own_model();
    let build_in = |p: [f64; 2], si: f64| {
        let (part, load) = chart.at(p)?;
        problem(&base, &part, &load, si, 1.0)
    };
    // The load goes from the scanned value to the one wanted while the second number follows.
    let column = |q: [f64; 2]| build_in([from[0], q[1]], libm::exp(q[0]));
    let line = Field { base: &base, build: &column };
    let begin = [libm::log(near.load), from[1]];
    let goal = libm::log(wanted);
    let mut here =
        fold_curve::start(&line, near.x.clone(), begin, &near.v, goal > begin[0], [1.0, 1.0], work)?;
    for _ in 0..60 {
        let left = goal - here.p[0];
        if left.abs() < 1e-9 {
            break;
        }
        if here.dp[0] * left < 0.0 || here.dp[0] == 0.0 {
            return None;
        }
        here = fold_curve::step(&line, &here, (left / here.dp[0]).min(0.2), [1.0, 1.0], work)?;
    }
    let build = |p| build_in(p, wanted);
    let field = Field { base: &base, build: &build };
    trace(&field, window, (here.x, [from[0], here.p[1]], here.v), &|_| Ok(()), work)
}

/// In each column, from a limit point in (load, second number) along the curve of limit points to its cusp.
fn snapping(
    chart: &Chart<'_>,
    window: Window,
    peaks: &[Vec<Option<FirstPeak>>],
    report: &mut MapReport,
    work: &mut Work,
) {
    let mut c = Curve {
        ends: ["the columns scanned".to_owned(), "the columns scanned".to_owned()],
        ..Curve::default()
    };
    for (k, column) in peaks.iter().enumerate() {
        let x = window.low[0] + (window.high[0] - window.low[0]) * (k as f64 + 0.5) / SCAN as f64;
        let has: Vec<usize> = (0..SCAN).filter(|r| column[*r].is_some()).collect();
        // The cusp lies next to the last place that snaps, on the side where none does.
        let Some(edge) = has
            .iter()
            .copied()
            .find(|r| (*r > 0 && column[r - 1].is_none()) || (r + 1 < SCAN && column[r + 1].is_none()))
        else {
            continue;
        };
        let Some(peak) = &column[edge] else { continue };
        let y = window.low[1] + (window.high[1] - window.low[1]) * (edge as f64 + 0.5) / SCAN as f64;
        let base = peak.setup.own_model();
        let scale = peak.load;
        let build = |q: [f64; 2]| {
            let (part, load) = chart.at([x, q[1]])?;
            problem(&base, &part, &load, scale, q[0])
        };
        let field = Field { base: &base, build: &build };
        let weights = [0.3, 1.0 / (window.high[1] - window.low[1])];
        let Some(first) = fold_curve::start(&field, peak.x.clone(), [1.0, y], &peak.v, true, weights, work)
        else {
            continue;
        };
        let mut found: Option<CurvePoint> = None;
        for sense in [1.0, -1.0] {
            let mut from = first.clone();
            from.dx.iter_mut().for_each(|d| *d *= sense);
            from.dp = from.dp.map(|d| d * sense);
            let set =
                Settings { step: 0.01, longest: 0.05, shortest: 1e-6, weights, turn: 0.12, points: 120 };
            fold_curve::follow(&field, from, &set, work, |here, next, work| {
                if here.cubic * next.cubic < 0.0 {
                    found = fold_curve::cusp(&field, here, next, weights, work);
                    return false;
                }
                (window.low[1] - 0.5..=window.high[1] + 0.5).contains(&next.p[1])
            });
            if found.is_some() {
                break;
            }
        }
        if let Some(p) = found {
            report.evidence.curve_points += 1;
            c.x_si.push(libm::exp(x));
            c.y_si.push(libm::exp(p.p[1]));
        }
    }
    if !c.x_si.is_empty() {
        c.cusps = (0..c.x_si.len()).collect();
        report.snapping_first.push(c);
    }
}

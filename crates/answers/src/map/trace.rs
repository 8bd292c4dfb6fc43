//! Following one curve of limit points across the plane, both ways, to the edges of the map.

use calotte_shell::Model;
use calotte_solve::Work;
use calotte_solve::fold_curve::{self, CurvePoint, Settings, cusp, follow, start, step};
use calotte_solve::follow::PathEnd;

use crate::map::plane::Field;

/// A curve in the coordinates of the plane, with a state at each point.
pub(crate) struct Traced {
    pub(crate) points: Vec<CurvePoint>,
    pub(crate) cusps: Vec<usize>,
    pub(crate) ends: [String; 2],
    pub(crate) iterations: u64,
}

const SPENT: &str = "the budget of points was spent";
const NO_FURTHER: &str = "it could be followed no further";

/// Whether an end was not meant.
pub(crate) fn is_early(end: &String) -> bool {
    end == SPENT || end == NO_FURTHER
}

/// The part of the plane that the map shows.
#[derive(Clone, Copy)]
pub(crate) struct Window {
    pub(crate) low: [f64; 2],
    pub(crate) high: [f64; 2],
}

impl Window {
    /// The middle of a cell (or a place between middles) of a grid of `count` by `count`.
    pub(crate) fn place(&self, cell: [f64; 2], count: usize) -> [f64; 2] {
        [0, 1].map(|i| self.low[i] + (self.high[i] - self.low[i]) * (cell[i] + 0.5) / count as f64)
    }

    /// How far outside a place lies (largest share of the width); 0 or less inside.
    fn outside(&self, p: [f64; 2]) -> f64 {
        (0..2)
            .map(|i| {
                let width = self.high[i] - self.low[i];
                ((self.low[i] - p[i]) / width).max((p[i] - self.high[i]) / width)
            })
            .fold(f64::NEG_INFINITY, f64::max)
    }
}

/// Follows from a state near the curve. `sound` says whether a state still belongs to the branch that is meant.
pub(crate) fn trace(
    field: &Field<'_>,
    window: Window,
    from: (Vec<f64>, [f64; 2], Vec<f64>),
    sound: &dyn Fn(&CurvePoint) -> Result<(), String>,
    work: &mut Work,
) -> Option<Traced> {
    let weights = [0, 1].map(|i| 0.6 / (window.high[i] - window.low[i]));
    let set = Settings { step: 0.02, longest: 0.05, shortest: 1e-6, weights, turn: 0.25, points: 400 };
    let (x, p, v) = from;
    let first = start(field, x, p, &v, true, weights, work)?;
    let mut iterations = u64::from(first.iterations);
    let mut sides: Vec<(Vec<CurvePoint>, String)> = Vec::new();
    for sense in [-1.0, 1.0] {
        let mut from = first.clone();
        from.dx.iter_mut().for_each(|d| *d *= sense);
        from.dp = from.dp.map(|d| d * sense);
        let mut points: Vec<CurvePoint> = Vec::new();
        let mut why = None;
        let end = follow(field, from, &set, work, |here, next, work| {
            iterations += u64::from(next.iterations);
            if let Err(reason) = sound(next) {
                why = Some(reason);
                return false;
            }
            if here.cubic * next.cubic < 0.0
                && let Some(c) = cusp(field, here, next, weights, work)
            {
                points.push(CurvePoint { cubic: 0.0, ..c });
            }
            if window.outside(next.p) > 0.0 {
                points.extend(edge(field, window, here, next, weights, work));
                why = Some("the edge of the map".to_owned());
                return false;
            }
            points.push(next.clone());
            // A closed curve comes back to where it began.
            let near = (0..2).all(|i| (next.p[i] - p[i]).abs() * weights[i] < 0.003);
            if points.len() > 12 && near {
                why = Some("closed".to_owned());
                return false;
            }
            true
        });
        let words = why.unwrap_or_else(|| {
            match end {
                PathEnd::BudgetSpent => SPENT,
                _ => NO_FURTHER,
            }
            .to_owned()
        });
        sides.push((points, words));
    }
    let (ahead, end) = sides.pop()?;
    let (mut points, beginning) = sides.pop()?;
    points.reverse();
    if window.outside(first.p) <= 0.0 {
        points.push(first);
    }
    points.extend(ahead);
    let cusps = (0..points.len()).filter(|i| points[*i].cubic == 0.0).collect();
    Some(Traced { points, cusps, ends: [beginning, end], iterations })
}

/// The place between two points where the curve leaves the window.
fn edge(
    field: &Field<'_>,
    window: Window,
    here: &CurvePoint,
    next: &CurvePoint,
    weights: [f64; 2],
    work: &mut Work,
) -> Option<CurvePoint> {
    let (a, b) = (window.outside(here.p), window.outside(next.p));
    if a >= 0.0 {
        return None;
    }
    let whole = fold_curve::reach(field, here, next, weights);
    let (mut low, mut high) = ((0.0, a), (whole, b));
    let mut best = None;
    for _ in 0..25 {
        let mid = (low.0 * high.1 - high.0 * low.1) / (high.1 - low.1);
        let point = step(field, here, mid, weights, work)?;
        let value = window.outside(point.p);
        best = Some(point);
        if value.abs() < 1e-10 {
            break;
        }
        if value < 0.0 { low = (mid, value) } else { high = (mid, value) }
    }
    best
}

/// Relative difference in the second coordinate (or the first, where the curve is steep) on a mesh twice as fine.
pub(crate) fn mesh_difference(
    coarse: &Model,
    fine: &Field<'_>,
    p: &CurvePoint,
    widths: [f64; 2],
    work: &mut Work,
) -> Option<f64> {
    let x = coarse.transfer(&p.x, fine.base);
    let ahead: Vec<f64> = p.x.iter().zip(&p.v).map(|(x, d)| x + 1e-4 * d).collect();
    let v: Vec<f64> =
        coarse.transfer(&ahead, fine.base).iter().zip(&x).map(|(y, x)| (y - x) / 1e-4).collect();
    if p.dp[0].abs() / widths[0] >= p.dp[1].abs() / widths[1] {
        let q = start(fine, x, p.p, &v, true, [1.0, 1.0], work)?;
        return Some((q.p[1] - p.p[1]).abs());
    }
    let swapped = |q: [f64; 2]| (fine.build)([q[1], q[0]]);
    let turned = Field { base: fine.base, build: &swapped };
    let q = start(&turned, x, [p.p[1], p.p[0]], &v, true, [1.0, 1.0], work)?;
    Some((q.p[1] - p.p[0]).abs())
}

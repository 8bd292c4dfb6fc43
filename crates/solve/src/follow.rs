//! Equilibrium paths `g(x; t) = 0` by arclength, past limit points.

use crate::band::{Band, Factor};
use crate::bordered::Bordered;
use crate::potential::{Directional, Potential, dot, norm};
use crate::work::Work;

/// One equilibrium on a path.
#[derive(Clone, Debug)]
pub struct PathPoint {
    /// State.
    pub x: Vec<f64>,
    /// Parameter.
    pub t: f64,
    /// Energy.
    pub energy: f64,
    /// Negative eigenvalues of the second derivative.
    pub negative: usize,
    /// Unit tangent in x (metric norm together with `dt`).
    pub dx: Vec<f64>,
    /// Tangent in t.
    pub dt: f64,
}

/// Settings of a path.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// First arclength step; its sign chooses the direction of t at the start.
    pub step: f64,
    /// Longest step.
    pub longest: f64,
    /// Shortest step before giving up.
    pub shortest: f64,
    /// Weight of t in the arclength: `ds² = ‖dx‖² + w² dt²`.
    pub weight: f64,
    /// Newton iterations allowed per point.
    pub corrections: u32,
    /// Points allowed.
    pub points: u32,
    /// Least cosine between successive tangents (guards against jumping to another branch).
    pub cosine: f64,
    /// Angle between successive tangents that steps aim for, rad: the chord then leaves the path by about an eighth
    /// of it times the step. A step that turns more than twice as far is taken again, shorter. Infinite: steps are
    /// chosen by the iterations that Newton needs alone.
    pub turn: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            step: 0.02,
            longest: 0.3,
            shortest: 1e-7,
            weight: 1.0,
            corrections: 6,
            points: 400,
            cosine: 0.7,
            turn: f64::INFINITY,
        }
    }
}

/// Why following ended. Every end is news; none is an error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PathEnd {
    /// The watcher asked.
    Stopped,
    /// The step fell below the shortest.
    StepTooSmall,
    /// Points spent.
    BudgetSpent,
}

/// A point's linear algebra, reused from Newton to tangent.
pub(crate) struct Linear {
    pub(crate) factor: Factor,
    pub(crate) slope: Vec<f64>,
}

/// Second derivative factored and ∂g/∂t at a state; `None` on breakdown.
pub(crate) fn linearise<P: Potential>(
    p: &P,
    x: &[f64],
    t: f64,
    g: &mut [f64],
    work: &mut Work,
) -> Option<(f64, Linear)> {
    let n = p.unknowns();
    let mut h = Band::new(n, p.half_bandwidth());
    let energy = p.assemble(x, t, g, &mut h);
    work.assemblies += 1;
    if !energy.is_finite() {
        return None;
    }
    work.factorisations += 1;
    let factor = h.factor().ok()?;
    let mut slope = vec![0.0; n];
    p.gradient_slope(x, t, &mut slope);
    Some((energy, Linear { factor, slope }))
}

/// Tangent `(dx, dt)` of the path, of unit length, turned so that it has a positive product with the
/// direction `(along, along_t)`.
pub(crate) fn tangent(
    lin: &Linear,
    metric: &[f64],
    weight: f64,
    along: &[f64],
    along_t: f64,
    work: &mut Work,
) -> Option<(Vec<f64>, f64)> {
    let row: Vec<f64> = along.iter().zip(metric).map(|(v, m)| v * m).collect();
    let border = Bordered::new(&lin.factor, &lin.slope, &row, weight * weight * along_t);
    work.solves += 3;
    let mut dx = vec![0.0; row.len()];
    let mut dt = border.solve(&mut dx, 1.0);
    let len = (norm(metric, &dx).powi(2) + (weight * dt).powi(2)).sqrt();
    if !len.is_finite() || len == 0.0 {
        return None;
    }
    dx.iter_mut().for_each(|v| *v /= len);
    dt /= len;
    Some((dx, dt))
}

/// Corrects `(x, t)` onto the path within the hyperplane `rowᵀ(x − x₀) + c (t − t₀) = 0` that passes
/// through the start. Returns energy, linear algebra at the result and the iterations used.
pub(crate) fn correct<P: Potential>(
    p: &P,
    x: &mut [f64],
    t: &mut f64,
    row: &[f64],
    c: f64,
    limit: u32,
    work: &mut Work,
) -> Option<(f64, Linear, u32)> {
    let n = p.unknowns();
    let metric = p.metric();
    let mut g = vec![0.0; n];
    let mut last = f64::INFINITY;
    for k in 1..=limit + 1 {
        let (energy, lin) = linearise(p, x, *t, &mut g, work)?;
        let border = Bordered::new(&lin.factor, &lin.slope, row, c);
        work.solves += 3;
        let mut dx: Vec<f64> = g.iter().map(|v| -v).collect();
        let dt = border.solve(&mut dx, 0.0);
        let size = norm(metric, &dx).max(dt.abs());
        if !size.is_finite() || (k > 2 && size > 0.7 * last && last > 1e-9) {
            return None;
        }
        x.iter_mut().zip(&dx).for_each(|(v, d)| *v += d);
        *t += dt;
        // After a step below this the next would be its square: rounding.
        if size < 1e-8 || (size < 1e-7 && size > 0.3 * last) {
            return Some((energy + 0.5 * dot(&g, &dx), lin, k));
        }
        last = size;
    }
    None
}

/// Builds the first point of a path from an equilibrium, tangent pointing towards growing t if
/// `upwards`. `None` when the linear algebra breaks down.
pub fn start<P: Potential>(
    p: &P,
    x: Vec<f64>,
    t: f64,
    upwards: bool,
    weight: f64,
    work: &mut Work,
) -> Option<PathPoint> {
    let mut g = vec![0.0; x.len()];
    let (energy, lin) = linearise(p, &x, t, &mut g, work)?;
    let along = vec![0.0; x.len()];
    let (dx, dt) = tangent(&lin, p.metric(), weight, &along, if upwards { 1.0 } else { -1.0 }, work)?;
    Some(PathPoint { x, t, energy, negative: lin.factor.negative, dx, dt })
}

/// One step of length `ds` from `from`. `None` when Newton fails or the tangent turns too far.
pub fn step<P: Potential>(
    p: &P,
    from: &PathPoint,
    ds: f64,
    set: &Settings,
    work: &mut Work,
) -> Option<(PathPoint, u32)> {
    let metric = p.metric();
    let mut x: Vec<f64> = from.x.iter().zip(&from.dx).map(|(v, d)| v + ds * d).collect();
    let mut t = from.t + ds * from.dt;
    let row: Vec<f64> = from.dx.iter().zip(metric).map(|(v, m)| v * m).collect();
    let c = set.weight * set.weight * from.dt;
    let (energy, lin, iterations) = correct(p, &mut x, &mut t, &row, c, set.corrections, work)?;
    let (dx, dt) = tangent(&lin, metric, set.weight, &from.dx, from.dt, work)?;
    let cosine = dot(&dx, &row) + c * dt;
    if cosine < set.cosine {
        return None;
    }
    Some((PathPoint { x, t, energy, negative: lin.factor.negative, dx, dt }, iterations))
}

/// Cosine between the tangents of two points of a path.
pub fn cosine<P: Potential>(p: &P, a: &PathPoint, b: &PathPoint, weight: f64) -> f64 {
    let along: f64 = a.dx.iter().zip(&b.dx).zip(p.metric()).map(|((x, y), m)| x * y * m).sum();
    along + weight * weight * a.dt * b.dt
}

/// Length of the step along the tangent of `a` that led to `b`.
pub fn reach<P: Potential>(p: &P, a: &PathPoint, b: &PathPoint, weight: f64) -> f64 {
    let along: f64 =
        a.dx.iter().zip(p.metric()).enumerate().map(|(i, (d, m))| d * m * (b.x[i] - a.x[i])).sum();
    along + weight * weight * a.dt * (b.t - a.t)
}

/// A point of the path where a function of its points changes sign.
#[derive(Clone, Debug)]
pub struct Located {
    /// The point, on the far side of the sign change or on it.
    pub point: PathPoint,
    /// The last points on the two sides.
    pub sides: [PathPoint; 2],
    /// Value of the function at `point`.
    pub value: f64,
}

/// Finds the place between `a` and `b`, consecutive points of a path, where `g` changes sign: regula falsi (Illinois) on
/// the step from `a`. `None` when there is no sign change, or `g` or Newton fail.
pub fn locate<P: Potential>(
    p: &P,
    a: &PathPoint,
    b: &PathPoint,
    set: &Settings,
    within: f64,
    work: &mut Work,
    mut g: impl FnMut(&PathPoint, &mut Work) -> Option<f64>,
) -> Option<Located> {
    let whole = reach(p, a, b, set.weight);
    let (mut low, mut high) = (0.0, whole);
    let (mut g_low, mut g_high) = (g(a, work)?, g(b, work)?);
    if g_low * g_high > 0.0 || !(g_low - g_high).is_finite() {
        return None;
    }
    let mut sides = [a.clone(), b.clone()];
    let (mut best, mut value) = (b.clone(), g_high);
    let mut last = 0;
    for _ in 0..60 {
        if (high - low).abs() <= within * whole.abs() || g_low == g_high {
            break;
        }
        let mid = ((low * g_high - high * g_low) / (g_high - g_low)).clamp(
            low.min(high) + 1e-3 * within * (high - low).abs(),
            high.max(low) - 1e-3 * within * (high - low).abs(),
        );
        // Where g is zero to rounding it may have no value, and neither has Newton's step: the bracket stands.
        let Some((point, _)) = step(p, a, mid, set, work) else { break };
        let Some(v) = g(&point, work) else { break };
        (best, value) = (point.clone(), v);
        if v == 0.0 {
            break;
        }
        if (v > 0.0) == (g_low > 0.0) {
            let moved = (mid - low).abs();
            (low, g_low) = (mid, v);
            sides[0] = point;
            // An end kept twice is weighted down, or it would never move.
            if last == 1 {
                g_high *= 0.5;
            }
            last = 1;
            if moved <= within * whole.abs() && last == 1 && v.abs() < 1e-9 * g_high.abs() {
                break;
            }
        } else {
            let moved = (high - mid).abs();
            (high, g_high) = (mid, v);
            sides[1] = point;
            if last == -1 {
                g_low *= 0.5;
            }
            last = -1;
            if moved <= within * whole.abs() && v.abs() < 1e-9 * g_low.abs() {
                break;
            }
        }
    }
    ((high - low).abs() <= 1e-4 * whole.abs() || value.abs() < 1e-6 * (g_low.abs() + g_high.abs()))
        .then_some(Located { point: best, sides, value })
}

/// Follows the path from `from`, showing every new point to `watch` until it says stop.
pub fn follow<P: Potential>(
    p: &P,
    from: PathPoint,
    set: &Settings,
    work: &mut Work,
    mut watch: impl FnMut(&PathPoint, &PathPoint) -> Watch,
) -> (PathPoint, PathEnd) {
    let mut here = from;
    let mut ds = set.step;
    for _ in 0..set.points {
        loop {
            if let Some((next, iterations)) = step(p, &here, ds, set, work) {
                let angle = libm::acos(cosine(p, &here, &next, set.weight).clamp(-1.0, 1.0));
                if angle > 2.0 * set.turn {
                    ds *= 0.5;
                    if ds < set.shortest {
                        return (here, PathEnd::StepTooSmall);
                    }
                    continue;
                }
                match watch(&here, &next) {
                    Watch::Stop => return (next, PathEnd::Stopped),
                    Watch::Shorter => ds *= 0.5,
                    Watch::Go => {
                        here = next;
                        let by_newton = [3.0, 3.0, 3.0, 2.0, 1.5, 1.0, 0.6][(iterations as usize).min(6)];
                        let by_turn = if angle > 0.0 { set.turn / angle } else { by_newton };
                        ds *= by_turn.clamp(0.4, by_newton.max(0.4));
                        ds = ds.min(set.longest);
                        break;
                    }
                }
            } else {
                ds *= 0.4;
            }
            if ds < set.shortest {
                return (here, PathEnd::StepTooSmall);
            }
        }
    }
    (here, PathEnd::BudgetSpent)
}

/// A watcher's answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Watch {
    /// Accept the point and go on.
    Go,
    /// Do not accept: retry with a shorter step.
    Shorter,
    /// Accept and end.
    Stop,
}

/// Moves an equilibrium from `(x, t)` to the nearby parameter `to`; `None` when Newton fails.
pub fn shift_to<P: Potential>(
    p: &P,
    x: &[f64],
    t: f64,
    to: f64,
    limit: u32,
    work: &mut Work,
) -> Option<(Vec<f64>, f64, usize)> {
    let mut x = x.to_vec();
    let mut g = vec![0.0; x.len()];
    let metric = p.metric();
    // First-order predictor, then Newton at fixed parameter.
    let (_, lin) = linearise(p, &x, t, &mut g, work)?;
    let mut dx: Vec<f64> = g.iter().zip(&lin.slope).map(|(g, s)| -g - s * (to - t)).collect();
    lin.factor.solve(&mut dx);
    work.solves += 1;
    x.iter_mut().zip(&dx).for_each(|(v, d)| *v += d);
    let mut last = f64::INFINITY;
    for k in 0..limit {
        let (energy, lin) = linearise(p, &x, to, &mut g, work)?;
        let mut dx: Vec<f64> = g.iter().map(|v| -v).collect();
        lin.factor.solve(&mut dx);
        work.solves += 1;
        let size = norm(metric, &dx);
        if !size.is_finite() || (k > 1 && size > 0.7 * last && last > 1e-9) {
            return None;
        }
        x.iter_mut().zip(&dx).for_each(|(v, d)| *v += d);
        if size < 1e-8 || (size < 1e-7 && size > 0.3 * last) {
            return Some((x, energy + 0.5 * dot(&g, &dx), lin.factor.negative));
        }
        last = size;
    }
    None
}

/// Directional derivatives with a work count.
pub(crate) fn directional<P: Potential>(
    p: &P,
    x: &[f64],
    t: f64,
    v: &[f64],
    out: &mut Directional,
    work: &mut Work,
) {
    p.directional(x, t, v, out);
    work.directionals += 1;
}

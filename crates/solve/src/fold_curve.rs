//! A curve of limit points in two parameters, followed by arclength, through cusps.
//!
//! Unknowns `(x, p₁, p₂)`; equations `g(x; p) = 0` and `μ(x; p) = 0` with μ the last unknown of the bordered system
//! `[H b; bᵀ 0][v; μ] = [0; 1]` (Griewank & Reddien 1984, as in [`crate::fold`]), and an arclength condition. At a cusp of
//! the curve in the plane of the parameters the cubic `∂³E[v, v, v]` vanishes and both parameters turn; as a curve in
//! `(x, p)` it is smooth there, and the system stays regular.

use crate::band::{Band, Factor};
use crate::bordered::Bordered;
use crate::potential::{dot, norm};
use crate::work::Work;

/// An energy of `x` and two parameters.
pub trait Plane {
    /// Number of unknowns.
    fn unknowns(&self) -> usize;
    /// Sub-diagonals of the second derivative.
    fn half_bandwidth(&self) -> usize;
    /// See [`crate::Potential::metric`].
    fn metric(&self) -> &[f64];
    /// Energy, gradient and tangent; `None` where no such problem exists.
    fn assemble(&self, x: &[f64], p: [f64; 2], gradient: &mut [f64], tangent: &mut Band) -> Option<f64>;
    /// `∂³E[v, v, ·]`.
    fn third(&self, x: &[f64], p: [f64; 2], v: &[f64], out: &mut [f64]) -> Option<()>;
    /// For each parameter `∂g/∂pᵢ` and `vᵀ ∂H/∂pᵢ v`. They steer Newton and the tangent; the points found do not
    /// depend on their error, so differences will do.
    fn slopes(&self, x: &[f64], p: [f64; 2], v: &[f64]) -> Option<Slopes>;
}

/// For each parameter `∂g/∂pᵢ` and `vᵀ ∂H/∂pᵢ v`.
pub type Slopes = [(Vec<f64>, f64); 2];

/// A limit point on the curve.
#[derive(Clone, Debug)]
pub struct CurvePoint {
    /// State.
    pub x: Vec<f64>,
    /// Parameters.
    pub p: [f64; 2],
    /// Null vector, metric norm one.
    pub v: Vec<f64>,
    /// `∂³E[v, v, v]`: changes sign at a cusp.
    pub cubic: f64,
    /// Unit tangent.
    pub dx: Vec<f64>,
    /// Tangent in the parameters.
    pub dp: [f64; 2],
    /// Energy.
    pub energy: f64,
    /// Newton iterations.
    pub iterations: u32,
}

/// Settings.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// First step; its sign chooses the direction of `p₁` at the start.
    pub step: f64,
    /// Longest step.
    pub longest: f64,
    /// Shortest step.
    pub shortest: f64,
    /// Weights of the parameters in the arclength.
    pub weights: [f64; 2],
    /// Angle between tangents that steps aim for.
    pub turn: f64,
    /// Points allowed.
    pub points: u32,
}

struct Frame {
    factor: Factor,
    mu: f64,
    v: Vec<f64>,
    mu_x: Vec<f64>,
    slopes: Slopes,
    cubic: f64,
    energy: f64,
}

fn frame<P: Plane>(
    plane: &P,
    x: &[f64],
    p: [f64; 2],
    guess: &[f64],
    kept: Option<Slopes>,
    g: &mut [f64],
    work: &mut Work,
) -> Option<Frame> {
    let n = plane.unknowns();
    let metric = plane.metric();
    let mut h = Band::new(n, plane.half_bandwidth());
    let energy = plane.assemble(x, p, g, &mut h).filter(|e| e.is_finite())?;
    work.assemblies += 1;
    work.factorisations += 1;
    let factor = h.factor().ok()?;
    let len = norm(metric, guess);
    let b: Vec<f64> = guess.iter().zip(metric).map(|(a, m)| a * m / len).collect();
    let border = Bordered::new(&factor, &b, &b, 0.0);
    let mut v = vec![0.0; n];
    let mu = border.solve(&mut v, 1.0);
    let vn = norm(metric, &v);
    if !vn.is_finite() || vn == 0.0 {
        return None;
    }
    let mut third = vec![0.0; n];
    plane.third(x, p, &v, &mut third)?;
    let slopes = match kept {
        Some(s) => s,
        None => plane.slopes(x, p, &v)?,
    };
    work.directionals += 1;
    let cubic = dot(&v, &third) / vn.powi(3);
    let mu_x: Vec<f64> = third.iter().map(|c| -c).collect();
    Some(Frame { factor, mu, v, mu_x, slopes, cubic, energy })
}

/// Solves `[H s₀ s₁; μ_x μ₀ μ₁; row c₀ c₁](dx, dp) = (f, g₁, g₂)`, H perhaps singular to rounding: the last unknown of x
/// joins the parameters in a 3×3 system with pivoting.
fn solve3(
    fr: &Frame,
    row: &[f64],
    c: [f64; 2],
    f: &mut [f64],
    g: [f64; 2],
    work: &mut Work,
) -> Option<[f64; 2]> {
    let n = f.len();
    let m = n - 1;
    let h = fr.factor.last_row();
    let mut columns = [h.clone(), fr.slopes[0].0.clone(), fr.slopes[1].0.clone()];
    for col in &mut columns {
        fr.factor.solve_leading(m, col);
    }
    fr.factor.solve_leading(m, f);
    work.solves += 4;
    let rows: [&[f64]; 3] = [&h, &fr.mu_x, row];
    let [(s0, m0), (s1, m1)] = &fr.slopes;
    // μ falls with vᵀ ∂H/∂p v.
    let corners = [[h[m], s0[m], s1[m]], [fr.mu_x[m], -m0, -m1], [row[m], c[0], c[1]]];
    let right = [f[m], g[0], g[1]];
    let mut a = [[0.0; 4]; 3];
    for i in 0..3 {
        for j in 0..3 {
            a[i][j] = corners[i][j] - dot(&rows[i][..m], &columns[j][..m]);
        }
        a[i][3] = right[i] - dot(&rows[i][..m], &f[..m]);
        let scale = a[i][..3].iter().fold(0.0_f64, |s, v| s.max(v.abs()));
        if scale > 0.0 {
            a[i].iter_mut().for_each(|v| *v /= scale);
        }
    }
    for k in 0..3 {
        let p = (k..3).max_by(|i, j| a[*i][k].abs().total_cmp(&a[*j][k].abs()))?;
        a.swap(k, p);
        if a[k][k] == 0.0 {
            return None;
        }
        for i in k + 1..3 {
            let l = a[i][k] / a[k][k];
            for j in k..4 {
                a[i][j] -= l * a[k][j];
            }
        }
    }
    let mut y = [0.0; 3];
    for i in (0..3).rev() {
        let known: f64 = (i + 1..3).map(|j| a[i][j] * y[j]).sum();
        y[i] = (a[i][3] - known) / a[i][i];
    }
    for i in 0..m {
        f[i] -= columns[0][i] * y[0] + columns[1][i] * y[1] + columns[2][i] * y[2];
    }
    f[m] = y[0];
    y.iter().all(|v| v.is_finite()).then_some([y[1], y[2]])
}

/// Newton within the hyperplane `rowᵀ(x − x₀) + c·(p − p₀) = 0` through the start.
fn correct<P: Plane>(
    plane: &P,
    mut x: Vec<f64>,
    mut p: [f64; 2],
    guess: &[f64],
    row: &[f64],
    c: [f64; 2],
    weights: [f64; 2],
    work: &mut Work,
) -> Option<(Vec<f64>, [f64; 2], Frame, u32)> {
    let metric = plane.metric();
    let mut g = vec![0.0; x.len()];
    let mut v = guess.to_vec();
    let mut last = f64::INFINITY;
    let mut kept = None;
    for k in 1..=12 {
        let mut found = frame(plane, &x, p, &v, kept.take(), &mut g, work);
        if found.is_none() && last < 1e-6 {
            // On the limit point to the last bit the matrix has no factor; a hair away it has.
            x.iter_mut().zip(&v).for_each(|(a, d)| *a += 1e-10 * d);
            found = frame(plane, &x, p, &v, None, &mut g, work);
        }
        let fr = found?;
        let mut dx: Vec<f64> = g.iter().map(|a| -a).collect();
        let dp = solve3(&fr, row, c, &mut dx, [-fr.mu, 0.0], work)?;
        let size = norm(metric, &dx).max((weights[0] * dp[0]).abs()).max((weights[1] * dp[1]).abs());
        if !size.is_finite() || (k > 3 && size > 0.8 * last && last > 1e-8) {
            return None;
        }
        x.iter_mut().zip(&dx).for_each(|(a, d)| *a += d);
        p = [p[0] + dp[0], p[1] + dp[1]];
        v.clone_from(&fr.v);
        if size < 1e-9 || (size < 1e-7 && size > 0.3 * last) {
            return Some((x, p, fr, k));
        }
        // Close by, the slopes of the step before are good enough.
        kept = (size < 1e-5).then_some(fr.slopes);
        last = size;
    }
    None
}

fn point<P: Plane>(
    plane: &P,
    x: Vec<f64>,
    p: [f64; 2],
    fr: &Frame,
    along: (&[f64], [f64; 2]),
    weights: [f64; 2],
    iterations: u32,
    work: &mut Work,
) -> Option<CurvePoint> {
    let metric = plane.metric();
    let row: Vec<f64> = along.0.iter().zip(metric).map(|(a, m)| a * m).collect();
    let c = [0, 1].map(|i| weights[i] * weights[i] * along.1[i]);
    let mut dx = vec![0.0; x.len()];
    let mut dp = solve3(fr, &row, c, &mut dx, [0.0, 1.0], work)?;
    let len =
        (norm(metric, &dx).powi(2) + (weights[0] * dp[0]).powi(2) + (weights[1] * dp[1]).powi(2)).sqrt();
    if !len.is_finite() || len == 0.0 {
        return None;
    }
    dx.iter_mut().for_each(|v| *v /= len);
    dp = dp.map(|v| v / len);
    let vn = norm(metric, &fr.v);
    let v = fr.v.iter().map(|a| a / vn).collect();
    Some(CurvePoint { x, p, v, cubic: fr.cubic, dx, dp, energy: fr.energy, iterations })
}

/// The first point, from a state near a limit point: `p₁` is kept. The tangent points towards growing `p₁` if
/// `upwards`.
pub fn start<P: Plane>(
    plane: &P,
    x: Vec<f64>,
    p: [f64; 2],
    v: &[f64],
    upwards: bool,
    weights: [f64; 2],
    work: &mut Work,
) -> Option<CurvePoint> {
    let none = vec![0.0; x.len()];
    let (x, p, fr, k) = correct(plane, x, p, v, &none, [1.0, 0.0], weights, work)?;
    point(plane, x, p, &fr, (&none, [if upwards { 1.0 } else { -1.0 }, 0.0]), weights, k, work)
}

/// One step of length `ds`; `None` when Newton fails or the tangent turns by more than a right angle.
pub fn step<P: Plane>(
    plane: &P,
    from: &CurvePoint,
    ds: f64,
    weights: [f64; 2],
    work: &mut Work,
) -> Option<CurvePoint> {
    let metric = plane.metric();
    let x = from.x.iter().zip(&from.dx).map(|(a, d)| a + ds * d).collect();
    let p = [from.p[0] + ds * from.dp[0], from.p[1] + ds * from.dp[1]];
    let row: Vec<f64> = from.dx.iter().zip(metric).map(|(a, m)| a * m).collect();
    let c = [0, 1].map(|i| weights[i] * weights[i] * from.dp[i]);
    let (x, p, fr, k) = correct(plane, x, p, &from.v, &row, c, weights, work)?;
    let mut next = point(plane, x, p, &fr, (&from.dx, from.dp), weights, k, work)?;
    // The null vector keeps its sense, so that the cubic's sign means something.
    if next.v.iter().zip(&from.v).zip(metric).map(|((a, b), m)| a * b * m).sum::<f64>() < 0.0 {
        next.v.iter_mut().for_each(|a| *a = -*a);
        next.cubic = -next.cubic;
    }
    (cosine(plane, from, &next, weights) > 0.0).then_some(next)
}

fn cosine<P: Plane>(plane: &P, a: &CurvePoint, b: &CurvePoint, weights: [f64; 2]) -> f64 {
    let along: f64 = a.dx.iter().zip(&b.dx).zip(plane.metric()).map(|((x, y), m)| x * y * m).sum();
    along + (0..2).map(|i| weights[i] * weights[i] * a.dp[i] * b.dp[i]).sum::<f64>()
}

/// Length of the step along the tangent of `a` that led to `b`.
pub fn reach<P: Plane>(plane: &P, a: &CurvePoint, b: &CurvePoint, weights: [f64; 2]) -> f64 {
    let along: f64 =
        a.dx.iter().zip(plane.metric()).enumerate().map(|(i, (d, m))| d * m * (b.x[i] - a.x[i])).sum();
    along + (0..2).map(|i| weights[i] * weights[i] * a.dp[i] * (b.p[i] - a.p[i])).sum::<f64>()
}

/// Follows the curve, showing every new point to `keep` until it says stop (`false`). Returns why it ended.
pub fn follow<P: Plane>(
    plane: &P,
    from: CurvePoint,
    set: &Settings,
    work: &mut Work,
    mut keep: impl FnMut(&CurvePoint, &CurvePoint, &mut Work) -> bool,
) -> crate::follow::PathEnd {
    use crate::follow::PathEnd;
    let mut here = from;
    let mut ds = set.step.abs();
    for _ in 0..set.points {
        loop {
            let next = step(plane, &here, ds, set.weights, work);
            let angle = next
                .as_ref()
                .map(|n| libm::acos(cosine(plane, &here, n, set.weights).clamp(-1.0, 1.0)))
                .filter(|a| *a <= 2.0 * set.turn);
            if let (Some(next), Some(angle)) = (next, angle) {
                if !keep(&here, &next, work) {
                    return PathEnd::Stopped;
                }
                ds = (ds * (set.turn / angle.max(1e-3 * set.turn)).clamp(0.4, 2.0)).min(set.longest);
                here = next;
                break;
            }
            ds *= 0.4;
            if ds < set.shortest {
                return PathEnd::StepTooSmall;
            }
        }
    }
    PathEnd::BudgetSpent
}

/// The cusp between two consecutive points whose cubics differ in sign.
pub fn cusp<P: Plane>(
    plane: &P,
    a: &CurvePoint,
    b: &CurvePoint,
    weights: [f64; 2],
    work: &mut Work,
) -> Option<CurvePoint> {
    let whole = reach(plane, a, b, weights);
    let (mut low, mut high) = ((0.0, a.cubic), (whole, b.cubic));
    let mut best = None;
    let mut last = 0;
    for _ in 0..40 {
        let mid = (low.0 * high.1 - high.0 * low.1) / (high.1 - low.1);
        let point = step(plane, a, mid, weights, work)?;
        let value = point.cubic;
        best = Some(point);
        if value.abs() < 1e-10 * (a.cubic.abs() + b.cubic.abs())
            || (high.0 - low.0).abs() < 1e-12 * whole.abs()
        {
            break;
        }
        if (value > 0.0) == (low.1 > 0.0) {
            low = (mid, value);
            if last == 1 {
                high.1 *= 0.5;
            }
            last = 1;
        } else {
            high = (mid, value);
            if last == -1 {
                low.1 *= 0.5;
            }
            last = -1;
        }
    }
    best
}

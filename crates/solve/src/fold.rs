//! Limit points of an equilibrium path by an extended system.

use crate::bordered::Bordered;
use crate::follow::{PathPoint, correct, directional, linearise, tangent};
use crate::potential::{Directional, Potential, dot, norm};
use crate::work::Work;

/// A limit point in t.
#[derive(Clone, Debug)]
pub struct Fold {
    /// State.
    pub x: Vec<f64>,
    /// Parameter.
    pub t: f64,
    /// Null vector of the second derivative, metric norm one.
    pub v: Vec<f64>,
    /// `vᵀ ∂g/∂t`: not zero at a fold.
    pub push: f64,
    /// `∂³E[v, v, v]`: not zero at a simple fold; `t − t* ≈ −½ (bend/push) s²` along the path.
    pub bend: f64,
    /// Energy.
    pub energy: f64,
    /// `|vᵀHv|` left over, relative to the first iterate's.
    pub singularity: f64,
    /// Size of the last Newton step.
    pub last_step: f64,
    /// Iterations used.
    pub iterations: u32,
}

/// Why the extended system did not converge.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Failure {
    /// A factorisation broke down or left the domain.
    Breakdown,
    /// Steps did not shrink.
    Diverged {
        /// Last step size.
        step: f64,
    },
}

/// Newton's method on `g = 0, μ = 0`, where μ(x, t) is the last unknown of the bordered system
/// `[H b; bᵀ 0] [v; μ] = [0; 1]`, which vanishes exactly where H is singular (minimally augmented
/// system: Griewank & Reddien 1984, "Characterization and computation of generalized turning points",
/// SIAM J. Numer. Anal. 21, 176). Derivatives of μ are exact: `μ_x = −∂³E[v, v, ·]`,
/// `μ_t = −vᵀ (∂H/∂t) v`.
///
/// `x, t` is a state near the fold, `v` a guess of the null vector.
///
/// # Errors
/// See [`Failure`].
pub fn refine<P: Potential>(
    p: &P,
    mut x: Vec<f64>,
    mut t: f64,
    mut v: Vec<f64>,
    longest: f64,
    work: &mut Work,
) -> Result<Fold, Failure> {
    let n = p.unknowns();
    let metric = p.metric();
    let mut g = vec![0.0; n];
    let mut dir = Directional::new(n);
    let mut first = 0.0;
    let mut last = f64::INFINITY;
    for k in 1..=25 {
        let (energy, lin) = linearise(p, &x, t, &mut g, work).ok_or(Failure::Breakdown)?;
        let len = norm(metric, &v);
        let b: Vec<f64> = v.iter().zip(metric).map(|(a, m)| a * m / len).collect();
        let border = Bordered::new(&lin.factor, &b, &b, 0.0);
        v.fill(0.0);
        let mu = border.solve(&mut v, 1.0);
        let vn = norm(metric, &v);
        if !vn.is_finite() || vn == 0.0 {
            return Err(Failure::Breakdown);
        }
        directional(p, &x, t, &v, &mut dir, work);
        let mu_x: Vec<f64> = dir.third.iter().map(|c| -c).collect();
        let mu_t = -dot(&v, &dir.slope_v);
        let border = Bordered::new(&lin.factor, &dir.slope, &mu_x, mu_t);
        let mut dx: Vec<f64> = g.iter().map(|c| -c).collect();
        let mut dt = border.solve(&mut dx, -mu);
        work.solves += 6;
        let size = norm(metric, &dx).max(dt.abs());
        if !size.is_finite() || (k > 4 && size > 2.0 * last) {
            return Err(Failure::Diverged { step: size });
        }
        if k == 1 {
            first = mu.abs();
        }
        // Far away the quadratic model overshoots; a bounded step keeps to the branch.
        let damp = (longest / size).min(1.0);
        dx.iter_mut().for_each(|c| *c *= damp);
        dt *= damp;
        x.iter_mut().zip(&dx).for_each(|(a, d)| *a += d);
        t += dt;
        if size < 1e-9 || (size < 1e-7 && size > 0.3 * last) {
            let bend = dot(&v, &dir.third) / vn.powi(3);
            let push = dot(&v, &dir.slope) / vn;
            v.iter_mut().for_each(|c| *c /= vn);
            return Ok(Fold {
                x,
                t,
                v,
                push,
                bend,
                energy: energy + 0.5 * dot(&g, &dx),
                singularity: if first > 0.0 { mu.abs() / first } else { 0.0 },
                last_step: size,
                iterations: k,
            });
        }
        last = size;
    }
    Err(Failure::Diverged { step: last })
}

/// The two equilibria beside a fold whose parameter differs from it by about `relative · t`: a bracket
/// proved by their inertia. Tangents point away from the fold. `None` when Newton fails.
pub fn sides<P: Potential>(
    p: &P,
    fold: &Fold,
    relative: f64,
    weight: f64,
    work: &mut Work,
) -> Option<[PathPoint; 2]> {
    let metric = p.metric();
    let reach = (2.0 * (fold.push / fold.bend).abs() * relative * fold.t.abs()).sqrt();
    let row: Vec<f64> = fold.v.iter().zip(metric).map(|(a, m)| a * m).collect();
    let mut side = |sign: f64| {
        let mut x: Vec<f64> = fold.x.iter().zip(&fold.v).map(|(a, d)| a + sign * reach * d).collect();
        let mut t = fold.t - 0.5 * fold.bend / fold.push * reach * reach;
        let (energy, lin, _) = correct(p, &mut x, &mut t, &row, 0.0, 8, work)?;
        let along: Vec<f64> = fold.v.iter().map(|a| sign * a).collect();
        let (dx, dt) = tangent(&lin, metric, weight, &along, 0.0, work)?;
        Some(PathPoint { x, t, energy, negative: lin.factor.negative, dx, dt })
    };
    Some([side(1.0)?, side(-1.0)?])
}

/// Inverse iteration for the softest direction of H at a state: a guess of the null vector.
pub fn softest<P: Potential>(p: &P, x: &[f64], t: f64, work: &mut Work) -> Option<(Vec<f64>, f64)> {
    let metric = p.metric();
    let mut g = vec![0.0; x.len()];
    let (_, lin) = linearise(p, x, t, &mut g, work)?;
    // ∂g/∂t is what drives the state along the path, so it is rich in the direction that softens.
    let mut v = lin.slope.clone();
    let mut value = f64::NAN;
    for _ in 0..6 {
        lin.factor.solve(&mut v);
        work.solves += 1;
        let len = norm(metric, &v);
        if !len.is_finite() || len == 0.0 {
            return None;
        }
        value = 1.0 / len;
        v.iter_mut().zip(metric).for_each(|(a, m)| *a *= m / len);
    }
    // The loop leaves M v; undo the metric.
    v.iter_mut().zip(metric).for_each(|(a, m)| *a /= m);
    Some((v, value))
}

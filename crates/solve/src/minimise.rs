//! Energy minimisation by Newton steps inside a trust region.

use crate::band::{Band, Factor};
use crate::potential::{Potential, dot, norm};
use crate::work::Work;

/// Settings of [`minimise`].
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// Iterations allowed.
    pub iterations: u32,
    /// First trust radius in the metric's norm.
    pub radius: f64,
    /// Stop after the step whose predicted relative energy gain is below this; with quadratic
    /// convergence the state is then exact to about the square root of its square.
    pub gain: f64,
    /// Whether to stop when a step beyond the first would leave a positive definite region.
    pub stay_convex: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Self { iterations: 200, radius: 0.5, gain: 1e-17, stay_convex: false }
    }
}

/// A local minimum.
#[derive(Clone, Debug)]
pub struct Minimum {
    /// State.
    pub x: Vec<f64>,
    /// Energy.
    pub energy: f64,
    /// √(½ pᵀHp / E) of the last Newton step: relative distance in the energy norm before it was taken.
    pub decrement: f64,
    /// Iterations used.
    pub iterations: u32,
}

/// Why no minimum was found; an outcome, not a verdict.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub enum Failure {
    /// The start lies outside the domain.
    InadmissibleStart,
    /// The caller asked to stop.
    GivenUp,
    /// Iterations spent; the best state so far.
    Spent {
        /// Best state.
        best: Vec<f64>,
        /// Its relative decrement.
        decrement: f64,
    },
    /// The trust region shrank to nothing.
    Stalled {
        /// Best state.
        best: Vec<f64>,
        /// Its relative decrement.
        decrement: f64,
    },
}

/// Minimises `E(·; t)` from `x`.
///
/// Each step minimises the quadratic model within `‖p‖ ≤ Δ` by Moré & Sorensen's iteration on the
/// shift σ of `H + σ M` (Moré & Sorensen 1983, "Computing a trust region step", SIAM J. Sci. Stat.
/// Comput. 4, 553), positive definiteness read from the inertia of the factor. The result has a
/// positive definite second derivative.
///
/// # Errors
/// See [`Failure`].
pub fn minimise<P: Potential>(
    p: &P,
    x: Vec<f64>,
    t: f64,
    set: &Settings,
    work: &mut Work,
) -> Result<Minimum, Failure> {
    minimise_while(p, x, t, set, work, |_, _| true)
}

/// The same, given up as soon as `keep`, told every state accepted and its energy, says no.
///
/// # Errors
/// See [`Failure`].
pub fn minimise_while<P: Potential>(
    p: &P,
    x: Vec<f64>,
    t: f64,
    set: &Settings,
    work: &mut Work,
    mut keep: impl FnMut(&[f64], f64) -> bool,
) -> Result<Minimum, Failure> {
    let n = p.unknowns();
    let metric = p.metric();
    let mut x = x;
    let mut h = Band::new(n, p.half_bandwidth());
    let mut g = vec![0.0; n];
    let mut delta = set.radius;
    let mut energy = p.assemble(&x, t, &mut g, &mut h);
    work.assemblies += 1;
    if !energy.is_finite() {
        return Err(Failure::InadmissibleStart);
    }
    let mut decrement = f64::INFINITY;
    let mut last_gain = f64::INFINITY;
    let mut trial = vec![0.0; n];
    let mut sigma = 0.0;
    for k in 1..=set.iterations {
        let Some(step) = trust_step(&h, &g, metric, delta, sigma, work) else {
            return Err(Failure::Stalled { best: x, decrement });
        };
        sigma = step.sigma;
        decrement = (step.gain.max(0.0) / energy.abs().max(f64::MIN_POSITIVE)).sqrt();
        for i in 0..n {
            trial[i] = x[i] + step.p[i];
        }
        let interior = step.sigma == 0.0;
        // Newton's gains fall quadratically until they are rounding; then they stand still.
        let stands = decrement < 1e-5 && step.gain > 0.1 * last_gain;
        last_gain = if interior { step.gain } else { f64::INFINITY };
        if interior && (step.gain <= set.gain * energy.abs() || stands) {
            // Below rounding of the energy: the ratio test would compare noise.
            return Ok(Minimum { x: trial, energy: energy - step.gain, decrement, iterations: k });
        }
        let e = p.energy(&trial, t);
        work.energies += 1;
        let ratio = (energy - e) / step.gain;
        let length = norm(metric, &step.p);
        // Near convergence the difference of two energies is rounding; trust the model there.
        let trusted = step.gain < 1e-11 * energy.abs() && e.is_finite() && interior;
        if ratio > 0.75 && length > 0.8 * delta {
            delta *= 2.5;
        } else if ratio.is_nan() || (ratio < 0.25 && !trusted) {
            delta = 0.3 * length.min(delta);
        }
        if trusted || ratio > 1e-4 {
            std::mem::swap(&mut x, &mut trial);
            if !keep(&x, e) {
                return Err(Failure::GivenUp);
            }
            energy = p.assemble(&x, t, &mut g, &mut h);
            work.assemblies += 1;
        } else if delta < 1e-14 {
            return Err(Failure::Stalled { best: x, decrement });
        }
    }
    Err(Failure::Spent { best: x, decrement })
}

struct Step {
    p: Vec<f64>,
    gain: f64,
    sigma: f64,
}

/// Minimises `gᵀp + ½ pᵀHp` within `‖p‖ ≤ delta`.
fn trust_step(h: &Band, g: &[f64], metric: &[f64], delta: f64, last: f64, work: &mut Work) -> Option<Step> {
    let n = g.len();
    let mut factor_at = |sigma: f64| -> Option<Factor> {
        let mut m = h.clone();
        if sigma > 0.0 {
            m.add_diagonal(sigma, metric);
        }
        work.factorisations += 1;
        m.factor_positive()
    };
    let solve = |f: &Factor| {
        let mut p: Vec<f64> = g.iter().map(|v| -v).collect();
        f.solve(&mut p);
        p
    };
    let done = |p: Vec<f64>, sigma: f64| {
        // Model gain −(gᵀp + ½pᵀHp) with Hp = −g − σMp.
        let gain = -0.5 * dot(g, &p) + 0.5 * sigma * norm(metric, &p).powi(2);
        gain.is_finite().then_some(Step { p, gain, sigma })
    };
    if let Some(f) = factor_at(0.0) {
        let p = solve(&f);
        if norm(metric, &p) <= delta {
            return done(p, 0.0);
        }
    }
    // Bracket of σ: `low` is too small (indefinite or too long), `high` too large.
    let scale = (0..n).map(|i| h.get(i, i).abs() / metric[i]).fold(0.0, f64::max);
    let force = g.iter().zip(metric).map(|(v, m)| v * v / m).sum::<f64>().sqrt();
    let (mut low, mut high) = (0.0, force / delta + scale);
    let mut sigma = if last > 0.0 { last } else { (force / delta).min(1e-3 * scale) };
    let mut best: Option<(Vec<f64>, f64)> = None;
    for _ in 0..40 {
        sigma = sigma.clamp(low, high);
        let Some(f) = factor_at(sigma) else {
            low = sigma;
            let geometric = (low.max(1e-14 * scale) * high).sqrt();
            sigma = geometric.min(10.0 * sigma.max(1e-14 * scale));
            continue;
        };
        let p = solve(&f);
        let length = norm(metric, &p);
        if !length.is_finite() {
            low = sigma;
            sigma = (low.max(1e-14 * scale) * high).sqrt();
            continue;
        }
        if length > delta {
            low = sigma;
        } else {
            high = sigma;
            best = Some((p.clone(), sigma));
            if length > 0.7 * delta {
                break;
            }
        }
        let mut w: Vec<f64> = p.iter().zip(metric).map(|(v, m)| v * m).collect();
        f.solve(&mut w);
        let slope: f64 = p.iter().zip(metric).zip(&w).map(|((v, m), q)| v * m * q).sum();
        sigma += length * length / slope * (length - 0.9 * delta) / (0.9 * delta);
        if sigma <= low || sigma >= high {
            sigma = (low.max(1e-14 * scale) * high).sqrt();
        }
        if high - low <= 1e-3 * high {
            break;
        }
    }
    best.and_then(|(p, sigma)| done(p, sigma))
}

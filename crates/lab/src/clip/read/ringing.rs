//! Ringing after the snap: x = b + A e^{−λ(t − t₁)} cos(ω(t − t₁) + φ).
//!
//! Frequency f = ω/2π, damping ratio ζ = λ/√(λ² + ω²). Fitted from the end of the snap over twelve periods at most; the same from a
//! period later tells what the choice does (large swings do not ring at the frequency of small ones).

use std::f64::consts::PI;

use calotte_chance::{FitSettings, Loss, RobustFit, robust};

use super::{Figure, Row, WINDOW, disagreement, following};

/// What rings.
#[derive(Clone, Debug, PartialEq)]
pub struct Ringing {
    /// f, Hz.
    pub frequency: Figure,
    /// ζ.
    pub damping: Figure,
    /// b and its deviation.
    pub level: [f64; 2],
    /// b, A, λ, ω, φ as fitted.
    pub at: [f64; 5],
    /// t₁: first time of the window, and its last.
    pub window: [f64; 2],
    /// Rows in it.
    pub rows: usize,
    /// Squares of the residuals over their freedom.
    pub misfit: f64,
}

impl Ringing {
    /// The fitted place at a time.
    pub fn place(&self, t: f64) -> f64 {
        shape(&self.at, t - self.window[0])
    }
}

/// Periods fitted at most.
const MOST: f64 = 12.0;

pub(super) fn shape(p: &[f64], u: f64) -> f64 {
    p[0] + p[1] * libm::exp(-p[2] * u) * libm::cos(p[3] * u + p[4])
}

/// Start of a fit: among frequencies and dampings of a list, those whose damped wave leaves the least.
pub(super) fn start(rows: &[Row]) -> Option<[f64; 5]> {
    let (first, last) = (rows.first()?, rows.last()?);
    let span = last.t - first.t;
    let mut gaps: Vec<f64> = rows.windows(2).map(|w| w[1].t - w[0].t).collect();
    gaps.sort_by(f64::total_cmp);
    let gap = *gaps.get(gaps.len() / 2)?;
    if !(span > 0.0 && gap > 0.0) {
        return None;
    }
    // Up to a fifth of the frame rate, in steps of a fifth of a period over the span; then how fast it dies away.
    let count = ((span / gap) as usize).clamp(5, 2000);
    let wave =
        |k: usize, damping: f64| damped(rows, 2.0 * PI * k as f64 / (5.0 * span), damping).map(|w| (w, k));
    let least = |b: Option<(([f64; 5], f64), usize)>, w: (([f64; 5], f64), usize)| match b {
        Some(b) if b.0.1 <= w.0.1 => Some(b),
        _ => Some(w),
    };
    let (_, k) = (5..=count).filter_map(|k| wave(k, 0.05)).fold(None, least)?;
    let around = (k - 1).max(4)..=k + 1;
    let fine = around.flat_map(|k| [0.005, 0.015, 0.05, 0.12, 0.3].map(|d| (k, d)));
    fine.filter_map(|(k, d)| wave(k, d)).fold(None, least).map(|w| w.0.0)
}

/// The damped wave of a frequency that leaves the least squares, and those squares: b + c e cos + s e sin by normal equations.
fn damped(rows: &[Row], omega: f64, damping: f64) -> Option<([f64; 5], f64)> {
    let first = rows.first()?;
    let lambda = damping * omega;
    let (mut a, mut b) = ([[0.0; 3]; 3], [0.0; 3]);
    let mut all = 0.0;
    for r in rows {
        let u = r.t - first.t;
        let (sin, cos) = libm::sincos(omega * u);
        let e = libm::exp(-lambda * u);
        let row = [1.0, e * cos, e * sin];
        let x = r.x - first.x;
        all += x * x;
        for i in 0..3 {
            b[i] += row[i] * x;
            for j in 0..3 {
                a[i][j] += row[i] * row[j];
            }
        }
    }
    let c = solved(a, b)?;
    let left = all - (0..3).map(|i| b[i] * c[i]).sum::<f64>();
    let (size, phase) = (libm::hypot(c[1], c[2]), libm::atan2(-c[2], c[1]));
    Some(([first.x + c[0], size, lambda, omega, phase], left))
}

fn solved(mut a: [[f64; 3]; 3], mut b: [f64; 3]) -> Option<[f64; 3]> {
    for k in 0..3 {
        let pivot = a[k][k];
        if pivot.is_nan() || pivot.abs() <= 1e-12 {
            return None;
        }
        for i in k + 1..3 {
            let f = a[i][k] / pivot;
            for j in k..3 {
                a[i][j] -= f * a[k][j];
            }
            b[i] -= f * b[k];
        }
    }
    for k in (0..3).rev() {
        let rest: f64 = (k + 1..3).map(|j| a[k][j] * b[j]).sum();
        b[k] = (b[k] - rest) / a[k][k];
    }
    Some(b)
}

fn fit(rows: &[Row], from: &[f64; 5]) -> Option<(RobustFit, f64)> {
    let t1 = rows.first()?.t;
    if rows.len() < 9 {
        return None;
    }
    let mut residuals = |p: &[f64], out: &mut Vec<f64>| {
        out.extend(rows.iter().map(|r| (shape(p, r.t - t1) - r.x) / r.e));
        p[3] > 0.0
    };
    let size = from[1].abs().max(1e-300);
    let scales = [0.01 * size, 0.01 * size, 0.01 * from[3], 0.01 * from[3], 0.05];
    let f =
        robust(from, &scales, &mut residuals, Loss::Huber(2.5), Some(1.0), &FitSettings::default()).ok()?;
    let squares = f.residuals.iter().map(|r| r * r).sum::<f64>();
    let misfit = squares / (rows.len() - 5) as f64;
    Some((f, misfit))
}

/// f, ζ and their deviations.
fn figures(f: &RobustFit) -> [[f64; 2]; 2] {
    let (lambda, omega) = (f.at[2], f.at[3]);
    let size = libm::hypot(lambda, omega);
    let cube = size * size * size;
    let slope = [omega * omega / cube, -lambda * omega / cube];
    let c = &f.covariance;
    let variance =
        slope[0] * slope[0] * c[2][2] + 2.0 * slope[0] * slope[1] * c[2][3] + slope[1] * slope[1] * c[3][3];
    let k = following(&f.residuals);
    [[omega / (2.0 * PI), k * c[3][3].sqrt() / (2.0 * PI)], [lambda / size, k * variance.max(0.0).sqrt()]]
}

/// Ringing in the rows after the snap.
///
/// # Errors
/// In words, why it cannot be read.
pub(super) fn ringing(rows: &[Row]) -> Result<Ringing, String> {
    let none = || "after the snap nothing rings that could be told from the errors".to_owned();
    let few = |n: usize| format!("only {n} frames after the snap: let the clip go on for a few swings");
    if rows.len() < 9 {
        return Err(few(rows.len()));
    }
    let from = start(rows).ok_or_else(none)?;
    let period = 2.0 * PI / from[3];
    let end = rows.partition_point(|r| r.t <= rows[0].t + MOST * period);
    let window = &rows[..end];
    if window.len() < 9 {
        return Err(few(window.len()));
    }
    // From a window of so few swings the start may be rough; once more from what was found.
    let (wide, misfit) = fit(window, &from).ok_or_else(none)?;
    let [f, z] = figures(&wide);
    let size = wide.at[1].abs();
    if !(size > 3.0 * wide.deviation(1) && f[1] < 0.2 * f[0])
        || (window[end - 1].t - window[0].t) * f[0] < 1.5
    {
        return Err(none());
    }
    let freedom = (window.len() - 5) as f64;
    let mut frequency = Figure::fitted(f, freedom);
    let mut damping = Figure::fitted(z, freedom);
    let later = window.partition_point(|r| r.t < window[0].t + 1.0 / f[0]);
    let late = &window[later..];
    if let Some(t) = late.first().filter(|_| (window[end - 1].t - window[later.min(end - 1)].t) * f[0] >= 1.5)
    {
        // The same wave, its clock started later.
        let mut p: [f64; 5] = std::array::from_fn(|i| wide.at[i]);
        let u = t.t - window[0].t;
        p[1] *= libm::exp(-p[2] * u);
        p[4] += p[3] * u;
        if let Some((narrow, _)) = fit(late, &p) {
            let [nf, nz] = figures(&narrow);
            frequency = frequency.with(WINDOW, disagreement(f, nf));
            damping = damping.with(WINDOW, disagreement(z, nz));
        }
    }
    Ok(Ringing {
        frequency,
        damping,
        level: [wide.at[0], following(&wide.residuals) * wide.deviation(0)],
        at: std::array::from_fn(|i| wide.at[i]),
        window: [window[0].t, window[end - 1].t],
        rows: window.len(),
        misfit,
    })
}

//! Fits that a few wild readings do not spoil.

use crate::fit::{FitSettings, NoFit, covariance, derivatives, least_squares};
use crate::sample;

/// What a residual costs, in units of the scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Loss {
    /// Square up to this many scales, straight beyond (Huber 1964); 1.345 keeps 95 % of the information of normal readings.
    Huber(f64),
    /// `c² ln(1 + r²/c²)`: wild readings count ever less (Cauchy's density); 2.385 keeps 95 %.
    Cauchy(f64),
}

impl Loss {
    /// ψ(r), half the slope of the loss, and its own slope ψ′(r).
    fn pull(self, r: f64) -> [f64; 2] {
        match self {
            Self::Huber(k) if r.abs() <= k => [r, 1.0],
            Self::Huber(k) => [k * r.signum(), 0.0],
            Self::Cauchy(c) => {
                let q = r * r / (c * c);
                [r / (1.0 + q), (1.0 - q) / ((1.0 + q) * (1.0 + q))]
            }
        }
    }

    /// ψ(r)/r, the weight of a residual's square.
    fn weight(self, r: f64) -> f64 {
        if r == 0.0 { 1.0 } else { self.pull(r)[0] / r }
    }
}

/// A fit by a loss other than squares.
#[derive(Clone, Debug, PartialEq)]
pub struct RobustFit {
    /// The unknowns.
    pub at: Vec<f64>,
    /// Their covariance, from the scatter of the readings themselves.
    pub covariance: Vec<Vec<f64>>,
    /// Residuals there, as given (not weighted).
    pub residuals: Vec<f64>,
    /// Weight of each, 1 for a reading that counts in full.
    pub weights: Vec<f64>,
    /// The standard deviation taken for the bulk of the residuals.
    pub scale: f64,
    /// Times that the weights were set.
    pub rounds: usize,
}

impl RobustFit {
    /// Standard deviation of unknown `i`.
    pub fn deviation(&self, i: usize) -> f64 {
        self.covariance[i][i].sqrt()
    }
}

/// The unknowns of the least loss near `start`, by least squares with weights that are set again until nothing moves.
///
/// With `scale` given, residuals are in units of it throughout; with `None` it is 1.4826 times the median of |residual| (of those
/// beyond as many as there are unknowns, which the fit can make nought), found anew each round. The covariance is Huber's:
/// `K² [Σψ²/(n − p)] / [mean ψ′]² (JᵀJ)⁻¹` with `K = 1 + (p/n) var ψ′/(mean ψ′)²` (Huber 1981, *Robust Statistics*, eq. 6.5).
///
/// # Errors
/// [`NoFit`], also when the weights do not settle in 200 rounds.
pub fn robust(
    start: &[f64],
    scales: &[f64],
    residuals: &mut dyn FnMut(&[f64], &mut Vec<f64>) -> bool,
    loss: Loss,
    scale: Option<f64>,
    settings: &FitSettings,
) -> Result<RobustFit, NoFit> {
    let p = start.len();
    let mut x = start.to_vec();
    let mut out = Vec::new();
    if !residuals(&x, &mut out) || out.iter().any(|r| !r.is_finite()) {
        return Err(NoFit::Start);
    }
    // The first round by plain squares.
    let mut weights = vec![1.0; out.len()];
    for rounds in 1..=200 {
        let mut weighted = |x: &[f64], out: &mut Vec<f64>| {
            let there = residuals(x, out);
            out.iter_mut().zip(&weights).for_each(|(r, w): (&mut f64, &f64)| *r *= w.sqrt());
            there
        };
        let fit = least_squares(&x, scales, &mut weighted, settings)?;
        let moved = (0..p).map(|i| ((fit.at[i] - x[i]) / scales[i]).abs()).fold(0.0, f64::max);
        x = fit.at;
        let mut plain = |x: &[f64]| {
            let mut out = Vec::new();
            (residuals(x, &mut out) && out.iter().all(|r| r.is_finite())).then_some(out)
        };
        let r = plain(&x).ok_or_else(|| NoFit::Unfinished { best: x.clone() })?;
        let scale = scale.unwrap_or_else(|| bulk(&r, p));
        // A fit through every reading leaves nothing to weigh.
        let unit = if scale > 0.0 { scale } else { 1.0 };
        let before = std::mem::replace(&mut weights, r.iter().map(|r| loss.weight(r / unit)).collect());
        let settled = before.iter().zip(&weights).all(|(a, b)| (a - b).abs() < 1e-6);
        if rounds > 1 && (moved <= 1e3 * settings.tolerance || settled) {
            let columns = derivatives(&x, &r, scales, settings.difference, &mut plain)?;
            let mut covariance = covariance(columns, scales)?;
            let n = r.len() as f64;
            let pulls: Vec<[f64; 2]> = r.iter().map(|r| loss.pull(r / unit)).collect();
            let squares: f64 = pulls.iter().map(|v| v[0] * v[0]).sum::<f64>() * unit * unit;
            let mean = pulls.iter().map(|v| v[1]).sum::<f64>() / n;
            let spread = pulls.iter().map(|v| (v[1] - mean) * (v[1] - mean)).sum::<f64>() / n;
            let k = 1.0 + p as f64 / n * spread / (mean * mean);
            let left = (r.len() - p).max(1) as f64;
            let factor = k * k * squares / left / (mean * mean);
            covariance.iter_mut().flatten().for_each(|c| *c *= factor);
            return Ok(RobustFit { at: x, covariance, residuals: r, weights, scale, rounds });
        }
    }
    Err(NoFit::Unfinished { best: x })
}

/// Standard deviation of the bulk of residuals of a fit with `p` unknowns.
fn bulk(r: &[f64], p: usize) -> f64 {
    let sizes = sample::sorted(&r.iter().map(|r| r.abs()).collect::<Vec<_>>());
    1.482_602_218_505_602 * sample::quantile(&sizes[p.min(sizes.len())..], 0.5)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Stream;

    fn line(seed: u64, wild: usize) -> (Vec<f64>, Vec<f64>) {
        let mut s = Stream::of(31, seed);
        let t: Vec<f64> = (0..40).map(f64::from).collect();
        let y = t
            .iter()
            .enumerate()
            .map(|(i, t)| 1.0 + 0.5 * t + 0.2 * s.normal() + if i % 9 < wild { 6.0 } else { 0.0 })
            .collect();
        (t, y)
    }

    /// Wild readings, one in nine, all to one side: slope and its 95 % interval hold, where plain squares are far off.
    #[test]
    fn wild_readings_do_little() {
        for loss in [Loss::Huber(1.345), Loss::Cauchy(2.385)] {
            let (mut hits, mut worst) = (0, 0.0_f64);
            for seed in 0..200 {
                let (t, y) = line(seed, 1);
                let mut miss = |p: &[f64], out: &mut Vec<f64>| {
                    out.extend(t.iter().zip(&y).map(|(t, y)| p[0] + p[1] * t - y));
                    true
                };
                let f =
                    robust(&[0.0, 0.0], &[1.0, 0.1], &mut miss, loss, None, &FitSettings::default()).unwrap();
                hits += u64::from((f.at[1] - 0.5).abs() < 2.0 * f.deviation(1));
                worst = worst.max((f.at[1] - 0.5).abs());
                assert!(f.weights[0] < 0.3 && (0.1..0.6).contains(&f.scale), "{loss:?} {seed} {f:?}");
            }
            assert!((180..=199).contains(&hits) && worst < 0.03, "{loss:?}: {hits} of 200, {worst}");
        }
    }

    /// Closed form: without wild readings and with a wide loss it is plain least squares with its residual scatter.
    #[test]
    fn a_wide_loss_is_squares() {
        let (t, y) = line(3, 0);
        let mut miss = |p: &[f64], out: &mut Vec<f64>| {
            out.extend(t.iter().zip(&y).map(|(t, y)| p[0] + p[1] * t - y));
            true
        };
        let settings = FitSettings::default();
        let plain = least_squares(&[0.0, 0.0], &[1.0, 0.1], &mut miss, &settings).unwrap();
        let wide =
            robust(&[0.0, 0.0], &[1.0, 0.1], &mut miss, Loss::Huber(1e6), Some(1.0), &settings).unwrap();
        for i in 0..2 {
            assert!((wide.at[i] - plain.at[i]).abs() < 1e-9);
            let honest = plain.deviation(i) * plain.scale();
            assert!((wide.deviation(i) / honest - 1.0).abs() < 1e-7);
        }
        let mut none = |_: &[f64], _: &mut Vec<f64>| false;
        assert_eq!(
            robust(&[0.0], &[1.0], &mut none, Loss::Huber(1.0), None, &settings).unwrap_err(),
            NoFit::Start
        );
    }
}

//! Place, speed and acceleration at one moment: a cubic through the rows around it, over as wide a window as a cubic fits.
//!
//! With u = t − t₀ the rows near t₀ are fitted by x = a₀ + a₁ u + a₂ u² + a₃ u³, weighted by their errors. The window grows
//! while the squares of the residuals stay within 2.5 deviations of their expectation ((χ²/f)^⅓ is nearly normal about 1 − 2/9f with
//! variance 2/9f: Wilson and Hilferty 1931, Proc. Nat. Acad. Sci. 17, 684); 0.7 of the last one that fits is taken, so that what a cubic leaves out (it grows as the fourth power of the
//! width) is a quarter of what could just be seen.

use super::Row;

/// A cubic through rows.
#[derive(Clone, Copy, Debug)]
pub(super) struct Local {
    /// Place, speed, acceleration and its rate.
    pub(super) at: [f64; 4],
    /// Their covariance.
    pub(super) covariance: [[f64; 4]; 4],
    /// How far the squares of the residuals lie over what they should be, in deviations.
    pub(super) misfit: f64,
}

impl Local {
    /// Whether a cubic does not fit these rows.
    pub(super) fn misfits(&self) -> bool {
        self.misfit > MISFIT
    }

    /// Standard deviation of the `i`-th derivative.
    pub(super) fn deviation(&self, i: usize) -> f64 {
        self.covariance[i][i].sqrt()
    }
}

/// Deviations of the squares beyond which a cubic does not fit.
const MISFIT: f64 = 2.5;
/// As many windows in a row that do not fit end the search: a few stray rows spoil a narrow window and drown in a wider one, while what
/// a cubic leaves out only grows.
const GIVE_UP: usize = 4;
/// Fewest rows on each side.
pub(super) const NARROWEST: usize = 3;

/// Index of the row nearest to `t`.
pub(super) fn nearest(rows: &[Row], t: f64) -> usize {
    let i = rows.partition_point(|r| r.t < t);
    if i == 0 {
        return 0;
    }
    if i == rows.len() || t - rows[i - 1].t < rows[i].t - t { i - 1 } else { i }
}

/// The cubic about `t` through the rows up to `half` on each side of the nearest; the window is moved inwards at the ends.
pub(super) fn cubic(rows: &[Row], t: f64, half: usize) -> Option<Local> {
    let n = 2 * half + 1;
    if rows.len() < n || half < 2 {
        return None;
    }
    let first = nearest(rows, t).saturating_sub(half).min(rows.len() - n);
    let window = &rows[first..first + n];
    let scale = (window[n - 1].t - t).abs().max((t - window[0].t).abs());
    if scale.is_nan() || scale <= 0.0 {
        return None;
    }
    let mut a = [[0.0; 4]; 4];
    let mut b = [0.0; 4];
    let x0 = window[half].x;
    for r in window {
        let u = (r.t - t) / scale;
        let w = 1.0 / (r.e * r.e);
        let powers = [1.0, u, u * u, u * u * u];
        for i in 0..4 {
            b[i] += w * powers[i] * (r.x - x0);
            for j in 0..4 {
                a[i][j] += w * powers[i] * powers[j];
            }
        }
    }
    let inverse = inverse(a)?;
    let c: [f64; 4] = std::array::from_fn(|i| (0..4).map(|j| inverse[i][j] * b[j]).sum());
    let squares: f64 = window
        .iter()
        .map(|r| {
            let u = (r.t - t) / scale;
            let miss = (c[0] + u * (c[1] + u * (c[2] + u * c[3])) - (r.x - x0)) / r.e;
            miss * miss
        })
        .sum();
    let freedom = (n - 4) as f64;
    // Derivatives: i! aᵢ.
    let unit = [1.0, 1.0 / scale, 2.0 / (scale * scale), 6.0 / (scale * scale * scale)];
    let mut at: [f64; 4] = std::array::from_fn(|i| c[i] * unit[i]);
    at[0] += x0;
    let spread = 2.0 / (9.0 * freedom);
    let misfit = (libm::cbrt(squares / freedom) - 1.0 + spread) / spread.sqrt();
    // Where not even this window fits, its errors are as large as its residuals ask for.
    let factor = if misfit > MISFIT { squares / freedom } else { 1.0 };
    let covariance =
        std::array::from_fn(|i| std::array::from_fn(|j| factor * inverse[i][j] * unit[i] * unit[j]));
    Some(Local { at, covariance, misfit })
}

/// Half the width of the window at `t`.
pub(super) fn suiting(rows: &[Row], t: f64) -> Option<usize> {
    let (mut fits, mut misses) = (None, 0);
    let mut half = NARROWEST;
    while 2 * half < rows.len() && half < 400 && misses < GIVE_UP {
        if cubic(rows, t, half)?.misfit > MISFIT {
            misses += 1;
        } else {
            (fits, misses) = (Some(half), 0);
        }
        half = half + 1 + half / 5;
    }
    // Where even the narrowest window does not fit, it is taken: there is nothing narrower.
    let fits = fits.or((rows.len() > 2 * NARROWEST).then_some(NARROWEST))?;
    Some(((0.7 * fits as f64).round() as usize).max(NARROWEST))
}

/// Inverse of a symmetric positive matrix by Gauss's steps.
fn inverse(mut a: [[f64; 4]; 4]) -> Option<[[f64; 4]; 4]> {
    let mut b: [[f64; 4]; 4] = std::array::from_fn(|i| std::array::from_fn(|j| f64::from(u8::from(i == j))));
    for k in 0..4 {
        let pivot = a[k][k];
        if pivot.is_nan() || pivot <= 0.0 {
            return None;
        }
        for j in 0..4 {
            a[k][j] /= pivot;
            b[k][j] /= pivot;
        }
        for i in (0..4).filter(|i| *i != k) {
            let f = a[i][k];
            for j in 0..4 {
                a[i][j] -= f * a[k][j];
                b[i][j] -= f * b[k][j];
            }
        }
    }
    Some(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: a cubic is found with all its derivatives; the variance of the mean slope of evenly spaced rows is σ²/Σu².
    #[test]
    fn derivatives_of_a_cubic() {
        let rows: Vec<Row> = (0..30)
            .map(|k| {
                let t = 0.1 * f64::from(k);
                Row { t, x: 2.0 - t + 0.5 * t * t + 0.25 * t * t * t, e: 0.01 }
            })
            .collect();
        let l = cubic(&rows, 1.3, 5).unwrap();
        let want = [2.0 - 1.3 + 0.845 + 0.54925, -1.0 + 1.3 + 1.2675, 1.0 + 1.95, 1.5];
        assert!(l.at.iter().zip(want).all(|(a, b)| (a - b).abs() < 1e-8), "{:?}", l.at);
        assert!(suiting(&rows, 1.3).unwrap() > 6);
        assert!(cubic(&rows[..5], 0.1, 3).is_none());
    }
}

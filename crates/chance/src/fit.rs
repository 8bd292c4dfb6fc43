//! Nonlinear least squares with the covariance of what it finds.

/// How a fit is sought.
#[derive(Clone, Copy, Debug)]
pub struct FitSettings {
    /// Most steps.
    pub most_steps: usize,
    /// Done when a step moves every unknown by less than this share of its scale.
    pub tolerance: f64,
    /// Step of the differences that make the derivatives, as a share of the scales; small against what bends the residuals,
    /// large against their noise of rounding.
    pub difference: f64,
}

impl Default for FitSettings {
    fn default() -> Self {
        Self { most_steps: 100, tolerance: 1e-9, difference: 1e-6 }
    }
}

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The unknowns.
    pub at: Vec<f64>,
    /// (JᵀJ)⁻¹: the covariance of the unknowns when residuals are in units of their standard deviation.
    pub covariance: Vec<Vec<f64>>,
    /// The residuals there.
    pub residuals: Vec<f64>,
    /// Their sum of squares.
    pub squares: f64,
    /// Residuals less unknowns.
    pub freedom: usize,
    /// Steps taken.
    pub steps: usize,
}

impl Fit {
    /// Standard deviation of unknown `i` when residuals are in units of theirs.
    pub fn deviation(&self, i: usize) -> f64 {
        self.covariance[i][i].sqrt()
    }

    /// The factor on every standard deviation that the residuals themselves ask for: √(squares/freedom); 1 when nothing is left
    /// over to judge by.
    pub fn scale(&self) -> f64 {
        if self.freedom == 0 { 1.0 } else { (self.squares / self.freedom as f64).sqrt() }
    }
}

/// Why there is no fit.
#[derive(Clone, Debug, PartialEq)]
pub enum NoFit {
    /// Fewer residuals than unknowns.
    TooFew {
        /// Residuals.
        residuals: usize,
        /// Unknowns.
        unknowns: usize,
    },
    /// The residuals of the start could not be computed, or are not finite.
    Start,
    /// The residuals do not tell this unknown from the others.
    Untold {
        /// Which.
        unknown: usize,
    },
    /// The steps ran out.
    Unfinished {
        /// Where they ended.
        best: Vec<f64>,
    },
}

/// Householder QR of the columns `a` (column major, `m` long each), applied to `b` too. Returns R by rows.
fn triangle(a: &mut [Vec<f64>], b: &mut [f64]) -> Vec<Vec<f64>> {
    let (n, m) = (a.len(), b.len());
    for k in 0..n {
        let norm = a[k][k..].iter().map(|x| x * x).sum::<f64>().sqrt();
        if norm == 0.0 {
            continue;
        }
        let alpha = if a[k][k] > 0.0 { -norm } else { norm };
        let mut v = a[k][k..m].to_vec();
        v[0] -= alpha;
        let square: f64 = v.iter().map(|x| x * x).sum();
        let reflect = |column: &mut [f64]| {
            let along = 2.0 * v.iter().zip(column.iter()).map(|(p, q)| p * q).sum::<f64>() / square;
            column.iter_mut().zip(&v).for_each(|(c, v)| *c -= along * v);
        };
        a[k..].iter_mut().for_each(|column| reflect(&mut column[k..m]));
        reflect(&mut b[k..m]);
    }
    (0..n).map(|i| (0..n).map(|j| if j >= i { a[j][i] } else { 0.0 }).collect()).collect()
}

/// x of R x = b for an upper triangle R.
fn back(r: &[Vec<f64>], b: &[f64]) -> Vec<f64> {
    let n = r.len();
    let mut x = vec![0.0; n];
    for i in (0..n).rev() {
        let rest: f64 = (i + 1..n).map(|j| r[i][j] * x[j]).sum();
        x[i] = (b[i] - rest) / r[i][i];
    }
    x
}

/// Derivatives of the residuals by the scaled unknowns, one column each.
pub(crate) fn derivatives(
    x: &[f64],
    r: &[f64],
    scales: &[f64],
    difference: f64,
    evaluate: &mut dyn FnMut(&[f64]) -> Option<Vec<f64>>,
) -> Result<Vec<Vec<f64>>, NoFit> {
    let mut columns = Vec::with_capacity(x.len());
    for j in 0..x.len() {
        let h = difference * scales[j];
        let mut at = |by: f64| {
            let mut y = x.to_vec();
            y[j] += by;
            evaluate(&y)
        };
        let column = match (at(h), at(-h)) {
            (Some(a), Some(b)) => {
                a.iter().zip(&b).map(|(a, b)| (a - b) / (2.0 * difference)).collect::<Vec<f64>>()
            }
            (Some(a), None) => a.iter().zip(r).map(|(a, b)| (a - b) / difference).collect(),
            (None, Some(b)) => r.iter().zip(&b).map(|(a, b)| (a - b) / difference).collect(),
            (None, None) => return Err(NoFit::Untold { unknown: j }),
        };
        columns.push(column);
    }
    Ok(columns)
}

/// (RᵀR)⁻¹ = R⁻¹R⁻ᵀ of an upper triangle for scaled unknowns, back in the unknowns' own units.
fn inverse_square(r: &[Vec<f64>], scales: &[f64]) -> Vec<Vec<f64>> {
    let n = r.len();
    let columns: Vec<Vec<f64>> =
        (0..n).map(|j| back(r, &(0..n).map(|i| f64::from(u8::from(i == j))).collect::<Vec<_>>())).collect();
    let entry = |i: usize, j: usize| {
        (0..n).map(|k| columns[k][i] * columns[k][j]).sum::<f64>() * scales[i] * scales[j]
    };
    (0..n).map(|i| (0..n).map(|j| entry(i, j)).collect()).collect()
}

/// (JᵀJ)⁻¹ in the unknowns' own units, from columns by the scaled unknowns; the unknown that no residual tells is the error.
pub(crate) fn covariance(mut columns: Vec<Vec<f64>>, scales: &[f64]) -> Result<Vec<Vec<f64>>, NoFit> {
    let mut none = vec![0.0; columns.first().map_or(0, Vec::len)];
    let r = triangle(&mut columns, &mut none);
    untold(&r).map_or_else(|| Ok(inverse_square(&r, scales)), |unknown| Err(NoFit::Untold { unknown }))
}

/// The first unknown that the others make up.
fn untold(r: &[Vec<f64>]) -> Option<usize> {
    let largest = (0..r.len()).map(|i| r[i][i].abs()).fold(0.0, f64::max);
    (0..r.len()).find(|i| r[*i][*i].abs() <= 1e-13 * largest.max(f64::MIN_POSITIVE))
}

/// The unknowns with the smallest sum of squared residuals near `start`: Levenberg's and Marquardt's method (Moré 1978, "The
/// Levenberg–Marquardt algorithm: implementation and theory") with central differences and Householder's triangle.
///
/// `residuals` fills the list (always as many) for given unknowns, or returns `false` where there are none; steps into such places
/// are shortened. `scales` are typical sizes of the unknowns, positive.
///
/// # Errors
/// [`NoFit`].
pub fn least_squares(
    start: &[f64],
    scales: &[f64],
    residuals: &mut dyn FnMut(&[f64], &mut Vec<f64>) -> bool,
    settings: &FitSettings,
) -> Result<Fit, NoFit> {
    let n = start.len();
    let mut evaluate = |x: &[f64]| {
        let mut out = Vec::new();
        (residuals(x, &mut out) && out.iter().all(|r| r.is_finite())).then_some(out)
    };
    let sum = |r: &[f64]| r.iter().map(|x| x * x).sum::<f64>();
    let mut x = start.to_vec();
    let mut r = evaluate(&x).ok_or(NoFit::Start)?;
    let m = r.len();
    if m < n {
        return Err(NoFit::TooFew { residuals: m, unknowns: n });
    }
    let mut damping = 1e-3_f64;
    for steps in 1..=settings.most_steps {
        let mut jacobian = derivatives(&x, &r, scales, settings.difference, &mut evaluate)?;
        let mut right: Vec<f64> = r.iter().map(|r| -r).collect();
        let triangle_of = triangle(&mut jacobian, &mut right);
        if let Some(unknown) = untold(&triangle_of) {
            return Err(NoFit::Untold { unknown });
        }
        let square = sum(&r);
        let done = loop {
            // [R; √μ D] p = [Qᵀb; 0], with D the norms of R's columns.
            let mut columns: Vec<Vec<f64>> = (0..n)
                .map(|j| {
                    let mut c: Vec<f64> = (0..n).map(|i| triangle_of[i][j]).collect();
                    let norm = sum(&c).sqrt();
                    c.extend((0..n).map(|i| if i == j { damping.sqrt() * norm } else { 0.0 }));
                    c
                })
                .collect();
            let mut b: Vec<f64> = right[..n].to_vec();
            b.resize(2 * n, 0.0);
            let step = back(&triangle(&mut columns, &mut b), &b);
            let small = step.iter().all(|p| p.abs() <= settings.tolerance);
            let y: Vec<f64> = (0..n).map(|i| x[i] + step[i] * scales[i]).collect();
            let tried = evaluate(&y);
            if let Some(found) = tried.filter(|f| sum(f) <= square) {
                let gain = square - sum(&found);
                (x, r) = (y, found);
                damping = (damping * 0.2).max(1e-15);
                break small
                    || gain <= 1e-15 * square && step.iter().all(|p| p.abs() <= settings.tolerance.sqrt());
            }
            if small || damping > 1e12 {
                // No step is left that gains: this is the bottom, to rounding.
                break true;
            }
            damping *= 5.0;
        };
        if done {
            let covariance = inverse_square(&triangle_of, scales);
            let squares = sum(&r);
            return Ok(Fit { at: x, covariance, residuals: r, squares, freedom: m - n, steps });
        }
    }
    Err(NoFit::Unfinished { best: x })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: a straight line through five readings of deviation 0.5; slope and intercept with their covariance.
    #[test]
    fn a_line_has_its_textbook_errors() {
        let (t, y) = ([0.0, 1.0, 2.0, 3.0, 4.0], [1.1, 2.9, 5.2, 7.1, 8.8]);
        let mut line = |p: &[f64], out: &mut Vec<f64>| {
            out.extend(t.iter().zip(y).map(|(t, y)| (p[0] + p[1] * t - y) / 0.5));
            true
        };
        let f = least_squares(&[0.0, 0.0], &[1.0, 1.0], &mut line, &FitSettings::default()).unwrap();
        // Normal equations: Σt = 10, Σt² = 30, n = 5, determinant 50.
        assert!((f.at[1] - 1.96).abs() < 1e-9 && (f.at[0] - 1.10).abs() < 1e-9, "{:?}", f.at);
        assert!((f.covariance[1][1] - 0.25 * 5.0 / 50.0).abs() < 1e-8);
        assert!((f.covariance[0][0] - 0.25 * 30.0 / 50.0).abs() < 1e-8);
        assert!((f.covariance[0][1] + 0.25 * 10.0 / 50.0).abs() < 1e-8);
        assert_eq!(f.freedom, 3);
    }

    /// Closed form: the valley of Rosenbrock 1960 has its bottom at (1, 1).
    #[test]
    fn a_bent_valley() {
        let mut valley = |p: &[f64], out: &mut Vec<f64>| {
            out.extend([10.0 * (p[1] - p[0] * p[0]), 1.0 - p[0]]);
            true
        };
        let f = least_squares(&[-1.2, 1.0], &[1.0, 1.0], &mut valley, &FitSettings::default()).unwrap();
        assert!((f.at[0] - 1.0).abs() < 1e-8 && (f.at[1] - 1.0).abs() < 1e-8, "{f:?}");
        // Pinned work.
        assert!(f.steps <= 30, "{}", f.steps);
    }

    #[test]
    fn failures_say_why() {
        let mut same = |p: &[f64], out: &mut Vec<f64>| {
            out.extend([p[0] + p[1], 2.0 * (p[0] + p[1]), 1.0]);
            true
        };
        let none = least_squares(&[0.1, 0.2], &[1.0; 2], &mut same, &FitSettings::default());
        assert_eq!(none.unwrap_err(), NoFit::Untold { unknown: 1 });
        let few = least_squares(&[0.0; 4], &[1.0; 4], &mut same, &FitSettings::default());
        assert_eq!(few.unwrap_err(), NoFit::TooFew { residuals: 3, unknowns: 4 });
        let mut never = |_: &[f64], _: &mut Vec<f64>| false;
        assert_eq!(
            least_squares(&[0.0], &[1.0], &mut never, &FitSettings::default()).unwrap_err(),
            NoFit::Start
        );
    }
}

//! The smallest eigenpair of `K x = μ M x`, with a count that proves it is the smallest.

use crate::band::{Band, Factor};
use crate::potential::dot;
use crate::work::Work;

/// Smallest eigenvalue outside the rigid motions.
#[derive(Clone, Debug)]
pub struct Smallest {
    /// Eigenvalue.
    pub value: f64,
    /// Eigenvector, M-normalised.
    pub vector: Vec<f64>,
    /// Number of negative eigenvalues, rigid motions left out.
    pub negative: usize,
    /// `‖Kx − μMx‖ / (‖Kx‖ + ‖μMx‖)`, Euclidean.
    pub residual: f64,
    /// Whether an inertia count just below `value` found nothing smaller.
    pub certified: bool,
}

/// Finds the algebraically smallest eigenvalue of the pencil outside `rigid` (vectors with `K v = 0`).
///
/// `pins` are as many unknowns as there are rigid vectors, chosen so that fixing them leaves no rigid
/// combination; `K` with these rows taken out has the inertia of `K` on the complement. The count of
/// negative eigenvalues is exact (Sylvester). Inverse iteration for a rough value, then again shifted just
/// below it, where the factor's count certifies that nothing smaller exists.
/// `None` when a factorisation breaks down (a pivot vanishes).
pub fn smallest(
    k: &Band,
    m: &Band,
    rigid: &[Vec<f64>],
    pins: &[usize],
    start: Option<&[f64]>,
    work: &mut Work,
) -> Option<Smallest> {
    let n = k.size();
    let pinned = pin(k, pins);
    work.factorisations += 1;
    let factor = pinned.factor().ok()?;
    let negative = factor.negative;
    let mut x: Vec<f64> = match start {
        Some(v) => v.to_vec(),
        None => (0..n).map(|i| 1.0 + ((i * 7919) % 101) as f64 / 101.0).collect(),
    };
    let mut it = Iteration::new(m, orthonormal(rigid, m));
    // A rough value: from the pinned factor, or, when something is negative, from a bracket by counts.
    let mut shift = if negative == 0 {
        let rough = it.run(&mut x, 0.0, 3e-3, work, |y| {
            for &j in pins {
                y[j] = 0.0;
            }
            factor.solve(y);
        });
        rough - 0.02 * rough.abs()
    } else {
        below_spectrum(k, m, work)?
    };
    // Shifted just below the rough value, the count certifies that nothing smaller exists and a few
    // iterations converge. When something smaller does exist, the shift goes further down.
    for _ in 0..60 {
        let f = shifted(k, m, shift, work)?;
        let expected = if shift > 0.0 { rigid.len() } else { 0 };
        if f.negative > expected {
            shift -= 0.3 * shift.abs();
            continue;
        }
        let value = it.run(&mut x, shift, 1e-12, work, |y| f.solve(y));
        if value < shift {
            return None;
        }
        let residual = it.residual(k, &x, value);
        return Some(Smallest { value, vector: x, negative, residual, certified: f.negative == expected });
    }
    None
}

/// `K − σ M`, factored.
fn shifted(k: &Band, m: &Band, sigma: f64, work: &mut Work) -> Option<Factor> {
    let mut s = k.clone();
    s.add_scaled(-sigma, m);
    work.factorisations += 1;
    s.factor().ok()
}

/// A shift below the whole spectrum but near its lower end: doubling downwards, then bisection by counts.
fn below_spectrum(k: &Band, m: &Band, work: &mut Work) -> Option<f64> {
    let scale = k.largest_diagonal() / m.largest_diagonal().max(f64::MIN_POSITIVE);
    let (mut low, mut high) = (-1e-9 * scale, 0.0);
    while shifted(k, m, low, work)?.negative > 0 {
        high = low;
        low *= 4.0;
        if !low.is_finite() {
            return None;
        }
    }
    while high - low > 0.05 * low.abs() {
        let mid = 0.5 * (low + high);
        if shifted(k, m, mid, work)?.negative == 0 { low = mid } else { high = mid }
    }
    Some(low)
}

/// `K` with the rows and columns in `pins` taken out.
pub fn pin(k: &Band, pins: &[usize]) -> Band {
    let mut pinned = k.clone();
    for &j in pins {
        let d = k.get(j, j).abs().max(f64::MIN_POSITIVE);
        pinned.pin(j, d);
    }
    pinned
}

/// M-orthonormal basis of the span of `vectors` (modified Gram–Schmidt, twice).
fn orthonormal(vectors: &[Vec<f64>], m: &Band) -> Vec<Vec<f64>> {
    let mut basis: Vec<Vec<f64>> = Vec::new();
    let mut mv = vec![0.0; m.size()];
    for v in vectors {
        let mut v = v.clone();
        for _ in 0..2 {
            for b in &basis {
                m.multiply(&v, &mut mv);
                let c = dot(b, &mv);
                v.iter_mut().zip(b).for_each(|(x, y)| *x -= c * y);
            }
        }
        m.multiply(&v, &mut mv);
        let len = dot(&v, &mv).sqrt();
        v.iter_mut().for_each(|x| *x /= len);
        basis.push(v);
    }
    basis
}

struct Iteration<'a> {
    m: &'a Band,
    /// M-orthonormal rigid motions with their products M b.
    rigid: Vec<(Vec<f64>, Vec<f64>)>,
    /// M x of the normalised, projected iterate.
    mx: Vec<f64>,
}

impl<'a> Iteration<'a> {
    fn new(m: &'a Band, rigid: Vec<Vec<f64>>) -> Self {
        let with_product = |b: Vec<f64>| {
            let mut mb = vec![0.0; m.size()];
            m.multiply(&b, &mut mb);
            (b, mb)
        };
        Self { m, rigid: rigid.into_iter().map(with_product).collect(), mx: vec![0.0; m.size()] }
    }

    /// Projects the rigid motions out of `y`, normalises it, and keeps M y. Returns `yᵀMy` before
    /// normalising, rigid part left out.
    fn accept(&mut self, y: &mut [f64]) -> f64 {
        self.m.multiply(y, &mut self.mx);
        for (b, mb) in &self.rigid {
            let c = dot(b, &self.mx);
            y.iter_mut().zip(b).for_each(|(v, w)| *v -= c * w);
            self.mx.iter_mut().zip(mb).for_each(|(v, w)| *v -= c * w);
        }
        let square = dot(y, &self.mx);
        let inverse = 1.0 / square.sqrt();
        y.iter_mut().for_each(|v| *v *= inverse);
        self.mx.iter_mut().for_each(|v| *v *= inverse);
        square
    }

    /// Inverse iteration with a factor of `K − σM` until the Rayleigh quotient settles. As
    /// `(K − σM) y = M x`, the quotient is `σ + yᵀMx / yᵀMy` without another product; in the pinned problem
    /// (σ = 0) the same holds because K does not see the rigid part of y.
    fn run(
        &mut self,
        x: &mut [f64],
        sigma: f64,
        within: f64,
        work: &mut Work,
        solve: impl Fn(&mut [f64]),
    ) -> f64 {
        self.accept(x);
        let mut old = vec![0.0; x.len()];
        let mut value = f64::NAN;
        for _ in 0..200 {
            old.copy_from_slice(&self.mx);
            x.copy_from_slice(&self.mx);
            solve(x);
            work.solves += 1;
            let product = dot(x, &old);
            let next = sigma + product / self.accept(x);
            let settled = (next - value).abs() <= within * next.abs();
            value = next;
            if settled {
                break;
            }
        }
        value
    }

    fn residual(&mut self, k: &Band, x: &[f64], value: f64) -> f64 {
        let mut kx = vec![0.0; x.len()];
        k.multiply(x, &mut kx);
        let (mut r, mut a, mut b) = (0.0, 0.0, 0.0);
        for (kx, mx) in kx.iter().zip(&self.mx) {
            r += (kx - value * mx).powi(2);
            a += kx * kx;
            b += (value * mx).powi(2);
        }
        r.sqrt() / (a.sqrt() + b.sqrt())
    }
}

//! Complex symmetric (not Hermitian) banded systems: `A = L D Lᵀ` without pivoting.
//!
//! They arise from one pair of eigenvalues of an implicit Runge–Kutta method. Real and imaginary parts lie in arrays
//! of their own, column by column as in [`Band`], so that the inner loops vectorise.

use crate::band::{Band, ZeroPivot};

/// A factored complex symmetric band `re + i im`.
#[derive(Clone, Debug)]
pub struct ComplexFactor {
    size: usize,
    half: usize,
    re: Vec<f64>,
    im: Vec<f64>,
    // Reciprocal pivots.
    inverse: Vec<[f64; 2]>,
}

impl ComplexFactor {
    /// Factors `re + i im`; both of one shape. Cost: four times that of a real band.
    ///
    /// # Errors
    /// [`ZeroPivot`] (its magnitude) when a pivot is not finite or below 1e-16 of the diagonal it came from.
    pub fn new(re: &Band, im: &Band) -> Result<Self, ZeroPivot> {
        debug_assert!(re.size() == im.size() && re.half() == im.half());
        let (size, half) = (re.size(), re.half());
        let mut own = Self {
            size,
            half,
            re: re.data().to_vec(),
            im: im.data().to_vec(),
            inverse: vec![[0.0; 2]; size],
        };
        // The width the calling crates use is compiled with a constant trip count.
        if half == 11 {
            own.eliminate::<11>()?
        } else {
            own.eliminate::<0>()?
        }
        Ok(own)
    }

    fn eliminate<const W: usize>(&mut self) -> Result<(), ZeroPivot> {
        let half = if W > 0 { W } else { self.half };
        let step = half + 1;
        let (mut cr, mut ci) = (vec![0.0; step], vec![0.0; step]);
        let scale: Vec<f64> =
            (0..self.size).map(|j| self.re[j * step].abs().max(self.im[j * step].abs())).collect();
        for j in 0..self.size {
            let (head_r, tail_r) = self.re.split_at_mut((j + 1) * step);
            let (head_i, tail_i) = self.im.split_at_mut((j + 1) * step);
            let (own_r, own_i) = (&mut head_r[j * step..], &mut head_i[j * step..]);
            cr.copy_from_slice(own_r);
            ci.copy_from_slice(own_i);
            let m = cr[0] * cr[0] + ci[0] * ci[0];
            let size = m.sqrt();
            if !(size.is_finite() && size > 1e-16 * scale[j]) {
                return Err(ZeroPivot { row: j, pivot: size });
            }
            let inv = [cr[0] / m, -ci[0] / m];
            self.inverse[j] = inv;
            for k in 1..=half {
                let (lr, li) = (cr[k] * inv[0] - ci[k] * inv[1], cr[k] * inv[1] + ci[k] * inv[0]);
                (own_r[k], own_i[k]) = (lr, li);
                let at = (k - 1) * step;
                let n = step - k;
                let (tr, ti) = (&mut tail_r[at..at + n], &mut tail_i[at..at + n]);
                let (xr, xi) = (&cr[k..step], &ci[k..step]);
                for i in 0..n {
                    tr[i] -= lr * xr[i] - li * xi[i];
                    ti[i] -= lr * xi[i] + li * xr[i];
                }
            }
        }
        Ok(())
    }

    /// Solves in place for the vector `re + i im`.
    pub fn solve(&self, re: &mut [f64], im: &mut [f64]) {
        let step = self.half + 1;
        for j in 0..self.size {
            let (xr, xi) = (re[j], im[j]);
            let reach = self.half.min(self.size - 1 - j);
            let (lr, li) = (&self.re[j * step + 1..][..reach], &self.im[j * step + 1..][..reach]);
            let (tr, ti) = (&mut re[j + 1..][..reach], &mut im[j + 1..][..reach]);
            for k in 0..reach {
                tr[k] -= lr[k] * xr - li[k] * xi;
                ti[k] -= lr[k] * xi + li[k] * xr;
            }
        }
        for j in (0..self.size).rev() {
            let [a, b] = self.inverse[j];
            let (mut sr, mut si) = (re[j] * a - im[j] * b, re[j] * b + im[j] * a);
            let reach = self.half.min(self.size - 1 - j);
            let (lr, li) = (&self.re[j * step + 1..][..reach], &self.im[j * step + 1..][..reach]);
            let (tr, ti) = (&re[j + 1..][..reach], &im[j + 1..][..reach]);
            for k in 0..reach {
                sr -= lr[k] * tr[k] - li[k] * ti[k];
                si -= lr[k] * ti[k] + li[k] * tr[k];
            }
            (re[j], im[j]) = (sr, si);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::ComplexFactor;
    use crate::Band;

    /// Closed form: what was multiplied out comes back, for the compiled width and another one.
    #[test]
    fn a_known_vector_comes_back() {
        for half in [3, 11] {
            let n = 40;
            let (mut a, mut b) = (Band::new(n, half), Band::new(n, half));
            for j in 0..n {
                for i in j..(j + half + 1).min(n) {
                    let v = libm::sin((7 * i + 3 * j) as f64);
                    a.add(i, j, if i == j { 2.0 + v } else { v });
                    b.add(i, j, if i == j { 9.0 } else { libm::cos((5 * i + j) as f64) });
                }
            }
            let x: Vec<f64> = (0..n).map(|i| 1.0 + i as f64).collect();
            let y: Vec<f64> = (0..n).map(|i| libm::cos(i as f64)).collect();
            let times = |m: &Band, v: &[f64]| {
                let mut out = vec![0.0; n];
                m.multiply(v, &mut out);
                out
            };
            let (ax, by, ay, bx) = (times(&a, &x), times(&b, &y), times(&a, &y), times(&b, &x));
            let mut re: Vec<f64> = ax.iter().zip(&by).map(|(p, q)| p - q).collect();
            let mut im: Vec<f64> = ay.iter().zip(&bx).map(|(p, q)| p + q).collect();
            ComplexFactor::new(&a, &b).unwrap().solve(&mut re, &mut im);
            for i in 0..n {
                assert!((re[i] - x[i]).abs() < 1e-11 * x[i] && (im[i] - y[i]).abs() < 1e-10);
            }
        }
    }
}

//! Bordered systems `[H a; bᵀ c]` with H symmetric, banded and perhaps singular.

use crate::band::Factor;
use crate::potential::dot;

/// A factored H prepared for one border.
///
/// H may be singular to rounding as long as its leading block without the last row is not: the last
/// row of H and the border form a 2×2 block that is solved with pivoting. (In a chain of elements the
/// null vector of a limit point does not vanish at the last unknown, so the small pivot is the last.)
pub struct Bordered<'a> {
    factor: &'a Factor,
    last_column: Vec<f64>, // H11⁻¹ h
    border: Vec<f64>,      // H11⁻¹ a1
    h: Vec<f64>,
    b: &'a [f64],
    block: [[f64; 2]; 2],
}

impl<'a> Bordered<'a> {
    /// Prepares the border `a` (column), `b` (row), `c` (corner).
    pub fn new(factor: &'a Factor, a: &[f64], b: &'a [f64], c: f64) -> Self {
        let n = factor.size();
        let m = n - 1;
        let h = factor.last_row();
        let eta = h[m];
        let mut last_column = h.clone();
        factor.solve_leading(m, &mut last_column);
        let mut border = a.to_vec();
        factor.solve_leading(m, &mut border);
        let block = [
            [eta - dot(&h[..m], &last_column[..m]), a[m] - dot(&h[..m], &border[..m])],
            [b[m] - dot(&b[..m], &last_column[..m]), c - dot(&b[..m], &border[..m])],
        ];
        Self { factor, last_column, border, h, b, block }
    }

    /// Solves `H x + a y = f`, `bᵀ x + c y = g`; `f` becomes `x`, and `y` is returned.
    pub fn solve(&self, f: &mut [f64], g: f64) -> f64 {
        let m = self.factor.size() - 1;
        self.factor.solve_leading(m, f);
        let r = [f[m] - dot(&self.h[..m], &f[..m]), g - dot(&self.b[..m], &f[..m])];
        let k = &self.block;
        // Cramer on a 2×2 block is backward stable enough once the rows are of one size.
        let scale = [k[0][0].abs().max(k[0][1].abs()), k[1][0].abs().max(k[1][1].abs())];
        let (p, q) = if k[0][0].abs() * scale[1] >= k[1][0].abs() * scale[0] { (0, 1) } else { (1, 0) };
        let l = k[q][0] / k[p][0];
        let y = (r[q] - l * r[p]) / (k[q][1] - l * k[p][1]);
        let xn = (r[p] - k[p][1] * y) / k[p][0];
        for i in 0..m {
            f[i] -= self.last_column[i] * xn + self.border[i] * y;
        }
        f[m] = xn;
        y
    }
}

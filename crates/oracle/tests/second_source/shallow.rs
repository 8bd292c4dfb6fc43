//! The free shallow cap: the equations of `deep` for small slopes. With x = s/a, slopes in a/R,
//! strains in (a/R)², curvatures in 1/R and t = λ⁴ = 12(1−ν²) a⁴/(Rh)²:
//! `(x e)′ = ε + x² (1 − (1+q)²)/2` with `ε = p − ν e`, `(x p)′ = e + ν ε`, `(x q)′ = m − ν q`,
//! `(x m)′ = (1−ν²) q + ν m + t/(1−ν²) x² p (1+q)`.

use crate::chebyshev::{Grid, Problem, Solution};

pub(crate) struct ShallowCap {
    pub(crate) nu: f64,
    /// Share of the moduli lost in a hold as the mirror image: curvatures −2 times the loss bear no moment.
    pub(crate) loss: f64,
}

impl Problem for ShallowCap {
    fn unknowns(&self) -> usize {
        4
    }

    fn slope(&self, x: f64, y: &[f64], t: f64, out: &mut [f64]) {
        let (nu, [e, p, q, m]) = (self.nu, [y[0], y[1], y[2], y[3]]);
        let beta = 1.0 - nu * nu;
        let strain = p - nu * e;
        out[0] = (strain - e) / x + 0.5 * x * (1.0 - (1.0 + q) * (1.0 + q));
        out[1] = (e + nu * strain - p) / x;
        let left = 2.0 * self.loss;
        out[2] = (m - nu * q - q - (1.0 + nu) * left) / x;
        out[3] = (beta * (q + left) + nu * m - m) / x + t / beta * x * p * (1.0 + q);
    }

    fn conditions(&self, pole: &[f64], rim: &[f64], _: f64, out: &mut [f64]) {
        out[0] = pole[1] - (1.0 + self.nu) * pole[0];
        out[1] = pole[3] - (1.0 + self.nu) * (pole[2] + 2.0 * self.loss);
        out[2] = rim[1];
        out[3] = rim[3];
    }
}

impl ShallowCap {
    /// λ at the fold of the inverted branch.
    pub(crate) fn threshold(&self, grid: &Grid) -> f64 {
        let mirror = [0.0, 0.0, -2.0, -2.0 * (1.0 + self.nu) * (1.0 - self.loss)];
        let y = mirror.iter().copied().cycle().take(4 * grid.s.len()).collect();
        let start = grid.solve(self, Solution { y, p: 4096.0 });
        let rim = start.y.len() - 2;
        let fold = grid.fold(self, start, rim, 0.1);
        fold.p.sqrt().sqrt()
    }
}

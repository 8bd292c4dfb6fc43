//! Free caps whose wall wants another curvature, k in both directions, and another size: the equations of `shallow` and of
//! `deep` with what the wall wants taken off the strains. The parameter is k in 1/R, positive as the bowl's own curvature.
//! A fifth unknown is the height reached over the pole, over that of the natural rim.

use crate::chebyshev::{Grid, Problem, Solution};
use crate::deep::DeepCap;
use crate::shallow::ShallowCap;

const UNKNOWNS: usize = 5;

/// A cap that heat can trip.
pub(crate) trait Heated: Problem {
    /// Strain wanted over the curvature wanted, R.
    fn growth(&self) -> f64;
}

/// Shallow, of one λ.
pub(crate) struct ShallowDisc {
    pub(crate) nu: f64,
    pub(crate) lambda: f64,
}

impl ShallowDisc {
    /// Curvatures that bear no moment are −2 times a share there.
    fn cap(&self, k: f64) -> ShallowCap {
        ShallowCap { nu: self.nu, loss: -0.5 * k }
    }
}

impl Problem for ShallowDisc {
    fn unknowns(&self) -> usize {
        UNKNOWNS
    }

    fn slope(&self, x: f64, y: &[f64], k: f64, out: &mut [f64]) {
        self.cap(k).slope(x, y, self.lambda.powi(4), out);
        out[4] = 2.0 * x * (1.0 + y[2]);
    }

    fn conditions(&self, pole: &[f64], rim: &[f64], k: f64, out: &mut [f64]) {
        self.cap(k).conditions(pole, rim, k, out);
        out[4] = pole[4];
    }
}

impl Heated for ShallowDisc {
    /// Alike strains do nothing to a shallow cap.
    fn growth(&self) -> f64 {
        0.0
    }
}

/// Of any depth.
pub(crate) struct DeepDisc {
    pub(crate) nu: f64,
    /// Half-angle, rad.
    pub(crate) alpha: f64,
    /// h/R.
    pub(crate) thickness: f64,
    /// Strain wanted over the curvature wanted, R.
    pub(crate) growth: f64,
}

impl Problem for DeepDisc {
    fn unknowns(&self) -> usize {
        UNKNOWNS
    }

    fn slope(&self, s: f64, y: &[f64], k: f64, out: &mut [f64]) {
        let wants = self.growth * k;
        DeepCap { nu: self.nu }.slope_wanting(s, y, self.thickness, [wants, k], out);
        let (sin, cos) = libm::sincos(s * (1.0 + y[2]));
        let along = 1.0 + wants + y[1] * cos - self.nu * (y[0] - wants);
        out[4] = along * sin / (1.0 - libm::cos(self.alpha));
    }

    fn conditions(&self, pole: &[f64], rim: &[f64], k: f64, out: &mut [f64]) {
        out[0] = pole[1] - (1.0 + self.nu) * (pole[0] - self.growth * k);
        out[1] = pole[3] - (1.0 + self.nu) * (pole[2] - k);
        out[2] = rim[1];
        out[3] = rim[3];
        out[4] = pole[4];
    }
}

impl Heated for DeepDisc {
    fn growth(&self) -> f64 {
        self.growth
    }
}

/// A trip or a reset: the curvature wanted, and the heights just before the jump and after it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Jump {
    pub(crate) k: f64,
    pub(crate) before: f64,
    pub(crate) after: f64,
}

fn height(at: &Solution) -> f64 {
    at.y[at.y.len() - 1]
}

/// A cap of one curvature everywhere, its elastic strains guessed as nothing.
fn uniform(disc: &dyn Heated, grid: &Grid, q: f64, k: f64) -> Solution {
    let reach = grid.s[grid.s.len() - 1];
    let y = grid.s.iter().flat_map(|s| {
        let risen = (1.0 + q) * (s / reach) * (s / reach);
        [disc.growth() * k, 0.0, q, 0.0, risen]
    });
    Solution { y: y.collect(), p: k }
}

/// The state at `k` on the branch that starts without stress as the natural cap (`from` = 0) or its mirror image (−2).
fn branch(disc: &dyn Heated, grid: &Grid, from: f64, k: f64) -> Solution {
    let mut now = uniform(disc, grid, from, from);
    let steps = ((k - from).abs() / 0.05).ceil();
    for i in 1..=steps as usize {
        now = grid.solve(disc, Solution { p: from + (k - from) * i as f64 / steps, ..now });
    }
    now
}

/// Trip and reset of a cap as k falls from zero and rises again: the folds of the branch by its height.
pub(crate) fn jumps(disc: &dyn Heated, grid: &Grid) -> [Jump; 2] {
    let last = UNKNOWNS * grid.s.len() - 1;
    [(0.0, -2.0, -0.02), (-2.0, 0.0, 0.02)].map(|(leaves, lands, step): (f64, f64, f64)| {
        let k = leaves + 0.1 * step.signum();
        let fold = grid.fold(disc, branch(disc, grid, leaves, k), last, step);
        let after = height(&branch(disc, grid, lands, fold.p));
        Jump { k: fold.p, before: height(&fold), after }
    })
}

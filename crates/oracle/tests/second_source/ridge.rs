//! The ridge of a mirror dimple. Across a ridge the slope goes from −α to +α; bending resists it
//! along the meridian, hoop stretching everywhere. Lengths in ℓ = (D R²/Eh)^¼, slopes in α:
//! minimise `J = ∫ f′² + g²` over `g′ = (1 − f²)/2`, so that `f″ = μ f`, `μ′ = g`; f and g are odd.

use crate::chebyshev::{Grid, Problem, Solution};
use std::f64::consts::PI;

/// Unknowns f, f′, μ, g on half the ridge.
struct Ridge;

impl Problem for Ridge {
    fn unknowns(&self) -> usize {
        4
    }

    fn slope(&self, _: f64, y: &[f64], _: f64, out: &mut [f64]) {
        out.copy_from_slice(&[y[1], y[2] * y[0], y[3], 0.5 * (1.0 - y[0] * y[0])]);
    }

    fn conditions(&self, first: &[f64], last: &[f64], _: f64, out: &mut [f64]) {
        out.copy_from_slice(&[first[0], first[3], last[0] - 1.0, last[3]]);
    }
}

/// Energy of a dimple of depth w over `(1−ν²)^{−3/4} E h^{5/2} w^{3/2}/R`, ridge radius √(wR).
pub(crate) fn energy_coefficient(nodes: usize, reach: f64) -> f64 {
    let grid = Grid::new(0.0, reach, nodes);
    let guess = |t: f64| {
        let f = libm::tanh(0.8 * t);
        let slope = 0.8 * (1.0 - f * f);
        [f, slope, -1.28 * slope, 0.0]
    };
    let y = grid.s.iter().flat_map(|&t| guess(t)).collect();
    let found = grid.solve(&Ridge, Solution { y, p: 1.0 });
    let node = |k: usize| &found.y[4 * k..4 * k + 4];
    assert!(node(grid.s.len() / 2)[0] > 0.5, "the ridge turns the slope up");
    let half = grid.integrate((0..grid.s.len()).map(|k| node(k)[1].powi(2) + node(k)[3].powi(2)));
    2.0 * half * PI / libm::pow(12.0, 0.75)
}

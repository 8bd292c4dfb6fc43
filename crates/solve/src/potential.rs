//! What a problem must offer to be minimised, followed and folded.

use crate::band::Band;

/// A smooth energy `E(x; t)` of unknowns `x` and one parameter `t`, with banded second derivative.
///
/// Units are the problem's own; the solvers want energies and unknowns of order one or smaller.
pub trait Potential {
    /// Number of unknowns.
    fn unknowns(&self) -> usize;

    /// Sub-diagonals of the second derivative.
    fn half_bandwidth(&self) -> usize;

    /// Energy; `f64::INFINITY` outside the domain of admissible states.
    fn energy(&self, x: &[f64], t: f64) -> f64;

    /// Energy, gradient and second derivative at once. `tangent` is cleared first.
    fn assemble(&self, x: &[f64], t: f64, gradient: &mut [f64], tangent: &mut Band) -> f64;

    /// ∂g/∂t.
    fn gradient_slope(&self, x: &[f64], t: f64, out: &mut [f64]);

    /// Exact derivatives along `v` and in `t`; see [`Directional`].
    fn directional(&self, x: &[f64], t: f64, v: &[f64], out: &mut Directional);

    /// Positive weights of a norm in which steps are limited: `‖p‖² = Σ mᵢ pᵢ²`.
    fn metric(&self) -> &[f64];
}

/// Directional derivatives of the gradient `g(x; t)`.
#[derive(Clone, Debug, Default)]
pub struct Directional {
    /// ∂g/∂t.
    pub slope: Vec<f64>,
    /// (∂H/∂t) v.
    pub slope_v: Vec<f64>,
    /// d²/dε² g(x + ε v) = ∂³E[v, v, ·].
    pub third: Vec<f64>,
}

impl Directional {
    /// Room for `n` unknowns, zeroed.
    pub fn new(n: usize) -> Self {
        Self { slope: vec![0.0; n], slope_v: vec![0.0; n], third: vec![0.0; n] }
    }
}

/// `a · b`.
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// `√Σ mᵢ pᵢ²`.
pub fn norm(metric: &[f64], p: &[f64]) -> f64 {
    metric.iter().zip(p).map(|(m, x)| m * x * x).sum::<f64>().sqrt()
}

//! Push on the pole: the energy less the work of an axial force on the inner end.

use calotte_solve::{Band, Directional, Potential};

use crate::model::Model;

/// A model at one thickness factor `t` under a dead axial force on its inner end (pole, or the whole hole
/// edge), positive towards the rim plane of the natural bowl (+z). The path parameter is `f`, the force over
/// `unit · t · E R²`.
pub struct Pushed<'a> {
    model: &'a Model,
    t: f64,
    unit: f64,
    at: usize,
}

impl<'a> Pushed<'a> {
    /// A force scale `unit` of the order of the force expected keeps the parameter of order one.
    pub fn new(model: &'a Model, t: f64, unit: f64) -> Self {
        Self { model, t, unit, at: model.inner_height() }
    }
}

impl Potential for Pushed<'_> {
    fn unknowns(&self) -> usize {
        self.model.unknowns()
    }
    fn half_bandwidth(&self) -> usize {
        self.model.half_bandwidth()
    }
    fn metric(&self) -> &[f64] {
        self.model.metric()
    }
    fn energy(&self, x: &[f64], f: f64) -> f64 {
        self.model.energy(x, self.t) - f * self.unit * x[self.at]
    }
    fn assemble(&self, x: &[f64], f: f64, gradient: &mut [f64], tangent: &mut Band) -> f64 {
        let e = self.model.assemble(x, self.t, gradient, tangent);
        gradient[self.at] -= f * self.unit;
        e - f * self.unit * x[self.at]
    }
    fn gradient_slope(&self, _: &[f64], _: f64, out: &mut [f64]) {
        out.fill(0.0);
        out[self.at] = -self.unit;
    }
    fn directional(&self, x: &[f64], f: f64, v: &[f64], out: &mut Directional) {
        self.model.directional(x, self.t, v, out);
        out.slope_v.fill(0.0);
        self.gradient_slope(x, f, &mut out.slope);
    }
}

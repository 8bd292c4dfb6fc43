//! Two numbers of a case as the plane in which a curve of limit points runs.

use calotte_shell::{Loaded, Model, Push};
use calotte_solve::fold_curve::{Plane, Slopes};
use calotte_solve::potential::dot;
use calotte_solve::{Band, Directional, Potential};

/// One problem at a place of the plane.
pub(crate) struct Problem {
    pub(crate) model: Model,
    /// Load with its size at parameter 1, over `E R²`.
    pub(crate) load: Option<(Push, f64)>,
    /// Size of the load.
    pub(crate) f: f64,
}

impl Problem {
    fn assemble(&self, x: &[f64], g: &mut [f64], h: &mut Band) -> f64 {
        match &self.load {
            None => self.model.assemble(x, 1.0, g, h),
            Some((push, unit)) => {
                Loaded::new(&self.model, 1.0, *unit, push.clone()).assemble(x, self.f, g, h)
            }
        }
    }

    fn third(&self, x: &[f64], v: &[f64], out: &mut [f64]) {
        let mut dir = Directional::new(x.len());
        match &self.load {
            None => self.model.directional(x, 1.0, v, &mut dir),
            Some((push, unit)) => {
                Loaded::new(&self.model, 1.0, *unit, push.clone()).directional(x, self.f, v, &mut dir);
            }
        }
        out.copy_from_slice(&dir.third);
    }
}

/// The plane: a way to build the problem at a place.
pub(crate) struct Field<'a> {
    pub(crate) base: &'a Model,
    pub(crate) build: &'a dyn Fn([f64; 2]) -> Option<Problem>,
}

/// Step of the differences for slopes; parameters are of order one.
const STEP: f64 = 2e-6;

impl Plane for Field<'_> {
    fn unknowns(&self) -> usize {
        self.base.unknowns()
    }
    fn half_bandwidth(&self) -> usize {
        self.base.half_bandwidth()
    }
    fn metric(&self) -> &[f64] {
        self.base.metric()
    }
    fn assemble(&self, x: &[f64], p: [f64; 2], gradient: &mut [f64], tangent: &mut Band) -> Option<f64> {
        Some((self.build)(p)?.assemble(x, gradient, tangent))
    }
    fn third(&self, x: &[f64], p: [f64; 2], v: &[f64], out: &mut [f64]) -> Option<()> {
        (self.build)(p)?.third(x, v, out);
        Some(())
    }
    fn slopes(&self, x: &[f64], p: [f64; 2], v: &[f64]) -> Option<Slopes> {
        let n = x.len();
        let at = |q: [f64; 2]| -> Option<(Vec<f64>, f64)> {
            let (mut g, mut h, mut hv) = (vec![0.0; n], Band::new(n, self.half_bandwidth()), vec![0.0; n]);
            (self.build)(q)?.assemble(x, &mut g, &mut h);
            h.multiply(v, &mut hv);
            Some((g, dot(v, &hv)))
        };
        let slope = |i: usize| -> Option<(Vec<f64>, f64)> {
            let moved = |e: f64| {
                let mut q = p;
                q[i] += e;
                at(q)
            };
            // At the end of what is possible only one side exists.
            let (a, b, width) = match (moved(STEP), moved(-STEP)) {
                (Some(a), Some(b)) => (a, b, 2.0 * STEP),
                (Some(a), None) => (a, at(p)?, STEP),
                (None, Some(b)) => (at(p)?, b, STEP),
                (None, None) => return None,
            };
            Some((a.0.iter().zip(&b.0).map(|(a, b)| (a - b) / width).collect(), (a.1 - b.1) / width))
        };
        Some([slope(0)?, slope(1)?])
    }
}

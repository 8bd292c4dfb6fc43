//! A part pressed flat between two plates, and shapes given from outside.

use calotte_solve::{Band, Directional, Potential};

use crate::model::Model;

/// A model whose wall is held in the plane of its rim by a stiff bed on both faces.
#[derive(Clone, Debug)]
pub struct Flattened<'a> {
    model: &'a Model,
    /// Pressure per distance from the plane, in E/R.
    stiffness: f64,
}

impl<'a> Flattened<'a> {
    /// A bed as stiff as half the wall at thickness factor `t` squeezed through: rigid plates give way no less, and a stiffer bed
    /// would make an edge layer thinner than a shell can tell.
    pub fn new(model: &'a Model, t: f64) -> Self {
        let last = model.nodes()[model.nodes().len() - 1];
        let h = model.part.wall.thickness(last * model.radius) / model.radius * t;
        Self { model, stiffness: 2.0 / h }
    }

    /// The flat disc to start from: natural arclengths laid out along the radius.
    pub fn start(&self) -> Vec<f64> {
        let m = self.model;
        let inner = m.part.meridian.at(m.nodes[0] * m.radius).r / m.radius;
        let full: Vec<f64> = m
            .nodes
            .iter()
            .zip(&m.scale)
            .flat_map(|(s, ell)| [inner + s - m.nodes[0], *ell, 0.0, 0.0, 0.0, 0.0])
            .collect();
        m.unknowns_of(&full)
    }

    fn each(&self, x: &[f64], mut f: impl FnMut(usize, f64)) {
        let q = self.model.nodal(x);
        for g in 0..self.model.points.len() {
            f(g, self.model.place(&q, g)[2]);
        }
    }

    /// Gradient of the bed's energy along the heights `z`.
    fn pull(&self, heights: &[f64], t: f64) -> Vec<f64> {
        let q = self.model.nodal_direction(heights);
        let mut full = vec![0.0; q.len()];
        for (g, p) in self.model.points.iter().enumerate() {
            let z = self.model.place(&q, g)[2];
            self.model.spread(g, &[0.0, 0.0, self.stiffness * p.area / t * z, 0.0], &mut full);
        }
        self.model.force_of(full)
    }
}

impl Potential for Flattened<'_> {
    fn unknowns(&self) -> usize {
        self.model.unknowns()
    }

    fn half_bandwidth(&self) -> usize {
        self.model.half_bandwidth()
    }

    fn energy(&self, x: &[f64], t: f64) -> f64 {
        let mut bed = 0.0;
        self.each(x, |g, z| bed += 0.5 * self.stiffness * self.model.points[g].area / t * z * z);
        self.model.energy(x, t) + bed
    }

    fn assemble(&self, x: &[f64], t: f64, gradient: &mut [f64], tangent: &mut Band) -> f64 {
        let own = self.model.assemble(x, t, gradient, tangent);
        let q = self.model.nodal(x);
        own + self.model.add_terms(&q, gradient, tangent, |p, y| {
            let c = self.stiffness * p.area / t;
            let mut h = [[0.0; 4]; 4];
            h[2][2] = c;
            Some((0.5 * c * y[2] * y[2], [0.0, 0.0, c * y[2], 0.0], h))
        })
    }

    fn gradient_slope(&self, x: &[f64], t: f64, out: &mut [f64]) {
        self.model.gradient_slope(x, t, out);
        out.iter_mut().zip(self.pull(x, t)).for_each(|(o, p)| *o -= p / t);
    }

    fn directional(&self, x: &[f64], t: f64, v: &[f64], out: &mut Directional) {
        self.model.directional(x, t, v, out);
        out.slope.iter_mut().zip(self.pull(x, t)).for_each(|(o, p)| *o -= p / t);
        out.slope_v.iter_mut().zip(self.pull(v, t)).for_each(|(o, p)| *o -= p / t);
    }

    fn metric(&self) -> &[f64] {
        self.model.metric()
    }
}

/// The state in which the wall lies along a given curve: natural arclengths are stretched alike onto it. `curve` gives,
/// at a share 0 to 1 of its length, radius, height (both over R), cosine and sine of its slope, curvature (times R);
/// `length` is its length over R.
pub fn laid_along(model: &Model, length: f64, curve: impl Fn(f64) -> [f64; 5]) -> Vec<f64> {
    let (first, last) = (model.nodes[0], model.nodes[model.nodes.len() - 1]);
    let stretch = length / (last - first);
    let mut full = Vec::new();
    let top = curve(1.0)[1];
    for (s, ell) in model.nodes.iter().zip(&model.scale) {
        let [r, z, cos, sin, k] = curve((s - first) / (last - first));
        let (d, dd) = (ell * stretch, ell * ell * stretch * stretch * k);
        full.extend([r, d * cos, -dd * sin, z - top, d * sin, dd * cos]);
    }
    model.unknowns_of(&full)
}

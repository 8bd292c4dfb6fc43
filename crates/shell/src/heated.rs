//! A model over temperature: the parameter is the temperature of a wall of layers, at one thickness.
//!
//! Dead forces may act all the time, and the inner end may meet a pin with a spring behind it. Inside, the parameter f stands for the
//! temperature `origin + unit · f` (K), so that paths and folds see numbers of order one.

use calotte_solve::{Band, Directional, Jet, Potential};

use crate::energy::add_force;
use crate::kernel::forces;
use crate::layered::Layered;
use crate::model::{DOF, GAUSS, Model};

/// A pin that the inner end meets on its way, with a spring behind it.
///
/// Its push grows from nothing over the depth `soft` and is linear beyond: `k δ` for δ > soft, `k (δ + soft)²/4 soft` within it, so that
/// the push has a slope everywhere.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PinAt {
    /// Height of the inner end at which it touches, over R.
    pub height: f64,
    /// Stiffness over E R t.
    pub stiffness: f64,
    /// Half-width of its onset over R.
    pub soft: f64,
}

impl PinAt {
    /// Push (downwards on the part), its slope and its energy at depth δ.
    fn push(&self, depth: f64) -> [f64; 3] {
        let (k, e) = (self.stiffness, self.soft);
        if depth > e {
            [k * depth, k, k * (0.5 * depth * depth + e * e / 6.0)]
        } else if depth > -e {
            let d = depth + e;
            [0.25 * k * d * d / e, 0.5 * k * d / e, k * d.powi(3) / (12.0 * e)]
        } else {
            [0.0; 3]
        }
    }

    /// Second derivative of the push.
    fn bend(&self, depth: f64) -> f64 {
        if depth.abs() <= self.soft { 0.5 * self.stiffness / self.soft } else { 0.0 }
    }
}

/// See the head of the file.
#[derive(Clone, Debug)]
pub struct Heated {
    model: Model,
    t: f64,
    origin: f64,
    unit: f64,
    /// Force on the inner end along +z, over E R² t.
    dead: f64,
    pin: Option<PinAt>,
}

impl Heated {
    /// The model, whose wall must have layers, at thickness factor `t`; temperatures are `origin + unit f`, K.
    pub fn new(model: Model, t: f64, origin: f64, unit: f64) -> Self {
        Self { model, t, origin, unit, dead: 0.0, pin: None }
    }

    /// With a dead force on the inner end along +z, over `E R² t`.
    pub fn with_force(mut self, force: f64) -> Self {
        self.dead = force;
        self
    }

    /// With a pin.
    pub fn with_pin(mut self, pin: Option<PinAt>) -> Self {
        self.pin = pin;
        self
    }

    /// Temperature at parameter `f`, K.
    pub fn temperature(&self, f: f64) -> f64 {
        self.origin + self.unit * f
    }

    /// Parameter at temperature `t`, K.
    pub fn parameter(&self, t: f64) -> f64 {
        (t - self.origin) / self.unit
    }

    /// Kelvins per parameter.
    pub fn unit(&self) -> f64 {
        self.unit
    }

    /// The model at the temperature of the part.
    pub fn model(&self) -> &Model {
        &self.model
    }

    /// Thickness factor.
    pub fn thickness_factor(&self) -> f64 {
        self.t
    }

    /// The model at parameter `f`.
    pub fn warmed(&self, f: f64) -> Model {
        self.model.warmed(self.temperature(f))
    }

    /// Push on the pin over `E R² t`.
    pub fn pin_force(&self, x: &[f64]) -> f64 {
        self.pin.map_or(0.0, |p| p.push(self.height(x) - p.height)[0])
    }

    /// Depth to which the pin is pushed back, over R; 0 out of contact.
    pub fn pin_depth(&self, x: &[f64]) -> f64 {
        self.pin.map_or(0.0, |p| (self.height(x) - p.height).max(0.0))
    }

    fn height(&self, x: &[f64]) -> f64 {
        x[self.model.inner_height()]
    }

    /// ∂Π/∂T per kelvin over `E R³ t`: what heat does to the potential at a fixed state.
    pub fn energy_slope(&self, x: &[f64], f: f64) -> f64 {
        let q = self.model.nodal(x);
        let m = self.warmed(f);
        let Some(l) = &m.layered else { return 0.0 };
        let points = m.points.iter().enumerate();
        points
            .map(|(g, p)| {
                let (nat, law) = l.slope_in_temperature(p, self.t);
                forces(&m.local(&q, g), &nat, &law).0
            })
            .sum()
    }

    /// Adds what the forces on the inner end do to gradient and tangent; returns their potential.
    fn add_device(&self, x: &[f64], gradient: &mut [f64], tangent: Option<&mut Band>) -> f64 {
        let top = self.model.inner_height();
        let mut energy = -self.dead * x[top];
        gradient[top] -= self.dead;
        if let Some(p) = self.pin {
            let [push, slope, stored] = p.push(x[top] - p.height);
            energy += stored;
            gradient[top] += push;
            if let Some(h) = tangent {
                h.add(top, top, slope);
            }
        }
        energy
    }
}

impl Model {
    /// The same model at another temperature, K; unchanged without layers.
    pub fn warmed(&self, temperature: f64) -> Model {
        let mut out = self.clone();
        out.layered = Layered::at(&self.part, self.radius, temperature);
        out
    }
}

impl Potential for Heated {
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
        let mut unused = vec![0.0; x.len()];
        self.warmed(f).energy(x, self.t) + self.add_device(x, &mut unused, None)
    }

    fn assemble(&self, x: &[f64], f: f64, gradient: &mut [f64], tangent: &mut Band) -> f64 {
        let energy = self.warmed(f).assemble(x, self.t, gradient, tangent);
        if !energy.is_finite() {
            return energy;
        }
        energy + self.add_device(x, gradient, Some(tangent))
    }

    fn gradient_slope(&self, x: &[f64], f: f64, out: &mut [f64]) {
        let q = self.model.nodal(x);
        let m = self.warmed(f);
        let mut full = vec![0.0; q.len()];
        if let Some(l) = &m.layered {
            for (g, p) in m.points.iter().enumerate() {
                let (nat, law) = l.slope_in_temperature(p, self.t);
                let force = forces(&m.local(&q, g), &nat, &law).1;
                add_force(&mut full[DOF * (g / GAUSS)..], &p.n, &force);
            }
        }
        out.copy_from_slice(&m.force_of(full));
        out.iter_mut().for_each(|v| *v *= self.unit);
    }

    fn directional(&self, x: &[f64], f: f64, v: &[f64], out: &mut Directional) {
        let m = self.warmed(f);
        m.directional(x, self.t, v, out);
        let (q, dq) = (m.nodal(x), m.nodal_direction(v));
        let (mut slope, mut slope_v) = (vec![0.0; q.len()], vec![0.0; q.len()]);
        if let Some(l) = &m.layered {
            for (g, p) in m.points.iter().enumerate() {
                let (y, dy) = (m.local(&q, g), m.local(&dq, g));
                let jets: [Jet; 5] = std::array::from_fn(|i| Jet { v: y[i], d1: dy[i], d2: 0.0 });
                let (nat, law) = l.slope_in_temperature(p, self.t);
                let force = forces(&jets, &nat, &law).1;
                let base = DOF * (g / GAUSS);
                add_force(&mut slope[base..], &p.n, &force.map(|j| self.unit * j.v));
                add_force(&mut slope_v[base..], &p.n, &force.map(|j| self.unit * j.d1));
            }
        }
        out.slope.copy_from_slice(&m.force_of(slope));
        out.slope_v.copy_from_slice(&m.force_of(slope_v));
        if let Some(p) = self.pin {
            let top = m.inner_height();
            out.third[top] += p.bend(x[top] - p.height) * v[top] * v[top];
        }
    }
}

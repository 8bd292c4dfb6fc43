//! A model under a load: the energy less the load's work, or with a rigid body pressed into it.

use calotte_solve::follow::PathPoint;
use calotte_solve::potential::dot;
use calotte_solve::{Band, Directional, Jet, Potential};

use crate::body::Body;
use crate::harmonic::NODE;
use crate::model::{DOF, GAUSS, Model};

/// How a load acts.
#[derive(Clone, Debug)]
pub enum Push {
    /// Dead forces: the load works on `Σ wᵢ xᵢ` of the unknowns.
    Along(Vec<f64>),
    /// A uniform pressure that follows the wall: it works on `sign · V`, with `V = π∫r² z′ ds` the volume between
    /// meridian and axis. The rim must keep its height and there must be no hole.
    Volume {
        /// −1 for a pressure on the convex face of the natural bowl.
        sign: f64,
    },
    /// A rigid body; the path parameter is the height of its tip along the push.
    Body(Body),
}

/// A model at one thickness factor under a load.
///
/// For forces and pressure the path parameter f is the load over `unit · E R² t` (pressure: `unit · E t`); for a body
/// it is the height of the body's tip over R, and the load is the derivative of the energy in it.
#[derive(Clone, Debug)]
pub struct Loaded<'a> {
    model: &'a Model,
    t: f64,
    unit: f64,
    push: Push,
    /// Forces that act all the time, over E R² t.
    dead: Option<Vec<f64>>,
}

impl<'a> Loaded<'a> {
    /// See [`Loaded`].
    pub fn new(model: &'a Model, t: f64, unit: f64, push: Push) -> Self {
        Self { model, t, unit, push, dead: None }
    }

    /// A dead axial force on the inner end (pole, or the whole hole edge), positive along +z.
    pub fn on_inner_end(model: &'a Model, t: f64, unit: f64) -> Self {
        let mut along = vec![0.0; model.unknowns()];
        along[model.inner_height()] = 1.0;
        Self::new(model, t, unit, Push::Along(along))
    }

    /// Adds dead forces on the unknowns that act all the time, over `E R² t`.
    pub fn with_dead(mut self, forces: Vec<f64>) -> Self {
        self.dead = Some(forces);
        self
    }

    /// The model.
    pub fn model(&self) -> &'a Model {
        self.model
    }

    /// Thickness factor.
    pub fn thickness_factor(&self) -> f64 {
        self.t
    }

    /// Load per parameter, over `E R² t` (pressure: `E t`); 1 for a body.
    pub fn unit(&self) -> f64 {
        self.unit
    }

    /// How the load acts.
    pub fn push(&self) -> &Push {
        &self.push
    }

    /// What the load works on, over R (volume: R³); for a body the height of its tip.
    pub fn displacement(&self, x: &[f64], f: f64) -> f64 {
        match &self.push {
            Push::Along(w) => dot(w, x),
            Push::Volume { sign } => sign * self.volume(&self.model.nodal(x)),
            Push::Body(_) => f,
        }
    }

    /// The load over `E R² t` (pressure: `E t`).
    pub fn load(&self, x: &[f64], f: f64) -> f64 {
        match &self.push {
            Push::Body(b) => self.each_touch(b, &self.model.nodal(x), f, |g, t| -self.weight(g) * t.g[1]),
            _ => self.unit * f,
        }
    }

    /// Derivatives of load and displacement along the tangent of a path point.
    pub fn rates(&self, p: &PathPoint) -> [f64; 2] {
        match &self.push {
            Push::Along(w) => [self.unit * p.dt, dot(w, &p.dx)],
            Push::Volume { .. } => [self.unit * p.dt, dot(&self.work_gradient(&p.x), &p.dx)],
            Push::Body(b) => {
                let q = self.model.nodal(&p.x);
                let own = self.each_touch(b, &q, p.t, |g, t| self.weight(g) * t.h[1][1]);
                let mut slope = vec![0.0; p.x.len()];
                self.gradient_slope(&p.x, p.t, &mut slope);
                [own * p.dt + dot(&slope, &p.dx), p.dt]
            }
        }
    }

    /// Elastic energy alone, over `E R³ t`.
    pub fn elastic(&self, x: &[f64]) -> f64 {
        self.model.energy(x, self.t)
    }

    /// Energy kept in the softness of a body, over `E R³ t`: a measure of how rigid it is.
    pub fn contact_energy(&self, x: &[f64], f: f64) -> f64 {
        match &self.push {
            Push::Body(b) => self.each_touch(b, &self.model.nodal(x), f, |g, t| self.weight(g) * t.energy),
            _ => 0.0,
        }
    }

    /// Natural arclengths (over R) of the first and last integration point in contact, and the deepest penetration
    /// over R.
    pub fn contact(&self, x: &[f64], f: f64) -> Option<([f64; 2], f64)> {
        let Push::Body(b) = &self.push else { return None };
        let q = self.model.nodal(x);
        let mut found: Option<([f64; 2], f64)> = None;
        let rule = calotte_solve::quadrature::gauss_legendre(GAUSS);
        for g in 0..self.model.points.len() {
            let [r, _, z, _] = self.model.place(&q, g);
            let Some(t) = b.touch(r, b.direction * z, f).filter(|t| t.depth > 0.0) else { continue };
            let e = g / GAUSS;
            let nodes = &self.model.nodes;
            let s = nodes[e] + rule[g % GAUSS].0 * (nodes[e + 1] - nodes[e]);
            let (range, deepest) = found.unwrap_or(([s, s], 0.0));
            found = Some(([range[0], s], deepest.max(t.depth)));
        }
        found
    }

    /// Weight of an integration point for energies per natural area, over t.
    fn weight(&self, g: usize) -> f64 {
        self.model.points[g].area / self.t
    }

    fn each_touch(&self, b: &Body, q: &[f64], at: f64, f: impl Fn(usize, &crate::body::Touch) -> f64) -> f64 {
        (0..self.model.points.len())
            .filter_map(|g| {
                let [r, _, z, _] = self.model.place(q, g);
                b.touch(r, b.direction * z, at).map(|t| f(g, &t))
            })
            .sum()
    }

    fn volume(&self, q: &[f64]) -> f64 {
        (0..self.model.points.len())
            .map(|g| {
                let [r, _, _, dz] = self.model.place(q, g);
                self.model.points[g].wv * r * r * dz
            })
            .sum()
    }

    /// Gradient of what the load works on.
    fn work_gradient(&self, x: &[f64]) -> Vec<f64> {
        match &self.push {
            Push::Along(w) => w.clone(),
            Push::Volume { sign } => {
                let q = self.model.nodal(x);
                let mut full = vec![0.0; q.len()];
                for (g, p) in self.model.points.iter().enumerate() {
                    let [r, _, _, dz] = self.model.place(&q, g);
                    let c = sign * p.wv;
                    self.model.spread(g, &[2.0 * c * r * dz, 0.0, 0.0, c * r * r], &mut full);
                }
                self.model.force_of(full)
            }
            Push::Body(_) => Vec::new(),
        }
    }

    /// `(∂³ψ along v twice, ∂/∂ζ ∂²ψ along v)` of the contact energy at a point, forces on (r, ζ).
    fn contact_third(b: &Body, r: f64, zeta: f64, at: f64, v: [f64; 2]) -> Option<([f64; 2], [f64; 2])> {
        let along = |dr: f64, dz: f64| {
            b.slope(Jet { v: r, d1: dr, d2: 0.0 }, Jet { v: zeta, d1: dz, d2: 0.0 }, at)
                .map(|s| [s[0].d2, s[1].d2])
        };
        let (own, plus, minus) = (along(v[0], v[1])?, along(v[0], v[1] + 1.0)?, along(v[0], v[1] - 1.0)?);
        Some((own, [0.25 * (plus[0] - minus[0]), 0.25 * (plus[1] - minus[1])]))
    }
}

impl Loaded<'_> {
    /// Adds the load's part of the second variation to the coefficients of 1, n, n² (see `harmonic`).
    ///
    /// Pressure: the second derivative of the volume along `d = (u cos nθ, v sin nθ, w cos nθ)` is
    /// `−∫∫ d·(d,s × x,θ + x,s × d,θ)` where nothing is left over at a rim that keeps its height. The mean over θ, with
    /// `r w u′` taken by parts, gives `π∫ [2 r u w′ + z′ (u² + 2n uv + v²) − 2n r′ v w] ds`. A body's energy ψ(r, z) per area
    /// gives `ψ_rr u² + 2 ψ_rz u w + ψ_zz w² + ψ_r v²/r`.
    pub(crate) fn add_ripple_terms(&self, q: &[f64], f: f64, coefficients: &mut [Band; 3]) {
        if matches!(self.push, Push::Along(_)) {
            return;
        }
        for (g, p) in self.model.points.iter().enumerate() {
            let [r, dr, z, dz] = self.model.place(q, g);
            // Forms on (u, v, w, w′): constant in n, and linear in n.
            let (mut even, mut odd) = ([[0.0; 5]; 5], [[0.0; 5]; 5]);
            match &self.push {
                Push::Volume { sign } => {
                    let c = f * self.unit * sign * p.wv;
                    even[0][0] = -c * dz;
                    even[2][2] = -c * dz;
                    even[0][4] = -c * r;
                    odd[0][2] = -c * dz;
                    odd[2][3] = c * dr;
                }
                Push::Body(b) => {
                    let Some(t) = b.touch(r, b.direction * z, f) else { continue };
                    let w = 0.5 * self.weight(g);
                    even[0][0] = w * t.h[0][0];
                    even[0][3] = w * b.direction * t.h[0][1];
                    even[3][3] = w * t.h[1][1];
                    even[2][2] = w * t.g[0] / r;
                }
                Push::Along(_) => {}
            }
            let e = g / GAUSS;
            let rows: [(usize, &[f64; 6]); 5] =
                [(0, &p.n[0]), (0, &p.n[1]), (1, &p.n[0]), (2, &p.n[0]), (2, &p.n[1])];
            let place = |field: usize, j: usize| NODE * e + 3 * field + if j < 3 { j } else { NODE + j - 3 };
            for a in 0..5 {
                for b in a..5 {
                    for (target, value) in [(0, even[a][b]), (1, odd[a][b])] {
                        if value == 0.0 {
                            continue;
                        }
                        for i in 0..6 {
                            for j in 0..6 {
                                let (row, col) = (place(rows[a].0, i), place(rows[b].0, j));
                                let c = value * rows[a].1[i] * rows[b].1[j];
                                // The lower triangle holds half of each off-diagonal pair of the symmetric form.
                                let twice = if a == b { row >= col } else { true };
                                if twice {
                                    let same = a != b && row == col;
                                    coefficients[target].add(
                                        row.max(col),
                                        row.min(col),
                                        if same { 2.0 * c } else { c },
                                    );
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

impl Potential for Loaded<'_> {
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
        let dead = self.dead.as_ref().map_or(0.0, |d| dot(d, x));
        let work = match &self.push {
            Push::Body(_) => -self.contact_energy(x, f),
            _ => f * self.unit * self.displacement(x, f),
        };
        self.model.energy(x, self.t) - work - dead
    }

    fn assemble(&self, x: &[f64], f: f64, gradient: &mut [f64], tangent: &mut Band) -> f64 {
        let mut energy = self.model.assemble(x, self.t, gradient, tangent);
        if !energy.is_finite() {
            return energy;
        }
        if let Some(d) = &self.dead {
            energy -= dot(d, x);
            gradient.iter_mut().zip(d).for_each(|(g, d)| *g -= d);
        }
        match &self.push {
            Push::Along(w) => {
                let c = f * self.unit;
                gradient.iter_mut().zip(w).for_each(|(g, w)| *g -= c * w);
                energy - c * dot(w, x)
            }
            Push::Volume { sign } => {
                let q = self.model.nodal(x);
                let amount = -f * self.unit * sign;
                energy
                    + self.model.add_terms(&q, gradient, tangent, |p, &[r, _, _, dz]| {
                        let c = amount * p.wv;
                        let mut h = [[0.0; 4]; 4];
                        h[0][0] = 2.0 * c * dz;
                        h[0][3] = 2.0 * c * r;
                        h[3][0] = h[0][3];
                        Some((c * r * r * dz, [2.0 * c * r * dz, 0.0, 0.0, c * r * r], h))
                    })
            }
            Push::Body(b) => {
                let q = self.model.nodal(x);
                energy
                    + self.model.add_terms(&q, gradient, tangent, |p, &[r, _, z, _]| {
                        let t = b.touch(r, b.direction * z, f)?;
                        let (w, d) = (p.area / self.t, b.direction);
                        let mut h = [[0.0; 4]; 4];
                        h[0][0] = w * t.h[0][0];
                        h[0][2] = w * d * t.h[0][1];
                        h[2][0] = h[0][2];
                        h[2][2] = w * t.h[1][1];
                        Some((w * t.energy, [w * t.g[0], 0.0, w * d * t.g[1], 0.0], h))
                    })
            }
        }
    }

    fn gradient_slope(&self, x: &[f64], f: f64, out: &mut [f64]) {
        match &self.push {
            Push::Body(b) => {
                // The energy depends on the body's place through ζ − f only.
                let q = self.model.nodal(x);
                let mut full = vec![0.0; q.len()];
                for g in 0..self.model.points.len() {
                    let [r, _, z, _] = self.model.place(&q, g);
                    let Some(t) = b.touch(r, b.direction * z, f) else { continue };
                    let w = -self.weight(g);
                    self.model.spread(g, &[w * t.h[0][1], 0.0, w * b.direction * t.h[1][1], 0.0], &mut full);
                }
                out.copy_from_slice(&self.model.force_of(full));
            }
            _ => {
                out.copy_from_slice(&self.work_gradient(x));
                out.iter_mut().for_each(|v| *v *= -self.unit);
            }
        }
    }

    fn directional(&self, x: &[f64], f: f64, v: &[f64], out: &mut Directional) {
        self.model.directional(x, self.t, v, out);
        out.slope_v.fill(0.0);
        self.gradient_slope(x, f, &mut out.slope);
        if matches!(self.push, Push::Along(_)) {
            return;
        }
        let (q, dq) = (self.model.nodal(x), self.model.nodal_direction(v));
        let (mut slope_v, mut third) = (vec![0.0; q.len()], vec![0.0; q.len()]);
        for (g, p) in self.model.points.iter().enumerate() {
            let ([r, _, z, dz], [vr, _, vz, vdz]) = (self.model.place(&q, g), self.model.place(&dq, g));
            match &self.push {
                Push::Volume { sign } => {
                    let c = -self.unit * sign * p.wv;
                    let first = [2.0 * c * (vr * dz + r * vdz), 0.0, 0.0, 2.0 * c * r * vr];
                    self.model.spread(g, &first, &mut slope_v);
                    let second = [4.0 * f * c * vr * vdz, 0.0, 0.0, 2.0 * f * c * vr * vr];
                    self.model.spread(g, &second, &mut third);
                }
                Push::Body(b) => {
                    let d = b.direction;
                    let Some((own, mixed)) = Self::contact_third(b, r, d * z, f, [vr, d * vz]) else {
                        continue;
                    };
                    let w = self.weight(g);
                    self.model.spread(g, &[w * own[0], 0.0, w * d * own[1], 0.0], &mut third);
                    self.model.spread(g, &[-w * mixed[0], 0.0, -w * d * mixed[1], 0.0], &mut slope_v);
                }
                Push::Along(_) => {}
            }
        }
        for (full, target) in [(slope_v, &mut out.slope_v), (third, &mut out.third)] {
            target.iter_mut().zip(self.model.force_of(full)).for_each(|(t, f)| *t += f);
        }
    }
}

impl Model {
    /// Weights of the mean height in the wall's weight: `Σ wᵢ xᵢ = ∫ h z dA₀` over R⁴, thickness factor left out.
    pub fn weight_vector(&self) -> Vec<f64> {
        let mut full = vec![0.0; DOF * self.nodes.len()];
        for (g, p) in self.points.iter().enumerate() {
            self.spread(g, &[0.0, 0.0, p.mass, 0.0], &mut full);
        }
        self.force_of(full)
    }

    /// Weights of a pressure that keeps the direction of the natural wall: `∫ n₀ · x dA₀` over R³, n₀ pointing to the
    /// concave side of the bowl.
    pub fn dead_pressure_vector(&self) -> Vec<f64> {
        let mut full = vec![0.0; DOF * self.nodes.len()];
        for (g, p) in self.points.iter().enumerate() {
            let (sin, e) = (p.nat.sin0, g / GAUSS);
            let rule = calotte_solve::quadrature::gauss_legendre(GAUSS);
            let s = self.nodes[e] + rule[g % GAUSS].0 * (self.nodes[e + 1] - self.nodes[e]);
            let cos = self.part.meridian.at(s * self.radius).cos;
            self.spread(g, &[-p.area * sin, 0.0, p.area * cos, 0.0], &mut full);
        }
        self.force_of(full)
    }
}

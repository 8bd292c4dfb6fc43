//! Second variation of a state for every wave number n: assembled once, combined per n.
//!
//! For the fields `(u cos nθ, v sin nθ, w cos nθ)` every entry is a polynomial in n: even, degree 4, within
//! (u, w) and within v, odd, degree 3, between them; stretching has degree 2 and 1. Three matrices hold
//! the coefficients.

use calotte_solve::eigen::{self, Smallest};
use calotte_solve::{Band, Work};
use calotte_specimen::Rim;

use crate::harmonic_kernel::{Quad, bending, layered_bending, layered_membrane, membrane};
use crate::hermite::scaled;
use crate::loads::Loaded;
use crate::model::{DOF, GAUSS, Model};
use crate::springs::turning;

/// Nodal unknowns: `u, ℓu′, ℓ²u″, v, …, w, …`.
pub(crate) const NODE: usize = 9;
/// Sub-diagonals of a mesh without joints; a shared unknown reaches one node further.
const HALF: usize = 2 * NODE - 1;

pub(crate) fn half(model: &Model) -> usize {
    if model.joints.is_empty() { HALF } else { HALF + NODE }
}

/// Coefficients of the second variation in n at one state, and the mass matrix.
///
/// Units: energies over `E R³ t`, masses over `ρ R³ t`, integrated over θ with `∫cos² = ∫sin² = π`
/// (so the axisymmetric second variation is twice the n = 0 form).
#[derive(Clone, Debug)]
pub struct Harmonics<'a> {
    model: &'a Model,
    nodal: Vec<f64>,
    coefficients: [Band; 3],
    mass: Band,
}

impl<'a> Harmonics<'a> {
    /// Assembles at the state `x`, thickness factor `t`.
    pub fn new(model: &'a Model, x: &[f64], t: f64) -> Self {
        let q = model.nodal(x);
        let size = NODE * model.nodes.len();
        let mut coefficients = std::array::from_fn(|_| Band::new(size, half(model)));
        let mut mass = Band::new(size, half(model));
        for e in (0..model.elements()).filter(|e| !model.ends_at_joint(*e)) {
            let mut local = [[[0.0; 18]; 18]; 3];
            let mut local_mass = [[0.0; 6]; 6];
            for g in GAUSS * e..GAUSS * (e + 1) {
                let p = &model.points[g];
                let y = model.local(&q, g);
                let forms = match &model.layered {
                    None => polynomial(
                        [0.0, 1.0].map(|n| membrane(&y, &p.nat, n)),
                        [0.0, 1.0, 2.0].map(|n| bending(&y, &p.nat, n)),
                        0.5 * p.wm,
                        0.5 * t * t * p.wb,
                    ),
                    Some(l) => {
                        let (nat, law) = l.law(p, t);
                        polynomial(
                            [0.0, 1.0].map(|n| layered_membrane(&y, &nat, &law, n)),
                            [0.0, 1.0, 2.0].map(|n| layered_bending(&y, &nat, &law, n)),
                            0.5,
                            0.5,
                        )
                    }
                };
                for (k, form) in local.iter_mut().zip(&forms) {
                    project(k, form, &p.n);
                }
                for i in 0..6 {
                    for j in 0..6 {
                        local_mass[i][j] += 0.5 * p.mass * p.n[0][i] * p.n[0][j];
                    }
                }
            }
            let place = |f: usize, j: usize| NODE * e + 3 * f + if j < 3 { j } else { NODE + j - 3 };
            for f in 0..3 {
                for i in 0..6 {
                    for h in 0..3 {
                        for j in 0..6 {
                            let (a, b) = (place(f, i), place(h, j));
                            if a < b {
                                continue;
                            }
                            for (m, k) in coefficients.iter_mut().zip(&local) {
                                m.add(a, b, k[6 * f + i][6 * h + j]);
                            }
                            if f == h {
                                mass.add(a, b, local_mass[i][j]);
                            }
                        }
                    }
                }
            }
        }
        Self::add_springs(model, &q, t, &mut coefficients[0]);
        crate::joint_ripples::add(model, &q, t, &mut coefficients);
        Self { model, nodal: q, coefficients, mass }
    }

    /// Assembles at the state `x`, parameter `f`, of a model under a load. Dead forces add nothing; a pressure that
    /// follows the wall and a rigid body do.
    pub fn loaded(loaded: &Loaded<'a>, x: &[f64], f: f64) -> Self {
        let mut own = Self::new(loaded.model(), x, loaded.thickness_factor());
        loaded.add_ripple_terms(&own.nodal, f, &mut own.coefficients);
        own
    }

    /// Springs at an elastic rim: displacement and turning of the meridian, exact to second order.
    fn add_springs(model: &Model, q: &[f64], t: f64, k: &mut Band) {
        let Some(s) = model.springs else { return };
        let e = q.len() - DOF;
        let base = k.size() - NODE;
        let w = 0.5 / t;
        k.add(base, base, w * s.radial);
        // The distance from the axis grows by v²/2r to second order.
        k.add(base + 3, base + 3, w * (s.around + s.radial * (q[e] - s.r0) / q[e]));
        k.add(base + 6, base + 6, w * s.axial);
        let phi = libm::atan2(q[e + 4], q[e + 1]) - s.phi0;
        let (d, dd) = turning(q[e + 1], q[e + 4]);
        k.add(base + 1, base + 1, w * s.turning * (d[0] * d[0] + phi * dd[0]));
        k.add(base + 7, base + 1, w * s.turning * (d[0] * d[1] + phi * dd[1]));
        k.add(base + 7, base + 7, w * s.turning * (d[1] * d[1] + phi * dd[2]));
    }

    /// Stiffness for wave number `n` before supports, rows `9·node + 3·field + derivative`.
    pub fn stiffness(&self, n: u32) -> Band {
        let n = f64::from(n);
        // Weights of the three coefficients, [even, odd]: odd between v and the other two fields.
        let weights = [[1.0, n * n, n * n * n * n], [0.0, n, n * n * n]];
        let half = self.mass.half();
        let mut out = Band::new(self.mass.size(), half);
        let step = half + 1;
        let [c0, c1, c2] = [0, 1, 2].map(|i| self.coefficients[i].data());
        let is_v = |d: usize| usize::from(d % NODE / 3 == 1);
        let parity: [Vec<usize>; NODE] =
            std::array::from_fn(|d| (0..step).map(|k| is_v(d) ^ is_v(d + k)).collect());
        for (col, target) in out.data_mut().chunks_exact_mut(step).enumerate() {
            let at = col * step;
            let (a, b, c) = (&c0[at..at + step], &c1[at..at + step], &c2[at..at + step]);
            let odd = &parity[col % NODE];
            for k in 0..step {
                let w = &weights[odd[k]];
                target[k] = w[0] * a[k] + w[1] * b[k] + w[2] * c[k];
            }
        }
        out
    }

    /// Mass matrix before supports (wall of density one, no rotary inertia).
    pub fn mass(&self) -> &Band {
        &self.mass
    }

    /// Rigid motions that the supports leave free, for wave number `n`: `[translation, tilt]` or torsion,
    /// as nodal vectors at the deformed state, each with the unknown to pin.
    fn rigid(&self, n: u32) -> Vec<(Vec<f64>, usize)> {
        let size = self.mass.size();
        let rim = size - NODE;
        let (mut lift, mut turn, mut shift, mut tilt) =
            (vec![0.0; size], vec![0.0; size], vec![0.0; size], vec![0.0; size]);
        for i in 0..size / NODE {
            let (a, b) = (NODE * i, DOF * i);
            lift[a + 6] = 1.0;
            shift[a] = 1.0;
            shift[a + 3] = -1.0;
            for d in 0..3 {
                let (r, z) = (self.nodal[b + d], self.nodal[b + 3 + d]);
                turn[a + 3 + d] = r;
                tilt[a + d] = z;
                tilt[a + 3 + d] = -z;
                tilt[a + 6 + d] = -r;
            }
        }
        let free = if self.model.grips.inner {
            [matches!(self.model.part.rim, Rim::Free | Rim::Table), false, false, false]
        } else {
            self.model.springs.map_or_else(
                || {
                    let free = matches!(self.model.part.rim, Rim::Free | Rim::Table);
                    let ring = self.model.part.rim == Rim::Ring;
                    [free, free || ring, free || ring, free]
                },
                |s| {
                    let loose = s.radial == 0.0 && s.around == 0.0;
                    let tilts = loose && s.axial == 0.0 && s.turning == 0.0;
                    [s.axial == 0.0, s.around == 0.0, loose, tilts]
                },
            )
        };
        // The unknown that each motion moves at the rim; at a pole of a complete sphere the radius
        // vanishes, so torsion and tilt are pinned at the widest node instead.
        let wide =
            (0..size / NODE).max_by(|a, b| self.nodal[DOF * a].total_cmp(&self.nodal[DOF * b])).unwrap_or(0);
        let wide = if self.model.poles[1] { NODE * wide } else { rim };
        match n {
            0 => [(free[0], lift, rim + 6), (free[1], turn, wide + 3)]
                .into_iter()
                .filter(|m| m.0)
                .map(|m| (m.1, m.2))
                .collect(),
            1 => [(free[2], shift, wide), (free[3], tilt, wide + 6)]
                .into_iter()
                .filter(|m| m.0)
                .map(|m| (m.1, m.2))
                .collect(),
            _ => Vec::new(),
        }
    }

    /// Stiffness with supports applied, rigid motions (in the same unknowns) and the unknowns that pin them.
    fn supported(&self, n: u32) -> Supported {
        let (turns, held) = supports_of(self.model, n);
        let mut k = self.stiffness(n);
        for c in &turns {
            k.congruence(c.i, c.j, c.t);
        }
        let largest = k.largest_diagonal();
        for &j in &held {
            k.pin(j, largest);
        }
        let (mut vectors, pins): (Vec<Vec<f64>>, Vec<usize>) = self.rigid(n).into_iter().unzip();
        for v in &mut vectors {
            for c in &turns {
                // x_old = T x_new.
                let (a, b, det) = (v[c.i], v[c.j], c.t[0][0] * c.t[1][1] - c.t[0][1] * c.t[1][0]);
                v[c.i] = (c.t[1][1] * a - c.t[0][1] * b) / det;
                v[c.j] = (c.t[0][0] * b - c.t[1][0] * a) / det;
            }
            for &j in &held {
                v[j] = 0.0;
            }
        }
        Supported { k, turns, held, vectors, pins }
    }

    /// Stiffness and mass for wave number `n` with supports applied, for motions, and the rigid motions left free. Vectors
    /// are read by [`Model::ripple_samples`].
    pub fn motion(&self, n: u32) -> (Band, Band, Vec<Vec<f64>>) {
        let s = self.supported(n);
        let m = self.mass_of(&s.turns, &s.held);
        (s.k, m, s.vectors)
    }

    fn mass_of(&self, turns: &[Congruence], held: &[usize]) -> Band {
        let mut m = self.mass.clone();
        for c in turns {
            m.congruence(c.i, c.j, c.t);
        }
        for &j in held {
            m.pin(j, 0.0);
        }
        m
    }

    /// Exact number of eigenvalues ω² below `sigma`, rigid motions (zeros) included when `sigma > 0`; `None`
    /// when the factorisation breaks down.
    pub fn count_below(&self, n: u32, sigma: f64, work: &mut Work) -> Option<usize> {
        let mut s = self.supported(n);
        let m = self.mass_of(&s.turns, &s.held);
        s.k.add_scaled(-sigma, &m);
        work.factorisations += 1;
        s.k.factor().ok().map(|f| f.negative)
    }

    /// Exact number of negative eigenvalues for wave number `n`, rigid motions left out; `None` when the
    /// factorisation breaks down.
    pub fn negative(&self, n: u32, work: &mut Work) -> Option<usize> {
        let s = self.supported(n);
        work.factorisations += 1;
        eigen::pin(&s.k, &s.pins).factor().ok().map(|f| f.negative)
    }

    /// `Tᵀ K⁻¹ T` for forces T on the nodal unknowns of wave number `n ≥ 2` under the supports; `None` when the
    /// factorisation breaks down.
    pub(crate) fn compliance(&self, n: u32, force: &[f64], work: &mut Work) -> Option<f64> {
        let s = self.supported(n);
        let mut f = force.to_vec();
        for c in &s.turns {
            let (a, b) = (f[c.i], f[c.j]);
            f[c.i] = c.t[0][0] * a + c.t[1][0] * b;
            f[c.j] = c.t[0][1] * a + c.t[1][1] * b;
        }
        for &j in &s.held {
            f[j] = 0.0;
        }
        work.factorisations += 1;
        let factor = s.k.factor().ok()?;
        let mut x = f.clone();
        factor.solve(&mut x);
        Some(calotte_solve::potential::dot(&f, &x))
    }

    /// Largest `‖K v‖∞` over `‖K‖ ‖v‖∞` among the rigid motions of wave number `n`: rounding at an
    /// equilibrium.
    pub fn rigid_residual(&self, n: u32) -> f64 {
        let s = self.supported(n);
        let mut kv = vec![0.0; s.k.size()];
        let top = |v: &[f64]| v.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
        let scale = top(s.k.data());
        s.vectors.iter().fold(0.0, |worst, v| {
            s.k.multiply(v, &mut kv);
            worst.max(top(&kv) / (scale * top(v)))
        })
    }

    /// Smallest eigenvalue of `K x = ω² M x` for wave number `n`, ω in `√(E/ρ)/R`, with the exact count of
    /// negative ones; rigid motions left out. The number of rigid motions comes second.
    pub fn smallest(&self, n: u32, start: Option<&[f64]>, work: &mut Work) -> Option<(Smallest, usize)> {
        let s = self.supported(n);
        let m = self.mass_of(&s.turns, &s.held);
        let found = eigen::smallest(&s.k, &m, &s.vectors, &s.pins, start, work)?;
        Some((found, s.vectors.len()))
    }
}

struct Supported {
    k: Band,
    turns: Vec<Congruence>,
    held: Vec<usize>,
    vectors: Vec<Vec<f64>>,
    pins: Vec<usize>,
}

struct Congruence {
    i: usize,
    j: usize,
    t: [[f64; 2]; 2],
}

/// Applies supports and pole conditions: congruences, then held unknowns.
fn supports_of(model: &Model, n: u32) -> (Vec<Congruence>, Vec<usize>) {
    let size = NODE * model.nodes.len();
    let rim = size - NODE;
    let (mut turns, mut held) = (Vec::new(), Vec::new());
    for (base, pole) in [(0, model.poles[0]), (rim, model.poles[1])] {
        if !pole {
            continue;
        }
        // Smooth vector fields on a disc: conditions on (u, v, w) and derivatives at the axis.
        // For n = 1, 2, 3 the derivative of order n−1 of u + v vanishes.
        let (fixed, joined): (&[usize], Option<usize>) = match n {
            0 => (&[0, 2, 3, 5, 7], None),
            1 => (&[1, 4, 6, 8], Some(0)),
            2 => (&[0, 3, 2, 5, 6, 7], Some(1)),
            3 => (&[0, 1, 3, 4, 6, 7, 8], Some(2)),
            _ => (&[0, 1, 2, 3, 4, 5, 6, 7, 8], None),
        };
        held.extend(fixed.iter().map(|d| base + d));
        if let Some(d) = joined {
            // Unknowns (u, u + v) instead of (u, v).
            turns.push(Congruence { i: base + d, j: base + 3 + d, t: [[1.0, 0.0], [-1.0, 1.0]] });
            held.push(base + 3 + d);
        }
    }
    for j in &model.joints {
        // Both nodes are at one place, and have one tangent where the joint is smooth: the second node's unknowns become what they
        // differ by, which is held at nothing.
        let same: &[usize] = if j.stiffness.is_some() { &[0, 3, 6] } else { &[0, 1, 3, 4, 6, 7] };
        for d in same {
            let (i, k) = (NODE * (j.node - 1) + d, NODE * j.node + d);
            turns.push(Congruence { i, j: k, t: [[1.0, 0.0], [1.0, 1.0]] });
            held.push(k);
        }
    }
    match model.part.rim {
        Rim::Free | Rim::Table | Rim::Elastic(_) => {}
        Rim::Ring => held.push(rim + 6),
        Rim::Hinged => held.extend([rim, rim + 3, rim + 6]),
        Rim::Clamped => held.extend([rim, rim + 3, rim + 6, rim + 7]),
    }
    if model.grips.inner {
        held.extend([0, 3, 7]);
        if n > 0 {
            held.push(6);
        }
    }
    for (base, clamp) in [(0, model.clamps[0]), (rim, model.clamps[1])] {
        if let Some((c, s)) = clamp {
            turns.push(Congruence { i: base + 1, j: base + 7, t: [[c, -s], [s, c]] });
        }
    }
    held.sort_unstable();
    held.dedup();
    (turns, held)
}

/// Coefficients of the polynomials in n from values at n = 0, 1 (stretching) and 0, 1, 2 (bending), each
/// part by itself so that the thin shell's small bending terms lose no digits.
fn polynomial([m0, m1]: [Quad; 2], b: [Quad; 3], wm: f64, wb: f64) -> [Quad; 3] {
    let mut out = [[[0.0; 9]; 9]; 3];
    for i in 0..9 {
        for j in 0..9 {
            let (b0, b1, b2) = (b[0][i][j], b[1][i][j], b[2][i][j]);
            if (i / 3 == 1) == (j / 3 == 1) {
                let (d1, d2) = (b1 - b0, b2 - b0);
                let c4 = (d2 - 4.0 * d1) / 12.0;
                out[0][i][j] = wm * m0[i][j] + wb * b0;
                out[1][i][j] = wm * (m1[i][j] - m0[i][j]) + wb * (d1 - c4);
                out[2][i][j] = wb * c4;
            } else {
                let c3 = (b2 - 2.0 * b1) / 6.0;
                out[1][i][j] = wm * m1[i][j] + wb * (b1 - c3);
                out[2][i][j] = wb * c3;
            }
        }
    }
    out
}

/// `k += Sᵀ form S` with S the shape functions of the three fields.
fn project(k: &mut [[f64; 18]; 18], form: &Quad, n: &[[f64; 6]; 3]) {
    for f in 0..3 {
        for h in 0..=f {
            let mut half = [[0.0; 6]; 3];
            for (a, row) in half.iter_mut().enumerate() {
                for (b, shape) in n.iter().enumerate() {
                    let c = form[3 * f + a][3 * h + b];
                    if c != 0.0 {
                        for j in 0..6 {
                            row[j] += c * shape[j];
                        }
                    }
                }
            }
            for i in 0..6 {
                for j in 0..6 {
                    let v = n[0][i] * half[0][j] + n[1][i] * half[1][j] + n[2][i] * half[2][j];
                    k[6 * f + i][6 * h + j] += v;
                    if f != h {
                        k[6 * h + j][6 * f + i] += v;
                    }
                }
            }
        }
    }
}

impl Model {
    /// A ripple's vector as [`Harmonics::smallest`] returns it in plain nodal unknowns `u, ℓu′, ℓ²u″, v, …`.
    pub fn ripple_nodal(&self, vector: &[f64], n: u32) -> Vec<f64> {
        // Supports may have changed unknowns; put them back.
        let mut y = vector.to_vec();
        let (turns, held) = supports_of(self, n);
        for &j in &held {
            y[j] = 0.0;
        }
        for c in &turns {
            let (a, b) = (y[c.i], y[c.j]);
            y[c.i] = c.t[0][0] * a + c.t[0][1] * b;
            y[c.j] = c.t[1][0] * a + c.t[1][1] * b;
        }
        y
    }

    /// Samples of a ripple's vector (as [`Harmonics::smallest`] returns it): `(s, u, v, w)`, `per_element` in each
    /// element and one at the rim; s over R.
    pub fn ripple_samples(&self, vector: &[f64], n: u32, per_element: usize) -> Vec<[f64; 4]> {
        let y = self.ripple_nodal(vector, n);
        let mut out = Vec::new();
        for e in (0..self.elements()).filter(|e| !self.ends_at_joint(*e)) {
            let length = self.nodes[e + 1] - self.nodes[e];
            let count = per_element + usize::from(e + 1 == self.elements());
            for i in 0..count {
                let x = i as f64 / per_element as f64;
                let shape = scaled(x, length, [self.scale[e], self.scale[e + 1]])[0];
                let f = |field: usize| -> f64 {
                    (0..6)
                        .map(|j| shape[j] * y[NODE * e + 3 * field + if j < 3 { j } else { NODE + j - 3 }])
                        .sum()
                };
                out.push([self.nodes[e] + x * length, f(0), f(1), f(2)]);
            }
        }
        out
    }
}

//! A part on a mesh: unknowns, energy, gradient and tangent of axisymmetric states.

use calotte_solve::quadrature::gauss_legendre;
use calotte_solve::{Band, Directional, Jet, Potential};
use calotte_specimen::{Part, Rim};

use crate::blocks::Blocks;
use crate::hermite::scaled;
use crate::kernel::{Natural, curvature, slopes};
use crate::mesh::Mesh;
use crate::springs::{Springs, rim_energy, springs};

/// Nodal unknowns of an axisymmetric state: `r, ℓr′, ℓ²r″, z, ℓz′, ℓ²z″`.
pub const DOF: usize = 6;
/// Gauss points per element: exact for the quadratic part of the energy of quintics on a flat element.
pub(crate) const GAUSS: usize = 6;
/// Marks an unknown that is held.
const HELD: u32 = u32::MAX;
const TWO_PI: f64 = 2.0 * std::f64::consts::PI;

/// One integration point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Point {
    pub(crate) n: [[f64; 6]; 3],
    pub(crate) nat: Natural,
    /// 2π r₀ w h/(1−ν²).
    pub(crate) wm: f64,
    /// 2π r₀ w h³/12(1−ν²).
    pub(crate) wb: f64,
    /// 2π r₀ w h.
    pub(crate) mass: f64,
    /// π w: weight of the volume r² z′.
    pub(crate) wv: f64,
    /// 2π r₀ w: natural area.
    pub(crate) area: f64,
}

/// Energies in units of `E R³` at the thickness factor asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Energies {
    /// Stretching.
    pub stretching: f64,
    /// Bending.
    pub bending: f64,
    /// Rim springs.
    pub rim: f64,
}

impl Energies {
    /// Sum.
    pub fn total(&self) -> f64 {
        self.stretching + self.bending + self.rim
    }
}

/// What holds a part beside its own rim.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Grips {
    /// The inner end of the mesh is bonded to a rigid body that moves along the axis: radius and slope held, for
    /// ripples also the height and the place around.
    pub inner: bool,
    /// The grip of a hinged or clamped rim may move radially, the same all round.
    pub rim_slides: bool,
    /// Nothing holds the part along its axis: the height of a rim without a grip is an unknown.
    pub afloat: bool,
}

/// A part on a mesh. Heights are measured from the natural rim.
#[derive(Clone, Debug)]
pub struct Model {
    pub(crate) part: Part,
    pub(crate) radius: f64,
    pub(crate) nodes: Vec<f64>,
    pub(crate) scale: Vec<f64>,
    pub(crate) points: Vec<Point>,
    pub(crate) springs: Option<Springs>,
    pub(crate) poles: [bool; 2],
    pub(crate) grips: Grips,
    index: Vec<u32>,
    held: Vec<f64>,
    /// Cosine and sine of the natural slope at the inner end and the rim, where it is held.
    pub(crate) clamps: [Option<(f64, f64)>; 2],
    unknowns: usize,
    metric: Vec<f64>,
    pressure: f64,
}

impl Model {
    /// Builds the model; `radius` (m) is the length unit.
    pub fn new(part: &Part, radius: f64, mesh: &Mesh) -> Self {
        Self::build(part, radius, mesh.nodes.clone(), None, Grips::default())
    }

    /// The same with other grips. A mesh that starts away from the pole leaves the wall inside it out.
    pub fn gripped(part: &Part, radius: f64, mesh: &Mesh, grips: Grips) -> Self {
        Self::build(part, radius, mesh.nodes.clone(), None, grips)
    }

    fn build(part: &Part, radius: f64, nodes: Vec<f64>, scale: Option<Vec<f64>>, grips: Grips) -> Self {
        let nodes: Vec<f64> = nodes.iter().map(|s| s / radius).collect();
        let last = nodes.len() - 1;
        let nu = part.material.poisson;
        let at = |s: f64| {
            let mut p = part.meridian.at(s * radius);
            p.r /= radius;
            p.z /= radius;
            p.curvature *= radius;
            p
        };
        // A node's length scale: the geometric mean of its elements.
        let size = |e: usize| nodes[e + 1] - nodes[e];
        let scale: Vec<f64> = scale.unwrap_or_else(|| {
            let own = |i: usize| match i {
                0 => size(0),
                _ if i == last => size(last - 1),
                _ => (size(i - 1) * size(i)).sqrt(),
            };
            (0..=last).map(own).collect()
        });
        let rule = gauss_legendre(GAUSS);
        let mut points = Vec::with_capacity(last * GAUSS);
        for e in 0..last {
            for &(x, w) in &rule {
                let s = nodes[e] + x * size(e);
                let p = at(s);
                let h = part.wall.thickness(s * radius) / radius;
                let area = TWO_PI * p.r * w * size(e);
                points.push(Point {
                    n: scaled(x, size(e), [scale[e], scale[e + 1]]),
                    nat: Natural { inv_r0: 1.0 / p.r, sin0: p.sin, k0: p.curvature, nu, e0: [0.0; 2] },
                    wm: area * h / (1.0 - nu * nu),
                    wb: area * h * h * h / (12.0 * (1.0 - nu * nu)),
                    mass: area * h,
                    wv: 0.5 * TWO_PI * w * size(e),
                    area,
                });
            }
        }
        let poles = [part.meridian.starts_at_pole() && nodes[0] == 0.0, part.meridian.ends_at_pole()];
        let rim = at(nodes[last]);
        let mut held = vec![0.0; DOF * (last + 1)];
        let mut fixed = vec![false; DOF * (last + 1)];
        for (node, pole) in [(0, poles[0]), (last, poles[1])] {
            if pole {
                // On the axis r is odd and z even in arclength.
                for d in [0, 2, 4] {
                    fixed[DOF * node + d] = true;
                }
            }
        }
        let end = DOF * last;
        let mut clamps = [None; 2];
        if grips.inner {
            let p = at(nodes[0]);
            for (d, v) in [(0, p.r), (4, 0.0)] {
                fixed[d] = true;
                held[d] = v;
            }
            clamps[0] = Some((p.cos, p.sin));
        }
        let mut hold = |d: usize, v: f64| {
            fixed[end + d] = true;
            held[end + d] = v;
        };
        let springs = springs(part, radius, rim.r, libm::atan2(rim.sin, rim.cos));
        // Heights are measured from the rim; unless a spring holds it, its height only takes out the
        // rigid translation.
        let loose = matches!(part.rim, Rim::Free | Rim::Table | Rim::Elastic(_));
        if springs.is_none_or(|s| s.axial == 0.0) && !(grips.afloat && loose) {
            hold(3, 0.0);
        }
        if matches!(part.rim, Rim::Hinged | Rim::Clamped) && !grips.rim_slides {
            hold(0, rim.r);
        }
        if part.rim == Rim::Clamped {
            // (r′, z′) at the rim is turned into (along, across) the natural tangent; across is held.
            hold(4, 0.0);
            clamps[1] = Some((rim.cos, rim.sin));
        }
        let mut unknowns = 0;
        let index = fixed
            .iter()
            .map(|f| {
                if *f {
                    HELD
                } else {
                    unknowns += 1;
                    unknowns - 1
                }
            })
            .collect();
        let mut model = Self {
            part: part.clone(),
            radius,
            nodes,
            scale,
            points,
            springs,
            poles,
            grips,
            index,
            held,
            clamps,
            unknowns: unknowns as usize,
            metric: Vec::new(),
            pressure: 0.0,
        };
        model.metric = model.build_metric();
        model
    }

    /// The same mesh (by share of arclength), length unit and nodal scales on another part, so that states
    /// can be compared unknown by unknown.
    pub fn rebuilt(&self, part: &Part) -> Self {
        let last = self.nodes[self.nodes.len() - 1];
        let length = part.meridian.length();
        let nodes = self.nodes.iter().map(|s| s / last * length).collect();
        let ratio = length / self.radius / last;
        let scale = self.scale.iter().map(|l| l * ratio).collect();
        Self::build(part, self.radius, nodes, Some(scale), self.grips)
    }

    /// The same on another part of any size, with the length unit chosen so that the arc keeps its length in it: nodes,
    /// nodal scales and metric are then the same numbers, and states of similar parts are alike.
    pub fn similar(&self, part: &Part) -> Self {
        let last = self.nodes[self.nodes.len() - 1];
        let length = part.meridian.length();
        let nodes = self.nodes.iter().map(|s| s / last * length).collect();
        Self::build(part, length / last, nodes, Some(self.scale.clone()), self.grips)
    }

    /// The model under a uniform follower pressure from inside the bowl, in units of E: its potential is
    /// `−p V` with `V = π∫r² z′ ds` the volume between the meridian and the axis.
    pub fn with_pressure(mut self, pressure: f64) -> Self {
        self.pressure = pressure;
        self
    }

    /// Root-mean-square displacement and rotation, lumped on the unknowns.
    fn build_metric(&self) -> Vec<f64> {
        let last = self.nodes.len() - 1;
        let length = self.nodes[last] - self.nodes[0];
        let full: Vec<f64> = (0..=last)
            .flat_map(|i| {
                let from = self.nodes[i.saturating_sub(1)];
                let share = 0.5 * (self.nodes[(i + 1).min(last)] - from) / length;
                let turn = share / (self.scale[i] * self.scale[i]);
                [share, turn, 0.02 * turn, share, turn, 0.02 * turn]
            })
            .collect();
        self.gather(&full)
    }

    /// Elements.
    pub fn elements(&self) -> usize {
        self.nodes.len() - 1
    }

    /// Length unit R, m.
    pub fn radius(&self) -> f64 {
        self.radius
    }

    /// The part.
    pub fn part(&self) -> &Part {
        &self.part
    }

    /// Free unknowns of a full nodal vector.
    pub(crate) fn gather(&self, full: &[f64]) -> Vec<f64> {
        full.iter().zip(&self.index).filter(|(_, i)| **i != HELD).map(|(v, _)| *v).collect()
    }

    /// Free unknowns of nodal values `r, ℓr′, ℓ²r″, z, ℓz′, ℓ²z″`; held ones are replaced.
    pub fn unknowns_of(&self, full: &[f64]) -> Vec<f64> {
        let mut full = full.to_vec();
        self.turn_in(&mut full);
        self.gather(&full)
    }

    /// All nodal values of a state.
    pub fn nodal(&self, x: &[f64]) -> Vec<f64> {
        let mut q = self.expand(x, &self.held);
        self.turn_out(&mut q);
        q
    }

    fn expand(&self, x: &[f64], held: &[f64]) -> Vec<f64> {
        self.index.iter().zip(held).map(|(&i, h)| if i == HELD { *h } else { x[i as usize] }).collect()
    }

    /// Nodal values of a direction (held unknowns are zero).
    pub(crate) fn nodal_direction(&self, v: &[f64]) -> Vec<f64> {
        let mut q = self.expand(v, &vec![0.0; self.held.len()]);
        self.turn_out(&mut q);
        q
    }

    /// Changes of r and z at the nodes along a direction.
    pub fn nodal_change(&self, v: &[f64]) -> Vec<f64> {
        self.nodal_direction(v).chunks(DOF).flat_map(|q| [q[0], q[3]]).collect()
    }

    /// Nodal values of a direction, for tests.
    #[cfg(test)]
    pub(crate) fn direction(&self, v: &[f64]) -> Vec<f64> {
        self.nodal_direction(v)
    }

    /// A gradient on all nodal unknowns, zero where held, for tests.
    #[cfg(test)]
    pub(crate) fn scattered(&self, g: &[f64]) -> Vec<f64> {
        self.expand(g, &vec![0.0; self.held.len()])
    }

    /// Clamped ends: place of their first nodal unknown, cosine and sine.
    fn clamped(&self, size: usize) -> impl Iterator<Item = (usize, f64, f64)> {
        let ends = [0, size - DOF];
        ends.into_iter().zip(self.clamps).filter_map(|(e, c)| c.map(|(c, s)| (e, c, s)))
    }

    /// From (along, across) to (r′, z′) at clamped ends.
    fn turn_out(&self, q: &mut [f64]) {
        for (e, c, s) in self.clamped(q.len()) {
            let (t, n) = (q[e + 1], q[e + 4]);
            (q[e + 1], q[e + 4]) = (c * t - s * n, s * t + c * n);
        }
    }

    /// From (r′, z′) to (along, across) at clamped ends; also the transform of a gradient.
    pub(crate) fn turn_in(&self, q: &mut [f64]) {
        for (e, c, s) in self.clamped(q.len()) {
            let (r, z) = (q[e + 1], q[e + 4]);
            (q[e + 1], q[e + 4]) = (c * r + s * z, c * z - s * r);
        }
    }

    /// `r, r′, r″, z′, z″` at integration point `g`.
    #[inline]
    pub(crate) fn local(&self, q: &[f64], g: usize) -> [f64; 5] {
        interpolate(&self.points[g].n, &q[DOF * (g / GAUSS)..])
    }

    /// Number of the unknown that is the height of the inner end.
    pub fn inner_height(&self) -> usize {
        self.index[3] as usize
    }

    /// Energies by kind at thickness factor `t`, units `E R³`.
    pub fn energies(&self, x: &[f64], t: f64) -> Energies {
        let q = self.nodal(x);
        let (mut m, mut b) = (0.0, 0.0);
        for (g, p) in self.points.iter().enumerate() {
            let s = slopes(&self.local(&q, g), &p.nat);
            m += p.wm * s.stretch;
            b += p.wb * s.bend;
        }
        let rim = self.springs.map_or(0.0, |s| rim_energy(&s, &q[q.len() - DOF..], self.rim_scale()));
        Energies { stretching: t * m, bending: t * t * t * b, rim }
    }

    pub(crate) fn rim_scale(&self) -> f64 {
        self.scale[self.scale.len() - 1]
    }

    /// The state on a mesh whose nodes contain this one's (exact), or any other (interpolated).
    pub fn transfer(&self, x: &[f64], to: &Model) -> Vec<f64> {
        to.unknowns_of(&self.transfer_nodal(x, to))
    }

    /// The same as nodal values.
    pub fn transfer_nodal(&self, x: &[f64], to: &Model) -> Vec<f64> {
        let q = self.nodal(x);
        let mut full = Vec::with_capacity(DOF * to.nodes.len());
        let mut e = 0;
        for (&s, &ell) in to.nodes.iter().zip(&to.scale) {
            while e + 2 < self.nodes.len() && self.nodes[e + 1] < s {
                e += 1;
            }
            let len = self.nodes[e + 1] - self.nodes[e];
            let n = scaled((s - self.nodes[e]) / len, len, [self.scale[e], self.scale[e + 1]]);
            for field in 0..2 {
                let mut unit = 1.0;
                for row in &n {
                    full.push(unit * hermite_sum(row, &q[DOF * e..], 3 * field));
                    unit *= ell;
                }
            }
        }
        full
    }

    /// Share of each element in the energy norm of `x − y`, relative to the energy of `x`.
    pub fn local_difference(&self, x: &[f64], y: &[f64], t: f64) -> Vec<f64> {
        let (q, d) = (self.nodal(x), self.nodal(y));
        let mut total = 0.0;
        let mut share = vec![0.0; self.elements()];
        for (g, p) in self.points.iter().enumerate() {
            let (a, b) = (self.local(&q, g), self.local(&d, g));
            let (e, _, _) = curvature(&a, &p.nat, p.wm, t * t * p.wb);
            total += e;
            let (s, o) = (crate::kernel::measures(&a, &p.nat), crate::kernel::measures(&b, &p.nat));
            let nu = p.nat.nu;
            let form = |u: f64, v: f64| 0.5 * (u * u + 2.0 * nu * u * v + v * v);
            share[g / GAUSS] +=
                p.wm * form(s.es - o.es, s.et - o.et) + t * t * p.wb * form(s.ks - o.ks, s.kt - o.kt);
        }
        share.iter_mut().for_each(|v| *v /= total);
        share
    }

    /// Largest unbalanced nodal force over the largest force that elements exert on nodes.
    pub fn imbalance(&self, x: &[f64], t: f64) -> f64 {
        let n = self.unknowns;
        let (mut g, mut h) = (vec![0.0; n], Band::new(n, self.half_bandwidth()));
        self.assemble(x, t, &mut g, &mut h);
        g.iter().fold(0.0_f64, |a, b| a.max(b.abs())) / self.force_scale(x, t)
    }

    /// Largest force that elements exert on nodes, magnitudes of all points added.
    pub fn force_scale(&self, x: &[f64], t: f64) -> f64 {
        let q = self.nodal(x);
        let mut each = vec![0.0_f64; q.len()];
        for (i, p) in self.points.iter().enumerate() {
            let (_, f, _) = curvature(&self.local(&q, i), &p.nat, p.wm, t * t * p.wb);
            let base = DOF * (i / GAUSS);
            for j in 0..6 {
                let k = base + if j < 3 { j } else { DOF + j - 3 };
                each[k] += (p.n[0][j] * f[0] + p.n[1][j] * f[1] + p.n[2][j] * f[2]).abs();
                each[k + 3] += (p.n[1][j] * f[3] + p.n[2][j] * f[4]).abs();
            }
        }
        each.iter().fold(0.0_f64, |a, b| a.max(*b))
    }
}

#[inline]
pub(crate) fn hermite_sum(n: &[f64; 6], q: &[f64], field: usize) -> f64 {
    n[0] * q[field]
        + n[1] * q[field + 1]
        + n[2] * q[field + 2]
        + n[3] * q[DOF + field]
        + n[4] * q[DOF + field + 1]
        + n[5] * q[DOF + field + 2]
}

#[inline]
fn interpolate(n: &[[f64; 6]; 3], q: &[f64]) -> [f64; 5] {
    let q = &q[..2 * DOF];
    [
        hermite_sum(&n[0], q, 0),
        hermite_sum(&n[1], q, 0),
        hermite_sum(&n[2], q, 0),
        hermite_sum(&n[1], q, 3),
        hermite_sum(&n[2], q, 3),
    ]
}

impl Potential for Model {
    fn unknowns(&self) -> usize {
        self.unknowns
    }

    fn half_bandwidth(&self) -> usize {
        2 * DOF - 1
    }

    fn metric(&self) -> &[f64] {
        &self.metric
    }

    fn energy(&self, x: &[f64], t: f64) -> f64 {
        let q = self.nodal(x);
        let mut sum = 0.0;
        for (g, p) in self.points.iter().enumerate() {
            let y = self.local(&q, g);
            if y[0] <= 0.0 || y[1] * y[1] + y[3] * y[3] < 1e-2 {
                return f64::INFINITY;
            }
            let s = slopes(&y, &p.nat);
            sum += p.wm * s.stretch + t * t * p.wb * s.bend - self.pressure / t * p.wv * y[0] * y[0] * y[3];
        }
        sum + self.springs.map_or(0.0, |s| rim_energy(&s, &q[q.len() - DOF..], self.rim_scale()) / t)
    }

    fn assemble(&self, x: &[f64], t: f64, gradient: &mut [f64], tangent: &mut Band) -> f64 {
        tangent.clear();
        let q = self.nodal(x);
        let mut full = vec![0.0; q.len()];
        let mut sum = 0.0;
        for e in 0..self.elements() {
            let mut blocks = Blocks::default();
            for g in GAUSS * e..GAUSS * (e + 1) {
                let p = &self.points[g];
                let y = self.local(&q, g);
                if y[0] <= 0.0 {
                    return f64::INFINITY;
                }
                let (mut energy, mut f, mut h) = curvature(&y, &p.nat, p.wm, t * t * p.wb);
                if self.pressure != 0.0 {
                    let c = self.pressure / t * p.wv;
                    energy -= c * y[0] * y[0] * y[3];
                    f[0] -= 2.0 * c * y[0] * y[3];
                    f[3] -= c * y[0] * y[0];
                    h[0][0] -= 2.0 * c * y[3];
                    h[0][3] -= 2.0 * c * y[0];
                    h[3][0] = h[0][3];
                }
                sum += energy;
                add_force(&mut full[DOF * e..], &p.n, &f);
                blocks.add(&p.n, &h);
            }
            let mut k = blocks.whole();
            if let Some(s) = self.springs.filter(|_| e + 1 == self.elements()) {
                sum += self.add_springs(&s, &q, t, &mut full, &mut k);
            }
            self.turn_matrix(e, &mut k);
            self.scatter(e, &k, tangent);
        }
        self.turn_in(&mut full);
        for (v, &i) in full.iter().zip(&self.index) {
            if i != HELD {
                gradient[i as usize] = *v;
            }
        }
        sum
    }

    fn gradient_slope(&self, x: &[f64], t: f64, out: &mut [f64]) {
        let q = self.nodal(x);
        let mut full = vec![0.0; q.len()];
        for (g, p) in self.points.iter().enumerate() {
            let s = slopes(&self.local(&q, g), &p.nat);
            let w = 2.0 * t * p.wb;
            let mut f = [0.0, w * s.gb[0], w * s.gb[1], w * s.gb[2], w * s.gb[3]];
            if self.pressure != 0.0 {
                let y = self.local(&q, g);
                let c = self.pressure / (t * t) * p.wv;
                f[0] += 2.0 * c * y[0] * y[3];
                f[3] += c * y[0] * y[0];
            }
            add_force(&mut full[DOF * (g / GAUSS)..], &p.n, &f);
        }
        if let Some(s) = self.springs {
            self.spring_forces(&s, &q, -1.0 / (t * t), &mut full);
        }
        self.turn_in(&mut full);
        out.copy_from_slice(&self.gather(&full));
    }

    fn directional(&self, x: &[f64], t: f64, v: &[f64], out: &mut Directional) {
        let (q, dq) = (self.nodal(x), self.nodal_direction(v));
        let n = q.len();
        let (mut slope, mut slope_v, mut third) = (vec![0.0; n], vec![0.0; n], vec![0.0; n]);
        for (g, p) in self.points.iter().enumerate() {
            let (y, dy) = (self.local(&q, g), self.local(&dq, g));
            let jets: [Jet; 5] = std::array::from_fn(|i| Jet { v: y[i], d1: dy[i], d2: 0.0 });
            let s = slopes(&jets, &p.nat);
            let base = DOF * (g / GAUSS);
            let w = 2.0 * t * p.wb;
            let b = &s.gb;
            let volume = 2.0 * self.pressure * p.wv;
            let (vr, vz) = (jets[0] * jets[3] * volume, jets[0] * jets[0] * (0.5 * volume));
            let (ir, iz) = (vr * (1.0 / (t * t)), vz * (1.0 / (t * t)));
            let f = [ir.v, w * b[0].v, w * b[1].v, w * b[2].v + iz.v, w * b[3].v];
            add_force(&mut slope[base..], &p.n, &f);
            let f = [ir.d1, w * b[0].d1, w * b[1].d1, w * b[2].d1 + iz.d1, w * b[3].d1];
            add_force(&mut slope_v[base..], &p.n, &f);
            let (m, c) = (p.wm, t * t * p.wb);
            let f = [
                m * s.gm[0].d2 - vr.d2 / t,
                m * s.gm[1].d2 + c * b[0].d2,
                c * b[1].d2,
                m * s.gm[2].d2 + c * b[2].d2 - vz.d2 / t,
                c * b[3].d2,
            ];
            add_force(&mut third[base..], &p.n, &f);
        }
        if let Some(s) = self.springs {
            self.spring_directional(&s, &q, &dq, t, &mut slope, &mut slope_v, &mut third);
        }
        for (full, target) in
            [(&mut slope, &mut out.slope), (&mut slope_v, &mut out.slope_v), (&mut third, &mut out.third)]
        {
            self.turn_in(full);
            target.copy_from_slice(&self.gather(full));
        }
    }
}

#[inline]
pub(crate) fn add_force(full: &mut [f64], n: &[[f64; 6]; 3], f: &[f64; 5]) {
    for j in 0..6 {
        let k = if j < 3 { j } else { DOF + j - 3 };
        full[k] += n[0][j] * f[0] + n[1][j] * f[1] + n[2][j] * f[2];
        full[k + 3] += n[1][j] * f[3] + n[2][j] * f[4];
    }
}

impl Model {
    #[inline]
    pub(crate) fn scatter(&self, e: usize, k: &[[f64; 12]; 12], tangent: &mut Band) {
        let ids = &self.index[DOF * e..DOF * (e + 2)];
        let step = tangent.half() + 1;
        let data = tangent.data_mut();
        for (a, &j) in ids.iter().enumerate() {
            if j == HELD {
                continue;
            }
            for (b, &i) in ids.iter().enumerate().skip(a) {
                if i != HELD {
                    data[j as usize * step + (i - j) as usize] += k[a][b];
                }
            }
        }
    }

    /// Congruence of an element's matrix at clamped ends.
    pub(crate) fn turn_matrix(&self, element: usize, k: &mut [[f64; 12]; 12]) {
        for (at, clamp) in [(0, self.clamps[0]), (DOF, self.clamps[1])] {
            let here = if at == 0 { element == 0 } else { element + 1 == self.elements() };
            let Some((c, s)) = clamp.filter(|_| here) else { continue };
            let (i, j) = (at + 1, at + 4);
            for row in k.iter_mut() {
                let (a, b) = (row[i], row[j]);
                (row[i], row[j]) = (c * a + s * b, c * b - s * a);
            }
            let (ri, rj) = (k[i], k[j]);
            for m in 0..12 {
                k[i][m] = c * ri[m] + s * rj[m];
                k[j][m] = c * rj[m] - s * ri[m];
            }
        }
    }

    /// Number of the unknown that is the radius of the rim; `None` when it is held.
    pub fn rim_radius(&self) -> Option<usize> {
        let i = self.index[self.index.len() - DOF];
        (i != HELD).then_some(i as usize)
    }

    /// Number of the unknown that is the height of node `node`; `None` when it is held.
    pub fn height_of(&self, node: usize) -> Option<usize> {
        let i = self.index[DOF * node + 3];
        (i != HELD).then_some(i as usize)
    }

    /// Node arclengths over R.
    pub fn nodes(&self) -> &[f64] {
        &self.nodes
    }
}

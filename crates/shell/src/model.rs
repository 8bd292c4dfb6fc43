//! A part on a mesh: unknowns, energy, gradient and tangent of axisymmetric states.

use calotte_solve::Band;
use std::sync::Arc;

use calotte_solve::quadrature::gauss_legendre;
use calotte_specimen::{Part, Rim};

use crate::hermite::scaled;
use crate::joint::{Joint, joints_of};
use crate::kernel::Natural;
use crate::layered::Layered;
use crate::mesh::Mesh;
use crate::springs::{Springs, springs};

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
    /// Thickness h.
    pub(crate) thick: f64,
    /// Factor on every modulus.
    pub(crate) stiff: f64,
}

impl Point {
    /// A point of a wall `h` thick with moduli times `stiff`, which stands for the natural area `area`.
    pub(crate) fn new(n: [[f64; 6]; 3], nat: Natural, h: f64, stiff: f64, area: f64, wv: f64) -> Self {
        let nu = nat.nu;
        Self {
            n,
            nat,
            wm: stiff * area * h / (1.0 - nu * nu),
            wb: stiff * area * h * h * h / (12.0 * (1.0 - nu * nu)),
            mass: area * h,
            wv,
            area,
            thick: h,
            stiff,
        }
    }
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
    pub(crate) points: Arc<Vec<Point>>,
    pub(crate) springs: Option<Springs>,
    pub(crate) poles: [bool; 2],
    pub(crate) grips: Grips,
    /// Places where slope, curvature or wall jump.
    pub(crate) joints: Vec<Joint>,
    /// The wall's layers at the part's temperature.
    pub(crate) layered: Option<Layered>,
    index: Vec<u32>,
    /// Whether a nodal unknown is the same as one of the node before it.
    shared: Vec<bool>,
    half: usize,
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
        Self::build(part, radius, doubled(part, &mesh.nodes), None, Grips::default())
    }

    /// The same with other grips. A mesh that starts away from the pole leaves the wall inside it out.
    pub fn gripped(part: &Part, radius: f64, mesh: &Mesh, grips: Grips) -> Self {
        Self::build(part, radius, doubled(part, &mesh.nodes), None, grips)
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
            // Both nodes of a joint look past it.
            let left = |i: usize| (0..i).rev().map(size).find(|l| *l > 0.0);
            let right = |i: usize| (i..last).map(size).find(|l| *l > 0.0);
            let own = |i: usize| match (left(i), right(i)) {
                (Some(a), Some(b)) => (a * b).sqrt(),
                (a, b) => a.or(b).unwrap_or(1.0),
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
                let stiff = part.wall.stiffness(s * radius);
                let area = TWO_PI * p.r * w * size(e);
                let n = if size(e) > 0.0 {
                    scaled(x, size(e), [scale[e], scale[e + 1]])
                } else {
                    nothing(scale[e])
                };
                let nat = Natural { inv_r0: 1.0 / p.r, sin0: p.sin, k0: p.curvature, nu, e0: [0.0; 2] };
                points.push(Point::new(n, nat, h, stiff, area, 0.5 * TWO_PI * w * size(e)));
            }
        }
        let joints = joints_of(part, radius, &nodes);
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
        // Both nodes of a joint are at one place; a smooth one has one tangent too.
        let mut shared = vec![false; fixed.len()];
        for j in &joints {
            let same: &[usize] = if j.stiffness.is_some() { &[0, 3] } else { &[0, 1, 3, 4] };
            same.iter().for_each(|d| shared[DOF * j.node + d] = true);
        }
        let mut unknowns = 0;
        let mut index: Vec<u32> = Vec::with_capacity(fixed.len());
        for (d, f) in fixed.iter().enumerate() {
            index.push(if *f {
                HELD
            } else if shared[d] {
                index[d - DOF]
            } else {
                unknowns += 1;
                unknowns - 1
            });
        }
        let mut half = 2 * DOF - 1;
        for e in index.windows(2 * DOF).step_by(DOF) {
            let free = || e.iter().filter(|i| **i != HELD);
            if let (Some(a), Some(b)) = (free().min(), free().max()) {
                half = half.max((b - a) as usize);
            }
        }
        let mut model = Self {
            part: part.clone(),
            radius,
            nodes,
            scale,
            points: Arc::new(points),
            springs,
            poles,
            grips,
            joints,
            layered: Layered::of(part, radius),
            index,
            shared,
            half,
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
        let nodes = self.nodes_on(part);
        let ratio = length / self.radius / last;
        let scale = self.scale.iter().map(|l| l * ratio).collect();
        Self::build(part, self.radius, nodes, Some(scale), self.grips)
    }

    /// Nodes at the same shares of another part's arclength, m; where both have corners, of each piece between them.
    fn nodes_on(&self, part: &Part) -> Vec<f64> {
        let (from, to) = (places(&self.part), places(part));
        let last = self.nodes[self.nodes.len() - 1];
        if self.joints.is_empty() || from.len() != to.len() {
            let length = part.meridian.length();
            return self.nodes.iter().map(|s| s / last * length).collect();
        }
        let own = self.part.meridian.length();
        let at = |s: &f64| {
            let s = s / last * own;
            let i = from.partition_point(|p| *p < s - 1e-9 * own).clamp(1, from.len() - 1);
            to[i - 1] + (s - from[i - 1]) / (from[i] - from[i - 1]) * (to[i] - to[i - 1])
        };
        self.nodes.iter().map(at).collect()
    }

    /// The same on another part of any size, with the length unit chosen so that the arc keeps its length in it: nodes,
    /// nodal scales and metric are then the same numbers, and states of similar parts are alike.
    pub fn similar(&self, part: &Part) -> Self {
        let last = self.nodes[self.nodes.len() - 1];
        let length = part.meridian.length();
        Self::build(part, length / last, self.nodes_on(part), Some(self.scale.clone()), self.grips)
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
        self.gather_forces(&full)
    }

    /// Elements, those of no length at joints included.
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
        let own = full.iter().zip(&self.index).zip(&self.shared).filter(|((_, i), s)| **i != HELD && !**s);
        own.map(|((v, _), _)| *v).collect()
    }

    /// Forces on the free unknowns from forces on a full nodal vector.
    pub(crate) fn gather_forces(&self, full: &[f64]) -> Vec<f64> {
        if self.joints.is_empty() {
            return self.gather(full);
        }
        let mut out = vec![0.0; self.unknowns];
        for (v, &i) in full.iter().zip(&self.index) {
            if i != HELD {
                out[i as usize] += v;
            }
        }
        out
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

    pub(crate) fn rim_scale(&self) -> f64 {
        self.scale[self.scale.len() - 1]
    }

    /// The state on a mesh whose nodes contain this one's (exact), or any other (interpolated).
    pub fn transfer(&self, x: &[f64], to: &Model) -> Vec<f64> {
        to.unknowns_of(&self.transfer_nodal(x, to))
    }

    /// The same as nodal values.
    pub fn transfer_nodal(&self, x: &[f64], to: &Model) -> Vec<f64> {
        self.interpolate(&self.nodal(x), &to.nodes, &to.scale)
    }

    /// A guess for the like state of another part: what sets this state apart from its mirror image, laid on that part's mirror
    /// image at the same shares of arclength, radii and heights multiplied by `factors`.
    pub fn likened(&self, x: &[f64], to: &Model, factors: [f64; 2]) -> Vec<f64> {
        let image = |m: &Model| m.nodal(&crate::start::mirror(m));
        let mut apart = self.nodal(x);
        for (i, (a, m)) in apart.iter_mut().zip(image(self)).enumerate() {
            *a = (*a - m) * factors[i % DOF / 3];
        }
        let last = |m: &Model| m.nodes[m.nodes.len() - 1];
        // Rounding must not put a node on the other side of a joint.
        let snapped = |s: f64| {
            let near = self.nodes.iter().find(|n| (**n - s).abs() < 1e-9 * last(self));
            near.copied().unwrap_or(s)
        };
        let places: Vec<f64> =
            to.nodes_on(&self.part).into_iter().map(|s| snapped(s / self.radius)).collect();
        let ratio = last(self) / last(to);
        let scale: Vec<f64> = to.scale.iter().map(|l| l * ratio).collect();
        let mut full = self.interpolate(&apart, &places, &scale);
        full.iter_mut().zip(image(to)).for_each(|(a, m)| *a += m);
        to.unknowns_of(&full)
    }

    /// Nodal values `q` read at rising places, derivatives times powers of the scales given there.
    fn interpolate(&self, q: &[f64], places: &[f64], scale: &[f64]) -> Vec<f64> {
        let mut full = Vec::with_capacity(DOF * places.len());
        let (mut e, mut before) = (0, f64::NAN);
        for (&s, &ell) in places.iter().zip(scale) {
            // The second node of a joint reads what begins there, any other what ends there.
            let begins = s == before;
            while e + 2 < self.nodes.len() && (self.nodes[e + 1] < s || (begins && self.nodes[e + 1] <= s)) {
                e += 1;
            }
            before = s;
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
}

/// Ends, joints and steps of a part in order, m.
fn places(part: &Part) -> Vec<f64> {
    let length = part.meridian.length();
    let mut all: Vec<f64> = part.meridian.joints().iter().map(|j| j.s).collect();
    all.extend(part.wall.steps().filter(|s| *s > 0.0 && *s < length));
    all.extend([0.0, length]);
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() < 1e-9 * length);
    all
}

/// Nodes in metres with both nodes of every joint.
fn doubled(part: &Part, nodes: &[f64]) -> Vec<f64> {
    let tiny = 1e-9 * part.meridian.length();
    let mut places: Vec<f64> = part.meridian.joints().iter().map(|j| j.s).collect();
    places.extend(part.wall.steps());
    let inner = nodes.iter().enumerate().skip(1).take(nodes.len().saturating_sub(2));
    let double: Vec<usize> =
        inner.filter(|(_, s)| places.iter().any(|p| (**s - p).abs() < tiny)).map(|(i, _)| i).collect();
    let twice = |i: usize| if double.contains(&i) { 2 } else { 1 };
    nodes.iter().enumerate().flat_map(|(i, s)| std::iter::repeat_n(*s, twice(i))).collect()
}

/// Shape functions of an element of no length, which carries nothing: those of its first node.
fn nothing(ell: f64) -> [[f64; 6]; 3] {
    let mut n = [[0.0; 6]; 3];
    (n[0][0], n[1][1], n[2][2]) = (1.0, 1.0 / ell, 1.0 / (ell * ell));
    n
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
                if i == HELD {
                    continue;
                }
                // Shared unknowns come out of order; two of one element may be one.
                let twice = if i == j && a != b { 2.0 } else { 1.0 };
                let (low, high) = (i.min(j), i.max(j));
                data[low as usize * step + (high - low) as usize] += twice * k[a][b];
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

    /// Number of the unknown that is the height of node `node`; `None` when it is held, or that of the node before it (the
    /// second node of a joint).
    pub fn height_of(&self, node: usize) -> Option<usize> {
        let (i, shared) = (self.index[DOF * node + 3], self.shared[DOF * node + 3]);
        (i != HELD && !shared).then_some(i as usize)
    }

    /// Number of free unknowns.
    pub(crate) fn count(&self) -> usize {
        self.unknowns
    }

    /// Sub-diagonals of the tangent.
    pub(crate) fn band(&self) -> usize {
        self.half
    }

    /// Weights of the norm of steps.
    pub(crate) fn weights(&self) -> &[f64] {
        &self.metric
    }

    /// Pressure inside the bowl, in E.
    pub(crate) fn inside(&self) -> f64 {
        self.pressure
    }

    /// Whether node `i` is the first of the two of a joint.
    pub(crate) fn ends_at_joint(&self, i: usize) -> bool {
        self.nodes.get(i + 1) == Some(&self.nodes[i])
    }

    /// The natural meridian at node `i`, lengths in metres: of what ends there at the first node of a joint.
    pub(crate) fn natural_at(&self, i: usize) -> calotte_specimen::MeridianPoint {
        let s = self.nodes[i] * self.radius;
        if self.ends_at_joint(i) { self.part.meridian.before(s) } else { self.part.meridian.at(s) }
    }

    /// Node arclengths over R; both nodes of a joint have the same.
    pub fn nodes(&self) -> &[f64] {
        &self.nodes
    }
}

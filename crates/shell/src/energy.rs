//! Energy of a model, its gradient, tangent and further derivatives; the parameter is a factor on every thickness.

use calotte_solve::{Band, Directional, Jet, Potential};

use crate::blocks::Blocks;
use crate::kernel::{Law, Natural, Parts, curvature_parts, forces, layered_parts, measures, slopes};
use crate::model::{DOF, Energies, GAUSS, Model, Point};
use crate::springs::rim_energy;

impl Model {
    /// Natural strains at a point, heat included, with `xi` (strains that bear no stress) added.
    pub(crate) fn natural_of(&self, p: &Point, t: f64, xi: Option<&[f64]>) -> Natural {
        let nat = self.layered.as_ref().map_or(p.nat, |l| l.law(p, t).0);
        xi.map_or(nat, |xi| nat.shifted(xi))
    }

    /// Energy density at a point times its weight, over t.
    pub(crate) fn density(&self, p: &Point, y: &[f64; 5], t: f64) -> f64 {
        match &self.layered {
            None => {
                let s = slopes(y, &p.nat);
                p.wm * s.stretch + t * t * p.wb * s.bend
            }
            Some(l) => {
                let (nat, law) = l.law(p, t);
                forces(y, &nat, &law).0
            }
        }
    }

    /// Quadratic energy of the strains `e` (ε_s, ε_θ, κ_s, κ_θ) at a point, over t.
    pub(crate) fn form(&self, p: &Point, e: [f64; 4], t: f64) -> f64 {
        match &self.layered {
            None => {
                let form = |u: f64, v: f64| 0.5 * (u * u + 2.0 * p.nat.nu * u * v + v * v);
                p.wm * form(e[0], e[1]) + t * t * p.wb * form(e[2], e[3])
            }
            Some(l) => l.law(p, t).1.energy(e),
        }
    }

    /// Forces on `r, r′, r″, z′, z″` at a point, with `xi` added to the natural strains.
    pub(crate) fn point_force(&self, p: &Point, y: &[f64; 5], t: f64, xi: Option<&[f64]>) -> [f64; 5] {
        if let Some(l) = &self.layered {
            let (nat, law) = l.law(p, t);
            return forces(y, &xi.map_or(nat, |xi| nat.shifted(xi)), &law).1;
        }
        let s = slopes(y, &self.natural_of(p, t, xi));
        let (wm, wb) = (p.wm, t * t * p.wb);
        [wm * s.gm[0], wm * s.gm[1] + wb * s.gb[0], wb * s.gb[1], wm * s.gm[2] + wb * s.gb[2], wb * s.gb[3]]
    }

    /// Energy, gradient and both parts of the second derivative at a point.
    #[inline]
    pub(crate) fn point_parts(&self, p: &Point, y: &[f64; 5], t: f64, xi: Option<&[f64]>) -> Parts {
        match &self.layered {
            None => curvature_parts(y, &self.natural_of(p, t, xi), p.wm, t * t * p.wb),
            Some(l) => {
                let (nat, law) = l.law(p, t);
                layered_parts(y, &xi.map_or(nat, |xi| nat.shifted(xi)), &law)
            }
        }
    }

    /// Adds a second derivative to an element's blocks.
    #[inline]
    pub(crate) fn add_point(&self, blocks: &mut Blocks, p: &Point, h: &[[f64; 5]; 5]) {
        blocks.add(&p.n, h);
        if self.layered.is_some() {
            blocks.add_coupled(&p.n, h);
        }
    }

    /// Energies by kind at thickness factor `t`, units `E R³`. In a wall of layers, what stretching would take alone counts as
    /// stretching, all else as bending.
    pub fn energies(&self, x: &[f64], t: f64) -> Energies {
        let q = self.nodal(x);
        let (mut m, mut b) = (0.0, 0.0);
        for (g, p) in self.points.iter().enumerate() {
            let y = self.local(&q, g);
            match &self.layered {
                None => {
                    let s = slopes(&y, &p.nat);
                    m += p.wm * s.stretch;
                    b += p.wb * s.bend;
                }
                Some(l) => {
                    let (nat, law) = l.law(p, t);
                    let e = measures(&y, &nat);
                    let stretch = law.energy([e.es, e.et, 0.0, 0.0]);
                    m += stretch;
                    b += (law.energy([e.es, e.et, e.ks, e.kt]) - stretch) / (t * t);
                }
            }
        }
        b += self.joint_energy(&q, 1.0);
        let rim = self.springs.map_or(0.0, |s| rim_energy(&s, &q[q.len() - DOF..], self.rim_scale()));
        Energies { stretching: t * m, bending: t * t * t * b, rim }
    }

    /// Share of each element in the energy norm of `x − y`, relative to the energy of `x`.
    pub fn local_difference(&self, x: &[f64], y: &[f64], t: f64) -> Vec<f64> {
        let (q, d) = (self.nodal(x), self.nodal(y));
        let mut total = 0.0;
        let mut share = vec![0.0; self.elements()];
        for (g, p) in self.points.iter().enumerate() {
            let (a, b) = (self.local(&q, g), self.local(&d, g));
            total += self.density(p, &a, t);
            let nat = self.natural_of(p, t, None);
            let (s, o) = (measures(&a, &nat), measures(&b, &nat));
            share[g / GAUSS] += self.form(p, [s.es - o.es, s.et - o.et, s.ks - o.ks, s.kt - o.kt], t);
        }
        share.iter_mut().for_each(|v| *v /= total);
        share
    }

    /// Largest unbalanced nodal force over the largest force that elements exert on nodes.
    pub fn imbalance(&self, x: &[f64], t: f64) -> f64 {
        let n = self.count();
        let (mut g, mut h) = (vec![0.0; n], Band::new(n, self.half_bandwidth()));
        self.assemble(x, t, &mut g, &mut h);
        g.iter().fold(0.0_f64, |a, b| a.max(b.abs())) / self.force_scale(x, t)
    }

    /// Largest force that elements exert on nodes, magnitudes of all points added.
    pub fn force_scale(&self, x: &[f64], t: f64) -> f64 {
        let q = self.nodal(x);
        let mut each = vec![0.0_f64; q.len()];
        for (i, p) in self.points.iter().enumerate() {
            let f = self.point_force(p, &self.local(&q, i), t, None);
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

/// Stress resultants at a point, over E and R: forces per length N_s, N_θ and moments per length M_s, M_θ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resultants {
    /// Deformed radius.
    pub r: f64,
    /// N_s, N_θ.
    pub force: [f64; 2],
    /// M_s, M_θ, positive where they add to the curvature of the bowl.
    pub moment: [f64; 2],
    /// Bending stiffness with the stretching let go, `D − B²/A`.
    pub stiffness: f64,
    /// Deformed curvatures.
    pub curvature: [f64; 2],
}

impl Model {
    /// Resultants at the integration points at thickness factor `t`, heat's own strains taken off.
    pub fn resultants(&self, x: &[f64], t: f64) -> Vec<Resultants> {
        let q = self.nodal(x);
        let each = self.points.iter().enumerate().filter(|(_, p)| p.area > 0.0);
        each.map(|(g, p)| {
            let y = self.local(&q, g);
            let nat = self.natural_of(p, t, None);
            let m = measures(&y, &nat);
            let law = self.law_of(p, t);
            let s = law.stress([m.es, m.et, m.ks, m.kt]).map(|v| v * t / p.area);
            let lam = (y[1] * y[1] + y[3] * y[3]).sqrt();
            Resultants {
                r: y[0],
                force: [s[0], s[1]],
                moment: [s[2], s[3]],
                stiffness: (law.d[0] - law.b[0] * law.b[0] / law.a[0]) * t / p.area,
                curvature: [m.ks + nat.k0, y[3] / lam / y[0]],
            }
        })
        .collect()
    }

    /// The law at a point, weights included, over t.
    fn law_of(&self, p: &Point, t: f64) -> Law {
        self.layered.as_ref().map_or_else(
            || {
                let (m, b, nu) = (p.wm, t * t * p.wb, p.nat.nu);
                Law { a: [m, nu * m], b: [0.0; 2], d: [b, nu * b], rest: [0.0; 4] }
            },
            |l| l.law(p, t).1,
        )
    }
}

impl Potential for Model {
    fn unknowns(&self) -> usize {
        self.count()
    }

    fn half_bandwidth(&self) -> usize {
        self.band()
    }

    fn metric(&self) -> &[f64] {
        self.weights()
    }

    fn energy(&self, x: &[f64], t: f64) -> f64 {
        let q = self.nodal(x);
        let inside = self.inside();
        let mut sum = 0.0;
        for (g, p) in self.points.iter().enumerate() {
            let y = self.local(&q, g);
            if y[0] <= 0.0 || y[1] * y[1] + y[3] * y[3] < 1e-2 {
                return f64::INFINITY;
            }
            sum += self.density(p, &y, t) - inside / t * p.wv * y[0] * y[0] * y[3];
        }
        sum + self.joint_energy(&q, t)
            + self.springs.map_or(0.0, |s| rim_energy(&s, &q[q.len() - DOF..], self.rim_scale()) / t)
    }

    fn assemble(&self, x: &[f64], t: f64, gradient: &mut [f64], tangent: &mut Band) -> f64 {
        tangent.clear();
        let q = self.nodal(x);
        let inside = self.inside();
        let mut full = vec![0.0; q.len()];
        let mut sum = 0.0;
        for e in 0..self.elements() {
            let mut blocks = Blocks::default();
            let hollow = self.ends_at_joint(e);
            for g in GAUSS * e..GAUSS * (e + 1) {
                if hollow {
                    break;
                }
                let p = &self.points[g];
                let y = self.local(&q, g);
                if y[0] <= 0.0 {
                    return f64::INFINITY;
                }
                let (mut energy, mut f, mut h, rest) = self.point_parts(p, &y, t, None);
                for (row, add) in h.iter_mut().zip(&rest) {
                    for (x, y) in row.iter_mut().zip(add) {
                        *x += y;
                    }
                }
                if inside != 0.0 {
                    let c = inside / t * p.wv;
                    energy -= c * y[0] * y[0] * y[3];
                    f[0] -= 2.0 * c * y[0] * y[3];
                    f[3] -= c * y[0] * y[0];
                    h[0][0] -= 2.0 * c * y[3];
                    h[0][3] -= 2.0 * c * y[0];
                    h[3][0] = h[0][3];
                }
                sum += energy;
                add_force(&mut full[DOF * e..], &p.n, &f);
                self.add_point(&mut blocks, p, &h);
            }
            let mut k = blocks.whole();
            if hollow {
                self.add_joint(e, &q, t, &mut k);
            }
            if let Some(s) = self.springs.filter(|_| e + 1 == self.elements()) {
                sum += self.add_springs(&s, &q, t, &mut full, &mut k);
            }
            self.turn_matrix(e, &mut k);
            self.scatter(e, &k, tangent);
        }
        sum += self.joint_energy(&q, t);
        self.joint_forces(&q, t * t, &mut full);
        gradient.copy_from_slice(&self.force_of(full));
        sum
    }

    fn gradient_slope(&self, x: &[f64], t: f64, out: &mut [f64]) {
        let q = self.nodal(x);
        let inside = self.inside();
        let mut full = vec![0.0; q.len()];
        for (g, p) in self.points.iter().enumerate() {
            let y = self.local(&q, g);
            let mut f = match &self.layered {
                None => {
                    let s = slopes(&y, &p.nat);
                    let w = 2.0 * t * p.wb;
                    [0.0, w * s.gb[0], w * s.gb[1], w * s.gb[2], w * s.gb[3]]
                }
                Some(l) => {
                    let (nat, law) = l.slope_in_thickness(p, t);
                    forces(&y, &nat, &law).1
                }
            };
            if inside != 0.0 {
                let c = inside / (t * t) * p.wv;
                f[0] += 2.0 * c * y[0] * y[3];
                f[3] += c * y[0] * y[0];
            }
            add_force(&mut full[DOF * (g / GAUSS)..], &p.n, &f);
        }
        self.joint_forces(&q, 2.0 * t, &mut full);
        if let Some(s) = self.springs {
            self.spring_forces(&s, &q, -1.0 / (t * t), &mut full);
        }
        out.copy_from_slice(&self.force_of(full));
    }

    fn directional(&self, x: &[f64], t: f64, v: &[f64], out: &mut Directional) {
        let (q, dq) = (self.nodal(x), self.nodal_direction(v));
        let n = q.len();
        let (mut slope, mut slope_v, mut third) = (vec![0.0; n], vec![0.0; n], vec![0.0; n]);
        for (g, p) in self.points.iter().enumerate() {
            let (y, dy) = (self.local(&q, g), self.local(&dq, g));
            let jets: [Jet; 5] = std::array::from_fn(|i| Jet { v: y[i], d1: dy[i], d2: 0.0 });
            let base = DOF * (g / GAUSS);
            let (f_t, f) = match &self.layered {
                None => {
                    let s = slopes(&jets, &p.nat);
                    let (w, m, c) = (2.0 * t * p.wb, p.wm, t * t * p.wb);
                    let (a, b) = (&s.gm, &s.gb);
                    let zero = Jet { v: 0.0, d1: 0.0, d2: 0.0 };
                    (
                        [zero, b[0] * w, b[1] * w, b[2] * w, b[3] * w],
                        [a[0] * m, a[1] * m + b[0] * c, b[1] * c, a[2] * m + b[2] * c, b[3] * c],
                    )
                }
                Some(l) => {
                    let (nat, law) = l.law(p, t);
                    (forces(&jets, &nat, &l.slope_in_thickness(p, t).1).1, forces(&jets, &nat, &law).1)
                }
            };
            let volume = 2.0 * self.inside() * p.wv;
            let (vr, vz) = (jets[0] * jets[3] * volume, jets[0] * jets[0] * (0.5 * volume));
            let (mut f_t, mut f) = (f_t, f);
            if volume != 0.0 {
                f_t[0] = f_t[0] + vr * (1.0 / (t * t));
                f_t[3] = f_t[3] + vz * (1.0 / (t * t));
                f[0] = f[0] - vr * (1.0 / t);
                f[3] = f[3] - vz * (1.0 / t);
            }
            add_force(&mut slope[base..], &p.n, &f_t.map(|j| j.v));
            add_force(&mut slope_v[base..], &p.n, &f_t.map(|j| j.d1));
            add_force(&mut third[base..], &p.n, &f.map(|j| j.d2));
        }
        self.joint_directional(&q, &dq, t, &mut slope, &mut slope_v, &mut third);
        if let Some(s) = self.springs {
            self.spring_directional(&s, &q, &dq, t, &mut slope, &mut slope_v, &mut third);
        }
        for (full, target) in [(slope, &mut out.slope), (slope_v, &mut out.slope_v), (third, &mut out.third)]
        {
            target.copy_from_slice(&self.force_of(full));
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

//! A part in motion: inertia, memory, weight, a table under it, air, and the force of a hand that lets go.
//!
//! Units beside those of the crate's head: time in `R √(ρ/E)`, so that a mass counts `∫ 2π r₀ h ds` over `R³ t` and
//! kinetic energy comes in `E R³ t` like the others. The table lies under the part (its normal is +z).

use std::sync::Arc;

use calotte_solve::{Band, Moving, Potential, Powers, Relaxing};

use crate::blocks::Blocks;
use crate::body::Body;
use crate::energy::add_force;
use crate::kernel::measures;
use crate::model::{DOF, GAUSS, Model};
use crate::springs::{rim_energy, turning};

/// What acts on a part in motion.
#[derive(Clone, Debug, Default)]
pub struct Around {
    /// Terms of the memory, times in `R √(ρ/E)`.
    pub terms: Vec<Relaxing>,
    /// Damping rate of a bath, over `√(E/ρ)/R`.
    pub damping: f64,
    /// Weight along −z: `g ρ R/E`.
    pub weight: f64,
    /// `½ C ρ_air/ρ`: pressure of the air over E per square of the axial speed, on the natural plan area.
    pub drag: f64,
    /// Height of a table over R.
    pub table: Option<f64>,
    /// Leaves inertia out.
    pub inertialess: bool,
}

/// A force of a hand: dead forces on the unknowns that fall to nothing between two times, without kinks in force, rate or
/// its rate (a quintic), so that the hand itself strikes nothing.
#[derive(Clone, Debug)]
pub struct Hand {
    /// Forces over `E R² t`.
    pub force: Vec<f64>,
    /// When it begins to fall, and when it is gone.
    pub span: [f64; 2],
}

impl Hand {
    fn share(&self, t: f64) -> f64 {
        let [from, to] = self.span;
        if t >= to {
            return 0.0;
        }
        let x = ((t - from) / (to - from)).max(0.0);
        1.0 - x * x * x * (10.0 - 15.0 * x + 6.0 * x * x)
    }
}

/// A model in motion at one thickness factor; see [`Moving`] for the equations.
#[derive(Clone, Debug)]
pub struct InMotion {
    model: Model,
    t: f64,
    around: Around,
    hand: Option<Hand>,
    /// Couples of the hand on the inner and the outer edge, over `E R³ t`.
    couples: [f64; 2],
    table: Option<Table>,
    mass: Band,
    norm: Band,
    /// Weight on the free unknowns, over `E R² t`.
    dead: Vec<f64>,
    total_mass: f64,
}

/// A level table: pushes on the wall with the stiffness of half its thickness, on the rim with that of a strip.
#[derive(Clone, Copy, Debug)]
struct Table {
    wall: Body,
    rim: Body,
    at: f64,
    /// Length of the rim over R; nothing when the outer end is a pole.
    round: f64,
}

/// Contact with the table at one moment.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OnTable {
    /// Reaction over `E R² t`, upwards.
    pub force: f64,
    /// Share of it that the rim's edge takes, over `E R² t`.
    pub rim: f64,
    /// Deepest penetration over R.
    pub depth: f64,
}

impl InMotion {
    /// `model` should be afloat ([`crate::Grips::afloat`]) unless its rim is held.
    pub fn new(model: Model, t: f64, around: Around) -> Self {
        let n = model.unknowns();
        let half = model.half_bandwidth();
        let (mut mass, mut total) = (Band::new(n, half), 0.0);
        for e in 0..model.elements() {
            let mut blocks = Blocks::default();
            for p in &model.points[GAUSS * e..GAUSS * (e + 1)] {
                blocks.add_mass(&p.n[0], p.mass);
                total += p.mass;
            }
            let mut k = blocks.whole();
            model.turn_matrix(e, &mut k);
            model.scatter(e, &k, &mut mass);
        }
        let mut norm = mass.clone();
        norm.data_mut().iter_mut().for_each(|v| *v /= total);
        if around.inertialess {
            mass.clear();
        }
        let mut dead = vec![0.0; DOF * model.nodes.len()];
        for (g, p) in model.points.iter().enumerate() {
            model.spread(g, &[0.0, 0.0, -around.weight * p.mass, 0.0], &mut dead);
        }
        let dead = model.force_of(dead);
        let table = around.table.map(|at| {
            let last = model.nodes.len() - 1;
            let length = model.nodes[last] * model.radius;
            let h = model.part.wall.thickness(length) / model.radius * t;
            // The mid-surface gives way by what half the wall is squeezed; over a twentieth of the thickness the push sets in.
            let body = |stiffness: f64| Body {
                flat_to: f64::INFINITY,
                round: 0.0,
                direction: 1.0,
                stiffness,
                soft: 0.02 * h,
            };
            let round = if model.poles[1] { 0.0 } else { model.part.meridian.at(length).r / model.radius };
            let round = 2.0 * std::f64::consts::PI * round;
            Table { wall: body(2.0 / h), rim: body(1.0), at, round }
        });
        Self { model, t, around, hand: None, couples: [0.0; 2], table, mass, norm, dead, total_mass: total }
    }

    /// The same with a hand that lets go of the state `x`. What it does to the slope of a free edge there is a couple, and
    /// stays one as the edge turns: a dead force on a slope would stretch the last element without bound as it shrinks.
    pub fn with_hand(mut self, mut hand: Hand, x: &[f64]) -> Self {
        let q = self.model.nodal(x);
        let mut rest = self.model.nodal_direction(&hand.force);
        for (couple, at) in self.couples.iter_mut().zip([0, q.len() - DOF]) {
            let [a, b] = [q[at + 1], q[at + 4]];
            *couple = a * rest[at + 4] - b * rest[at + 1];
            let [da, db] = turning(a, b).0.map(|d| *couple * d);
            rest[at + 1] -= da;
            rest[at + 4] -= db;
        }
        hand.force = self.model.force_of(rest);
        self.hand = Some(hand);
        self
    }

    /// The model.
    pub fn model(&self) -> &Model {
        &self.model
    }

    /// Thickness factor.
    pub fn thickness_factor(&self) -> f64 {
        self.t
    }

    /// Mass over `ρ R³ t`.
    pub fn total_mass(&self) -> f64 {
        self.total_mass
    }

    /// Height of the centre of mass over R, and likewise the mean of any field on the unknowns that moves with z.
    pub fn mean_height(&self, x: &[f64]) -> f64 {
        let q = self.model.nodal(x);
        let sum: f64 =
            self.model.points.iter().enumerate().map(|(g, p)| p.mass * self.model.place(&q, g)[2]).sum();
        sum / self.total_mass
    }

    /// Momentum along z over mass: the speed of the centre of mass.
    pub fn mean_speed(&self, v: &[f64]) -> f64 {
        let q = self.model.nodal_direction(v);
        let sum: f64 =
            self.model.points.iter().enumerate().map(|(g, p)| p.mass * self.model.place(&q, g)[2]).sum();
        sum / self.total_mass
    }

    /// Weight along −z over the mass: `g ρ R/E`.
    pub fn weight(&self) -> f64 {
        self.around.weight
    }

    /// Impulse of the hand along z up to time `t`, over `E R² t R √(ρ/E)`.
    pub fn hand_impulse(&self, t: f64) -> f64 {
        let Some(hand) = &self.hand else { return 0.0 };
        let nodes = self.model.nodes.len();
        let net: f64 = (0..nodes).filter_map(|i| self.model.height_of(i)).map(|i| hand.force[i]).sum();
        let [from, to] = hand.span;
        let x = ((t - from) / (to - from)).clamp(0.0, 1.0);
        // ∫ (1 − 10x³ + 15x⁴ − 6x⁵) dx.
        net * (to - from) * (x - x.powi(4) * (2.5 - 3.0 * x + x * x))
    }

    /// Whether there is a table.
    pub fn has_table(&self) -> bool {
        self.table.is_some()
    }

    /// Height of the table over R.
    pub fn table_at(&self) -> Option<f64> {
        self.table.map(|t| t.at)
    }

    /// `½ C ρ_air/ρ` times the whole natural plan area over the mass: drag of a rigid fall per square of its speed, over 1/R.
    pub fn drag_of_fall(&self) -> f64 {
        let area: f64 = (0..self.model.points.len()).map(|g| self.plan_area(g)).sum();
        self.around.drag * area / self.t / self.total_mass
    }

    /// Net push of the air along z over `E R² t` at the velocities `v`.
    pub fn air_force(&self, v: &[f64]) -> f64 {
        if self.around.drag == 0.0 {
            return 0.0;
        }
        let dq = self.model.nodal_direction(v);
        let each = |g: usize| {
            let w = self.model.place(&dq, g)[2];
            self.plan_area(g) * w * w.abs()
        };
        -self.around.drag / self.t * (0..self.model.points.len()).map(each).sum::<f64>()
    }

    /// Energy kept in the contact with the table, over `E R³ t`.
    pub fn contact_energy(&self, x: &[f64]) -> f64 {
        let mut sum = 0.0;
        self.each_touch(&self.model.nodal(x), |weight, _, touch| sum += weight * touch.energy);
        sum
    }

    /// Contact with the table.
    pub fn on_table(&self, x: &[f64]) -> OnTable {
        let q = self.model.nodal(x);
        let mut out = OnTable::default();
        self.each_touch(&q, |weight, at, touch| {
            out.force -= weight * touch.g[1];
            if at.is_none() {
                out.rim -= weight * touch.g[1];
            }
            out.depth = out.depth.max(touch.depth);
        });
        out
    }

    /// Calls `f` with the weight, the integration point (`None` for the rim's edge) and the touch, wherever the part
    /// touches the table.
    fn each_touch(&self, q: &[f64], f: impl FnMut(f64, Option<usize>, crate::body::Touch)) {
        if let Some(table) = &self.table {
            self.touches(table, q, f);
        }
    }

    fn touches(&self, table: &Table, q: &[f64], mut f: impl FnMut(f64, Option<usize>, crate::body::Touch)) {
        for (g, p) in self.model.points.iter().enumerate() {
            let z = self.model.place(q, g)[2];
            if z < table.at + table.wall.soft
                && let Some(touch) = table.wall.touch(0.0, z, table.at)
            {
                f(p.area / self.t, Some(g), touch);
            }
        }
        let z = q[q.len() - DOF + 3];
        if table.round > 0.0
            && let Some(touch) = table.rim.touch(0.0, z, table.at)
        {
            f(table.round / self.t, None, touch);
        }
    }

    /// Height over R of a table that bears the weight of the part in the shape `x`, wherever it lies on it; without
    /// weight, of one that it just does not touch. Nothing when there is no table.
    pub fn resting_height(&self, x: &[f64]) -> Option<f64> {
        let table = self.table?;
        let q = self.model.nodal(x);
        let wanted = self.around.weight * self.total_mass;
        let borne = |at: f64| {
            let mut sum = 0.0;
            self.touches(&Table { at, ..table }, &q, |weight, _, touch| sum -= weight * touch.g[1]);
            sum
        };
        let low = (0..self.model.points.len()).map(|g| self.model.place(&q, g)[2]);
        let low = low.fold(q[q.len() - DOF + 3], f64::min);
        // The push grows with the height of the table; bisection.
        let mut step = table.wall.soft;
        let (mut a, mut b) = (low - step, low);
        while borne(b) <= wanted {
            step *= 2.0;
            (a, b) = (b, b + step);
        }
        for _ in 0..80 {
            let m = 0.5 * (a + b);
            if borne(m) <= wanted { a = m } else { b = m }
        }
        Some(a)
    }

    /// The table moved to another height over R.
    pub fn with_table_at(mut self, at: f64) -> Self {
        if let Some(t) = &mut self.table {
            t.at = at;
        }
        self.around.table = self.table.map(|t| t.at);
        self
    }

    /// Elastic forces and everything else but the hand's, at rest: what a hand has to hold.
    pub fn held_force(&self, x: &[f64], xi: &[f64]) -> Option<Vec<f64>> {
        let mut out = vec![0.0; x.len()];
        let free = Self { hand: None, ..self.clone() };
        free.force(0.0, x, &vec![0.0; x.len()], xi, &mut out).then_some(out)
    }

    fn plan_area(&self, g: usize) -> f64 {
        let p = &self.model.points[g];
        p.area * (1.0 - p.nat.sin0 * p.nat.sin0).max(0.0).sqrt()
    }
}

impl Moving for InMotion {
    fn unknowns(&self) -> usize {
        self.model.unknowns()
    }

    fn half_bandwidth(&self) -> usize {
        self.model.half_bandwidth()
    }

    fn mass(&self) -> &Band {
        &self.mass
    }

    fn norm(&self) -> &Band {
        &self.norm
    }

    fn damping(&self) -> f64 {
        self.around.damping
    }

    fn terms(&self) -> &[Relaxing] {
        &self.around.terms
    }

    fn measures(&self) -> usize {
        4 * self.model.points.len()
    }

    fn strain(&self, q: &[f64], out: &mut [f64]) {
        let q = self.model.nodal(q);
        for ((g, p), e) in self.model.points.iter().enumerate().zip(out.chunks_exact_mut(4)) {
            let m = measures(&self.model.local(&q, g), &self.model.natural_of(p, self.t, None));
            e.copy_from_slice(&[m.es, m.et, m.ks, m.kt]);
        }
    }

    fn force(&self, t: f64, x: &[f64], v: &[f64], xi: &[f64], out: &mut [f64]) -> bool {
        let m = &self.model;
        let q = m.nodal(x);
        let mut full = vec![0.0; q.len()];
        let memory = !self.around.terms.is_empty();
        let b = self.t * self.t;
        for (g, p) in m.points.iter().enumerate() {
            let y = m.local(&q, g);
            if y[0] <= 0.0 || y[1] * y[1] + y[3] * y[3] < 1e-2 {
                return false;
            }
            let f = m.point_force(p, &y, self.t, memory.then(|| &xi[4 * g..4 * g + 4]));
            add_force(&mut full[DOF * (g / GAUSS)..], &p.n, &f);
        }
        m.joint_forces(&q, b, &mut full);
        if let Some(s) = &m.springs {
            m.spring_forces(s, &q, 1.0 / self.t, &mut full);
        }
        let rim = q.len() - DOF + 3;
        self.each_touch(&q, |weight, at, touch| match at {
            Some(g) => m.spread(g, &[0.0, 0.0, weight * touch.g[1], 0.0], &mut full),
            None => full[rim] += weight * touch.g[1],
        });
        if self.around.drag > 0.0 {
            let dq = m.nodal_direction(v);
            for g in 0..m.points.len() {
                let w = m.place(&dq, g)[2];
                let f = self.around.drag * self.plan_area(g) / self.t * w * w.abs();
                m.spread(g, &[0.0, 0.0, f, 0.0], &mut full);
            }
        }
        let share = self.hand.as_ref().map_or(0.0, |h| h.share(t));
        if share > 0.0 {
            for (couple, at) in self.couples.iter().zip([0, q.len() - DOF]) {
                let ([da, db], _) = turning(q[at + 1], q[at + 4]);
                full[at + 1] -= share * couple * da;
                full[at + 4] -= share * couple * db;
            }
        }
        out.copy_from_slice(&m.force_of(full));
        out.iter_mut().zip(&self.dead).for_each(|(o, d)| *o -= d);
        if let Some(hand) = self.hand.as_ref().filter(|_| share > 0.0) {
            out.iter_mut().zip(&hand.force).for_each(|(o, f)| *o -= share * f);
        }
        true
    }

    fn tangent(&self, time: f64, x: &[f64], xi: &[f64], relaxing: &mut Band, rest: &mut Band) {
        relaxing.clear();
        rest.clear();
        let m = &self.model;
        let q = m.nodal(x);
        let memory = !self.around.terms.is_empty();
        let mut unused = vec![0.0; q.len()];
        for e in 0..m.elements() {
            let (mut own, mut other) = (Blocks::default(), Blocks::default());
            for g in GAUSS * e..GAUSS * (e + 1) {
                let p = &m.points[g];
                let y = m.local(&q, g);
                let (_, _, h, rest) = m.point_parts(p, &y, self.t, memory.then(|| &xi[4 * g..4 * g + 4]));
                if memory {
                    m.add_point(&mut own, p, &h);
                    m.add_point(&mut other, p, &rest);
                } else {
                    m.add_point(
                        &mut other,
                        p,
                        &std::array::from_fn(|i| std::array::from_fn(|j| h[i][j] + rest[i][j])),
                    );
                }
            }
            let mut k = other.whole();
            if m.ends_at_joint(e) {
                m.add_joint(e, &q, self.t, &mut k);
            }
            if let Some(s) = m.springs.filter(|_| e + 1 == m.elements()) {
                m.add_springs(&s, &q, self.t, &mut unused, &mut k);
            }
            let share = self.hand.as_ref().map_or(0.0, |h| h.share(time));
            if share > 0.0 {
                // Edges of this element that a hand turns: local place, place in the state, couple.
                let ends = [(0, 0, 0), (m.elements() - 1, DOF, 1)];
                for (_, local, end) in ends.into_iter().filter(|(at, ..)| *at == e) {
                    let at = if end == 0 { 0 } else { q.len() - DOF };
                    let [a, b] = [q[at + 1], q[at + 4]];
                    let size = (a * a + b * b) * (a * a + b * b);
                    let c = share * self.couples[end] / size;
                    k[local + 1][local + 1] -= c * 2.0 * a * b;
                    k[local + 4][local + 4] += c * 2.0 * a * b;
                    k[local + 1][local + 4] -= c * (b * b - a * a);
                    k[local + 4][local + 1] -= c * (b * b - a * a);
                }
            }
            m.turn_matrix(e, &mut k);
            m.scatter(e, &k, rest);
            if memory {
                let mut k = own.whole();
                m.turn_matrix(e, &mut k);
                m.scatter(e, &k, relaxing);
            }
        }
        if let Some(table) = &self.table {
            let n = x.len();
            let low = |z: f64| z < table.at + table.wall.soft;
            if (0..m.points.len()).any(|g| low(m.place(&q, g)[2])) {
                m.add_terms(&q, &mut vec![0.0; n], rest, |p, y| {
                    let touch = table.wall.touch(0.0, y[2], table.at)?;
                    let mut h = [[0.0; 4]; 4];
                    h[2][2] = p.area / self.t * touch.h[1][1];
                    Some((0.0, [0.0; 4], h))
                });
            }
            let rim = m.nodes.len() - 1;
            if table.round > 0.0
                && let (Some(i), Some(touch)) =
                    (m.height_of(rim), table.rim.touch(0.0, q[q.len() - DOF + 3], table.at))
            {
                rest.add(i, i, table.round / self.t * touch.h[1][1]);
            }
        }
    }

    fn relaxing_energy(&self, e: &[f64]) -> f64 {
        let points = self.model.points.iter().zip(e.chunks_exact(4));
        points.map(|(p, e)| self.model.form(p, [e[0], e[1], e[2], e[3]], self.t)).sum()
    }

    fn other_energy(&self, x: &[f64]) -> f64 {
        let q = self.model.nodal(x);
        let springs =
            self.model.springs.map_or(0.0, |s| rim_energy(&s, &q[q.len() - DOF..], self.model.rim_scale()));
        springs / self.t
            + self.model.joint_energy(&q, self.t)
            + self.contact_energy(x)
            + self.around.weight * self.total_mass * self.mean_height(x)
    }

    fn powers(&self, t: f64, x: &[f64], v: &[f64]) -> Powers {
        let mut out = Powers::default();
        if self.around.drag > 0.0 {
            let dq = self.model.nodal_direction(v);
            for g in 0..self.model.points.len() {
                let w = self.model.place(&dq, g)[2];
                out.lost += self.around.drag * self.plan_area(g) / self.t * w * w * w.abs();
            }
        }
        if let Some(hand) = &self.hand {
            let (q, dq) = (self.model.nodal(x), self.model.nodal_direction(v));
            let turned = |(couple, at): (&f64, usize)| {
                let ([da, db], _) = turning(q[at + 1], q[at + 4]);
                couple * (da * dq[at + 1] + db * dq[at + 4])
            };
            let couples: f64 = self.couples.iter().zip([0, q.len() - DOF]).map(turned).sum();
            out.supplied = hand.share(t) * (calotte_solve::potential::dot(&hand.force, v) + couples);
        }
        out
    }
}

impl Model {
    /// The model as it bends after the share `lag` of its stresses has relaxed in its exact mirror image: its natural
    /// curvatures are 1 − 2·lag of the real ones. (In the mirror image κ = −2 φ₀′, −2 sin φ₀/r₀ and no stretching; a share
    /// lag of that bears no stress any more.)
    pub fn turned(mut self, lag: f64) -> Self {
        for p in Arc::make_mut(&mut self.points) {
            p.nat.k0 *= 1.0 - 2.0 * lag;
            p.nat.sin0 *= 1.0 - 2.0 * lag;
        }
        self
    }

    /// The model with strains that bear no stress: ε_s, ε_θ, κ_s, κ_θ (times R) at each integration point, added to
    /// those of the natural state.
    pub fn strained(mut self, xi: &[f64]) -> Self {
        for (p, xi) in Arc::make_mut(&mut self.points).iter_mut().zip(xi.chunks_exact(4)) {
            p.nat = p.nat.shifted(xi);
        }
        self
    }
}

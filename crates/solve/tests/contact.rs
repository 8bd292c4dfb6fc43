//! Unilateral contact and long memories in time: a bouncing mass, a rod against a wall, a series of three terms.

#![allow(clippy::unwrap_used, reason = "helpers of tests, outside a #[test] function")]

use calotte_solve::march::Settings;
use calotte_solve::{Band, March, Moving, Powers, Relaxing, State};

/// A spring between two unknowns, or between one and the ground.
struct Link {
    a: usize,
    b: Option<usize>,
    stiffness: f64,
}

/// A wall at 0 below unknown 0: pushes with `c δ` on the penetration δ, set in once differentiably over |δ| < ε.
#[derive(Clone, Copy)]
struct Wall {
    c: f64,
    soft: f64,
}

impl Wall {
    /// Energy, push and stiffness at the place q.
    fn at(&self, q: f64) -> [f64; 3] {
        let (c, e, depth) = (self.c, self.soft, -q);
        if depth > e {
            [c * (0.5 * depth * depth + e * e / 6.0), c * depth, c]
        } else if depth > -e {
            let d = depth + e;
            [c * d * d * d / (12.0 * e), c * d * d / (4.0 * e), c * d / (2.0 * e)]
        } else {
            [0.0; 3]
        }
    }
}

/// Masses on links with memory, one of them over a wall, each with a weight; and a hardening of unknown 0 that has no
/// memory: `f = hard q³`.
struct System {
    mass: Band,
    norm: Band,
    links: Vec<Link>,
    terms: Vec<Relaxing>,
    wall: Option<Wall>,
    weight: f64,
    hard: f64,
}

impl System {
    fn one(mass: f64) -> Self {
        let diagonal = |x: f64| {
            let mut b = Band::new(1, 1);
            b.add(0, 0, x);
            b
        };
        Self {
            mass: diagonal(mass),
            norm: diagonal(1.0),
            links: Vec::new(),
            terms: Vec::new(),
            wall: None,
            weight: 0.0,
            hard: 0.0,
        }
    }

    fn push(&self, q: &[f64]) -> f64 {
        self.wall.map_or(0.0, |w| w.at(q[0])[1])
    }
}

impl Moving for System {
    fn unknowns(&self) -> usize {
        self.mass.size()
    }
    fn half_bandwidth(&self) -> usize {
        1
    }
    fn mass(&self) -> &Band {
        &self.mass
    }
    fn norm(&self) -> &Band {
        &self.norm
    }
    fn damping(&self) -> f64 {
        0.0
    }
    fn terms(&self) -> &[Relaxing] {
        &self.terms
    }
    fn measures(&self) -> usize {
        self.links.len()
    }
    fn strain(&self, q: &[f64], out: &mut [f64]) {
        for (l, e) in self.links.iter().zip(out) {
            *e = l.b.map_or(0.0, |b| q[b]) - q[l.a];
        }
    }
    fn force(&self, _: f64, q: &[f64], _: &[f64], xi: &[f64], out: &mut [f64]) -> bool {
        out.fill(self.weight);
        out[0] += self.hard * q[0] * q[0] * q[0] - self.push(q);
        for (l, xi) in self.links.iter().zip(xi) {
            let f = l.stiffness * (l.b.map_or(0.0, |b| q[b]) - q[l.a] - xi);
            out[l.a] -= f;
            if let Some(b) = l.b {
                out[b] += f;
            }
        }
        true
    }
    fn tangent(&self, _: f64, q: &[f64], _: &[f64], relaxing: &mut Band, rest: &mut Band) {
        relaxing.clear();
        rest.clear();
        rest.add(0, 0, 3.0 * self.hard * q[0] * q[0] + self.wall.map_or(0.0, |w| w.at(q[0])[2]));
        for l in &self.links {
            relaxing.add(l.a, l.a, l.stiffness);
            if let Some(b) = l.b {
                relaxing.add(b, b, l.stiffness);
                relaxing.add(b.max(l.a), b.min(l.a), -l.stiffness);
            }
        }
    }
    fn relaxing_energy(&self, e: &[f64]) -> f64 {
        self.links.iter().zip(e).map(|(l, e)| 0.5 * l.stiffness * e * e).sum()
    }
    fn other_energy(&self, q: &[f64]) -> f64 {
        let wall = self.wall.map_or(0.0, |w| w.at(q[0])[0]);
        wall + 0.25 * self.hard * q[0].powi(4) + self.weight * q.iter().sum::<f64>()
    }
    fn powers(&self, _: f64, _: &[f64], _: &[f64]) -> Powers {
        Powers::default()
    }
}

fn settings(tolerance: f64, time_scale: f64) -> Settings {
    Settings { tolerance, time_scale, first: 1e-4, longest: 1e9, shortest: 1e-14 }
}

/// Impulse of the wall over the step just taken, by the weights of the method.
fn impulse(m: &March<'_, System>, p: &System) -> f64 {
    let (t, r) = (m.taken(), m.radau());
    (0..3).map(|j| t.h * r.b[j] * p.push(&t.at(r, r.c[j]).0)).sum()
}

/// Share of the step just taken at which `f` of (q, v) turns from below zero to above, by bisection.
fn turns(m: &March<'_, System>, f: impl Fn(&[f64], &[f64]) -> f64) -> f64 {
    let (mut a, mut b) = (0.0, 1.0);
    for _ in 0..60 {
        let x = 0.5 * (a + b);
        let (q, v) = m.taken().at(m.radau(), x);
        if f(&q, &v) < 0.0 { a = x } else { b = x }
    }
    a
}

/// Closed form: without loss every apex is as high as the first, and a contact gives the impulse `2 m v` and that of the
/// weight over its time, whose length is `2 ∫ dq/√(2(E − V)/m)` (energy integral, by the midpoint rule in the test).
#[test]
fn a_bouncing_mass_keeps_its_height() {
    let (mass, g, height) = (0.7, 1.3, 1.0);
    for (c, soft) in [(2e3, 1e-3), (2e5, 1e-4)] {
        let mut p = System::one(mass);
        p.weight = mass * g;
        p.wall = Some(Wall { c, soft });
        let wall = Wall { c, soft };
        // Turning point below, by bisection; then q = low + (soft − low) s² takes the root out of the integral.
        let total = mass * g * height;
        let left = |q: f64| total - mass * g * q - wall.at(q)[0];
        let (mut low, mut high) = (-1.0, 0.0);
        for _ in 0..200 {
            let m = 0.5 * (low + high);
            if left(m) < 0.0 { low = m } else { high = m }
        }
        let n = 400_000;
        let span = soft - high;
        let time: f64 = (0..n)
            .map(|i| {
                let s = (f64::from(i) + 0.5) / f64::from(n);
                let speed = (2.0 * left(high + span * s * s) / mass).sqrt();
                2.0 * 2.0 * span * s / speed / f64::from(n)
            })
            .sum();
        let speed = (2.0 * g * (height - soft)).sqrt();
        let mut start = State::at_rest(&p, vec![height]);
        start.v[0] = 0.0;
        let before = start.ledger(&p).total();
        let mut m = March::new(&p, start, settings(1e-9, 1e-2));
        let (mut apexes, mut contacts) = (Vec::new(), Vec::new());
        let (mut pushed, mut touched) = (0.0, None);
        while apexes.len() < 3 {
            let (q0, v0) = (m.state().q[0], m.state().v[0]);
            m.step(f64::INFINITY).unwrap();
            let (q1, v1) = (m.state().q[0], m.state().v[0]);
            pushed += impulse(&m, &p);
            let now = |x: f64| m.taken().t + x * m.taken().h;
            if q0 >= soft && q1 < soft {
                touched = Some(now(turns(&m, |q, _| soft - q[0])));
            }
            if q0 < soft && q1 >= soft {
                contacts.push((now(turns(&m, |q, _| q[0] - soft)) - touched.unwrap(), pushed));
                pushed = 0.0;
            }
            if v0 > 0.0 && v1 <= 0.0 {
                apexes.push(m.taken().at(m.radau(), turns(&m, |_, v| -v[0])).0[0]);
            }
            let drift = m.state().ledger(&p).total() / before - 1.0;
            assert!(drift.abs() < 1e-6, "{c}: {drift:e} at {}", m.state().t);
        }
        assert_eq!(contacts.len(), 3);
        for (apex, (lasted, pushed)) in apexes.iter().zip(&contacts) {
            assert!((apex / height - 1.0).abs() < 1e-6, "{c}: {apex}");
            assert!((lasted / time - 1.0).abs() < 1e-5, "{c}: {lasted} {time}");
            let expected = 2.0 * mass * speed + mass * g * time;
            assert!((pushed / expected - 1.0).abs() < 1e-6, "{c}: {pushed} {expected}");
        }
        // A contact a hundred times shorter costs no more.
        assert!(m.count.steps < 400 && m.count.work.factorisations < 700, "{:?}", m.count);
    }
}

/// What a rod of `n` elements does at a wall: time in contact, mean force over the middle half of it, speed of the
/// rebound, impulse.
fn struck(n: usize) -> [f64; 4] {
    // Length, density times area, modulus times area and speed are 1: c = 1, ρ c A v = 1, mass 1.
    let h = 1.0 / n as f64;
    let (mut mass, mut norm) = (Band::new(n + 1, 1), Band::new(n + 1, 1));
    let mut links = Vec::new();
    for e in 0..n {
        for i in [e, e + 1] {
            mass.add(i, i, h / 3.0);
            norm.add(i, i, h / 2.0);
        }
        mass.add(e + 1, e, h / 6.0);
        links.push(Link { a: e, b: Some(e + 1), stiffness: n as f64 });
    }
    // The wall is as stiff as ten elements; it sets in over a thousandth of what an element is pressed.
    let wall = Wall { c: 10.0 * n as f64, soft: 1e-3 * h };
    let p = System { mass, norm, links, terms: Vec::new(), wall: Some(wall), weight: 0.0, hard: 0.0 };
    let mut start = State::at_rest(&p, vec![2.0 * wall.soft; n + 1]);
    start.v.fill(-1.0);
    let before = start.ledger(&p).total();
    // The damping of the method takes what is left of the front; steps are short enough to keep it small.
    let mut m = March::new(&p, start, settings(2e-9, h));
    let (mut first, mut last, mut pushed, mut middle) = (None, 0.0, 0.0, 0.0);
    while m.state().t < 3.0 {
        // Ends of the middle half are ends of steps.
        let next = [0.5, 1.5, 3.0].into_iter().find(|t| *t > m.state().t + 1e-12).unwrap();
        m.step(next).unwrap();
        let add = impulse(&m, &p);
        if add > 0.0 {
            first.get_or_insert(m.taken().t);
            last = m.state().t;
        }
        pushed += add;
        if m.state().t > 0.5 + 1e-12 && m.state().t <= 1.5 + 1e-12 {
            middle += add;
        }
    }
    let drift = m.state().ledger(&p).total() / before - 1.0;
    assert!(drift.abs() < 2e-6, "{n}: {drift:e}");
    let mut mv = vec![0.0; n + 1];
    p.mass.multiply(&m.state().v, &mut mv);
    let speed: f64 = mv.iter().sum();
    assert!((pushed - speed - 1.0).abs() < 1e-6, "{n}: {pushed} {speed}");
    [last - first.unwrap(), middle, speed, pushed]
}

/// Closed form (Saint-Venant's longitudinal impact; Timoshenko & Goodier, "Theory of Elasticity", chapter on waves, from
/// memory): a rod that strikes a rigid wall with the speed v stays for `2 L/c`, presses with `ρ c A v` and leaves with
/// v, its whole energy in the flight. Elements disperse the front; what that costs falls with their number.
#[test]
fn a_rod_leaves_a_wall_as_it_came() {
    let found: Vec<[f64; 4]> = [20, 40, 80, 160].iter().map(|n| struck(*n)).collect();
    let exact = [2.0, 1.0, 1.0, 2.0];
    let off = |i: usize, k: usize| (found[i][k] - exact[k]).abs();
    for k in 0..4 {
        for i in 0..3 {
            assert!(off(i + 1, k) < off(i, k), "{k} {i}: {found:?}");
        }
        assert!(off(3, k) < 0.5 * off(0, k), "{k}: {found:?}");
    }
    // 80 elements: time in contact, force, rebound, impulse.
    for (k, within) in [0.01, 0.004, 0.0125, 0.0065].into_iter().enumerate() {
        assert!(off(2, k) < within * exact[k], "{k}: {found:?}");
    }
}

/// Fourth-order Runge–Kutta with a tiny step on `m q̈ = −hard q³ − k(q − Σ gᵢαᵢ) − w`, `α̇ᵢ = (q − αᵢ)/τᵢ`.
fn reference(
    mass: f64,
    k: f64,
    hard: f64,
    w: f64,
    terms: &[Relaxing; 3],
    mut y: [f64; 5],
    t: f64,
) -> [f64; 5] {
    let rate = |y: &[f64; 5]| -> [f64; 5] {
        let xi: f64 = (0..3).map(|i| terms[i].share * y[2 + i]).sum();
        let a = (-hard * y[0] * y[0] * y[0] - k * (y[0] - xi) - w) / mass;
        let relax = |i: usize| (y[0] - y[2 + i]) / terms[i].time;
        [y[1], a, relax(0), relax(1), relax(2)]
    };
    let steps = (t / 1e-4).ceil();
    let h = t / steps;
    let ahead = |y: &[f64; 5], k: &[f64; 5], c: f64| -> [f64; 5] { std::array::from_fn(|i| y[i] + c * k[i]) };
    for _ in 0..steps as u64 {
        let a = rate(&y);
        let b = rate(&ahead(&y, &a, 0.5 * h));
        let c = rate(&ahead(&y, &b, 0.5 * h));
        let d = rate(&ahead(&y, &c, h));
        y = std::array::from_fn(|i| y[i] + h / 6.0 * (a[i] + 2.0 * b[i] + 2.0 * c[i] + d[i]));
    }
    y
}

/// Recomputed from the stated equations with an independent program (the fixed-step one above): a hardening oscillator
/// on a spring with three relaxing terms, held pressed for a while and released.
#[test]
fn three_terms_held_and_released_follow_a_fixed_step_reference() {
    let terms = [
        Relaxing { share: 0.15, time: 0.05 },
        Relaxing { share: 0.25, time: 0.9 },
        Relaxing { share: 0.3, time: 14.0 },
    ];
    let (mass, k, hard, w, hold) = (0.8, 2.0, 0.6, 0.1, 1.7);
    let mut p = System::one(mass);
    p.links = vec![Link { a: 0, b: None, stiffness: k }];
    p.terms = terms.to_vec();
    p.hard = hard;
    p.weight = w;
    let q0 = -1.2;
    let start = State::at_rest(&p, vec![q0]).held(&p, hold);
    // The link's measure is −q.
    for (a, term) in start.alpha.iter().zip(&terms) {
        assert!((a + q0 * (1.0 - libm::exp(-hold / term.time))).abs() < 1e-14);
    }
    let y0 = [q0, 0.0, -start.alpha[0], -start.alpha[1], -start.alpha[2]];
    let before = start.ledger(&p).total();
    let mut m = March::new(&p, start, settings(1e-10, 1.0));
    for t in [0.3, 2.0, 9.0, 40.0] {
        while m.state().t < t {
            m.step(t).unwrap();
        }
        let y = reference(mass, k, hard, w, &terms, y0, t);
        let s = m.state();
        let found = [s.q[0], s.v[0], -s.alpha[0], -s.alpha[1], -s.alpha[2]];
        for (i, (a, b)) in found.iter().zip(y).enumerate() {
            assert!((a - b).abs() < 1e-7, "{t}, {i}: {a} {b}");
        }
        let ledger = s.ledger(&p);
        assert!((ledger.total() / before - 1.0).abs() < 1e-7, "{t}: {}", ledger.total() / before - 1.0);
        assert!(ledger.relaxed > 0.0);
    }
}

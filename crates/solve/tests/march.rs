//! Time stepping against closed forms: a pendulum, a relaxing spring, saddle-node passages, a drag law.

#![allow(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use calotte_solve::march::Settings;
use calotte_solve::{Band, March, Moving, Powers, Relaxing, State};

/// One unknown: `m q̈ + c m q̇ + f(q) + k (q − ξ) = 0`, with memory on the spring k.
struct One {
    mass: Band,
    norm: Band,
    damping: f64,
    terms: Vec<Relaxing>,
    spring: f64,
    force: fn(f64) -> [f64; 3],
    drag: f64,
}

impl One {
    fn new(mass: f64, force: fn(f64) -> [f64; 3]) -> Self {
        let diagonal = |x: f64| {
            let mut b = Band::new(1, 1);
            b.add(0, 0, x);
            b
        };
        let (mass, norm) = (diagonal(mass), diagonal(1.0));
        Self { mass, norm, damping: 0.0, terms: Vec::new(), spring: 0.0, force, drag: 0.0 }
    }
}

impl Moving for One {
    fn unknowns(&self) -> usize {
        1
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
        self.damping
    }
    fn terms(&self) -> &[Relaxing] {
        &self.terms
    }
    fn measures(&self) -> usize {
        1
    }
    fn strain(&self, q: &[f64], out: &mut [f64]) {
        out[0] = q[0];
    }
    fn force(&self, _: f64, q: &[f64], v: &[f64], xi: &[f64], out: &mut [f64]) -> bool {
        out[0] = (self.force)(q[0])[1] + self.spring * (q[0] - xi[0]) + self.drag * v[0] * v[0].abs();
        true
    }
    fn tangent(&self, _: f64, q: &[f64], _: &[f64], relaxing: &mut Band, rest: &mut Band) {
        relaxing.clear();
        rest.clear();
        relaxing.add(0, 0, self.spring);
        rest.add(0, 0, (self.force)(q[0])[2]);
    }
    fn relaxing_energy(&self, e: &[f64]) -> f64 {
        0.5 * self.spring * e[0] * e[0]
    }
    fn other_energy(&self, q: &[f64]) -> f64 {
        (self.force)(q[0])[0]
    }
    fn powers(&self, _: f64, _: &[f64], v: &[f64]) -> Powers {
        Powers { lost: self.drag * v[0].abs().powi(3), supplied: 0.0 }
    }
}

fn settings(tolerance: f64) -> Settings {
    Settings { tolerance, time_scale: 1.0, first: 1e-3, longest: 1e9, shortest: 1e-14 }
}

fn at(p: &One, q: f64, v: f64) -> State {
    let mut s = State::at_rest(p, vec![q]);
    s.v[0] = v;
    s
}

/// Marches until `t`; the state there and the number of steps.
fn to(p: &One, start: State, t: f64, tolerance: f64) -> (State, u64) {
    let mut m = March::new(p, start, settings(tolerance));
    while m.state().t < t {
        m.step(t).unwrap();
    }
    (m.state().clone(), m.count.steps)
}

/// Time at which q passes `level`, by bisection of the collocation polynomial.
fn passes(p: &One, start: State, level: f64, tolerance: f64) -> f64 {
    let mut m = March::new(p, start, settings(tolerance));
    loop {
        m.step(f64::INFINITY).unwrap();
        if m.state().q[0] >= level {
            let (mut a, mut b) = (0.0, 1.0);
            for _ in 0..60 {
                let x = 0.5 * (a + b);
                if m.taken().at(m.radau(), x).0[0] < level { a = x } else { b = x }
            }
            return m.taken().t + a * m.taken().h;
        }
    }
}

/// Closed form: a pendulum let go at 90° swings through in `T/4 = K(1/√2)`, the complete elliptic integral 1.85407467730137
/// (Abramowitz & Stegun 1964, table 17.1).
#[test]
fn a_pendulum_keeps_its_period_and_its_energy() {
    let p = One::new(1.0, |q| [1.0 - libm::cos(q), libm::sin(q), libm::cos(q)]);
    let start = at(&p, -std::f64::consts::FRAC_PI_2, 0.0);
    let quarter = passes(&p, start.clone(), 0.0, 1e-9);
    assert!((quarter - 1.854_074_677_301_37).abs() < 2e-8, "{quarter}");
    let before = start.ledger(&p).total();
    let (end, _) = to(&p, start, 50.0, 1e-9);
    assert!((end.ledger(&p).total() / before - 1.0).abs() < 1e-7);
}

/// Closed form: the error of an oscillator at a fixed time falls with the fifth power of the step.
#[test]
fn the_order_is_five() {
    let p = One::new(1.0, |q| [0.5 * q * q, q, 1.0]);
    let error = |steps: u32| {
        let h = 2.0 / f64::from(steps);
        let set = Settings { tolerance: 1e3, first: h, longest: h, ..settings(1.0) };
        let mut m = March::new(&p, at(&p, 1.0, 0.0), set);
        while m.count.steps < u64::from(steps) {
            m.step(f64::INFINITY).unwrap();
        }
        (m.state().q[0] - libm::cos(m.state().t)).abs()
    };
    let order = (error(8) / error(16)).log2();
    assert!((order - 5.0).abs() < 0.3, "{order}");
}

/// Closed form: a weight hung on a relaxing spring creeps from `F/k` to `F/(k (1 − g))` with the time `τ/(1 − g)`; without
/// inertia, and with an inertia too small to matter.
#[test]
fn a_relaxing_spring_creeps() {
    let (g, tau) = (0.4, 3.0);
    for mass in [0.0, 1e-10] {
        let mut p = One::new(mass, |q| [-q, -1.0, 0.0]);
        p.spring = 1.0;
        p.terms = vec![Relaxing { share: g, time: tau }];
        for t in [0.1, 3.0, 40.0] {
            let mut set = settings(1e-8);
            set.time_scale = 1e-5;
            let mut m = March::new(&p, at(&p, 1.0, 0.0), set);
            while m.state().t < t {
                m.step(t).unwrap();
            }
            let whole = 1.0 / (1.0 - g);
            let expected = whole - (whole - 1.0) * libm::exp(-t * (1.0 - g) / tau);
            assert!((m.state().q[0] / expected - 1.0).abs() < 1e-7, "{mass} {t}: {}", m.state().q[0]);
            // Weight's work, what is stored and what is lost balance.
            let (a, b) = (at(&p, 1.0, 0.0).ledger(&p).total(), m.state().ledger(&p).total());
            assert!((a - b).abs() < 1e-7, "{mass} {t}: {a} {b}");
        }
        // Ringing too small to see is stepped over: a thousand times the creep's own time in few steps.
        let set = Settings { time_scale: 1e-5, ..settings(1e-5) };
        let mut m = March::new(&p, at(&p, 1.0, 0.0), set);
        while m.state().t < 1e3 {
            m.step(1e3).unwrap();
        }
        assert!(m.count.steps < 100, "{}", m.count.steps);
    }
}

/// Closed form: a spring with memory in free vibration, `x = e^{st}` with the roots of `s² + 1 − g/(1 + sτ) = 0`
/// (here the cubic is solved by bisection of its real root and division).
#[test]
fn a_relaxing_spring_rings_and_decays() {
    let (g, tau) = (0.3, 0.7);
    let mut p = One::new(1.0, |_| [0.0; 3]);
    p.spring = 1.0;
    p.terms = vec![Relaxing { share: g, time: tau }];
    // τ s³ + s² + τ s + (1 − g) = 0.
    let f = |s: f64| ((tau * s + 1.0) * s + tau) * s + 1.0 - g;
    let (mut a, mut b) = (-1.0 / tau, 0.0);
    for _ in 0..200 {
        let m = 0.5 * (a + b);
        if f(m) < 0.0 { a = m } else { b = m }
    }
    let s0 = 0.5 * (a + b);
    let (sum, product) = (-1.0 / tau - s0, -(1.0 - g) / tau / s0);
    let (decay, omega) = (0.5 * sum, (product - 0.25 * sum * sum).sqrt());
    // x(0) = 1, x'(0) = 0, x''(0) = −1 (nothing has relaxed yet): x = A e^{s₀t} + e^{dt}(B cos ωt + C sin ωt).
    let rows = |a: f64| {
        let bb = 1.0 - a;
        let c = (-s0 * a - decay * bb) / omega;
        (bb, c, s0 * s0 * a + (decay * decay - omega * omega) * bb + 2.0 * decay * omega * c)
    };
    let (r0, r1) = (rows(0.0).2, rows(1.0).2);
    let amp = (-1.0 - r0) / (r1 - r0);
    let (bb, c, _) = rows(amp);
    for t in [1.0, 5.0, 20.0] {
        let expected = amp * libm::exp(s0 * t)
            + libm::exp(decay * t) * (bb * libm::cos(omega * t) + c * libm::sin(omega * t));
        let start = at(&p, 1.0, 0.0);
        let total = start.ledger(&p).total();
        let (end, _) = to(&p, start, t, 1e-10);
        assert!((end.q[0] - expected).abs() < 1e-8, "{t}: {} {expected}", end.q[0]);
        assert!((end.ledger(&p).total() / total - 1.0).abs() < 1e-7);
    }
}

/// Closed forms for `ẍ = μ + x²` and `c ẋ = μ + x²` (a saddle-node just passed): from rest at 0 the inertial motion
/// escapes after 3.45082 μ^{−1/4} (energy integral ∫dx/√(2(μx + x³/3)); recomputed here by quadrature), the overdamped one, from −∞,
/// after π/√μ (Strogatz 1994, "Nonlinear Dynamics and Chaos", section 4.3).
#[test]
fn saddle_nodes_are_passed_in_the_known_times() {
    // x = 1/u² − 1 … : ∫₀^∞ dx/√(2(x + x³/3)) with x = tan²(θ/2)·√3, done by the midpoint rule on a smooth integrand.
    let n = 20_000;
    let integral: f64 = (0..n)
        .map(|i| {
            let s = (f64::from(i) + 0.5) / f64::from(n);
            // x = y², y = s/(1 − s): dx/√(x…) = 2 dy/√(2(1 + y⁴/3)).
            let y = s / (1.0 - s);
            2.0 / (2.0 * (1.0 + y.powi(4) / 3.0)).sqrt() / ((1.0 - s) * (1.0 - s)) / f64::from(n)
        })
        .sum();
    assert!((integral - 3.450_82).abs() < 1e-5, "{integral}");
    // Escape is read where what is left to infinity is known to leading order: √6 · 2/√x.
    let far = 1e4;
    let p = One::new(1.0, |x| [-x - x * x * x / 3.0, -1.0 - x * x, -2.0 * x]);
    let set = Settings { time_scale: 1e-3, ..settings(1e-7) };
    let mut m = March::new(&p, at(&p, 0.0, 0.0), set);
    while m.state().q[0] < far {
        m.step(f64::INFINITY).unwrap();
    }
    let left = 6.0_f64.sqrt() / m.state().q[0].sqrt();
    assert!((m.state().t + left - integral).abs() < 1e-5, "{}", m.state().t + left);
    // Overdamped: m so small that only c m counts.
    let mut p = One::new(1e-9, |x| [-x - x * x * x / 3.0, -1.0 - x * x, -2.0 * x]);
    p.damping = 1e9;
    let from = -50.0;
    let set = Settings { time_scale: 0.0, ..settings(1e-8) };
    let mut m = March::new(&p, at(&p, from, 1.0 + from * from), set);
    while m.state().q[0] < 50.0 {
        m.step(f64::INFINITY).unwrap();
    }
    let (q, t) = (m.state().q[0], m.state().t);
    let exact = libm::atan(q) - libm::atan(from);
    assert!((t / exact - 1.0).abs() < 1e-6, "{t} {exact}");
    assert!((t + 1.0 / q - 1.0 / from - std::f64::consts::PI).abs() < 1e-4);
}

/// Closed form: fall from rest against square drag, `v = v∞ tanh(g t/v∞)`.
#[test]
fn a_fall_with_drag_reaches_its_speed() {
    let mut p = One::new(2.0, |q| [2.0 * q, 2.0, 0.0]);
    p.drag = 0.5;
    let start = at(&p, 0.0, 0.0);
    let (end, _) = to(&p, start, 3.0, 1e-10);
    let v = -2.0 * libm::tanh(0.5 * 3.0);
    assert!((end.v[0] - v).abs() < 1e-8, "{} {v}", end.v[0]);
    assert!(end.ledger(&p).total().abs() < 1e-7, "{}", end.ledger(&p).total());
}

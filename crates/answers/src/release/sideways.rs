//! Growth of sideways deflections along a motion, linearised.
//!
//! An imperfection is taken as a small sideways force that stays on: it deflects the part, when the hand is gone, by
//! the amplitude of the case in its softest mode φ of the wave number n, so `F = |ω²| M φ a`. (While the hand is there it
//! holds the part sideways too.) Along the axisymmetric motion
//! the deflection w obeys `M ẅ + Kₙ(q(t), ξ(t)) w = F`, with the second variation Kₙ of the instantaneous stiffness at each
//! state (the memory enters through the stresses it leaves; the deflection itself is taken as too quick to relax). Steps are
//! those of the motion, by the trapezoidal rule (Newmark 1959, J. Eng. Mech. Div. ASCE 85(3), 67, with β = 1/4, γ = 1/2).
//! Rigid motions are taken out of force and deflection at each step; a table does not hold the part sideways.

use calotte_shell::{Harmonics, InMotion};
use calotte_solve::potential::dot;
use calotte_solve::{Band, State, Work};

use super::report::Sideways;
use super::setup::Setup;

/// Wave numbers followed.
const WAVES: [u32; 3] = [1, 2, 3];
/// Samples kept of each.
const KEPT: usize = 400;
/// Points per element at which the deflection is looked at.
const SAMPLES: usize = 3;

/// One wave number under way.
struct Sway {
    n: u32,
    w: Vec<f64>,
    v: Vec<f64>,
    a: Vec<f64>,
    force: Vec<f64>,
    times: Vec<f64>,
    sizes: Vec<f64>,
    unstable: usize,
}

/// All wave numbers along one motion.
pub(crate) struct Growth<'a> {
    motion: &'a InMotion,
    sways: Vec<Sway>,
    /// Wave numbers that could not be followed, or not to the end.
    lost: Vec<u32>,
    /// Amplitude over R, and the time at which the hand is gone.
    amplitude: f64,
    from: f64,
    last: Option<f64>,
    done: bool,
    work: Work,
}

fn assembled(motion: &InMotion, state: &State) -> calotte_shell::Model {
    motion.model().clone().strained(&state.memory(motion))
}

impl<'a> Growth<'a> {
    /// `amplitude` is over R; `from` is when the hand is gone.
    pub(crate) fn new(motion: &'a InMotion, amplitude: f64, from: f64) -> Self {
        let done = amplitude <= 0.0;
        Self {
            motion,
            sways: Vec::new(),
            lost: Vec::new(),
            amplitude,
            from,
            last: None,
            done,
            work: Work::default(),
        }
    }

    fn begin(&mut self, state: &State) {
        let amplitude = self.amplitude;
        let model = assembled(self.motion, state);
        let h = Harmonics::new(&model, &state.q, self.motion.thickness_factor());
        for n in WAVES {
            let Some((mode, _)) = h.smallest(n, None, &mut self.work) else {
                self.lost.push(n);
                continue;
            };
            let top = largest(&model, &mode.vector, n);
            let w: Vec<f64> = mode.vector.iter().map(|x| x * amplitude / top).collect();
            let (_, m, _) = h.motion(n);
            let mut force = vec![0.0; w.len()];
            m.multiply(&w, &mut force);
            force.iter_mut().for_each(|f| *f *= mode.value.abs());
            // From rest; where the mode is unstable already, force and stiffness push alike.
            let rate = if mode.value < 0.0 { 2.0 * mode.value.abs() } else { 0.0 };
            let a = w.iter().map(|x| rate * x).collect();
            self.sways.push(Sway {
                n,
                v: vec![0.0; w.len()],
                a,
                force,
                times: vec![state.t],
                sizes: vec![amplitude],
                unstable: mode.negative,
                w,
            });
        }
    }

    /// After a step of the motion; `snapped` ends it.
    pub(crate) fn step(&mut self, state: &State, snapped: bool) {
        if self.done {
            return;
        }
        self.done = snapped;
        let Some(last) = self.last else {
            if state.t >= self.from {
                self.begin(state);
                self.last = Some(state.t);
            }
            return;
        };
        let h = state.t - last;
        self.last = Some(state.t);
        let model = assembled(self.motion, state);
        let harmonics = Harmonics::new(&model, &state.q, self.motion.thickness_factor());
        let mut ended = Vec::new();
        for s in self.sways.iter_mut().filter(|s| !self.lost.contains(&s.n)) {
            let (k, m, rigid) = harmonics.motion(s.n);
            let rigid = Rigid::new(&rigid, &m);
            rigid.take_from_force(&mut s.force);
            self.work.factorisations += 1;
            if advance(s, k, &m, h).is_none() {
                // A matrix that cannot be factored ends the account of this wave number.
                ended.push(s.n);
                continue;
            }
            for x in [&mut s.w, &mut s.v, &mut s.a] {
                rigid.take_from(x);
            }
            if let Some(count) = harmonics.negative(s.n, &mut self.work) {
                s.unstable = s.unstable.max(count);
            }
            s.times.push(state.t);
            s.sizes.push(largest(&model, &s.w, s.n));
        }
        self.lost.extend(ended);
    }

    /// Wave numbers that could not be followed, or not to the end.
    pub(crate) fn lost(&self) -> Vec<u32> {
        self.lost.clone()
    }

    pub(crate) fn report(self, setup: &Setup) -> Vec<Sideways> {
        let u = &setup.units;
        let h = setup.scene.rim_thickness * setup.scene.own;
        self.sways
            .into_iter()
            .filter_map(|s| {
                let start = *s.sizes.first()?;
                let (at, top) = s
                    .sizes
                    .iter()
                    .enumerate()
                    .max_by(|a, b| a.1.total_cmp(b.1))
                    .map(|(i, x)| (s.times[i], *x))?;
                let stride = s.times.len().div_ceil(KEPT).max(1);
                let last = s.times.len() - 1;
                let kept: Vec<usize> = (0..=last).filter(|i| i % stride == 0 || *i == last).collect();
                Some(Sideways {
                    n: s.n,
                    start_m: start * u.length,
                    largest_m: top * u.length,
                    largest_at_s: at * u.time,
                    growth: top / start,
                    unstable_modes: s.unstable,
                    wins: top > h,
                    time_s: kept.iter().map(|i| s.times[*i] * u.time).collect(),
                    amplitude_m: kept.iter().map(|i| s.sizes[*i] * u.length).collect(),
                })
            })
            .collect()
    }
}

/// Rigid motions, orthonormal in the mass, with their products with it.
struct Rigid(Vec<[Vec<f64>; 2]>);

impl Rigid {
    fn new(vectors: &[Vec<f64>], m: &Band) -> Self {
        let mut basis: Vec<[Vec<f64>; 2]> = Vec::new();
        for v in vectors {
            let (mut v, mut mv) = (v.clone(), vec![0.0; v.len()]);
            // Twice is enough (Gram–Schmidt).
            for _ in 0..2 {
                for [b, mb] in &basis {
                    let c = dot(&v, mb);
                    v.iter_mut().zip(b).for_each(|(x, y)| *x -= c * y);
                }
            }
            m.multiply(&v, &mut mv);
            let size = dot(&v, &mv).sqrt();
            v.iter_mut().chain(mv.iter_mut()).for_each(|x| *x /= size);
            basis.push([v, mv]);
        }
        Self(basis)
    }

    fn take_from(&self, x: &mut [f64]) {
        for [b, mb] in &self.0 {
            let c = dot(x, mb);
            x.iter_mut().zip(b).for_each(|(x, y)| *x -= c * y);
        }
    }

    fn take_from_force(&self, f: &mut [f64]) {
        for [b, mb] in &self.0 {
            let c = dot(f, b);
            f.iter_mut().zip(mb).for_each(|(x, y)| *x -= c * y);
        }
    }
}

/// Largest deflection anywhere on the part.
fn largest(model: &calotte_shell::Model, vector: &[f64], n: u32) -> f64 {
    model
        .ripple_samples(vector, n, SAMPLES)
        .iter()
        .map(|[_, u, v, w]| (u * u + w * w).max(v * v).sqrt())
        .fold(0.0, f64::max)
}

/// One trapezoidal step with the stiffness at its end.
fn advance(s: &mut Sway, mut k: Band, m: &Band, h: f64) -> Option<()> {
    let n = s.w.len();
    let c = 4.0 / (h * h);
    // (K + 4M/h²) w₁ = F + M (4 w₀/h² + 4 v₀/h + a₀).
    let b: Vec<f64> = (0..n).map(|i| c * s.w[i] + 4.0 / h * s.v[i] + s.a[i]).collect();
    let mut x = vec![0.0; n];
    m.multiply(&b, &mut x);
    x.iter_mut().zip(&s.force).for_each(|(x, f)| *x += f);
    k.add_scaled(c, m);
    k.factor().ok()?.solve(&mut x);
    for i in 0..n {
        let a = c * (x[i] - s.w[i]) - 4.0 / h * s.v[i] - s.a[i];
        s.v[i] += 0.5 * h * (s.a[i] + a);
        s.a[i] = a;
        s.w[i] = x[i];
    }
    x.iter().all(|v| v.is_finite()).then_some(())
}

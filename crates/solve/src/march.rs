//! Adaptive implicit time stepping: Radau IIA of order 5 on second-order systems with memory.
//!
//! The unknowns of a step are the increments z of q at three stages; velocities follow from the collocation and the
//! memory variables are eliminated exactly, stage by stage. In the eigenbasis of A⁻¹ Newton's matrix falls apart into
//!
//! `(s² + c s) M + (1 − Σ gᵢ/(1 + s τᵢ)) K_relaxing + K_rest`,   s = λ/h,
//!
//! one real and one complex banded system: the relaxing tangent times the complex modulus at the Laplace variable s.
//! With M = 0 the same lines step a motion without inertia (the equilibrium that creeps).
//! Step control after Hairer & Wanner 1996, "Solving Ordinary Differential Equations II", section IV.8.

use crate::band::{Band, Factor};
use crate::complex_band::ComplexFactor;
use crate::moving::{Moving, State};
use crate::potential::dot;
use crate::radau::{Radau, STAGES};
use crate::work::Work;

/// Controls of a march.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// Local error allowed, in the norm of displacements (and of velocities times `time_scale`).
    pub tolerance: f64,
    /// Time that turns velocities into displacements; 0 leaves velocities out of the error.
    pub time_scale: f64,
    /// First step.
    pub first: f64,
    /// Longest step.
    pub longest: f64,
    /// Shortest step: below it the march is stuck.
    pub shortest: f64,
}

/// Why no step could be taken.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Stuck {
    /// The step would be shorter than allowed. Without inertia that is where an equilibrium ends.
    Shortest {
        /// Time reached.
        t: f64,
    },
    /// The forces cannot be evaluated at the start of a step.
    Inadmissible {
        /// Time reached.
        t: f64,
    },
}

/// A step that was taken, for values within it.
#[derive(Clone, Debug, Default)]
pub struct Taken {
    /// Time at its start.
    pub t: f64,
    /// Length.
    pub h: f64,
    q: Vec<f64>,
    v: Vec<f64>,
    z: [Vec<f64>; STAGES],
    y: [Vec<f64>; STAGES],
}

impl Taken {
    /// Unknowns and velocities at the share `x` (0 to 1) of the step, by the collocation polynomials.
    pub fn at(&self, radau: &Radau, x: f64) -> (Vec<f64>, Vec<f64>) {
        let n = radau.shape(x);
        let mix = |from: &[f64], z: &[Vec<f64>; STAGES]| -> Vec<f64> {
            (0..from.len()).map(|i| from[i] + n[0] * z[0][i] + n[1] * z[1][i] + n[2] * z[2][i]).collect()
        };
        (mix(&self.q, &self.z), mix(&self.v, &self.y))
    }
}

/// A march under way.
pub struct March<'a, P: Moving> {
    p: &'a P,
    set: Settings,
    radau: Radau,
    state: State,
    last: Taken,
    h: f64,
    // Step and error of the last accepted step, for the predictive controller.
    history: Option<[f64; 2]>,
    factors: Option<Factors>,
    // Contraction of the last Newton iteration.
    contraction: f64,
    inertial: bool,
    /// Steps taken and refused, work done.
    pub count: Count,
}

/// Work of a march.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Count {
    /// Steps taken.
    pub steps: u64,
    /// Steps refused.
    pub refused: u64,
    /// Newton iterations.
    pub iterations: u64,
    /// Evaluations of forces, tangents and factors.
    pub work: Work,
}

struct Factors {
    h: f64,
    real: Factor,
    complex: ComplexFactor,
    // One step may use them again without a new tangent.
    fresh: bool,
}

/// Exact elimination of the memory variables over one step.
struct Elimination {
    // Σ gᵢ Pᵢ, and per term Pᵢ and Pᵢ θᵢ A⁻¹1.
    mix: [[f64; 3]; 3],
    each: Vec<([[f64; 3]; 3], [f64; 3])>,
    // Σ gᵢ (Pᵢ θᵢ A⁻¹1)ⱼ αᵢ⁰ for each stage.
    past: [Vec<f64>; STAGES],
}

fn inverse(a: [[f64; 3]; 3]) -> [[f64; 3]; 3] {
    let minor = |i: usize, j: usize| {
        let (p, q, s, t) = ((i + 1) % 3, (i + 2) % 3, (j + 1) % 3, (j + 2) % 3);
        a[p][s] * a[q][t] - a[p][t] * a[q][s]
    };
    let det: f64 = (0..3).map(|j| a[0][j] * minor(0, j)).sum();
    std::array::from_fn(|i| std::array::from_fn(|j| minor(j, i) / det))
}

enum Newton {
    Converged,
    Slow,
    Left,
}

/// Newton's iteration ends when the error left is below this share of the tolerance.
const KAPPA: f64 = 5e-4;

impl<'a, P: Moving> March<'a, P> {
    /// Starts at `state`.
    pub fn new(p: &'a P, state: State, set: Settings) -> Self {
        let n = p.unknowns();
        let inertial = p.mass().largest_diagonal() > 0.0;
        let zero = || std::array::from_fn(|_| vec![0.0; n]);
        let last = Taken { z: zero(), y: zero(), ..Taken::default() };
        Self {
            p,
            set,
            radau: Radau::default(),
            state,
            last,
            h: set.first,
            history: None,
            factors: None,
            contraction: 1.0,
            inertial,
            count: Count::default(),
        }
    }

    /// Where the march is.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The step just taken.
    pub fn taken(&self) -> &Taken {
        &self.last
    }

    /// The method's coefficients.
    pub fn radau(&self) -> &Radau {
        &self.radau
    }

    /// Length of the next step.
    pub fn next_step(&self) -> f64 {
        self.h
    }

    /// Allows another local error from here on.
    pub fn allow(&mut self, tolerance: f64) {
        self.set.tolerance = tolerance;
        self.history = None;
    }

    /// Restarts step control, for where the forces jump in time.
    pub fn restart(&mut self, first: f64) {
        self.h = first;
        self.history = None;
        self.factors = None;
        self.last.h = 0.0;
    }

    /// Takes one step, not past `until`.
    ///
    /// # Errors
    /// See [`Stuck`].
    pub fn step(&mut self, until: f64) -> Result<(), Stuck> {
        let p = self.p;
        let n = p.unknowns();
        let t0 = self.state.t;
        let mut strain = vec![0.0; p.measures()];
        if !p.terms().is_empty() {
            p.strain(&self.state.q, &mut strain);
        }
        let xi = self.state.memory(p);
        let mut f0 = vec![0.0; n];
        self.count.work.assemblies += 1;
        if !p.force(t0, &self.state.q, &self.state.v, &xi, &mut f0) {
            return Err(Stuck::Inadmissible { t: t0 });
        }
        let mut refused = false;
        loop {
            let left = until - t0;
            // No sliver is left for a last step.
            let mut h = self.h.min(self.set.longest);
            if h > 0.999 * left {
                h = left;
            } else if h > 0.5 * left {
                h = 0.5 * left;
            }
            if h < self.set.shortest && h < left {
                return Err(Stuck::Shortest { t: t0 });
            }
            let mut z = self.predict(h);
            if !self.factored(h, &z, &xi) {
                self.shrink(0.5);
                refused = true;
                continue;
            }
            let eliminated = self.eliminate(h);
            match self.newton(h, &eliminated, &mut z) {
                Newton::Converged => {}
                Newton::Slow => {
                    self.count.refused += 1;
                    let again = self.factors.as_ref().is_some_and(|f| !f.fresh);
                    self.factors = None;
                    if !again {
                        self.shrink(0.5);
                        refused = true;
                    }
                    continue;
                }
                Newton::Left => {
                    self.count.refused += 1;
                    self.shrink(0.25);
                    refused = true;
                    continue;
                }
            }
            let error = self.error(h, &z, &strain, &f0, &xi, refused);
            // Hairer & Wanner's controller; the estimate is of order 3.
            let quarter = |e: f64| e.max(1e-10).sqrt().sqrt();
            let plain = 0.9 / quarter(error);
            if error.is_nan() || error > 1.0 {
                self.count.refused += 1;
                self.shrink(if error.is_nan() { 0.1 } else { plain.clamp(0.125, 0.8) });
                refused = true;
                continue;
            }
            let mut factor = plain;
            if let Some([before, past]) = self.history {
                let predicted = 0.9 * h / before * quarter(past.max(1e-2)) / quarter(error * error);
                factor = factor.min(predicted);
            }
            if refused {
                factor = factor.min(1.0);
            }
            let factor = factor.clamp(0.2, 6.0);
            self.accept(h, z, &eliminated);
            // A step cut short by `until` says nothing against longer ones.
            let cut = h < self.h;
            let next = if cut { self.h.min(h * plain.max(1.0)) } else { h * factor };
            // Small changes are not worth new factors.
            let keep = (1.0..1.2).contains(&(next / h)) && self.contraction < 1e-2 && !cut;
            self.h = if keep { h } else { next };
            if let Some(f) = &mut self.factors {
                f.fresh = false;
            }
            if self.contraction > 1e-2 {
                self.factors = None;
            }
            self.history = Some([h, error.max(1e-10)]);
            self.count.steps += 1;
            return Ok(());
        }
    }

    fn shrink(&mut self, by: f64) {
        let h = self.factors.as_ref().map_or(self.h, |f| f.h);
        self.h = by * h.min(self.h);
        self.factors = None;
    }

    /// Has factors for the step h, old or new; `false` when a pivot vanishes.
    /// The tangent is that of the middle of the step as it is expected: stiff directions that turn on the way would slow
    /// Newton's iteration down.
    fn factored(&mut self, h: f64, z: &[Vec<f64>; STAGES], xi: &[f64]) -> bool {
        if self.factors.as_ref().is_some_and(|f| f.h == h) {
            return true;
        }
        let p = self.p;
        let (n, half) = (p.unknowns(), p.half_bandwidth());
        let (mut relaxing, mut rest) = (Band::new(n, half), Band::new(n, half));
        let middle = self.radau.shape(0.5);
        let q: Vec<f64> = (0..n)
            .map(|i| self.state.q[i] + middle[0] * z[0][i] + middle[1] * z[1][i] + middle[2] * z[2][i])
            .collect();
        p.tangent(self.state.t, &q, xi, &mut relaxing, &mut rest);
        self.count.work.assemblies += 1;
        let c = p.damping();
        let s = self.radau.gamma / h;
        let modulus = 1.0 - p.terms().iter().map(|m| m.share / (1.0 + s * m.time)).sum::<f64>();
        let mut real = rest.clone();
        real.add_scaled(modulus, &relaxing);
        real.add_scaled(s * s + c * s, p.mass());
        let [a, b] = self.radau.lambda.map(|x| x / h);
        let (mut mr, mut mi) = (1.0, 0.0);
        for m in p.terms() {
            let (x, y) = (1.0 + a * m.time, b * m.time);
            let size = x * x + y * y;
            mr -= m.share * x / size;
            mi += m.share * y / size;
        }
        let mut imaginary = relaxing.clone();
        imaginary.data_mut().iter_mut().for_each(|v| *v *= mi);
        imaginary.add_scaled(2.0 * a * b + c * b, p.mass());
        rest.add_scaled(mr, &relaxing);
        rest.add_scaled(a * a - b * b + c * a, p.mass());
        self.count.work.factorisations += 2;
        let (Ok(real), Ok(complex)) = (real.factor(), ComplexFactor::new(&rest, &imaginary)) else {
            self.factors = None;
            return false;
        };
        self.factors = Some(Factors { h, real, complex, fresh: true });
        true
    }

    fn eliminate(&self, h: f64) -> Elimination {
        let p = self.p;
        let m = p.measures();
        let mut own = Elimination {
            mix: [[0.0; 3]; 3],
            each: Vec::with_capacity(p.terms().len()),
            past: std::array::from_fn(|_| vec![0.0; m]),
        };
        for (i, term) in p.terms().iter().enumerate() {
            let theta = term.time / h;
            let one = |i: usize, j: usize| f64::from(u8::from(i == j));
            let w = &self.radau.w;
            let inv = inverse(std::array::from_fn(|i| std::array::from_fn(|j| theta * w[i][j] + one(i, j))));
            let from_past: [f64; 3] =
                std::array::from_fn(|i| theta * (0..3).map(|j| inv[i][j] * self.radau.w1[j]).sum::<f64>());
            let alpha = &self.state.alpha[i * m..(i + 1) * m];
            for j in 0..STAGES {
                for k in 0..STAGES {
                    own.mix[j][k] += term.share * inv[j][k];
                }
                let c = term.share * from_past[j];
                own.past[j].iter_mut().zip(alpha).for_each(|(x, a)| *x += c * a);
            }
            own.each.push((inv, from_past));
        }
        own
    }

    /// Increments expected from the last step's polynomial.
    fn predict(&self, h: f64) -> [Vec<f64>; STAGES] {
        let n = self.p.unknowns();
        let last = &self.last;
        if last.h == 0.0 {
            return std::array::from_fn(|j| self.state.v.iter().map(|v| self.radau.c[j] * h * v).collect());
        }
        let whole = self.radau.shape(1.0);
        std::array::from_fn(|j| {
            let s = self.radau.shape(1.0 + self.radau.c[j] * h / last.h);
            let d = [s[0] - whole[0], s[1] - whole[1], s[2] - whole[2]];
            (0..n).map(|i| d[0] * last.z[0][i] + d[1] * last.z[1][i] + d[2] * last.z[2][i]).collect()
        })
    }

    /// Measures at the stages.
    fn stage_strains(&self, z: &[Vec<f64>; STAGES]) -> [Vec<f64>; STAGES] {
        let p = self.p;
        std::array::from_fn(|j| {
            let mut e = vec![0.0; p.measures()];
            if !p.terms().is_empty() {
                p.strain(&moved(&self.state.q, &z[j]), &mut e);
            }
            e
        })
    }

    fn newton(&mut self, h: f64, eliminated: &Elimination, z: &mut [Vec<f64>; STAGES]) -> Newton {
        let p = self.p;
        let n = p.unknowns();
        let r = self.radau.clone();
        let Some(factors) = self.factors.take() else { return Newton::Slow };
        let c = p.damping();
        let (mut a, mut ma) = (vec![0.0; n], vec![0.0; n]);
        let mut residual: [Vec<f64>; STAGES] = std::array::from_fn(|_| vec![0.0; n]);
        let mut old = f64::NAN;
        let scale = if self.inertial { self.set.time_scale } else { 0.0 };
        // What the last step measured may flatter this one.
        let mut trust = libm::pow(self.contraction.clamp(0.02, 1.0), 0.8);
        let mut outcome = Newton::Slow;
        for iteration in 0..9 {
            self.count.iterations += 1;
            let strains = self.stage_strains(z);
            let v = self.stage_velocities(h, z);
            for j in 0..STAGES {
                let q = moved(&self.state.q, &z[j]);
                let mut xi = eliminated.past[j].clone();
                for k in 0..STAGES {
                    let g = eliminated.mix[j][k];
                    xi.iter_mut().zip(&strains[k]).for_each(|(x, e)| *x += g * e);
                }
                self.count.work.assemblies += 1;
                if !p.force(self.state.t + r.c[j] * h, &q, &v[j], &xi, &mut residual[j]) {
                    self.factors = Some(factors);
                    return Newton::Left;
                }
                if self.inertial {
                    for i in 0..n {
                        let w = r.ww[j][0] * z[0][i] + r.ww[j][1] * z[1][i] + r.ww[j][2] * z[2][i];
                        a[i] = w / (h * h) - r.w1[j] / h * self.state.v[i] + c * v[j][i];
                    }
                    p.mass().multiply(&a, &mut ma);
                    residual[j].iter_mut().zip(&ma).for_each(|(x, m)| *x += m);
                }
            }
            let mix = |w: &[f64; 3], i: usize| {
                -(w[0] * residual[0][i] + w[1] * residual[1][i] + w[2] * residual[2][i])
            };
            let mut d0: Vec<f64> = (0..n).map(|i| mix(&r.left_real, i)).collect();
            let parts = |part: usize| r.left_complex.map(|l| l[part]);
            let mut dr: Vec<f64> = (0..n).map(|i| mix(&parts(0), i)).collect();
            let mut di: Vec<f64> = (0..n).map(|i| mix(&parts(1), i)).collect();
            factors.real.solve(&mut d0);
            factors.complex.solve(&mut dr, &mut di);
            self.count.work.solves += 2;
            let mut square = 0.0;
            for j in 0..STAGES {
                let [x, y] = r.complex[j];
                for i in 0..n {
                    a[i] = r.real[j] * d0[i] + 2.0 * (x * dr[i] - y * di[i]);
                    z[j][i] += a[i];
                }
                p.norm().multiply(&a, &mut ma);
                square += dot(&a, &ma).max(0.0) / 3.0;
            }
            // An error left in z is one of z/h in the velocities.
            let size = square.sqrt() * (1.0 + scale / h) / self.set.tolerance;
            if !size.is_finite() {
                outcome = Newton::Left;
                break;
            }
            if iteration > 0 {
                let ratio = size / old;
                self.contraction = ratio;
                if ratio >= 0.9 && size > KAPPA {
                    break;
                }
                trust = ratio / (1.0 - ratio.min(0.9));
            }
            old = size;
            if trust * size <= KAPPA || size < 1e-3 * KAPPA {
                outcome = Newton::Converged;
                break;
            }
        }
        self.factors = Some(factors);
        outcome
    }

    fn stage_velocities(&self, h: f64, z: &[Vec<f64>; STAGES]) -> [Vec<f64>; STAGES] {
        let w = &self.radau.w;
        std::array::from_fn(|j| {
            (0..z[0].len()).map(|i| (w[j][0] * z[0][i] + w[j][1] * z[1][i] + w[j][2] * z[2][i]) / h).collect()
        })
    }

    /// Embedded error over the tolerance.
    fn error(
        &mut self,
        h: f64,
        z: &[Vec<f64>; STAGES],
        strain: &[f64],
        f0: &[f64],
        xi: &[f64],
        refused: bool,
    ) -> f64 {
        let p = self.p;
        let n = p.unknowns();
        let Some(factors) = self.factors.take() else { return f64::NAN };
        let d = self.radau.error.map(|e| e / h);
        let s = self.radau.gamma / h;
        let c = p.damping();
        let v0 = &self.state.v;
        let v = self.stage_velocities(h, z);
        // Estimates of the slopes' error: of q, and of M v (less what f at the start gives).
        let rq: Vec<f64> = (0..n).map(|i| d[0] * z[0][i] + d[1] * z[1][i] + d[2] * z[2][i] + v0[i]).collect();
        let rv: Vec<f64> = (0..n)
            .map(|i| d[0] * (v[0][i] - v0[i]) + d[1] * (v[1][i] - v0[i]) + d[2] * (v[2][i] - v0[i]))
            .collect();
        // What errors of the memory pull.
        let mut pull = vec![0.0; n];
        if !p.terms().is_empty() {
            let strains = self.stage_strains(z);
            let m = p.measures();
            let mut moved_xi = xi.to_vec();
            let eliminated = self.eliminate(h);
            for (i, term) in p.terms().iter().enumerate() {
                let (inv, past) = &eliminated.each[i];
                let alpha = &self.state.alpha[i * m..(i + 1) * m];
                let weight = term.share / (s + 1.0 / term.time);
                for g in 0..m {
                    let mut r = (strain[g] - alpha[g]) / term.time;
                    for j in 0..STAGES {
                        let stage = past[j] * alpha[g]
                            + inv[j][0] * strains[0][g]
                            + inv[j][1] * strains[1][g]
                            + inv[j][2] * strains[2][g];
                        r += d[j] * (stage - alpha[g]);
                    }
                    moved_xi[g] += weight * r;
                }
            }
            let (mut with, q) = (vec![0.0; n], &self.state.q);
            self.count.work.assemblies += 1;
            if p.force(self.state.t, q, v0, &moved_xi, &mut with) {
                for i in 0..n {
                    pull[i] = f0[i] - with[i];
                }
            }
        }
        let mut inertia = vec![0.0; n];
        let mut out = vec![0.0; n];
        let mut solve = |f: &[f64], extra: &[f64]| {
            // (s² + c s) M dq + K dq = M rv − c M v₀ − f + (s + c) M rq + pull; dv = s dq − rq.
            let rq: Vec<f64> = rq.iter().zip(extra).map(|(a, b)| a + b).collect();
            let a: Vec<f64> = (0..n).map(|i| rv[i] - c * (v0[i] + extra[i]) + (s + c) * rq[i]).collect();
            p.mass().multiply(&a, &mut inertia);
            let mut dq: Vec<f64> = (0..n).map(|i| inertia[i] - f[i] + pull[i]).collect();
            factors.real.solve(&mut dq);
            let dv: Vec<f64> = (0..n).map(|i| s * dq[i] - rq[i]).collect();
            (dq, dv)
        };
        let (dq, dv) = solve(f0, &vec![0.0; n]);
        self.count.work.solves += 1;
        let size = |x: &[f64], out: &mut [f64]| {
            p.norm().multiply(x, out);
            dot(x, out).max(0.0)
        };
        let scale = if self.inertial { self.set.time_scale } else { 0.0 };
        let measure = |dq: &[f64], dv: &[f64], out: &mut [f64]| {
            (size(dq, out) + scale * scale * size(dv, out)).sqrt() / self.set.tolerance
        };
        let mut e = measure(&dq, &dv, &mut out);
        if e > 1.0 && (refused || self.count.steps == 0) {
            // The estimate filtered once more, for stiff parts that are not yet smooth.
            let q: Vec<f64> = (0..n).map(|i| self.state.q[i] + dq[i]).collect();
            let w: Vec<f64> = (0..n).map(|i| v0[i] + dv[i]).collect();
            let mut f = vec![0.0; n];
            self.count.work.assemblies += 1;
            if p.force(self.state.t, &q, &w, xi, &mut f) {
                let (dq, dv) = solve(&f, &dv);
                e = measure(&dq, &dv, &mut out);
            }
        }
        self.factors = Some(factors);
        e
    }

    /// Moves to the end of the step.
    fn accept(&mut self, h: f64, z: [Vec<f64>; STAGES], eliminated: &Elimination) {
        let p = self.p;
        let m = p.measures();
        let n = z[0].len();
        let velocities = self.stage_velocities(h, &z);
        let strains = self.stage_strains(&z);
        let mut mv = vec![0.0; n];
        let mut d = vec![0.0; m];
        for j in 0..STAGES {
            let (q, v) = (moved(&self.state.q, &z[j]), &velocities[j]);
            let w = h * self.radau.b[j];
            let powers = p.powers(self.state.t + self.radau.c[j] * h, &q, v);
            self.state.supplied += w * powers.supplied;
            self.state.dragged += w * powers.lost;
            if p.damping() > 0.0 {
                p.mass().multiply(v, &mut mv);
                self.state.dragged += w * p.damping() * dot(v, &mv);
            }
            for (i, term) in p.terms().iter().enumerate() {
                let (inv, past) = &eliminated.each[i];
                let alpha = &self.state.alpha[i * m..(i + 1) * m];
                for g in 0..m {
                    let stage = past[j] * alpha[g]
                        + inv[j][0] * strains[0][g]
                        + inv[j][1] * strains[1][g]
                        + inv[j][2] * strains[2][g];
                    d[g] = strains[j][g] - stage;
                }
                self.state.relaxed += w * 2.0 * term.share / term.time * p.relaxing_energy(&d);
            }
        }
        for (i, (inv, past)) in eliminated.each.iter().enumerate() {
            let alpha = &mut self.state.alpha[i * m..(i + 1) * m];
            for g in 0..m {
                alpha[g] = past[2] * alpha[g]
                    + inv[2][0] * strains[0][g]
                    + inv[2][1] * strains[1][g]
                    + inv[2][2] * strains[2][g];
            }
        }
        let v0 = std::mem::take(&mut self.state.v);
        let y: [Vec<f64>; STAGES] =
            std::array::from_fn(|j| velocities[j].iter().zip(&v0).map(|(a, b)| a - b).collect());
        let next = moved(&self.state.q, &z[2]);
        let q = std::mem::replace(&mut self.state.q, next);
        self.last = Taken { t: self.state.t, h, q, v: v0, z, y };
        self.state.t += h;
        self.state.v = velocities[2].clone();
    }
}

fn moved(q: &[f64], z: &[f64]) -> Vec<f64> {
    q.iter().zip(z).map(|(a, b)| a + b).collect()
}

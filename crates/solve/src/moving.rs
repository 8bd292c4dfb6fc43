//! What a system must offer to be marched in time: mass, forces, memory.

use crate::band::Band;
use crate::potential::{Directional, Potential};

/// One relaxing share of a stiffness: `α̇ = (ε − α)/τ`, and the force sees `ε − Σ gᵢ αᵢ` instead of ε.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Relaxing {
    /// Share g, 0 < g; all add up to less than 1.
    pub share: f64,
    /// Time τ > 0.
    pub time: f64,
}

/// A system `M q̈ + c M q̇ + f(t, q, q̇, ξ) = 0` with memory.
///
/// The memory sits in measures ε(q) (strains at points); a part of the energy is the quadratic form
/// `U(ε) = ½ εᵀ C ε`, and the forces contain `Bᵀ C (ε − ξ)` with `B = ∂ε/∂q` and `ξ = Σ gᵢ αᵢ`. Everything else in f
/// is free of memory.
///
/// Units are the system's own; displacements should be of order one.
pub trait Moving {
    /// Number of unknowns q.
    fn unknowns(&self) -> usize;
    /// Sub-diagonals of mass and tangents.
    fn half_bandwidth(&self) -> usize;
    /// Mass matrix M; all zero for a motion without inertia.
    fn mass(&self) -> &Band;
    /// Positive definite N of the norm `√(qᵀ N q)` in which errors are measured.
    fn norm(&self) -> &Band;
    /// Damping rate c.
    fn damping(&self) -> f64;
    /// Terms of the memory, none for an elastic system.
    fn terms(&self) -> &[Relaxing];
    /// Number of measures ε.
    fn measures(&self) -> usize;
    /// ε(q).
    fn strain(&self, q: &[f64], out: &mut [f64]);
    /// f, written to `out`; `false` outside the domain of admissible states.
    fn force(&self, t: f64, q: &[f64], v: &[f64], xi: &[f64], out: &mut [f64]) -> bool;
    /// ∂f/∂q in two parts, both cleared first: what a complex modulus multiplies (`Bᵀ C B`), and the rest. Velocity
    /// dependence may be left out: it only slows the iteration. Without memory everything may be in the rest.
    fn tangent(&self, t: f64, q: &[f64], xi: &[f64], relaxing: &mut Band, rest: &mut Band);
    /// `U(ε) = ½ εᵀ C ε`.
    fn relaxing_energy(&self, strain: &[f64]) -> f64;
    /// Energy of q in everything that has no memory (a function of q alone).
    fn other_energy(&self, q: &[f64]) -> f64;
    /// Powers of the forces that have no energy: lost in drag, and supplied from outside. Bath damping and memory are
    /// not among them.
    fn powers(&self, t: f64, q: &[f64], v: &[f64]) -> Powers;
}

/// See [`Moving::powers`].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Powers {
    /// Lost.
    pub lost: f64,
    /// Supplied.
    pub supplied: f64,
}

/// Energies at one moment; their balance is `total() = const` as long as every force is accounted for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ledger {
    /// ½ vᵀ M v.
    pub kinetic: f64,
    /// Stored in the measures with memory: `(1 − Σ gᵢ) U(ε) + Σ gᵢ U(ε − αᵢ)`.
    pub stored: f64,
    /// Energy without memory.
    pub other: f64,
    /// Lost in the memory so far.
    pub relaxed: f64,
    /// Lost in the bath and in drag so far.
    pub dragged: f64,
    /// Supplied from outside so far.
    pub supplied: f64,
}

impl Ledger {
    /// What must not change.
    pub fn total(&self) -> f64 {
        self.kinetic + self.stored + self.other + self.relaxed + self.dragged - self.supplied
    }
}

/// Where a motion is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct State {
    /// Time.
    pub t: f64,
    /// Unknowns.
    pub q: Vec<f64>,
    /// Their velocities.
    pub v: Vec<f64>,
    /// Memory variables αᵢ, term after term.
    pub alpha: Vec<f64>,
    /// Lost in the memory so far.
    pub relaxed: f64,
    /// Lost in the bath and in drag so far.
    pub dragged: f64,
    /// Supplied from outside so far.
    pub supplied: f64,
}

impl State {
    /// At rest at `q`, memory as of a system that has been in its natural state for ever.
    pub fn at_rest<P: Moving>(p: &P, q: Vec<f64>) -> Self {
        let n = q.len();
        let alpha = vec![0.0; p.terms().len() * p.measures()];
        Self { q, v: vec![0.0; n], alpha, ..Self::default() }
    }

    /// Memory after q has been held still for `time` more.
    pub fn held<P: Moving>(mut self, p: &P, time: f64) -> Self {
        let m = p.measures();
        if p.terms().is_empty() {
            return self;
        }
        let mut e = vec![0.0; m];
        p.strain(&self.q, &mut e);
        for (own, term) in self.alpha.chunks_mut(m).zip(p.terms()) {
            // expm1 keeps the digits of short holds.
            let gain = -libm::expm1(-time / term.time);
            for (a, e) in own.iter_mut().zip(&e) {
                *a += gain * (e - *a);
            }
        }
        self
    }

    /// `ξ = Σ gᵢ αᵢ`.
    pub fn memory<P: Moving>(&self, p: &P) -> Vec<f64> {
        let m = p.measures();
        let mut xi = vec![0.0; m];
        for (own, term) in self.alpha.chunks(m.max(1)).zip(p.terms()) {
            xi.iter_mut().zip(own).for_each(|(x, a)| *x += term.share * a);
        }
        xi
    }

    /// Energies now.
    pub fn ledger<P: Moving>(&self, p: &P) -> Ledger {
        let mut mv = vec![0.0; self.v.len()];
        p.mass().multiply(&self.v, &mut mv);
        let kinetic = 0.5 * crate::potential::dot(&self.v, &mv);
        let m = p.measures();
        let mut stored = 0.0;
        if m > 0 {
            let mut e = vec![0.0; m];
            p.strain(&self.q, &mut e);
            let rest: f64 = 1.0 - p.terms().iter().map(|t| t.share).sum::<f64>();
            stored = rest * p.relaxing_energy(&e);
            for (own, term) in self.alpha.chunks(m).zip(p.terms()) {
                let d: Vec<f64> = e.iter().zip(own).map(|(e, a)| e - a).collect();
                stored += term.share * p.relaxing_energy(&d);
            }
        }
        Ledger {
            kinetic,
            stored,
            other: p.other_energy(&self.q),
            relaxed: self.relaxed,
            dragged: self.dragged,
            supplied: self.supplied,
        }
    }
}

/// A system at rest with its memory frozen, as an energy: `U(ε − ξ)` and what has no memory. Its parameter does nothing.
pub struct AtRest<'a, P: Moving> {
    p: &'a P,
    xi: Vec<f64>,
    metric: Vec<f64>,
}

impl<'a, P: Moving> AtRest<'a, P> {
    /// `xi` is the memory, see [`State::memory`].
    pub fn new(p: &'a P, xi: Vec<f64>) -> Self {
        // Lumped: the diagonal of the norm.
        let metric = (0..p.unknowns()).map(|i| p.norm().get(i, i)).collect();
        Self { p, xi, metric }
    }
}

impl<P: Moving> Potential for AtRest<'_, P> {
    fn unknowns(&self) -> usize {
        self.p.unknowns()
    }

    fn half_bandwidth(&self) -> usize {
        self.p.half_bandwidth()
    }

    fn energy(&self, x: &[f64], _: f64) -> f64 {
        let mut out = vec![0.0; x.len()];
        if !self.p.force(0.0, x, &vec![0.0; x.len()], &self.xi, &mut out) {
            return f64::INFINITY;
        }
        let mut e = vec![0.0; self.p.measures()];
        self.p.strain(x, &mut e);
        e.iter_mut().zip(&self.xi).for_each(|(e, xi)| *e -= xi);
        self.p.relaxing_energy(&e) + self.p.other_energy(x)
    }

    fn assemble(&self, x: &[f64], t: f64, gradient: &mut [f64], tangent: &mut Band) -> f64 {
        let energy = self.energy(x, t);
        if energy.is_finite() {
            self.p.force(0.0, x, &vec![0.0; x.len()], &self.xi, gradient);
            let mut relaxing = tangent.clone();
            self.p.tangent(0.0, x, &self.xi, &mut relaxing, tangent);
            tangent.add_scaled(1.0, &relaxing);
        }
        energy
    }

    fn gradient_slope(&self, _: &[f64], _: f64, out: &mut [f64]) {
        out.fill(0.0);
    }

    fn directional(&self, x: &[f64], _: f64, v: &[f64], out: &mut Directional) {
        // The third derivative by central differences of the tangent along v: exact enough for what asks for it.
        let n = x.len();
        let size = 1e-4;
        let at = |c: f64| {
            let y: Vec<f64> = x.iter().zip(v).map(|(x, v)| x + c * v).collect();
            let (mut a, mut b) =
                (Band::new(n, self.p.half_bandwidth()), Band::new(n, self.p.half_bandwidth()));
            self.p.tangent(0.0, &y, &self.xi, &mut a, &mut b);
            b.add_scaled(1.0, &a);
            let mut out = vec![0.0; n];
            b.multiply(v, &mut out);
            out
        };
        let (plus, minus) = (at(size), at(-size));
        out.slope.fill(0.0);
        out.slope_v.fill(0.0);
        for i in 0..n {
            out.third[i] = (plus[i] - minus[i]) / (2.0 * size);
        }
    }

    fn metric(&self) -> &[f64] {
        &self.metric
    }
}

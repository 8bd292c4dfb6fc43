//! Work counters: deterministic, pinned by tests instead of wall times.

use std::ops::AddAssign;

/// How much was done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Work {
    /// Evaluations of the energy alone.
    pub energies: u64,
    /// Assemblies of gradient and tangent.
    pub assemblies: u64,
    /// Evaluations of directional derivatives.
    pub directionals: u64,
    /// Band factorisations.
    pub factorisations: u64,
    /// Solves with a factor.
    pub solves: u64,
}

impl AddAssign for Work {
    fn add_assign(&mut self, o: Self) {
        self.energies += o.energies;
        self.assemblies += o.assemblies;
        self.directionals += o.directionals;
        self.factorisations += o.factorisations;
        self.solves += o.solves;
    }
}

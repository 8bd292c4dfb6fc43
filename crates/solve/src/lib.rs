//! Physics-free numerics: symmetric banded factorisation with inertia, energy minimisation by a trust
//! region, path following past limit points, folds by an extended system, eigenpairs with a count,
//! implicit time stepping of second-order systems with memory; roots, small quadratic programs and constrained optima of few unknowns.
//!
//! Everything is `f64`, sequential and deterministic. Vectors are slices; matrices are [`Band`]s. A
//! problem is a value that implements [`Potential`]; the solvers own nothing of it.

pub mod band;
pub mod bordered;
pub mod complex_band;
pub mod eigen;
pub mod fold;
pub mod fold_curve;
pub mod follow;
pub mod jet;
pub mod march;
pub mod minimise;
pub mod moving;
pub mod potential;
pub mod quadrature;
pub mod radau;
pub mod spectrum;
pub mod wish;
pub mod work;

pub use band::{Band, Factor, ZeroPivot};
pub use complex_band::ComplexFactor;
pub use jet::{Jet, Scalar};
pub use march::March;
pub use moving::{AtRest, Ledger, Moving, Powers, Relaxing, State};
pub use potential::{Directional, Potential};
pub use work::Work;

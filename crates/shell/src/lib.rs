//! Geometrically exact thin shells of revolution and their circumferential harmonics.
//!
//! The default law is linear in Biot strain and in the dilation-invariant bending measure:
//! `ε_s = λ_s − 1`, `ε_θ = r/r₀ − 1`, `κ_s = φ′ − φ₀′`, `κ_θ = (sin φ − sin φ₀)/r₀`, energy
//! `½ C (ε_s² + 2ν ε_s ε_θ + ε_θ²) + ½ D (κ_s² + 2ν κ_s κ_θ + κ_θ²)` per unit natural area, with
//! `C = Eh/(1−ν²)` and `D = Eh³/12(1−ν²)`.
//!
//! Inside a [`Model`] everything is a pure number: lengths over the sphere radius R, energies over
//! `E R³ t`, where `t` is a factor on every thickness (`t = 1` is the part itself). The energy is then
//! `E_stretch + t² E_bend + E_rim/t`, whose derivatives in `t` are exact.

mod blocks;
mod body;
mod branch_off;
mod energy;
mod field;
mod flat;
mod harmonic;
mod harmonic_kernel;
mod heated;
mod hermite;
mod joint;
mod joint_ripples;
mod kernel;
mod layered;
mod loads;
mod mesh;
mod model;
mod motion;
mod section;
mod shape;
mod springs;
mod start;
mod surface;
mod terms;
#[cfg(test)]
mod tests;

pub use body::Body;
pub use branch_off::{BranchOff, branch_off};
pub use energy::Resultants;
pub use field::{Field, Spot};
pub use flat::{Flattened, laid_along};
pub use harmonic::Harmonics;
pub use heated::{Heated, PinAt};
pub use loads::{Loaded, Push};
pub use mesh::{Grading, Mesh};
pub use model::{DOF, Energies, Grips, Model};
pub use motion::{Around, Hand, InMotion, OnTable};
pub use section::Section;
pub use shape::{Profile, Sample, unwind};
pub use start::{FoldedPiece, dimple, folded, mirror, natural};

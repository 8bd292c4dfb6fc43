//! Closed triangle meshes: solids of revolution with holes in their flat faces, checks that they are solid, STL and 3MF files.
//!
//! Lengths are in metres in memory and in millimetres in files, which is what makers' programs take a number for. Faces are wound so that
//! their normals point out of the material. Nothing here knows what the solid is for.

mod check;
mod files;
mod mesh;
mod outline;
mod revolve;

pub use check::{Fault, Soundness, check};
pub use files::{stl, three_mf};
pub use mesh::{Builder, Mesh};
pub use outline::{Outline, moments};
pub use revolve::{Circle, Flat, Turned, round, segments};

//! How the outer edge of the part is held.

/// How the outer edge of the part is held. The natural rim lies at height `z_rim`; heights below are
/// displacements from the natural shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rim {
    /// Nothing touches the rim.
    Free,
    /// Rests on a frictionless table, which can push but not pull. Without a load it behaves as free.
    Table,
    /// A frictionless ring: no axial displacement, free to slide radially and to turn.
    Ring,
    /// Radius and height fixed, free to turn.
    Hinged,
    /// Radius, height and slope fixed.
    Clamped,
    /// Springs to ground, per unit length of natural rim.
    Elastic(RimSprings),
}

/// Springs at an elastic rim, each per metre of natural rim; zero is no spring.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct RimSprings {
    /// Against radial displacement, N/m per m = Pa.
    pub radial: f64,
    /// Against axial displacement, Pa.
    pub axial: f64,
    /// Against circumferential displacement (harmonics only), Pa.
    pub circumferential: f64,
    /// Against turning of the meridian slope, N·m/rad per m = N/rad.
    pub turning: f64,
}

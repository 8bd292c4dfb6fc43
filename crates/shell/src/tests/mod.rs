//! Checks that need the kernels' insides.

mod branch_off;
mod composed;
mod derivatives;
mod loads;
mod motion;
mod rigid;
mod second_variation;

use crate::{Grading, Mesh, Model, mirror};
use calotte_solve::Potential;
use calotte_specimen::{Material, Meridian, Part, Rim, RimSprings, SphereCap, Wall};

/// Repeatable pseudo-random numbers in (−1, 1).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }

    pub(crate) fn vector(&mut self, n: usize) -> Vec<f64> {
        (0..n).map(|_| self.roll()).collect()
    }
}

pub(crate) fn cap(alpha_deg: f64, h: f64, hole_deg: f64, rim: Rim) -> Part {
    Part {
        meridian: Meridian::Sphere(SphereCap {
            radius: 1.0,
            half_angle: alpha_deg.to_radians(),
            hole_angle: hole_deg.to_radians(),
        }),
        wall: Wall::uniform(h),
        material: Material { youngs: 1.0, poisson: 0.3, density: None },
        rim,
    }
}

pub(crate) fn rims() -> Vec<Rim> {
    let springs = RimSprings { radial: 0.02, axial: 0.03, circumferential: 0.01, turning: 0.004 };
    vec![Rim::Free, Rim::Ring, Rim::Hinged, Rim::Clamped, Rim::Elastic(springs)]
}

pub(crate) fn model(part: &Part) -> Model {
    Model::new(part, 1.0, &Mesh::graded(part, 1.0, &Grading::default()))
}

/// The mirror image, shaken: a deformed state that is no equilibrium.
pub(crate) fn shaken(m: &Model, seed: u64) -> Vec<f64> {
    let mut dice = Dice::new(seed);
    mirror(m).iter().map(|x| x + 0.004 * dice.roll()).collect::<Vec<_>>()[..m.unknowns()].to_vec()
}

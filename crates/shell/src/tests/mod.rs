//! Checks that need the kernels' insides.

mod branch_off;
mod composed;
mod derivatives;
mod loads;
mod motion;
mod rigid;
mod second_variation;

use crate::{Grading, Mesh, Model, mirror};
use calotte_solve::potential::dot;
use calotte_solve::{Band, Directional, Potential};
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

/// Holds gradient, tangent and the further derivatives of a potential at `x`, parameter `t`, against central differences: steps `eps`
/// in the state and `wide` in the parameter. Returns the differences' slope of the energy in the parameter.
pub(crate) fn agrees_with_differences<P: Potential>(
    p: &P,
    x: &[f64],
    t: f64,
    eps: f64,
    wide: f64,
    what: &str,
) -> f64 {
    let n = p.unknowns();
    let v: Vec<f64> = Dice::new(11).vector(n);
    let at = |eps: f64, t: f64| {
        let y: Vec<f64> = x.iter().zip(&v).map(|(a, b)| a + eps * b).collect();
        let (mut g, mut h) = (vec![0.0; n], Band::new(n, p.half_bandwidth()));
        let e = p.assemble(&y, t, &mut g, &mut h);
        assert!((e - p.energy(&y, t)).abs() < 1e-12 * e.abs().max(1e-3), "{what} energy alone");
        let mut hv = vec![0.0; n];
        h.multiply(&v, &mut hv);
        (e, g, hv)
    };
    let (plus, minus, here) = (at(eps, t), at(-eps, t), at(0.0, t));
    let (later, sooner) = (at(0.0, t + wide), at(0.0, t - wide));
    let size = |w: &[f64]| w.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    let slope = (plus.0 - minus.0) / (2.0 * eps);
    assert!((slope - dot(&here.1, &v)).abs() < 1e-6 * slope.abs().max(1e-3), "{what} gradient");
    let mut dir = Directional::new(n);
    p.directional(x, t, &v, &mut dir);
    let mut alone = vec![0.0; n];
    p.gradient_slope(x, t, &mut alone);
    for i in 0..n {
        let h = (plus.1[i] - minus.1[i]) / (2.0 * eps);
        assert!((h - here.2[i]).abs() < 1e-6 * size(&here.2), "{what} tangent {i}");
        let third = (plus.2[i] - minus.2[i]) / (2.0 * eps);
        assert!((third - dir.third[i]).abs() < 1e-5 * size(&dir.third), "{what} third {i}");
        let slope = (later.1[i] - sooner.1[i]) / (2.0 * wide);
        assert!((slope - dir.slope[i]).abs() < 1e-6 * size(&dir.slope), "{what} slope {i}");
        assert!((alone[i] - dir.slope[i]).abs() < 1e-11 * size(&dir.slope), "{what} slope alone {i}");
        let slope_v = (later.2[i] - sooner.2[i]) / (2.0 * wide);
        assert!((slope_v - dir.slope_v[i]).abs() < 1e-6 * size(&dir.slope_v), "{what} slope along v {i}");
    }
    (later.0 - sooner.0) / (2.0 * wide)
}

//! Shape and energy density of a state at chosen places of the meridian.

use crate::kernel::Natural;
use crate::model::{Model, Point};
use crate::shape::{Sample, unwind};

/// A place of the natural meridian.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Natural arclength over R.
    pub s: f64,
    /// At a joint: what ends there, not what begins.
    pub ends: bool,
}

/// A state at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    /// Shape and strains.
    pub sample: Sample,
    /// Elastic energy per natural area over `E R t`, heat's own strains taken off. Springs at joints and the rim are not in it.
    pub energy: f64,
}

impl Model {
    /// Shape, strains and energy density of a state at thickness factor `t` at `spots`, which must not go back along the meridian.
    /// Wall that the mesh leaves out at the inner end (bonded to a rigid body) moves along the axis with the first node, unstrained.
    pub fn fields(&self, x: &[f64], t: f64, spots: &[Spot]) -> Vec<Field> {
        let q = self.nodal(x);
        let last = self.nodes.len() - 1;
        let tiny = 1e-9 * self.nodes[last];
        let mut out: Vec<Field> = spots
            .iter()
            .map(|spot| {
                if spot.s < self.nodes[0] - tiny {
                    return self.carried(&q, spot);
                }
                let inner = &self.nodes[1..last];
                // Rounding must not send what begins at a node into the element before it.
                let e = if spot.ends {
                    inner.partition_point(|n| *n < spot.s - tiny)
                } else {
                    inner.partition_point(|n| *n <= spot.s + tiny)
                };
                let size = self.nodes[e + 1] - self.nodes[e];
                let place = match (spot.s - self.nodes[e]) / size {
                    x if x < 1e-6 => 0.0,
                    x if x > 1.0 - 1e-6 => 1.0,
                    x => x,
                };
                let sample = self.sample(&q, e, place);
                Field { sample, energy: self.energy_per_area(&sample, self.nodes[e] + 0.5 * size, t) }
            })
            .collect();
        unwind(out.iter_mut().map(|f| &mut f.sample.slope));
        out
    }

    /// The natural shape at a place inside the mesh's first node, moved with that node.
    fn carried(&self, q: &[f64], spot: &Spot) -> Field {
        let natural = |s: f64| {
            let m = &self.part.meridian;
            if spot.ends { m.before(s * self.radius) } else { m.at(s * self.radius) }
        };
        let (p, held) = (natural(spot.s), self.part.meridian.at(self.nodes[0] * self.radius));
        let sample = Sample {
            s: spot.s,
            r: p.r / self.radius,
            z: q[3] + (p.z - held.z) / self.radius,
            slope: libm::atan2(p.sin, p.cos),
            curvature: p.curvature * self.radius,
            strain: [0.0; 2],
            bending: [0.0; 2],
            thickness: self.part.wall.thickness(spot.s * self.radius) / self.radius,
        };
        Field { sample, energy: 0.0 }
    }

    /// Energy per natural area over `E R t`; `within`: a place inside the sample's element, where the wall's stiffness is its own.
    fn energy_per_area(&self, sample: &Sample, within: f64, t: f64) -> f64 {
        let nu = self.part.material.poisson;
        let nat = Natural { inv_r0: 1.0, sin0: 0.0, k0: 0.0, nu, e0: [0.0; 2] };
        let stiff = self.part.wall.stiffness(within * self.radius);
        let p = Point::new([[0.0; 6]; 3], nat, sample.thickness, stiff, 1.0, 0.0);
        let free = self.layered.as_ref().map_or([0.0; 4], |l| l.free(&p, t));
        let ([es, et], [ks, kt]) = (sample.strain, sample.bending);
        self.form(&p, [es - free[0], et - free[1], ks - free[2], kt - free[3]], t)
    }
}

//! Reading a state: heights, slopes, strains, where the curvature changes sign.

use crate::hermite::scaled;
use crate::kernel::{Natural, measures};
use crate::model::{DOF, Model};

/// One point of a deformed meridian; lengths over R.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Natural arclength.
    pub s: f64,
    /// Radius.
    pub r: f64,
    /// Height above the natural rim.
    pub z: f64,
    /// Slope angle φ, continuous along the meridian from 0 near a pole.
    pub slope: f64,
    /// dφ/ds.
    pub curvature: f64,
    /// Biot strains ε_s, ε_θ of the mid-surface.
    pub strain: [f64; 2],
    /// Bending measures κ_s, κ_θ, times R.
    pub bending: [f64; 2],
    /// Thickness (without the factor t).
    pub thickness: f64,
}

/// A whole deformed meridian.
#[derive(Clone, Debug)]
pub struct Profile {
    /// Samples, `per_element` in each element and one at the rim.
    pub samples: Vec<Sample>,
}

/// Makes slopes continuous: a meridian turns by far less than π between samples.
pub fn unwind<'a>(slopes: impl Iterator<Item = &'a mut f64>) {
    let mut before: Option<f64> = None;
    for slope in slopes {
        if let Some(b) = before {
            let turn = *slope - b;
            *slope -= 2.0 * std::f64::consts::PI * (turn / (2.0 * std::f64::consts::PI)).round();
        }
        before = Some(*slope);
    }
}

impl Model {
    /// Samples a state at `per_element` equal steps of each element.
    pub fn profile(&self, x: &[f64], per_element: usize) -> Profile {
        let q = self.nodal(x);
        let mut samples = Vec::with_capacity(self.elements() * per_element + 1);
        for e in (0..self.elements()).filter(|e| !self.ends_at_joint(*e)) {
            let extra = usize::from(e + 1 == self.elements());
            for i in 0..per_element + extra {
                samples.push(self.sample(&q, e, i as f64 / per_element as f64));
            }
        }
        unwind(samples.iter_mut().map(|s| &mut s.slope));
        Profile { samples }
    }

    pub(crate) fn sample(&self, q: &[f64], e: usize, x: f64) -> Sample {
        let len = self.nodes[e + 1] - self.nodes[e];
        let s = self.nodes[e] + x * len;
        let n = scaled(x, len, [self.scale[e], self.scale[e + 1]]);
        let f = |d: usize, field: usize| -> f64 {
            (0..6).map(|j| n[d][j] * q[DOF * e + if j < 3 { j } else { j + 3 } + field]).sum()
        };
        let y = [f(0, 0), f(1, 0), f(2, 0), f(1, 3), f(2, 3)];
        let at_end = x == 1.0 && e + 1 < self.elements();
        let meridian = &self.part.meridian;
        let place = s * self.radius;
        let p = if at_end { meridian.before(place) } else { meridian.at(place) };
        let r0 = p.r / self.radius;
        let k0 = p.curvature * self.radius;
        let nat = Natural { inv_r0: 1.0 / r0, sin0: p.sin, k0, nu: self.part.material.poisson, e0: [0.0; 2] };
        let mut m = measures(&y, &nat);
        let curvature = m.ks + k0;
        if r0 < 1e-9 {
            // On the axis both directions are alike.
            m.et = m.es;
            m.kt = m.ks;
        }
        Sample {
            s,
            r: y[0],
            z: f(0, 3),
            slope: libm::atan2(y[3], y[1]),
            curvature,
            strain: [m.es, m.et],
            bending: [m.ks, m.kt],
            thickness: if at_end {
                self.part.wall.thickness_before(place)
            } else {
                self.part.wall.thickness(place)
            } / self.radius,
        }
    }

    /// Arclengths (over R) where dφ/ds changes sign, by bisection of the interpolated state.
    pub fn curvature_zeros(&self, x: &[f64]) -> Vec<f64> {
        let q = self.nodal(x);
        let steps = 16;
        let mut zeros = Vec::new();
        for e in (0..self.elements()).filter(|e| !self.ends_at_joint(*e)) {
            let k = |v: f64| self.sample(&q, e, v).curvature;
            let mut left = (0.0, k(0.0));
            for i in 1..=steps {
                let v = i as f64 / steps as f64;
                let right = (v, k(v));
                if left.1 * right.1 < 0.0 {
                    let (mut a, mut b) = (left.0, right.0);
                    for _ in 0..50 {
                        let mid = 0.5 * (a + b);
                        if k(mid) * left.1 > 0.0 { a = mid } else { b = mid }
                    }
                    zeros.push(self.nodes[e] + 0.5 * (a + b) * (self.nodes[e + 1] - self.nodes[e]));
                }
                if right.1 != 0.0 {
                    left = right;
                }
            }
        }
        zeros
    }
}

impl Profile {
    /// The innermost sample.
    pub fn inner(&self) -> &Sample {
        &self.samples[0]
    }

    /// The rim.
    pub fn rim(&self) -> &Sample {
        &self.samples[self.samples.len() - 1]
    }

    /// Whether the sampled meridian crosses itself or the axis (walls of zero thickness).
    pub fn crosses_itself(&self) -> bool {
        let s = &self.samples;
        if s[1..].iter().any(|p| p.r <= 0.0) {
            return true;
        }
        // Only a slope range beyond π can close a loop.
        let (low, high) = s.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p.slope), b.max(p.slope)));
        if high - low < std::f64::consts::PI {
            return false;
        }
        let side = |a: &Sample, b: &Sample, c: &Sample| (b.r - a.r) * (c.z - a.z) - (b.z - a.z) * (c.r - a.r);
        for i in 0..s.len() - 1 {
            for j in i + 2..s.len() - 1 {
                let (a, b, c, d) = (&s[i], &s[i + 1], &s[j], &s[j + 1]);
                if side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0 {
                    return true;
                }
            }
        }
        false
    }
}

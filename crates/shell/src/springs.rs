//! Springs at an elastic rim: energy and exact derivatives.

use calotte_solve::Jet;
use calotte_specimen::{Part, Rim, RimSprings};

use crate::model::{DOF, Model};

/// Rim springs in the model's units (energies over E R³), at natural rim radius.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Springs {
    pub(crate) radial: f64,
    pub(crate) axial: f64,
    pub(crate) around: f64,
    pub(crate) turning: f64,
    pub(crate) r0: f64,
    pub(crate) z0: f64,
    pub(crate) phi0: f64,
}

pub(crate) fn springs(part: &Part, radius: f64, rim_r: f64, phi0: f64) -> Option<Springs> {
    let Rim::Elastic(RimSprings { radial, axial, circumferential, turning }) = part.rim else { return None };
    let unit = 2.0 * std::f64::consts::PI * rim_r / part.material.youngs;
    Some(Springs {
        radial: unit * radial,
        axial: unit * axial,
        around: unit * circumferential,
        turning: unit * turning / (radius * radius),
        r0: rim_r,
        z0: 0.0,
        phi0,
    })
}

pub(crate) fn rim_energy(s: &Springs, q: &[f64], ell: f64) -> f64 {
    let phi = libm::atan2(q[4] / ell, q[1] / ell) - s.phi0;
    0.5 * (s.radial * (q[0] - s.r0).powi(2) + s.axial * (q[3] - s.z0).powi(2) + s.turning * phi * phi)
}

/// Gradient and second derivatives of the slope angle in `(ℓr′, ℓz′)`.
pub(crate) fn turning(a: f64, b: f64) -> ([f64; 2], [f64; 3]) {
    let m = a * a + b * b;
    ([-b / m, a / m], [2.0 * a * b / (m * m), (b * b - a * a) / (m * m), -2.0 * a * b / (m * m)])
}

impl Model {
    /// Adds `w` times the gradient of the rim springs' energy to a full nodal vector.
    pub(crate) fn spring_forces(&self, s: &Springs, q: &[f64], w: f64, full: &mut [f64]) {
        let e = q.len() - DOF;
        let phi = libm::atan2(q[e + 4], q[e + 1]) - s.phi0;
        let (d, _) = turning(q[e + 1], q[e + 4]);
        full[e] += w * s.radial * (q[e] - s.r0);
        full[e + 3] += w * s.axial * (q[e + 3] - s.z0);
        full[e + 1] += w * s.turning * phi * d[0];
        full[e + 4] += w * s.turning * phi * d[1];
    }

    /// Adds the rim springs over t to gradient and last element; returns their energy over t.
    pub(crate) fn add_springs(
        &self,
        s: &Springs,
        q: &[f64],
        t: f64,
        full: &mut [f64],
        k: &mut [[f64; 12]; 12],
    ) -> f64 {
        let e = q.len() - DOF;
        let w = 1.0 / t;
        let phi = libm::atan2(q[e + 4], q[e + 1]) - s.phi0;
        let (d, dd) = turning(q[e + 1], q[e + 4]);
        self.spring_forces(s, q, w, full);
        k[DOF][DOF] += w * s.radial;
        k[DOF + 3][DOF + 3] += w * s.axial;
        k[DOF + 1][DOF + 1] += w * s.turning * (d[0] * d[0] + phi * dd[0]);
        k[DOF + 4][DOF + 4] += w * s.turning * (d[1] * d[1] + phi * dd[2]);
        let off = w * s.turning * (d[0] * d[1] + phi * dd[1]);
        k[DOF + 1][DOF + 4] += off;
        k[DOF + 4][DOF + 1] += off;
        w * rim_energy(s, &q[e..], self.rim_scale())
    }

    pub(crate) fn spring_directional(
        &self,
        s: &Springs,
        q: &[f64],
        dq: &[f64],
        t: f64,
        slope: &mut [f64],
        slope_v: &mut [f64],
        third: &mut [f64],
    ) {
        let e = q.len() - DOF;
        let jet = |i: usize| Jet { v: q[e + i], d1: dq[e + i], d2: 0.0 };
        let (a, b) = (jet(1), jet(4));
        let (d, dd) = turning(a.v, b.v);
        let phi = Jet {
            v: libm::atan2(b.v, a.v) - s.phi0,
            d1: d[0] * a.d1 + d[1] * b.d1,
            d2: dd[0] * a.d1 * a.d1 + 2.0 * dd[1] * a.d1 * b.d1 + dd[2] * b.d1 * b.d1,
        };
        let m = a * a + b * b;
        let turn = phi * s.turning;
        let forces = [
            (0, (jet(0) - s.r0) * s.radial),
            (3, (jet(3) - s.z0) * s.axial),
            (1, -(turn * b / m)),
            (4, turn * a / m),
        ];
        for (i, f) in forces {
            slope[e + i] -= f.v / (t * t);
            slope_v[e + i] -= f.d1 / (t * t);
            third[e + i] += f.d2 / t;
        }
    }
}

//! A rigid body of revolution that presses on the wall: unilateral contact without friction.
//!
//! Its face is flat to the radius `flat_to` and rounded with the radius `round` beyond: a plate, a ball (nothing
//! flat), a pusher with a rounded edge. Where it would pass the mid-surface by δ it is pushed back by the pressure
//! `p = c δ` per natural area, smoothed over |δ| < ε so that p is once differentiable; never pulled. `c` is given as
//! `stiffness · E/h`: the wall itself, squeezed through its thickness, has about 2, so a value well above that
//! is a rigid body to within what a thin shell can say. The penetration is part of the evidence.

use calotte_solve::{Jet, Scalar};

/// A rigid body of revolution; lengths over R.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// Radius to which the face is flat; infinite for a plate, 0 for a ball.
    pub flat_to: f64,
    /// Radius of the rounding beyond.
    pub round: f64,
    /// +1 when it moves along +z, −1 along −z.
    pub direction: f64,
    /// Pressure per penetration, in E/R.
    pub stiffness: f64,
    /// Half-width ε of the smoothing.
    pub soft: f64,
}

/// What contact does at one point: energy per natural area, its gradient and second derivative in r and ζ (height
/// along the push), penetration.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Touch {
    pub(crate) energy: f64,
    pub(crate) g: [f64; 2],
    pub(crate) h: [[f64; 2]; 2],
    pub(crate) depth: f64,
}

impl Body {
    /// Penetration of the body with its tip at height `at` into the point `(r, ζ)`, with its gradient.
    fn depth<T: Scalar>(&self, r: T, zeta: T, at: f64, on_flat: bool) -> (T, [T; 2]) {
        if on_flat {
            return (-zeta + at, [T::constant(0.0), T::constant(-1.0)]);
        }
        let (a, s) = (r - self.flat_to, zeta + (self.round - at));
        let len = (a * a + s * s).sqrt();
        (-len + self.round, [-(a / len), -(s / len)])
    }

    /// Value, slope factor and constant of the pressure law: `p = k (δ + shift)^power`.
    fn pressure(&self, depth: Jet) -> Jet {
        if depth.v > self.soft {
            depth * self.stiffness
        } else {
            let d = depth + self.soft;
            d * d * (0.25 * self.stiffness / self.soft)
        }
    }

    fn energy(&self, depth: f64) -> f64 {
        let (c, e) = (self.stiffness, self.soft);
        if depth > e { c * (0.5 * depth * depth + e * e / 6.0) } else { c * (depth + e).powi(3) / (12.0 * e) }
    }

    /// Gradient of the contact energy along a line through `(r, ζ)`; `None` out of contact.
    pub(crate) fn slope(&self, r: Jet, zeta: Jet, at: f64) -> Option<[Jet; 2]> {
        let (depth, n) = self.depth(r, zeta, at, r.v <= self.flat_to);
        (depth.v > -self.soft).then(|| {
            let p = self.pressure(depth);
            [p * n[0], p * n[1]]
        })
    }

    /// Everything at a point; `None` out of contact.
    pub(crate) fn touch(&self, r: f64, zeta: f64, at: f64) -> Option<Touch> {
        let line = |dr: f64, dz: f64| {
            self.slope(Jet { v: r, d1: dr, d2: 0.0 }, Jet { v: zeta, d1: dz, d2: 0.0 }, at)
        };
        let (a, b) = (line(1.0, 0.0)?, line(0.0, 1.0)?);
        let depth = self.depth(r, zeta, at, r <= self.flat_to).0;
        Some(Touch {
            energy: self.energy(depth),
            g: [a[0].v, a[1].v],
            h: [[a[0].d1, b[0].d1], [a[1].d1, b[1].d1]],
            depth,
        })
    }
}

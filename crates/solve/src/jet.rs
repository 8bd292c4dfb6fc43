//! Second-order truncated Taylor series in one direction: the algebra behind exact directional
//! derivatives.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// What a kernel needs of a number: field operations and the square root.
pub trait Scalar:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
{
    /// A constant.
    fn constant(x: f64) -> Self;
    /// Square root.
    fn sqrt(self) -> Self;
}

impl Scalar for f64 {
    fn constant(x: f64) -> Self {
        x
    }
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }
}

/// `f(ε) = v + d1 ε + ½ d2 ε²`: value, first and second derivative along one line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jet {
    /// Value.
    pub v: f64,
    /// First derivative.
    pub d1: f64,
    /// Second derivative.
    pub d2: f64,
}

impl Scalar for Jet {
    fn constant(x: f64) -> Self {
        Jet { v: x, d1: 0.0, d2: 0.0 }
    }
    fn sqrt(self) -> Self {
        let s = self.v.sqrt();
        let d1 = 0.5 * self.d1 / s;
        Jet { v: s, d1, d2: (0.5 * self.d2 - d1 * d1) / s }
    }
}

impl Add for Jet {
    type Output = Jet;
    fn add(self, o: Jet) -> Jet {
        Jet { v: self.v + o.v, d1: self.d1 + o.d1, d2: self.d2 + o.d2 }
    }
}
impl Sub for Jet {
    type Output = Jet;
    fn sub(self, o: Jet) -> Jet {
        Jet { v: self.v - o.v, d1: self.d1 - o.d1, d2: self.d2 - o.d2 }
    }
}
impl Mul for Jet {
    type Output = Jet;
    fn mul(self, o: Jet) -> Jet {
        Jet {
            v: self.v * o.v,
            d1: self.d1 * o.v + self.v * o.d1,
            d2: self.d2 * o.v + 2.0 * self.d1 * o.d1 + self.v * o.d2,
        }
    }
}
impl Div for Jet {
    type Output = Jet;
    fn div(self, o: Jet) -> Jet {
        let v = self.v / o.v;
        let d1 = (self.d1 - v * o.d1) / o.v;
        Jet { v, d1, d2: (self.d2 - 2.0 * d1 * o.d1 - v * o.d2) / o.v }
    }
}
impl Neg for Jet {
    type Output = Jet;
    fn neg(self) -> Jet {
        Jet { v: -self.v, d1: -self.d1, d2: -self.d2 }
    }
}
impl Add<f64> for Jet {
    type Output = Jet;
    fn add(self, x: f64) -> Jet {
        Jet { v: self.v + x, ..self }
    }
}
impl Sub<f64> for Jet {
    type Output = Jet;
    fn sub(self, x: f64) -> Jet {
        Jet { v: self.v - x, ..self }
    }
}
impl Mul<f64> for Jet {
    type Output = Jet;
    fn mul(self, x: f64) -> Jet {
        Jet { v: self.v * x, d1: self.d1 * x, d2: self.d2 * x }
    }
}

//! A dome clamped at its edge under internal pressure, linear: the small-displacement form of the
//! equations in `deep` with the axial force `V = P r₀²/2` that the pressure leaves. R = 1, and
//! `e = u/r₀, p = H/(C r₀), b = β/r₀, m = M_s/D` with u the radial displacement, β the rotation.

use crate::chebyshev::{Grid, Problem, Solution};

struct Dome {
    nu: f64,
    thickness: f64,
}

impl Problem for Dome {
    fn unknowns(&self) -> usize {
        4
    }

    /// The parameter is pressure over C.
    fn slope(&self, s: f64, y: &[f64], pressure: f64, out: &mut [f64]) {
        let (nu, [e, p, b, m]) = (self.nu, [y[0], y[1], y[2], y[3]]);
        let (sin, cos) = libm::sincos(s);
        let axial = 0.5 * pressure * sin; // V/(C r₀)
        let es = p * cos + axial * sin - nu * e;
        let shear = 12.0 / (self.thickness * self.thickness) * sin * (p * sin - axial * cos);
        out[0] = (es * cos - sin * sin * b - cos * e) / sin;
        out[1] = (e + nu * es - pressure * sin * sin - cos * p) / sin;
        out[2] = (m - nu * cos * b - cos * b) / sin;
        out[3] = (((1.0 - nu * nu) * cos * b + nu * m) * cos + shear - cos * m) / sin;
    }

    fn conditions(&self, pole: &[f64], rim: &[f64], out: &mut [f64]) {
        out[0] = pole[1] - (1.0 + self.nu) * pole[0];
        out[1] = pole[3] - (1.0 + self.nu) * pole[2];
        out[2] = rim[0];
        out[3] = rim[2];
    }
}

/// |M_edge| / (P R h).
pub(crate) fn edge_moment(nu: f64, half_angle: f64, thickness: f64, nodes: usize) -> f64 {
    let grid = Grid::new(0.0, half_angle, nodes);
    let c = thickness / (1.0 - nu * nu);
    let d = c * thickness * thickness / 12.0;
    let start = Solution { y: vec![1.0; 4 * grid.s.len()], p: 1.0 };
    let found = grid.solve(&Dome { nu, thickness }, start);
    let m = found.y[found.y.len() - 1];
    (d * m / (c * thickness)).abs()
}

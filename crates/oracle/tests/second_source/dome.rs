//! A dome clamped at its edge under internal pressure, linear: the small-displacement form of the
//! equations in `deep` with the axial force `V = P r₀²/2` that the pressure leaves. R = 1, and
//! `e = u/r₀, p = H/(C r₀), b = β/r₀, m = M_s/D` with u the radial displacement, β the rotation.

use crate::chebyshev::{Grid, Problem, Solution};

struct Dome {
    nu: f64,
    thickness: f64,
    /// Pressure over C, and the strain that the wall wants in both directions, both per parameter.
    loads: [f64; 2],
}

impl Problem for Dome {
    fn unknowns(&self) -> usize {
        4
    }

    fn slope(&self, s: f64, y: &[f64], parameter: f64, out: &mut [f64]) {
        let (nu, [e, p, b, m]) = (self.nu, [y[0], y[1], y[2], y[3]]);
        let [pressure, wants] = self.loads.map(|l| l * parameter);
        let (sin, cos) = libm::sincos(s);
        let axial = 0.5 * pressure * sin; // V/(C r₀)
        let et = e - wants;
        let es = p * cos + axial * sin - nu * et;
        let shear = 12.0 / (self.thickness * self.thickness) * sin * (p * sin - axial * cos);
        out[0] = ((es + wants) * cos - sin * sin * b - cos * e) / sin;
        out[1] = (et + nu * es - pressure * sin * sin - cos * p) / sin;
        out[2] = (m - nu * cos * b - cos * b) / sin;
        out[3] = (((1.0 - nu * nu) * cos * b + nu * m) * cos + shear - cos * m) / sin;
    }

    fn conditions(&self, pole: &[f64], rim: &[f64], parameter: f64, out: &mut [f64]) {
        out[0] = pole[1] - (1.0 + self.nu) * (pole[0] - self.loads[1] * parameter);
        out[1] = pole[3] - (1.0 + self.nu) * pole[2];
        out[2] = rim[0];
        out[3] = rim[2];
    }
}

/// |M_edge| / (P R h).
pub(crate) fn edge_moment(nu: f64, half_angle: f64, thickness: f64, nodes: usize) -> f64 {
    // m is over D, pressure over C.
    let m = edge(Dome { nu, thickness, loads: [1.0, 0.0] }, half_angle, nodes);
    (thickness / 12.0 * m).abs()
}

/// |M_edge| / (E h² e) of a dome that wants to grow by the strain e.
pub(crate) fn heated_edge_moment(nu: f64, half_angle: f64, thickness: f64, nodes: usize) -> f64 {
    let m = edge(Dome { nu, thickness, loads: [0.0, 1.0] }, half_angle, nodes);
    (m * thickness / (12.0 * (1.0 - nu * nu))).abs()
}

/// M_edge/D.
fn edge(dome: Dome, half_angle: f64, nodes: usize) -> f64 {
    let grid = Grid::new(0.0, half_angle, nodes);
    let start = Solution { y: vec![1.0; 4 * grid.s.len()], p: 1.0 };
    let found = grid.solve(&dome, start);
    found.y[found.y.len() - 1]
}

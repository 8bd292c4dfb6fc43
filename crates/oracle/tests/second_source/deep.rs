//! The free spherical cap of any depth: R = 1, E = 1. Energy per unit natural area
//! `W = C/2 (ε_s² + 2ν ε_s ε_θ + ε_θ²) + D/2 (κ_s² + 2ν κ_s κ_θ + κ_θ²)` with
//! `ε_s = λ − 1, ε_θ = r/r₀ − 1, κ_s = φ′ − φ₀′, κ_θ = (sin φ − sin φ₀)/r₀`, `r′ = λ cos φ`.
//! Stationary with multiplier P for r′: `r₀N_s = P cos φ`, `P′ = N_θ`,
//! `(r₀M_s)′ = M_θ cos φ + P λ sin φ`; P = M_s = 0 at the rim.
//! Unknowns, all even and smooth at the pole: e = ε_θ, p = P/(C r₀), q = φ/s − 1, m = M_s/D.

use crate::chebyshev::{Grid, Problem, Solution};
use std::f64::consts::PI;

pub(crate) struct DeepCap {
    pub(crate) nu: f64,
}

/// What describes an equilibrium; energies in E R³.
pub(crate) struct Measures {
    pub(crate) stretching: f64,
    pub(crate) bending: f64,
    pub(crate) rim_slope: f64,
    pub(crate) rim_radius: f64,
    pub(crate) rim_hoop: f64,
    pub(crate) pole_height: f64,
    pub(crate) lip: f64,
}

impl Problem for DeepCap {
    fn unknowns(&self) -> usize {
        4
    }

    fn slope(&self, s: f64, y: &[f64], h: f64, out: &mut [f64]) {
        self.slope_wanting(s, y, h, [0.0; 2], out);
    }

    fn conditions(&self, pole: &[f64], rim: &[f64], _: f64, out: &mut [f64]) {
        out[0] = pole[1] - (1.0 + self.nu) * pole[0];
        out[1] = pole[3] - (1.0 + self.nu) * pole[2];
        out[2] = rim[1];
        out[3] = rim[3];
    }
}

impl DeepCap {
    /// The same for a wall that wants the strain and the curvature `wants` in both directions: the elastic strains are what is
    /// left over, and m is theirs.
    pub(crate) fn slope_wanting(&self, s: f64, y: &[f64], h: f64, wants: [f64; 2], out: &mut [f64]) {
        let (nu, [e, p, q, m]) = (self.nu, [y[0], y[1], y[2], y[3]]);
        let (r0, c0) = libm::sincos(s);
        let (sin, cos) = libm::sincos(s * (1.0 + q));
        let kt = sin / r0 - 1.0 - wants[1];
        let et = e - wants[0];
        let es = p * cos - nu * et;
        let stretch = 1.0 + wants[0] + es;
        let moment = ((1.0 - nu * nu) * kt + nu * m) * cos + 12.0 / (h * h) * r0 * p * stretch * sin;
        out[0] = (stretch * cos - c0 * (1.0 + e)) / r0;
        out[1] = (et + nu * es - c0 * p) / r0;
        out[2] = (m - nu * kt + wants[1] - q) / s;
        out[3] = (moment - c0 * m) / r0;
    }

    /// Inverted equilibrium from the mirror image.
    pub(crate) fn inverted(&self, grid: &Grid, h: f64) -> Solution {
        let mirror = [0.0, 0.0, -2.0, -2.0 * (1.0 + self.nu)];
        let y = mirror.iter().copied().cycle().take(4 * grid.s.len()).collect();
        grid.solve(self, Solution { y, p: h })
    }

    /// Threshold: the fold of the inverted branch over thickness, reached by turning the rim up.
    pub(crate) fn threshold(&self, grid: &Grid, thin: f64) -> Solution {
        let start = self.inverted(grid, thin);
        let rim = start.y.len() - 2;
        grid.fold(self, start, rim, 0.1)
    }

    /// The other equilibrium at the same thickness: past the fold, where h comes back.
    pub(crate) fn saddle(&self, grid: &Grid, h: f64) -> Solution {
        let mut now = self.threshold(grid, h);
        let rim = now.y.len() - 2;
        let (mut value, mut step) = (now.y[rim], 0.05);
        loop {
            let (next, slope) = grid.solve_held(self, now.clone(), rim, value + step);
            if next.p > h {
                (now, value) = (next, value + step);
                continue;
            }
            step = (h - next.p) / slope; // Newton on h(value)
            (now, value) = (next, value + 0.05);
            for _ in 0..20 {
                value += step;
                let (next, slope) = grid.solve_held(self, now, rim, value);
                step = (h - next.p) / slope;
                now = next;
                if step.abs() < 1e-11 {
                    return now;
                }
            }
            panic!("saddle was not refined");
        }
    }

    pub(crate) fn measures(&self, grid: &Grid, at: &Solution) -> Measures {
        let (nu, h) = (self.nu, at.p);
        let c = h / (1.0 - nu * nu);
        let d = h * h * h / (12.0 * (1.0 - nu * nu));
        let form = |a: f64, b: f64| 0.5 * (a * a + 2.0 * nu * a * b + b * b);
        let strains = |k: usize| {
            let s = grid.s[k];
            let [e, p, q, m] = [0, 1, 2, 3].map(|a| at.y[4 * k + a]);
            let (sin, cos) = libm::sincos(s * (1.0 + q));
            let kt = if s == 0.0 { q } else { sin / libm::sin(s) - 1.0 };
            (p * cos - nu * e, e, m - nu * kt, kt, sin)
        };
        let nodes = || 0..grid.s.len();
        let area = |k: usize| 2.0 * PI * libm::sin(grid.s[k]);
        let stretching = grid.integrate(nodes().map(|k| {
            let (es, et, ..) = strains(k);
            area(k) * c * form(es, et)
        }));
        let bending = grid.integrate(nodes().map(|k| {
            let (_, _, ks, kt, _) = strains(k);
            area(k) * d * form(ks, kt)
        }));
        let height = grid.integrate(nodes().map(|k| {
            let (es, .., sin) = strains(k);
            (1.0 + es) * sin
        }));
        let curvature: Vec<f64> = nodes().map(|k| 1.0 + strains(k).2).collect();
        let rim = &at.y[at.y.len() - 4..];
        let alpha = grid.s[grid.s.len() - 1];
        let (mut outer, mut inner) = (alpha, alpha);
        while grid.interpolate(&curvature, inner) > 0.0 {
            outer = inner;
            inner -= 1e-3 * alpha;
        }
        for _ in 0..60 {
            let middle = 0.5 * (outer + inner);
            if grid.interpolate(&curvature, middle) > 0.0 { outer = middle } else { inner = middle }
        }
        Measures {
            stretching,
            bending,
            rim_slope: alpha * (1.0 + rim[2]),
            rim_radius: libm::sin(alpha) * (1.0 + rim[0]),
            rim_hoop: rim[0],
            pole_height: height.abs(),
            lip: alpha - inner,
        }
    }
}

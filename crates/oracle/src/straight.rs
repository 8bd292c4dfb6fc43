//! Cylinders and cones vibrating, one edge free: Ritz with Legendre polynomials on the linear theory.
//!
//! A straight generator at slope φ, r = r₀ + s cos φ; displacements u along it, v around, w outwards, as cos nθ, sin nθ, cos nθ. With
//! c = cos φ, S = sin φ and β the turns of the normal:
//!
//! ```text
//! ε_s = u′              ε_θ = (nv + cu + Sw)/r              γ = v′ − (cv + nu)/r
//! β_s = −w′             β_θ = (Sv + nw)/r                   ω = ½[v′ + (cv + nu)/r]
//! κ_s = β_s′            κ_θ = (nβ_θ + cβ_s)/r               2κ_sθ = β_θ′ − (cβ_θ + nβ_s)/r + Sω/r
//! ```
//!
//! Source: Sanders 1959, "An improved first-approximation theory for thin shells", NASA TR R-24, and Koiter 1960, "A consistent first
//! approximation in the general theory of thin elastic shells" (strain measures, from memory). Energy
//! `½∫∫ {C[ε_s² + ε_θ² + 2νε_sε_θ + ½(1−ν)γ²] + D[κ_s² + κ_θ² + 2νκ_sκ_θ + ½(1−ν)(2κ_sθ)²]} r ds dθ`, mass ρh(u² + v² + w²), no
//! rotary inertia. The exact energy of the program, taken to second order about the natural shape, has these measures.

use crate::{Known, Slack, Status};

/// A cylinder (slope ½π) or cone of unit modulus and density.
#[derive(Clone, Copy, Debug)]
pub struct Generator {
    /// Radius of the inner end.
    pub start: f64,
    /// Slope φ, rad.
    pub slope: f64,
    /// Length of the generator.
    pub length: f64,
    /// Thickness.
    pub h: f64,
    /// Poisson ratio.
    pub nu: f64,
    /// Whether the end at `s = length` is clamped, else free; the other is free.
    pub clamped: bool,
}

/// Values and first two derivatives (in x) of the Legendre polynomials of degree below `count`.
fn legendre(count: usize, x: f64) -> Vec<[f64; 3]> {
    let mut out = vec![[1.0, 0.0, 0.0], [x, 1.0, 0.0]];
    for k in 1..count.max(2) - 1 {
        let (a, b, n) = (out[k], out[k - 1], k as f64);
        let next = |i: usize, extra: f64| ((2.0 * n + 1.0) * (x * a[i] + extra) - n * b[i]) / (n + 1.0);
        out.push([next(0, 0.0), next(1, a[0]), next(2, 2.0 * a[1])]);
    }
    out.truncate(count);
    out
}

/// Gauss–Legendre points and weights on (−1, 1).
fn gauss(count: usize) -> Vec<(f64, f64)> {
    (0..count)
        .map(|i| {
            let mut x = libm::cos(std::f64::consts::PI * (i as f64 + 0.75) / (count as f64 + 0.5));
            let mut slope = 1.0;
            for _ in 0..12 {
                let p = legendre(count + 1, x)[count];
                slope = p[1];
                x -= p[0] / p[1];
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// The lowest ω²ρ/E (lengths as given) for n waves, rising, `degree` polynomials per field; rigid motions come as zeros.
pub fn frequencies(g: &Generator, n: u32, degree: usize) -> Vec<f64> {
    let size = 3 * degree;
    let (mut k, mut m) = (vec![vec![0.0; size]; size], vec![vec![0.0; size]; size]);
    let (s, c) = libm::sincos(g.slope);
    let (n, nu, half) = (f64::from(n), g.nu, 0.5 * g.length);
    let stretch = g.h / (1.0 - nu * nu);
    let bend = stretch * g.h * g.h / 12.0;
    for (x, w) in gauss(degree + 12) {
        let r = g.start + (1.0 + x) * half * c;
        let weight = w * half * r;
        let (e, d1) = (1.0 - x, -1.0);
        let p = legendre(degree, x);
        // Columns of (ε_s, ε_θ, γ, κ_s, κ_θ, 2κ_sθ) and (u, v, w).
        let mut rows: Vec<([f64; 6], [f64; 3])> = Vec::with_capacity(size);
        for field in 0..3 {
            for q in &p {
                // A clamped end takes a factor (1−x) from u and v and its square from w.
                let f = match (g.clamped, field) {
                    (false, _) => *q,
                    (true, 2) => [
                        e * e * q[0],
                        e * e * q[1] + 2.0 * e * d1 * q[0],
                        e * e * q[2] + 4.0 * e * d1 * q[1] + 2.0 * q[0],
                    ],
                    (true, _) => [e * q[0], e * q[1] + d1 * q[0], e * q[2] + 2.0 * d1 * q[1]],
                };
                let (f, fs, fss) = (f[0], f[1] / half, f[2] / (half * half));
                rows.push(match field {
                    0 => ([fs, c * f / r, -n * f / r, 0.0, 0.0, 0.5 * s * n * f / (r * r)], [f, 0.0, 0.0]),
                    1 => {
                        let turn = s * f / r;
                        let turn_s = s * (fs / r - c * f / (r * r));
                        let spin = 0.5 * (fs + c * f / r);
                        let twist = turn_s - c * turn / r + s * spin / r;
                        ([0.0, n * f / r, fs - c * f / r, 0.0, n * turn / r, twist], [0.0, f, 0.0])
                    }
                    _ => {
                        let turn = n * f / r;
                        let turn_s = n * (fs / r - c * f / (r * r));
                        let twist = turn_s - (c * turn - n * fs) / r;
                        ([0.0, s * f / r, 0.0, -fss, (n * turn - c * fs) / r, twist], [0.0, 0.0, f])
                    }
                });
            }
        }
        for (i, (a, ua)) in rows.iter().enumerate() {
            for (j, (b, ub)) in rows.iter().enumerate().take(i + 1) {
                let form = |o: usize| {
                    a[o] * b[o]
                        + a[o + 1] * b[o + 1]
                        + nu * (a[o] * b[o + 1] + a[o + 1] * b[o])
                        + 0.5 * (1.0 - nu) * a[o + 2] * b[o + 2]
                };
                k[i][j] += weight * (stretch * form(0) + bend * form(3));
                m[i][j] += weight * g.h * (ua[0] * ub[0] + ua[1] * ub[1] + ua[2] * ub[2]);
            }
        }
    }
    pencil(k, m)
}

/// Eigenvalues of `K x = μ M x` from lower triangles: Cholesky of M, then Jacobi rotations.
fn pencil(mut k: Vec<Vec<f64>>, mut m: Vec<Vec<f64>>) -> Vec<f64> {
    let n = m.len();
    for j in 0..n {
        for i in j..n {
            let sum: f64 = (0..j).map(|l| m[i][l] * m[j][l]).sum();
            let v = m[i][j] - sum;
            m[i][j] = if i == j { v.sqrt() } else { v / m[j][j] };
        }
    }
    for i in 0..n {
        for j in i + 1..n {
            k[i][j] = k[j][i];
        }
    }
    // K ← L⁻¹ K L⁻ᵀ, rows then columns.
    for _ in 0..2 {
        for col in 0..n {
            for i in 0..n {
                let sum: f64 = (0..i).map(|l| m[i][l] * k[l][col]).sum();
                k[i][col] = (k[i][col] - sum) / m[i][i];
            }
        }
        for i in 0..n {
            for j in i + 1..n {
                let (a, b) = (k[i][j], k[j][i]);
                (k[i][j], k[j][i]) = (b, a);
            }
        }
    }
    for _ in 0..40 {
        let mut off = 0.0_f64;
        for p in 0..n {
            for q in p + 1..n {
                let small = 1e-16 * (k[p][p] * k[q][q]).abs().sqrt();
                off = off.max(k[p][q].abs() / small.max(1e-300));
                if k[p][q].abs() <= small {
                    continue;
                }
                let theta = (k[q][q] - k[p][p]) / (2.0 * k[p][q]);
                let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
                let c = 1.0 / (t * t + 1.0).sqrt();
                let s = t * c;
                for row in &mut k {
                    let (x, y) = (row[p], row[q]);
                    (row[p], row[q]) = (c * x - s * y, s * x + c * y);
                }
                for r in 0..n {
                    let (x, y) = (k[p][r], k[q][r]);
                    (k[p][r], k[q][r]) = (c * x - s * y, s * x + c * y);
                }
            }
        }
        if off <= 1.0 {
            break;
        }
    }
    let mut out: Vec<f64> = (0..n).map(|i| k[i][i]).collect();
    out.sort_by(f64::total_cmp);
    out
}

/// One mode of a cylinder or cone.
#[derive(Clone, Copy, Debug)]
pub struct Mode {
    /// The part.
    pub part: Generator,
    /// Waves around.
    pub n: u32,
    /// Frequencies of the same n below (rigid motions not counted).
    pub index: usize,
    /// ω²ρR²/E, R the largest radius (of the cone: lengths as given).
    pub omega_squared: Known,
}

const SANDERS: &str =
    "Sanders 1959, NASA TR R-24; Koiter 1960 (strain measures, from memory); Ritz with Legendre polynomials";

const fn mode(
    part: Generator,
    n: u32,
    index: usize,
    id: &'static str,
    what: &'static str,
    value: f64,
) -> Mode {
    let within = Slack::Relative(2e-8);
    let omega_squared =
        Known { id, what, value, unit: "1", within, source: SANDERS, status: Status::Recomputed };
    Mode { part, n, index, omega_squared }
}

const HELD: Generator = Generator {
    start: 1.0,
    slope: std::f64::consts::FRAC_PI_2,
    length: 2.0,
    h: 0.01,
    nu: 0.3,
    clamped: true,
};
const LOOSE: Generator = Generator { h: 0.02, clamped: false, ..HELD };
const CONE: Generator = Generator { start: 0.3, slope: std::f64::consts::FRAC_PI_6, length: 1.0, ..HELD };

/// Lowest frequencies at ν = 0.3.
pub const TABLE: [Mode; 9] = [
    mode(
        HELD,
        4,
        0,
        "cylinder/held-4",
        "Cylinder, L = 2R, h = R/100, one end clamped, n = 4: ω²ρR²/E.",
        0.00447802501,
    ),
    mode(HELD, 3, 0, "cylinder/held-3", "The same, n = 3.", 0.00694073296),
    mode(HELD, 2, 0, "cylinder/held-2", "The same, n = 2.", 0.0209062287),
    mode(HELD, 4, 1, "cylinder/held-4-second", "The same, n = 4, second.", 0.0528243028),
    mode(
        LOOSE,
        2,
        0,
        "cylinder/free-2",
        "Free cylinder, L = 2R, h = R/50, n = 2 (Rayleigh's): ω²ρR²/E.",
        0.000261123367,
    ),
    mode(LOOSE, 2, 1, "cylinder/free-2-second", "The same, second (Love's).", 0.000466267623),
    mode(
        CONE,
        4,
        0,
        "cone/held-4",
        "Cone of slope 30°, from r = 0.3 to 1.166, h = 0.01, large end clamped, n = 4: ω²ρ/E.",
        0.0602543352,
    ),
    mode(CONE, 3, 0, "cone/held-3", "The same, n = 3.", 0.0659778427),
    mode(CONE, 2, 0, "cone/held-2", "The same, n = 2.", 0.134034446),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_is_what_the_polynomials_tend_to() {
        for m in TABLE {
            let at = |degree: usize| {
                let all = frequencies(&m.part, m.n, degree);
                all.into_iter().filter(|v| *v > 1e-8).nth(m.index).unwrap()
            };
            let (few, more) = (at(18), at(24));
            assert!((few / more - 1.0).abs() < 1e-8, "{}: {few} {more}", m.omega_squared.id);
            assert!(m.omega_squared.agrees(more, 0.0), "{}: {more}", m.omega_squared.id);
        }
    }

    /// Closed form: a plate is a cone of slope zero; rings of the characteristic equations.
    #[test]
    fn a_flat_cone_is_a_ring() {
        let ring = Generator { start: 0.3, slope: 0.0, length: 0.7, h: 0.001, nu: 0.3, clamped: true };
        let value = frequencies(&ring, 1, 16)[0];
        let omega = (value * 12.0 * 0.91 / 1e-6).sqrt();
        let known = crate::ring_plate::frequency(
            crate::plate::Edge::Free,
            crate::plate::Edge::Clamped,
            0.3,
            1,
            0.3,
            0,
        );
        assert!((omega / known.unwrap() - 1.0).abs() < 1e-7, "{omega} {known:?}");
    }

    /// Rayleigh 1881 ("On the infinitesimal bending of surfaces of revolution", from memory): a thin free cylinder bends without
    /// stretching, `ω² = n²(n²−1)²/(n²+1) · h²/12(1−ν²)`, less an edge effect.
    #[test]
    fn thin_free_cylinders_bend_without_stretching() {
        let thin = Generator { h: 0.002, ..LOOSE };
        let value = frequencies(&thin, 2, 24).into_iter().find(|v| *v > 1e-8).unwrap();
        let rayleigh = 4.0 * 9.0 / 5.0 * thin.h * thin.h / (12.0 * 0.91);
        assert!(value < rayleigh && value > 0.98 * rayleigh, "{value} {rayleigh}");
    }

    /// Closed form: six rigid motions cost nothing.
    #[test]
    fn rigid_motions() {
        for (n, count) in [(0, 2), (1, 2), (2, 0)] {
            let zeros = frequencies(&LOOSE, n, 14).into_iter().filter(|v| v.abs() < 1e-9).count();
            assert_eq!(zeros, count, "n = {n}");
        }
    }
}

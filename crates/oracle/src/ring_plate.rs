//! Ring plates and plates in their plane: characteristic equations for every wave number n.
//!
//! **Bending of a ring** (b ≤ r ≤ 1): `w = [A J_n + B Y_n + C I_n + D K_n](kr) cos nθ` solves D∇⁴w = ρhω²w when
//! `Ω = ω a² √(ρh/D) = k²`. Two rows at each edge, deflection and slope, deflection and moment, or moment and Kirchhoff's shear, make
//! a determinant of order four. With `q = −1` for J, Y and `q = +1` for I, K, and the functions of the argument kr,
//!
//! ```text
//! moment  −[ q k² f − (1−ν)(k f′/r − n² f/r²) ]
//! shear   −[ q k³ f′ + (1−ν) n² (f/r³ − k f′/r²) ]
//! ```
//!
//! Source: Leissa 1969, "Vibration of Plates", NASA SP-160, section 2.2 (the problem set; the equation is solved here, its tables are not used).
//!
//! **A disc in its plane**, edge held: `u = φ′ + nψ/r`, `v = −nφ/r − ψ′` with φ = A J_n(k₁r), ψ = B J_n(k₂r),
//! `k₁² = (1−ν²)ρω²/E`, `k₂² = 2(1+ν)ρω²/E`. Closed form; Love 1927, "A Treatise on the Mathematical Theory of Elasticity", art. 314 (from memory).

use crate::bessel::{dj, j, scaled_di, scaled_i};
use crate::plate::Edge;
use crate::{Known, Slack, Status};

/// Y_n(x) for x > 0.
fn y(n: u32, x: f64) -> f64 {
    libm::yn(n as i32, x)
}

fn dy(n: u32, x: f64) -> f64 {
    if n == 0 { -y(1, x) } else { 0.5 * (y(n - 1, x) - y(n + 1, x)) }
}

/// e^{x} K_n(x) for x > 0: `∫ exp(x − x cosh t) cosh nt dt`, by the trapezoidal rule, whose error falls exponentially.
fn scaled_k(n: u32, x: f64) -> f64 {
    let step = 0.01;
    let mut sum = 0.5;
    for i in 1..3000 {
        let t = step * f64::from(i);
        let half = libm::sinh(0.5 * t);
        let power = f64::from(n) * t - 2.0 * x * half * half;
        if power < -745.0 {
            break;
        }
        // cosh nt = ½ e^{nt} (1 + e^{−2nt})
        sum += 0.5 * libm::exp(power) * (1.0 + libm::exp(-2.0 * f64::from(n) * t));
    }
    sum * step
}

/// e^{x} K_n′(x).
fn scaled_dk(n: u32, x: f64) -> f64 {
    if n == 0 { -scaled_k(1, x) } else { -0.5 * (scaled_k(n - 1, x) + scaled_k(n + 1, x)) }
}

/// Rows of one edge at radius r for the four functions; I and K are scaled to 1 at the outer and the inner edge.
fn edge_rows(edge: Edge, n: u32, nu: f64, k: f64, r: f64, inner: f64) -> [[f64; 4]; 2] {
    let x = k * r;
    let (up, down) = (libm::exp(x - k), libm::exp(k * inner - x));
    let f = [j(n, x), y(n, x), up * scaled_i(n, x), down * scaled_k(n, x)];
    let d = [dj(n, x), dy(n, x), up * scaled_di(n, x), down * scaled_dk(n, x)];
    let q = [-1.0, -1.0, 1.0, 1.0];
    let (p, n2) = (1.0 - nu, f64::from(n * n));
    let slope = std::array::from_fn(|i| k * d[i]);
    let moment = std::array::from_fn(|i| q[i] * k * k * f[i] - p * (k * d[i] / r - n2 * f[i] / (r * r)));
    let shear =
        std::array::from_fn(|i| q[i] * k * k * k * d[i] + p * n2 * (f[i] / (r * r * r) - k * d[i] / (r * r)));
    match edge {
        Edge::Clamped => [f, slope],
        Edge::Hinged => [f, moment],
        Edge::Free => [moment, shear],
    }
}

/// Determinant by elimination with pivots; every row scaled by its largest entry, which keeps the sign.
fn determinant<const N: usize>(mut a: [[f64; N]; N]) -> f64 {
    let mut out = 1.0;
    for row in &mut a {
        let largest = row.iter().fold(f64::MIN_POSITIVE, |m, v| m.max(v.abs()));
        row.iter_mut().for_each(|v| *v /= largest);
    }
    for c in 0..N {
        let p = (c..N).fold(c, |b, r| if a[r][c].abs() > a[b][c].abs() { r } else { b });
        if p != c {
            a.swap(p, c);
            out = -out;
        }
        let pivot = a[c];
        out *= pivot[c];
        for row in a.iter_mut().skip(c + 1) {
            let f = row[c] / pivot[c];
            row.iter_mut().zip(&pivot).for_each(|(v, w)| *v -= f * w);
        }
    }
    out
}

/// The `index`-th zero of f above `from`, by steps and bisection; `None` beyond `to`.
fn zero(f: impl Fn(f64) -> f64, from: f64, to: f64, step: f64, index: usize) -> Option<f64> {
    let (mut low, mut at_low, mut left) = (from, f(from), index);
    while low < to {
        let high = low + step;
        let at_high = f(high);
        if at_low * at_high < 0.0 {
            if left == 0 {
                let (mut a, mut b) = (low, high);
                for _ in 0..80 {
                    let m = 0.5 * (a + b);
                    if (f(m) > 0.0) == (at_low > 0.0) { a = m } else { b = m }
                }
                return Some(0.5 * (a + b));
            }
            left -= 1;
        }
        (low, at_low) = (high, at_high);
    }
    None
}

/// Ω = ω a² √(ρh/D), a the outer radius, of a ring with inner radius `b·a`: n nodal diameters, `index` frequencies of the same n below
/// (rigid motions not counted).
pub fn frequency(inner: Edge, outer: Edge, b: f64, n: u32, nu: f64, index: usize) -> Option<f64> {
    let f = |k: f64| {
        let ([a, c], [d, e]) = (edge_rows(inner, n, nu, k, b, b), edge_rows(outer, n, nu, k, 1.0, b));
        determinant([a, c, d, e])
    };
    zero(f, 0.6, 100.0, 0.02, index).map(|k| k * k)
}

/// ω a √(ρ/E) of a disc held all round its edge, moving in its plane: all kinds of n = 0 are in one list, breathing and twisting.
pub fn in_plane(n: u32, nu: f64, index: usize) -> Option<f64> {
    let (c1, c2) = ((1.0 - nu * nu).sqrt(), (2.0 * (1.0 + nu)).sqrt());
    let order = f64::from(n);
    let f = |w: f64| {
        let (x, z) = (c1 * w, c2 * w);
        x * dj(n, x) * z * dj(n, z) - order * order * j(n, x) * j(n, z)
    };
    zero(f, 0.05, 60.0, 0.01, index)
}

/// One mode of a ring.
#[derive(Clone, Copy, Debug)]
pub struct Ring {
    /// Inner edge.
    pub inner: Edge,
    /// Outer edge.
    pub outer: Edge,
    /// Inner over outer radius.
    pub b: f64,
    /// Nodal diameters.
    pub n: u32,
    /// Frequencies of the same n below.
    pub index: usize,
    /// Ω at ν = 0.3.
    pub omega: Known,
}

/// One mode of a disc in its plane.
#[derive(Clone, Copy, Debug)]
pub struct InPlane {
    /// Waves around.
    pub n: u32,
    /// Frequencies of the same n below.
    pub index: usize,
    /// ω a √(ρ/E) at ν = 0.3.
    pub omega: Known,
}

const LEISSA: &str =
    "Leissa 1969, Vibration of Plates, NASA SP-160, sec. 2.2 (problem set); characteristic equation solved";
const LOVE: &str =
    "Love 1927, Treatise on Elasticity, art. 314 (equations, from memory); characteristic equation solved";

const fn known(id: &'static str, what: &'static str, value: f64, source: &'static str) -> Known {
    Known { id, what, value, unit: "1", within: Slack::Relative(1e-8), source, status: Status::ClosedForm }
}

const fn ring(edges: [Edge; 2], b: f64, n: u32, id: &'static str, what: &'static str, value: f64) -> Ring {
    Ring { inner: edges[0], outer: edges[1], b, n, index: 0, omega: known(id, what, value, LEISSA) }
}

const FREE: [Edge; 2] = [Edge::Free, Edge::Free];
const FIXED: [Edge; 2] = [Edge::Clamped, Edge::Free];
const ON_PINS: [Edge; 2] = [Edge::Hinged, Edge::Free];

/// Lowest frequencies of rings at ν = 0.3.
pub const RINGS: [Ring; 11] = [
    ring(FREE, 0.5, 2, "ring/free-2", "Free ring, b/a = 0.5, n = 2: Ω.", 4.271113826),
    ring(FREE, 0.5, 0, "ring/free-0", "Free ring, b/a = 0.5, n = 0: Ω.", 9.313480641),
    ring(FREE, 0.5, 3, "ring/free-3", "Free ring, b/a = 0.5, n = 3: Ω.", 11.425440338),
    ring(
        FIXED,
        0.5,
        0,
        "ring/fixed-0",
        "Ring clamped inside, free outside, b/a = 0.5, n = 0: Ω.",
        13.024256662,
    ),
    ring(
        FIXED,
        0.5,
        1,
        "ring/fixed-1",
        "Ring clamped inside, free outside, b/a = 0.5, n = 1: Ω.",
        13.289781410,
    ),
    ring(
        FIXED,
        0.5,
        2,
        "ring/fixed-2",
        "Ring clamped inside, free outside, b/a = 0.5, n = 2: Ω.",
        14.703812471,
    ),
    ring(
        ON_PINS,
        0.5,
        0,
        "ring/pins-0",
        "Ring hinged inside, free outside, b/a = 0.5, n = 0: Ω.",
        4.120958985,
    ),
    ring(
        ON_PINS,
        0.5,
        1,
        "ring/pins-1",
        "Ring hinged inside, free outside, b/a = 0.5, n = 1: Ω.",
        4.861596694,
    ),
    ring(
        [Edge::Free, Edge::Clamped],
        0.3,
        0,
        "ring/held-0",
        "Ring free inside, clamped outside, b/a = 0.3, n = 0: Ω.",
        11.423777849,
    ),
    ring(
        [Edge::Free, Edge::Clamped],
        0.3,
        1,
        "ring/held-1",
        "Ring free inside, clamped outside, b/a = 0.3, n = 1: Ω.",
        19.540323384,
    ),
    ring(
        [Edge::Free, Edge::Hinged],
        0.3,
        0,
        "ring/hinged-0",
        "Ring free inside, hinged outside, b/a = 0.3, n = 0: Ω.",
        4.664077084,
    ),
];

const fn in_its_plane(n: u32, index: usize, id: &'static str, what: &'static str, value: f64) -> InPlane {
    InPlane { n, index, omega: known(id, what, value, LOVE) }
}

/// Lowest frequencies of a disc in its plane, edge held, ν = 0.3.
pub const IN_PLANE: [InPlane; 4] = [
    in_its_plane(0, 0, "disc/twist", "Disc held at its edge, twisting: ω a √(ρ/E).", 2.376323165),
    in_its_plane(
        0,
        1,
        "disc/breathe",
        "Disc held at its edge, breathing in its plane: ω a √(ρ/E).",
        4.016719267,
    ),
    in_its_plane(
        1,
        0,
        "disc/in-plane-1",
        "Disc held at its edge, in its plane, n = 1: ω a √(ρ/E).",
        2.051580821,
    ),
    in_its_plane(
        2,
        0,
        "disc/in-plane-2",
        "Disc held at its edge, in its plane, n = 2: ω a √(ρ/E).",
        3.194508210,
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_solve_the_characteristic_equations() {
        for r in RINGS {
            let solved = frequency(r.inner, r.outer, r.b, r.n, 0.3, r.index).unwrap();
            assert!(r.omega.agrees(solved, 0.0), "{}: {solved}", r.omega.id);
        }
        for d in IN_PLANE {
            let solved = in_plane(d.n, 0.3, d.index).unwrap();
            assert!(d.omega.agrees(solved, 0.0), "{}: {solved}", d.omega.id);
        }
    }

    /// Leissa 1969, tables 2.17 ff. (from memory): free and clamped inside, free outside, b/a = 0.5 at ν = 0.3.
    #[test]
    fn printed_rings() {
        for (inner, n, printed) in [
            (Edge::Clamped, 0, 13.0),
            (Edge::Clamped, 1, 13.3),
            (Edge::Clamped, 2, 14.7),
            (Edge::Free, 0, 9.31),
        ] {
            let solved = frequency(inner, Edge::Free, 0.5, n, 0.3, 0).unwrap();
            assert!((solved / printed - 1.0).abs() < 3e-3, "{inner:?} {n}: {solved}");
        }
    }

    /// A hole without size leaves the whole plate (n = 3: a small hole costs only in high order of b).
    #[test]
    fn a_vanishing_hole_is_none() {
        let ring = frequency(Edge::Free, Edge::Free, 0.001, 3, 0.3, 0).unwrap();
        let plate = crate::plate::frequency(Edge::Free, 3, 0.3, 0).unwrap();
        assert!((ring / plate - 1.0).abs() < 1e-8, "{ring} {plate}");
    }

    /// Closed form: K_0(2), K_1(2) (Abramowitz & Stegun 1964, table 9.8, from memory), and the Wronskian
    /// I_n K_n′ − I_n′ K_n = −1/x.
    #[test]
    fn modified_functions() {
        let scale = libm::exp(-2.0);
        assert!((scale * scaled_k(0, 2.0) - 0.113_893_872_7).abs() < 1e-9);
        assert!((scale * scaled_k(1, 2.0) - 0.139_865_881_8).abs() < 1e-9);
        for n in 0..8 {
            for x in [0.3, 2.0, 17.0] {
                let w = scaled_i(n, x) * scaled_dk(n, x) - scaled_di(n, x) * scaled_k(n, x);
                assert!((w * x + 1.0).abs() < 1e-10, "{n} {x}: {w}");
            }
        }
    }
}

//! The energy density of a general surface from first principles, for any kind of number: no symmetry is assumed.

use calotte_solve::Scalar;

use crate::kernel::Natural;

pub(crate) type V3<T> = [T; 3];

fn dot<T: Scalar>(a: V3<T>, b: V3<T>) -> T {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross<T: Scalar>(a: V3<T>, b: V3<T>) -> V3<T> {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// Strains ε_ss, ε_θθ, ε_sθ and bending measures likewise of a general surface from first principles: F by physical derivatives,
/// U = √(FᵀF) by the closed form for 2×2, K = sym(U⁻¹b) − b₀.
pub(crate) fn strains<T: Scalar>(
    nat: &Natural,
    s: V3<T>,
    t: V3<T>,
    ss: V3<T>,
    st: V3<T>,
    tt: V3<T>,
) -> ([T; 3], [T; 3]) {
    let (c11, c12, c22) = (dot(s, s), dot(s, t), dot(t, t));
    let det = (c11 * c22 - c12 * c12).sqrt();
    let k = (c11 + c22 + det + det).sqrt();
    let (u11, u12, u22) = ((c11 + det) / k, c12 / k, (c22 + det) / k);
    let n = cross(s, t);
    let len = dot(n, n).sqrt();
    let b = [ss, st, tt].map(|d| dot(n, d) / len);
    let (i11, i12, i22) = (u22 / det, -u12 / det, u11 / det);
    let k11 = i11 * b[0] + i12 * b[1] - nat.k0;
    let k22 = i12 * b[1] + i22 * b[2] - nat.sin0 * nat.inv_r0;
    let k12 = (i11 * b[1] + i12 * b[2] + i12 * b[0] + i22 * b[1]) * 0.5;
    ([u11 - 1.0 - nat.e0[0], u22 - 1.0 - nat.e0[1], u12], [k11, k22, k12])
}

/// Densities `½ε:A:ε` and `½K:D:K` (before moduli) of a wall of one layer.
fn densities<T: Scalar>(nat: &Natural, ([a, b, c], [k, l, m]): ([T; 3], [T; 3])) -> (T, T) {
    let form =
        |a: T, b: T, c: T| (a * a + b * b + a * b * (2.0 * nat.nu) + c * c * (2.0 * (1.0 - nat.nu))) * 0.5;
    (form(a, b, c), form(k, l, m))
}

/// A number that starts with a value and a slope along a line.
pub(crate) trait Line: Scalar {
    /// `value + slope · ξ`.
    fn line(value: f64, slope: f64) -> Self;
}

impl Line for calotte_solve::Jet {
    fn line(value: f64, slope: f64) -> Self {
        Self { v: value, d1: slope, d2: 0.0 }
    }
}

/// Densities of a wall of one layer, as [`strained`] perturbs it.
pub(crate) fn perturbed<T: Line>(
    nat: &Natural,
    q: &[f64; 5],
    fields: &[(f64, &[f64; 9])],
    th: f64,
) -> (T, T) {
    densities(nat, strained(nat, q, fields, th))
}

/// Strains at one angle of the meridian with local derivatives `q` (`r, r′, r″, z′, z″`), perturbed along ξ by the sum
/// of fields `(u cos mθ, v sin mθ, w cos mθ)`, each given as (m, its nine local values, θ).
pub(crate) fn strained<T: Line>(
    nat: &Natural,
    q: &[f64; 5],
    fields: &[(f64, &[f64; 9])],
    th: f64,
) -> ([T; 3], [T; 3]) {
    let [r, i0] = [q[0], nat.inv_r0];
    // Derivative of a vector field given by its cylindrical components and their θ-derivatives:
    // ∂θ(a e_r + b e_θ) = (a,θ − b) e_r + (b,θ + a) e_θ.
    let frame = |a: [f64; 3], at: [f64; 3]| [at[0] - a[1], at[1] + a[0], at[2]];
    let (mut s1, mut ss1, mut t1, mut st1, mut tt1) = ([0.0; 3], [0.0; 3], [0.0; 3], [0.0; 3], [0.0; 3]);
    for (n, y) in fields {
        let n = *n;
        let [u, du, ddu, v, dv, ddv, w, dw, ddw] = **y;
        let (s, c) = libm::sincos(n * th);
        let d_t = frame([u * c, v * s, w * c], [-n * u * s, n * v * c, -n * w * s]);
        let d_tt = frame(d_t, [-n * n * u * c - n * v * c, -n * n * v * s - n * u * s, -n * n * w * c]);
        let d_st = frame([du * c, dv * s, dw * c], [-n * du * s, n * dv * c, -n * dw * s]);
        let add = |to: &mut [f64; 3], f: [f64; 3], k: f64| (0..3).for_each(|i| to[i] += k * f[i]);
        add(&mut s1, [du * c, dv * s, dw * c], 1.0);
        add(&mut ss1, [ddu * c, ddv * s, ddw * c], 1.0);
        add(&mut t1, d_t, i0);
        add(&mut tt1, d_tt, i0 * i0);
        add(&mut st1, d_st, i0);
    }
    let i2 = i0 * i0;
    let along = |base: [f64; 3], f: [f64; 3]| [0, 1, 2].map(|i| T::line(base[i], f[i]));
    strains(
        nat,
        along([q[1], 0.0, q[3]], s1),
        along([0.0, r * i0, 0.0], t1),
        along([q[2], 0.0, q[4]], ss1),
        along([0.0, q[1] * i0, 0.0], st1),
        along([-r * i2, 0.0, 0.0], tt1),
    )
}

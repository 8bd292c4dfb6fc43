//! Second variation of the turning springs at joints, for every wave number.
//!
//! The angle at a joint is the one between the parts of both meridional tangents that are square to the common circle: with τ
//! the unit tangent of the deformed circle and c = a − (a·τ)τ, `ψ = atan2(−(c⁻ × c⁺)·τ, c⁻·c⁺)`. Along the perturbation
//! `(u cos nθ, v sin nθ, w cos nθ)` its energy ½kψ² has the second derivative `k (ψ′² + ψ ψ″)`, taken by second-order series where
//! the cosine is one and where the sine is. It is even (1, n²) within (u, w) and within v, odd (n) between them.

use calotte_solve::{Band, Jet, Scalar};

use crate::harmonic::NODE;
use crate::model::{DOF, Model};

type V3 = [Jet; 3];

fn dot(a: V3, b: V3) -> Jet {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: V3, b: V3) -> V3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// ψ′ and ψ″ of the angle from `a` to `b` about the circle with the tangent vector `t`.
fn turning(a: V3, b: V3, t: V3) -> [f64; 2] {
    let size = dot(t, t).sqrt();
    let tau = t.map(|x| x / size);
    let square = |v: V3| {
        let along = dot(v, tau);
        [v[0] - along * tau[0], v[1] - along * tau[1], v[2] - along * tau[2]]
    };
    let (c, d) = (square(a), square(b));
    let (s, k) = (-dot(cross(c, d), tau), dot(c, d));
    let m = s.v * s.v + k.v * k.v;
    let first = (k.v * s.d1 - s.v * k.d1) / m;
    let second = (k.v * s.d2 - s.v * k.d2) / m - 2.0 * (s.v * s.d1 + k.v * k.d1) * first / m;
    [first, second]
}

/// Unknowns of a joint: u, v, w of its place, then ℓu′, ℓv′, ℓw′ of either side.
const OWN: usize = 9;

/// Both derivatives of the angle along `y`, at (cos nθ, sin nθ) = `at`.
fn along(q: &[f64], node: usize, y: &[f64; OWN], n: f64, at: [f64; 2]) -> [f64; 2] {
    let [c, s] = at;
    let (a, b) = (DOF * (node - 1), DOF * node);
    let line = |v: f64, d: f64| Jet { v, d1: d, d2: 0.0 };
    let side =
        |i: usize, y: &[f64]| [line(q[i + 1], y[0] * c), line(0.0, y[1] * s), line(q[i + 4], y[2] * c)];
    let [u, v, w] = [y[0], y[1], y[2]];
    // ∂θ of the place: (−n u − v) sin, r + (u + n v) cos, −n w sin.
    let circle = [line(0.0, -(n * u + v) * s), line(q[a], (u + n * v) * c), line(0.0, -n * w * s)];
    turning(side(a, &y[3..6]), side(b, &y[6..9]), circle)
}

/// The quadratic form for one n.
fn form(q: &[f64], node: usize, angle: f64, n: f64) -> [[f64; OWN]; OWN] {
    let value = |y: &[f64; OWN]| -> f64 {
        [[1.0, 0.0], [0.0, 1.0]]
            .into_iter()
            .map(|at| {
                let [first, second] = along(q, node, y, n, at);
                first * first + angle * second
            })
            .sum()
    };
    let unit = |i: usize| {
        let mut y = [0.0; OWN];
        y[i] = 1.0;
        y
    };
    let mut out = [[0.0; OWN]; OWN];
    for i in 0..OWN {
        out[i][i] = value(&unit(i));
    }
    for i in 0..OWN {
        for j in 0..i {
            let (mut plus, mut minus) = (unit(i), unit(i));
            plus[j] = 1.0;
            minus[j] = -1.0;
            out[i][j] = 0.25 * (value(&plus) - value(&minus));
            out[j][i] = out[i][j];
        }
    }
    out
}

/// Adds the joints of a model at thickness factor `t` to the coefficients of the second variation.
pub(crate) fn add(model: &Model, q: &[f64], t: f64, coefficients: &mut [Band; 3]) {
    for j in &model.joints {
        let Some(stiffness) = j.stiffness else { continue };
        let angle = j.angle(q);
        let w = 0.5 * t * t * stiffness;
        let (zero, one) = (form(q, j.node, angle, 0.0), form(q, j.node, angle, 1.0));
        let (a, b) = (NODE * (j.node - 1), NODE * j.node);
        let place = |k: usize| match k / 3 {
            0 => a + 3 * k,
            1 => a + 3 * (k - 3) + 1,
            _ => b + 3 * (k - 6) + 1,
        };
        for i in 0..OWN {
            for k in 0..=i {
                let (row, col) = (place(i).max(place(k)), place(i).min(place(k)));
                if (i % 3 == 1) == (k % 3 == 1) {
                    coefficients[0].add(row, col, w * zero[i][k]);
                    coefficients[1].add(row, col, w * (one[i][k] - zero[i][k]));
                } else {
                    coefficients[1].add(row, col, w * one[i][k]);
                }
            }
        }
    }
}

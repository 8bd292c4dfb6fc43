//! The second variation against the energy of the really perturbed surface, summed over both coordinates.

use calotte_solve::Jet;

use calotte_specimen::Rim;

use super::{Dice, cap, model, shaken};
use crate::harmonic::Harmonics;
use crate::harmonic_kernel::{bending, membrane};
use crate::kernel::Natural;
use crate::model::GAUSS;
use crate::surface::perturbed;

const R0: f64 = 0.8;
const NAT: Natural = Natural { inv_r0: 1.0 / R0, sin0: 0.55, k0: 1.1, nu: 0.3, e0: [0.0; 2] };

/// Mean over θ of the second derivative of both densities along the perturbation with local values `y` (order of
/// `Form`), at a point with deformed derivatives `q`. 64 angles integrate products of harmonics up to n = 8
/// exactly, up to aliasing far away; the derivative is exact (second-order series).
fn mean_second(nat: &Natural, q: &[f64; 5], y: &[f64; 9], n: f64) -> (f64, f64) {
    let angles = 64;
    let (mut sum_m, mut sum_b) = (0.0, 0.0);
    for i in 0..angles {
        let th = 2.0 * std::f64::consts::PI * f64::from(i) / f64::from(angles);
        let (m, b): (Jet, Jet) = perturbed(nat, q, &[(n, y)], th);
        sum_m += m.d2;
        sum_b += b.d2;
    }
    (sum_m / f64::from(angles), sum_b / f64::from(angles))
}

/// Recomputed from the stated equations, point by point on random shells and fields.
#[test]
fn kernel_equals_the_perturbed_surface_for_n_up_to_8() {
    let mut dice = Dice::new(41);
    for n in 0..=8 {
        for _ in 0..6 {
            let (r, phi, lam) = (R0 * (1.0 + 0.1 * dice.roll()), 0.9 * dice.roll(), 1.0 + 0.1 * dice.roll());
            let (dphi, dlam) = (1.5 * dice.roll(), 0.5 * dice.roll());
            let (sin, cos) = libm::sincos(phi);
            let q = [r, lam * cos, dlam * cos - lam * dphi * sin, lam * sin, dlam * sin + lam * dphi * cos];
            let mut y: [f64; 9] = std::array::from_fn(|_| dice.roll());
            if n == 0 {
                y[3..6].fill(0.0);
            }
            let nf = f64::from(n);
            let (sm, sb) = mean_second(&NAT, &q, &y, nf);
            // Mean over θ of cos² is ½ (1 for n = 0).
            let mean = if n == 0 { 1.0 } else { 0.5 };
            let value = |q: &[[f64; 9]; 9]| -> f64 {
                (0..9).map(|i| (0..9).map(|j| y[i] * q[i][j] * y[j]).sum::<f64>()).sum::<f64>() * mean
            };
            let (m, b) = (value(&membrane(&q, &NAT, nf)), value(&bending(&q, &NAT, nf)));
            assert!((m - sm).abs() < 1e-11 * (1.0 + sm.abs()), "n={n} stretching {m:e} {sm:e}");
            assert!((b - sb).abs() < 1e-10 * (1.0 + sb.abs()), "n={n} bending {b:e} {sb:e}");
        }
    }
}

/// The same for whole surfaces, summed over both coordinates: the assembled matrices against the energy of the
/// perturbed surface, at a deformed state that is no equilibrium, with and without a hole.
#[test]
fn assembled_form_equals_the_perturbed_surface_for_n_1_to_8() {
    for hole in [0.0, 25.0] {
        let part = cap(70.0, 0.06, hole, Rim::Free);
        let m = model(&part);
        let (t, x) = (1.1, shaken(&m, 21));
        let q = m.nodal(&x);
        let harmonics = Harmonics::new(&m, &x, t);
        let mut dice = Dice::new(77);
        let size = 9 * m.nodes.len();
        for n in 1..=8_u32 {
            let mut y = dice.vector(size);
            if hole == 0.0 {
                // A field that vanishes at the pole with two derivatives is smooth there for every n.
                y[..9].fill(0.0);
            }
            let mut ky = vec![0.0; size];
            harmonics.stiffness(n).multiply(&y, &mut ky);
            let form: f64 = y.iter().zip(&ky).map(|(a, b)| a * b).sum();
            let mut whole = 0.0;
            for (g, p) in m.points.iter().enumerate() {
                let base = 9 * (g / GAUSS);
                let local: [f64; 9] = std::array::from_fn(|k| {
                    let (field, d) = (k / 3, k % 3);
                    (0..6).map(|j| p.n[d][j] * y[base + 3 * field + if j < 3 { j } else { 9 + j - 3 }]).sum()
                });
                let (sm, sb) = mean_second(&p.nat, &m.local(&q, g), &local, f64::from(n));
                whole += p.wm * sm + t * t * p.wb * sb;
            }
            assert!((form / whole - 1.0).abs() < 1e-11, "hole {hole} n {n}: {form:e} {whole:e}");
        }
    }
}

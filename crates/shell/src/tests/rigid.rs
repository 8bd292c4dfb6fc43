//! Rigid motions at any deformed state, and the n = 0 form against the axisymmetric tangent.

use calotte_solve::potential::dot;
use calotte_solve::{Band, Potential};
use calotte_specimen::Rim;

use super::{Dice, cap, model, rims, shaken};
use crate::harmonic::Harmonics;
use crate::model::{DOF, Model};

/// Closed form: an energy unchanged by translations and rotations has `E″[δ, w] = 0` for a translation δ,
/// and `E″[Ωx, w] = −E′[Ωw]` for a rotation, at every state.
#[test]
fn rigid_motions_are_zeros_at_any_state() {
    for hole in [0.0, 20.0] {
        let part = cap(70.0, 0.05, hole, Rim::Free);
        let m = model(&part);
        let (t, x) = (1.0, shaken(&m, 5));
        let h = Harmonics::new(&m, &x, t);
        let q = m.nodal(&x);
        let (mut g, mut k) = (vec![0.0; m.unknowns()], Band::new(m.unknowns(), m.half_bandwidth()));
        m.assemble(&x, t, &mut g, &mut k);
        let force = m.scattered(&g);
        let nodes = m.nodes.len();
        let size = 9 * nodes;
        let field = |f: &dyn Fn(usize, usize) -> [f64; 3]| -> Vec<f64> {
            let mut v = vec![0.0; size];
            for i in 0..nodes {
                for d in 0..3 {
                    let y = f(i, d);
                    for c in 0..3 {
                        v[9 * i + 3 * c + d] = y[c];
                    }
                }
            }
            v
        };
        let one = |d: usize| f64::from(d == 0);
        let r = |i: usize, d: usize| q[DOF * i + d];
        let z = |i: usize, d: usize| q[DOF * i + 3 + d];
        let fr = |i: usize, d: usize| force[DOF * i + d];
        let fz = |i: usize, d: usize| force[DOF * i + 3 + d];
        let cases: [(u32, Vec<f64>, Vec<f64>); 4] = [
            (0, field(&|_, d| [0.0, 0.0, one(d)]), vec![0.0; size]),
            (1, field(&|_, d| [one(d), -one(d), 0.0]), vec![0.0; size]),
            (0, field(&|i, d| [0.0, r(i, d), 0.0]), field(&|i, d| [0.0, 0.5 * fr(i, d), 0.0])),
            (
                1,
                field(&|i, d| [z(i, d), -z(i, d), -r(i, d)]),
                field(&|i, d| [0.5 * fz(i, d), -0.5 * fz(i, d), -0.5 * fr(i, d)]),
            ),
        ];
        for (which, (n, v, expected)) in cases.iter().enumerate() {
            let k = h.stiffness(*n);
            let mut kv = vec![0.0; size];
            k.multiply(v, &mut kv);
            let scale = k.largest_diagonal();
            for i in 0..size {
                // Unknowns that the axisymmetric problem holds (pole, rim height) carry no force here.
                let (node, c, d) = (i / 9, (i % 9) / 3, i % 3);
                let pole = hole == 0.0 && node == 0;
                let rim_height = node + 1 == nodes && d == 0 && *n == 1 && c < 2 && which == 3;
                if pole || rim_height {
                    continue;
                }
                assert!(
                    (kv[i] - expected[i]).abs() < 1e-13 * scale,
                    "motion {which}, node {node}, field {c}.{d}: {:e} against {:e} of {scale:e}",
                    kv[i],
                    expected[i]
                );
            }
        }
    }
}

/// Closed form: the n = 0 form of (u, w) is half the axisymmetric second variation (π for 2π).
#[test]
fn n_zero_equals_the_axisymmetric_tangent() {
    for rim in rims() {
        let part = cap(50.0, 0.06, 0.0, rim);
        let m = model(&part);
        let (t, x) = (0.9, shaken(&m, 9));
        n_zero_agrees(&m, &x, t, 1e-12, &format!("{rim:?}"));
    }
}

/// Holds the n = 0 form of a model at a state against half its axisymmetric tangent, along five random directions.
pub(super) fn n_zero_agrees(m: &Model, x: &[f64], t: f64, within: f64, what: &str) {
    let n = m.unknowns();
    let (mut g, mut k) = (vec![0.0; n], Band::new(n, m.half_bandwidth()));
    m.assemble(x, t, &mut g, &mut k);
    let harmonic = Harmonics::new(m, x, t).stiffness(0);
    let mut dice = Dice::new(2);
    for _ in 0..5 {
        let v = dice.vector(n);
        let mut kv = vec![0.0; n];
        k.multiply(&v, &mut kv);
        let mut y = vec![0.0; harmonic.size()];
        for (i, value) in m.direction(&v).iter().enumerate() {
            let (node, rest) = (i / DOF, i % DOF);
            y[9 * node + rest + if rest < 3 { 0 } else { 3 }] = *value;
        }
        let mut ky = vec![0.0; y.len()];
        harmonic.multiply(&y, &mut ky);
        let (a, b) = (dot(&v, &kv), 2.0 * dot(&y, &ky));
        assert!((a / b - 1.0).abs() < within, "{what}: {a:e} {b:e}");
    }
}

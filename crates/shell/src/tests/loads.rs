//! Loads: derivatives against differences, n = 0 against the axisymmetric tangent, work as a derivative.

use calotte_solve::potential::dot;
use calotte_solve::{Band, Directional, Potential};
use calotte_specimen::Rim;

use super::{Dice, cap, model, shaken};
use crate::harmonic::{Harmonics, NODE};
use crate::{Body, Grading, Grips, Loaded, Mesh, Model, Push};

/// Bodies that touch a shaken mirror image over a part of it.
fn pushes(m: &Model, x: &[f64]) -> Vec<(Push, f64)> {
    let top = x[m.inner_height()];
    let body = |flat_to: f64, round: f64, direction: f64, at: f64| {
        let stiffness = 3.0;
        (Push::Body(Body { flat_to, round, direction, stiffness, soft: 0.003 }), at)
    };
    let dead = Push::Along(m.dead_pressure_vector());
    vec![
        (Push::Volume { sign: -1.0 }, 0.4),
        (dead, 0.3),
        body(f64::INFINITY, 0.0, -1.0, -top + 0.02),
        body(0.0, 0.6, -1.0, -top + 0.03),
        body(0.05, 0.3, -1.0, -top + 0.03),
        body(0.1, 0.05, 1.0, top - 0.3),
    ]
}

#[test]
fn derivatives_agree_with_differences() {
    for rim in [Rim::Ring, Rim::Clamped, Rim::Hinged] {
        let part = cap(50.0, 0.06, 0.0, rim);
        let m = model(&part);
        let x = shaken(&m, 5);
        let n = m.unknowns();
        let v = Dice::new(9).vector(n);
        for (push, f) in pushes(&m, &x) {
            let named = format!("{rim:?} {push:?}").chars().take(60).collect::<String>();
            let loaded = Loaded::new(&m, 1.2, 2e-3, push).with_dead(m.weight_vector());
            let at = |eps: f64, f: f64| {
                let y: Vec<f64> = x.iter().zip(&v).map(|(a, b)| a + eps * b).collect();
                let (mut g, mut h) = (vec![0.0; n], Band::new(n, loaded.half_bandwidth()));
                let e = loaded.assemble(&y, f, &mut g, &mut h);
                assert!((e - loaded.energy(&y, f)).abs() < 1e-12 * e.abs().max(1e-3), "{named}");
                let mut hv = vec![0.0; n];
                h.multiply(&v, &mut hv);
                (e, g, hv)
            };
            let eps = 1e-6;
            let (plus, minus, here) = (at(eps, f), at(-eps, f), at(0.0, f));
            let (later, sooner) = (at(0.0, f + eps), at(0.0, f - eps));
            let size = |w: &[f64]| w.iter().fold(1e-9_f64, |a, b| a.max(b.abs()));
            let slope = (plus.0 - minus.0) / (2.0 * eps);
            assert!((slope - dot(&here.1, &v)).abs() < 1e-6 * slope.abs().max(1e-3), "{named} energy");
            let mut dir = Directional::new(n);
            loaded.directional(&x, f, &v, &mut dir);
            for i in 0..n {
                let apart = |d: f64, exact: f64, all: &[f64], what: &str| {
                    assert!((d - exact).abs() < 2e-5 * size(all), "{named} {what} {i}: {d} {exact}");
                };
                apart((plus.1[i] - minus.1[i]) / (2.0 * eps), here.2[i], &here.2, "tangent");
                apart((plus.2[i] - minus.2[i]) / (2.0 * eps), dir.third[i], &dir.third, "third");
                apart((later.1[i] - sooner.1[i]) / (2.0 * eps), dir.slope[i], &dir.slope, "slope");
                apart((later.2[i] - sooner.2[i]) / (2.0 * eps), dir.slope_v[i], &here.2, "slope_v");
            }
            // Load times displacement is the derivative of the energy in the parameter, sign turned for forces.
            let de = (later.0 - sooner.0) / (2.0 * eps);
            let expected = match loaded.push() {
                Push::Body(_) => loaded.load(&x, f),
                _ => -2e-3 * loaded.displacement(&x, f),
            };
            assert!((de - expected).abs() < 1e-6 * expected.abs().max(1e-6), "{named} work {de} {expected}");
        }
    }
}

/// The n = 0 ripple form is half the axisymmetric second derivative, load terms included.
#[test]
fn n_0_reproduces_the_axisymmetric_tangent_under_load() {
    let part = cap(50.0, 0.06, 0.0, Rim::Ring);
    let m = model(&part);
    let x = shaken(&m, 6);
    for (push, f) in pushes(&m, &x) {
        let loaded = Loaded::new(&m, 1.1, 0.5, push);
        let n = m.unknowns();
        let v = Dice::new(4).vector(n);
        let (mut g, mut h, mut hv) = (vec![0.0; n], Band::new(n, m.half_bandwidth()), vec![0.0; n]);
        loaded.assemble(&x, f, &mut g, &mut h);
        h.multiply(&v, &mut hv);
        let q = m.direction(&v);
        let mut y = vec![0.0; NODE * m.nodes.len()];
        for i in 0..m.nodes.len() {
            for d in 0..3 {
                y[NODE * i + d] = q[6 * i + d];
                y[NODE * i + 6 + d] = q[6 * i + 3 + d];
            }
        }
        let mut ky = vec![0.0; y.len()];
        Harmonics::loaded(&loaded, &x, f).stiffness(0).multiply(&y, &mut ky);
        let (a, b) = (dot(&v, &hv), 2.0 * dot(&y, &ky));
        assert!((a - b).abs() < 1e-9 * a.abs(), "{:?}: {a} {b}", loaded.push());
    }
}

/// A shift of a closed shell changes no volume at second order.
#[test]
fn pressure_leaves_a_shift_free() {
    let part = cap(179.999, 0.05, 0.0, Rim::Ring);
    let m = Model::new(&part, 1.0, &Mesh::uniform(&part, 24));
    let x = crate::natural(&m);
    let loaded = Loaded::new(&m, 1.0, 1.0, Push::Volume { sign: -1.0 });
    let with = Harmonics::loaded(&loaded, &x, 1.0).stiffness(1);
    let without = Harmonics::new(&m, &x, 1.0).stiffness(1);
    let mut shift = vec![0.0; NODE * m.nodes.len()];
    for i in 0..m.nodes.len() {
        shift[NODE * i] = 1.0;
        shift[NODE * i + 3] = -1.0;
    }
    let (mut a, mut b) = (vec![0.0; shift.len()], vec![0.0; shift.len()]);
    with.multiply(&shift, &mut a);
    without.multiply(&shift, &mut b);
    assert!(a.iter().zip(&b).any(|(a, b)| (a - b).abs() > 1e-6), "the pressure has a part of its own");
    let part: f64 = shift.iter().zip(a.iter().zip(&b)).map(|(v, (a, b))| v * (a - b)).sum();
    assert!(part.abs() < 1e-9, "{part}");
}

/// A pusher bonded to the wall: the mesh starts at its edge, which keeps radius and slope and moves along the axis.
#[test]
fn a_bonded_pusher_holds_radius_and_slope() {
    let part = cap(60.0, 0.03, 0.0, Rim::Clamped);
    let whole = Mesh::graded(&part, 1.0, &Grading::default());
    let inside = 0.3;
    let mut nodes = vec![inside];
    nodes.extend(whole.nodes.iter().copied().filter(|s| *s > inside + 0.02));
    let m = Model::gripped(&part, 1.0, &Mesh { nodes }, Grips { inner: true, ..Grips::default() });
    let x = crate::natural(&m);
    let (mut g, mut h) = (vec![0.0; m.unknowns()], Band::new(m.unknowns(), m.half_bandwidth()));
    m.assemble(&x, 1.0, &mut g, &mut h);
    assert!(g.iter().all(|v| v.abs() < 1e-9), "the natural shape is free of stress");
    let shaken: Vec<f64> = x.iter().zip(Dice::new(2).vector(x.len())).map(|(a, b)| a + 1e-3 * b).collect();
    let q = m.nodal(&shaken);
    assert!((q[0] - libm::sin(inside)).abs() < 1e-14);
    let slope = libm::atan2(q[4], q[1]);
    assert!((slope - inside).abs() < 1e-12, "{slope}");
    assert_eq!(Harmonics::new(&m, &x, 1.0).negative(1, &mut calotte_solve::Work::default()), Some(0));
}

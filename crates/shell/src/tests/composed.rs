//! Walls of layers and meridians with joints: derivatives, second variation, rigid motions.

use std::sync::Arc;

use calotte_solve::{Band, Jet, Potential};
use calotte_specimen::{
    Corner, Corners, Layer, Layers, Material, Meridian, Part, Property, Rim, Stiffened, Wall,
};

use super::rigid::n_zero_agrees;
use super::{Dice, agrees_with_differences, cap, model, shaken};
use crate::harmonic::Harmonics;
use crate::harmonic_kernel::{layered_bending, layered_membrane};
use crate::kernel::{Law, Natural};
use crate::surface::strained;
use crate::{Grading, Heated, Mesh, Model, PinAt};

fn layers(of: Vec<[f64; 4]>) -> Arc<Layers> {
    let layer = |[share, youngs, poisson, expansion]: [f64; 4]| Layer {
        share,
        youngs: Property::Constant(youngs),
        poisson,
        expansion: Property::Constant(expansion),
    };
    Arc::new(Layers {
        layers: of.into_iter().map(layer).collect(),
        formed_at: 300.0,
        temperature: 380.0,
        face_difference: 5.0,
        extra_curvature: 0.2,
        flexivity: 1e-5,
    })
}

/// A cone, an arc and a flat flange with a sharp corner, a smooth joint, a step of thickness and a stiff piece.
fn composed(rim: Rim, layered: bool) -> Part {
    let corner = |r: f64, z: f64, arc: f64| Corner { r, z, fillet: 0.0, arc };
    let corners =
        [corner(0.3, 0.0, 0.0), corner(0.6, 0.25, 1.2), corner(0.85, 0.3, 0.0), corner(1.0, 0.3, 0.0)];
    let corners = Corners::new(&corners).unwrap();
    let [from, to] = corners.span_of(2);
    let step = corners.span_of(1)[0];
    let knots = vec![(0.0, 0.03), (step, 0.04), (step, 0.05), (corners.length(), 0.04)];
    let wall =
        Wall::stepped(knots).unwrap().with_stiffened(vec![Stiffened { span: [from, to], factor: 50.0 }]);
    let many = layers(vec![[0.4, 1.3, 0.2, 2e-5], [0.6, 0.8, 0.4, 1e-6]]);
    Part {
        meridian: Meridian::Corners(Box::new(corners)),
        wall: wall.with_layers(layered.then_some(many)),
        material: Material { youngs: 1.0, poisson: 0.3, density: None },
        rim,
    }
}

/// A state away from the natural one.
fn moved(m: &Model, seed: u64) -> Vec<f64> {
    let mut dice = Dice::new(seed);
    crate::natural(m).iter().map(|x| x + 0.01 * dice.roll()).collect()
}

/// Central differences of energy, gradient and tangent, with joints and with layers.
#[test]
fn derivatives_agree_with_differences() {
    for (layered, rim) in [(false, Rim::Free), (true, Rim::Clamped), (true, Rim::Ring)] {
        let part = composed(rim, layered);
        let m = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &Grading::default()));
        assert!(m.joints.len() == 2 && m.joints.iter().all(|j| j.stiffness.is_some()));
        let x = moved(&m, 3);
        agrees_with_differences(&m, &x, 1.2, 1e-6, 1e-6, &format!("{rim:?} layers {layered}"));
    }
}

/// Closed form: the n = 0 form of (u, w) is half the axisymmetric second variation, joints and layers included; translations
/// are zeros at every state.
#[test]
fn ripples_agree_with_the_axisymmetric_tangent() {
    for (layered, rim) in [(false, Rim::Free), (true, Rim::Free), (true, Rim::Clamped)] {
        let part = composed(rim, layered);
        let m = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &Grading::default()));
        let (t, x) = (0.9, moved(&m, 9));
        n_zero_agrees(&m, &x, t, 1e-11, &format!("{rim:?} layers {layered}"));
        let harmonics = Harmonics::new(&m, &x, t);
        let one = harmonics.stiffness(1);
        let size = one.size();
        let across: Vec<f64> = (0..size)
            .map(|i| match i % 9 {
                0 => 1.0,
                3 => -1.0,
                _ => 0.0,
            })
            .collect();
        let mut ky = vec![0.0; size];
        one.multiply(&across, &mut ky);
        let worst = ky.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
        assert!(worst < 1e-13 * one.largest_diagonal(), "{worst:e} of {:e}", one.largest_diagonal());
    }
}

/// Closed form: an energy unchanged by rotations has `E″[Ωx, Ωx] = −E′[Ω²x]`: tilting a part with joints and layers, forces at
/// an equilibrium being nothing, costs nothing.
#[test]
fn tilting_an_equilibrium_is_free() {
    let part = composed(Rim::Free, true);
    let m = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &Grading::default()));
    let mut work = calotte_solve::Work::default();
    let set = calotte_solve::minimise::Settings::default();
    let found = calotte_solve::minimise::minimise(&m, crate::natural(&m), 1.0, &set, &mut work).unwrap();
    let h = Harmonics::new(&m, &found.x, 1.0);
    for n in [0, 1] {
        let residual = h.rigid_residual(n);
        assert!(residual < 1e-12, "n = {n}: {residual:e}");
    }
    // Heat and its own curvature have moved it.
    assert!(found.energy.abs() > 0.0 && h.negative(2, &mut work) == Some(0));
}

/// Recomputed from the stated equations: the form of a wall of layers at random points against the really perturbed surface.
#[test]
fn layered_kernel_equals_the_perturbed_surface() {
    let nat = Natural { inv_r0: 1.25, sin0: 0.55, k0: 1.1, nu: 0.3, e0: [0.01, -0.02] };
    let law = Law { a: [1.3, 0.4], b: [0.2, -0.05], d: [0.3, 0.12], rest: [0.02, -0.01, 0.03, 0.01] };
    let mut dice = Dice::new(5);
    for n in 0..=6 {
        for _ in 0..5 {
            let (r, phi, lam) = (0.8 * (1.0 + 0.1 * dice.roll()), 0.9 * dice.roll(), 1.0 + 0.1 * dice.roll());
            let (dphi, dlam) = (1.5 * dice.roll(), 0.5 * dice.roll());
            let (sin, cos) = libm::sincos(phi);
            let q = [r, lam * cos, dlam * cos - lam * dphi * sin, lam * sin, dlam * sin + lam * dphi * cos];
            let mut y: [f64; 9] = std::array::from_fn(|_| dice.roll());
            if n == 0 {
                y[3..6].fill(0.0);
            }
            let nf = f64::from(n);
            let angles = 64;
            let mut seen = 0.0;
            for i in 0..angles {
                let th = 2.0 * std::f64::consts::PI * f64::from(i) / f64::from(angles);
                let ([a, b, c], [k, l, m]): ([Jet; 3], [Jet; 3]) = strained(&nat, &q, &[(nf, &y)], th);
                let shear = c * c * (law.a[0] - law.a[1])
                    + c * m * (2.0 * (law.b[0] - law.b[1]))
                    + m * m * (law.d[0] - law.d[1]);
                seen += (law.energy([a, b, k, l]) + shear).d2 / f64::from(angles);
            }
            let mean = if n == 0 { 1.0 } else { 0.5 };
            let form = |q: &[[f64; 9]; 9]| -> f64 {
                (0..9).map(|i| (0..9).map(|j| y[i] * q[i][j] * y[j]).sum::<f64>()).sum::<f64>() * mean
            };
            let got =
                form(&layered_membrane(&q, &nat, &law, nf)) + form(&layered_bending(&q, &nat, &law, nf));
            assert!((got - seen).abs() < 1e-10 * (1.0 + seen.abs()), "n={n}: {got:e} {seen:e}");
        }
    }
}

/// Three equal layers are one wall: energy, tangent and ripples are those of the plain wall.
#[test]
fn equal_layers_are_one_wall() {
    let plain = cap(60.0, 0.06, 0.0, Rim::Free);
    let mut equal =
        (*layers(vec![[0.3, 1.0, 0.3, 1e-5], [0.3, 1.0, 0.3, 1e-5], [0.4, 1.0, 0.3, 1e-5]])).clone();
    (equal.temperature, equal.face_difference, equal.extra_curvature) = (300.0, 0.0, 0.0);
    let layered = Part { wall: plain.wall.clone().with_layers(Some(Arc::new(equal))), ..plain.clone() };
    let (a, b) = (model(&plain), model(&layered));
    let x = shaken(&a, 4);
    assert!((a.energy(&x, 1.3) / b.energy(&x, 1.3) - 1.0).abs() < 1e-13);
    let (p, q) = (a.energies(&x, 1.3), b.energies(&x, 1.3));
    assert!((p.stretching / q.stretching - 1.0).abs() < 1e-13 && (p.bending / q.bending - 1.0).abs() < 1e-12);
    for n in [0, 2, 5] {
        let (k, l) = (Harmonics::new(&a, &x, 1.3).stiffness(n), Harmonics::new(&b, &x, 1.3).stiffness(n));
        let top = k.data().iter().fold(0.0_f64, |a, b| a.max(b.abs()));
        assert!(k.data().iter().zip(l.data()).all(|(a, b)| (a - b).abs() < 1e-13 * top), "{n}");
    }
}

/// Closed form: a free flat plate of layers bends to its own thermal curvature k, as long as the rise is small against the
/// thickness (a sphere is no bent plane).
#[test]
fn a_free_plate_bends_freely() {
    let corner = |r: f64| Corner { r, z: 0.0, fillet: 0.0, arc: 0.0 };
    let corners = Corners::new(&[corner(0.0), corner(1.0)]).unwrap();
    let mut two = (*layers(vec![[0.5, 1.0, 0.3, 2e-5], [0.5, 1.0, 0.3, 0.0]])).clone();
    (two.temperature, two.face_difference, two.extra_curvature, two.flexivity) = (300.1, 0.0, 0.0, 0.0);
    let part = Part {
        meridian: Meridian::Corners(Box::new(corners)),
        wall: Wall::uniform(0.05).with_layers(Some(Arc::new(two))),
        material: Material { youngs: 1.0, poisson: 0.3, density: None },
        rim: Rim::Free,
    };
    let m = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &Grading::default()));
    let mut work = calotte_solve::Work::default();
    let set = calotte_solve::minimise::Settings::default();
    let found = calotte_solve::minimise::minimise(&m, crate::natural(&m), 1.0, &set, &mut work).unwrap();
    // Equal layers: k h = 1.5 Δα ΔT.
    let k = 1.5 * 2e-5 * 0.1 / 0.05;
    let rim = *m.profile(&found.x, 2).rim();
    assert!((rim.slope / libm::asin(k) - 1.0).abs() < 1e-6, "{} {k}", rim.slope);
    assert!(found.energy < 1e-6 * k * k * 0.05f64.powi(2));
}

/// Central differences in temperature, with a pin in contact and a force: gradient, its derivative along v, and the third.
#[test]
fn heated_derivatives_agree_with_differences() {
    let steel = Property::table(&[(250.0, 1.4), (350.0, 1.3), (450.0, 1.1)]).unwrap();
    let part = composed(Rim::Ring, true);
    let mut own = part.wall.layers().unwrap().clone();
    own.layers[0].youngs = steel;
    let part = Part { wall: part.wall.clone().with_layers(Some(Arc::new(own))), ..part };
    let m = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &Grading::default()));
    let (x, top) = (moved(&m, 8), m.inner_height());
    for depth in [0.02, 0.0005, -0.02] {
        let pin = PinAt { height: x[top] - depth, stiffness: 0.3, soft: 0.001 };
        let h = Heated::new(m.clone(), 1.1, 300.0, 50.0).with_force(1e-4).with_pin(Some(pin));
        let f = 1.3;
        assert!((h.temperature(f) - 365.0).abs() < 1e-12);
        // The shaken joints hold so much energy that its rounding asks for wider steps in temperature.
        let slope = agrees_with_differences(&h, &x, f, 1e-6, 1e-3, &format!("depth {depth}"));
        assert!((slope / h.unit() / h.energy_slope(&x, f) - 1.0).abs() < 1e-6, "{slope:e}");
    }
}

/// Closed form: uniform thermal stress in a clamped plate of one layer, N = −E h α ΔT/(1−ν) and no moment; faces apart by G,
/// M = E h² α G/12(1−ν) towards the cold face.
#[test]
fn resultants_of_a_heated_clamped_plate() {
    let corner = |r: f64| Corner { r, z: 0.0, fillet: 0.0, arc: 0.0 };
    let corners = Corners::new(&[corner(0.0), corner(1.0)]).unwrap();
    let mut one = (*layers(vec![[1.0, 1.0, 0.3, 1e-5]])).clone();
    (one.temperature, one.face_difference, one.extra_curvature, one.flexivity) = (301.0, 2.0, 0.0, 0.0);
    let h = 0.05;
    let part = Part {
        meridian: Meridian::Corners(Box::new(corners)),
        wall: Wall::uniform(h).with_layers(Some(Arc::new(one))),
        material: Material { youngs: 1.0, poisson: 0.3, density: None },
        rim: Rim::Clamped,
    };
    let m = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &Grading::default()));
    for r in m.resultants(&crate::natural(&m), 1.0) {
        for i in 0..2 {
            assert!((r.force[i] / (-h * 1e-5 / 0.7) - 1.0).abs() < 1e-9, "{:?}", r.force);
            // The concave face is the hot one: it wants to bend the plate against the bowl and is kept from it.
            assert!((r.moment[i] / (h * h * 2e-5 / (12.0 * 0.7)) - 1.0).abs() < 1e-9, "{:?}", r.moment);
        }
        assert!((r.stiffness / (h * h * h / (12.0 * 0.91)) - 1.0).abs() < 1e-12);
    }
}

/// A part whose corner lies elsewhere keeps its joints, and its model the same unknowns.
#[test]
fn joints_move_with_their_corners() {
    let part = composed(Rim::Free, true);
    let m = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &Grading::default()));
    let corner = |r: f64, z: f64, arc: f64| Corner { r, z, fillet: 0.0, arc };
    let moved =
        [corner(0.3, 0.0, 0.0), corner(0.62, 0.24, 1.2), corner(0.85, 0.31, 0.0), corner(1.0, 0.3, 0.0)];
    let moved = Corners::new(&moved).unwrap();
    let step = moved.span_of(1)[0];
    let knots = vec![(0.0, 0.03), (step, 0.04), (step, 0.05), (moved.length(), 0.04)];
    let stiff = Stiffened { span: moved.span_of(2), factor: 50.0 };
    let wall =
        Wall::stepped(knots).unwrap().with_stiffened(vec![stiff]).with_layers(part.wall.layers_shared());
    let other = m.rebuilt(&Part { meridian: Meridian::Corners(Box::new(moved)), wall, ..part });
    assert!(other.unknowns() == m.unknowns() && other.joints.len() == m.joints.len());
    for (a, b) in m.joints.iter().zip(&other.joints) {
        assert!(a.node == b.node && a.turn != b.turn && b.stiffness.is_some());
    }
    // And its natural state is one: nothing is left but what heat does.
    let (x, mut g) = (crate::natural(&other), vec![0.0; other.unknowns()]);
    let mut k = Band::new(g.len(), other.half_bandwidth());
    assert!(other.assemble(&x, 1.0, &mut g, &mut k).is_finite());
    assert!(other.joint_energy(&other.nodal(&x), 1.0) < 1e-20);
}

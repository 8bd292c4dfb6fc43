//! The pieces of the branch's expansion, one by one, and its sign where it is known.

use calotte_solve::follow::{self, Watch};
use calotte_solve::potential::dot;
use calotte_solve::{Scalar, Work};
use calotte_specimen::Rim;

use super::{cap, model};
use crate::branch_off::{Series, forces_for_tests};
use crate::harmonic::Harmonics;
use crate::{Grading, Loaded, Mesh, Model, Push, branch_off, natural};

/// Closed form: √(1+ξ)² = 1+ξ, 1/(1−ξ) = Σ ξᵏ, (1+ξ)⁴ by products.
#[test]
fn series_follow_closed_forms() {
    let one_plus = Series([1.0, 1.0, 0.0, 0.0, 0.0]);
    let root = one_plus.sqrt();
    let binomial = [1.0, 0.5, -0.125, 0.0625, -5.0 / 128.0];
    root.0.iter().zip(binomial).for_each(|(a, b)| assert!((a - b).abs() < 1e-15));
    (root * root - one_plus).0.iter().for_each(|c| assert!(c.abs() < 1e-15));
    let geometric = Series::constant(1.0) / Series([1.0, -1.0, 0.0, 0.0, 0.0]);
    assert_eq!(geometric.0, [1.0; 5]);
    let fourth = one_plus * one_plus * one_plus * one_plus;
    assert_eq!(fourth.0, [1.0, 4.0, 6.0, 4.0, 1.0]);
}

/// The force on the axisymmetric part at second order is half the derivative of the ripple's form along it.
#[test]
fn axisymmetric_force_is_the_slope_of_the_ripple_form() {
    for (hole, push) in [(20.0, None), (0.0, Some(Push::Volume { sign: -1.0 }))] {
        let part = cap(60.0, 0.05, hole, Rim::Ring);
        let m = model(&part);
        let x: Vec<f64> = natural(&m).iter().zip(crate::mirror(&m)).map(|(a, b)| 0.3 * a + 0.7 * b).collect();
        let f = 0.7;
        let loaded = Loaded::new(&m, 1.1, 0.9, push.unwrap_or(Push::Along(vec![0.0; x.len()])));
        let n = 3;
        // Smooth fields, at rest in height at the rim and flat at a pole: the volume's terms by parts agree only as far as
        // the integration is exact.
        let end = m.nodes[m.nodes.len() - 1];
        let mut y = Vec::new();
        for (&s, &ell) in m.nodes.iter().zip(&m.scale) {
            for (c, k) in [(0.01, 0.0), (-0.02, 0.0), (0.015, end)] {
                // c s³ (k − s), or c s³ where k is none.
                let (f, d, dd) = if k > 0.0 {
                    (s.powi(3) * (k - s), 3.0 * s * s * k - 4.0 * s.powi(3), 6.0 * s * k - 12.0 * s * s)
                } else {
                    (s.powi(3), 3.0 * s * s, 6.0 * s)
                };
                y.extend([c * f, c * ell * d, c * ell * ell * dd]);
            }
        }
        let (quartic, zero) = forces_for_tests(&loaded, &x, f, &y, n);
        assert!(quartic.abs() > 0.0);
        let w = natural(&m);
        let form = |e: f64| {
            let moved: Vec<f64> = x.iter().zip(&w).map(|(x, d)| x + e * d).collect();
            let mut ky = vec![0.0; y.len()];
            Harmonics::loaded(&loaded, &moved, f).stiffness(n).multiply(&y, &mut ky);
            dot(&y, &ky)
        };
        let slope = 0.5 * (form(1e-6) - form(-1e-6)) / 2e-6;
        let force = dot(&zero, &w);
        assert!((force - slope).abs() < 1e-5 * slope.abs(), "{force:e} {slope:e}");
    }
}

/// A thin shallow clamped cap under a pressure of fixed direction: the load falls along the sideways branch (Fitch &
/// Budiansky 1970, "Buckling and postbuckling behavior of spherical caps under axisymmetric load", AIAA J. 8, 686, for
/// pressure over the whole cap; sign only, from memory).
#[test]
fn pressed_caps_lose_load_on_the_sideways_branch() {
    let nu: f64 = 0.3;
    let alpha: f64 = 0.05;
    let lambda = 8.0;
    let h = (12.0 * (1.0 - nu * nu)).sqrt() * (alpha / lambda) * (alpha / lambda);
    let part = cap(alpha.to_degrees(), h, 0.0, Rim::Clamped);
    let m = Model::new(
        &part,
        1.0,
        &Mesh::graded(&part, 1.0, &Grading { longest: 0.5 * h.sqrt(), ..Grading::default() }),
    );
    let unit = 2.0 * h * h / (3.0 * (1.0 - nu * nu)).sqrt();
    for push in [Push::Along(m.dead_pressure_vector()), Push::Volume { sign: -1.0 }] {
        loses_load(&m, &Loaded::new(&m, 1.0, unit, push), alpha);
    }
}

fn loses_load(m: &Model, loaded: &Loaded<'_>, alpha: f64) {
    let set = follow::Settings {
        step: 0.002 * alpha,
        longest: 0.01 * alpha,
        weight: 0.02 * alpha,
        points: 600,
        ..follow::Settings::default()
    };
    let mut work = Work::default();
    let from = follow::start(loaded, natural(m), 0.0, true, set.weight, &mut work);
    let Some(from) = from else { panic!("no start") };
    let mut found = None;
    follow::follow(loaded, from, &set, &mut work, |here, next| {
        let lost = (2..=8).find(|n| {
            Harmonics::loaded(loaded, &next.x, next.t)
                .negative(*n, &mut Work::default())
                .is_some_and(|c| c > 0)
        });
        if let Some(n) = lost {
            found = Some((here.clone(), next.clone(), n));
            return Watch::Stop;
        }
        if next.dt < 0.0 { Watch::Stop } else { Watch::Go }
    });
    let Some((a, b, n)) = found else { panic!("no ripple before the limit") };
    let at = follow::locate(loaded, &a, &b, &set, 1e-9, &mut work, |p, w| {
        Harmonics::loaded(loaded, &p.x, p.t).smallest(n, None, w).map(|s| s.0.value)
    });
    let Some(at) = at else { panic!("not located") };
    let p = at.point;
    let Some((s, _)) = Harmonics::loaded(loaded, &p.x, p.t).smallest(n, None, &mut work) else {
        panic!("no mode")
    };
    let y = m.ripple_nodal(&s.vector, n);
    let dx_df: Vec<f64> = p.dx.iter().map(|d| d / p.dt).collect();
    let Some(off) = branch_off(loaded, &p.x, p.t, &dx_df, &y, n, &mut work) else { panic!("no branch") };
    assert!(off.slope < 0.0, "the mode softens along the path: {:e}", off.slope);
    assert!(off.quartic < 0.0 && off.load_curvature < 0.0, "n {n}: {:e}", off.load_curvature);
    // The branch does not depend on how the mode is scaled: f − f* per squared displacement.
    let doubled: Vec<f64> = y.iter().map(|v| 2.0 * v).collect();
    let Some(twice) = branch_off(loaded, &p.x, p.t, &dx_df, &doubled, n, &mut work) else {
        panic!("no branch")
    };
    assert!((twice.load_curvature / off.load_curvature - 4.0).abs() < 1e-6);
    // Freedom to relax can only lower the quartic.
    assert!(off.quartic < off.rigid_quartic);
}

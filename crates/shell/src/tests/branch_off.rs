//! The pieces of the branch's expansion, one by one, and its sign where it is known.

use calotte_solve::follow::{self, Watch};
use calotte_solve::potential::dot;
use calotte_solve::{Scalar, Work};
use calotte_specimen::Rim;

use super::{Dice, cap, model, shaken};
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
    let part = cap(60.0, 0.05, 20.0, Rim::Ring);
    let m = model(&part);
    let x = shaken(&m, 3);
    let loaded = Loaded::new(&m, 1.1, 1.0, Push::Along(vec![0.0; x.len()]));
    let n = 3;
    let y = Dice::new(8).vector(9 * m.nodes.len()).iter().map(|v| 0.01 * v).collect::<Vec<_>>();
    let (quartic, zero) = forces_for_tests(&loaded, &x, &y, n);
    assert!(quartic.abs() > 0.0);
    let w = Dice::new(5).vector(x.len());
    let form = |e: f64| {
        let moved: Vec<f64> = x.iter().zip(&w).map(|(x, d)| x + e * d).collect();
        let mut ky = vec![0.0; y.len()];
        Harmonics::new(&m, &moved, 1.1).stiffness(n).multiply(&y, &mut ky);
        dot(&y, &ky)
    };
    let slope = 0.5 * (form(1e-6) - form(-1e-6)) / 2e-6;
    let force = dot(&zero, &w);
    assert!((force - slope).abs() < 1e-5 * slope.abs(), "{force:e} {slope:e}");
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
    let loaded = Loaded::new(&m, 1.0, unit, Push::Along(m.dead_pressure_vector()));
    let set = follow::Settings {
        step: 0.002 * alpha,
        longest: 0.01 * alpha,
        weight: 0.02 * alpha,
        points: 600,
        ..follow::Settings::default()
    };
    let mut work = Work::default();
    let from = follow::start(&loaded, natural(&m), 0.0, true, set.weight, &mut work);
    let Some(from) = from else { panic!("no start") };
    let mut found = None;
    follow::follow(&loaded, from, &set, &mut work, |here, next| {
        let lost = (2..=8).find(|n| {
            Harmonics::new(&m, &next.x, 1.0).negative(*n, &mut Work::default()).is_some_and(|c| c > 0)
        });
        if let Some(n) = lost {
            found = Some((here.clone(), next.clone(), n));
            return Watch::Stop;
        }
        if next.dt < 0.0 { Watch::Stop } else { Watch::Go }
    });
    let Some((a, b, n)) = found else { panic!("no ripple before the limit") };
    let at = follow::locate(&loaded, &a, &b, &set, 1e-9, &mut work, |p, w| {
        Harmonics::new(&m, &p.x, 1.0).smallest(n, None, w).map(|s| s.0.value)
    });
    let Some(at) = at else { panic!("not located") };
    let p = at.point;
    let Some((s, _)) = Harmonics::new(&m, &p.x, 1.0).smallest(n, None, &mut work) else { panic!("no mode") };
    let y = m.ripple_nodal(&s.vector, n);
    let dx_df: Vec<f64> = p.dx.iter().map(|d| d / p.dt).collect();
    let Some(off) = branch_off(&loaded, &p.x, p.t, &dx_df, &y, n, &mut work) else { panic!("no branch") };
    assert!(off.slope < 0.0, "the mode softens along the path: {:e}", off.slope);
    assert!(off.quartic < 0.0 && off.load_curvature < 0.0, "n {n}: {:e}", off.load_curvature);
    // The branch does not depend on how the mode is scaled: f − f* per squared displacement.
    let doubled: Vec<f64> = y.iter().map(|v| 2.0 * v).collect();
    let Some(twice) = branch_off(&loaded, &p.x, p.t, &dx_df, &doubled, n, &mut work) else {
        panic!("no branch")
    };
    assert!((twice.load_curvature / off.load_curvature - 4.0).abs() < 1e-6);
    // Freedom to relax can only lower the quartic.
    assert!(off.quartic < off.rigid_quartic);
}

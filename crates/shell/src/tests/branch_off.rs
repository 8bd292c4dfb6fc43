//! The pieces of the branch's expansion, one by one, and its sign where it is known.

use calotte_solve::follow::{self, PathPoint, Watch};
use calotte_solve::potential::dot;
use calotte_solve::{Scalar, Work};
use calotte_specimen::{Rim, RimSprings};

use super::{cap, model, shaken};
use crate::branch_off::{Series, angle, forces_for_tests};
use crate::harmonic::{Harmonics, NODE};
use crate::model::GAUSS;
use crate::surface::{Line, perturbed};
use crate::{BranchOff, Grading, Loaded, Mesh, Model, Push, branch_off, natural};

impl Line for f64 {
    fn line(value: f64, slope: f64) -> Self {
        value + slope
    }
}

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
    // atan ξ = ξ − ξ³/3, and the angle of (ξ, 1) is what is left of a right angle.
    let (one, line) = (Series::constant(1.0), Series([0.0, 1.0, 0.0, 0.0, 0.0]));
    assert_eq!(angle(one, line).0, [0.0, 1.0, 0.0, -1.0 / 3.0, 0.0]);
    assert_eq!(angle(line, one).0, [0.5 * std::f64::consts::PI, -1.0, 0.0, 1.0 / 3.0, 0.0]);
}

/// The force on the axisymmetric part at second order is half the derivative of the ripple's form along it.
#[test]
fn axisymmetric_force_is_the_slope_of_the_ripple_form() {
    let cases = [
        (20.0, None, Rim::Ring),
        (0.0, Some(Push::Volume { sign: -1.0 }), Rim::Ring),
        (20.0, None, elastic(1.0)),
    ];
    for (hole, push, rim) in cases {
        let part = cap(60.0, 0.05, hole, rim);
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
        let (quartic, zero, _) = forces_for_tests(&loaded, &x, f, &y, n);
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
        assert!((force - slope).abs() < 1e-7 * slope.abs(), "{force:e} {slope:e}");
    }
}

/// The nine local values of a ripple at an integration point.
fn ripple_at(m: &Model, y: &[f64], g: usize) -> [f64; 9] {
    let base = NODE * (g / GAUSS);
    std::array::from_fn(|k| {
        (0..6)
            .map(|j| m.points[g].n[k % 3][j] * y[base + 3 * (k / 3) + if j < 3 { j } else { NODE + j - 3 }])
            .sum()
    })
}

/// Along a ripple the whole energy has no linear part, and its quadratic part is half the assembled form.
#[test]
fn series_start_like_the_ripple_form() {
    let m = model(&cap(70.0, 0.06, 25.0, Rim::Free));
    let (t, x) = (1.1, shaken(&m, 5));
    let q = m.nodal(&x);
    let y = super::Dice::new(6).vector(NODE * m.nodes.len());
    for n in [1_u32, 2, 5] {
        let (mut first, mut second, mut size) = (0.0, 0.0, 0.0);
        for (g, p) in m.points.iter().enumerate() {
            let (at, own) = (m.local(&q, g), ripple_at(&m, &y, g));
            for i in 0..16 {
                let th = 2.0 * std::f64::consts::PI * f64::from(i) / 16.0 / f64::from(n);
                let (a, b): (Series, Series) = perturbed(&p.nat, &at, &[(f64::from(n), &own)], th);
                let (wm, wb) = (p.wm / 16.0, t * t * p.wb / 16.0);
                first += wm * a.0[1] + wb * b.0[1];
                size += (wm * a.0[1]).abs() + (wb * b.0[1]).abs();
                second += wm * a.0[2] + wb * b.0[2];
            }
        }
        let mut ky = vec![0.0; y.len()];
        Harmonics::new(&m, &x, t).stiffness(n).multiply(&y, &mut ky);
        assert!(first.abs() < 1e-12 * size, "n {n}: {first:e} of {size:e}");
        assert!((second / (0.5 * dot(&y, &ky)) - 1.0).abs() < 1e-11, "n {n}");
    }
}

/// First bifurcation with 2 ≤ n ≤ 8 on the path from the natural state, its wave number and the mode with its largest
/// nodal displacement 1.
fn bifurcation(loaded: &Loaded<'_>, set: &follow::Settings) -> (PathPoint, u32, Vec<f64>) {
    let m = loaded.model();
    let mut work = Work::default();
    let Some(from) = follow::start(loaded, natural(m), 0.0, true, set.weight, &mut work) else {
        panic!("no start")
    };
    let mut found = None;
    follow::follow(loaded, from, set, &mut work, |here, next| {
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
    let at = follow::locate(loaded, &a, &b, set, 1e-9, &mut work, |p, w| {
        Harmonics::loaded(loaded, &p.x, p.t).smallest(n, None, w).map(|s| s.0.value)
    });
    let Some(at) = at else { panic!("not located") };
    let p = at.point;
    let Some((s, _)) = Harmonics::loaded(loaded, &p.x, p.t).smallest(n, None, &mut work) else {
        panic!("no mode")
    };
    let y = m.ripple_nodal(&s.vector, n);
    let top = y.chunks(NODE).fold(0.0_f64, |a, c| a.max(c[0].abs()).max(c[3].abs()).max(c[6].abs()));
    (p, n, y.iter().map(|v| v / top).collect())
}

fn leave(loaded: &Loaded<'_>, p: &PathPoint, y: &[f64], n: u32) -> BranchOff {
    let dx_df: Vec<f64> = p.dx.iter().map(|d| d / p.dt).collect();
    let Some(off) = branch_off(loaded, &p.x, p.t, &dx_df, y, n, &mut Work::default()) else {
        panic!("no branch")
    };
    off
}

/// Potential of the really perturbed surface: the axisymmetric state moved by `ξ² w₀`, with the ripples `ξ y` and
/// `ξ² w₂`, summed over both coordinates.
fn potential(loaded: &Loaded<'_>, p: &PathPoint, n: u32, amounts: f64, fields: [&[f64]; 3]) -> f64 {
    let (m, t) = (loaded.model(), loaded.thickness_factor());
    let [y, w0, w2] = fields;
    let second = amounts * amounts;
    let x: Vec<f64> = p.x.iter().zip(w0).map(|(x, w)| x + second * w).collect();
    let q = m.nodal(&x);
    let wave = f64::from(n);
    let angles = 40;
    let mut total = 0.0;
    let mut volume = 0.0;
    for (g, point) in m.points.iter().enumerate() {
        let at = m.local(&q, g);
        let one = ripple_at(m, y, g).map(|v| amounts * v);
        let two = ripple_at(m, w2, g).map(|v| second * v);
        let [r, dr, z, dz] = m.place(&q, g);
        for i in 0..angles {
            let th = 2.0 * std::f64::consts::PI * f64::from(i) / f64::from(angles) / wave;
            let (a, b): (f64, f64) = perturbed(&point.nat, &at, &[(wave, &one), (2.0 * wave, &two)], th);
            total += (point.wm * a + t * t * point.wb * b) / f64::from(angles);
            // ∫∫ ½ (x² + y²) dz dθ by the surface's normal: ½ (X, Y) · outward (x,θ × x,s).
            let (mut d, mut ds, mut dt) = ([r, 0.0, z], [dr, 0.0, dz], [0.0, r, 0.0]);
            for (k, f) in [(wave, &one), (2.0 * wave, &two)] {
                let (s, c) = libm::sincos(k * th);
                for (i, trig) in [c, s, c].into_iter().enumerate() {
                    d[i] += f[3 * i] * trig;
                    ds[i] += f[3 * i + 1] * trig;
                }
                dt[0] -= (k * f[0] + f[3]) * s;
                dt[1] += (k * f[3] + f[0]) * c;
                dt[2] -= k * f[6] * s;
            }
            let normal = [dt[1] * ds[2] - dt[2] * ds[1], dt[2] * ds[0] - dt[0] * ds[2]];
            volume += 2.0 * point.wv * 0.5 * (d[0] * normal[0] + d[1] * normal[1]) / f64::from(angles);
        }
    }
    if let Some(s) = m.springs {
        let (end, rim) = (q.len() - crate::DOF, y.len() - NODE);
        for i in 0..angles {
            let th = 2.0 * std::f64::consts::PI * f64::from(i) / f64::from(angles) / wave;
            let ((s1, c1), (s2, c2)) = (libm::sincos(wave * th), libm::sincos(2.0 * wave * th));
            let sum = |k: usize, a: f64, b: f64| amounts * y[rim + k] * a + second * w2[rim + k] * b;
            let (x, v) = (q[end] + sum(0, c1, c2), sum(3, s1, s2));
            let turn = libm::atan2(q[end + 4] + sum(7, c1, c2), q[end + 1] + sum(1, c1, c2)) - s.phi0;
            let (out, up) = ((x * x + v * v).sqrt() - s.r0, q[end + 3] - s.z0 + sum(6, c1, c2));
            let twice = s.radial * out * out + s.axial * up * up + s.around * v * v + s.turning * turn * turn;
            total += 0.5 / t * twice / f64::from(angles);
        }
    }
    total
        - p.t
            * loaded.unit()
            * match loaded.push() {
                Push::Along(w) => dot(w, &x),
                Push::Volume { sign } => sign * volume,
                Push::Body(_) => 0.0,
            }
}

/// `w₂ = −K⁻¹ T₂`, for a wave number at which a field vanishes at the pole with two derivatives.
fn second_ripple(loaded: &Loaded<'_>, p: &PathPoint, twice: &[f64], n: u32) -> Vec<f64> {
    let m = loaded.model();
    assert!(2 * n > 3);
    let mut k = Harmonics::loaded(loaded, &p.x, p.t).stiffness(2 * n);
    let rim = twice.len() - NODE;
    let mut held: Vec<usize> = (0..NODE).collect();
    let mut w: Vec<f64> = twice.iter().map(|v| -v).collect();
    if matches!(m.part().rim, Rim::Clamped | Rim::Hinged) {
        held.extend([rim, rim + 3, rim + 6]);
    }
    if m.part().rim == Rim::Clamped {
        held.push(rim + 7);
        let Some((c, s)) = m.clamps[1] else { panic!("not clamped") };
        k.congruence(rim + 1, rim + 7, [[c, -s], [s, c]]);
        let (a, b) = (w[rim + 1], w[rim + 7]);
        (w[rim + 1], w[rim + 7]) = (c * a + s * b, c * b - s * a);
    }
    let largest = k.largest_diagonal();
    for &j in &held {
        k.pin(j, largest);
        w[j] = 0.0;
    }
    k.factor().unwrap().solve(&mut w);
    m.ripple_nodal(&w, 2 * n)
}

/// A thin shallow cap of radius 1 and the scale of its classical buckling pressure.
fn shallow(alpha: f64, lambda: f64, rim: Rim) -> (Model, f64) {
    let nu: f64 = 0.3;
    let h = (12.0 * (1.0 - nu * nu)).sqrt() * (alpha / lambda) * (alpha / lambda);
    let part = cap(alpha.to_degrees(), h, 0.0, rim);
    let grading = Grading { longest: 0.5 * h.sqrt(), ..Grading::default() };
    (Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &grading)), h)
}

/// Springs of the order of a thin wall's own stiffness times `c`.
fn elastic(c: f64) -> Rim {
    Rim::Elastic(RimSprings {
        radial: 0.02 * c,
        axial: 0.03 * c,
        circumferential: 0.01 * c,
        turning: 0.004 * c,
    })
}

fn pressed(alpha: f64) -> follow::Settings {
    follow::Settings {
        step: 0.002 * alpha,
        longest: 0.01 * alpha,
        weight: 0.02 * alpha,
        points: 600,
        ..follow::Settings::default()
    }
}

/// The potential of the really perturbed surface grows by `B ξ⁴`: all of B, with both relaxations, from energies alone.
#[test]
fn energies_of_the_perturbed_surface_give_the_quartic() {
    let alpha = 0.05;
    for (rim, follows) in RIMS {
        let (m, h) = shallow(alpha, 8.0, rim);
        let push = if follows { Push::Volume { sign: -1.0 } } else { Push::Along(m.dead_pressure_vector()) };
        let loaded = Loaded::new(&m, 1.0, 1.2 * h * h, push);
        let (p, n, y) = bifurcation(&loaded, &pressed(alpha));
        let off = leave(&loaded, &p, &y, n);
        let (_, _, twice) = forces_for_tests(&loaded, &p.x, p.t, &y, n);
        let w2 = second_ripple(&loaded, &p, &twice, n);
        let still = vec![0.0; p.x.len()];
        let none = vec![0.0; y.len()];
        let zero = potential(&loaded, &p, n, 0.0, [&y, &still, &none]);
        let mut ky = vec![0.0; y.len()];
        Harmonics::loaded(&loaded, &p.x, p.t).stiffness(n).multiply(&y, &mut ky);
        let quadratic = 0.5 * dot(&y, &ky);
        let per_fourth = |xi: f64, w0: &[f64], w2: &[f64]| {
            let moved = potential(&loaded, &p, n, xi, [&y, w0, w2]) - zero;
            (moved - quadratic * xi * xi) / xi.powi(4)
        };
        // The next term is of order ξ⁶.
        let limit = |w0: &[f64], w2: &[f64]| {
            (4.0 * per_fourth(0.025 * h, w0, w2) - per_fourth(0.05 * h, w0, w2)) / 3.0
        };
        for (value, known) in
            [(limit(&still, &none), off.rigid_quartic), (limit(&off.shift, &w2), off.quartic)]
        {
            assert!((value / known - 1.0).abs() < 1e-4, "{rim:?} n {n}: {value:e} {known:e}");
        }
    }
}

const RIMS: [(Rim, bool); 3] = [(Rim::Clamped, false), (Rim::Clamped, true), (Rim::Hinged, true)];

/// At an elastic rim, by energies alone: the quartic along a ripple and the force on twice its wave number, with springs
/// so stiff that they hold the greater part.
#[test]
fn rim_springs_enter_the_quartic_and_the_force_on_twice_the_wave_number() {
    let m = model(&cap(60.0, 0.05, 20.0, elastic(100.0)));
    let x: Vec<f64> = natural(&m).iter().zip(crate::mirror(&m)).map(|(a, b)| 0.9 * a + 0.1 * b).collect();
    let zero = vec![0.0; x.len()];
    let loaded = Loaded::new(&m, 1.1, 1.0, Push::Along(zero.clone()));
    let (n, rim) = (3, NODE * (m.nodes.len() - 1));
    let mut y = vec![0.0; rim + NODE];
    let mut w = y.clone();
    y[rim..].copy_from_slice(&[1.0, 0.3, 0.1, -0.7, 0.2, 0.1, 0.5, -0.4, 0.2]);
    w[rim..].copy_from_slice(&[-0.6, 0.5, 0.0, 0.8, -0.1, 0.2, 0.3, 0.7, 0.1]);
    let (quartic, _, twice) = forces_for_tests(&loaded, &x, 0.0, &y, n);
    let soft = model(&cap(60.0, 0.05, 20.0, Rim::Free));
    let wall = Loaded::new(&soft, 1.1, 1.0, Push::Along(Vec::new()));
    let bare = soft.unknowns_of(&m.nodal(&x));
    assert!((forces_for_tests(&wall, &bare, 0.0, &y, n).0 / quartic - 1.0).abs() > 0.1);
    let p = PathPoint { x, t: 0.0, energy: 0.0, negative: 0, dx: Vec::new(), dt: 0.0 };
    let minus: Vec<f64> = w.iter().map(|v| -v).collect();
    let none = vec![0.0; y.len()];
    let start = potential(&loaded, &p, n, 0.0, [&y, &zero, &none]);
    let mut ky = vec![0.0; y.len()];
    Harmonics::loaded(&loaded, &p.x, 0.0).stiffness(n).multiply(&y, &mut ky);
    let along = |xi: f64, w: &[f64]| potential(&loaded, &p, n, xi, [&y, &zero, w]);
    let fourth = |xi: f64| (along(xi, &none) - start - 0.5 * dot(&y, &ky) * xi * xi) / xi.powi(4);
    let force = |xi: f64| 0.5 * (along(xi, &w) - along(xi, &minus)) / xi.powi(4);
    let known = dot(&twice, &w);
    // The next term is of order ξ⁶.
    let both: [&dyn Fn(f64) -> f64; 2] = [&fourth, &force];
    let found = both.map(|f| (4.0 * f(0.5e-3) - f(1e-3)) / 3.0);
    assert!((found[0] / quartic - 1.0).abs() < 1e-4, "{:e} {quartic:e}", found[0]);
    assert!((found[1] / known - 1.0).abs() < 1e-4, "{:e} {known:e}", found[1]);
}

/// Closed form: an inextensible ring under a radial load of fixed direction is a pendulum in the turning θ of its
/// tangent, `EI θ″ + p R³ sin θ = 0` (potential `∫ ½ EI θ′² + p R³ cos θ`, the load's work by parts), so that
/// `p R³ / EI = 4 (1 + θ²/8)`, and `θ = 3/2 · u/R` for the ripple `u cos 2s`: `p = p* (1 + 9/32 (u/R)²)`. A narrow band
/// around a sphere's equator is such a ring up to its strain, of order (h/R)², and its curvature across.
#[test]
fn a_ring_gains_load_as_the_pendulum_does() {
    let (h, width): (f64, f64) = (0.01, 0.04);
    let mut part = cap((0.5 * (std::f64::consts::PI + width)).to_degrees(), h, 0.0, Rim::Free);
    part.material.poisson = 0.0;
    if let calotte_specimen::Meridian::Sphere(s) = &mut part.meridian {
        s.hole_angle = 0.5 * (std::f64::consts::PI - width);
    }
    let m = model(&part);
    let loaded = Loaded::new(&m, 1.0, h.powi(3) / 3.0, Push::Along(m.dead_pressure_vector()));
    let set = follow::Settings { step: 0.05, longest: 0.1, ..follow::Settings::default() };
    let (p, n, y) = bifurcation(&loaded, &set);
    assert_eq!(n, 2);
    assert!((p.t - 1.0).abs() < 2e-3, "{}", p.t);
    let off = leave(&loaded, &p, &y, n);
    assert!((off.load_curvature / p.t / (9.0 / 32.0) - 1.0).abs() < 2e-3, "{}", off.load_curvature / p.t);
    assert!(off.quartic > 0.0 && off.quartic_held > 0.0);
}

/// A thin shallow clamped cap under a pressure of fixed direction, and under one that follows the wall: the load falls
/// along the sideways branch (Fitch & Budiansky 1970, "Buckling and postbuckling behavior of spherical caps under
/// axisymmetric load", AIAA J. 8, 686, for pressure over the whole cap; sign only, from memory).
#[test]
fn pressed_caps_lose_load_on_the_sideways_branch() {
    let alpha = 0.05;
    let (m, h) = shallow(alpha, 8.0, Rim::Clamped);
    let unit = 2.0 * h * h / (3.0 * (1.0 - 0.3_f64 * 0.3)).sqrt();
    for push in [Push::Along(m.dead_pressure_vector()), Push::Volume { sign: -1.0 }] {
        let loaded = Loaded::new(&m, 1.0, unit, push);
        let (p, n, y) = bifurcation(&loaded, &pressed(alpha));
        let off = leave(&loaded, &p, &y, n);
        assert!(off.slope < 0.0, "the mode softens along the path: {:e}", off.slope);
        assert!(off.quartic < 0.0 && off.load_curvature < 0.0, "n {n}: {:e}", off.load_curvature);
        // The branch does not depend on how the mode is scaled: f − f* per squared displacement.
        let doubled: Vec<f64> = y.iter().map(|v| 2.0 * v).collect();
        let twice = leave(&loaded, &p, &doubled, n);
        assert!((twice.load_curvature / off.load_curvature - 4.0).abs() < 1e-6);
        // Freedom to relax can only lower the quartic.
        assert!(off.quartic < off.rigid_quartic);
        // A = −2 · unit · (what the load works on, over ξ²): mixed derivatives of the potential are equal. The slope
        // comes from differences along the path, the other from the forces at second order.
        assert!((off.slope / (-2.0 * unit * off.moved) - 1.0).abs() < 1e-5);
    }
}

/// A shallow cap's branch depends on λ alone when lengths go with the thickness: no digits are lost in a very thin wall.
#[test]
fn very_thin_caps_branch_alike() {
    let [thick, thin] = [0.01, 0.001].map(|alpha| {
        let (m, h) = shallow(alpha, 8.0, Rim::Clamped);
        let unit = 2.0 * h * h / (3.0 * (1.0 - 0.3_f64 * 0.3)).sqrt();
        let loaded = Loaded::new(&m, 1.0, unit, Push::Along(m.dead_pressure_vector()));
        let (p, n, y) = bifurcation(&loaded, &pressed(alpha));
        let off = leave(&loaded, &p, &y, n);
        assert!((off.slope / (-2.0 * unit * off.moved) - 1.0).abs() < 1e-6, "{alpha}");
        off.load_curvature * h * h
    });
    assert!((thick / thin - 1.0).abs() < 1e-4, "{thick} {thin}");
}

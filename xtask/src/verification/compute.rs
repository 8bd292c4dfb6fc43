//! Computed values of everything but pole forces.

use calotte_answers::report::VerdictReport;
use calotte_answers::{Detail, verdict};
use calotte_oracle::plate::Edge;
use calotte_oracle::{cap, dome, plate};
use calotte_shell::{Grading, Harmonics, Mesh, Model, natural};
use calotte_solve::{Work, minimise};
use calotte_specimen::{Material, Meridian, Part, Rim, SphereCap, Straight, Wall};

use super::Computed;

/// A cap of unit radius and unit modulus.
pub(crate) fn spherical(nu: f64, alpha: f64, h: f64, rim: Rim) -> Part {
    Part {
        meridian: Meridian::Sphere(SphereCap { radius: 1.0, half_angle: alpha, hole_angle: 0.0 }),
        wall: Wall::uniform(h),
        material: Material { youngs: 1.0, poisson: nu, density: None },
        rim,
    }
}

/// Thickness of a shallow cap of half-angle `alpha` with the given λ.
pub(crate) fn shallow_thickness(nu: f64, alpha: f64, lambda: f64) -> f64 {
    (12.0 * (1.0 - nu * nu)).sqrt() * (alpha / lambda) * (alpha / lambda)
}

/// The limit α → 0 of a quantity whose error is of second order in α.
pub(crate) fn shallow_limit(f: impl Fn(f64) -> f64) -> f64 {
    let (one, two) = (1.0_f64.to_radians(), 2.0_f64.to_radians());
    (4.0 * f(one) - f(two)) / 3.0
}

fn ask(part: &Part) -> VerdictReport {
    verdict(part, Detail { branch: false, depth: false })
}

fn threshold(nu: f64, alpha: f64) -> f64 {
    let part = spherical(nu, alpha, shallow_thickness(nu, alpha, 5.0), Rim::Free);
    ask(&part).margin.map_or(f64::NAN, |m| m.threshold_thickness_m)
}

pub(crate) fn rows() -> Vec<Computed> {
    let mut out = Vec::new();
    let mut say = |id: &'static str, value: f64, claims: f64| out.push(Computed { id, value, claims });
    for t in cap::SHALLOW {
        let value = shallow_limit(|alpha| {
            let h = threshold(t.nu, alpha);
            (12.0 * (1.0 - t.nu * t.nu)).sqrt().sqrt() * alpha / h.sqrt()
        });
        say(t.lambda.id, value, 1e-7);
    }
    for t in cap::THRESHOLDS {
        say(t.h_over_r.id, threshold(t.nu, t.alpha_deg.to_radians()), 1e-8);
    }
    let alpha = 60.0_f64.to_radians();
    let part = spherical(0.3, alpha, threshold(0.3, alpha), Rim::Free);
    let shape = fold_shape(&part);
    for (known, value) in cap::FOLD_SHAPE.iter().zip(shape) {
        say(known.id, value, 2e-6);
    }
    for s in cap::STATES {
        let r = ask(&spherical(s.nu, s.alpha_deg.to_radians(), s.h_over_r, Rim::Free));
        let Some(i) = r.inverted else { continue };
        say(s.stretching.id, i.stretching_energy_J, 1e-8);
        say(s.bending.id, i.bending_energy_J, 1e-8);
        if let Some(k) = s.saddle {
            say(k.id, i.saddle_energy_J.unwrap_or(f64::NAN), 1e-7);
        }
        say(s.rim_slope.id, i.rim_slope_rad, 1e-6);
        say(s.lip.id, i.lip_width_m.unwrap_or(f64::NAN), 5e-6);
        say(s.height.id, i.pole_height_m, 1e-7);
        say(s.rim_radius.id, i.rim_radius_m, 1e-7);
    }
    for r in cap::RIPPLES {
        let value = shallow_limit(|alpha| {
            let part = spherical(r.nu, alpha, shallow_thickness(r.nu, alpha, r.lambda), Rim::Free);
            let rows = ask(&part).ripples;
            rows.iter().find(|q| q.n == r.n).map_or(f64::NAN, |q| q.smallest_eigenvalue)
        });
        say(r.omega_squared.id, value, 1e-6);
    }
    for m in cap::NATURAL {
        let value = shallow_limit(|alpha| {
            let part = spherical(m.nu, alpha, shallow_thickness(m.nu, alpha, m.lambda), Rim::Free);
            natural_omega(&part, 1.0, alpha, m.n)
        });
        say(m.omega.id, value, 1e-6);
    }
    for m in plate::TABLE {
        let rim = match m.edge {
            Edge::Clamped => Rim::Clamped,
            Edge::Hinged => Rim::Hinged,
            Edge::Free => Rim::Free,
        };
        let part = Part {
            meridian: Meridian::Straight(Straight { start: 0.0, slope: 0.0, length: 1.0 }),
            rim,
            ..spherical(m.nu, 1.0, 0.01, rim)
        };
        say(m.omega.id, natural_omega(&part, 1.0, 1.0, m.n), 2e-8);
    }
    say(dome::EDGE_MOMENT.id, edge_moment(), 1e-7);
    out
}

/// Height, rim radius, rim slope, lip, rim hoop strain at a fold, in the oracle's order: extrapolated from
/// states δ and 4δ below it, which differ from it as √δ.
fn fold_shape(part: &Part) -> [f64; 5] {
    let below = |delta: f64| {
        let thinner = Part { wall: part.wall.scaled(1.0 - delta), ..part.clone() };
        ask(&thinner).inverted.map_or([f64::NAN; 5], |i| {
            let lip = i.lip_width_m.unwrap_or(f64::NAN);
            [i.pole_height_m, i.rim_radius_m, i.rim_slope_rad, lip, i.strains.rim_hoop]
        })
    };
    let (near, far) = (below(1e-8), below(4e-8));
    std::array::from_fn(|k| 2.0 * near[k] - far[k])
}

/// Lowest Ω = ω ℓ² √(ρh/D) about the natural state, twice-bisected mesh.
fn natural_omega(part: &Part, radius: f64, length: f64, n: u32) -> f64 {
    let mesh = Mesh::graded(part, radius, &Grading::default()).bisected();
    let model = Model::new(part, radius, &mesh);
    let h = part.wall.thickness(0.0) / radius;
    let nu = part.material.poisson;
    let unit = (length / radius).powi(4) * 12.0 * (1.0 - nu * nu) / (h * h);
    Harmonics::new(&model, &natural(&model), 1.0)
        .smallest(n, None, &mut Work::default())
        .map_or(f64::NAN, |(s, _)| (s.value * unit).sqrt())
}

/// M_edge/(pRh) of the clamped hemisphere in the linear limit: pressures of both signs, so small against the
/// critical one (2e-4 of it) that their mean is linear to 1e-8.
fn edge_moment() -> f64 {
    let (nu, h, p) = (0.3, 0.01, 2e-8);
    let part = spherical(nu, std::f64::consts::FRAC_PI_2, h, Rim::Clamped);
    let mesh = Mesh::graded(&part, 1.0, &Grading::default());
    // A moment is a second derivative: it converges as the fourth power of the element length.
    let mesh = mesh.bisected().bisected().bisected().bisected();
    let d = h * h * h / (12.0 * (1.0 - nu * nu));
    let moment = |p: f64| {
        let model = Model::new(&part, 1.0, &mesh).with_pressure(p);
        let set = minimise::Settings::default();
        let state = minimise::minimise(&model, natural(&model), 1.0, &set, &mut Work::default());
        let Ok(m) = state else { return f64::NAN };
        let [ks, kt] = model.profile(&m.x, 2).rim().bending;
        d * (ks + nu * kt)
    };
    (0.5 * (moment(p) - moment(-p)) / (p * h)).abs()
}

//! Computed pressures of clamped caps and of a complete sphere.

use calotte_oracle::{dome, pressed};
use calotte_shell::{Grading, Harmonics, Loaded, Mesh, Model, Push, natural};
use calotte_solve::follow::{self, PathPoint, Watch};
use calotte_solve::{Work, fold};
use calotte_specimen::Rim;

use super::Computed;
use super::compute::{shallow_limit, shallow_thickness, spherical};

/// Numbers of waves among which the lowest pressure is sought.
const WAVES: std::ops::RangeInclusive<u32> = 1..=9;
/// The extrapolation to shallow caps and the mesh together: three times what the values move by when the angles are
/// halved (1e-8); on a mesh bisected once more they move by less.
const CLAIMS: f64 = 3e-8;

/// First axisymmetric limit of q/q₀, and the first sign change of a ripple's eigenvalue on the way there.
struct Pressed {
    limit: f64,
    sideways: Option<(u32, f64)>,
}

fn clamped(alpha: f64, lambda: f64, ripples: bool) -> Option<Pressed> {
    let nu = 1.0 / 3.0;
    let h = shallow_thickness(nu, alpha, lambda);
    let part = spherical(nu, alpha, h, Rim::Clamped);
    let grading = Grading { longest: 0.1 * alpha, ..Grading::default() };
    let model = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &grading).bisected());
    let unit = dome::sphere_critical_pressure(nu, h);
    let loaded = Loaded::new(&model, 1.0, unit, Push::Volume { sign: -1.0 });
    let mut work = Work::default();
    let set = follow::Settings {
        step: 0.02 * alpha,
        longest: 0.05 * alpha,
        weight: 0.1 * alpha,
        points: 800,
        ..follow::Settings::default()
    };
    let from = follow::start(&loaded, natural(&model), 0.0, true, set.weight, &mut work)?;
    let value = |p: &PathPoint, n: u32, work: &mut Work| {
        Some(Harmonics::loaded(&loaded, &p.x, p.t).smallest(n, None, work)?.0.value)
    };
    let mut sideways: Option<(u32, f64)> = None;
    let (mut turn, mut steps) = (None, Vec::new());
    follow::follow(&loaded, from, &set, &mut work, |here, next| {
        steps.push((here.clone(), next.clone()));
        if here.dt * next.dt >= 0.0 {
            return Watch::Go;
        }
        turn = Some(if here.dt.abs() < next.dt.abs() { here.clone() } else { next.clone() });
        Watch::Stop
    });
    if ripples {
        for (here, next) in &steps {
            for n in WAVES {
                let found = follow::locate(&loaded, here, next, &set, 1e-9, &mut work, |p, w| value(p, n, w));
                let Some(l) = found else { continue };
                if sideways.is_none_or(|s| l.point.t < s.1) {
                    sideways = Some((n, l.point.t));
                }
            }
            if sideways.is_some() {
                break;
            }
        }
    }
    let p = turn?;
    let (v, _) = fold::softest(&loaded, &p.x, p.t, &mut work)?;
    let limit = fold::refine(&loaded, p.x, p.t, v, 0.1 * alpha, &mut work).ok()?.t;
    Some(Pressed { limit, sideways })
}

/// Smallest axisymmetric critical q/q₀ of the complete sphere: the smallest eigenvalue about the shrunken sphere, taken
/// at pressures a little below and continued to zero. (At the critical pressure itself rounding acts as an imperfection,
/// of which a sphere's critical pressure feels the square root.)
fn sphere(nu: f64, h: f64) -> Option<f64> {
    let part = spherical(nu, std::f64::consts::PI, h, Rim::Free);
    let grading = Grading { longest: 0.5 * h.sqrt(), ..Grading::default() };
    let model = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &grading).bisected());
    let unit = dome::sphere_critical_pressure(nu, h);
    let loaded = Loaded::new(&model, 1.0, unit, Push::Volume { sign: -1.0 });
    let mut work = Work::default();
    let mut found = Vec::new();
    for f in [0.996, 0.998, 1.0, 1.002] {
        let (x, _, negative) = follow::shift_to(&loaded, &natural(&model), 0.0, f, 12, &mut work)?;
        let value = Harmonics::loaded(&loaded, &x, f).smallest(0, None, &mut work)?.0.value;
        if negative > 0 {
            return None;
        }
        found.push((f, value));
    }
    // Lagrange: the pressure as a polynomial of the eigenvalue, at zero.
    let term = |(i, a): (usize, &(f64, f64))| {
        let others = found.iter().enumerate().filter(|(j, _)| *j != i);
        a.0 * others.map(|(_, b)| b.1 / (b.1 - a.1)).product::<f64>()
    };
    Some(found.iter().enumerate().map(term).sum())
}

pub(crate) fn rows() -> Vec<Computed> {
    let mut out = Vec::new();
    for c in pressed::CLAMPED {
        let limit = shallow_limit(|alpha| clamped(alpha, c.lambda, false).map_or(f64::NAN, |p| p.limit));
        out.push(Computed { id: c.limit.id, value: limit, claims: CLAIMS });
        if let Some((n, known)) = c.sideways {
            let value = shallow_limit(|alpha| {
                let found = clamped(alpha, c.lambda, true).and_then(|p| p.sideways);
                found.filter(|s| s.0 == n).map_or(f64::NAN, |s| s.1)
            });
            out.push(Computed { id: known.id, value, claims: CLAIMS });
        }
    }
    out.push(Computed { id: pressed::SPHERE.id, value: sphere(0.3, 0.01).unwrap_or(f64::NAN), claims: 1e-8 });
    out
}

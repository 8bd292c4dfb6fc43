//! Computed paths of caps pushed on the pole.

use calotte_oracle::{Known, dome, pole_force};
use calotte_shell::{Grading, Loaded, Mesh, Model, dimple, natural};
use calotte_solve::follow::{self, Watch};
use calotte_solve::{Potential, Work, fold, minimise};
use calotte_specimen::Rim;

use super::Computed;
use super::compute::{shallow_limit, shallow_thickness, spherical};

/// What a path shows.
struct Path {
    /// p = PR/2πD at the travel asked for.
    at_half: f64,
    /// (w/H, p) at each limit point.
    limits: Vec<(f64, f64)>,
    /// Initial stiffness over 8√(EhD)/R.
    stiffness: f64,
}

fn path(alpha: f64, h: f64, nu: f64, rim: Rim, pole: f64) -> Option<Path> {
    let part = spherical(nu, alpha, h, rim);
    let grading = Grading { pole: Some(pole), ..Grading::default() };
    let model = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &grading).bisected());
    let d = h * h * h / (12.0 * (1.0 - nu * nu));
    let unit = 2.0 * std::f64::consts::PI * d;
    let pushed = Loaded::on_inner_end(&model, 1.0, unit);
    let at = model.inner_height();
    let rise = 2.0 * libm::sin(0.5 * alpha) * libm::sin(0.5 * alpha);
    let travel = |x: &[f64]| (x[at] + rise) / rise;
    let mut work = Work::default();
    let set = follow::Settings {
        step: 0.02 * alpha,
        longest: 0.05 * alpha,
        weight: 0.02 * alpha,
        points: 800,
        ..follow::Settings::default()
    };
    let from = follow::start(&pushed, natural(&model), 0.0, true, set.weight, &mut work)?;
    let stiffness = unit * from.dt / from.dx[at] / (8.0 * (h * d).sqrt());
    let (mut turns, mut near) = (Vec::new(), None);
    follow::follow(&pushed, from, &set, &mut work, |here, next| {
        if here.dt * next.dt < 0.0 {
            turns.push(if here.dt.abs() < next.dt.abs() { here.clone() } else { next.clone() });
        }
        if travel(&here.x) < 0.5 && travel(&next.x) >= 0.5 {
            near = Some((here.clone(), next.clone()));
        }
        if travel(&next.x) > 2.0 { Watch::Stop } else { Watch::Go }
    });
    // The force at half travel: secant on the step length between the two points.
    let (a, b) = near?;
    let (mut low, mut high) = (0.0, 2.0 * (norm(&pushed, &a.x, &b.x) + set.weight * (b.t - a.t).abs()));
    let mut at_half = f64::NAN;
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        let Some((p, _)) = follow::step(&pushed, &a, mid, &set, &mut work) else {
            high = mid;
            continue;
        };
        at_half = p.t;
        if travel(&p.x) < 0.5 { low = mid } else { high = mid }
    }
    let limits = turns
        .into_iter()
        .filter_map(|p| {
            let (v, _) = fold::softest(&pushed, &p.x, p.t, &mut work)?;
            let f = fold::refine(&pushed, p.x, p.t, v, 0.1, &mut work).ok()?;
            Some((travel(&f.x), f.t))
        })
        .collect();
    Some(Path { at_half, limits, stiffness })
}

/// Force on the pole of a mirror dimple over `(1−ν²)^(−3/4) E h^(5/2) w^(1/2)/R`, h/R = 1e-5: under a dead force the
/// dimple is a minimum of energy, found from a made-up ridge. Extrapolated to w/h → ∞ (Aitken) from three depths each
/// doubled; the error claimed is twice the step from one such extrapolation to the next.
fn dimple_force() -> (f64, f64) {
    let (nu, h, force) = (0.3, 1e-5_f64, 1.6);
    let at = |depth: f64| -> Option<f64> {
        let w = depth * h;
        let ridge = libm::acos(1.0 - 0.5 * w);
        let alpha = 2.0 * ridge + 6.0 * h.sqrt();
        let part = spherical(nu, alpha, h, Rim::Clamped);
        let grading = Grading { pole: Some(0.05), longest: 0.5 * h.sqrt(), ..Grading::default() };
        let model = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &grading));
        let unit = libm::pow(1.0 - nu * nu, -0.75) * h * h * h.sqrt() * w.sqrt();
        let pushed = Loaded::on_inner_end(&model, 1.0, unit);
        let set = minimise::Settings { radius: 0.02, ..minimise::Settings::default() };
        let start = dimple(&model, alpha - ridge, 0.6 * h.sqrt());
        let m = minimise::minimise(&pushed, start, force, &set, &mut Work::default()).ok()?;
        let top = model.inner_height();
        let travel = m.x[top] - natural(&model)[top];
        Some(force * (w / travel).sqrt())
    };
    let found: Vec<f64> = [100.0, 200.0, 400.0, 800.0].iter().filter_map(|d| at(*d)).collect();
    let aitken = |v: &[f64]| v[2] - (v[2] - v[1]) * (v[2] - v[1]) / ((v[2] - v[1]) - (v[1] - v[0]));
    if found.len() < 4 {
        return (f64::NAN, 0.0);
    }
    let (before, after) = (aitken(&found[..3]), aitken(&found[1..]));
    (after, 2.0 * (after / before - 1.0).abs())
}

fn norm(p: &Loaded<'_>, a: &[f64], b: &[f64]) -> f64 {
    let d: Vec<f64> = a.iter().zip(b).map(|(x, y)| x - y).collect();
    calotte_solve::potential::norm(p.metric(), &d)
}

/// A slope that goes as x ln x at the load costs the interpolation its order there.
const CLAIMS: f64 = 3e-6;
/// Shortest element at the loaded pole, as a share of √(Rh).
const POLE: f64 = 0.01;

pub(crate) fn rows() -> Vec<Computed> {
    let mut out = Vec::new();
    let mut say = |known: Known, value: f64, claims: f64| {
        out.push(Computed { id: known.id, value, claims });
    };
    for s in pole_force::SLIDING {
        let at = |f: &dyn Fn(&Path) -> f64| {
            shallow_limit(|alpha| {
                path(alpha, shallow_thickness(0.3, alpha, s.lambda), 0.3, Rim::Ring, POLE)
                    .map_or(f64::NAN, |p| f(&p))
            })
        };
        if let Some(k) = s.at_half {
            say(k, at(&|p| p.at_half), CLAIMS);
        }
        for (i, [w, force]) in s.limits.into_iter().enumerate() {
            say(w, at(&|p| p.limits.get(i).map_or(f64::NAN, |l| l.0)), 2e-5);
            say(force, at(&|p| p.limits.get(i).map_or(f64::NAN, |l| l.1)), CLAIMS);
        }
    }
    // PR/Eh³ = p · 2π/12(1−ν²).
    let scale = 2.0 * std::f64::consts::PI / (12.0 * (1.0 - 0.09));
    if let Some(p) = path(45.0_f64.to_radians(), 0.05, 0.3, Rim::Ring, POLE) {
        say(pole_force::EXACT_AT_HALF, p.at_half * scale, CLAIMS);
        for ([w, force], found) in pole_force::EXACT_LIMITS.into_iter().zip(&p.limits) {
            say(w, found.0, 2e-5);
            say(force, found.1 * scale, CLAIMS);
        }
    }
    let (force, claims) = dimple_force();
    say(dome::RIDGE_FORCE, force, claims);
    let nu = 1.0 / 3.0;
    let stiffness = shallow_limit(|alpha| {
        path(alpha, shallow_thickness(nu, alpha, 10.0), nu, Rim::Clamped, 0.2 * POLE)
            .map_or(f64::NAN, |p| p.stiffness)
    });
    say(pole_force::CLAMPED_STIFFNESS, stiffness, CLAIMS);
    out
}

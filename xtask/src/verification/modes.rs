//! Computed frequencies of every wave number, and pressures of complete spheres.

use calotte_answers::modes::report::{Kind, Mode, ModesReport};
use calotte_answers::modes::{Face, Settings, modes};
use calotte_oracle::natural::{self, NU, THICKNESS};
use calotte_oracle::plate::Edge;
use calotte_oracle::sphere::Branch;
use calotte_oracle::{plate, ring_plate, straight};
use calotte_specimen::{Meridian, Part, Rim, SphereCap, Straight};
use std::f64::consts::{FRAC_PI_2, PI};

use super::Computed;
use super::compute::{shallow_limit, shallow_thickness, spherical};

/// Modes of n up to `most`, `count` of each.
fn ask(part: &Part, most: u32, count: usize) -> ModesReport {
    modes(part, &Settings { most: Some(most), count, lowest: 1, ..Settings::default() })
}

/// The `index`-th mode of n that passes.
fn pick(r: &ModesReport, n: u32, index: usize, passes: impl Fn(&Mode) -> bool) -> Option<&Mode> {
    r.modes.iter().filter(|m| m.n == n && passes(m)).nth(index)
}

fn with(meridian: Meridian, h: f64, rim: Rim) -> Part {
    Part { meridian, ..spherical(NU, 1.0, h, rim) }
}

fn straight_part(start: f64, slope: f64, length: f64, h: f64, rim: Rim) -> Part {
    with(Meridian::Straight(Straight { start, slope, length }), h, rim)
}

fn rim(edge: Edge) -> Rim {
    match edge {
        Edge::Clamped => Rim::Clamped,
        Edge::Hinged => Rim::Hinged,
        Edge::Free => Rim::Free,
    }
}

/// Ω of a ring. Where the inner edge is the one held, the generator runs inwards.
fn ring(r: &ring_plate::Ring) -> f64 {
    let part = if r.outer == Edge::Free && r.inner != Edge::Free {
        straight_part(1.0, PI, 1.0 - r.b, 0.01, rim(r.inner))
    } else {
        straight_part(r.b, 0.0, 1.0 - r.b, 0.01, rim(r.outer))
    };
    let report = ask(&part, r.n, r.index + 1);
    pick(&report, r.n, r.index, |_| true).and_then(|m| m.plate_parameter).unwrap_or(f64::NAN)
}

/// In its plane thickness does not matter; a thick plate bends above.
fn in_plane(d: &ring_plate::InPlane) -> f64 {
    let part = straight_part(0.0, 0.0, 1.0, 2.0, Rim::Hinged);
    let report = ask(&part, d.n, 3);
    pick(&report, d.n, d.index, |m| m.normal_share < 0.5).map_or(f64::NAN, |m| m.omega_squared.sqrt())
}

fn generator(m: &straight::Mode) -> f64 {
    let g = &m.part;
    let rim = if g.clamped { Rim::Clamped } else { Rim::Free };
    let part = Part {
        material: calotte_specimen::Material { poisson: g.nu, ..spherical(NU, 1.0, g.h, rim).material },
        ..straight_part(g.start, g.slope, g.length, g.h, rim)
    };
    let report = ask(&part, m.n, m.index + 1);
    let unit = report.units.length_m;
    pick(&report, m.n, m.index, |_| true).map_or(f64::NAN, |p| p.omega_squared / (unit * unit))
}

fn sphere(m: &natural::SphereMode) -> f64 {
    let whole = Meridian::Sphere(SphereCap { radius: 1.0, half_angle: PI, hole_angle: 0.0 });
    let part = with(whole, THICKNESS, Rim::Free);
    // The form of n waves holds every degree from n on: the lowest of n = l is of degree l on the lower branch.
    let (n, torsion) = match m.branch {
        Branch::Lower => (m.degree, false),
        Branch::Torsional => (0, true),
        Branch::Upper => (0, false),
    };
    let report = ask(&part, n, if n == 0 { 30 } else { 1 });
    let value = |m: &Mode| m.omega_squared;
    let found = if m.branch == Branch::Upper {
        // Breathing: the only round mode that moves the wall across alone.
        pick(&report, 0, 0, |m| m.kind != Kind::Torsion && m.normal_share > 1.0 - 1e-9)
    } else {
        pick(&report, n, 0, |m| (m.kind == Kind::Torsion) == torsion)
    };
    found.map_or(f64::NAN, value)
}

fn shift() -> f64 {
    let lambda = 6.0;
    let flat = plate::frequency(Edge::Free, 0, NU, 0).unwrap_or(f64::NAN);
    shallow_limit(|alpha| {
        let h = shallow_thickness(NU, alpha, lambda);
        let report = ask(&spherical(NU, alpha, h, Rim::Free), 0, 3);
        let cap = pick(&report, 0, 0, |m| m.kind != Kind::Torsion && m.normal_share > 0.5);
        cap.map_or(f64::NAN, |m| {
            m.omega_squared - flat * flat * h * h / (12.0 * (1.0 - NU * NU) * alpha.powi(4))
        })
    })
}

/// Values at small sizes continued to none, in powers of the size.
fn at_none(points: &[(f64, f64)]) -> f64 {
    let term = |(i, a): (usize, &(f64, f64))| {
        let others = points.iter().enumerate().filter(|(j, _)| *j != i);
        a.1 * others.map(|(_, b)| b.0 / (b.0 - a.0)).product::<f64>()
    };
    points.iter().enumerate().map(term).sum()
}

/// Width and thickness of one size; the error is even in it. Narrower rings lose digits to rounding.
fn narrow() -> f64 {
    let points = [0.06, 0.12, 0.24].map(|size: f64| {
        let report = ask(&straight_part(1.0, FRAC_PI_2, size, size, Rim::Free), 2, 3);
        let bends = pick(&report, 2, 0, |m| m.normal_share + m.around_share > 0.99);
        (size * size, bends.map_or(f64::NAN, |m| 12.0 * m.omega_squared / (size * size)))
    });
    at_none(&points)
}

/// Three degrees, extrapolated in powers of h/R.
fn short_waves() -> f64 {
    let root = (12.0 * (1.0 - NU * NU)).sqrt();
    let points: Vec<(f64, f64)> = [8_u32, 16, 32]
        .into_iter()
        .map(|l| {
            let h = 2.0 * root / f64::from(l * (l + 1));
            let whole = Meridian::Sphere(SphereCap { radius: 1.0, half_angle: PI, hole_angle: 0.0 });
            let set = Settings {
                most: Some(0),
                count: 1,
                lowest: 1,
                pressure: Some(Face::Outside),
                ..Settings::default()
            };
            let report = modes(&with(whole, h, Rim::Free), &set);
            let loss = report.pressure.and_then(|p| p.losses.into_iter().find(|x| x.n == l));
            (h, loss.map_or(f64::NAN, |l| l.ratio))
        })
        .collect();
    at_none(&points)
}

pub(crate) fn rows() -> Vec<Computed> {
    let mut out = Vec::new();
    let mut say = |id: &'static str, value: f64, claims: f64| out.push(Computed { id, value, claims });
    for r in &ring_plate::RINGS {
        say(r.omega.id, ring(r), 5e-8);
    }
    for d in &ring_plate::IN_PLANE {
        say(d.omega.id, in_plane(d), 1e-8);
    }
    for m in &straight::TABLE {
        say(m.omega_squared.id, generator(m), 2e-8);
    }
    for m in &natural::SPHERE {
        say(m.id, sphere(m), 1e-8);
    }
    say(natural::SHIFT.id, shift(), 1e-6);
    say(natural::NARROW.id, narrow(), 1e-5);
    say(natural::SHORT_WAVES.id, short_waves(), 1e-5);
    out
}

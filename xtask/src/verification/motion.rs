//! Computed values of caps that are let go.

use calotte_answers::release::{Ask, Watch, release, slowing, wait_curve};
use calotte_answers::{Detail, verdict};
use calotte_oracle::motion;
use calotte_specimen::{Case, Motion, Part, Rim, read_case};
use std::sync::atomic::AtomicBool;

use super::Computed;
use super::compute::{shallow_limit, shallow_thickness, spherical};

/// A cap of unit radius, unit modulus and unit density.
fn heavy(nu: f64, alpha: f64, h: f64) -> Part {
    let mut part = spherical(nu, alpha, h, Rim::Free);
    part.material.density = Some(1.0);
    part
}

fn threshold(nu: f64, alpha: f64) -> f64 {
    let part = heavy(nu, alpha, shallow_thickness(nu, alpha, 5.087 + 1.31 * nu));
    let v = verdict(&part, Detail { branch: false, depth: false });
    v.margin.map_or(f64::NAN, |m| m.threshold_thickness_m)
}

/// A rubber cap of R = 10 mm with a memory of one term of 1 s, held as its mirror image.
fn relaxing(nu: f64, alpha: f64, h_over_r: f64, share: f64, hold: f64) -> Option<Case> {
    let text = format!(
        "[shape]\nkind = \"cap\"\nradius = \"10 mm\"\nhalf_angle = \"{alpha} rad\"\n[wall]\nthickness = \"{} mm\"\n\
         [material]\nyoungs_modulus = \"2 MPa\"\npoisson_ratio = {nu}\ndensity = \"1100 kg/m^3\"\n\
         [rim]\nkind = \"free\"\n[memory]\nshares = [{share}]\ntimes = [\"1 s\"]\n\
         [hold]\nshape = \"mirror\"\ntime = \"{hold} s\"\nlet_go = \"at once\"\n",
        10.0 * h_over_r
    );
    read_case(text.as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into())).0
}

pub(crate) fn rows() -> Vec<Computed> {
    let mut out = Vec::new();
    let mut say = |id: &'static str, value: f64, claims: f64| out.push(Computed { id, value, claims });
    let stop = AtomicBool::new(false);
    let watch = Watch { threads: 1, stop: &stop, progress: &|_| () };
    let alpha = 45.0_f64.to_radians();
    let ask = Ask { evidence: false, ..Ask::default() };
    for row in motion::HALF_WAY {
        let part = heavy(0.3, alpha, threshold(0.3, alpha) * (1.0 + row.distance));
        let r = release(&part, &Motion::default(), &ask, &mut |_| true).ok();
        let time = r.and_then(|r| r.snap).map_or(f64::NAN, |s| s.halfway_s);
        say(row.time.id, time, 1e-6);
    }
    for row in motion::WAITS {
        let h = threshold(0.5, alpha) * (1.0 + row.distance);
        let curve = relaxing(0.5, alpha, h, 0.2, row.hold)
            .and_then(|case| wait_curve(&case, [row.hold, 2.0 * row.hold], 1, &watch).ok().flatten());
        let time = curve.and_then(|c| c.points.first().and_then(|p| p.wait_s));
        say(row.time.id, time.unwrap_or(f64::NAN), 5e-7);
    }
    for row in motion::RELAXED {
        let value = shallow_limit(|alpha| {
            let case = relaxing(0.3, alpha, shallow_thickness(0.3, alpha, 5.3), row.loss, 1.0);
            let v = case.map(|c| verdict(&c, Detail { branch: false, depth: false }));
            let h = v.and_then(|v| v.wait).and_then(|w| w.band_at_most_m).unwrap_or(f64::NAN) / 0.01;
            (12.0_f64 * 0.91).sqrt().sqrt() * alpha / h.sqrt()
        });
        say(row.lambda.id, value, 1e-6);
    }
    // Distances that are 16 times one another, extrapolated to none: frequencies in powers of the square root of the distance,
    // delays of its fourth root.
    let near = |k: usize| {
        shallow_limit(|alpha| {
            let part = heavy(0.3, alpha, threshold(0.3, alpha));
            let unit = alpha * alpha * (12.0_f64 * 0.91).sqrt();
            let root = |h: f64, h0: f64| ((unit / h).sqrt() - (unit / h0).sqrt()).abs().sqrt().sqrt();
            let Some(s) = slowing(&part, [4e-6, 0.016_384], 4, &watch).ok().flatten() else {
                return f64::NAN;
            };
            let h0 = s.threshold_thickness_m;
            let at = |share: f64| h0 * share;
            let frequency = s.frequencies.iter().map(|p| {
                let h = at(1.0 - p.distance);
                2.0 * std::f64::consts::PI * p.frequency_Hz * unit / h / root(h, h0)
            });
            let delay = s.elastic.iter().map(|p| {
                let h = at(1.0 + p.distance);
                p.time_s * h / unit * root(h, h0)
            });
            let (values, factor) =
                if k == 0 { (frequency.collect(), 4.0) } else { (delay.collect::<Vec<_>>(), 2.0) };
            at_none(values, factor)
        })
    };
    say(motion::SLOW_FREQUENCY.id, near(0), 2e-6);
    say(motion::SLOW_DELAY.id, near(1), 1e-3);
    out
}

/// Values at x, kx, k²x, … extrapolated to x = 0 in powers of x.
fn at_none(mut v: Vec<f64>, k: f64) -> f64 {
    let mut factor = k;
    for round in 1..v.len() {
        for i in 0..v.len() - round {
            v[i] = (factor * v[i] - v[i + 1]) / (factor - 1.0);
        }
        factor *= k;
    }
    v.first().copied().unwrap_or(f64::NAN)
}

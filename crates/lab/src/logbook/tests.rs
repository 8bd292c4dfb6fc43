//! Inference on invented logbooks whose truth is known, with a cheap law.

use std::sync::atomic::AtomicBool;

use calotte_answers::Watch;
use calotte_chance::{Stream, normal};

use super::belief::{Prior, Theta, Unknown, fixed};
use super::chain::Walk;
use super::curve::Curve;
use super::likelihood::{Assumed, Compared, Elastic, Known, Law, Seen, WithMargin, margin, specimen};
use super::next::{CLASSES, after, chances, class_ends, teaching};
use super::posterior::{Posterior, Problem};

/// Runs something under a watch that never stops it, on one thread.
pub(super) fn unwatched<T>(f: impl FnOnce(&Watch<'_>) -> T) -> T {
    let stop = AtomicBool::new(false);
    f(&Watch { threads: 1, stop: &stop, progress: &|_| {} })
}

#[allow(clippy::unwrap_used, reason = "a helper of tests")]
pub(super) fn drawn(problem: &Problem<'_>, how: &Walk) -> Posterior {
    unwatched(|w| problem.posterior(how, w)).unwrap().unwrap()
}

/// A cheap law of waits that has the true one's shape: band b = 0.3 L with the loss L of one term of share 0.15 and time 20 s after
/// the hold; wait τ (1 − x)²/√x.
pub(super) struct Cheap(pub(super) Vec<f64>);

impl Law for Cheap {
    fn curve(&self, _: usize, hold: usize, log_shares: f64, log_times: f64) -> Curve {
        let (share, time) = (0.15 * libm::exp(log_shares), 20.0 * libm::exp(log_times));
        let loss = -share * libm::expm1(-self.0[hold] / time);
        let shares = [0.01, 0.05, 0.15, 0.35, 0.6, 0.8, 0.93, 0.99];
        let waits = shares.map(|x| libm::log(time) - 0.5 * libm::log(x) + 2.0 * libm::log(1.0 - x));
        Curve::new(0.3 * loss, &shares, &waits)
    }
}

pub(super) const HOLDS: [f64; 3] = [3.0, 20.0, 120.0];

/// A logbook drawn from the model itself.
pub(super) fn draw(
    seed: u64,
    count: usize,
    truth: &Theta,
    law: &dyn Law,
    assumed: &Assumed,
    trips: bool,
) -> Vec<Known> {
    let mut s = Stream::of(seed, 0);
    (0..count)
        .map(|i| {
            let known = Known {
                margin: -0.09 + 0.16 * s.unit(),
                by_thickness: -1.0,
                size_sd: 0.015,
                trials: Vec::new(),
                numbers: Vec::new(),
            };
            let [mean, _] = margin(&known, truth);
            let own =
                mean + known.size_sd * s.normal() + libm::exp(truth[Unknown::Scatter as usize]) * s.normal();
            let mut trials = Vec::new();
            let hold = i % HOLDS.len();
            let m = own + assumed.trial_scatter * s.normal();
            let curve = law.curve(i, hold, truth[Unknown::Shares as usize], truth[Unknown::Times as usize]);
            trials.push(match curve.log_wait(m) {
                Some([w, _]) if w < libm::log(600.0) => {
                    Seen { hold, between: [0.2, 600.0], wait: Some([w + 0.05 * s.normal(), 0.05]) }
                }
                None if m < 0.0 => Seen { hold, between: [0.0, 0.2], wait: None },
                _ => Seen { hold, between: [600.0, f64::INFINITY], wait: None },
            });
            let mut numbers = Vec::new();
            if trips && own > 0.0 {
                // A load that goes with E h² and with the margin, less beyond the threshold, at the margin that the part has.
                let [from, per] = [0.03, -2.0];
                let exact = 0.7
                    + truth[Unknown::Youngs as usize]
                    + 2.0 * truth[Unknown::Thickness as usize]
                    + libm::log(own / from)
                    + per * (own - from);
                let spread = libm::hypot(libm::exp(truth[Unknown::TripScatter as usize]), 0.02);
                numbers.push(Compared {
                    read: exact + spread * s.normal(),
                    read_sd: 0.02,
                    computed: 0.7,
                    slopes: [2.0, 1.0],
                    size_sd: [0.0, 0.0],
                    with_margin: WithMargin::Vanishing { per, from },
                    scatters: true,
                });
            }
            Known { trials, numbers, ..known }
        })
        .collect()
}

/// Priors narrow enough that every logbook drawn from them has something to say.
pub(super) fn priors(of: &[(Unknown, [f64; 2])]) -> Vec<Prior> {
    of.iter().map(|(of, bounds)| Prior { of: *of, bounds: bounds.map(libm::log), normal: None }).collect()
}

/// Closed form: one specimen with one outcome is a probit; and the panels of the integral give the same when the outcome is noted
/// twice as when its square is summed by hand on a fine grid.
#[test]
fn the_likelihood_is_the_integral_that_it_claims() {
    let assumed = Assumed { trial_scatter: 0.004, lapse: 0.02 };
    let mut theta = fixed();
    theta[Unknown::Thickness as usize] = 0.01;
    theta[Unknown::Scatter as usize] = libm::log(0.02);
    let stays = Seen { hold: 0, between: [600.0, f64::INFINITY], wait: None };
    let one = Known {
        margin: 0.03,
        by_thickness: -1.0,
        size_sd: 0.015,
        trials: vec![stays.clone()],
        numbers: vec![],
    };
    let sd = (0.015f64.powi(2) + 0.02f64.powi(2) + 0.004f64.powi(2)).sqrt();
    let p = normal::below(0.02 / sd);
    let due = libm::log(0.98 * p + 0.02 / 3.0);
    assert!((specimen(0, &one, &Elastic, &assumed, &theta) - due).abs() < 1e-12);

    // Two outcomes, a wait and a load of one specimen, by a plain sum.
    let law = Cheap(HOLDS.to_vec());
    let waits = Seen { hold: 1, between: [0.2, 600.0], wait: Some([libm::log(8.0), 0.05]) };
    let returns = Seen { hold: 0, between: [0.0, 0.2], wait: None };
    let with_margin = WithMargin::Vanishing { per: -1.4, from: 0.02 };
    let load = Compared {
        read: 0.72,
        read_sd: 0.02,
        computed: 0.7,
        slopes: [2.5, 1.0],
        size_sd: [0.03, 0.015],
        with_margin,
        scatters: true,
    };
    let all = Known { margin: -0.02, trials: vec![stays, waits, returns], numbers: vec![load], ..one };
    let [mean, wide] = margin(&all, &theta);
    let (n, span) = (400_000, 14.0 * wide);
    let mut sum = 0.0;
    for i in 0..n {
        let m = mean - 0.5 * span + span * (f64::from(i) + 0.5) / f64::from(n);
        let shares = |k: usize| law.curve(0, k, 0.0, 0.0);
        let mut f = normal::density((m - mean) / wide) / wide;
        f *= 0.98 * normal::below(m / 0.004 - shares(0).margin_of(600.0) / 0.004) + 0.02 / 3.0;
        f *= 0.98 * normal::below((shares(0).margin_of(0.2) - m) / 0.004) + 0.02 / 3.0;
        let told = shares(1).log_wait(m).map_or(0.0, |[w, slope]| {
            let sd = libm::hypot(0.05, 0.004 * slope);
            normal::density((libm::log(8.0) - w) / sd) / sd
        });
        f *= 0.98 * told + 0.02 / 16.0;
        let left = (0.015f64.powi(2) + 0.02f64.powi(2) + 0.02f64.powi(2)).sqrt();
        let told = if m > 0.0 {
            normal::density((0.72 - 0.7 - 2.5 * 0.01 - libm::log(m / 0.02) + 1.4 * (m - 0.02)) / left) / left
        } else {
            0.0
        };
        f *= 0.98 * told + 0.02 / 16.0;
        sum += f * span / f64::from(n);
    }
    let found = specimen(0, &all, &law, &assumed, &theta);
    assert!((found - libm::log(sum)).abs() < 2e-3, "{found} {}", libm::log(sum));
}

/// Closed form: the posterior of a chain against sums on a grid, thickness and scatter from outcomes.
#[test]
fn chains_agree_with_sums_on_a_grid() {
    let truth = {
        let mut t = fixed();
        t[Unknown::Thickness as usize] = libm::log(0.97);
        t[Unknown::Scatter as usize] = libm::log(0.02);
        t
    };
    let assumed = Assumed::default();
    let specimens = draw(3, 20, &truth, &Elastic, &assumed, false);
    let priors = priors(&[(Unknown::Thickness, [0.9, 1.1]), (Unknown::Scatter, [0.004, 0.08])]);
    let problem = Problem { specimens: &specimens, law: &Elastic, assumed, priors: &priors };
    let found = drawn(&problem, &Walk { draws: 6000, ..Walk::default() });
    let n = 160;
    let place = |i: usize, k: usize| {
        priors[i].bounds[0] + (priors[i].bounds[1] - priors[i].bounds[0]) * (k as f64 + 0.5) / n as f64
    };
    let mut sums = [0.0; 5];
    let mut most = f64::NEG_INFINITY;
    let mut all = Vec::new();
    for a in 0..n {
        for b in 0..n {
            let at = [place(0, a), place(1, b)];
            let l = problem.log_density(&at).unwrap();
            most = most.max(l);
            all.push((at, l));
        }
    }
    for (at, l) in all {
        let w = libm::exp(l - most);
        for (s, x) in sums.iter_mut().zip([1.0, at[0], at[1], at[0] * at[0], at[1] * at[1]]) {
            *s += w * x;
        }
    }
    for i in 0..2 {
        let mean = sums[1 + i] / sums[0];
        let sd = (sums[3 + i] / sums[0] - mean * mean).sqrt();
        let s = found.summary(i);
        let error = 4.0 * sd / found.mixing[i].effective.sqrt();
        assert!((s.mean - mean).abs() < error && (s.sd - sd).abs() < error, "{i}: {s:?} {mean} {sd} {error}");
    }
}

/// Closed form: a threshold that is normal about 0 with standard deviation s, seen without noise, teaches h(Φ(m/s)) bits at margin
/// m, h the entropy of two outcomes: most, one bit, at the median. With noise it teaches less, by a sum over a fine grid.
#[test]
fn the_most_instructive_specimen_sits_at_the_median_threshold() {
    let ends = class_ends(0.2, 600.0);
    let curve = Curve::elastic();
    let s = 0.03;
    let thetas = |count: usize| -> Vec<Theta> {
        (0..count)
            .map(|i| {
                let mut t = fixed();
                t[Unknown::Thickness as usize] = s * normal::quantile((i as f64 + 0.5) / count as f64);
                t[Unknown::Scatter as usize] = libm::log(1e-9);
                t
            })
            .collect()
    };
    let exact = Assumed { trial_scatter: 1e-9, lapse: 0.0 };
    let noisy = Assumed { trial_scatter: 0.02, lapse: 0.0 };
    let candidate =
        |margin: f64| Known { margin, by_thickness: -1.0, size_sd: 0.0, trials: vec![], numbers: vec![] };
    let all = thetas(4000);
    let bits = |margin: f64, assumed: &Assumed| {
        let by_draw: Vec<[f64; CLASSES]> =
            all.iter().map(|t| chances(&candidate(margin), &curve, &ends, assumed, t)).collect();
        teaching(&by_draw).bits
    };
    let h = |p: f64| -p * libm::log2(p) - (1.0 - p) * libm::log2(1.0 - p);
    for m in [-0.06, -0.02, 0.0, 0.01, 0.05] {
        assert!((bits(m, &exact) - h(normal::below(m / s))).abs() < 2e-3, "{m}");
        // I = h(Φ(m/√(s² + n²))) − ∫ φ(x) h(Φ((m − s x)/n)) dx.
        let within: f64 = (0..20_000)
            .map(|i| {
                let x = -8.0 + 16.0 * (f64::from(i) + 0.5) / 20_000.0;
                let p = normal::below((m - s * x) / 0.02).clamp(1e-300, 1.0 - 1e-16);
                normal::density(x) * h(p) * 16.0 / 20_000.0
            })
            .sum();
        let due = h(normal::below(m / libm::hypot(s, 0.02))) - within;
        assert!((bits(m, &noisy) - due).abs() < 2e-3, "{m}: {} {due}", bits(m, &noisy));
    }
    let grid: Vec<f64> = (0..41).map(|k| -0.1 + 0.005 * f64::from(k)).collect();
    for assumed in [&exact, &noisy] {
        let best =
            grid.iter().copied().max_by(|a, b| bits(*a, assumed).total_cmp(&bits(*b, assumed))).unwrap();
        assert!(best.abs() < 0.0051, "{best}");
    }
    // One outcome at the median halves what is possible: mean ±s √(2/π), standard deviation s √(1 − 2/π).
    let by_draw: Vec<[f64; CLASSES]> =
        all.iter().map(|t| chances(&candidate(0.0), &curve, &ends, &exact, t)).collect();
    let values: Vec<f64> = all.iter().map(|t| t[Unknown::Thickness as usize]).collect();
    let [mean, sd] = after(&by_draw, CLASSES - 1..CLASSES, &values);
    let pi = std::f64::consts::PI;
    assert!(
        (mean + s * (2.0 / pi).sqrt()).abs() < 1e-4 && (sd - s * (1.0 - 2.0 / pi).sqrt()).abs() < 1e-4,
        "{mean} {sd}"
    );
}

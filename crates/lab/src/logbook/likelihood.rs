//! How likely the trials of a specimen are, given the numbers sought.
//!
//! The margin of a specimen is `M = m + s ln k + u`: `m` from its sizes as read, `s = ∂M/∂ln h` (about −1), `k` the effective
//! thickness over the read one, `u` normal with the variance of its sizes and the scatter of theory. Every trial of one specimen
//! shares its `u`. An outcome says that the wait lies between two times, hence (waits grow with the margin) that `M` lies between
//! two margins; from try to try the margin moves by `trial_scatter`. A wait that was read is log-normal about the wait of `M`. A
//! trip load is normal in its logarithm about theory, with what it shares with `u`. One trial in `1/lapse` says nothing: it was
//! noted wrongly (Wichmann & Hill 2001, Perception & Psychophysics 63, 1293, for outcomes).

use calotte_chance::normal;

use super::belief::{Theta, Unknown};
use super::curve::Curve;

/// A number that was read and that theory computes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Compared {
    /// As read; the logarithm where theory is compared in logarithms.
    pub read: f64,
    /// Its standard deviation.
    pub read_sd: f64,
    /// As computed from the sizes as read, at factors of 1.
    pub computed: f64,
    /// Its slope by ln k at a given margin, and by the logarithm of the factor on Young's modulus.
    pub slopes: [f64; 2],
    /// Its standard deviation by the sizes, and what is left of that at a given margin.
    pub size_sd: [f64; 2],
    /// How it goes with the margin.
    pub with_margin: WithMargin,
    /// Whether `TripScatter` applies to it: a logarithm of a load.
    pub scatters: bool,
}

/// How a number goes with the margin M of its specimen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum WithMargin {
    /// Straight: so much per unit of M from that of the sizes as read.
    Straight {
        /// Slope.
        per: f64,
        /// Margin of the sizes as read.
        from: f64,
    },
    /// The logarithm of a load that vanishes at the threshold in proportion to the margin, and goes straight with it beyond:
    /// `ln(M/from) + per · (M − from)`; nothing at M ≤ 0.
    Vanishing {
        /// Slope of the load over the margin, in its logarithm.
        per: f64,
        /// Margin of the sizes as read, above 0.
        from: f64,
    },
}

/// Steps of Newton's method for the margin of a load.
const NEWTON: usize = 30;

impl WithMargin {
    /// What it adds at margin `m`; `None` where there is no such number.
    pub(crate) fn at(self, m: f64) -> Option<f64> {
        match self {
            Self::Straight { per, from } => Some(per * (m - from)),
            Self::Vanishing { per, from } => (m > 0.0).then(|| libm::log(m / from) + per * (m - from)),
        }
    }

    /// Margin at which it adds `y`, and its slope there; `None` for a number that does not go with it.
    fn margin_of(self, y: f64) -> Option<[f64; 2]> {
        match self {
            Self::Straight { per, from } => (per != 0.0).then(|| [from + y / per, per]),
            Self::Vanishing { per, from } => {
                // Of ln M: convex or concave, and rising but for a `per` so far below 0 that no load comes to it.
                let mut z = libm::log(from) + y;
                for _ in 0..NEWTON {
                    let m = libm::exp(z);
                    let slope = 1.0 + per * m;
                    let step = (libm::log(m / from) + per * (m - from) - y) / slope;
                    if slope <= 0.0 || !step.is_finite() {
                        return None;
                    }
                    z -= step.clamp(-1.0, 1.0);
                    if step.abs() < 1e-12 {
                        let m = libm::exp(z);
                        return Some([m, 1.0 / m + per]);
                    }
                }
                None
            }
        }
    }

    /// Its slope at margin `m`.
    pub(crate) fn slope(self, m: f64) -> f64 {
        match self {
            Self::Straight { per, .. } => per,
            Self::Vanishing { per, .. } => 1.0 / m + per,
        }
    }
}

/// One trial as the likelihood sees it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Seen {
    /// Place among the holds that the law knows.
    pub hold: usize,
    /// The wait lies between these, s: at the reference of the law's clock.
    pub between: [f64; 2],
    /// ln of a wait that was read and its standard deviation.
    pub wait: Option<[f64; 2]>,
}

/// One specimen as the likelihood sees it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Known {
    /// ln(h*/h) of the sizes as read.
    pub margin: f64,
    /// Its slope by ln h.
    pub by_thickness: f64,
    /// Its standard deviation by the sizes.
    pub size_sd: f64,
    /// What was seen.
    pub trials: Vec<Seen>,
    /// What was read beside, at most one number of a kind.
    pub numbers: Vec<Compared>,
}

impl Known {
    /// Margin, slope by ln h and deviation where theory knows no margin: nothing that goes with one may stand beside it.
    pub(crate) const NO_MARGIN: [f64; 3] = [0.0, 0.0, 1e-3];
}

/// Wait against margin for the holds of the trials.
pub(crate) trait Law: Sync {
    /// The curve for specimen `specimen` after hold `hold`, for a memory with its shares and times multiplied by e to the given
    /// numbers.
    fn curve(&self, specimen: usize, hold: usize, log_shares: f64, log_times: f64) -> Curve;
}

/// A law for elastic parts.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Elastic;

impl Law for Elastic {
    fn curve(&self, _: usize, _: usize, _: f64, _: f64) -> Curve {
        Curve::elastic()
    }
}

/// What is not sought but assumed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Assumed {
    /// Standard deviation of the margin of one specimen from try to try.
    pub trial_scatter: f64,
    /// Share of trials noted wrongly.
    pub lapse: f64,
}

impl Default for Assumed {
    fn default() -> Self {
        Self { trial_scatter: 0.003, lapse: 0.01 }
    }
}

/// Kinds of outcome: returns, waits, stays.
pub(crate) const OUTCOMES: f64 = 3.0;
/// Width of the flat density of a number noted wrongly, in e-folds.
const WRONG_OVER: f64 = 16.0;
/// Nodes and weights of Gauss and Legendre for three points on (−1, 1).
const GAUSS: [[f64; 2]; 3] =
    [[-0.774_596_669_241_483_4, 5.0 / 9.0], [0.0, 8.0 / 9.0], [0.774_596_669_241_483_4, 5.0 / 9.0]];

/// Mean and standard deviation of a specimen's margin.
pub(crate) fn margin(known: &Known, theta: &Theta) -> [f64; 2] {
    let scatter = libm::exp(theta[Unknown::Scatter as usize]);
    let mean = known.margin + known.by_thickness * theta[Unknown::Thickness as usize];
    [mean, libm::hypot(known.size_sd, scatter)]
}

/// Chance that a normal number lies between two.
pub(crate) fn between(mean: f64, sd: f64, [low, high]: [f64; 2]) -> f64 {
    let (a, b) = ((low - mean) / sd, (high - mean) / sd);
    // In the tail where the difference keeps its digits.
    if a > 0.0 { normal::below(-a) - normal::below(-b) } else { normal::below(b) - normal::below(a) }
}

/// The margins between which the wait lies between two times.
pub(crate) fn margins(curve: &Curve, [from, to]: [f64; 2]) -> [f64; 2] {
    let low = if from <= 0.0 { f64::NEG_INFINITY } else { curve.margin_of(from) };
    let high = if to == f64::INFINITY { f64::INFINITY } else { curve.margin_of(to) };
    [low, high]
}

/// A trial with its curve at hand.
struct Ready<'a> {
    seen: &'a Seen,
    curve: Curve,
    interval: [f64; 2],
}

/// ln of the likelihood of all trials of specimen number `which`.
pub(crate) fn specimen(which: usize, known: &Known, law: &dyn Law, assumed: &Assumed, theta: &Theta) -> f64 {
    if known.trials.is_empty() && known.numbers.is_empty() {
        return 0.0;
    }
    let [mean, sd] = margin(known, theta);
    let curve =
        |t: &Seen| law.curve(which, t.hold, theta[Unknown::Shares as usize], theta[Unknown::Times as usize]);
    if let ([only], []) = (&known.trials[..], &known.numbers[..])
        && only.wait.is_none()
    {
        let p = between(mean, libm::hypot(sd, assumed.trial_scatter), margins(&curve(only), only.between));
        return libm::log((1.0 - assumed.lapse) * p + assumed.lapse / OUTCOMES);
    }
    let ready: Vec<Ready<'_>> = known
        .trials
        .iter()
        .map(|seen| {
            let curve = curve(seen);
            let interval = margins(&curve, seen.between);
            Ready { seen, curve, interval }
        })
        .collect();
    let numbers: Vec<Given> = known.numbers.iter().map(|c| Given::of(c, theta)).collect();
    let density = |m: f64| {
        let z = (m - mean) / sd;
        let trials: f64 = ready.iter().map(|r| trial(r, assumed, m)).product();
        let rest: f64 = numbers
            .iter()
            .map(|g| {
                let told =
                    g.with.at(m).map_or(0.0, |at| normal::density((g.rest - at) / g.deviation) / g.deviation);
                (1.0 - assumed.lapse) * told + assumed.lapse / WRONG_OVER
            })
            .product();
        normal::density(z) / sd * trials * rest
    };
    let panels = panels(&ready, &numbers, assumed, mean, sd);
    let sum: f64 = panels
        .windows(2)
        .map(|w| {
            let (centre, half) = (0.5 * (w[0] + w[1]), 0.5 * (w[1] - w[0]));
            half * GAUSS.iter().map(|[x, weight]| weight * density(centre + half * x)).sum::<f64>()
        })
        .sum();
    libm::log(sum.max(f64::MIN_POSITIVE))
}

/// A number with what the margin has to explain of it, and the deviation that is left then.
struct Given {
    rest: f64,
    with: WithMargin,
    deviation: f64,
}

impl Given {
    fn of(c: &Compared, theta: &Theta) -> Self {
        let at = c.computed
            + c.slopes[0] * theta[Unknown::Thickness as usize]
            + c.slopes[1] * theta[Unknown::Youngs as usize];
        let scatter = if c.scatters { libm::exp(theta[Unknown::TripScatter as usize]) } else { 0.0 };
        let deviation = libm::hypot(libm::hypot(c.size_sd[1], c.read_sd), scatter);
        Self { rest: c.read - at, with: c.with_margin, deviation }
    }
}

/// How likely one trial is at a margin.
fn trial(r: &Ready<'_>, assumed: &Assumed, m: f64) -> f64 {
    let right = 1.0 - assumed.lapse;
    match r.seen.wait {
        None => right * between(m, assumed.trial_scatter.max(1e-9), r.interval) + assumed.lapse / OUTCOMES,
        Some([read, sd]) => {
            let told = r.curve.log_wait(m).map_or(0.0, |[w, slope]| {
                let sd = libm::hypot(sd, slope * assumed.trial_scatter);
                normal::density((read - w) / sd) / sd
            });
            right * told + assumed.lapse / WRONG_OVER
        }
    }
}

/// Ends of panels on which the density is smooth enough for three points each.
fn panels(ready: &[Ready<'_>], numbers: &[Given], assumed: &Assumed, mean: f64, sd: f64) -> Vec<f64> {
    let mut ends: Vec<f64> = (-6..=6).map(|k| mean + sd * f64::from(k)).collect();
    let [low, high] = [mean - 6.0 * sd, mean + 6.0 * sd];
    let step = assumed.trial_scatter;
    for r in ready {
        match r.seen.wait {
            None => {
                for edge in r.interval.into_iter().filter(|e| e.is_finite()) {
                    ends.extend([-4.0, -1.5, 0.0, 1.5, 4.0].map(|k| edge + k * step));
                }
            }
            Some([read, read_sd]) => {
                ends.extend([f64::INFINITY, 0.0].map(|wait| r.curve.margin_of(wait)));
                let at = r.curve.margin_of(libm::exp(read));
                let slope = r.curve.log_wait(at).map_or(0.0, |w| w[1]);
                let wide = libm::hypot(read_sd, slope * step);
                let steps = [-5.0, -3.0, -1.5, 0.0, 1.5, 3.0, 5.0];
                ends.extend(steps.map(|k| r.curve.margin_of(libm::exp(read + k * wide))));
            }
        }
    }
    for g in numbers {
        let Some([centre, slope]) = g.with.margin_of(g.rest) else { continue };
        let wide = g.deviation / slope.abs();
        if wide < 2.0 * sd {
            ends.extend([-5.0, -3.0, -1.5, 0.0, 1.5, 3.0, 5.0].map(|k| centre + k * wide));
            if matches!(g.with, WithMargin::Vanishing { .. }) {
                ends.push(0.0);
            }
        }
    }
    ends.retain(|e| *e >= low && *e <= high);
    ends.sort_by(f64::total_cmp);
    ends.dedup();
    ends
}

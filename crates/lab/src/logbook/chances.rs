//! Chances of returns, waits and stays for the trials of a logbook: as described, and from all other specimens.

use super::belief::{Theta, Unknown, fixed};
use super::likelihood::{Known, between, margin, margins, specimen};
use super::posterior::{Posterior, Problem};
use super::record::Outcome;

/// Independent draws that weighted ones must be worth.
const WORTH: f64 = 30.0;

/// Times that part the outcomes of a trial at the clock of the law: the shortest wait noticed, how long one looks.
pub(crate) type Parted = [f64; 2];

/// Chances of returns, waits, stays for one draw of the numbers, no trial of the specimen being known.
pub(crate) fn of(
    which: usize,
    known: &Known,
    hold: usize,
    [at_once, watched]: Parted,
    p: &Problem<'_>,
    theta: &Theta,
) -> [f64; 3] {
    let curve = p.law.curve(which, hold, theta[Unknown::Shares as usize], theta[Unknown::Times as usize]);
    let [mean, sd] = margin(known, theta);
    let sd = libm::hypot(sd, p.assumed.trial_scatter);
    let share = |interval| {
        let told: f64 = between(mean, sd, margins(&curve, interval));
        (1.0 - p.assumed.lapse) * told.max(0.0) + p.assumed.lapse / 3.0
    };
    [share([0.0, at_once]), share([at_once, watched]), share([watched, f64::INFINITY])]
}

/// The numbers of the theory as described: every factor 1, no scatter.
pub(crate) fn described() -> Theta {
    let mut theta = fixed();
    theta[Unknown::Scatter as usize] = libm::log(1e-6);
    theta
}

/// Weights that take a specimen's own trials out of the posterior: one over their likelihood, at each draw (Gelfand, Dey & Chang
/// 1992, Bayesian Statistics 4, 147). `None` when few draws carry nearly all of them.
pub(crate) fn without(
    which: usize,
    known: &Known,
    p: &Problem<'_>,
    posterior: &Posterior,
) -> Option<Vec<f64>> {
    let logs: Vec<f64> =
        posterior.thetas.iter().map(|t| -specimen(which, known, p.law, &p.assumed, t)).collect();
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|l| libm::exp(l - most)).collect();
    let sum: f64 = weights.iter().sum();
    let squares: f64 = weights.iter().map(|w| w * w).sum();
    (sum * sum / squares >= WORTH).then(|| weights.iter().map(|w| w / sum).collect())
}

/// Chances of a trial under weighted draws.
pub(crate) fn weighted(
    which: usize,
    known: &Known,
    hold: usize,
    parted: Parted,
    p: &Problem<'_>,
    posterior: &Posterior,
    weights: &[f64],
) -> [f64; 3] {
    let mut out = [0.0; 3];
    for (theta, w) in posterior.thetas.iter().zip(weights) {
        let one = of(which, known, hold, parted, p, theta);
        out.iter_mut().zip(one).for_each(|(sum, c)| *sum += w * c);
    }
    out
}

/// The class of an outcome; without a memory in the theory what did not stay returned.
pub(crate) fn class(outcome: Outcome, waits: bool) -> usize {
    match outcome {
        Outcome::Returns => 0,
        Outcome::Waits => usize::from(waits),
        Outcome::Stays => 2,
    }
}

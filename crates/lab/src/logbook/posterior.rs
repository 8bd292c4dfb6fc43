//! What all trials together say about the numbers sought.

use calotte_answers::Watch;

use super::belief::{Prior, Theta, whole};
use super::chain::{Draws, Mixing, Stopped, Walk, mixing, walk};
use super::likelihood::{Assumed, Known, Law, specimen};

/// Specimens, trials, law and assumptions: a problem of inference.
pub(crate) struct Problem<'a> {
    /// Specimens with their trials.
    pub specimens: &'a [Known],
    /// Wait against margin.
    pub law: &'a dyn Law,
    /// What is assumed.
    pub assumed: Assumed,
    /// What is sought, with what is held of it beforehand.
    pub priors: &'a [Prior],
}

/// Draws of the numbers sought, and what they say.
#[derive(Clone, Debug)]
pub(crate) struct Posterior {
    /// The chains.
    pub draws: Draws,
    /// Every draw as a whole [`Theta`], evenly thinned to at most [`MOST`].
    pub thetas: Vec<Theta>,
    /// Mixing of each number sought.
    pub mixing: Vec<Mixing>,
}

/// Draws kept for what is computed from them one by one.
pub(crate) const MOST: usize = 1000;

/// A posterior summary of one number, of its logarithm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Summary {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// Quantiles 0.025, 0.16, 0.5, 0.84, 0.975.
    pub quantiles: [f64; 5],
}

/// Shares of the quantiles of a [`Summary`].
pub(crate) const SHARES: [f64; 5] = [0.025, 0.16, 0.5, 0.84, 0.975];

impl Problem<'_> {
    /// ln of the likelihood of everything.
    pub(crate) fn log_likelihood(&self, theta: &Theta) -> f64 {
        let one = |(i, k): (usize, &Known)| specimen(i, k, self.law, &self.assumed, theta);
        self.specimens.iter().enumerate().map(one).sum()
    }

    /// ln of prior times likelihood, but for a constant; `None` outside the bounds.
    pub(crate) fn log_density(&self, at: &[f64]) -> Option<f64> {
        let prior = self.priors.iter().zip(at).map(|(p, x)| p.log_density(*x)).sum::<Option<f64>>()?;
        Some(prior + self.log_likelihood(&whole(self.priors, at)))
    }

    /// Draws from the posterior; `Ok(None)` when no likely place was found.
    ///
    /// # Errors
    /// [`Stopped`] by the watch.
    pub(crate) fn posterior(&self, how: &Walk, watch: &Watch<'_>) -> Result<Option<Posterior>, Stopped> {
        let bounds: Vec<[f64; 2]> = self.priors.iter().map(|p| p.bounds).collect();
        let Some(draws) = walk(&bounds, &|at| self.log_density(at), how, watch)? else { return Ok(None) };
        let all: Vec<&Vec<f64>> = draws.chains.iter().flatten().collect();
        let step = all.len().div_ceil(MOST).max(1);
        let thetas = all.iter().step_by(step).map(|x| whole(self.priors, x)).collect();
        let mixing = (0..self.priors.len()).map(|i| mixing(&draws, i)).collect();
        Ok(Some(Posterior { draws, thetas, mixing }))
    }
}

impl Posterior {
    /// Values of number sought `i`, in order of size.
    pub(crate) fn sorted(&self, i: usize) -> Vec<f64> {
        let mut values: Vec<f64> = self.draws.chains.iter().flatten().map(|x| x[i]).collect();
        values.sort_by(f64::total_cmp);
        values
    }

    /// Summary of number sought `i`.
    pub(crate) fn summary(&self, i: usize) -> Summary {
        let values = self.sorted(i);
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let sd = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt();
        Summary { mean, sd, quantiles: SHARES.map(|s| quantile(&values, s)) }
    }

    /// Correlation of numbers sought `i` and `j`.
    pub(crate) fn correlation(&self, i: usize, j: usize) -> f64 {
        let [a, b] = [self.summary(i), self.summary(j)];
        let all = self.draws.chains.iter().flatten();
        let n = all.clone().count() as f64;
        all.map(|x| (x[i] - a.mean) * (x[j] - b.mean)).sum::<f64>() / (n * a.sd * b.sd)
    }
}

/// Quantile of values in order, linear between them.
pub(crate) fn quantile(sorted: &[f64], share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    let at = share * last as f64;
    let i = (at as usize).min(last);
    let j = (i + 1).min(last);
    sorted[i] + (at - i as f64) * (sorted[j] - sorted[i])
}

//! Which specimen to make next: how much its trial would teach, on average, about the numbers sought.
//!
//! The trial of a candidate ends in one of several classes: it returns, it waits for a time in one of some ranges, it stays. What
//! it teaches is the mutual information of class and numbers, `I = H(E p) − E H(p)`, with p the chances of the classes for one
//! draw of the numbers and E the mean over the posterior (Lindley 1956, Annals of Mathematical Statistics 27, 986), in bits.

use super::belief::Theta;
use super::curve::Curve;
use super::likelihood::{Assumed, Known, between, margin, margins};

/// Classes of waits told apart.
pub(crate) const WAITS: usize = 6;
/// All classes: returns, waits from short to long, stays.
pub(crate) const CLASSES: usize = WAITS + 2;

/// Times between the classes, s: from the shortest wait that is noticed to the longest that is watched, by equal ratios.
pub(crate) fn class_ends(at_once: f64, watched: f64) -> [f64; CLASSES + 1] {
    let ratio = libm::log(watched / at_once);
    let mut ends = [0.0; CLASSES + 1];
    for (k, end) in ends[1..=WAITS + 1].iter_mut().enumerate() {
        *end = at_once * libm::exp(ratio * k as f64 / WAITS as f64);
    }
    ends[CLASSES] = f64::INFINITY;
    ends
}

/// Chances of the classes of one candidate for one draw of the numbers; its trials are not looked at.
pub(crate) fn chances(
    known: &Known,
    curve: &Curve,
    ends: &[f64; CLASSES + 1],
    assumed: &Assumed,
    theta: &Theta,
) -> [f64; CLASSES] {
    let [mean, sd] = margin(known, theta);
    let sd = libm::hypot(sd, assumed.trial_scatter);
    let mut out = [0.0; CLASSES];
    for (k, p) in out.iter_mut().enumerate() {
        let told = between(mean, sd, margins(curve, [ends[k], ends[k + 1]]));
        *p = (1.0 - assumed.lapse) * told.max(0.0) + assumed.lapse / CLASSES as f64;
    }
    out
}

/// What a candidate teaches.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Teaching {
    /// Mutual information, bits.
    pub bits: f64,
    /// Mean chances of the classes.
    pub chances: [f64; CLASSES],
}

/// −Σ p log₂ p.
fn entropy(p: &[f64]) -> f64 {
    -p.iter().filter(|p| **p > 0.0).map(|p| p * libm::log2(*p)).sum::<f64>()
}

/// Mutual information of class and numbers from the chances for each draw of the numbers, all draws alike likely.
pub(crate) fn teaching(by_draw: &[[f64; CLASSES]]) -> Teaching {
    let n = by_draw.len() as f64;
    let mut mean = [0.0; CLASSES];
    let mut within = 0.0;
    for p in by_draw {
        within += entropy(p) / n;
        mean.iter_mut().zip(p).for_each(|(m, p)| *m += p / n);
    }
    Teaching { bits: (entropy(&mean) - within).max(0.0), chances: mean }
}

/// Mean and standard deviation of a number after a class was seen: the draws weighted by the chance each gave to it.
pub(crate) fn after(by_draw: &[[f64; CLASSES]], classes: std::ops::Range<usize>, values: &[f64]) -> [f64; 2] {
    let weights: Vec<f64> = by_draw.iter().map(|p| p[classes.clone()].iter().sum()).collect();
    let sum: f64 = weights.iter().sum();
    let mean = weights.iter().zip(values).map(|(w, v)| w * v).sum::<f64>() / sum;
    let square = weights.iter().zip(values).map(|(w, v)| w * (v - mean).powi(2)).sum::<f64>() / sum;
    [mean, square.sqrt()]
}

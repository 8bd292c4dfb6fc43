//! Shares of trials: how well `hits` of `trials` tell a probability.

use crate::{beta, normal};

/// The exact interval of Clopper & Pearson 1934 at `level` (0.95 for 95 %): its ends are quantiles of beta distributions, and it
/// covers the truth at least that often. NaN when there are no trials or more hits than trials.
pub fn interval(hits: u64, trials: u64, level: f64) -> [f64; 2] {
    if trials == 0 || hits > trials || !(0.0..1.0).contains(&level) {
        return [f64::NAN; 2];
    }
    let tail = 0.5 * (1.0 - level);
    let (k, n) = (hits as f64, trials as f64);
    [
        if hits == 0 { 0.0 } else { beta::quantile(k, n - k + 1.0, tail) },
        if hits == trials { 1.0 } else { beta::quantile(k + 1.0, n - k, 1.0 - tail) },
    ]
}

/// The score interval of Wilson 1927 at `level`: covers the truth about that often on average, and is shorter.
pub fn wilson(hits: u64, trials: u64, level: f64) -> [f64; 2] {
    if trials == 0 || hits > trials || !(0.0..1.0).contains(&level) {
        return [f64::NAN; 2];
    }
    let z = normal::quantile(0.5 + 0.5 * level);
    let (k, n) = (hits as f64, trials as f64);
    let (p, q) = (k / n, z * z / n);
    let middle = (p + 0.5 * q) / (1.0 + q);
    let half = z / (1.0 + q) * (p * (1.0 - p) / n + 0.25 * q / n).sqrt();
    [
        if hits == 0 { 0.0 } else { (middle - half).max(0.0) },
        if hits == trials { 1.0 } else { (middle + half).min(1.0) },
    ]
}

/// Chance of exactly `hits` hits in `trials` trials of probability `p`.
pub fn chance(hits: u64, trials: u64, p: f64) -> f64 {
    if hits > trials {
        return 0.0;
    }
    let (k, n) = (hits as f64, trials as f64);
    let choose = libm::lgamma(n + 1.0) - libm::lgamma(k + 1.0) - libm::lgamma(n - k + 1.0);
    let power = |count: f64, log: f64| if count == 0.0 { 0.0 } else { count * log };
    libm::exp(choose + power(k, libm::log(p)) + power(n - k, libm::log1p(-p)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed forms: no hit in n trials ends at 1 − (tail)^(1/n); the ends of k of n are where the binomial tails reach 2.5 %.
    #[test]
    fn the_exact_interval_is_exact() {
        let [low, high] = interval(0, 10, 0.95);
        assert!(low == 0.0 && (high - (1.0 - libm::pow(0.025, 0.1))).abs() < 1e-14, "{high}");
        let [low, high] = interval(10, 10, 0.95);
        assert!(high == 1.0 && (low - libm::pow(0.025, 0.1)).abs() < 1e-14, "{low}");
        for (k, n) in [(1, 10), (7, 20), (60, 200), (199, 200)] {
            let [low, high] = interval(k, n, 0.95);
            let from: f64 = (k..=n).map(|i| chance(i, n, low)).sum();
            let to: f64 = (0..=k).map(|i| chance(i, n, high)).sum();
            assert!((from - 0.025).abs() < 1e-10 && (to - 0.025).abs() < 1e-10, "{k} {n}: {from} {to}");
        }
        assert!(interval(3, 2, 0.95)[0].is_nan() && interval(0, 0, 0.95)[1].is_nan());
    }

    /// Coverage summed exactly over all outcomes: Clopper and Pearson's never falls short, Wilson's is near on average.
    #[test]
    fn coverage() {
        let covers = |f: fn(u64, u64, f64) -> [f64; 2], n: u64, p: f64| -> f64 {
            (0..=n)
                .filter(|k| {
                    let [low, high] = f(*k, n, 0.95);
                    (low..=high).contains(&p)
                })
                .map(|k| chance(k, n, p))
                .sum()
        };
        let ps: Vec<f64> = (1..50).map(|i| f64::from(i) / 50.0 - 0.003).collect();
        for n in [5, 12, 40] {
            assert!(ps.iter().all(|p| covers(interval, n, *p) >= 0.95));
            let mean = ps.iter().map(|p| covers(wilson, n, *p)).sum::<f64>() / ps.len() as f64;
            assert!((mean - 0.95).abs() < 0.015, "{n}: {mean}");
        }
    }
}

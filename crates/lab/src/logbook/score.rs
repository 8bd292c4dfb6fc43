//! How well chances agree with what happened.

/// Scores of chances of classes against the class seen.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Scores {
    /// Mean of ln of the chance given to what was seen; 0 is perfect.
    pub log_score: f64,
    /// Mean of Σ (p − seen)² over the classes; 0 is perfect (Brier 1950, Monthly Weather Review 78, 1).
    pub brier: f64,
    /// The same two of a forecast that gives every trial the shares seen in all of them.
    pub base_rates: [f64; 2],
    /// Per class: seen, expected, two-sided chance of a count at least as far from what is expected.
    pub counts: Vec<Count>,
}

/// How often one class was seen and expected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Count {
    /// Seen.
    pub seen: usize,
    /// Expected: the sum of the chances.
    pub expected: f64,
    /// Chance, if the chances were right, of a count no more likely than the one seen (exact, trials independent).
    pub chance: f64,
}

/// Distribution of the number of successes of independent trials with chances `p`.
pub(crate) fn successes(p: &[f64]) -> Vec<f64> {
    let mut out = vec![1.0];
    for p in p {
        let mut next = vec![0.0; out.len() + 1];
        for (k, q) in out.iter().enumerate() {
            next[k] += q * (1.0 - p);
            next[k + 1] += q * p;
        }
        out = next;
    }
    out
}

/// Scores of the chances `forecast` of three classes against the classes `seen`; `None` without trials.
pub(crate) fn scores(forecast: &[[f64; 3]], seen: &[usize]) -> Option<Scores> {
    let n = seen.len();
    if n == 0 || forecast.len() != n {
        return None;
    }
    let count = |c: usize| seen.iter().filter(|s| **s == c).count();
    let rates = [0, 1, 2].map(|c| count(c) as f64 / n as f64);
    let of = |p: &dyn Fn(usize) -> [f64; 3]| {
        let mut both = [0.0; 2];
        for (i, s) in seen.iter().enumerate() {
            let p = p(i);
            both[0] += libm::log(p[*s].max(f64::MIN_POSITIVE)) / n as f64;
            both[1] += (0..3).map(|c| (p[c] - f64::from(u8::from(c == *s))).powi(2)).sum::<f64>() / n as f64;
        }
        both
    };
    let [log_score, brier] = of(&|i| forecast[i]);
    let counts = (0..3)
        .map(|c| {
            let p: Vec<f64> = forecast.iter().map(|f| f[c]).collect();
            let all = successes(&p);
            let here = all[count(c)];
            // Rounding must not tell equal chances apart.
            let sum: f64 = all.iter().filter(|q| **q <= here * (1.0 + 1e-9)).sum();
            let chance = if sum > 1.0 - 1e-9 { 1.0 } else { sum };
            Count { seen: count(c), expected: p.iter().sum(), chance }
        })
        .collect();
    Some(Scores { log_score, brier, base_rates: of(&|_| rates), counts })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: equal chances are binomial; two coins of chances 0.2 and 0.5.
    #[test]
    fn successes_of_known_coins() {
        let s = successes(&[0.5; 4]);
        assert_eq!(s, [1.0, 4.0, 6.0, 4.0, 1.0].map(|x| x / 16.0));
        let s = successes(&[0.2, 0.5]);
        assert!((s[0] - 0.4).abs() < 1e-15 && (s[1] - 0.5).abs() < 1e-15 && (s[2] - 0.1).abs() < 1e-15);
    }

    /// Closed form: a perfect forecast scores 0, a guess of thirds ln 1/3 and 2/3; ten stays expected, none seen.
    #[test]
    fn scores_of_known_forecasts() {
        let perfect = scores(&[[0.0, 0.0, 1.0], [1.0, 0.0, 0.0]], &[2, 0]).unwrap();
        assert_eq!([perfect.log_score, perfect.brier], [0.0, 0.0]);
        assert!(perfect.counts.iter().all(|c| c.chance == 1.0));
        let guess = scores(&[[1.0 / 3.0; 3]; 6], &[0, 1, 2, 0, 1, 2]).unwrap();
        assert!((guess.log_score + libm::log(3.0)).abs() < 1e-12 && (guess.brier - 2.0 / 3.0).abs() < 1e-12);
        assert!((guess.base_rates[0] - guess.log_score).abs() < 1e-12);
        let wrong = scores(&[[0.1, 0.0, 0.9]; 10], &[0; 10]).unwrap();
        assert!((wrong.counts[2].expected - 9.0).abs() < 1e-12 && wrong.counts[2].chance < 2e-10);
        assert!(scores(&[], &[]).is_none());
    }
}

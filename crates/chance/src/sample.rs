//! What a sample says: quantiles, spread, and intervals by drawing it again.

use crate::Stream;

/// The values in order, those that are no numbers left out.
pub fn sorted(values: &[f64]) -> Vec<f64> {
    let mut v: Vec<f64> = values.iter().copied().filter(|x| !x.is_nan()).collect();
    v.sort_by(f64::total_cmp);
    v
}

/// Quantile `p` of values in order, linear between them: place `(n − 1) p`, definition 7 of Hyndman & Fan 1996. NaN for none.
pub fn quantile(in_order: &[f64], p: f64) -> f64 {
    let Some(last) = in_order.len().checked_sub(1) else { return f64::NAN };
    let at = (p.clamp(0.0, 1.0) * last as f64).max(0.0);
    let i = (at as usize).min(last);
    let (low, high) = (in_order[i], in_order[(i + 1).min(last)]);
    // Equal neighbours first: infinities have no difference.
    if low == high { low } else { low + (at - i as f64) * (high - low) }
}

/// Mean; NaN for none.
pub fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Standard deviation with n − 1; `None` below two values.
pub fn deviation(values: &[f64]) -> Option<f64> {
    let m = mean(values);
    let squares: f64 = values.iter().map(|x| (x - m) * (x - m)).sum();
    (values.len() > 1).then(|| (squares / (values.len() - 1) as f64).sqrt())
}

/// Median of the absolute deviations from the median, times 1.4826: the standard deviation of normal values, whatever a few
/// outliers do (Hampel 1974). NaN for none.
pub fn robust_deviation(values: &[f64]) -> f64 {
    let middle = quantile(&sorted(values), 0.5);
    let off: Vec<f64> = values.iter().map(|x| (x - middle).abs()).collect();
    1.482_602_218_505_602 * quantile(&sorted(&off), 0.5)
}

/// A statistic of samples drawn again with replacement (Efron 1979): `draws` values in order. `statistic` sees indices into the
/// sample of `count` and says `None` where there is no value; such draws are left out, so compare lengths.
pub fn bootstrap(
    seed: u64,
    draws: usize,
    count: usize,
    statistic: &mut dyn FnMut(&[usize]) -> Option<f64>,
) -> Vec<f64> {
    let mut again = vec![0; count];
    let mut out = Vec::with_capacity(draws);
    for draw in 0..draws {
        let mut stream = Stream::of(seed, draw as u64);
        again.iter_mut().for_each(|i| *i = stream.below(count));
        out.extend(statistic(&again));
    }
    sorted(&out)
}

/// The middle `level` of values in order: a percentile interval.
pub fn middle(in_order: &[f64], level: f64) -> [f64; 2] {
    let tail = 0.5 * (1.0 - level);
    [quantile(in_order, tail), quantile(in_order, 1.0 - tail)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_and_spread() {
        let v = sorted(&[4.0, f64::NAN, 1.0, 3.0, 2.0]);
        assert_eq!([0.0, 0.5, 0.25, 1.0, 2.0].map(|p| quantile(&v, p)), [1.0, 2.5, 1.75, 4.0, 4.0]);
        assert!(quantile(&[], 0.5).is_nan() && mean(&[]).is_nan() && robust_deviation(&[]).is_nan());
        assert_eq!(quantile(&[1.0, f64::INFINITY, f64::INFINITY], 0.9), f64::INFINITY);
        assert_eq!(deviation(&[1.0]), None);
        assert!((deviation(&v).unwrap() - (5.0_f64 / 3.0).sqrt()).abs() < 1e-15);
        // A wild value moves the robust deviation little.
        let mut s = Stream::new(4);
        let mut many: Vec<f64> = (0..999).map(|_| s.normal()).collect();
        many.push(1e9);
        assert!((robust_deviation(&many) - 1.0).abs() < 0.1, "{}", robust_deviation(&many));
    }

    /// The interval of a mean covers about as often as it says; the same seed gives the same bits.
    #[test]
    fn drawn_again() {
        let mut hits = 0;
        for seed in 0..300 {
            let mut s = Stream::of(11, seed);
            let sample: Vec<f64> = (0..40).map(|_| s.normal()).collect();
            let mut of = |at: &[usize]| Some(at.iter().map(|i| sample[*i]).sum::<f64>() / 40.0);
            let means = bootstrap(seed, 200, 40, &mut of);
            assert_eq!(means, bootstrap(seed, 200, 40, &mut of));
            let [low, high] = middle(&means, 0.95);
            hits += u64::from((low..=high).contains(&0.0));
        }
        let [low, high] = crate::binomial::interval(hits, 300, 0.999);
        assert!(low < 0.95 && high > 0.92, "{hits} of 300");
    }
}

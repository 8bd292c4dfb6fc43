//! The chi-squared distribution: sums of squares of `freedom` standard normal numbers.

use crate::{gamma, invert};

/// Share below `x` for `freedom` > 0.
pub fn below(x: f64, freedom: f64) -> f64 {
    gamma::below(0.5 * freedom, 0.5 * x)
}

/// Share above `x`: the chance of a sum at least as large.
pub fn above(x: f64, freedom: f64) -> f64 {
    gamma::above(0.5 * freedom, 0.5 * x)
}

/// The `x` with a share `p` of [0, 1] below it; NaN beyond.
pub fn quantile(p: f64, freedom: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) || freedom.is_nan() || freedom <= 0.0 {
        return f64::NAN;
    }
    invert::positive(p, f64::INFINITY, |x| [below(x, freedom), above(x, freedom)])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz & Stegun 1964, table 26.8 (percentage points): printed to five or six digits.
    #[test]
    fn percentage_points() {
        for (above, freedom, x) in [
            (0.05, 1.0, 3.84146),
            (0.05, 2.0, 5.99147),
            (0.01, 5.0, 15.0863),
            (0.95, 10.0, 3.94030),
            (0.995, 10.0, 2.15585),
            (0.05, 30.0, 43.7729),
            (0.01, 100.0, 135.807),
        ] {
            let found = quantile(1.0 - above, freedom);
            assert!((found / x - 1.0).abs() < 5e-6, "{found} {x}");
            assert!((super::above(found, freedom) / above - 1.0).abs() < 1e-12);
        }
        // Closed form for two: −2 ln of the share above.
        assert!((quantile(0.3, 2.0) + 2.0 * libm::log(0.7)).abs() < 1e-14);
        assert!(quantile(1.2, 2.0).is_nan() && quantile(0.5, 0.0).is_nan());
        assert_eq!([quantile(0.0, 3.0), quantile(1.0, 3.0)], [0.0, f64::INFINITY]);
    }
}

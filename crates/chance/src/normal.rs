//! The standard normal distribution.

use std::f64::consts::{PI, SQRT_2};

/// Density at `x`.
pub fn density(x: f64) -> f64 {
    libm::exp(-0.5 * x * x) / (2.0 * PI).sqrt()
}

/// Share below `x`; exact to rounding in both tails' own scale on the lower side.
pub fn below(x: f64) -> f64 {
    0.5 * libm::erfc(-x / SQRT_2)
}

/// The `x` with a share `p` of (0, 1) below it; infinite at 0 and 1, NaN beyond.
///
/// Start: the rational approximation of Abramowitz & Stegun 1964, 26.2.23 (absolute error 4.5e-4); then Newton's method on the
/// logarithm of [`below`], to rounding.
pub fn quantile(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p == 0.0 || p == 1.0 {
        return if p == 0.0 { f64::NEG_INFINITY } else { f64::INFINITY };
    }
    // The lower tail, where `below` keeps its relative accuracy.
    if p > 0.5 {
        return -quantile(1.0 - p);
    }
    let t = (-2.0 * libm::log(p)).sqrt();
    let mut x = -(t
        - (2.515_517 + t * (0.802_853 + t * 0.010_328))
            / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308))));
    for _ in 0..6 {
        // In the logarithm, so that far tails converge too.
        let share = below(x);
        let step = libm::log(share / p) * share / density(x);
        if !step.is_finite() {
            break;
        }
        x -= step;
        if step.abs() < 1e-15 * x.abs() {
            break;
        }
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz & Stegun 1964, table 26.1, and the same to more digits from memory; the inverse in far tails.
    #[test]
    fn shares_and_quantiles() {
        assert!((quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-14);
        assert!((quantile(0.5)).abs() < 1e-15);
        assert!((below(1.0) - 0.841_344_746_068_543).abs() < 1e-14);
        for x in [-37.0, -20.0, -5.0, -1.0, -0.1, -1e-8] {
            assert!(
                (quantile(below(x)) / x - 1.0).abs() < 1e-13 || (quantile(below(x)) - x).abs() < 1e-15,
                "{x}"
            );
        }
        assert!(quantile(-0.1).is_nan() && quantile(1.0) == f64::INFINITY);
    }
}

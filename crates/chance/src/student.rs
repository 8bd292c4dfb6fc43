//! Student's distribution: a normal number over a deviation known from `freedom` readings.

use crate::{beta, normal};

/// Shares below −x and above −x, for x ≥ 0.
fn tails(x: f64, freedom: f64) -> [f64; 2] {
    // t² over (freedom + t²) and the rest of it, each without cancellation.
    let square = x * x;
    let [_, far] = if square.is_infinite() {
        [1.0, 0.0]
    } else {
        beta::shares(0.5, 0.5 * freedom, square / (freedom + square), freedom / (freedom + square))
    };
    [0.5 * far, 1.0 - 0.5 * far]
}

/// Fewest degrees of freedom taken: with fewer the usual shares lie beyond the greatest floating number.
const FEWEST: f64 = 0.01;

/// Share below `x` for `freedom` ≥ 0.01 (NaN below that); the normal share when it is infinite.
pub fn below(x: f64, freedom: f64) -> f64 {
    if freedom.is_nan() || freedom < FEWEST {
        return f64::NAN;
    }
    if freedom == f64::INFINITY {
        return normal::below(x);
    }
    let [lower, upper] = tails(x.abs(), freedom);
    if x < 0.0 { lower } else { upper }
}

/// The `x` with a share `p` of (0, 1) below it; infinite at 0 and 1, NaN beyond and below 0.01 degrees of freedom.
pub fn quantile(p: f64, freedom: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) || freedom.is_nan() || freedom < FEWEST {
        return f64::NAN;
    }
    if freedom == f64::INFINITY {
        return normal::quantile(p);
    }
    if p > 0.5 {
        return -quantile(1.0 - p, freedom);
    }
    if p == 0.5 {
        return 0.0;
    }
    // |x| has the share 1 − 2p below it; the tail, 2p, is the smaller and keeps its digits.
    let mut low = 0_u64;
    let mut high = f64::INFINITY.to_bits();
    if p == 0.0 {
        return f64::NEG_INFINITY;
    }
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if tails(f64::from_bits(middle), freedom)[0] > p { low = middle } else { high = middle }
    }
    -f64::from_bits(high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz & Stegun 1964, table 26.10 (two-sided points 0.95 and 0.99), printed to three decimals; closed forms for one
    /// and two degrees of freedom.
    #[test]
    fn percentage_points() {
        for (two_sided, freedom, x) in [
            (0.95, 1.0, 12.706),
            (0.95, 2.0, 4.303),
            (0.95, 5.0, 2.571),
            (0.95, 10.0, 2.228),
            (0.95, 30.0, 2.042),
            (0.99, 4.0, 4.604),
            (0.99, 120.0, 2.617),
        ] {
            let found = quantile(0.5 + 0.5 * two_sided, freedom);
            assert!((found - x).abs() < 6e-4, "{found} {x}");
        }
        for x in [-1e8, -30.0, -1.0, -1e-9, 0.0, 0.4, 7.0] {
            let cauchy = if x < 0.0 {
                libm::atan(-1.0 / x) / std::f64::consts::PI
            } else {
                0.5 + libm::atan(x) / std::f64::consts::PI
            };
            assert!((below(x, 1.0) / cauchy - 1.0).abs() < 1e-13, "{x}");
        }
        let two = |x: f64| 0.5 + x / (2.0 * (2.0 + x * x).sqrt());
        assert!((below(1.3, 2.0) - two(1.3)).abs() < 1e-15);
    }

    #[test]
    fn quantiles_invert() {
        for freedom in [0.7, 3.0, 25.0, 1e6, f64::INFINITY] {
            for p in [1e-12, 0.025, 0.3, 0.499_999, 0.8] {
                let x = quantile(p, freedom);
                assert!((below(x, freedom) / p - 1.0).abs() < 1e-12, "{p} {freedom}");
            }
            assert!(quantile(0.5, freedom).abs() < 1e-15);
            assert_eq!(quantile(0.0, freedom), f64::NEG_INFINITY);
        }
        assert!(quantile(0.5, -1.0).is_nan());
    }
}

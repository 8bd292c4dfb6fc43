//! Fisher's distribution: the ratio of two mean squares.

use crate::{beta, invert};

fn shares(x: f64, over: f64, under: f64) -> [f64; 2] {
    let d = over * x;
    if d == f64::INFINITY {
        return [1.0, 0.0];
    }
    beta::shares(0.5 * over, 0.5 * under, d / (d + under), under / (d + under))
}

/// Share below `x`, with `over` and `under` degrees of freedom of numerator and denominator.
pub fn below(x: f64, over: f64, under: f64) -> f64 {
    shares(x, over, under)[0]
}

/// Share above `x`: the chance of a ratio at least as large.
pub fn above(x: f64, over: f64, under: f64) -> f64 {
    shares(x, over, under)[1]
}

/// The `x` with a share `p` of [0, 1] below it; NaN beyond.
pub fn quantile(p: f64, over: f64, under: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) || over.is_nan() || over <= 0.0 || under.is_nan() || under <= 0.0 {
        return f64::NAN;
    }
    invert::positive(p, f64::INFINITY, |x| shares(x, over, under))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz & Stegun 1964, table 26.9 (5 % and 1 % points), printed to three or four digits.
    #[test]
    fn percentage_points() {
        for (above, over, under, x) in [
            (0.05, 1.0, 10.0, 4.96),
            (0.05, 4.0, 20.0, 2.87),
            (0.05, 10.0, 10.0, 2.98),
            (0.01, 2.0, 5.0, 13.27),
            (0.01, 8.0, 30.0, 3.17),
        ] {
            let found = quantile(1.0 - above, over, under);
            assert!((found - x).abs() < 6e-3, "{found} {x}");
            assert!((super::above(found, over, under) / above - 1.0).abs() < 1e-11);
        }
        // Closed form: the square of Student's number.
        let t = crate::student::quantile(0.975, 7.0);
        assert!((quantile(0.95, 1.0, 7.0) / (t * t) - 1.0).abs() < 1e-12);
    }
}

//! The incomplete beta function.

use std::f64::consts::PI;

use crate::gamma::{deviance, remainder};

/// Share of the beta distribution of shapes `a`, `b` > 0 below `x`: I_x(a, b).
pub fn below(a: f64, b: f64, x: f64) -> f64 {
    shares(a, b, x, 1.0 - x)[0]
}

/// Share above `x`: 1 − I_x(a, b), to its own relative accuracy where it is the smaller one.
pub fn above(a: f64, b: f64, x: f64) -> f64 {
    shares(a, b, x, 1.0 - x)[1]
}

/// The `x` with a share `p` of [0, 1] below it; NaN beyond.
pub fn quantile(a: f64, b: f64, p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) || a.is_nan() || a <= 0.0 || b.is_nan() || b <= 0.0 {
        return f64::NAN;
    }
    crate::invert::positive(p, 1.0, |x| shares(a, b, x, 1.0 - x))
}

/// Shares below and above with `y = 1 − x` given apart, so that an `x` near 1 loses nothing.
///
/// The continued fraction of DiDonato & Morris 1992 ("Algorithm 708", ACM Trans. Math. Softw. 18, 360, equation 9) by Lentz's
/// method, on the side of the mean where it converges fast; the power in front of it as in Loader 2000.
pub(crate) fn shares(a: f64, b: f64, x: f64, y: f64) -> [f64; 2] {
    if a.is_nan() || a <= 0.0 || b.is_nan() || b <= 0.0 || x.is_nan() {
        return [f64::NAN; 2];
    }
    if x <= 0.0 {
        return [0.0, 1.0];
    }
    if y <= 0.0 {
        return [1.0, 0.0];
    }
    if a * y < b * x {
        let [above, below] = low_side(b, a, y, x);
        return [below, above];
    }
    low_side(a, b, x, y)
}

fn low_side(a: f64, b: f64, x: f64, y: f64) -> [f64; 2] {
    let n = a + b;
    // xᵃ yᵇ/B(a, b) = ab/n × the binomial probability of a in n.
    let exponent = remainder(n) - remainder(a) - remainder(b) - deviance(a, n * x) - deviance(b, n * y);
    let front = libm::exp(exponent) * (a * b / (2.0 * PI * n)).sqrt();
    let tiny = 1e-300;
    let held = |v: f64| if v.abs() < tiny { tiny } else { v };
    let rest = a * y - b * x + 1.0;
    let bottom = |k: f64| {
        k + k * (b - k) * x / (a + 2.0 * k - 1.0) + (a + k) * (rest + k * (2.0 - x)) / (a + 2.0 * k + 1.0)
    };
    let mut h = held(a * rest / (a + 1.0));
    let (mut c, mut d) = (h, 0.0);
    let most = 1000 + (20.0 * a.max(b).sqrt()) as u64;
    for k in 1..most {
        let k = k as f64;
        let odd = x / (a + 2.0 * k - 1.0);
        let top = (a + k - 1.0) * (n + k - 1.0) * k * (b - k) * odd * odd;
        let bottom = bottom(k);
        d = 1.0 / held(bottom + top * d);
        c = held(bottom + top / c);
        let step = c * d;
        h *= step;
        if (step - 1.0).abs() < 1e-16 {
            break;
        }
    }
    let share = (front / h).min(1.0);
    [share, 1.0 - share]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn alike(a: f64, b: f64, within: f64) {
        assert!(a == b || (a / b - 1.0).abs() <= within, "{a:e} is not {b:e}");
    }

    /// Closed forms: I_x(a, 1) = xᵃ, I_x(1, b) = 1 − (1 − x)ᵇ, I_x(½, ½) = (2/π) asin √x, I_½(a, a) = ½; whole shapes as sums
    /// of binomial probabilities (Abramowitz & Stegun 1964, 26.5.24).
    #[test]
    fn closed_forms() {
        for x in [1e-10, 0.003, 0.2, 0.5, 0.77, 0.999] {
            for s in [0.3, 1.0, 4.5, 60.0] {
                alike(below(s, 1.0, x), libm::pow(x, s), 3e-13);
                alike(below(1.0, s, x), -libm::expm1(s * libm::log1p(-x)), 2e-14);
                alike(above(1.0, s, x), libm::pow(1.0 - x, s), 3e-13);
                alike(below(s, s, 0.5), 0.5, 1e-14);
            }
            alike(below(0.5, 0.5, x), 2.0 / PI * libm::asin(x.sqrt()), 1e-14);
            // I_x(3, 5): three or more of seven.
            let y = 1.0 - x;
            let choose = [1.0, 7.0, 21.0, 35.0, 35.0, 21.0, 7.0, 1.0];
            let sum: f64 =
                (3..=7).map(|k| choose[k] * libm::pow(x, k as f64) * libm::pow(y, 7.0 - k as f64)).sum();
            alike(below(3.0, 5.0, x), sum, 2e-14);
        }
        assert!(below(0.0, 1.0, 0.5).is_nan() && below(2.0, 3.0, 1.5) == 1.0 && below(2.0, 3.0, -1.0) == 0.0);
    }

    #[test]
    fn quantiles_invert() {
        for (a, b) in [(0.5, 0.5), (2.0, 9.0), (300.0, 2.5), (1.0, 1e4)] {
            for p in [1e-9, 0.025, 0.5, 0.975, 0.999_999] {
                // Where x itself is sharp enough.
                let x = quantile(a, b, p);
                if x < 0.999 {
                    alike(below(a, b, x), p, 1e-12);
                }
                assert!(
                    below(a, b, x * (1.0 - 1e-15)) <= p * (1.0 + 1e-13)
                        && below(a, b, x) >= p * (1.0 - 1e-13)
                );
            }
            assert_eq!([quantile(a, b, 0.0), quantile(a, b, 1.0)], [0.0, 1.0]);
        }
    }
}

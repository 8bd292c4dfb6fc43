//! The incomplete gamma function.

use std::f64::consts::PI;

/// Γ's remainder in Stirling's formula: `ln Γ(n + 1) − (n + ½) ln n + n − ½ ln 2π`, n > 0.
///
/// From 15 on its asymptotic series (Abramowitz & Stegun 1964, 6.1.41), below from the logarithm of Γ itself. This split and
/// [`deviance`] keep powers over Γ exact to rounding where the logarithms alone would cancel: Loader 2000, "Fast and accurate
/// computation of binomial probabilities".
pub(crate) fn remainder(n: f64) -> f64 {
    if n < 15.0 {
        return libm::lgamma(n + 1.0) - (n + 0.5) * libm::log(n) + n - 0.5 * libm::log(2.0 * PI);
    }
    let q = 1.0 / (n * n);
    (1.0 / 12.0 - q * (1.0 / 360.0 - q * (1.0 / 1260.0 - q * (1.0 / 1680.0 - q / 1188.0)))) / n
}

/// `x ln(x/m) + m − x` for x, m > 0, without cancellation where they are alike.
pub(crate) fn deviance(x: f64, m: f64) -> f64 {
    if (x - m).abs() > 0.1 * (x + m) {
        return x * libm::log(x / m) + m - x;
    }
    // ln(x/m) = 2 artanh v with v = (x − m)/(x + m).
    let v = (x - m) / (x + m);
    let mut sum = (x - m) * v;
    let mut power = 2.0 * x * v;
    for j in 1..100 {
        power *= v * v;
        let next = sum + power / f64::from(2 * j + 1);
        if next == sum {
            break;
        }
        sum = next;
    }
    sum
}

/// `xᵃ e⁻ˣ / Γ(a + 1)`, a, x > 0.
fn front(a: f64, x: f64) -> f64 {
    libm::exp(-remainder(a) - deviance(a, x)) / (2.0 * PI * a).sqrt()
}

/// Share below and share above of the gamma distribution of shape `a` and scale 1 at `x`: P(a, x) and Q(a, x), each to its own
/// relative accuracy.
///
/// Series below a + 1, continued fraction above (Abramowitz & Stegun 1964, 6.5.29 and 6.5.31; the fraction by Lentz's method).
fn shares(a: f64, x: f64) -> [f64; 2] {
    if a.is_nan() || a <= 0.0 || x.is_nan() {
        return [f64::NAN; 2];
    }
    if x <= 0.0 {
        return [0.0, 1.0];
    }
    if x == f64::INFINITY {
        return [1.0, 0.0];
    }
    // About 10 √a terms matter near x = a.
    let most = 1000 + (20.0 * a.sqrt()) as u64;
    if x < a + 1.0 {
        let (mut term, mut sum) = (1.0, 1.0);
        for k in 1..most {
            term *= x / (a + k as f64);
            sum += term;
            if term < 1e-17 * sum {
                break;
            }
        }
        let p = (front(a, x) * sum).min(1.0);
        return [p, 1.0 - p];
    }
    let tiny = 1e-300;
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / tiny;
    let mut d = 1.0 / b;
    let mut h = d;
    for k in 1..most {
        let k = k as f64;
        let n = -k * (k - a);
        b += 2.0;
        let held = |v: f64| if v.abs() < tiny { tiny } else { v };
        d = 1.0 / held(n * d + b);
        c = held(b + n / c);
        let step = d * c;
        h *= step;
        if (step - 1.0).abs() < 1e-16 {
            break;
        }
    }
    // Γ(a, x) = xᵃ e⁻ˣ h, and Γ(a + 1) = a Γ(a).
    let q = (front(a, x) * a * h).min(1.0);
    [1.0 - q, q]
}

/// Share of the gamma distribution of shape `a` > 0 and scale 1 below `x`: `P(a, x) = γ(a, x)/Γ(a)`.
pub fn below(a: f64, x: f64) -> f64 {
    shares(a, x)[0]
}

/// Share above `x`: `Q(a, x) = 1 − P(a, x)`, to its own relative accuracy where it is the smaller one.
pub fn above(a: f64, x: f64) -> f64 {
    shares(a, x)[1]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn alike(a: f64, b: f64, within: f64) {
        assert!((a / b - 1.0).abs() <= within, "{a:e} is not {b:e}");
    }

    /// Closed forms: P(1, x) = 1 − e⁻ˣ; P(½, x²) = erf x; Q(n + 1, x) = e⁻ˣ Σ xᵏ/k!; the recurrence
    /// P(a + 1, x) = P(a, x) − xᵃ e⁻ˣ/Γ(a + 1) (Abramowitz & Stegun 1964, 6.5.21).
    #[test]
    fn closed_forms() {
        for x in [1e-12, 0.01, 0.3, 0.99, 1.7, 3.0, 20.0] {
            alike(below(1.0, x), -libm::expm1(-x), 1e-14);
            alike(above(1.0, x), libm::exp(-x), 1e-14);
            alike(below(0.5, x * x), libm::erf(x), 1e-14);
            let poisson: f64 = (0..=6).fold((0.0, 1.0), |(s, t), k| (s + t, t * x / f64::from(k + 1))).0;
            alike(above(7.0, x), libm::exp(-x) * poisson, 1e-14);
            for a in [0.2, 3.3, 40.0, 1000.0] {
                let front = front(a, x);
                assert!((below(a + 1.0, x) - below(a, x) + front).abs() < 1e-14, "{a} {x}");
            }
        }
        // Far tail, closed form for shape 1, and large shapes: the median of shape a is a − 1/3 + 8/(405 a) + 184/(25515 a²) + … (Choi 1994).
        alike(above(1.0, 700.0), libm::exp(-700.0), 1e-13);
        for a in [100.0_f64, 1e4, 1e6] {
            let median = a - 1.0 / 3.0 + 8.0 / (405.0 * a) + 184.0 / (25_515.0 * a * a);
            assert!((below(a, median) - 0.5).abs() < 1e-10, "{a}");
        }
        assert!(below(-1.0, 1.0).is_nan() && below(2.0, f64::INFINITY) == 1.0 && above(2.0, -3.0) == 1.0);
    }

    #[test]
    fn the_deviance_does_not_cancel() {
        // x ln(x/m) + m − x = m ((1+e) ln(1+e) − e) = m (e²/2 − e³/6 + …), closed form.
        for e in [1e-9, 1e-5, 1e-3] {
            let m = 1e6;
            let x: f64 = m * (1.0 + e);
            let e = (x - m) / m;
            alike(deviance(x, m), m * e * e * (0.5 - e / 6.0 + e * e / 12.0 - e * e * e / 20.0), 1e-12);
        }
        // The series and the logarithm of Γ meet.
        alike(remainder(15.0), remainder(15.0 - 1e-12), 1e-11);
    }
}

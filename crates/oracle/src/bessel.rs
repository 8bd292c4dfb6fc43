//! Bessel functions of integer order, regular at the origin, and their derivatives.

/// J_n(x).
pub fn j(n: u32, x: f64) -> f64 {
    libm::jn(n as i32, x)
}

/// J_n′(x) = (J_{n−1} − J_{n+1})/2.
pub fn dj(n: u32, x: f64) -> f64 {
    if n == 0 { -j(1, x) } else { 0.5 * (j(n - 1, x) - j(n + 1, x)) }
}

/// e^{−x} I_n(x) for 0 ≤ x ≤ 700, from the power series, all terms of which are positive.
pub fn scaled_i(n: u32, x: f64) -> f64 {
    let quarter = 0.25 * x * x;
    // The first term is (x/2)^n/n! e^{−x}, by logarithms so that nothing overflows.
    let log_first = f64::from(n) * libm::log(0.5 * x) - libm::lgamma(f64::from(n) + 1.0) - x;
    let mut term = if x == 0.0 { if n == 0 { 1.0 } else { 0.0 } } else { libm::exp(log_first) };
    let mut sum = term;
    for k in 1..4000_u32 {
        term *= quarter / (f64::from(k) * f64::from(k + n));
        sum += term;
        if term < 1e-18 * sum {
            break;
        }
    }
    sum
}

/// e^{−x} I_n′(x), from I_n′ = (I_{n−1} + I_{n+1})/2.
pub fn scaled_di(n: u32, x: f64) -> f64 {
    if n == 0 { scaled_i(1, x) } else { 0.5 * (scaled_i(n - 1, x) + scaled_i(n + 1, x)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz & Stegun 1964, "Handbook of Mathematical Functions", tables 9.1, 9.2, 9.8, 9.9
    /// (quoted from memory): J0(2), J1(2), J2(5), e^{−2} I0(2), e^{−2} I1(2).
    #[test]
    fn printed_values() {
        let rows = [
            (j(0, 2.0), 0.2238907791, 1e-10),
            (j(1, 2.0), 0.5767248078, 1e-10),
            (j(2, 5.0), 0.0465651163, 1e-10),
            (scaled_i(0, 2.0), 0.3085083225, 1e-10),
            (scaled_i(1, 2.0), 0.2152692892, 1e-10),
        ];
        for (computed, printed, within) in rows {
            assert!((computed - printed).abs() < within, "{computed} {printed}");
        }
    }

    /// Closed form: J_n satisfies x²y″ + xy′ + (x² − n²)y = 0 and I_n the same with −x²; the second
    /// derivatives come from the recurrence.
    #[test]
    fn differential_equations() {
        for n in 0..9_u32 {
            for x in [0.7, 3.0, 11.0, 30.0] {
                let order = f64::from(n);
                let second =
                    |low: f64, here: f64, high: f64, sign: f64| 0.25 * (low + sign * 2.0 * here + high);
                // indices below 0: J_{−n} = (−1)^n J_n, I_{−n} = I_n
                let j_at = |k: i64| {
                    if k < 0 && k % 2 != 0 {
                        -j(k.unsigned_abs() as u32, x)
                    } else {
                        j(k.unsigned_abs() as u32, x)
                    }
                };
                let i_at = |k: i64| scaled_i(k.unsigned_abs() as u32, x);
                let k = i64::from(n);
                let jj = second(j_at(k - 2), j_at(k), j_at(k + 2), -1.0);
                let ii = second(i_at(k - 2), i_at(k), i_at(k + 2), 1.0);
                let for_j = x * x * jj + x * dj(n, x) + (x * x - order * order) * j(n, x);
                let for_i = x * x * ii + x * scaled_di(n, x) - (x * x + order * order) * scaled_i(n, x);
                assert!(for_j.abs() < 1e-12 * (x * x + order * order), "J{n}({x}): {for_j}");
                assert!(for_i.abs() < 1e-13 * (x * x + order * order), "I{n}({x}): {for_i}");
            }
        }
    }
}

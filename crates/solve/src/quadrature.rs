//! Gauss–Legendre quadrature.

/// Nodes and weights of the `count`-point Gauss–Legendre rule on (0, 1), nodes increasing.
///
/// Newton iteration on the Legendre polynomial from the usual cosine guess; closed form of the weights
/// `2/((1−x²) P′(x)²)`. Exact for polynomials of degree `2·count − 1`.
pub fn gauss_legendre(count: usize) -> Vec<(f64, f64)> {
    let n = count as f64;
    (0..count)
        .map(|i| {
            // Counting down makes the nodes increase.
            let mut x = libm::cos(std::f64::consts::PI * ((count - i) as f64 - 0.25) / (n + 0.5));
            let mut slope = 1.0;
            for _ in 0..8 {
                let (mut p0, mut p1) = (1.0, x);
                for k in 2..=count {
                    let k = k as f64;
                    (p0, p1) = (p1, ((2.0 * k - 1.0) * x * p1 - (k - 1.0) * p0) / k);
                }
                if count == 1 {
                    (p0, p1) = (1.0, x);
                }
                slope = n * (x * p1 - p0) / (x * x - 1.0);
                x -= p1 / slope;
            }
            (0.5 * (1.0 + x), 1.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::gauss_legendre;

    /// Closed form: ∫₀¹ x^k = 1/(k+1), exact up to degree 2m−1 and wrong at 2m.
    #[test]
    fn integrates_monomials_up_to_its_degree() {
        for m in 1..=8_usize {
            let rule = gauss_legendre(m);
            let sum = |k: usize| rule.iter().map(|(x, w)| w * x.powi(k as i32)).sum::<f64>();
            for k in 0..2 * m {
                assert!((sum(k) - 1.0 / (k as f64 + 1.0)).abs() < 1e-15 * 4.0, "m={m} k={k}");
            }
            assert!((sum(2 * m) - 1.0 / (2.0 * m as f64 + 1.0)).abs() > 1e-12, "m={m}");
        }
    }
}

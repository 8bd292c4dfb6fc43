//! Quintic Hermite shape functions on the unit interval: values, slopes and second derivatives at both
//! ends are matched, so a chain of elements is twice continuously differentiable.

/// Shape functions at `x ∈ [0, 1]` and their first and second derivatives in x, in the order
/// `f(0), f′(0), f″(0), f(1), f′(1), f″(1)`.
pub(crate) fn quintic(x: f64) -> [[f64; 6]; 3] {
    let (x2, x3) = (x * x, x * x * x);
    let (x4, x5) = (x2 * x2, x2 * x3);
    [
        [
            1.0 - 10.0 * x3 + 15.0 * x4 - 6.0 * x5,
            x - 6.0 * x3 + 8.0 * x4 - 3.0 * x5,
            0.5 * (x2 - 3.0 * x3 + 3.0 * x4 - x5),
            10.0 * x3 - 15.0 * x4 + 6.0 * x5,
            -4.0 * x3 + 7.0 * x4 - 3.0 * x5,
            0.5 * (x3 - 2.0 * x4 + x5),
        ],
        [
            -30.0 * x2 + 60.0 * x3 - 30.0 * x4,
            1.0 - 18.0 * x2 + 32.0 * x3 - 15.0 * x4,
            0.5 * (2.0 * x - 9.0 * x2 + 12.0 * x3 - 5.0 * x4),
            30.0 * x2 - 60.0 * x3 + 30.0 * x4,
            -12.0 * x2 + 28.0 * x3 - 15.0 * x4,
            0.5 * (3.0 * x2 - 8.0 * x3 + 5.0 * x4),
        ],
        [
            -60.0 * x + 180.0 * x2 - 120.0 * x3,
            -36.0 * x + 96.0 * x2 - 60.0 * x3,
            0.5 * (2.0 - 18.0 * x + 36.0 * x2 - 20.0 * x3),
            60.0 * x - 180.0 * x2 + 120.0 * x3,
            -24.0 * x + 84.0 * x2 - 60.0 * x3,
            0.5 * (6.0 * x - 24.0 * x2 + 20.0 * x3),
        ],
    ]
}

/// The same on an element of length `length`, with nodal unknowns `f, ℓᵢ f′, ℓᵢ² f″` scaled by the
/// nodes' own lengths `scale`; derivatives are in arclength.
pub(crate) fn scaled(x: f64, length: f64, scale: [f64; 2]) -> [[f64; 6]; 3] {
    let mut n = quintic(x);
    for (d, row) in n.iter_mut().enumerate() {
        let back = 1.0 / length.powi(d as i32);
        for (end, ell) in scale.iter().enumerate() {
            let q = length / ell;
            row[3 * end] *= back;
            row[3 * end + 1] *= back * q;
            row[3 * end + 2] *= back * q * q;
        }
    }
    n
}

#[cfg(test)]
mod tests {
    use super::scaled;

    /// Closed form: a quintic is reproduced with its derivatives.
    #[test]
    fn reproduces_quintics() {
        let (a, len, ell) = (0.3, 0.7, [0.5, 1.1]);
        let f = |s: f64| [1.0 - s + s.powi(5), -1.0 + 5.0 * s.powi(4), 20.0 * s.powi(3)];
        let q: Vec<f64> = [a, a + len]
            .iter()
            .zip(ell)
            .flat_map(|(&s, l)| [f(s)[0], l * f(s)[1], l * l * f(s)[2]])
            .collect();
        for x in [0.0, 0.21, 0.5, 0.83, 1.0] {
            let n = scaled(x, len, ell);
            for d in 0..3 {
                let got: f64 = n[d].iter().zip(&q).map(|(a, b)| a * b).sum();
                assert!((got - f(a + x * len)[d]).abs() < 1e-13, "x={x} d={d}");
            }
        }
    }
}

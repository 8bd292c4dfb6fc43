//! Rounding for pictures.

/// `x` to six significant digits, the float nearest to that decimal number.
pub(crate) fn six(x: f64) -> f64 {
    if x == 0.0 || !x.is_finite() {
        return if x == 0.0 { 0.0 } else { x };
    }
    let places = 5 - libm::floor(libm::log10(x.abs())) as i32;
    // Whole numbers below 2⁵³ times or over exact powers of ten round once.
    match places {
        0..=22 => {
            let power = 10.0_f64.powi(places);
            libm::round(x * power) / power
        }
        -22..0 => {
            let power = 10.0_f64.powi(-places);
            libm::round(x / power) * power
        }
        _ => format!("{x:.5e}").parse().unwrap_or(x),
    }
}

#[cfg(test)]
mod tests {
    use super::six;

    /// The same as printing to six digits and reading back, but where rounding decides between neighbours.
    #[test]
    fn as_printed() {
        for x in [1.0, -0.0123456789, 123_456.789, 9.999_999_9, 1e-17, 3.3e-40, 6.02214076e23, 0.1, -7.7e8] {
            let printed: f64 = format!("{x:.5e}").parse().unwrap();
            assert_eq!(six(x), printed, "{x}");
        }
        assert!(six(-0.0).is_sign_positive() && six(f64::NAN).is_nan());
    }
}

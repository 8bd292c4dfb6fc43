//! Round levels for curves.

/// Fewest levels, where the range has room for them at all.
const FEWEST: usize = 5;

/// Round values of `v − zero`, given back as `v`, strictly between the smallest and the largest value: multiples of 1, 2, 2.5 or 5
/// times a power of ten, at least [`FEWEST`] and about twice as many at most. Empty when there is no range.
pub(super) fn round(values: &[f64], zero: f64) -> Vec<f64> {
    let low = values.iter().copied().fold(f64::INFINITY, f64::min) - zero;
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max) - zero;
    // A range at the size of what points may miss their level by has no curves.
    if !(high - low > 1e-4 && (high - low).is_finite()) {
        return Vec::new();
    }
    let decade = libm::pow(10.0, libm::log10(high - low).ceil());
    for (finer, lead) in (0..3).flat_map(|f| [5.0, 2.5, 2.0, 1.0].map(|l| (f, l))) {
        let step = lead * decade / 10.0_f64.powi(finer + 1);
        let (first, last) = ((low / step).floor() as i64 + 1, (high / step).ceil() as i64 - 1);
        if last - first + 1 >= FEWEST as i64 {
            return (first..=last).map(|k| zero + k as f64 * step).collect();
        }
    }
    Vec::new()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form.
    #[test]
    fn levels_are_round_and_few() {
        assert_eq!(round(&[20.0, 76.0], 0.0), [30.0, 40.0, 50.0, 60.0, 70.0]);
        assert!(round(&[3.0, 3.0], 0.0).is_empty() && round(&[], 0.0).is_empty());
        for i in 1..200 {
            let (low, high) = (273.15 + 0.37 * f64::from(i), 280.0 + 1.91 * f64::from(i));
            let all = round(&[high, low], 273.15);
            assert!((5..=10).contains(&all.len()), "{low} {high} {all:?}");
            assert!(all.iter().all(|l| low < *l && *l < high));
        }
    }
}

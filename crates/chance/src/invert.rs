//! Quantiles from shares: the one search that every distribution here uses.

/// The `x` in [0, `most`] at which the share below, `shares(x)[0]`, reaches `p`; `shares(x)[1]` is the share above.
///
/// Positive floats are ordered like their bits, so 64 halvings reach neighbours whatever the size of the answer. The smaller of
/// the two shares decides, which keeps both tails sharp.
pub(crate) fn positive(p: f64, most: f64, mut shares: impl FnMut(f64) -> [f64; 2]) -> f64 {
    if p <= 0.0 {
        return 0.0;
    }
    if p >= 1.0 {
        return most;
    }
    let (mut low, mut high) = (0_u64, most.min(f64::MAX).to_bits());
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        let [below, above] = shares(f64::from_bits(middle));
        let short = if p <= 0.5 { below < p } else { above > 1.0 - p };
        if short { low = middle } else { high = middle }
    }
    f64::from_bits(high)
}

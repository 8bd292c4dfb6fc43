//! Streams of drawn numbers that are the same on every machine.

use crate::normal;

/// A fixed stream of numbers (splitmix64: Steele, Lea & Flood 2014, OOPSLA, "Fast splittable pseudorandom number
/// generators").
#[derive(Clone, Debug)]
pub struct Stream(u64);

impl Stream {
    /// The stream of a seed.
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// A stream of its own for piece `piece` of work under one seed: what piece draws does not depend on who draws first.
    pub fn of(seed: u64, piece: u64) -> Self {
        let mut s = Self(seed ^ piece.wrapping_mul(0xd1b5_4a32_d192_ed03));
        Self(s.next())
    }

    /// 64 bits.
    #[expect(clippy::should_implement_trait, reason = "the stream never ends, so it is no iterator")]
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// In (0, 1).
    pub fn unit(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// Standard normal deviate, by the quantile function: one draw each.
    pub fn normal(&mut self) -> f64 {
        normal::quantile(self.unit())
    }

    /// A whole number in 0..end, 0 for an empty range; the bias is below end/2⁶⁴.
    pub fn below(&mut self, end: usize) -> usize {
        if end == 0 { 0 } else { (self.next() % end as u64) as usize }
    }
}

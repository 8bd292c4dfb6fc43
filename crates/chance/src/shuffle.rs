//! A shuffle of 0..n that is known place by place: where the k-th goes is computed from k alone, in constant time and without a table.
//!
//! A Feistel network (Luby & Rackoff 1988, SIAM J. Comput. 17, 373) is a permutation of the numbers of 2b binary digits whatever its
//! round function; the smallest that holds n is walked until it comes back below n (cycle walking: Black & Rogaway 2002, CT-RSA,
//! "Ciphers with arbitrary finite domains"), which is a permutation of 0..n. No protection against anybody: rounds are those of a
//! mixing function.

use crate::Stream;

/// Rounds of the network.
const ROUNDS: usize = 8;

/// A permutation of `0..size` drawn by a seed.
#[derive(Clone, Debug)]
pub struct Shuffle {
    size: u64,
    /// Binary digits of each half.
    half: u32,
    keys: [u64; ROUNDS],
}

impl Shuffle {
    /// Largest size.
    pub const MOST: u64 = 1 << 60;

    /// Shuffle `which` of those of a seed; `None` for sizes of 0 or beyond [`Self::MOST`].
    pub fn new(size: u64, seed: u64, which: u64) -> Option<Self> {
        if size == 0 || size > Self::MOST {
            return None;
        }
        let digits = 64 - (size - 1).leading_zeros();
        let mut stream = Stream::of(seed, which);
        let keys = std::array::from_fn(|_| stream.next());
        Some(Self { size, half: digits.div_ceil(2).max(1), keys })
    }

    /// Where `k` goes; `k` itself when it is not below the size.
    pub fn at(&self, k: u64) -> u64 {
        if k >= self.size {
            return k;
        }
        let mut x = self.network(k);
        // The walk is on the cycle of k, which lies below the size: it comes back there.
        while x >= self.size {
            x = self.network(x);
        }
        x
    }

    fn network(&self, x: u64) -> u64 {
        let mask = (1u64 << self.half) - 1;
        let (mut left, mut right) = (x >> self.half, x & mask);
        for key in self.keys {
            (left, right) = (right, left ^ (Stream::new(right ^ key).next() & mask));
        }
        left << self.half | right
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: every number below the size is met once.
    #[test]
    fn it_is_a_permutation() {
        for size in (1..=70).chain([255, 256, 257, 1000, 4097]) {
            for seed in [0, 7] {
                let shuffle = Shuffle::new(size, seed, 3).unwrap();
                let mut met: Vec<u64> = (0..size).map(|k| shuffle.at(k)).collect();
                met.sort_unstable();
                assert!(met.into_iter().eq(0..size), "{size}");
                assert_eq!(shuffle.at(size), size);
            }
        }
        assert!(Shuffle::new(0, 1, 1).is_none() && Shuffle::new(Shuffle::MOST + 1, 1, 1).is_none());
        let large = Shuffle::new(Shuffle::MOST, 1, 1).unwrap();
        assert!(large.at(Shuffle::MOST - 1) < Shuffle::MOST);
    }

    /// Ranks of a shuffle are as good as unrelated to places, and to those of another: their correlation is normal with standard
    /// deviation 1/√(n − 1) (closed form for random permutations); five of them are allowed.
    #[test]
    fn places_tell_nothing_of_ranks() {
        let size = 5000;
        let shuffles: Vec<Vec<f64>> = (0..6)
            .map(|w| (0..size).map(|k| Shuffle::new(size, 1, w).unwrap().at(k) as f64).collect())
            .collect();
        let (mean, variance) = ((size - 1) as f64 / 2.0, ((size * size - 1) as f64) / 12.0);
        let plain: Vec<f64> = (0..size).map(|k| k as f64).collect();
        let correlation = |a: &[f64], b: &[f64]| {
            a.iter().zip(b).map(|(x, y)| (x - mean) * (y - mean)).sum::<f64>() / (size as f64 * variance)
        };
        for (i, a) in shuffles.iter().enumerate() {
            for b in shuffles[..i].iter().chain([&plain]) {
                let r = correlation(a, b) * (size as f64 - 1.0).sqrt();
                assert!(r.abs() < 5.0, "{r}");
            }
        }
    }
}

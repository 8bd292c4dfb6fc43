//! Where point `k` of a design lies: a pure function of the design and `k`, so that any point can be computed alone.

use calotte_chance::quasi::Sobol;
use calotte_chance::{Shuffle, Stream};

/// How points fill the ranges of the numbers that vary. Shares run from 0 at `from` to 1 at `to`, one for each number, in the order of
/// the plan.
#[derive(Clone, Debug)]
pub enum Design {
    /// Every combination of evenly spaced shares, both ends included; the last number varies fastest.
    Grid {
        /// Shares of each number, at least 2.
        counts: Vec<u64>,
    },
    /// Every slice of width 1/points of every share holds one point, at a drawn place in it (McKay, Beckman & Conover 1979,
    /// Technometrics 21, 239); which slice, says a shuffle that is computed place by place.
    Hypercube {
        /// How many points.
        points: u64,
        /// One for each number.
        shuffles: Vec<Shuffle>,
        /// Seed of shuffles and places.
        seed: u64,
    },
    /// The first points of Sobol's sequence with all binary digits shifted by the seed.
    Sobol {
        /// How many points.
        points: u64,
        /// The sequence.
        sobol: Box<Sobol>,
    },
    /// Points of a table, SI; no shares.
    Table {
        /// One row per point.
        rows: Vec<Vec<f64>>,
    },
}

impl Design {
    /// A Latin hypercube of `numbers` numbers; `None` for no points or too many.
    pub fn hypercube(points: u64, numbers: usize, seed: u64) -> Option<Self> {
        let shuffles =
            (0..numbers as u64).map(|which| Shuffle::new(points, seed, which)).collect::<Option<_>>()?;
        Some(Self::Hypercube { points, shuffles, seed })
    }

    /// Sobol's sequence shifted by a seed; `None` for more numbers than it has dimensions.
    pub fn sobol(points: u64, numbers: usize, seed: u64) -> Option<Self> {
        Some(Self::Sobol { points, sobol: Box::new(Sobol::shifted(numbers, seed, 0)?) })
    }

    /// How many points it has.
    pub fn points(&self) -> u64 {
        match self {
            Self::Grid { counts } => counts.iter().fold(1, |n: u64, c| n.saturating_mul(*c)),
            Self::Hypercube { points, .. } | Self::Sobol { points, .. } => *points,
            Self::Table { rows } => rows.len() as u64,
        }
    }

    /// Shares of point `k`; SI values for a table.
    pub fn shares(&self, k: u64) -> Vec<f64> {
        match self {
            Self::Grid { counts } => {
                let mut rest = k;
                let mut out: Vec<f64> = counts
                    .iter()
                    .rev()
                    .map(|count| {
                        let digit = rest % count;
                        rest /= count;
                        digit as f64 / (count - 1) as f64
                    })
                    .collect();
                out.reverse();
                out
            }
            Self::Hypercube { points, shuffles, seed } => {
                let place = |(which, s): (usize, &Shuffle)| {
                    // A stream of its own for every number, a piece of it for every point.
                    let inside = Stream::of(Stream::of(!seed, which as u64).next(), k).unit();
                    // Of a slice far up, the last place may round into the next one.
                    let slice = s.at(k) as f64;
                    (slice + inside).min((slice + 1.0).next_down()) / *points as f64
                };
                shuffles.iter().enumerate().map(place).collect()
            }
            Self::Sobol { sobol, .. } => sobol.at(k),
            Self::Table { rows } => {
                usize::try_from(k).ok().and_then(|k| rows.get(k).cloned()).unwrap_or_default()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: every combination once, the last number fastest, both ends exactly.
    #[test]
    fn a_grid_counts_in_mixed_radix() {
        let grid = Design::Grid { counts: vec![3, 2, 4] };
        assert_eq!(grid.points(), 24);
        assert_eq!(grid.shares(0), [0.0, 0.0, 0.0]);
        assert_eq!(grid.shares(1), [0.0, 0.0, 1.0 / 3.0]);
        assert_eq!(grid.shares(4), [0.0, 1.0, 0.0]);
        assert_eq!(grid.shares(23), [1.0, 1.0, 1.0]);
        let mut all: Vec<Vec<u64>> =
            (0..24).map(|k| grid.shares(k).iter().map(|s| s.to_bits()).collect()).collect();
        assert!(all.is_sorted());
        all.dedup();
        assert_eq!(all.len(), 24);
    }

    /// Closed form: one point in every slice of every number.
    #[test]
    fn a_hypercube_has_one_point_in_every_slice() {
        for points in [1, 2, 3, 10, 997, 1024] {
            let design = Design::hypercube(points, 5, 3).unwrap();
            let all: Vec<Vec<f64>> = (0..points).map(|k| design.shares(k)).collect();
            for j in 0..5 {
                let mut slices: Vec<u64> = all.iter().map(|p| (p[j] * points as f64) as u64).collect();
                slices.sort_unstable();
                assert!(slices.into_iter().eq(0..points), "{points} {j}");
            }
            // Another seed, other points.
            assert_ne!(Design::hypercube(points, 5, 4).unwrap().shares(0), all[0]);
        }
        // Points of a design of 2⁴⁰ alone.
        let large = Design::hypercube(1 << 40, 2, 1).unwrap();
        let (a, b) = (large.shares((1 << 40) - 1), large.shares(12_345_678_901));
        assert!(a.iter().chain(&b).all(|s| (0.0..1.0).contains(s)) && a != b);
    }

    /// Pinned bits: designs do not change from one version to the next unnoticed.
    #[test]
    fn the_same_bits_as_ever() {
        let bits =
            |d: &Design, k| d.shares(k).iter().map(|s| format!("{:016x}", s.to_bits())).collect::<Vec<_>>();
        let cube = Design::hypercube(1000, 2, 1).unwrap();
        let sobol = Design::sobol(1000, 2, 1).unwrap();
        assert_eq!([bits(&cube, 0), bits(&cube, 999), bits(&sobol, 0), bits(&sobol, 999)], PINNED);
    }

    const PINNED: [[&str; 2]; 4] = [
        ["3fee301ad2aaef53", "3fe922ddbbd179bd"],
        ["3fd418956882714c", "3facf208c398f756"],
        ["3fd7906ac21d0e5a", "3fee31ad9d27ad9f"],
        ["3fdd806ac21d0e5a", "3fb94d6ce93d6cf8"],
    ];
}

//! Points that fill a cube evenly: Sobol's sequence.
//!
//! Sobol 1967, USSR Comput. Math. Math. Phys. 7, 86, in the order of Antonov & Saleev 1979 (a Gray code); primitive polynomials and
//! initial direction numbers of Joe & Kuo 2008, SIAM J. Sci. Comput. 30, 2635 (`new-joe-kuo-6`), the first 64 dimensions. A shift
//! of all binary digits by a seed (exclusive or) keeps the evenness and makes every point uniform in the cube, so that the scatter
//! between shifts is an estimate of the error: Owen 1998, ACM TOMACS 8, 71.

use crate::Stream;

/// Dimensions that have direction numbers.
pub const DIMENSIONS: usize = 64;

/// Binary digits of a coordinate.
const DIGITS: usize = 52;

/// Primitive polynomial with its binary digits (the leading one too), and initial direction numbers; of the second dimension and on.
#[rustfmt::skip]
const JOE_KUO: [(u64, &[u64]); DIMENSIONS - 1] = [
    (3, &[1]),
    (7, &[1, 3]),
    (11, &[1, 3, 1]),
    (13, &[1, 1, 1]),
    (19, &[1, 1, 3, 3]),
    (25, &[1, 3, 5, 13]),
    (37, &[1, 1, 5, 5, 17]),
    (41, &[1, 1, 5, 5, 5]),
    (47, &[1, 1, 7, 11, 19]),
    (55, &[1, 1, 5, 1, 1]),
    (59, &[1, 1, 1, 3, 11]),
    (61, &[1, 3, 5, 5, 31]),
    (67, &[1, 3, 3, 9, 7, 49]),
    (91, &[1, 1, 1, 15, 21, 21]),
    (97, &[1, 3, 1, 13, 27, 49]),
    (103, &[1, 1, 1, 15, 7, 5]),
    (109, &[1, 3, 1, 15, 13, 25]),
    (115, &[1, 1, 5, 5, 19, 61]),
    (131, &[1, 3, 7, 11, 23, 15, 103]),
    (137, &[1, 3, 7, 13, 13, 15, 69]),
    (143, &[1, 1, 3, 13, 7, 35, 63]),
    (145, &[1, 3, 5, 9, 1, 25, 53]),
    (157, &[1, 3, 1, 13, 9, 35, 107]),
    (167, &[1, 3, 1, 5, 27, 61, 31]),
    (171, &[1, 1, 5, 11, 19, 41, 61]),
    (185, &[1, 3, 5, 3, 3, 13, 69]),
    (191, &[1, 1, 7, 13, 1, 19, 1]),
    (193, &[1, 3, 7, 5, 13, 19, 59]),
    (203, &[1, 1, 3, 9, 25, 29, 41]),
    (211, &[1, 3, 5, 13, 23, 1, 55]),
    (213, &[1, 3, 7, 3, 13, 59, 17]),
    (229, &[1, 3, 1, 3, 5, 53, 69]),
    (239, &[1, 1, 5, 5, 23, 33, 13]),
    (241, &[1, 1, 7, 7, 1, 61, 123]),
    (247, &[1, 1, 7, 9, 13, 61, 49]),
    (253, &[1, 3, 3, 5, 3, 55, 33]),
    (285, &[1, 3, 1, 15, 31, 13, 49, 245]),
    (299, &[1, 3, 5, 15, 31, 59, 63, 97]),
    (301, &[1, 3, 1, 11, 11, 11, 77, 249]),
    (333, &[1, 3, 1, 11, 27, 43, 71, 9]),
    (351, &[1, 1, 7, 15, 21, 11, 81, 45]),
    (355, &[1, 3, 7, 3, 25, 31, 65, 79]),
    (357, &[1, 3, 1, 1, 19, 11, 3, 205]),
    (361, &[1, 1, 5, 9, 19, 21, 29, 157]),
    (369, &[1, 3, 7, 11, 1, 33, 89, 185]),
    (391, &[1, 3, 3, 3, 15, 9, 79, 71]),
    (397, &[1, 3, 7, 11, 15, 39, 119, 27]),
    (425, &[1, 1, 3, 1, 11, 31, 97, 225]),
    (451, &[1, 1, 1, 3, 23, 43, 57, 177]),
    (463, &[1, 3, 7, 7, 17, 17, 37, 71]),
    (487, &[1, 3, 1, 5, 27, 63, 123, 213]),
    (501, &[1, 1, 3, 5, 11, 43, 53, 133]),
    (529, &[1, 3, 5, 5, 29, 17, 47, 173, 479]),
    (539, &[1, 3, 3, 11, 3, 1, 109, 9, 69]),
    (545, &[1, 1, 1, 5, 17, 39, 23, 5, 343]),
    (557, &[1, 3, 1, 5, 25, 15, 31, 103, 499]),
    (563, &[1, 1, 1, 11, 11, 17, 63, 105, 183]),
    (601, &[1, 1, 5, 11, 9, 29, 97, 231, 363]),
    (607, &[1, 1, 5, 15, 19, 45, 41, 7, 383]),
    (617, &[1, 3, 7, 7, 31, 19, 83, 137, 221]),
    (623, &[1, 1, 1, 3, 23, 15, 111, 223, 83]),
    (631, &[1, 1, 5, 13, 31, 15, 55, 25, 161]),
    (637, &[1, 1, 3, 13, 25, 47, 39, 87, 257]),
];

/// Sobol's sequence in a number of dimensions.
#[derive(Clone, Debug)]
pub struct Sobol {
    directions: Vec<[u64; DIGITS]>,
    /// Last point, without the shift.
    at: Vec<u64>,
    shift: Vec<u64>,
    /// Points given.
    given: u64,
    /// What is added after the shift, so that no coordinate is 0.
    half: f64,
}

impl Sobol {
    /// From its first point, the origin. `None` beyond [`DIMENSIONS`].
    pub fn new(dimensions: usize) -> Option<Self> {
        (dimensions <= DIMENSIONS).then(|| Self {
            directions: (0..dimensions).map(directions).collect(),
            at: vec![0; dimensions],
            shift: vec![0; dimensions],
            given: 0,
            half: 0.0,
        })
    }

    /// The same with its digits shifted by a seed: coordinates in (0, 1).
    pub fn shifted(dimensions: usize, seed: u64, replicate: u64) -> Option<Self> {
        let mut stream = Stream::of(seed, replicate);
        let mut out = Self::new(dimensions)?;
        out.shift.iter_mut().for_each(|s| *s = stream.next() >> (64 - DIGITS));
        out.half = 0.5;
        Some(out)
    }

    /// The next point.
    pub fn point(&mut self) -> Vec<f64> {
        if self.given > 0 {
            // The digit in which the Gray codes of this point and the one before differ.
            let digit = ((self.given - 1).trailing_ones() as usize).min(DIGITS - 1);
            self.at.iter_mut().zip(&self.directions).for_each(|(x, v)| *x ^= v[digit]);
        }
        self.given += 1;
        self.coordinates(&self.at)
    }

    /// Point `k` alone (the first is point 0), whatever was given before; `k` below 2⁵².
    pub fn at(&self, k: u64) -> Vec<f64> {
        let gray = k ^ (k >> 1);
        let digits = || (0..DIGITS).filter(|d| gray >> d & 1 == 1);
        let at: Vec<u64> = self.directions.iter().map(|v| digits().fold(0, |x, d| x ^ v[d])).collect();
        self.coordinates(&at)
    }

    fn coordinates(&self, at: &[u64]) -> Vec<f64> {
        let scale = 1.0 / (1u64 << DIGITS) as f64;
        at.iter().zip(&self.shift).map(|(x, s)| ((x ^ s) as f64 + self.half) * scale).collect()
    }
}

fn directions(dimension: usize) -> [u64; DIGITS] {
    let mut v = [0; DIGITS];
    if dimension == 0 {
        v.iter_mut().enumerate().for_each(|(k, v)| *v = 1 << (DIGITS - 1 - k));
        return v;
    }
    let (polynomial, first) = JOE_KUO[dimension - 1];
    let degree = first.len();
    for k in 0..DIGITS {
        v[k] = if k < degree {
            first[k] << (DIGITS - 1 - k)
        } else {
            let mut next = v[k - degree] ^ (v[k - degree] >> degree);
            for j in 1..degree {
                if polynomial >> (degree - j) & 1 == 1 {
                    next ^= v[k - j];
                }
            }
            next
        };
    }
    v
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Recomputed from the stated equations by another program: the first eight points in three dimensions (SciPy 1.17,
    /// `scipy.stats.qmc.Sobol(3, scramble=False)`).
    #[test]
    fn the_first_points_are_known() {
        let known = [
            [0.0, 0.0, 0.0],
            [0.5, 0.5, 0.5],
            [0.75, 0.25, 0.25],
            [0.25, 0.75, 0.75],
            [0.375, 0.375, 0.625],
            [0.875, 0.875, 0.125],
            [0.625, 0.125, 0.875],
            [0.125, 0.625, 0.375],
        ];
        let mut sobol = Sobol::new(3).unwrap();
        for k in known {
            assert_eq!(sobol.point(), k);
        }
    }

    /// Closed form: a point computed alone is the one that comes in its turn, bit by bit.
    #[test]
    fn a_point_alone_is_the_point_in_turn() {
        for mut sobol in [Sobol::new(5).unwrap(), Sobol::shifted(DIMENSIONS, 9, 0).unwrap()] {
            let alone = sobol.clone();
            for k in 0..3000 {
                assert_eq!(sobol.point(), alone.at(k), "{k}");
                assert_eq!(alone.at(k), sobol.at(k));
            }
        }
    }

    /// Closed form: of the first 2^m points, every slice of width 2^-m of every coordinate holds one, shifted or not.
    #[test]
    fn every_slice_holds_one_point() {
        for mut sobol in [Sobol::new(DIMENSIONS).unwrap(), Sobol::shifted(DIMENSIONS, 7, 3).unwrap()] {
            let points: Vec<Vec<f64>> = (0..1024).map(|_| sobol.point()).collect();
            for j in 0..DIMENSIONS {
                let mut slices: Vec<usize> = points.iter().map(|p| (p[j] * 1024.0) as usize).collect();
                slices.sort_unstable();
                assert!(slices.iter().enumerate().all(|(i, s)| i == *s), "{j}");
            }
        }
        assert!(Sobol::new(DIMENSIONS + 1).is_none());
    }
}

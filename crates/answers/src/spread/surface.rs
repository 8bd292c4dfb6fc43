//! A gauge as a polynomial over the box of the tolerances, fitted to readings, with its error read off others.
//!
//! Products of Legendre polynomials of total degree p in the numbers scaled to [−1, 1], by least squares (Householder) on at least
//! twice as many readings as there are terms.

/// Products of Legendre polynomials up to a total degree in some of the numbers.
#[derive(Clone, Debug)]
pub(super) struct Basis {
    /// For each term, its factors: number and degree ≥ 1.
    terms: Vec<Vec<(usize, usize)>>,
    degree: usize,
}

impl Basis {
    /// All terms of total degree `degree` in the numbers `active`.
    pub(super) fn new(active: &[usize], degree: usize) -> Self {
        let mut terms = vec![Vec::new()];
        let mut sizes = vec![0];
        for &j in active {
            for i in 0..terms.len() {
                for d in 1..=degree - sizes[i] {
                    let mut next = terms[i].clone();
                    next.push((j, d));
                    terms.push(next);
                    sizes.push(sizes[i] + d);
                }
            }
        }
        Self { terms, degree }
    }

    /// How many terms there are of that degree in so many numbers: the binomial coefficient.
    pub(super) fn count(active: usize, degree: usize) -> usize {
        (1..=degree).fold(1, |c, k| c * (active + k) / k)
    }

    pub(super) fn len(&self) -> usize {
        self.terms.len()
    }

    /// Values of all terms at a place of the box.
    fn row(&self, z: &[f64], legendre: &mut Vec<f64>, out: &mut Vec<f64>) {
        let stride = self.degree + 1;
        legendre.clear();
        for z in z {
            let at = legendre.len();
            legendre.push(1.0);
            if self.degree > 0 {
                legendre.push(*z);
            }
            for k in 1..self.degree {
                let next = ((2 * k + 1) as f64 * z * legendre[at + k] - k as f64 * legendre[at + k - 1])
                    / (k + 1) as f64;
                legendre.push(next);
            }
        }
        out.clear();
        out.extend(self.terms.iter().map(|t| t.iter().fold(1.0, |p, (j, d)| p * legendre[j * stride + d])));
    }
}

/// A fitted polynomial.
#[derive(Clone, Debug)]
pub(super) struct Surface {
    basis: Basis,
    weights: Vec<f64>,
    /// Bound of its error: twice the largest difference from a reading that it was not fitted to.
    pub(super) error: f64,
}

/// Room for evaluations.
#[derive(Default)]
pub(super) struct Room {
    legendre: Vec<f64>,
    row: Vec<f64>,
}

impl Surface {
    /// Fits readings at places of the box; `None` when there are too few, or places coincide.
    pub(super) fn fit(basis: Basis, places: &[Vec<f64>], readings: &[f64]) -> Option<Self> {
        let (n, m) = (places.len(), basis.len());
        if n < m {
            return None;
        }
        let mut room = Room::default();
        let mut a: Vec<Vec<f64>> = Vec::with_capacity(n);
        for z in places {
            basis.row(z, &mut room.legendre, &mut room.row);
            a.push(room.row.clone());
        }
        let weights = solve(&mut a, readings.to_vec())?;
        Some(Self { basis, weights, error: f64::INFINITY })
    }

    pub(super) fn at(&self, z: &[f64], room: &mut Room) -> f64 {
        self.basis.row(z, &mut room.legendre, &mut room.row);
        room.row.iter().zip(&self.weights).map(|(r, w)| r * w).sum()
    }

    pub(super) fn terms(&self) -> usize {
        self.weights.len()
    }

    pub(super) fn degree(&self) -> usize {
        self.basis.degree
    }
}

/// Least squares by Householder reflections (Golub 1965, Numer. Math. 7, 206); `None` when columns depend on one another.
fn solve(a: &mut [Vec<f64>], mut b: Vec<f64>) -> Option<Vec<f64>> {
    let (n, m) = (a.len(), a.first()?.len());
    let scale = a.iter().flatten().fold(0.0_f64, |s, x| s.max(x.abs()));
    for k in 0..m {
        let norm = a[k..].iter().map(|r| r[k] * r[k]).sum::<f64>().sqrt();
        if norm <= 1e-10 * scale {
            return None;
        }
        let alpha = if a[k][k] > 0.0 { -norm } else { norm };
        let v: Vec<f64> = (k..n).map(|i| if i == k { a[k][k] - alpha } else { a[i][k] }).collect();
        let vv: f64 = v.iter().map(|x| x * x).sum();
        if vv == 0.0 {
            continue;
        }
        for j in k..m {
            let s = 2.0 * (k..n).map(|i| v[i - k] * a[i][j]).sum::<f64>() / vv;
            (k..n).for_each(|i| a[i][j] -= s * v[i - k]);
        }
        let s = 2.0 * (k..n).map(|i| v[i - k] * b[i]).sum::<f64>() / vv;
        (k..n).for_each(|i| b[i] -= s * v[i - k]);
    }
    let mut x = vec![0.0; m];
    for k in (0..m).rev() {
        let rest: f64 = (k + 1..m).map(|j| a[k][j] * x[j]).sum();
        x[k] = (b[k] - rest) / a[k][k];
    }
    Some(x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use calotte_chance::Stream;

    /// Closed form: a polynomial of its own degree is met exactly, one of a higher degree is not.
    #[test]
    fn polynomials_are_met() {
        let mut stream = Stream::new(5);
        let f = |z: &[f64]| 1.0 + z[0] * z[0] * z[2] - 2.0 * z[1] + z[2].powi(3);
        let places: Vec<Vec<f64>> =
            (0..60).map(|_| (0..3).map(|_| 2.0 * stream.unit() - 1.0).collect()).collect();
        let readings: Vec<f64> = places.iter().map(|z| f(z)).collect();
        for (degree, exact) in [(3, true), (2, false)] {
            let basis = Basis::new(&[0, 1, 2], degree);
            assert_eq!(basis.len(), Basis::count(3, degree));
            let s = Surface::fit(basis, &places, &readings).unwrap();
            let z = [0.3, -0.7, 0.9];
            let apart = (s.at(&z, &mut Room::default()) - f(&z)).abs();
            assert_eq!(apart < 1e-12, exact, "{apart}");
        }
        assert!(
            Surface::fit(Basis::new(&[0, 1, 2], 5), &places, &readings).is_none() || Basis::count(3, 5) <= 60
        );
        assert!(Surface::fit(Basis::new(&[0, 1, 2], 6), &places, &readings).is_none());
    }
}

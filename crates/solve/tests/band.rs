//! Banded factorisation, inertia, bordered solves and eigenpairs against a dense reference of its own.

use calotte_solve::bordered::Bordered;
use calotte_solve::{Band, Work, eigen};

/// Repeatable pseudo-random numbers in (−1, 1).
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }
}

fn random(n: usize, half: usize, shift: f64, dice: &mut Dice) -> Band {
    let mut b = Band::new(n, half);
    for j in 0..n {
        for i in j..(j + half + 1).min(n) {
            b.add(i, j, dice.roll() + if i == j { shift } else { 0.0 });
        }
    }
    b
}

fn dense(b: &Band) -> Vec<Vec<f64>> {
    (0..b.size()).map(|i| (0..b.size()).map(|j| b.get(i, j)).collect()).collect()
}

/// Eigenvalues by cyclic Jacobi rotations, a method with nothing in common with factorisation.
fn jacobi(mut a: Vec<Vec<f64>>) -> Vec<f64> {
    let n = a.len();
    for _ in 0..60 {
        for p in 0..n {
            for q in p + 1..n {
                if a[p][q].abs() < 1e-300 {
                    continue;
                }
                let tau = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
                let t = tau.signum() / (tau.abs() + (1.0 + tau * tau).sqrt());
                let c = 1.0 / (1.0 + t * t).sqrt();
                let s = t * c;
                for row in &mut a {
                    let (x, y) = (row[p], row[q]);
                    (row[p], row[q]) = (c * x - s * y, s * x + c * y);
                }
                let (rp, rq) = (a[p].clone(), a[q].clone());
                for k in 0..n {
                    a[p][k] = c * rp[k] - s * rq[k];
                    a[q][k] = s * rp[k] + c * rq[k];
                }
            }
        }
    }
    let mut values: Vec<f64> = (0..n).map(|i| a[i][i]).collect();
    values.sort_by(f64::total_cmp);
    values
}

#[test]
fn inertia_equals_the_count_of_negative_eigenvalues() {
    let mut dice = Dice(1);
    for half in [1, 3, 11, 17] {
        for trial in 0..30 {
            let shift = f64::from(trial % 7) - 3.0;
            let b = random(31, half, shift, &mut dice);
            let eigenvalues = jacobi(dense(&b));
            let negative = eigenvalues.iter().filter(|v| **v < 0.0).count();
            let factor = b.factor().unwrap();
            assert_eq!(factor.negative, negative, "half {half} trial {trial} {eigenvalues:?}");
        }
    }
}

#[test]
fn solves_to_rounding() {
    let mut dice = Dice(2);
    for half in [2, 11, 17] {
        // Diagonally dominant, so that rounding alone remains.
        let b = random(60, half, 40.0, &mut dice);
        let x: Vec<f64> = (0..60).map(|_| dice.roll()).collect();
        let mut rhs = vec![0.0; 60];
        b.multiply(&x, &mut rhs);
        b.clone().factor().unwrap().solve(&mut rhs);
        for (a, c) in x.iter().zip(&rhs) {
            assert!((a - c).abs() < 1e-13);
        }
    }
}

/// A singular H with a border that repairs it.
#[test]
fn bordered_system_is_solved_where_the_matrix_is_singular() {
    let mut dice = Dice(3);
    let n = 24;
    let b = random(n, 5, 8.0, &mut dice);
    let eigenvalues = jacobi(dense(&b));
    let mut singular = b.clone();
    singular.add_diagonal(-eigenvalues[0], &vec![1.0; n]);
    let factor = singular.clone().factor().unwrap();
    let a: Vec<f64> = (0..n).map(|_| dice.roll()).collect();
    let row: Vec<f64> = (0..n).map(|_| dice.roll()).collect();
    let (x, y): (Vec<f64>, f64) = ((0..n).map(|_| dice.roll()).collect(), 0.7);
    let mut f = vec![0.0; n];
    singular.multiply(&x, &mut f);
    f.iter_mut().zip(&a).for_each(|(v, c)| *v += c * y);
    let g = x.iter().zip(&row).map(|(p, q)| p * q).sum::<f64>() + 0.3 * y;
    let got = Bordered::new(&factor, &a, &row, 0.3).solve(&mut f, g);
    assert!((got - y).abs() < 1e-10);
    for (p, q) in x.iter().zip(&f) {
        assert!((p - q).abs() < 1e-9, "{p} {q}");
    }
}

#[test]
fn smallest_eigenpair_and_count_agree_with_the_reference() {
    let mut dice = Dice(4);
    for shift in [-2.0, 0.0, 3.0, 9.0] {
        let k = random(27, 11, shift, &mut dice);
        let mut m = Band::new(27, 11);
        for i in 0..27 {
            m.add(i, i, 1.0);
        }
        let eigenvalues = jacobi(dense(&k));
        let mut work = Work::default();
        let s = eigen::smallest(&k, &m, &[], &[], None, &mut work).unwrap();
        assert!(
            (s.value - eigenvalues[0]).abs() < 1e-9 * eigenvalues[0].abs(),
            "{} {}",
            s.value,
            eigenvalues[0]
        );
        assert_eq!(s.negative, eigenvalues.iter().filter(|v| **v < 0.0).count());
        assert!(s.certified && s.residual < 1e-4);
    }
}

#[test]
fn congruence_is_a_change_of_unknowns() {
    let mut dice = Dice(5);
    let n = 12;
    let b = random(n, 7, 0.0, &mut dice);
    let t = [[0.8, -0.6], [0.6, 0.8]];
    let (i, j) = (4, 6);
    let mut turned = Band::new(n, 7);
    // A node block: unknowns 3..8 reach the same columns.
    for c in 0..n {
        for r in c..(c + 4).min(n) {
            turned.add(r, c, b.get(r, c));
        }
    }
    let original = turned.clone();
    turned.congruence(i, j, t);
    let new: Vec<f64> = (0..n).map(|_| dice.roll()).collect();
    let mut old = new.clone();
    old[i] = t[0][0] * new[i] + t[0][1] * new[j];
    old[j] = t[1][0] * new[i] + t[1][1] * new[j];
    let form = |b: &Band, x: &[f64]| {
        let mut y = vec![0.0; n];
        b.multiply(x, &mut y);
        x.iter().zip(&y).map(|(p, q)| p * q).sum::<f64>()
    };
    assert!((form(&turned, &new) - form(&original, &old)).abs() < 1e-12);
}

#[test]
fn a_vanishing_pivot_is_reported_with_its_row() {
    let mut b = Band::new(3, 1);
    b.add(0, 0, 1.0);
    b.add(1, 1, 0.0);
    b.add(2, 2, 1.0);
    assert_eq!(b.factor().unwrap_err().row, 1);
}

/// The factor of a positive definite matrix is the one that `factor` gives; any other matrix has none.
#[test]
fn only_positive_definite_matrices_have_a_positive_factor() {
    let mut dice = Dice(5);
    for half in [3, 11, 17] {
        let definite = random(40, half, 30.0, &mut dice);
        let (a, b) = (definite.clone().factor().unwrap(), definite.factor_positive().unwrap());
        assert_eq!(a.negative, 0);
        assert!((0..40).all(|j| a.pivot(j).to_bits() == b.pivot(j).to_bits()));
        let indefinite = random(40, half, 0.0, &mut dice);
        assert!(indefinite.clone().factor().unwrap().negative > 0);
        assert!(indefinite.factor_positive().is_none());
        // The last pivot counts too.
        let mut last = random(40, half, 30.0, &mut dice);
        last.add(39, 39, -60.0);
        assert_eq!(last.clone().factor().unwrap().negative, 1);
        assert!(last.factor_positive().is_none());
    }
}

//! Shares of a variance: Sobol's sensitivity indices.
//!
//! For independent inputs the first-order index of one is `V[E[f | xᵢ]]/V[f]`, what of the variance would go if it were known; the
//! total index is `1 − V[E[f | all but xᵢ]]/V[f]`, what would be left if all others were. Sobol 1993, Math. Model. Comput. Exp. 1,
//! 407; Homma & Saltelli 1996, Reliab. Eng. Syst. Saf. 52, 1. Estimators from two sets of points A, B and A with the columns of xᵢ
//! taken from B: first order `mean(f(B)(f(ABᵢ) − f(A)))/V` (Saltelli et al. 2010, Comput. Phys. Commun. 181, 259), total
//! `mean((f(A) − f(ABᵢ))²)/2V` (Jansen 1999, Comput. Phys. Commun. 117, 35). A and B are the halves of Sobol points; several shifts
//! of those give the error.

use crate::quasi::{DIMENSIONS, Sobol};

/// Columns of the cube that are taken together as one input.
pub type Group = Vec<usize>;

/// Index of one input with the standard error of each.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Index {
    /// First order.
    pub first: f64,
    /// Its standard error.
    pub first_error: f64,
    /// Total.
    pub total: f64,
    /// Its standard error.
    pub total_error: f64,
}

/// Indices of every input of a function.
#[derive(Clone, Debug, PartialEq)]
pub struct Indices {
    /// In the order of the groups.
    pub of: Vec<Index>,
    /// Mean of the function.
    pub mean: f64,
    /// Its variance.
    pub variance: f64,
    /// Values of the function that were computed.
    pub evaluations: usize,
}

/// How many points.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Base points of each shift, best a power of two.
    pub points: usize,
    /// Shifts, two at least.
    pub shifts: usize,
    /// Seed of the shifts.
    pub seed: u64,
}

/// Indices of `f`, which takes a point of the open unit cube of `dimensions`. `None` when there are too many dimensions (two
/// coordinates each must fit in [`DIMENSIONS`]), fewer than two shifts, or `f` does not vary or is not finite.
pub fn indices(
    dimensions: usize,
    groups: &[Group],
    plan: &Plan,
    f: &mut dyn FnMut(&[f64]) -> f64,
) -> Option<Indices> {
    if 2 * dimensions > DIMENSIONS || plan.shifts < 2 || plan.points < 2 {
        return None;
    }
    let n = plan.points as f64;
    let mut runs: Vec<Vec<[f64; 2]>> = Vec::new();
    let (mut mean_all, mut variance_all) = (0.0, 0.0);
    for shift in 0..plan.shifts {
        let mut sobol = Sobol::shifted(2 * dimensions, plan.seed, shift as u64)?;
        let mut rows = Vec::with_capacity(plan.points);
        for _ in 0..plan.points {
            let point = sobol.point();
            let (a, b) = point.split_at(dimensions);
            let (fa, fb) = (f(a), f(b));
            let mut mixed = a.to_vec();
            let crossed: Vec<f64> = groups
                .iter()
                .map(|g| {
                    g.iter().for_each(|j| mixed[*j] = b[*j]);
                    let value = f(&mixed);
                    g.iter().for_each(|j| mixed[*j] = a[*j]);
                    value
                })
                .collect();
            rows.push((fa, fb, crossed));
        }
        let mean = rows.iter().map(|(a, b, _)| a + b).sum::<f64>() / (2.0 * n);
        let variance =
            rows.iter().map(|(a, b, _)| (a - mean) * (a - mean) + (b - mean) * (b - mean)).sum::<f64>()
                / (2.0 * n - 1.0);
        if !(variance > 0.0 && variance.is_finite()) {
            return None;
        }
        mean_all += mean / plan.shifts as f64;
        variance_all += variance / plan.shifts as f64;
        // Values less their mean: the product in the first order is then free of the square of it.
        runs.push(
            (0..groups.len())
                .map(|i| {
                    let first = rows.iter().map(|(a, b, c)| (b - mean) * (c[i] - a)).sum::<f64>() / n;
                    let total = rows.iter().map(|(a, _, c)| (a - c[i]) * (a - c[i])).sum::<f64>() / (2.0 * n);
                    [first / variance, total / variance]
                })
                .collect(),
        );
    }
    let shifts = plan.shifts as f64;
    let of = (0..groups.len())
        .map(|i| {
            let gathered = |k: usize| {
                let mean = runs.iter().map(|r| r[i][k]).sum::<f64>() / shifts;
                let squares = runs.iter().map(|r| (r[i][k] - mean) * (r[i][k] - mean)).sum::<f64>();
                (mean, (squares / (shifts - 1.0) / shifts).sqrt())
            };
            let ((first, first_error), (total, total_error)) = (gathered(0), gathered(1));
            Index { first, first_error, total, total_error }
        })
        .collect();
    let evaluations = plan.shifts * plan.points * (2 + groups.len());
    Some(Indices { of, mean: mean_all, variance: variance_all, evaluations })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    const PLAN: Plan = Plan { points: 1024, shifts: 16, seed: 1 };

    fn alone(count: usize) -> Vec<Group> {
        (0..count).map(|i| vec![i]).collect()
    }

    fn within(i: &Index, first: f64, total: f64) {
        assert!((i.first - first).abs() < 4.0 * i.first_error + 1e-3, "{i:?} {first}");
        assert!((i.total - total).abs() < 4.0 * i.total_error + 1e-3, "{i:?} {total}");
        assert!(i.first_error < 0.01 && i.total_error < 0.01, "{i:?}");
    }

    /// Closed form: Ishigami & Homma 1990 (ISUMA '90, 398) with a = 7, b = 0.1; the values usually printed are first order 0.314,
    /// 0.442, 0 and total 0.558, 0.442, 0.244.
    #[test]
    fn ishigami() {
        let (a, b) = (7.0, 0.1);
        let mut f = |u: &[f64]| {
            let x: Vec<f64> = u.iter().map(|u| PI * (2.0 * u - 1.0)).collect();
            let s = libm::sin(x[1]);
            libm::sin(x[0]) + a * s * s + b * x[2].powi(4) * libm::sin(x[0])
        };
        let found = indices(3, &alone(3), &PLAN, &mut f).unwrap();
        let v1 = 0.5 * (1.0 + b * PI.powi(4) / 5.0) * (1.0 + b * PI.powi(4) / 5.0);
        let v2 = a * a / 8.0;
        let v13 = b * b * PI.powi(8) * (1.0 / 18.0 - 1.0 / 50.0);
        let v = v1 + v2 + v13;
        assert!(((v1 / v - 0.3139).abs() < 5e-5) && ((v2 / v - 0.4424).abs() < 5e-5));
        assert!((found.variance / v - 1.0).abs() < 0.01 && (found.mean - a / 2.0).abs() < 0.02);
        within(&found.of[0], v1 / v, (v1 + v13) / v);
        within(&found.of[1], v2 / v, v2 / v);
        within(&found.of[2], 0.0, v13 / v);
        assert_eq!(found.evaluations, 16 * 1024 * 5);
    }

    /// Closed form: Sobol's g-function Π (|4u − 2| + aᵢ)/(1 + aᵢ), Vᵢ = 1/(3 (1 + aᵢ)²), V = Π(1 + Vᵢ) − 1.
    #[test]
    fn g_function() {
        let a = [0.0, 1.0, 4.5, 9.0, 99.0];
        let mut f =
            |u: &[f64]| u.iter().zip(a).map(|(u, a)| ((4.0 * u - 2.0).abs() + a) / (1.0 + a)).product();
        let found = indices(5, &alone(5), &PLAN, &mut f).unwrap();
        let v: Vec<f64> = a.iter().map(|a| 1.0 / (3.0 * (1.0 + a) * (1.0 + a))).collect();
        let all: f64 = v.iter().map(|v| 1.0 + v).product::<f64>();
        for (i, vi) in v.iter().enumerate() {
            within(&found.of[i], vi / (all - 1.0), vi * all / (1.0 + vi) / (all - 1.0));
        }
        // Taken together, two inputs have what each has and what they have in common.
        let two = indices(5, &[vec![0, 1], vec![2, 3, 4]], &PLAN, &mut f).unwrap();
        within(&two.of[0], (v[0] + v[1] + v[0] * v[1]) / (all - 1.0), 1.0 - two.of[1].first);
    }

    #[test]
    fn what_cannot_be_shared_is_refused() {
        assert!(indices(3, &alone(3), &PLAN, &mut |_| 1.0).is_none());
        assert!(indices(40, &alone(40), &PLAN, &mut |u| u[0]).is_none());
    }
}

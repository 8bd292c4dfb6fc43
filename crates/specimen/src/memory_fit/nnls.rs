//! Least squares, and least squares with every unknown at least 0.

/// Makes `|Σ xⱼ aⱼ − b|` least, by Householder reflections; a column that depends on those before it gets 0.
pub(super) fn least_squares(columns: &[&[f64]], b: &[f64]) -> Vec<f64> {
    let mut a: Vec<Vec<f64>> = columns.iter().map(|c| c.to_vec()).collect();
    let mut b = b.to_vec();
    let n = a.len();
    let mut diagonal = vec![0.0; n];
    let mut row = 0;
    let mut rows = vec![None; n];
    for k in 0..n {
        let whole = norm(&a[k]);
        let part = norm(&a[k][row.min(b.len())..]);
        if row >= b.len() || part <= 1e-14 * whole {
            continue;
        }
        let alpha = if a[k][row] > 0.0 { -part } else { part };
        let mut v = a[k][row..].to_vec();
        v[0] -= alpha;
        let vv: f64 = v.iter().map(|x| x * x).sum();
        for other in a[k + 1..].iter_mut().chain(std::iter::once(&mut b)) {
            let tail = &mut other[row..];
            let f = 2.0 * dot(&v, tail) / vv;
            tail.iter_mut().zip(&v).for_each(|(x, y)| *x -= f * y);
        }
        diagonal[k] = alpha;
        rows[k] = Some(row);
        row += 1;
    }
    let mut x = vec![0.0; n];
    for k in (0..n).rev() {
        let Some(row) = rows[k] else { continue };
        let known: f64 = (k + 1..n).map(|j| a[j][row] * x[j]).sum();
        x[k] = (b[row] - known) / diagonal[k];
    }
    x
}

/// Makes `|Σ xⱼ aⱼ − b|` least with every `xⱼ ≥ 0`.
///
/// Source: Lawson & Hanson 1974, Solving Least Squares Problems, chapter 23 (active set; from memory). Columns are scaled to
/// length 1 first. Guard: `tests::the_least_one_obeys_its_conditions`.
pub(super) fn nonnegative(columns: &[Vec<f64>], b: &[f64]) -> Vec<f64> {
    let n = columns.len();
    let sizes: Vec<f64> = columns.iter().map(|c| norm(c)).collect();
    let unit: Vec<Vec<f64>> = columns
        .iter()
        .zip(&sizes)
        .map(|(c, s)| c.iter().map(|x| if *s > 0.0 { x / s } else { 0.0 }).collect())
        .collect();
    let mut x = vec![0.0; n];
    let mut used = vec![false; n];
    let enough = 1e-14 * norm(b);
    for _ in 0..10 * n + 10 {
        let left = residual(&unit, &x, b);
        let mut pulls: Vec<(usize, f64)> = (0..n)
            .filter(|j| !used[*j])
            .map(|j| (j, dot(&unit[j], &left)))
            .filter(|p| p.1 > enough)
            .collect();
        pulls.sort_by(|p, q| q.1.total_cmp(&p.1).then(p.0.cmp(&q.0)));
        // A column whose own unknown would at once be negative again only seems to pull.
        let taken = pulls.into_iter().find_map(|(j, _)| {
            used[j] = true;
            let trial = on(&unit, &used, b);
            if trial[j] > 0.0 {
                return Some(trial);
            }
            used[j] = false;
            None
        });
        let Some(mut trial) = taken else { break };
        while (0..n).any(|j| used[j] && trial[j] <= 0.0) {
            let reach = (0..n)
                .filter(|j| used[*j] && trial[*j] <= 0.0)
                .map(|j| x[j] / (x[j] - trial[j]))
                .fold(1.0, f64::min);
            for j in (0..n).filter(|j| used[*j]) {
                x[j] += reach * (trial[j] - x[j]);
            }
            let mut freed = false;
            for j in 0..n {
                if used[j] && trial[j] <= 0.0 && x[j] <= 1e-15 {
                    (x[j], used[j], freed) = (0.0, false, true);
                }
            }
            if !freed {
                // The smallest of those that stop the move goes, whatever rounding left of it.
                let first =
                    (0..n).filter(|j| used[*j] && trial[*j] <= 0.0).min_by(|i, j| x[*i].total_cmp(&x[*j]));
                if let Some(j) = first {
                    (x[j], used[j]) = (0.0, false);
                }
            }
            trial = on(&unit, &used, b);
        }
        let better = norm(&residual(&unit, &trial, b)) < norm(&left);
        x = trial;
        if !better {
            break;
        }
    }
    x.iter().zip(&sizes).map(|(x, s)| if *s > 0.0 { x / s } else { 0.0 }).collect()
}

/// Least squares with the columns in use.
fn on(columns: &[Vec<f64>], used: &[bool], b: &[f64]) -> Vec<f64> {
    let at: Vec<usize> = (0..columns.len()).filter(|j| used[*j]).collect();
    let some: Vec<&[f64]> = at.iter().map(|j| &columns[*j][..]).collect();
    let mut x = vec![0.0; columns.len()];
    for (j, value) in at.into_iter().zip(least_squares(&some, b)) {
        x[j] = value;
    }
    x
}

/// `b − Σ xⱼ aⱼ`.
pub(super) fn residual(columns: &[Vec<f64>], x: &[f64], b: &[f64]) -> Vec<f64> {
    let mut left = b.to_vec();
    for (c, x) in columns.iter().zip(x).filter(|(_, x)| **x != 0.0) {
        left.iter_mut().zip(c).for_each(|(l, a)| *l -= x * a);
    }
    left
}

pub(super) fn norm(x: &[f64]) -> f64 {
    dot(x, x).sqrt()
}

fn dot(x: &[f64], y: &[f64]) -> f64 {
    x.iter().zip(y).map(|(x, y)| x * y).sum()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// A line through four points: closed form.
    #[test]
    fn a_line_through_points() {
        let x = least_squares(&[&[1.0; 4], &[0.0, 1.0, 2.0, 3.0]], &[1.0, 3.0, 5.0, 7.0]);
        assert!((x[0] - 1.0).abs() < 1e-14 && (x[1] - 2.0).abs() < 1e-14, "{x:?}");
        let twice = least_squares(&[&[1.0, 2.0], &[2.0, 4.0]], &[3.0, 6.0]);
        assert!((twice[0] - 3.0).abs() < 1e-14 && twice[1] == 0.0, "{twice:?}");
    }

    proptest! {
        /// Conditions of Karush, Kuhn and Tucker: gradient 0 where x > 0, not downhill where x = 0.
        #[test]
        fn the_least_one_obeys_its_conditions(
            entries in proptest::collection::vec(-1.0..1.0f64, 40),
            b in proptest::collection::vec(-1.0..1.0f64, 8),
        ) {
            let columns: Vec<Vec<f64>> = entries.chunks(8).map(<[f64]>::to_vec).collect();
            let x = nonnegative(&columns, &b);
            let left = residual(&columns, &x, &b);
            for (c, x) in columns.iter().zip(&x) {
                let pull = dot(c, &left);
                prop_assert!(*x >= 0.0 && pull < 1e-10, "{x} {pull}");
                prop_assert!(*x == 0.0 || pull.abs() < 1e-10, "{x} {pull}");
            }
        }
    }
}

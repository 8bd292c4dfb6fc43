//! Small dense systems.

/// Solves the symmetric positive definite `a x = b` after scaling its diagonal to 1; `None` when it is not definite.
pub(super) fn solve(mut a: Vec<Vec<f64>>, b: &[f64]) -> Option<Vec<f64>> {
    let n = b.len();
    let scale: Vec<f64> = (0..n).map(|i| 1.0 / a[i][i].sqrt()).collect();
    let mut x: Vec<f64> = (0..n).map(|i| b[i] * scale[i]).collect();
    for i in 0..n {
        for j in 0..n {
            a[i][j] *= scale[i] * scale[j];
        }
    }
    for j in 0..n {
        let pivot = a[j][j];
        if !(pivot > 1e-15 && pivot.is_finite()) {
            return None;
        }
        for i in j + 1..n {
            let l = a[i][j] / pivot;
            for k in j + 1..=i {
                a[i][k] -= l * a[k][j];
            }
            x[i] -= l * x[j];
        }
        // Column j below the pivot still holds pivot·l, for the sweep back.
    }
    for j in (0..n).rev() {
        let below: f64 = (j + 1..n).map(|i| a[i][j] * x[i]).sum();
        x[j] = (x[j] - below) / a[j][j];
    }
    Some(x.iter().zip(&scale).map(|(v, s)| v * s).collect())
}

/// The columns of L⁻ᵀ for the symmetric positive definite `a` = L Lᵀ; `None` when it is not definite.
pub(super) fn inverse_root(a: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let n = a.len();
    let scale: Vec<f64> = (0..n).map(|i| 1.0 / a[i][i].sqrt()).collect();
    let mut l = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
            let rest = a[i][j] * scale[i] * scale[j] - sum;
            if i != j {
                l[i][j] = rest / l[j][j];
            } else if rest > 1e-15 && rest.is_finite() {
                l[i][i] = rest.sqrt();
            } else {
                return None;
            }
        }
    }
    let column = |k: usize| {
        let mut x = vec![0.0; n];
        for i in (0..=k).rev() {
            let sum: f64 = (i + 1..=k).map(|j| l[j][i] * x[j]).sum();
            x[i] = (f64::from(u8::from(i == k)) - sum) / l[i][i];
        }
        x.iter().zip(&scale).map(|(v, s)| v * s).collect()
    };
    Some((0..n).map(column).collect())
}

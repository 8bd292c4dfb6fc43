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

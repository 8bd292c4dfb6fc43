//! Coefficients of the three-stage Radau IIA method (order 5, L-stable) and of its diagonal form.
//!
//! Source: Hairer & Wanner 1996, "Solving Ordinary Differential Equations II", table IV.5.6 and section IV.8; the
//! eigenvectors are computed here from the coefficients.

/// Stages.
pub const STAGES: usize = 3;

/// A complex number, `[re, im]`.
pub type Complex = [f64; 2];

/// Nodes, inverse coefficients and their diagonal form.
#[derive(Clone, Debug)]
pub struct Radau {
    /// Nodes c; the last is 1.
    pub c: [f64; 3],
    /// Weights b (the last row of A).
    pub b: [f64; 3],
    /// A⁻¹.
    pub w: [[f64; 3]; 3],
    /// A⁻¹ A⁻¹.
    pub ww: [[f64; 3]; 3],
    /// A⁻¹ 1.
    pub w1: [f64; 3],
    /// Real eigenvalue of A⁻¹.
    pub gamma: f64,
    /// Complex eigenvalue of A⁻¹ with positive imaginary part.
    pub lambda: Complex,
    /// Right eigenvectors: `z = real · ẑ₀ + 2 Re(complex · ẑ₁)`.
    pub real: [f64; 3],
    /// See `real`.
    pub complex: [Complex; 3],
    /// Left eigenvectors: `ẑ₀ = left_real · z`.
    pub left_real: [f64; 3],
    /// `ẑ₁ = left_complex · z`.
    pub left_complex: [Complex; 3],
    /// Weights of the embedded error estimate.
    pub error: [f64; 3],
}

fn mul(a: Complex, b: Complex) -> Complex {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}

fn sub(a: Complex, b: Complex) -> Complex {
    [a[0] - b[0], a[1] - b[1]]
}

fn div(a: Complex, b: Complex) -> Complex {
    let m = b[0] * b[0] + b[1] * b[1];
    mul(a, [b[0] / m, -b[1] / m])
}

fn cross(a: [Complex; 3], b: [Complex; 3]) -> [Complex; 3] {
    std::array::from_fn(|i| {
        let (j, k) = ((i + 1) % 3, (i + 2) % 3);
        sub(mul(a[j], b[k]), mul(a[k], b[j]))
    })
}

/// Right and left eigenvectors of `w` for `lambda`, scaled so that their product is one.
fn eigenvectors(w: &[[f64; 3]; 3], lambda: Complex) -> ([Complex; 3], [Complex; 3]) {
    let shifted = |i: usize, j: usize| sub([w[i][j], 0.0], if i == j { lambda } else { [0.0; 2] });
    let row = |i: usize| std::array::from_fn(|j| shifted(i, j));
    let column = |j: usize| std::array::from_fn(|i| shifted(i, j));
    let right = cross(row(0), row(1));
    let left = cross(column(0), column(1));
    let product = (0..3).fold([0.0; 2], |s, i| {
        let p = mul(left[i], right[i]);
        [s[0] + p[0], s[1] + p[1]]
    });
    (right, left.map(|l| div(l, product)))
}

impl Default for Radau {
    fn default() -> Self {
        let r = 6.0_f64.sqrt();
        let a = [
            [(88.0 - 7.0 * r) / 360.0, (296.0 - 169.0 * r) / 1800.0, (-2.0 + 3.0 * r) / 225.0],
            [(296.0 + 169.0 * r) / 1800.0, (88.0 + 7.0 * r) / 360.0, (-2.0 - 3.0 * r) / 225.0],
            [(16.0 - r) / 36.0, (16.0 + r) / 36.0, 1.0 / 9.0],
        ];
        let minor = |i: usize, j: usize| {
            let (p, q) = ((i + 1) % 3, (i + 2) % 3);
            let (s, t) = ((j + 1) % 3, (j + 2) % 3);
            a[p][s] * a[q][t] - a[p][t] * a[q][s]
        };
        let det: f64 = (0..3).map(|j| a[0][j] * minor(0, j)).sum();
        let w: [[f64; 3]; 3] = std::array::from_fn(|i| std::array::from_fn(|j| minor(j, i) / det));
        let ww = std::array::from_fn(|i| std::array::from_fn(|j| (0..3).map(|k| w[i][k] * w[k][j]).sum()));
        // Eigenvalues of A⁻¹: roots of λ³ − 9 λ² + 36 λ − 60 (the stability function's denominator).
        let mut gamma = 3.64_f64;
        for _ in 0..8 {
            let p = ((gamma - 9.0) * gamma + 36.0) * gamma - 60.0;
            gamma -= p / ((3.0 * gamma - 18.0) * gamma + 36.0);
        }
        // The other two have the sum 9 − γ and the product 60/γ.
        let half = 0.5 * (9.0 - gamma);
        let lambda = [half, (60.0 / gamma - half * half).sqrt()];
        let (real, left_real) = eigenvectors(&w, [gamma, 0.0]);
        let (complex, left_complex) = eigenvectors(&w, lambda);
        Self {
            c: [0.1 * (4.0 - r), 0.1 * (4.0 + r), 1.0],
            b: a[2],
            w,
            ww,
            w1: w.map(|row| row.iter().sum()),
            gamma,
            lambda,
            real: real.map(|v| v[0]),
            complex,
            left_real: left_real.map(|v| v[0]),
            left_complex,
            error: [-(13.0 + 7.0 * r) / 3.0, (-13.0 + 7.0 * r) / 3.0, -1.0 / 3.0],
        }
    }
}

impl Radau {
    /// Values at the share `x` of the step of the polynomials that are 0 at 0 and 1 at one node, 0 at the others:
    /// the collocation polynomial of increments, for x within and beyond the step.
    pub fn shape(&self, x: f64) -> [f64; 3] {
        let c = self.c;
        std::array::from_fn(|i| {
            let (j, k) = ((i + 1) % 3, (i + 2) % 3);
            x * (x - c[j]) * (x - c[k]) / (c[i] * (c[i] - c[j]) * (c[i] - c[k]))
        })
    }

    /// Derivatives of [`Radau::shape`].
    pub fn slope(&self, x: f64) -> [f64; 3] {
        let c = self.c;
        std::array::from_fn(|i| {
            let (j, k) = ((i + 1) % 3, (i + 2) % 3);
            let d = c[i] * (c[i] - c[j]) * (c[i] - c[k]);
            ((x - c[j]) * (x - c[k]) + x * (x - c[k]) + x * (x - c[j])) / d
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: A⁻¹ put together from its eigenvectors; eigenvalues as printed by Hairer & Wanner 1996, section
    /// IV.8 (from memory: 3.6378, 2.6811 ± 3.0504 i).
    #[test]
    fn the_diagonal_form_gives_the_matrix_back() {
        let r = Radau::default();
        assert!((r.gamma - 3.6378).abs() < 1e-4);
        assert!((r.lambda[0] - 2.6811).abs() < 1e-4 && (r.lambda[1] - 3.0504).abs() < 1e-4);
        for i in 0..3 {
            for j in 0..3 {
                let pair = mul(mul(r.lambda, r.complex[i]), r.left_complex[j]);
                let made = r.gamma * r.real[i] * r.left_real[j] + 2.0 * pair[0];
                assert!((made - r.w[i][j]).abs() < 1e-12, "{i} {j}: {made} {}", r.w[i][j]);
            }
        }
    }

    /// Closed form: the collocation polynomial of degree 3 repeats x, x², x³ and their slopes.
    #[test]
    fn the_collocation_polynomial_repeats_cubics() {
        let r = Radau::default();
        for p in 1..=3 {
            for x in [0.3, 1.0, 1.4] {
                let (n, d) = (r.shape(x), r.slope(x));
                let at = |w: &[f64; 3]| -> f64 { (0..3).map(|i| w[i] * r.c[i].powi(p)).sum() };
                assert!((at(&n) - x.powi(p)).abs() < 1e-13);
                assert!((at(&d) - f64::from(p) * x.powi(p - 1)).abs() < 1e-12);
            }
        }
    }
}

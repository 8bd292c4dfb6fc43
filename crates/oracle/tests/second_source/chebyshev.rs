//! Two-point boundary-value problems by Chebyshev collocation: dense, simple, spectrally accurate,
//! and sharing nothing with the finite elements it checks.

use std::f64::consts::PI;

/// `y′ = slope(s, y, p)` with as many conditions on both ends as unknowns; `p` a free parameter.
pub(crate) trait Problem {
    /// Number of unknown functions.
    fn unknowns(&self) -> usize;
    /// Right-hand side, never asked for at the first node (where it may be singular).
    fn slope(&self, s: f64, y: &[f64], p: f64, out: &mut [f64]);
    /// Conditions, zero when met.
    fn conditions(&self, first: &[f64], last: &[f64], p: f64, out: &mut [f64]);
}

/// Solution at the nodes, node by node.
#[derive(Clone)]
pub(crate) struct Solution {
    pub(crate) y: Vec<f64>,
    pub(crate) p: f64,
}

/// Nodes, differentiation matrix and quadrature weights on an interval.
pub(crate) struct Grid {
    pub(crate) s: Vec<f64>,
    derivative: Vec<Vec<f64>>,
    weights: Vec<f64>,
}

impl Grid {
    /// `n + 1` Chebyshev–Lobatto nodes from `a` to `b`.
    pub(crate) fn new(a: f64, b: f64, n: usize) -> Self {
        let angle = |k: usize| PI * k as f64 / n as f64;
        let x: Vec<f64> = (0..=n).map(|k| -libm::cos(angle(k))).collect();
        let c = |k: usize| if k == 0 || k == n { 2.0 } else { 1.0 };
        let sign = |k: usize| if k.is_multiple_of(2) { 1.0 } else { -1.0 };
        let scale = 2.0 / (b - a);
        let mut derivative = vec![vec![0.0; n + 1]; n + 1];
        for i in 0..=n {
            for j in 0..=n {
                if i != j {
                    // x_i − x_j from the sine of half sums keeps every digit
                    let gap =
                        2.0 * libm::sin(0.5 * (angle(i) + angle(j))) * libm::sin(0.5 * (angle(i) - angle(j)));
                    derivative[i][j] = scale * c(i) / c(j) * sign(i + j) / gap;
                }
            }
            derivative[i][i] = -derivative[i].iter().sum::<f64>(); // constants are differentiated exactly
        }
        let weights = (0..=n)
            .map(|k| {
                let sum: f64 = (1..=n / 2)
                    .map(|j| {
                        let b = if 2 * j == n { 1.0 } else { 2.0 };
                        b / (4.0 * (j * j) as f64 - 1.0) * libm::cos(2.0 * j as f64 * angle(k))
                    })
                    .sum();
                (1.0 - sum) * 2.0 / (c(k) * n as f64) / scale
            })
            .collect();
        let s = x.iter().map(|x| a + (x + 1.0) / scale).collect();
        Self { s, derivative, weights }
    }

    /// Integral of nodal values (Clenshaw–Curtis).
    pub(crate) fn integrate(&self, values: impl Iterator<Item = f64>) -> f64 {
        self.weights.iter().zip(values).map(|(w, v)| w * v).sum()
    }

    /// Value at `at` of the interpolant of nodal values (barycentric).
    pub(crate) fn interpolate(&self, values: &[f64], at: f64) -> f64 {
        let n = self.s.len() - 1;
        let (mut above, mut below) = (0.0, 0.0);
        for (k, (&s, &v)) in self.s.iter().zip(values).enumerate() {
            if s == at {
                return v;
            }
            let half = if k == 0 || k == n { 0.5 } else { 1.0 };
            let w = half * if k.is_multiple_of(2) { 1.0 } else { -1.0 } / (at - s);
            above += w * v;
            below += w;
        }
        above / below
    }

    fn residual(&self, problem: &dyn Problem, now: &Solution) -> Vec<f64> {
        let (m, nodes) = (problem.unknowns(), self.s.len());
        let mut out = vec![0.0; m * nodes];
        let mut slope = vec![0.0; m];
        for i in 1..nodes {
            problem.slope(self.s[i], &now.y[m * i..m * (i + 1)], now.p, &mut slope);
            for a in 0..m {
                let dy: f64 = (0..nodes).map(|j| self.derivative[i][j] * now.y[m * j + a]).sum();
                out[m * i + a] = dy - slope[a];
            }
        }
        problem.conditions(&now.y[..m], &now.y[m * (nodes - 1)..], now.p, &mut out[..m]);
        out
    }

    /// Jacobian with a last column for `p`; the local slopes are differenced (Newton only needs them
    /// to be good, the residual decides what is a solution).
    fn jacobian(&self, problem: &dyn Problem, now: &Solution) -> Vec<Vec<f64>> {
        let (m, nodes) = (problem.unknowns(), self.s.len());
        let size = m * nodes;
        let mut jac = vec![vec![0.0; size + 1]; size];
        let (mut up, mut down) = (vec![0.0; m], vec![0.0; m]);
        for i in 1..nodes {
            for a in 0..m {
                for j in 0..nodes {
                    jac[m * i + a][m * j + a] = self.derivative[i][j];
                }
            }
            let here = &now.y[m * i..m * (i + 1)];
            for b in 0..=m {
                let (mut plus, mut minus) = (here.to_vec(), here.to_vec());
                let (mut p_plus, mut p_minus) = (now.p, now.p);
                let step = 1e-6 * if b < m { 1.0 + here[b].abs() } else { now.p.abs() };
                if b < m {
                    plus[b] += step;
                    minus[b] -= step;
                } else {
                    p_plus += step;
                    p_minus -= step;
                }
                problem.slope(self.s[i], &plus, p_plus, &mut up);
                problem.slope(self.s[i], &minus, p_minus, &mut down);
                let column = if b < m { m * i + b } else { size };
                for a in 0..m {
                    jac[m * i + a][column] -= (up[a] - down[a]) / (2.0 * step);
                }
            }
        }
        let last = m * (nodes - 1);
        for b in 0..2 * m {
            let mut first = now.y[..m].to_vec();
            let mut end = now.y[last..].to_vec();
            let side = |d: f64, first: &mut [f64], end: &mut [f64]| {
                if b < m { first[b] += d } else { end[b - m] += d }
            };
            side(1e-6, &mut first, &mut end);
            problem.conditions(&first, &end, now.p, &mut up);
            side(-2e-6, &mut first, &mut end);
            problem.conditions(&first, &end, now.p, &mut down);
            let column = if b < m { b } else { last + b - m };
            for a in 0..m {
                jac[a][column] += (up[a] - down[a]) / 2e-6;
            }
        }
        let (first, end, step) = (&now.y[..m], &now.y[last..], 1e-6 * now.p.abs());
        problem.conditions(first, end, now.p + step, &mut up);
        problem.conditions(first, end, now.p - step, &mut down);
        for a in 0..m {
            jac[a][size] += (up[a] - down[a]) / (2.0 * step);
        }
        jac
    }

    /// Newton's method at fixed `p`. Panics when it does not converge: a test cannot go on without.
    pub(crate) fn solve(&self, problem: &dyn Problem, start: Solution) -> Solution {
        let mut now = start;
        for _ in 0..60 {
            let minus: Vec<f64> = self.residual(problem, &now).iter().map(|r| -r).collect();
            let mut jac = self.jacobian(problem, &now);
            jac.iter_mut().for_each(|row| row.truncate(minus.len()));
            let step = solve_dense(jac, minus);
            let size = now.y.iter().fold(1e-300_f64, |a, y| a.max(y.abs()));
            let longest = step.iter().fold(0.0_f64, |a, d| a.max(d.abs()));
            let damp = (0.3 * size / longest).min(1.0); // far from the solution: short steps
            now.y.iter_mut().zip(&step).for_each(|(y, d)| *y += damp * d);
            if longest < 1e-11 * size {
                return now;
            }
        }
        panic!("collocation did not converge");
    }

    /// Newton's method with `p` free and unknown number `index` held at `value`; the slope dp/dvalue.
    pub(crate) fn solve_held(
        &self,
        problem: &dyn Problem,
        start: Solution,
        index: usize,
        value: f64,
    ) -> (Solution, f64) {
        let mut now = start;
        let size = now.y.len();
        for _ in 0..60 {
            let bordered = |now: &Solution| {
                let mut jac = self.jacobian(problem, now);
                let mut row = vec![0.0; size + 1];
                row[index] = 1.0;
                jac.push(row);
                jac
            };
            let mut minus: Vec<f64> = self.residual(problem, &now).iter().map(|r| -r).collect();
            minus.push(value - now.y[index]);
            let step = solve_dense(bordered(&now), minus);
            now.y.iter_mut().zip(&step).for_each(|(y, d)| *y += d);
            now.p += step[size];
            let longest = step[..size].iter().fold(0.0_f64, |a, d| a.max(d.abs()));
            if longest < 1e-11 && step[size].abs() < 1e-12 * now.p.abs() {
                let mut unit = vec![0.0; size + 1];
                unit[size] = 1.0;
                let tangent = solve_dense(bordered(&now), unit);
                return (now, tangent[size]);
            }
        }
        panic!("collocation with a held unknown did not converge");
    }

    /// The fold of `p` met on the way as unknown `index` goes from its value in `start` by `step`s.
    pub(crate) fn fold(&self, problem: &dyn Problem, start: Solution, index: usize, step: f64) -> Solution {
        let mut low = start.y[index];
        let (mut now, mut low_slope) = self.solve_held(problem, start, index, low);
        for _ in 0..200 {
            let (next, slope) = self.solve_held(problem, now.clone(), index, low + step);
            if slope * low_slope <= 0.0 {
                return self.refine_fold(problem, next, index, (low, low_slope), (low + step, slope));
            }
            (now, low, low_slope) = (next, low + step, slope);
        }
        panic!("no fold was met");
    }

    /// Illinois variant of the false position on the slope.
    fn refine_fold(
        &self,
        problem: &dyn Problem,
        near: Solution,
        index: usize,
        mut a: (f64, f64),
        mut b: (f64, f64),
    ) -> Solution {
        let mut now = near;
        for _ in 0..60 {
            let value = b.0 - b.1 * (b.0 - a.0) / (b.1 - a.1);
            let moved = (value - b.0).abs().min((value - a.0).abs());
            let (next, slope) = self.solve_held(problem, now, index, value);
            now = next;
            if moved < 1e-9 || slope == 0.0 {
                return now; // the parameter is stationary here: its error is of second order
            }
            if slope * b.1 < 0.0 {
                a = b
            } else {
                a.1 *= 0.5
            }
            b = (value, slope);
        }
        panic!("the fold was not refined");
    }
}

/// Gaussian elimination with partial pivoting.
fn solve_dense(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Vec<f64> {
    let n = b.len();
    for k in 0..n {
        let pivot = (k..n).max_by(|&i, &j| a[i][k].abs().total_cmp(&a[j][k].abs())).unwrap_or(k);
        a.swap(k, pivot);
        b.swap(k, pivot);
        let (done, rest) = a.split_at_mut(k + 1);
        let row = &done[k];
        for (i, other) in rest.iter_mut().enumerate() {
            let factor = other[k] / row[k];
            if factor != 0.0 {
                for j in k..n {
                    other[j] -= factor * row[j];
                }
                b[k + 1 + i] -= factor * b[k];
            }
        }
    }
    for k in (0..n).rev() {
        let sum: f64 = (k + 1..n).map(|j| a[k][j] * b[j]).sum();
        b[k] = (b[k] - sum) / a[k][k];
    }
    b
}

#[test]
fn grid_differentiates_integrates_and_interpolates() {
    let grid = Grid::new(0.5, 2.0, 24);
    let values: Vec<f64> = grid.s.iter().map(|s| libm::exp(*s)).collect();
    for (i, s) in grid.s.iter().enumerate() {
        let slope: f64 = grid.derivative[i].iter().zip(&values).map(|(d, v)| d * v).sum();
        assert!((slope - libm::exp(*s)).abs() < 1e-11);
    }
    let exact = libm::exp(2.0) - libm::exp(0.5);
    assert!((grid.integrate(values.iter().copied()) - exact).abs() < 1e-14);
    assert!((grid.interpolate(&values, 1.234) - libm::exp(1.234)).abs() < 1e-14);
}

//! Symmetric banded matrices and their LDLᵀ factorisation without pivoting, with inertia.

/// A symmetric matrix with `half` sub-diagonals. Column `j` of the lower triangle is contiguous:
/// entry `(j + k, j)` lies at `data[j·(half+1) + k]`.
#[derive(Clone, Debug)]
pub struct Band {
    size: usize,
    half: usize,
    // `half` columns of zeros follow the last one so that the inner loops need no end test.
    data: Vec<f64>,
}

/// A pivot too small to divide by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ZeroPivot {
    /// Row of the pivot.
    pub row: usize,
    /// Its value.
    pub pivot: f64,
}

impl Band {
    /// A zero matrix of `size` rows with `half` sub-diagonals.
    pub fn new(size: usize, half: usize) -> Self {
        Self { size, half, data: vec![0.0; (size + half) * (half + 1)] }
    }

    /// Number of rows.
    pub fn size(&self) -> usize {
        self.size
    }

    /// Number of sub-diagonals.
    pub fn half(&self) -> usize {
        self.half
    }

    /// Sets every entry to zero.
    pub fn clear(&mut self) {
        self.data.fill(0.0);
    }

    /// Adds `x` to the entry `(i, j)` (and so to `(j, i)`); needs `i ≥ j` and `i − j ≤ half`.
    #[inline]
    pub fn add(&mut self, i: usize, j: usize, x: f64) {
        debug_assert!(i >= j && i - j <= self.half && i < self.size);
        self.data[j * (self.half + 1) + i - j] += x;
    }

    /// Entry `(i, j)`, zero outside the band.
    pub fn get(&self, i: usize, j: usize) -> f64 {
        let (i, j) = if i >= j { (i, j) } else { (j, i) };
        if i - j > self.half { 0.0 } else { self.data[j * (self.half + 1) + i - j] }
    }

    /// The stored columns, `half + 1` entries each.
    pub fn data(&self) -> &[f64] {
        &self.data
    }

    /// The stored columns for writing.
    pub fn data_mut(&mut self) -> &mut [f64] {
        &mut self.data
    }

    /// `self += c · other`; both of one shape.
    pub fn add_scaled(&mut self, c: f64, other: &Band) {
        debug_assert!(self.size == other.size && self.half == other.half);
        for (a, b) in self.data.iter_mut().zip(&other.data) {
            *a += c * b;
        }
    }

    /// Adds `c · d[i]` on the diagonal.
    pub fn add_diagonal(&mut self, c: f64, d: &[f64]) {
        for (j, x) in d.iter().enumerate() {
            self.data[j * (self.half + 1)] += c * x;
        }
    }

    /// Takes row and column `j` out: zeros, and `diagonal` on the diagonal.
    pub fn pin(&mut self, j: usize, diagonal: f64) {
        let step = self.half + 1;
        self.data[j * step..(j + 1) * step].fill(0.0);
        for k in 1..=self.half.min(j) {
            self.data[(j - k) * step + k] = 0.0;
        }
        self.data[j * step] = diagonal;
    }

    /// Replaces unknowns: `(xᵢ, xⱼ)_old = T (xᵢ, xⱼ)_new`, so `self ← Tᵀ self T`. Rows `i < j` must reach
    /// the same columns, i.e. belong to one node.
    pub fn congruence(&mut self, i: usize, j: usize, t: [[f64; 2]; 2]) {
        let step = self.half + 1;
        let place = |a: usize, b: usize| if a >= b { b * step + a - b } else { a * step + b - a };
        let [ii, ij, jj] = [self.get(i, i), self.get(i, j), self.get(j, j)];
        for c in j.saturating_sub(self.half)..(i + self.half + 1).min(self.size) {
            if c == i || c == j {
                continue;
            }
            let (a, b) = (self.get(i, c), self.get(j, c));
            self.data[place(i, c)] = t[0][0] * a + t[1][0] * b;
            self.data[place(j, c)] = t[0][1] * a + t[1][1] * b;
        }
        let form = |p: [f64; 2], q: [f64; 2]| p[0] * (ii * q[0] + ij * q[1]) + p[1] * (ij * q[0] + jj * q[1]);
        let (c0, c1) = ([t[0][0], t[1][0]], [t[0][1], t[1][1]]);
        self.data[place(i, i)] = form(c0, c0);
        self.data[place(i, j)] = form(c0, c1);
        self.data[place(j, j)] = form(c1, c1);
    }

    /// `out = self · x`.
    pub fn multiply(&self, x: &[f64], out: &mut [f64]) {
        out.fill(0.0);
        let step = self.half + 1;
        for j in 0..self.size {
            let col = &self.data[j * step..(j + 1) * step];
            let xj = x[j];
            let reach = self.half.min(self.size - 1 - j);
            let below = &col[1..=reach];
            let mut sum = col[0] * xj;
            for ((o, c), v) in out[j + 1..=j + reach].iter_mut().zip(below).zip(&x[j + 1..=j + reach]) {
                *o += c * xj;
                sum += c * v;
            }
            out[j] += sum;
        }
    }

    /// Largest magnitude on the diagonal.
    pub fn largest_diagonal(&self) -> f64 {
        (0..self.size).fold(0.0, |m: f64, j| m.max(self.data[j * (self.half + 1)].abs()))
    }

    /// Factors `self = L D Lᵀ`, L unit lower triangular with the same band, by elimination in the given
    /// order. Cost: `size · half · (half + 3)/2` multiply-adds.
    ///
    /// No rows are exchanged, so the count of negative pivots is the count of negative eigenvalues
    /// (Sylvester's law of inertia) as long as no pivot vanishes; `growth` in the result tells how far
    /// entries grew, and solves are to be refined against the matrix where that matters.
    ///
    /// # Errors
    /// [`ZeroPivot`] when a pivot is not finite, or (but for the last) below 1e-16 of the diagonal entry
    /// that it came from, i.e. pure rounding.
    pub fn factor(self) -> Result<Factor, ZeroPivot> {
        self.factor_up_to(usize::MAX)
    }

    /// The same for a positive definite matrix; given up at the first pivot that is not positive.
    pub fn factor_positive(self) -> Option<Factor> {
        let last = self.size.checked_sub(1)?;
        self.factor_up_to(0).ok().filter(|f| f.pivot(last) > 0.0)
    }

    /// Fails as well once more than `most` pivots are negative.
    fn factor_up_to(self, most: usize) -> Result<Factor, ZeroPivot> {
        let Band { size, half, mut data } = self;
        // The widths the workspace uses are compiled with a constant trip count.
        let found = match half {
            11 => eliminate::<11>(size, &mut data, most),
            17 => eliminate::<17>(size, &mut data, most),
            _ => eliminate_any(size, half, &mut data, most),
        };
        let (negative, growth) = found?;
        let inverse = (0..size).map(|j| 1.0 / data[j * (half + 1)]).collect();
        Ok(Factor { size, half, data, inverse, negative, growth })
    }
}

type Found = Result<(usize, f64), ZeroPivot>;

// The last pivot may be as small as it likes: it divides nothing during elimination, and a limit
// point is exactly the place where it vanishes.
fn check(row: usize, pivot: f64, scale: f64, size: usize) -> Result<(), ZeroPivot> {
    let sound = pivot.is_finite() && pivot.abs() > 1e-300;
    if sound && (row + 1 == size || pivot.abs() > 1e-16 * scale) {
        Ok(())
    } else {
        Err(ZeroPivot { row, pivot })
    }
}

fn eliminate_any(size: usize, half: usize, data: &mut [f64], most: usize) -> Found {
    let step = half + 1;
    let (mut negative, mut growth) = (0, 0.0_f64);
    let diag: Vec<f64> = (0..size).map(|j| data[j * step].abs()).collect();
    for j in 0..size {
        let (head, tail) = data.split_at_mut((j + 1) * step);
        let col = &mut head[j * step..];
        let d = col[0];
        check(j, d, diag[j], size)?;
        negative += usize::from(d < 0.0);
        if negative > most {
            return Err(ZeroPivot { row: j, pivot: d });
        }
        let inv = 1.0 / d;
        for k in 1..=half {
            let l = col[k] * inv;
            let target = &mut tail[(k - 1) * step..(k - 1) * step + step - k];
            for (t, c) in target.iter_mut().zip(&col[k..]) {
                *t -= l * c;
            }
            growth = growth.max((l * col[k]).abs());
        }
        for c in &mut col[1..] {
            *c *= inv;
        }
    }
    Ok((negative, growth))
}

fn eliminate<const W: usize>(size: usize, data: &mut [f64], most: usize) -> Found {
    let step = W + 1;
    let (mut negative, mut growth) = (0, 0.0_f64);
    let mut col = [0.0; 32];
    let diag: Vec<f64> = (0..size).map(|j| data[j * step].abs()).collect();
    for j in 0..size {
        let (head, tail) = data.split_at_mut((j + 1) * step);
        let own = &mut head[j * step..];
        col[..step].copy_from_slice(own);
        let d = col[0];
        check(j, d, diag[j], size)?;
        negative += usize::from(d < 0.0);
        if negative > most {
            return Err(ZeroPivot { row: j, pivot: d });
        }
        let inv = 1.0 / d;
        for k in 1..=W {
            let l = col[k] * inv;
            own[k] = l;
            // A fixed length lets the compiler unroll; entries past the band are zero times l.
            let target = &mut tail[(k - 1) * step..(k - 1) * step + step - k];
            for (t, c) in target.iter_mut().zip(&col[k..step]) {
                *t -= l * c;
            }
            growth = growth.max((l * col[k]).abs());
        }
    }
    Ok((negative, growth))
}

/// `L D Lᵀ` of a [`Band`].
#[derive(Clone, Debug)]
pub struct Factor {
    size: usize,
    half: usize,
    // Column j: pivot, then the sub-diagonal entries of L.
    data: Vec<f64>,
    // Reciprocal pivots: a division in the substitution would stall it.
    inverse: Vec<f64>,
    /// Negative pivots = negative eigenvalues.
    pub negative: usize,
    /// Largest magnitude subtracted from a diagonal entry during elimination.
    pub growth: f64,
}

impl Factor {
    /// Number of rows.
    pub fn size(&self) -> usize {
        self.size
    }

    /// Pivot of row `j`.
    pub fn pivot(&self, j: usize) -> f64 {
        self.data[j * (self.half + 1)]
    }

    /// Solves in place.
    pub fn solve(&self, x: &mut [f64]) {
        self.solve_leading(self.size, x);
    }

    /// Solves with the leading `rows × rows` block, in place; `x[rows..]` is left alone.
    pub fn solve_leading(&self, rows: usize, x: &mut [f64]) {
        match self.half {
            11 => self.substitute::<11>(rows, x),
            17 => self.substitute::<17>(rows, x),
            _ => self.substitute::<0>(rows, x),
        }
    }

    /// Forward and back substitution; `W` is the half-width where it is known, else 0. Away from the end every
    /// column is whole and its length a constant.
    fn substitute<const W: usize>(&self, rows: usize, x: &mut [f64]) {
        let step = self.half + 1;
        let whole = if W > 0 { rows.saturating_sub(W) } else { 0 };
        for j in 0..whole {
            let xj = x[j];
            let col = &self.data[j * step + 1..j * step + 1 + W];
            let target = &mut x[j + 1..j + 1 + W];
            for k in 0..W {
                target[k] -= col[k] * xj;
            }
        }
        for j in whole..rows {
            let xj = x[j];
            let reach = self.half.min(rows - 1 - j);
            let col = &self.data[j * step + 1..j * step + 1 + reach];
            for (t, l) in x[j + 1..j + 1 + reach].iter_mut().zip(col) {
                *t -= l * xj;
            }
        }
        for j in (whole..rows).rev() {
            let reach = self.half.min(rows - 1 - j);
            let col = &self.data[j * step..j * step + 1 + reach];
            let mut sum = x[j] * self.inverse[j];
            for (t, l) in x[j + 1..j + 1 + reach].iter().zip(&col[1..]) {
                sum -= l * t;
            }
            x[j] = sum;
        }
        for j in (0..whole).rev() {
            let col = &self.data[j * step..j * step + 1 + W];
            let known = &x[j + 1..j + 1 + W];
            // Two partial sums: the additions need not wait for each other.
            let mut sums = [0.0; 2];
            for k in 0..W {
                sums[k % 2] += col[k + 1] * known[k];
            }
            x[j] = x[j] * self.inverse[j] - (sums[0] + sums[1]);
        }
    }

    /// The last row of the factored matrix, rebuilt from the factor (zeros outside the band).
    pub fn last_row(&self) -> Vec<f64> {
        let (n, step) = (self.size, self.half + 1);
        let m = n - 1;
        let mut row = vec![0.0; n];
        // Row m of L D Lᵀ: Σ_k L[m][k] d[k] L[i][k].
        let first = m.saturating_sub(self.half);
        let l = |i: usize, k: usize| if i == k { 1.0 } else { self.data[k * step + i - k] };
        for i in first..n {
            row[i] = (first..=i).map(|k| l(m, k) * self.pivot(k) * l(i, k)).sum();
        }
        row
    }

    /// Takes the storage back as a matrix with every entry zero.
    pub fn recycle(self) -> Band {
        let mut b = Band { size: self.size, half: self.half, data: self.data };
        b.clear();
        b
    }
}

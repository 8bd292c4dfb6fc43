//! The lowest eigenpairs of `K x = μ M x`, with counts that prove that none is missing.
//!
//! K and M are symmetric and banded, M is positive semidefinite, and vectors with `K v = 0` may be given. A block of vectors is
//! iterated with one factor of `K − σM` (subspace iteration with Rayleigh–Ritz steps; Bathe & Wilson 1976, "Numerical
//! Methods in Finite Element Analysis", from memory). Multiple and close eigenvalues converge together, since only the gap to
//! the end of the block matters. By Sylvester's law the number of negative pivots of `K − σM` is the number of
//! eigenvalues below σ: as many as there are converged pairs below σ, or the answer is not certified.

use crate::band::{Band, Factor};
use crate::potential::dot;
use crate::work::Work;

/// What is asked for.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// Eigenpairs wanted, null vectors left out.
    pub count: usize,
    /// Relative change of the wanted eigenvalues that ends the iteration.
    pub within: f64,
    /// Iterations allowed.
    pub iterations: u32,
}

impl Default for Settings {
    fn default() -> Self {
        Self { count: 4, within: 1e-12, iterations: 120 }
    }
}

/// One eigenpair.
#[derive(Clone, Debug)]
pub struct Pair {
    /// Eigenvalue.
    pub value: f64,
    /// Eigenvector, M-normalised.
    pub vector: Vec<f64>,
    /// `‖Kx − μMx‖ / (‖Kx‖ + ‖μMx‖)`, Euclidean.
    pub residual: f64,
}

/// The lowest eigenpairs in rising order.
#[derive(Clone, Debug)]
pub struct Spectrum {
    /// The pairs, null vectors left out. At least as many as were asked for, where there are so many: a cluster of equal
    /// eigenvalues is never cut.
    pub pairs: Vec<Pair>,
    /// Where eigenvalues were counted: just beyond the last pair.
    pub counted_at: f64,
    /// Exact number of eigenvalues below it, null vectors included.
    pub counted: usize,
    /// Whether the count is that of the pairs and the null vectors.
    pub certified: bool,
    /// Iterations of the block.
    pub iterations: u32,
}

/// Exact number of eigenvalues below `sigma`; `None` when a pivot vanishes.
pub fn count_below(k: &Band, m: &Band, sigma: f64, work: &mut Work) -> Option<usize> {
    factor(k, m, sigma, work).map(|f| f.negative)
}

/// Finds the lowest `set.count` eigenpairs outside the span of `null` (vectors with `K v = 0`).
///
/// `None` when no shift below the spectrum has a factor, or when the pencil has fewer eigenvalues than were asked for.
pub fn lowest(k: &Band, m: &Band, null: &[Vec<f64>], set: &Settings, work: &mut Work) -> Option<Spectrum> {
    let basis = orthonormal(null, m)?;
    let below = shift(k, m, null.len(), work)?;
    // Unknowns without mass carry no mode.
    let heavy = (0..k.size()).filter(|i| m.get(*i, *i) > 0.0).count();
    let room = heavy.saturating_sub(null.len());
    if room < set.count || set.count == 0 {
        return None;
    }
    let wide = (2 * set.count).max(set.count + 6).min(room);
    let found = attempt(k, m, &basis, below, wide, set, work)?;
    // Something was missed: a block twice as wide sees more.
    let wider = (2 * wide).min(room);
    if found.certified || wider == wide {
        return Some(found);
    }
    attempt(k, m, &basis, below, wider, set, work)
}

/// Iterations after which the shift moves into the middle of the wanted eigenvalues: where they lie close together and far
/// from zero a shift below them all converges slowly.
const MOVE: u32 = 14;

/// The middle of the wanted eigenvalues, bracketed by counts between `low` (below all) and `high` (above the wanted ones).
fn middle(
    k: &Band,
    m: &Band,
    null: usize,
    low: f64,
    high: f64,
    wanted: usize,
    work: &mut Work,
) -> Option<f64> {
    let nulls = |at: f64| if at > 0.0 { null } else { 0 };
    let mut ends = [low, high];
    for (end, enough) in ends.iter_mut().zip([1, wanted]) {
        let (mut a, mut b) = (low, high);
        for _ in 0..40 {
            let mid = 0.5 * (a + b);
            // To a tenth of the distance from the upper bound.
            if b - a <= 0.1 * (high - a) && b - a <= 0.1 * (b - low) || !(mid > a && mid < b) {
                break;
            }
            if count_below(k, m, mid, work)? >= enough + nulls(mid) { b = mid } else { a = mid }
        }
        *end = if enough == 1 { a } else { b };
    }
    // Off the middle, where symmetric problems may have an eigenvalue.
    Some(ends[0] + 0.4837 * (ends[1] - ends[0]))
}

#[allow(clippy::too_many_arguments, reason = "one search from its start")]
fn attempt(
    k: &Band,
    m: &Band,
    null: &[(Vec<f64>, Vec<f64>)],
    below: f64,
    wide: usize,
    set: &Settings,
    work: &mut Work,
) -> Option<Spectrum> {
    let mut sigma = below;
    let mut inverse = factor(k, m, sigma, work)?;
    let mut block = Block::seeded(wide, k.size(), m, null.to_vec())?;
    let mut values = vec![f64::NAN; wide];
    let (mut iterations, mut calm) = (0, 0);
    while iterations < set.iterations && calm < 2 {
        iterations += 1;
        let next = block.turn(&inverse, sigma, m, work)?;
        let moved = next
            .iter()
            .zip(&values)
            .take(set.count)
            .map(|(a, b)| (a - b).abs() / a.abs().max((a - sigma).abs()))
            .fold(0.0_f64, |w, d| if d.is_nan() { f64::INFINITY } else { w.max(d) });
        values = next;
        calm = if moved <= set.within { calm + 1 } else { 0 };
        if calm == 0
            && iterations == MOVE
            && let Some(to) = middle(k, m, null.len(), below, values[set.count - 1], set.count, work)
            && let Some(f) = factor(k, m, to, work)
        {
            (sigma, inverse) = (to, f);
        }
    }
    // The pairs end at a gap that a count can tell.
    let size = |j: usize| (values[j] - below).abs();
    let gap = |j: usize| values[j + 1] - values[j] > 1e-8 * size(j);
    let last = (set.count - 1..wide - 1).find(|j| gap(*j)).unwrap_or(wide - 1);
    let top = values[last];
    let room = if last + 1 < wide { values[last + 1] - top } else { 2e-8 * size(last) };
    let mut step = (1e-6 * size(last)).min(0.5 * room);
    let mut counted = None;
    for _ in 0..4 {
        counted = count_below(k, m, top + step, work);
        if counted.is_some() {
            break;
        }
        step *= 0.7;
    }
    let counted_at = top + step;
    let counted = counted?;
    let pairs: Vec<Pair> = block
        .vectors
        .into_iter()
        .zip(block.products)
        .zip(&values)
        .take(last + 1)
        .map(|((vector, mx), value)| {
            let residual = residual(k, &vector, &mx, *value);
            Pair { value: *value, vector, residual }
        })
        .collect();
    // A null vector is counted when the count is taken above zero.
    let nulls = if counted_at > 0.0 { null.len() } else { 0 };
    let certified = counted == pairs.len() + nulls && calm > 1;
    Some(Spectrum { pairs, counted_at, counted, certified, iterations })
}

/// `K − σ M`, factored.
fn factor(k: &Band, m: &Band, sigma: f64, work: &mut Work) -> Option<Factor> {
    let mut s = k.clone();
    s.add_scaled(-sigma, m);
    work.factorisations += 1;
    s.factor().ok()
}

/// A shift below the spectrum, about as far from zero as the first eigenvalue.
fn shift(k: &Band, m: &Band, null: usize, work: &mut Work) -> Option<f64> {
    let scale = (0..k.size())
        .filter(|i| m.get(*i, *i) > 0.0)
        .map(|i| k.get(i, i).abs() / m.get(i, i))
        .fold(f64::MIN_POSITIVE, f64::max);
    let count = |sigma: f64, work: &mut Work| count_below(k, m, sigma, work);
    // From above: a share of the scale below which only the null vectors lie. Close to rounding nothing can be told.
    let floor = 1e-13 * scale;
    let mut at = scale;
    while at > floor && count(at, work).is_none_or(|c| c > null) {
        at *= 0.25;
    }
    let mut below = -at;
    // Negative eigenvalues: further down.
    while count(below, work).is_none_or(|c| c > 0) {
        below *= 4.0;
        if !below.is_finite() {
            return None;
        }
    }
    Some(below)
}

fn residual(k: &Band, x: &[f64], mx: &[f64], value: f64) -> f64 {
    let mut kx = vec![0.0; x.len()];
    k.multiply(x, &mut kx);
    let (mut r, mut a, mut b) = (0.0, 0.0, 0.0);
    for (kx, mx) in kx.iter().zip(mx) {
        r += (kx - value * mx).powi(2);
        a += kx * kx;
        b += (value * mx).powi(2);
    }
    r.sqrt() / (a.sqrt() + b.sqrt()).max(f64::MIN_POSITIVE)
}

/// M-orthonormal basis with its products; `None` when the vectors depend on each other or have no mass.
fn orthonormal(vectors: &[Vec<f64>], m: &Band) -> Option<Vec<(Vec<f64>, Vec<f64>)>> {
    let mut basis: Vec<(Vec<f64>, Vec<f64>)> = Vec::new();
    for v in vectors {
        let mut v = v.clone();
        let mut mv = vec![0.0; v.len()];
        for _ in 0..2 {
            m.multiply(&v, &mut mv);
            take_out(&mut v, &mut mv, &basis);
        }
        let square = dot(&v, &mv);
        if !(square > 0.0 && square.is_finite()) {
            return None;
        }
        scale(&mut v, &mut mv, 1.0 / square.sqrt());
        basis.push((v, mv));
    }
    Some(basis)
}

fn take_out(v: &mut [f64], mv: &mut [f64], basis: &[(Vec<f64>, Vec<f64>)]) {
    for (b, mb) in basis {
        let c = dot(b, mv);
        v.iter_mut().zip(b).for_each(|(x, y)| *x -= c * y);
        mv.iter_mut().zip(mb).for_each(|(x, y)| *x -= c * y);
    }
}

fn scale(v: &mut [f64], mv: &mut [f64], by: f64) {
    v.iter_mut().for_each(|x| *x *= by);
    mv.iter_mut().for_each(|x| *x *= by);
}

/// M-orthonormal vectors, their products with M, and the null vectors kept out of them.
struct Block {
    vectors: Vec<Vec<f64>>,
    products: Vec<Vec<f64>>,
    null: Vec<(Vec<f64>, Vec<f64>)>,
}

impl Block {
    /// Vectors that no symmetry is likely to make orthogonal to a mode (a fixed sequence of digits).
    fn seeded(wide: usize, size: usize, m: &Band, null: Vec<(Vec<f64>, Vec<f64>)>) -> Option<Self> {
        let mut state = 0x2545_f491_4f6c_dd1d_u64;
        let mut roll = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
        };
        let vectors: Vec<Vec<f64>> = (0..wide).map(|_| (0..size).map(|_| roll()).collect()).collect();
        let mut own = Self { vectors, products: vec![vec![0.0; size]; wide], null };
        own.orthonormalise(m)?;
        Some(own)
    }

    /// Gram–Schmidt in M, twice, null vectors first.
    fn orthonormalise(&mut self, m: &Band) -> Option<()> {
        let mut done: Vec<(Vec<f64>, Vec<f64>)> = Vec::new();
        for v in &mut self.vectors {
            let mut mv = vec![0.0; v.len()];
            for _ in 0..2 {
                m.multiply(v, &mut mv);
                take_out(v, &mut mv, &self.null);
                take_out(v, &mut mv, &done);
                let square = dot(v, &mv);
                if !(square > 0.0 && square.is_finite()) {
                    return None;
                }
                scale(v, &mut mv, 1.0 / square.sqrt());
            }
            done.push((std::mem::take(v), mv));
        }
        (self.vectors, self.products) = done.into_iter().unzip();
        Some(())
    }

    /// One solve for each vector, `Y = (K − σM)⁻¹ M X`; Y made M-orthonormal, `(K − σM) Y = M X` carried along; then the small
    /// dense problem `Yᵀ (K − σM) Y`. Returns its eigenvalues plus σ in rising order.
    fn turn(&mut self, factor: &Factor, sigma: f64, m: &Band, work: &mut Work) -> Option<Vec<f64>> {
        let wide = self.vectors.len();
        // Right sides M X; Y is kept beside its image (K − σM) Y = M X, which undergoes the same combinations.
        let mut y: Vec<Vec<f64>> = self.products.clone();
        let mut image: Vec<Vec<f64>> = self.products.clone();
        for v in &mut y {
            factor.solve(v);
            work.solves += 1;
        }
        // Gram–Schmidt on Y, with the image carried along.
        let mut my: Vec<Vec<f64>> = vec![vec![0.0; m.size()]; wide];
        for i in 0..wide {
            for _ in 0..2 {
                let (mut v, mut mv) = (std::mem::take(&mut y[i]), std::mem::take(&mut my[i]));
                let mut im = std::mem::take(&mut image[i]);
                m.multiply(&v, &mut mv);
                // K sees nothing of a null vector: its image is −σ M b.
                for (b, mb) in &self.null {
                    let c = dot(b, &mv);
                    for ((x, w), (z, (p, q))) in
                        v.iter_mut().zip(&mut mv).zip(im.iter_mut().zip(b.iter().zip(mb)))
                    {
                        *x -= c * p;
                        *w -= c * q;
                        *z += sigma * c * q;
                    }
                }
                for j in 0..i {
                    let c = dot(&y[j], &mv);
                    for r in 0..v.len() {
                        v[r] -= c * y[j][r];
                        mv[r] -= c * my[j][r];
                        im[r] -= c * image[j][r];
                    }
                }
                let square = dot(&v, &mv);
                if !(square > 0.0 && square.is_finite()) {
                    return None;
                }
                let by = 1.0 / square.sqrt();
                scale(&mut v, &mut mv, by);
                im.iter_mut().for_each(|x| *x *= by);
                (y[i], my[i], image[i]) = (v, mv, im);
            }
        }
        let mut a = vec![vec![0.0; wide]; wide];
        for i in 0..wide {
            for j in 0..=i {
                a[i][j] = 0.5 * (dot(&y[i], &image[j]) + dot(&y[j], &image[i]));
                a[j][i] = a[i][j];
            }
        }
        let (small, turns) = symmetric(a);
        let mut order: Vec<usize> = (0..wide).collect();
        order.sort_by(|i, j| small[*i].total_cmp(&small[*j]));
        let combine = |from: &[Vec<f64>], c: usize| -> Vec<f64> {
            let mut out = vec![0.0; from[0].len()];
            for (v, t) in from.iter().zip(&turns) {
                out.iter_mut().zip(v).for_each(|(o, x)| *o += t[c] * x);
            }
            out
        };
        self.vectors = order.iter().map(|c| combine(&y, *c)).collect();
        self.products = order.iter().map(|c| combine(&my, *c)).collect();
        Some(order.iter().map(|c| sigma + small[*c]).collect())
    }
}

/// Eigenvalues and eigenvectors (columns) of a small dense symmetric matrix by cyclic Jacobi rotations.
fn symmetric(mut a: Vec<Vec<f64>>) -> (Vec<f64>, Vec<Vec<f64>>) {
    let n = a.len();
    let mut v: Vec<Vec<f64>> =
        (0..n).map(|i| (0..n).map(|j| f64::from(u8::from(i == j))).collect()).collect();
    for _ in 0..60 {
        let mut turned = false;
        for p in 0..n {
            for q in p + 1..n {
                // Relative to the two diagonal entries, so that small eigenvalues keep their digits.
                if a[p][q].abs() <= 1e-16 * (a[p][p].abs() * a[q][q].abs()).sqrt() {
                    continue;
                }
                turned = true;
                let theta = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
                let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
                let c = 1.0 / (t * t + 1.0).sqrt();
                let s = t * c;
                for r in 0..n {
                    let (x, y) = (a[r][p], a[r][q]);
                    (a[r][p], a[r][q]) = (c * x - s * y, s * x + c * y);
                }
                for r in 0..n {
                    let (x, y) = (a[p][r], a[q][r]);
                    (a[p][r], a[q][r]) = (c * x - s * y, s * x + c * y);
                }
                for row in &mut v {
                    let (x, y) = (row[p], row[q]);
                    (row[p], row[q]) = (c * x - s * y, s * x + c * y);
                }
            }
        }
        if !turned {
            break;
        }
    }
    ((0..n).map(|i| a[i][i]).collect(), v)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A chain of `size` masses 1 joined by springs 1, with springs `ends` to ground at its ends.
    fn chain(size: usize, ends: [f64; 2]) -> (Band, Band) {
        let (mut k, mut m) = (Band::new(size, 2), Band::new(size, 2));
        for i in 0..size {
            m.add(i, i, 1.0);
            if i + 1 < size {
                k.add(i, i, 1.0);
                k.add(i + 1, i + 1, 1.0);
                k.add(i + 1, i, -1.0);
            }
        }
        k.add(0, 0, ends[0]);
        k.add(size - 1, size - 1, ends[1]);
        (k, m)
    }

    /// Closed form: a chain fixed at both ends has μ = 4 sin²(jπ/2(n+1)).
    #[test]
    fn chain_between_walls() {
        let (k, m) = chain(60, [1.0, 1.0]);
        let mut work = Work::default();
        let s = lowest(&k, &m, &[], &Settings { count: 7, ..Settings::default() }, &mut work).unwrap();
        assert!(s.certified && s.pairs.len() == 7 && s.counted == 7, "{} {}", s.pairs.len(), s.counted);
        for (j, p) in s.pairs.iter().enumerate() {
            let sine = libm::sin((j + 1) as f64 * std::f64::consts::PI / 122.0);
            assert!((p.value / (4.0 * sine * sine) - 1.0).abs() < 1e-11, "{j}: {}", p.value);
            assert!(p.residual < 1e-7, "{}", p.residual);
        }
        assert!(work.factorisations < 60, "{work:?}");
    }

    /// Closed form: a free chain has a null vector and μ = 4 sin²(jπ/2n); the null vector is left out.
    #[test]
    fn free_chain_with_its_null_vector() {
        let (k, m) = chain(50, [0.0, 0.0]);
        let null = vec![vec![1.0; 50]];
        let s = lowest(&k, &m, &null, &Settings::default(), &mut Work::default()).unwrap();
        assert!(s.certified && s.counted == 5, "{}", s.counted);
        for (j, p) in s.pairs.iter().enumerate() {
            let sine = libm::sin((j + 1) as f64 * std::f64::consts::PI / 100.0);
            assert!((p.value / (4.0 * sine * sine) - 1.0).abs() < 1e-11, "{j}: {}", p.value);
            assert!(p.vector.iter().sum::<f64>().abs() < 1e-9);
        }
    }

    /// Closed form: two equal chains side by side have every eigenvalue twice, and a pair is never cut.
    #[test]
    fn equal_eigenvalues_come_together() {
        let (one, mass) = chain(40, [1.0, 1.0]);
        let (mut k, mut m) = (Band::new(80, 2), Band::new(80, 2));
        for half in 0..2 {
            for i in 0..40 {
                m.add(40 * half + i, 40 * half + i, mass.get(i, i));
                for j in i.saturating_sub(1)..=i {
                    k.add(40 * half + i, 40 * half + j, one.get(i, j));
                }
            }
        }
        let s =
            lowest(&k, &m, &[], &Settings { count: 3, ..Settings::default() }, &mut Work::default()).unwrap();
        assert!(s.certified && s.pairs.len() == 4, "{}", s.pairs.len());
        assert!((s.pairs[2].value - s.pairs[3].value).abs() < 1e-12);
        let across = dot(&s.pairs[2].vector, &s.pairs[3].vector);
        assert!(across.abs() < 1e-10, "{across}");
    }

    /// Closed form: negative eigenvalues are found too (a chain between springs that push outwards, a shift of −1).
    #[test]
    fn negative_eigenvalues() {
        let (mut k, m) = chain(30, [1.0, 1.0]);
        k.add_scaled(-1.0, &m);
        let s = lowest(&k, &m, &[], &Settings { count: 12, ..Settings::default() }, &mut Work::default())
            .unwrap();
        assert!(s.certified);
        for (j, p) in s.pairs.iter().enumerate() {
            let sine = libm::sin((j + 1) as f64 * std::f64::consts::PI / 62.0);
            assert!((p.value - (4.0 * sine * sine - 1.0)).abs() < 1e-10, "{j}: {}", p.value);
        }
    }

    /// Closed form: far from zero and close together (the chain's eigenvalues plus 1000).
    #[test]
    fn close_eigenvalues_far_from_zero() {
        let (mut k, m) = chain(200, [1.0, 1.0]);
        k.add_scaled(1000.0, &m);
        let s =
            lowest(&k, &m, &[], &Settings { count: 6, ..Settings::default() }, &mut Work::default()).unwrap();
        assert!(s.certified && s.pairs.len() == 6, "{} of {}, {}", s.pairs.len(), s.counted, s.iterations);
        for (j, p) in s.pairs.iter().enumerate() {
            let sine = libm::sin((j + 1) as f64 * std::f64::consts::PI / 402.0);
            assert!((p.value - 1000.0 - 4.0 * sine * sine).abs() < 1e-9, "{j}: {}", p.value - 1000.0);
        }
    }

    #[test]
    fn more_than_there_are_is_refused() {
        let (k, m) = chain(5, [1.0, 1.0]);
        let set = Settings { count: 6, ..Settings::default() };
        assert!(lowest(&k, &m, &[], &set, &mut Work::default()).is_none());
    }
}

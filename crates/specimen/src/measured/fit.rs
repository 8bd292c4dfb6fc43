//! Least squares of the distances from the points to the curve.
//!
//! Unknown: the B-spline coefficients of φ₀(t), t = s/L; the length L; the height of the inner end, and
//! its radius at a hole. Points are projected on the curve anew at every step (Newton on the foot), so
//! that the residual is the normal distance; at the ends of the curve both components count. Steps are
//! Gauss–Newton with Levenberg's damping; derivatives are exact.

use super::MeasuredMeridian;
use super::report::{FitFailure, FitReport, ProfilePoints};
use super::solve::{inverse_root, solve};
use super::spline::{GAUSS, Piece, basis, integrate, powers};

/// Centre height, radius and half-angle at `q` of the sphere on the axis through two points `[r, z]`.
pub(super) fn sphere_through(p: [f64; 2], q: [f64; 2]) -> (f64, f64, f64) {
    let centre = 0.5 * ((q[0] * q[0] - p[0] * p[0]) / (q[1] - p[1]) + q[1] + p[1]);
    let radius = libm::hypot(q[0], q[1] - centre);
    (centre, radius, libm::atan2(q[0], centre - q[1]))
}

const MANY: [usize; 16] = [1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24, 32, 40, 48, 64];

pub(super) fn choose(given: &ProfilePoints) -> Result<MeasuredMeridian, FitFailure> {
    Ok(chosen(given)?.finish())
}

/// The chosen curve, and the curves displaced by one standard deviation along each column of a root of the covariance.
pub(super) fn with_spread(
    given: &ProfilePoints,
) -> Result<(MeasuredMeridian, Vec<MeasuredMeridian>), FitFailure> {
    // What the criterion chooses misses the curve by about its deviation; twice as many intervals leave the deviation alone.
    let rough = chosen(given)?;
    let mut work = rough.refined(2 * rough.n);
    if 2 * work.unknowns() > work.residuals() || !work.settle_well() {
        work = rough;
    }
    let sd = given.position_sd / work.unit;
    let (a, _) = work.normal_equations();
    // A = L Lᵀ, so (A⁻¹) = L⁻ᵀ L⁻¹: the columns of L⁻ᵀ are the roots.
    let columns = inverse_root(&a).ok_or(FitFailure::NotConverged { rms_m: work.rms() * work.unit })?;
    let displaced = columns.iter().map(|column| {
        let step: Vec<f64> = column.iter().map(|v| v * sd).collect();
        work.moved(&step).finish()
    });
    let displaced = displaced.collect();
    Ok((work.finish(), displaced))
}

fn chosen(given: &ProfilePoints) -> Result<Work<'_>, FitFailure> {
    let mut work = Work::start(given)?;
    let mut best: Option<(f64, Work)> = None;
    let (mut worse, mut reached) = (0, f64::INFINITY);
    for n in MANY {
        if n > 1 {
            work = work.refined(n);
        }
        if 2 * work.unknowns() > work.residuals() + 4 || worse == 4 {
            break;
        }
        let settled = work.settle_well();
        reached = work.rms() * work.unit;
        let score = work.chi2 + work.unknowns() as f64 * libm::log(work.residuals() as f64);
        if settled && best.as_ref().is_none_or(|b| score < b.0) {
            best = Some((score, work.clone()));
            worse = 0;
        } else {
            worse += 1;
        }
    }
    match best {
        Some((_, work)) => Ok(work),
        None => Err(FitFailure::NotConverged { rms_m: reached }),
    }
}

pub(super) fn with_intervals(
    given: &ProfilePoints,
    intervals: usize,
) -> Result<MeasuredMeridian, FitFailure> {
    let mut work = Work::start(given)?;
    let mut settled = work.settle_well();
    for n in MANY.into_iter().filter(|n| *n > 1 && *n < intervals).chain([intervals.max(1)]) {
        if n > work.n {
            work = work.refined(n);
            settled = work.settle_well();
        }
    }
    if work.residuals() <= work.unknowns() {
        let needed = work.unknowns() + 1;
        return Err(FitFailure::TooFewPoints { points: given.points.len(), needed });
    }
    if settled { Ok(work.finish()) } else { Err(FitFailure::NotConverged { rms_m: work.rms() * work.unit }) }
}

/// The fit in progress, lengths in `unit` (about the arclength of the whole).
#[derive(Clone)]
struct Work<'p> {
    given: &'p ProfilePoints,
    points: Vec<[f64; 2]>,
    unit: f64,
    n: usize,
    /// n + 3 coefficients; tied at a pole.
    c: Vec<f64>,
    length: f64,
    start: [f64; 2],
    pieces: Vec<Piece>,
    feet: Vec<f64>,
    chi2: f64,
}

impl<'p> Work<'p> {
    fn start(given: &'p ProfilePoints) -> Result<Self, FitFailure> {
        let count = given.points.len();
        if count < 8 {
            return Err(FitFailure::TooFewPoints { points: count, needed: 8 });
        }
        let (p, q) = (given.points[0], given.points[count - 1]);
        let inner = if given.hole { p } else { [0.0, p[1]] };
        let rise = q[1] - inner[1];
        if !(rise > 3.0 * given.position_sd && rise > 1e-3 * (q[0] - inner[0]).abs()) {
            return Err(FitFailure::NoRise { rise });
        }
        let (centre, radius, rim) = sphere_through(inner, q);
        let hole = if given.hole { libm::atan2(p[0], centre - p[1]) } else { 0.0 };
        let unit = radius * (rim - hole).abs();
        let points: Vec<_> = given.points.iter().map(|x| [x[0] / unit, x[1] / unit]).collect();
        let feet =
            given.points.iter().map(|x| (libm::atan2(x[0], centre - x[1]) - hole) / (rim - hole)).collect();
        let c = (-1..=2).map(|i| hole + (rim - hole) * f64::from(i)).collect();
        let start = [inner[0] / unit, inner[1] / unit];
        let (pieces, chi2) = (Vec::new(), f64::INFINITY);
        Ok(Self { given, points, unit, n: 1, c, length: 1.0, start, pieces, feet, chi2 })
    }

    /// The same curve on `n` intervals, as nearly as they allow.
    fn refined(&self, n: usize) -> Self {
        let mut out = self.clone();
        let width = 1.0 / n as f64;
        out.n = n;
        out.c = (0..n + 3)
            .map(|i| {
                let t = (i as f64 - 1.0) * width;
                let j = ((t * self.n as f64).floor().max(0.0) as usize).min(self.n - 1);
                let p = powers(&self.c[j..]);
                let u = t * self.n as f64 - j as f64;
                let second =
                    (2.0 * p[2] + 6.0 * p[3] * u) * (self.n as f64 * width) * (self.n as f64 * width);
                p[0] + u * (p[1] + u * (p[2] + u * p[3])) - second / 6.0
            })
            .collect();
        out.tie();
        out.pieces.clear();
        out
    }

    /// At a pole φ is odd.
    fn tie(&mut self) {
        if !self.given.hole {
            self.c[1] = 0.0;
            self.c[0] = -self.c[2];
        }
    }

    fn free_coefficients(&self) -> usize {
        if self.given.hole { self.n + 3 } else { self.n + 1 }
    }

    fn unknowns(&self) -> usize {
        self.free_coefficients() + if self.given.hole { 3 } else { 2 }
    }

    fn residuals(&self) -> usize {
        self.points.len() + if self.given.hole { 2 } else { 1 }
    }

    fn rms(&self) -> f64 {
        let sum: f64 = (0..self.points.len()).map(|i| self.gap(i)).map(|g| g[0] * g[0] + g[1] * g[1]).sum();
        (sum / self.points.len() as f64).sqrt()
    }

    /// Pieces of the current curve.
    fn lay_out(&mut self) {
        let step = self.length / self.n as f64;
        let [mut r, mut z] = self.start;
        self.pieces.clear();
        for j in 0..self.n {
            let p = powers(&self.c[j..]);
            let phi = [p[0], p[1] / step, p[2] / (step * step), p[3] / (step * step * step)];
            self.pieces.push(Piece { r, z, phi });
            let [dr, dz] = integrate(&phi, step);
            r += dr;
            z += dz;
        }
    }

    fn interval(&self, t: f64) -> (usize, f64) {
        let j = ((t * self.n as f64).floor().max(0.0) as usize).min(self.n - 1);
        (j, (t - j as f64 / self.n as f64) * self.length)
    }

    /// Point, slope and curvature at t.
    fn at(&self, t: f64) -> ([f64; 2], f64, f64) {
        let (j, u) = self.interval(t);
        let p = &self.pieces[j];
        let [r, z] = integrate(&p.phi, u);
        ([p.r + r, p.z + z], p.slope(u), p.curvature(u))
    }

    /// Whether the foot of point `i` is an end of the curve.
    fn is_end(&self, i: usize) -> bool {
        i + 1 == self.points.len() || (i == 0 && self.given.hole)
    }

    /// Feet of the points on the current curve, and the sum of squares.
    fn project(&mut self) {
        self.lay_out();
        let mut sum = 0.0;
        for i in 0..self.points.len() {
            let mut t = self.feet[i];
            if self.is_end(i) {
                t = if i == 0 { 0.0 } else { 1.0 };
            } else {
                for _ in 0..12 {
                    let (x, phi, curvature) = self.at(t);
                    let (sin, cos) = libm::sincos(phi);
                    let gap = [x[0] - self.points[i][0], x[1] - self.points[i][1]];
                    let along = gap[0] * cos + gap[1] * sin;
                    let across = gap[1] * cos - gap[0] * sin;
                    let dt = -along / ((1.0 + curvature * across).max(0.25) * self.length);
                    t = (t + dt.clamp(-0.1, 0.1)).clamp(-0.2, 1.2);
                    if dt.abs() < 1e-13 {
                        break;
                    }
                }
            }
            self.feet[i] = t;
            let g = self.gap(i);
            sum += g[0] * g[0] + g[1] * g[1];
        }
        let sd = self.given.position_sd / self.unit;
        self.chi2 = sum / (sd * sd);
    }

    /// From the point to its foot; at an end both components, elsewhere `[normal distance, 0]`.
    fn gap(&self, i: usize) -> [f64; 2] {
        let (x, phi, _) = self.at(self.feet[i]);
        let gap = [x[0] - self.points[i][0], x[1] - self.points[i][1]];
        if self.is_end(i) {
            return gap;
        }
        let (sin, cos) = libm::sincos(phi);
        [gap[1] * cos - gap[0] * sin, 0.0]
    }

    /// `[∂r, ∂z]` over every coefficient of φ, within interval `j` up to `u` (arclength) of it.
    fn partial(&self, j: usize, u: f64) -> [[f64; 2]; 4] {
        let mut sum = [[0.0; 2]; 4];
        let step = self.length / self.n as f64;
        for (x, w) in GAUSS {
            let (sin, cos) = libm::sincos(self.pieces[j].slope(u * x));
            let b = basis(u * x / step);
            for k in 0..4 {
                sum[k][0] -= w * u * sin * b[k];
                sum[k][1] += w * u * cos * b[k];
            }
        }
        sum
    }

    /// Normal equations `(A, g)` of the current residuals, unweighted.
    fn normal_equations(&self) -> (Vec<Vec<f64>>, Vec<f64>) {
        let (m, n) = (self.unknowns(), self.n);
        let step = self.length / n as f64;
        // Derivatives of the start point of every interval.
        let mut at_knot = vec![vec![[0.0; 2]; n + 3]; n];
        for j in 1..n {
            let mut row = at_knot[j - 1].clone();
            for (k, d) in self.partial(j - 1, step).into_iter().enumerate() {
                row[j - 1 + k][0] += d[0];
                row[j - 1 + k][1] += d[1];
            }
            at_knot[j] = row;
        }
        let (mut a, mut g) = (vec![vec![0.0; m]; m], vec![0.0; m]);
        let mut add = |row: &[f64], residual: f64| {
            for p in 0..m {
                g[p] += row[p] * residual;
                for q in 0..=p {
                    a[p][q] += row[p] * row[q];
                }
            }
        };
        for i in 0..self.points.len() {
            let t = self.feet[i];
            let (j, u) = self.interval(t);
            let (x, phi, _) = self.at(t);
            let mut d = at_knot[j].clone();
            for (k, extra) in self.partial(j, u).into_iter().enumerate() {
                d[j + k][0] += extra[0];
                d[j + k][1] += extra[1];
            }
            let mut r_row = self.row(&d, x, 0);
            let z_row = self.row(&d, x, 1);
            let gap = self.gap(i);
            if self.is_end(i) {
                add(&r_row, gap[0]);
                add(&z_row, gap[1]);
            } else {
                let (sin, cos) = libm::sincos(phi);
                for p in 0..m {
                    r_row[p] = z_row[p] * cos - r_row[p] * sin;
                }
                add(&r_row, gap[0]);
            }
        }
        for p in 0..m {
            for q in 0..p {
                a[q][p] = a[p][q];
            }
        }
        (a, g)
    }

    /// Derivatives of component `axis` of a curve point over the unknowns.
    fn row(&self, d: &[[f64; 2]], x: [f64; 2], axis: usize) -> Vec<f64> {
        let mut row = self.tied(&d.iter().map(|e| e[axis]).collect::<Vec<f64>>());
        row.push((x[axis] - self.start[axis]) / self.length);
        row.push(if axis == 1 { 1.0 } else { 0.0 });
        if self.given.hole {
            row.push(if axis == 0 { 1.0 } else { 0.0 });
        }
        row
    }

    fn moved(&self, step: &[f64]) -> Self {
        let mut out = self.clone();
        let free = self.free_coefficients();
        let first = if self.given.hole { 0 } else { 2 };
        for k in 0..free {
            out.c[first + k] += step[k];
        }
        out.tie();
        out.length += step[free].max(-0.5 * self.length);
        out.start[1] += step[free + 1];
        if self.given.hole {
            out.start[0] += step[free + 2];
        }
        out.project();
        out
    }

    /// Settles; where the fit is then poor, tries the start that the points themselves suggest too.
    fn settle_well(&mut self) -> bool {
        let settled = self.settle();
        let freedom = self.residuals().saturating_sub(self.unknowns()).max(1);
        if settled && self.chi2 <= 2.25 * freedom as f64 {
            return true;
        }
        let Some(mut other) = self.chord_start() else { return settled };
        let other_settled = other.settle();
        if other_settled && (!settled || other.chi2 < self.chi2) {
            *self = other;
        }
        settled || other_settled
    }

    /// A start on the same intervals from slopes of chords between means of neighbouring points.
    fn chord_start(&self) -> Option<Self> {
        let (last, groups) = (self.points.len() - 1, (6 * self.n).max(8));
        let size = (last - 1).div_ceil(groups).max(1);
        let first = if self.given.hole { self.points[0] } else { [0.0, self.points[0][1]] };
        let mean = |g: &[[f64; 2]]| {
            let sum = g.iter().fold([0.0; 2], |a, p| [a[0] + p[0], a[1] + p[1]]);
            sum.map(|x| x / g.len() as f64)
        };
        let mut nodes = vec![first];
        nodes.extend(self.points[1..last].chunks(size).map(mean));
        nodes.push(self.points[last]);
        let mut s = vec![0.0];
        let mut slopes: Vec<f64> = Vec::new();
        for w in nodes.windows(2) {
            let (dr, dz) = (w[1][0] - w[0][0], w[1][1] - w[0][1]);
            s.push(s[s.len() - 1] + libm::hypot(dr, dz));
            let (angle, before) = (libm::atan2(dz, dr), slopes.last().copied().unwrap_or(0.0));
            slopes.push(angle - std::f64::consts::TAU * ((angle - before) / std::f64::consts::TAU).round());
        }
        let mut out = self.clone();
        out.length = s[s.len() - 1];
        out.start = first;
        for (i, foot) in out.feet.iter_mut().enumerate() {
            // Group g of the inner points lies at node g + 1.
            let node = if i == 0 { 0 } else { ((i - 1) / size + 1).min(s.len() - 1) };
            *foot = if i == last { 1.0 } else { s[node] / out.length };
        }
        // Coefficients by least squares on the slopes at mid-chord, held together by their second differences.
        let free = self.free_coefficients();
        let mut rows: Vec<(Vec<f64>, f64)> = Vec::new();
        for (k, slope) in slopes.iter().enumerate() {
            let t = 0.5 * (s[k] + s[k + 1]) / out.length * self.n as f64;
            let j = (t.floor() as usize).min(self.n - 1);
            let mut all = vec![0.0; self.n + 3];
            all[j..j + 4].copy_from_slice(&basis(t - j as f64));
            rows.push((self.tied(&all), *slope));
        }
        for k in 1..self.n + 2 {
            let mut all = vec![0.0; self.n + 3];
            (all[k - 1], all[k], all[k + 1]) = (1e-2, -2e-2, 1e-2);
            rows.push((self.tied(&all), 0.0));
        }
        let (mut a, mut g) = (vec![vec![0.0; free]; free], vec![0.0; free]);
        for (row, y) in &rows {
            for p in 0..free {
                g[p] += row[p] * y;
                for q in 0..free {
                    a[p][q] += row[p] * row[q];
                }
            }
        }
        let c = solve(a, &g)?;
        let skip = if self.given.hole { 0 } else { 2 };
        out.c[skip..].copy_from_slice(&c);
        out.tie();
        Some(out)
    }

    /// A row over all coefficients as one over the free ones.
    fn tied(&self, all: &[f64]) -> Vec<f64> {
        if self.given.hole {
            return all.to_vec();
        }
        let mut free = all[2..].to_vec();
        free[0] -= all[0];
        free
    }

    /// Damped steps until they no longer matter; `false` when they do not settle.
    fn settle(&mut self) -> bool {
        self.project();
        let mut damping = 1e-4;
        for _ in 0..80 {
            let (a, g) = self.normal_equations();
            let size = loop {
                let mut damped = a.clone();
                for p in 0..g.len() {
                    damped[p][p] *= 1.0 + damping;
                }
                let step = solve(damped, &g).map(|x| x.iter().map(|v| -v).collect::<Vec<f64>>());
                if let Some(step) = step {
                    let size = step.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
                    let next = self.moved(&step);
                    if next.chi2 <= self.chi2 {
                        *self = next;
                        damping = (damping * 0.1).max(1e-15);
                        break size;
                    }
                    // Below this a step is lost in rounding; the curve has settled.
                    if size < 1e-9 {
                        return true;
                    }
                }
                damping = (damping * 10.0).max(1e-12);
                if damping > 1e12 {
                    return false;
                }
            };
            if size < 1e-12 {
                return true;
            }
        }
        false
    }

    /// The curve in metres, the pole (of the sphere through both ends, when there is a hole) at z = 0.
    fn finish(self) -> MeasuredMeridian {
        let sd = self.given.position_sd / self.unit;
        let (mut largest, mut largest_at, mut out_of_order) = (0.0, 0, None);
        let mut furthest = f64::NEG_INFINITY;
        for i in 0..self.points.len() {
            let g = self.gap(i);
            let d = libm::hypot(g[0], g[1]);
            if d > largest {
                (largest, largest_at) = (d, i);
            }
            let s = self.feet[i] * self.length;
            if s < furthest - 6.0 * sd - 1e-9 && out_of_order.is_none() {
                out_of_order = Some(i);
            }
            furthest = furthest.max(s);
        }
        let freedom = (self.residuals() - self.unknowns()) as f64;
        let fit = FitReport {
            points: self.points.len(),
            intervals: self.n,
            rms_m: self.rms() * self.unit,
            largest_m: largest * self.unit,
            largest_at,
            reduced_chi2: self.chi2 / freedom,
            rim_slope_sd: self.rim_slope_sd() * sd,
            out_of_order,
        };
        let end = self.at(1.0).0;
        let (centre, radius, _) = sphere_through(self.start, end);
        let floor = if self.given.hole { centre - radius } else { self.start[1] };
        let step = self.length * self.unit / self.n as f64;
        let pieces = self.pieces.iter().map(|p| {
            let lifted = Piece { r: p.r, z: p.z - floor, phi: p.phi };
            lifted.enlarged(self.unit)
        });
        MeasuredMeridian { step, pieces: pieces.collect(), from_pole: !self.given.hole, fit }
    }

    /// Sd of φ at the rim for residuals of unit sd.
    fn rim_slope_sd(&self) -> f64 {
        let (a, g) = self.normal_equations();
        let mut all = vec![0.0; self.n + 3];
        all[self.n..].copy_from_slice(&basis(0.0)[..3]);
        let mut slope = self.tied(&all);
        slope.resize(g.len(), 0.0);
        let spread = solve(a, &slope).map(|x| x.iter().zip(&slope).map(|(p, q)| p * q).sum::<f64>());
        spread.map_or(f64::NAN, f64::sqrt)
    }
}

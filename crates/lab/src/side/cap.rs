//! A cap of a sphere fitted to the outline of a whole part: arc, cut rim and rim line at once.
//!
//! With the centre c, the outer radius R, the axis u (a unit vector from the pole to the rim's plane, v across it), the half-angle α,
//! the length t of the cut rim, its lean β from the wall's normal and the sine e of the camera's height over the rim's plane,
//!
//! ```text
//! arc       |p − c| = R − w²/6R                      (w: half-width of the strip that an edge is read from)
//! corners   A± = c − R cos α √(1 − e²) u ± R sin α v
//! cut rim   from A± by t along the normal to the centre, turned by β
//! rim line  (p − B)·u = e b √(1 − (p·v/b)²)           (the nearer half of the rim's inner circle, of radius b, as an ellipse)
//! ```
//!
//! Residuals are distances over the edges' deviations. The covariance is (JᵀJ)⁻¹ times two factors, both told: χ² over its freedom
//! where it is above 1, and 1 + 2 Σ ρ_k, with ρ_k the correlation of residuals k edges apart along the outline, summed as far as it
//! stands out of 2/√n: neighbouring errors that go together (compression, dust, a wavy edge) count as fewer readings (common practice
//! for correlated residuals, no source).

use calotte_chance::{Fit, FitSettings, least_squares};

use super::find::STRIP;
use super::pieces::{Pieces, gap};
use super::{Fault, Measured};
use crate::picture::Edge;

/// What was fitted, in pixels and radians.
#[derive(Clone, Debug)]
pub(super) struct CapFit {
    /// Centre, px.
    pub(super) centre: [f64; 2],
    /// Length of the cut rim, px, where it is seen.
    pub(super) cut: Option<f64>,
    /// Sine of the camera's height, where the rim line is seen.
    pub(super) height: Option<Measured>,
    /// Covariance of what `numbers` lists, the two factors included.
    pub(super) covariance: Vec<Vec<f64>>,
    /// χ² over its freedom.
    pub(super) reduced_chi2: f64,
    /// Factor on the variance for neighbours that err together.
    pub(super) correlation: f64,
    /// Edges of the arc with their residual outward, px, in the order of the outline; wild ones left out.
    pub(super) arc: Vec<(Edge, f64)>,
    /// Edges that were left out as wild.
    pub(super) wild: usize,
    /// Whether edges of the cut rim are in the fit, on both sides.
    pub(super) cut_seen: bool,
    /// Whether the rim is taken to stand on a table seen beside it.
    pub(super) table: bool,
    free: Vec<usize>,
    full: [f64; 8],
}

/// Unknown by place: cx, cy, R, axis, α, t, β, e.
const N: usize = 8;

impl CapFit {
    /// Deviation of a function of the eight numbers, by central differences.
    pub(super) fn spread(&self, f: &dyn Fn(&[f64; N]) -> f64) -> f64 {
        let scale = |i: usize| if matches!(i, 0..=2 | 5) { 1e-3 } else { 1e-5 };
        let slope: Vec<f64> = self
            .free
            .iter()
            .map(|i| {
                let at = |by: f64| {
                    let mut x = self.full;
                    x[*i] += by;
                    f(&x)
                };
                (at(scale(*i)) - at(-scale(*i))) / (2.0 * scale(*i))
            })
            .collect();
        let n = slope.len();
        let sum: f64 = (0..n)
            .flat_map(|i| (0..n).map(move |j| (i, j)))
            .map(|(i, j)| slope[i] * slope[j] * self.covariance[i][j])
            .sum();
        sum.max(0.0).sqrt()
    }

    /// A function of the eight numbers with its deviation.
    pub(super) fn measured(&self, f: &dyn Fn(&[f64; N]) -> f64) -> Measured {
        Measured { value: f(&self.full), sd: self.spread(f) }
    }

    /// Deviation of a corner's column (0) or row (1), px.
    pub(super) fn corner_spread(&self, c: usize) -> f64 {
        [-1.0, 1.0].map(|s| self.spread(&|x| Model::of(x).corner(s)[c])).into_iter().fold(0.0, f64::max)
    }

    /// Corners of the rim, px: left and right of the axis seen along it.
    pub(super) fn corners(&self) -> [[f64; 2]; 2] {
        [-1.0, 1.0].map(|s| Model::of(&self.full).corner(s))
    }
}

struct Model {
    x: [f64; N],
    u: [f64; 2],
    v: [f64; 2],
    sin: f64,
    cos: f64,
    /// Height of A over the centre along u; half-width of B and its height.
    a: f64,
    b: [f64; 2],
    cut: [f64; 2],
}

impl Model {
    fn of(x: &[f64; N]) -> Self {
        let (us, uc) = libm::sincos(x[3]);
        let (sin, cos) = libm::sincos(x[4]);
        let level = (1.0 - x[7] * x[7]).max(0.0).sqrt();
        let a = -x[2] * cos * level;
        // From A inward: the normal of the wall, turned by β.
        let (bs, bc) = libm::sincos(x[4] + x[6]);
        let cut = [-bs, bc * level];
        let b = [x[2] * sin + x[5] * cut[0], a + x[5] * cut[1]];
        Self { x: *x, u: [uc, us], v: [-us, uc], sin, cos, a, b, cut }
    }
    fn local(&self, p: [f64; 2]) -> [f64; 2] {
        let d = [p[0] - self.x[0], p[1] - self.x[1]];
        [d[0] * self.v[0] + d[1] * self.v[1], d[0] * self.u[0] + d[1] * self.u[1]]
    }
    fn corner(&self, side: f64) -> [f64; 2] {
        let r = side * self.x[2] * self.sin;
        [0, 1].map(|c| self.x[c] + r * self.v[c] + self.a * self.u[c])
    }
    fn off_arc(&self, p: [f64; 2]) -> f64 {
        gap(p, [self.x[0], self.x[1]]) - self.x[2] + STRIP * STRIP / (6.0 * self.x[2])
    }
    /// Distance along the cut rim and across it (outward along the wall's tangent).
    fn on_cut(&self, p: [f64; 2]) -> [f64; 2] {
        let [x, y] = self.local(p);
        // Seen from above by e the cone's outline lies off its edge by r e² sin α tan α/2 (closed form: envelope of its circles).
        let (e, tan) = (self.x[7], self.sin / self.cos.max(0.1));
        let off = 0.5 * x.abs() * e * e * self.sin * tan;
        let d = [x.abs() - self.x[2] * self.sin, y - self.a];
        let n = libm::hypot(self.cut[0], self.cut[1]);
        let along = [self.cut[0] / n, self.cut[1] / n];
        [d[0] * along[0] + d[1] * along[1], d[0] * along[1] - d[1] * along[0] - off]
    }
    /// Distance beyond the rim line.
    fn off_line(&self, p: [f64; 2]) -> f64 {
        let [x, y] = self.local(p);
        let share = (1.0 - x * x / (self.b[0] * self.b[0])).max(0.0).sqrt();
        y - self.b[1] - self.x[7] * self.b[0] * share
    }
}

/// Circle through edges by least squares on x² + y² (Kåsa 1976), as a start.
fn circle(edges: &[Edge]) -> Option<[f64; 3]> {
    let o = edges[edges.len() / 2].at;
    let rows: Vec<[f64; 2]> = edges.iter().map(|e| [e.at[0] - o[0], e.at[1] - o[1]]).collect();
    let size = rows.iter().map(|r| libm::hypot(r[0], r[1])).fold(0.0, f64::max);
    let mut residuals = |p: &[f64], out: &mut Vec<f64>| {
        out.extend(rows.iter().map(|r| {
            let (x, y) = (r[0] / size, r[1] / size);
            x * x + y * y - p[0] * x - p[1] * y - p[2]
        }));
        true
    };
    let fit = least_squares(&[0.0; 3], &[1.0; 3], &mut residuals, &FitSettings::default()).ok()?;
    let (a, b) = (0.5 * fit.at[0], 0.5 * fit.at[1]);
    let r = (fit.at[2] + a * a + b * b).sqrt();
    r.is_finite().then_some([o[0] + a * size, o[1] + b * size, r * size])
}

/// Factor on the variance of a mean for residuals that go along with their neighbours.
pub(super) fn correlation(residuals: &[f64]) -> f64 {
    let n = residuals.len();
    let mean = residuals.iter().sum::<f64>() / n as f64;
    let lagged =
        |k: usize| (0..n - k).map(|i| (residuals[i] - mean) * (residuals[i + k] - mean)).sum::<f64>();
    let all = lagged(0);
    let mut factor = 1.0;
    for k in 1..n / 4 {
        let rho = lagged(k) / all;
        if rho.is_nan() || rho <= 2.0 / (n as f64).sqrt() {
            break;
        }
        factor += 2.0 * rho;
    }
    factor
}

/// Fits a cap. `thickness` is that between the faces of a section, px, whose cut rim is sought there.
pub(super) fn fit(p: &Pieces, thickness: Option<f64>) -> Result<CapFit, Fault> {
    let unsettled = || Fault::Unsettled { what: "sphere" };
    let [cx, cy, r] = circle(&p.arc).ok_or_else(unsettled)?;
    let ends = [p.arc[0].at, p.arc[p.arc.len() - 1].at];
    let middle = [0.5 * (ends[0][0] + ends[1][0]), 0.5 * (ends[0][1] + ends[1][1])];
    // From the arc's middle to its chord.
    let half_way = p.arc[p.arc.len() / 2].at;
    let across = [ends[1][1] - ends[0][1], ends[0][0] - ends[1][0]];
    let toward = (middle[0] - half_way[0]) * across[0] + (middle[1] - half_way[1]) * across[1];
    let sign = if toward < 0.0 { -1.0 } else { 1.0 };
    let axis = libm::atan2(sign * across[1], sign * across[0]);
    let (us, uc) = libm::sincos(axis);
    let seen = [0, 1].map(|k| {
        let d = [ends[k][0] - cx, ends[k][1] - cy];
        let (x, y) = (d[1] * uc - d[0] * us, d[0] * uc + d[1] * us);
        libm::atan2(x.abs(), -y)
    });
    let alpha = 0.5 * (seen[0] + seen[1]) + p.margin / r;
    let mut x = [cx, cy, r, axis, alpha, 0.0, 0.0, 0.0];
    // The rim line: the farthest straight run among the rest, seen from the arc's ends along the axis.
    let (reach, bow, line, table) = rim_line(p, &Model::of(&x), middle);
    x[7] = bow;
    x[5] = thickness.unwrap_or((reach / libm::cos(alpha).max(0.2)).clamp(0.0, 0.9 * r));
    let has_line = line && thickness.is_none();
    let (mut kept_arc, mut found): (Vec<Edge>, Option<(Fit, Vec<usize>)>) = (p.arc.clone(), None);
    let (mut wild, mut typical, mut seen) = (0, 1.0_f64, false);
    for round in 0..5 {
        let m = Model::of(&x);
        let margin = p.margin;
        let resolved = x[5] > 2.0 * margin + 3.0;
        let flat = |e: &Edge| (e.direction[0] * m.u[0] + e.direction[1] * m.u[1]).abs() > 0.95;
        // Later rounds leave out what is wild.
        let tame = |miss: f64, e: &Edge, first: f64| {
            miss.abs() < if round == 0 { first } else { 4.5 * typical * e.sd + 0.05 }
        };
        let cut: Vec<Edge> = p
            .rest
            .iter()
            .filter(|e| {
                let [t, d] = m.on_cut(e.at);
                resolved
                    && t > margin
                    && t < x[5] - if table { 2.0 * margin } else { margin }
                    && tame(d, e, 6.0)
            })
            .copied()
            .collect();
        let rim: Vec<Edge> = p
            .rest
            .iter()
            .filter(|e| {
                let [a, _] = m.local(e.at);
                let beside =
                    if table { a.abs() > m.x[2] * m.sin + 3.0 * margin } else { a.abs() < m.b[0] - margin };
                has_line && beside && flat(e) && tame(m.off_line(e.at), e, 3.0)
            })
            .copied()
            .collect();
        let rim_seen = rim.len() >= 8;
        let sides = [-1.0, 1.0].map(|s| cut.iter().filter(|e| s * m.local(e.at)[0] > 0.0).count());
        let cut_seen = sides[0].min(sides[1]) >= 2;
        seen = cut_seen;
        let lean_told = cut_seen && x[5] > 6.0 * margin;
        let mut free = vec![0, 1, 2, 3, 4];
        if cut_seen && rim_seen {
            free.push(5);
        }
        if lean_told && rim_seen {
            free.push(6);
        }
        if rim_seen && !table {
            free.push(7);
        }
        if !cut_seen && !rim_seen {
            return Err(Fault::NoArc { at: middle, corners: ends.to_vec() });
        }
        if !cut_seen {
            // The cut is too short to be told from the corner: the arc ends in the rim line.
            x[5] = 0.0;
        }
        let base = x;
        let expand = |q: &[f64]| {
            let mut full = base;
            free.iter().zip(q).for_each(|(i, v)| full[*i] = *v);
            full
        };
        let mut residuals = |q: &[f64], out: &mut Vec<f64>| {
            let full = expand(q);
            if full[2] <= 1.0 || full[7].abs() > 0.7 || !(0.01..3.1).contains(&full[4]) {
                return false;
            }
            let m = Model::of(&full);
            out.extend(kept_arc.iter().map(|e| m.off_arc(e.at) / e.sd));
            out.extend(cut.iter().map(|e| m.on_cut(e.at)[1] / e.sd));
            out.extend(rim.iter().map(|e| m.off_line(e.at) / e.sd));
            true
        };
        let start: Vec<f64> = free.iter().map(|i| x[*i]).collect();
        let scales: Vec<f64> = free.iter().map(|i| if matches!(i, 0..=2 | 5) { 1.0 } else { 0.01 }).collect();
        let settings = FitSettings { tolerance: 1e-6, difference: 1e-4, ..FitSettings::default() };
        let fit = least_squares(&start, &scales, &mut residuals, &settings).map_err(|_| unsettled())?;
        x = expand(&fit.at);
        // Wild edges by the middle half of the residuals.
        let mut sizes: Vec<f64> = fit.residuals.iter().map(|r| r.abs()).collect();
        sizes.sort_by(f64::total_cmp);
        typical = (sizes[sizes.len() / 2] / 0.6745).max(1.0);
        let m = Model::of(&x);
        kept_arc = p.arc.iter().filter(|e| (m.off_arc(e.at) / e.sd).abs() < 4.5 * typical).copied().collect();
        wild = p.arc.len() - kept_arc.len();
        if kept_arc.len() < 12 {
            return Err(unsettled());
        }
        found = Some((fit, free));
    }
    let (fit, free) = found.ok_or_else(unsettled)?;
    let m = Model::of(&x);
    let arc: Vec<(Edge, f64)> = kept_arc.iter().map(|e| (*e, m.off_arc(e.at))).collect();
    let together = correlation(&arc.iter().map(|(e, d)| d / e.sd).collect::<Vec<f64>>());
    let reduced = fit.scale() * fit.scale();
    let factor = together * reduced.max(1.0);
    let covariance: Vec<Vec<f64>> =
        fit.covariance.iter().map(|row| row.iter().map(|c| c * factor).collect()).collect();
    let place = |i: usize| free.iter().position(|k| *k == i);
    let height = place(7).map(|k| Measured { value: x[7], sd: covariance[k][k].sqrt() });
    Ok(CapFit {
        centre: [x[0], x[1]],
        cut: place(5).map(|_| x[5]),
        height,
        covariance,
        reduced_chi2: reduced,
        correlation: together,
        arc,
        wild,
        cut_seen: seen,
        table,
        free,
        full: x,
    })
}

/// How far beyond the arc's ends the rim line lies along the axis, the sine of the camera's height that its bow means, whether there is a line, and whether it is that of a table beside the part, on
/// which the rim is taken to stand.
fn rim_line(p: &Pieces, m: &Model, middle: [f64; 2]) -> (f64, f64, bool, bool) {
    let height = |e: &Edge| (e.at[0] - middle[0]) * m.u[0] + (e.at[1] - middle[1]) * m.u[1];
    let across = |e: &Edge| ((e.at[0] - middle[0]) * m.v[0] + (e.at[1] - middle[1]) * m.v[1]).abs();
    let half = m.x[2] * m.sin;
    // Runs across the axis, not along it as a stick's sides do.
    let flat = |e: &&Edge| {
        (e.direction[0] * m.u[0] + e.direction[1] * m.u[1]).abs() > 0.9 && height(e).abs() < 0.6 * m.x[2]
    };
    // Height over the arc's ends at the rim line's ends, and its bow: h = h₀ + bow √(1 − (x/half)²), wild edges left out.
    let level = |mut edges: Vec<Edge>, bowed: bool| {
        let (mut h0, mut bow) = (super::find::median(edges.iter().map(height).collect()), 0.0);
        let q = |e: &Edge| (1.0 - (across(e) / half) * (across(e) / half)).max(0.0).sqrt();
        for within in [0.04 * m.x[2] + 2.0, 1.5, 1.0] {
            edges.retain(|e| (height(e) - h0 - bow * q(e)).abs() < within);
            let n = edges.len() as f64;
            let sum = |f: &dyn Fn(&Edge) -> f64| edges.iter().map(f).sum::<f64>() / n;
            let (mq, mh) = (sum(&q), sum(&height));
            let spread = sum(&|e| (q(e) - mq) * (q(e) - mq));
            if bowed && spread > 1e-6 {
                bow = (sum(&|e| (q(e) - mq) * (height(e) - mh)) / spread).clamp(0.0, 0.2 * half);
            }
            h0 = mh - bow * mq;
        }
        let reach = if h0.is_finite() { (h0 - p.margin * m.sin).max(0.0) } else { 0.0 };
        (reach, bow / half, edges.len() >= 8)
    };
    let below: Vec<Edge> = p.rest.iter().filter(flat).filter(|e| across(e) < 0.8 * half).copied().collect();
    if below.len() >= 8 {
        let (reach, bow, line) = level(below, true);
        return (reach, bow, line, false);
    }
    let beside: Vec<Edge> =
        p.rest.iter().filter(flat).filter(|e| across(e) > half + 3.0 * p.margin).copied().collect();
    let table = beside.len() >= 8;
    let (reach, bow, line) = level(if table { beside } else { Vec::new() }, false);
    (reach, bow, line, table)
}

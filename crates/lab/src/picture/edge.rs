//! Edges to a fraction of a pixel, with their errors.
//!
//! Across a straight edge between a level a and a level a + d, blurred by a Gaussian of width σ, a picture has
//!
//! ```text
//! v(t) = a + d Φ((t − t₀)/σ)
//! ```
//!
//! | symbol | code | unit | | symbol | code | unit |
//! |---|---|---|---|---|---|---|
//! | t | distance along `direction` | px | | a, a + d | `before`, `after` | 0..1 |
//! | t₀ | `along` | px | | σ | `blur` | px |
//!
//! The four numbers are fitted by least squares to the pixels themselves, all those whose centres lie in a strip along the
//! direction: nothing is interpolated, so pixels keep their own, independent noise, and edges whose strips share no pixel have
//! independent errors. The deviation of t₀ is that of the fit, with the noise from its residuals. In white noise s with ρ pixels on
//! each pixel of length, ∫ (∂v/∂t₀)² dt = d²/(2 √π σ); the unknown level on either side takes the share √π σ/L of that away, L
//! the reach on either side. So
//!
//! ```text
//! sd(t₀) = (s/|d|) √(2 √π σ/ρ) / √(1 − √π σ/L)
//! ```
//!
//! which no unbiased reading can beat (the Cramér–Rao bound; closed form, recomputed from the stated equations): [`least_deviation`].
//! Fitting an error function to an edge is common practice.
//!
//! Limits: values must be proportional to light ([`super::Light`]); a curve of radius R is read nearer to its centre by w²/6R, w
//! the half-width of the strip (closed form: the mean of its sagitta); blur below about 0.35 px leaves the middle of an edge unread by the size of a tenth of a pixel.

use std::f64::consts::PI;
use std::fmt;

use calotte_chance::normal;

use super::Gray;
use super::contour::{Contour, resampled};

/// Where to look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeSettings {
    /// Half the length of the strip, px.
    pub reach: f64,
    /// Half its width, px.
    pub half_width: f64,
    /// Least step |d| that counts.
    pub least_contrast: f64,
}

impl Default for EdgeSettings {
    fn default() -> Self {
        Self { reach: 6.0, half_width: 1.5, least_contrast: 0.03 }
    }
}

/// An edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// Its point on the line that was asked, px.
    pub at: [f64; 2],
    /// Unit vector along which it was sought.
    pub direction: [f64; 2],
    /// Distance from the asked point along it, px.
    pub along: f64,
    /// Standard deviation of that, px.
    pub sd: f64,
    /// Width σ of the blur, px.
    pub blur: f64,
    /// Level before the edge.
    pub before: f64,
    /// Level behind it.
    pub after: f64,
    /// Deviation of a pixel's value from the model.
    pub noise: f64,
    /// Pixels in the fit.
    pub pixels: usize,
}

/// Why there is no edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NoEdge {
    /// The strip leaves the picture.
    Outside {
        /// Its middle, px.
        at: [f64; 2],
    },
    /// Too few pixels in the strip.
    Few {
        /// That many.
        pixels: usize,
    },
    /// No step stands out.
    Flat {
        /// The largest one.
        contrast: f64,
    },
    /// The step has no middle in the strip.
    Unsettled {
        /// Where the search stood, px along the direction.
        along: f64,
    },
}

impl fmt::Display for NoEdge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Outside { at } => {
                write!(f, "the line through ({:.0}, {:.0}) leaves the picture", at[0], at[1])
            }
            Self::Few { pixels } => write!(f, "only {pixels} pixels lie along the line"),
            Self::Flat { contrast } => {
                write!(f, "no edge stands out; the largest step is {contrast:.3} of white")
            }
            Self::Unsettled { .. } => write!(f, "the grey values along the line are no single edge"),
        }
    }
}

/// Least standard deviation of an edge's place, px: a step of `contrast` blurred by `blur` px in white noise `noise` with
/// `density` pixels on each pixel of length, seen `reach` px to either side; infinite when the reach does not show the levels.
pub fn least_deviation(contrast: f64, blur: f64, noise: f64, density: f64, reach: f64) -> f64 {
    let known = noise / contrast.abs() * (2.0 * PI.sqrt() * blur / density).sqrt();
    let left = 1.0 - PI.sqrt() * blur / reach;
    if left > 0.0 { known / left.sqrt() } else { f64::INFINITY }
}

/// The edge nearest to the middle between two points, sought along the whole way between them.
///
/// # Errors
/// [`NoEdge`].
pub fn edge_along(picture: &Gray, from: [f64; 2], to: [f64; 2], half_width: f64) -> Result<Edge, NoEdge> {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let length = libm::hypot(dx, dy);
    let settings = EdgeSettings { reach: 0.5 * length, half_width, ..EdgeSettings::default() };
    let middle = [0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1])];
    let mut edge = edge_across(picture, middle, [dx / length, dy / length], &settings)?;
    edge.along += 0.5 * length;
    Ok(edge)
}

/// The edge near `at` across the unit vector `direction`.
///
/// # Errors
/// [`NoEdge`].
pub fn edge_across(
    picture: &Gray,
    at: [f64; 2],
    direction: [f64; 2],
    settings: &EdgeSettings,
) -> Result<Edge, NoEdge> {
    let (reach, half) = (settings.reach, settings.half_width);
    let (nx, ny) = (direction[0], direction[1]);
    let span = [reach * nx.abs() + half * ny.abs(), reach * ny.abs() + half * nx.abs()];
    let outside = |c: usize, n: usize| !(at[c] - span[c] >= -0.5 && at[c] + span[c] <= n as f64 - 0.5);
    if !(reach > 0.0 && nx.is_finite() && ny.is_finite())
        || outside(0, picture.width())
        || outside(1, picture.height())
    {
        return Err(NoEdge::Outside { at });
    }
    let mut samples = Vec::with_capacity((4.0 * (reach + 1.0) * (half + 1.0)) as usize);
    let first = |c: f64| c.ceil().max(0.0) as usize;
    for j in first(at[1] - span[1])..=(at[1] + span[1]).floor() as usize {
        let row = picture.row(j);
        for i in first(at[0] - span[0])..=(at[0] + span[0]).floor() as usize {
            let (dx, dy) = (i as f64 - at[0], j as f64 - at[1]);
            let (t, across) = (dx * nx + dy * ny, dy * nx - dx * ny);
            if t.abs() <= reach && across.abs() <= half {
                samples.push([t, f64::from(row[i])]);
            }
        }
    }
    let step = fit(&samples, reach)?;
    // A step must stand out of the noise of the means on both sides.
    if step.d.abs() < settings.least_contrast.max(6.0 * step.noise / (0.25 * samples.len() as f64).sqrt()) {
        return Err(NoEdge::Flat { contrast: step.d.abs() });
    }
    Ok(Edge {
        at: [at[0] + step.t0 * nx, at[1] + step.t0 * ny],
        direction,
        along: step.t0,
        sd: step.sd,
        blur: step.blur,
        before: step.a,
        after: step.a + step.d,
        noise: step.noise,
        pixels: samples.len(),
    })
}

struct Step {
    t0: f64,
    blur: f64,
    a: f64,
    d: f64,
    sd: f64,
    noise: f64,
}

/// Fewest pixels of a fit of four numbers.
const FEWEST: usize = 8;

/// The step with the smallest squares among sharp ones, by bins of a pixel: where the fit starts.
fn sharp(samples: &[[f64; 2]], reach: f64) -> [f64; 3] {
    let bins = (2.0 * reach).ceil() as usize + 1;
    let (mut count, mut sum) = (vec![0.0; bins], vec![0.0; bins]);
    for [t, v] in samples {
        let k = ((t + reach) as usize).min(bins - 1);
        count[k] += 1.0;
        sum[k] += v;
    }
    let (all, total): (f64, f64) = (count.iter().sum(), sum.iter().sum());
    let (mut n, mut s) = (0.0, 0.0);
    let mut best = ([0.0, total / all, total / all], -1.0);
    for k in 0..bins - 1 {
        n += count[k];
        s += sum[k];
        if n > 0.0 && n < all {
            let (low, high) = (s / n, (total - s) / (all - n));
            let between = n * (all - n) * (high - low) * (high - low);
            if between > best.1 {
                best = ([(k + 1) as f64 - reach, low, high], between);
            }
        }
    }
    best.0
}

/// Levenberg's and Marquardt's steps on t₀, ln σ, a and d with exact derivatives.
fn fit(samples: &[[f64; 2]], reach: f64) -> Result<Step, NoEdge> {
    if samples.len() < FEWEST {
        return Err(NoEdge::Few { pixels: samples.len() });
    }
    let [t0, low, high] = sharp(samples, reach);
    if high == low {
        return Err(NoEdge::Flat { contrast: 0.0 });
    }
    let bounds = [libm::log(0.15), libm::log(reach)];
    let mut p = [t0, 0.0_f64.clamp(bounds[0], bounds[1]), low, high - low];
    let squares = |p: &[f64; 4]| {
        let per = libm::exp(-p[1]);
        samples
            .iter()
            .map(|[t, v]| p[2] + p[3] * normal::below((t - p[0]) * per) - v)
            .map(|r| r * r)
            .sum::<f64>()
    };
    let mut best = squares(&p);
    let mut damping = 1e-3;
    let mut normal_matrix = [[0.0; 4]; 4];
    for _ in 0..60 {
        let per = libm::exp(-p[1]);
        let mut gradient = [0.0; 4];
        normal_matrix = [[0.0; 4]; 4];
        for [t, v] in samples {
            let x = (t - p[0]) * per;
            let (share, slope) = (normal::below(x), normal::density(x));
            let row = [-p[3] * slope * per, -p[3] * slope * x, 1.0, share];
            let residual = p[2] + p[3] * share - v;
            for i in 0..4 {
                gradient[i] += row[i] * residual;
                for j in 0..=i {
                    normal_matrix[i][j] += row[i] * row[j];
                }
            }
        }
        let mut moved = false;
        while damping < 1e9 {
            let Some(step) = solved(&normal_matrix, &gradient, damping) else {
                damping *= 8.0;
                continue;
            };
            let mut q = p;
            (0..4).for_each(|i| q[i] -= step[i]);
            q[1] = q[1].clamp(bounds[0], bounds[1]);
            let found = squares(&q);
            if found <= best {
                let small = (q[0] - p[0]).abs() < 1e-7 && (q[1] - p[1]).abs() < 1e-6;
                (p, best) = (q, found);
                damping = (damping * 0.2).max(1e-12);
                moved = !small;
                break;
            }
            damping *= 8.0;
        }
        if !moved {
            break;
        }
    }
    if p[0].is_nan() || p[0].abs() >= reach {
        return Err(NoEdge::Unsettled { along: p[0] });
    }
    let noise = (best / (samples.len() - 4) as f64).sqrt();
    let unit = solved(&normal_matrix, &[1.0, 0.0, 0.0, 0.0], 0.0).ok_or(NoEdge::Unsettled { along: p[0] })?;
    Ok(Step { t0: p[0], blur: libm::exp(p[1]), a: p[2], d: p[3], sd: unit[0].sqrt() * noise, noise })
}

/// x of (A + damping·diag A) x = b, from the lower triangle of A, by Cholesky; `None` unless positive.
fn solved(a: &[[f64; 4]; 4], b: &[f64; 4], damping: f64) -> Option<[f64; 4]> {
    let mut l = [[0.0; 4]; 4];
    for i in 0..4 {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
            if i == j {
                let pivot = a[i][i] * (1.0 + damping) - sum;
                if pivot.is_nan() || pivot <= 1e-14 * a[i][i] {
                    return None;
                }
                l[i][i] = pivot.sqrt();
            } else {
                l[i][j] = (a[i][j] - sum) / l[j][j];
            }
        }
    }
    let mut x = *b;
    for i in 0..4 {
        let sum: f64 = (0..i).map(|k| l[i][k] * x[k]).sum();
        x[i] = (x[i] - sum) / l[i][i];
    }
    for i in (0..4).rev() {
        let sum: f64 = (i + 1..4).map(|k| l[k][i] * x[k]).sum();
        x[i] = (x[i] - sum) / l[i][i];
    }
    Some(x)
}

/// Edges along a traced contour, one each `spacing` px, each across the contour there and towards its left-hand side (the light
/// side of [`super::contours`]). The second list has the places where there is none. With a `spacing` of at least twice the
/// half-width, edges share no pixel.
pub fn refine(
    picture: &Gray,
    contour: &Contour,
    spacing: f64,
    settings: &EdgeSettings,
) -> (Vec<Edge>, Vec<([f64; 2], NoEdge)>) {
    let places = resampled(&contour.points, contour.closed, spacing);
    let n = places.len();
    let (mut found, mut missed) = (Vec::with_capacity(n), Vec::new());
    if n < 3 {
        return (found, missed);
    }
    for k in 0..n {
        let (before, after) = if contour.closed {
            (places[(k + n - 1) % n], places[(k + 1) % n])
        } else {
            (places[k.saturating_sub(1)], places[(k + 1).min(n - 1)])
        };
        let (dx, dy) = (after[0] - before[0], after[1] - before[1]);
        let length = libm::hypot(dx, dy);
        match edge_across(picture, places[k], [dy / length, -dx / length], settings) {
            Ok(edge) => found.push(edge),
            Err(why) => missed.push((places[k], why)),
        }
    }
    (found, missed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use calotte_chance::Stream;

    /// A straight edge at distance `at` from the picture's middle along (cos, sin) of `angle`; the light side ahead.
    fn edge(angle: f64, at: f64, blur: f64, noise: f64, seed: u64) -> Gray {
        let n = 41;
        let (sin, cos) = libm::sincos(angle);
        let mut stream = Stream::new(seed);
        let mut out = Gray::filled(n, n, 0.0);
        for j in 0..n {
            for i in 0..n {
                // Mean over the pixel's square by 8 × 8 points.
                let mut sum = 0.0;
                for k in 0..64 {
                    let (u, v) = ((k % 8) as f64 / 8.0 - 0.4375, (k / 8) as f64 / 8.0 - 0.4375);
                    let t = (i as f64 - 20.0 + u) * cos + (j as f64 - 20.0 + v) * sin - at;
                    sum += normal::below(t / blur);
                }
                out.row_mut(j)[i] = (0.1 + 0.7 * sum / 64.0 + noise * stream.normal()) as f32;
            }
        }
        out
    }

    fn read(picture: &Gray, angle: f64) -> Edge {
        let (sin, cos) = libm::sincos(angle);
        edge_across(picture, [20.0, 20.0], [cos, sin], &EdgeSettings::default()).unwrap()
    }

    #[test]
    fn an_edge_without_noise_is_where_it_was_drawn() {
        for k in 0..24 {
            let (angle, at) = (0.31 * f64::from(k), 0.37 * f64::from(k % 7) - 1.0);
            for (blur, within) in [(0.35, 0.02), (0.7, 2e-3), (1.5, 2e-3)] {
                let e = read(&edge(angle, at, blur, 0.0, 0), angle);
                assert!((e.along - at).abs() < within, "{angle} {at} {blur}: {e:?}");
                // The square of a pixel adds 1/12 px² of its own.
                let whole = (blur * blur + 1.0 / 12.0).sqrt();
                assert!((e.blur / whole - 1.0).abs() < 0.08, "{blur}: {}", e.blur);
                assert!((e.before - 0.1).abs() < 0.01 && (e.after - 0.8).abs() < 0.01);
            }
        }
    }

    /// Over 400 drawn edges: errors as large as said, 95 % within 1.96 of their deviation, and near the least that is possible.
    #[test]
    fn deviations_are_true() {
        let (mut square, mut said, mut within) = (0.0, 0.0, 0);
        let n = 400;
        for seed in 0..n {
            let mut s = Stream::of(7, seed);
            let (angle, at) = (6.3 * s.unit(), 2.0 * s.unit() - 1.0);
            let e = read(&edge(angle, at, 1.2, 0.02, seed), angle);
            let z = (e.along - at) / e.sd;
            square += z * z / n as f64;
            said += e.sd / n as f64;
            within += usize::from(z.abs() < 1.96);
        }
        let share = within as f64 / n as f64;
        assert!((0.85..1.2).contains(&square), "{square}");
        assert!((0.92..0.98).contains(&share), "{share}");
        let bound = least_deviation(0.7, (1.2_f64 * 1.2 + 1.0 / 12.0).sqrt(), 0.02, 3.0, 6.0);
        assert!((0.97..1.05).contains(&(said / bound)), "{said} {bound}");
    }

    #[test]
    fn where_there_is_no_edge() {
        let flat = Gray::filled(50, 50, 0.4);
        let s = EdgeSettings::default();
        assert!(matches!(edge_across(&flat, [25.0, 25.0], [1.0, 0.0], &s), Err(NoEdge::Flat { .. })));
        assert!(matches!(edge_across(&flat, [2.0, 25.0], [1.0, 0.0], &s), Err(NoEdge::Outside { .. })));
        assert!(matches!(edge_across(&flat, [f64::NAN, 25.0], [1.0, 0.0], &s), Err(NoEdge::Outside { .. })));
        assert!(matches!(edge_along(&flat, [5.0, 5.0], [5.0, 5.0], 1.0), Err(NoEdge::Outside { .. })));
        let mut noise = Gray::filled(50, 50, 0.4);
        let mut stream = Stream::new(3);
        noise.values_mut().iter_mut().for_each(|v| *v += 0.05 * stream.normal() as f32);
        assert!(edge_across(&noise, [25.0, 25.0], [1.0, 0.0], &s).is_err());
    }
}

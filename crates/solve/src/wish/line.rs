//! Everything a function of one number does on an interval: roots of any level, extrema, and where it has no value.
//!
//! A [`Scan`] starts from samples that the caller took. Where the function ceases to have a value between two samples, the border is
//! bisected. Roots are bracketed by samples of both sides and found by Brent's method; a pair of roots between samples shows as an
//! extremum there, which is found by parabolic steps and golden section and, where it crosses the level, splits the bracket.
//! What happens within one step without showing in three neighbouring samples is missed: [`Scan::step`] says how long a step is.
//!
//! Source: R. P. Brent, Algorithms for Minimization without Derivatives, Prentice-Hall 1973, chapters 4 and 5.

/// A function of one number that may have no value.
pub trait Line {
    /// Its value.
    fn value(&mut self, x: f64) -> Option<f64>;
}

impl<F: FnMut(f64) -> Option<f64>> Line for F {
    fn value(&mut self, x: f64) -> Option<f64> {
        self(x)
    }
}

/// A stretch on which the function has values.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Places in growing order with their values; first and last are its ends.
    pub samples: Vec<(f64, f64)>,
    /// Whether the function has no value beyond either end; `false` at the ends of the interval.
    pub ceases: [bool; 2],
}

/// A function scanned.
#[derive(Clone, Debug, PartialEq)]
pub struct Scan {
    /// Stretches with values, in order.
    pub pieces: Vec<Piece>,
    /// Longest distance between neighbouring samples.
    pub step: f64,
}

/// Bisections of a border.
const BORDER: usize = 24;
/// Steps of a root or an extremum.
const MOST: usize = 60;

impl Scan {
    /// From samples in growing order; `within` is the width to which borders are found.
    pub fn new(samples: &[(f64, Option<f64>)], within: f64, f: &mut dyn Line) -> Self {
        let mut pieces: Vec<Piece> = Vec::new();
        let mut open: Option<Piece> = None;
        let mut before: Option<f64> = None;
        for &(x, v) in samples {
            match (v, open.is_some()) {
                (Some(v), true) => open.iter_mut().for_each(|p| p.samples.push((x, v))),
                (Some(v), false) => {
                    let mut piece = Piece { samples: Vec::new(), ceases: [before.is_some(), false] };
                    piece.samples.extend(before.and_then(|b| border(b, (x, v), within, f)));
                    piece.samples.push((x, v));
                    open = Some(piece);
                }
                (None, true) => {
                    if let Some(mut piece) = open.take() {
                        if let Some(last) = piece.samples.last().copied() {
                            piece.samples.extend(border(x, last, within, f));
                        }
                        piece.ceases[1] = true;
                        pieces.push(piece);
                    }
                }
                (None, false) => {}
            }
            before = Some(x);
        }
        pieces.extend(open);
        let step = samples.windows(2).map(|w| w[1].0 - w[0].0).fold(0.0, f64::max);
        Self { pieces, step }
    }

    /// Finds the extrema between samples and keeps them as samples; to be done before asking for roots. Only those matter for a
    /// level that its neighbours do not straddle already, so `levels` says which levels will be asked for; every one is found when
    /// it is `None`.
    pub fn extrema(&mut self, levels: Option<&[f64]>, within: f64, f: &mut dyn Line) {
        for piece in &mut self.pieces {
            let s = piece.samples.clone();
            for i in 1..s.len().saturating_sub(1) {
                let (a, m, b) = (s[i - 1], s[i], s[i + 1]);
                let up = m.1 >= a.1 && m.1 > b.1;
                let down = m.1 <= a.1 && m.1 < b.1;
                if !(up || down) {
                    continue;
                }
                // As far as the extremum can lie beyond the middle sample, by the parabola through the three, doubled.
                let reach = 2.0 * parabola(a, m, b).map_or(0.0, |x| (x.1 - m.1).abs()) + 1e-12 * m.1.abs();
                let near =
                    |l: &f64| if up { *l > m.1 && *l <= m.1 + reach } else { *l < m.1 && *l >= m.1 - reach };
                if levels.is_none_or(|l| l.iter().any(near)) {
                    let sign = if up { -1.0 } else { 1.0 };
                    let found = extremum(a, m, b, sign, within, f);
                    piece.samples.push(found);
                }
            }
            piece.samples.sort_by(|p, q| p.0.total_cmp(&q.0));
            piece.samples.dedup_by(|p, q| p.0 == q.0);
        }
    }

    /// Where the function takes a level, in growing order, to `within`.
    pub fn roots(&self, level: f64, within: f64, f: &mut dyn Line) -> Vec<f64> {
        let mut found: Vec<f64> = Vec::new();
        for piece in &self.pieces {
            for w in piece.samples.windows(2) {
                let (a, b) = ((w[0].0, w[0].1 - level), (w[1].0, w[1].1 - level));
                if a.1 == 0.0 {
                    found.push(a.0);
                } else if a.1 * b.1 < 0.0 {
                    found.extend(root(a, b, within, &mut |x| f.value(x).map(|v| v - level)));
                }
            }
            found.extend(piece.samples.last().filter(|l| l.1 == level).map(|l| l.0));
        }
        found.dedup_by(|p, q| (*p - *q).abs() <= within);
        found
    }
}

/// The last place with a value on the way from one with a value to one without.
fn border(without: f64, with: (f64, f64), within: f64, f: &mut dyn Line) -> Option<(f64, f64)> {
    let (mut out, mut best) = (without, with);
    for _ in 0..BORDER {
        if (out - best.0).abs() <= within {
            break;
        }
        let m = 0.5 * (out + best.0);
        match f.value(m) {
            Some(v) => best = (m, v),
            None => out = m,
        }
    }
    (best != with).then_some(best)
}

/// Place and value of the extremum of the parabola through three points; `None` when it is none.
fn parabola(a: (f64, f64), m: (f64, f64), b: (f64, f64)) -> Option<(f64, f64)> {
    let (p, q) = ((m.1 - a.1) / (m.0 - a.0), (b.1 - m.1) / (b.0 - m.0));
    let bend = (q - p) / (b.0 - a.0);
    let slope = p + bend * (m.0 - a.0);
    let x = m.0 - 0.5 * slope / bend;
    (x > a.0 && x < b.0).then(|| (x, m.1 - 0.25 * slope * slope / bend))
}

/// Minimum of sign·f between a and b, m lower than both: parabolic steps where they shorten fast enough, golden section elsewhere.
fn extremum(
    a: (f64, f64),
    m: (f64, f64),
    b: (f64, f64),
    sign: f64,
    within: f64,
    f: &mut dyn Line,
) -> (f64, f64) {
    const GOLDEN: f64 = 0.381_966_011_250_105_1;
    let (mut a, mut m, mut b) = (a, m, b);
    for k in 0..MOST {
        // The value of an extremum is known to the square of its place's error.
        if b.0 - a.0 <= 2.0 * within.sqrt().max(within) * (b.0 - a.0).max(1e-3) || b.0 - a.0 <= within {
            break;
        }
        let step = parabola(a, m, b).map(|p| p.0).filter(|_| k % 3 != 2);
        let golden =
            if m.0 - a.0 > b.0 - m.0 { m.0 - GOLDEN * (m.0 - a.0) } else { m.0 + GOLDEN * (b.0 - m.0) };
        let least = 1e-3 * (b.0 - a.0);
        let mut x = step.unwrap_or(golden);
        if (x - m.0).abs() < least {
            x = if m.0 - a.0 > b.0 - m.0 { m.0 - least } else { m.0 + least };
        }
        let Some(v) = f.value(x) else { break };
        if sign * v < sign * m.1 {
            if x < m.0 {
                b = m
            } else {
                a = m
            }
            m = (x, v);
        } else if x < m.0 {
            a = (x, v);
        } else {
            b = (x, v);
        }
    }
    m
}

/// Root between two places of opposite signs, by inverse quadratic interpolation, secants and bisection; `None` where the function
/// has no value on the way.
fn root(a: (f64, f64), b: (f64, f64), within: f64, f: &mut dyn FnMut(f64) -> Option<f64>) -> Option<f64> {
    let (mut a, mut b) = if a.1.abs() < b.1.abs() { (b, a) } else { (a, b) };
    // b is the best so far, a the one before, c the end of the bracket.
    let mut c = a;
    let mut step = b.0 - a.0;
    let mut before = step;
    for _ in 0..MOST {
        if b.1 * c.1 > 0.0 {
            c = a;
            step = b.0 - a.0;
            before = step;
        }
        if c.1.abs() < b.1.abs() {
            a = b;
            b = c;
            c = a;
        }
        let half = 0.5 * (c.0 - b.0);
        let tolerance = 2.0 * f64::EPSILON * b.0.abs() + 0.5 * within;
        if half.abs() <= tolerance || b.1 == 0.0 {
            return Some(b.0);
        }
        if before.abs() >= tolerance && a.1.abs() > b.1.abs() {
            let s = b.1 / a.1;
            let (mut p, mut q) = if a.0 == c.0 {
                (2.0 * half * s, 1.0 - s)
            } else {
                let (q, r) = (a.1 / c.1, b.1 / c.1);
                (s * (2.0 * half * q * (q - r) - (b.0 - a.0) * (r - 1.0)), (q - 1.0) * (r - 1.0) * (s - 1.0))
            };
            if p > 0.0 {
                q = -q;
            } else {
                p = -p;
            }
            if 2.0 * p < (3.0 * half * q - (tolerance * q).abs()).min((before * q).abs()) {
                before = step;
                step = p / q;
            } else {
                step = half;
                before = half;
            }
        } else {
            step = half;
            before = half;
        }
        a = b;
        let x = if step.abs() > tolerance { b.0 + step } else { b.0 + tolerance * half.signum() };
        b = (x, f(x)?);
    }
    Some(b.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn samples(count: u32, f: &mut dyn FnMut(f64) -> Option<f64>) -> Vec<(f64, Option<f64>)> {
        (0..count).map(|i| f64::from(i) / f64::from(count - 1)).map(|x| (x, f(x))).collect()
    }

    #[test]
    fn both_roots_between_two_samples_are_found() {
        // Closed form: (x − 0.52)² = 1e-4 at 0.51 and 0.53; samples every 0.125 straddle neither.
        let mut asked = 0;
        let mut f = |x: f64| {
            asked += 1;
            Some((x - 0.52) * (x - 0.52))
        };
        let s = samples(9, &mut f);
        let mut scan = Scan::new(&s, 1e-9, &mut f);
        scan.extrema(Some(&[1e-4]), 1e-9, &mut f);
        let roots = scan.roots(1e-4, 1e-12, &mut f);
        assert_eq!(roots.len(), 2, "{roots:?}");
        assert!((roots[0] - 0.51).abs() < 1e-10 && (roots[1] - 0.53).abs() < 1e-10, "{roots:?}");
        assert_eq!(asked, 37);
    }

    #[test]
    fn borders_of_values_are_found_and_roots_next_to_them() {
        // Values from 1/3 on; √(x − 1/3) takes 0.01 at 1/3 + 1e-4, between the border and the first sample.
        let mut f = |x: f64| (x >= 1.0 / 3.0).then(|| (x - 1.0 / 3.0).sqrt());
        let s = samples(11, &mut f);
        let scan = Scan::new(&s, 1e-7, &mut f);
        assert_eq!(scan.pieces.len(), 1);
        assert_eq!(scan.pieces[0].ceases, [true, false]);
        assert!((scan.pieces[0].samples[0].0 - 1.0 / 3.0).abs() < 1e-7);
        let roots = scan.roots(0.01, 1e-12, &mut f);
        assert_eq!(roots.len(), 1);
        assert!((roots[0] - 1.0 / 3.0 - 1e-4).abs() < 1e-11, "{roots:?}");
    }

    #[test]
    fn a_level_touched_or_never_reached() {
        let mut f = |x: f64| Some(libm::sin(12.0 * x));
        let s = samples(25, &mut f);
        let mut scan = Scan::new(&s, 1e-9, &mut f);
        scan.extrema(None, 1e-9, &mut f);
        // sin 12x = 0.5 at (π/6, 5π/6, 13π/6, 17π/6)/12.
        let pi = std::f64::consts::PI;
        let roots = scan.roots(0.5, 1e-13, &mut f);
        for (r, k) in roots.iter().zip([1.0, 5.0, 13.0, 17.0]) {
            assert!((r - k * pi / 72.0).abs() < 1e-11);
        }
        assert_eq!(roots.len(), 4);
        assert!(scan.roots(1.01, 1e-13, &mut f).is_empty());
    }
}

//! Everything a function of one number does on an interval: roots of any level, extrema, and where it has no value.
//!
//! A [`Scan`] starts from samples that the caller took. Where the function ceases to have a value between two samples, the border is
//! bisected. Roots are bracketed by samples of both sides and found by Brent's method; a pair of roots between samples shows as an
//! extremum there, which is found by parabolic steps and golden section and, where it crosses the level, splits the bracket.
//! What happens within one step without showing in three neighbouring samples is missed: [`Scan::step`] says how long a step is.
//! Borders and roots are found side by side, so that the caller can find the values of one round in parallel.
//!
//! Source: R. P. Brent, Algorithms for Minimization without Derivatives, Prentice-Hall 1973, chapters 4 and 5.

use super::bracket::{Bracket, together};

/// A function of one number that may have no value.
pub trait Line {
    /// Its values at several places.
    fn values(&mut self, x: &[f64]) -> Vec<Option<f64>>;
}

impl<F: FnMut(f64) -> Option<f64>> Line for F {
    fn values(&mut self, x: &[f64]) -> Vec<Option<f64>> {
        x.iter().map(|x| self(*x)).collect()
    }
}

/// A place with its value.
pub type Sample = (f64, f64);

/// A stretch on which the function has values.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Places in growing order with their values; first and last are its ends.
    pub samples: Vec<Sample>,
    /// The nearest place beyond either end at which the function has no value; `None` at the ends of the interval.
    pub beyond: [Option<f64>; 2],
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
/// Width to which every border is found, in shares of a step.
const COARSE: f64 = 1.0 / 32.0;
/// Steps of an extremum.
const MOST: usize = 60;

impl Scan {
    /// From samples in growing order.
    pub fn new(samples: &[(f64, Option<f64>)]) -> Self {
        let mut pieces: Vec<Piece> = Vec::new();
        let mut open: Option<Piece> = None;
        let mut before: Option<f64> = None;
        for &(x, v) in samples {
            match v {
                Some(v) => open
                    .get_or_insert_with(|| Piece { samples: Vec::new(), beyond: [before, None] })
                    .samples
                    .push((x, v)),
                None => pieces.extend(open.take().map(|mut piece| {
                    piece.beyond[1] = Some(x);
                    piece
                })),
            }
            before = Some(x);
        }
        pieces.extend(open);
        let step = samples.windows(2).map(|w| w[1].0 - w[0].0).fold(0.0, f64::max);
        Self { pieces, step }
    }

    /// Bisects the borders of regions without a value, and keeps the last places with one as samples: all to a thirty-second of a
    /// step, and to `within` as long as `matters` says so of the last sample that the caller took and the last place with a value.
    pub fn borders(&mut self, within: f64, matters: &dyn Fn(Sample, Sample) -> bool, f: &mut dyn Line) {
        struct Border {
            piece: usize,
            side: usize,
            out: f64,
            sample: Sample,
            best: Sample,
        }
        let mut open: Vec<Border> = Vec::new();
        for (piece, p) in self.pieces.iter().enumerate() {
            for (side, end) in [p.samples.first(), p.samples.last()].into_iter().enumerate() {
                if let (Some(out), Some(&best)) = (p.beyond[side], end) {
                    open.push(Border { piece, side, out, sample: best, best });
                }
            }
        }
        let coarse = COARSE * self.step;
        for _ in 0..BORDER {
            let on = |b: &Border| {
                let width = (b.out - b.best.0).abs();
                width > within && (width > coarse || matters(b.sample, b.best))
            };
            let going: Vec<usize> = (0..open.len()).filter(|i| on(&open[*i])).collect();
            if going.is_empty() {
                break;
            }
            let middles: Vec<f64> = going.iter().map(|i| 0.5 * (open[*i].out + open[*i].best.0)).collect();
            for ((i, x), v) in going.into_iter().zip(&middles).zip(f.values(&middles)) {
                match v {
                    Some(v) => open[i].best = (*x, v),
                    None => open[i].out = *x,
                }
            }
        }
        for b in open {
            let piece = &mut self.pieces[b.piece];
            piece.beyond[b.side] = Some(b.out);
            if b.best != b.sample {
                let at = if b.side == 0 { 0 } else { piece.samples.len() };
                piece.samples.insert(at, b.best);
            }
        }
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

    /// Brackets of all places where the function takes a level; see [`Bracket::new`] for `within` and `enough`.
    pub fn brackets(&self, level: f64, within: f64, enough: f64) -> Vec<Bracket> {
        let mut found = Vec::new();
        for piece in &self.pieces {
            let s = &piece.samples;
            for i in 1..s.len() {
                let (a, b) = (s[i - 1], s[i]);
                if a.1 == level || (a.1 - level) * (b.1 - level) < 0.0 {
                    let beside = [i.checked_sub(2).map(|k| s[k]), s.get(i + 1).copied()];
                    found.push(Bracket::new(a, b, level, within, enough).with_guess(beside));
                }
            }
            if let Some(&last) = s.last().filter(|l| l.1 == level) {
                found.push(Bracket::new(last, last, level, within, enough));
            }
        }
        found
    }

    /// Where the function takes a level, in growing order, to `within`.
    pub fn roots(&self, level: f64, within: f64, f: &mut dyn Line) -> Vec<f64> {
        let mut all = self.brackets(level, within, 0.0);
        together(&mut all, &mut |asked| f.values(&asked.iter().map(|a| a.1).collect::<Vec<_>>()));
        let mut found: Vec<f64> = all.iter().filter_map(Bracket::root).collect();
        found.dedup_by(|p, q| (*p - *q).abs() <= within);
        found
    }
}

/// Place and value of the extremum of the parabola through three points; `None` when it is none.
fn parabola(a: Sample, m: Sample, b: Sample) -> Option<Sample> {
    let (p, q) = ((m.1 - a.1) / (m.0 - a.0), (b.1 - m.1) / (b.0 - m.0));
    let bend = (q - p) / (b.0 - a.0);
    let slope = p + bend * (m.0 - a.0);
    let x = m.0 - 0.5 * slope / bend;
    (x > a.0 && x < b.0).then(|| (x, m.1 - 0.25 * slope * slope / bend))
}

/// Minimum of sign·f between a and b, m lower than both: parabolic steps where they shorten fast enough, golden section elsewhere.
fn extremum(a: Sample, m: Sample, b: Sample, sign: f64, within: f64, f: &mut dyn Line) -> Sample {
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
        let Some(v) = f.values(&[x]).pop().flatten() else { break };
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
        let mut scan = Scan::new(&s);
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
        let mut scan = Scan::new(&s);
        // 0.01 lies beyond what the border shows at first, in the direction in which the values go.
        scan.borders(1e-7, &|near, last| last.1 - 2.0 * (near.1 - last.1) < 0.01, &mut f);
        assert_eq!(scan.pieces.len(), 1);
        assert!(scan.pieces[0].beyond[0].is_some_and(|x| (x - 1.0 / 3.0).abs() < 1e-7));
        assert_eq!(scan.pieces[0].beyond[1], None);
        assert!((scan.pieces[0].samples[0].0 - 1.0 / 3.0).abs() < 1e-7);
        let roots = scan.roots(0.01, 1e-12, &mut f);
        assert_eq!(roots.len(), 1);
        assert!((roots[0] - 1.0 / 3.0 - 1e-4).abs() < 1e-11, "{roots:?}");
    }

    #[test]
    fn a_level_touched_or_never_reached() {
        let mut f = |x: f64| Some(libm::sin(12.0 * x));
        let s = samples(25, &mut f);
        let mut scan = Scan::new(&s);
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

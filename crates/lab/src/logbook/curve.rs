//! Wait against margin for one hold and one memory, both ways.
//!
//! A part of margin `M = ln(h*/h)` stays for good from `M = 0` up, returns at once below `−b` and waits between. With
//! `x = −M/b` the wait `W` grows like a power of `x` towards `x = 0` (the passage of a ghost) and vanishes like a power of
//! `1 − x` towards `x = 1`, so `ln W` over `ln(x/(1−x))` is nearly a straight line at both ends and smooth between: few knots
//! carry it.

/// Wait against margin.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Curve {
    /// Width b of the band of waiting, in the margin; 0 for an elastic material.
    band: f64,
    /// ln(x/(1−x)), increasing, with ln(wait/s), decreasing.
    knots: Vec<[f64; 2]>,
    /// Time that every wait begins with, s; the knots are without it.
    before: f64,
    /// What is added to every margin before it is looked up: what acts beside the sizes, as weight does.
    shift: f64,
}

/// Least drop of ln W from knot to knot per unit of the other coordinate, so that every wait has one margin.
const LEAST_SLOPE: f64 = 1e-3;

impl Curve {
    /// An elastic material: nothing waits.
    pub(crate) fn elastic() -> Self {
        Self { band: 0.0, knots: Vec::new(), before: 0.0, shift: 0.0 }
    }

    /// A band of width `band` with knots (share x of it, ln wait); knots that are out of order or not finite are passed over,
    /// and where fewer than two are left nothing waits.
    #[cfg(test)]
    pub(crate) fn new(band: f64, shares: &[f64], log_waits: &[f64]) -> Self {
        Self::through(band, shares.iter().zip(log_waits).map(|(x, w)| [libm::log(x / (1.0 - x)), *w]))
    }

    /// The same with knots (ln(x/(1 − x)), ln wait).
    pub(crate) fn through(band: f64, knots: impl Iterator<Item = [f64; 2]>) -> Self {
        let mut kept: Vec<[f64; 2]> = Vec::with_capacity(knots.size_hint().0);
        for [c, w] in knots {
            let after = kept.last().is_none_or(|l| c > l[0] && w < l[1] - LEAST_SLOPE * (c - l[0]));
            if c.is_finite() && w.is_finite() && after {
                kept.push([c, w]);
            }
        }
        if kept.len() < 2 || !(band > 0.0 && band.is_finite()) {
            return Self::elastic();
        }
        Self { band, knots: kept, before: 0.0, shift: 0.0 }
    }

    /// The same with the band multiplied and something added to ln of every wait.
    pub(crate) fn likened(mut self, width: f64, log_wait: f64) -> Self {
        self.band *= width;
        self.knots.iter_mut().for_each(|k| k[1] += log_wait);
        self
    }

    /// The same with every wait longer by so much, s.
    pub(crate) fn after(mut self, before: f64) -> Self {
        self.before = before;
        self
    }

    /// The same where something acts as so much more margin.
    pub(crate) fn shifted(mut self, by: f64) -> Self {
        self.shift = by;
        self
    }

    /// Width of the band of waiting.
    pub(crate) fn band(&self) -> f64 {
        self.band
    }

    /// The two knots about a place in column `by`; beyond the ends the last two.
    fn about(&self, by: usize, at: f64) -> ([f64; 2], [f64; 2]) {
        let inner = &self.knots[1..self.knots.len() - 1];
        let i = inner.partition_point(|k| if by == 0 { k[0] < at } else { k[1] > at });
        (self.knots[i], self.knots[i + 1])
    }

    /// The margin at which a part waits `wait` seconds: 0 for ever, −b for no time at all, less the shift.
    pub(crate) fn margin_of(&self, wait: f64) -> f64 {
        if self.band == 0.0 || wait == f64::INFINITY {
            return -self.shift;
        }
        if wait <= self.before {
            return -self.band - self.shift;
        }
        let w = libm::log(wait - self.before);
        let (a, b) = self.about(1, w);
        let c = a[0] + (w - a[1]) * (b[0] - a[0]) / (b[1] - a[1]);
        -self.band / (1.0 + libm::exp(-c)) - self.shift
    }

    /// ln(wait/s) at a margin and its slope by the margin; `None` outside the band.
    pub(crate) fn log_wait(&self, margin: f64) -> Option<[f64; 2]> {
        let x = -(margin + self.shift) / self.band;
        if !(x > 0.0 && x < 1.0) {
            return None;
        }
        let c = libm::log(x / (1.0 - x));
        let (a, b) = self.about(0, c);
        let per = (b[1] - a[1]) / (b[0] - a[0]);
        let (w, slope) = (a[1] + (c - a[0]) * per, -per / (self.band * x * (1.0 - x)));
        if self.before == 0.0 {
            return Some([w, slope]);
        }
        let wait = libm::exp(w);
        Some([libm::log(wait + self.before), slope * wait / (wait + self.before)])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve() -> Curve {
        let shares = [0.01, 0.1, 0.3, 0.6, 0.9, 0.99];
        let waits = shares.map(|x| libm::log(2.0) - 0.5 * libm::log(x) + 1.5 * libm::log(1.0 - x));
        Curve::new(0.08, &shares, &waits)
    }

    #[test]
    fn margins_and_waits_are_inverse() {
        let after = curve().after(0.05);
        assert_eq!(after.margin_of(0.04), -0.08);
        for w in [0.06, 0.5, 20.0] {
            let m = after.margin_of(w);
            assert!((m - curve().margin_of(w - 0.05)).abs() < 1e-15);
            let [[back, slope], [_, more]] = [m, m + 1e-7].map(|m| after.log_wait(m).unwrap());
            let ahead = after.log_wait(m + 1e-7).unwrap()[0];
            assert!(
                (back - libm::log(w)).abs() < 1e-9 && ((ahead - back) / 1e-7 / slope - 1.0).abs() < 1e-3,
                "{more}"
            );
        }
        let c = curve();
        for w in [1e-4, 0.02, 0.5, 3.0, 20.0, 500.0] {
            let m = c.margin_of(w);
            assert!(m < 0.0 && m > -0.08);
            let [back, slope] = c.log_wait(m).unwrap();
            assert!((back - libm::log(w)).abs() < 1e-9, "{w}: {back}");
            assert!(slope > 0.0, "a part nearer to its threshold waits longer");
        }
        assert_eq!([c.margin_of(0.0), c.margin_of(f64::INFINITY)], [-0.08, 0.0]);
        assert!(c.log_wait(0.001).is_none() && c.log_wait(-0.09).is_none());
    }

    #[test]
    fn a_shift_moves_every_margin() {
        let (c, s) = (curve(), curve().shifted(-0.01));
        for w in [0.0, 0.5, 20.0, f64::INFINITY] {
            assert!((s.margin_of(w) - c.margin_of(w) - 0.01).abs() < 1e-15);
        }
        let [[a, _], [b, _]] = [c.log_wait(-0.05).unwrap(), s.log_wait(-0.04).unwrap()];
        assert!((a - b).abs() < 1e-12 && s.log_wait(0.005).is_some() && s.log_wait(-0.075).is_none());
    }

    #[test]
    fn elastic_parts_never_wait() {
        let e = Curve::elastic();
        assert_eq!(e.margin_of(5.0), 0.0);
        assert!(e.log_wait(-0.01).is_none());
        // Rising waits make no curve.
        assert_eq!(Curve::new(0.1, &[0.2, 0.5], &[1.0, 2.0]).band(), 0.0);
    }
}

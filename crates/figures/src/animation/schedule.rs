//! Which moments are shown, and how much slower or faster than they happen.

use calotte_answers::release::report::ReleaseReport;

use super::Setting;
use crate::release::film::Film;
use crate::release::time::{flight, snap, usable};
use crate::text::number;

/// Shares of the pictures: before the snap, snap, ringing, flight.
const SHARES: [f64; 4] = [0.24, 0.36, 0.22, 0.18];
/// Room before the snap begins and after it ends, in snap times.
const BEFORE: f64 = 1.0;
const AFTER: f64 = 0.5;
/// Periods of ringing shown.
const PERIODS: f64 = 8.0;
/// Factors that are shown, times powers of ten.
const ROUND: [f64; 9] = [1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0];

/// A stretch of the motion that plays at one factor: `count` pictures from `from`, the next stretch begins at `to`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stretch {
    pub(crate) from: f64,
    pub(crate) to: f64,
    pub(crate) count: usize,
}

impl Stretch {
    /// Time from one picture to the next.
    pub(crate) fn step(&self) -> f64 {
        (self.to - self.from) / self.count as f64
    }
}

/// How many times slower than it happens a step plays; below 1 it is faster.
pub(crate) fn slowed(step_s: f64, delay_s: f64) -> f64 {
    delay_s / step_s
}

/// A factor in words.
pub(crate) fn factor_words(slowed: f64) -> String {
    let times = |x: f64| {
        // Three digits of large factors, too.
        let ten = libm::pow(10.0, libm::log10(x.max(1.0)).floor() - 2.0);
        let plain = number(if ten > 1.0 { (x / ten).round() * ten } else { x }, 3);
        let plain = if plain.contains('.') && !plain.contains('^') {
            plain.trim_end_matches('0').trim_end_matches('.').to_owned()
        } else {
            plain
        };
        format!("{plain} ×")
    };
    if (slowed - 1.0).abs() < 5e-4 {
        "real time".to_owned()
    } else if slowed > 1.0 {
        format!("slowed {}", times(slowed))
    } else {
        format!("sped up {}", times(1.0 / slowed))
    }
}

/// The round factor nearest in ratio.
fn round(factor: f64) -> f64 {
    let decade = libm::pow(10.0, libm::log10(factor).floor());
    let miss = |m: f64| (m * decade / factor).max(factor / (m * decade));
    ROUND.iter().fold(1.0, |best, &m| if miss(m) < miss(best) { m } else { best }) * decade
}

/// A stretch from `from` to about `to` at a round factor; it ends within the film. Which end moves does not matter to
/// the reader, that the factor is true does.
fn at_round(from: f64, to: f64, wanted: f64, delay_s: f64, last: f64) -> Option<Stretch> {
    let span = to - from;
    if !(span > 0.0 && span.is_finite()) {
        return None;
    }
    let step = delay_s / round(delay_s * wanted.max(2.0) / span);
    let fits = ((last - from) / step + 1e-9).floor();
    let count = (span / step).round().min(fits);
    (count >= 1.0).then_some(Stretch { from, to: (from + count * step).min(last), count: count as usize })
}

/// The stretches of a film, each beginning where the one before it ends.
pub(crate) fn schedule(report: &ReleaseReport, film: &Film, setting: &Setting) -> Vec<Stretch> {
    let (first, last) = (film.first(), film.last());
    let delay = f64::from(setting.delay_cs) / 100.0;
    let wanted = setting.pictures as f64;
    let exact = |from: f64, to: f64, share: f64| Stretch {
        from,
        to,
        count: (share * wanted).round().max(2.0) as usize,
    };
    let Some(s) = snap(report).filter(|s| s.wait_s < last && s.end_s > first) else {
        return vec![exact(first, last, 0.6)];
    };
    let begin = s.wait_s - BEFORE * s.snap_time_s;
    let end = (s.end_s + AFTER * s.snap_time_s).min(last);
    if let Some(factor) = setting.slowed {
        // One factor for all that is fast: from before the snap through some ringing.
        let rings = report.ringing.filter(|r| usable(r.frequency_Hz) && r.frequency_Hz > 0.0);
        let to = end + rings.map_or(end - begin, |r| 2.0 / r.frequency_Hz);
        let (from, to) = (begin.max(first), to.min(last));
        let step = delay / factor;
        let count = ((to - from) / step).floor().clamp(1.0, 1e6);
        return vec![Stretch { from, to: (from + count * step).min(last), count: count as usize }];
    }
    let mut out = Vec::new();
    let mut at = first;
    if begin - first > 2.0 * (end - begin) {
        // Both ends are given, so the factor is what it is.
        out.push(exact(first, begin, SHARES[0]));
        at = begin;
    }
    let mut push = |at: &mut f64, to: f64, share: f64| {
        if let Some(stretch) = at_round(*at, to.min(last), share * wanted, delay, last) {
            *at = stretch.to;
            out.push(stretch);
        }
    };
    push(&mut at, end, SHARES[1]);
    let flying = flight(report, last);
    let ringing = report.ringing.filter(|r| usable(r.frequency_Hz) && r.frequency_Hz > 0.0);
    let rings = ringing.map_or(3.0 * (end - begin), |r| PERIODS / r.frequency_Hz);
    let to = at + rings;
    let rang = at;
    push(&mut at, to, SHARES[2]);
    if let Some((_, down)) = flying {
        // A little of what follows a landing.
        let to = (down + 0.1 * (down - at).max(0.0)).min(last);
        // What little may be left of it is not worth a factor of its own.
        if to - at > 0.5 * (at - rang) {
            push(&mut at, to, SHARES[3]);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factors_are_said_as_they_are() {
        for (slowed, want) in [
            (1500.0, "slowed 1500 ×"),
            (2.5, "slowed 2.5 ×"),
            (0.25, "sped up 4 ×"),
            (1.0 / 3.067, "sped up 3.07 ×"),
            (1.0, "real time"),
        ] {
            assert_eq!(factor_words(slowed), want);
        }
    }

    #[test]
    fn stretches_at_round_factors_end_within_the_film() {
        let s = at_round(1.0, 1.013, 40.0, 0.04, 2.0).unwrap();
        let factor = slowed(s.step(), 0.04);
        assert!(
            (factor / round(factor) - 1.0).abs() < 1e-9 && (30..=50).contains(&s.count),
            "{s:?} {factor}"
        );
        let cut = at_round(1.0, 1.013, 40.0, 0.04, 1.012).unwrap();
        assert!(cut.to <= 1.012 && cut.count < s.count);
        assert!(at_round(1.0, 1.0, 40.0, 0.04, 2.0).is_none());
    }
}

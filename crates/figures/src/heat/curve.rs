//! A branch over temperature cut where its stability changes.

use calotte_answers::heat::report::{HeatRow, Jump};

use super::{celsius, drawable};

/// Stability of a stretch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Class {
    /// Against everything examined.
    Stable,
    /// Lost to waves only.
    Sideways,
    /// Lost as a round shape.
    Unstable,
}

impl Class {
    fn of(row: &HeatRow) -> Self {
        match (row.unstable, row.unstable_n.is_empty()) {
            (0, true) => Self::Stable,
            (0, false) => Self::Sideways,
            _ => Self::Unstable,
        }
    }
}

/// A stretch of one class: temperature in °C and travel in m.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Stretch {
    pub(super) class: Class,
    pub(super) points: Vec<(f64, f64)>,
}

/// The stretches of a branch. Where the class changes between two rows and `jump` leaves the branch there, it is cut at the jump; at a
/// temperature of `losses` (in °C) on the straight line between them; elsewhere the worse of the two classes is the safe reading.
pub(super) fn stretches(rows: &[HeatRow], jump: Option<&Jump>, losses: &[f64]) -> Vec<Stretch> {
    let mut out: Vec<Stretch> = Vec::new();
    let mut push = |class: Class, a: (f64, f64), b: (f64, f64)| match out.last_mut() {
        Some(last) if last.class == class => last.points.push(b),
        _ => out.push(Stretch { class, points: vec![a, b] }),
    };
    let whole: Vec<&HeatRow> =
        rows.iter().filter(|r| drawable(r.temperature_K) && drawable(r.travel_m)).collect();
    for pair in whole.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let (before, after) = (Class::of(a), Class::of(b));
        let at = |r: &HeatRow| (celsius(r.temperature_K), r.travel_m);
        let between = jump.filter(|j| {
            let travel = j.travel_before_m;
            before != after
                && drawable(j.temperature_K)
                && (a.travel_m - travel) * (b.travel_m - travel) <= 0.0
        });
        let lost = || {
            let (a, b) = (at(a), at(b));
            let t = losses.iter().find(|t| before != after && (a.0 - **t) * (b.0 - **t) < 0.0)?;
            Some((*t, a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0)))
        };
        match between.map(|j| (celsius(j.temperature_K), j.travel_before_m)).or_else(lost) {
            Some(cut) => {
                push(before, at(a), cut);
                push(after, cut, at(b));
            }
            None => push(before.max(after), at(a), at(b)),
        }
    }
    out
}

/// `far` without what `near` shows already: unstable stretches that both branches share, as where one S joins trip and reset.
pub(super) fn without_twice(near: &[Stretch], far: Vec<Stretch>) -> Vec<Stretch> {
    let (a, b) = ends(near.iter().chain(&far).flat_map(|s| s.points.iter().map(|p| p.0)));
    let slack = 0.02 * (b - a);
    let shown = |p: &(f64, f64)| {
        near.iter().filter(|s| s.class == Class::Unstable).flat_map(|s| s.points.windows(2)).any(|w| {
            let run = w[1].1 - w[0].1;
            let share = if run == 0.0 { 0.0 } else { (p.1 - w[0].1) / run };
            (0.0..=1.0).contains(&share) && (w[0].0 + share * (w[1].0 - w[0].0) - p.0).abs() < slack
        })
    };
    let mut out = Vec::new();
    for s in far {
        if s.class != Class::Unstable {
            out.push(s);
            continue;
        }
        // A stretch keeps the points up to the first shown one, so that the two meet.
        let hidden: Vec<bool> = s.points.iter().map(shown).collect();
        let keep = |i: usize| {
            let beside = |k: usize| hidden.get(k).is_some_and(|h| !h);
            !hidden[i] || beside(i + 1) || i.checked_sub(1).is_some_and(beside)
        };
        let points: Vec<(f64, f64)> =
            s.points.iter().enumerate().filter(|(i, _)| keep(*i)).map(|(_, p)| *p).collect();
        if points.len() > 1 {
            out.push(Stretch { points, ..s });
        }
    }
    out
}

/// Smallest and largest of the values that can be drawn.
pub(super) fn ends(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.filter(|x| drawable(*x)).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)))
}

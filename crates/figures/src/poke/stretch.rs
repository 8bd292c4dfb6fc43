//! A path cut where its stability changes.

use calotte_answers::poke::report::{Event, EventKind, PathRow};

use super::{drawable, placed};

/// Stability of a stretch under one way of driving.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Class {
    /// Against everything examined.
    Stable,
    /// Lost to a sideways mode only.
    Sideways,
    /// Lost axisymmetrically.
    Unstable,
}

impl Class {
    pub(crate) fn of(row: &PathRow, by_load: bool) -> Self {
        let count = if by_load { row.unstable_load } else { row.unstable_displacement };
        match (count, row.unstable_n.is_empty()) {
            (0, true) => Self::Stable,
            (0, false) => Self::Sideways,
            _ => Self::Unstable,
        }
    }
}

/// A stretch of one class: displacement and load, SI.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Stretch {
    pub(crate) class: Class,
    pub(crate) points: Vec<(f64, f64)>,
}

/// Rows that can be drawn, with their places in the report. A row a million times beyond the usual size
/// of the others is taken for a slip: it would flatten everything else.
pub(crate) fn whole_rows(path: &[PathRow]) -> Vec<(usize, &PathRow)> {
    const SLIP: f64 = 1e6;
    let rows: Vec<(usize, &PathRow)> =
        path.iter().enumerate().filter(|(_, r)| drawable(r.displacement_SI, r.load_SI)).collect();
    let usual = |pick: fn(&PathRow) -> f64| {
        let mut sizes: Vec<f64> = rows.iter().map(|(_, r)| pick(r).abs()).filter(|x| *x > 0.0).collect();
        sizes.sort_by(f64::total_cmp);
        sizes.get(sizes.len() / 2).copied().unwrap_or(1.0)
    };
    let (load, displacement) = (usual(|r| r.load_SI), usual(|r| r.displacement_SI));
    rows.into_iter()
        .filter(|(_, r)| r.load_SI.abs() <= SLIP * load && r.displacement_SI.abs() <= SLIP * displacement)
        .collect()
}

/// Whether the class can change at an event.
fn turns(event: &Event, by_load: bool) -> bool {
    match event.kind {
        EventKind::LoadPeak | EventKind::LoadValley => by_load,
        EventKind::DisplacementLimit | EventKind::DisplacementReturn => !by_load,
        EventKind::Sideways | EventKind::SidewaysRegained => true,
        EventKind::NoLoad | EventKind::RimLifts | EventKind::PoleLiftsOff | EventKind::Stop => false,
    }
}

/// The path through rows and the events between them, cut where the class changes: at the events that
/// change it, which are known far better than the rows lie apart.
pub(crate) fn stretches(rows: &[(usize, &PathRow)], events: &[Event], by_load: bool) -> Vec<Stretch> {
    let mut out: Vec<Stretch> = Vec::new();
    let mut push = |class: Class, a: (f64, f64), b: (f64, f64)| match out.last_mut() {
        Some(last) if last.class == class => last.points.push(b),
        _ => out.push(Stretch { class, points: vec![a, b] }),
    };
    for pair in rows.windows(2) {
        let ((first, a), (last, b)) = (pair[0], pair[1]);
        let between: Vec<&Event> =
            events.iter().filter(|e| (first..last).contains(&e.after_row) && placed(e)).collect();
        let (before, after) = (Class::of(a, by_load), Class::of(b, by_load));
        let turning: Vec<usize> = (0..between.len()).filter(|&i| turns(between[i], by_load)).collect();
        let class = |piece: usize| {
            if before == after {
                return before;
            }
            match (turning.first(), turning.last()) {
                (Some(&f), _) if piece <= f => before,
                (_, Some(&l)) if piece > l => after,
                (Some(_), Some(_)) => {
                    let next = between[piece.min(between.len() - 1)];
                    let stable =
                        if by_load { next.stable_before_load } else { next.stable_before_displacement };
                    if stable { Class::Stable } else { before.max(after) }
                }
                // Nothing says where it changes: the worse of the two is the safe reading.
                _ => before.max(after),
            }
        };
        let mut here = (a.displacement_SI, a.load_SI);
        for (piece, e) in between.iter().enumerate() {
            let there = (e.displacement_SI, e.load_SI);
            push(class(piece), here, there);
            here = there;
        }
        push(class(between.len()), here, (b.displacement_SI, b.load_SI));
    }
    out
}

//! Times as people say them, whole rows of a history, and the phases of a motion.

use calotte_answers::release::report::{Outcome, ReleaseReport};

use crate::ink;
use crate::text::number;

/// A unit of time for a range of values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct TimeUnit {
    /// Units per second.
    pub(crate) per_s: f64,
    /// Its name.
    pub(crate) name: &'static str,
}

impl TimeUnit {
    /// The unit that suits a largest time.
    pub(crate) fn suiting(largest_s: f64) -> Self {
        let size = largest_s.abs();
        let (per_s, name) = match size {
            s if !s.is_finite() => (1.0, "s"),
            s if s >= 2.0 * 86_400.0 => (1.0 / 86_400.0, "d"),
            s if s >= 2.0 * 3600.0 => (1.0 / 3600.0, "h"),
            s if s >= 300.0 => (1.0 / 60.0, "min"),
            s if s >= 0.9995 || s == 0.0 => (1.0, "s"),
            s if s >= 0.9995e-3 => (1e3, "ms"),
            _ => (1e6, "µs"),
        };
        Self { per_s, name }
    }
}

/// A time in three digits, in the unit that suits it.
pub(crate) fn duration(seconds: f64) -> String {
    let unit = TimeUnit::suiting(seconds);
    format!("{} {}", number(seconds * unit.per_s, 3), unit.name)
}

/// A time from half-way, with its sign.
pub(crate) fn signed(seconds: f64) -> String {
    if seconds >= 0.0 { format!("+{}", duration(seconds)) } else { duration(seconds) }
}

/// Whether a number can be drawn at all.
pub(crate) fn usable(x: f64) -> bool {
    const HUGE: f64 = 1e100;
    x.abs() < HUGE
}

/// The rows of which every column is usable and whose time, the first column, does not run back.
pub(crate) fn whole_rows(columns: &[&Vec<f64>]) -> Vec<Vec<f64>> {
    let count = columns.iter().map(|c| c.len()).min().unwrap_or(0);
    let mut out: Vec<Vec<f64>> = Vec::new();
    for i in 0..count {
        let row: Vec<f64> = columns.iter().map(|c| c[i]).collect();
        let later = out.last().is_none_or(|l| l[0] <= row[0]);
        if later && row.iter().all(|x| usable(*x)) {
            out.push(row);
        }
    }
    out
}

/// A column's value at a time, linear between rows and held beyond them.
pub(crate) fn at(rows: &[Vec<f64>], column: usize, time: f64) -> f64 {
    let i = rows.partition_point(|r| r[0] <= time);
    match (i.checked_sub(1).map(|k| &rows[k]), rows.get(i)) {
        (Some(a), Some(b)) => {
            let t = if b[0] > a[0] { (time - a[0]) / (b[0] - a[0]) } else { 0.0 };
            a[column] + t * (b[column] - a[column])
        }
        (Some(r), None) | (None, Some(r)) => r[column],
        (None, None) => 0.0,
    }
}

/// A stretch of the motion with a name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Phase {
    pub(crate) name: &'static str,
    pub(crate) from: f64,
    pub(crate) to: f64,
    /// Ground on which it is drawn.
    pub(crate) tint: &'static str,
}

/// When the hand is off the part.
pub(crate) fn hand_gone(report: &ReleaseReport) -> f64 {
    let told = report.events.iter().find(|e| e.kind == "gone").map(|e| e.time_s);
    told.filter(|t| usable(*t)).unwrap_or(report.protocol.ramp_s).max(0.0)
}

/// The snap, when its times are usable and in order.
pub(crate) fn snap(report: &ReleaseReport) -> Option<calotte_answers::release::report::Snap> {
    report.snap.filter(|s| {
        let times = [s.wait_s, s.halfway_s, s.end_s];
        times.iter().all(|t| usable(*t)) && s.wait_s < s.end_s && usable(s.snap_time_s)
    })
}

/// When it leaves the table, and when the flight ends, as far as followed.
pub(crate) fn flight(report: &ReleaseReport, last: f64) -> Option<(f64, f64)> {
    let jump = report.jump.filter(|j| usable(j.takeoff_s) && j.takeoff_s < last)?;
    let landing = jump.landing_s.filter(|t| usable(*t) && *t > jump.takeoff_s);
    Some((jump.takeoff_s, landing.unwrap_or(last).min(last)))
}

/// Phases in order of time, cut to `first..last`.
pub(crate) fn phases(report: &ReleaseReport, first: f64, last: f64) -> Vec<Phase> {
    let gone = hand_gone(report);
    let mut out = vec![("letting go", 0.0, gone, ink::TINTS[0])];
    if let Some(s) = snap(report) {
        let before = if report.outcome == Outcome::Waits { "waiting" } else { "setting off" };
        out.push((before, gone, s.wait_s, ink::TINTS[1]));
        out.push(("snap", s.wait_s.max(gone), s.end_s, ink::TINTS[2]));
        let (up, down) = flight(report, last).unwrap_or((last, last));
        let up = up.max(s.end_s);
        out.push(("ringing", s.end_s, up, ink::TINTS[3]));
        out.push(("flight", up, down, ink::TINTS[4]));
        out.push(("landed", down, last, ink::TINTS[3]));
    } else {
        let name = if report.outcome == Outcome::Stays { "staying" } else { "let go" };
        out.push((name, gone, last, ink::TINTS[1]));
    }
    out.into_iter()
        .map(|(name, from, to, tint)| Phase { name, from: from.max(first), to: to.min(last), tint })
        .filter(|p| p.to > p.from)
        .collect()
}

/// The dots of events on a curve: when, and the words for them.
pub(crate) fn moments(report: &ReleaseReport, first: f64, last: f64) -> Vec<(f64, String)> {
    let mut out = vec![(0.0, "let go".to_owned())];
    if let Some(s) = snap(report) {
        let from = |t: f64| signed(t - s.halfway_s);
        out.push((s.wait_s, format!("snap begins, {}", duration(s.wait_s))));
        out.push((s.halfway_s, "half-way".to_owned()));
        out.push((s.end_s, format!("snapped, {}", from(s.end_s))));
        if let Some((up, down)) = flight(report, last) {
            out.push((up, format!("take-off, {}", from(up))));
            if report.jump.is_some_and(|j| j.landing_s.is_some()) && down < last {
                out.push((down, format!("landing, {}", from(down))));
            }
        }
    }
    out.retain(|m| m.0 >= first && m.0 <= last);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_said_in_the_unit_that_suits_them() {
        let cases = [
            (2.34e-3, "2.34 ms"),
            (12.4, "12.4 s"),
            (4.2e-5, "42.0 µs"),
            (600.0, "10.0 min"),
            (9e4, "25.0 h"),
        ];
        for (t, want) in cases {
            assert_eq!(duration(t), want);
        }
        assert_eq!((signed(1e-3).as_str(), signed(-1e-3).as_str()), ("+1.00 ms", "−1.00 ms"));
    }

    #[test]
    fn rows_that_run_back_or_are_not_finite_are_passed_over() {
        let (t, x) = (vec![0.0, 1.0, 0.5, 2.0, 3.0], vec![5.0, 6.0, 9.0, f64::NAN, 8.0]);
        let rows = whole_rows(&[&t, &x]);
        assert_eq!(rows, [[0.0, 5.0], [1.0, 6.0], [3.0, 8.0]]);
        assert_eq!((at(&rows, 1, 2.0), at(&rows, 1, -1.0), at(&rows, 1, 9.0)), (7.0, 5.0, 8.0));
    }
}

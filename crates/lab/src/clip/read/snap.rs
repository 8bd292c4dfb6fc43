//! The snap: when it begins and ends, how fast it is. Words mean what they mean in a computed release: the *end* is when nine
//! tenths of the way are done; the *beginning* is when the speed last rises through a tenth of its peak before the half.

use super::local::{Local, NARROWEST, cubic, nearest, suiting};
use super::{Figure, LEVELS, Row, SHUTTER, WINDOW};

/// Levels between which the part goes, with their deviations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levels {
    /// At rest before the snap.
    pub rest: [f64; 2],
    /// About which it rings after it.
    pub end: [f64; 2],
}

impl Levels {
    /// Way, with its sign.
    pub fn way(&self) -> f64 {
        self.end[0] - self.rest[0]
    }
}

/// The snap.
#[derive(Clone, Debug, PartialEq)]
pub struct Snap {
    /// When it begins, s from the first frame.
    pub begins: Figure,
    /// When the half of the way is done.
    pub half: Figure,
    /// When nine tenths are done.
    pub ends: Figure,
    /// From beginning to end, s.
    pub time: Figure,
    /// Peak speed, positive.
    pub speed: Figure,
    /// When.
    pub speed_at: f64,
    /// The levels.
    pub levels: Levels,
    /// Rows between beginning and end.
    pub rows: usize,
}

/// Share of the peak speed at which a snap begins.
const BEGINS: f64 = 0.1;
/// Times that a place and the window that suits it are found in turn.
const SETTLING: usize = 3;
/// Share of the way at which it ends.
const ENDS: f64 = 0.9;

/// τ²/24 and its deviation, for an exposure known to lie between two times: the mean over an exposure τ is x + τ²/24 x″.
pub(super) fn exposure(between: [f64; 2]) -> [f64; 2] {
    let [a, b] = between;
    if b <= a {
        return [a * a / 24.0, 0.0];
    }
    // τ even between both: moments of τ².
    let second = (b * b * b - a * a * a) / (3.0 * (b - a));
    let fourth = (b.powi(5) - a.powi(5)) / (5.0 * (b - a));
    [second / 24.0, (fourth - second * second).max(0.0).sqrt() / 24.0]
}

/// The row just before which half of the way is first done in the main move, found from the steepest place.
pub(super) fn half_row(rows: &[Row], levels: &Levels) -> Option<usize> {
    let way = levels.way();
    let done = |r: &Row| (r.x - levels.rest[0]) / way;
    (1..rows.len()).find(|i| {
        // Two rows in a row, so that a stray one does not count.
        done(&rows[i - 1]) < 0.5
            && done(&rows[*i]) >= 0.5
            && rows.get(i + 1).is_none_or(|r| done(r) >= 0.4)
            && (*i < 2 || done(&rows[i - 2]) < 0.6)
    })
}

/// How much faster than the cubic at the peak the fastest step beside it is, where not even the narrowest window fits: a kink (an
/// impact, a ripple of the wall) is then rounded off, and what it hides is no less than this.
fn unseen(rows: &[Row], top: &Local, t: f64) -> f64 {
    if !top.misfits() {
        return 0.0;
    }
    let i = nearest(rows, t);
    let beside = &rows[i.saturating_sub(NARROWEST)..(i + NARROWEST + 1).min(rows.len())];
    let sign = top.at[1].signum();
    let fastest = beside.windows(2).map(|w| sign * (w[1].x - w[0].x) / (w[1].t - w[0].t)).fold(0.0, f64::max);
    (fastest - top.at[1].abs()).max(0.0)
}

/// Solves `f(t) = 0` between two times of different sign.
fn root(mut a: f64, mut b: f64, f: &dyn Fn(f64) -> Option<f64>) -> Option<f64> {
    let rises = f(b)? > f(a)?;
    for _ in 0..60 {
        let m = 0.5 * (a + b);
        if (f(m)? > 0.0) == rises { b = m } else { a = m }
    }
    Some(0.5 * (a + b))
}

/// When a share of the way is done, near row `i` (the first beyond it): the time and its deviation, the cubic there.
fn crossing(rows: &[Row], i: usize, levels: &Levels, share: f64) -> Option<(f64, Local)> {
    let level = levels.rest[0] + share * levels.way();
    let half = suiting(rows, rows[i].t)?;
    let (a, b) = (rows[i.saturating_sub(2)].t, rows[(i + 1).min(rows.len() - 1)].t);
    let at = |t: f64| Some(cubic(rows, t, half)?.at[0] - level);
    let t = if at(a)? * at(b)? < 0.0 {
        root(a, b, &at)?
    } else {
        // The smoothed curve crosses elsewhere: linear between the rows.
        let (p, q) = (&rows[i - 1], &rows[i]);
        p.t + (q.t - p.t) * (level - p.x) / (q.x - p.x)
    };
    Some((t, cubic(rows, t, half)?))
}

fn timed(t: f64, l: &Local, share: f64, levels: &Levels, tau: [f64; 2]) -> Figure {
    let speed = l.at[1].abs();
    let level = libm::hypot((1.0 - share) * levels.rest[1], share * levels.end[1]);
    // What is seen is x + τ²/24 x″, so the crossing comes early by τ²/24 x″/x′.
    let shift = l.at[2] / l.at[1];
    Figure::new(t + tau[0] * shift, l.deviation(0) / speed)
        .with(LEVELS, level / speed)
        .with(SHUTTER, (tau[1] * shift).abs())
}

/// The snap between two levels; `exposed` are the shortest and longest exposure, s.
///
/// # Errors
/// In words, why it cannot be read.
pub(super) fn snap(rows: &[Row], levels: &Levels, exposed: [f64; 2]) -> Result<Snap, String> {
    let lost = || "the snap itself cannot be seen: too many of its frames are lost".to_owned();
    let way = levels.way();
    let half = half_row(rows, levels).ok_or_else(lost)?;
    let end = (half..rows.len())
        .find(|i| (rows[*i].x - levels.rest[0]) / way >= ENDS)
        .ok_or_else(|| "the clip ends before nine tenths of the way are done".to_owned())?;
    if half < 4 || end + 4 > rows.len() {
        return Err("the clip must show at least four frames before and after the snap".to_owned());
    }
    let tau = exposure(exposed);
    // Peak speed: the steepest row up to the end, over one window for all.
    let scan_from = (0..half).rev().find(|i| (rows[*i].x - levels.rest[0]) / way < 0.02).unwrap_or(0);
    let speed = |i: usize, width: usize| cubic(rows, rows[i].t, width).map(|l| l.at[1] * way.signum());
    let mut peak = half;
    let mut width = suiting(rows, rows[half].t).ok_or_else(lost)?;
    // One window for all rows, that of the peak: the largest of speeds from many windows would be the worst of the narrow ones.
    for _ in 0..SETTLING {
        peak = (scan_from..=end)
            .filter_map(|i| Some((i, speed(i, width)?)))
            .fold((half, 0.0), |b, s| if s.1 > b.1 { s } else { b })
            .0;
        width = suiting(rows, rows[peak].t).ok_or_else(lost)?;
    }
    let mut t_peak = rows[peak].t;
    for _ in 0..3 {
        let l = cubic(rows, t_peak, width).ok_or_else(lost)?;
        let gap = rows[(peak + 1).min(rows.len() - 1)].t - rows[peak - 1].t;
        // Where the speed of the cubic is largest, no farther than the rows beside.
        if l.at[3] * way.signum() < 0.0 {
            t_peak = (t_peak - l.at[2] / l.at[3]).clamp(rows[peak].t - 0.5 * gap, rows[peak].t + 0.5 * gap);
        }
    }
    let top = cubic(rows, t_peak, width).ok_or_else(lost)?;
    let speed = (top.at[1] - tau[0] * top.at[3]).abs();
    let unseen = unseen(rows, &top, t_peak);
    let speed =
        Figure::new(speed, top.deviation(1)).with(SHUTTER, (tau[1] * top.at[3]).abs()).with(WINDOW, unseen);
    let share = BEGINS * top.at[1];
    if 4.0 * top.deviation(1) > top.at[1].abs() {
        return Err("the motion is hardly faster than its errors".to_owned());
    }
    // Back from the half until the speed is below its share.
    let slow = |t: f64, width: usize| Some((cubic(rows, t, width)?.at[1] - share) * way.signum());
    let mut below = half;
    for _ in 0..SETTLING {
        below = (0..=half)
            .rev()
            .find(|i| slow(rows[*i].t, width).is_some_and(|s| s < 0.0))
            .ok_or_else(|| "the clip begins when the snap is under way".to_owned())?;
        width = suiting(rows, rows[below].t).ok_or_else(lost)?;
    }
    let f = |t: f64| slow(t, width);
    let (mut a, mut b) = (rows[below].t, rows[below + 1].t);
    let gap = b - a;
    for _ in 0..6 {
        if f(a).is_some_and(|s| s > 0.0) {
            a -= gap;
        }
        if f(b).is_some_and(|s| s < 0.0) {
            b += gap;
        }
    }
    let t_begin = root(a, b, &f).ok_or_else(lost)?;
    let at = cubic(rows, t_begin, width).ok_or_else(lost)?;
    let drift = at.at[2].abs();
    let noise = libm::hypot(at.deviation(1), BEGINS * top.deviation(1));
    if drift == 0.0 || noise / drift > 0.5 * (rows[end].t - t_begin).abs().max(gap) {
        return Err("the speed at the beginning of the snap is hardly larger than its errors".to_owned());
    }
    // Seen: x′ + τ²/24 x‴, on both speeds.
    let shift = (at.at[3] - BEGINS * top.at[3]) / at.at[2];
    let begins = Figure::new(t_begin + tau[0] * shift, noise / drift)
        .with(SHUTTER, (tau[1] * shift).abs())
        .with(WINDOW, BEGINS * unseen / drift);
    let (t, l) = crossing(rows, end, levels, ENDS).ok_or_else(lost)?;
    let ends = timed(t, &l, ENDS, levels, tau);
    let (t, l) = crossing(rows, half, levels, 0.5).ok_or_else(lost)?;
    let half_time = timed(t, &l, 0.5, levels, tau);
    let mut time = Figure { value: ends.value - begins.value, parts: begins.parts.clone() };
    // Independent windows; what the exposure does is common to both.
    for p in &ends.parts {
        match time.parts.iter_mut().find(|q| q.what == p.what) {
            Some(q) if p.what == SHUTTER => q.deviation += p.deviation,
            Some(q) => q.deviation = libm::hypot(q.deviation, p.deviation),
            None => time.parts.push(p.clone()),
        }
    }
    let inside = rows.iter().filter(|r| r.t >= begins.value && r.t <= ends.value).count();
    if inside < 3 {
        return Err(format!(
            "only {inside} frames within the snap: a frame rate at least {} times as high is needed",
            9_usize.checked_div(inside).map_or(10, |n| n + 1)
        ));
    }
    Ok(Snap { begins, half: half_time, ends, time, speed, speed_at: t_peak, levels: *levels, rows: inside })
}

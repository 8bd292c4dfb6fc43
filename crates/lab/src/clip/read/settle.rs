//! Whether the motion comes to an end level, and whether what follows the snap is a flight: a way, and all that is counted in shares
//! of it, exists only between two levels that are held.
//!
//! Where the pole is followed alone, a part that jumps takes its pole along, and the flight would count as way. It is told by a throw
//! under the local gravity that fits the rows after the main move better than a swing about a level does (Schwarz 1978, Ann. Statist.
//! 6, 461: n ln χ² + k ln n, lower by more than 10), and by levels that are not held.

use super::Row;
use super::jump::{Jump, jump};
use super::ringing::{Ringing, ringing};
use super::snap::Levels;

/// Schwarz's criterion must be better by more than this.
const BETTER: f64 = 10.0;
/// Fitted gravity must be the local one within this share, or within four of its deviations.
const GRAVITY_OFF: f64 = 0.3;
/// Share of the way by which a tail may drift for a level to be held.
const DRIFT: f64 = 0.05;
/// Share of the way by which the rows may miss the damped wave, rms.
const MISS: f64 = 0.15;

/// Index of the row at which the main move through row `steepest` is over: the speed has fallen below three tenths of its peak.
pub(super) fn main_move_over(rows: &[Row], steepest: usize) -> Option<usize> {
    let speed = |i: usize| (rows[i + 2].x - rows[i - 2].x) / (rows[i + 2].t - rows[i - 2].t);
    let peak = speed(steepest);
    (steepest..rows.len().saturating_sub(2)).find(|i| speed(*i) / peak < 0.3)
}

/// Farthest from the end level in shares of the way: a swing that starts at rest reaches about as far beyond its middle as it came from.
const FARTHEST: f64 = 1.2;

/// Squares of the residuals of rows from a curve.
fn squares(rows: &[Row], place: &dyn Fn(f64) -> f64) -> f64 {
    rows.iter().map(|r| (place(r.t) - r.x) / r.e).map(|z| z * z).sum()
}

/// The flight in the rows after the main move, where they are one: upwards positive, `rest` the place before, `gravity` in the unit
/// of the rows.
pub(super) fn flight(later: &[Row], rest: [f64; 2], gravity: f64) -> Option<Jump> {
    let j = jump(later, rest, gravity).ok()?;
    let off = (j.gravity.value - gravity).abs();
    if off > (GRAVITY_OFF * gravity).max(4.0 * j.gravity.deviation()) {
        return None;
    }
    let [first, last] = j.flight.window;
    let window: Vec<Row> = later.iter().filter(|r| r.t >= first && r.t <= last).copied().collect();
    let n = window.len() as f64;
    let thrown = n * libm::log(squares(&window, &|t| j.flight.place(t))) + 6.0 * libm::log(n);
    let swings = ringing(later).is_ok_and(|r| {
        let wave = n * libm::log(squares(&window, &|t| r.place(t))) + 5.0 * libm::log(n);
        wave <= thrown + BETTER
    });
    (!swings).then_some(j)
}

/// Why the end level is none: `after` are the rows from the end of the snap on.
///
/// # Errors
/// In words that begin with the fault.
pub(super) fn held(after: &[Row], levels: &Levels, rung: Option<&Ringing>) -> Result<(), String> {
    let way = levels.way().abs();
    let farthest = after.iter().map(|r| (r.x - levels.end[0]).abs()).fold(0.0, f64::max);
    if farthest > FARTHEST * way {
        return Err(format!(
            "after the snap the edge goes {:.1} times the way from the level at which it seemed to end",
            farthest / way
        ));
    }
    match rung {
        Some(r) => {
            let miss = after.iter().map(|k| r.place(k.t) - k.x).map(|d| d * d).sum::<f64>();
            let miss = (miss / after.len() as f64).sqrt();
            if miss > MISS * way {
                return Err(format!(
                    "after the snap the edge does not swing about a level: it misses a damped wave by {:.0} % of the way",
                    100.0 * miss / way
                ));
            }
        }
        None => {
            let tail = tail(after);
            if let Some([drift, deviation]) = drift(tail)
                && drift.abs() > (DRIFT * way).max(3.0 * deviation)
            {
                return Err(format!(
                    "the end level is not reached and held: over the last third after the snap the edge still moves by {:.0} % of the way",
                    100.0 * drift.abs() / way
                ));
            }
        }
    }
    Ok(())
}

/// The last third of rows.
pub(super) fn tail(after: &[Row]) -> &[Row] {
    &after[2 * after.len() / 3..]
}

/// What a straight line through rows does from the first to the last, and its deviation by the scatter about it.
fn drift(rows: &[Row]) -> Option<[f64; 2]> {
    let n = rows.len() as f64;
    let (first, last) = (rows.first()?, rows.last()?);
    let (t, x) = (rows.iter().map(|r| r.t).sum::<f64>() / n, rows.iter().map(|r| r.x).sum::<f64>() / n);
    let tt: f64 = rows.iter().map(|r| (r.t - t) * (r.t - t)).sum();
    if rows.len() < 3 || tt <= 0.0 {
        return None;
    }
    let slope = rows.iter().map(|r| (r.t - t) * (r.x - x)).sum::<f64>() / tt;
    let left: f64 = rows.iter().map(|r| r.x - x - slope * (r.t - t)).map(|d| d * d).sum();
    let span = last.t - first.t;
    Some([slope * span, span * (left / (n - 2.0) / tt).sqrt()])
}

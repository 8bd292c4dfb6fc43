//! Wait against hold time.

use calotte_solve::Work;

use super::answer::{begins, settings};
use super::curves::{WaitCurve, WaitPoint};
use super::setup::{AfterHold, Fault, Setup};
use super::wait::{self, Rest};
use crate::explain::duration;
use crate::many::{Watch, each};
use crate::subject::Subject;
use calotte_specimen::{LetGo, Motion, Part};

/// Relative width to which the shortest hold is found.
const WITHIN: f64 = 1e-3;

/// Rests longer than this many bending times are told without inertia; shorter ones are marched.
pub(crate) const LONG: f64 = 5.0;

/// The wait after one hold.
pub(crate) fn wait_after(setup: &Setup, hold: f64, work: &mut Work) -> Result<WaitPoint, Fault> {
    let wait::Resting { rest, lost, .. } = wait::rest(setup, hold, work)?;
    let point = |wait: Option<f64>, rests, stays| WaitPoint {
        hold_s: hold,
        wait_s: wait.map(|t| t * setup.units.time),
        rests,
        stays,
    };
    let ramp = match setup.motion.hold.let_go {
        LetGo::Ramp(r) => r / setup.units.time,
        LetGo::AtOnce => 0.0,
    };
    if lost.is_some() {
        // It gives way sideways; the round motion says nothing about when.
        return Ok(point(None, true, false));
    }
    Ok(match rest {
        // A long rest: inertia adds a moment to it, the hand its ramp.
        Rest::Ends(t) if t > LONG * setup.bending_time => point(Some(t + ramp), true, false),
        Rest::Ends(_) => point(begins(setup, hold, settings(setup, 1.0), work)?, true, false),
        Rest::Stays => point(None, true, true),
        Rest::Unknown => point(None, false, false),
        Rest::None => point(begins(setup, hold, settings(setup, 1.0), work)?, false, false),
    })
}

/// The wait of a part after the hold of `motion`.
///
/// # Errors
/// [`Fault`] when the question makes no sense for this part.
pub(crate) fn settled_wait(part: &Part, motion: &Motion, work: &mut Work) -> Result<WaitPoint, Fault> {
    let setup = Setup::new(part, motion, work)?;
    wait_after(&setup, motion.hold.time, work)
}

/// The wait after `count` holds between `from` and `to` (s), spaced by equal ratios; and the shortest hold after which
/// the part rests in equilibrium. Rests of more than five bending times are those without inertia, and the time of the
/// hand's ramp; all others are marched. `None` when stopped.
///
/// # Errors
/// [`Fault`] when the question makes no sense for this part.
pub fn wait_curve(
    subject: &dyn Subject,
    [from, to]: [f64; 2],
    count: usize,
    watch: &Watch<'_>,
) -> Result<Option<WaitCurve>, Fault> {
    let motion = subject.motion();
    let mut work = Work::default();
    let setup = Setup::new(subject.part(), &motion, &mut work)?;
    let ratio = libm::log(to / from);
    let last = (count - 1).max(1) as f64;
    let holds: Vec<f64> = (0..count)
        // The ends are those asked for, to the last digit.
        .map(|i| if i > 0 && i + 1 == count { to } else { from * libm::exp(ratio * i as f64 / last) })
        .collect();
    let found = each(count, watch, |i| wait_after(&setup, holds[i], &mut Work::default()));
    let Some(found) = found else { return Ok(None) };
    let points: Vec<WaitPoint> = found.into_iter().collect::<Result<_, _>>()?;
    let mut shortest = None;
    if let Some(i) = points.windows(2).position(|w| known(&w[0]) && !w[0].rests && w[1].rests) {
        let (mut low, mut high) = (points[i].hold_s, points[i + 1].hold_s);
        while high / low - 1.0 > WITHIN {
            let mid = (low * high).sqrt();
            match setup.resting(&setup.mesh, mid, &mut work)? {
                AfterHold::Rests(_) => high = mid,
                AfterHold::Gone => low = mid,
                AfterHold::Unknown => break,
            }
        }
        // A search that failed leaves the bracket wide: no number is told then.
        shortest = (high / low - 1.0 <= WITHIN).then_some(high);
    }
    let words = say(&points, shortest);
    Ok(Some(WaitCurve { points, shortest_hold_s: shortest, words }))
}

/// Whether a wait, or that there is no end of it, was found.
fn known(p: &WaitPoint) -> bool {
    p.wait_s.is_some() || p.stays
}

fn say(points: &[WaitPoint], shortest: Option<f64>) -> Vec<String> {
    let mut out = Vec::new();
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return out };
    match shortest {
        Some(s) => out.push(format!(
            "It must be held for at least {} to rest at all; after shorter holds only inertia delays it.",
            duration(s)
        )),
        None if first.rests && last.rests => {
            out.push(format!("It rests even after the shortest hold of {}.", duration(first.hold_s)));
        }
        None if known(last) && !last.rests && points.iter().all(|p| !p.rests) => {
            out.push(format!(
                "It does not rest even after the longest hold of {}: only inertia delays it.",
                duration(last.hold_s)
            ));
        }
        None if known(last) && first.rests && !last.rests => {
            out.push("It rests after the shorter holds of this range, but not after the longest.".into());
        }
        None => out.push("The shortest hold after which it rests was not found.".into()),
    }
    let lost = points.iter().filter(|p| !known(p)).count();
    if lost > 0 {
        out.push(format!(
            "For {lost} of the holds no wait was found, or the part gives way sideways where it rests."
        ));
    }
    if last.stays {
        out.push("After the longest hold it stays for ever.".into());
    }
    let resting: Vec<&WaitPoint> = points.iter().filter(|p| p.rests && p.wait_s.is_some()).collect();
    if let (Some(a), Some(b)) = (resting.first(), resting.last())
        && let (Some(wa), Some(wb)) = (a.wait_s, b.wait_s)
        && resting.len() > 1
    {
        out.push(format!(
            "Where it rests, the wait grows from {} after {} of holding to {} after {}.",
            duration(wa),
            duration(a.hold_s),
            duration(wb),
            duration(b.hold_s)
        ));
    }
    out
}

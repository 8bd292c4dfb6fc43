//! The lip of an inverted part: where the meridian's slope turns near the rim, and how far the rim lies from where it would go on to.
//!
//! On the meridian from the pole the slope angle φ grows to a largest value and falls again towards the rim, where the wall bends
//! back. The lip is what lies beyond the turn (φ′ = 0, the place that `calotte verdict` calls the lip's inner end):
//!
//! | key | meaning |
//! |---|---|
//! | `width_m` | arclength from the turn to the rim |
//! | `depth_m` | distance of the rim from the straight line that touches the meridian at the turn |
//! | `turn_slope_rad`, `rim_slope_rad` | φ at the turn and at the rim |
//! | `drop_m` | height of the rim over the pole of the inverted part |
//! | `crest_m` | where φ passes 0 before the rim: `[r, height over the rim]` |

use calotte_specimen::MeasuredMeridian;
use serde::Serialize;

use super::Measured;
use super::meridian::Smooth;

/// A lip.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Lip {
    /// Arclength from the turn to the rim.
    pub width_m: Measured,
    /// Radius of the turn.
    pub turn_radius_m: Measured,
    /// Slope at the turn.
    pub turn_slope_rad: Measured,
    /// Slope at the rim.
    pub rim_slope_rad: Measured,
    /// Distance of the rim from the tangent at the turn.
    pub depth_m: Measured,
    /// Radius of the crest and its height over the rim, where the slope passes zero before the rim.
    pub crest_m: Option<[f64; 2]>,
}

/// Arclength where the slope is largest beyond a third of the way, inside the curve.
fn turn(c: &MeasuredMeridian) -> Option<f64> {
    let length = c.length();
    let n = 400;
    let at = |k: usize| length * (0.3 + 0.7 * k as f64 / n as f64);
    let k = (0..=n).max_by(|a, b| c.slope(at(*a)).total_cmp(&c.slope(at(*b))))?;
    if k == 0 || k == n {
        return None;
    }
    // The root of the curvature between the neighbours.
    let (mut low, mut high) = (at(k - 1), at(k + 1));
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if c.at(middle).curvature > 0.0 { low = middle } else { high = middle }
    }
    Some(0.5 * (low + high))
}

fn depth(c: &MeasuredMeridian) -> f64 {
    let Some(s) = turn(c) else { return 0.0 };
    let (p, q) = (c.at(s), c.at(c.length()));
    (q.r - p.r) * p.sin - (q.z - p.z) * p.cos
}

/// The lip of a smooth curve; `None` where the slope does not turn by more than twice its deviation.
pub(super) fn lip(smooth: &Smooth) -> Option<Lip> {
    turn(&smooth.curve)?;
    let s = |c: &MeasuredMeridian| turn(c).unwrap_or(c.length());
    let end = |c: &MeasuredMeridian| c.slope(c.length());
    let fall = smooth.measured(&|c| c.slope(s(c)) - end(c));
    if fall.value < 2.0 * fall.sd {
        return None;
    }
    let curve = &smooth.curve;
    let n = 400;
    let at = |k: usize| curve.length() * k as f64 / n as f64;
    let crest = (n / 3..n).find(|k| curve.slope(at(*k)) > 0.0 && curve.slope(at(k + 1)) <= 0.0).map(|k| {
        let p = curve.at(at(k));
        [p.r, p.z - curve.at(curve.length()).z]
    });
    Some(Lip {
        width_m: smooth.measured(&|c| c.length() - s(c)),
        turn_radius_m: smooth.measured(&|c| c.at(s(c)).r),
        turn_slope_rad: smooth.measured(&|c| c.slope(s(c))),
        rim_slope_rad: smooth.measured(&end),
        depth_m: smooth.measured(&depth),
        crest_m: crest,
    })
}

//! From edges in frames to a motion in time.

use std::collections::BTreeMap;

use super::clock::{Clock, Pace, clock};
use super::read::Row;
use super::session::{Role, Session};
use super::track::Spot;

/// What the height of is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// The pole's edge in the picture.
    Pole,
    /// The pole's edge over the mean of both rim edges.
    PoleOverRim,
}

/// A motion, px upwards and s.
#[derive(Clone, Debug)]
pub struct Motion {
    /// Its clock.
    pub clock: Clock,
    /// What `rows` are of.
    pub what: What,
    /// The motion that snaps, by time.
    pub rows: Vec<Row>,
    /// Frame of each.
    pub numbers: Vec<u64>,
    /// The pole's edge itself.
    pub edge: Vec<Row>,
    /// Frames left out because they repeat the one before.
    pub repeated: Vec<u64>,
    /// Whether so many frames repeat that it says nothing.
    pub still: bool,
    /// Tilt between the rims: deviation of left over right from its mean, px, when both are followed.
    pub rocking: Option<f64>,
}

/// Share of repeated frames from which on a clip has no noise, so that equal frames say nothing.
const NO_NOISE: f64 = 0.3;

impl Session {
    /// The motion that was seen.
    ///
    /// # Errors
    /// In words, when the clip's time is not known or nothing was seen.
    pub fn motion(&mut self, step: u64, pace: &Pace) -> Result<Motion, String> {
        for (_, t) in &mut self.lines {
            t.end();
        }
        let clock = clock(&self.stamps, step, pace)?;
        let times: BTreeMap<u64, f64> =
            self.stamps.iter().zip(&clock.times).map(|(s, t)| (s.number, *t)).collect();
        let still = self.repeated.len() as f64 > NO_NOISE * self.stamps.len() as f64;
        let left_out: Vec<u64> = if still { Vec::new() } else { self.repeated.clone() };
        let spots = |role: Role| -> Option<(f64, BTreeMap<u64, Spot>)> {
            let (w, t) = self.lines.iter().find(|l| l.0.role == role)?;
            let kept = t.spots.iter().filter(|s| left_out.binary_search(&s.number).is_err());
            Some((w.line.up(), kept.map(|s| (s.number, *s)).collect()))
        };
        let (up, pole) = spots(Role::Pole).ok_or_else(|| "no line crosses the pole".to_owned())?;
        let row = |n: &u64, x: f64, e: f64| times.get(n).map(|t| Row { t: *t, x, e });
        let edge: Vec<Row> = pole.iter().filter_map(|(n, s)| row(n, up * s.along, s.sd)).collect();
        let rims = spots(Role::RimLeft).zip(spots(Role::RimRight));
        let mut numbers = Vec::new();
        let (what, rows, rocking) = match rims {
            None => {
                numbers.extend(pole.keys());
                (What::Pole, edge.clone(), None)
            }
            Some(((up_l, left), (up_r, right))) => {
                let (mut rows, mut tilts) = (Vec::new(), Vec::new());
                for (n, s) in &pole {
                    if let (Some(l), Some(r)) = (left.get(n), right.get(n)) {
                        let rim = 0.5 * (up_l * l.along + up_r * r.along);
                        let e = (s.sd * s.sd + 0.25 * (l.sd * l.sd + r.sd * r.sd)).sqrt();
                        rows.extend(row(n, up * s.along - rim, e));
                        numbers.push(*n);
                        tilts.push(up_l * l.along - up_r * r.along);
                    }
                }
                (What::PoleOverRim, rows, calotte_chance::sample::deviation(&tilts))
            }
        };
        Ok(Motion { clock, what, rows, numbers, edge, repeated: left_out, still, rocking })
    }
}

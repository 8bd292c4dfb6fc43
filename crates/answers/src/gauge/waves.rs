//! Trips in waves round the axis: where a wave is lost on the way under load, followed from one part to others.
//!
//! The smallest eigenvalue ω² of the waves in question is taken along the path of round shapes; where it vanishes is met by secants.
//! There all waves are counted, and one that is lost already is met in its turn, further back.

use calotte_shell::{Harmonics, Loaded};
use calotte_solve::Work;
use calotte_solve::follow::{self, PathPoint, Settings};

use crate::poke::path::LARGEST_N;
use crate::ripples;

/// A place on a path where waves are lost.
pub(super) struct Wave {
    /// Waves round the axis.
    pub(super) n: u32,
    /// Their shape, to begin the next search with.
    vector: Vec<f64>,
    /// A point of the path beside the place, stable or not.
    pub(super) point: PathPoint,
    /// Parameter at the place.
    pub(super) t: f64,
}

/// Secants taken at most.
const SECANTS: usize = 14;
/// Waves met in turn at most.
const TURNS: usize = 8;
/// First step of a search, over the longest step of the path.
const FIRST: f64 = 0.1;
/// A secant step that moves the parameter by less, relative to it, is the last; its error is the square of this.
const NEAR: f64 = 1e-6;

/// Smallest eigenvalue ω² of waves `n` at a point, with its shape.
fn smallest(
    loaded: &Loaded<'_>,
    p: &PathPoint,
    n: u32,
    start: Option<&[f64]>,
    work: &mut Work,
) -> Option<(f64, Vec<f64>)> {
    let (found, _) = Harmonics::loaded(loaded, &p.x, p.t).smallest(n, start, work)?;
    Some((found.value, found.vector))
}

/// The place where waves `n` are lost on the path that leads through or close by `from`; `None` when the search fails.
pub(super) fn meet(
    loaded: &Loaded<'_>,
    set: &Settings,
    from: &PathPoint,
    n: u32,
    start: Option<&[f64]>,
    work: &mut Work,
) -> Option<Wave> {
    let (mut point, _) = follow::step(loaded, from, 0.0, set, work)?;
    let (mut value, mut vector) = smallest(loaded, &point, n, start, work)?;
    let mut ds = FIRST * set.longest * value.signum();
    for _ in 0..SECANTS {
        let (next, _) = follow::step(loaded, &point, ds, set, work)?;
        let (there, shape) = smallest(loaded, &next, n, Some(&vector), work)?;
        let slope = (there - value) / ds;
        (point, value, vector) = (next, there, shape);
        // Waves that are being lost grow softer along the path.
        if slope.is_nan() || slope >= 0.0 {
            return None;
        }
        ds = (-value / slope).clamp(-set.longest, set.longest);
        if (ds * point.dt).abs() <= NEAR * point.t.abs() {
            let t = point.t + ds * point.dt;
            return Some(Wave { n, vector, point, t });
        }
    }
    None
}

impl Wave {
    /// The place where the same waves are lost on another path, the part's of `loaded`, whose round shape is near this one: `x`, at
    /// the parameter `t`, with `per` of its parameter for one of this one's.
    pub(super) fn carried(
        &self,
        loaded: &Loaded<'_>,
        set: &Settings,
        x: Vec<f64>,
        per: f64,
        work: &mut Work,
    ) -> Option<Self> {
        let p = &self.point;
        let from = PathPoint { x, t: p.t * per, dx: p.dx.clone(), dt: p.dt * per, ..p.clone() };
        meet(loaded, set, &from, self.n, Some(&self.vector), work)
    }

    /// The first of all waves that are lost up to here, on a way on which the load rises and the round shape is stable; `None` where
    /// that is not so, or a count or a search fails.
    pub(super) fn first(mut self, loaded: &Loaded<'_>, set: &Settings, work: &mut Work) -> Option<Self> {
        for _ in 0..TURNS {
            let p = &self.point;
            if p.negative > 0 || p.dt <= 0.0 {
                return None;
            }
            let harmonics = Harmonics::loaded(loaded, &p.x, p.t);
            let last = ripples::wave_bound(loaded.model(), &p.x, loaded.thickness_factor()).0.min(LARGEST_N);
            let mut sooner = None;
            for n in (1..=last).filter(|n| *n != self.n) {
                if harmonics.negative(n, work)? > 0 {
                    sooner = Some(n);
                    break;
                }
            }
            let Some(n) = sooner else { return Some(self) };
            let other = meet(loaded, set, p, n, None, work)?;
            if other.t >= self.t {
                // Both vanish at one place, to the accuracy of the search.
                return ((other.t - self.t) <= NEAR * self.t.abs()).then_some(self);
            }
            self = other;
        }
        None
    }
}

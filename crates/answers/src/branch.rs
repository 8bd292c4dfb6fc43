//! The branch of inverted states over thickness, from the fold along both sides.

use calotte_shell::Model;
use calotte_solve::Work;
use calotte_solve::follow::{self, PathPoint, Watch};

use crate::scene::is_inverted;
use crate::threshold::{Threshold, ordered_sides};

/// One side of the branch.
pub(crate) struct Side {
    /// From the fold outwards.
    pub(crate) points: Vec<PathPoint>,
    /// State at the part's own thickness factor: unknowns, energy over t, negative count.
    pub(crate) at_target: Option<(Vec<f64>, f64, usize)>,
}

/// Follows a side of the fold on `model` down to the thickness factor `until`, marking the state at `own`.
pub(crate) fn follow_side(
    model: &Model,
    from: PathPoint,
    [own, until]: [f64; 2],
    [first, longest]: [f64; 2],
    work: &mut Work,
) -> Side {
    let set = follow::Settings { step: first, longest, weight: 1.0, ..follow::Settings::default() };
    let mut points = vec![from.clone()];
    let mut crossing: Option<PathPoint> = None;
    follow::follow(model, from, &set, work, |here, next| {
        if !is_inverted(&model.profile(&next.x, 2)) && here.negative == 0 {
            // The stable side consists of inverted states; leaving them means a jump to another branch.
            return Watch::Shorter;
        }
        if here.t >= own && next.t < own {
            crossing = Some(if here.t - own < own - next.t { here.clone() } else { next.clone() });
        }
        points.push(next.clone());
        if next.t <= until { Watch::Stop } else { Watch::Go }
    });
    let at_target = crossing.and_then(|p| follow::shift_to(model, &p.x, p.t, own, 12, work));
    Side { points, at_target }
}

/// The fold's immediate neighbours on `model`, stable and saddle, from where following starts.
///
/// `relative` is how far below the fold's parameter they lie, as a share of it.
pub(crate) fn neighbours(
    model: &Model,
    t: &Threshold,
    relative: f64,
    work: &mut Work,
) -> Option<[PathPoint; 2]> {
    let x = t.coarse.transfer(&t.coarse_fold.x, model);
    let (v, _) = calotte_solve::fold::softest(model, &x, t.coarse_fold.t, work)?;
    let f = calotte_solve::fold::refine(model, x, t.coarse_fold.t, v, 0.1, work).ok()?;
    ordered_sides(model, &f, relative, work)
}

//! The branch of inverted states over thickness, from the fold along both sides.

use calotte_shell::Model;
use calotte_solve::follow::{self, PathPoint, Watch};
use calotte_solve::potential::norm;
use calotte_solve::{Potential, Work};

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
    let side_count = from.negative.min(1);
    let mut crossing: Option<[PathPoint; 2]> = None;
    follow::follow(model, from, &set, work, |here, next| {
        let left = side_count == 0 && !is_inverted(&model.profile(&next.x, 2));
        if left || (next.negative.min(1) != side_count && here.negative.min(1) == side_count) {
            // A stable side consists of stable inverted states, a saddle side of saddles; anything else is a jump
            // to another branch.
            return Watch::Shorter;
        }
        if here.t >= own && next.t < own {
            crossing = Some([here.clone(), next.clone()]);
        }
        points.push(next.clone());
        if next.t <= until { Watch::Stop } else { Watch::Go }
    });
    let at_target = crossing.and_then(|[before, after]| {
        let near = if before.t - own < own - after.t { &before } else { &after };
        follow::shift_to(model, &near.x, near.t, own, 12, work)
            .or_else(|| approach(model, &before, &after, own, &set, work))
    });
    Side { points, at_target }
}

/// Steps from `before` to the parameter `own`, which lies between it and `after`: the secant on the step length,
/// then Newton at the fixed parameter. For thin walls, whose states change quickly with t.
fn approach(
    model: &Model,
    before: &PathPoint,
    after: &PathPoint,
    own: f64,
    set: &follow::Settings,
    work: &mut Work,
) -> Option<(Vec<f64>, f64, usize)> {
    let gap: Vec<f64> = after.x.iter().zip(&before.x).map(|(p, q)| p - q).collect();
    let whole = norm(model.metric(), &gap) + set.weight * (after.t - before.t).abs();
    let mut ds = whole * (before.t - own) / (before.t - after.t);
    for _ in 0..8 {
        let (p, _) = follow::step(model, before, ds, set, work)?;
        if (p.t / own - 1.0).abs() < 3e-4 {
            return follow::shift_to(model, &p.x, p.t, own, 12, work);
        }
        ds *= (before.t - own) / (before.t - p.t);
    }
    None
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

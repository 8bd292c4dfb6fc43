//! The fallback: turn the part inside out by pushing its pole (or hole edge), and watch the force.

use calotte_shell::{Loaded, Model, natural};
use calotte_solve::follow::{self, PathPoint, Watch};
use calotte_solve::minimise::{self, Minimum};
use calotte_solve::{Work, fold};

use crate::report::Eversion;
use crate::scene::{Scene, is_inverted};

/// Result of pushing a part inside out: what is reported, and the stable inverted equilibrium when the force
/// fell to zero on the way.
pub(crate) type Turned = (Eversion, Option<Minimum>);

/// Force parameter at height `z` of the inner end between two points of a path: cubic through their values and
/// slopes.
fn force_at(a: &PathPoint, b: &PathPoint, at: usize, z: f64) -> f64 {
    let width = b.x[at] - a.x[at];
    let u = (z - a.x[at]) / width;
    let (slope_a, slope_b) = (width * a.dt / a.dx[at], width * b.dt / b.dx[at]);
    let v = 1.0 - u;
    a.t * v * v * (1.0 + 2.0 * u) + b.t * u * u * (1.0 + 2.0 * v) + u * v * (v * slope_a - u * slope_b)
}

/// Follows the axisymmetric path of an imposed eversion at thickness factor `t`: from the natural shape, by
/// arclength through all limit points, until the force on the inner end falls to zero in an inverted shape
/// or the inner end has travelled past the mirror image.
pub(crate) fn push(scene: &Scene, model: &Model, t: f64, work: &mut Work) -> Turned {
    push_watched(scene, model, t, work, &mut |_, _| {})
}

/// The same; every state on the way is shown with its force, N.
pub(crate) fn push_watched(
    scene: &Scene,
    model: &Model,
    t: f64,
    work: &mut Work,
    shown: &mut dyn FnMut(&[f64], f64),
) -> Turned {
    let start = natural(model);
    let at = model.inner_height();
    // Scale of the force: a mirror dimple of depth H (Pogorelov 1988), F ≈ E h^{5/2} H^{1/2}/R.
    let h = scene.rim_thickness * t;
    let rise = -start[at];
    let unit = h * h * h.sqrt() * rise.sqrt() / t;
    let pushed = Loaded::on_inner_end(model, t, unit);
    let newtons = unit * t * scene.part.material.youngs * scene.radius * scene.radius;
    let mut report = Eversion {
        completed: false,
        inverted_found: false,
        largest_force_N: 0.0,
        least_force_N: None,
        least_force_at_travel_m: None,
        points: 0,
        mesh_difference: None,
    };
    let set = follow::Settings {
        step: 0.01,
        longest: 0.08,
        weight: 0.05,
        points: 600,
        ..follow::Settings::default()
    };
    let Some(from) = follow::start(&pushed, start, 0.0, true, set.weight, work) else {
        return (report, None);
    };
    let mut crossing = None;
    let mut lowest: Option<PathPoint> = None;
    let mut turned = false;
    follow::follow(&pushed, from, &set, work, |here, next| {
        report.points += 1;
        let travel = next.x[at] + rise;
        let force = next.t * newtons;
        report.largest_force_N = report.largest_force_N.max(force);
        shown(&next.x, force);
        // Once the force has passed its first peak, its least value decides.
        turned |= next.dt < 0.0;
        if turned && lowest.as_ref().is_none_or(|l| next.t < l.t) {
            lowest = Some(next.clone());
        }
        if here.t > 0.0 && next.t <= 0.0 && travel > rise {
            crossing = Some(next.clone());
            return Watch::Stop;
        }
        if next.x[at] > 1.15 * rise {
            report.completed = true;
            if !turned {
                // A force that only rises is compared where both meshes have the same travel.
                report.largest_force_N = newtons * force_at(here, next, at, 1.15 * rise);
            }
            return Watch::Stop;
        }
        Watch::Go
    });
    if let Some(p) = lowest {
        // The least force is a limit point of the path.
        let exact = fold::softest(&pushed, &p.x, p.t, work)
            .and_then(|(v, _)| fold::refine(&pushed, p.x.clone(), p.t, v, 0.05, work).ok())
            .filter(|f| (f.t - p.t).abs() < 0.1 * p.t.abs().max(0.1));
        let (x, t) = exact.map_or((p.x, p.t), |f| (f.x, f.t));
        report.least_force_N = Some(t * newtons);
        report.least_force_at_travel_m = Some((x[at] + rise) * scene.radius);
    }
    let state = crossing.and_then(|p| {
        let set = minimise::Settings { iterations: 60, radius: 0.1, ..minimise::Settings::default() };
        minimise::minimise(model, p.x, t, &set, work).ok()
    });
    let state = state.filter(|m| is_inverted(&model.profile(&m.x, 4)));
    report.inverted_found = state.is_some();
    (report, state)
}

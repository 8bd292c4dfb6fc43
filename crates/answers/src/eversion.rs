//! The fallback: turn the part inside out by pushing its pole (or hole edge), and watch the force.

use calotte_shell::{Model, Pushed, natural};
use calotte_solve::Work;
use calotte_solve::follow::{self, Watch};
use calotte_solve::minimise::{self, Minimum};

use crate::report::Eversion;
use crate::scene::{Scene, is_inverted};

/// Result of pushing a part inside out: what is reported, and the stable inverted equilibrium when the force
/// fell to zero on the way.
pub(crate) type Turned = (Eversion, Option<Minimum>);

/// Follows the axisymmetric path of an imposed eversion at thickness factor `t`: from the natural shape, by
/// arclength through all limit points, until the force on the inner end falls to zero in an inverted shape
/// or the inner end has travelled past the mirror image.
pub(crate) fn push(scene: &Scene, model: &Model, t: f64, work: &mut Work) -> Turned {
    let start = natural(model);
    let at = model.inner_height();
    // Scale of the force: a mirror dimple of depth H (Pogorelov 1988), F ≈ E h^{5/2} H^{1/2}/R.
    let h = scene.rim_thickness * t;
    let rise = -start[at];
    let unit = h * h * h.sqrt() * rise.sqrt() / t;
    let pushed = Pushed::new(model, t, unit);
    let newtons = unit * t * scene.part.material.youngs * scene.radius * scene.radius;
    let mut report = Eversion {
        completed: false,
        inverted_found: false,
        largest_force_N: 0.0,
        least_force_N: f64::INFINITY,
        least_force_at_travel_m: 0.0,
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
    follow::follow(&pushed, from, &set, work, |here, next| {
        report.points += 1;
        let travel = next.x[at] + rise;
        let force = next.t * newtons;
        report.largest_force_N = report.largest_force_N.max(force);
        // Past half way the least force is what decides.
        if travel > rise && force < report.least_force_N {
            report.least_force_N = force;
            report.least_force_at_travel_m = travel * scene.radius;
        }
        if here.t > 0.0 && next.t <= 0.0 && travel > rise {
            crossing = Some(next.clone());
            return Watch::Stop;
        }
        if next.x[at] > 1.15 * rise {
            report.completed = true;
            return Watch::Stop;
        }
        Watch::Go
    });
    let state = crossing.and_then(|p| {
        let set = minimise::Settings { iterations: 60, radius: 0.1, ..minimise::Settings::default() };
        minimise::minimise(model, p.x, t, &set, work).ok()
    });
    let state = state.filter(|m| is_inverted(&model.profile(&m.x, 4)));
    report.inverted_found = state.is_some();
    (report, state)
}

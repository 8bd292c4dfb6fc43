//! The threshold: the fold of the branch of inverted states over a common factor on the thickness.

use calotte_shell::{Harmonics, Mesh, Model};
use calotte_solve::Work;
use calotte_solve::fold::{self, Fold};
use calotte_solve::follow::{self, PathPoint, Watch};

use crate::scene::{Scene, is_inverted};

/// A fold found on two meshes.
#[derive(Debug)]
pub(crate) struct Threshold {
    pub(crate) coarse: Model,
    pub(crate) coarse_fold: Fold,
    pub(crate) fine: Model,
    pub(crate) fold: Fold,
    /// Equilibria just beside the fold on the finer mesh: stable, saddle.
    pub(crate) beside: [PathPoint; 2],
}

impl Threshold {
    /// Relative difference of the threshold between the meshes.
    pub(crate) fn difference(&self) -> f64 {
        (self.coarse_fold.t / self.fold.t - 1.0).abs()
    }

    /// Relative half-width of the bracket.
    pub(crate) fn bracket(&self) -> f64 {
        self.beside.iter().map(|p| (p.t / self.fold.t - 1.0).abs()).fold(0.0, f64::max)
    }
}

/// Why there is no threshold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum NoThreshold {
    /// No inverted equilibrium at any thickness tried.
    NoInverted,
    /// Inverted states persist up to this thickness factor (over the expected threshold).
    NoFold {
        /// Largest factor followed to.
        up_to: f64,
    },
}

/// Agreement of two meshes that ends refinement.
const AGREEMENT: f64 = 2e-8;
/// Relative distance of the bracketing equilibria from the fold.
const BESIDE: f64 = 1e-9;

/// Finds the fold, on meshes refined until two agree (at most three times).
pub(crate) fn find(scene: &Scene, work: &mut Work) -> Result<Threshold, NoThreshold> {
    let Found { mut mesh, model: mut coarse, fold: mut coarse_fold } = coarse_search(scene, work)?;
    for level in 0.. {
        let finer: Mesh = mesh.bisected();
        let fine = scene.model_on(&finer);
        let x = coarse.transfer(&coarse_fold.x, &fine);
        let Some(f) = polish(&fine, x, coarse_fold.t, work) else {
            return Err(NoThreshold::NoFold { up_to: coarse_fold.t });
        };
        let apart = (coarse_fold.t / f.t - 1.0).abs();
        if apart <= AGREEMENT || level == 2 {
            let Some(beside) = ordered_sides(&fine, &f, BESIDE, work) else {
                return Err(NoThreshold::NoFold { up_to: f.t });
            };
            return Ok(Threshold { coarse, coarse_fold, fine, fold: f, beside });
        }
        (mesh, coarse, coarse_fold) = (finer, fine, f);
    }
    Err(NoThreshold::NoInverted)
}

/// The threshold's thickness factor on the standard mesh alone, for searches over other numbers; with
/// `bisected`, on that mesh bisected.
pub(crate) fn find_coarse(scene: &Scene, bisected: bool, work: &mut Work) -> Result<f64, NoThreshold> {
    let found = coarse_search(scene, work)?;
    if !bisected {
        return Ok(found.fold.t);
    }
    let fine = scene.model_on(&found.mesh.bisected());
    let x = found.model.transfer(&found.fold.x, &fine);
    let up_to = found.fold.t;
    polish(&fine, x, up_to, work).map(|f| f.t).ok_or(NoThreshold::NoFold { up_to })
}

/// A fold on one mesh.
struct Found {
    mesh: Mesh,
    model: Model,
    fold: Fold,
}

/// Newton on the extended system from a state close to the fold.
fn polish(model: &Model, x: Vec<f64>, t: f64, work: &mut Work) -> Option<Fold> {
    let (v, _) = fold::softest(model, &x, t, work)?;
    fold::refine(model, x, t, v, 0.1, work).ok()
}

/// Sides of a fold as (stable, saddle); `None` unless inertia says so.
pub(crate) fn ordered_sides(
    model: &Model,
    f: &Fold,
    relative: f64,
    work: &mut Work,
) -> Option<[PathPoint; 2]> {
    let [a, b] = fold::sides(model, f, relative, 1.0, work)?;
    match (a.negative, b.negative) {
        (0, 1) => Some([a, b]),
        (1, 0) => Some([b, a]),
        _ => None,
    }
}

fn coarse_search(scene: &Scene, work: &mut Work) -> Result<Found, NoThreshold> {
    // Close below the expected threshold first: there one Newton run on the extended system is enough.
    let mut reached: Option<f64> = None;
    for t in [0.93, 0.8, 0.6, 0.35, 0.2, 0.1, 0.05, 0.02, 0.005] {
        let (mesh, model) = scene.model(if t > 0.5 { 0.85 } else { t });
        let Some(m) = scene.inverted(&model, t, work) else { continue };
        if t > 0.7
            && let Some((v, _)) = fold::softest(&model, &m.x, t, work)
            && let Ok(fold) = fold::refine(&model, m.x.clone(), t, v, 0.3, work)
            && sound(&model, &fold, t, work)
        {
            return regrade(scene, Found { mesh, model, fold }, 0.85, work);
        }
        match climb(&model, m.x, t, work) {
            Ok(fold) => return regrade(scene, Found { mesh, model, fold }, t, work),
            Err(up_to) => reached = Some(reached.map_or(up_to, |r| r.max(up_to))),
        }
    }
    Err(reached.map_or(NoThreshold::NoInverted, |up_to| NoThreshold::NoFold { up_to }))
}

/// Puts a fold on a mesh graded for its own thickness, when its mesh was graded for quite another (`of`).
fn regrade(scene: &Scene, found: Found, of: f64, work: &mut Work) -> Result<Found, NoThreshold> {
    let wanted = 0.85 * found.fold.t;
    if (0.55..1.8).contains(&(wanted / of)) {
        return Ok(found);
    }
    let (mesh, model) = scene.model(wanted);
    let x = found.model.transfer(&found.fold.x, &model);
    match polish(&model, x, found.fold.t, work) {
        Some(fold) => Ok(Found { mesh, model, fold }),
        None => Ok(found),
    }
}

/// A fold is ours when it lies above the state it was reached from, is inverted, is a maximum of t, and is
/// flanked by a stable state and a saddle.
fn sound(model: &Model, f: &Fold, above: f64, work: &mut Work) -> bool {
    f.t > above
        && f.t < 4.0 * above
        && is_inverted(&model.profile(&f.x, 4))
        && ordered_sides(model, f, 1e-6, work).is_some_and(|s| s.iter().all(|p| p.t < f.t))
}

/// Follows the branch from `(x, t)` towards larger t until it turns, and polishes the fold there. `Err` is how
/// far it got.
fn climb(model: &Model, x: Vec<f64>, t: f64, work: &mut Work) -> Result<Fold, f64> {
    let set = follow::Settings { step: 0.05, longest: 0.25, weight: 1.0, ..follow::Settings::default() };
    let Some(from) = follow::start(model, x, t, true, set.weight, work) else { return Err(t) };
    let limit = 40.0;
    let mut turned = None;
    let (last, _) = follow::follow(model, from, &set, work, |here, next| {
        if !is_inverted(&model.profile(&next.x, 2)) {
            return Watch::Shorter;
        }
        if next.dt < 0.0 || next.negative > here.negative {
            turned = Some(if here.dt.abs() < next.dt.abs() { here.clone() } else { next.clone() });
            return Watch::Stop;
        }
        if next.t > limit { Watch::Stop } else { Watch::Go }
    });
    let Some(p) = turned else { return Err(last.t) };
    let (v, _) = fold::softest(model, &p.x, p.t, work).ok_or(p.t)?;
    let f = fold::refine(model, p.x.clone(), p.t, v, 0.1, work)
        .or_else(|_| fold::refine(model, p.x, p.t, p.dx, 0.03, work))
        .map_err(|_| p.t)?;
    let ours = f.t > t && is_inverted(&model.profile(&f.x, 4));
    if ours && ordered_sides(model, &f, 1e-6, work).is_some() { Ok(f) } else { Err(p.t) }
}

/// Thickness factor at which ripple `n` is lost on the stable branch below the fold: its smallest eigenvalue,
/// along the branch, changes sign there. Regula falsi (Illinois) to 1e-10; `None` when no bracket is found.
pub(crate) fn ripple_threshold(scene: &Scene, t: &Threshold, n: u32, work: &mut Work) -> Option<f64> {
    let model = &t.fine;
    let value = |x: &[f64], at: f64, work: &mut Work| {
        Harmonics::new(model, x, at).smallest(n, None, work).map(|(s, _)| s.value)
    };
    // Step down the stable side until the ripple is stable.
    let [stable, _] = ordered_sides(model, &t.fold, 1e-6, work)?;
    let (mut high, mut x) = (stable.t, stable.x);
    let mut f_high = value(&x, high, work)?;
    let mut low = high;
    let mut f_low = f_high;
    for _ in 0..40 {
        if f_low > 0.0 {
            break;
        }
        (high, f_high) = (low, f_low);
        low *= if high > 0.999 * t.fold.t { 0.9995 } else { 0.96 };
        x = follow::shift_to(model, &x, high, low, 15, work)?.0;
        f_low = value(&x, low, work)?;
    }
    if f_low <= 0.0 || low < scene.own.min(t.fold.t) * 0.05 {
        return None;
    }
    let mut at = low;
    let mut last_side = 0;
    for _ in 0..60 {
        let mid = (low * f_high - high * f_low) / (f_high - f_low);
        x = follow::shift_to(model, &x, at, mid, 15, work)?.0;
        at = mid;
        let f = value(&x, mid, work)?;
        if f > 0.0 {
            if (mid - low).abs() < 1e-12 * mid {
                break;
            }
            (low, f_low) = (mid, f);
            // An end kept twice is weighted down, or it would never move.
            if last_side == 1 {
                f_high *= 0.5;
            }
            last_side = 1;
        } else {
            (high, f_high) = (mid, f);
            if last_side == -1 {
                f_low *= 0.5;
            }
            last_side = -1;
        }
        if high - low < 1e-10 * high {
            break;
        }
    }
    Some(at)
}

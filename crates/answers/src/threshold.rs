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
    /// Thickness factor that the mesh, before any bisection, was graded for.
    graded: f64,
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
    let Found { mut mesh, model: mut coarse, fold: mut coarse_fold, graded } = coarse_search(scene, work)?;
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
            return Ok(Threshold { coarse, coarse_fold, fine, fold: f, beside, graded });
        }
        (mesh, coarse, coarse_fold) = (finer, fine, f);
    }
    Err(NoThreshold::NoInverted)
}

/// The threshold's thickness factor on the standard mesh alone, for searches over other numbers.
pub(crate) fn find_coarse(scene: &Scene, work: &mut Work) -> Result<f64, NoThreshold> {
    coarse_search(scene, work).map(|found| found.fold.t)
}

/// Thresholds of parts that differ a little from one another, each search starting from the fold found last.
pub(crate) struct Nearby {
    /// That of the last search, once there was one.
    mesh: Option<Mesh>,
    model: Model,
    fold: Fold,
    graded: f64,
    // Lengths, m: rise, arc and unit of the part, threshold.
    rise: f64,
    arc: f64,
    unit: f64,
    thickness: f64,
    /// Every search begins anew.
    anew: bool,
}

impl Nearby {
    /// Starts from a threshold and its scene.
    pub(crate) fn new(scene: &Scene, t: &Threshold) -> Self {
        Self::of(scene, t.coarse.clone(), t.coarse_fold.clone(), t.graded)
    }

    /// The same, but every search begins anew.
    pub(crate) fn anew(scene: &Scene, t: &Threshold) -> Self {
        Self { anew: true, ..Self::new(scene, t) }
    }

    fn of(scene: &Scene, model: Model, fold: Fold, graded: f64) -> Self {
        let m = &scene.part.meridian;
        let rise = m.at(m.length()).z - m.at(0.0).z;
        let thickness = fold.t * scene.rim_thickness * scene.radius;
        let (arc, unit) = (m.length(), scene.radius);
        Self { mesh: None, model, fold, graded, rise, arc, unit, thickness, anew: false }
    }

    /// The threshold's thickness factor on the standard mesh alone. A fold met from the last one must be inverted and a
    /// maximum of thickness; where none is met, the search begins anew.
    pub(crate) fn find(&mut self, scene: &Scene, work: &mut Work) -> Result<f64, NoThreshold> {
        let met = if self.anew { None } else { self.follow(scene, work) };
        let found = match met {
            Some(found) => found,
            None => coarse_search(scene, work)?,
        };
        let t = found.fold.t;
        let now = Self::of(scene, found.model, found.fold, found.graded);
        *self = Self { mesh: Some(found.mesh), anew: self.anew, ..now };
        Ok(t)
    }

    /// The same on that mesh bisected, for the scene of the last search; certified by the inertia of the states beside the
    /// fold.
    pub(crate) fn refined(&self, scene: &Scene, work: &mut Work) -> Option<f64> {
        let fine = scene.model_on(&self.mesh.as_ref()?.bisected());
        let x = self.model.transfer(&self.fold.x, &fine);
        let f = polish(&fine, x, self.fold.t, work)?;
        flanked(&fine, &f, work).then_some(f.t)
    }

    /// Found from the last fold, which stays where it is: mesh, model and fold, certified by the inertia of the states beside it;
    /// `None` where Newton's method does not get there or comes to something else.
    pub(crate) fn beside(&self, scene: &Scene, work: &mut Work) -> Option<(Model, Fold)> {
        let found = self.follow(scene, work)?;
        flanked(&found.model, &found.fold, work).then_some((found.model, found.fold))
    }

    /// From the last fold: its difference from its mirror image, in the proportions of shallow parts (heights and threshold
    /// go with the rise, radii with its square over the arc).
    fn follow(&self, scene: &Scene, work: &mut Work) -> Option<Found> {
        let (mesh, model) = scene.model(self.graded);
        let now = Self::of(scene, model, self.fold.clone(), self.graded);
        let rises = now.rise / self.rise;
        let units = self.unit / scene.radius;
        let arcs = now.arc / self.arc;
        let factors = [rises * rises / arcs * units, rises * units];
        let x = self.model.likened(&self.fold.x, &now.model, factors);
        let t = self.thickness * rises / (scene.rim_thickness * scene.radius);
        let fold = polish(&now.model, x, t, work)?;
        let kept = (0.5..2.0).contains(&(fold.t / t)) && is_inverted(&now.model.profile(&fold.x, 4));
        // t − t* ≈ −½ (bend/push) s² along the path.
        let maximum = fold.bend / fold.push > 0.0;
        (kept && maximum).then_some(Found { mesh, model: now.model, fold, graded: self.graded })
    }
}

/// A fold on one mesh.
struct Found {
    mesh: Mesh,
    model: Model,
    fold: Fold,
    /// Thickness factor that the mesh was graded for.
    graded: f64,
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
        let graded = if t > 0.5 { 0.85 } else { t };
        let (mesh, model) = scene.model(graded);
        let Some(m) = scene.inverted(&model, t, work) else { continue };
        if t > 0.7
            && let Some((v, _)) = fold::softest(&model, &m.x, t, work)
            && let Ok(fold) = fold::refine(&model, m.x.clone(), t, v, 0.3, work)
            && sound(&model, &fold, t, work)
        {
            return regrade(scene, Found { mesh, model, fold, graded }, 0.85, work);
        }
        match climb(&model, m.x, t, work) {
            Ok(fold) => return regrade(scene, Found { mesh, model, fold, graded }, t, work),
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
        Some(fold) => Ok(Found { mesh, model, fold, graded: wanted }),
        None => Ok(found),
    }
}

/// A fold is ours when it lies above the state it was reached from, is inverted, is a maximum of t, and is
/// flanked by a stable state and a saddle.
fn sound(model: &Model, f: &Fold, above: f64, work: &mut Work) -> bool {
    f.t > above && f.t < 4.0 * above && is_inverted(&model.profile(&f.x, 4)) && flanked(model, f, work)
}

/// Whether a stable state and a saddle lie just below the fold.
fn flanked(model: &Model, f: &Fold, work: &mut Work) -> bool {
    ordered_sides(model, f, 1e-6, work).is_some_and(|s| s.iter().all(|p| p.t < f.t))
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
    ripple_loss(&t.fine, &t.fold, scene.own.min(t.fold.t) * 0.05, n, work)
}

/// The same below any fold, down to the factor `least`.
pub(crate) fn ripple_loss(model: &Model, fold: &Fold, least: f64, n: u32, work: &mut Work) -> Option<f64> {
    let value = |x: &[f64], at: f64, work: &mut Work| {
        Harmonics::new(model, x, at).smallest(n, None, work).map(|(s, _)| s.value)
    };
    // Step down the stable side until the ripple is stable.
    let [stable, _] = ordered_sides(model, fold, 1e-6, work)?;
    let (mut high, mut x) = (stable.t, stable.x);
    let mut f_high = value(&x, high, work)?;
    let mut low = high;
    let mut f_low = f_high;
    for _ in 0..40 {
        if f_low > 0.0 {
            break;
        }
        (high, f_high) = (low, f_low);
        low *= if high > 0.999 * fold.t { 0.9995 } else { 0.96 };
        x = follow::shift_to(model, &x, high, low, 15, work)?.0;
        f_low = value(&x, low, work)?;
    }
    if f_low <= 0.0 || low < least {
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

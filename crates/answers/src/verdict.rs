//! Turned inside out, does this part stay, and by what margin?

use std::rc::Rc;

use calotte_solve::Work;
use calotte_solve::follow::{self, PathPoint};
use calotte_specimen::{Part, Rim};

use crate::branch::{Side, follow_side, neighbours};
use crate::eversion;
use crate::explain;
use crate::film::{Camera, Film, Frame};
use crate::margin;
use crate::report::{
    Branch, BranchPoint, Eversion, Evidence, Limit, Margin, PartSummary, SCHEMA_VERSION, SampledMeridian,
    Verdict, VerdictReport,
};
use crate::ripples;
use crate::scene::{Scene, lambda};
use crate::state::{self, Inverted};
use crate::subject::Subject;
use crate::threshold::{self, NoThreshold, Threshold};
use crate::waiting;

/// What to compute beside the verdict itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Detail {
    /// The branch over thickness, in steps short enough for a figure. Changes nothing else in the answer but the
    /// work done.
    pub branch: bool,
    /// Threshold depth.
    pub depth: bool,
}

impl Default for Detail {
    fn default() -> Self {
        Self { branch: true, depth: true }
    }
}

/// Thickness over radius up to which thin-shell theory is taken without a warning.
pub const THIN_WARNING: f64 = 0.1;
/// Thickness over radius beyond which no verdict is certified.
pub const THIN_LIMIT: f64 = 0.25;
/// Strain up to which the linear law is taken without a warning.
pub const STRAIN_WARNING: f64 = 0.1;
/// Name of the one limit that takes the certificate away.
pub(crate) const CERTIFICATION: &str = "h/R, certification";
/// Two-mesh differences beyond which the evidence does not carry a verdict.
const MESH_LIMIT: f64 = 1e-5;

/// Thresholds found already, for many parts that differ in the thickness of their wall alone.
#[derive(Default)]
pub struct Cells {
    known: Vec<(Part, Rc<Found>)>,
}

/// A threshold with the ripple, if any, that goes before the fold.
struct Found {
    threshold: Result<Threshold, NoThreshold>,
    governing: Option<(u32, f64)>,
}

impl Cells {
    /// Parts remembered at most.
    const MOST: usize = 64;

    /// Verdict and h/h* of one cell of a grid: threshold and state on two meshes and every wave number by inertia
    /// count, as in [`verdict`]; saddle, eigenvalues and depth are left out. A result does not depend on what was
    /// asked before.
    pub fn verdict(&mut self, part: &Part) -> (Verdict, Option<f64>) {
        let r = answer(part, Detail { branch: false, depth: false }, Some(self), None);
        (r.verdict, r.margin.map(|m| m.thickness_ratio))
    }

    fn find(&mut self, scene: &Scene, work: &mut Work) -> Rc<Found> {
        if let Some((_, f)) = self.known.iter().find(|k| k.0 == scene.part) {
            return Rc::clone(f);
        }
        let found = Rc::new(find(scene, work));
        if self.known.len() == Self::MOST {
            self.known.remove(0);
        }
        self.known.push((scene.part.clone(), Rc::clone(&found)));
        found
    }
}

fn find(scene: &Scene, work: &mut Work) -> Found {
    let threshold = if scene.radius.is_finite() && scene.radius > 0.0 {
        threshold::find(scene, work)
    } else {
        Err(NoThreshold::NoInverted)
    };
    let governing = threshold.as_ref().ok().and_then(|t| governing(scene, t, work));
    Found { threshold, governing }
}

/// Answers the main question.
pub fn verdict(subject: &dyn Subject, detail: Detail) -> VerdictReport {
    answer(subject, detail, None, None)
}

/// The same with its shapes: the natural one, and the inverted one and the saddle where they were found.
pub fn verdict_with_film(subject: &dyn Subject, detail: Detail) -> (VerdictReport, Film) {
    let camera = Camera::new(subject.part());
    let mut frames = vec![camera.natural()];
    let report = answer(subject, detail, None, Some((&camera, &mut frames)));
    for (i, frame) in frames.iter_mut().enumerate() {
        frame.at = i as f64;
    }
    (report, camera.film("shapes", frames))
}

fn answer(
    subject: &dyn Subject,
    detail: Detail,
    cells: Option<&mut Cells>,
    film: Option<(&Camera<'_>, &mut Vec<Frame>)>,
) -> VerdictReport {
    let whole = cells.is_none();
    let mut work = Work::default();
    let part = subject.part();
    let scene = Scene::new(part);
    let summary = summarise(subject);
    let mut doubts = Vec::new();
    let known = match cells {
        Some(c) => c.find(&scene, &mut work),
        None => Rc::new(find(&scene, &mut work)),
    };
    let found = &known.threshold;
    let exists = match found {
        Ok(t) => scene.own < t.fold.t,
        Err(NoThreshold::NoFold { up_to }) => scene.own <= *up_to,
        Err(NoThreshold::NoInverted) => false,
    };
    let mut inverted = if exists { state::solve(&scene, None, &mut work) } else { None };
    let mut turned = None;
    if inverted.is_none() && (exists || found.is_err()) {
        // Minimising found nothing: push the part over instead.
        if let Some((report, state)) = turn_over(&scene, &mut work) {
            inverted = state.and_then(|s| state::solve(&scene, Some(s), &mut work));
            turned = Some(report);
        }
    }
    if exists && inverted.is_none() {
        doubts.push(
            "The branch of inverted states reaches this thickness but its equilibrium was not found.".into(),
        );
    }
    let shown = turned.as_ref().is_some_and(|e| {
        e.completed && e.least_force_N.is_none_or(|f| f > 0.0) && e.mesh_difference.is_some_and(|d| d < 1e-2)
    });
    if found.is_err() && inverted.is_none() && !shown {
        doubts.push(
            "No inverted equilibrium was found at any thickness tried, and the path of an imposed eversion did \
             not show that there is none."
                .into(),
        );
    }
    let sides = found.as_ref().ok().filter(|_| whole).and_then(|t| follow_sides(&scene, t, &mut work));
    let drawn = found.as_ref().ok().filter(|_| detail.branch).and_then(|t| draw_sides(&scene, t, &mut work));
    let branch = read_branch(&scene, found.as_ref().ok(), drawn.as_ref());
    let density = part.material.density;
    let rows = inverted.as_ref().map(|inv| {
        let (omega, hertz) = frequency_units(part, scene.radius, density);
        if whole {
            ripples::examine(inv, scene.own, omega, hertz, &mut work)
        } else {
            ripples::count(inv, scene.own, &mut work)
        }
    });
    if let Some(d) = rows.as_ref().map(|r| r.mesh_difference).filter(|d| *d > 5e-2) {
        doubts.push(format!("Two meshes disagree on the softest ripple by {d:.1e}."));
    }
    if rows.as_ref().is_some_and(|r| !r.certified) {
        doubts.push("For some wave number the smallest eigenvalue could not be certified.".into());
    }
    let lost = rows.iter().flat_map(|r| &r.rows).any(|r| r.negative > 0);
    let margin = found.as_ref().ok().and_then(|t| {
        let governing = known.governing;
        if governing.is_none() && !lost {
            doubts.push("A ripple is lost before the fold, but its threshold was not bracketed.".into());
        }
        governing.map(|(n, at)| build_margin(subject, &scene, t, n, at, detail, &mut work))
    });
    same_branch(inverted.as_ref(), sides.as_ref(), &mut doubts);
    let z_rim = part.meridian.at(part.meridian.length()).z;
    let energy_unit = part.material.youngs * scene.radius.powi(3) * scene.own;
    let described = inverted.as_ref().map(|inv| {
        // The saddle was met on the branch's mesh; the report's is on that mesh bisected.
        let fine = sides.as_ref().and_then(|b| {
            let (s, _, _) = b.saddle.at_target.as_ref().filter(|s| s.2 == 1)?;
            let model = scene.model_on(&b.mesh.bisected());
            let x = b.model.transfer(s, &model);
            let (x, energy, negative) = follow::shift_to(&model, &x, scene.own, scene.own, 12, &mut work)?;
            (negative == 1 && energy > inv.state.energy).then_some((model, x, energy * energy_unit))
        });
        let state = state::describe(&scene, inv, z_rim, fine.as_ref().map(|(m, x, e)| (m, x.as_slice(), *e)));
        if let Some((camera, frames)) = film {
            let shape = camera.frame(&inv.model, &inv.state.x, scene.own);
            frames.push(Frame { name: "inverted".to_owned(), lip_m: state.lip_width_m, ..shape });
            frames.extend(fine.as_ref().map(|(model, x, _)| Frame {
                name: "saddle".to_owned(),
                ..camera.frame(model, x, scene.own)
            }));
        }
        state
    });
    let limits = limits_of(&summary, described.as_ref().map(|d| d.strains.largest_surface), margin.as_ref());
    let mut evidence = evidence(&scene, found.as_ref().ok(), inverted.as_ref(), limits, work);
    evidence.ripple_difference = rows.as_ref().map(|r| r.mesh_difference);
    judge_evidence(&evidence, margin.as_ref(), &mut doubts);
    let verdict = if !doubts.is_empty() {
        Verdict::Undecided
    } else if described.is_some() && !lost {
        Verdict::Stays
    } else {
        Verdict::Returns
    };
    let mut report = VerdictReport {
        schema_version: SCHEMA_VERSION,
        title: subject.title().to_owned(),
        verdict,
        explanation: Vec::new(),
        doubts,
        warnings: Vec::new(),
        part: summary,
        margin,
        inverted: described,
        ripple_bound: rows.as_ref().map(|r| r.bound.clone()),
        ripples: rows.map(|r| r.rows).unwrap_or_default(),
        eversion: turned,
        branch,
        wait: None,
        evidence,
    };
    if whole {
        waiting::add(subject, &mut report);
    }
    explain::warnings(&mut report);
    explain::words(&mut report);
    report
}

/// Pushes a part inside out that showed no inverted equilibrium; `None` when it has no rise to turn.
fn turn_over(scene: &Scene, work: &mut Work) -> Option<(Eversion, Option<state::Start>)> {
    let m = &scene.part.meridian;
    if !scene.radius.is_finite() || m.at(m.length()).z - m.at(0.0).z <= 0.0 {
        return None;
    }
    let coarse = scene.model(scene.own).0.bisected();
    let (first, _) = eversion::push(scene, &scene.model_on(&coarse), scene.own, work);
    let mesh = coarse.bisected();
    let model = scene.model_on(&mesh);
    let (mut report, state) = eversion::push(scene, &model, scene.own, work);
    report.mesh_difference = match (first.least_force_N, report.least_force_N) {
        (Some(a), Some(b)) => Some((a / b - 1.0).abs()),
        (None, None) => Some((first.largest_force_N / report.largest_force_N - 1.0).abs()),
        _ => None,
    };
    Some((report, state.map(|s| (mesh, model, s))))
}

/// The part in numbers; no mechanics.
pub fn summarise(subject: &dyn Subject) -> PartSummary {
    let part = subject.part();
    let m = &part.meridian;
    let length = m.length();
    let (radius, angle) = m.arc_sphere();
    let (rim, inner) = (m.at(length), m.at(0.0));
    let thickness = part.wall.thickness(length);
    let nu = part.material.poisson;
    let steps = 120;
    let mut meridian = SampledMeridian::default();
    for i in 0..=steps {
        let s = length * f64::from(i) / f64::from(steps);
        let p = m.at(s);
        meridian.s_m.push(s);
        meridian.r_m.push(p.r);
        meridian.z_m.push(p.z);
        meridian.slope_rad.push(libm::atan2(p.sin, p.cos));
        meridian.thickness_m.push(part.wall.thickness(s));
    }
    PartSummary {
        shape: subject.shape_name().to_owned(),
        sphere_radius_m: radius,
        half_angle_rad: angle,
        rim_radius_m: rim.r,
        rise_m: rim.z,
        arc_length_m: length,
        hole_radius_m: if m.starts_at_pole() { 0.0 } else { inner.r },
        thickness_m: thickness,
        thickness_ratio: thickness / radius,
        lambda: lambda(nu, length, radius, thickness),
        youngs_modulus_Pa: part.material.youngs,
        poisson_ratio: nu,
        density_kg_per_m3: part.material.density,
        rim: rim_name(&part.rim).to_owned(),
        uniform_wall: part.wall.is_uniform(),
        meridian,
    }
}

fn rim_name(rim: &Rim) -> &'static str {
    match rim {
        Rim::Free => "free",
        Rim::Table => "frictionless table",
        Rim::Ring => "ring",
        Rim::Hinged => "hinged",
        Rim::Clamped => "clamped",
        Rim::Elastic(_) => "elastic",
    }
}

/// Factors from the model's eigenvalue ω² (units E/ρR²) to Ω² = ω²ℓ⁴ρh/D and from its root to Hz.
fn frequency_units(part: &Part, radius: f64, density: Option<f64>) -> (f64, Option<f64>) {
    let length = part.meridian.length();
    let h = part.wall.thickness(length);
    let nu = part.material.poisson;
    let omega = (length / radius).powi(4) * 12.0 * (1.0 - nu * nu) / (h / radius).powi(2);
    let hertz =
        density.map(|rho| (part.material.youngs / rho).sqrt() / radius / (2.0 * std::f64::consts::PI));
    (omega, hertz)
}

/// Both sides of the branch on one mesh that suits the thinner end.
struct Sides {
    mesh: calotte_shell::Mesh,
    model: calotte_shell::Model,
    stable: Side,
    saddle: Side,
    fold: PathPoint,
}

/// Both sides down to the part's own thickness, in the longest steps that converge: evidence, the same whatever
/// is to be drawn. `None` for a part beyond its threshold.
fn follow_sides(scene: &Scene, t: &Threshold, work: &mut Work) -> Option<Sides> {
    let gap = 1.0 - scene.own / t.fold.t;
    if gap <= 0.0 {
        return None;
    }
    let relative = (0.1 * gap).clamp(1e-9, 1e-3);
    sides_to(scene, t, scene.own, relative, [0.02, 0.4], work)
}

/// Both sides for a picture, in short steps, at least down to half the threshold.
fn draw_sides(scene: &Scene, t: &Threshold, work: &mut Work) -> Option<Sides> {
    let gap = 1.0 - scene.own / t.fold.t;
    let relative = if gap > 0.0 { (0.1 * gap).clamp(1e-9, 1e-5) } else { 1e-5 };
    sides_to(scene, t, scene.own.min(0.5 * t.fold.t), relative, [0.003, 0.012], work)
}

fn sides_to(
    scene: &Scene,
    t: &Threshold,
    until: f64,
    relative: f64,
    steps: [f64; 2],
    work: &mut Work,
) -> Option<Sides> {
    let (mesh, model) = scene.ridge_model(until);
    let [stable, saddle] = neighbours(&model, t, relative, work)?;
    let fold = stable.clone();
    let ends = [scene.own, until];
    let stable = follow_side(&model, stable, ends, steps, work);
    let saddle = follow_side(&model, saddle, ends, steps, work);
    Some(Sides { mesh, model, stable, saddle, fold })
}

/// The branch as data.
fn read_branch(scene: &Scene, t: Option<&Threshold>, sides: Option<&Sides>) -> Branch {
    let (Some(t), Some(s)) = (t, sides) else { return Branch::default() };
    let point = |p: &PathPoint| {
        let profile = s.model.profile(&p.x, 2);
        let r = scene.radius;
        BranchPoint {
            thickness_m: p.t * scene.rim_thickness * r,
            pole_height_m: (profile.inner().z - profile.rim().z).abs() * r,
            rim_slope_rad: profile.rim().slope,
            energy_J: p.energy * p.t * scene.part.material.youngs * r * r * r,
            negative: p.negative,
        }
    };
    let mut points = Vec::new();
    points.extend(s.stable.points.iter().rev().map(point));
    let fold = points.len();
    let top = PathPoint { t: t.fold.t, ..s.fold.clone() };
    points.push(point(&top));
    points.extend(s.saddle.points.iter().map(point));
    Branch { points, fold: Some(fold) }
}

/// The wave number that is lost first on the way to the threshold and the thickness factor at which it is.
/// `None` when a ripple goes first but could not be bracketed.
fn governing(scene: &Scene, t: &Threshold, work: &mut Work) -> Option<(u32, f64)> {
    let Some(n) = ripples::first_lost(&t.coarse, &t.coarse_fold.x, t.coarse_fold.t, work) else {
        return Some((0, t.fold.t));
    };
    threshold::ripple_threshold(scene, t, n, work).map(|at| (n, at))
}

fn build_margin(
    subject: &dyn Subject,
    scene: &Scene,
    t: &Threshold,
    governing_n: u32,
    at: f64,
    detail: Detail,
    work: &mut Work,
) -> Margin {
    let part = subject.part();
    let ratio = scene.own / at;
    let threshold_thickness = at * scene.rim_thickness * scene.radius;
    let nu = part.material.poisson;
    let length = part.meridian.length();
    let here = lambda(nu, length, scene.radius, part.wall.thickness(length));
    let there = lambda(nu, length, scene.radius, threshold_thickness);
    // The null vector belongs to the fold: a ripple's threshold would need its own.
    let (sensitivities, spread) =
        if governing_n == 0 { margin::sensitivities(subject, scene, t, ratio) } else { (Vec::new(), None) };
    let depth = if !detail.depth {
        Err("not asked for".to_owned())
    } else if governing_n > 0 {
        Err("the threshold is a ripple's, and depth is searched for folds only".to_owned())
    } else {
        margin::depth(subject, scene, t, ratio, work)
    };
    let (depth, depth_note) = match depth {
        Ok(d) => (Some(d), subject.depth_rule().to_owned()),
        Err(why) => (None, why),
    };
    Margin {
        governing_n,
        threshold_thickness_m: threshold_thickness,
        thickness_ratio: ratio,
        lambda_ratio: here / there,
        threshold_lambda: there,
        depth,
        depth_note,
        spread,
        sensitivities,
    }
}

/// The minimum found from the mirror image must be the state that the branch through the fold reaches.
fn same_branch(inv: Option<&Inverted>, sides: Option<&Sides>, doubts: &mut Vec<String>) {
    let (Some(inv), Some(sides)) = (inv, sides) else { return };
    let Some((_, energy, _)) = &sides.stable.at_target else { return };
    if (energy / inv.state.energy - 1.0).abs() > 1e-4 {
        doubts.push(
            "The inverted state found by minimising is not the one that the branch through the threshold \
             reaches; there may be two."
                .into(),
        );
    }
}

pub(crate) fn limits_of(summary: &PartSummary, strain: Option<f64>, margin: Option<&Margin>) -> Vec<Limit> {
    let mut out = Vec::new();
    let mut limit = |name: &str, value: f64, limit: f64, consequence: &str| {
        out.push(Limit {
            name: name.to_owned(),
            value,
            limit,
            met: value <= limit,
            consequence: consequence.to_owned(),
        });
    };
    limit(
        "h/R, thin-shell theory",
        summary.thickness_ratio,
        THIN_WARNING,
        "thin-shell theory loses accuracy: expect errors of the order of h/R",
    );
    limit(
        CERTIFICATION,
        summary.thickness_ratio,
        THIN_LIMIT,
        "a wall this thick is a solid, not a shell: no verdict is certified",
    );
    if let Some(m) = margin {
        limit(
            "h*/R, thin-shell theory",
            m.threshold_thickness_m / summary.sphere_radius_m,
            THIN_WARNING,
            "the threshold itself lies where thin-shell theory loses accuracy",
        );
        limit(
            "h*/R, certification",
            m.threshold_thickness_m / summary.sphere_radius_m,
            THIN_LIMIT,
            "at its threshold thickness the part would be a solid: the value of the margin is a rough guide",
        );
    }
    if let Some(s) = strain {
        limit(
            "strain, linear law",
            s,
            STRAIN_WARNING,
            "the material law is linear in strain: expect errors of the order of the strain",
        );
    }
    out
}

fn evidence(
    scene: &Scene,
    t: Option<&Threshold>,
    inv: Option<&Inverted>,
    limits: Vec<Limit>,
    work: Work,
) -> Evidence {
    Evidence {
        residual: match (inv, t) {
            (Some(i), _) => Some(i.model.imbalance(&i.state.x, scene.own)),
            (None, Some(t)) => Some(t.fine.imbalance(&t.fold.x, t.fold.t)),
            (None, None) => None,
        },
        elements_coarse: inv.map_or_else(|| t.map_or(0, |t| t.coarse.elements()), |i| i.coarse.0.elements()),
        elements_fine: inv.map_or_else(|| t.map_or(0, |t| t.fine.elements()), |i| i.model.elements()),
        threshold_difference: t.map(Threshold::difference),
        energy_difference: inv.map(|i| i.energy_difference),
        ripple_difference: None,
        fold_bracket: t.map(Threshold::bracket),
        fold_residual: t.map(|t| t.fine.imbalance(&t.fold.x, t.fold.t)),
        limits,
        work: work.into(),
    }
}

/// Turns weak evidence into doubts.
fn judge_evidence(e: &Evidence, margin: Option<&Margin>, doubts: &mut Vec<String>) {
    if let Some(r) = e.residual.filter(|r| *r > 1e-6) {
        doubts.push(format!("The forces balance only to {r:.1e} of the largest."));
    }
    for (what, d) in [("threshold", e.threshold_difference), ("energy", e.energy_difference)] {
        if d.is_some_and(|d| d > MESH_LIMIT) {
            doubts.push(format!("Two meshes disagree on the {what} by {:.1e}.", d.unwrap_or(f64::NAN)));
        }
    }
    if let Some(m) = margin {
        let doubt = 10.0 * (e.threshold_difference.unwrap_or(0.0) + e.fold_bracket.unwrap_or(0.0));
        if (m.thickness_ratio - 1.0).abs() < doubt {
            doubts.push("The part lies on the threshold to within the numerical accuracy.".into());
        }
    }
    for l in e.limits.iter().filter(|l| !l.met && l.name == CERTIFICATION) {
        doubts.push(format!(
            "Limit passed, {}: {:.3} is above {}: {}.",
            l.name, l.value, l.limit, l.consequence
        ));
    }
}

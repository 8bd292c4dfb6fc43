//! The branch of a heated part over temperature: points in order, limits, losses of stability.

use calotte_shell::{Harmonics, Heated, Model};
use calotte_solve::follow::{self, PathPoint, Settings, Watch};
use calotte_solve::{Work, fold};

use super::setup::Setup;
use crate::ripples;

/// Wave numbers examined at most.
pub(crate) const LARGEST_N: u32 = 120;

/// What happens at a place of the branch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A limit of temperature.
    Limit,
    /// Round shapes of another branch cross here.
    Branching,
    /// Sideways stability lost or regained, with n waves.
    Sideways(u32),
}

/// A place on the branch.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    pub(crate) kind: Kind,
    /// Between this point and the next.
    pub(crate) after: usize,
    pub(crate) x: Vec<f64>,
    /// Parameter.
    pub(crate) f: f64,
    /// Null vector of a limit.
    pub(crate) v: Vec<f64>,
    /// The same on finer meshes.
    pub(crate) fine: Option<Fine>,
    /// Last Newton step of a limit.
    pub(crate) last_step: f64,
    /// Whether stability is lost there when the branch is walked forwards, and backwards.
    pub(crate) loses: [bool; 2],
}

/// A place on the finest mesh that was asked.
#[derive(Clone, Debug)]
pub(crate) struct Fine {
    /// Which of the finer meshes.
    pub(crate) level: usize,
    pub(crate) x: Vec<f64>,
    pub(crate) f: f64,
    /// Difference of the parameter from the mesh before.
    pub(crate) apart: f64,
}

impl Place {
    /// Parameter on the finest mesh asked.
    pub(crate) fn best(&self) -> f64 {
        self.fine.as_ref().map_or(self.f, |f| f.f)
    }
}

/// The branch.
pub(crate) struct Branch {
    /// In order along the branch; temperature rises at the point of rest.
    pub(crate) points: Vec<PathPoint>,
    /// Sideways waves lost at each point (looked for where the round shape is stable).
    pub(crate) lost: Vec<Vec<u32>>,
    pub(crate) places: Vec<Place>,
    /// The point it was started from.
    pub(crate) rest: usize,
    /// Whether both ends were reached as planned.
    pub(crate) whole: [bool; 2],
    /// Counts that a factorisation refused.
    pub(crate) uncounted: usize,
    pub(crate) largest_n: u32,
    /// The largest that the estimate asked for.
    pub(crate) asked_n: u32,
}

fn settings(setup: &Setup) -> Settings {
    let rise = Setup::natural_height(&setup.part, setup.radius).abs().max(0.02);
    Settings {
        step: 0.02 * rise,
        longest: 0.15 * rise,
        shortest: 1e-10,
        weight: 0.3 * rise,
        corrections: 8,
        points: 1500,
        cosine: 0.8,
        turn: 0.08,
    }
}

/// Parameters followed to at most where the case asks for no range: so many times the heat that flattens the dish.
const FARTHEST: f64 = 30.0;
/// Points followed past a limit, for the picture.
const PAST: usize = 8;

/// Follows the branch through the state of rest `x` at parameter `f` both ways, each to a little past its first limit or to the end
/// of the range. `first`: the way on which the limit is sought; the other way is followed less far when that is found.
pub(crate) fn trace(
    setup: &Setup,
    heated: &Heated,
    x: Vec<f64>,
    f: f64,
    first: bool,
    work: &mut Work,
) -> Option<Branch> {
    let one = half(setup, heated, x.clone(), f, first, None, work)?;
    let span = one.0.windows(2).find(|w| w[0].dt * w[1].dt < 0.0).map(|w| (w[0].t - f).abs());
    let other = half(setup, heated, x, f, !first, span, work)?;
    let (up, down) = if first { (one, other) } else { (other, one) };
    let rest = down.0.len() - 1;
    let mut points: Vec<PathPoint> = down.0.into_iter().rev().map(turned).collect();
    points.extend(up.0.into_iter().skip(1));
    let whole = [down.1, up.1];
    let mut branch = Branch {
        points,
        lost: Vec::new(),
        places: Vec::new(),
        rest,
        whole,
        uncounted: 0,
        largest_n: 0,
        asked_n: 0,
    };
    for i in 0..branch.points.len() {
        let found =
            if branch.points[i].negative == 0 { lost_at(heated, &mut branch, i, work) } else { Vec::new() };
        branch.lost.push(found);
    }
    Some(branch)
}

fn turned(mut p: PathPoint) -> PathPoint {
    p.dx.iter_mut().for_each(|d| *d = -*d);
    p.dt = -p.dt;
    p
}

/// One way from rest. `span`: how far away the limit on the other way is.
fn half(
    setup: &Setup,
    heated: &Heated,
    x: Vec<f64>,
    f: f64,
    upwards: bool,
    span: Option<f64>,
    work: &mut Work,
) -> Option<(Vec<PathPoint>, bool)> {
    let set = settings(setup);
    let from = follow::start(heated, x, f, upwards, set.weight, work)?;
    let range = setup.range.map(|r| heated.parameter(r.0));
    let asked = setup.range[usize::from(upwards)].1;
    let far = if asked { f64::INFINITY } else { span.map_or(FARTHEST, |s| 0.4 * s + 0.2) };
    let mut points = vec![from.clone()];
    let (mut done, mut edge, mut past) = (false, None, 0);
    let mut here = from.clone();
    let (_, _) = follow::follow(heated, from, &set, work, |_, next| {
        let outside = [next.t < range[0].max(f - far), next.t > range[1].min(f + far)];
        if outside[0] || outside[1] {
            edge = Some(if outside[0] { range[0].max(f - far) } else { range[1].min(f + far) });
            done = true;
            return Watch::Stop;
        }
        past += usize::from(past > 0 || here.dt * next.dt < 0.0);
        here = next.clone();
        points.push(next.clone());
        done = past > PAST;
        if done || heated.model().profile(&next.x, 1).crosses_itself() { Watch::Stop } else { Watch::Go }
    });
    // The end of the range itself.
    if let (Some(last), Some(edge)) = (points.last().cloned(), edge)
        && let Some((x, energy, negative)) = follow::shift_to(heated, &last.x, last.t, edge, 12, work)
    {
        points.push(PathPoint { x, t: edge, energy, negative, dx: last.dx.clone(), dt: last.dt });
    }
    Some((points, done))
}

fn lost_at(heated: &Heated, branch: &mut Branch, i: usize, work: &mut Work) -> Vec<u32> {
    let p = &branch.points[i];
    let (lost, (last, uncounted)) = lost_near(heated, &p.x, p.t, work);
    branch.largest_n = branch.largest_n.max(last.min(LARGEST_N));
    branch.asked_n = branch.asked_n.max(last);
    branch.uncounted += uncounted;
    lost
}

/// Waves lost at a state, the largest that the estimate asks for, and how many could not be counted.
fn lost_near(heated: &Heated, x: &[f64], f: f64, work: &mut Work) -> (Vec<u32>, (u32, usize)) {
    let model = heated.warmed(f);
    let t = heated.thickness_factor();
    let last = ripples::wave_bound(&model, x, t).0;
    let harmonics = Harmonics::new(&model, x, t);
    let mut uncounted = 0;
    let lost = (1..=last.min(LARGEST_N))
        .filter(|n| match harmonics.negative(*n, work) {
            Some(count) => count > 0,
            None => {
                uncounted += 1;
                false
            }
        })
        .collect();
    (lost, (last, uncounted))
}

/// Finds limits, branchings and sideways losses between the points, on two meshes.
pub(crate) fn places(setup: &Setup, heated: &Heated, finer: &[Heated], branch: &mut Branch, work: &mut Work) {
    let set = settings(setup);
    let mut found = Vec::new();
    for i in 1..branch.points.len() {
        let (a, b) = (&branch.points[i - 1], &branch.points[i]);
        if a.dt * b.dt < 0.0 {
            let Some(p) = limit(heated, finer, i - 1, a, b, work) else { continue };
            // Waves may be lost on the last bit of the way to the limit.
            let (side, row) = if a.negative == 0 { (a, i - 1) } else { (b, i) };
            let before = if side.negative == 0 && branch.lost[row].is_empty() {
                let (at_limit, _) = lost_near(heated, &p.x, p.f, work);
                let other = if row == i { a } else { b };
                sideways(heated, finer, &set, i - 1, [side, other], row + 1 == i, &at_limit, work)
            } else {
                None
            };
            if row == i {
                found.push(p);
                found.extend(before);
            } else {
                found.extend(before);
                found.push(p);
            }
        } else if a.negative != b.negative {
            let at = bisect(heated, a, b, &set, work, |p, _| p.negative == a.negative);
            let mut here = place(Kind::Branching, i - 1, &at, [a.negative == 0, b.negative == 0]);
            here.fine = finer.first().and_then(|fine| {
                let x = heated.model().transfer(&at.x, fine.model());
                let branches = |x: &[f64], f: f64, work: &mut Work| {
                    follow::shift_to(fine, x, f, f, 12, work).map(|s| s.2 > a.negative.min(b.negative))
                };
                let (x, f) = crossing(fine, &x, at.t, (a.t - b.t).abs(), work, branches)?;
                Some(Fine { level: 0, x, f, apart: (f - at.t).abs() })
            });
            found.push(here);
        } else if a.negative == 0 {
            let lost = [&branch.lost[i - 1], &branch.lost[i]];
            let place = match (lost[0].is_empty(), lost[1].is_empty()) {
                (true, false) => sideways(heated, finer, &set, i - 1, [a, b], true, lost[1], work),
                (false, true) => sideways(heated, finer, &set, i - 1, [b, a], false, lost[0], work),
                _ => None,
            };
            found.extend(place);
        }
    }
    branch.places = found;
}

/// Where the first of the waves `lost` goes on the way from a stable point to another; `forwards` along the branch.
#[expect(clippy::too_many_arguments, reason = "a place is found between two points on all meshes at once")]
fn sideways(
    heated: &Heated,
    finer: &[Heated],
    set: &Settings,
    after: usize,
    [stable, other]: [&PathPoint; 2],
    forwards: bool,
    lost: &[u32],
    work: &mut Work,
) -> Option<Place> {
    if lost.is_empty() {
        return None;
    }
    let t = heated.thickness_factor();
    let holds = |p: &PathPoint, work: &mut Work| {
        let model = heated.warmed(p.t);
        let harmonics = Harmonics::new(&model, &p.x, t);
        lost.iter().all(|n| harmonics.negative(*n, work) == Some(0))
    };
    let at = bisect(heated, stable, other, set, work, holds);
    let model = heated.warmed(at.t);
    let harmonics = Harmonics::new(&model, &at.x, t);
    // The wave that goes is the softest there.
    let soft =
        |n: &u32, work: &mut Work| harmonics.smallest(*n, None, work).map_or(f64::INFINITY, |s| s.0.value);
    let n = lost.iter().map(|n| (*n, soft(n, work))).min_by(|a, b| a.1.total_cmp(&b.1)).map(|s| s.0)?;
    let mut here = place(Kind::Sideways(n), after, &at, [forwards, !forwards]);
    // The same on the finer mesh: the temperature at which it is lost, along nearly the same states.
    here.fine = finer.first().and_then(|fine| {
        let x = heated.model().transfer(&at.x, fine.model());
        let (x, f) = finer_loss(fine, x, at.t, (stable.t - other.t).abs(), n, work)?;
        Some(Fine { level: 0, x, f, apart: (f - at.t).abs() })
    });
    Some(here)
}

fn place(kind: Kind, after: usize, p: &PathPoint, loses: [bool; 2]) -> Place {
    Place { kind, after, x: p.x.clone(), f: p.t, v: Vec::new(), fine: None, last_step: f64::NAN, loses }
}

/// The last point of the step from `a` towards `b` for which `like_a` holds, to 40 halvings.
fn bisect(
    heated: &Heated,
    a: &PathPoint,
    b: &PathPoint,
    set: &Settings,
    work: &mut Work,
    mut like_a: impl FnMut(&PathPoint, &mut Work) -> bool,
) -> PathPoint {
    let (mut low, mut high) = (0.0, follow::reach(heated, a, b, set.weight));
    let mut best = a.clone();
    for _ in 0..40 {
        let mid = 0.5 * (low + high);
        let Some((p, _)) = follow::step(heated, a, mid, set, work) else { break };
        if like_a(&p, work) {
            low = mid;
            best = p;
        } else {
            high = mid;
        }
    }
    best
}

/// Bisection of the temperature at which ripple `n` is lost on the finer mesh.
fn finer_loss(
    fine: &Heated,
    x: Vec<f64>,
    f: f64,
    width: f64,
    n: u32,
    work: &mut Work,
) -> Option<(Vec<f64>, f64)> {
    crossing(fine, &x, f, width, work, |x, f, work| {
        let model = fine.warmed(f);
        Harmonics::new(&model, x, fine.thickness_factor()).negative(n, work).map(|c| c > 0)
    })
}

/// Bisection of the temperature near `f` at which `lost` changes, along the equilibria through `x`.
fn crossing(
    fine: &Heated,
    x: &[f64],
    f: f64,
    width: f64,
    work: &mut Work,
    lost: impl Fn(&[f64], f64, &mut Work) -> Option<bool>,
) -> Option<(Vec<f64>, f64)> {
    let at = |to: f64, work: &mut Work| follow::shift_to(fine, x, f, to, 12, work).map(|s| s.0);
    // A limit may lie close ahead: a bracket as wide as it can be.
    let (mut low, mut high, first) = (0..8).find_map(|k| {
        let width = width * 0.25f64.powi(k);
        let (low, high) = (f - width, f + width);
        let first = lost(&at(low, work)?, low, work)?;
        (lost(&at(high, work)?, high, work)? != first).then_some((low, high, first))
    })?;
    let mut state = x.to_vec();
    for _ in 0..40 {
        let mid = 0.5 * (low + high);
        state = at(mid, work)?;
        if lost(&state, mid, work)? == first {
            low = mid;
        } else {
            high = mid;
        }
    }
    Some((state, 0.5 * (low + high)))
}

/// Agreement of two meshes on a limit, in parameter, that ends refinement.
const AGREEMENT: f64 = 1e-10;

fn limit(
    heated: &Heated,
    finer: &[Heated],
    after: usize,
    a: &PathPoint,
    b: &PathPoint,
    work: &mut Work,
) -> Option<Place> {
    // The nearer of the two points to the limit starts Newton.
    let from = if a.dt.abs() < b.dt.abs() { a } else { b };
    let f = refine(heated, &from.x, from.t, work)?;
    let mut fine: Option<Fine> = None;
    let (mut model, mut x, mut t) = (heated.model(), f.x.clone(), f.t);
    for (level, next) in finer.iter().enumerate() {
        let Some(g) = refine(next, &model.transfer(&x, next.model()), t, work) else { break };
        let apart = (g.t - t).abs();
        (model, x, t) = (next.model(), g.x, g.t);
        fine = Some(Fine { level, x: x.clone(), f: t, apart });
        if apart <= AGREEMENT * (1.0 + t.abs()) {
            break;
        }
    }
    let loses = [a.negative == 0, b.negative == 0];
    Some(Place { kind: Kind::Limit, after, x: f.x, f: f.t, v: f.v, fine, last_step: f.last_step, loses })
}

/// A limit of temperature near a state, by the extended system.
pub(crate) fn refine(heated: &Heated, x: &[f64], f: f64, work: &mut Work) -> Option<fold::Fold> {
    let (v, _) = fold::softest(heated, x, f, work)?;
    fold::refine(heated, x.to_vec(), f, v, 0.1, work).ok()
}

/// The model of a part with the same unknowns as `like`.
pub(crate) fn like(like: &Model, part: &calotte_specimen::Part) -> Model {
    like.rebuilt(part)
}

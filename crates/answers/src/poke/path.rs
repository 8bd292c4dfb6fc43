//! Following the path of a poked part: rows, events, their refinement on two meshes.

use calotte_shell::{Harmonics, Loaded, Model, Push, branch_off};
use calotte_solve::follow::{self, PathEnd, PathPoint, Settings, Watch};
use calotte_solve::{Work, fold};
use calotte_specimen::LoadKind;

pub(crate) use crate::poke::end::End;
use crate::poke::report::{BranchOff, Event, EventKind, PathRow, SidewaysMode};
use crate::poke::setup::Setup;
use crate::ripples;
use crate::state;

/// Wave numbers examined at most.
pub(crate) const LARGEST_N: u32 = 60;

/// A path with everything that was found on it.
pub(crate) struct Path {
    pub(crate) points: Vec<PathPoint>,
    pub(crate) rows: Vec<PathRow>,
    pub(crate) events: Vec<Event>,
    pub(crate) end: End,
    pub(crate) least_cosine: f64,
    pub(crate) largest_n: u32,
    pub(crate) uncounted: usize,
    pub(crate) penetration: Option<f64>,
    pub(crate) stiffness: f64,
    /// Displacement before the load.
    pub(crate) origin: f64,
    /// Height of the inner end before the load.
    pub(crate) rest_height: f64,
    /// Largest gap between energy and work over the largest energy.
    pub(crate) work_gap: f64,
    /// Whether nothing but its first loss of stability under a set load is asked for: no rows after it, events told without their
    /// waves and without a finer mesh.
    first: bool,
}

/// Follows the path from the state of rest under no load; `first`: no further than to its first peak of load, with rows up to its first
/// loss of stability under a set load.
///
/// # Errors
/// Words that say why there is none.
pub(crate) fn begin(
    setup: &Setup,
    loaded: &Loaded<'_>,
    first: bool,
    work: &mut Work,
) -> Result<Path, String> {
    // A body stands clear of the part until its state of rest is known.
    let clear = if matches!(loaded.push(), Push::Body(_)) { -10.0 } else { 0.0 };
    let rest = setup.rest(loaded, clear, work)?;
    let from = setup.first_touch(loaded, &rest);
    let mut traced = trace(setup, loaded, (&rest, from), None, first, work);
    // A face laid flat on a level piece carries at once, all over: no path leads there from the state that just touches.
    if traced.as_ref().is_some_and(|p| p.points.len() < 2)
        && let Some(pressed) = setup.pressed(loaded, &rest, from, work)
    {
        traced = trace(setup, loaded, (&rest, from), Some(pressed), first, work);
    }
    traced.ok_or_else(|| "The path could not be started: the first equilibrium is singular.".to_owned())
}

/// Where the stable way under a rising load first ends.
pub(crate) struct FirstLoss {
    pub(crate) event: Event,
    /// A point of the path beside it.
    pub(crate) near: PathPoint,
}

/// The first loss of stability under a set load; `Ok(None)` when the whole path has none before its end or its stop.
///
/// # Errors
/// Words that say why that is not known.
pub(crate) fn first_loss(
    setup: &Setup,
    loaded: &Loaded<'_>,
    work: &mut Work,
) -> Result<Option<FirstLoss>, String> {
    let mut path = begin(setup, loaded, true, work)?;
    let Some(lost) = path.rows.iter().position(|r| !r.stable_by_load()) else {
        return match path.end.is_early() {
            true => {
                Err(format!("Nothing trips it on the path, but the path ended early: {}.", path.end.words()))
            }
            false => Ok(None),
        };
    };
    if lost == 0 {
        return Err("It is unstable before any load acts.".to_owned());
    }
    path.points.truncate(lost + 1);
    events(setup, loaded, None, &mut path, work);
    let first = path.events.iter().find(|e| {
        matches!(e.kind, EventKind::Stop | EventKind::LoadPeak | EventKind::Sideways) && e.stable_before_load
    });
    match first {
        Some(e) if e.kind == EventKind::Stop => Ok(None),
        Some(e) => {
            let beside = &path.points[e.after_row..=lost.min(e.after_row + 1)];
            let near = beside.iter().min_by(|a, b| a.dt.abs().total_cmp(&b.dt.abs()));
            let near = near.cloned().ok_or("Its first loss of stability lies beside the path.")?;
            Ok(Some(FirstLoss { event: e.clone(), near }))
        }
        None => Err("It loses its stability on the path, but where was not found.".to_owned()),
    }
}

/// Follows the path of `loaded` from its state of rest, given with its parameter, or from `pressed`, an equilibrium just past it.
pub(crate) fn trace(
    setup: &Setup,
    loaded: &Loaded<'_>,
    rest: (&[f64], f64),
    pressed: Option<(Vec<f64>, f64)>,
    first: bool,
    work: &mut Work,
) -> Option<Path> {
    let model = loaded.model();
    let set = settings(setup, loaded);
    let top = model.inner_height();
    let start_height = rest.0[top];
    let origin = loaded.displacement(rest.0, rest.1);
    let (x, f) = pressed.unwrap_or_else(|| (rest.0.to_vec(), rest.1));
    let travel = |x: &[f64]| setup.direction * (x[top] - start_height);
    let from = follow::start(loaded, x, f, true, set.weight, work)?;
    let [dl, dd] = loaded.rates(&from);
    let mut points = vec![from.clone()];
    let mut least_cosine: f64 = 1.0;
    let reach = setup.reach();
    let sideways = matches!(setup.load.kind, LoadKind::RimDisplacement | LoadKind::RimPull);
    let limit = if sideways { 0.35 } else { f64::INFINITY };
    let stop = setup.load.stop.map(|m| m / setup.scene.radius);
    let mut why = None;
    let body = matches!(loaded.push(), Push::Body(_));
    let mut highest: f64 = 0.0;
    let (_, end) = follow::follow(loaded, from, &set, work, |here, next| {
        least_cosine = least_cosine.min(follow::cosine(loaded, here, next, set.weight));
        points.push(next.clone());
        let moved = travel(&next.x);
        if body {
            highest = highest.max(loaded.load(&next.x, next.t));
        }
        let worked = loaded.displacement(&next.x, next.t) - origin;
        if first && loaded.rates(here)[0] > 0.0 && loaded.rates(next)[0] < 0.0 {
            why = Some(End::FirstPeak);
        } else if stop.is_some_and(|s| worked > 1.02 * s && moved > 0.0) {
            why = Some(End::Stop);
        } else if moved > reach {
            why = Some(End::Reach);
        } else if setup.load.kind == LoadKind::Flat && worked > 0.97 * setup.rise {
            why = Some(End::PlateAtRim);
        } else if sideways && worked > limit {
            why = Some(End::RimMoved);
        } else if body && points.len() > 5 && loaded.load(&next.x, next.t) < 1e-3 * highest {
            why = Some(End::LostByPusher);
        } else if moved < -1.2 * setup.rise && points.len() > 20 {
            why = Some(End::AgainstThePush);
        } else if model.profile(&next.x, 1).crosses_itself() {
            why = Some(End::SelfContact);
        }
        if why.is_some() { Watch::Stop } else { Watch::Go }
    });
    let end = why.unwrap_or(if end == PathEnd::BudgetSpent { End::Budget } else { End::NoFurther });
    let mut path = Path {
        end,
        points,
        rows: Vec::new(),
        events: Vec::new(),
        least_cosine,
        largest_n: 0,
        uncounted: 0,
        penetration: None,
        stiffness: setup.load_si(dl) / setup.displacement_si(dd),
        origin,
        rest_height: start_height,
        work_gap: 0.0,
        first,
    };
    insert_hidden_limits(setup, loaded, &mut path, work);
    rows(setup, loaded, &mut path, &travel, work);
    if body {
        // Contact begins with no stiffness at all: a secant over the first fiftieth of the load says more.
        let highest = path.rows.iter().map(|r| r.load_SI).fold(0.0, f64::max);
        path.stiffness = path
            .rows
            .iter()
            .find(|r| r.load_SI > 0.02 * highest)
            .map_or(f64::NAN, |r| r.load_SI / r.displacement_SI);
    }
    Some(path)
}

/// A peak and a valley may lie between two points: where load or displacement, as a cubic through values and slopes,
/// nearly stands still inside a step, its least slope is sought and the point kept when it has the other sign.
fn insert_hidden_limits(setup: &Setup, loaded: &Loaded<'_>, path: &mut Path, work: &mut Work) {
    let set = settings(setup, loaded);
    let mut i = 1;
    while i < path.points.len() {
        let (a, b) = (path.points[i - 1].clone(), path.points[i].clone());
        let whole = follow::reach(loaded, &a, &b, set.weight);
        let rates = [loaded.rates(&a), loaded.rates(&b)];
        let values = [&a, &b].map(|p| [loaded.load(&p.x, p.t), loaded.displacement(&p.x, p.t)]);
        let mut new = None;
        for k in 0..2 {
            let (p, q) = (rates[0][k], rates[1][k]);
            if p * q <= 0.0 || whole <= 0.0 {
                continue;
            }
            // Slope of the cubic, a parabola through p, q with mean m: its least share of the smaller end.
            let m = (values[1][k] - values[0][k]) / whole;
            let low = 1.5 * m - 0.25 * (p + q);
            if low * p > 0.3 * p.abs().min(q.abs()) * p.abs() {
                continue;
            }
            // Golden section on the slope itself.
            let slope = |u: f64, work: &mut Work| {
                let point = follow::step(loaded, &a, u * whole, &set, work)?.0;
                Some((loaded.rates(&point)[k] * p.signum(), point))
            };
            let (mut left, mut right) = (0.0, 1.0);
            for _ in 0..14 {
                let (u, v) = (left + 0.382 * (right - left), left + 0.618 * (right - left));
                let (Some(x), Some(y)) = (slope(u, work), slope(v, work)) else { break };
                if x.0.min(y.0) < 0.0 {
                    new = Some(if x.0 < y.0 { x.1 } else { y.1 });
                    break;
                }
                if x.0 < y.0 { right = v } else { left = u }
            }
            if new.is_some() {
                break;
            }
        }
        if let Some(p) = new {
            path.points.insert(i, p);
            i += 1;
        }
        i += 1;
    }
}

/// Settings for following: steps limited by how far the path turns.
pub(crate) fn settings(setup: &Setup, loaded: &Loaded<'_>) -> Settings {
    let size = setup.rise.abs().max(0.05);
    let body = matches!(loaded.push(), Push::Body(_));
    Settings {
        step: 0.01 * size,
        longest: if body { 0.04 } else { 0.12 } * size,
        shortest: 1e-9,
        weight: if body { 1.0 } else { 0.3 * size },
        corrections: if body { 12 } else { 7 },
        points: 2000,
        cosine: 0.8,
        turn: 0.06,
    }
}

/// Unstable directions (load set, displacement set) at a point.
fn counts(loaded: &Loaded<'_>, p: &PathPoint) -> (usize, usize) {
    let [dl, dd] = loaded.rates(p);
    // One constraint more or less changes the count by whether the path rises or falls there.
    let falls = usize::from(dl * dd < 0.0);
    match loaded.push() {
        Push::Body(_) => (p.negative + falls, p.negative),
        _ => (p.negative, p.negative.saturating_sub(falls)),
    }
}

fn rows(
    setup: &Setup,
    loaded: &Loaded<'_>,
    path: &mut Path,
    travel: &dyn Fn(&[f64]) -> f64,
    work: &mut Work,
) {
    let unit = setup.energy_unit();
    let factor = setup.summary().work_factor;
    let mut done = 0.0;
    let mut before: Option<(PathPoint, [f64; 2], [f64; 2])> = None;
    let mut largest: f64 = 0.0;
    let mut gap: f64 = 0.0;
    let start = loaded.elastic(&path.points[0].x);
    let rest = loaded.contact_energy(&path.points[0].x, path.points[0].t);
    let weightless = setup.load.gravity == 0.0;
    let set = settings(setup, loaded);
    let points = std::mem::take(&mut path.points);
    for p in &points {
        let here = [loaded.load(&p.x, p.t), loaded.displacement(&p.x, p.t)];
        let rates = loaded.rates(p);
        if let Some((q, was, slopes)) = &before {
            done += work_between(*was, here, *slopes, rates, follow::reach(loaded, q, p, set.weight));
        }
        let elastic = loaded.elastic(&p.x);
        let stored = elastic - start + loaded.contact_energy(&p.x, p.t) - rest;
        largest = largest.max(stored.abs());
        gap = gap.max((stored - done).abs());
        let (unstable_load, unstable_displacement) = counts(loaded, p);
        let unstable_n = ripples_lost(loaded, p, path, work);
        let touch = loaded.contact(&p.x, p.t);
        if let Some((_, depth)) = touch {
            let over = depth / (setup.scene.rim_thickness * setup.scene.own);
            path.penetration = Some(path.penetration.unwrap_or(0.0).max(over));
        }
        let load = setup.load_si(here[0]);
        path.rows.push(PathRow {
            load_SI: load,
            displacement_SI: setup.displacement_si(here[1] - path.origin),
            travel_m: travel(&p.x) * setup.scene.radius,
            energy_J: elastic * unit,
            work_J: done * unit,
            unstable_load,
            unstable_displacement,
            unstable_n,
            contact_m: touch.map(|(r, _)| r.map(|s| s * setup.scene.radius)),
            rim_reaction_N: axial(setup).then_some(load * factor),
        });
        if path.first && path.rows.last().is_some_and(|r| !r.stable_by_load()) {
            break;
        }
        before = Some((p.clone(), here, rates));
    }
    path.work_gap = if weightless && largest > 0.0 { gap / largest } else { f64::NAN };
    path.points = points;
}

/// Whether the load is an axial force that the rim's support carries alone.
fn axial(setup: &Setup) -> bool {
    setup.load.gravity == 0.0
        && matches!(
            setup.load.kind,
            LoadKind::Pole
                | LoadKind::Ring { .. }
                | LoadKind::Flat
                | LoadKind::Ball { .. }
                | LoadKind::Pusher { .. }
        )
}

/// ∫ load d(displacement) between two points `ds` apart: both as cubics through values and slopes, by Gauss.
fn work_between(a: [f64; 2], b: [f64; 2], da: [f64; 2], db: [f64; 2], ds: f64) -> f64 {
    calotte_solve::quadrature::gauss_legendre(4)
        .iter()
        .map(|&(u, w)| {
            let v = 1.0 - u;
            let (ha, hb) = (v * v * (1.0 + 2.0 * u), u * u * (1.0 + 2.0 * v));
            let load = a[0] * ha + b[0] * hb + ds * u * v * (v * da[0] - u * db[0]);
            let slope = 6.0 * u * v * (b[1] - a[1])
                + ds * (v * (1.0 - 3.0 * u) * da[1] + u * (1.0 - 3.0 * v) * db[1]);
            w * load * slope
        })
        .sum()
}

/// Wave numbers n ≥ 1 that are unstable at a point, all up to the bound examined.
fn ripples_lost(loaded: &Loaded<'_>, p: &PathPoint, path: &mut Path, work: &mut Work) -> Vec<u32> {
    let last = ripples::wave_bound(loaded.model(), &p.x, loaded.thickness_factor()).0.min(LARGEST_N);
    path.largest_n = path.largest_n.max(last);
    let harmonics = Harmonics::loaded(loaded, &p.x, p.t);
    (1..=last)
        .filter(|n| match harmonics.negative(*n, work) {
            Some(count) => count > 0,
            None => {
                path.uncounted += 1;
                false
            }
        })
        .collect()
}

/// A sign to watch along the path.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Sign {
    LoadRate,
    DisplacementRate,
    Ripple(u32),
    Load,
    Displacement(f64),
    PoleTouch,
}

fn value(loaded: &Loaded<'_>, p: &PathPoint, sign: Sign, origin: f64, work: &mut Work) -> Option<f64> {
    Some(match sign {
        Sign::LoadRate => loaded.rates(p)[0],
        Sign::DisplacementRate => loaded.rates(p)[1],
        Sign::Load => loaded.load(&p.x, p.t),
        Sign::Displacement(at) => loaded.displacement(&p.x, p.t) - origin - at,
        Sign::Ripple(n) => {
            let harmonics = Harmonics::loaded(loaded, &p.x, p.t);
            match harmonics.smallest(n, None, work) {
                Some((s, _)) => s.value,
                // At zero to rounding there is no value; the count still gives the sign.
                None => 1e-12 * if harmonics.negative(n, work)? > 0 { -1.0 } else { 1.0 },
            }
        }
        Sign::PoleTouch => {
            let Push::Body(b) = loaded.push() else { return None };
            p.t - b.direction * p.x[loaded.model().inner_height()]
        }
    })
}

/// The first point between consecutive ones of `points` (a stretch of the path) whose displacement since the start is `at`
/// (over R); `None` when they do not reach it or the search fails.
pub(crate) fn at_displacement(
    setup: &Setup,
    loaded: &Loaded<'_>,
    path: &Path,
    points: &[PathPoint],
    at: f64,
    work: &mut Work,
) -> Option<PathPoint> {
    let set = settings(setup, loaded);
    let past = |p: &PathPoint| loaded.displacement(&p.x, p.t) - path.origin - at;
    let pair = points.windows(2).find(|w| past(&w[0]) * past(&w[1]) <= 0.0)?;
    follow::locate(loaded, &pair[0], &pair[1], &set, 1e-9, work, |p, _| Some(past(p))).map(|l| l.point)
}

/// Finds and refines every event between consecutive points; confirms limits and ripples on `fine`.
pub(crate) fn events(
    setup: &Setup,
    loaded: &Loaded<'_>,
    fine: Option<&Model>,
    path: &mut Path,
    work: &mut Work,
) {
    let fine_loaded = fine.and_then(|f| setup.loaded(f, work));
    let stop = setup.load.stop.map(|m| m / setup.scene.radius);
    let points = std::mem::take(&mut path.points);
    for i in 1..points.len() {
        let (a, b) = (&points[i - 1], &points[i]);
        let mut found: Vec<(EventKind, Option<u32>, Sign)> = Vec::new();
        let rates = [loaded.rates(a), loaded.rates(b)];
        let mut see = |kind: EventKind, n: Option<u32>, sign: Sign| found.push((kind, n, sign));
        if rates[0][0] * rates[1][0] < 0.0 {
            let kind = if rates[0][0] > 0.0 { EventKind::LoadPeak } else { EventKind::LoadValley };
            see(kind, None, Sign::LoadRate);
        }
        if rates[0][1] * rates[1][1] < 0.0 {
            let kind =
                if rates[0][1] > 0.0 { EventKind::DisplacementLimit } else { EventKind::DisplacementReturn };
            see(kind, None, Sign::DisplacementRate);
        }
        let (was, is) = (&path.rows[i - 1].unstable_n, &path.rows[i].unstable_n);
        for n in is.iter().filter(|n| !was.contains(n)) {
            see(EventKind::Sideways, Some(*n), Sign::Ripple(*n));
        }
        for n in was.iter().filter(|n| !is.contains(n)) {
            see(EventKind::SidewaysRegained, Some(*n), Sign::Ripple(*n));
        }
        let loads = [loaded.load(&a.x, a.t), loaded.load(&b.x, b.t)];
        if i > 1 && loads[0] * loads[1] < 0.0 {
            see(EventKind::NoLoad, None, Sign::Load);
        }
        if let Some(s) = stop {
            let past = |p: &PathPoint| loaded.displacement(&p.x, p.t) - path.origin - s;
            if past(a) < 0.0 && past(b) >= 0.0 {
                see(EventKind::Stop, None, Sign::Displacement(s));
            }
        }
        if let Push::Body(_) = loaded.push()
            && path.rows[i].contact_m.is_some()
            && let (Some(x), Some(y)) = (
                value(loaded, a, Sign::PoleTouch, path.origin, work),
                value(loaded, b, Sign::PoleTouch, path.origin, work),
            )
            && x > 0.0
            && y < 0.0
        {
            see(EventKind::PoleLiftsOff, None, Sign::PoleTouch);
        }
        let mut here: Vec<(f64, Event)> = Vec::new();
        for (kind, n, sign) in found {
            if let Some(e) =
                refine(setup, loaded, fine_loaded.as_ref(), &points, i, kind, n, sign, path, work)
            {
                here.push(e);
            } else {
                path.uncounted += 1;
            }
        }
        here.sort_by(|p, q| p.0.total_cmp(&q.0));
        path.events.extend(here.into_iter().map(|e| e.1));
    }
    path.points = points;
}

#[allow(clippy::too_many_lines, reason = "one event from its signs to its report")]
fn refine(
    setup: &Setup,
    loaded: &Loaded<'_>,
    fine: Option<&Loaded<'_>>,
    points: &[PathPoint],
    i: usize,
    kind: EventKind,
    n: Option<u32>,
    sign: Sign,
    path: &Path,
    work: &mut Work,
) -> Option<(f64, Event)> {
    let set = settings(setup, loaded);
    let origin = path.origin;
    let (a, b, after_row) = (&points[i - 1], &points[i], i - 1);
    let found = follow::locate(loaded, a, b, &set, 1e-9, work, |p, w| value(loaded, p, sign, origin, w))?;
    let p = &found.point;
    let load = loaded.load(&p.x, p.t);
    let scale = load.abs().max(0.05 * loads_scale(path, setup));
    let bracket =
        found.sides.iter().map(|s| (loaded.load(&s.x, s.t) - load).abs()).fold(0.0_f64, f64::max) / scale;
    let confirmed = matches!(
        kind,
        EventKind::LoadPeak | EventKind::LoadValley | EventKind::Sideways | EventKind::DisplacementLimit
    )
    .then_some(fine)
    .flatten()
    .and_then(|f| {
        // Points further apart, where carrying the nearest over to the finer mesh fails.
        [1, 2, 4, 8].into_iter().find_map(|k| {
            let (a, b) = (&points[i.saturating_sub(k)], &points[(i - 1 + k).min(points.len() - 1)]);
            on_finer(setup, loaded, f, a, b, p, sign, work)
        })
    });
    let mode = n.filter(|_| kind == EventKind::Sideways && !path.first).and_then(|n| {
        let (s, _) = Harmonics::loaded(loaded, &p.x, p.t).smallest(n, None, work)?;
        let mut mode = mode_of(loaded.model(), &s.vector, n, setup.scene.radius);
        // Later branches leave a path that the part has left already.
        let row = &path.rows[after_row];
        if row.stable_by_load() || row.stable_by_displacement() {
            mode.branch = leaving(setup, loaded, p, &s.vector, n, work);
            if let Some(b) = &mut mode.branch {
                // Where the round shape is unstable already, so is what leaves it.
                b.stable_by_load &= row.stable_by_load();
                b.stable_by_displacement &= row.stable_by_displacement();
            }
        }
        Some(mode)
    });
    let ds = follow::reach(loaded, a, p, set.weight);
    let was = [loaded.load(&a.x, a.t), loaded.displacement(&a.x, a.t)];
    let now = [load, loaded.displacement(&p.x, p.t)];
    let more = work_between(was, now, loaded.rates(a), loaded.rates(p), ds);
    let profile = loaded.model().profile(&p.x, 3);
    let row = &path.rows[after_row];
    let z = setup.scene.part.meridian.at(setup.scene.part.meridian.length()).z / setup.scene.radius;
    let top = loaded.model().inner_height();
    let event = Event {
        kind,
        n,
        after_row,
        // The load of an unloaded state is zero by what it is; what the search leaves is rounding.
        load_SI: if kind == EventKind::NoLoad { 0.0 } else { setup.load_si(load) },
        displacement_SI: setup.displacement_si(now[1] - origin),
        travel_m: setup.direction * (p.x[top] - path.rest_height) * setup.scene.radius,
        energy_J: loaded.elastic(&p.x) * setup.energy_unit(),
        work_J: row.work_J + more * setup.energy_unit(),
        stable_before_load: row.stable_by_load(),
        stable_before_displacement: row.stable_by_displacement(),
        bracket,
        mesh_difference: confirmed.map(|f| (f - load).abs() / scale),
        meridian: state::columns(&profile, setup.scene.radius, setup.scene.own, z),
        mode,
    };
    Some((ds, event))
}

fn loads_scale(path: &Path, setup: &Setup) -> f64 {
    let largest = path.rows.iter().map(|r| r.load_SI.abs()).fold(0.0, f64::max);
    largest / setup.load_si(1.0).abs()
}

/// The load of the same event on a finer mesh.
fn on_finer(
    setup: &Setup,
    loaded: &Loaded<'_>,
    fine: &Loaded<'_>,
    a: &PathPoint,
    b: &PathPoint,
    p: &PathPoint,
    sign: Sign,
    work: &mut Work,
) -> Option<f64> {
    let body = matches!(loaded.push(), Push::Body(_));
    let factor = if body { 1.0 } else { loaded.unit() / fine.unit() };
    let model = loaded.model();
    if sign == Sign::LoadRate && !body {
        // A limit point in the parameter: Newton on the extended system.
        let x = model.transfer(&p.x, fine.model());
        let (v, _) = fold::softest(fine, &x, p.t * factor, work)?;
        let f = fold::refine(fine, x, p.t * factor, v, 0.05, work).ok()?;
        return Some(fine.load(&f.x, f.t));
    }
    let set = settings(setup, fine);
    let carried = |q: &PathPoint, work: &mut Work| -> Option<PathPoint> {
        let x = model.transfer(&q.x, fine.model());
        let ahead: Vec<f64> = q.x.iter().zip(&q.dx).map(|(x, d)| x + 1e-3 * d).collect();
        let ahead = model.transfer(&ahead, fine.model());
        let dx: Vec<f64> = ahead.iter().zip(&x).map(|(y, x)| (y - x) / 1e-3).collect();
        let (energy, negative) = (0.0, 0);
        let from = PathPoint { x, t: q.t * factor, energy, negative, dx, dt: q.dt * factor };
        follow::step(fine, &from, 0.0, &Settings { cosine: 0.5, ..set }, work).map(|s| s.0)
    };
    let (a, b) = (carried(a, work)?, carried(b, work)?);
    let found = follow::locate(fine, &a, &b, &set, 1e-7, work, |p, w| value(fine, p, sign, 0.0, w))?;
    Some(fine.load(&found.point.x, found.point.t))
}

/// A mode as columns: unknowns `u, ℓu′, ℓ²u″, v, …` per node.
fn mode_of(model: &Model, vector: &[f64], n: u32, radius: f64) -> SidewaysMode {
    let fields = model.ripple_samples(vector, n, 4);
    let largest = fields
        .iter()
        .map(|f| (f[1] * f[1] + f[3] * f[3]).sqrt().max(f[2].abs()))
        .fold(f64::MIN_POSITIVE, f64::max);
    let peak = fields
        .iter()
        .max_by(|a, b| libm::hypot(a[1], a[3]).total_cmp(&libm::hypot(b[1], b[3])))
        .map_or((0.0, 1.0), |f| {
            (f[0] * radius, if f[3].abs() > f[1].abs() { f[3].signum() } else { f[1].signum() })
        });
    let column = |i: usize| fields.iter().map(|f| f[i] * peak.1 / largest).collect::<Vec<f64>>();
    SidewaysMode {
        n,
        s_m: fields.iter().map(|f| f[0] * radius).collect(),
        u: column(1),
        v: column(2),
        w: column(3),
        peak_at_m: peak.0,
        branch: None,
    }
}

/// How the sideways branch leaves, in SI per squared metre of the largest displacement.
fn leaving(
    setup: &Setup,
    loaded: &Loaded<'_>,
    p: &PathPoint,
    vector: &[f64],
    n: u32,
    work: &mut Work,
) -> Option<BranchOff> {
    let model = loaded.model();
    let largest = model
        .ripple_samples(vector, n, 4)
        .iter()
        .map(|f| libm::hypot(f[1], f[3]).max(f[2].abs()))
        .fold(f64::MIN_POSITIVE, f64::max);
    let y: Vec<f64> = model.ripple_nodal(vector, n).iter().map(|v| v / largest).collect();
    let dx_df: Vec<f64> = p.dx.iter().map(|d| d / p.dt).collect();
    let [dl, dd] = loaded.rates(p);
    let off = branch_off(loaded, &p.x, p.t, &dx_df, &y, n, work)?;
    let r2 = setup.scene.radius * setup.scene.radius;
    let moved = dd / p.dt * off.load_curvature + off.moved;
    let load = setup.load_si(loaded.unit() * off.load_curvature) / r2;
    let displacement = setup.displacement_si(moved) / r2;
    let shift = model.nodal_change(&off.shift).iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    Some(BranchOff {
        load_curvature_SI_per_m2: load,
        displacement_curvature_SI_per_m2: displacement,
        stable_by_load: off.quartic > 0.0,
        stable_by_displacement: off.quartic_held > 0.0,
        energy_gap_J_per_m4: -off.quartic * setup.energy_unit() / (r2 * r2),
        slope_SI: load / displacement,
        path_slope_SI: setup.load_si(dl) / setup.displacement_si(dd),
        trusted_to_m: setup.scene.radius / shift.max(f64::MIN_POSITIVE),
    })
}

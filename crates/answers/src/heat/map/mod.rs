//! Trip, reset and delta over depth and thickness: a grid, walked from the part outwards, and curves of equal trip and of equal delta.
//!
//! Each place of the grid gets its limits by Newton's method from a solved neighbour; a part that has none within reach is followed
//! anew. Where a curve crosses an edge of the grid, the part on the edge is solved until it has the level.

mod join;
mod levels;

use std::collections::VecDeque;

use calotte_solve::Work;
use calotte_specimen::{Heat, Part};

use self::join::{Crossings, Edge};
use super::numbers::{self, Again};
use super::path::{Kind, Place};
use super::report::{HeatMap, LevelCurves, MapState};
use super::setup::Setup;
use super::words::{celsius, kelvins};
use super::{Followed, MESH_LIMIT, NoHeat, spread};
use crate::many::{Watch, each};
use crate::subject::Subject;

/// What is mapped.
#[derive(Clone, Copy, Debug)]
pub struct MapRequest {
    /// Ends of the depth: half-angle of a cap (rad), factor on the heights otherwise; `None`: 40 % about the part.
    pub depth: Option<[f64; 2]>,
    /// Ends of the thickness, all layers by one factor, m.
    pub thickness: Option<[f64; 2]>,
    /// Columns and rows of the grid, at least two each.
    pub size: [usize; 2],
}

/// Range about the part where none is asked for.
const ABOUT: f64 = 0.4;
/// Temperature by which a point of a curve may miss its level, K.
const LEVEL_TOLERANCE: f64 = 1e-6;
/// Parts solved on one edge at most.
const TRIES: usize = 60;
/// Parts followed anew before the walk goes on from what they gave.
const BATCH: usize = 32;

/// Limits of one part, and the setup whose units they have.
struct Node<'a> {
    setup: &'a Setup,
    heating: bool,
    trip: Again,
    reset: Option<Again>,
}

impl Node<'_> {
    fn trip_at(&self) -> f64 {
        self.trip.temperature()
    }
    fn reset_at(&self) -> Option<f64> {
        self.reset.as_ref().map(Again::temperature)
    }
    fn value(&self, family: Family) -> Option<f64> {
        match family {
            Family::Trip => Some(self.trip_at()),
            Family::Delta => Some(self.trip_at() - self.reset_at()?),
        }
    }
}

/// What was found at a place of the grid.
enum Found<'a> {
    Trips(Box<Node<'a>>),
    /// It trips beyond the temperatures looked at.
    Beyond,
    /// No limit within the temperatures looked at.
    None,
    NoPart,
    Unknown,
}

impl Found<'_> {
    fn node(&self) -> Option<&Node<'_>> {
        if let Found::Trips(n) = self { Some(n) } else { None }
    }
}

/// A family of curves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Family {
    Trip,
    Delta,
}

/// A limit as a place from which others are found.
fn place(at: &Again) -> Place {
    Place {
        kind: Kind::Limit,
        after: 0,
        x: at.fold.x.clone(),
        f: at.fold.t,
        v: at.fold.v.clone(),
        fine: None,
        last_step: 0.0,
        loses: [false; 2],
    }
}

/// The plane of parts.
struct Plane<'a> {
    subject: &'a dyn Subject,
    device: Heat,
    thickness: f64,
    range: [f64; 2],
    depths: Vec<f64>,
    thicknesses: Vec<f64>,
}

impl Plane<'_> {
    fn part(&self, [depth, thickness]: [f64; 2]) -> Option<Part> {
        let part = if depth == self.subject.depth() {
            self.subject.part().clone()
        } else {
            self.subject.with_depth(depth)?
        };
        Some(Part { wall: part.wall.scaled(thickness / self.thickness), ..part })
    }

    fn at(&self, k: usize) -> [f64; 2] {
        let columns = self.depths.len();
        [self.depths[k % columns], self.thicknesses[k / columns]]
    }

    fn within(&self, t: f64) -> bool {
        self.range[0] <= t && t <= self.range[1]
    }

    /// The limits of the part at a place from those of another, kept to ends of stable stretches in the right order.
    fn from<'a>(&self, node: &Node<'a>, at: [f64; 2]) -> Option<Node<'a>> {
        let part = self.part(at)?;
        let mut work = Work::default();
        let mut again =
            |a: &Again| numbers::again(node.setup, &a.problem, &place(a), &part, &self.device, &mut work);
        let (trip, reset) = (again(&node.trip)?, again(node.reset.as_ref()?)?);
        let (t, r) = (trip.temperature(), reset.temperature());
        let heating = node.heating;
        let sound = trip.ends(heating) && reset.ends(!heating) && (t > r) == heating && t != r;
        sound.then_some(Node { setup: node.setup, heating, trip, reset: Some(reset) })
    }

    /// Places beside a place of the grid.
    fn beside(&self, k: usize) -> impl Iterator<Item = usize> + use<> {
        let (columns, rows) = (self.depths.len(), self.thicknesses.len());
        let (i, j) = (k % columns, k / columns);
        [
            (i > 0).then(|| k - 1),
            (i + 1 < columns).then_some(k + 1),
            (j > 0).then(|| k - columns),
            (j + 1 < rows).then_some(k + columns),
        ]
        .into_iter()
        .flatten()
    }

    /// How far two places are from each other, in columns and rows.
    fn apart(&self, a: usize, b: usize) -> usize {
        let columns = self.depths.len();
        (a % columns).abs_diff(b % columns) + (a / columns).abs_diff(b / columns)
    }
}

/// Even steps from end to end.
fn steps([low, high]: [f64; 2], count: usize) -> Vec<f64> {
    let last = (count - 1) as f64;
    // Both ends and, for a range about it, the middle come out exactly.
    (0..count).map(|i| (low * (last - i as f64) + high * i as f64) / last).collect()
}

/// A place that was followed: its own setup, kept until the map is done.
struct Anew {
    followed: Option<Followed>,
    part: Option<Part>,
}

fn anew(plane: &Plane<'_>, k: usize) -> Anew {
    let part = plane.part(plane.at(k));
    let followed = part.as_ref().and_then(|p| Followed::of(p, &plane.device).ok());
    Anew { followed, part }
}

/// Limits of a followed part as a node.
fn node_of<'a>(f: &'a Followed, part: &Part, device: &Heat) -> Found<'a> {
    let Some(l) = f.limits() else {
        return if f.follows() { Found::None } else { Found::Unknown };
    };
    let mut work = Work::default();
    let mut again = |p: &Place| numbers::again(&f.setup, &f.heated, p, part, device, &mut work);
    let Some(trip) = again(l.trip) else { return Found::Unknown };
    // A far branch may be the near one come upon again; its limit is then no reset.
    let t = trip.temperature();
    let back = |r: &Again| r.ends(!l.heating) && (t > r.temperature()) == l.heating;
    let reset = l.reset.and_then(&mut again).filter(back);
    Found::Trips(Box::new(Node { setup: &f.setup, heating: l.heating, trip, reset }))
}

pub(super) fn map(
    subject: &dyn Subject,
    base: &Followed,
    request: &MapRequest,
    watch: &Watch<'_>,
) -> Result<Option<HeatMap>, NoHeat> {
    let part = subject.part();
    let thickness = part.wall.thickness(part.meridian.length());
    let about = |v: f64| [(1.0 - ABOUT) * v, (1.0 + ABOUT) * v];
    let ends =
        [request.depth.unwrap_or(about(subject.depth())), request.thickness.unwrap_or(about(thickness))];
    if ends.iter().any(|[a, b]| !(0.0 < *a && a < b && b.is_finite())) || request.size.iter().any(|n| *n < 2)
    {
        return Err(NoHeat(
            "a map runs over two ranges of positive numbers, each from a smaller to a larger one, in two steps or more"
                .to_owned(),
        ));
    }
    if subject.with_depth(subject.depth()).is_none() {
        return Err(NoHeat(
            "the depth of this part cannot be changed, so there is no map over it".to_owned(),
        ));
    }
    let plane = Plane {
        subject,
        device: base.setup.heat,
        thickness,
        range: base.setup.range.map(|r| r.0),
        depths: steps(ends[0], request.size[0]),
        thicknesses: steps(ends[1], request.size[1]),
    };
    let count = plane.depths.len() * plane.thicknesses.len();
    let nearest = |values: &[f64], v: f64| {
        (0..values.len())
            .min_by(|a, b| (values[*a] - v).abs().total_cmp(&(values[*b] - v).abs()))
            .unwrap_or(0)
    };
    let start =
        nearest(&plane.depths, subject.depth()) + plane.depths.len() * nearest(&plane.thicknesses, thickness);
    // Followed parts live as long as the nodes that lend their setups, so every batch is kept here until the end.
    let mut batches: Vec<Vec<(usize, Anew)>> = Vec::new();
    let own = match node_of(base, part, &plane.device) {
        Found::Trips(node) => Some(node),
        _ => None,
    };
    let mut reached = vec![false; count];
    let mut walked: Vec<Option<Node<'_>>> = (0..count).map(|_| None).collect();
    let here = [subject.depth(), thickness];
    if let Some(n) = own.as_ref().and_then(|own| towards(&plane, own, here, plane.at(start))) {
        walked[start] = Some(n);
        reached[start] = true;
    }
    walk(&plane, &mut walked, &mut reached, watch);
    // What the walk did not reach is followed anew, nearest to the part first.
    let mut left: Vec<usize> = (0..count).filter(|k| !reached[*k]).collect();
    left.sort_by_key(|k| (plane.apart(*k, start), *k));
    let done = count - left.len();
    for (b, batch) in left.chunks(BATCH).enumerate() {
        let progress = |n: usize| (watch.progress)(done + b * BATCH + n);
        let told = Watch { threads: watch.threads, stop: watch.stop, progress: &progress };
        let Some(found) = each(batch.len(), &told, |i| anew(&plane, batch[i])) else { return Ok(None) };
        batches.push(batch.iter().copied().zip(found).collect());
    }
    let mut found: Vec<Found<'_>> = walked
        .into_iter()
        .map(|n| match n {
            Some(n) if plane.within(n.trip_at()) => Found::Trips(Box::new(n)),
            Some(_) => Found::Beyond,
            None => Found::Unknown,
        })
        .collect();
    for (k, a) in batches.iter().flatten() {
        found[*k] = match (&a.part, &a.followed) {
            (None, _) => Found::NoPart,
            (Some(part), Some(f)) => node_of(f, part, &plane.device),
            (Some(_), None) => Found::Unknown,
        };
    }
    let Some(mut report) = gather(&plane, &found, watch) else { return Ok(None) };
    let Some(()) = curves(&plane, &found, &mut report, watch) else { return Ok(None) };
    report.followed_anew = left.len();
    report.words = say(&report);
    Ok(Some(report))
}

/// From one place to another on a straight line, in more steps where one is too long.
fn towards<'a>(plane: &Plane<'_>, node: &Node<'a>, from: [f64; 2], to: [f64; 2]) -> Option<Node<'a>> {
    [1u32, 4, 16].into_iter().find_map(|parts| {
        let at = |i: u32| {
            let s = f64::from(i) / f64::from(parts);
            [0, 1].map(|c| if i == parts { to[c] } else { from[c] + s * (to[c] - from[c]) })
        };
        let mut here = plane.from(node, at(1))?;
        for i in 2..=parts {
            here = plane.from(&here, at(i))?;
        }
        Some(here)
    })
}

/// From every solved place to its neighbours, until none more is reached.
fn walk<'a>(plane: &Plane<'_>, walked: &mut [Option<Node<'a>>], reached: &mut [bool], watch: &Watch<'_>) {
    let mut queue: VecDeque<usize> = (0..walked.len()).filter(|k| walked[*k].is_some()).collect();
    let mut count = queue.len();
    while let Some(k) = queue.pop_front() {
        if watch.stop.load(std::sync::atomic::Ordering::Relaxed) {
            return;
        }
        for to in plane.beside(k) {
            if reached[to] {
                continue;
            }
            let next = walked[k].as_ref().and_then(|n| towards(plane, n, plane.at(k), plane.at(to)));
            let Some(next) = next else { continue };
            walked[to] = Some(next);
            reached[to] = true;
            queue.push_back(to);
            count += 1;
            (watch.progress)(count);
        }
    }
}

/// The grid as data, waves before the trip counted, a few places followed anew to compare.
fn gather(plane: &Plane<'_>, found: &[Found<'_>], watch: &Watch<'_>) -> Option<HeatMap> {
    let still = Watch { threads: watch.threads, stop: watch.stop, progress: &|_| {} };
    let waves = each(found.len(), &still, |k| {
        found[k].node().map(|n| spread::sideways(&n.trip, &mut Work::default()))
    })?;
    let state = |f: &Found<'_>| match f {
        Found::Trips(_) => MapState::Trips,
        Found::Beyond => MapState::Beyond,
        Found::None => MapState::None,
        Found::NoPart => MapState::NoPart,
        Found::Unknown => MapState::Unknown,
    };
    let states: Vec<MapState> = found.iter().map(state).collect();
    let number = |s: MapState| states.iter().filter(|x| **x == s).count();
    let kept = |t: Option<f64>| t.filter(|t| plane.within(*t));
    let resets: Vec<Option<f64>> = found.iter().map(|f| kept(f.node().and_then(Node::reset_at))).collect();
    let trips: Vec<Option<f64>> = found.iter().map(|f| f.node().map(Node::trip_at)).collect();
    let deltas = trips.iter().zip(&resets).map(|(t, r)| t.zip(*r).map(|(t, r)| t - r)).collect();
    let (checked, contradicted, apart) = compare(plane, &trips, &still)?;
    let mut map = HeatMap {
        depth_here_si: plane.subject.depth(),
        thickness_here_m: plane.thickness,
        depth_is_angle: matches!(plane.subject.part().meridian, calotte_specimen::Meridian::Sphere(_)),
        depths_si: plane.depths.clone(),
        thicknesses_m: plane.thicknesses.clone(),
        tripping: number(MapState::Trips),
        no_reset: trips.iter().zip(&resets).filter(|(t, r)| t.is_some() && r.is_none()).count(),
        beyond: number(MapState::Beyond),
        none: number(MapState::None),
        no_part: number(MapState::NoPart),
        unknown: number(MapState::Unknown),
        states,
        trips_K: trips,
        resets_K: resets,
        deltas_K: deltas,
        equal_trip: Vec::new(),
        equal_delta: Vec::new(),
        lost_crossings: 0,
        followed_anew: 0,
        waves_first: waves.iter().filter(|w| **w == Some(Some(true))).count(),
        waves_unknown: waves.iter().filter(|w| **w == Some(None)).count(),
        checked,
        contradicted,
        check_difference_K: apart,
        doubts: Vec::new(),
        words: Vec::new(),
    };
    doubt(&mut map);
    Some(map)
}

/// Corners, middles of the sides and the middle, followed anew: how many, how many that do not trip there, and the largest difference
/// of the trip's limit, K.
fn compare(
    plane: &Plane<'_>,
    trips: &[Option<f64>],
    watch: &Watch<'_>,
) -> Option<(usize, usize, Option<f64>)> {
    let (columns, rows) = (plane.depths.len(), plane.thicknesses.len());
    let at = |n: usize| [0, (n - 1) / 2, n - 1];
    let places: Vec<(usize, f64)> = at(rows)
        .into_iter()
        .flat_map(|j| at(columns).map(|i| i + columns * j))
        .filter_map(|k| Some((k, trips[k]?)))
        .collect();
    let differences = each(places.len(), watch, |i| {
        let (k, t) = places[i];
        let f = anew(plane, k).followed?;
        let best = f.limits().map(|l| f.heated.temperature(l.trip.best()))?;
        Some((best - t).abs())
    })?;
    let known = differences.iter().flatten().copied();
    let largest = known.clone().reduce(f64::max);
    Some((places.len(), places.len() - known.count(), largest))
}

fn doubt(m: &mut HeatMap) {
    let size = m.deltas_K.iter().flatten().map(|d| d.abs()).fold(0.0, f64::max);
    if m.contradicted > 0 {
        m.doubts.push(format!(
            "Of {} places that trip, {} do not when they are followed anew.",
            m.checked, m.contradicted
        ));
    }
    if let Some(d) = m.check_difference_K.filter(|d| *d > MESH_LIMIT * size) {
        m.doubts.push(format!(
            "Followed anew on finer meshes, a trip temperature of the map differs by {}.",
            kelvins(d)
        ));
    }
    if m.unknown > 0 {
        m.doubts.push(format!("At {} places of the grid trip and reset were not found.", m.unknown));
    }
}

/// Both families of curves.
fn curves(plane: &Plane<'_>, found: &[Found<'_>], report: &mut HeatMap, watch: &Watch<'_>) -> Option<()> {
    let still = Watch { threads: watch.threads, stop: watch.stop, progress: &|_| {} };
    for family in [Family::Trip, Family::Delta] {
        let values = if family == Family::Trip { &report.trips_K } else { &report.deltas_K };
        let told: Vec<f64> = values.iter().flatten().copied().collect();
        // Temperatures are round in °C.
        let zero = if family == Family::Trip { 273.15 } else { 0.0 };
        let levels = levels::round(&told, zero);
        let columns = plane.depths.len();
        let mut out = Vec::new();
        for level in levels {
            let crossings = Crossings::of(values, columns, level);
            let edges: Vec<Edge> = crossings.edges().collect();
            let points = each(edges.len(), &still, |i| {
                let Edge { from, to } = edges[i];
                cross(
                    plane,
                    found[from].node()?,
                    found[to].node()?,
                    [plane.at(from), plane.at(to)],
                    family,
                    level,
                )
            })?;
            let centre = |k: usize| {
                let (a, b) = (plane.at(k), plane.at(k + columns + 1));
                let middle = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
                plane.from(found[k].node()?, middle)?.value(family).map(|v| v >= level)
            };
            report.lost_crossings += points.iter().filter(|p| p.is_none()).count();
            let curves = crossings.joined(&points, &centre);
            out.push(LevelCurves { level_K: level, curves });
        }
        if family == Family::Trip { report.equal_trip = out } else { report.equal_delta = out }
    }
    if report.lost_crossings > 0 {
        report.doubts.push(format!(
            "{} points of the curves were not found: the curves have gaps there.",
            report.lost_crossings
        ));
    }
    Some(())
}

/// The place between two places of the grid at which the level is met: false position with the ends' weights halved in turn
/// (Illinois: Dowell & Jarratt 1971, BIT 11, 168), each part solved from the nearer end or, where neither leads to it,
/// followed anew.
fn cross(
    plane: &Plane<'_>,
    a: &Node<'_>,
    b: &Node<'_>,
    ends: [[f64; 2]; 2],
    family: Family,
    level: f64,
) -> Option<[f64; 2]> {
    let at = |s: f64| [0, 1].map(|c| (1.0 - s) * ends[0][c] + s * ends[1][c]);
    let (mut low, mut high) = (0.0, 1.0);
    let (mut below, mut above) = (a.value(family)? - level, b.value(family)? - level);
    if below == 0.0 {
        return Some(ends[0]);
    }
    let mut side = 0;
    for _ in 0..TRIES {
        let s = (low * above - high * below) / (above - below);
        // Where the weights do not help, the middle does.
        let s = if s > low && s < high { s } else { 0.5 * (low + high) };
        let order = if s < 0.5 { [(a, ends[0]), (b, ends[1])] } else { [(b, ends[1]), (a, ends[0])] };
        let value = order
            .into_iter()
            .find_map(|(node, from)| towards(plane, node, from, at(s)))
            .and_then(|n| n.value(family))
            .or_else(|| value_anew(plane, at(s), family))?
            - level;
        if value.abs() < LEVEL_TOLERANCE {
            return Some(at(s));
        }
        if (value > 0.0) == (below > 0.0) {
            (low, below) = (s, value);
            above *= if side == -1 { 0.5 } else { 1.0 };
            side = -1;
        } else {
            (high, above) = (s, value);
            below *= if side == 1 { 0.5 } else { 1.0 };
            side = 1;
        }
    }
    None
}

fn value_anew(plane: &Plane<'_>, at: [f64; 2], family: Family) -> Option<f64> {
    let part = plane.part(at)?;
    let followed = Followed::of(&part, &plane.device).ok()?;
    node_of(&followed, &part, &plane.device).node()?.value(family)
}

fn say(m: &HeatMap) -> Vec<String> {
    let mut out = Vec::new();
    let ends = |v: &[Option<f64>]| {
        let known = || v.iter().flatten().copied();
        known().reduce(f64::min).zip(known().reduce(f64::max))
    };
    let all = m.states.len();
    out.push(format!(
        "Of {all} parts on the grid {} trip, {} have no trip within the temperatures looked at, {} are unknown.",
        m.tripping, m.none, m.unknown
    ));
    if m.beyond > 0 {
        out.push(format!("{} parts trip beyond the temperatures looked at.", m.beyond));
    }
    if m.no_reset > 0 {
        out.push(format!(
            "{} of those that trip have no reset within the temperatures looked at, or none was found.",
            m.no_reset
        ));
    }
    if m.no_part > 0 {
        out.push(format!("At {} places there is no such part.", m.no_part));
    }
    if let Some((a, b)) = ends(&m.trips_K) {
        out.push(format!("Trips lie between {} and {}.", celsius(a), celsius(b)));
    }
    if let Some((a, b)) = ends(&m.deltas_K) {
        out.push(format!("Deltas lie between {} and {}.", kelvins(a), kelvins(b)));
    }
    if m.waves_first > 0 {
        out.push(format!(
            "{} of those that trip lose their round shape to waves before the limit that is mapped, and so trip a little earlier.",
            m.waves_first
        ));
    }
    if m.waves_unknown > 0 {
        out.push(format!("For {} the waves could not be counted.", m.waves_unknown));
    }
    out
}

//! At which temperature does a part trip, and reset?

mod jumps;
mod map;
mod numbers;
pub(crate) mod path;
pub mod report;
pub(crate) mod setup;
pub(crate) mod spread;
pub mod words;

use calotte_shell::{Heated, Section};
use calotte_solve::{Work, follow};
use calotte_specimen::{Heat, Part};

use self::jumps::Found;
use self::path::{Branch, Place};
use self::report::{
    Buckling, Creep, DeviceSummary, HeatEvidence, HeatMap, HeatOutcome, HeatReport, HeatRow, HeatSpread,
    Shape, WallSummary,
};
use self::setup::Setup;
use crate::explain::limits_passed;
use crate::film::{Camera, Film, Frame, MOST, thinned};
use crate::report::SCHEMA_VERSION;
use crate::state::columns;
use crate::subject::Subject;
use crate::verdict::{THIN_LIMIT, limits_of, summarise};

pub use self::map::MapRequest;
pub use self::setup::NoHeat;
pub use crate::many::Watch;

/// Difference of a jump's temperature between two meshes, relative to the delta (or the range of the dish), beyond which it is doubted.
const MESH_LIMIT: f64 = 1e-3;

/// A part over temperature: branch, trip and reset, what moves them.
///
/// # Errors
/// [`NoHeat`] when the question makes no sense for the part.
pub fn heat(subject: &dyn Subject) -> Result<HeatReport, NoHeat> {
    Ok(Branches::of(subject)?.report())
}

/// The branches of a part over temperature, followed once; answers are read from them.
pub struct Branches<'a> {
    subject: &'a dyn Subject,
    followed: Followed,
}

impl<'a> Branches<'a> {
    /// Follows them.
    ///
    /// # Errors
    /// [`NoHeat`] when the question makes no sense for the part.
    pub fn of(subject: &'a dyn Subject) -> Result<Self, NoHeat> {
        Self::with(subject, &subject.heat().unwrap_or_default())
    }

    /// The same with another device around the part.
    ///
    /// # Errors
    /// [`NoHeat`] when the question makes no sense for the part.
    pub fn with(subject: &'a dyn Subject, device: &Heat) -> Result<Self, NoHeat> {
        Ok(Self { subject, followed: Followed::of(subject.part(), device)? })
    }

    /// The whole answer.
    pub fn report(&self) -> HeatReport {
        let Followed { setup, heated, finer, found, work } = &self.followed;
        let mut work = *work;
        let mut report = blank(self.subject, setup);
        report.evidence.elements = heated.model().elements();
        report.evidence.elements_fine = finer[0].model().elements();
        match found {
            Ok(found) => fill(&mut report, self.subject, setup, heated, found, &mut work),
            Err(doubt) => report.doubts.push((*doubt).to_owned()),
        }
        finish(report, &work)
    }

    /// Shapes of both branches over temperature, each with the number of its row in the report's `near` or `far`.
    pub fn film(&self) -> Film {
        let Followed { setup, heated, found, .. } = &self.followed;
        let camera = Camera::new(&setup.part);
        let Ok(found) = found else { return camera.film("temperature", Vec::new()) };
        let mut branches = vec![("near", &found.near)];
        branches.extend(found.far.as_ref().map(|far| ("far", far)));
        let most = MOST / branches.len();
        let frames = branches.into_iter().flat_map(|(name, branch)| {
            let places = branch.places.iter().flat_map(|p| [p.after, p.after + 1]);
            let rows = thinned(branch.points.len(), most, places.chain([branch.rest]));
            let camera = &camera;
            rows.into_iter().map(move |i| {
                let p = &branch.points[i];
                Frame {
                    at: heated.temperature(p.t),
                    row: Some(i),
                    branch: Some(name.to_owned()),
                    ..camera.frame(&heated.warmed(p.t), &p.x, heated.thickness_factor())
                }
            })
        });
        camera.film("temperature", frames.collect())
    }

    /// Trip, reset and delta over `count` parts drawn within the tolerances of the case. Numbers with tolerances vary independently
    /// and normally, their tolerance taken as two standard deviations and cut off there; draws fill the range of each evenly (a Latin
    /// hypercube, McKay, Beckman & Conover 1979, Technometrics 21, 239) and are the same every time. `Ok(None)` when stopped.
    ///
    /// # Errors
    /// [`NoHeat`] when nothing has a tolerance.
    pub fn spread(&self, count: usize, watch: &Watch<'_>) -> Result<Option<HeatSpread>, NoHeat> {
        spread::spread(self.subject, &self.followed, count, watch)
    }

    /// Trip, reset and delta over depth and thickness, with the same device around it: a grid, and curves of equal trip and of equal
    /// delta. The same bits for any number of threads. `Ok(None)` when stopped.
    ///
    /// # Errors
    /// [`NoHeat`] for an empty range, and when the depth of the part cannot be changed.
    pub fn map(&self, request: &MapRequest, watch: &Watch<'_>) -> Result<Option<HeatMap>, NoHeat> {
        map::map(self.subject, &self.followed, request, watch)
    }
}

/// A part followed over temperature.
pub(crate) struct Followed {
    pub(crate) setup: Setup,
    pub(crate) heated: Heated,
    finer: [Heated; 3],
    found: Result<Search, &'static str>,
    work: Work,
}

impl Followed {
    pub(crate) fn of(part: &Part, device: &Heat) -> Result<Self, NoHeat> {
        let mut work = Work::default();
        let setup = Setup::new(part, device)?;
        let heated = setup.heated(setup.model(&setup.mesh));
        let once = setup.mesh.bisected();
        let twice = once.bisected();
        let finer = [once, twice.clone(), twice.bisected()].map(|mesh| setup.heated(setup.model(&mesh)));
        let found = setup
            .rest(&heated, &mut work)
            .ok_or("No equilibrium was found at the temperature at which the shape is given.")
            .and_then(|x| {
                search(&setup, &heated, &finer, x, &mut work)
                    .ok_or("The branch could not be started: the first equilibrium is singular.")
            });
        Ok(Self { setup, heated, finer, found, work })
    }

    /// The limits of temperature of the round shapes at which it trips and resets at the latest, and whether the trip is on heating.
    pub(crate) fn limits(&self) -> Option<Limits<'_>> {
        let found = self.found.as_ref().ok()?;
        let heating = found.trip.as_ref()?.told.on == "heating";
        let trip = jumps::limit(&found.near, heating)?;
        // A far branch may be the near one come upon again; its limit is then no reset.
        let apart = |r: &&Place| if heating { trip.f - r.f > 1e-9 } else { r.f - trip.f > 1e-9 };
        let reset = found.far.as_ref().and_then(|far| jumps::limit(far, !heating)).filter(apart);
        Some(Limits { heating, trip, reset })
    }

    /// Temperatures of trip and reset as they are told (K): the first loss of stability, in waves too, on the finest mesh; and the
    /// waves of the trip. `None` when the branch could not be followed.
    pub(crate) fn told(&self) -> Option<(Option<f64>, Option<f64>, u32)> {
        let found = self.found.as_ref().ok()?;
        let [trip, reset] = [&found.trip, &found.reset].map(|f| f.as_ref().map(|f| &f.told));
        Some((trip.map(|t| t.temperature_K), reset.map(|t| t.temperature_K), trip.map_or(0, |t| t.n)))
    }

    /// What was done to follow it.
    pub(crate) fn work(&self) -> Work {
        self.work
    }

    /// Whether the branch was followed to both ends of the range and has no limit.
    pub(crate) fn follows(&self) -> bool {
        self.found.as_ref().is_ok_and(|s| s.trip.is_none() && s.near.whole == [true, true])
    }
}

/// Limits of temperature of a followed part.
#[derive(Clone, Copy)]
pub(crate) struct Limits<'a> {
    /// Whether it trips on heating.
    pub(crate) heating: bool,
    pub(crate) trip: &'a Place,
    pub(crate) reset: Option<&'a Place>,
}

/// Both branches and the jumps between them.
struct Search {
    near: Branch,
    far: Option<Branch>,
    trip: Option<Found>,
    reset: Option<Found>,
}

/// Follows the near branch; falls from its limit, and follows the far branch back.
fn search(setup: &Setup, heated: &Heated, finer: &[Heated], x: Vec<f64>, work: &mut Work) -> Option<Search> {
    let mut near = path::trace(setup, heated, x, 0.0, true, work)?;
    path::places(setup, heated, finer, &mut near, work);
    // A trip needs a limit; sideways waves may bring it forward.
    let way = [true, false].into_iter().find(|up| jumps::limit(&near, *up).is_some());
    let Some((heating, at)) = way.and_then(|up| Some((up, jumps::first(&near, up)?))) else {
        return Some(Search { near, far: None, trip: None, reset: None });
    };
    let landing =
        jumps::limit(&near, heating).and_then(|p| Some((jumps::fall(setup, heated, p, work)?, p.f)));
    let far = landing.and_then(|(x, f)| {
        let mut far = path::trace(setup, heated, x, f, !heating, work)?;
        path::places(setup, heated, finer, &mut far, work);
        Some(far)
    });
    let trip = jumps::found(setup, heated, finer, &near, at, far.as_ref(), heating, work);
    let reset = far.as_ref().and_then(|far| {
        let back = jumps::first(far, !heating)?;
        Some(jumps::found(setup, heated, finer, far, back, Some(&near), !heating, work))
    });
    Some(Search { near, far, trip: Some(trip), reset })
}

fn blank(subject: &dyn Subject, setup: &Setup) -> HeatReport {
    let part = summarise(subject);
    let layers = &setup.layers;
    let (_, rate) = Section::of(layers, layers.formed_at, setup.part.material.youngs);
    let limits = limits_of(&part, None, None);
    HeatReport {
        schema_version: SCHEMA_VERSION,
        title: subject.title().to_owned(),
        outcome: HeatOutcome::Undecided,
        explanation: Vec::new(),
        doubts: Vec::new(),
        warnings: Vec::new(),
        beyond: setup.beyond.clone(),
        wall: WallSummary {
            layers: layers.layers.len(),
            formed_at_K: layers.formed_at,
            temperature_K: layers.temperature,
            face_difference_K: layers.face_difference,
            bending_per_K: rate.curvature,
            expansion_per_K: rate.strain,
            flat_at_K: flat_at(setup),
        },
        device: DeviceSummary {
            preload_N: setup.heat.preload,
            pin_gap_m: setup.heat.pin.map(|p| p.gap),
            pin_stiffness_N_per_m: setup.heat.pin.map(|p| p.stiffness).filter(|s| s.is_finite()),
            from_K: setup.heat.range[0],
            to_K: setup.heat.range[1],
        },
        part,
        trip: None,
        reset: None,
        buckling: Vec::new(),
        delta_K: None,
        stays_tripped: None,
        creep: None,
        moves: Vec::new(),
        depth_rule: subject.depth_rule().to_owned(),
        tolerance: None,
        cycle: None,
        shapes: Vec::new(),
        near: Vec::new(),
        far: Vec::new(),
        evidence: HeatEvidence {
            elements: 0,
            elements_fine: 0,
            largest_n: 0,
            uncounted: 0,
            limits,
            work: Work::default().into(),
            refinement: None,
        },
    }
}

/// Where the free wall has lost the curvature of the sphere through pole and rim: bisection within what is followed.
fn flat_at(setup: &Setup) -> Option<f64> {
    let sphere = setup.part.meridian.arc_sphere().0;
    if !sphere.is_finite() {
        return None;
    }
    let h = setup.part.wall.thickness(setup.part.meridian.length());
    let youngs = setup.part.material.youngs;
    let left = |t: f64| {
        1.0 / sphere + setup.layers.extra_curvature + Section::of(&setup.layers, t, youngs).0.curvature / h
    };
    let start = setup.layers.formed_at;
    for (edge, _) in setup.range {
        let (mut a, mut b) = (start, edge);
        if left(a) * left(b) > 0.0 {
            continue;
        }
        for _ in 0..200 {
            let m = 0.5 * (a + b);
            if left(m) * left(start) > 0.0 { a = m } else { b = m }
        }
        return Some(0.5 * (a + b));
    }
    None
}

fn rows(setup: &Setup, heated: &Heated, branch: &Branch) -> Vec<HeatRow> {
    let model = heated.model();
    let each = branch.points.iter().zip(&branch.lost);
    each.map(|(p, lost)| HeatRow {
        temperature_K: heated.temperature(p.t),
        travel_m: setup.travel(model, &p.x),
        rim_slope_rad: model.profile(&p.x, 1).rim().slope,
        energy_J: p.energy * setup.energy_unit(),
        pin_force_N: heated.pin_force(&p.x) * setup.force_unit(),
        unstable: p.negative,
        unstable_n: lost.clone(),
    })
    .collect()
}

fn fill(
    report: &mut HeatReport,
    subject: &dyn Subject,
    setup: &Setup,
    heated: &Heated,
    found: &Search,
    work: &mut Work,
) {
    let near = &found.near;
    let (trip, reset) = (found.trip.as_ref(), found.reset.as_ref());
    report.near = rows(setup, heated, near);
    report.far = found.far.as_ref().map_or_else(Vec::new, |far| rows(setup, heated, far));
    let branches = || [Some(near), found.far.as_ref()].into_iter().flatten();
    report.evidence.uncounted = branches().map(|b| b.uncounted).sum();
    report.evidence.largest_n = branches().map(|b| b.largest_n).max().unwrap_or(0);
    for up in [true, false] {
        let on = if up { "heating" } else { "cooling" };
        if trip.is_some_and(|t| t.told.on == on) {
            continue;
        }
        let Some(p) = jumps::first(near, up).map(|i| &near.places[i]) else { continue };
        report.buckling.push(Buckling {
            temperature_K: heated.temperature(p.best()),
            on: on.to_owned(),
            n: if let path::Kind::Sideways(n) = p.kind { n } else { 0 },
            mesh_difference_K: p.fine.as_ref().map(|f| f.apart * heated.unit()),
        });
    }
    report.outcome = match trip {
        Some(_) => HeatOutcome::Trips,
        None if !report.buckling.is_empty() => HeatOutcome::Buckles,
        None if near.whole == [true, true] => HeatOutcome::Follows,
        None => HeatOutcome::Undecided,
    };
    let rest = &near.points[near.rest];
    if rest.negative > 0 || !near.lost[near.rest].is_empty() {
        report
            .doubts
            .push("The described shape is not stable at the temperature at which it is given.".to_owned());
    }
    if report.outcome == HeatOutcome::Undecided {
        report.doubts.push("The branch ended before the temperatures asked for.".to_owned());
    }
    report.trip = trip.map(|t| t.told.clone());
    report.reset = reset.map(|t| t.told.clone());
    let at_trip = trip.map(|f| &near.places[f.place]);
    let at_reset = reset.zip(found.far.as_ref()).map(|(f, far)| &far.places[f.place]);
    if let (Some(t), Some(r), Some(far)) = (trip, reset, found.far.as_ref()) {
        report.delta_K = Some(t.told.temperature_K - r.told.temperature_K);
        let own = setup.layers.formed_at;
        let heating = t.told.on == "heating";
        report.stays_tripped =
            Some(if heating { r.told.temperature_K < own } else { r.told.temperature_K > own });
        report.cycle = jumps::cycle(setup, heated, [near, far], t, r, work);
    }
    if let Some(t) = trip {
        report.creep = creep(setup, heated, near, t, work);
    }
    mesh_doubts(report, setup, heated);
    (report.moves, report.tolerance) = numbers::moves(subject, setup, heated, at_trip, at_reset);
    if let Some(p) = at_trip {
        let mut once = Work::default();
        if numbers::again(setup, heated, p, &setup.part, &setup.heat, &mut once).is_some() {
            report.evidence.refinement = Some(once.into());
        }
    }
    shapes(report, setup, heated, near, [(trip, at_trip), (reset, at_reset)]);
    if report.evidence.uncounted > 0 {
        report.doubts.push(format!(
            "{} counts of sideways waves failed: a loss before trip or reset may have been missed.",
            report.evidence.uncounted
        ));
    }
    let asked = branches().map(|b| b.asked_n).max().unwrap_or(0);
    if asked > path::LARGEST_N {
        report.warnings.push(format!(
            "Sideways waves were counted up to {}; the estimate asks for {asked} somewhere on the branches.",
            path::LARGEST_N
        ));
    }
}

fn creep(setup: &Setup, heated: &Heated, branch: &Branch, trip: &Found, work: &mut Work) -> Option<Creep> {
    let from = setup.heat.creep_from.unwrap_or(setup.layers.temperature);
    let f = heated.parameter(from);
    let at = branch.places[trip.place].after;
    let rows: Box<dyn Iterator<Item = usize>> =
        if at >= branch.rest { Box::new((0..=at).rev()) } else { Box::new(at..branch.points.len()) };
    let start = jumps::stable_at(heated, branch, f, rows, work)?;
    let model = heated.model();
    let travel = |x: &[f64]| setup.travel(model, x);
    let step = 1e-3;
    let (x, ..) = follow::shift_to(heated, &start.x, f, f + step, 10, work)?;
    Some(Creep {
        from_K: from,
        travel_m: trip.told.travel_before_m - travel(&start.x),
        at_first_m_per_K: (travel(&x) - travel(&start.x)) / (step * heated.unit()),
    })
}

fn mesh_doubts(report: &mut HeatReport, setup: &Setup, heated: &Heated) {
    let span = report.delta_K.map_or(heated.unit(), f64::abs).max(1e-3 * setup.unit);
    for (j, what) in [(&report.trip, "trip"), (&report.reset, "reset")] {
        let Some(j) = j else { continue };
        match j.mesh_difference_K {
            None => report.doubts.push(format!("The {what} was not confirmed on a second mesh.")),
            Some(d) if d > MESH_LIMIT * span => {
                report.doubts.push(format!("Two meshes differ by {} on the {what}.", words::kelvins(d)));
            }
            Some(_) => {}
        }
    }
}

fn shapes(
    report: &mut HeatReport,
    setup: &Setup,
    heated: &Heated,
    near: &Branch,
    found: [(Option<&Found>, Option<&Place>); 2],
) {
    let z = -Setup::natural_height(&setup.part, setup.radius);
    let mut add = |name: &str, x: &[f64], f: f64| {
        report.shapes.push(Shape {
            name: name.to_owned(),
            temperature_K: heated.temperature(f),
            meridian: columns(&heated.model().profile(x, 4), setup.radius, 1.0, z),
        });
    };
    let rest = &near.points[near.rest];
    add("as given", &rest.x, rest.t);
    for ((f, p), name) in found.into_iter().zip(["trip", "reset"]) {
        let (Some(f), Some(p)) = (f, p) else { continue };
        add(&format!("before the {name}"), &p.x, p.f);
        if let Some(l) = &f.lands {
            add(&format!("after the {name}"), &l.x, l.f);
        }
    }
}

fn finish(mut report: HeatReport, work: &Work) -> HeatReport {
    report.evidence.work = (*work).into();
    if report.part.thickness_ratio > THIN_LIMIT {
        report.doubts.push("A wall this thick is a solid, not a shell.".to_owned());
    }
    report.warnings.extend(limits_passed(&report.evidence.limits));
    report.explanation = words::explain(&report);
    report.warnings.push(words::CAUTION.to_owned());
    if !report.doubts.is_empty() {
        report.outcome = HeatOutcome::Undecided;
    }
    report
}

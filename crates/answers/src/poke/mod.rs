//! What trips a part, and by which route?

mod end;
mod jumps;
pub(crate) mod path;
pub mod report;
pub(crate) mod setup;
pub mod trade;
pub mod words;

use calotte_shell::Harmonics;
use calotte_solve::{Work, follow};
use calotte_specimen::{Control, Load, Part, Rim};

use crate::film::{Camera, Film, Frame, MOST, thinned};
use crate::poke::path::Path;
use crate::poke::report::{EventKind, Hysteresis, Outcome, PokeEvidence, PokeReport};
use crate::poke::setup::Setup;
use crate::report::{SCHEMA_VERSION, Verdict};
use crate::ripples;
use crate::subject::Subject;
use crate::verdict::{Cells, STRAIN_WARNING, THIN_LIMIT, limits_of, summarise};

/// Mesh difference of a limit load beyond which the answer is doubtful.
const MESH_LIMIT: f64 = 1e-3;
/// Gap between energy and work beyond which the path is doubtful.
const WORK_LIMIT: f64 = 1e-4;

/// Rise over the length unit below which a part is level.
const LEVEL: f64 = 1e-9;

/// Pokes a part with a load and says what trips it.
pub fn poke(subject: &dyn Subject, load: &Load) -> PokeReport {
    answer(subject, load, None)
}

/// The same with its shapes along the path.
pub fn poke_with_film(subject: &dyn Subject, load: &Load) -> (PokeReport, Film) {
    let camera = Camera::new(subject.part());
    let mut frames = Vec::new();
    let report = answer(subject, load, Some((&camera, &mut frames)));
    (report, camera.film("path", frames))
}

fn answer(subject: &dyn Subject, load: &Load, film: Option<(&Camera<'_>, &mut Vec<Frame>)>) -> PokeReport {
    let mut work = Work::default();
    let setup = Setup::new(subject.part(), load);
    let mut report = blank(subject, &setup);
    report.beyond.extend(setup.beyond.iter().cloned());
    if !(setup.rise > LEVEL && setup.scene.radius.is_finite()) {
        report.doubts.push(
            "The inner end lies level with the rim: the part has no rise, and there is nothing to push through."
                .to_owned(),
        );
        return finish(report, work);
    }
    let model = setup.model(&setup.mesh);
    let fine_mesh = setup.mesh.bisected();
    let fine = setup.model(&fine_mesh);
    report.evidence.elements = model.elements();
    report.evidence.elements_fine = fine.elements();
    let Some(loaded) = setup.loaded(&model, &mut work) else {
        report.doubts.push("The load cannot be put on this part.".to_owned());
        return finish(report, work);
    };
    let mut path = match path::begin(&setup, &loaded, false, &mut work) {
        Ok(path) => path,
        Err(why) => {
            report.doubts.push(why);
            return finish(report, work);
        }
    };
    path::events(&setup, &loaded, Some(&fine), &mut path, &mut work);
    rim_lifts(&setup, &path, &mut report);
    evidence(&setup, &loaded, &path, &mut report);
    report.initial_stiffness_SI = path.stiffness;
    let let_go = path.end.is_lost().then(|| far_state_holds(subject.part(), &setup));
    let stays = |x: &[f64]| free_stays(subject.part(), &setup, x, &mut Work::default());
    jumps::read(&setup, &mut path, &mut report, stays, let_go);
    trade::read(&setup, &loaded, &path, subject.strain_limit(), &mut report, &mut work);
    if let Some((camera, frames)) = film {
        // Both rows beside an event are shown.
        let events = path.events.iter().flat_map(|e| [e.after_row, e.after_row + 1]);
        frames.extend(thinned(path.points.len(), MOST, events).into_iter().map(|i| Frame {
            at: i as f64,
            row: Some(i),
            ..camera.frame(&model, &path.points[i].x, setup.scene.own)
        }));
    }
    report.path = path.rows;
    let sets_displacement = report.load.control == "displacement";
    let found = if sets_displacement { report.by_displacement.is_some() } else { report.by_load.is_some() };
    if !found && path.end.is_early() {
        report.doubts.push(format!(
            "Nothing trips it on the path, but the path ended early: {}.",
            report.evidence.ended
        ));
    }
    confirmed(&mut report);
    finish(report, work)
}

/// The trips that the answer states must be confirmed on a second mesh.
fn confirmed(report: &mut PokeReport) {
    let sets = report.load.control == "displacement";
    for (trip, asked, what) in
        [(&report.by_load, !sets, "load"), (&report.by_displacement, sets, "displacement")]
    {
        let Some(t) = trip else { continue };
        let e = &report.events[t.event];
        let says = match e.mesh_difference {
            None => format!("The trip with the {what} set was not confirmed on a second mesh."),
            Some(d) if d > MESH_LIMIT => {
                format!("Two meshes differ by {d:.1e} on the trip with the {what} set.")
            }
            Some(_) => continue,
        };
        if asked { report.doubts.push(says) } else { report.warnings.push(says) }
    }
}

/// A report with nothing found yet.
fn blank(subject: &dyn Subject, setup: &Setup) -> PokeReport {
    PokeReport {
        schema_version: SCHEMA_VERSION,
        title: subject.title().to_owned(),
        outcome: Outcome::Undecided,
        explanation: Vec::new(),
        doubts: Vec::new(),
        warnings: Vec::new(),
        beyond: Vec::new(),
        part: summarise(subject),
        load: setup.summary(),
        by_load: None,
        by_displacement: None,
        return_trip: None,
        snap: None,
        hysteresis: Hysteresis::default(),
        barriers: Vec::new(),
        stays_afterwards: None,
        trade: trade::Trade::default(),
        initial_stiffness_SI: f64::NAN,
        path: Vec::new(),
        events: Vec::new(),
        evidence: PokeEvidence::default(),
    }
}

/// On a table the rim cannot be held down: the path is physical only while it presses.
fn rim_lifts(setup: &Setup, path: &Path, report: &mut PokeReport) {
    let table = setup.on_table();
    for e in &path.events {
        report.events.push(e.clone());
        let leaves = table && e.kind == EventKind::NoLoad && path.rows[e.after_row].load_SI > 0.0;
        if leaves {
            report.events.push(report::Event { kind: EventKind::RimLifts, mode: None, ..e.clone() });
        }
    }
}

fn evidence(setup: &Setup, loaded: &calotte_shell::Loaded<'_>, path: &Path, report: &mut PokeReport) {
    let e = &mut report.evidence;
    path.end.words().clone_into(&mut e.ended);
    e.energy_work_gap = path.work_gap;
    e.largest_n = path.largest_n;
    e.penetration = path.penetration;
    e.least_cosine = path.least_cosine;
    let strain = path.points.iter().map(|p| largest_strain(setup, loaded, &p.x).0).fold(0.0, f64::max);
    e.limits = limits_of(&report.part, Some(strain), None);
    let checked = path.events.iter().filter_map(|e| e.mesh_difference);
    e.mesh_difference = checked.fold(0.0, f64::max);
    // At rest there may be no forces at all to compare with: the scale is the whole path's.
    let [worst, scale] = path
        .points
        .iter()
        .step_by((path.points.len() / 12).max(1))
        .map(|p| balance(loaded, p))
        .fold([0.0_f64; 2], |a, b| [a[0].max(b[0]), a[1].max(b[1])]);
    e.residual = worst / scale;
    if path.work_gap > WORK_LIMIT {
        report.doubts.push(format!("Energy and work along the path differ by {:.1e}.", path.work_gap));
    }
    if path.uncounted > 0 {
        report.doubts.push(format!(
            "At {} places of the path a count of ripples or the refinement of an event broke down.",
            path.uncounted
        ));
    }
    for l in report.evidence.limits.iter().filter(|l| !l.met && l.limit == THIN_LIMIT) {
        report.doubts.push(format!("Limit passed, {}: {:.3} is above {}.", l.name, l.value, l.limit));
    }
    for l in report.evidence.limits.iter().filter(|l| !l.met && l.limit != THIN_LIMIT) {
        let at = if l.limit == STRAIN_WARNING && l.name.contains("strain") {
            " somewhere on the path"
        } else {
            ""
        };
        report.warnings.push(format!(
            "Limit passed{at}, {}: {:.3} is above {}: {}.",
            l.name, l.value, l.limit, l.consequence
        ));
    }
}

/// Largest strain at a face of the wall, and the natural arclength (over R) of its place.
fn largest_strain(setup: &Setup, loaded: &calotte_shell::Loaded<'_>, x: &[f64]) -> (f64, f64) {
    let t = setup.scene.own;
    // A force on a point bends a shell without bound at the point itself; that place is left out.
    let skip = (setup.scene.rim_thickness * t).min(0.02);
    loaded
        .model()
        .profile(x, 2)
        .samples
        .iter()
        .filter(|s| s.s > skip)
        .flat_map(|s| {
            (0..2).map(move |i| (s.strain[i].abs() + 0.5 * s.thickness * t * s.bending[i].abs(), s.s))
        })
        .fold((0.0, 0.0), |a, b| if b.0 > a.0 { b } else { a })
}

/// Largest unbalanced force and largest force that elements exert on nodes, at a point.
fn balance(loaded: &calotte_shell::Loaded<'_>, p: &follow::PathPoint) -> [f64; 2] {
    use calotte_solve::{Band, Potential};
    let n = p.x.len();
    let (mut g, mut h) = (vec![0.0; n], Band::new(n, loaded.half_bandwidth()));
    loaded.assemble(&p.x, p.t, &mut g, &mut h);
    let forces = loaded.model().force_scale(&p.x, loaded.thickness_factor());
    [g.iter().fold(0.0_f64, |a, b| a.max(b.abs())), forces]
}

/// Whether a part that left its pusher behind finds a stable state on the far side; `None` where that is not known.
fn far_state_holds(part: &Part, setup: &Setup) -> Option<bool> {
    // From the inverted state the far one is the natural, which is free of stress.
    if setup.direction < 0.0 {
        return Some(true);
    }
    match Cells::default().verdict(part).0 {
        Verdict::Stays => Some(true),
        Verdict::Returns | Verdict::Waits => Some(false),
        Verdict::Undecided => None,
    }
}

/// Whether the unloaded state is stable with the rim as the case has it: a rim that nothing presses is free.
fn free_stays(part: &Part, setup: &Setup, state: &[f64], work: &mut Work) -> Option<bool> {
    if !matches!(part.rim, Rim::Table | Rim::Free) {
        return Some(true);
    }
    let free = Part { rim: Rim::Free, ..setup.scene.part.clone() };
    let model = calotte_shell::Model::new(&free, setup.scene.radius, &setup.mesh);
    if model.nodes().first() != Some(&0.0) && part.meridian.starts_at_pole() {
        return None;
    }
    let last = ripples::wave_bound(&model, state, setup.scene.own).0;
    let harmonics = Harmonics::new(&model, state, setup.scene.own);
    (2..=last)
        .map(|n| harmonics.negative(n, work).map(|c| c == 0))
        .try_fold(true, |all, s| s.map(|s| all && s))
}

fn finish(mut report: PokeReport, work: Work) -> PokeReport {
    report.evidence.work = work.into();
    let trip = match report.load.control.as_str() {
        "displacement" => &report.by_displacement,
        _ => &report.by_load,
    };
    report.outcome = if !report.doubts.is_empty() {
        Outcome::Undecided
    } else if trip.is_some() {
        Outcome::Trips
    } else {
        Outcome::Follows
    };
    words::say(&mut report);
    report
}

/// The load of the case, or a force on the pole where it has none.
pub fn load_or_pole(load: Option<&Load>) -> Load {
    load.copied().unwrap_or_else(|| Load { control: Control::Load, ..Load::default() })
}

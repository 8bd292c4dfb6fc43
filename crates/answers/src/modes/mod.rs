//! At which frequencies does a part vibrate, in how many waves, and at which pressure does it buckle?

mod pressure;
pub mod report;
mod shape;
mod stage;
mod waves;
pub mod words;

use calotte_solve::Work;
use calotte_specimen::Part;

use crate::film::{Camera, Film, Frame};
use crate::modes::report::{Evidence, Mode, ModesReport, Outcome, Place, Rigid, Search, Units};
use crate::modes::shape::Reader;
use crate::modes::stage::{Stage, Stages, largest_radius, length_unit};
use crate::modes::waves::Waves;
use crate::report::SCHEMA_VERSION;
use crate::subject::Subject;
use crate::verdict::{THIN_LIMIT, limits_of, summarise};

/// The state that vibrates.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum State {
    /// As made.
    #[default]
    Natural,
    /// Turned inside out.
    Inverted,
}

/// The face that is pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// The convex face of a bowl, the outside of a complete sphere.
    Outside,
    /// The concave face.
    Inside,
}

impl Face {
    /// Sign of the volume's potential.
    fn sign(self) -> f64 {
        match self {
            Self::Outside => -1.0,
            Self::Inside => 1.0,
        }
    }

    /// The word in the JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Outside => "outside",
            Self::Inside => "inside",
        }
    }
}

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// The state.
    pub state: State,
    /// Modes of every n, at least 1.
    pub count: usize,
    /// Lowest modes of all n that must surely be found, at least 1.
    pub lowest: usize,
    /// Largest n; `None`: as far as it takes.
    pub most: Option<u32>,
    /// Pressure, too.
    pub pressure: Option<Face>,
}

impl Default for Settings {
    fn default() -> Self {
        Self { state: State::Natural, count: 4, lowest: 10, most: None, pressure: None }
    }
}

/// Relative difference of ω² between the meshes that ends refinement …
const AGREEMENT: f64 = 1e-7;
/// … and above which the answer is doubtful.
const MESH_LIMIT: f64 = 1e-4;
/// Residual of an eigenpair, relative, above which the answer is doubtful.
const RESIDUAL_LIMIT: f64 = 1e-4;
/// Times that both meshes may be halved.
const REFINEMENTS: u32 = 3;

/// Answers the question.
pub fn modes(subject: &dyn Subject, set: &Settings) -> ModesReport {
    answer(subject, set, None)
}

/// The same with the shape that vibrates, on the places of the report's `meridian`: one frame, or none when there is no such state.
pub fn modes_with_film(subject: &dyn Subject, set: &Settings) -> (ModesReport, Film) {
    let mut film = Film { over: "shapes".to_owned(), ..Film::default() };
    let report = answer(subject, set, Some(&mut film));
    (report, film)
}

fn answer(subject: &dyn Subject, set: &Settings, film: Option<&mut Film>) -> ModesReport {
    let mut work = Work::default();
    let part = subject.part();
    let mut report = blank(subject, set);
    if set.count == 0 || set.lowest == 0 {
        report.doubts.push("No modes were asked for: the count must be at least 1.".to_owned());
        return finish(report, work);
    }
    let mut stages = match Stages::new(part, set.state, &mut work) {
        Ok(s) => s,
        Err(why) => {
            report.doubts.push(why);
            return finish(report, work);
        }
    };
    let inverted = set.state == State::Inverted;
    let stressed = inverted || part.wall.layers().is_some();
    let (mut found, mut coarse, mut apart) = compare(&stages, set, stressed, &mut work);
    for _ in 0..REFINEMENTS {
        if apart <= AGREEMENT || inverted {
            break;
        }
        let Some(finer) = stages.finer(&mut work) else { break };
        let (f, c, a) = compare(&finer, set, stressed, &mut work);
        // Elements so small that rounding speaks: the meshes before were better.
        if a > apart {
            break;
        }
        (stages, found, coarse, apart) = (finer, f, c, a);
    }
    fill(&mut report, set, &stages, &found, &coarse);
    if let Some(film) = film {
        let stage = &stages.fine;
        let samples = stage.model.profile(&stage.x, shape::PER_ELEMENT).samples;
        let camera = Camera::on_samples(part, stage.model.radius(), &samples);
        let frame = camera.frame(&stage.model, &stage.x, stage.t);
        *film = camera.film("shapes", vec![Frame { name: report.state.clone(), ..frame }]);
    }
    if let Some(face) = set.pressure {
        if set.state == State::Inverted {
            report.doubts.push(
                "Pressure is followed from the natural state alone; `calotte poke` presses the inverted one."
                    .to_owned(),
            );
        } else {
            let mut doubts = Vec::new();
            match pressure::press(part, face, &mut doubts, &mut work) {
                Ok(p) => report.pressure = Some(p),
                Err(why) => doubts.push(why),
            }
            report.doubts.append(&mut doubts);
        }
    }
    doubts(&mut report);
    finish(report, work)
}

/// Modes on the finer mesh, values on the coarser, and the largest relative difference.
fn compare(
    stages: &Stages,
    set: &Settings,
    stressed: bool,
    work: &mut Work,
) -> (Waves, Vec<Option<Vec<f64>>>, f64) {
    let found = waves::search(&stages.fine, set, stressed, work);
    let coarse = waves::again(&stages.coarse, &found.waves, work);
    let all = differences(&found, &coarse);
    let apart = all.iter().flatten().map(|d| d.unwrap_or(f64::INFINITY)).fold(0.0, f64::max);
    (found, coarse, apart)
}

/// Relative differences of ω² between the meshes, wave by wave.
fn differences(found: &Waves, coarse: &[Option<Vec<f64>>]) -> Vec<Vec<Option<f64>>> {
    let one = |w: &waves::Wave, c: &Option<Vec<f64>>| {
        let other = |i: usize| c.as_ref().and_then(|c| c.get(i).copied());
        w.pairs.iter().enumerate().map(|(i, p)| other(i).map(|v| (v / p.value - 1.0).abs())).collect()
    };
    found.waves.iter().zip(coarse).map(|(w, c)| one(w, c)).collect()
}

/// Factor from ω² over E/(ρR²) to Ω².
fn plate_factor(part: &Part, radius: f64) -> Option<f64> {
    let (h, nu) = (part.wall.thickness(part.meridian.length()) / radius, part.material.poisson);
    let a = largest_radius(part) / radius;
    let one = part.wall.is_uniform() && part.wall.layers().is_none();
    (one && a > 0.0).then(|| a.powi(4) * 12.0 * (1.0 - nu * nu) / (h * h))
}

fn blank(subject: &dyn Subject, set: &Settings) -> ModesReport {
    let part = subject.part();
    let radius = length_unit(part);
    let m = &part.material;
    let hertz = m.density.map(|rho| (m.youngs / rho).sqrt() / radius / (2.0 * std::f64::consts::PI));
    ModesReport {
        schema_version: SCHEMA_VERSION,
        title: subject.title().to_owned(),
        outcome: Outcome::Undecided,
        state: if set.state == State::Natural { "natural" } else { "inverted" }.to_owned(),
        explanation: Vec::new(),
        doubts: Vec::new(),
        warnings: Vec::new(),
        beyond: vec![
            "Rotary inertia and shear through the wall are left out: modes whose waves are not many thicknesses long come out too high."
                .to_owned(),
            "Air or liquid around the part, and damping, are left out.".to_owned(),
        ],
        part: summarise(subject),
        units: Units { length_m: radius, frequency_Hz: hertz, plate_factor: plate_factor(part, radius) },
        modes: Vec::new(),
        lowest: Vec::new(),
        rigid: Vec::new(),
        search: Search { largest_n: 0, counted_to_n: 0, complete: false, reason: String::new() },
        meridian: Place::default(),
        pressure: None,
        evidence: Evidence::default(),
    }
}

fn fill(
    report: &mut ModesReport,
    set: &Settings,
    stages: &Stages,
    found: &Waves,
    coarse: &[Option<Vec<f64>>],
) {
    let stage: &Stage = &stages.fine;
    let bare = stage.bare();
    let reader = Reader::new(stage, &bare);
    let harmonics = stage.harmonics();
    let apart = differences(found, coarse);
    report.meridian = reader.place();
    for (w, apart) in found.waves.iter().zip(&apart) {
        if w.rigid > 0 {
            let residual = harmonics.rigid_residual(w.n);
            report.rigid.push(Rigid { n: w.n, count: w.rigid, residual });
        }
        for (i, p) in w.pairs.iter().enumerate() {
            let r = reader.read(&p.vector, w.n);
            let real = (p.value > 0.0).then(|| p.value.sqrt());
            report.modes.push(Mode {
                n: w.n,
                order: i + 1,
                nodal_circles: r.circles.len(),
                circles_at_m: r.circles.iter().map(|s| s * report.units.length_m).collect(),
                kind: r.kind,
                omega_squared: p.value,
                plate_parameter: real.and_then(|o| Some(o * report.units.plate_factor?.sqrt())),
                frequency_Hz: real.and_then(|o| Some(o * report.units.frequency_Hz?)),
                bending_share: r.bending_share,
                normal_share: r.normal_share,
                around_share: r.around_share,
                residual: p.residual,
                mesh_difference: apart[i],
                shape: Some(r.shape),
            });
        }
    }
    let mut order: Vec<usize> =
        (0..report.modes.len()).filter(|i| report.modes[*i].omega_squared <= found.sure_below).collect();
    order.sort_by(|a, b| report.modes[*a].omega_squared.total_cmp(&report.modes[*b].omega_squared));
    order.truncate(set.lowest);
    let last = found.waves.last().map_or(0, |w| w.n);
    let reason = if set.most.is_some() {
        format!("Asked for n up to {last}; modes of more waves may be lower.")
    } else {
        format!(
            "Modes of n up to {last} were computed. A mode with more waves costs at least D n⁴/r⁴ per unit of deflection squared in \
             bending or G h n²/r² in its plane, so by this estimate none beyond n = {:.1} is as low as the last of the \
             lowest {}; up to twice that (n = {}) counts confirm it.",
            found.bound, set.lowest, found.counted_to
        )
    };
    report.search = Search {
        largest_n: last,
        counted_to_n: found.counted_to,
        complete: found.complete && set.most.is_none() && order.len() == set.lowest,
        reason,
    };
    let e = &mut report.evidence;
    e.elements_coarse = stages.coarse.model.elements();
    e.elements_fine = stage.model.elements();
    e.mesh_difference =
        order.iter().map(|i| report.modes[*i].mesh_difference.unwrap_or(f64::INFINITY)).fold(0.0, f64::max);
    e.residual = report.modes.iter().map(|m| m.residual).fold(0.0, f64::max);
    e.certified = found.failed.is_empty() && found.waves.iter().all(|w| w.certified);
    e.limits = limits_of(&report.part, None, None);
    for (i, m) in report.modes.iter_mut().enumerate() {
        if !order.contains(&i) {
            m.shape = None;
        }
    }
    report.lowest = order;
    for n in &found.failed {
        report.doubts.push(format!("The modes of n = {n} could not be computed."));
    }
    for w in found.waves.iter().filter(|w| !w.certified) {
        report.doubts.push(format!("Counts do not confirm that no mode of n = {} is missing.", w.n));
    }
}

fn doubts(report: &mut ModesReport) {
    let e = &report.evidence;
    if e.mesh_difference > MESH_LIMIT {
        report
            .doubts
            .push(format!("Two meshes differ by {:.1e} on ω² of the lowest modes.", e.mesh_difference));
    }
    if e.residual > RESIDUAL_LIMIT {
        report.doubts.push(format!(
            "Eigenpairs hold to {:.0e} of their terms only: rounding speaks, as in parts far narrower than √(Rh).",
            e.residual
        ));
    }
    if !report.modes.is_empty() && !report.search.complete {
        let says = "The list of the lowest modes may not be complete.";
        if report.search.reason.starts_with("Asked") {
            report.warnings.push(format!("{says} {}", report.search.reason));
        } else {
            report.doubts.push(says.to_owned());
        }
    }
    for l in e.limits.iter().filter(|l| !l.met) {
        let says =
            format!("Limit passed, {}: {:.3} is above {}: {}.", l.name, l.value, l.limit, l.consequence);
        if l.limit == THIN_LIMIT { report.doubts.push(says) } else { report.warnings.push(says) }
    }
    if report.units.frequency_Hz.is_none() {
        report.warnings.push(
            "The case gives no density: frequencies are in units of √(E/ρ)/R, R the length unit.".to_owned(),
        );
    }
    let Some(p) = &report.pressure else { return };
    if let Some(first) = p.first.map(|i| &p.losses[i]) {
        match first.mesh_difference {
            None => report.doubts.push("The lowest pressure was not confirmed on a second mesh.".to_owned()),
            Some(d) if d > MESH_LIMIT => {
                report.doubts.push(format!("Two meshes differ by {d:.1e} on the lowest pressure."));
            }
            Some(_) => {}
        }
    }
    if let Some(d) = p.limit_mesh_difference.filter(|d| *d > MESH_LIMIT) {
        report.doubts.push(format!("Two meshes differ by {d:.1e} on the axisymmetric limit."));
    }
}

fn finish(mut report: ModesReport, work: Work) -> ModesReport {
    report.evidence.work = work.into();
    report.outcome = if report.doubts.is_empty() { Outcome::Answered } else { Outcome::Undecided };
    words::say(&mut report);
    report
}

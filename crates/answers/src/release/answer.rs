//! One release from question to report.

use std::sync::atomic::{AtomicBool, Ordering};

use calotte_shell::{Harmonics, InMotion, Mesh, natural};
use calotte_solve::march::Settings;
use calotte_solve::{State, Work};
use calotte_specimen::{HeldShape, LetGo, Motion};

use super::read;
use super::report::{Outcome, ReleaseEvidence, ReleaseReport, Scales, Sideways};
use super::setup::{Fault, Setup};
use super::sideways::Growth;
use super::track::{self, Ended, Track, Until, Way};
use super::wait::{self, Rest};
use super::words;
use crate::film::{Camera, Film, Frame};
use crate::report::SCHEMA_VERSION;
use crate::subject::Subject;
use crate::verdict::{CERTIFICATION, limits_of, summarise};

/// What to follow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ask {
    /// Time followed, s; by default through the snap and six periods of ringing, or long enough to see that the part
    /// stays.
    pub until: Option<f64>,
    /// Whether to go on through six periods of ringing after the snap; the question is answered at its end.
    pub ringing: bool,
    /// Whether to go on through the flight until it has landed.
    pub landing: bool,
    /// Steps allowed.
    pub steps: u64,
    /// Whether to compute again with halved elements and with a tenth of the error.
    pub evidence: bool,
}

impl Default for Ask {
    fn default() -> Self {
        Self { until: None, ringing: true, landing: false, steps: 200_000, evidence: true }
    }
}

/// Local error of a step over the rise.
pub(crate) const TOLERANCE: f64 = 5e-7;
/// Share of the bending time that turns errors of velocity into errors of place: faster vibrations carry no energy worth
/// a step of their own.
const VELOCITY_SHARE: f64 = 0.01;
/// Force of the hand over that of the wall beyond which letting go at once is a blow.
const BLOW: f64 = 1e-3;
/// Share of the life of an equilibrium after which a snap counts as the end of a rest in it.
const RESTED: f64 = 0.5;
/// Periods of the natural state followed after the snap.
const RINGING: f64 = 6.0;
/// Changes of the energy balance, over the energy available, beyond which the evidence does not carry an answer.
const BALANCE: f64 = 1e-4;
/// Differences between meshes and tolerances beyond which it does not.
const AGREEMENT: f64 = 1e-3;

/// Share of that error on a table, whose blows cost accuracy of the balance.
const ON_TABLE: f64 = 0.4;

/// Settings of a march for `setup` with `share` of the usual error.
pub(crate) fn settings(setup: &Setup, share: f64) -> Settings {
    let share = if setup.table { ON_TABLE * share } else { share };
    Settings {
        tolerance: TOLERANCE * share * setup.rise.abs(),
        time_scale: VELOCITY_SHARE * setup.bending_time,
        first: 1e-4 * setup.bending_time,
        longest: f64::INFINITY,
        shortest: 1e-9 * setup.bending_time,
    }
}

/// Lets go of the part. `progress` is told the time (s) now and then and says whether to go on.
///
/// # Errors
/// [`Fault`] when the question makes no sense for this part.
pub fn release(
    subject: &dyn Subject,
    motion: &Motion,
    ask: &Ask,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<ReleaseReport, Fault> {
    answer(subject, motion, ask, progress, None)
}

/// The same with its shapes over time; `row` of each is the number of the report's frame. Heights are those of the report.
///
/// # Errors
/// [`Fault`] when the question makes no sense for this part.
pub fn release_with_film(
    subject: &dyn Subject,
    motion: &Motion,
    ask: &Ask,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<(ReleaseReport, Film), Fault> {
    let camera = Camera::new(subject.part());
    let mut frames = Vec::new();
    let report = answer(subject, motion, ask, progress, Some((&camera, &mut frames)))?;
    Ok((report, camera.film("time", frames)))
}

fn answer(
    subject: &dyn Subject,
    motion: &Motion,
    ask: &Ask,
    progress: &mut dyn FnMut(f64) -> bool,
    film: Option<(&Camera<'_>, &mut Vec<Frame>)>,
) -> Result<ReleaseReport, Fault> {
    let mut work = Work::default();
    let part = subject.part();
    let setup = Setup::new(part, motion, &mut work)?;
    let period = natural_period(&setup, &mut work);
    let wait::Resting { rest, height, lost } = wait::rest(&setup, motion.hold.time, &mut work)?;
    let holds = setup.holds(&mut work);
    let sway = motion.hold.sideways / setup.units.length;
    let until = plan(&setup, ask, period, rest, holds);
    let (run, again) = runs(&setup, ask, until, height, sway, progress, &mut work)?;
    let track = &run.track;
    let mut doubts = Vec::new();
    let outcome = match (track.halfway, rest) {
        // A motion that runs past the equilibrium long before it ends has not rested in it.
        (Some(half), Rest::Ends(t)) if half > RESTED * t => Outcome::Waits,
        (Some(_), _) => Outcome::Returns,
        (None, _) if track.ended == Ended::Followed && holds => Outcome::Stays,
        (None, _) => Outcome::Undecided,
    };
    if outcome == Outcome::Undecided {
        doubts.push(format!(
            "The part had not snapped when the motion was left after {}; {}.",
            crate::explain::duration(track.rows.last().map_or(0.0, |r| r.t) * setup.units.time),
            words::ended(track, &setup, ask)
        ));
    }
    let summary = summarise(subject);
    let strain = track.shapes.iter().map(|s| s.strain).fold(0.0, f64::max);
    let limits = limits_of(&summary, Some(strain), None);
    let again = again.as_ref();
    let evidence = evidence(&setup, track, again, ask, limits, strain);
    if rest == Rest::Unknown && outcome == Outcome::Returns {
        doubts.push(
            "Whether an equilibrium exists after the hold, and when it ends, was not found: it may have rested before it snapped."
                .into(),
        );
    }
    if let Some(n) = lost {
        doubts.push(format!(
            "Where it rests after the hold it gives way in {n} wave{} round the rim: the real part leaves it sideways, and this \
             round motion does not tell how.",
            if n == 1 { "" } else { "s" }
        ));
    }
    if run.blow {
        doubts.push(
            "Let go at once from a shape that is not its equilibrium, the edge springs back and sends waves through the wall \
             that are shorter than a shell can carry: no hand does that. Let go with a ramp (`hold.let_go = \"ramp\"`)."
                .into(),
        );
    }
    judge(&evidence, track, again, &mut doubts);
    let scales = Scales {
        wave_time_s: setup.units.time,
        bending_time_s: setup.bending_time * setup.units.time,
        natural_frequency_Hz: period.map(|p| 1.0 / (p * setup.units.time)),
    };
    let mut report = ReleaseReport {
        schema_version: SCHEMA_VERSION,
        title: subject.title().to_owned(),
        outcome: if doubts.is_empty() { outcome } else { Outcome::Undecided },
        explanation: Vec::new(),
        doubts,
        warnings: Vec::new(),
        part: summary,
        protocol: words::protocol(&setup, &run),
        definitions: words::definitions(),
        scales,
        snap: read::snap(&setup, track, rest),
        jump: read::jump(&setup, &run),
        ringing: read::ringing(&setup, track, outcome == Outcome::Stays, period.map(|p| RINGING * p)),
        energies: read::energies(&setup, &run),
        events: read::events(&setup, &run),
        history: read::history(&setup, &run),
        frames: read::frames(&setup, &run),
        sideways: run.sideways.clone(),
        evidence,
    };
    if !run.lost.is_empty() {
        let waves: Vec<String> = run.lost.iter().map(u32::to_string).collect();
        report.warnings.push(format!(
            "The sideways growth with {} wave(s) round the rim could not be followed to the end; it may win.",
            waves.join(", ")
        ));
    }
    words::say(&mut report, outcome, rest, &setup);
    if let Some((camera, frames)) = film {
        *frames = read::film(&setup, &run, camera);
    }
    Ok(report)
}

/// A motion with what is needed to read it.
pub(crate) struct Run {
    pub(crate) motion: InMotion,
    pub(crate) track: Track,
    /// Height from which heights are told, over R: the table, or the rim at the start.
    pub(crate) origin: f64,
    /// Forces of the hand at the end of the hold, over `E R² t`, on the heights of the nodes.
    pub(crate) hand: f64,
    /// Growth of sideways deflections, when the case asks for it.
    pub(crate) sideways: Vec<Sideways>,
    /// Wave numbers whose growth could not be followed to the end.
    pub(crate) lost: Vec<u32>,
    /// Whether letting go at once is a blow: waves shorter than the mesh, and than a shell can carry, run through the wall.
    pub(crate) blow: bool,
}

/// The motion, and twice again for comparison: with every element halved, and with a tenth of the error. All three at
/// once, on as many cores as there are. No comparison is made of a blow or of a motion that ends early.
fn runs(
    setup: &Setup,
    ask: &Ask,
    until: Until,
    height: Option<f64>,
    sway: f64,
    progress: &mut dyn FnMut(f64) -> bool,
    work: &mut Work,
) -> Result<(Run, Option<[Track; 2]>), Fault> {
    let again = Until { after_snap: 0.0, landing: false, steps: 4 * until.steps, ..until };
    let over = AtomicBool::new(false);
    let compare = ask.evidence && !begin(setup, &setup.mesh, setup.motion.hold.time, height, work)?.blow;
    let (first, others) = std::thread::scope(|scope| {
        let spawn = |mesh: Mesh, share: f64| {
            let over = &over;
            scope.spawn(move || {
                let mut on = |_: f64| !over.load(Ordering::Relaxed);
                run(setup, &mesh, share, again, height, 0.0, &mut on, &mut Work::default())
            })
        };
        let others = compare.then(|| [spawn(setup.mesh.bisected(), 1.0), spawn(setup.mesh.clone(), 0.1)]);
        let first = run(setup, &setup.mesh, 1.0, until, height, sway, progress, work);
        // A first run that does not end as it should leaves nothing to compare.
        let whole = first.as_ref().is_ok_and(|r| r.track.ended == Ended::Followed);
        over.store(!whole, Ordering::Relaxed);
        let others = others.map(|o| o.map(|t| t.join().unwrap_or_else(|p| std::panic::resume_unwind(p))));
        (first, others.filter(|_| whole))
    });
    let others = match others {
        Some([a, b]) => Some([a?.track, b?.track]),
        None => None,
    };
    Ok((first?, others))
}

/// A motion about to be marched.
struct Begun {
    motion: InMotion,
    state: State,
    way: Way,
    kinks: Vec<f64>,
    hand: f64,
    blow: bool,
    origin: f64,
}

/// Lets go after a hold of `hold` seconds. The way begins at `height` (pole over rim, over R), or where the part is held.
fn begin(
    setup: &Setup,
    mesh: &Mesh,
    hold: f64,
    height: Option<f64>,
    work: &mut Work,
) -> Result<Begun, Fault> {
    let (motion, state) = setup.let_go(mesh, hold, work)?;
    let xi = state.memory(&motion);
    let held = motion
        .held_force(&state.q, &xi)
        .ok_or_else(|| Fault::Hold("the wall folds over itself in the held shape".into()))?;
    let model = motion.model();
    // Half the sum of the magnitudes: equal and opposite forces count once.
    let nodes = model.nodes().len();
    let hand = 0.5 * (0..nodes).filter_map(|i| model.height_of(i)).map(|i| held[i].abs()).sum::<f64>();
    let profile = model.profile(&state.q, 1);
    let (pole, rim) = (profile.inner().z, profile.rim().z);
    let kinks = match setup.motion.hold.let_go {
        LetGo::Ramp(r) => vec![r / setup.units.time],
        LetGo::AtOnce => Vec::new(),
    };
    let strongest = held.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    let hold = &setup.motion.hold;
    let at_once = hold.let_go == LetGo::AtOnce && hold.shape != HeldShape::Inverted;
    let blow = at_once && strongest > BLOW * model.force_scale(&state.q, setup.scene.own);
    let way = Way { from: height.unwrap_or(pole - rim), to: -setup.rise };
    let origin = motion.table_at().unwrap_or(rim);
    Ok(Begun { motion, state, way, kinks, hand, blow, origin })
}

/// Marches once; `sway` is the sideways deflection to follow, over R.
#[allow(clippy::too_many_arguments, reason = "one march has these and no fewer")]
fn run(
    setup: &Setup,
    mesh: &Mesh,
    share: f64,
    until: Until,
    height: Option<f64>,
    sway: f64,
    progress: &mut dyn FnMut(f64) -> bool,
    work: &mut Work,
) -> Result<Run, Fault> {
    let Begun { motion, state, way, kinks, hand, blow, origin } =
        begin(setup, mesh, setup.motion.hold.time, height, work)?;
    let seconds = setup.units.time;
    let mut set = settings(setup, share);
    if blow {
        // The shortest waves are beyond reach; following each of them would not make the answer better.
        set.time_scale = 0.0;
    }
    let mut growth = Growth::new(&motion, sway, kinks.first().copied().unwrap_or(0.0));
    growth.step(&state, false);
    let track = track::follow(&motion, state, set, way, until, &kinks, &mut |s, snapped| {
        growth.step(s, snapped);
        progress(s.t * seconds)
    });
    *work += track.count.work;
    let lost = growth.lost();
    let sideways = growth.report(setup);
    Ok(Run { motion, track, origin, hand, blow, sideways, lost })
}

/// Time at which the snap begins after a hold of `hold` seconds, in units of the motion; the march ends with the snap.
pub(crate) fn begins(setup: &Setup, hold: f64, set: Settings, work: &mut Work) -> Result<Option<f64>, Fault> {
    Ok(short(setup, hold, set, work)?.and_then(|t| t.begins))
}

/// Half-way time with the hold of the setup, in units of the motion.
pub(crate) fn halfway(setup: &Setup, set: Settings, work: &mut Work) -> Result<Option<f64>, Fault> {
    Ok(short(setup, setup.motion.hold.time, set, work)?.and_then(|t| t.halfway))
}

/// A march to the end of the snap.
fn short(setup: &Setup, hold: f64, set: Settings, work: &mut Work) -> Result<Option<Track>, Fault> {
    let until = Until { time: f64::INFINITY, after_snap: 0.0, landing: false, steps: 20_000 };
    let mut quick = set;
    let Begun { motion, state, way, kinks, blow, .. } = begin(setup, &setup.mesh, hold, None, work)?;
    if blow {
        quick.time_scale = 0.0;
    }
    let track = track::follow(&motion, state, quick, way, until, &kinks, &mut |_, _| true);
    *work += track.count.work;
    Ok(track.halfway.is_some().then_some(track))
}

/// Longest axisymmetric period of the natural state, in units of the motion.
fn natural_period(setup: &Setup, work: &mut Work) -> Option<f64> {
    let model = setup.model(&setup.mesh);
    let (s, _) = Harmonics::new(&model, &natural(&model), setup.scene.own).smallest(0, None, work)?;
    (s.value > 0.0).then(|| 2.0 * std::f64::consts::PI / s.value.sqrt())
}

/// How long to follow, in units of the motion.
fn plan(setup: &Setup, ask: &Ask, period: Option<f64>, rest: Rest, holds: bool) -> Until {
    let seconds = setup.units.time;
    let period = period.unwrap_or(setup.bending_time);
    let ramp = match setup.motion.hold.let_go {
        LetGo::Ramp(r) => r / seconds,
        LetGo::AtOnce => 0.0,
    };
    let slowest = setup.terms.iter().map(|m| m.time).fold(0.0, f64::max);
    let time = match ask.until {
        Some(t) => t / seconds,
        // It will snap: follow until it has.
        None if !holds => f64::INFINITY,
        // It has an equilibrium for ever; the memory may still need to find it.
        None => {
            ramp + match rest {
                Rest::Ends(t) => t + 4.0 * setup.bending_time,
                _ => (4.0 * slowest).max(20.0 * period),
            }
        }
    };
    Until {
        time,
        after_snap: match (ask.until, ask.ringing) {
            (Some(_), _) => f64::INFINITY,
            (None, true) => RINGING * period,
            (None, false) => 0.0,
        },
        landing: ask.landing,
        steps: ask.steps,
    }
}

fn relative(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    Some((a? / b? - 1.0).abs())
}

fn evidence(
    setup: &Setup,
    track: &Track,
    again: Option<&[Track; 2]>,
    ask: &Ask,
    limits: Vec<crate::report::Limit>,
    strain: f64,
) -> ReleaseEvidence {
    let available = read::available(track);
    let end = track.rows.last().map_or(0.0, |r| r.t);
    let halfway = |i: usize| relative(again.and_then(|a| a[i].halfway), track.halfway);
    let speed = again
        .iter()
        .flat_map(|a| a.iter())
        .filter_map(|t| relative(Some(t.peak[0]), Some(track.peak[0])))
        .reduce(f64::max);
    let h = setup.scene.rim_thickness * setup.scene.own;
    ReleaseEvidence {
        elements: setup.mesh.elements(),
        balance_to_snap: track.imbalance(track.ninth.unwrap_or(end)) / available,
        balance_whole: track.imbalance(end) / available,
        mesh_difference: halfway(0),
        step_difference: halfway(1),
        speed_difference: speed.filter(|_| track.halfway.is_some()),
        deepest_contact: track.rows.iter().map(|r| r.depth).fold(0.0, f64::max) / h,
        tolerance: if setup.table { ON_TABLE * TOLERANCE } else { TOLERANCE },
        steps: track.count.steps,
        refused: track.count.refused,
        iterations: track.count.iterations,
        factorisations: track.count.work.factorisations,
        followed_s: end * setup.units.time,
        ended: words::ended(track, setup, ask),
        largest_strain: strain,
        limits,
    }
}

/// Turns weak evidence into doubts.
fn judge(e: &ReleaseEvidence, track: &Track, again: Option<&[Track; 2]>, doubts: &mut Vec<String>) {
    if e.balance_to_snap.is_nan() || e.balance_to_snap > BALANCE {
        doubts.push(format!(
            "The energies balance only to {:.1e} of the energy available up to the end of the snap.",
            e.balance_to_snap
        ));
    }
    for (what, d) in [
        ("with every element halved", e.mesh_difference),
        ("with a tenth of the error allowed", e.step_difference),
    ] {
        if d.is_some_and(|d| d > AGREEMENT) {
            doubts.push(format!(
                "Computed again {what}, the half-way time differs by {:.1e}.",
                d.unwrap_or(f64::NAN)
            ));
        }
    }
    if track.halfway.is_some() && track.ended != Ended::Followed {
        doubts.push("The motion ended early and was not computed again for comparison.".into());
    }
    for (what, t) in ["with every element halved", "with a tenth of the error allowed"]
        .iter()
        .zip(again.into_iter().flatten())
    {
        // The time followed is no longer than the first run's, so either both snap or neither does.
        if t.halfway.is_some() != track.halfway.is_some() {
            let does =
                if t.halfway.is_some() { "it does snap" } else { "it had not snapped when that run ended" };
            doubts.push(format!("Computed again {what}, {does}."));
        }
    }
    for l in e.limits.iter().filter(|l| !l.met && l.name == CERTIFICATION) {
        doubts.push(format!(
            "Limit passed, {}: {:.3} is above {}: {}.",
            l.name, l.value, l.limit, l.consequence
        ));
    }
}

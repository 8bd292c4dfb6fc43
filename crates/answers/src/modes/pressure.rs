//! The pressure at which the form of each wave number is lost, on the exact axisymmetric path.

use calotte_shell::{Harmonics, Loaded, Model, Push, natural};
use calotte_solve::follow::{self, PathPoint, Settings, Watch};
use calotte_solve::{Work, fold};
use calotte_specimen::{Part, Rim};

use crate::modes::Face;
use crate::modes::report::{Loss, Pressure};
use crate::modes::shape::Reader;
use crate::modes::stage::{Stage, natural_stage};
use crate::ripples;
use crate::verdict::STRAIN_WARNING;

/// Halvings of the bracket of a loss.
const HALVINGS: u32 = 32;
/// Pressure over the classical one at which a path without limit ends.
const HIGHEST: f64 = 8.0;
/// The complete sphere: n goes on until its pressure is this much above the lowest.
const ABOVE: f64 = 1.5;

/// What one mesh says; pressures over E.
struct Found {
    losses: Vec<(u32, f64, f64, Option<Vec<f64>>)>,
    limit: Option<f64>,
    reached: f64,
    ended: String,
    largest_n: u32,
    points: usize,
    uncounted: usize,
}

/// Why a part cannot be pressed in this model.
fn refusal(part: &Part) -> Option<String> {
    if part.wall.layers().is_some() {
        return Some(
            "Pressure on a wall of layers is not followed here; `calotte poke` presses it.".to_owned(),
        );
    }
    if part.meridian.ends_at_pole() {
        return (!part.wall.is_uniform()).then(|| {
            "A complete sphere whose wall varies does not shrink uniformly under pressure; this is not computed.".to_owned()
        });
    }
    if !part.meridian.starts_at_pole() {
        return Some(
            "The part has a hole: pressure would press on what closes it, and the case does not say what does."
                .to_owned(),
        );
    }
    match part.rim {
        Rim::Ring | Rim::Hinged | Rim::Clamped => None,
        _ => Some(
            "Under pressure the rim must keep its height: `ring`, `hinged` or `clamped`; this one gives way along the axis."
                .to_owned(),
        ),
    }
}

/// Pressures of every wave number, or why there are none. Doubts are pushed.
pub(crate) fn press(
    part: &Part,
    face: Face,
    doubts: &mut Vec<String>,
    work: &mut Work,
) -> Result<Pressure, String> {
    if let Some(why) = refusal(part) {
        return Err(why);
    }
    let nu = part.material.poisson;
    let scale = crate::modes::stage::length_unit(part);
    let h = part.wall.thickness(part.meridian.length()) / scale;
    let unit = 2.0 * h * h / (3.0 * (1.0 - nu * nu)).sqrt();
    // A ripple of the sphere is about √(Rh) long, wherever it sits.
    let broke =
        || "The path under pressure could not be started: the first equilibrium is singular.".to_owned();
    let coarse = natural_stage(part, (0.7 * h.sqrt()).min(0.2), work).ok_or_else(broke)?;
    let fine = coarse.bisected(work).ok_or_else(broke)?;
    let sphere = part.meridian.ends_at_pole();
    let one = |stage: &Stage, work: &mut Work| {
        let loaded = Loaded::new(&stage.model, 1.0, unit, Push::Volume { sign: face.sign() });
        if sphere { shrink(&loaded, nu, h, work) } else { along_path(&loaded, work) }
    };
    let first = one(&coarse, work).ok_or_else(broke)?;
    let found = one(&fine, work).ok_or_else(broke)?;
    if found.uncounted > 0 {
        doubts.push(format!("At {} places of the path under pressure a count broke down.", found.uncounted));
    }
    let bare = fine.bare();
    let reader = Reader::new(&fine, &bare);
    let youngs = part.material.youngs;
    let mut losses: Vec<Loss> = found
        .losses
        .iter()
        .map(|(n, p, bracket, _)| Loss {
            n: *n,
            pressure_Pa: p * youngs,
            ratio: p / unit,
            bracket: *bracket,
            mesh_difference: first.losses.iter().find(|l| l.0 == *n).map(|l| (l.1 / p - 1.0).abs()),
            shape: None,
        })
        .collect();
    let first_lost =
        (0..losses.len()).min_by(|a, b| losses[*a].pressure_Pa.total_cmp(&losses[*b].pressure_Pa));
    if let Some(i) = first_lost {
        losses[i].shape = found.losses[i].3.as_ref().map(|v| reader.shape(v, losses[i].n));
    }
    let limit_mesh_difference = match (first.limit, found.limit) {
        (Some(a), Some(b)) => Some((a / b - 1.0).abs()),
        _ => None,
    };
    if first.limit.is_some() != found.limit.is_some() {
        doubts.push("Two meshes disagree on whether the axisymmetric path has a limit.".to_owned());
    }
    Ok(Pressure {
        face: face.word().to_owned(),
        classical_Pa: unit * youngs,
        first: first_lost,
        losses,
        axisymmetric_limit_Pa: found.limit.map(|p| p * youngs),
        limit_mesh_difference,
        followed_to_Pa: found.reached * youngs,
        ended: found.ended,
        method: if sphere {
            "The sphere shrinks uniformly, exactly; for each n the pressure is bracketed between a state whose form \
             is positive and one whose form is not, by counts of negative pivots. The form of n waves holds every \
             degree from n on, so its pressure never falls with n."
        } else {
            "The exact axisymmetric path under a pressure that follows the wall is followed from no load; at every \
             point the form of each n is counted, and a loss is bracketed by halving the step."
        }
        .to_owned(),
        largest_n: found.largest_n,
        points: found.points,
    })
}

fn settings(model: &Model) -> Settings {
    let size = model.nodes().last().copied().unwrap_or(1.0);
    Settings {
        step: 0.01 * size,
        longest: 0.02 * size,
        weight: 0.1 * size,
        points: 800,
        turn: 0.1,
        ..Settings::default()
    }
}

/// Largest surface strain.
fn strain(loaded: &Loaded<'_>, x: &[f64]) -> f64 {
    let t = loaded.thickness_factor();
    let samples = loaded.model().profile(x, 1).samples;
    samples
        .iter()
        .flat_map(|s| (0..2).map(move |i| s.strain[i].abs() + 0.5 * s.thickness * t * s.bending[i].abs()))
        .fold(0.0, f64::max)
}

fn count(loaded: &Loaded<'_>, p: &PathPoint, n: u32, work: &mut Work) -> Option<usize> {
    Harmonics::loaded(loaded, &p.x, p.t).negative(n, work)
}

fn along_path(loaded: &Loaded<'_>, work: &mut Work) -> Option<Found> {
    let model = loaded.model();
    let set = settings(model);
    let from = follow::start(loaded, natural(model), 0.0, true, set.weight, work)?;
    let mut points = vec![from.clone()];
    let (mut turned, mut why) = (false, None);
    follow::follow(loaded, from, &set, work, |here, next| {
        points.push(next.clone());
        if here.dt * next.dt < 0.0 {
            turned = true;
            why = Some("the pressure has a limit there".to_owned());
        } else if next.t > HIGHEST {
            why = Some(format!("{HIGHEST} times the classical pressure was reached"));
        } else if strain(loaded, &next.x) > STRAIN_WARNING {
            why = Some(format!("strains passed {STRAIN_WARNING}, the limit of the linear law"));
        } else if model.profile(&next.x, 1).crosses_itself() {
            why = Some("the wall met itself, which the model does not know".to_owned());
        }
        if why.is_some() { Watch::Stop } else { Watch::Go }
    });
    let mut found = Found {
        losses: Vec::new(),
        limit: None,
        reached: 0.0,
        ended: why.unwrap_or_else(|| "no further equilibrium was found".to_owned()),
        largest_n: 0,
        points: points.len(),
        uncounted: 0,
    };
    if turned && points.len() > 1 {
        let pair = &points[points.len() - 2..];
        let p = if pair[0].dt.abs() < pair[1].dt.abs() { &pair[0] } else { &pair[1] };
        found.limit = fold::softest(loaded, &p.x, p.t, work)
            .and_then(|(v, _)| fold::refine(loaded, p.x.clone(), p.t, v, set.longest, work).ok())
            .map(|f| f.t * loaded.unit());
        if found.limit.is_none() {
            found.uncounted += 1;
        }
    }
    let mut lost: Vec<u32> = Vec::new();
    for i in 1..points.len() {
        let (a, b) = (&points[i - 1], &points[i]);
        let last = ripples::wave_bound(model, &b.x, loaded.thickness_factor()).0;
        found.largest_n = found.largest_n.max(last);
        let harmonics = Harmonics::loaded(loaded, &b.x, b.t);
        for n in 1..=last {
            if lost.contains(&n) {
                continue;
            }
            match harmonics.negative(n, work) {
                None => found.uncounted += 1,
                Some(0) => {}
                Some(_) => {
                    lost.push(n);
                    match bracket(loaded, a, b, n, &set, work) {
                        Some(l) => found.losses.push(l),
                        None => found.uncounted += 1,
                    }
                }
            }
        }
    }
    // Beyond the limit lies no state that a growing pressure reaches: what is lost on the last step counts up to it.
    found.reached = points.iter().map(|p| p.t).fold(0.0, f64::max) * loaded.unit();
    if let Some(l) = found.limit {
        found.reached = l;
    }
    found.losses.sort_by_key(|l| l.0);
    Some(found)
}

/// Halves the step from `a` to `b` until counts of n bracket the loss.
fn bracket(
    loaded: &Loaded<'_>,
    a: &PathPoint,
    b: &PathPoint,
    n: u32,
    set: &Settings,
    work: &mut Work,
) -> Option<(u32, f64, f64, Option<Vec<f64>>)> {
    let whole = follow::reach(loaded, a, b, set.weight);
    let (mut low, mut high) = ((0.0, a.t), (whole, b.t));
    let mut at = b.clone();
    for _ in 0..HALVINGS {
        let mid = 0.5 * (low.0 + high.0);
        let (p, _) = follow::step(loaded, a, mid, set, work)?;
        // At zero to rounding the factor may break down: the bracket is as narrow as can be told.
        let Some(c) = count(loaded, &p, n, work) else { break };
        if c == 0 {
            low = (mid, p.t);
        } else {
            high = (mid, p.t);
            at = p;
        }
    }
    let vector = Harmonics::loaded(loaded, &at.x, at.t).smallest(n, None, work).map(|(s, _)| s.vector);
    Some((n, at.t * loaded.unit(), (high.1 / low.1 - 1.0).abs(), vector))
}

/// The complete sphere. Its energy per area at stretch λ is C(1+ν)(λ−1)² (no bending measure changes), the volume goes as
/// λ³: `p λ² = −2C(1+ν)(λ−1)` for a pressure p from outside.
fn shrink(loaded: &Loaded<'_>, nu: f64, h: f64, work: &mut Work) -> Option<Found> {
    let model = loaded.model();
    let round = model.nodal(&natural(model));
    let state = |f: f64| -> Option<Vec<f64>> {
        let Push::Volume { sign } = loaded.push() else { return None };
        let p = -sign * f * loaded.unit();
        let c = 2.0 * h / (1.0 - nu);
        // p λ² + c λ − c = 0, the root near one.
        let inside = c * c + 4.0 * p * c;
        (inside > 0.0).then(|| {
            let stretch = 2.0 * c / (c + inside.sqrt());
            model.unknowns_of(&round.iter().map(|q| stretch * q).collect::<Vec<f64>>())
        })
    };
    let form = |n: u32, f: f64, work: &mut Work| -> Option<usize> {
        let x = state(f)?;
        Harmonics::loaded(loaded, &x, f).negative(n, work)
    };
    let mut found = Found {
        losses: Vec::new(),
        limit: None,
        reached: 0.0,
        ended: String::new(),
        largest_n: 0,
        points: 0,
        uncounted: 0,
    };
    let (mut lowest, mut last): (Option<f64>, Option<f64>) = (None, None);
    for n in 0..=400 {
        found.largest_n = n;
        // Never below that of fewer waves.
        let (mut low, mut high) = last.map_or((0.0, 0.8), |l| (0.0, l * (1.0 + 1e-9)));
        loop {
            if high > HIGHEST || state(high).is_none() {
                break;
            }
            found.points += 1;
            match form(n, high, work) {
                Some(0) => (low, high) = (high, 1.2 * high),
                Some(_) => break,
                // Just at a loss: a little further.
                None => high *= 1.0 + 1e-6,
            }
        }
        found.reached = found.reached.max(high.min(HIGHEST) * loaded.unit());
        if high > HIGHEST || state(high).is_none() {
            found.ended = if state(high).is_none() {
                "the pressure burst the sphere: beyond it there is no equilibrium".to_owned()
            } else {
                format!("{HIGHEST} times the classical pressure was reached")
            };
            break;
        }
        if low == 0.0 {
            low = 0.999_999 * high;
            if form(n, low, work) != Some(0) {
                low = 0.0;
            }
        }
        while high - low > 1e-10 * high {
            let mid = 0.5 * (low + high);
            found.points += 1;
            match form(n, mid, work) {
                Some(0) => low = mid,
                Some(_) => high = mid,
                None => break,
            }
        }
        let vector = state(high)
            .and_then(|x| Harmonics::loaded(loaded, &x, high).smallest(n, None, work))
            .map(|(s, _)| s.vector);
        found.losses.push((n, high * loaded.unit(), high / low - 1.0, vector));
        last = Some(high);
        let least = lowest.map_or(high, |l: f64| l.min(high));
        lowest = Some(least);
        if high > ABOVE * least {
            found.ended = format!("forms of more waves are lost above {ABOVE} times the lowest pressure");
            break;
        }
    }
    Some(found)
}

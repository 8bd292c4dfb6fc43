//! Slowing down near the threshold: delays beyond it, frequencies before it, and their exponents.

use calotte_shell::Harmonics;
use calotte_solve::Work;
use calotte_specimen::{HeldShape, Hold, LetGo, Motion, Part, Surroundings};

use super::answer::{halfway, settings};
use super::curves::{Delay, Slow, Slowing};
use super::setup::{Fault, Setup};
use crate::explain::{digits, duration};
use crate::many::{Watch, each};
use crate::scene::Scene;
use crate::state;
use crate::subject::Subject;

/// Damping rate over the bending rate at which inertia no longer counts.
const THICK_BATH: f64 = 3e3;

/// Slowing down over `count` distances |h/h* − 1| from `from` to `to`, spaced by equal ratios. `None` when stopped.
///
/// The elastic part, without memory, weight or table: how it was held does not matter here. It starts at rest in the
/// shape of the threshold. The strongly damped motion has a bath of 3000 times the bending rate.
///
/// # Errors
/// [`Fault`] when the part has no threshold or no density.
pub fn slowing(
    subject: &dyn Subject,
    [from, to]: [f64; 2],
    count: usize,
    watch: &Watch<'_>,
) -> Result<Option<Slowing>, Fault> {
    let part = subject.part();
    let elastic = Motion {
        memory: None,
        hold: Hold { shape: HeldShape::Inverted, time: 0.0, let_go: LetGo::AtOnce, sideways: 0.0 },
        surroundings: Surroundings::default(),
    };
    let own = Setup::new(part, &elastic, &mut Work::default())?;
    let Some(threshold) = own.threshold_factor() else {
        return Err(Fault::Hold("no threshold of this part was found, so nothing slows down near it".into()));
    };
    let bath = THICK_BATH / (own.bending_time * own.units.time);
    let damped =
        Motion { surroundings: Surroundings { damping: bath, ..Surroundings::default() }, ..elastic.clone() };
    let scaled = |ratio: f64| -> Part {
        let factor = ratio * threshold / own.scene.own;
        Part { wall: part.wall.scaled(factor), ..part.clone() }
    };
    let last = (count - 1).max(1) as f64;
    let distance = |i: usize| from * libm::exp(libm::log(to / from) * i as f64 / last);
    let found = each(3 * count, watch, |k| {
        let (kind, d) = (k / count, distance(k % count));
        let mut work = Work::default();
        match kind {
            2 => frequency(&scaled(1.0 - d), &mut work),
            _ => {
                let motion = if kind == 0 { &elastic } else { &damped };
                let setup = Setup::new(&scaled(1.0 + d), motion, &mut work).ok()?;
                let mut set = settings(&setup, 0.1);
                if kind == 1 {
                    // Velocities follow the forces; they are no error of their own.
                    set.time_scale = 0.0;
                }
                Some(halfway(&setup, set, &mut work).ok()?? * setup.units.time)
            }
        }
    });
    let Some(found) = found else { return Ok(None) };
    let pick = |kind: usize| -> Vec<(f64, f64)> {
        (0..count).filter_map(|i| Some((distance(i), found[kind * count + i]?))).collect()
    };
    let delays = |points: &[(f64, f64)]| -> Vec<Delay> {
        let e = exponents(points);
        points.iter().zip(e).map(|(p, exponent)| Delay { distance: p.0, time_s: p.1, exponent }).collect()
    };
    let (a, b, c) = (pick(0), pick(1), pick(2));
    let frequencies: Vec<Slow> = c
        .iter()
        .zip(exponents(&c))
        .map(|(p, exponent)| Slow { distance: p.0, frequency_Hz: p.1, exponent })
        .collect();
    let mut out = Slowing {
        threshold_thickness_m: threshold * own.scene.rim_thickness * own.scene.radius,
        elastic: delays(&a),
        damped: delays(&b),
        frequencies,
        words: Vec::new(),
    };
    out.words = say(&out, bath, 3 * count - a.len() - b.len() - c.len());
    Ok(Some(out))
}

/// Lowest axisymmetric frequency (Hz) of the inverted state.
fn frequency(part: &Part, work: &mut Work) -> Option<f64> {
    let scene = Scene::new(part);
    let inverted = state::solve(&scene, None, work)?;
    let (s, _) = Harmonics::new(&inverted.model, &inverted.state.x, scene.own).smallest(0, None, work)?;
    let unit = (part.material.youngs / part.material.density?).sqrt() / scene.radius;
    (s.value > 0.0).then(|| s.value.sqrt() * unit / (2.0 * std::f64::consts::PI))
}

/// Local exponents of points `(x, y)`, from both neighbours in logarithms; none at the ends.
fn exponents(points: &[(f64, f64)]) -> Vec<Option<f64>> {
    let n = points.len();
    (0..n)
        .map(|i| {
            let (a, b) = (points.get(i.checked_sub(1)?)?, points.get(i + 1)?);
            Some(libm::log(b.1 / a.1) / libm::log(b.0 / a.0))
        })
        .collect()
}

fn say(s: &Slowing, bath: f64, missing: usize) -> Vec<String> {
    let mut out = Vec::new();
    let inner = |v: &[Option<f64>]| -> Option<[f64; 2]> {
        let known: Vec<f64> = v.iter().flatten().copied().collect();
        Some([*known.first()?, *known.last()?])
    };
    let [first, last] = [s.elastic.first(), s.elastic.last()];
    if let (Some(a), Some(b)) = (first, last) {
        out.push(format!(
            "Let go at rest in the shape of its threshold, the elastic part needs {} to the half at {} % beyond the threshold, \
             and {} at {} %.",
            duration(a.time_s),
            digits(100.0 * a.distance, 3),
            duration(b.time_s),
            digits(100.0 * b.distance, 3)
        ));
    }
    for (what, law, v) in [
        ("delay of the elastic part", "−1/4", s.elastic.iter().map(|d| d.exponent).collect::<Vec<_>>()),
        ("delay of the strongly damped part", "−1/2", s.damped.iter().map(|d| d.exponent).collect()),
        ("lowest frequency before the threshold", "1/4", s.frequencies.iter().map(|d| d.exponent).collect()),
    ] {
        if let Some([a, b]) = inner(&v) {
            out.push(format!(
                "The {what} goes with the distance to a local power from {} nearest to the threshold to {} farthest from it; the \
                 law of a saddle-node is {law}, at the threshold alone.",
                digits(a, 3),
                digits(b, 3)
            ));
        }
    }
    out.push(format!(
        "Strongly damped: a bath of {} 1/s; its times are proportional to that rate.",
        digits(bath, 3)
    ));
    if missing > 0 {
        out.push(format!("{missing} of the points could not be computed and are left out."));
    }
    out
}

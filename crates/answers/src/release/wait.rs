//! How long a relaxed part rests: its equilibrium, without inertia, until it ends.

use calotte_solve::Work;
use calotte_solve::march::{March, Settings, Stuck};
use calotte_specimen::{Motion, Part};

use super::setup::{AfterHold, Fault, Setup};
use crate::ripples;

/// What becomes of the equilibrium after the hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Resting {
    /// Its end.
    pub(crate) rest: Rest,
    /// Height of its pole over its rim at the beginning, over R.
    pub(crate) height: Option<f64>,
    /// Fewest waves round the rim in which it is unstable at the beginning; the part then gives way sideways.
    pub(crate) lost: Option<u32>,
}

/// How an equilibrium ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Rest {
    /// There is none: only inertia delays the snap.
    None,
    /// It ends after this time, in units of the motion.
    Ends(f64),
    /// It is still there when the memory has nothing left to do.
    Stays,
    /// The search or the march ended early.
    Unknown,
}

/// What becomes of the equilibrium after the hold of `motion`, and when it ends, s. No density is needed; without one the
/// part is taken as weightless.
///
/// # Errors
/// [`Fault`] when the part cannot follow the hold.
pub(crate) fn rest_after(
    part: &Part,
    motion: &Motion,
    work: &mut Work,
) -> Result<(Resting, Option<f64>), Fault> {
    let setup = Setup::at_rest(part, motion, work)?;
    let resting = rest(&setup, motion.hold.time, work)?;
    let seconds = match resting.rest {
        Rest::Ends(t) => Some(t * setup.units.time),
        _ => None,
    };
    Ok((resting, seconds))
}

/// What a part does at rest after its hold, apart from its creep; no inertia.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Creep {
    /// It has no equilibrium after the hold: only inertia delays it.
    AtOnce,
    /// Its equilibrium ends after this time, s.
    Ends(f64),
    /// Its equilibrium is still there when the memory has nothing left to do.
    Stays,
    /// It gives way in waves round the rim; how long that takes is not known.
    Sideways,
    /// The search failed.
    Unknown,
}

/// What `part` does at rest after the hold of `motion`: one wait, without the verdict about it.
///
/// # Errors
/// [`Fault`] when the part cannot follow the hold.
pub fn creep(part: &Part, motion: &Motion, work: &mut Work) -> Result<Creep, Fault> {
    let (resting, seconds) = rest_after(part, motion, work)?;
    Ok(match (resting.lost, resting.rest, seconds) {
        (Some(_), ..) => Creep::Sideways,
        (None, Rest::None, _) => Creep::AtOnce,
        (None, Rest::Ends(_), Some(t)) => Creep::Ends(t),
        (None, Rest::Stays, _) => Creep::Stays,
        (None, Rest::Ends(_) | Rest::Unknown, _) => Creep::Unknown,
    })
}

/// Thickness (m) up to which a part of this shape rests after its material has lost the share `loss` of its modulus in the mirror
/// image; without a loss, up to which it stays for good.
pub fn relaxed_threshold(part: &Part, loss: f64, work: &mut Work) -> Option<f64> {
    crate::waiting::lagging_threshold(part, loss, work)
}

/// Local error of the creep, over the rise.
const TOLERANCE: f64 = 3e-7;

/// The wait without inertia after a hold of `hold` seconds; the part is let go without ringing.
pub(crate) fn rest(setup: &Setup, hold: f64, work: &mut Work) -> Result<Resting, Fault> {
    let nothing = |rest| Ok(Resting { rest, height: None, lost: None });
    let (motion, state) = match setup.resting(&setup.mesh, hold, work)? {
        AfterHold::Rests(found) => *found,
        AfterHold::Gone => return nothing(Rest::None),
        AfterHold::Unknown => return nothing(Rest::Unknown),
    };
    let profile = motion.model().profile(&state.q, 1);
    let height = Some(profile.inner().z - profile.rim().z);
    let relaxed = motion.model().clone().strained(&state.memory(&motion));
    let lost = ripples::first_lost(&relaxed, &state.q, motion.thickness_factor(), work);
    let Some(longest) = setup.terms.iter().map(|m| m.time).reduce(f64::max) else {
        return Ok(Resting { rest: Rest::Stays, height, lost });
    };
    let shortest = setup.terms.iter().map(|m| m.time).fold(longest, f64::min);
    // Relaxing at constant strain takes τ; with the strain free it may take many times longer near the threshold.
    let until = 1e4 * longest;
    let set = Settings {
        tolerance: TOLERANCE * setup.rise.abs(),
        time_scale: 0.0,
        first: 1e-4 * shortest,
        longest: f64::INFINITY,
        shortest: 1e-9 * shortest,
    };
    let mut march = March::new(&motion, state, set);
    let mut rest = Rest::Unknown;
    for _ in 0..3000 {
        match march.step(until) {
            Ok(()) if march.state().t >= until => {
                rest = Rest::Stays;
                break;
            }
            Ok(()) => {}
            Err(Stuck::Shortest { t }) => {
                rest = Rest::Ends(t);
                break;
            }
            Err(_) => break,
        }
    }
    *work += march.count.work;
    Ok(Resting { rest, height, lost })
}

#[cfg(test)]
mod tests {
    use super::*;
    use calotte_specimen::*;

    fn part(thickness: f64) -> Part {
        let cap = SphereCap { radius: 1.0, half_angle: 45f64.to_radians(), hole_angle: 0.0 };
        Part {
            meridian: Meridian::Sphere(cap),
            wall: Wall::uniform(thickness),
            material: Material { youngs: 1.0, poisson: 0.5, density: Some(1e-12) },
            rim: Rim::Free,
        }
    }

    /// Recomputed from the stated equations with an independent program (Chebyshev collocation): one Prony term, share
    /// 0.2, τ = 1, α = 45°, ν = 0.5, held as the exact mirror image; four digits printed.
    #[test]
    fn a_relaxed_cap_rests_as_long_as_known() {
        let motion = Motion {
            memory: Some(Memory {
                terms: vec![MemoryTerm { share: 0.2, time: 1.0 }],
                shift: TimeShift::None,
            }),
            hold: Hold { shape: HeldShape::Mirror, ..Hold::default() },
            ..Motion::default()
        };
        let mut work = Work::default();
        let at = Setup::new(&part(0.06), &motion, &mut work).unwrap();
        let threshold = at.threshold_factor().unwrap() * at.scene.rim_thickness;
        let known = [(0.01, 0.5, 7.717), (0.01, 5.0, 9.192), (0.05, 0.5, 1.948), (0.05, 5.0, 3.568)];
        for (delta, hold, expected) in known {
            let mut work = Work::default();
            let s = Setup::new(&part(threshold * (1.0 + delta)), &motion, &mut work).unwrap();
            let Rest::Ends(t) = rest(&s, hold, &mut work).unwrap().rest else {
                panic!("no end at {delta}, {hold}")
            };
            let seconds = t * s.units.time;
            assert!((seconds - expected).abs() < 5.1e-4, "{delta} {hold}: {seconds}");
            assert!(work.factorisations < 600, "{work:?}");
        }
    }
}
